//! What comes out of a calculation.

use std::sync::Arc;

use uom::si::{Quantity, SI};

use super::Inputs;
use super::check::{CheckResult, Margin, Verdict};
use super::faults;
use super::verdict;
use crate::diagnostic::{Diagnostic, Name, Problems, put_in_order};
use crate::number::{Exact, ExactRun, ExactSlot, Fault, Slot, run_exact};
use crate::number::{show, show_compared, show_slot};
use crate::program::{Output, Program, Register, Relation, Type};
use crate::unit::{self, TypedAs};

/// The results of one calculation on exact decimals, at the nominal values of inputs that have a tolerance.
///
/// # Example
/// ```
/// use standstill::Sheet;
/// let sheet = Sheet::library("run-down")?;
/// let mut inputs = sheet.inputs();
/// for (name, text) in [("J", "2 kg·m²"), ("n_0", "1500 r/min"), ("T_0", "4 N·m"), ("T_load", "5 N·m")] {
///     inputs.write(name, text)?;
/// }
/// let results = sheet.run(&inputs)?;
/// // the load of 5 N·m moves the shaft again: the figures are there, and must not be used
/// assert!(!results.holds());
/// let failing = results.checks().iter().find(|check| check.verdict == standstill::Verdict::Fails);
/// assert_eq!(failing.map(|check| check.text.as_str()), Some("friction holds the load once it stands"));
/// # Ok::<(), standstill::Problems>(())
/// ```
#[derive(Clone, Debug)]
pub struct Results {
    program: Arc<Program>,
    inputs: Inputs,
    run: ExactRun,
    checks: Vec<CheckResult>,
}

/// A result that is set in the drive.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct Setting {
    /// Name.
    pub name: String,
    /// Value with its unit.
    pub value: String,
    /// Step of the setting.
    pub step: String,
    /// Least value that can be set.
    pub low: String,
    /// Largest value that can be set.
    pub high: String,
    /// What it is.
    pub note: String,
}

impl Results {
    /// Runs a program on exact decimals. An input that words of a choice leave out need not be given.
    ///
    /// # Errors
    /// Every problem of the inputs, and every fault that stands in the place of a result.
    pub fn compute(program: &Arc<Program>, inputs: &Inputs) -> Result<Self, Problems> {
        let spared = match inputs.any_given_up() {
            true => inputs.spared_by_any_word(),
            false => inputs.spared(),
        };
        let inputs = spared.as_ref().unwrap_or(inputs);
        // what is out of range is reported beside what is missing: everything in one go
        let mut problems = inputs.problems();
        let given: Vec<_> = program.inputs.iter().map(|input| inputs.value(input)).collect();
        let run = run_exact(program, &given);
        problems.extend(faults::of_guards(program, inputs, &run));
        if problems.is_empty() && !inputs.any_given_up() {
            problems = faults::of_faults(program, inputs, &run);
        }
        if !problems.is_empty() || inputs.any_given_up() {
            put_in_order(&mut problems);
            return Err(problems.into());
        }
        let checks = checks(program, &run);
        Ok(Self { program: Arc::clone(program), inputs: inputs.clone(), run, checks })
    }

    /// The program that ran.
    #[must_use]
    pub fn program(&self) -> &Arc<Program> {
        &self.program
    }

    /// The inputs it ran with.
    #[must_use]
    pub fn inputs(&self) -> &Inputs {
        &self.inputs
    }

    /// The run itself, every register of it.
    #[must_use]
    pub fn run(&self) -> &ExactRun {
        &self.run
    }

    /// How the checks came out, in the order of the sheet, used sheets first.
    #[must_use]
    pub fn checks(&self) -> &[CheckResult] {
        &self.checks
    }

    /// Whether every check holds that is more than a caution, for the nominal values: whether they hold over the
    /// tolerances of the inputs says the worst case.
    #[must_use]
    pub fn holds(&self) -> bool {
        self.checks.iter().all(|check| check.verdict != Verdict::Fails)
    }

    /// All checks in a few words, for a cell: the first that fails, or that all hold.
    #[must_use]
    pub fn verdict_text(&self) -> String {
        verdict::of_results(&self.checks)
    }

    /// What a result holds.
    #[must_use]
    pub fn slot(&self, output: &Output) -> Option<&ExactSlot> {
        self.run.register(output.register).ok()
    }

    /// One value of a result, exact, in coherent SI.
    #[must_use]
    pub fn exact(&self, name: &str) -> Option<Exact> {
        let output = self.program.output_named(name)?;
        match self.slot(output)? {
            Slot::One(value) => Some(*value),
            _ => None,
        }
    }

