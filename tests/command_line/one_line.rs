//! One product line through every door: all of them name the same variant with the same figure.

use std::fs;
use std::path::Path;

use serde_json::Value;

use super::standstill;

/// A clearance that a guard keeps, with and without another that turns the worst variant round in its share: the
/// margin d - v·t is least where the machine is slow and near, the share of it where it is quick and far.
const SHEET: &str = "sheet gap\ntitle \"A gap\"\nsource \"s = v·t; by hand\"\ntakes\n  \
    v : speed in m/s above 0 m/s like 2 m/s  \"speed\"\n  \
    t : time in s above 0 s like 0.1 s  \"time\"\n  \
    d : length in mm above 0 mm like 300 mm  \"room\"\n  \
    h : length in mm above 0 mm like 300 mm  \"room beside\"\nworks\n  \
    s = v * t  \"way\"\n  \
    w = s * (1 + sin(0.5 rad/mm * s) / 10)  \"way that wobbles\"\nholds\n  \
    s <= d  \"far enough\"  else \"move it\"\n  \
    w <= h  \"far enough beside\"  else \"move it\"\ngives\n  s in mm  \"way\"\n  w in mm  \"way beside\"\n";

fn text(folder: &Path, words: &[&str]) -> (i32, String) {
    let output = standstill(folder, words);
    let text =
        String::from_utf8(output.stdout).unwrap() + &String::from_utf8(output.stderr).unwrap();
    (output.status.code().unwrap(), text)
}

fn json(folder: &Path, words: &[&str]) -> Value {
    let (_, text) = text(folder, words);
    serde_json::from_str(&text).unwrap_or_else(|_| panic!("{words:?}: {text}"))
}

/// The number before a unit.
fn number(words: &str) -> f64 {
    words.split(' ').next().unwrap().parse().unwrap_or_else(|_| panic!("{words}"))
}

/// What a margin is proved never to be below: the last number of its words.
fn proved(words: &str) -> f64 {
    number(words.rsplit("never below ").next().unwrap())
}

/// `range` and `review` name the variant whose own calculation leaves the least, with what is proved there.
#[test]
fn the_least_margin_of_a_line_is_the_least_of_its_variants() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("gap.sheet"), SHEET).unwrap();
    let review = "# Gap\n\nRevision A\n\n{l.checks}\n\n```sheet gap as l\nrange line.csv\n```\n";
    fs::write(folder.path().join("gap.md"), review).unwrap();
    let head = "variant,v / (m/s),t / s,d / mm,h / mm";
    let tables: [&[&str]; 4] = [
        // 290 of 300 and 1980 of 2000 mm: 10 mm and 3.3 %, 20 mm and 1 %
        &["a,2.9,0.1,300,400", "b,9.9,0.2,2000,3000"],
        &["a,9.9,0.2,2000,3000", "b,2.9,0.1,300,400"],
        // margins that are bounded on one side and reached on another
        &["a,2 ± 5 %,0.1 ± 2 %,300,300", "b,2.5,0.1 ± 1 %,300,300", "c,2.4 ± 20 %,0.1,300,400"],
        // what is left is nothing
        &["a,3,0.1 ± 0 %,300,400", "b,2.7,0.1 ± 10 %,300,400"],
    ];
    for table in tables {
        fs::write(folder.path().join("line.csv"), format!("{head}\n{}\n", table.join("\n")))
            .unwrap();
        let line = json(folder.path(), &["range", "line.csv", "gap", "--check", "--json"]);
        let (_, page) =
            text(folder.path(), &["review", "gap.md", "--to", "md", "-o", "out.md", "--force"]);
        let page =
            fs::read_to_string(folder.path().join("out.md")).unwrap_or_else(|_| panic!("{page}"));
        for (at, check) in ["far enough", "far enough beside"].into_iter().enumerate() {
            let own = (1..=table.len()).map(|row| {
                let row = row.to_string();
                let words =
                    ["run", "gap", "--from", "line.csv", "--row", &row, "--worst", "--json"];
                let run = json(folder.path(), &words);
                let checks = run["checks"].as_array().unwrap();
                let of = checks.iter().find(|it| it["text"] == check).unwrap();
                let left = of["least_margin"].as_str().unwrap().to_owned();
                (proved(&left), left)
            });
            let (least, words) = own.min_by(|a, b| a.0.total_cmp(&b.0)).unwrap();
            let worst = &line["checks"][at]["worst"];
            let left = worst["left"].as_str().unwrap();
            assert!(
                (proved(left) - least).abs() <= 1e-3 * least.abs(),
                "{table:?}: {left}, {words}"
            );
            let of_page = page.lines().find(|it| it.starts_with(&format!("| {check} |"))).unwrap();
            let cells: Vec<&str> = of_page.split('|').map(str::trim).collect();
            assert_eq!(cells[3], left, "{of_page}");
            assert_eq!(cells[5], worst["variant"].as_str().unwrap(), "{of_page}");
            // what is proved to hold leaves nothing or more
            assert!(worst["holds"] == false || proved(left) >= 0.0, "{left}");
        }
    }
}

