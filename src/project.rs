//! The only place where a name becomes a source, and where the bytes of a source become text.
//!
//! A name is looked for in this order: written in the document that asks, beside what asks, in the folders named with
//! `--sheets` and by the `standstill.toml` above what asks, in the library. More than one answer is an error that
//! shows all of them, unless `own` or `library` before the name says which. A sheet of the library asks the library
//! alone, so that no file changes what it says. What is there and cannot be read is an error, never passed over.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use crate::diagnostic::{Diagnostic, Name, Origin, Place, Source};
use crate::environment::Environment;
use crate::language::{Outside, Whose};
use crate::library;
use crate::program::{
    Checked, Resolver, Sheets, compile, unknown_group, unknown_sheet, whole_tree,
};
#[cfg(feature = "workbook")]
use crate::spreadsheet::table_rows as outside_rows;

mod settings;

pub(crate) use settings::Preset;
pub use settings::SETTINGS;
use settings::Settings;

/// A sheet written in a document, by its name.
type Written = (String, Arc<Source>);

/// Sheets as they are found from one working folder.
#[derive(Clone, Copy)]
pub struct Project<'a> {
    environment: &'a dyn Environment,
    /// A document being read, and the sheets written in it.
    document: Option<(&'a Source, &'a [Written])>,
}

/// What a name is asked for as.
#[derive(Clone, Copy, PartialEq, Eq)]
enum What {
    Sheet,
    Group,
}

impl What {
    /// The ending of its files, and the word for it.
    fn ending(self) -> &'static str {
        match self {
            Self::Sheet => "sheet",
            Self::Group => "group",
        }
    }
}

/// A sheet that a name may stand for.
enum Candidate {
    Written(Arc<Source>),
    File(PathBuf),
}

/// Whether the library has a sheet of that name.
pub(crate) fn is_of_library(name: &str) -> bool {
    library::sheet(name).is_some()
}

impl<'a> Project<'a> {
    /// Sheets that are files, and those of the library.
    #[must_use]
    pub fn new(environment: &'a dyn Environment) -> Self {
        Self { environment, document: None }
    }

    /// Before them the sheets written in a document, and workbooks named relative to it.
    #[must_use]
    pub fn of_document(self, document: &'a Source, written: &'a [(String, Arc<Source>)]) -> Self {
        Self { document: Some((document, written)), ..self }
    }

    /// The sheet that a text stands for where it is asked for: `run-down`, `own run-down`, `library run-down`, or
    /// the path of a file.
    ///
    /// # Errors
    /// `unknown-sheet`, `ambiguous-sheet`, `unreadable-file`.
    pub fn find(&self, text: &str, place: &Place) -> Result<Arc<Source>, Box<Diagnostic>> {
        match Reference::read(text) {
            Reference::Path(path) if path.extension().is_some_and(|ending| ending == "group") => {
                let name = path.file_stem().unwrap_or_default().to_string_lossy();
                let headline =
                    format!("`{text}` holds a group of inputs, and nothing to calculate");
                Err(Box::new(
                    Diagnostic::error(Name::WrongGroup, headline).at(place.clone()).remedy(format!(
                        "a sheet takes it with the line `group {name}`; `standstill prove` checks it"
                    )),
                ))
            }
            Reference::Path(path) => {
                let folder = self.folder(place).unwrap_or_default();
                self.file(&folder.join(path)).map_err(|problem| asked_at(*problem, place))
            }
            Reference::Name(whose, name) => self.sheet(whose, name, place),
        }
    }

    /// The text of a file.
    ///
    /// # Errors
    /// `unreadable-file`.
    pub fn file(&self, path: &Path) -> Result<Arc<Source>, Box<Diagnostic>> {
        let canonical = self.environment.canonical(path).unwrap_or_else(|| path.to_owned());
        let text = text_of(path, self.environment.read(path)?)?;
        Ok(Source::of(path.to_string_lossy(), Origin::File(canonical), text))
    }

