//! The case files: one statement a line.

/// One case.
#[derive(Debug)]
pub(crate) struct Case {
    /// Line of its title.
    pub(crate) line: usize,
    /// What it shows.
    pub(crate) title: String,
    /// Where its figures come from.
    pub(crate) source: String,
    /// Inputs as typed.
    pub(crate) inputs: Vec<(String, String)>,
    /// What must come out.
    pub(crate) expectations: Vec<Expectation>,
}

/// What must come out.
#[derive(Debug)]
pub(crate) enum Expectation {
    /// A result within a tolerance, absolute with its unit or relative without.
    Gives {
        /// Result.
        name: String,
        /// Value, or several with commas between.
        value: String,
        /// Tolerance.
        tolerance: String,
    },
    /// A check that must fail.
    Fails(String),
    /// A problem in which the run must end.
    Error(String),
}

/// Reads a case file: the sheet and its cases.
pub(crate) fn read(text: &str) -> Result<(String, Vec<Case>), String> {
    let mut sheet = String::new();
    let mut source = String::new();
    let mut cases: Vec<Case> = Vec::new();
    for (at, line) in text.lines().enumerate() {
        let line = without_comment(line).trim();
        let trouble = |what: &str| format!("line {}: {what}: {line}", at + 1);
        if line.is_empty() {
            continue;
        }
        if let Some(name) = line.strip_prefix("sheet ") {
            name.trim().clone_into(&mut sheet);
        } else if let Some(words) = line.strip_prefix("source ") {
            words.trim().trim_matches('"').clone_into(&mut source);
        } else if let Some(title) = line.strip_prefix("case ") {
            let (title, source) = (title.trim().to_owned(), source.clone());
            cases.push(Case {
                line: at + 1,
                title,
                source,
                inputs: Vec::new(),
                expectations: Vec::new(),
            });
        } else {
            let case = cases.last_mut().ok_or_else(|| trouble("stands before the first case"))?;
            if let Some(given) = line.strip_prefix("gives ") {
                let (name, rest) = given
                    .split_once('=')
                    .ok_or_else(|| trouble("`gives name = value within tolerance`"))?;
                let (value, tolerance) =
                    rest.split_once(" within ").ok_or_else(|| trouble("says no tolerance"))?;
                case.expectations.push(Expectation::Gives {
                    name: name.trim().to_owned(),
                    value: value.trim().to_owned(),
                    tolerance: tolerance.trim().to_owned(),
                });
            } else if let Some(text) = line.strip_prefix("fails ") {
                case.expectations
                    .push(Expectation::Fails(text.trim().trim_matches('"').to_owned()));
            } else if let Some(name) = line.strip_prefix("error ") {
                case.expectations.push(Expectation::Error(name.trim().to_owned()));
            } else {
                let (name, value) = line.split_once('=').ok_or_else(|| trouble("does not read"))?;
                case.inputs.push((name.trim().to_owned(), value.trim().to_owned()));
            }
        }
    }
    if let Some(idle) = cases.iter().find(|case| case.expectations.is_empty()) {
        return Err(format!("line {}: the case \"{}\" expects nothing", idle.line, idle.title));
    }
    Ok((sheet, cases))
}

fn without_comment(line: &str) -> &str {
    let mut inside = false;
    for (at, sign) in line.char_indices() {
        match sign {
            '"' => inside = !inside,
            '#' if !inside => return &line[..at],
            _ => {}
        }
    }
    line
}
