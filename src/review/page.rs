//! The page: one file that carries everything with it.

use std::cell::RefCell;
use std::collections::BTreeMap;

use serde_json::Value;

use super::block::Show;
use super::client_data::{Formats, asks, client_data, preferred, remedies, spellings};
use super::files::{hash_base64, sealed};
use super::lines::{SectionWriter, html_table, inputs};
use super::markup::{escaped, harmless, json};
use super::model::{BlockContent, Calculation, Document, title};
use super::picture::{Pictures, Slopes, margins, numbered};
use super::product::ProductReview;
use super::revision;
use super::{markdown, symbols, verdict, worst};
use crate::program::{Program, Register};
use crate::report::{self, DISCLAIMER, Identity};

pub(super) const STYLE: &str = include_str!("page/page.css");
const SCRIPTS: &[&str] = &[
    include_str!("page/arithmetic.js"),
    include_str!("page/engine.js"),
    include_str!("page/words.js"),
    include_str!("page/typed.js"),
    include_str!("page/questions.js"),
    include_str!("page/pictures.js"),
    include_str!("page/reader.js"),
];

/// What a page of forms has besides: files that are read, tolerances, the list of sheets.
const FORMS: &[&str] = &[
    include_str!("page/grid.js"),
    include_str!("page/tolerance.js"),
    include_str!("page/form.js"),
    include_str!("page/forms.js"),
];

/// What a page with a picture of courses has besides.
const COURSES: &str = include_str!("page/courses.js");

/// What stands before the moment at which a page was made.
pub const MADE: &str = "<time id=\"made\">";

/// The whole page; `made` is the moment in words.
#[must_use]
pub fn page(document: &Document, made: &str) -> String {
    let Content { html, mut data } = content(document, made);
    if let (Some(data), Value::Object(shared)) = (data.as_object_mut(), shared(document.programs()))
    {
        data.extend(shared);
    }
    let data = format!("<script type=\"application/json\" id=\"data\">{}</script>\n", json(&data));
    let name = heading(document, &html);
    let revision = match revision::stated(&document.source.text).as_slice() {
        [one] => format!(" · revision {one}"),
        _ => String::new(),
    };
    let verdict = verdict::brief(document);
    let head = format!("{verdict}{name}{revision} · {made} · sha256 {}", document.short_id());
    shell(&name, &head, verdict::on_examples(document), &format!("{TRIAL}{html}"), &data)
}

/// What a printed trial says above everything else; hidden until there is one.
const TRIAL: &str = "<p class=\"tryd\">A reader's trial: inputs marked ● were changed. This is not the review as it was made.</p>\n";

/// A document as a part of a page: what is read, and what its scripts follow it by.
pub(super) struct Content {
    pub(super) html: String,
    pub(super) data: Value,
}

/// What the scripts of every calculation know.
pub(super) fn shared<'a>(programs: impl Iterator<Item = &'a Program>) -> Value {
    serde_json::json!({
        "preferred": preferred(), "asks": asks(), "spellings": spellings(programs),
        "examples": report::EXAMPLES.iter().chain([&report::LEFT]).collect::<Vec<_>>(), "why": report::WHY,
        "remedies": remedies(),
    })
}

/// The page around its parts: one file that asks nothing of any network. What is of no machine is not signed.
pub(super) fn shell(name: &str, head: &str, unsigned: bool, html: &str, data: &str) -> String {
    // within a text each quote would have its sign before it
    let courses = data.contains("[\"course\",{").then_some(COURSES);
    let forms = if data.contains("id=\"forms\"") { FORMS } else { &[] };
    let script = SCRIPTS.iter().chain(&courses).chain(forms).copied();
    let script = script.collect::<Vec<_>>().join("\n");
    let (body, foot) =
        if unsigned { ("<body class=\"unsigned\">", UNSIGNED) } else { ("<body>", "") };
    let head = running_head(head) + foot;
    sealed(format!(
        "<!doctype html>\n<html lang=\"en\"><head><meta charset=\"utf-8\"><meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\
         <meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'; script-src 'sha256-{}'; img-src data:\">\
         <title>{}</title><style>\n{STYLE}{head}</style></head>\n{body}<main>\n{html}</main>\n\
         <aside id=\"bar\" aria-label=\"changed inputs\" hidden></aside>\n\
         {data}<script>{script}</script></body></html>\n",
        hash_base64(script.as_bytes()),
        escaped(name),
    ))
}

