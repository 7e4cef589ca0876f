//! WorstCase cases against random draws: no draw from within the tolerances leaves what is proved, for any sheet.

use std::sync::atomic::{AtomicUsize, Ordering};

use standstill::Sheet;
use standstill::calculation::{DrawResults, Extreme, Inputs, Verdict, WorstCase, written};
use standstill::library::SHEETS;
use standstill::number::{Exact, InputValue, Slot};
use standstill::program::{Program, Type};
use standstill::unit::{Kind, Literal, Unit};

/// xorshift64*, Marsaglia 2003 and Vigna 2016: the same draws everywhere.
pub(super) struct Draws(pub(super) u64);

impl Draws {
    pub(super) fn next(&mut self) -> f64 {
        self.0 ^= self.0 >> 12;
        self.0 ^= self.0 << 25;
        self.0 ^= self.0 >> 27;
        (self.0.wrapping_mul(0x2545_F491_4F6C_DD1D) >> 11) as f64 / (1_u64 << 53) as f64
    }
}

/// Inputs of `axis-stop` that have tolerances here.
const SOME_OF_AXIS_STOP: [&str; 6] = ["J_load", "T_load", "T_0", "T_b", "t_resp", "t_b"];

/// The sheet's example, each number with a tolerance of a few percent that its range allows.
fn with_tolerances(sheet: &Sheet, draws: &mut Draws, largest: f64) -> Inputs {
    let mut inputs = sheet.inputs();
    inputs.fill_with_examples();
    for input in &sheet.program().inputs {
        let is_count = |kind: Option<&'static Kind>| kind.is_some_and(|kind| kind.name == "count");
        let Type::Number { point, .. } = input.type_ else { continue };
        // all of its forty at once are a search of many minutes: a worst case that is still to be cut at the
        // conditions that are open (`STANDSTILL_ALL_TOLERANCES=1` looks at it)
        let long = sheet.program().scopes[0].sheet == "axis-stop"
            && std::env::var_os("STANDSTILL_ALL_TOLERANCES").is_none();
        if is_count(input.kind) || long && !SOME_OF_AXIS_STOP.contains(&input.name.as_str()) {
            continue;
        }
        let percent = (draws.next() * largest * 100.0).ceil() / 100.0;
        let unit = &input.unit.symbol;
        let tolerance = match (point, unit.as_str()) {
            (true, _) => format!("± {percent} K"),
            (_, "%") => format!("± {} %", percent / 10.0),
            _ => format!("± {percent} %"),
        };
        let place = input.place.clone();
        if let Err(problem) = inputs.tolerate(&input.name, &tolerance, &place) {
            // a percentage of zero is refused: the value stays as it is
            assert!(problem.headline.ends_with("is nothing"), "{}", problem);
            continue;
        }
        // a range that the tolerance leaves by itself
        let ends = inputs.spread(input).unwrap().ends.clone();
        let fits = [false, true].into_iter().all(|upper| {
            let mut one = inputs.clone();
            let pick =
                |(low, high): &(Literal, Literal)| if upper { high.clone() } else { low.clone() };
            let value = match inputs.value(input) {
                Some(InputValue::Many(_)) => InputValue::Many(ends.iter().map(pick).collect()),
                _ => InputValue::One(pick(&ends[0])),
            };
            one.put(&input.name, value, None).unwrap();
            sheet.run(&one).is_ok()
        });
        if !fits {
            let value = inputs.value(input).unwrap();
            inputs.put(&input.name, value, Some(place)).unwrap();
        }
    }
    // ranges that depend on one another: fewer and fewer tolerances, until they are kept together
    for input in sheet.program().inputs.iter().rev() {
        if WorstCase::compute(sheet.program(), &inputs).is_ok() {
            break;
        }
        if let (Some(value), true) = (inputs.value(input), inputs.spread(input).is_some()) {
            inputs.put(&input.name, value, Some(input.place.clone())).unwrap();
        }
    }
    inputs
}

