//! Workbooks of several writers stay what they were but for the cells that were asked to change.

mod files;
mod hostile;
mod random;
mod reading;
mod shapes;
mod tolerances;
mod writing;
