//! Inputs that were given and on which nothing that was calculated depends, in the case that was chosen.

use std::collections::{BTreeMap, BTreeSet};

use super::{Inputs, Results, written};
use crate::diagnostic::{Diagnostic, Name, Place};
use crate::language::Body;
use crate::number::{ExactRun, ExactSlot, InputValue, Slot, operands, run_exact};
use crate::program::{BlockId, Input, LineSource, Op, Program, Register, Step, Type};
use crate::unit::Literal;

impl Inputs {
    /// Whether an input has another value than the sheet's default, given by a person; without a default, than its
    /// example, which a form shows.
    pub(crate) fn differs(&self, input: &Input) -> bool {
        let usual = usual_of(input);
        let same = |a: &Literal, b: &Literal| a.si_f64() == b.si_f64();
        !self.is_example(input)
            && match (self.value(input), usual) {
                (None, _) => false,
                (Some(InputValue::One(value)), [usual, ..]) => !same(&value, usual),
                (Some(InputValue::Word(at)), [usual, ..]) => {
                    usize::try_from(usual.digits).ok() != Some(at)
                }
                (Some(InputValue::Many(values)), usual) => {
                    values.len() != usual.len()
                        || !values.iter().zip(usual).all(|(a, b)| same(a, b))
                }
                (Some(_), []) => true,
            }
    }

    /// The same inputs with the sheet's example for each that has no value and that words of a choice leave out: nothing
    /// depends on it, so nobody need give it. None where there is no such input.
    pub(crate) fn spared(&self) -> Option<Self> {
        let program = self.program();
        let inputs = program.inputs.iter().enumerate();
        let missing = inputs.filter(|(_, input)| {
            let is_open = self.value(input).is_none() && !self.is_given_up(&input.name);
            is_open && !input.example.is_empty()
        });
        let missing: Vec<usize> = missing.map(|(at, _)| at).collect();
        if missing.is_empty() {
            return None;
        }
        // what else has no value is looked at with its example; it has no say in what is left out
        let mut whole = self.clone();
        let open = program.inputs.iter().filter(|input| self.value(input).is_none());
        open.for_each(|input| whole.take_example(input));
        let given: Vec<_> = program.inputs.iter().map(|input| whole.value(input)).collect();
        let run = run_exact(program, &given);
        let found = Slices::of(program, &run).without_effect(missing);
        let mut open: Vec<LeftOut> = found.into_iter().filter(|it| it.chosen).collect();
        let mut spared = self.clone();
        // a choice that is left out itself leaves others out
        loop {
            let has_value = |at: &usize| {
                program.inputs.get(*at).is_some_and(|input| spared.value(input).is_some())
            };
            let (now, later): (Vec<LeftOut>, Vec<LeftOut>) =
                open.into_iter().partition(|it| it.others.iter().all(has_value));
            if now.is_empty() {
                break;
            }
            now.iter().filter_map(|it| program.inputs.get(it.at)).for_each(|it| spared.spare(it));
            open = later;
        }
        spared.any_spared().then_some(spared)
    }
}

/// What a sheet shows as the value of an input: its default, or its example.
pub(crate) fn usual_of(input: &Input) -> &[Literal] {
    input.default.as_ref().map_or(input.example.as_slice(), std::slice::from_ref)
}

impl Results {
    /// Inputs that were given, have no effect, and differ from the sheet's default, or from its example.
    ///
    /// A value that changes no result and no check because another figure stands in its place is an error: two
    /// statements of one thing. Where a choice between words leaves it out, as a form that lists the inputs of all
    /// cases does, it is a caution; there it need not be given, whether it has a default or not. An input without a
    /// default that numbers leave out must be given, and one that is given as the sheet shows it says nothing new;
    /// neither is reported.
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
        let found = self.left_out().into_iter();
        found.filter_map(|it| Some(self.unused_input(inputs.get(it.at)?, &it))).collect()
    }

    /// The problems among [`unused`](Self::unused) that stop a calculation.
    #[must_use]
    pub fn unused_errors(&self) -> Vec<Diagnostic> {
        self.unused().into_iter().filter(Diagnostic::is_error).collect()
    }

    /// The inputs of [`unused_errors`](Self::unused_errors), by their place in the program.
    pub(crate) fn idle(&self) -> Vec<usize> {
        self.left_out().into_iter().filter(|it| !it.chosen).map(|it| it.at).collect()
    }

    /// The inputs that need not be given in this case, since nothing depends on them, whatever their values, and whether
    /// words have chosen it.
    pub(crate) fn left_out_here(&self) -> BTreeMap<usize, bool> {
        let all = (0..self.program().inputs.len()).collect();
        let found = self.slices().without_effect(all).into_iter();
        found.map(|it| (it.at, it.chosen)).collect()
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
        let slices = self.slices();
        slices.reached(slices.roots(), if chosen { Follow::Applied } else { Follow::All })
    }

    fn slices(&self) -> Slices<'_> {
        Slices::of(self.program(), self.run())
    }

    /// Inputs without effect that differ from what the sheet shows.
    fn left_out(&self) -> Vec<LeftOut> {
        let inputs = self.program().inputs.iter().enumerate();
        let given = inputs
            .filter(|(_, input)| self.inputs().is_given(input) && self.inputs().differs(input))
            .map(|(at, _)| at)
            .collect();
        self.slices().without_effect(given)
    }

    fn unused_input(&self, input: &Input, left_out: &LeftOut) -> Diagnostic {
        let LeftOut { others, chosen, .. } = left_out;
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
            .filter(|other| !*chosen || matches!(other.type_, Type::Choice(_)))
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
        let problem = match *chosen {
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

/// An input without effect.
struct LeftOut {
    /// Its place in the program.
    at: usize,
    /// Those that leave it out.
    others: BTreeSet<usize>,
    /// Whether choices between words alone do.
    chosen: bool,
}

/// What of a condition is followed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Follow {
    /// Every case and every half.
    All,
    /// The cases that apply.
    Applied,
    /// Of these, of an `and` or `or` that a choice between words decides, that half alone.
    Decided,
}

/// What depends on what in a program that has run.
struct Slices<'a> {
    program: &'a Program,
    run: &'a ExactRun,
    /// The step that writes each register.
    writers: Vec<Option<&'a Step>>,
}

