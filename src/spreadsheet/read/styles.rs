//! `styles.xml`: whether a cell is locked, its number format, and how its letters look.

use std::collections::BTreeMap;

use quick_xml::events::{BytesStart, Event};

use super::archive::Archive;
use super::layout::Layout;
use super::xml::{Walk, attribute, flag};
use crate::diagnostic::Problems;
use crate::spreadsheet::model::look::{Alignment, BLACK, Colour, Look, Side, WHITE};
use crate::spreadsheet::model::number_format::built_in;
use crate::spreadsheet::model::styles::{Format, Style, Styles};

pub(crate) fn read_styles(archive: &mut Archive<'_>, layout: &Layout) -> Result<Styles, Problems> {
    let Some(part) = &layout.styles else { return Ok(Styles::default()) };
    let Some(text) = archive.text(part)? else { return Ok(Styles::default()) };
    Styles::read(&text.text)
        .map_err(|words| archive.broken(&format!("its part `{part}`: {words}")).into())
}

impl Styles {
    /// Reads `styles.xml`.
    pub(crate) fn read(text: &str) -> Result<Self, String> {
        let mut formats: BTreeMap<u32, String> = BTreeMap::new();
        let (mut fonts, mut fills): (Vec<Look>, Vec<Look>) = (Vec::new(), Vec::new());
        let mut cells: Vec<(bool, u32, usize, usize, Alignment)> = Vec::new();
        let mut rules: Vec<Laid> = Vec::new();
        let mut section = String::new();
        let mut walk = Walk::new(text);
        while let Some(step) = walk.next()? {
            let (Event::Start(element) | Event::Empty(element)) = &step.event else { continue };
            let number =
                |name| attribute(element, name).and_then(|id| id.parse().ok()).unwrap_or(0);
            let name = element.local_name();
            match (step.depth, section.as_str(), name.as_ref()) {
                (2, _, opened) => opened.clone_into(&mut section),
                (3, "numFmts", "numFmt") => {
                    let code = attribute(element, "formatCode").unwrap_or_default();
                    formats.insert(number("numFmtId"), code);
                }
                // letters of no colour are black
                (3, "fonts", "font") => {
                    fonts.push(Look { ink: Some(BLACK), ..Look::default() });
                }
                (4, "fonts", _) => fonts.last_mut().into_iter().for_each(|it| of_font(it, element)),
                (3, "fills", "fill") => fills.push(Look::default()),
                (4 | 5, "fills", _) => {
                    fills.last_mut().into_iter().for_each(|it| of_fill(it, element, "fgColor"));
                }
                (3, "cellXfs", "xf") => {
                    let at = |name| usize::try_from(number(name)).unwrap_or(usize::MAX);
                    let align = Alignment::default();
                    cells.push((true, number("numFmtId"), at("fontId"), at("fillId"), align));
                }
                (4, "cellXfs", "protection") => {
                    if let Some(style) = cells.last_mut() {
                        style.0 = flag(element, "locked", true);
                    }
                }
                (4, "cellXfs", "alignment") => {
                    cells.last_mut().into_iter().for_each(|style| style.4 = alignment(element));
                }
                (3, "dxfs", "dxf") => rules.push(Laid::default()),
                (4.., "dxfs", _) => {
                    rules.last_mut().into_iter().for_each(|it| it.take(element, step.depth == 4));
                }
                _ => {}
            }
        }
        let cells = cells.into_iter().map(|(locked, id, font, fill, align)| {
            let code = formats.get(&id).cloned().unwrap_or_else(|| built_in(id).into());
            let look = fonts.get(font).cloned().unwrap_or_default();
            let look = fills.get(fill).map_or(look.clone(), |fill| look.under(fill));
            let format = Some(Format::of(id, code));
            Style { unlocked: !locked, format, look, align, also: Vec::new() }
        });
        let cells = cells.collect();
        Ok(Self::of(cells, rules.into_iter().map(|laid| laid.style).collect()))
    }
}

/// What a rule lays over the style of a cell, while it is read; ECMA-376 Part 1, 18.8.14 (dxf, from memory).
#[derive(Default)]
pub(crate) struct Laid {
    pub(crate) style: Style,
    /// Its part being read: letters, ground, lines.
    part: String,
}

impl Laid {
    /// Takes in an element within it; `outer` if it stands in no other part of it.
    pub(crate) fn take(&mut self, element: &BytesStart<'_>, outer: bool) {
        let name = element.local_name();
        if outer {
            name.as_ref().clone_into(&mut self.part);
        }
        match self.part.as_str() {
            "numFmt" => {
                let id = attribute(element, "numFmtId").and_then(|id| id.parse().ok()).unwrap_or(0);
                let code = attribute(element, "formatCode");
                let code = code.unwrap_or_else(|| built_in(id).to_owned());
                self.style.format = Some(Format::of(id, code));
            }
            "font" => of_font(&mut self.style.look, element),
            // unlike that of a cell, a full ground has its colour here
            "fill" => of_fill(&mut self.style.look, element, "bgColor"),
            _ => {}
        }
    }
}

fn of_font(look: &mut Look, element: &BytesStart<'_>) {
    match element.local_name().as_ref() {
        "color" => look.ink = colour(element),
        "strike" => look.struck = flag(element, "val", true),
        "sz" => look.points = attribute(element, "val").and_then(|size| size.parse().ok()),
        _ => {}
    }
}

/// `wanted` names the colour of a ground without a pattern.
fn of_fill(look: &mut Look, element: &BytesStart<'_>, wanted: &str) {
    if element.local_name().as_ref() == wanted {
        look.ground = colour(element);
    }
}

/// How a cell sets what it shows; ECMA-376 Part 1, 18.8.1 (from memory).
fn alignment(element: &BytesStart<'_>) -> Alignment {
    let said = |name| attribute(element, name);
    let across = said("horizontal").unwrap_or_default();
    let down = said("vertical").unwrap_or_default();
    let spread = |word: &str| matches!(word, "justify" | "distributed");
    Alignment {
        side: match across.as_str() {
            "right" => Side::Right,
            "center" | "centerContinuous" => Side::Middle,
            _ => Side::Left,
        },
        top: down == "top" || spread(&down),
        wrapped: flag(element, "wrapText", false) || spread(&across) || spread(&down),
        shrunk: flag(element, "shrinkToFit", false),
        indent: said("indent").and_then(|steps| steps.parse().ok()).unwrap_or(0.0),
        turned: said("textRotation").is_some_and(|angle| angle != "0"),
    }
}

/// A colour; ECMA-376 Part 1, 18.8.3 and 18.8.27 (from memory). The first two of a theme are ground and letters.
fn colour(element: &BytesStart<'_>) -> Option<Colour> {
    if let Some(rgb) = attribute(element, "rgb") {
        return Some(Colour::parse(&rgb).unwrap_or(Colour::Other(rgb)));
    }
    let tint = attribute(element, "tint").and_then(|tint| tint.parse::<f64>().ok());
    let tint = tint.filter(|tint| *tint != 0.0);
    let (kind, number) = ["theme", "indexed"]
        .into_iter()
        .find_map(|kind| Some((kind, attribute(element, kind)?)))?;
    Some(match (kind, number.as_str(), tint) {
        ("theme", "0", None) | ("indexed", "1" | "9", None) => WHITE,
        ("theme", "1", None) | ("indexed", "0" | "8", None) => BLACK,
        // the colours of the screen: those of letters, and of the ground
        ("indexed", "64", None) => BLACK,
        ("indexed", "65", None) => WHITE,
        _ => Colour::Other(format!("{kind} {number} {}", tint.unwrap_or(0.0))),
    })
}
