//! A tab's part scanned once: where each row, cell, formula and value stands in its bytes.

use std::ops::Range;
use std::sync::Arc;

use quick_xml::events::{BytesStart, Event};

use crate::spreadsheet::formula::is_total;
use crate::spreadsheet::model::book::Entry;
use crate::spreadsheet::model::cell::Cell;
use crate::spreadsheet::model::formulas::{Formula, Shape};
use crate::spreadsheet::model::hidden::Hidden;
use crate::spreadsheet::model::position::{Area, Areas, COLUMNS, Position, ROWS};
use crate::spreadsheet::model::room::Room;
use crate::spreadsheet::read::allowed::Rules;
use crate::spreadsheet::read::cell_span::{CellSpan, Kind};
use crate::spreadsheet::read::conditional::Conditional;
use crate::spreadsheet::read::plain_cell::plain_cell;
use crate::spreadsheet::read::xml::{Step, Walk, attribute, attributes, flag};

/// A scanned tab. Offsets are bytes of the text that was scanned.
#[derive(Default)]
pub(crate) struct Sheet {
    /// The name of the root element.
    pub(crate) root: String,
    /// `x:` if the elements carry a prefix.
    pub(crate) prefix: String,
    /// Whether the cells' container is more than a single empty element.
    pub(crate) open: bool,
    /// The element that tells the used area, and that area.
    pub(crate) dimension: Option<(Range<usize>, Area)>,
    /// The start tag of the cells' container, and where its end tag begins (its end if empty).
    pub(crate) data: Range<usize>,
    pub(crate) data_end: usize,
    pub(crate) columns: Vec<ColumnStyle>,
    pub(crate) rows: Vec<Row>,
    pub(crate) cells: Vec<CellSpan>,
    pub(crate) formulas: Arc<Vec<Formula>>,
    pub(crate) merged: Vec<Area>,
    pub(crate) protected: bool,
    /// The rows and columns that are not shown.
    pub(crate) hidden: Hidden,
    pub(crate) conditional: Conditional,
    pub(crate) room: Room,
    pub(crate) allowed: Rules,
    /// The stored cells within areas that one formula fills, where the cells themselves are not kept.
    pub(crate) in_blocks: Vec<Position>,
    /// How many rows and cells are stored in another way than nearly all are.
    pub(crate) odd: usize,
    merged_areas: Areas,
    /// The areas that arrays and data tables fill, with their formulas.
    blocks: Areas,
}

/// What an element beside the cells is.
#[derive(PartialEq, Eq)]
enum ElementKind {
    /// The container of the cells.
    Cells,
    Other,
}

/// The style that empty cells of some columns have.
#[derive(Clone)]
pub(crate) struct ColumnStyle {
    pub(crate) columns: Range<u32>,
    pub(crate) style: u32,
}

/// A row element.
pub(crate) struct Row {
    pub(crate) row: u32,
    /// The start tag.
    pub(crate) tag: Range<usize>,
    /// Where the end tag begins; the end of the tag if the row is a single empty element.
    pub(crate) close: usize,
    pub(crate) empty: bool,
    /// The style of its empty cells, if it has one.
    pub(crate) style: Option<u32>,
    /// Its cells among all cells.
    pub(crate) cells: Range<usize>,
}

impl Sheet {
    /// Scans the text of a tab's part.
    pub(crate) fn scan(text: &str) -> Result<Self, String> {
        if u32::try_from(text.len()).is_err() {
            return Err("it is larger than 4 GiB".to_owned());
        }
        let mut sheet = Self::default();
        let mut walk = Walk::new(text);
        let mut seen_data = false;
        while let Some(step) = walk.next()? {
            if sheet.around(&step)? == ElementKind::Cells {
                if seen_data {
                    return Err("it holds its cells twice".to_owned());
                }
                seen_data = true;
                if matches!(step.event, Event::Start(_)) {
                    sheet.rows(&mut walk, 0)?;
                }
            }
        }
        sheet.index();
        if seen_data { Ok(sheet) } else { Err("it has no place for cells".to_owned()) }
    }

