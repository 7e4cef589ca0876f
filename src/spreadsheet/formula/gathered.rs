//! Functions that take many cells: all of an area, or those that fulfil conditions.

use super::catalogue::among;
use super::functions::{cells_of, holds};
use super::value::{At, Look, Node, Value};

/// Functions of the numbers in areas.
const OF_AREAS: &str = "SUM PRODUCT AVERAGE MIN MAX COUNT MEDIAN LARGE SMALL SUMSQ STDEV STDEV.S STDEV.P STDEVP \
    VAR VAR.S VAR.P VARP";

/// What such a function gives; for `LARGE` and `SMALL` with which of them is wanted.
fn of_all(name: &str, mut numbers: Vec<f64>, which: Option<f64>) -> Option<f64> {
    let count = u32::try_from(numbers.len()).ok().map(f64::from)?;
    let sum = |numbers: &[f64]| numbers.iter().sum::<f64>();
    numbers_in_order(name, &mut numbers);
    Some(match name {
        "SUM" => sum(&numbers),
        "COUNT" => count,
        _ if numbers.is_empty() => return None,
        "PRODUCT" => numbers.iter().product(),
        "AVERAGE" => sum(&numbers) / count,
        "SUMSQ" => numbers.iter().map(|it| it * it).sum(),
        "MEDIAN" => {
            let middle = numbers.len() / 2;
            let upper = numbers.get(middle).copied()?;
            match numbers.len() % 2 {
                1 => upper,
                _ => f64::midpoint(*numbers.get(middle.checked_sub(1)?)?, upper),
            }
        }
        "MIN" => *numbers.first()?,
        "MAX" => *numbers.last()?,
        "LARGE" | "SMALL" => {
            let which = which.filter(|it| it.fract() == 0.0 && (1.0..=count).contains(it))?;
            let index: usize = format!("{which}").parse().ok()?;
            *numbers.get(if name == "SMALL" { index - 1 } else { numbers.len() - index })?
        }
        _ => {
            let mean = sum(&numbers) / count;
            let squares: f64 = numbers.iter().map(|it| (it - mean) * (it - mean)).sum();
            let of_all = name.ends_with('P');
            let variance = squares / if of_all { count } else { count - 1.0 };
            if name.starts_with("VAR") { variance } else { variance.sqrt() }
        }
    })
}

fn numbers_in_order(name: &str, numbers: &mut [f64]) {
    if matches!(name, "MEDIAN" | "MIN" | "MAX" | "LARGE" | "SMALL") {
        numbers.sort_by(f64::total_cmp);
    }
}

impl<'a> Look<'a> {
    /// What a function gives of the numbers in areas.
    pub(super) fn of_areas(&mut self, name: &str, arguments: &[Node], at: At<'a>) -> Option<Value> {
        if !among(OF_AREAS, name) {
            return None;
        }
        let (areas, which) = match (name, arguments) {
            ("LARGE" | "SMALL", [of, which]) => {
                (std::slice::from_ref(of), Some(self.number(which, at)?))
            }
            ("LARGE" | "SMALL", _) => return None,
            _ => (arguments, None),
        };
        let mut numbers = Vec::new();
        for argument in areas {
            self.many(argument, at, &mut numbers)?;
        }
        let found = of_all(name, numbers, which)?;
        found.is_finite().then_some(Value::Number(found))
    }

    /// What is gathered of the cells that fulfil conditions.
    pub(super) fn on_conditions(
        &mut self,
        name: &str,
        arguments: &[Node],
        at: At<'a>,
    ) -> Option<Value> {
        let (gathered, conditions) = match (name, arguments) {
            ("COUNTA", [of]) => {
                let (tab, area) = self.area(of, at)?;
                let cells = cells_of(tab, area)?.into_iter().filter(|(tab, cell)| {
                    tab.entry(*cell).is_some_and(|it| it.formula || !it.held().is_empty())
                });
                let count = u32::try_from(cells.count()).ok()?;
                return Some(Value::Number(f64::from(count)));
            }
            ("SUMIFS" | "AVERAGEIFS" | "MAXIFS" | "MINIFS", [first, rest @ ..]) => {
                (Some(first), rest)
            }
            ("SUMIF" | "AVERAGEIF", [of, _]) => (Some(of), arguments),
            ("SUMIF" | "AVERAGEIF", [_, _, of]) => (Some(of), arguments.get(..2)?),
            ("COUNTIF" | "COUNTIFS", _) => (None, arguments),
            _ => return None,
        };
        let mut chosen: Option<Vec<bool>> = None;
        for pair in conditions.chunks(2) {
            let [of, condition] = pair else { return None };
            let condition = self.value(condition, at)?;
            let mut here = Vec::new();
            for (tab, cell) in self.line(of, at)? {
                here.push(holds(&self.key(tab, cell, at)?, &condition)?);
            }
            chosen = Some(match chosen {
                None => here,
                Some(before) if before.len() == here.len() => {
                    before.into_iter().zip(here).map(|(one, other)| one && other).collect()
                }
                Some(_) => return None,
            });
        }
        let chosen = chosen?;
        let Some(gathered) = gathered else {
            let count = chosen.iter().filter(|it| **it).count();
            return u32::try_from(count).ok().map(|it| Value::Number(f64::from(it)));
        };
        let cells = self.line(gathered, at)?;
        if cells.len() != chosen.len() {
            return None;
        }
        let mut numbers = Vec::new();
        let mut landed = Vec::new();
        for ((tab, cell), _) in cells.into_iter().zip(chosen).filter(|(_, chosen)| *chosen) {
            landed.push((tab, cell));
            if let Value::Number(number) = self.key(tab, cell, at)? {
                self.sized(number);
                numbers.push(number);
            }
        }
        self.landed = landed;
        let name = name.trim_end_matches('S').trim_end_matches("IF");
        let none = numbers.is_empty() && matches!(name, "MAX" | "MIN");
        let found = if none { 0.0 } else { of_all(name, numbers, None)? };
        found.is_finite().then_some(Value::Number(found))
    }
}
