//! `fill`: inputs from workbooks made by another writer, results into the same file, and every mistake told.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

use standstill::spreadsheet::{Book, Cell, Position};
use tempfile::TempDir;

fn asked(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/workbooks/asked").join(name)
}

/// A workbook copied to a folder of its own.
struct Copy {
    folder: TempDir,
    name: String,
    original: Vec<u8>,
}

impl Copy {
    fn of(path: &Path) -> Self {
        let folder = tempfile::tempdir().unwrap();
        let name = path.file_name().unwrap().to_string_lossy().into_owned();
        let original = fs::read(path).unwrap();
        fs::write(folder.path().join(&name), &original).unwrap();
        Self { folder, name, original }
    }

    fn fill(&self, more: &[&str]) -> Output {
        Command::new(env!("CARGO_BIN_EXE_standstill"))
            .arg("fill")
            .arg(&self.name)
            .args(more)
            .current_dir(self.folder.path())
            .output()
            .unwrap()
    }

    fn bytes(&self) -> Vec<u8> {
        fs::read(self.folder.path().join(&self.name)).unwrap()
    }

    fn cell(&self, tab: &str, cell: &str) -> Cell {
        let book = Book::read(&self.name, &self.bytes()).unwrap();
        book.tab(tab).unwrap().cell(Position::parse(cell).unwrap()).clone()
    }

    fn number(&self, tab: &str, cell: &str) -> f64 {
        match self.cell(tab, cell) {
            Cell::Number(number) => number,
            other => panic!("{cell} holds {other}"),
        }
    }
}

fn near(found: f64, wanted: f64) {
    assert!((found / wanted - 1.0).abs() < 1e-12, "{found} is not {wanted}");
}

#[test]
fn five_mistakes_are_reported_in_one_run_with_their_cells_and_nothing_is_written() {
    let copy = Copy::of(&asked("five-mistakes.xlsx"));
    let output = copy.fill(&[]);
    assert_eq!(output.status.code(), Some(2));
    assert_eq!(String::from_utf8_lossy(&output.stdout), "");
    let printed = String::from_utf8_lossy(&output.stderr).into_owned();
    let wanted = [
        // a text in a number cell
        "error text-for-number: `J_load` (inertia) needs a number, the cell holds the text \"0,35kgm2\"\n  five-mistakes.xlsx ▸ Inputs!C4\n",
        // r/min typed as Hz
        "error rotation-meets-rate: `n_0` (speed of rotation) in `Hz`: `Hz` is a unit of frequency, not of speed of rotation\n  five-mistakes.xlsx ▸ Inputs!D7\n",
        // an empty cell
        "error empty-cell: `t_cycle` (time) needs a number, the cell is empty; empty is not zero\n  five-mistakes.xlsx ▸ Inputs!C9\n",
        // a unit of the wrong kind
        "error unit-mismatch: `I_max` (current) in `mm`: `mm` is a unit of length, radius or diameter, not of current\n  five-mistakes.xlsx ▸ Inputs!D11\n",
        // a value out of range
        "error out-of-range: `eta` = 120 % is not within 50 % to 100 %\n  five-mistakes.xlsx ▸ Inputs!C13\n",
    ];
    for part in wanted {
        assert!(printed.contains(part), "{part}\nis not in\n{printed}");
    }
    assert!(printed.contains("5 problems. Nothing was written."), "{printed}");
    assert_eq!(copy.bytes(), copy.original);
}

