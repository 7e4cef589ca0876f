//! Finding a sheet by what a practitioner would call it.

use std::collections::BTreeMap;
use std::path::Path;
use std::sync::{Arc, LazyLock};

use serde_json::{Value, json};

use super::SHEETS;
use crate::diagnostic::Source;
use crate::language::parse;
use crate::unit::slips;

/// A sheet that was found.
#[derive(Clone, Debug, PartialEq)]
pub struct Match {
    /// What it is asked for by: its name, or the path of an own one.
    pub name: String,
    /// Its title.
    pub title: String,
    /// Step of the job; none for an own sheet.
    pub group: Option<&'static str>,
    /// How well it fits; more is better.
    pub score: f64,
    /// Part of the words of the question that it holds.
    pub share: f64,
}

/// Words of a question that say nothing about a sheet.
const EMPTY: &[&str] = &[
    "a", "after", "all", "an", "and", "any", "are", "at", "be", "before", "by", "calculate", "can",
    "do", "does", "far", "find", "for", "from", "get", "has", "have", "how", "i", "if", "in", "is",
    "it", "its", "long", "machine", "many", "may", "me", "much", "must", "my", "need", "needed",
    "no", "not", "of", "on", "or", "our", "s", "sheet", "should", "such", "that", "the", "there",
    "this", "to", "until", "use", "want", "we", "what", "when", "where", "which", "will", "with",
    "you",
];

/// Most sheets that answer one question.
const MOST: usize = 12;
/// Least part of the best score that still counts as an answer.
const LEAST: f64 = 0.4;
/// Likeness from which a word of a sheet counts when it is asked how common the word is.
const ALIKE: f64 = 0.75;

/// What of a sheet is searched, with the weight of each.
struct Entry {
    name: String,
    title: String,
    group: Option<&'static str>,
    /// Of each field its weight, and its words by their places in the list of all, each with how often it stands there.
    fields: Vec<(f64, BTreeMap<usize, u32>)>,
    /// Its search words and its name, as phrases.
    phrases: Vec<Vec<String>>,
}

/// Sheets, and every word of theirs once.
#[derive(Default)]
struct Index {
    words: BTreeMap<String, usize>,
    entries: Vec<Entry>,
}

static LIBRARY: LazyLock<Index> = LazyLock::new(|| {
    let mut index = Index::default();
    for sheet in SHEETS {
        index.add(sheet.name, Some(sheet.group), &Source::new("", sheet.text));
    }
    index
});

impl Index {
    fn add(&mut self, name: &str, group: Option<&'static str>, source: &Arc<Source>) {
        let (tree, _) = parse(source);
        let title = tree.title.map(|title| title.value).unwrap_or_default();
        let stem = Path::new(name).file_stem().unwrap_or_default().to_string_lossy();
        let texts = |all: &[crate::language::Word]| {
            all.iter().flat_map(|text| with_joined(pieces(&text.value))).collect::<Vec<_>>()
        };
        let phrases = tree.words.iter().flat_map(|text| text.value.split(','));
        let phrases = phrases.chain([&*stem]).map(|text| distinctive(pieces(text))).collect();
        let groups = tree.groups.iter().filter_map(|group| super::inputs(&group.name.value));
        let takes: Vec<_> = groups.flat_map(|it| parse(&it).0.takes).chain(tree.takes).collect();
        let symbols = takes.iter().map(|take| take.name.value.to_lowercase());
        let gives = tree.gives.iter().map(|give| give.name.value.to_lowercase());
        let notes = takes.iter().flat_map(|take| pieces(&take.note));
        let checks = tree.holds.iter().flat_map(|check| pieces(&check.text));
        let fields = [
            (8.0, with_joined(pieces(&stem))),
            (7.0, texts(&tree.words)),
            (5.0, with_joined(pieces(&title))),
            (4.0, symbols.chain(gives).collect()),
            (3.0, texts(&tree.sources)),
            (1.0, notes.chain(checks).collect()),
        ];
        let fields = fields.map(|(weight, words)| {
            let mut counted = BTreeMap::new();
            for word in words {
                let next = self.words.len();
                *counted.entry(*self.words.entry(word).or_insert(next)).or_insert(0) += 1;
            }
            (weight, counted)
        });
        self.entries.push(Entry {
            name: name.to_owned(),
            title,
            group,
            fields: fields.into(),
            phrases,
        });
    }

