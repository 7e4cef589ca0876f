//! Functions of single numbers, those that choose, and those that look something up. Where programs may differ, such as one rounding away from a
//! step, there is no value.

use super::value::{At, Look, Node, Reader, Value, compared, power};
use crate::elementary;
use crate::spreadsheet::model::book::Tab;
use crate::spreadsheet::model::position::{Area, Position};

impl<'a> Look<'a> {
    /// What a function gives that takes the one or the other of its arguments.
    pub(super) fn chosen(&mut self, name: &str, arguments: &[Node], at: At<'a>) -> Option<Value> {
        match (name, arguments) {
            ("CHOOSE", [index, choices @ ..]) => {
                let index = self.index(index, at)?;
                self.value(choices.get(usize::try_from(index.checked_sub(1)?).ok()?)?, at)
            }
            ("IFS", _) => {
                for pair in arguments.chunks(2) {
                    let [condition, value] = pair else { return None };
                    if self.truth(condition, at)? {
                        return self.value(value, at);
                    }
                }
                None
            }
            ("SWITCH", [of, cases @ ..]) => {
                let of = self.value(of, at)?;
                for pair in cases.chunks(2) {
                    let [case, value] = pair else { return self.value(pair.first()?, at) };
                    let case = self.value(case, at)?;
                    let alike = std::mem::discriminant(&case) == std::mem::discriminant(&of);
                    if alike && compared("=", &of, &case)? {
                        return self.value(value, at);
                    }
                }
                None
            }
            ("LEFT", [of, many]) => {
                let Value::Text(of) = self.value(of, at)? else { return None };
                let many = self.index(many, at)?;
                Some(Value::Text(of.chars().take(usize::try_from(many).ok()?).collect()))
            }
            ("INDIRECT", [Node::Value(Value::Text(text))]) => {
                self.value(&Reader::new(text).whole()?, At { moved: (0, 0), ..at })
            }
            ("OFFSET", [of, by @ ..]) => {
                let (tab, cell) = self.offset(of, by, at)?;
                self.cell(tab, cell, at.depth)
            }
            _ => None,
        }
    }

    /// The one cell to which an offset of known steps leads.
    pub(super) fn offset(
        &mut self,
        of: &Node,
        by: &[Node],
        at: At<'a>,
    ) -> Option<(&'a Tab, Position)> {
        let (tab, area) = self.area(of, at)?;
        let [rows, columns] = by else { return None };
        let moved = |from: u32, by: f64| {
            let whole = (by.fract() == 0.0 && by.abs() < 2e6).then(|| format!("{by}"))?;
            u32::try_from(i64::from(from) + whole.parse::<i64>().ok()?).ok()
        };
        let row = moved(area.first.row, self.number(rows, at)?)?;
        let column = moved(area.first.column, self.number(columns, at)?)?;
        area.is_single().then(|| Some((tab, Position::new(row, column)?)))?
    }

