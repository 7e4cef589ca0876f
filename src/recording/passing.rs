//! A file of samples passing by: its head is looked at, its rows are read once, its stops are kept.

use std::io::{Cursor, Read};
use std::path::Path;

use sha2::{Digest as _, Sha256};

use super::collect::{Collector, Sample};
use super::columns::{self, Columns, HEAD, NoNumber, number};
use super::counter::{Counter, Unclear};
use super::plan::{Plan, Recording};
use super::stop::Recorded;
use crate::diagnostic::{Diagnostic, Name, Place, Problems};
use crate::environment::Environment;
use crate::spreadsheet::guard::{Limits, check_size};
use crate::spreadsheet::{Book, Cell, Position, Tab, is_workbook};
use crate::unit::Unit;

/// Bytes in which the headings are looked for.
const PREFIX: usize = 256 * 1024;

/// Problems of one file that are listed; more say no more.
const MOST: usize = 20;

/// Letters of what a file says that are kept.
pub(super) const KEPT: usize = 300;

/// The stops of a file.
#[derive(Clone, Debug)]
pub struct FileOfStops {
    /// The file, and what it was taken under.
    pub recording: Recording,
    /// SHA-256 of its bytes.
    pub sha256: String,
    /// Samples that passed by.
    pub samples: u64,
    /// The unit of its speeds.
    pub unit: Unit,
    /// How often its clock, and the counter of its position, began again and were read on.
    pub wraps: [u64; 2],
    /// What stands above its headings, row by row.
    pub above: Vec<Vec<String>>,
    /// Its stops, in their order.
    pub stops: Vec<Recorded>,
}

/// Reads a file of recorded stops; memory holds its stops, never the whole file (of a workbook: its cells).
///
/// # Errors
/// All that is wrong with it, with the cell: what is not a number, time that does not rise, samples that are
/// missing, stops that cannot be judged.
pub fn read(
    recording: &Recording,
    plan: &Plan,
    environment: &dyn Environment,
) -> Result<FileOfStops, Problems> {
    let path = Path::new(&recording.file);
    let named = |mut problem: Diagnostic| {
        if !matches!(recording.place, Place::Argument { .. }) {
            problem = problem.label(recording.place.clone(), "named here");
        }
        Problems::from(problem)
    };
    if is_workbook(&recording.file) {
        if let Some(size) = environment.size(path) {
            check_size(&recording.file, size, &Limits::default()).map_err(|it| named(*it))?;
        }
        let bytes = environment.read(path).map_err(named)?;
        let book = Book::read(&recording.file, &bytes)?;
        return of_book(recording, plan, &book, crate::report::sha256(&bytes));
    }
    let file = environment.open(path).map_err(named)?;
    of_text(recording, plan, file)
}

/// Bytes that pass by are counted into their hash.
struct Hashed<R> {
    from: R,
    hash: Sha256,
}

impl<R: Read> Read for Hashed<R> {
    fn read(&mut self, to: &mut [u8]) -> std::io::Result<usize> {
        let count = self.from.read(to)?;
        self.hash.update(to.get(..count).unwrap_or_default());
        Ok(count)
    }
}

fn unreadable(recording: &Recording, words: &str, remedy: &str) -> Diagnostic {
    Diagnostic::error(Name::UnreadableFile, format!("`{}` {words}", recording.file))
        .at(Place::File { name: recording.file.clone() })
        .remedy(remedy)
}

fn reader<R: Read>(from: R, separator: u8) -> csv::Reader<R> {
    csv::ReaderBuilder::new()
        .has_headers(false)
        .flexible(true)
        .delimiter(separator)
        .buffer_capacity(256 * 1024)
        .from_reader(from)
}

