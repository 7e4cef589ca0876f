//! What a text around values says of all of them: `all in mm`, `speeds ×1000`. Each value has a unit of its own, so a unit
//! is compared with it, and a factor is asked: neither is applied.

use std::ops::RangeInclusive;

use super::{Binder, CellAt, label};
use crate::diagnostic::{Diagnostic, Name};
use crate::spreadsheet::{Cell, Entry, Position};
use crate::unit::{Kind, Unit, is_unit, parse_unit};

/// Columns from the one before the names to that of the units.
const OWN: u32 = 3;

/// Cells around values, and the units that the values have.
pub(in crate::workbook) struct Around<'a> {
    pub(in crate::workbook) tab: &'a str,
    pub(in crate::workbook) rows: RangeInclusive<u32>,
    pub(in crate::workbook) columns: RangeInclusive<u32>,
    /// Whether a cell belongs to the values themselves: a name, a value, a unit.
    pub(in crate::workbook) is_own: &'a dyn Fn(Position) -> bool,
    /// The kind and the unit of each value.
    pub(in crate::workbook) units: Vec<(Option<&'static Kind>, String)>,
}

impl Binder<'_> {
    /// A text that says of all values, or of those of a kind, what they do not say themselves.
    pub(in crate::workbook) fn said_of_all(&self, around: &Around<'_>) -> Option<Diagnostic> {
        let tab = self.book.tab(around.tab)?;
        let beside = |entry: &Entry| {
            // a name with a value of its own: another block, or a remark of the owner's
            let next = Position::new(entry.position.row, entry.position.column + 1);
            next.is_some_and(|next| matches!(tab.cell(next), Cell::Number(_)))
        };
        // the heading of numbers further to the right, which are the owner's
        let heads = |entry: &Entry| {
            let below = Position::new(entry.position.row + 1, entry.position.column);
            entry.position.column > around.columns.start() + OWN
                && below.is_some_and(|below| matches!(tab.cell(below), Cell::Number(_)))
        };
        let rows = around.rows.clone().flat_map(|row| tab.row(row));
        let mut texts = rows.filter_map(|entry| match &entry.cell {
            Cell::Text(text) if around.columns.contains(&entry.position.column) => {
                Some((entry, text.trim()))
            }
            _ => None,
        });
        texts.find_map(|(entry, text)| {
            if (around.is_own)(entry.position) || beside(entry) || heads(entry) {
                return None;
            }
            let words = match says(text)? {
                Says::Factor => format!("\"{text}\" stands beside values, and a factor is not applied to them"),
                Says::Unit(said) => {
                    let (_, other) = around.units.iter().find(|(kind, own)| differs(*kind, own, &said))?;
                    format!("\"{text}\" stands beside values, and one of them is in {other}")
                }
            };
            let cell = CellAt { tab: tab.name.clone(), position: entry.position };
            let remedy = format!(
                "write every value in the unit that is stated for it, and take \"{text}\" out of {}",
                entry.position.name()
            );
            Some(Diagnostic::error(Name::TwoStatements, words).at(self.place(&cell)).remedy(remedy))
        })
    }
}

/// What a text says of the values around it.
enum Says {
    Factor,
    Unit(String),
}

fn says(text: &str) -> Option<Says> {
    if is_factor(text) {
        return Some(Says::Factor);
    }
    let whole = text.strip_prefix('(').and_then(|text| text.strip_suffix(')'));
    let text = whole.filter(|text| !text.contains(['(', ')'])).unwrap_or(text);
    let said = label(text).unit.unwrap_or_else(|| text.to_owned());
    let of_all = ["all values in ", "all in ", "values in ", "all ", "in "];
    let bare = of_all.iter().find_map(|words| said.strip_prefix(words)).map(str::trim);
    let unit = bare.unwrap_or(&said);
    // `Axis (A)` names one of several, and a unit alone belongs to the cell beside it
    let letter = unit.len() == 1 && unit.starts_with(|it: char| ('A'..='H').contains(&it));
    let alone = bare.is_none() && said == text;
    (is_unit(unit) && !letter && !alone).then(|| Says::Unit(unit.to_owned()))
}

/// Words between `divide` and `by`.
const BETWEEN: usize = 4;

