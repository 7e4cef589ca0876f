//! The verdict of a review: what holds, what fails and what is not proved, over values, tolerances and lines.

use super::document::{Calculation, Document};
use super::lines::class;
use super::markup::escaped;
use super::product::ProductReview;
use super::worst::WorstReview;
use crate::calculation::Verdict;

/// What one calculation or one product line comes to.
struct Part<'a> {
    alias: &'a str,
    /// Where the page shows it; none where the document shows nothing of it.
    target: Option<String>,
    /// The calculation whose verdict follows a trial.
    calculation: Option<usize>,
    verdict: Verdict,
    words: String,
    /// Checks that fail, each with its place among the checks.
    failing: Vec<(usize, String)>,
    /// What the tolerances make of it; none where no input has one.
    tolerances: Option<&'a WorstReview>,
}

fn parts(document: &Document) -> Vec<Part<'_>> {
    let calculations =
        document.calculations.iter().enumerate().map(|(at, one)| of_calculation(at, one));
    calculations.chain(document.lines.iter().enumerate().map(of_line)).collect()
}

fn of_calculation(at: usize, calculation: &Calculation) -> Part<'_> {
    let checks = calculation.results.checks();
    let failing = checks.iter().enumerate().filter(|(_, check)| check.verdict == Verdict::Fails);
    let any = |verdict| checks.iter().any(|check| check.verdict == verdict);
    let verdict = if any(Verdict::Fails) {
        Verdict::Fails
    } else if any(Verdict::Caution) {
        Verdict::Caution
    } else {
        Verdict::Holds
    };
    Part {
        alias: &calculation.alias,
        target: (!calculation.shows.is_empty()).then(|| format!("calc{at}")),
        calculation: Some(at),
        verdict,
        words: calculation.results.verdict_in_words(),
        failing: failing
            .map(|(place, check)| match check.otherwise.as_str() {
                "" => (place, check.text.clone()),
                otherwise => (place, format!("{}: {otherwise}", check.text)),
            })
            .collect(),
        tolerances: calculation.worst.as_ref(),
    }
}

fn of_line((at, line): (usize, &ProductReview)) -> Part<'_> {
    Part {
        alias: &line.alias,
        target: Some(format!("line{at}")),
        calculation: None,
        verdict: if line.fails == 0 { Verdict::Holds } else { Verdict::Fails },
        words: line.in_words(),
        failing: Vec::new(),
        tolerances: None,
    }
}

/// Everything in one sentence.
fn whole(parts: &[Part<'_>]) -> String {
    let of = |verdict| parts.iter().filter(|part| part.verdict == verdict).count();
    let open = parts.iter().filter(|part| part.tolerances.is_some_and(|it| !it.holds())).count();
    let all = parts.len();
    let values = match (of(Verdict::Fails), of(Verdict::Caution)) {
        (0, 0) => "Every check holds".to_owned(),
        (0, look) => format!("Every check holds, {look} of {all} with a caution"),
        (1, _) => format!("1 of {all} FAILS"),
        (fails, _) => format!("{fails} of {all} FAIL"),
    };
    match open {
        0 => format!("{values}."),
        open => format!("{values}; {open} of {all} not proved within the tolerances."),
    }
}

/// The verdict at the head of the page; nothing where the document calculates nothing.
pub(super) fn head(document: &Document) -> String {
    let parts = parts(document);
    if parts.is_empty() {
        return String::new();
    }
    let rows: String = parts.iter().map(row).collect();
    format!(
        "<section class=\"verdict\" aria-labelledby=\"verdict\"><h2 id=\"verdict\">Verdict</h2><p class=\"vd\" data-vall><b>{}</b></p><ul class=\"vdl\">{rows}</ul></section>\n",
        escaped(&whole(&parts))
    )
}

fn row(part: &Part<'_>) -> String {
    let alias = escaped(part.alias);
    let name = match &part.target {
        Some(target) => format!("<a href=\"#{target}\">{alias}</a>"),
        None => alias,
    };
    let words = match part.calculation {
        Some(at) => {
            format!("<span data-c=\"{at}\" data-ck>{}</span>", escaped(&part.words))
        }
        None => format!("<span>{}</span>", escaped(&part.words)),
    };
    let failing: String = part
        .failing
        .iter()
        .map(|(place, text)| match &part.target {
            Some(target) => {
                format!("<li><a href=\"#{target}k{place}\">{}</a></li>", escaped(text))
            }
            None => format!("<li>{}</li>", escaped(text)),
        })
        .collect();
    let tolerances = part.tolerances.map_or_else(String::new, |worst| {
        let class = if worst.holds() { "wo" } else { "wo bad" };
        format!(" <span class=\"v {class}\">{}.</span>", escaped(&worst.in_words()))
    });
    let place = part.calculation.map_or_else(String::new, |at| format!(" data-vd=\"{at}\""));
    format!(
        "<li class=\"{}\"{place}>{name}: {words}.{tolerances}<ul class=\"fl\">{failing}</ul></li>",
        class(part.verdict)
    )
}

/// The verdict once more, where the page is signed.
pub(super) fn foot(document: &Document) -> String {
    let parts = parts(document);
    if parts.is_empty() {
        return String::new();
    }
    format!(
        "<p class=\"vd\"><span data-vall><b>{}</b></span> <a href=\"#verdict\">What it is made of</a>.</p>",
        escaped(&whole(&parts))
    )
}

/// The verdict as Markdown, `cell` keeping words from becoming marks.
pub(super) fn plain(document: &Document, cell: &dyn Fn(&str) -> String) -> String {
    let parts = parts(document);
    if parts.is_empty() {
        return String::new();
    }
    let mut to = format!("**Verdict: {}**\n\n", cell(&whole(&parts)));
    for part in &parts {
        to.push_str(&format!("- {}: {}", cell(part.alias), cell(&part.words)));
        if let Some(worst) = part.tolerances {
            to.push_str(&format!("; {}", cell(&worst.in_words())));
        }
        to.push('\n');
        for (_, text) in part.failing.iter().skip(1) {
            to.push_str(&format!("  - **FAILS**: {}\n", cell(text)));
        }
    }
    to.push('\n');
    to
}
