//! Tolerances in a workbook: in a column of their own, or in the cell as a text.

use standstill::calculation::written;
use standstill::diagnostic::{Name, Source};
use standstill::environment::NoFs;
use standstill::project::Project;
use standstill::spreadsheet::{Book, Cell, NewValue};
use standstill::workbook::{Options, bind, compute, compute_with};

fn ends(rows: &str) -> Result<Vec<String>, standstill::Problems> {
    ends_of(&format!("sheet run-down,,,\n{rows}"), None)
}

fn ends_of(text: &str, bind_file: Option<&str>) -> Result<Vec<String>, standstill::Problems> {
    let book = Book::read("tolerances.csv", text.as_bytes()).unwrap();
    let bind_file = bind_file.map(|text| Source::new("cells.bind", text));
    let bound = bind(&book, bind_file.as_ref(), &Project::new(&NoFs));
    if !bound.problems.is_empty() {
        return Err(bound.problems.into());
    }
    let request = &bound.requests[0];
    let inputs = &request.program.inputs;
    Ok(inputs
        .iter()
        .filter_map(|input| Some((input, request.inputs.spread(input)?)))
        .map(|(input, spread)| {
            let ends = spread.ends.iter();
            let words: Vec<String> =
                ends.map(|(low, high)| format!("{} to {}", written(low), written(high))).collect();
            format!("{} {}", input.name, words.join(", "))
        })
        .collect())
}

#[test]
fn a_tolerance_stands_beside_the_value_or_in_its_cell() {
    let found = ends(
        "J,2,kg·m²,± 5 %\nn_0 / (r/min),1500,from 1450 r/min to 1600 r/min,\nT_0,4 N·m +0 N·m -0.5 N·m,,\nb,0,N·m·s/rad,measured in May\n",
    );
    let wanted =
        ["J 1.9 kg·m² to 2.1 kg·m²", "n_0 1450 r/min to 1600 r/min", "T_0 3.5 N·m to 4 N·m"];
    assert_eq!(found.unwrap(), wanted);
}

#[test]
fn a_tolerance_that_does_not_read_is_an_error_in_its_cell() {
    let problems = ends("J,2,kg·m²,± 5\nn_0,1500,r/min,\nT_0,4,N·m,\n").unwrap_err();
    assert_eq!(problems[0].name, Name::MissingUnit);
    assert!(
        problems[0].place.as_ref().unwrap().to_text().ends_with("D2"),
        "{:?}",
        problems[0].place
    );
}

#[test]
fn each_value_of_a_series_has_its_own_tolerance_or_the_first_speaks_for_all() {
    let series = |rows: &str| ends_of(&format!("sheet measured-stops,,,\n{rows}"), None);
    let rest = ",315,,\n,320,,\n";
    let all = series(&format!("t_k,310,ms,± 2 ms\n{rest}")).unwrap();
    assert_eq!(all, ["t_k 308 ms to 312 ms, 313 ms to 317 ms, 318 ms to 322 ms"]);
    let own = series("t_k,310,ms,± 2 ms\n,315 ms ± 1 ms,,\n,320,,± 3 ms\n").unwrap();
    assert_eq!(own, ["t_k 308 ms to 312 ms, 314 ms to 316 ms, 317 ms to 323 ms"]);
    let one = series("t_k,310,ms,\n,315,,± 1 ms\n,320,,\n").unwrap();
    assert_eq!(one, ["t_k 310 ms to 310 ms, 314 ms to 316 ms, 320 ms to 320 ms"]);
}

#[test]
fn a_column_headed_tolerance_is_read_wherever_it_stands() {
    let head = "name,value,unit,what it is,tolerance\n";
    let found =
        ends(&format!("{head}J,2,kg·m²,rotor,± 5 %\nn_0,1500,r/min,,\nT_0,4,N·m,,+0 N·m -1 N·m\n"));
    assert_eq!(found.unwrap(), ["J 1.9 kg·m² to 2.1 kg·m²", "T_0 3 N·m to 4 N·m"]);
    let bare = ends(&format!("{head}J,2,kg·m²,rotor,5 %\nn_0,1500,r/min,,10 r/min\nT_0,4,N·m,,\n"));
    assert_eq!(bare.unwrap(), ["J 1.9 kg·m² to 2.1 kg·m²", "n_0 1490 r/min to 1510 r/min"]);
    // under such a heading nothing is passed over
    let problems = ends(&format!("{head}J,2,kg·m²,rotor,5 to 6\nn_0,1500,r/min,,7\nT_0,4,N·m,,\n"))
        .unwrap_err();
    let words: Vec<&str> = problems.iter().map(|problem| problem.headline.as_str()).collect();
    assert_eq!(
        words,
        [
            "`J`: `5 to 6` is not a tolerance",
            "the tolerance of `n_0` is a text with its unit, the cell holds the number 7"
        ]
    );
}

