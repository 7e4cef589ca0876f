//! Files read: each format into the model, nothing recalculated.

pub(crate) mod allowed;
pub(crate) mod archive;
pub(crate) mod cell_span;
pub(crate) mod conditional;
pub(crate) mod delimited;
pub(crate) mod foreign;
pub mod guard;
pub(crate) mod layout;
mod notes;
pub(crate) mod ods;
mod ods_shown;
mod pieces;
pub(crate) mod plain_cell;
mod records;
pub(crate) mod room;
pub(crate) mod sheet;
pub(crate) mod stream;
pub(crate) mod styles;
pub(crate) mod tables;
mod xlsb;
mod xlsx;
pub(crate) mod xml;

use guard::Limits;

use crate::diagnostic::{Diagnostic, Name, Place, Problems};
use crate::spreadsheet::model::book::Book;

/// Whether a name ends as that of a workbook, one of a kind that is refused included.
pub(crate) fn is_workbook(name: &str) -> bool {
    let endings = ["xlsx", "xlsm", "xltx", "xltm", "xlsb", "xls", "ods"];
    endings.contains(&ending(name, b"").as_str())
}

/// The ending that says which kind a file is; standard input has no name, and its content says it.
pub(crate) fn ending(name: &str, bytes: &[u8]) -> String {
    if name != "-" {
        return name.rsplit('.').next().unwrap_or_default().to_ascii_lowercase();
    }
    // the first part of an OpenDocument is its media type, plain (OpenDocument 1.3, part 2, 3.3)
    let is = |part: &[u8]| bytes.windows(part.len()).any(|here| here == part);
    let kind = match bytes.starts_with(b"PK\x03\x04") {
        true if bytes.get(30..38) == Some(b"mimetype") => "ods",
        true if is(b"xl/workbook.bin") => "xlsb",
        true => "xlsx",
        false => "csv",
    };
    kind.to_owned()
}

/// How a file is to be read.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Reading {
    /// In a `.csv`, `1,5` is one and a half; only when the person says so.
    pub decimal_comma: bool,
    /// How much the file may ask for.
    pub limits: Limits,
}

impl Book {
    /// Reads a workbook from its bytes; the ending of `name` says which kind it is.
    ///
    /// Reads `.xlsx`, `.xlsm`, `.csv` (comma or semicolon), and `.xlsb` and `.ods` for reading only.
    /// Nothing is recalculated: a formula shows the result that was saved with it.
    ///
    /// # Errors
    /// `unreadable-file` and `hostile-file`, as [`guard::check`] says, and for
    /// content that does not read as a workbook.
    ///
    /// # Example
    /// ```
    /// use standstill::spreadsheet::{Book, Cell, Position};
    /// let book = Book::read("speeds.csv", b"name,speed\nfan,1450\n").unwrap();
    /// let tab = book.tab("").unwrap();
    /// assert_eq!(tab.cell(Position::parse("B2").unwrap()), &Cell::Number(1450.0));
    /// assert_eq!(tab.cell(Position::parse("C2").unwrap()), &Cell::Empty);
    /// ```
    pub fn read(name: &str, bytes: &[u8]) -> Result<Self, Problems> {
        Self::read_as(name, bytes, &Reading::default())
    }

    /// Reads a workbook as [`read`](Self::read) does, in the way that is said.
    ///
    /// # Errors
    /// The same.
    pub fn read_as(name: &str, bytes: &[u8], reading: &Reading) -> Result<Self, Problems> {
        match ending(name, bytes).as_str() {
            "xlsx" | "xlsm" | "xltx" | "xltm" => xlsx::read(name, bytes, reading),
            "csv" => delimited::read(name, bytes, reading.decimal_comma),
            "xlsb" => xlsb::read(name, bytes, reading),
            "ods" => ods::read(name, bytes, &reading.limits),
            _ => Err(Diagnostic::error(
                Name::UnreadableFile,
                format!("`{name}` has no ending of a workbook that can be read"),
            )
            .at(Place::File { name: name.to_owned() })
            .remedy("save it as .xlsx, .xlsm, .ods or .csv")
            .into()),
        }
    }
}
