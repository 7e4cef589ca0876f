//! Remarks that no rule understands: a figure, a ratio, a number in words or a word of leaving out that stands beside a value
//! and may speak of it. Whoever means nothing of the value writes it below a heading that says so: `remark`.
//!
//! What is understood is listed here, not what is not: another word is refused, and never passed over.

use super::change::{Part, is_of_thing, parts};
use super::figures::{Figure, comes_to, speaks_apart};
use super::flywheels::{is_of_inertia, names_flywheel};
use super::reckoned::{Reckoned, is_rounded, number};
use super::said::{About, Said};
use super::unit_words::{FEW, near, unit_said};
use super::which_end::ENDS;
use super::words::{
    Clause, LEAVING_OUT, NUMBERS, WITHIN, bears_figure, clauses, is_made, is_number_word, is_taken,
    leaves_out, words,
};
use crate::calculation::{has_tolerance, is_tolerance};
use crate::program::Type;
use crate::unit::{Dimension, is_unit};

/// Words before a number that names a thing; common practice, no source.
const NAMING: &[&str] = &[
    "page", "pages", "p", "pp", "drawing", "drg", "dwg", "no", "nr", "number", "item", "pos",
    "position", "fig", "figure", "table", "line", "row", "section", "clause", "chapter", "part",
    "sheet", "rev", "revision", "version", "issue", "edition", "type", "model", "order", "serial",
    "machine", "press", "axis", "hall", "customer", "note", "step", "day", "week", "din", "iso",
    "en", "iec", "vdi", "ansi", "seite", "blatt", "zeichnung", "tabelle", "bild", "auftrag",
    "kunde", "maschine",
];

/// Behind `per`, besides [`NAMING`]; a number behind them would be another value.
const SOURCES: &[&str] = &[
    "data", "datasheet", "catalogue", "catalog", "manual", "maker", "supplier", "mail", "plate",
    "nameplate", "standard", "norm",
];

/// What happens again and again, and what runs at a part of it: `twice a year`, `at half load`.
const AGAIN: &[&str] = &[
    "year", "month", "week", "day", "hour", "shift", "stop", "start", "cycle", "test", "h", "min",
    "load", "speed", "jahr", "monat", "woche", "tag", "stunde", "schicht",
];

/// What is done to a value so many times, and leaves it as it is.
const MEASURED: &[&str] = &["measured", "repeated", "gemessen", "wiederholt"];

/// What a figure among words is.
enum Found {
    /// Of the value, or of another thing; whether a unit stands with it.
    Clear(bool),
    Unclear,
}

impl About<'_> {
    /// What is said of a remark that may speak of the value and that nothing understands.
    pub(in crate::workbook) fn unclear(&self, text: &str) -> Option<Said> {
        let text = text.trim();
        // a number alone is told where what stands around a row is
        let digits = text.trim_start_matches(['+', '-', '−']);
        let alone = digits.chars().all(|it| it.is_ascii_digit() || " \u{a0}.,'".contains(it))
            && ['.', ','].iter().all(|it| digits.matches(*it).count() < 2);
        if alone || !bears_figure(text) || self.is_known(text) {
            return None;
        }
        let clear = self.figure(|figure| {
            let figures = text.contains(|it: char| it.is_ascii_digit());
            let all = || clauses(text).flat_map(|it| parts(it.text, figure.of)).collect::<Vec<_>>();
            let known = figures && (is_made(text, WITHIN) || is_taken(text))
                || figure.of.held.is_some_and(|held| comes_to(all().iter(), held, figure.of));
            known || clauses(text).all(|clause| is_clear(&clause, figure))
        })?;
        (!clear).then(|| Said::error(self.not_understood(text)))
    }

    /// Whether a text of a row bears an amount of the kind of the value, and whether one of these is the value.
    pub(in crate::workbook) fn amount_said(&self, text: &str) -> Option<bool> {
        let of = self.changed()?;
        let all: Vec<Part> = clauses(text).flat_map(|it| parts(it.text, of)).collect();
        if !all.iter().any(|it| matches!(it, Part::Amount(_))) {
            return None;
        }
        let own = of.held.is_none_or(|held| {
            let amount = |it: &Part| matches!(it, Part::Amount(it) if near(it.abs(), held.abs()));
            all.iter().any(amount) || comes_to(all.iter(), held, of)
        });
        let apart = self.figure(|it| clauses(text).all(|at| speaks_apart(&at.words, it)))?;
        (!apart).then(|| own || self.is_known(text))
    }

    /// Whether another rule has read a text to its end.
    fn is_known(&self, text: &str) -> bool {
        // so a form heads the values of a series
        let series = matches!(self.input.type_, Type::Number { series: true, .. });
        let nth = text.strip_prefix("value ").filter(|_| series);
        nth.is_some_and(|it| it.chars().all(|it| it.is_ascii_digit()))
            || self.reckoned(text, false) == Reckoned::Result
            || is_tolerance(text)
            || has_tolerance(text)
            || is_of_inertia(self.input) && names_flywheel(text)
            || self.is_read(text)
    }

    pub(in crate::workbook) fn not_understood(&self, text: &str) -> (String, String) {
        let name = &self.input.name;
        (
            format!(
                "\"{text}\" stands beside `{name}`, may speak of its value, and is not understood"
            ),
            format!(
                "if it speaks of `{name}`, correct the value and take it out; if it says nothing of the value, move it into a column headed `remark`"
            ),
        )
    }
}

