//! Least squares against numpy's lstsq and scipy's curve_fit on the same samples: tests/reference/recorded.py.

use standstill::recording::{Noise, least_squares, quantile_of_t, run_down};

const NOISE: Noise = Noise { one: 0.2, lasting: 1.0, step: 0.0 };

const TABLE: &str = include_str!("../reference/recorded.csv");

fn rows(kind: &str) -> Vec<Vec<String>> {
    let all = TABLE.lines().map(|line| line.split(',').map(str::to_owned).collect::<Vec<_>>());
    all.filter(|row| row[0] == kind).collect()
}

fn number(row: &[String], at: usize) -> f64 {
    row[at].parse().unwrap()
}

fn samples(name: &str) -> Vec<(f64, f64)> {
    rows("sample")
        .iter()
        .filter(|row| row[1] == name)
        .map(|row| (number(row, 2), number(row, 3)))
        .collect()
}

/// The rows of the integrated equation, by the trapezia of the reference script.
fn integrated(points: &[(f64, f64)]) -> Vec<([f64; 4], f64)> {
    let (mut turned, mut squared, mut before) = (0.0, 0.0, points[0]);
    let mut found = Vec::new();
    for (t, w) in points {
        let step = t - before.0;
        turned += step * (w + before.1) / 2.0;
        squared += step * (w * w + before.1 * before.1) / 2.0;
        before = (*t, *w);
        found.push(([1.0, -t, -turned, -(squared - 0.04 * t)], *w));
    }
    found
}

fn near(found: f64, wanted: f64, share: f64, what: &str) {
    assert!((found - wanted).abs() <= share * wanted.abs(), "{what}: {found}, wanted {wanted}");
}

fn compare<const N: usize>(name: &str) -> usize {
    let all: Vec<([f64; N], f64)> = integrated(&samples(name))
        .iter()
        .map(|(row, y)| (row[..N].try_into().unwrap(), *y))
        .collect();
    let fit = least_squares(&all).unwrap();
    let wanted: Vec<_> = rows("lstsq")
        .into_iter()
        .filter(|row| row[1] == name && row[2] == (N - 1).to_string())
        .collect();
    for (at, row) in wanted.iter().enumerate() {
        near(fit.x[at], number(row, 4), 1e-8, &format!("{name}, {N} columns, {at}"));
        // numpy's errors are for rests that do not follow one another
        let error = (fit.covariance[at][at] / fit.widened).sqrt();
        near(error, number(row, 5), 1e-8, &format!("{name}, {N} columns, error of {at}"));
    }
    wanted.len()
}

#[test]
fn linear_least_squares_are_those_of_numpy_with_their_errors() {
    let mut count = 0;
    for name in ["constant", "speed", "square"] {
        count += compare::<2>(name) + compare::<3>(name) + compare::<4>(name);
    }
    assert_eq!(count, 3 * 9);
}

/// scipy fits the solved equation, we its integral: two ways to the same friction, within a part of its uncertainty.
#[test]
fn run_downs_are_those_of_curve_fit() {
    for (name, terms) in [("constant", 1), ("speed", 2)] {
        let found = run_down(&samples(name), &NOISE).unwrap();
        assert_eq!(found.terms, terms, "{name}");
        let wanted: Vec<_> = rows("curve_fit").into_iter().filter(|row| row[1] == name).collect();
        assert_eq!(wanted.len(), terms + 1);
        for (at, rate) in found.rates.iter().take(terms).enumerate() {
            let (value, error) = (number(&wanted[at + 1], 3), number(&wanted[at + 1], 4));
            assert!(
                (rate.value - value).abs() < 0.25 * error,
                "{name} {at}: {rate:?}, scipy {value} ± {error}"
            );
            near(rate.u / 1.972, error, 0.25, &format!("{name}: error of {at}"));
        }
    }
}

/// Three terms: 160 rad/s², 0.35 1/s, 0.0021 1/rad were put in; what cannot be told apart has wide limits.
#[test]
fn three_terms_lie_within_their_limits() {
    let found = run_down(&samples("square"), &NOISE).unwrap();
    let truth = [160.0, 0.35, 0.0021];
    // the deceleration at a speed is what counts, however the terms share it
    for speed in [40.0, 80.0, 140.0] {
        let at = |rates: [f64; 3]| rates[0] + rates[1] * speed + rates[2] * speed * speed;
        let fitted = at(found.rates.map(|rate| rate.value));
        near(fitted, at(truth), 0.01, &format!("deceleration at {speed} rad/s"));
    }
    assert!(found.terms >= 2, "{found:?}");
}

#[test]
fn the_factor_of_student_is_that_of_scipy() {
    let all = rows("t");
    assert_eq!(all.len(), 9);
    for row in all {
        near(quantile_of_t(row[1].parse().unwrap()), number(&row, 2), 4e-3, &row[1]);
    }
}

#[test]
fn columns_that_depend_on_one_another_have_no_fit() {
    let rows: Vec<([f64; 2], f64)> =
        (0..20_u8).map(|x| ([f64::from(x), 2.0 * f64::from(x)], 1.0)).collect();
    assert!(least_squares(&rows).is_none());
    assert!(
        least_squares(&[([1.0, 0.0], 1.0), ([1.0, 1.0], 2.0)]).is_none(),
        "as many rows as columns"
    );
}
