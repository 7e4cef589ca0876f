//! A fresh workbook to be filled in: names, units, notes and ranges of the inputs, room for the results.
//!
//! Each form is a labelled block, so that `fill` reads it as it stands. The range of a number is checked by
//! the office suite as it is typed, in whatever unit of the list is chosen: the tab `ranges` calculates each
//! bound in the chosen unit, and the check of the cell looks there. A unit that is not in the list is read by
//! `fill` all the same if it fits; the cell then checks that a number stands there, and `fill` checks the
//! range.

mod bounds;
mod page;
mod used;

use std::sync::Arc;

use rust_xlsxwriter::{Workbook, Worksheet, XlsxError};

use super::calculated_for;
use super::cell_formats::{Page, Paper, fresh, internal, tab_name};
use crate::diagnostic::Diagnostic;
use crate::program::Program;
use crate::report::{self, DISCLAIMER, Identity};

/// What a form holds beside names, units, notes and ranges.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct FormOptions {
    /// The example values of the sheets; else their defaults alone.
    pub examples: bool,
    /// A tab more for each sheet that uses others, with the whole tree of them: what each used sheet is
    /// handed, and room for what it gives.
    pub uses: bool,
    /// Room for the tolerance of each input and for the lowest and highest value of each result; a sheet
    /// whose own values have tolerances has that room in every form.
    pub worst: bool,
}

/// The bytes of a fresh `.xlsx` workbook with a form for each sheet, one tab a sheet.
///
/// The same sheets make the same bytes. With `uses` no sheet may come twice: its used results would have
/// two places.
///
/// # Errors
/// `ours` if the workbook cannot be written.
///
/// # Example
/// ```
/// use standstill::{Sheet, spreadsheet::Book, workbook::{FormOptions, form}};
/// let sheet = Sheet::library("run-down")?;
/// let bytes = form(&[sheet.program().clone()], FormOptions { examples: true, ..FormOptions::default() })?;
/// assert!(Book::read("Form.xlsx", &bytes)?.tab("run-down").is_some());
/// # Ok::<(), standstill::Problems>(())
/// ```
pub fn form(programs: &[Arc<Program>], options: FormOptions) -> Result<Vec<u8>, Diagnostic> {
    let name =
        |program: &Program| program.scopes.first().map_or(String::new(), |it| it.sheet.clone());
    let asked: Vec<_> = programs.iter().map(|it| (Arc::clone(it), name(it))).collect();
    form_asking(&asked, options)
}

/// As [`form`], each sheet with the words by which the workbook asks for it: `own run-down`, `../press.sheet`.
///
/// # Errors
/// As [`form`].
pub fn form_asking(
    programs: &[(Arc<Program>, String)],
    options: FormOptions,
) -> Result<Vec<u8>, Diagnostic> {
    written(programs, options).map_err(|problem| internal(&problem))
}

fn written(
    programs: &[(Arc<Program>, String)],
    options: FormOptions,
) -> Result<Vec<u8>, XlsxError> {
    let title = match programs {
        [(one, _)] => one.scopes.first().map_or(String::new(), |scope| scope.title.clone()),
        _ => "Forms".to_owned(),
    };
    let mut book = fresh(&title)?;
    add_forms(&mut book, programs, options, Vec::new())?;
    book.save_to_buffer()
}

/// The forms, and the tab of what they allow; other tabs have taken some names.
pub(super) fn add_forms(
    book: &mut Workbook,
    programs: &[(Arc<Program>, String)],
    options: FormOptions,
    mut taken: Vec<String>,
) -> Result<(), XlsxError> {
    let paper = Paper::new();
    taken.push(bounds::TAB.to_owned());
    let mut forms = Vec::new();
    for (program, asked) in programs {
        let sheet = program.scopes.first().map_or("", |scope| scope.sheet.as_str());
        let name = tab_name(sheet, &taken);
        taken.push(name.clone());
        forms.push(page::Form::new(name, program, asked, options));
    }
    let bounds = bounds::Bounds::new(&forms);
    for form in &forms {
        form.write(book.add_worksheet(), &forms, &bounds, &paper)?;
        let tab = form.tab.replace('\'', "''");
        let changed = format!("='{tab}'!{}", form.changed());
        let mut known_on = |tab: &str| {
            let tab = tab.replace('\'', "''");
            book.define_name(format!("'{tab}'!{}", calculated_for::NAME), &changed).map(|_| ())
        };
        known_on(&form.tab)?;
        if options.uses && form.program.scopes.len() > 1 {
            let name = tab_name(&format!("{} uses", form.tab), &taken);
            taken.push(name.clone());
            known_on(&name)?;
            let used = used::Used::new(form, name);
            used.write(book.add_worksheet(), &paper)?;
            used.name_cells(book)?;
        }
    }
    bounds.write(book.add_worksheet(), &paper)
}

/// What stands at the end of a page: cautions, sources, and what every report says once.
pub(super) fn closing(
    tab: &mut Worksheet,
    page: &Page<'_>,
    paper: &Paper,
    program: &Program,
    mut row: u32,
) -> Result<u32, XlsxError> {
    let identities = Identity::all(program);
    let sheets = identities.iter().map(|it| format!("{}: {it}", it.sheet)).collect::<Vec<_>>();
    let sheets = sheets.iter().map(String::as_str).collect();
    for (title, texts) in [
        ("cautions", report::cautions([program])),
        ("sources", report::sources([program])),
        ("sheets that take part", sheets),
    ] {
        if texts.is_empty() {
            continue;
        }
        page.part(tab, row, title, &[], paper)?;
        row += 1;
        for text in texts {
            page.across(tab, row, text, &paper.across)?;
            row += 1;
        }
        row += 1;
    }
    page.across(tab, row, DISCLAIMER, &paper.strong)?;
    Ok(row + 2)
}
