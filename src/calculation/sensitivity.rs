//! What a result depends on: how far it moves for 1 % of each input.

use std::sync::Arc;

use rust_decimal::Decimal;

use super::{Inputs, Results};
use crate::diagnostic::Problems;
use crate::number::{Bound, Bounds, Exact, ExactSlot, InputValue, Interval, Slot, evaluate};
use crate::program::{Input, Program, Type};
use crate::unit::{Literal, Unit, parse_unit};

/// How far results move for 1 % of each input, every other input standing still.
///
/// Slopes are calculated beside the values, step by step (forward mode), not by trying a second value. A
/// temperature on the scale has no percentage: for it the change is that for 1 K. Nor has a value of zero:
/// for it the change is that for one of its unit, for 1 % where it has no unit, and for a tenth of that, or a
/// hundredth …, where its range ends before.
///
/// # Source
/// Forward-mode automatic differentiation; implicit differentiation for roots, the rule of Leibniz for
/// integrals (Griewank, Walther, "Evaluating Derivatives", SIAM 2008; from memory).
///
/// # Example
/// ```
/// use standstill::{Sheet, calculation::{Sensitivities, Step}};
/// let sheet = Sheet::library("run-down")?;
/// let mut inputs = sheet.inputs();
/// for (name, text) in [("J", "2 kg·m²"), ("n_0", "1500 r/min"), ("T_0", "4 N·m")] {
///     inputs.write(name, text)?;
/// }
/// let found = Sensitivities::compute(sheet.program(), &inputs)?;
/// // t = J·ω/T, so 1 % more of J is 1 % more of 78.54 s, and 1 % more of T_0 as much less
/// let t_stop: Vec<_> = found.of("t_stop").filter(|it| it.step == Step::Percent).collect();
/// assert_eq!(t_stop.len(), 3);
/// assert!((t_stop.iter().find(|it| it.name == "J").unwrap().change - 0.7854).abs() < 1e-4);
/// assert!((t_stop.iter().find(|it| it.name == "T_0").unwrap().change + 0.7854).abs() < 1e-4);
/// # Ok::<(), standstill::Problems>(())
/// ```
#[derive(Clone, Debug)]
pub struct Sensitivities {
    nominal: Results,
    all: Vec<Sensitivity>,
    changes: Vec<Change>,
}

/// What becomes of one result when one input is changed by its step, as a second calculation has it.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct Change {
    /// Place in [`Program::outputs`].
    pub output: usize,
    /// Place in [`Program::inputs`].
    pub input: usize,
    /// Name of the input.
    pub name: String,
    /// What the input is changed by.
    pub step: Step,
    /// How far the result moves, in coherent SI; none where the second calculation has no result.
    pub change: Option<f64>,
    /// How far it would move along its slope without roundings, in coherent SI.
    pub smooth: f64,
    /// Whether a rounding stands between the input and the result.
    pub stepped: bool,
}

impl Change {
    /// Whether steps or a bend stand between the slope and what the result does.
    #[must_use]
    pub fn differs(&self) -> bool {
        let Some(change) = self.change else { return false };
        // 1 % is not small: a curve may differ from its slope by some hundredths
        self.stepped || (change - self.smooth).abs() > 0.1 * change.abs().max(self.smooth.abs())
    }
}

/// How far one result moves for 1 % of one input.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct Sensitivity {
    /// Place in [`Program::outputs`].
    pub output: usize,
    /// Place in [`Program::inputs`].
    pub input: usize,
    /// Name of the input.
    pub name: String,
    /// What the input is changed by.
    pub step: Step,
    /// Change of the result for that step of the input, in coherent SI.
    pub change: f64,
    /// Both slopes where the result has a kink, or what is not told apart by rounding.
    pub within: Interval,
}

/// What an input is changed by.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Step {
    /// 1 % of its value.
    Percent,
    /// 1 K of a temperature on the scale.
    Kelvin,
    /// One of its unit, or a part of it that its range allows, since its value is zero: `1 N·m`.
    One(String),
}

/// What an input is changed by, with what is added where its value is zero.
struct Stride {
    step: Step,
    added: Option<Literal>,
}

/// How often a step from zero is cut to a tenth to stay within the range.
const TENTHS: i32 = 12;

