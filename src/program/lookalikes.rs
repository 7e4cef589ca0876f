//! Names that look the same and are not.

use std::collections::BTreeMap;

use super::compile::{Compiler, line_of};
use crate::diagnostic::{Diagnostic, Name, Place};
use crate::language;

impl Compiler<'_> {
    /// Names that look the same and are not.
    pub(super) fn lookalikes(&mut self, words: &[(&language::Word, Place)]) {
        let mut first: BTreeMap<String, &(&language::Word, Place)> = BTreeMap::new();
        for both @ (word, place) in words {
            let (before, earlier) = first.entry(looks_like(&word.value)).or_insert(both);
            let pairs = word.value.chars().zip(before.value.chars()).filter(|(a, b)| a != b);
            let strange: Vec<String> = pairs
                .flat_map(|(a, b)| [a, b])
                .map(|letter| format!("{letter} (U+{:04X})", u32::from(letter)))
                .collect();
            if before.value == word.value {
                continue;
            }
            let line = line_of(earlier);
            self.problems.push(
                Diagnostic::error(
                    Name::LooksAlike,
                    format!("`{}` looks like `{}` of line {line}, and is another name", word.value, before.value),
                )
                .at(place.clone())
                .remedy(format!(
                    "write both with the same letters, or give one another name; the letters that look like others: {}",
                    strange.join(", ")
                )),
            );
        }
    }
}

/// A name with each letter put for the one that it looks like: Cyrillic, Greek and compatibility letters, and O for 0.
///
/// # Source
/// Unicode Technical Standard 39, confusables; the letters that occur in names of formulas, from memory.
pub(crate) fn looks_like(name: &str) -> String {
    const STRANGE: &str =
        "аеорсхуіјѕһԁԛԝοιν0ℓϕϑϵϰϱςϖµ\u{2126}\u{212a}\u{212b}АВЕКМНОРСТХУІЈЅΑΒΕΖΗΙΚΜΝΟΡΤΥΧ";
    const PLAIN: &str = "aeopcxyijshdqwoivOlφθεκρσπμΩKÅABEKMHOPCTXYIJSABEZHIKMNOPTYX";
    let letter = |letter: char| {
        let mut pairs = STRANGE.chars().zip(PLAIN.chars());
        pairs.find(|(strange, _)| *strange == letter).map_or(letter, |(_, plain)| plain)
    };
    // I, l and 1 are one stroke as an index; at the beginning the trade knows a current from a length
    let index = |(at, letter): (usize, char)| match letter {
        'I' | '1' if at > 0 => 'l',
        letter => letter,
    };
    name.chars().map(letter).enumerate().map(index).collect()
}
