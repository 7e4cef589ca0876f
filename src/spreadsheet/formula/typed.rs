//! Texts that a person takes for a number, for the place of one, or for the name of a total.

use super::catalogue::among;
use crate::unit::is_unit;

/// Words of a number that is not known yet; common practice, no source.
const OPEN: &str = "? open tbd tba tbc tbm unknown missing pending";

/// Whether a text reads as a number to a person, or stands in the place of one: `0,9`, `1 450`, `ca. 12`, `0.35 kg·m²`,
/// `?`, `TBD`.
pub(crate) fn is_number(text: &str) -> bool {
    let word = text.trim().trim_end_matches(['.', '!', '…']).to_lowercase();
    if among(OPEN, &word) || !word.is_empty() && word.chars().all(|it| it == '?') {
        return true;
    }
    let text = text.trim().trim_start_matches(['~', '≈', '<', '>', '=', '±']);
    let text = ["ca.", "approx.", "about"]
        .iter()
        .find_map(|it| text.strip_prefix(it))
        .unwrap_or(text)
        .trim_start();
    let in_number = |it: char| {
        it.is_ascii_digit()
            || matches!(
                it,
                '.' | ','
                    | '\''
                    | '’'
                    | '-'
                    | '−'
                    | '+'
                    | '/'
                    | ' '
                    | '\u{a0}'
                    | '\u{202f}'
                    | '\u{2009}'
            )
    };
    let end = text.find(|it| !in_number(it)).unwrap_or(text.len());
    let (number, rest) = text.split_at_checked(end).unwrap_or((text, ""));
    let (digit, rest) =
        (number.chars().any(|it| it.is_ascii_digit()), rest.trim().trim_end_matches('?'));
    let exponent = rest
        .strip_prefix(['e', 'E'])
        .is_some_and(|it| it.trim_start_matches(['-', '+']).parse::<u32>().is_ok());
    digit && (rest.is_empty() || exponent || is_unit(rest))
}

/// Words before totals that name no value and no variant.
pub(crate) const TOTAL_WORDS: &[&str] = &[
    "total", "totals", "grand total", "subtotal", "sum", "sums", "average", "avg", "mean", "count",
    "∑", "σ", "ø", "summe", "gesamt", "mittelwert", "durchschnitt", "somme", "moyenne", "suma",
    "media", "totale", "somma",
];

/// Whether a word stands before totals.
pub(super) fn is_total_word(word: &str) -> bool {
    TOTAL_WORDS.contains(&word)
}
