//! The container with some parts replaced and all others copied packed as they are.

use std::collections::{BTreeMap, BTreeSet};
use std::hash::{DefaultHasher, Hasher};
use std::io::{Cursor, Read, Write};

use zip::{CompressionMethod, ZipWriter};

use crate::spreadsheet::read::archive::Archive;

/// Parts above this size are packed a tenth less tightly, several times as fast.
const LARGE: u64 = 8 << 20;

/// The new content of a part.
pub(super) enum Content<'c> {
    Whole(Vec<u8>),
    /// Content that is made while it is packed.
    Flowing(Flow<'c>),
    /// Content that was made while it was packed: its length and sum.
    Flown(u64, u64),
}

/// Writes content bit by bit.
pub(super) type Flow<'c> = Box<dyn FnOnce(&mut dyn Write) -> Result<(), String> + 'c>;

/// Writes the container anew; `parts` and `dropped` name entries by their number. Of content that was
/// made on the way, length and sum are left in `parts`.
pub(super) fn repack(
    archive: &mut Archive<'_>,
    parts: &mut BTreeMap<usize, Content<'_>>,
    dropped: &BTreeSet<usize>,
) -> Result<Vec<u8>, String> {
    let mut out = ZipWriter::new(Cursor::new(Vec::new()));
    out.set_raw_comment(archive.zip.comment().into()).map_err(|error| error.to_string())?;
    for index in 0..archive.zip.len() {
        if dropped.contains(&index) {
            continue;
        }
        let entry = archive.zip.by_index_raw(index).map_err(|error| error.to_string())?;
        let Some(content) = parts.get_mut(&index) else {
            out.raw_copy_file(entry).map_err(|error| error.to_string())?;
            continue;
        };
        let name = entry.name().map_err(|error| error.to_string())?.into_owned();
        let mut options = entry.options();
        let size = match content {
            Content::Whole(content) => content.len() as u64,
            _ => entry.size(),
        };
        if entry.compression() == CompressionMethod::Deflated {
            options = options.compression_level(Some(if size > LARGE { 2 } else { 6 }));
        }
        drop(entry);
        out.start_file(name, options).map_err(|error| error.to_string())?;
        match std::mem::replace(content, Content::Flown(0, 0)) {
            Content::Whole(whole) => {
                out.write_all(&whole).map_err(|error| error.to_string())?;
                *content = Content::Whole(whole);
            }
            Content::Flowing(flow) => {
                let mut summed = Summed { out: &mut out, length: 0, sum: DefaultHasher::new() };
                flow(&mut summed)?;
                *content = Content::Flown(summed.length, summed.sum.finish());
            }
            Content::Flown(..) => return Err("a part was to be made twice".to_owned()),
        }
    }
    Ok(out.finish().map_err(|error| error.to_string())?.into_inner())
}

struct Summed<'o> {
    out: &'o mut dyn Write,
    length: u64,
    sum: DefaultHasher,
}

impl Write for Summed<'_> {
    fn write(&mut self, bytes: &[u8]) -> std::io::Result<usize> {
        let written = self.out.write(bytes)?;
        self.sum.write(bytes.get(..written).unwrap_or_default());
        self.length += written as u64;
        Ok(written)
    }

    fn flush(&mut self) -> std::io::Result<()> {
        self.out.flush()
    }
}

/// Length and sum of all that can be read.
pub(super) fn summed(source: &mut dyn Read) -> Result<(u64, u64), String> {
    let mut sum = Summed { out: &mut std::io::sink(), length: 0, sum: DefaultHasher::new() };
    std::io::copy(source, &mut sum).map_err(|error| error.to_string())?;
    Ok((sum.length, sum.sum.finish()))
}
