//! What a person sees in a cell: the one place that decides it, for every kind of file.
//!
//! A cell has a format of its own, and rules of the workbook may lay others over it. Each of them is a view; what is
//! read from a cell or written into it must mean the same in all of them.

use std::borrow::Cow;

use super::book::{Entry, Tab};
use super::look::{Alignment, Look, WHITE};
use super::position::{Area, Areas, Position};
use super::shown::{Shown, shown, shown_text};
use super::styles::{Style, is_percent};

/// A way in which a cell may show what it holds.
#[derive(Clone, Debug)]
pub(crate) struct View<'a> {
    code: &'a str,
    look: Cow<'a, Look>,
    bare: bool,
    /// Whether it shows a date or a time.
    pub(crate) clock: bool,
    /// Whether a rule of the workbook makes it, and not the cell's own format.
    pub(crate) by_rule: bool,
}

impl View<'_> {
    /// What is seen of a number.
    pub(crate) fn number(&self, number: f64) -> Shown {
        shown(self.code, number)
    }

    /// What is seen of a text.
    pub(crate) fn text(&self) -> Shown {
        shown_text(self.code)
    }

    /// Why what is shown in that way cannot be read, if it cannot.
    pub(crate) fn unseen(&self, shown: &Shown) -> Option<&'static str> {
        if self.bare {
            return Some("replaced by a bar or a sign");
        }
        let white = Look { ink: Some(WHITE), ..Look::default() };
        let look = if shown.white {
            Cow::Owned(self.look.under(&white))
        } else {
            Cow::Borrowed(&*self.look)
        };
        look.unseen()
    }

    /// Whether it shows a percentage.
    pub(crate) fn is_percent(&self) -> bool {
        is_percent(self.code)
    }
}

impl Tab {
    /// Whether a rule shows some word in place of whatever a cell holds.
    pub(crate) fn has_rule_showing(&self, word: &str) -> bool {
        self.rules.iter().any(|rule| rule.shows_only(word))
    }

    /// Takes such rules out of this copy of the tab.
    pub(crate) fn drop_rules_showing(&mut self, word: &str) {
        self.rules = self.rules.iter().filter(|rule| !rule.shows_only(word)).cloned().collect();
    }

    /// Every way in which a cell may show what it holds, its own first.
    pub(crate) fn views(&self, cell: Position) -> Vec<View<'_>> {
        static NONE: Style = Style {
            unlocked: false,
            format: None,
            look: Look::NONE,
            align: Alignment::NONE,
            also: Vec::new(),
        };
        let own = self.styles.get(self.style(cell)).unwrap_or(&NONE);
        let own_code = own.format.as_ref().map_or("General", |format| format.code.as_str());
        let mut views = vec![View {
            code: own_code,
            look: Cow::Borrowed(&own.look),
            bare: false,
            clock: own.is_clock(),
            by_rule: false,
        }];
        let replaced = own.also.iter().filter_map(|style| self.styles.get(*style));
        let replaced = replaced.map(|style| (style, false));
        let rules = self.rules.iter().filter(|rule| rule.covers(cell));
        for (over, bare) in replaced.chain(rules.map(|rule| (&rule.over, rule.bare))) {
            views.push(View {
                code: over.format.as_ref().map_or(own_code, |format| format.code.as_str()),
                look: Cow::Owned(own.look.under(&over.look)),
                bare,
                clock: if over.format.is_some() { over.is_clock() } else { own.is_clock() },
                by_rule: true,
            });
        }
        views
    }

    /// Whether the cell shows numbers and texts as they are, with nothing around them, whatever rule holds.
    pub(crate) fn shows_plainly(&self, cell: Position) -> bool {
        self.style_shows_plainly(self.style(cell), cell)
    }

    /// Whether the cell shows numbers as they are, as many digits of them as fit.
    pub(crate) fn shows_general(&self, cell: Position) -> bool {
        let style = self.style(cell);
        self.style_shows_plainly(style, cell) && self.styles.format(style) == "General"
    }

    fn style_shows_plainly(&self, style: u32, cell: Position) -> bool {
        let plain = self.styles.plain(style) && self.styles.clock(style).is_none();
        plain && (self.rules.is_empty() || self.ruled_plainly(style, cell))
    }

    fn ruled_plainly(&self, style: u32, cell: Position) -> bool {
        let own = self.styles.get(style).map_or(&Look::NONE, |style| &style.look);
        let mut rules = self.rules.iter().filter(|rule| rule.covers(cell));
        rules.all(|rule| !rule.bare && rule.over.plain_over(own))
    }

    /// Whether every cell of the tab shows what it holds as it is: nothing needs to be asked then.
    pub(crate) fn all_plain(&self) -> bool {
        self.rules.is_empty() && self.styles.all_plain()
    }
}

/// Takes what merged areas cover out of sight: of such an area only the first cell shows anything.
pub(crate) fn cover(entries: &mut [Entry], merged: &[Area]) {
    if merged.is_empty() {
        return;
    }
    let areas = Areas::new(merged.iter().map(|area| (*area, 0)).collect());
    for entry in entries.iter_mut().filter(|entry| !entry.cell.is_empty()) {
        if areas.at(entry.position).is_some_and(|(area, _)| area.first != entry.position) {
            entry.cover();
        }
    }
}
