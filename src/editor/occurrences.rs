//! Every word of a sheet that stands for something, with what it stands for.

use crate::language::{
    Body, Course, Definition, Expression, InputLiteral, Node, Reach, Rounding, Shape, Span, Take,
    Tree, Use, Word,
};

/// What a word stands for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Role {
    /// A name of the sheet: an input, a line, a function, a table, a used sheet.
    Own,
    /// A parameter, which is known inside a span alone.
    Local(Span),
    /// A result of a used sheet, by its alias.
    Result(String),
    /// An input of a used sheet, by its alias.
    Argument(String),
    /// `with J`: the input of a used sheet and the value of this one that is handed to it.
    Itself(String),
    /// The name of a used sheet, by its alias.
    Sheet(String),
    /// The name of a group, by the name under which its inputs are handed on.
    Group(String),
    /// A built-in function or constant.
    BuiltIn,
    /// A kind of quantity.
    Kind,
    /// A unit.
    Unit,
}

/// A word where it stands.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Occurrence {
    pub(super) name: String,
    pub(super) span: Span,
    pub(super) role: Role,
    /// Whether it is named here.
    pub(super) defines: bool,
}

/// All of them, in the order of the text.
pub(super) fn occurrences(tree: &Tree) -> Vec<Occurrence> {
    let mut walk = Walk::default();
    tree.uses.iter().for_each(|line| walk.used(line, line.alias.value.clone()));
    tree.courses.iter().for_each(|course| walk.course(course));
    tree.takes.iter().for_each(|line| walk.take(line));
    for group in &tree.groups {
        group.alias.iter().for_each(|alias| walk.define(alias));
        let role = Role::Group(group.handle().value.clone());
        walk.put(&group.name.value, &group.name.span, role, group.alias.is_none());
    }
    tree.works.iter().for_each(|line| walk.work(line));
    for check in &tree.holds {
        walk.expression(&check.condition);
    }
    for give in &tree.gives {
        match &give.value {
            Some(value) => {
                walk.expression(value);
                walk.define(&give.name);
            }
            None => walk.own(&give.name),
        }
        walk.unit(give.unit.as_ref());
        if let Some(rounding) = &give.rounding {
            walk.rounding(rounding);
        }
        if let Some(set) = &give.setting {
            [&set.step, &set.low, &set.high].into_iter().for_each(|part| walk.expression(part));
        }
    }
    walk.found.sort_by_key(|found| (found.span.start, found.span.end));
    walk.found.dedup();
    walk.found
}

#[derive(Default)]
struct Walk {
    found: Vec<Occurrence>,
    /// Parameters that are known, innermost last.
    locals: Vec<(String, Span)>,
}

impl Walk {
    fn put(&mut self, name: &str, span: &Span, role: Role, defines: bool) {
        self.found.push(Occurrence { name: name.to_owned(), span: span.clone(), role, defines });
    }

    fn define(&mut self, word: &Word) {
        self.put(&word.value, &word.span, Role::Own, true);
    }

    /// A name that is read.
    fn own(&mut self, word: &Word) {
        let local = self.locals.iter().rev().find(|(name, _)| *name == word.value);
        let role = match local {
            Some((_, scope)) => Role::Local(scope.clone()),
            None if crate::language::is_built_in(&word.value) => Role::BuiltIn,
            None => Role::Own,
        };
        self.put(&word.value, &word.span, role, false);
    }

    fn kind(&mut self, word: &Word) {
        self.put(&word.value, &word.span, Role::Kind, false);
    }

    fn unit(&mut self, word: Option<&Word>) {
        if let Some(word) = word {
            self.put(&word.value, &word.span, Role::Unit, false);
        }
    }

    /// A used sheet, under its whole name.
    fn used(&mut self, line: &Use, alias: String) {
        self.put(&alias, &line.alias.span, Role::Own, true);
        self.handed(line.arguments.iter().chain(&line.but), &alias);
        self.put(&line.sheet.value, &line.sheet.span, Role::Sheet(alias), false);
    }