    /// Scans a part's beginning up to and with the start tag of its cells' container; none if the
    /// text ends before.
    pub(crate) fn opening(text: &str) -> Result<Option<Self>, String> {
        let mut sheet = Self::default();
        let mut walk = Walk::new(text);
        // an error may only mean that the text ends within a tag
        while let Ok(Some(step)) = walk.next() {
            if sheet.around(&step)? == ElementKind::Cells {
                return Ok(Some(sheet));
            }
        }
        Ok(None)
    }

    /// Scans whole rows, the first of them `next` if it does not say which it is.
    pub(crate) fn piece(text: &str, next: u32) -> Result<Self, String> {
        if u32::try_from(text.len()).is_err() {
            return Err("some of its rows are larger than 4 GiB".to_owned());
        }
        let mut sheet = Self { data_end: text.len(), ..Self::default() };
        sheet.rows(&mut Walk::within(text, 2), next)?;
        Ok(sheet)
    }

    /// Takes in what stands behind the cells; `text` begins with the end of their container, if that
    /// has one.
    pub(crate) fn closing(&mut self, root: &str, text: &str) -> Result<(), String> {
        let open = if self.open { format!("<{}sheetData>", self.prefix) } else { String::new() };
        let whole = format!("<{root}>{open}{text}");
        let mut walk = Walk::new(&whole);
        let mut seen = 0;
        let used = self.dimension.clone();
        while let Some(step) = walk.next()? {
            let own = self.open && step.span.start == root.len() + 2;
            if step.depth == 1 || own {
                continue;
            }
            if self.around(&step)? == ElementKind::Cells {
                seen += 1;
            }
        }
        self.dimension = used;
        self.index();
        if seen == 0 { Ok(()) } else { Err("it holds its cells twice".to_owned()) }
    }

    /// Takes in an element beside the cells.
    fn around(&mut self, step: &Step<'_>) -> Result<ElementKind, String> {
        self.conditional.take(step)?;
        self.allowed.take(step)?;
        let (element, open) = match &step.event {
            Event::Start(element) => (element, true),
            Event::Empty(element) => (element, false),
            _ => return Ok(ElementKind::Other),
        };
        match (step.depth, element.local_name().as_ref()) {
            (1, "worksheet") => self.root = element.name().as_ref().to_owned(),
            (1, other) => return Err(format!("it is a {other}, not a worksheet")),
            (2, "dimension") => self.dimension(element, step.span.clone())?,
            (2, "sheetData") => {
                let name = element.name();
                let prefix = name.as_ref().strip_suffix("sheetData").unwrap_or_default();
                self.prefix = prefix.to_owned();
                self.open = open;
                self.data = step.span.clone();
                self.data_end = step.span.end;
                return Ok(ElementKind::Cells);
            }
            (2, "sheetFormatPr") => self.room.take(element),
            (3, "col") => self.column(element),
            (3, "mergeCell") => {
                let area = attribute(element, "ref").and_then(|area| Area::parse(&area));
                self.merged.push(area.ok_or("a merged area lies outside a worksheet")?);
            }
            (2, "sheetProtection") => self.protected = flag(element, "sheet", false),
            _ => {}
        }
        Ok(ElementKind::Other)
    }

    fn index(&mut self) {
        self.merged_areas = Areas::new(self.merged.iter().map(|area| (*area, 0)).collect());
        let blocks =
            self.formulas.iter().enumerate().filter_map(|(at, formula)| match formula.shape {
                Shape::Array(area) | Shape::DataTable(area) => Some((area, at)),
                Shape::Plain | Shape::Shared(_) => None,
            });
        self.blocks = Areas::new(blocks.collect());
    }

    fn dimension(&mut self, element: &BytesStart<'_>, span: Range<usize>) -> Result<(), String> {
        let declared = attribute(element, "ref").unwrap_or_default();
        let area = Area::parse(&declared)
            .ok_or_else(|| format!("it says its cells reach over `{declared}`"))?;
        self.dimension = Some((span, area));
        Ok(())
    }

