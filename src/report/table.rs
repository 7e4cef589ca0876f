//! Rows set out in columns, as every renderer takes them.

/// A heading with rows below it.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Table {
    /// What the rows are.
    pub title: String,
    /// The columns.
    pub columns: &'static [Column],
    /// Whether plain text shows the heads of the columns too.
    pub headed: bool,
    /// A cell a column; what has no column is not shown.
    pub rows: Vec<Vec<String>>,
    /// Sentences below the rows.
    pub notes: Vec<String>,
}

/// A column of a table.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Column {
    /// What stands in it.
    pub head: &'static str,
    /// Whether it holds figures, which stand to the right.
    pub figures: bool,
}

impl Column {
    /// A column of words.
    pub(crate) const fn words(head: &'static str) -> Self {
        Self { head, figures: false }
    }

    /// A column of figures.
    pub(crate) const fn figures(head: &'static str) -> Self {
        Self { head, figures: true }
    }
}
