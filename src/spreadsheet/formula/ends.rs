//! Which of several numbers a formula takes: the least, the greatest, or one between them; and which way it rounds.

use super::catalogue::{among, called, without_texts};
use super::rests::CellOf;
use super::value::{At, Look, Node, Reader, Value};
use crate::spreadsheet::model::book::{Book, Tab};
use crate::spreadsheet::model::names::Target;
use crate::spreadsheet::model::position::{Area, Position};

/// One of several numbers.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum End {
    Least,
    Greatest,
    /// The mean, the middle, the second of them.
    Between,
}

impl End {
    /// What is the other end once it is subtracted, or divided by.
    fn turned(self) -> Self {
        match self {
            Self::Least => Self::Greatest,
            Self::Greatest => Self::Least,
            Self::Between => Self::Between,
        }
    }
}

/// A number that a formula takes out of several, or rounds.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Taken {
    pub(crate) by: CellOf,
    /// As it is called, and of what: `AVERAGE(A2:A6)`.
    pub(crate) function: String,
    /// Which end of the value of the formula that makes.
    pub(crate) end: End,
    /// The function that takes the least value, and the greatest.
    pub(crate) instead: [&'static str; 2],
}

/// What the formula of a cell takes out of several different numbers on its way to them, the last function first: behind it
/// nothing is looked at.
pub(crate) fn ends(book: &Book, tab: &str, cell: Position) -> Vec<Taken> {
    let mut following =
        Following { book, look: Look::new(book), passed: Vec::new(), found: Vec::new() };
    if let Some(tab) = book.tab(tab).filter(|_| !book.as_shown) {
        following.formula(tab, cell, 0, Way { rising: true, apart: false });
    }
    following.found
}

/// Formulas that lead to formulas, and how many of them.
const DEEPEST: u32 = 40;
const MOST: usize = 400;

/// How the value of a formula follows from a number on the way.
#[derive(Clone, Copy)]
struct Way {
    /// Whether it rises with it.
    rising: bool,
    /// Whether something is added to it or a factor near one applied: a mean less a margin may be the least.
    apart: bool,
}

/// Functions that take a number between the others.
const BETWEEN: &str =
    "AVERAGE AVERAGEA AVERAGEIF AVERAGEIFS TRIMMEAN MEDIAN GEOMEAN HARMEAN MODE MODE.SNGL";

/// Functions of one number that rise with it, besides those that round to one side.
const RISING: &str =
    "ROUND MROUND ABS SQRT EXP LN LOG LOG10 CONVERT RADIANS DEGREES IFERROR IFNA VALUE N";

/// Functions that round up, and down; of a positive number.
const ROUNDED: [&str; 2] = [
    "ROUNDUP CEILING CEILING.MATH CEILING.PRECISE ISO.CEILING EVEN ODD",
    "ROUNDDOWN FLOOR FLOOR.MATH FLOOR.PRECISE INT TRUNC QUOTIENT",
];

/// Functions by which people find how far values lie apart: a mean that they stand beside is not taken as it is.
const SPREADS: &str = "STDEV STDEV.S STDEV.P STDEVP STDEVA VAR VAR.S VAR.P VARP CONFIDENCE CONFIDENCE.T CONFIDENCE.NORM \
    T.INV T.INV.2T TINV NORM.S.INV NORMSINV";

struct Following<'a> {
    book: &'a Book,
    look: Look<'a>,
    passed: Vec<CellOf>,
    found: Vec<Taken>,
}

impl<'a> Following<'a> {
    fn formula(&mut self, tab: &'a Tab, cell: Position, depth: u32, way: Way) {
        let key = (tab.name.clone(), cell);
        if depth >= DEEPEST || self.passed.len() >= MOST || self.passed.contains(&key) {
            return;
        }
        self.passed.push(key);
        let Some((text, moved)) = tab.formulas.text(cell) else { return };
        let Some(node) = Reader::new(text).whole() else { return };
        let apart = called(&without_texts(text)).iter().any(|name| among(SPREADS, name));
        let way = Way { apart: way.apart || apart, ..way };
        self.node(&node, At { tab, cell, moved, depth }, way);
    }

