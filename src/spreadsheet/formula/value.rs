//! What a plain formula gives: numbers, cells, sums and the like. Enough to see that the value which is saved with
//! a formula is not its own; what is not understood has no value here, and none is made up.

use super::{Corner, both, corner};
use crate::elementary;
use crate::spreadsheet::model::book::{Book, Tab};
use crate::spreadsheet::model::cell::Cell;
use crate::spreadsheet::model::names::Target;
use crate::spreadsheet::model::position::{Area, Position};

/// Nested brackets and formulas that lead to formulas, and cells looked at, for one value.
const DEEPEST: u32 = 40;
const MOST_CELLS: u32 = 20_000;

/// A value on the way.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Value {
    Number(f64),
    Text(String),
    Truth(bool),
    Empty,
}

/// The result of a formula, the largest number that took part in it, and the cells that it comes from.
pub(crate) struct Worth {
    pub(crate) value: Value,
    pub(crate) scale: f64,
    pub(crate) cells: Vec<(String, Position)>,
    /// Whether one of them is empty: it may be one that is still to be filled.
    pub(crate) of_empty: bool,
}

/// The formulas behind a cell's formula whose saved results are taken as they are, since these are not calculated here;
/// its own where that is one.
pub(super) fn taken_as_saved(book: &Book, tab: &str, cell: Position) -> Vec<(String, Position)> {
    let own = || vec![(tab.to_owned(), cell)];
    let Some(known) = book.tab(tab).filter(|_| !book.as_shown) else { return own() };
    let mut look = Look::new(book);
    match look.formula(known, cell, 0) {
        Some(_) => look.as_saved,
        None => own(),
    }
}

impl Value {
    /// As it stands among other letters; none for a number that programs write in more than one way.
    fn into_text(self) -> Option<String> {
        match self {
            Self::Text(text) => Some(text),
            Self::Number(number) => Some(format!("{number}")).filter(|it| it.len() <= 11),
            Self::Empty => Some(String::new()),
            Self::Truth(_) => None,
        }
    }
}

impl std::fmt::Display for Worth {
    fn fmt(&self, to: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match &self.value {
            // without the digits that only rounding on the way has made
            Value::Number(number) => match format!("{number:.11e}").parse::<f64>() {
                Ok(round) => write!(to, "{round}"),
                Err(_) => write!(to, "{number}"),
            },
            Value::Text(text) => write!(to, "the text \"{text}\""),
            Value::Truth(true) => to.write_str("TRUE"),
            Value::Truth(false) => to.write_str("FALSE"),
            Value::Empty => to.write_str("0"),
        }
    }
}

impl Worth {
    /// Whether a saved number is this result, but for rounding on the way.
    pub(crate) fn is(&self, saved: f64) -> bool {
        let number = match &self.value {
            Value::Number(number) => *number,
            Value::Empty => 0.0,
            // a number where the formula gives words
            Value::Text(_) | Value::Truth(_) => return false,
        };
        let near = 1e-9 * number.abs().max(saved.abs()) + 1e-12 * self.scale;
        (number - saved).abs() <= near
    }
}

/// The result of the formula in a cell; none where it is not plain, or leads to what is not known.
pub(crate) fn worth(book: &Book, tab: &str, cell: Position) -> Option<Worth> {
    if book.as_shown {
        return None;
    }
    let tab = book.tab(tab)?;
    let mut look = Look::new(book);
    let value = look.formula(tab, cell, 0)?;
    Some(Worth { value, scale: look.scale, cells: look.seen, of_empty: look.of_empty })
}

/// What a formula gives that stands in no cell: it is written for one cell and meant for another. None where it is not
/// plain, or leads to what is empty or not known.
pub(crate) fn worth_of(
    book: &Book,
    tab: &Tab,
    (text, written): (&str, Position),
    cell: Position,
) -> Option<Value> {
    if book.as_shown {
        return None;
    }
    let node = Reader::new(text.trim().trim_start_matches('=')).whole()?;
    let by = |to: u32, from: u32| i64::from(to) - i64::from(from);
    let moved = (by(cell.row, written.row), by(cell.column, written.column));
    let mut look = Look::new(book);
    let value = look.value(&node, At { tab, cell, moved, depth: 0 })?;
    (!look.met_empty).then_some(value)
}

