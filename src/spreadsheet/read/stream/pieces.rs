//! The text of a tab's part in pieces of whole rows.

use std::io::Read;

use quick_xml::events::Event;

use crate::spreadsheet::read::sheet::Sheet;
use crate::spreadsheet::read::xml::{Walk, attribute_span};

/// Bytes read at once.
const READ: usize = 256 << 10;

/// Cuts the text of a part: its opening, pieces of whole rows, its closing.
pub(crate) struct Pieces<R> {
    source: R,
    /// What is read and not handed out yet.
    text: String,
    /// Bytes behind it that are not whole characters yet.
    broken: Vec<u8>,
    ended: bool,
    open: String,
    close: String,
    /// The row that follows the last one handed out, if it does not say which it is.
    next: u32,
    /// Whether rows may follow.
    rows: bool,
}

/// What stands before the rows, and what is known from it.
pub(crate) struct Opening {
    /// Up to and with the start tag of the cells' container.
    pub(crate) text: String,
    pub(crate) sheet: Sheet,
    /// Whether a byte order mark stands before it.
    pub(crate) marked: bool,
}

/// Whole rows with what stands between them.
pub(crate) struct Piece {
    pub(crate) text: String,
    /// The first row, if it does not say which it is.
    pub(crate) next: u32,
}

impl<R: Read> Pieces<R> {
    /// Reads up to the rows.
    pub(crate) fn open(source: R) -> Result<(Opening, Self), String> {
        let mut pieces = Self {
            source,
            text: String::new(),
            broken: Vec::new(),
            ended: false,
            open: String::new(),
            close: String::new(),
            next: 0,
            rows: true,
        };
        let mut wanted = READ;
        loop {
            while pieces.text.len() < wanted && pieces.fill()? {}
            let marked = pieces.text.starts_with('\u{feff}');
            let bare = pieces.text.trim_start_matches('\u{feff}');
            if let Some(sheet) = Sheet::opening(bare)? {
                let mark = pieces.text.len() - bare.len();
                let rest = pieces.text.split_off(mark + sheet.data.end);
                let text = std::mem::replace(&mut pieces.text, rest).split_off(mark);
                pieces.open = format!("<{}row", sheet.prefix);
                pieces.close = format!("</{}row", sheet.prefix);
                pieces.rows = sheet.open;
                return Ok((Opening { text, sheet, marked }, pieces));
            }
            if pieces.ended {
                // says what is wrong with it
                Sheet::scan(bare)?;
                return Err("it has no place for cells".to_owned());
            }
            wanted = pieces.text.len() * 2;
        }
    }

    /// The next piece: all rows up to and with `last`, or, without it, rows until the piece has so many
    /// bytes. None behind the last row.
    pub(crate) fn next(
        &mut self,
        last: Option<u32>,
        bytes: usize,
    ) -> Result<Option<Piece>, String> {
        let first = self.next;
        let mut at = 0;
        while self.rows {
            match self.row(at)? {
                Next::Row { row, end } => {
                    if last.is_some_and(|last| row > last) || last.is_none() && at >= bytes {
                        break;
                    }
                    self.next = row.saturating_add(1);
                    at = end;
                }
                Next::Other(end) => at = end,
                Next::End => self.rows = false,
            }
        }
        if at == 0 {
            return Ok(None);
        }
        let rest = self.text.split_off(at);
        Ok(Some(Piece { text: std::mem::replace(&mut self.text, rest), next: first }))
    }

    /// What stands behind the rows.
    pub(crate) fn closing(&mut self) -> Result<String, String> {
        while self.fill()? {}
        Ok(std::mem::take(&mut self.text))
    }

    fn fill(&mut self) -> Result<bool, String> {
        if self.ended {
            return Ok(false);
        }
        let before = self.broken.len();
        self.broken.resize(before + READ, 0);
        let room = self.broken.get_mut(before..).unwrap_or_default();
        let read = self.source.read(room).map_err(|error| error.to_string())?;
        self.broken.truncate(before + read);
        self.ended = read == 0;
        let whole = match std::str::from_utf8(&self.broken) {
            Ok(text) => text.len(),
            Err(error) if error.error_len().is_none() && !self.ended => error.valid_up_to(),
            Err(_) => return Err("it is not UTF-8".to_owned()),
        };
        let (text, rest) = self.broken.split_at_checked(whole).unwrap_or_default();
        self.text.push_str(std::str::from_utf8(text).unwrap_or_default());
        self.broken = rest.to_vec();
        Ok(!self.ended)
    }

    /// Looks from `from`, reading on until the answer is there.
    fn look<T>(&mut self, from: usize, find: impl Fn(&str) -> Option<T>) -> Result<T, String> {
        loop {
            if let Some(found) = find(self.text.get(from..).unwrap_or_default()) {
                return Ok(found);
            }
            if !self.fill()? && self.ended {
                let rest = self.text.get(from..).unwrap_or_default();
                return find(rest).ok_or_else(|| "it ends in the middle".to_owned());
            }
        }
    }

