//! Along a series: `when` element by element, and the elements at which a condition holds, folded.
//!
//! Held against the definitions, worked by hand over the elements that are left.

use proptest::prelude::*;
use standstill::Sheet;
use standstill::calculation::{Extreme, Inputs, WorstCase};
use standstill::diagnostic::Name;

const SHEET: &str = "sheet s
title \"t\"
source \"s\"
takes
  t_k : series of time in s
  x_k : series of length in m
  low : length in m
works
  half(x) = when x > low : x / 2
            otherwise    : -x
  halves  = sum(half(x_k))
  signs   = sum(sign(x_k - low))
  number  = count(t_k where x_k > low)
  total   = sum(x_k where x_k > low and t_k >= 1 s)
  all     = product(x_k / 1 m where x_k > low)
  middle  = mean(x_k where x_k > low)
  spread  = stdev(x_k where x_k > low)
  t_first = first(t_k where x_k > low)
  t_last  = last(t_k where x_k > low)
  most    = max(x_k where t_k < 3 s)
  lowest  = min(x_k where x_k > low)
gives
  halves in m, signs, number, total in m, all, middle in m, spread in m, t_first in s, t_last in s, most in m, lowest in m
";

fn inputs(sheet: &Sheet, values: &[i32], low: i32) -> Inputs {
    let series = |all: &mut dyn Iterator<Item = String>| all.collect::<Vec<_>>().join(", ");
    let mut inputs = sheet.inputs();
    let times = series(&mut (0..values.len()).map(|at| format!("{at} s")));
    inputs.write("t_k", &times).unwrap();
    inputs.write("x_k", &series(&mut values.iter().map(|x| format!("{x} m")))).unwrap();
    inputs.write("low", &format!("{low} m")).unwrap();
    inputs
}

