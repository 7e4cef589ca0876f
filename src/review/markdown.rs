//! The running text as HTML: raw HTML is shown as text, links go to few places, values are put in.

use std::ops::Range;

use pulldown_cmark::{CowStr, Event, HeadingLevel, Parser, Tag, TagEnd, html};

use super::client_data::Formats;
use super::images::title_range;
use super::lines::tied;
use super::markup::{escaped, harmless, tied_words, worded};
use super::model::{
    BlockContent, Calculation, Document, Inline, Role, What, anchor, options, step_anchor,
};
use super::verdict;
use crate::program::Direction;

/// Where a link may lead.
fn is_safe(link: &str) -> bool {
    let lower = link.to_ascii_lowercase();
    ["http://", "https://", "mailto:", "#"].iter().any(|start| lower.starts_with(start))
}

/// Whether a link of the text leads to a place of ours, where what is calculated stands.
fn is_ours(link: &str) -> bool {
    let number = |rest: &str| rest.starts_with(|it: char| it.is_ascii_digit());
    let place = link.strip_prefix('#').unwrap_or_default();
    OURS.iter().any(|it| place.strip_prefix(it).is_some_and(number))
}

/// Places that are numbered.
const OURS: &[&str] = &["calc", "line", "src", "cau", "alt-"];

/// What stands behind a figure of the author's own that is a link to what is calculated: it looks like one.
pub(super) const TYPED_HERE: &str = " (typed)";

/// Whether the words of a link, as it is written, could be read as a figure.
pub(super) fn has_figure(link: &str) -> bool {
    let words = link.rsplit_once("](").map_or(link, |(words, _)| words);
    words.contains(|it: char| it.is_ascii_digit())
}

/// The name of a place on the page: a name that the page uses itself gets another beginning.
fn slug(heading: &str) -> String {
    let name = name_of(heading);
    let ours = is_ours(&format!("#{name}")) || TAKEN.contains(&&*name);
    if ours { format!("text-{name}") } else { name }
}

/// Where each heading of a text stands, with the words of it that are read: of a link its words, and no marks.
pub(super) fn headings(text: &str) -> Vec<(Range<usize>, String)> {
    let mut found: Vec<(Range<usize>, String)> = Vec::new();
    for (event, range) in Parser::new_ext(text, options()).into_offset_iter() {
        let within = found.last_mut().filter(|(heading, _)| heading.contains(&range.start));
        match (event, within) {
            (Event::Start(Tag::Heading { .. }), _) => found.push((range, String::new())),
            // HTML is shown as text
            (
                Event::Text(words) | Event::Code(words) | Event::InlineHtml(words),
                Some((_, own)),
            ) => own.push_str(&words),
            (Event::SoftBreak, Some((_, own))) => own.push(' '),
            _ => {}
        }
    }
    found
}

/// The words of a heading as the name of its place, as links in a document are written: small letters, `-` between words.
pub(super) fn name_of(heading: &str) -> String {
    let words = heading.trim().chars();
    let kept = words.filter(|it| it.is_alphanumeric() || matches!(it, ' ' | '-' | '_'));
    kept.flat_map(char::to_lowercase).map(|it| if it == ' ' { '-' } else { it }).collect()
}

/// Names of places that the page uses itself.
const TAKEN: &[&str] = &[
    "", "bar", "cautions", "contents", "data", "forms", "made", "made-from", "search",
    "signatures", "sources", "symbols", "verdict",
];

/// The contents of a page: its headings of the second level and its calculations; nothing for a short one.
pub(super) fn contents(html: &str) -> String {
    let mut items = String::new();
    let mut count = 0;
    for (at, _) in html.match_indices('<') {
        let part = html.get(at + 1..).unwrap_or_default();
        let sub = part.starts_with("h3 id=\"calc") || part.starts_with("h3 id=\"line");
        if !(part.starts_with("h2 id=\"") || sub) {
            continue;
        }
        let Some((open, inner)) = part.split_once('>') else { continue };
        let id = open.split('"').nth(1).unwrap_or_default();
        let inner = inner.split_once(if sub { "</h3>" } else { "</h2>" }).map_or("", |it| it.0);
        let words = without_tags(inner);
        let class = if sub { " class=\"sub\"" } else { "" };
        if id != "verdict" {
            items.push_str(&format!("<li{class}><a href=\"#{id}\">{}</a></li>", words.trim()));
            count += 1;
        }
    }
    if count < 8 {
        return String::new();
    }
    format!(
        "<nav class=\"toc\" aria-labelledby=\"contents\"><h2 id=\"contents\">Contents</h2><ol>{items}</ol></nav>\n"
    )
}

