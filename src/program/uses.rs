//! Used sheets: found, handed their inputs, compiled in place.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use super::compile::Compiler;
use super::flat::{Line, LineSource, Type};
use super::order::waits_for;
use super::scope::{Argument, Arguments, Named, Sheet, Value};
use super::{mismatch, suggest};
use crate::diagnostic::{Diagnostic, Name, Source, phrase};
use crate::language::{self, Expression, Group, Node, Shape, Span, Use, Word};
use crate::unit::{self, Unit};

/// Deepest nesting of `uses`.
const DEEPEST_USE: usize = 24;

impl Compiler<'_> {
    /// The name of a sheet that is open or about to be.
    fn name_of(&self, source: &Source) -> String {
        let tree = self.trees.iter().find(|(known, _)| known.is_same(source));
        let name = tree.and_then(|(_, tree)| tree.name.as_ref());
        name.map_or_else(|| source.name.clone(), |name| name.value.clone())
    }

    /// `alias = sheet with …`
    pub(super) fn used(&mut self, sheet: &mut Sheet, line: &Use) {
        let results = self.use_sheet(sheet, line);
        sheet.names.entry(line.alias.value.clone()).or_insert(match results {
            Some(results) => Named::Use(results),
            None => Named::Silent,
        });
    }

    fn use_sheet(
        &mut self,
        sheet: &mut Sheet,
        line: &Use,
    ) -> Option<BTreeMap<String, Option<Value>>> {
        let name = &line.sheet.value;
        let place = sheet.place(&line.sheet.span);
        let source = match self.resolver.sheet(line.whose, name, &place) {
            Ok(source) => source,
            Err(problem) => {
                self.problems.push(*problem);
                return None;
            }
        };
        if sheet.depth >= DEEPEST_USE {
            let words = format!("the sheets that use one another are more than {DEEPEST_USE} deep");
            self.problems.push(
                Diagnostic::error(Name::TooDeep, words)
                    .at(sheet.place(&line.sheet.span))
                    .remedy("let a sheet further up use this one, and hand its results on"),
            );
            return None;
        }
        if self.using.iter().any(|open| open.is_same(&source)) {
            let names = self.using.iter().chain([&source]).map(|source| self.name_of(source));
            let circle: Vec<String> = names.collect();
            self.problems.push(
                Diagnostic::error(
                    Name::CircularUse,
                    format!("a sheet uses itself: {}", circle.join(" → ")),
                )
                .at(sheet.place(&line.sheet.span))
                .remedy("leave one of these uses out"),
            );
            return None;
        }
        self.not_too_large(sheet, &line.sheet.span)?;
        let tree = self.read(&source);
        if let Some(standing) = &line.standing
            && !super::courses::takes_it(&tree, standing)
        {
            if tree.is_whole() {
                self.problems.push(super::courses::no_phase(sheet, line, standing));
            }
            return None;
        }
        let mut arguments = Arguments::new();
        // what a misspelt name was meant for is not missing as well
        let mut meant: Vec<String> = Vec::new();
        for (input, argument) in &line.arguments {
            let Some(take) = tree.takes.iter().find(|take| take.name.value == input.value) else {
                if tree.is_broken(&input.value) {
                    continue;
                }
                if let Some(group) = tree.group(&input.value) {
                    self.problems.push(no_group_here(sheet, name, input, group));
                    meant.extend(group.inputs.iter().map(|it| group.called(it)));
                    continue;
                }
                let known: Vec<&str> =
                    tree.takes.iter().map(|take| take.name.value.as_str()).collect();
                let near = suggest::nearest(&input.value, known.iter().copied());
                meant.extend(near.first().map(|(near, _)| (*near).to_owned()));
                let remedy = match near.first() {
                    Some((near, _)) => format!("did you mean `{near}`?"),
                    None => format!("it takes {}", mismatch::list(&known)),
                };
                self.problems.push(
                    Diagnostic::error(
                        Name::UnknownArgument,
                        format!("`{name}` takes no `{}`", input.value),
                    )
                    .at(sheet.place(&input.span))
                    .remedy(remedy),
                );
                // its trouble may hide others
                let _ = self.expression(sheet, argument);
                continue;
            };
            if arguments.contains_key(&input.value) {
                let headline = format!("`{}` is handed to `{name}` twice", input.value);
                self.problems.push(
                    Diagnostic::error(Name::TwoStatements, headline)
                        .at(sheet.place(&input.span))
                        .remedy("leave one of them out"),
                );
            }
            let handed = self.argument(sheet, &line.alias.value, take, argument);
            arguments.insert(input.value.clone(), handed);
        }
        // only inputs of the sheet that is run are followed to their ends
        for take in &tree.takes {
            let tolerated = take.default.as_ref().is_some_and(|it| it.tolerance.is_some());
            let input = &take.name.value;
            if tolerated && !arguments.contains_key(input) {
                let said_in = take.from.as_ref().map_or(&source, |(group, _)| group);
                let behind = said_in.text.get(take.name.span.end..take.span.end);
                let behind = language::one_line(behind.unwrap_or_default());
                let begins = line.standing.as_ref().is_some_and(|it| it.from.contains(input));
                let hands = match begins {
                    true => format!("`{input}` to `from` of the course"),
                    false => format!("`{input}` to `with`"),
                };
                self.problems.push(
                    Diagnostic::error(
                        Name::MissingArgument,
                        format!(
                            "`{input}` of `{name}` has a tolerance, which is followed only where it is handed over"
                        ),
                    )
                    .at(sheet.place(&line.sheet.span))
                    .remedy(match sheet.places.contains_key(input) {
                        true => format!("add {hands}"),
                        false => {
                            format!("add the line `{input} {behind}` to `takes`, and {hands}")
                        }
                    }),
                );
            }
        }
        let missing: Vec<&str> = tree
            .takes
            .iter()
            .filter(|take| take.default.is_none() && !arguments.contains_key(&take.name.value))
            .map(|take| take.name.value.as_str())
            .collect();
        let untold: Vec<&str> =
            missing.iter().copied().filter(|name| !meant.iter().any(|word| word == name)).collect();
        if !untold.is_empty() {
            let plural = if untold.len() == 1 { "" } else { "s" };
            self.problems.push(
                Diagnostic::error(
                    Name::MissingArgument,
                    format!(
                        "`{name}` needs the value{plural} {}",
                        phrase::joined(&phrase::quoted(&untold), "and")
                    ),
                )
                .at(sheet.place(&line.sheet.span))
                .remedy(format!(
                    "add to `with`: {}",
                    untold.iter().map(|name| format!("{name} = …")).collect::<Vec<_>>().join(", ")
                )),
            );
        }
        if !missing.is_empty() {
            return None;
        }
        if arguments.values().any(|argument| matches!(argument, Argument::Silent)) {
            return None;
        }
        self.using.push(Arc::clone(&source));
        let path = format!("{}{}.", sheet.path, line.alias.value);
        let results = self.sheet(&source, &tree, path, Some(arguments), sheet.depth + 1);
        self.using.pop();
        let mut all: BTreeMap<String, Option<Value>> = tree
            .gives
            .iter()
            .map(|give| &give.name.value)
            .chain(&tree.broken)
            .map(|name| (name.clone(), None))
            .collect();
        all.extend(results.into_iter().map(|(name, value)| (name, Some(value))));
        Some(all)
    }

    /// Inputs of used sheets that keep their defaults although a value here matches them: they were
    /// forgotten, or the author says that the default is meant. Looked for when all names are known.
    pub(super) fn handed_over_by_silence(&mut self, sheet: &Sheet) {
        let tree = Arc::clone(&sheet.tree);
        for line in &tree.uses {
            let place = sheet.place(&line.sheet.span);
            let Ok(source) = self.resolver.sheet(line.whose, &line.sheet.value, &place) else {
                continue;
            };
            let used = self.read(&source);
            self.handed_to_another(sheet, line, &used.takes);
            for take in &used.takes {
                let name = &take.name.value;
                let is_handed = |(input, _): &(Word, Expression)| {
                    input.value == *name
                        // what a misspelt name was meant for is not missing as well
                        || !used.takes.iter().any(|take| take.name.value == input.value)
                            && suggest::nearest(&input.value, [name.as_str()].into_iter()).len() == 1
                };
                // a default with a tolerance is asked for in words of its own
                let Some(default) = take.default.as_ref().filter(|it| it.tolerance.is_none())
                else {
                    continue;
                };
                if line.arguments.iter().any(is_handed) {
                    continue;
                }
                let Some((ours, fits)) = matching(sheet, line, take) else { continue };
                let said_in = take.from.as_ref().map_or(&source, |(group, _)| group);
                let written = said_in.text.get(default.span.clone()).map(language::one_line);
                let says = format!("say `{name} = {}`", written.unwrap_or_default());
                let first = ours.split('.').next().unwrap_or(&ours);
                let waits = first == line.alias.value
                    || waits_for(&tree, &line.alias.value).contains(first);
                let begins = line.standing.as_ref().is_some_and(|it| it.from.contains(name));
                // what is calculated from a course is nothing that it could begin with; nor is the name under which
                // a result leaves the sheet, where a used sheet ends with it
                if begins && (waits || is_result(&tree, &ours, None))
                    || is_result(&tree, &ours, Some(&line.alias.value))
                {
                    continue;
                }
                let list = if begins { "from" } else { "with" };
                let remedy = match (&take.shape, fits && !waits) {
                    (_, true) if ours == *name => {
                        format!("add `{name}` to `{list}`, or {says} there")
                    }
                    (_, true) => format!("add `{name} = {ours}` to `{list}`, or {says} there"),
                    (Shape::Choice(_), false) if !fits => format!(
                        "{says} in `{list}`; to follow `{ours}`, use the sheet once for each word and choose among the results with `when {ours} is …`"
                    ),
                    _ => format!("{says} in `{list}`, or give one of the two another name"),
                };
                let headline = format!(
                    "`{name}` of `{}` is not handed over, and there is a `{ours}` here",
                    line.sheet.value
                );
                let mut problem =
                    Diagnostic::error(Name::NotHanded, headline).at(sheet.place(&line.sheet.span));
                if let Some(place) = sheet.places.get(first) {
                    problem = problem.label(place.clone(), "not handed over");
                }
                self.problems.push(problem.remedy(remedy));
            }
        }
    }

    /// Inputs of a used sheet that are handed the value of another of its inputs, while that one gets yet another: two
    /// crosswise, three in a ring, a row that has slipped by one. And a value that is handed to a second input too,
    /// while there is one of that input's own name.
    fn handed_to_another(&mut self, sheet: &Sheet, line: &Use, takes: &[language::Take]) {
        let names: BTreeMap<&str, (&str, &Span)> = line
            .arguments
            .iter()
            .filter_map(|(input, value)| match &value.node {
                Node::Name(ours) => Some((input.value.as_str(), (ours.as_str(), &value.span))),
                _ => None,
            })
            .collect();
        let could_be = |input: &str, ours: &str| {
            let take = takes.iter().find(|take| take.name.value == input);
            match (take, sheet.names.get(ours)) {
                (Some(take), Some(Named::Value(ours, _))) => could_be(&take.shape, ours),
                _ => false,
            }
        };
        let mut seen: BTreeSet<&str> = BTreeSet::new();
        for (input, (ours, own)) in &names {
            let Some((theirs, other)) = names.get(ours).filter(|_| input != ours) else { continue };
            if !could_be(ours, ours) || seen.contains(input) {
                continue;
            }
            let sheet_name = &line.sheet.value;
            let twice = theirs == ours;
            let span = if twice { own } else { other };
            let words = match twice {
                true if could_be(input, input) => format!(
                    "`{ours}` is handed to `{input}` of `{sheet_name}` too, and there is a `{input}` here"
                ),
                true => continue,
                false => {
                    let mut at = *input;
                    while let Some((next, _)) = names.get(at).filter(|_| seen.insert(at)) {
                        at = next;
                    }
                    match *theirs == *input {
                        true => format!(
                            "`{input}` and `{ours}` of `{sheet_name}` are handed over crosswise"
                        ),
                        false => format!(
                            "`{input}` of `{sheet_name}` is handed `{ours}`, and its own `{ours}` is handed `{theirs}`"
                        ),
                    }
                }
            };
            self.problems.push(
                Diagnostic::error(Name::NotHanded, words).at(sheet.place(span)).remedy(
                    "hand each its own value; if the exchange is meant, give the values names of their own in works",
                ),
            );
        }
    }

    fn argument(
        &mut self,
        sheet: &mut Sheet,
        alias: &str,
        take: &language::Take,
        argument: &Expression,
    ) -> Argument {
        let place = sheet.place(&argument.span);
        if let Shape::Choice(words) = &take.shape {
            let text = match &argument.node {
                Node::Name(name) => name.clone(),
                _ => sheet.text(&argument.span).trim().to_owned(),
            };
            let is_word = words.iter().any(|word| word.value == text);
            let is_name = matches!(sheet.names.get(&text), Some(Named::Value(value, _)) if matches!(value.type_, Type::Choice(_)));
            if is_word && !is_name {
                return Argument::Word(text);
            }
            if matches!(argument.node, Node::Name(_)) && !sheet.names.contains_key(&text) {
                let words: Vec<String> = words.iter().map(|word| word.value.clone()).collect();
                let word = Word { value: text, span: argument.span.clone() };
                self.problems.push(mismatch::unknown_word(sheet, &word, &words));
                return Argument::Silent;
            }
        }
        let id = self.next_line();
        self.line = id;
        let Some(value) = self.expression(sheet, argument) else { return Argument::Silent };
        let fits = match (&take.shape, &value.type_) {
            (Shape::Choice(words), Type::Choice(ours)) => {
                ours.iter().eq(words.iter().map(|word| &word.value))
            }
            (Shape::Choice(_), _) | (_, Type::Choice(_) | Type::Truth) => false,
            _ => true,
        };
        if !fits {
            let (headline, remedy) = match &take.shape {
                Shape::Choice(words) => {
                    let known: Vec<&str> = words.iter().map(|word| word.value.as_str()).collect();
                    let headline =
                        format!("`{}` is one of {}", take.name.value, mismatch::list(&known));
                    (
                        headline,
                        "hand it one of these words, or a choice with the same words in the same order",
                    )
                }
                _ => (format!("`{}` is a number", take.name.value), "hand it a value"),
            };
            self.problems
                .push(Diagnostic::error(Name::NotANumber, headline).at(place).remedy(remedy));
            return Argument::Silent;
        }
        let line = Line {
            name: format!("{}{alias}.{}", sheet.path, take.name.value),
            scope: sheet.scope,
            register: value.register,
            unit: match &value.type_ {
                Type::Number { dimension, point, .. } => unit::usual_unit(*dimension, *point),
                _ => Unit::one(),
            },
            type_: value.type_.clone(),
            note: take.note.clone(),
            place,
            says: LineSource::Hands(Arc::new(argument.clone())),
        };
        self.put_line(id, line);
        Argument::Value(Box::new(value), id)
    }
}

