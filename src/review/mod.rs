//! What convinces a reader: worked steps, formulas, plots, the page.

pub mod steps;
