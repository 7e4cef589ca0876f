//! A unit among the words about a value: alone, behind a figure, as plates write it and as it is stamped.

use super::flywheels::is_converted;
use super::label::{is_remark_word, label};
use crate::unit::{Kind, Unit, split_quantity};
use rust_decimal::prelude::ToPrimitive;

/// Words in a text of a few that are each looked at for a unit.
pub(super) const FEW: usize = 3;

/// Bytes of a unit that is looked for in a remark.
const LONGEST_UNIT: usize = 20;

/// Letters that stand for a quantity as well as for a unit of its kind; common practice, no source.
const NAMES: &[(&str, &str)] = &[("acceleration", "g"), ("force", "N")];

/// A unit of the kind among words that is not the stated one: `friction, mN·m`, `brake torque in N·cm`, `turns per second`;
/// the unit of a number among them belongs to that number, and letters alone may name something.
pub(in crate::workbook) fn another_unit(
    kind: &'static Kind,
    unit: &Unit,
    text: &str,
) -> Option<String> {
    if is_converted(text) {
        return None;
    }
    let read = |word: &str| unit_of_words(kind, word);
    let other = |said: Unit| said.dimension == unit.dimension && !said.is_same(unit);
    let differs = |word: &str| read(word).is_some_and(other);
    // a unit and nothing else
    if let (None, Some(said)) = (read(text), stamped_alone(kind, text)) {
        return other(said).then(|| text.to_owned());
    }
    // `in inch pounds`
    if let Some(said) = text.strip_prefix("in ").and_then(read) {
        return other(said).then(|| text.to_owned());
    }
    if read(text).is_some() {
        let named = NAMES.iter().any(|(of, name)| *of == kind.name && *name == text);
        // a cell that shows a percentage holds the share: `%` beside it says what is seen
        let silent = named || is_remark_word(text) || text == "in" || unit.symbol.is_empty();
        return (!silent && differs(text)).then(|| text.to_owned());
    }
    let digit = |it: char| it.is_ascii_digit();
    let words: Vec<&str> = text.split_whitespace().collect();
    let of_kind = words.iter().enumerate().find_map(|(at, raw)| {
        let before = at.checked_sub(1).and_then(|at| words.get(at)).copied().unwrap_or_default();
        let bare = raw.trim_matches([',', ';', ':', '.', '!', '=', '/']);
        let inside = bare.trim_matches(['(', ')', '[', ']']);
        let bracketed = bare.starts_with(['(', '[']) && bare.ends_with([')', ']']);
        let word = if read(bare).is_some() && !bracketed { bare } else { inside };
        let of_number = before.starts_with(digit)
            || words.get(at + 1).is_some_and(|next| next.starts_with(digit));
        let said_in = before.eq_ignore_ascii_case("in");
        let signed = word.contains(['·', '/', '²', '³']);
        let stated =
            said_in || raw.starts_with(['(', '[']) || before.ends_with([',', ';', ':', '=', '/']);
        let several = words.len() > 1 && words.len() <= FEW;
        let plain = word.chars().count() > 1
            && !is_remark_word(word)
            && !matches!(word, "in" | "bar" | "turn" | "turns" | "rev");
        let counts = !of_number && (stated || several || words.len() == 1 && signed);
        (counts && (said_in || plain) && differs(word)).then(|| word.to_owned())
    });
    if of_kind.is_some() {
        return of_kind;
    }
    // `T_0/(N·cm)`
    let label = label(text);
    // `above 0 r/min` is of that number
    let of_number = text.starts_with(digit) || label.name.ends_with(digit);
    let of_label = label.unit.filter(|it| !of_number && !is_remark_word(it) && differs(it));
    if of_label.is_some() {
        return of_label;
    }
    let words = text.split(|it: char| it.is_whitespace() || ",;:()[]=".contains(it));
    let words: Vec<&str> = words.filter(|word| !word.is_empty()).collect();
    let per = words.iter().position(|word| word.eq_ignore_ascii_case("per"))?;
    let (time, symbol) = match words.get(per + 1)?.to_lowercase().as_str() {
        "second" | "sec" | "s" => ("s", "s"),
        "minute" | "min" => ("min", "min"),
        "hour" | "h" => ("h", "h"),
        _ => return None,
    };
    let own = unit.symbol.rsplit_once('/').map(|(_, own)| own)?;
    let times = ["s", "min", "h"];
    (times.contains(&own) && own != symbol).then(|| format!("per {time}"))
}

