//! The words of a remark, and whether they say that a factor or a share is in the value already or still to be put in.

use super::reckoned::flywheel_name;

/// In lower case.
pub(in crate::workbook) fn words(text: &str) -> Vec<String> {
    let words = text.split(|it: char| !it.is_alphanumeric()).filter(|it| !it.is_empty());
    words.map(str::to_lowercase).collect()
}

/// Whether words hold a phrase.
pub(super) fn speaks(words: &[String], phrase: &str) -> bool {
    let count = phrase.split(' ').count();
    words.windows(count).any(|it| it.iter().map(String::as_str).eq(phrase.split(' ')))
}

/// Words that say that a factor is in the value; common practice, no source.
pub(super) const WITHIN: &[&str] = &[
    "incl", "included", "including", "already", "applied", "done", "inkl", "eingerechnet",
    "enthalten", "bereits",
];

/// Words of a share that is taken off, besides [`WITHIN`]; common practice, no source.
const TAKEN: &[&str] = &[
    "taken", "deducted", "subtracted", "considered", "abgezogen", "berücksichtigt", "einzurechnen",
    "rein", "derated", "derating",
];

/// Words that leave open what such words say; common practice, no source.
const STILL: &[&str] = &[
    "not", "never", "yet", "still", "to be", "to do", "has to", "have to", "needs", "must",
    "shall", "should", "when", "if", "once", "isn t", "hasn t", "without", "noch", "nicht", "muss",
    "ohne", "wenn", "falls", "einzurechnen", "will", "wird", "would", "unless", "open", "offen",
    "pending",
];

/// A clause of a text, and its words.
pub(super) struct Clause<'a> {
    pub(super) text: &'a str,
    pub(super) words: Vec<String>,
}

/// The clauses of a text.
pub(super) fn clauses(text: &str) -> impl Iterator<Item = Clause<'_>> {
    let parts = text.split([';', '(', ')', '\n']).flat_map(|it| it.split(", "));
    parts.map(|text| Clause { text, words: words(text) })
}

/// The clauses that say whether something is done; `not to be applied again` says that it is applied.
fn first_clauses(text: &str) -> impl Iterator<Item = Clause<'_>> {
    let again = |words: &[String]| {
        ["again", "twice", "nochmals", "zweimal"].iter().any(|it| speaks(words, it))
    };
    clauses(text).filter(move |it| !again(&it.words))
}

/// Whether words say of something that it is made, by one of `done`, and nothing leaves that open: `× 0.8 incl.`, and not
/// `× 0.8 must be done`.
pub(super) fn is_made(text: &str, done: &[&str]) -> bool {
    let says = |words: &[String]| words.iter().any(|it| done.contains(&it.as_str()));
    // every remark comes by here
    if !says(&words(text)) {
        return false;
    }
    let mut all = first_clauses(text);
    !text.contains('?')
        && all.all(|it| !(denies_words(&it.words) || says(&it.words) && is_open(&it.words)))
}

/// Whether words leave open what they say.
pub(super) fn is_open(words: &[String]) -> bool {
    STILL.iter().any(|it| speaks(words, it))
}

/// Whether words say of a share that it is not taken off yet: `−20 % not yet taken`.
pub(super) fn is_open_share(text: &str) -> bool {
    let digit = |it: char| it.is_ascii_digit();
    let done = |it: &String| [WITHIN, TAKEN].iter().any(|all| all.contains(&it.as_str()));
    text.contains('%')
        && text.contains(digit)
        && (first_clauses(text)
            .any(|it| it.words.iter().any(done) && (it.text.contains('?') || is_open(&it.words)))
            || is_share_alone(text))
}

/// Whether words are a share that is not taken off, and nothing else: `ohne −20 %`.
fn is_share_alone(text: &str) -> bool {
    let text = text.trim().to_lowercase();
    let Some((word, share)) = text.split_once(' ') else { return false };
    let signed = share.trim_start_matches(['-', '−', '–']);
    let number = signed.trim_end_matches('%').trim();
    let alone = signed.ends_with('%')
        && !number.is_empty()
        && number.chars().all(|it| it.is_ascii_digit() || matches!(it, '.' | ','));
    alone && matches!(word, "without" | "ohne") && signed.len() < share.len()
}

