//! What convinces a reader: worked steps, formulas, pictures, the page.

mod block;
mod books;
mod client_data;
mod document;
mod files;
mod form;
mod formula;
mod lines;
mod linked;
mod markdown;
mod markup;
mod model;
mod page;
mod picture;
mod plain;
mod product;
mod protocol;
mod reader;
mod tables;
mod value;
mod verdict;
mod width;
mod worst;

/// Whether bytes are a review that was made here, which may be made again in its place.
///
/// # Example
/// ```
/// assert!(!standstill::review::is_a_review(b"somebody's own page"));
/// ```
#[must_use]
pub fn is_a_review(bytes: &[u8]) -> bool {
    let text = String::from_utf8_lossy(bytes);
    text.contains(" by Standstill ") && text.contains(crate::report::DISCLAIMER)
}

pub use document::read;
pub use files::{UsedFile, moment};
pub use form::{FormSheet, form_page};
pub use model::{Calculation, Document, Unreviewed};
pub use page::{MADE, page};
pub use plain::plain;
pub use product::ProductReview;
pub use protocol::protocol_page;
