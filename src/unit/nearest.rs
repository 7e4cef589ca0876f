//! What was probably meant: spellings of the trade that are not units here, and slips of the keyboard.

use std::sync::LazyLock;

use super::catalogue::{atom, catalogue};
use super::kinds::KINDS;
use super::notation::is_product;

/// Spellings that people type, and the unit they stand for. Refused, with this as the remedy.
#[rustfmt::skip]
const SPELLINGS: &[(&str, &str)] = &[
    // rotation
    ("u/min", "r/min"), ("1/min", "r/min"), ("min-1", "r/min"), ("min^-1", "r/min"), ("rps", "r/s"),
    ("rev/min", "r/min"), ("tr/min", "r/min"), ("tr/mn", "r/min"), ("turns", "r"), ("turn", "r"), ("revs", "r"),
    ("rpm/s", "(r/min)/s"), ("v/krpm", "mV/(r/min)"), ("degrees", "°"), ("degree", "°"),
    // torque, energy
    ("nm", "N·m"), ("knm", "kN·m"), ("mnm", "mN·m"), ("ncm", "N·cm"), ("nmm", "N·mm"),
    ("lb-ft", "lbf·ft"), ("lbft", "lbf·ft"), ("lb.ft", "lbf·ft"), ("lbf-ft", "lbf·ft"), ("lb·ft", "lbf·ft"),
    ("lb*ft", "lbf·ft"), ("lb-in", "lbf·in"), ("lbin", "lbf·in"), ("lb·in", "lbf·in"), ("lb*in", "lbf·in"),
    ("oz-in", "ozf·in"), ("ozin", "ozf·in"), ("oz·in", "ozf·in"), ("oz*in", "ozf·in"), ("kgcm", "kgf·cm"), ("kg·m", "kgf·m"), ("kg*m", "kgf·m"), ("kg.m", "kgf·m"), ("kg-m", "kgf·m"),
    ("newton meter", "N·m"), ("newton metre", "N·m"),
    ("kg·cm", "kgf·cm"), ("kg-cm", "kgf·cm"), ("kgm", "kgf·m"), ("ft-lb", "ft·lbf"), ("ft-lbs", "ft·lbf"),
    ("ftlb", "ft·lbf"), ("ft-lbf", "ft·lbf"), ("ft·lb", "ft·lbf"), ("in-lb", "in·lbf"), ("in-lbs", "in·lbf"),
    ("inlb", "in·lbf"), ("in·lb", "in·lbf"), ("kwh", "kW·h"), ("wh", "W·h"), ("ws", "W·s"), ("kws", "kW·s"),
    ("kg/cm²", "kgf/cm²"), ("kg/cm2", "kgf/cm²"), ("kg/cm^2", "kgf/cm²"),
    // inertia
    ("wk2", "lb·ft²"), ("wk²", "lb·ft²"), ("wr²", "lb·ft²"), ("gd2", "kgf·m²"), ("gd²", "kgf·m²"),
    // length, mass, time, speed
    ("meter", "m"), ("metre", "m"), ("millimeter", "mm"), ("millimetre", "mm"), ("milimeter", "mm"),
    ("centimeter", "cm"), ("centimetre", "cm"), ("kilometer", "km"), ("kilometre", "km"), ("milliseconds", "ms"), ("sek", "s"), ("mtr", "m"), ("micron", "µm"), ("inch", "in"), ("inches", "in"),
    ("\"", "in"), ("feet", "ft"), ("foot", "ft"), ("'", "ft"), ("sec", "s"), ("secs", "s"), ("second", "s"),
    ("seconds", "s"), ("msec", "ms"), ("minutes", "min"), ("mins", "min"), ("hr", "h"), ("hrs", "h"),
    ("hour", "h"), ("hours", "h"), ("days", "d"), ("lbs", "lb"), ("pound", "lb"), ("kilogram", "kg"),
    ("kgs", "kg"), ("to", "t"), ("kph", "km/h"), ("kmh", "km/h"), ("kmph", "km/h"), ("fpm", "ft/min"), ("fps", "ft/s"),
    ("ipm", "in/min"), ("ips", "in/s"), ("mps", "m/s"), ("mpm", "m/min"), ("g", "g_n"), ("per hour", "1/h"), ("per minute", "1/min"),
    ("per second", "1/s"), ("spm", "1/min"), ("cpm", "1/min"), ("g0", "g_n"), ("cc", "cm³"), ("sqm", "m²"),
    // the rest
    ("ps", "hp_M"), ("cv", "hp_M"), ("bhp", "hp"), ("horsepower", "hp"), ("newton", "N"), ("watt", "W"),
    ("volt", "V"), ("volts", "V"), ("amp", "A"), ("amps", "A"), ("ah", "A·h"), ("mah", "mA·h"), ("va", "V·A"),
    ("vdc", "V"), ("vac", "V"), ("ω", "Ω"), ("lb/in²", "lbf/in²"), ("lb/in^2", "lbf/in²"), ("psig", "psi"),
    ("c", "°C"), ("f", "°F"), ("ºc", "°C"), ("deg c", "°C"), ("° c", "°C"), ("deg f", "°F"), ("° f", "°F"), ("℃", "°C"), ("celsius", "°C"), ("kelvin", "K"), ("°k", "K"),
    ("pct", "%"), ("percent", "%"), ("cps", "Hz"), ("btu/hr", "Btu/h"), ("kcal", "kcal_IT"), ("cal", "cal_IT"),
];

