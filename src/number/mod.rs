//! The number systems a program runs on.
//!
//! A [`System`] is the arithmetic of one value; [`evaluate()`] lifts it to series, folds and recurrences and
//! runs a whole [`Program`](crate::program::Program) on it. A further number system is one more
//! implementation of the trait.
//!
//! Faults are values: a step that cannot be evaluated yields a poisoned value, every step that reads it
//! yields the same first fault, and a case that is not taken takes its fault away with it. What such a case
//! alone reads is not evaluated at all ([`demand`]).

mod bounds;
mod columns;
mod demand;
mod evaluate;
mod exact;
mod fault;
mod integrand;
mod preferred;
mod run;
mod show;
mod side_by_side;
mod smoothness;
mod system;

pub use bounds::{Bound, Bounds, Interval, Possible};
pub use columns::{
    ColumnInput, Columns, ColumnsRun, OutputColumn, RowProblem, inputs_of_row, run_columns,
};
pub(crate) use demand::{Demand, operands};
pub(crate) use evaluate::{NoCache, SlotOf, StepCache, evaluate_some, evaluate_these};
pub use evaluate::{Registers, Slot, evaluate};
pub(crate) use exact::PAIR;
pub use exact::{ArithmeticError, Checked, Decimals, Exact, Outcome, shortest};
pub use fault::Fault;
pub use preferred::{Series, series};
pub use run::{
    BrokenLimit, CheckOutcome, ExactRun, ExactSlot, GuardFailure, InputValue, function_at,
    run_exact,
};
pub(crate) use run::{demand_of, inputs_of, limit_relation, run_exact_on};
pub(crate) use show::{SHORT, show_compared, show_slot};
pub use show::{show, show_in, show_towards};
pub(crate) use side_by_side::{cores, side_by_side};
pub(crate) use smoothness::corner_levels;
pub use system::{Dissection, Integrand, System, Zero};
