//! Random sampling: what results come to when inputs are drawn from their tolerances.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};

use super::{Inputs, Results, Shape};
use crate::diagnostic::{Diagnostic, Name, Problems};
use crate::elementary;
use crate::number::{
    ColumnInput, Exact, InputValue, OutputColumn, RowProblem, cores, run_columns, side_by_side,
};
use crate::program::{Program, Type};
use crate::unit::Unit;

/// Rows that a core works on at a time.
const CHUNK: usize = 4096;

/// Results over inputs drawn at random from their tolerances.
///
/// An even tolerance is drawn evenly between its ends; a normal one from the normal distribution around
/// the middle of its ends with half of the ± as standard deviation. A seed gives the same draws on every
/// machine, whatever the number of cores.
///
/// # Source
/// JCGM 101:2008, propagation of distributions by a Monte Carlo method, 5.9 and 7 (from memory).
///
/// # Example
/// ```
/// use standstill::{Sheet, calculation::DrawResults};
/// let sheet = Sheet::library("run-down")?;
/// let mut inputs = sheet.inputs();
/// for (name, text) in [("J", "2 kg·m²"), ("n_0", "1500 r/min ± 3 % normal"), ("T_0", "4 N·m")] {
///     inputs.write(name, text)?;
/// }
/// let drawn = DrawResults::compute(sheet.program(), &inputs, 20_000, 1, &|_| {})?;
/// // the time is proportional to the speed: 78.54 s with a standard deviation of 1.5 %
/// let t_stop = drawn.of("t_stop").unwrap();
/// assert!((t_stop.mean - 78.54).abs() < 0.05 && (t_stop.deviation - 1.178).abs() < 0.03);
/// # Ok::<(), standstill::Problems>(())
/// ```
#[derive(Clone, Debug)]
pub struct DrawResults {
    nominal: Results,
    /// How many sets of inputs were drawn.
    pub count: usize,
    /// How many of them have no results: they leave the range of an input, or are faulty.
    pub without: usize,
    /// Values that never exist in some of the draws: the author's words, and in how many.
    pub never: BTreeMap<String, usize>,
    /// For each check, how many of the draws with results it fails in.
    pub failing: Vec<usize>,
    samples: Vec<Sample>,
}

/// One result over all draws.
#[derive(Clone, Debug, PartialEq)]
pub struct Sample {
    /// Place in [`Program::outputs`].
    pub output: usize,
    /// Arithmetic mean, in coherent SI.
    pub mean: f64,
    /// Standard deviation of the sample, in coherent SI.
    pub deviation: f64,
    /// Every value, rising, in coherent SI.
    sorted: Vec<f64>,
}

impl Sample {
    /// In how many draws it has a value.
    #[must_use]
    pub fn count(&self) -> usize {
        self.sorted.len()
    }

    /// The value below which a share of the draws lies: 0.5 is the median.
    #[must_use]
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        clippy::cast_precision_loss,
        reason = "a place among a few million values"
    )]
    pub fn percentile(&self, share: f64) -> f64 {
        let last = self.sorted.len().saturating_sub(1);
        let at = (share.clamp(0.0, 1.0) * last as f64).round() as usize;
        self.sorted.get(at.min(last)).copied().unwrap_or(f64::NAN)
    }
}

impl DrawResults {
    /// Draws and calculates on all cores; `progress` is called with the number of draws done.
    ///
    /// # Errors
    /// Every problem of the calculation with nominal values; `too-few-values` for fewer than two draws.
    pub fn compute(
        program: &Arc<Program>,
        inputs: &Inputs,
        count: usize,
        seed: u64,
        progress: &(dyn Fn(usize) + Sync),
    ) -> Result<Self, Problems> {
        let nominal = Results::compute(program, inputs)?;
        let inputs = &nominal.inputs().clone();
        if count < 2 {
            return Err(Diagnostic::error(Name::TooFewValues, "a spread needs two draws or more")
                .remedy("draw 100000")
                .into());
        }
        let done = AtomicUsize::new(0);
        let parts = side_by_side(count.div_ceil(CHUNK), cores(), &|chunk| {
            let rows = CHUNK.min(count - chunk * CHUNK);
            let part = of_chunk(program, inputs, rows, seed, chunk);
            progress(done.fetch_add(rows, Ordering::Relaxed) + rows);
            part
        });
        let mut samples = Vec::new();
        for (output, declared) in program.outputs.iter().enumerate() {
            if !matches!(declared.type_, Type::Number { series: false, .. }) {
                continue;
            }
            let mut sorted: Vec<f64> = parts
                .iter()
                .flat_map(|part| part.outputs.get(output).into_iter().flatten().copied())
                .collect();
            let (mean, deviation) = moments(&sorted);
            sorted.sort_by(f64::total_cmp);
            samples.push(Sample { output, mean, deviation, sorted });
        }
        let failing = (0..program.checks.len())
            .map(|at| parts.iter().map(|part| part.failing.get(at).copied().unwrap_or(0)).sum())
            .collect();
        let without = parts.iter().map(|part| part.without).sum();
        let mut never: BTreeMap<String, usize> = BTreeMap::new();
        for (words, draws) in parts.into_iter().flat_map(|part| part.never) {
            *never.entry(words).or_default() += draws;
        }
        Ok(Self { nominal, count, without, never, failing, samples })
    }

    /// The calculation with nominal values.
    #[must_use]
    pub fn nominal(&self) -> &Results {
        &self.nominal
    }