/// What no unit is alone: with the kind that is asked for, and what to do. Masses: NIST SP 811, B.8 (from memory).
#[rustfmt::skip]
const ASKED: &[(&[&str], &str, &str)] = &[
    (&["spm", "strokes/min"], "speed of rotation", "write `r/min` where each stroke is one turn"),
    (&["ton", "tons"], "mass", "write `t` where a ton is 1000 kg; a short ton is 2000 lb, a long ton 2240 lb"),
    (&["cwt"], "mass", "write the mass in `lb` or `kg`: a hundredweight is 112 lb, in America 100 lb"),
];

/// What to do about a text that is no unit of a kind, where only its writer knows what it is.
pub(super) fn asked(text: &str, kind: &str) -> Option<&'static str> {
    let lower = text.to_lowercase();
    let mut all = ASKED.iter().filter(|(_, of, _)| *of == kind);
    all.find(|(typed, ..)| typed.contains(&lower.as_str())).map(|it| it.2)
}

/// A unit that may have been meant.
pub(super) struct Near {
    pub(super) unit: String,
    /// Another spelling of the same; else only a few slips away.
    pub(super) certain: bool,
    /// What is written is a thousand of it.
    pub(super) thousand: bool,
}

impl Near {
    /// How to put it right, with what it is a unit of; a mere likeness is asked.
    pub(super) fn remedy(&self, of: &str) -> String {
        let unit = &self.unit;
        match (self.thousand, self.certain) {
            (true, _) => format!("write `{unit}`, and a thousand times the number{of}"),
            (_, true) => format!("write `{unit}`{of}"),
            _ => format!("did you mean `{unit}`{of}?"),
        }
    }
}

/// Units that may have been meant, the best first, at most three; `fits` says which are of use.
pub(super) fn units_near(text: &str, fits: impl Fn(&str) -> bool) -> Vec<Near> {
    let mut found: Vec<Near> = Vec::new();
    if text.chars().count() > 40 {
        return found;
    }
    let mut offer = |unit: &str, certain: bool, thousand: bool| {
        if thousand && found.iter().any(|near| !near.thousand) {
            return;
        }
        let new = unit != text && !found.iter().any(|near| near.unit == unit);
        if found.len() < 3 && new && fits(unit) {
            found.push(Near { unit: unit.to_owned(), certain, thousand });
        }
    };
    let lower = text.to_lowercase();
    for (_, unit) in SPELLINGS.iter().filter(|(typed, _)| *typed == lower) {
        offer(unit, true, false);
    }
    for entry in catalogue().iter().filter(|entry| entry.name == lower) {
        offer(entry.symbol, true, false);
    }
    if let Some(mended) = mended(text) {
        offer(&mended, true, false);
    }
    for known in known().iter().filter(|known| known.lower == lower) {
        offer(known.unit, true, false);
    }
    // a thousand before what takes no prefix: krpm, kr/min, kmin-1
    if let Some(rest) = lower.strip_prefix('k') {
        let spelled = SPELLINGS.iter().filter(|(typed, _)| *typed == rest).map(|(_, unit)| *unit);
        let same = known().iter().filter(|known| known.lower == rest).map(|known| known.unit);
        for unit in spelled.chain(same) {
            offer(unit, true, true);
        }
    }
    for unit in nearest(text, known().iter().map(|known| known.unit)) {
        // a symbol that is known is none that was mistyped: `gf·cm·s²` is not `kgf·m·s²`
        if !keeps_symbols(text, unit) {
            continue;
        }
        offer(unit, false, false);
    }
    found
}

