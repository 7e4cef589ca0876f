//! What sets a variant apart from the others of its line, as a slip of the hand does: a number far from those of its
//! column, a name that stands twice.

use std::collections::BTreeMap;

use super::ProductLine;
use crate::calculation::outlier::{Ends, out_of_order};
use crate::calculation::scale::times;
use crate::diagnostic::{Diagnostic, Name};
use crate::program::Input;
use crate::spreadsheet::{Book, Cell, Position, Tab};

/// Variants whose names are compared.
const NAMES: usize = 10_000;

/// Headings above numbers that are names.
#[rustfmt::skip]
const HEADS_OF_NAMES: &[&str] = &[
    "name", "no", "nr", "number", "#", "id", "item", "pos", "position", "drive", "variant", "machine",
    "axis", "motor", "roller", "station", "serial", "serial number",
];

/// Of how many variants at most one bears a number again, where numbers are their names.
const MANY_NAMES: usize = 10;

/// Variants whose numbers are compared across columns.
const COMPARED: usize = 500;

/// The variants of a line looked at so far.
#[derive(Clone, Debug, Default)]
pub(super) struct Apart {
    /// The numbers of each column that are not zero, by their size, with their rows.
    columns: BTreeMap<u32, Ends<u32>>,
    /// The sizes in each row, in the order of [`ProductLine::sized`]; none once there are too many.
    rows: Vec<(u32, Vec<f64>)>,
    /// The row of each name.
    names: BTreeMap<String, u32>,
    twice: Option<(u32, u32, String)>,
    /// How many names stood before.
    repeats: usize,
    variants: usize,
}

impl Apart {
    pub(super) fn join(&mut self, other: Self) {
        for (column, more) in other.columns {
            self.columns.entry(column).or_default().join(more);
        }
        self.variants += other.variants;
        self.rows.extend(other.rows);
        if self.variants > COMPARED {
            self.rows.clear();
        }
        self.twice = self.twice.take().or(other.twice);
        self.repeats += other.repeats;
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
            Some(first) => {
                self.repeats += 1;
                self.twice.get_or_insert((*first, row, name));
            }
            None => drop(self.names.insert(name, row)),
        }
    }

    /// What is asked of them.
    pub(super) fn cautions(&self, line: &ProductLine, book: &Book) -> Vec<Diagnostic> {
        let place = |row: u32, column: u32| book.place(&line.tab, Position { row, column });
        let far = self.far(line, book);
        // numbers that repeat often are no names, but where their heading says so
        let headed = line.numbered.as_ref().is_some_and(|(_, heading)| {
            let word = heading.trim().trim_end_matches('.').to_lowercase();
            HEADS_OF_NAMES.contains(&word.as_str())
        });
        let often = !headed && self.repeats * MANY_NAMES > self.variants;
        let is_name = |name: &str| !often || name.parse::<f64>().is_err();
        let twice = self.twice.iter().filter(|(.., name)| is_name(name));
        let twice = twice.map(|(first, again, name)| {
            let words =
                format!("rows {} and {} bear the same name, \"{name}\"", first + 1, again + 1);
            Diagnostic::caution(Name::TwoStatements, words)
                .at(place(*again, 0))
                .label(place(*first, 0), "the first of them")
                .remedy(
                    "if they are two variants, name them apart; if not, take one of the rows out",
                )
        });
        far.into_iter().chain(twice).collect()
    }

    /// Numbers far from the others of their columns, or out of the order that all other rows keep: of a row one.
    fn far(&self, line: &ProductLine, book: &Book) -> Vec<Diagnostic> {
        let mut found: BTreeMap<(u32, u32), Diagnostic> = BTreeMap::new();
        let asked = |row: u32, column: u32, words: String| {
            let here = Position { row, column };
            let remedy = format!(
                "make sure of {}: its unit is that of the heading, its decimal mark where it belongs",
                here.name()
            );
            let caution = Diagnostic::caution(Name::TwoStatements, words);
            caution.at(book.place(&line.tab, here)).remedy(remedy)
        };
        let sized = line.sized();
        for (column, input) in &sized {
            let is_inertia = input.kind.is_some_and(|kind| kind.name == "inertia");
            let found_far = self.columns.get(column).and_then(|ends| {
                let four_times = || is_inertia.then(|| ends.four_times()).flatten();
                ends.far(input.kind).or_else(four_times).or_else(|| ends.away())
            });
            let Some(far) = found_far else { continue };
            // a variant that stands apart in other columns too is a large one
            let mut others = self.columns.iter().filter(|(other, _)| *other != column);
            if !far.very && others.any(|(_, ends)| ends.apart(far.of).is_some()) {
                continue;
            }
            let words = format!(
                "`{}` of row {} is {}, {} the next in its column, {}",
                input.name,
                far.of + 1,
                far.size,
                times(far.size / far.next),
                far.next
            );
            found.insert((far.of, *column), asked(far.of, *column, words));
        }
        for (row, column, words) in self.swapped(&sized) {
            found.insert((row, column), asked(row, column, words));
        }
        let mut votes: BTreeMap<(u32, u32), (usize, String)> = BTreeMap::new();
        for (own, (column, _)) in sized.iter().enumerate() {
            // by the rows as they stand, then by every other column
            let keys =
                std::iter::once(None).chain((0..sized.len()).filter(|it| *it != own).map(Some));
            for key in keys {
                let columns =
                    key.and_then(|key| sized.get(key)).map(|it| it.0).into_iter().chain([*column]);
                let columns: Vec<u32> = columns.collect();
                // of a number that is asked already the order is not
                let counts = |row: u32| !columns.iter().any(|of| found.contains_key(&(row, *of)));
                let Some((row, words)) = self.leaves_order(own, key, &sized, &counts) else {
                    continue;
                };
                votes.entry((row, *column)).or_insert((0, words)).0 += 1;
            }
        }
        for ((row, column), (count, words)) in &votes {
            let known = found.keys().any(|(known, _)| known == row);
            let more = votes
                .iter()
                .any(|((other, of), (votes, _))| other == row && of != column && votes > count);
            if !known && !more {
                found.insert((*row, *column), asked(*row, *column, words.clone()));
            }
        }
        found.into_values().collect()
    }

    /// Rows of which two numbers have changed places: each lies among the others of the other column, far from its own.
    fn swapped(&self, sized: &[(u32, &Input)]) -> Vec<(u32, u32, String)> {
        let pairs = sized.iter().enumerate();
        let pairs = pairs.flat_map(|(at, one)| sized.iter().skip(at + 1).map(move |it| (one, it)));
        let found = pairs.flat_map(|((column, input), (next, other))| {
            let ends = self.columns.get(column).zip(self.columns.get(next));
            let rows = ends.into_iter().flat_map(|(own, other)| {
                own.outermost().filter_map(move |row| {
                    let (size, second) = own.apart(row).zip(other.apart(row))?;
                    let among = own.reaches(second, row) && other.reaches(size, row);
                    among.then_some((row, size, second))
                })
            });
            let words = |(row, size, second): (u32, f64, f64)| {
                let words = format!(
                    "`{}` of row {} is {size} and `{}` {second}: each lies among the numbers of the other column",
                    input.name,
                    row + 1,
                    other.name
                );
                (row, *column, words)
            };
            rows.map(words).collect::<Vec<_>>()
        });
        found.collect()
    }

    /// The row whose number leaves the order of a column by another, with the words about it.
    fn leaves_order(
        &self,
        own: usize,
        key: Option<usize>,
        sized: &[(u32, &Input)],
        counts: &dyn Fn(u32) -> bool,
    ) -> Option<(u32, String)> {
        let Input { name, kind, .. } = sized.get(own)?.1;
        let rows: Vec<&(u32, Vec<f64>)> =
            self.rows.iter().filter(|(row, _)| counts(*row)).collect();
        let pairs = rows.iter().map(|(row, sizes)| {
            let of = key.map_or(Some(f64::from(*row)), |key| sizes.get(key).copied());
            (of.unwrap_or(f64::NAN), sizes.get(own).copied().unwrap_or(f64::NAN))
        });
        let pairs: Vec<(f64, f64)> = pairs.collect();
        if pairs.iter().any(|(key, value)| key.is_nan() || value.is_nan()) {
            return None;
        }
        let found = out_of_order(&pairs, *kind)?;
        let (row, value) = (rows.get(found.at)?.0, pairs.get(found.at)?.1);
        let by =
            key.and_then(|key| sized.get(key)).map(|(_, input)| format!("with `{}`", input.name));
        let between = match found.between {
            (Some(low), Some(high)) => format!("between {low} and {high}"),
            (Some(low), None) => format!("above {low}"),
            (None, high) => format!("below {}", high?),
        };
        let words = format!(
            "`{name}` of row {} is {value}; in all other rows it {} {}, by which it would lie {between}",
            row + 1,
            if found.rises { "rises" } else { "falls" },
            by.unwrap_or_else(|| "from row to row".to_owned())
        );
        Some((row, words))
    }
}

