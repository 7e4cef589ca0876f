//! Text to tree: the sheet language.
//!
//! The layout cuts the text into entries by their indentation, each entry is read by itself, and a
//! line that does not read leaves the others as they are. [`print()`] is the way back.

mod comma;
mod entry;
mod expression;
mod input_literal;
mod layout;
mod no_blank;
mod parse;
mod parts;
mod print;
mod relation;
mod scan;
mod tidy;
mod tree;
mod used;
mod words;

pub(crate) use layout::{block_word, block_words, one_line, without_comment};
pub(crate) use no_blank::product;
pub use parse::parse;
pub use print::print;
pub(crate) use print::print_expression;
pub use relation::{Between, Direction, Preferred, Relation};
pub(crate) use scan::is_sheet_name;
pub use tidy::tidy;
pub(crate) use tree::next;
pub use tree::{
    Body, Bound, Check, Course, Definition, Expression, Give, Group, InputLiteral, Node, Outside,
    Reach, Rounding, Search, Setting, Shape, Sign, Span, Spanned, Standing, TableTree, Take,
    Tolerance, Tree, Use, Whose, Word,
};
pub(crate) use words::HEADER;
pub use words::{CONSTANTS, FUNCTIONS, RESERVED, is_built_in, is_reserved};
