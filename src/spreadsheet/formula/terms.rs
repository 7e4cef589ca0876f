//! Formulas that take their value from several cells, written out as terms: a sum, or a choice, of products of cells and a
//! plain number.

use super::link::ROUNDINGS;
use super::value::{Node, Reader, Value, power};
use crate::spreadsheet::model::book::{Book, Tab};
use crate::spreadsheet::model::cell::Cell;
use crate::spreadsheet::model::names::Target;
use crate::spreadsheet::model::position::{Area, Position};

/// Terms of one formula, and cells of one area, that are looked at.
const MOST: usize = 400;

/// What a formula takes.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Terms {
    /// What is added, or chosen from; parts that are not understood are left out.
    pub(crate) terms: Vec<Term>,
    /// What is handed to a conversion, with the unit from which it converts.
    pub(crate) converted: Vec<(Vec<Term>, String)>,
    /// Areas of several cells that are added up.
    pub(crate) sums: Vec<(String, Area)>,
    /// Whether terms are added up; else one of them is chosen.
    pub(crate) added: bool,
    /// A table in which the nearest row is taken where none fits.
    pub(crate) nearest: bool,
}

/// A product of cells and a plain number.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Term {
    pub(crate) factor: f64,
    /// The plain numbers of which the factor is made: 0.25 of `/4`.
    pub(crate) plain: Vec<f64>,
    pub(crate) parts: Vec<Part>,
    /// Whether a part of it is not understood.
    open: bool,
}

/// A part of a product, and the quotient that is its power.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Part {
    pub(crate) of: Of,
    pub(crate) power: (i32, i32),
}

/// What a part of a product is.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Of {
    /// The number in a cell.
    Cell(String, Position),
    /// What a conversion gives, in this unit.
    Unit(String),
}

impl Term {
    fn number(factor: f64) -> Self {
        Self { factor, plain: vec![factor], parts: Vec::new(), open: false }
    }

    fn open() -> Self {
        Self { open: true, ..Self::number(1.0) }
    }

    fn part(of: Of) -> Self {
        let parts = vec![Part { of, power: (1, 1) }];
        Self { factor: 1.0, plain: Vec::new(), parts, open: false }
    }

    fn times(&self, other: &Self) -> Self {
        Self {
            factor: self.factor * other.factor,
            plain: self.plain.iter().chain(&other.plain).copied().collect(),
            parts: self.parts.iter().chain(&other.parts).cloned().collect(),
            open: self.open || other.open,
        }
    }

    fn raised(&self, (over, under): (i32, i32)) -> Self {
        let raised = |part: &Part| {
            let power = (part.power.0.checked_mul(over)?, part.power.1.checked_mul(under)?);
            Some(Part { of: part.of.clone(), power })
        };
        let exponent = f64::from(over) / f64::from(under);
        let factor = power(self.factor, exponent);
        let plain: Option<Vec<f64>> = self.plain.iter().map(|it| power(*it, exponent)).collect();
        let parts: Option<Vec<Part>> = self.parts.iter().map(raised).collect();
        match (factor, plain, parts) {
            (Some(factor), Some(plain), Some(parts)) => {
                Self { factor, plain, parts, ..self.clone() }
            }
            _ => Self::open(),
        }
    }

    /// The one cell of which it is, as it stands.
    pub(crate) fn cell(&self) -> Option<(&str, Position)> {
        match self.parts.as_slice() {
            [Part { of: Of::Cell(tab, cell), power: (1, 1) }] => Some((tab, *cell)),
            _ => None,
        }
    }
}

/// What the formula of a cell takes; none for a formula that is not understood at all.
pub(crate) fn terms(book: &Book, tab: &Tab, cell: Position) -> Option<Terms> {
    let (text, moved) = tab.formulas.text(cell)?;
    let node = Reader::new(text).whole()?;
    let mut writing = Writing { book, tab, moved, found: Terms::default() };
    let terms = writing.of(&node);
    writing.found.terms = terms;
    let understood = |terms: &mut Vec<Term>| terms.retain(|it| !it.open && !it.parts.is_empty());
    understood(&mut writing.found.terms);
    writing.found.converted.iter_mut().for_each(|(terms, _)| understood(terms));
    Some(writing.found)
}

/// Functions that hand a value of their first argument on, besides [`ROUNDINGS`].
const HAND_ON: &[&str] =
    &["CEILING.MATH", "FLOOR.MATH", "LARGE", "SMALL", "PERCENTILE", "QUARTILE"];

