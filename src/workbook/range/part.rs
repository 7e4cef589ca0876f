//! A span of variants calculated by itself, kept in a file, and put together with the others.
//!
//! A part is a text of comma-separated lines. It says which workbook, sheet and layout it was made from;
//! numbers are written so that they read back as the same double.

use std::collections::BTreeMap;
use std::io::{Cursor, Read};
use std::ops::Range;
use std::sync::{Arc, Mutex};

use super::run::{BLOCK, status_of_wrong};
use super::{End, Least, Outcome, ProductLine, Tally, Variant, VariantVerdict, Worst};
use crate::diagnostic::{Diagnostic, Name, Place, Problems};
use crate::spreadsheet::{Book, NewValue};

/// First field of a part.
const MARK: &str = "standstill product line, part";

/// The outcome of a span as the bytes of a part; `original` are the bytes of the workbook.
#[must_use]
pub fn write(
    line: &ProductLine,
    book: &Book,
    original: &[u8],
    span: &Range<usize>,
    outcome: &Outcome,
) -> Vec<u8> {
    let mut bytes = head(line, book, original, span);
    bytes.extend(rows(outcome));
    bytes.extend(tail(&outcome.checks));
    bytes
}

/// The beginning of a part; [`rows`] follow, then a [`tail`].
#[must_use]
pub fn head(line: &ProductLine, book: &Book, original: &[u8], span: &Range<usize>) -> Vec<u8> {
    let (from, to) = (span.start.to_string(), span.end.to_string());
    lines([vec![MARK.to_owned(), digest(line, book, original), from, to]])
}

/// The lines of some variants.
#[must_use]
pub fn rows(outcome: &Outcome) -> Vec<u8> {
    lines(outcome.variants.iter().map(|variant| {
        let word = match variant.verdict {
            VariantVerdict::Holds => "holds",
            VariantVerdict::Fails => "fails",
            VariantVerdict::NotProved => "not-proved",
            VariantVerdict::Wrong => "wrong",
        };
        let mut fields = vec![word.to_owned(), variant.row.to_string(), variant.status.to_string()];
        let least = variant.least;
        fields.push(least.map_or(String::new(), |least| least.check.to_string()));
        fields.push(least.map_or(String::new(), |least| format!("{:e}", least.share)));
        fields.extend(variant.values.iter().map(field));
        fields
    }))
}

/// What became of the checks in all variants of the part.
#[must_use]
pub fn tail(checks: &[Tally]) -> Vec<u8> {
    lines(checks.iter().map(|tally| {
        let left = tally.worst.and_then(|it| it.left);
        let [proved, reached] =
            left.map_or_else(Default::default, |it| it.map(|it| format!("{it:e}")));
        let row = tally.worst.map_or_else(String::new, |it| it.row.to_string());
        let (fails, not_proved) = (tally.fails.to_string(), tally.not_proved.to_string());
        vec!["check".to_owned(), fails, not_proved, row, proved, reached]
    }))
}

fn lines(records: impl IntoIterator<Item = Vec<String>>) -> Vec<u8> {
    let mut out = csv::WriterBuilder::new().flexible(true).from_writer(Vec::new());
    for record in records {
        // a list in memory takes everything
        let _ = out.write_record(record);
    }
    out.into_inner().unwrap_or_default()
}

/// Finds out again what is wrong with a row, with its cells: a part keeps only the words.
pub(super) fn relabel(
    line: &ProductLine,
    book: &Book,
    variant: &mut Variant,
) -> Result<(), Diagnostic> {
    let problems = if line.worst {
        line.worst_of(book, variant.row).err()
    } else {
        line.exactly(book, variant.row).err()
    };
    variant.problems = problems.unwrap_or_default().into();
    if status_of_wrong(&variant.problems) == variant.status {
        return Ok(());
    }
    let words = format!("what a part says of row {} is not what comes out here", variant.row + 1);
    Err(mismatch(&book.name, words))
}

