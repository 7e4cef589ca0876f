//! Pictures of a calculation as SVG: readable in black and white, with units on their axes, and in words
//! for those who cannot see them. The page draws them again in the reader's browser from the same roles;
//! grey bands, where inputs have tolerances, are worked out here on bounds and belong to the inputs of the
//! document.

mod bars;
mod heat;
mod margins;
mod plan;
mod plot;
mod power;
mod slopes;
mod stop;
mod svg;
#[cfg(test)]
mod tests;

use std::collections::BTreeMap;

use serde_json::{Value, json};

pub(super) use margins::margins;
use plot::{Bands, Plot};
pub(super) use slopes::Slopes;

use super::markup::escaped;
use crate::calculation::{Results, enclosed};
use crate::number::{Bounds, Registers, Slot};
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
    Heat,
    Brake,
    Plan,
}

impl Kind {
    fn word(self) -> &'static str {
        match self {
            Self::Stop => "stop",
            Self::RunDown => "rundown",
            Self::Power => "power",
            Self::Heat => "heat",
            Self::Brake => "brake",
            Self::Plan => "plan",
        }
    }

    fn plot(self, roles: &Roles) -> Option<Plot> {
        Some(match self {
            Self::Stop => stop::plot(roles),
            Self::RunDown => stop::plot_run_down(roles),
            Self::Power => power::plot(roles),
            Self::Heat => heat::plot(roles),
            Self::Brake => heat::plot_brake(roles),
            Self::Plan => return None,
        })
    }

    fn bands(self, low: &Roles, high: &Roles) -> Bands {
        match self {
            Self::Stop => stop::bands(low, high),
            Self::RunDown => stop::bands_run_down(low, high),
            Self::Power => power::bands(low, high),
            Self::Heat => heat::bands(low, high),
            Self::Brake => heat::bands_brake(low, high),
            Self::Plan => Bands::new(),
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
            p_release "" "phi_stop",
        },
    },
    Drawn {
        kind: Kind::Stop,
        sheet: "ramp-then-release",
        roles: roles! {
            n_0 "" "n_0", n_end "" "n_end", J "" "J_ref", T_0 "" "T_0", b "" "b", c "" "c", T_load "" "T_load",
            t_release "coast_full" "t_stop", t_before "" "t_before", t_cut "" "t_release", t_ramp "" "t_ramp_slow", f "" "f",
            x "" "x", n_left "" "n_left", t_early "" "t_early", t_late "" "t_late", t_works "" "t_ramp_works", t_fails "" "t_ramp_fails",
            p_works "" "phi_ramp_works", p_fails "" "phi_ramp_fails", p_release "coast_full" "phi_stop", lead "" "lead",
        },
    },
    Drawn {
        kind: Kind::Stop,
        sheet: "safe-stop",
        roles: roles! {
            n_0 "" "n_0", n_end "" "n_end", J "" "J_ref", T_0 "" "T_0", b "" "b", c "" "c", T_load "" "T_load",
            t_release "release" "t_stop", t_before "ss1" "t_before", t_cut "ss1" "t_release", t_ramp "ss1" "t_ramp_slow", f "" "f",
            x "ss1" "x", n_left "ss1" "n_left", t_early "ss1" "t_early", t_late "ss1" "t_late", t_works "ss1" "t_ramp_works", t_fails "ss1" "t_ramp_fails",
            p_works "ss1" "phi_ramp_works", p_fails "ss1" "phi_ramp_fails", p_release "release" "phi_stop", i "" "i",
        },
    },
    Drawn {
        kind: Kind::Power,
        sheet: "safe-stop",
        roles: roles! {
            P_peak "regen" "P_peak", P_mean "resistor" "P_mean", t_ramp "ss1" "t_ramp_quick", t_cycle "" "t_cycle", E "regen" "E",
            C "" "C_link", U_0 "" "U_0", U_chop "" "U_chop", U_trip "" "U_trip", chopper "" "chopper",
        },
    },
    Drawn {
        kind: Kind::Power,
        sheet: "brake-resistor",
        roles: roles! {
            P_peak "" "P_peak", P_mean "window" "P_mean", t_ramp "" "t_ramp", t_cycle "" "t_cycle", E "" "E",
        },
    },
    Drawn {
        kind: Kind::Heat,
        sheet: "resistor-pulse",
        roles: roles! {
            P_k "" "P_k", t_k "" "t_k", R_th "" "R_th", tau "" "tau", T_air "" "T_air", limit "" "dT_max",
            d_cold "" "d_cold", d_warm "" "d_warm", x_0 "" "x_0",
        },
    },
    Drawn {
        kind: Kind::Heat,
        sheet: "motor-thermal",
        roles: roles! {
            P_k "" "P_k", t_k "" "t_k", R_th "" "R_th", tau "" "tau", T_air "" "T_air", limit "" "d_perm",
            d_cold "" "d_cold", d_warm "" "d_warm", x_0 "" "x_0",
        },
    },
    Drawn {
        kind: Kind::Brake,
        sheet: "brake-heating",
        roles: roles! {
            d_one "" "d_one", d_peak "" "d_peak", z "" "z", tau "" "tau", T_air "" "T_air", T_max "" "T_max",
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

/// The value of each role in coherent SI; a series for some.
#[derive(Default)]
struct Roles {
    one: BTreeMap<&'static str, f64>,
    many: BTreeMap<&'static str, Vec<f64>>,
}

impl Roles {
    fn try_get(&self, name: &str) -> Option<f64> {
        self.one.get(name).copied()
    }

    fn get(&self, name: &str) -> f64 {
        self.try_get(name).unwrap_or(0.0)
    }

    fn many(&self, name: &str) -> &[f64] {
        self.many.get(name).map_or(&[], Vec::as_slice)
    }
}

/// A picture of a calculation: of its own sheet, or of one that it uses.
struct Figure {
    drawn: &'static Drawn,
    registers: Vec<(&'static str, Register)>,
    path: String,
    roles: Roles,
    bands: Bands,
}

/// The pictures of a calculation.
pub(super) struct Pictures {
    all: Vec<Figure>,
}

impl Pictures {
    /// Looks for what can be drawn of a calculation.
    pub(super) fn of(results: &Results) -> Self {
        let program = results.program();
        let bounds = results.inputs().any_spread().then(|| enclosed(program, results.inputs()));
        // a sheet that is drawn whole covers those that it uses
        let mut covered: Vec<&str> = Vec::new();
        let mut scopes: Vec<_> = program.scopes.iter().collect();
        scopes.sort_by_key(|scope| scope.path.len());
        let mut all = Vec::new();
        for scope in scopes {
            let inside = |path: &&str| {
                path.is_empty()
                    || scope.path.strip_prefix(*path).is_some_and(|rest| rest.starts_with('.'))
            };
            if covered.iter().any(inside) {
                continue;
            }
            for drawn in DRAWN.iter().filter(|drawn| drawn.sheet == scope.sheet) {
                let Some(registers) = registers(program, &scope.path, drawn) else { continue };
                covered.push(&scope.path);
                let roles = values(results, &registers);
                let bands = bounds
                    .as_ref()
                    .and_then(|bounds| ends(bounds, &registers))
                    .map_or_else(Bands::new, |(low, high)| seen(drawn.kind.bands(&low, &high)));
                all.push(Figure { drawn, registers, path: scope.path.clone(), roles, bands });
            }
        }
        Self { all }
    }

    /// The pictures, each with its words.
    pub(super) fn figures(&self) -> String {
        let mut to = String::new();
        for (at, figure) in self.all.iter().enumerate() {
            let svg = figure
                .drawn
                .kind
                .plot(&figure.roles)
                .map_or_else(|| plan::draw(&figure.roles), |plot| plot.draw(&figure.bands));
            let path = if figure.path.is_empty() {
                String::new()
            } else {
                format!("<b>{}</b>: ", escaped(&figure.path))
            };
            to.push_str(&format!(
                "<figure><div class=\"wide\" tabindex=\"0\" role=\"group\" aria-label=\"picture\" data-p=\"{at}\">{svg}</div><figcaption>{path}{}</figcaption></figure>",
                how(figure.drawn.kind)
            ));
        }
        if to.is_empty() { to } else { format!("<h4>Pictures</h4>{to}") }
    }

    /// What the page draws them again from: kind, registers of the roles, bands.
    pub(super) fn carried(&self) -> Value {
        self.all
            .iter()
            .map(|figure| {
                let roles: serde_json::Map<String, Value> = figure
                    .registers
                    .iter()
                    .map(|(role, register)| ((*role).to_owned(), json!(register.0)))
                    .collect();
                json!([figure.drawn.kind.word(), roles, figure.bands])
            })
            .collect()
    }
}

/// How a picture comes about.
fn how(kind: Kind) -> &'static str {
    match kind {
        Kind::Stop => {
            "Speed and travel over time. Corner points are the program's own values; the ramp is drawn at its slowest; run-downs between them are the angular momentum balance with the sheet's friction, in 24 steps of speed, fitted to the time and the travel worked out."
        }
        Kind::RunDown => {
            "Speed and travel over time. The ends are the program's own values; the curve is the angular momentum balance with the sheet's friction, in 24 steps of speed, fitted to them."
        }
        Kind::Power => {
            "Power drawn as a straight fall from the program's own peak to zero within the quickest ramp. The sheet lets the resistor convert all of the energy, on the safe side; what the DC link takes up first is drawn from the energy of a capacitor."
        }
        Kind::Heat => {
            "The ends of each part are the program's own values; between them the rise moves to its last value with the sheet's time constant."
        }
        Kind::Brake => {
            "Two lines that the temperature goes to and fro between. The greatest rise is the program's own value; the way to it is a geometric series of like stops."
        }
        Kind::Plan => {
            "Plan view to scale. The parts of the sum are the program's own values; what the distance has beyond them comes from rounding up or from the least distance."
        }
    }
}

/// The roles of a picture as registers, if the program has them all.
fn registers(
    program: &Program,
    path: &str,
    drawn: &Drawn,
) -> Option<Vec<(&'static str, Register)>> {
    let whole = |below: &str| match (path, below) {
        ("", below) => below.to_owned(),
        (path, "") => path.to_owned(),
        (path, below) => format!("{path}.{below}"),
    };
    drawn
        .roles
        .iter()
        .map(|(role, below, name)| Some((*role, register(program, &whole(below), name)?)))
        .collect()
}

fn register(program: &Program, path: &str, name: &str) -> Option<Register> {
    let whole = if path.is_empty() { name.to_owned() } else { format!("{path}.{name}") };
    let scope = program.scopes.iter().find(|scope| scope.path == path);
    let named = scope
        .and_then(|scope| scope.names.get(name))
        .and_then(|id| program.lines.get(usize::try_from(id.0).ok()?));
    let line = named.or_else(|| program.lines.iter().rev().find(|line| line.name == whole))?;
    Some(line.register)
}

fn values(results: &Results, registers: &[(&'static str, Register)]) -> Roles {
    let mut roles = Roles::default();
    for (role, register) in registers {
        match results.run().register(*register) {
            Ok(Slot::One(value)) => {
                roles.one.insert(role, value.to_f64());
            }
            Ok(Slot::Many(all)) => {
                roles.many.insert(role, all.iter().map(crate::number::Exact::to_f64).collect());
            }
            _ => {}
        }
    }
    roles
}

/// Both ends of each role within the tolerances; none where one has no end.
fn ends(
    bounds: &Registers<Bounds>,
    registers: &[(&'static str, Register)],
) -> Option<(Roles, Roles)> {
    let (mut low, mut high) = (Roles::default(), Roles::default());
    for (role, register) in registers {
        match bounds.get(usize::try_from(register.0).ok()?)? {
            Slot::One(value) => {
                let range = value.range?;
                low.one.insert(role, range.low);
                high.one.insert(role, range.high);
            }
            Slot::Many(all) => {
                let ranges = all.iter().map(|value| value.range).collect::<Option<Vec<_>>>()?;
                low.many.insert(role, ranges.iter().map(|range| range.low).collect());
                high.many.insert(role, ranges.iter().map(|range| range.high).collect());
            }
            Slot::Truth(_) | Slot::Empty => return None,
        }
    }
    let all = low.one.values().chain(high.one.values());
    let all = all.chain(low.many.values().flatten()).chain(high.many.values().flatten());
    all.copied().all(f64::is_finite).then_some((low, high))
}

/// The bands that can be seen, with the digits that a picture shows.
fn seen(bands: Bands) -> Bands {
    let wide = |band: &Vec<(f64, f64)>| {
        // the area of a closed line, against that of the frame around it
        let next = band.iter().skip(1).chain(band.first());
        let area: f64 = band.iter().zip(next).map(|(a, b)| a.0 * b.1 - b.0 * a.1).sum();
        let far = band.iter().fold(0.0, |far: f64, point| far.max(point.0));
        let high = band.iter().fold(0.0, |high: f64, point| high.max(point.1));
        area.abs() > 2e-4 * far * high
    };
    let short = |x: f64| format!("{x:.5e}").parse().unwrap_or(x);
    let all = bands.into_iter().map(|panel| {
        let panel = panel
            .into_iter()
            .filter(|band| band.iter().all(|(x, y)| x.is_finite() && y.is_finite()) && wide(band));
        panel.map(|band| band.into_iter().map(|(x, y)| (short(x), short(y))).collect()).collect()
    });
    all.collect()
}
