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

    /// The same inputs with the sheet's example for each that has no value and that words of a choice leave out, so that
    /// nobody need give it. None where there is no such input.
    pub(crate) fn spared(&self) -> Option<Self> {
        self.with_spared(&Self::left_out_by_words)
    }

    /// As [`Self::spared`], where the word of a choice could not be read: by any of its words.
    pub(super) fn spared_by_any_word(&self) -> Option<Self> {
        self.with_spared(&Self::left_out_by_any_word)
    }

    fn with_spared(&self, left_out: &dyn Fn(&Self) -> BTreeSet<usize>) -> Option<Self> {
        let inputs = self.program().inputs.iter().enumerate();
        let missing = inputs.filter(|(_, it)| {
            let is_open = self.value(it).is_none() && !self.is_given_up(&it.name);
            is_open && !it.example.is_empty()
        });
        let missing: Vec<(usize, &Input)> = missing.collect();
        if missing.is_empty() {
            return None;
        }
        let (left_out, mut spared) = (left_out(self), self.clone());
        let idle = missing.into_iter().filter(|(at, _)| left_out.contains(at));
        idle.for_each(|(_, it)| spared.spare(it));
        spared.any_spared().then_some(spared)
    }

    /// The inputs that words of choices leave out, given or not, by their place in the program: nothing depends on them,
    /// whatever the numbers are.
    fn left_out_by_words(&self) -> BTreeSet<usize> {
        let inputs = || self.program().inputs.iter().enumerate();
        // what has no value is looked at with its example, and has no say in what is left out
        let mut whole = self.clone();
        let open = || inputs().filter(|(_, it)| self.value(it).is_none());
        open().for_each(|(_, it)| whole.take_example(it));
        let given: Vec<_> = inputs().map(|(_, input)| whole.value(input)).collect();
        let run = run_exact(self.program(), &given);
        let open = open().map(|(at, _)| at).collect();
        let slices = Slices { open, ..Slices::of(self.program(), &run) };
        let needed = slices.behind(slices.roots(), Follow::Words);
        inputs().map(|(at, _)| at).filter(|at| !needed.contains(at)).collect()
    }

    /// The same, where the word of a choice could not be read, by any of its words.
    pub(crate) fn left_out_by_any_word(&self) -> BTreeSet<usize> {
        let mut cases = vec![self.clone()];
        let unread = self.program().inputs.iter().filter(|it| self.is_given_up(&it.name));
        for input in unread {
            let Type::Choice(words) = &input.type_ else { continue };
            if cases.len() * words.len() > CASES {
                break;
            }
            let with = |(of, word): (&Self, usize)| {
                let mut one = of.clone();
                one.store(&input.name, InputValue::Word(word), None);
                one
            };
            let all = cases.iter().flat_map(|it| (0..words.len()).map(move |word| (it, word)));
            cases = all.map(with).collect();
        }
        cases.iter().flat_map(Self::left_out_by_words).collect()
    }
}

/// How many combinations of words are tried at most.
const CASES: usize = 64;

/// What a sheet shows as the value of an input: its default, or its example.
pub(crate) fn usual_of(input: &Input) -> &[Literal] {
    input.default.as_ref().map_or(input.example.as_slice(), std::slice::from_ref)
}

impl Results {
    /// Inputs that were given, have no effect, and differ from the sheet's default, or from its example: one caution
    /// each, that names what leaves it out, whether words or numbers do.
    ///
    /// None of them need be given. An input without a default that numbers leave out must be, and is not reported; nor is
    /// one that a tolerance, or the search for a value, of what leaves it out may bring in again.
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
    /// let cautions = sheet.run(&inputs)?.unused();
    /// assert!(cautions[0].headline.contains("`rho`"));
    /// assert!(cautions[0].remedy.contains("change `m`, which leaves it out"));
    /// # Ok::<(), standstill::Problems>(())
    /// ```
    #[must_use]
    pub fn unused(&self) -> Vec<Diagnostic> {
        let inputs = &self.program().inputs;
        let given = inputs.iter().enumerate();
        let given = given
            .filter(|(_, input)| self.inputs().is_given(input) && self.inputs().differs(input))
            .map(|(at, _)| at)
            .collect();
        let found = self.without_effect(given).into_iter();
        found.filter_map(|it| Some(self.unused_input(inputs.get(it.at)?, &it))).collect()
    }

    /// The inputs that need not be given in this case, since nothing depends on them, whatever their values, and whether
    /// words have chosen it.
    pub(crate) fn left_out_here(&self) -> BTreeMap<usize, bool> {
        let all = (0..self.program().inputs.len()).collect();
        self.without_effect(all).into_iter().map(|it| (it.at, it.chosen)).collect()
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

    /// Whether a register rests on an input that nobody gave, since the case that was chosen leaves it out: a figure of the
    /// sheet's example, which nothing that is shown needs.
    pub(crate) fn rests_on_spared(&self) -> impl Fn(Register) -> bool {
        let inputs = self.program().inputs.iter().enumerate();
        let spared = inputs.filter(|(_, input)| self.inputs().is_spared(input));
        let spared: BTreeSet<usize> = spared.map(|(at, _)| at).collect();
        // what holds the place of an unknown word decides nothing
        let slices = Slices { open: spared.clone(), ..self.slices() };
        move |register| {
            let behind = || slices.behind(vec![register], Follow::Decided);
            !spared.is_empty() && !behind().is_disjoint(&spared)
        }
    }

    fn slices(&self) -> Slices<'_> {
        Slices::of(self.program(), self.run())
    }

