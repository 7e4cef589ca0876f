//! The recorder's own filter: by how much it shows a speed late, and how far it smears its bends.
//!
//! A filter shows a straight line as it is, later by its delay. Taken off, it leaves a smear of mean zero around bends.

use super::channel::{quantity, unread};
use super::measure::count_f64;
use crate::diagnostic::{Diagnostic, Place};
use crate::elementary::exponential;

/// Most parts of the first order in a row.
const MOST: u32 = 8;

/// What of a bend is still felt where it is taken to be over, as a share of its delay.
const OVER: f64 = 1e-3;

/// By how much the parts of a filter are off, as a share (common practice, no source).
const PARTS: f64 = 0.1;

/// A filter that stands between the machine and the samples.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Smear {
    kind: Kind,
    /// As it was written.
    pub(super) written: String,
}

#[derive(Clone, Copy, Debug, PartialEq)]
enum Kind {
    /// The mean over so many seconds before the sample; zero where there is none.
    Mean(f64),
    /// So many parts of the first order in a row, of one time constant in s.
    Order(u32, f64),
}

impl Smear {
    /// Reads `none`, `mean 20 ms`, `first order 5 ms`, `order 3, 5 ms`; a corner frequency stands for its time constant.
    pub(super) fn read(text: &str, place: &Place) -> Result<Self, Diagnostic> {
        let wrong = || {
            unread(
                place,
                format!("`recorder` = `{text}` is no filter"),
                "write `none`, `mean 20 ms`, `first order 5 ms`, or of three such parts in a row `order 3, 5 ms`",
            )
        };
        let positive = |kinds: &[&str], text: &str| {
            let (si, unit) = quantity(kinds, text, place)?;
            if si <= 0.0 {
                return Err(wrong());
            }
            let is_time = crate::unit::kind("time").map(|it| it.dimension) == Some(unit.dimension);
            Ok(if is_time { si } else { 1.0 / (std::f64::consts::TAU * si) })
        };
        let kind = if text == "none" {
            Kind::Mean(0.0)
        } else if let Some(width) = text.strip_prefix("mean ") {
            Kind::Mean(positive(&["time"], width.trim())?)
        } else if let Some(constant) = text.strip_prefix("first order ") {
            Kind::Order(1, positive(&["time", "frequency"], constant.trim())?)
        } else {
            let parts = text.strip_prefix("order ").and_then(|it| it.split_once(','));
            let (order, constant) = parts.ok_or_else(wrong)?;
            let order = order.trim().parse().ok().filter(|it| (1..=MOST).contains(it));
            Kind::Order(
                order.ok_or_else(wrong)?,
                positive(&["time", "frequency"], constant.trim())?,
            )
        };
        Ok(Self { kind, written: text.to_owned() })
    }

    /// By how much a straight line is shown late.
    pub(super) fn delay(&self) -> f64 {
        match self.kind {
            Kind::Mean(width) => width / 2.0,
            Kind::Order(order, constant) => f64::from(order) * constant,
        }
    }

    /// By how much that may be off.
    pub(super) fn u_delay(&self) -> f64 {
        PARTS * self.delay()
    }

    /// The mean square of what it smears.
    pub(super) fn square(&self) -> f64 {
        match self.kind {
            Kind::Mean(width) => width * width / 12.0,
            Kind::Order(order, constant) => f64::from(order) * constant * constant,
        }
    }

    /// How long after a bend, its delay taken off, the bend is over.
    pub(super) fn settles(&self) -> f64 {
        match self.kind {
            Kind::Mean(width) => width / 2.0,
            Kind::Order(..) => self.below(OVER * self.delay()),
        }
    }

    /// What is still shown a time after the end of a fall with the slope 1, its delay taken off: the mean of what of the
    /// smear lies beyond that time.
    fn tail(&self, after: f64) -> f64 {
        match self.kind {
            Kind::Mean(width) => {
                let half = width / 2.0;
                if after <= -half {
                    -after
                } else if after >= half {
                    0.0
                } else {
                    (half - after).powi(2) / (2.0 * width)
                }
            }
            Kind::Order(order, constant) => {
                let y = after + self.delay();
                if y <= 0.0 {
                    return -after;
                }
                // the share of a row of so many parts that is still to come
                let z = y / constant;
                let rest = |parts: u32| {
                    let mut term = exponential(-z);
                    let mut sum = 0.0;
                    for part in 1..=parts {
                        sum += term;
                        term *= z / f64::from(part);
                    }
                    sum
                };
                self.delay() * rest(order + 1) - y * rest(order)
            }
        }
    }

    /// When the tail of a fall with the slope 1 is below a level.
    pub(super) fn below(&self, level: f64) -> f64 {
        self.below_with(level, 0.0)
    }

    /// The same, where a centred mean over a width is taken of what is shown.
    pub(super) fn below_with(&self, level: f64, width: f64) -> f64 {
        const PIECES: usize = 16;
        let tail = |after: f64| {
            let at =
                |piece: usize| after + width * ((count_f64(piece) + 0.5) / count_f64(PIECES) - 0.5);
            (0..PIECES).map(|piece| self.tail(at(piece))).sum::<f64>() / count_f64(PIECES)
        };
        let reach = self.delay() + width / 2.0;
        let (mut from, mut to) = (-reach - level, 40.0 * reach);
        for _ in 0..60 {
            let middle = (from + to) / 2.0;
            if tail(middle) > level { from = middle } else { to = middle }
        }
        to
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "tests")]

    use super::*;

    fn place() -> Place {
        Place::Argument { text: String::new() }
    }

    #[test]
    fn what_is_said_of_a_filter_is_read() {
        for (text, delay) in [
            ("none", 0.0),
            ("mean 20 ms", 0.01),
            ("first order 5 ms", 0.005),
            ("order 3, 5 ms", 0.015),
            ("first order 100 Hz", 0.001_591_549_43),
        ] {
            let found = Smear::read(text, &place()).unwrap().delay();
            assert!((found - delay).abs() < 1e-9, "{text}: {found}");
        }
        for text in ["", "mean", "mean 5", "mean -5 ms", "order 0, 5 ms", "order 9, 5 ms", "5 ms"] {
            assert!(Smear::read(text, &place()).is_err(), "{text}");
        }
    }

    /// The tail against the filter itself, worked step by step (its difference equation).
    #[test]
    fn the_tail_is_that_of_the_filter_worked_step_by_step() {
        let constant = 0.005;
        for order in 1..=4_u32 {
            let smear = Smear::read(&format!("order {order}, 5 ms"), &place()).unwrap();
            let step = 1e-6;
            let mut states = vec![0.3; usize::try_from(order).unwrap()];
            // settled on a fall with the slope 1 that ends at 0, from 0.3 s before it
            let mut t = -0.3_f64;
            for (at, state) in states.iter_mut().enumerate() {
                *state += constant * (count_f64(at) + 1.0);
            }
            while t < 0.03 {
                let mut input = (-t).max(0.0);
                for state in &mut states {
                    *state += step / constant * (input - *state);
                    input = *state;
                }
                t += step;
            }
            let shown = *states.last().unwrap();
            let tail = smear.tail(t - smear.delay());
            assert!((shown - tail).abs() < 1e-5, "order {order}: {shown}, {tail}");
            assert!((smear.below(tail) - (t - smear.delay())).abs() < 1e-6);
        }
    }
}
