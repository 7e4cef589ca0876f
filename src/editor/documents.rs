//! The sheets that are open in the editor, and the files below them.

use std::cell::OnceCell;
use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};
use std::sync::Arc;

use lsp_types::Uri;

use super::occurrences::{Occurrence, Role, occurrences};
use super::position::{path_of, uri_of};
use crate::calculation::{Inputs, Results};
use crate::diagnostic::{Diagnostic, Origin, Place, Source};
use crate::environment::Environment;
use crate::language::{self, Span, Tree, Use};
use crate::library;
use crate::program::{Program, Resolver as _, compile_in_part, whole_tree};
use crate::project::Project;

/// A sheet that is open, checked.
pub(super) struct Document {
    pub(super) uri: Uri,
    pub(super) version: Option<i32>,
    pub(super) source: Arc<Source>,
    /// With the inputs of its groups among its own.
    pub(super) tree: Arc<Tree>,
    /// What could be made of it.
    pub(super) program: Arc<Program>,
    pub(super) problems: Vec<Diagnostic>,
    pub(super) words: Vec<Occurrence>,
    values: OnceCell<Option<Results>>,
}

impl Document {
    /// The text, its lines ended by a line feed alone.
    pub(super) fn text(&self) -> &str {
        &self.source.text
    }

    /// The word at a byte, or just before it.
    pub(super) fn word_at(&self, offset: usize) -> Option<&Occurrence> {
        let around = |word: &&Occurrence| word.span.start <= offset && offset <= word.span.end;
        let all = self.words.iter().filter(around);
        all.max_by_key(|word| word.span.start)
    }

    /// Where a name of the sheet is defined.
    pub(super) fn definition(&self, name: &str) -> Option<&Occurrence> {
        self.words.iter().find(|word| word.defines && word.role == Role::Own && word.name == name)
    }

    /// All that stands for the same thing of this sheet.
    pub(super) fn same_as(&self, word: &Occurrence) -> Vec<&Occurrence> {
        let role = match &word.role {
            Role::Itself(_) => &Role::Own,
            role => role,
        };
        let same = |it: &&Occurrence| {
            it.name == word.name
                && (it.role == *role || (*role == Role::Own && matches!(it.role, Role::Itself(_))))
        };
        self.words.iter().filter(same).collect()
    }

    pub(super) fn used(&self, alias: &str) -> Option<&Use> {
        self.tree.uses.iter().find(|line| line.alias.value == alias)
    }

    /// The used sheet and its result that are read by two words, through a course too.
    pub(super) fn result_of(&self, alias: &str, name: &str) -> (String, String) {
        let itself = || (alias.to_owned(), name.to_owned());
        self.tree.in_course(alias, name).unwrap_or_else(itself)
    }

    /// The results with the defaults and examples of the sheet; none where it has a mistake, or not all of them.
    pub(super) fn values(&self) -> Option<&Results> {
        let results = self.values.get_or_init(|| {
            if self.problems.iter().any(Diagnostic::is_error) {
                return None;
            }
            let mut inputs = Inputs::new(&self.program);
            inputs.fill_with_examples();
            Results::compute(&self.program, &inputs).ok()
        });
        results.as_ref()
    }
}

/// All that are open.
pub(super) struct Documents<'a> {
    environment: Overlay<'a>,
    /// Where sheets of the library are shown from.
    library: Option<PathBuf>,
    open: BTreeMap<String, Document>,
    /// Those whose lines end in a carriage return as well.
    returns: BTreeSet<String>,
}

impl<'a> Documents<'a> {
    pub(super) fn new(environment: &'a dyn Environment, library: Option<PathBuf>) -> Self {
        let environment = Overlay { below: environment, texts: BTreeMap::new() };
        Self { environment, library, open: BTreeMap::new(), returns: BTreeSet::new() }
    }

    pub(super) fn get(&self, uri: &Uri) -> Option<&Document> {
        self.open.get(uri.as_str())
    }

    pub(super) fn all(&self) -> impl Iterator<Item = &Document> {
        self.open.values()
    }

    /// A text as the editor has it now; the other sheets may use it, so that all are checked again.
    pub(super) fn put(&mut self, uri: Uri, version: Option<i32>, text: &str) {
        match text.contains("\r\n") {
            true => self.returns.insert(uri.as_str().to_owned()),
            false => self.returns.remove(uri.as_str()),
        };
        let text = text.strip_prefix('\u{feff}').unwrap_or(text).replace("\r\n", "\n");
        if let Some(path) = path_of(&uri) {
            let path = self.environment.below.canonical(&path).unwrap_or(path);
            self.environment.texts.insert(path, text.clone());
        }
        let document = self.check(uri, version, text);
        self.open.insert(document.uri.as_str().to_owned(), document);
    }

    /// Lines as those of a document end.
    pub(super) fn ended(&self, document: &Document, lines: String) -> String {
        match self.returns.contains(document.uri.as_str()) {
            true => lines.replace('\n', "\r\n"),
            false => lines,
        }
    }

    pub(super) fn remove(&mut self, uri: &Uri) {
        self.open.remove(uri.as_str());
        if let Some(path) = path_of(uri) {
            let path = self.environment.below.canonical(&path).unwrap_or(path);
            self.environment.texts.remove(&path);
        }
    }

