//! Functions that round, and those that look something up. Where programs may differ, such as one rounding away from a
//! step, there is no value.

use super::value::{At, Look, Node, Value, compared, power};
use crate::spreadsheet::model::book::Tab;
use crate::spreadsheet::model::position::{Area, Position};

impl<'a> Look<'a> {
    /// What a function that rounds gives, and other functions of one number.
    pub(super) fn rounded(&mut self, name: &str, arguments: &[Node], at: At<'a>) -> Option<Value> {
        let mut numbers = Vec::new();
        match (name, arguments) {
            // what an error would take in its place is not reached: an error has no value here
            ("IFERROR", [of, _]) => return self.value(of, at),
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
            ("CEILING" | "FLOOR" | "MROUND", [of, step]) if *of >= 0.0 && *step > 0.0 => {
                let steps = of / step;
                match name {
                    "CEILING" => settled(steps)?.ceil() * step,
                    "FLOOR" => settled(steps)?.floor() * step,
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
            ("MATCH", [key, of, Node::Value(Value::Number(0.0) | Value::Truth(false))]) => {
                let cells = self.line(of, at)?;
                let found = self.found(key, &cells, at)?;
                u32::try_from(found + 1).ok().map(|it| Value::Number(f64::from(it)))
            }
            (
                "VLOOKUP" | "HLOOKUP",
                [key, of, index, Node::Value(Value::Number(0.0) | Value::Truth(false))],
            ) => {
                let (tab, area) = self.area(of, at)?;
                let index = self.index(index, at)?;
                let mut first = area;
                match name {
                    "VLOOKUP" => first.last.column = first.first.column,
                    _ => first.last.row = first.first.row,
                }
                let cells = cells_of(tab, first)?;
                let found = u32::try_from(self.found(key, &cells, at)?).ok()? + 1;
                match name {
                    "VLOOKUP" => self.inside(tab, area, found, index, at),
                    _ => self.inside(tab, area, index, found, at),
                }
            }
            ("XLOOKUP" | "_XLFN.XLOOKUP", [key, of, from]) => {
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
            ("SUMIF", [of, condition, rest @ ..]) if rest.len() <= 1 => {
                let condition = self.value(condition, at)?;
                let (tests, cells) =
                    (self.line(of, at)?, self.line(rest.first().unwrap_or(of), at)?);
                if tests.len() != cells.len() {
                    return None;
                }
                let mut sum = 0.0;
                for ((of, test), (tab, cell)) in tests.into_iter().zip(cells) {
                    let value = self.cell(of, test, at.depth)?;
                    if holds(&value, &condition)?
                        && let Value::Number(number) = self.cell(tab, cell, at.depth)?
                    {
                        sum += number;
                    }
                }
                Value::Number(sum).filter_finite()
            }
            _ => None,
        }
    }

    fn index(&mut self, node: &Node, at: At<'a>) -> Option<u32> {
        let number = self.number(node, at)?;
        let whole =
            (number.fract() == 0.0 && (1.0..=1_048_576.0).contains(&number)).then_some(number)?;
        format!("{whole}").parse().ok()
    }

    /// The cells of one row or of one column.
    fn line(&self, node: &Node, at: At<'a>) -> Option<Vec<(&'a Tab, Position)>> {
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
        self.landed = Some((tab, cell));
        value
    }

    /// Where a key stands for the first time; none where it holds signs for any letters.
    fn found(&mut self, key: &Node, cells: &[(&'a Tab, Position)], at: At<'a>) -> Option<usize> {
        let key = self.value(key, at)?;
        if matches!(&key, Value::Text(text) if text.contains(['*', '?', '~'])) {
            return None;
        }
        for (count, (tab, cell)) in cells.iter().enumerate() {
            let value = self.cell(tab, *cell, at.depth)?;
            let alike = std::mem::discriminant(&value) == std::mem::discriminant(&key);
            if alike && compared("=", &value, &key)? {
                return Some(count);
            }
        }
        None
    }

    /// The numbers of an area, zero for what is none.
    fn numbers_in(&mut self, node: &Node, at: At<'a>) -> Option<Vec<f64>> {
        let (tab, area) = self.area(node, at)?;
        let mut numbers = Vec::new();
        for (tab, cell) in cells_of(tab, area)? {
            numbers.push(match self.cell(tab, cell, at.depth)? {
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
fn cells_of(tab: &Tab, area: Area) -> Option<Vec<(&Tab, Position)>> {
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
fn holds(value: &Value, condition: &Value) -> Option<bool> {
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