pub(super) struct Look<'a> {
    book: &'a Book,
    /// How many cells may still be looked at.
    pub(super) cells: u32,
    scale: f64,
    seen: Vec<(String, Position)>,
    pub(super) of_empty: bool,
    /// The same, of any cell: one that is only compared as well.
    met_empty: bool,
    /// Formulas that are not calculated here, whose saved results were taken.
    as_saved: Vec<(String, Position)>,
    /// The formulas that are being calculated, each from the one before: one that leads back to itself has no value.
    open: Vec<(String, Position)>,
    /// The cells that were taken last out of others.
    pub(super) landed: Vec<(&'a Tab, Position)>,
}

/// Where a formula stands, how far it is moved from where its text was written, and how deep it is nested.
#[derive(Clone, Copy)]
pub(super) struct At<'a> {
    pub(super) tab: &'a Tab,
    pub(super) cell: Position,
    pub(super) moved: (i64, i64),
    pub(super) depth: u32,
}

impl<'a> Look<'a> {
    pub(super) fn new(book: &'a Book) -> Self {
        Self {
            book,
            cells: MOST_CELLS,
            scale: 0.0,
            seen: Vec::new(),
            of_empty: false,
            met_empty: false,
            as_saved: Vec::new(),
            open: Vec::new(),
            landed: Vec::new(),
        }
    }

    fn formula(&mut self, tab: &'a Tab, cell: Position, depth: u32) -> Option<Value> {
        if depth >= DEEPEST {
            return None;
        }
        let (text, moved) = tab.formulas.text(cell)?;
        let node = Reader::new(text).whole()?;
        self.open.push((tab.name.clone(), cell));
        let value = self.value(&node, At { tab, cell, moved, depth });
        self.open.pop();
        value
    }

    pub(super) fn number(&mut self, node: &Node, at: At<'a>) -> Option<f64> {
        let number = match self.value(node, at)? {
            Value::Number(number) => number,
            Value::Truth(truth) => f64::from(u8::from(truth)),
            Value::Empty => 0.0,
            Value::Text(_) => return None,
        };
        self.scale = self.scale.max(number.abs());
        Some(number)
    }

    pub(super) fn value(&mut self, node: &Node, at: At<'a>) -> Option<Value> {
        let number = |number: f64| number.is_finite().then_some(Value::Number(number));
        match node {
            Node::Value(value) => Some(value.clone()),
            Node::Cells(tab, first, last) if first == last => {
                let tab = self.tab(tab.as_deref(), at)?;
                let area = super::shifted(*first, *last, at.moved.0, at.moved.1);
                self.cell(tab, area.first, at.depth)
            }
            Node::Cells(..) => None,
            Node::Name(_) if self.constant(node, at).is_some() => number(self.constant(node, at)?),
            Node::Name(name) => {
                let (tab, area) = self.named(name, at)?;
                area.is_single().then(|| self.cell(tab, area.first, at.depth))?
            }
            Node::Negative(of) => number(-self.number(of, at)?),
            Node::Percent(of) => number(self.number(of, at)? / 100.0),
            Node::Binary(sign, one, other) => match *sign {
                "+" => number(self.number(one, at)? + self.number(other, at)?),
                "-" => number(self.number(one, at)? - self.number(other, at)?),
                "*" => number(self.number(one, at)? * self.number(other, at)?),
                "/" => number(self.number(one, at)? / self.number(other, at)?),
                "^" => number(power(self.number(one, at)?, self.number(other, at)?)?),
                "&" => {
                    let (one, other) = (self.value(one, at)?, self.value(other, at)?);
                    Some(Value::Text(one.into_text()? + &other.into_text()?))
                }
                sign => {
                    let (one, other) = (self.value(one, at)?, self.value(other, at)?);
                    compared(sign, &one, &other).map(Value::Truth)
                }
            },
            Node::Call(name, arguments) => self.call(name, arguments, at),
        }
    }

