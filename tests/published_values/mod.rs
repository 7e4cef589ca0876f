//! Values that somebody else has printed, a file a source.

mod unit_factors;
