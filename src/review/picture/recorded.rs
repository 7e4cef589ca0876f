//! Recorded stops over time, with the predicted ones over them.

use super::plot::{Bands, Curve, Panel, Plot};
use super::stop::{RPM, predicted_speeds};
use super::{ends, registers, seen, values};
use crate::calculation::picture_spec::speed_over_time;
use crate::calculation::{Results, enclosed};
use crate::recording::{Condition, Protocol};

/// The picture of the stops of one condition.
pub(in crate::review) fn recorded(protocol: &Protocol, condition: &Condition) -> String {
    let linear = protocol
        .files
        .first()
        .is_some_and(|it| it.unit.symbol != "r/min" && it.unit.dimension.to_string() == "m/s");
    let scale = if linear { 1.0 } else { RPM };
    let shown = |points: &[(f64, f64)]| {
        points.iter().map(|(t, v)| (t.max(0.0), v * scale)).collect::<Vec<_>>()
    };
    let longest = condition.stops.iter().max_by(|a, b| a.time.value.total_cmp(&b.time.value));
    let longest_time = longest.map_or(0.0, |it| it.time.value);
    let mut curves: Vec<Curve> = Vec::new();
    let mut others =
        condition.stops.iter().filter(|stop| stop.time.value < longest_time).peekable();
    if others.peek().is_some() {
        let count = condition.stops.len() - 1;
        for (at, stop) in others.enumerate() {
            let name =
                if at == 0 { format!("recorded, {count} other stops") } else { String::new() };
            curves.push(Curve { class: "rec", points: shown(&stop.curve), name });
        }
    }
    if let Some(stop) = longest {
        let name =
            format!("recorded, the longest: {} ms", super::svg::four_digits(stop.time.value * 1e3));
        curves.push(Curve { class: "c1", points: shown(&stop.curve), name });
    }
    let predicted = protocol.predicted.as_ref().filter(|_| !linear);
    // of a stop without a ramp one curve is left, and it begins when torque is removed
    let at_once = protocol.plan.at_once;
    let before = predicted.and_then(|it| it.before).unwrap_or(0.0);
    let mut speeds = predicted.and_then(|it| speeds(&it.results)).unwrap_or_default();
    let labels: &[(&str, &str)] = if at_once {
        speeds = speeds.pop().map(|curve| later(curve, before)).into_iter().collect();
        &[("c3", "calculated")]
    } else {
        &[("c2", "calculated, ramp works"), ("c3", "calculated, ramp fails")]
    };
    for (&(class, words), points) in labels.iter().zip(speeds) {
        let end = points.last().map_or(0.0, |it| it.0);
        let name = format!("{words}: {} ms", super::svg::four_digits(end * 1e3));
        curves.push(Curve { class, points: shown(&points), name });
    }
    let all = || curves.iter().flat_map(|it| &it.points);
    let far = all().fold(0.0, |far: f64, it| far.max(it.0));
    let high = all().fold(0.0, |high: f64, it| high.max(it.1));
    let low = all().fold(0.0, |low: f64, it| low.min(it.1));
    let removed: Vec<f64> =
        condition.stops.iter().filter_map(|it| it.delay.map(|it| it.value)).collect();
    let late = removed.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let mark = (late.is_finite() && late < far).then(|| {
        (late, format!("torque removed, at most {} ms", super::svg::four_digits(late * 1e3)))
    });
    let plot = Plot {
        title: format!("Speed over time: {}", condition.label()),
        words: format!(
            "{} recorded stops, the longest {} ms; calculated curves beside them where a calculation is named.",
            condition.stops.len(),
            super::svg::four_digits(longest_time * 1e3)
        ),
        across: "time from the stop command / s".into(),
        far,
        panels: vec![Panel {
            up: if linear { "speed / (m/s)".into() } else { "speed / (r/min)".into() },
            height: 240.0,
            span: (low, high),
            curves,
            levels: Vec::new(),
        }],
        mark,
    };
    let band = predicted.map_or_else(Bands::new, |it| band(&it.results, at_once, before));
    plot.draw(&band)
}

/// Where the calculated speeds can lie within the tolerances of the inputs; empty where these have none.
fn band(results: &Results, at_once: bool, before: f64) -> Bands {
    let (program, inputs) = (results.program(), results.inputs());
    let found = speed_over_time(program).filter(|_| inputs.any_spread()).and_then(|it| {
        let registers = registers(program, &it.1, it.0)?;
        Some((it.0.kind, ends(&enclosed(program, inputs), &registers)?))
    });
    let Some((kind, (low, high))) = found else { return Bands::new() };
    let mut speeds = kind.bands(&low, &high).into_iter().next().unwrap_or_default();
    // of a stop: ramp works, ramp fails, and without a ramp
    let speeds = if at_once {
        let last = speeds.pop().into_iter();
        last.map(|points| points.into_iter().map(|(t, n)| (t + before, n)).collect()).collect()
    } else {
        speeds.truncate(2);
        speeds
    };
    seen(vec![speeds])
}

/// A curve that begins later, at its first speed until then.
fn later(curve: Vec<(f64, f64)>, by: f64) -> Vec<(f64, f64)> {
    let first = curve.first().filter(|_| by > 0.0).map(|it| (0.0, it.1));
    first.into_iter().chain(curve.iter().map(|(t, v)| (t + by, *v))).collect()
}

/// The speeds of a calculation's stop in rad/s, ramp works and ramp fails; of a run-down, that alone.
fn speeds(results: &Results) -> Option<Vec<Vec<(f64, f64)>>> {
    let program = results.program();
    let (drawn, path) = speed_over_time(program)?;
    let registers = registers(program, &path, drawn)?;
    Some(predicted_speeds(drawn.kind, &values(results, &registers)))
}
