//! `standstill prove`: sheets checked without running them, and their own cases run.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use super::arguments::{Form, Prove};
use super::failure::{Ending, Failure};
use super::print::Terminal;
use super::{ExitStatus, check_sheet, find_sheet, read_sheet};
use crate::calculation::{Cases, Inputs, Results, Verdict};
use crate::diagnostic::{Diagnostic, Name, Origin, Place, Source, put_in_order, totals};
use crate::environment::Environment;
use crate::language::tidy;
use crate::library::SHEETS;
use crate::program::{Program, nearest};
use crate::project::{self, Project};
use crate::report::{self, Release};

/// What was found, and how the command ends.
#[derive(Default)]
struct Proof {
    problems: Vec<Diagnostic>,
    meant: Vec<crate::program::Meant>,
    taken: Vec<String>,
    cases: usize,
    /// Cases that do not give what they say.
    differing: usize,
    unreadable: Option<ExitStatus>,
}

pub(super) fn prove(
    asked: &Prove,
    environment: &dyn Environment,
    terminal: &mut Terminal,
) -> Ending {
    let mut proof = Proof::default();
    let names: Vec<String> = if asked.sheets.is_empty() {
        SHEETS.iter().map(|sheet| sheet.name.to_owned()).collect()
    } else {
        asked.sheets.iter().flat_map(|name| proof.sheets_in(name, environment)).collect()
    };
    if asked.tidy {
        return in_order(&names, asked, proof, environment, terminal);
    }
    for name in &names {
        match find_either(name, environment) {
            Ok(source) => proof.sheet(name, &source, environment),
            Err(failure) => proof.cannot(failure),
        }
    }
    let Proof { mut problems, meant, taken, cases, differing, unreadable } = proof;
    // of the whole library it would be a book
    if asked.form == Form::Long && !asked.sheets.is_empty() {
        terminal.list("defaults of used sheets that are taken", &taken);
    }
    put_in_order(&mut problems);
    let counted = totals(&problems);
    let mut sheets = many(names.len(), "sheet");
    if cases > 0 {
        sheets.push_str(&format!(" and {}", many(cases, "case")));
    }
    if asked.form == Form::Long {
        for number in &meant {
            terminal.print(format!(
                "meant: {} ({}): {}",
                number.written,
                number.place.to_text(),
                number.why
            ));
        }
    }
    if problems.is_empty() {
        if asked.form == Form::Long {
            terminal.print(format!("{sheets} checked, no problems."));
        }
        return Ok(ExitStatus::Holds);
    }
    terminal.each_problem(&problems, asked.form);
    if asked.form == Form::Long {
        let counted_words = match (asked.strict, counted.errors, counted.cautions) {
            (true, 0, 1) => "1 caution, and `--strict` allows none".to_owned(),
            (true, 0, many) => format!("{many} cautions, and `--strict` allows none"),
            _ => counted.to_text(),
        };
        terminal.report(format!("{counted_words}. {sheets} checked."));
    }
    Ok(match unreadable {
        Some(ending) => ending,
        None if counted.errors > differing || (asked.strict && counted.errors == 0) => {
            ExitStatus::WrongSheet
        }
        None => ExitStatus::of(differing == 0),
    })
}

fn many(count: usize, what: &str) -> String {
    if count == 1 { format!("1 {what}") } else { format!("{count} {what}s") }
}

impl Proof {
    fn cannot(&mut self, failure: Failure) {
        self.problems.extend(failure.problems);
        self.unreadable = Some(failure.status);
    }

    /// The sheets that a word of the command line stands for: one, or those in a folder and below it.
    fn sheets_in(&mut self, name: &str, environment: &dyn Environment) -> Vec<String> {
        let folder = Path::new(name);
        if name == "-" || environment.canonical(&folder.join(".")).is_none() {
            return self.file(name, environment).into_iter().collect();
        }
        let mut all: Vec<PathBuf> = Vec::new();
        let mut unseen: Vec<PathBuf> = Vec::new();
        below(folder, environment, 0, &mut all, &mut unseen);
        let (found, cases): (Vec<PathBuf>, Vec<PathBuf>) =
            all.into_iter().partition(|path| path.extension().is_some_and(|it| it != "cases"));
        self.problems.extend(cases.iter().filter_map(|path| without_sheet(path, &found)));
        self.problems.extend(unseen.iter().map(|path| {
            let name = path.to_string_lossy().into_owned();
            Diagnostic::error(
                Name::UnreadableFile,
                format!("`{name}` lies more than eight folders deep and was not looked at"),
            )
            .at(Place::File { name })
            .remedy("prove that folder by its own name")
        }));
        if found.is_empty() {
            let problem = Diagnostic::error(
                Name::UnreadableFile,
                format!("no sheet lies in the folder `{name}`"),
            )
            .at(Place::File { name: name.to_owned() })
            .remedy("name a folder that holds files `NAME.sheet`, or a file of that kind");
            self.cannot(Failure::file(problem));
        }
        found.iter().map(|path| path.to_string_lossy().into_owned()).collect()
    }

