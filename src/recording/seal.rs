//! The seal of a protocol's workbook: whoever reads it again sees whether it still says what was written.

use crate::calculation::Verdict;
use crate::report::{DISCLAIMER, sha256};
use crate::spreadsheet::{Book, Cell, Entry, Tab};

/// The tab of a protocol's workbook that a later check reads, and the names in it.
pub(super) const TAB: &str = "for the next check";
pub(super) const ROWS: [&str; 5] =
    ["machine", "measured", "stopping time in s", "verdict", "prints of its stops"];

/// How the row of a condition's stopping time begins.
pub(super) const OF: &str = "stopping time in s under ";

/// How the rows of a condition's speed begin, of a condition that is left out, and of what was said.
pub(super) const SPEED_OF: &str = "speed before the stops under ";
pub(super) const LEFT_OUT: &str = "left out, its stopping time in s and the day: ";
pub(super) const SAID: &str = "said: ";

/// The row of the seal in the tab for the next check.
pub const SEAL: &str = "seal of this protocol";

/// The parts of a protocol in which something is filled in by hand: what was not said, who read a setting back, who
/// signs.
pub(super) const SAID_OF: &str = "machine, instrument, way of measuring";
pub(super) const READ_BACK: &str = "settings, read back";
const SIGNATURES: &str = "signatures";

/// The column of a setting that was read back in which stands by whom.
const BY_WHOM: u32 = 4;

/// What may be left open in the plan: how the protocol calls it, and the tab for the next check.
pub(super) const BLANKS: [(&str, &str); 5] = [
    ("machine", "machine"),
    ("instrument", "said: instrument"),
    ("calibrated on", "calibrated"),
    ("measured on", "measured"),
    ("next check on", "next"),
];

/// The seal of what a protocol's workbook holds: all that it shows, the inputs of its forms, what the next check reads.
/// Results, names to sign, who read a setting back and what the plan left open are filled in afterwards.
///
/// ```
/// use standstill::recording::{is_sealed, seal};
/// use standstill::spreadsheet::Book;
/// let book = Book::read("other.csv", b"a,1\n")?;
/// assert_eq!(seal(&book).len(), 64);
/// assert!(!is_sealed(&book), "it is no protocol");
/// # Ok::<(), standstill::diagnostic::Problems>(())
/// ```
#[must_use]
pub fn seal(book: &Book) -> String {
    let mut text = String::new();
    for (at, tab) in book.tabs.iter().enumerate() {
        if at == 0 {
            text += &shown(book, tab);
        }
        for (_, name, cells) in rows(tab) {
            if tab.name == TAB && name != SEAL {
                text += &cells;
            }
        }
        text += &inputs(tab);
    }
    sha256(text.as_bytes())
}

/// What the protocol shows, without what is filled in by hand.
fn shown(book: &Book, tab: &Tab) -> String {
    let kept = book.tab(TAB).map(rows).unwrap_or_default();
    let is_said = |name: &str| {
        let key = BLANKS.iter().find(|it| it.0 == name).map(|it| it.1);
        // a row of which only the name stands there was left open
        key.is_none_or(|key| kept.iter().any(|it| it.1 == key && it.2.contains("\u{1e}1\u{1f}")))
    };
    let (mut text, mut part, mut before) = (String::new(), String::new(), 0);
    for (row, name, cells) in rows_of(tab, u32::MAX) {
        // a part begins below an empty row; names to sign stood below the verdict once more
        if row > before + 1 || name == SIGNATURES {
            part.clone_from(&name);
        }
        before = row;
        // names are filled in, wherever they stand
        if part == SIGNATURES || name == DISCLAIMER {
            continue;
        }
        let free = |column: u32| match part.as_str() {
            SAID_OF => column > 0 && !is_said(&name),
            READ_BACK => column == BY_WHOM,
            _ => false,
        };
        let all = cells.split_inclusive('\u{1e}').filter(|cell| {
            let column = cell.split('\u{1f}').next().and_then(|it| it.parse().ok());
            !column.is_some_and(free)
        });
        text.extend(all);
    }
    text
}

/// Whether the seal of a protocol's workbook is that of what it holds.
#[must_use]
pub fn is_sealed(book: &Book) -> bool {
    let kept =
        book.tab(TAB).and_then(|tab| rows(tab).into_iter().find(|(_, name, _)| name == SEAL));
    kept.is_some_and(|(.., cells)| cells.contains(&seal(book)))
}

/// The seal of a protocol for a program: one hash over all that it says.
///
/// ```
/// use standstill::recording::seal_of_json;
/// let one = serde_json::json!({ "verdict": "passed", "seal": "" });
/// let other = serde_json::json!({ "verdict": "NOT PASSED", "seal": "" });
/// assert_ne!(seal_of_json(&one), seal_of_json(&other));
/// ```
#[must_use]
pub fn seal_of_json(json: &serde_json::Value) -> String {
    let mut all = json.clone();
    if let Some(all) = all.as_object_mut() {
        // the seal itself, and the number of the form, which the terminal adds
        all.remove("seal");
        all.remove("format");
    }
    sha256(all.to_string().as_bytes())
}

/// Whether the seal of a protocol for a program is that of what it says.
pub(super) fn is_sealed_json(json: &serde_json::Value) -> bool {
    json.get("seal").and_then(|it| it.as_str()) == Some(&seal_of_json(json))
}

/// Row, name and what the first three cells of each row of a tab show.
fn rows(tab: &Tab) -> Vec<(u32, String, String)> {
    rows_of(tab, 3)
}

/// The same of so many columns: another program that saves the workbook drops or adds cells that hold a look alone.
fn rows_of(tab: &Tab, columns: u32) -> Vec<(u32, String, String)> {
    let mut rows: Vec<(u32, String, String)> = Vec::new();
    let shows = |entry: &&Entry| entry.position.column < columns && !entry.cell.is_empty();
    for entry in tab.entries().filter(shows) {
        // a number is one, whether it stands as a number or as text
        let words = match &entry.cell {
            Cell::Number(number) => number.to_string(),
            Cell::Text(text) => text.trim().to_owned(),
            other => other.to_string(),
        };
        let words = words.parse::<f64>().map_or(words.clone(), |it| it.to_string());
        let row = entry.position.row;
        if rows.last().is_none_or(|last| last.0 != row) {
            rows.push((row, String::new(), String::new()));
        }
        if let Some((_, name, cells)) = rows.last_mut() {
            if entry.position.column == 0 {
                name.clone_from(&words);
            }
            *cells += &format!("{}\u{1f}{}\u{1e}", entry.position.column, words);
        }
    }
    rows
}

/// What the forms of a tab take, from the line that names the sheet to the results.
fn inputs(tab: &Tab) -> String {
    let mut text = String::new();
    let mut inside = false;
    for (_, name, cells) in rows(tab) {
        inside = (inside || name.starts_with("sheet ")) && name != "results";
        if inside {
            text += &cells;
        }
    }
    text
}

/// Whether a word is how a finding came out.
pub(super) fn is_verdict(word: &str) -> bool {
    [Verdict::Holds, Verdict::Caution, Verdict::NotProved, Verdict::MayFail, Verdict::Fails]
        .iter()
        .any(|verdict| verdict.word() == word)
}
