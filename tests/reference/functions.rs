//! Functions of exact decimals against mpmath, whose version `functions.csv` names.

use rust_decimal::Decimal;
use standstill::number::{Exact, Outcome};
use standstill::program::Ratio;

/// A decimal such as `-12.5e-3`, cut to 28 digits, and what was cut off as a part of it.
pub(crate) fn decimal_and_rest(text: &str) -> (Exact, f64) {
    let (digits, ten) = text.split_once('e').unwrap_or((text, "0"));
    let mut ten: i32 = ten.parse().unwrap();
    let (before, after) = digits.split_once('.').unwrap_or((digits, ""));
    ten -= after.len() as i32;
    let sign = if before.starts_with('-') { -1 } else { 1 };
    let all = format!("{}{after}", before.trim_start_matches('-'));
    let all = all.trim_start_matches('0');
    let (kept, rest) = all.split_at(all.len().min(28));
    ten += rest.len() as i32;
    let kept: i128 = kept.parse().unwrap_or(0);
    let rest: f64 = format!("0.{rest}0").parse().unwrap();
    let number = Decimal::from_i128_with_scale(sign * kept, 0);
    (Exact::from_decimal(number, ten).unwrap(), rest / (kept.max(1) as f64))
}

/// A decimal of at most 28 digits.
pub(crate) fn decimal(text: &str) -> Exact {
    let (number, rest) = decimal_and_rest(text);
    assert!(rest == 0.0, "{text} has more than 28 digits");
    number
}

/// By what part of the expected value another differs from it, in f64: the difference itself is exact.
fn difference(found: &Exact, expected: &str) -> f64 {
    let (expected, rest) = decimal_and_rest(expected);
    // lifted, so that a difference of two numbers near 1e-200 can be kept
    let lift =
        Exact::from_decimal(Decimal::ONE, if expected.ten() < 0 { 100 } else { -20 }).unwrap();
    let (found, expected) = (found.times(&lift).unwrap(), expected.times(&lift).unwrap());
    found.minus(&expected).unwrap().to_f64() / expected.to_f64() - rest
}

fn ratio(text: &str) -> Ratio {
    let (numerator, denominator) = text.split_once('/').unwrap();
    Ratio { numerator: numerator.parse().unwrap(), denominator: denominator.parse().unwrap() }
}

fn worked(function: &str, x: &Exact, y: &str) -> Outcome {
    match function {
        "exponential" => x.exponential(),
        "logarithm" => x.logarithm(),
        "decimal_logarithm" => x.decimal_logarithm(),
        "sine" => x.sine(),
        "cosine" => x.cosine(),
        "tangent" => x.tangent(),
        "arc_sine" => x.arc_sine(),
        "arc_cosine" => x.arc_cosine(),
        "arc_tangent" => x.arc_tangent(),
        "power" => x.power(ratio(y)),
        "raised" => x.raised(&decimal(y)),
        other => panic!("{other} is not in the list"),
    }
}

/// Rows of `functions.csv`: function, x, y, value.
fn rows() -> Vec<[&'static str; 4]> {
    let rows: Vec<_> = include_str!("functions.csv")
        .lines()
        .skip(2)
        .map(|line| line.split(',').collect::<Vec<_>>().try_into().unwrap())
        .collect();
    assert!(rows.len() > 1500, "{} rows", rows.len());
    rows
}

#[test]
fn every_function_holds_24_digits_and_its_slack_covers_its_error() {
    let mut wrong = Vec::new();
    let mut worst = std::collections::BTreeMap::new();
    for [function, x, y, value] in rows() {
        match worked(function, &decimal(x), y) {
            // an exponential that is gone is zero within 1e-199
            Ok(found) if function == "exponential" && found.to_f64() == 0.0 => {
                let exact: f64 = value.parse().unwrap();
                assert!(exact.abs() < 1e-199, "{function}({x}) = {exact:e}");
            }
            Ok(found) => {
                let off = difference(&found, value).abs();
                // the f64 in which the difference is taken cannot make it larger than by 1e-10 of itself
                let bound = found.relative_error_bound() * (1.0 + 1e-9);
                if off > bound || found.certain_digits() < 24 {
                    wrong.push(format!(
                        "{function}({x}, {y}) = {found:?}, not {value}: off by {off}, bound {bound}"
                    ));
                }
                let digits = worst.entry(function).or_insert(28);
                *digits = found.certain_digits().min(*digits);
            }
            Err(trouble) => wrong.push(format!("{function}({x}, {y}): {trouble}")),
        }
    }
    println!("{worst:?}");
    assert!(
        wrong.is_empty(),
        "{} wrong:\n{}",
        wrong.len(),
        wrong[..wrong.len().min(30)].join("\n")
    );
}
