//! What is decided in steps: multiples, preferred numbers, tables.

use super::span::Span;
use super::system::{any_pair, found};
use super::{ColumnSystem, Converted, LOSS, ROUNDING, Rows, Vector};
use crate::elementary;
use crate::number::preferred::series;
use crate::program::{Between, Direction, Preferred, Table};

impl ColumnSystem<'_> {
    pub(super) fn to_multiple(&self, direction: Direction, x: &Vector, step: &Vector) -> Vector {
        let one_step = match step.rows {
            Rows::Same(step) => Some(step),
            Rows::Each(_) => None,
        };
        if one_step.is_some() && x.step == one_step {
            return x.clone();
        }
        let slack = 2.0 * (x.error + step.error + ROUNDING);
        let quotients = x.span.over(step.span);
        // one bound for all rows, so that it is quick
        let reach = slack * quotients.most();
        let small = quotients.most() < MIDDLE / 4.0;
        let parts = self.zip(&x.rows, &step.rows, |value, step| value / step);
        let apart = |quotient: f64| {
            let part = (quotient - nearest(quotient)).abs();
            if direction == Direction::Nearest { 0.5 - part } else { part }
        };
        let is_near = |quotient: f64| apart(quotient) <= reach;
        let near = !small || any_pair(&parts, &Rows::Same(0.0), |quotient, _| is_near(quotient));
        let wholes = match direction {
            _ if !small => self.map(&parts, |quotient| whole_beside(direction, quotient)),
            Direction::Up => self.map(&parts, |quotient| {
                let nearest = nearest(quotient);
                if nearest < quotient { nearest + 1.0 } else { nearest }
            }),
            Direction::Down => self.map(&parts, |quotient| {
                let nearest = nearest(quotient);
                if nearest > quotient { nearest - 1.0 } else { nearest }
            }),
            Direction::Nearest => self.map(&parts, nearest),
        };
        let mut rows =
            self.zip(
                &wholes,
                &step.rows,
                |whole, step| {
                    if step > 0.0 { whole * step } else { f64::NAN }
                },
            );
        if near {
            let sure = x.exact && step.exact;
            let close = |quotient: f64, _| is_near(quotient) || !small;
            for row in found(&parts, &Rows::Same(0.0), close) {
                let (value, by) = (x.at(row.unwrap_or(0)), step.at(row.unwrap_or(0)));
                let quotient = value / by;
                let multiple = whole_beside(direction, quotient);
                if sure && quotient.round() * by == value {
                    rows.set(row, if by > 0.0 { value } else { f64::NAN });
                } else if !(x.true_zero && value == 0.0)
                    && apart_from_next(direction, quotient, multiple)
                        <= 2.0 * (x.error_at(row) + step.error + ROUNDING) * quotient.abs()
                {
                    self.doubt(row);
                }
            }
        }
        self.reuse(parts);
        self.reuse(wholes);
        let span = span_of_multiples(direction, x.span, step.span);
        let (rows, span) = self.ranged(rows, span, [&x.rows, &step.rows], |_, _| true);
        let exact = step.exact && self.whole_numbers(&rows);
        let error = if exact { 0.0 } else { self.bounded(step.error + ROUNDING) };
        Vector { rows, span, exact, step: one_step, ..Vector::same(0.0, error) }
    }

    pub(super) fn to_preferred(
        &self,
        direction: Direction,
        which: Preferred,
        x: &Vector,
    ) -> Vector {
        let mut decades = Decades { parts: series(which).hundredths, ready: Vec::new() };
        let slack = 2.0 * x.error + 8.0 * ROUNDING;
        let mut to = self.buffer();
        self.look([&x.rows], |[x], row| {
            to.push(if x > 0.0 && x.is_finite() {
                let (found, near) = decades.next(direction, x, slack);
                if near {
                    self.doubt(row);
                }
                found
            } else {
                f64::NAN
            });
        });
        let rows = self.gathered(to, matches!(x.rows, Rows::Same(_)));
        let span = Span::of_one(f64::NAN);
        let (rows, span) = self.ranged(rows, span, [&x.rows, &x.rows], |_, _| false);
        Vector { rows, span, ..Vector::approximate(ROUNDING) }
    }

    pub(super) fn read_table(&self, table: &Table, x: &Vector) -> Vector {
        let place = self.program.tables.iter().position(|other| std::ptr::eq(other, table));
        let Some(rows) = place.and_then(|at| self.tables.get(at)) else {
            return Vector::same(f64::NAN, 0.0);
        };
        let slack = 2.0 * x.error + 2.0 * ROUNDING;
        let mut to = self.buffer();
        let mut worst = 1.0_f64;
        self.look([&x.rows], |[value], row| {
            let read = rows.read(table.between, value, slack, x.exact);
            if read.near || read.loss > LOSS {
                self.doubt(row);
            } else {
                worst = worst.max(read.loss);
            }
            to.push(read.value);
        });
        let rows = self.gathered(to, matches!(x.rows, Rows::Same(_)));
        let error = self.bounded(x.error * worst + 4.0 * ROUNDING);
        let span = Span::of_rows(&rows);
        Vector { rows, span, ..Vector::approximate(error) }
    }

    fn gathered(&self, to: Vec<f64>, same: bool) -> Rows<f64> {
        match to.first() {
            Some(first) if same => Rows::Same(*first),
            _ => Rows::each(to),
        }
    }
}