impl Sensitivities {
    /// Calculates every slope at the nominal inputs.
    ///
    /// # Errors
    /// Every problem of the calculation.
    pub fn compute(program: &Arc<Program>, inputs: &Inputs) -> Result<Self, Problems> {
        let nominal = Results::compute(program, inputs)?;
        let inputs = &nominal.inputs().clone();
        let percent = Interval::ONE.over(Interval::point(100.0)).0.unwrap_or(Interval::ZERO);
        let strides = program.inputs.iter().map(|input| {
            let most = input.high.as_ref().and_then(|limit| {
                Some((one_of_slot(nominal.run().register(limit.register).ok()?)?, limit.included))
            });
            stride(input, inputs.value(input).as_ref(), most)
        });
        let strides: Vec<Stride> = strides.collect();
        let followed = |literal: &Literal, direction: usize| {
            let Ok(value) = Exact::from_literal(literal) else {
                return Bound::within(Interval::ALL);
            };
            let seed = match strides.get(direction) {
                Some(Stride { step: Step::Kelvin, .. }) => Interval::ONE,
                Some(Stride { added: Some(added), .. }) => {
                    Exact::from_literal(added).map_or(Interval::ZERO, |added| Interval::of(&added))
                }
                Some(_) | None => Interval::of(&value).times(percent),
            };
            let bound = Bound::of(value);
            if seed == Interval::ZERO { bound } else { bound.followed(direction, seed) }
        };
        let given: Vec<Slot<Bound, _>> = program
            .inputs
            .iter()
            .enumerate()
            .map(|(direction, input)| match inputs.value(input) {
                Some(InputValue::One(literal)) => Slot::One(followed(&literal, direction)),
                Some(InputValue::Many(all)) => {
                    Slot::Many(all.iter().map(|literal| followed(literal, direction)).collect())
                }
                Some(InputValue::Word(place)) => {
                    Slot::One(Bound::of(Exact::whole(i64::try_from(place).unwrap_or(i64::MAX))))
                }
                None => Slot::Empty,
            })
            .collect();
        let registers = evaluate(&Bounds::at_a_point(program.inputs.len()), program, &given);
        let changes = {
            let smooth = Bounds::smooth_at_a_point(program.inputs.len());
            let smooth = evaluate(&smooth, program, &given);
            changes(program, inputs, &nominal, &strides, [&registers, &smooth])
        };
        let mut all = Vec::new();
        for (output, declared) in program.outputs.iter().enumerate() {
            let place = usize::try_from(declared.register.0).ok();
            let Some(Slot::One(value)) = place.and_then(|at| registers.get(at)) else { continue };
            let mut of_this: Vec<Sensitivity> = program
                .inputs
                .iter()
                .enumerate()
                .map(|(at, input)| (at, input, value.slope(at)))
                .filter(|(_, _, slope)| *slope != Interval::ZERO)
                .map(|(at, input, slope)| Sensitivity {
                    output,
                    input: at,
                    name: input.name.clone(),
                    step: strides.get(at).map_or(Step::Percent, |it| it.step.clone()),
                    change: slope.middle(),
                    within: slope,
                })
                .collect();
            // a percentage and a whole unit are not to be set against one another
            of_this.sort_by(|a, b| {
                let last = |it: &Sensitivity| matches!(it.step, Step::One(_));
                last(a).cmp(&last(b)).then(b.change.abs().total_cmp(&a.change.abs()))
            });
            all.extend(of_this);
        }
        Ok(Self { nominal, all, changes })
    }

    /// The calculation itself.
    #[must_use]
    pub fn nominal(&self) -> &Results {
        &self.nominal
    }

    /// Every input that moves a result, the strongest first; results in the order of the sheet.
    #[must_use]
    pub fn all(&self) -> &[Sensitivity] {
        &self.all
    }

    /// How far one result moves for each input by a second calculation, the strongest first: those for 1 % and 1 K,
    /// then those of inputs that are zero.
    pub fn changes_of<'a>(&'a self, name: &'a str) -> impl Iterator<Item = &'a Change> {
        let outputs = &self.nominal.program().outputs;
        self.changes
            .iter()
            .filter(move |it| outputs.get(it.output).is_some_and(|output| output.name == name))
    }

    /// What moves one result, the strongest first.
    pub fn of<'a>(&'a self, name: &'a str) -> impl Iterator<Item = &'a Sensitivity> {
        let outputs = &self.nominal.program().outputs;
        self.all
            .iter()
            .filter(move |it| outputs.get(it.output).is_some_and(|output| output.name == name))
    }
}

