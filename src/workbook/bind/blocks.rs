//! Labelled blocks: a cell `sheet brake-resistor`, below it rows of name, value, unit.

use super::around::Around;
use super::cells::{says_no_unit, unit_alone};
use super::label::asked;
use super::slips::{Block, speaks_of};
use super::words::words;
use super::{
    Binder, CellAt, End, Label, Part, Request, ResultRequest, ToleranceAt, asked_result, given,
    label,
};
use crate::diagnostic::{Diagnostic, Name, Place};
use crate::program::{Program, Type};
use crate::spreadsheet::{Cell, Position, Tab, TabKind};

/// One row of a block.
pub(in crate::workbook) struct Row {
    pub(in crate::workbook) name: String,
    name_cell: CellAt,
    values: Vec<CellAt>,
    unit: Option<(String, Place)>,
    /// The unit in its label, where its unit cell says one too.
    unit_again: Option<(String, Place)>,
    /// Where its tolerance stands.
    tolerance: ToleranceAt,
    /// The cells below the headings `lowest` and `highest`.
    ends: Vec<(End, CellAt)>,
    /// Its cell below the heading `from` says that its value is the sheet's example.
    example: bool,
    /// It stands among the boxes of a form.
    form: bool,
    /// A row of the same name stands above it.
    again: bool,
    /// A row of the same name stands above or below it.
    twice: bool,
}

/// Columns right of the names that belong to a block, and more where words stand behind its values.
const AROUND: u32 = 5;

/// How many rows above a block may head its values.
const ABOVE: i64 = 2;

