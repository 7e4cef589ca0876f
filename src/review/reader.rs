//! A document read: its blocks in the order in which one waits for another, then the values in its text.

use std::cell::OnceCell;
use std::collections::BTreeMap;
use std::ops::Range;
use std::path::{Path, PathBuf};
use std::rc::Rc;
use std::sync::Arc;

use super::block::{self, BlockRequest, LinkedInput};
use super::fences::{self, Fence};
use super::files::Noted;
use super::linked;
use super::model::{BlockContent, Calculation, Inline, Link, WorstReview};
use super::product::ProductReview;
use super::value;
use crate::calculation::{Inputs, Results};
use crate::diagnostic::{Diagnostic, Name, Origin, Place, Source};
use crate::program::Sheets as _;
use crate::program::{Program, Type, compile, nearest};
use crate::project::{Project, name_in};
use crate::report::{Foundation, Release};
use crate::spreadsheet::Book;
use crate::workbook::Request;

/// A document being read.
pub(super) struct Reader<'a> {
    pub(super) source: &'a Arc<Source>,
    pub(super) environment: &'a Noted<'a>,
    pub(super) folder: PathBuf,
    /// Sheets written out in the document.
    pub(super) written: Vec<(String, Arc<Source>)>,
    /// Workbooks that were opened; none for one whose problems are reported.
    pub(super) books: BTreeMap<String, Option<Rc<Opened>>>,
    pub(super) calculations: Vec<Calculation>,
    pub(super) lines: Vec<ProductReview>,
    /// Aliases whose calculation has problems that are reported already.
    pub(super) failed: Vec<String>,
    pub(super) blocks: Vec<(Range<usize>, BlockContent)>,
    pub(super) problems: Vec<Diagnostic>,
    pub(super) sheet_is_wrong: bool,
}

/// A workbook with what it asks for, and whether anything of it could not be read; that is looked for when a
/// calculation takes its inputs from it.
pub(super) struct Opened {
    pub(super) book: Book,
    pub(super) bound: OnceCell<(Vec<Request>, bool)>,
}

impl<'a> Reader<'a> {
    /// Nothing read yet; files are looked for beside the document.
    pub(super) fn new(source: &'a Arc<Source>, environment: &'a Noted<'a>) -> Self {
        let folder = Path::new(&source.name).parent().unwrap_or(Path::new("")).to_owned();
        Self {
            source,
            environment,
            folder,
            written: Vec::new(),
            books: BTreeMap::new(),
            calculations: Vec::new(),
            lines: Vec::new(),
            failed: Vec::new(),
            blocks: Vec::new(),
            problems: Vec::new(),
            sheet_is_wrong: false,
        }
    }

    /// Reads the blocks and calculates them in the order in which they wait for one another.
    pub(super) fn read_blocks(&mut self) {
        let text = &self.source.text;
        let found = fences::find(self.source, &mut self.problems);
        // sheets first, so that a calculation may stand before the sheet that it runs
        for Fence { body, .. } in &found {
            if let Some(name) = block::name_of_written(text.get(body.clone()).unwrap_or_default()) {
                self.written.push((name, blanked(self.source, body)));
            }
        }
        for (_, source) in self.written.clone() {
            let checked = compile(&source, &self.project());
            self.problems.extend(checked.problems.into_iter().filter(Diagnostic::is_error));
        }
        let mut blocks: Vec<(Range<usize>, Option<String>)> = Vec::new();
        let mut wanted: Vec<BlockRequest> = Vec::new();
        let mut heads: Vec<Range<usize>> = Vec::new();
        for Fence { all, info, body } in found {
            if block::name_of_written(text.get(body.clone()).unwrap_or_default()).is_some() {
                blocks.push((all, None));
                continue;
            }
            let Some(asked) = block::read(self.source, &all, &info, &body, &mut self.problems)
            else {
                continue;
            };
            if wanted.iter().any(|other| other.alias == asked.alias) {
                self.problems.push(named_twice(self.source, &asked));
                continue;
            }
            blocks.push((all.clone(), Some(asked.alias.clone())));
            heads.push(all);
            wanted.push(asked);
        }
        self.unknown_sources(&wanted);
        let order = linked::order(self.source, &wanted, &mut self.problems);
        // what is part of a circle, or waits for one, has no result, and may have problems of its own
        let waiting = (0..wanted.len()).filter(|at| !order.contains(at));
        for at in order.iter().copied().chain(waiting) {
            if let (Some(asked), Some(all)) = (wanted.get(at), heads.get(at)) {
                self.block(asked, all);
            }
        }
        // calculated in the order of what waits for what, shown in that of the document
        let place = |alias: &str| wanted.iter().position(|asked| asked.alias == alias);
        self.calculations.sort_by_key(|one| place(&one.alias));
        self.lines.sort_by_key(|one| place(&one.alias));
        for (all, alias) in blocks {
            let stands = match alias {
                None => Some(BlockContent::Written),
                Some(alias) => {
                    let calculation = self.calculations.iter().position(|one| one.alias == alias);
                    let line = self.lines.iter().position(|one| one.alias == alias);
                    calculation
                        .map(BlockContent::Calculation)
                        .or_else(|| line.map(BlockContent::Line))
                }
            };
            self.blocks.extend(stands.map(|stands| (all, stands)));
        }
    }