    fn node(&mut self, node: &Node, at: At<'a>, way: Way) {
        let turned = Way { rising: !way.rising, ..way };
        match node {
            Node::Value(_) => {}
            Node::Cells(..) => self.cells(node, at, way),
            Node::Name(name) => self.name(name, at, way),
            Node::Negative(of) => self.node(of, at, turned),
            Node::Percent(of) => self.node(of, at, way),
            Node::Binary("/", sum, count) if let Some(of) = self.mean(sum, count, at) => {
                self.take("the mean of ", &of, at, way, Some(End::Between));
            }
            Node::Binary(sign @ ("+" | "-"), one, other) => {
                let means = [one, other].iter().all(|it| is_call(it, BETWEEN));
                let way = Way { apart: way.apart || !means, ..way };
                self.node(one, at, way);
                let rising = way.rising == (*sign == "+");
                self.node(other, at, Way { rising, ..way });
            }
            Node::Binary(sign @ ("*" | "/"), one, other) => {
                let factors = [self.look.number(one, at), self.look.number(other, at)];
                let of = |factor: Option<f64>, rising: bool| {
                    let near_one =
                        factor.is_some_and(|it| it != 1.0 && (0.4..2.5).contains(&it.abs()));
                    let rising = rising != factor.is_some_and(|it| it < 0.0);
                    Way { rising, apart: way.apart || near_one }
                };
                let [first, second] = factors;
                self.node(one, at, of(second, way.rising));
                let rising = way.rising == (*sign == "*");
                self.node(other, at, of(first, rising));
            }
            Node::Binary("^", one, other) => {
                if let Some(power) = self.look.number(other, at) {
                    self.node(one, at, Way { rising: way.rising == (power > 0.0), ..way });
                }
            }
            Node::Binary(..) => {}
            Node::Call(name, arguments) => self.call(name, arguments, at, way),
        }
    }

    fn cells(&mut self, node: &Node, at: At<'a>, way: Way) {
        let Some((tab, area)) = self.look.area(node, at) else { return };
        let last = area.last.row.min(tab.used().map_or(0, |used| used.last.row));
        for row in area.first.row..=last {
            let of_it = tab.row(row).iter().filter(|it| it.formula && area.contains(it.position));
            of_it.for_each(|entry| self.formula(tab, entry.position, at.depth + 1, way));
        }
    }

    fn name(&mut self, name: &str, at: At<'a>, way: Way) {
        let Some(known) = self.book.name_seen_from(&at.tab.name, name) else { return };
        match (&known.target, Reader::new(&known.text).whole()) {
            (Target::Cells { .. }, _) => self.cells(&Node::Name(name.to_owned()), at, way),
            (_, Some(node)) if at.depth < DEEPEST && !matches!(node, Node::Name(_)) => {
                self.node(&node, At { depth: at.depth + 1, ..at }, way);
            }
            _ => {}
        }
    }

    fn call(&mut self, name: &str, arguments: &[Node], at: At<'a>, way: Way) {
        let name = name.trim_start_matches("_XLFN.").trim_start_matches("_XLWS.");
        match (name, arguments) {
            ("IF", [condition, rest @ ..]) => {
                let taken = match self.look.truth(condition, at) {
                    Some(true) => rest.get(..1),
                    Some(false) => rest.get(1..2),
                    None => Some(rest),
                };
                taken.unwrap_or_default().iter().for_each(|node| self.node(node, at, way));
            }
            ("SUM" | "PRODUCT" | "SUMPRODUCT", _) => {
                arguments.iter().for_each(|node| self.node(node, at, way));
            }
            ("INDEX" | "VLOOKUP" | "HLOOKUP" | "XLOOKUP" | "LOOKUP", _) => {
                self.look.landed.clear();
                let _ = self.look.looked_up(name, arguments, at);
                for (tab, cell) in std::mem::take(&mut self.look.landed) {
                    self.formula(tab, cell, at.depth + 1, way);
                }
            }
            ("ABS", [of]) if self.look.number(of, at).is_some_and(|it| it < 0.0) => {
                self.node(of, at, Way { rising: !way.rising, ..way });
            }
            (name, [of, ..]) if among(RISING, name) => self.node(of, at, way),
            (name, [of, ..]) if ROUNDED.iter().any(|list| among(list, name)) => {
                self.rounded(name, of, (arguments, at), way);
                self.node(of, at, way);
            }
            (name, _) => {
                if let Some((end, of)) = self.end_of(name, arguments, at) {
                    self.take(name, &of.iter().collect::<Vec<_>>(), at, way, end);
                }
            }
        }
    }

