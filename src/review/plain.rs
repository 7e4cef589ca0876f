//! The review as Markdown: blocks become tables, values become figures.

use std::ops::Range;

use percent_encoding::{AsciiSet, CONTROLS, utf8_percent_encode};
use pulldown_cmark::{Event, LinkType, Parser, Tag};

use super::block::Show;
use super::files::sealed;
use super::images::{is_elsewhere, title_range};
use super::lines::{comes_from, given};
use super::markup::{harmless, with_minus};
use super::model::{BlockContent, Calculation, Document, What, options, title};
use super::product::ProductReview;
use super::{symbols, verdict, worst};
use crate::calculation::{Sensitivities, Verdict};
use crate::report::markdown::{self, cell, signs};
use crate::report::{self, DISCLAIMER, Identity, tolerance};

/// The document with its blocks and values calculated, as CommonMark with tables.
#[must_use]
pub fn plain(document: &Document, made: &str) -> String {
    let text = &document.source.text;
    let mut parts: Vec<(Range<usize>, String)> = Vec::new();
    for (range, stands) in &document.blocks {
        let part = match stands {
            BlockContent::Written => None,
            BlockContent::Calculation(at) => document.calculations.get(*at).map(section),
            BlockContent::Line(at) => document.lines.get(*at).map(line),
        };
        parts.extend(part.map(|part| (range.clone(), part)));
    }
    for (range, inline) in &document.values {
        let words = inline.to_text(&document.calculations, &document.lines);
        let words = cell(&with_minus(&words));
        let calculation = document.calculations.get(inline.calculation);
        let mark = match inline.caveat(&document.calculations) {
            words if words.is_empty() => words,
            words => format!(" ({})", cell(&words)),
        };
        let mark = match (&inline.what, calculation.map(Calculation::examples_text)) {
            (What::Checks, Some(text)) if !text.is_empty() => {
                format!("{mark} ({})", cell(&text))
            }
            (What::Value { rounded, extent, .. }, _) => {
                let words = [Some(rounded).filter(|it| !it.is_empty()), extent.as_ref()];
                let words = words.into_iter().flatten().map(|it| format!(" ({})", cell(it)));
                words.collect::<String>() + &mark
            }
            _ => mark,
        };
        parts.push((range.clone(), format!("{words}{mark}")));
    }
    // what ends a title stands in none of its values
    for (event, image) in Parser::new_ext(text, options()).into_offset_iter() {
        let Event::Start(Tag::Image { title, .. }) = event else { continue };
        let Some(title) = title_range(text, &image, &title) else { continue };
        for (_, part) in parts.iter_mut().filter(|(range, _)| title.contains(&range.start)) {
            *part = part.replace('"', "&quot;").replace('\'', "&#39;").replace(')', "&#41;");
        }
    }
    parts.extend(led_back(document));
    // HTML is text here as on the page: a comment that is never closed would hide all that follows
    for (event, range) in Parser::new_ext(text, options()).into_offset_iter() {
        if let Event::Html(raw) | Event::InlineHtml(raw) = event {
            parts.push((range, raw.replace('<', "\\<")));
        }
    }
    parts.extend(disarmed(text, &parts));
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
    to.push_str("\n\n---\n");
    let (sources, cautions) =
        (report::sources(document.programs()), report::cautions(document.programs()));
    for (title, texts) in [("Sources", sources), ("Cautions", cautions)] {
        if !texts.is_empty() {
            to.push_str(&format!("\n**{title}**\n\n"));
        }
        to.extend(texts.iter().map(|text| format!("1. {}\n", cell(text))));
    }
    to.push_str(&symbols::plain(document));
    to.push_str(&format!(
        "\n{DISCLAIMER}\n\nCalculated {made} by Standstill {} from\n\n",
        env!("CARGO_PKG_VERSION")
    ));
    for file in &document.files {
        to.push_str(&format!("- {} `{}`\n", cell(&file.name), file.hash));
    }
    to.push_str(&markdown::table(&Identity::table(&document.sheets)));
    to.push_str(&format!(
        "\nThe review is known by {}: one SHA-256 over all of them and the version.\n",
        document.short_id()
    ));
    sealed(to.chars().map(harmless).collect())
}

