//! Conditions that are decided before any value is known: cases that are never reached, words of a choice that no
//! case covers, checks that say nothing, and checks that are said twice.
//!
//! A condition is cut into comparisons. What is compared with written numbers lies in one of the cells that those
//! numbers cut its axis into, two formulas stand to each other in one of three ways, a choice is one of its words,
//! and anything else is so or not so. Every combination of these is looked at.

mod together;
mod words;

use std::collections::{BTreeMap, BTreeSet};

use super::compile::Compiler;
use super::literal;
use super::scope::Sheet;
use crate::diagnostic::{Diagnostic, Name, Place};
use crate::language::{
    Body, Expression, Node, Relation, Shape, Spanned, Take, Tree, print_expression,
};
use crate::unit::{self, Dimension, Literal, Unit};

/// Most combinations that are looked at; of what has more nothing is said.
const MOST: usize = 4096;

/// What the comparisons of some conditions are about, and the cells that each may lie in.
#[derive(Debug, Default)]
struct Cells {
    subjects: Vec<Subject>,
    by_text: BTreeMap<String, usize>,
}

/// A bound and whether it is allowed itself.
type Edge = Option<Box<(Literal, bool)>>;

#[derive(Debug)]
enum Subject {
    /// What is compared with written numbers, these in rising order, and the cells its bounds allow.
    Axis { cuts: Vec<Literal>, low: Edge, high: Edge },
    /// Two formulas: below, equal, above.
    Pair,
    /// One of the words of a choice.
    Word(Vec<String>),
    /// So, or not so.
    Open,
}

/// A condition over the cells of its subjects.
#[derive(Debug)]
enum Condition {
    Fixed(bool),
    Axis(usize, Relation, Literal),
    Pair(usize, Relation),
    Word(usize, usize),
    Open(usize),
    Not(Box<Condition>),
    And(Box<Condition>, Box<Condition>),
    Or(Box<Condition>, Box<Condition>),
}

/// Where a condition stands: the inputs whose bounds and words count, and the names that hide them.
#[derive(Clone, Copy)]
struct Scope<'a> {
    takes: &'a [Take],
    hidden: &'a BTreeSet<&'a str>,
}

impl<'a> Scope<'a> {
    fn take(self, tree: &Expression) -> Option<&'a Take> {
        let Node::Name(name) = &tree.node else { return None };
        let hides = self.hidden.contains(name.as_str());
        self.takes.iter().find(|take| !hides && take.name.value == *name)
    }
}

/// A number as written, where it can be read without a kind.
pub(super) fn number(tree: &Expression) -> Option<Literal> {
    let (inner, negative) = match &tree.node {
        Node::Negative(inner) => (inner.as_ref(), true),
        _ => (tree, false),
    };
    let Node::Number { digits, unit } = &inner.node else { return None };
    let (mut digits, ten) = unit::parse_number(digits)?;
    let unit = match unit {
        Some(word) => unit::parse_unit(&word.value).ok()?,
        None => Unit::one(),
    };
    if negative {
        digits.set_sign_negative(!digits.is_zero());
    }
    Some(Literal::new(digits, ten, unit))
}

/// The literal and whether it is allowed itself; a bare number of a kind with a unit is read as the kind reads it.
fn bound(take: &Take, bound: Option<&crate::language::Bound>) -> Edge {
    let bound = bound?;
    let found = number(&bound.value)?;
    let bare = found.unit.symbol.is_empty() && !found.digits.is_zero();
    (!bare || take.unit.is_none()).then(|| Box::new((found, bound.included)))
}

impl Cells {
    fn subject(&mut self, text: String, new: impl FnOnce() -> Subject) -> usize {
        *self.by_text.entry(text).or_insert_with(|| {
            self.subjects.push(new());
            self.subjects.len() - 1
        })
    }

