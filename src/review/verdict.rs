//! The verdict of a review: what holds, what fails and what is not proved, over values, tolerances and lines.

use super::lines::class;
use super::markup::{escaped, tied_words, with_minus, worded};
use super::model::{Calculation, Document, WorstReview};
use super::product::ProductReview;
use super::revision::not_on_pages as no_revision;
use super::worst::NOT_PROVED;
use crate::calculation::Verdict;
use crate::diagnostic::Name;
use crate::report::Remark;

/// What one calculation or one product line comes to.
struct Part<'a> {
    alias: &'a str,
    /// Where the page shows it; none where the document shows nothing of it.
    target: Option<String>,
    /// The calculation whose verdict follows a trial.
    calculation: Option<usize>,
    verdict: Verdict,
    words: String,
    /// How many checks were made, of a line in each variant.
    checks: usize,
    /// Checks that fail and cautions that were found.
    found: Vec<Found>,
    /// How many of its inputs are the sheet's examples, in words; empty where none is.
    examples: String,
    /// That it stands on what is none to go by; empty where it does not.
    stands: String,
    /// Whether nothing may be signed for that.
    unsigned: bool,
    /// What the tolerances make of it; none where no input has one.
    tolerances: Option<&'a WorstReview>,
}

/// A check that does not hold, or something else to be looked at.
struct Found {
    /// Its place among the checks of the calculation; none where a trial does not reach it.
    place: Option<usize>,
    verdict: Verdict,
    text: String,
    /// The attributes by which the page knows what it is about; empty for a check.
    about: String,
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
    let found = found.map(|(place, check)| Found {
        place: Some(place),
        verdict: check.verdict,
        about: String::new(),
        text: match check.otherwise.as_str() {
            "" => check.text.clone(),
            otherwise => format!("{}: {otherwise}", check.text),
        },
    });
    // what is to be looked at in the protocol that the inputs come from is to be looked at here
    let protocol = calculation.protocol.iter().flat_map(|it| &it.open).map(|text| Found {
        place: None,
        verdict: Verdict::Caution,
        text: format!("protocol of its inputs: {text}"),
        about: " data-stays".to_owned(),
    });
    let is_note =
        |it: &Remark| matches!(it, Remark::Said(said) if said.name == Name::PlateNotation);
    let inputs = &calculation.results.program().inputs;
    let said = calculation.remarks().into_iter().filter(|it| !is_note(it)).map(|it| {
        let line = it.to_line();
        // what is said of an input is said while it has its value
        let named = inputs.iter().filter_map(|input| {
            line.find(&format!("`{}`", input.name)).map(|at| (at, input.name.as_str()))
        });
        let name = named.min().map_or("", |(_, name)| name);
        let is_idle = matches!(&it, Remark::Said(said) if said.name == Name::InputWithoutEffect);
        Found {
            place: None,
            verdict: Verdict::Caution,
            text: line.replace('`', ""),
            about: format!(" data-stays=\"{name}\"{}", if is_idle { " data-idle" } else { "" }),
        }
    });
    let mut found: Vec<Found> = found.chain(protocol).chain(said).collect();
    // what fails stands first, here and in a trial
    found.sort_by_key(|it| it.verdict != Verdict::Fails);
    let any = |verdict| found.iter().any(|it| it.verdict == verdict);
    let over = calculation.worst.as_ref().is_some_and(|worst| worst.caution);
    let verdict = if any(Verdict::Fails) {
        Verdict::Fails
    } else if over || any(Verdict::Caution) {
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
        checks: calculation.results.program().checks.len(),
        found,
        stands: calculation.stands_on().join("; "),
        unsigned: !calculation.examples_text().is_empty(),
        examples: calculation.examples_text(),
        tolerances: calculation.worst.as_ref(),
    }
}

fn of_line((at, line): (usize, &ProductReview)) -> Part<'_> {
    let all = line.holds + line.fails;
    let open = line.checks.iter().filter(|check| !check.open().is_empty()).map(|check| Found {
        place: None,
        verdict: if check.caution { Verdict::Caution } else { Verdict::Fails },
        text: format!("{} (in {} of {all} variants)", check.text, check.fails + check.not_proved),
        about: String::new(),
    });
    let said = line.said.iter().map(|it| Found {
        place: None,
        verdict: Verdict::Caution,
        text: Remark::Said(it.clone()).to_line().replace('`', ""),
        about: String::new(),
    });
    Part {
        alias: &line.alias,
        target: Some(format!("line{at}")),
        calculation: None,
        verdict: line.verdict(),
        words: line.to_text(),
        checks: line.checks.len(),
        found: open.chain(said).collect(),
        stands: String::new(),
        unsigned: line.unsigned,
        examples: line.examples.clone(),
        tolerances: None,
    }
}