    fn handed<'t>(&mut self, all: impl Iterator<Item = &'t (Word, Expression)>, alias: &str) {
        for (input, value) in all {
            if value.span == input.span {
                self.put(&input.value, &input.span, Role::Itself(alias.to_owned()), false);
            } else {
                self.put(&input.value, &input.span, Role::Argument(alias.to_owned()), false);
                self.expression(value);
            }
        }
    }

    fn course(&mut self, course: &Course) {
        self.define(&course.alias);
        let (name, span) = (&course.state.value, &course.state.span);
        self.put(name, span, Role::Group(name.clone()), false);
        let first = course.lines.first().map_or_else(String::new, |line| course.called(line));
        self.handed(course.from.iter(), &first);
        course.lines.iter().for_each(|line| self.used(line, course.called(line)));
    }

    fn take(&mut self, line: &Take) {
        self.define(&line.name);
        match &line.shape {
            Shape::Kind(kind) | Shape::Series(kind) => self.kind(kind),
            // the words of a choice are not names
            Shape::Choice(_) => return,
        }
        self.unit(line.unit.as_ref());
        for literal in line.default.iter().chain(&line.example) {
            self.literal(literal);
        }
        for bound in [&line.low, &line.high].into_iter().flatten() {
            self.expression(&bound.value);
        }
    }

    fn literal(&mut self, literal: &InputLiteral) {
        literal.value.iter().for_each(|value| self.expression(value));
        match literal.tolerance.as_ref().map(|tolerance| &tolerance.reach) {
            Some(Reach::Around(part)) => self.expression(part),
            Some(Reach::Sides(one, other) | Reach::Between(one, other)) => {
                self.expression(one);
                self.expression(other);
            }
            None => {}
        }
    }

    fn work(&mut self, line: &Definition) {
        match line.is_next {
            true => self.own(&line.name),
            false => self.define(&line.name),
        }
        line.kind.iter().for_each(|kind| self.kind(kind));
        self.unit(line.unit.as_ref());
        for bound in [&line.low, &line.high].into_iter().flatten() {
            self.expression(&bound.value);
        }
        match &line.body {
            Body::Value(value) => self.expression(value),
            Body::Function { parameters, result } => {
                let before = self.locals.len();
                self.locals
                    .extend(parameters.iter().map(|it| (it.value.clone(), line.span.clone())));
                for parameter in parameters {
                    self.put(
                        &parameter.value,
                        &parameter.span,
                        Role::Local(line.span.clone()),
                        true,
                    );
                }
                self.expression(result);
                self.locals.truncate(before);
            }
            Body::Table(table) => {
                let (argument, kind, unit) = &table.argument;
                self.put(&argument.value, &argument.span, Role::Local(line.span.clone()), true);
                self.kind(kind);
                self.unit(unit.as_ref());
                self.kind(&table.value.0);
                self.unit(table.value.1.as_ref());
                let rows = table.rows.iter().flat_map(|(argument, value)| [argument, value]);
                table.lowest.iter().chain(rows).for_each(|part| self.expression(part));
            }
        }
    }

    fn rounding(&mut self, rounding: &Rounding) {
        self.expression(&rounding.step);
    }

    /// A part in which a name stands for something else than outside.
    fn inside(&mut self, word: &Word, all: &Span, part: &Expression) {
        self.put(&word.value, &word.span, Role::Local(all.clone()), true);
        self.locals.push((word.value.clone(), all.clone()));
        self.expression(part);
        self.locals.pop();
    }

    fn expression(&mut self, expression: &Expression) {
        match &expression.node {
            Node::Number { unit, .. } => self.unit(unit.as_ref()),
            Node::Name(name) => {
                self.own(&Word { value: name.clone(), span: expression.span.clone() });
            }
            Node::Dotted(alias, result) => {
                let Span { start, end } = alias.span;
                if let Some((course, line)) = alias.value.split_once('.') {
                    self.put(course, &(start..start + course.len()), Role::Own, false);
                    self.put(&alias.value, &(end - line.len()..end), Role::Own, false);
                } else {
                    self.own(alias);
                }
                self.put(&result.value, &result.span, Role::Result(alias.value.clone()), false);
            }
            Node::Call(name, _) => self.own(name),
            _ => {}
        }
        for (own, part) in expression.scoped_parts() {
            match own {
                Some(name) => self.inside(name, &expression.span, part),
                None => self.expression(part),
            }
        }
    }
}
