//! Bounds against mpmath.iv, slopes against autograd, draws against the guides to uncertainty.

use standstill::Sheet;
use standstill::calculation::{DrawResults, Sensitivities, Step, WorstCase};
use standstill::number::{Bound, Bounds, Interval, Slot, evaluate};

fn sheet_of(expression: &str) -> Sheet {
    let text = format!(
        "sheet expression\ntitle \"one expression\"\nsource \"none: a test\"\n\ntakes\n  x : ratio like 1 \"x\"\n  y : ratio like 1 \"y\"\n\nworks\n  f = {expression}\n  g = x + y\n\ngives\n  f, g\n"
    );
    Sheet::parse("expression.sheet", &text)
        .unwrap_or_else(|problems| panic!("{expression}: {}", problems[0]))
}

fn rows(text: &str) -> impl Iterator<Item = (&str, Vec<f64>)> {
    text.lines().skip(1).map(|line| {
        let (expression, numbers) = line.split_once(';').unwrap();
        (expression, numbers.split(';').map(|number| number.parse().unwrap()).collect())
    })
}

/// The ends are those of mpmath.iv at 40 digits; ours may be wider by what f64 rounds in up to ten steps,
/// each within 4 ulp of the largest number on the way (below 1e5 here).
#[test]
fn enclosures_agree_with_an_interval_library() {
    let mut count = 0;
    for (expression, row) in rows(include_str!("intervals.csv")) {
        let sheet = sheet_of(expression);
        let [x_low, x_high, y_low, y_high, low, high] = row[..] else { panic!("{row:?}") };
        // the ends are decimals: the f64 nearest to one may lie inside, the interval around both does not
        let around =
            |low: f64, high: f64| Bound::within(Interval::new(low.next_down(), high.next_up()));
        let inputs = [Slot::One(around(x_low, x_high)), Slot::One(around(y_low, y_high))];
        let registers = evaluate(&Bounds::new(0), sheet.program(), &inputs);
        let Slot::One(found) = &registers[sheet.program().outputs[0].register.0 as usize] else {
            panic!("a number")
        };
        let range = found.range.unwrap();
        assert!(range.low <= low && range.high >= high, "{expression} {row:?}: {range:?}");
        // where x stands twice, mpmath takes x² as x·x or as a power, as we do; the widths agree
        let slack = 40.0 * f64::EPSILON * (low.abs().max(high.abs()) + 100.0);
        assert!(
            range.low >= low - slack && range.high <= high + slack,
            "{expression} {row:?}: {range:?}"
        );
        count += 1;
    }
    assert!(count > 200, "only {count} rows");
}

/// autograd works in f64: its own error is a few ulp of the terms, 1e-11 of the value is allowed.
#[test]
fn slopes_agree_with_an_automatic_differentiation_library() {
    let mut count = 0;
    for (expression, row) in rows(include_str!("slopes.csv")) {
        let sheet = sheet_of(expression);
        let [x, y, value, by_x, by_y] = row[..] else { panic!("{row:?}") };
        let mut inputs = sheet.inputs();
        inputs.write("x", &x.to_string()).unwrap();
        inputs.write("y", &y.to_string()).unwrap();
        let found = Sensitivities::compute(sheet.program(), &inputs).unwrap();
        let nominal = found.nominal().exact("f").unwrap().to_f64();
        assert!(
            (nominal - value).abs() <= 1e-11 * value.abs().max(1.0),
            "{expression} {row:?}: {nominal}"
        );
        for (name, at, wanted) in [("x", x, by_x), ("y", y, by_y)] {
            let change = found.of("f").find(|it| it.name == name).map_or(0.0, |it| it.change);
            let slope = change * 100.0 / at;
            assert!(
                (slope - wanted).abs() <= 1e-10 * wanted.abs().max(1.0),
                "{expression} by {name} {row:?}: {slope}"
            );
        }
        count += 1;
    }
    assert!(count > 100, "only {count} rows");
}

/// JCGM 101:2008, 9.2 (from memory): the sum of four quantities of standard deviation 1 each. Normal:
/// deviation 2.00, 95 % between ±3.92. Even, between ±√3: deviation 2.00, 95 % between ±3.88.
/// A percentile of 2.5 % of a million draws has a standard error of 0.0053: four of them are allowed.
#[test]
fn draws_agree_with_the_additive_model_of_the_guide() {
    let text = "sheet additive\ntitle \"sum of four\"\nsource \"JCGM 101:2008, 9.2\"\ntakes\n  a : ratio like 1 \"a\"\n  b : ratio like 1 \"b\"\n  c : ratio like 1 \"c\"\n  d : ratio like 1 \"d\"\nworks\n  Y = a + b + c + d\ngives\n  Y\n";
    let sheet = Sheet::parse("additive.sheet", text).unwrap();
    for (tolerance, limit) in [("0 ± 2 normal", 3.92), ("0 ± 1.7320508075688772", 3.88)] {
        let mut inputs = sheet.inputs();
        for name in ["a", "b", "c", "d"] {
            inputs.write(name, tolerance).unwrap();
        }
        let drawn = DrawResults::compute(sheet.program(), &inputs, 1_000_000, 4, &|_| {}).unwrap();
        let sum = drawn.of("Y").unwrap();
        assert!((sum.deviation - 2.0).abs() < 0.01, "{tolerance}: {}", sum.deviation);
        for (share, wanted) in [(0.025, -limit), (0.975, limit)] {
            assert!(
                (sum.percentile(share) - wanted).abs() < 0.021,
                "{tolerance}: {}",
                sum.percentile(share)
            );
        }
    }
}