/// What the address of a link cannot hold as it is.
const NOT_IN_AN_ADDRESS: &AsciiSet =
    &CONTROLS.add(b' ').add(b'(').add(b')').add(b'<').add(b'>').add(b'%').add(b'"');

/// The addresses of pictures and links that are written from the folder of the document, each with the way there.
fn led_back(document: &Document) -> Vec<(Range<usize>, String)> {
    let text = &document.source.text;
    let mut found = Vec::new();
    if document.back.is_empty() {
        return found;
    }
    let mut lead = |within: Range<usize>, address: &str| {
        let stays = address.is_empty() || address.starts_with(['#', '/', '\\']);
        if stays || is_elsewhere(address) {
            return;
        }
        let own = text.get(within.clone()).and_then(|own| own.rfind(address));
        let at = own.map(|own| within.start + own);
        let way = utf8_percent_encode(&document.back, NOT_IN_AN_ADDRESS).to_string();
        found.extend(at.map(|at| (at..at, way)));
    };
    let parser = Parser::new_ext(text, options());
    for (_, definition) in parser.reference_definitions().iter() {
        let end = match &definition.title {
            Some(title) if !title.is_empty() => text
                .get(definition.span.clone())
                .and_then(|own| own.rfind(&**title))
                .map_or(definition.span.end, |at| definition.span.start + at),
            _ => definition.span.end,
        };
        lead(definition.span.start..end, &definition.dest);
    }
    for (event, range) in parser.into_offset_iter() {
        if let Event::Start(
            Tag::Image { link_type: LinkType::Inline, dest_url, title, .. }
            | Tag::Link { link_type: LinkType::Inline, dest_url, title, .. },
        ) = event
        {
            let end = title_range(text, &range, &title).map_or(range.end, |title| title.start);
            lead(range.start..end, &dest_url);
        }
    }
    found
}

/// What a viewer would follow or turn round, outside of what is replaced already: links that lead neither to a page nor
/// beside the document become text, as on the page, and references to signs that are not seen become their mark.
fn disarmed(text: &str, replaced: &[(Range<usize>, String)]) -> Vec<(Range<usize>, String)> {
    let mut found: Vec<(Range<usize>, String)> = Vec::new();
    for (event, range) in Parser::new_ext(text, options()).into_offset_iter() {
        let source = text.get(range.clone()).unwrap_or_default();
        match event {
            Event::Start(Tag::Link { dest_url, .. }) if !may_lead(&dest_url) => {
                let opening = source
                    .char_indices()
                    .filter(|(at, sign)| *sign == '[' || (*at == 0 && *sign == '<'));
                found.extend(opening.map(|(at, sign)| {
                    (range.start + at..range.start + at + 1, format!("\\{sign}"))
                }));
            }
            Event::Text(words) if source.starts_with('&') => {
                let shown: String = words.chars().map(harmless).collect();
                if shown != *words {
                    found.push((range, shown));
                }
            }
            _ => {}
        }
    }
    let apart = |one: &Range<usize>| {
        replaced.iter().all(|(other, _)| one.end <= other.start || other.end <= one.start)
    };
    found.retain(|(range, _)| apart(range));
    found.sort_by_key(|(range, _)| range.start);
    found.dedup_by_key(|(range, _)| range.start);
    found
}

/// Whether a link of the text leads to a page, to an address of mail, or beside the document.
fn may_lead(address: &str) -> bool {
    // viewers pass over what is not seen
    let seen: String =
        address.chars().filter(|sign| !sign.is_control() && !sign.is_whitespace()).collect();
    match seen.split_once(':') {
        Some((scheme, _)) if !scheme.contains(['/', '?', '#']) => {
            ["http", "https", "mailto"].iter().any(|it| scheme.eq_ignore_ascii_case(it))
        }
        _ => true,
    }
}

