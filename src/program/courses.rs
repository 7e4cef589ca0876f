//! Courses: used sheets in a row, each taking the state in which the one above it ends. Flat when compiled: a line of a
//! course is a used sheet that is handed every value of the state, and nobody writes by hand which.

use std::sync::Arc;

use super::compile::Compiler;
use super::flat::{CourseStates, Op, StateValue, Type};
use super::mismatch;
use super::scope::{Named, Sheet};
use crate::diagnostic::{Diagnostic, Name, Place, Source, phrase};
use crate::language::{
    Body, Course, Definition, Expression, Give, Group, Node, Shape, Span, Standing, Take, Tree,
    Use, Word, next,
};

fn wrong_course(source: &Arc<Source>, span: &Span, headline: String) -> Diagnostic {
    Diagnostic::error(Name::WrongCourse, headline).at(Place::text(source, span.clone()))
}

fn word(value: impl Into<String>, span: &Span) -> Word {
    Word { value: value.into(), span: span.clone() }
}

impl Compiler<'_> {
    /// Courses laid flat, what the sheet gives back of its state, and what is read through a course.
    pub(super) fn courses(&mut self, source: &Arc<Source>, tree: &mut Tree) {
        if tree.is_group {
            return;
        }
        let mut courses = std::mem::take(&mut tree.courses);
        let mut own = std::mem::take(&mut tree.uses).into_iter();
        let mut before = 0;
        for course in &mut courses {
            tree.uses.extend(own.by_ref().take(course.at - before));
            before = course.at;
            match self.laid_flat(source, tree, course) {
                Some(lines) => tree.uses.extend(lines),
                None => {
                    tree.broken.insert(course.alias.value.clone());
                }
            }
        }
        tree.uses.extend(own);
        tree.courses = courses;
        self.given_back(source, tree);
        let problems = read_through(source, tree);
        self.problems.extend(problems);
    }

    /// The lines of a course as used sheets.
    fn laid_flat(
        &mut self,
        source: &Arc<Source>,
        tree: &Tree,
        course: &mut Course,
    ) -> Option<Vec<Use>> {
        let (state, inside) = self.group(source, course.whose, &course.state)?;
        let values: Vec<String> = inside.takes.iter().map(|it| it.name.value.clone()).collect();
        course.values.clone_from(&values);
        let is_own = |group: &&Group| group.source.as_ref().is_some_and(|it| it.is_same(&state));
        let own = tree.groups.iter().filter(|_| course.from.is_empty()).find(is_own);
        let mut handed: Vec<(Word, Expression)> = match own {
            Some(group) => {
                handed_on(&values, &course.alias.span, &|value| Node::Name(group.called(value)))
            }
            None => course.from.clone(),
        };
        let is_read = !tree.broken.contains(&course.alias.value);
        let mut problems = strangers(source, course);
        if course.lines.is_empty() && is_read {
            let headline = format!("the course `{}` has no lines", course.alias.value);
            problems.push(wrong_course(source, &course.alias.span, headline).remedy(
                "write the used sheets below it, one a line and indented further: `ramp = sheet with …`",
            ));
        }
        problems.extend(begins_without(source, course, &handed, &inside.takes));
        let is_whole = is_read && problems.is_empty();
        self.problems.extend(problems);
        let mut from = values.clone();
        let mut lines = Vec::new();
        for line in &course.lines {
            let alias = word(course.called(line), &line.alias.span);
            let name = course.state.value.clone();
            let standing = Standing { state: name, source: Arc::clone(&state), from };
            from = Vec::new();
            let arguments = handed.into_iter().chain(line.arguments.clone()).collect();
            handed = handed_on(&values, &alias.span, &|value| {
                Node::Dotted(alias.clone(), word(next(value), &alias.span))
            });
            lines.push(Use { alias, arguments, standing: Some(standing), ..line.clone() });
        }
        is_whole.then_some(lines)
    }

    /// The lines of works that begin with `next`, as results of the sheet. Each value of a state has one: what is
    /// forgotten would go on as it was, a time or a way that nobody counts.
    fn given_back(&mut self, source: &Arc<Source>, tree: &mut Tree) {
        let (nexts, works): (Vec<_>, Vec<_>) =
            std::mem::take(&mut tree.works).into_iter().partition(|line| line.is_next);
        tree.works = works;
        let states: Vec<Group> =
            tree.groups.iter().filter(|group| group.is_state).cloned().collect();
        if states.iter().any(|state| state.inputs.is_empty()) {
            return;
        }
        let mut said: Vec<Definition> = Vec::new();
        for line in nexts {
            let name = &line.name.value;
            if let Some(state) = states.iter().find(|state| state.name.value == *name) {
                match whole_state(source, tree, state, &line) {
                    Ok(lines) => said.extend(lines),
                    Err(problem) => {
                        tree.broken.insert(next(name));
                        self.problems.extend(problem.map(|it| *it));
                    }
                }
            } else if states.iter().any(|state| state.inputs.contains(name)) {
                said.push(line);
            } else {
                let headline = format!("no state that this sheet takes has `{name}`");
                let known: Vec<&str> =
                    states.iter().flat_map(|state| &state.inputs).map(String::as_str).collect();
                let remedy = match known.as_slice() {
                    [] => "take one below takes, `state name`, or leave `next` out".to_owned(),
                    known => format!("what is next may be said of {}", mismatch::list(known)),
                };
                self.problems.push(wrong_course(source, &line.name.span, headline).remedy(remedy));
            }
        }
        let mut gives = Vec::new();
        for state in &states {
            let name = &state.name.value;
            let is_silent = |it: &&String| said.iter().all(|line| line.name.value != **it);
            let silent: Vec<&str> =
                state.inputs.iter().filter(is_silent).map(String::as_str).collect();
            if !tree.broken.is_empty() || silent.is_empty() {
                // what did not read may have said it
            } else if silent.len() == state.inputs.len() {
                let headline = format!("the state `{name}` is taken and not given back");
                let value = state.inputs.first().map_or("n", String::as_str);
                self.problems.push(wrong_course(source, &state.span, headline).remedy(format!(
                    "say in works what is next, `next {value} = …` or `next {name} = a course`, or take `group {name}`"
                )));
            } else {
                let verb = if silent.len() == 1 { "is" } else { "are" };
                let headline = format!(
                    "nothing says what {} of the state `{name}` {verb} next",
                    phrase::joined(&phrase::quoted(&silent), "and"),
                );
                let stays = silent.iter().map(|it| format!("next {it} = {it}")).collect::<Vec<_>>();
                self.problems.push(wrong_course(source, &state.span, headline).remedy(format!(
                    "write what comes of it in works; where it stays as it is, `{}`",
                    stays.join("`, `")
                )));
            }
            for value in &state.inputs {
                let Some(take) = tree.takes.iter().find(|take| take.name.value == *value) else {
                    continue;
                };
                if let Some(give) = tree.gives.iter().find(|give| give.name.value == *value) {
                    let headline = format!(
                        "`{value}` is in the state `{}`, and is given besides",
                        state.name.value
                    );
                    self.problems.push(wrong_course(source, &give.span, headline).remedy(format!(
                        "leave it out: what is next of it is given; what it begins with may be given under another name, `{value} … as {value}_0`"
                    )));
                }
                if !said.iter().any(|line| line.name.value == *value) {
                    said.push(goes_on(value, state));
                }
                gives.push(given(take, state));
            }
        }
        tree.works.extend(said.into_iter().map(|line| as_the_state_says(line, &tree.takes)));
        gives.append(&mut tree.gives);
        tree.gives = gives;
    }
}

