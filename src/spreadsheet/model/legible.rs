//! Whether what a cell holds can be read there: the one place that decides it from the layout of the tab.
//!
//! Where texts spill and where they are cut, that rows with a stated height do not grow, and that numbers never spill is
//! common practice, no source; alignment as ECMA-376 Part 1, 18.8.1, describes it (from memory).

use super::book::{Tab, Visibility};
use super::look::{Alignment, Side, width};
use super::position::{Area, COLUMNS, Position};
use super::room::Room;

/// Why a cell cannot be read, and what helps.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Illegible {
    pub(crate) kind: Hindrance,
    pub(crate) why: String,
    pub(crate) remedy: String,
}

/// What hinders; one caution for each where it concerns several figures.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Hindrance {
    Hidden,
    Covered,
    NotPrinted,
    Narrow,
    Low,
}

/// The size of letters of which nothing is said, in points; common practice, no source.
const POINTS: f64 = 11.0;

/// The height of a line, as a part of the size of its letters; common practice, no source.
const LINE: f64 = 1.2;

/// Below this height of a row, as a part of the size of the letters, nobody reads them; common practice, no source.
const LOW: f64 = 0.7;

/// What a step of indentation takes, in digits.
const INDENT: f64 = 1.3;

/// By how many digits a width is allowed to be too small: faces differ.
const SLACK: f64 = 0.3;

impl Tab {
    /// Why a text cannot be read in a cell. `head` is how much of it, in bytes, has to be in sight; `taken` says of cells
    /// that are empty now whether they will be filled.
    pub(crate) fn illegible(
        &self,
        cell: Position,
        text: &str,
        head: usize,
        taken: &dyn Fn(Position) -> bool,
    ) -> Option<Illegible> {
        let style = self.style(cell);
        if let Some(found) = self.out_of_sight(cell, style) {
            return Some(found);
        }
        let room = self.room.as_deref()?;
        let (own, align) = (self.own_area(cell), self.alignment(style));
        let scale = self.points(style) / POINTS;
        let width = |text: &str| scale * width(text);
        let space = own_width(room, own) - align.indent * INDENT;
        let wider = |needed: f64| {
            let column = cell.column_name();
            let least = (needed + align.indent * INDENT + SLACK).ceil() + 1.0;
            format!("make column {column} at least {least} wide")
        };
        if align.turned || align.wrapped {
            return self.too_low(cell, own, align, (width(text), space, scale));
        }
        let head = text.get(..head).unwrap_or(text);
        let needed = if align.side == Side::Left { width(head) } else { width(text) };
        let shrunk = || align.shrunk && space / needed * self.points(style) >= 4.0;
        if needed <= space + SLACK || shrunk() {
            return None;
        }
        let name = cell.name();
        let narrow =
            |why: String, remedy: String| Some(Illegible { kind: Hindrance::Narrow, why, remedy });
        if align.shrunk {
            let why = format!("it is shrunk into {name} until nobody can read it");
            return narrow(why, wider(needed));
        }
        if align.side == Side::Left && align.indent > 0.0 {
            let why = format!(
                "it is indented, and column {} has no room left for it",
                cell.column_name()
            );
            return narrow(why, format!("take the indentation of {name} off"));
        }
        let (before, behind) = self.spill(own, room, taken);
        let filled = |column: Option<u32>| {
            let beside = column.map(|column| Position { row: cell.row, column }.name());
            beside.map_or_else(String::new, |beside| format!(", and {beside} beside it is filled"))
        };
        let left = own.first.column.checked_sub(1);
        let right = own.last.column.checked_add(1);
        match align.side {
            Side::Left if needed > space + behind + SLACK => narrow(
                format!("column {} is too narrow for it{}", cell.column_name(), filled(right)),
                wider(needed),
            ),
            Side::Right if needed > space + before + SLACK => {
                let to_left = width(head) <= space + behind + SLACK;
                narrow(
                    format!(
                        "it ends at the right edge{}, so that its beginning is cut off",
                        filled(left)
                    ),
                    if to_left { format!("align {name} to the left") } else { wider(needed) },
                )
            }
            Side::Middle if (needed - space) / 2.0 > before + SLACK => {
                let to_left = width(head) <= space + behind + SLACK;
                narrow(
                    format!("it is centred{}, so that its beginning is cut off", filled(left)),
                    if to_left { format!("align {name} to the left") } else { wider(needed) },
                )
            }
            _ => None,
        }
    }

    /// Why a number of so many digits cannot be read in a cell; it never spills into the next one.
    pub(crate) fn illegible_number(&self, cell: Position, digits: f64) -> Option<Illegible> {
        let style = self.style(cell);
        if let Some(found) = self.out_of_sight(cell, style) {
            return Some(found);
        }
        let space = self.digits_in_style(cell, style)?;
        (digits > space + SLACK && !self.alignment(style).shrunk).then(|| {
            let column = cell.column_name();
            Illegible {
                kind: Hindrance::Narrow,
                why: format!(
                    "column {column} is too narrow for it: signs such as ### stand in its place"
                ),
                remedy: format!("make column {column} at least {} wide", (digits + 2.0).ceil()),
            }
        })
    }

    /// How many digits have room in a cell; none where the layout is not known.
    pub(crate) fn digits_in(&self, cell: Position) -> Option<f64> {
        self.digits_in_style(cell, self.style(cell))
    }

