//! One test program; a folder a promise.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::disallowed_methods
)]

mod command_line;
mod language;
mod properties;
mod published_values;
mod readme;
mod reference;
mod review;
mod workbooks;
