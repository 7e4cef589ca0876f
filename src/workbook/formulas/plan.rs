//! Which value stands in which cell.

use std::collections::{BTreeMap, BTreeSet};

use crate::calculation::Results;
use crate::number::Slot;
use crate::program::{
    Block, BlockId, LineId, LineSource, Op, Preferred, Program, Register, Step, TableId, Type,
};
use crate::unit::{Dimension, Unit};

/// The tabs of a result workbook.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum TabOf {
    Summary,
    Results,
    Stop,
    Inputs,
    Working,
    Integrals,
    Tables,
    Worst,
}

impl TabOf {
    pub(super) fn name(self) -> &'static str {
        match self {
            Self::Summary => "summary",
            Self::Results => "results",
            Self::Stop => "stop",
            Self::Inputs => "inputs",
            Self::Working => "working",
            Self::Integrals => "integrals",
            Self::Tables => "tables",
            Self::Worst => "worst case",
        }
    }
}

/// Cells one below the other.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Home {
    pub(super) tab: TabOf,
    pub(super) column: char,
    /// First row, from 0.
    pub(super) row: u32,
    /// How many; none for a single value.
    pub(super) count: Option<u32>,
}

impl Home {
    /// The cell of one element, as a formula on a tab writes it.
    pub(super) fn cell(&self, from: TabOf, at: u32) -> String {
        let row = self.row + 1 + if self.count.is_some() { at } else { 0 };
        format!("{}{}{row}", self.before(from), self.column)
    }

    /// All cells.
    pub(super) fn range(&self, from: TabOf) -> String {
        let (first, column) = (self.row + 1, self.column);
        let last = self.row + self.count.unwrap_or(1).max(1);
        format!("{}${column}${first}:${column}${last}", self.before(from))
    }

    fn before(&self, from: TabOf) -> String {
        if self.tab == from { String::new() } else { format!("{}!", self.tab.name()) }
    }
}

/// What a row of the working tab holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Holds {
    /// A heading: the scope below.
    Heading(u32),
    /// The value of a register.
    Value(Register),
    /// A line that takes over what stands elsewhere.
    Same(Register),
    /// The row at which a table is read for a register.
    TableRow(Register),
    /// The power of ten below the number to which a preferred number is looked for.
    Decade(Register),
}

/// A row, or a few rows for a series.
#[derive(Clone, Debug)]
pub(super) struct Entry {
    pub(super) holds: Holds,
    pub(super) row: u32,
    pub(super) count: Option<u32>,
    /// The line of the sheet that it is; none for a part of one.
    pub(super) line: Option<LineId>,
    /// The line that it belongs to.
    pub(super) of: LineId,
    pub(super) unit: Unit,
    pub(super) dimension: Option<Dimension>,
}

/// A name without the use that it is of.
pub(super) fn short(name: &str) -> &str {
    name.rsplit('.').next().unwrap_or(name)
}

/// Where everything stands.
pub(super) struct Plan<'a> {
    pub(super) results: &'a Results,
    pub(super) program: &'a Program,
    pub(super) makers: BTreeMap<Register, &'a Step>,
    pub(super) homes: BTreeMap<Register, Home>,
    /// Cells that help to read a table or a series of preferred numbers, by the register that is read.
    pub(super) aids: BTreeMap<Register, Home>,
    pub(super) entries: Vec<Entry>,
    /// Integrals that a rule of fixed points calculates well enough.
    pub(super) integrals: Vec<super::integrals::Integral<'a>>,
    /// Arguments and values of each table, in coherent SI.
    pub(super) tables: BTreeMap<u32, (Home, Home)>,
    /// One decade of each series of preferred numbers, closed by ten.
    pub(super) decades: Vec<(Preferred, Home)>,
    /// Row after the last of the tables tab.
    pub(super) tables_end: u32,
    /// The verdict as calculated.
    pub(super) verdict: String,
}

/// First row of figures on the tabs, from 0; above stand title, a line about the tab, and headings.
pub(super) const FIRST: u32 = 4;

/// Rows of a table before its first: name, headings, factors, zeros.
pub(super) const TABLE_HEAD: u32 = 4;

impl<'a> Plan<'a> {
    pub(super) fn new(results: &'a Results) -> Self {
        let program: &Program = results.program();
        let mut plan = Self {
            results,
            program,
            makers: BTreeMap::new(),
            homes: BTreeMap::new(),
            aids: BTreeMap::new(),
            entries: Vec::new(),
            integrals: Vec::new(),
            tables: BTreeMap::new(),
            decades: Vec::new(),
            tables_end: FIRST - 1,
            verdict: String::new(),
        };
        let in_blocks = program.blocks.iter().flat_map(|block| &block.steps);
        for step in program.steps.iter().chain(in_blocks) {
            plan.makers.insert(step.to, step);
        }
        plan.place_inputs();
        plan.place_tables();
        plan.place_working();
        plan.integrals = super::integrals::find(&plan);
        plan
    }

