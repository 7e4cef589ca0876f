//! Labels and headings that carry a unit, in the ways the trade writes them.

use super::words::leaves_out;
use crate::diagnostic::{Diagnostic, Name};
use crate::spreadsheet::is_number;
use crate::unit::Kind;

/// A label taken apart.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Label {
    /// The name, or the words, before the unit.
    pub name: String,
    /// The unit, if the label carries one.
    pub unit: Option<String>,
}

/// Takes a label apart: `n / (r/min)`, `n / s`, `n in r/min`, `n [r/min]`, `n (r/min)`.
///
/// The first is the way of ISO 80000-1, 7.1.4, for headings of tables; the others are common practice,
/// no source.
///
/// # Example
/// ```
/// use standstill::workbook::label;
/// for text in ["n_0 / (r/min)", "n_0/(r/min)", "n_0 in r/min", "n_0 [r/min]", "n_0 (r/min)"] {
///     let found = label(text);
///     assert_eq!((found.name.as_str(), found.unit.as_deref()), ("n_0", Some("r/min")));
/// }
/// // a line break within a cell
/// assert_eq!(label("n_0\nr/min"), label("n_0 in r/min"));
/// assert_eq!(label("n_0\nin r/min"), label("n_0 in r/min"));
/// assert_eq!(label("speed").unit, None);
/// ```
#[must_use]
pub fn label(text: &str) -> Label {
    let text = text.trim().trim_end_matches([':', '=']).trim_end();
    // a line of its own is a place of its own: the unit below the name
    if let Some((name, unit)) = text.rsplit_once(['\n', '\r']) {
        let (name, unit) = (name.trim(), unit.trim());
        if !name.is_empty() && !name.contains(['\n', '\r']) && crate::unit::is_unit(unit) {
            return Label { name: name.to_owned(), unit: Some(unit.to_owned()) };
        }
        return label(&text.split_whitespace().collect::<Vec<_>>().join(" "));
    }
    for (open, close) in [('[', ']'), ('(', ')')] {
        if let Some(inside) = text.strip_suffix(close) {
            let at = matching(inside, open, close);
            if let Some((name, unit)) =
                at.and_then(|at| Some((inside.get(..at)?, inside.get(at + 1..)?)))
            {
                let name = name.trim_end().trim_end_matches('/').trim_end();
                if !name.is_empty() && !unit.trim().is_empty() {
                    return Label { name: name.to_owned(), unit: Some(unit.trim().to_owned()) };
                }
            }
        }
    }
    // `speed, r/min`: words, and a unit with a solidus of its own
    if let Some((words, last)) = text.rsplit_once([' ', ',', '\u{a0}'])
        && last.contains('/')
        && crate::unit::is_unit(last)
    {
        let words = words.trim_end_matches([' ', ',', '\u{a0}', '/']);
        let words = words.strip_suffix(" in").unwrap_or(words).trim_end();
        if !words.is_empty() {
            return Label { name: words.to_owned(), unit: Some(last.to_owned()) };
        }
    }
    for separator in [" in ", " / ", "/"] {
        if let Some((name, unit)) = text.split_once(separator) {
            let (name, unit) = (name.trim(), unit.trim());
            // ISO 80000-1 writes a name, one solidus and a unit; words with blanks are a remark
            let rate = separator == "/" && is_rate(name, unit);
            let one = !rate && !unit.contains(' ')
                || !rate && !name.contains(' ') && (scales(unit) || crate::unit::is_unit(unit));
            if !name.is_empty() && !unit.is_empty() && one {
                return Label { name: name.to_owned(), unit: Some(unit.to_owned()) };
            }
        }
    }
    Label { name: text.to_owned(), unit: None }
}

/// Whether what stands before a solidus is counted in a time: `120 stops/h`, `max. 60/h`.
fn is_rate(before: &str, time: &str) -> bool {
    let mut words = before.split_whitespace().rev().take(2);
    matches!(time, "s" | "min" | "h" | "d")
        && words.any(|word| {
            word.parse::<f64>().is_ok() || word.replace(',', ".").parse::<f64>().is_ok()
        })
}

