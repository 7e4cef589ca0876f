//! A document as it was calculated.

use std::ops::Range;
use std::sync::Arc;

use pulldown_cmark::{Event, Options, Parser, Tag};

use super::block::Show;
use super::files::UsedFile;
use super::markup::escaped;
use super::product::ProductReview;
use crate::calculation::{Results, WorstCase};
use crate::diagnostic::{Diagnostic, Source};
use crate::program::{Direction, Program, Register, Type};
use crate::recording::ProtocolVerdict;
use crate::report::{self, Foundation, Identity, Release, Remark, WorstCaseReport};
use crate::unit::{Literal, Unit};

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
    /// Inputs that the document gives on top of a workbook.
    pub(super) own: Vec<String>,
    /// The protocol of measured stops that the inputs come from.
    pub(super) protocol: Option<ProtocolVerdict>,
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

    /// What every run says beside its figures: a value without effect, a unit that is asked about. What another
    /// calculation hands on was looked at there.
    #[must_use]
    pub fn remarks(&self) -> Vec<Remark> {
        let inputs = self.results.inputs();
        let names = self.links.iter().filter_map(|link| inputs.program().inputs.get(link.input));
        let handed: Vec<String> = names.map(|input| format!("`{}`", input.name)).collect();
        let all = report::remarks(inputs, Some(&self.results)).into_iter();
        all.filter(|it| match it {
            Remark::Said(problem) => !handed.iter().any(|name| problem.headline.starts_with(name)),
            Remark::Origin(_) | Remark::Examples(_) => false,
        })
        .collect()
    }

    /// Where the inputs come from, and what of them the document says itself; empty without a workbook.
    pub(super) fn origin(&self) -> String {
        let Some(from) = &self.from else { return String::new() };
        let own = match self.own.as_slice() {
            [] => String::new(),
            own => format!(", but {} from the document", own.join(", ")),
        };
        let protocol = self
            .protocol
            .as_ref()
            .map_or_else(String::new, |it| format!(" (protocol {})", it.verdict));
        format!("inputs from {from}{protocol}{own}")
    }

    /// The verdict of the protocol that the inputs come from, with what it asks to look at.
    #[must_use]
    pub fn protocol_text(&self) -> Option<String> {
        let it = self.protocol.as_ref()?;
        Some(match it.open.as_slice() {
            [] => format!("its inputs are from a protocol: {}", it.verdict),
            open => format!("its inputs are from a protocol: {}: {}", it.verdict, open.join("; ")),
        })
    }

    /// That it stands on calculations that are none to go by, each in words.
    #[must_use]
    pub fn stands_on(&self) -> Vec<String> {
        self.release.stands_on().iter().map(Foundation::to_text).collect()
    }

    /// How many inputs are the sheet's examples, given or left standing in a form, in words; empty where none is.
    #[must_use]
    pub fn examples_text(&self) -> String {
        report::of_no_machine_text(self.results.inputs())
    }
}

/// Whether the tolerances keep the figures of a calculation from being gone by: of a caution they do not.
pub(super) fn withholds(release: &Release) -> bool {
    release.worst().is_some_and(|it| !it.as_ref().is_ok_and(WorstCase::holds))
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

/// An input that holds other calculations' values.
#[derive(Clone, Debug)]
pub(super) struct Link {
    /// Place in [`crate::program::Program::inputs`].
    pub(super) input: usize,
    /// Where its values come from; an element of a series by its place.
    pub(super) from: Vec<(Option<usize>, Origin)>,
    /// As it is written.
    pub(super) written: String,
    /// For a choice: the place of each word of the other's list in the list of this input.
    pub(super) words: Option<Vec<Option<usize>>>,
}

/// A value of another calculation.
#[derive(Clone, Debug)]
pub(super) struct Origin {
    /// The calculation.
    pub(super) alias: String,
    /// Where the value is kept there.
    pub(super) register: Register,
}

/// The worst case of a calculation, or why there is none.
#[derive(Clone, Debug)]
pub(super) struct WorstReview {
    pub(super) case: WorstCaseReport,
    /// What is not proved to hold, in sentences.
    pub(super) open: Vec<String>,
    /// Whether that is cautions alone, which withhold nothing.
    pub(super) caution: bool,
    /// How many checks are proved.
    pub(super) proved: usize,
    /// What the words of the verdicts mean.
    pub(super) explained: Vec<String>,
}

/// A value in running text.
#[derive(Clone, Debug)]
pub(super) struct Inline {
    /// Which calculation.
    pub(super) calculation: usize,
    /// What of it.
    pub(super) what: What,
}

/// What a value in running text says.
#[derive(Clone, Debug)]
pub(super) enum What {
    /// All checks in words.
    Checks,
    /// What becomes of the checks within the tolerances; a trial does not calculate it again.
    Worst,
    /// The lowest or the highest value of a result within the tolerances; a trial does not calculate it again.
    End {
        /// As it is written, outward.
        words: String,
        /// Whether every check is proved to hold within the tolerances.
        holds: bool,
    },
    /// How the variants of a product line come out; its place among the product lines.
    Line,
    /// A value.
    Value {
        /// Its name in the calculation.
        name: String,
        /// Where it is kept.
        register: Register,
        /// What it is.
        type_: Type,
        /// Unit in which it is read.
        unit: Box<Unit>,
        /// How it is rounded.
        rounding: Option<(Direction, Box<Literal>)>,
        /// How it is rounded, in words, where the sheet does not say which side is the safe one; else empty: it stands
        /// beside the figure.
        rounded: String,
        /// How far it goes within the tolerances, in words; none where it does not.
        extent: Option<String>,
    },
}

/// What a symbol is to its calculation.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Role {
    /// An input.
    Input,
    /// A result.
    Result,
    /// A line that the text speaks of.
    Line,
}

