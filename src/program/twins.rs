//! Values that are the same whatever is given, under two names: a line, a course or a used sheet that was copied and in
//! which the one word was not changed. Where both are read in one place, that place decides nothing.

use std::collections::{BTreeMap, HashMap};
use std::mem::Discriminant;
use std::sync::Arc;

use super::compile::Compiler;
use super::decided::{are_apart, number};
use super::flat::{Binary, Op, Program, Register, Step};
use super::in_vain::{bracketed, flatten};
use super::scope::{Named, Sheet};
use crate::diagnostic::{Diagnostic, Name, Place};
use crate::language::{Expression, Give, Node, Sign, print_expression};

/// What a value is: the operation, what it has beside registers, and the numbers of the values that it reads.
#[derive(Debug, PartialEq, Eq, Hash)]
enum Key {
    Op(Discriminant<Op>, String, Vec<u32>),
    /// A parameter of a function that is run many times, by how deep the function lies.
    Parameter(usize, usize),
    Unknown(Register),
}

/// Values that are the same have the same number.
struct Numbers<'a> {
    program: &'a Program,
    of: HashMap<Register, u32>,
    known: HashMap<Key, u32>,
    /// By number, whether an input bears on it.
    varies: Vec<bool>,
}

/// What the name of a value is read as, and whether it is an input and nothing else.
type Twins = BTreeMap<String, (String, bool)>;

/// Values that are read in one place.
struct Read<'a> {
    /// Each with whether it is added, where they are terms of a sum.
    parts: Vec<(&'a Expression, bool)>,
    /// What becomes of it where two of them are the same.
    outcome: &'static str,
    /// Whether all must be the same.
    all: bool,
    is_sum: bool,
}

impl<'a> Numbers<'a> {
    fn number(&mut self, key: Key, varies: bool) -> u32 {
        let next = u32::try_from(self.varies.len()).unwrap_or(u32::MAX);
        let number = *self.known.entry(key).or_insert(next);
        if number == next {
            self.varies.push(varies);
        }
        number
    }

    fn read(&mut self, register: Register) -> u32 {
        match self.of.get(&register) {
            Some(number) => *number,
            None => self.number(Key::Unknown(register), true),
        }
    }

    fn varies(&self, number: u32) -> bool {
        usize::try_from(number).ok().and_then(|at| self.varies.get(at)).is_some_and(|it| *it)
    }

    fn steps(&mut self, steps: &'a [Step], depth: usize) {
        for step in steps {
            let mut reads: Vec<u32> = step.op.reads().into_iter().map(|it| self.read(it)).collect();
            if let Op::Binary(
                Binary::Add | Binary::Multiply | Binary::Least | Binary::Greatest,
                ..,
            ) = step.op
            {
                reads.sort_unstable();
            }
            if let Some(block) = step.op.calls().and_then(|id| self.program.block(id)) {
                for (at, parameter) in block.parameters.iter().enumerate() {
                    let number = self.number(Key::Parameter(depth, at), false);
                    self.of.insert(*parameter, number);
                }
                self.steps(&block.steps, depth + 1);
                reads.push(self.read(block.result));
            }
            let varies = matches!(step.op, Op::Input(_)) || reads.iter().any(|it| self.varies(*it));
            let key =
                Key::Op(std::mem::discriminant(&step.op), step.op.beside(self.program), reads);
            let number = self.number(key, varies);
            self.of.insert(step.to, number);
        }
    }
}

