//! The flat program: typed operations in coherent SI, checked once, run on any number system.
//!
//! Every operation writes one register. Registers are numbered through the whole program, blocks
//! included, and each is written by exactly one step (again and again, for a step inside a block).

use std::sync::Arc;

use super::tolerance::Tolerance;
use crate::diagnostic::{Place, Source};
pub use crate::language::{Between, Direction, Preferred, Relation};
use crate::unit::{Dimension, Kind, Literal, Unit};

/// Names the place where one value of a program is kept.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Register(pub u32);

impl Register {
    /// Its place among the values of a run.
    pub(crate) fn place(self) -> Option<usize> {
        usize::try_from(self.0).ok()
    }
}

/// Names a line of a sheet, an entry of [`Program::lines`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct LineId(pub u32);

/// Names an entry of [`Program::blocks`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct BlockId(pub u32);

/// Names an entry of [`Program::tables`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct TableId(pub u32);

/// Names an entry of [`Program::inputs`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct InputId(pub u32);

/// A function of one value.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Unary {
    /// Sign turned.
    Negate,
    /// Absolute value.
    Absolute,
    /// Square root; below zero is a fault.
    SquareRoot,
    /// e to the power.
    Exponential,
    /// Natural logarithm; zero and below is a fault.
    Logarithm,
    /// Logarithm to base ten; zero and below is a fault.
    DecimalLogarithm,
    /// Sine of an angle in rad.
    Sine,
    /// Cosine of an angle in rad.
    Cosine,
    /// Tangent of an angle in rad.
    Tangent,
    /// Angle in rad whose sine it is; outside −1 to 1 is a fault.
    ArcSine,
    /// Angle in rad whose cosine it is; outside −1 to 1 is a fault.
    ArcCosine,
    /// Angle in rad whose tangent it is.
    ArcTangent,
}

/// A function of two values.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Binary {
    /// Sum.
    Add,
    /// Difference.
    Subtract,
    /// Product.
    Multiply,
    /// Quotient; a zero divisor is a fault.
    Divide,
    /// The smaller.
    Least,
    /// The larger.
    Greatest,
    /// Pure number above zero raised to a pure number (integer powers go through [`Op::Power`]).
    Raise,
}

/// What a series is folded to.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Fold {
    /// Sum of all.
    Sum,
    /// Product of all.
    Product,
    /// Arithmetic mean.
    Mean,
    /// Standard deviation of a sample (divisor n − 1); needs two values.
    SampleDeviation,
    /// Largest.
    Greatest,
    /// Smallest.
    Least,
    /// How many.
    Count,
    /// The first.
    First,
    /// The last.
    Last,
}

/// A rational exponent, reduced, denominator above zero.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Ratio {
    /// Above the line.
    pub numerator: i32,
    /// Below the line, above zero.
    pub denominator: i32,
}

/// A table of one argument, in coherent SI, arguments rising.
#[derive(Clone, Debug, PartialEq)]
pub struct Table {
    /// Name as written.
    pub name: String,
    /// How it is read between its rows.
    pub between: Between,
    /// Argument and value of each row; the arguments rise strictly; at least one row.
    pub rows: Vec<(Literal, Literal)>,
    /// Lowest argument of a [`Between::StepUpTo`] table, where its first row begins.
    pub lowest: Option<Literal>,
    /// Unit in which the argument column was written.
    pub argument_unit: Unit,
    /// Unit in which the value column was written.
    pub value_unit: Unit,
    /// Where the rows stand.
    pub place: Option<Place>,
}