/// Functions that add their arguments up, or take one of them.
const GATHER: &[&str] = &["SUM", "MAX", "MIN", "AVERAGE", "MEDIAN", "IFERROR", "IFNA", "SUBTOTAL"];

struct Writing<'a> {
    book: &'a Book,
    tab: &'a Tab,
    moved: (i64, i64),
    found: Terms,
}

impl<'a> Writing<'a> {
    fn of(&mut self, node: &Node) -> Vec<Term> {
        match node {
            Node::Value(Value::Number(number)) => vec![Term::number(*number)],
            Node::Value(_) => vec![Term::open()],
            Node::Cells(..) | Node::Name(_) => match self.area(node) {
                Some((tab, area)) => cells_of(tab, area),
                None => vec![Term::open()],
            },
            Node::Negative(of) => product(&self.of(of), &[Term::number(-1.0)]),
            Node::Percent(of) => product(&self.of(of), &[Term::number(0.01)]),
            Node::Binary(sign, one, other) => {
                let (mut one, other) = (self.of(one), self.of(other));
                match *sign {
                    "+" | "-" => {
                        self.found.added = true;
                        one.extend(other);
                        one
                    }
                    "*" => product(&one, &other),
                    "/" => product(&one, &raised(&other, (-1, 1))),
                    "^" => to_the(&one, &other),
                    _ => vec![Term::open()],
                }
            }
            Node::Call(name, arguments) => self.call(name, arguments),
        }
    }

    fn call(&mut self, name: &str, arguments: &[Node]) -> Vec<Term> {
        let name = name.trim_start_matches("_XLFN.");
        let open = || vec![Term::open()];
        match (name, arguments) {
            ("PI", []) => vec![Term::number(std::f64::consts::PI)],
            ("RADIANS", [of]) => product(&self.of(of), &[Term::number(1_f64.to_radians())]),
            ("DEGREES", [of]) => product(&self.of(of), &[Term::number(1_f64.to_degrees())]),
            ("SQRT", [of]) => raised(&self.of(of), (1, 2)),
            ("POWER", [one, other]) => to_the(&self.of(one), &self.of(other)),
            ("PRODUCT" | "SUMPRODUCT", [first, rest @ ..]) if !rest.is_empty() => {
                let first = self.of(first);
                let sum = name == "SUMPRODUCT";
                self.found.added |= sum;
                rest.iter().fold(first, |found, other| {
                    let other = self.of(other);
                    match sum {
                        true => found.iter().zip(&other).map(|(a, b)| a.times(b)).collect(),
                        false => product(&found, &other),
                    }
                })
            }
            ("IF", [_, rest @ ..]) | ("CHOOSE", [_, rest @ ..]) => self.all(rest),
            ("IFS", pairs) => {
                let values = pairs.chunks_exact(2).filter_map(<[Node]>::last);
                values.flat_map(|value| self.of(value)).collect()
            }
            (name, [first, ..]) if ROUNDINGS.contains(&name) || HAND_ON.contains(&name) => {
                self.of(first)
            }
            (name, all) if GATHER.contains(&name) => {
                self.found.added |= matches!(name, "SUM" | "AVERAGE" | "SUBTOTAL");
                let areas = all.iter().filter_map(|node| self.area(node));
                let areas = areas.filter(|(_, area)| !area.is_single());
                let sums: Vec<_> = areas.map(|(tab, area)| (tab.name.clone(), area)).collect();
                self.found.sums.extend(sums);
                let skipped = usize::from(name == "SUBTOTAL");
                self.all(all.get(skipped..).unwrap_or_default())
            }
            ("CONVERT", [of, Node::Value(Value::Text(from)), Node::Value(Value::Text(to))]) => {
                let of = self.of(of);
                self.found.converted.push((of, from.clone()));
                vec![Term::part(Of::Unit(to.clone()))]
            }
            _ => self.looked_up(name, arguments).unwrap_or_else(open),
        }
    }

    fn all(&mut self, nodes: &[Node]) -> Vec<Term> {
        nodes.iter().flat_map(|node| self.of(node)).take(MOST).collect()
    }