impl Compiler<'_> {
    /// Every place of the asked sheet in which two names of one value are read.
    pub(super) fn same_values(&mut self, sheet: &Sheet) {
        let twins = self.twins(sheet);
        let tree = Arc::clone(&sheet.tree);
        for whole in tree.formulas() {
            self.same_in(sheet, whole, &twins);
        }
        self.given_twice(sheet, &twins);
    }

    /// Results that are the same value under two names, in one unit: an entry that was copied.
    fn given_twice(&mut self, sheet: &Sheet, twins: &Twins) {
        if self.problems.iter().any(Diagnostic::is_error) {
            return;
        }
        let mut before: BTreeMap<(String, String), &Give> = BTreeMap::new();
        for give in &sheet.tree.gives {
            // what is rounded or set is another value
            if give.rounding.is_some() || give.setting.is_some() {
                continue;
            }
            let node = Node::Name(give.name.value.clone());
            let name = Expression { node, span: give.name.span.clone() };
            let value = give.value.as_ref().unwrap_or(&name);
            let unit = give.unit.as_ref().map_or_else(String::new, |unit| unit.value.clone());
            let key = (under_one_name(value, twins), unit);
            let Some(first) = before.insert(key, give) else { continue };
            let [one, other] = [first, give].map(|it| &it.name.value);
            // what goes through unchanged, as the speed of a shaft that is not braked, may be an input under many names
            let texts = [first, give].map(|it| it.value.as_ref().map(print_expression));
            let text = print_expression(value);
            let is_input = twins.get(&text).is_some_and(|(_, is_input)| *is_input);
            // words that name the other say that it is meant: an old name for the workbooks that bear it
            let names = |give: &Give, other: &str| {
                let is_part = |it: char| !(it.is_alphanumeric() || it == '_');
                give.note.split(is_part).any(|word| word == other)
            };
            let is_meant = names(give, one) || names(first, other);
            if one == other || is_meant || (is_input && texts.first() != texts.last()) {
                continue;
            }
            let words = format!(
                "`{one}` and `{other}` are the same, whatever is given: one value is given twice"
            );
            let mut problem = Diagnostic::caution(Name::ChangesNothing, words)
                .at(sheet.place(&give.span))
                .label(sheet.place(&first.span), "given here");
            if let Some(made) = give.value.is_none().then(|| defined(sheet, value, twins)).flatten()
            {
                problem = problem.label(made, "made here");
            }
            self.problems.push(problem.remedy(format!(
                "write in one of the two what is meant, in `gives` or in the lines behind them; or give `{one}` alone; where both are \
                 meant, say so behind the one: `\"the same as {other}, for the workbooks\"`"
            )));
        }
    }

    /// The names of the sheet whose value another name stands for too.
    fn twins(&self, sheet: &Sheet) -> Twins {
        let mut all: Vec<(String, Register)> = Vec::new();
        for (name, named) in &sheet.names {
            match named {
                Named::Value(value, _) => all.push((name.clone(), value.register)),
                Named::Use(results) => all.extend(results.iter().filter_map(|(result, value)| {
                    Some((format!("{name}.{result}"), value.as_ref()?.register))
                })),
                Named::Function(_) | Named::Table(..) | Named::Silent => {}
            }
        }
        let mut numbers = Numbers {
            program: &self.program,
            of: HashMap::new(),
            known: HashMap::new(),
            varies: Vec::new(),
        };
        numbers.steps(&self.steps, 0);
        let inputs = self.program.inputs.iter().map(|input| input.register);
        let inputs: Vec<u32> = inputs.map(|it| numbers.read(it)).collect();
        let mut by_number: BTreeMap<u32, Vec<String>> = BTreeMap::new();
        for (name, register) in all {
            let number = numbers.read(register);
            if numbers.varies(number) {
                by_number.entry(number).or_default().push(name);
            }
        }
        let same = by_number.into_iter().filter(|(_, names)| names.len() > 1);
        same.flat_map(|(number, names)| {
            let first = names.first().cloned().unwrap_or_default();
            let is_input = inputs.contains(&number);
            names.into_iter().map(move |name| (name, (first.clone(), is_input)))
        })
        .collect()
    }

    fn same_in(&mut self, sheet: &Sheet, tree: &Expression, twins: &Twins) {
        let same = read_in(tree).and_then(|read| same_of(sheet, tree, &read, twins));
        if let Some(problem) = same.or_else(|| self.alike_cases(sheet, tree, twins)) {
            self.problems.push(problem);
            return;
        }
        tree.parts().into_iter().for_each(|part| self.same_in(sheet, part, twins));
    }

    /// Two cases of one `when` that give the same and could be one without another condition being changed, since no case
    /// between them ever applies where one of the two does: a case that was copied, and in which the value was not changed.
    /// `otherwise` applies to all that is left, so that the case alone counts, and its condition with it, which may have no
    /// value. Plain numbers may be the same where other conditions than the words of one choice decide.
    fn alike_cases(&self, sheet: &Sheet, tree: &Expression, twins: &Twins) -> Option<Diagnostic> {
        let Node::Cases { cases, otherwise } = &tree.node else { return None };
        let conditions: Vec<&Expression> = cases.iter().map(|(condition, _)| condition).collect();
        let values = cases.iter().map(|(_, value)| value).chain(otherwise.as_deref());
        let values: Vec<(&Expression, String)> =
            values.map(|value| (value, under_one_name(value, twins))).collect();
        let all = conditions.iter().zip(&values).enumerate();
        let (one, value, other, again) =
            values.iter().enumerate().find_map(|(last, (again, text))| {
                let other = conditions.get(last);
                let (_, (one, (value, _))) =
                    all.clone().take(last).find(|(first, (one, (value, same)))| {
                        let choice = choice_of(one);
                        let of_words = choice.is_some()
                            && other.is_none_or(|other| choice_of(other) == choice);
                        let says = !matches!(value.node, Node::Never(_))
                            && (of_words || number(value).is_none());
                        let between = conditions.get(first + 1..last).unwrap_or_default();
                        let these: Vec<&Expression> =
                            std::iter::once(**one).chain(other.copied()).collect();
                        let says =
                            says && (other.is_some() || of_words || self.surely_exists(sheet, one));
                        says && same == text && are_apart(&sheet.tree.takes, &these, between)
                    })?;
                Some((*one, *value, other.copied(), *again))
            })?;
        let case = print_expression(one);
        let [text, same] = [value, again].map(print_expression);
        let (words, remedy) = match other.map(print_expression) {
            None => (
                format!(
                    "`{case}` gives `{text}`, and so does `otherwise`: nothing tells them apart here"
                ),
                format!("leave out `when {case} : {text}`"),
            ),
            Some(other) => (
                match text == same {
                    true => format!(
                        "`{case}` and `{other}` are both `{text}`: nothing tells them apart here"
                    ),
                    false => format!(
                        "`{text}` and `{same}` are the same, whatever is given: nothing tells `{case}` and `{other}` apart here"
                    ),
                },
                format!("name them in one case: `when {case} or {other} : {text}`"),
            ),
        };
        let mut problem = Diagnostic::caution(Name::ChangesNothing, words)
            .at(sheet.place(&again.span))
            .label(sheet.place(&value.span), "the same");
        for made in [value, again].iter().filter_map(|it| defined(sheet, it, twins)) {
            problem = problem.label(made, "made here");
        }
        let start = "write in one of them what is meant; where they are meant to be alike,";
        Some(problem.remedy(format!("{start} {remedy}")))
    }

    /// Whether a condition has a value whatever is given, as far as its names say.
    fn surely_exists(&self, sheet: &Sheet, tree: &Expression) -> bool {
        let named = match &tree.node {
            Node::Where(..) | Node::Integral(_) => return false,
            Node::Call(name, _) => sheet.names.get(&name.value),
            Node::Name(name) => sheet.names.get(name),
            Node::Dotted(alias, _) => sheet.names.get(&alias.value),
            _ => None,
        };
        let exists = match (named, &tree.node) {
            (Some(Named::Value(value, _)), _) => !self.may_never_exist(value.register),
            (Some(Named::Use(results)), Node::Dotted(_, result)) => results
                .get(&result.value)
                .and_then(Option::as_ref)
                .is_some_and(|value| !self.may_never_exist(value.register)),
            (Some(Named::Table(..)) | None, _) => true,
            (Some(_), _) => false,
        };
        exists && tree.parts().into_iter().all(|part| self.surely_exists(sheet, part))
    }
}

