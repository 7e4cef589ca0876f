//! Another value of the kind among the words about a value: `max 1750 r/min` beside 1460 r/min, `10 stops per minute` beside
//! 14 s; and what such words count. No word says which of the two holds, so it is asked.

use super::change::{Changed, MADE, Part, REFUSALS, SIGNS, VERBS, parts};
use super::label::is_remark_word;
use super::reckoned::is_rounded;
use super::unit_words::near;
use super::which_end::ENDS;
use super::words::{WITHIN, clauses, is_open, speaks, words};
use crate::program::Input;
use crate::spreadsheet::ends::End;

/// Words of what a value was, or is not; here and below common practice, no source.
const PAST: &[&str] = &[
    "was", "were", "formerly", "former", "previously", "previous", "old", "earlier", "until",
    "instead", "replaces", "than", "not", "no", "war", "früher", "alt", "statt", "bisher",
];

/// Words of amounts that are a part of a value or apart from it, and not another one.
const APART: &[&str] = &[
    "margin", "reserve", "wear", "tolerance", "tol", "deviation", "spread", "scatter", "error",
    "uncertainty", "accuracy", "play", "backlash", "difference", "step", "steps", "test", "proof",
    "trip", "trips", "alarm", "synchronous", "overspeed", "verschleiß", "toleranz", "reserven",
];

/// Words of a bound that is none of the values themselves.
const BOUNDS: &[&str] = &["limit", "limits", "permitted", "allowed", "permissible", "grenze"];

/// Words before a lower bound, and before an upper one that nothing reaches.
const ABOVE: &[&str] = &["above", "over", "least", "min", "minimum", "mindestens"];
const BELOW: &[&str] = &["below", "under", "unter"];

/// Words about a figure that name no other thing.
const SAYING: &[&str] = &[
    "says", "say", "manual", "data", "sheet", "catalogue", "catalog", "cad", "drawing", "plate",
    "maker", "supplier", "customer", "mail", "see", "acc", "according", "to", "by", "from", "up",
    "at", "in", "of", "the", "is", "measured", "new", "now", "since", "with", "for", "per", "on",
    "and", "or", "actual", "actually", "really", "should", "be", "real", "true", "rev", "today",
    "planned", "later", "site", "only", "about", "approx", "ca", "changed", "value", "all", "most",
    "least", "worst", "highest", "case", "it", "as", "than",
];

/// How many times a value is another one of which words may speak.
const AT_MOST: f64 = 50.0;

/// Kinds of which several of one kind have one value all the same.
const ALIKE: &[&str] = &[
    "time", "speed of rotation", "speed", "acceleration", "angular acceleration", "angle", "ratio",
    "temperature", "length", "radius", "diameter", "frequency", "voltage", "price", "stiffness",
];

/// What words are held against.
#[derive(Clone, Copy)]
pub(super) struct Figure<'a> {
    pub(super) of: Changed<'a>,
    pub(super) input: &'a Input,
    /// Which of several values it is.
    pub(super) end: Option<End>,
    /// Whether it bounds something itself.
    pub(super) is_limit: bool,
    /// Whether words name another input of the kind.
    pub(super) of_another: &'a dyn Fn(&[String]) -> bool,
}

/// Whether words hold another value of the kind that the value is not made of, on the side that matters where it is an end.
pub(super) fn states_other(text: &str, figure: Figure<'_>) -> bool {
    let Some(held) = figure.of.held.filter(|it| *it != 0.0) else { return false };
    // diameters and radii have rules of their own, and parts beside them have others
    if matches!(figure.of.kind.name, "radius" | "diameter") {
        return false;
    }
    // every remark comes by here, and units are slow to read
    if !text.contains(|it: char| it.is_ascii_digit()) {
        return false;
    }
    let mut spaced = String::with_capacity(text.len());
    for sign in text.chars() {
        match sign {
            '≥' => spaced.push_str(" min "),
            '≤' => spaced.push_str(" max "),
            '>' => spaced.push_str(" above "),
            '<' => spaced.push_str(" below "),
            '=' => spaced.push_str(" = "),
            _ => spaced.push(sign),
        }
    }
    let read: Vec<(Vec<String>, Vec<Part>)> =
        clauses(&spaced).map(|it| (it.words, parts(it.text, figure.of))).collect();
    if comes_to(read.iter().flat_map(|it| &it.1), held, figure.of) {
        return false;
    }
    read.iter().any(|(said, parts)| {
        !speaks_apart(said, figure)
            && parts.iter().enumerate().any(|(at, part)| {
                let Part::Amount(amount) = part else { return false };
                let before = parts.get(..at).unwrap_or_default();
                let behind = parts.get(at + 1..).unwrap_or_default();
                is_another(*amount, held, figure)
                    && matters(*amount, held, (said, before, behind), figure)
            })
    })
}