    /// What a function takes of several numbers, and the arguments in which these stand; no end where that is not known.
    fn end_of<'n>(
        &mut self,
        name: &str,
        arguments: &'n [Node],
        at: At<'a>,
    ) -> Option<(Option<End>, &'n [Node])> {
        let nth = |end: End, of: &[f64], which: f64| {
            let last = u32::try_from(of.len()).map_or(f64::NAN, f64::from);
            if which == 1.0 {
                end
            } else if which == last {
                end.turned()
            } else {
                End::Between
            }
        };
        let by_share = |share: f64| match share {
            ..=0.1 => End::Least,
            0.9.. => End::Greatest,
            _ => End::Between,
        };
        Some(match (name, arguments) {
            ("MIN" | "MINA", _) => (Some(End::Least), arguments),
            ("MAX" | "MAXA", _) => (Some(End::Greatest), arguments),
            ("MINIFS", [of, ..]) => (Some(End::Least), std::slice::from_ref(of)),
            ("MAXIFS", [of, ..]) => (Some(End::Greatest), std::slice::from_ref(of)),
            ("AVERAGEIF", [_, _, of]) | ("AVERAGEIF" | "AVERAGEIFS" | "TRIMMEAN", [of, ..]) => {
                (Some(End::Between), std::slice::from_ref(of))
            }
            (name, _) if among(BETWEEN, name) => (Some(End::Between), arguments),
            ("LARGE" | "SMALL", [of, which]) => {
                let mut numbers = Vec::new();
                self.look.many(of, at, &mut numbers);
                let end = if name == "LARGE" { End::Greatest } else { End::Least };
                let which = self.look.number(which, at);
                (which.map(|it| nth(end, &numbers, it)), std::slice::from_ref(of))
            }
            ("PERCENTILE" | "PERCENTILE.INC" | "PERCENTILE.EXC", [of, share]) => {
                (self.look.number(share, at).map(by_share), std::slice::from_ref(of))
            }
            ("QUARTILE" | "QUARTILE.INC" | "QUARTILE.EXC", [of, quarter]) => {
                let share = self.look.number(quarter, at).map(|it| it / 4.0);
                (share.map(by_share), std::slice::from_ref(of))
            }
            ("SUBTOTAL", [which, of @ ..]) => match self.look.number(which, at)? % 100.0 {
                1.0 => (Some(End::Between), of),
                4.0 => (Some(End::Greatest), of),
                5.0 => (Some(End::Least), of),
                _ => return None,
            },
            ("AGGREGATE", [which, _, of, rest @ ..]) => {
                let of = std::slice::from_ref(of);
                let last = rest.first().and_then(|it| self.look.number(it, at));
                match self.look.number(which, at)? {
                    1.0 | 12.0 | 13.0 => (Some(End::Between), of),
                    4.0 => (Some(End::Greatest), of),
                    5.0 => (Some(End::Least), of),
                    which @ (14.0 | 15.0) => {
                        let end = if which == 14.0 { End::Greatest } else { End::Least };
                        (last.map(|it| nth(end, &[], it)), of)
                    }
                    16.0 | 18.0 => (last.map(by_share), of),
                    17.0 | 19.0 => (last.map(|it| by_share(it / 4.0)), of),
                    _ => return None,
                }
            }
            _ => return None,
        })
    }

    /// What stands in a sum that is divided by how many there are: `SUM(A2:A6)/COUNT(A2:A6)`, `(A2+A3)/2`.
    fn mean<'n>(&mut self, sum: &'n Node, count: &Node, at: At<'a>) -> Option<Vec<&'n Node>> {
        let mut of = Vec::new();
        match sum {
            Node::Call(name, arguments) if name == "SUM" => of.extend(arguments),
            _ => added(sum, &mut of),
        }
        if is_call(count, "COUNT COUNTA ROWS") {
            return Some(of);
        }
        let mut numbers = Vec::new();
        of.iter().try_for_each(|node| self.look.many(node, at, &mut numbers))?;
        let many = u32::try_from(numbers.len()).ok().filter(|it| *it > 1)?;
        matches!(count, Node::Value(Value::Number(count)) if *count == f64::from(many))
            .then_some(of)
    }

    /// Notes what is taken of several numbers that differ; of one, or of equal ones, it is that number.
    fn take(&mut self, name: &str, of: &[&Node], at: At<'a>, way: Way, end: Option<End>) {
        let mut numbers = Vec::new();
        let mut areas: Vec<String> = Vec::new();
        let mut all = true;
        for node in of {
            // the last that a number is held to: `MAX(B2,0)`
            if matches!(node, Node::Value(_)) {
                return of.iter().for_each(|node| self.node(node, at, way));
            }
            all &= self.look.many(node, at, &mut numbers).is_some();
            areas.extend(self.look.area(node, at).map(|(tab, area)| named(tab, area, at)));
        }
        let differ = numbers.windows(2).any(|it| matches!(it, [one, other] if one != other));
        if !differ && all {
            return of.iter().for_each(|node| self.node(node, at, way));
        }
        let Some(end) = end.filter(|end| *end != End::Between || !way.apart) else { return };
        self.found.push(Taken {
            by: (at.tab.name.clone(), at.cell),
            function: match name.ends_with(' ') {
                true => format!("{name}{}", areas.join(", ")),
                false => format!("{name}({})", areas.join(",")),
            },
            end: if way.rising { end } else { end.turned() },
            instead: if way.rising { ["MIN", "MAX"] } else { ["MAX", "MIN"] },
        });
    }

    /// Notes a number that is rounded to one side, where that is more than people round.
    fn rounded(&mut self, name: &str, of: &Node, (arguments, at): (&[Node], At<'a>), way: Way) {
        let before = self.look.number(of, at);
        let after = match self.look.rounded(name, arguments, at) {
            Some(Value::Number(number)) => Some(number),
            _ => None,
        };
        let (Some(before), Some(after)) = (before, after) else { return };
        if before <= 0.0 || (before - after).abs() <= 0.005 * before.max(after) {
            return;
        }
        let end = if after > before { End::Greatest } else { End::Least };
        self.found.push(Taken {
            by: (at.tab.name.clone(), at.cell),
            function: name.to_owned(),
            end: if way.rising { end } else { end.turned() },
            instead: if way.rising { ["ROUNDDOWN", "ROUNDUP"] } else { ["ROUNDUP", "ROUNDDOWN"] },
        });
    }
}

fn named(tab: &Tab, area: Area, at: At<'_>) -> String {
    match tab.name == at.tab.name {
        true => area.name(),
        false => format!("{}!{}", tab.name, area.name()),
    }
}

fn is_call(node: &Node, list: &str) -> bool {
    matches!(node, Node::Call(name, _) if among(list, name))
}

/// The parts of a sum.
fn added<'n>(node: &'n Node, into: &mut Vec<&'n Node>) {
    match node {
        Node::Binary("+", one, other) => {
            added(one, into);
            added(other, into);
        }
        _ => into.push(node),
    }
}
