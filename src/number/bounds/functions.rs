//! Functions of intervals: each from its monotone pieces, by the error bound of the f64 functions.

use std::f64::consts::{FRAC_PI_2, LN_10, PI};

use super::interval::{Interval, down, up};
use crate::elementary;
use crate::program::{Ratio, Unary};

/// A value where the function has one, and whether some of the arguments have none.
pub(super) type Partial = (Option<Interval>, bool);

/// Beyond this the period of an angle cannot be distinguished from its rounding.
const LARGEST_ANGLE: f64 = 1e6;

impl Interval {
    /// A function of every number of the interval.
    pub(super) fn unary(self, function: Unary) -> Partial {
        let rising = |f: fn(f64) -> f64, x: Self| Self {
            low: value_at(x.low, f(x.low)).low,
            high: value_at(x.high, f(x.high)).high,
        };
        let all = |range: Self| (Some(range), false);
        match function {
            Unary::Negate => all(self.negated()),
            Unary::Absolute => all(self.absolute()),
            Unary::SquareRoot => self.clipped(0.0, f64::INFINITY, |x| x.square_root()),
            Unary::Exponential => {
                let mut range = rising(elementary::exponential, self);
                range.low = range.low.max(0.0);
                all(range)
            }
            Unary::Logarithm => self.above_zero(|x| rising(elementary::logarithm, x)),
            Unary::DecimalLogarithm => {
                self.above_zero(|x| rising(elementary::decimal_logarithm, x))
            }
            Unary::Sine => all(self.wave(elementary::sine, 0.5)),
            Unary::Cosine => all(self.wave(elementary::cosine, 0.0)),
            Unary::Tangent => {
                if self.width() > 3.0 || self.magnitude() > LARGEST_ANGLE || self.meets(0.5, 1.0) {
                    all(Self::ALL)
                } else {
                    all(rising(elementary::tangent, self))
                }
            }
            Unary::ArcSine => self.clipped(-1.0, 1.0, |x| rising(elementary::arc_sine, x)),
            Unary::ArcCosine => self.clipped(-1.0, 1.0, |x| {
                let turned = rising(|x| -elementary::arc_cosine(x), x);
                turned.negated()
            }),
            Unary::ArcTangent => all(rising(elementary::arc_tangent, self)),
        }
    }

    /// The slope of a function between any two numbers of the interval.
    pub(super) fn slope_of(self, function: Unary) -> Self {
        let one = Self::ONE;
        let over = |divisor: Self| one.over(divisor).0.unwrap_or(Self::ALL);
        let square =
            |x: Self| x.power(Ratio { numerator: 2, denominator: 1 }).0.unwrap_or(Self::ALL);
        let root =
            |x: Self| x.clipped(0.0, f64::INFINITY, Self::square_root).0.unwrap_or(Self::ALL);
        match function {
            Unary::Negate => one.negated(),
            Unary::Absolute if self.low >= 0.0 => one,
            Unary::Absolute if self.high <= 0.0 => one.negated(),
            Unary::Absolute => Self::new(-1.0, 1.0),
            Unary::SquareRoot => over(root(self).times(Self::point(2.0))),
            Unary::Exponential => self.unary(function).0.unwrap_or(Self::ALL),
            Unary::Logarithm => over(self.greatest(Self::ZERO)),
            Unary::DecimalLogarithm => {
                over(self.greatest(Self::ZERO).times(Self::point(LN_10).blurred()))
            }
            Unary::Sine => self.unary(Unary::Cosine).0.unwrap_or(Self::ALL),
            Unary::Cosine => self.unary(Unary::Sine).0.unwrap_or(Self::ALL).negated(),
            Unary::Tangent => match self.unary(function).0 {
                Some(tangent) if tangent != Self::ALL => one.plus(square(tangent)),
                _ => Self::ALL,
            },
            Unary::ArcSine => over(root(one.minus(square(self)))),
            Unary::ArcCosine => over(root(one.minus(square(self)))).negated(),
            Unary::ArcTangent => over(one.plus(square(self))),
        }
    }

    /// A rational power.
    pub(super) fn power(self, by: Ratio) -> Partial {
        if by.numerator == 0 {
            return (Some(Self::ONE), false);
        }
        if by.numerator < 0 {
            let turned = Ratio { numerator: -by.numerator, ..by };
            let (range, partial) = self.power(turned);
            let Some(range) = range else { return (None, true) };
            let (range, by_zero) = Self::ONE.over(range);
            return (range, partial || by_zero);
        }
        if by.denominator % 2 == 0 {
            return self.clipped(0.0, f64::INFINITY, |x| Self {
                low: positive_power(x.low, by).0,
                high: positive_power(x.high, by).1,
            });
        }
        let odd = by.numerator % 2 != 0;
        let signed = |x: f64| {
            let (low, high) = positive_power(x.abs(), by);
            if x >= 0.0 || !odd { (low, high) } else { (-high, -low) }
        };
        let (at_low, at_high) = (signed(self.low), signed(self.high));
        let ends = Self { low: at_low.0.min(at_high.0), high: at_low.1.max(at_high.1) };
        let range = if !odd && self.contains(0.0) { Self { low: 0.0, ..ends } } else { ends };
        (Some(range), false)
    }