impl Binder<'_> {
    /// Every calculation that the labelled blocks ask for, and where the blocks stand.
    pub(super) fn blocks(&mut self) -> Vec<Block> {
        let book = self.book;
        let names = self.sheets.names();
        let mut blocks = Vec::new();
        for tab in book.tabs.iter().filter(|tab| tab.kind == TabKind::Cells) {
            let starts: Vec<(Position, String)> = tab
                .entries()
                .filter_map(|entry| match &entry.cell {
                    Cell::Text(text) => asked(text).map(|sheet| (entry.position, sheet)),
                    _ => None,
                })
                .collect();
            for entry in tab.entries() {
                let Cell::Text(text) = &entry.cell else { continue };
                let cell = CellAt { tab: tab.name.clone(), position: entry.position };
                if asked(text).is_none() && self.only.is_none() {
                    let slip = self.nearly_asks(&cell, text, &names);
                    self.bound.problems.extend(slip);
                }
            }
            for (position, sheet) in starts {
                let start = CellAt { tab: tab.name.clone(), position };
                let place = self.place(&start);
                if !self.wants(&sheet, &place) {
                    continue;
                }
                let Some(program) = self.program(&sheet, &place) else { continue };
                let mut request = self.request(&sheet, place.clone(), &program);
                request.read_at(&place, &format!("sheet {sheet}"), Part::Label);
                let last = tab.used().map_or(0, |used| used.last.row);
                let before = self.bound.problems.len();
                let first = Position { row: position.row + 1, ..position };
                let rows = self.rows(&tab.name, first, last);
                let taken: Vec<String> = rows.iter().map(|row| row.name.clone()).collect();
                if let Some(problem) = self
                    .said_above(&start, &sheet)
                    .or_else(|| self.said_around(&start, &rows, &program))
                {
                    if problem.is_error() {
                        request.inputs.give_up_all();
                    }
                    self.bound.problems.push(problem);
                }
                let turned = self.turned_round(&program, &rows);
                let rows = if turned.is_some() { Vec::new() } else { rows };
                if let Some(problem) = turned {
                    self.bound.problems.push(problem);
                    request.inputs.give_up_all();
                }
                for row in rows {
                    if self.heads_a_table(&request, tab, &row) {
                        // what was said of the rows above waits for the right command
                        self.bound.problems.truncate(before);
                        self.bound
                            .problems
                            .push(a_table(self.place(&row.name_cell), &self.book.name));
                        request.inputs.give_up_all();
                        break;
                    }
                    self.bind_row(&mut request, row);
                }
                if self.bound.problems.len() == before || !request.inputs.any_given_up() {
                    blocks.push(Block { program, sheet, place, taken, start });
                }
                self.bound.requests.push(request);
            }
        }
        blocks
    }

    /// Rows in which the unit stands before the value.
    fn turned_round(&self, program: &Program, rows: &[Row]) -> Option<Diagnostic> {
        let turned = rows.iter().filter_map(|row| {
            let known = program.input_named(&row.name).is_some();
            let value = row.values.first().filter(|_| known)?;
            let unit = self.text_of(value).filter(|text| crate::unit::is_unit(unit_alone(text)))?;
            let behind = self.beside(value, 0, 1)?;
            let Cell::Number(number) = self.cell(&behind) else { return None };
            Some((row, value, unit, behind, *number))
        });
        let turned: Vec<_> = turned.collect();
        let (row, value, unit, behind, number) = turned.first()?;
        let column = |cell: &CellAt| cell.position.column_name();
        let more = match turned.len() {
            1 => String::new(),
            more => format!(" (and so in {} more rows)", more - 1),
        };
        let words =
            format!("the unit of `{}`, {unit}, stands before its value, {number}{more}", row.name);
        let remedy = format!(
            "exchange what stands in the columns {} and {} of this block: name, value, unit",
            column(value),
            column(behind)
        );
        Some(Diagnostic::error(Name::UnknownRow, words).at(self.place(value)).remedy(remedy))
    }

    /// A unit or a factor in a heading above the values of a block, each of which has a unit of its own.
    fn said_above(&self, start: &CellAt, sheet: &str) -> Option<Diagnostic> {
        let (cell, text) = (-ABOVE..=0)
            .filter_map(|down| self.beside(start, down, 1))
            .filter_map(|cell| Some((cell.clone(), self.text_of(&cell)?)))
            .find(|(_, text)| super::label::says_unit_or_factor(text))?;
        let words = format!(
            "\"{text}\" stands above the values of `{sheet}`, and each of them has its own unit"
        );
        let remedy = "write every value in the unit of its row, and take the heading out";
        Some(Diagnostic::error(Name::TwoStatements, words).at(self.place(&cell)).remedy(remedy))
    }

    /// What a title or a remark around a block states for all its values.
    fn said_around(&self, start: &CellAt, rows: &[Row], program: &Program) -> Option<Diagnostic> {
        let Position { row, column } = start.position;
        let last =
            rows.iter().flat_map(|it| &it.values).map(|it| it.position.row).max().unwrap_or(row);
        let known = |name: &str| {
            program.input_named(name).is_some() || asked_result(program, name).is_some()
        };
        let stated = |row: &&Row| {
            let number = row.values.first().map(|it| self.cell(it));
            known(&row.name) || matches!(number, Some(Cell::Number(_)))
        };
        let named = rows.iter().filter(stated).map(|it| it.name_cell.position.row);
        let named: Vec<u32> = named.collect();
        let is_own = |at: Position| named.contains(&at.row) && at.column >= column;
        let kind = |name: &str| program.input_named(name).and_then(|it| it.kind);
        let units =
            rows.iter().filter_map(|row| Some((kind(&row.name), row.unit.as_ref()?.0.clone())));
        let values = rows.iter().filter(|row| known(&row.name)).flat_map(|row| &row.values);
        let behind = values.flat_map(|value| self.behind(value));
        let right = behind.map(|it| it.position.column).fold(column + AROUND, u32::max);
        self.said_of_all(&Around {
            tab: &start.tab,
            rows: row.saturating_sub(1)..=last,
            columns: column.saturating_sub(1)..=right,
            is_own: &is_own,
            units: units.collect(),
        })
    }

    /// The rows of a block from a row on, down to the row `last`.
    pub(in crate::workbook) fn rows(&self, tab: &str, first: Position, last: u32) -> Vec<Row> {
        let mut rows: Vec<Row> = Vec::new();
        let mut empty = 0;
        let mut heads = Heads::default();
        for row in first.row..=last {
            let at = |right: u32| {
                Position::new(row, first.column + right)
                    .map(|position| CellAt { tab: tab.to_owned(), position })
            };
            let (Some(name_cell), Some(value)) = (at(0), at(1)) else { break };
            let Some(unit_cell) = self.unit_cell(&value) else { break };
            let value_is_empty = self.cell(&value).is_empty() && !self.has_formula(&value);
            let Some(text) = self.text_of(&name_cell) else {
                // a series goes on below its first value; a row with a text beside its unit, such as
                // `value 7`, is kept free for it
                let kept_free =
                    (3..=5).filter_map(at).any(|beside| self.text_of(&beside).is_some());
                match rows.last_mut() {
                    Some(before)
                        if (!value_is_empty || kept_free)
                            && empty == 0
                            && !self.is_a_word(&value) =>
                    {
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
            // of a heading that is merged over the row nothing is a unit
            let unit = self
                .text_of(&unit_cell)
                .filter(|text| unit_cell != name_cell && !crate::calculation::is_tolerance(text));
            let unit = unit.map(|text| (unit_alone(&text).to_owned(), self.place(&unit_cell)));
            let Label { name, unit: in_label } = label(&text);
            let in_label = in_label.map(|unit| (unit, self.place(&name_cell)));
            let (unit, unit_again) = match unit {
                None => (in_label, None),
                unit => (unit, in_label),
            };
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
            let from = heads.from.and_then(below).and_then(|cell| self.text_of(&cell));
            rows.push(Row {
                example: from.is_some_and(|text| text.trim() == "example"),
                name: name.clone(),
                name_cell,
                values: vec![value],
                unit,
                unit_again,
                tolerance,
                ends,
                form: heads.form,
                again,
                twice: again,
            });
            if again {
                let same = |row: &&mut Row| row.name == name;
                rows.iter_mut().filter(same).for_each(|row| row.twice = true);
            }
        }
        rows
    }

    /// Whether a cell holds a text that does not begin as a number does.
    fn is_a_word(&self, cell: &CellAt) -> bool {
        self.text_of(cell).is_some_and(|text| {
            !text.starts_with(|sign: char| sign.is_ascii_digit() || ".,+-−±~<>".contains(sign))
                && !crate::calculation::has_tolerance(&text)
        })
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
                "tolerance" | "±" | "tolerance %" | "± %" => heads.tolerance = Some(column),
                "from" => heads.from = Some(column),
                // of all workbooks only a form says what its boxes allow
                "allowed" => heads.form = true,
                "lowest" => heads.ends.push((End::Lowest, column)),
                "highest" => heads.ends.push((End::Highest, column)),
                _ => {}
            }
        }
        heads
    }

    /// Binds a row; an input that the sheet gives again as a result takes the result in its second row.
    pub(in crate::workbook) fn bind_row(&mut self, request: &mut Request, mut row: Row) {
        if is_pure(&request.program, &row.name) {
            row.unit = row.unit.filter(|(text, _)| !says_no_unit(text)).or(row.unit_again.take());
        }
        request.read(row.name_cell.clone(), &row.name, Part::Label);
        let is_input = request.program.input_named(&row.name).is_some();
        let asked = asked_result(&request.program, &row.name);
        let is_result = asked.is_some();
        let deleted = self.struck(&row.name, std::slice::from_ref(&row.name_cell));
        if let (Some(problem), true) = (deleted, is_input || is_result) {
            request.inputs.give_up(&row.name, self.place(&row.name_cell));
            self.bound.problems.push(problem);
            return;
        }
        if (is_input || is_result) && self.row_says_too_much(request, &row) {
            return;
        }
        if is_input && is_result && !row.again && self.may_be_the_result(request, &row) {
            return;
        }
        match (is_input, is_result) {
            (true, result) if !(row.again && result) => {
                self.input(request, &row.name, &row.values, row.unit, &row.tolerance);
                if row.example {
                    request.inputs.mark_example(&row.name);
                }
                if row.form {
                    request.inputs.in_a_form();
                }
            }
            (_, true) => {
                let ends = match asked {
                    Some(ResultRequest::Result(_)) => row.ends,
                    _ => Vec::new(),
                };
                for (end, cell) in ends {
                    let name = format!("{} {}", row.name, end.word());
                    self.result(request, &name, vec![cell], row.unit.clone());
                }
                self.result(request, &row.name, row.values, row.unit);
            }
            (_, false) => {
                if !self.is_words(request, &row) {
                    let place = self.place(&row.name_cell);
                    self.stranger(request, &row.name, place);
                    let of_words = row.values.first().is_some_and(|it| self.is_a_word(it));
                    if let (Some(problem), true) = (self.bound.problems.last_mut(), of_words) {
                        problem.remedy = format!(
                            "{}; if this row heads the columns, take it out, or write `value` above the values",
                            problem.remedy
                        );
                    }
                }
            }
        }
    }
}