impl Role {
    pub(super) const fn word(self) -> &'static str {
        match self {
            Self::Input => "input",
            Self::Result => "result",
            Self::Line => "line",
        }
    }
}

/// The name of the row of an input or a result: `of` is the place of its calculation, `at` its own.
pub(super) fn anchor(of: usize, role: Role, at: usize) -> String {
    format!("calc{of}{}{at}", role.word().get(..1).unwrap_or_default())
}

/// The name of the worked step that gives the value of a register.
pub(super) fn step_anchor(of: usize, register: Register) -> String {
    format!("calc{of}w{}", register.0)
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
    /// Pictures beside it: where each is named, and itself as an address that holds its bytes.
    pub(super) images: Vec<(Range<usize>, String)>,
    /// Values in the text.
    pub(super) values: Vec<(Range<usize>, Inline)>,
    /// The files it is made from.
    pub files: Vec<UsedFile>,
    /// Every sheet that took part.
    pub sheets: Vec<Identity>,
    /// The way from the folder where the review is written to the document's own, `../docs/`; empty where they are one.
    pub back: String,
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

    /// Words for an element; a calculation on which something stands is a link to it.
    pub(super) fn with_links(&self, words: &str) -> String {
        let shown = self.calculations.iter().enumerate().filter(|(_, one)| !one.shows.is_empty());
        shown.fold(escaped(words), |words, (at, one)| {
            let alias = escaped(&one.alias);
            let link = format!("stands on <a href=\"#calc{at}\">{alias}</a>, where");
            words.replace(&format!("stands on {alias}, where"), &link)
        })
    }

    /// Whether a calculated figure stands in a part of the text.
    pub(super) fn has_value(&self, within: &Range<usize>) -> bool {
        let inside = |value: &Range<usize>| within.start <= value.start && value.end <= within.end;
        self.values.iter().any(|(value, _)| inside(value))
    }

    /// The parts of the text that are struck out with a calculated figure in them: a stroke is for what was typed.
    pub(super) fn struck(&self) -> Vec<Range<usize>> {
        let events = Parser::new_ext(&self.source.text, options()).into_offset_iter();
        let struck = events.filter_map(|(event, range)| {
            matches!(event, Event::Start(Tag::Strikethrough)).then_some(range)
        });
        struck.filter(|range| self.has_value(range)).collect()
    }

    /// The values of a calculation of which the text speaks.
    pub(super) fn spoken(&self, of: usize) -> impl Iterator<Item = Register> {
        self.values.iter().filter_map(move |(_, inline)| match &inline.what {
            What::Value { register, .. } if inline.calculation == of => Some(*register),
            _ => None,
        })
    }

    /// What the review is known by: one hash over every file that went into it, the document first, every sheet that
    /// took part and the version that calculated.
    pub(super) fn id(&self) -> String {
        let files = self.files.iter().map(|file| file.hash.as_str());
        let sheets = self.sheets.iter().map(|sheet| sheet.sha256.as_str());
        let all: Vec<&str> = files.chain(sheets).chain([env!("CARGO_PKG_VERSION")]).collect();
        report::sha256(all.join("\n").as_bytes())
    }

    /// Its first digits, as they stand on every printed page and in the link of a trial.
    pub(super) fn short_id(&self) -> String {
        self.id().chars().take(12).collect()
    }

    /// Whether every check of every calculation and of every variant holds, over the tolerances where there are any.
    #[must_use]
    pub fn holds(&self) -> bool {
        self.calculations.iter().all(|one| one.release.granted())
            && self.lines.iter().all(|line| line.fails == 0)
    }
}

pub(super) fn programs<'a>(
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

/// The first sheet of a program.
pub(super) fn title(program: &Program) -> &str {
    program.scopes.first().map_or("", |scope| scope.title.as_str())
}
