//! Formulas as MathML from the tree of a sheet, with symbols or with values in the place of names.

use super::client_data::Formats;
use super::markup::escaped;
use crate::calculation::Results;
use crate::language::{Expression, Node, Search, Sign, Spanned};
use crate::number::Slot;
use crate::program::{Direction, Program, Register, Relation, Scope, Type};
use crate::unit::Unit;

/// How strongly the parts of a formula hold together; below the line of its neighbour it is bracketed.
const LOOSE: u8 = 0;
const CHOICE: u8 = 1;
const COMPARED: u8 = 4;
const SUM: u8 = 5;
const PRODUCT: u8 = 6;
const SIGNED: u8 = 7;
const WHOLE: u8 = 9;

/// Letters that a sheet may write out.
const GREEK: &[(&str, &str)] = &[
    ("alpha", "α"),
    ("beta", "β"),
    ("gamma", "γ"),
    ("delta", "δ"),
    ("epsilon", "ε"),
    ("zeta", "ζ"),
    ("eta", "η"),
    ("theta", "θ"),
    ("kappa", "κ"),
    ("lambda", "λ"),
    ("mu", "μ"),
    ("nu", "ν"),
    ("xi", "ξ"),
    ("rho", "ρ"),
    ("sigma", "σ"),
    ("tau", "τ"),
    ("phi", "φ"),
    ("chi", "χ"),
    ("psi", "ψ"),
    ("omega", "ω"),
    ("Delta", "Δ"),
    ("Phi", "Φ"),
    ("Omega", "Ω"),
    ("Sigma", "Σ"),
    ("pi", "π"),
];

/// Writes formulas of one calculation.
pub(super) struct Writer<'a> {
    pub(super) results: &'a Results,
    pub(super) formats: &'a Formats,
    pub(super) scope: &'a Scope,
    /// Values in the place of names.
    pub(super) with_values: bool,
}

/// A name as a symbol: `t_ramp` with its index below the line, Greek letters as such.
pub(super) fn symbol(name: &str) -> String {
    let (path, own) = name.rsplit_once('.').map_or(("", name), |(path, own)| (path, own));
    let (base, index) = own.split_once('_').unwrap_or((own, ""));
    let base = GREEK.iter().find(|(word, _)| *word == base).map_or(base, |(_, letter)| *letter);
    let base = format!("<mi>{}</mi>", escaped(base));
    let mut to = String::new();
    if !path.is_empty() {
        to.push_str(&format!("<mtext>{}.</mtext>", escaped(path)));
    }
    if index.is_empty() {
        to.push_str(&base);
    } else {
        let index = index.replace('_', "\u{202f}");
        to.push_str(&format!("<msub>{base}<mtext>{}</mtext></msub>", escaped(&index)));
    }
    if path.is_empty() { to } else { format!("<mrow>{to}</mrow>") }
}

/// The same for running text and tables.
pub(super) fn symbol_in_text(name: &str) -> String {
    // what is more than one word is no symbol: `group ramp_and_delay`
    let (base, index) = match name.split_once('_') {
        Some(parts) if !name.contains(' ') => parts,
        _ => (name, ""),
    };
    let base = GREEK.iter().find(|(word, _)| *word == base).map_or(base, |(_, letter)| *letter);
    let base =
        if base.chars().count() == 1 { format!("<i>{}</i>", escaped(base)) } else { escaped(base) };
    if index.is_empty() {
        return base;
    }
    format!("{base}<sub>{}</sub>", escaped(&index.replace('_', "\u{202f}")))
}

/// A number with its unit.
fn quantity(text: &str) -> String {
    format!("<mn>{}</mn>", escaped(text).replace(' ', "\u{a0}"))
}

fn sign(text: &str) -> String {
    format!("<mo>{}</mo>", escaped(text))
}

fn words(text: &str) -> String {
    format!("<mtext>\u{a0}{text}\u{a0}</mtext>")
}

fn row(inner: &str) -> String {
    format!("<mrow>{inner}</mrow>")
}

fn bracketed(inner: &str) -> String {
    format!("<mrow><mo>(</mo>{inner}<mo>)</mo></mrow>")
}

