//! `standstill range`: a product line, one variant a row, results as further columns.

mod summary;

use std::path::Path;

use super::arguments::Range;
use super::failure::{Ending, Failure};
use super::print::{Terminal, bar};
use super::{ExitStatus, line, output};
use crate::diagnostic::{Diagnostic, Name, Place, Problems};
use crate::environment::Environment;
use crate::project::Project;
use crate::report::Remark;
use crate::spreadsheet::guard::{Limits, check_size_of_rows};
use crate::spreadsheet::{Book, Form, Reading, RowBook, RowsWritten, Stale, wider_than_headings};
use crate::workbook::range::{
    CheckSummary, Moved, Outcome, ProductLine, Summary, TableRequest, Text, VariantVerdict, open,
};
use summary::{as_json, report};

/// Problems of rows, and moved results, that are listed on a terminal; JSON lists all.
const LISTED: usize = 100;

pub(super) fn range(
    asked: &Range,
    environment: &dyn Environment,
    terminal: &mut Terminal,
) -> Ending {
    if asked.slopes {
        return line::slopes(asked, environment, terminal);
    }
    let done = done(asked, environment)?;
    if asked.json {
        terminal.json(as_json(asked, &done));
    } else {
        report(asked, &done, terminal);
    }
    let wrong = done.summary.count(VariantVerdict::Wrong) > 0;
    let open = [VariantVerdict::Fails, VariantVerdict::NotProved];
    let moved = matches!(&done.became, RangeOutcome::Written(it) if it.changed > 0);
    let fails =
        open.into_iter().any(|verdict| done.summary.count(verdict) > 0) || (asked.check && moved);
    Ok(if wrong { ExitStatus::WrongInput } else { ExitStatus::of(!fails) })
}

/// A product line that was calculated.
struct Done {
    line: ProductLine,
    summary: Summary,
    checks: Vec<CheckSummary>,
    /// What is said beside the figures: hidden cells, a text of the owner that an office program would run.
    remarks: Vec<Remark>,
    became: RangeOutcome,
}

/// What became of the results.
enum RangeOutcome {
    /// Written into the workbook, or into a copy.
    Written(Wrote),
    /// Compared with those already there.
    Compared(Compared),
}

/// What was written.
struct Wrote {
    changed: usize,
    to_recalculate: Vec<Stale>,
    /// How many formulas may depend on what was written.
    possible: usize,
    cautions: Vec<Diagnostic>,
}

/// What has moved: the first of it.
#[derive(Default)]
struct Compared {
    moved: Vec<Moved>,
    /// How many results have moved beyond those.
    more: usize,
    /// How many variants have moved.
    variants: usize,
}

/// Everything that a product line is calculated from.
struct Job<'a> {
    asked: &'a Range,
    environment: &'a dyn Environment,
    original: &'a [u8],
    file: &'a RowBook<'a>,
    line: ProductLine,
    /// How many problems and moved results are listed.
    listed: usize,
}

fn done(asked: &Range, environment: &dyn Environment) -> Result<Done, Failure> {
    let path = Path::new(&asked.book);
    if let Some(size) = environment.size(path) {
        check_size_of_rows(&asked.book, size, &Limits::default()).map_err(Failure::file)?;
    }
    let original = environment.read(path).map_err(Failure::file)?;
    let reading = Reading { decimal_comma: asked.decimal_comma, ..Reading::default() };
    let sheets = Project::new(environment);
    let wanted = TableRequest {
        sheet: asked.sheet.clone(),
        place: None,
        tab: asked.tab.clone(),
        all: asked.all,
        worst: asked.worst,
        ..TableRequest::default()
    };
    let file = open(&asked.book, &original, &reading, &wanted, &sheets).map_err(Failure::file)?;
    let line = ProductLine::find(file.outline(), &wanted, &sheets)
        .map_err(|it| Failure::workbook(it.problems, it.sheet_is_wrong))?;
    if file.outline().form == Form::Csv {
        let wider = wider_than_headings(
            &asked.book, &original, asked.decimal_comma, line.header, &line.variants,
        )
        .map_err(Failure::file)?;
        if !wider.is_empty() {
            return Err(Failure::input(wider));
        }
    }
    let listed = if asked.json { usize::MAX } else { LISTED };
    let mut job = Job { asked, environment, original: &original, file: &file, line, listed };
    let apart = |summary: &Summary, line: &ProductLine| summary.apart(line, file.outline());
    let (summary, became) = match job.done(true)? {
        Ok(done) => done,
        // only the whole table shows which variant stands apart from the others, and its status says so
        Err(questions) => {
            job.line.ask(&questions);
            match job.done(false)? {
                Ok(done) => done,
                Err(more) => return Err(Failure::input(more)),
            }
        }
    };
    let checks = summary.checks(&job.line);
    let mut cautions = match (&became, asked.output.as_deref()) {
        (RangeOutcome::Written(_), output)
            if output.is_none_or(|it| form_of(it, Form::Xlsx) == Form::Xlsx) =>
        {
            summary.unread()
        }
        _ => summary.read_in_doubt(),
    };
    cautions.extend(apart(&summary, &job.line));
    cautions.extend(job.line.left_out(file.outline()));
    cautions.extend(job.line.hidden(file.outline()));
    cautions.extend(job.line.said_of_shared());
    cautions.extend(job.line.cautions.iter().cloned());
    cautions.extend(formulas_in_text(&file));
    let examples = summary.examples.iter().cloned().map(Remark::Examples);
    if let RangeOutcome::Written(wrote) = &became {
        cautions.extend(wrote.cautions.iter().cloned());
    }
    let remarks = examples.chain(cautions.into_iter().map(Remark::Said)).collect();
    Ok(Done { line: job.line, summary, checks, remarks, became })
}