    /// What a function that rounds gives, and other functions of one number.
    pub(super) fn rounded(&mut self, name: &str, arguments: &[Node], at: At<'a>) -> Option<Value> {
        let mut numbers = Vec::new();
        match (name, arguments) {
            ("IFERROR" | "IFNA", [of, otherwise]) => {
                let value = self.value(of, at);
                let fails = value.is_none() && self.fails(of, at);
                return if fails { self.value(otherwise, at) } else { value };
            }
            ("VALUE" | "N", [of]) => {
                return match self.value(of, at)? {
                    Value::Text(text) if name == "VALUE" => plain(&text).map(Value::Number),
                    Value::Text(_) => Some(Value::Number(0.0)),
                    other => Some(other),
                };
            }
            _ => {}
        }
        for argument in arguments {
            numbers.push(self.number(argument, at)?);
        }
        let found = match (name, numbers.as_slice()) {
            ("INT", [of]) => settled(*of)?.floor(),
            ("TRUNC" | "ROUNDDOWN", [of]) => settled(*of)?.trunc(),
            ("TRUNC" | "ROUNDDOWN" | "ROUNDUP", [of, digits]) => {
                let ten = power(10.0, *digits)?;
                let scaled = settled(of * ten)?;
                let whole = if name == "ROUNDUP" { away(scaled) } else { scaled.trunc() };
                whole / ten
            }
            ("EXP", [of]) => elementary::exponential(*of),
            ("LN", [of]) => elementary::logarithm(*of),
            ("LOG" | "LOG10", [of]) => elementary::decimal_logarithm(*of),
            ("LOG", [of, base]) => elementary::logarithm(*of) / elementary::logarithm(*base),
            ("SIN", [of]) => elementary::sine(*of),
            ("COS", [of]) => elementary::cosine(*of),
            ("TAN", [of]) => elementary::tangent(*of),
            ("ASIN", [of]) => elementary::arc_sine(*of),
            ("ACOS", [of]) => elementary::arc_cosine(*of),
            ("ATAN", [of]) => elementary::arc_tangent(*of),
            ("SIGN", [of]) if *of == 0.0 => 0.0,
            ("SIGN", [of]) => of.signum(),
            ("MOD", [of, by]) => of - by * settled(of / by)?.floor(),
            ("QUOTIENT", [of, by]) => settled(of / by)?.trunc(),
            ("CEILING.MATH" | "FLOOR.MATH", [of]) if *of >= 0.0 => match name {
                "CEILING.MATH" => settled(*of)?.ceil(),
                _ => settled(*of)?.floor(),
            },
            ("CEILING" | "CEILING.MATH" | "FLOOR" | "FLOOR.MATH" | "MROUND", [of, step])
                if *of >= 0.0 && *step > 0.0 =>
            {
                let steps = of / step;
                match name {
                    "CEILING" | "CEILING.MATH" => settled(steps)?.ceil() * step,
                    "FLOOR" | "FLOOR.MATH" => settled(steps)?.floor() * step,
                    _ if (steps.fract() - 0.5).abs() < 1e-6 => return None,
                    _ => steps.round() * step,
                }
            }
            _ => return None,
        };
        found.is_finite().then_some(Value::Number(found))
    }

    /// What a function takes out of cells by a position, a key or a condition.
    pub(super) fn looked_up(
        &mut self,
        name: &str,
        arguments: &[Node],
        at: At<'a>,
    ) -> Option<Value> {
        match (name, arguments) {
            ("INDEX", [of, row]) => {
                let cells = self.line(of, at)?;
                let index = self.index(row, at)?;
                self.one_of(&cells, index, at)
            }
            ("INDEX", [of, row, column]) => {
                let (tab, area) = self.area(of, at)?;
                let (row, column) = (self.index(row, at)?, self.index(column, at)?);
                self.inside(tab, area, row, column, at)
            }
            ("MATCH", [key, of, way @ ..]) => {
                let cells = self.line(of, at)?;
                let found = self.found_by(key, &cells, way, at)?;
                u32::try_from(found + 1).ok().map(|it| Value::Number(f64::from(it)))
            }
            ("VLOOKUP" | "HLOOKUP", [key, of, index, way @ ..]) => {
                let (tab, area) = self.area(of, at)?;
                let index = self.index(index, at)?;
                let mut first = area;
                match name {
                    "VLOOKUP" => first.last.column = first.first.column,
                    _ => first.last.row = first.first.row,
                }
                let cells = cells_of(tab, first)?;
                let found = u32::try_from(self.found_by(key, &cells, way, at)?).ok()? + 1;
                match name {
                    "VLOOKUP" => self.inside(tab, area, found, index, at),
                    _ => self.inside(tab, area, index, found, at),
                }
            }
            ("LOOKUP", [key, of, from]) => {
                let (of, from) = (self.line(of, at)?, self.line(from, at)?);
                let found = u32::try_from(self.found_by(key, &of, &[], at)?).ok()? + 1;
                (of.len() == from.len()).then(|| self.one_of(&from, found, at))?
            }
            ("XLOOKUP", [key, of, from] | [key, of, from, _]) => {
                let (of, from) = (self.line(of, at)?, self.line(from, at)?);
                let found = u32::try_from(self.found(key, &of, at)?).ok()? + 1;
                (of.len() == from.len()).then(|| self.one_of(&from, found, at))?
            }
            ("SUMPRODUCT", [first, rest @ ..]) => {
                let mut products = self.numbers_in(first, at)?;
                for other in rest {
                    let numbers = self.numbers_in(other, at)?;
                    if numbers.len() != products.len() {
                        return None;
                    }
                    products.iter_mut().zip(numbers).for_each(|(one, other)| *one *= other);
                }
                Some(Value::Number(products.iter().sum::<f64>()).filter_finite()?)
            }
            _ => None,
        }
    }

