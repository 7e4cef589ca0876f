//! The layout of a tab of an .xlsx: widths, heights, what lies over its cells, what is printed.
//!
//! ECMA-376 Part 1, 18.3.1.13 (col), 18.3.1.81 (sheetFormatPr), 20.5 (anchors of drawings) and 18.2.6 (print areas), all
//! from memory.

use quick_xml::events::{BytesStart, Event};

use super::allowed::Rules;
use super::archive::Archive;
use super::layout::{Layout, Relationships, TabPart, target};
use super::notes;
use super::xml::{Walk, attribute, flag};
use crate::diagnostic::Problems;
use crate::spreadsheet::model::names::Target;
use crate::spreadsheet::model::notes::Notes;
use crate::spreadsheet::model::position::{Area, COLUMNS, Position, ROWS};
use crate::spreadsheet::model::room::Room;

/// What a stated width holds beside its digits: margins and the line, in digits.
const MARGINS: f64 = 5.0 / 7.0;

/// A digit of the common letters, and a point, in the unit of drawings (914 400 an inch, 96 dots an inch, 7 dots a digit;
/// common practice, no source).
const DIGIT: f64 = 7.0 * 9525.0;
const POINT: f64 = 12_700.0;

impl Room {
    /// Takes in an element that says how wide columns or how high rows are.
    pub(super) fn take(&mut self, element: &BytesStart<'_>) {
        let said = |name| attribute(element, name).and_then(|text| text.parse::<f64>().ok());
        match element.local_name().as_ref() {
            "sheetFormatPr" => {
                self.column = said("defaultColWidth").map(|width| (width - MARGINS).max(0.0));
                let fixed = flag(element, "customHeight", false);
                self.row = said("defaultRowHeight").filter(|_| fixed);
                if flag(element, "zeroHeight", false) {
                    self.row = Some(0.0);
                }
            }
            "col" => {
                let number = |name| attribute(element, name).and_then(|it| it.parse::<u32>().ok());
                if let (Some(first), Some(last), Some(width)) =
                    (number("min"), number("max"), said("width"))
                {
                    let columns = first.saturating_sub(1)..last.min(COLUMNS);
                    self.columns.push((columns, (width - MARGINS).max(0.0)));
                }
            }
            _ => {}
        }
    }

    /// Takes in what is said of a tab outside of its own part; what its owner noted at cells comes back.
    pub(crate) fn around(
        &mut self,
        archive: &mut Archive<'_>,
        layout: &Layout,
        part: &TabPart,
        rules: &Rules,
    ) -> Result<Notes, Problems> {
        self.printed = printed(layout, part);
        let names = layout.names.iter().map(|name| (name.name.clone(), name.target.clone()));
        self.allowed = rules.allowed(&names.collect::<Vec<_>>());
        let related = Relationships::of(archive, &part.part)?;
        let notes = notes::of_parts(archive, &related, "/comments")?;
        let talks = notes::of_parts(archive, &related, "/threadedComment")?;
        for drawing in related.targets("/drawing") {
            if let Some(text) = archive.text(&drawing)? {
                // a drawing that nobody can read is drawn by nobody
                self.covered.extend(covered(&text.text, self).unwrap_or_default());
            }
        }
        Ok(Notes::of([notes, talks].concat()))
    }
}

/// The areas of a tab that are printed; none where all of it is.
fn printed(layout: &Layout, part: &TabPart) -> Vec<Area> {
    let own = |name: &&crate::spreadsheet::model::names::DefinedName| {
        name.name.eq_ignore_ascii_case("_xlnm.Print_Area")
            && name.scope.as_deref() == Some(&part.name)
    };
    let Some(name) = layout.names.iter().find(own) else { return Vec::new() };
    let known = [part.name.as_str()];
    // a comma in the name of a tab leaves pieces that are no areas, and then nothing is said of what is printed
    let areas = name.text.split(',').map(|text| match target(text.trim(), &known) {
        Target::Cells { area, .. } => Some(area),
        _ => None,
    });
    areas.collect::<Option<Vec<Area>>>().unwrap_or_default()
}

/// An anchor while it is read.
#[derive(Default)]
struct Anchor {
    /// Column, its offset, row, its offset; of both corners.
    corners: [[f64; 4]; 2],
    /// Where it lies and how large it is, where that is said.
    place: Option<(f64, f64)>,
    size: Option<(f64, f64)>,
    /// Which corner is being read.
    at: usize,
    absolute: bool,
    single: bool,
    /// Whether what is drawn lets the cells be seen.
    open: bool,
}

