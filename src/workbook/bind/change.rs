//! Words that tell a person to change a value: `deduct 4 N·m`, `take 20 % off`, `÷ 1.25`, `half`. A change that is made, one
//! that comes to the value, and a share or an amount of something else are none.

use super::reckoned::{is_rounded, number};
use super::unit_words::{FEW, near, unit_said};
use super::words::{NUMBERS, WITHIN, clauses, is_open, speaks, words};
use crate::calculation::{has_tolerance, is_tolerance};
use crate::unit::{KINDS, Kind, Unit, is_unit};

/// Verbs in the form that asks for a change; here and below common practice, no source.
pub(super) const VERBS: &[&str] = &[
    "deduct", "subtract", "add", "take", "knock", "reduce", "lower", "decrease", "cut", "drop",
    "increase", "raise", "allow", "derate", "correct", "shorten", "lengthen", "apply", "scale",
    "abziehen", "abzuziehen", "addieren", "reduzieren", "mindern", "erhöhen", "zuschlagen",
    "aufschlagen", "hinzurechnen", "senken", "kürzen", "verlängern",
];

/// Words before the amount that is to be taken off or put on, with nothing but [`FILLING`] between.
pub(super) const SIGNS: &[&str] =
    &["less", "minus", "plus", "abzgl", "abzüglich", "zzgl", "zuzüglich", "weniger"];

/// Words before a share that alone is to count: `only 80 %`.
const OF_IT: &[&str] =
    &["take", "use", "count", "only", "just", "reckon", "calculate", "nur", "rechnen"];

/// Words before `by` and an amount by which a value is said to be wrong.
const WRONG_BY: &[&str] = &["off", "low", "high", "short", "long", "wrong", "out"];

/// Words behind such an amount.
const BEHIND: &[&str] = &[
    "off", "away", "less", "more", "extra", "lower", "higher", "shorter", "longer", "ab",
    "weniger", "mehr", "runter", "drauf", "dazu", "hinzu", "high", "low",
];

/// What such verbs say of a change that was made, unless the words leave it open.
pub(super) const MADE: &[&str] = &[
    "deducted", "subtracted", "added", "taken", "reduced", "lowered", "decreased", "cut",
    "increased", "raised", "derated", "corrected", "applied", "scaled", "considered", "abgezogen",
    "addiert", "reduziert", "gemindert", "erhöht", "zugeschlagen", "berücksichtigt",
];

/// Changes that are one word.
const ALONE: &[&str] = &[
    "half", "halb", "double", "doppelt", "twice", "halve", "halved", "doubled", "halbieren",
    "verdoppeln",
];

/// Fractions that an amount may be in words.
const FRACTIONS: &[&str] =
    &["half", "third", "quarter", "fifth", "tenth", "hälfte", "drittel", "viertel", "zehntel"];

/// Words that name a factor.
const FACTORS: &[&str] = &["factor", "faktor", "times", "mal", "durch", "too"];

/// Between a word of change and its amount.
const FILLING: &[&str] = &[
    "a", "an", "the", "about", "approx", "ca", "circa", "roughly", "another", "further", "extra",
    "some", "one", "by", "um", "etwa", "rund", "weitere", "nochmals", "noch", "at", "least",
    "mindestens",
];

/// Between an amount and its verb, or behind a change that is one word.
const LINKS: &[&str] = &[
    "to", "be", "of", "it", "this", "that", "the", "must", "should", "shall", "has", "have",
    "still", "noch", "muss", "müssen", "is", "are", "ist", "sind", "zu", "value", "figure",
    "please", "bitte", "here", "too", "needed", "required", "from",
];

/// What may follow a change and is no thing of which it is a share.
const REASONS: &[&str] = &[
    "for", "from", "due", "because", "as", "since", "when", "if", "at", "by", "here", "this", "it",
    "please", "per", "on", "in", "with", "and", "on", "für", "wegen", "bei", "von", "to", "after",
];

/// Words between a verb and an amount that is not its own.
const APART: &[&str] =
    &["than", "or", "every", "each", "until", "within", "after", "before", "when", "if", "at"];

