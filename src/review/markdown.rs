//! The running text as HTML: raw HTML is shown as text, links go to few places, values are put in.

use std::ops::Range;

use pulldown_cmark::{CowStr, Event, Parser, Tag, TagEnd, html};

use super::carried::Formats;
use super::document::{Document, Stands, options};
use super::lines::tied;
use super::markup::{escaped, harmless};
use super::value::{Inline, What};
use crate::program::Direction;

/// Where a link may lead.
fn is_safe(link: &str) -> bool {
    let lower = link.to_ascii_lowercase();
    ["http://", "https://", "mailto:", "#"].iter().any(|start| lower.starts_with(start))
}

/// The text, with `block` in the place of each block.
pub(super) fn page(
    document: &Document,
    formats: &Formats,
    block: &dyn Fn(Stands) -> String,
) -> String {
    let text = &document.source.text;
    let mut events: Vec<Event> = Vec::new();
    let mut in_block = false;
    let mut dropped_links: Vec<bool> = Vec::new();
    for (event, range) in Parser::new_ext(text, options()).into_offset_iter() {
        match event {
            Event::Start(Tag::CodeBlock(_)) => {
                match document.blocks.iter().find(|(block, _)| *block == range) {
                    Some((_, stands)) if *stands != Stands::Written => {
                        in_block = true;
                        events.push(Event::Html(block(*stands).into()));
                    }
                    _ => events.push(Event::Html("<pre><code>".into())),
                }
                if !in_block {
                    continue;
                }
            }
            Event::End(TagEnd::CodeBlock) => {
                if !std::mem::take(&mut in_block) {
                    events.push(Event::Html("</code></pre>\n".into()));
                }
            }
            _ if in_block => {}
            Event::Start(Tag::Link { ref dest_url, .. }) => {
                let safe = is_safe(dest_url);
                dropped_links.push(!safe);
                if safe {
                    events.push(event);
                }
            }
            Event::End(TagEnd::Link) => {
                if dropped_links.pop() == Some(false) {
                    events.push(event);
                }
            }
            // a page that carries everything with it has no place for pictures from elsewhere
            Event::Start(Tag::Image { .. }) | Event::End(TagEnd::Image) => {}
            Event::Html(raw) | Event::InlineHtml(raw) => events.push(Event::Text(raw)),
            Event::Start(Tag::HtmlBlock) => events.push(Event::Start(Tag::Paragraph)),
            Event::End(TagEnd::HtmlBlock) => events.push(Event::End(TagEnd::Paragraph)),
            Event::Text(words) => with_values(document, formats, &words, range, &mut events),
            other => events.push(other),
        }
    }
    let mut to = String::new();
    html::push_html(&mut to, events.into_iter());
    without_empty_heads(&to).chars().map(harmless).collect()
}

/// Tables whose heading row is empty have none: CommonMark cannot say so, a reader's ear is spared it.
fn without_empty_heads(html: &str) -> String {
    let mut to = String::with_capacity(html.len());
    let mut parts = html.split("<thead>");
    to.push_str(parts.next().unwrap_or_default());
    for part in parts {
        match part.split_once("</thead>") {
            Some((head, rest))
                if head
                    .replace("<tr>", "")
                    .replace("</tr>", "")
                    .replace("<th></th>", "")
                    .trim()
                    .is_empty() =>
            {
                to.push_str(rest);
            }
            _ => {
                to.push_str("<thead>");
                to.push_str(part);
            }
        }
    }
    to
}

/// A piece of text with the values that stand in it.
fn with_values<'a>(
    document: &Document,
    formats: &Formats,
    words: &CowStr<'a>,
    range: Range<usize>,
    events: &mut Vec<Event<'a>>,
) {
    let text = &document.source.text;
    let inside: Vec<&(Range<usize>, Inline)> = document
        .values
        .iter()
        .filter(|(value, _)| value.start < range.end && range.start < value.end)
        .collect();
    if inside.is_empty() {
        events.push(Event::Text(words.clone()));
        return;
    }
    let mut at = range.start;
    for (value, inline) in inside {
        if value.start >= range.start {
            let before = text.get(at..value.start).unwrap_or_default().to_owned();
            events.push(Event::Text(before.into()));
            events.push(Event::InlineHtml(written(document, formats, inline).into()));
        }
        at = value.end.min(range.end);
    }
    let after = text.get(at..range.end).unwrap_or_default().to_owned();
    events.push(Event::Text(after.into()));
}

fn written(document: &Document, formats: &Formats, inline: &Inline) -> String {
    let text = inline.in_words(&document.calculations, &document.lines);
    let calculation = inline.calculation;
    match &inline.what {
        What::Checks => {
            format!("<span class=\"v\" data-c=\"{calculation}\" data-ck>{}</span>", escaped(&text))
        }
        What::Line => format!("<span class=\"v\">{}</span>", escaped(&text)),
        What::Worst => format!("<span class=\"v wo\">{}</span>", escaped(&text)),
        What::Value { register, type_, unit, rounding } => {
            let format = formats.number(type_, unit);
            let holds =
                document.calculations.get(calculation).is_none_or(|one| one.results.holds());
            let class = if holds { "v" } else { "v fv" };
            let rounding = rounding.as_ref().map_or(String::new(), |(direction, step)| {
                let way = match direction {
                    Direction::Up => "up",
                    Direction::Down => "down",
                    Direction::Nearest => "near",
                };
                format!(" data-q=\"{way} {}\"", step.si_f64())
            });
            format!(
                "<span class=\"{class}\" data-c=\"{calculation}\" data-r=\"{} {format}\"{rounding}>{}</span>",
                register.0,
                tied(&text)
            )
        }
    }
}