    fn condition(&mut self, tree: &Expression, scope: Scope<'_>) -> Condition {
        match &tree.node {
            Node::Not(inner) => Condition::Not(Box::new(self.condition(inner, scope))),
            Node::And(a, b) => Condition::And(
                Box::new(self.condition(a, scope)),
                Box::new(self.condition(b, scope)),
            ),
            Node::Or(a, b) => Condition::Or(
                Box::new(self.condition(a, scope)),
                Box::new(self.condition(b, scope)),
            ),
            Node::Compare(a, relation, b) => self.comparison(a, relation, b, scope),
            Node::Is(choice, word) => {
                let words = scope.take(choice).and_then(|take| match &take.shape {
                    Shape::Choice(words) => {
                        Some(words.iter().map(|word| word.value.clone()).collect::<Vec<_>>())
                    }
                    _ => None,
                });
                let text = print_expression(choice);
                let at = words.as_ref().and_then(|it| it.iter().position(|it| *it == word.value));
                match (words, at) {
                    (Some(words), Some(at)) => {
                        Condition::Word(self.subject(text, || Subject::Word(words)), at)
                    }
                    _ => Condition::Open(self.subject(print_expression(tree), || Subject::Open)),
                }
            }
            _ => Condition::Open(self.subject(print_expression(tree), || Subject::Open)),
        }
    }

    fn comparison(
        &mut self,
        a: &Expression,
        relation: &Spanned<Relation>,
        b: &Expression,
        scope: Scope<'_>,
    ) -> Condition {
        let relation = relation.value;
        match (number(a), number(b)) {
            (Some(a), Some(b)) => Condition::Fixed(relation.holds(literal::compare(&a, &b))),
            (None, Some(cut)) => self.axis(a, relation, cut, scope),
            (Some(cut), None) => self.axis(b, relation.turned(), cut, scope),
            (None, None) => {
                let (first, second) = (print_expression(a), print_expression(b));
                match first.cmp(&second) {
                    std::cmp::Ordering::Equal => {
                        Condition::Fixed(relation.holds(std::cmp::Ordering::Equal))
                    }
                    std::cmp::Ordering::Less => {
                        let at = self.subject(format!("{first} : {second}"), || Subject::Pair);
                        Condition::Pair(at, relation)
                    }
                    std::cmp::Ordering::Greater => {
                        let at = self.subject(format!("{second} : {first}"), || Subject::Pair);
                        Condition::Pair(at, relation.turned())
                    }
                }
            }
        }
    }

    fn axis(
        &mut self,
        subject: &Expression,
        relation: Relation,
        cut: Literal,
        scope: Scope<'_>,
    ) -> Condition {
        let new = || {
            let take = scope.take(subject);
            let low = take.and_then(|take| bound(take, take.low.as_ref()));
            let high = take.and_then(|take| bound(take, take.high.as_ref()));
            let cuts = low.iter().chain(&high).map(|edge| edge.0.clone()).collect();
            Subject::Axis { cuts, low, high }
        };
        let at = self.subject(print_expression(subject), new);
        if let Some(Subject::Axis { cuts, .. }) = self.subjects.get_mut(at) {
            cuts.push(cut.clone());
        }
        Condition::Axis(at, relation, cut)
    }

    /// Cuts in order, and how many cells each subject has; nothing where there are too many, or where units differ.
    fn sizes(&mut self) -> Option<Vec<usize>> {
        let mut product = 1_usize;
        let mut sizes = Vec::new();
        for subject in &mut self.subjects {
            let size = match subject {
                Subject::Axis { cuts, .. } => {
                    let mut units = cuts.iter().filter(|cut| !cut.digits.is_zero());
                    let first: Option<Dimension> = units.next().map(|cut| cut.unit.dimension);
                    if units.any(|cut| Some(cut.unit.dimension) != first) {
                        return None;
                    }
                    cuts.sort_by(literal::compare);
                    cuts.dedup_by(|a, b| literal::compare(a, b).is_eq());
                    2 * cuts.len() + 1
                }
                Subject::Pair => 3,
                Subject::Word(words) => words.len(),
                Subject::Open => 2,
            };
            product = product.checked_mul(size).filter(|it| *it <= MOST)?;
            sizes.push(size);
        }
        Some(sizes)
    }