    /// One sheet by its name; cases stand for the sheet beside them, and other files are none.
    fn file(&mut self, name: &str, environment: &dyn Environment) -> Option<String> {
        let path = Path::new(name);
        let ending = path.extension().map(|it| it.to_string_lossy().into_owned());
        let there = environment.canonical(path).is_some();
        let Some(ending) = ending.filter(|it| there && it != "sheet" && it != "group") else {
            return Some(name.to_owned());
        };
        let sheet = path.with_extension("sheet");
        if ending == "cases" && environment.canonical(&sheet).is_some() {
            return Some(sheet.to_string_lossy().into_owned());
        }
        let problem = without_sheet(path, &[]).filter(|_| ending == "cases").unwrap_or_else(|| {
            passed_over(path).unwrap_or_else(|| {
                Diagnostic::error(
                    Name::UnreadableFile,
                    format!("`{name}` is no sheet: the name of a sheet ends in `.sheet`"),
                )
                .at(Place::File { name: name.to_owned() })
                .remedy("name a file `NAME.sheet`, its cases, or a folder of them")
            })
        });
        self.cannot(Failure::file(problem));
        None
    }

    fn sheet(&mut self, name: &str, source: &Arc<Source>, environment: &dyn Environment) {
        let mut checked = check_sheet(source, environment);
        if matches!(source.origin, Origin::File(_)) {
            // as it is calculated: with the defaults of its project, and the folders that this names
            let place = Place::File { name: source.name.clone() };
            let project = Project::new(environment);
            checked = project.with_defaults(checked, &place);
            checked.problems.extend(project.own_beside(&place).err().map(|problem| *problem));
        }
        for problem in checked.problems {
            if problem.name == Name::SettingsFile {
                self.unreadable = Some(ExitStatus::WrongInput);
            }
            // one slip of the settings is one problem, of however many sheets
            if !self.problems.contains(&problem) {
                self.problems.push(problem);
            }
        }
        let Some(program) = checked.program else { return };
        self.meant.extend(program.meant.clone());
        let words = report::defaults_text(&report::defaults_of_used(&program));
        self.taken.extend(words.map(|words| format!("{name}: {words}")));
        self.example(&program);
        self.cases(source, &program, environment);
    }

    /// The examples of a sheet are what everybody runs first: they have to run.
    fn example(&mut self, program: &Arc<Program>) {
        let mut inputs = Inputs::new(program);
        inputs.fill_with_examples();
        if program.inputs.iter().any(|input| inputs.value(input).is_none()) {
            return;
        }
        match Results::compute(program, &inputs) {
            Err(problems) => self.problems.extend(problems),
            Ok(results) => {
                let checks = program.checks.iter().zip(results.checks());
                let failing = checks.filter(|(_, it)| it.verdict == Verdict::Fails);
                let before = self.problems.len();
                self.problems.extend(failing.map(|(check, _)| {
                    let words = format!("the sheet's own example fails \"{}\"", check.label());
                    Diagnostic::caution(Name::CheckFails, words)
                        .at(check.place.clone())
                        .remedy("write examples behind `like` with which every check holds")
                }));
                let release = Release::of(&results);
                if self.problems.len() == before && !release.granted() {
                    let words = format!(
                        "over the tolerances of the sheet's own example: {}",
                        release.verdict()
                    );
                    let source = program.scopes.first().map(|it| &it.source);
                    let name = source.map(|it| it.name.clone()).unwrap_or_default();
                    self.problems.push(
                        Diagnostic::caution(Name::CheckFails, words)
                            .at(Place::File { name })
                            .remedy("write examples and tolerances behind `like` with which every check holds"),
                    );
                }
            }
        }
    }

    /// The cases beside a sheet of one's own.
    fn cases(&mut self, source: &Source, program: &Arc<Program>, environment: &dyn Environment) {
        if !matches!(source.origin, Origin::File(_)) {
            return;
        }
        let sheet = Path::new(&source.name);
        let folder = sheet.parent().filter(|it| !it.as_os_str().is_empty());
        let neighbours = environment.entries(folder.unwrap_or(Path::new(".")));
        let same = neighbours.iter().filter(|it| it.file_stem() == sheet.file_stem());
        self.problems.extend(same.filter_map(|path| passed_over(path)));
        let beside = sheet.with_extension("cases");
        if environment.canonical(&beside).is_none() {
            return;
        }
        let file = match read_sheet(&beside.to_string_lossy(), environment) {
            Ok(file) => file,
            Err(failure) => return self.cannot(failure),
        };
        let (cases, problems) = Cases::read(&file);
        self.problems.extend(problems);
        let stem = project::name_in(&source.name);
        if cases.sheet != stem {
            let words =
                format!("the cases are of the sheet `{}`, beside them lies `{stem}`", cases.sheet);
            self.problems.push(
                Diagnostic::error(Name::CasesFile, words)
                    .at(Place::File { name: file.name.clone() })
                    .remedy(format!("begin the file with `sheet {stem}`")),
            );
            return;
        }
        for case in &cases.cases {
            self.cases += 1;
            let found = case.run(program);
            self.differing += found.iter().filter(|problem| problem.is_error()).count();
            self.problems.extend(found);
        }
    }
}