    /// What asks from a place: the folder it stands in; none for a sheet of the library.
    fn folder(&self, place: &Place) -> Option<PathBuf> {
        let parent = |name: &str| Path::new(name).parent().unwrap_or(Path::new("")).to_owned();
        match place {
            Place::Argument { .. } => Some(PathBuf::new()),
            Place::Cell { book: name, .. } | Place::File { name } => match self.document {
                Some((document, _)) => Some(parent(&document.name).join(parent(name))),
                None => Some(parent(name)),
            },
            Place::Text { source, .. } => self.folder_of(source),
        }
    }

    fn folder_of(&self, source: &Source) -> Option<PathBuf> {
        let named = Path::new(&source.name).parent().unwrap_or(Path::new("")).to_owned();
        match &source.origin {
            Origin::Library => None,
            // what is reached through a link has its neighbours where it lies
            Origin::File(path)
                if self.environment.canonical(&named).as_deref() != path.parent() =>
            {
                path.parent().map(Path::to_owned)
            }
            _ => Some(named),
        }
    }

    /// The sheets written in the document, where it is the document or one of its workbooks or sheets that asks.
    fn written(&self, place: &Place) -> &'a [(String, Arc<Source>)] {
        match (self.document, place) {
            (Some((document, written)), Place::Text { source, .. }) => {
                let inside = matches!(source.origin, Origin::Written(_));
                if inside || source.is_same(document) { written } else { &[] }
            }
            (Some((_, written)), _) => written,
            (None, _) => &[],
        }
    }

    /// The folders that own sheets are looked for in.
    fn folders(&self, place: &Place) -> Result<Vec<PathBuf>, Box<Diagnostic>> {
        let Some(beside) = self.folder(place) else { return Ok(Vec::new()) };
        let mut folders: Vec<PathBuf> = self.environment.sheet_folders().to_vec();
        for folder in &folders {
            self.must_be_there(folder, "--sheets")?;
        }
        if let Some(settings) = self.settings(&beside)? {
            let above = settings.path.parent().unwrap_or(Path::new(""));
            for folder in &settings.folders {
                let folder = above.join(folder);
                self.must_be_there(&folder, &settings.path.to_string_lossy())?;
                folders.push(folder);
            }
        }
        folders.insert(0, beside);
        Ok(folders)
    }

    /// The settings above a folder.
    fn settings(&self, folder: &Path) -> Result<Option<Settings>, Box<Diagnostic>> {
        let there = |path: &Path| self.environment.canonical(path).is_some();
        let start = self.environment.canonical(folder);
        let Some(path) = start.and_then(|start| settings::above(&start, there)) else {
            return Ok(None);
        };
        let source = self.file(&path)?;
        Settings::read(path, source).map(Some)
    }

    /// The defaults that the settings above a place have.
    pub(crate) fn presets(&self, place: &Place) -> Vec<Preset> {
        let settings = self.folder(place).and_then(|folder| self.settings(&folder).ok()?);
        settings.map(|settings| settings.defaults).unwrap_or_default()
    }

    /// A sheet with the defaults that the settings above what asks for it have for its inputs.
    #[must_use]
    pub fn with_defaults(&self, checked: Checked, place: &Place) -> Checked {
        let settings = match self.folder(place).map(|folder| self.settings(&folder)) {
            Some(Ok(Some(settings))) => settings,
            Some(Ok(None)) | None => return checked,
            Some(Err(problem)) => {
                let mut problems = checked.problems;
                problems.push(*problem);
                return Checked { program: None, problems };
            }
        };
        let own = self.own_beside(place).unwrap_or_default();
        let is_own = |sheet: &str| {
            own.iter()
                .any(|path| path.file_stem().is_some_and(|stem| stem.to_string_lossy() == sheet))
        };
        let inputs_of = |source: Arc<Source>| {
            let tree = whole_tree(&source, self);
            tree.takes.iter().map(|take| take.name.value.clone()).collect::<Vec<_>>()
        };
        let own_sources = own.iter().filter_map(|path| self.file(path).ok());
        let library = library::SHEETS.iter().filter_map(|sheet| library::sheet(sheet.name));
        let known = settings.asks_for_all().then(|| own_sources.chain(library).flat_map(inputs_of));
        let known: BTreeSet<String> = known.into_iter().flatten().collect();
        let asked =
            checked.program.as_ref().and_then(|it| it.scopes.first().map(|it| it.sheet.clone()));
        let is_sheet = |sheet: &str| {
            asked.as_deref() == Some(sheet) || library::sheet(sheet).is_some() || is_own(sheet)
        };
        let strangers = settings.strangers(&is_sheet);
        let mut applied = settings.applied(checked, &known);
        if !strangers.is_empty() {
            applied.program = None;
            applied.problems.extend(strangers);
        }
        applied
    }

    fn must_be_there(&self, folder: &Path, said: &str) -> Result<(), Box<Diagnostic>> {
        if self.environment.canonical(&folder.join(".")).is_some() {
            return Ok(());
        }
        let name = folder.display().to_string();
        Err(Box::new(
            Diagnostic::error(
                Name::UnreadableFile,
                format!("there is no folder `{name}` for sheets, which {said} names"),
            )
            .at(Place::File { name })
            .remedy("check the spelling; a path starts from the folder in which it is named"),
        ))
    }

    /// Own sheets, or groups, of a name, each once.
    fn own(
        &self,
        what: What,
        name: &str,
        place: &Place,
    ) -> Result<Vec<Candidate>, Box<Diagnostic>> {
        let is_it = |(known, _): &&Written| known == name && what == What::Sheet;
        let written = self.written(place).iter().filter(is_it);
        let mut found: Vec<Candidate> =
            written.map(|(_, source)| Candidate::Written(Arc::clone(source))).collect();
        let mut seen: Vec<PathBuf> = Vec::new();
        for folder in self.folders(place)? {
            let path = folder.join(format!("{name}.{}", what.ending()));
            if let Some(canonical) = self.environment.canonical(&path)
                && !seen.contains(&canonical)
            {
                seen.push(canonical);
                found.push(Candidate::File(path));
            }
        }
        Ok(found)
    }

    /// The files of own sheets that can be asked for from the working folder, each once.
    ///
    /// # Errors
    /// `unreadable-file`, `settings-file`.
    pub fn own_files(&self) -> Result<Vec<PathBuf>, Box<Diagnostic>> {
        self.own_beside(&Place::Argument { text: String::new() })
    }

    /// The files of own sheets that can be asked for from a place, each once.
    pub(crate) fn own_beside(&self, place: &Place) -> Result<Vec<PathBuf>, Box<Diagnostic>> {
        self.beside(What::Sheet, place)
    }

    /// The names of the groups of inputs that a sheet may take.
    pub(crate) fn groups(&self, place: &Place) -> Vec<String> {
        let own = self.beside(What::Group, place).unwrap_or_default();
        let stem = |path: &PathBuf| path.file_stem().map(|it| it.to_string_lossy().into_owned());
        let library = library::INPUTS.iter().map(|group| group.name.to_owned());
        own.iter().filter_map(stem).chain(library).collect()
    }

    fn beside(&self, what: What, place: &Place) -> Result<Vec<PathBuf>, Box<Diagnostic>> {
        let mut seen: Vec<PathBuf> = Vec::new();
        let mut found: Vec<PathBuf> = Vec::new();
        for folder in self.folders(place)? {
            for path in self.environment.entries(&folder) {
                if path.extension().is_some_and(|ending| ending == what.ending())
                    && let Some(canonical) = self.environment.canonical(&path)
                    && !seen.contains(&canonical)
                {
                    seen.push(canonical);
                    found.push(path);
                }
            }
        }
        Ok(found)
    }

    /// No file beside what asks holds a sheet of a name that the library has too, and is called otherwise.
    fn not_beside(&self, name: &str, place: &Place) -> Result<(), Box<Diagnostic>> {
        let bears = |path: &PathBuf| {
            // looked at: the calculation does not rest on it
            let text = text_of(path, self.environment.peek(path)?).ok()?;
            let header = text.lines().find_map(|line| line.trim().strip_prefix("sheet "))?;
            (header.split_whitespace().next()?.eq_ignore_ascii_case(name)).then_some(())
        };
        let Some(path) = self.own_beside(place)?.into_iter().find(|path| bears(path).is_some())
        else {
            return Ok(());
        };
        let headline = format!(
            "`{name}` is a sheet of the library, and the sheet in `{}` is called so too",
            path.display()
        );
        let library = match place {
            Place::Argument { .. } => format!("`'library {name}'`"),
            _ => format!("`library {name}`"),
        };
        Err(Box::new(Diagnostic::error(Name::AmbiguousSheet, headline).at(place.clone()).remedy(
            format!("call that file `{name}.sheet` and say which is meant, or write {library}"),
        )))
    }

    /// The words by which a sheet is asked for from a folder, so that it is found there: its name where that is
    /// enough, else its path.
    #[must_use]
    pub fn reference_from(&self, source: &Source, folder: &Path) -> String {
        let place = Place::File { name: folder.join("book").to_string_lossy().into_owned() };
        let stem = Path::new(&source.name).file_stem().unwrap_or_default().to_string_lossy();
        // without the folders of this command: they are not named when the workbook is filled
        let alone = Alone(self.environment);
        let project = Project::new(&alone);
        let whose = [Whose::Any, Whose::Own, Whose::Library];
        let found = whose.into_iter().find(|whose| {
            project.sheet(*whose, &stem, &place).is_ok_and(|found| found.is_same(source))
        });
        match (found, &source.origin) {
            (Some(whose), _) => format!("{}{stem}", whose.word()),
            (None, Origin::File(path)) => {
                let from = self.environment.canonical(folder).unwrap_or_default();
                between(&from, path).to_string_lossy().into_owned()
            }
            (None, _) => stem.into_owned(),
        }
    }
}