fn is_another(amount: f64, held: f64, figure: Figure<'_>) -> bool {
    let size = figure.of.unit.map_or(1.0, |it| it.factor.as_f64());
    let (one, other) = ((amount / size).abs(), (held / size).abs());
    let times = one / other;
    !near(one, other)
        && !is_rounded(one, other)
        && !is_rounded(other, one)
        && (1.0 / AT_MOST..=AT_MOST).contains(&times)
}

/// Whether the words of a clause speak of a part of the value, of one that was, of what is done, or of another thing.
pub(super) fn speaks_apart(said: &[String], figure: Figure<'_>) -> bool {
    let any = |all: &[&str]| said.iter().any(|it| all.contains(&it.as_str()));
    let open = is_open(said);
    // `need not be reduced by 4 N·m`, `don't add 4 N·m`
    let not = ["need not", "needn t", "don t"].iter().any(|it| speaks(said, it));
    let not = not || said.iter().any(|it| REFUSALS.contains(&it.as_str()));
    let changes = said.iter().any(|it| VERBS.contains(&it.as_str()) || MADE.contains(&it.as_str()));
    let refused = not && changes && !speaks(said, "yet");
    let done = any(WITHIN) || any(MADE) && !speaks(said, "to");
    let length = figure.of.kind.name == "length";
    let mut own = words(&figure.input.note);
    own.extend(words(&figure.input.name));
    let known = |word: &String| {
        own.contains(word)
            || SAYING.contains(&word.as_str())
            || ENDS.iter().any(|line| line.contains(&word.as_str()))
            || is_remark_word(word)
            || word.chars().count() < 3
            || word.starts_with(|it: char| it.is_ascii_digit())
    };
    any(APART)
        || any(BOUNDS) && !figure.is_limit
        || refused
        || done && !open
        || length && !said.iter().all(known)
        || (figure.of_another)(said) && !open
}

/// Whether another amount bears on a value that is an end, and is no bound that the value keeps.
fn matters(
    amount: f64,
    held: f64,
    (said, before, behind): (&[String], &[Part], &[Part]),
    figure: Figure<'_>,
) -> bool {
    let raw = |all: &[&str]| before.iter().rev().take(2).any(|it| it.is_word(all));
    // `old drum 0.03 kg·m²`; `was measured at 0.03 kg·m²` is said of the value
    let near = before.iter().rev().take(3);
    let near = near.take_while(|it| !matches!(it, Part::Word(word) if word.ends_with("ed")));
    let later = behind.iter().any(|it| it.is_word(&["later", "now", "since", "afterwards"]));
    let was = !later && near.into_iter().any(|it| it.is_word(PAST));
    let again = behind.first().is_some_and(|it| it.is_word(&["before", "earlier", "formerly"]));
    if was || again {
        return false;
    }
    let not_in = said.windows(2).any(|pair| {
        matches!(pair, [not, it] if not == "not" && (it.ends_with("ed") || it == "in" || it == "yet"))
    });
    let more = before.iter().any(|it| it.is_word(SIGNS) || it.is_word(&["without", "ohne"]));
    match figure.end {
        _ if not_in || more => true,
        Some(End::Greatest) => amount.abs() > held.abs(),
        Some(_) => amount.abs() < held.abs(),
        None => !(raw(ABOVE) && amount < held || raw(BELOW) && amount > held),
    }
}

