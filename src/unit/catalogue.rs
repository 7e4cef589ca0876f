//! The catalogue: every unit symbol with its exact factor, calculated from the table of definitions.

use std::collections::HashMap;
use std::sync::LazyLock;

use rust_decimal::Decimal;

use super::entries::{LINES, PREFIXES, UnitLine};
use super::{Dimension, Factor, notation};

/// A unit symbol.
///
/// A number x in it is `(x + zero) · factor` in coherent SI.
#[derive(Clone, Debug, PartialEq)]
pub struct Entry {
    /// Symbol as printed: `°C`, `Ω`, `lbf`.
    pub symbol: &'static str,
    /// Further spellings that read the same: `degC`, `Ohm`.
    pub spellings: &'static [&'static str],
    /// Name in words.
    pub name: &'static str,
    /// Exact definition: a number and a unit of lines above.
    pub definition: &'static str,
    /// Where the definition is laid down.
    pub source: &'static str,
    /// Dimension of the symbol by itself.
    pub dimension: Dimension,
    /// What one is in coherent SI.
    pub factor: Factor,
    /// Added before multiplying: 273.15 for °C, 459.67 for °F, else 0.
    pub zero: Decimal,
    /// A temperature on a scale.
    pub point: bool,
    /// Whether SI prefixes may stand before it.
    pub prefixes: bool,
}

/// Every unit symbol, without the prefixed ones.
///
/// # Example
/// ```
/// let pound = standstill::unit::catalogue().iter().find(|entry| entry.symbol == "lb").unwrap();
/// assert_eq!(pound.definition, "0.45359237 kg");
/// assert_eq!(pound.factor.as_f64(), 0.45359237);
/// ```
#[must_use]
pub fn catalogue() -> &'static [Entry] {
    static ALL: LazyLock<Vec<Entry>> = LazyLock::new(|| {
        let mut known: Vec<Entry> = Vec::with_capacity(LINES.len());
        for line in LINES {
            // a line that does not calculate is left out; a test sees to it that none is
            if let Some(entry) = compute(line, &known) {
                known.push(entry);
            }
        }
        known
    });
    &ALL
}

/// A symbol with its prefix worked in.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Atom {
    /// As printed.
    pub(super) symbol: String,
    /// The symbol without its prefix.
    pub(super) bare: &'static str,
    pub(super) dimension: Dimension,
    pub(super) factor: Factor,
    pub(super) zero: Decimal,
    pub(super) point: bool,
}

/// Looks a symbol up, with or without a prefix.
pub(super) fn atom(text: &str) -> Option<Atom> {
    static ALL: LazyLock<HashMap<&str, &Entry>> = LazyLock::new(|| {
        // the first of two that are spelt alike, as a search from the top would find it
        let spelt = |entry: &'static Entry| {
            std::iter::once(&entry.symbol).chain(entry.spellings).map(move |text| (*text, entry))
        };
        catalogue().iter().rev().flat_map(spelt).collect()
    });
    atom_by(text, |text| ALL.get(text).copied())
}

fn atom_by<'a>(text: &str, entry: impl Fn(&str) -> Option<&'a Entry>) -> Option<Atom> {
    if let Some(entry) = entry(text) {
        return Some(Atom {
            symbol: entry.symbol.to_owned(),
            bare: entry.symbol,
            dimension: entry.dimension,
            factor: entry.factor,
            zero: entry.zero,
            point: entry.point,
        });
    }
    for (prefix, ten) in PREFIXES {
        let spellings: &[&str] = if *prefix == "µ" { &["µ", "μ", "u"] } else { &[prefix] };
        for spelling in spellings {
            let Some(rest) = text.strip_prefix(spelling) else { continue };
            let Some(entry) = entry(rest).filter(|entry| entry.prefixes) else {
                continue;
            };
            return Some(Atom {
                symbol: format!("{prefix}{}", entry.symbol),
                bare: entry.symbol,
                dimension: entry.dimension,
                factor: entry.factor.times(Factor::decimal(1, *ten))?,
                zero: entry.zero,
                point: entry.point,
            });
        }
    }
    None
}

fn entry_among<'a>(text: &str, known: &'a [Entry]) -> Option<&'a Entry> {
    known.iter().find(|entry| entry.symbol == text || entry.spellings.contains(&text))
}

