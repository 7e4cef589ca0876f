//! Calls: functions of the sheet, tables, and the way to what is built in.

use std::sync::Arc;

use crate::diagnostic::{Diagnostic, Name};
use crate::language::{Body, Expression, Span, Word};
use crate::program::compile::Compiler;
use crate::program::conversion::{Figure, is_unmistakable};
use crate::program::flat::{Op, TableId, Type};
use crate::program::scope::{Factors, Named, Sheet, Value};

/// Deepest nesting of functions that call functions.
const DEEPEST_CALL: usize = 24;

/// Most calls and uses of one program: those that double one another reach it at once, an honest
/// calculation never does.
const MOST_CALLS: usize = 20_000;

impl Compiler<'_> {
    pub(super) fn call(
        &mut self,
        sheet: &mut Sheet,
        tree: &Expression,
        name: &Word,
        arguments: &[Expression],
    ) -> Option<Value> {
        match sheet.names.get(&name.value).cloned() {
            Some(Named::Function(at)) => {
                let definitions = Arc::clone(&sheet.tree);
                let Some(Body::Function { parameters, result }) =
                    definitions.works.get(at).map(|line| &line.body)
                else {
                    return None;
                };
                self.count(sheet, name, arguments, parameters.len(), parameters.len())?;
                let mut values = Vec::new();
                for argument in arguments {
                    values.push(self.number_of(sheet, argument));
                }
                let values: Vec<Value> = values.into_iter().collect::<Option<_>>()?;
                self.not_too_large(sheet, &name.span)?;
                // the body sees its own parameters and the sheet's names, not the caller's parameters
                let hidden = std::mem::take(&mut sheet.locals);
                sheet.locals = parameters
                    .iter()
                    .map(|parameter| parameter.value.clone())
                    .zip(values)
                    .collect();
                self.calls += 1;
                let made = self.number_of(sheet, result);
                self.calls -= 1;
                sheet.locals = hidden;
                made
            }
            Some(Named::Table(table, argument_type, value_type)) => {
                self.count(sheet, name, arguments, 1, 1)?;
                let argument = arguments.first()?;
                let value = self.number_of(sheet, argument)?;
                let model = Value::new(value.register, argument_type);
                self.alike(
                    sheet,
                    ("put into this table", &name.span),
                    (tree, &model),
                    (argument, &value),
                )?;
                let Type::Number { dimension, point, .. } = value_type else { return None };
                let type_ = Type::Number { dimension, point, series: self.is_series(&value) };
                let made = self.emit(Op::Read(table, value.register), type_);
                Some(match self.conversion_of_table(table).filter(|_| dimension.is_none()) {
                    Some(factors) => made.made_of(factors),
                    None => made,
                })
            }
            Some(Named::Silent) => None,
            Some(_) => {
                self.problems.push(
                    Diagnostic::error(
                        Name::UnknownFunction,
                        format!("`{}` is a value, not a function", name.value),
                    )
                    .at(sheet.place(&name.span))
                    .remedy("put `*` between a value and a parenthesis"),
                );
                None
            }
            None if sheet.is_broken(&name.value) => None,
            None => self.built_in(sheet, name, arguments),
        }
    }

    /// The number of a table that has only one; else a cell of plain numbers that nobody would take for anything but a conversion.
    fn conversion_of_table(&self, table: TableId) -> Option<Factors> {
        let table = self.program.table(table)?;
        let mut all = table.rows.iter().map(|(_, value)| Figure::written(value));
        if let Some(first) = all.next()
            && all.all(|figure| figure.value == first.value)
        {
            return Some(Factors::plain(first).read_at(table.place.as_ref()?));
        }
        let mut cells = table.rows.iter().map(|(_, value)| Figure::written(value));
        let found = cells.find(|figure| is_unmistakable(*figure))?;
        Some(Factors::loose(found, table.place.as_ref()?))
    }

    pub(in crate::program) fn count(
        &mut self,
        sheet: &Sheet,
        name: &Word,
        arguments: &[Expression],
        least: usize,
        most: usize,
    ) -> Option<()> {
        if (least..=most).contains(&arguments.len()) {
            return Some(());
        }
        let needed = if least == most { format!("{least}") } else { format!("{least} or more") };
        let plural = if least == 1 && most == 1 { "value" } else { "values" };
        self.problems.push(
            Diagnostic::error(
                Name::WrongCount,
                format!("`{}` takes {needed} {plural}, found {}", name.value, arguments.len()),
            )
            .at(sheet.place(&name.span))
            .remedy("put the values into the parentheses, with commas between"),
        );
        None
    }

    /// Refuses what would grow without end; reported once.
    pub(in crate::program) fn not_too_large(&mut self, sheet: &Sheet, span: &Span) -> Option<()> {
        if self.calls == 0 {
            self.asked = Some(sheet.place(span));
        }
        self.all_calls += 1;
        if self.calls < DEEPEST_CALL && self.all_calls < MOST_CALLS {
            return Some(());
        }
        if !self.problems.iter().any(|problem| problem.name == Name::TooDeep) {
            let headline = if self.calls < DEEPEST_CALL {
                "functions and uses call one another so often that the calculation grows without end"
            } else {
                "functions call functions deeper than a person can follow"
            };
            let place = self.asked.clone().unwrap_or_else(|| sheet.place(span));
            self.problems.push(
                Diagnostic::error(Name::TooDeep, headline)
                    .at(place)
                    .remedy("give a part a line and a name of its own in works"),
            );
        }
        None
    }
}
