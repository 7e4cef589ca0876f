//! One test program; a folder a promise.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing)]

mod properties;
mod published_values;
mod reference;
mod review;
mod workbooks;
