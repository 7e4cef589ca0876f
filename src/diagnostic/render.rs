//! The three renderings of a problem, from the same value.

use std::fmt::Write as _;
use std::sync::Arc;

use unicode_width::UnicodeWidthChar as _;

use super::{Diagnostic, Label, Name, Place, Severity, Source};

/// Letters of a line that are shown at most.
const LONGEST: usize = 400;

/// Renders a problem for a person: headline, the text with underlines, remedy.
///
/// Control characters and marks that turn the writing direction are shown as signs, so that a
/// hostile text cannot draw on the terminal.
#[must_use]
pub fn render_long(problem: &Diagnostic) -> String {
    let mut out = String::new();
    let _ = writeln!(
        out,
        "{} {}: {}",
        problem.severity.word(),
        problem.name.word(),
        harmless(&problem.headline)
    );
    let primary = problem.place.as_ref();
    if let Some(place) = primary {
        let _ = writeln!(out, "  {}", harmless(&place.to_text()));
    }
    if let Some(Place::Text { source, span }) = primary {
        excerpt(&mut out, problem, source, *span);
    } else if !problem.words.is_empty() {
        let _ = writeln!(out, "  {}", harmless(&problem.words));
    }
    for label in &problem.labels {
        if !shown_in_excerpt(primary, label) {
            let _ =
                writeln!(out, "  {}: {}", harmless(&label.place.to_text()), harmless(&label.words));
        }
    }
    if !problem.remedy.is_empty() {
        let _ = writeln!(out, "  remedy: {}", harmless(&problem.remedy));
    }
    out
}

/// Renders a problem in one line for an editor: place, severity, name, headline, labels, remedy.
#[must_use]
pub fn render_line(problem: &Diagnostic) -> String {
    let mut out = String::new();
    if let Some(place) = &problem.place {
        let _ = write!(out, "{}: ", place.to_text());
    }
    let _ =
        write!(out, "{} {}: {}", problem.severity.word(), problem.name.word(), problem.headline);
    if !problem.words.is_empty() {
        let _ = write!(out, " ({})", problem.words);
    }
    for label in &problem.labels {
        let _ = write!(out, "; {}: {}", label.place.to_text(), label.words);
    }
    if !problem.remedy.is_empty() {
        let _ = write!(out, "; {}", problem.remedy);
    }
    harmless(&out)
}

/// Renders a problem for a program.
#[must_use]
pub fn render_json(problem: &Diagnostic) -> serde_json::Value {
    serde_json::json!({
        "severity": problem.severity.word(),
        "name": problem.name.word(),
        "headline": problem.headline,
        "place": problem.place.as_ref().map(place_json),
        "words": problem.words,
        "labels": problem.labels.iter().map(|label| {
            serde_json::json!({ "place": place_json(&label.place), "words": label.words })
        }).collect::<Vec<_>>(),
        "remedy": problem.remedy,
    })
}

/// How many errors and cautions there are.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Totals {
    /// Errors.
    pub errors: usize,
    /// Cautions.
    pub cautions: usize,
}

/// Counts errors and cautions.
#[must_use]
pub fn totals(problems: &[Diagnostic]) -> Totals {
    let errors = problems.iter().filter(|problem| problem.is_error()).count();
    Totals { errors, cautions: problems.len() - errors }
}

impl Totals {
    /// `3 problems, 1 caution`, `no problems`.
    #[must_use]
    pub fn to_text(self) -> String {
        let problems = match self.errors {
            0 => "no problems".to_owned(),
            1 => "1 problem".to_owned(),
            many => format!("{many} problems"),
        };
        match self.cautions {
            0 => problems,
            1 => format!("{problems}, 1 caution"),
            many => format!("{problems}, {many} cautions"),
        }
    }
}

fn place_json(place: &Place) -> serde_json::Value {
    match place {
        Place::Text { source, span } => {
            let (line, column) = source.line_and_column(span.0);
            let (end_line, end_column) = source.line_and_column(span.1);
            serde_json::json!({
                "file": source.name, "line": line, "column": column,
                "end_line": end_line, "end_column": end_column,
            })
        }
        Place::Cell { book, tab, row, column } => serde_json::json!({
            "file": book, "tab": tab, "cell": super::cell_name(*row, *column),
        }),
        Place::File { name } => serde_json::json!({ "file": name }),
        Place::Argument { text } => serde_json::json!({ "argument": text }),
    }
}

fn shown_in_excerpt(primary: Option<&Place>, label: &Label) -> bool {
    match (primary, &label.place) {
        (Some(Place::Text { source: a, .. }), Place::Text { source: b, .. }) => {
            Arc::ptr_eq(a, b) || a == b
        }
        _ => false,
    }
}

#[derive(Clone, Copy)]
struct Mark<'a> {
    from: usize,
    to: usize,
    sign: char,
    words: &'a str,
}

