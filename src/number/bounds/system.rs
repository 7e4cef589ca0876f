//! Bounds as a number system.

use std::sync::Arc;

use super::relaxed::TIE;
use super::slopes::{Slopes, bit};
use super::{Bound, Bounds, Interval, Possible};
use crate::diagnostic::Name;
use crate::number::{Checked, Decimals, Fault, Integrand, System};
use crate::program::{Binary, Direction, LineId, Preferred, Ratio, Relation, Table, Unary};
use crate::unit::Literal;

impl System for Bounds {
    type Value = Bound;
    type Truth = Possible;

    fn literal(&self, literal: &Literal, line: LineId) -> Bound {
        settled(Decimals.literal(literal, line))
    }

    fn pi(&self) -> Bound {
        settled(Decimals.pi())
    }

    fn whole(&self, number: i64) -> Bound {
        settled(Decimals.whole(number))
    }

    fn fault(&self, fault: Fault) -> Bound {
        Bound::never(Arc::new(fault))
    }

    fn unary(&self, function: Unary, x: &Bound, line: LineId) -> Bound {
        let Some(range) = x.range else { return x.clone() };
        let slopes = || x.slopes.times(range.slope_of(function));
        if function == Unary::Absolute && range.low < 0.0 && range.high > 0.0 {
            self.rough.set(true);
        }
        if let Some(exact) = x.exact {
            return follow(Decimals.unary(function, &Ok(exact), line), x.may.as_ref(), slopes);
        }
        let (range, partial) = range.unary(function);
        let fault = || outside(line, &format!("a function is asked at {}", words(x)));
        let found = partly(range, partial, &[x], fault, slopes);
        let found = self.centred(found, || x.at_centre()?.unary(function).0);
        self.formed(found, |relaxed| Self::form_of_unary(relaxed, function, x))
    }

    fn binary(&self, function: Binary, x: &Bound, y: &Bound, line: LineId) -> Bound {
        let (Some(a), Some(b)) = (x.range, y.range) else { return first_fault(x, y) };
        let slopes = || match function {
            Binary::Add => x.slopes.plus(&y.slopes),
            Binary::Subtract => x.slopes.zip(&y.slopes, Interval::minus),
            Binary::Multiply => {
                // (x₁y₁ − x₂y₂) = x₁(y₁ − y₂) + y₂(x₁ − x₂)
                x.slopes.zip(&y.slopes, |dx, dy| b.times(dx).plus(a.times(dy)))
            }
            Binary::Divide => {
                let quotient = a.over(b).0.unwrap_or(Interval::ALL);
                x.slopes.zip(&y.slopes, |dx, dy| {
                    dx.minus(quotient.times(dy)).over(b).0.unwrap_or(Interval::ALL)
                })
            }
            Binary::Least | Binary::Greatest => {
                let gap = self.gap(x, y);
                let gap = if function == Binary::Least { gap } else { gap.negated() };
                if gap.high < 0.0 {
                    x.slopes.clone()
                } else if gap.low > 0.0 {
                    y.slopes.clone()
                } else {
                    self.rough.set(true);
                    x.slopes.zip(&y.slopes, Interval::hull)
                }
            }
            Binary::Raise => {
                // y·x^(y−1)·dx + ln(x)·x^y·dy
                let by_x = a.raised(b.minus(Interval::ONE)).0.map_or(Interval::ALL, |p| b.times(p));
                let by_y = match (a.raised(b).0, a.unary(Unary::Logarithm).0) {
                    (Some(power), Some(logarithm)) => power.times(logarithm),
                    _ => Interval::ALL,
                };
                x.slopes.zip(&y.slopes, |dx, dy| by_x.times(dx).plus(by_y.times(dy)))
            }
        };
        let may = x.may.as_ref().or(y.may.as_ref());
        if let (Some(first), Some(second)) = (x.exact, y.exact) {
            return follow(Decimals.binary(function, &Ok(first), &Ok(second), line), may, slopes);
        }
        let zero =
            |value: &Bound| value.exact.is_some_and(|exact| exact == crate::number::Exact::ZERO);
        if function == Binary::Multiply && (zero(x) || zero(y)) {
            // zero is not nothing where it is followed: it may grow
            return Bound { may: may.cloned(), slopes: slopes(), ..self.whole(0) };
        }
        let (range, partial) = of_two(function, a, b);
        let fault = || match function {
            Binary::Divide => {
                Fault::new(Name::DividedByZero, line, format!("the divisor lies {}", words(y)))
            }
            _ => outside(line, &format!("a power is asked of a number {}", words(x))),
        };
        let found = partly(range, partial, &[x, y], fault, slopes);
        let grid = match function {
            Binary::Add | Binary::Subtract => self.grid_of_both(x, y),
            _ => None,
        };
        let found = self.centred(found, || of_two(function, x.at_centre()?, y.at_centre()?).0);
        let found = self.formed(found, |relaxed| Self::form_of_binary(relaxed, function, x, y));
        Bound { grid, ..found }
    }

