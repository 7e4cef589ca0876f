//! What convinces a reader: worked steps, formulas, pictures, the page.

mod block;
mod books;
mod carried;
mod document;
mod files;
mod formula;
mod lines;
mod markdown;
mod markup;
mod page;
mod picture;
mod plain;
mod product;
mod reader;
pub mod steps;
mod tables;
mod taken;
mod value;
mod verdict;
mod width;
mod worst;

pub use document::{Calculation, Document, Unreviewed, read};
pub use files::{UsedFile, moment};
pub use page::{MADE, page};
pub use plain::plain;
pub use product::ProductReview;