    fn column(&mut self, element: &BytesStart<'_>) {
        self.room.take(element);
        let number = |name| attribute(element, name).and_then(|text| text.parse::<u32>().ok());
        let (Some(first), Some(last)) = (number("min"), number("max")) else { return };
        let columns = first.saturating_sub(1)..last.min(COLUMNS);
        if flag(element, "hidden", false) {
            self.hidden.columns.push(columns.clone());
        }
        if let Some(style) = number("style") {
            self.columns.push(ColumnStyle { columns, style });
        }
    }

    fn rows(&mut self, walk: &mut Walk<'_>, mut next: u32) -> Result<(), String> {
        while let Some(step) = walk.next()? {
            match &step.event {
                Event::End(_) if step.depth == 2 => {
                    self.data_end = step.span.start;
                    return Ok(());
                }
                Event::Start(element) | Event::Empty(element)
                    if step.depth == 3 && element.local_name().as_ref() == "row" =>
                {
                    let empty = matches!(step.event, Event::Empty(_));
                    let row = self.row(element, &step, next, empty)?;
                    next = row + 1;
                    if !empty {
                        self.row_cells(walk, row)?;
                    }
                }
                Event::Start(other) | Event::Empty(other) => return Err(misplaced(other)),
                _ => {}
            }
        }
        Ok(())
    }

    fn row(
        &mut self,
        element: &BytesStart<'_>,
        step: &Step<'_>,
        next: u32,
        empty: bool,
    ) -> Result<u32, String> {
        let mut row = next;
        let (mut style, mut custom) = (None, false);
        let (mut hidden, mut numbered, mut height) = (false, false, None);
        for part in attributes(element) {
            let part = part?;
            match part.key.as_ref() {
                "r" => {
                    let number = part.value.parse::<u32>().ok().and_then(|r| r.checked_sub(1));
                    row = number.ok_or_else(|| format!("it has a row called `{}`", part.value))?;
                    numbered = true;
                }
                "s" => style = part.value.parse().ok(),
                "ht" => height = part.value.parse::<f64>().ok(),
                "hidden" if matches!(part.value.as_ref(), "1" | "true") => hidden = true,
                "customFormat" => custom = matches!(part.value.as_ref(), "1" | "true"),
                _ => {}
            }
        }
        if row >= ROWS {
            return Err(format!("its row {} lies beyond the last, {ROWS}", u64::from(row) + 1));
        }
        if row < next {
            return Err(format!("its row {} comes twice or out of order", row + 1));
        }
        if hidden {
            self.hidden.rows(row..row + 1);
        }
        height.into_iter().for_each(|points| self.room.height(row, points));
        self.odd += usize::from(!numbered);
        self.rows.push(Row {
            row,
            tag: step.span.clone(),
            close: step.span.end,
            empty,
            style: style.filter(|_| custom),
            cells: self.cells.len()..self.cells.len(),
        });
        Ok(row)
    }

    fn row_cells(&mut self, walk: &mut Walk<'_>, row: u32) -> Result<(), String> {
        let mut next = 0;
        loop {
            next = self.plain_cells(walk, row, next);
            let Some(step) = walk.next()? else { break };
            match &step.event {
                Event::End(_) if step.depth == 3 => {
                    let count = self.cells.len();
                    if let Some(open) = self.rows.last_mut() {
                        open.close = step.span.start;
                        open.cells.end = count;
                    }
                    return Ok(());
                }
                Event::Start(element) | Event::Empty(element)
                    if step.depth == 4 && element.local_name().as_ref() == "c" =>
                {
                    let mut cell = cell_tag(element, &step, row, next)?;
                    self.odd += 1;
                    next = cell.position.column + 1;
                    if matches!(step.event, Event::Start(_)) {
                        self.cell_content(walk, &mut cell)?;
                    }
                    self.cells.push(cell);
                }
                Event::Start(other) | Event::Empty(other) => return Err(misplaced(other)),
                _ => {}
            }
        }
        Ok(())
    }

