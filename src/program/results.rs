//! The checks and the results of a sheet.

use std::collections::{BTreeMap, HashMap, HashSet};
use std::sync::Arc;

use super::across::Across;
use super::compile::Compiler;
use super::decided::number;
use super::flat::{Check, Direction, Line, LineSource, Op, Output, Register, Relation, Type};
use super::scope::{Named, Sheet, Value};
use super::works::{NO_UNIT, result_unit, unit_to_type};
use super::{lint, mismatch, suggest};
use crate::diagnostic::{Diagnostic, Name, Place};
use crate::language::{Expression, Give, Node, Setting};
use crate::unit::{self, Unit};

impl Compiler<'_> {
    /// All lines of `holds`.
    pub(super) fn holds(&mut self, sheet: &mut Sheet) {
        let tree = Arc::clone(&sheet.tree);
        let mut registers = Vec::new();
        for line in &tree.holds {
            let id = self.next_line();
            self.line = id;
            let Some(truth) = self.truth_of(sheet, &line.condition) else { continue };
            registers.push((sheet.place(&line.condition.span), truth.register));
            let written =
                sheet.text(&line.condition.span).split_whitespace().collect::<Vec<_>>().join(" ");
            let sides = if matches!(line.condition.node, Node::Compare(..)) {
                self.sides(&truth)
            } else {
                None
            };
            let place = sheet.place(&line.span);
            let unit = self.side_unit(sheet, &line.condition);
            self.hardly_equal(sheet, &line.condition, &unit);
            self.put_line(
                id,
                Line {
                    name: format!(
                        "{}{}",
                        sheet.path,
                        if line.text.is_empty() { &written } else { &line.text }
                    ),
                    scope: sheet.scope,
                    register: truth.register,
                    unit: unit.clone(),
                    type_: Type::Truth,
                    note: line.text.clone(),
                    place: place.clone(),
                    says: LineSource::Holds(Arc::new(line.clone())),
                },
            );
            let text = if line.text.is_empty() { written.clone() } else { line.text.clone() };
            // parts that are handed the same values ask the same: once is enough
            let same = self.program.checks.iter().filter(|it| {
                it.text == text && it.otherwise == line.otherwise && it.caution == line.caution
            });
            let same: Vec<Register> = same.map(|it| it.register).collect();
            let ops = self.ops();
            if same.iter().any(|it| is_alike(&ops, *it, truth.register)) {
                continue;
            }
            self.program.checks.push(Check {
                register: truth.register,
                sides,
                unit,
                text,
                written,
                otherwise: line.otherwise.clone(),
                caution: line.caution,
                path: sheet.path.trim_end_matches('.').to_owned(),
                place,
                line: id,
            });
        }
        self.settle_integrals();
        // a sheet used by another may be handed numbers, and one without inputs has no other checks
        if sheet.path.is_empty() && !self.program.inputs.is_empty() {
            self.checked_without_inputs(&registers);
            self.held_by_ranges(&registers);
            self.answered_by_ranges();
        }
    }

    /// A check that two measured values differ, which they practically always do.
    fn hardly_equal(&mut self, sheet: &Sheet, condition: &Expression, unit: &Unit) {
        let Node::Compare(a, relation, b) = &condition.node else { return };
        let is_measured = !unit.dimension.is_none();
        let is_written = [a, b].iter().any(|side| number(side).is_some());
        if relation.value != Relation::Unequal || !is_measured || is_written {
            return;
        }
        let headline =
            "two measured values are hardly ever equal: this check practically always holds";
        self.problems.push(
            Diagnostic::caution(Name::DecidedCheck, headline)
                .at(sheet.place(&condition.span))
                .remedy("write by how much they must differ, as `a >= 1.1 * b`"),
        );
    }

    /// Checks on which no input bears, where comparing alone does not show it.
    fn checked_without_inputs(&mut self, registers: &[(Place, Register)]) {
        let by_register = self.ops();
        let decided = registers.iter().filter(|(place, register)| {
            let is_reported =
                |it: &Diagnostic| it.name == Name::DecidedCheck && it.place.as_ref() == Some(place);
            !self.on_the_way(&by_register, *register, |op| matches!(op, Op::Input(_)))
                && !self.problems.iter().any(is_reported)
        });
        let problems: Vec<Diagnostic> = decided
            .map(|(place, _)| {
                Diagnostic::error(
                    Name::DecidedCheck,
                    "no input bears on this check: its outcome is always the same",
                )
                .at(place.clone())
                .remedy("check what depends on an input, or leave the check out")
            })
            .collect();
        self.problems.extend(problems);
    }

    /// Both sides of a check that is one comparison.
    fn sides(&self, truth: &Value) -> Option<(Relation, Register, Register)> {
        self.steps.iter().rev().find(|step| step.to == truth.register).and_then(|step| {
            match step.op {
                Op::Compare(relation, a, b) => Some((relation, a, b)),
                _ => None,
            }
        })
    }

    /// The unit in which the sides of a check are shown: that of a name in it, else the usual one.
    fn side_unit(&self, sheet: &Sheet, tree: &Expression) -> Unit {
        let Node::Compare(a, _, b) = &tree.node else { return Unit::one() };
        for side in [a, b] {
            if let Node::Name(name) = &side.node {
                let line = sheet
                    .lines
                    .get(name)
                    .and_then(|id| usize::try_from(id.0).ok())
                    .and_then(|at| self.program.lines.get(at));
                if let Some(line) = line {
                    return line.unit.clone();
                }
            }
        }
        // no name on either side: the unit of a number that is written there, if any
        for side in [a, b] {
            if let Node::Number { unit: Some(word), .. } = &side.node
                && let Ok(unit) = unit::parse_unit(&word.value)
            {
                return unit;
            }
        }
        let left = self.steps.last().and_then(|step| match step.op {
            Op::Compare(_, a, _) => self.type_of(a),
            _ => None,
        });
        match left {
            Some(Type::Number { dimension, point, .. }) => unit::usual_unit(*dimension, *point),
            _ => Unit::one(),
        }
    }

    /// All results.
    pub(super) fn gives(&mut self, sheet: &mut Sheet) -> BTreeMap<String, Value> {
        let tree = Arc::clone(&sheet.tree);
        let mut results = BTreeMap::new();
        for give in &tree.gives {
            if let Some(value) = self.result(sheet, give)
                && results.insert(give.name.value.clone(), value).is_some()
            {
                self.problems.push(
                    Diagnostic::error(
                        Name::DefinedTwice,
                        format!("the result `{}` is given twice", give.name.value),
                    )
                    .at(sheet.place(&give.span))
                    .remedy("leave one of them out, or give the second a line of its own in works"),
                );
            }
        }
        let is_sound = !self.problems.iter().any(Diagnostic::is_error);
        if tree.gives.is_empty() && sheet.path.is_empty() && is_sound {
            self.problems.push(
                Diagnostic::error(Name::UndefinedResult, "the sheet gives no result")
                    .at(sheet.place(&(0..0)))
                    .remedy("list the results: `gives`, and below it `name in unit`"),
            );
        }
        results
    }

    fn result(&mut self, sheet: &mut Sheet, give: &Give) -> Option<Value> {
        let name = &give.name.value;
        let value = match sheet.names.get(name) {
            Some(Named::Value(value, kind)) => {
                let mut value = value.clone();
                if let Some(across) = kind.and_then(Across::of_kind) {
                    value.factors.take_across(Some(across));
                }
                let part = |kind: &unit::Kind| ["share", "efficiency"].contains(&kind.name);
                value.factors.part |= kind.is_some_and(part);
                value
            }
            Some(Named::Silent) => return None,
            Some(_) => {
                self.problems.push(
                    Diagnostic::error(
                        Name::UndefinedResult,
                        format!("`{name}` is not a value and cannot be a result"),
                    )
                    .at(sheet.place(&give.name.span))
                    .remedy(format!("give the value a name in works: `result = {name}…`")),
                );
                return None;
            }
            None if sheet.is_broken(name) => return None,
            None => {
                let has_unit = |value: &Value| match (&value.type_, &give.unit) {
                    (Type::Number { dimension, point, .. }, Some(unit)) => {
                        result_unit(&unit.value, *dimension, *point).is_some()
                    }
                    _ => give.unit.is_none(),
                };
                let known = sheet
                    .names_of(|named| matches!(named, Named::Value(value, _) if has_unit(value)));
                let near = suggest::nearest(name, known);
                let remedy = match near.first() {
                    Some((near, _)) => format!("did you mean `{near}`?"),
                    None => format!("define it in works: `{name} = …`"),
                };
                self.problems.push(
                    Diagnostic::error(
                        Name::UndefinedResult,
                        format!("the result `{name}` is never defined"),
                    )
                    .at(sheet.place(&give.name.span))
                    .remedy(remedy),
                );
                return None;
            }
        };
        let unit = self.unit_of_result(sheet, give, &value)?;
        let id = self.next_line();
        self.line = id;
        let tree = Expression { node: Node::Name(name.clone()), span: give.name.span.clone() };
        let register = value.register;
        let mut made = value.clone();
        let mut rounding = String::new();
        if let Some(asked) = &give.rounding {
            let Type::Number { .. } = value.type_ else { return None };
            made = self.rounded(sheet, &tree, value, asked)?;
            made.named = Some((name.clone(), sheet.place(&give.name.span)));
            let way = match asked.direction {
                Direction::Up => "rounded up to",
                Direction::Down => "rounded down to",
                Direction::Nearest => "rounded to",
            };
            rounding = format!("{way} {}", sheet.text(&asked.step.span));
        }
        let setting = match &give.setting {
            Some(setting) => Some(self.setting(sheet, &tree, &made, setting)?),
            None => None,
        };
        let note = match give.note.as_str() {
            "" => self.words_of(sheet, name, register),
            own => own.to_owned(),
        };
        let place = sheet.place(&give.span);
        self.put_line(
            id,
            Line {
                name: format!("{}{name}", sheet.path),
                scope: sheet.scope,
                register: made.register,
                unit: unit.clone(),
                type_: made.type_.clone(),
                note: note.clone(),
                place: place.clone(),
                says: LineSource::Gives,
            },
        );
        if let (Some((step, low, high)), true) = (setting, sheet.path.is_empty()) {
            self.settable(sheet, give, &made, &unit, (step, low, high));
        }
        if sheet.path.is_empty() {
            self.exists(sheet, give, &made);
            self.not_below_zero(sheet, give, &made, &unit);
            self.program.outputs.push(Output {
                name: name.clone(),
                register: made.register,
                type_: made.type_.clone(),
                unit,
                rounding,
                setting,
                note,
                place,
                line: id,
            });
        }
        Some(made)
    }

    /// What a value is: the words of its own line, else those of a line of a used sheet from which it comes as it is.
    fn words_of(&self, sheet: &Sheet, name: &str, register: Register) -> String {
        let place = sheet.lines.get(name).and_then(|id| usize::try_from(id.0).ok());
        let own = place.and_then(|at| self.program.lines.get(at));
        let others = self.program.lines.iter().filter(|line| {
            line.register == register
                && matches!(line.says, LineSource::Works(_) | LineSource::Gives)
        });
        let mut notes = own.into_iter().chain(others).map(|line| line.note.as_str());
        notes.find(|note| !note.is_empty()).unwrap_or_default().to_owned()
    }

    fn unit_of_result(&mut self, sheet: &Sheet, give: &Give, value: &Value) -> Option<Unit> {
        let Type::Number { dimension, point, .. } = value.type_ else {
            return Some(Unit::one());
        };
        // a radius, a diameter and a travel per turn are read in the units of their own kind alone
        let own = value.factors.across.and_then(|across| Some((across, across.kind()?)));
        let usual = || match own {
            Some((Across::Lead, kind)) => Some(kind.usual_unit().symbol),
            _ => unit_to_type(dimension, point),
        };
        if let (Some(word), Some((across, kind))) = (&give.unit, own)
            && kind.unit_written(&word.value).is_none()
            && self.given_unit(&word.value, dimension, point).is_some()
        {
            let unit = kind.usual_unit().symbol;
            let name = &give.name.value;
            let headline = format!(
                "the result `{name}` is {}, and `{}` is not a unit of it",
                across.to_text(),
                word.value
            );
            let turns = match across {
                Across::Lead => ", or multiply it by the angle that is turned, such as `1 r`",
                _ => "",
            };
            self.problems.push(
                Diagnostic::error(Name::WrongPowerOfRad, headline)
                    .at(sheet.place(&word.span))
                    .remedy(format!("write `{}`{turns}", written(sheet, give, &unit))),
            );
            return None;
        }
        if let Some(word) = &give.unit
            && lint::is_angular(&value.factors)
            && word.value.contains("Hz")
        {
            self.problems.push(lint::angular(&give.name.value).at(sheet.place(&word.span)));
            return None;
        }
        let Some(word) = &give.unit else {
            if dimension.is_none() {
                return Some(Unit::one());
            }
            self.problems.push(
                Diagnostic::error(
                    Name::MissingUnit,
                    format!(
                        "the result `{}` is {} and needs a unit",
                        give.name.value,
                        unit::name_of(dimension)
                    ),
                )
                .at(sheet.place(&give.head()))
                .remedy(match usual() {
                    Some(usual) => format!("write `{}`", written(sheet, give, &usual)),
                    None => NO_UNIT.to_owned(),
                }),
            );
            return None;
        };
        if let Some(unit) = self.given_unit(&word.value, dimension, point) {
            return Some(unit);
        }
        match unit::parse_unit(&word.value) {
            Ok(unit) => {
                let name = mismatch::name_of(dimension, unit.dimension).unwrap_or(Name::ResultUnit);
                let mut problem = Diagnostic::error(
                    name,
                    format!(
                        "the result `{}` is {}, and `{}` is a unit of {}",
                        give.name.value,
                        unit::name_of(dimension),
                        word.value,
                        bare(&unit::name_of(unit.dimension)),
                    ),
                )
                .at(sheet.place(&word.span));
                if let Some((_, place)) = &value.named {
                    problem = problem.label(place.clone(), bare(&unit::name_of(dimension)));
                }
                self.problems.push(problem.remedy(match usual() {
                    Some(usual) => {
                        format!("write `{}`, or check the formula", written(sheet, give, &usual))
                    }
                    None => NO_UNIT.to_owned(),
                }));
            }
            Err(problem) => {
                let start = word.span.start;
                let span = start + problem.span.start..start + problem.span.end;
                let unknown = mismatch::unit_problem(&problem).at(sheet.place(&span));
                // what may have been meant is a unit of this result, or nothing is recommended
                let is = |unit: &&String| result_unit(unit, dimension, point).is_some();
                let meant = problem.nearest.iter().find(is).cloned();
                let certain = problem.certain && meant.as_ref() == problem.nearest.first();
                self.problems.push(match (meant, usual()) {
                    (Some(_), _) if certain => unknown,
                    (Some(unit), _) => unknown.remedy(format!("did you mean `{unit}`?")),
                    (None, Some(usual)) => {
                        unknown.remedy(format!("write `{}`", written(sheet, give, &usual)))
                    }
                    (None, None) => unknown.remedy(NO_UNIT),
                });
            }
        }
        None
    }

    /// Step, lowest and highest value of what is set in the drive.
    fn setting(
        &mut self,
        sheet: &mut Sheet,
        tree: &Expression,
        value: &Value,
        setting: &Setting,
    ) -> Option<(Register, Register, Register)> {
        let mut registers = Vec::new();
        for part in [&setting.step, &setting.low, &setting.high] {
            let found = self.number_of(sheet, part)?;
            let span = part.span.clone();
            self.alike(sheet, ("compared", &span), (tree, value), (part, &found))?;
            registers.push(found.register);
        }
        match registers.as_slice() {
            [step, low, high] => Some((*step, *low, *high)),
            _ => None,
        }
    }

    /// Whether a `never` stands anywhere on the way to a register.
    pub(super) fn may_never_exist(&self, register: Register) -> bool {
        let blocks = self.program.blocks.iter().flat_map(|block| &block.steps);
        let is_never = |op: &Op| matches!(op, Op::Never(_));
        self.steps.iter().chain(blocks).any(|step| is_never(&step.op))
            && self.on_the_way(&self.ops(), register, is_never)
    }

    /// What makes each register.
    pub(super) fn ops(&self) -> HashMap<Register, &Op> {
        let blocks = self.program.blocks.iter().flat_map(|block| &block.steps);
        self.steps.iter().chain(blocks).map(|step| (step.to, &step.op)).collect()
    }

    /// Whether something is done anywhere on the way to a register.
    fn on_the_way(
        &self,
        by_register: &HashMap<Register, &Op>,
        register: Register,
        wanted: impl Fn(&Op) -> bool,
    ) -> bool {
        let mut seen = HashSet::new();
        let mut open = vec![register];
        while let Some(register) = open.pop() {
            let Some(op) = by_register.get(&register).filter(|_| seen.insert(register)) else {
                continue;
            };
            if wanted(op) {
                return true;
            }
            open.extend(op.reads());
            let block = op.calls().and_then(|id| usize::try_from(id.0).ok());
            open.extend(block.and_then(|at| self.program.blocks.get(at)).map(|it| it.result));
        }
        false
    }
}

