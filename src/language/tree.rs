//! The tree of a sheet: what was written, with the span of each part.

use std::collections::BTreeSet;
use std::ops::Range;
use std::sync::Arc;

use crate::diagnostic::Source;

/// Bytes of the sheet's text.
pub type Span = Range<usize>;

/// A word or a text with its span.
#[derive(Clone, Debug, PartialEq)]
pub struct Spanned<T> {
    /// What was written.
    pub value: T,
    /// Where.
    pub span: Span,
}

/// A name or another word.
pub type Word = Spanned<String>;

/// A sheet as written; parts that could not be read are left out, and the problem is reported.
#[derive(Clone, Debug, PartialEq, Default)]
pub struct Tree {
    /// Name after `sheet`, or after `group`.
    pub name: Option<Word>,
    /// `group name`: inputs that sheets take together, and nothing else.
    pub is_group: bool,
    /// Text after `version`.
    pub version: Option<Word>,
    /// Text after `date`.
    pub date: Option<Word>,
    /// Text after `title`.
    pub title: Option<Word>,
    /// Texts after `words`: by which a practitioner looks for the sheet.
    pub words: Vec<Word>,
    /// Texts after `source`.
    pub sources: Vec<Word>,
    /// Texts after `caution`.
    pub cautions: Vec<Word>,
    /// Sheets it uses.
    pub uses: Vec<Use>,
    /// Sheets it uses in a row.
    pub courses: Vec<Course>,
    /// Inputs.
    pub takes: Vec<Take>,
    /// Groups whose inputs are inputs of the sheet.
    pub groups: Vec<Group>,
    /// Definitions, functions and tables.
    pub works: Vec<Definition>,
    /// Checks.
    pub holds: Vec<Check>,
    /// Results.
    pub gives: Vec<Give>,
    /// Names of lines that could not be read: what depends on them stays silent.
    pub broken: BTreeSet<String>,
}

impl Tree {
    /// Every formula: of its lines and functions, of what is handed over, and of its checks.
    pub(crate) fn formulas(&self) -> impl Iterator<Item = &Expression> {
        let works = self.works.iter().filter_map(|line| match &line.body {
            Body::Value(value) => Some(value),
            Body::Function { result, .. } => Some(result),
            Body::Table(_) => None,
        });
        let handed = self.uses.iter().flat_map(|line| &line.arguments).map(|(_, value)| value);
        works.chain(handed).chain(self.holds.iter().map(|check| &check.condition))
    }

    /// The group that is handed on by a name.
    pub(crate) fn group(&self, name: &str) -> Option<&Group> {
        self.groups.iter().find(|group| group.handle().value == name)
    }

    /// The used sheet and its result that are read as `slow.n` or `slow.ramp.n`; nothing where no course says so.
    pub(crate) fn in_course(&self, alias: &str, result: &str) -> Option<(String, String)> {
        let (head, line) = match alias.split_once('.') {
            Some((head, line)) => (head, Some(line)),
            None => (alias, None),
        };
        let course = self.courses.iter().find(|course| course.alias.value == head)?;
        let is_value = course.values.iter().any(|value| value == result);
        let line = match line {
            Some(line) => course.lines.iter().find(|it| it.alias.value == line)?,
            None => course.lines.last().filter(|_| is_value)?,
        };
        let result = if is_value { next(result) } else { result.to_owned() };
        Some((course.called(line), result))
    }

    /// A result of a used sheet as it is read: a value of the state by its own name within a course.
    pub(crate) fn short_of<'n>(&self, alias: &str, result: &'n str) -> &'n str {
        let value = result.strip_prefix("next_");
        let is_read = |value: &&str| self.in_course(alias, value).is_some_and(|it| it.1 == result);
        value.filter(is_read).unwrap_or(result)
    }

    /// Whether a line that could not be read may have defined a name.
    pub(crate) fn is_broken(&self, name: &str) -> bool {
        self.broken.contains(name) || self.groups.iter().any(|group| group.inputs.is_empty())
    }

    /// Whether all of it was read.
    pub(crate) fn is_whole(&self) -> bool {
        self.broken.is_empty() && self.groups.iter().all(|group| !group.inputs.is_empty())
    }
}

/// The result as which a value of a state is given back.
pub(crate) fn next(value: &str) -> String {
    format!("next_{value}")
}

