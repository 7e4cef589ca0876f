//! What a cell's style says that matters here: whether it is locked, and how it shows what it holds.

use super::number_format::{Sign, clock, signs};
use calamine::ExcelDateTimeType;

use super::look::{Alignment, Look};

use super::position::{Area, Position};
use super::shown;

/// The styles of a workbook, by the number that cells carry.
#[derive(Clone, Debug, Default)]
pub(crate) struct Styles {
    cells: Vec<Style>,
    /// Whether any of them changes what is seen.
    odd: bool,
    /// Those that rules of the workbook lay over the style of a cell.
    rules: Vec<Style>,
}

/// How a cell shows what it holds; what a rule does not say stays as it is.
#[derive(Clone, Debug, Default)]
pub(crate) struct Style {
    pub(crate) unlocked: bool,
    pub(crate) format: Option<Format>,
    pub(crate) look: Look,
    pub(crate) align: Alignment,
    /// Styles that replace this one where a condition holds.
    pub(crate) also: Vec<u32>,
}

/// What a rule of the workbook lays over the style of cells.
#[derive(Clone, Debug)]
pub(crate) struct Rule {
    pub(crate) areas: Vec<Area>,
    pub(crate) over: Style,
    /// Whether it shows a bar or a sign in the place of the value.
    pub(crate) bare: bool,
}

impl Rule {
    /// Whether it changes anything that is seen of a number or a text.
    pub(crate) fn says(&self) -> bool {
        self.bare || self.over.says()
    }

    /// Whether it shows that word, and nothing else, in place of whatever a cell holds.
    pub(crate) fn shows_only(&self, word: &str) -> bool {
        self.over.format.as_ref().is_some_and(|format| {
            let mut parts = format.code.split(';');
            parts.all(|part| part.trim().trim_matches('"') == word)
        })
    }

    pub(crate) fn covers(&self, cell: Position) -> bool {
        self.areas.iter().any(|area| area.contains(cell))
    }
}

/// A number format.
#[derive(Clone, Debug)]
pub(crate) struct Format {
    pub(crate) code: String,
    /// Whether it shows every number and text as it is, with nothing around it.
    pub(crate) plain: bool,
    clock: Option<ExcelDateTimeType>,
}

impl Format {
    /// A format from its code, and from its number where it has one.
    pub(crate) fn of(id: u32, code: impl Into<String>) -> Self {
        let code = code.into();
        Self { plain: shown::is_plain(&code), clock: clock(id, &code), code }
    }
}

impl Style {
    /// Whether it shows every number and text as it is.
    fn plain(&self) -> bool {
        self.format.as_ref().is_none_or(|format| format.plain)
            && self.also.is_empty()
            && self.look.unseen().is_none()
    }

    /// Whether, laid over the style of a cell, it leaves plain what is plain.
    pub(crate) fn plain_over(&self, own: &Look) -> bool {
        self.format.as_ref().is_none_or(|format| format.plain && format.clock.is_none())
            && own.under(&self.look).unseen().is_none()
    }

    /// Whether it says anything of how a number or a text is shown.
    pub(crate) fn says(&self) -> bool {
        self.format.is_some() || self.look != Look::default()
    }

    /// Whether it shows numbers as dates or times.
    pub(crate) fn is_clock(&self) -> bool {
        self.format.as_ref().is_some_and(|format| format.clock.is_some())
    }
}

impl Styles {
    /// Styles in their order: those of cells, and those of rules.
    pub(crate) fn of(cells: Vec<Style>, rules: Vec<Style>) -> Self {
        let odd = cells.iter().any(|style| !style.plain() || style.is_clock());
        Self { cells, odd, rules }
    }

    /// Whether a line goes through what a cell of that style shows.
    pub(crate) fn struck(&self, style: u32) -> bool {
        self.get(style).is_some_and(|style| style.look.struck)
    }

    /// Whether a cell of that style is locked once its tab is protected; cells are, unless stated otherwise.
    pub(crate) fn locked(&self, style: u32) -> bool {
        self.get(style).is_none_or(|style| !style.unlocked)
    }

    /// The code of the number format, such as `0.0%`.
    pub(crate) fn format(&self, style: u32) -> &str {
        let format = self.get(style).and_then(|style| style.format.as_ref());
        format.map_or("General", |format| format.code.as_str())
    }

    /// Whether numbers and texts of that style are shown as they are, with nothing around them.
    pub(crate) fn plain(&self, style: u32) -> bool {
        self.get(style).is_none_or(Style::plain)
    }

    /// Whether no style says anything that changes what is seen.
    pub(crate) fn all_plain(&self) -> bool {
        !self.odd
    }

    /// What a number of that style shows, if it shows a date, a clock time or a duration.
    pub(crate) fn clock(&self, style: u32) -> Option<ExcelDateTimeType> {
        self.get(style)?.format.as_ref()?.clock
    }

    /// What a rule of an .xlsx lays over cells, by its number.
    pub(crate) fn laid_over(&self, number: Option<u32>) -> Style {
        let at = number.and_then(|number| usize::try_from(number).ok());
        at.and_then(|at| self.rules.get(at)).cloned().unwrap_or_default()
    }

    pub(crate) fn get(&self, style: u32) -> Option<&Style> {
        usize::try_from(style).ok().and_then(|at| self.cells.get(at))
    }
}

/// Whether a number format shows a hundred times the number: a `%` that is not a text of the format.
pub(crate) fn is_percent(code: &str) -> bool {
    signs(code).any(|sign| sign == Sign::Plain('%'))
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