fn of_text(
    recording: &Recording,
    plan: &Plan,
    file: Box<dyn Read + Send>,
) -> Result<FileOfStops, Problems> {
    let broken = |error: &std::io::Error| {
        unreadable(
            recording,
            &format!("cannot be read: {error}"),
            "read it from a place that is at hand",
        )
    };
    let mut file = Hashed { from: file, hash: Sha256::new() };
    let mut prefix = Vec::new();
    let limit = u64::try_from(PREFIX).unwrap_or(u64::MAX);
    (&mut file).take(limit).read_to_end(&mut prefix).map_err(|error| broken(&error))?;
    if prefix.starts_with(&[0xff, 0xfe]) || prefix.starts_with(&[0xfe, 0xff]) {
        let words = "is a text in UTF-16";
        return Err(unreadable(recording, words, "save it as text in UTF-8").into());
    }
    if prefix.contains(&0) {
        return Err(
            unreadable(recording, "is not a text", "export it as .csv, or as a workbook").into()
        );
    }
    let (separator, line, units) = head(recording, plan, &prefix)?;
    let at = u32::try_from(line.saturating_sub(1)).unwrap_or(u32::MAX);
    let place = |row: u32, column: usize| cell_place(recording, "", row, column);
    let columns = columns::columns(plan, (at, &units.0), units.1.as_deref(), &place)?;
    let mut sampler = Sampler::new(recording, plan, &columns, String::new());
    sampler.above = above(&prefix, separator, line);
    let marked = if prefix.starts_with(b"\xef\xbb\xbf") { 3 } else { 0 };
    let mut start = Cursor::new(prefix);
    start.set_position(marked);
    let mut rows = reader(start.chain(file), separator);
    let mut record = csv::ByteRecord::new();
    let first = line + u64::from(columns.units_below);
    loop {
        match rows.read_byte_record(&mut record) {
            Ok(true) => {}
            Ok(false) => break,
            Err(error) => {
                return Err(unreadable(
                    recording,
                    &format!("cannot be read on: {error}"),
                    "read it from a place that is at hand",
                )
                .into());
            }
        }
        let line = record.position().map_or(0, csv::Position::line);
        if line <= first {
            continue;
        }
        let row = u32::try_from(line - 1).unwrap_or(u32::MAX);
        let more = (columns.count..record.len()).filter_map(|at| Some((at, record.get(at)?)));
        let extra = more.into_iter().find(|(_, it)| !it.trim_ascii().is_empty());
        let field = |column: usize, digital: bool| {
            let Some(field) = record.get(column) else {
                return Err((NoNumber::Empty, String::new()));
            };
            match number(field, plan.decimal_comma) {
                Err(NoNumber::Text)
                    if digital && field.trim_ascii().eq_ignore_ascii_case(b"true") =>
                {
                    Ok(1.0)
                }
                Err(NoNumber::Text)
                    if digital && field.trim_ascii().eq_ignore_ascii_case(b"false") =>
                {
                    Ok(0.0)
                }
                Err(why) => Err((why, String::from_utf8_lossy(field).trim().to_owned())),
                Ok(number) => Ok(number),
            }
        };
        sampler.row(row, extra.map(|(column, _)| column), &field);
        if sampler.full() {
            break;
        }
    }
    let (_, mut rest) = rows.into_inner().into_inner();
    if sampler.full() {
        return Err(sampler.problems.into());
    }
    std::io::copy(&mut rest, &mut std::io::sink()).map_err(|error| broken(&error))?;
    let hash = rest.hash.finalize().iter().map(|byte| format!("{byte:02x}")).collect();
    sampler.finish(hash)
}

type Units = (Vec<String>, Option<Vec<String>>);

/// What parts the values, the line of the headings counted from 1, and its cells with those of the row below.
fn head(recording: &Recording, plan: &Plan, prefix: &[u8]) -> Result<(u8, u64, Units), Problems> {
    let body = prefix.strip_prefix(b"\xef\xbb\xbf").unwrap_or(prefix);
    let mut best: Option<(usize, u8, u64, Units)> = None;
    for separator in [b';', b'\t', b','] {
        let mut rows = reader(body, separator);
        let mut record = csv::ByteRecord::new();
        let cells = |record: &csv::ByteRecord| -> Vec<String> {
            record.iter().map(|it| String::from_utf8_lossy(it).trim().to_owned()).collect()
        };
        let mut waiting = false;
        for _ in 0..HEAD {
            if !matches!(rows.read_byte_record(&mut record), Ok(true)) {
                break;
            }
            let row = cells(&record);
            if let Some((.., units)) = best.as_mut().filter(|_| waiting) {
                units.1 = Some(row.clone());
                waiting = false;
            }
            let found = columns::matches(plan, &row);
            if found > best.as_ref().map_or(0, |(count, ..)| *count) {
                let line = record.position().map_or(1, csv::Position::line);
                best = Some((found, separator, line, (row, None)));
                waiting = true;
            }
        }
    }
    let Some((_, separator, line, units)) = best else {
        let words = format!(
            "has no row of headings among its first {HEAD} rows: looked for {} and what else is named",
            quoted(&[&plan.time.heading, &plan.speed.heading])
        );
        let first = body.split(|it| *it == b'\n').next().unwrap_or_default();
        let first: String = String::from_utf8_lossy(first).chars().take(60).collect();
        let remedy = format!("name its columns as they are headed; it begins `{}`", first.trim());
        return Err(unreadable(recording, &words, &remedy).into());
    };
    Ok((separator, line, units))
}

