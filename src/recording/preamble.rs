//! What a file says of itself above its headings: kept, and held against the plan.

use super::condition::known_by;
use super::finding::{Finding, caution, unconfirmed};
use super::passing::{FileOfStops, KEPT};
use super::protocol::Protocol;
use crate::environment::{day, written_day};

/// Words by which recorders name what the plan says as well, in the languages in which months are read.
const MACHINE: &[&str] = &[
    "machine", "maschine", "maschinen", "anlage", "anlagen", "axis", "achse", "plant", "equipment",
    "asset", "device under test", "unit under test", "dut", "uut", "prüfling", "prüfobjekt",
    "prüfgegenstand",
];
const SERIAL: &[&str] = &["serial", "serien", "seriennummer", "seriennr", "s n", "sn"];
const CONDITION: &[&str] =
    &["condition", "conditions", "taken under", "zustand", "bedingung", "bedingungen"];
const INSTRUMENT: &[&str] =
    &["instrument", "recorder", "messgerät", "rekorder", "schreiber", "logger"];
const DATE: &[&str] =
    &["date", "day", "datum", "measured", "measured on", "recorded", "recorded on", "start"];

/// Words that stand beside one of these and say no more.
const BESIDE: &[&str] =
    &["no", "nr", "number", "nummer", "id", "name", "the", "of", "type", "typ", "der", "des"];

/// What a file says of itself, in one line.
pub(super) fn in_words(file: &FileOfStops) -> String {
    let all: Vec<String> = file.above.iter().map(|row| row.join("; ")).collect();
    all.join(" | ").chars().take(KEPT).collect()
}

/// Whether a label names one of these, with nothing beside it that says more: `Machine no.`, `serial number`.
fn is_label(label: &str, names: &[&str]) -> bool {
    let all = in_order(label);
    let bare: Vec<&str> =
        all.iter().map(String::as_str).filter(|it| !BESIDE.contains(it)).collect();
    all.len() <= OF_A_LABEL && names.contains(&bare.join(" ").as_str())
}

/// Words of a label, at most (common practice, no source).
const OF_A_LABEL: usize = 4;

/// The label of a row above the headings and what it says: beside it, or after a colon.
fn labelled(row: &[String]) -> Option<(&str, String)> {
    let (first, rest) = row.split_first()?;
    let after = first.split_once([':', '=']).map(|(name, value)| (name, value.trim()));
    match after.filter(|it| !it.1.is_empty()) {
        Some((name, value)) => Some((name, value.to_owned())),
        None if !rest.is_empty() => Some((first, rest.join("; "))),
        None => None,
    }
}

/// What a file says of one of some words.
fn said(file: &FileOfStops, names: &[&str]) -> Option<String> {
    let rows = file.above.iter().filter_map(|row| labelled(row));
    rows.filter(|it| is_label(it.0, names)).map(|it| it.1).next()
}

/// What the headings of a file say that is neither machine nor instrument nor condition of the plan, nor a day or a
/// figure, where nothing of them names the machine; none where a label names it, or nothing is said.
fn of_another(file: &FileOfStops, machine: &str, known: &[&str]) -> Option<String> {
    let names = |cell: &str, planned: &str| {
        let ((words, numbers), (own, own_numbers)) = (parts(cell), parts(planned));
        words.iter().any(|it| own.contains(it))
            || words.is_empty() && numbers.iter().any(|it| own_numbers.contains(it))
    };
    if machine.is_empty() || said(file, MACHINE).is_some() {
        return None;
    }
    let is_figure = |text: &str| {
        text.trim_start_matches(['-', '+', '−', '<', '>'])
            .starts_with(|it: char| it.is_ascii_digit())
    };
    let labels = || [INSTRUMENT, CONDITION, SERIAL, DATE].into_iter();
    let rows = file.above.iter().filter(|row| {
        labelled(row).is_none_or(|(label, value)| {
            !is_figure(&value) && !labels().any(|names| is_label(label, names))
        })
    });
    let is_other = |cell: &&String| {
        !parts(cell).0.is_empty()
            && !is_figure(cell)
            && days_in(cell).is_empty()
            && !known.iter().any(|planned| names(cell, planned))
    };
    if file.above.iter().flatten().any(|cell| names(cell, machine)) {
        return None;
    }
    let others: Vec<&str> = rows.flatten().filter(is_other).map(String::as_str).collect();
    (!others.is_empty()).then(|| others.join("; "))
}

