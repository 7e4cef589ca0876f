//! Laws that hold for random values.

mod units;
