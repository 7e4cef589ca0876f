//! What stands in a series and is none of its values: their mean among them, or the same values once more.

use super::{Binder, CellAt};
use crate::diagnostic::{Diagnostic, Name};
use crate::program::Input;
use crate::spreadsheet::{Mention, mentions, shifted};
use crate::unit::Literal;

pub(in crate::workbook) use crate::spreadsheet::TOTAL_WORDS as TOTALS;

/// Words that are totals before formulas, and may name a variant before numbers.
pub(in crate::workbook) const EXTREMES: &[&str] = &[
    "max", "maximum", "min", "minimum", "median", "std", "stdev", "deviation",
    "standard deviation", "range", "spread",
];

/// Least number of values that a sheet asks for of repeated measurements, each of which counts on its own; the parts of
/// a cycle may come again.
const MEASURED: usize = 5;

/// Measured values in a row that do not come again by chance.
const RUN: usize = 5;

/// Words of a label before one value.
const FEW: usize = 4;

impl Binder<'_> {
    /// A cell of a series that is calculated from its others, or that its label calls so; values that come twice.
    pub(super) fn not_of_series(
        &self,
        input: &Input,
        cells: &[CellAt],
        values: &[Literal],
    ) -> Option<Diagnostic> {
        let measured = input.at_least.is_some_and(|least| least >= MEASURED);
        let asked = |cell: &CellAt, words: String| {
            let here = cell.position.name();
            Diagnostic::error(Name::TwoStatements, words).at(self.place(cell)).remedy(format!(
                "let the cells of `{}` be its values alone, without {here}; if it is one of them, write its number and a name of its own",
                input.name
            ))
        };
        let calculated = cells.iter().find_map(|cell| {
            let count = self.read_by_formula(cell, cells);
            (count > usize::from(!measured)).then(|| {
                let words = format!(
                    "the series `{}` counts {}, whose formula is calculated from {count} of its other values",
                    input.name,
                    cell.position.name()
                );
                asked(cell, words)
            })
        });
        let called = || {
            let labels: Vec<_> = cells.iter().map(|cell| self.total_before(cell, cells)).collect();
            // where every value is called so, all are: `max speed 1`, `max speed 2`
            let some = labels.iter().any(Option::is_none);
            let (cell, text) = cells.iter().zip(labels).find_map(|(cell, it)| Some((cell, it?)))?;
            some.then(|| {
                let words = format!(
                    "the series `{}` counts {}, and \"{text}\" stands beside it",
                    input.name,
                    cell.position.name()
                );
                asked(cell, words)
            })
        };
        let twice = || {
            let (first, again, run) = repeated(values).filter(|_| measured)?;
            let number = |at: usize| format!("{}", at + 1);
            let words = format!(
                "the series `{}` holds the same {run} values twice: from its value {} and from its value {}",
                input.name,
                number(first),
                number(again)
            );
            let cell = cells.get(again).or(cells.first())?;
            Some(Diagnostic::error(Name::TwoStatements, words).at(self.place(cell)).remedy(
                "take out what was pasted twice; values that are measured anew differ somewhere",
            ))
        };
        calculated.or_else(called).or_else(twice)
    }

    /// How many other cells of a series the formula of one of them reads.
    fn read_by_formula(&self, cell: &CellAt, cells: &[CellAt]) -> usize {
        let Some(tab) = self.book.tab(&cell.tab) else { return 0 };
        let Some((text, (rows, columns))) = tab.formulas.text(cell.position) else { return 0 };
        let areas: Vec<_> = mentions(text)
            .into_iter()
            .filter_map(|mention| match mention {
                Mention::Cells { tab, first, last } => {
                    Some((tab, shifted(first, last, rows, columns)))
                }
                _ => None,
            })
            .collect();
        let read = |other: &&CellAt| {
            *other != cell
                && areas.iter().any(|(tab, area)| {
                    let tab = tab.as_deref().unwrap_or(&cell.tab);
                    tab.eq_ignore_ascii_case(&other.tab) && area.contains(other.position)
                })
        };
        cells.iter().filter(read).count()
    }

    /// The text before a value of a series, or above it where the series lies in a row, that calls it a mean, a total
    /// or an extreme.
    fn total_before(&self, cell: &CellAt, cells: &[CellAt]) -> Option<String> {
        let down = cells.iter().any(|other| other.position.row != cell.position.row);
        let before = if down { self.beside(cell, 0, -1) } else { self.beside(cell, -1, 0) };
        let text = self.text_of(&before?)?;
        let lower = text.to_lowercase();
        let words = lower.split(|it: char| it.is_whitespace() || ".:=()[],;".contains(it));
        let words: Vec<&str> = words.filter(|word| !word.is_empty()).collect();
        let any = words.iter().any(|word| TOTALS.contains(word) || EXTREMES.contains(word));
        (any && words.len() <= FEW).then_some(text)
    }
}

/// The longest run of values that comes again behind itself, where it is no chance: where it begins, where it comes
/// again, and how many values it has.
fn repeated(values: &[Literal]) -> Option<(usize, usize, usize)> {
    let same = |one: &Literal, other: &Literal| one.digits == other.digits && one.ten == other.ten;
    let mut found: Option<(usize, usize, usize)> = None;
    for apart in RUN..=values.len() / 2 {
        let mut run = 0;
        for at in 0..values.len() - apart {
            let pair = values.get(at).zip(values.get(at + apart));
            run = if pair.is_some_and(|(one, other)| same(one, other)) { run + 1 } else { 0 };
            let first = at + 1 - run;
            let alike = values.get(first..=at).is_some_and(|run| {
                run.windows(2).all(|two| matches!(two, [one, other] if same(one, other)))
            });
            if run >= RUN && run <= apart && !alike && found.is_none_or(|(.., most)| run > most) {
                found = Some((first, first + apart, run));
            }
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::unit::Unit;

    #[test]
    fn a_run_that_comes_again_is_found_and_what_differs_is_not() {
        let values = |numbers: &[i64]| -> Vec<Literal> {
            numbers.iter().map(|it| Literal::new((*it).into(), 0, Unit::one())).collect()
        };
        let of = |numbers: &[i64]| repeated(&values(numbers));
        assert_eq!(of(&[312, 318, 305, 309, 321, 312, 318, 305, 309, 321]), Some((0, 5, 5)));
        assert_eq!(of(&[1, 312, 318, 305, 309, 321, 7, 312, 318, 305, 309, 321]), Some((1, 7, 5)));
        assert_eq!(of(&[312, 318, 305, 309, 312, 318, 305, 309]), None);
        assert_eq!(of(&[5, 5, 5, 5, 5, 5, 5, 5, 5, 5]), None);
        assert_eq!(of(&[312, 318, 305, 309, 321, 315, 311, 307, 319, 313]), None);
        assert_eq!(of(&[]), None);
    }
}