/// Everything in one sentence: how many fail, or that a caution was found, and which is the first.
fn whole(parts: &[Part<'_>]) -> String {
    let of = |verdict| parts.iter().filter(|part| part.verdict == verdict).count();
    let open =
        parts.iter().filter(|part| part.tolerances.is_some_and(WorstReview::is_open)).count();
    let all = parts.len();
    let texts = |verdict| {
        let mut found: Vec<String> = Vec::new();
        for part in parts {
            let own = part.found.iter().filter(|it| it.verdict == verdict);
            let own = own.map(|it| it.text.clone()).chain(over(part, verdict));
            let before = found.len();
            found.extend(own.map(|text| format!("{}: {text}", part.alias)));
            if found.len() == before && part.found.is_empty() && part.verdict == verdict {
                found.push(part.alias.to_owned());
            }
        }
        found
    };
    let first = |verdict| match texts(verdict).split_first() {
        None => String::new(),
        Some((first, [])) => first.clone(),
        Some((first, more)) => format!("{first} (and {} more)", more.len()),
    };
    let values = match (of(Verdict::Fails), texts(Verdict::Caution).len()) {
        (0, 0) if parts.iter().all(|it| it.checks == 0) => "Nothing is checked".to_owned(),
        (0, 0) => "Every check holds".to_owned(),
        (0, 1) => format!("No check fails; a caution was found: {}", first(Verdict::Caution)),
        (0, many) => {
            format!("No check fails; {many} cautions were found: {}", first(Verdict::Caution))
        }
        (fails, _) => format!("{}: {}", counted(parts, fails), first(Verdict::Fails)),
    };
    let sentence = match open {
        0 => format!("{values}."),
        open if of(Verdict::Fails) > 0 => {
            format!("{values}; {open} of {all} {NOT_PROVED} within the tolerances.")
        }
        open => {
            let is_open = |part: &&Part<'_>| part.tolerances.is_some_and(WorstReview::is_open);
            let names: Vec<&str> = parts.iter().filter(is_open).map(|part| part.alias).collect();
            format!(
                "{open} of {all} {NOT_PROVED} within the tolerances: {}. {values} with the nominal values.",
                names.join(", ")
            )
        }
    };
    let examples = parts.iter().filter(|part| !part.examples.is_empty());
    let examples = examples.map(|part| format!(" {}: {}.", part.alias, part.examples));
    sentence + &standing(parts) + &examples.collect::<String>()
}

/// Which parts stand on what is none to go by, in a sentence.
fn standing(parts: &[Part<'_>]) -> String {
    let found: Vec<&str> =
        parts.iter().filter(|part| !part.stands.is_empty()).map(|part| part.alias).collect();
    match found.as_slice() {
        [] => String::new(),
        [one] => format!(" {one} stands on what is none to go by."),
        all => format!(" {} stand on what is none to go by.", all.join(", ")),
    }
}

/// How many fail: of one part alone its checks are counted.
fn counted(parts: &[Part<'_>], fails: usize) -> String {
    let (fails, all, what) = match parts {
        [one] => match one.found.iter().filter(|it| it.verdict == Verdict::Fails).count() {
            0 => (fails, 1, ""),
            checks => (checks, one.checks, " checks"),
        },
        all => (fails, all.len(), ""),
    };
    match (fails, all, what) {
        (1, 1, " checks") => "The check FAILS".to_owned(),
        (1, ..) => format!("1 of {all}{what} FAILS"),
        _ => format!("{fails} of {all}{what} FAIL"),
    }
}

/// The cautions of a part that only its tolerances bring.
fn over(part: &Part<'_>, verdict: Verdict) -> Vec<String> {
    let known = |text: &str| part.found.iter().any(|it| it.text.starts_with(text));
    let found = part.tolerances.filter(|_| verdict == Verdict::Caution);
    let found = found.map(WorstReview::cautions).unwrap_or_default().into_iter();
    found.filter(|text| !known(text)).map(|text| format!("{text}, within the tolerances")).collect()
}

/// Calculations that a line on every printed page names.
const NAMED: usize = 3;

/// Whether inputs of a calculation or of a variant are the sheet's examples, so that nothing is signed.
pub(super) fn on_examples(document: &Document) -> bool {
    parts(document).iter().any(|part| part.unsigned)
}

/// The verdict for a line on every printed page, before what else stands there; empty where nothing is calculated.
pub(super) fn brief(document: &Document) -> String {
    let parts = parts(document);
    let words = whole(&parts);
    let examples = parts.iter().filter(|part| !part.examples.is_empty());
    let examples: Vec<&str> = examples.map(|part| part.alias).collect();
    let examples = match examples.len() {
        0 => String::new(),
        many if many > NAMED => {
            format!("NOT YOUR MACHINE: examples in {many} of {}, ", parts.len())
        }
        _ => format!("NOT YOUR MACHINE: examples in {}, ", examples.join(", ")),
    };
    match words.split([':', '.']).next() {
        Some(first) if !parts.is_empty() => format!("{examples}{first} · "),
        _ => String::new(),
    }
}

/// How figures of the text are told apart on a page.
const UNDERLINED: &str = "In the text a figure with a dotted underline is calculated, and leads to where it comes from; any other was typed.";

/// How they are where only links can tell them apart.
const LINKED: &str = "In the text a figure that is a link to a calculation or a product line comes from there; any other was typed.";

/// The same where the text has no calculated one.
const TYPED: &str =
    "No figure of the text is calculated: each was typed. What is calculated stands in the tables.";

/// The verdict at the head of the page; nothing where the document calculates nothing.
pub(super) fn head(document: &Document) -> String {
    let parts = parts(document);
    if parts.is_empty() {
        return String::new();
    }
    let rows: String = parts.iter().map(|part| row(document, part)).collect();
    format!(
        "<section class=\"verdict\" aria-labelledby=\"verdict\"><h2 id=\"verdict\">Verdict</h2><p class=\"vd\" data-vall><b>{}</b></p><ul class=\"vdl\">{rows}</ul><p class=\"rest\">{}{}</p></section>\n",
        worded(&whole(&parts)),
        match no_revision(&document.source.text) {
            words if words.is_empty() => words,
            words => format!("<b>{}</b> ", escaped(&words)),
        },
        match (document.files.is_empty(), document.values.is_empty()) {
            // a form has no text
            (true, _) => "",
            (_, true) => TYPED,
            _ => UNDERLINED,
        }
    )
}

/// The words for inputs that are the sheet's examples, behind a verdict; those of a calculation follow a trial.
pub(super) fn examples(calculation: Option<usize>, words: &str) -> String {
    let place =
        calculation.map_or_else(|| " data-xl".to_owned(), |at| format!(" data-xm=\"{at}\""));
    match (words, calculation) {
        ("", None) => String::new(),
        ("", _) => format!(" <small class=\"exm\"{place} hidden></small>"),
        (words, _) => format!(" <small class=\"exm\"{place}>{}.</small>", escaped(words)),
    }
}

fn row(document: &Document, part: &Part<'_>) -> String {
    let alias = escaped(part.alias);
    let name = match &part.target {
        Some(target) => format!("<a href=\"#{target}\">{alias}</a>"),
        None => alias.clone(),
    };
    let words = match part.calculation {
        Some(at) => {
            format!("<span data-c=\"{at}\" data-ck>{}</span>", worded(&part.words))
        }
        // a trial does not reach a product line: what it fails, it fails
        None => format!("<span class=\"v ln\">{}</span>", worded(&part.words)),
    };
    let examples = examples(part.calculation, &part.examples);
    let found: String = part
        .found
        .iter()
        .map(|Found { place, verdict, text, about }| {
            let (class, text) = (class(*verdict), worded(text));
            let word = if *verdict == Verdict::Fails { "FAILS" } else { "caution" };
            let linked = match (&part.target, place) {
                (Some(target), Some(place)) => format!("<a href=\"#{target}k{place}\">{text}</a>"),
                (Some(target), None) => format!("<a href=\"#{target}\">{text}</a>"),
                (None, _) => format!("<span>{text}</span>"),
            };
            format!("<li class=\"{class}\"{about}><b>{word}</b> {linked}</li>")
        })
        .collect();
    let tolerances = part.tolerances.map_or_else(String::new, |worst| {
        let class = if worst.is_open() { "wo bad" } else { "wo" };
        format!("; <span class=\"v {class}\">{}</span>", tied_words(&worst.to_text()))
    });
    let open = part.tolerances.is_some_and(WorstReview::is_open) || !part.stands.is_empty();
    let open = if open { " np" } else { "" };
    let stands = match part.stands.as_str() {
        "" => String::new(),
        words => format!("<li class=\"rs\"><b>caution</b> {}</li>", document.with_links(words)),
    };
    let place = part.calculation.map_or_else(String::new, |at| format!(" data-vd=\"{at}\""));
    let bare = if part.checks == 0 { " data-bare" } else { "" };
    format!(
        "<li class=\"{}{open}\" data-alias=\"{alias}\"{place}{bare}>{name}: {words}{tolerances}.{examples}<ul class=\"fl\">{stands}{found}</ul></li>",
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
        worded(&whole(&parts)),
        parts.iter().map(|part| row(document, part)).collect::<String>()
    )
}

/// The verdict as Markdown, `cell` keeping words from becoming marks.
pub(super) fn plain(document: &Document, cell: &dyn Fn(&str) -> String) -> String {
    let cell = |text: &str| cell(&with_minus(text));
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
        for words in [&part.examples, &part.stands].into_iter().filter(|it| !it.is_empty()) {
            to.push_str(&format!("; {}", cell(words)));
        }
        to.push('\n');
        // the first check of a calculation is in its words
        let said =
            part.calculation.is_some() && part.found.first().is_some_and(|it| it.place.is_some());
        for Found { verdict, text, .. } in part.found.iter().skip(usize::from(said)) {
            let word = if *verdict == Verdict::Fails { "**FAILS**" } else { "caution" };
            to.push_str(&format!("  - {word}: {}\n", cell(text)));
        }
    }
    let told_apart = if document.values.is_empty() { TYPED } else { LINKED };
    to.push_str(&format!("\n{told_apart}\n"));
    to
}