/// The words and numbers of a name, without what stands in brackets.
fn words(text: &str) -> Vec<String> {
    let (mut all, numbers) = parts(text);
    all.extend(numbers);
    all
}

/// The words of a name and its numbers, without what stands in brackets.
fn parts(text: &str) -> (Vec<String>, Vec<String>) {
    in_order(text).into_iter().partition(|it| !has_digit(it))
}

fn has_digit(word: &str) -> bool {
    word.chars().any(|sign| sign.is_ascii_digit())
}

/// Words with the number that follows each, `line 4`, of a heading that bears no label: none where one of them stands in
/// the plan, or no such word does.
fn another_number(file: &FileOfStops, planned: &str) -> Option<String> {
    let pairs = |text: &str| -> Vec<(String, String)> {
        let all = in_order(text);
        let two = all.iter().zip(all.iter().skip(1));
        let two =
            two.filter(|(word, number)| !word.is_empty() && !has_digit(word) && has_digit(number));
        two.map(|(word, number)| (word.clone(), number.clone())).collect()
    };
    let said: Vec<_> = file.above.iter().flat_map(|row| pairs(&row.join("; "))).collect();
    let planned = pairs(planned);
    let other = |(word, _): &&(String, String)| {
        planned.iter().any(|(own, _)| own == word)
            && !said.iter().any(|it| it.0 == *word && planned.contains(it))
    };
    said.iter().find(other).map(|(word, number)| format!("{word} {number}"))
}

/// The words and numbers of a name as they follow each other, without what stands in brackets.
fn in_order(text: &str) -> Vec<String> {
    let mut depth = 0_usize;
    let open = |sign: &char| {
        depth = match sign {
            '(' | '[' => depth + 1,
            ')' | ']' => depth.saturating_sub(1),
            _ => depth,
        };
        depth == 0 && !")]".contains(*sign)
    };
    let bare: String = text.to_lowercase().chars().filter(open).collect();
    let all = bare.split(|sign: char| !sign.is_alphanumeric()).filter(|it| !it.is_empty());
    all.map(|it| it.trim_start_matches('0').to_owned()).collect()
}

/// Whether two names are of two things: they share no word, or both have numbers and share none.
fn differ(one: &str, other: &str) -> bool {
    let ((a, m), (b, n)) = (parts(one), parts(other));
    let shares = |a: &[String], b: &[String]| a.iter().any(|it| b.contains(it));
    let none = a.is_empty() && m.is_empty() || b.is_empty() && n.is_empty();
    let numbers = !m.is_empty() && !n.is_empty();
    !none && if numbers { !shares(&m, &n) } else { !shares(&a, &b) && !shares(&m, &n) }
}

/// Months as they are written: in whole, or by their first letters (English and German).
const MONTHS: [&[&str]; 12] = [
    &["january", "januar"],
    &["february", "februar"],
    &["march", "märz"],
    &["april"],
    &["may", "mai"],
    &["june", "juni"],
    &["july", "juli"],
    &["august"],
    &["september", "sept"],
    &["october", "oktober"],
    &["november"],
    &["december", "dezember"],
];

fn month(word: &str) -> Option<String> {
    let short = |name: &str| name.chars().take(3).collect::<String>();
    let is = |name: &&str| *name == word || short(name) == word;
    let at = MONTHS.iter().position(|names| names.iter().any(&is))?;
    Some((at + 1).to_string())
}

/// Days of the week, as they are written or begin.
const WEEKDAYS: [&str; 14] = [
    "monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday", "montag",
    "dienstag", "mittwoch", "donnerstag", "freitag", "samstag", "sonntag",
];

/// What parts year, month and day where no blank does.
const PARTING: [char; 6] = ['年', '月', '日', '년', '월', '일'];

fn is_weekday(word: &str) -> bool {
    let begins = |name: &&str| name.starts_with(word) && (2..=5).contains(&word.len());
    WEEKDAYS.iter().any(|name| name == &word || begins(name))
}

fn is_number(text: &str) -> bool {
    !text.is_empty() && text.bytes().all(|it| it.is_ascii_digit())
}

/// A time of day with its seconds and its zone, `08:15`, `08:15:00.5+01:00`.
fn is_time(word: &str) -> bool {
    let word = word.trim_matches(|sign: char| "()[],;".contains(sign));
    let Some((hours, rest)) = word.split_once(':') else { return false };
    let two = |part: &str| {
        part.get(..2).is_some_and(is_number)
            && part.chars().skip(2).all(|it| it.is_ascii_digit() || ".,+-z".contains(it))
    };
    hours.len() <= 2 && is_number(hours) && rest.split(':').all(two)
}