    fn digits_in_style(&self, cell: Position, style: u32) -> Option<f64> {
        let room = self.room.as_deref()?;
        let indent = self.alignment(style).indent * INDENT;
        let space = own_width(room, self.own_area(cell)) - indent;
        Some(space * POINTS / self.points(style))
    }

    /// What keeps a cell out of sight, whatever it holds.
    fn out_of_sight(&self, cell: Position, style: u32) -> Option<Illegible> {
        let row = cell.row + 1;
        let found = |kind, why: String, remedy: String| Some(Illegible { kind, why, remedy });
        if self.visibility != Visibility::Visible {
            let (why, remedy) = (
                format!("the tab `{}` is hidden", self.name),
                format!("show the tab `{}`", self.name),
            );
            return found(Hindrance::Hidden, why, remedy);
        }
        let room = self.room.as_deref();
        let flat = |points: f64| points < LOW * self.points(style);
        let own = self.own_area(cell);
        let high =
            |room: &Room| (own.first.row..=own.last.row).map(|row| room.height_of(row)).sum();
        if self.hidden.row(cell.row) {
            found(Hindrance::Hidden, format!("row {row} is hidden"), format!("show row {row}"))
        } else if self.hidden.column(cell.column) {
            let column = cell.column_name();
            let (why, remedy) =
                (format!("column {column} is hidden"), format!("show column {column}"));
            found(Hindrance::Hidden, why, remedy)
        } else if room.is_some_and(|room| flat(high(room))) {
            let least = (self.points(style) * LINE).ceil();
            let (why, remedy) = (
                format!("row {row} is too low to be read"),
                format!("make row {row} at least {least} points high"),
            );
            found(Hindrance::Low, why, remedy)
        } else if room.is_some_and(|room| room.covered.iter().any(|area| area.contains(cell))) {
            let name = cell.name();
            let (why, remedy) = (
                format!("a picture, a chart or a shape lies over {name}"),
                format!("move what lies over {name} to another place"),
            );
            found(Hindrance::Covered, why, remedy)
        } else if room.is_some_and(|room| {
            !room.printed.is_empty() && !room.printed.iter().any(|area| area.contains(cell))
        }) {
            let name = cell.name();
            let (why, remedy) = (
                format!("the print area of the tab leaves {name} out"),
                format!("take {name} into the print area of the tab"),
            );
            found(Hindrance::NotPrinted, why, remedy)
        } else {
            None
        }
    }

    /// Whether the height that is said for a row leaves lines out.
    fn too_low(
        &self,
        cell: Position,
        own: Area,
        align: &Alignment,
        (long, space, scale): (f64, f64, f64),
    ) -> Option<Illegible> {
        let room = self.room.as_deref()?;
        let rows = own.first.row..=own.last.row;
        // a merged area does not grow
        let height: f64 = match own.first.row == own.last.row && own.first.column == own.last.column
        {
            true => room.stated_height(cell.row)?,
            false => rows.map(|row| room.height_of(row)).sum(),
        };
        let line = scale * POINTS * LINE;
        let (needed, what) = match align.turned {
            // a digit is about half as wide as its letters are high
            true => (long * POINTS / 2.0, "it is turned"),
            // words stay whole, so that lines are not quite full
            false => ((long / (space - 1.0).max(1.0)).ceil().max(1.0) * line, "it is wrapped"),
        };
        let fits =
            needed <= height + line * 0.3 || align.top && !align.turned && space >= 8.0 * scale;
        (!fits).then(|| Illegible {
            kind: Hindrance::Low,
            why: format!("{what}, and row {} is too low for all of it", cell.row + 1),
            remedy: format!("make row {} at least {} points high", cell.row + 1, needed.ceil()),
        })
    }

    /// How many digits of empty cells a text may run into, before and behind its own.
    fn spill(&self, own: Area, room: &Room, taken: &dyn Fn(Position) -> bool) -> (f64, f64) {
        if own.first != own.last {
            return (0.0, 0.0);
        }
        let row = own.first.row;
        let free = |column: &u32| {
            let at = Position { row, column: *column };
            let empty = self.cell(at).is_empty() && !self.has_formula(at);
            empty && !taken(at) && self.merged_at(at).is_none()
        };
        let wide = |column: u32| match self.hidden.column(column) {
            true => 0.0,
            false => room.width_of(column) + 0.7,
        };
        // no text is longer than so many columns
        const REACH: u32 = 60;
        let first = own.first.column;
        let before = (first.saturating_sub(REACH)..first).rev().take_while(free).map(wide).sum();
        let end = first.saturating_add(REACH).min(COLUMNS);
        let behind = (first + 1..end).take_while(free).map(wide).sum();
        (before, behind)
    }

    fn own_area(&self, cell: Position) -> Area {
        self.merged_at(cell).unwrap_or_else(|| Area::between(cell, cell))
    }

    fn alignment(&self, style: u32) -> &Alignment {
        self.styles.get(style).map_or(&Alignment::NONE, |style| &style.align)
    }

    fn points(&self, style: u32) -> f64 {
        let points = |style| self.styles.get(style).and_then(|style| style.look.points);
        let (own, common) = (points(style), points(0));
        POINTS * own.or(common).unwrap_or(POINTS) / common.unwrap_or(POINTS)
    }
}

fn own_width(room: &Room, own: Area) -> f64 {
    // the margins between merged columns are room as well
    let columns = own.last.column.saturating_sub(own.first.column).min(200);
    let widths = (0..=columns).map(|at| room.width_of(own.first.column + at));
    widths.sum::<f64>() + 0.7 * f64::from(columns)
}
