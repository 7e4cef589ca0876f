//! Printing to the terminal: reports, problems, progress.

use crate::calculation::{Inputs, Results};
use crate::spreadsheet::Cell;
use std::io::{self, IsTerminal as _, Write as _};

use crate::diagnostic::{
    Diagnostic, Name, printable, render_json, render_line, render_long, totals,
};
use crate::program::Program;
use crate::report::{self, JSON_FORMAT, Remark, text};
use console::Term;
use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};

use super::arguments::Form;
use super::failure::Failure;

/// Standard output and standard error; a closed pipe ends the printing, not the work.
#[derive(Debug, Default)]
pub(super) struct Terminal {
    closed: bool,
    failed: bool,
    /// Whether standard output carries a file, so that what is said goes to standard error.
    pub(super) aside: bool,
    /// The verdict of the report that was printed to its end; empty where it says none of its own.
    verdict: Option<String>,
}

impl Terminal {
    /// Lines to standard output, within its width where a person looks at it.
    pub(super) fn print(&mut self, line: impl AsRef<str>) {
        if self.aside {
            self.report(line);
        } else {
            self.verbatim(fitted(line.as_ref(), &Term::stdout()));
        }
    }

    /// Text for a program, in lines as they are; no text that was read can move the cursor or colour what stands there.
    pub(super) fn verbatim(&mut self, text: impl AsRef<str>) {
        if !self.closed {
            let outcome = writeln!(io::stdout().lock(), "{}", printable(text.as_ref().trim_end()));
            self.note(outcome);
        }
    }

    /// A reader who has gone is not a failure; a disk that is full is one, and is said once.
    fn note(&mut self, outcome: io::Result<()>) {
        let Err(error) = outcome else { return };
        self.closed = true;
        if error.kind() != io::ErrorKind::BrokenPipe && !self.failed {
            self.failed = true;
            self.report(format!(
                "error unwritable-file: standard output cannot be written: {error}"
            ));
        }
    }

    /// Whether something could not be printed.
    pub(super) fn failed(&self) -> bool {
        self.failed
    }

    /// Lines to standard error, within its width where a person looks at it.
    pub(super) fn report(&mut self, line: impl AsRef<str>) {
        let text = fitted(line.as_ref(), &Term::stderr());
        let _ = writeln!(io::stderr().lock(), "{}", printable(text.trim_end()));
    }

    pub(super) fn flush(&mut self) {
        let outcome = io::stdout().lock().flush();
        self.note(outcome);
    }

    /// What a report begins with: the sheet, and all that the run says beside its figures.
    pub(super) fn opening(&mut self, inputs: &Inputs, results: Option<&Results>) {
        self.opening_with(inputs.program(), &report::remarks(inputs, results));
    }

    /// The same with what is said already known.
    pub(super) fn opening_with(&mut self, program: &Program, said: &[Remark]) {
        self.lines(report::heading(program));
        for remark in said {
            match remark {
                Remark::Said(problem) if problem.name != Name::PlateNotation => {
                    self.print("");
                    self.print(remark.to_text());
                }
                _ => self.print(remark.to_text()),
            }
        }
    }

    /// What is said of inputs from which nothing came out, beside the problems.
    pub(super) fn asked(&mut self, inputs: &Inputs) {
        for remark in report::remarks(inputs, None) {
            if !matches!(remark, Remark::Examples(_)) {
                self.report(remark.to_text());
            }
        }
    }

    /// Rows in aligned columns, two blanks between, indented by two.
    pub(super) fn columns(&mut self, rows: &[Vec<String>]) {
        for line in text::aligned(rows) {
            self.print(format!("  {line}"));
        }
    }

    /// Lines of a report.
    pub(super) fn lines(&mut self, lines: Vec<String>) {
        for line in lines {
            self.print(line);
        }
    }

