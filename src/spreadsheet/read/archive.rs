//! The parts of a workbook's container, read by name once [`guard`] has let it pass.

use std::collections::BTreeMap;
use std::io::{Cursor, Read};

use zip::ZipArchive;

use crate::diagnostic::{Diagnostic, Name, Place, Problems};
use crate::spreadsheet::read::guard::{self, Limits};

/// A container over bytes in memory.
pub(crate) type Zip<'a> = ZipArchive<Cursor<&'a [u8]>>;

/// A container that has passed the guard.
pub(crate) struct Archive<'a> {
    pub(crate) file: String,
    pub(crate) zip: Zip<'a>,
    limits: Limits,
    /// Index of each part by its name in small letters and with forward slashes.
    index: BTreeMap<String, usize>,
}

/// The text of a part, its byte order mark taken off and remembered.
pub(crate) struct Part {
    pub(crate) text: String,
    pub(crate) marked: bool,
}

impl<'a> Archive<'a> {
    /// Lets the guard look at the bytes and opens them.
    pub(crate) fn open(file: &str, bytes: &'a [u8], limits: &Limits) -> Result<Self, Problems> {
        guard::check(file, bytes, limits).map_err(|problem| vec![*problem])?;
        let zip = ZipArchive::new(Cursor::new(bytes))
            .map_err(|error| vec![unreadable(file, &error.to_string())])?;
        let mut index = BTreeMap::new();
        for at in 0..zip.len() {
            if let Some(Ok(name)) = zip.name_for_index(at) {
                index.insert(plain(&name), at);
            }
        }
        Ok(Self { file: file.to_owned(), zip, limits: *limits, index })
    }

    /// The same container, to be read beside this one.
    pub(crate) fn again(&self) -> Self {
        let (file, index) = (self.file.clone(), self.index.clone());
        Self { file, zip: self.zip.clone(), limits: self.limits, index }
    }

    /// The index of a part in the container, by name without regard to case.
    pub(crate) fn find(&self, part: &str) -> Option<usize> {
        self.index.get(&plain(part)).copied()
    }

    /// Whether any part's name begins so.
    pub(crate) fn any_under(&self, beginning: &str) -> bool {
        self.index.keys().any(|name| name.starts_with(beginning))
    }

    /// The text of a part that must be there.
    pub(crate) fn need(&mut self, part: &str) -> Result<Part, Problems> {
        match self.text(part)? {
            Some(found) => Ok(found),
            None => Err(self.broken(&format!("its part `{part}` is missing")).into()),
        }
    }

    /// The index of a part that must be there and not be larger than what is held in memory.
    pub(crate) fn held(&self, part: &str) -> Result<usize, Problems> {
        let missing = || vec![self.broken(&format!("its part `{part}` is missing"))];
        let index = self.find(part).ok_or_else(missing)?;
        let size = self.zip.clone().by_index_raw(index).map_or(0, |entry| entry.size());
        guard::check_held(&self.file, part, size, &self.limits).map_err(|it| vec![*it])?;
        Ok(index)
    }

    /// The text of a part, if it is there.
    pub(crate) fn text(&mut self, part: &str) -> Result<Option<Part>, Problems> {
        if self.find(part).is_none() {
            return Ok(None);
        }
        let mut text = String::from_utf8(self.bytes(part)?)
            .map_err(|_| vec![self.broken(&format!("its part `{part}` is not UTF-8"))])?;
        let marked = text.starts_with('\u{feff}');
        if marked {
            text.drain(..'\u{feff}'.len_utf8());
        }
        Ok(Some(Part { text, marked }))
    }

    /// The bytes of a part; none if it is not there.
    pub(crate) fn bytes(&mut self, part: &str) -> Result<Vec<u8>, Problems> {
        let mut bytes = Vec::new();
        let Some(index) = self.find(part) else { return Ok(bytes) };
        let size = self.zip.by_index_raw(index).map_or(0, |entry| entry.size());
        guard::check_held(&self.file, part, size, &self.limits).map_err(|it| vec![*it])?;
        let read = match self.zip.by_index(index) {
            Ok(mut entry) => {
                bytes.reserve(usize::try_from(entry.size()).unwrap_or(0));
                entry.read_to_end(&mut bytes).map_err(|error| error.to_string())
            }
            Err(error) => Err(error.to_string()),
        };
        read.map_err(|error| vec![self.broken(&format!("part `{part}`: {error}"))])?;
        Ok(bytes)
    }

    /// A problem of the whole file.
    pub(crate) fn broken(&self, words: &str) -> Diagnostic {
        unreadable(&self.file, words)
    }
}

/// A file that does not read as a workbook.
pub(crate) fn unreadable(file: &str, words: &str) -> Diagnostic {
    // another suffix would lose the macros
    let suffix = if file.to_lowercase().ends_with(".xlsm") { ".xlsm" } else { ".xlsx" };
    Diagnostic::error(Name::UnreadableFile, format!("the workbook cannot be read: {words}"))
        .at(Place::File { name: file.to_owned() })
        .remedy(format!("open the file in the program that made it and save it again as {suffix}"))
}

fn plain(name: &str) -> String {
    name.trim_start_matches('/').replace('\\', "/").to_ascii_lowercase()
}

/// The name of a part from a relationship's target, relative to the part that relates to it.
pub(crate) fn resolve(base: &str, target: &str) -> String {
    let mut steps: Vec<&str> = match target.strip_prefix('/') {
        Some(_) => Vec::new(),
        None => base.split('/').collect(),
    };
    if !target.starts_with('/') {
        steps.pop();
    }
    for step in target.split('/') {
        match step {
            "" | "." => {}
            ".." => {
                steps.pop();
            }
            step => steps.push(step),
        }
    }
    steps.join("/")
}

/// The part that holds a part's relationships.
pub(crate) fn relationships_of(part: &str) -> String {
    match part.rsplit_once('/') {
        Some((folder, name)) => format!("{folder}/_rels/{name}.rels"),
        None => format!("_rels/{part}.rels"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn targets_are_resolved_from_the_part_that_names_them() {
        assert_eq!(resolve("xl/workbook.xml", "worksheets/sheet1.xml"), "xl/worksheets/sheet1.xml");
        assert_eq!(resolve("xl/workbook.xml", "/xl/worksheets/a.xml"), "xl/worksheets/a.xml");
        assert_eq!(resolve("xl/worksheets/sheet1.xml", "../tables/t.xml"), "xl/tables/t.xml");
        assert_eq!(resolve("", "xl/workbook.xml"), "xl/workbook.xml");
        assert_eq!(relationships_of("xl/workbook.xml"), "xl/_rels/workbook.xml.rels");
    }
}