/// A sheet by its name, or a group of inputs by its file.
fn find_either(name: &str, environment: &dyn Environment) -> Result<Arc<Source>, Failure> {
    match name.ends_with(".group") {
        true => read_sheet(name, environment),
        false => find_sheet(name, environment),
    }
}

/// The sheets, groups of inputs and cases in a folder and below it, hidden folders left alone, and the folders that lie
/// too deep.
fn below(
    folder: &Path,
    environment: &dyn Environment,
    depth: usize,
    found: &mut Vec<PathBuf>,
    unseen: &mut Vec<PathBuf>,
) {
    for path in environment.entries(folder) {
        let hidden = path.file_name().is_some_and(|name| name.to_string_lossy().starts_with('.'));
        let is = |ending: &str| path.extension().is_some_and(|it| it == ending);
        if is("sheet") || is("group") || is("cases") || passed_over(&path).is_some() {
            found.push(path);
        } else if !hidden && depth < 8 {
            below(&path, environment, depth + 1, found, unseen);
        } else if !hidden && !environment.entries(&path).is_empty() {
            unseen.push(path);
        }
    }
}

/// A file whose ending is nearly that of a sheet or of its cases, and which is neither.
fn passed_over(path: &Path) -> Option<Diagnostic> {
    let ending = path.extension()?.to_string_lossy().into_owned();
    let meant = ["cases", "sheet", "group"];
    let near = nearest(&ending, meant.into_iter()).first().map(|(near, _)| *near);
    let near = near.filter(|_| !meant.contains(&ending.as_str()))?;
    let name = path.to_string_lossy().into_owned();
    let found = format!("`{name}` was passed over: its ending is not `.{near}`");
    let remedy = format!("call it `{}`", path.with_extension(near).to_string_lossy());
    Some(Diagnostic::error(Name::CasesFile, found).at(Place::File { name }).remedy(remedy))
}

/// Cases that no sheet beside them bears the name of: they would never run.
fn without_sheet(cases: &Path, sheets: &[PathBuf]) -> Option<Diagnostic> {
    let sheet = cases.with_extension("sheet");
    if sheets.contains(&sheet) {
        return None;
    }
    if let Some(problem) = passed_over(cases) {
        return Some(problem);
    }
    let name_of = |path: &Path| path.file_stem().map(|it| it.to_string_lossy().into_owned());
    let name = name_of(cases)?;
    let beside = sheets.iter().filter(|it| it.parent() == cases.parent());
    let beside: Vec<String> = beside.filter_map(|path| name_of(path)).collect();
    let near = nearest(&name, beside.iter().map(String::as_str));
    let remedy = match near.first() {
        Some((near, _)) => format!("did you mean `{near}.cases`?"),
        None => format!("name them after their sheet, or put `{name}.sheet` beside them"),
    };
    let found = format!("no sheet `{name}.sheet` lies beside its cases, which were not run");
    let place = Place::File { name: cases.to_string_lossy().into_owned() };
    Some(Diagnostic::error(Name::UnreadableFile, found).at(place).remedy(remedy))
}

/// `--tidy`: the blanks of files put in order, or only looked at.
fn in_order(
    names: &[String],
    asked: &Prove,
    mut proof: Proof,
    environment: &dyn Environment,
    terminal: &mut Terminal,
) -> Ending {
    let mut changed = 0;
    for name in names {
        let source = match find_either(name, environment) {
            Ok(source) => source,
            Err(failure) => {
                proof.cannot(failure);
                continue;
            }
        };
        if !matches!(source.origin, Origin::File(_)) {
            let problem = Diagnostic::error(
                Name::UnwritableFile,
                format!("`{name}` is a sheet of the library"),
            )
            .at(Place::Argument { text: name.clone() })
            .remedy("name files or folders of your own");
            proof.cannot(Failure::input(problem));
            continue;
        }
        let path = Path::new(&source.name);
        let bytes = environment.peek(path).unwrap_or_default();
        // the text of a source has lost its marks and ends of lines
        let text = String::from_utf8(bytes.clone()).ok().filter(|_| name != "-");
        let tidied = tidy(text.as_ref().unwrap_or(&source.text));
        if name == "-" {
            terminal.verbatim(&tidied);
            continue;
        }
        if tidied.as_bytes() == bytes {
            continue;
        }
        changed += 1;
        if asked.check {
            terminal.print(format!("{name} is not in order"));
        } else if let Err(problem) = environment.replace(path, tidied.as_bytes(), Some(&bytes)) {
            proof.cannot(Failure::file(problem));
        } else {
            terminal.print(format!("{name} put in order"));
        }
    }
    if !proof.problems.is_empty() {
        terminal.problems(&proof.problems, asked.form, "");
    }
    Ok(proof.unreadable.unwrap_or(ExitStatus::of(!(asked.check && changed > 0))))
}
