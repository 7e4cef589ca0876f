//! The review as Markdown: blocks become tables, values become figures.

use super::block::Show;
use super::document::{Calculation, Document, Stands, title};
use super::lines::{given, signs};
use super::markup::harmless;
use super::picture::Slopes;
use super::product::ProductReview;
use super::value::What;
use super::{steps, verdict, worst};
use crate::calculation::{TRUST, Verdict};

/// What stands behind a figure in running text whose calculation has a check that fails.
const FAILING: &str = " (a check FAILS)";

/// The document with its blocks and values worked out, as CommonMark with tables.
#[must_use]
pub fn plain(document: &Document, made: &str) -> String {
    let text = &document.source.text;
    let mut parts: Vec<(std::ops::Range<usize>, String)> = Vec::new();
    for (range, stands) in &document.blocks {
        let part = match stands {
            Stands::Written => None,
            Stands::Calculation(at) => document.calculations.get(*at).map(section),
            Stands::Line(at) => document.lines.get(*at).map(line),
        };
        parts.extend(part.map(|part| (range.clone(), part)));
    }
    for (range, inline) in &document.values {
        let words = cell(&inline.in_words(&document.calculations, &document.lines));
        let figure = matches!(inline.what, What::Value { .. });
        let holds =
            document.calculations.get(inline.calculation).is_none_or(|it| it.results.holds());
        let mark = if figure && !holds { FAILING } else { "" };
        parts.push((range.clone(), format!("{words}{mark}")));
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
    // below the title, else before everything
    let below =
        to.lines().next().filter(|line| line.starts_with("# ")).map_or(0, |line| line.len() + 1);
    let words = verdict::plain(document, &|text| cell(text));
    to.insert_str(below.min(to.len()), &format!("{}{words}", if below > 0 { "\n" } else { "" }));
    to.push_str(&format!(
        "\n\n---\n\n{TRUST}\n\nWorked out {made} by Standstill {} from\n\n",
        env!("CARGO_PKG_VERSION")
    ));
    for file in &document.files {
        to.push_str(&format!("- {} `{}`\n", cell(&file.name), file.hash));
    }
    to.chars().map(harmless).collect()
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
                for (at, input) in program.inputs.iter().enumerate() {
                    // a value of another calculation has no writing of its own
                    let value = match calculation.links.iter().any(|link| link.input == at) {
                        true => {
                            results.register_in_words(input.register, &input.type_, &input.unit)
                        }
                        false => given(results, input),
                    };
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
                for (check, found) in results.checks().iter().zip(&program.checks) {
                    let path = match found.path.as_str() {
                        "" => String::new(),
                        path => format!("{path}: "),
                    };
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
                        cell(&signs(&format!("{path}{}{margin}{otherwise}", check.text)))
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
            Show::Slopes => slopes(calculation, &mut to),
            Show::Worst => worst_case(calculation, &mut to),
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

/// The least margins of a product line.
fn line(line: &ProductReview) -> String {
    let mut to = format!(
        "**{}: {}**, variants from {}: {}\n\n| check | holds | least margin | there | variant |\n| --- | --- | ---: | --- | --- |\n",
        cell(&line.alias),
        cell(&line.title),
        cell(&line.from),
        line.in_words()
    );
    for check in &line.checks {
        let holds = match (check.fails, check.caution) {
            (0, _) => "in all".to_owned(),
            (count, true) => format!("**look** in {count}"),
            (count, false) => format!("**FAILS** in {count}"),
        };
        let [left, there, variant] = check.worst.as_ref().map_or_else(Default::default, |worst| {
            [
                worst.margin.left.clone().unwrap_or_default(),
                signs(&worst.margin.sides),
                worst.variant.clone(),
            ]
        });
        to.push_str(&format!(
            "| {} | {holds} | {} | {} | {} |\n",
            cell(&check.text),
            cell(&left),
            cell(&there),
            cell(&variant)
        ));
    }
    if !line.worst.is_empty() {
        to.push_str("\n| worst variants | least margin | check |\n| --- | ---: | --- |\n");
    }
    for variant in &line.worst {
        let margin = variant.margin.as_ref().and_then(|margin| margin.left.clone());
        let check = line.checks.get(variant.check).map_or("", |check| &check.text);
        to.push_str(&format!(
            "| {} | {} | {} |\n",
            cell(&variant.name),
            cell(&margin.unwrap_or_else(|| "FAILS".to_owned())),
            cell(check)
        ));
    }
    to
}

fn worst_case(calculation: &Calculation, to: &mut String) {
    let Some(told) = worst::told(&calculation.results) else { return };
    to.push_str(&format!("\nWorst case, with {}:\n\n", cell(&told.tolerances.join("; "))));
    to.push_str("| result | least | as given | most | the farther end is reached at |\n| --- | ---: | ---: | ---: | --- |\n");
    for row in &told.rows {
        to.push_str(&format!(
            "| {} | {} | {} | {} | {} |\n",
            cell(&row.name),
            cell(&row.low),
            cell(&row.given),
            cell(&row.high),
            cell(&row.corner)
        ));
    }
    if let Some(words) = worst::handed_on(calculation) {
        to.push_str(&format!("\n{}\n", cell(&words)));
    }
    if told.proved + told.open.len() > 0 {
        let proved = told.proved;
        to.push_str(&format!("\n{proved} checks are proved to hold within the tolerances.\n"));
    }
    for open in &told.open {
        to.push_str(&format!("- {}\n", cell(open)));
    }
}

fn slopes(calculation: &Calculation, to: &mut String) {
    for (name, rows) in Slopes::of(&calculation.results, &calculation.slopes_of).in_words() {
        to.push_str(&format!("\nWhat {} hangs on, for 1 % more of each input:\n\n| input | change |\n| --- | ---: |\n", cell(&name)));
        for (input, change) in rows {
            to.push_str(&format!("| {} | {} |\n", cell(&input), cell(&change)));
        }
    }
}