/// The foot of every printed page whose inputs are the sheet's examples.
const UNSIGNED: &str = "@page { @bottom-left { content: \"the sheet's examples: not to be signed\"; font: 7.5pt sans-serif; } }\n";

/// What stands on every printed page: a string of CSS, in which no sign of the words can end it.
pub(super) fn running_head(words: &str) -> String {
    let words: String = words
        .chars()
        .map(harmless)
        .map(|sign| match sign {
            '"' | '\\' | '<' | '\n' | '\r' => format!("\\{:x} ", u32::from(sign)),
            other => other.to_string(),
        })
        .collect();
    format!("@page {{ @top-left {{ content: \"{words}\"; font: 7.5pt sans-serif; }} }}\n")
}

/// Text, calculations and what they rest on.
pub(super) fn content(document: &Document, made: &str) -> Content {
    let formats = Formats::default();
    let sources = report::sources(document.programs());
    let cautions = report::cautions(document.programs());
    let shown = RefCell::default();
    let drawn: Vec<Rendered> = document.calculations.iter().map(Rendered::of).collect();
    let body = markdown::page(document, &formats, &|stands| match stands {
        BlockContent::Written => String::new(),
        BlockContent::Calculation(at) => section(document, at, &drawn, &formats, &sources, &shown),
        BlockContent::Line(at) => {
            document.lines.get(at).map_or_else(String::new, |one| line(document, at, one))
        }
    });
    let programs: Vec<_> =
        document.calculations.iter().map(|one| client_data(one, &formats)).collect();
    let pictures: Vec<_> = drawn.iter().map(|one| one.pictures.client_data()).collect();
    let slopes: Vec<_> = document
        .calculations
        .iter()
        .zip(&drawn)
        .map(|(one, drawn)| Some(drawn.slopes.as_ref()?.client_data(&one.results, &formats)))
        .collect();
    let links: Vec<_> = document.calculations.iter().map(|one| links(document, one)).collect();
    let data = serde_json::json!({
        "calculations": programs, "pictures": pictures, "slopes": slopes, "links": links,
        "formats": formats.all(), "id": document.short_id(),
    });
    let end = format!(
        "{}{}{}{}{}",
        symbols::html(document),
        list("sources", "Sources", "src", &sources),
        list("cautions", "Cautions", "cau", &cautions),
        made_from(document, made),
        // what calculates nothing has no verdict, and nothing to be signed
        if document.programs().next().is_none() {
            String::new()
        } else {
            SIGNATURES.replace("<table", &format!("{}<table", verdict::foot(document)))
        }
    );
    let contents = markdown::contents(&format!("{body}{end}"));
    let body = with_verdict(&numbered(&body), &(verdict::head(document) + &contents));
    Content { html: markdown::led(&(body + &end)), data }
}

/// The verdict stands below the title of the document, else before everything.
fn with_verdict(body: &str, verdict: &str) -> String {
    match body.split_once("</h1>") {
        Some((title, rest)) if !title.contains("<section") => {
            format!("{title}</h1>\n{verdict}{rest}")
        }
        _ => format!("{verdict}{body}"),
    }
}

/// What is drawn of a calculation.
struct Rendered {
    pictures: Pictures,
    slopes: Option<Slopes>,
}

impl Rendered {
    fn of(calculation: &Calculation) -> Self {
        let asked = calculation.shows.contains(&Show::Slopes);
        let slopes = asked.then(|| Slopes::of(&calculation.results, &calculation.slopes_of));
        Self { pictures: Pictures::of(&calculation.results), slopes }
    }
}

/// Inputs that hold other calculations' values: input, of each its element, calculation and register there; words.
fn links(document: &Document, calculation: &Calculation) -> Value {
    let found = calculation.links.iter().map(|link| {
        let from: Vec<_> = link
            .from
            .iter()
            .filter_map(|(element, origin)| {
                let mut all = document.calculations.iter();
                let at = all.position(|other| other.alias == origin.alias)?;
                Some((element, at, origin.register.0))
            })
            .collect();
        serde_json::json!([link.input, from, link.words])
    });
    found.collect()
}

