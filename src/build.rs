//! Puts the library of sheets into the binary: one list of name, group and text.
//!
//! A macro that embeds a folder does not see that a file in it has changed; this does.

#![allow(clippy::disallowed_methods)] // a build script stands before the crate and has no `Environment`

use std::error::Error;
use std::fmt::Write as _;
use std::path::Path;
use std::{env, fs};

fn main() -> Result<(), Box<dyn Error>> {
    let root = env::var("CARGO_MANIFEST_DIR")?;
    let sheets = Path::new(&root).join("sheets");
    let mut found: Vec<(String, String, String)> = Vec::new();
    let mut inputs = Vec::new();
    for group in fs::read_dir(&sheets)? {
        let group = group?.path();
        if !group.is_dir() {
            continue;
        }
        for file in fs::read_dir(&group)? {
            let file = file?.path();
            let ending = file.extension().unwrap_or_default();
            if ending == "sheet" || ending == "group" {
                let text = |part: Option<&std::ffi::OsStr>| {
                    part.map(|part| part.to_string_lossy().into_owned()).unwrap_or_default()
                };
                let list = if ending == "sheet" { &mut found } else { &mut inputs };
                list.push((
                    text(group.file_name()),
                    text(file.file_stem()),
                    file.to_string_lossy().into_owned(),
                ));
            }
        }
    }
    list("sheets.rs", found)?;
    list("groups.rs", inputs)?;
    println!("cargo::rerun-if-changed=sheets");
    println!("cargo::rerun-if-changed=src/build.rs");
    Ok(())
}

/// Writes what the library holds of one kind.
fn list(file: &str, mut found: Vec<(String, String, String)>) -> Result<(), Box<dyn Error>> {
    found.sort();
    // one name stands for one of them, whichever folder it lies in
    for (at, (group, name, _)) in found.iter().enumerate() {
        if let Some((other, ..)) = found.iter().skip(at + 1).find(|it| it.1 == *name) {
            return Err(format!("two are called `{name}`: in {group} and in {other}").into());
        }
    }
    let mut list = String::from("&[\n");
    for (group, name, path) in &found {
        // the same text, and so the same hash, whatever line ends it was checked out with
        let text = fs::read_to_string(path)?.replace("\r\n", "\n");
        writeln!(list, "    LibrarySheet {{ group: {group:?}, name: {name:?}, text: {text:?} }},")?;
    }
    list.push(']');
    fs::write(Path::new(&env::var("OUT_DIR")?).join(file), list)?;
    Ok(())
}