/// What of some markup of ours is read.
fn without_tags(inner: &str) -> String {
    let pieces = inner.split('<').enumerate();
    let words = pieces.map(|(at, piece)| match at {
        0 => piece,
        _ => piece.split_once('>').map_or("", |it| it.1),
    });
    words.collect()
}

/// The same as plain text.
pub(super) fn words_of(inner: &str) -> String {
    let mut words = without_tags(inner).trim().to_owned();
    for (name, sign) in
        [("&lt;", "<"), ("&gt;", ">"), ("&quot;", "\""), ("&#39;", "'"), ("&amp;", "&")]
    {
        words = words.replace(name, sign);
    }
    words
}

/// The text, with `block` in the place of each block.
pub(super) fn page(
    document: &Document,
    formats: &Formats,
    block: &dyn Fn(BlockContent) -> String,
) -> String {
    let text = &document.source.text;
    let mut events: Vec<Event> = Vec::new();
    let mut in_block = false;
    let mut links: Vec<Leading> = Vec::new();
    let struck = document.struck();
    let mut pictures: Vec<(usize, Image<'_>)> = Vec::new();
    let mut names: Vec<String> = Vec::new();
    let headings = headings(text);
    for (event, range) in Parser::new_ext(text, options()).into_offset_iter() {
        match event {
            Event::Start(Tag::CodeBlock(_)) => {
                match document.blocks.iter().find(|(block, _)| *block == range) {
                    Some((_, stands)) if *stands != BlockContent::Written => {
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
                let to = dest_url.to_string();
                // a calculated figure leads to where it comes from, in a link of the author's too
                let leading = match (is_safe(&to), document.has_value(&range)) {
                    (false, _) => Leading::Nowhere(to),
                    (true, true) => Leading::Behind(to),
                    (true, false) => {
                        events.push(event);
                        let own = text.get(range).unwrap_or_default();
                        Leading::Here(is_ours(&to) && has_figure(own))
                    }
                };
                links.push(leading);
            }
            Event::End(TagEnd::Link) => match links.pop() {
                Some(Leading::Nowhere(to)) => events.push(Event::Text(format!(" ({to})").into())),
                Some(Leading::Behind(to)) => {
                    let to = escaped(&to);
                    events.push(Event::InlineHtml(format!(" (<a href=\"{to}\">{to}</a>)").into()));
                }
                Some(Leading::Here(true)) => {
                    events.extend([event, Event::Text(TYPED_HERE.into())]);
                }
                _ => events.push(event),
            },
            // no stroke goes through what is calculated
            Event::Start(Tag::Strikethrough) | Event::End(TagEnd::Strikethrough)
                if struck.contains(&range) =>
            {
                events.push(Event::Text("~~".into()));
            }
            // a table that is wider than the page scrolls alone, by key as well
            Event::Start(Tag::Table(_)) => events.extend([Event::Html(WIDE_TABLE.into()), event]),
            Event::End(TagEnd::Table) => events.extend([event, Event::Html("</div>\n".into())]),
            Event::Start(Tag::Image { dest_url, title, .. }) => {
                pictures.push((events.len(), Image { range, address: dest_url, title }));
            }
            Event::End(TagEnd::Image) => {
                if let Some((from, image)) = pictures.pop() {
                    let words = events.split_off(from.min(events.len()));
                    events.push(Event::InlineHtml(shown(document, formats, &image, words).into()));
                }
            }
            Event::Start(Tag::Heading { level, classes, attrs, .. }) => {
                let own = headings.iter().find(|(heading, _)| *heading == range);
                let name = slug(own.map_or("", |(_, words)| words));
                let source = text.get(range).unwrap_or_default();
                let again = names.iter().filter(|known| **known == name).count();
                let id = if again == 0 { name.clone() } else { format!("{name}-{again}") };
                names.push(name);
                let untitled =
                    level == HeadingLevel::H1 && source.trim_matches(['#', ' ', '\n']).is_empty();
                events.push(Event::Start(Tag::Heading {
                    level,
                    id: Some(id.into()),
                    classes,
                    attrs,
                }));
                // a title that is left open is that of the printed pages
                let file = document.files.first().filter(|_| untitled);
                events.extend(file.map(|file| Event::Text(file.name.clone().into())));
            }
            Event::Html(raw) | Event::InlineHtml(raw) => events.push(Event::Text(raw)),
            Event::Start(Tag::HtmlBlock) => events.push(Event::Start(Tag::Paragraph)),
            Event::End(TagEnd::HtmlBlock) => events.push(Event::End(TagEnd::Paragraph)),
            Event::Text(words) => {
                // none is a link in words that are read out in the place of a picture
                let led = pictures.is_empty();
                with_values(document, formats, &words, range, led, &mut events);
            }
            other => events.push(other),
        }
    }
    let mut to = String::new();
    html::push_html(&mut to, events.into_iter());
    without_empty_heads(&to).chars().map(harmless).collect()
}

/// Where a link of the text leads, while its words are read.
enum Leading {
    /// Where the author says; whether a figure in it was typed that looks like a calculated one.
    Here(bool),
    /// To a place of the author's that is named behind it: a calculated figure in it has a link of its own.
    Behind(String),
    /// To a place where no link may lead: it is named.
    Nowhere(String),
}

/// A picture of the text, while its words are read.
struct Image<'a> {
    range: Range<usize>,
    address: CowStr<'a>,
    title: CowStr<'a>,
}

/// A picture with its words, in which values follow a trial. A page that carries everything with it has no place
/// for pictures from elsewhere, and says so.
fn shown(
    document: &Document,
    formats: &Formats,
    image: &Image<'_>,
    words: Vec<Event<'_>>,
) -> String {
    let html = |events: Vec<Event<'_>>| {
        let mut to = String::new();
        html::push_html(&mut to, events.into_iter());
        to
    };
    let words = html(words);
    let found = document.images.iter().position(|(range, _)| *range == image.range);
    let Some((at, (_, address))) = found.and_then(|at| Some((at, document.images.get(at)?))) else {
        let address = escaped(&image.address);
        return format!("[picture: {words} ({address}), not part of this page]");
    };
    let mut title = Vec::new();
    let text = &document.source.text;
    match title_range(text, &image.range, &image.title) {
        Some(range) => with_values(document, formats, &image.title, range, true, &mut title),
        None => title.push(Event::Text(image.title.clone())),
    }
    let title = match html(title) {
        title if title.is_empty() => title,
        title => format!("<span class=\"cap\">{title}</span>"),
    };
    // an attribute cannot follow a trial, words that are read out in its place can
    let (alt, read_out) = match words.contains("<span") {
        true => (
            format!("alt=\"\" aria-labelledby=\"alt-{at}\""),
            format!("<span class=\"sr\" id=\"alt-{at}\">{words}</span>"),
        ),
        false => (format!("alt=\"{}\"", escaped(&words_of(&words))), String::new()),
    };
    format!("<span class=\"pic\"><img {alt} src=\"{address}\">{read_out}{title}</span>")
}

/// What a table of the text stands in.
const WIDE_TABLE: &str = "<div class=\"wide\" tabindex=\"0\" role=\"group\" aria-label=\"table\">";

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

/// A piece of text with the values that stand in it; `led` where these may be links.
fn with_values<'a>(
    document: &Document,
    formats: &Formats,
    words: &CowStr<'a>,
    range: Range<usize>,
    led: bool,
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
    for written_here in inside {
        let (value, _) = written_here;
        if value.start >= range.start {
            let before = text.get(at..value.start).unwrap_or_default().to_owned();
            events.push(Event::Text(before.into()));
            events.push(Event::InlineHtml(written(document, formats, written_here, led).into()));
        }
        at = value.end.min(range.end);
    }
    let after = text.get(at..range.end).unwrap_or_default().to_owned();
    events.push(Event::Text(after.into()));
}