    /// One of the cells that a formula looks up: all stand below one heading.
    fn looked_up(&mut self, name: &str, arguments: &[Node]) -> Option<Vec<Term>> {
        let exact = |node: Option<&Node>| {
            matches!(node, Some(Node::Value(Value::Number(0.0) | Value::Truth(false))))
        };
        let nth = |node: &Node| match node {
            Node::Value(Value::Number(number)) if (1.0..=16_000.0).contains(number) => {
                format!("{number:.0}").parse::<u32>().ok()
            }
            _ => None,
        };
        let (tab, area) = match (name, arguments) {
            ("VLOOKUP", [_, of, index, rest @ ..]) => {
                self.found.nearest |= !exact(rest.first());
                let (tab, area) = self.area(of)?;
                (tab, column_of(area, nth(index)?)?)
            }
            ("HLOOKUP", [_, of, index, rest @ ..]) => {
                self.found.nearest |= !exact(rest.first());
                let (tab, area) = self.area(of)?;
                let row = area.first.row.checked_add(nth(index)? - 1)?;
                let at = |column| Position { row, column };
                (tab, Area { first: at(area.first.column), last: at(area.last.column) })
            }
            ("INDEX", [of, rest @ ..]) => {
                let matched = rest.iter().filter_map(|node| match node {
                    Node::Call(name, arguments) if name == "MATCH" => Some(arguments.get(2)),
                    _ => None,
                });
                let inexact = matched.filter(|it| !exact(*it)).count() > 0;
                self.found.nearest |= inexact;
                let (tab, area) = self.area(of)?;
                match rest {
                    [_, column] if area.first.column != area.last.column => {
                        (tab, column_of(area, nth(column)?)?)
                    }
                    _ => (tab, area),
                }
            }
            ("XLOOKUP", [_, _, from, ..]) => self.area(from)?,
            ("LOOKUP", [_, _, from]) => {
                self.found.nearest = true;
                self.area(from)?
            }
            _ => return None,
        };
        cells_of(tab, area).into_iter().next().map(|first| vec![first])
    }

    fn area(&self, node: &Node) -> Option<(&'a Tab, Area)> {
        match node {
            Node::Cells(tab, first, last) => {
                let tab = self.book.tab(tab.as_deref().unwrap_or(&self.tab.name))?;
                Some((tab, super::shifted(*first, *last, self.moved.0, self.moved.1)))
            }
            Node::Name(name) => {
                let known = self.book.name_seen_from(&self.tab.name, name)?;
                let Target::Cells { tab, area } = &known.target else { return None };
                Some((self.book.tab(tab)?, *area))
            }
            _ => None,
        }
    }
}

/// One column of an area, counted from one.
fn column_of(area: Area, index: u32) -> Option<Area> {
    let column = area.first.column.checked_add(index - 1)?;
    let at = |row| Position { row, column };
    (column <= area.last.column)
        .then(|| Area { first: at(area.first.row), last: at(area.last.row) })
}

/// The numbers of an area, each a term.
fn cells_of(tab: &Tab, area: Area) -> Vec<Term> {
    if area.is_single() {
        return vec![Term::part(Of::Cell(tab.name.clone(), area.first))];
    }
    let within = tab
        .entries()
        .filter(|entry| area.contains(entry.position) && matches!(entry.cell, Cell::Number(_)));
    within.take(MOST).map(|it| Term::part(Of::Cell(tab.name.clone(), it.position))).collect()
}

fn product(one: &[Term], other: &[Term]) -> Vec<Term> {
    if one.len().saturating_mul(other.len()) > MOST {
        return vec![Term::open()];
    }
    one.iter().flat_map(|one| other.iter().map(|other| one.times(other))).collect()
}

/// A power of one term; of a sum it is not known.
fn raised(terms: &[Term], power: (i32, i32)) -> Vec<Term> {
    match terms {
        [one] => vec![one.raised(power)],
        _ => vec![Term::open()],
    }
}

fn to_the(terms: &[Term], exponent: &[Term]) -> Vec<Term> {
    let powers = [(1, 1), (2, 1), (3, 1), (4, 1), (-1, 1), (-2, 1), (1, 2), (0, 1)];
    let [exponent] = exponent else { return vec![Term::open()] };
    let known = powers.into_iter().find(|(over, under)| {
        exponent.parts.is_empty()
            && !exponent.open
            && exponent.factor == f64::from(*over) / f64::from(*under)
    });
    match (known, terms) {
        (Some(power), _) => raised(terms, power),
        // a power of ten
        (None, [Term { parts, open: false, factor, .. }])
            if parts.is_empty() && exponent.parts.is_empty() && !exponent.open =>
        {
            vec![power(*factor, exponent.factor).map_or_else(Term::open, Term::number)]
        }
        _ => vec![Term::open()],
    }
}
