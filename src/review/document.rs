//! A review document: text with sheet blocks and values in it, calculated whole or not at all.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use super::files::{Noted, UsedFile};
use super::images;
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
    let images = images::read(source, &reader.folder, &noted, &mut reader.problems);
    let Reader { mut calculations, lines, blocks, mut problems, sheet_is_wrong, .. } = reader;
    put_in_order(&mut problems);
    if problems.iter().any(Diagnostic::is_error) {
        return Err(Unreviewed { problems, sheet_is_wrong });
    }
    // a page goes to others: it names files as they stand beside the document
    let above = Path::new(&source.name).parent().unwrap_or(Path::new(""));
    let folder =
        environment.canonical(if above.as_os_str().is_empty() { Path::new(".") } else { above });
    // whatever folder it is read from: files of a project are found by their whole paths
    let beside = |name: &str| {
        let path = Path::new(name);
        let real = if path.is_absolute() { environment.canonical(path) } else { None };
        let near = real.zip(folder.as_deref()).and_then(|(real, folder)| relative(&real, folder));
        let near = near.or_else(|| Some(path.strip_prefix(above).ok()?.to_owned()));
        near.unwrap_or_else(|| path.to_owned()).display().to_string()
    };
    let mut files =
        vec![UsedFile { name: beside(&source.name), hash: sha256(source.text.as_bytes()) }];
    let used = noted.files().into_iter();
    let mut used: Vec<_> = used.map(|file| UsedFile { name: beside(&file.name), ..file }).collect();
    used.sort_by(|a, b| a.name.cmp(&b.name));
    files.append(&mut used);
    // a copied command line is run beside the document
    for calculation in &mut calculations {
        calculation.typed = beside(&calculation.typed);
    }
    let programs = programs(&calculations, &lines);
    let sheets = identities(programs)
        .into_iter()
        .map(|sheet| {
            let line = sheet.origin.strip_prefix("written in ");
            let line = line.and_then(|origin| origin.strip_prefix(&source.name));
            let origin = match line {
                Some(line) => format!("written in {}{line}", beside(&source.name)),
                None => beside(&sheet.origin),
            };
            Identity { origin, ..sheet }
        })
        .collect();
    Ok(Document {
        source: Arc::clone(source),
        calculations,
        lines,
        blocks,
        images,
        values,
        files,
        sheets,
        back: String::new(),
    })
}

/// A path as it is written in a folder; none where nothing but the root leads to both.
fn relative(path: &Path, folder: &Path) -> Option<PathBuf> {
    let common = folder.ancestors().find(|above| path.starts_with(above))?;
    common.parent()?;
    let up = folder.strip_prefix(common).ok()?.components().map(|_| Path::new(".."));
    Some(up.collect::<PathBuf>().join(path.strip_prefix(common).ok()?))
}

/// The way from the folder of a file that is written to the folder of its document, `../docs/`; empty where they are
/// one, or nothing but the root leads to both.
#[must_use]
pub fn way_back(document: &Path, output: &Path, environment: &dyn Environment) -> String {
    let folder = |path: &Path| {
        let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty());
        environment.canonical(folder.unwrap_or(Path::new(".")))
    };
    let way = folder(document).zip(folder(output)).and_then(|(to, from)| relative(&to, &from));
    match way.map(|way| way.to_string_lossy().replace('\\', "/")) {
        Some(way) if !way.is_empty() => format!("{way}/"),
        _ => String::new(),
    }
}