/// Whether words of a row leave something out, or make another number of its values, and bear no figure.
pub(in crate::workbook) fn is_unclear_of_row(text: &str) -> bool {
    let figures = text.contains(|it: char| it.is_ascii_digit());
    let said = words(text);
    let number = said.iter().enumerate().any(|(at, word)| {
        let next = said.get(at + 1).map_or("", String::as_str);
        let counted = NUMBERS.iter().any(|it| it.0 == word) && next.chars().count() > 2;
        is_number_word(word)
            && !counted
            && ![NAMING, SOURCES].iter().any(|all| all.contains(&next))
            && !said.iter().any(|it| AGAIN.contains(&it.trim_end_matches('s')))
    });
    !figures && (number || leaves_out(text))
}

/// Whether a clause says nothing of the value that is not understood.
fn is_clear(clause: &Clause<'_>, figure: Figure<'_>) -> bool {
    let text = clause.text.replace("...", "…").replace('=', " = ").replace(" … ", "…");
    let raw: Vec<&str> = text.split_whitespace().collect();
    let figures = raw.iter().any(|it| it.contains(|it: char| it.is_ascii_digit()));
    // of lengths there are many about a part, and those that are the value's have rules of their own
    let length = Dimension::of(1, 0, 0, 0, 0, 0);
    if figures && figure.of.kind.dimension.without_angle() == length {
        return true;
    }
    if figures && speaks_apart(&clause.words, figure) {
        return true;
    }
    // `22 × 40`, `M22 × 1.5`: a size, or a product that is reckoned and held against the value by rules of its own
    let times = |it: &&str| ["×", "x", "X", "*", "·"].contains(it);
    let digits = |it: &&str| it.contains(|it: char| it.is_ascii_digit());
    if raw.windows(3).any(|it| matches!(it, [a, by, b] if digits(a) && times(by) && digits(b))) {
        return true;
    }
    let mut measured = false;
    let mut at = 0;
    while let Some(word) = raw.get(at) {
        let before = at.checked_sub(1).and_then(|at| raw.get(at)).copied().unwrap_or_default();
        let behind = raw.get(at + 1..).unwrap_or_default();
        at += 1;
        let bare = word.trim_start_matches(['(', '[', '"', '\'', '~', '≈', '<', '>', '≤', '≥']);
        let digits = bare.trim_start_matches(['+', '-', '−', '–', '±']);
        if digits.starts_with(|it: char| it.is_ascii_digit()) {
            let (found, taken) = read(digits, before, behind, figure);
            at += taken;
            match found {
                Found::Clear(unit) => measured |= unit,
                Found::Unclear => return false,
            }
        } else if bare.contains(|it: char| it.is_ascii_digit()) {
            // `M8`, `IP54` name a thing, and `x2`, `/4` make another number of one
            let letters = bare.trim_start_matches(|it: char| it.is_alphabetic() || it == '_');
            let version = bare.matches('.').count() > 1;
            let named = letters.len() < bare.len() && (version || !bare.starts_with(['x', 'X']));
            if !named && !bare.starts_with(['Ø', 'ø', '⌀']) {
                return false;
            }
        }
    }
    let words = &clause.words;
    let counted = words.iter().enumerate().all(|(at, word)| {
        let near = |by: usize| words.get(at + by).map_or("", String::as_str);
        let again = || (1..=2).any(|by| AGAIN.contains(&near(by).trim_end_matches('s')));
        let named = || {
            let known = |it| [NAMING, SOURCES].iter().any(|all| all.contains(&it));
            word == "per" && known(near(1))
        };
        let noun = || {
            NUMBERS.iter().any(|it| it.0 == word)
                && near(1).chars().count() > 2
                && !is_number_word(near(1))
        };
        let of_several = || {
            let before = |by: usize| at.checked_sub(by).and_then(|at| words.get(at));
            let end = before(2).map_or("", String::as_str);
            before(1).is_some_and(|it| it == "of") && ENDS.iter().any(|all| all.contains(&end))
        };
        // `3 mal gemessen`
        let repeated = || MEASURED.iter().any(|it| words.iter().any(|word| word == it));
        !is_number_word(word) || again() || named() || noun() || of_several() || repeated()
    });
    counted && (measured || !words.iter().any(|it| LEAVING_OUT.contains(&it.as_str())))
}