/// What the used sheet takes as a group is handed something else.
fn no_group_here(sheet: &Sheet, name: &str, input: &Word, group: &Group) -> Diagnostic {
    let inputs: Vec<String> = group.inputs.iter().map(|it| group.called(it)).collect();
    let line = format!("group {}{}", group.whose.word(), group.name.value);
    Diagnostic::error(
        Name::WrongGroup,
        format!(
            "`{}` of `{name}` is a group, and no group of this sheet is handed to it",
            input.value
        ),
    )
    .at(sheet.place(&input.span))
    .remedy(format!(
        "add the line `{line}` to `takes` and hand it, or hand its inputs one by one: {}",
        inputs.iter().map(|it| format!("{it} = …")).collect::<Vec<_>>().join(", ")
    ))
}

/// What here matches an input of a used sheet, and whether it could be handed over: a value, a function or a table of
/// its name whatever it is; a value of its kind whose name differs by `_` alone; or a result of its name and kind of
/// another used sheet.
fn matching(sheet: &Sheet, line: &Use, take: &language::Take) -> Option<(String, bool)> {
    let name = &take.name.value;
    match sheet.names.get(name) {
        Some(Named::Value(ours, _)) => return Some((name.clone(), could_be(&take.shape, ours))),
        Some(Named::Function(_) | Named::Table(..)) => return Some((name.clone(), false)),
        _ => {}
    }
    let bare = |name: &str| name.replace('_', "");
    let handed = |ours: &str| {
        line.arguments.iter().any(|(_, value)| matches!(&value.node, Node::Name(it) if it == ours))
    };
    let fits = |value: &Value| could_be(&take.shape, value);
    let near = sheet.names.iter().find(|(ours, named)| {
        matches!(named, Named::Value(value, _) if fits(value))
            && bare(ours) == bare(name)
            && !handed(ours.as_str())
    });
    if let Some((ours, _)) = near {
        return Some((ours.clone(), true));
    }
    let result = sheet.names.iter().find_map(|(alias, named)| {
        let Named::Use(results) = named else { return None };
        let value = results.get(name)?.as_ref()?;
        (*alias != line.alias.value && fits(value)).then(|| format!("{alias}.{name}"))
    });
    result.map(|ours| (ours, true))
}

/// Whether a name is given with `as` to what comes from a used sheet: from this one, or from any.
fn is_result(tree: &language::Tree, name: &str, alias: Option<&str>) -> bool {
    let mut given = tree.gives.iter().filter(|it| it.value.is_some() && it.name.value == name);
    let mut from = tree.uses.iter().map(|it| it.alias.value.as_str());
    given.next().is_some()
        && from
            .any(|it| alias.is_none_or(|alias| alias == it) && waits_for(tree, it).contains(name))
}

/// Whether a value is what an input could be handed.
fn could_be(input: &Shape, ours: &Value) -> bool {
    match (input, &ours.type_) {
        (Shape::Kind(kind), Type::Number { dimension, point, series: false })
        | (Shape::Series(kind), Type::Number { dimension, point, series: true }) => {
            unit::kind(&kind.value)
                .is_some_and(|kind| unit::fits(*dimension, kind.dimension) && *point == kind.point)
        }
        (Shape::Choice(theirs), Type::Choice(ours)) => {
            ours.iter().eq(theirs.iter().map(|word| &word.value))
        }
        _ => false,
    }
}