    fn call(&mut self, name: &str, arguments: &[Node], at: At<'a>) -> Option<Value> {
        let name = name.trim_start_matches("_XLFN.").trim_start_matches("_XLWS.");
        let number = |number: f64| number.is_finite().then_some(Value::Number(number));
        match (name, arguments) {
            ("PI", []) => return number(std::f64::consts::PI),
            ("IF", [condition, yes, rest @ ..]) => {
                return match (self.truth(condition, at)?, rest) {
                    (true, _) => self.value(yes, at),
                    (false, [no]) => self.value(no, at),
                    (false, _) => Some(Value::Truth(false)),
                };
            }
            ("NOT", [of]) => return self.truth(of, at).map(|truth| Value::Truth(!truth)),
            ("AND" | "OR", [_, ..]) => {
                let truths = arguments.iter().map(|of| self.truth(of, at));
                let truths: Vec<bool> = truths.collect::<Option<_>>()?;
                let all = name == "AND";
                return Some(Value::Truth(truths.contains(&!all) != all));
            }
            ("ISBLANK", [of]) => {
                return self.value(of, at).map(|it| Value::Truth(it == Value::Empty));
            }
            ("ABS", [of]) => return number(self.number(of, at)?.abs()),
            ("SQRT", [of]) => return number(self.number(of, at)?.sqrt()),
            ("POWER", [one, other]) => {
                return number(power(self.number(one, at)?, self.number(other, at)?)?);
            }
            ("ROUND", [of, digits]) => {
                let (of, digits) = (self.number(of, at)?, self.number(digits, at)?);
                return number(rounded(of, digits)?);
            }
            ("RADIANS", [of]) => return number(self.number(of, at)?.to_radians()),
            ("DEGREES", [of]) => return number(self.number(of, at)?.to_degrees()),
            _ => {}
        }
        let found = self.of_areas(name, arguments, at);
        let found = found.or_else(|| self.chosen(name, arguments, at));
        let found = found.or_else(|| self.looked_up(name, arguments, at));
        let found = found.or_else(|| self.on_conditions(name, arguments, at));
        found.or_else(|| self.rounded(name, arguments, at))
    }

    pub(super) fn truth(&mut self, node: &Node, at: At<'a>) -> Option<bool> {
        match self.value(node, at)? {
            Value::Truth(truth) => Some(truth),
            Value::Number(number) => Some(number != 0.0),
            _ => None,
        }
    }

    /// The numbers of an argument: of an area those that are numbers.
    pub(super) fn many(&mut self, node: &Node, at: At<'a>, into: &mut Vec<f64>) -> Option<()> {
        if !matches!(node, Node::Cells(..) | Node::Name(_)) || self.constant(node, at).is_some() {
            into.push(self.number(node, at)?);
            return Some(());
        }
        let (tab, area) = self.area(node, at)?;
        let last = area.last.row.min(tab.used().map_or(0, |used| used.last.row));
        for row in area.first.row..=last {
            self.cells = self.cells.checked_sub(1)?;
            if !tab.keeps(row) {
                return None;
            }
            for entry in tab.row(row).iter().filter(|entry| area.contains(entry.position)) {
                if let Value::Number(number) = self.key(tab, entry.position, at)? {
                    self.sized(number);
                    into.push(number);
                }
            }
        }
        Some(())
    }

    /// Notes the size of a number that takes part.
    pub(super) fn sized(&mut self, number: f64) {
        self.scale = self.scale.max(number.abs());
    }

    /// The cells that a reference or a name stands for.
    pub(super) fn area(&self, node: &Node, at: At<'a>) -> Option<(&'a Tab, Area)> {
        match node {
            Node::Cells(tab, first, last) => {
                let tab = self.tab(tab.as_deref(), at)?;
                Some((tab, super::shifted(*first, *last, at.moved.0, at.moved.1)))
            }
            Node::Name(name) => self.named(name, at),
            _ => None,
        }
    }

