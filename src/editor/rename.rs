//! A name changed throughout its sheet, and nothing else.

use lsp_types::TextEdit;

use super::documents::{Document, Documents};
use super::occurrences::{Occurrence, Role};
use super::position::range;
use crate::diagnostic::Diagnostic;
use crate::language::{Span, is_built_in, is_reserved};

impl Documents<'_> {
    /// The changes that give a name of the sheet another one.
    ///
    /// The sheet that comes of them must calculate the same: it is compiled and compared.
    pub(super) fn rename(
        &self,
        document: &Document,
        word: &Occurrence,
        new: &str,
    ) -> Result<Vec<TextEdit>, String> {
        can_be_renamed(word)?;
        let letter = |sign: char| sign.is_alphabetic() || sign == '_';
        let is_name = new.starts_with(letter)
            && new.chars().all(|sign| letter(sign) || sign.is_numeric())
            && !is_reserved(new)
            && !is_built_in(new);
        if !is_name {
            return Err(format!(
                "`{new}` cannot be a name: letters, digits and _, none of the language's own words"
            ));
        }
        let taken =
            |it: &&Occurrence| it.name == new && matches!(it.role, Role::Own | Role::Local(_));
        if document.words.iter().any(|it| taken(&it)) {
            return Err(format!("`{new}` is in use here already"));
        }
        let edits = edits(document, word, new);
        let mut changed = document.text().to_owned();
        for (span, text) in edits.iter().rev() {
            if changed.get(span.clone()).is_none() {
                return Err("the sheet has changed meanwhile".to_owned());
            }
            changed.replace_range(span.clone(), text);
        }
        let (program, problems) = self.tried(document, changed);
        let errors = |all: &[Diagnostic]| all.iter().filter(|it| it.is_error()).count();
        let same = program.steps == document.program.steps
            && program.blocks == document.program.blocks
            && errors(&problems) == errors(&document.problems);
        if !same {
            return Err(format!("with `{new}` the sheet would calculate something else"));
        }
        let text = document.text();
        Ok(edits.iter().map(|(span, new)| TextEdit::new(range(text, span), new.clone())).collect())
    }
}

/// Whether a word is a name of this sheet.
pub(super) fn can_be_renamed(word: &Occurrence) -> Result<(), String> {
    match word.role {
        Role::Own | Role::Local(_) | Role::Itself(_) => Ok(()),
        Role::Result(_) | Role::Argument(_) => {
            Err(format!("`{}` is a name of the used sheet: change it there", word.name))
        }
        _ => Err(format!("`{}` is no name of this sheet", word.name)),
    }
}

/// The new texts, in the order of the text.
fn edits(document: &Document, word: &Occurrence, new: &str) -> Vec<(Span, String)> {
    let all = document.same_as(word).into_iter();
    all.map(|it| {
        let text = match it.role {
            // the input of the used sheet keeps its name
            Role::Itself(_) => format!("{} = {new}", it.name),
            _ => new.to_owned(),
        };
        (it.span.clone(), text)
    })
    .collect()
}
