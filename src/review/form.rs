//! A form as a page: sheets with their inputs to be filled in, one file for one sheet or for a whole library.
//!
//! Each sheet is a document of one calculation, written and followed by the same engine as a review.

use std::collections::HashMap;
use std::sync::Arc;

use pulldown_cmark::{Event, Parser, Tag};
use serde_json::{Value, json};

use super::block::USUAL;
use super::markup::{escaped, json as in_script, json_with_markup};
use super::model::{BlockContent, Calculation, Document, WorstReview, options, title};
use super::page::{Content, content, shared, shell};
use crate::calculation::{Inputs, Results};
use crate::diagnostic::{Problems, Source};
use crate::program::Program;
use crate::report::{DISCLAIMER, Release, identities};

/// A sheet that becomes a page.
#[derive(Clone, Debug)]
pub struct FormSheet {
    /// The compiled sheet.
    pub program: Arc<Program>,
    /// How it is named at the terminal.
    pub typed: String,
    /// Under which heading a list shows it; empty for none.
    pub group: String,
}

/// A page with a form for each sheet, calculated in the browser; `made` is the moment in words, `search` what the
/// list of sheets is searched by.
///
/// # Errors
/// An input without default and without example, from which the page could not start; an example that gives
/// no result.
pub fn form_page(sheets: &[FormSheet], search: &Value, made: &str) -> Result<String, Problems> {
    let mut problems = Vec::new();
    let mut contents = Vec::new();
    for sheet in sheets {
        match document(sheet) {
            Ok(document) => {
                let Content { html, data } = content(&document, made);
                // attributes alone hold quotes of this kind, and JSON writes each with two signs
                contents.push((html.replace('"', "'"), data));
            }
            Err(found) => problems.extend(found),
        }
    }
    if !problems.is_empty() {
        return Err(problems.into());
    }
    let short = frequent(contents.iter().map(|(html, _)| html.as_str()));
    let mut forms = String::new();
    for (at, (html, data)) in contents.iter().enumerate() {
        let form = json!({ "html": shortened(html, &short), "data": data });
        forms.push_str(&format!(
            "<script type=\"application/json\" data-form=\"{at}\">{}</script>\n",
            json_with_markup(&form)
        ));
    }
    let name = match sheets {
        [one] => title(&one.program),
        _ => "Stops and distances: calculation sheets",
    };
    let mut shared = shared(sheets.iter().map(|sheet| &*sheet.program));
    if let Some(shared) = shared.as_object_mut() {
        shared.insert("forms".to_owned(), sheets.iter().map(listed).collect());
        shared.insert("search".to_owned(), search.clone());
        let short = short.into_iter().map(|(tags, letter)| (letter.to_string(), tags.into()));
        shared.insert("short".to_owned(), Value::Object(short.collect()));
    }
    let shared = in_script(&shared);
    // without scripts nothing is calculated, and that is said
    let body = format!(
        "<h1>{}</h1><noscript><p class=\"trust\">This page calculates in the browser, and the browser does not allow it scripts. Allow them, or open it with another browser.</p></noscript><p class=\"trust\">{} Made {made} by Standstill {}.</p>",
        escaped(name),
        escaped(DISCLAIMER),
        env!("CARGO_PKG_VERSION"),
    );
    let data = format!("{forms}<script type=\"application/json\" id=\"forms\">{shared}</script>\n");
    Ok(shell(name, &format!("{name} · {made}"), false, &body, &data))
}

/// The runs of tags of which a library has many thousand, the most worth first, each with a letter for it.
///
/// A short form is a backtick and a letter of two bytes: three bytes, as many as the letters from U+0100 allow.
fn frequent<'a>(pages: impl Iterator<Item = &'a str>) -> HashMap<&'a str, char> {
    let mut counts: HashMap<&str, usize> = HashMap::new();
    for (tags, _) in pages.flat_map(pieces) {
        *counts.entry(tags).or_default() += 1;
    }
    let worth = |(tags, count): &(&str, usize)| tags.len().saturating_sub(3) * count;
    let mut runs: Vec<(&str, usize)> =
        counts.into_iter().filter(|run| worth(run) > 2 * run.0.len()).collect();
    runs.sort_by(|a, b| worth(b).cmp(&worth(a)).then(a.0.cmp(b.0)));
    runs.into_iter().map(|(tags, _)| tags).zip('\u{100}'..='\u{2af}').collect()
}

/// Markup as runs of tags, each with the text behind it.
fn pieces(html: &str) -> impl Iterator<Item = (&str, &str)> {
    let mut rest = html;
    std::iter::from_fn(move || {
        let mut end = 0;
        while rest.get(end..)?.starts_with('<') {
            end = rest.get(end..)?.find('>').map_or(rest.len(), |at| end + at + 1);
        }
        let (tags, behind) = rest.split_at(end);
        let (text, next) = behind.split_at(behind.find('<').unwrap_or(behind.len()));
        rest = next;
        (!tags.is_empty() || !text.is_empty()).then_some((tags, text))
    })
}

/// Markup with its frequent tags in short; a backtick of its own is two.
fn shortened(html: &str, short: &HashMap<&str, char>) -> String {
    let doubled = |text: &str| text.replace('`', "``");
    pieces(html)
        .map(|(tags, text)| match short.get(tags) {
            Some(letter) => format!("`{letter}{}", doubled(text)),
            None => doubled(tags) + &doubled(text),
        })
        .collect()
}

/// What the list of sheets shows of one.
fn listed(sheet: &FormSheet) -> Value {
    let program = &sheet.program;
    let name = program.scopes.first().map_or("", |scope| scope.sheet.as_str());
    json!({ "name": name, "title": title(program), "group": sheet.group })
}

/// A sheet with its examples as a document of one calculation.
fn document(sheet: &FormSheet) -> Result<Document, Problems> {
    let program = &sheet.program;
    let mut inputs = Inputs::new(program);
    inputs.fill_with_examples();
    let results = Results::compute(inputs.program(), &inputs)?;
    let release = Release::of(&results);
    let scope = program.scopes.first();
    let name = scope.map_or("", |scope| scope.sheet.as_str());
    let calculation = Calculation {
        alias: name.to_owned(),
        sheet: name.to_owned(),
        worst: WorstReview::of(&results, &release),
        release,
        results,
        shows: USUAL.to_vec(),
        from: None,
        own: Vec::new(),
        protocol: None,
        typed: sheet.typed.clone(),
        links: Vec::new(),
        slopes_of: Vec::new(),
    };
    let heading: String = title(program)
        .chars()
        .flat_map(|sign| sign.is_ascii_punctuation().then_some('\\').into_iter().chain([sign]))
        .collect();
    let text = format!("# {heading}\n\n```sheet\n```\n");
    let block = Parser::new_ext(&text, options()).into_offset_iter().find_map(|(event, range)| {
        matches!(event, Event::Start(Tag::CodeBlock(_))).then_some(range)
    });
    Ok(Document {
        source: Source::new(sheet.typed.clone(), text),
        calculations: vec![calculation],
        lines: Vec::new(),
        blocks: block.into_iter().map(|range| (range, BlockContent::Calculation(0))).collect(),
        images: Vec::new(),
        values: Vec::new(),
        files: Vec::new(),
        sheets: identities(std::iter::once(&**program)),
        back: String::new(),
    })
}