impl Binder<'_> {
    /// What a row states beside its name, its value and its unit: a second unit that differs, a number where the
    /// unit stands, further values below one value.
    fn row_says_too_much(&mut self, request: &mut Request, row: &Row) -> bool {
        let input = request.program.input_named(&row.name);
        let kind = input.and_then(|input| input.kind);
        let series = match input {
            Some(input) => matches!(input.type_, Type::Number { series: true, .. }),
            None => self.is_series_result(request, &row.name),
        };
        let mut found = match (&row.unit, &row.unit_again) {
            (Some(one), Some(other)) => self
                .units_differ(&row.name, kind, one, other)
                .or_else(|| self.aside_of(&row.name, kind, other)),
            _ => None,
        };
        let unit_cell = row.values.first().and_then(|value| self.unit_cell(value));
        let after =
            unit_cell.and_then(|cell| self.beside(&cell, 0, 1)).filter(|_| row.unit.is_some());
        let again = |text: &str| {
            let value = row.values.first().zip(kind);
            value.is_some_and(|(it, kind)| self.says_again(kind, it, row.unit.as_ref(), text))
        };
        if let Some((cell, text)) =
            after.and_then(|cell| Some((cell.clone(), self.text_of(&cell)?)))
            && !again(&text)
        {
            // `all in mN·m` says it as well
            let unit = label(&text).unit.filter(|unit| is_of_kind(kind, unit));
            let said = (unit.unwrap_or(text), self.place(&cell));
            let one = row.unit.as_ref().filter(|_| is_of_kind(kind, &said.0));
            found =
                found.or_else(|| self.units_differ(&row.name, kind, one?, &said)).or_else(|| {
                    let whole = super::label::scales(&said.0) && is_a_value(kind, &said.0);
                    whole.then(|| self.aside_of(&row.name, kind, &said))?
                });
        }
        let beside = row.values.first().and_then(|value| self.beside(value, 0, 1));
        if let Some(beside) = beside.filter(|_| row.unit.is_none() || row.unit_again.is_some())
            && let Cell::Number(number) = self.cell(&beside)
        {
            let words =
                format!("`{}` has a second number, {number}, where its unit stands", row.name);
            found =
                found.or_else(|| {
                    Some(Diagnostic::error(Name::UnknownRow, words).at(self.place(&beside)).remedy(
                        format!("write the unit of `{}` there, or empty the cell", row.name),
                    ))
                });
        }
        let stray = row.values.iter().skip(1).find(|cell| !self.cell(cell).is_empty());
        if let (Some(stray), false) = (stray, series) {
            let words = format!("`{}` is one value, and a second stands below it", row.name);
            let name = self.beside(stray, 0, -1);
            found = found.or_else(|| self.name_merged(&name?)).or_else(|| {
                Some(
                    Diagnostic::error(Name::UnknownRow, words)
                        .at(self.place(stray))
                        .remedy("write a name before it, or take it out"),
                )
            });
        }
        if series && input.is_some() {
            found = found.or_else(|| self.goes_on(&request.program, row));
        }
        let Some(problem) = found else {
            return false;
        };
        request.inputs.give_up(&row.name, self.place(&row.name_cell));
        self.bound.problems.push(problem);
        true
    }

    /// A merged area that covers the cell in which the name of a value stands.
    fn name_merged(&self, name: &CellAt) -> Option<Diagnostic> {
        let area = self.book.tab(&name.tab)?.merged_at(name.position)?;
        let here = name.position.name();
        let words = format!("the merged area {} covers {here}, where a name stands", area.name());
        let first = area.first != name.position;
        first.then(|| {
            Diagnostic::error(Name::MergedCell, words).at(self.place(name)).remedy(format!(
                "take the merged cells of {} apart, and write into {here} the name of the value beside it",
                area.name()
            ))
        })
    }

    /// Whether the one row of a name that is an optional input and a result as well stands among the results: it may be
    /// either.
    fn may_be_the_result(&mut self, request: &mut Request, row: &Row) -> bool {
        let mut inputs = request.program.inputs.iter();
        let optional = inputs.any(|input| input.name == row.name && input.default.is_some());
        if !optional || request.results.is_empty() || row.twice {
            return false;
        }
        let words = format!(
            "`{}` is an optional input and a result, and its one row stands among the results",
            row.name
        );
        let place = self.place(&row.name_cell);
        request.inputs.give_up(&row.name, place.clone());
        self.bound.problems.push(Diagnostic::error(Name::TwoStatements, words).at(place).remedy(
            "for the input, move the row up before the results; for the result, write the row of the input there as well",
        ));
        true
    }

    /// A value that stands below the end of a series after a gap, where it would be passed over.
    fn goes_on(&self, program: &Program, row: &Row) -> Option<Diagnostic> {
        let end = row.values.last()?;
        let last = row.values.iter().rfind(|cell| !self.cell(cell).is_empty()).unwrap_or(end);
        let next = (1..=GAP)
            .map_while(|down| {
                let value = self.beside(end, down, 0)?;
                let text = self.text_of(&self.beside(&value, 0, -1)?);
                let filled = !self.cell(&value).is_empty();
                // a row with a name of its own, or another block
                let named = text.is_some_and(|text| {
                    let name = label(&text).name;
                    let known = program.input_named(&name).is_some()
                        || asked_result(program, &name).is_some();
                    filled || known || asked(&text).is_some()
                });
                (!named).then_some(value)
            })
            .find(|value| !self.cell(value).is_empty() && !self.is_a_word(value))?;
        let words = format!(
            "the series `{}` ends in row {}, and values go on in row {}",
            row.name,
            last.position.row + 1,
            next.position.row + 1
        );
        Some(
            Diagnostic::error(Name::UnknownRow, words)
                .at(self.place(&next))
                .remedy("close the gap, or write a name before what is not of the series"),
        )
    }

    /// Whether a row that the sheet does not know is a heading or a remark: it has neither a value nor a unit, and
    /// its text does not speak of a name.
    fn is_words(&self, request: &Request, row: &Row) -> bool {
        match row.values.first().map(|cell| self.cell(cell)) {
            Some(Cell::Text(text)) => is_heading(text),
            Some(Cell::Empty) | None => {
                let unit = row.unit.as_ref().map(|(unit, _)| unit.as_str());
                let asks =
                    unit.is_some_and(|unit| is_name(&row.name) || crate::unit::is_unit(unit));
                !asks && !speaks_of(&request.program, &row.name)
            }
            Some(_) => false,
        }
    }

    /// Whether a row heads a table of variants: two or more of its cells are names of the sheet, without values.
    fn heads_a_table(&self, request: &Request, tab: &Tab, row: &Row) -> bool {
        let is_input = |text: &str| {
            let name = label(text).name;
            request.program.input_named(&name).is_some()
        };
        let of_value = row
            .values
            .first()
            .is_some_and(|value| matches!(self.cell(value), Cell::Text(text) if is_input(text)));
        let names = tab.row(row.name_cell.position.row).iter();
        let names = names.filter(|entry| matches!(&entry.cell, Cell::Text(text) if is_input(text)));
        of_value && names.count() > 1
    }
}