/// Words that stand in the brackets of a label as a remark, and change nothing of the value.
const REMARKS: &[&str] = &[
    // where
    "motor", "load", "side", "shaft", "drive", "driven", "driving", "machine", "input", "output",
    "gear", "gearbox", "brake", "roller", "roll", "rope", "drum", "belt", "screw", "spindle",
    "saw", "fan", "pump", "table", "axis", "axle", "wheel", "coupling", "end", "left", "right",
    "front", "rear", "upper", "lower", "top", "bottom", "inner", "outer", "inside", "outside",
    "name", "plate", "nameplate", "catalogue", "catalog", "datasheet", "data", "sheet", "drawing",
    "maker", "manufacturer", "supplier", "rating", "sensor", "scanner", "relay", "controller",
    "inverter", "converter", // which
    "least", "most", "min", "max", "minimum", "maximum", "lowest", "highest", "lower", "upper",
    "smallest", "largest", "shortest", "longest", "slowest", "fastest", "mean", "average",
    "typical", "typ", "nominal", "rated", "measured", "estimated", "assumed", "calculated",
    "guessed", "worst", "best", "case", "new", "old", "worn", "cold", "warm", "hot", "dry", "wet",
    "empty", "full", "loaded", "unloaded", "idle", "running", "standstill", "initial", "final",
    "start", "stop", "constant", "total", "own", "site", "test", "bench", "spec", "value", "sum",
    "all", // between them
    "at", "of", "on", "the", "to", "from", "for", "with", "without", "and", "or", "when", "if",
    "only", "up", "down", "by", "as", "per", "see", "incl", "including", "excl", "excluding", "is",
    "a", "an", "not", "mains",
];

/// What stands in the brackets of a label, if it is not a unit.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(in crate::workbook) enum Aside {
    /// Words that change nothing: `(motor side)`, `(at 60 Hz)`.
    Remark,
    /// A power of ten or another factor: `10⁻³ kg·m²`, `× 1000`.
    Factor,
    /// A flywheel effect, four times the inertia (DIN 1304 and common practice): `GD²`, `PD²`.
    Flywheel,
    /// Nothing that is understood.
    Unclear,
}

/// Reads what stands in the brackets of a label and is not a unit.
pub(in crate::workbook) fn aside(text: &str) -> Aside {
    let letters: String =
        text.chars().filter(|it| it.is_alphabetic()).collect::<String>().to_uppercase();
    if ["GD", "WD", "PD", "MD"].contains(&letters.as_str()) {
        // `GD²/4` is the inertia
        let quarter = text.replace(' ', "").ends_with("/4");
        return if quarter { Aside::Remark } else { Aside::Flywheel };
    }
    if is_remark(text) && !leaves_out(text) {
        return Aside::Remark;
    }
    if scales(text) { Aside::Factor } else { Aside::Unclear }
}

/// What is wrong with a text in the brackets of a label that is not a unit; none for a remark.
pub(in crate::workbook) fn unclear(
    name: &str,
    kind: Option<&'static Kind>,
    said: &str,
) -> Option<Diagnostic> {
    let usual = kind.and_then(|kind| kind.units.first()).filter(|it| !it.is_empty());
    let usual = usual.map_or_else(|| "its unit".to_owned(), |unit| format!("`{unit}`"));
    // mass times the square of the radius of gyration: the inertia itself
    let gyration = kind.is_some_and(|kind| kind.name == "inertia")
        && ["WK²", "WK2", "WR²", "WR2"].contains(&said.trim().to_uppercase().as_str());
    let (words, remedy) = match aside(said) {
        _ if gyration => return None,
        Aside::Remark => return None,
        Aside::Factor if is_number(said) => (
            format!(
                "the text \"{said}\" stands beside `{name}`: a factor is not applied, and another value is not read"
            ),
            format!("write the value itself in {usual} behind the name, and take \"{said}\" out"),
        ),
        Aside::Factor => (
            format!("the label of `{name}` says \"{said}\": a factor beside a unit is not applied"),
            format!("write the value itself in {usual}, and take \"{said}\" out"),
        ),
        Aside::Flywheel => (
            format!(
                "the label of `{name}` says \"{said}\": a flywheel effect is four times the inertia"
            ),
            format!("write the inertia, a quarter of it, and take \"{said}\" out"),
        ),
        Aside::Unclear => (
            format!("\"{said}\" in the label of `{name}` is neither a unit nor a known remark"),
            format!(
                "write a unit there, such as {usual}, or move the words into a column behind the unit"
            ),
        ),
    };
    Some(Diagnostic::error(Name::TwoStatements, words).remedy(remedy))
}

