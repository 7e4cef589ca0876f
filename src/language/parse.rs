//! The whole of a sheet: entry by entry, never giving up.

use std::sync::Arc;

use nom::Err;

use super::comma;
use super::entry::Header;
use super::expression::Expressions;
use super::layout::{Block, Entry, LayoutError, below, entries, one_line};
use super::no_blank::{self, Names};
use super::relation::Relation;
use super::scan::{Expected, Mistake, Read, Scan, SyntaxError, blanks};
use super::tree::{Check, Course, Group, Node, Shape, Span, Take, Tree};
use super::words;
use crate::diagnostic::{Diagnostic, Name, Place, Source, turning_marks};
use crate::unit::without_leading_zeros;

/// Reads a sheet. Every line that does not read is reported, and the others are still in the tree.
///
/// # Example
/// ```
/// use standstill::diagnostic::Source;
/// use standstill::language::parse;
/// let text = "sheet run\ntitle \"t\"\nsource \"s\"\ntakes\n  t : time in s\nworks\n  a = t + + \n  b = 2 * t\ngives\n  b in s\n";
/// let (tree, problems) = parse(&Source::new("run.sheet", text));
/// assert_eq!(tree.works.len(), 1);
/// assert_eq!(problems.len(), 1);
/// ```
#[must_use]
pub fn parse(source: &Arc<Source>) -> (Tree, Vec<Diagnostic>) {
    let (mut entries, mut slips, heads) = entries(&source.text);
    let mut reader = Reader::of(source, &entries);
    if !reader.problems.is_empty() || reader.tree.takes.iter().any(is_calculated) {
        let missing = missing_heads(&source.text, &mut entries, &heads);
        if !missing.is_empty() {
            slips.extend(missing);
            reader = Reader::of(source, &entries);
        }
    }
    for slip in slips {
        reader.slip(slip);
    }
    reader.header();
    reader.problems.extend(turning_marks(source));
    (reader.tree, reader.problems)
}

/// Entries that do not read where they stand, and the rest of their block after them, become those of the next block
/// that they read in, if its head is not there.
fn missing_heads(text: &str, entries: &mut [Entry], heads: &[Block]) -> Vec<LayoutError> {
    let mut slips = Vec::new();
    let reads = |block: Block, entry: &Entry| reads_in(block, text, entry);
    let mut from = 0;
    while let Some((block, stray)) = entries.get(from).map(|entry| (entry.block, entry.stray)) {
        let run = |entry: &&Entry| entry.block == block && entry.stray == stray;
        let rest = entries.get(from..).unwrap_or_default();
        let length = rest.iter().take_while(run).count();
        let next = rest.get(length).map(|entry| entry.block).filter(|next| *next > block);
        let missing: Vec<Block> = Block::all()
            .filter(|_| block != Block::Header || stray)
            .filter(|it| *it > block && next.is_none_or(|next| *it < next) && !heads.contains(it))
            .collect();
        let here = rest.get(..length).unwrap_or_default();
        let is_here = |entry: &Entry| !stray && reads(block, entry);
        let first = here.iter().enumerate().find_map(|(at, entry)| {
            let meant = missing.iter().find(|it| reads(**it, entry))?;
            (!is_here(entry)).then_some((at, *meant))
        });
        // a line of this block after it: then it is that line which stands wrong, not a head that is missing
        let stays = |entry: &Entry| is_here(entry) && !missing.iter().any(|it| reads(*it, entry));
        let moved = first.filter(|(at, _)| !here.iter().skip(*at).any(stays));
        let Some((at, meant)) = moved else {
            from += length;
            continue;
        };
        for (at, entry) in entries.iter_mut().skip(from + at).take(length - at).enumerate() {
            if at == 0 {
                slips.push(LayoutError::NoHead { line: entry.span.clone(), block: meant });
            }
            (entry.block, entry.stray) = (meant, false);
        }
        from += at;
    }
    slips
}

