//! What may follow where the cursor stands.

use std::ops::Range;

use lsp_types::{CompletionItem, CompletionItemKind as Sort, CompletionTextEdit, TextEdit};

use super::documents::{Document, Documents};
use super::position::range;
use crate::diagnostic::Place;
use crate::language::{
    self, CONSTANTS, FUNCTIONS, Shape, Use, Whose, Word, block_word, without_comment,
};
use crate::program::Type;
use crate::unit::{self, KINDS, Kind};

/// What may be written.
struct Offer {
    label: String,
    sort: Sort,
    about: String,
}

impl Offer {
    fn new(label: impl Into<String>, sort: Sort, about: impl Into<String>) -> Self {
        Self { label: label.into(), sort, about: about.into() }
    }
}

/// The entry in which the cursor stands, up to it.
struct Before<'a> {
    /// The block's word; empty for the header.
    block: &'static str,
    /// From the beginning of the entry to the word that is being written.
    text: &'a str,
    /// The word that is being written.
    word: Range<usize>,
}

impl Documents<'_> {
    /// What may be written at a byte.
    pub(super) fn complete(&self, document: &Document, offset: usize) -> Vec<CompletionItem> {
        let text = document.text();
        let Some(before) = before(text, offset) else { return Vec::new() };
        let (from, offers) = match before.block {
            "" => (before.word.start, header()),
            "takes" | "uses" if wants_a_group(before.text) => {
                let names = self.project().groups(&Place::text(&document.source, 0..0)).into_iter();
                let offer = |name| Offer::new(name, Sort::MODULE, "a group of inputs");
                (before.word.start, names.map(offer).collect())
            }
            "uses" => (before.word.start, self.uses(document, before.text)),
            "takes" => takes(document, &before),
            "gives" if before.text.ends_with('.') => self.results(document, &before),
            "gives" => (
                unit_start(text, &before),
                gives(document, without_unit(text, &before, before.text)),
            ),
            _ => self.formula(document, &before),
        };
        let range = range(text, &(from..before.word.end));
        let items = offers.into_iter().enumerate().map(|(at, offer)| CompletionItem {
            kind: Some(offer.sort),
            detail: (!offer.about.is_empty()).then_some(offer.about),
            sort_text: Some(format!("{at:04}")),
            text_edit: Some(CompletionTextEdit::Edit(TextEdit::new(range, offer.label.clone()))),
            label: offer.label,
            ..CompletionItem::default()
        });
        items.collect()
    }

    /// `alias = sheet with input = value, …`
    fn uses(&self, document: &Document, text: &str) -> Vec<Offer> {
        // a line of a course is a used sheet
        let text = match text.split_once('\n') {
            Some((first, _)) if first.contains("course of") => {
                text.lines().rfind(|line| line.contains('=')).unwrap_or(text)
            }
            _ => text,
        };
        let Some((_, after)) = text.split_once('=') else { return Vec::new() };
        let Some((sheet, arguments)) = split_at_with(after) else {
            let whose = after.trim();
            if !matches!(whose, "" | "own" | "library") {
                return vec![Offer::new("with", Sort::KEYWORD, "what is handed over")];
            }
            let names = self.sheets(document);
            return names.into_iter().map(|name| Offer::new(name, Sort::MODULE, "")).collect();
        };
        if arguments.rsplit(',').next().is_some_and(|last| last.contains('=')) {
            return names(document);
        }
        let Some(line) = as_use(text, sheet) else { return Vec::new() };
        let Some(source) = self.sheet_of(document, &line) else { return Vec::new() };
        let tree = self.tree(&source);
        let handed = |name: &str| {
            arguments.split(',').any(|it| it.split('=').next().is_some_and(|it| it.trim() == name))
        };
        let groups = tree.groups.iter().map(|group| &group.handle().value);
        let groups = groups.filter(|name| !handed(name));
        let takes = tree.takes.iter().filter(|take| !handed(&take.name.value));
        let takes = takes.map(|take| Offer::new(&take.name.value, Sort::FIELD, about_take(take)));
        groups.map(|it| Offer::new(it, Sort::MODULE, "a group of inputs")).chain(takes).collect()
    }

    /// The results of a used sheet, or the values and lines of a course, behind its alias and a point.
    fn results(&self, document: &Document, before: &Before<'_>) -> (usize, Vec<Offer>) {
        let alias = before.text.trim_end_matches('.');
        let start = alias.rfind(|sign| !is_of_name(sign) && sign != '.').map_or(0, |at| at + 1);
        let alias = alias.get(start..).unwrap_or_default();
        if let Some(course) = document.tree.courses.iter().find(|it| it.alias.value == alias) {
            let values = course.values.iter().map(|it| Offer::new(it, Sort::FIELD, "at its end"));
            let lines = course.lines.iter();
            let lines = lines.map(|it| Offer::new(&it.alias.value, Sort::MODULE, &it.sheet.value));
            return (before.word.start, values.chain(lines).collect());
        }
        let source = document.used(alias).and_then(|line| self.sheet_of(document, line));
        let Some(source) = source else { return (before.word.start, Vec::new()) };
        let tree = self.tree(&source);
        let gives = tree.gives.iter().map(|give| {
            let unit = give.unit.as_ref().map(|it| format!("in {}", it.value)).unwrap_or_default();
            let name = document.tree.short_of(alias, &give.name.value);
            Offer::new(name, Sort::FIELD, format!("{unit} {}", give.note).trim())
        });
        (before.word.start, gives.collect())
    }

    /// A formula of works or holds.
    fn formula(&self, document: &Document, before: &Before<'_>) -> (usize, Vec<Offer>) {
        let text = document.text();
        if before.text.ends_with('.') {
            return self.results(document, before);
        }
        if is_after_number(text, before) {
            return (unit_start(text, before), units_of(None));
        }
        if before.block == "works"
            && let Some((_, kind)) = before.text.split_once(':')
            && !before.text.contains(['=', '('])
        {
            return (before.word.start - kind.trim_start().len(), kinds());
        }
        let mut offers = names(document);
        offers.extend(FUNCTIONS.iter().map(|it| Offer::new(*it, Sort::FUNCTION, "built in")));
        offers.extend(CONSTANTS.iter().map(|it| Offer::new(*it, Sort::CONSTANT, "built in")));
        (before.word.start, offers)
    }
}