impl Compiler<'_> {
    /// The courses of a sheet, as they may be drawn.
    pub(super) fn keep_courses(&mut self, sheet: &Sheet) {
        for course in &sheet.tree.courses {
            let values = course.values.iter().filter_map(|it| self.along(sheet, course, it));
            let values: Vec<StateValue> = values.collect();
            self.program.courses.push(CourseStates {
                scope: sheet.scope,
                name: course.alias.value.clone(),
                state: course.state.value.clone(),
                lines: course.lines.iter().map(|line| line.alias.value.clone()).collect(),
                values,
            });
        }
    }

    /// A value of a state along a course; none where it is not one number, or a line is not whole.
    fn along(&self, sheet: &Sheet, course: &Course, value: &str) -> Option<StateValue> {
        let path = format!("{}{}", sheet.path, course.called(course.lines.first()?));
        let inside = self.program.scopes.iter().find(|scope| scope.path == path)?;
        let line = |name: &str| self.program.line(*inside.names.get(name)?);
        let start = line(value)?;
        let Type::Number { point: false, series: false, .. } = start.type_ else { return None };
        let mut registers = vec![start.register];
        for line in &course.lines {
            let Some(Named::Use(results)) = sheet.names.get(&course.called(line)) else {
                return None;
            };
            registers.push(results.get(&next(value))?.as_ref()?.register);
        }
        let unit = line(&next(value)).map_or_else(|| start.unit.clone(), |line| line.unit.clone());
        Some(StateValue { name: value.to_owned(), unit, registers })
    }

    /// What a course begins with and ends otherwise than at a written value, where nothing reads it: a phase may be
    /// missing, and the stop ends while it turns.
    pub(super) fn left_over(&mut self, sheet: &Sheet) {
        if !sheet.path.is_empty() || !sheet.tree.is_whole() || sheet.tree.courses.is_empty() {
            return;
        }
        let mut tree = Tree::clone(&sheet.tree);
        let ops = self.ops();
        let mut problems = Vec::new();
        for course in &sheet.tree.courses {
            let Some(last) = course.lines.last().map(|line| course.called(line)) else { continue };
            let Some(Named::Use(results)) = sheet.names.get(&last) else { continue };
            for (word, _) in &course.from {
                let value = next(&word.value);
                let Some(Some(end)) = results.get(&value) else { continue };
                let is_written = matches!(ops.get(&end.register), Some(Op::Literal(_)));
                let is_read = tree.formulas_mut().any(|it| reads(it, &last, &value));
                if is_written || is_read {
                    continue;
                }
                let (name, value) = (&course.alias.value, &word.value);
                let headline =
                    format!("nothing reads with what `{value}` the course `{name}` ends");
                problems.push(
                    Diagnostic::caution(Name::WrongCourse, headline)
                        .at(sheet.place(&course.alias.span))
                        .remedy(format!(
                            "add the line that is missing below it, or read `{name}.{value}` in holds or gives"
                        )),
                );
            }
        }
        self.problems.extend(problems);
    }
}

