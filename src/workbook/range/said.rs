//! What the words about a variant say of it, or of a column: the heads of groups, notes, and the remarks of a row, which
//! speak of an input by its name or by its kind.

use super::super::bind::flywheels::{flywheel, is_flywheel, is_of_inertia, names_flywheel};
use super::super::bind::label;
use super::super::bind::label::asked;
use super::super::bind::reckoned::Reckoned;
use super::super::bind::said::{About, Said, above_one_alone, factor_alone};
use super::super::bind::unclear::is_unclear_of_row;
use super::super::bind::unit_words::{another_unit, two_units, unit_alone, unit_said};
use super::super::bind::words::{bears_figure, heads_remarks, leaves_out, words};
use super::{InputColumns, ProductLine};
use crate::diagnostic::Diagnostic;
use crate::number::shortest;
use crate::program::Input;
use crate::spreadsheet::{Book, Cell, Position, Tab};
use crate::unit::{Kind, Literal};

/// Rows above the headings in which columns are headed together.
const GROUPS: u32 = 2;

/// Texts of one column that are kept as said nothing of.
const MOST_QUIET: usize = 1000;

impl ProductLine {
    /// The columns of inputs, results, tolerances and the status.
    pub(in crate::workbook) fn is_own_column(&self, column: u32) -> bool {
        let of_inputs =
            |it: &InputColumns| it.columns.contains(&column) || it.tolerance == Some(column);
        self.inputs.iter().any(of_inputs)
            || self.results.iter().any(|result| result.column == column)
            || self.status.column == column
    }

    /// What is an error of what is said in a row.
    pub(super) fn said_in_row(&self, book: &Book, tab: &Tab, row: u32) -> Option<Diagnostic> {
        let mut said = self.said_of_row(tab, row).into_iter();
        let (at, said) = said.find(|(_, said)| said.is_error())?;
        Some(said.at(book.place(&tab.name, at)))
    }

    /// What the remarks of a row, whose first text is its name, and the notes at its cells say against its values.
    pub(in crate::workbook) fn said_of_row(&self, tab: &Tab, row: u32) -> Vec<(Position, Said)> {
        let mut found = Vec::new();
        let texts = tab.row(row).iter().filter_map(|entry| match &entry.cell {
            Cell::Text(text) if !self.is_own_column(entry.position.column) => {
                Some((entry.position, text.trim()))
            }
            _ => None,
        });
        for (at, text) in texts.skip(1) {
            if self.is_quiet(at.column, text) {
                continue;
            }
            // its own words name an input, or the heading of its column does
            let above = match tab.cell(Position { row: self.header, ..at }) {
                Cell::Text(heading) => heading.as_str(),
                _ => "",
            };
            let speaks = |it: &&InputColumns| {
                let input = self.input(it);
                input.is_some_and(|it| names(text, &it.name) || names(above, &it.name))
            };
            let mut named = self.inputs.iter().filter(speaks).peekable();
            let said = match named.peek() {
                Some(_) => named.find_map(|it| self.said_of(tab, row, it, text)),
                None => match self.reckoned_in(tab, row, text) {
                    (Reckoned::Result, _) => None,
                    (Reckoned::Before, said) => said.map(Said::error),
                    _ => self
                        .flywheel(text)
                        .or_else(|| self.other_unit(at.column, text))
                        .or_else(|| self.unit_in_words(text))
                        .or_else(|| factor_alone(text))
                        .map(Said::error)
                        .or_else(|| above_one_alone(text))
                        .or_else(|| self.same_figure(tab, row, text))
                        .or_else(|| self.change_in(tab, row, text)),
                },
            };
            let said = said.or_else(|| {
                let below = heads_remarks(&label(above).name);
                (!below && !self.said_units.contains(&at.column))
                    .then(|| self.unclear_in(tab, row, text))
                    .flatten()
            });
            if said.is_none() && !bears_figure(text) {
                self.keep_quiet(at.column, text);
            }
            found.extend(said.map(|said| (at, said)));
        }
        for (area, text) in tab.notes.in_row(row) {
            let at = |column: &u32| area.contains(Position { row, column: *column });
            let mut of_it = self.inputs.iter().filter(|it| it.columns.iter().any(at));
            let said = of_it.find_map(|it| self.said_of(tab, row, it, text));
            found.extend(said.map(|said| (Position { row, column: area.first.column }, said)));
        }
        found
    }