/// Things of which a share is said as a condition, besides the names of kinds.
const THINGS: &[&str] = &[
    "volt", "volts", "voltage", "supply", "mains", "network", "line", "load", "loads", "loading",
    "duty", "ed", "cdf", "humidity", "rh", "rel", "relative", "slope", "gradient", "grade",
    "charge", "soc", "fill", "filling", "stroke", "opening", "spannung", "netz", "last", "feuchte",
    "steigung", "gefälle", "un", "u_n", "time", "speed", "current", "power",
];

/// Words between a share and its thing.
const QUALITIES: &[&str] = &["of", "the", "more", "less", "rated", "nominal", "higher", "lower"];

/// Words with which a change is refused, near before its verb.
pub(super) const REFUSALS: &[&str] =
    &["not", "never", "no", "nothing", "without", "nicht", "kein", "keine", "nichts"];

/// Words between a verb and its amount or the reverse.
const NEAR: usize = 5;

/// A value in coherent SI where it is known, and in what it is read.
#[derive(Clone, Copy)]
pub(super) struct Changed<'a> {
    pub(super) name: &'a str,
    pub(super) kind: &'static Kind,
    pub(super) unit: Option<&'a Unit>,
    pub(super) held: Option<f64>,
}

#[derive(Clone, Debug, PartialEq)]
pub(super) enum Part {
    /// In lower case.
    Word(String),
    Sign(char),
    /// In percent.
    Share(f64),
    /// Of the kind of the value, in coherent SI.
    Amount(f64),
    Number(f64),
    /// A quantity of something else.
    Other,
}

impl Part {
    pub(super) fn is_word(&self, all: &[&str]) -> bool {
        matches!(self, Self::Word(word) if all.contains(&word.as_str()))
    }

    fn is_amount(&self) -> bool {
        matches!(self, Self::Share(_) | Self::Amount(_)) || self.is_word(FRACTIONS)
    }
}

/// Whether words tell a person to change a value, and nothing says that it is done.
pub(super) fn is_open_change(text: &str, of: Changed<'_>) -> bool {
    let text = text.trim();
    if let Some(named) = is_named_factor(text, of.name) {
        return named;
    }
    // every text of every row of a product line comes by here, and units are slow to read
    if !speaks_of_change(text) {
        return false;
    }
    // the tolerance that is read
    let toleranced = is_tolerance(text) || has_tolerance(text);
    let read: Vec<(Vec<String>, Vec<Part>)> =
        clauses(text).map(|it| (it.words, parts(it.text, of))).collect();
    let amounts: Vec<f64> = read.iter().flat_map(|it| &it.1).filter_map(of_kind).collect();
    let done = |words: &[String]| words.iter().any(|it| WITHIN.contains(&it.as_str()));
    // `deduct 20 % (done)`: a clause that says nothing else is of the one before it
    let is_answer = |words: &[String]| {
        !words.is_empty()
            && words.iter().all(|it| {
                [WITHIN, MADE, LINKS, &["in", "was", "been", "all"]]
                    .iter()
                    .any(|all| all.contains(&it.as_str()))
            })
            && !is_open(words)
    };
    read.iter().enumerate().any(|(at, (words, parts))| {
        let answered = read.get(at + 1).is_some_and(|it| is_answer(&it.0) && !it.1.is_empty());
        let open = is_open(words) || text.ends_with('?');
        let is_in = parts.last().is_some_and(|it| it.is_word(&["in"]));
        let made = (done(words) || is_in) && !open;
        !answered && !made && changes(words, parts, of, &amounts, (toleranced, open))
    })
}