/// A text without its times of day and the zone or half of the day behind one: a day may stand around them. Everything
/// else keeps its place.
fn without_times(text: &str) -> String {
    let mut found = String::with_capacity(text.len());
    let mut after_time = false;
    for word in text.split_inclusive(char::is_whitespace) {
        let bare = word.trim_end();
        let zone = after_time
            && bare.len() <= 5
            && bare.bytes().all(|it| it.is_ascii_lowercase())
            && month(bare).is_none();
        after_time = is_time(bare);
        if after_time || zone {
            found.push_str(&" ".repeat(word.len()));
        } else {
            found.push_str(word);
        }
    }
    found
}

/// The days in a text, each with where it stands and what it may mean: `2026-03-02`, `20260302`, `2026-W10-1`, `2.3.2026`,
/// `2 March 2026`, `Mar 2, 2026`, `2nd of March 2026`, `Mon Mar  2 08:00:00 2026`; `3/2/2026` may begin with the day or
/// with the month, and a year of two figures may stand first or last.
fn days_in(text: &str) -> Vec<(usize, Vec<i64>)> {
    let lower = text.to_lowercase();
    let sign = |sign: char| !sign.is_alphanumeric() || PARTING.contains(&sign);
    // a time of day may follow without a blank, `2026-03-02T08:15`
    let spaced: String = lower
        .char_indices()
        .map(|(at, sign)| {
            let digit = |side: Option<char>| side.is_some_and(|it| it.is_ascii_digit());
            let before = lower.get(..at).and_then(|it| it.chars().next_back());
            let after = lower.get(at + sign.len_utf8()..).and_then(|it| it.chars().next());
            if sign == 't' && digit(before) && digit(after) { ' ' } else { sign }
        })
        .collect();
    let spaced = without_times(&spaced);
    let mut all: Vec<(usize, &str)> = Vec::new();
    let mut at = 0;
    for word in spaced.split_inclusive(sign) {
        let bare = word.trim_end_matches(sign);
        if !bare.is_empty() && !["of", "the"].contains(&bare) && !is_weekday(bare) {
            all.push((at, bare));
        }
        at += word.len();
    }
    let alone = all.iter().all(|it| is_number(&date_of(it.1)) || month(it.1).is_some())
        || DATE.iter().any(|name| spaced.contains(name));
    let mut found = Vec::new();
    let mut rest = all.as_slice();
    // what a day is read from is no part of another
    while let [(at, word), later @ ..] = rest {
        let (days, after) = match later {
            [(_, b), (_, c), after @ ..] => {
                let three = [*word, *b, *c];
                let by = [".", "/", "-"].map(|sign| spaced.contains(&three.join(sign)));
                (of_three(three, by, alone), after)
            }
            _ => (Vec::new(), later),
        };
        let (days, after) = if days.is_empty() {
            let timed =
                later.first().is_some_and(|it| is_number(it.1) && [4, 6].contains(&it.1.len()));
            (of_one(word, alone || timed), later)
        } else {
            (days, after)
        };
        found.extend(Some((*at, days)).filter(|it| !it.1.is_empty()));
        rest = after;
    }
    found
}

/// A day of a month without what makes it an ordinal, `2nd`.
fn date_of(text: &str) -> String {
    text.trim_end_matches(['t', 'h', 's', 'n', 'd', 'r']).to_owned()
}

fn is_year(text: &str) -> bool {
    text.len() == 4 && text.parse::<i64>().is_ok_and(|it| (1990..2200).contains(&it))
}

fn read(year: &str, month: &str, date: &str) -> Option<i64> {
    day(&format!("{year}-{month:0>2}-{date:0>2}"))
}

/// A day in one word, `20260302`, `2026w101`, `20260302081500`; `short` where the year may have two figures, `260302`.
fn of_one(word: &str, short: bool) -> Vec<i64> {
    let long = if short && word.len() == 6 { format!("20{word}") } else { word.to_owned() };
    let Some((year, rest)) = long.split_at_checked(4).filter(|it| is_year(it.0)) else {
        return Vec::new();
    };
    let found = match rest.split_at_checked(2) {
        Some((month, date)) if is_number(rest) && [2, 6, 8].contains(&date.len()) => {
            read(year, month, date.get(..2).unwrap_or(""))
        }
        Some((week, date)) if week.starts_with('w') => of_week(
            year,
            &format!("{week}{}", date.get(..1).unwrap_or("")),
            date.get(1..).unwrap_or(""),
        ),
        _ => None,
    };
    found.into_iter().collect()
}

