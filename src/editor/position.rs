//! Bytes of a text and the positions of the protocol, paths and the addresses of the protocol.

use std::path::{Path, PathBuf};

use lsp_types::{Position, Range, Uri};
use percent_encoding::{AsciiSet, CONTROLS, percent_decode_str, utf8_percent_encode};

use crate::language::Span;

/// What stands for itself in no address.
const ESCAPED: &AsciiSet = &CONTROLS
    .add(b' ')
    .add(b'"')
    .add(b'#')
    .add(b'%')
    .add(b'<')
    .add(b'>')
    .add(b'?')
    .add(b'[')
    .add(b'\\')
    .add(b']')
    .add(b'^')
    .add(b'`')
    .add(b'{')
    .add(b'|')
    .add(b'}');

/// Line and column, both from 0, the column in units of UTF-16 as the protocol counts.
pub(super) fn position(text: &str, offset: usize) -> Position {
    let mut offset = offset.min(text.len());
    while !text.is_char_boundary(offset) {
        offset -= 1;
    }
    let before = text.get(..offset).unwrap_or_default();
    let start = before.rfind('\n').map_or(0, |at| at + 1);
    let line = before.matches('\n').count();
    let column = before.get(start..).unwrap_or_default().encode_utf16().count();
    Position::new(short(line), short(column))
}

fn short(number: usize) -> u32 {
    u32::try_from(number).unwrap_or(u32::MAX)
}

/// Where a span stands.
pub(super) fn range(text: &str, span: &Span) -> Range {
    Range::new(position(text, span.start), position(text, span.end))
}

/// The byte at a position; one past the end of its line is the end of it.
pub(super) fn offset(text: &str, position: Position) -> usize {
    let mut start = 0;
    for _ in 0..position.line {
        match text.get(start..).and_then(|rest| rest.find('\n')) {
            Some(at) => start += at + 1,
            None => return text.len(),
        }
    }
    let line = text.get(start..).and_then(|rest| rest.split('\n').next()).unwrap_or_default();
    let mut units = 0;
    for (at, letter) in line.char_indices() {
        if units >= position.character {
            return start + at;
        }
        units += short(letter.len_utf16());
    }
    start + line.len()
}

/// The path of a file that an address names; none where it is not a file.
pub(super) fn path_of(uri: &Uri) -> Option<PathBuf> {
    let rest = uri.as_str().strip_prefix("file://")?;
    // an address may name the machine: what is on another one is left alone
    let path = rest.get(rest.find('/')?..)?;
    let path = percent_decode_str(path).decode_utf8().ok()?;
    let drive = path.as_bytes().get(2) == Some(&b':');
    Some(PathBuf::from(if drive { path.trim_start_matches('/') } else { &path }))
}

/// The address of a file.
pub(super) fn uri_of(path: &Path) -> Option<Uri> {
    let path = path.to_string_lossy().replace('\\', "/");
    // the long form of a path on Windows
    let path = path.strip_prefix("//?/").unwrap_or(&path);
    let path = utf8_percent_encode(path.trim_start_matches('/'), ESCAPED);
    format!("file:///{path}").parse().ok()
}

#[cfg(test)]
mod tests {
    use std::path::{Path, PathBuf};

    use super::{offset, path_of, position, uri_of};

    /// The specification's own example: `a𐐀b`, where `b` stands at 3.
    #[test]
    fn columns_count_units_of_utf_16() {
        let text = "x\na𐐀b µ\n";
        let b = text.find('b').unwrap();
        assert_eq!((position(text, b).line, position(text, b).character), (1, 3));
        for at in (0..=text.len()).filter(|at| text.is_char_boundary(*at)) {
            assert_eq!(offset(text, position(text, at)), at);
        }
        assert_eq!(offset(text, lsp_types::Position::new(0, 99)), 1);
        assert_eq!(offset(text, lsp_types::Position::new(99, 0)), text.len());
    }

    #[test]
    fn addresses_and_paths_lead_to_one_another() {
        for path in ["/home/me/own sheets/größe 100%.sheet", "C:/machines/press.sheet"] {
            let uri = uri_of(Path::new(path)).unwrap();
            assert_eq!(path_of(&uri), Some(PathBuf::from(path)), "{uri:?}");
        }
        assert_eq!(path_of(&"file:///c%3A/a.sheet".parse().unwrap()), Some("c:/a.sheet".into()));
        assert_eq!(path_of(&"untitled:Untitled-1".parse().unwrap()), None);
    }
}