/// What a figure is, and how many of the words behind it belong to it.
fn read(text: &str, before: &str, behind: &[&str], figure: Figure<'_>) -> (Found, usize) {
    let ends = |text: &str| {
        text.trim_end_matches([',', '.', ';', ':', '!', '?', ')', ']', '"', '\'']).to_owned()
    };
    let clear = |is: bool, unit| if is { Found::Clear(unit) } else { Found::Unclear };
    let text = ends(text);
    let (Some(value), taken) = number(&text) else { return (Found::Unclear, 0) };
    let mut rest = text.get(taken..).unwrap_or_default();
    let mut end = value;
    if let Some(range) = rest.strip_prefix('…') {
        let range = range.trim_start_matches(['+', '-', '−', '–']);
        let (Some(value), taken) = number(range) else { return (Found::Unclear, 0) };
        (end, rest) = (value, range.get(taken..).unwrap_or_default());
    }
    let of = figure.of;
    let held = of.held.unwrap_or(f64::NAN);
    let size = of.unit.map_or(1.0, |it| it.factor.as_f64());
    let is_held =
        |it: f64| near(it.abs(), held.abs()) || is_rounded(it.abs() / size, held.abs() / size);
    let name = before.trim_matches(|it: char| !it.is_alphanumeric()).to_lowercase();
    // `S.NO. 4`
    let name = name.rsplit('.').next().unwrap_or_default().to_owned();
    let named = NAMING.contains(&name.as_str());
    // with its unit, glued to it or in the words behind it
    let units = (1..=behind.len().min(FEW)).rev().filter(|_| rest.is_empty());
    let units =
        units.map(|count| (ends(&behind.get(..count).unwrap_or_default().join(" ")), count));
    for (unit, count) in units.chain([(rest.to_owned(), 0)]) {
        if unit.is_empty() {
            continue;
        }
        if matches!(unit.as_str(), "%" | "percent" | "pct") {
            let after = behind.get(count..).unwrap_or_default().join(" ");
            // `75 % of 24 V` is of the figure behind it, which is looked at by itself
            let of_figure = after.strip_prefix("of ");
            if of_figure.is_some_and(|it| it.starts_with(|it: char| it.is_ascii_digit())) {
                return (Found::Clear(true), count);
            }
            let of_it = of.kind.dimension.is_none() && is_held(value / 100.0);
            let thing = is_of_thing(of.kind, &after) || is_of_thing(of.kind, &name);
            return (clear(of_it || thing, true), count);
        }
        if let Some(unit) = unit_said(of.kind, &unit).filter(|it| !it.symbol.is_empty()) {
            let size = unit.factor.as_f64();
            let spanned = end != value && (value * size..=end * size).contains(&held);
            // what is nearer is held against the value by a rule of its own, and what is far off is of another thing
            let times = (value * size / held).abs();
            let told = (0.02..=50.0).contains(&times) || !(0.001..=1000.0).contains(&times);
            return (clear(is_held(value * size) || spanned || told, true), count);
        }
        let is_word = matches!(unit.as_str(), "in" | "a" | "at" | "of" | "on");
        let rate = unit.starts_with('/') && is_unit(&format!("1{unit}"));
        if !is_word && (is_unit(&unit) || rate) {
            return (Found::Clear(true), count);
        }
    }
    let whole = text.chars().all(|it| it.is_ascii_digit());
    if rest.is_empty() && (is_held(value * size) || whole && is_year(value)) {
        return (Found::Clear(false), 0);
    }
    // `5:1` of a ratio
    if let Some(under) = rest.strip_prefix(':').filter(|_| of.kind.name == "ratio") {
        let same = number(under).0.is_some_and(|it| it > 0.0 && is_held(value / it));
        return (clear(same, false), 0);
    }
    let separators = text.matches(['.', '-', '/']).count();
    // `3 of 22 brakes`
    let share = whole
        && match behind {
            ["of", all, thing, ..] => {
                all.chars().all(|it| it.is_ascii_digit()) && thing.starts_with(char::is_alphabetic)
            }
            _ => false,
        };
    // `2.1.3` counts parts of a paper or a program
    let version = text.matches('.').count() > 1;
    let dated = separators == 2 && text.chars().all(|it| it.is_ascii_digit() || "./-".contains(it));
    // `2 rollers` are counted
    let noun = behind.first().is_some_and(|it| {
        // `120 stops/h`
        let it = it.split('/').next().unwrap_or_default();
        let word = it.trim_matches(|it: char| !it.is_alphanumeric()).to_lowercase();
        word.chars().count() > 2
            && word.chars().all(char::is_alphabetic)
            && !is_number_word(&word)
            && !LEAVING_OUT.contains(&word.as_str())
    });
    let is_done = |it: &&str| MEASURED.contains(&it.to_lowercase().as_str());
    let counted = whole && rest.is_empty() && (noun || behind.iter().any(is_done));
    let letters = rest.starts_with(char::is_alphabetic) && !rest.starts_with(['x', 'X', 'e', 'E']);
    let of_kind = unit_said(of.kind, before).is_some_and(|it| is_held(value * it.factor.as_f64()));
    (clear(named || dated || share || version || counted || letters || of_kind, false), 0)
}

/// 1900 to 2100.
fn is_year(value: f64) -> bool {
    (1900.0..=2100.0).contains(&value)
}
