//! Worst case, slopes, spread and the reverse question as a person types them.

use std::process::Command;

fn standstill(words: &[&str]) -> (Option<i32>, String, String) {
    let output = Command::new(env!("CARGO_BIN_EXE_standstill")).args(words).output().unwrap();
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
    (output.status.code(), text(output.stdout), text(output.stderr))
}

/// By hand at the corner: 0.22 kg·m²/25 + 0.0021 kg·m² = 0.0109 kg·m², at 151.84 rad/s against 1.4 N·m
/// 1.18221 s of run-down, after 360 ms · 1.02 of delay, with 16 + 20 + 10 ms of the chain: 1595.4 ms. At
/// 1600 mm/s (ISO 13855:2010, from memory) 2552.7 mm, rounded up to 5 mm: 2555 mm.
#[test]
fn the_worst_case_of_the_example_machine_names_its_corner() {
    let words = [
        "run", "safe-stop", "--example", "--worst", "J_load=0.2 kg·m² ± 10 %",
        "T_0=1.6 N·m +- 0.2 N·m", "t_sensor=14 ms +2 ms -0 ms", "S_there=2600 mm",
    ];
    let (code, out, err) = standstill(&words);
    assert_eq!((code, err.as_str()), (Some(0), ""), "{out}");
    let line = out.lines().find(|line| line.trim_start().starts_with("S_fails ")).unwrap();
    let figures: Vec<f64> = line.split_whitespace().filter_map(|word| word.parse().ok()).collect();
    let [nominal, least, most] = figures[..] else { panic!("{line}") };
    assert!(least < nominal && (nominal, most) == (2195.0, 2555.0), "{line}");
    let cause =
        out.lines().find(|line| line.contains("T_fails") && line.contains("highest  ")).unwrap();
    assert!(cause.ends_with("J_load = 0.22 kg·m², T_0 = 1.4 N·m, t_sensor = 16 ms"), "{cause}");
}

#[test]
fn a_check_that_may_fail_ends_in_one_and_a_tolerance_that_leaves_the_range_in_two() {
    let (code, out, _) =
        standstill(&["run", "safe-stop", "--example", "--worst", "J_load=0.2 kg·m² ± 30 %"]);
    assert_eq!(code, Some(1), "{out}");
    let line =
        out.lines().find(|line| line.contains("the curtain stands far enough away")).unwrap();
    assert!(
        line.trim_start().starts_with("may fail") && line.contains("J_load = 0.26 kg·m²"),
        "{line}"
    );
    let (code, _, err) =
        standstill(&["run", "safe-stop", "--example", "--worst", "eta_back=100 % ± 1 %"]);
    assert_eq!(code, Some(2), "{err}");
    assert!(err.contains("within the tolerances, with eta_back = 101 %"), "{err}");
}

/// a = 0.76 m/s² + F/m falls with m, which stands above and below the line: by hand 0.76 + 20/360 = 0.815556 and
/// 0.76 + 20/240 = 0.843333 m/s². One input alone is halved until its slope has a sign.
#[test]
fn an_end_along_one_input_is_proved() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("slope.sheet");
    let sheet = "sheet slope\ntitle \"Braked on a slope\"\nsource \"by hand\"\ntakes\n  \
        m : mass in kg above 0 kg to 5000 kg like 300 kg ± 20 %\n  F : force in N from 0 N to 500 N = 20 N\n\
        works\n  a = (0.22 * m * 8 m/s² + F - m * 1 m/s²) / m\ngives\n  a in m/s²\n";
    std::fs::write(&path, sheet).unwrap();
    let path = path.to_string_lossy().into_owned();
    let (code, out, err) = standstill(&["run", &path, "--example", "--worst"]);
    assert_eq!((code, err.as_str()), (Some(0), ""), "{out}");
    assert!(out.contains("0.815555 m/s²  0.843334 m/s²"), "{out}");
    assert!(!out.contains("nothing is proved"), "{out}");
}