/// The day of a week, `2026`, `w10`, `1`.
///
/// Source: ISO 8601, the week with the fourth of January is the first (from memory).
fn of_week(year: &str, week: &str, date: &str) -> Option<i64> {
    let week: i64 = week.strip_prefix('w')?.parse().ok().filter(|it| (1..=53).contains(it))?;
    let date: i64 = date.parse().ok().filter(|it| (1..=7).contains(it))?;
    let fourth = read(year, "1", "4")?;
    // 1970-01-01 was a Thursday
    let monday = fourth - (fourth + 3).rem_euclid(7);
    Some(monday + 7 * (week - 1) + date - 1)
}

/// Months as numerals, `2.III.2026`.
const NUMERALS: [&str; 12] =
    ["i", "ii", "iii", "iv", "v", "vi", "vii", "viii", "ix", "x", "xi", "xii"];

/// A day in three words; whether points, strokes or hyphens part them, and `alone` where the year may have two figures.
fn of_three([a, b, c]: [&str; 3], by: [bool; 3], alone: bool) -> Vec<i64> {
    let [dotted, ..] = by;
    let parted = by.contains(&true);
    let numeral = NUMERALS.iter().position(|it| parted && *it == b);
    let second = month(b).or_else(|| Some((numeral? + 1).to_string()));
    let first = month(a);
    let short = alone && (parted || first.is_some() || second.is_some());
    let long = |text: &str| match text.len() {
        2 if short && is_number(text) => format!("20{text}"),
        _ => text.to_owned(),
    };
    let (early, last) = (long(a), long(c));
    // of two figures each may be the year
    let year_first =
        |month: &str| (last != c && early != a).then(|| read(&early, month, c)).flatten();
    let found = if is_year(a) {
        vec![read(a, second.as_deref().unwrap_or(b), &date_of(c)), of_week(a, b, c)]
    } else if !is_year(&last) {
        Vec::new()
    } else if let Some(month) = second {
        vec![read(&last, &month, &date_of(a)), year_first(&month)]
    } else if let Some(month) = first {
        vec![read(&last, &month, &date_of(b))]
    } else if dotted {
        vec![read(&last, b, a)]
    } else {
        vec![read(&last, b, a), read(&last, a, b), year_first(b)]
    };
    found.into_iter().flatten().collect()
}

/// What a row speaks of whose day is not that of the measurement.
const OTHER_DAYS: &[&str] = &[
    "calib", "kalib", "version", "firmware", "software", "built", "manufact", "valid", "due",
    "next", "export", "print", "serial", "edition", "licen",
];

/// The days of a row that may be those of its measurement: beside a word that says so, or else all, where it speaks of
/// nothing else.
fn days_of(row: &str) -> Vec<Vec<i64>> {
    let row = row.to_lowercase();
    let places = |names: &[&str]| -> Vec<usize> {
        names.iter().flat_map(|name| row.match_indices(name).map(|it| it.0)).collect()
    };
    let (own, other) = (places(DATE), places(OTHER_DAYS));
    let last = |all: &[usize], at: usize| all.iter().copied().filter(|it| *it < at).max();
    let counts = |at: usize| match (own.is_empty(), other.is_empty()) {
        (_, true) => true,
        (true, false) => false,
        (false, false) => last(&own, at) > last(&other, at),
    };
    days_in(&row).into_iter().filter(|it| counts(it.0)).map(|it| it.1).collect()
}

/// The day on which a file says that it was recorded, where that is not the day that is planned: none of the days that it
/// says, or the one beside a word that says so.
fn another_day(file: &FileOfStops, measured: i64) -> Option<i64> {
    let beside =
        said(file, DATE).map(|it| days_of(&format!("date {it}"))).filter(|it| !it.is_empty());
    let days = beside
        .unwrap_or_else(|| file.above.iter().flat_map(|row| days_of(&row.join(" "))).collect());
    let same = days.iter().any(|it| it.contains(&measured));
    days.first().and_then(|it| it.first().copied()).filter(|_| !same)
}

/// Whether a condition says what another does not say: one word or number more.
fn says_more(one: &str, other: &str) -> bool {
    let known = words(other);
    words(one).iter().any(|it| !known.contains(it)) || opposed(one, other)
}

/// Words that turn the meaning of what follows.
const TURNS: [&str; 6] = ["not", "no", "without", "never", "nicht", "ohne"];