impl ProductLine {
    /// What sets variants apart from the others of the whole line, for doors that read it without working it out.
    pub(crate) fn set_apart(&self, book: &Book) -> Vec<Diagnostic> {
        let apart = self.tab(book).map(|tab| self.apart(tab, self.variants.iter().copied()));
        apart.map_or_else(Vec::new, |apart| apart.cautions(self, book))
    }

    /// The columns whose numbers have a size, with their inputs: a temperature on the scale has none.
    fn sized(&self) -> Vec<(u32, &Input)> {
        let inputs = self.inputs.iter().filter(|columns| !columns.unit.point);
        let inputs = inputs.filter_map(|it| Some((it, self.program.inputs.get(it.input)?)));
        inputs.flat_map(|(it, input)| it.columns.iter().map(move |at| (*at, input))).collect()
    }

    /// What of some variants, by their rows, is compared with the others.
    pub(super) fn apart(&self, tab: &Tab, variants: impl Iterator<Item = u32>) -> Apart {
        let mut found = Apart::default();
        let sized = self.sized();
        let (all, compared) = (self.variants.len(), self.variants.len() <= COMPARED);
        for row in variants {
            found.variants += 1;
            let mut sizes = Vec::new();
            for (column, _) in &sized {
                let size = match tab.cell(Position { row, column: *column }) {
                    Cell::Number(number) if *number != 0.0 => number.abs(),
                    _ => f64::NAN,
                };
                if !size.is_nan() {
                    found.columns.entry(*column).or_default().take(size, row);
                }
                if compared {
                    sizes.push(size);
                }
            }
            if compared {
                found.rows.push((row, sizes));
            }
            let name = self.name_of(tab, row).map(str::to_owned);
            let name = name.or_else(|| self.number_of(tab, row));
            if let Some(name) = name.filter(|_| all <= NAMES) {
                found.name(name, row);
            }
        }
        found
    }
}