    /// Inputs that are taken from a calculation that the document does not have.
    fn unknown_sources(&mut self, wanted: &[BlockRequest]) {
        let taken = wanted.iter().flat_map(|asked| &asked.taken);
        for (alias, _) in taken.flat_map(LinkedInput::others) {
            let headline = match wanted.iter().find(|other| other.alias == alias.value) {
                Some(other) if other.range.is_none() => continue,
                Some(_) => format!("`{}` is a product line, it hands no value on", alias.value),
                None => format!("no calculation of the document is called `{}`", alias.value),
            };
            let names = wanted.iter().filter(|other| other.range.is_none());
            let near = nearest(&alias.value, names.map(|other| other.alias.as_str()));
            let remedy = near.first().map_or_else(
                || "name a calculation with `sheet … as name` behind its fence".to_owned(),
                |(near, _)| format!("`{near}` is close"),
            );
            let place = Place::text(self.source, alias.span.clone());
            self.problems
                .push(Diagnostic::error(Name::UnknownName, headline).at(place).remedy(remedy));
            self.failed.push(alias.value.clone());
        }
    }

    /// One block: calculated, or its problems reported.
    fn block(&mut self, asked: &BlockRequest, all: &Range<usize>) {
        let mut problems = Vec::new();
        let done = match &asked.range {
            Some(book) => {
                let line = self.product_line(asked, book, &mut problems);
                line.map(|line| self.lines.push(line))
            }
            None => {
                let made = self.computed(asked, all, &mut problems);
                made.map(|made| self.calculations.push(made))
            }
        };
        self.problems.extend(problems);
        if done.is_none() {
            self.failed.push(asked.alias.clone());
        }
    }

