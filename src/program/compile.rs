//! A sheet and all it uses to one flat program.

use std::collections::{BTreeMap, BTreeSet, HashMap};
use std::sync::Arc;

use super::checked::Checked;
use super::flat::{Line, LineId, Op, Program, Register, Scope, Step, TableId, Type};
use super::order::{Item, Order, mentioned, order};
use super::resolver::Resolver;
use super::scope::{Arguments, Named, Pending, Question, Sheet, Value};
use crate::diagnostic::{Diagnostic, Name, Origin, Place, Source, phrase, put_in_order};
use crate::language::{self, Shape, Tree, is_built_in};
use crate::unit::{self, Dimension, Kind, Unit};

/// Checks a sheet: names, order, kinds and units, once, before any number is seen.
///
/// # Example
/// ```
/// use standstill::diagnostic::Source;
/// use standstill::program::{NoResolver, compile};
/// let text = "sheet stop\ntitle \"t\"\nsource \"s\"\ntakes\n  v : speed in m/s\n  a : acceleration in m/s²\n\
///             works\n  t = v / a\n  s = v + t\ngives\n  t in s\n  s in m\n";
/// let checked = compile(&Source::new("stop.sheet", text), &NoResolver);
/// assert!(checked.program.is_none());
/// assert_eq!(checked.problems[0].headline, "a speed and a time cannot be added");
/// ```
#[must_use]
pub fn compile(source: &Arc<Source>, resolver: &dyn Resolver) -> Checked {
    let (program, problems) = compile_in_part(source, resolver);
    // a group holds inputs alone: nothing of it can be run
    let whole = !problems.iter().any(Diagnostic::is_error) && !program.outputs.is_empty();
    Checked { program: whole.then(|| Arc::new(program)), problems }
}

/// What can be made of a sheet, whatever is wrong with the rest of it: to be looked at, not to be run.
pub(crate) fn compile_in_part(
    source: &Arc<Source>,
    resolver: &dyn Resolver,
) -> (Program, Vec<Diagnostic>) {
    let mut compiler = Compiler::new(resolver);
    let tree = compiler.read(source);
    compiler.using.push(Arc::clone(source));
    compiler.sheet(source, &tree, String::new(), None, 0);
    let Compiler { mut program, mut problems, steps, .. } = compiler;
    program.steps = steps;
    put_in_order(&mut problems);
    (program, problems)
}

/// A sheet as it is written, with the inputs of its groups among its own.
pub(crate) fn whole_tree(source: &Arc<Source>, resolver: &dyn Resolver) -> Arc<Tree> {
    Compiler::new(resolver).read(source)
}

/// The unit in which each result is given, the first where one is given twice.
fn given_units(tree: &Tree) -> BTreeMap<String, String> {
    let units = tree.gives.iter().rev().filter_map(|give| {
        let unit = give.unit.as_ref()?;
        Some((give.name.value.clone(), unit.value.clone()))
    });
    units.collect()
}

/// The line of a place, counted from 1.
pub(super) fn line_of(place: &Place) -> usize {
    match place {
        Place::Text { source, span } => source.line_and_column(span.0).0,
        _ => 0,
    }
}

/// The state of checking.
pub(super) struct Compiler<'s> {
    pub(super) resolver: &'s dyn Resolver,
    pub(super) program: Program,
    pub(super) problems: Vec<Diagnostic>,
    /// Where steps go now: the program's, or those of a block.
    pub(super) steps: Vec<Step>,
    pub(super) line: LineId,
    /// Type of every register, by its number.
    pub(super) types: Vec<Type>,
    /// The sheets from the asked one to this one.
    pub(super) using: Vec<Arc<Source>>,
    /// How many functions are open, one inside the other.
    pub(super) calls: usize,
    /// How many calls and uses there were.
    pub(super) all_calls: usize,
    /// The outermost call or use that is open.
    pub(super) asked: Option<Place>,
    /// Units that were read, by the kind that read them: each text is read once.
    pub(super) units: HashMap<(&'static str, String), Unit>,
    /// Units of results by dimension, likewise; nothing where there is no such unit.
    pub(super) given_units: HashMap<(Dimension, bool, String), Option<Unit>>,
    /// How often a product was looked at for hidden conversions, by scope and span.
    pub(super) looked: HashMap<(u32, usize, usize), u32>,
    /// Trees by source, each read and reported once.
    pub(super) trees: Vec<(Arc<Source>, Arc<Tree>)>,
    /// Integrals of the sheet at hand whose direction is not yet known.
    pub(super) integrals: Vec<Pending>,
    /// What the ranges of the asked sheet may answer.
    pub(super) questions: Vec<Question>,
}