#[test]
fn a_unit_beside_a_value_covers_its_tolerance() {
    for (j, low, high) in [
        ("2 ± 0.1", "1.9", "2.1"),
        ("2 ± 5 %", "1.9", "2.1"),
        ("2 kg·m² ± 0.1", "1.9", "2.1"),
        ("2 +5/-10 %", "1.8", "2.1"),
        ("2 +5%/-10%", "1.8", "2.1"),
        ("2 +0.1 -0", "2", "2.1"),
        ("from 1.9 to 2.1", "1.9", "2.1"),
    ] {
        let found = ends(&format!("J,{j},kg·m²,\nn_0,1500,r/min,\nT_0,4,N·m,\n")).unwrap();
        assert_eq!(found, [format!("J {low} kg·m² to {high} kg·m²")], "{j}");
    }
    // with nothing beside, neither has a unit
    let alone = ends("J,2 ± 0.1,,\nn_0,1500,r/min,\nT_0,4,N·m,\n").unwrap_err();
    assert_eq!(alone[0].name, Name::MissingUnit);
    let line = |line: &str| {
        ends_of(
            "2 ± 0.1,1500,4\n",
            Some(&format!(
                "sheet run-down\n{line}\n  n_0 from B1 in r/min\n  T_0 from C1 in N·m ± 1\n"
            )),
        )
    };
    let wanted = ["J 1.9 kg·m² to 2.1 kg·m²", "T_0 3 N·m to 5 N·m"];
    assert_eq!(line("  J from A1 in kg·m²").unwrap(), wanted);
}

#[test]
fn a_tolerance_that_varies_nothing_or_has_two_meanings_is_asked() {
    let zero = ends("J,2,kg·m²,\nn_0,1500,r/min,\nT_load,0,N·m,± 10 %\nT_0,4,N·m,\n").unwrap_err();
    assert_eq!(zero[0].headline, "`T_load`: a percentage of 0 N·m is nothing");
    assert!(zero[0].remedy.contains("`± 1 N·m`"), "{}", zero[0].remedy);
    for rows in [
        "J,2,kg·m²,\nn_0,1500,r/min,± 1.450 r/min\nT_0,4,N·m,\n",
        "J,2,kg·m²,\nn_0,1500 ± 1.450,r/min,\nT_0,4,N·m,\n",
    ] {
        let found = ends(rows).unwrap_err();
        assert!(found[0].remedy.contains("1450"), "{}", found[0].remedy);
    }
    let said = "sheet run-down\n  J from A1 in kg·m²\n  n_0 from B1 in r/min ± 1.450 r/min\n  T_0 from C1 in N·m\n";
    assert!(ends_of("2,1500,4\n", Some(said)).unwrap_err()[0].remedy.contains("1450"));
}

#[test]
fn a_value_has_one_tolerance() {
    let problems = ends("J,2 kg·m² ± 5 %,,± 0.1 kg·m²\nn_0,1500,r/min,\nT_0,4,N·m,\n").unwrap_err();
    assert_eq!(problems[0].name, Name::AskedTwice);
    assert_eq!(problems[0].headline, "`J` has two tolerances");
}

#[test]
fn a_bind_file_says_a_tolerance_or_where_it_stands() {
    let cells = "2,0.2 to 0.3,1500\n4,± 10 %,\n";
    let bind_file = |lines: &str| format!("sheet run-down\n{lines}");
    let found = ends_of(
        cells,
        Some(&bind_file(
            "  J from A1 in kg·m² ± 5 %\n  n_0 = 1500 r/min +10 r/min -0 r/min\n  T_0 from A2 in N·m tolerance B2\n",
        )),
    );
    let wanted =
        ["J 1.9 kg·m² to 2.1 kg·m²", "n_0 1500 r/min to 1510 r/min", "T_0 3.6 N·m to 4.4 N·m"];
    assert_eq!(found.unwrap(), wanted);
    let problems = ends_of(
        cells,
        Some(&bind_file(
            "  J from A1 in kg·m² tolerance B1\n  n_0 from C1 in r/min\n  T_0 from A2 in N·m\n",
        )),
    )
    .unwrap_err();
    assert_eq!(problems[0].headline, "`J`: `0.2 to 0.3` is not a tolerance");
    assert!(problems[0].place.as_ref().unwrap().to_text().ends_with("B1"));
}