    pub(super) fn project(&self) -> Project<'_> {
        Project::new(self.environment).of_document(self.source, &self.written)
    }

    fn computed(
        &mut self,
        asked: &BlockRequest,
        all: &Range<usize>,
        problems: &mut Vec<Diagnostic>,
    ) -> Option<Calculation> {
        let place = Place::text(self.source, asked.sheet.span.clone());
        let checked = match self.project().checked(&asked.sheet.value, &place) {
            Ok(checked) => checked,
            Err(problem) => {
                problems.push(*problem);
                return None;
            }
        };
        let Some(program) = checked.program else {
            self.sheet_is_wrong = true;
            // a sheet of the document has been reported already
            problems.extend(checked.problems);
            return None;
        };
        let (mut inputs, from, protocol) = match &asked.from {
            Some(from) => {
                let request = self.request(from, &asked.sheet.value, &program, problems)?;
                (request.inputs, Some(request.place.to_text()), self.protocol(from))
            }
            None => (Inputs::new(&program), None, None),
        };
        let before = problems.len();
        for (name, value) in &asked.given {
            let place = Place::text(self.source, name.span.start..value.span.end);
            if let Err(problem) = inputs.write_typed(&name.value, &value.value, place) {
                problems.push(problem);
                if let Some(input) = program.input_named(&name.value) {
                    inputs.give_up(&name.value, input.place.clone());
                }
            }
        }
        let links = self.linked(asked, &mut inputs, problems);
        if asked.examples {
            inputs.fill_with_examples();
        }
        for (name, tolerance) in &asked.tolerances {
            if inputs.is_given_up(&name.value) {
                continue;
            }
            let place = Place::text(self.source, name.span.start..tolerance.span.end);
            if let Err(problem) = inputs.tolerate_typed(&name.value, &tolerance.value, &place) {
                problems.push(problem);
            }
        }
        let slopes_of = slopes_of(self.source, &program, asked, problems);
        let results = match Results::compute(inputs.program(), &inputs) {
            Ok(results) => Some(results),
            Err(found) => {
                problems.extend(found.into_iter().map(|problem| self.missing(problem, all, asked)));
                None
            }
        };
        if problems.len() > before {
            return None;
        }
        let typed = match program.scopes.first().map(|scope| &*scope.source) {
            Some(Source { origin: Origin::File(_), name, .. }) => name.clone(),
            Some(Source { origin: Origin::Library, .. }) => asked.sheet.value.clone(),
            _ => format!("{}.sheet", name_in(&asked.sheet.value)),
        };
        let results = results?;
        let release = Release::of(&results).standing_on(self.foundations(&links));
        Some(Calculation {
            alias: asked.alias.clone(),
            sheet: asked.sheet.value.clone(),
            worst: WorstReview::of(&results, &release),
            release,
            results,
            shows: asked.shows.clone(),
            from,
            own: asked.own_words(),
            protocol,
            typed,
            links,
            slopes_of,
        })
    }

    /// The calculations on which inputs stand that are none to go by, each once.
    fn foundations(&self, links: &[Link]) -> Vec<Foundation> {
        let taken = links.iter().flat_map(|link| &link.from);
        let from = taken.filter_map(|(_, origin)| {
            self.calculations.iter().find(|one| one.alias == origin.alias)
        });
        let all = from.flat_map(|one| {
            let why = one.release.own_why();
            let own = Foundation { alias: one.alias.clone(), why };
            let own = (!why.is_empty()).then_some(own);
            own.into_iter().chain(one.release.stands_on().iter().cloned())
        });
        let mut found = Vec::new();
        for one in all {
            if !found.contains(&one) {
                found.push(one);
            }
        }
        found
    }

    /// Takes the values of other calculations.
    fn linked(
        &self,
        asked: &BlockRequest,
        inputs: &mut Inputs,
        problems: &mut Vec<Diagnostic>,
    ) -> Vec<Link> {
        let mut links = Vec::new();
        for taken in &asked.taken {
            match linked::take(self.source, inputs, &self.calculations, taken) {
                Ok(Some(link)) => links.push(link),
                // none where the other calculation has failed, which is reported there
                failed => {
                    problems.extend(failed.err());
                    let place = Place::text(self.source, taken.name.span.clone());
                    inputs.give_up(&taken.name.value, place);
                }
            }
        }
        links
    }

    /// A missing input is reported where the document asks for the sheet.
    fn missing(&self, problem: Diagnostic, all: &Range<usize>, asked: &BlockRequest) -> Diagnostic {
        if problem.name != Name::MissingInput || asked.from.is_some() {
            return problem;
        }
        let line = all.start..asked.sheet.span.end.max(all.start);
        let remedy = problem
            .remedy
            .replacen("give it as `", "add a line `", 1)
            .replacen('=', " = ", 1)
            .replace('\'', "");
        let described = Diagnostic::error(problem.name, problem.headline)
            .at(Place::text(self.source, line))
            .remedy(remedy);
        match problem.place {
            Some(place) => described.label(place, "the sheet asks for it here"),
            None => described,
        }
    }

    /// Finds the values in the text.
    pub(super) fn read_values(&mut self) -> Vec<(Range<usize>, Inline)> {
        let mut found = Vec::new();
        for (range, text) in value::find(&self.source.text, &self.source.text) {
            let place = |span: Range<usize>| {
                Place::text(self.source, range.start + span.start..range.start + span.end)
            };
            match value::read(text, &self.calculations, &self.lines, &self.failed, &place) {
                Ok(Some(inline)) => found.push((range, inline)),
                Ok(None) => {}
                Err(problem) => self.problems.push(problem),
            }
        }
        found
    }
}

/// Two blocks have one name.
fn named_twice(source: &Arc<Source>, asked: &BlockRequest) -> Diagnostic {
    let remedy = format!("write another name: `sheet {} as {}_2`", asked.sheet.value, asked.alias);
    Diagnostic::error(Name::DefinedTwice, format!("two calculations are called `{}`", asked.alias))
        .at(Place::text(source, asked.sheet.span.clone()))
        .remedy(remedy)
}

/// The results whose slopes are asked for, by place.
fn slopes_of(
    source: &Arc<Source>,
    program: &Program,
    asked: &BlockRequest,
    problems: &mut Vec<Diagnostic>,
) -> Vec<usize> {
    let mut found = Vec::new();
    for word in &asked.slopes_of {
        let at = program.outputs.iter().position(|output| {
            output.name == word.value && matches!(output.type_, Type::Number { series: false, .. })
        });
        match at {
            Some(at) => found.push(at),
            None => {
                let names = program.outputs.iter().map(|output| output.name.as_str());
                let near = nearest(&word.value, names);
                let remedy = near.first().map_or_else(
                    || format!("`standstill show {}` lists what it gives", asked.sheet.value),
                    |(near, _)| format!("`{near}` is close"),
                );
                problems.push(
                    Diagnostic::error(
                        Name::UnknownName,
                        format!("`{}` gives no single number `{}`", asked.alias, word.value),
                    )
                    .at(Place::text(source, word.span.clone()))
                    .remedy(remedy),
                );
            }
        }
    }
    found
}

/// The document with everything outside a block made blank, so that places in the block stay true.
fn blanked(source: &Source, body: &Range<usize>) -> Arc<Source> {
    let text = source.text.char_indices().flat_map(|(at, sign)| {
        let inside = body.contains(&at) || sign == '\n';
        let count = if inside { 1 } else { sign.len_utf8() };
        std::iter::repeat_n(if inside { sign } else { ' ' }, count)
    });
    let line = source.line_and_column(body.start).0;
    Source::of(source.name.clone(), Origin::Written(line), text.collect::<String>())
}
