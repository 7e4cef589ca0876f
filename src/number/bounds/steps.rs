//! Functions that go in steps: rounding, preferred numbers, tables.

use std::sync::Arc;

use super::interval::{down, up};
use super::slopes::{Slopes, never_falling};
use super::system::{first_fault, follow, partly, words};
use super::{Bound, Bounds, Interval};
use crate::diagnostic::Name;
use crate::number::{Checked, Decimals, Exact, Fault, System};
use crate::program::{Between, Binary, Direction, LineId, Preferred, Table};

/// Beyond this whole numbers of f64 lie more than one apart.
const WHOLE: f64 = 9e15;

impl Bounds {
    pub(super) fn rounded(
        &self,
        direction: Direction,
        x: &Bound,
        step: &Bound,
        line: LineId,
    ) -> Bound {
        let (Some(range), Some(by)) = (x.range, step.range) else { return first_fault(x, step) };
        let may = x.may.as_ref().or(step.may.as_ref());
        if let (Some(value), Some(exact)) = (x.exact, step.exact) {
            let rounded = Decimals.round(direction, &Ok(value), &Ok(exact), line);
            // at one point the value stands still, unless the step itself is followed
            let slopes = || {
                if self.smooth {
                    return x.slopes.clone();
                }
                let count = Decimals.binary(Binary::Divide, &rounded, &Ok(exact), line);
                let count = count.map_or(Interval::ALL, |count| Interval::of(&count));
                step.slopes.times(count)
            };
            return follow(rounded.clone(), may, slopes);
        }
        let bad = || {
            Fault::new(
                Name::BadStep,
                line,
                format!("the step lies {}, it must be above zero", words(step)),
            )
        };
        if by.high <= 0.0 {
            return Bound::never(Arc::new(bad()));
        }
        let positive = Interval { low: by.low.max(f64::MIN_POSITIVE), ..by };
        let quotient = range.over(positive).0.unwrap_or(Interval::ALL);
        let certain = multiples(direction, quotient).is_point();
        if let Some(relaxed) = self.relaxed_round(direction, x, step, line, certain) {
            return relaxed;
        }
        // what lies on the step already stays as it is
        if x.grid.is_some_and(|(grid, _)| step.exact == Some(grid)) {
            return Bound { may: may.cloned(), ..x.clone() };
        }
        let count = multiples(direction, quotient);
        let one = count.is_point();
        let result = count.times(positive);
        if let (true, Some(exact), true) = (one, step.exact, count.low.abs() < WHOLE) {
            let whole = Exact::from_f64(count.low).map_err(|_| Arc::new(bad()));
            let value: Checked = Decimals.binary(Binary::Multiply, &whole, &Ok(exact), line);
            return follow(value, may, || step.slopes.times(count));
        }
        let slopes = || {
            if one {
                return step.slopes.times(count);
            }
            x.slopes.map(never_falling).zip(&step.slopes, |by_x, by_step| {
                if by_step == Interval::ZERO { by_x } else { Interval::ALL }
            })
        };
        self.rough.set(true);
        let grid = step.exact.map(|step| self.grid(step));
        let rounded = partly(Some(result), by.low <= 0.0, &[x, step], bad, slopes);
        Bound { grid, ..self.centred(rounded, || None) }
    }

    /// The step of a sum or a difference of two values that are multiples of one step.
    pub(super) fn grid_of_both(&self, x: &Bound, y: &Bound) -> Option<(Exact, u64)> {
        let (step, _) = x.grid.or(y.grid)?;
        let lies_on_it = |bound: &Bound| match (bound.grid, bound.exact) {
            (Some((other, _)), _) => other == step,
            (None, Some(exact)) => {
                let down = Direction::Down;
                Decimals.round(down, &Ok(exact), &Ok(step), LineId(0)) == Ok(exact)
            }
            (None, None) => false,
        };
        (lies_on_it(x) && lies_on_it(y)).then(|| self.grid(step))
    }

