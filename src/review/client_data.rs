//! The compiled program as data for the reader's browser, in coherent SI.

use std::cell::RefCell;

use serde_json::{Value, json};

use super::model::Calculation;
use crate::calculation::{
    self, FAULTS, Results, difference, input_text, outlier, remedy_of, scale,
};
use crate::diagnostic::Origin;
use crate::number::{InputValue, corner_levels, series};
use crate::program::{
    Between, Binary, Direction, Fold, Input, Limit, Op, Preferred, Program, Register, Relation,
    Step, Type, Unary,
};
use crate::report::{self, Identity};
use crate::unit::{Literal, Unit, kind, never_thousands, prefixes, symbols, symbols_of_plates};

/// How values are written, each way once: a unit with its factor and zero, or a list of words.
#[derive(Debug, Default)]
pub(super) struct Formats {
    all: RefCell<Vec<Value>>,
}

impl Formats {
    /// The number of the way in which a value of a type and unit is written.
    pub(super) fn number(&self, type_: &Type, unit: &Unit) -> usize {
        let format = match type_ {
            Type::Choice(words) => json!({ "w": words.as_ref() }),
            Type::Truth => json!({ "t": 1 }),
            Type::Number { .. } => {
                let zero = Literal::new(unit.zero, 0, Unit::one()).si_f64();
                json!({ "s": unit.symbol, "f": unit.factor.as_f64(), "z": zero })
            }
        };
        let mut all = self.all.borrow_mut();
        if let Some(at) = all.iter().position(|known| *known == format) {
            return at;
        }
        all.push(format);
        all.len() - 1
    }

    /// All of them.
    pub(super) fn all(&self) -> Value {
        Value::Array(self.all.borrow().clone())
    }
}

/// A calculation: its program and its inputs; `e` of these is 2 where a file left the example standing, 3
/// where it holds the place of what nobody need give.
pub(super) fn client_data(calculation: &Calculation, formats: &Formats) -> Value {
    let results = &calculation.results;
    let program = results.program();
    let root = program.scopes.first();
    let identity = root.map(Identity::of);
    // which inputs are of no machine, and among how many that is counted where a file left them standing
    let given = results.inputs();
    let examples = report::of_no_machine(given);
    let left =
        |input: &Input| !given.is_example(input) && examples.iter().any(|it| it.name == input.name);
    let asked = if program.inputs.iter().any(left) { report::left(given).1 } else { 0 };
    let inputs: Vec<Value> = program
        .inputs
        .iter()
        .map(|input| carried_input(input, left(input), results, formats))
        .collect();
    json!({
        "a": calculation.alias,
        "sheet": calculation.typed,
        "hash": identity.as_ref().and_then(|it| it.sha256.get(..12)),
        "written": program.scopes.iter().filter(|scope| matches!(scope.source.origin, Origin::Written(_)))
            .map(|scope| (scope.sheet.as_str(), scope.source.text.trim())).collect::<std::collections::BTreeMap<_, _>>(),
        "n": program.registers,
        "left": asked,
        "steps": program.steps.iter().map(|it| step(program, it)).collect::<Vec<_>>(),
        "blocks": program.blocks.iter().map(|block| json!([
            block.parameters.iter().map(|it| it.0).collect::<Vec<_>>(),
            block.steps.iter().map(|it| step(program, it)).collect::<Vec<_>>(),
            block.result.0,
        ])).collect::<Vec<_>>(),
        "tables": program.tables.iter().map(|table| {
            let (between, lowest) = match table.between {
                Between::Straight => ("straight", None),
                Between::StepFrom => ("from", None),
                Between::StepUpTo => ("upto", table.lowest.as_ref().map(Literal::si_f64)),
            };
            let rows: Vec<_> = table.rows.iter().map(|(x, y)| json!([x.si_f64(), y.si_f64()])).collect();
            json!([between, lowest, rows, table.name])
        }).collect::<Vec<_>>(),
        "inputs": inputs,
        "guards": program.guards.iter().map(|guard| {
            let line = said_of(program, guard.line.0);
            let number = |limit: &Limit| json!([limit.register.0, u8::from(limit.included), limit.written]);
            let word = guard.input.and_then(|id| program.input(id)).is_some_and(|input| input.kind.is_none());
            json!([
                guard.register.0, if word { Value::Null } else { guard.low.as_ref().map_or(Value::Null, &number) },
                if word { Value::Null } else { guard.high.as_ref().map_or(Value::Null, &number) },
                guard.at_least, line, guard.input.map(|id| id.0),
                program.lines.get(usize::try_from(guard.line.0).unwrap_or(usize::MAX)).map(|line| formats.number(&line.type_, &line.unit)),
            ])
        }).collect::<Vec<_>>(),
        "checks": program.checks.iter().map(|check| {
            let sides = check.sides.map(|(found, x, y)| json!([relation(found), x.0, y.0, formats.number(&NUMBER, &check.unit), formats.number(&NUMBER, &difference(&check.unit))]));
            json!([check.register.0, u8::from(check.caution), sides, check.text, check.otherwise])
        }).collect::<Vec<_>>(),
        "outputs": program.outputs.iter().map(|output| json!([output.name, output.register.0, formats.number(&output.type_, &output.unit), u8::from(output.setting.is_some())])).collect::<Vec<_>>(),
        "decisive": report::decisive(program),
        "lines": program.lines.iter().map(|line| line.name.clone()).collect::<Vec<_>>(),
        // tolerances: none, proved to hold, open for a caution, or for more
        "w": match &calculation.worst {
            None => 0,
            Some(worst) if worst.holds() => 1,
            Some(worst) if worst.caution => 2,
            Some(_) => 3,
        },
    })
}