/// A check that fails for want of a value names the variant that has none, not the nearest of those that hold.
#[test]
fn a_variant_without_a_value_is_the_one_that_is_named() {
    let folder = tempfile::tempdir().unwrap();
    let sheet = "sheet stop\ntitle \"A stop\"\nsource \"t = v/(a - g); by hand\"\ntakes\n  \
        v : speed in m/s above 0 m/s like 2 m/s  \"speed\"\n  \
        a : acceleration in m/s² above 0 m/s² like 4 m/s²  \"brake\"\nworks\n  \
        t = when a > 3 m/s² : v / (a - 3 m/s²)\n      otherwise : never \"the brake is too weak\"\n\
        holds\n  t <= 5 s  \"quick enough\"\ngives\n  t in s  \"time\"\n";
    fs::write(folder.path().join("stop.sheet"), sheet).unwrap();
    for rows in [
        "A,2,4\nB,2,5\nC,2,2\n", "C,2,2\nA,2,4\nB,2,5\n", "A,2,4 ± 1 %\nC,2,2\nB,2,5\n",
        "A,2,4\nC,2,3.02 ± 1 %\n",
    ] {
        let table = format!("variant,v / (m/s),a / (m/s²)\n{rows}");
        fs::write(folder.path().join("line.csv"), table).unwrap();
        let line = json(folder.path(), &["range", "line.csv", "stop", "--check", "--json"]);
        for check in line["checks"].as_array().unwrap() {
            if check["fails"] == 0 {
                continue;
            }
            assert!(
                check["worst"]["variant"].as_str().unwrap().starts_with("C "),
                "{rows}: {check}"
            );
            let left = check["worst"]["left"].as_str();
            assert!(check["worst"]["holds"] == false, "{check}");
            assert!(left.is_none_or(|left| left == "not bounded"), "{check}");
        }
        assert_eq!(line["checks"][0]["fails"], 1, "{line}");
    }
}

/// Whatever the order of the rows: one end is asked for, and it is said which.
#[test]
fn an_answer_of_a_line_does_not_hang_on_the_first_variant() {
    let folder = tempfile::tempdir().unwrap();
    // v·t <= 300 mm within 50 to 200 ms: everywhere, up to 100 ms, nowhere
    let own = [("all", "1"), ("some", "3"), ("none", "9")];
    fs::write(folder.path().join("gap.sheet"), SHEET).unwrap();
    for order in [[0, 1, 2], [1, 0, 2], [2, 1, 0], [0, 2, 1]] {
        let ask = |by: &str, ends: [&str; 2]| {
            let (head, value) = if by == "t" { ("d / mm", "300") } else { ("t / s", "0.1") };
            let rows: String = order
                .iter()
                .map(|at| format!("{},{},{value},900\n", own[*at].0, own[*at].1))
                .collect();
            let table = format!("variant,v / (m/s),{head},h / mm\n{rows}");
            fs::write(folder.path().join("line.csv"), table).unwrap();
            let step = if by == "t" { "1 ms" } else { "1 mm" };
            let words = [
                "design", "gap", "by", by, "from", ends[0], "to", ends[1], "in", "steps", "of",
                step, "--line", "line.csv",
            ];
            text(folder.path(), &words).1
        };
        let found = ask("t", ["50 ms", "200 ms"]);
        assert!(found.contains("the largest t from"), "{found}");
        assert!(found.contains("100 ms") && found.contains("200 ms"), "{found}");
        // the room: 100 mm do, 300 mm at least, 900 mm and no less
        let found = ask("d", ["200 mm", "1000 mm"]);
        assert!(found.contains("the smallest d from"), "{found}");
        let of = |name: &str| found.lines().find(|it| it.trim_start().starts_with(name)).unwrap();
        assert!(of("all").contains(" 200 mm ") && of("some").contains(" 300 mm "), "{found}");
        assert!(of("none").contains(" 900 mm "), "{found}");
        // from the high end to the low one is the same question
        assert_eq!(found, ask("d", ["1000 mm", "200 mm"]));
    }
}