/// A row above the headings as it is kept: its cells that hold anything.
fn kept(cells: &[String]) -> Vec<String> {
    let all =
        cells.iter().map(|it| it.trim_matches(|sign: char| sign == '#' || sign.is_whitespace()));
    all.filter(|it| !it.is_empty()).map(|it| it.chars().take(KEPT).collect()).collect()
}

/// The rows above the headings that hold anything.
fn above(prefix: &[u8], separator: u8, line: u64) -> Vec<Vec<String>> {
    let body = prefix.strip_prefix(b"\xef\xbb\xbf").unwrap_or(prefix);
    let rows = reader(body, separator).into_byte_records().map_while(Result::ok);
    let rows = rows.take_while(|it| it.position().is_some_and(|it| it.line() < line));
    let cells = |row: csv::ByteRecord| {
        let cells = row.iter().map(|it| String::from_utf8_lossy(it).into_owned());
        kept(&cells.collect::<Vec<_>>())
    };
    rows.take(HEAD).map(cells).filter(|it| !it.is_empty()).collect()
}

fn quoted(names: &[&str]) -> String {
    names.iter().map(|name| format!("`{name}`")).collect::<Vec<_>>().join(", ")
}

fn cell_place(recording: &Recording, tab: &str, row: u32, column: usize) -> Place {
    let column = u32::try_from(column).unwrap_or(u32::MAX);
    Place::Cell { book: recording.file.clone(), tab: tab.to_owned(), row, column }
}

fn of_book(
    recording: &Recording,
    plan: &Plan,
    book: &Book,
    hash: String,
) -> Result<FileOfStops, Problems> {
    let mut best: Option<(usize, &Tab, u32, Vec<String>)> = None;
    for tab in &book.tabs {
        for (row, cells) in rows(tab).take(HEAD) {
            let texts: Vec<String> = texts(&cells);
            let found = columns::matches(plan, &texts);
            if found > best.as_ref().map_or(0, |(count, ..)| *count) {
                best = Some((found, tab, row, texts));
            }
        }
    }
    let Some((found, tab, at, head)) = best else {
        let words = format!(
            "has no row of headings: looked for {}",
            quoted(&[&plan.time.heading, &plan.speed.heading])
        );
        return Err(unreadable(recording, &words, "name its columns as they are headed").into());
    };
    if found == columns::wanted(plan)
        && let Some(other) = book.tabs.iter().filter(|it| it.name != tab.name).find(|tab| {
            rows(tab).take(HEAD).any(|(_, cells)| columns::matches(plan, &texts(&cells)) == found)
        })
    {
        let words = format!("holds recordings in `{}` and in `{}`", tab.name, other.name);
        return Err(unreadable(recording, &words, "save each tab as a file of its own").into());
    }
    let below = rows(tab).find(|(row, _)| *row > at).map(|(_, cells)| texts(&cells));
    let place = |row: u32, column: usize| cell_place(recording, &tab.name, row, column);
    let columns = columns::columns(plan, (at, &head), below.as_deref(), &place)?;
    let mut sampler = Sampler::new(recording, plan, &columns, tab.name.clone());
    let above = rows(tab).take_while(|(row, _)| *row < at).take(HEAD);
    sampler.above =
        above.map(|(_, cells)| kept(&texts(&cells))).filter(|it| !it.is_empty()).collect();
    let is_formula = |row: u32, column: usize| {
        u32::try_from(column).is_ok_and(|column| tab.has_formula(Position { row, column }))
    };
    for (row, cells) in rows(tab) {
        if row <= at + u32::from(columns.units_below) {
            continue;
        }
        let get = |column: usize| cells.get(column).unwrap_or(&Cell::Empty);
        let field = |column: usize, digital: bool| match get(column) {
            Cell::Number(number) => Ok(*number),
            Cell::Truth(truth) if digital => Ok(f64::from(u8::from(*truth))),
            Cell::Empty if is_formula(row, column) => Err((NoNumber::Formula, String::new())),
            Cell::Empty => Err((NoNumber::Empty, String::new())),
            other => Err((NoNumber::Text, other.to_string())),
        };
        let extra = cells.iter().enumerate().skip(columns.count).find(|(_, it)| !it.is_empty());
        sampler.row(row, extra.map(|(column, _)| column), &field);
        if sampler.full() {
            return Err(sampler.problems.into());
        }
    }
    // rows whose every cell is a formula without its result hold nothing
    let first = at + 1 + u32::from(columns.units_below);
    if sampler.samples == 0 && is_formula(first, columns.speed.0) {
        let problem = not_a_number(NoNumber::Formula, "", plan.decimal_comma);
        return Err(problem.at(place(first, columns.speed.0)).into());
    }
    sampler.finish(hash)
}

