//! Small readings of XML shared by the parts of a workbook: attributes, text, where things stand.

use std::io::{BufReader, Read};
use std::ops::Range;

use quick_xml::events::attributes::Attribute;
use quick_xml::events::{BytesStart, Event};
use quick_xml::{Reader, XmlVersion};

/// The deepest nesting that is followed.
const DEPTH: usize = 256;

/// The value of an attribute, by its local name.
pub(crate) fn attribute(element: &BytesStart<'_>, wanted: &str) -> Option<String> {
    element.attributes().with_checks(false).flatten().find_map(|attribute| {
        (attribute.key.local_name().as_ref() == wanted)
            .then(|| attribute.normalized_value(XmlVersion::Implicit1_0).ok())
            .flatten()
            .map(std::borrow::Cow::into_owned)
    })
}

/// The attributes of an element, refused where readers could differ on what they are.
pub(crate) fn attributes<'e>(
    element: &'e BytesStart<'_>,
) -> impl Iterator<Item = Result<Attribute<'e>, String>> {
    let mut attributes = element.attributes();
    attributes.with_checks(false);
    attributes.map(|attribute| {
        let attribute = attribute.map_err(|error| error.to_string())?;
        let name = attribute.key.as_ref();
        let named = name.bytes().all(|b| b.is_ascii_alphanumeric() || b":_-.".contains(&b));
        if named { Ok(attribute) } else { Err(format!("it has an attribute called `{name}`")) }
    })
}

/// Whether an attribute says yes; `missing` is the answer when it is not there.
pub(crate) fn flag(element: &BytesStart<'_>, wanted: &str, missing: bool) -> bool {
    attribute(element, wanted)
        .map_or(missing, |value| matches!(value.as_str(), "1" | "true" | "on"))
}

/// One event with the bytes it stands on, and how deep it stands (the root at 1).
pub(crate) struct Step<'a> {
    pub(crate) event: Event<'a>,
    pub(crate) span: Range<usize>,
    pub(crate) depth: usize,
}

/// Walks a part event by event; refuses document types, deep nesting and open ends.
pub(crate) struct Walk<'a> {
    text: &'a str,
    reader: Reader<&'a [u8]>,
    /// Bytes that the reader has not seen.
    passed: usize,
    /// Whether a tag, and not a text, was read last.
    behind_tag: bool,
    nesting: Nesting,
}

/// How deep a reader stands.
struct Nesting {
    depth: usize,
    /// How deep the text itself stands: 0 for a whole part.
    floor: usize,
    rooted: bool,
}

impl Nesting {
    fn within(depth: usize) -> Self {
        Self { depth, floor: depth, rooted: depth > 0 }
    }

    /// How deep an event stands; none at the end of the text.
    fn of(&mut self, event: &Event<'_>) -> Result<Option<usize>, String> {
        Ok(Some(match event {
            Event::Start(_) => {
                self.depth += 1;
                self.rooted = true;
                if self.depth > DEPTH {
                    return Err(format!("its elements are nested deeper than {DEPTH}"));
                }
                self.depth
            }
            Event::Empty(_) => {
                self.rooted = true;
                self.depth + 1
            }
            Event::End(_) => {
                self.depth = self.depth.saturating_sub(1);
                self.depth + 1
            }
            Event::DocType(_) => return Err("it declares a document type".to_owned()),
            Event::Eof if self.depth > self.floor || !self.rooted => {
                return Err("it ends in the middle".to_owned());
            }
            Event::Eof => return Ok(None),
            _ => self.depth,
        }))
    }
}

/// The events of a whole part as it is unpacked, as careful as [`Walk`]: only the event at hand is in memory.
pub(crate) struct Flow<R> {
    reader: Reader<BufReader<R>>,
    buffer: Vec<u8>,
    nesting: Nesting,
}

impl<R: Read> Flow<R> {
    pub(crate) fn of(source: R) -> Self {
        let mut reader = Reader::from_reader(BufReader::new(source));
        reader.config_mut().check_end_names = true;
        Self { reader, buffer: Vec::new(), nesting: Nesting::within(0) }
    }

    /// The next event; none at the end of the part.
    pub(crate) fn next(&mut self) -> Result<Option<Event<'_>>, String> {
        self.buffer.clear();
        let event = self.reader.read_event_into(&mut self.buffer);
        let event = event.map_err(|error| error.to_string())?;
        Ok(self.nesting.of(&event)?.map(|_| event))
    }
}

