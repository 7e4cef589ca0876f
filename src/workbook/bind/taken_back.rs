//! Words by which an owner takes a value back, or leaves it open: `old value`, `TBC`, `now 0.5`.

use crate::diagnostic::{Diagnostic, Name, Place};

/// Words by which an owner takes a value back; common practice, no source.
const TAKEN_BACK: &[&str] = &[
    "wrong", "incorrect", "obsolete", "outdated", "superseded", "replaced by", "not valid",
    "invalid", "do not use", "not to be used", "old value", "no longer", "to be corrected",
    "use instead", "not correct", "not right", "typo", "not applicable", "to be measured",
    "to be confirmed", "to be clarified", "to be checked", "preliminary", "provisional",
    "placeholder", "guess", "guessed", "not measured", "not yet measured", "dummy", "estimated",
    "estimate", "not released", "not yet released", "discontinued", "assumed", "assumption",
    "to be verified", "unverified", "not verified", "not checked", "unchecked", "unconfirmed",
    "not confirmed", "doubtful", "questionable", "not for this machine", "of another machine",
    "not included", "not yet included", "to be added", "still missing", "is missing",
    "sign reversed", "seems", "don t use", "dont use", "withdrawn", "cancelled", "canceled",
    "rejected", "scrapped", "on hold", "deleted", "not in use", "out of date", "not counted",
    "not yet counted", "do not build",
];

/// Those of them that withdraw all that stands below a title.
const WITHDRAWN: &[&str] = &[
    "obsolete", "outdated", "superseded", "replaced by", "not valid", "invalid", "do not use",
    "don t use", "not to be used", "old value", "old values", "old data", "old version",
    "no longer valid", "withdrawn", "cancelled", "canceled", "rejected", "scrapped",
    "discontinued", "out of date", "not in use", "void",
];

/// Whether a title withdraws what stands below it: `OLD`, `OLD - do not use`, `superseded by tab Rev C`.
pub(super) fn withdraws(text: &str) -> bool {
    let said = super::words::words(text);
    let old = said.first().is_some_and(|it| it == "old") && text.trim_start().starts_with("OLD");
    old || WITHDRAWN.iter().any(|it| super::words::speaks(&said, it))
}

/// Words by which a value is said to be wrong, at the end of what is said or before by how much, unless it is not so.
const TOO: &[&str] = &["high", "low", "large", "small", "long", "short", "much", "little", "big"];

/// Remarks that are nothing else and leave the value open; common practice, no source.
const OPEN: &[&str] = &[
    "?", "??", "???", "n/a", "n.a.", "tbd", "tbc", "tba", "tbv", "check", "check!", "please check",
    "to check", "recheck",
];

/// Whether a remark takes the value beside it back: `wrong, use 0.5`, `old value`, `now 0.5`.
pub(in crate::workbook) fn takes_back(text: &str) -> bool {
    // every text of every row of a product line comes by here
    let text = text.trim();
    let mut words = text.split(|it: char| !it.is_alphanumeric()).filter(|it| !it.is_empty());
    let mut spoken = false;
    while !spoken {
        let here = words.clone();
        let Some(first) = words.next() else { break };
        let begins = |phrase: &&&str| {
            let letters = first.as_bytes().first().zip(phrase.as_bytes().first());
            letters.is_some_and(|(one, other)| one.eq_ignore_ascii_case(other))
        };
        spoken = TAKEN_BACK.iter().filter(begins).any(|phrase| {
            let mut rest = here.clone();
            let mut same = phrase.split(' ').map(|it| (it, rest.next()));
            same.all(|(it, word)| word.is_some_and(|word| word.eq_ignore_ascii_case(it)))
        });
    }
    let digit = |it: char| it.is_ascii_digit();
    let is = |word: &str, all: &[&str]| all.iter().any(|it| it.eq_ignore_ascii_case(word));
    let now = || {
        let mut two = text.split_whitespace().zip(text.split_whitespace().skip(1));
        two.any(|(word, number)| number.starts_with(digit) && is(word, &["now", "use", "be"]))
    };
    // `1450 or 1500?`
    let asks = || text.ends_with('?') && text.contains(digit);
    spoken || is(text, OPEN) || asks() || now() || is_too_much(text)
}

/// Whether words say that the value is too high or too low.
fn is_too_much(text: &str) -> bool {
    if !text.contains("too ") {
        return false;
    }
    let words = super::words::words(text);
    let at = words.iter().position(|it| it == "too");
    at.is_some_and(|at| {
        let not = at
            .checked_sub(1)
            .and_then(|at| words.get(at))
            .is_some_and(|it| matches!(it.as_str(), "not" | "never" | "if" | "when"));
        let much = words.get(at + 1).is_some_and(|it| TOO.contains(&it.as_str()));
        !not && much && words.get(at + 2).is_none_or(|it| it == "by")
    })
}

pub(super) fn remark_beside(name: &str, text: &str) -> String {
    format!("{name} is used, and the remark \"{}\" stands beside it", text.trim())
}

pub(super) const BACK: &str = "make sure that what is used counts, and take the remark out";

/// What is said of a remark that takes a value back.
pub(in crate::workbook) fn taken_back(name: &str, text: &str, place: Place) -> Diagnostic {
    let caution = Diagnostic::caution(Name::TwoStatements, remark_beside(name, text)).at(place);
    caution.remedy(BACK)
}

/// What is said of a name that is struck through.
pub(in crate::workbook) fn name_struck(what: &str, name: &str, place: Place) -> Diagnostic {
    let words = format!("{what} is used, and its name \"{}\" is struck through", name.trim());
    let caution = Diagnostic::caution(Name::TwoStatements, words).at(place);
    caution
        .remedy("if it counts, take the line off its name; if not, take its row out of the table")
}