/// A product line.
fn line(document: &Document, at: usize, line: &ProductReview) -> String {
    format!(
        "<section class=\"calc kept\"><h3 id=\"line{at}\"><span>{}</span> {}</h3><p class=\"from\">{}, variants from {}</p><p class=\"orig\">The variants keep the inputs of their file: a trial does not reach them.</p><p class=\"vd\"><b>{}</b>.{}</p>{}</section>\n",
        escaped(&line.alias),
        escaped(title(&line.program)),
        sheet(document, &line.program),
        escaped(&line.from),
        escaped(&line.to_text()),
        verdict::examples(None, &line.examples),
        margins(line)
    )
}

fn section(
    document: &Document,
    at: usize,
    drawn: &[Rendered],
    formats: &Formats,
    sources: &[&str],
    shown: &RefCell<BTreeMap<String, String>>,
) -> String {
    let (Some(calculation), Some(drawn)) = (document.calculations.get(at), drawn.get(at)) else {
        return String::new();
    };
    if calculation.shows.is_empty() {
        return String::new();
    }
    let program = calculation.results.program();
    let release = &calculation.release;
    let (results, alias) = (&calculation.results, calculation.alias.as_str());
    let spoken: Vec<Register> = document.spoken(at).collect();
    let spoken = &spoken;
    let stands = calculation.stands_on().join("; ");
    let hidden = if stands.is_empty() { " hidden" } else { "" };
    let stands = format!(
        "<p class=\"rs\" data-rs=\"{at}\"{hidden}>{}</p>",
        document.with_links(&of_no_use(&stands))
    );
    // a trial may bring it about wherever a value is taken
    let stands = if calculation.links.is_empty() { "" } else { stands.as_str() };
    let writer =
        SectionWriter { at, stands, results, release, formats, sources, shown, alias, spoken };
    let mut to = format!(
        "<section class=\"calc\" data-calc=\"{at}\" aria-labelledby=\"calc{at}\"><h3 id=\"calc{at}\"><span>{}</span> <b>{}</b></h3><p class=\"from\">{}{}</p>{}",
        escaped(&calculation.alias),
        escaped(title(program)),
        sheet(document, program),
        from(calculation),
        stands
    );
    // said once, where a range is first seen
    let mut handed = worst::handed_on_here(calculation);
    let mut part = |show: &Show| match show {
        Show::Inputs => inputs(at, calculation, formats) + &std::mem::take(&mut handed),
        Show::Results => writer.figures(),
        Show::Checks => writer.checks(),
        Show::Settings => writer.settings(calculation.worst.as_ref()),
        Show::Picture => drawn.pictures.figures() + &std::mem::take(&mut handed),
        Show::Steps => writer.steps(),
        Show::Worst => worst::section(calculation) + &std::mem::take(&mut handed),
        Show::Slopes => drawn.slopes.as_ref().map_or_else(String::new, Slopes::figures),
    };
    let shows = &calculation.shows;
    let place = shows.iter().position(|show| *show == Show::Inputs);
    let beside = shows.iter().any(|show| !matches!(show, Show::Inputs | Show::Steps));
    match place.filter(|_| beside) {
        // inputs stand beside what follows from them where there is room; steps below both
        Some(place) => {
            let ins = format!("<div class=\"ins\">{}</div>", part(&Show::Inputs));
            let rest = shows.iter().filter(|show| !matches!(show, Show::Inputs | Show::Steps));
            let outs = format!(
                "<div class=\"outs\" role=\"group\" aria-label=\"results\">{}</div>",
                rest.map(&mut part).collect::<String>()
            );
            let pair = if place == 0 { ins + &outs } else { outs + &ins };
            to.push_str(&format!("<div class=\"pair\">{pair}</div>"));
            if shows.contains(&Show::Steps) {
                to.push_str(&part(&Show::Steps));
            }
        }
        None => to.push_str(&shows.iter().map(&mut part).collect::<String>()),
    }
    // a check that fails is seen whatever the document shows of the calculation
    if !calculation.shows.contains(&Show::Checks) {
        to.push_str(&writer.failing());
    }
    to.push_str("</section>\n");
    to
}

/// What it means that a calculation stands on one that is none to go by.
fn of_no_use(stands: &str) -> String {
    match stands {
        "" => String::new(),
        stands => format!("It {stands}: the figures here are none to go by."),
    }
}