    /// Every combination of cells that the bounds allow.
    fn combinations(&mut self) -> Option<Vec<Vec<usize>>> {
        let sizes = self.sizes()?;
        let mut all = vec![Vec::new()];
        for (subject, size) in self.subjects.iter().zip(sizes) {
            let allowed: Vec<usize> = (0..size).filter(|cell| subject.allows(*cell)).collect();
            let longer = |before: Vec<usize>| {
                let longer = allowed.iter().map(move |cell| [before.as_slice(), &[*cell]].concat());
                longer.collect::<Vec<_>>()
            };
            all = all.into_iter().flat_map(longer).collect();
        }
        Some(all)
    }

    fn holds(&self, condition: &Condition, cells: &[usize]) -> bool {
        let cell = |at: &usize| cells.get(*at).copied().unwrap_or_default();
        match condition {
            Condition::Fixed(truth) => *truth,
            Condition::Axis(at, relation, cut) => {
                let subject = self.subjects.get(*at);
                subject.is_some_and(|subject| relation.holds(subject.order(cell(at), cut)))
            }
            Condition::Pair(at, relation) => relation.holds(cell(at).cmp(&1)),
            Condition::Word(at, word) => cell(at) == *word,
            Condition::Open(at) => cell(at) == 1,
            Condition::Not(inner) => !self.holds(inner, cells),
            Condition::And(a, b) => self.holds(a, cells) && self.holds(b, cells),
            Condition::Or(a, b) => self.holds(a, cells) || self.holds(b, cells),
        }
    }

    /// Whether all is about inputs and choices, whose every cell can be met.
    fn are_of(&self, scope: Scope<'_>) -> bool {
        let is_input = |text: &String| scope.takes.iter().any(|take| take.name.value == *text);
        self.by_text.iter().all(|(text, at)| match self.subjects.get(*at) {
            Some(Subject::Axis { .. }) => is_input(text) && !scope.hidden.contains(text.as_str()),
            Some(Subject::Word(_)) => true,
            _ => false,
        })
    }

    /// A combination as conditions write it.
    fn described(&self, cells: &[usize]) -> Vec<String> {
        let mut found = self.words(cells);
        for (text, at) in &self.by_text {
            if let (Some(Subject::Axis { cuts, .. }), Some(cell)) =
                (self.subjects.get(*at), cells.get(*at))
            {
                found.push(cell_text(text, cuts, *cell));
            }
        }
        found
    }

    /// The words of the choices in a combination, as a condition writes them.
    fn words(&self, cells: &[usize]) -> Vec<String> {
        let mut found = Vec::new();
        for (text, at) in &self.by_text {
            if let (Some(Subject::Word(words)), Some(cell)) =
                (self.subjects.get(*at), cells.get(*at))
                && let Some(word) = words.get(*cell)
            {
                found.push(format!("{text} is {word}"));
            }
        }
        found
    }
}

/// The conditions that say in which cell of an axis a value lies.
fn cell_text(text: &str, cuts: &[Literal], cell: usize) -> String {
    let cut = |at: usize| {
        let Some(Literal { digits, ten, unit }) = cuts.get(at) else { return String::new() };
        let ten = if *ten == 0 { String::new() } else { format!("e{ten}") };
        format!("{digits}{ten} {}", unit.symbol).trim_end().to_owned()
    };
    let next = cell / 2;
    match (cell % 2 == 1, next) {
        (true, at) => format!("{text} = {}", cut(at)),
        (false, 0) => format!("{text} < {}", cut(0)),
        (false, at) if at == cuts.len() => format!("{text} > {}", cut(at - 1)),
        (false, at) => format!("{text} > {} and {text} < {}", cut(at - 1), cut(at)),
    }
}

impl Subject {
    /// How a cell stands to a cut: cells lie below, at and above each cut in turn.
    fn order(&self, cell: usize, cut: &Literal) -> std::cmp::Ordering {
        let Self::Axis { cuts, .. } = self else { return std::cmp::Ordering::Equal };
        let at = cuts.iter().position(|known| literal::compare(known, cut).is_eq());
        cell.cmp(&(2 * at.unwrap_or_default() + 1))
    }