/// Whether a text states a value once more, in its own unit or in another: `194.7 lbf·in` behind 22 N·m. `held` in coherent
/// SI.
pub(super) fn states_again(kind: &'static Kind, own: &Unit, held: f64, text: &str) -> bool {
    split_quantity(text).is_ok_and(|(digits, ten, said_unit)| {
        let said = unit_said(kind, said_unit).filter(|said| said.zero == own.zero);
        // `100.5 1/s` is said of radians and of turns
        let turns = || {
            let said =
                kind.name == "speed of rotation" && matches!(said_unit, "1/s" | "s⁻¹" | "s^-1");
            let number = digits.to_f64().filter(|_| said && ten == 0);
            number.is_some_and(|it| near(it, held) || near(it * std::f64::consts::TAU, held))
        };
        said.is_some_and(|said| near(said.to_si(digits, ten), held)) || turns()
    })
}

/// The unit behind a figure among words, or in a column of units, as plates write it and as they are stamped.
pub(in crate::workbook) fn unit_said(kind: &'static Kind, text: &str) -> Option<Unit> {
    kind.unit_of_plate(text).or_else(|| kind.unit_as_stamped(text))
}

/// A unit among words: capitals without a sign may be a word, `RAD`, `LB`.
pub(super) fn unit_of_words(kind: &'static Kind, text: &str) -> Option<Unit> {
    let signed = |it: &Unit| it.symbol.contains(['·', '/', '²', '³']);
    kind.unit_of_plate(text).or_else(|| kind.unit_as_stamped(text).filter(signed))
}

/// A unit that is a text of capitals and nothing else: `LB`, `RAD`. One that a remark may be is none: `MIN`, `IN`.
fn stamped_alone(kind: &'static Kind, text: &str) -> Option<Unit> {
    let word = text.to_lowercase();
    (!is_remark_word(&word) && !NOT_ALONE.contains(&word.as_str()))
        .then(|| kind.unit_as_stamped(text))
        .flatten()
}

/// Letters of a unit that are a word of their own.
pub(super) const NOT_ALONE: &[&str] = &["in", "bar", "turn", "turns", "rev", "ms", "st", "pt"];

/// The unit that a remark is and nothing else: `kg·cm²`, `in N·cm`, `[rad/s]`, of a product also as plates write it:
/// `lb-in`, `Ncm`; none for letters that may name something.
pub(in crate::workbook) fn unit_alone(kind: &'static Kind, text: &str) -> Option<Unit> {
    let text = text.trim();
    let bare = text.strip_prefix("in ");
    let inner =
        |open, close| text.strip_prefix(open).and_then(|text: &str| text.strip_suffix(close));
    let unit = bare.or_else(|| inner('[', ']')).or_else(|| inner('(', ')')).unwrap_or(text).trim();
    // every text of every row of a product line comes by here
    let words = unit.split_whitespace().count() <= FEW && unit.len() <= LONGEST_UNIT;
    if !words || unit.contains(['0', '4', '5', '6', '7', '8', '9']) {
        return None;
    }
    let read = unit_said(kind, unit)?;
    let signed = unit.contains(['·', '/', '²', '³']) || read.symbol.contains(['·', '²', '³']);
    (bare.is_some() || signed || stamped_alone(kind, unit).is_some()).then_some(read)
}

/// That a row says another unit than that in which its value is read, and what to do about it.
pub(in crate::workbook) fn two_units(name: &str, own: &Unit, said: &Unit) -> (String, String) {
    (
        format!("`{name}` is read {}, and its row says {}", read_in(own), said.symbol),
        match own.symbol.as_str() {
            "" => "write the value as a plain number, and nothing as its unit".to_owned(),
            own => format!("write the value in {own}, and {own} or nothing as its unit"),
        },
    )
}

/// In which unit a value is read: `in kg·m²`, `as a plain number`.
pub(super) fn read_in(unit: &Unit) -> String {
    match unit.symbol.as_str() {
        "" => "as a plain number".to_owned(),
        symbol => format!("in {symbol}"),
    }
}

/// By what part two numbers may differ that state the same: people round.
pub(super) fn near(one: f64, other: f64) -> bool {
    (one - other).abs() <= 0.005 * one.abs().max(other.abs())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_unit_among_words_is_compared() {
        let torque = crate::unit::kind("torque").unwrap();
        let unit = |kind: &'static Kind, text: &str| kind.read_plate(text).unwrap();
        let said = |text: &str| another_unit(torque, &unit(torque, "N·m"), text);
        assert_eq!(said("friction, mN·m").as_deref(), Some("mN·m"));
        assert_eq!(said("friction (mN·m), least").as_deref(), Some("mN·m"));
        assert_eq!(said("friction, N·m, least"), None);
        assert_eq!(said("friction at 20 °C, in the bearings"), None);
        let speed = crate::unit::kind("speed of rotation").unwrap();
        let said = |text: &str| another_unit(speed, &unit(speed, "r/min"), text);
        assert_eq!(said("turns per second").as_deref(), Some("per s"));
        assert_eq!(said("turns per minute"), None);
        assert_eq!(said("speed rad/s").as_deref(), Some("rad/s"));
    }
}