/// Whether the words of one clause are a change, where other amounts of the text may make it one that is reckoned.
fn changes(
    words: &[String],
    parts: &[Part],
    of: Changed<'_>,
    amounts: &[f64],
    (toleranced, open): (bool, bool),
) -> bool {
    if is_change_in_a_word(words) || !toleranced && is_operation(parts) {
        return true;
    }
    let needless = ["need not", "needn t"].iter().any(|it| speaks(words, it));
    let spoken = words.iter().any(|it| MADE.contains(&it.as_str()));
    let was_made = spoken && !needless;
    // `a safety factor of 2 must be applied`
    if was_made && open && factor_among(parts).is_some() {
        return true;
    }
    parts.iter().enumerate().filter(|(_, it)| it.is_amount()).any(|(at, amount)| {
        let before = parts.get(..at).unwrap_or_default();
        let behind = parts.get(at + 1..).unwrap_or_default();
        // `24 V less 10 %`
        let joins = |it: &&Part| {
            it.is_word(SIGNS) || it.is_word(FILLING) || matches!(it, Part::Sign('+' | '-'))
        };
        let base = before.iter().rev().find(|it| !joins(it));
        let of_other = matches!(base, Some(Part::Other));
        if of_other || is_of_another(amount, behind, of) || is_reckoned(amount, amounts, of) {
            return false;
        }
        let signed = || match before {
            [Part::Sign('+' | '-')] => !toleranced && !spoken,
            // `22 N·m − 4 N·m` at 22 N·m
            [.., Part::Amount(base), Part::Sign('+' | '-')] => is_held(*base, of),
            _ => false,
        };
        let share = matches!(amount, Part::Share(_));
        asks_before(before, share)
            || !amount.is_word(FRACTIONS)
                && (asks_behind(behind) && !refuses(before) || signed() || was_made && open)
    })
}

fn of_kind(part: &Part) -> Option<f64> {
    match part {
        Part::Amount(amount) => Some(*amount),
        _ => None,
    }
}

fn is_held(amount: f64, of: Changed<'_>) -> bool {
    of.held.is_some_and(|held| near(amount, held) || near(-amount, held))
}

/// Whether an amount is the value itself, far beyond it, or a share of a thing that is named: `+10 % volt`.
fn is_of_another(amount: &Part, behind: &[Part], of: Changed<'_>) -> bool {
    match amount {
        Part::Amount(amount) => {
            let beyond = |held: f64| amount.abs() > 2.0 * held.abs();
            is_held(*amount, of) || of.held.is_some_and(beyond)
        }
        Part::Share(_) => {
            let words = behind.iter().map_while(|it| match it {
                Part::Word(word) => Some(word.as_str()),
                _ => None,
            });
            names_thing(of.kind, words)
        }
        _ => false,
    }
}

/// Whether the words behind a share name a thing of which it is one, and that is not the value: `volt` of `+10 % volt`.
pub(super) fn is_of_thing(kind: &Kind, behind: &str) -> bool {
    let words = words(behind);
    names_thing(kind, words.iter().map(String::as_str))
}

fn names_thing<'w>(kind: &Kind, words: impl Iterator<Item = &'w str>) -> bool {
    let skipped = words.skip_while(|it| QUALITIES.contains(it));
    let mut named = skipped.take_while(|it| !REASONS.contains(it)).take(2);
    let own = |word: &str| kind.name.split(' ').any(|it| it == word);
    named.any(|word| {
        let of_kind = || KINDS.iter().any(|it| it.name.split(' ').next() == Some(word));
        !own(word) && (THINGS.contains(&word) || of_kind())
    })
}

/// Whether a change of one of the other amounts makes the value of it: `28 N·m less 20 %` at 22.4 N·m.
fn is_reckoned(change: &Part, amounts: &[f64], of: Changed<'_>) -> bool {
    let Some(held) = of.held else { return false };
    let size = of.unit.map_or(1.0, |it| it.factor.as_f64());
    let comes_to = |worth: f64| near(worth, held) || is_rounded(held / size, worth / size);
    amounts.iter().filter(|it| !is_held(**it, of)).any(|base| match change {
        Part::Share(share) => {
            comes_to(base * (1.0 - share / 100.0)) || comes_to(base * (1.0 + share / 100.0))
        }
        Part::Amount(amount) => {
            !near(*base, *amount) && (comes_to(base - amount) || comes_to(base + amount))
        }
        _ => false,
    })
}

/// Whether the words before an amount ask for it to be taken off or put on.
fn asks_before(before: &[Part], share: bool) -> bool {
    let words: Vec<&str> = before
        .iter()
        .rev()
        .map_while(|it| match it {
            Part::Word(word) => Some(word.as_str()),
            _ => None,
        })
        .collect();
    let found = words.iter().take(NEAR).enumerate().find_map(|(at, word)| {
        let between = words.get(..at).unwrap_or_default();
        let sign = SIGNS.contains(word) && between.iter().all(|it| FILLING.contains(it));
        let verb = VERBS.contains(word)
            && !between.iter().any(|it| APART.contains(it))
            && (*word != "take" || takes_off(between));
        let by = WRONG_BY.contains(word) && between == ["by"];
        let of_it = share && OF_IT.contains(word) && between.iter().all(|it| FILLING.contains(it));
        (sign || verb || by || of_it).then_some(before.len() - at - 1)
    });
    found.is_some_and(|at| !refuses(before.get(..at).unwrap_or_default()))
}

