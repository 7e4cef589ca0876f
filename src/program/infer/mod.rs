//! Expressions to steps, with the unit of every part calculated and checked.
//!
//! Here is the way from a node of the tree to what reads it, and what every such part relies on.

mod arithmetic;
mod at_bound;
mod calls;
mod cases;
mod chosen;
mod names;
mod powers;
mod search;

mod series;

use super::absorb::absorbs;
use super::compile::Compiler;
use super::flat::{Op, Step, Type, Unary};
use super::in_vain::in_both_sums;
use super::scope::{Asks, Factors, Sheet, Value};
use super::{across, lint, mismatch};
use crate::diagnostic::{Diagnostic, Name};
use crate::language::{Expression, Node, Sign, Span, Word, print_expression};
use crate::unit::{self, Dimension, Literal};

/// A number of a dimension.
pub(in crate::program) fn number(dimension: Dimension, series: bool) -> Type {
    Type::Number { dimension, point: false, series }
}

impl Compiler<'_> {
    /// Steps for an expression; `None` when its trouble has been reported.
    pub(in crate::program) fn expression(
        &mut self,
        sheet: &mut Sheet,
        tree: &Expression,
    ) -> Option<Value> {
        match &tree.node {
            Node::Number { digits, unit } => self.number(sheet, tree, digits, unit.as_ref()),
            Node::Name(name) => self.name(sheet, name, &tree.span),
            // only cases ask for it, and they ask themselves
            Node::Never(_) => None,
            Node::Meant(number, why) => self.meant(sheet, number, why),
            Node::Dotted(alias, result) => self.dotted(sheet, alias, result),
            Node::Call(name, arguments) => self.call(sheet, tree, name, arguments),
            Node::Negative(inner) => {
                let a = self.number_of(sheet, inner)?;
                if self.is_point(&a) {
                    return self.point_trouble(sheet, tree, "turned in sign");
                }
                let mut made = self.emit(Op::Unary(Unary::Negate, a.register), a.type_);
                made.zero = a.zero;
                Some(made.made_of(a.factors))
            }
            Node::Binary(a, sign, b) => match sign.value {
                Sign::Plus | Sign::Minus => {
                    self.sum(sheet, a, &sign.span, sign.value == Sign::Plus, b)
                }
                Sign::Times | Sign::Over => {
                    let mut product = self.product(sheet, tree)?;
                    lint::product(self, sheet, tree, &mut product);
                    Some(product)
                }
            },
            Node::Power(base, sign, exponent) => self.power(sheet, base, sign, exponent),
            Node::Compare(a, relation, b) => {
                let left = self.number_of(sheet, a);
                let right = self.number_of(sheet, b);
                let (left, right) = (left?, right?);
                self.alike(sheet, ("compared", &relation.span), (a, &left), (b, &right))?;
                if self.is_series(&left) || self.is_series(&right) {
                    return self.series_trouble(sheet, tree);
                }
                let op = Op::Compare(relation.value, left.register, right.register);
                let made = self.emit(op, Type::Truth);
                let asks = Asks::Compared {
                    truth: made.register,
                    words: [a, b].map(|side| print_expression(side)),
                    shared: in_both_sums(a, b),
                };
                self.ask_of_ranges(sheet, tree, asks);
                Some(made)
            }
            Node::Is(choice, word) => self.is(sheet, choice, word),
            Node::And(a, b) => {
                let (a, b) = (self.truth_of(sheet, a), self.truth_of(sheet, b));
                Some(self.emit(Op::Both(a?.register, b?.register), Type::Truth))
            }
            Node::Or(a, b) => {
                let (a, b) = (self.truth_of(sheet, a), self.truth_of(sheet, b));
                Some(self.emit(Op::Either(a?.register, b?.register), Type::Truth))
            }
            Node::Not(a) => {
                let a = self.truth_of(sheet, a)?;
                Some(self.emit(Op::Negate(a.register), Type::Truth))
            }
            Node::Cases { cases, otherwise } => self.cases(sheet, cases, otherwise.as_deref()),
            Node::Rounded(inner, rounding) => {
                let value = self.number_of(sheet, inner)?;
                self.rounded(sheet, inner, value, rounding)
            }
            Node::Preferred(direction, inner, series) => {
                let a = self.number_of(sheet, inner)?;
                if self.is_point(&a) {
                    return self.point_trouble(sheet, tree, "looked for among preferred numbers");
                }
                Some(self.emit(Op::Preferred(*direction, *series, a.register), a.type_))
            }
            Node::Root(search) => self.root(sheet, search),
            Node::Integral(search) => self.integral(sheet, search),
            Node::Running { name, start, body } => self.running(sheet, name, start, body),
            Node::Where(..) => {
                self.problems.push(
                    Diagnostic::error(
                        Name::SeriesForNumber,
                        "`where` stands in what makes one value of a series",
                    )
                    .at(sheet.place(&tree.span))
                    .remedy(
                        "fold it: `sum`, `mean`, `stdev`, `max`, `min`, `first`, `last` or `count`, \
                         as `mean(v_k where t_k > 2 s)`",
                    ),
                );
                None
            }
        }
    }

    /// A plain number that its author means, whatever it looks like: it is listed with the reason.
    fn meant(&mut self, sheet: &mut Sheet, number: &Expression, why: &Word) -> Option<Value> {
        let value = self.number_of(sheet, number)?;
        let Type::Number { dimension, .. } = &value.type_ else { return None };
        if !dimension.is_none() {
            self.problems.push(
                Diagnostic::error(
                    Name::NotANumber,
                    format!("`meant` takes a plain number, found {}", unit::name_of(*dimension)),
                )
                .at(sheet.place(&number.span))
                .remedy("leave `meant` out: a quantity with its unit says itself what it is"),
            );
            return None;
        }
        if why.value.trim().is_empty() {
            self.problems.push(
                Diagnostic::error(Name::UnreadableLine, "`meant` has no reason")
                    .at(sheet.place(&why.span))
                    .remedy("say between the quotation marks why the number is meant"),
            );
            return None;
        }
        let written = sheet.text(&number.span).to_owned();
        let place = sheet.place(&number.span);
        self.program.note_meant(sheet.scope, &written, &why.value, place);
        Some(Value::new(value.register, value.type_).made_of(Factors::default()))
    }

    /// A value that must be a number (one or a series).
    pub(in crate::program) fn number_of(
        &mut self,
        sheet: &mut Sheet,
        tree: &Expression,
    ) -> Option<Value> {
        let value = self.expression(sheet, tree)?;
        match &value.type_ {
            Type::Number { .. } => Some(value),
            other => {
                let found = match other {
                    Type::Truth => "something that is true or false",
                    _ => "a word of a choice",
                };
                let remedy = match other {
                    Type::Truth => "put the comparison behind `when`, or into `holds`",
                    _ => "test it with `is`",
                };
                self.problems.push(
                    Diagnostic::error(
                        Name::NotANumber,
                        format!("a number is needed here, found {found}"),
                    )
                    .at(sheet.place(&tree.span))
                    .remedy(remedy),
                );
                None
            }
        }
    }

    /// A value that must be true or false.
    pub(in crate::program) fn truth_of(
        &mut self,
        sheet: &mut Sheet,
        tree: &Expression,
    ) -> Option<Value> {
        let value = self.expression(sheet, tree)?;
        if value.type_ == Type::Truth {
            return Some(value);
        }
        self.problems.push(
            Diagnostic::error(Name::NotANumber, "a comparison is needed here, found a value")
                .at(sheet.place(&tree.span))
                .remedy("compare it: `a <= b`, or `choice is word`"),
        );
        None
    }

    /// Two values that may stand for one another: their dimension, or the problem reported.
    pub(in crate::program) fn alike(
        &mut self,
        sheet: &Sheet,
        done: (&str, &Span),
        a: (&Expression, &Value),
        b: (&Expression, &Value),
    ) -> Option<Dimension> {
        let dimension = self.same_kind(sheet, done, a, b)?;
        let (p, q) = (self.is_point(a.1), self.is_point(b.1));
        if p != q {
            let problem = mismatch::point_meets_difference(sheet, done, (a.0, p), (b.0, q));
            self.problems.push(problem);
            return None;
        }
        Some(dimension)
    }

    /// Two values of one dimension; a temperature and a difference are told apart elsewhere.
    pub(in crate::program) fn same_kind(
        &mut self,
        sheet: &Sheet,
        done: (&str, &Span),
        a: (&Expression, &Value),
        b: (&Expression, &Value),
    ) -> Option<Dimension> {
        let (
            Type::Number { dimension: x, point: p, .. },
            Type::Number { dimension: y, point: q, .. },
        ) = (&a.1.type_, &b.1.type_)
        else {
            return None;
        };
        if !a.1.zero && !b.1.zero {
            let (first, second) = (sheet.text(&a.0.span), sheet.text(&b.0.span));
            let sides = ((a.1.factors.across, first, *x), (b.1.factors.across, second, *y));
            let problem = across::unlike(done.0, sides.0, sides.1).or_else(|| {
                lint::part_beside_number(done.0, (a.0, a.1, first), (b.0, b.1, second))
            });
            if let Some(problem) = problem {
                self.problems.push(problem.at(sheet.place(done.1)));
                return None;
            }
        }
        if (b.1.zero && !p) || x == y {
            return Some(*x);
        }
        if a.1.zero && !q {
            return Some(*y);
        }
        let absorbed = absorbs(a.1, *x, *y) || absorbs(b.1, *y, *x);
        if unit::fits(*x, *y) && absorbed {
            // of two that differ by an absorbed rad, the one that a kind has
            return Some(if unit::kinds_of(*x).is_empty() { *y } else { *x });
        }
        let problem = mismatch::unlike(sheet, done, (a.0, a.1, *x), (b.0, b.1, *y));
        self.problems.push(problem);
        None
    }

    /// One step; its result has the given type.
    pub(in crate::program) fn emit(&mut self, op: Op, type_: Type) -> Value {
        let to = self.new_register(type_.clone());
        self.steps.push(Step { op, to, line: self.line });
        Value::new(to, type_)
    }

    pub(in crate::program) fn emit_literal(&mut self, literal: Literal) -> Value {
        let type_ = Type::Number {
            dimension: literal.unit.dimension,
            point: literal.unit.point,
            series: false,
        };
        self.emit(Op::Literal(literal), type_)
    }

    pub(in crate::program) fn is_point(&self, value: &Value) -> bool {
        matches!(value.type_, Type::Number { point: true, .. })
    }

    pub(in crate::program) fn is_series(&self, value: &Value) -> bool {
        matches!(value.type_, Type::Number { series: true, .. })
    }

    pub(in crate::program) fn point_trouble<T>(
        &mut self,
        sheet: &Sheet,
        tree: &Expression,
        done: &str,
    ) -> Option<T> {
        self.problems.push(
            Diagnostic::error(
                Name::TemperaturePoint,
                format!("a temperature on the scale cannot be {done}"),
            )
            .at(sheet.place(&tree.span))
            .remedy("subtract another temperature first: a difference in K can be"),
        );
        None
    }

    pub(in crate::program) fn series_trouble<T>(
        &mut self,
        sheet: &Sheet,
        tree: &Expression,
    ) -> Option<T> {
        self.problems.push(
            Diagnostic::error(Name::SeriesForNumber, "one value is needed here, found a series")
                .at(sheet.place(&tree.span))
                .remedy("fold it: `sum`, `mean`, `max`, `min`, `first`, `last` or `count`"),
        );
        None
    }
}
