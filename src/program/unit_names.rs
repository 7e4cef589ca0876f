//! Names that read as units: behind a number and a blank stands a unit, and a reader may take it for the name.

use std::collections::BTreeSet;
use std::sync::Arc;

use super::compile::Compiler;
use super::hides::parameters;
use super::scope::Sheet;
use crate::diagnostic::{Diagnostic, Name};
use crate::language::{Body, Bound, Expression, Node, Word};
use crate::unit::parse_unit;

impl Compiler<'_> {
    /// Quantities of formulas whose unit is written with the letters of names: `3 s` beside an input `s`.
    pub(super) fn names_read_as_units(&mut self, sheet: &Sheet) {
        let tree = Arc::clone(&sheet.tree);
        let takes = tree.takes.iter().map(|line| line.name.value.as_str());
        let values = tree.works.iter().filter(|line| matches!(line.body, Body::Value(_)));
        let all: BTreeSet<&str> =
            takes.chain(values.map(|line| line.name.value.as_str())).collect();
        let mut found = Vec::new();
        let mut look = |value: &Expression, own: &str, parameters: &[&Word]| {
            let is_name = |word: &str| {
                (word != own && all.contains(word)) || parameters.iter().any(|it| it.value == word)
            };
            quantities(value, &is_name, &mut found);
        };
        for line in &tree.works {
            let mut words: Vec<&Word> = Vec::new();
            let value = match &line.body {
                Body::Value(value) => value,
                Body::Function { parameters, result } => {
                    words.extend(parameters);
                    result
                }
                Body::Table(_) => continue,
            };
            parameters(value, &mut words);
            look(value, &line.name.value, &words);
        }
        for (name, Bound { value, .. }) in
            tree.takes.iter().filter(|it| it.from.is_none()).flat_map(|it| {
                it.low.iter().chain(&it.high).map(|bound| (it.name.value.as_str(), bound))
            })
        {
            // a bound that is a number stands beside the unit of its input, as the steps of a result do
            if !matches!(value.node, Node::Number { .. }) {
                look(value, name, &[]);
            }
        }
        let handed = tree.uses.iter().flat_map(|line| line.arguments.iter().chain(&line.but));
        let handed = handed.map(|(_, value)| value);
        for value in handed.chain(tree.holds.iter().map(|check| &check.condition)) {
            look(value, "", &[]);
        }
        self.problems.extend(found.into_iter().map(|(value, digits, unit)| {
            let (digits, name) = (digits.as_str(), unit.value.as_str());
            let headline = format!(
                "`{digits} {name}` is a quantity, its unit `{name}` written as a name of the sheet is"
            );
            Diagnostic::caution(Name::NameReadsAsUnit, headline).at(sheet.place(&value)).remedy(
                format!("write `{digits} * {name}` if the name is meant; if the unit is, give what is called so another name"),
            )
        }));
    }
}

type Found = (crate::language::Span, String, Word);

/// The quantities whose unit is made of names alone; nought and one of a unit are no product.
fn quantities(tree: &Expression, is_name: &dyn Fn(&str) -> bool, found: &mut Vec<Found>) {
    if let Node::Number { digits, unit: Some(unit) } = &tree.node {
        let letter = |sign: char| !(sign.is_alphabetic() || sign == '_');
        let mut words = unit.value.split(letter).filter(|it| !it.is_empty()).peekable();
        let plain = digits.parse().is_ok_and(|it: f64| it == 0.0 || it == 1.0);
        let is_unit = parse_unit(&unit.value).is_ok();
        if !plain && is_unit && words.peek().is_some() && words.all(is_name) {
            found.push((tree.span.clone(), digits.clone(), unit.clone()));
        }
    }
    tree.parts().into_iter().for_each(|part| quantities(part, is_name, found));
}