    /// Takes in the cells that stand here one behind the other and are plain; the next column.
    fn plain_cells(&mut self, walk: &mut Walk<'_>, row: u32, mut next: u32) -> u32 {
        let Some(text) = walk.behind_tag() else { return next };
        let (at, mut rest) = (short(walk.position()), text.as_bytes());
        while let Some((cell, after)) =
            plain_cell(rest, at + short(text.len() - rest.len()), row, next)
        {
            next = cell.position.column + 1;
            self.cells.push(cell);
            rest = after;
        }
        walk.pass(text.len() - rest.len());
        next
    }

    fn cell_content(&mut self, walk: &mut Walk<'_>, cell: &mut CellSpan) -> Result<(), String> {
        let mut value_start = None;
        while let Some(step) = walk.next()? {
            match &step.event {
                Event::End(_) if step.depth == 4 => {
                    cell.end = short(step.span.end);
                    return Ok(());
                }
                Event::End(_) if step.depth == 5 => {
                    if let Some(start) = value_start.take() {
                        cell.value = (start, short(step.span.end));
                    }
                }
                Event::Start(element) | Event::Empty(element) if step.depth == 5 => {
                    let open = matches!(step.event, Event::Start(_));
                    match element.local_name().as_ref() {
                        "v" if cell.value != (0, 0) || value_start.is_some() => {
                            return Err(format!(
                                "its cell {} has two values",
                                cell.position.name()
                            ));
                        }
                        "v" if open => value_start = Some(short(step.span.start)),
                        "v" => cell.value = (short(step.span.start), short(step.span.end)),
                        "f" if cell.formula.is_some() => {
                            let name = cell.position.name();
                            return Err(format!("its cell {name} has two formulas"));
                        }
                        "f" => {
                            cell.formula = Some(short(self.formulas.len()));
                            let shape = shape(element, cell.position)?;
                            let text = if open { walk.text()? } else { String::new() };
                            let position = cell.position;
                            Arc::make_mut(&mut self.formulas).push(Formula {
                                position,
                                shape,
                                text,
                            });
                        }
                        "is" if cell.kind == Kind::InlineText => {}
                        other => {
                            let name = cell.position.name();
                            return Err(format!("its cell {name} holds an unexpected `{other}`"));
                        }
                    }
                }
                Event::Start(other) | Event::Empty(other) if value_start.is_some() => {
                    return Err(misplaced(other));
                }
                Event::Text(_) | Event::CData(_) | Event::GeneralRef(_) if step.depth > 4 => {
                    cell.filled = true;
                }
                _ => {}
            }
        }
        Ok(())
    }

    /// The cell element at a position.
    pub(crate) fn cell(&self, position: Position) -> Option<&CellSpan> {
        let row = self.row_of(position.row).ok()?;
        let cells = self.cells.get(self.rows.get(row)?.cells.clone())?;
        let at = cells.binary_search_by_key(&position.column, |cell| cell.position.column).ok()?;
        cells.get(at)
    }

    /// The stored cells of an area that a formula fills.
    pub(crate) fn stored_in(&self, area: Area) -> Vec<Position> {
        if area.is_single() {
            return vec![area.first];
        }
        let from = self.rows.partition_point(|row| row.row < area.first.row);
        let to = self.rows.partition_point(|row| row.row <= area.last.row);
        let rows = self.rows.get(from..to).unwrap_or_default();
        let cells =
            rows.iter().flat_map(|row| self.cells.get(row.cells.clone()).unwrap_or_default());
        let kept = self.in_blocks.iter().copied();
        cells.map(|cell| cell.position).chain(kept).filter(|cell| area.contains(*cell)).collect()
    }

    /// Where the row stands among the rows, or where it would stand.
    pub(crate) fn row_of(&self, row: u32) -> Result<usize, usize> {
        self.rows.binary_search_by_key(&row, |known| known.row)
    }

    /// The style that a cell has, or that it would take from its row or column.
    pub(crate) fn style(&self, position: Position) -> Option<u32> {
        if let Some(cell) = self.cell(position) {
            return Some(cell.style);
        }
        let row = self.row_of(position.row).ok().and_then(|at| self.rows.get(at));
        row.and_then(|row| row.style).or_else(|| {
            let columns = self.columns.iter();
            let mut found = columns.filter(|known| known.columns.contains(&position.column));
            found.next().map(|known| known.style)
        })
    }