impl<'a> Slices<'a> {
    fn of(program: &'a Program, run: &'a ExactRun) -> Self {
        let mut writers = vec![None; usize::try_from(program.registers).unwrap_or(0)];
        for step in &program.steps {
            if let Some(writer) = at(step.to).and_then(|at| writers.get_mut(at)) {
                *writer = Some(step);
            }
        }
        Self { program, run, writers }
    }

    /// Those of some inputs that have no effect and need not be given: that have a default, or that words leave out.
    fn without_effect(&self, all: Vec<usize>) -> Vec<LeftOut> {
        if all.is_empty() {
            return Vec::new();
        }
        let [applied, decided] =
            [Follow::Applied, Follow::Decided].map(|it| self.behind(self.roots(), it));
        let idle = all.into_iter().filter(|at| !decided.contains(at));
        let found = idle.map(|at| {
            let others = self.in_the_way_of(at);
            // half of a condition that words decide leaves it out: another choice may need it
            let chosen = applied.contains(&at) || self.is_chosen(&others);
            LeftOut { at, others, chosen }
        });
        let has_default =
            |at: usize| self.program.inputs.get(at).is_some_and(|it| it.default.is_some());
        found.filter(|it| it.chosen || has_default(it.at)).collect()
    }

    /// Whether only choices between words leave an input out.
    fn is_chosen(&self, others: &BTreeSet<usize>) -> bool {
        let of = |at: &usize| self.program.inputs.get(*at);
        let mut choices = others.iter().filter_map(of);
        !others.is_empty() && choices.all(|input| matches!(input.type_, Type::Choice(_)))
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
        let slot: &ExactSlot = self.run.register(register).ok()?;
        match slot {
            Slot::Truth(truth) => Some(*truth),
            _ => None,
        }
    }

    /// The half of an `and` or `or` that decides it and rests upon choices between words alone.
    fn decided(&self, op: &Op) -> Option<(Register, Register)> {
        let (one, other, decides) = match op {
            Op::Both(one, other) => (*one, *other, false),
            Op::Either(one, other) => (*one, *other, true),
            _ => return None,
        };
        let of_words = |half: Register| {
            let behind = self.behind(vec![half], Follow::Decided);
            let inputs = behind.iter().filter_map(|at| self.program.inputs.get(*at));
            let mut words = inputs.map(|input| matches!(input.type_, Type::Choice(_)));
            !behind.is_empty() && words.all(|it| it)
        };
        let mut halves = [(one, other), (other, one)].into_iter();
        halves.find(|(half, _)| self.truth(*half) == Some(decides) && of_words(*half))
    }

    /// The inputs on which registers depend.
    fn behind(&self, registers: Vec<Register>, follow: Follow) -> BTreeSet<usize> {
        let mut found = BTreeSet::new();
        for register in self.reached(registers, follow) {
            self.writer(register).iter().for_each(|step| self.inputs_of(&step.op, &mut found));
        }
        found
    }

    /// The registers on which registers depend, with these.
    fn reached(&self, mut waiting: Vec<Register>, follow: Follow) -> BTreeSet<Register> {
        let mut seen = BTreeSet::new();
        while let Some(register) = waiting.pop() {
            if !seen.insert(register) {
                continue;
            }
            let Some(step) = self.writer(register) else { continue };
            if follow == Follow::Decided
                && let Some((half, _)) = self.decided(&step.op)
            {
                waiting.push(half);
                continue;
            }
            match (&step.op, follow != Follow::All) {
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
            let (decides, left_out) = match &step.op {
                Op::Select(which, yes, no) => match self.truth(*which) {
                    Some(true) => (*which, *no),
                    Some(false) => (*which, *yes),
                    None => continue,
                },
                op => match self.decided(op) {
                    Some(halves) => halves,
                    None => continue,
                },
            };
            if self.behind(vec![left_out], Follow::All).contains(&input) {
                found.extend(self.behind(vec![decides], Follow::Decided));
            }
        }
        found
    }
}

fn at(register: Register) -> Option<usize> {
    register.place()
}