/// Which sheet it is, and where it comes from.
fn sheet(document: &Document, program: &Program) -> String {
    let Some(scope) = program.scopes.first() else { return String::new() };
    let own = Identity::of(scope);
    let known = document.sheets.iter().find(|it| it.sheet == own.sheet && it.sha256 == own.sha256);
    format!("Sheet {}, {}", escaped(&own.sheet), escaped(&known.unwrap_or(&own).to_string()))
}

fn from(calculation: &Calculation) -> String {
    let origin = calculation.origin();
    if origin.is_empty() { origin } else { format!(", {}", escaped(&origin)) }
}

fn list(id: &str, title: &str, mark: &str, items: &[&str]) -> String {
    if items.is_empty() {
        return String::new();
    }
    let items: String = items
        .iter()
        .enumerate()
        .map(|(at, text)| format!("<li id=\"{mark}{}\">{}</li>", at + 1, escaped(text)))
        .collect();
    format!("<section class=\"end\"><h2 id=\"{id}\">{title}</h2><ol>{items}</ol></section>\n")
}

fn made_from(document: &Document, made: &str) -> String {
    let rows: String = document
        .files
        .iter()
        .map(|file| {
            format!(
                "<tr><th scope=\"row\">{}</th><td><code>{}</code></td></tr>",
                escaped(&file.name),
                file.hash
            )
        })
        .collect();
    let sheets = html_table(&Identity::table(&document.sheets), "files");
    let files = match document.files.as_slice() {
        [] => format!(
            "<p>This form was made {MADE}{}</time> by Standstill {}; the browser calculates what it shows.</p>",
            escaped(made),
            env!("CARGO_PKG_VERSION")
        ),
        _ => format!(
            "<p>Calculated {MADE}{}</time> by Standstill {} from these files. A file that has changed since has another SHA-256, which for a text is that with line feeds as line ends. The review is known by {}: one SHA-256 over all of them, over the sheets below and the version.</p>\
             <table class=\"files\"><thead><tr><th scope=\"col\">file</th><th scope=\"col\">SHA-256</th></tr></thead><tbody>{rows}</tbody></table>",
            escaped(made),
            env!("CARGO_PKG_VERSION"),
            document.short_id(),
        ),
    };
    format!(
        "<section class=\"end\"><h2 id=\"made-from\">What this page is made from</h2><p class=\"trust\">{}</p>{files}<p>The sheets that took part, with those that they use:</p>{sheets}</section>\n",
        escaped(DISCLAIMER),
    )
}

pub(super) const SIGNATURES: &str = "<section class=\"end signed\"><h2 id=\"signatures\">Signatures</h2><table class=\"sign\"><thead><tr><td></td><th scope=\"col\">name</th><th scope=\"col\">date</th><th scope=\"col\">signature</th></tr></thead><tbody><tr><th scope=\"row\">prepared</th><td></td><td></td><td></td></tr><tr><th scope=\"row\">checked</th><td></td><td></td><td></td></tr><tr><th scope=\"row\">approved</th><td></td><td></td><td></td></tr></tbody></table></section>\n";

/// The first heading of the document as it is read, its values put in; else its file name.
fn heading(document: &Document, html: &str) -> String {
    let first = html.split_once("<h1").and_then(|(_, rest)| rest.split_once("</h1>"));
    let words = first.and_then(|(inner, _)| Some(markdown::words_of(inner.split_once('>')?.1)));
    let file = || document.files.first().map_or_else(String::new, |file| file.name.clone());
    words.filter(|words| !words.is_empty()).unwrap_or_else(file)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// What a style sheet writes is neither copied nor found, nor read out for certain: only the margins of
    /// printed pages, which no markup reaches, are written by it.
    #[test]
    fn no_word_of_the_page_is_written_by_its_style() {
        let screen = STYLE.lines().filter(|line| !line.trim_start().starts_with("@page"));
        for line in screen.chain(SCRIPTS.iter().chain([&COURSES]).flat_map(|script| script.lines()))
        {
            let printed = line.contains("@page");
            for part in line.replace("-content:", "").split("content:").skip(1).filter(|_| !printed)
            {
                let value = part.split([';', '}']).next().unwrap_or_default().trim();
                assert!(value == "\"\"" || value == "none", "content: {value} in {line}");
            }
        }
        assert!(STYLE.contains("content: counter(page)"), "the margins are looked at");
    }
}