/// One set of values from within the tolerances: inside, or at an end.
fn drawn(program: &Program, inputs: &Inputs, draws: &mut Draws) -> Inputs {
    let mut one = inputs.clone();
    for input in &program.inputs {
        let (Some(spread), Some(given)) = (inputs.spread(input), inputs.value(input)) else {
            continue;
        };
        let mut pick = |value: &Literal, (low, high): &(Literal, Literal)| -> Literal {
            let (from, to) =
                (Exact::from_literal(low).unwrap(), Exact::from_literal(high).unwrap());
            let at = draws.next();
            if at < 0.1 {
                return low.clone();
            } else if at > 0.9 {
                return high.clone();
            }
            let share = Exact::from_f64((draws.next() * 1e9).floor() / 1e9).unwrap();
            let x = from.plus(&to.minus(&from).unwrap().times(&share).unwrap()).unwrap();
            let unit =
                Unit { dimension: value.unit.dimension, point: value.unit.point, ..Unit::one() };
            Literal::new(x.mantissa(), x.ten(), unit)
        };
        let place = input.place.clone();
        let value = match given {
            InputValue::One(value) => InputValue::One(pick(&value, &spread.ends[0])),
            InputValue::Many(values) => InputValue::Many(
                values.iter().zip(&spread.ends).map(|(value, ends)| pick(value, ends)).collect(),
            ),
            word => word,
        };
        one.put(&input.name, value, Some(place)).unwrap();
    }
    one
}

/// So many draws on exact decimals, then so many on columns.
fn never_leaves(name: &str, exact: usize, columns: usize, largest: f64, seed: u64) -> Vec<String> {
    let sheet = Sheet::library(name).unwrap();
    no_draw_leaves(&sheet, name, (exact, columns), largest, seed)
}

fn no_draw_leaves(
    sheet: &Sheet,
    name: &str,
    (exact, columns): (usize, usize),
    largest: f64,
    seed: u64,
) -> Vec<String> {
    let mut draws = Draws(seed);
    let inputs = with_tolerances(sheet, &mut draws, largest);
    let worst = match WorstCase::compute(sheet.program(), &inputs) {
        Ok(worst) => worst,
        Err(problems) => return vec![format!("{name}: {}", problems[0])],
    };
    let mut troubles = Vec::new();
    if columns > 0 {
        troubles.extend(columns_never_leave(sheet, name, &inputs, &worst, columns, seed));
    }
    for _ in 0..exact {
        let one = drawn(sheet.program(), &inputs, &mut draws);
        let results = match sheet.run(&one) {
            Ok(results) => results,
            Err(problems) => {
                let printed = worst.ranges().iter().any(|range| range.may.is_some())
                    || worst.checks().iter().any(|check| check.verdict == Verdict::NotProved);
                if !printed {
                    troubles.push(format!("{name}: a draw has no results: {}", problems[0]));
                }
                continue;
            }
        };
        for range in worst.ranges() {
            let output = &sheet.program().outputs[range.output];
            let value = match (results.slot(output), range.element) {
                (Some(Slot::Many(values)), Some(element)) => values[element],
                (Some(Slot::One(value)), _) => *value,
                // what never exists in a draw must be announced
                (None, _) if results.never(output).is_some() => {
                    if range.may.is_none() {
                        troubles.push(format!("{name}: a draw has no {}", output.name));
                    }
                    continue;
                }
                other => panic!("{name}: {} is {other:?}", output.name),
            };
            let below = match range.low.limit {
                Some(limit) => value.to_f64() < limit,
                None => value.stands_to(&range.low.reached).is_lt(),
            };
            let above = match range.high.limit {
                Some(limit) => value.to_f64() > limit,
                None => value.stands_to(&range.high.reached).is_gt(),
            };
            if below || above {
                let values: Vec<String> = sheet
                    .program()
                    .inputs
                    .iter()
                    .filter(|input| inputs.spread(input).is_some())
                    .filter_map(|input| match one.value(input)? {
                        InputValue::One(value) => {
                            Some(format!("{} = {}", input.name, written(&value)))
                        }
                        _ => None,
                    })
                    .collect();
                troubles.push(format!(
                    "{name}: {} = {value} leaves {:?} to {:?} with {}",
                    output.name,
                    range.low,
                    range.high,
                    values.join(", ")
                ));
            }
        }
        let own = worst.checks().iter().rev().zip(results.checks().iter().rev());
        for (check, result) in own {
            assert_eq!((&check.text, &check.path), (&result.text, &result.path));
            if check.verdict == Verdict::Holds && result.verdict != Verdict::Holds {
                troubles.push(format!(
                    "{name}: \"{}\" is proved to hold and fails: {:?}",
                    check.text, result.margin
                ));
            }
        }
        if troubles.len() > 3 {
            break;
        }
    }
    troubles
}