    fn power(&self, x: &Bound, by: Ratio, line: LineId) -> Bound {
        let Some(range) = x.range else { return x.clone() };
        let slopes = || x.slopes.times(range.slope_of_power(by));
        if let Some(exact) = x.exact {
            return follow(Decimals.power(&Ok(exact), by, line), x.may.as_ref(), slopes);
        }
        let (range, partial) = range.power(by);
        let fault = || outside(line, &format!("a power is asked of a number {}", words(x)));
        let found = partly(range, partial, &[x], fault, slopes);
        let found = self.centred(found, || x.at_centre()?.power(by).0);
        self.formed(found, |relaxed| {
            Self::form_by(relaxed, x, |at| at.power(by).0, |over| over.slope_of_power(by))
        })
    }

    fn compare(&self, relation: Relation, x: &Bound, y: &Bound) -> Possible {
        self.taken(self.compared(relation, x, y))
    }

    fn both(&self, x: &Possible, y: &Possible) -> Possible {
        let sure = |truth: &Possible| !truth.holds && truth.may.is_none();
        let may = if sure(x) || sure(y) { None } else { x.may.clone().or_else(|| y.may.clone()) };
        Possible {
            holds: x.holds && y.holds,
            fails: x.fails || y.fails,
            may,
            depends: x.depends | y.depends,
            at_centre: match (x.at_centre, y.at_centre) {
                (Some(false), _) | (_, Some(false)) => Some(false),
                (Some(true), Some(true)) => Some(true),
                _ => None,
            },
        }
    }

    fn either(&self, x: &Possible, y: &Possible) -> Possible {
        self.not(&self.both(&self.not(x), &self.not(y)))
    }

    fn not(&self, x: &Possible) -> Possible {
        Possible {
            holds: x.fails,
            fails: x.holds,
            at_centre: x.at_centre.map(|truth| !truth),
            ..x.clone()
        }
    }

    fn decided(&self, truth: &Possible) -> Option<bool> {
        (truth.holds != truth.fails).then_some(truth.holds)
    }

    fn truth_of_fault(&self, value: &Bound) -> Possible {
        let fault =
            || Arc::new(Fault::new(Name::Internal, LineId(0), "a number stands for a truth"));
        Possible {
            holds: false,
            fails: false,
            may: value.may.clone().or_else(|| Some(fault())),
            depends: 0,
            at_centre: None,
        }
    }

    fn select(&self, which: &Possible, x: &Bound, y: &Bound) -> Bound {
        let with = |value: &Bound| Bound {
            may: which.may.clone().or_else(|| value.may.clone()),
            exact: value.exact.filter(|_| which.may.is_none()),
            ..value.clone()
        };
        match (which.holds, which.fails) {
            (true, false) => with(x),
            (false, true) => with(y),
            (false, false) => {
                let ours = || {
                    Arc::new(Fault::new(
                        Name::Internal,
                        LineId(0),
                        "a case is neither so nor not so",
                    ))
                };
                Bound::never(which.may.clone().unwrap_or_else(ours))
            }
            (true, true) => {
                let may = [which.may.as_ref(), x.may.as_ref(), y.may.as_ref()];
                // the author's words say more than what a branch that is cut too wide may run into
                let never = may.iter().flatten().find(|fault| fault.name == Name::Never);
                let may = never.or(may.iter().flatten().next()).map(|fault| Arc::clone(fault));
                match (x.range, y.range) {
                    (Some(a), Some(b)) => {
                        let same = x.exact.filter(|_| x.exact == y.exact);
                        let count = (128 - which.depends.leading_zeros()) as usize;
                        let joined = x.slopes.zip(&y.slopes, Interval::hull);
                        let slopes = if same.is_some() {
                            Slopes::default()
                        } else {
                            joined.map_at(count, |at, slope| {
                                // the value may jump where the truth turns
                                if which.depends & bit(at) == 0 { slope } else { Interval::ALL }
                            })
                        };
                        let range = Some(a.hull(b));
                        let found = Bound {
                            range,
                            may,
                            exact: same,
                            slopes,
                            grid: None,
                            centre: None,
                            form: None,
                        };
                        let found = self.centred(found, || match which.at_centre {
                            Some(true) => x.at_centre(),
                            Some(false) => y.at_centre(),
                            None => Some(x.at_centre()?.hull(y.at_centre()?)),
                        });
                        self.formed(found, |relaxed| Self::form_of_either(relaxed, x, y))
                    }
                    (Some(_), None) => Bound { may, exact: None, ..x.clone() },
                    (None, _) => Bound { may, exact: None, ..y.clone() },
                }
            }
        }
    }