impl<'a> Read<'a> {
    fn of(parts: Vec<&'a Expression>, outcome: &'static str) -> Self {
        let parts = parts.into_iter().map(|part| (part, true)).collect();
        Self { parts, outcome, all: false, is_sum: false }
    }
}

/// What is read in one place of a formula, where two that are the same say nothing.
fn read_in(tree: &Expression) -> Option<Read<'_>> {
    Some(match &tree.node {
        Node::Call(name, arguments) if matches!(name.value.as_str(), "max" | "min") => {
            Read::of(arguments.iter().collect(), "nothing is chosen between them")
        }
        Node::Binary(_, sign, _) if matches!(sign.value, Sign::Plus | Sign::Minus) => {
            let mut parts = Vec::new();
            flatten(tree, true, &mut parts);
            Read { parts, is_sum: true, ..Read::of(Vec::new(), "both stand in this sum") }
        }
        Node::Binary(a, sign, b) if sign.value == Sign::Over => {
            Read::of(vec![a, b], "what comes out is always 1")
        }
        Node::Compare(a, _, b) => Read::of(vec![a, b], "what comes out is always the same"),
        Node::And(a, b) | Node::Or(a, b) => Read::of(vec![a, b], "one of them is enough"),
        Node::Cases { cases, otherwise } => {
            let values = cases.iter().map(|(_, value)| value);
            let parts = values.chain(otherwise.as_deref()).collect();
            Read { all: true, ..Read::of(parts, "the conditions decide nothing") }
        }
        _ => return None,
    })
}

