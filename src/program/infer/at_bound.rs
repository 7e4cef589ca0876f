//! A root that stands at a bound whatever the inputs are: its function is zero there by its formula alone.

use crate::diagnostic::{Diagnostic, Name};
use crate::language::Search;
use crate::program::compile::Compiler;
use crate::program::flat::BlockId;
use crate::program::scope::{Sheet, Value};
use crate::program::sums::Sums;

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
        let ops = self.ops();
        let is_zero_at = |end: &Value| {
            let at_end = block.parameters.iter().map(|it| (*it, end.register));
            Sums::new(at_end.collect()).of((&ops, &self.program), block.result).is_zero()
        };
        let mut ends = [(&search.from, from), (&search.to, to)].into_iter();
        let Some((bound, _)) = ends.find(|(_, end)| is_zero_at(end)) else { return };
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