/// One operation.
#[derive(Clone, Debug, PartialEq)]
pub enum Op {
    /// A number with its unit, exactly as written.
    Literal(Literal),
    /// The ratio of the circumference of a circle to its diameter.
    Pi,
    /// An input of the program: one value, or a series.
    Input(InputId),
    /// A function of one value.
    Unary(Unary, Register),
    /// A function of two values.
    Binary(Binary, Register, Register),
    /// A value raised to a fixed rational exponent. A negative value with an even denominator is a fault.
    Power(Register, Ratio),
    /// Truth: how two values stand to each other.
    Compare(Relation, Register, Register),
    /// Truth: both.
    Both(Register, Register),
    /// Truth: at least one.
    Either(Register, Register),
    /// Truth: turned round.
    Negate(Register),
    /// The second register where the first (a truth) holds, else the third.
    Select(Register, Register, Register),
    /// No case applies: a fault wherever it is selected.
    NoCase,
    /// A value that never exists, with the author's words: a fault that is no mistake.
    Never(Arc<str>),
    /// A value rounded to a multiple of a step above zero.
    Round(Direction, Register, Register),
    /// The preferred number next to a value above zero.
    Preferred(Direction, Preferred, Register),
    /// A table read at a value.
    Read(TableId, Register),
    /// A series folded to one value.
    Fold(Fold, Register),
    /// A recurrence: a series. Block parameter 0 is the value before (first: `start`), the others are
    /// the elements of the series in `over`; every element of the result is the block's result.
    Running {
        /// Body.
        block: BlockId,
        /// Value before the first.
        start: Register,
        /// Series whose elements the body sees; at least one.
        over: Vec<Register>,
    },
    /// The argument between two bounds at which the block (one parameter) is zero.
    Root {
        /// Function.
        block: BlockId,
        /// One bound.
        from: Register,
        /// Other bound.
        to: Register,
    },
    /// The integral of the block (one parameter) between two bounds.
    Integral {
        /// Function.
        block: BlockId,
        /// Lower bound.
        from: Register,
        /// Upper bound.
        to: Register,
    },
}

/// One operation, where its result goes and which line of a sheet asked for it.
#[derive(Clone, Debug, PartialEq)]
pub struct Step {
    /// What is done.
    pub op: Op,
    /// Where the result goes.
    pub to: Register,
    /// Line of the sheet.
    pub line: LineId,
}

/// A function that is run many times: body of `running`, `root of`, `integral of`.
#[derive(Clone, Debug, PartialEq)]
pub struct Block {
    /// Registers that the caller fills.
    pub parameters: Vec<Register>,
    /// Steps; they may also read registers written before the block was called.
    pub steps: Vec<Step>,
    /// Register that holds the result.
    pub result: Register,
}

/// What a value is, once and for all rows.
#[derive(Clone, Debug, PartialEq)]
pub enum Type {
    /// A number of a dimension.
    Number {
        /// Dimension, angle included.
        dimension: Dimension,
        /// A temperature on the scale, not a difference.
        point: bool,
        /// Many values instead of one.
        series: bool,
    },
    /// True or false.
    Truth,
    /// One of a fixed list of words, held as its place in the list (0, 1, 2 …).
    Choice(Arc<[String]>),
}

/// A bound of an input.
#[derive(Clone, Debug, PartialEq)]
pub struct Limit {
    /// The bound itself, as a register of the program: it may depend on other inputs.
    pub register: Register,
    /// Whether the bound itself is allowed.
    pub included: bool,
    /// As written, such as `50 %`.
    pub written: String,
    /// Where it was written.
    pub place: Place,
}

/// An input of a program.
#[derive(Clone, Debug, PartialEq)]
pub struct Input {
    /// Name.
    pub name: String,
    /// Kind; `None` for a choice.
    pub kind: Option<&'static Kind>,
    /// What it is.
    pub type_: Type,
    /// Unit in which the sheet writes it; results and forms show it in this unit.
    pub unit: Unit,
    /// Value when none is given.
    pub default: Option<Literal>,
    /// How far the default may lie from what is written.
    pub default_tolerance: Option<Tolerance>,
    /// Where the default was set, if not in the sheet itself.
    pub default_from: Option<Place>,
    /// An example value, or several for a series; never used unless asked for.
    pub example: Vec<Literal>,
    /// How far each example value may lie from what is written.
    pub example_tolerances: Vec<Option<Tolerance>>,
    /// Lower bound.
    pub low: Option<Limit>,
    /// Upper bound.
    pub high: Option<Limit>,
    /// Least number of values of a series.
    pub at_least: Option<usize>,
    /// Note.
    pub note: String,
    /// Under which heading it is asked for; empty for none.
    pub heading: String,
    /// Where it is declared.
    pub place: Place,
    /// Line of the sheet.
    pub line: LineId,
    /// Register its value goes to.
    pub register: Register,
}

impl Input {
    /// The bounds of the range as written: `above 0 s to 3600 s`; empty where anything is allowed.
    #[must_use]
    pub fn limits_text(&self) -> String {
        let limit = |limit: &Option<Limit>, included: &str, without: &str| {
            let limit = limit.as_ref()?;
            Some(format!("{} {}", if limit.included { included } else { without }, limit.written))
        };
        let limits = [limit(&self.low, "from", "above"), limit(&self.high, "to", "below")];
        limits.into_iter().flatten().collect::<Vec<_>>().join(" ")
    }