/// `name : kind in unit …`
fn takes(document: &Document, before: &Before<'_>) -> (usize, Vec<Offer>) {
    let nothing = (before.word.start, Vec::new());
    let group = || {
        [
            Offer::new("group", Sort::KEYWORD, "inputs that are taken together"),
            Offer::new("state", Sort::KEYWORD, "inputs that are given back"),
        ]
    };
    let Some((_, after)) = before.text.split_once(':') else {
        return if before.text.is_empty() { (before.word.start, group().into()) } else { nothing };
    };
    let said = after.trim_start();
    let said = said.strip_prefix("series of ").unwrap_or(said);
    let typed = document.text().get(before.word.clone()).unwrap_or_default();
    let begun = |kind: &Kind| kind.name.starts_with(&format!("{said}{typed}"));
    if KINDS.iter().any(begun) {
        let mut offers = kinds();
        offers.push(Offer::new("series of", Sort::KEYWORD, "many values of a kind"));
        offers.extend(group());
        offers.push(Offer::new("one of", Sort::KEYWORD, "a choice between words"));
        return (before.word.start - said.len(), offers);
    }
    // the longest name that it begins with: `speed of rotation` before `speed`
    let of = KINDS.iter().filter(|kind| said.starts_with(kind.name)).max_by_key(|it| it.name.len());
    let last = without_unit(document.text(), before, after);
    let last = last.split_whitespace().next_back().unwrap_or_default();
    if last == "in" || is_after_number(document.text(), before) {
        return (unit_start(document.text(), before), units_of(of));
    }
    if matches!(last, "from" | "above" | "to" | "below") {
        return (before.word.start, names(document));
    }
    let words = ["in", "=", "like", "from", "above", "to", "below", "at least"];
    let mut offers = names(document);
    offers.extend(words.map(|word| Offer::new(word, Sort::KEYWORD, "")));
    (before.word.start, offers)
}

