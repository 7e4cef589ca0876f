//! Columns of f64: many rows at a time, with near ties decided on exact decimals.
//!
//! A value keeps the rows of one chunk. Beside the numbers it carries one bound of their relative error and
//! the span in which all of them lie. What the span proves, such as that nothing leaves the range of f64 or
//! that a sum loses no digits, is not looked at row by row. Whatever would be decided within the error of
//! turning out otherwise, or would lose more digits than the bound allows, marks its row as doubtful. The
//! driver settles that one value on exact decimals, from the steps that lead to it, and goes on in f64.
//! A missing value is NaN; rows in which a result is missing are calculated whole on exact decimals.

mod driver;
mod fractions;
mod functions;
mod input;
mod invariant;
mod narrow;
mod nodes;
mod pass;
mod proved;
mod results;
mod rows;
mod search;
mod shared;
mod span;
mod steps;
mod system;
mod ties;

pub(super) use nodes::PAIR;
use std::cell::{Cell, RefCell};
use std::rc::Rc;

use super::exact::Exact;
use super::smoothness::Smoothness;
use crate::program::{Program, Table};
use search::Open;
use span::Span;

pub use driver::{Columns, run_columns};
pub use input::{ColumnInput, inputs_of_row};
pub use results::{ColumnsRun, OutputColumn, RowProblem};

/// Rows of a chunk.
const CHUNK: usize = 1024;
/// A loss of digits by more than this in one step sends the row to exact decimals.
const LOSS: f64 = 4096.0;
/// An error of all rows below this needs no bound of its own for each row.
const FINE: f64 = 1e-12;
/// Whole numbers up to here are f64 themselves.
const WHOLE: f64 = 9e15;
/// Relative error that a result may have.
const PROMISED: f64 = 1e-9;
/// Rounding of a basic operation, doubled.
const ROUNDING: f64 = f64::EPSILON;
/// Magnitudes that columns keep: a decade within those of exact decimals, which alone decide what lies at the edge,
/// where the last digit of an f64 may stand on the other side.
const RANGE: (f64, f64) = (1e-199, 1e200);

/// The rows of one chunk.
#[derive(Clone, Debug)]
enum Rows<T> {
    /// The same in every row.
    Same(T),
    /// One a row; values that are handed on share them.
    Each(Rc<Vec<T>>),
}

/// Numbers of the rows of a chunk.
#[derive(Clone, Debug)]
struct Vector {
    rows: Rows<f64>,
    /// Where the rows lie.
    span: Span,
    /// Bound of the relative error of every row that is not doubtful.
    error: f64,
    /// A bound for each row, none above that one, where sums have cancelled more in some than in others.
    errors: Option<Rc<Vec<f64>>>,
    /// Whether every row is the true value itself: whole numbers.
    exact: bool,
    /// Whether the true value of every row is the shortest decimal that reads back as it, as literals and inputs are:
    /// two of them stand to each other as their f64 do.
    shortest: bool,
    /// Whether a zero is a true zero, and not what rounding left of something else.
    true_zero: bool,
    /// The step, the same in every row, of which every row is a whole multiple.
    step: Option<f64>,
}

/// Truths of the rows of a chunk.
#[derive(Clone, Debug)]
struct Truths {
    rows: Rows<Truth>,
    /// Whether a row may be [`MISSING`].
    missing: bool,
}

/// A truth of a row: 0 false, 1 true, 2 missing.
type Truth = u8;
const NO: Truth = 0;
const YES: Truth = 1;
const MISSING: Truth = 2;

/// A table in f64, rows converted once.
struct Converted {
    lowest: Option<f64>,
    rows: Vec<(f64, f64)>,
}

/// How much a row may lose before it is doubtful.
#[derive(Clone, Copy, Debug)]
struct Precision {
    /// Whether doubt is noted at all.
    noted: bool,
    /// Largest loss of digits in one step.
    loss: f64,
    /// Largest relative error.
    worst: f64,
}

impl Precision {
    /// For results: each is within 1e-9 of the exact one, or its row is calculated on exact decimals.
    const RESULTS: Self = Self { noted: true, loss: LOSS, worst: PROMISED };
    /// For a value of which only the sign is needed.
    const SIGNS: Self = Self { noted: true, loss: f64::INFINITY, worst: 0.25 };
    /// For points that are only tried.
    const NONE: Self = Self { noted: false, ..Self::SIGNS };
}

/// Which rows values as bounds stand for.
#[derive(Clone, Copy, Debug)]
enum OnBounds {
    Nothing,
    /// All of them at once.
    Every,
    One(usize),
}