/// Whether a text is a unit of the kind, and not a word such as `min` beside a torque.
fn is_of_kind(kind: Option<&'static crate::unit::Kind>, text: &str) -> bool {
    kind.is_some_and(|kind| !text.is_empty() && kind.read_plate(text).is_ok())
}

/// Whether a text is a number, or one with a unit of the kind, and not `10 brakes`.
fn is_a_value(kind: Option<&'static crate::unit::Kind>, text: &str) -> bool {
    match crate::unit::split_quantity(text) {
        // `0.13 m/s` beside a mass is of something else
        Ok((.., unit)) if !unit.is_empty() && crate::unit::is_unit(unit) => is_of_kind(kind, unit),
        _ => crate::spreadsheet::is_number(text),
    }
}

/// Whether a name is that of a pure number.
fn is_pure(program: &Program, name: &str) -> bool {
    let kind = program.input_named(name).and_then(|input| input.kind);
    let given = given(program, name).map(|(_, line)| &line.type_);
    match (kind, given) {
        (Some(kind), _) => kind.dimension.is_none(),
        (None, Some(Type::Number { dimension, .. })) => dimension.is_none(),
        _ => false,
    }
}

/// `fill` reads rows of name, value, unit; one variant a row is for `range`.
fn a_table(place: Place, book: &str) -> Diagnostic {
    Diagnostic::error(Name::UnknownRow, "this row heads a table of variants, one a row")
        .at(place)
        .remedy(format!(
            "calculate the table with `standstill range {book}`; `standstill run` and `design` take one variant of it with `--row`"
        ))
}

/// Rows below the end of a series that are looked at for values after a gap.
const GAP: i64 = 12;

/// Columns that are looked at for headings to the right of `value`.
const HEADS: u32 = 12;

/// The columns that a row of headings names.
#[derive(Default)]
struct Heads {
    /// Where it is said whose a value is: `own`, `example`, `default`.
    from: Option<u32>,
    tolerance: Option<u32>,
    ends: Vec<(End, u32)>,
    form: bool,
}

/// Whether a text heads a column of values: `value`, `Input value`, `Values`, `Maximum`.
fn is_heading(text: &str) -> bool {
    const HEADING: &[&str] = &["value", "values", "number", "maximum", "minimum"];
    let said = words(text);
    let heads = |it: &String| HEADING.contains(&it.as_str());
    match said.as_slice() {
        [one] => heads(one),
        [one, other] => [one, other].iter().any(|it| it.starts_with("value")),
        _ => false,
    }
}

fn is_name(text: &str) -> bool {
    // a result of a used sheet has its path before it: `inertia.J_ref`
    text.split('.').all(|part| {
        part.starts_with(char::is_alphabetic)
            && part.chars().all(|sign| sign.is_alphanumeric() || sign == '_')
    })
}
