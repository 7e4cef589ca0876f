//! The inputs of a sheet: their kinds, units, defaults, examples and ranges.

use std::collections::BTreeMap;
use std::sync::Arc;

use super::absorb::absorbs;
use super::compile::Compiler;
use super::conversion::Figure;
use super::flat::{Guard, Input, InputId, Limit, Line, LineId, LineSource, Op, Type};
use super::scope::{Argument, Arguments, Factors, Named, Sheet, Value};
use super::tolerance::Tolerance;
use super::{across, lint, mismatch, tens};
use crate::diagnostic::{Diagnostic, Name, Place};
use crate::language::{self, Bound, Expression, Group, Node, Shape, Take};
use crate::unit::{Kind, Literal, Unit};

/// What a line of `takes` declares, its units read.
struct Declared {
    type_: Type,
    kind: Option<&'static Kind>,
    unit: Unit,
    default: Option<(Literal, Option<Tolerance>)>,
    example: Vec<(Literal, Option<Tolerance>)>,
}

/// Kinds of which nothing is less than nothing.
const NEVER_BELOW: &[&str] = &["mass", "inertia", "flywheel effect", "diameter"];

impl Declared {
    /// A plain number as a default may be a conversion that is multiplied with later.
    fn with_default(&self, value: Value, sheet: &Sheet, take: &Take) -> Value {
        match (&self.default, &self.type_) {
            (Some((number, _)), Type::Number { dimension, series: false, .. })
                if dimension.is_none()
                    && number.unit.symbol.is_empty()
                    && self.kind.is_none_or(|kind| kind.name != "count") =>
            {
                let place = sheet.place(&take.name.span);
                value.made_of(Factors::loose(Figure::written(number), &place))
            }
            _ => value,
        }
    }
}

