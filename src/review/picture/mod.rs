//! Pictures of a calculation as SVG: readable in black and white, with units on their axes, and in words
//! for those who cannot see them. The page draws them again in the reader's browser from the same roles.

mod plan;
mod plot;
mod power;
mod stop;

use std::collections::BTreeMap;

use serde_json::{Value, json};

use crate::calculation::Results;
use crate::calculation::pictured::{self, Drawn, Kind, register};
use crate::number::Slot;
use crate::program::Program;

/// The value of each role in coherent SI.
type Roles = BTreeMap<&'static str, f64>;

/// The pictures of a calculation, each with its words.
pub(super) fn figures(results: &Results) -> String {
    let mut to = String::new();
    for (at, drawn) in of(results.program()).enumerate() {
        let roles = values(results, drawn);
        let svg = match drawn.kind {
            Kind::Stop => stop::draw(&roles),
            Kind::RunDown => stop::draw_run_down(&roles),
            Kind::Power => power::draw(&roles),
            Kind::Plan => plan::draw(&roles),
        };
        to.push_str(&format!(
            "<figure><div class=\"wide\" tabindex=\"0\" role=\"group\" aria-label=\"picture\" data-p=\"{at}\">{}</div><figcaption>{}</figcaption></figure>",
            svg, how(drawn.kind)
        ));
    }
    if to.is_empty() { to } else { format!("<h4>Pictures</h4>{to}") }
}

/// How a picture comes about.
fn how(kind: Kind) -> &'static str {
    match kind {
        Kind::Stop => {
            "Motor speed over time. Corner points are the program's own values; the ramp is drawn at its slowest; run-downs between them are the angular momentum balance with the sheet's friction, in 24 steps of speed, fitted to the time worked out."
        }
        Kind::RunDown => {
            "Speed over time. The end is the program's own value; the curve is the angular momentum balance with the sheet's friction, in 24 steps of speed, fitted to the time worked out."
        }
        Kind::Power => {
            "Power into the resistor over one cycle, drawn as a straight fall from the peak to zero within the quickest ramp; the mean is the program's own value."
        }
        Kind::Plan => {
            "Plan view to scale. The parts of the sum are the program's own values; what the distance has beyond them comes from rounding up or from the least distance."
        }
    }
}

/// The roles of each picture as registers.
pub(super) fn carried(results: &Results) -> Value {
    of(results.program())
        .map(|drawn| {
            let roles: serde_json::Map<String, Value> = drawn
                .roles
                .iter()
                .filter_map(|(role, path, name)| {
                    Some(((*role).to_owned(), json!(register(results.program(), path, name)?.0)))
                })
                .collect();
            json!([drawn.kind.word(), roles])
        })
        .collect()
}

fn of(program: &Program) -> impl Iterator<Item = &'static Drawn> + '_ {
    pictured::of(program, program.scopes.first())
}

fn values(results: &Results, drawn: &Drawn) -> Roles {
    drawn
        .roles
        .iter()
        .filter_map(|(role, path, name)| {
            match results.run().register(register(results.program(), path, name)?) {
                Ok(Slot::One(value)) => Some((*role, value.to_f64())),
                _ => None,
            }
        })
        .collect()
}

fn role(roles: &Roles, name: &str) -> f64 {
    roles.get(name).copied().unwrap_or(0.0)
}

/// A coordinate with one digit behind the point; moved by next to nothing, so that no tie is left to how
/// a language rounds it.
fn at(x: f64) -> String {
    let text = format!("{:.1}", x + 1e-6);
    let text = text.strip_suffix(".0").map_or(text.clone(), str::to_owned);
    if text == "-0" { "0".to_owned() } else { text }
}

/// A number for a person, to four digits.
fn told(x: f64) -> String {
    if x == 0.0 || !x.is_finite() {
        return "0".to_owned();
    }
    let magnitude = decade(x.abs());
    let unit = 10_f64.powi((3 - magnitude).abs());
    let rounded = if magnitude <= 3 {
        (x * unit + 1e-9).round() / unit
    } else {
        (x / unit + 1e-9).round() * unit
    };
    format!("{rounded}")
}

/// The power of ten at or below a number, by comparing alone: the same in every language.
fn decade(x: f64) -> i32 {
    let mut ten = 0;
    while ten < 30 && x >= 10_f64.powi(ten + 1) {
        ten += 1;
    }
    while ten > -30 && x < if ten >= 0 { 10_f64.powi(ten) } else { 1.0 / 10_f64.powi(-ten) } {
        ten -= 1;
    }
    ten
}