/// Whether the figures of a text come to a value: sums, differences, products and shares of two of them, or the sum of all.
pub(super) fn comes_to<'p>(
    parts: impl Iterator<Item = &'p Part>,
    held: f64,
    of: Changed<'_>,
) -> bool {
    let size = of.unit.map_or(1.0, |it| it.factor.as_f64());
    let (mut amounts, mut factors) = (Vec::new(), Vec::new());
    for part in parts {
        match part {
            Part::Amount(amount) => amounts.push(*amount),
            Part::Number(number) => factors.push(*number),
            Part::Share(share) => {
                let share = share / 100.0;
                factors.extend([share, 1.0 - share, 1.0 + share]);
            }
            Part::Word(word) => match word.as_str() {
                "half" | "halb" | "hälfte" => factors.push(0.5),
                "twice" | "double" | "doppelt" => factors.push(2.0),
                "third" => factors.push(1.0 / 3.0),
                "quarter" => factors.push(0.25),
                _ => {}
            },
            Part::Sign(_) | Part::Other => {}
        }
    }
    let is_held = |worth: f64| {
        let (worth, held) = (worth.abs(), held.abs());
        near(worth, held) || is_rounded(held / size, worth / size)
    };
    let pairs = amounts.iter().enumerate().flat_map(|(at, one)| {
        amounts.iter().skip(at + 1).flat_map(move |other| [one + other, one - other])
    });
    let products =
        amounts.iter().flat_map(|one| factors.iter().flat_map(move |by| [one * by, one / by]));
    pairs.chain(products).any(is_held) || amounts.len() > 2 && is_held(amounts.iter().sum())
}

/// The time between two that words give by their number in a time, in seconds: `10 stops per minute`, `360/h`.
pub(super) fn interval(text: &str) -> Option<f64> {
    let text = text.replace('/', " per ").to_lowercase();
    let words: Vec<&str> = text.split_whitespace().collect();
    let at = words.iter().position(|it| *it == "per")?;
    let time = match words.get(at + 1)?.trim_end_matches(|it: char| !it.is_alphanumeric()) {
        "s" | "second" | "sec" => 1.0,
        "min" | "minute" => 60.0,
        "h" | "hour" => 3600.0,
        _ => return None,
    };
    let before = words.get(at.saturating_sub(2)..at)?;
    let number = before.iter().rev().find_map(|it| it.replace(',', ".").parse::<f64>().ok())?;
    (number > 0.0).then_some(time / number)
}

/// Whether an input is the time from one to the next.
pub(super) fn is_interval(input: &Input) -> bool {
    let note = words(&input.note);
    let of_time = input.kind.is_some_and(|it| it.name == "time");
    of_time
        && ["between", "cycle", "to the next", "interval", "every"]
            .iter()
            .any(|it| speaks(&note, it))
}

/// A text with the numbers before powers of ten written in full: `0.0021 kg·m²` of `2.1 ×10⁻³ kg·m²`.
fn in_full(text: &str) -> Option<String> {
    let at = text.find("10")?;
    let (before, rest) = text.split_at_checked(at)?;
    let sign = before.trim_end().strip_suffix(['×', '·', 'x', '*'])?.trim_end();
    let begins = sign.rfind(|it: char| !(it.is_ascii_digit() || matches!(it, '.' | ',')));
    let begins = begins.map_or(0, |at| {
        at + sign.get(at..).and_then(|it| it.chars().next()).map_or(0, char::len_utf8)
    });
    let (ahead, digits) = sign.split_at_checked(begins)?;
    let power = rest.strip_prefix("10")?;
    let ends = power.find(|it: char| it.is_whitespace() || matches!(it, ',' | ';' | ')'));
    let (power, behind) = power.split_at_checked(ends.unwrap_or(power.len()))?;
    let plain = |it: char| match "⁰¹²³⁴⁵⁶⁷⁸⁹".chars().position(|digit| digit == it)
    {
        Some(digit) => u32::try_from(digit).ok().and_then(|it| char::from_digit(it, 10)),
        None => Some(if matches!(it, '⁻' | '−') { '-' } else { it }),
    };
    let power: String = power.trim_start_matches('^').chars().map(plain).collect::<Option<_>>()?;
    let number: f64 = format!("{}e{power}", digits.replace(',', ".")).parse().ok()?;
    let behind = in_full(behind).unwrap_or_else(|| behind.to_owned());
    Some(format!("{ahead}{number}{behind}"))
}

