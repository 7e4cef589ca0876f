//! `standstill.toml`: further folders of sheets, and defaults for the inputs of whatever is calculated below it.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use toml::de::{DeTable, DeValue};

use crate::diagnostic::{Diagnostic, Name, Place, Source};
use crate::program::{Checked, Input, LineSource, Program, Type, did_you_mean, nearest};
use crate::unit::{self, Literal, Unit};

/// Name of the file that names further folders of sheets, `sheets = ["../sheets"]` relative to itself, and below
/// `[defaults]` values of inputs that are taken where none is given.
pub const SETTINGS: &str = "standstill.toml";

/// How the file is written, for remedies.
const HOW: &str = "write `sheets = [\"../sheets\"]`";
const HOW_DEFAULTS: &str = "below `[defaults]` write an input and its value, such as `edition = \"2024\"` or `t_logic = \"15 ms\"`";

/// How a line that cannot be read is written.
fn as_it_is_written(line: &str, problem: &str) -> String {
    match line.split_once('=') {
        Some((key, _)) if problem.contains("duplicate") => {
            format!("leave one of the two lines of `{}`", key.trim())
        }
        Some((key, value)) if !value.contains(['"', '\'', '[', '{']) && !key.trim().is_empty() => {
            format!("write `{} = \"{}\"`", key.trim(), value.trim())
        }
        _ => format!("{HOW}; {HOW_DEFAULTS}"),
    }
}

/// What the file says.
pub(super) struct Settings {
    /// Folders as written, relative to the file.
    pub(super) folders: Vec<String>,
    /// Where the file stands.
    pub(super) path: PathBuf,
    source: Arc<Source>,
    pub(super) defaults: Vec<Preset>,
}

/// The value of an input that is taken where none is given.
pub(crate) struct Preset {
    /// The sheet for which it is meant; none for all.
    pub(crate) sheet: Option<String>,
    pub(crate) input: String,
    text: String,
    /// Where its name stands.
    pub(crate) name: Place,
    /// Where its value stands.
    place: Place,
}

impl Settings {
    /// Reads the file.
    ///
    /// # Errors
    /// `settings-file`, the first thing that is wrong.
    pub(super) fn read(path: PathBuf, source: Arc<Source>) -> Result<Self, Box<Diagnostic>> {
        let table = DeTable::parse(&source.text).map_err(|error| {
            let span = error.span().unwrap_or(0..0);
            let line = source.line_and_column(span.start).0;
            let place = Place::text(&source, span);
            let text = source.text.lines().nth(line.saturating_sub(1)).unwrap_or_default();
            let words = format!("line {line} cannot be read: {}", error.message());
            wrong(words, place, &as_it_is_written(text, error.message()))
        })?;
        let mut settings =
            Self { folders: Vec::new(), path, source: Arc::clone(&source), defaults: Vec::new() };
        for (key, value) in table.get_ref() {
            let place = Place::text(&source, value.span());
            match (key.get_ref().as_ref(), value.get_ref()) {
                ("sheets", DeValue::Array(all)) => {
                    let folders = all.iter().map(|one| one.get_ref().as_str().map(str::to_owned));
                    let folders: Option<Vec<String>> = folders.collect();
                    settings.folders = folders.ok_or_else(|| no_folders(&place))?;
                }
                ("sheets", _) => return Err(no_folders(&place)),
                ("defaults", DeValue::Table(defaults)) => settings.presets(defaults, None)?,
                ("defaults", _) => {
                    return Err(wrong("`defaults` is not a table".to_owned(), place, HOW_DEFAULTS));
                }
                (other, _) => {
                    let remedy = did_you_mean(other, ["sheets", "defaults"].into_iter())
                        .unwrap_or_else(|| {
                            "the settings are `sheets = [\"../sheets\"]` and `[defaults]`"
                                .to_owned()
                        });
                    let place = Place::text(&source, key.span());
                    return Err(wrong(format!("there is no setting `{other}`"), place, &remedy));
                }
            }
        }
        Ok(settings)
    }

