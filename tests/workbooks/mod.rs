//! Workbooks of several writers stay what they were but for the cells that were asked to change.

mod apart;
mod binary_names;
mod changes;
mod ends;
mod fed;
mod figures;
pub(crate) mod files;
mod fill;
mod form;
mod formulas;
mod graphs;
mod hostile;
mod hostile_run;
mod killed;
mod legible;
mod meant;
mod mutants;
mod near;
mod noted;
mod one_page;
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
mod remarks;
mod rests;
mod said;
mod seen_apart;
mod shapes;
mod spared;
mod spoken;
mod states;
mod tolerances;
mod views;
mod whole;
mod whole_series;
mod worst_tab;
mod writing;

/// A sheet of the library and inputs of it as a person types them.
pub(crate) fn typed(sheet: &str, all: &[(&str, &str)]) -> (standstill::Sheet, standstill::Inputs) {
    let sheet = standstill::Sheet::library(sheet).unwrap();
    let mut inputs = sheet.inputs();
    for (name, text) in all {
        inputs.write(name, text).unwrap();
    }
    (sheet, inputs)
}

/// A press without a curtain, whose words leave `edition` and `d` out.
pub(crate) const PRESS: &[(&str, &str)] = &[
    ("device", "press"),
    ("t_device", "25 ms"),
    ("t_stop", "310 ms"),
    ("Z", "0 mm"),
    ("C_own", "0 mm"),
];