fn compute(line: &UnitLine, known: &[Entry]) -> Option<Entry> {
    let (number, unit) = line.is.split_once(' ').unwrap_or((line.is, ""));
    let mut factor = number_of(number)?;
    let mut dimension = Dimension::NONE;
    if let Some(base) = base(unit) {
        dimension = base;
    } else if !unit.is_empty() {
        for mention in notation::read(unit).ok()?.mentions()? {
            let name = unit.get(mention.span)?;
            // the definition of the gram speaks of the kilogram: the one base with a prefix
            let part = atom_by(name, |text| entry_among(text, known))?;
            factor = factor.times(part.factor.power(mention.power)?)?;
            dimension = dimension.times(part.dimension.power(mention.power, 1)?);
        }
    }
    let zero = match line.zero {
        None => Decimal::ZERO,
        Some(text) => text.parse().ok()?,
    };
    Some(Entry {
        symbol: line.symbol,
        spellings: line.spellings,
        name: line.name,
        definition: line.is,
        source: line.source,
        dimension,
        factor,
        zero,
        point: line.zero.is_some(),
        prefixes: line.prefixes,
    })
}

fn base(unit: &str) -> Option<Dimension> {
    Some(match unit {
        "m" => Dimension::of(1, 0, 0, 0, 0, 0),
        "kg" => Dimension::of(0, 1, 0, 0, 0, 0),
        "s" => Dimension::of(0, 0, 1, 0, 0, 0),
        "A" => Dimension::of(0, 0, 0, 1, 0, 0),
        "K" => Dimension::of(0, 0, 0, 0, 1, 0),
        "rad" => Dimension::ANGLE,
        _ => return None,
    })
}

/// `550`, `5/9`, `2·π`, `π/180`
fn number_of(text: &str) -> Option<Factor> {
    let (above, below) = text.split_once('/').unwrap_or((text, "1"));
    let mut factor = Factor::ONE;
    for part in above.split('·') {
        factor = factor.times(one_number(part)?)?;
    }
    factor.over(one_number(below)?)
}

fn one_number(text: &str) -> Option<Factor> {
    if text == "π" {
        return Some(Factor::pi(1));
    }
    let (whole, fraction) = text.split_once('.').unwrap_or((text, ""));
    let digits: u128 = format!("{whole}{fraction}").parse().ok()?;
    Some(Factor::decimal(digits, -i32::try_from(fraction.len()).ok()?))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_line_works_out() {
        let missing: Vec<&str> = LINES
            .iter()
            .map(|line| line.symbol)
            .filter(|symbol| !catalogue().iter().any(|entry| entry.symbol == *symbol))
            .collect();
        assert_eq!(missing, Vec::<&str>::new());
    }

    #[test]
    fn no_spelling_means_two_units() {
        for (at, entry) in catalogue().iter().enumerate() {
            for text in entry.spellings.iter().chain([&entry.symbol]) {
                for (other_at, other) in catalogue().iter().enumerate() {
                    let same = other.symbol == *text || other.spellings.contains(text);
                    assert!(at == other_at || !same, "{text}");
                }
            }
        }
    }

    // a prefixed symbol that reads as another unit first would change its meaning unseen
    #[test]
    fn the_prefixed_spellings_that_another_unit_takes_are_known() {
        let mut taken = Vec::new();
        for entry in catalogue().iter().filter(|entry| entry.prefixes) {
            for (prefix, _) in PREFIXES {
                let text = format!("{prefix}{}", entry.symbol);
                if catalogue().iter().any(|it| it.symbol == text || it.spellings.contains(&&*text))
                {
                    taken.push(text);
                }
            }
        }
        assert_eq!(taken, Vec::<String>::new());
    }

    // NIST SP 811, appendix B.8: 1 lbf = 4.448 221 615 260 5 N exactly
    #[test]
    fn pound_force_is_exact_to_the_last_digit() {
        let lbf = atom("lbf").unwrap();
        assert_eq!(lbf.factor, Factor::decimal(44_482_216_152_605, -13));
    }

    #[test]
    fn prefixes_stand_on_si_units_only() {
        for text in ["kN", "µm", "um", "\u{3bc}m", "mΩ", "kOhm", "mbar", "daN", "kcal_IT"] {
            assert!(atom(text).is_some(), "{text}");
        }
        for text in ["kin", "mft", "kmin", "m%", "khp", "m°C", "kdegC", "kt", "klbf", "mr"] {
            assert!(atom(text).is_none(), "{text}");
        }
    }
}
