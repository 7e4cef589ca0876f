//! An independent office suite, run without a window: it works formulas out afresh.
//!
//! Without it these tests say so loudly and check nothing; where the variable `CI` is set it must be there.

use std::io::{Cursor, Read as _, Write as _};
use std::path::{Path, PathBuf};
use std::process::Command;

/// The suite's program, if it is installed.
pub(super) fn suite() -> Option<&'static str> {
    let found = ["soffice", "libreoffice"].into_iter().find(|program| {
        Command::new(program)
            .arg("--version")
            .output()
            .is_ok_and(|printed| printed.status.success())
    });
    if found.is_none() {
        assert!(
            std::env::var_os("CI").is_none(),
            "LibreOffice is not installed, and CI must not go without it"
        );
        // past the capture of the test runner, so that nobody overlooks it
        let words =
            "NOT CHECKED: LibreOffice is not installed, so no formula was calculated afresh";
        let _ = std::io::stderr().lock().write_all(format!("{words}\n").as_bytes());
    }
    found
}

/// The same workbook without the results that its formulas carry, so that nothing old can be taken over.
pub(super) fn without_results(bytes: &[u8]) -> Vec<u8> {
    let mut from = zip::ZipArchive::new(Cursor::new(bytes)).unwrap();
    let mut to = zip::ZipWriter::new(Cursor::new(Vec::new()));
    for at in 0..from.len() {
        let mut part = from.by_index(at).unwrap();
        let name = part.name().unwrap().into_owned();
        let mut content = Vec::new();
        part.read_to_end(&mut content).unwrap();
        if name.starts_with("xl/worksheets/sheet") {
            content = dropped(&String::from_utf8(content).unwrap()).into_bytes();
        }
        to.start_file(name, zip::write::SimpleFileOptions::default()).unwrap();
        to.write_all(&content).unwrap();
    }
    to.finish().unwrap().into_inner()
}

fn dropped(xml: &str) -> String {
    let mut kept = String::with_capacity(xml.len());
    let mut rest = xml;
    while let Some(at) = rest.find("</f><v>") {
        kept.push_str(&rest[..at + 4]);
        let end = rest[at..].find("</v>").unwrap();
        rest = &rest[at + end + 4..];
    }
    kept.push_str(rest);
    kept
}

/// Opens workbooks, works everything out, and saves them: one start of the suite for all of them.
pub(super) fn recalculated(suite: &str, files: &[PathBuf], folder: &Path) -> Vec<PathBuf> {
    let out = folder.join("afresh");
    let printed = Command::new(suite)
        .arg(format!("-env:UserInstallation=file://{}", folder.join("profile").display()))
        .args(["--headless", "--convert-to", "xlsx:Calc MS Excel 2007 XML", "--outdir"])
        .arg(&out)
        .args(files)
        .output()
        .unwrap();
    assert!(printed.status.success(), "{}", String::from_utf8_lossy(&printed.stderr));
    files.iter().map(|file| out.join(file.file_name().unwrap())).collect()
}
