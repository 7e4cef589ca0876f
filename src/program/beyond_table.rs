//! Inputs whose declared range is wider than the table they go into: each run beyond it is refused.

use std::collections::HashSet;

use super::compile::Compiler;
use super::decided::number;
use super::flat::{Op, Register, Table};
use super::literal::compare;
use super::scope::{Named, Sheet};
use crate::diagnostic::{Diagnostic, Name};
use crate::language::{Bound, Take};
use crate::unit::Literal;

impl Compiler<'_> {
    /// Every input of the asked sheet that goes into a table whatever the cases are.
    pub(super) fn beyond_tables(&mut self, sheet: &Sheet) {
        let always = self.always_read();
        let ops = self.ops();
        let reads = always.iter().filter_map(|register| match ops.get(register) {
            Some(Op::Read(table, argument)) => Some((*argument, self.program.table(*table)?)),
            _ => None,
        });
        let reads: Vec<(Register, &Table)> = reads.collect();
        let found = sheet.tree.takes.iter().filter_map(|take| {
            let Some(Named::Value(value, _)) = sheet.names.get(&take.name.value) else {
                return None;
            };
            let mut tables = reads.iter().filter(|(argument, _)| *argument == value.register);
            tables.find_map(|(_, table)| beyond(sheet, take, table))
        });
        let found: Vec<Diagnostic> = found.collect();
        self.problems.extend(found);
    }

    /// What is calculated for every result and check, whichever cases apply.
    fn always_read(&self) -> HashSet<Register> {
        let ops = self.ops();
        let outputs = self.program.outputs.iter().map(|it| it.register);
        let mut open: Vec<Register> =
            outputs.chain(self.program.checks.iter().map(|it| it.register)).collect();
        let mut seen = HashSet::new();
        while let Some(register) = open.pop() {
            if !seen.insert(register) {
                continue;
            }
            match ops.get(&register) {
                Some(Op::Select(truth, ..)) => open.push(*truth),
                Some(op) => open.extend(op.reads()),
                None => {}
            }
        }
        seen
    }
}

/// What is said of an end of a range that lies outside the arguments of a table.
fn beyond(sheet: &Sheet, take: &Take, table: &Table) -> Option<Diagnostic> {
    let arguments = || table.rows.iter().map(|(argument, _)| argument);
    let low = table.lowest.as_ref().or(arguments().next())?;
    let outside = |bound: &Option<Bound>, word: &str, end: &Literal, is_above: bool| {
        let bound = bound.as_ref()?;
        let at = number(&bound.value).filter(|it| it.unit.dimension == end.unit.dimension)?;
        let order = compare(&at, end);
        let out = if is_above { order.is_gt() } else { order.is_lt() };
        out.then(|| (word.to_owned(), format!("{} {}", end.digits, table.argument_unit.symbol)))
    };
    let (word, end) = outside(&take.low, "from", low, false)
        .or_else(|| outside(&take.high, "to", arguments().next_back()?, true))?;
    let (end, name) = (end.trim_end(), &take.name.value);
    let headline = format!("`{name}` may lie beyond the table `{}`", table.name);
    let mut problem = Diagnostic::caution(Name::OutOfRange, headline).at(sheet.place_of(take));
    if let Some(place) = &table.place {
        problem = problem.label(place.clone(), "it has no value there");
    }
    Some(problem.remedy(format!("write `{word} {end}`, or more rows into the table")))
}