/// A single number, whatever its dimension: the way of writing follows from the unit alone.
pub(super) const NUMBER: Type =
    Type::Number { dimension: crate::unit::Dimension::NONE, point: false, series: false };

/// What puts each fault right that inputs can cause, as a page says it.
pub(super) fn remedies() -> Value {
    let said =
        FAULTS.iter().map(|it| (it.word().to_owned(), json!(remedy_of(*it).replace('`', ""))));
    Value::Object(said.collect())
}

/// Decades of preferred numbers that a program asks for.
pub(super) fn preferred() -> Value {
    let all = Preferred::ALL.iter().map(|which| series(*which));
    Value::Object(all.map(|it| (it.name.to_owned(), json!(it.hundredths))).collect())
}

/// The name of a line; of a used sheet, whose inputs a reader has not typed, its words with the symbol.
fn said_of(program: &Program, line: u32) -> String {
    let line = usize::try_from(line).ok().and_then(|at| program.lines.get(at));
    line.map_or_else(String::new, |line| match line.name.rsplit_once('.') {
        Some((path, symbol)) if !line.note.is_empty() => {
            format!("{} ({symbol} of {path})", line.note)
        }
        _ => line.name.clone(),
    })
}

fn carried_input(input: &Input, left: bool, results: &Results, formats: &Formats) -> Value {
    let inputs = results.inputs();
    let given = inputs.value(input);
    // as a person would type it: the page reads its fields as the terminal reads them
    let digits =
        |digits: rust_decimal::Decimal, ten| never_thousands(calculation::digits(digits, ten));
    let text = |given: &InputValue| match given {
        InputValue::One(one) => (digits(one.digits, one.ten), Some(one.unit.clone())),
        InputValue::Many(many) => {
            let unit = many.first().map_or_else(Unit::one, |one| one.unit.clone());
            let numbers: Vec<String> = many
                .iter()
                .map(|one| {
                    if one.unit == unit {
                        digits(one.digits, one.ten)
                    } else {
                        format!("{} {}", digits(one.digits, one.ten), one.unit.symbol)
                            .trim()
                            .to_owned()
                    }
                })
                .collect();
            (numbers.join(", "), Some(unit))
        }
        InputValue::Word(at) => (at.to_string(), None),
    };
    let (value, unit) = given.as_ref().map_or((String::new(), None), text);
    let default = match (&input.type_, &input.default) {
        (Type::Choice(_), Some(default)) => Some((default.digits.normalize().to_string(), None)),
        (_, Some(default)) => {
            Some((digits(default.digits, default.ten), Some(default.unit.clone())))
        }
        (_, None) => None,
    };
    // without a default the example is what a form shows; a value beside it is somebody's
    let example = match (&input.type_, &input.default, input.example.as_slice()) {
        (_, Some(_), _) | (_, _, []) => None,
        (Type::Choice(_), _, [word, ..]) => Some((word.digits.normalize().to_string(), None)),
        (Type::Number { series: true, .. }, _, all) => Some(text(&InputValue::Many(all.to_vec()))),
        (_, _, [one, ..]) => Some(text(&InputValue::One(one.clone()))),
    };
    let left = match (left, inputs.is_spared(input)) {
        (true, _) => json!(2),
        (_, true) => json!(3),
        _ => json!(inputs.is_example(input)),
    };
    let mut units: Vec<Unit> = vec![input.unit.clone()];
    units.extend(unit.iter().cloned());
    if let Some(kind) = input.kind {
        units.extend(kind.units.iter().filter_map(|text| kind.read_unit(text).ok()));
        if kind.bare {
            units.push(Unit::one());
        }
    }
    let mut offered: Vec<usize> = Vec::new();
    for unit in &units {
        let at = formats.number(&NUMBER, unit);
        if !offered.contains(&at) {
            offered.push(at);
        }
    }
    let words = match &input.type_ {
        Type::Choice(words) => Some(words.to_vec()),
        _ => None,
    };
    let ends = inputs.spread(input).map(|spread| {
        let ends = spread.ends.iter();
        ends.map(|(low, high)| [low.si_f64(), high.si_f64()]).collect::<Vec<_>>()
    });
    let many = matches!(input.type_, Type::Number { series: true, .. });
    json!({
        "n": input.name, "te": ends, "e": left, "r": input.register.0, "v": value, "m": many, "w": words,
        "u": unit.as_ref().map(|unit| formats.number(&NUMBER, unit)), "us": offered,
        "d": default.as_ref().map(|(value, _)| value),
        "x": example.as_ref().map(|(value, _)| value),
        "xu": example.as_ref().and_then(|(_, unit)| unit.as_ref()).map(|unit| formats.number(&NUMBER, unit)),
        "du": default.as_ref().and_then(|(_, unit)| unit.as_ref()).map(|unit| formats.number(&NUMBER, unit)),
        "q": asked_of(input, formats), "k": input.kind.map(|kind| kind.name), "bare": input.kind.is_some_and(|kind| kind.bare),
        "whole": input.kind.is_some_and(|kind| kind.name == "count"),
    })
}

