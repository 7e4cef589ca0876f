//! Laws that hold for any values.

mod units;