    pub(super) fn check_all(&mut self) {
        let open = std::mem::take(&mut self.open);
        for (key, old) in open {
            let document = self.check(old.uri, old.version, old.source.text.clone());
            self.open.insert(key, document);
        }
    }

    fn check(&self, uri: Uri, version: Option<i32>, text: String) -> Document {
        let source = self.source(&uri, text);
        let words = occurrences(&language::parse(&source).0);
        let tree = self.tree(&source);
        let (program, problems) = compile_in_part(&source, &self.project());
        let program = Arc::new(program);
        Document { uri, version, source, tree, program, problems, words, values: OnceCell::new() }
    }

    /// The problems that a text would have in the place of a document.
    pub(super) fn tried(&self, document: &Document, text: String) -> (Program, Vec<Diagnostic>) {
        compile_in_part(&self.source(&document.uri, text), &self.project())
    }

    fn source(&self, uri: &Uri, text: String) -> Arc<Source> {
        let Some(path) = path_of(uri) else { return Source::new(uri.as_str(), text) };
        let folder = self.library.as_deref();
        let stem = path.file_stem().unwrap_or_default().to_string_lossy();
        if let (true, Some(sheet)) = (path.parent() == folder, library::sheet(&stem)) {
            return Source::of(sheet.name.clone(), Origin::Library, text);
        }
        let canonical = self.environment.below.canonical(&path).unwrap_or_else(|| path.clone());
        Source::of(path.to_string_lossy(), Origin::File(canonical), text)
    }

    /// A sheet with the inputs of its groups among its own.
    pub(super) fn tree(&self, source: &Arc<Source>) -> Arc<Tree> {
        whole_tree(source, &self.project())
    }

    pub(super) fn project(&self) -> Project<'_> {
        Project::new(&self.environment)
    }

    /// The sheet that a line of `uses` names.
    pub(super) fn sheet_of(&self, document: &Document, line: &Use) -> Option<Arc<Source>> {
        self.sheet_in(&document.source, line)
    }

    /// The sheet that a line of `uses` in a text names.
    pub(super) fn sheet_in(&self, source: &Arc<Source>, line: &Use) -> Option<Arc<Source>> {
        let place = Place::text(source, line.sheet.span.clone());
        self.project().sheet(line.whose, &line.sheet.value, &place).ok()
    }

    /// The names of all sheets that a document may use.
    pub(super) fn sheets(&self, document: &Document) -> Vec<String> {
        let own = self.project().own_beside(&Place::text(&document.source, 0..0));
        let own = own.unwrap_or_default();
        let stem = |path: &PathBuf| path.file_stem().map(|it| it.to_string_lossy().into_owned());
        let library = library::SHEETS.iter().map(|sheet| sheet.name.to_owned());
        own.iter().filter_map(stem).chain(library).collect()
    }

    /// Where a span of a sheet can be looked at: in its file, or in a copy of what is in the library.
    pub(super) fn location(&self, source: &Source, span: &Span) -> Option<lsp_types::Location> {
        let path = match &source.origin {
            Origin::File(path) => path.clone(),
            Origin::Library => {
                let path = self.library.as_ref()?.join(&source.name);
                self.environment.below.keep(&path, source.text.as_bytes()).ok()?;
                path
            }
            Origin::Written(_) | Origin::Text => {
                return source.name.parse().ok().map(|uri| {
                    lsp_types::Location::new(uri, super::position::range(&source.text, span))
                });
            }
        };
        // the address by which the editor knows it, where it is open
        let same = |document: &&Document| document.source.origin == source.origin;
        let uri = match self.open.values().filter(|_| source.origin != Origin::Library).find(same) {
            Some(document) => document.uri.clone(),
            None => uri_of(&path)?,
        };
        Some(lsp_types::Location::new(uri, super::position::range(&source.text, span)))
    }
}

/// The files of the machine, with those that are open in the editor as they stand there.
struct Overlay<'a> {
    below: &'a dyn Environment,
    texts: BTreeMap<PathBuf, String>,
}

impl Overlay<'_> {
    fn text(&self, path: &Path) -> Option<&String> {
        self.texts.get(&self.below.canonical(path).unwrap_or_else(|| path.to_owned()))
    }
}

impl Environment for Overlay<'_> {
    fn read(&self, path: &Path) -> Result<Vec<u8>, Diagnostic> {
        match self.text(path) {
            Some(text) => Ok(text.clone().into_bytes()),
            None => self.below.read(path),
        }
    }

    fn replace(&self, path: &Path, bytes: &[u8], was: Option<&[u8]>) -> Result<(), Diagnostic> {
        self.below.replace(path, bytes, was)
    }

    fn canonical(&self, path: &Path) -> Option<PathBuf> {
        let known = || self.texts.contains_key(path).then(|| path.to_owned());
        self.below.canonical(path).or_else(known)
    }

    fn peek(&self, path: &Path) -> Option<Vec<u8>> {
        self.read(path).ok()
    }

    fn below(&self) -> Option<&dyn Environment> {
        Some(self.below)
    }
}
