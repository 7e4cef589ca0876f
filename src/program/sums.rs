//! Terms of a sum that stand in it twice, or in it and against it: one of the two was meant for another.

use std::collections::BTreeMap;

use super::compile::Compiler;
use super::scope::Sheet;
use crate::diagnostic::{Diagnostic, Name};
use crate::language::{Body, Expression, Node, Sign, Span, print_expression};

/// Most terms of one sum that are looked at.
const MOST: usize = 64;

impl Compiler<'_> {
    /// Every sum of a sheet.
    pub(super) fn repeated_terms(&mut self, sheet: &Sheet) {
        let tree = std::sync::Arc::clone(&sheet.tree);
        let works = tree.works.iter().filter_map(|line| match &line.body {
            Body::Value(value) => Some(value),
            Body::Function { result, .. } => Some(result),
            Body::Table(_) => None,
        });
        let handed = tree.uses.iter().flat_map(|line| &line.arguments).map(|(_, value)| value);
        let checks = tree.holds.iter().map(|check| &check.condition);
        for whole in works.chain(handed).chain(checks) {
            self.sums_in(sheet, whole);
        }
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
            if matches!(term.node, Node::Number { .. }) {
                continue;
            }
            let text = print_expression(term);
            let Some((before, span)) = seen.insert(turned(term), (*plus, &term.span)) else {
                continue;
            };
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

/// The terms of a sum, each with whether it is added.
fn flatten<'a>(tree: &'a Expression, plus: bool, to: &mut Vec<(&'a Expression, bool)>) {
    match &tree.node {
        Node::Binary(a, sign, b) if matches!(sign.value, Sign::Plus | Sign::Minus) => {
            flatten(a, plus, to);
            flatten(b, plus == (sign.value == Sign::Plus), to);
        }
        Node::Negative(inner) => flatten(inner, !plus, to),
        _ => to.push((tree, plus)),
    }
}

fn bracketed(term: &Expression, text: &str) -> String {
    match &term.node {
        Node::Name(_) | Node::Dotted(..) | Node::Call(..) | Node::Power(..) | Node::Binary(..) => {
            text.to_owned()
        }
        _ => format!("({text})"),
    }
}