    /// Those of some inputs that have no effect, however far what leaves them out may lie from its value.
    fn without_effect(&self, all: Vec<usize>) -> Vec<LeftOut> {
        let moves = |at: &usize| {
            let of = self.program().inputs.get(*at);
            of.is_some_and(|it| self.inputs().spread(it).is_some() || self.inputs().is_sought(it))
        };
        let found = self.slices().without_effect(all).into_iter();
        found.filter(|it| !it.others.iter().any(moves)).collect()
    }

    fn unused_input(&self, input: &Input, left_out: &LeftOut) -> Diagnostic {
        let value = match (self.inputs().value(input), &input.type_) {
            (Some(InputValue::One(value)), _) => format!(" = {}", written(&value)),
            (Some(InputValue::Word(at)), Type::Choice(words)) => {
                words.get(at).map_or(String::new(), |word| format!(" = {word}"))
            }
            _ => String::new(),
        };
        let others = self.brings_in(left_out);
        let others = others.iter().filter_map(|at| self.program().inputs.get(*at));
        let names: Vec<String> = others.map(|other| format!("`{}`", other.name)).collect();
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
        let problem = Diagnostic::caution(Name::InputWithoutEffect, words);
        let problem = problem.at(self.inputs().place(input)).remedy(remedy);
        match &input.place {
            Place::Text { .. } => problem.label(input.place.clone(), "what it is"),
            _ => problem,
        }
    }

    /// Of what leaves an input out, the numbers, and the choices of which another word alone brings it in; all where it
    /// takes more.
    fn brings_in(&self, left_out: &LeftOut) -> BTreeSet<usize> {
        let program = self.program();
        let is_choice = |at: usize| {
            program.inputs.get(at).is_some_and(|it| matches!(it.type_, Type::Choice(_)))
        };
        let others = left_out.others.iter().copied().filter(|at| *at != left_out.at);
        let others: BTreeSet<usize> =
            others.filter(|at| !left_out.chosen || is_choice(*at)).collect();
        let given: Vec<_> = program.inputs.iter().map(|it| self.inputs().value(it)).collect();
        let does = |at: &usize| {
            let Some(Type::Choice(words)) = program.inputs.get(*at).map(|it| &it.type_) else {
                return true;
            };
            (0..words.len()).any(|word| {
                let mut given = given.clone();
                if let Some(value) = given.get_mut(*at) {
                    *value = Some(InputValue::Word(word));
                }
                let run = run_exact(program, &given);
                let slices = Slices::of(program, &run);
                slices.behind(slices.roots(), Follow::Decided).contains(&left_out.at)
            })
        };
        let found: BTreeSet<usize> = others.iter().copied().filter(does).collect();
        if found.is_empty() { others } else { found }
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
    /// What words alone leave over, whatever the numbers are: the cases that apply where only choices between words decide
    /// them, the half that words decide, and else all.
    Words,
}

/// What depends on what in a program that has run.
struct Slices<'a> {
    program: &'a Program,
    run: &'a ExactRun,
    /// The step that writes each register.
    writers: Vec<Option<&'a Step>>,
    /// The inputs whose value is not known: an example holds their place.
    open: BTreeSet<usize>,
}

impl<'a> Slices<'a> {
    fn of(program: &'a Program, run: &'a ExactRun) -> Self {
        let mut writers = vec![None; usize::try_from(program.registers).unwrap_or(0)];
        for step in &program.steps {
            if let Some(writer) = at(step.to).and_then(|at| writers.get_mut(at)) {
                *writer = Some(step);
            }
        }
        Self { program, run, writers, open: BTreeSet::new() }
    }

    /// Those of some inputs that have no effect and need not be given: that have a default, or that words leave out.
    fn without_effect(&self, all: Vec<usize>) -> Vec<LeftOut> {
        if all.is_empty() {
            return Vec::new();
        }
        let reached = self.reached(self.roots(), Follow::Decided);
        let [words, decided] =
            [Follow::Words, Follow::Decided].map(|it| self.behind(self.roots(), it));
        let idle = all.into_iter().filter(|at| !decided.contains(at));
        let found = idle.map(|at| {
            let others = self.in_the_way_of(at, &reached);
            LeftOut { at, others, chosen: !words.contains(&at) }
        });
        let has_default =
            |at: usize| self.program.inputs.get(at).is_some_and(|it| it.default.is_some());
        found.filter(|it| it.chosen || has_default(it.at)).collect()
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
        let mut halves = [(one, other), (other, one)].into_iter();
        halves.find(|(half, _)| self.truth(*half) == Some(decides) && self.is_of_words(*half))
    }

    /// Whether a condition rests upon choices between words alone, of which each is known.
    fn is_of_words(&self, condition: Register) -> bool {
        let behind = self.behind(vec![condition], Follow::Words);
        let known = |at: &usize| {
            let input = self.program.inputs.get(*at).filter(|_| !self.open.contains(at));
            input.is_some_and(|input| matches!(input.type_, Type::Choice(_)))
        };
        !behind.is_empty() && behind.iter().all(known)
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
            if matches!(follow, Follow::Decided | Follow::Words)
                && let Some((half, _)) = self.decided(&step.op)
            {
                waiting.push(half);
                continue;
            }
            let follows = match (&step.op, follow) {
                (_, Follow::All) => false,
                (Op::Select(which, ..), Follow::Words) => self.is_of_words(*which),
                _ => true,
            };
            match (&step.op, follows) {
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

    /// The inputs that decide the choices by which an input is left out, among the registers that are reached.
    fn in_the_way_of(&self, input: usize, reached: &BTreeSet<Register>) -> BTreeSet<usize> {
        let mut found = BTreeSet::new();
        for step in self.program.steps.iter().filter(|step| reached.contains(&step.to)) {
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
