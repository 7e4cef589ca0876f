//! The container with some parts replaced and all others copied packed as they are.

use std::collections::{BTreeMap, BTreeSet};
use std::io::{Cursor, Write};

use zip::{CompressionMethod, ZipWriter};

use crate::workbook::archive::Archive;

/// Parts above this size are packed a little less tightly, three times as fast.
const LARGE: usize = 8 << 20;

/// Writes the container anew; `parts` and `dropped` name entries by their number.
pub(super) fn repack(
    archive: &mut Archive<'_>,
    parts: &BTreeMap<usize, Vec<u8>>,
    dropped: &BTreeSet<usize>,
) -> Result<Vec<u8>, String> {
    let mut out = ZipWriter::new(Cursor::new(Vec::new()));
    out.set_raw_comment(archive.zip.comment().into()).map_err(|error| error.to_string())?;
    for index in 0..archive.zip.len() {
        if dropped.contains(&index) {
            continue;
        }
        let entry = archive.zip.by_index_raw(index).map_err(|error| error.to_string())?;
        match parts.get(&index) {
            None => out.raw_copy_file(entry).map_err(|error| error.to_string())?,
            Some(content) => {
                let name = entry.name().map_err(|error| error.to_string())?.into_owned();
                let mut options = entry.options();
                if entry.compression() == CompressionMethod::Deflated {
                    let level = if content.len() > LARGE { 4 } else { 6 };
                    options = options.compression_level(Some(level));
                }
                drop(entry);
                out.start_file(name, options).map_err(|error| error.to_string())?;
                out.write_all(content).map_err(|error| error.to_string())?;
            }
        }
    }
    Ok(out.finish().map_err(|error| error.to_string())?.into_inner())
}