/// Whose sheet a name stands for; said where a name alone could mean two.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Whose {
    /// Nothing is said: there must be only one.
    #[default]
    Any,
    /// `own run-down`: never the library's.
    Own,
    /// `library run-down`: the library's.
    Library,
}

impl Whose {
    /// The word, and the blank after it.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Any => "",
            Self::Own => "own ",
            Self::Library => "library ",
        }
    }
}

/// `alias = own sheet with input = value, …`
#[derive(Clone, Debug, PartialEq)]
pub struct Use {
    /// Name under which its results are read.
    pub alias: Word,
    /// Whose sheet is meant.
    pub whose: Whose,
    /// Name of the sheet.
    pub sheet: Word,
    /// Arguments; a name alone stands for itself.
    pub arguments: Vec<(Word, Expression)>,
    /// Those behind `but`, in the place of what a group hands.
    pub but: Vec<(Word, Expression)>,
    /// Where it stands in a course, once the course is laid flat.
    pub standing: Option<Standing>,
    /// The whole line.
    pub span: Span,
}

/// Where a used sheet stands in a course.
#[derive(Clone, Debug, PartialEq)]
pub struct Standing {
    /// Name of the state.
    pub state: String,
    /// Its text.
    pub source: Arc<Source>,
    /// Values of the state that `from` of the course may hand: those of the first line alone.
    pub from: Vec<String>,
}

/// `slow = course of turning from n = n_0`, and below it used sheets, each of which takes the state in which the one
/// above it ends.
#[derive(Clone, Debug, PartialEq)]
pub struct Course {
    /// Name under which the state at its end is read.
    pub alias: Word,
    /// Whose state is meant.
    pub whose: Whose,
    /// Name of the state.
    pub state: Word,
    /// Where it begins; nothing is said where the sheet's own state is meant, or the state's defaults.
    pub from: Vec<(Word, Expression)>,
    /// Its lines.
    pub lines: Vec<Use>,
    /// How many used sheets stand before it.
    pub at: usize,
    /// The whole of it.
    pub span: Span,
    /// Names of the values of the state; empty until it is read.
    pub values: Vec<String>,
}

impl Course {
    /// What one of its lines is called when it is laid flat.
    pub(crate) fn called(&self, line: &Use) -> String {
        format!("{}.{}", self.alias.value, line.alias.value)
    }
}

/// `group shaft`, `left : group shaft`: the inputs of a group, here with `left_` before their names.
#[derive(Clone, Debug, PartialEq)]
pub struct Group {
    /// `state turning`: a group that the sheet gives back.
    pub is_state: bool,
    /// Name before `:`.
    pub alias: Option<Word>,
    /// Whose group is meant.
    pub whose: Whose,
    /// Name of the group.
    pub name: Word,
    /// How many inputs stand before it.
    pub at: usize,
    /// The whole line.
    pub span: Span,
    /// Names of its inputs in the group itself; empty until the group is read.
    pub inputs: Vec<String>,
    /// Its text, once it is read.
    pub source: Option<Arc<Source>>,
}

impl Group {
    /// The name by which it is handed on.
    pub(crate) fn handle(&self) -> &Word {
        self.alias.as_ref().unwrap_or(&self.name)
    }

    /// What one of its inputs is called here.
    pub(crate) fn called(&self, input: &str) -> String {
        self.alias.as_ref().map_or_else(|| input.to_owned(), |it| format!("{}_{input}", it.value))
    }
}

/// One line of `takes`.
#[derive(Clone, Debug, PartialEq)]
pub struct Take {
    /// Name.
    pub name: Word,
    /// What it is.
    pub shape: Shape,
    /// Unit after `in`.
    pub unit: Option<Word>,
    /// Value after `=`.
    pub default: Option<InputLiteral>,
    /// Value, or values, after `like`.
    pub example: Vec<InputLiteral>,
    /// Bound after `from` (included) or `above` (not included).
    pub low: Option<Bound>,
    /// Bound after `to` (included) or `below` (not included).
    pub high: Option<Bound>,
    /// Number after `at least`.
    pub at_least: Option<Spanned<usize>>,
    /// Note.
    pub note: String,
    /// What stands above it as a heading, or the title of its group.
    pub heading: String,
    /// The text of the group that it was taken from, and the line that takes the group.
    pub from: Option<(Arc<Source>, Span)>,
    /// The whole line.
    pub span: Span,
}

