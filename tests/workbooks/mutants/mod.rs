//! Well-formed workbooks with a mistake made by rule. The oracle knows what was meant: the outcome is the right
//! figure or an error at its place, never another figure in silence.
//!
//! A short run with fixed seeds belongs to the tests; `STANDSTILL_MUTANTS=100000` makes a long one.

mod bind;
mod block;
mod depend;
mod document;
pub(super) mod grid;
mod line;
mod linked;
mod said_twice;
mod seen;
mod slips;

use std::cell::RefCell;
use std::collections::BTreeMap;

use standstill::calculation::Inputs;
use standstill::diagnostic::{Diagnostic, Place};
use standstill::{Results, Sheet};

/// Numbers that depend on nothing but their seed (splitmix64, public domain; constants from memory).
struct Rng(u64);

impl Rng {
    fn of(seed: u64) -> Self {
        let mut rng = Self(seed.wrapping_mul(0x2545_F491_4F6C_DD1D) ^ 0x9E37_79B9_7F4A_7C15);
        rng.next();
        rng
    }

    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }

    fn below(&mut self, end: usize) -> usize {
        usize::try_from(self.next() % (end.max(1) as u64)).unwrap()
    }

    fn pick<'a, T>(&mut self, of: &'a [T]) -> &'a T {
        &of[self.below(of.len())]
    }

    fn coin(&mut self) -> bool {
        self.next() & 1 == 0
    }
}

/// What became of a workbook with a mistake.
enum Outcome {
    /// The figures that were meant.
    Right,
    /// An error with a place.
    Refused,
    /// Another figure, or none, in silence; or an error without a place.
    Wrong(String),
}

/// Makes many mistakes and lists those that were passed over.
#[expect(clippy::print_stderr, reason = "a long run shows what became of each rule")]
fn many(short: usize, one: impl Fn(&mut Rng) -> Option<(&'static str, String, Outcome)>) {
    let long = std::env::var("STANDSTILL_MUTANTS").ok().and_then(|count| count.parse().ok());
    let mut counts: BTreeMap<&'static str, (usize, usize, usize)> = BTreeMap::new();
    let mut wrong = Vec::new();
    for seed in 0..long.unwrap_or(short) {
        let Some((rule, what, outcome)) = one(&mut Rng::of(seed as u64)) else { continue };
        let count = counts.entry(rule).or_default();
        match outcome {
            Outcome::Right => count.0 += 1,
            Outcome::Refused => count.1 += 1,
            Outcome::Wrong(words) => {
                count.2 += 1;
                if count.2 <= 4 {
                    wrong.push(format!("seed {seed}, {rule}: {what}\n    {words}"));
                }
            }
        }
    }
    if long.is_some() || !wrong.is_empty() {
        for (rule, (right, refused, wrong)) in &counts {
            eprintln!("{rule:<34} right {right:>6}  refused {refused:>6}  wrong {wrong:>6}");
        }
    }
    assert!(wrong.is_empty(), "passed over:\n{}", wrong.join("\n"));
    assert!(counts.values().any(|count| count.0 > 0), "{counts:?}");
    assert!(counts.values().map(|count| count.1).sum::<usize>() > short / 5, "{counts:?}");
}

/// A problem that says where it is.
fn refused(problems: &[Diagnostic]) -> Outcome {
    let mut errors = problems.iter().filter(|problem| problem.is_error());
    match errors.find(|problem| problem.place.is_none() || problem.name.word() == "ours") {
        Some(problem) => Outcome::Wrong(format!(
            "an error without a place: {}",
            standstill::diagnostic::render_line(problem)
        )),
        None if problems.is_empty() => Outcome::Wrong("refused without a problem".to_owned()),
        None => Outcome::Refused,
    }
}

/// The results of a sheet as texts, by name, with its verdict.
fn figures(results: &Results) -> BTreeMap<String, String> {
    let program = results.program();
    let mut all: BTreeMap<String, String> = program
        .outputs
        .iter()
        .map(|output| (output.name.clone(), results.output_json(output).to_string()))
        .collect();
    all.insert("checks".to_owned(), results.verdict_text());
    all
}

/// A sheet and the number of its example.
type Key = (String, usize);

thread_local! {
    /// Examples that have been calculated.
    static EXAMPLES: RefCell<BTreeMap<Key, Option<(Inputs, Results)>>> = RefCell::default();
}

/// A sheet of the library with its example values, and with a value for one of the inputs that have a default, so that
/// taking the default in its place is seen.
fn example(rng: &mut Rng, sheet: &str) -> Option<(Inputs, Results)> {
    let which = rng.below(5);
    let key = (sheet.to_owned(), which);
    EXAMPLES.with_borrow_mut(|known| {
        known.entry(key).or_insert_with(|| calculated(&mut Rng::of(which as u64), sheet)).clone()
    })
}

/// The same values as a person would have typed them.
fn typed(inputs: &Inputs) -> Inputs {
    let mut typed = Inputs::new(inputs.program());
    for input in &inputs.program().inputs {
        if let Some(value) = inputs.value(input) {
            typed
                .put(&input.name, value, Some(Place::Argument { text: input.name.clone() }))
                .unwrap();
        }
    }
    typed
}

fn calculated(rng: &mut Rng, sheet: &str) -> Option<(Inputs, Results)> {
    let sheet = Sheet::library(sheet).ok()?;
    let mut inputs = sheet.inputs();
    inputs.fill_with_examples();
    let results = sheet.run(&inputs).ok()?;
    let defaults: Vec<_> = sheet
        .program()
        .inputs
        .iter()
        .filter(|input| input.default.is_some() && input.kind.is_some() && !inputs.is_given(input))
        .collect();
    if !defaults.is_empty() {
        let input = rng.pick(&defaults);
        let mut more = inputs.clone();
        // 0.1 % of what is usually 100 % is asked
        let usual = if input.unit.symbol == "%" { ["5", "8", "6"] } else { ["1", "0.1", "10"] };
        let text = format!("{} {}", rng.pick(&usual), input.unit.symbol);
        if more.write(&input.name, text.trim()).is_ok()
            && let Ok(others) = sheet.run(&typed(&more))
            && figures(&others) != figures(&results)
        {
            return Some((more, others));
        }
    }
    Some((inputs, results))
}
