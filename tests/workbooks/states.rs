//! Workbooks in a state in which writing needs a second thought: each has a considered answer, as a person
//! reads it. What is refused leaves the file as it was.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

use standstill::spreadsheet::{Book, Cell, Edit, NewValue, Position, write_cells};
use tempfile::TempDir;

/// A workbook copied to a folder of its own.
struct Copy {
    folder: TempDir,
    name: &'static str,
    original: Vec<u8>,
}

impl Copy {
    fn of(name: &'static str) -> Self {
        let from = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/workbooks/asked").join(name);
        let original = fs::read(from).unwrap();
        let copy = Self { folder: tempfile::tempdir().unwrap(), name, original };
        fs::write(copy.path(), &copy.original).unwrap();
        copy
    }

    fn path(&self) -> PathBuf {
        self.folder.path().join(self.name)
    }

    fn fill(&self, more: &[&str]) -> Output {
        Command::new(env!("CARGO_BIN_EXE_standstill"))
            .args(["fill", self.name])
            .args(more)
            .current_dir(self.folder.path())
            .output()
            .unwrap()
    }

    fn cell(&self, tab: &str, cell: &str) -> Cell {
        let book = Book::read(self.name, &fs::read(self.path()).unwrap()).unwrap();
        book.tab(tab).unwrap().cell(Position::parse(cell).unwrap()).clone()
    }

    /// Everything in the folder but the workbook itself.
    fn beside(&self) -> Vec<String> {
        let names = fs::read_dir(self.folder.path()).unwrap();
        let names = names.map(|entry| entry.unwrap().file_name().to_string_lossy().into_owned());
        names.filter(|name| name != self.name).collect()
    }
}

fn output_text(output: &Output) -> String {
    format!(
        "exit code {}\n--- output\n{}--- problems\n{}",
        output.status.code().unwrap(),
        String::from_utf8_lossy(&output.stdout),
        String::from_utf8_lossy(&output.stderr)
    )
}

fn read_by_eye(name: &str, output: &Output) {
    insta::with_settings!({ prepend_module_to_snapshot => false, omit_expression => true }, {
        insta::assert_snapshot!(name, crate::without_hashes(&output_text(output)));
    });
}

#[test]
fn what_must_not_be_written_is_refused_with_a_remedy() {
    for name in ["protected.xlsx", "merged.xlsx", "signed.xlsx", "formula-in-result.xlsx"] {
        let copy = Copy::of(name);
        let output = copy.fill(&[]);
        assert_eq!(output.status.code(), Some(4), "{name}");
        read_by_eye(&format!("fill-{}", name.trim_end_matches(".xlsx")), &output);
        assert!(fs::read(copy.path()).unwrap() == copy.original, "{name}");
        assert_eq!(copy.beside(), [""; 0], "{name}");
    }
}

#[test]
fn the_remedies_do_what_they_say() {
    // 25π s: J·ω/T with J 2 kg·m², 1500 r/min, 4 N·m
    let stop = 25.0 * std::f64::consts::PI;
    for (name, allow) in [("protected.xlsx", "locked"), ("signed.xlsx", "signature")] {
        let copy = Copy::of(name);
        let output = copy.fill(&["--allow", allow]);
        assert_eq!(output.status.code(), Some(0), "{name}: {}", output_text(&output));
        let Cell::Number(found) = copy.cell("Run-down", "C6") else { panic!("{name}") };
        assert!((found / stop - 1.0).abs() < 1e-12, "{name}: {found}");
    }
    // a tab that was protected still is, and a signature that no longer fits is still there to say so
    let copy = Copy::of("protected.xlsx");
    copy.fill(&["--allow", "locked"]);
    let book = Book::read(copy.name, &fs::read(copy.path()).unwrap()).unwrap();
    assert!(book.tab("Run-down").unwrap().protected);
}

#[test]
fn a_file_that_is_open_elsewhere_is_left_alone() {
    for (lock, name) in
        [(".~lock.names.xlsx#", "fill-open-elsewhere"), ("~$names.xlsx", "fill-open-elsewhere-too")]
    {
        let copy = Copy::of("names.xlsx");
        fs::write(copy.folder.path().join(lock), "somebody").unwrap();
        let output = copy.fill(&[]);
        assert_eq!(output.status.code(), Some(4), "{lock}");
        read_by_eye(name, &output);
        assert!(fs::read(copy.path()).unwrap() == copy.original, "{lock}");
        assert_eq!(copy.beside(), [lock]);
        // another file is nobody's business
        assert_eq!(copy.fill(&["-o", "filled.xlsx"]).status.code(), Some(0), "{lock}");
    }
}

#[test]
fn a_read_only_file_is_left_alone() {
    let copy = Copy::of("names.xlsx");
    let mut permissions = fs::metadata(copy.path()).unwrap().permissions();
    permissions.set_readonly(true);
    fs::set_permissions(copy.path(), permissions).unwrap();
    let output = copy.fill(&[]);
    assert_eq!(output.status.code(), Some(4));
    read_by_eye("fill-read-only", &output);
    assert!(fs::read(copy.path()).unwrap() == copy.original);
    assert_eq!(copy.fill(&["-o", "filled.xlsx"]).status.code(), Some(0));
}

#[test]
fn hidden_tabs_are_read_and_filled_and_reported() {
    let copy = Copy::of("hidden.xlsx");
    let output = copy.fill(&[]);
    assert_eq!(output.status.code(), Some(0));
    read_by_eye("fill-hidden-tabs", &output);
    assert!(matches!(copy.cell("Report", "C6"), Cell::Number(_)));
    assert!(matches!(copy.cell("Log", "C7"), Cell::Text(_)));
    // for programs too, and a workbook without hidden tabs says nothing
    let json = |copy: &Copy| -> serde_json::Value {
        serde_json::from_slice(&copy.fill(&["--dry-run", "--json"]).stdout).unwrap()
    };
    let cautions = json(&copy)["remarks"].as_array().unwrap().clone();
    assert_eq!(cautions.len(), 2);
    assert!(cautions.iter().all(|caution| caution["name"] == "hidden-tab"), "{cautions:?}");
    assert_eq!(json(&Copy::of("names.xlsx"))["remarks"], serde_json::json!([]));
}

#[test]
fn the_summary_reports_the_old_and_the_new_value_of_each_cell() {
    let copy = Copy::of("names.xlsx");
    assert_eq!(copy.fill(&[]).status.code(), Some(0));
    let edit = Edit::new("Run-down", Position::parse("C5").unwrap(), NewValue::Number(2.0));
    let once = fs::read(copy.path()).unwrap();
    let changed = write_cells(copy.name, &once, &[edit], Default::default()).unwrap();
    fs::write(copy.path(), changed.bytes).unwrap();
    let output = copy.fill(&[]);
    read_by_eye("fill-old-and-new", &output);
    // and once more changes nothing, not even the time of the file
    let (bytes, time) =
        (fs::read(copy.path()).unwrap(), fs::metadata(copy.path()).unwrap().modified().unwrap());
    read_by_eye("fill-nothing-new", &copy.fill(&[]));
    assert!(fs::read(copy.path()).unwrap() == bytes);
    assert_eq!(fs::metadata(copy.path()).unwrap().modified().unwrap(), time);
}