/// Whether a formula reads a result of a used sheet.
fn reads(formula: &Expression, alias: &str, result: &str) -> bool {
    match &formula.node {
        Node::Dotted(of, word) => of.value == alias && word.value == result,
        _ => formula.parts().into_iter().any(|part| reads(part, alias, result)),
    }
}

/// Every value of a state with what it is handed.
fn handed_on(
    values: &[String],
    span: &Span,
    node: &dyn Fn(&String) -> Node,
) -> Vec<(Word, Expression)> {
    let one = |value| (word(value, span), Expression { node: node(value), span: span.clone() });
    values.iter().map(one).collect()
}

/// What `from` says that the state has not, and what a line hands by hand that it has.
fn strangers(source: &Arc<Source>, course: &Course) -> Vec<Diagnostic> {
    let Course { values, .. } = course;
    let name = &course.state.value;
    let unknown = course.from.iter().filter(|(word, _)| !values.contains(&word.value));
    let mut problems: Vec<Diagnostic> = unknown
        .map(|(word, _)| {
            let headline = format!("the state `{name}` has no `{}`", word.value);
            let known: Vec<&str> = values.iter().map(String::as_str).collect();
            Diagnostic::error(Name::UnknownArgument, headline)
                .at(Place::text(source, word.span.clone()))
                .remedy(format!("it has {}", mismatch::list(&known)))
        })
        .collect();
    for (at, line) in course.lines.iter().enumerate() {
        let handed = line.arguments.iter().chain(&line.but);
        let is_value = |word: &Word| values.contains(&word.value) || word.value == *name;
        for (word, _) in handed.filter(|(word, _)| is_value(word)) {
            let headline = format!("`{}` is handed by hand within a course", word.value);
            let why = match at {
                0 => "what the course begins with stands behind `from`".to_owned(),
                _ => format!("`{}` takes the state of the line above it", line.alias.value),
            };
            let remedy = format!("leave it out: {why}");
            problems.push(wrong_course(source, &word.span, headline).remedy(remedy));
        }
    }
    problems
}