/// Values that are bounded nowhere, compared, rounded and chosen by.
#[test]
fn a_divisor_that_may_be_zero_leaves_every_end_open() {
    const LINES: [&str; 6] = [
        "when q > 0 : n / q\n      otherwise : never \"no\"",
        "when q - sqrt(abs(q)) >= 1 : n / q\n      otherwise : n",
        "when n / 1 m < q : n\n      otherwise : n * q",
        "when q <> 2 : n / (1 + q^2)\n      otherwise : 2 * n",
        "max(n * q, n) rounded up to 10 mm",
        "when not q <= n / 1 m and q < 9 : min(n, n * q)\n      otherwise : n + 1 m",
    ];
    for (seed, line) in
        LINES.iter().enumerate().flat_map(|(at, line)| (0..4).map(move |it| (at * 4 + it, line)))
    {
        let text = format!(
            "sheet s\ntitle \"t\"\nsource \"s\"\ntakes\n  a : length in m like 3 m\n  b : length in m like 2 m\n  \
             n : length in m like 3 m\nworks\n  d = (a - b)^2 - 0.4 m * b + 0.1 m²\n  q = n * a / d\n  t = {line}\n\
             gives\n  t in m, q, d in m²\n"
        );
        let sheet = Sheet::parse("s.sheet", &text).unwrap();
        let troubles = no_draw_leaves(&sheet, line, (200, 0), 45.0, 31 + seed as u64);
        assert!(troubles.is_empty(), "{}", troubles.join("\n"));
    }
}

#[test]
fn no_draw_leaves_the_worst_case_of_any_sheet() {
    let troubles = of_every_sheet(|at, name| never_leaves(name, 200, 5_000, 3.0, 7 + at as u64));
    assert!(troubles.is_empty(), "{} troubles:\n{}", troubles.len(), troubles.join("\n"));
}

/// What is wrong with any sheet, looked at side by side: the longest must not keep the others waiting.
fn of_every_sheet(look: impl Fn(usize, &str) -> Vec<String> + Sync) -> Vec<String> {
    let next = AtomicUsize::new(0);
    let worker = || {
        let mut troubles = Vec::new();
        while let Some((at, sheet)) = {
            let at = next.fetch_add(1, Ordering::Relaxed);
            SHEETS.get(at).map(|sheet| (at, sheet))
        } {
            troubles.extend(look(at, sheet.name));
        }
        troubles
    };
    let count = std::thread::available_parallelism().map_or(2, usize::from);
    std::thread::scope(|scope| {
        let workers: Vec<_> = (0..count).map(|_| scope.spawn(worker)).collect();
        workers.into_iter().flat_map(|worker| worker.join().unwrap()).collect()
    })
}

