//! Finding a sheet by what a practitioner would call it.

use std::sync::LazyLock;

use super::{SHELVED, Shelved};
use crate::diagnostic::Source;
use crate::language::parse;

/// A sheet that was found.
#[derive(Clone, Debug, PartialEq)]
pub struct Match {
    /// The sheet.
    pub sheet: Shelved,
    /// Its title.
    pub title: String,
    /// How well it fits; more is better.
    pub score: f64,
}

/// Words of a question that say nothing about a sheet.
const EMPTY: &[&str] = &[
    "a", "an", "and", "are", "at", "be", "before", "by", "can", "do", "does", "far", "for", "from",
    "how", "i", "in", "is", "it", "its", "my", "must", "of", "on", "or", "s", "the", "to", "until",
    "what", "when", "which", "with",
];

/// Least likeness at which two words are taken for a slip of each other.
const LIKENESS: f64 = 0.8;

/// What of a sheet is searched, the weight of each.
struct Entry {
    sheet: Shelved,
    title: String,
    fields: Vec<(f64, Vec<String>)>,
}

static ENTRIES: LazyLock<Vec<Entry>> = LazyLock::new(|| SHELVED.iter().map(entry).collect());

fn entry(sheet: &Shelved) -> Entry {
    let (tree, _) = parse(&Source::new("", sheet.text));
    let title = tree.title.map(|title| title.value).unwrap_or_default();
    let texts = |all: &[crate::language::Word]| {
        all.iter().flat_map(|text| pieces(&text.value)).collect::<Vec<_>>()
    };
    let symbols = tree.takes.iter().map(|take| take.name.value.to_lowercase());
    let gives = tree.gives.iter().map(|give| give.name.value.to_lowercase());
    let notes = tree.takes.iter().flat_map(|take| pieces(&take.note));
    let fields = vec![
        (8.0, pieces(sheet.name)),
        (7.0, texts(&tree.words)),
        (5.0, pieces(&title)),
        (4.0, symbols.chain(gives).collect()),
        (3.0, texts(&tree.sources)),
        (1.0, notes.collect()),
    ];
    Entry { sheet: *sheet, title, fields }
}

/// The words of a text in small letters.
fn pieces(text: &str) -> Vec<String> {
    text.split(|sign: char| !(sign.is_alphanumeric() || sign == '_' || sign == '²'))
        .filter(|piece| !piece.is_empty())
        .map(str::to_lowercase)
        .collect()
}

/// How well a word of the question fits a word of the sheet, from 0 to 1.
fn likeness(asked: &str, found: &str) -> f64 {
    if asked == found {
        return 1.0;
    }
    let shorter = asked.chars().count().min(found.chars().count());
    if shorter >= 4 && (found.starts_with(asked) || asked.starts_with(found)) {
        return 0.9;
    }
    let number = |text: &str| text.chars().any(|sign| sign.is_ascii_digit());
    if shorter < 4 || number(asked) || number(found) {
        return 0.0;
    }
    let like = strsim::normalized_damerau_levenshtein(asked, found);
    if like >= LIKENESS { 0.7 * like } else { 0.0 }
}

/// The sheets of the library that answer a question, best first; slips of spelling are forgiven.
///
/// Names, search words, titles, symbols, sources and notes are looked through; a sheet that fits more words of
/// the question comes before one that fits fewer.
///
/// # Example
/// ```
/// use standstill::library::search;
///
/// assert_eq!(search("light curtian")[0].sheet.name, "separation-curtain");
/// assert!(search("zzzz").is_empty());
/// ```
#[must_use]
pub fn search(question: &str) -> Vec<Match> {
    let asked: Vec<String> =
        pieces(question).into_iter().filter(|word| !EMPTY.contains(&word.as_str())).collect();
    let mut found: Vec<(usize, Match)> = ENTRIES
        .iter()
        .filter_map(|entry| {
            let scores: Vec<f64> = asked
                .iter()
                .map(|word| {
                    let best = |(weight, all): &(f64, Vec<String>)| {
                        all.iter().map(|one| likeness(word, one)).fold(0.0, f64::max) * weight
                    };
                    entry.fields.iter().map(best).fold(0.0, f64::max)
                })
                .collect();
            let fits = scores.iter().filter(|score| **score > 0.0).count();
            let found = Match {
                sheet: entry.sheet,
                title: entry.title.clone(),
                score: scores.iter().sum(),
            };
            (fits > 0).then_some((fits, found))
        })
        .collect();
    found.sort_by(|a, b| {
        b.0.cmp(&a.0).then(b.1.score.total_cmp(&a.1.score)).then(a.1.sheet.name.cmp(b.1.sheet.name))
    });
    let most = found.first().map_or(0, |(fits, _)| *fits);
    found.into_iter().filter(|(fits, _)| *fits == most).map(|(_, found)| found).take(12).collect()
}