/// Whether its default is a formula, as a line of works has: `J : inertia = m * r^2`.
fn is_calculated(take: &Take) -> bool {
    let value = take.default.as_ref().and_then(|it| it.value.as_ref());
    let is_choice = matches!(take.shape, Shape::Choice(_));
    let written =
        |it: &Node| matches!(it, Node::Number { .. } | Node::Negative(_) | Node::Meant(..));
    value.is_some_and(|it| !is_choice && !written(&it.node))
}

/// Whether it is a formula as well: `a = b` without `else`.
fn is_formula(check: &Check) -> bool {
    let equals =
        |it: &Node| matches!(it, Node::Compare(_, sign, _) if sign.value == Relation::Equal);
    equals(&check.condition.node) && check.otherwise.is_empty()
}

/// Whether an entry can be read to its end as a line of a block.
fn reads_in(block: Block, text: &str, entry: &Entry) -> bool {
    let text = text.get(entry.span.clone()).unwrap_or_default();
    let expressions = Expressions::new(Scan { end: entry.span.end });
    let span = entry.span.clone();
    let rest = match block {
        Block::Header => expressions.header(text).map(|it| it.0),
        Block::Uses if expressions.course(text, span.clone()).is_some() => return true,
        Block::Uses => expressions.uses(text, span).map(|it| it.0),
        Block::Takes if text.starts_with('"') => expressions.scan.text(text).map(|it| it.0),
        Block::Takes if expressions.group(text, span.clone()).is_some() => return true,
        Block::Takes => match expressions.takes(text, span) {
            Ok((_, take)) if is_calculated(&take) => return false,
            read => read.map(|it| it.0),
        },
        Block::Works => expressions.works(text, span).map(|it| it.0),
        Block::Holds => match expressions.holds(text, span) {
            Ok((_, check)) if is_formula(&check) => return false,
            read => read.map(|it| it.0),
        },
        Block::Gives => expressions.gives(text).map(|it| it.0),
    };
    rest.is_ok_and(|rest| blanks(rest).is_empty())
}

struct Reader<'a> {
    source: &'a Arc<Source>,
    tree: Tree,
    problems: Vec<Diagnostic>,
    /// What stands above the inputs that are read now.
    heading: String,
    names: Names,
}

impl<'a> Reader<'a> {
    fn of(source: &'a Arc<Source>, entries: &[Entry]) -> Self {
        let names = Names::of(&source.text, entries);
        let (tree, problems, heading) = (Tree::default(), Vec::new(), String::new());
        let mut reader = Self { source, tree, problems, heading, names };
        for entry in entries {
            reader.entry(entry);
        }
        reader
    }

    fn entry(&mut self, entry: &Entry) {
        let text = self.source.text.get(entry.span.clone()).unwrap_or_default();
        let expressions = Expressions::new(Scan { end: entry.span.end });
        let span = entry.span.clone();
        match entry.block {
            Block::Header if entry.stray => self.problems.push(
                Diagnostic::error(Name::BlockOrder, "an indented line stands outside any block")
                    .at(Place::text(self.source, span))
                    .remedy("put it below `uses`, `takes`, `works`, `holds` or `gives`, or begin it at the edge"),
            ),
            Block::Header => {
                if let Some(line) = self.whole(entry, expressions.header(text)) {
                    match line {
                        Header::Sheet(name) if self.tree.name.is_none() => {
                            self.tree.name = Some(name)
                        }
                        Header::Group(name) if self.tree.name.is_none() => {
                            self.tree.name = Some(name);
                            self.tree.is_group = true;
                        }
                        Header::Title(title) if self.tree.title.is_none() => {
                            self.tree.title = Some(title)
                        }
                        Header::Version(text) if self.tree.version.is_none() => {
                            self.tree.version = Some(text)
                        }
                        Header::Date(text) if self.tree.date.is_none() => {
                            self.tree.date = Some(text)
                        }
                        Header::Sheet(again)
                        | Header::Group(again)
                        | Header::Title(again)
                        | Header::Version(again)
                        | Header::Date(again) => self.problems.push(
                            Diagnostic::error(
                                Name::TwoStatements,
                                "a sheet has one name, one title, one version and one date",
                            )
                            .at(Place::text(self.source, again.span))
                            .remedy("leave this line out"),
                        ),
                        Header::Words(text) => self.tree.words.push(text),
                        Header::Source(text) => {
                            if self.tree.sources.iter().any(|said| said.value == text.value) {
                                self.said_again(&text.span, "source");
                            }
                            self.tree.sources.push(text);
                        }
                        Header::Caution(text) => {
                            if self.tree.cautions.iter().any(|said| said.value == text.value) {
                                self.said_again(&text.span, "caution");
                            }
                            self.tree.cautions.push(text);
                        }
                    }
                }
            }
            Block::Uses if expressions.course(text, span.clone()).is_some() => self.course(entry),
            Block::Uses => {
                if let Some(line) = self.whole(entry, expressions.uses(text, span)) {
                    self.tree.uses.push(line);
                }
            }
            Block::Takes => self.takes(entry, text, &expressions),
            Block::Works => {
                if let Some(line) = self.whole(entry, expressions.works(text, span)) {
                    self.tree.works.push(line);
                }
            }
            Block::Holds => {
                if let Some(line) = self.whole(entry, expressions.holds(text, span)) {
                    self.tree.holds.push(line);
                }
            }
            Block::Gives => {
                if let Some(lines) = self.whole(entry, expressions.gives(text)) {
                    self.tree.gives.extend(lines);
                }
            }
        }
    }

