//! A product line: one variant a row, calculated by columns, results written behind them.
//!
//! [`open`] reads a workbook as far as the table's head; [`ProductLine::find`] recognises the table;
//! [`ProductLine::write_rows`] works its variants out in blocks on all cores and writes them while the
//! rows pass by, [`ProductLine::fresh_rows`] into a fresh workbook; [`ProductLine::go_through`] only looks. For a
//! workbook that is in memory, [`ProductLine::compute`], [`ProductLine::edits`] and [`ProductLine::moved`] do the same.

mod apart;
mod columns;
mod delimited;
mod ends;
mod fed;
mod fresh;
mod header;
mod hidden;
mod idle;
mod long;
mod moved;
mod needed;
mod outdated;
mod row;
mod run;
mod said;
mod shared;
mod summary;
mod unheaded;
mod units;
mod variants;
mod write;

use std::collections::{BTreeMap, BTreeSet};
use std::sync::{Arc, Mutex, OnceLock};

use super::Unfilled;
use super::bind::{End, ReadCell};
use crate::calculation::Inputs;
use crate::diagnostic::{Diagnostic, Place};
use crate::number::Columns;
use crate::program::{Input, Output, Program, Sheets, Type};
use crate::spreadsheet::{Book, Cell, NewValue, Position, Tab};
use crate::unit::Unit;

pub use delimited::{Lines, Text};
pub use long::open;
pub use moved::Moved;
pub(crate) use run::LeftInRow;
pub use summary::{CheckSummary, Summary, WorstMargin};

/// Which table is meant, where the workbook alone does not say.
#[derive(Clone, Debug, Default)]
pub struct TableRequest {
    /// Inputs that are given beside the workbook: none of them needs a column.
    pub given: Vec<String>,
    /// The sheet; without it a cell `sheet NAME` above the table says it.
    pub sheet: Option<String>,
    /// Where that is said; else on the command line.
    pub place: Option<Place>,
    /// The tab; without it all tabs are looked at.
    pub tab: Option<String>,
    /// Whether results without a column are appended beside those that have one. Where no result has a
    /// column, all are appended anyway.
    pub all: bool,
    /// Whether the worst case of each variant is calculated: the lowest and highest value of each result that has a
    /// column are appended where no column takes them.
    pub worst: bool,
}

impl TableRequest {
    /// Where the sheet is asked for.
    fn asked_at(&self) -> Place {
        let text = self.sheet.clone().unwrap_or_default();
        self.place.clone().unwrap_or(Place::Argument { text })
    }
}

/// A table of variants, recognised.
#[derive(Clone, Debug)]
pub struct ProductLine {
    /// The sheet.
    pub sheet: String,
    /// The checked sheet.
    pub program: Arc<Program>,
    /// The tab.
    pub tab: String,
    /// The row of the headings, from 0.
    pub header: u32,
    /// The row of units below it, if there is one.
    pub units: Option<u32>,
    /// The columns of inputs.
    pub inputs: Vec<InputColumns>,
    /// The columns of results.
    pub results: Vec<ResultColumn>,
    /// The column of the status.
    pub status: StatusColumn,
    /// Values that all rows share.
    pub shared: Inputs,
    /// The cells from which they are read.
    pub(super) shared_cells: Vec<ReadCell>,
    /// Whether the worst case of each variant is calculated; its status is then that over the tolerances.
    pub worst: bool,
    /// The rows that are variants, from 0.
    pub variants: Vec<u32>,
    /// Rows that hold something and none of the inputs: they are left alone.
    pub passed_over: Vec<u32>,
    /// Rows of totals, such as a sum or an average over the variants: they are left alone.
    pub totals: Vec<u32>,
    /// Headings of columns that are the owner's own remarks: nothing is read from them or written into them.
    pub remarks: Vec<String>,
    /// The first of those columns, and its heading: where no text of a row is its name, a number there is.
    numbered: Option<(u32, String)>,
    /// Columns in which each row says a unit of its own.
    pub(crate) said_units: Vec<u32>,
    /// Remarks of the variants that bear figures, and that nothing uses.
    pub(crate) unused: Vec<(Position, String)>,
    /// What the person should know of the workbook: rows that state an input and are not read.
    pub cautions: Vec<Diagnostic>,
    /// The program with both sides of its checks as further outputs.
    widened: Arc<Program>,
    /// What is asked of rows whose formula is not that of the others.
    odd: Arc<BTreeMap<u32, Vec<Diagnostic>>>,
    /// `widened`, made ready for columns once.
    ready: Arc<OnceLock<Columns>>,
    /// Texts without a figure of which nothing is said, by their columns: whatever the values of a row are.
    quiet: Arc<Mutex<BTreeMap<u32, BTreeSet<String>>>>,
    /// The inputs without effect, by variants.
    idle: idle::Idle,
    /// What is asked of all variants, looked for once, and of some beside the others, by their rows: their status says it.
    asked_of_all: Arc<OnceLock<Vec<String>>>,
    asked: Arc<BTreeMap<u32, Vec<String>>>,
    /// Where the two sides of each check stand among the outputs of `widened`.
    sides: Vec<Option<(usize, usize)>>,
}

