//! Exact decimals as a number system.

use std::cmp::Ordering;
use std::sync::Arc;

use super::checked::{Checked, at};
use super::proved::{proved_integral, proved_root};
use super::{ArithmeticError, Exact, Outcome, PLACES};
use crate::diagnostic::Name;
use crate::number::preferred::series;
use crate::number::{Bound, Fault, Integrand, Possible, System};
use crate::program::{
    Between, Binary, Direction, LineId, Preferred, Ratio, Relation, Table, Unary,
};
use crate::unit::{Literal, Unit};

/// The number system of exact decimals.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Decimals;

impl System for Decimals {
    type Value = Checked;
    type Truth = Checked<bool>;

    fn literal(&self, literal: &Literal, line: LineId) -> Checked {
        at(line, Exact::from_literal(literal))
    }

    fn pi(&self) -> Checked {
        Ok(Exact::pi())
    }

    fn whole(&self, number: i64) -> Checked {
        Ok(Exact::whole(number))
    }

    fn fault(&self, fault: Fault) -> Checked {
        Err(Arc::new(fault))
    }

    fn unary(&self, function: Unary, x: &Checked, line: LineId) -> Checked {
        let x = get(x)?;
        at(
            line,
            match function {
                Unary::Negate => Ok(x.negated()),
                Unary::Absolute => Ok(x.absolute()),
                Unary::SquareRoot => x.square_root(),
                Unary::Exponential => x.exponential(),
                Unary::Logarithm => x.logarithm(),
                Unary::DecimalLogarithm => x.decimal_logarithm(),
                Unary::Sine => x.sine(),
                Unary::Cosine => x.cosine(),
                Unary::Tangent => x.tangent(),
                Unary::ArcSine => x.arc_sine(),
                Unary::ArcCosine => x.arc_cosine(),
                Unary::ArcTangent => x.arc_tangent(),
            },
        )
    }

    fn binary(&self, function: Binary, x: &Checked, y: &Checked, line: LineId) -> Checked {
        let (x, y) = (get(x)?, get(y)?);
        at(
            line,
            match function {
                Binary::Add => x.plus(y),
                Binary::Subtract => x.minus(y),
                Binary::Multiply => x.times(y),
                Binary::Divide => x.over(y),
                Binary::Least => Ok(*choose(x, y, Ordering::Less)),
                Binary::Greatest => Ok(*choose(x, y, Ordering::Greater)),
                Binary::Raise => x.raised(y),
            },
        )
    }

    fn power(&self, x: &Checked, by: Ratio, line: LineId) -> Checked {
        at(line, get(x)?.power(by))
    }

    fn compare(&self, relation: Relation, x: &Checked, y: &Checked) -> Checked<bool> {
        Ok(relation.holds(get(x)?.stands_to(get(y)?)))
    }

    fn both(&self, x: &Checked<bool>, y: &Checked<bool>) -> Checked<bool> {
        match (x, y) {
            (Ok(false), _) | (_, Ok(false)) => Ok(false),
            (Err(fault), _) | (_, Err(fault)) => Err(Arc::clone(fault)),
            (Ok(true), Ok(true)) => Ok(true),
        }
    }

    fn either(&self, x: &Checked<bool>, y: &Checked<bool>) -> Checked<bool> {
        match (x, y) {
            (Ok(true), _) | (_, Ok(true)) => Ok(true),
            (Err(fault), _) | (_, Err(fault)) => Err(Arc::clone(fault)),
            (Ok(false), Ok(false)) => Ok(false),
        }
    }

    fn not(&self, x: &Checked<bool>) -> Checked<bool> {
        x.clone().map(|truth| !truth)
    }

    fn decided(&self, truth: &Checked<bool>) -> Option<bool> {
        truth.as_ref().ok().copied()
    }

    fn truth_of_fault(&self, value: &Checked) -> Checked<bool> {
        match value {
            Err(fault) => Err(Arc::clone(fault)),
            Ok(_) => {
                Err(Arc::new(Fault::new(Name::Internal, LineId(0), "a number stands for a truth")))
            }
        }
    }