    fn allows(&self, cell: usize) -> bool {
        let Self::Axis { low, high, .. } = self else { return true };
        let inside = |edge: &Edge, excluded: Relation, included: Relation| {
            edge.as_ref().is_none_or(|edge| {
                let relation = if edge.1 { included } else { excluded };
                relation.holds(self.order(cell, &edge.0))
            })
        };
        inside(low, Relation::Above, Relation::AtLeast)
            && inside(high, Relation::Below, Relation::AtMost)
    }
}

/// One way of writing conditions that say the same from either side.
fn key(tree: &Expression) -> String {
    match &tree.node {
        Node::Compare(a, relation, b) => {
            let (a, b) = (print_expression(a), print_expression(b));
            let relation = relation.value;
            let swaps = match relation {
                Relation::Above | Relation::AtLeast => true,
                Relation::Equal | Relation::Unequal => a > b,
                Relation::Below | Relation::AtMost => false,
            };
            match swaps {
                true => format!("{b} {} {a}", relation.turned().sign()),
                false => format!("{a} {} {b}", relation.sign()),
            }
        }
        Node::And(a, b) => format!("({}) and ({})", key(a), key(b)),
        Node::Or(a, b) => format!("({}) or ({})", key(a), key(b)),
        _ => print_expression(tree),
    }
}

/// Whether some conditions never hold where one of the others does.
pub(super) fn are_apart(takes: &[Take], these: &[&Expression], others: &[&Expression]) -> bool {
    let hidden = BTreeSet::new();
    let mut cells = Cells::default();
    let [these, others] = [these, others].map(|all| {
        let scope = Scope { takes, hidden: &hidden };
        all.iter().map(|it| cells.condition(it, scope)).collect::<Vec<_>>()
    });
    let Some(all) = cells.combinations() else { return others.is_empty() };
    let any = |of: &[Condition], cell: &[usize]| of.iter().any(|it| cells.holds(it, cell));
    !all.iter().any(|cell| any(&these, cell) && any(&others, cell))
}