/// An angle from 0 on has a sine from 0 on: a bound at zero is the number 0, and a check there is proved.
#[test]
fn a_bound_at_zero_is_a_number() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("slide.sheet");
    let sheet = "sheet slide\ntitle \"Later of two stops\"\nsource \"common practice, no source\"\n\
        takes\n  al : angle in ° from -5 ° to 90 ° like 0 ° ± 5 °\n  be : angle in ° from 0 ° to 90 ° like 5 ° ± 5 °\n  \
        q : ratio from 0 like 0.5 ± 0.5\nworks\n  ph = when al > be : al\n       otherwise : be\n  \
        y = sin(ph / (1 + q))\nholds\n  y >= 0 \"not back\" else \"move the cam\"\ngives\n  y\n";
    std::fs::write(&path, sheet).unwrap();
    let path = path.to_string_lossy().into_owned();
    let (code, out, err) = standstill(&["run", &path, "--example", "--worst"]);
    assert!(!out.contains("the number is near"), "{out}");
    assert_eq!((code, err.as_str()), (Some(0), ""), "{out}");
    let (_, json, _) = standstill(&["run", &path, "--example", "--worst", "--json"]);
    assert!(!json.contains("\"end_value\": null"), "{json}");
    assert!(json.contains("end_value"), "{json}");
}

/// A default keeps its tolerance where the examples are asked for: 1/2 · 0.4 kg·m² · (2450 r/min)² is 13.2 kJ (by hand).
#[test]
fn examples_leave_the_tolerance_of_a_default() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("stop.sheet");
    let sheet = "sheet stop\ntitle \"A stop\"\nsource \"by hand\"\ntakes\n  \
        n_0 : speed of rotation in r/min from 0 r/min = 1450 r/min ± 1000 r/min \"speed\"\n  \
        J : inertia in kg·m² above 0 kg·m² like 0.4 kg·m² \"inertia\"\nworks\n  \
        E = 1/2 * J * n_0^2 \"energy\"\nholds\n  E <= 8 kJ \"the brake takes it\" else \"larger\"\n\
        gives\n  E in kJ\n";
    std::fs::write(&path, sheet).unwrap();
    let path = path.to_string_lossy().into_owned();
    for more in [&[][..], &["--example"], &["--worst"], &["--example", "--worst"]] {
        for own in [&["J=0.4 kg·m²"][..], &[]] {
            if own.is_empty() && !more.contains(&"--example") {
                continue;
            }
            let words: Vec<&str> = ["run", &path].iter().chain(own).chain(more).copied().collect();
            let (code, out, err) = standstill(&words);
            assert_eq!(code, Some(1), "{words:?}\n{out}{err}");
            assert!(out.to_lowercase().contains("may fail"), "{words:?}\n{out}");
        }
    }
}

#[test]
fn the_same_seed_draws_the_same() {
    let words = [
        "run", "run-down", "--example", "J=0.0101 kg·m² ± 5 %", "--spread", "5000", "--json",
        "--seed", "7",
    ];
    let first = standstill(&words);
    assert_eq!(first.0, Some(0));
    assert_eq!(first, standstill(&words));
}

#[test]
fn the_reverse_question_is_answered_or_says_what_forbids_it() {
    let words = |bound| {
        [
            "design", "safe-stop", bound, "by", "J_load", "from", "0.05 kg·m²", "to", "0.5 kg·m²",
            "in", "steps", "of", "0.005 kg·m²", "--example",
        ]
    };
    let (code, out, _) = standstill(&words("S<=2300 mm"));
    assert_eq!(code, Some(0), "{out}");
    assert!(
        out.contains("J_load = 0.215 kg·m²") && out.contains("proved, for every step"),
        "{out}"
    );
    let (code, out, _) = standstill(&words("S<=600 mm"));
    assert_eq!(code, Some(1), "{out}");
    assert!(out.contains("nothing fits: proved") && out.contains("wanted <= 600 mm"), "{out}");
    let (code, _, err) =
        standstill(&["design", "safe-stop", "by", "J_lood", "from", "1 kg·m²", "to", "2 kg·m²"]);
    assert_eq!(code, Some(2), "{err}");
}

