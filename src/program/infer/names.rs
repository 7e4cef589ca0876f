//! Numbers with their units, names, and results of used sheets.

use crate::diagnostic::{Diagnostic, Name};
use crate::language::{self, Expression, Span, Word};
use crate::program::across::Across;
use crate::program::compile::Compiler;
use crate::program::conversion::Figure;
use crate::program::flat::Op;
use crate::program::literal::standard_gravity;
use crate::program::mismatch;
use crate::program::scope::{Factors, Named, Part, Sheet, Value};
use crate::unit::{self, Dimension, Literal, Unit};

use super::number;

impl Compiler<'_> {
    pub(super) fn name(&mut self, sheet: &mut Sheet, name: &str, span: &Span) -> Option<Value> {
        if let Some((_, value)) = sheet.locals.iter().rev().find(|(local, _)| local == name) {
            let value = value.clone();
            return Some(self.element(sheet, value));
        }
        match name {
            "pi" => {
                let made = self.emit(Op::Pi, number(Dimension::NONE, false));
                return Some(made.made_of(Factors::plain(Figure::exact(std::f64::consts::PI))));
            }
            "g_n" => {
                let literal = standard_gravity();
                let written = Factors::written(Figure::written(&literal), literal.unit.dimension);
                return Some(self.emit_literal(literal).made_of(written));
            }
            _ => {}
        }
        match sheet.names.get(name) {
            Some(Named::Value(value, kind)) => {
                let mut value = value.clone();
                if let Some(across) = kind.and_then(Across::of_kind) {
                    value.factors.take_across(Some(across));
                }
                match kind.map(|kind| kind.name) {
                    Some("efficiency") => {
                        (value.factors.has_part, value.factors.part) =
                            (Some(Part::Efficiency), true)
                    }
                    Some("share") => {
                        (value.factors.has_part, value.factors.part) = (Some(Part::Share), true)
                    }
                    _ => {}
                }
                Some(self.element(sheet, value))
            }
            Some(Named::Silent) => None,
            Some(Named::Function(_) | Named::Table(..)) => {
                self.problems.push(
                    Diagnostic::error(
                        Name::UnknownName,
                        format!("`{name}` is a function and stands without its value"),
                    )
                    .at(sheet.place(span))
                    .remedy(format!("write `{name}(…)`")),
                );
                None
            }
            Some(Named::Use(results)) => {
                let first = results.keys().next().cloned().unwrap_or_default();
                self.problems.push(
                    Diagnostic::error(
                        Name::UnknownName,
                        format!("`{name}` is a used sheet, not a value"),
                    )
                    .at(sheet.place(span))
                    .remedy(format!("name one of its results, such as `{name}.{first}`")),
                );
                None
            }
            None if sheet.is_broken(name) => None,
            None => {
                self.problems.push(match sheet.tree.group(name) {
                    Some(group) => mismatch::a_group(sheet, group, None, span),
                    None => mismatch::unknown_name(sheet, name, span, self.problems.len()),
                });
                // each cause once
                sheet.names.insert(name.to_owned(), Named::Silent);
                None
            }
        }
    }

    pub(super) fn dotted(
        &mut self,
        sheet: &mut Sheet,
        alias: &Word,
        result: &Word,
    ) -> Option<Value> {
        match sheet.names.get(&alias.value) {
            Some(Named::Use(results)) => match results.get(&result.value) {
                Some(value) => {
                    let value = value.clone()?;
                    Some(self.element(sheet, value))
                }
                None => {
                    let known = results.keys();
                    let known: Vec<&str> =
                        known.map(|it| sheet.tree.short_of(&alias.value, it)).collect();
                    let problem = mismatch::unknown_result(sheet, alias, result, &known);
                    self.problems.push(problem);
                    None
                }
            },
            Some(Named::Silent) => None,
            Some(_) => {
                self.problems.push(
                    Diagnostic::error(
                        Name::UnknownName,
                        format!("`{}` is not a used sheet", alias.value),
                    )
                    .at(sheet.place(&alias.span))
                    .remedy("name a sheet of `uses` before the point"),
                );
                None
            }
            None if sheet.is_broken(&alias.value) => None,
            None => {
                let span = alias.span.start..result.span.end;
                self.problems.push(match sheet.tree.group(&alias.value) {
                    Some(group) => mismatch::a_group(sheet, group, Some(result), &span),
                    None => mismatch::unknown_alias(sheet, alias),
                });
                None
            }
        }
    }

    pub(super) fn number(
        &mut self,
        sheet: &Sheet,
        tree: &Expression,
        digits: &str,
        unit: Option<&Word>,
    ) -> Option<Value> {
        let literal = self.literal(sheet, &tree.span, digits, unit, None)?;
        let bare = unit.is_none();
        let mut made = self.emit_literal(literal.clone());
        made.zero = bare && literal.digits.is_zero();
        if bare {
            made.factors = Factors::plain(Figure::written(&literal));
        } else if !literal.unit.point && !literal.unit.dimension.is_none() {
            made.factors = Factors::written(Figure::written(&literal), literal.unit.dimension);
        }
        Some(made)
    }

    /// A number with its unit; the kind, where one is declared, says how the unit is read.
    pub(in crate::program) fn literal(
        &mut self,
        sheet: &Sheet,
        span: &Span,
        digits: &str,
        written: Option<&Word>,
        kind: Option<&'static unit::Kind>,
    ) -> Option<Literal> {
        let Some((digits, ten)) = unit::parse_number(digits) else {
            self.problems.push(
                Diagnostic::error(
                    Name::UnreadableLine,
                    format!("`{digits}` has more than 28 digits"),
                )
                .at(sheet.place(span))
                .remedy("write the number with at most 28 digits"),
            );
            return None;
        };
        let unit = match (written, kind) {
            (None, _) => Unit::one(),
            (Some(word), Some(kind)) => self.unit_of(sheet, word, Some(kind))?,
            (Some(word), None) => self.unit_of(sheet, word, None)?,
        };
        Some(Literal::new(digits, ten, unit))
    }

    /// A unit, as the kind reads it where there is one; or its problem reported at its word.
    pub(in crate::program) fn unit_of(
        &mut self,
        sheet: &Sheet,
        word: &Word,
        kind: Option<&'static unit::Kind>,
    ) -> Option<Unit> {
        let reader = (kind.map_or("", |kind| kind.name), word.value.clone());
        if let Some(unit) = self.units.get(&reader) {
            return Some(unit.clone());
        }
        let read = match kind {
            Some(kind) => kind.read_unit(&word.value),
            None => unit::parse_unit(&word.value),
        };
        let problem = match read {
            Ok(unit) => {
                self.units.insert(reader, unit.clone());
                return Some(unit);
            }
            Err(problem) => problem,
        };
        let start = word.span.start;
        let span = start + problem.span.start..start + problem.span.end;
        let mut found = mismatch::unit_problem(&problem).at(sheet.place(&span));
        if let (Some(kind), Ok(unit)) = (kind, unit::parse_unit(&word.value))
            && let Some(name) = mismatch::name_of(kind.dimension, unit.dimension)
            && found.name == Name::WrongPowerOfRad
        {
            found.name = name;
        }
        if kind.is_none()
            && let Some((span, product)) = multiplied(sheet, word)
        {
            found = found.at(sheet.place(&span)).remedy(format!(
                "write {product} if the name is meant: straight after a number stands a unit"
            ));
        }
        self.problems.push(found);
        None
    }

    /// A whole number as a step.
    pub(in crate::program) fn whole(&mut self, number: usize) -> Value {
        let digits = rust_decimal::Decimal::from(number);
        self.emit_literal(Literal::new(digits, 0, Unit::one()))
    }
}

/// A number with a name in the place of its unit, and the product that is meant: `2 x`, `2 pi`.
fn multiplied(sheet: &Sheet, word: &Word) -> Option<(Span, String)> {
    let letters = |it: char| {
        !(it.is_alphanumeric() || it == '_') || ('⁰'..='⁹').contains(&it) || "¹²³".contains(it)
    };
    let name = word.value.split(letters).next()?;
    let is_name = sheet.places.contains_key(name)
        || sheet.locals.iter().any(|(local, _)| local == name)
        || language::is_built_in(name)
        || name == "π";
    let before = sheet.source.text.get(..word.span.start)?.trim_end();
    let number = before.rsplit(|it: char| !(it.is_ascii_digit() || it == '.')).next()?;
    let start = before.len() - number.len();
    let text = format!("{number}{}", sheet.source.text.get(word.span.start..)?);
    let (length, product) = language::product(number, before.get(..start)?, &text);
    let end = word.span.start + length - number.len();
    (is_name && !number.is_empty()).then_some((start..end, product))
}