impl<'a> Walk<'a> {
    pub(crate) fn new(text: &'a str) -> Self {
        Self::within(text, 0)
    }

    /// Walks whole elements that stand side by side, so deep within a part.
    pub(crate) fn within(text: &'a str, depth: usize) -> Self {
        let mut reader = Reader::from_str(text);
        reader.config_mut().check_end_names = true;
        Self { text, reader, passed: 0, behind_tag: false, nesting: Nesting::within(depth) }
    }

    /// The next event; none at the end of the part.
    pub(crate) fn next(&mut self) -> Result<Option<Step<'a>>, String> {
        let from = self.position();
        let event = self.reader.read_event().map_err(|error| error.to_string())?;
        let span = from..self.position();
        self.behind_tag = matches!(event, Event::Start(_) | Event::End(_) | Event::Empty(_));
        let depth = self.nesting.of(&event)?;
        Ok(depth.map(|depth| Step { event, span, depth }))
    }

    /// Where the next event begins.
    pub(crate) fn position(&self) -> usize {
        let read = usize::try_from(self.reader.buffer_position()).unwrap_or(usize::MAX);
        read.saturating_add(self.passed)
    }

    /// What is left to read, where a tag was read last.
    pub(crate) fn behind_tag(&self) -> Option<&'a str> {
        if self.behind_tag { self.text.get(self.position()..) } else { None }
    }

    /// Passes over whole elements at [`behind_tag`](Self::behind_tag), read in another way.
    pub(crate) fn pass(&mut self, bytes: usize) {
        let rest = self.reader.get_mut();
        *rest = rest.get(bytes..).unwrap_or_default();
        self.passed += bytes;
    }

    /// The text up to the end of the element just opened, entities resolved; inner elements are
    /// passed over, their text kept.
    pub(crate) fn text(&mut self) -> Result<String, String> {
        let mut text = String::new();
        let outer = self.nesting.depth;
        while self.nesting.depth >= outer {
            match self.next()?.map(|step| step.event) {
                Some(event) => append(&event, &mut text)?,
                None => break,
            }
        }
        Ok(text)
    }
}

/// Adds what a text event says; everything else says nothing.
pub(crate) fn append(event: &Event<'_>, text: &mut String) -> Result<(), String> {
    match event {
        Event::Text(part) => text.push_str(&part.xml10_content()),
        Event::CData(part) => text.push_str(&part.xml10_content()),
        Event::GeneralRef(entity) => {
            let character = match entity.resolve_char_ref().map_err(|error| error.to_string())? {
                Some(character) => character,
                None => named_entity(&entity.xml10_content())?,
            };
            text.push(character);
        }
        _ => {}
    }
    Ok(())
}

fn named_entity(name: &str) -> Result<char, String> {
    match name {
        "amp" => Ok('&'),
        "lt" => Ok('<'),
        "gt" => Ok('>'),
        "quot" => Ok('"'),
        "apos" => Ok('\''),
        other => Err(format!("it uses the entity &{other}; that XML does not know")),
    }
}

/// Where an attribute stands in a start tag: all of it with the space before it, and its value.
pub(crate) struct AttributeSpan {
    pub(crate) whole: Range<usize>,
    pub(crate) value: Range<usize>,
}

/// Finds an attribute without prefix in the bytes of a well-formed start tag.
pub(crate) fn attribute_span(tag: &str, wanted: &str) -> Option<AttributeSpan> {
    let mut at = tag.find(|c: char| c.is_ascii_whitespace())?;
    loop {
        let rest = tag.get(at..)?;
        let space = rest.find(|c: char| !c.is_ascii_whitespace())?;
        let name_at = at + space;
        let equals = name_at + tag.get(name_at..)?.find('=')?;
        let name = tag.get(name_at..equals)?.trim_end();
        let after = tag.get(equals + 1..)?;
        let quote_at = equals + 1 + after.find(['"', '\''])?;
        let quote = tag.get(quote_at..)?.chars().next()?;
        let value_at = quote_at + 1;
        let value_end = value_at + tag.get(value_at..)?.find(quote)?;
        if name == wanted {
            return Some(AttributeSpan { whole: at..value_end + 1, value: value_at..value_end });
        }
        at = value_end + 1;
    }
}

