//! A diameter and a radius among the words about a length: `Ø 124`, `124⌀`, `dia62`, `O.D.`, `R310`, `Durchmesser/2`.

use super::words::words;
use crate::unit::is_unit as is_unit_text;

/// Common practice, no source; each ends a word, as in `Außendurchmesser`, and figures may touch it: `dia62`.
pub(super) const DIAMETERS: &[&str] =
    &["diameter", "diameters", "dia", "diam", "ø", "od", "durchmesser", "durchm"];

pub(super) const RADII: &[&str] = &["radius", "radii", "halbmesser"];

pub(super) const HALF: &[&str] = &["half", "halb", "halbe", "halber", "halben"];

/// Signs of a diameter: that of ISO 129, and letters that people take for it.
pub(super) const OF_DIAMETER: &[char] = &['Ø', 'ø', '⌀', '∅'];

/// What words say that a length is measured as, besides what they are: `Ø124`, `124⌀`, `dia62`, `O.D.`,
/// `Aussendurchmesser`; a sign among letters is one of them.
pub(super) fn measures(text: &str) -> Vec<&'static str> {
    let alphabetic = |it: Option<char>| it.is_some_and(char::is_alphabetic);
    let sign = text.match_indices(OF_DIAMETER).any(|(at, sign)| {
        let (before, rest) = text.split_at_checked(at).unwrap_or_default();
        let after = rest.strip_prefix(sign).and_then(|it| it.chars().next());
        !alphabetic(before.chars().next_back()) && !alphabetic(after)
    });
    let lower = text.to_lowercase();
    let said = words(text);
    let ends = |all: &[&str]| {
        said.iter().map(|it| it.trim_matches(|it: char| it.is_ascii_digit())).any(|word| {
            let long = |it: &&str| it.len() > "diam".len() && word.ends_with(*it);
            all.contains(&word) || all.iter().any(long)
        })
    };
    let mut found = Vec::new();
    let outside = ["o.d", "o/d"];
    if sign
        || ends(DIAMETERS)
        || lower.split(' ').any(|it| outside.iter().any(|begin| it.starts_with(begin)))
    {
        found.push("diameter");
    }
    if ends(RADII) {
        found.push("radius");
    }
    found
}

/// As [`measures`], also by a symbol that stands alone: `D` of `D [mm]`, `r`.
pub(super) fn arm(text: &str) -> Vec<&'static str> {
    match super::label(text).name.split([',', ' ', '_']).next() {
        Some("D" | "d" | "Da" | "da") => vec!["diameter"],
        Some("R" | "r" | "Ra" | "ra") => vec!["radius"],
        _ => measures(text),
    }
}

/// The figures of what words say that a length is measured as: 180 of `disc Ø 180, 3 screws`, 5 of `groove radius 5 mm`.
pub(super) fn measured(text: &str) -> Vec<f64> {
    let parts = |it: char| it.is_whitespace() || "=:;()".contains(it);
    let all: Vec<&str> = text.split(parts).filter(|it| !it.is_empty()).collect();
    let is_measure = |at: usize| all.get(at).is_some_and(|it| !measures(it).is_empty());
    let figure = |word: &str| {
        let digits = word.trim_end_matches([',', '.']);
        let digits =
            digits.trim_matches(|it: char| it.is_alphabetic() || OF_DIAMETER.contains(&it));
        digits.replace(',', ".").parse::<f64>().ok()
    };
    let is_unit = |at: usize| all.get(at).is_some_and(|it| is_unit_text(it));
    // `radius of the sheave 100`
    let of_part = |at: usize| {
        (2..=PART).any(|back| {
            let begins = at.checked_sub(back).is_some_and(is_measure);
            begins
                && all.get(at + 1 - back).is_some_and(|it| OF.contains(&it.to_lowercase().as_str()))
        })
    };
    let found = all.iter().enumerate().filter(|(at, _)| {
        let before = at.checked_sub(1).is_some_and(is_measure);
        is_measure(*at)
            || before
            || of_part(*at)
            || is_measure(at + 1)
            || is_unit(at + 1) && is_measure(at + 2)
    });
    found.filter_map(|(_, word)| figure(word)).collect()
}

/// Words from a measure to its figure, with the part between: `radius of the sheave 100`.
const PART: usize = 4;

/// Words that join a measure to its part.
const OF: &[&str] = &["of", "der", "des", "vom", "von"];

/// Whether words halve what they name: `Durchmesser/2`.
pub(super) fn halves(text: &str) -> bool {
    let close: String = text.chars().filter(|it| !it.is_whitespace()).collect();
    close.ends_with("/2") || close.contains('½')
}

/// What the symbol before a quantity stands for, and the quantity: `D = 124`, `d 62`, `Da=62`, `R310`.
pub(super) fn symbol_of_length(text: &str) -> Option<(&'static str, &str)> {
    let end = text.find(|it: char| !it.is_alphabetic())?;
    let (symbol, rest) = text.split_at_checked(end)?;
    let rest = rest.trim_start_matches([' ', '=', ':', '_', '\u{a0}']);
    let what = match symbol {
        "D" | "d" | "Da" | "da" | "DA" => "diameter",
        "R" | "r" | "Ra" | "ra" => "radius",
        _ => return None,
    };
    rest.starts_with(|it: char| it.is_ascii_digit()).then_some((what, rest))
}

/// As [`symbol_of_length`], wherever the symbol stands among words, with what stands before it: `drum R 310 by drawing`.
pub(super) fn symbols_among(text: &str) -> impl Iterator<Item = (&str, &'static str, String)> {
    let starts = text.char_indices().map(|(at, _)| at).filter(|at| {
        text.get(..*at).is_some_and(|it| it.is_empty() || it.ends_with(char::is_whitespace))
    });
    starts.filter_map(|at| {
        let (before, rest) = text.split_at_checked(at)?;
        let (what, quantity) = symbol_of_length(rest)?;
        let mut words = quantity.split_whitespace();
        let number = words.next()?.trim_end_matches([',', ';', '.']);
        let unit = words.next().map(|it| it.trim_end_matches([',', ';', '.']));
        let unit = unit.filter(|it| is_unit_text(it));
        Some((before, what, unit.map_or_else(|| number.to_owned(), |it| format!("{number} {it}"))))
    })
}