/// A number that names one variant and counts to another is asked about; the row that is told is taken.
#[test]
fn a_number_that_is_a_name_is_not_counted() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("gap.sheet"), SHEET).unwrap();
    let row = |table: &str, row: &str| {
        fs::write(folder.path().join("line.csv"), table).unwrap();
        text(folder.path(), &["run", "gap", "--from", "line.csv", "--row", row])
    };
    let head = |first: &str| format!("{first},v / (m/s),t / s,d / mm,h / mm\n");
    let table = |names: [&str; 3]| {
        let rows = names.iter().zip([1, 2, 3]).map(|(name, v)| format!("{name},{v},0.1,900,900\n"));
        head("roller") + &rows.collect::<String>()
    };
    for (names, asked, found) in [
        (["3", "1", "2"], "row 4", Some(300)),
        (["3", "1", "2"], "roller 2", Some(300)),
        (["3", "1", "2"], "2", None),
        (["3", "1", "2"], "3", None),
        // one and the same
        (["1", "2", "3"], "2", Some(200)),
        (["1", "3", "2"], "1", Some(100)),
        // a line is missing from the list, so that no variant is counted so far
        (["11", "13", "14"], "13", Some(200)),
        (["1", "3", "4"], "4", Some(300)),
        (["1", "3", "4"], "3", None),
        // words are names, and numbers count
        (["R3", "R1", "R2"], "2", Some(200)),
        (["R3", "R1", "R2"], "R2", Some(300)),
    ] {
        let (code, told) = row(&table(names), asked);
        match found {
            Some(way) => assert!(
                code == 0 && told.contains(&format!("{way} mm")),
                "{names:?} {asked}: {told}"
            ),
            None => {
                assert!(code != 0 && told.contains("two-statements"), "{names:?} {asked}: {told}");
                // both remedies are taken as they are typed
                for typed in told.split("--row '").skip(1).map(|it| it.split('\'').next().unwrap())
                {
                    assert_eq!(row(&table(names), typed).0, 0, "{typed}: {told}");
                }
            }
        }
    }
    // a count beside names is no name
    let counts = head("roller,pieces") + "R1,2,1,0.1,900,900\nR2,2,2,0.1,900,900\n";
    assert!(row(&counts, "2").1.contains("200 mm"));
}

/// What is typed needs neither a column nor a filled box; what nobody gives is still asked for.
#[test]
fn what_is_typed_need_not_stand_in_the_workbook() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("gap.sheet"), SHEET).unwrap();
    fs::write(folder.path().join("line.csv"), "variant,v / (m/s),d / mm,h / mm\nA,2,300,900\n")
        .unwrap();
    let form = "sheet gap\nname,value,unit\nv,2,m/s\nt,,s\nd,300,mm\nh,900,mm\n";
    fs::write(folder.path().join("form.csv"), form).unwrap();
    for (from, more) in [("line.csv", &["--row", "A"][..]), ("form.csv", &[])] {
        let run = |words: &[&str]| {
            text(folder.path(), &[&["run", "gap", "--from", from], more, words].concat())
        };
        let (code, told) = run(&["t=0.1 s"]);
        assert!(code == 0 && told.contains("200 mm"), "{told}");
        let (code, told) = run(&["h=800 mm"]);
        assert!(code == 2 && told.contains("`t` "), "{told}");
        let by = ["by", "t", "from", "0.2 s", "to", "0.05 s", "in", "steps", "of", "1 ms"];
        let (code, told) =
            text(folder.path(), &[&["design", "gap", "--from", from], more, &by[..]].concat());
        assert!(code == 0 && told.contains("t = 0.15 s"), "{told}");
    }
}