    /// Whether a formula surely gives an error: a division by zero, a key that is not there.
    pub(super) fn fails(&mut self, node: &Node, at: At<'a>) -> bool {
        match node {
            Node::Negative(of) | Node::Percent(of) => self.fails(of, at),
            Node::Binary(sign, one, other) => {
                *sign == "/" && self.number(other, at) == Some(0.0)
                    || self.fails(one, at)
                    || self.fails(other, at)
            }
            Node::Call(name, arguments) => {
                let exact = |way: &Node| {
                    matches!(way, Node::Value(Value::Number(0.0) | Value::Truth(false)))
                };
                let (key, cells) = match (name.trim_start_matches("_XLFN."), arguments.as_slice()) {
                    ("MATCH", [key, of, way]) if exact(way) => (key, self.line(of, at)),
                    ("XLOOKUP", [key, of, _]) => (key, self.line(of, at)),
                    ("VLOOKUP", [key, of, _, way]) if exact(way) => {
                        let keys = self.area(of, at).and_then(|(tab, mut area)| {
                            area.last.column = area.first.column;
                            cells_of(tab, area)
                        });
                        (key, keys)
                    }
                    _ => return false,
                };
                cells.is_some_and(|cells| self.place_of(key, &cells, at) == Some(None))
            }
            _ => false,
        }
    }

    fn index(&mut self, node: &Node, at: At<'a>) -> Option<u32> {
        let number = self.number(node, at)?;
        let whole =
            (number.fract() == 0.0 && (1.0..=1_048_576.0).contains(&number)).then_some(number)?;
        format!("{whole}").parse().ok()
    }

    /// The cells of one row or of one column.
    pub(super) fn line(&self, node: &Node, at: At<'a>) -> Option<Vec<(&'a Tab, Position)>> {
        let (tab, area) = self.area(node, at)?;
        let one = area.first.row == area.last.row || area.first.column == area.last.column;
        one.then(|| cells_of(tab, area))?
    }