/// Whether words refuse the change that they stand before: `do not`, `no need to`; not `don't forget to`.
fn refuses(before: &[Part]) -> bool {
    let near = before.get(before.len().saturating_sub(3)..).unwrap_or_default();
    let not = |it: &Part| {
        it.is_word(REFUSALS)
            || matches!(it, Part::Word(word) if word.ends_with("n't") || word.ends_with("n’t"))
    };
    near.iter().any(not)
        && !near.iter().any(|it| it.is_word(&["forget", "yet", "noch", "vergessen"]))
}

/// `take off 20 %`; `take 20 % off` is seen from behind, and `take 20 N·m` is another value.
fn takes_off(between: &[&str]) -> bool {
    between.iter().any(|it| ["off", "away", "out"].contains(it))
}

/// Whether the words behind an amount ask for that: `20 % off`, `4 N·m to be deducted`, `20 % too high`.
fn asks_behind(behind: &[Part]) -> bool {
    let rest = behind.iter().skip_while(|it| it.is_word(LINKS)).collect::<Vec<_>>();
    let near = behind.len() - rest.len() < NEAR;
    let [word, after @ ..] = rest.as_slice() else { return false };
    let ends = after.first().is_none_or(|it| it.is_word(REASONS));
    let too_much = behind.first().is_some_and(|it| it.is_word(&["too"]));
    near && (too_much || word.is_word(BEHIND) && ends || word.is_word(VERBS))
}

/// A factor, or an amount, behind a sign with which words begin: `÷ 1.25`, `/ 1.25`, `: 1.25`, `factor 1.25`.
fn is_operation(parts: &[Part]) -> bool {
    let ends = |rest: &[Part]| rest.first().is_none_or(|it| it.is_word(REASONS));
    match parts {
        [Part::Sign('÷' | '/' | ':'), Part::Number(by), rest @ ..] => *by != 1.0 && ends(rest),
        [first, Part::Number(by), rest @ ..]
            if first.is_word(&["factor", "durch", "faktor", "times", "mal"]) =>
        {
            *by != 1.0 && rest.is_empty()
        }
        _ => {
            // `apply a service factor of 1.4`
            let ahead = factor_among(parts).and_then(|at| parts.get(..at)).unwrap_or_default();
            ahead.iter().any(|it| it.is_word(&["apply", "use", "take", "multiply"]))
        }
    }
}

/// Where a factor is named with its number behind it.
fn factor_among(parts: &[Part]) -> Option<usize> {
    let at = parts.iter().position(|it| it.is_word(&["factor", "faktor"]))?;
    let mut behind = parts.iter().skip(at + 1).skip_while(|it| it.is_word(&["of", "von"]));
    matches!(behind.next(), Some(Part::Number(_))).then_some(at)
}

/// Whether words are one of [`ALONE`] and what may stand around it: `half`, `double for two`, `to be halved`.
fn is_change_in_a_word(words: &[String]) -> bool {
    let mut rest = words.iter().map(String::as_str).skip_while(|it| LINKS.contains(it));
    let ahead = words.len() - rest.clone().count();
    let Some(first) = rest.next().filter(|it| ALONE.contains(it)) else { return false };
    let made = ["halved", "doubled"].contains(&first);
    (!made || ahead > 0 && is_open(words))
        && (rest.clone().next().is_none_or(|it| it == "for") || rest.all(|it| LINKS.contains(&it)))
}

/// Whether a text multiplies or divides the value by its name and says nothing else: `J × 2`, `J / 4`, `2 × J`; none where
/// it does not begin or end with the name.
fn is_named_factor(text: &str, name: &str) -> Option<bool> {
    let signs = |it: &str| -> Option<usize> {
        let sign = it.chars().next().filter(|it| "×*·÷/xX".contains(*it))?;
        Some(sign.len_utf8())
    };
    let is_number = |it: &str| {
        let it = it.trim();
        let (found, taken) = number(it);
        taken == it.len() && found.is_some_and(|it| it > 0.0 && it != 1.0)
    };
    if let Some(rest) = text.strip_prefix(name) {
        let rest = rest.trim_start();
        let behind = signs(rest).and_then(|it| rest.get(it..));
        return behind.filter(|it| is_number(it)).map(|_| true);
    }
    let ahead = text.strip_suffix(name)?.trim_end();
    let number = ahead.strip_suffix(['×', '*', '·', 'x', 'X'])?;
    is_number(number).then_some(true)
}