/// The words and numbers of a name behind a `not` or a minus.
fn turned(text: &str) -> Vec<String> {
    let lower = text.to_lowercase();
    let all: Vec<&str> = lower.split_whitespace().collect();
    let minus = |word: &str| {
        word.strip_prefix(['-', '−'])
            .is_some_and(|it| it.starts_with(|sign: char| sign.is_ascii_digit()))
    };
    let behind = all.windows(2).filter_map(|it| match it {
        [first, second] if TURNS.contains(first) => Some(*second),
        _ => None,
    });
    behind.chain(all.iter().copied().filter(|it| minus(it))).flat_map(words).collect()
}

/// Whether a word of one is turned in the other, as `warm` is in `not warm`.
fn opposed(one: &str, other: &str) -> bool {
    let turns = |one: &str, other: &str| {
        let (known, both) = (words(other), turned(other));
        turned(one).iter().any(|it| known.contains(it) && !both.contains(it))
    };
    turns(one, other) || turns(other, one)
}

/// What the files say of themselves, where it is not what the plan says.
pub(super) fn contradictions(protocol: &Protocol) -> Vec<Finding> {
    let plan = &protocol.plan;
    let mut asked = Vec::new();
    let mut days = Vec::new();
    let mut fewer = Vec::new();
    let mut others = Vec::new();
    for file in &protocol.files {
        let name = &file.recording.file;
        let own = &file.recording.condition;
        let mut hold = |what: &str, found: Option<String>, planned: &str, another: bool| {
            if let Some(found) = found
                && !planned.is_empty()
                && (another || differ(&found, planned))
            {
                asked.push(format!("`{name}` says {what} `{found}`, the plan `{planned}`"));
            }
        };
        for (what, names) in [("machine", MACHINE), ("instrument", INSTRUMENT)] {
            let planned = plan.text(what);
            match said(file, names) {
                Some(found) => hold(what, Some(found), planned, false),
                None => hold(what, another_number(file, planned), planned, true),
            }
        }
        let (machine, instrument) = (plan.text("machine"), plan.text("instrument"));
        // of the machine or of the instrument, and whole: a figure of it alone is in many names
        let both = [machine, instrument].join("; ");
        let serial = said(file, SERIAL);
        let known = serial.as_ref().is_none_or(|it| {
            let (own, all) = (in_order(it), in_order(&both));
            own.is_empty() || all.windows(own.len()).any(|part| part == own)
        });
        let said_at_all = !machine.is_empty() && !instrument.is_empty();
        hold("serial number", serial.filter(|_| said_at_all && !known), &both, true);
        let found = said(file, CONDITION);
        let same = |it: &str| found.as_ref().is_some_and(|found| known_by(found) == known_by(it));
        let of_others = plan
            .recordings
            .iter()
            .any(|it| known_by(&it.condition) != known_by(own) && same(&it.condition));
        if file.recording.condition_said {
            let more = found.as_ref().is_some_and(|it| says_more(it, own));
            let less = found.as_ref().is_some_and(|it| says_more(own, it));
            if less && !more && !of_others {
                let found = found.clone().unwrap_or_default();
                fewer.push(format!("`{name}` says `{found}`, the plan `{own}`"));
            }
            hold("condition", found.clone(), own, (of_others || more) && !same(own));
        }
        let of_plan = plan.recordings.iter().map(|it| it.condition.as_str());
        let of_plan: Vec<&str> = of_plan.chain([instrument]).collect();
        if let Some(found) = of_another(file, machine, &of_plan) {
            others.push(format!("`{name}` says `{found}`"));
        }
        let found = day(plan.text("measured")).and_then(|it| another_day(file, it));
        if let Some(found) = found {
            days.push(format!("`{name}` says {}", written_day(found)));
        }
    }
    let mut all = Vec::new();
    if !asked.is_empty() {
        all.push(unconfirmed(
            "the files are of this machine and condition",
            &asked.join("; "),
            "look whether the right file is named under the right condition; where both mean the same, say it in the plan as the file does",
        ));
    }
    if !others.is_empty() {
        all.push(caution(
            "what stands above the headings names the machine",
            format!("{}, the plan `{}`: no word of it", others.join("; "), plan.text("machine")),
            "look whether these files are of this machine; what is said of the recorder there, say in `instrument`",
        ));
    }
    if !fewer.is_empty() {
        all.push(caution(
            "the files say as much of the condition as the plan",
            fewer.join("; "),
            "look whether the right file is named under the right condition",
        ));
    }
    if !days.is_empty() {
        all.push(caution(
            "the files are of the day of the measurement",
            format!("{}, measured {}", days.join("; "), plan.text("measured")),
            "look whether these stops were recorded on that day, and whether the recorder's clock is set",
        ));
    }
    all
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_of_one_thing_share_words_or_numbers() {
        for (one, other, apart) in [
            ("press 7", "saw, shop 2 (invented)", true),
            ("press 7", "press 8", true),
            ("line 3; carton wrapper", "carton wrapper, line 3 (invented)", false),
            ("Press no. 07", "press 7", false),
            ("loaded", "warm, loaded", false),
            ("cold", "warm, loaded", true),
            ("R-12", "tachogenerator G-4 on recorder R-12", false),
            ("SAW", "saw, shop 2", false),
            ("", "saw", false),
        ] {
            assert_eq!(differ(one, other), apart, "{one}, {other}");
        }
    }

    #[test]
    fn a_condition_says_more_than_another() {
        for (one, other, more) in [
            ("warm, loaded", "loaded, warm", false),
            ("loaded", "warm, loaded", false),
            ("not warm", "warm", true),
            ("idle, 50 %", "loaded, 50 %", true),
            ("idle, blade off", "idle, blade on", true),
            ("warm", "cold", true),
            ("idle", "not idle", true),
            ("load -5 °C", "load 5 °C", true),
            ("idle - 5 °C", "idle, 5 °C", false),
            ("idle", "idle, no load", false),
            ("20-30 °C", "30-20 °C", false),
        ] {
            assert_eq!(says_more(one, other), more, "{one}, {other}");
        }
    }

    #[test]
    fn a_day_belongs_to_the_word_before_it() {
        let of = |row: &str| {
            days_of(row).into_iter().flatten().map(written_day).collect::<Vec<_>>().join(" ")
        };
        for (row, days) in [
            ("Exported 2026-06-20; recorded 2019-01-05", "2019-01-05"),
            ("recorded 2019-01-05, exported 2026-06-20", "2019-01-05"),
            ("2026-03-02 calibrated", ""),
            ("Calibrated 2026-03-02", ""),
            ("2019-01-05", "2019-01-05"),
        ] {
            assert_eq!(of(row), days, "{row}");
        }
    }

    #[test]
    fn a_day_is_read_in_every_common_form() {
        let days_of = |text: &str| {
            days_in(text).into_iter().flat_map(|it| it.1).map(written_day).collect::<Vec<_>>()
        };
        for text in [
            "2026-03-02", "2026/3/2 08:15:00", "2.3.2026", "02.03.2026, 08:15", "2026-03-02T08:15",
            "recorded 2026-03-02 08:00", "2 March 2026", "Mar 2, 2026", "March 2nd 2026",
            "2. März 2026", "02-Mar-2026", "20260302", "20260302T081500", "2.3.26",
            "02.03.26 08:15", "Start time: 2.3.26 08:00:00", "2nd of March 2026",
            "the 2nd of March, 2026", "2026-W10-1", "2026W101", "Mon Mar  2 08:00:00 2026",
            "Recorded Mon Mar  2 08:00:00 2026", "Mon Mar  2 08:00:00 PST 2026",
            "Mon, 02 Mar 2026 08:00:00 +0100", "2 Mar 08:00 2026",
            "Montag, 2. März 2026, 08:15 Uhr", "monday 2 mar 26", "2-Mar-26", "2.III.2026",
            "2026年3月2日", "2026-03-02T08:15:00.5+01:00", "rec_260302_0800", "rec_260302_081500",
            "20260302081500", "rec-20260302-0815", "2026_03_02",
        ] {
            assert_eq!(days_of(text), ["2026-03-02"], "{text}");
        }
        assert_eq!(days_of("3/2/2026"), ["2026-02-03", "2026-03-02"]);
        assert_eq!(days_of("06/15/2019"), ["2019-06-15"]);
        assert_eq!(
            days_of("Start time: 03/02/26 08:00:00"),
            ["2026-02-03", "2026-03-02", "2003-02-26"]
        );
        for text in [
            "8.15", "Monday", "1450", "R-12; 2.5 V; 10 kHz", "version 1.2.3", "R 5.1.19",
            "2.5 V 2019", "drive 190105", "5 may 10 pieces", "10 20 30", "08:15:26",
        ] {
            assert!(days_of(text).is_empty(), "{text}");
        }
    }
}