/// The number system of one chunk after another.
struct ColumnSystem<'a> {
    program: &'a Program,
    tables: Vec<Converted>,
    /// Rows of the chunk under way.
    count: Cell<usize>,
    /// Rows that the step under way makes doubtful.
    doubtful: RefCell<Vec<bool>>,
    any_doubtful: Cell<bool>,
    care: Cell<Precision>,
    /// How the function of the integral under way follows its argument.
    integrand: Cell<Smoothness>,
    /// What is looked at on bounds.
    on_bounds: Cell<OnBounds>,
    /// Whether rows in which it must be followed further are reported instead.
    at_once: Cell<bool>,
    /// These rows.
    open: RefCell<Vec<Open>>,
    pool: RefCell<Vec<Vec<f64>>>,
}

impl Vector {
    fn same(value: f64, error: f64) -> Self {
        let rows = Rows::Same(value);
        Self {
            rows,
            span: Span::of_one(value),
            error,
            errors: None,
            exact: false,
            shortest: false,
            true_zero: true,
            step: None,
        }
    }

    /// Numbers without meaning yet, to be filled in.
    fn approximate(error: f64) -> Self {
        Self { true_zero: false, ..Self::same(f64::NAN, error) }
    }

    /// The nearest f64 of an exact value, for every row.
    fn from_exact(value: &Exact) -> Self {
        let number = value.to_f64();
        let whole = number.fract() == 0.0 && number.abs() < WHOLE;
        let shortest = value.is_exact() && Exact::from_f64(number).as_ref() == Ok(value);
        let exact = whole && shortest;
        let error = if exact { 0.0 } else { ROUNDING + value.relative_error_bound().min(1.0) };
        let true_zero = !value.is_like_zero() || value.is_exact();
        Self { exact, shortest, true_zero, ..Self::same(number, error) }
    }

    fn at(&self, row: usize) -> f64 {
        self.rows.at(row)
    }

    /// Bound of the relative error of a row.
    fn error_at(&self, row: Option<usize>) -> f64 {
        match (&self.errors, row) {
            (Some(errors), Some(row)) => errors.get(row).copied().unwrap_or(self.error),
            _ => self.error,
        }
    }

    /// Whether its f64 alone decide how it stands to another such value.
    fn is_shortest(&self) -> bool {
        self.exact || self.shortest
    }

    /// Whether every row is zero without a doubt.
    fn is_zero(&self) -> bool {
        self.exact && matches!(self.rows, Rows::Same(0.0))
    }

    /// Whether a row has no number.
    fn has_missing(&self) -> bool {
        self.span.missing && self.rows.has_missing()
    }
}

impl<T> Rows<T> {
    fn each(rows: Vec<T>) -> Self {
        Self::Each(Rc::new(rows))
    }

    /// Whether one was handed on as the other.
    fn is(&self, other: &Self) -> bool {
        matches!((self, other), (Self::Each(one), Self::Each(other)) if Rc::ptr_eq(one, other))
    }
}

impl Rows<f64> {
    fn at(&self, row: usize) -> f64 {
        match self {
            Self::Same(value) => *value,
            Self::Each(values) => values.get(row).copied().unwrap_or(f64::NAN),
        }
    }

    fn set(&mut self, row: Option<usize>, value: f64) {
        match (self, row) {
            (Self::Same(one), _) => *one = value,
            (Self::Each(values), Some(row)) => {
                if let Some(to) = Rc::make_mut(values).get_mut(row) {
                    *to = value;
                }
            }
            (Self::Each(_), None) => {}
        }
    }

    fn has_missing(&self) -> bool {
        match self {
            Self::Same(value) => value.is_nan(),
            // without a way out of the loop, so that it is quick
            Self::Each(values) => values.iter().fold(false, |any, value| any | value.is_nan()),
        }
    }
}

impl Truths {
    /// One a row; or the same in every row, if it turns out so.
    fn of(rows: Vec<Truth>, missing: bool) -> Self {
        match rows.first() {
            Some(first) if rows.iter().fold(true, |all, truth| all & (truth == first)) => {
                Self::same(*first)
            }
            _ => Self { rows: Rows::each(rows), missing },
        }
    }

    /// The same in every row.
    fn same(truth: Truth) -> Self {
        Self { rows: Rows::Same(truth), missing: truth == MISSING }
    }

    fn at(&self, row: usize) -> Truth {
        match &self.rows {
            Rows::Same(truth) => *truth,
            Rows::Each(truths) => truths.get(row).copied().unwrap_or(MISSING),
        }
    }

    /// Whether a truth is in some row, or one above it.
    fn any_from(&self, least: Truth) -> bool {
        match &self.rows {
            Rows::Same(truth) => *truth >= least,
            Rows::Each(truths) => truths.iter().fold(false, |any, truth| any | (*truth >= least)),
        }
    }

    fn has_missing(&self) -> bool {
        self.missing && self.any_from(MISSING)
    }
}