    /// What a value may be, in words: its choices, its limits, how many of a series; none where it may be anything.
    pub(crate) fn allowed_text(&self) -> Option<String> {
        if let Type::Choice(all) = &self.type_ {
            return Some(format!("one of {}", all.join(", ")));
        }
        let mut parts = Vec::new();
        if self.kind.is_some_and(|kind| kind.name == "count") {
            parts.push("whole number".to_owned());
        }
        let limits = self.limits_text();
        if !limits.is_empty() {
            parts.push(limits);
        }
        if let Some(least) = self.at_least {
            parts.push(format!("{least} {} or more", if least == 1 { "value" } else { "values" }));
        }
        (!parts.is_empty()).then(|| parts.join(", "))
    }

    /// Where the default was set, if not in the sheet itself: `standstill.toml:4`, whatever folder that lies in.
    #[must_use]
    pub fn default_source(&self) -> Option<String> {
        let Place::Text { source, span } = self.default_from.as_ref()? else { return None };
        let file = std::path::Path::new(&source.name).file_name()?.to_string_lossy();
        Some(format!("{file}:{}", source.line_and_column(span.0).0))
    }
}

/// The range that a value must lie in before anything is calculated with it: an input's own, or that
/// of an input of a used sheet for the argument handed to it.
#[derive(Clone, Debug, PartialEq)]
pub struct Guard {
    /// Line that declares the input.
    pub line: LineId,
    /// Register of the value.
    pub register: Register,
    /// Lower bound.
    pub low: Option<Limit>,
    /// Upper bound.
    pub high: Option<Limit>,
    /// Least number of values of a series.
    pub at_least: Option<usize>,
    /// The input of the asked sheet that it belongs to; none for a used sheet's.
    pub input: Option<InputId>,
}

/// A line of a sheet that makes a value, kept for worked steps and for the names in faults.
#[derive(Clone, Debug, PartialEq)]
pub struct Line {
    /// Name, with the path of `uses` before it: `inertia.J_ref`.
    pub name: String,
    /// Index into [`Program::scopes`].
    pub scope: u32,
    /// Register of the value.
    pub register: Register,
    /// Unit in which a person reads it.
    pub unit: Unit,
    /// Type.
    pub type_: Type,
    /// Note.
    pub note: String,
    /// Where it stands.
    pub place: Place,
    /// What the line says, for worked steps.
    pub says: LineSource,
}

/// What a line says.
#[derive(Clone, Debug, PartialEq)]
pub enum LineSource {
    /// An input.
    Takes,
    /// An input of a used sheet that keeps its default.
    Default,
    /// A definition, with its tree.
    Works(Arc<crate::language::Definition>),
    /// A check.
    Holds(Arc<crate::language::Check>),
    /// A result.
    Gives,
    /// An argument handed to a used sheet.
    Hands(Arc<crate::language::Expression>),
}

/// One sheet of the tree of `uses`, with the names that can be read in it.
#[derive(Clone, Debug, PartialEq)]
pub struct Scope {
    /// Name of the sheet.
    pub sheet: String,
    /// What it says as its version.
    pub version: String,
    /// What it says as its date.
    pub date: String,
    /// Title of the sheet.
    pub title: String,
    /// Path of aliases, empty for the sheet itself.
    pub path: String,
    /// Text of the sheet.
    pub source: Arc<Source>,
    /// Files beside the sheet whose rows it reads, each with these rows.
    pub outside: Vec<(String, String)>,
    /// The groups whose inputs it takes: the name of each, and its text.
    pub groups: Vec<(String, Arc<Source>)>,
    /// Published sources.
    pub sources: Vec<String>,
    /// Words by which it is looked for.
    pub words: Vec<String>,
    /// Cautions.
    pub cautions: Vec<String>,
    /// Names, sorted, and the line that makes each.
    pub names: std::collections::BTreeMap<String, LineId>,
}

/// A line of `holds`.
#[derive(Clone, Debug, PartialEq)]
pub struct Check {
    /// Register of the truth.
    pub register: Register,
    /// Both sides of the comparison, where the check is a single one, for the margin.
    pub sides: Option<(Relation, Register, Register)>,
    /// Unit in which the sides are shown.
    pub unit: Unit,
    /// The check in words.
    pub text: String,
    /// The condition as written.
    pub written: String,
    /// What to do when it fails.
    pub otherwise: String,
    /// Only a caution, not a failure.
    pub caution: bool,
    /// Path of aliases, empty for the sheet itself.
    pub path: String,
    /// Where it stands.
    pub place: Place,
    /// Line of the sheet.
    pub line: LineId,
}

