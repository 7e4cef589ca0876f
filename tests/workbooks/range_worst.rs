//! Product lines over tolerances: columns for them, for the lowest and highest, and the verdict of each row.

use std::process::Command;

use standstill::spreadsheet::{Book, NewValue, write_fields};
use standstill::workbook::range::{ProductLine, TableRequest, VariantVerdict};

use super::range::Shelf;

/// J·ω/T of run-down: 1500 r/min are 157.0796327 rad/s. A tolerance stands in a column, in the cell, or above
/// the table for all.
const TABLE: &str = "sheet run-down\nn_0,1500,r/min,+0 r/min -100 r/min\n\nroller,J / (kg·m²),± J,T_0 / (N·m),t_stop lowest / s,t_stop / s,t_stop highest / s,status\n\
A,2,± 5 %,4,,,,\nB,2,,4 N·m ± 0.5 N·m,,,,\nC,2,,4,,,,\nD,2,5 to 6,4,,,,\n";

fn line(book: &Book, worst: bool) -> ProductLine {
    ProductLine::find(book, &TableRequest { worst, ..TableRequest::default() }, &Shelf)
        .unwrap_or_else(|unfilled| panic!("{:?}", unfilled.problems))
}

#[test]
fn columns_for_the_lowest_and_highest_take_the_worst_case_of_each_row() {
    let book = Book::read("rollers.csv", TABLE.as_bytes()).unwrap();
    let line = line(&book, false);
    assert!(line.worst);
    let outcome = line.compute(&book, 0..4, 2, &|_| {});
    let numbers = |at: usize| -> Vec<f64> {
        outcome.variants[at]
            .values
            .iter()
            .map(|value| match value {
                NewValue::Number(number) => *number,
                other => panic!("{other:?}"),
            })
            .collect()
    };
    // by hand, ω from 1400 r/min = 146.6076572 to 1500 r/min = 157.0796327 rad/s:
    // A: 1.9 to 2.1 kg·m² over 4 N·m; B: 2 kg·m² over 3.5 to 4.5 N·m; C: 2 kg·m² over 4 N·m
    for (at, [low, value, high]) in [
        [69.638_637_2, 78.539_816_3, 82.466_807_2],
        [65.158_958_8, 78.539_816_3, 89.759_790_1],
        [73.303_828_6, 78.539_816_3, 78.539_816_3],
    ]
    .into_iter()
    .enumerate()
    {
        let found = numbers(at);
        for (found, wanted) in found.iter().zip([low, value, high]) {
            assert!((found - wanted).abs() < 1e-6, "{at}: {found} {wanted}");
        }
        assert_eq!(&*outcome.variants[at].status, "all 4 checks hold over the tolerances");
    }
    let wrong = &outcome.variants[3];
    assert_eq!(wrong.verdict, VariantVerdict::Wrong);
    assert_eq!(&*wrong.status, "not calculated: `J`: `5 to 6` is not a tolerance");
    assert!(wrong.problems[0].place.as_ref().unwrap().to_text().ends_with("C8"));
    assert_eq!(wrong.values, vec![NewValue::Empty; 3]);
}

