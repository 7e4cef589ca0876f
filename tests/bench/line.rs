//! Input columns for the benchmarks: random within a span, the same in every run.

use std::collections::BTreeMap;

use standstill::number::{ColumnInput, InputValue};
use standstill::program::Program;
use standstill::unit::{Unit, parse_unit};
use standstill::{Inputs, Sheet};

/// A column of the benchmark: input, unit in which the numbers stand, span.
pub(crate) type Span = (&'static str, &'static str, f64, f64);

/// A sheet with columns for some of its inputs.
pub(crate) struct Line {
    pub(crate) sheet: Sheet,
    columns: BTreeMap<&'static str, (Unit, Vec<f64>)>,
    shared: BTreeMap<&'static str, f64>,
    inputs: Inputs,
}

impl Line {
    /// `shared` are inputs that are the same in every row, as written and in SI.
    pub(crate) fn new(
        name: &str,
        rows: usize,
        spans: &[Span],
        shared: &[(&'static str, &'static str, f64)],
    ) -> Self {
        let sheet = Sheet::library(name).expect("a sheet of the library");
        let mut state = 0x2545_f491_4f6c_dd1d_u64;
        let mut random = || {
            state ^= state << 13;
            state ^= state >> 7;
            state ^= state << 17;
            (state >> 11) as f64 / (1_u64 << 53) as f64
        };
        let columns = spans
            .iter()
            .map(|(name, unit, low, high)| {
                // four digits, as somebody would type them
                let digits = 10f64.powf(3.0 - high.log10().ceil());
                let one = |part: f64| ((low + part * (high - low)) * digits).round() / digits;
                let unit =
                    if unit.is_empty() { Unit::one() } else { parse_unit(unit).expect("a unit") };
                (*name, (unit, (0..rows).map(|_| one(random())).collect()))
            })
            .collect();
        let mut inputs = sheet.inputs();
        inputs.fill_with_examples();
        for (name, written, _) in shared {
            inputs.write(name, written).expect("a value that fits");
        }
        let shared = shared.iter().map(|(name, _, si)| (*name, *si)).collect();
        Self { sheet, columns, shared, inputs }
    }

    pub(crate) fn columns<const N: usize>(&self, names: [&str; N]) -> [&[f64]; N] {
        names.map(|name| self.columns[name].1.as_slice())
    }

    pub(crate) fn shared(&self, name: &str) -> f64 {
        self.shared[name]
    }

    pub(crate) fn rows(&self) -> usize {
        self.columns.values().map(|(_, values)| values.len()).min().unwrap_or(0)
    }

    pub(crate) fn program(&self) -> &Program {
        self.sheet.program()
    }

    /// The inputs as a run by columns takes them.
    pub(crate) fn given(&self) -> Vec<ColumnInput<'_>> {
        let inputs = self.program().inputs.iter();
        inputs
            .map(|input| match self.columns.get(input.name.as_str()) {
                Some((unit, values)) => ColumnInput::Column { values, unit },
                None => match self.given_of(&input.name) {
                    Some(given) => ColumnInput::Same(given),
                    None => ColumnInput::Default,
                },
            })
            .collect()
    }

    /// The inputs of one row, as a calculation of its own takes them.
    pub(crate) fn inputs_of(&self, row: &[Option<InputValue>]) -> Inputs {
        let mut inputs = self.inputs.clone();
        for (input, given) in self.program().inputs.iter().zip(row) {
            if let (true, Some(given)) = (self.columns.contains_key(input.name.as_str()), given) {
                inputs.put(&input.name, given.clone(), None).unwrap();
            }
        }
        inputs
    }

    fn given_of(&self, name: &str) -> Option<InputValue> {
        let input = self.program().inputs.iter().find(|input| input.name == name)?;
        self.inputs.value(input).filter(|_| self.inputs.is_given(input))
    }
}