/// The rows of a tab that hold anything.
fn rows(tab: &Tab) -> impl Iterator<Item = (u32, Vec<Cell>)> + '_ {
    let mut entries = tab.entries().filter(|entry| !entry.cell.is_empty()).peekable();
    std::iter::from_fn(move || {
        let row = entries.peek()?.position.row;
        let mut cells = Vec::new();
        while let Some(entry) = entries.next_if(|entry| entry.position.row == row) {
            let column = usize::try_from(entry.position.column).unwrap_or(0);
            cells.resize(column, Cell::Empty);
            cells.push(entry.cell.clone());
        }
        Some((row, cells))
    })
}

fn texts(cells: &[Cell]) -> Vec<String> {
    let text = |cell: &Cell| match cell {
        Cell::Text(text) => text.trim().to_owned(),
        Cell::Number(number) => number.to_string(),
        Cell::Empty => String::new(),
        other => other.to_string(),
    };
    cells.iter().map(text).collect()
}

/// Reads the field of a column; whether it may be a truth value.
type Field<'a> = &'a dyn Fn(usize, bool) -> Result<f64, (NoNumber, String)>;

/// Rows turned into samples.
struct Sampler<'a> {
    recording: &'a Recording,
    plan: &'a Plan,
    columns: &'a Columns,
    tab: String,
    collector: Collector<'a>,
    problems: Vec<Diagnostic>,
    samples: u64,
    clock: Counter,
    position: Counter,
    above: Vec<Vec<String>>,
}

impl<'a> Sampler<'a> {
    fn new(recording: &'a Recording, plan: &'a Plan, columns: &'a Columns, tab: String) -> Self {
        let collector = Collector::new(plan);
        let (problems, samples) = (Vec::new(), 0);
        let clock = Counter::new(columns.time.1.wraps);
        let position = Counter::new(columns.speed.1.wraps);
        let above = Vec::new();
        Self { recording, plan, columns, tab, collector, problems, samples, clock, position, above }
    }

    fn full(&self) -> bool {
        self.problems.len() >= MOST
    }

    fn place(&self, row: u32, column: usize) -> Place {
        cell_place(self.recording, &self.tab, row, column)
    }

    fn row(&mut self, row: u32, extra: Option<usize>, field: Field<'_>) {
        if let Some(column) = extra {
            let words =
                format!("row {} has a value beyond its {} headings", row + 1, self.columns.count);
            self.problems.push(Diagnostic::error(Name::UnknownRow, words).at(self.place(row, column)).remedy(
                "write one value for each heading; if commas are decimal marks, part the values with semicolons and say `decimal_comma = \"yes\"`",
            ));
            return;
        }
        let columns = self.columns;
        let mut one = |column: usize, digital: bool| match field(column, digital) {
            Ok(number) => Some(number),
            Err((why, found)) => {
                let problem = not_a_number(why, &found, self.plan.decimal_comma);
                let place = cell_place(self.recording, &self.tab, row, column);
                self.problems.push(problem.at(place));
                None
            }
        };
        let time = one(columns.time.0, false);
        let speed = one(columns.speed.0, false);
        let stop = columns.stop.map(|column| one(column, true));
        let removed = columns.removed.map(|column| one(column, true));
        let (Some(time), Some(speed)) = (time, speed) else { return };
        if [stop, removed].contains(&Some(None)) {
            return;
        }
        self.samples += 1;
        let line = &columns.time.1;
        let time = self.clock.forwards((time - line.zero) * line.factor);
        let paused = self.position.paused(time);
        let line = &columns.speed.1;
        let speed = match self.position.either_way((speed - line.zero) * line.factor, paused) {
            Ok(speed) => speed,
            Err(unclear) => {
                let place = self.place(row, columns.speed.0);
                self.problems.push(not_read_on(unclear).at(place));
                return;
            }
        };
        let mut edge = |edge: Option<&super::channel::Edge>,
                        value: Option<Option<f64>>,
                        column: Option<usize>| {
            let (edge, column) = (edge?, column.unwrap_or(0));
            let value = match edge {
                super::channel::Edge::At(moment) => return Some(time >= *moment),
                _ => value.flatten()?,
            };
            let said = edge.says(value);
            if said.is_none() {
                let words = format!(
                    "`{}` holds {value}, and a digital channel holds 0 or 1",
                    edge.heading().unwrap_or_default()
                );
                let place = cell_place(self.recording, &self.tab, row, column);
                self.problems.push(
                    Diagnostic::error(Name::NotANumber, words)
                        .at(place)
                        .remedy("say at which level it counts, such as `stop below 12 V`"),
                );
            }
            said
        };
        let stop = edge(Some(&self.plan.stop), stop, columns.stop);
        let removed = match &self.plan.removed {
            None => None,
            Some(it) => match edge(Some(it), removed, columns.removed) {
                None => return,
                said => said,
            },
        };
        let Some(stop) = stop else { return };
        let sample = Sample { row, time, speed, stop, removed, paused };
        if let Err(mut problem) = self.collector.take(sample) {
            let column =
                if problem.name == Name::TimeNotRising { columns.time.0 } else { columns.speed.0 };
            // a problem of a stop has the row where it begins
            let at = self.collector.blamed.take().unwrap_or(row);
            problem.place = Some(self.place(at, column));
            self.problems.push(problem);
        }
    }

