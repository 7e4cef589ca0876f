//! The worst case: how far each result can go when every input lies anywhere within its tolerance.

mod region;
mod search;
mod set;
mod slices;
pub(super) mod uncertain;

use std::rc::Rc;
use std::sync::Arc;

use super::check::{Verdict, WorstCheck};
use super::{Inputs, Results, verdict};
use crate::diagnostic::{Diagnostic, Name, Problems, put_in_order};
use crate::number::{
    Bounds, Decimals, Exact, Fault, Possible, Registers, Slot, SlotOf, limit_relation, show,
    show_towards,
};
use crate::program::{Binary, Direction, Limit, Op, Output, Program, Register, Relation, Type};
pub(super) use region::Region;
use region::inputs_at;
use search::{Aim, Extremum, Towards};

use uncertain::At;
pub use uncertain::Uncertain;

/// By what part of what is reached a bound differs from nothing for no other reason than rounding on the way.
const NOISE: f64 = 1e-12;

/// The worst case of one calculation.
///
/// What is said of a range holds for every value of every input within its tolerance, not only for those
/// that were tried: it is proved on [`Bounds`], with the ends themselves calculated on exact decimals.
///
/// # Example
/// ```
/// use standstill::{Sheet, calculation::WorstCase};
/// let sheet = Sheet::library("run-down")?;
/// let mut inputs = sheet.inputs();
/// for (name, text) in [("J", "2 kg·m² ± 5 %"), ("n_0", "1500 r/min"), ("T_0", "4 N·m ± 0.5 N·m")] {
///     inputs.write(name, text)?;
/// }
/// let worst = WorstCase::compute(sheet.program(), &inputs)?;
/// let t_stop = &worst.ranges()[0];
/// // J·ω/T at the heaviest and least braked: 2.1 · 157.0796 / 3.5
/// assert!((t_stop.high.reached.to_f64() - 94.2477796).abs() < 1e-6);
/// assert!(t_stop.high.limit.is_none(), "proved to be the worst");
/// assert_eq!(t_stop.high.corner, "J = 2.1 kg·m², T_0 = 3.5 N·m");
/// # Ok::<(), standstill::Problems>(())
/// ```
#[derive(Clone, Debug)]
pub struct WorstCase {
    nominal: Results,
    uncertain: Vec<Uncertain>,
    ranges: Vec<Range>,
    checks: Vec<WorstCheck>,
}

/// Every register of a program on bounds, with every input anywhere within its tolerance.
pub(crate) fn enclosed(program: &Arc<Program>, inputs: &Inputs) -> Rc<Registers<Bounds>> {
    let region = Region::new(program, inputs);
    region.bound(&region.whole())
}

/// How far a result, or an element of a series, can go.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct Range {
    /// Place in [`Program::outputs`].
    pub output: usize,
    /// Place in the series, from 0.
    pub element: Option<usize>,
    /// Nominal value.
    pub nominal: Exact,
    /// The least.
    pub low: Extreme,
    /// The most.
    pub high: Extreme,
    /// Why there may be no value somewhere within the tolerances, where that is not ruled out.
    pub may: Option<Fault>,
}

/// One end of a range.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct Extreme {
    /// The value at the corner, exact, in coherent SI.
    pub reached: Exact,
    /// What it never goes beyond, in coherent SI; none where `reached` is proved to be the end.
    pub limit: Option<f64>,
    /// The inputs that bring it about, where they stand: `J = 2.1 kg·m², T_0 = 3.5 N·m`.
    pub corner: String,
    /// Where every uncertain input stands.
    point: Vec<At>,
}

impl WorstCase {
    /// Calculates the worst case.
    ///
    /// # Errors
    /// Every problem of the calculation with nominal values, and of a corner within the tolerances that has no results
    /// (such as a tolerance that leaves the range of its input).
    pub fn compute(program: &Arc<Program>, inputs: &Inputs) -> Result<Self, Problems> {
        let following = Self::following(program, inputs)?;
        match set::kept(&following.nominal, &following.ranges) {
            Some((program, words)) => {
                Ok(set::worse(following, Self::following(&program, inputs)?, &words))
            }
            None => Ok(following),
        }
    }