    fn is_quiet(&self, column: u32, text: &str) -> bool {
        self.quiet.lock().is_ok_and(|it| it.get(&column).is_some_and(|it| it.contains(text)))
    }

    fn keep_quiet(&self, column: u32, text: &str) {
        if let Ok(mut quiet) = self.quiet.lock() {
            let known = quiet.entry(column).or_default();
            if known.len() < MOST_QUIET {
                known.insert(text.to_owned());
            }
        }
    }

    /// Whether a column is headed as one of remarks, or not at all.
    fn is_of_remarks(&self, tab: &Tab, column: u32) -> bool {
        match tab.cell(Position { row: self.header, column }) {
            Cell::Text(heading) => heads_remarks(&label(heading).name),
            heading => heading.is_empty(),
        }
    }

    /// What is said of words that may speak of a value of the row and that nothing understands.
    fn unclear_in(&self, tab: &Tab, row: u32, text: &str) -> Option<Said> {
        let named = |it: &&InputColumns| self.input(it).is_some_and(|it| names(text, &it.name));
        if let Some(columns) = self.inputs.iter().find(named) {
            return self.about(tab, row, columns, |about| about.unclear(text))?;
        }
        let spoken = self.inputs.iter().filter_map(|columns| {
            let said =
                |about: &About<'_>| Some((about.amount_said(text)?, about.not_understood(text)));
            self.about(tab, row, columns, said)?
        });
        let spoken: Vec<_> = spoken.collect();
        let amount = match spoken.iter().any(|it| it.0) {
            true => None,
            false => spoken.into_iter().next().map(|it| it.1),
        };
        let of_row = || is_unclear_of_row(text).then(|| not_understood_in_row(text));
        amount.or_else(of_row).map(Said::error)
    }

    fn input(&self, columns: &InputColumns) -> Option<&Input> {
        self.program.inputs.get(columns.input)
    }

    /// What a text of a row says against the value of one of its inputs.
    fn said_of(&self, tab: &Tab, row: u32, columns: &InputColumns, text: &str) -> Option<Said> {
        self.about(tab, row, columns, |about| about.said(text))?
    }