/// What is written as a value of a calculation and is read as none, with its line: in html, in an address, in a cell
/// beyond those of the heading. What stands in code is meant as it stands.
pub(crate) fn unread_values(document: &Document) -> Vec<(usize, String)> {
    let text = &document.source.text;
    let of_code =
        |event: &Event<'_>| matches!(event, Event::Code(_) | Event::Start(Tag::CodeBlock(_)));
    let parts = Parser::new_ext(text, options()).into_offset_iter();
    let code: Vec<Range<usize>> =
        parts.filter(|(event, _)| of_code(event)).map(|(_, range)| range).collect();
    let lines = document.lines.iter().map(|line| line.alias.as_str());
    let names: Vec<&str> =
        document.calculations.iter().map(|it| it.alias.as_str()).chain(lines).collect();
    let found = text.match_indices('{').filter_map(|(at, _)| {
        let (before, rest) = text.split_at_checked(at)?;
        let inner = rest.get(1..)?.split_once('}')?.0;
        let alias = inner.split_once('.')?.0.trim();
        let read = document.values.iter().map(|(range, _)| range).chain(&code);
        let is_read = read.into_iter().any(|range| range.contains(&at));
        let line = before.matches('\n').count() + 1;
        (names.contains(&alias) && !is_read && !before.ends_with('\\'))
            .then(|| (line, format!("{{{inner}}}")))
    });
    found.collect()
}