    /// The number that a name stands for, if it stands for one: `=9.81`.
    fn constant(&self, node: &Node, at: At<'a>) -> Option<f64> {
        let Node::Name(name) = node else { return None };
        let known = self.book.name_seen_from(&at.tab.name, name)?;
        known.text.trim().trim_start_matches('=').parse().ok().filter(|it: &f64| it.is_finite())
    }

    fn tab(&self, name: Option<&str>, at: At<'a>) -> Option<&'a Tab> {
        match name {
            None => Some(at.tab),
            Some(name) => self.book.tab(name),
        }
    }

    fn named(&self, name: &str, at: At<'a>) -> Option<(&'a Tab, Area)> {
        let known = self.book.name_seen_from(&at.tab.name, name)?;
        let Target::Cells { tab, area } = &known.target else { return None };
        Some((self.book.tab(tab)?, *area))
    }

    pub(super) fn cell(&mut self, tab: &'a Tab, cell: Position, depth: u32) -> Option<Value> {
        if self.open.iter().any(|(of, at)| *of == tab.name && *at == cell) {
            return None;
        }
        self.cells = self.cells.checked_sub(1)?;
        if !tab.keeps(cell.row) {
            return None;
        }
        self.seen.push((tab.name.clone(), cell));
        let Some(entry) = tab.entry(cell) else {
            (self.of_empty, self.met_empty) = (true, true);
            return Some(Value::Empty);
        };
        let held = entry.held();
        let empty = held.is_empty() && !entry.formula;
        self.of_empty |= empty;
        self.met_empty |= empty;
        if entry.formula {
            if let Some(value) = self.formula(tab, cell, depth + 1) {
                return Some(value);
            }
            if held.is_empty() || self.book.by_hand || self.book.may_be_uncalculated(held) {
                return None;
            }
            self.as_saved.push((tab.name.clone(), cell));
        }
        match held {
            Cell::Empty => Some(Value::Empty),
            Cell::Number(number) => Some(Value::Number(*number)),
            Cell::Text(text) => Some(Value::Text(text.clone())),
            Cell::Truth(truth) => Some(Value::Truth(*truth)),
            Cell::Error(_) | Cell::Date(_) => None,
        }
    }
}

/// A power; of a negative number only a whole one.
pub(super) fn power(base: f64, exponent: f64) -> Option<f64> {
    #[expect(clippy::cast_possible_truncation, reason = "whole and small")]
    if exponent.fract() == 0.0 && exponent.abs() <= 64.0 {
        return Some(base.powi(exponent as i32));
    }
    (base > 0.0).then(|| elementary::power(base, exponent))
}

/// Rounded to digits behind the point; none near a half, where programs differ.
fn rounded(number: f64, digits: f64) -> Option<f64> {
    let ten = power(10.0, digits)?;
    let scaled = number * ten;
    let near_half = (scaled.abs().fract() - 0.5).abs() < 1e-6;
    (!near_half && scaled.abs() < 1e15).then(|| scaled.round() / ten)
}

pub(super) fn compared(sign: &str, one: &Value, other: &Value) -> Option<bool> {
    // a number is never equal to a text
    if let (Value::Number(_), Value::Text(_)) | (Value::Text(_), Value::Number(_)) = (one, other) {
        return matches!(sign, "=" | "<>").then_some(sign == "<>");
    }
    let order = match (one, other) {
        (Value::Text(one), Value::Text(other)) => one.to_lowercase().cmp(&other.to_lowercase()),
        (Value::Truth(one), Value::Truth(other)) => one.cmp(other),
        (Value::Number(_) | Value::Empty, Value::Number(_) | Value::Empty) => {
            let number = |value: &Value| match value {
                Value::Number(number) => *number,
                _ => 0.0,
            };
            let (one, other) = (number(one), number(other));
            // a rounding apart
            if one != other && (one - other).abs() <= 1e-9 * one.abs().max(other.abs()) {
                return None;
            }
            one.partial_cmp(&other)?
        }
        // an empty cell is as an empty text
        (Value::Empty, Value::Text(text)) => "".cmp(text.as_str()),
        (Value::Text(text), Value::Empty) => text.as_str().cmp(""),
        _ => return None,
    };
    Some(match sign {
        "=" => order.is_eq(),
        "<>" => order.is_ne(),
        "<" => order.is_lt(),
        "<=" => order.is_le(),
        ">" => order.is_gt(),
        _ => order.is_ge(),
    })
}

/// A formula taken apart.
pub(super) enum Node {
    Value(Value),
    Cells(Option<String>, Corner, Corner),
    Name(String),
    Negative(Box<Node>),
    Percent(Box<Node>),
    Binary(&'static str, Box<Node>, Box<Node>),
    Call(String, Vec<Node>),
}

impl Node {
    /// Whether it is, or has in it, what is looked for.
    pub(super) fn any(&self, is: &dyn Fn(&Self) -> bool) -> bool {
        is(self)
            || match self {
                Self::Value(_) | Self::Cells(..) | Self::Name(_) => false,
                Self::Negative(of) | Self::Percent(of) => of.any(is),
                Self::Binary(_, one, other) => one.any(is) || other.any(is),
                Self::Call(_, arguments) => arguments.iter().any(|it| it.any(is)),
            }
    }
}

/// The signs between two values, those that bind least first; ECMA-376 Part 1, 18.17.2.2 (from memory).
const SIGNS: &[&[&str]] =
    &[&["<=", ">=", "<>", "=", "<", ">"], &["&"], &["+", "-"], &["*", "/"], &["^"]];

pub(super) struct Reader<'t> {
    rest: &'t str,
    depth: u32,
}

impl<'t> Reader<'t> {
    pub(super) fn new(text: &'t str) -> Self {
        Self { rest: text.trim_start().trim_start_matches('='), depth: 0 }
    }