/// Every input changed by its step, one after the other, and what becomes of each result.
fn changes<F>(
    program: &Arc<Program>,
    inputs: &Inputs,
    nominal: &Results,
    strides: &[Stride],
    [plain, smooth]: [&[Slot<Bound, F>]; 2],
) -> Vec<Change> {
    let mut found = Vec::new();
    for (at, (input, stride)) in program.inputs.iter().zip(strides).enumerate() {
        let moved = match inputs.value(input) {
            Some(InputValue::One(literal)) => more(&literal, stride).map(InputValue::One),
            Some(InputValue::Many(all)) => all
                .iter()
                .map(|literal| more(literal, stride))
                .collect::<Option<_>>()
                .map(InputValue::Many),
            Some(InputValue::Word(_)) | None => continue,
        };
        let second = moved.and_then(|moved| {
            let mut inputs = inputs.without_tolerances();
            inputs.store(&input.name, moved, None);
            Results::compute(program, &inputs).ok()
        });
        for (output, declared) in program.outputs.iter().enumerate() {
            let Some(before) = nominal.exact(&declared.name) else { continue };
            let place = usize::try_from(declared.register.0).ok();
            let slope = |of: &[Slot<Bound, F>]| match place.and_then(|place| of.get(place)) {
                // what bounds do not find has a slope that is not known
                Some(Slot::One(value)) if value.range.is_none() => Interval::ALL,
                Some(Slot::One(value)) => value.slope(at),
                _ => Interval::ZERO,
            };
            let (own, smooth) = (slope(plain), slope(smooth));
            // a slope that is not known between two bounds is no figure
            let known = smooth.low.is_finite() && smooth.high.is_finite();
            let slope = smooth.middle();
            // where nothing is rounded the two are the same calculation, but for the last digits
            let near = 1e-6 * slope.abs();
            let stepped = known && (own.low < slope - near || own.high > slope + near);
            let change = second
                .as_ref()
                .and_then(|second| second.exact(&declared.name))
                .and_then(|after| after.minus(&before).ok())
                .map(|change| change.to_f64());
            if second.is_some() && change == Some(0.0) && known && slope == 0.0 {
                continue;
            }
            found.push(Change {
                output,
                input: at,
                name: input.name.clone(),
                step: stride.step.clone(),
                change,
                smooth: if known { slope } else { change.unwrap_or_default() },
                stepped,
            });
        }
    }
    found.sort_by(|a, b| {
        let last = |it: &Change| matches!(it.step, Step::One(_));
        let size = |it: &Change| it.change.unwrap_or(it.smooth).abs().max(it.smooth.abs());
        a.output.cmp(&b.output).then(last(a).cmp(&last(b))).then(size(b).total_cmp(&size(a)))
    });
    found
}

/// A value changed by its step; none where it cannot be written.
fn more(literal: &Literal, stride: &Stride) -> Option<Literal> {
    let (digits, ten) = match &stride.step {
        Step::Percent => (literal.digits.checked_mul(Decimal::new(101, 2))?, literal.ten),
        Step::One(_) => return stride.added.clone(),
        Step::Kelvin => {
            let tens = Decimal::from(10_i64.checked_pow(literal.ten.unsigned_abs())?);
            let plain = match literal.ten {
                0.. => literal.digits.checked_mul(tens)?,
                _ => literal.digits.checked_div(tens)?,
            };
            let fahrenheit = literal.unit.symbol == "°F";
            let kelvin = if fahrenheit { Decimal::new(18, 1) } else { Decimal::ONE };
            (plain.checked_add(kelvin)?, 0)
        }
    };
    Some(Literal::new(digits, ten, literal.unit.clone()))
}

/// `most` is the upper end of its range, and whether it is in it.
fn stride(input: &Input, value: Option<&InputValue>, most: Option<(Exact, bool)>) -> Stride {
    if matches!(input.type_, Type::Number { point: true, .. }) {
        return Stride { step: Step::Kelvin, added: None };
    }
    let zero = |literal: &Literal| literal.digits.is_zero();
    let unit = match value {
        Some(InputValue::One(literal)) if zero(literal) => Some(&literal.unit),
        Some(InputValue::Many(all)) if all.iter().all(zero) => all.first().map(|it| &it.unit),
        _ => None,
    };
    let Some(unit) = unit else { return Stride { step: Step::Percent, added: None } };
    let is_count = input.kind.is_some_and(|kind| kind.name == "count");
    let hundredth = parse_unit("%")
        .ok()
        .filter(|_| unit.symbol.is_empty() && unit.is_same(&Unit::one()) && !is_count);
    let unit = hundredth.as_ref().unwrap_or(unit);
    let one = |ten: i32| Literal::new(Decimal::ONE, ten, unit.clone());
    let fits = |literal: &Literal| {
        let (Some((most, included)), Ok(value)) = (&most, Exact::from_literal(literal)) else {
            return true;
        };
        let order = value.stands_to(most);
        order.is_lt() || (*included && order.is_eq())
    };
    let tenths = if is_count { 0 } else { TENTHS };
    let added = (0..=tenths).map(|tenth| one(-tenth)).find(fits).unwrap_or_else(|| one(0));
    let number = Exact::from_decimal(added.digits, added.ten)
        .map_or_else(|fault| fault.words, |number| number.to_string());
    let step = Step::One(format!("{number} {}", unit.symbol).trim_end().to_owned());
    Stride { step, added: Some(added) }
}

fn one_of_slot(slot: &ExactSlot) -> Option<Exact> {
    match slot {
        Slot::One(value) => Some(*value),
        _ => None,
    }
}