/// Whether a unit of as many symbols has every known symbol of a product in its place.
fn keeps_symbols(text: &str, unit: &str) -> bool {
    let parts = |text: &str| -> Vec<String> {
        let cut = |it: char| is_product(it) || "/()".contains(it);
        text.split(cut).filter(|part| !part.is_empty()).map(str::to_owned).collect()
    };
    let (typed, known) = (parts(text), parts(unit));
    let bare = |part: &str| part.trim_end_matches(|it| "²³23^⁻-".contains(it)).to_owned();
    typed.len() < 2
        || typed.len() != known.len()
        || typed.iter().zip(&known).all(|(one, other)| {
            let (one, other) = (bare(one), bare(other));
            one == other || atom(&one).is_none()
        })
}

/// A unit that may be offered.
struct Offered {
    unit: &'static str,
    lower: String,
}

/// The units that kinds offer, then all symbols, then their further spellings.
fn known() -> &'static [Offered] {
    static ALL: LazyLock<Vec<Offered>> = LazyLock::new(|| {
        let mut all: Vec<Offered> = Vec::new();
        let offered = KINDS.iter().flat_map(|kind| kind.units.iter().copied());
        let symbols = catalogue().iter().map(|entry| entry.symbol);
        let spelled = catalogue().iter().flat_map(|entry| entry.spellings.iter().copied());
        for unit in offered.chain(symbols).chain(spelled) {
            if !all.iter().any(|known| known.unit == unit) {
                all.push(Offered { unit, lower: unit.to_lowercase() });
            }
        }
        all
    });
    &ALL
}

/// The text with each symbol that is not known mended: `Nm` to N·m, `lb-ft2` to lb·ft², `KG` to kg.
fn mended(text: &str) -> Option<String> {
    let mut result = String::new();
    let mut rest = text;
    while !rest.is_empty() {
        let end = rest.find(|it| is_product(it) || "/()^⁻⁰¹²³⁴⁵⁶⁷⁸⁹".contains(it));
        let (symbol, others) = rest.split_at(end.unwrap_or(rest.len()));
        if !symbol.is_empty() {
            let mended = mended_symbol(symbol)?;
            // J/kgK is J/(kg·K)
            if result.ends_with('/') && mended.contains('·') {
                result.push_str(&format!("({mended})"));
            } else {
                result.push_str(&mended);
            }
        }
        let sign = others.chars().next();
        result.extend(sign);
        rest = others.get(sign.map_or(0, char::len_utf8)..).unwrap_or_default();
        if sign == Some('^') {
            let digits =
                rest.find(|it: char| !it.is_ascii_digit() && it != '-').unwrap_or(rest.len());
            let (power, others) = rest.split_at(digits);
            result.push_str(power);
            rest = others;
        }
    }
    Some(result)
}

fn mended_symbol(symbol: &str) -> Option<String> {
    if atom(symbol).is_some() || symbol == "1" {
        return Some(symbol.to_owned());
    }
    let base = symbol.trim_end_matches(['2', '3']);
    let power = match symbol.get(base.len()..)? {
        "" => "",
        "2" => "²",
        "3" => "³",
        _ => return None,
    };
    if atom(base).is_some() {
        return Some(format!("{base}{power}"));
    }
    let parts: Vec<&str> = base.split(['-', '.']).filter(|part| !part.is_empty()).collect();
    if parts.len() > 1 {
        let parts: Option<Vec<String>> = parts.into_iter().map(mended_symbol).collect();
        return Some(format!("{}{power}", parts?.join("·")));
    }
    if let Some(same) = same_but_for_case(base) {
        return Some(format!("{same}{power}"));
    }
    // two symbols run together; the split whose second half is the plainer unit reads best
    let splits = base.char_indices().skip(1).filter_map(|(at, _)| {
        let (left, right) = base.split_at(at);
        let (first, second) = (atom(left)?, atom(right)?);
        Some((
            first.bare.len().abs_diff(left.len()) * 2 + second.bare.len().abs_diff(right.len()),
            left,
            right,
        ))
    });
    splits.min().map(|(_, left, right)| format!("{left}·{right}{power}"))
}

