//! Labelled blocks: a cell `sheet brake-resistor`, below it rows of name, value, unit.

use super::{Asked, Binder, CellAt, End, Label, Part, Request, ToleranceAt, asked_result, label};
use crate::diagnostic::Place;
use crate::spreadsheet::{Cell, Position, TabKind};

/// One row of a block.
pub(in crate::workbook) struct Row {
    name: String,
    name_cell: CellAt,
    values: Vec<CellAt>,
    unit: Option<(String, Place)>,
    /// Where its tolerance stands.
    tolerance: ToleranceAt,
    /// The cells below the headings `lowest` and `highest`.
    ends: Vec<(End, CellAt)>,
    /// A row of the same name stands above it.
    again: bool,
}

impl Binder<'_> {
    /// Every calculation that the labelled blocks ask for.
    pub(super) fn blocks(&mut self) {
        let book = self.book;
        for tab in book.tabs.iter().filter(|tab| tab.kind == TabKind::Cells) {
            let starts: Vec<(Position, String)> = tab
                .entries()
                .filter_map(|entry| match &entry.cell {
                    Cell::Text(text) => asked(text).map(|sheet| (entry.position, sheet)),
                    _ => None,
                })
                .collect();
            for (position, sheet) in starts {
                let place = self.place(&CellAt { tab: tab.name.clone(), position });
                if !self.wants(&sheet, &place) {
                    continue;
                }
                let Some(program) = self.program(&sheet, &place) else { continue };
                let mut request = self.request(&sheet, place.clone(), &program);
                request.read_at(&place, &format!("sheet {sheet}"), Part::Label);
                let last = tab.used().map_or(0, |used| used.last.row);
                for row in self.rows(&tab.name, position, last) {
                    self.bind_row(&mut request, row);
                }
                self.bound.requests.push(request);
            }
        }
    }

    /// The rows below the cell that names the sheet, down to the row `last`.
    pub(in crate::workbook) fn rows(&self, tab: &str, start: Position, last: u32) -> Vec<Row> {
        let mut rows: Vec<Row> = Vec::new();
        let mut empty = 0;
        let mut heads = Heads::default();
        for row in start.row + 1..=last {
            let at = |right: u32| {
                Position::new(row, start.column + right)
                    .map(|position| CellAt { tab: tab.to_owned(), position })
            };
            let (Some(name_cell), Some(value), Some(unit_cell)) = (at(0), at(1), at(2)) else {
                break;
            };
            let value_is_empty = self.cell(&value).is_empty();
            let Some(text) = self.text_of(&name_cell) else {
                // a series goes on below its first value; a row with a text beside its unit, such as
                // `value 7`, is kept free for it
                let kept_free =
                    (3..=5).filter_map(at).any(|beside| self.text_of(&beside).is_some());
                match rows.last_mut() {
                    Some(before) if (!value_is_empty || kept_free) && empty == 0 => {
                        before.values.push(value);
                    }
                    _ => empty += 1,
                }
                if empty >= 2 {
                    break;
                }
                continue;
            };
            if asked(&text).is_some() {
                break;
            }
            empty = 0;
            // a tolerance may stand in the place of a unit that the label says
            let unit =
                self.text_of(&unit_cell).filter(|text| !crate::calculation::is_tolerance(text));
            let unit = unit.map(|text| (text, self.place(&unit_cell)));
            let Label { name, unit: in_label } = label(&text);
            let unit = unit.or_else(|| in_label.map(|unit| (unit, self.place(&name_cell))));
            let again = rows.iter().any(|row| row.name == name);
            if matches!(self.cell(&value), Cell::Text(text) if is_heading(text)) {
                heads = self.heads(tab, value.position);
            }
            let below = |column: u32| {
                Some(CellAt { tab: tab.to_owned(), position: Position::new(row, column)? })
            };
            let tolerance =
                heads.tolerance.and_then(below).map_or(ToleranceAt::Beside, ToleranceAt::In);
            let ends = heads
                .ends
                .iter()
                .filter_map(|(end, column)| Some((*end, below(*column)?)))
                .collect();
            rows.push(Row { name, name_cell, values: vec![value], unit, tolerance, ends, again });
        }
        rows
    }

    /// The columns that a row of headings names, to the right of `value`.
    fn heads(&self, tab: &str, value: Position) -> Heads {
        let mut heads = Heads::default();
        for column in value.column + 1..=value.column + HEADS {
            let Some(position) = Position::new(value.row, column) else { break };
            let Some(text) = self.text_of(&CellAt { tab: tab.to_owned(), position }) else {
                continue;
            };
            match text.to_lowercase().as_str() {
                "tolerance" | "±" => heads.tolerance = Some(column),
                "lowest" => heads.ends.push((End::Lowest, column)),
                "highest" => heads.ends.push((End::Highest, column)),
                _ => {}
            }
        }
        heads
    }

    /// Binds a row; an input that the sheet gives again as a result takes the result in its second row.
    pub(in crate::workbook) fn bind_row(&mut self, request: &mut Request, row: Row) {
        request.read(row.name_cell.clone(), &row.name, Part::Label);
        let is_input = request.program.inputs.iter().any(|input| input.name == row.name);
        let asked = asked_result(&request.program, &row.name);
        let is_result = asked.is_some();
        match (is_input, is_result) {
            (true, result) if !(row.again && result) => {
                self.input(request, &row.name, &row.values, row.unit, &row.tolerance)
            }
            (_, true) => {
                let ends = match asked {
                    Some(Asked::Result(_)) => row.ends,
                    _ => Vec::new(),
                };
                for (end, cell) in ends {
                    let name = format!("{} {}", row.name, end.word());
                    self.result(request, &name, vec![cell], row.unit.clone());
                }
                self.result(request, &row.name, row.values, row.unit);
            }
            (_, false) => {
                let value = row.values.first().map(|cell| self.cell(cell));
                let heading = match value {
                    Some(Cell::Text(text)) => is_heading(text),
                    Some(Cell::Empty) | None => row.unit.is_none() || !is_name(&row.name),
                    Some(_) => false,
                };
                if !heading {
                    let place = self.place(&row.name_cell);
                    self.stranger(request, &row.name, place);
                }
            }
        }
    }
}

/// Columns that are looked at for headings to the right of `value`.
const HEADS: u32 = 12;

/// The columns that a row of headings names.
#[derive(Default)]
struct Heads {
    tolerance: Option<u32>,
    ends: Vec<(End, u32)>,
}

fn is_heading(text: &str) -> bool {
    text.trim().eq_ignore_ascii_case("value")
}

/// The sheet that a cell asks for, if it asks for one.
pub(in crate::workbook) fn asked(text: &str) -> Option<String> {
    let asked = text.trim().strip_prefix("sheet")?;
    let said = asked.strip_prefix(char::is_whitespace)?.trim();
    let name = said.strip_prefix("own ").or_else(|| said.strip_prefix("library "));
    let name = name.unwrap_or(said).trim();
    let plain = name.starts_with(char::is_alphabetic)
        && name.chars().all(|sign| sign.is_alphanumeric() || sign == '-' || sign == '_');
    (plain || said.ends_with(".sheet")).then(|| said.to_owned())
}

fn is_name(text: &str) -> bool {
    // a result of a used sheet has its path before it: `inertia.J_ref`
    text.split('.').all(|part| {
        part.starts_with(char::is_alphabetic)
            && part.chars().all(|sign| sign.is_alphanumeric() || sign == '_')
    })
}