    /// The worst case in which settings follow the inputs.
    fn following(program: &Arc<Program>, inputs: &Inputs) -> Result<Self, Problems> {
        let nominal = Results::compute(program, inputs)?;
        let inputs = &nominal.inputs().clone();
        let region = Region::new(program, inputs);
        region.knows(&nominal);
        region.settle();
        let work = || {
            let whole = region.bound(&region.whole());
            let mut checks = guards(&region, &whole)?;
            let mut ranges = Vec::new();
            for (at, output) in program.outputs.iter().enumerate() {
                ranges.extend(range(&region, &nominal, at, output)?);
            }
            for at in 0..program.checks.len() {
                checks.extend(check(&region, &nominal, at)?);
            }
            Ok((ranges, checks))
        };
        let (ranges, checks) = work().map_err(|mut problems: Vec<Diagnostic>| {
            put_in_order(&mut problems);
            problems
        })?;
        let uncertain = region.uncertain.clone();
        Ok(Self { nominal, uncertain, ranges, checks })
    }

    /// The calculation with nominal values.
    #[must_use]
    pub fn nominal(&self) -> &Results {
        &self.nominal
    }

    /// The inputs that have a tolerance.
    #[must_use]
    pub fn uncertain(&self) -> &[Uncertain] {
        &self.uncertain
    }

    /// The range of each result that is a number, in the order of the sheet.
    #[must_use]
    pub fn ranges(&self) -> &[Range] {
        &self.ranges
    }

    /// How the checks come out: ranges of inputs that are not proved to be kept, then those of the sheet.
    #[must_use]
    pub fn checks(&self) -> &[WorstCheck] {
        &self.checks
    }

    /// All checks over the tolerances in a few words, for a cell: the first that fails or may fail, or that all
    /// hold.
    #[must_use]
    pub fn verdict_text(&self) -> String {
        let outputs = &self.nominal.program().outputs;
        let may = self.ranges.iter().find(|range| range.may.is_some());
        let name = may.and_then(|range| outputs.get(range.output)).map(|it| it.name.as_str());
        verdict::of_worst(&self.checks, name)
    }

    /// The inputs that bring an end of one of its ranges about.
    pub(super) fn inputs_at(&self, end: &Extreme) -> Inputs {
        inputs_at(self.nominal.program(), self.nominal.inputs(), &self.uncertain, &end.point)
    }

    /// The inputs with which one of its checks fails, where they are known.
    pub(super) fn inputs_where_it_fails(&self, check: &WorstCheck) -> Option<Inputs> {
        let point = check.failing.as_ref()?;
        Some(inputs_at(self.nominal.program(), self.nominal.inputs(), &self.uncertain, point))
    }

    /// Whether every check that is more than a caution is proved to hold, and every result to exist.
    #[must_use]
    pub fn holds(&self) -> bool {
        self.checks.iter().all(|check| check.caution || check.verdict == Verdict::Holds)
            && self.ranges.iter().all(|range| range.may.is_none())
    }
}

impl WorstCheck {
    /// The least that is left as a share of the larger side, where the check is one comparison.
    #[must_use]
    pub fn least_share(&self) -> Option<f64> {
        let least = self.least.filter(|_| self.short.is_finite())?;
        Some(if least < 0.0 { -self.short } else { self.short })
    }

    /// What comes first is worse: by the least that is proved, and where that is the same by what is reached.
    pub(super) fn rank(&self) -> [f64; 2] {
        [self.least, self.reached].map(|it| it.unwrap_or(f64::INFINITY))
    }
}

impl Extreme {
    fn of(region: &Region<'_>, found: Extremum) -> Self {
        let corner = region.to_text(&found.point, |direction| found.hangs.contains(&direction));
        Self { reached: found.reached, limit: found.limit, corner, point: found.point }
    }

