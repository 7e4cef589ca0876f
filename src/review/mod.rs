//! What convinces a reader: worked steps, formulas, pictures, the page.

mod block;
mod books;
mod client_data;
mod document;
mod fences;
mod files;
mod form;
mod formula;
mod images;
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
mod revision;
mod symbols;
mod tables;
mod value;
mod verdict;
mod width;
mod worst;

pub use document::{read, way_back};
pub use files::{UsedFile, is_as_made, moment};
pub use form::{FormSheet, form_page};
pub use model::{Calculation, Document, Unreviewed};
pub use page::{MADE, page};
pub use plain::plain;
pub use product::ProductReview;
pub use protocol::protocol_page;
pub use revision::stated as revisions;