    pub(super) fn whole(mut self) -> Option<Node> {
        let node = self.level(0)?;
        self.rest.trim().is_empty().then_some(node)
    }

    fn take(&mut self, sign: &str) -> bool {
        let rest = self.rest.trim_start();
        let found = rest.strip_prefix(sign);
        self.rest = found.unwrap_or(rest);
        found.is_some()
    }

    fn level(&mut self, level: usize) -> Option<Node> {
        let Some(signs) = SIGNS.get(level) else { return self.signed() };
        let mut node = self.level(level + 1)?;
        while let Some(sign) = signs.iter().find(|sign| self.take(sign)) {
            let other = self.level(level + 1)?;
            node = Node::Binary(sign, Box::new(node), Box::new(other));
        }
        Some(node)
    }

    fn signed(&mut self) -> Option<Node> {
        self.depth += 1;
        if self.depth > DEEPEST {
            return None;
        }
        let node = if self.take("-") {
            Node::Negative(Box::new(self.signed()?))
        } else if self.take("+") {
            self.signed()?
        } else {
            let mut node = self.plain()?;
            while self.take("%") {
                node = Node::Percent(Box::new(node));
            }
            node
        };
        self.depth -= 1;
        Some(node)
    }

    fn plain(&mut self) -> Option<Node> {
        if self.take("(") {
            let node = self.level(0)?;
            return self.take(")").then_some(node);
        }
        let first = self.rest.chars().next()?;
        match first {
            '"' => self.quoted('"').map(|text| Node::Value(Value::Text(text))),
            '\'' => {
                let tab = self.quoted('\'')?;
                if tab.contains(['[', ':']) || !self.take("!") {
                    return None;
                }
                let word = self.word()?;
                self.cells(Some(tab), word)
            }
            '0'..='9' | '.' => self.number(),
            first if super::is_word(first) => {
                let word = self.word()?;
                if self.rest.starts_with('!') {
                    self.rest = self.rest.get(1..)?;
                    let cell = self.word()?;
                    return self.cells(Some(word.to_owned()), cell);
                }
                if self.rest.trim_start().starts_with('(') {
                    return self.call(word.to_ascii_uppercase());
                }
                match word.to_ascii_uppercase().as_str() {
                    "TRUE" => Some(Node::Value(Value::Truth(true))),
                    "FALSE" => Some(Node::Value(Value::Truth(false))),
                    _ => self.cells(None, word),
                }
            }
            _ => None,
        }
    }

