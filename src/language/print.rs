//! Tree to text: one way of writing every sheet.

use std::fmt::Write as _;

use super::relation::{Between, Direction, Preferred};
use super::tree::{
    Body, Bound, Check, Course, Definition, Expression, Give, Group, InputLiteral, Node, Reach,
    Rounding, Search, Setting, Shape, Sign, TableTree, Take, Tolerance, Tree, Use, Word,
};

/// Prints a sheet in the one canonical way: parsed again, it gives the same tree but for the spans.
///
/// Comments and lines that did not read are not in the tree, so they are not printed.
///
/// # Example
/// ```
/// use standstill::diagnostic::Source;
/// use standstill::language::{parse, print};
/// let text = "sheet s\ntitle \"t\"\nworks\n  a=2*(b+c)²   # a comment\n";
/// let (tree, _) = parse(&Source::new("s.sheet", text));
/// assert_eq!(print(&tree), "sheet s\ntitle \"t\"\n\nworks\n  a = 2 * (b + c)^2\n");
/// ```
#[must_use]
pub fn print(tree: &Tree) -> String {
    let mut out = String::new();
    if let Some(name) = &tree.name {
        let word = if tree.is_group { "group" } else { "sheet" };
        let _ = writeln!(out, "{word} {}", name.value);
    }
    let header = [
        ("title", tree.title.as_slice()),
        ("words", &tree.words),
        ("version", tree.version.as_slice()),
        ("date", tree.date.as_slice()),
        ("source", &tree.sources),
        ("caution", &tree.cautions),
    ];
    for (word, texts) in header {
        for text in texts {
            let _ = writeln!(out, "{word} \"{}\"", text.value);
        }
    }
    block(&mut out, "uses", &uses(tree), String::clone);
    block(&mut out, "takes", &takes(tree), String::clone);
    block(&mut out, "works", &tree.works, definition);
    block(&mut out, "holds", &tree.holds, check);
    block(&mut out, "gives", &tree.gives, give);
    out
}

/// An expression in the one canonical way.
pub(crate) fn print_expression(tree: &Expression) -> String {
    at(tree, Tightness::Value)
}

fn block<T>(out: &mut String, word: &str, lines: &[T], line: fn(&T) -> String) {
    if lines.is_empty() {
        return;
    }
    let _ = writeln!(out, "\n{word}");
    for entry in lines {
        let _ = writeln!(out, "  {}", line(entry));
    }
}

/// What is handed over, behind its word.
fn listed(word: &str, arguments: &[(Word, Expression)]) -> String {
    let arguments = arguments.iter().map(|(name, value)| match &value.node {
        Node::Name(same) if *same == name.value => name.value.clone(),
        _ => format!("{} = {}", name.value, at(value, Tightness::Rounded)),
    });
    let arguments = arguments.collect::<Vec<_>>().join(", ");
    if arguments.is_empty() { arguments } else { format!(" {word} {arguments}") }
}

/// Used sheets, and courses with their lines.
fn uses(tree: &Tree) -> Vec<String> {
    let mut lines = Vec::new();
    for (at, line) in tree.uses.iter().map(Some).chain([None]).enumerate() {
        lines.extend(tree.courses.iter().filter(|course| course.at == at).map(course));
        lines.extend(line.map(used));
    }
    lines
}

fn course(line: &Course) -> String {
    let (alias, whose, state) = (&line.alias.value, line.whose.word(), &line.state.value);
    let head = format!("{alias} = course of {whose}{state}{}", listed("from", &line.from));
    let lines = line.lines.iter().map(|line| format!("\n    {}", used(line)));
    head + &lines.collect::<String>()
}

pub(super) fn used(line: &Use) -> String {
    let (with, but) = (listed("with", &line.arguments), listed("but", &line.but));
    let (alias, whose, sheet) = (&line.alias.value, line.whose.word(), &line.sheet.value);
    format!("{alias} = {whose}{sheet}{with}{but}")
}

/// Inputs with their headings, and groups.
fn takes(tree: &Tree) -> Vec<String> {
    let mut lines = Vec::new();
    let mut heading = "";
    for (at, line) in tree.takes.iter().map(Some).chain([None]).enumerate() {
        lines.extend(tree.groups.iter().filter(|group| group.at == at).map(group));
        let Some(line) = line else { break };
        if line.heading != heading {
            heading = &line.heading;
            lines.push(format!("\"{heading}\""));
        }
        lines.push(take(line));
    }
    lines
}