impl Writer<'_> {
    /// The formula in pieces between which a line may end: the terms of a sum.
    pub(super) fn pieces(&self, tree: &Expression) -> Vec<String> {
        let mut terms = Vec::new();
        let mut open = tree;
        while let Node::Binary(a, Spanned { value: found @ (Sign::Plus | Sign::Minus), .. }, b) =
            &open.node
        {
            terms.push((if *found == Sign::Plus { "+" } else { "−" }, b.as_ref()));
            open = a;
        }
        if terms.len() < 2 {
            return vec![self.at_least(tree, LOOSE, &mut Vec::new())];
        }
        let mut pieces = vec![self.at_least(open, SUM, &mut Vec::new())];
        for (mark, term) in terms.iter().rev() {
            let term = self.at_least(term, PRODUCT, &mut Vec::new());
            pieces.push(format!("<mrow><mo form=\"infix\">{mark}</mo>{term}</mrow>"));
        }
        pieces
    }

    fn at_least<'t>(&self, tree: &'t Expression, least: u8, hidden: &mut Vec<&'t str>) -> String {
        let (text, strength) = self.write(tree, hidden);
        if strength < least { bracketed(&text) } else { text }
    }

    fn write<'t>(&self, tree: &'t Expression, hidden: &mut Vec<&'t str>) -> (String, u8) {
        match &tree.node {
            Node::Number { digits, unit } => {
                let text = match unit {
                    Some(unit) => format!("{digits} {}", unit.value),
                    None => digits.clone(),
                };
                (quantity(&text), if unit.is_some() { SIGNED } else { WHOLE })
            }
            Node::Never(why) => (words(&format!("never: {}", escaped(&why.value))), WHOLE),
            Node::Meant(number, why) => (
                row(&format!(
                    "{}<mtext>\u{a0}(meant: {})</mtext>",
                    self.at_least(number, SIGNED, hidden),
                    escaped(&why.value)
                )),
                SIGNED,
            ),
            Node::Name(name) if hidden.contains(&name.as_str()) => (symbol(name), WHOLE),
            Node::Name(name) => self.name(name),
            Node::Dotted(alias, result) => self.name(&format!("{}.{}", alias.value, result.value)),
            Node::Call(name, parts) => (self.call(&name.value, parts, hidden), WHOLE),
            Node::Negative(part) => (
                row(&format!("<mo form=\"prefix\">−</mo>{}", self.at_least(part, PRODUCT, hidden))),
                PRODUCT,
            ),
            Node::Binary(a, found, b) => self.binary(a, found.value, b, hidden),
            Node::Power(base, _, exponent) => {
                let base = self.at_least(base, WHOLE, hidden);
                let exponent = self.at_least(exponent, LOOSE, hidden);
                (format!("<msup>{base}{exponent}</msup>"), SIGNED)
            }
            Node::Compare(a, relation, b) => {
                let mark = match relation.value {
                    Relation::AtMost => "≤",
                    Relation::AtLeast => "≥",
                    Relation::Unequal => "≠",
                    other => other.sign(),
                };
                (self.pair((a, SUM), &sign(mark), (b, SUM), hidden), COMPARED)
            }
            Node::Is(a, word) => (
                row(&format!(
                    "{}{}<mtext>{}</mtext>",
                    self.at_least(a, SUM, hidden),
                    words("is"),
                    escaped(&word.value)
                )),
                COMPARED,
            ),
            Node::And(a, b) => (self.pair((a, 3), &words("and"), (b, 3), hidden), 3),
            Node::Or(a, b) => (self.pair((a, 2), &words("or"), (b, 2), hidden), 2),
            Node::Where(a, b) => {
                (self.pair((a, LOOSE), &words("where"), (b, LOOSE), hidden), LOOSE)
            }
            Node::Not(a) => {
                (row(&format!("{}{}", words("not"), self.at_least(a, COMPARED, hidden))), 3)
            }
            Node::Cases { cases, otherwise } => {
                (self.cases(cases, otherwise.as_deref(), hidden), CHOICE)
            }
            Node::Rounded(part, rounding) => {
                let way = match rounding.direction {
                    Direction::Up => "rounded up to",
                    Direction::Down => "rounded down to",
                    Direction::Nearest => "rounded to",
                };
                let step = (&*rounding.step, PRODUCT);
                (self.pair((part, COMPARED), &words(way), step, hidden), LOOSE)
            }
            Node::Preferred(direction, part, series) => {
                let way = match direction {
                    Direction::Up => "next above",
                    Direction::Down => "next below",
                    Direction::Nearest => "nearest to",
                };
                let inner = self.at_least(part, PRODUCT, hidden);
                (row(&format!("{}{inner}{}", words(way), words(&format!("in {series:?}")))), LOOSE)
            }
            Node::Root(search) => {
                let [f, x, from, to] = self.search(search, hidden, LOOSE);
                let [root, by, start, end] = ["root of", "for", "from", "to"].map(words);
                (row(&format!("{root}{f}{by}{x}{start}{from}{end}{to}")), LOOSE)
            }
            Node::Integral(search) => {
                let [f, x, from, to] = self.search(search, hidden, PRODUCT);
                let sides =
                    format!("<munderover><mo largeop=\"true\">∫</mo>{from}{to}</munderover>");
                (
                    row(&format!(
                        "{sides}{f}<mspace width=\"0.2em\"/><mrow><mi mathvariant=\"normal\">d</mi>{x}</mrow>"
                    )),
                    SUM,
                )
            }
            Node::Running { name, start, body } => {
                let start = self.at_least(start, SUM, hidden);
                hidden.push(&name.value);
                let body = self.at_least(body, LOOSE, hidden);
                hidden.pop();
                let [with, from] = ["running, with", "from"].map(words);
                (row(&format!("{body}{with}{}{from}{start}", symbol(&name.value))), LOOSE)
            }
        }
    }

    /// Two sides with a sign between them.
    fn pair<'t>(
        &self,
        (a, least_a): (&'t Expression, u8),
        between: &str,
        (b, least_b): (&'t Expression, u8),
        hidden: &mut Vec<&'t str>,
    ) -> String {
        let a = self.at_least(a, least_a, hidden);
        row(&format!("{a}{between}{}", self.at_least(b, least_b, hidden)))
    }

    fn cases<'t>(
        &self,
        cases: &'t [(Expression, Expression)],
        otherwise: Option<&'t Expression>,
        hidden: &mut Vec<&'t str>,
    ) -> String {
        let mut rows = String::new();
        for (condition, value) in cases {
            let value = self.at_least(value, LOOSE, hidden);
            let condition = self.at_least(condition, LOOSE, hidden);
            rows.push_str(&format!(
                "<mtr><mtd>{value}</mtd><mtd><mrow>{}{condition}</mrow></mtd></mtr>",
                words("when")
            ));
        }
        if let Some(value) = otherwise {
            let value = self.at_least(value, LOOSE, hidden);
            let otherwise = words("otherwise");
            rows.push_str(&format!("<mtr><mtd>{value}</mtd><mtd>{otherwise}</mtd></mtr>"));
        }
        row(&format!("<mo>{{</mo><mtable class=\"cs\">{rows}</mtable>"))
    }

    fn binary<'t>(
        &self,
        a: &'t Expression,
        found: Sign,
        b: &'t Expression,
        hidden: &mut Vec<&'t str>,
    ) -> (String, u8) {
        match found {
            Sign::Plus => (self.pair((a, SUM), &sign("+"), (b, PRODUCT), hidden), SUM),
            Sign::Minus => (self.pair((a, SUM), &sign("−"), (b, PRODUCT), hidden), SUM),
            Sign::Times => (self.pair((a, PRODUCT), &sign("·"), (b, PRODUCT), hidden), PRODUCT),
            Sign::Over => {
                let (above, below) =
                    (self.at_least(a, LOOSE, hidden), self.at_least(b, LOOSE, hidden));
                (format!("<mfrac>{above}{below}</mfrac>"), SIGNED)
            }
        }
    }

    fn call<'t>(&self, name: &str, parts: &'t [Expression], hidden: &mut Vec<&'t str>) -> String {
        let written: Vec<String> =
            parts.iter().map(|part| self.at_least(part, LOOSE, hidden)).collect();
        match (name, written.as_slice()) {
            ("sqrt", [part]) => format!("<msqrt>{part}</msqrt>"),
            ("cbrt", [part]) => format!("<mroot>{part}<mn>3</mn></mroot>"),
            ("abs", [part]) => format!(
                "<mrow><mo stretchy=\"false\">|</mo>{part}<mo stretchy=\"false\">|</mo></mrow>"
            ),
            _ => format!(
                "<mrow>{}<mo>\u{2061}</mo>{}</mrow>",
                symbol(name),
                bracketed(&written.join("<mo separator=\"true\">,</mo>"))
            ),
        }
    }

    fn search<'t>(&self, search: &'t Search, hidden: &mut Vec<&'t str>, least: u8) -> [String; 4] {
        let from = self.at_least(&search.from, LOOSE, hidden);
        let to = self.at_least(&search.to, LOOSE, hidden);
        hidden.push(&search.argument.value);
        let function = self.at_least(&search.function, least, hidden);
        hidden.pop();
        [function, symbol(&search.argument.value), from, to]
    }

    fn is_long(&self, register: Register) -> bool {
        matches!(self.results.run().register(register), Ok(Slot::Many(values)) if values.len() > 4)
    }

    fn name(&self, name: &str) -> (String, u8) {
        if !self.with_values {
            return (symbol(name), WHOLE);
        }
        match value_of(self.results.program(), self.scope, name) {
            // a long series would hide the formula: it keeps its name
            Some((register, ..)) if self.is_long(register) => (symbol(name), WHOLE),
            Some((register, type_, unit)) => {
                let text = self.results.register_text(register, type_, unit);
                let negative = text.starts_with('-');
                // the values of a series stand together
                let strength = if text.contains(", ") {
                    LOOSE
                } else if negative {
                    SUM
                } else if text.contains(' ') {
                    SIGNED
                } else {
                    WHOLE
                };
                let format = self.formats.number(type_, unit);
                let text = escaped(&text).replace(' ', "\u{a0}");
                // `mn`, not `mtext`: text counts as a blank, and the signs beside it would lose their room
                (format!("<mn data-r=\"{} {format}\">{text}</mn>", register.0), strength)
            }
            None => (symbol(name), WHOLE),
        }
    }
}

/// The line that a name means in its sheet.
fn value_of<'a>(
    program: &'a Program,
    scope: &Scope,
    name: &str,
) -> Option<(Register, &'a Type, &'a Unit)> {
    let line = match scope.names.get(name) {
        Some(id) => program.line(*id),
        // a result of a used sheet: the last line of its name is the rounded one
        None => {
            let path = if scope.path.is_empty() {
                name.to_owned()
            } else {
                format!("{}.{name}", scope.path)
            };
            program.lines.iter().rev().find(|line| line.name == path)
        }
    }?;
    Some((line.register, &line.type_, &line.unit))
}