    fn cells(&mut self, tab: Option<String>, word: &str) -> Option<Node> {
        if self.take(":") {
            let other = self.word()?;
            let (first, last) = both(word, other)?;
            return self.ends().then_some(Node::Cells(tab, first, last));
        }
        if !self.ends() {
            return None;
        }
        match corner(word) {
            Some(cell) => Some(Node::Cells(tab, cell, cell)),
            None => tab.is_none().then(|| Node::Name(word.to_owned())),
        }
    }

    /// Whether nothing goes on here that would make a reference another: `A1#`, `Line[Speed]`, `A1:INDEX(…)`.
    fn ends(&self) -> bool {
        !self.rest.starts_with(['[', '#', '!', '(', ':'])
    }

    fn call(&mut self, name: String) -> Option<Node> {
        let mut arguments = Vec::new();
        self.take("(");
        if self.take(")") {
            return Some(match name.as_str() {
                "TRUE" | "FALSE" => Node::Value(Value::Truth(name == "TRUE")),
                _ => Node::Call(name, arguments),
            });
        }
        loop {
            arguments.push(self.level(0)?);
            if self.take(")") {
                return Some(Node::Call(name, arguments));
            }
            if !self.take(",") {
                return None;
            }
        }
    }

    fn number(&mut self) -> Option<Node> {
        let digits = |text: &str| text.find(|it: char| !it.is_ascii_digit()).unwrap_or(text.len());
        let mut end = digits(self.rest);
        if self.rest.get(end..)?.starts_with('.') {
            end += 1 + digits(self.rest.get(end + 1..)?);
        }
        if self.rest.get(end..)?.starts_with(['E', 'e']) {
            let sign = usize::from(self.rest.get(end + 1..)?.starts_with(['+', '-']));
            let count = digits(self.rest.get(end + 1 + sign..)?);
            if count > 0 {
                end += 1 + sign + count;
            }
        }
        let (number, rest) = self.rest.split_at_checked(end)?;
        // `2:3` is an area of rows
        if rest.trim_start().starts_with(':') {
            return None;
        }
        self.rest = rest;
        number.parse().ok().map(|number| Node::Value(Value::Number(number)))
    }

    fn word(&mut self) -> Option<&'t str> {
        let end = self.rest.find(|it| !super::is_word(it)).unwrap_or(self.rest.len());
        let (word, rest) = self.rest.split_at_checked(end)?;
        self.rest = rest;
        (!word.is_empty()).then_some(word)
    }