    fn select(&self, which: &Checked<bool>, x: &Checked, y: &Checked) -> Checked {
        match which {
            Ok(true) => x.clone(),
            Ok(false) => y.clone(),
            Err(fault) => Err(Arc::clone(fault)),
        }
    }

    fn round(&self, direction: Direction, x: &Checked, step: &Checked, line: LineId) -> Checked {
        at(line, rounded(get(x)?, get(step)?, direction))
    }

    fn preferred(
        &self,
        direction: Direction,
        which: Preferred,
        x: &Checked,
        line: LineId,
    ) -> Checked {
        at(line, next_preferred(get(x)?, series(which).hundredths, direction))
    }

    fn read(&self, table: &Table, x: &Checked, line: LineId) -> Checked {
        at(line, read(table, get(x)?))
    }

    fn root(
        &self,
        function: &mut dyn Integrand<Checked>,
        from: &Checked,
        to: &Checked,
        line: LineId,
    ) -> Checked {
        proved_root(function, get(from)?, get(to)?, line)
    }

    fn integral(
        &self,
        function: &mut dyn Integrand<Checked>,
        from: &Checked,
        to: &Checked,
        line: LineId,
    ) -> Checked {
        proved_integral(function, get(from)?, get(to)?, line)
    }

    fn as_bound(&self, value: &Checked) -> Option<Bound> {
        Some(match value {
            Ok(value) => Bound::of(*value),
            Err(fault) => Bound::never(Arc::clone(fault)),
        })
    }

    fn as_possible(&self, truth: &Checked<bool>) -> Option<Possible> {
        Some(match truth {
            Ok(truth) => Possible::surely(*truth),
            Err(fault) => Possible::never(Arc::clone(fault)),
        })
    }
}

fn get(value: &Checked) -> Result<&Exact, Arc<Fault>> {
    value.as_ref().map_err(Arc::clone)
}

/// The smaller or the larger; of a tie the one that is better known.
fn choose<'a>(x: &'a Exact, y: &'a Exact, wanted: Ordering) -> &'a Exact {
    match x.stands_to(y) {
        Ordering::Equal if x.relative_error_bound() <= y.relative_error_bound() => x,
        Ordering::Equal => y,
        order if order == wanted => x,
        _ => y,
    }
}

/// The multiple of a step at, above, below or nearest to a value.
fn rounded(x: &Exact, step: &Exact, direction: Direction) -> Outcome {
    if step.digits() <= 0 || step.is_like_zero() {
        return Err(ArithmeticError::new(
            Name::BadStep,
            format!("the step is {step}, it must be above zero"),
        ));
    }
    let quotient = x.over(step)?;
    // beyond 28 digits before the point every value is a multiple as far as anything is known of it
    match quotient.to_whole(direction) {
        Some(whole) => whole.times(step),
        None => Ok(*x),
    }
}

impl Exact {
    /// The whole number above, below or nearest; a value within its slack of a whole number is that one.
    pub(super) fn to_whole(self, direction: Direction) -> Option<Self> {
        if self.ten >= PLACES {
            return None;
        }
        let places = (-self.exponent()).unsigned_abs();
        let Some(unit) = 10_i128.checked_pow(places) else {
            // closer to zero than 1e-10
            let up = match direction {
                Direction::Up => self.digits() > 0 && !self.is_like_zero(),
                Direction::Down => self.digits() < 0 && !self.is_like_zero(),
                Direction::Nearest => false,
            };
            return Some(if up {
                Self::whole(i64::from(self.digits().signum() as i8))
            } else {
                Self::ZERO
            });
        };
        let whole = super::show::rounded(self.digits(), unit, self.slack, direction);
        Some(Self::settle(whole, 0, 0.0))
    }
}

