//! Printing: aligned columns, problems, and the words about trust.

use std::io::{self, IsTerminal as _, Write as _};

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};
use unicode_width::UnicodeWidthStr as _;

use crate::diagnostic::{Diagnostic, render_json, render_line, render_long, totals};

use super::arguments::Form;

/// Standard output and standard error; a closed pipe ends the printing, not the work.
#[derive(Debug, Default)]
pub(super) struct Terminal {
    closed: bool,
    failed: bool,
    /// Whether standard output carries a file, so that what is said goes to standard error.
    pub(super) aside: bool,
}

impl Terminal {
    /// One line to standard output.
    pub(super) fn say(&mut self, line: impl AsRef<str>) {
        if self.aside {
            self.tell(line);
        } else if !self.closed {
            let outcome = writeln!(io::stdout().lock(), "{}", line.as_ref().trim_end());
            self.note(outcome);
        }
    }

    /// A reader who has gone is no failure; a disk that is full is one, and is said once.
    fn note(&mut self, outcome: io::Result<()>) {
        let Err(error) = outcome else { return };
        self.closed = true;
        if error.kind() != io::ErrorKind::BrokenPipe && !self.failed {
            self.failed = true;
            self.tell(format!("error unwritable-file: standard output cannot be written: {error}"));
        }
    }

    /// Whether something could not be printed.
    pub(super) fn failed(&self) -> bool {
        self.failed
    }

    /// One line to standard error.
    pub(super) fn tell(&mut self, line: impl AsRef<str>) {
        let _ = writeln!(io::stderr().lock(), "{}", line.as_ref().trim_end());
    }

    pub(super) fn flush(&mut self) {
        let outcome = io::stdout().lock().flush();
        self.note(outcome);
    }

    /// Rows in aligned columns, two blanks between, indented by two.
    pub(super) fn columns(&mut self, rows: &[Vec<String>]) {
        for line in aligned(rows) {
            self.say(format!("  {line}"));
        }
    }

    /// Problems on standard error.
    pub(super) fn each_problem(&mut self, problems: &[Diagnostic], form: Form) {
        for problem in problems {
            match form {
                Form::Long => {
                    self.tell(render_long(problem));
                    self.tell("");
                }
                Form::Line => self.tell(render_line(problem)),
                Form::Json => self.tell(render_json(problem).to_string()),
            }
        }
    }

    /// Problems on standard error, and how many there are.
    pub(super) fn problems(&mut self, problems: &[Diagnostic], form: Form, last: &str) {
        self.each_problem(problems, form);
        if form == Form::Long {
            let counted = totals(problems).in_words();
            self.tell(if last.is_empty() {
                format!("{counted}.")
            } else {
                format!("{counted}. {last}")
            });
        }
    }

    /// That a workbook was left alone, and why.
    pub(super) fn left_alone(&mut self, book: &str, problems: &[Diagnostic], json: bool) {
        if json {
            let all: Vec<_> = problems.iter().map(render_json).collect();
            self.json(&serde_json::json!({ "book": book, "problems": all, "written": false }));
        } else {
            self.problems(problems, Form::Long, "Nothing was written.");
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
        self.say(match (dry_run, changed) {
            (true, _) => format!("{counted} of {target} would be written; nothing was written."),
            (false, 0) if in_place => {
                format!("{target} holds these results already; nothing was written.")
            }
            (false, _) => format!("{counted} written to {target}."),
        });
    }

    /// How many formulas depend on what was written.
    pub(super) fn recalculated(&mut self, stale: usize) {
        let (formulas, are) = match stale {
            0 => return,
            1 => ("1 formula depends".to_owned(), "is"),
            _ => (format!("{stale} formulas depend"), "are"),
        };
        self.say(format!(
            "{formulas} on them and {are} worked out afresh when the workbook is opened."
        ));
    }

    /// A JSON value on standard output.
    pub(super) fn json(&mut self, value: &serde_json::Value) {
        self.say(serde_json::to_string_pretty(value).unwrap_or_default());
    }
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

/// Rows with their cells padded to the width of their column; the last cell of a row is not padded.
pub(super) fn aligned(rows: &[Vec<String>]) -> Vec<String> {
    let mut widths: Vec<usize> = Vec::new();
    for row in rows {
        for (at, cell) in row.iter().enumerate() {
            match widths.get_mut(at) {
                Some(width) => *width = (*width).max(cell.width()),
                None => widths.push(cell.width()),
            }
        }
    }
    rows.iter()
        .map(|row| {
            let mut line = String::new();
            for (cell, width) in row.iter().zip(&widths) {
                line.push_str(cell);
                line.push_str(&" ".repeat(width.saturating_sub(cell.width()) + 2));
            }
            line.trim_end().to_owned()
        })
        .collect()
}

/// A long text in lines of at most so many columns.
pub(super) fn wrapped(text: &str, width: usize) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in text.split_whitespace() {
        match lines.last_mut() {
            // a number is not torn from its sign
            Some(line) if word == "%" || line.width() + 1 + word.width() <= width => {
                line.push(' ');
                line.push_str(word);
            }
            _ => lines.push(word.to_owned()),
        }
    }
    lines
}