fn gives(document: &Document, text: &str) -> Vec<Offer> {
    let entry = text.rsplit(',').next().unwrap_or_default();
    let mut words = entry.split_whitespace();
    let (Some(name), Some("in")) = (words.next(), words.next_back()) else {
        return match entry.trim() {
            "" => names(document),
            _ => vec![
                Offer::new("in", Sort::KEYWORD, "the unit"),
                Offer::new("as", Sort::KEYWORD, "the name under which it is given"),
                Offer::new("rounded", Sort::KEYWORD, "up to, down to, to a step"),
            ],
        };
    };
    let scope = document.program.scopes.first();
    let line = scope.and_then(|it| document.program.line(*it.names.get(name)?));
    let kind = line.and_then(|line| match line.type_ {
        Type::Number { dimension, .. } => unit::kinds_of(dimension).first().copied(),
        _ => None,
    });
    units_of(kind)
}

fn header() -> Vec<Offer> {
    let blocks = language::block_words();
    language::HEADER
        .iter()
        .copied()
        .chain(blocks)
        .map(|word| Offer::new(word, Sort::KEYWORD, ""))
        .collect()
}

fn kinds() -> Vec<Offer> {
    KINDS.iter().map(|kind| Offer::new(kind.name, Sort::CLASS, kind.about)).collect()
}

/// The units of a kind, or of all of them.
fn units_of(kind: Option<&'static Kind>) -> Vec<Offer> {
    let mut found: Vec<Offer> = Vec::new();
    for kind in KINDS.iter().filter(|it| kind.is_none_or(|kind| kind.name == it.name)) {
        for unit in kind.units {
            if !found.iter().any(|offer| offer.label == *unit) {
                found.push(Offer::new(*unit, Sort::UNIT, kind.name));
            }
        }
    }
    found
}

/// Whether the name of a group is to follow.
fn wants_a_group(text: &str) -> bool {
    let text = text.trim_end();
    ["group", "state", "course of"].iter().any(|word| text.ends_with(word)) && !text.contains('\n')
}

/// What can be read in a formula of the sheet.
fn names(document: &Document) -> Vec<Offer> {
    let tree = &document.tree;
    let takes =
        tree.takes.iter().map(|it| Offer::new(&it.name.value, Sort::VARIABLE, about_take(it)));
    let works = tree.works.iter().map(|it| {
        let sort = if matches!(it.body, language::Body::Value(_)) {
            Sort::VARIABLE
        } else {
            Sort::FUNCTION
        };
        Offer::new(&it.name.value, sort, &it.note)
    });
    let uses = tree.uses.iter().map(|it| {
        Offer::new(&it.alias.value, Sort::MODULE, format!("results of {}", it.sheet.value))
    });
    takes.chain(works).chain(uses).collect()
}

fn about_take(take: &language::Take) -> String {
    let unit = take.unit.as_ref().map(|unit| format!(" in {}", unit.value)).unwrap_or_default();
    let kind = match &take.shape {
        Shape::Kind(kind) | Shape::Series(kind) => kind.value.as_str(),
        Shape::Choice(_) => "choice",
    };
    let note = if take.note.is_empty() { String::new() } else { format!(": {}", take.note) };
    format!("{kind}{unit}{note}")
}

fn is_of_name(sign: char) -> bool {
    sign.is_alphanumeric() || sign == '_'
}