/// What of an input decides whether its value is asked about: the sizes that its sheet shows, one of them in words, unit
/// and size of the example, and what its words say of it.
fn asked_of(input: &Input, formats: &Formats) -> Value {
    let shown = || input.example.iter().chain(scale::own_default(input));
    let sizes: Vec<f64> = shown().map(|it| it.si_f64().abs()).filter(|it| *it > 0.0).collect();
    let Some(first) = input.kind.and_then(|_| input.example.first().or(input.default.as_ref()))
    else {
        return Value::Null;
    };
    let has = |words: &[&str]| words.iter().any(|word| input.note.contains(word));
    let of = |name| input.kind.is_some_and(|kind| kind.name == name);
    json!([
        sizes,
        calculation::written(first),
        formats.number(&NUMBER, &first.unit),
        first.si_f64(),
        !input.example.is_empty(),
        match of("voltage") {
            true if has(scale::DIRECT) => 1,
            true if has(scale::ALTERNATING) => 2,
            _ => 0,
        },
        (of("speed") || of("speed of rotation")) && has(scale::START),
        if of("ratio") { input.note.as_str() } else { "" },
    ])
}

/// From what size on is asked what, one rule for the terminal and the page.
pub(super) fn asks() -> Value {
    json!({
        "unusual": scale::UNUSUAL, "unoffered": scale::UNOFFERED, "slipped": scale::SLIPPED, "timed": scale::TIMED, "far": scale::FAR,
        "nearer": scale::NEARER, "days": scale::DAYS, "slips": outlier::SLIPS,
        "inch": outlier::INCH_POUND.into_iter().collect::<std::collections::BTreeMap<_, _>>(),
        "apart": outlier::FAR,
        "off": outlier::OFF, "ends": outlier::ENDS, "rounded": outlier::ROUNDED,
    })
}

/// How units are typed, of each kind that the inputs of some programs have.
pub(super) fn spellings<'a>(programs: impl Iterator<Item = &'a Program>) -> Value {
    let kinds = programs.flat_map(|program| &program.inputs).filter_map(|input| input.kind);
    let kinds: std::collections::BTreeSet<&str> = kinds.map(|kind| kind.name).collect();
    let found = kinds.iter().filter_map(|name| {
        let mut all = kind(name)?.spellings();
        all.retain(|typed, symbol| typed != symbol);
        Some(((*name).to_owned(), json!(all)))
    });
    let shapes = kinds.iter().filter_map(|name| {
        let kind = kind(name)?;
        Some(((*name).to_owned(), json!([kind.shapes(), kind.takes_pounds_as_force()])))
    });
    let (plates, slips) = symbols_of_plates();
    let symbols = symbols()
        .into_iter()
        .map(|it| json!([it.spellings, it.class, it.factor, u8::from(it.prefixes)]));
    json!({
        "kinds": found.collect::<serde_json::Map<_, _>>(),
        "shapes": shapes.collect::<serde_json::Map<_, _>>(),
        "rate": input_text::RATE, "symbols": symbols.collect::<Vec<_>>(), "prefixes": prefixes(),
        "plates": plates.into_iter().collect::<std::collections::BTreeMap<_, _>>(), "slips": slips,
    })
}

