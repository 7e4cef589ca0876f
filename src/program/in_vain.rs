//! What changes nothing where it stands, so that another sign or name was meant: a term that stands twice in a sum,
//! or in it and against it, a factor of 1, a term of 0, a value beside itself in `max`, `and` or a fraction.

use std::collections::BTreeMap;

use super::compile::Compiler;
use super::decided::number;
use super::scope::Sheet;
use crate::diagnostic::{Diagnostic, Name};
use crate::language::{Expression, Node, Sign, Span, print_expression};

/// How a zero that leaves a formula without what stands beside it is put right.
const IN_PLACE_OF_ZERO: &str =
    "write the factor that is meant; where nothing is meant, write 0 alone with its unit";

/// Most terms of one sum that are looked at.
const MOST: usize = 64;

impl Compiler<'_> {
    /// Every formula of a sheet.
    pub(super) fn in_vain(&mut self, sheet: &Sheet) {
        let tree = std::sync::Arc::clone(&sheet.tree);
        for whole in tree.formulas() {
            self.sums_in(sheet, whole);
            self.idle_in(sheet, whole);
        }
    }

    /// A formula and every part of it, in which nothing may stand that changes nothing.
    fn idle_in(&mut self, sheet: &Sheet, tree: &Expression) {
        if let Some((problem, at)) = idle(tree) {
            self.problems.push(problem.at(sheet.place(at)));
            return;
        }
        tree.parts().into_iter().for_each(|part| self.idle_in(sheet, part));
    }

    fn sums_in(&mut self, sheet: &Sheet, tree: &Expression) {
        let mut terms = Vec::new();
        flatten(tree, true, &mut terms);
        if terms.len() < 2 {
            tree.parts().into_iter().for_each(|part| self.sums_in(sheet, part));
            return;
        }
        let mut seen: BTreeMap<String, (bool, &Span)> = BTreeMap::new();
        for (term, plus) in terms.iter().take(MOST) {
            self.sums_in(sheet, term);
            let text = print_expression(term);
            let Some((before, span)) = seen.insert(turned(term), (*plus, &term.span)) else {
                continue;
            };
            // 1 + x + 1 may be two parts that are one by chance
            if before == *plus && matches!(term.node, Node::Number { .. }) {
                continue;
            }
            let (headline, remedy) = match before == *plus {
                true => (
                    format!("`{text}` stands twice in this sum"),
                    format!(
                        "write the term that is meant, or once `2 * {}`",
                        bracketed(term, &text)
                    ),
                ),
                false => (
                    format!("`{text}` is added and taken away in one sum"),
                    "write the term that is meant, or leave both out".to_owned(),
                ),
            };
            self.problems.push(
                Diagnostic::error(Name::TwoStatements, headline)
                    .at(sheet.place(&term.span))
                    .label(sheet.place(span), "the same")
                    .remedy(remedy),
            );
        }
    }
}

/// What changes nothing at this place of a formula, and where.
fn idle(tree: &Expression) -> Option<(Diagnostic, &Span)> {
    let instead = |words: &str, kept: &Expression| {
        let remedy = format!(
            "write what is meant, or `{}` alone; a number that is meant all the same has `meant` before it and \
             `\"why\"` behind",
            print_expression(kept)
        );
        Diagnostic::error(Name::ChangesNothing, words).remedy(remedy)
    };
    match &tree.node {
        Node::Binary(a, sign, b) => {
            let (none, words) = match sign.value {
                Sign::Plus | Sign::Minus => (0.0, "a term of 0 changes nothing"),
                Sign::Times | Sign::Over => (1.0, "a factor of 1 changes nothing"),
            };
            let is_product = matches!(sign.value, Sign::Times | Sign::Over);
            let mut both = [a, b].into_iter().filter(|_| is_product);
            if let Some(zero) = both.find(|it| is_number(it, 0.0, Sign::Plus)) {
                let (name, words) = match (sign.value, std::ptr::eq(zero, b)) {
                    (Sign::Over, true) => (Name::DividedByZero, "zero stands below the line"),
                    (Sign::Over, false) => {
                        (Name::ChangesNothing, "0 divided by anything is left out of the result")
                    }
                    _ => {
                        (Name::ChangesNothing, "what is multiplied by 0 is left out of the result")
                    }
                };
                let remedy = match name {
                    Name::DividedByZero => "write the divisor that is meant",
                    _ => IN_PLACE_OF_ZERO,
                };
                return Some((Diagnostic::error(name, words).remedy(remedy), &zero.span));
            }
            if is_number(b, none, sign.value) {
                return Some((instead(words, a), &b.span));
            }
            let is_first = matches!(sign.value, Sign::Plus | Sign::Times);
            if is_first && is_number(a, none, sign.value) {
                return Some((instead(words, b), &a.span));
            }
            matches!(sign.value, Sign::Times | Sign::Over).then(|| over_itself(tree)).flatten()
        }
        Node::Power(a, _, b) if is_number(b, 1.0, Sign::Times) => {
            Some((instead("a power of 1 changes nothing", a), &b.span))
        }
        Node::Power(a, _, b) if is_number(b, 0.0, Sign::Plus) || is_number(a, 0.0, Sign::Plus) => {
            let (zero, words, remedy) = match is_number(a, 0.0, Sign::Plus) {
                true => (a, "a power of 0 is left out of the result", IN_PLACE_OF_ZERO),
                false => (
                    b,
                    "with an exponent of 0 it is 1, whatever stands below it",
                    "write the exponent that is meant, or 1 alone",
                ),
            };
            Some((Diagnostic::error(Name::ChangesNothing, words).remedy(remedy), &zero.span))
        }
        Node::And(a, b) | Node::Or(a, b) if print_expression(a) == print_expression(b) => {
            let words = format!("`{}` stands on both sides", print_expression(b));
            let problem = Diagnostic::error(Name::ChangesNothing, words);
            Some((problem.remedy("write the condition that is meant, or leave it out"), &b.span))
        }
        Node::Call(name, arguments) if matches!(name.value.as_str(), "max" | "min") => {
            beside_itself(name.value.as_str(), arguments)
        }
        _ => None,
    }
}

