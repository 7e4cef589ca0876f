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
}

/// Reads a workbook and finds its table.
pub(super) fn read(
    name: &str,
    sheet: Option<String>,
    tab: Option<String>,
    decimal_comma: bool,
    environment: &dyn Environment,
) -> Result<LineRun, Failure> {
    let path = Path::new(name);
    let bytes = environment.read(path).map_err(Failure::file)?;
    let reading = Reading { decimal_comma, ..Reading::default() };
    let book = Book::read_as(name, &bytes, &reading).map_err(Failure::file)?;
    let sheets = Project::new(environment);
    let asked = TableRequest { sheet, tab, ..TableRequest::default() };
    let line = ProductLine::find(&book, &asked, &sheets)
        .map_err(|it| Failure::workbook(it.problems, it.sheet_is_wrong))?;
    if book.form == Form::Csv {
        let wider = wider_than_headings(name, &bytes, decimal_comma, line.header, &line.variants)
            .map_err(Failure::file)?;
        if !wider.is_empty() {
            return Err(Failure::input(wider));
        }
    }
    Ok(LineRun { book, line })
}

impl LineRun {
    /// The inputs of one variant, counted from 1, and what it is called.
    pub(super) fn variant(&self, number: usize) -> Result<(Inputs, String), Failure> {
        let count = self.line.variants.len();
        let row = number.checked_sub(1).and_then(|at| self.line.variants.get(at));
        let row = row.ok_or_else(|| {
            let words = format!("the table has {count} variants, and no variant {number}");
            let problem = Diagnostic::error(Name::NothingAsked, words)
                .at(Place::File { name: self.book.name.clone() })
                .remedy(format!("write a number from 1 to {count}"));
            Failure::input(problem)
        })?;
        let inputs = self.line.inputs_of(&self.book, *row).map_err(Failure::input)?;
        Ok((inputs, self.name(*row)))
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
            let found = self.line.inputs_of(&self.book, row).and_then(work);
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