/// The number of a series of preferred numbers at, above, below or nearest by ratio.
fn next_preferred(x: &Exact, decade: &[u16], direction: Direction) -> Outcome {
    if x.digits() <= 0 || x.is_like_zero() {
        let words =
            format!("a preferred number next to {x} is asked for, which needs a value above zero");
        return Err(ArithmeticError::new(Name::OutsideFunction, words));
    }
    let number = |hundredths: u16, ten: i32| Exact::settle(i128::from(hundredths), ten - 2, 0.0);
    // from the last number of the decade below to the first two of the one above
    let around = [x.ten - 1, x.ten, x.ten + 1];
    let candidates = around.iter().flat_map(|ten| decade.iter().map(|part| number(*part, *ten)));
    let mut below = None;
    let mut above = None;
    for candidate in candidates {
        match candidate.stands_to(x) {
            Ordering::Equal => return candidate.ranged(),
            Ordering::Less => below = Some(candidate),
            Ordering::Greater => {
                above = Some(candidate);
                break;
            }
        }
    }
    let (Some(below), Some(above)) = (below, above) else {
        return Err(ArithmeticError::new(Name::Internal, "a series of preferred numbers is empty"));
    };
    match direction {
        Direction::Down => below.ranged(),
        Direction::Up => above.ranged(),
        Direction::Nearest => {
            // nearest by ratio: the border is the geometric mean, which itself goes up
            let (from_below, to_above) = (x.over(&below)?, above.over(x)?);
            if from_below.stands_to(&to_above).is_lt() { below } else { above }.ranged()
        }
    }
}

/// A table read at an argument.
fn read(table: &Table, x: &Exact) -> Outcome {
    let mut rows = Vec::with_capacity(table.rows.len());
    for (argument, value) in &table.rows {
        rows.push((Exact::from_literal(argument)?, value));
    }
    let lowest = match &table.lowest {
        Some(lowest) if table.between == Between::StepUpTo => Some(Exact::from_literal(lowest)?),
        _ => None,
    };
    let (Some((first, _)), Some((last, _))) = (rows.first(), rows.last()) else {
        return Err(ArithmeticError::new(Name::Internal, "a table has no rows"));
    };
    let low = lowest.as_ref().unwrap_or(first);
    // without a lowest argument the first row of a table of upper bounds has no lower end
    let open = table.between == Between::StepUpTo && lowest.is_none();
    if (!open && x.stands_to(low).is_lt()) || x.stands_to(last).is_gt() {
        return Err(outside_table(table, x, low, last, open));
    }
    match table.between {
        Between::StepUpTo => rows
            .iter()
            .find(|(argument, _)| x.stands_to(argument).is_le())
            .map(|(_, value)| Exact::from_literal(value)),
        Between::StepFrom => rows
            .iter()
            .rev()
            .find(|(argument, _)| x.stands_to(argument).is_ge())
            .map(|(_, value)| Exact::from_literal(value)),
        Between::Straight => Some(straight(&rows, x)),
    }
    .unwrap_or_else(|| {
        Err(ArithmeticError::new(Name::Internal, "a table has no row for the value"))
    })
}

fn straight(rows: &[(Exact, &Literal)], x: &Exact) -> Outcome {
    let mut before: Option<&(Exact, &Literal)> = None;
    for row in rows {
        let (argument, value) = row;
        match (x.stands_to(argument), before) {
            (Ordering::Equal, _) => return Exact::from_literal(value),
            (Ordering::Less, Some((low, below))) => {
                let (below, above) = (Exact::from_literal(below)?, Exact::from_literal(value)?);
                let rise = above.minus(&below)?.times(&x.minus(low)?)?;
                return below.plus(&rise.over(&argument.minus(low)?)?);
            }
            _ => before = Some(row),
        }
    }
    Err(ArithmeticError::new(Name::Internal, "a table has no row for the value"))
}

fn outside_table(
    table: &Table,
    x: &Exact,
    low: &Exact,
    high: &Exact,
    open: bool,
) -> ArithmeticError {
    let unit = &table.argument_unit;
    let (x, low, high) = (to_text(x, unit), to_text(low, unit), to_text(high, unit));
    let name = &table.name;
    let words = if open {
        format!("table `{name}` is read at {x}, it ends at {high}")
    } else {
        format!("table `{name}` is read at {x}, it goes from {low} to {high}")
    };
    ArithmeticError::new(Name::OutsideTable, words)
}

fn to_text(value: &Exact, unit: &Unit) -> String {
    let number = value.in_unit(unit).unwrap_or(*value);
    if unit.symbol.is_empty() { number.to_string() } else { format!("{number} {}", unit.symbol) }
}
