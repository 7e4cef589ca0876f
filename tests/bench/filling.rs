//! `fill` of one block in a workbook of 100 000 rows, beside unzipping and zipping that tab alone.

use std::io::{Read, Write};
use std::path::Path;
use std::process::{Command, Stdio};

use rust_xlsxwriter::Workbook;
use zip::write::SimpleFileOptions;
use zip::{ZipArchive, ZipWriter};

use crate::measure::{Pair, paired};

/// A workbook of so many rows of figures, and above them a block that asks for a sheet.
pub(crate) fn make(to: &Path, rows: u32) {
    let mut book = Workbook::new();
    let tab = book.add_worksheet_with_constant_memory().unwrap();
    tab.set_name("Line").unwrap();
    let block: [(&str, Option<f64>, &str); 6] = [
        ("sheet run-down", None, ""),
        ("J", Some(0.0101), "kg·m²"),
        ("n_0", Some(1450.0), "r/min"),
        ("T_0", Some(1.6), "N·m"),
        ("t_stop", None, "s"),
        ("phi_stop", None, "r"),
    ];
    for (row, (name, value, unit)) in (0..).zip(block) {
        tab.write(row, 0, name).unwrap();
        if let Some(value) = value {
            tab.write(row, 1, value).unwrap();
        }
        tab.write(row, 2, unit).unwrap();
    }
    for row in 0..rows {
        for column in 0..10 {
            let value = (f64::from(row) * 7919.0 + f64::from(column) * 104_729.0) % 100_003.0 / 8.0;
            tab.write(10 + row, column, value).unwrap();
        }
    }
    book.save(to).unwrap();
}

/// Seconds of both.
pub(crate) fn compare(folder: &Path, standstill: &Path, rows: u32, repeats: usize) -> Pair {
    let book = folder.join("book.xlsx");
    make(&book, rows);
    paired(
        repeats,
        || {
            let mut fill = Command::new(standstill);
            fill.args(["fill", "book.xlsx", "-o", "filled.xlsx", "--force"]).current_dir(folder);
            let done = fill.stdout(Stdio::null()).status().unwrap();
            assert!(done.code().is_some_and(|code| code < 2), "{done}");
        },
        || repacked(&book, &folder.join("repacked.xlsx")),
    )
}

/// The tab unpacked and packed again, everything else copied packed.
pub(crate) fn repacked(from: &Path, to: &Path) {
    let mut archive = ZipArchive::new(std::fs::File::open(from).unwrap()).unwrap();
    let mut fresh = ZipWriter::new(std::fs::File::create(to).unwrap());
    for at in 0..archive.len() {
        let mut part = archive.by_index(at).unwrap();
        if part.name().unwrap() == "xl/worksheets/sheet1.xml" {
            let mut text = Vec::new();
            part.read_to_end(&mut text).unwrap();
            fresh.start_file("xl/worksheets/sheet1.xml", SimpleFileOptions::default()).unwrap();
            fresh.write_all(&text).unwrap();
        } else {
            drop(part);
            fresh.raw_copy_file(archive.by_index_raw(at).unwrap()).unwrap();
        }
    }
    fresh.finish().unwrap();
}
