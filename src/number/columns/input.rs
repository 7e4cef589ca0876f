//! What inputs are given for many rows.

use crate::number::InputValue;
use crate::number::exact::shortest;
use crate::unit::{Literal, Unit};

/// What an input is given for all rows.
#[derive(Clone, Debug)]
pub enum ColumnInput<'a> {
    /// One number a row, in a unit; NaN where a row has none.
    Column {
        /// Numbers.
        values: &'a [f64],
        /// Their unit.
        unit: &'a Unit,
    },
    /// One word a row, by its place in the list of the input.
    Words(&'a [usize]),
    /// A series a row, all of one length, in a unit: the first values of all rows, then the second …
    Series {
        /// Numbers, a column for each place in the series.
        elements: Vec<&'a [f64]>,
        /// Their unit.
        unit: &'a Unit,
    },
    /// The same for every row.
    Same(InputValue),
    /// Nothing: the input's default.
    Default,
}

/// The inputs of one row as [`run_exact`](crate::number::run_exact) takes them.
///
/// # Errors
/// The place of an input that has no number in the row.
pub fn inputs_of_row(
    inputs: &[ColumnInput<'_>],
    row: usize,
) -> Result<Vec<Option<InputValue>>, usize> {
    inputs
        .iter()
        .enumerate()
        .map(|(at, input)| match input {
            ColumnInput::Default => Ok(None),
            input => input_of_row(input, row).map(Some).ok_or(at),
        })
        .collect()
}

/// One input of one row; none if it has no number there, or no value of its own.
pub(super) fn input_of_row(input: &ColumnInput<'_>, row: usize) -> Option<InputValue> {
    let literal = |value: Option<&f64>, unit: &Unit| {
        let (digits, ten) = shortest(*value?)?;
        Some(Literal { digits, ten, unit: unit.clone() })
    };
    Some(match input {
        ColumnInput::Default => return None,
        ColumnInput::Same(given) => given.clone(),
        ColumnInput::Words(places) => InputValue::Word(places.get(row).copied()?),
        ColumnInput::Column { values, unit } => InputValue::One(literal(values.get(row), unit)?),
        ColumnInput::Series { elements, unit } => {
            let values = elements.iter().map(|column| literal(column.get(row), unit));
            InputValue::Many(values.collect::<Option<_>>()?)
        }
    })
}
