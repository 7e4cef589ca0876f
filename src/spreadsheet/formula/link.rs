//! Formulas that take their value from one cell: as it is, times a number, with a number added.

use super::value::{Node, Reader, Value, power};
use super::{Corner, corner, is_word, shifted};
use crate::spreadsheet::model::book::{Book, Tab};
use crate::spreadsheet::model::names::Target;
use crate::spreadsheet::model::position::Position;

/// The one cell from which a formula takes its value.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Link {
    pub(crate) tab: String,
    pub(crate) cell: Position,
    /// By what its value is multiplied.
    pub(crate) factor: f64,
    /// What is added then.
    pub(crate) added: f64,
}

impl Link {
    /// Whether the formula takes the value as it stands.
    pub(crate) fn is_plain(&self) -> bool {
        self.factor == 1.0 && self.added == 0.0
    }
}

/// Functions that hand their first argument on, rounded, without its sign or as a number.
pub(super) const ROUNDINGS: &[&str] = &[
    "ROUND", "ROUNDUP", "ROUNDDOWN", "MROUND", "CEILING", "FLOOR", "INT", "TRUNC", "ABS", "VALUE",
    "N",
];

/// Others that do, where nothing else is of a cell.
const HAND_ON: &[&str] = &["T", "IFERROR", "IFNA", "SUM", "MAX", "MIN", "AVERAGE", "PRODUCT"];

/// The one cell from which the formula of a cell takes its value; none for any other formula.
pub(crate) fn link(book: &Book, tab: &Tab, cell: Position) -> Option<Link> {
    let (text, moved) = tab.formulas.text(cell)?;
    let node = Reader::new(text).whole()?;
    let found = Reading { book, tab, moved }.part(&node)?;
    let (tab, cell) = found.of?;
    Some(Link { tab, cell, factor: found.factor, added: found.added })
}

/// A part of a formula: the value of a cell times a number, and a number; without a cell a number alone.
struct Part {
    of: Option<(String, Position)>,
    factor: f64,
    added: f64,
}

impl Part {
    fn times(self, number: f64) -> Self {
        Self { of: self.of, factor: self.factor * number, added: self.added * number }
    }
}

struct Reading<'a> {
    book: &'a Book,
    tab: &'a Tab,
    moved: (i64, i64),
}

impl Reading<'_> {
    fn part(&self, node: &Node) -> Option<Part> {
        let number = |number: f64| Some(Part { of: None, factor: 0.0, added: number });
        let of = |tab: &str, cell| {
            Some(Part { of: Some((tab.to_owned(), cell)), factor: 1.0, added: 0.0 })
        };
        match node {
            Node::Value(Value::Number(value)) => number(*value),
            Node::Value(_) => None,
            Node::Cells(tab, first, last) => {
                let tab = self.book.tab(tab.as_deref().unwrap_or(&self.tab.name))?;
                let area = shifted(*first, *last, self.moved.0, self.moved.1);
                area.is_single().then(|| of(&tab.name, area.first))?
            }
            Node::Name(name) => {
                let known = self.book.name_seen_from(&self.tab.name, name)?;
                let Target::Cells { tab, area } = &known.target else { return None };
                area.is_single().then(|| of(tab, area.first))?
            }
            Node::Negative(part) => Some(self.part(part)?.times(-1.0)),
            Node::Percent(part) => Some(self.part(part)?.times(0.01)),
            Node::Binary(sign, one, other) => self.two(sign, self.part(one)?, self.part(other)?),
            Node::Call(name, arguments) => self.call(name, arguments),
        }
    }

    fn two(&self, sign: &str, one: Part, other: Part) -> Option<Part> {
        let added = |one: Part, other: Part| {
            if one.of.is_some() && other.of.is_some() {
                return None;
            }
            Some(Part {
                of: one.of.or(other.of),
                factor: one.factor + other.factor,
                added: one.added + other.added,
            })
        };
        match (sign, &one.of, &other.of) {
            ("+", ..) => added(one, other),
            ("-", ..) => added(one, other.times(-1.0)),
            ("*", _, None) => Some(one.times(other.added)),
            ("*", None, _) => Some(other.times(one.added)),
            ("/", _, None) => Some(one.times(1.0 / other.added)),
            ("^", None, None) => {
                Some(Part { of: None, factor: 0.0, added: power(one.added, other.added)? })
            }
            _ => None,
        }
    }

    fn call(&self, name: &str, arguments: &[Node]) -> Option<Part> {
        let name = name.trim_start_matches("_XLFN.");
        match (name, arguments) {
            ("PI", []) => Some(Part { of: None, factor: 0.0, added: std::f64::consts::PI }),
            ("RADIANS", [of]) => Some(self.part(of)?.times(1_f64.to_radians())),
            ("DEGREES", [of]) => Some(self.part(of)?.times(1_f64.to_degrees())),
            (name, [first, rest @ ..]) if ROUNDINGS.contains(&name) || HAND_ON.contains(&name) => {
                let others = rest.iter().map(|it| self.part(it)).collect::<Option<Vec<_>>>()?;
                let alone = others.iter().all(|it| it.of.is_none());
                let one = rest.is_empty() || !matches!(name, "SUM" | "AVERAGE" | "PRODUCT");
                (alone && one).then(|| self.part(first))?
            }
            _ => None,
        }
    }
}