    fn finish(mut self, sha256: String) -> Result<FileOfStops, Problems> {
        let columns = self.columns;
        if self.samples == 0 && self.problems.is_empty() {
            let place = self.place(columns.row, columns.time.0);
            self.problems.push(
                Diagnostic::error(Name::TooFewSamples, "no sample stands below the headings")
                    .at(place)
                    .remedy("record the stop again, or name another file"),
            );
        }
        // a row that was passed over may have been the one that matters: only whole files are judged
        if self.problems.is_empty() {
            for (row, problem) in self.collector.finish() {
                let row = row.unwrap_or(columns.row);
                self.problems.push(problem.at(self.place(row, columns.speed.0)));
            }
        }
        if !self.problems.is_empty() {
            return Err(self.problems.into());
        }
        let unit = if self.plan.is_position {
            self.collector.unit_of_speed(&columns.speed.1.unit)
        } else {
            columns.speed.1.unit.clone()
        };
        let mut stops = self.collector.stops;
        for stop in &mut stops {
            stop.file = self.recording.file.clone();
            stop.place = Some(cell_place(self.recording, &self.tab, stop.row, columns.speed.0));
        }
        Ok(FileOfStops {
            recording: self.recording.clone(),
            sha256,
            samples: self.samples,
            unit,
            wraps: [self.clock.times, self.position.times],
            above: self.above,
            stops,
        })
    }
}

fn not_read_on(unclear: Unclear) -> Diagnostic {
    let (name, words, remedy) = match unclear {
        Unclear::Step => (
            Name::UnfitRecording,
            "the position moves by more than a third of what its counter counts from one sample to the next: which way is not known",
            "record with shorter times between samples, or a counter that counts further; look whether `wraps` says the right count",
        ),
        Unclear::Span => (
            Name::TwoStatements,
            "the positions span more than what `wraps` says that the counter counts",
            "say the right count in `wraps`, or leave it out where the counter does not begin again",
        ),
    };
    Diagnostic::error(name, words).remedy(remedy)
}

fn not_a_number(why: NoNumber, found: &str, decimal_comma: bool) -> Diagnostic {
    let (name, words, remedy) = match why {
        NoNumber::Empty => (
            Name::EmptyCell,
            "a sample is missing here; empty is not zero".to_owned(),
            "record it again; a value that was not measured is never put in".to_owned(),
        ),
        NoNumber::Formula => (
            Name::EmptyCell,
            "the formula of this cell has no result that is saved".to_owned(),
            "open the workbook in an office program, let it calculate, and save it; or name the file that the recorder wrote".to_owned(),
        ),
        NoNumber::NotFinite => (
            Name::SignalLimit,
            format!("the recorder wrote `{found}`: it could not measure here"),
            "record it again with a range that holds the signal".to_owned(),
        ),
        NoNumber::OtherMark if decimal_comma => (
            Name::TextForNumber,
            format!("`{found}` has a point, and commas are said to be decimal marks"),
            "leave `decimal_comma` out, or save the file with commas throughout".to_owned(),
        ),
        NoNumber::OtherMark => (
            Name::TextForNumber,
            format!("`{found}` has a comma, and nothing says that it is the decimal mark"),
            "say `decimal_comma = \"yes\"` if it is".to_owned(),
        ),
        NoNumber::Text => (
            Name::TextForNumber,
            format!("a number is needed, found `{found}`"),
            "write the number alone; its unit stands in the heading".to_owned(),
        ),
    };
    Diagnostic::error(name, words).remedy(remedy)
}
