//! Names that a formula binds and nothing in it reads: the argument of a function, what an integral, a root or `running`
//! goes through. The outer name of the same kind was written for it, and no unit says so.

use std::sync::Arc;

use super::compile::Compiler;
use super::scope::Sheet;
use crate::diagnostic::{Diagnostic, Name};
use crate::language::{Body, Expression, Node, Word};

impl Compiler<'_> {
    /// Every formula of a sheet.
    pub(super) fn unread_names(&mut self, sheet: &Sheet) {
        let tree = Arc::clone(&sheet.tree);
        for line in &tree.works {
            let Body::Function { parameters, result } = &line.body else { continue };
            for parameter in parameters.iter().filter(|it| !reads(result, &it.value)) {
                let (name, function) = (&parameter.value, &line.name.value);
                let outcome = match parameters.len() {
                    1 => format!("`{function}` is the same wherever it is asked for"),
                    _ => format!("`{function}` is the same whatever `{name}` is"),
                };
                self.unread(
                    sheet, parameter, result, &outcome, "or leave it out where it is taken",
                );
            }
        }
        tree.formulas().for_each(|whole| self.unread_in(sheet, whole));
    }

    fn unread_in(&mut self, sheet: &Sheet, tree: &Expression) {
        let found = match &tree.node {
            Node::Integral(search) => Some((
                &search.argument,
                &search.function,
                "what is integrated is the same from end to end",
                "a constant needs no integral, it is multiplied by the distance",
            )),
            Node::Root(search) => Some((
                &search.argument,
                &search.function,
                "what is to be 0 is the same from end to end",
                "or leave the search out",
            )),
            Node::Running { name, body, .. } => Some((
                name,
                body,
                "nothing goes on from one element to the next, and where it starts has no effect",
                "where each element stands by itself, write it without `running`",
            )),
            _ => None,
        };
        match found {
            Some((word, body, outcome, otherwise)) if !reads(body, &word.value) => {
                self.unread(sheet, word, body, outcome, otherwise);
            }
            _ => {}
        }
        tree.parts().into_iter().for_each(|part| self.unread_in(sheet, part));
    }

    fn unread(
        &mut self,
        sheet: &Sheet,
        word: &Word,
        body: &Expression,
        outcome: &str,
        otherwise: &str,
    ) {
        let name = &word.value;
        self.problems.push(
            Diagnostic::caution(Name::UnusedDefinition, format!("`{name}` is not read: {outcome}"))
                .at(sheet.place(&word.span))
                .label(sheet.place(&body.span), "here it would stand")
                .remedy(format!(
                    "put `{name}` in the place of the name that was meant to be it; {otherwise}"
                )),
        );
    }
}

/// Whether a name stands anywhere in a formula.
fn reads(tree: &Expression, name: &str) -> bool {
    matches!(&tree.node, Node::Name(it) if it == name)
        || tree.parts().into_iter().any(|part| reads(part, name))
}
