//! Names of parameters that hide a name of the sheet: what is read inside is not what stands outside.

use std::sync::Arc;

use super::compile::Compiler;
use super::scope::Sheet;
use crate::diagnostic::{Diagnostic, Name};
use crate::language::{Body, Expression, Node, Word};

impl Compiler<'_> {
    /// Every parameter of a sheet's functions, roots, integrals and series that bears the name of a line or an input.
    pub(super) fn hidden_names(&mut self, sheet: &Sheet) {
        let tree = Arc::clone(&sheet.tree);
        let mut words: Vec<&Word> = Vec::new();
        for line in &tree.works {
            match &line.body {
                Body::Value(value) => parameters(value, &mut words),
                Body::Function { parameters: own, result } => {
                    words.extend(own);
                    parameters(result, &mut words);
                }
                Body::Table(_) => {}
            }
        }
        for word in words {
            let Some(place) = sheet.places.get(&word.value) else { continue };
            self.problems.push(
                Diagnostic::caution(
                    Name::DefinedTwice,
                    format!(
                        "`{}` is a parameter here, and hides the `{}` of the sheet",
                        word.value, word.value
                    ),
                )
                .at(sheet.place(&word.span))
                .label(place.clone(), "hidden here")
                .remedy("give the parameter a name of its own"),
            );
        }
    }
}

/// The parameters of the searches and recurrences in a formula.
pub(super) fn parameters<'a>(tree: &'a Expression, to: &mut Vec<&'a Word>) {
    match &tree.node {
        Node::Root(search) | Node::Integral(search) => to.push(&search.argument),
        Node::Running { name, .. } => to.push(name),
        _ => {}
    }
    tree.parts().into_iter().for_each(|part| parameters(part, to));
}