/// JCGM 100:2008, H.1, the calibration of an end gauge (from memory): standard of 50.000623 mm with 25 nm,
/// difference of 215 nm with 9.7 nm, thermal expansion 11.5e-6/K, its difference even within ±1e-6/K,
/// temperature −0.1 K from the reference with a swing of ±0.5 K of an arc sine distribution (deviation
/// 0.35 K) and 0.2 K of the mean, temperature difference even within ±0.05 K. Result 50.000838 mm with 32 nm by
/// the first order; with the second order of H.1.7, which draws have in them, 34 nm.
#[test]
fn draws_and_slopes_agree_with_the_end_gauge_of_the_guide() {
    let text = "sheet end-gauge\ntitle \"calibration of an end gauge\"\nsource \"JCGM 100:2008, H.1\"\ntakes\n  l_s : ratio like 50000623 \"standard in nm\"\n  d : ratio like 215 \"difference in nm\"\n  alpha : ratio like 0.0000115 \"expansion\"\n  d_alpha : ratio like 0 \"its difference\"\n  theta : ratio like 0 \"temperature\"\n  d_theta : ratio like 0 \"its difference\"\nworks\n  l = l_s + d - l_s * (d_alpha * theta + alpha * d_theta)\ngives\n  l\n";
    let sheet = Sheet::parse("end-gauge.sheet", text).unwrap();
    let mut inputs = sheet.inputs();
    // a normal ± is two deviations; the temperature: √(0.35² + 0.2²) = 0.41 K
    for (name, value) in [
        ("l_s", "50000623 ± 50 normal"),
        ("d", "215 ± 19.4 normal"),
        ("alpha", "0.0000115 ± 0.000002"),
        ("d_alpha", "0 ± 0.000001"),
        ("theta", "-0.1 ± 0.82 normal"),
        ("d_theta", "0 ± 0.05"),
    ] {
        inputs.write(name, value).unwrap();
    }
    let drawn = DrawResults::compute(sheet.program(), &inputs, 200_000, 2, &|_| {}).unwrap();
    let l = drawn.of("l").unwrap();
    assert!((l.mean - 50_000_838.0).abs() < 0.5, "{}", l.mean);
    // the guide rounds to whole nanometres
    assert!((l.deviation - 34.0).abs() < 0.7, "{}", l.deviation);
    // first order, from the slopes: √(25² + 9.7² + (l·α·u(δθ))² + (l·θ·u(δα))²)
    let slopes = Sensitivities::compute(sheet.program(), &inputs).unwrap();
    let by =
        |name: &str| slopes.of("l").find(|it| it.name == name).map_or(0.0, |it| it.change * 100.0);
    let parts = [by("l_s") / 50_000_623.0 * 25.0, by("d") / 215.0 * 9.7];
    // inputs that are zero have no 1 % of themselves: theirs are the slopes for a hundredth
    let by = |name: &str| {
        let it = slopes.of("l").find(|it| it.name == name).unwrap();
        assert_eq!(it.step, Step::One("1 %".to_owned()));
        it.change * 100.0
    };
    let more = [by("d_theta") * 0.05 / 3_f64.sqrt(), by("d_alpha") * 1e-6 / 3_f64.sqrt()];
    let first_order = parts.iter().chain(&more).map(|part| part * part).sum::<f64>().sqrt();
    assert!((first_order - 32.0).abs() < 0.7, "{first_order}");
}

/// A value that stands twice: x/(x + 1) between 1 and 3 is wide without slopes, and its true range is from
/// 1/2 to 3/4 because it rises (calculus).
#[test]
fn a_value_that_stands_twice_is_still_bounded_sharply() {
    let sheet = sheet_of("x / (x + 1) + x * (10 - x)");
    let mut inputs = sheet.inputs();
    inputs.write("x", "2 ± 1").unwrap();
    inputs.write("y", "1").unwrap();
    let worst = WorstCase::compute(sheet.program(), &inputs).unwrap();
    let range = &worst.ranges()[0];
    assert_eq!((range.low.limit, range.high.limit), (None, None));
    assert!(
        (range.low.reached.to_f64() - 9.5).abs() < 1e-12
            && (range.high.reached.to_f64() - 21.75).abs() < 1e-12
    );
}