/// What the pictures, charts and filled shapes of a drawing cover.
fn covered(text: &str, room: &Room) -> Result<Vec<Area>, String> {
    let mut found = Vec::new();
    let mut anchor = Anchor::default();
    let mut walk = Walk::new(text);
    while let Some(step) = walk.next()? {
        match &step.event {
            Event::Start(element) | Event::Empty(element) => {
                let open = matches!(step.event, Event::Start(_));
                let name = element.local_name();
                let number = |name| {
                    attribute(element, name).and_then(|it| it.parse::<f64>().ok()).unwrap_or(0.0)
                };
                match (step.depth, name.as_ref()) {
                    (2, kind) => {
                        anchor = Anchor {
                            absolute: kind == "absoluteAnchor",
                            single: kind != "twoCellAnchor",
                            ..Anchor::default()
                        };
                    }
                    (3, "from") => anchor.at = 0,
                    (3, "to") => anchor.at = 1,
                    (3, "pos") => anchor.place = Some((number("x"), number("y"))),
                    (3, "ext") => anchor.size = Some((number("cx"), number("cy"))),
                    (3, "cxnSp") => anchor.open = true,
                    (5, "noFill") => anchor.open = true,
                    (_, "cNvPr") => anchor.open |= flag(element, "hidden", false),
                    (4, part @ ("col" | "colOff" | "row" | "rowOff")) if open => {
                        let at =
                            ["col", "colOff", "row", "rowOff"].iter().position(|it| *it == part);
                        let value = walk.text()?.trim().parse::<f64>().unwrap_or(0.0);
                        let corner = anchor.corners.get_mut(anchor.at);
                        let to = corner.zip(at).and_then(|(corner, at)| corner.get_mut(at));
                        to.into_iter().for_each(|to| *to = value);
                    }
                    _ => {}
                }
            }
            Event::End(_) if step.depth == 2 && !anchor.open => found.extend(anchor.area(room)),
            _ => {}
        }
    }
    Ok(found)
}

impl Anchor {
    /// The cells of which it covers the greater part.
    fn area(&self, room: &Room) -> Option<Area> {
        let wide = |at: u32| (room.width_of(at) + MARGINS) * DIGIT;
        let high = |at: u32| room.height_of(at) * POINT;
        let [[column, right, row, down], [to_column, to_right, to_row, to_down]] = self.corners;
        let (column, row) = (whole(column, COLUMNS)?, whole(row, ROWS)?);
        let ((first, last), (top, bottom)) = if self.single {
            let (wanted, low) = self.size?;
            let (x, y) = if self.absolute { self.place? } else { (right, down) };
            (along(column, x, wanted, COLUMNS, &wide)?, along(row, y, low, ROWS, &high)?)
        } else {
            let (to_column, to_row) = (whole(to_column, COLUMNS)?, whole(to_row, ROWS)?);
            let ends = |from: u32, offset: f64, to: u32, end: f64, size: &dyn Fn(u32) -> f64| {
                let first = if offset > size(from) / 2.0 { from + 1 } else { from };
                let last = if end < size(to) / 2.0 { to.checked_sub(1)? } else { to };
                (first <= last).then_some((first, last))
            };
            (
                ends(column, right, to_column, to_right, &wide)?,
                ends(row, down, to_row, to_down, &high)?,
            )
        };
        Some(Area::between(
            Position { row: top, column: first },
            Position { row: bottom, column: last },
        ))
    }
}

/// The places along an edge of which what begins `offset` behind `from` and is `size` long covers the greater part.
fn along(
    from: u32,
    offset: f64,
    size: f64,
    count: u32,
    each: &dyn Fn(u32) -> f64,
) -> Option<(u32, u32)> {
    let (mut at, mut begin) = (from, 0.0);
    let (mut first, mut last) = (None, None);
    // nothing is drawn over more than that
    while at < count && at - from < 5000 && begin < offset + size {
        let end = begin + each(at);
        let middle = (begin + end) / 2.0;
        if offset <= middle && middle <= offset + size {
            first = first.or(Some(at));
            last = Some(at);
        }
        (at, begin) = (at + 1, end);
    }
    first.zip(last)
}

fn whole(number: f64, count: u32) -> Option<u32> {
    let fits = number >= 0.0 && number < f64::from(count);
    fits.then(|| format!("{number:.0}").parse().ok())?
}