/// The entry before a byte; none within a comment or a text.
fn before(text: &str, offset: usize) -> Option<Before<'_>> {
    let head = text.get(..offset)?;
    let start = head.rfind('\n').map_or(0, |at| at + 1);
    let line = text.get(start..)?.split('\n').next()?;
    let written = head.get(start..)?;
    if without_comment(line).len() < written.len() || written.matches('"').count() % 2 == 1 {
        return None;
    }
    let sheet = |sign: char| is_of_name(sign) || sign == '-';
    let indented = line.starts_with([' ', '\t']);
    let block = if indented { head.lines().rev().find_map(block_word).unwrap_or("") } else { "" };
    let of_word: &dyn Fn(char) -> bool = if block == "uses" { &sheet } else { &is_of_name };
    let word = head.rfind(|sign: char| !of_word(sign));
    let word = word.map_or(0, |at| {
        at + head.get(at..).and_then(|it| it.chars().next()).map_or(1, char::len_utf8)
    });
    let indent = |line: &str| line.len() - line.trim_start().len();
    // the entry begins at the nearest line that is not indented further than the first of the block
    let lines = head.get(..start)?.lines().rev().take_while(|line| block_word(line).is_none());
    let first = lines.clone().filter(|line| !line.trim().is_empty()).last().map_or(0, indent);
    let mut from = start;
    if first > 0 && indent(line) > first && !block.is_empty() {
        for line in lines {
            from -= line.len() + 1;
            if !line.trim().is_empty() && indent(line) <= first {
                break;
            }
        }
    }
    Some(Before { block, text: text.get(from..word.max(from))?.trim_start(), word: word..offset })
}

/// Whether a unit is due: a number and a blank stand before it.
fn is_after_number(text: &str, before: &Before<'_>) -> bool {
    let start = unit_start(text, before);
    let head = text.get(..start).unwrap_or_default();
    let number = head.trim_end_matches(' ');
    let last = number.split(|sign: char| !(is_of_name(sign) || sign == '.')).next_back();
    number.len() < head.len()
        && last.is_some_and(|last| last.starts_with(|sign: char| sign.is_ascii_digit()))
}

/// Where the unit begins that is being written: units have signs that names have not, and parentheses inside.
fn unit_start(text: &str, before: &Before<'_>) -> usize {
    let head = text.get(..before.word.end).unwrap_or_default();
    let start = head.rfind([' ', '\n', '\t', ',']).map_or(0, |at| at + 1);
    let unit = head.get(start..).unwrap_or_default();
    start + unit.len() - unit.trim_start_matches('(').len()
}

/// An entry without the unit that is being written.
fn without_unit<'t>(text: &str, before: &Before<'_>, entry: &'t str) -> &'t str {
    let begun = before.word.start.saturating_sub(unit_start(text, before));
    entry.get(..entry.len().saturating_sub(begun)).unwrap_or(entry)
}

/// What stands before and after the word `with`.
fn split_at_with(text: &str) -> Option<(&str, &str)> {
    let (at, _) = text.match_indices("with").find(|(at, word)| {
        let blank = |sign: Option<char>| sign.is_none_or(char::is_whitespace);
        blank(text.get(..*at).and_then(|it| it.chars().next_back()))
            && blank(text.get(at + word.len()..).and_then(|it| it.chars().next()))
    })?;
    Some((text.get(..at)?, text.get(at + 4..)?))
}

/// The use that is being written, as far as its sheet is named.
fn as_use(text: &str, sheet: &str) -> Option<Use> {
    let word = |value: &str| Word { value: value.to_owned(), span: 0..0 };
    let mut said = sheet.split_whitespace();
    let (whose, name) = match (said.next()?, said.next()) {
        ("own", Some(name)) => (Whose::Own, name),
        ("library", Some(name)) => (Whose::Library, name),
        (name, _) => (Whose::Any, name),
    };
    let alias = word(text.split('=').next()?.trim());
    Some(Use {
        alias,
        whose,
        sheet: word(name),
        arguments: Vec::new(),
        but: Vec::new(),
        standing: None,
        span: 0..0,
    })
}