impl Compiler<'_> {
    /// All lines of `takes`; for a used sheet with what is handed to it.
    pub(super) fn takes(&mut self, sheet: &mut Sheet, arguments: Option<&Arguments>) {
        let tree = Arc::clone(&sheet.tree);
        for take in &tree.takes {
            let own = sheet.turn_to(take);
            let named = self.taken_in(sheet, take, arguments);
            sheet.source = own;
            sheet.names.entry(take.name.value.clone()).or_insert(named);
        }
    }

    fn taken_in(&mut self, sheet: &mut Sheet, take: &Take, arguments: Option<&Arguments>) -> Named {
        self.problems.extend(tens::mixed_percent(sheet, take));
        let Some(declared) = self.declared(sheet, take) else { return Named::Silent };
        sheet.units.insert(take.name.value.clone(), declared.unit.symbol.clone());
        let named = match arguments {
            None => Some(self.asked(sheet, take, &declared)),
            Some(arguments) => self.handed(sheet, take, &declared, arguments),
        };
        let Some(mut value) = named else { return Named::Silent };
        value.named = Some((take.name.value.clone(), sheet.place(&take.name.span)));
        Named::Value(value, declared.kind)
    }

    /// An input of the sheet that was asked for.
    fn asked(&mut self, sheet: &mut Sheet, take: &Take, declared: &Declared) -> Value {
        let line = self.next_line();
        self.line = line;
        let id = InputId(u32::try_from(self.program.inputs.len()).unwrap_or(u32::MAX));
        let register = self.input_register(Op::Input(id), declared.type_.clone());
        self.program.inputs.push(Input {
            name: take.name.value.clone(),
            kind: declared.kind,
            type_: declared.type_.clone(),
            unit: declared.unit.clone(),
            default: declared.default.as_ref().map(|(value, _)| value.clone()),
            default_tolerance: declared
                .default
                .as_ref()
                .and_then(|(_, tolerance)| tolerance.clone()),
            default_from: None,
            example: declared.example.iter().map(|(value, _)| value.clone()).collect(),
            example_tolerances: declared
                .example
                .iter()
                .map(|(_, tolerance)| tolerance.clone())
                .collect(),
            low: None,
            high: None,
            at_least: take.at_least.as_ref().map(|least| least.value),
            note: take.note.clone(),
            heading: take.heading.clone(),
            place: sheet.place(&take.name.span),
            line,
            register,
        });
        let value = Value::new(register, declared.type_.clone());
        self.taken(sheet, take, declared, line, &value, LineSource::Takes);
        declared.with_default(value, sheet, take)
    }

    /// An input of a used sheet.
    fn handed(
        &mut self,
        sheet: &mut Sheet,
        take: &Take,
        declared: &Declared,
        arguments: &Arguments,
    ) -> Option<Value> {
        match arguments.get(&take.name.value) {
            Some(Argument::Value(value, line)) => {
                let value = self.fitted(sheet, take, declared, value, *line)?;
                sheet.lines.insert(take.name.value.clone(), *line);
                Some(value)
            }
            Some(Argument::Word(word)) => {
                let Type::Choice(words) = &declared.type_ else { return None };
                let at = words.iter().position(|known| known == word)?;
                let line = self.next_line();
                self.line = line;
                let mut value = self.whole(at);
                value.type_ = declared.type_.clone();
                self.taken(sheet, take, declared, line, &value, LineSource::Takes);
                Some(value)
            }
            Some(Argument::Silent) => None,
            None => {
                let (default, _) = declared.default.clone()?;
                let line = self.next_line();
                self.line = line;
                let register = self.emit_literal(default).register;
                let value = Value::new(register, declared.type_.clone());
                // what a course does not say begins with its default: nobody forgot to hand it
                let in_state =
                    |group: &Group| group.is_state && group.inputs.contains(&take.name.value);
                let says = match sheet.tree.groups.iter().any(in_state) {
                    true => LineSource::Takes,
                    false => LineSource::Default,
                };
                self.taken(sheet, take, declared, line, &value, says);
                Some(declared.with_default(value, sheet, take))
            }
        }
    }

    /// The handed value as the kind that the used sheet declares.
    fn fitted(
        &mut self,
        sheet: &Sheet,
        take: &Take,
        declared: &Declared,
        value: &Value,
        line: LineId,
    ) -> Option<Value> {
        let (
            Type::Number { dimension, point, series },
            Type::Number { dimension: found, point: at, series: many },
        ) = (&declared.type_, &value.type_)
        else {
            return Some(Value::new(value.register, declared.type_.clone()));
        };
        let place = self.program.line(line).map(|line| line.place.clone());
        let complain = |problem: Diagnostic| match place.clone() {
            Some(place) => problem.at(place),
            None => problem,
        };
        let as_zero = value.zero && !point;
        let fits = crate::unit::fits(*dimension, *found) && absorbs(value, *found, *dimension);
        if !as_zero && (!fits || point != at) {
            let kind = declared.kind.map_or("a number".to_owned(), |kind| kind.with_article());
            let name = match mismatch::name_of(*dimension, *found) {
                _ if dimension == found => Name::TemperaturePoint,
                name => name.unwrap_or(Name::UnitMismatch),
            };
            self.problems.push(complain(
                Diagnostic::error(
                    name,
                    format!(
                        "`{}` takes {kind}, found {}",
                        take.name.value,
                        crate::unit::name_of(*found)
                    ),
                )
                .label(sheet.place(&take.name.span), "declared here")
                .remedy(format!("hand it {kind}")),
            ));
            return None;
        }
        if series != many {
            let (needed, given) =
                if *series { ("a series", "one value") } else { ("one value", "a series") };
            self.problems.push(complain(
                Diagnostic::error(
                    Name::SeriesForNumber,
                    format!("`{}` takes {needed}, found {given}", take.name.value),
                )
                .label(sheet.place(&take.name.span), "declared here")
                .remedy(if *series {
                    "hand it a series"
                } else {
                    "fold it: `sum`, `mean`, `max`, `min`, `first` or `last`"
                }),
            ));
            return None;
        }
        let text = match &place {
            Some(Place::Text { source, span }) => source.text.get(span.0..span.1),
            _ => None,
        };
        let text = text.unwrap_or_default();
        let mistaken = across::mistaken(text, declared.kind, value.factors.across)
            .or_else(|| lint::otherwise_halved(declared.kind?, &value.factors));
        if let Some(problem) = mistaken {
            let problem = problem.label(sheet.place(&take.name.span), "declared here");
            self.problems.push(complain(problem));
            return None;
        }
        let made = Value::new(value.register, declared.type_.clone());
        Some(match value.factors.is_number() {
            true => made.made_of(value.factors.clone()),
            false => made,
        })
    }

    fn taken(
        &mut self,
        sheet: &mut Sheet,
        take: &Take,
        declared: &Declared,
        id: LineId,
        value: &Value,
        says: LineSource,
    ) {
        let line = Line {
            name: format!("{}{}", sheet.path, take.name.value),
            scope: sheet.scope,
            register: value.register,
            unit: declared.unit.clone(),
            type_: declared.type_.clone(),
            note: take.note.clone(),
            place: sheet.place(&take.span),
            says,
        };
        self.put_line(id, line);
        sheet.lines.insert(take.name.value.clone(), id);
    }

    fn declared(&mut self, sheet: &Sheet, take: &Take) -> Option<Declared> {
        let (word, series) = match &take.shape {
            Shape::Choice(words) => return self.choice(sheet, take, words),
            Shape::Kind(word) => (word, false),
            Shape::Series(word) => (word, true),
        };
        let kind = self.kind(sheet, word)?;
        let unit = match &take.unit {
            Some(word) => self.unit_of(sheet, word, Some(kind))?,
            None => kind.usual_unit(),
        };
        let type_ = Type::Number { dimension: kind.dimension, point: kind.point, series };
        let before = self.problems.len();
        let mut read = |given| self.tolerated(sheet, given, kind);
        let default = take.default.as_ref().map(&mut read);
        let example: Vec<_> = take.example.iter().map(read).collect();
        for problem in self.problems.iter_mut().skip(before) {
            problem.remedy = kind.with_own_unit(&problem.remedy, &unit);
        }
        let default = match default {
            Some(found) => Some(found?),
            None => None,
        };
        let example = example.into_iter().collect::<Option<_>>()?;
        Some(Declared { type_, kind: Some(kind), unit, default, example })
    }

    fn choice(
        &mut self,
        sheet: &Sheet,
        take: &Take,
        words: &[crate::language::Word],
    ) -> Option<Declared> {
        let list: Arc<[String]> = words.iter().map(|word| word.value.clone()).collect();
        let mut index = |given: &language::InputLiteral| {
            let tree = given.value.as_ref()?;
            let Node::Name(word) = &tree.node else { return None };
            let at = list.iter().position(|known| known == word);
            if at.is_none() {
                let word = crate::language::Word { value: word.clone(), span: tree.span.clone() };
                self.problems.push(mismatch::unknown_word(sheet, &word, &list));
            }
            Some((Literal::new(rust_decimal::Decimal::from(at?), 0, Unit::one()), None))
        };
        let default = match &take.default {
            Some(tree) => Some(index(tree)?),
            None => None,
        };
        let example = match take.example.first() {
            Some(tree) => vec![index(tree)?],
            None => Vec::new(),
        };
        Some(Declared {
            type_: Type::Choice(Arc::clone(&list)),
            kind: None,
            unit: Unit::one(),
            default,
            example,
        })
    }

    /// A default or an example: a number, with its unit unless the kind is a pure number.
    pub(super) fn given(
        &mut self,
        sheet: &Sheet,
        tree: &Expression,
        kind: &'static Kind,
    ) -> Option<Literal> {
        let literal = self.plain_number(sheet, tree, kind)?;
        if ["efficiency", "share"].contains(&kind.name) {
            let with_unit = !literal.unit.symbol.is_empty();
            lint::part(self, sheet, tree, kind, literal.si_f64(), with_unit);
        }
        Some(literal)
    }

    /// A number with or without its sign, its unit read as the kind reads it.
    pub(super) fn plain_number(
        &mut self,
        sheet: &Sheet,
        tree: &Expression,
        kind: &'static Kind,
    ) -> Option<Literal> {
        let (number, negative) = match &tree.node {
            Node::Negative(inner) => (inner.as_ref(), true),
            _ => (tree, false),
        };
        let Node::Number { digits, unit } = &number.node else {
            self.problems.push(
                Diagnostic::error(
                    Name::UnreadableLine,
                    "a plain number with its unit is needed here",
                )
                .at(sheet.place(&tree.span))
                .remedy(
                    "write the number itself; what follows from other values belongs into works",
                ),
            );
            return None;
        };
        let mut literal = self.literal(sheet, &number.span, digits, unit.as_ref(), Some(kind))?;
        if negative {
            literal.digits.set_sign_negative(!literal.digits.is_zero());
        }
        if unit.is_none() && !kind.bare {
            if !literal.digits.is_zero() || kind.point {
                self.problems.push(
                    Diagnostic::error(
                        Name::MissingUnit,
                        format!("{} needs its unit", kind.with_article()),
                    )
                    .at(sheet.place(&tree.span))
                    .remedy(format!(
                        "write {} behind the number; a unit is never assumed",
                        kind.offered()
                    )),
                );
                return None;
            }
            literal.unit = kind.usual_unit();
        }
        Some(literal)
    }

    /// The ranges; they may depend on other inputs, so they come after all names are known.
    pub(super) fn limits(&mut self, sheet: &mut Sheet) {
        let tree = Arc::clone(&sheet.tree);
        // only the asked sheet has inputs of the program
        let asked = self.program.inputs.iter().enumerate().rev();
        let inputs: BTreeMap<String, usize> = asked
            .filter(|_| sheet.path.is_empty())
            .map(|(at, input)| (input.name.clone(), at))
            .collect();
        for take in &tree.takes {
            let own = sheet.turn_to(take);
            self.limits_of(sheet, take, &inputs);
            sheet.source = own;
        }
    }

    fn limits_of(&mut self, sheet: &mut Sheet, take: &Take, inputs: &BTreeMap<String, usize>) {
        let Some(Named::Value(value, kind)) = sheet.names.get(&take.name.value).cloned() else {
            return;
        };
        let Some(line) = sheet.lines.get(&take.name.value).copied() else { return };
        self.line = line;
        let mut limit = |bound: &Bound| {
            let mut limit = self.limit(sheet, &value, kind, bound)?;
            if take.from.is_some() {
                // the names as they are called here
                limit.written = language::print_expression(&bound.value);
            }
            Some(limit)
        };
        let low = take.low.as_ref().and_then(&mut limit);
        let mut high = take.high.as_ref().and_then(limit);
        if high.is_none()
            && take.high.is_none()
            && kind.is_some_and(|kind| kind.name == "efficiency")
        {
            let register = self.whole(1).register;
            high = Some(Limit {
                register,
                included: true,
                written: "100 %".to_owned(),
                place: sheet.place(&take.span),
            });
        }
        self.within(sheet, take, kind, low.as_ref(), high.as_ref());
        self.ends_within(sheet, take, line, value.register, low.as_ref(), high.as_ref());
        let at = inputs.get(&take.name.value).copied();
        let input = at.and_then(|at| {
            let input = self.program.inputs.get_mut(at)?;
            input.low.clone_from(&low);
            input.high.clone_from(&high);
            Some(InputId(u32::try_from(at).unwrap_or(u32::MAX)))
        });
        let at_least = take.at_least.as_ref().map(|least| least.value);
        if low.is_some() || high.is_some() || at_least.is_some() {
            self.program.guards.push(Guard {
                line,
                register: value.register,
                low,
                high,
                at_least,
                input,
            });
        }
    }

    pub(super) fn limit(
        &mut self,
        sheet: &mut Sheet,
        value: &Value,
        kind: Option<&'static Kind>,
        bound: &Bound,
    ) -> Option<Limit> {
        let written = sheet.text(&bound.value.span).to_owned();
        let place = sheet.place(&bound.value.span);
        // a bare number is read as the kind reads it, everything else as a formula
        let plain = matches!(&bound.value.node, Node::Number { .. })
            || matches!(&bound.value.node, Node::Negative(inner) if matches!(inner.node, Node::Number { .. }));
        let register = match (plain, kind) {
            (true, Some(kind)) => {
                let literal = self.plain_number(sheet, &bound.value, kind)?;
                if ["efficiency", "share"].contains(&kind.name) {
                    lint::part(
                        self,
                        sheet,
                        &bound.value,
                        kind,
                        literal.si_f64(),
                        !literal.unit.symbol.is_empty(),
                    );
                }
                self.emit_literal(literal).register
            }
            _ => {
                let limit = self.number_of(sheet, &bound.value)?;
                let span = bound.value.span.clone();
                let mut one = value.clone();
                if let Type::Number { series, .. } = &mut one.type_ {
                    *series = false;
                }
                one.factors.across = kind.and_then(super::across::Across::of_kind);
                self.alike(
                    sheet,
                    ("compared", &span),
                    (&bound.value, &limit),
                    (&bound.value, &one),
                )?;
                limit.register
            }
        };
        Some(Limit { register, included: bound.included, written, place })
    }

    /// Whether two bounds that are numbers leave no value between them, which is reported.
    pub(super) fn nothing_between(
        &mut self,
        name: &str,
        low: Option<&Limit>,
        high: Option<&Limit>,
    ) -> bool {
        let ends = low.zip(high).and_then(|(low, high)| {
            Some((low, high, self.literal_of(low)?, self.literal_of(high)?))
        });
        let Some((lower, upper, low, high)) = ends else { return false };
        let order = super::literal::compare(&low, &high);
        let nothing = order.is_gt() || order.is_eq() && !(lower.included && upper.included);
        if nothing {
            self.problems.push(
                Diagnostic::error(
                    Name::EmptyRange,
                    format!("no value of `{name}` lies between its bounds"),
                )
                .at(lower.place.clone())
                .label(upper.place.clone(), "the upper bound")
                .remedy("write the lower bound below the upper one"),
            );
        }
        nothing
    }

    /// Whether an input of a kind that is never below zero may not be above it either, which is reported.
    fn weighs_nothing(&mut self, take: &Take, kind: &Kind, high: Option<&Limit>) -> bool {
        let Some((high, end)) = high.and_then(|high| Some((high, self.literal_of(high)?))) else {
            return false;
        };
        let nothing = NEVER_BELOW.contains(&kind.name) && end.si_f64() <= 0.0;
        if nothing {
            let unit = &end.unit.symbol;
            let headline = format!(
                "`{}` may not be above zero, and {} is never below",
                take.name.value,
                kind.with_article()
            );
            self.problems.push(
                Diagnostic::error(Name::EmptyRange, headline)
                    .at(high.place.clone())
                    .remedy(format!("write `from 0 {unit}`, or an upper bound above zero")),
            );
        }
        nothing
    }

    /// Default and examples against the input's own range, where the range is written in numbers.
    fn within(
        &mut self,
        sheet: &Sheet,
        take: &Take,
        kind: Option<&'static Kind>,
        low: Option<&Limit>,
        high: Option<&Limit>,
    ) {
        let Some(kind) = kind else { return };
        if self.nothing_between(&take.name.value, low, high)
            || self.weighs_nothing(take, kind, high)
        {
            return;
        }
        let mut given: Vec<(&Expression, &str)> =
            take.example.iter().filter_map(|it| Some((it.value.as_ref()?, "example"))).collect();
        given.extend(take.default.iter().filter_map(|it| Some((it.value.as_ref()?, "default"))));
        let before = self.problems.len();
        for (tree, what) in given {
            let Some(value) = self.plain_number(sheet, tree, kind) else { continue };
            if kind.name == "efficiency" && value.si_f64() > 1.0 {
                // reported already, and better
                continue;
            }
            for (limit, low) in [(low, true), (high, false)] {
                let Some(limit) = limit else { continue };
                let Some(bound) = self.literal_of(limit) else { continue };
                let order = super::literal::compare(&value, &bound);
                let holds = match (low, limit.included) {
                    (true, true) => order.is_ge(),
                    (true, false) => order.is_gt(),
                    (false, true) => order.is_le(),
                    (false, false) => order.is_lt(),
                };
                if !holds {
                    let (word, side) = match (low, limit.included) {
                        (true, true) => ("from", "not below"),
                        (true, false) => ("above", "above"),
                        (false, true) => ("to", "not above"),
                        (false, false) => ("below", "below"),
                    };
                    self.problems.push(
                        Diagnostic::error(
                            Name::DefaultOutOfRange,
                            format!(
                                "the {what} of `{}` lies outside its own range",
                                take.name.value
                            ),
                        )
                        .at(sheet.place(&tree.span))
                        .label(limit.place.clone(), format!("{word} {}", limit.written))
                        .remedy(format!(
                            "write a value {side} `{}`, or move the limit",
                            limit.written
                        )),
                    );
                }
            }
        }
        debug_assert!(self.problems.len() >= before);
    }

    /// The ends of tolerances against the input's own range; and what is handed to a used sheet against the range
    /// there: a number, or an input with its default, its examples and their tolerances.
    fn ends_within(
        &mut self,
        sheet: &Sheet,
        take: &Take,
        line: LineId,
        register: super::flat::Register,
        low: Option<&Limit>,
        high: Option<&Limit>,
    ) {
        let own = sheet.path.is_empty();
        let name = &take.name.value;
        let mut found: Vec<(String, Place, (f64, f64))> = Vec::new();
        if let Some(input) = self.program.inputs.iter().find(|input| input.register == register) {
            let default = input.default.iter().map(|it| ("default", it, &input.default_tolerance));
            let examples = input.example.iter().zip(&input.example_tolerances);
            let all = default.chain(examples.map(|(it, tolerance)| ("example", it, tolerance)));
            for (what, value, tolerance) in all {
                let Some(tolerance) = tolerance else {
                    if !own {
                        let words = format!("the {what} of `{}`", input.name);
                        found.push((words, input.place.clone(), (value.si_f64(), value.si_f64())));
                    }
                    continue;
                };
                let words = format!("the tolerance of the {what} of `{}`", input.name);
                found.push((words, input.place.clone(), tolerance.ends(value)));
            }
        } else if !own && let Some(value) = self.made_by(register) {
            let place = self.program.line(line).map(|line| line.place.clone());
            let place = place.unwrap_or_else(|| sheet.place(&take.name.span));
            found.push((
                format!("what is handed to `{name}`"),
                place,
                (value.si_f64(), value.si_f64()),
            ));
        }
        let hands = self.program.line(line).filter(|it| matches!(it.says, LineSource::Hands(_)));
        if !own && hands.is_none() {
            return;
        }
        let place = hands.map(|line| line.place.clone());
        for (words, from, ends) in found {
            for (limit, is_low) in [(low, true), (high, false)] {
                let Some(limit) = limit else { continue };
                let Some(bound) = self.literal_of(limit).map(|bound| bound.si_f64()) else {
                    continue;
                };
                let end = if is_low { ends.0 } else { ends.1 };
                let beyond = if is_low { bound - end } else { end - bound };
                let tie = 1e-12 * end.abs().max(bound.abs());
                let is_inside = if limit.included { beyond <= tie } else { beyond < -tie };
                if is_inside {
                    continue;
                }
                let word = match (is_low, limit.included) {
                    (true, true) => "from",
                    (true, false) => "above",
                    (false, true) => "to",
                    (false, false) => "below",
                };
                let range = match own {
                    true => "its own range".to_owned(),
                    false => format!("the range of `{name}` in the used sheet"),
                };
                self.problems.push(
                    Diagnostic::error(
                        Name::DefaultOutOfRange,
                        format!("{words} goes beyond {range}"),
                    )
                    .at(place.clone().unwrap_or_else(|| from.clone()))
                    .label(limit.place.clone(), format!("{word} {}", limit.written))
                    .remedy(format!(
                        "write a value on the right side of `{}`, or move the limit",
                        limit.written
                    )),
                );
            }
        }
    }

    /// The number that a register holds, where a sheet writes it as one.
    fn made_by(&self, register: super::flat::Register) -> Option<Literal> {
        let step = self.steps.iter().rev().find(|step| step.to == register)?;
        match &step.op {
            Op::Literal(literal) => Some(literal.clone()),
            _ => None,
        }
    }

    /// The number behind a limit, where it is written as one.
    fn literal_of(&self, limit: &Limit) -> Option<Literal> {
        self.made_by(limit.register)
    }
}