/// The parts of a product line put together: the outcome of the whole, in memory.
///
/// # Errors
/// As [`Parts::look`].
pub fn merge(
    line: &ProductLine,
    book: &Book,
    original: &[u8],
    parts: &[(String, Vec<u8>)],
) -> Result<Outcome, Problems> {
    let open = |name: &str| -> Result<Box<dyn Read + Send>, Diagnostic> {
        let part = parts.iter().find(|(known, _)| known == name);
        Ok(Box::new(Cursor::new(part.map_or_else(Vec::new, |(_, bytes)| bytes.clone()))))
    };
    let names: Vec<String> = parts.iter().map(|(name, _)| name.clone()).collect();
    let parts = Parts::look(line, book, original, &names, &open)?;
    let mut variants = Vec::with_capacity(line.variants.len());
    for at in 0..line.variants.len().div_ceil(BLOCK) {
        variants.extend(parts.block(line, at).map_err(Problems::from)?);
    }
    for variant in variants.iter_mut().filter(|one| one.verdict == VariantVerdict::Wrong) {
        relabel(line, book, variant).map_err(Problems::from)?;
    }
    Ok(Outcome { variants, checks: parts.checks })
}

/// Opens a part by its name, to be read from its beginning.
pub type Open<'o> = &'o (dyn Fn(&str) -> Result<Box<dyn Read + Send>, Diagnostic> + Sync);

/// Parts that together are a whole product line. Their variants are read while they are needed, one part
/// after the other; none stays in memory.
pub struct Parts<'p> {
    open: Open<'p>,
    /// The name and the span of each, in the order of the variants.
    spans: Vec<(Range<usize>, String)>,
    /// What became of the checks in all variants.
    pub(super) checks: Vec<Tally>,
    reading: Mutex<Reading>,
}

/// How far the variants of all parts have been read.
#[derive(Default)]
struct Reading {
    /// The part being read, and how many before it have been.
    part: Option<Part>,
    done: usize,
    /// The variants that have been read, by their block, and the block that comes next.
    blocks: BTreeMap<usize, Vec<Variant>>,
    next: usize,
}

impl<'p> Parts<'p> {
    /// Reads all parts once and looks whether they belong to the table, are whole, and are each variant
    /// once.
    ///
    /// # Errors
    /// `part-mismatch` for a file that is no part, for a part of another workbook, sheet or layout, for
    /// variants that are in two parts or in none; what `open` says of a file that does not read.
    pub fn look(
        line: &ProductLine,
        book: &Book,
        original: &[u8],
        names: &[String],
        open: Open<'p>,
    ) -> Result<Self, Problems> {
        let wanted = digest(line, book, original);
        let (mut problems, mut read) = (Vec::new(), Vec::new());
        for name in names {
            let source = match open(name) {
                Ok(source) => source,
                Err(problem) => {
                    problems.push(problem);
                    continue;
                }
            };
            let known = Part::begin(source, &wanted).and_then(|part| part.looked_at(line));
            match known {
                Ok((span, checks)) => read.push((span, name.clone(), checks)),
                Err(words) => problems.push(mismatch(name, words)),
            }
        }
        read.sort_by_key(|(span, ..)| (span.start, span.end));
        let mut next = 0;
        let mut whole = vec![Tally::default(); line.program.checks.len()];
        let mut spans = Vec::with_capacity(read.len());
        for (span, name, checks) in read {
            if span.start < next {
                let words =
                    format!("the variants {} to {next} are in another part too", span.start + 1);
                problems.push(mismatch(&name, words));
            }
            if span.start > next && problems.is_empty() {
                problems.push(missing(book, next..span.start));
            }
            next = next.max(span.end);
            whole.iter_mut().zip(checks).for_each(|(tally, more)| tally.join(more));
            spans.push((span, name));
        }
        if next < line.variants.len() && problems.is_empty() {
            problems.push(missing(book, next..line.variants.len()));
        }
        if !problems.is_empty() {
            return Err(problems.into());
        }
        Ok(Self { open, spans, checks: whole, reading: Mutex::default() })
    }