pub(super) fn group(line: &Group) -> String {
    let alias = line.alias.as_ref().map_or_else(String::new, |it| format!("{} : ", it.value));
    let word = if line.is_state { "state" } else { "group" };
    format!("{alias}{word} {}{}", line.whose.word(), line.name.value)
}

pub(super) fn take(line: &Take) -> String {
    let mut out = format!("{} : ", line.name.value);
    match &line.shape {
        Shape::Kind(kind) => out.push_str(&kind.value),
        Shape::Series(kind) => {
            let _ = write!(out, "series of {}", kind.value);
        }
        Shape::Choice(words) => {
            let words: Vec<&str> = words.iter().map(|word| word.value.as_str()).collect();
            let _ = write!(out, "one of {}", words.join(", "));
        }
    }
    out.push_str(&unit(line.unit.as_ref()));
    out.push_str(&range(line.low.as_ref(), line.high.as_ref()));
    if let Some(default) = &line.default {
        let _ = write!(out, " = {}", plain(line, default));
    }
    if !line.example.is_empty() {
        let examples: Vec<String> = line.example.iter().map(|value| plain(line, value)).collect();
        let _ = write!(out, " like {}", examples.join(", "));
    }
    if let Some(least) = &line.at_least {
        // behind the words of a choice a comma would call for one more word
        let comma = if matches!(line.shape, Shape::Choice(_)) { "" } else { "," };
        let _ = write!(out, "{comma} at least {}", least.value);
    }
    out + &note(&line.note)
}

/// A range as it is written behind a unit.
fn range(low: Option<&Bound>, high: Option<&Bound>) -> String {
    let mut out = String::new();
    for (bound, included, excluded) in [(low, "from", "above"), (high, "to", "below")] {
        if let Some(bound) = bound {
            let word = if bound.included { included } else { excluded };
            let _ = write!(out, " {word} {}", at(&bound.value, Tightness::Sum));
        }
    }
    out
}

/// A default or an example: the word of a choice, else a value with its tolerance.
fn plain(line: &Take, given: &InputLiteral) -> String {
    let mut parts: Vec<String> = Vec::new();
    parts.extend(given.value.as_ref().map(|value| match (&line.shape, &value.node) {
        (Shape::Choice(_), Node::Name(word)) => word.clone(),
        _ => at(value, Tightness::Sum),
    }));
    if let Some(Tolerance { reach, normal }) = &given.tolerance {
        let number = |part: &Expression| at(part, Tightness::Signed);
        // two signs never stand in a row
        let side = |part: &Expression| match &part.node {
            Node::Negative(_) => format!("({})", number(part)),
            _ => number(part),
        };
        parts.push(match reach {
            Reach::Around(amount) => format!("± {}", number(amount)),
            Reach::Sides(above, below) => format!("+{} -{}", side(above), side(below)),
            Reach::Between(low, high) => {
                format!("from {} to {}", at(low, Tightness::Sum), at(high, Tightness::Sum))
            }
        });
        parts.extend(normal.then(|| "normal".to_owned()));
    }
    parts.join(" ")
}

pub(super) fn definition(line: &Definition) -> String {
    let name = match line.is_next {
        true => &format!("next {}", line.name.value),
        false => &line.name.value,
    };
    let (head, value) = match &line.body {
        Body::Value(value) => {
            let kind =
                line.kind.as_ref().map_or(String::new(), |kind| format!(" : {}", kind.value));
            let range = range(line.low.as_ref(), line.high.as_ref());
            (format!("{name}{kind}{}{range}", unit(line.unit.as_ref())), value)
        }
        Body::Function { parameters, result } => {
            let names: Vec<&str> = parameters.iter().map(|word| word.value.as_str()).collect();
            (format!("{name}({})", names.join(", ")), result)
        }
        Body::Table(tree) => return table(line, tree),
    };
    format!("{head} = {}{}", lines_of(value), note(&line.note))
}

/// The value of a definition, each case on a line of its own.
fn lines_of(value: &Expression) -> String {
    match &value.node {
        Node::Cases { cases, otherwise } => {
            case_parts(cases, otherwise.as_deref()).join("\n      ")
        }
        _ => at(value, Tightness::Value),
    }
}