    /// A course: its first line, and the used sheets below it.
    fn course(&mut self, entry: &Entry) {
        let (head, lines) = below(&self.source.text, entry);
        let text = |span: &Span| self.source.text.get(span.clone()).unwrap_or_default();
        let first = Expressions::new(Scan { end: head.end });
        let read = first.course(text(&head), entry.span.clone());
        let head = Entry { span: head, ..entry.clone() };
        let Some(mut course) = read.and_then(|read| self.whole(&head, read)) else { return };
        for line in &lines {
            let expressions = Expressions::new(Scan { end: line.span.end });
            let text = self.source.text.get(line.span.clone()).unwrap_or_default();
            match self.whole(line, expressions.uses(text, line.span.clone())) {
                Some(line) => course.lines.push(line),
                // what stands below it takes another state than it says
                None => {
                    self.tree.broken.insert(course.alias.value.clone());
                }
            }
        }
        self.tree.courses.push(Course { at: self.tree.uses.len(), ..course });
    }

    /// A heading, a group or an input.
    fn takes(&mut self, entry: &Entry, text: &str, expressions: &Expressions) {
        let span = entry.span.clone();
        if text.starts_with('"') {
            if let Some(words) = self.whole(entry, expressions.scan.text(text)) {
                self.heading = words.value;
            }
        } else if let Some(group) = expressions.group(text, span.clone()) {
            if let Some(group) = self.whole(entry, group) {
                self.tree.groups.push(Group { at: self.tree.takes.len(), ..group });
            }
        } else if let Some(line) = self.whole(entry, expressions.takes(text, span)) {
            self.tree.takes.push(Take { heading: self.heading.clone(), ..line });
        }
    }

    fn said_again(&mut self, span: &Span, what: &str) {
        let headline = format!("the sheet says this {what} twice");
        let problem = Diagnostic::error(Name::TwoStatements, headline)
            .at(Place::text(self.source, span.clone()))
            .remedy("leave this line out");
        self.problems.push(problem);
    }

    /// What was read, if the entry was read to its end; else the trouble is reported.
    fn whole<T>(&mut self, entry: &Entry, read: Read<'_, T>) -> Option<T> {
        let trouble = match read {
            Ok((rest, found)) if blanks(rest).is_empty() => return Some(found),
            Ok((rest, _)) => {
                let expected = Expected::one("the end of the line");
                SyntaxError { left: rest.len(), expected, special: None }
            }
            Err(Err::Error(trouble) | Err::Failure(trouble)) => trouble,
            Err(Err::Incomplete(_)) => {
                SyntaxError { left: 0, expected: Expected::default(), special: None }
            }
        };
        self.tree.broken.extend(self.leading_name(entry));
        let problem = self.describe(entry, &trouble);
        self.problems.push(problem);
        None
    }