/// Where a calculated figure leads, the best first: its step, its row, its calculation.
fn leads(document: &Document, inline: &Inline) -> Vec<String> {
    let at = inline.calculation;
    if let What::Line = inline.what {
        return vec![format!("line{at}")];
    }
    let Some(one) = document.calculations.get(at) else { return Vec::new() };
    let program = one.results.program();
    let mut places = match &inline.what {
        What::Value { register, .. } => {
            let input = program.inputs.iter().position(|it| it.register == *register);
            let output = program.outputs.iter().position(|it| it.register == *register);
            let rows = [(input, Role::Input), (output, Role::Result)];
            let rows = rows.into_iter().filter_map(|(row, role)| Some(anchor(at, role, row?)));
            [step_anchor(at, *register)].into_iter().chain(rows).collect()
        }
        What::Checks | What::Worst | What::End { .. } | What::Line => Vec::new(),
    };
    places.push(format!("calc{at}"));
    places
}

/// What begins the address of a calculated figure until the whole page is there.
const LEAD: &str = "<a class=\"cf\" href=\"?";

/// Every calculated figure of the text leads to the first of its places that the page has.
pub(super) fn led(html: &str) -> String {
    let mut pieces = html.split(LEAD);
    let mut to = pieces.next().unwrap_or_default().to_owned();
    for piece in pieces {
        let (places, rest) = piece.split_once('"').unwrap_or((piece, ""));
        let mut all = places.split(' ');
        let found = all.find(|place| html.contains(&format!(" id=\"{place}\"")));
        to.push_str("<a class=\"cf\"");
        to.extend(found.map(|place| format!(" href=\"#{place}\"")));
        to.push_str(rest);
    }
    to
}

/// A figure that is calculated: marked as such, with its name, and leading to where it comes from.
fn written(
    document: &Document,
    formats: &Formats,
    (range, inline): &(Range<usize>, Inline),
    led: bool,
) -> String {
    let typed = document.source.text.get(range.clone()).unwrap_or_default();
    let name = escaped(typed.trim_matches(['{', '}', ' ']));
    let [own, more] = figure(document, formats, inline, led);
    match led {
        true => format!(
            "{LEAD}{}\" title=\"{name}\">{own}</a>{more}",
            leads(document, inline).join(" ")
        ),
        false => format!("<span class=\"cf\" title=\"{name}\">{own}</span>{more}"),
    }
}

/// The figure with why it is not one to go by, and what stands behind both.
fn figure(document: &Document, formats: &Formats, inline: &Inline, led: bool) -> [String; 2] {
    let text = inline.to_text(&document.calculations, &document.lines);
    let calculation = inline.calculation;
    let caveat = match inline.caveat(&document.calculations) {
        words if words.is_empty() => words,
        words if led => format!("<span class=\"why\"> ({})</span>", document.with_links(&words)),
        words => format!("<span class=\"why\"> ({})</span>", escaped(&words)),
    };
    match &inline.what {
        What::Checks => {
            let examples = document.calculations.get(calculation).map(Calculation::examples_text);
            let examples = examples.filter(|words: &String| !words.is_empty());
            let examples = examples
                .map_or_else(String::new, |words| verdict::examples(Some(calculation), &words));
            let words = worded(&text);
            let own = format!("<span class=\"v\" data-c=\"{calculation}\" data-ck>{words}</span>");
            [own, caveat + &examples]
        }
        What::End { .. } => [format!("<span class=\"v wo\">{}</span>", tied(&text)), caveat],
        What::Line => {
            let words = document.lines.get(calculation).map_or("", |line| line.examples.as_str());
            let own = format!("<span class=\"v ln\">{}</span>", worded(&text));
            [own, verdict::examples(None, words)]
        }
        What::Worst => [format!("<span class=\"v wo\">{}</span>", worded(&text)), String::new()],
        What::Value { register, type_, unit, rounding, rounded, extent, .. } => {
            let rounded = match rounded.as_str() {
                "" => String::new(),
                words => format!(" ({})", tied_words(words)),
            };
            let extent = extent.as_ref().map_or_else(String::new, |words| {
                format!(" <span class=\"v wo ext\">({})</span>", tied_words(words))
            });
            let format = formats.number(type_, unit);
            let rounding = rounding.as_ref().map_or(String::new(), |(direction, step)| {
                let way = match direction {
                    Direction::Up => "up",
                    Direction::Down => "down",
                    Direction::Nearest => "near",
                };
                format!(" data-q=\"{way} {}\"", step.si_f64())
            });
            let own = format!(
                "<span class=\"v\" data-c=\"{calculation}\" data-r=\"{} {format}\"{rounding}>{}</span>{rounded}",
                register.0,
                tied(&text)
            );
            [own, caveat + &extent]
        }
    }
}