impl Project<'_> {
    /// The one that a name stands for.
    fn one(
        &self,
        what: What,
        whose: Whose,
        name: &str,
        place: &Place,
    ) -> Result<Arc<Source>, Box<Diagnostic>> {
        let inside = self.folder(place).is_none();
        let of_library = match what {
            What::Sheet => library::sheet(name),
            What::Group => library::inputs(name),
        };
        let of_library = of_library.filter(|_| inside || whose != Whose::Own);
        let mut own = match whose {
            Whose::Library => Vec::new(),
            Whose::Any | Whose::Own => self.own(what, name, place)?,
        };
        match (own.pop(), own.is_empty(), of_library) {
            (Some(Candidate::Written(source)), true, None) => Ok(source),
            (Some(Candidate::File(name)), true, None) => {
                self.file(&name).map_err(|problem| asked_at(*problem, place))
            }
            (None, _, Some(source)) => match (whose, what) {
                (Whose::Any, What::Sheet) => self.not_beside(name, place).map(|()| source),
                _ => Ok(source),
            },
            (None, _, None) => Err(self.unknown(what, whose, name, place)),
            (Some(last), _, of_library) => {
                own.push(last);
                Err(ambiguous(what, name, &own, of_library.is_some(), place))
            }
        }
    }

    fn unknown(&self, what: What, whose: Whose, name: &str, place: &Place) -> Box<Diagnostic> {
        let library = whose != Whose::Own;
        match what {
            What::Sheet if self.groups(place).iter().any(|group| group == name) => Box::new(
                Diagnostic::error(
                    Name::UnknownSheet,
                    format!("`{name}` is a group of inputs, no sheet"),
                )
                .at(place.clone())
                .remedy(format!(
                    "a sheet takes its inputs by the line `group {name}`; name such a sheet"
                )),
            ),
            What::Sheet => {
                let known = if library { Sheets::names(self) } else { Vec::new() };
                let asked = if library { library::search(name) } else { Vec::new() };
                let answers: Vec<String> =
                    asked.into_iter().filter(|it| it.share > 0.5).map(|it| it.name).collect();
                unknown_sheet(name, &known, &answers, place)
            }
            What::Group => {
                let known = if whose == Whose::Any { self.groups(place) } else { Vec::new() };
                unknown_group(name, &known, place)
            }
        }
    }
}