/// Two of the values that are the same, under different names; of cases, all of them under any.
fn same_of(
    sheet: &Sheet,
    whole: &Expression,
    read: &Read<'_>,
    twins: &Twins,
) -> Option<Diagnostic> {
    let texts: Vec<(String, String)> = read
        .parts
        .iter()
        .map(|(it, _)| (print_expression(it), under_one_name(it, twins)))
        .collect();
    if read.all {
        let (text, one) = texts.first()?;
        if texts.len() < 2 || texts.iter().any(|(_, other)| other != one) {
            return None;
        }
        if texts.iter().all(|(other, _)| other == text) {
            let words = format!("every case is `{text}`: the conditions decide nothing");
            let problem =
                Diagnostic::error(Name::ChangesNothing, words).at(sheet.place(&whole.span));
            let remedy = format!("write in one of them what is meant, or `{text}` without cases");
            return Some(problem.remedy(remedy));
        }
    }
    let all = texts.iter().zip(&read.parts).enumerate();
    let (before, after) = all.clone().find_map(|(at, ((text, one), (part, plus)))| {
        let mut others = all.clone().take(at);
        let is_one = |other: &str| other == one.as_str();
        let before = others.find(|(_, ((other, same), _))| other != text && is_one(same))?;
        // an input that has names of its own is added under them on purpose
        let bare = matches!(part.node, Node::Name(_) | Node::Dotted(..));
        let is_input = bare && twins.get(text).is_some_and(|(_, is_input)| *is_input);
        (!read.is_sum || !is_input).then_some((before.1, ((text, one), (part, plus))))
    })?;
    let (_, (first_part, first_plus)) = before;
    let (_, (second_part, second_plus)) = after;
    let [first, second] = [first_part, second_part].map(|part| sheet.text(&part.span));
    let words =
        format!("`{first}` and `{second}` are the same, whatever is given: {}", read.outcome);
    let mut problem =
        Diagnostic::caution(Name::ChangesNothing, words).at(sheet.place(&second_part.span));
    let mut places: Vec<Place> = Vec::new();
    for part in [first_part, second_part] {
        let Some(place) = defined(sheet, part, twins).filter(|it| !places.contains(it)) else {
            continue;
        };
        problem = problem.label(place.clone(), "made here");
        places.push(place);
    }
    let otherwise = match (read.is_sum, first_plus == second_plus) {
        (true, true) => format!("`2 * {}` for both", bracketed(first_part, first)),
        (true, false) => "neither".to_owned(),
        (false, _) => format!("`{first}` alone"),
    };
    Some(problem.remedy(format!(
        "look at the two lines: in one of them another name is meant; or write {otherwise}"
    )))
}

/// The choice whose words a condition asks for, and nothing else.
fn choice_of(condition: &Expression) -> Option<String> {
    match &condition.node {
        Node::Is(choice, _) => Some(print_expression(choice)),
        Node::Or(a, b) => choice_of(a).filter(|it| choice_of(b).as_ref() == Some(it)),
        _ => None,
    }
}

/// A formula in which every value that has several names is read by the same one.
fn under_one_name(tree: &Expression, twins: &Twins) -> String {
    let mut tree = tree.clone();
    tree.change(&mut |node| {
        let name = match node {
            Node::Name(name) => name.clone(),
            Node::Dotted(alias, result) => format!("{}.{}", alias.value, result.value),
            _ => return,
        };
        if let Some((one, _)) = twins.get(&name) {
            *node = Node::Name(one.clone());
        }
    });
    print_expression(&tree)
}

/// Where the first of the values in a formula that have several names is made.
fn defined(sheet: &Sheet, tree: &Expression, twins: &Twins) -> Option<Place> {
    let (name, whole) = match &tree.node {
        Node::Name(name) => (name, name.clone()),
        Node::Dotted(alias, result) => (&alias.value, format!("{}.{}", alias.value, result.value)),
        _ => return tree.parts().into_iter().find_map(|part| defined(sheet, part, twins)),
    };
    sheet.places.get(name).filter(|_| twins.contains_key(&whole)).cloned()
}