/// The same on f64 columns, many at a time: the least and the most of all draws, and the checks proved to hold.
/// A column is within 1e-11 of the exact value, the sizes on the way being those of the result here; ties are
/// decided on exact decimals by the columns themselves. Results that are series are left to the draws above.
fn columns_never_leave(
    sheet: &Sheet,
    name: &str,
    inputs: &Inputs,
    worst: &WorstCase,
    count: usize,
    seed: u64,
) -> Vec<String> {
    let drawn = DrawResults::compute(sheet.program(), inputs, count, seed, &|_| {}).unwrap();
    let mut troubles = Vec::new();
    let open = worst.ranges().iter().any(|range| range.may.is_some())
        || worst.checks().iter().any(|check| check.verdict == Verdict::NotProved);
    if drawn.without > 0 && !open {
        troubles.push(format!("{name}: {} draws have no results", drawn.without));
    }
    for sample in drawn.samples() {
        let Some(range) = worst.ranges().iter().find(|range| range.output == sample.output) else {
            continue;
        };
        let end = |extreme: &Extreme| extreme.limit.unwrap_or_else(|| extreme.reached.to_f64());
        let (low, high) = (end(&range.low), end(&range.high));
        let (least, most) = (sample.percentile(0.0), sample.percentile(1.0));
        let slack = 1e-11 * least.abs().max(most.abs());
        if least < low - slack || most > high + slack {
            let output = &sheet.program().outputs[range.output].name;
            troubles.push(format!(
                "{name}: {output} goes from {least:e} to {most:e}, outside {low:e} to {high:e}"
            ));
        }
    }
    let own = worst.checks().iter().rev().zip(drawn.failing.iter().rev());
    for (check, failing) in own {
        if check.verdict == Verdict::Holds && *failing > 0 {
            troubles.push(format!("{name}: \"{}\" holds, and fails {failing} times", check.text));
        }
    }
    troubles
}

#[test]
#[ignore = "minutes: 100 000 draws of every sheet, on columns"]
fn no_column_of_100_000_draws_leaves_the_worst_case_of_any_sheet() {
    let mut troubles = Vec::new();
    for (at, sheet) in SHEETS.iter().enumerate() {
        troubles.extend(never_leaves(sheet.name, 0, 100_000, 4.0, 207 + at as u64));
    }
    assert!(troubles.is_empty(), "{} troubles:\n{}", troubles.len(), troubles.join("\n"));
}

#[test]
#[ignore = "minutes: 100 000 draws of four sheets"]
fn no_draw_of_many_leaves_the_worst_case() {
    let mut troubles = Vec::new();
    for name in ["safe-stop", "brake-resistor", "separation-curtain", "response-chain"] {
        troubles.extend(never_leaves(name, 100_000, 0, 5.0, 11));
    }
    assert!(troubles.is_empty(), "{} troubles:\n{}", troubles.len(), troubles.join("\n"));
}

/// By hand: t = a/(b·n) rounded up to 10 ms with every input moving it, and d = t − 10 ms is a multiple as well. The
/// ends are those of the four corners of a and b (n counts twice, so slopes alone decide nothing): no end may lie
/// between two steps, and each is proved, however many boxes are left open by less than a step.
#[test]
fn an_end_between_two_steps_is_no_end() {
    let text = "sheet s\ntitle \"s\"\nsource \"by hand\"\ntakes\n  a : ratio above 0\n  n : ratio above 0\n\
        works\n  t = (a * n / (1 + n^2) + 1) * (1 s) rounded up to 10 ms\n  d = t - 10 ms\ngives\n  t in ms\n  d in ms\n";
    let sheet = Sheet::parse("s.sheet", text).unwrap();
    let mut tried = 0;
    for (a, n) in [(0.31, 0.97), (0.5, 1.0), (0.77, 1.01), (0.123, 1.1), (2.0, 0.9)] {
        let mut inputs = sheet.inputs();
        inputs.write("a", &format!("{a} ± 10 %")).unwrap();
        inputs.write("n", &format!("{n} ± 10 %")).unwrap();
        let worst = WorstCase::compute(sheet.program(), &inputs).unwrap();
        // n/(1 + n²) has its top at 1 and falls to both sides
        let ends = [0.9 * n, 1.1 * n];
        let shape = |n: f64| n / (1.0 + n * n);
        let top = if ends[0] < 1.0 && ends[1] > 1.0 { 1.0 } else { ends[0] };
        let high = ends.iter().chain([&top]).map(|n| shape(*n)).fold(0.0, f64::max);
        let low = ends.iter().map(|n| shape(*n)).fold(1.0, f64::min);
        let steps = |x: f64| (x * 100.0 - 1e-9).ceil() * 10.0;
        let expected = [steps(0.9 * a * low + 1.0), steps(1.1 * a * high + 1.0)];
        for (range, less) in worst.ranges().iter().zip([0.0, 10.0]) {
            for (end, expected) in [&range.low, &range.high].into_iter().zip(expected) {
                assert_eq!(end.limit, None, "a = {a}, n = {n}: {end:?}");
                let reached = end.reached.to_f64() * 1e3;
                assert!(
                    (reached - (expected - less)).abs() < 1e-9,
                    "a = {a}, n = {n}: {reached}, {expected}"
                );
                tried += 1;
            }
        }
    }
    assert_eq!(tried, 20);
}

