//! `standstill run -`: many rows at once, JSON in and JSON out, for other languages.

use std::path::Path;

use serde_json::{Map, Value, json};

use super::arguments::Run;
use super::assignments::give;
use super::failure::{Ending, Failure};
use super::print::Terminal;
use super::{ExitStatus, checked_sheet};
use crate::calculation::{Inputs, Results};
use crate::diagnostic::{Diagnostic, Name, Place, render_json};
use crate::environment::Environment;
use crate::report::{self, Release};

/// What may stand in the object that is read.
const KEYS: [&str; 3] = ["sheet", "inputs", "rows"];

/// What of a report is said of each row; the rest is the same for all of them.
const OF_A_ROW: [&str; 8] =
    ["holds", "over_tolerances", "inputs", "results", "checks", "settings", "defaults", "read_as"];

/// One request: a sheet, what all rows share, and the rows.
struct Request {
    sheet: String,
    shared: Map<String, Value>,
    rows: Vec<Map<String, Value>>,
}

pub(super) fn run(asked: &Run, environment: &dyn Environment, terminal: &mut Terminal) -> Ending {
    let otherwise = asked.worst || asked.slopes || asked.steps || asked.spread.is_some();
    if otherwise || asked.output.is_some() || asked.given.from.is_some() {
        let words = "rows from standard input are calculated for their nominal values, without further options";
        return Err(Failure::input(
            Diagnostic::error(Name::TwoStatements, words)
                .at(Place::Argument { text: "-".to_owned() })
                .remedy("leave the options out, or run the sheet by its name"),
        ));
    }
    let bytes = environment.read(Path::new("-")).map_err(Failure::file)?;
    let request = read(&bytes).map_err(Failure::input)?;
    let program = checked_sheet(&request.sheet, environment)?;
    let (mut all, mut ending) = (Vec::new(), ExitStatus::Holds);
    let mut report = Map::new();
    for (at, row) in request.rows.iter().enumerate() {
        let mut inputs = Inputs::new(&program);
        let mut problems = Vec::new();
        for word in &asked.inputs {
            problems.extend(give(&mut inputs, word).err());
        }
        let shared = request.shared.iter().filter(|(name, _)| !row.contains_key(*name));
        for (name, value) in shared.chain(row) {
            let place = Place::Argument { text: format!("row {}: {name} = {value}", at + 1) };
            let outcome = text(value)
                .ok_or_else(|| not_a_value(name).at(place.clone()))
                .and_then(|text| inputs.write_from(name, &text, place.clone()));
            if let Err(problem) = outcome {
                inputs.give_up(name, place);
                problems.push(problem);
            }
        }
        if asked.example {
            inputs.fill_with_examples();
        }
        let outcome = Results::compute(&program, &inputs);
        let results = match outcome {
            Ok(results) if problems.is_empty() && results.unused_errors().is_empty() => results,
            outcome => {
                match outcome {
                    Ok(results) => problems.extend(results.unused_errors()),
                    Err(found) => problems.extend(found),
                }
                ending = ExitStatus::WrongInput;
                let found: Vec<Value> = problems.iter().map(render_json).collect();
                all.push(json!({ "row": at + 1, "problems": found }));
                continue;
            }
        };
        let release = Release::of(&results);
        if !release.granted() && ending == ExitStatus::Holds {
            ending = ExitStatus::Fails;
        }
        let Value::Object(mut whole) = report::results_json(&results, &release) else { continue };
        let mut said: Map<String, Value> =
            OF_A_ROW.iter().filter_map(|key| whole.remove_entry(*key)).collect();
        said.insert("row".to_owned(), json!(at + 1));
        all.push(Value::Object(said));
        report = whole;
    }
    report.insert("sheet".to_owned(), json!(request.sheet));
    report.insert("holds".to_owned(), json!(ending == ExitStatus::Holds));
    report.insert("rows".to_owned(), json!(all));
    terminal.json(Value::Object(report));
    Ok(ending)
}

/// The request, or what is wrong with it.
fn read(bytes: &[u8]) -> Result<Request, Diagnostic> {
    let wrong = |words: String| {
        Diagnostic::error(Name::UnreadableQuantity, words)
            .at(Place::File { name: "standard input".to_owned() })
            .remedy(
                r#"write `{"sheet": "ramp-stop", "inputs": {"J": "0.2 kg·m²"}, "rows": [{"n_0": "1450 r/min"}]}`"#,
            )
    };
    let value: Value = serde_json::from_slice(bytes)
        .map_err(|error| wrong(format!("standard input is not JSON: {error}")))?;
    let Value::Object(mut object) = value else {
        return Err(wrong("standard input is not a JSON object".to_owned()));
    };
    if let Some(key) = object.keys().find(|key| !KEYS.contains(&key.as_str())) {
        return Err(wrong(format!(
            "nothing is called `{key}` here; there are `sheet`, `inputs` and `rows`"
        )));
    }
    let Some(Value::String(sheet)) = object.remove("sheet") else {
        return Err(wrong("`sheet` does not name a sheet".to_owned()));
    };
    let shared = match object.remove("inputs") {
        None => Map::new(),
        Some(Value::Object(inputs)) => inputs,
        Some(_) => return Err(wrong("`inputs` is not an object of names and values".to_owned())),
    };
    let rows = match object.remove("rows") {
        None => vec![Map::new()],
        Some(Value::Array(rows)) => rows
            .into_iter()
            .map(|row| match row {
                Value::Object(row) => Ok(row),
                _ => Err(wrong(
                    "`rows` holds something that is not an object of names and values".to_owned(),
                )),
            })
            .collect::<Result<Vec<_>, _>>()?,
        Some(_) => return Err(wrong("`rows` is not a list".to_owned())),
    };
    Ok(Request { sheet, shared, rows })
}

/// A value as it would be typed.
fn text(value: &Value) -> Option<String> {
    match value {
        Value::String(text) => Some(text.clone()),
        Value::Number(number) => Some(number.to_string()),
        Value::Array(values) => {
            let values: Option<Vec<String>> = values.iter().map(text).collect();
            values.map(|values| values.join(", "))
        }
        Value::Null | Value::Bool(_) | Value::Object(_) => None,
    }
}

fn not_a_value(name: &str) -> Diagnostic {
    Diagnostic::error(
        Name::UnreadableQuantity,
        format!("`{name}` is not a text, a number or a list of them"),
    )
    .remedy("write a text with its unit, such as \"1450 r/min\"")
}