    /// The row that begins at or behind `from`.
    fn row(&mut self, from: usize) -> Result<Next, String> {
        let tag = from + self.look(from, |rest| rest.find('<'))?;
        // enough to tell what it is
        let longest = self.close.len() + 16;
        let head = self.look(tag, |rest| {
            let end = rest.char_indices().nth(longest).map(|(at, _)| at);
            end.or_else(|| rest.contains('>').then_some(rest.len()))
                .map(|end| rest.get(..end).unwrap_or_default().to_owned())
        })?;
        if head.starts_with("<!--") {
            return Ok(Next::Other(tag + self.look(tag, |rest| Some(rest.find("-->")? + 3))?));
        }
        if head.starts_with("<?") {
            return Ok(Next::Other(tag + self.look(tag, |rest| Some(rest.find("?>")? + 2))?));
        }
        if head.starts_with("</") {
            return Ok(Next::End);
        }
        let is_row = head.strip_prefix(self.open.as_str()).is_some_and(|rest| {
            rest.starts_with(|c: char| c.is_ascii_whitespace() || "/>".contains(c))
        });
        if !is_row {
            let name = head.trim_start_matches('<');
            let name = name.split(|c: char| c.is_whitespace() || "/>".contains(c)).next();
            return Err(format!("its rows hold an unexpected `{}`", name.unwrap_or_default()));
        }
        let opened = tag + self.look(tag, end_of_tag)?;
        let text = self.text.get(tag..opened).unwrap_or_default();
        let row = row_of(text).unwrap_or(self.next);
        let end = if text.ends_with("/>") { opened } else { self.end_of_row(tag, opened)? };
        Ok(Next::Row { row, end })
    }

    fn end_of_row(&mut self, tag: usize, opened: usize) -> Result<usize, String> {
        let close = self.close.clone();
        let end = opened
            + self.look(opened, |rest| {
                let at = rest.find(close.as_str())?;
                Some(at + rest.get(at..)?.find('>')? + 1)
            })?;
        let inner = self.text.get(opened..end).unwrap_or_default();
        if !inner.contains("<!") && !inner.contains("<?") {
            return Ok(end);
        }
        // the end tag may stand in a remark: only a whole reading tells
        Ok(tag
            + self.look(tag, |rest| {
                let mut walk = Walk::within(rest, 2);
                while let Ok(Some(step)) = walk.next() {
                    if step.depth == 3 && matches!(step.event, Event::End(_)) {
                        return Some(step.span.end);
                    }
                }
                None
            })?)
    }
}

enum Next {
    Row {
        row: u32,
        end: usize,
    },
    /// A remark up to its end.
    Other(usize),
    End,
}

/// The end of the tag that the text begins with.
fn end_of_tag(text: &str) -> Option<usize> {
    let mut quote = None;
    for (at, byte) in text.bytes().enumerate() {
        match (quote, byte) {
            (None, b'>') => return Some(at + 1),
            (None, b'"' | b'\'') => quote = Some(byte),
            (Some(open), byte) if open == byte => quote = None,
            _ => {}
        }
    }
    None
}

/// The number of a row from its start tag, counted from 0; one that does not read is left to the scan.
fn row_of(tag: &str) -> Option<u32> {
    let found = attribute_span(tag, "r")?;
    tag.get(found.value)?.parse::<u32>().ok()?.checked_sub(1)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Gives its text a few bytes at a time.
    struct Drops<'a>(&'a [u8], usize);

    impl Read for Drops<'_> {
        fn read(&mut self, room: &mut [u8]) -> std::io::Result<usize> {
            let size = self.1.min(self.0.len()).min(room.len());
            let (now, later) = self.0.split_at(size);
            room[..size].copy_from_slice(now);
            self.0 = later;
            Ok(size)
        }
    }

    const PART: &str = "\u{feff}<?xml version=\"1.0\"?><x:worksheet><x:dimension ref=\"A1:B9\"/><x:sheetData>\n <x:row r=\"2\" ht='>'><x:c r=\"A2\"><x:v>1</x:v></x:c></x:row>\n<!-- </x:row> --><x:row r=\"3\"/><x:row><x:c t=\"inlineStr\"><x:is><x:t><![CDATA[</x:row>µ]]></x:t></x:is></x:c></x:row ><x:row r=\"9\"></x:row></x:sheetData><x:mergeCells><x:mergeCell ref=\"A1:B1\"/></x:mergeCells></x:worksheet>";

    #[test]
    fn pieces_put_together_are_the_part_however_it_is_read() {
        for size in [1, 2, 3, 7, 100_000] {
            for last in [None, Some(2), Some(3), Some(100)] {
                let (opening, mut pieces) = Pieces::open(Drops(PART.as_bytes(), size)).unwrap();
                assert!(opening.marked);
                let mut whole = format!("\u{feff}{}", opening.text);
                let mut rows = Vec::new();
                let mut last = last;
                while let Some(piece) = pieces.next(last.take(), 1).unwrap() {
                    let sheet = Sheet::piece(&piece.text, piece.next).unwrap();
                    rows.extend(sheet.rows.iter().map(|row| row.row));
                    whole.push_str(&piece.text);
                }
                let closing = pieces.closing().unwrap();
                whole.push_str(&closing);
                assert_eq!(whole, PART, "{size}");
                assert_eq!(rows, [1, 2, 3, 8], "{size}");
                let mut sheet = opening.sheet;
                sheet.closing(&sheet.root.clone(), &closing).unwrap();
                assert_eq!(sheet.merged.len(), 1);
            }
        }
    }

    #[test]
    fn a_part_that_is_cut_off_is_refused() {
        let bare = PART.trim_start_matches('\u{feff}');
        let end = bare.find("</x:sheetData>").unwrap();
        for cut in (bare.find("<x:row").unwrap()..end).filter(|at| bare.is_char_boundary(*at)) {
            let (_, mut pieces) = Pieces::open(Drops(&bare.as_bytes()[..cut], 50)).unwrap();
            let found = loop {
                match pieces.next(None, 1) {
                    Ok(Some(_)) => {}
                    Ok(None) => break false,
                    Err(_) => break true,
                }
            };
            assert!(found, "{}", &bare[..cut]);
        }
    }
}