    /// A step, and a value on it that equals no other.
    fn grid(&self, step: Exact) -> (Exact, u64) {
        self.grids.set(self.grids.get() + 1);
        (step, self.grids.get())
    }

    pub(super) fn next_preferred(
        &self,
        direction: Direction,
        series: Preferred,
        x: &Bound,
        line: LineId,
    ) -> Bound {
        let Some(range) = x.range else { return x.clone() };
        let at = |value: Checked| Decimals.preferred(direction, series, &value, line);
        if let Some(exact) = x.exact {
            let slopes = || if self.smooth { x.slopes.clone() } else { Slopes::default() };
            return follow(at(Ok(exact)), x.may.as_ref(), slopes);
        }
        let fault = || {
            let words = format!(
                "a preferred number is asked next to a value {}, which must be above zero",
                words(x)
            );
            Fault::new(Name::OutsideFunction, line, words)
        };
        if range.high <= 0.0 {
            return Bound::never(Arc::new(fault()));
        }
        let partial = range.low <= 0.0;
        let decimal = |end: f64| Exact::from_f64(end).map_err(|_| Arc::new(fault()));
        let high = at(decimal(up(range.high)));
        let low = if partial { Ok(Exact::ZERO) } else { at(decimal(down(range.low))) };
        let slopes = || x.slopes.map(never_falling);
        match (low, high) {
            (Ok(low), Ok(high)) if low == high => follow(Ok(low), x.may.as_ref(), Slopes::default),
            (low, high) => {
                self.rough.set(true);
                let low = low.map_or(0.0, |low| Interval::of(&low).low);
                let high = high.map_or(f64::INFINITY, |high| Interval::of(&high).high);
                partly(Some(Interval::new(low, high)), partial, &[x], fault, slopes)
            }
        }
    }

