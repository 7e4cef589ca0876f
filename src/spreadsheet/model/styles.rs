//! What a cell's style says that matters here: whether it is locked or struck through, and its number format.

use calamine::ExcelDateTimeType;

use super::number_format::clock;

use super::shown;

/// The styles of a workbook, by the number that cells carry.
#[derive(Clone, Debug, Default)]
pub(crate) struct Styles(Vec<Style>);

#[derive(Clone, Debug)]
struct Style {
    locked: bool,
    /// Whether a line goes through its characters, as through what does not count any more.
    struck: bool,
    format: String,
    /// Whether it shows every number as it is, with nothing around it.
    plain: bool,
    clock: Option<ExcelDateTimeType>,
}

impl Styles {
    /// Styles in their order: whether each locks a cell and strikes it through, the number of its format, and that
    /// format.
    pub(crate) fn of(styles: impl Iterator<Item = (bool, bool, u32, String)>) -> Self {
        let styles = styles.map(|(locked, struck, id, format)| {
            let plain = shown::is_plain(&format);
            Style { locked, struck, clock: clock(id, &format), plain, format }
        });
        Self(styles.collect())
    }

    /// Four styles: without a format and as a percentage, then both struck through.
    pub(crate) fn plain_and_percentage() -> Self {
        let style = |struck, format: &str| Style {
            locked: true,
            struck,
            plain: shown::is_plain(format),
            format: format.to_owned(),
            clock: None,
        };
        Self(
            [false, true]
                .into_iter()
                .flat_map(|it| [style(it, "General"), style(it, "0%")])
                .collect(),
        )
    }

    /// Whether a cell of that style is struck through.
    pub(crate) fn struck(&self, style: u32) -> bool {
        self.get(style).is_some_and(|style| style.struck)
    }

    /// Whether a cell of that style is locked once its tab is protected; cells are, unless stated otherwise.
    pub(crate) fn locked(&self, style: u32) -> bool {
        self.get(style).is_none_or(|style| style.locked)
    }

    /// The code of the number format, such as `0.0%`.
    pub(crate) fn format(&self, style: u32) -> &str {
        self.get(style).map_or("General", |style| style.format.as_str())
    }

    /// Whether numbers of that style are shown as they are, with nothing around them.
    pub(crate) fn plain(&self, style: u32) -> bool {
        self.get(style).is_none_or(|style| style.plain)
    }

    /// What a number of that style shows, if it shows a date, a clock time or a duration.
    pub(crate) fn clock(&self, style: u32) -> Option<ExcelDateTimeType> {
        self.get(style)?.clock
    }

    fn get(&self, style: u32) -> Option<&Style> {
        usize::try_from(style).ok().and_then(|at| self.0.get(at))
    }
}

/// Whether a number format shows a hundred times the number: a `%` that is not a text of the format.
///
/// Quoted texts, a character after a backslash, `_` or `*`, and what stands in `[ ]` are texts (ECMA-376 Part 1,
/// 18.8.31, from memory).
pub(crate) fn is_percent(code: &str) -> bool {
    let mut signs = code.chars();
    while let Some(sign) = signs.next() {
        match sign {
            '%' => return true,
            '"' => drop(signs.by_ref().find(|it| *it == '"')),
            '[' => drop(signs.by_ref().find(|it| *it == ']')),
            '\\' | '_' | '*' => drop(signs.next()),
            _ => {}
        }
    }
    false
}

#[cfg(test)]
mod tests {
    use super::is_percent;

    #[test]
    fn only_a_sign_outside_of_texts_is_a_percent_format() {
        for code in ["0%", "0.0 %", "0%;[Red]-0%", "\"about \"0%", "[Blue]0.00%", "0\\x%"] {
            assert!(is_percent(code), "{code}");
        }
        for code in ["0.0\"%\"", "0\\%", "0_%", "0*%", "[$%-409]0", "0\" % \"", "General", "0.0"] {
            assert!(!is_percent(code), "{code}");
        }
    }
}
