//! Tables: rows inside the sheet, or from a file beside it.

use super::compile::Compiler;
use super::flat::{Between, Table, TableId, Type};
use super::literal::compare;
use super::scope::Sheet;
use crate::diagnostic::{Diagnostic, Name};
use crate::language::{Definition, TableTree, Word};
use crate::unit::{self, Kind, Literal, Unit};

impl Compiler<'_> {
    /// A table, with the types of argument and value.
    pub(super) fn table(
        &mut self,
        sheet: &Sheet,
        line: &Definition,
        tree: &TableTree,
    ) -> Option<(TableId, Type, Type)> {
        let (_, argument_kind, argument_unit) = &tree.argument;
        let argument = self.column(sheet, argument_kind, argument_unit.as_ref());
        let value = self.column(sheet, &tree.value.0, tree.value.1.as_ref());
        let (argument, value) = (argument?, value?);
        let mut rows: Vec<(Literal, Literal)> = Vec::new();
        let mut whole = true;
        for (left, right) in &tree.rows {
            let left_number = self.in_column(sheet, left, &argument);
            let right_number = self.in_column(sheet, right, &value);
            let (Some(left_number), Some(right_number)) = (left_number, right_number) else {
                whole = false;
                continue;
            };
            if rows.last().is_some_and(|(before, _)| compare(&left_number, before).is_le()) {
                whole = false;
                self.problems.push(
                    Diagnostic::error(
                        Name::TableNotRising,
                        "the arguments of a table rise from row to row",
                    )
                    .at(sheet.place(&left.span))
                    .remedy("sort the rows by their first column, each argument once"),
                );
            }
            rows.push((left_number, right_number));
        }
        if let Some(outside) = &tree.outside {
            let names = (tree.argument.0.value.as_str(), line.name.value.as_str());
            rows = self.rows_outside(sheet, outside, (&argument.1, &value.1), names)?;
        }
        let lowest = match &tree.lowest {
            Some(bound) => Some(self.in_column(sheet, bound, &argument)?),
            None => None,
        };
        if rows.is_empty() && whole {
            self.problems.push(
                Diagnostic::error(
                    Name::TableUnreadable,
                    format!("the table `{}` has no rows", line.name.value),
                )
                .at(sheet.place(&line.name.span))
                .remedy("write the rows below it, one a line: argument, blanks, value"),
            );
            return None;
        }
        if tree.between.value == Between::StepUpTo && lowest.is_none() {
            self.problems.push(
                Diagnostic::error(
                    Name::TableUnreadable,
                    "a table stepped up to its arguments says where its first row begins",
                )
                .at(sheet.place(&tree.between.span))
                .remedy(match argument.1.symbol.as_str() {
                    "" => format!(
                        "write `({} : {} above 0) : …`",
                        tree.argument.0.value, argument.0.name
                    ),
                    unit => format!(
                        "write `({} : {} in {unit} above 0 {unit}) : …`",
                        tree.argument.0.value, argument.0.name
                    ),
                }),
            );
            return None;
        }
        if !whole {
            return None;
        }
        let id = self.next_table();
        let type_of = |kind: &Kind| Type::Number {
            dimension: kind.dimension,
            point: kind.point,
            series: false,
        };
        let types = (type_of(argument.0), type_of(value.0));
        self.program.tables.push(Table {
            name: line.name.value.clone(),
            between: tree.between.value,
            rows,
            lowest,
            argument_unit: argument.1,
            value_unit: value.1,
            place: Some(sheet.place(&line.span)),
        });
        Some((id, types.0, types.1))
    }

    fn column(
        &mut self,
        sheet: &Sheet,
        word: &Word,
        written: Option<&Word>,
    ) -> Option<(&'static Kind, Unit)> {
        let kind = self.kind(sheet, word)?;
        let unit = match written {
            Some(word) => self.unit_of(sheet, word, Some(kind))?,
            None if kind.bare => Unit::one(),
            None => {
                self.problems.push(
                    Diagnostic::error(Name::MissingUnit, "a column of a table needs its unit")
                        .at(sheet.place(&word.span))
                        .remedy(format!(
                            "write `{} in {}`",
                            kind.name,
                            kind.units.first().copied().unwrap_or_default()
                        )),
                );
                return None;
            }
        };
        Some((kind, unit))
    }

    /// A number of a table: in the unit of its column, or in one of its own.
    fn in_column(
        &mut self,
        sheet: &Sheet,
        tree: &crate::language::Expression,
        column: &(&'static Kind, Unit),
    ) -> Option<Literal> {
        use crate::language::Node;
        let number = match &tree.node {
            Node::Negative(inner) => &inner.node,
            other => other,
        };
        if let Node::Number { unit: Some(_), .. } = number {
            return self.plain_number(sheet, tree, column.0);
        }
        let Node::Number { digits, .. } = number else {
            return self.plain_number(sheet, tree, column.0);
        };
        let mut literal = self.literal(sheet, &tree.span, digits, None, None)?;
        if matches!(tree.node, Node::Negative(_)) {
            literal.digits.set_sign_negative(!literal.digits.is_zero());
        }
        literal.unit = column.1.clone();
        Some(literal)
    }

    fn rows_outside(
        &mut self,
        sheet: &Sheet,
        outside: &crate::language::Outside,
        (argument, value): (&Unit, &Unit),
        names: (&str, &str),
    ) -> Option<Vec<(Literal, Literal)>> {
        let place = sheet.place(&outside.file.span);
        let trouble = |words: String| {
            Diagnostic::error(Name::TableUnreadable, words)
                .at(place.clone())
                .remedy("two columns of plain numbers, the first rising, in the units that the table declares; headings only in the first line")
        };
        let texts = match self.resolver.rows(outside, &sheet.source) {
            Ok(texts) => texts,
            Err(words) => {
                let file = &outside.file.value;
                self.problems.push(trouble(match words.contains(file.as_str()) {
                    true => words,
                    false => format!("`{file}`: {words}"),
                }));
                return None;
            }
        };
        let mut rows: Vec<(Literal, Literal)> = Vec::new();
        for (at, (left, right)) in texts.iter().enumerate() {
            let read = |text: &str, unit: &Unit| -> Option<Literal> {
                let (number, negative) = match text.trim().strip_prefix('-') {
                    Some(rest) => (rest, true),
                    None => (text.trim(), false),
                };
                let (mut digits, ten) = unit::parse_number(number)?;
                digits.set_sign_negative(negative && !digits.is_zero());
                Some(Literal::new(digits, ten, unit.clone()))
            };
            let (Some(left_number), Some(right_number)) =
                (read(left, argument), read(right, value))
            else {
                // a heading, whose names and units must be those that the table declares; what begins like a number is none
                let is_heading = |text: &str| {
                    let text = text.trim().trim_start_matches(['"', '\'', '+', '-', '−', '.', ',']);
                    !text.is_empty() && !text.starts_with(|sign: char| sign.is_ascii_digit())
                };
                if at == 0 && is_heading(left) && is_heading(right) {
                    if heading_name(left) == names.1 || heading_name(right) == names.0 {
                        self.problems.push(trouble(format!(
                            "the columns of `{}` stand in the order `{left}`, `{right}`: the argument `{}` comes first, then the value `{}`",
                            outside.file.value, names.0, names.1
                        )));
                        return None;
                    }
                    for (heading, declared) in [(left, argument), (right, value)] {
                        let Some(said) = heading_unit(heading) else { continue };
                        if said.factor != declared.factor || said.dimension != declared.dimension {
                            self.problems.push(trouble(format!(
                                "`{}` heads a column in {}, and the table declares {}",
                                outside.file.value, said.symbol, declared.symbol
                            )));
                            return None;
                        }
                    }
                    continue;
                }
                self.problems.push(trouble(format!(
                    "row {} of `{}` does not read as two numbers: `{left}` and `{right}`",
                    at + 1,
                    outside.file.value
                )));
                return None;
            };
            if rows.last().is_some_and(|(before, _)| compare(&left_number, before).is_le()) {
                self.problems.push(trouble(format!(
                    "the first column of `{}` does not rise in row {}",
                    outside.file.value,
                    at + 1
                )));
                return None;
            }
            rows.push((left_number, right_number));
        }
        let rows_as_read = texts.iter().map(|(left, right)| format!("{left};{right}\n")).collect();
        let scope =
            usize::try_from(sheet.scope).ok().and_then(|at| self.program.scopes.get_mut(at));
        if let Some(scope) = scope {
            scope.outside.push((outside.file.value.clone(), rows_as_read));
        }
        Some(rows)
    }
}

/// The name that a heading of a column says, before its unit.
fn heading_name(heading: &str) -> &str {
    let end = heading.find(|sign: char| !(sign.is_alphanumeric() || sign == '_'));
    heading.get(..end.unwrap_or(heading.len())).unwrap_or(heading)
}

/// The unit that a heading of a column says: `n / (r/min)`, `n in r/min`, `n [r/min]`, `n (r/min)`.
fn heading_unit(heading: &str) -> Option<Unit> {
    let heading = heading.trim();
    let bracketed = |open: char, close: char| {
        heading.strip_suffix(close).and_then(|text| text.rsplit_once(open)).map(|(_, unit)| unit)
    };
    let said = bracketed('[', ']')
        .or_else(|| heading.split_once(" / ").map(|(_, unit)| unit.trim_matches(['(', ')'])))
        .or_else(|| bracketed('(', ')'))
        .or_else(|| heading.rsplit_once(" in ").map(|(_, unit)| unit))
        .or_else(|| heading.split_once('/').map(|(_, unit)| unit.trim_matches(['(', ')'])))?;
    unit::parse_unit(said.trim()).ok()
}