impl Resolver for Project<'_> {
    fn sheet(
        &self,
        whose: Whose,
        name: &str,
        place: &Place,
    ) -> Result<Arc<Source>, Box<Diagnostic>> {
        self.one(What::Sheet, whose, name, place)
    }

    fn group(
        &self,
        whose: Whose,
        name: &str,
        place: &Place,
    ) -> Result<Arc<Source>, Box<Diagnostic>> {
        self.one(What::Group, whose, name, place)
    }

    fn rows(&self, outside: &Outside, from: &Source) -> Result<Vec<(String, String)>, String> {
        let file = &outside.file.value;
        let plain = Path::new(file);
        let climbs = plain.components().any(|part| part == std::path::Component::ParentDir);
        let folder = self.folder_of(from).filter(|_| !plain.is_absolute() && !climbs);
        let path = folder.map(|folder| folder.join(plain)).ok_or_else(|| {
            format!("`{file}` must stand beside the sheet, in the same folder or below it")
        })?;
        let bytes = self.environment.read(&path).map_err(|problem| problem.headline)?;
        let range = outside.range.as_ref().map(|range| range.value.as_str());
        outside_rows(file, &bytes, range)
    }
}

impl Sheets for Project<'_> {
    fn checked(&self, name: &str, place: &Place) -> Result<Checked, Box<Diagnostic>> {
        let checked = compile(&self.find(name, place)?, self);
        Ok(self.with_defaults(checked, place))
    }

    fn names(&self) -> Vec<String> {
        let written = self.document.map_or(&[][..], |(_, written)| written);
        let library = library::SHEETS.iter().map(|sheet| sheet.name.to_owned());
        written.iter().map(|(name, _)| name.clone()).chain(library).collect()
    }
}