/// The formula of a cell with each reference as rows and columns away from it, so that a formula that is copied down
/// or across stays the same text; none where the cell has no formula, or one that speaks of no cell.
pub(crate) fn relative(tab: &Tab, cell: Position) -> Option<String> {
    let (text, moved) = tab.formulas.text(cell)?;
    // a shared formula is written for another cell than this, and its references move with it
    let at = |own: u32, by: i64| i64::from(own) - by;
    let from = (at(cell.row, moved.0), at(cell.column, moved.1));
    let mut found = String::with_capacity(text.len());
    let mut any = false;
    let mut rest = text;
    while let Some(next) = rest.chars().next() {
        let end = match next {
            '"' | '\'' => rest.get(1..)?.find(next).map_or(rest.len(), |at| at + 2),
            next if is_word(next) => rest.find(|it| !is_word(it)).unwrap_or(rest.len()),
            next => next.len_utf8(),
        };
        let (word, after) = rest.split_at_checked(end)?;
        match corner(word).filter(|_| is_word(next) && !after.starts_with(['(', '!'])) {
            Some(corner) => {
                any = true;
                found.push_str(&from_there(corner, from));
            }
            None => found.push_str(word),
        }
        rest = after;
    }
    any.then_some(found)
}

fn from_there(corner: Corner, from: (i64, i64)) -> String {
    let one = |letter, at: u32, fixed: bool, from: i64| match fixed {
        true => format!("{letter}{}", at + 1),
        false => format!("{letter}[{}]", i64::from(at) - from),
    };
    let row = one('R', corner.cell.row, corner.row_fixed, from.0);
    row + &one('C', corner.cell.column, corner.column_fixed, from.1)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::spreadsheet::model::book::{Entry, Form};
    use crate::spreadsheet::model::cell::Cell;
    use crate::spreadsheet::model::formulas::{Formula, Formulas, Shape};

    fn book(formulas: &[(&str, &str)]) -> Book {
        let at = |name: &str| Position::parse(name).unwrap();
        let mut list: Vec<Formula> = formulas
            .iter()
            .map(|(cell, text)| Formula {
                position: at(cell),
                shape: Shape::Plain,
                text: (*text).to_owned(),
            })
            .collect();
        list.sort_by_key(|it| it.position);
        let entries = list
            .iter()
            .map(|it| Entry { formula: true, ..Entry::plain(it.position, Cell::Number(1.0)) })
            .collect();
        let mut tab = Tab::plain("In".to_owned(), entries);
        tab.formulas = Formulas::of(list.into());
        Book::plain("a.xlsx", Form::Xlsx, vec![tab, Tab::plain("My tab".to_owned(), Vec::new())])
    }

    #[test]
    fn a_formula_of_one_cell_is_a_link_to_it() {
        let pi = std::f64::consts::PI;
        for (formula, cell, factor, added) in [
            ("F4", "F4", 1.0, 0.0),
            ("+$F$4", "F4", 1.0, 0.0),
            ("(F4)", "F4", 1.0, 0.0),
            ("'My tab'!F4*2", "F4", 2.0, 0.0),
            ("2*F4/1000", "F4", 0.002, 0.0),
            ("-F4+3", "F4", -1.0, 3.0),
            ("3-F4", "F4", -1.0, 3.0),
            ("F4*10^-3", "F4", 0.001, 0.0),
            ("F4*2*PI()/60", "F4", 2.0 * pi / 60.0, 0.0),
            ("ROUND(F4*2,1)", "F4", 2.0, 0.0),
            ("MAX(F4,3)", "F4", 1.0, 0.0),
            ("SUM(F4)", "F4", 1.0, 0.0),
            ("F4%", "F4", 0.01, 0.0),
        ] {
            let book = book(&[("B2", formula)]);
            let found = link(&book, &book.tabs[0], Position::parse("B2").unwrap()).unwrap();
            assert_eq!(found.cell.name(), cell, "{formula}");
            assert!((found.factor - factor).abs() < 1e-15 * factor.abs(), "{formula}: {found:?}");
            assert_eq!(found.added, added, "{formula}");
        }
        for formula in
            ["F4*G4", "F4:F6", "SUM(F4:F6)", "1/F4", "SUM(F4,3)", "IF(F4>0,1,2)", "2", "F4&\"\""]
        {
            let book = book(&[("B2", formula)]);
            let found = link(&book, &book.tabs[0], Position::parse("B2").unwrap());
            assert_eq!(found, None, "{formula}");
        }
    }

    #[test]
    fn a_formula_copied_down_stays_the_same_relative_text() {
        let book = book(&[
            ("B4", "G4*2"),
            ("B5", "G5*2"),
            ("B6", "G4*2"),
            ("C4", "$G$1*LOG10(G4)&\"G4\""),
            ("C5", "$G$1*LOG10(G5)&\"G4\""),
            ("C6", "2*3"),
        ]);
        let text = |cell: &str| relative(&book.tabs[0], Position::parse(cell).unwrap());
        assert_eq!(text("B4").as_deref(), Some("R[0]C[5]*2"));
        assert_eq!(text("B5"), text("B4"));
        assert_eq!(text("B6").as_deref(), Some("R[-2]C[5]*2"));
        assert_eq!(text("C4").as_deref(), Some("R1C7*LOG10(R[0]C[4])&\"G4\""));
        assert_eq!(text("C5"), text("C4"));
        assert_eq!(text("C6"), None);
    }
}