/// A value without a default that the beginning of a course does not say.
fn begins_without(
    source: &Arc<Source>,
    course: &Course,
    handed: &[(Word, Expression)],
    takes: &[Take],
) -> Option<Diagnostic> {
    let is_open = |take: &&Take| {
        take.default.is_none() && handed.iter().all(|(word, _)| word.value != take.name.value)
    };
    let open: Vec<&str> =
        takes.iter().filter(is_open).map(|take| take.name.value.as_str()).collect();
    let said = open.iter().map(|name| format!("{name} = …")).collect::<Vec<_>>().join(", ");
    let remedy = match course.from.is_empty() {
        true => format!("write `course of {} from {said}`", course.state.value),
        false => format!("add to `from`: {said}"),
    };
    let names = phrase::joined(&phrase::quoted(&open), "and");
    let headline = format!("the course `{}` begins without {names}", course.alias.value);
    (!open.is_empty()).then(|| wrong_course(source, &course.alias.span, headline).remedy(remedy))
}

/// A value of the state of which nothing is said, a problem by then; no formula of it is written anywhere.
fn goes_on(value: &str, state: &Group) -> Definition {
    let body = Body::Value(Expression { node: Node::Name(value.to_owned()), span: 0..0 });
    Definition::plain(word(value, &state.span), body, String::new(), state.span.clone())
}

/// A value of the state as a result.
fn given(take: &Take, state: &Group) -> Give {
    Give {
        name: word(next(&take.name.value), &state.span),
        value: None,
        unit: take.unit.as_ref().map(|unit| word(&unit.value, &state.span)),
        rounding: None,
        setting: None,
        note: take.note.clone(),
        span: state.span.clone(),
    }
}

/// A line with the name, kind, unit and note that its state gives it.
fn as_the_state_says(line: Definition, takes: &[Take]) -> Definition {
    let name = &line.name;
    let take = takes.iter().find(|take| take.name.value == name.value);
    let kind = take.and_then(|take| match &take.shape {
        Shape::Kind(kind) | Shape::Series(kind) => Some(word(&kind.value, &name.span)),
        Shape::Choice(_) => None,
    });
    let unit = take.filter(|_| kind.is_some()).and_then(|take| take.unit.as_ref());
    let unit = unit.map(|unit| word(&unit.value, &name.span));
    let name = word(next(&name.value), &name.span);
    Definition { name, kind, unit, ..line }
}

