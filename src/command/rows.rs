//! `standstill run -`: many rows at once, JSON in and JSON out, for other languages.

use std::path::Path;

use serde::Deserialize;
use serde::de::{Deserializer, Error as _, MapAccess, Visitor};
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

/// What of a report is said of each row; the rest is the same for all of them.
const OF_A_ROW: [&str; 12] = [
    "holds", "over_tolerances", "inputs", "results", "checks", "settings", "defaults", "read_as",
    "questions", "remarks", "examples", "left_as_examples",
];

/// One request: a sheet, what all rows share, and the rows.
#[derive(Deserialize)]
#[serde(deny_unknown_fields, expecting = "an object of `sheet`, `inputs` and `rows`")]
struct Request {
    sheet: String,
    #[serde(default, rename = "inputs")]
    shared: Given,
    #[serde(default = "one_row")]
    rows: Vec<Given>,
}

/// Names and values, no name twice.
#[derive(Default)]
struct Given(Map<String, Value>);

fn one_row() -> Vec<Given> {
    vec![Given::default()]
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
    let twice: Vec<Diagnostic> =
        asked.inputs.iter().filter_map(|word| said_twice(word, &request)).collect();
    if !twice.is_empty() {
        return Err(Failure::input(twice));
    }
    let (mut all, mut ending) = (Vec::new(), ExitStatus::Holds);
    let mut report = Map::new();
    for (at, row) in request.rows.iter().enumerate() {
        let mut inputs = Inputs::new(&program);
        let mut problems = Vec::new();
        for word in &asked.inputs {
            problems.extend(give(&mut inputs, word).err());
        }
        for (name, value) in request.shared.0.iter().chain(&row.0) {
            let place = Place::Argument { text: format!("row {}: {name} = {value}", at + 1) };
            let twice = request.shared.0.contains_key(name) && row.0.contains_key(name);
            if twice && inputs.is_given_up(name) {
                continue;
            }
            let outcome = text(value)
                .ok_or_else(|| not_a_value(name).at(place.clone()))
                .and_then(|text| match twice {
                    true => Err(in_both(name).at(place.clone())),
                    false => Ok(text),
                })
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
            Ok(results) if problems.is_empty() => results,
            outcome => {
                problems.extend(outcome.err().into_iter().flatten());
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
        Diagnostic::error(Name::UnreadableQuantity, format!("standard input is no request: {words}"))
            .at(Place::File { name: "standard input".to_owned() })
            .remedy(
                r#"write `{"sheet": "rated-torque", "inputs": {"P_n": "1.5 kW"}, "rows": [{"n_n": "1450 r/min"}, {"n_n": "2900 r/min"}]}`"#,
            )
    };
    // a shell may put a mark of the byte order before it
    let bytes = bytes.strip_prefix("\u{feff}".as_bytes()).unwrap_or(bytes);
    let request: Request =
        serde_json::from_slice(bytes).map_err(|error| wrong(error.to_string()))?;
    if request.rows.is_empty() {
        return Err(wrong("`rows` is empty, so there is nothing to calculate".to_owned()));
    }
    Ok(request)
}

/// An input that is typed and stands in the JSON too.
fn said_twice(word: &str, request: &Request) -> Option<Diagnostic> {
    let name = word.split_once('=')?.0.trim();
    let shared = request.shared.0.contains_key(name);
    let row = request.rows.iter().position(|row| row.0.contains_key(name));
    let there = match (shared, row) {
        (true, _) => "in `inputs`".to_owned(),
        (false, at) => format!("in row {}", at? + 1),
    };
    let words = format!("`{name}` is typed, and stands {there} of standard input too");
    Some(
        Diagnostic::error(Name::AskedTwice, words)
            .at(Place::Argument { text: word.to_owned() })
            .remedy("give it in one place"),
    )
}

/// An input that stands among those that all rows share and in a row.
fn in_both(name: &str) -> Diagnostic {
    let words = format!("`{name}` stands in `inputs`, for all rows, and in this row too");
    Diagnostic::error(Name::AskedTwice, words)
        .remedy("give it in one place: in `inputs`, or in every row")
}

impl<'de> Deserialize<'de> for Given {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        from.deserialize_map(GivenOnce)
    }
}

struct GivenOnce;

impl<'de> Visitor<'de> for GivenOnce {
    type Value = Given;

    fn expecting(&self, to: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        to.write_str("an object of names and values")
    }

    fn visit_map<A: MapAccess<'de>>(self, mut all: A) -> Result<Given, A::Error> {
        let mut given = Map::new();
        while let Some((name, value)) = all.next_entry::<String, Value>()? {
            if given.contains_key(&name) {
                return Err(A::Error::custom(format!("`{name}` stands twice in one object")));
            }
            given.insert(name, value);
        }
        Ok(Given(given))
    }
}

/// A value as it would be typed.
fn text(value: &Value) -> Option<String> {
    match value {
        Value::String(text) => Some(text.clone()),
        // 2010.0 of a table of floats is 2010
        Value::Number(number) => {
            let number = number.to_string();
            Some(number.strip_suffix(".0").map_or(number.clone(), str::to_owned))
        }
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
    .remedy("write a text as it would be typed: a number with its unit, such as \"1450 r/min\", or one of the words of a choice, such as \"yes\"")
}
