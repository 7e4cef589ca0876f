//! `standstill form`: a fresh workbook to be filled in.

use std::path::Path;

use std::sync::Arc;

use super::arguments::{Form, FreshForm};
use super::print::Terminal;
use super::{Ending, check_sheet, find_sheet, output};
use crate::diagnostic::{Diagnostic, Name, Place, Problems, render_json};
use crate::environment::Environment;
use crate::program::Program;
use crate::project::Project;
use crate::report::{self, Identity};
use crate::workbook::{self, FormOptions};

pub(super) fn form(
    asked: &FreshForm,
    environment: &dyn Environment,
    terminal: &mut Terminal,
) -> Ending {
    match written(asked, environment) {
        Ok(programs) => {
            let sheets = report::identities(programs.iter().map(|program| &**program));
            let names =
                programs.iter().filter_map(|program| Some(program.scopes.first()?.sheet.as_str()));
            let names: Vec<&str> = names.collect();
            if asked.json {
                let sheets: Vec<_> = sheets.iter().map(Identity::json).collect();
                terminal.json(
                    serde_json::json!({ "book": asked.output, "asks_for": names, "sheets": sheets, "written": true }),
                );
            } else {
                terminal.say(format!("{} asks for {}", asked.output, names.join(", ")));
                terminal.say("fill in the boxes and save it, then:");
                terminal.say(format!("  standstill fill {}", quoted(&asked.output)));
            }
            Ending::Holds
        }
        Err((problems, ending)) => {
            if asked.json {
                let all: Vec<_> = problems.iter().map(render_json).collect();
                terminal.json(
                    serde_json::json!({ "book": asked.output, "problems": all, "written": false }),
                );
            } else {
                terminal.problems(&problems, Form::Long, "Nothing was written.");
            }
            ending
        }
    }
}

fn written(
    asked: &FreshForm,
    environment: &dyn Environment,
) -> Result<Vec<Arc<Program>>, (Problems, Ending)> {
    let one = |(problem, ending): (Diagnostic, Ending)| (problem.into(), ending);
    let project = Project::new(environment);
    let folder = Path::new(&asked.output).parent().unwrap_or(Path::new(""));
    let mut programs = Vec::new();
    let mut asking = Vec::new();
    for name in &asked.sheets {
        let source = find_sheet(name, environment).map_err(one)?;
        let checked = check_sheet(&source, environment);
        let program = checked.program.ok_or((checked.problems.into(), Ending::WrongSheet))?;
        asking.push((Arc::clone(&program), project.reference_from(&source, folder)));
        programs.push(program);
    }
    let options = FormOptions { examples: asked.example, uses: asked.uses, worst: asked.worst };
    if let Some(twice) = twice(&programs).filter(|_| asked.uses) {
        let problem = Diagnostic::error(
            Name::AskedTwice,
            format!("`{twice}` is asked for twice, and the results of the sheets it uses can have one place alone"),
        )
        .at(Place::File { name: asked.output.clone() })
        .remedy("ask for it once, or leave `--uses` out");
        return Err((problem.into(), Ending::WrongInput));
    }
    let bytes = workbook::form_asking(&asking, options)
        .map_err(|problem| (problem.into(), Ending::File))?;
    output::save(&asked.output, &bytes, &[".xlsx"], asked.force, environment).map_err(one)?;
    Ok(programs)
}

/// A sheet that is among the programs twice.
fn twice(programs: &[Arc<Program>]) -> Option<&str> {
    let name = |program: &'_ Arc<Program>| program.scopes.first().map(|scope| scope.sheet.clone());
    programs.iter().enumerate().find_map(|(at, program)| {
        let again = programs.iter().take(at).any(|before| name(before) == name(program));
        program.scopes.first().map(|scope| scope.sheet.as_str()).filter(|_| again)
    })
}

/// A name as a shell reads it.
fn quoted(name: &str) -> String {
    let plain = name.chars().all(|sign| sign.is_alphanumeric() || "._-/\\:".contains(sign));
    if plain { name.to_owned() } else { format!("'{}'", name.replace('\'', "'\\''")) }
}
