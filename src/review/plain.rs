//! The review as Markdown: blocks become tables, values become figures.

use super::block::Show;
use super::document::{Calculation, Document, title};
use super::steps;
use crate::calculation::{TRUST, Verdict};

/// The document with its blocks and values worked out, as CommonMark with tables.
#[must_use]
pub fn plain(document: &Document, made: &str) -> String {
    let text = &document.source.text;
    let mut parts: Vec<(std::ops::Range<usize>, String)> = Vec::new();
    for (range, at) in &document.blocks {
        if let Some(calculation) = at.and_then(|at| document.calculations.get(at)) {
            parts.push((range.clone(), section(calculation)));
        }
    }
    for (range, inline) in &document.values {
        parts.push((range.clone(), cell(&inline.in_words(&document.calculations))));
    }
    parts.sort_by_key(|(range, _)| range.start);
    let mut to = String::new();
    let mut at = 0;
    for (range, part) in parts {
        to.push_str(text.get(at..range.start).unwrap_or_default());
        to.push_str(&part);
        at = range.end;
    }
    to.push_str(text.get(at..).unwrap_or_default());
    to.push_str(&format!(
        "\n\n---\n\n{TRUST}\n\nWorked out {made} by Standstill {} from\n\n",
        env!("CARGO_PKG_VERSION")
    ));
    for file in &document.files {
        to.push_str(&format!("- {} `{}`\n", cell(&file.name), file.hash));
    }
    to
}

/// Text that stays text in a table.
fn cell(text: &str) -> String {
    let mut to = String::new();
    for sign in text.chars() {
        if matches!(sign, '|' | '<' | '>' | '*' | '_' | '`' | '[' | ']' | '\\' | '&') {
            to.push('\\');
        }
        to.push(if sign == '\n' { ' ' } else { sign });
    }
    to
}

fn section(calculation: &Calculation) -> String {
    let results = &calculation.results;
    let program = results.program();
    if calculation.shows.is_empty() {
        return String::new();
    }
    let mut to = format!("**{}: {}**\n", cell(&calculation.alias), cell(title(program)));
    for show in &calculation.shows {
        match show {
            Show::Inputs => {
                to.push_str("\n| input | value | what it is |\n| --- | ---: | --- |\n");
                for input in &program.inputs {
                    let value =
                        results.register_in_words(input.register, &input.type_, &input.unit);
                    to.push_str(&format!(
                        "| {} | {} | {} |\n",
                        cell(&input.name),
                        cell(&value),
                        cell(&input.note)
                    ));
                }
            }
            Show::Results => {
                to.push_str("\n| result | value | what it is |\n| --- | ---: | --- |\n");
                for output in &program.outputs {
                    to.push_str(&format!(
                        "| {} | {} | {} |\n",
                        cell(&output.name),
                        cell(&results.in_words(output)),
                        cell(&output.note)
                    ));
                }
            }
            Show::Checks => {
                to.push('\n');
                for check in results.checks() {
                    let word = match check.verdict {
                        Verdict::Holds => "holds",
                        Verdict::Fails => "**FAILS**",
                        Verdict::Caution => "**look**",
                    };
                    let margin = check.margin.as_ref().map_or(String::new(), |margin| {
                        let left = margin
                            .left
                            .as_ref()
                            .map_or(String::new(), |left| format!(", margin {left}"));
                        format!(": {}{left}", margin.sides)
                    });
                    let otherwise = if check.verdict == Verdict::Holds || check.otherwise.is_empty()
                    {
                        String::new()
                    } else {
                        format!(" What to do: {}.", check.otherwise)
                    };
                    to.push_str(&format!(
                        "- {word}: {}\n",
                        cell(&format!("{}{margin}{otherwise}", check.text))
                    ));
                }
            }
            Show::Settings => {
                let settings = results.settings();
                if !settings.is_empty() {
                    to.push_str("\n| to be set | value | step | least | most | what it is |\n| --- | ---: | ---: | ---: | ---: | --- |\n");
                }
                for it in settings {
                    to.push_str(&format!(
                        "| {} | {} | {} | {} | {} | {} |\n",
                        cell(&it.name),
                        cell(&it.value),
                        cell(&it.step),
                        cell(&it.low),
                        cell(&it.high),
                        cell(&it.note)
                    ));
                }
            }
            Show::Picture => {}
            Show::Steps => {
                to.push_str("\n```text\n");
                for line in steps::as_text(results) {
                    to.push_str(&line.replace("```", "'''"));
                    to.push('\n');
                }
                to.push_str("```\n");
            }
        }
    }
    to
}
