//! Where in a file the headings stand, and which columns are meant; numbers read from fields.

use super::channel::Line;
use super::plan::Plan;
use crate::diagnostic::{Diagnostic, Name, Place};
use crate::program::did_you_mean;
use crate::workbook::label;

/// Rows in which the headings are looked for: recorders write a page of their own before them.
pub(super) const HEAD: usize = 200;

/// The columns of a file, counted from 0.
#[derive(Clone, Debug)]
pub(super) struct Columns {
    /// The row of the headings.
    pub(super) row: u32,
    pub(super) time: (usize, Line),
    pub(super) speed: (usize, Line),
    pub(super) stop: Option<usize>,
    pub(super) removed: Option<usize>,
    /// Headings in their row.
    pub(super) count: usize,
    /// Whether the row below holds the units.
    pub(super) units_below: bool,
}

/// A heading that is looked for.
struct Sought<'a> {
    heading: &'a str,
    column: Option<usize>,
}

fn sought(plan: &Plan) -> Vec<Sought<'_>> {
    let edges = [Some(&plan.stop), plan.removed.as_ref()].into_iter().flatten();
    let edges = edges.filter_map(|edge| edge.heading());
    [plan.time.heading.as_str(), plan.speed.heading.as_str()]
        .into_iter()
        .chain(edges)
        .map(|heading| Sought { heading, column: None })
        .collect()
}

/// Whether a heading is the one that is meant: whole, or without its unit.
fn is_meant(cell: &str, heading: &str) -> bool {
    let cell = cell.trim();
    cell == heading || label(cell).name == heading
}

/// How many of the headings that are looked for stand in a row.
pub(super) fn matches(plan: &Plan, row: &[String]) -> usize {
    sought(plan).iter().filter(|it| row.iter().any(|cell| is_meant(cell, it.heading))).count()
}

/// How many there must be.
pub(super) fn wanted(plan: &Plan) -> usize {
    sought(plan).len()
}

/// The columns, by the row of the headings and the one below it.
///
/// # Errors
/// What is missing, twice there, or in another unit than was said.
pub(super) fn columns(
    plan: &Plan,
    row: (u32, &[String]),
    below: Option<&[String]>,
    place: &dyn Fn(u32, usize) -> Place,
) -> Result<Columns, Vec<Diagnostic>> {
    let (at, cells) = row;
    let mut problems = Vec::new();
    let mut all = sought(plan);
    for one in &mut all {
        let mut found = cells.iter().enumerate().filter(|(_, cell)| is_meant(cell, one.heading));
        one.column = found.next().map(|(column, _)| column);
        if let (Some(first), Some((second, _))) = (one.column, found.next()) {
            problems.push(
                Diagnostic::error(
                    Name::DefinedTwice,
                    format!("two columns are headed `{}`", one.heading),
                )
                .at(place(at, second))
                .label(place(at, first), "the first of them")
                .remedy("give each a heading of its own"),
            );
        }
        if one.column.is_none() {
            problems.push(missing(one.heading, cells, place(at, 0)));
        }
    }
    // a row of units holds no number in any of the columns that are meant
    let units_below = below.is_some_and(|below| {
        let mut meant = all.iter().filter_map(|it| below.get(it.column?)).peekable();
        meant.peek().is_some() && meant.all(|cell| !looks_like_number(cell)) && {
            below.iter().any(|cell| !cell.trim().is_empty())
        }
    });
    let stated = |column: usize| -> Result<Option<String>, Diagnostic> {
        let heading = cells.get(column).and_then(|cell| label(cell).unit);
        let unit = below.filter(|_| units_below).and_then(|below| below.get(column));
        let unit = unit.map(|cell| bare_unit(cell)).filter(|unit| !unit.is_empty());
        match (heading, unit) {
            (Some(a), Some(b)) if a != b => Err(Diagnostic::error(
                Name::TwoStatements,
                format!("the heading says `{a}`, and the row of units below it `{b}`"),
            )
            .at(place(at, column))
            .label(place(at + 1, column), format!("`{b}` stands here"))
            .remedy("correct the one that is wrong")),
            (a, b) => Ok(a.or(b)),
        }
    };
    let mut line = |channel: &super::channel::Channel, at_list: usize| {
        let column = all.get(at_list).and_then(|it| it.column)?;
        let resolved = stated(column)
            .and_then(|stated| channel.resolve(stated.as_deref(), &place(at, column)));
        match resolved {
            Ok(line) => Some((column, line)),
            Err(problem) => {
                problems.push(problem);
                None
            }
        }
    };
    let (time, speed) = (line(&plan.time, 0), line(&plan.speed, 1));
    let mut next = 2;
    let mut edge = |edge: Option<&super::channel::Edge>| {
        let edge = edge.filter(|it| it.heading().is_some())?;
        let column = all.get(next).and_then(|it| it.column);
        next += 1;
        let column = column?;
        match stated(column).and_then(|stated| edge.check(stated.as_deref(), &place(at, column))) {
            Ok(()) => Some(column),
            Err(problem) => {
                problems.push(problem);
                None
            }
        }
    };
    let (stop, removed) = (edge(Some(&plan.stop)), edge(plan.removed.as_ref()));
    if let (Some((a, _)), Some((b, _))) = (&time, &speed)
        && a == b
    {
        problems.push(
            Diagnostic::error(Name::AskedTwice, "time and speed are one column")
                .at(place(at, *a))
                .remedy("name the column of each"),
        );
    }
    match (time, speed) {
        (Some(time), Some(speed)) if problems.is_empty() => {
            Ok(Columns { row: at, time, speed, stop, removed, count: cells.len(), units_below })
        }
        _ => Err(problems),
    }
}