/// How a sheet is asked for.
enum Reference<'t> {
    Name(Whose, &'t str),
    Path(PathBuf),
}

impl<'t> Reference<'t> {
    fn read(text: &'t str) -> Self {
        let text = text.trim();
        if is_path(text) {
            // a workbook may have been written where folders are parted by `\`
            return Self::Path(PathBuf::from(text.replace('\\', "/")));
        }
        match text.split_once(char::is_whitespace) {
            Some(("own", name)) => Self::Name(Whose::Own, name.trim()),
            Some(("library", name)) => Self::Name(Whose::Library, name.trim()),
            _ => Self::Name(Whose::Any, text),
        }
    }
}

/// Whether a text asks for a sheet by the path of its file.
#[must_use]
pub fn is_path(text: &str) -> bool {
    text == "-"
        || text.ends_with(".sheet")
        || text.ends_with(".group")
        || text.contains(['/', '\\'])
}

/// The name of the sheet that a text asks for, whoever's it is.
///
/// # Example
/// ```
/// use standstill::project::name_in;
/// assert_eq!(name_in("own run-down"), "run-down");
/// assert_eq!(name_in("../sheets/press.sheet"), "press");
/// ```
#[must_use]
pub fn name_in(text: &str) -> String {
    match Reference::read(text) {
        Reference::Name(_, name) => name.to_owned(),
        Reference::Path(path) => {
            path.file_stem().unwrap_or_default().to_string_lossy().into_owned()
        }
    }
}

/// The text of a file: UTF-8, a byte-order mark and the line ends of any system tolerated.
///
/// # Errors
/// `unreadable-file`.
pub fn text_of(path: &Path, bytes: Vec<u8>) -> Result<String, Box<Diagnostic>> {
    String::from_utf8(bytes).map(|text| normalized(&text)).map_err(|error| {
        let good = error.utf8_error().valid_up_to();
        let before = error.as_bytes().get(..good).unwrap_or_default();
        let line = before.iter().filter(|byte| **byte == b'\n').count() + 1;
        Box::new(
            Diagnostic::error(
                Name::UnreadableFile,
                format!("the file is not a text in UTF-8, from line {line} on"),
            )
            .at(Place::File { name: path.display().to_string() })
            .remedy("save it as UTF-8"),
        )
    })
}