    fn quoted(&mut self, quote: char) -> Option<String> {
        let mut reading = super::Reading { rest: self.rest, found: Vec::new() };
        let text = reading.quoted(quote);
        self.rest = reading.rest;
        Some(text)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::spreadsheet::model::book::{Entry, Form};
    use crate::spreadsheet::model::formulas::{Formula, Formulas, Shape};

    /// A formula in D1, beside A1 = 2, A2 = 3, A3 = "words", B1 = TRUE.
    fn worth(formula: &str) -> Option<Value> {
        let at = |name: &str| Position::parse(name).unwrap();
        let cell = |name: &str, cell: Cell| Entry::plain(at(name), cell);
        let formula = Formula { position: at("D1"), shape: Shape::Plain, text: formula.to_owned() };
        let own = Entry { formula: true, ..cell("D1", Cell::Number(0.0)) };
        let entries = vec![
            cell("A1", Cell::Number(2.0)),
            cell("B1", Cell::Truth(true)),
            own,
            cell("A2", Cell::Number(3.0)),
            cell("A3", Cell::Text("words".to_owned())),
        ];
        let mut tab = Tab::plain("In".to_owned(), entries);
        tab.formulas = Formulas::of(vec![formula].into());
        let book = Book::plain("a.xlsx", Form::Xlsx, vec![tab]);
        super::worth(&book, "In", at("D1")).map(|worth| worth.value)
    }

    #[test]
    fn plain_formulas_have_the_value_that_an_office_suite_gives_them() {
        // the signs bind as ECMA-376 Part 1, 18.17.2.2 says; an office suite gives the same values
        for (formula, wanted) in [
            ("29*50", 1450.0),
            ("-2^2", 4.0),
            ("2^3^2", 64.0),
            ("10-3-2", 5.0),
            ("50%*A2", 1.5),
            ("SUM(A1:A3)/COUNT(A1:A3)", 2.5),
            ("IF(A1<A2,A2,1/0)", 3.0),
            ("In!A1+'In'!$A$2", 5.0),
            ("SUM(A:A,10)", 15.0),
            ("ROUND(A2/7,2)", 0.43),
            ("MAX(A1:A2)*1E-3", 0.003),
            ("IF(AND(A1<A2,NOT(A1>A2),A1),OR(A1>A2,A2=3)*7,1/0)", 7.0),
            ("IF(OR(A1>A2,A2>9),1/0,AND(A1=2,A2=9)+4)", 4.0),
            ("C9+1", 1.0),
            ("+A1", 2.0),
            ("AVERAGE(A1,A2)", 2.5),
            ("SUMIFS(A1:A2,A1:A2,\">2\")", 3.0),
            ("AVERAGEIF(A1:A2,\"<9\")", 2.5),
            ("_xlfn.MAXIFS(A1:A2,A1:A2,\"<3\")+COUNTIF(A1:A3,\"words\")", 3.0),
            ("LARGE(A1:A3,2)+10*SMALL(A1:A3,2)", 32.0),
            ("CHOOSE(A1,1/0,A2,1/0)", 3.0),
            ("_xlfn.IFS(A1>A2,1/0,TRUE,A2)", 3.0),
            ("_xlfn.SWITCH(A2,2,1/0,3,A1,9)+_xlfn.SWITCH(A2,1,1/0,9)", 11.0),
            ("OFFSET(A1,1,0)+INDIRECT(\"In!A2\")", 6.0),
            ("VLOOKUP(2.5,A1:B2,1)+MATCH(99,A1:A2)+LOOKUP(3,A1:A2,A1:A2)", 7.0),
            ("EXP(LN(A2))+LOG10(1000)+LOG(8,2)", 9.0),
            ("2^0.5*2^0.5+SIN(PI()/6)+COS(0)+ATAN(0)", 3.5),
            ("MOD(7,A2)+QUOTIENT(7,A2)+SIGN(-7)", 2.0),
            ("_xlfn.CEILING.MATH(2.1)+FLOOR(7,A2)", 9.0),
            // the deviation of 2 and 3: of a sample √0.5, of all 0.5
            ("STDEV(A1:A2)^2+_xlfn.STDEV.P(A1:A2)+SUMSQ(A1:A2)", 14.0),
        ] {
            let Some(Value::Number(found)) = worth(formula) else { panic!("{formula}") };
            assert!((found - wanted).abs() < 1e-12, "{formula} {found}");
        }
        assert_eq!(worth("\"N\"&\"m\""), Some(Value::Text("Nm".to_owned())));
        assert_eq!(worth("\"t \"&A1"), Some(Value::Text("t 2".to_owned())));
        assert_eq!(worth("A1=2"), Some(Value::Truth(true)));
        assert_eq!(worth("A1=\"\""), Some(Value::Truth(false)));
        assert_eq!(worth("A3<>2"), Some(Value::Truth(true)));
    }

    #[test]
    fn what_is_not_understood_has_no_value() {
        for formula in [
            "VLOOKUP(A1,A1:A3,1)", "CHOOSE(1.5,A1,A2)", "OFFSET(A1,-1,0)", "LARGE(A1:A3,9)",
            "A1:A2", "A3*2", "D1+1", "A1#", "Other!A1", "1/0", "Line[Speed]", "[1]In!A1", "A1 A2",
            "A1:INDEX(A1:A3,2)", "ROUND(2.675,2)", "SUM(A1", "2:3", "unknown_name", "",
        ] {
            assert_eq!(worth(formula), None, "{formula}");
        }
        let deep = format!("{}1{}", "(".repeat(5000), ")".repeat(5000));
        assert_eq!(worth(&deep), None);
        assert_eq!(worth(&"-".repeat(5000)), None);
    }
}
