//! A span of variants worked out by itself, kept in a file, and put together with the others.
//!
//! A part is a text of comma-separated lines. It says which workbook, sheet and layout it was made from;
//! numbers are written so that they read back as the same double.

use std::ops::Range;
use std::sync::Arc;

use super::super::{Book, NewValue};
use super::run::status_of_wrong;
use super::{End, Least, Outcome, ProductLine, Tally, Variant, Verdict};
use crate::diagnostic::{Diagnostic, Name, Place};

/// First field of a part.
const MARK: &str = "standstill product line, part";

/// The outcome of a span as the bytes of a part; `original` are the bytes of the workbook.
#[must_use]
pub fn write(
    line: &ProductLine,
    original: &[u8],
    span: &Range<usize>,
    outcome: &Outcome,
) -> Vec<u8> {
    let mut bytes = head(line, original, span);
    bytes.extend(rows(outcome));
    bytes.extend(tail(&outcome.checks));
    bytes
}

/// The beginning of a part; [`rows`] follow, then a [`tail`].
#[must_use]
pub fn head(line: &ProductLine, original: &[u8], span: &Range<usize>) -> Vec<u8> {
    let (from, to) = (span.start.to_string(), span.end.to_string());
    lines([vec![MARK.to_owned(), digest(line, original), from, to]])
}

/// The lines of some variants.
#[must_use]
pub fn rows(outcome: &Outcome) -> Vec<u8> {
    lines(outcome.variants.iter().map(|variant| {
        let word = match variant.verdict {
            Verdict::Holds => "holds",
            Verdict::Fails => "fails",
            Verdict::Wrong => "wrong",
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
        let (worst, row) = tally.worst.map_or((String::new(), String::new()), |(worst, row)| {
            (format!("{worst:e}"), row.to_string())
        });
        vec!["check".to_owned(), tally.fails.to_string(), worst, row]
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
pub(super) fn tell_again(
    line: &ProductLine,
    book: &Book,
    variant: &mut Variant,
) -> Result<(), Diagnostic> {
    let problems = if line.worst {
        line.worst_of(book, variant.row).err()
    } else {
        line.exactly(book, variant.row).err()
    };
    variant.problems = problems.unwrap_or_default();
    if status_of_wrong(&variant.problems) == variant.status {
        return Ok(());
    }
    let words = format!("what a part says of row {} is not what comes out here", variant.row + 1);
    Err(mismatch(&book.name, words))
}

/// The parts of a product line put together: the outcome of the whole.
///
/// # Errors
/// `part-mismatch` for a file that is no part, for a part of another workbook, sheet or layout, for
/// variants that are in two parts or in none.
pub fn merge(
    line: &ProductLine,
    book: &Book,
    original: &[u8],
    parts: &[(String, Vec<u8>)],
) -> Result<Outcome, Vec<Diagnostic>> {
    let wanted = digest(line, original);
    let mut problems = Vec::new();
    let mut read = Vec::new();
    for (name, bytes) in parts {
        match read_part(line, book, &wanted, bytes) {
            Ok((span, outcome)) => read.push((span, name, outcome)),
            Err(words) => problems.push(mismatch(name, words)),
        }
    }
    read.sort_by_key(|(span, ..)| (span.start, span.end));
    let mut next = 0;
    let mut whole = Outcome::default();
    for (span, name, outcome) in read {
        if span.start < next {
            problems.push(mismatch(
                name,
                format!("the variants {} to {next} are in another part too", span.start + 1),
            ));
        }
        if span.start > next && problems.is_empty() {
            problems.push(missing(book, next..span.start));
        }
        next = next.max(span.end);
        whole.join(outcome);
    }
    if next < line.variants.len() && problems.is_empty() {
        problems.push(missing(book, next..line.variants.len()));
    }
    if problems.is_empty() { Ok(whole) } else { Err(problems) }
}

fn mismatch(name: &str, words: String) -> Diagnostic {
    Diagnostic::error(Name::PartMismatch, words)
        .at(Place::File { name: name.to_owned() })
        .remedy("work the part out again with `--rows FROM..TO`, from the same workbook")
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

fn read_part(
    line: &ProductLine,
    book: &Book,
    wanted: &str,
    bytes: &[u8],
) -> Result<(Range<usize>, Outcome), String> {
    let mut reader = csv::ReaderBuilder::new().has_headers(false).flexible(true).from_reader(bytes);
    let mut records = reader.records();
    let head = records
        .next()
        .and_then(Result::ok)
        .filter(|head| head.get(0) == Some(MARK))
        .ok_or("the file is no part of a product line")?;
    if head.get(1) != Some(wanted) {
        return Err(
            "the part was made from another state of the workbook, the sheet or its columns"
                .to_owned(),
        );
    }
    let broken = || "the part does not read; it may have been cut off".to_owned();
    let whole = |text: Option<&str>| text.and_then(|text| text.parse::<usize>().ok());
    let span = whole(head.get(2))
        .zip(whole(head.get(3)))
        .map(|(start, end)| start..end)
        .ok_or_else(broken)?;
    let rows = line.variants.get(span.clone()).ok_or_else(broken)?;
    let mut outcome = Outcome::default();
    for record in records {
        let record = record.map_err(|_| broken())?;
        let mut fields = record.iter();
        match fields.next() {
            Some("check") => {
                let fails = whole(fields.next()).ok_or_else(broken)?;
                let worst = fields.next().and_then(|text| text.parse::<f64>().ok());
                let row = fields.next().and_then(|text| text.parse::<u32>().ok());
                outcome.checks.push(Tally { fails, worst: worst.zip(row) });
            }
            Some(word) => {
                let verdict = match word {
                    "holds" => Verdict::Holds,
                    "fails" => Verdict::Fails,
                    "wrong" => Verdict::Wrong,
                    _ => return Err(broken()),
                };
                let row: u32 =
                    fields.next().and_then(|text| text.parse().ok()).ok_or_else(broken)?;
                let status: Arc<str> = Arc::from(fields.next().ok_or_else(broken)?);
                let check = whole(fields.next());
                let share = fields.next().and_then(|text| text.parse::<f64>().ok());
                let least = check.zip(share).map(|(check, share)| Least { check, share });
                let values = fields.map(value).collect::<Option<Vec<_>>>().ok_or_else(broken)?;
                if rows.get(outcome.variants.len()) != Some(&row)
                    || values.len() != line.results.len()
                {
                    return Err(broken());
                }
                let problems = Vec::new();
                let mut variant = Variant { row, verdict, status, values, least, problems };
                // rows that are not kept are told of when they pass by
                let kept = line.tab(book).is_some_and(|tab| tab.thinned.is_none());
                if kept && verdict == Verdict::Wrong {
                    tell_again(line, book, &mut variant).map_err(|_| broken())?;
                }
                outcome.variants.push(variant);
            }
            None => {}
        }
    }
    let complete =
        outcome.variants.len() == rows.len() && outcome.checks.len() == line.program.checks.len();
    if complete { Ok((span, outcome)) } else { Err(broken()) }
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

/// What a part must have in common with the whole: workbook, sheets, layout, version.
fn digest(line: &ProductLine, original: &[u8]) -> String {
    let mut hash = Hash::default();
    hash.take(original);
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