const EXAMPLE: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/examples/carton-wrapper.xlsx");

/// The same figure from the terminal's example and from the workbook of the example machine.
#[test]
fn inputs_come_from_a_workbook_that_asks_for_the_sheet() {
    let words = ["run", "safe-stop", "--from", EXAMPLE, "T_0=1.6 N·m ± 0.2 N·m", "--worst"];
    let (code, out, err) = standstill(&words);
    assert_eq!((code, err.as_str()), (Some(0), ""), "{out}");
    let line = out.lines().find(|line| line.trim_start().starts_with("S_fails ")).unwrap();
    assert!(line.contains("2195 mm"), "{line}");
    let (code, _, err) = standstill(&["run", "run-down", "--from", EXAMPLE]);
    assert_eq!(code, Some(2));
    assert!(
        err.contains("the workbook does not ask for `run-down`")
            && err
                .contains("`safe-stop` at named cells, `separation-curtain` at Second curtain!B2"),
        "{err}"
    );
    let (code, _, err) =
        standstill(&["run", "separation-curtain", "--from", EXAMPLE, "--at", "Results!B2"]);
    assert_eq!(code, Some(2));
    assert!(err.contains("does not ask for `separation-curtain` at Results!B2"), "{err}");
    let (code, out, _) = standstill(&[
        "design", "safe-stop", "S<=2300 mm", "by", "J_load", "from", "0.05 kg·m²", "to",
        "0.5 kg·m²", "in", "steps", "of", "0.005 kg·m²", "--from", EXAMPLE,
    ]);
    assert_eq!(code, Some(0), "{out}");
    assert!(out.contains("J_load = 0.215 kg·m²"), "{out}");
}

/// The picture of two inputs: the value as given, 0.2 kg·m² and 0.3 s, lies where all holds.
#[test]
fn a_picture_shows_where_each_check_holds() {
    let (code, out, _) = standstill(&[
        "design", "safe-stop", "S<=2300 mm", "by", "J_load", "from", "0.05 kg·m²", "to",
        "0.5 kg·m²", "in", "steps", "of", "0.05 kg·m²", "by", "t_ramp", "from", "0.1 s", "to",
        "0.9 s", "in", "steps", "of", "0.2 s", "--example", "--plot",
    ]);
    assert_eq!(code, Some(0), "{out}");
    let picture: Vec<&str> =
        out.lines().skip_while(|line| !line.starts_with("+ where")).take(9).collect();
    insta::with_settings!({ prepend_module_to_snapshot => false, omit_expression => true }, {
        insta::assert_snapshot!("picture-of-two-inputs", picture.join("\n"));
    });
}

/// A tolerance is never left out of sight: a plain run says that it counted for nothing.
#[test]
fn a_plain_run_with_tolerances_says_that_they_do_not_count() {
    let (code, out, _) = standstill(&["run", "run-down", "--example", "T_0=1.6 N·m ± 10 %"]);
    assert_eq!(code, Some(0));
    assert!(out.contains("these results are for the nominal values: `--worst` shows"), "{out}");
}

