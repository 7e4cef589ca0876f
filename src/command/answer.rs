//! The answer to a question of `design`: whether it may be set, and what programs read of it.

use super::question::asked_text;
use crate::calculation::{Answer, Before, Beyond, Inputs, Question, Results, Swept, written};
use crate::report::{self, Release};

/// An answer, and whether what it gives may be set: over the tolerances that are stated, too.
pub(super) struct Answered {
    pub(super) answer: Answer,
    pub(super) release: Option<Release>,
}

impl Answered {
    pub(super) fn new(answer: Answer) -> Self {
        let release = answer.found.as_ref().map(|(_, results)| Release::of(results));
        Self { answer, release }
    }

    pub(super) fn holds(&self) -> bool {
        self.release.as_ref().is_some_and(Release::granted)
    }
}

pub(super) fn as_json(
    inputs: &Inputs,
    question: &Question,
    answered: &Answered,
    rows: &[Swept],
    picture: Option<&[Vec<Swept>]>,
) -> serde_json::Value {
    let Answered { answer, release } = answered;
    let swept = |row: &Swept| {
        let broken: Vec<&str> = row.broken.iter().map(|broken| broken.what.as_str()).collect();
        serde_json::json!({
            "value": row.values.first().map(written),
            "values": row.values.iter().map(written).collect::<Vec<_>>(),
            "broken": broken,
        })
    };
    let beyond = |beyond: &Option<Beyond>| {
        beyond
            .as_ref()
            .map(|it| serde_json::json!({ "value": written(&it.value), "broken": it.broken }))
    };
    let found = answer.found.as_ref();
    let parts = serde_json::json!({
        "asked": asked_text(question, &answer.wishes),
        "input": question.by.first().map(|by| &by.input),
        "value": found.and_then(|(values, _)| values.first().map(written)),
        "inputs": question.by.iter().enumerate().map(|(at, by)| serde_json::json!({
            "input": by.input,
            "value": found.and_then(|(values, _)| values.get(at).map(written)),
            "beyond": answer.beyond.get(at).and_then(beyond),
        })).collect::<Vec<_>>(),
        "beyond": answer.beyond.first().and_then(beyond),
        "none_further_proved": answer.none_further,
        "all_before": match &answer.all_before {
            Before::All => serde_json::json!(true),
            Before::Not(value) => serde_json::json!(written(value)),
            Before::Unknown => serde_json::Value::Null,
        },
        "asked_over_tolerances": question.worst,
        "forbids": answer.forbids,
        "holds": answered.holds(),
        "run": found.zip(release.as_ref()).map(|((_, results), release)| report::results_json(results, release)),
        "table": rows.iter().map(swept).collect::<Vec<_>>(),
        "plot": picture.map(|points| points.iter().flatten().map(swept).collect::<Vec<_>>()),
    });
    let results = found.map(|(_, results)| results);
    report::calculated(results.map_or(inputs, Results::inputs), results, parts)
}
