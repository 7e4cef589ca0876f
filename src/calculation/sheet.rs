//! A checked sheet, ready to run.

use std::sync::Arc;

use super::{Inputs, Results};
use crate::diagnostic::{Diagnostic, Name, Problems, Source};
use crate::environment::{Environment, NoFs};
use crate::library;
use crate::program::{Program, compile};
use crate::project::Project;

/// A checked sheet, ready to run.
///
/// # Example
/// ```
/// use standstill::Sheet;
/// use uom::si::f64::Time;
/// use uom::si::time::second;
/// let sheet = Sheet::library("run-down")?;
/// let mut inputs = sheet.inputs();
/// for (name, text) in [("J", "2 kg·m²"), ("n_0", "1500 r/min"), ("T_0", "4 N·m")] {
///     inputs.write(name, text)?;
/// }
/// let results = sheet.run(&inputs)?;
/// let t_stop: Time = results.get("t_stop")?;
/// // J·ω/T: 2 · 157.0796 / 4
/// assert!((t_stop.get::<second>() - 78.5398163397).abs() < 1e-9);
/// # Ok::<(), standstill::Problems>(())
/// ```
#[derive(Clone, Debug)]
pub struct Sheet {
    program: Arc<Program>,
    cautions: Vec<Diagnostic>,
}

impl Sheet {
    /// A sheet of the library.
    ///
    /// # Errors
    /// `unknown-sheet`.
    pub fn library(name: &str) -> Result<Self, Problems> {
        let source = library::sheet(name).ok_or_else(|| {
            Diagnostic::error(
                Name::UnknownSheet,
                format!("no sheet of the library is called `{name}`"),
            )
        })?;
        Self::check(&source, &NoFs)
    }

    /// A sheet from its text; it may use sheets of the library.
    ///
    /// # Errors
    /// Every problem of the sheet, when one of them is an error.
    pub fn parse(name: &str, text: &str) -> Result<Self, Problems> {
        Self::check(&Source::new(name, text), &NoFs)
    }

    /// A sheet from its text, with the files beside it.
    ///
    /// # Errors
    /// Every problem of the sheet, when one of them is an error.
    pub fn check(source: &Arc<Source>, environment: &dyn Environment) -> Result<Self, Problems> {
        let checked = compile(source, &Project::new(environment));
        match checked.program {
            Some(program) => Ok(Self { program, cautions: checked.problems }),
            None => Err(checked.problems.into()),
        }
    }

    /// The flat program.
    #[must_use]
    pub fn program(&self) -> &Arc<Program> {
        &self.program
    }

    /// What the check of the sheet found that is no error.
    #[must_use]
    pub fn cautions(&self) -> &[Diagnostic] {
        &self.cautions
    }

    /// Values to be filled in.
    #[must_use]
    pub fn inputs(&self) -> Inputs {
        Inputs::new(&self.program)
    }

    /// Runs the sheet on exact decimals, at the nominal values of inputs that have a tolerance.
    ///
    /// A check that fails is no error: the figures are `Ok`, and [`Results::holds`] says whether they may be used.
    /// Over the tolerances it is [`WorstCase`](super::WorstCase) that says so.
    ///
    /// # Errors
    /// Every problem of the inputs, and every fault that stands in the place of a result: nothing is
    /// given back half.
    pub fn run(&self, inputs: &Inputs) -> Result<Results, Problems> {
        Results::compute(&self.program, inputs)
    }
}
