//! Pictures of a calculation as SVG: readable in black and white, with units on their axes, and in words
//! for those who cannot see them. The page draws them again in the reader's browser from the same roles;
//! grey bands, where inputs have tolerances, are calculated here on bounds and belong to the inputs of the
//! document.

mod bars;
mod course;
mod drawn;
mod heat;
mod margins;
mod plan;
mod plot;
mod power;
mod recorded;
mod slopes;
mod stop;
mod strips;
mod svg;
#[cfg(test)]
mod tests;

use std::collections::BTreeMap;

use serde_json::{Value, json};

use course::Courses;
use drawn::how;
pub(super) use margins::margins;
use plot::Bands;
pub(super) use recorded::recorded;
pub(super) use slopes::Slopes;

use super::markup::escaped;
use crate::calculation::motion::motions;
use crate::calculation::picture_spec::{
    COURSES, Kind, PICTURES, PictureSpec, device, joined, register,
};
use crate::calculation::{Results, enclosed};
use crate::number::{Bounds, Registers, Slot};
use crate::program::{Program, Register};

/// Where the number of a picture is put, in front of its words.
pub(super) const NUMBER: &str = "<b class=\"fn\">#</b>";

/// Markup of ours with its pictures numbered in their order.
pub(super) fn numbered(html: &str) -> String {
    let mut parts = html.split(NUMBER);
    let first = parts.next().unwrap_or_default().to_owned();
    parts.zip(1..).fold(first, |to, (part, number)| {
        format!("{to}<b class=\"fn\">Figure {number}. </b>{part}")
    })
}

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
    drawn: &'static PictureSpec,
    registers: Vec<(&'static str, Register)>,
    path: String,
    roles: Roles,
    bands: Bands,
    /// What is drawn without roles.
    courses: Option<Courses>,
    /// Whether no result and no check depends on its sheet in the case that was chosen.
    idle: bool,
}

impl Figure {
    /// Whether every value that it draws exists; nothing stands in for one that does not.
    fn is_whole(&self) -> bool {
        if let Some(courses) = &self.courses {
            return courses.is_drawn();
        }
        let has =
            |role: &str| self.roles.one.contains_key(role) || self.roles.many.contains_key(role);
        self.registers.iter().all(|(role, _)| has(role))
    }
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
        let mut covered: Vec<String> = Vec::new();
        let idle = results.idle_scopes();
        let [ever, now] = [false, true].map(|chosen| results.needed(chosen));
        let mut scopes: Vec<_> = program.scopes.iter().enumerate().collect();
        scopes.sort_by_key(|(_, scope)| scope.path.len());
        let mut all = Vec::new();
        for (at, scope) in scopes {
            let inside = |path: &String| {
                path.is_empty()
                    || scope.path.strip_prefix(path).is_some_and(|rest| rest.starts_with('.'))
            };
            if covered.iter().any(inside) {
                continue;
            }
            for drawn in PICTURES.iter().filter(|drawn| drawn.sheet == scope.sheet) {
                let Some(registers) = registers(program, &scope.path, drawn) else { continue };
                // a distance that a used sheet gives and nothing rests on is not that of the machine
                let distance = registers.iter().find(|(role, _)| {
                    drawn.kind == Kind::Plan && *role == "S" && !scope.path.is_empty()
                });
                if distance.is_some_and(|(_, register)| !ever.contains(register)) {
                    continue;
                }
                let idle = idle.contains(&at)
                    || distance.is_some_and(|(_, register)| !now.contains(register));
                covered.push(scope.path.clone());
                let roles = values(results, &registers);
                let bands = bounds
                    .as_ref()
                    .and_then(|bounds| ends(bounds, &registers))
                    .map_or_else(Bands::new, |(low, high)| seen(drawn.kind.bands(&low, &high)));
                let path = scope.path.clone();
                all.push(Figure { drawn, registers, path, roles, bands, courses: None, idle });
            }
            if covered.last() == Some(&scope.path) {
                continue;
            }
            for motion in motions(program, at) {
                // a phase is drawn with its course, and not once more by itself
                covered.extend(motion.courses.iter().map(|it| joined(&scope.path, &it.name)));
                all.push(Figure {
                    drawn: &COURSES,
                    registers: Vec::new(),
                    path: scope.path.clone(),
                    roles: Roles::default(),
                    bands: Bands::new(),
                    courses: Courses::of(results, &motion),
                    idle: idle.contains(&at),
                });
            }
        }
        Self { all }
    }

    /// The pictures, each with its words.
    pub(super) fn figures(&self) -> String {
        let mut to = String::new();
        for (at, figure) in self.all.iter().enumerate() {
            let svg = if !figure.is_whole() {
                "There is nothing to draw: a value does not exist.".to_owned()
            } else if let Some(courses) = &figure.courses {
                let (plot, strips) = courses.plot();
                plot.with_strips(&figure.bands, &strips)
            } else {
                figure.drawn.kind.plot(&figure.roles).map_or_else(
                    || plan::draw(&figure.roles, device(figure.drawn.sheet)),
                    |plot| plot.draw(&figure.bands),
                )
            };
            let path = if figure.path.is_empty() {
                String::new()
            } else {
                format!("<b>{}</b>: ", escaped(&figure.path))
            };
            // drawn for a trial that chooses the case; the review as made does not show it
            let (class, number, words) = match figure.idle {
                true => (
                    " class=\"idle\"",
                    "<b class=\"fn\"></b>",
                    " In the case that the review as made chooses, nothing depends on it.",
                ),
                false => ("", NUMBER, ""),
            };
            to.push_str(&format!(
                "<figure{class}><div class=\"wide\" tabindex=\"0\" role=\"group\" aria-label=\"picture\" data-p=\"{at}\">{svg}</div><figcaption>{number}{path}{}{words}</figcaption></figure>",
                how(figure.drawn.kind)
            ));
        }
        let class = if self.all.iter().all(|figure| figure.idle) { " class=\"idle\"" } else { "" };
        if to.is_empty() { to } else { format!("<h4{class}>Pictures</h4>{to}") }
    }

    /// What the page draws them again from: kind, registers of the roles, bands, the device of a plan.
    pub(super) fn client_data(&self) -> Value {
        self.all
            .iter()
            .map(|figure| {
                let named = figure.registers.iter();
                let named = named.map(|(role, register)| ((*role).to_owned(), *register));
                let along = figure.courses.iter().flat_map(|courses| &courses.registers);
                let along = along.enumerate().map(|(at, register)| (at.to_string(), *register));
                let roles: serde_json::Map<String, Value> =
                    named.chain(along).map(|(role, it)| (role, json!(it.0))).collect();
                let kind = figure.drawn.kind;
                if let Some(courses) = &figure.courses {
                    return json!([kind.word(), roles, figure.bands, courses.client_data()]);
                }
                let device = (kind == Kind::Plan).then(|| device(figure.drawn.sheet));
                json!([kind.word(), roles, figure.bands, device])
            })
            .collect()
    }
}

/// The roles of a picture as registers, if the program has them all.
fn registers(
    program: &Program,
    path: &str,
    drawn: &PictureSpec,
) -> Option<Vec<(&'static str, Register)>> {
    drawn
        .roles
        .iter()
        .map(|(role, below, name)| Some((*role, register(program, &joined(path, below), name)?)))
        .collect()
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
        match bounds.get(register.place()?)? {
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
