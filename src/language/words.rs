//! The words of the language, one table.

/// Words that cannot be names, because a reader would stumble over them.
pub const RESERVED: &[&str] = &[
    "sheet", "title", "source", "caution", "uses", "takes", "works", "holds", "gives", "with",
    "but", "in", "as", "from", "to", "above", "below", "like", "at", "least", "series", "of",
    "one", "is", "and", "or", "not", "when", "otherwise", "never", "meant", "rounded", "up",
    "down", "next", "nearest", "root", "integral", "running", "where", "for", "table", "straight",
    "stepped", "else", "set", "steps",
];

/// Words that begin a line of the header.
pub(crate) const HEADER: &[&str] =
    &["sheet", "group", "title", "version", "date", "words", "source", "caution"];

/// Built-in constants.
pub const CONSTANTS: &[&str] = &["pi", "g_n"];

/// Built-in functions.
pub const FUNCTIONS: &[&str] = &[
    "sqrt", "cbrt", "exp", "ln", "log10", "sin", "cos", "tan", "asin", "acos", "atan", "abs",
    "sign", "min", "max", "sum", "product", "mean", "stdev", "count", "first", "last",
];

/// Whether a word is one of the language's own.
#[must_use]
pub fn is_reserved(word: &str) -> bool {
    RESERVED.contains(&word)
}

/// Whether a word names a built-in constant or function.
#[must_use]
pub fn is_built_in(word: &str) -> bool {
    CONSTANTS.contains(&word) || FUNCTIONS.contains(&word)
}
