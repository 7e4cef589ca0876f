//! The verdict of a review: what holds, what fails and what is not proved, over values, tolerances and lines.

use super::lines::class;
use super::markup::escaped;
use super::model::{Calculation, Document, WorstReview};
use super::product::ProductReview;
use super::worst::NOT_PROVED;
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
    /// Checks that fail and cautions that were found, each with its place among the checks.
    found: Vec<(usize, Verdict, String)>,
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
    let found = checks
        .iter()
        .enumerate()
        .filter(|(_, check)| matches!(check.verdict, Verdict::Fails | Verdict::Caution));
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
        words: calculation.results.verdict_text(),
        found: found
            .map(|(place, check)| match check.otherwise.as_str() {
                "" => (place, check.verdict, check.text.clone()),
                otherwise => (place, check.verdict, format!("{}: {otherwise}", check.text)),
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
        words: line.to_text(),
        found: Vec::new(),
        tolerances: None,
    }
}

/// Everything in one sentence: how many fail, or that a caution was found, and which is the first.
fn whole(parts: &[Part<'_>]) -> String {
    let of = |verdict| parts.iter().filter(|part| part.verdict == verdict).count();
    let open = parts.iter().filter(|part| part.tolerances.is_some_and(|it| !it.holds())).count();
    let all = parts.len();
    let first = |verdict| {
        let mut found: Vec<String> = Vec::new();
        for part in parts {
            let own = part.found.iter().filter(|(_, it, _)| *it == verdict);
            found.extend(own.map(|(_, _, text)| format!("{}: {text}", part.alias)));
            if part.found.is_empty() && part.verdict == verdict {
                found.push(part.alias.to_owned());
            }
        }
        match found.split_first() {
            None => String::new(),
            Some((first, [])) => first.clone(),
            Some((first, more)) => format!("{first} (and {} more)", more.len()),
        }
    };
    let cautions: usize =
        parts.iter().flat_map(|it| &it.found).filter(|(_, it, _)| *it == Verdict::Caution).count();
    let values = match (of(Verdict::Fails), cautions) {
        (0, 0) => "Every check holds".to_owned(),
        (0, 1) => format!("No check fails; a caution was found: {}", first(Verdict::Caution)),
        (0, many) => {
            format!("No check fails; {many} cautions were found: {}", first(Verdict::Caution))
        }
        (1, _) => format!("1 of {all} FAILS: {}", first(Verdict::Fails)),
        (fails, _) => format!("{fails} of {all} FAIL: {}", first(Verdict::Fails)),
    };
    match open {
        0 => format!("{values}."),
        open if of(Verdict::Fails) > 0 => {
            format!("{values}; {open} of {all} {NOT_PROVED} within the tolerances.")
        }
        open => {
            let is_open = |part: &&Part<'_>| part.tolerances.is_some_and(|it| !it.holds());
            let names: Vec<&str> = parts.iter().filter(is_open).map(|part| part.alias).collect();
            format!(
                "{open} of {all} {NOT_PROVED} within the tolerances: {}. {values} with the nominal values.",
                names.join(", ")
            )
        }
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
        None => alias.clone(),
    };
    let words = match part.calculation {
        Some(at) => {
            format!("<span data-c=\"{at}\" data-ck>{}</span>", escaped(&part.words))
        }
        None => format!("<span>{}</span>", escaped(&part.words)),
    };
    let found: String = part
        .found
        .iter()
        .map(|(place, verdict, text)| {
            let (class, text) = (class(*verdict), escaped(text));
            let word = if *verdict == Verdict::Fails { "FAILS" } else { "caution" };
            let linked = match &part.target {
                Some(target) => format!("<a href=\"#{target}k{place}\">{text}</a>"),
                None => text,
            };
            format!("<li class=\"{class}\"><b>{word}</b> {linked}</li>")
        })
        .collect();
    let tolerances = part.tolerances.map_or_else(String::new, |worst| {
        let class = if worst.holds() { "wo" } else { "wo bad" };
        format!(" <span class=\"v {class}\">{}.</span>", escaped(&worst.to_text()))
    });
    let open = if part.tolerances.is_none_or(WorstReview::holds) { "" } else { " np" };
    let place = part.calculation.map_or_else(String::new, |at| format!(" data-vd=\"{at}\""));
    format!(
        "<li class=\"{}{open}\" data-alias=\"{alias}\"{place}>{name}: {words}.{tolerances}<ul class=\"fl\">{found}</ul></li>",
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
        "<p class=\"vd\" data-vall><b>{}</b></p><ul class=\"vdl\">{}</ul>",
        escaped(&whole(&parts)),
        parts.iter().map(row).collect::<String>()
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
            to.push_str(&format!("; {}", cell(&worst.to_text())));
        }
        to.push('\n');
        // the first one is in the words of the part
        for (_, verdict, text) in part.found.iter().skip(1) {
            let word = if *verdict == Verdict::Fails { "**FAILS**" } else { "caution" };
            to.push_str(&format!("  - {word}: {}\n", cell(text)));
        }
    }
    to.push('\n');
    to
}
