//! What sets a variant apart from the others of its line, as a slip of the hand does: a number far from those of its
//! column, a name that stands twice.

use std::collections::BTreeMap;

use super::{ProductLine, Variant};
use crate::diagnostic::{Diagnostic, Name};
use crate::spreadsheet::{Book, Cell, Position, Tab};

/// How many times the next of its column a number is when it is asked: a slip of the unit is one of 60 and more, one of
/// the mark of 100 and more; common practice, no source.
const FAR: f64 = 50.0;

/// Variants whose names are compared.
const NAMES: usize = 10_000;

/// The variants of a line looked at so far.
#[derive(Clone, Debug, Default)]
pub(super) struct Apart {
    columns: BTreeMap<u32, Column>,
    /// The row of each name.
    names: BTreeMap<String, u32>,
    twice: Option<(u32, u32, String)>,
    variants: usize,
}

/// The numbers of a column that are not zero, by their size.
#[derive(Clone, Debug, Default)]
struct Column {
    input: usize,
    count: usize,
    /// The two smallest and the two largest with their rows.
    least: Vec<(f64, u32)>,
    most: Vec<(f64, u32)>,
}

impl Column {
    fn take(&mut self, size: f64, row: u32) {
        self.count += 1;
        // as nearly all are
        if let ([_, (low, _)], [_, (high, _)]) = (self.least.as_slice(), self.most.as_slice())
            && size >= *low
            && size <= *high
        {
            return;
        }
        self.least.push((size, row));
        self.most.push((size, row));
        self.settle();
    }

    fn settle(&mut self) {
        self.least.sort_by(|a, b| a.0.total_cmp(&b.0));
        self.most.sort_by(|a, b| b.0.total_cmp(&a.0));
        self.least.truncate(2);
        self.most.truncate(2);
    }

    fn join(&mut self, other: Self) {
        self.input = other.input;
        self.count += other.count;
        self.least.extend(other.least);
        self.most.extend(other.most);
        self.settle();
    }

    /// The one number that is far from all others, how many times it is the next, and that.
    fn far(&self) -> Option<(u32, f64, f64, f64)> {
        let ([(least, low), (above, _)], [(most, high), (below, _)]) =
            (self.least.as_slice(), self.most.as_slice())
        else {
            return None;
        };
        let near = |small: f64, large: f64| large < FAR * small;
        match self.count {
            ..3 => None,
            _ if near(*least, *below) && !near(*below, *most) => {
                Some((*high, *most, most / below, *below))
            }
            _ if near(*above, *most) && !near(*least, *above) => {
                Some((*low, *least, least / above, *above))
            }
            _ => None,
        }
    }
}

impl Apart {
    pub(super) fn join(&mut self, other: Self) {
        for (column, more) in other.columns {
            self.columns.entry(column).or_default().join(more);
        }
        self.variants += other.variants;
        self.twice = self.twice.take().or(other.twice);
        if self.variants > NAMES {
            self.names.clear();
            return;
        }
        for (name, row) in other.names {
            self.name(name, row);
        }
    }

    fn name(&mut self, name: String, row: u32) {
        match self.names.get(&name) {
            Some(first) if self.twice.is_none() => self.twice = Some((*first, row, name)),
            Some(_) => {}
            None => drop(self.names.insert(name, row)),
        }
    }

    /// What is asked of them.
    pub(super) fn cautions(&self, line: &ProductLine, book: &Book) -> Vec<Diagnostic> {
        let place = |row: u32, column: u32| book.place(&line.tab, Position { row, column });
        let far = self.columns.iter().filter_map(|(column, known)| {
            let (row, size, times, next) = known.far()?;
            let name = &line.program.inputs.get(known.input)?.name;
            let cell = Position { row, column: *column }.name();
            let words = match times < 1.0 {
                true => format!("`{name}` of row {} is {size}, a part of 1/{:.0} of the next in its column, {next}", row + 1, 1.0 / times),
                false => format!("`{name}` of row {} is {size}, {times:.0} times the next in its column, {next}", row + 1),
            };
            let remedy = format!("make sure of {cell}: its unit is that of the heading, its decimal mark where it belongs");
            Some(Diagnostic::caution(Name::TwoStatements, words).at(place(row, *column)).remedy(remedy))
        });
        let twice = self.twice.iter().map(|(first, again, name)| {
            let words =
                format!("rows {} and {} bear the same name, \"{name}\"", first + 1, again + 1);
            Diagnostic::caution(Name::TwoStatements, words)
                .at(place(*again, 0))
                .label(place(*first, 0), "the first of them")
                .remedy(
                    "if they are two variants, name them apart; if not, take one of the rows out",
                )
        });
        far.chain(twice).collect()
    }
}

impl ProductLine {
    /// What of some variants is compared with the others.
    pub(super) fn apart(&self, tab: &Tab, variants: &[Variant]) -> Apart {
        let mut found = Apart { variants: variants.len(), ..Apart::default() };
        for variant in variants {
            for columns in &self.inputs {
                for column in &columns.columns {
                    let cell = Position { row: variant.row, column: *column };
                    if let Cell::Number(number) = tab.cell(cell)
                        && *number != 0.0
                    {
                        let known = found.columns.entry(*column).or_default();
                        known.input = columns.input;
                        known.take(number.abs(), variant.row);
                    }
                }
            }
            if let Some(name) = self.name_of(tab, variant.row).filter(|_| variants.len() <= NAMES) {
                found.name(name.trim().to_owned(), variant.row);
            }
        }
        found
    }
}