/// The columns of one input; several for a series.
#[derive(Clone, Debug, PartialEq)]
pub struct InputColumns {
    /// The input, by its place in the program.
    pub input: usize,
    /// The columns, from 0.
    pub columns: Vec<u32>,
    /// Their unit.
    pub unit: Unit,
    /// The column of its tolerance, headed `T_0 tolerance` or `± T_0`.
    pub tolerance: Option<u32>,
    /// The unit in which its heading says that numbers below it are: that of the value, or `%`.
    pub(super) tolerance_unit: Option<String>,
    /// From where to where, without its sign, nothing is asked of the size of a number.
    pub(super) unasked: (f64, f64),
}

/// A column that takes a result.
#[derive(Clone, Debug, PartialEq)]
pub struct ResultColumn {
    /// The result, by its place in the program.
    pub output: usize,
    /// Which end of it over the tolerances; none for its value as given.
    pub end: Option<End>,
    /// The column, from 0.
    pub column: u32,
    /// Its unit.
    pub unit: Unit,
    /// Whether it is new and gets a heading.
    pub appended: bool,
}

/// The column of the status.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct StatusColumn {
    /// The column, from 0.
    pub column: u32,
    /// Whether it is new and gets a heading.
    pub appended: bool,
}

/// How a variant came out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum VariantVerdict {
    /// Every check holds that is more than a caution.
    Holds,
    /// A check fails, or may fail within the tolerances.
    Fails,
    /// A check is neither proved to hold within the tolerances nor refuted; none fails.
    NotProved,
    /// The row is wrong, and nothing was calculated.
    Wrong,
}

/// What came out for one variant.
#[derive(Clone, Debug, PartialEq)]
pub struct Variant {
    /// Its row, from 0.
    pub row: u32,
    /// How it came out.
    pub verdict: VariantVerdict,
    /// What its status column takes.
    pub status: Arc<str>,
    /// What its result columns take, in the order of [`ProductLine::results`]; empty for a wrong row.
    pub values: Vec<NewValue>,
    /// The least margin among its checks that are more than a caution.
    pub least: Option<Least>,
    /// What is wrong with the row.
    pub problems: Vec<Diagnostic>,
}

/// What is left of a limit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Least {
    /// The check, by its place in [`Program::checks`].
    pub check: usize,
    /// What lies between both sides as a share of the larger of them: 0.1 is a tenth below the limit,
    /// less than nothing is beyond it.
    pub share: f64,
}

/// What came out for a span of variants.
#[derive(Clone, Debug, PartialEq, Default)]
pub struct Outcome {
    /// The variants, in the order of their rows.
    pub variants: Vec<Variant>,
    /// What became of each check, in the order of [`Program::checks`].
    pub checks: Vec<Tally>,
}

/// What became of a check over many variants.
#[derive(Clone, Copy, Debug, PartialEq, Default)]
pub struct Tally {
    /// In how many variants it fails.
    pub fails: usize,
    /// In how many variants it is not proved.
    pub not_proved: usize,
    /// The variant that is worst.
    pub worst: Option<Worst>,
}