/// `next turning = slow`: every value as a course of this sheet leaves it.
fn whole_state(
    source: &Arc<Source>,
    tree: &Tree,
    state: &Group,
    line: &Definition,
) -> Result<Vec<Definition>, Option<Box<Diagnostic>>> {
    let Body::Value(value) = &line.body else { return Err(None) };
    let course = |name: &String| tree.courses.iter().find(|it| it.alias.value == *name);
    let found = match &value.node {
        Node::Name(name) if tree.broken.contains(name) => return Err(None),
        Node::Name(name) => course(name).filter(|it| it.state.value == state.name.value),
        _ => None,
    };
    let Some(course) = found else {
        let written = source.text.get(value.span.clone()).unwrap_or_default();
        let headline = format!("`{written}` is no course of `{}`", state.name.value);
        let values: Vec<String> = state.inputs.iter().map(|it| format!("next {it} = …")).collect();
        let remedy = format!(
            "name a course of uses, or say what is next one by one: `{}`",
            values.join("`, `")
        );
        return Err(Some(Box::new(wrong_course(source, &value.span, headline).remedy(remedy))));
    };
    let of = |input: &String| {
        let node = Node::Dotted(word(&course.alias.value, &value.span), word(input, &value.span));
        let body = Body::Value(Expression { node, span: value.span.clone() });
        Definition::plain(word(input, &line.name.span), body, line.note.clone(), line.span.clone())
    };
    Ok(state.inputs.iter().map(of).collect())
}

/// `slow.n` and `slow.ramp.n` as results of the used sheets that they are.
fn read_through(source: &Arc<Source>, tree: &mut Tree) -> Vec<Diagnostic> {
    let Tree { courses, broken, .. } = tree;
    let plain = Tree { courses: courses.clone(), broken: broken.clone(), ..Tree::default() };
    let mut problems = Vec::new();
    let mut silent = Vec::new();
    let mut resolve = |node: &mut Node| {
        let Node::Dotted(alias, result) = node else { return };
        let head = alias.value.split('.').next().unwrap_or_default();
        let Some(course) = plain.courses.iter().find(|it| it.alias.value == head) else { return };
        let is_whole = !plain.broken.contains(head);
        if let Some(found) = plain.in_course(&alias.value, &result.value).filter(|_| is_whole) {
            (alias.value, result.value) = found;
        } else {
            if is_whole {
                problems.push(no_such_value(source, course, alias, result));
            }
            // what is wrong is said once
            alias.value.push('.');
            silent.push(alias.value.clone());
        }
    };
    for formula in tree.formulas_mut() {
        formula.change(&mut resolve);
    }
    tree.broken.extend(silent);
    problems
}

fn no_such_value(source: &Arc<Source>, course: &Course, alias: &Word, result: &Word) -> Diagnostic {
    let name = &course.alias.value;
    let lines: Vec<&str> = course.lines.iter().map(|line| line.alias.value.as_str()).collect();
    let error = |headline: String, span: &Span| {
        Diagnostic::error(Name::UnknownName, headline).at(Place::text(source, span.clone()))
    };
    match alias.value.split_once('.') {
        Some((_, line)) => error(format!("the course `{name}` has no line `{line}`"), &alias.span)
            .remedy(format!("it has {}", mismatch::list(&lines))),
        None => {
            let values: Vec<&str> = course.values.iter().map(String::as_str).collect();
            error(format!("the course `{name}` has no `{}`", result.value), &result.span).remedy(
                format!(
                    "its state has {}; a result of one of its lines is read as `{name}.{}.{}`",
                    mismatch::list(&values),
                    lines.last().unwrap_or(&"line"),
                    result.value
                ),
            )
        }
    }
}

/// Whether a sheet takes the state that a course hands it.
pub(super) fn takes_it(tree: &Tree, standing: &Standing) -> bool {
    let is_it =
        |group: &Group| group.source.as_ref().is_some_and(|it| it.is_same(&standing.source));
    tree.groups.iter().any(|group| group.is_state && is_it(group))
}

/// A line of a course whose sheet takes another state, or none.
pub(super) fn no_phase(sheet: &Sheet, line: &Use, standing: &Standing) -> Diagnostic {
    let state = &standing.state;
    let headline = format!("`{}` takes no state `{state}`", line.sheet.value);
    wrong_course(&sheet.source, &line.sheet.span, headline).remedy(format!(
        "let it say `state {state}` below takes and `next … = …` below works, or use it outside the course"
    ))
}
