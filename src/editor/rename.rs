//! A name changed throughout its sheet and wherever own files know it, and nothing else.

use std::path::Path;
use std::sync::Arc;

use lsp_types::{TextEdit, Uri};

use super::documents::{Document, Documents};
use super::occurrences::{Occurrence, Role, occurrences};
use super::position::range;
use crate::calculation::{Cases, Expectation};
use crate::diagnostic::{Diagnostic, Place, Source};
use crate::language::{self, Span, is_built_in, is_reserved};
use crate::project;

/// What changes in each file.
pub(super) type Changes = Vec<(Uri, Vec<TextEdit>)>;

impl Documents<'_> {
    /// The changes that give a name of the sheet another one.
    ///
    /// The sheet that comes of them must calculate the same: it is compiled and compared. Inputs and results are
    /// changed in the sheets that use it, in its cases and in the defaults of its project too, as far as they are
    /// found from here.
    pub(super) fn rename(
        &self,
        document: &Document,
        word: &Occurrence,
        new: &str,
    ) -> Result<Changes, String> {
        can_be_renamed(word)?;
        let mut takes = document.tree.takes.iter();
        if takes.any(|take| take.from.is_some() && take.name.value == word.name) {
            return Err(format!("`{}` is a name of a group: change it there", word.name));
        }
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
        let mut changes = vec![(document.uri.clone(), as_edits(document.text(), edits))];
        if !matches!(word.role, Role::Local(_)) {
            changes.extend(self.elsewhere(document, &word.name, new)?);
        }
        Ok(changes)
    }

    /// The changes in the other files that know a name of a sheet.
    fn elsewhere(&self, document: &Document, old: &str, new: &str) -> Result<Changes, String> {
        let project = self.project();
        let place = Place::text(&document.source, 0..0);
        let stem = project::name_in(&document.source.name);
        let mut changes = Changes::new();
        let mut put = |source: &Source, edits: Vec<(Span, String)>| {
            let uri = self.location(source, &(0..0)).map(|it| it.uri);
            if let Some(uri) = uri.filter(|_| !edits.is_empty()) {
                changes.push((uri, as_edits(&source.text, edits)));
            }
        };
        for path in project.own_beside(&place).unwrap_or_default() {
            let Ok(source) = project.file(&path) else { continue };
            if !source.is_same(&document.source) {
                put(&source, self.in_user(document, &source, old, new));
            }
        }
        let cases = Path::new(&document.source.name).with_extension("cases");
        if let Ok(cases) = project.file(&cases) {
            put(&cases, in_cases(&cases, old, new));
        }
        let presets = project.presets(&place);
        let of_name = presets.iter().filter(|it| it.input == old);
        for preset in of_name.filter(|it| it.sheet.as_ref().is_none_or(|it| *it == stem)) {
            let Place::Text { source, span } = &preset.name else { continue };
            if preset.sheet.is_none() {
                return Err(format!(
                    "{} sets a default for every `{old}`: move it below `[defaults.{stem}]` first",
                    preset.name.to_text()
                ));
            }
            put(source, vec![(span.0..span.1, new.to_owned())]);
        }
        Ok(changes)
    }

    /// The changes in a sheet that may use the one of a document.
    fn in_user(
        &self,
        document: &Document,
        user: &Arc<Source>,
        old: &str,
        new: &str,
    ) -> Vec<(Span, String)> {
        let (tree, _) = language::parse(user);
        let in_courses = tree
            .courses
            .iter()
            .flat_map(|course| course.lines.iter().map(move |line| (line, course.called(line))));
        let uses = tree.uses.iter().map(|line| (line, line.alias.value.clone())).chain(in_courses);
        let uses = uses.filter(|(line, _)| {
            self.sheet_in(user, line).is_some_and(|used| used.is_same(&document.source))
        });
        let aliases: Vec<String> = uses.map(|(_, alias)| alias).collect();
        let of_it = |alias: &String| aliases.contains(alias);
        let words = occurrences(&tree).into_iter().filter(|word| word.name == old);
        words
            .filter_map(|word| match &word.role {
                Role::Result(alias) | Role::Argument(alias) if of_it(alias) => {
                    Some((word.span, new.to_owned()))
                }
                Role::Itself(alias) if of_it(alias) => Some((word.span, format!("{new} = {old}"))),
                _ => None,
            })
            .collect()
    }
}

/// Whether a word is a name of this sheet.
pub(super) fn can_be_renamed(word: &Occurrence) -> Result<(), String> {
    match word.role {
        Role::Own | Role::Local(_) | Role::Itself(_) => Ok(()),
        Role::Result(_) | Role::Argument(_) => {
            Err(format!("`{}` is a name of the used sheet: change it there", word.name))
        }
        Role::Group(_) => {
            Err(format!("`{}` is the name of a group: change it in its file", word.name))
        }
        _ => Err(format!("`{}` is no name of this sheet", word.name)),
    }
}

fn as_edits(text: &str, edits: Vec<(Span, String)>) -> Vec<TextEdit> {
    edits.into_iter().map(|(span, new)| TextEdit::new(range(text, &span), new)).collect()
}

/// The changes in the cases of a sheet: `NAME = …` and `gives NAME = …`.
fn in_cases(source: &Arc<Source>, old: &str, new: &str) -> Vec<(Span, String)> {
    let (all, _) = Cases::read(source);
    let mut places: Vec<&Place> = Vec::new();
    for case in &all.cases {
        places.extend(case.inputs.iter().filter(|it| it.0 == old).map(|it| &it.2));
        let expected = case.expectations.iter();
        places.extend(expected.filter_map(|(what, place)| match what {
            Expectation::Gives { name, .. } if name == old => Some(place),
            _ => None,
        }));
    }
    let name = |place: &Place| {
        let Place::Text { span, .. } = place else { return None };
        let line = source.text.get(span.0..span.1)?;
        let before = line.strip_prefix("gives").map_or(0, |rest| "gives".len() + blanks(rest));
        Some(span.0 + before..span.0 + before + old.len())
    };
    let mut edits: Vec<Span> = places.into_iter().filter_map(name).collect();
    edits.sort_by_key(|span| span.start);
    edits.into_iter().map(|span| (span, new.to_owned())).collect()
}

fn blanks(text: &str) -> usize {
    text.len() - text.trim_start().len()
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