fn section(calculation: &Calculation) -> String {
    let results = &calculation.results;
    let program = results.program();
    if calculation.shows.is_empty() {
        return String::new();
    }
    let mut to = format!("**{}: {}**\n", cell(&calculation.alias), cell(title(program)));
    for words in [calculation.origin(), calculation.examples_text()] {
        if !words.is_empty() {
            to.push_str(&format!("\n{}\n", cell(&words)));
        }
    }
    for show in &calculation.shows {
        match show {
            Show::Inputs => {
                to.push_str(
                    "\n| input | value | what it is | from |\n| --- | ---: | --- | --- |\n",
                );
                for (at, input) in program.inputs.iter().enumerate() {
                    // a value of another calculation has no writing of its own
                    let value = match calculation.links.iter().any(|link| link.input == at) {
                        true => results.register_text(input.register, &input.type_, &input.unit),
                        false => given(results, input),
                    };
                    if let Some(heading) = program.heading_above(at) {
                        to.push_str(&format!("| **{}** | | | |\n", cell(heading)));
                    }
                    let about = [
                        Some(input.note.clone()),
                        tolerance(results, input).map(|it| format!("tolerance: {it}")),
                    ];
                    let about: Vec<String> = about.into_iter().flatten().collect();
                    to.push_str(&format!(
                        "| {} | {} | {} | {} |\n",
                        cell(&input.name),
                        cell(&value),
                        cell(&about.join("; ")),
                        cell(&comes_from(calculation, at, input))
                    ));
                }
            }
            Show::Results => {
                to.push_str(&markdown::table(&report::figures_table(results, &calculation.release)))
            }
            Show::Checks => to.push_str(&markdown::list(&report::checks(results))),
            Show::Settings => {
                // what is read back is signed on the page
                let table = report::settings_table(results, &calculation.release);
                to.extend(table.map(|mut table| {
                    table.columns = table.columns.get(..6).unwrap_or(table.columns);
                    markdown::table(&table)
                }));
            }
            Show::Picture => {}
            Show::Slopes => sensitivities(calculation, &mut to),
            Show::Worst => to.push_str(&worst::plain(calculation)),
            Show::Steps => {
                to.push_str("\n```text\n");
                for line in report::steps_text(results) {
                    to.push_str(&line.replace("```", "'''"));
                    to.push('\n');
                }
                to.push_str("```\n");
            }
        }
    }
    // a check that does not hold is seen whatever the document shows of the calculation
    if !calculation.shows.contains(&Show::Checks) {
        let open = report::checks(results).into_iter().filter(|check| !check.holds());
        to.push_str(&markdown::list(&open.collect::<Vec<_>>()));
    }
    to
}

/// The least margins of a product line.
fn line(line: &ProductReview) -> String {
    let mut to = format!(
        "**{}: {}**, variants from {}: {}\n\n| check | holds | least margin | there | variant |\n| --- | --- | ---: | --- | --- |\n",
        cell(&line.alias),
        cell(title(&line.program)),
        cell(&line.from),
        line.to_text()
    );
    for check in &line.checks {
        let verdict = if check.caution { Verdict::Caution } else { Verdict::Fails };
        let holds = match check.fails {
            0 => "in all".to_owned(),
            count => format!("**{}** in {count}", verdict.word()),
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

/// The sensitivities, as a second calculation has them.
fn sensitivities(calculation: &Calculation, to: &mut String) {
    let results = &calculation.results;
    let Ok(found) = Sensitivities::compute(results.program(), results.inputs()) else { return };
    let asked = &calculation.slopes_of;
    for (at, output) in results.program().outputs.iter().enumerate() {
        if !asked.is_empty() && !asked.contains(&at) {
            continue;
        }
        if let Some(table) = report::sensitivities_table(&found, output, false) {
            to.push_str(&format!("\nSensitivities of {}:\n", cell(&table.title)));
            to.push_str(&markdown::table(&table));
            if table.rows.is_empty() {
                to.extend(table.notes.iter().map(|note| format!("\n{}\n", cell(note))));
            }
        }
    }
}
