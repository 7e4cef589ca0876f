//! `standstill fill`: inputs from a workbook, results written back into it.

use super::print::{cell_json, cell_text};
use std::path::Path;

use super::arguments::{Allowed, Fill};
use super::failure::{Ending, Failure};
use super::print::Terminal;
use super::{ExitStatus, output, read_sheet, run, worst};
use crate::diagnostic::{Diagnostic, Name, Place, cell_name, render_json};
use crate::environment::Environment;
use crate::project::Project;
use crate::recording::ProtocolVerdict;
use crate::report::{self, Check, Remark, text};
use crate::spreadsheet::guard::{Limits, check_size};
use crate::spreadsheet::{Allow, Book, Change, Written, write_cells};
use crate::workbook::{
    Calculated, Filling, Options, compute_with, fresh_copy, result_book_refused,
};

pub(super) fn fill(asked: &Fill, environment: &dyn Environment, terminal: &mut Terminal) -> Ending {
    let done = filled(asked, environment)?;
    if asked.json {
        terminal.json(as_json(asked, &done));
    } else {
        report(asked, &done, terminal);
    }
    let moved = asked.check && !done.written.changed.is_empty();
    Ok(ExitStatus::of(done.filling.holds() && !moved))
}

/// A workbook that was filled, or would be.
struct Done {
    filling: Filling,
    written: Written,
}

impl Done {
    fn cautions(&self) -> impl Iterator<Item = &Diagnostic> {
        self.filling.cautions.iter().chain(&self.written.cautions)
    }
}

fn filled(asked: &Fill, environment: &dyn Environment) -> Result<Done, Failure> {
    let path = Path::new(&asked.book);
    if let Some(size) = environment.size(path) {
        check_size(&asked.book, size, &Limits::default()).map_err(Failure::file)?;
    }
    if let Some(output) = &asked.output {
        let own = path.extension().map(|it| format!(".{}", it.to_string_lossy().to_lowercase()));
        let fits = own.filter(|it| [".xlsx", ".xlsm"].contains(&it.as_str()));
        output::check(output, &[fits.as_deref().unwrap_or(".xlsx")], environment)?;
    }
    let bytes = environment.read(path).map_err(Failure::file)?;
    let bind_file = asked.bind.as_ref().map(|file| read_sheet(file, environment)).transpose()?;
    let book = Book::read(&asked.book, &bytes).map_err(Failure::file)?;
    ProtocolVerdict::refused(&book).map_or(Ok(()), |it| Err(Failure::input(it)))?;
    let sheets = Project::new(environment);
    let options = Options {
        worst: asked.worst,
        only: asked.only.as_deref(),
        over_numbers: asked.allow.contains(&Allowed::Numbers),
    };
    let allow = Allow {
        formulas: asked.allow.contains(&Allowed::Formulas),
        locked_cells: asked.allow.contains(&Allowed::Locked),
        signature: asked.allow.contains(&Allowed::Signature),
    };
    let filling = compute_with(&book, bind_file.as_ref(), &sheets, options).map_err(|it| {
        match result_book_refused(&book) {
            Some(problem) => Failure::input(problem),
            None => {
                // what keeps results from being written is told with the rest
                let edits = it.trial();
                let takes = book.form.takes_cells() && !edits.is_empty();
                let refused = takes.then(|| write_cells(&asked.book, &bytes, &edits, allow));
                let refused = refused.and_then(Result::err).into_iter().flatten();
                let all: Vec<Diagnostic> = it.problems.into_iter().chain(refused).collect();
                Failure::workbook(all, it.sheet_is_wrong)
            }
        }
    })?;
    let mut written = match (book.form.takes_cells(), &asked.output) {
        (true, _) => write_cells(&asked.book, &bytes, &filling.edits(), allow),
        (false, Some(_)) => fresh_copy(&book, &filling.edits()),
        (false, None) => Err(Diagnostic::error(
            Name::UnwritableFile,
            "a file of this kind can be read, not filled in place",
        )
        .at(Place::File { name: asked.book.clone() })
        .remedy("give another file, `-o filled.xlsx`, or save it as .xlsx first")
        .into()),
    }
    .map_err(Failure::file)?;
    let mut outdated = filling.outdated(&book, &written);
    let (errors, cautions) =
        filling.uncertain(&book, &written).into_iter().partition::<Vec<_>, _>(Diagnostic::is_error);
    outdated.extend(errors);
    if !outdated.is_empty() {
        return Err(Failure::input(outdated));
    }
    written.cautions.extend(cautions);
    if !asked.writes_nothing() {
        let result = match &asked.output {
            Some(output) => environment.write(Path::new(output), &written.bytes, asked.force),
            // nothing to change: the file is not even touched
            None if written.changed.is_empty() => Ok(()),
            None => environment.replace(path, &written.bytes, Some(&bytes)),
        };
        result.map_err(Failure::file)?;
    }
    Ok(Done { filling, written })
}