/// Whether a text bears a word or a sign of change at all.
fn speaks_of_change(text: &str) -> bool {
    const WORDS: [&[&str]; 9] =
        [VERBS, SIGNS, BEHIND, MADE, ALONE, FRACTIONS, OF_IT, WRONG_BY, FACTORS];
    let mut words = text.split(|it: char| !it.is_alphanumeric()).filter(|it| it.len() > 1);
    words.any(|word| {
        let word = word.to_lowercase();
        WORDS.iter().any(|all| all.contains(&word.as_str()))
    }) || text.char_indices().any(|(at, sign)| {
        let (before, rest) = text.split_at_checked(at).unwrap_or_default();
        let begins = before.chars().next_back().is_none_or(|it| it.is_whitespace() || it == '(');
        let mut after = rest.chars().skip(1);
        "+-−–÷/:".contains(sign)
            && begins
            && after.next().is_some_and(|it| it.is_whitespace() || it.is_ascii_digit())
    })
}

/// The parts of a clause.
pub(super) fn parts(text: &str, of: Changed<'_>) -> Vec<Part> {
    let raw: Vec<&str> = text.split_whitespace().collect();
    let mut found = Vec::new();
    let mut at = 0;
    while let Some(word) = raw.get(at) {
        at += 1;
        let sign = |it: char| "+-−–×*÷/:".contains(it);
        let plain = |it: char| if matches!(it, '−' | '–') { '-' } else { it };
        let first = word.chars().next().filter(|it| sign(*it));
        let rest = first.map_or(*word, |it| word.get(it.len_utf8()..).unwrap_or_default());
        let digit = rest.starts_with(|it: char| it.is_ascii_digit());
        if let Some(sign) = first.filter(|_| rest.is_empty() || digit) {
            found.push(Part::Sign(plain(sign)));
        }
        if rest.is_empty() {
            continue;
        }
        if !digit {
            let word = word.trim_matches(|it: char| !it.is_alphanumeric()).to_lowercase();
            let number = NUMBERS.iter().find(|it| it.0 == word).map(|it| Part::Number(it.1));
            if !word.is_empty() {
                found.push(number.unwrap_or(Part::Word(word)));
            }
            continue;
        }
        let (value, taken) = number(rest);
        let Some(value) = value else { continue };
        let glued = rest.get(taken..).unwrap_or_default();
        let glued = glued.trim_end_matches([',', '.', ';', ':', '!', '?']);
        if !glued.is_empty() {
            found.push(of_unit(value, glued, of).unwrap_or(Part::Other));
            continue;
        }
        // the longest that reads: `lbf in`
        let ahead = raw.get(at..).unwrap_or_default();
        let unit = (1..=ahead.len().min(FEW)).rev().find_map(|count| {
            let words = ahead.get(..count)?.join(" ");
            let words = words.trim_end_matches([',', '.', ';', ':', '!', '?']);
            let part = of_unit(value, words, of);
            // words run together are hardly a unit of something else
            part.filter(|it| count == 1 || *it != Part::Other).map(|part| (part, count))
        });
        match unit {
            Some((part, count)) => {
                found.push(part);
                at += count;
            }
            None => found.push(Part::Number(value)),
        }
    }
    found
}

/// A number with what stands behind it, where that is a unit.
fn of_unit(value: f64, unit: &str, of: Changed<'_>) -> Option<Part> {
    if matches!(unit.to_lowercase().as_str(), "%" | "percent" | "pct" | "prozent") {
        return Some(Part::Share(value));
    }
    if let Some(unit) = unit_said(of.kind, unit).filter(|it| it.zero.is_zero()) {
        return (!unit.symbol.is_empty()).then(|| Part::Amount(value * unit.factor.as_f64()));
    }
    (is_unit(unit) && !matches!(unit, "in" | "a" | "at")).then_some(Part::Other)
}
