//! Sensitivities as bars; calculated again in the reader's browser by two runs for each input.

use serde_json::{Value, json};

use super::bars::{Bar, Frame, draw};
use crate::calculation::{Results, Sensitivities, difference};
use crate::program::{Output, Type};
use crate::report::{Influence, SENSITIVITY, UNMOVED, influences};
use crate::review::client_data::{Formats, NUMBER};

/// Most bars of a picture.
const BARS: usize = 8;

/// The sensitivities of some results of a calculation, as every report has them.
pub(in crate::review) struct Slopes {
    all: Vec<(Output, Vec<Bar>)>,
}

impl Slopes {
    /// Of the results asked for by place, or of all that depend on something.
    pub(in crate::review) fn of(results: &Results, asked: &[usize]) -> Self {
        let Ok(found) = Sensitivities::compute(results.program(), results.inputs()) else {
            return Self { all: Vec::new() };
        };
        let outputs = &results.program().outputs;
        let every: Vec<usize> = (0..outputs.len()).collect();
        let all = if asked.is_empty() { &every } else { asked }
            .iter()
            .filter_map(|at| outputs.get(*at))
            .filter(|output| matches!(output.type_, Type::Number { series: false, .. }))
            .map(|output| (output.clone(), bars(&found, output)))
            .filter(|(_, bars)| !asked.is_empty() || !bars.is_empty());
        Self { all: all.collect() }
    }

    /// The pictures.
    pub(in crate::review) fn figures(&self) -> String {
        let mut to = String::from("<h4>Sensitivities</h4>");
        for (at, (output, bars)) in self.all.iter().enumerate() {
            let svg = picture(&output.name, bars);
            to.push_str(&format!("<figure><div class=\"wide\" tabindex=\"0\" role=\"group\" aria-label=\"picture\" data-sl=\"{at}\">{svg}</div></figure>"));
        }
        to.push_str(&format!(
            "<p class=\"rest\">{SENSITIVITY}. The strongest {BARS} are drawn.</p>"
        ));
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

fn bars(found: &Sensitivities, output: &Output) -> Vec<Bar> {
    let (all, _) = influences(found, output);
    let bar = |it: Influence| Bar {
        name: it.name,
        part: it.share.unwrap_or(0.0),
        words: it.change,
        below: match it.without_steps.as_str() {
            "" => String::new(),
            words => format!("without steps {words}"),
        },
    };
    all.into_iter().take(BARS).map(bar).collect()
}

fn picture(name: &str, bars: &[Bar]) -> String {
    let words_of_bars: Vec<String> = bars
        .iter()
        .map(|bar| match bar.below.as_str() {
            "" => format!("{} {}", bar.name, bar.words),
            below => format!("{} {} ({below})", bar.name, bar.words),
        })
        .collect();
    let title = format!("Sensitivities of {name}");
    let (words, head) = match bars {
        [] => (format!("{UNMOVED}."), format!("{title}: {UNMOVED}")),
        _ => (format!("For 1 % more of an input: {}.", words_of_bars.join("; ")), title.clone()),
    };
    let frame = Frame { title, words, head, left: "less", right: "more" };
    draw(&frame, bars)
}