impl<'s> Compiler<'s> {
    fn new(resolver: &'s dyn Resolver) -> Self {
        Self {
            resolver,
            program: Program::default(),
            problems: Vec::new(),
            steps: Vec::new(),
            line: LineId(0),
            types: Vec::new(),
            using: Vec::new(),
            calls: 0,
            all_calls: 0,
            asked: None,
            units: HashMap::new(),
            given_units: HashMap::new(),
            looked: HashMap::new(),
            trees: Vec::new(),
            integrals: Vec::new(),
            questions: Vec::new(),
        }
    }

    /// The tree of a source; its problems are reported the first time only.
    pub(super) fn read(&mut self, source: &Arc<Source>) -> Arc<Tree> {
        if let Some((_, tree)) = self.trees.iter().find(|(known, _)| known.is_same(source)) {
            return Arc::clone(tree);
        }
        let (mut tree, problems) = language::parse(source);
        self.problems.extend(problems);
        self.groups(source, &mut tree);
        self.courses(source, &mut tree);
        // a result under another name is a line of that name
        tree.works.extend(tree.gives.iter().filter_map(language::Give::definition));
        let tree = Arc::new(tree);
        self.trees.push((Arc::clone(source), Arc::clone(&tree)));
        tree
    }

    /// One sheet; what comes back are its results by name.
    pub(super) fn sheet(
        &mut self,
        source: &Arc<Source>,
        tree: &Arc<Tree>,
        path: String,
        arguments: Option<Arguments>,
        depth: usize,
    ) -> BTreeMap<String, Value> {
        let tree = &self.groups_handed(source, tree);
        let scope = u32::try_from(self.program.scopes.len()).unwrap_or(u32::MAX);
        let text = |word: &Option<language::Word>| {
            word.as_ref().map(|word| word.value.clone()).unwrap_or_default()
        };
        let texts =
            |words: &[language::Word]| words.iter().map(|word| word.value.clone()).collect();
        let groups = tree.groups.iter();
        self.program.scopes.push(Scope {
            sheet: text(&tree.name),
            version: text(&tree.version),
            date: text(&tree.date),
            title: text(&tree.title),
            path: path.trim_end_matches('.').to_owned(),
            source: Arc::clone(source),
            outside: Vec::new(),
            groups: groups
                .filter_map(|it| Some((it.name.value.clone(), it.source.clone()?)))
                .collect(),
            sources: texts(&tree.sources),
            words: texts(&tree.words),
            cautions: texts(&tree.cautions),
            names: BTreeMap::new(),
        });
        let mut sheet = Sheet {
            source: Arc::clone(source),
            tree: Arc::clone(tree),
            scope,
            path,
            names: BTreeMap::new(),
            places: BTreeMap::new(),
            units: BTreeMap::new(),
            locals: Vec::new(),
            running: Vec::new(),
            lines: BTreeMap::new(),
            given_units: given_units(tree),
            depth,
        };
        self.bears_the_name_of_its_file(&sheet);
        self.claim_names(&mut sheet);
        self.takes(&mut sheet, arguments.as_ref());
        if tree.is_group {
            self.limits(&mut sheet);
            self.holds_inputs_alone(&sheet);
            return BTreeMap::new();
        }
        let tree = Arc::clone(tree);
        let Order { items, circles } = order(&tree.uses, &tree.works);
        for circle in &circles {
            self.circle(&mut sheet, circle);
        }
        self.silence_stuck(&mut sheet, &items);
        for item in &items {
            match item {
                Item::Use(at) => {
                    if let Some(line) = tree.uses.get(*at) {
                        self.used(&mut sheet, line);
                    }
                }
                Item::Work(at) => {
                    if let Some(line) = tree.works.get(*at) {
                        self.works(&mut sheet, *at, line);
                    }
                }
            }
        }
        self.handed_over_by_silence(&sheet);
        self.limits(&mut sheet);
        if sheet.path.is_empty() {
            self.decided(&sheet);
            self.in_vain(&sheet);
            self.same_values(&sheet);
            self.unread_names(&sheet);
            self.hidden_names(&sheet);
            self.names_read_as_units(&sheet);
        }
        self.holds(&mut sheet);
        if sheet.path.is_empty() {
            self.open_below(&sheet);
        }
        let results = self.gives(&mut sheet);
        self.unused(&sheet);
        self.words_untold(&sheet);
        if sheet.path.is_empty() {
            self.beyond_tables(&sheet);
        }
        self.left_over(&sheet);
        let lines = std::mem::take(&mut sheet.lines);
        if let Some(kept) =
            usize::try_from(scope).ok().and_then(|at| self.program.scopes.get_mut(at))
        {
            kept.names = lines;
        }
        self.keep_courses(&sheet);
        results
    }

