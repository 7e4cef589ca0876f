//! A root that stands at a bound whatever the inputs are: its function is zero there by its formula alone.

use std::collections::HashSet;

use crate::diagnostic::{Diagnostic, Name};
use crate::language::Search;
use crate::program::compile::Compiler;
use crate::program::flat::{Binary, Block, BlockId, Op, Register, Unary};
use crate::program::scope::{Sheet, Value};

impl Compiler<'_> {
    /// A root that is a bound whatever the inputs are says nothing of them: mostly a term is lost.
    pub(super) fn known_root(
        &mut self,
        sheet: &Sheet,
        search: &Search,
        block: BlockId,
        (from, to): (&Value, &Value),
    ) {
        // a sheet used by another may be handed a zero
        let at = usize::try_from(block.0).ok();
        let Some(block) = at.and_then(|at| self.program.blocks.get(at)) else { return };
        if !sheet.path.is_empty() {
            return;
        }
        let is_zero = |value: &Value| {
            let own = self.steps.iter().rev().find(|step| step.to == value.register);
            value.zero || own.is_some_and(|step| is_nothing(&step.op))
        };
        let ends = [(&search.from, from), (&search.to, to)];
        let Some((bound, _)) =
            ends.into_iter().find(|(_, end)| vanishes(block, end.register, is_zero(end)))
        else {
            return;
        };
        let written = sheet.text(&bound.span);
        let headline =
            format!("this root is always {written}: the function is zero there by its formula");
        self.problems.push(
            Diagnostic::error(Name::NoRoot, headline)
                .at(sheet.place(&search.function.span))
                .label(sheet.place(&bound.span), "zero here, whatever the inputs are")
                .remedy("look for a term that is missing in the formula"),
        );
    }
}

/// A zero as it is written.
fn is_nothing(op: &Op) -> bool {
    matches!(op, Op::Literal(literal) if literal.digits.is_zero() && !literal.unit.point)
}

/// Whether a block is zero by its steps alone where its parameter is a bound.
fn vanishes(block: &Block, bound: Register, is_zero: bool) -> bool {
    let mut zero: HashSet<Register> = HashSet::new();
    if is_zero {
        zero.extend(&block.parameters);
    }
    let same = |a: &Register, b: &Register| {
        let meant = |it: &Register| if block.parameters.contains(it) { bound } else { *it };
        meant(a) == meant(b)
    };
    for step in &block.steps {
        let has = |register: &Register| zero.contains(register);
        let nothing = match &step.op {
            Op::Unary(
                Unary::Negate
                | Unary::Absolute
                | Unary::SquareRoot
                | Unary::Sine
                | Unary::Tangent
                | Unary::ArcSine
                | Unary::ArcTangent,
                a,
            )
            | Op::Round(_, a, _) => has(a),
            Op::Power(a, exponent) => has(a) && exponent.numerator > 0,
            Op::Binary(Binary::Multiply, a, b) => has(a) || has(b),
            Op::Binary(Binary::Divide, a, b) => has(a) && !has(b),
            Op::Binary(Binary::Subtract, a, b) => has(a) && has(b) || same(a, b),
            Op::Binary(Binary::Add | Binary::Least | Binary::Greatest, a, b)
            | Op::Select(_, a, b) => has(a) && has(b),
            op => is_nothing(op),
        };
        if nothing {
            zero.insert(step.to);
        }
    }
    zero.contains(&block.result)
}