    /// What stands at the end of every report: the cautions of its sheets, and what every report says once.
    pub(super) fn closing<'a>(&mut self, programs: impl IntoIterator<Item = &'a Program>) {
        let width = self.width();
        self.lines(text::closing(&report::cautions(programs), width));
        self.verdict.get_or_insert_default();
    }

    /// As [`Self::closing`], of a report that has a verdict of its own.
    pub(super) fn closing_of<'a>(
        &mut self,
        programs: impl IntoIterator<Item = &'a Program>,
        verdict: &str,
    ) {
        self.verdict = Some(verdict.to_owned());
        self.closing(programs);
    }

    /// That a check of what stands in a file ends with its own words: nothing fails but that the file is an old one.
    pub(super) fn stale(&mut self, cells: usize, file: &str) {
        let cells = if cells == 1 { "1 cell".to_owned() } else { format!("{cells} cells") };
        self.verdict =
            Some(format!("NOT AS IT WOULD BE WRITTEN: {cells} of {file}; no check fails."));
    }

    /// The last line below a report with a check that does not hold: the end of a long report is what is looked at.
    pub(super) fn failing(&mut self) {
        let Some(own) = self.verdict.take() else { return };
        self.paragraph(if own.is_empty() { "FAILS: see the checks above." } else { &own });
    }

    /// Columns of a line of prose.
    fn width(&self) -> usize {
        let term = if self.aside { Term::stderr() } else { Term::stdout() };
        looked_at(&term).map_or(text::PROSE, |width| width.min(text::PROSE))
    }

    /// Sentences in lines.
    pub(super) fn prose(&mut self, words: &str) {
        let width = self.width();
        self.lines(text::wrapped(words, width));
    }

    /// Sentences in lines below a free line.
    pub(super) fn paragraph(&mut self, words: &str) {
        let width = self.width();
        self.lines(text::paragraph(words, width));
    }

    /// Texts that may be long below a heading.
    pub(super) fn list<T: AsRef<str>>(&mut self, title: &str, texts: &[T]) {
        let width = self.width();
        self.lines(text::list(title, texts, width));
    }

    /// Problems on standard error; for programs on standard output.
    pub(super) fn each_problem(&mut self, problems: &[Diagnostic], form: Form) {
        for problem in problems {
            match form {
                Form::Long => {
                    self.report(render_long(problem));
                    self.report("");
                }
                Form::Line => {
                    let _ = writeln!(io::stderr().lock(), "{}", render_line(problem));
                }
                Form::Json => self.verbatim(render_json(problem).to_string()),
            }
        }
    }

    /// Problems on standard error, and how many there are.
    pub(super) fn problems(&mut self, problems: &[Diagnostic], form: Form, last: &str) {
        self.each_problem(problems, form);
        if form == Form::Long {
            let counted = totals(problems).to_text();
            self.report(if last.is_empty() {
                format!("{counted}.")
            } else {
                format!("{counted}. {last}")
            });
        }
    }

    /// Why a command gave up: for a program beside what it knows the run by, or for a person.
    pub(super) fn failure(
        &mut self,
        failure: &Failure,
        json: Option<serde_json::Value>,
        last: &str,
    ) {
        match json {
            Some(serde_json::Value::Object(mut about)) => {
                let all: Vec<_> = failure.problems.iter().map(render_json).collect();
                about.insert("problems".to_owned(), all.into());
                about.insert("holds".to_owned(), false.into());
                self.json(about.into());
            }
            _ => {
                self.problems(&failure.problems, Form::Long, last);
                for line in &failure.advice {
                    self.report(line);
                }
            }
        }
    }

    /// How many cells were written, or would be.
    pub(super) fn written(
        &mut self,
        changed: usize,
        target: &str,
        (dry_run, in_place): (bool, bool),
    ) {
        let counted = if changed == 1 { "1 cell".to_owned() } else { format!("{changed} cells") };
        self.print(match (dry_run, changed) {
            (true, _) => format!("{counted} of {target} would be written; nothing was written."),
            (false, 0) if in_place => {
                format!("{target} holds these results already; nothing was written.")
            }
            (false, _) => format!("{counted} written to {target}."),
        });
    }

    /// How many formulas depend on what was written, and how many may.
    pub(super) fn recalculated(&mut self, stale: usize, possible: usize) {
        let depend = |count: usize| match count {
            1 => "1 formula depends".to_owned(),
            _ => format!("{count} formulas depend"),
        };
        let are = |count: usize| if count == 1 { "is" } else { "are" };
        if stale > 0 {
            self.print(format!(
                "{} on them and {} recalculated when the workbook is opened.",
                depend(stale),
                are(stale)
            ));
        }
        if possible > 0 {
            let formulas =
                if possible == 1 { "1 formula".to_owned() } else { format!("{possible} formulas") };
            self.print(format!(
                "{formulas} may depend on them, through references that cannot be resolved here, and {} recalculated then.",
                are(possible)
            ));
        }
    }

    /// A JSON object on standard output, with the version of its form.
    pub(super) fn json(&mut self, mut value: serde_json::Value) {
        if let Some(object) = value.as_object_mut() {
            object.insert("format".to_owned(), serde_json::json!(JSON_FORMAT));
        }
        let text = serde_json::to_string_pretty(&value).unwrap_or_default();
        if self.aside {
            self.report(text);
        } else {
            self.verbatim(text);
        }
    }
}

/// How many columns a terminal has; none where nobody looks at it.
fn looked_at(term: &Term) -> Option<usize> {
    let (_, width) = term.size_checked().filter(|_| term.is_term())?;
    Some(usize::from(width))
}

/// Text within the width of a terminal; as it is where nobody looks at it.
fn fitted(text: &str, term: &Term) -> String {
    let Some(width) = looked_at(term) else { return text.to_owned() };
    let lines = text.lines().flat_map(|line| text::fitted(line, width));
    lines.collect::<Vec<_>>().join("\n")
}

/// A bar for a person at a terminal; none in a pipe, and none where it should be quiet.
pub(super) fn bar(count: usize, what: &str, quiet: bool) -> ProgressBar {
    let target = if io::stderr().is_terminal() && !quiet {
        ProgressDrawTarget::stderr()
    } else {
        ProgressDrawTarget::hidden()
    };
    let bar = ProgressBar::with_draw_target(u64::try_from(count).ok(), target);
    let template = format!("{{bar:30}} {{human_pos}} of {{human_len}} {what}, {{eta}} left");
    match ProgressStyle::with_template(&template) {
        Ok(style) => bar.with_style(style),
        Err(_) => bar,
    }
}

/// What a cell holds, in words.
pub(super) fn cell_text(cell: &Cell) -> String {
    match cell {
        Cell::Empty => "empty".to_owned(),
        Cell::Number(number) => number.to_string(),
        Cell::Text(text) => text.clone(),
        other => other.to_string(),
    }
}

/// What a cell holds, for a program.
pub(super) fn cell_json(cell: &Cell) -> serde_json::Value {
    match cell {
        Cell::Empty => serde_json::Value::Null,
        Cell::Number(number) => serde_json::json!(number),
        Cell::Truth(truth) => serde_json::json!(truth),
        Cell::Text(text) | Cell::Error(text) | Cell::Date(text) => serde_json::json!(text),
    }
}