    /// How well each sheet fits a word: with the weight of where it is found, and by its likeness alone.
    fn fits(&self, asked: &str) -> Vec<(f64, f64)> {
        let likes: BTreeMap<usize, f64> = self
            .words
            .iter()
            .map(|(word, at)| (*at, likeness(asked, word)))
            .filter(|(_, like)| *like > 0.0)
            .collect();
        self.entries.iter().map(|entry| entry.fit(&likes)).collect()
    }
}

/// The words of a text in small letters.
fn pieces(text: &str) -> Vec<String> {
    text.split(|sign: char| !(sign.is_alphanumeric() || sign == '_' || sign == '²'))
        .filter(|piece| !piece.is_empty())
        .map(|piece| piece.to_lowercase().replace('²', "2"))
        .collect()
}

/// The words, and each with the next one written as one: `light curtain` is found by `lightcurtain` too.
fn with_joined(mut words: Vec<String>) -> Vec<String> {
    let joined: Vec<String> =
        words.iter().zip(words.iter().skip(1)).map(|(one, next)| format!("{one}{next}")).collect();
    words.extend(joined);
    words
}

/// The words that say something.
fn distinctive(mut words: Vec<String>) -> Vec<String> {
    words.retain(|word| !EMPTY.contains(&word.as_str()));
    words
}

/// How well a word of the question fits a word of the sheet, from 0 to 1.
fn likeness(asked: &str, found: &str) -> f64 {
    if asked == found {
        return 1.0;
    }
    let (long, short) = (asked.chars().count(), found.chars().count());
    let (long, short) = (long.max(short), long.min(short));
    if short < 4 {
        // a plural of a short word
        return if asked.trim_end_matches('s') == found { 0.9 } else { 0.0 };
    }
    // more may follow what was typed; what was typed may have an ending of its own
    let longer = asked.starts_with(found) && long - short <= 4;
    if found.starts_with(asked) || longer {
        return if long - short <= 3 { 0.95 } else { 0.85 };
    }
    let number = |text: &str| text.chars().any(|sign| sign.is_ascii_digit());
    if number(asked) || number(found) {
        return 0.0;
    }
    // coasting, coasted; winder, winding
    let same = asked.chars().zip(found.chars()).take_while(|(a, b)| a == b).count();
    if same >= 4 && long - same <= 3 {
        return 0.8;
    }
    let allowed = match short {
        0..=4 => return 0.0,
        5..=7 => 1,
        _ => 2,
    };
    if long - short <= allowed && slips(asked, found) <= allowed { 0.6 } else { 0.0 }
}

impl Entry {
    /// The best place counts in full, further ones and mentions again a little.
    fn fit(&self, likes: &BTreeMap<usize, f64>) -> (f64, f64) {
        let (mut most, mut all, mut alike) = (0.0_f64, 0.0, 0.0_f64);
        for (weight, words) in &self.fields {
            let here = likes.iter().filter_map(|(at, like)| Some((*like, *words.get(at)?)));
            let (best, count) = here
                .fold((0.0_f64, 0), |(best, count), (like, often)| (best.max(like), count + often));
            most = most.max(best * weight);
            all += best * weight * (1.0 + 0.1 * f64::from(count.min(5)));
            alike = alike.max(best);
        }
        (most + 0.1 * all, alike)
    }

    /// Words of the longest search phrase that the question holds from end to end.
    fn phrase(&self, asked: &[String]) -> usize {
        let held = |phrase: &&Vec<String>| {
            phrase.len() <= asked.len()
                && asked.windows(phrase.len().max(1)).any(|some| {
                    some.iter().zip(phrase.iter()).all(|(one, other)| likeness(one, other) >= ALIKE)
                })
        };
        self.phrases.iter().filter(held).map(Vec::len).max().unwrap_or(0)
    }
}

