//! The program as a person at a terminal meets it.

mod worst_and_design;