/// What each result must be, none where it does not exist.
fn by_hand(values: &[f64], low: f64) -> Vec<(&'static str, Option<f64>)> {
    let pairs: Vec<(f64, f64)> =
        values.iter().enumerate().map(|(at, x)| (f64::from(at as u32), *x)).collect();
    let left: Vec<(f64, f64)> = pairs.iter().copied().filter(|(_, x)| *x > low).collect();
    let count = left.len() as f64;
    let sum: f64 = left.iter().map(|(_, x)| x).sum();
    let mean = (count > 0.0).then(|| sum / count);
    let squares = |mean: f64| left.iter().map(|(_, x)| (x - mean).powi(2)).sum::<f64>();
    let early = pairs.iter().filter(|(t, _)| *t < 3.0).map(|(_, x)| *x).reduce(f64::max);
    vec![
        ("halves", Some(values.iter().map(|x| if *x > low { x / 2.0 } else { -x }).sum())),
        (
            "signs",
            Some(values.iter().map(|x| f64::from((*x > low) as i8 - (*x < low) as i8)).sum()),
        ),
        ("number", Some(count)),
        ("total", left.iter().filter(|(t, _)| *t >= 1.0).map(|(_, x)| *x).reduce(|a, b| a + b)),
        ("all", left.iter().map(|(_, x)| *x).reduce(|a, b| a * b)),
        ("middle", mean),
        ("spread", mean.filter(|_| count > 1.0).map(|it| (squares(it) / (count - 1.0)).sqrt())),
        ("t_first", left.first().map(|(t, _)| *t)),
        ("t_last", left.last().map(|(t, _)| *t)),
        ("most", early),
        ("lowest", left.iter().map(|(_, x)| *x).reduce(f64::min)),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 64, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn elements_at_which_a_condition_holds_are_folded(
        values in prop::collection::vec(-9..=9_i32, 1..8),
        low in -10..=9_i32,
    ) {
        let sheet = Sheet::parse("s.sheet", SHEET).unwrap();
        let results = sheet.run(&inputs(&sheet, &values, low)).unwrap();
        let numbers: Vec<f64> = values.iter().map(|x| f64::from(*x)).collect();
        for (name, expected) in by_hand(&numbers, f64::from(low)) {
            let found = results.exact(name).map(|it| it.to_f64());
            // 28 digits are calculated; f64 by hand is the coarser of the two
            match (found, expected) {
                (Some(found), Some(expected)) => prop_assert!(
                    (found - expected).abs() <= 1e-12 * expected.abs().max(1.0),
                    "{name}: {found}, by hand {expected}"
                ),
                (found, expected) => prop_assert_eq!(found, expected, "{}", name),
            }
        }
    }

    #[test]
    fn a_worst_case_holds_every_draw(
        values in prop::collection::vec(-9..=9_i32, 2..5),
        low in -10..=9_i32,
        corners in 0..64_u32,
    ) {
        let sheet = Sheet::parse("s.sheet", SHEET).unwrap();
        let mut given = inputs(&sheet, &values, low);
        let series: Vec<String> = values.iter().map(|x| format!("{x} m ± 1 m")).collect();
        prop_assume!(given.write("x_k", &series.join(", ")).is_ok());
        let worst = WorstCase::compute(sheet.program(), &given).unwrap();
        let drawn: Vec<f64> = values
            .iter()
            .enumerate()
            .map(|(at, x)| f64::from(*x) + if corners >> at & 1 == 1 { 1.0 } else { -1.0 })
            .collect();
        for (name, expected) in by_hand(&drawn, f64::from(low)) {
            let Some(expected) = expected else { continue };
            let place = sheet.program().outputs.iter().position(|it| it.name == name).unwrap();
            let range = worst.ranges().iter().find(|it| it.output == place);
            // one that does not exist at the values given has no range
            prop_assert_eq!(range.is_some(), worst.nominal().exact(name).is_some(), "{}", name);
            let Some(range) = range else { continue };
            let end = |it: &Extreme| it.limit.unwrap_or_else(|| it.reached.to_f64());
            prop_assert!(
                end(&range.low) <= expected + 1e-9 && expected - 1e-9 <= end(&range.high),
                "{name}: {expected} outside {range:?}"
            );
        }
    }

    /// A tolerance that moves elements in or out: the ends are those of the values between which it does.
    #[test]
    fn a_worst_case_over_what_is_chosen_is_close(
        values in prop::collection::vec(-9..=9_i32, 2..5),
        low in -10..=9_i32,
    ) {
        // of two that are equal each is taken in or out by itself
        let distinct: std::collections::BTreeSet<_> = values.iter().collect();
        prop_assume!(distinct.len() == values.len());
        let sheet = Sheet::parse("s.sheet", SHEET).unwrap();
        let mut given = inputs(&sheet, &values, low);
        given.write("low", &format!("{low} m ± 1 m")).unwrap();
        let worst = WorstCase::compute(sheet.program(), &given).unwrap();
        let numbers: Vec<f64> = values.iter().map(|x| f64::from(*x)).collect();
        // between whole numbers nothing changes
        let all: Vec<_> = (low - 1..=low + 1).map(|it| by_hand(&numbers, f64::from(it))).collect();
        for (at, (name, _)) in all[0].iter().enumerate() {
            let found: Option<Vec<f64>> = all.iter().map(|it| it[at].1).collect();
            let Some(found) = found.filter(|_| !["halves", "signs"].contains(name)) else { continue };
            let place = sheet.program().outputs.iter().position(|it| it.name == *name).unwrap();
            let range = worst.ranges().iter().find(|it| it.output == place).unwrap();
            let end = |it: &Extreme| it.limit.unwrap_or_else(|| it.reached.to_f64());
            let (least, most) = found.iter().fold((f64::MAX, f64::MIN), |(a, b), x| (a.min(*x), b.max(*x)));
            let near = 1e-6 * (1.0 + least.abs().max(most.abs()));
            prop_assert!(
                (end(&range.low) - least).abs() <= near && (end(&range.high) - most).abs() <= near,
                "{name}: {least} to {most}, {range:?}"
            );
        }
    }
}

#[test]
fn series_of_two_lengths_do_not_meet() {
    let sheet = Sheet::parse("s.sheet", SHEET).unwrap();
    let mut given = inputs(&sheet, &[1, 2, 3], 0);
    given.write("t_k", "1 s, 2 s").unwrap();
    let problems = sheet.run(&given).unwrap_err();
    assert!(problems.iter().any(|it| it.name == Name::LengthsDiffer), "{problems:?}");
}