    /// Each result that is one number, in the order of the sheet.
    #[must_use]
    pub fn samples(&self) -> &[Sample] {
        &self.samples
    }

    /// One result by name.
    #[must_use]
    pub fn of(&self, name: &str) -> Option<&Sample> {
        let outputs = &self.nominal.program().outputs;
        self.samples
            .iter()
            .find(|sample| outputs.get(sample.output).is_some_and(|output| output.name == name))
    }
}

/// What a chunk of draws came to.
struct Part {
    /// By output, only draws with results; empty for what is no number.
    outputs: Vec<Vec<f64>>,
    failing: Vec<usize>,
    without: usize,
    never: BTreeMap<String, usize>,
}

/// A column drawn for an input: single numbers, or a column for each element of a series.
enum Column {
    InputValue(Option<InputValue>),
    Numbers(Vec<Vec<f64>>, Unit),
}

fn of_chunk(program: &Program, inputs: &Inputs, rows: usize, seed: u64, chunk: usize) -> Part {
    let columns: Vec<Column> = program
        .inputs
        .iter()
        .enumerate()
        .map(|(at, input)| {
            let given = inputs.value(input);
            let (Some(spread), Type::Number { dimension, .. }) =
                (inputs.spread(input), &input.type_)
            else {
                return Column::InputValue(given);
            };
            let elements = spread.ends.iter().enumerate().map(|(element, (low, high))| {
                let stream = (u64::try_from(at).unwrap_or(0) << 40)
                    ^ (u64::try_from(element).unwrap_or(0) << 24);
                let mut draws = Stream::new(seed, stream ^ u64::try_from(chunk).unwrap_or(0));
                let si =
                    |literal| Exact::from_literal(literal).map_or(f64::NAN, |value| value.to_f64());
                let (low, high) = (si(low), si(high));
                (0..rows)
                    .map(|_| match spread.shape {
                        Shape::Even => low + (high - low) * draws.even(),
                        Shape::Normal => {
                            low / 2.0 + high / 2.0 + (high - low) / 4.0 * draws.normal()
                        }
                    })
                    .collect()
            });
            Column::Numbers(elements.collect(), Unit { dimension: *dimension, ..Unit::one() })
        })
        .collect();
    let given: Vec<ColumnInput<'_>> = program
        .inputs
        .iter()
        .zip(&columns)
        .map(|(input, column)| match (column, &input.type_) {
            (Column::InputValue(Some(given)), _) => ColumnInput::Same(given.clone()),
            (Column::InputValue(None), _) => ColumnInput::Default,
            (Column::Numbers(elements, unit), Type::Number { series: true, .. }) => {
                ColumnInput::Series { elements: elements.iter().map(Vec::as_slice).collect(), unit }
            }
            (Column::Numbers(elements, unit), _) => ColumnInput::Column {
                values: elements.first().map_or(&[][..], Vec::as_slice),
                unit,
            },
        })
        .collect();
    let run = run_columns(program, &given, rows);
    // a machine that never stands is a draw like others, whose time is no figure
    let mut never: BTreeMap<String, usize> = BTreeMap::new();
    let mut wrong: BTreeSet<usize> = BTreeSet::new();
    for (row, problem) in &run.problems {
        match problem {
            RowProblem::Fault(fault) if fault.name == Name::Never => {
                *never.entry(fault.words.clone()).or_default() += 1;
            }
            _ => {
                wrong.insert(*row);
            }
        }
    }
    let good = |row: &usize| !wrong.contains(row);
    let outputs = run
        .outputs
        .iter()
        .map(|column| match column {
            OutputColumn::Numbers(values) => values
                .iter()
                .enumerate()
                .filter(|(row, value)| good(row) && !value.is_nan())
                .map(|(_, value)| *value)
                .collect(),
            OutputColumn::Series(_) | OutputColumn::Truths(_) => Vec::new(),
        })
        .collect();
    let failing = run
        .checks
        .iter()
        .map(|rows| rows.iter().enumerate().filter(|(row, holds)| good(row) && !**holds).count())
        .collect();
    Part { outputs, failing, without: wrong.len(), never }
}

/// Mean and standard deviation of a sample, in two passes.
#[expect(clippy::cast_precision_loss, reason = "a count of draws")]
fn moments(values: &[f64]) -> (f64, f64) {
    let count = values.len() as f64;
    let mean = values.iter().sum::<f64>() / count;
    let squares: f64 = values.iter().map(|value| (value - mean) * (value - mean)).sum();
    (mean, (squares / (count - 1.0)).sqrt())
}

/// A stream of random numbers: SplitMix64 (Steele, Lea, Flood 2014, from memory).
struct Stream(u64);

impl Stream {
    fn new(seed: u64, stream: u64) -> Self {
        let mut first = Self(seed ^ 0x9e37_79b9_7f4a_7c15);
        let mixed = first.next() ^ stream;
        let mut second = Self(mixed);
        Self(second.next())
    }

    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// From 0 to below 1.
    #[expect(clippy::cast_precision_loss, reason = "53 bits fit")]
    fn even(&mut self) -> f64 {
        (self.next() >> 11) as f64 / 9_007_199_254_740_992.0
    }

    /// Mean 0, standard deviation 1 (Box and Muller 1958).
    fn normal(&mut self) -> f64 {
        let radius = (-2.0 * elementary::logarithm(1.0 - self.even())).sqrt();
        radius * elementary::cosine(std::f64::consts::TAU * self.even())
    }
}