    fn presets(&mut self, table: &DeTable<'_>, sheet: Option<&str>) -> Result<(), Box<Diagnostic>> {
        for (key, value) in table {
            let place = Place::text(&self.source, value.span());
            let name = key.get_ref().as_ref();
            let text = match value.get_ref() {
                DeValue::String(text) => text.to_string(),
                DeValue::Integer(number) => number.as_str().to_owned(),
                DeValue::Float(number) => number.as_str().to_owned(),
                DeValue::Table(inner) if sheet.is_none() => {
                    self.presets(inner, Some(name))?;
                    continue;
                }
                _ => {
                    let words = format!("the default of `{name}` is neither a text nor a number");
                    return Err(wrong(words, place, HOW_DEFAULTS));
                }
            };
            self.defaults.push(Preset {
                sheet: sheet.map(str::to_owned),
                input: name.to_owned(),
                text,
                name: Place::text(&self.source, key.span()),
                place,
            });
        }
        Ok(())
    }

    /// The sheet with the defaults of the file in the place of its own.
    ///
    /// What is meant for this sheet and fits none of its inputs is a problem of it; what is meant for all and stands in
    /// none of the sheets that `known` gives is said among its cautions, so that every report shows it.
    pub(super) fn applied(&self, checked: Checked, known: &BTreeSet<String>) -> Checked {
        let Checked { program: Some(program), mut problems } = checked else { return checked };
        let Some(sheet) = program.scopes.first().map(|scope| scope.sheet.clone()) else {
            return Checked { program: Some(program), problems };
        };
        let here = |preset: &&Preset| preset.sheet.as_ref().is_none_or(|it| *it == sheet);
        let mut program = Program::clone(&program);
        let mut said = Vec::new();
        // what is meant for one sheet comes after what is meant for all
        let mut presets: Vec<&Preset> = self.defaults.iter().filter(here).collect();
        presets.sort_by_key(|preset| preset.sheet.is_some());
        for preset in presets {
            let names: Vec<String> =
                program.inputs.iter().map(|input| input.name.clone()).collect();
            match program.inputs.iter_mut().find(|input| input.name == preset.input) {
                Some(input) => match literal(input, &preset.text) {
                    Ok(value) => {
                        input.default = Some(value);
                        input.default_tolerance = None;
                        input.default_from = Some(preset.place.clone());
                    }
                    Err((words, remedy)) => {
                        let remedy = match preset.sheet {
                            Some(_) => remedy,
                            None => format!(
                                "{remedy}; where another sheet's `{}` is meant, put it below `[defaults.NAME]`",
                                preset.input
                            ),
                        };
                        problems.push(*wrong(words, preset.place.clone(), &remedy));
                    }
                },
                None if preset.sheet.is_some() => {
                    let remedy = did_you_mean(&preset.input, names.iter().map(String::as_str))
                        .unwrap_or_else(|| format!("`standstill show {sheet}` lists its inputs"));
                    let words = format!("`{sheet}` has no input `{}`", preset.input);
                    problems.push(*wrong(words, preset.name.clone(), &remedy));
                }
                None if !known.contains(&preset.input)
                    && let Some((near, _)) =
                        nearest(&preset.input, known.iter().map(String::as_str)).first() =>
                {
                    let words = format!("no sheet has an input `{}`", preset.input);
                    let remedy = format!("did you mean `{near}`?");
                    problems.push(*wrong(words, preset.name.clone(), &remedy));
                }
                None if !known.contains(&preset.input) => {
                    let line = match &preset.name {
                        Place::Text { source, span } => source.line_and_column(span.0).0,
                        _ => 0,
                    };
                    said.push(format!(
                        "A default is not taken: no sheet that is known here has an input `{}` ({}:{line}).",
                        preset.input,
                        SETTINGS
                    ));
                }
                None => {}
            }
        }
        // every report of every kind shows the cautions of its sheet
        said.extend(program.inputs.iter().filter_map(|input| {
            let value = presets_of(&self.defaults, &sheet, &input.name)?;
            let from = input.default_source()?;
            Some(format!(
                "{from} sets a default: {} = {value}, where nothing else is given.",
                input.name
            ))
        }));
        // of a used sheet its own default is taken, and the one of the file is not
        let taken = program.lines.iter().filter(|line| line.says == LineSource::Default);
        said.extend(taken.filter_map(|line| {
            let (path, name) = line.name.rsplit_once('.')?;
            let used = program.scopes.iter().find(|scope| scope.path == path)?;
            let is_meant = |it: &&Preset| it.sheet.as_ref().is_none_or(|it| *it == used.sheet);
            let preset = self.defaults.iter().filter(is_meant).find(|it| it.input == name)?;
            Some(format!(
                "{SETTINGS} sets a default {name} = {}, which the used sheet `{path}` does not take: it keeps its own; hand it over where that is meant.",
                preset.text
            ))
        }));
        if let Some(scope) = program.scopes.first_mut() {
            scope.cautions.extend(said);
        }
        let whole = !problems.iter().any(Diagnostic::is_error);
        Checked { program: whole.then(|| Arc::new(program)), problems }
    }

