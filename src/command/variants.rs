//! A table of variants, read as a whole.

use std::path::Path;

use super::failure::Failure;
use super::print::bar;
use crate::calculation::Inputs;
use crate::diagnostic::{Diagnostic, Name, Place, Problems};
use crate::environment::Environment;
use crate::number::{cores, side_by_side};
use crate::project::Project;
use crate::spreadsheet::{Book, Form, Reading, wider_than_headings};
use crate::workbook::range::{ProductLine, TableRequest};

/// A table of variants, read as a whole.
pub(super) struct LineRun {
    pub(super) book: Book,
    pub(super) line: ProductLine,
    /// What is said of the table and stops nothing.
    said: Vec<Diagnostic>,
}

/// Reads a workbook and finds its table.
pub(super) fn read(
    name: &str,
    asked: &TableRequest,
    decimal_comma: bool,
    environment: &dyn Environment,
) -> Result<LineRun, Failure> {
    let path = Path::new(name);
    let bytes = environment.read(path).map_err(Failure::file)?;
    let reading = Reading { decimal_comma, ..Reading::default() };
    let book = Book::read_as(name, &bytes, &reading).map_err(Failure::file)?;
    let sheets = Project::new(environment);
    let line = ProductLine::find(&book, asked, &sheets)
        .map_err(|it| Failure::workbook(it.problems, it.sheet_is_wrong))?;
    if book.form == Form::Csv {
        let wider = wider_than_headings(name, &bytes, decimal_comma, line.header, &line.variants)
            .map_err(Failure::file)?;
        if !wider.is_empty() {
            return Err(Failure::input(wider));
        }
    }
    let said = line.cautions.iter().cloned().chain(line.hidden(&book)).collect();
    Ok(LineRun { book, line, said })
}

impl LineRun {
    /// The inputs of one variant, by its number, counted from 1, or by its name or its row in the table.
    pub(super) fn variant(&self, asked: &str) -> Result<Inputs, Failure> {
        let (rows, count) = (&self.line.variants, self.line.variants.len());
        let named = |row: &u32| {
            let own = self.name(*row);
            own.starts_with(&format!("{asked} (row ")) || format!("row {}", row + 1) == asked
        };
        let mut found: Vec<usize> =
            (0..count).filter(|at| rows.get(*at).is_some_and(named)).collect();
        if let Ok(number) = asked.parse::<usize>() {
            found.extend(self.line.numbered(&self.book, number));
            let names = self.line.names_in_numbers(&self.book).unwrap_or_default();
            found.extend(names.iter().position(|own| *own == number));
            // where names are numbers as the counted ones are, one that is none of them is a slip
            if found.is_empty() && names.iter().any(|own| (1..=count).contains(own)) {
                return Err(self.called_otherwise(number, &names));
            }
            let counted = number.checked_sub(1).filter(|at| *at < count);
            if let Some(counted) = counted.filter(|at| found.iter().any(|own| own != at)) {
                return Err(self.two_ways(asked, counted, &found));
            }
            found.extend(counted);
            found.sort_unstable();
            found.dedup();
        }
        match found.as_slice() {
            [at] => {
                let row = rows.get(*at).copied().unwrap_or_default();
                self.inputs(at + 1, row, self.said_of(&[row])).map_err(Failure::input)
            }
            several => {
                let words = match several.len() {
                    0 => format!("the table has {count} variants, and no variant {asked}"),
                    many => format!("{many} variants are called {asked}"),
                };
                let problem = Diagnostic::error(Name::NothingAsked, words)
                    .at(Place::File { name: self.book.name.clone() })
                    .remedy(format!("write a number from 1 to {count}"));
                Err(Failure::input(problem))
            }
        }
    }

