//! Other programs: a units library in Python, the page in a browser. Lines of which the program is not there
//! say so.

use std::path::Path;
use std::process::Command;

use serde_json::Value;

/// What `tests/bench/with_pint.py` measured; none without its libraries.
pub(crate) fn units_library(folder: &Path, standstill: &Path) -> Option<Value> {
    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/bench/with_pint.py");
    let done = python().arg(script).arg(standstill).arg(folder).output().ok()?;
    serde_json::from_slice(&done.stdout).ok()
}

/// What `tests/bench/what_if.mjs` measured on a page of `safe-stop`; none without node and a browser.
pub(crate) fn what_if(folder: &Path, standstill: &Path) -> Option<Value> {
    let page = folder.join("page.html");
    let document = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/bench/safe_stop.md");
    let done =
        Command::new(standstill).arg("review").arg(document).arg("-o").arg(&page).output().ok()?;
    if !done.status.success() {
        return None;
    }
    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/bench/what_if.mjs");
    let done = Command::new("node").arg(script).arg(&page).output().ok()?;
    serde_json::from_slice(&done.stdout).ok()
}

fn python() -> Command {
    let own = concat!(env!("CARGO_MANIFEST_DIR"), "/target/checks/bin/python");
    Command::new(if Path::new(own).exists() { own } else { "python3" })
}