/// One and a half times 2^52: added to a smaller number it leaves no place for a fraction.
const MIDDLE: f64 = 6_755_399_441_055_744.0;

/// The whole number nearest to one below 2^50, half to even.
fn nearest(x: f64) -> f64 {
    (x + MIDDLE) - MIDDLE
}

fn whole_beside(direction: Direction, quotient: f64) -> f64 {
    match direction {
        Direction::Up => quotient.ceil(),
        Direction::Down => quotient.floor(),
        Direction::Nearest => quotient.round(),
    }
}

/// How far a quotient is from where the next multiple begins.
fn apart_from_next(direction: Direction, quotient: f64, multiple: f64) -> f64 {
    match direction {
        Direction::Up | Direction::Down => {
            let part = (quotient - multiple).abs();
            part.min(1.0 - part)
        }
        Direction::Nearest => 0.5 - (quotient - multiple).abs(),
    }
}

/// Where the multiples of steps above zero lie.
fn span_of_multiples(direction: Direction, x: Span, step: Span) -> Span {
    if step.missing || step.low <= 0.0 {
        return Span::of_one(f64::NAN);
    }
    let more = 1.0 + 4.0 * ROUNDING;
    let low = match direction {
        Direction::Up if x.low > 0.0 => x.low / more,
        _ if x.low >= 0.0 => 0.0,
        _ => (x.low - step.high) * more,
    };
    let high = if x.high <= 0.0 { 0.0 } else { (x.high + step.high) * more };
    Span { low, high, least: step.low, missing: x.missing }
}

/// A series of preferred numbers, its decades made ready when they are met.
struct Decades<'a> {
    parts: &'a [u16],
    /// The power of ten, and the numbers of its decade between the last below and the first above.
    ready: Vec<(i32, Vec<f64>)>,
}

