//! Inputs that were given and on which nothing that was calculated depends, in the case that was chosen.

use std::collections::BTreeSet;

use super::{Results, written};
use crate::diagnostic::{Diagnostic, Name, Place};
use crate::language::Body;
use crate::number::{ExactSlot, InputValue, Slot, operands};
use crate::program::{BlockId, Input, LineSource, Op, Program, Register, Step, Type};

impl Results {
    /// Inputs that were given, have no effect, and differ from the sheet's default.
    ///
    /// A value that changes no result and no check because another figure stands in its place is an error: two
    /// statements of one thing. Where a choice between words leaves it out, as a form that lists the inputs of all
    /// cases does, it is a caution. An input that has no default must be given in every case, and one that is
    /// given as its default says nothing new; neither is reported.
    ///
    /// # Example
    /// ```
    /// use standstill::Sheet;
    /// let sheet = Sheet::library("solid-cylinder")?;
    /// let mut inputs = sheet.inputs();
    /// for (name, text) in [("d", "400 mm"), ("L", "50 mm"), ("m", "49 kg"), ("rho", "7850 kg/m³")] {
    ///     inputs.write(name, text)?;
    /// }
    /// // the mass counts where it is given, and the density does not
    /// let problems = sheet.run(&inputs).unwrap_err();
    /// assert!(problems[0].headline.contains("`rho`"));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn unused(&self) -> Vec<Diagnostic> {
        let inputs = &self.program().inputs;
        let found = self.left_out().into_iter().filter_map(|(at, others)| {
            let chosen = self.is_chosen(&others);
            Some(self.unused_input(inputs.get(at)?, &others, chosen))
        });
        found.collect()
    }

    /// The problems among [`unused`](Self::unused) that stop a calculation.
    #[must_use]
    pub fn unused_errors(&self) -> Vec<Diagnostic> {
        self.unused().into_iter().filter(Diagnostic::is_error).collect()
    }

    /// The inputs of [`unused_errors`](Self::unused_errors), by their place in the program.
    pub(crate) fn idle(&self) -> Vec<usize> {
        let all = self.left_out().into_iter().filter(|(_, others)| !self.is_chosen(others));
        all.map(|(at, _)| at).collect()
    }

    /// The used sheets, by their place among the program's scopes, on whose lines no result and no check depends in
    /// the case that was chosen.
    #[must_use]
    pub(crate) fn idle_scopes(&self) -> BTreeSet<usize> {
        let needed = self.needed(true);
        let lines = &self.program().lines;
        let calculated = lines.iter().filter(|line| {
            matches!(&line.says, LineSource::Works(works) if matches!(works.body, Body::Value(_)))
        });
        let mut idle: BTreeSet<usize> = (1..self.program().scopes.len()).collect();
        for line in calculated.filter(|line| needed.contains(&line.register)) {
            usize::try_from(line.scope).iter().for_each(|at| {
                idle.remove(at);
            });
        }
        idle
    }

    /// The registers on which a result or a check depends, in the case that was `chosen` or in any.
    #[must_use]
    pub(crate) fn needed(&self, chosen: bool) -> BTreeSet<Register> {
        let slices = Slices::of(self);
        slices.reached(slices.roots(), chosen)
    }

    /// Whether only choices between words leave an input out.
    fn is_chosen(&self, others: &BTreeSet<usize>) -> bool {
        let of = |at: &usize| self.program().inputs.get(*at);
        let mut choices = others.iter().filter_map(of);
        !others.is_empty() && choices.all(|input| matches!(input.type_, Type::Choice(_)))
    }

    /// Inputs without effect, each with those that leave it out.
    fn left_out(&self) -> Vec<(usize, BTreeSet<usize>)> {
        let inputs = self.program().inputs.iter().enumerate();
        let given: Vec<usize> = inputs
            .filter(|(_, input)| self.inputs().is_given(input) && self.differs(input))
            .map(|(at, _)| at)
            .collect();
        if given.is_empty() {
            return Vec::new();
        }
        let slices = Slices::of(self);
        let used = slices.behind(slices.roots(), true);
        let idle = given.into_iter().filter(|at| !used.contains(at));
        idle.map(|at| (at, slices.in_the_way_of(at))).collect()
    }

    /// Whether an input with a default has another value, given by a person.
    fn differs(&self, input: &Input) -> bool {
        let Some(default) = &input.default else { return false };
        // the example values of a sheet show each input
        let example = self.inputs().place(input) == input.place;
        !example
            && match (self.inputs().value(input), &input.type_) {
                (Some(InputValue::One(value)), _) => value.si_f64() != default.si_f64(),
                (Some(InputValue::Word(at)), Type::Choice(_)) => {
                    usize::try_from(default.digits).ok() != Some(at)
                }
                (value, _) => value.is_some(),
            }
    }

    fn unused_input(&self, input: &Input, others: &BTreeSet<usize>, chosen: bool) -> Diagnostic {
        let value = match (self.inputs().value(input), &input.type_) {
            (Some(InputValue::One(value)), _) => format!(" = {}", written(&value)),
            (Some(InputValue::Word(at)), Type::Choice(words)) => {
                words.get(at).map_or(String::new(), |word| format!(" = {word}"))
            }
            _ => String::new(),
        };
        let names: Vec<String> = others
            .iter()
            .filter_map(|at| self.program().inputs.get(*at))
            .filter(|other| other.name != input.name)
            .map(|other| format!("`{}`", other.name))
            .collect();
        let remedy = match names.as_slice() {
            [] => format!("take `{}` out", input.name),
            [one] => format!("take `{}` out, or change {one}, which leaves it out", input.name),
            names => format!(
                "take `{}` out, or change what leaves it out: {}",
                input.name,
                names.join(", ")
            ),
        };
        let words = format!(
            "`{}`{value} is given, and nothing that is calculated here depends on it",
            input.name
        );
        let problem = match chosen {
            true => Diagnostic::caution(Name::InputWithoutEffect, words),
            false => Diagnostic::error(Name::InputWithoutEffect, words),
        };
        let problem = problem.at(self.inputs().place(input)).remedy(remedy);
        match &input.place {
            Place::Text { .. } => problem.label(input.place.clone(), "what it is"),
            _ => problem,
        }
    }
}