/// A result with its unit, as it is to be written.
fn written(sheet: &Sheet, give: &Give, unit: &str) -> String {
    let name = &give.name.value;
    let unit = if unit.is_empty() { String::new() } else { format!(" in {unit}") };
    match &give.value {
        Some(value) => format!("{}{unit} as {name}", sheet.text(&value.span)),
        None => format!("{name}{unit}"),
    }
}

fn bare(name: &str) -> String {
    name.strip_prefix("a ").or(name.strip_prefix("an ")).unwrap_or(name).to_owned()
}

/// Whether two values are the same: one register, or the same written steps over registers that are.
fn is_alike(ops: &HashMap<Register, &Op>, one: Register, other: Register) -> bool {
    let alike = |a: &Register, b: &Register| is_alike(ops, *a, *b);
    one == other
        || match (ops.get(&one), ops.get(&other)) {
            (Some(Op::Literal(a)), Some(Op::Literal(b))) => a == b,
            (Some(Op::Unary(f, a)), Some(Op::Unary(g, b))) => f == g && alike(a, b),
            (Some(Op::Negate(a)), Some(Op::Negate(b))) => alike(a, b),
            (Some(Op::Binary(f, a, b)), Some(Op::Binary(g, c, d))) => {
                f == g && alike(a, c) && alike(b, d)
            }
            (Some(Op::Compare(f, a, b)), Some(Op::Compare(g, c, d))) => {
                f == g && alike(a, c) && alike(b, d)
            }
            (Some(Op::Both(a, b)), Some(Op::Both(c, d)))
            | (Some(Op::Either(a, b)), Some(Op::Either(c, d))) => alike(a, c) && alike(b, d),
            _ => false,
        }
}