#[test]
fn the_example_machine_is_filled_in_place_and_a_second_run_changes_nothing() {
    let copy =
        Copy::of(&Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/carton-wrapper.xlsx"));
    let output = copy.fill(&[]);
    assert_eq!(output.status.code(), Some(0), "{}", String::from_utf8_lossy(&output.stderr));
    let printed = String::from_utf8_lossy(&output.stdout).into_owned();
    assert!(printed.contains("19 cells written to carton-wrapper.xlsx."), "{printed}");
    assert!(printed.contains("These figures are a calculation."), "{printed}");
    // worked by hand: ramp 300 ms from 1450 r/min is 0.310345 s from 1500 r/min, next step of 10 ms
    near(copy.number("Results", "B4"), 0.32);
    // (20 ms + 1.05 · 0.32 s · 1450/1500) / 0.98 = 351.84 ms, next step of 10 ms
    near(copy.number("Results", "B5"), 360.0);
    // J·ω/T = 0.0101 kg·m² · 151.8436 rad/s / 1.6 N·m
    near(copy.number("Results", "B8"), 0.0101 * 1450.0 * std::f64::consts::PI / 30.0 / 1.6);
    // the ramp fails: 1.02 · 360 ms, then that run-down
    near(
        copy.number("Results", "B7"),
        1.02 * 0.36 + 0.0101 * 1450.0 * std::f64::consts::PI / 30.0 / 1.6,
    );
    // 1600 mm/s · (1.325713 s + 44 ms) + 0 = 2191.5 mm, next 5 mm
    near(copy.number("Results", "B17"), 2195.0);
    assert_eq!(copy.cell("Results", "B18"), Cell::Text("all 27 checks hold".into()));
    // a second curtain, d = 30 mm: 1600 · 0.4 + 8 · 16 = 768 mm
    near(copy.number("Second curtain", "C8"), 768.0);
    let once = copy.bytes();
    let again = copy.fill(&[]);
    assert_eq!(again.status.code(), Some(0));
    assert!(
        String::from_utf8_lossy(&again.stdout)
            .contains("holds these results already; nothing was written.")
    );
    assert_eq!(copy.bytes(), once);
}

#[test]
fn only_the_parts_of_the_touched_tabs_differ() {
    let copy =
        Copy::of(&Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/carton-wrapper.xlsx"));
    assert_eq!(copy.fill(&[]).status.code(), Some(0));
    let parts = |bytes: &[u8]| {
        let mut archive = zip::ZipArchive::new(std::io::Cursor::new(bytes.to_vec())).unwrap();
        let names: Vec<String> = (0..archive.len())
            .map(|at| archive.by_index(at).unwrap().name().unwrap().to_string())
            .collect();
        names
            .into_iter()
            .map(|name| {
                let mut text = Vec::new();
                std::io::Read::read_to_end(&mut archive.by_name(&name).unwrap(), &mut text)
                    .unwrap();
                (name, text)
            })
            .collect::<Vec<_>>()
    };
    let (before, after) = (parts(&copy.original), parts(&copy.bytes()));
    assert_eq!(
        before.iter().map(|part| &part.0).collect::<Vec<_>>(),
        after.iter().map(|part| &part.0).collect::<Vec<_>>()
    );
    let changed: Vec<&str> =
        before.iter().zip(&after).filter(|(a, b)| a.1 != b.1).map(|(a, _)| a.0.as_str()).collect();
    assert_eq!(changed, ["xl/worksheets/sheet4.xml", "xl/worksheets/sheet5.xml"]);
}

#[test]
fn a_block_takes_its_results_in_the_units_that_stand_there() {
    let copy = Copy::of(&asked("block.xlsx"));
    let output = copy.fill(&[]);
    assert_eq!(output.status.code(), Some(0), "{}", String::from_utf8_lossy(&output.stderr));
    // J = 0.0018 + 0.35/25 kg·m², E = ½ J ω² · 0.95, P = 2E/t; worked with the formulas of the energy balance
    let omega = 1450.0 * std::f64::consts::PI / 30.0;
    let energy = 0.5 * (0.0018 + 0.35 / 25.0) * omega * omega * 0.95;
    near(copy.number("Inputs", "C16"), energy / 1000.0);
    near(copy.number("Inputs", "C17"), 2.0 * energy / 0.5 / 1000.0);
    // E / 12 s = 14.4 W, next 10 W
    near(copy.number("Inputs", "C18"), 20.0);
    // 780² / 692.16 / 1.1 = 799.1 Ω with the tolerance of the resistor, next below in E24: 750 Ω
    near(copy.number("Inputs", "C19"), 750.0);
    assert_eq!(copy.cell("Inputs", "C20"), Cell::Text("all 3 checks hold".into()));
}

#[test]
fn units_in_headings_and_around_named_cells_are_read() {
    for (name, tab, cell) in [("headings.xlsx", "Inputs", "B6"), ("names.xlsx", "Run-down", "C6")] {
        let copy = Copy::of(&asked(name));
        let output = copy.fill(&[]);
        assert_eq!(
            output.status.code(),
            Some(0),
            "{name}: {}",
            String::from_utf8_lossy(&output.stderr)
        );
        // J·ω/T with J 2 kg·m², 1500 r/min, 4 N·m: 25π s
        near(copy.number(tab, cell), 25.0 * std::f64::consts::PI);
    }
}

#[test]
fn a_bind_file_serves_a_workbook_whose_layout_cannot_be_touched() {
    let copy = Copy::of(&asked("plain.xlsx"));
    let bind = "sheet run-down\n  J from 'Old sheet'!E3 in kg·m²   # the load\n  n_0 from Old sheet!E4 in r/min\n  T_0 from Old sheet!E5 unit Old sheet!E6\n  n_end = 0 r/min\n  t_stop to Old sheet!E7 in min\n";
    fs::write(copy.folder.path().join("plain.bind"), bind).unwrap();
    let output = copy.fill(&["--bind", "plain.bind"]);
    assert_eq!(output.status.code(), Some(0), "{}", String::from_utf8_lossy(&output.stderr));
    near(copy.number("Old sheet", "E7"), 25.0 * std::f64::consts::PI / 60.0);
}

#[test]
fn a_failing_figure_stands_in_no_cell_without_its_verdict() {
    // what drives harder than friction holds: the check of the standstill fails, the integral still has a value
    let bind = "sheet run-down\n  J from 'Old sheet'!E3 in kg·m²\n  n_0 from Old sheet!E4 in r/min\n  T_0 from Old sheet!E5 unit Old sheet!E6\n  T_load = 30 N·m\n  t_stop to Old sheet!E7 in min\n";
    for (more, says) in [("", true), ("  checks to Old sheet!F9\n", false)] {
        let copy = Copy::of(&asked("plain.xlsx"));
        fs::write(copy.folder.path().join("plain.bind"), format!("{bind}{more}")).unwrap();
        let output = copy.fill(&["--bind", "plain.bind"]);
        assert_eq!(output.status.code(), Some(1), "{}", String::from_utf8_lossy(&output.stderr));
        let told = String::from_utf8_lossy(&output.stdout).into_owned();
        assert_eq!(
            told.contains("add a line `checks to TAB!CELL` to the bind file"),
            says,
            "{told}"
        );
        match copy.cell("Old sheet", "E7") {
            Cell::Text(words) if says => {
                assert!(words.starts_with("FAILS: friction holds the load"), "{words}")
            }
            Cell::Number(_) if !says => {}
            other => panic!("{other}"),
        }
    }
}

#[test]
fn mistakes_of_a_bind_file_are_told_in_its_lines() {
    let copy = Copy::of(&asked("plain.xlsx"));
    let bind = "sheet run-down\n  J from Gone!E3 in kg·m²\n  n_0 from Old sheet!E4\n  T_0 form Old sheet!E5\n  t_stop from Old sheet!E7 in s\n  T_00 = 4 N·m\n";
    fs::write(copy.folder.path().join("plain.bind"), bind).unwrap();
    let output = copy.fill(&["--bind", "plain.bind"]);
    assert_eq!(output.status.code(), Some(2));
    let printed = String::from_utf8_lossy(&output.stderr).into_owned();
    for part in [
        "error missing-tab: `plain.xlsx` has no tab `Gone`\n  plain.bind:2:3\n",
        "error missing-unit: `n_0` is a speed of rotation and 1500 has no unit\n  plain.xlsx ▸ Old sheet!E4\n",
        "error bind-file: this line of the bind file does not read\n  plain.bind:4:3\n",
        "error bind-file: `t_stop` is a result and cannot be taken from a cell\n  plain.bind:5:3\n",
        "error unknown-input: `run-down` takes no input `T_00`\n  plain.bind:6:3\n",
    ] {
        assert!(printed.contains(part), "{part}\nis not in\n{printed}");
    }
    assert_eq!(copy.bytes(), copy.original);
}

#[test]
fn every_kind_of_cell_has_its_own_answer() {
    let copy = Copy::of(&asked("odd-cells.xlsx"));
    let output = copy.fill(&[]);
    assert_eq!(output.status.code(), Some(2));
    let printed = String::from_utf8_lossy(&output.stderr).into_owned();
    for part in [
        "error empty-cell: `J_load` (inertia) needs a number, and the formula in the cell gives nothing, or its result was never saved\n  odd-cells.xlsx ▸ Inputs!C4\n",
        "error date-for-number: `n_0` (speed of rotation) needs a number, the cell holds the date or time 2026-11-25\n  odd-cells.xlsx ▸ Inputs!C7\n",
        "error truth-for-number: `t_ramp` (time) needs a number, the cell holds TRUE\n  odd-cells.xlsx ▸ Inputs!C8\n",
        "error missing-unit: `t_cycle` is a time and 12 has no unit\n  odd-cells.xlsx ▸ Inputs!C9\n",
    ] {
        assert!(printed.contains(part), "{part}\nis not in\n{printed}");
    }
}

#[test]
fn names_and_rows_that_lead_nowhere_are_reported() {
    for (name, code, parts) in [
        (
            "broken-names.xlsx",
            2,
            vec![
                "the name `run_down.n_0` points to cells that were deleted",
                "points to the tab `Gone`",
            ],
        ),
        (
            "rows-missing.xlsx",
            2,
            vec![
                "`t_cycle` (a time) has no value",
                "remedy: add a row to the block: I_max, its value, A",
            ],
        ),
        (
            "stranger.xlsx",
            2,
            vec![
                "`P_maen` is neither an input nor a result of `brake-resistor`\n  stranger.xlsx ▸ Inputs!B21\n  remedy: `P_mean` is close",
            ],
        ),
        ("plain.xlsx", 2, vec!["error nothing-asked"]),
        (
            "formula-in-result.xlsx",
            4,
            vec![
                "error formula-in-the-way: C16 holds the formula `=1+1`\n  formula-in-result.xlsx ▸ Inputs!C16",
            ],
        ),
    ] {
        let copy = Copy::of(&asked(name));
        let output = copy.fill(&[]);
        let printed = String::from_utf8_lossy(&output.stderr).into_owned();
        assert_eq!(output.status.code(), Some(code), "{name}: {printed}");
        for part in parts {
            assert!(printed.contains(part), "{name}: {part}\nis not in\n{printed}");
        }
        assert_eq!(copy.bytes(), copy.original, "{name}");
    }
}

#[test]
fn a_formula_is_overwritten_only_when_that_is_allowed() {
    let copy = Copy::of(&asked("formula-in-result.xlsx"));
    assert_eq!(copy.fill(&["--allow", "formulas"]).status.code(), Some(0));
    assert!(matches!(copy.cell("Inputs", "C16"), Cell::Number(_)));
}

#[test]
fn a_dry_run_and_another_file_leave_the_workbook_alone() {
    let copy = Copy::of(&asked("block.xlsx"));
    let output = copy.fill(&["--dry-run"]);
    assert_eq!(output.status.code(), Some(0));
    assert!(
        String::from_utf8_lossy(&output.stdout)
            .contains("5 cells of block.xlsx would be written; nothing was written.")
    );
    assert_eq!(copy.bytes(), copy.original);
    assert_eq!(copy.fill(&["-o", "filled.xlsx"]).status.code(), Some(0));
    assert_eq!(copy.bytes(), copy.original);
    let filled =
        Book::read("filled.xlsx", &fs::read(copy.folder.path().join("filled.xlsx")).unwrap())
            .unwrap();
    assert_eq!(
        *filled.tab("Inputs").unwrap().cell(Position::parse("C19").unwrap()),
        Cell::Number(750.0)
    );
}

#[test]
fn a_failing_check_is_written_and_ends_in_one() {
    let copy = Copy::of(&asked("block.xlsx"));
    // 0.8 A: 780 V / 0.8 A = 975 Ω from below, more than the 836 Ω that still take the peak
    let edit = standstill::spreadsheet::Edit::new(
        "Inputs",
        Position::parse("C11").unwrap(),
        standstill::spreadsheet::NewValue::Number(0.8),
    );
    let written = standstill::spreadsheet::write_cells(
        "block.xlsx",
        &copy.original,
        &[edit],
        Default::default(),
    )
    .unwrap();
    fs::write(copy.folder.path().join("block.xlsx"), written.bytes).unwrap();
    let output = copy.fill(&[]);
    assert_eq!(output.status.code(), Some(1), "{}", String::from_utf8_lossy(&output.stderr));
    match copy.cell("Inputs", "C20") {
        Cell::Text(words) => {
            assert!(words.starts_with("FAILS: a preferred value fits the window"), "{words}")
        }
        other => panic!("{other}"),
    }
}

#[test]
fn a_file_that_is_open_elsewhere_or_missing_is_left_alone() {
    let copy = Copy::of(&asked("block.xlsx"));
    fs::write(copy.folder.path().join(".~lock.block.xlsx#"), "somebody").unwrap();
    let output = copy.fill(&[]);
    assert_eq!(output.status.code(), Some(4));
    assert!(String::from_utf8_lossy(&output.stderr).contains("error file-in-use"));
    assert_eq!(copy.bytes(), copy.original);
    let output = Command::new(env!("CARGO_BIN_EXE_standstill"))
        .args(["fill", "no-such-book.xlsx"])
        .output()
        .unwrap();
    assert_eq!(output.status.code(), Some(4));
    assert!(String::from_utf8_lossy(&output.stderr).contains("there is no such file"));
}

#[test]
fn what_cannot_be_filled_in_place_becomes_a_fresh_workbook_when_asked() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(
        folder.path().join("rundown.csv"),
        "sheet run-down,,\nJ,2,kg·m²\nn_0,1500,r/min\nT_0,4,N·m\nt_stop,,s\nnote,,,\"=1+1\"\n",
    )
    .unwrap();
    let fill = |more: &[&str]| {
        Command::new(env!("CARGO_BIN_EXE_standstill"))
            .args(["fill", "rundown.csv"])
            .args(more)
            .current_dir(folder.path())
            .output()
            .unwrap()
    };
    let output = fill(&[]);
    assert_eq!(output.status.code(), Some(4));
    assert!(
        String::from_utf8_lossy(&output.stderr).contains("give another file, `-o filled.xlsx`")
    );
    let output = fill(&["-o", "filled.xlsx"]);
    assert_eq!(output.status.code(), Some(0), "{}", String::from_utf8_lossy(&output.stderr));
    assert!(String::from_utf8_lossy(&output.stdout).contains("caution values-only"));
    let book =
        Book::read("filled.xlsx", &fs::read(folder.path().join("filled.xlsx")).unwrap()).unwrap();
    let cell = |name: &str| book.tabs[0].cell(Position::parse(name).unwrap()).clone();
    let Cell::Number(stop) = cell("B5") else { panic!("{:?}", cell("B5")) };
    near(stop, 25.0 * std::f64::consts::PI);
    // a text that looks like a formula stays a text
    assert_eq!(cell("D6"), Cell::Text("=1+1".into()));
    assert!(!book.tabs[0].has_formula(Position::parse("D6").unwrap()));
}