/// The variant that is worst in a check: one that fails without a margin before all others, then by the least margin
/// that is proved, where that is the same by the one that is reached, and then by its row.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Worst {
    /// The least margin that is proved, and the one that is reached, in coherent SI; none where the check fails
    /// without, for a value does not exist.
    pub left: Option<[f64; 2]>,
    /// Its row, from 0.
    pub row: u32,
}

impl ResultColumn {
    /// The name that its heading bears: `S`, or `S lowest`.
    #[must_use]
    pub fn name(&self, program: &Program) -> String {
        let name = program.outputs.get(self.output).map_or("", |output| output.name.as_str());
        match self.end {
            None => name.to_owned(),
            Some(end) => format!("{name} {}", end.word()),
        }
    }
}

impl ProductLine {
    /// Finds the table of variants in a workbook and checks everything that all its rows share.
    ///
    /// # Errors
    /// Every problem of the table's head in one list, and then nothing can be calculated:
    /// `nothing-asked`, `no-header-row`, `several-tables`, `missing-input` for an input that stands
    /// nowhere, units that are missing or do not fit, shared values that are wrong.
    ///
    /// # Example
    /// ```
    /// use standstill::{environment::NoFs, project::Project, spreadsheet::Book, workbook::range};
    /// let text = "sheet run-down\nT_0,4,N·m\n\nroller,J / (kg·m²),n_0 / (r/min)\nA,2,1500\nB,3,1500\n";
    /// let book = Book::read("rollers.csv", text.as_bytes()).unwrap();
    /// let line = range::ProductLine::find(&book, &range::TableRequest::default(), &Project::new(&NoFs)).unwrap();
    /// assert_eq!(line.variants.len(), 2);
    /// let outcome = line.compute(&book, 0..2, 1, &|_| {});
    /// // J·ω/T, roller B: 3 · 157.0796 / 4
    /// let t_stop = line.results.iter().position(|result| line.program.outputs[result.output].name == "t_stop").unwrap();
    /// let standstill::spreadsheet::NewValue::Number(found) = outcome.variants[1].values[t_stop] else { panic!("a number") };
    /// assert!((found - 117.8097245096).abs() < 1e-9);
    /// ```
    pub fn find(book: &Book, asked: &TableRequest, sheets: &dyn Sheets) -> Result<Self, Unfilled> {
        header::find(book, asked, sheets)
    }

    /// The name of a variant: the first text of its row that is neither input nor result, a number with its heading
    /// where there is none, else the row.
    #[must_use]
    pub fn variant_text(&self, book: &Book, row: u32) -> String {
        let own = self.tab(book).and_then(|tab| match self.name_of(tab, row) {
            Some(text) => Some(text.to_owned()),
            None => {
                let (_, heading) = self.numbered.as_ref()?;
                Some(format!("{heading} {}", self.number_of(tab, row)?))
            }
        });
        let number = row + 1;
        own.map_or_else(|| format!("row {number}"), |own| format!("{own} (row {number})"))
    }

    /// The variants, by their place, whose own number is this one: in the first column that is neither input nor
    /// result, where that is all that tells them apart or gives each another number.
    pub(crate) fn numbered(&self, book: &Book, number: usize) -> Vec<usize> {
        let Some(tab) = self.tab(book) else { return Vec::new() };
        let numbers = self.variants.iter().map(|row| self.number_of(tab, *row));
        let Some(numbers) = numbers.collect::<Option<Vec<String>>>() else { return Vec::new() };
        let apart = numbers.iter().collect::<BTreeSet<_>>().len() == numbers.len();
        let named = self.variants.iter().any(|row| self.name_of(tab, *row).is_some());
        let number = number.to_string();
        let own = numbers.iter().enumerate().filter(|(_, own)| **own == number);
        if apart || !named { own.map(|(at, _)| at).collect() } else { Vec::new() }
    }

