//! What is decided in steps: multiples, preferred numbers, tables.

use super::span::Span;
use super::{Chunks, Converted, LOSS, Lanes, ROUNDING, Rows};
use crate::number::elementary;
use crate::number::preferred::series;
use crate::program::{Between, Direction, Preferred, Table};

impl Chunks<'_> {
    pub(super) fn to_multiple(&self, direction: Direction, x: &Lanes, step: &Lanes) -> Lanes {
        let one_step = match step.rows {
            Rows::Same(step) => Some(step),
            Rows::Each(_) => None,
        };
        if one_step.is_some() && x.step == one_step {
            return x.clone();
        }
        let slack = 2.0 * (x.error + step.error + ROUNDING);
        let rounded = |value: f64, step: f64| {
            let quotient = value / step;
            let multiple = match direction {
                Direction::Up => quotient.ceil(),
                Direction::Down => quotient.floor(),
                Direction::Nearest => quotient.round(),
            };
            (quotient, multiple)
        };
        // how far a quotient is from where the next multiple begins
        let apart = |quotient: f64, multiple: f64| match direction {
            Direction::Up | Direction::Down => {
                let part = (quotient - multiple).abs();
                part.min(1.0 - part)
            }
            Direction::Nearest => 0.5 - (quotient - multiple).abs(),
        };
        let quotients = x.span.over(step.span);
        // one bound for all rows, so that it is quick
        let reach = slack * quotients.most();
        let mut near = !reach.is_finite();
        let mut rows = self.zip(&x.rows, &step.rows, |value, step| {
            let (quotient, multiple) = rounded(value, step);
            near |= apart(quotient, multiple) <= reach;
            if step > 0.0 { multiple * step } else { f64::NAN }
        });
        if near {
            let sure = x.exact && step.exact;
            let mut whole = Vec::new();
            let step_error = step.error;
            self.look([&x.rows, &step.rows], |[value, step], row| {
                let (quotient, multiple) = rounded(value, step);
                let nearest = quotient.round();
                if sure && nearest * step == value {
                    whole.push((row, if step > 0.0 { value } else { f64::NAN }));
                } else if !(x.true_zero && value == 0.0)
                    && apart(quotient, multiple)
                        <= 2.0 * (x.error_at(row) + step_error + ROUNDING) * quotient.abs()
                {
                    self.doubt(row);
                }
            });
            for (row, value) in whole {
                rows.set(row, value);
            }
        }
        let span = span_of_multiples(direction, x.span, step.span);
        let (rows, span) = self.ranged(rows, span, [&x.rows, &step.rows], |_, _| true);
        let exact = step.exact && self.whole_numbers(&rows);
        let error = if exact { 0.0 } else { self.bounded(step.error + ROUNDING) };
        let tried = x.tried || step.tried;
        Lanes { rows, span, exact, tried, step: one_step, ..Lanes::same(0.0, error) }
    }

    pub(super) fn to_preferred(&self, direction: Direction, which: Preferred, x: &Lanes) -> Lanes {
        let decade = series(which).hundredths;
        let slack = 2.0 * x.error + 8.0 * ROUNDING;
        let mut to = self.buffer();
        self.look([&x.rows], |[x], row| {
            to.push(if x > 0.0 && x.is_finite() {
                let (found, near) = next_preferred(decade, direction, x, slack);
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
        Lanes { rows, span, ..Lanes::approximate(ROUNDING, x.tried) }
    }

    pub(super) fn read_table(&self, table: &Table, x: &Lanes) -> Lanes {
        let place = self.program.tables.iter().position(|other| std::ptr::eq(other, table));
        let Some(rows) = place.and_then(|at| self.tables.get(at)) else {
            return Lanes::same(f64::NAN, 0.0);
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
        Lanes { rows, span, ..Lanes::approximate(error, x.tried) }
    }

    fn gathered(&self, to: Vec<f64>, same: bool) -> Rows<f64> {
        match to.first() {
            Some(first) if same => Rows::Same(*first),
            _ => Rows::each(to),
        }
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

/// The preferred number, and whether it might be another one within a relative slack of the value.
fn next_preferred(decade: &[u16], direction: Direction, x: f64, slack: f64) -> (f64, bool) {
    let mut ten = decimal_exponent(x);
    if number(100, ten) > x {
        ten -= 1;
    }
    let reach = slack * x;
    let mut below = number(decade.last().copied().unwrap_or(100), ten - 1);
    let parts = decade.iter().map(|part| number(*part, ten));
    let next = decade.iter().map(|part| number(*part, ten + 1));
    for above in parts.chain(next) {
        if above < x {
            below = above;
            continue;
        }
        let near_end = above - x <= reach || x - below <= reach;
        return match direction {
            Direction::Up => (above, near_end),
            Direction::Down if above == x => (above, true),
            Direction::Down => (below, near_end),
            Direction::Nearest => {
                let border = below.sqrt() * above.sqrt();
                let nearest = if x < border { below } else { above };
                (nearest, (x - border).abs() <= reach)
            }
        };
    }
    (f64::NAN, true)
}

#[expect(clippy::cast_possible_truncation, reason = "the exponent of an f64 is small")]
fn decimal_exponent(x: f64) -> i32 {
    elementary::decimal_logarithm(x).floor() as i32
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