/// A check of what stands in a file tells a file that is an old one from a calculation that fails.
#[test]
fn what_is_only_out_of_date_is_not_said_to_fail() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("gap.sheet"), SHEET).unwrap();
    let last = |words: &[&str]| {
        let (code, told) = text(folder.path(), words);
        (code, told.trim_end().lines().last().unwrap().to_owned())
    };
    let old = "NOT AS IT WOULD BE WRITTEN: 2 cells of ";
    let check = ["range", "line.csv", "gap", "--check"];
    for (d, code, end) in [("300", 0, old), ("100", 1, "FAILS: see the checks above.")] {
        let head = "variant,v / (m/s),t / s,d / mm,h / mm,s / mm,status";
        fs::write(folder.path().join("line.csv"), format!("{head}\nA,2,0.1,{d},900,,\n")).unwrap();
        let (found, told) = last(&check);
        assert!(found == 1 && told.starts_with(end), "{told}");
        assert_eq!(last(&["range", "line.csv", "gap"]).0, code);
        assert_eq!(last(&check).0, code);
    }
    last(&["form", "gap", "--example", "-o", "form.xlsx"]);
    let check = ["fill", "form.xlsx", "--check"];
    let (found, told) = last(&check);
    assert!(found == 1 && told.starts_with("NOT AS IT WOULD BE WRITTEN: "), "{told}");
    assert_eq!((last(&["fill", "form.xlsx"]).0, last(&check).0), (0, 0));
}

/// A workbook of results is told at once, whatever is made of it; a table that was calculated with points is taken
/// with commas; a tolerance without its value is shown with a value of its own kind.
#[test]
fn what_the_binary_has_written_is_known_to_it() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("gap.sheet"), SHEET).unwrap();
    let run = |words: &[&str]| text(folder.path(), words);
    assert_eq!(run(&["run", "gap", "--example", "-o", "out.xlsx"]).0, 0);
    for words in [&["run", "gap", "--from", "out.xlsx"][..], &["fill", "out.xlsx"]] {
        let (code, told) = run(words);
        assert!(
            code == 2 && told.contains("workbook of results") && told.contains("1 problem."),
            "{told}"
        );
    }
    // the first row is calculated before the second one tells that its comma is a decimal mark
    let table = "variant;v / (m/s);t / s;d / mm;h / mm;s / mm;w / mm;status\nA;2;1;3001;9000;;;\nB;2,5;1;3001;9000;;;\n";
    fs::write(folder.path().join("line.csv"), table).unwrap();
    let (code, told) = run(&["range", "line.csv", "gap"]);
    assert!(code == 2 && told.contains("`standstill range --decimal-comma`"), "{told}");
    let (code, told) = run(&["range", "line.csv", "gap", "--decimal-comma"]);
    assert_eq!(code, 0, "{told}");
    let told = fs::read_to_string(folder.path().join("line.csv")).unwrap();
    assert!(!told.contains('.') && told.contains("B;2,5;1;3001;9000;2500;"), "{told}");
    assert_eq!(run(&["range", "line.csv", "gap", "--decimal-comma", "--check"]).0, 0);
    // a number of the owner is not overwritten for that
    fs::write(folder.path().join("own.csv"), table.replace("9000;;;", "9000;1.5;;")).unwrap();
    assert_eq!(run(&["range", "own.csv", "gap", "--decimal-comma"]).0, 2);
    let (code, told) = run(&["run", "guard-locking", "tol=±5 %"]);
    let typed =
        told.split('`').find(|it| it.contains(" ± ") || it.contains(" ±5")).unwrap_or_default();
    let (_, again) = run(&["run", "guard-locking", &format!("tol={typed}")]);
    assert!(code == 2 && !typed.is_empty() && !again.contains("`tol`:"), "{told} {again}");
}

/// A load that the brake does not hold fails every check of the stop: the cause is told once, and how many it fails.
#[test]
fn a_cause_is_told_once() {
    let folder = tempfile::tempdir().unwrap();
    let run = |words: &[&str]| text(folder.path(), words);
    let cause = "the brake does not hold the load: it never stands";
    for sheet in ["allowed-ramp", "best-delay", "guard-locking"] {
        for load in ["T_load=-15 N·m", "T_load=-15.1 N·m", "T_load=-400 N·m"] {
            let (code, told) = run(&["run", sheet, "--example", load, "T_b=15 N·m"]);
            assert_eq!(code, 1, "{told}");
            let lines = told
                .lines()
                .filter(|it| it.trim_start().starts_with('`') || it.contains(": the brake"));
            let notes = lines
                .filter(|it| it.contains(cause) && it.starts_with("  ") && !it.contains("never: "));
            let notes: Vec<&str> = notes.filter(|it| !it.contains("FAILS")).collect();
            assert_eq!(notes.len(), 1, "{notes:?} {told}");
            assert!(told.contains(" more of the same cause)"), "{told}");
        }
    }
    // what follows from an input beyond its range is not told beside it
    let (code, told) = run(&["run", "axis-stop", "--example", "T_load=-16 N·m"]);
    assert!(code == 2 && told.matches("error out-of-range").count() == 1, "{told}");
}
