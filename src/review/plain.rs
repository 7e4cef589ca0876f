//! The review as Markdown: blocks become tables, values become figures.

use std::ops::Range;

use percent_encoding::{AsciiSet, CONTROLS, utf8_percent_encode};
use pulldown_cmark::{Event, LinkType, Parser, Tag};

use super::block::Show;
use super::files::sealed;
use super::given::given;
use super::images::{is_elsewhere, title_range};
use super::lines::comes_from;
use super::markdown::{TYPED_HERE, has_figure, headings, name_of};
use super::markup::{harmless, with_minus};
use super::model::{BlockContent, Calculation, Document, Inline, What, options, title};
use super::picture::Pictures;
use super::product::ProductReview;
use super::symbols::{self, SYMBOLS};
use super::{verdict, worst};
use crate::calculation::Sensitivities;
use crate::report::markdown::{self, cell};
use crate::report::{self, DISCLAIMER, Identity, tolerance};

/// The document with its blocks and values calculated, as CommonMark with tables.
#[must_use]
pub fn plain(document: &Document, made: &str) -> String {
    let text = &document.source.text;
    let places = Places::of(document);
    let events = Parser::new_ext(text, options()).into_offset_iter();
    let picture =
        |(event, range)| matches!(event, Event::Start(Tag::Image { .. })).then_some(range);
    let pictures: Vec<Range<usize>> = events.filter_map(picture).collect();
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
        let examples = match &inline.what {
            What::Line => document.lines.get(inline.calculation).map(|line| line.examples.clone()),
            _ => calculation.map(Calculation::examples_text),
        };
        let mark = match (&inline.what, examples) {
            (What::Checks | What::Line, Some(text)) if !text.is_empty() => {
                format!("{mark} ({})", cell(&text))
            }
            (What::Value { rounded, extent, .. }, _) => {
                let words = [Some(rounded).filter(|it| !it.is_empty()), extent.as_ref()];
                let words = words.into_iter().flatten().map(|it| format!(" ({})", cell(it)));
                words.collect::<String>() + &mark
            }
            _ => mark,
        };
        let words = match pictures.iter().any(|picture| picture.contains(&range.start)) {
            // what is read out in the place of a picture holds no link
            true => words,
            false => {
                let name = text.get(range.clone()).unwrap_or_default();
                let name = name.trim_matches(['{', '}', ' ']).replace('"', "&quot;");
                format!("[{words}](#{} \"{name}\")", places.leads(inline))
            }
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
    parts.extend(disarmed(document, &places, &parts));
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

/// The places to which calculated figures lead, as viewers name them: by the words of their headings, and of a heading
/// whose words another has above it, by its number as well.
struct Places {
    calculations: Vec<String>,
    lines: Vec<String>,
}

impl Places {
    fn of(document: &Document) -> Self {
        let text = &document.source.text;
        let block = |is: BlockContent| {
            let found = document.blocks.iter().find(|(_, stands)| *stands == is);
            found.map_or(text.len(), |(range, _)| range.start)
        };
        let calculations = document.calculations.iter().enumerate();
        let calculations = calculations.map(|(at, one)| match one.shows.is_empty() {
            true => (text.len(), SYMBOLS.to_owned()),
            false => (block(BlockContent::Calculation(at)), Self::calculation(&one.alias)),
        });
        let lines = document.lines.iter().enumerate();
        let lines = lines.map(|(at, one)| (block(BlockContent::Line(at)), Self::line(&one.alias)));
        let [calculations, lines]: [Vec<(usize, String)>; 2] =
            [calculations.collect(), lines.collect()];
        let texts = headings(text).into_iter().map(|(range, words)| (range.start, words));
        let own = calculations.iter().chain(&lines).filter(|(at, _)| *at < text.len());
        let above: Vec<(usize, String)> =
            texts.chain(own.cloned()).map(|(at, words)| (at, name_of(&words))).collect();
        let named = |(from, words): (usize, String)| {
            let name = name_of(&words);
            match above.iter().filter(|(at, other)| *at < from && *other == name).count() {
                0 => name,
                again => format!("{name}-{again}"),
            }
        };
        let [calculations, lines] = [calculations.into_iter(), lines.into_iter()];
        let (calculations, lines) = (calculations.map(named), lines.map(named));
        Self { calculations: calculations.collect(), lines: lines.collect() }
    }

    /// The heading of a calculation.
    fn calculation(alias: &str) -> String {
        format!("Calculation {alias}")
    }

    /// The heading of a product line.
    fn line(alias: &str) -> String {
        format!("Product line {alias}")
    }

    /// Where a figure leads.
    fn leads(&self, inline: &Inline) -> &str {
        let places = if let What::Line = inline.what { &self.lines } else { &self.calculations };
        places.get(inline.calculation).map_or("", String::as_str)
    }

    /// Whether a link of the author's leads there too.
    fn has(&self, address: &str) -> bool {
        let place = address.strip_prefix('#').unwrap_or_default().to_lowercase();
        self.calculations.iter().chain(&self.lines).any(|it| *it == place)
    }
}

/// What a viewer would follow or turn round, outside of what is replaced already: links that lead neither to a page nor
/// beside the document become text, as on the page, and references to signs that are not seen become their mark.
///
/// What is calculated is a link of its own and not struck out; a figure of the author's that leads where calculated
/// ones lead is said to be typed. A dollar is one here: some viewers read formulas, which can hide what stands in them.
fn disarmed(
    document: &Document,
    places: &Places,
    replaced: &[(Range<usize>, String)],
) -> Vec<(Range<usize>, String)> {
    let text = document.source.text.as_str();
    let mut found: Vec<(Range<usize>, String)> = Vec::new();
    for range in document.struck() {
        let own = text.get(range.clone()).unwrap_or_default();
        let many = own.len() - own.trim_start_matches('~').len();
        let marks = [range.start..range.start + many, range.end - many..range.end];
        found.extend(marks.map(|mark| (mark, "\\~".repeat(many))));
    }
    for (event, range) in Parser::new_ext(text, options()).into_offset_iter() {
        let source = text.get(range.clone()).unwrap_or_default();
        match event {
            Event::Start(Tag::Link { dest_url, .. })
                if !may_lead(&dest_url) || document.has_value(&range) =>
            {
                let opening = source
                    .char_indices()
                    .filter(|(at, sign)| *sign == '[' || (*at == 0 && *sign == '<'));
                found.extend(opening.map(|(at, sign)| {
                    (range.start + at..range.start + at + 1, format!("\\{sign}"))
                }));
            }
            Event::Start(Tag::Link { dest_url, .. })
                if places.has(&dest_url) && has_figure(source) =>
            {
                found.push((range.end..range.end, TYPED_HERE.to_owned()));
            }
            Event::Text(_) if source.contains('$') => {
                let signs = source.match_indices('$').map(|(at, _)| range.start + at);
                let free = signs.filter(|at| !text.get(..*at).is_some_and(|it| it.ends_with('\\')));
                found.extend(free.map(|at| (at..at + 1, "\\$".to_owned())));
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
    let heading = Places::calculation(&calculation.alias);
    let mut to = format!("### {}\n\n**{}**\n", cell(&heading), cell(title(program)));
    let stands = calculation.stands_on().join("; ");
    for words in [calculation.origin(), calculation.examples_text(), stands] {
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
                let inputs = program.inputs.iter().enumerate();
                for (at, input) in inputs.filter(|(_, it)| !results.inputs().is_spared(it)) {
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
            Show::Picture if Pictures::of(results).figures().is_empty() => {}
            Show::Picture => to.push_str("\nIts pictures stand in the page of this review.\n"),
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
    let examples = match line.examples.as_str() {
        "" => String::new(),
        words => format!("; {}", cell(words)),
    };
    let mut to = format!(
        "### {}\n\n**{}**, variants from {}: {}{}\n\n| check | holds | least margin | there | variant |\n| --- | --- | ---: | --- | --- |\n",
        cell(&Places::line(&line.alias)),
        cell(title(&line.program)),
        cell(&line.from),
        cell(&line.to_text()),
        examples
    );
    for check in &line.checks {
        let open = check.open().into_iter();
        let open = open.map(|(verdict, count)| format!("**{}** in {count}", verdict.word()));
        let holds = match open.collect::<Vec<_>>().join(", ") {
            none if none.is_empty() => "in all".to_owned(),
            open => open,
        };
        let [left, there, variant] = check.least();
        to.push_str(&format!(
            "| {} | {holds} | {} | {} | {} |\n",
            cell(&check.text),
            cell(&left),
            cell(&there),
            cell(&variant)
        ));
    }
    if !line.worst.is_empty() {
        to.push_str(&format!(
            "\n| {} | share left | margin | check |\n| --- | ---: | ---: | --- |\n",
            line.worst_text()
        ));
    }
    for variant in &line.worst {
        let margin = variant.margin.as_ref().and_then(|margin| margin.left.clone());
        let check = line.checks.get(variant.check).map_or("", |check| &check.text);
        to.push_str(&format!(
            "| {} | {} | {} | {} |\n",
            cell(&variant.name),
            variant.share().map_or_else(String::new, |share| format!("{:.1} %", share * 100.0)),
            cell(&margin.unwrap_or_else(|| "FAILS".to_owned())),
            cell(check)
        ));
    }
    for variant in line.worst.iter().filter(|it| !it.inputs.is_empty()) {
        let all = variant.inputs.iter().map(|(name, value)| format!("{name} = {value}"));
        let all = all.collect::<Vec<_>>().join("; ");
        to.push_str(&format!(
            "\nInputs of {}, which does not hold: {}\n",
            cell(&variant.name),
            cell(&all)
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