    /// The variants of a block. Blocks are asked for nearly in their order: those that are passed over
    /// are kept until they are asked for.
    pub(super) fn block(
        &self,
        line: &ProductLine,
        block: usize,
    ) -> Result<Vec<Variant>, Diagnostic> {
        let again =
            |name: &str| mismatch(name, "the part has changed since it was read".to_owned());
        let name = || self.spans.last().map_or("", |(_, name)| name);
        let mut reading = self.reading.lock().map_err(|_| again(name()))?;
        while reading.next <= block {
            let at = reading.next;
            let rows = at * BLOCK..((at + 1) * BLOCK).min(line.variants.len());
            let mut variants = Vec::with_capacity(rows.len());
            while variants.len() < rows.len() {
                let (span, name) = self.spans.get(reading.done).ok_or_else(|| again(name()))?;
                if reading.part.is_none() {
                    let source = (self.open)(name)?;
                    let part = Part::started(source).map_err(|words| mismatch(name, words))?;
                    reading.part = Some(part);
                }
                let wanted = rows.end.min(span.end) - rows.start - variants.len();
                let part = reading.part.as_mut().ok_or_else(|| again(name))?;
                for _ in 0..wanted {
                    match part.next(line).map_err(|words| mismatch(name, words))? {
                        Some(PartLine::Variant(variant)) => variants.push(variant),
                        _ => return Err(again(name)),
                    }
                }
                if rows.start + variants.len() == span.end {
                    reading.part = None;
                    reading.done += 1;
                }
            }
            reading.blocks.insert(at, variants);
            reading.next += 1;
        }
        reading.blocks.remove(&block).ok_or_else(|| again(name()))
    }
}

fn mismatch(name: &str, words: String) -> Diagnostic {
    Diagnostic::error(Name::PartMismatch, words)
        .at(Place::File { name: name.to_owned() })
        .remedy("work the part out again with `--rows FROM..TO`, from the same workbook and with the options that are given to `--merge`")
}

fn missing(book: &Book, span: Range<usize>) -> Diagnostic {
    let (from, to) = (span.start + 1, span.end);
    Diagnostic::error(
        Name::PartMismatch,
        format!("the variants {from} to {to} are in none of the parts"),
    )
    .at(Place::File { name: book.name.clone() })
    .remedy(format!("work them out with `--rows {from}..{to}` and merge that part too"))
}

/// A part being read.
struct Part {
    records: csv::StringRecordsIntoIter<Box<dyn Read + Send>>,
    span: Range<usize>,
    /// How many variants have been read.
    read: usize,
    digest: String,
}

/// A line of a part.
enum PartLine {
    Variant(Variant),
    Check(Tally),
}

fn broken() -> String {
    "the part does not read; it may have been cut off".to_owned()
}

impl Part {
    /// Reads the head.
    fn started(source: Box<dyn Read + Send>) -> Result<Self, String> {
        let mut reader = csv::ReaderBuilder::new();
        let reader = reader.has_headers(false).flexible(true).from_reader(source);
        let mut records = reader.into_records();
        let head = records
            .next()
            .and_then(Result::ok)
            .filter(|head| head.get(0) == Some(MARK))
            .ok_or("the file is no part of a product line")?;
        let digest = head.get(1).unwrap_or_default().to_owned();
        let span = whole(head.get(2)).zip(whole(head.get(3))).ok_or_else(broken)?;
        Ok(Self { records, span: span.0..span.1, read: 0, digest })
    }

    /// Reads the head and looks whether the part belongs to the table.
    fn begin(source: Box<dyn Read + Send>, wanted: &str) -> Result<Self, String> {
        let part = Self::started(source)?;
        if part.digest != wanted {
            return Err(
                "the part was made from another state of the workbook, the sheet, its columns or defaults, or with other options"
                    .to_owned(),
            );
        }
        Ok(part)
    }

    /// Reads all lines and keeps none: the span, and what became of the checks.
    fn looked_at(mut self, line: &ProductLine) -> Result<(Range<usize>, Vec<Tally>), String> {
        line.variants.get(self.span.clone()).ok_or_else(broken)?;
        let mut checks = Vec::new();
        while let Some(read) = self.next(line)? {
            match read {
                PartLine::Variant(_) if checks.is_empty() => {}
                PartLine::Variant(_) => return Err(broken()),
                PartLine::Check(tally) => checks.push(tally),
            }
        }
        let complete = self.read == self.span.len() && checks.len() == line.program.checks.len();
        if complete { Ok((self.span, checks)) } else { Err(broken()) }
    }

