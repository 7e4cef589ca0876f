//! What a word stands for, in a few lines: kind, unit, nominal value, note.

use super::documents::{Document, Documents};
use super::occurrences::{Occurrence, Role};
use crate::language::{self, Body};
use crate::program::{Line, LineSource, Type};
use crate::unit;

impl Documents<'_> {
    /// The lines for a word; nothing where it stands for nothing that is known.
    pub(super) fn about(&self, document: &Document, word: &Occurrence) -> Vec<String> {
        match &word.role {
            Role::Own => own(document, &word.name),
            Role::Local(_) => {
                vec![format!("`{}`: a parameter, known in this line alone", word.name)]
            }
            Role::Result(alias) => {
                let (alias, name) = document.result_of(alias, &word.name);
                self.of_used(document, &alias, &name)
            }
            Role::Argument(alias) => self.of_used(document, alias, &word.name),
            Role::Itself(alias) => {
                let mut lines = self.of_used(document, alias, &word.name);
                lines.push("handed over from here:".to_owned());
                lines.extend(own(document, &word.name));
                lines
            }
            Role::Sheet(alias) => self.sheet(document, alias),
            Role::Group(handle) => own(document, handle),
            Role::BuiltIn => vec![format!("`{}`: built in", word.name)],
            Role::Kind => about_kind(&word.name),
            Role::Unit => about_unit(&word.name),
        }
    }

    fn of_used(&self, document: &Document, alias: &str, name: &str) -> Vec<String> {
        let path = |scope: &&crate::program::Scope| scope.path == alias;
        let scope = document.program.scopes.iter().find(path);
        if let Some(line) = scope.and_then(|it| document.program.line(*it.names.get(name)?)) {
            return about_line(document, name, line);
        }
        // where the use has a mistake, what its sheet says
        let source = document.used(alias).and_then(|line| self.sheet_of(document, line));
        let Some(source) = source else { return Vec::new() };
        let tree = self.tree(&source);
        let of = |kind: &language::Shape, unit: &Option<language::Word>| {
            let kind = match kind {
                language::Shape::Kind(kind) => kind.value.clone(),
                language::Shape::Series(kind) => format!("series of {}", kind.value),
                language::Shape::Choice(words) => {
                    let words: Vec<&str> = words.iter().map(|it| it.value.as_str()).collect();
                    format!("one of {}", words.join(", "))
                }
            };
            let unit = unit.as_ref().map(|unit| format!(" in {}", unit.value)).unwrap_or_default();
            format!("`{name}`: {kind}{unit}, of `{}`", source.name)
        };
        let take = tree.takes.iter().find(|line| line.name.value == name);
        take.map(|line| [Some(of(&line.shape, &line.unit)), noted(&line.note)])
            .into_iter()
            .flatten()
            .flatten()
            .collect()
    }

    fn sheet(&self, document: &Document, alias: &str) -> Vec<String> {
        let source = document.used(alias).and_then(|line| self.sheet_of(document, line));
        let Some(source) = source else { return Vec::new() };
        let tree = self.tree(&source);
        let title = tree.title.as_ref().map_or("", |title| &title.value);
        let names = |words: Vec<&str>| format!("`{}`", words.join("`, `"));
        let takes = names(tree.takes.iter().map(|line| line.name.value.as_str()).collect());
        let gives = names(tree.gives.iter().map(|line| line.name.value.as_str()).collect());
        let mut lines = vec![format!("`{}`: {title}", source.name)];
        lines.push(format!("takes {takes}"));
        lines.push(format!("gives {gives}"));
        lines.extend(tree.sources.iter().map(|it| format!("source: {}", it.value)));
        lines
    }
}

