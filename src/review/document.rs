//! A review document: text with sheet blocks and values in it, calculated whole or not at all.

use std::ops::Range;
use std::path::Path;
use std::sync::Arc;

use pulldown_cmark::Options;

use super::block::Show;
use super::files::{Noted, UsedFile};
use super::linked::Link;
use super::product::ProductReview;
use super::reader::Reader;
use super::value::Inline;
use super::worst::WorstReview;
use crate::calculation::Results;
use crate::diagnostic::{Diagnostic, Source, put_in_order};
use crate::environment::Environment;
use crate::program::Program;
use crate::report::{Identity, Release, identities, sha256};

/// One calculation of a document.
#[derive(Clone, Debug)]
pub struct Calculation {
    /// Name under which the text reads its values.
    pub alias: String,
    /// Name of the sheet.
    pub sheet: String,
    /// What came out.
    pub results: Results,
    /// The verdict on all of it, and whether its settings may be set.
    pub(super) release: Release,
    /// How far it can go within the tolerances; none where no input has one.
    pub(super) worst: Option<WorstReview>,
    /// What is shown of it, in this order.
    pub(super) shows: Vec<Show>,
    /// Where a workbook asks for it.
    pub from: Option<String>,
    /// How the sheet is named at the terminal.
    pub(super) typed: String,
    /// Inputs taken from other calculations.
    pub(super) links: Vec<Link>,
    /// The results whose slopes are shown, by place; empty for all.
    pub(super) slopes_of: Vec<usize>,
}

impl Calculation {
    /// The verdict on all of it in words, over the tolerances where inputs have one.
    #[must_use]
    pub fn verdict(&self) -> &str {
        self.release.verdict()
    }
}

/// What stands in the place of a block.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum BlockContent {
    /// A sheet that is written out.
    Written,
    /// A calculation, by its place.
    Calculation(usize),
    /// A product line, by its place.
    Line(usize),
}

/// A document with everything in it calculated.
#[derive(Clone, Debug)]
pub struct Document {
    /// The text.
    pub source: Arc<Source>,
    /// The calculations, in the order of the document.
    pub calculations: Vec<Calculation>,
    /// The product lines, in the order of the document.
    pub lines: Vec<ProductReview>,
    /// Blocks: where they stand, and what stands in their place.
    pub(super) blocks: Vec<(Range<usize>, BlockContent)>,
    /// Values in the text.
    pub(super) values: Vec<(Range<usize>, Inline)>,
    /// The files it is made from.
    pub files: Vec<UsedFile>,
    /// Every sheet that took part.
    pub sheets: Vec<Identity>,
}

/// Why a document could not be calculated.
#[derive(Clone, Debug)]
pub struct Unreviewed {
    /// Every problem.
    pub problems: Vec<Diagnostic>,
    /// Whether a sheet is wrong rather than its inputs.
    pub sheet_is_wrong: bool,
}

impl Document {
    /// The programs of all calculations and product lines.
    pub(super) fn programs(&self) -> impl Iterator<Item = &Program> {
        programs(&self.calculations, &self.lines)
    }

    /// Whether every check of every calculation and of every variant holds, over the tolerances where there are any.
    #[must_use]
    pub fn holds(&self) -> bool {
        self.calculations.iter().all(|one| one.release.granted())
            && self.lines.iter().all(|line| line.fails == 0)
    }
}

fn programs<'a>(
    calculations: &'a [Calculation],
    lines: &'a [ProductReview],
) -> impl Iterator<Item = &'a Program> {
    let of_lines = lines.iter().map(|line| &*line.program);
    calculations.iter().map(|one| &**one.results.program()).chain(of_lines)
}

/// What of CommonMark and its common extensions is read.
pub(super) fn options() -> Options {
    Options::ENABLE_TABLES | Options::ENABLE_FOOTNOTES | Options::ENABLE_STRIKETHROUGH
}

/// Reads a document, calculates its sheet blocks and finds its values; files are looked for beside it.
///
/// # Errors
/// Every problem of the document, of its sheets, inputs and workbooks, in one list.
pub fn read(source: &Arc<Source>, environment: &dyn Environment) -> Result<Document, Unreviewed> {
    let noted = Noted::new(environment);
    let mut reader = Reader::new(source, &noted);
    reader.read_blocks();
    let values = reader.read_values();
    let Reader { calculations, lines, blocks, mut problems, sheet_is_wrong, .. } = reader;
    put_in_order(&mut problems);
    if problems.iter().any(Diagnostic::is_error) {
        return Err(Unreviewed { problems, sheet_is_wrong });
    }
    // a page goes to others: it names files as they stand beside the document
    let above = Path::new(&source.name).parent().unwrap_or(Path::new(""));
    let beside = |name: &str| {
        Path::new(name).strip_prefix(above).unwrap_or(Path::new(name)).display().to_string()
    };
    let mut files =
        vec![UsedFile { name: beside(&source.name), hash: sha256(source.text.as_bytes()) }];
    files.extend(
        noted.files().into_iter().map(|file| UsedFile { name: beside(&file.name), ..file }),
    );
    let programs = programs(&calculations, &lines);
    let sheets = identities(programs)
        .into_iter()
        .map(|sheet| Identity { origin: beside(&sheet.origin), ..sheet })
        .collect();
    Ok(Document { source: Arc::clone(source), calculations, lines, blocks, values, files, sheets })
}

/// The first sheet of a program.
pub(super) fn title(program: &Program) -> &str {
    program.scopes.first().map_or("", |scope| scope.title.as_str())
}
