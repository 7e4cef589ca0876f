//! A review document: text with sheet blocks and values in it, calculated whole or not at all.

use std::path::Path;
use std::sync::Arc;

use super::files::{Noted, UsedFile};
use super::model::{Document, Unreviewed, programs};
use super::reader::Reader;
use crate::diagnostic::{Diagnostic, Source, put_in_order};
use crate::environment::Environment;
use crate::report::{Identity, identities, sha256};

/// Reads a document, calculates its sheet blocks and finds its values; files are looked for beside it.
///
/// # Errors
/// Every problem of the document, of its sheets, inputs and workbooks, in one list.
pub fn read(source: &Arc<Source>, environment: &dyn Environment) -> Result<Document, Unreviewed> {
    let noted = Noted::new(environment);
    let mut reader = Reader::new(source, &noted);
    reader.read_blocks();
    let values = reader.read_values();
    let Reader { calculations, lines, blocks, mut problems, sheet_is_wrong, .. } = reader;
    put_in_order(&mut problems);
    if problems.iter().any(Diagnostic::is_error) {
        return Err(Unreviewed { problems, sheet_is_wrong });
    }
    // a page goes to others: it names files as they stand beside the document
    let above = Path::new(&source.name).parent().unwrap_or(Path::new(""));
    let beside = |name: &str| {
        Path::new(name).strip_prefix(above).unwrap_or(Path::new(name)).display().to_string()
    };
    let mut files =
        vec![UsedFile { name: beside(&source.name), hash: sha256(source.text.as_bytes()) }];
    files.extend(
        noted.files().into_iter().map(|file| UsedFile { name: beside(&file.name), ..file }),
    );
    let programs = programs(&calculations, &lines);
    let sheets = identities(programs)
        .into_iter()
        .map(|sheet| Identity { origin: beside(&sheet.origin), ..sheet })
        .collect();
    Ok(Document { source: Arc::clone(source), calculations, lines, blocks, values, files, sheets })
}
