//! Slips of the hand in names, units and numbers.

use super::Rng;

/// A name with one slip.
pub(super) fn name(rng: &mut Rng, name: &str) -> String {
    let mut signs: Vec<char> = name.chars().collect();
    let at = rng.below(signs.len());
    match rng.below(14) {
        0 if signs.len() > 1 => {
            signs.remove(at);
        }
        1 => signs.insert(at, signs[at]),
        2 if at + 1 < signs.len() => signs.swap(at, at + 1),
        3 => {
            let turned = if signs[at].is_lowercase() {
                signs[at].to_ascii_uppercase()
            } else {
                signs[at].to_ascii_lowercase()
            };
            signs[at] = turned;
        }
        4 => signs[at] = char::from(b'a' + u8::try_from(rng.below(26)).unwrap()),
        5 => return name.replace('0', "O"),
        6 => return name.replace('_', "-"),
        7 => return name.replace('_', " "),
        8 => return name.replace('_', ""),
        9 => return format!("{name}_"),
        10 => return name.to_uppercase(),
        11 => return name.to_lowercase(),
        12 => return format!("{name}1"),
        // Latin for Cyrillic: they look the same
        _ => return name.replace('e', "е").replace('T', "Т").replace('J', "Ј").replace('n', "ո"),
    }
    signs.into_iter().collect()
}

/// A number as a text, in the ways in which people type it.
pub(super) fn number(rng: &mut Rng, number: f64, unit: &str) -> String {
    let plain = number.to_string();
    let with_comma = plain.replace('.', ",");
    let grouped = |sign: &str| {
        let (whole, rest) = plain.split_once('.').unwrap_or((&plain, ""));
        let mut out = String::new();
        for (at, digit) in whole.chars().enumerate() {
            if at > 0 && (whole.len() - at).is_multiple_of(3) && digit.is_ascii_digit() {
                out.push_str(sign);
            }
            out.push(digit);
        }
        if rest.is_empty() { out } else { format!("{out}.{rest}") }
    };
    match rng.below(20) {
        0 => plain,
        1 => with_comma,
        2 => grouped(","),
        3 => grouped("."),
        4 => grouped(" "),
        5 => grouped("'"),
        6 => grouped("\u{202f}"),
        7 => format!("{plain} {unit}"),
        8 => format!("{plain}{unit}"),
        9 => format!("{number:e}"),
        10 => format!("~{plain}"),
        11 => format!("ca. {plain}"),
        12 => format!("{plain}-{plain}"),
        13 => format!("{plain}/2"),
        14 => format!("< {plain}"),
        15 => format!("+{plain}"),
        16 => format!("{with_comma} {unit}"),
        17 => format!("'{plain}"),
        18 => format!(" {plain} "),
        _ => format!("{} {unit}", grouped(",")),
    }
}

/// A unit with a slip, or written in another way.
pub(super) fn unit(rng: &mut Rng, unit: &str) -> String {
    let mut signs: Vec<char> = unit.chars().collect();
    if signs.is_empty() {
        return (*rng.pick(&["mm", "s", "N", "1", "-", "?"])).to_owned();
    }
    let at = rng.below(signs.len());
    match rng.below(12) {
        0 if signs.len() > 1 => {
            signs.remove(at);
        }
        1 => signs.insert(at, signs[at]),
        2 => return format!("[{unit}]"),
        3 => return format!("({unit})"),
        4 => return format!("in {unit}"),
        5 => return unit.replace('·', "*"),
        6 => return unit.replace('·', ""),
        7 => return unit.replace('²', "2"),
        8 => return unit.replace('/', "."),
        9 => return format!("{unit} (max)"),
        10 => return format!("{unit} "),
        _ => return unit.to_uppercase(),
    }
    signs.into_iter().collect()
}
