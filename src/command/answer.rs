//! The answer to a question of `design`, for programs.

use super::question::asked_text;
use crate::calculation::{Answer, Before, Beyond, Question, Swept, written};
use crate::program::Program;
use crate::report::{self, Release};

pub(super) fn as_json(
    program: &Program,
    question: &Question,
    answer: &Answer,
    rows: &[Swept],
    picture: Option<&[Vec<Swept>]>,
) -> serde_json::Value {
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
        "run": found.map(|(_, results)| report::results_json(results, &Release::of(results))),
        "table": rows.iter().map(swept).collect::<Vec<_>>(),
        "plot": picture.map(|points| points.iter().flatten().map(swept).collect::<Vec<_>>()),
    });
    report::document(program, parts)
}