    /// A result as a `uom` quantity.
    ///
    /// # Errors
    /// `unknown-name` when the sheet gives no such result; `unit-mismatch` when the type of the
    /// quantity does not fit it; `series-for-number` when it is a series; `never` when it does not
    /// exist for these inputs.
    pub fn get<D>(&self, name: &str) -> Result<Quantity<D, SI<f64>, f64>, Problems>
    where
        D: uom::si::Dimension + ?Sized,
        D::Kind: 'static,
    {
        let output = output(&self.program.outputs, name)?;
        if let Some(why) = self.never(output) {
            let words = format!("`{name}` does not exist for these inputs: {why}");
            return Err(Diagnostic::error(Name::Never, words)
                .remedy("ask `Results::never` first, and leave it out where it says why")
                .into());
        }
        let value = self.exact(name).ok_or_else(|| not_one_value(name))?;
        let typed = typed(&output.type_);
        unit::to_typed(value.to_f64(), typed).ok_or_else(|| other_type(output, typed))
    }

    /// A result that is a series, as `uom` quantities.
    ///
    /// # Errors
    /// As [`Self::get`]; `series-for-number` when it is not a series.
    pub fn get_series<D>(&self, name: &str) -> Result<Vec<Quantity<D, SI<f64>, f64>>, Problems>
    where
        D: uom::si::Dimension + ?Sized,
        D::Kind: 'static,
    {
        let output = output(&self.program.outputs, name)?;
        let Some(Slot::Many(values)) = self.slot(output) else {
            let words = format!("`{name}` is not a series");
            return Err(Diagnostic::error(Name::SeriesForNumber, words)
                .remedy("ask for it as one value")
                .into());
        };
        let typed = typed(&output.type_);
        let quantities = values.iter().map(|value| unit::to_typed(value.to_f64(), typed));
        quantities.collect::<Option<_>>().ok_or_else(|| other_type(output, typed))
    }

    /// A result as a person reads it, with its unit.
    #[must_use]
    pub fn to_text(&self, output: &Output) -> String {
        match self.run.register(output.register) {
            Ok(slot) => show_slot(slot, &output.type_, &output.unit),
            Err(fault) => never_text(fault).unwrap_or_default(),
        }
    }

    /// Why a result of the program ([`Self::program`]) never exists, in the words of the sheet's author; none where it
    /// has a value.
    #[must_use]
    pub fn never(&self, output: &Output) -> Option<&str> {
        why_never(self.run.register(output.register).err()?)
    }

    /// A result for a program: unit, the number in it with all digits that are certain, and as f64.
    #[must_use]
    pub fn output_json(&self, output: &Output) -> serde_json::Value {
        let number = |value: &Exact| number_json(value, &output.unit);
        let value = match self.slot(output) {
            Some(Slot::One(value)) if matches!(output.type_, Type::Number { .. }) => number(value),
            Some(Slot::Many(values)) => values.iter().map(number).collect(),
            Some(slot) => serde_json::json!(show_slot(slot, &output.type_, &output.unit)),
            None => self
                .never(output)
                .map_or(serde_json::Value::Null, |why| serde_json::json!({ "never": why })),
        };
        serde_json::json!({
            "name": output.name, "value": value, "unit": output.unit.symbol,
            "rounding": output.rounding, "note": output.note,
        })
    }

    /// A value of any line of the program as a person reads it.
    #[must_use]
    pub fn line_text(&self, line: &crate::program::Line) -> String {
        match self.run.register(line.register) {
            Ok(slot) => show_slot(slot, &line.type_, &line.unit),
            Err(fault) => never_text(fault).unwrap_or_else(|| "not calculated".to_owned()),
        }
    }

    /// What any register of the program holds, as a person reads it.
    #[must_use]
    pub fn register_text(&self, register: Register, type_: &Type, unit: &unit::Unit) -> String {
        match self.run.register(register) {
            Ok(slot) => show_slot(slot, type_, unit),
            Err(fault) => never_text(fault).unwrap_or_else(|| "not calculated".to_owned()),
        }
    }

    /// The results that are set in the drive.
    #[must_use]
    pub fn settings(&self) -> Vec<Setting> {
        let number = |register| match self.run.register(register) {
            Ok(Slot::One(value)) => Some(*value),
            _ => None,
        };
        self.program
            .outputs
            .iter()
            .filter_map(|output| {
                let (step, low, high) = output.setting?;
                let words = |register| {
                    number(register).map_or_else(String::new, |value| show(&value, &output.unit))
                };
                Some(Setting {
                    name: output.name.clone(),
                    value: self.to_text(output),
                    step: words(step),
                    low: words(low),
                    high: words(high),
                    note: output.note.clone(),
                })
            })
            .collect()
    }
}