impl Compiler<'_> {
    /// What is decided in a sheet before any value is known.
    pub(super) fn decided(&mut self, sheet: &Sheet) {
        let tree: &Tree = &sheet.tree;
        let functions = tree.works.iter().filter_map(|line| match &line.body {
            Body::Function { parameters, result } => Some((result, parameters)),
            Body::Value(_) | Body::Table(_) => None,
        });
        let functions: Vec<_> = functions.collect();
        for whole in tree.formulas() {
            let function = functions.iter().find(|(result, _)| std::ptr::eq(*result, whole));
            let hidden = function.into_iter().flat_map(|(_, parameters)| parameters.iter());
            let hidden = hidden.map(|word| word.value.as_str()).collect();
            self.decided_cases(sheet, whole, &hidden);
        }
        let mut said: BTreeMap<String, usize> = BTreeMap::new();
        for check in &tree.holds {
            let line = sheet.source.line_and_column(check.span.start).0;
            if let Some(first) = said.get(&key(&check.condition)) {
                self.problems.push(
                    Diagnostic::error(
                        Name::TwoStatements,
                        format!("this is checked twice, first in line {first}"),
                    )
                    .at(sheet.place(&check.condition.span))
                    .remedy("leave one of the two out, or write the check that is meant"),
                );
            }
            said.entry(key(&check.condition)).or_insert(line);
            let nothing = BTreeSet::new();
            let outcome = always(&check.condition, Scope { takes: &[], hidden: &nothing });
            let place = sheet.place(&check.condition.span);
            self.problems.extend(outcome.map(|holds| decided_check(&place, holds)));
        }
        self.never_together(sheet);
    }

    fn decided_cases(&mut self, sheet: &Sheet, tree: &Expression, hidden: &BTreeSet<&str>) {
        let mut hidden = hidden.clone();
        match &tree.node {
            Node::Root(search) | Node::Integral(search) => {
                hidden.insert(&search.argument.value);
            }
            Node::Running { name, .. } => {
                hidden.insert(&name.value);
            }
            Node::Cases { cases, otherwise } => {
                let scope = Scope { takes: &sheet.tree.takes, hidden: &hidden };
                self.unreached(sheet, (tree, cases, otherwise.as_deref()), scope);
            }
            Node::Where(_, condition) => {
                let scope = Scope { takes: &sheet.tree.takes, hidden: &hidden };
                let outcome = always(condition, scope);
                let place = sheet.place(&condition.span);
                self.problems.extend(outcome.map(|holds| decided_where(&place, holds)));
            }
            _ => {}
        }
        for part in tree.parts() {
            self.decided_cases(sheet, part, &hidden);
        }
    }

    fn unreached(
        &mut self,
        sheet: &Sheet,
        (tree, cases, otherwise): (&Expression, &[(Expression, Expression)], Option<&Expression>),
        scope: Scope<'_>,
    ) {
        let mut cells = Cells::default();
        let conditions: Vec<(&Expression, Condition)> =
            cases.iter().map(|(tree, _)| (tree, cells.condition(tree, scope))).collect();
        let Some(all) = cells.combinations() else { return };
        let mut open: Vec<&Vec<usize>> = all.iter().collect();
        for (tree, condition) in &conditions {
            let before = open.len();
            open.retain(|it| !cells.holds(condition, it));
            if open.len() < before {
                continue;
            }
            let holds = all.iter().any(|it| cells.holds(condition, it));
            let headline = match holds {
                true => "this case is never reached: the cases above cover it",
                false => "this case is never reached: its condition never holds",
            };
            let remedy = match holds {
                true => "put the narrower case above the wider one, or leave this one out",
                false => "write the condition that is meant, or leave the case out",
            };
            self.problems.push(
                Diagnostic::error(Name::UnreachedCase, headline)
                    .at(sheet.place(&tree.span))
                    .remedy(remedy),
            );
        }
        if let Some(otherwise) = otherwise {
            if open.is_empty() {
                self.problems.push(
                    Diagnostic::error(
                        Name::UnreachedCase,
                        "`otherwise` is never reached: the cases above cover everything",
                    )
                    .at(sheet.place(&otherwise.span))
                    .remedy("leave it out, or correct the case that covers too much"),
                );
            }
            return;
        }
        // whatever else is so: words that no case covers
        let covered: BTreeSet<Vec<String>> = all
            .iter()
            .filter(|it| conditions.iter().any(|(_, condition)| cells.holds(condition, it)))
            .map(|it| cells.words(it))
            .collect();
        let every: BTreeSet<Vec<String>> = all.iter().map(|it| cells.words(it)).collect();
        let mut missing: Vec<String> =
            every.difference(&covered).map(|words| words.join(" and ")).take(3).collect();
        if missing.is_empty() && cells.are_of(scope) {
            missing = open.iter().map(|it| cells.described(it).join(" and ")).take(3).collect();
        }
        if let Some(first) = missing.first().filter(|it| !it.is_empty()) {
            self.problems.push(
                Diagnostic::error(
                    Name::NoCase,
                    format!("no case covers `{}`", missing.join("`, `")),
                )
                .at(sheet.place(&tree.span))
                .remedy(format!("add `when {first} : …`, or `otherwise : …`")),
            );
        }
    }
}

/// What a condition comes to in every combination, where that is the same in all.
fn always(tree: &Expression, scope: Scope<'_>) -> Option<bool> {
    let mut cells = Cells::default();
    let condition = cells.condition(tree, scope);
    let all = cells.combinations()?;
    let mut truths = all.iter().map(|it| cells.holds(&condition, it));
    let first = truths.next()?;
    truths.all(|it| it == first).then_some(first)
}

fn decided_where(place: &Place, holds: bool) -> Diagnostic {
    let (name, headline, remedy) = match holds {
        true => (
            Name::ChangesNothing,
            "this condition leaves no element out: it always holds",
            "write the condition that is meant, or leave out `where` with it",
        ),
        false => (
            Name::UnreachedCase,
            "no element is ever taken: this condition never holds",
            "write the condition that is meant",
        ),
    };
    Diagnostic::error(name, headline).at(place.clone()).remedy(remedy)
}

fn decided_check(place: &Place, holds: bool) -> Diagnostic {
    let headline = match holds {
        true => "this check holds whatever the values are",
        false => "this check can never hold",
    };
    Diagnostic::error(Name::DecidedCheck, headline)
        .at(place.clone())
        .remedy("write the comparison that is meant, or leave the check out")
}