/// A default or an example, and how far it may lie from what is written.
#[derive(Clone, Debug, PartialEq)]
pub struct InputLiteral {
    /// The value; none where only its ends are written, `from 340 ms to 360 ms`.
    pub value: Option<Expression>,
    /// Its tolerance.
    pub tolerance: Option<Tolerance>,
    /// All of it.
    pub span: Span,
}

/// How far a value may lie from what is written.
#[derive(Clone, Debug, PartialEq)]
pub struct Tolerance {
    /// From where to where.
    pub reach: Reach,
    /// `normal` behind it: a bell whose ends are two standard deviations away.
    pub normal: bool,
}

/// From where to where a value may lie.
#[derive(Clone, Debug, PartialEq)]
pub enum Reach {
    /// `± 10 ms`
    Around(Expression),
    /// `+20 ms -0 ms`: above, then below.
    Sides(Expression, Expression),
    /// `from 340 ms to 360 ms`
    Between(Expression, Expression),
}

/// What an input is.
#[derive(Clone, Debug, PartialEq)]
pub enum Shape {
    /// A quantity of a kind.
    Kind(Word),
    /// A series of quantities of a kind.
    Series(Word),
    /// One of a list of words.
    Choice(Vec<Word>),
}

/// A bound of an input.
#[derive(Clone, Debug, PartialEq)]
pub struct Bound {
    /// The bound.
    pub value: Expression,
    /// Whether it is itself allowed.
    pub included: bool,
}

/// One line of `works`.
#[derive(Clone, Debug, PartialEq)]
pub struct Definition {
    /// `next n = …`: a value of the state that the sheet gives back, or all of it.
    pub is_next: bool,
    /// Name.
    pub name: Word,
    /// Kind after `:`, if the line declares it.
    pub kind: Option<Word>,
    /// Unit after `in`.
    pub unit: Option<Word>,
    /// Bound after `from` (included) or `above` (not included).
    pub low: Option<Bound>,
    /// Bound after `to` (included) or `below` (not included).
    pub high: Option<Bound>,
    /// What it is.
    pub body: Body,
    /// Note.
    pub note: String,
    /// The whole line.
    pub span: Span,
}

impl Definition {
    /// A line without kind, unit and range.
    pub(crate) fn plain(name: Word, body: Body, note: String, span: Span) -> Self {
        let (kind, unit, low, high) = (None, None, None, None);
        Self { is_next: false, name, kind, unit, low, high, body, note, span }
    }
}

/// What a line of `works` says.
#[derive(Clone, Debug, PartialEq)]
pub enum Body {
    /// `name = expression`
    Value(Expression),
    /// `name(a, b) = expression`
    Function {
        /// Parameters.
        parameters: Vec<Word>,
        /// Result.
        result: Expression,
    },
    /// `table name (argument : kind in unit) : kind in unit, straight | stepped from | stepped up to`
    Table(Box<TableTree>),
}

/// A table as written.
#[derive(Clone, Debug, PartialEq)]
pub struct TableTree {
    /// Argument: name, kind, unit.
    pub argument: (Word, Word, Option<Word>),
    /// Value: kind, unit.
    pub value: (Word, Option<Word>),
    /// How it is read between its rows.
    pub between: Spanned<super::relation::Between>,
    /// Lowest argument after `above`, for `stepped up to`.
    pub lowest: Option<Expression>,
    /// Rows inside the sheet.
    pub rows: Vec<(Expression, Expression)>,
    /// File, and range of a workbook, that holds the rows.
    pub outside: Option<Outside>,
}

/// Rows that stand outside the sheet.
#[derive(Clone, Debug, PartialEq)]
pub struct Outside {
    /// File beside the sheet.
    pub file: Word,
    /// `Tab!A2:B20` in a workbook.
    pub range: Option<Word>,
}

/// One line of `holds`.
#[derive(Clone, Debug, PartialEq)]
pub struct Check {
    /// What must hold.
    pub condition: Expression,
    /// In words.
    pub text: String,
    /// What to do when it does not.
    pub otherwise: String,
    /// `else caution`.
    pub caution: bool,
    /// The whole line.
    pub span: Span,
}

/// One result.
#[derive(Clone, Debug, PartialEq)]
pub struct Give {
    /// Name: that after `as`, if there is one.
    pub name: Word,
    /// What is given under another name: the value before `as`.
    pub value: Option<Expression>,
    /// Unit after `in`.
    pub unit: Option<Word>,
    /// Rounding.
    pub rounding: Option<Rounding>,
    /// How it is set in the drive, if it is a setting.
    pub setting: Option<Setting>,
    /// Note.
    pub note: String,
    /// The whole entry.
    pub span: Span,
}