/// The workbook of the example machine with a tolerance beside its friction: 0.0101 kg·m² at 151.8436 rad/s against
/// 1.4 N·m run down in 1.095444 s; with 367.2 ms of delay and 44 ms of chain 1506.64 ms, at 1600 mm/s 2410.6 mm,
/// rounded up to 5 mm.
#[test]
fn a_tolerance_in_the_workbook_of_the_example_machine_reaches_its_distance() {
    use standstill::spreadsheet::{Allow, Book, Cell, Edit, NewValue, Position, write_cells};
    let folder = tempfile::tempdir().unwrap();
    let bytes = std::fs::read(EXAMPLE).unwrap();
    let book = Book::read("example.xlsx", &bytes).unwrap();
    let beside = Position::new(9, 2).unwrap();
    let name = book.tab("Machine").unwrap().cell(Position::new(9, 0).unwrap()).clone();
    assert_eq!(name, Cell::Text("T_0 in N·m".to_owned()));
    let edit = Edit::new("Machine", beside, NewValue::Text("± 0.2 N·m".to_owned()));
    let written = write_cells("example.xlsx", &bytes, &[edit], Allow::default()).unwrap();
    let file = folder.path().join("example.xlsx");
    std::fs::write(&file, &written.bytes).unwrap();
    let file = file.to_str().unwrap();
    let (code, out, err) = standstill(&["fill", file, "--dry-run"]);
    assert_eq!((code, err.as_str()), (Some(0), ""), "{out}");
    assert!(
        out.contains("Inputs have tolerances; these results are for the nominal values."),
        "{out}"
    );
    let (code, out, _) = standstill(&["fill", file, "--worst", "--dry-run"]);
    assert_eq!(code, Some(0), "{out}");
    let line = out.lines().find(|line| line.trim_start().starts_with("S  ")).unwrap();
    assert!(line.contains("2195 mm") && line.trim_end().ends_with("2415 mm"), "{line}");
    assert!(out.contains("No cell of the workbook asks for the lowest or highest"), "{out}");
    // asked for the largest inertia over that tolerance, and told that it does not count without
    let question = [
        "design", "safe-stop", "S<=2300 mm", "by", "J_load", "from", "0.05 kg·m²", "to",
        "0.5 kg·m²", "in", "steps", "of", "0.01 kg·m²", "--from", file,
    ];
    let (code, out, _) = standstill(&question);
    assert_eq!(code, Some(0), "{out}");
    assert!(
        out.contains("J_load = 0.21 kg·m²") && out.contains("`T_0` do not count in the search"),
        "{out}"
    );
    let worst: Vec<&str> = question.iter().copied().chain(["--worst"]).collect();
    let (code, out, _) = standstill(&worst);
    assert_eq!(code, Some(0), "{out}");
    // 2300 mm leave 1026.3 ms for the run-down: 9.463e-3 kg·m² in all, 0.184 kg·m² about the roller shaft
    assert!(out.contains("J_load = 0.18 kg·m²"), "{out}");
}

/// A rise of 7.5 K is one of 7.5 °C and of 13.5 °F: a difference has no zero to add (ISO 80000-5,
/// 5-1 and 5-2). By hand: E = 9 K · 1600 J/K = 14 400 J.
#[test]
fn a_temperature_difference_has_no_zero_in_a_result_or_a_bound() {
    let folder = tempfile::tempdir().unwrap();
    let library = include_str!("../../sheets/brake/stops-per-hour.sheet");
    for (unit, shown) in [("K", "7.5 K"), ("°C", "7.5 °C"), ("°F", "13.5 °F")] {
        let text = library.replacen("sheet stops-per-hour", "sheet rise", 1).replacen(
            "d_one in K,",
            &format!("d_one in {unit},"),
            1,
        );
        let sheet = folder.path().join("rise.sheet");
        std::fs::write(&sheet, text).unwrap();
        let (_, out, err) = standstill(&["run", sheet.to_str().unwrap(), "--example"]);
        let line = out.lines().find(|line| line.trim_start().starts_with("d_one ")).unwrap();
        assert!(line.contains(&format!(" {shown} ")), "{out}{err}");
    }
    for bound in ["d_one<=9 K", "d_one<=9 °C", "d_one<=16.2 °F"] {
        let (_, out, err) = standstill(&[
            "design", "stops-per-hour", bound, "by", "E", "from", "4000 J", "to", "40000 J", "in",
            "steps", "of", "50 J", "--example", "z_want=10 1/h",
        ]);
        assert!(out.contains("E = 14400 J"), "{bound}\n{out}{err}");
    }
}