    /// Looks at the value of one of the inputs of a row.
    fn about<T>(
        &self,
        tab: &Tab,
        row: u32,
        columns: &InputColumns,
        look: impl FnOnce(&About<'_>) -> T,
    ) -> Option<T> {
        let (program, input) = (&*self.program, self.input(columns)?);
        let cell = match columns.columns.as_slice() {
            [column] => Some(Position { row, column: *column }),
            _ => None,
        };
        let number = cell.and_then(|cell| match tab.cell(cell) {
            Cell::Number(number) if !tab.shows_percent(cell) => shortest(*number),
            _ => None,
        });
        let value = number.map(|(digits, ten)| Literal::new(digits, ten, columns.unit.clone()));
        let (unit, value) = (Some(&columns.unit), value.as_ref());
        Some(look(&About { program, input, unit, value, as_it_is: true }))
    }

    /// How the values of a row stand to what words reckon that name none of them, and what that says against one.
    fn reckoned_in(&self, tab: &Tab, row: u32, text: &str) -> (Reckoned, Option<(String, String)>) {
        let of_value = |columns: &InputColumns| {
            self.about(tab, row, columns, |about| {
                let reckoned = about.reckoned(text, true);
                let against = || match is_of_inertia(about.input) && names_flywheel(text) {
                    true => flywheel(text, &format!("in the row of `{}`", about.input.name)),
                    false => about.not_applied(text, "in the row of"),
                };
                let said = (reckoned == Reckoned::Before).then(against);
                (reckoned, said)
            })
        };
        let found = self.inputs.iter().filter_map(of_value);
        found.max_by_key(|it| it.0).unwrap_or((Reckoned::No, None))
    }

    /// A change of one of the values of a row among words that name none of them. A share with a sign alone is a figure of
    /// the owner's.
    fn change_in(&self, tab: &Tab, row: u32, text: &str) -> Option<Said> {
        let figure = text.contains('%') && text.starts_with(['+', '-', '−', '–']);
        let said = self.inputs.iter().filter(|_| !figure).find_map(|columns| {
            self.about(tab, row, columns, |about| {
                let told = about.is_open_change(text) || about.asks_for_another(text);
                told.then(|| about.unchanged(text, "in the row of"))
            })?
        });
        said.map(Said::caution)
    }

    /// What stands at the headings and the units of inputs, or above several of them, and speaks against what stands below.
    pub(in crate::workbook) fn said_above(&self, book: &Book, tab: &Tab) -> Vec<Diagnostic> {
        let found = self.inputs.iter().filter_map(|columns| {
            let (program, input) = (&*self.program, self.input(columns)?);
            let unit = Some(&columns.unit);
            let about = About { program, input, unit, value: None, as_it_is: true };
            let rows = [Some(self.header), self.units];
            let heads = columns.columns.iter().flat_map(|column| {
                let own = rows.into_iter().flatten();
                own.map(|row| Position { row, column: *column })
            });
            let groups = columns.columns.iter().flat_map(|column| self.groups(tab, *column));
            let groups: Vec<Position> = groups.collect();
            let texts = groups.iter().filter_map(|at| match tab.cell(*at) {
                Cell::Text(text) => Some((*at, text.as_str())),
                _ => None,
            });
            let cells = heads.chain(groups.iter().copied());
            let notes = cells.flat_map(|at| tab.notes.at(at).map(move |text| (at, text)));
            let mut said =
                texts.chain(notes).filter_map(|(at, text)| Some((at, about.said(text)?)));
            let unclear = || {
                let texts = groups.iter().filter_map(|at| match tab.cell(*at) {
                    Cell::Text(text) => Some((*at, text.as_str())),
                    _ => None,
                });
                let mut texts = texts.filter(|it| leaves_out(it.1));
                texts.find_map(|(at, text)| Some((at, about.unclear(text)?)))
            };
            let (at, said) = said.next().or_else(unclear)?;
            Some(said.at(book.place(&tab.name, at)))
        });
        found.collect()
    }

    /// The cells above the heading of a column that head it together with others, and not the whole table.
    fn groups(&self, tab: &Tab, column: u32) -> Vec<Position> {
        let known = |text: &str| {
            asked(text).is_some() || self.program.input_named(&label(text).name).is_some()
        };
        let is_text =
            |at: Position| matches!(tab.cell(at), Cell::Text(text) if !text.trim().is_empty());
        let above = (1..=GROUPS).map_while(|up| self.header.checked_sub(up));
        let above = above.take_while(|row| {
            let mut cells = tab.row(*row).iter();
            !cells.any(|entry| matches!(&entry.cell, Cell::Text(text) if known(text)))
        });
        let cells = above.map_while(|row| {
            let at = Position { row, column };
            let area = tab.merged_at(at);
            let all = area.is_some_and(|area| {
                let mut columns = self.inputs.iter().flat_map(|it| &it.columns);
                columns.all(|it| area.contains(Position { row, column: *it }))
            });
            let first = area.map_or(at, |area| area.first);
            (is_text(first) && !all).then_some(first)
        });
        cells.collect()
    }

    fn flywheel(&self, text: &str) -> Option<(String, String)> {
        let inputs = self.inputs.iter().filter_map(|it| self.input(it));
        let input = inputs.filter(|input| is_of_inertia(input)).find(|_| is_flywheel(text))?;
        Some(flywheel(text, &format!("in the row of `{}`", input.name)))
    }

    /// Another unit in words that name an input by what it is: `friction in N·cm`. One that bears that unit may be meant.
    fn unit_in_words(&self, text: &str) -> Option<(String, String)> {
        if !text.contains(" in ") {
            return None;
        }
        let said = words(text);
        let meant = self.inputs.iter().filter_map(|columns| {
            let input = self.input(columns)?;
            let kind = input.kind?;
            let mut own = words(&input.note);
            own.extend(words(kind.name));
            let spoken = own.iter().any(|it| it.chars().count() > 2 && said.contains(it));
            let unit = unit_said(kind, text.rsplit_once(" in ")?.1).filter(|_| spoken)?;
            let other = another_unit(kind, &columns.unit, text);
            (unit.dimension == columns.unit.dimension).then_some((input, columns, unit, other))
        });
        let meant: Vec<_> = meant.collect();
        let (input, columns, unit, _) = meant.first()?;
        let all = meant.iter().all(|it| it.3.is_some());
        all.then(|| two_units(&input.name, &columns.unit, unit))
    }

    /// What a text says that bears the figure of one of the inputs with another unit, if none has it in that one.
    fn same_figure(&self, tab: &Tab, row: u32, text: &str) -> Option<Said> {
        let found = self.inputs.iter().filter_map(|columns| {
            self.about(tab, row, columns, |about| {
                let (unit, _) = about.figure_once_more(text)?;
                Some((unit.is_same(&columns.unit), about.same_figure(text)))
            })?
        });
        let found: Vec<_> = found.collect();
        let meant = found.iter().any(|(same, _)| *same);
        found.into_iter().find_map(|it| it.1).filter(|_| !meant)
    }

    /// What a unit that a row says says against the nearest input before it of whose kind it is: in a column of units, or
    /// as a remark that is nothing else.
    fn other_unit(&self, column: u32, text: &str) -> Option<(String, String)> {
        let unit = |kind: &'static Kind| match self.said_units.is_empty() {
            true => unit_alone(kind, text),
            false if self.said_units.contains(&column) => unit_said(kind, text),
            false => None,
        };
        let read = self.inputs.iter().filter_map(|columns| {
            let before = *columns.columns.iter().filter(|it| **it < column).max()?;
            let input = self.input(columns)?;
            Some((before, input, &columns.unit, unit(input.kind?)?))
        });
        let (_, input, own, said) = read.max_by_key(|it| it.0)?;
        if said.is_same(own) {
            return None;
        }
        Some(two_units(&input.name, own, &said))
    }
}

fn not_understood_in_row(text: &str) -> (String, String) {
    (
        format!("\"{text}\" stands in the row, may speak of one of its values, and is not understood"),
        "if it speaks of a value, correct that and take it out; if not, move it into a column headed `remark`"
            .to_owned(),
    )
}

/// The remarks of the variants that bear figures and that nothing uses.
pub(super) fn unused(line: &ProductLine, tab: &Tab) -> Vec<(Position, String)> {
    let rows = line.variants.iter().flat_map(|row| tab.row(*row).iter().skip(1));
    let found = rows.filter_map(|entry| match &entry.cell {
        Cell::Text(text)
            if !line.is_own_column(entry.position.column)
                && bears_figure(text)
                && line.is_of_remarks(tab, entry.position.column) =>
        {
            Some((entry.position, text.trim().to_owned()))
        }
        _ => None,
    });
    found.collect()
}

/// Whether a text names an input among its words: `T_0 in N·cm`.
fn names(text: &str, name: &str) -> bool {
    let inside = |it: char| it.is_alphanumeric() || matches!(it, '_' | '.');
    text.contains(name) && text.split(|it: char| !inside(it)).any(|word| word == name)
}
