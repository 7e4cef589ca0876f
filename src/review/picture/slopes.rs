//! Sensitivities as bars; calculated again in the reader's browser by two runs for each input.

use serde_json::{Value, json};

use super::bars::{Bar, Frame, draw};
use super::svg::four_digits;
use crate::calculation::{Results, Sensitivities, Sensitivity, Step, difference};
use crate::program::{Output, Type};
use crate::review::client_data::{Formats, NUMBER};
use crate::unit::Unit;

/// Most bars of a picture.
const BARS: usize = 8;

/// Below this share of the strongest an input is not shown.
const FAINT: f64 = 1e-3;

/// Slopes whose two sides differ by more than this share stand at a kink.
const KINK: f64 = 1e-3;

/// The sensitivities of some results of a calculation.
pub(in crate::review) struct Slopes {
    all: Vec<(Output, Vec<Slope>)>,
}

/// How far a result moves for 1 % of an input.
struct Slope {
    name: String,
    /// On both sides, in the unit of the result.
    sides: (f64, f64),
}

impl Slopes {
    /// Of the results asked for by place, or of all that depend on something.
    pub(in crate::review) fn of(results: &Results, asked: &[usize]) -> Self {
        let Ok(found) = Sensitivities::compute(results.program(), results.inputs()) else {
            return Self { all: Vec::new() };
        };
        let program = results.program();
        let outputs: Vec<usize> =
            if asked.is_empty() { (0..program.outputs.len()).collect() } else { asked.to_vec() };
        let mut all = Vec::new();
        for at in outputs {
            let Some(output) = program.outputs.get(at) else { continue };
            if !matches!(output.type_, Type::Number { series: false, .. }) {
                continue;
            }
            let factor = difference(&output.unit).factor.as_f64();
            // a value of zero has no 1 %
            let has_part = |sensitivity: &&Sensitivity| !matches!(sensitivity.step, Step::One(_));
            let mut influences: Vec<_> =
                found.all().iter().filter(|it| it.output == at).filter(has_part).collect();
            // equals in the order of the inputs, whatever rounding makes of them
            let size = |x: f64| format!("{:.5e}", x.abs()).parse().unwrap_or(x);
            influences.sort_by(|a, b| {
                let (a_size, b_size): (f64, f64) = (size(a.change), size(b.change));
                b_size.total_cmp(&a_size).then(a.input.cmp(&b.input))
            });
            let slopes: Vec<Slope> = influences
                .iter()
                .map(|sensitivity| Slope {
                    name: sensitivity.name.clone(),
                    sides: (sensitivity.within.low / factor, sensitivity.within.high / factor),
                })
                .collect();
            if asked.is_empty() && slopes.is_empty() {
                continue;
            }
            all.push((output.clone(), slopes));
        }
        Self { all }
    }

    /// The pictures.
    pub(in crate::review) fn figures(&self) -> String {
        let mut to = String::from("<h4>Sensitivities</h4>");
        for (at, (output, slopes)) in self.all.iter().enumerate() {
            let svg = picture(&output.name, &difference(&output.unit), slopes);
            to.push_str(&format!("<figure><div class=\"wide\" tabindex=\"0\" role=\"group\" aria-label=\"picture\" data-sl=\"{at}\">{svg}</div></figure>"));
        }
        to.push_str("<p class=\"rest\">How far a result moves for 1 % more of one input (1 K of a temperature), every other standing still: slopes client_data through every step, not a second trial. A result that is rounded stands still between its steps.</p>");
        to
    }

    /// What the page draws them again from: of each result name, register and way of writing; which inputs
    /// are temperatures on the scale.
    pub(in crate::review) fn client_data(&self, results: &Results, formats: &Formats) -> Value {
        let outputs: Vec<Value> = self
            .all
            .iter()
            .map(|(output, _)| {
                json!([
                    output.name,
                    output.register.0,
                    formats.number(&NUMBER, &difference(&output.unit))
                ])
            })
            .collect();
        let inputs = results.program().inputs.iter().enumerate();
        let points: Vec<usize> = inputs
            .filter(|(_, input)| matches!(input.type_, Type::Number { point: true, .. }))
            .map(|(at, _)| at)
            .collect();
        json!({ "o": outputs, "p": points })
    }
}

fn bars(unit: &Unit, slopes: &[Slope]) -> Vec<Bar> {
    let middle = |slope: &Slope| (slope.sides.0 + slope.sides.1) / 2.0;
    let strongest = slopes.iter().fold(0.0, |most: f64, slope| most.max(middle(slope).abs()));
    slopes
        .iter()
        .filter(|slope| middle(slope).abs() >= FAINT * strongest)
        .take(BARS)
        .map(|slope| {
            let change = middle(slope);
            let sign = if change > 0.0 { "+" } else { "" };
            let kink = slope.sides.1 - slope.sides.0 > KINK * change.abs();
            let number = if kink {
                format!("{} to {}", four_digits(slope.sides.0), four_digits(slope.sides.1))
            } else {
                format!("{sign}{}", four_digits(change))
            };
            Bar {
                name: slope.name.clone(),
                part: if strongest > 0.0 { change / strongest } else { 0.0 },
                words: format!("{number} {}", unit.symbol).trim_end().to_owned(),
            }
        })
        .collect()
}

fn picture(name: &str, unit: &Unit, slopes: &[Slope]) -> String {
    let bars = bars(unit, slopes);
    let words_of_bars: Vec<String> =
        bars.iter().map(|bar| format!("{} {}", bar.name, bar.words)).collect();
    let words = if words_of_bars.is_empty() {
        "Nothing moves it here: it depends on no number, or stands still between its steps."
            .to_owned()
    } else {
        format!("For 1 % more of an input: {}.", words_of_bars.join("; "))
    };
    let title = format!("Sensitivities of {name}");
    let frame = Frame {
        title: title.clone(),
        words,
        head: if words_of_bars.is_empty() {
            format!("{title}: nothing here, it stands still between its steps")
        } else {
            title
        },
        left: "less",
        right: "more",
    };
    draw(&frame, &bars)
}