    fn describe(&self, entry: &Entry, trouble: &SyntaxError) -> Diagnostic {
        let at = entry.span.end.saturating_sub(trouble.left).max(entry.span.start);
        let text = self.source.text.get(at..entry.span.end).unwrap_or_default();
        let found = first_token(text);
        let span = at..at + found.len();
        let place = Place::text(self.source, span.clone());
        let error =
            |words: String| Diagnostic::error(Name::UnreadableLine, words).at(place.clone());
        match &trouble.special {
            None | Some(Mistake::Comma)
                if let Some(comma) = comma::within_a_number(self.source, &entry.span, at) =>
            {
                comma
            }
            Some(Mistake::OneValue(first)) => {
                let one = self.source.text.get(first.clone()).unwrap_or_default();
                let whole = first.start..comma::end_of_list(self.source, &entry.span, at);
                error("one example is needed of what is no series, found several".to_owned())
                    .at(Place::text(self.source, whole))
                    .remedy(format!("write `{one}`, or declare a `series of` its kind"))
            }
            Some(Mistake::NoSeries) => error(
                "`at least` counts the values of a series, and this is none".to_owned(),
            )
            .remedy("leave it out, or declare a `series of` its kind"),
            Some(Mistake::Unclosed(left)) => {
                let open = entry.span.end.saturating_sub(*left);
                Diagnostic::error(Name::UnreadableLine, "a parenthesis is opened and never closed")
                    .at(Place::text(self.source, open..open + 1))
                    .saying("opened here")
                    .remedy("put `)` where the part ends")
            }
            Some(Mistake::NoBlank { number, unit }) => {
                let before = self.source.text.get(entry.span.start..at).unwrap_or_default();
                let written = (number.as_str(), unit.as_str());
                let (length, remedy) =
                    no_blank::meant(written, (before, text), entry.block, &self.names);
                let found = text.get(..length).unwrap_or_default();
                Diagnostic::error(
                    Name::UnreadableLine,
                    format!("a quantity is written number, blank, unit; found `{found}`"),
                )
                .at(Place::text(self.source, at..at + length))
                .remedy(remedy)
            }
            Some(Mistake::LeadingZero(number)) => {
                error(format!("`{number}` has a zero before its first digit"))
                    .at(Place::text(self.source, at..at + number.len()))
                    .remedy(format!("write `{}`, if that is meant", without_leading_zeros(number)))
            }
            Some(Mistake::TwoSigns) => error("two signs stand in a row".to_owned())
                .remedy("leave one of them out, or put what the second belongs to in parentheses: `a * (-b)`"),
            Some(Mistake::BothWays { behind, readings }) => {
                let end = entry.span.end.saturating_sub(*behind);
                let chain = self.source.text.get(at..end).unwrap_or_default().trim_end();
                let readings: Vec<String> = readings.iter().map(|it| one_line(it)).collect();
                error("a chain of comparisons goes one way, and this one does not".to_owned())
                    .at(Place::text(self.source, at..at + chain.len()))
                    .remedy(match readings.as_slice() {
                        [one_way, each] => format!(
                            "write `{one_way}`; where each comparison is meant by itself, write `{each}`"
                        ),
                        all => format!("write `{}`", all.join("` or `")),
                    })
            }
            Some(Mistake::OpenEnd { behind, readings }) => {
                let end = entry.span.end.saturating_sub(*behind);
                let value = self.source.text.get(at..end).unwrap_or_default().trim_end();
                let readings: Vec<String> = readings.iter().map(|it| one_line(it)).collect();
                error(format!("it is open whether `{}` stands there as a whole", one_line(value)))
                    .at(Place::text(self.source, at..at + value.len()))
                    .remedy(format!("write `{}`, as it is meant", readings.join("` or `")))
            }
            Some(Mistake::TooDeep) => Diagnostic::error(
                Name::TooDeep,
                "the formula is nested deeper than a person can follow",
            )
            .at(place)
            .remedy("give the inner part a line and a name of its own"),
            Some(Mistake::Reserved(word)) => Diagnostic::error(
                Name::ReservedName,
                format!("`{word}` is a word of the language and cannot be a name"),
            )
            .at(place)
            .remedy(match word.as_str() {
                "when" | "otherwise" if at == entry.span.start => {
                    "a case belongs to the line that it is a value of: `v = when … : …`, and the next cases below it, indented further".to_owned()
                }
                "never" => "it is the value of a case: `when a > b : c  otherwise : never \"why\"`"
                    .to_owned(),
                _ => format!("call it `{word}_1`, or by the letter of its formula"),
            }),
            Some(Mistake::Twice(what)) => {
                Diagnostic::error(Name::TwoStatements, format!("the line says two {what}s"))
                    .at(place)
                    .saying("the second begins here")
                    .remedy("leave one of them out")
            }
            Some(Mistake::OpenText) => {
                error("a text is opened and not closed on its line".to_owned())
                    .remedy("put `\"` at the end of the text")
            }
            Some(Mistake::Number(digits)) => error(format!("`{digits}` does not read as a number")),
            None if let Some(letter) = times_as_letter(self.source, &entry.span, at) => {
                error("a product is written with a sign, and here stands a letter".to_owned())
                    .at(Place::text(self.source, letter))
                    .remedy("write `*`")
            }
            None | Some(Mistake::Comma) => {
                let block = entry.block.word();
                let headline = if found.is_empty() {
                    format!("a line of {block} ends too soon")
                } else {
                    format!("a line of {block} does not read on from `{found}`")
                };
                let expected = trouble.expected.words();
                let hint = match (entry.block, found) {
                    // f(v : time) = …
                    (Block::Works, ":") if expected.iter().any(|it| it.contains(')')) => {
                        "a function is `f(x) = formula`: x is of the kind that it is called with"
                    }
                    (block, _) => hint(block),
                };
                let remedy = match expected.is_empty() {
                    true => hint.to_owned(),
                    false => format!("expected {}; {hint}", expected.join(" or ")),
                };
                error(headline).remedy(remedy)
            }
        }
    }