    /// A sheet is found by the name of its file, and shown by its own: they are one.
    fn bears_the_name_of_its_file(&mut self, sheet: &Sheet) {
        let word = if sheet.tree.is_group { "group" } else { "sheet" };
        let (Origin::File(path), Some(name)) = (&sheet.source.origin, &sheet.tree.name) else {
            return;
        };
        let stem = path.file_stem().map(|stem| stem.to_string_lossy().into_owned());
        // a text from standard input has no name of its own
        let Some(stem) = stem.filter(|stem| *stem != name.value && stem != "-") else { return };
        let problem = Diagnostic::caution(
            Name::AmbiguousSheet,
            format!("the file is called `{stem}`, and the {word} in it `{}`", name.value),
        );
        let remedy = match language::is_sheet_name(&stem) {
            true => format!("write `{word} {stem}`, or call the file `{}.{word}`", name.value),
            false => format!("call the file `{}.{word}`", name.value),
        };
        let problem = problem.at(sheet.place(&name.span)).remedy(remedy);
        if !self.problems.contains(&problem) {
            self.problems.push(problem);
        }
    }

    /// Notes where each name is defined, and which are defined twice or reserved.
    fn claim_names(&mut self, sheet: &mut Sheet) {
        let tree = Arc::clone(&sheet.tree);
        let takes = tree.takes.iter().map(|line| (&line.name, sheet.place_of(line)));
        let own = |word: &'_ language::Word| sheet.place(&word.span);
        let uses = tree.uses.iter().map(|line| (&line.alias, own(&line.alias)));
        let groups = tree.groups.iter().map(|line| (line.handle(), own(line.handle())));
        let courses = tree.courses.iter().map(|line| (&line.alias, own(&line.alias)));
        let works = tree.works.iter().map(|line| (&line.name, own(&line.name)));
        let all: Vec<_> = uses.chain(courses).chain(groups).chain(takes).chain(works).collect();
        self.lookalikes(&all);
        for take in &tree.takes {
            if let Shape::Choice(words) = &take.shape {
                let words: Vec<_> = words.iter().map(|it| (it, own(it))).collect();
                self.lookalikes(&words);
            }
        }
        let mut first: BTreeMap<&str, Place> = BTreeMap::new();
        for (word, place) in all {
            if is_built_in(&word.value) {
                self.problems.push(
                    Diagnostic::error(
                        Name::ReservedName,
                        format!("`{}` is built in and cannot be a name", word.value),
                    )
                    .at(place.clone())
                    .remedy(format!("call it `{}_1`, or by the letter of its formula", word.value)),
                );
            }
            match first.get(word.value.as_str()) {
                Some(before) => {
                    self.problems.push(
                        Diagnostic::error(
                            Name::DefinedTwice,
                            format!("`{}` is defined twice", word.value),
                        )
                        .at(place)
                        .label(before.clone(), format!("first in line {}", line_of(before)))
                        .remedy("give one of them another name"),
                    );
                }
                None => {
                    first.insert(&word.value, place.clone());
                    if tree.group(&word.value).is_none() {
                        sheet.places.insert(word.value.clone(), place);
                    }
                }
            }
        }
    }

    /// Lines that wait for one another: the circle printed, each with what it waits for.
    fn circle(&mut self, sheet: &mut Sheet, circle: &[Item]) {
        let named =
            |item: &Item| -> Option<(String, std::ops::Range<usize>, std::ops::Range<usize>)> {
                match item {
                    Item::Use(at) => sheet.tree.uses.get(*at).map(|line| {
                        (line.alias.value.clone(), line.alias.span.clone(), line.span.clone())
                    }),
                    Item::Work(at) => sheet.tree.works.get(*at).map(|line| {
                        (line.name.value.clone(), line.name.span.clone(), line.span.clone())
                    }),
                }
            };
        let lines: Vec<_> = circle.iter().filter_map(named).collect();
        let Some((first, rest)) = lines.split_first() else { return };
        let waits = |at: usize| {
            let next = lines.get(at + 1).unwrap_or(first);
            let line = sheet.source.line_and_column(next.2.start).0;
            let again = if at + 1 == lines.len() && lines.len() > 1 {
                format!(", line {line} again")
            } else {
                String::new()
            };
            format!("waits for `{}`{again}", next.0)
        };
        let quoted = phrase::quoted(lines.iter().map(|line| &line.0));
        let headline = match quoted.as_slice() {
            [only] => format!("{only} waits for itself"),
            names => format!("{} wait for each other", phrase::joined(names, "and")),
        };
        let mut problem = Diagnostic::error(Name::CircularDefinition, headline)
            .at(sheet.place(&first.1))
            .saying(waits(0));
        for (at, line) in rest.iter().enumerate() {
            problem = problem.label(sheet.place(&line.1), waits(at + 1));
        }
        self.problems.push(problem.remedy("make one of them an input, or find it with `root of`"));
    }