fn own(document: &Document, name: &str) -> Vec<String> {
    let scope = document.program.scopes.first();
    if let Some(line) = scope.and_then(|it| document.program.line(*it.names.get(name)?)) {
        return about_line(document, name, line);
    }
    if let Some(group) = document.tree.group(name) {
        let inputs: Vec<String> = group.inputs.iter().map(|it| group.called(it)).collect();
        let takes = format!("takes `{}`", inputs.join("`, `"));
        return vec![format!("`{name}`: the group of inputs `{}`", group.name.value), takes];
    }
    let mut courses = document.tree.courses.iter();
    if let Some(course) = courses.clone().find(|it| it.state.value == name) {
        let values = course.values.join("`, `");
        return vec![format!("`{name}`: a state"), format!("hands on `{values}`")];
    }
    if let Some(course) = courses.find(|it| it.alias.value == name) {
        let (state, values) = (&course.state.value, course.values.join(&format!("`, `{name}.")));
        return vec![
            format!("`{name}`: a course of `{state}`"),
            format!("its end is read as `{name}.{values}`"),
        ];
    }
    if document.used(name).is_some() {
        return vec![format!("`{name}`: a used sheet; its results are read as `{name}.…`")];
    }
    let work = document.tree.works.iter().find(|line| line.name.value == name);
    let Some(work) = work else { return Vec::new() };
    let what = match &work.body {
        Body::Value(_) => return Vec::new(),
        Body::Function { parameters, .. } => {
            let names: Vec<&str> = parameters.iter().map(|it| it.value.as_str()).collect();
            format!("`{name}({})`: a function", names.join(", "))
        }
        Body::Table(table) => {
            let ((argument, from, _), (to, _)) = (&table.argument, &table.value);
            format!("`{name}({})`: a table from {} to {}", argument.value, from.value, to.value)
        }
    };
    [Some(what), noted(&work.note)].into_iter().flatten().collect()
}

/// A line of the program: what it is, its note, and its nominal value.
fn about_line(document: &Document, name: &str, line: &Line) -> Vec<String> {
    let input = document.program.inputs.iter().find(|input| input.register == line.register);
    let kind = input.and_then(|input| input.kind).map(unit::Kind::with_article);
    let mut what = match &line.type_ {
        Type::Number { dimension, series, .. } => {
            let kind = kind.unwrap_or_else(|| unit::name_of(*dimension));
            let unit = line.unit.symbol.as_str();
            let unit = if unit.is_empty() { String::new() } else { format!(" in {unit}") };
            format!("{}{kind}{unit}", if *series { "a series, each " } else { "" })
        }
        Type::Truth => "true or false".to_owned(),
        Type::Choice(words) => format!("one of {}", words.join(", ")),
    };
    if let Some(limits) = input.map(crate::program::Input::limits_text).filter(|it| !it.is_empty())
    {
        what.push_str(", ");
        what.push_str(&limits);
    }
    let role = match line.says {
        LineSource::Takes => " (input)",
        LineSource::Default => " (input that keeps its default)",
        _ => "",
    };
    let value = document.values().map(|results| {
        format!("= {} with the sheet's defaults and examples", results.line_text(line))
    });
    let lines = [Some(format!("`{name}`: {what}{role}")), noted(&line.note), value];
    lines.into_iter().flatten().collect()
}

fn noted(note: &str) -> Option<String> {
    (!note.is_empty()).then(|| note.to_owned())
}

fn about_kind(name: &str) -> Vec<String> {
    let Some(kind) = unit::kind(name) else { return Vec::new() };
    let units = match kind.units {
        [] => "written without a unit, or in %".to_owned(),
        units => format!("units: {}", units.join(", ")),
    };
    vec![format!("{}: {}", kind.name, kind.about), units]
}

fn about_unit(text: &str) -> Vec<String> {
    let Ok(read) = unit::parse_unit(text) else { return Vec::new() };
    let named = unit::catalogue().iter().find(|entry| entry.symbol == read.symbol);
    let what = match named {
        Some(entry) => format!("{} ({})", entry.name, entry.source),
        None => unit::name_of(read.dimension),
    };
    let (factor, coherent) = (read.factor.as_f64(), read.dimension.to_string());
    vec![format!("1 {} = {factor} {coherent}", read.symbol).trim_end().to_owned(), what]
}