/// Each question about a calculation that fails says so at its end, where a person looks, and in its code.
#[test]
fn a_report_that_fails_ends_with_its_verdict_whatever_was_asked() {
    let wide = ["run", "safe-stop", "--example", "S_there=2200 mm", "T_0=1.6 N·m ± 10 %"];
    let short = ["run", "safe-stop", "--example", "S_there=500 mm"];
    for (words, more, verdict) in [
        (&wide[..], vec![], "MAY FAIL"),
        (&wide, vec!["--worst"], "MAY FAIL"),
        (&wide, vec!["--slopes", "--of", "S"], "MAY FAIL"),
        (&short, vec![], "FAILS"),
        (&short, vec!["--slopes"], "FAILS"),
        (&short, vec!["--worst"], "FAILS"),
        (&short, vec!["--spread", "50"], "FAILS"),
        (&["range", "examples/roller-line.xlsx", "--dry-run"], vec![], "FAILS"),
        (
            &["range", "examples/roller-line.xlsx"],
            vec!["--slopes", "--of", "T_fails"],
            "FAILS in 7 of 40",
        ),
    ] {
        let words = [words, &more].concat();
        let (code, out, _) = standstill(&words);
        let last = out.trim_end().rsplit("\n\n").next().unwrap();
        assert!(code == Some(1) && last.starts_with(verdict), "{words:?}: {code:?} {last}");
    }
    let (code, out, _) = standstill(&[&wide[..], &["--slopes", "--json"]].concat());
    let json: serde_json::Value = serde_json::from_str(&out).unwrap();
    assert_eq!((code, &json["holds"]), (Some(1), &serde_json::json!(false)));
}

/// A form that was filled with the examples of its sheet is not the machine of the person who reads its figures.
#[test]
fn a_form_that_holds_the_examples_says_so_by_every_door() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name).to_str().unwrap().to_owned();
    let form = at("form.xlsx");
    assert_eq!(standstill(&["form", "safe-stop", "--example", "-o", &form]).0, Some(0));
    for more in
        [&[][..], &["--worst"], &["--slopes"], &["--spread", "20"], &["-o", &at("book.xlsx")]]
    {
        let words = [&["run", "safe-stop", "--from", &form][..], more].concat();
        let (_, out, _) = standstill(&words);
        assert!(
            out.contains("34 of 36 inputs hold the value of the sheet's example"),
            "{more:?}: {out}"
        );
    }
    let (_, out, _) = standstill(&["run", "safe-stop", "--from", &form, "--json"]);
    let json: serde_json::Value = serde_json::from_str(&out).unwrap();
    assert!(json["left_as_examples"].as_str().unwrap().starts_with("34 of 36"), "{out}");
}

/// A step that is larger than the range leaves out the most of it, and the last step is not the end of a range that goes
/// on behind it.
#[test]
fn a_step_that_misses_the_end_of_the_range_is_told() {
    let answered = |step: &str| {
        let asked = ["by", "T_0", "from", "1 N·m", "to", "8 N·m", "in", "steps", "of", step];
        let all = [&["design", "run-down"], &asked[..], &["largest", "--example"]].concat();
        standstill(&all)
    };
    let (code, out, err) = answered("10 N·m");
    assert_eq!(code, Some(2), "{out}");
    assert!(
        err.contains("bad-step: the step of 10 N·m is larger than the range from 1 N·m to 8 N·m"),
        "{err}"
    );
    let (_, out, _) = answered("3 N·m");
    assert!(
        out.contains("T_0 = 7 N·m\n  it is the last step of the range, which ends at 8 N·m"),
        "{out}"
    );
    let (_, out, _) = answered("3.5 N·m");
    assert!(out.contains("T_0 = 8 N·m\n  it is the end of the range"), "{out}");
}