/// A text without byte-order mark, its lines ended by a line feed alone.
fn normalized(text: &str) -> String {
    text.strip_prefix('\u{feff}').unwrap_or(text).replace("\r\n", "\n")
}

/// Two sheets have one name; each is shown, and the words that choose one where it is asked for.
fn ambiguous(
    what: What,
    name: &str,
    own: &[Candidate],
    library: bool,
    place: &Place,
) -> Box<Diagnostic> {
    let word = what.ending();
    let headline = format!("`{name}` stands for {} {word}s", own.len() + usize::from(library));
    let mut problem = Diagnostic::error(Name::AmbiguousSheet, headline).at(place.clone());
    for (at, candidate) in own.iter().enumerate() {
        let words = format!(
            "own {word}{}",
            if own.len() > 1 { format!(" {}", at + 1) } else { String::new() }
        );
        problem = match candidate {
            Candidate::Written(source) => {
                let start = source.text.len() - source.text.trim_start().len();
                let line = source.text.get(start..).and_then(|text| text.lines().next());
                let end = start + line.unwrap_or_default().len();
                problem.label(Place::text(source, start..end), format!("{words}, written here"))
            }
            Candidate::File(name) => {
                problem.label(Place::File { name: name.display().to_string() }, words)
            }
        };
    }
    if library {
        let place = Place::File { name: format!("{name}.{word}, of the library") };
        problem = problem.label(place, format!("{word} of the library"));
    }
    let path = own.iter().find_map(|candidate| match candidate {
        Candidate::File(name) => Some(name.display().to_string()),
        Candidate::Written(_) => None,
    });
    let remedy = match (library, own.len(), place) {
        (true, 1, Place::Argument { .. }) => {
            let path = path.unwrap_or_default();
            let path = if path.contains('/') { path } else { format!("./{path}") };
            format!("say which: `{path}` or `'library {name}'`")
        }
        (true, 1, _) => format!("say which: `own {name}` or `library {name}`"),
        (_, _, Place::Argument { .. }) => {
            format!("say which by its path, such as `{}`", path.unwrap_or_default())
        }
        _ => "give one of them another name, or leave one of the folders out".to_owned(),
    };
    Box::new(problem.remedy(remedy))
}

/// Says where a file that cannot be read is asked for.
fn asked_at(problem: Diagnostic, place: &Place) -> Box<Diagnostic> {
    Box::new(match place {
        Place::Argument { .. } => problem,
        place => problem.label(place.clone(), "asked for here"),
    })
}

/// The path of a file as it is written in a folder.
fn between(folder: &Path, file: &Path) -> PathBuf {
    let (mut from, mut to) = (folder.components().peekable(), file.components().peekable());
    while from.peek().is_some() && from.peek() == to.peek() {
        from.next();
        to.next();
    }
    from.map(|_| std::path::Component::ParentDir).chain(to).collect()
}

/// An environment without the folders named on the command line.
struct Alone<'a>(&'a dyn Environment);

impl Environment for Alone<'_> {
    fn read(&self, path: &Path) -> Result<Vec<u8>, Diagnostic> {
        self.0.read(path)
    }

    fn replace(&self, path: &Path, bytes: &[u8], was: Option<&[u8]>) -> Result<(), Diagnostic> {
        self.0.replace(path, bytes, was)
    }

    fn sheet_folders(&self) -> &[PathBuf] {
        &[]
    }

    fn below(&self) -> Option<&dyn Environment> {
        Some(self.0)
    }
}

#[cfg(not(feature = "workbook"))]
fn outside_rows(file: &str, _: &[u8], _: Option<&str>) -> Result<Vec<(String, String)>, String> {
    Err(format!("`{file}` cannot be read: this program was built without the feature `workbook`"))
}