/// What depends on what in a program that has run.
struct Slices<'a> {
    program: &'a Program,
    results: &'a Results,
    /// The step that writes each register.
    writers: Vec<Option<&'a Step>>,
}

impl<'a> Slices<'a> {
    fn of(results: &'a Results) -> Self {
        let program = results.program();
        let mut writers = vec![None; usize::try_from(program.registers).unwrap_or(0)];
        for step in &program.steps {
            if let Some(writer) = at(step.to).and_then(|at| writers.get_mut(at)) {
                *writer = Some(step);
            }
        }
        Self { program, results, writers }
    }

    /// Results and checks.
    fn roots(&self) -> Vec<Register> {
        let outputs = self.program.outputs.iter().map(|output| output.register);
        outputs.chain(self.program.checks.iter().map(|check| check.register)).collect()
    }

    fn writer(&self, register: Register) -> Option<&'a Step> {
        self.writers.get(at(register)?).copied().flatten()
    }

    /// Which way a choice has gone; none where that is not known.
    fn truth(&self, register: Register) -> Option<bool> {
        let slot: &ExactSlot = self.results.run().register(register).ok()?;
        match slot {
            Slot::Truth(truth) => Some(*truth),
            _ => None,
        }
    }

    /// The inputs on which registers depend; `chosen` follows only the cases that apply.
    fn behind(&self, registers: Vec<Register>, chosen: bool) -> BTreeSet<usize> {
        let mut found = BTreeSet::new();
        for register in self.reached(registers, chosen) {
            self.writer(register).iter().for_each(|step| self.inputs_of(&step.op, &mut found));
        }
        found
    }

    /// The registers on which registers depend, with these; `chosen` follows only the cases that apply.
    fn reached(&self, mut waiting: Vec<Register>, chosen: bool) -> BTreeSet<Register> {
        let mut seen = BTreeSet::new();
        while let Some(register) = waiting.pop() {
            if !seen.insert(register) {
                continue;
            }
            let Some(step) = self.writer(register) else { continue };
            match (&step.op, chosen) {
                (Op::Select(which, yes, no), true) => {
                    waiting.push(*which);
                    match self.truth(*which) {
                        Some(true) => waiting.push(*yes),
                        Some(false) => waiting.push(*no),
                        None => waiting.extend([*yes, *no]),
                    }
                }
                (op, _) => {
                    let mut all = BTreeSet::new();
                    operands(self.program, op, &mut all);
                    waiting.extend(all);
                }
            }
        }
        seen
    }

    /// The inputs that an operation or a block of it reads itself.
    fn inputs_of(&self, op: &Op, found: &mut BTreeSet<usize>) {
        if let Op::Input(input) = op {
            found.extend(usize::try_from(input.0).ok());
        }
        let block =
            op.calls().and_then(|BlockId(at)| self.program.blocks.get(usize::try_from(at).ok()?));
        for step in block.map(|block| block.steps.as_slice()).unwrap_or_default() {
            self.inputs_of(&step.op, found);
        }
    }

    /// The inputs that decide the choices by which an input is left out.
    fn in_the_way_of(&self, input: usize) -> BTreeSet<usize> {
        let mut found = BTreeSet::new();
        for step in &self.program.steps {
            let Op::Select(which, yes, no) = &step.op else { continue };
            let left_out = match self.truth(*which) {
                Some(true) => *no,
                Some(false) => *yes,
                None => continue,
            };
            if self.behind(vec![left_out], false).contains(&input) {
                found.extend(self.behind(vec![*which], true));
            }
        }
        found
    }
}

fn at(register: Register) -> Option<usize> {
    register.place()
}