/// Where a value never exists at the corner that its slopes point to, what lies just before that corner counts: no
/// plain run within the tolerances may leave the ends.
#[test]
fn an_end_is_not_lost_with_the_corner_that_never_exists() {
    let text = |line: &str| {
        format!(
            "sheet s\ntitle \"s\"\nsource \"by hand\"\ntakes\n  a : torque in N·m above 0 N·m = 10 N·m\n  b : torque in N·m above 0 N·m = 8 N·m\n\
works\n  y = {line}\n      otherwise : never \"the load drives\"\ngives\n  y in N·m\n"
        )
    };
    let lines = [
        "when a > b : 20 N·m - a",
        "when a > b : (1 N·m)^2 / (a - b)",
        "when a > b : 3 * b",
        "when a < b * 1.3 : a * 2",
        "when 2 * a - b > 11 N·m : a - 3 * b",
        "when a > b : max(a, 9 N·m) * 2 / 2 rounded up to 0.5 N·m",
    ];
    let (mut ran, mut never) = (0, 0);
    for line in lines {
        let sheet = Sheet::parse("s.sheet", &text(line)).unwrap();
        for percent in [5.0, 12.0, 19.9, 20.0, 20.1, 25.0, 37.0] {
            let mut inputs = sheet.inputs();
            inputs.write("a", &format!("10 N·m ± {percent} %")).unwrap();
            inputs.write("b", &format!("8 N·m ± {} %", percent / 10.0)).unwrap();
            let worst = WorstCase::compute(sheet.program(), &inputs).unwrap();
            let range = &worst.ranges()[0];
            let [low, high] = [&range.low, &range.high]
                .map(|end: &Extreme| end.limit.unwrap_or_else(|| end.reached.to_f64()));
            for (i, j) in (0..=40).flat_map(|i| (0..=4).map(move |j| (i, j))) {
                let at = |centre: f64, share: f64, part: f64| centre * (1.0 + share / 100.0 * part);
                let mut inputs = sheet.inputs();
                let a = at(10.0, percent, f64::from(i) / 20.0 - 1.0);
                let b = at(8.0, percent / 10.0, f64::from(j) / 2.0 - 1.0);
                inputs.write("a", &format!("{a:.9} N·m")).unwrap();
                inputs.write("b", &format!("{b:.9} N·m")).unwrap();
                let Some(y) = sheet.run(&inputs).unwrap().exact("y") else {
                    never += 1;
                    continue;
                };
                ran += 1;
                // a billionth for the nine digits of the draw
                let y = y.to_f64();
                let slack = 1e-8 * (1.0 + y.abs() * y.abs());
                assert!(
                    low - slack <= y && y <= high + slack,
                    "{line}, {percent} %: {y} at {a}, {b}"
                );
            }
        }
    }
    assert!(ran > 4000 && never > 500, "{ran} {never}");
}
