//! One test program; a folder a promise.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing)]

mod command_line;
mod properties;
mod published_values;
mod reference;
mod workbooks;