    /// The end that is proved, in words and rounded outward where it is not reached.
    #[must_use]
    pub fn to_text(&self, output: &Output, upwards: bool) -> String {
        let unit = &output.unit;
        let direction = if upwards { Direction::Up } else { Direction::Down };
        let Some(limit) = self.limit else {
            // what no input moves has one value and is shown as the nominal one is
            let direction = if self.corner.is_empty() { Direction::Nearest } else { direction };
            return show_towards(&self.reached, unit, direction);
        };
        if !limit.is_finite() {
            return if upwards {
                "no limit proved".to_owned()
            } else {
                "no least proved".to_owned()
            };
        }
        match Exact::from_bound(limit, upwards) {
            Ok(limit) => show_towards(&limit, unit, direction),
            Err(fault) => fault.words,
        }
    }
}

fn range(
    region: &Region<'_>,
    nominal: &Results,
    at: usize,
    output: &Output,
) -> Result<Vec<Range>, Problems> {
    let Type::Number { .. } = output.type_ else { return Ok(Vec::new()) };
    let elements: Vec<Option<usize>> = match nominal.slot(output) {
        Some(Slot::One(_)) => vec![None],
        Some(Slot::Many(values)) => (0..values.len()).map(Some).collect(),
        _ => return Ok(Vec::new()),
    };
    let register = output.register;
    let exists = |slot: &SlotOf<Bounds>| match slot {
        Slot::One(value) => Some(possible(value.may.as_deref())),
        Slot::Many(values) => Some(possible(values.iter().find_map(|value| value.may.as_deref()))),
        _ => None,
    };
    let (sure, _) = region.always(register, exists, |_| false)?;
    let may = if sure {
        None
    } else {
        slot(&region.bound(&region.whole()), register)
            .and_then(exists)
            .and_then(|truth| truth.may)
            .map(|fault| (*fault).clone())
    };
    let mut ranges = Vec::new();
    for element in elements {
        let aim = Aim::Value(register, element);
        let low = region.extreme(aim, Towards::Least)?;
        let high = region.extreme(aim, Towards::Most)?;
        let (Some(low), Some(high)) = (low, high) else { continue };
        let nominal = match (nominal.slot(output), element) {
            (Some(Slot::Many(values)), Some(element)) => values.get(element).copied(),
            (Some(Slot::One(value)), _) => Some(*value),
            _ => None,
        };
        let Some(nominal) = nominal else { continue };
        ranges.push(Range {
            output: at,
            element,
            nominal,
            low: Extreme::of(region, low),
            high: Extreme::of(region, high),
            may: may.clone(),
        });
    }
    Ok(ranges)
}

fn possible(fault: Option<&Fault>) -> Possible {
    let mut truth = Possible::surely(true);
    truth.may = fault.map(|fault| Arc::new(fault.clone()));
    truth
}

fn slot(registers: &Registers<Bounds>, register: Register) -> Option<&SlotOf<Bounds>> {
    registers.get(register.place()?)
}

fn truth_of(slot: &SlotOf<Bounds>) -> Option<Possible> {
    match slot {
        Slot::Truth(truth) => Some(truth.clone()),
        _ => None,
    }
}