    /// The merged area that covers the cell.
    pub(crate) fn merged_at(&self, position: Position) -> Option<Area> {
        self.merged_areas.at(position).map(|(area, _)| area)
    }

    /// The cell as it is stored, with what it holds.
    pub(crate) fn entry(&self, span: &CellSpan, cell: Cell) -> Entry {
        Entry {
            position: span.position,
            cell,
            beneath: None,
            formula: span.formula.is_some(),
            total: self.is_total(span),
            style: span.style,
        }
    }

    /// Whether a cell holds a sum, an average or the like over cells of its own column.
    pub(crate) fn is_total(&self, cell: &CellSpan) -> bool {
        let formula = cell.formula.and_then(|at| self.formulas.get(at as usize));
        let Some(formula) = formula else { return false };
        // what shares its formula stands in the same relation to its cells
        let first = match formula.shape {
            Shape::Shared(_) if formula.text.is_empty() => self
                .formulas
                .iter()
                .find(|first| first.shape == formula.shape && !first.text.is_empty()),
            _ => Some(formula),
        };
        first.is_some_and(|first| is_total(&first.text, first.position.column))
    }

    /// The array or data table that fills the cell.
    pub(crate) fn block_at(&self, position: Position) -> Option<&Formula> {
        self.formulas.get(self.blocks.at(position)?.1)
    }
}

fn misplaced(element: &BytesStart<'_>) -> String {
    format!("its rows hold an unexpected `{}`", element.local_name().as_ref())
}

fn short(at: usize) -> u32 {
    u32::try_from(at).unwrap_or(u32::MAX)
}

fn cell_tag(
    element: &BytesStart<'_>,
    step: &Step<'_>,
    row: u32,
    next: u32,
) -> Result<CellSpan, String> {
    let mut cell = CellSpan {
        position: Position { row, column: next },
        start: short(step.span.start),
        tag_end: short(step.span.end),
        end: short(step.span.end),
        style: 0,
        kind: Kind::Number,
        value: (0, 0),
        formula: None,
        filled: false,
    };
    for part in attributes(element) {
        let part = part?;
        match part.key.as_ref() {
            "r" => {
                cell.position = Position::parse(&part.value)
                    .ok_or_else(|| format!("its cell `{}` lies outside a worksheet", part.value))?;
            }
            "s" => {
                cell.style = part.value.parse().map_err(|_| "a cell has no readable style")?;
            }
            "t" => cell.kind = kind(&part.value),
            _ => {}
        }
    }
    let Position { row: declared, column } = cell.position;
    if declared != row || column < next || column >= COLUMNS {
        return Err(format!("its cell {} comes twice or out of order", cell.position.name()));
    }
    Ok(cell)
}

fn kind(word: &str) -> Kind {
    match word {
        "n" => Kind::Number,
        "s" => Kind::SharedText,
        "inlineStr" => Kind::InlineText,
        "str" => Kind::FormulaText,
        "b" => Kind::Truth,
        "e" => Kind::Error,
        "d" => Kind::Date,
        _ => Kind::Unknown,
    }
}

fn shape(element: &BytesStart<'_>, position: Position) -> Result<Shape, String> {
    let area = || -> Result<Area, String> {
        let declared = attribute(element, "ref");
        let area =
            declared.map_or(Some(Area::between(position, position)), |area| Area::parse(&area));
        area.ok_or_else(|| format!("the formula of {} fills no area", position.name()))
    };
    Ok(match attribute(element, "t").as_deref() {
        Some("shared") => {
            let index = attribute(element, "si").and_then(|index| index.parse().ok());
            Shape::Shared(index.ok_or("a shared formula has no number")?)
        }
        Some("array") => Shape::Array(area()?),
        Some("dataTable") => Shape::DataTable(area()?),
        _ => Shape::Plain,
    })
}