/// A term in words in which the order of its factors does not matter.
fn turned(term: &Expression) -> String {
    let mut factors = Vec::new();
    factors_of(term, &mut factors);
    factors.sort();
    factors.join(" * ")
}

fn factors_of(term: &Expression, to: &mut Vec<String>) {
    match &term.node {
        Node::Binary(a, sign, b) if sign.value == Sign::Times => {
            factors_of(a, to);
            factors_of(b, to);
        }
        _ => to.push(print_expression(term)),
    }
}

/// Whether a plain number, or a 0 of any unit, is written there.
fn is_number(tree: &Expression, value: f64, sign: Sign) -> bool {
    let is_sum = matches!(sign, Sign::Plus | Sign::Minus);
    number(tree).is_some_and(|found| {
        let plain = found.unit.dimension.is_none();
        (plain || is_sum) && found.si_f64() == value
    })
}

/// A factor that stands above and below one fraction line, which may be how a formula is derived.
fn over_itself(tree: &Expression) -> Option<(Diagnostic, &Span)> {
    let (mut above, mut below) = (Vec::new(), Vec::new());
    split(tree, true, &mut above, &mut below);
    let named = below.iter().filter(|it| !matches!(it.node, Node::Number { .. }));
    let (text, again) = named.into_iter().find_map(|it| {
        let text = print_expression(it);
        above.iter().any(|other| print_expression(other) == text).then_some((text, it))
    })?;
    let words = format!("`{text}` stands above and below one fraction line");
    let problem = Diagnostic::caution(Name::ChangesNothing, words);
    Some((problem.remedy("write the factor that is meant, or leave both out"), &again.span))
}

/// The factors of a product above and below its fraction lines.
fn split<'a>(
    tree: &'a Expression,
    is_above: bool,
    above: &mut Vec<&'a Expression>,
    below: &mut Vec<&'a Expression>,
) {
    match &tree.node {
        Node::Binary(a, sign, b) if matches!(sign.value, Sign::Times | Sign::Over) => {
            split(a, is_above, above, below);
            split(b, is_above == (sign.value == Sign::Times), above, below);
        }
        _ if is_above => above.push(tree),
        _ => below.push(tree),
    }
}

/// A value that stands in `max` or `min` beside itself, or beside one of them that holds it too.
fn beside_itself<'a>(name: &str, arguments: &'a [Expression]) -> Option<(Diagnostic, &'a Span)> {
    let texts: Vec<String> = arguments.iter().map(print_expression).collect();
    arguments.iter().zip(&texts).enumerate().find_map(|(at, (tree, text))| {
        let again = texts.iter().take(at).any(|before| before == text);
        let inside = match &tree.node {
            Node::Call(name, inner) if matches!(name.value.as_str(), "max" | "min") => {
                inner.iter().map(print_expression).find(|it| texts.contains(it))
            }
            _ => None,
        };
        let twice = if again { Some(text.clone()) } else { inside };
        twice.map(|text| {
            let words = format!("`{text}` stands twice in `{name}`, where it decides nothing more");
            let problem = Diagnostic::error(Name::ChangesNothing, words);
            (problem.remedy("write the value that is meant, or leave it out"), &tree.span)
        })
    })
}

/// A term that is added, or taken away, on both sides of a comparison.
pub(super) fn in_both_sums(a: &Expression, b: &Expression) -> Option<String> {
    let [first, second] = [a, b].map(|side| {
        let mut terms = Vec::new();
        flatten(side, true, &mut terms);
        terms.truncate(MOST);
        terms
    });
    let one_alone = first.len() == 1 && second.len() == 1;
    let varies = |it: &&(&Expression, bool)| number(it.0).is_none() && !one_alone;
    let mut found = first.iter().filter(varies);
    let (term, _) = found.find(|(one, plus)| {
        let is = |(other, same): &(&Expression, bool)| plus == same && turned(one) == turned(other);
        second.iter().any(is)
    })?;
    Some(print_expression(term))
}

/// The terms of a sum, each with whether it is added.
pub(super) fn flatten<'a>(tree: &'a Expression, plus: bool, to: &mut Vec<(&'a Expression, bool)>) {
    match &tree.node {
        Node::Binary(a, sign, b) if matches!(sign.value, Sign::Plus | Sign::Minus) => {
            flatten(a, plus, to);
            flatten(b, plus == (sign.value == Sign::Plus), to);
        }
        Node::Negative(inner) => flatten(inner, !plus, to),
        _ => to.push((tree, plus)),
    }
}

pub(super) fn bracketed(term: &Expression, text: &str) -> String {
    match &term.node {
        Node::Name(_) | Node::Dotted(..) | Node::Call(..) | Node::Power(..) | Node::Binary(..) => {
            text.to_owned()
        }
        _ => format!("({text})"),
    }
}
