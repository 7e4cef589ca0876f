//! What a result hangs on: how far it moves for 1 % of each input.

use std::sync::Arc;

use super::{Inputs, Results};
use crate::diagnostic::Diagnostic;
use crate::number::{Bound, Bounds, Exact, Given, Interval, Slot, evaluate};
use crate::program::{Program, Type};

/// How far results move for 1 % of each input, every other input standing still.
///
/// Slopes are worked out beside the values, step by step (forward mode), not by trying a second value. A
/// temperature on the scale has no percentage: for it the change is that for 1 K.
///
/// # Source
/// Forward-mode automatic differentiation; implicit differentiation for roots, the rule of Leibniz for
/// integrals (Griewank, Walther, "Evaluating Derivatives", SIAM 2008; from memory).
///
/// # Example
/// ```
/// use standstill::{Sheet, calculation::Influences};
/// let sheet = Sheet::library("run-down")?;
/// let mut inputs = sheet.inputs();
/// for (name, text) in [("J", "2 kg·m²"), ("n_0", "1500 r/min"), ("T_0", "4 N·m")] {
///     inputs.write(name, text)?;
/// }
/// let found = Influences::work_out(sheet.program(), &inputs)?;
/// // t = J·ω/T, so 1 % more of J is 1 % more of 78.54 s, and 1 % more of T_0 as much less
/// let t_stop: Vec<_> = found.of("t_stop").collect();
/// assert_eq!(t_stop.len(), 3);
/// assert!((t_stop.iter().find(|it| it.name == "J").unwrap().change - 0.7854).abs() < 1e-4);
/// assert!((t_stop.iter().find(|it| it.name == "T_0").unwrap().change + 0.7854).abs() < 1e-4);
/// # Ok::<(), Vec<standstill::diagnostic::Diagnostic>>(())
/// ```
#[derive(Clone, Debug)]
pub struct Influences {
    nominal: Results,
    all: Vec<Influence>,
}

/// How far one result moves for 1 % of one input.
#[derive(Clone, Debug, PartialEq)]
pub struct Influence {
    /// Place in [`Program::outputs`].
    pub output: usize,
    /// Place in [`Program::inputs`].
    pub input: usize,
    /// Name of the input.
    pub name: String,
    /// Change of the result for 1 % of the input (1 K of a temperature), in coherent SI.
    pub change: f64,
    /// Both slopes where the result has a kink, or what is not told apart by rounding.
    pub within: Interval,
}

impl Influences {
    /// Works out every slope at the inputs as given.
    ///
    /// # Errors
    /// Every problem of the calculation.
    pub fn work_out(program: &Arc<Program>, inputs: &Inputs) -> Result<Self, Vec<Diagnostic>> {
        let nominal = Results::work_out(program, inputs)?;
        let percent = Interval::ONE.over(Interval::point(100.0)).0.unwrap_or(Interval::ZERO);
        let followed = |literal: &crate::unit::Literal, direction: usize, point: bool| {
            Exact::from_literal(literal).map_or_else(
                |_| Bound::within(Interval::ALL),
                |value| {
                    let bound = Bound::of(value);
                    let seed =
                        if point { Interval::ONE } else { Interval::of(&value).times(percent) };
                    if seed == Interval::ZERO { bound } else { bound.followed(direction, seed) }
                },
            )
        };
        let given: Vec<Slot<Bound, _>> = program
            .inputs
            .iter()
            .enumerate()
            .map(|(direction, input)| {
                let point = matches!(input.type_, Type::Number { point: true, .. });
                match inputs.value(input) {
                    Some(Given::One(literal)) => Slot::One(followed(&literal, direction, point)),
                    Some(Given::Many(all)) => Slot::Many(
                        all.iter().map(|literal| followed(literal, direction, point)).collect(),
                    ),
                    Some(Given::Word(place)) => {
                        Slot::One(Bound::of(Exact::whole(i64::try_from(place).unwrap_or(i64::MAX))))
                    }
                    None => Slot::Empty,
                }
            })
            .collect();
        let registers = evaluate(&Bounds::at_a_point(program.inputs.len()), program, &given);
        let mut all = Vec::new();
        for (output, declared) in program.outputs.iter().enumerate() {
            let place = usize::try_from(declared.register.0).ok();
            let Some(Slot::One(value)) = place.and_then(|at| registers.get(at)) else { continue };
            let mut of_this: Vec<Influence> = program
                .inputs
                .iter()
                .enumerate()
                .map(|(at, input)| (at, input, value.slope(at)))
                .filter(|(_, _, slope)| *slope != Interval::ZERO)
                .map(|(at, input, slope)| Influence {
                    output,
                    input: at,
                    name: input.name.clone(),
                    change: slope.middle(),
                    within: slope,
                })
                .collect();
            of_this.sort_by(|a, b| b.change.abs().total_cmp(&a.change.abs()));
            all.extend(of_this);
        }
        Ok(Self { nominal, all })
    }

    /// The calculation itself.
    #[must_use]
    pub fn nominal(&self) -> &Results {
        &self.nominal
    }

    /// Every input that moves a result, the strongest first; results in the order of the sheet.
    #[must_use]
    pub fn all(&self) -> &[Influence] {
        &self.all
    }

    /// What moves one result, the strongest first.
    pub fn of<'a>(&'a self, name: &'a str) -> impl Iterator<Item = &'a Influence> {
        let outputs = &self.nominal.program().outputs;
        self.all
            .iter()
            .filter(move |it| outputs.get(it.output).is_some_and(|output| output.name == name))
    }
}
