//! `standstill form`: a fresh workbook to be filled in, or a page that calculates in a browser.

use std::path::Path;

use std::sync::Arc;

use super::arguments::FreshForm;
use super::failure::{Ending, Failure};
use super::print::Terminal;
use super::{ExitStatus, find_sheet, output, preset_sheet};
use crate::diagnostic::{Diagnostic, Name, Origin, Place};
use crate::environment::Environment;
use crate::library::{GROUPS, SHEETS, client_index};
use crate::program::Program;
use crate::project::Project;
use crate::report::{self, Identity};
use crate::review::{FormSheet, form_page, leaves_a_root, moment};
use crate::workbook::{self, FormOptions};

pub(super) fn form(
    asked: &FreshForm,
    environment: &dyn Environment,
    terminal: &mut Terminal,
) -> Ending {
    let programs = written(asked, environment)?;
    let sheets = report::identities(programs.iter().map(|program| &**program));
    let names = programs.iter().filter_map(|program| Some(program.scopes.first()?.sheet.as_str()));
    let names: Vec<&str> = names.collect();
    if asked.json {
        let sheets: Vec<_> = sheets.iter().map(Identity::json).collect();
        terminal.json(
                    serde_json::json!({ "book": asked.output, "asks_for": names, "sheets": sheets, "written": true }),
                );
    } else {
        let names = match names.as_slice() {
            many if asked.all => format!("every sheet of the library ({})", many.len()),
            some => some.join(", "),
        };
        terminal.print(format!("{} asks for {names}", asked.output));
        if is_page(asked) {
            terminal.print("open it in a browser: it calculates there, without a network");
            if programs.iter().any(|program| leaves_a_root(program)) {
                terminal.print(
                    "but for a root: where one is asked for, the page has no result; run the sheet, or fill a workbook",
                );
            }
        } else {
            terminal.print("fill in the boxes and save it, then:");
            terminal.print(format!("  standstill fill {}", quoted(&asked.output)));
        }
    }
    Ok(ExitStatus::Holds)
}

fn written(asked: &FreshForm, environment: &dyn Environment) -> Result<Vec<Arc<Program>>, Failure> {
    let project = Project::new(environment);
    let folder = Path::new(&asked.output).parent().unwrap_or(Path::new(""));
    let mut programs = Vec::new();
    let mut asking = Vec::new();
    // in the order of the job
    let library = GROUPS.iter().flat_map(|(group, _)| {
        let own = SHEETS.iter().filter(move |sheet| sheet.group == *group);
        own.map(|sheet| format!("library {}", sheet.name))
    });
    let names: Vec<String> = if asked.all { library.collect() } else { asked.sheets.clone() };
    for name in &names {
        let source = find_sheet(name, environment)?;
        let checked = preset_sheet(&source, environment);
        let program = checked.program.ok_or_else(|| Failure::sheet(checked.problems))?;
        asking.push((Arc::clone(&program), project.reference_from(&source, folder)));
        programs.push(program);
    }
    if is_page(asked) {
        page(asked, &asking, environment)?;
        return Ok(programs);
    }
    let options = FormOptions { examples: asked.example, uses: asked.uses, worst: asked.worst };
    if let Some(twice) = twice(&programs).filter(|_| asked.uses) {
        let problem = Diagnostic::error(
            Name::AskedTwice,
            format!("`{twice}` is asked for twice, and the results of the sheets it uses can have one place alone"),
        )
        .at(Place::File { name: asked.output.clone() })
        .remedy("ask for it once, or leave `--uses` out");
        return Err(Failure::input(problem));
    }
    let bytes = workbook::form_asking(&asking, options).map_err(Failure::file)?;
    output::save(&asked.output, &bytes, &[".xlsx", ".html"], asked.force, environment)?;
    Ok(programs)
}

/// Whether the name asks for a page.
fn is_page(asked: &FreshForm) -> bool {
    let ending = Path::new(&asked.output).extension().unwrap_or_default();
    ["html", "htm"].iter().any(|page| ending.eq_ignore_ascii_case(page))
}

/// Writes the forms as a page.
fn page(
    asked: &FreshForm,
    asking: &[(Arc<Program>, String)],
    environment: &dyn Environment,
) -> Result<(), Failure> {
    let flags = [("--example", asked.example), ("--uses", asked.uses), ("--worst", asked.worst)];
    let idle: Vec<&str> = flags.iter().filter(|(_, on)| *on).map(|(flag, _)| *flag).collect();
    if !idle.is_empty() {
        let problem = Diagnostic::error(
            Name::NothingAsked,
            format!("{} is for a workbook, and a page is asked for", idle.join(", ")),
        )
        .at(Place::File { name: asked.output.clone() })
        .remedy("leave it out: a page begins with the examples, shows the steps of every sheet, and takes tolerances");
        return Err(Failure::input(problem));
    }
    let sheets: Vec<FormSheet> = asking
        .iter()
        .map(|(program, typed)| FormSheet {
            program: Arc::clone(program),
            typed: typed.strip_prefix("library ").unwrap_or(typed).to_owned(),
            group: group(program),
        })
        .collect();
    let made = moment(environment.clock().unwrap_or(0));
    let scopes = asking.iter().filter_map(|(program, _)| program.scopes.first());
    let search = client_index(scopes.map(|scope| (scope.sheet.as_str(), &scope.source)));
    let text = form_page(&sheets, &search, &made).map_err(Failure::input)?;
    let fits = [".html", ".htm"];
    output::save_page(&asked.output, text.as_bytes(), &fits, asked.force, environment)
}

/// The step of the job that a sheet of the library belongs to, in words.
fn group(program: &Program) -> String {
    let name = program.scopes.first().filter(|scope| scope.source.origin == Origin::Library);
    let shelved = name.and_then(|scope| SHEETS.iter().find(|it| it.name == scope.sheet));
    let about = shelved.and_then(|it| GROUPS.iter().find(|(group, _)| *group == it.group));
    about.map_or_else(String::new, |(group, about)| format!("{group}: {about}"))
}

/// A sheet that is among the programs twice.
fn twice(programs: &[Arc<Program>]) -> Option<&str> {
    let name = |program: &'_ Arc<Program>| program.scopes.first().map(|scope| scope.sheet.clone());
    programs.iter().enumerate().find_map(|(at, program)| {
        let again = programs.iter().take(at).any(|before| name(before) == name(program));
        program.scopes.first().map(|scope| scope.sheet.as_str()).filter(|_| again)
    })
}

/// A word as a shell reads it.
pub(super) fn quoted(name: &str) -> String {
    let plain = name.chars().all(|sign| sign.is_alphanumeric() || "._-/\\:".contains(sign));
    if plain { name.to_owned() } else { format!("'{}'", name.replace('\'', "'\\''")) }
}