/// Receives how many variants have just been finished.
type Finished<'f> = &'f (dyn Fn(usize) + Sync);

/// What came out; or first of all what is to be asked of variants, in another pass through the table.
type Pass = Result<(Summary, RangeOutcome), Vec<Diagnostic>>;

impl Job<'_> {
    fn done(&self, asks: bool) -> Result<Pass, Failure> {
        let asked = self.asked;
        if !asked.changed {
            can_be_written(asked, self.file.outline(), self.environment)?;
        }
        if asked.changed && !self.line.holds_results() {
            let problem =
                Diagnostic::error(Name::NothingAsked, "the table holds no results to compare with")
                    .at(Place::File { name: asked.book.clone() })
                    .remedy("run it once without `--changed`");
            return Err(Failure::input(problem));
        }
        let bar = bar(self.line.variants.len(), "variants", asked.json);
        let done = |count: usize| bar.inc(u64::try_from(count).unwrap_or(0));
        let found = match asked.changed {
            true => self.compared(&done, asks),
            false => self.written(&done, asks),
        };
        bar.finish_and_clear();
        found
    }

    fn compared(&self, done: Finished<'_>, asks: bool) -> Result<Pass, Failure> {
        let (mut summary, mut compared) = (Summary::default(), Compared::default());
        let look = |book: &Book, outcome: Outcome| {
            (self.line.summary(book, &outcome), self.line.moved(book, &outcome))
        };
        self.go_through(done, &look, &mut |(more, moved): (Summary, Vec<Moved>)| {
            summary.join(&self.line, more, self.listed);
            let mut rows: Vec<u32> = moved.iter().map(|moved| moved.row).collect();
            rows.dedup();
            compared.variants += rows.len();
            let room = self.listed.saturating_sub(compared.moved.len());
            compared.more += moved.len().saturating_sub(room);
            compared.moved.extend(moved.into_iter().take(room));
        })?;
        if let Some(questions) = self.questions(&summary, asks) {
            return Ok(Err(questions));
        }
        Ok(Ok((summary, RangeOutcome::Compared(compared))))
    }

    /// What is to be asked of variants before their statuses are written.
    fn questions(&self, summary: &Summary, asks: bool) -> Option<Vec<Diagnostic>> {
        let found = summary.apart(&self.line, self.file.outline());
        (asks && !found.is_empty()).then_some(found)
    }

    fn go_through<T: Send>(
        &self,
        done: Finished<'_>,
        look: &(dyn Fn(&Book, Outcome) -> T + Sync),
        each: &mut dyn FnMut(T),
    ) -> Result<(), Failure> {
        self.line.go_through(self.file, done, look, each).map_err(Failure::file)
    }

    fn written(&self, done: Finished<'_>, asks: bool) -> Result<Pass, Failure> {
        let (asked, book) = (self.asked, self.file.outline());
        let mut summary = Summary::default();
        let into = asked.output.as_ref().map_or(book.form, |output| form_of(output, book.form));
        let look = |book: &Book, outcome: &Outcome| self.line.summary(book, outcome);
        let mut each = |more| summary.join(&self.line, more, self.listed);
        let written = match (book.form, into) {
            (Form::Xlsx, Form::Xlsx) | (Form::Csv, Form::Csv) => {
                self.line.write_rows(self.file, done, &look, &mut each)
            }
            (_, Form::Csv) => self.as_text(done, &mut summary),
            _ => self.line.fresh_rows(self.file, done, &look, &mut each),
        };
        let written = written.map_err(Failure::file)?;
        if let Some(questions) = self.questions(&summary, asks) {
            return Ok(Err(questions));
        }
        if !summary.foreign.is_empty() {
            return Err(Failure::input(summary.foreign));
        }
        let outdated = self.line.outdated(book, &written);
        if !outdated.is_empty() {
            return Err(Failure::input(outdated));
        }
        let uncertain = self.line.uncertain(book, &written);
        let RowsWritten { bytes, changed, to_recalculate, possible, mut cautions, .. } = written;
        cautions.extend(uncertain);
        let wrote = Wrote { changed, to_recalculate, possible: possible.len(), cautions };
        if !asked.writes_nothing() {
            let path = Path::new(&asked.book);
            let result = match &asked.output {
                Some(output) => self.environment.write(Path::new(output), &bytes, asked.force),
                // nothing to change: the file is not even touched
                None if wrote.changed == 0 => Ok(()),
                None => self.environment.replace(path, &bytes, Some(self.original)),
            };
            result.map_err(Failure::file)?;
        }
        Ok(Ok((summary, RangeOutcome::Written(wrote))))
    }

    /// Writes the table's tab as plain text.
    fn as_text(&self, done: Finished<'_>, summary: &mut Summary) -> Result<RowsWritten, Problems> {
        let comma = self.asked.decimal_comma;
        let look = |book: &Book, outcome: Outcome| {
            (self.line.summary(book, &outcome), self.line.lines(book, &outcome, comma))
        };
        let (mut text, mut changed, mut problems) = (Text::default(), 0, Vec::new());
        self.line.go_through(self.file, done, &look, &mut |(more, made)| {
            summary.join(&self.line, more, self.listed);
            match made {
                Ok((lines, count)) => {
                    text.append(lines);
                    changed += count;
                }
                Err(problem) => problems.push(problem),
            }
        })?;
        if !problems.is_empty() {
            return Err(problems.into());
        }
        Ok(RowsWritten { bytes: text.into_bytes(), changed, ..RowsWritten::default() })
    }
}