    fn next(&mut self, line: &ProductLine) -> Result<Option<PartLine>, String> {
        let Some(record) = self.records.next() else { return Ok(None) };
        let record = record.map_err(|_| broken())?;
        let mut fields = record.iter();
        let verdict = match fields.next() {
            Some("check") => {
                let fails = whole(fields.next()).ok_or_else(broken)?;
                let not_proved = whole(fields.next()).ok_or_else(broken)?;
                let row = fields.next().and_then(|text| text.parse().ok());
                let mut number = || fields.next().and_then(|text| text.parse().ok());
                let left = number().zip(number()).map(|(proved, reached)| [proved, reached]);
                let worst = row.map(|row| Worst { left, row });
                return Ok(Some(PartLine::Check(Tally { fails, not_proved, worst })));
            }
            Some("holds") => VariantVerdict::Holds,
            Some("fails") => VariantVerdict::Fails,
            Some("not-proved") => VariantVerdict::NotProved,
            Some("wrong") => VariantVerdict::Wrong,
            _ => return Err(broken()),
        };
        let row: u32 = fields.next().and_then(|text| text.parse().ok()).ok_or_else(broken)?;
        let status: Arc<str> = Arc::from(fields.next().ok_or_else(broken)?);
        let check = whole(fields.next());
        let share = fields.next().and_then(|text| text.parse::<f64>().ok());
        let least = check.zip(share).map(|(check, share)| Least { check, share });
        let values = fields.map(value).collect::<Option<Vec<_>>>().ok_or_else(broken)?;
        let expected = line.variants.get(self.span.start + self.read);
        if self.read >= self.span.len()
            || expected != Some(&row)
            || values.len() != line.results.len()
        {
            return Err(broken());
        }
        self.read += 1;
        let problems = Vec::new();
        Ok(Some(PartLine::Variant(Variant { row, verdict, status, values, least, problems })))
    }
}

fn whole(text: Option<&str>) -> Option<usize> {
    text.and_then(|text| text.parse().ok())
}

fn field(value: &NewValue) -> String {
    match value {
        NewValue::Number(number) => format!("n{number:e}"),
        NewValue::Text(text) => format!("t{text}"),
        NewValue::Truth(truth) => format!("b{truth}"),
        NewValue::Empty => String::new(),
    }
}

fn value(field: &str) -> Option<NewValue> {
    let mut signs = field.chars();
    match signs.next() {
        None => Some(NewValue::Empty),
        Some('n') => signs.as_str().parse().ok().map(NewValue::Number),
        Some('t') => Some(NewValue::Text(signs.as_str().to_owned())),
        Some('b') => signs.as_str().parse().ok().map(NewValue::Truth),
        Some(_) => None,
    }
}

/// What a part must have in common with the whole: workbook and how its numbers are read, sheets and their defaults, layout,
/// version.
fn digest(line: &ProductLine, book: &Book, original: &[u8]) -> String {
    let mut hash = Hash::default();
    hash.take(original);
    hash.take(if book.decimal_comma { b"," } else { b"." });
    for input in &line.program.inputs {
        hash.take(format!("{:?} {:?}", input.default, input.default_tolerance).as_bytes());
    }
    for scope in &line.program.scopes {
        hash.take(scope.source.text.as_bytes());
    }
    hash.take(line.tab.as_bytes());
    for result in &line.results {
        hash.take(format!("{} {} {}", result.output, result.column, result.unit.symbol).as_bytes());
        hash.take(result.end.map_or("", End::word).as_bytes());
    }
    for input in &line.inputs {
        hash.take(format!("{:?}", input.tolerance).as_bytes());
    }
    hash.take(if line.worst { b"worst" } else { b"" });
    hash.take(
        format!("{} {} {}", line.status.column, line.variants.len(), env!("CARGO_PKG_VERSION"))
            .as_bytes(),
    );
    format!("{:016x}", hash.0)
}

/// FNV-1a with 64 bits; its constants are those of RFC 9923 (from memory). It tells parts apart, it
/// protects nothing.
struct Hash(u64);

impl Default for Hash {
    fn default() -> Self {
        Self(0xcbf2_9ce4_8422_2325)
    }
}

impl Hash {
    fn take(&mut self, bytes: &[u8]) {
        for byte in bytes.iter().chain(&[0xff]) {
            self.0 = (self.0 ^ u64::from(*byte)).wrapping_mul(0x0000_0100_0000_01b3);
        }
    }
}
