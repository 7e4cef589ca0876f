//! Workbooks of several writers stay what they were but for the cells that were asked to change.

mod binary_names;
mod files;
mod fill;
mod form;
mod formulas;
mod hostile;
mod hostile_run;
mod killed;
mod mutants;
mod order;
mod random;
mod range;
mod range_command;
mod range_kinds;
mod range_passing;
mod range_rows;
mod range_worst;
mod reading;
mod recalculate;
mod shapes;
mod states;
mod tolerances;
mod whole;
mod whole_series;
mod worst_tab;
mod writing;