fn relation(relation: Relation) -> &'static str {
    relation.sign()
}

fn direction(direction: Direction) -> &'static str {
    match direction {
        Direction::Up => "up",
        Direction::Down => "down",
        Direction::Nearest => "near",
    }
}

fn step(program: &Program, step: &Step) -> Value {
    let (to, line) = (step.to.0, step.line.0);
    match &step.op {
        Op::Literal(literal) => json!(["lit", to, line, literal.si_f64()]),
        Op::Pi => json!(["pi", to, line]),
        Op::Input(input) => json!(["in", to, line, input.0]),
        Op::Unary(function, x) => json!([unary(*function), to, line, x.0]),
        Op::Binary(function, x, y) => json!([binary(*function), to, line, x.0, y.0]),
        Op::Power(x, by) => json!(["pow", to, line, x.0, by.numerator, by.denominator]),
        Op::Compare(found, x, y) => json!(["is", to, line, relation(*found), x.0, y.0]),
        Op::Both(x, y) => json!(["and", to, line, x.0, y.0]),
        Op::Either(x, y) => json!(["or", to, line, x.0, y.0]),
        Op::Negate(x) => json!(["not", to, line, x.0]),
        Op::Select(which, x, y) => json!(["sel", to, line, which.0, x.0, y.0]),
        Op::NoCase => json!(["none", to, line]),
        Op::Never(why) => json!(["never", to, line, why.as_ref()]),
        Op::Round(way, x, by) => json!(["rnd", to, line, direction(*way), x.0, by.0]),
        Op::Preferred(way, which, x) => {
            json!(["pref", to, line, direction(*way), series(*which).name, x.0])
        }
        Op::Read(table, x) => json!(["tab", to, line, table.0, x.0]),
        Op::Fold(fold, x) => json!(["fold", to, line, folded(*fold), x.0]),
        Op::Running { block, start, over } => {
            json!([
                "run",
                to,
                line,
                block.0,
                start.0,
                over.iter().map(|it: &Register| it.0).collect::<Vec<_>>()
            ])
        }
        Op::Root { block, from, to: end } => {
            let (_, _, is_straight) = corner_levels(program, *block);
            json!(["root", to, line, block.0, from.0, end.0, [], true, is_straight])
        }
        Op::Integral { block, from, to: end } => {
            let (levels, is_complete, _) = corner_levels(program, *block);
            let levels: Vec<Value> =
                levels.iter().map(|(x, y, level)| json!([x.0, y.map(|y| y.0), level])).collect();
            json!(["int", to, line, block.0, from.0, end.0, levels, is_complete])
        }
    }
}

fn unary(function: Unary) -> &'static str {
    match function {
        Unary::Negate => "neg",
        Unary::Absolute => "abs",
        Unary::SquareRoot => "sqrt",
        Unary::Exponential => "exp",
        Unary::Logarithm => "ln",
        Unary::DecimalLogarithm => "log10",
        Unary::Sine => "sin",
        Unary::Cosine => "cos",
        Unary::Tangent => "tan",
        Unary::ArcSine => "asin",
        Unary::ArcCosine => "acos",
        Unary::ArcTangent => "atan",
    }
}

fn binary(function: Binary) -> &'static str {
    match function {
        Binary::Add => "+",
        Binary::Subtract => "-",
        Binary::Multiply => "*",
        Binary::Divide => "/",
        Binary::Least => "min",
        Binary::Greatest => "max",
        Binary::Raise => "raise",
    }
}

fn folded(fold: Fold) -> &'static str {
    match fold {
        Fold::Sum => "sum",
        Fold::Product => "product",
        Fold::Mean => "mean",
        Fold::SampleDeviation => "stdev",
        Fold::Greatest => "max",
        Fold::Least => "min",
        Fold::Count => "count",
        Fold::First => "first",
        Fold::Last => "last",
    }
}

/// Whether a page leaves something to the terminal: a root that needs a proof.
pub(crate) fn leaves_a_root(program: &Program) -> bool {
    let blocks = program.blocks.iter().flat_map(|block| &block.steps);
    program.steps.iter().chain(blocks).any(|step| match &step.op {
        Op::Root { block, .. } => !corner_levels(program, *block).2,
        _ => false,
    })
}