    fn slip(&mut self, slip: LayoutError) {
        let problem = match slip {
            LayoutError::Order { word, block, after } => {
                let found = block.word();
                let headline = if block == after {
                    format!("the block `{found}` stands twice")
                } else {
                    format!("the block `{found}` stands after `{}`", after.word())
                };
                Diagnostic::error(Name::BlockOrder, headline)
                    .at(Place::text(self.source, word))
                    .remedy(
                        "put the blocks in the order uses, takes, works, holds, gives, each once",
                    )
            }
            LayoutError::NoHead { line, block } => {
                let block = block.word();
                let headline = format!("a line of `{block}` stands below no such head");
                Diagnostic::error(Name::BlockOrder, headline)
                    .at(Place::text(self.source, line))
                    .remedy(format!("put the line `{block}` above it, at the edge"))
            }
            LayoutError::Head { word, meant } => {
                let found = self.source.text.get(word.clone()).unwrap_or_default();
                let meant = meant.word();
                let (headline, remedy) = match found.trim_end_matches([':', ' ']) == meant {
                    true => (
                        format!("the block word `{meant}` is indented"),
                        format!("begin the line `{meant}` at the edge"),
                    ),
                    false => (
                        format!("no block is called `{found}`"),
                        format!(
                            "did you mean `{meant}`? The blocks are uses, takes, works, holds and gives"
                        ),
                    ),
                };
                Diagnostic::error(Name::BlockOrder, headline)
                    .at(Place::text(self.source, word))
                    .remedy(remedy)
            }
            LayoutError::Edge { line, block } => {
                let headline = format!("a line of `{}` stands at the edge", block.word());
                Diagnostic::error(Name::BlockOrder, headline)
                    .at(Place::text(self.source, line))
                    .remedy("indent the lines of a block by two blanks")
            }
        };
        self.problems.push(problem);
    }