/// The author's words, where a fault is a value that never exists and not a mistake.
fn why_never(fault: &Fault) -> Option<&str> {
    (fault.name == Name::Never).then_some(fault.words.as_str())
}

fn never_text(fault: &Fault) -> Option<String> {
    why_never(fault).map(|why| format!("never: {why}"))
}

fn checks(program: &Program, run: &ExactRun) -> Vec<CheckResult> {
    program
        .checks
        .iter()
        .zip(&run.checks)
        .map(|(check, outcome)| {
            let verdict = match (&outcome.holds, check.caution) {
                (Ok(true), _) => Verdict::Holds,
                (_, true) => Verdict::Caution,
                (_, false) => Verdict::Fails,
            };
            let margin = check.sides.zip(outcome.sides.as_ref()).map(|((relation, ..), (x, y))| {
                let (left, compared) = match relation {
                    Relation::Below | Relation::AtMost => (y.minus(x).ok(), true),
                    Relation::Above | Relation::AtLeast => (x.minus(y).ok(), true),
                    Relation::Equal | Relation::Unequal => (x.minus(y).ok(), false),
                };
                let Some(left) = left else {
                    let [x, y] = [x, y].map(|it| show(it, &check.unit));
                    return Margin { sides: format!("{x} {} {y}", relation.sign()), left: None };
                };
                // what lies within what was rounded on the way is nothing
                let left = if left.is_like_zero() { Exact::ZERO } else { left };
                let [x, y, left] =
                    show_compared([x, y], &left, [&check.unit, &difference(&check.unit)]);
                Margin {
                    sides: format!("{x} {} {y}", relation.sign()),
                    left: compared.then_some(left),
                }
            });
            // what never exists is compared with nothing: the author's words say why
            let why = outcome.holds.as_ref().err().and_then(why_never);
            CheckResult {
                verdict,
                text: check.text.clone(),
                path: check.path.clone(),
                caution: check.caution,
                otherwise: why.unwrap_or(&check.otherwise).to_owned(),
                never: why.is_some(),
                margin,
            }
        })
        .collect()
}

/// A value in a unit for a program: all digits that are certain, and the nearest f64; null where it cannot be kept.
pub(crate) fn number_json(value: &Exact, unit: &unit::Unit) -> serde_json::Value {
    let Ok(value) = value.in_unit(unit) else { return serde_json::Value::Null };
    let digits = value.certain_digits().clamp(1, 28);
    serde_json::json!({
        "digits": value.to_decimal_string(digits, crate::program::Direction::Nearest),
        "number": value.to_f64(),
    })
}

/// A result by its name.
pub(super) fn output<'p>(outputs: &'p [Output], name: &str) -> Result<&'p Output, Problems> {
    outputs.iter().find(|output| output.name == name).ok_or_else(|| {
        let known: Vec<&str> = outputs.iter().map(|output| output.name.as_str()).collect();
        Diagnostic::error(Name::UnknownName, format!("the sheet gives no `{name}`"))
            .remedy(format!("it gives {}", known.join(", ")))
            .into()
    })
}

pub(super) fn not_one_value(name: &str) -> Problems {
    Diagnostic::error(Name::SeriesForNumber, format!("`{name}` is not one value"))
        .remedy("ask for it as a series")
        .into()
}

/// What a `uom` type must be to hold values of a type.
pub(super) fn typed(type_: &Type) -> TypedAs {
    match *type_ {
        Type::Number { dimension, point, .. } => TypedAs { dimension, point },
        _ => TypedAs { dimension: unit::Dimension::NONE, point: false },
    }
}

pub(super) fn other_type(output: &Output, typed: TypedAs) -> Problems {
    let kind = unit::name_of(typed.dimension);
    let words = format!("`{}` is {kind}, and the type asked for is another", output.name);
    Diagnostic::error(Name::UnitMismatch, words)
        .at(output.place.clone())
        .remedy(format!("ask for it as {kind}"))
        .into()
}

/// The unit of a difference of two values in a unit: K for °C.
pub(crate) fn difference(unit: &unit::Unit) -> unit::Unit {
    if !unit.point {
        return unit.clone();
    }
    let symbol = if unit.factor == unit::Factor::ONE {
        "K".to_owned()
    } else {
        format!("Δ{}", unit.symbol)
    };
    unit::Unit { symbol, zero: rust_decimal::Decimal::ZERO, point: false, ..unit.clone() }
}