#[test]
fn asked_for_the_worst_case_the_table_gets_columns_for_it() {
    let text = "sheet resistor-window\nE,70,J\nt_cycle,6,s\nU_chop,780,V\nR_min,0,Ω\ntol_R,5,%\n\ndrive,P_peak / W,I_max / A,I_max tolerance,R / Ω,status\na,2700,4.15,± 0.1 A,,\nb,2700,4.15,± 0.05 A,,\n";
    let book = Book::read("drives.csv", text.as_bytes()).unwrap();
    let line = line(&book, true);
    let outcome = line.compute(&book, 0..2, 1, &|_| {});
    // 780²/2700/1.05 is 214.6, next below 200; 0.95·200 = 190; 780/4.05 is 192.6 and 780/4.1 is 190.2
    let verdicts: Vec<_> = outcome.variants.iter().map(|it| (it.verdict, &*it.status)).collect();
    assert_eq!(
        verdicts,
        [
            (
                VariantVerdict::Fails,
                "MAY FAIL: a preferred value fits the window, with I_max = 4.05 A"
            ),
            (
                VariantVerdict::Fails,
                "MAY FAIL: a preferred value fits the window, with I_max = 4.1 A"
            ),
        ]
    );
    // the summary shows the least margin over the tolerances, rounded down, and its corner: 190 − 192.59259
    let worst = line.checks_of(&book, &outcome.checks)[0].worst.clone().unwrap();
    assert_eq!(worst.margin.as_ref().unwrap().left.as_deref(), Some("-2.5926 Ω"));
    assert_eq!(
        (worst.row, worst.margin.as_ref().unwrap().sides.as_str()),
        (8, "with I_max = 4.05 A")
    );
    let edits = line.edits(&book, &outcome);
    let written = write_fields("drives.csv", text.as_bytes(), &edits, false).unwrap();
    let written = String::from_utf8(written.bytes).unwrap();
    let head = written.lines().nth(7).unwrap();
    assert!(head.ends_with("R / Ω,status,R lowest / Ω,R highest / Ω"), "{head}");
    let row = written.lines().nth(9).unwrap();
    assert!(row.starts_with("b,2700,4.15,± 0.05 A,200,") && row.ends_with(",200,200"), "{row}");
    // a second run finds its own columns
    let again = Book::read("drives.csv", written.as_bytes()).unwrap();
    let line = ProductLine::find(&again, &TableRequest::default(), &Shelf).unwrap();
    let outcome = line.compute(&again, 0..2, 1, &|_| {});
    assert!(line.edits(&again, &outcome).is_empty());
}

#[test]
fn a_tolerance_column_needs_the_column_of_its_input() {
    let text =
        "sheet run-down\nn_0,1500,r/min\n\nroller,J / (kg·m²),± n_0,T_0 / (N·m)\nA,2,± 5 %,4\n";
    let book = Book::read("rollers.csv", text.as_bytes()).unwrap();
    let unfilled = ProductLine::find(&book, &TableRequest::default(), &Shelf).unwrap_err();
    assert_eq!(
        unfilled.problems[0].headline,
        "the tolerance of `n_0` has a column and its values have none"
    );
}

fn standstill(folder: &std::path::Path, words: &[&str]) -> (Option<i32>, String, String) {
    let output = Command::new(env!("CARGO_BIN_EXE_standstill"))
        .args(words)
        .current_dir(folder)
        .output()
        .unwrap();
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
    (output.status.code(), text(output.stdout), text(output.stderr))
}

/// What moves a stop most, and the largest inertia of each roller: 78.54 s for 2 kg·m² and 4 N·m, so 60 s for
/// 1.5279 kg·m², and 1.4324 kg·m² with 3.75 N·m.
#[test]
fn a_line_is_asked_what_it_hangs_on_and_what_would_fit() {
    let folder = tempfile::tempdir().unwrap();
    let text = "sheet run-down\nn_0,1500,r/min\n\nroller,J / (kg·m²),T_0 / (N·m)\nA,2,4\nB,3,3.75 N·m ± 0.25 N·m\n";
    std::fs::write(folder.path().join("rollers.csv"), text).unwrap();
    let (code, out, err) =
        standstill(folder.path(), &["range", "rollers.csv", "--slopes", "--of", "t_stop"]);
    assert_eq!((code, err.as_str()), (Some(0), ""), "{out}");
    // roller B: 3·157.0796/3.75 = 125.66 s, 1 % of it for 1 % of each
    let line = out.lines().find(|line| line.trim_start().starts_with("J ")).unwrap();
    assert!(line.contains("+1.257 s") && line.contains("B (row 6)"), "{line}");
    let question = [
        "design", "run-down", "t_stop<=60 s", "by", "J", "from", "0.1 kg·m²", "to", "5 kg·m²",
        "in", "steps", "of", "0.01 kg·m²", "--line", "rollers.csv",
    ];
    let (code, out, err) = standstill(folder.path(), &question);
    assert_eq!((code, err.as_str()), (Some(0), ""), "{out}");
    let answer = |out: &str, roller: &str| -> String {
        let line = out.lines().find(|line| line.trim_start().starts_with(roller)).unwrap();
        line.split_whitespace().nth(3).unwrap().to_owned()
    };
    assert_eq!(
        (answer(&out, "A ").as_str(), answer(&out, "B ").as_str()),
        ("1.52", "1.43"),
        "{out}"
    );
    // over the tolerance of B: 60 · 3.5 / 157.0796 = 1.3369
    let worst: Vec<&str> = question.iter().copied().chain(["--worst"]).collect();
    let (code, out, _) = standstill(folder.path(), &worst);
    assert_eq!(code, Some(0));
    assert_eq!(
        (answer(&out, "A ").as_str(), answer(&out, "B ").as_str()),
        ("1.52", "1.33"),
        "{out}"
    );
    // one variant by itself
    let (code, out, _) = standstill(
        folder.path(),
        &["run", "run-down", "--from", "rollers.csv", "--row", "2", "--worst"],
    );
    assert_eq!(code, Some(0));
    let line = out.lines().find(|line| line.trim_start().starts_with("t_stop ")).unwrap();
    assert!(line.contains("125.664 s") && line.contains("134.64 s"), "{line}");
}