/// Whether a text is made of known words, and of quantities with words before them.
fn is_remark(text: &str) -> bool {
    let mut words =
        text.split([' ', '\u{a0}', ',', ';', '-']).filter(|it| !it.is_empty()).peekable();
    let mut any = false;
    while let Some(word) = words.next() {
        if word.starts_with(|it: char| it.is_ascii_digit()) {
            let quantity = match words.peek() {
                Some(unit) if word.parse::<f64>().is_ok() => format!("{word} {unit}"),
                _ => word.to_owned(),
            };
            let measured = crate::unit::split_quantity(&quantity)
                .is_ok_and(|(_, _, unit)| crate::unit::is_unit(unit));
            if !any || !measured {
                return false;
            }
            if quantity != word {
                words.next();
            }
        } else if !is_remark_word(word) {
            return false;
        }
        any = true;
    }
    any
}

/// Whether a word changes nothing of a value: `least`, `motor`.
pub(in crate::workbook) fn is_remark_word(word: &str) -> bool {
    let bare = word.trim_matches(['.', ':', '!', '?', '\'', '"']).to_lowercase();
    REMARKS.contains(&bare.as_str())
}

/// Whether a text scales what it stands beside: `×10⁻³`, `10^-4 kg·m²`, `1000 r/min`, `kg·m²/1000`, `in thousands`.
pub(in crate::workbook) fn scales(text: &str) -> bool {
    let text = text.trim();
    let begins = text.trim_start_matches(['×', 'x', 'X', '*', '·', ' ', '\u{a0}', '/', '÷']);
    let number = begins.starts_with(|it: char| it.is_ascii_digit());
    let signed = begins.len() < text.len();
    let factor = |text: &str| {
        text.starts_with("10")
            || text.starts_with("0.")
            || text.starts_with("1e")
            || text.starts_with("1E")
    };
    let after = text.rfind(['×', '*', '/', '÷']).and_then(|at| text.get(at..));
    let after = after.map(|it| it.trim_start_matches(['×', '*', '/', '÷', ' ']));
    let words = ["thousand", "million", "hundred", "dozen"];
    number && (signed || factor(begins)) && !is_a_one(begins)
        || after.is_some_and(|it| factor(it) && crate::unit::parse_unit(text).is_err())
        || words.iter().any(|word| text.to_lowercase().contains(word))
}

/// Whether a heading says a unit or a factor: `value in rad/s`, `rad/s`, `×1000`, `10⁻³`, `values in thousands`; a date
/// or `1000 mm table` says neither.
pub(in crate::workbook) fn says_unit_or_factor(text: &str) -> bool {
    let begins = |text: &str| {
        text.starts_with(['×', 'x', '*', '/', '÷'])
            || ["10^", "10⁻", "10e", "1e", "1E"].iter().any(|it| text.starts_with(it))
            || !text.starts_with(|it: char| it.is_ascii_digit())
    };
    let factor = |text: &str| scales(text) && begins(text);
    let in_brackets = text.trim().strip_prefix('[').and_then(|text| text.strip_suffix(']'));
    if let Some(inside) = in_brackets {
        return crate::unit::is_unit(inside.trim()) || factor(inside);
    }
    match label(text).unit {
        Some(unit) => crate::unit::is_unit(&unit) || factor(&unit),
        // `A` and `s` may name a variant
        None => text.chars().count() > 1 && crate::unit::is_unit(text) || factor(text),
    }
}

/// `1/min`: the one above a line.
fn is_a_one(text: &str) -> bool {
    text.starts_with("1/") && crate::unit::is_unit(text)
}

/// Where the bracket opens that the end of the text closes.
fn matching(inside: &str, open: char, close: char) -> Option<usize> {
    let mut depth = 0_usize;
    for (at, sign) in inside.char_indices().rev() {
        if sign == close {
            depth += 1;
        } else if sign == open {
            if depth == 0 {
                return Some(at);
            }
            depth -= 1;
        }
    }
    None
}

/// The sheet that a cell asks for, if it asks for one.
pub(in crate::workbook) fn asked(text: &str) -> Option<String> {
    let asked = text.trim().strip_prefix("sheet")?;
    let said = asked.strip_prefix(char::is_whitespace)?.trim();
    let name = said.strip_prefix("own ").or_else(|| said.strip_prefix("library "));
    let name = name.unwrap_or(said).trim();
    let plain = name.starts_with(char::is_alphabetic)
        && name.chars().all(|sign| sign.is_alphanumeric() || sign == '-' || sign == '_');
    (plain || said.ends_with(".sheet")).then(|| said.to_owned())
}