    /// The slope of a rational power between any two numbers of the interval.
    pub(super) fn slope_of_power(self, by: Ratio) -> Self {
        let lower = Ratio { numerator: by.numerator - by.denominator, ..by };
        let factor = Self::point(f64::from(by.numerator))
            .over(Self::point(f64::from(by.denominator)))
            .0
            .unwrap_or(Self::ALL);
        if lower.numerator == 0 {
            return factor;
        }
        let (range, _) = self.power(lower);
        // through zero the slope of an odd root or a negative power is infinite, or the power has a gap
        if lower.numerator < 0 && self.low < 0.0 && self.high > 0.0 {
            return Self::ALL;
        }
        range.map_or(Self::ALL, |range| factor.times(range))
    }

    /// A number above zero raised to a number: e to the (exponent · logarithm), from the four corners.
    pub(super) fn raised(self, exponent: Self) -> Partial {
        self.clipped(0.0, f64::INFINITY, |x| {
            let corners = [
                elementary::power(x.low, exponent.low),
                elementary::power(x.low, exponent.high),
                elementary::power(x.high, exponent.low),
                elementary::power(x.high, exponent.high),
            ];
            corners
                .iter()
                .fold(None, |range: Option<Self>, corner| {
                    let corner = Self::new(*corner, *corner).blurred();
                    Some(range.map_or(corner, |range| range.hull(corner)))
                })
                .map_or(Self::ALL, |range| Self { low: range.low.max(0.0), ..range })
        })
    }

    fn square_root(self) -> Self {
        let exact = |x: f64| {
            let root = x.sqrt();
            (root.fract() == 0.0 && root * root == x && root < 1e7).then_some(root)
        };
        Self {
            low: exact(self.low).unwrap_or_else(|| down(self.low.sqrt()).max(0.0)),
            high: exact(self.high).unwrap_or_else(|| up(self.high.sqrt())),
        }
    }

    /// A function on the part of the interval where it is defined.
    fn clipped(self, low: f64, high: f64, function: impl Fn(Self) -> Self) -> Partial {
        if self.high < low || self.low > high {
            return (None, true);
        }
        let inside = Self { low: self.low.max(low), high: self.high.min(high) };
        (Some(function(inside)), inside != self)
    }

    fn above_zero(self, function: impl Fn(Self) -> Self) -> Partial {
        if self.high <= 0.0 {
            return (None, true);
        }
        let partial = self.low <= 0.0;
        let range = function(Self { low: self.low.max(f64::MIN_POSITIVE), high: self.high });
        if partial {
            (Some(Self { low: f64::NEG_INFINITY, ..range }), true)
        } else {
            (Some(range), false)
        }
    }

    fn magnitude(self) -> f64 {
        self.low.abs().max(self.high.abs())
    }

    /// Whether the interval may hold `(offset + period · n) · π` for a whole n.
    fn meets(self, offset: f64, period: f64) -> bool {
        let slack = 1e-9;
        let turns = |x: f64| (x / PI - offset) / period;
        (turns(self.low) - slack).ceil() <= (turns(self.high) + slack).floor()
    }

    /// Sine or cosine; `peak` is where it is 1, as a part of π.
    fn wave(self, function: fn(f64) -> f64, peak: f64) -> Self {
        if self.magnitude() > LARGEST_ANGLE || self.width() > 4.0 * FRAC_PI_2 {
            return Self::new(-1.0, 1.0);
        }
        let ends = [self.low, self.high].map(|x| value_at(x, function(x)));
        let [first, last] = ends;
        let mut range = first.hull(last);
        if self.meets(peak, 2.0) {
            range.high = 1.0;
        }
        if self.meets(peak + 1.0, 2.0) {
            range.low = -1.0;
        }
        Self { low: range.low.max(-1.0), high: range.high.min(1.0) }
    }
}

/// What encloses the value of a function: sin 0, tan 0, ln 1 and the like are zero and nothing else.
fn value_at(x: f64, value: f64) -> Interval {
    match value == 0.0 && (x == 0.0 || x == 1.0) {
        true => Interval::ZERO,
        false => Interval::point(value).blurred(),
    }
}

/// Bounds of a power of a number not below zero; the exponent is above zero.
fn positive_power(x: f64, by: Ratio) -> (f64, f64) {
    if x == 0.0 || x == 1.0 || x.is_infinite() {
        return (x, x);
    }
    let range = match (by.numerator, by.denominator) {
        (1, 1) => return (x, x),
        (n @ 2..=4, 1) => {
            let point = Interval::point(x);
            (1..n).fold(point, |product, _| product.times(point))
        }
        (1, 2) => Interval::point(x).square_root(),
        (1, 3) => Interval::point(elementary::cube_root(x)).blurred(),
        (n, d) => {
            // the exponent itself is rounded, which a logarithm of up to 745 makes worse
            let exponent = f64::from(n) / f64::from(d);
            let range = Interval::point(elementary::power(x, exponent)).blurred();
            let more =
                elementary::logarithm(x).abs() * exponent.abs() * f64::EPSILON + f64::EPSILON;
            Interval { low: range.low * (1.0 - more), high: range.high * (1.0 + more) }
        }
    };
    (range.low.max(0.0), range.high)
}