/// The lines that carry a mark, each with its underlines below it.
fn excerpt(out: &mut String, problem: &Diagnostic, source: &Arc<Source>, primary: (usize, usize)) {
    let mut marks: Vec<(usize, Mark<'_>)> = Vec::new();
    let mut add = |span: (usize, usize), sign: char, words| {
        let (line, column) = source.line_and_column(span.0);
        let (end_line, end_column) = source.line_and_column(span.1);
        let length = source.line(line).chars().count();
        let to = if end_line == line { end_column } else { length + 1 };
        marks.push((line, Mark { from: column - 1, to: to.max(column + 1) - 1, sign, words }));
    };
    add(primary, '^', problem.words.as_str());
    for label in &problem.labels {
        if let (true, Place::Text { span, .. }) =
            (shown_in_excerpt(problem.place.as_ref(), label), &label.place)
        {
            add(*span, '~', label.words.as_str());
        }
    }
    let mut lines: Vec<usize> = marks.iter().map(|(line, _)| *line).collect();
    lines.sort_unstable();
    lines.dedup();
    let width = lines.iter().max().map_or(1, |line| line.to_string().len());
    for line in lines {
        let here = marks.iter().filter(|(at, _)| *at == line).map(|(_, mark)| *mark).collect();
        let (text, mut here) = window(source.line(line), here);
        let _ = writeln!(out, "  {line:>width$} │ {}", harmless(&text.replace('\t', " ")));
        here.sort_by_key(|mark| mark.from);
        underline(out, width, &text, &here.iter().collect::<Vec<_>>());
    }
}

/// The part of a line that is shown: all of it, or of a very long one what stands around its first mark.
fn window<'a>(line: &str, marks: Vec<Mark<'a>>) -> (String, Vec<Mark<'a>>) {
    if line.chars().count() <= LONGEST {
        return (line.to_owned(), marks);
    }
    let first = marks.iter().map(|mark| mark.from).min().unwrap_or(0);
    let from = first.saturating_sub(LONGEST / 4);
    let mut text: String = line.chars().skip(from).take(LONGEST).collect();
    if from > 0 {
        text = text.chars().skip(1).collect();
        text.insert(0, '…');
    }
    if line.chars().nth(from + LONGEST).is_some() {
        text.push('…');
    }
    // what is marked beyond the window is marked at its end
    let seen = |column: usize| column.saturating_sub(from).min(LONGEST);
    let marks = marks.into_iter().map(|mark| Mark {
        from: seen(mark.from),
        to: seen(mark.to).max(seen(mark.from) + 1),
        ..mark
    });
    (text, marks.collect())
}

/// One line with all the signs and the words of the last mark; the words of the others below it,
/// each under the start of its own mark.
fn underline(out: &mut String, width: usize, text: &str, marks: &[&Mark<'_>]) {
    let cells: Vec<usize> = text.chars().map(|letter| letter.width().unwrap_or(1).max(1)).collect();
    let at = |column: usize| -> usize {
        cells.iter().take(column).sum::<usize>() + column.saturating_sub(cells.len())
    };
    let mut signs: Vec<char> = Vec::new();
    for mark in marks {
        let (from, to) = (at(mark.from), at(mark.to).max(at(mark.from) + 1));
        if signs.len() < to {
            signs.resize(to, ' ');
        }
        for sign in signs.iter_mut().take(to).skip(from) {
            if *sign != '^' {
                *sign = mark.sign;
            }
        }
    }
    let signs: String = signs.into_iter().collect();
    let mut rest: Vec<&&Mark<'_>> = marks.iter().filter(|mark| !mark.words.is_empty()).collect();
    let beside = match (rest.last(), marks.last()) {
        (Some(last), Some(very_last)) if std::ptr::eq(**last, *very_last) => {
            rest.pop().map(|mark| mark.words)
        }
        _ => None,
    };
    let gap = " ".repeat(width);
    match beside {
        Some(words) => {
            let _ = writeln!(out, "  {gap} │ {signs} {}", harmless(words));
        }
        None => {
            let _ = writeln!(out, "  {gap} │ {signs}");
        }
    }
    for mark in rest.iter().rev() {
        let _ = writeln!(out, "  {gap} │ {}{}", " ".repeat(at(mark.from)), harmless(mark.words));
    }
}

/// One line of a text that is shown as it is.
fn harmless(text: &str) -> String {
    printable(&text.replace(['\n', '\r', '\t'], " "))
}

/// Signs in place of control characters and of marks that turn the writing direction; lines and tabs stay.
pub(crate) fn printable(text: &str) -> String {
    text.chars()
        .map(|letter| match letter {
            '\n' | '\t' => letter,
            other if other.is_control() || turns(other) => '\u{fffd}',
            other => other,
        })
        .collect()
}

/// Whether a letter turns the direction in which what follows is shown.
fn turns(letter: char) -> bool {
    matches!(letter, '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}')
}

/// The marks in a text that turn the writing direction: what stands behind one is read otherwise than it was written.
pub(crate) fn turning_marks(source: &Arc<Source>) -> impl Iterator<Item = Diagnostic> {
    source.text.char_indices().filter(|(_, letter)| turns(*letter)).map(|(at, letter)| {
        let words = "a mark that is not seen turns the writing direction here: figures behind it read otherwise";
        Diagnostic::error(Name::UnreadableLine, words)
            .at(Place::text(source, at..at + letter.len_utf8()))
            .remedy("delete the mark; where it is not seen, type the text of this line again")
    })
}

impl std::fmt::Display for Severity {
    fn fmt(&self, to: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        to.write_str(self.word())
    }
}

impl std::fmt::Display for Diagnostic {
    fn fmt(&self, to: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        to.write_str(&render_line(self))
    }
}

impl std::error::Error for Diagnostic {}