fn check(
    region: &Region<'_>,
    nominal: &Results,
    at: usize,
) -> Result<Option<WorstCheck>, Problems> {
    let program = region.program;
    let (Some(check), Some(result)) = (program.checks.get(at), nominal.checks().get(at)) else {
        return Ok(None);
    };
    let outcome_of = |slot: &SlotOf<Decimals>| match slot {
        Slot::Truth(truth) => truth.clone(),
        _ => Ok(false),
    };
    let fails = |slot: &SlotOf<Decimals>| outcome_of(slot) != Ok(true);
    let never =
        |slot: &SlotOf<Decimals>| outcome_of(slot).is_err_and(|fault| fault.name == Name::Never);
    let outcome_at = |point: &[At]| {
        let found = region.point(point, &[check.register], &[])?;
        Ok::<_, Problems>(found.get(check.register).map_or(Ok(false), outcome_of))
    };
    let mut outcome = WorstCheck {
        verdict: Verdict::Fails,
        text: check.text.clone(),
        path: check.path.clone(),
        otherwise: result.otherwise.clone(),
        caution: check.caution,
        least_margin: None,
        corner: String::new(),
        least: None,
        reached: None,
        short: f64::INFINITY,
        failing: None,
    };
    let aim = check.sides.and_then(|(relation, x, y)| match relation {
        Relation::Below | Relation::AtMost => Some(Aim::Above(x, (y, None))),
        Relation::Above | Relation::AtLeast => Some(Aim::Below(x, (y, None))),
        Relation::Equal | Relation::Unequal => None,
    });
    let found = match aim {
        Some(aim) => region.extreme(aim, Towards::Least)?,
        None => None,
    };
    // extremes are those of what exists; where a value may never exist, nothing is proved by them
    let exists = |slot: &SlotOf<Bounds>| Some(possible(truth_of(slot)?.may.as_deref()));
    let exists = !program.may_never_exist() || region.always(check.register, exists, never)?.0;
    let at_found = found.as_ref().map(|found| outcome_at(&found.point)).transpose()?;
    let proved = exists
        && match (&found, &at_found) {
            // the corner decides, ties as on exact decimals; else what it never goes below
            (Some(found), Some(outcome)) => match found.limit {
                None => *outcome == Ok(true),
                Some(limit) => limit > 0.0,
            },
            _ => false,
        };
    let (always, failing) = match (&found, at_found) {
        (Some(found), Some(outcome)) if outcome != Ok(true) => (false, Some(found.point.clone())),
        _ if proved => (true, None),
        _ => region.always(check.register, truth_of, fails)?,
    };
    // what never exists there has words of its own
    if let Some(failing) = &failing {
        outcome.otherwise = match outcome_at(failing)? {
            Err(fault) if fault.name == Name::Never => fault.words.clone(),
            _ => check.otherwise.clone(),
        };
    }
    outcome.verdict = if result.verdict != Verdict::Holds {
        result.verdict
    } else if failing.is_some() {
        Verdict::MayFail
    } else if always {
        Verdict::Holds
    } else {
        Verdict::NotProved
    };
    // where a value may not exist, what is left where it does says nothing of the check
    let found = found.filter(|found| {
        let left = found.limit.unwrap_or_else(|| found.reached.to_f64());
        outcome.verdict == Verdict::Holds || left <= 0.0
    });
    if let Some(found) = &found {
        let unit = super::results::difference(&check.unit);
        let hangs = |direction: usize| found.hangs.contains(&direction);
        // what is proved to hold never leaves less than nothing, whatever the bounds of its margin say
        let proved = outcome.verdict == Verdict::Holds;
        let nothing = |limit: f64| proved && limit <= NOISE * found.reached.to_f64();
        let limit = found.limit.map(|limit| if nothing(limit) { 0.0 } else { limit });
        outcome.least_margin = Some(match limit {
            Some(limit) if !limit.is_finite() => "not bounded".to_owned(),
            Some(limit) => {
                let limit = Exact::from_bound(limit, false).map_or_else(
                    |fault| fault.words,
                    |limit| show_towards(&limit, &unit, Direction::Down),
                );
                format!("{} reached, never below {limit}", show(&found.reached, &unit))
            }
            None if found.reached.is_like_zero() => show(&Exact::ZERO, &unit),
            None => show_towards(&found.reached, &unit, Direction::Down),
        });
        outcome.corner = region.to_text(&found.point, hangs);
        outcome.reached = Some(found.reached.to_f64());
        outcome.least = limit.or(outcome.reached).filter(|least| least.is_finite());
    }
    if let (Some(found), Some((_, x, y))) = (&found, check.sides) {
        let corner = region.point(&found.point, &[x, y], &[])?;
        let one = |register: Register| match corner.get(register) {
            Some(Slot::One(Ok(value))) => value.to_f64().abs(),
            _ => 0.0,
        };
        let size = one(x).max(one(y)).max(f64::MIN_POSITIVE);
        outcome.short = outcome.least.map_or(f64::INFINITY, |least| least.abs() / size);
    }
    outcome.failing.clone_from(&failing);
    if let (Some(point), true) = (&failing, outcome.corner.is_empty()) {
        outcome.corner = region.to_text(point, |_| true);
    }
    Ok(Some(outcome))
}