fn table(line: &Definition, tree: &TableTree) -> String {
    let (argument, argument_kind, argument_unit) = &tree.argument;
    let mut out = format!(
        "table {} ({} : {}{}",
        line.name.value,
        argument.value,
        argument_kind.value,
        unit(argument_unit.as_ref())
    );
    if let Some(lowest) = &tree.lowest {
        let _ = write!(out, " above {}", at(lowest, Tightness::Sum));
    }
    let manner = match tree.between.value {
        Between::Straight => "straight",
        Between::StepFrom => "stepped from",
        Between::StepUpTo => "stepped up to",
    };
    let _ = write!(out, ") : {}{}, {manner}", tree.value.0.value, unit(tree.value.1.as_ref()));
    if let Some(outside) = &tree.outside {
        let _ = write!(out, ", in \"{}\"", outside.file.value);
        if let Some(range) = &outside.range {
            let _ = write!(out, " at {}", range.value);
        }
    }
    out.push_str(&note(&line.note));
    for (left, right) in &tree.rows {
        let _ = write!(
            out,
            "\n    {}    {}",
            at(left, Tightness::Signed),
            at(right, Tightness::Signed)
        );
    }
    out
}

pub(super) fn check(line: &Check) -> String {
    let mut out = at(&line.condition, Tightness::Or) + &note(&line.text);
    if line.caution {
        out.push_str(" else caution");
    } else if !line.otherwise.is_empty() {
        out.push_str(" else");
    }
    out + &note(&line.otherwise)
}

pub(super) fn give(line: &Give) -> String {
    let unit = unit(line.unit.as_ref());
    let mut out = match &line.value {
        Some(value) => format!("{}{unit} as {}", at(value, Tightness::Or), line.name.value),
        None => format!("{}{unit}", line.name.value),
    };
    if let Some(asked) = &line.rounding {
        out.push_str(&rounding(asked));
    }
    if let Some(Setting { step, low, high }) = &line.setting {
        let sum = |part| at(part, Tightness::Sum);
        let _ = write!(out, ", set in steps of {} from {} to {}", sum(step), sum(low), sum(high));
    }
    out + &note(&line.note)
}

fn unit(unit: Option<&Word>) -> String {
    unit.map_or(String::new(), |word| format!(" in {}", word.value))
}

fn note(text: &str) -> String {
    if text.is_empty() { String::new() } else { format!(" \"{text}\"") }
}

fn rounding(asked: &Rounding) -> String {
    let way = match asked.direction {
        Direction::Up => " up",
        Direction::Down => " down",
        Direction::Nearest => "",
    };
    format!(" rounded{way} to {}", at(&asked.step, Tightness::Signed))
}

/// How tightly an expression holds together, from loose to tight: what stands in a looser place than
/// its own is put into parentheses.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Tightness {
    Value,
    Rounded,
    Or,
    And,
    Not,
    Comparison,
    Sum,
    Product,
    Signed,
    Power,
    Part,
}

fn tightness(node: &Node) -> Tightness {
    match node {
        Node::Never(_) | Node::Meant(..) => Tightness::Part,
        // the body of `running` goes on as far as a value can
        Node::Cases { .. } | Node::Running { .. } | Node::Where(..) => Tightness::Value,
        Node::Rounded(..) => Tightness::Rounded,
        Node::Or(..) => Tightness::Or,
        Node::And(..) => Tightness::And,
        Node::Not(_) => Tightness::Not,
        // the last bound of a search would take what follows
        Node::Compare(..) | Node::Is(..) | Node::Root(_) | Node::Integral(_) => {
            Tightness::Comparison
        }
        Node::Binary(_, sign, _) => match sign.value {
            Sign::Plus | Sign::Minus => Tightness::Sum,
            Sign::Times | Sign::Over => Tightness::Product,
        },
        Node::Negative(_) => Tightness::Signed,
        Node::Power(..) => Tightness::Power,
        Node::Number { .. }
        | Node::Name(_)
        | Node::Dotted(..)
        | Node::Call(..)
        | Node::Preferred(..) => Tightness::Part,
    }
}

/// An expression where one of at least this tightness must stand.
fn at(tree: &Expression, least: Tightness) -> String {
    let written = written(&tree.node);
    if tightness(&tree.node) < least { format!("({written})") } else { written }
}

