//! A fenced block of the kind `sheet`: which sheet, under which name, with which inputs, and what is shown.

use std::ops::Range;
use std::sync::Arc;

use crate::calculation::{is_tolerance, parted};
use crate::diagnostic::{Diagnostic, Name, Place, Source};
use crate::language::{Spanned, Word};
use crate::program::nearest;
use crate::project::{is_of_library, name_in};

macro_rules! shows {
    ($($variant:ident $word:literal $about:literal;)*) => {
        /// A part of a calculation that a document can show.
        #[derive(Clone, Copy, Debug, PartialEq, Eq)]
        pub(super) enum Show {
            $(#[doc = $about] $variant,)*
        }

        /// The words by which a document names them.
        const WORDS: &[(&str, Show)] = &[$(($word, Show::$variant),)*];
    };
}

/// What is shown where nothing else is said.
pub(super) const USUAL: [Show; 6] =
    [Show::Inputs, Show::Results, Show::Checks, Show::Settings, Show::Picture, Show::Steps];

shows! {
    Inputs "inputs" "The inputs, to be changed by a reader.";
    Results "results" "The results.";
    Checks "checks" "The checks, as sentences.";
    Settings "settings" "What is set in the drive, with a line to confirm it.";
    Picture "picture" "What happens, drawn.";
    Steps "steps" "Every line as formula, values and result.";
    Worst "worst" "How far results and checks go within the tolerances of the inputs.";
    Slopes "slopes" "What results depend on, for 1 % of each input.";
}

/// What a block asks for.
pub(super) struct BlockRequest {
    /// Name of the sheet.
    pub(super) sheet: Word,
    /// Name of the calculation.
    pub(super) alias: String,
    /// Workbook that holds the inputs.
    pub(super) from: Option<From>,
    /// Inputs given in the block.
    pub(super) given: Vec<(Word, Word)>,
    /// Inputs taken from other calculations.
    pub(super) taken: Vec<LinkedInput>,
    /// Tolerances of inputs whose value stands elsewhere.
    pub(super) tolerances: Vec<(Word, Word)>,
    /// Workbook of a product line, which stands in the place of inputs.
    pub(super) range: Option<Word>,
    /// The results whose slopes are shown; empty for all.
    pub(super) slopes_of: Vec<Word>,
    /// The sheet's examples stand in for what is not given.
    pub(super) examples: bool,
    /// What is shown.
    pub(super) shows: Vec<Show>,
}

/// An input taken from other calculations, as a whole or, of a series, element by element.
pub(super) struct LinkedInput {
    pub(super) name: Word,
    pub(super) parts: Vec<LinkedPart>,
    /// As it is written.
    pub(super) written: Word,
}

/// One value of an input.
pub(super) enum LinkedPart {
    /// Another calculation's: its alias, and the name there.
    Others(Word, Word),
    /// Written out.
    Own(Word),
}

impl BlockRequest {
    /// What the block says of inputs itself, by name.
    pub(super) fn own_words(&self) -> Vec<String> {
        let values = self.given.iter().map(|(name, _)| name.value.clone());
        let taken = self.taken.iter().map(|one| one.name.value.clone());
        let tolerances =
            self.tolerances.iter().map(|(name, _)| format!("the tolerance of {}", name.value));
        let examples = self.examples.then(|| "what was left open".to_owned());
        values.chain(taken).chain(tolerances).chain(examples).collect()
    }
}

impl LinkedInput {
    /// The values of other calculations.
    pub(super) fn others(&self) -> impl Iterator<Item = (&Word, &Word)> {
        self.parts.iter().filter_map(|part| match part {
            LinkedPart::Others(alias, there) => Some((alias, there)),
            LinkedPart::Own(_) => None,
        })
    }
}

/// A workbook, and where in it.
pub(super) struct From {
    pub(super) book: Word,
    pub(super) at: Option<String>,
}

/// Whether the words after a fence open a block that is calculated.
pub(super) fn is_sheet(info: &str) -> bool {
    info.split_whitespace().next() == Some("sheet")
}

/// What the words after a fence were meant to be, where they open no block that is calculated.
pub(super) fn meant(info: &str) -> Option<String> {
    let mut words = info.split_whitespace();
    let first = words.next()?;
    let said = words.collect::<Vec<_>>();
    if matches!(first, "sheet" | "text") {
        return None;
    }
    // other letters by case, or one too many
    if !nearest(&first.to_lowercase(), ["sheet"].into_iter()).is_empty() {
        return Some(format!("sheet {}", said.join(" ")).trim_end().to_owned());
    }
    let named = first
        .split_once(['=', ':'])
        .map_or(first, |(word, rest)| if word == "sheet" { rest } else { word });
    if is_of_library(named) || said.first() == Some(&"as") && said.len() > 1 {
        return Some([&["sheet", named], said.as_slice()].concat().join(" "));
    }
    let at = said.iter().position(|word| *word == "sheet");
    let asks = ["range", "design", "measured", "standstill"].contains(&first);
    match at.and_then(|at| said.get(at..)) {
        Some(rest) => Some(rest.join(" ")),
        None => asks.then(|| "sheet NAME as ALIAS".to_owned()),
    }
}

/// The name of a sheet that is written out in a block.
pub(super) fn name_of_written(body: &str) -> Option<String> {
    let first =
        body.lines().map(str::trim).find(|line| !line.is_empty() && !line.starts_with('#'))?;
    let mut words = first.split_whitespace();
    (words.next() == Some("sheet")).then(|| words.next().map(str::to_owned)).flatten()
}

/// Reads a block.
pub(super) fn read(
    source: &Arc<Source>,
    all: &Range<usize>,
    info: &str,
    body: &Range<usize>,
    problems: &mut Vec<Diagnostic>,
) -> Option<BlockRequest> {
    let text = &source.text;
    let first_line = text.get(all.start..).and_then(|rest| rest.lines().next()).unwrap_or_default();
    let place = |span: Range<usize>| Place::text(source, span);
    let head = all.start..all.start + first_line.len();
    let said = info.trim().strip_prefix("sheet").unwrap_or_default().trim();
    let (sheet, alias) = match said.rsplit_once(" as ") {
        Some((sheet, alias)) => (sheet.trim(), alias.trim().to_owned()),
        None => (said, name_in(said)),
    };
    let plain = sheet.split_whitespace().count() == 1
        || sheet.split_once(' ').is_some_and(|(whose, name)| {
            matches!(whose, "own" | "library") && name.split_whitespace().count() == 1
        });
    let fits = plain && (is_name(&alias) || alias == sheet || alias == name_in(sheet));
    let (sheet, alias) = match fits {
        true => (sheet, alias.as_str()),
        false => {
            problems.push(
                Diagnostic::error(Name::ReviewLine, format!("`{info}` does not say which sheet is run"))
                    .at(place(head))
                    .remedy("write `sheet safe-stop as stop` behind the fence; a block that begins with a line `sheet my-sheet` writes a sheet out"),
            );
            return None;
        }
    };
    let start = all.start
        + first_line
            .rfind(sheet)
            .filter(|_| sheet == alias)
            .or_else(|| first_line.find(sheet))
            .unwrap_or(0);
    let mut asked = BlockRequest {
        sheet: Spanned { value: sheet.to_owned(), span: start..start + sheet.len() },
        alias: alias.to_owned(),
        from: None,
        given: Vec::new(),
        taken: Vec::new(),
        tolerances: Vec::new(),
        range: None,
        slopes_of: Vec::new(),
        examples: false,
        shows: USUAL.to_vec(),
    };
    let mut at = body.start;
    let mut said: Vec<(String, Range<usize>)> = Vec::new();
    for raw in text.get(body.clone()).unwrap_or_default().split_inclusive('\n') {
        let line = uncommented(raw);
        let indent = line.len() - line.trim_start().len();
        let span = at + indent..at + indent + line.trim().len();
        if let Some(what) = once(line.trim()) {
            match said.iter().find(|(known, _)| *known == what) {
                None => said.push((what, span.clone())),
                Some((_, first)) => problems.push(
                    Diagnostic::error(Name::DefinedTwice, format!("the block says {what} twice"))
                        .at(place(span.clone()))
                        .label(place(first.clone()), "said here first")
                        .remedy("leave one of both lines"),
                ),
            }
        }
        line_of(&mut asked, line.trim(), span, source, problems);
        at += raw.len();
    }
    if !asked.slopes_of.is_empty() && !asked.shows.contains(&Show::Slopes) {
        asked.shows.push(Show::Slopes);
    }
    let alone = asked.given.is_empty()
        && asked.taken.is_empty()
        && asked.tolerances.is_empty()
        && asked.from.is_none()
        && !asked.examples;
    if let Some(book) = asked.range.as_ref().filter(|_| !alone) {
        problems.push(
            Diagnostic::error(
                Name::ReviewLine,
                "a product line takes its inputs from its workbook alone",
            )
            .at(place(book.span.clone()))
            .remedy(
                "leave `range` alone in its block; one calculation stands in a block of its own",
            ),
        );
        return None;
    }
    Some(asked)
}

/// What a line of a block says and no second one may say; none for a line that is nothing of ours.
fn once(line: &str) -> Option<String> {
    let (word, rest) = line.split_once(char::is_whitespace).unwrap_or((line, ""));
    let rest = rest.trim();
    match word {
        "from" | "range" | "show" if !rest.starts_with('=') && !rest.is_empty() => {
            Some(format!("`{word}`"))
        }
        "examples" if rest.is_empty() => Some("`examples`".to_owned()),
        name if is_name(name) && is_tolerance(rest) => Some(format!("the tolerance of `{name}`")),
        _ => {
            let name = line.split_once('=')?.0.trim();
            is_name(name).then(|| format!("a value of `{name}`"))
        }
    }
}

fn line_of(
    asked: &mut BlockRequest,
    line: &str,
    span: Range<usize>,
    source: &Arc<Source>,
    problems: &mut Vec<Diagnostic>,
) {
    let (word, rest) = line.split_once(char::is_whitespace).unwrap_or((line, ""));
    let rest = rest.trim();
    let from = span.end - rest.len();
    match word {
        "" => {}
        "from" if !rest.starts_with('=') && !rest.is_empty() => {
            let (book, at) = match rest.split_once(" at ") {
                Some((book, at)) => (book.trim(), Some(at.trim().to_owned())),
                None => (rest, None),
            };
            let book = Spanned { value: book.to_owned(), span: from..from + book.len() };
            asked.from = Some(From { book, at });
        }
        "examples" if rest.is_empty() => asked.examples = true,
        "range" if !rest.starts_with('=') && !rest.is_empty() => {
            asked.range = Some(Spanned { value: rest.to_owned(), span: from..from + rest.len() });
        }
        "slopes" if rest.starts_with("of ") => {
            let mut at = from;
            for part in rest.split_inclusive([' ', ',', '\t']) {
                let name = part.trim_end_matches([' ', ',', '\t']);
                if at > from && !name.is_empty() {
                    asked.slopes_of.push(Spanned { value: name.to_owned(), span: at..at + name.len() });
                }
                at += part.len();
            }
        }
        "show" if !rest.starts_with('=') => {
            asked.shows.clear();
            for word in rest.split([' ', ',', '\t']).filter(|word| !word.is_empty()) {
                match WORDS.iter().find(|(known, _)| known == &word) {
                    Some((_, show)) => asked.shows.push(*show),
                    None => {
                        let list: Vec<&str> = WORDS.iter().map(|(word, _)| *word).collect();
                        let near = nearest(word, list.iter().copied());
                        let remedy = near.first().map_or_else(|| format!("it can show {}", list.join(", ")), |(near, _)| format!("`{near}` is close"));
                        let at = span.start + line.find(word).unwrap_or(0);
                        let problem = Diagnostic::error(Name::ReviewLine, format!("a block cannot show `{word}`"));
                        problems.push(problem.at(Place::text(source, at..at + word.len())).remedy(remedy));
                    }
                }
            }
        }
        name if is_name(name) && is_tolerance(rest) => {
            let name = Spanned { value: name.to_owned(), span: span.start..span.start + name.len() };
            asked.tolerances.push((name, Spanned { value: rest.to_owned(), span: from..span.end }));
        }
        _ => match line.split_once('=') {
            Some((name, value)) if is_name(name.trim()) => {
                let (name, value) = (name.trim(), value.trim());
                let start = span.end - value.len();
                let name = Spanned { value: name.to_owned(), span: span.start..span.start + name.len() };
                let value = Spanned { value: value.to_owned(), span: start..span.end };
                if let Some(taken) = taken(&name, &value) {
                    asked.taken.push(taken);
                    return;
                }
                asked.given.push((name, value));
            }
            _ => problems.push(
                Diagnostic::error(Name::ReviewLine, format!("`{line}` is neither an input nor a word of the block"))
                    .at(Place::text(source, span))
                    .remedy("write `name = value unit`, `name = other.result`, `name ± tolerance`, `from Book.xlsx`, `range Book.xlsx`, `examples`, `show results checks`, or `slopes of result`"),
            ),
        },
    }
}

/// The parts of a value of which at least one is another calculation's.
fn taken(name: &Word, value: &Word) -> Option<LinkedInput> {
    let mut parts = Vec::new();
    for part in parted(&value.value) {
        let text = value.value.get(part.clone()).unwrap_or_default();
        let start = value.span.start + part.start + text.len() - text.trim_start().len();
        let text = text.trim();
        let word = |text: &str, start: usize| Spanned {
            value: text.to_owned(),
            span: start..start + text.len(),
        };
        let names = |there: &str| there.split('.').all(is_name);
        match text.split_once('.').filter(|(alias, there)| is_name(alias) && names(there)) {
            Some((alias, there)) => parts
                .push(LinkedPart::Others(word(alias, start), word(there, start + alias.len() + 1))),
            None => parts.push(LinkedPart::Own(word(text, start))),
        }
    }
    let taken = LinkedInput { name: name.clone(), parts, written: value.clone() };
    if taken.others().next().is_some() { Some(taken) } else { None }
}

fn is_name(text: &str) -> bool {
    text.chars().next().is_some_and(char::is_alphabetic)
        && text.chars().all(|it| it.is_alphanumeric() || it == '_' || it == '-')
}

/// A line without its comment.
fn uncommented(line: &str) -> &str {
    match line.find('#') {
        Some(at) => line.get(..at).unwrap_or_default(),
        None => line.trim_end_matches(['\n', '\r']),
    }
}