    /// What is in a circle, or waits for one, stays silent.
    fn silence_stuck(&self, sheet: &mut Sheet, items: &[Item]) {
        let tree = Arc::clone(&sheet.tree);
        let free: BTreeSet<Item> = items.iter().copied().collect();
        for (at, line) in tree.works.iter().enumerate() {
            if !free.contains(&Item::Work(at)) {
                sheet.names.insert(line.name.value.clone(), Named::Silent);
            }
        }
        for (at, line) in tree.uses.iter().enumerate() {
            if !free.contains(&Item::Use(at)) {
                sheet.names.insert(line.alias.value.clone(), Named::Silent);
            }
        }
    }

    /// What no result and no check depends on.
    fn unused(&mut self, sheet: &Sheet) {
        // a sheet used by another is looked at when it is checked by itself; a line that does not read
        // may depend on anything
        if !sheet.path.is_empty() || !sheet.tree.is_whole() {
            return;
        }
        let tree = &sheet.tree;
        let mentioned = mentioned(tree);
        for take in &tree.takes {
            if !mentioned.contains(&take.name.value) {
                self.problems.push(
                    Diagnostic::caution(
                        Name::UnusedInput,
                        format!("nothing depends on the input `{}`", take.name.value),
                    )
                    .at(match &take.from {
                        Some((_, line)) => sheet.place(line),
                        None => sheet.place_of(take),
                    })
                    .remedy(match &take.from {
                        Some(_) => "use it, or take the inputs that are needed one by one",
                        None => "use it, or leave it out",
                    }),
                );
            }
        }
        let works = tree.works.iter().map(|line| (&line.name, "line"));
        let uses = tree.uses.iter().map(|line| (&line.alias, "used sheet"));
        for (word, what) in works.chain(uses) {
            if !mentioned.contains(&word.value) {
                self.problems.push(
                    Diagnostic::caution(
                        Name::UnusedDefinition,
                        format!("nothing depends on the {what} `{}`", word.value),
                    )
                    .at(sheet.place(&word.span))
                    .remedy("list it in gives, check it in holds, or leave it out"),
                );
            }
        }
    }

    /// The number of the next line, to be filled by [`Self::put_line`].
    pub(super) fn next_line(&self) -> LineId {
        LineId(u32::try_from(self.program.lines.len()).unwrap_or(u32::MAX))
    }

    /// Keeps a line, once its steps are made.
    pub(super) fn put_line(&mut self, id: LineId, line: Line) {
        debug_assert_eq!(id, self.next_line());
        self.program.lines.push(line);
    }

    /// A kind by name, or its problem reported.
    pub(super) fn kind(&mut self, sheet: &Sheet, word: &language::Word) -> Option<&'static Kind> {
        let found = unit::kind(&word.value);
        if found.is_none() {
            let near = unit::nearest_kinds(&word.value);
            let split = word
                .value
                .rsplit_once(' ')
                .and_then(|(kind, unit)| unit::kind(kind).map(|_| (kind, unit)));
            let state = word.value.strip_prefix("state ");
            let remedy = match (split, near.first()) {
                _ if state.is_some() => format!(
                    "a state is taken under its own name, on a line of its own: `{}`",
                    word.value
                ),
                (Some((kind, number)), _) if unit::parse_number(number).is_some() => {
                    let unit = match unit::kind(kind) {
                        Some(it) if !it.bare => it.units.first().copied().unwrap_or_default(),
                        _ => "",
                    };
                    let (within, blank) = match unit {
                        "" => (String::new(), ""),
                        unit => (format!(" in {unit}"), " "),
                    };
                    format!("an example is written so: `{kind}{within} like {number}{blank}{unit}`")
                }
                (Some((kind, unit)), _) => format!("write `{kind} in {unit}`"),
                (None, Some(near)) => format!("did you mean `{near}`?"),
                (None, None) => "`standstill list kinds` shows all kinds".to_owned(),
            };
            self.problems.push(
                Diagnostic::error(
                    Name::UnknownKind,
                    format!("no kind of quantity is called `{}`", word.value),
                )
                .at(sheet.place(&word.span))
                .remedy(remedy),
            );
        }
        found
    }

    /// The number of the next table.
    pub(super) fn next_table(&self) -> TableId {
        TableId(u32::try_from(self.program.tables.len()).unwrap_or(u32::MAX))
    }

    /// A register for a value of a type.
    pub(super) fn new_register(&mut self, type_: Type) -> Register {
        let register = Register(self.program.registers);
        self.program.registers += 1;
        self.types.push(type_);
        register
    }

    /// What a register holds.
    pub(super) fn type_of(&self, register: Register) -> Option<&Type> {
        self.types.get(register.place()?)
    }

    /// A step that brings an input in.
    pub(super) fn input_register(&mut self, op: Op, type_: Type) -> Register {
        let to = self.new_register(type_);
        self.steps.push(Step { op, to, line: self.line });
        to
    }
}