impl Check {
    /// The check in words, with the path of the used sheet that it belongs to.
    #[must_use]
    pub fn label(&self) -> String {
        with_path(&self.path, &self.text)
    }
}

/// A text of a used sheet, with the path of that sheet in front.
pub(crate) fn with_path(path: &str, text: &str) -> String {
    if path.is_empty() { text.to_owned() } else { format!("{path}: {text}") }
}

/// A line of `gives`.
#[derive(Clone, Debug, PartialEq)]
pub struct Output {
    /// Name.
    pub name: String,
    /// Register, after rounding.
    pub register: Register,
    /// Type.
    pub type_: Type,
    /// Unit of the result.
    pub unit: Unit,
    /// Rounding in words, such as `rounded up to 10 W`; empty if none.
    pub rounding: String,
    /// Registers of step, lowest and highest value, if the result is set in the drive.
    pub setting: Option<(Register, Register, Register)>,
    /// Note.
    pub note: String,
    /// Where it stands.
    pub place: Place,
    /// Line of the sheet.
    pub line: LineId,
}

/// A checked sheet with everything it uses, flat.
#[derive(Clone, Debug, PartialEq, Default)]
pub struct Program {
    /// Sheets, the asked one first.
    pub scopes: Vec<Scope>,
    /// Inputs of the asked sheet, in the order of the sheet.
    pub inputs: Vec<Input>,
    /// Ranges of inputs and of arguments handed to used sheets.
    pub guards: Vec<Guard>,
    /// Steps, each after those it reads.
    pub steps: Vec<Step>,
    /// Functions.
    pub blocks: Vec<Block>,
    /// Tables.
    pub tables: Vec<Table>,
    /// Lines, in the order in which they are calculated.
    pub lines: Vec<Line>,
    /// Checks, those of used sheets included.
    pub checks: Vec<Check>,
    /// Results of the asked sheet, in the order of the sheet.
    pub outputs: Vec<Output>,
    /// How many registers there are.
    pub registers: u32,
    /// Numbers of which the sheet says that they are meant.
    pub meant: Vec<Meant>,
    /// The courses of all sheets that are whole.
    pub courses: Vec<CourseStates>,
}

/// A course of a sheet: in which state it begins, and in which each of its lines ends.
#[derive(Clone, Debug, PartialEq)]
pub struct CourseStates {
    /// Index into [`Program::scopes`]: the sheet that writes it.
    pub scope: u32,
    /// Its name there.
    pub name: String,
    /// Name of the state.
    pub state: String,
    /// The names of its lines, in order.
    pub lines: Vec<String>,
    /// The values of the state that are one number, in order.
    pub values: Vec<StateValue>,
}

/// A value of a state along a course.
#[derive(Clone, Debug, PartialEq)]
pub struct StateValue {
    /// Its name in the state.
    pub name: String,
    /// Unit in which a person reads it.
    pub unit: Unit,
    /// What it was at the start, and what it is after each line.
    pub registers: Vec<Register>,
}

/// A plain number that is meant, although it looks like a conversion of units: `meant 9.55 "why"`.
#[derive(Clone, Debug, PartialEq)]
pub struct Meant {
    /// The number as written.
    pub written: String,
    /// Why.
    pub why: String,
    /// Where it stands.
    pub place: Place,
}

impl Program {
    /// The heading that stands above an input, where another begins.
    pub(crate) fn heading_above(&self, at: usize) -> Option<&str> {
        let heading = |at: usize| self.inputs.get(at).map_or("", |input| &input.heading);
        let before = at.checked_sub(1).map_or("", heading);
        (heading(at) != before).then(|| match heading(at) {
            "" => "further",
            heading => heading,
        })
    }

    /// Keeps a number that is meant, and lists it with the cautions of its sheet, so that every report
    /// shows it.
    pub(super) fn note_meant(&mut self, scope: u32, written: &str, why: &str, place: Place) {
        if self.meant.iter().any(|known| known.place == place) {
            return;
        }
        let line = match &place {
            Place::Text { source, span } => source.line_and_column(span.0).0,
            _ => 0,
        };
        let scope = usize::try_from(scope).ok().and_then(|at| self.scopes.get_mut(at));
        if let Some(scope) = scope {
            let words = format!("The number {written} in line {line} is meant: {why}");
            scope.cautions.push(words);
        }
        self.meant.push(Meant { written: written.to_owned(), why: why.to_owned(), place });
    }