    fn header(&mut self) {
        let top = || {
            let text = &self.source.text;
            let start = text.len() - blanks(text).len();
            let line = text.get(start..).and_then(|rest| rest.lines().next()).unwrap_or("");
            Place::text(self.source, start..start + line.len())
        };
        let name = self.tree.name.as_ref().map(|name| name.span.clone());
        if name.is_none()
            && !self.problems.iter().any(|problem| problem.name == Name::UnreadableLine)
        {
            self.problems.push(
                Diagnostic::error(Name::MissingHeader, "a sheet begins with its name")
                    .at(top())
                    .remedy("begin with `sheet my-machine`"),
            );
        }
        let Some(span) = name else { return };
        let place = Place::text(self.source, span);
        if self.tree.title.is_none() {
            self.problems.push(
                Diagnostic::caution(Name::MissingHeader, "the sheet has no title")
                    .at(place.clone())
                    .remedy("say in a line what it calculates: `title \"Braking resistor for a repeated stop\"`"),
            );
        }
        if self.tree.sources.is_empty() && !self.tree.is_group {
            self.problems.push(
                Diagnostic::caution(Name::MissingHeader, "the sheet names no source")
                    .at(place)
                    .remedy("say where its formulas come from: `source \"…\"`, or `source \"common practice, no source\"`"),
            );
        }
    }

    /// The name that a broken line would have defined.
    fn leading_name(&self, entry: &Entry) -> Option<String> {
        let span: Span = entry.span.clone();
        let text = self.source.text.get(span)?;
        let text = ["table ", "next "]
            .into_iter()
            .find_map(|word| text.strip_prefix(word))
            .unwrap_or(text);
        let text = text.trim_start();
        let name: String =
            text.chars().take_while(|sign| sign.is_alphanumeric() || *sign == '_').collect();
        (!name.is_empty() && !words::is_reserved(&name)).then_some(name)
    }
}

/// The `x` of `2 x a`, where a line does not read on from `a`.
fn times_as_letter(source: &Source, entry: &Span, at: usize) -> Option<Span> {
    let before = source.text.get(entry.start..at)?.trim_end();
    let number = before.strip_suffix(['x', 'X'])?;
    let is_factor = number.trim_end().ends_with(|it: char| it.is_ascii_digit());
    let begins =
        source.text.get(at..entry.end)?.starts_with(|it: char| it.is_alphanumeric() || it == '(');
    let letter = entry.start + number.len();
    (is_factor && begins).then_some(letter..letter + 1)
}

/// The sign, word or number at the start of a text.
fn first_token(text: &str) -> &str {
    let Some(first) = text.chars().next() else { return "" };
    if first == '"' {
        let end =
            text.get(1..).and_then(|rest| rest.find(['"', '\n'])).map_or(text.len(), |at| at + 2);
        return text.get(..end.min(text.len())).unwrap_or(text);
    }
    let wordy = |sign: char| sign.is_alphanumeric() || sign == '_';
    let length = if wordy(first) {
        text.find(|sign| !wordy(sign)).unwrap_or(text.len())
    } else {
        first.len_utf8()
    };
    text.get(..length).unwrap_or("")
}

fn hint(block: Block) -> &'static str {
    match block {
        Block::Header => "a header line is `title \"…\"`",
        Block::Uses => {
            "a line of uses is `alias = sheet with input = value, …`, or `alias = course of state from value = …` over lines of that kind"
        }
        Block::Takes => {
            "a line of takes is `name : kind in unit from low to high \"note\"`, `group name` or `state name`"
        }
        Block::Works => "a line of works is `name = formula \"note\"`",
        Block::Holds => "a line of holds is `a <= b \"words\" else \"what to do\"`",
        Block::Gives => {
            "a line of gives is `name in unit`, or `value in unit as name`; `rounded up to 5 mm` stands behind them"
        }
    }
}
