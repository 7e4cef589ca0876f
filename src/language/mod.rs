//! Text to tree.

mod tree;

pub use tree::{
    Body, Bound, Check, Definition, Expression, Give, Node, Outside, Rounding, Search, Shape, Sign,
    Span, Spanned, TableTree, Take, Tree, Use, Word,
};