    /// A number that is the place of one variant and the name of another.
    fn two_ways(&self, asked: &str, counted: usize, named: &[usize]) -> Failure {
        let row = |at: usize| self.line.variants.get(at).copied().unwrap_or_default();
        let other = named.iter().copied().find(|at| *at != counted).unwrap_or_default();
        let words = format!(
            "{asked} is the name of a variant, {}, and counted from 1 it is another, {}",
            self.name(row(other)),
            self.name(row(counted))
        );
        let problem = Diagnostic::error(Name::TwoStatements, words)
            .at(Place::File { name: self.book.name.clone() });
        let [other, counted] = [other, counted].map(|at| row(at) + 1);
        Failure::input(problem.remedy(format!(
            "write the row of the one that is meant: `--row 'row {other}'` or `--row 'row {counted}'`"
        )))
    }

    /// A number that is the name of none, where all names are numbers.
    fn called_otherwise(&self, asked: usize, names: &[usize]) -> Failure {
        let mut near: Vec<(usize, u32)> =
            names.iter().copied().zip(self.line.variants.iter().copied()).collect();
        near.sort_by_key(|(own, _)| own.abs_diff(asked));
        near.truncate(2);
        let all: Vec<String> = near.iter().map(|(_, row)| self.name(*row)).collect();
        let rows: Vec<String> =
            near.iter().map(|(_, row)| format!("`--row 'row {}'`", row + 1)).collect();
        let words = format!(
            "all variants are named by numbers, and none is {asked}; nearest: {}",
            all.join(" and ")
        );
        let problem = Diagnostic::error(Name::NothingAsked, words)
            .at(Place::File { name: self.book.name.clone() });
        Failure::input(
            problem
                .remedy(format!("write the row of the one that is meant: {}", rows.join(" or "))),
        )
    }

    /// What is said of variants, by their rows: of the values of each, and of each beside the others of the line.
    pub(super) fn said_of(&self, rows: &[u32]) -> Vec<Diagnostic> {
        let is_of_them = |at: &Place| matches!(at, Place::Cell { row, .. } if rows.contains(row));
        let apart = self.line.set_apart(&self.book).into_iter().filter(|it| {
            it.place.iter().chain(it.labels.iter().map(|it| &it.place)).any(is_of_them)
        });
        self.line.said_of_rows(&self.book, rows).into_iter().chain(apart).collect()
    }

    /// The inputs of a variant by its row, with from where they come and what is said of it.
    fn inputs(&self, number: usize, row: u32, of_row: Vec<Diagnostic>) -> Result<Inputs, Problems> {
        let mut inputs = self.line.inputs_of(&self.book, row)?;
        // a number of its own beside the counted one would read as a contradiction
        let counted = match self.line.bears_a_number(&self.book, row) {
            true => String::new(),
            false => format!("variant {number}: "),
        };
        let words = format!("{}, {counted}{}", self.book.name, self.name(row));
        // what is asked of the column at its first variant is asked of that variant itself
        let own = inputs.questions();
        let told = |it: &&Diagnostic| {
            own.iter().any(|own| own.headline == it.headline && own.place == it.place)
        };
        let said = self.said.iter().chain(&of_row);
        inputs.came_from(words, said.filter(|it| !told(it)).cloned().collect());
        Ok(inputs)
    }

    /// Works on every variant on all cores; in their order.
    pub(super) fn each<T: Send>(
        &self,
        quiet: bool,
        work: &(dyn Fn(Inputs) -> Result<T, Problems> + Sync),
    ) -> Vec<(u32, Result<T, Problems>)> {
        let rows = &self.line.variants;
        let bar = bar(rows.len(), "variants", quiet);
        let all = side_by_side(rows.len(), cores(), &|at| {
            let row = rows.get(at).copied().unwrap_or_default();
            let found = self.inputs(at + 1, row, Vec::new()).and_then(work);
            bar.inc(1);
            (row, found)
        });
        bar.finish_and_clear();
        all
    }

    pub(super) fn name(&self, row: u32) -> String {
        self.line.variant_text(&self.book, row)
    }
}
