//! Workbooks of several writers stay what they were but for the cells that were asked to change.

mod files;
mod fill;
mod form;
mod formulas;
mod hostile;
mod random;
mod reading;
mod recalculate;
mod shapes;
mod writing;