// by hand: 601 mm − 1600 mm/s · 301 ms · 1.245 = 1.408 mm; without the tolerance 119.4 mm; 602 mm − 1600 mm/s · 370 ms = 10 mm
#[test]
fn a_tolerance_in_a_cell_counts_in_the_margin_at_every_door() {
    let folder = tempfile::tempdir().unwrap();
    let sheet = "sheet guard\ntitle \"A guard\"\nsource \"plain arithmetic\"\ntakes\n  v : speed in mm/s above 0 mm/s like 1600 mm/s \"approach\"\n  t : time in ms above 0 ms like 300 ms \"stop\"\n  S_there : length in mm above 0 mm like 600 mm \"where it stands\"\nworks\n  S = v * t\nholds\n  S <= S_there \"far enough\" else \"move it\"\ngives\n  S in mm\n";
    let table = "sheet guard\n\nvariant,v / (mm/s),t / ms,S_there / mm\na,1600,301 ± 24.5 %,601\nb,1600,370,602\n";
    std::fs::write(folder.path().join("guard.sheet"), sheet).unwrap();
    std::fs::write(folder.path().join("line.csv"), table).unwrap();
    let text = "# Guards\n\n{l.checks}\n\n```sheet guard as l\nrange line.csv\n```\n";
    std::fs::write(folder.path().join("doc.md"), text).unwrap();
    let run = |words: &[&str]| {
        let mut command = Command::new(env!("CARGO_BIN_EXE_standstill"));
        let done = command.current_dir(folder.path()).args(words).output().unwrap();
        assert_eq!(done.status.code(), Some(0), "{words:?}");
        String::from_utf8(done.stdout).unwrap()
    };
    run(&["review", "doc.md", "--to", "md", "-o", "out.md"]);
    run(&["review", "doc.md", "-o", "out.html"]);
    let read = |name: &str| std::fs::read_to_string(folder.path().join(name)).unwrap();
    let reviews = [read("out.md"), read("out.html")];
    for review in &reviews {
        assert!(review.contains("all 2 variants hold within the tolerances"), "{review}");
    }
    let table =
        [&["range", "line.csv", "--dry-run"][..], &["range", "line.csv", "--json", "--dry-run"]];
    for said in table.iter().map(|words| run(words)).chain(reviews) {
        let said = said.replace('\u{a0}', " ");
        assert!(said.contains("1.408 mm") && said.contains("374.745 ms"), "{said}");
        assert!(!said.contains("119.4"), "{said}");
    }
}

/// Where no column shows how far results go, the status says of which values the figures are.
#[test]
fn figures_of_nominal_values_beside_a_verdict_over_tolerances_are_said_to_be_so() {
    let text = "sheet run-down\nn_0,1500,r/min\n\nroller,J / (kg·m²),T_0 / (N·m),t_stop / s,status\nA,2,4 N·m ± 0.5 N·m,,\nB,2,4,,\n";
    let book = Book::read("rollers.csv", text.as_bytes()).unwrap();
    let line = line(&book, false);
    let outcome = line.compute(&book, 0..2, 1, &|_| {});
    let statuses: Vec<&str> = outcome.variants.iter().map(|it| &*it.status).collect();
    assert_eq!(
        statuses,
        [
            "all 4 checks hold over the tolerances; figures of the nominal values",
            "all 4 checks hold over the tolerances"
        ]
    );
    assert!(line.summary(&book, &outcome).is_of_nominal_values());
}
