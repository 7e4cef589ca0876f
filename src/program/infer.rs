//! Expressions to steps, with the unit of every part worked out and checked.

use std::sync::Arc;

use super::compile::Compiler;
use super::flat::{Binary, Block, BlockId, Fold, Op, Ratio, Relation, Step, Type, Unary};
use super::scope::{Factors, Named, Sheet, Value};
use super::{lint, mismatch};
use crate::diagnostic::{Diagnostic, Name};
use crate::language::{Body, Expression, Node, Rounding, Search, Sign, Span, Word};
use crate::unit::{self, Dimension, Literal, Unit};

/// A number of a dimension.
pub(super) fn number(dimension: Dimension, series: bool) -> Type {
    Type::Number { dimension, point: false, series }
}

impl Compiler<'_> {
    /// Steps for an expression; `None` when its trouble has been reported.
    pub(super) fn expression(&mut self, sheet: &mut Sheet, tree: &Expression) -> Option<Value> {
        match &tree.node {
            Node::Number { digits, unit } => self.number(sheet, tree, digits, unit.as_ref()),
            Node::Name(name) => self.name(sheet, name, &tree.span),
            Node::Dotted(alias, result) => self.dotted(sheet, alias, result),
            Node::Call(name, arguments) => self.call(sheet, tree, name, arguments),
            Node::Negative(inner) => {
                let a = self.number_of(sheet, inner)?;
                if self.is_point(&a) {
                    return self.point_trouble(sheet, tree, "turned in sign");
                }
                let mut made = self.emit(Op::Unary(Unary::Negate, a.register), a.type_);
                made.zero = a.zero;
                Some(made)
            }
            Node::Binary(a, sign, b) => match sign.value {
                Sign::Plus | Sign::Minus => {
                    self.sum(sheet, a, &sign.span, sign.value == Sign::Plus, b)
                }
                Sign::Times | Sign::Over => {
                    let product = self.product(sheet, tree)?;
                    lint::product(self, sheet, tree, &product);
                    Some(Value {
                        factors: Value::new(product.register, product.type_.clone()).factors,
                        ..product
                    })
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
                Some(
                    self.emit(
                        Op::Compare(relation.value, left.register, right.register),
                        Type::Truth,
                    ),
                )
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
        }
    }

    /// One step; its result has the given type.
    pub(super) fn emit(&mut self, op: Op, type_: Type) -> Value {
        let to = self.new_register(type_.clone());
        self.steps.push(Step { op, to, line: self.line });
        Value::new(to, type_)
    }

    pub(super) fn emit_literal(&mut self, literal: Literal) -> Value {
        let type_ = Type::Number {
            dimension: literal.unit.dimension,
            point: literal.unit.point,
            series: false,
        };
        self.emit(Op::Literal(literal), type_)
    }

    fn number(
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
            made.factors.number = Some(literal.si_f64());
        }
        Some(made)
    }

    /// A number with its unit; the kind, where one is declared, says how the unit is read.
    pub(super) fn literal(
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
            (Some(word), Some(kind)) => self.unit_of(sheet, word, kind.read_unit(&word.value))?,
            (Some(word), None) => self.unit_of(sheet, word, unit::parse_unit(&word.value))?,
        };
        Some(Literal::new(digits, ten, unit))
    }

    /// A unit, or its problem reported at its word.
    pub(super) fn unit_of(
        &mut self,
        sheet: &Sheet,
        word: &Word,
        read: Result<Unit, unit::UnitProblem>,
    ) -> Option<Unit> {
        match read {
            Ok(unit) => Some(unit),
            Err(problem) => {
                let start = word.span.start;
                let span = start + problem.span.start..start + problem.span.end;
                self.problems.push(mismatch::unit_problem(&problem).at(sheet.place(&span)));
                None
            }
        }
    }

    fn name(&mut self, sheet: &mut Sheet, name: &str, span: &Span) -> Option<Value> {
        if let Some((_, value)) = sheet.locals.iter().rev().find(|(local, _)| local == name) {
            return Some(value.clone());
        }
        match name {
            "pi" => {
                let mut made = self.emit(Op::Pi, number(Dimension::NONE, false));
                made.factors =
                    Factors { number: Some(std::f64::consts::PI), pi: true, ..made.factors };
                return Some(made);
            }
            "g_n" => return Some(self.emit_literal(super::literal::standard_gravity())),
            _ => {}
        }
        sheet.used.insert(name.to_owned());
        match sheet.names.get(name) {
            Some(Named::Value(value, kind)) => {
                let mut value = value.clone();
                value.factors.efficiency = kind.is_some_and(|kind| kind.name == "efficiency");
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
                self.problems.push(mismatch::unknown_name(sheet, name, span));
                // each cause once
                sheet.names.insert(name.to_owned(), Named::Silent);
                None
            }
        }
    }

    fn dotted(&mut self, sheet: &mut Sheet, alias: &Word, result: &Word) -> Option<Value> {
        sheet.used.insert(alias.value.clone());
        match sheet.names.get(&alias.value) {
            Some(Named::Use(results)) => match results.get(&result.value) {
                Some(value) => {
                    let value = value.clone();
                    Some(self.element(sheet, value))
                }
                None => {
                    let known: Vec<&str> = results.keys().map(String::as_str).collect();
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
                self.problems.push(mismatch::unknown_name(sheet, &alias.value, &alias.span));
                None
            }
        }
    }

    /// A value that must be a number (one or a series).
    pub(super) fn number_of(&mut self, sheet: &mut Sheet, tree: &Expression) -> Option<Value> {
        let value = self.expression(sheet, tree)?;
        match &value.type_ {
            Type::Number { .. } => Some(value),
            other => {
                let found = match other {
                    Type::Truth => "a truth",
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
    pub(super) fn truth_of(&mut self, sheet: &mut Sheet, tree: &Expression) -> Option<Value> {
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

    pub(super) fn is_point(&self, value: &Value) -> bool {
        matches!(value.type_, Type::Number { point: true, .. })
    }

    pub(super) fn is_series(&self, value: &Value) -> bool {
        matches!(value.type_, Type::Number { series: true, .. })
    }

    fn sum(
        &mut self,
        sheet: &mut Sheet,
        a: &Expression,
        sign: &Span,
        plus: bool,
        b: &Expression,
    ) -> Option<Value> {
        let (left, right) = (self.number_of(sheet, a), self.number_of(sheet, b));
        let (left, right) = (left?, right?);
        let done = if plus { "added" } else { "subtracted" };
        let dimension = self.alike(sheet, (done, sign), (a, &left), (b, &right))?;
        let point = match (self.is_point(&left), self.is_point(&right), plus) {
            (true, true, true) | (false, true, false) => {
                return self.point_trouble(sheet, b, done);
            }
            (true, true, false) | (false, false, _) => false,
            (true, false, _) | (false, true, true) => true,
        };
        let series = self.is_series(&left) || self.is_series(&right);
        let op = if plus { Binary::Add } else { Binary::Subtract };
        Some(self.emit(
            Op::Binary(op, left.register, right.register),
            Type::Number { dimension, point, series },
        ))
    }

    fn product(&mut self, sheet: &mut Sheet, tree: &Expression) -> Option<Value> {
        let Node::Binary(a, sign, b) = &tree.node else { return self.number_of(sheet, tree) };
        if !matches!(sign.value, Sign::Times | Sign::Over) {
            return self.number_of(sheet, tree);
        }
        let (left, right) = (self.product(sheet, a), self.product(sheet, b));
        let (left, right) = (left?, right?);
        for (side, value) in [(a, &left), (b, &right)] {
            if self.is_point(value) {
                return self.point_trouble(sheet, side, "multiplied or divided");
            }
        }
        let (Type::Number { dimension: x, .. }, Type::Number { dimension: y, .. }) =
            (&left.type_, &right.type_)
        else {
            return None;
        };
        let times = sign.value == Sign::Times;
        let (op, dimension) =
            if times { (Binary::Multiply, x.times(*y)) } else { (Binary::Divide, x.over(*y)) };
        let series = self.is_series(&left) || self.is_series(&right);
        let mut made =
            self.emit(Op::Binary(op, left.register, right.register), number(dimension, series));
        let (l, r) = (left.factors, right.factors);
        made.factors = Factors {
            number: match (l.number, r.number) {
                (Some(x), Some(y)) => Some(if times { x * y } else { x / y }),
                (Some(x), None) => Some(x),
                (None, Some(y)) => Some(if times { y } else { y.recip() }),
                (None, None) => None,
            },
            pi: l.pi || r.pi,
            rotation: l.rotation || r.rotation,
            efficiency: l.efficiency || r.efficiency,
            quantity: l.quantity || r.quantity,
        };
        Some(made)
    }

    fn power(
        &mut self,
        sheet: &mut Sheet,
        base: &Expression,
        sign: &Span,
        exponent: &Expression,
    ) -> Option<Value> {
        let value = self.number_of(sheet, base)?;
        if self.is_point(&value) {
            return self.point_trouble(sheet, base, "raised to a power");
        }
        let Type::Number { dimension, series, .. } = value.type_ else { return None };
        if let Some(ratio) = fixed_exponent(exponent) {
            let Some(raised) = dimension.power(ratio.numerator, ratio.denominator) else {
                self.problems.push(
                    Diagnostic::error(
                        Name::FixedExponent,
                        format!("{} cannot be raised to this power", unit::name_of(dimension)),
                    )
                    .at(sheet.place(sign))
                    .label(sheet.place(&base.span), unit::name_of(dimension))
                    .remedy("divide it by a reference first, so that a pure number is raised"),
                );
                return None;
            };
            return Some(self.emit(Op::Power(value.register, ratio), number(raised, series)));
        }
        let power = self.number_of(sheet, exponent)?;
        let Type::Number { dimension: of_power, series: many, .. } = power.type_ else {
            return None;
        };
        for (side, found) in [(base, dimension), (exponent, of_power)] {
            if !found.is_none() {
                self.problems.push(
                    Diagnostic::error(
                        Name::FixedExponent,
                        format!("a pure number is needed here, found {}", unit::name_of(found)),
                    )
                    .at(sheet.place(&side.span))
                    .remedy("divide by a reference first, such as `(n / n_0)^x`, or write the exponent as a number"),
                );
                return None;
            }
        }
        Some(self.emit(
            Op::Binary(Binary::Raise, value.register, power.register),
            number(Dimension::NONE, series || many),
        ))
    }

    fn is(&mut self, sheet: &mut Sheet, choice: &Expression, word: &Word) -> Option<Value> {
        let value = self.expression(sheet, choice)?;
        let Type::Choice(words) = &value.type_ else {
            self.problems.push(
                Diagnostic::error(Name::NotANumber, "`is` asks for one of the words of a choice")
                    .at(sheet.place(&choice.span))
                    .remedy("compare numbers with `=`, `<`, `<=`, `>`, `>=`"),
            );
            return None;
        };
        let Some(at) = words.iter().position(|known| *known == word.value) else {
            self.problems.push(mismatch::unknown_word(sheet, word, words));
            return None;
        };
        let index = self.whole(at);
        Some(self.emit(Op::Compare(Relation::Equal, value.register, index.register), Type::Truth))
    }

    /// A whole number as a step.
    pub(super) fn whole(&mut self, number: usize) -> Value {
        let digits = rust_decimal::Decimal::from(number);
        self.emit_literal(Literal::new(digits, 0, Unit::one()))
    }

    fn cases(
        &mut self,
        sheet: &mut Sheet,
        cases: &[(Expression, Expression)],
        otherwise: Option<&Expression>,
    ) -> Option<Value> {
        let mut branches = Vec::new();
        let mut whole = true;
        for (condition, result) in cases {
            let truth = self.truth_of(sheet, condition);
            let value = self.number_of(sheet, result);
            match (truth, value) {
                (Some(truth), Some(value)) => branches.push((truth, result, value)),
                _ => whole = false,
            }
        }
        let last = match otherwise {
            Some(result) => {
                let value = self.number_of(sheet, result);
                whole &= value.is_some();
                value.map(|value| (result, value))
            }
            None => None,
        };
        // every branch must be of one kind; the first that is not a bare zero says which
        let all: Vec<(&Expression, Value)> = branches
            .iter()
            .map(|(_, tree, value)| (*tree, value.clone()))
            .chain(last.clone())
            .collect();
        let model = all.iter().find(|(_, value)| !value.zero).or(all.first())?;
        let mut series = false;
        for (tree, value) in &all {
            let span = tree.span.clone();
            whole &= self
                .alike(
                    sheet,
                    ("given by the same cases", &span),
                    (model.0, &model.1),
                    (tree, value),
                )
                .is_some();
            series |= self.is_series(value);
        }
        if !whole {
            return None;
        }
        let Type::Number { dimension, point, .. } = model.1.type_ else { return None };
        let type_ = Type::Number { dimension, point, series };
        let mut result = match last {
            Some((_, value)) => value,
            None => self.emit(Op::NoCase, type_.clone()),
        };
        for (truth, _, value) in branches.into_iter().rev() {
            result = self
                .emit(Op::Select(truth.register, value.register, result.register), type_.clone());
        }
        Some(result)
    }

    /// A value rounded to a step.
    pub(super) fn rounded(
        &mut self,
        sheet: &mut Sheet,
        tree: &Expression,
        value: Value,
        rounding: &Rounding,
    ) -> Option<Value> {
        let step = self.number_of(sheet, &rounding.step)?;
        if self.is_point(&value) || self.is_series(&step) {
            return self.point_trouble(sheet, tree, "rounded");
        }
        let span = rounding.step.span.clone();
        self.alike(
            sheet,
            ("rounded to one another", &span),
            (tree, &value),
            (&rounding.step, &step),
        )?;
        Some(self.emit(Op::Round(rounding.direction, value.register, step.register), value.type_))
    }

    fn keep(&mut self, block: Block) -> BlockId {
        let id = BlockId(u32::try_from(self.program.blocks.len()).unwrap_or(u32::MAX));
        self.program.blocks.push(block);
        id
    }

    /// A register that a caller fills.
    fn parameter(&mut self, type_: Type) -> Value {
        let register = self.new_register(type_.clone());
        Value::new(register, type_)
    }

    fn search(
        &mut self,
        sheet: &mut Sheet,
        search: &Search,
    ) -> Option<(BlockId, Value, Value, Value)> {
        let (from, to) = (self.number_of(sheet, &search.from), self.number_of(sheet, &search.to));
        let (from, to) = (from?, to?);
        let span = search.to.span.clone();
        let dimension = self.alike(
            sheet,
            ("bounds of one range", &span),
            (&search.from, &from),
            (&search.to, &to),
        )?;
        for (tree, value) in [(&search.from, &from), (&search.to, &to)] {
            if self.is_series(value) {
                return self.series_trouble(sheet, tree);
            }
        }
        let parameter = self.parameter(number(dimension, false));
        // `root of f for x` means `f(x)`
        let call = match &search.function.node {
            Node::Name(name)
                if matches!(sheet.names.get(name), Some(Named::Function(_) | Named::Table(..))) =>
            {
                let word = Word { value: name.clone(), span: search.function.span.clone() };
                let argument = Expression {
                    node: Node::Name(search.argument.value.clone()),
                    span: search.argument.span.clone(),
                };
                Expression {
                    node: Node::Call(word, vec![argument]),
                    span: search.function.span.clone(),
                }
            }
            _ => (*search.function).clone(),
        };
        sheet.locals.push((search.argument.value.clone(), parameter.clone()));
        let outer = std::mem::take(&mut self.steps);
        let result = self.number_of(sheet, &call);
        let steps = std::mem::replace(&mut self.steps, outer);
        sheet.locals.pop();
        let result = result?;
        let block = self.keep(Block {
            parameters: vec![parameter.register],
            steps,
            result: result.register,
        });
        if self.is_series(&result) {
            return self.series_trouble(sheet, &search.function);
        }
        Some((block, result, from, to))
    }

    fn root(&mut self, sheet: &mut Sheet, search: &Search) -> Option<Value> {
        let (block, _, from, to) = self.search(sheet, search)?;
        let type_ = if from.zero { to.type_ } else { from.type_ };
        Some(self.emit(Op::Root { block, from: from.register, to: to.register }, type_))
    }

    fn integral(&mut self, sheet: &mut Sheet, search: &Search) -> Option<Value> {
        let (block, result, from, to) = self.search(sheet, search)?;
        let bound = if from.zero { &to.type_ } else { &from.type_ };
        let (Type::Number { dimension: y, .. }, Type::Number { dimension: x, .. }) =
            (&result.type_, bound)
        else {
            return None;
        };
        let dimension = y.times(*x);
        Some(self.emit(
            Op::Integral { block, from: from.register, to: to.register },
            number(dimension, false),
        ))
    }

    fn running(
        &mut self,
        sheet: &mut Sheet,
        name: &Word,
        start: &Expression,
        body: &Expression,
    ) -> Option<Value> {
        let first = self.number_of(sheet, start)?;
        if self.is_series(&first) {
            return self.series_trouble(sheet, start);
        }
        let before = self.parameter(first.type_.clone());
        sheet.locals.push((name.value.clone(), before.clone()));
        sheet.running.push(Vec::new());
        let outer = std::mem::take(&mut self.steps);
        let result = self.number_of(sheet, body);
        let steps = std::mem::replace(&mut self.steps, outer);
        // series that the body named were given a register for their element, see `element`
        let elements = sheet.running.pop().unwrap_or_default();
        sheet.locals.pop();
        let result = result?;
        let span = body.span.clone();
        self.alike(sheet, ("values before and after", &span), (start, &first), (body, &result))?;
        if elements.is_empty() {
            self.problems.push(
                Diagnostic::error(
                    Name::SeriesForNumber,
                    "`running` goes along a series, and its body names none",
                )
                .at(sheet.place(&body.span))
                .remedy("name at least one input that is a series in the body"),
            );
            return None;
        }
        let over = elements.iter().map(|(series, _)| *series).collect();
        let mut parameters = vec![before.register];
        parameters.extend(elements.iter().map(|(_, one)| one.register));
        let block = self.keep(Block { parameters, steps, result: result.register });
        let type_ = if first.zero { result.type_ } else { first.type_ };
        let Type::Number { dimension, point, .. } = type_ else { return None };
        let type_ = Type::Number { dimension, point, series: true };
        Some(self.emit(Op::Running { block, start: first.register, over }, type_))
    }

    /// A series read inside `running` is its element: one register however often it is named.
    fn element(&mut self, sheet: &mut Sheet, value: Value) -> Value {
        let Type::Number { dimension, point, series: true } = value.type_ else { return value };
        let Some(frame) = sheet.running.last_mut() else { return value };
        if let Some((_, one)) = frame.iter().find(|(series, _)| *series == value.register) {
            return one.clone();
        }
        let mut one = self.parameter(Type::Number { dimension, point, series: false });
        one.named = value.named;
        frame.push((value.register, one.clone()));
        one
    }

    fn call(
        &mut self,
        sheet: &mut Sheet,
        tree: &Expression,
        name: &Word,
        arguments: &[Expression],
    ) -> Option<Value> {
        match sheet.names.get(&name.value).cloned() {
            Some(Named::Function(at)) => {
                sheet.used.insert(name.value.clone());
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
                // the body sees its own parameters and the sheet's names, not the caller's parameters
                let hidden = std::mem::take(&mut sheet.locals);
                sheet.locals = parameters
                    .iter()
                    .map(|parameter| parameter.value.clone())
                    .zip(values)
                    .collect();
                let made = self.number_of(sheet, result);
                sheet.locals = hidden;
                made
            }
            Some(Named::Table(table, argument_type, value_type)) => {
                sheet.used.insert(name.value.clone());
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
                Some(self.emit(Op::Read(table, value.register), type_))
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

    pub(super) fn count(
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

    /// Two values that may stand for one another: their dimension, or the problem reported.
    pub(super) fn alike(
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
        if (b.1.zero && !p) || x == y {
            return Some(*x);
        }
        if a.1.zero && !q {
            return Some(*y);
        }
        if unit::fits(*x, *y) {
            // of two that differ by an absorbed rad, the one that a kind has
            return Some(if unit::kinds_of(*x).is_empty() { *y } else { *x });
        }
        let problem = mismatch::unlike(sheet, done, (a.0, a.1, *x), (b.0, b.1, *y));
        self.problems.push(problem);
        None
    }

    pub(super) fn point_trouble<T>(
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

    pub(super) fn series_trouble<T>(&mut self, sheet: &Sheet, tree: &Expression) -> Option<T> {
        self.problems.push(
            Diagnostic::error(Name::SeriesForNumber, "one value is needed here, found a series")
                .at(sheet.place(&tree.span))
                .remedy("fold it: `sum`, `mean`, `max`, `min`, `first`, `last` or `count`"),
        );
        None
    }

    pub(super) fn fold(
        &mut self,
        sheet: &mut Sheet,
        fold: Fold,
        argument: &Expression,
    ) -> Option<Value> {
        // inside `running` a fold still means the whole series
        let running = std::mem::take(&mut sheet.running);
        let value = self.number_of(sheet, argument);
        sheet.running = running;
        let value = value?;
        let Type::Number { dimension, point, series } = value.type_ else { return None };
        if !series {
            self.problems.push(
                Diagnostic::error(
                    Name::SeriesForNumber,
                    "a series is needed here, found one value",
                )
                .at(sheet.place(&argument.span))
                .remedy("name an input declared as `series of …`"),
            );
            return None;
        }
        let point_out = point && !matches!(fold, Fold::Count | Fold::SampleDeviation);
        let dimension = match fold {
            Fold::Count => Dimension::NONE,
            Fold::Product if !dimension.is_none() => {
                self.problems.push(
                    Diagnostic::error(
                        Name::UnitMismatch,
                        format!(
                            "the product of a series needs pure numbers, found {}",
                            unit::name_of(dimension)
                        ),
                    )
                    .at(sheet.place(&argument.span))
                    .remedy("divide the series by a reference first"),
                );
                return None;
            }
            _ => dimension,
        };
        if point && matches!(fold, Fold::Sum) {
            return self.point_trouble(sheet, argument, "added up");
        }
        let type_ = Type::Number { dimension, point: point_out, series: false };
        Some(self.emit(Op::Fold(fold, value.register), type_))
    }
}

/// The exponent, where it is a number that can be read off.
fn fixed_exponent(tree: &Expression) -> Option<Ratio> {
    let whole = |digits: &str| digits.parse::<i32>().ok();
    let ratio = match &tree.node {
        Node::Number { digits, unit: None } => match digits.split_once('.') {
            None => Ratio { numerator: whole(digits)?, denominator: 1 },
            Some((before, after)) if after.len() <= 4 => Ratio {
                numerator: whole(&format!("{before}{after}"))?,
                denominator: 10_i32.pow(u32::try_from(after.len()).ok()?),
            },
            Some(_) => return None,
        },
        Node::Negative(inner) => {
            let inner = fixed_exponent(inner)?;
            Ratio { numerator: inner.numerator.checked_neg()?, ..inner }
        }
        Node::Binary(a, sign, b) if sign.value == Sign::Over => {
            let (a, b) = (fixed_exponent(a)?, fixed_exponent(b)?);
            Ratio {
                numerator: a.numerator.checked_mul(b.denominator)?,
                denominator: a.denominator.checked_mul(b.numerator)?,
            }
        }
        _ => return None,
    };
    if ratio.denominator == 0 {
        return None;
    }
    let sign = ratio.denominator.signum();
    let shared = gcd(ratio.numerator.unsigned_abs(), ratio.denominator.unsigned_abs());
    Some(Ratio {
        numerator: sign * ratio.numerator / i32::try_from(shared).ok()?,
        denominator: sign * ratio.denominator / i32::try_from(shared).ok()?,
    })
}

fn gcd(mut a: u32, mut b: u32) -> u32 {
    while b != 0 {
        (a, b) = (b, a % b);
    }
    a.max(1)
}