/// `speeds ×1000`, `Inputs (x 10^3)`, `in thousands`, `10⁻³ kg·m²`, `value 1e-3`; `4711/100`, `1000 mm table` and
/// `800 x 1000 mm` are none.
pub(super) fn is_factor(text: &str) -> bool {
    let said: Vec<String> = text.split_whitespace().map(str::to_lowercase).collect();
    // `mal 0,8`, `· 0.8`, `mit 0,8 multiplizieren`: a share that stands alone before or behind its word
    let share = |it: &String| it.starts_with("0.") || it.starts_with("0,");
    match said.as_slice() {
        [sign, number] if matches!(sign.as_str(), "mal" | "times" | "·") && share(number) => {
            return true;
        }
        [with, number, verb] if with == "mit" && share(number) && verb.starts_with("multipliz") => {
            return true;
        }
        _ => {}
    }
    let many = |word: &str| word.starts_with("thousand") || word.starts_with("million");
    // `two million stops` are counted
    let words = said.iter().enumerate().any(|(at, word)| {
        let before = at.checked_sub(1).and_then(|at| said.get(at)).map_or("", String::as_str);
        many(word.trim_matches(['(', ')', '[', ']', ',']))
            && (said.len() == 1 || matches!(before, "in" | "by" | "×"))
    });
    // `to be divided by 10`, `divide J by 4`
    let by = ["divide", "divided", "multiply", "multiplied"];
    let verb = said.iter().position(|word| by.contains(&word.as_str()));
    let by = verb.is_some_and(|at| {
        let rest = said.get(at + 1..).unwrap_or_default();
        let mut pairs = rest.iter().zip(rest.iter().skip(1)).take(BETWEEN);
        pairs.any(|(word, number)| {
            word == "by" && number.starts_with(|it: char| it.is_ascii_digit())
        })
    });
    let mut before = None;
    let times = text.char_indices().any(|(at, sign)| {
        let first = before.replace(sign).is_none_or(|it: char| !it.is_alphanumeric());
        let sign = matches!(sign, '×' | '*' | '÷') || first && matches!(sign, 'x' | 'X');
        // what no factor begins at is not looked around: a remark may be long
        if !sign {
            return false;
        }
        let (ahead, rest) = text.split_at_checked(at).unwrap_or_default();
        let rest = rest.trim_start_matches(|it: char| {
            !it.is_ascii_digit() && (it.is_whitespace() || "×*÷xX".contains(it))
        });
        // two numbers are a size, and a quantity with a factor a product of its own
        let ends_in_digit = |text: &str| text.ends_with(|it: char| it.is_ascii_digit());
        let ahead = ahead.trim_end();
        let of_quantity = ahead
            .rsplit_once([' ', '\u{a0}'])
            .is_some_and(|(number, unit)| ends_in_digit(number.trim_end()) && is_unit(unit));
        let size = ends_in_digit(ahead) || of_quantity;
        !size
            && (rest.starts_with("10")
                || rest.starts_with("1e")
                || rest.starts_with("0.")
                || rest.starts_with("0,"))
    });
    let mut parts = text.split(|it: char| it.is_whitespace() || "·×*()[],;:=".contains(it));
    words || by || times || parts.any(is_power_of_ten)
}

/// `10⁻³`, `10^3`, `10^-3`, `1e-3`, `1e3`, `10³`; with a sign after a power of ten only behind a minus: `10-3`.
fn is_power_of_ten(word: &str) -> bool {
    let digits = |text: &str, of: &str| !text.is_empty() && text.chars().all(|it| of.contains(it));
    let small = word.strip_prefix("1e").or_else(|| word.strip_prefix("1E-"));
    let power = word.strip_prefix("10^").or(small);
    let up = word.strip_prefix("10").map(|rest| rest.trim_start_matches(['⁻', '⁺']));
    power.is_some_and(|it| digits(it.trim_start_matches(['-', '−', '+']), "0123456789"))
        || up.is_some_and(|it| digits(it, "⁰¹²³⁴⁵⁶⁷⁸⁹"))
}

/// Whether a unit is of the kind of a value and is not its own.
fn differs(kind: Option<&'static Kind>, own: &str, said: &str) -> bool {
    let read = |text: &str| match kind {
        Some(kind) => kind.read_plate(text).ok(),
        None => parse_unit(text).ok(),
    };
    let alike = |one: &Unit, other: &Unit| kind.is_some() || one.dimension == other.dimension;
    match (read(own), read(said)) {
        (Some(own), Some(said)) => alike(&own, &said) && !own.is_same(&said),
        _ => false,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_factor_or_a_unit_for_all_is_told_from_a_title() {
        for text in
            ["Inputs (×1000)", "speeds x1000", "speeds x 10^3", "in thousands", "*1000", "× 0.001"]
        {
            assert!(matches!(says(text), Some(Says::Factor)), "{text}");
        }
        for (text, unit) in [
            ("all in mm", "mm"),
            ("dimensions in mm", "mm"),
            ("(all mm)", "mm"),
            ("in kN", "kN"),
            ("speeds / (rad/s)", "rad/s"),
        ] {
            assert!(matches!(says(text), Some(Says::Unit(found)) if found == unit), "{text}");
        }
        for text in [
            "Axis (A)", "mm", "Saw 1000 mm", "drawing 4711/100", "Carton wrapper 7, axis 2",
            "Box 10", "max 10",
        ] {
            assert!(says(text).is_none(), "{text}");
        }
    }
}
