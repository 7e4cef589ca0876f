//! Labels and headings that carry a unit, in the ways the trade writes them.

/// A label taken apart.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Label {
    /// The name, or the words, before the unit.
    pub name: String,
    /// The unit, if the label carries one.
    pub unit: Option<String>,
}

/// Takes a label apart: `n / (r/min)`, `n / s`, `n in r/min`, `n [r/min]`, `n (r/min)`.
///
/// The first is the way of ISO 80000-1, 7.1.4, for headings of tables; the others are common practice,
/// no source.
///
/// # Example
/// ```
/// use standstill::workbook::label;
/// for text in ["n_0 / (r/min)", "n_0/(r/min)", "n_0 in r/min", "n_0 [r/min]", "n_0 (r/min)"] {
///     let found = label(text);
///     assert_eq!((found.name.as_str(), found.unit.as_deref()), ("n_0", Some("r/min")));
/// }
/// assert_eq!(label("speed").unit, None);
/// ```
#[must_use]
pub fn label(text: &str) -> Label {
    let text = text.trim().trim_end_matches(':').trim_end();
    for (open, close) in [('[', ']'), ('(', ')')] {
        if let Some(inside) = text.strip_suffix(close) {
            let at = matching(inside, open, close);
            if let Some((name, unit)) =
                at.and_then(|at| Some((inside.get(..at)?, inside.get(at + 1..)?)))
            {
                let name = name.trim_end().trim_end_matches('/').trim_end();
                if !name.is_empty() && !unit.trim().is_empty() {
                    return Label { name: name.to_owned(), unit: Some(unit.trim().to_owned()) };
                }
            }
        }
    }
    for separator in [" in ", " / ", "/"] {
        if let Some((name, unit)) = text.split_once(separator) {
            let (name, unit) = (name.trim(), unit.trim());
            if !name.is_empty() && !unit.is_empty() && !unit.contains(' ') {
                return Label { name: name.to_owned(), unit: Some(unit.to_owned()) };
            }
        }
    }
    Label { name: text.to_owned(), unit: None }
}

/// Where the bracket opens that the end of the text closes.
fn matching(inside: &str, open: char, close: char) -> Option<usize> {
    let mut depth = 0_usize;
    for (at, sign) in inside.char_indices().rev() {
        if sign == close {
            depth += 1;
        } else if sign == open {
            if depth == 0 {
                return Some(at);
            }
            depth -= 1;
        }
    }
    None
}