/// Whether a text with a power of ten in it says nothing but the value, once or several times.
pub(super) fn restates_by_power(text: &str, figure: Figure<'_>) -> bool {
    let (Some(held), Some(full)) = (figure.of.held, in_full(text)) else { return false };
    let size = figure.of.unit.map_or(1.0, |it| it.factor.as_f64());
    let parts = parts(&full, figure.of);
    let figures = parts.iter().filter_map(|it| match it {
        Part::Amount(amount) => Some(*amount),
        Part::Number(number) => Some(number * size),
        _ => None,
    });
    let mut figures = figures.peekable();
    figures.peek().is_some() && figures.all(|it| near(it, held))
}

/// Nouns of parts that are in a value or are not, besides those that are counted.
const PARTS: &[&str] = &[
    "belt", "coupling", "gear", "gearbox", "gearing", "hub", "rotor", "pallet", "carton",
    "cartons", "chain", "relay", "sensor", "contactor", "valve", "controller", "plc", "shaft",
    "pulley", "sprocket", "flywheel", "tool", "cable", "counterweight", "kupplung", "trommel",
    "getriebe", "riemen", "kette", "schütz",
];

/// Whether words of a list hold one, or more of it.
fn is_noun(word: &str, all: &[&str]) -> bool {
    let single = |end: &str| word.strip_suffix(end).is_some_and(|it| all.contains(&it));
    all.contains(&word) || single("s") || single("n") || single("en") || single("es")
}

/// Whether a clause counts pieces, `2 rollers`, `two brakes`, `2 in parallel`, of what is more with each of them.
pub(super) fn counts_pieces(text: &str, figure: Figure<'_>, pieces: &[&str]) -> bool {
    let all: Vec<Part> = clauses(text).flat_map(|it| parts(it.text, figure.of)).collect();
    let of_them = |held: f64| comes_to(all.iter(), held, figure.of);
    if ALIKE.contains(&figure.of.kind.name) || figure.of.held.is_some_and(of_them) {
        return false;
    }
    clauses(text).any(|clause| {
        let mut all = parts(clause.text, figure.of).into_iter().peekable();
        while all
            .next_if(|it| {
                it.is_word(&["for", "für", "each", "there", "are", "of", "x"])
                    || *it == Part::Sign('×')
            })
            .is_some()
        {}
        let many = |it: &Part| matches!(it, Part::Number(it) if *it >= 2.0 && it.fract() == 0.0);
        let counted = all.next().is_some_and(|it| many(&it));
        let rest: Vec<Part> = all.collect();
        let piece = rest.first().is_some_and(
            |it| matches!(it, Part::Word(word) if is_noun(word, pieces) || is_noun(word, PARTS)),
        );
        let parallel = rest.iter().any(|it| it.is_word(&["parallel"]));
        counted && (piece && rest.len() <= 3 || parallel)
    })
}

/// Whether a clause leaves a part out, or adds one: `without drum`, `excl. drum`, `plus drum`.
pub(super) fn leaves_out(text: &str, figure: Figure<'_>, pieces: &[&str]) -> bool {
    const WITHOUT: &[&str] =
        &["without", "excl", "excluding", "exclusive", "plus", "ohne", "exkl", "zzgl"];
    let extensive = !ALIKE.contains(&figure.of.kind.name) || figure.of.kind.name == "time";
    extensive
        && clauses(text).any(|clause| {
            let [first, rest @ ..] = clause.words.as_slice() else { return false };
            let part = |it: &String| is_noun(it, pieces) || is_noun(it, PARTS);
            let rest = rest.get(..rest.len().min(3)).unwrap_or_default();
            WITHOUT.contains(&first.as_str())
                && rest.iter().any(part)
                && !rest.iter().any(|it| it == "spare")
                && !(figure.of_another)(rest)
        })
}