impl<'a> ColumnSystem<'a> {
    fn new(program: &'a Program) -> Self {
        Self {
            program,
            tables: program.tables.iter().map(converted).collect(),
            count: Cell::new(0),
            doubtful: RefCell::new(Vec::new()),
            any_doubtful: Cell::new(false),
            care: Cell::new(Precision::RESULTS),
            integrand: Cell::new(Smoothness::Unknown),
            on_bounds: Cell::new(OnBounds::Nothing),
            at_once: Cell::new(false),
            open: RefCell::new(Vec::new()),
            pool: RefCell::new(Vec::new()),
        }
    }

    fn begin(&self, count: usize) {
        self.count.set(count);
        let mut doubtful = self.doubtful.borrow_mut();
        doubtful.clear();
        doubtful.resize(count, false);
        self.any_doubtful.set(false);
    }

    /// Marks a row, or every row where the value is the same in all of them.
    fn doubt(&self, row: Option<usize>) {
        if !self.care.get().noted {
            return;
        }
        self.any_doubtful.set(true);
        let mut doubtful = self.doubtful.borrow_mut();
        match row {
            Some(row) => {
                if let Some(mark) = doubtful.get_mut(row) {
                    *mark = true;
                }
            }
            None => doubtful.fill(true),
        }
    }

    /// An error bound that keeps the promise of the care taken, or doubt in every row.
    fn bounded(&self, error: f64) -> f64 {
        let worst = self.care.get().worst;
        if error <= worst {
            return error;
        }
        self.doubt(None);
        worst
    }

    /// Works with another care and goes back to the one before.
    fn with_care<R>(&self, care: Precision, work: impl FnOnce() -> R) -> R {
        let before = self.care.replace(care);
        let result = work();
        self.care.set(before);
        result
    }

    fn buffer(&self) -> Vec<f64> {
        let mut buffer = self.pool.borrow_mut().pop().unwrap_or_default();
        buffer.clear();
        buffer
    }

    /// Keeps the memory of rows that nothing reads any more.
    fn reuse(&self, rows: Rows<f64>) {
        if let Rows::Each(rows) = rows
            && let Ok(buffer) = Rc::try_unwrap(rows)
        {
            self.keep(buffer);
        }
    }

    fn keep(&self, buffer: Vec<f64>) {
        let mut pool = self.pool.borrow_mut();
        if pool.len() < 256 {
            pool.push(buffer);
        }
    }

    fn map(&self, x: &Rows<f64>, function: impl Fn(f64) -> f64) -> Rows<f64> {
        match x {
            Rows::Same(x) => Rows::Same(function(*x)),
            Rows::Each(xs) => {
                let mut to = self.buffer();
                to.extend(xs.iter().map(|x| function(*x)));
                Rows::each(to)
            }
        }
    }

    fn zip(
        &self,
        x: &Rows<f64>,
        y: &Rows<f64>,
        mut function: impl FnMut(f64, f64) -> f64,
    ) -> Rows<f64> {
        if let (Rows::Same(x), Rows::Same(y)) = (x, y) {
            return Rows::Same(function(*x, *y));
        }
        let mut to = self.buffer();
        match (x, y) {
            (Rows::Each(xs), Rows::Each(ys)) => {
                to.extend(xs.iter().zip(ys.iter()).map(|(x, y)| function(*x, *y)));
            }
            (Rows::Each(xs), Rows::Same(y)) => to.extend(xs.iter().map(|x| function(*x, *y))),
            (Rows::Same(x), Rows::Each(ys)) => to.extend(ys.iter().map(|y| function(*x, *y))),
            (Rows::Same(_), Rows::Same(_)) => {}
        }
        Rows::each(to)
    }

    /// Looks at every row of some values: their numbers and the row, none where all are the same.
    fn look<const N: usize>(
        &self,
        values: [&Rows<f64>; N],
        mut see: impl FnMut([f64; N], Option<usize>),
    ) {
        if values.iter().all(|rows| matches!(rows, Rows::Same(_))) {
            see(values.map(|rows| if let Rows::Same(x) = rows { *x } else { f64::NAN }), None);
            return;
        }
        for row in 0..self.count.get() {
            let numbers = values.map(|rows| match rows {
                Rows::Same(x) => *x,
                Rows::Each(xs) => xs.get(row).copied().unwrap_or(f64::NAN),
            });
            see(numbers, Some(row));
        }
    }
}

fn converted(table: &Table) -> Converted {
    // a literal that cannot be kept becomes NaN: exact decimals then say why
    let number = |literal| Exact::from_literal(literal).map_or(f64::NAN, |value| value.to_f64());
    Converted {
        lowest: table.lowest.as_ref().map(number),
        rows: table.rows.iter().map(|(x, y)| (number(x), number(y))).collect(),
    }
}