    /// The names of all variants as whole numbers, in their order, where each has one of its own: `07` is 7.
    pub(crate) fn names_in_numbers(&self, book: &Book) -> Option<Vec<usize>> {
        let tab = self.tab(book)?;
        let of = |row: &u32| match self.name_of(tab, *row) {
            Some(text) => text.parse().ok(),
            None => self.number_of(tab, *row)?.parse().ok(),
        };
        let names: Vec<usize> = self.variants.iter().map(of).collect::<Option<_>>()?;
        (names.iter().collect::<BTreeSet<_>>().len() == names.len()).then_some(names)
    }

    /// Whether the name of a variant is a number.
    pub(crate) fn bears_a_number(&self, book: &Book, row: u32) -> bool {
        let of = |tab| self.name_of(tab, row).is_none() && self.number_of(tab, row).is_some();
        self.tab(book).is_some_and(of)
    }

    /// The number of a row in the first column that is neither input nor result.
    fn number_of(&self, tab: &Tab, row: u32) -> Option<String> {
        match tab.cell(Position { row, column: self.numbered.as_ref()?.0 }) {
            Cell::Number(number) => Some(number.to_string()),
            _ => None,
        }
    }

    /// The first text of a row that is neither input nor result.
    fn name_of<'b>(&self, tab: &'b Tab, row: u32) -> Option<&'b str> {
        let texts = tab.row(row).iter().filter(|entry| !self.is_own_column(entry.position.column));
        texts.map(|entry| &entry.cell).find_map(|cell| match cell {
            Cell::Text(text) if !text.trim().is_empty() => Some(text.trim()),
            _ => None,
        })
    }

    /// The defaults that all variants take, for there is neither a column nor a shared value for the input.
    #[must_use]
    pub fn defaults(&self) -> Vec<crate::report::Default> {
        let has_column = |input: &Input| {
            let known =
                |at: usize| self.program.inputs.get(at).is_some_and(|it| it.name == input.name);
            self.inputs.iter().any(|columns| known(columns.input))
        };
        let is_given = |input: &Input| has_column(input) || self.shared.is_given(input);
        crate::report::defaults_without(&self.program, &is_given)
    }

    fn tab<'b>(&self, book: &'b Book) -> Option<&'b Tab> {
        book.tab(&self.tab)
    }

    fn new(sheet: String, program: Arc<Program>, tab: String, header: u32) -> Self {
        let (widened, sides) = widened(&program);
        Self {
            sheet,
            tab,
            header,
            units: None,
            inputs: Vec::new(),
            results: Vec::new(),
            status: StatusColumn { column: 0, appended: false },
            shared: Inputs::new(&program),
            shared_cells: Vec::new(),
            worst: false,
            variants: Vec::new(),
            passed_over: Vec::new(),
            totals: Vec::new(),
            remarks: Vec::new(),
            numbered: None,
            said_units: Vec::new(),
            unused: Vec::new(),
            cautions: Vec::new(),
            program,
            odd: Arc::default(),
            widened: Arc::new(widened),
            ready: Arc::default(),
            quiet: Arc::default(),
            idle: idle::Idle::default(),
            asked_of_all: Arc::default(),
            asked: Arc::default(),
            sides,
        }
    }
}

/// The program with both sides of each check as outputs, so that margins come out by columns too.
fn widened(program: &Program) -> (Program, Vec<Option<(usize, usize)>>) {
    let mut widened = program.clone();
    let mut sides = Vec::with_capacity(program.checks.len());
    for check in &program.checks {
        sides.push(check.sides.map(|(_, one, other)| {
            for register in [one, other] {
                widened.outputs.push(Output {
                    name: check.written.clone(),
                    register,
                    type_: Type::Number {
                        dimension: check.unit.dimension,
                        point: check.unit.point,
                        series: false,
                    },
                    unit: check.unit.clone(),
                    rounding: String::new(),
                    setting: None,
                    note: String::new(),
                    place: check.place.clone(),
                    line: check.line,
                });
            }
            (widened.outputs.len() - 2, widened.outputs.len() - 1)
        }));
    }
    (widened, sides)
}