/// Takes an attribute out of a start tag; its neighbours stay apart.
pub(crate) fn remove_attribute(tag: &mut String, name: &str) {
    if let Some(found) = attribute_span(tag, name) {
        let apart = tag.get(found.whole.end..).is_some_and(|rest| {
            rest.starts_with(|c: char| c.is_ascii_whitespace() || "/>".contains(c))
        });
        tag.replace_range(found.whole, if apart { "" } else { " " });
    }
}

/// A text made safe for the inside of an element, the way SpreadsheetML writes it: what XML cannot
/// hold becomes `_xHHHH_` (ISO/IEC 29500-1, 22.9.2.19, ST_Xstring).
pub(crate) fn escape(text: &str) -> String {
    let mut out = String::with_capacity(text.len() + 16);
    for (at, character) in text.char_indices() {
        match character {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '_' if looks_escaped(text.get(at..).unwrap_or_default()) => out.push_str("_x005F_"),
            '\t' | '\n' => out.push(character),
            '\u{0}'..='\u{1f}' | '\u{fffe}' | '\u{ffff}' => {
                out.push_str(&format!("_x{:04X}_", u32::from(character)));
            }
            _ => out.push(character),
        }
    }
    out
}

/// Undoes [`escape`]'s `_xHHHH_`; entities are already resolved.
pub(crate) fn unescape(text: &str) -> String {
    if !text.contains("_x") {
        return text.to_owned();
    }
    let mut units: Vec<u16> = Vec::with_capacity(text.len());
    let mut rest = text;
    while let Some(character) = rest.chars().next() {
        if looks_escaped(rest) {
            let code = rest.get(2..6).and_then(|hex| u16::from_str_radix(hex, 16).ok());
            units.push(code.unwrap_or(0xfffd));
            rest = rest.get(7..).unwrap_or_default();
        } else {
            units.extend_from_slice(character.encode_utf16(&mut [0; 2]));
            rest = rest.get(character.len_utf8()..).unwrap_or_default();
        }
    }
    String::from_utf16_lossy(&units)
}

fn looks_escaped(text: &str) -> bool {
    text.strip_prefix("_x").is_some_and(|rest| {
        rest.get(..5).is_some_and(|head| {
            head.ends_with('_') && head.bytes().take(4).all(|byte| byte.is_ascii_hexdigit())
        })
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn attributes_are_found_whatever_the_quotes_and_spaces() {
        let tag = "<x:c  r = 'A1'\n t=\"s\" aria-t='u'/>";
        let span = attribute_span(tag, "t").unwrap();
        assert_eq!(&tag[span.value], "s");
        assert_eq!(&tag[span.whole], "\n t=\"s\"");
        assert_eq!(&tag[attribute_span(tag, "r").unwrap().value], "A1");
        assert!(attribute_span(tag, "s").is_none());
        assert!(attribute_span("<c/>", "s").is_none());
    }

    #[test]
    fn an_attribute_taken_out_leaves_its_neighbours_apart() {
        for (tag, expected) in [
            ("<c t=\"s\" r=\"A1\">", "<c r=\"A1\">"),
            ("<c t=\"s\"r=\"A1\">", "<c r=\"A1\">"),
            ("<c r=\"A1\" t='s'/>", "<c r=\"A1\"/>"),
            ("<c r=\"A1\">", "<c r=\"A1\">"),
        ] {
            let mut tag = tag.to_owned();
            remove_attribute(&mut tag, "t");
            assert_eq!(tag, expected);
        }
    }

    #[test]
    fn what_xml_cannot_hold_survives() {
        for text in ["a\u{1}b", "_x0041_", "a\rb", "x < y & z > 0", "_x00", "µ 🦊 _xFFFF_"] {
            let written = escape(text);
            let xml = format!("<t>{written}</t>");
            let mut walk = Walk::new(&xml);
            walk.next().unwrap();
            assert_eq!(unescape(&walk.text().unwrap()), text, "{written}");
        }
    }

    #[test]
    fn open_ends_and_document_types_are_refused() {
        for broken in ["<a><b></a>", "<a>", "", "<!DOCTYPE a><a/>", "<a>&nope;</a>"] {
            let mut walk = Walk::new(broken);
            let result = loop {
                match walk.next() {
                    Ok(Some(step)) => {
                        let mut text = String::new();
                        if let Err(error) = append(&step.event, &mut text) {
                            break Err(error);
                        }
                    }
                    Ok(None) => break Ok(()),
                    Err(error) => break Err(error),
                }
            };
            assert!(result.is_err(), "{broken}");
        }
    }
}