fn written(node: &Node) -> String {
    use Tightness::{And, Comparison, Not, Or, Part, Power, Product, Signed, Sum, Value};
    match node {
        Node::Number { digits, unit: None } => digits.clone(),
        Node::Number { digits, unit: Some(unit) } => format!("{digits} {}", unit.value),
        Node::Name(name) => name.clone(),
        Node::Never(why) => format!("never \"{}\"", why.value),
        Node::Meant(number, why) => format!("meant {} \"{}\"", at(number, Part), why.value),
        Node::Dotted(alias, result) => format!("{}.{}", alias.value, result.value),
        Node::Call(name, arguments) => {
            let arguments: Vec<String> = arguments.iter().map(|part| at(part, Value)).collect();
            format!("{}({})", name.value, arguments.join(", "))
        }
        Node::Negative(inner) => format!("-{}", at(inner, Power)),
        Node::Binary(a, sign, b) => match sign.value {
            Sign::Plus => format!("{} + {}", at(a, Sum), behind_a_sign(b, Product)),
            Sign::Minus => format!("{} - {}", at(a, Sum), behind_a_sign(b, Product)),
            Sign::Times => format!("{} * {}", at(a, Product), behind_a_sign(b, Signed)),
            Sign::Over => format!("{} / {}", at(a, Product), behind_a_sign(b, Signed)),
        },
        Node::Power(base, _, exponent) => {
            let exponent = match &exponent.node {
                Node::Negative(inner) => format!("-{}", at(inner, Part)),
                _ => at(exponent, Part),
            };
            format!("{}^{exponent}", base_of_power(base))
        }
        Node::Compare(a, relation, b) => {
            format!("{} {} {}", at(a, Sum), relation.value.sign(), at(b, Sum))
        }
        Node::Is(choice, word) => format!("{} is {}", at(choice, Sum), word.value),
        Node::And(a, b) => format!("{} and {}", at(a, And), at(b, Not)),
        Node::Or(a, b) => format!("{} or {}", at(a, Or), at(b, And)),
        Node::Where(series, condition) => {
            format!("{} where {}", at(series, Tightness::Rounded), at(condition, Or))
        }
        Node::Not(inner) => format!("not {}", at(inner, Comparison)),
        Node::Cases { cases, otherwise } => case_parts(cases, otherwise.as_deref()).join(" "),
        Node::Rounded(inner, asked) => format!("{}{}", at(inner, Or), rounding(asked)),
        Node::Preferred(direction, inner, series) => preferred(*direction, inner, *series),
        Node::Root(asked) => format!("root of {}", search(asked)),
        Node::Integral(asked) => format!("integral of {}", search(asked)),
        Node::Running { name, start, body } => {
            format!("running {} from {} : {}", name.value, at(start, Sum), at(body, Value))
        }
    }
}

/// What begins with a sign stands in parentheses behind another.
fn behind_a_sign(tree: &Expression, least: Tightness) -> String {
    let written = at(tree, least);
    if written.starts_with('-') { format!("({written})") } else { written }
}

/// A unit behind the number would take the exponent for its own.
fn base_of_power(base: &Expression) -> String {
    match &base.node {
        Node::Number { unit: Some(_), .. } => format!("({})", written(&base.node)),
        _ => at(base, Tightness::Part),
    }
}

fn case_parts(cases: &[(Expression, Expression)], otherwise: Option<&Expression>) -> Vec<String> {
    let mut parts: Vec<String> = cases
        .iter()
        .map(|(condition, value)| {
            format!("when {} : {}", at(condition, Tightness::Or), at(value, Tightness::Rounded))
        })
        .collect();
    parts.extend(otherwise.map(|value| format!("otherwise : {}", at(value, Tightness::Rounded))));
    parts
}

fn preferred(direction: Direction, inner: &Expression, series: Preferred) -> String {
    let phrase = match direction {
        Direction::Up => "next above",
        Direction::Down => "next below",
        Direction::Nearest => "nearest to",
    };
    let value = at(inner, Tightness::Sum);
    // `40 in in E24`: the inch stands in parentheses, lest it be read as the word
    let value = if value.ends_with(" in") { format!("({value})") } else { value };
    format!("{phrase} {value} in {}", series.name())
}

fn search(asked: &Search) -> String {
    let sum = |part| at(part, Tightness::Sum);
    format!(
        "{} for {} from {} to {}",
        sum(&asked.function),
        asked.argument.value,
        sum(&asked.from),
        at(&asked.to, Tightness::Signed)
    )
}