fn missing(heading: &str, cells: &[String], place: Place) -> Diagnostic {
    let names: Vec<String> =
        cells.iter().map(|cell| label(cell).name).filter(|it| !it.is_empty()).collect();
    let remedy = did_you_mean(heading, names.iter().map(String::as_str)).unwrap_or_else(|| {
        format!(
            "the headings are {}",
            names.iter().map(|it| format!("`{it}`")).collect::<Vec<_>>().join(", ")
        )
    });
    Diagnostic::error(Name::UnknownRow, format!("no column is headed `{heading}`"))
        .at(place)
        .remedy(remedy)
}

/// `[ms]`, `(ms)` and `ms` are one unit.
fn bare_unit(cell: &str) -> String {
    let cell = cell.trim();
    let inner = [('[', ']'), ('(', ')')]
        .into_iter()
        .find_map(|(open, close)| cell.strip_prefix(open)?.strip_suffix(close));
    inner.unwrap_or(cell).trim().to_owned()
}

fn looks_like_number(cell: &str) -> bool {
    let begins =
        cell.trim().starts_with(|sign: char| sign.is_ascii_digit() || "+-.,".contains(sign));
    begins && cell.contains(|sign: char| sign.is_ascii_digit())
}

/// Why a field is not a number.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum NoNumber {
    Empty,
    /// A formula of a workbook without its result.
    Formula,
    Text,
    NotFinite,
    /// A comma where a point is read, or the other way round.
    OtherMark,
}

/// A short plain number in one pass, as nearly all are: its digits as a whole number and the power of ten are both exact
/// in a float, so that their quotient is the nearest one.
#[allow(clippy::cast_precision_loss, reason = "of at most fifteen digits")]
fn short(field: &[u8], mark: u8) -> Option<f64> {
    const TENS: [f64; 16] =
        [1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15];
    let (negative, signs) = match field {
        [b'-', signs @ ..] => (true, signs),
        signs => (false, signs),
    };
    let (mut whole, mut places) = (0_u64, None);
    for (at, sign) in signs.iter().enumerate() {
        if sign.is_ascii_digit() {
            whole = whole * 10 + u64::from(sign - b'0');
        } else if *sign == mark && places.is_none() {
            places = Some(signs.len() - 1 - at);
        } else {
            return None;
        }
        if at == TENS.len() {
            return None;
        }
    }
    let digits = signs.len() - usize::from(places.is_some());
    if digits == 0 || digits >= TENS.len() {
        return None;
    }
    let found = whole as f64 / TENS.get(places.unwrap_or(0))?;
    Some(if negative { -found } else { found })
}

/// A plain number: sign, digits, one decimal mark, exponent; nothing grouped.
pub(super) fn number(field: &[u8], decimal_comma: bool) -> Result<f64, NoNumber> {
    let (mark, other) = if decimal_comma { (b',', b'.') } else { (b'.', b',') };
    if let Some(number) = short(field, mark) {
        return Ok(number);
    }
    let field = field.trim_ascii();
    if field.is_empty() {
        return Err(NoNumber::Empty);
    }
    let plain = |sign: &u8| sign.is_ascii_digit() || b"+-eE".contains(sign) || *sign == mark;
    if !field.iter().all(plain) {
        let others = field.iter().filter(|sign| **sign == other).count();
        let rest = field.iter().all(|sign| plain(sign) || *sign == other);
        let word = field.to_ascii_lowercase();
        let word = word.strip_prefix(b"-").unwrap_or(&word).to_vec();
        let not_finite =
            [&b"nan"[..], b"inf", b"infinity", b"overflow", b"ovl"].contains(&word.as_slice());
        return Err(match (rest && others > 0, not_finite) {
            (true, _) => NoNumber::OtherMark,
            (_, true) => NoNumber::NotFinite,
            _ => NoNumber::Text,
        });
    }
    let text = if decimal_comma && field.contains(&b',') {
        String::from_utf8_lossy(field).replace(',', ".").parse()
    } else {
        std::str::from_utf8(field).unwrap_or_default().parse()
    };
    match text {
        Ok(number) if f64::is_finite(number) => Ok(number),
        Ok(_) => Err(NoNumber::NotFinite),
        Err(_) => Err(NoNumber::Text),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Against the standard library's parser, which rounds correctly.
    #[test]
    fn a_short_number_is_the_nearest_float() {
        let mut seed = 1_u64;
        for at in 0..200_000_u64 {
            seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(at | 1);
            let mut text = (seed >> (seed % 50)).to_string();
            if seed & 1 == 0 {
                text.insert(usize::try_from(seed >> 8).unwrap_or(0) % (text.len() + 1), '.');
            }
            if seed & 6 == 0 {
                text.insert(0, '-');
            }
            let known: Option<f64> = text.parse().ok();
            assert_eq!(number(text.as_bytes(), false).ok(), known, "{text}");
            let comma = text.replace('.', ",");
            assert_eq!(number(comma.as_bytes(), true).ok(), known, "{comma}");
        }
        for text in ["", ".", "-", "-.", "1.2.3", "--1", "1-", "+", "1e", "0x1"] {
            assert!(number(text.as_bytes(), false).is_err(), "{text}");
        }
        for text in [" 1.5 ", "+1.5", "1.5e0", "15e-1", "1.500000000000000000"] {
            assert_eq!(number(text.as_bytes(), false), Ok(1.5), "{text}");
        }
    }
}