/// Whether the results can go where they are to go, before any work is done.
fn can_be_written(
    asked: &Range,
    book: &Book,
    environment: &dyn Environment,
) -> Result<(), Failure> {
    let trouble = |words: &str, name: &str, remedy: &str| {
        let problem = Diagnostic::error(Name::UnwritableFile, words)
            .at(Place::File { name: name.to_owned() })
            .remedy(remedy);
        Err(Failure::file(problem))
    };
    match &asked.output {
        None if !book.form.takes_rows() => trouble(
            "a file of this kind can be read, not filled in place",
            &asked.book,
            "write the results into a fresh workbook: `-o NAME.xlsx`",
        ),
        // a fresh workbook has no macros, and one with macros under another name does not open
        Some(output) => {
            let own = std::path::Path::new(&asked.book).extension();
            let own = own.map(|it| format!(".{}", it.to_string_lossy().to_lowercase()));
            let macros = own.filter(|it| book.form == Form::Xlsx && it == ".xlsm");
            let fits = [macros.as_deref().unwrap_or(".xlsx"), ".csv"];
            output::check(output, &fits, environment)
        }
        None => Ok(()),
    }
}

/// The kind of an output by its ending; what has none, such as a device, takes the kind of what is read.
fn form_of(name: &str, own: Form) -> Form {
    match name.rsplit('.').next().unwrap_or_default().to_ascii_lowercase().as_str() {
        "xlsx" | "xlsm" => Form::Xlsx,
        "csv" => Form::Csv,
        _ if own == Form::Csv => Form::Csv,
        _ => Form::Xlsx,
    }
}

/// The owner's own texts in a `.csv` that an office program would run.
fn formulas_in_text(file: &RowBook<'_>) -> Option<Diagnostic> {
    let first = file.text_that_runs()?;
    Some(
        Diagnostic::caution(
            Name::FormulaInTheWay,
            "a text of this file begins like a formula; it is left as it is and was not run here",
        )
        .at(file.outline().place("", first))
        .remedy("an office program would run it when the file is opened there; look at it first"),
    )
}