fn report(asked: &Fill, done: &Done, terminal: &mut Terminal) {
    for calculated in &done.filling.calculated {
        terminal.print(format!("{} asks for", calculated.place.to_text()));
        let inputs = calculated.results.inputs();
        terminal.lines(report::heading(inputs.program()));
        // all else that is said stands below the cells, for all calculations of the workbook
        for remark in report::remarks(inputs, None) {
            if matches!(remark, Remark::Examples(_)) {
                terminal.print(remark.to_text());
            }
        }
        match calculated.worst.as_ref() {
            Some(found) if asked.worst => worst::report_briefly(found, terminal),
            found => {
                run::report_briefly(&calculated.results, &calculated.release, terminal);
                // a cell asks for the worst case: what does not hold there ends the run with 1
                let checks: Vec<Check> = found.map_or_else(Vec::new, |it| {
                    it.checks().iter().map(Check::from).filter(|it| !it.holds()).collect()
                });
                if let Some(mut table) = report::checks_table(&checks, true) {
                    table.title = "checks that are not proved over the tolerances".to_owned();
                    terminal.lines(text::table(&table));
                }
            }
        }
        if let Some(words) = report::defaults_text(&report::defaults(&calculated.results)) {
            terminal.list("defaults taken", &[words]);
        }
        terminal.print("");
        if let Some(words) = not_shown(calculated, asked.worst) {
            terminal.prose(&words);
            terminal.print("");
        }
    }
    let mut rows = vec![["cell", "", "was", "is"].map(str::to_owned).to_vec()];
    for calculated in &done.filling.calculated {
        for (name, cell, value) in &calculated.cells {
            let change = done.written.changed.iter().find(|change| {
                change.tab.eq_ignore_ascii_case(&cell.tab) && change.position == cell.position
            });
            let (was, is) = match change {
                Some(Change { old, new, .. }) => (cell_text(old), cell_text(new)),
                None => ("the same".to_owned(), cell_text(&value.as_cell())),
            };
            rows.push(vec![
                format!("{}!{}", cell.tab, cell_name(cell.position.row, cell.position.column)),
                name.clone(),
                was,
                is,
            ]);
        }
    }
    if rows.len() == 1 {
        terminal.print("The workbook names no cell for a result: add a row such as `t_stop`, with its unit, to the block.");
        cautions(done, terminal);
        return;
    }
    terminal.print("cells");
    terminal.columns(&rows);
    cautions(done, terminal);
    terminal.print("");
    let target = asked.output.as_ref().unwrap_or(&asked.book);
    terminal.written(
        done.written.changed.len(),
        target,
        (asked.writes_nothing(), asked.output.is_none()),
    );
    terminal.recalculated(done.written.to_recalculate.len(), done.written.possible.len());
    if asked.check && done.filling.holds() {
        terminal.stale(done.written.changed.len(), target);
    }
    terminal.closing(done.filling.calculated.iter().map(|one| &**one.results.program()));
}

/// Remarks with figures that are not used: where, and their words in one line.
fn unused(done: &Done) -> impl Iterator<Item = (String, String)> {
    done.filling.unused.iter().map(|(cell, text)| {
        let at = cell_name(cell.position.row, cell.position.column);
        let words: Vec<&str> = text.split_whitespace().collect();
        (format!("{}!{at}", cell.tab), words.join(" "))
    })
}

fn cautions(done: &Done, terminal: &mut Terminal) {
    let quoted = unused(done).map(|(at, text)| format!("{at} \"{text}\""));
    let quoted: Vec<String> = quoted.collect();
    if !quoted.is_empty() {
        terminal.list("remarks with figures that are not used", &quoted);
    }
    for problem in done.cautions() {
        terminal.print("");
        terminal.print(crate::diagnostic::render_long(problem));
    }
}

/// Tolerances that no cell shows the effect of.
fn not_shown(calculated: &Calculated, worst_asked: bool) -> Option<String> {
    let shown = calculated.cells.iter().any(|(name, ..)| {
        [" lowest", " highest", " worst"].iter().any(|ending| name.ends_with(ending))
    });
    let name = &calculated.results.program().outputs.first()?.name;
    let rows = format!(
        "rows `{name} lowest`, `{name} highest` and `checks worst` in the workbook take them"
    );
    match (calculated.tolerances, worst_asked, shown) {
        (false, ..) | (_, _, true) => None,
        (true, false, _) => Some(format!(
            "Inputs have tolerances; these results are for the nominal values. The verdict is that over the tolerances; `--worst` shows how far results can go; {rows}."
        )),
        (true, true, false) => Some(format!(
            "No cell of the workbook asks for the lowest or highest value of a result: {rows}."
        )),
    }
}

fn as_json(asked: &Fill, done: &Done) -> serde_json::Value {
    let calculations: Vec<_> = done
        .filling
        .calculated
        .iter()
        .map(|calculated| {
            let mut json = report::results_json(&calculated.results, &calculated.release);
            if let (Some(object), Some(found)) = (json.as_object_mut(), &calculated.worst) {
                object.insert("worst".to_owned(), report::worst_json(found));
            }
            if let Some(object) = json.as_object_mut() {
                object.insert("asked_at".to_owned(), serde_json::json!(calculated.place.to_text()));
                object.insert(
                    "cells".to_owned(),
                    calculated
                        .cells
                        .iter()
                        .map(|(name, cell, new)| {
                            serde_json::json!({
                                "name": name, "tab": cell.tab,
                                "cell": cell_name(cell.position.row, cell.position.column), "value": cell_json(&new.as_cell()),
                            })
                        })
                        .collect(),
                );
            }
            json
        })
        .collect();
    serde_json::json!({
        "book": asked.book,
        "output": asked.output,
        "holds": done.filling.holds(),
        "written": !asked.writes_nothing(),
        "changed": done.written.changed.len(),
        "calculations": calculations,
        "unused_remarks": unused(done).map(|(cell, text)| serde_json::json!({ "cell": cell, "text": text })).collect::<Vec<_>>(),
        "remarks": done.cautions().map(render_json).collect::<Vec<_>>(),
        "to_recalculate": done.written.to_recalculate.iter().map(|stale| format!("{}!{}", stale.tab, crate::spreadsheet::Position::name(stale.position))).collect::<Vec<_>>(),
    })
}