/// What a page needs to search some sheets as [`search`] does: each with its fields and phrases, and the rules.
#[must_use]
pub(crate) fn client_index<'a>(
    sheets: impl IntoIterator<Item = (&'a str, &'a Arc<Source>)>,
) -> Value {
    let mut index = Index::default();
    for (name, source) in sheets {
        index.add(name, None, source);
    }
    let entries = index.entries.iter().map(|entry| {
        let fields = entry.fields.iter().map(|(weight, words)| json!([weight, words]));
        json!({ "fields": fields.collect::<Vec<_>>(), "phrases": entry.phrases })
    });
    let mut words: Vec<(&String, &usize)> = index.words.iter().collect();
    words.sort_by_key(|(_, at)| **at);
    json!({
        "words": words.into_iter().map(|(word, _)| word).collect::<Vec<_>>(),
        "entries": entries.collect::<Vec<_>>(),
        "empty": EMPTY, "most": MOST, "least": LEAST, "alike": ALIKE,
    })
}

/// The sheets of the library that answer a question, best first; slips of spelling are forgiven.
///
/// Names, search words, titles, symbols, standards, notes and checks are looked through. A word that few sheets hold
/// counts for more than one that many do; a search phrase that the question holds as a whole counts most.
///
/// # Example
/// ```
/// use standstill::library::search;
///
/// assert_eq!(search("light curtian")[0].name, "separation-curtain");
/// assert!(search("zzzz").is_empty());
/// ```
#[must_use]
pub fn search(question: &str) -> Vec<Match> {
    search_with(question, &[])
}

/// The words of a question that no sheet knows, neither by themselves nor with a neighbour: what is not covered.
#[must_use]
pub fn unknown_words(question: &str, own: &[Arc<Source>]) -> Vec<String> {
    let mut further = Index::default();
    for source in own {
        further.add(&source.name, None, source);
    }
    let asked = distinctive(pieces(question));
    let known = |asked: &str| {
        let words = further.words.keys().chain(LIBRARY.words.keys());
        words.into_iter().any(|word| likeness(asked, word) > 0.0)
    };
    let with_next: Vec<bool> =
        asked.windows(2).map(|pair| known(&pair.concat())).chain([false]).collect();
    let unknown = asked.iter().enumerate().filter(|(at, word)| {
        let joined = |at: Option<usize>| at.and_then(|at| with_next.get(at)).is_some_and(|it| *it);
        !known(word) && !joined(Some(*at)) && !joined(at.checked_sub(1))
    });
    unknown.map(|(_, word)| word.clone()).collect()
}

/// The sheets of the library and further ones that answer a question, best first.
#[must_use]
pub fn search_with(question: &str, own: &[Arc<Source>]) -> Vec<Match> {
    let mut further = Index::default();
    for source in own {
        further.add(&source.name, None, source);
    }
    let entries: Vec<&Entry> = further.entries.iter().chain(&LIBRARY.entries).collect();
    let fits = |word: &str| [further.fits(word), LIBRARY.fits(word)].concat();
    let asked = distinctive(pieces(question));
    let count = entries.len() as f64;
    let mut scores = vec![(0.0, 0.0); entries.len()];
    for (at, word) in asked.iter().enumerate() {
        let next = asked.get(at + 1).map(|next| format!("{word}{next}"));
        let before = at.checked_sub(1).and_then(|at| asked.get(at));
        let before = before.map(|before| format!("{before}{word}"));
        let mut fits_word = fits(word);
        // `fly wheel` is meant by both of its halves together
        for joined in next.iter().chain(&before) {
            for (all, one) in fits_word.iter_mut().zip(fits(joined)) {
                if one.1 >= ALIKE {
                    *all = (all.0.max(one.0), all.1.max(one.1));
                }
            }
        }
        let fits = fits_word;
        let common = fits.iter().filter(|(_, like)| *like >= ALIKE).count().max(1) as f64;
        let rare = (count / common).sqrt();
        for (score, (fit, _)) in scores.iter_mut().zip(&fits) {
            score.0 += fit * rare;
            score.1 += f64::from(u8::from(*fit > 0.0)) / asked.len() as f64;
        }
    }
    let mut found: Vec<Match> = entries
        .iter()
        .zip(scores)
        .filter(|(_, (score, _))| *score > 0.0)
        .map(|(entry, (score, share))| Match {
            share,
            name: entry.name.clone(),
            title: entry.title.clone(),
            group: entry.group,
            score: score + 8.0 * entry.phrase(&asked) as f64,
        })
        .collect();
    found.sort_by(|a, b| b.score.total_cmp(&a.score).then(a.name.cmp(&b.name)));
    let least = found.first().map_or(0.0, |best| best.score * LEAST);
    found.into_iter().filter(|found| found.score >= least).take(MOST).collect()
}