    /// Whether a default is meant for every sheet with an input of its name.
    pub(super) fn asks_for_all(&self) -> bool {
        self.defaults.iter().any(|preset| preset.sheet.is_none())
    }

    /// The names for which defaults are meant and which are not sheets.
    pub(super) fn strangers(&self, is_sheet: &dyn Fn(&str) -> bool) -> Vec<Diagnostic> {
        let all = self.defaults.iter().filter_map(|preset| {
            let sheet = preset.sheet.as_deref().filter(|sheet| !is_sheet(sheet))?;
            let words = format!("defaults are meant for `{sheet}`, and no sheet is called so");
            Some(*wrong(words, preset.name.clone(), "`standstill list` shows the sheets"))
        });
        all.collect()
    }
}

/// What is set for an input, for its sheet before what is set for all.
fn presets_of<'s>(presets: &'s [Preset], sheet: &str, input: &str) -> Option<&'s str> {
    let of_input = || presets.iter().filter(|preset| preset.input == input);
    let own = of_input().find(|preset| preset.sheet.as_deref() == Some(sheet));
    own.or_else(|| of_input().find(|preset| preset.sheet.is_none()))
        .map(|preset| preset.text.as_str())
}

/// Reads a default as a sheet writes one: strictly, and without a tolerance.
fn literal(input: &Input, text: &str) -> Result<Literal, (String, String)> {
    let text = text.trim();
    let name = &input.name;
    match (&input.type_, input.kind) {
        (Type::Choice(words), _) => match words.iter().position(|word| word == text) {
            Some(at) => Ok(Literal::new(at.into(), 0, Unit::one())),
            None => Err((
                format!("`{name}` is one of {}, found `{text}`", words.join(", ")),
                format!("write `{name} = \"{}\"`", words.first().map_or("", String::as_str)),
            )),
        },
        (Type::Number { series: false, .. }, Some(kind)) => {
            let usual = kind.usual_unit();
            let example =
                format!("write it with its unit, such as `{name} = \"3 {}\"`", usual.symbol);
            let (number, ten, written) = unit::split_quantity(text).map_err(|problem| {
                (format!("`{name}` ({}): {}", kind.name, problem.headline()), example.clone())
            })?;
            let unit = match written {
                "" if kind.bare => Unit::one(),
                "" => {
                    return Err((
                        format!("`{name}` is {} and has no unit here", kind.with_article()),
                        example,
                    ));
                }
                written => kind.read_unit(written).map_err(|_| {
                    (format!("`{name}` is {}, found `{text}`", kind.with_article()), example)
                })?,
            };
            Ok(Literal::new(number, ten, unit))
        }
        _ => Err((
            format!("`{name}` is a series, which takes no default"),
            "leave it out, and give it with each calculation".to_owned(),
        )),
    }
}

fn no_folders(place: &Place) -> Box<Diagnostic> {
    wrong("`sheets` is not a list of folders".to_owned(), place.clone(), HOW)
}

fn wrong(headline: String, place: Place, remedy: &str) -> Box<Diagnostic> {
    Box::new(Diagnostic::error(Name::SettingsFile, headline).at(place).remedy(remedy))
}

/// The settings file above a folder, nearest first.
pub(super) fn above(start: &Path, is_there: impl Fn(&Path) -> bool) -> Option<PathBuf> {
    start.ancestors().map(|above| above.join(SETTINGS)).find(|path| is_there(path))
}