    /// How many values a register holds; none for a single one.
    pub(super) fn count(&self, register: Register) -> Option<u32> {
        match self.results.run().register(register) {
            Ok(Slot::Many(values)) => u32::try_from(values.len()).ok(),
            _ => None,
        }
    }

    pub(super) fn block(&self, id: BlockId) -> Option<&'a Block> {
        self.program.block(id)
    }

    pub(super) fn line(&self, id: LineId) -> Option<&'a crate::program::Line> {
        self.program.line(id)
    }

    fn place_inputs(&mut self) {
        let mut row = FIRST;
        for (at, input) in self.program.inputs.iter().enumerate() {
            row += u32::from(self.program.heading_above(at).is_some());
            let count = self.count(input.register);
            // a word is compared where it stands, a number in coherent SI, and beside it a word that nobody gave
            let given = !self.results.inputs().is_spared(input);
            let column = if given && matches!(input.type_, Type::Choice(_)) { 'B' } else { 'I' };
            let home = Home { tab: TabOf::Inputs, column, row, count };
            self.homes.insert(input.register, home);
            row += count.unwrap_or(1).max(1);
        }
        for step in &self.program.steps {
            if let Op::Input(id) = step.op
                && let Some(input) = self.program.input(id)
                && let Some(home) = self.homes.get(&input.register).copied()
            {
                self.homes.insert(step.to, home);
            }
        }
    }

    fn place_tables(&mut self) {
        let mut row = FIRST - 1;
        for (id, table) in (0_u32..).zip(&self.program.tables) {
            let count = u32::try_from(table.rows.len()).ok();
            let home = |column| Home { tab: TabOf::Tables, column, row: row + TABLE_HEAD, count };
            self.tables.insert(id, (home('C'), home('D')));
            row += TABLE_HEAD + count.unwrap_or(0) + 1;
        }
        let mut wanted: Vec<Preferred> = Vec::new();
        for step in self.makers.values() {
            if let Op::Preferred(_, series, _) = step.op
                && !wanted.contains(&series)
            {
                wanted.push(series);
            }
        }
        wanted.sort_by_key(|which| crate::number::series(*which).name);
        for which in wanted {
            let numbers = crate::number::series(which).hundredths.len();
            let count = u32::try_from(numbers + 1).ok();
            self.decades
                .push((which, Home { tab: TabOf::Tables, column: 'A', row: row + 1, count }));
            row += count.unwrap_or(0) + 2;
        }
        self.tables_end = row;
    }

    /// The registers that stand in a cell of the working tab.
    fn with_cells(&self) -> BTreeSet<Register> {
        let program = self.program;
        let mut chosen: BTreeSet<Register> = program
            .lines
            .iter()
            .filter(|line| {
                !matches!(line.says, LineSource::Takes | LineSource::Default | LineSource::Hands(_))
            })
            .map(|line| line.register)
            .collect();
        let mut uses: BTreeMap<Register, usize> = BTreeMap::new();
        let mut read =
            |register: Register, times: usize| *uses.entry(register).or_default() += times;
        for step in self.makers.values() {
            // how often an operand is printed
            let times = match step.op {
                Op::Round(..) | Op::Read(..) | Op::Preferred(..) => 2,
                Op::Power(_, by) if by.denominator % 2 != 0 && by.denominator != 1 => 2,
                Op::Running { .. } | Op::Root { .. } | Op::Integral { .. } => 2,
                _ => 1,
            };
            step.op.reads().into_iter().for_each(|register| read(register, times));
            if let Op::Compare(_, _, limit) = step.op {
                read(limit, 1);
            }
            if let Some(block) = step.op.calls().and_then(|id| self.block(id)) {
                // what a block reads from outside is printed in each row, or watched for changes
                for inner in &block.steps {
                    inner.op.reads().into_iter().for_each(|register| read(register, 2));
                }
            }
        }
        for guard in &program.guards {
            let limits = guard.low.iter().chain(&guard.high);
            limits.for_each(|limit| read(limit.register, 1));
            read(guard.register, 1);
        }
        for check in &program.checks {
            read(check.register, 1);
            if let Some((_, a, b)) = check.sides {
                read(a, 1);
                read(b, 1);
            }
        }
        for output in &program.outputs {
            if let Some((a, b, c)) = output.setting {
                [a, b, c].into_iter().for_each(|register| read(register, 1));
            }
        }
        for step in &program.steps {
            let plain = matches!(
                step.op,
                Op::Literal(_) | Op::Pi | Op::Input(_) | Op::NoCase | Op::Never(_)
            );
            let always = matches!(
                step.op,
                Op::Running { .. }
                    | Op::Root { .. }
                    | Op::Integral { .. }
                    | Op::Read(..)
                    | Op::Preferred(..)
            );
            let many = uses.get(&step.to).copied().unwrap_or(0) >= 2;
            if always || (many && !plain) {
                chosen.insert(step.to);
            }
            // a range is folded, so it needs cells
            if let Op::Fold(_, series) = step.op {
                chosen.insert(series);
            }
        }
        chosen
    }

    /// Sheet by sheet, each line below the parts that it needs.
    fn place_working(&mut self) {
        let chosen = self.with_cells();
        let mut row = FIRST;
        let mut scope = None;
        let mut by_line: BTreeMap<u32, Vec<&Step>> = BTreeMap::new();
        for step in self.program.steps.iter().filter(|step| chosen.contains(&step.to)) {
            by_line.entry(step.line.0).or_default().push(step);
        }
        for (id, line) in (0_u32..).zip(&self.program.lines) {
            let own = matches!(
                line.says,
                LineSource::Works(_) | LineSource::Holds(_) | LineSource::Gives
            );
            for step in by_line.remove(&id).unwrap_or_default() {
                if !(own && step.to == line.register) {
                    self.value(&mut row, &mut scope, step, None, LineId(id));
                }
            }
            if !own {
                continue;
            }
            match self.makers.get(&line.register).copied() {
                Some(step) if !self.homes.contains_key(&line.register) => {
                    self.value(&mut row, &mut scope, step, Some(LineId(id)), LineId(id));
                }
                // a result that is given as it was calculated needs no row
                _ if matches!(line.says, LineSource::Gives) => {}
                _ => {
                    self.heading(&mut scope, &mut row, LineId(id));
                    let count = self.count(line.register);
                    self.put(
                        &mut row,
                        Holds::Same(line.register),
                        count,
                        Some(LineId(id)),
                        LineId(id),
                    );
                }
            }
        }
        for step in by_line.into_values().flatten() {
            self.value(&mut row, &mut scope, step, None, step.line);
        }
    }

    fn value(
        &mut self,
        row: &mut u32,
        scope: &mut Option<u32>,
        step: &Step,
        line: Option<LineId>,
        of: LineId,
    ) {
        if self.homes.contains_key(&step.to) {
            return;
        }
        self.heading(scope, row, of);
        let count = self.count(step.to);
        let aid = match step.op {
            Op::Read(..) => Some(Holds::TableRow(step.to)),
            Op::Preferred(..) => Some(Holds::Decade(step.to)),
            _ => None,
        };
        if let Some(holds) = aid {
            let home = self.put(row, holds, count, None, of);
            self.aids.insert(step.to, home);
        }
        let home = self.put(row, Holds::Value(step.to), count, line, of);
        self.homes.insert(step.to, home);
    }

    fn heading(&mut self, scope: &mut Option<u32>, row: &mut u32, of: LineId) {
        let Some(line) = self.line(of) else { return };
        if *scope == Some(line.scope) {
            return;
        }
        let holds = Holds::Heading(line.scope);
        if scope.is_some() {
            *row += 1;
        }
        self.put(row, holds, None, None, of);
        *scope = Some(line.scope);
    }

    fn put(
        &mut self,
        row: &mut u32,
        holds: Holds,
        count: Option<u32>,
        line: Option<LineId>,
        of: LineId,
    ) -> Home {
        let home = Home { tab: TabOf::Working, column: 'C', row: *row, count };
        let said = line.and_then(|id| self.line(id));
        let dimension = match said.map(|line| &line.type_) {
            Some(Type::Number { dimension, .. }) => Some(*dimension),
            _ => None,
        };
        let unit = said.map_or_else(Unit::one, |line| line.unit.clone());
        self.entries.push(Entry { holds, row: *row, count, line, of, unit, dimension });
        *row += count.unwrap_or(1).max(1);
        home
    }

    pub(super) fn table(&self, id: TableId) -> Option<(&'a crate::program::Table, Home, Home)> {
        let table = self.program.table(id)?;
        let (arguments, values) = self.tables.get(&id.0).copied()?;
        Some((table, arguments, values))
    }
}
