//! A flywheel effect in the place of an inertia: `GD²`, `PD²`, of which the inertia is a quarter.

use super::reckoned::{FLYWHEELS, flywheel_name};
use super::words::{denies, words};
use crate::program::Input;

/// Whether an input is an inertia, and not itself a flywheel effect.
pub(in crate::workbook) fn is_of_inertia(input: &Input) -> bool {
    input.kind.is_some_and(|kind| kind.name == "inertia")
        && ![&input.name, &input.note].into_iter().any(|own| is_flywheel(own))
}

/// Whether a text names a flywheel effect, converted or not.
pub(in crate::workbook) fn names_flywheel(text: &str) -> bool {
    let mut words = text.split(|it: char| it.is_whitespace() || "()[],;:/=".contains(it));
    words.any(|word| flywheel_name(word).is_some()) || is_flywheel(text)
}

/// Whether a text speaks of a flywheel effect that is not converted: `GD²`, `J (GD2)`, `PD^2 of the motor`, `not GD²/4`.
/// `WK²`, mass times the square of the radius of gyration, is the inertia itself, and so is `GD²/4`.
pub(in crate::workbook) fn is_flywheel(text: &str) -> bool {
    let lower = text.to_lowercase();
    let spoken = ["flywheel effect", "swing moment", "schwungmoment"];
    let parts = |it: char| it.is_whitespace() || "()[],;:/=".contains(it);
    let mut found = FLYWHEELS.iter().flat_map(|name| text.match_indices(name));
    let named = found.any(|(at, _)| {
        let (before, rest) = text.split_at_checked(at).unwrap_or_default();
        let Some(name) = flywheel_name(rest) else { return false };
        let rest = rest.get(name..).unwrap_or_default();
        let begins = before.chars().next_back().is_none_or(parts);
        let (of_it, last) = before.trim_end().rsplit_once(' ').unwrap_or(("", before.trim_end()));
        // `GD² / 4`, and `GD² 0.0936 kg·m² / 4`
        let over = rest.rsplit(['/', '÷', ':']).next().is_some_and(|under| {
            let four = under.trim_start().strip_prefix('4');
            let is_digit = |it: char| it.is_ascii_digit() || it == '.';
            under.len() < rest.len() && four.is_some_and(|it| !it.starts_with(is_digit))
        });
        let quarter = over || matches!(last, "1/4" | "¼" | "0.25");
        let not = last.eq_ignore_ascii_case("not");
        // `not GD²`; `not converted from GD²` is one
        let apart = of_it.is_empty() || of_it.ends_with([',', ';']);
        let converted = quarter && !not && !denies(text) || !quarter && not && apart;
        begins && !converted
    });
    let named = named || spoken.iter().any(|it| lower.contains(it)) || is_unit_of_effect(&lower);
    named && !is_converted(text)
}

/// Whether a text is the unit in which a flywheel effect is given where forces are in kgf, and nothing else.
fn is_unit_of_effect(lower: &str) -> bool {
    let bare = lower.strip_prefix("in ").unwrap_or(lower);
    let bare = bare
        .trim_end_matches(['!', '?', '.'])
        .replace([' ', '·', '-', '*', '[', ']', '(', ')', '^'], "");
    matches!(bare.as_str(), "kgfm²" | "kgfm2" | "kpm²" | "kpm2")
}

/// Whether words say that what they name was converted: `from GD², converted`, `a quarter of GD²`.
pub(super) fn is_converted(text: &str) -> bool {
    let said = words(text);
    let done = |word: &String| matches!(word.as_str(), "converted" | "quarter");
    said.iter().any(done) && !denies(text)
}

/// What is said of a flywheel effect in the place of an inertia.
pub(in crate::workbook) fn flywheel(text: &str, stands: &str) -> (String, String) {
    let open = match is_flywheel(text) {
        true => "; if the value is converted already, say so: `GD²/4`",
        false => "",
    };
    (
        format!("\"{text}\" stands {stands}, and a flywheel effect is four times the inertia"),
        format!(
            "write the inertia, a quarter of it, and take the flywheel effect out of the words{open}"
        ),
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_flywheel_effect_is_seen_among_words() {
        for text in ["GD²", "J (GD²)", "GD2 of the motor", "PD^2", "flywheel effect", "J/WD²"] {
            assert!(is_flywheel(text), "{text}");
        }
        for text in ["J", "GD", "drum PD", "flywheel", "MD20", "WK²", "WR2 of the plate"] {
            assert!(!is_flywheel(text), "{text}");
        }
    }
}