    fn round(&self, direction: Direction, x: &Bound, step: &Bound, line: LineId) -> Bound {
        self.rounded(direction, x, step, line)
    }

    fn preferred(&self, direction: Direction, series: Preferred, x: &Bound, line: LineId) -> Bound {
        self.next_preferred(direction, series, x, line)
    }

    fn read(&self, table: &Table, x: &Bound, line: LineId) -> Bound {
        self.read_table(table, x, line)
    }

    fn root(
        &self,
        function: &mut dyn Integrand<Bound>,
        from: &Bound,
        to: &Bound,
        line: LineId,
    ) -> Bound {
        let found = self.within_search(|| self.search_root(function, from, to, line));
        self.formed(found.clone(), |relaxed| Self::form_of_slopes(relaxed, &found))
    }

    fn integral(
        &self,
        function: &mut dyn Integrand<Bound>,
        from: &Bound,
        to: &Bound,
        line: LineId,
    ) -> Bound {
        let found = self.within_search(|| self.compute_integral(function, from, to, line));
        self.formed(found.clone(), |relaxed| Self::form_of_slopes(relaxed, &found))
    }

    fn as_bound(&self, value: &Bound) -> Option<Bound> {
        // directions and grids are those of these bounds, not of others
        let (slopes, grid, centre, form) = (Slopes::default(), None, None, None);
        Some(Bound { slopes, grid, centre, form, ..value.clone() })
    }

    fn as_possible(&self, truth: &Possible) -> Option<Possible> {
        Some(truth.clone())
    }

    fn deviation(&self, values: &[Bound], line: LineId) -> Bound {
        // squares as powers, so that none of them reaches below zero
        let square = Ratio { numerator: 2, denominator: 1 };
        let count = self.whole(i64::try_from(values.len()).unwrap_or(i64::MAX));
        let sum = |values: &mut dyn Iterator<Item = Bound>| {
            values.fold(self.whole(0), |sum, x| self.binary(Binary::Add, &sum, &x, line))
        };
        let total = sum(&mut values.iter().cloned());
        let mean = self.binary(Binary::Divide, &total, &count, line);
        let squares = sum(&mut values
            .iter()
            .map(|x| self.power(&self.binary(Binary::Subtract, x, &mean, line), square, line)));
        let less = self.binary(Binary::Subtract, &count, &self.whole(1), line);
        let variance = self.binary(Binary::Divide, &squares, &less, line);
        self.unary(Unary::SquareRoot, &variance, line)
    }
}

impl Bounds {
    /// What is one of two, where truths that depend on these directions tell which.
    pub(crate) fn joined(&self, x: &Bound, y: &Bound, depends: u128) -> Bound {
        self.select(&Possible { depends, ..Possible::open() }, x, y)
    }

    /// How two values may stand to each other.
    fn compared(&self, relation: Relation, x: &Bound, y: &Bound) -> Possible {
        let depends = x.slopes.directions() | y.slopes.directions();
        let may = x.may.clone().or_else(|| y.may.clone());
        let (Some(a), Some(b)) = (x.range, y.range) else {
            return Possible { holds: false, fails: false, may, depends, at_centre: None };
        };
        if let (Some(first), Some(second)) = (x.exact, y.exact) {
            let truth = Decimals.compare(relation, &Ok(first), &Ok(second)) == Ok(true);
            return Possible { may, depends, ..Possible::surely(truth) };
        }
        if self.relaxed.is_some() {
            let difference = self.binary(Binary::Subtract, x, y, LineId(0));
            // how far apart what counts as equal may be, at the smallest and at the largest values of the box
            let tie = Interval {
                low: TIE * a.absolute().low.max(b.absolute().low),
                high: TIE * a.absolute().high.max(b.absolute().high),
            };
            let (holds, fails) =
                relation_of(relation, difference.range.unwrap_or(Interval::ALL), tie);
            let centre = difference.at_centre().map(|centre| relation_of(relation, centre, tie));
            let at_centre = centre.filter(|(holds, fails)| holds != fails).map(|(holds, _)| holds);
            return Possible { holds, fails, may, depends, at_centre };
        }
        if x.grid.is_some() && x.grid == y.grid {
            let truth = matches!(relation, Relation::AtMost | Relation::AtLeast | Relation::Equal);
            return Possible { may, ..Possible::surely(truth) };
        }
        let (holds, fails) = match relation {
            Relation::Below => (a.low < b.high, a.high >= b.low),
            Relation::AtMost => (a.low <= b.high, a.high > b.low),
            Relation::Above => (a.high > b.low, a.low <= b.high),
            Relation::AtLeast => (a.high >= b.low, a.low < b.high),
            Relation::Equal | Relation::Unequal => {
                let equal = a.low <= b.high && b.low <= a.high;
                let unequal = !(a.is_point() && a == b);
                if relation == Relation::Equal { (equal, unequal) } else { (unequal, equal) }
            }
        };
        self.rough.set(self.rough.get() || holds && fails);
        Possible { holds, fails, may, depends, at_centre: None }
    }