fn same_but_for_case(symbol: &str) -> Option<String> {
    let lower = symbol.to_lowercase();
    let micro = lower.strip_prefix('u').map(|rest| format!("µ{rest}")).unwrap_or_default();
    known()
        .iter()
        .find(|known| known.lower == lower || known.lower == micro)
        .map(|known| known.unit.to_owned())
}

/// Those that are a slip of the keyboard away, the nearest first.
pub(super) fn nearest<'a>(text: &str, among: impl Iterator<Item = &'a str>) -> Vec<&'a str> {
    let mut near: Vec<(usize, usize, &str)> = among
        .enumerate()
        .filter_map(|(at, word)| Some((likeness(text, word)?, at, word)))
        .collect();
    near.sort_unstable();
    near.into_iter().map(|(_, _, word)| word).collect()
}

/// How many slips lie between two words that may be one: of every three letters of the shorter word one may be wrong,
/// and of two letters none is another.
pub(crate) fn likeness(a: &str, b: &str) -> Option<usize> {
    let (first, second) = (a.chars().count(), b.chars().count());
    let shorter = first.min(second);
    let allowed = (shorter / 3).clamp(1, 3);
    if first.abs_diff(second) > allowed {
        return None;
    }
    let slips = slips(a, b);
    let another_letter = shorter < 3 && first == second && {
        let sorted = |word: &str| {
            let mut letters: Vec<char> = word.chars().collect();
            letters.sort_unstable();
            letters
        };
        sorted(a) != sorted(b)
    };
    (slips <= allowed && slips < second && !another_letter).then_some(slips)
}

/// Slips between two words: a letter too much, too few, another one, or two neighbours changed over.
pub(crate) fn slips(a: &str, b: &str) -> usize {
    let b: Vec<char> = b.chars().collect();
    let start: Vec<usize> = (0..=b.len()).collect();
    let mut above: Vec<usize> = Vec::new();
    let mut row = start;
    let mut letter_above = None;
    for (line, letter) in a.chars().enumerate() {
        let mut next = vec![line + 1];
        for (at, other) in b.iter().enumerate() {
            let part = |row: &[usize], at: usize| row.get(at).copied().unwrap_or(usize::MAX / 2);
            let swapped = at > 0 && letter_above == Some(*other) && b.get(at - 1) == Some(&letter);
            let best = (part(&row, at) + usize::from(letter != *other))
                .min(part(&row, at + 1) + 1)
                .min(part(&next, at) + 1);
            let best = if swapped { best.min(part(&above, at - 1) + 1) } else { best };
            next.push(best);
        }
        above = std::mem::replace(&mut row, next);
        letter_above = Some(letter);
    }
    row.last().copied().unwrap_or(0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn slips_count_letters_and_swaps() {
        for (a, b, count) in [
            ("", "", 0),
            ("m", "", 1),
            ("rmp", "rpm", 1),
            ("torqe", "torque", 1),
            ("kW", "Wk", 1),
            ("abc", "xyz", 3),
        ] {
            assert_eq!(slips(a, b), count, "{a} {b}");
            assert_eq!(slips(b, a), count, "{b} {a}");
        }
    }

    #[test]
    fn run_together_symbols_are_mended() {
        for (typed, meant) in [
            ("Nm", "N·m"),
            ("kNm", "kN·m"),
            ("Nmm", "N·mm"),
            ("kgm²", "kg·m²"),
            ("kgm2", "kg·m²"),
            ("kg.m2", "kg·m²"),
            ("lb-ft2", "lb·ft²"),
            ("kWh", "kW·h"),
            ("m2", "m²"),
            ("KG", "kg"),
            ("Nm/rad", "N·m/rad"),
            ("J/kgK", "J/(kg·K)"),
            ("uf", "µF"),
            ("J/(KG*K)", "J/(kg*K)"),
        ] {
            assert_eq!(mended(typed).as_deref(), Some(meant), "{typed}");
        }
    }
}