impl Decades<'_> {
    /// The preferred number, and whether it might be another one within a relative slack of the value.
    fn next(&mut self, direction: Direction, x: f64, slack: f64) -> (f64, bool) {
        // log10 2 is 0.30103 or 1233/4096: one off at most
        let two = i32::try_from(x.to_bits() >> 52).unwrap_or(0) - 1023;
        let ten = (two * 1233) >> 12;
        let ten = match self.decade(ten) {
            [_, first, ..] if x < *first => ten - 1,
            [.., next] if x >= *next => ten + 1,
            _ => ten,
        };
        let decade = self.decade(ten);
        let at = decade.partition_point(|number| *number < x);
        let beside = |at: Option<usize>| at.and_then(|at| decade.get(at)).copied();
        let (Some(below), Some(above)) = (beside(at.checked_sub(1)), beside(Some(at))) else {
            return (f64::NAN, true);
        };
        let reach = slack * x;
        let near_end = above - x <= reach || x - below <= reach;
        match direction {
            Direction::Up => (above, near_end),
            Direction::Down if above == x => (above, true),
            Direction::Down => (below, near_end),
            Direction::Nearest => {
                let border = below.sqrt() * above.sqrt();
                let nearest = if x < border { below } else { above };
                (nearest, (x - border).abs() <= reach)
            }
        }
    }

    fn decade(&mut self, ten: i32) -> &[f64] {
        let place = self.ready.iter().position(|(ready, _)| *ready == ten).unwrap_or_else(|| {
            let last = self.parts.last().map(|part| number(*part, ten - 1));
            let here = self.parts.iter().map(|part| number(*part, ten));
            let numbers = last.into_iter().chain(here).chain([number(100, ten + 1)]);
            self.ready.push((ten, numbers.collect()));
            self.ready.len() - 1
        });
        self.ready.get(place).map_or(&[], |(_, numbers)| numbers)
    }
}

/// hundredths · 10^(ten − 2), rounded once for ordinary magnitudes.
fn number(hundredths: u16, ten: i32) -> f64 {
    let power = elementary::power_of_ten((ten - 2).abs());
    if ten < 2 { f64::from(hundredths) / power } else { f64::from(hundredths) * power }
}

/// What a table gives at one argument.
struct Read {
    value: f64,
    /// Whether another row, or none, might be the right one.
    near: bool,
    /// By what the relative error of the argument grows.
    loss: f64,
}

impl Converted {
    fn read(&self, between: Between, x: f64, slack: f64, whole: bool) -> Read {
        let missing = Read { value: f64::NAN, near: false, loss: 1.0 };
        let reach = slack * x.abs();
        // whole numbers meet whole numbers without a doubt
        let close = |argument: f64| {
            argument.is_finite()
                && !(whole && argument.fract() == 0.0)
                && (x - argument).abs() <= reach + slack * argument.abs()
        };
        let (Some((first, _)), Some((last, _))) = (self.rows.first(), self.rows.last()) else {
            return missing;
        };
        let low = match between {
            Between::StepUpTo => self.lowest.unwrap_or(f64::NEG_INFINITY),
            _ => *first,
        };
        let at_end = close(low) || close(*last);
        // also where x is NaN
        if !(x >= low && x <= *last) {
            return Read { near: at_end, ..missing };
        }
        // rows from `after` on have arguments above x, or at x for a table of upper ends
        let after = match between {
            Between::StepUpTo => self.rows.partition_point(|(argument, _)| *argument < x),
            _ => self.rows.partition_point(|(argument, _)| *argument <= x),
        };
        let row = |at: usize| self.rows.get(at).copied();
        let before = after.checked_sub(1).and_then(row);
        let above = row(after);
        let near = [before, above].into_iter().flatten().any(|(argument, _)| close(argument));
        match (between, before, above) {
            (Between::StepUpTo, _, Some((_, value))) | (Between::StepFrom, Some((_, value)), _) => {
                Read { value, near: near || at_end, loss: 1.0 }
            }
            (Between::Straight, Some((x0, y0)), Some((x1, y1))) => {
                let part = (x - x0) / (x1 - x0);
                let value = y0 * (1.0 - part) + y1 * part;
                let loss = ((x.abs() + x0.abs()) / (x1 - x0) * (y1 - y0) / value)
                    .abs()
                    .max((y0.abs() + y1.abs()) / value.abs());
                // a zero of the line, or a value that lost its digits, is doubtful; NaN never is
                Read { value, near: at_end || loss.is_nan() || loss > LOSS, loss: loss.min(LOSS) }
            }
            (Between::Straight, Some((_, value)), None) => Read { value, near: at_end, loss: 1.0 },
            _ => missing,
        }
    }
}