    /// How far one value lies above another.
    fn gap(&self, x: &Bound, y: &Bound) -> Interval {
        let all = Interval::ALL;
        let plain = x.range.unwrap_or(all).minus(y.range.unwrap_or(all));
        match self.relaxed.is_some() && plain.contains(0.0) {
            true => self.binary(Binary::Subtract, x, y, LineId(0)).range.unwrap_or(all),
            false => plain,
        }
    }
}

/// Whether a relation may hold and may fail for a difference; what is within the tie is equal.
fn relation_of(relation: Relation, difference: Interval, tie: Interval) -> (bool, bool) {
    let below = difference.low < -tie.low;
    let above = difference.high > tie.low;
    let equal = difference.low <= tie.high && difference.high >= -tie.high;
    match relation {
        Relation::Below => (below, equal || above),
        Relation::AtMost => (below || equal, above),
        Relation::Above => (above, below || equal),
        Relation::AtLeast => (above || equal, below),
        Relation::Equal => (equal, below || above),
        Relation::Unequal => (below || above, equal),
    }
}

/// A function of every number of two intervals.
fn of_two(function: Binary, a: Interval, b: Interval) -> (Option<Interval>, bool) {
    match function {
        Binary::Add => (Some(a.plus(b)), false),
        Binary::Subtract => (Some(a.minus(b)), false),
        Binary::Multiply => (Some(a.times(b)), false),
        Binary::Divide => a.over(b),
        Binary::Least => (Some(a.least(b)), false),
        Binary::Greatest => (Some(a.greatest(b)), false),
        Binary::Raise => a.raised(b),
    }
}

/// An exact outcome as a bound.
pub(super) fn settled(outcome: Checked) -> Bound {
    match outcome {
        Ok(value) => Bound::of(value),
        Err(fault) => Bound::never(fault),
    }
}

/// An exact outcome with what went before: why it may not exist, and its slopes.
pub(super) fn follow(
    outcome: Checked,
    may: Option<&Arc<Fault>>,
    slopes: impl FnOnce() -> Slopes,
) -> Bound {
    let bound = settled(outcome);
    if bound.range.is_none() {
        return bound;
    }
    Bound { may: may.cloned(), slopes: slopes(), ..bound }
}

/// A range that stands for part of what was asked.
pub(super) fn partly(
    range: Option<Interval>,
    partial: bool,
    from: &[&Bound],
    fault: impl FnOnce() -> Fault,
    slopes: impl FnOnce() -> Slopes,
) -> Bound {
    let before = from.iter().find_map(|bound| bound.may.clone());
    let may = before.or_else(|| partial.then(|| Arc::new(fault())));
    match range {
        Some(range) => Bound {
            range: Some(range),
            may,
            exact: None,
            slopes: slopes(),
            grid: None,
            centre: None,
            form: None,
        },
        None => Bound {
            range: None,
            may,
            exact: None,
            slopes: Slopes::default(),
            grid: None,
            centre: None,
            form: None,
        },
    }
}

/// The fault of the first of two that never has a value.
pub(super) fn first_fault(x: &Bound, y: &Bound) -> Bound {
    if x.range.is_none() { x.clone() } else { y.clone() }
}

/// Where a value lies, in words.
pub(super) fn words(x: &Bound) -> String {
    match x.range {
        Some(range) if range.is_point() => format!("at {:.6e}", range.low),
        Some(range) => format!("between {:.6e} and {:.6e}", range.low, range.high),
        None => "nowhere".to_owned(),
    }
}

fn outside(line: LineId, what: &str) -> Fault {
    Fault::new(Name::OutsideFunction, line, what)
}