impl Give {
    /// The works line that a result under another name stands for.
    pub(crate) fn definition(&self) -> Option<Definition> {
        let value = Body::Value(self.value.clone()?);
        let (name, note, span) = (self.name.clone(), self.note.clone(), self.span.clone());
        Some(Definition::plain(name, value, note, span))
    }

    /// The entry as far as its name and its unit, whichever stands last.
    pub(crate) fn head(&self) -> Span {
        let start = self.value.as_ref().map_or(self.name.span.start, |value| value.span.start);
        let unit = self.unit.as_ref().map_or(0, |unit| unit.span.end);
        start..self.name.span.end.max(unit)
    }
}

/// `set in steps of STEP from LOW to HIGH`
#[derive(Clone, Debug, PartialEq)]
pub struct Setting {
    /// Smallest change that can be set.
    pub step: Expression,
    /// Smallest value that can be set.
    pub low: Expression,
    /// Largest value that can be set.
    pub high: Expression,
}

/// `rounded up to 5 mm`
#[derive(Clone, Debug, PartialEq)]
pub struct Rounding {
    /// Which way.
    pub direction: super::relation::Direction,
    /// Step.
    pub step: Box<Expression>,
}

/// An expression with its span.
#[derive(Clone, Debug, PartialEq)]
pub struct Expression {
    /// What it is.
    pub node: Node,
    /// Where.
    pub span: Span,
}

/// What an expression is.
#[derive(Clone, Debug, PartialEq)]
pub enum Node {
    /// A number with its unit, as written.
    Number {
        /// Digits, such as `1.5e3`.
        digits: String,
        /// Unit, as written.
        unit: Option<Word>,
    },
    /// A name.
    Name(String),
    /// `alias.result`
    Dotted(Word, Word),
    /// `name(a, b)`
    Call(Word, Vec<Expression>),
    /// Sign turned.
    Negative(Box<Expression>),
    /// `a + b` and the like; the span is the sign's.
    Binary(Box<Expression>, Spanned<Sign>, Box<Expression>),
    /// `a ^ b`; the span is the sign's.
    Power(Box<Expression>, Span, Box<Expression>),
    /// `a < b`; the span is the sign's.
    Compare(Box<Expression>, Spanned<super::relation::Relation>, Box<Expression>),
    /// `edition is 2010`
    Is(Box<Expression>, Word),
    /// `a and b`
    And(Box<Expression>, Box<Expression>),
    /// `a or b`
    Or(Box<Expression>, Box<Expression>),
    /// `not a`
    Not(Box<Expression>),
    /// `when … : … otherwise : …`
    Cases {
        /// Conditions and values.
        cases: Vec<(Expression, Expression)>,
        /// Value after `otherwise`.
        otherwise: Option<Box<Expression>>,
    },
    /// `never "why"`: the value of a case in which there is none
    Never(Word),
    /// `meant 9.55 "why"`: a plain number that is no conversion, whatever it looks like
    Meant(Box<Expression>, Word),
    /// `v_k where t_k > 2 s`: the elements of a series at which a condition holds, to be folded
    Where(Box<Expression>, Box<Expression>),
    /// `expression rounded up to step`
    Rounded(Box<Expression>, Rounding),
    /// `next below R in E24`
    Preferred(super::relation::Direction, Box<Expression>, super::relation::Preferred),
    /// `root of f for x from a to b`
    Root(Search),
    /// `integral of f for x from a to b`
    Integral(Search),
    /// `running x from start : expression`
    Running {
        /// Name of the value before.
        name: Word,
        /// Value before the first.
        start: Box<Expression>,
        /// Body.
        body: Box<Expression>,
    },
}

/// `… of f for x from a to b`
#[derive(Clone, Debug, PartialEq)]
pub struct Search {
    /// Function.
    pub function: Box<Expression>,
    /// Argument.
    pub argument: Word,
    /// One bound.
    pub from: Box<Expression>,
    /// Other bound.
    pub to: Box<Expression>,
}

/// A sign between two values.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Sign {
    /// `+`
    Plus,
    /// `-`
    Minus,
    /// `*` or `·`
    Times,
    /// `/`
    Over,
}