    /// An input by its name.
    #[must_use]
    pub fn input_named(&self, name: &str) -> Option<&Input> {
        self.inputs.iter().find(|input| input.name == name)
    }

    /// A result by its name.
    #[must_use]
    pub fn output_named(&self, name: &str) -> Option<&Output> {
        self.outputs.iter().find(|output| output.name == name)
    }

    /// The line that an id stands for.
    #[must_use]
    pub fn line(&self, id: LineId) -> Option<&Line> {
        self.lines.get(usize::try_from(id.0).ok()?)
    }

    /// The input that an id stands for.
    #[must_use]
    pub fn input(&self, id: InputId) -> Option<&Input> {
        self.inputs.get(usize::try_from(id.0).ok()?)
    }

    /// The table that an id stands for.
    #[must_use]
    pub fn table(&self, id: TableId) -> Option<&Table> {
        self.tables.get(usize::try_from(id.0).ok()?)
    }

    /// The block that an id stands for.
    #[must_use]
    pub fn block(&self, id: BlockId) -> Option<&Block> {
        self.blocks.get(usize::try_from(id.0).ok()?)
    }

    /// Whether it says of any value that it may never exist.
    #[must_use]
    pub(crate) fn may_never_exist(&self) -> bool {
        let blocks = self.blocks.iter().flat_map(|block| &block.steps);
        self.steps.iter().chain(blocks).any(|step| matches!(step.op, Op::Never(_)))
    }

    /// The words of every value that may never exist.
    pub(crate) fn never_words(&self) -> impl Iterator<Item = &str> {
        let blocks = self.blocks.iter().flat_map(|block| &block.steps);
        self.steps.iter().chain(blocks).filter_map(|step| match &step.op {
            Op::Never(words) => Some(words.as_ref()),
            _ => None,
        })
    }
}

impl Op {
    /// The registers that it reads, those of its blocks not included.
    #[must_use]
    pub fn reads(&self) -> Vec<Register> {
        match self {
            Self::Literal(_) | Self::Pi | Self::Input(_) | Self::NoCase | Self::Never(_) => {
                Vec::new()
            }
            Self::Unary(_, a)
            | Self::Power(a, _)
            | Self::Negate(a)
            | Self::Preferred(_, _, a)
            | Self::Read(_, a)
            | Self::Fold(_, a) => vec![*a],
            Self::Binary(_, a, b)
            | Self::Compare(_, a, b)
            | Self::Both(a, b)
            | Self::Either(a, b)
            | Self::Round(_, a, b)
            | Self::Root { from: a, to: b, .. }
            | Self::Integral { from: a, to: b, .. } => vec![*a, *b],
            Self::Select(a, b, c) => vec![*a, *b, *c],
            Self::Running { start, over, .. } => {
                let mut reads = vec![*start];
                reads.extend(over);
                reads
            }
        }
    }

    /// What it has beside registers.
    pub(super) fn beside(&self, program: &Program) -> String {
        match self {
            Self::Literal(it) => format!("{it:?}"),
            Self::Input(it) => format!("{it:?}"),
            Self::Unary(it, _) => format!("{it:?}"),
            Self::Binary(it, ..) => format!("{it:?}"),
            Self::Power(_, it) => format!("{it:?}"),
            Self::Compare(it, ..) => format!("{it:?}"),
            Self::Round(it, ..) => format!("{it:?}"),
            Self::Preferred(way, series, _) => format!("{way:?} {series:?}"),
            Self::Fold(it, _) => format!("{it:?}"),
            Self::Never(words) => words.to_string(),
            // a sheet that is used twice has its tables twice
            Self::Read(id, _) => program.table(*id).map_or_else(String::new, |table| {
                format!("{:?} {:?} {:?}", table.between, table.rows, table.lowest)
            }),
            Self::Pi
            | Self::Both(..)
            | Self::Either(..)
            | Self::Negate(_)
            | Self::Select(..)
            | Self::NoCase
            | Self::Running { .. }
            | Self::Root { .. }
            | Self::Integral { .. } => String::new(),
        }
    }

    /// The block that it calls, if any.
    #[must_use]
    pub fn calls(&self) -> Option<BlockId> {
        match self {
            Self::Running { block, .. }
            | Self::Root { block, .. }
            | Self::Integral { block, .. } => Some(*block),
            _ => None,
        }
    }
}