/// Whether words say of a share that it is in the value, or taken off: `−20 % is in`, `+10 % taken`.
pub(super) fn is_taken(text: &str) -> bool {
    let said = words(text);
    is_made(text, WITHIN)
        || is_made(text, TAKEN)
        || said.last().is_some_and(|it| it == "in") && !is_open(&said) && !text.contains('?')
}

/// Whether words say of something else than of a name alone that it is not so: `GD², not /4 yet`; in `GD²/4, not GD²` it is.
pub(super) fn denies(text: &str) -> bool {
    denies_words(&words(text))
}

fn denies_words(said: &[String]) -> bool {
    let open = ["to be", "yet", "without"].iter().any(|it| speaks(said, it));
    let not = said.iter().enumerate().filter(|(_, word)| *word == "not").any(|(at, _)| {
        let next = said.get(at + 1).map(String::as_str).unwrap_or_default();
        let name = flywheel_name(&next.to_uppercase()).is_some();
        !name || said.get(at + 2).is_some_and(|it| it == "4")
    });
    open || not
}

/// Numbers in words.
pub(super) const NUMBERS: &[(&str, f64)] = &[
    ("two", 2.0),
    ("three", 3.0),
    ("four", 4.0),
    ("five", 5.0),
    ("six", 6.0),
    ("ten", 10.0),
    ("zwei", 2.0),
    ("drei", 3.0),
    ("vier", 4.0),
    ("zehn", 10.0),
];

/// Headings of columns whose texts say nothing of a value; here and below common practice, no source.
const HEADINGS: &[&str] = &[
    "remark", "remarks", "note", "notes", "source", "sources", "comment", "comments", "bemerkung",
    "bemerkungen", "anmerkung", "anmerkungen", "quelle", "quellen", "notiz", "notizen",
    "kommentar",
];

/// Numbers in words besides [`NUMBERS`], and what makes another number of one.
const IN_WORDS: &[&str] = &[
    "half", "halves", "halved", "double", "doubled", "twice", "triple", "treble", "thrice", "both",
    "per", "each", "every", "third", "quarter", "times", "inverse", "inverted", "reciprocal",
    "halb", "halbe", "doppelt", "beide", "je", "pro", "mal", "kehrwert", "invers",
];

/// Words of leaving out, of taking in, and of denial.
pub(super) const LEAVING_OUT: &[&str] = &[
    "without", "excl", "excluding", "exclusive", "excluded", "except", "minus", "plus", "only",
    "not", "never", "incl", "including", "inclusive", "included", "ohne", "exkl", "außer", "nur",
    "nicht", "kein", "keine", "zzgl", "abzgl", "inkl",
];

/// Whether a heading says that what stands below it says nothing of a value.
pub(in crate::workbook) fn heads_remarks(text: &str) -> bool {
    HEADINGS.contains(&text.trim().trim_end_matches(':').to_lowercase().as_str())
}

/// Whether a text bears a figure, a number in words, or a word of leaving out.
pub(in crate::workbook) fn bears_figure(text: &str) -> bool {
    text.contains(|it: char| it.is_numeric())
        || words(text).iter().any(|it| is_number_word(it) || LEAVING_OUT.contains(&it.as_str()))
}

/// Whether words leave something out of a value, take it in, or deny it.
pub(in crate::workbook) fn leaves_out(text: &str) -> bool {
    words(text).iter().any(|it| LEAVING_OUT.contains(&it.as_str()))
}

/// Whether a word counts, or makes another number of one.
pub(super) fn is_number_word(word: &str) -> bool {
    IN_WORDS.contains(&word) || NUMBERS.iter().any(|it| it.0 == word)
}
