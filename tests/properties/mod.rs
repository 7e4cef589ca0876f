//! Laws that hold for random values.