    pub(super) fn read_table(&self, table: &Table, x: &Bound, line: LineId) -> Bound {
        let Some(range) = x.range else { return x.clone() };
        let rows: Vec<(Interval, Interval)> = table
            .rows
            .iter()
            .map(|(argument, value)| (Interval::of_literal(argument), Interval::of_literal(value)))
            .collect();
        if let Some(exact) = x.exact {
            let value = Decimals.read(table, &Ok(exact), line);
            return follow(value, x.may.as_ref(), || match table.between {
                Between::Straight => straight(&rows, range)
                    .map_or_else(Slopes::default, |(_, slope)| x.slopes.times(slope)),
                Between::StepFrom | Between::StepUpTo => Slopes::default(),
            });
        }
        let (Some(first), Some(last)) = (rows.first(), rows.last()) else {
            return Bound::never(Arc::new(Fault::new(Name::Internal, line, "a table has no rows")));
        };
        let lowest = match (&table.lowest, table.between) {
            (Some(lowest), Between::StepUpTo) => Interval::of_literal(lowest),
            (None, Between::StepUpTo) => Interval::point(f64::NEG_INFINITY),
            _ => first.0,
        };
        let fault = || {
            let unit = &table.argument_unit;
            let end = |end: f64| {
                Exact::from_f64(end)
                    .map_or_else(|_| end.to_string(), |end| crate::number::show(&end, unit))
            };
            let words = format!(
                "table `{}` is read between {} and {}, it goes from {} to {}",
                table.name,
                end(range.low),
                end(range.high),
                end(lowest.low),
                end(last.0.high)
            );
            Fault::new(Name::OutsideTable, line, words)
        };
        // surely inside only where no rounding can put it outside; an end hit exactly is the exact way
        let partial = range.low < lowest.high && !(range.low == lowest.low && lowest.is_point())
            || range.high > last.0.low && !(range.high == last.0.high && last.0.is_point());
        if range.high < lowest.low || range.low > last.0.high {
            return partly(None, true, &[x], fault, Slopes::default);
        }
        match table.between {
            Between::Straight => {
                let inside = Interval::new(range.low.max(lowest.low), range.high.min(last.0.high));
                let found = straight(&rows, inside);
                let corner = |(row, _): &(Interval, Interval)| {
                    row.high > inside.low && row.low < inside.high
                };
                if rows.iter().any(corner) {
                    self.rough.set(true);
                }
                let (value, slope) = found.unwrap_or((Interval::ALL, Interval::ALL));
                let found = partly(Some(value), partial, &[x], fault, || x.slopes.times(slope));
                let found = self.centred(found, || {
                    let at = x.at_centre().filter(|_| !partial)?;
                    straight(&rows, at).map(|(value, _)| value)
                });
                self.formed(found.clone(), |relaxed| Self::form_of_slopes(relaxed, &found))
            }
            Between::StepFrom | Between::StepUpTo => {
                let up_to = table.between == Between::StepUpTo;
                let touched = rows.iter().enumerate().filter(|(at, (argument, _))| {
                    if up_to {
                        let before = at.checked_sub(1).and_then(|at| rows.get(at));
                        range.low <= argument.high
                            && before.is_none_or(|(before, _)| range.high > before.low)
                    } else {
                        let next = rows.get(at + 1);
                        range.high >= argument.low
                            && next.is_none_or(|(next, _)| range.low < next.high)
                    }
                });
                let touched: Vec<(usize, Interval)> =
                    touched.map(|(at, (_, value))| (at, *value)).collect();
                if let ([(only, _)], false) = (touched.as_slice(), partial)
                    && let Some((_, value)) = table.rows.get(*only)
                {
                    return follow(Decimals.literal(value, line), x.may.as_ref(), Slopes::default);
                }
                self.rough.set(true);
                let value = touched.iter().map(|(_, value)| *value).reduce(Interval::hull);
                let rises = touched
                    .iter()
                    .zip(touched.iter().skip(1))
                    .all(|(a, b)| b.1.low >= a.1.low && b.1.high >= a.1.high);
                let falls = touched
                    .iter()
                    .zip(touched.iter().skip(1))
                    .all(|(a, b)| b.1.low <= a.1.low && b.1.high <= a.1.high);
                partly(value, partial, &[x], fault, || match (rises, falls) {
                    (true, true) => x.slopes.map(|_| Interval::ZERO),
                    (true, false) => x.slopes.map(never_falling),
                    (false, true) => x.slopes.map(|slope| never_falling(slope.negated())),
                    (false, false) => x.slopes.map(|_| Interval::ALL),
                })
            }
        }
    }
}

/// Which multiples of the step values are rounded to.
fn multiples(direction: Direction, quotient: Interval) -> Interval {
    let to_whole = |q: f64, outward: f64| match direction {
        _ if q.abs() > WHOLE => q + outward,
        Direction::Up => q.ceil(),
        Direction::Down => q.floor(),
        // half goes away from zero
        Direction::Nearest => q.round(),
    };
    Interval::new(to_whole(quotient.low, -1.0), to_whole(quotient.high, 1.0))
}

/// Range and slope of straight lines between rows over an interval inside them.
fn straight(rows: &[(Interval, Interval)], x: Interval) -> Option<(Interval, Interval)> {
    let mut found: Option<(Interval, Interval)> = None;
    for ((from, below), (to, above)) in rows.iter().zip(rows.iter().skip(1)) {
        if x.high < from.low || x.low > to.high {
            continue;
        }
        let slope = above.minus(*below).over(to.minus(*from)).0?;
        let part = Interval::new(x.low.max(from.low), x.high.min(to.high));
        let value = below.plus(slope.times(part.minus(*from))).meet(below.hull(*above));
        found = Some(match found {
            None => (value, slope),
            Some((range, slopes)) => (range.hull(value), slopes.hull(slope)),
        });
    }
    // a table of one row holds at its own argument alone
    found.or_else(|| rows.first().map(|(_, value)| (*value, Interval::ZERO)))
}
