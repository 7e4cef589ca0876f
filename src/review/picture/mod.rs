//! Pictures of a calculation as SVG: readable in black and white, with units on their axes, and in words
//! for those who cannot see them. The page draws them again in the reader's browser from the same roles.

mod plan;
mod plot;
mod power;
mod stop;

use std::collections::BTreeMap;

use serde_json::{Value, json};

use crate::calculation::Results;
use crate::number::Slot;
use crate::program::{Program, Register};

/// A picture that a sheet can be drawn as, and where the names of its roles stand.
struct Drawn {
    kind: Kind,
    sheet: &'static str,
    /// Role, path of the sheet that is used, name there.
    roles: &'static [(&'static str, &'static str, &'static str)],
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Kind {
    Stop,
    RunDown,
    Power,
    Plan,
}

impl Kind {
    fn word(self) -> &'static str {
        match self {
            Self::Stop => "stop",
            Self::RunDown => "rundown",
            Self::Power => "power",
            Self::Plan => "plan",
        }
    }
}

macro_rules! roles {
    ($($role:ident $path:literal $name:literal,)*) => { &[$((stringify!($role), $path, $name),)*] };
}

/// Every picture, by sheet.
static DRAWN: &[Drawn] = &[
    Drawn {
        kind: Kind::RunDown,
        sheet: "run-down",
        roles: roles! {
            n_0 "" "n_0", n_end "" "n_end", J "" "J", T_0 "" "T_0", b "" "b", c "" "c", T_load "" "T_load", t_release "" "t_stop",
        },
    },
    Drawn {
        kind: Kind::Stop,
        sheet: "ramp-then-release",
        roles: roles! {
            n_0 "" "n_0", n_end "" "n_end", J "" "J_ref", T_0 "" "T_0", b "" "b", c "" "c", T_load "" "T_load",
            t_release "coast_full" "t_stop", t_before "" "t_before", t_cut "" "t_release", t_ramp "" "t_ramp_slow", f "" "f",
            x "" "x", n_left "" "n_left", t_early "" "t_early", t_late "" "t_late", t_works "" "t_ramp_works", t_fails "" "t_ramp_fails",
        },
    },
    Drawn {
        kind: Kind::Stop,
        sheet: "safe-stop",
        roles: roles! {
            n_0 "" "n_0", n_end "" "n_end", J "" "J_ref", T_0 "" "T_0", b "" "b", c "" "c", T_load "" "T_load",
            t_release "release" "t_stop", t_before "ss1" "t_before", t_cut "ss1" "t_release", t_ramp "ss1" "t_ramp_slow", f "" "f",
            x "ss1" "x", n_left "ss1" "n_left", t_early "ss1" "t_early", t_late "ss1" "t_late", t_works "ss1" "t_ramp_works", t_fails "ss1" "t_ramp_fails",
        },
    },
    Drawn {
        kind: Kind::Power,
        sheet: "safe-stop",
        roles: roles! {
            P_peak "" "P_peak", P_mean "" "P_mean", t_ramp "ss1" "t_ramp_quick", t_cycle "" "t_cycle",
        },
    },
    Drawn {
        kind: Kind::Plan,
        sheet: "safe-stop",
        roles: roles! {
            K "curtain_works" "K", T "curtain_works" "T", C "curtain_works" "C", Z "" "Z", S "" "S_works",
            K2 "curtain_fails" "K", T2 "curtain_fails" "T", C2 "curtain_fails" "C", S2 "" "S_fails",
            which "" "stands_on", there "" "S_there",
        },
    },
    Drawn {
        kind: Kind::Plan,
        sheet: "separation-curtain",
        roles: roles! {
            K "" "K", T "" "T", C "" "C", Z "" "Z", S "" "S_fit",
        },
    },
];

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
    let sheet = program.scopes.first().map_or("", |scope| scope.sheet.as_str());
    DRAWN.iter().filter(move |drawn| {
        drawn.sheet == sheet
            && drawn.roles.iter().all(|(_, path, name)| register(program, path, name).is_some())
    })
}

fn register(program: &Program, path: &str, name: &str) -> Option<Register> {
    let whole = if path.is_empty() { name.to_owned() } else { format!("{path}.{name}") };
    let scope =
        program.scopes.iter().find(|scope| scope.path == path || scope.path == format!("{path}."));
    let named = scope
        .and_then(|scope| scope.names.get(name))
        .and_then(|id| program.lines.get(usize::try_from(id.0).ok()?));
    let line = named.or_else(|| program.lines.iter().rev().find(|line| line.name == whole))?;
    Some(line.register)
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