/// The ranges of inputs and arguments that are not proved to be kept; one that is left is a problem.
fn guards(region: &Region<'_>, whole: &Registers<Bounds>) -> Result<Vec<WorstCheck>, Problems> {
    let program = region.program;
    let mut open = Vec::new();
    for guard in &program.guards {
        let values: Vec<Option<usize>> = match slot(whole, guard.register) {
            Some(Slot::One(_)) => vec![None],
            Some(Slot::Many(values)) => (0..values.len()).map(Some).collect(),
            _ => continue,
        };
        for (limit, is_low) in [(&guard.low, true), (&guard.high, false)] {
            let Some(limit) = limit else { continue };
            for element in &values {
                if !kept(region, whole, limit, is_low, guard.register, *element)? {
                    let name = program.line(guard.line).map_or("", |line| line.name.as_str());
                    open.push(WorstCheck {
                        verdict: Verdict::NotProved,
                        text: format!(
                            "`{name}` keeps its range, {} {}",
                            if is_low { "not below" } else { "not above" },
                            limit.written
                        ),
                        path: String::new(),
                        otherwise: "narrow the tolerances".to_owned(),
                        caution: false,
                        least_margin: None,
                        corner: String::new(),
                        least: None,
                        reached: None,
                        short: f64::INFINITY,
                        failing: None,
                    });
                }
            }
        }
    }
    Ok(open)
}

/// Whether a value is the lesser, or the greater, of something and the very bound that it is to keep.
fn is_ended_by(program: &Program, register: Register, limit: Register, is_low: bool) -> bool {
    let of = if is_low { Binary::Greatest } else { Binary::Least };
    program.steps.iter().filter(|step| step.to == register).any(
        |step| matches!(step.op, Op::Binary(by, x, y) if by == of && (x == limit || y == limit)),
    )
}

/// Whether a bound of a range is proved to be kept; a corner outside it is an error of its own.
fn kept(
    region: &Region<'_>,
    whole: &Registers<Bounds>,
    limit: &Limit,
    is_low: bool,
    register: Register,
    element: Option<usize>,
) -> Result<bool, Problems> {
    let bound = |register: Register, element: Option<usize>| match (slot(whole, register), element)
    {
        (Some(Slot::One(value)), _) => Some(value),
        (Some(Slot::Many(values)), Some(element)) => values.get(element),
        _ => None,
    };
    if limit.included && is_ended_by(region.program, register, limit.register, is_low) {
        return Ok(true);
    }
    let relation = limit_relation(limit.included, is_low);
    let (Some(value), Some(end)) = (bound(register, element), bound(limit.register, None)) else {
        return Ok(true);
    };
    if crate::number::System::compare(&region.bounds, relation, value, end).always() {
        return Ok(true);
    }
    let aim = if is_low {
        Aim::Above(limit.register, (register, element))
    } else {
        Aim::Below(limit.register, (register, element))
    };
    let found = region.extreme(aim, Towards::Least)?;
    // it is run whole, so a value outside its range ends here as an error
    if let Some(found) = &found {
        region.corner(&found.point)?;
    }
    Ok(found.is_none_or(|found| found.limit.is_none_or(|limit| limit > 0.0)))
}