/// The workbook that the next tests fill: J·ω/T with J 2 kg·m² ± 5 %, 1500 r/min, T_0 4 N·m ± 0.5 N·m.
const ROTOR: &str = "sheet run-down,,,\nJ,2,kg·m²,± 5 %\nn_0,1500,r/min,\nT_0,4,N·m,± 0.5 N·m\n";

fn cells(text: &str) -> Vec<(String, String)> {
    let book = Book::read("rotor.csv", text.as_bytes()).unwrap();
    let filling = compute(&book, None, &Project::new(&NoFs)).map_err(|it| it.problems).unwrap();
    filling.calculated[0]
        .cells
        .iter()
        .map(|(name, cell, value)| {
            let value = match value {
                NewValue::Number(number) => format!("{number:.6}"),
                other => match other.as_cell() {
                    Cell::Text(text) => text,
                    other => format!("{other:?}"),
                },
            };
            (format!("{} {name}", cell.position.name()), value)
        })
        .collect()
}

#[test]
fn rows_for_the_lowest_and_highest_take_the_worst_case() {
    // J·ω/T by hand: 2.1·157.0796327/3.5 and 1.9·157.0796327/4.5 around 2·157.0796327/4
    let wanted = [
        ("B5 t_stop", "78.539816"),
        ("B6 t_stop lowest", "66.322512"),
        ("B7 t_stop highest", "94.247780"),
        ("B8 checks worst", "all 4 checks hold over the tolerances"),
    ]
    .map(|(name, value)| (name.to_owned(), value.to_owned()));
    let rows =
        format!("{ROTOR}t_stop,,s,\nt_stop lowest / s,,,\nt_stop.highest,,s,\nchecks worst,,,\n");
    assert_eq!(cells(&rows), wanted);
    // the same below headings
    let wanted = [
        ("D6 t_stop lowest", "66.322512"),
        ("E6 t_stop highest", "94.247780"),
        ("B6 t_stop", "78.539816"),
    ]
    .map(|(name, value)| (name.to_owned(), value.to_owned()));
    let columns = format!("{ROTOR}results,value,unit,lowest,highest\nt_stop,,s,,\n");
    assert_eq!(cells(&columns), wanted);
}

#[test]
fn a_check_that_fails_in_a_corner_says_so_in_the_workbook() {
    let rows = "sheet resistor-window,,,\nE,70,J,\nP_peak,2700,W,\nt_cycle,6,s,\nU_chop,780,V,\nR_min,0,Ω,\ntol_R,5,%,\nI_max,4.15,A,± 0.1 A\nchecks,,,\nchecks worst,,,\n";
    let found = cells(rows);
    assert_eq!(found[0].1, "all 3 checks hold");
    // 780²/2700/1.05 is 214.6, next below 200; 0.95·200 = 190; 780/4.15 is 187.95, 780/4.05 is 192.6
    assert_eq!(found[1].1, "MAY FAIL: a preferred value fits the window, with I_max = 4.05 A");
    let book = Book::read("rotor.csv", rows.as_bytes()).unwrap();
    assert!(!compute(&book, None, &Project::new(&NoFs)).unwrap().holds());
}

#[test]
fn without_such_rows_a_tolerance_that_is_stated_counts_all_the_same() {
    let book = Book::read("rotor.csv", format!("{ROTOR}t_stop,,s,\n").as_bytes()).unwrap();
    let plain = compute(&book, None, &Project::new(&NoFs)).unwrap();
    let one = &plain.calculated[0];
    assert!(one.worst.is_some() && one.tolerances);
    assert_eq!(one.release.granted(), one.worst.as_ref().unwrap().holds());
    let worst = compute_with(
        &book,
        None,
        &Project::new(&NoFs),
        Options { worst: true, ..Options::default() },
    )
    .unwrap();
    assert!(worst.calculated[0].worst.is_some());
}
