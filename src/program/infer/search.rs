//! Roots and integrals: an expression kept as a block of its own.

use std::sync::Arc;

use crate::diagnostic::{Diagnostic, Name};
use crate::language::{Expression, Node, Search, Word, print_expression};
use crate::program::compile::Compiler;
use crate::program::flat::{Block, BlockId, Op, Register, Relation, Type};
use crate::program::scope::{Named, Pending, Sheet, Value};
use crate::program::signs::Signs;
use crate::unit::Dimension;

use super::number;

impl Compiler<'_> {
    pub(super) fn root(&mut self, sheet: &mut Sheet, search: &Search) -> Option<Value> {
        let (block, _, from, to) = self.search(sheet, search)?;
        self.known_root(sheet, search, block, (&from, &to));
        let type_ = if from.zero { to.type_ } else { from.type_ };
        Some(self.emit(Op::Root { block, from: from.register, to: to.register }, type_))
    }

    pub(super) fn integral(&mut self, sheet: &mut Sheet, search: &Search) -> Option<Value> {
        let (block, result, from, to) = self.search(sheet, search)?;
        let bound = if from.zero { &to.type_ } else { &from.type_ };
        let (Type::Number { dimension: y, .. }, Type::Number { dimension: x, .. }) =
            (&result.type_, bound)
        else {
            return None;
        };
        let (dimension, x) = (y.times(*x), *x);
        if print_expression(&search.from) == print_expression(&search.to) {
            self.problems.push(
                Diagnostic::error(
                    Name::EmptyRange,
                    "both bounds of this integral are the same: it is always zero",
                )
                .at(sheet.place(&search.to.span))
                .label(sheet.place(&search.from.span), "the same")
                .remedy("write from where to where it goes"),
            );
        }
        let mut value = self.rising(sheet, search, (block, from.register, to.register), dimension);
        // what it runs over stands beside the numbers of its product
        value.factors.quantities.push(x);
        Some(value)
    }

    /// An integral that runs upwards; from a higher bound to a lower one it would turn its sign, and what is
    /// compared with a limit would hold: there it never exists.
    fn rising(
        &mut self,
        sheet: &Sheet,
        search: &Search,
        (block, from, to): (BlockId, Register, Register),
        dimension: Dimension,
    ) -> Value {
        let type_ = number(dimension, false);
        let [low, high] = [&search.from, &search.to].map(|it| print_expression(it));
        let why = format!("this integral runs backwards: from {low} to {high}, which is lower");
        let truth = self.emit(Op::Compare(Relation::AtLeast, to, from), Type::Truth).register;
        let never = self.emit(Op::Never(Arc::from(why)), type_.clone()).register;
        let integral = Op::Integral { block, from, to };
        let plain = self.emit(integral.clone(), type_.clone()).register;
        let value = self.emit(Op::Select(truth, plain, never), type_);
        self.integrals.push(Pending {
            integral,
            bounds: (from, to),
            helpers: [truth, never, plain],
            result: value.register,
            place: sheet.place(&search.to.span),
            remedy: format!("write `from {high} to {low}`, with the sign that is meant"),
        });
        value
    }

    /// Of the integrals of a sheet whose ranges and checks are known by now: one that surely runs upwards is
    /// calculated as it is, one that surely runs backwards is a problem.
    pub(in crate::program) fn settle_integrals(&mut self) {
        let pending = std::mem::take(&mut self.integrals);
        if pending.is_empty() {
            return;
        }
        let mut signs = Signs::new(self.ops(), &self.program);
        let known: Vec<_> = pending
            .into_iter()
            .map(|it| {
                let (from, to) = it.bounds;
                (signs.is_ordered(to, from), signs.is_ordered(from, to), it)
            })
            .collect();
        for (rises, falls, it) in known {
            if rises {
                let blocks = self.program.blocks.iter_mut().map(|block| &mut block.steps);
                for steps in std::iter::once(&mut self.steps).chain(blocks) {
                    steps.retain(|step| !it.helpers.contains(&step.to));
                    if let Some(step) = steps.iter_mut().find(|step| step.to == it.result) {
                        step.op = it.integral.clone();
                    }
                }
            } else if falls {
                let words =
                    "this integral runs backwards: its second bound is never above its first";
                let problem = Diagnostic::error(Name::EmptyRange, words);
                self.problems.push(problem.at(it.place).remedy(it.remedy));
            } else {
                // the sheet that uses this one may know more
                self.integrals.push(it);
            }
        }
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

    pub(super) fn keep(&mut self, block: Block) -> BlockId {
        let id = BlockId(u32::try_from(self.program.blocks.len()).unwrap_or(u32::MAX));
        self.program.blocks.push(block);
        id
    }

    /// A register that a caller fills.
    pub(super) fn parameter(&mut self, type_: Type) -> Value {
        let register = self.new_register(type_.clone());
        Value::new(register, type_)
    }
}