    fn one_of(&mut self, cells: &[(&'a Tab, Position)], index: u32, at: At<'a>) -> Option<Value> {
        let (tab, cell) = cells.get(usize::try_from(index.checked_sub(1)?).ok()?)?;
        self.taken(tab, *cell, at)
    }

    /// The cell in a row and a column of an area, counted from one.
    fn inside(
        &mut self,
        tab: &'a Tab,
        area: Area,
        row: u32,
        column: u32,
        at: At<'a>,
    ) -> Option<Value> {
        let cell = Position::new(area.first.row + row - 1, area.first.column + column - 1)?;
        if !area.contains(cell) {
            return None;
        }
        self.taken(tab, cell, at)
    }

    fn taken(&mut self, tab: &'a Tab, cell: Position, at: At<'a>) -> Option<Value> {
        let value = self.cell(tab, cell, at.depth);
        self.landed = vec![(tab, cell)];
        value
    }

    /// A cell that is only compared: an empty one among them is none that is still to be filled.
    pub(super) fn key(&mut self, tab: &'a Tab, cell: Position, at: At<'a>) -> Option<Value> {
        let before = self.of_empty;
        let value = self.cell(tab, cell, at.depth);
        self.of_empty = before;
        value
    }

    /// Where a key stands, exactly or, where the last argument asks for no more, as the last of rising numbers that is not
    /// above it.
    fn found_by(
        &mut self,
        key: &Node,
        cells: &[(&'a Tab, Position)],
        way: &[Node],
        at: At<'a>,
    ) -> Option<usize> {
        match way {
            [Node::Value(Value::Number(0.0) | Value::Truth(false))] => self.found(key, cells, at),
            [] | [Node::Value(Value::Number(1.0) | Value::Truth(true))] => {
                let key = self.number(key, at)?;
                let (mut last, mut found, mut ended) = (f64::NEG_INFINITY, None, false);
                for (count, (tab, cell)) in cells.iter().enumerate() {
                    match self.key(tab, *cell, at)? {
                        Value::Empty => ended = true,
                        Value::Number(number) if number > last && !ended => {
                            last = number;
                            if compared("<=", &Value::Number(number), &Value::Number(key))? {
                                found = Some(count);
                            }
                        }
                        _ => return None,
                    }
                }
                found
            }
            _ => None,
        }
    }

    fn found(&mut self, key: &Node, cells: &[(&'a Tab, Position)], at: At<'a>) -> Option<usize> {
        self.place_of(key, cells, at)?
    }

    /// Where a key stands for the first time, if it does; none where that is not known, as where it holds signs for any
    /// letters.
    fn place_of(
        &mut self,
        key: &Node,
        cells: &[(&'a Tab, Position)],
        at: At<'a>,
    ) -> Option<Option<usize>> {
        let key = self.value(key, at)?;
        if matches!(&key, Value::Text(text) if text.contains(['*', '?', '~'])) {
            return None;
        }
        for (count, (tab, cell)) in cells.iter().enumerate() {
            let value = self.key(tab, *cell, at)?;
            let alike = std::mem::discriminant(&value) == std::mem::discriminant(&key);
            if alike && compared("=", &value, &key)? {
                return Some(Some(count));
            }
        }
        Some(None)
    }

    /// The numbers of an area, zero for what is none.
    fn numbers_in(&mut self, node: &Node, at: At<'a>) -> Option<Vec<f64>> {
        let (tab, area) = self.area(node, at)?;
        let mut numbers = Vec::new();
        for (tab, cell) in cells_of(tab, area)? {
            numbers.push(match self.key(tab, cell, at)? {
                Value::Number(number) => number,
                _ => 0.0,
            });
        }
        Some(numbers)
    }
}

impl Value {
    fn filter_finite(self) -> Option<Self> {
        match self {
            Self::Number(number) if !number.is_finite() => None,
            other => Some(other),
        }
    }
}

/// Cells of an area row by row, as far as the tab is used; none for very many.
pub(super) fn cells_of(tab: &Tab, area: Area) -> Option<Vec<(&Tab, Position)>> {
    let last = area.last.row.min(tab.used().map_or(0, |used| used.last.row).max(area.first.row));
    let columns = u64::from(area.last.column - area.first.column + 1);
    let count = columns * u64::from(last - area.first.row + 1);
    if count > 2_000 {
        return None;
    }
    let mut cells = Vec::new();
    for row in area.first.row..=last {
        for column in area.first.column..=area.last.column {
            cells.push((tab, Position::new(row, column)?));
        }
    }
    Some(cells)
}

/// A number that is surely on its side of the next whole one; none where rounding on the way decides it.
fn settled(number: f64) -> Option<f64> {
    let near = (number - number.round()).abs() <= 1e-9 * number.abs().max(1.0);
    (number == number.round() || !near).then_some(number)
}

fn away(number: f64) -> f64 {
    if number < 0.0 { number.floor() } else { number.ceil() }
}

/// A number in plain digits, as every program reads it.
fn plain(text: &str) -> Option<f64> {
    let text = text.trim();
    let digits = text.chars().all(|sign| sign.is_ascii_digit() || sign == '.');
    (digits && !text.is_empty()).then(|| text.parse().ok())?
}

/// Whether a value fulfils a condition such as `">0"` or `"motor"`; none for signs that stand for any letters.
pub(super) fn holds(value: &Value, condition: &Value) -> Option<bool> {
    let Value::Text(text) = condition else {
        let alike = std::mem::discriminant(value) == std::mem::discriminant(condition);
        return if alike { compared("=", value, condition) } else { Some(false) };
    };
    if text.contains(['*', '?', '~']) {
        return None;
    }
    let signs = ["<=", ">=", "<>", "=", "<", ">"];
    let sign = signs.into_iter().find(|sign| text.starts_with(sign)).unwrap_or("=");
    let rest = text.strip_prefix(sign).unwrap_or(text);
    let other = plain(rest).map_or_else(|| Value::Text(rest.to_owned()), Value::Number);
    let alike = std::mem::discriminant(value) == std::mem::discriminant(&other);
    if alike { compared(sign, value, &other) } else { Some(sign == "<>") }
}
