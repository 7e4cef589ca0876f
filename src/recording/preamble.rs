//! What a file says of itself above its headings: kept, and held against the plan.

use super::finding::{Finding, caution, unconfirmed};
use super::passing::{FileOfStops, KEPT};
use super::protocol::Protocol;
use crate::environment::{day, written_day};

/// Words by which recorders name what the plan says as well.
const MACHINE: &[&str] = &["machine", "machine name", "machine no", "machine number"];
const CONDITION: &[&str] = &["condition", "conditions", "taken under"];
const INSTRUMENT: &[&str] = &["instrument", "recorder"];
const DATE: &[&str] =
    &["date", "day", "measured", "measured on", "recorded", "recorded on", "start"];

/// What a file says of itself, in one line.
pub(super) fn in_words(file: &FileOfStops) -> String {
    let all: Vec<String> = file.above.iter().map(|row| row.join("; ")).collect();
    all.join(" | ").chars().take(KEPT).collect()
}

/// What a file says of one of some words: beside it, or after a colon.
fn said<'a>(file: &'a FileOfStops, names: &[&str]) -> Option<String> {
    let is_meant = |name: &str| {
        let name = name.trim().trim_end_matches([':', '=', '.']).trim().to_lowercase();
        names.contains(&name.as_str())
    };
    file.above.iter().find_map(|row: &'a Vec<String>| {
        let (first, rest) = row.split_first()?;
        if is_meant(first) && !rest.is_empty() {
            return Some(rest.join("; "));
        }
        let (name, value) = first.split_once([':', '='])?;
        is_meant(name).then(|| value.trim().to_owned()).filter(|it| !it.is_empty())
    })
}

/// The words of a name and its numbers, without what stands in brackets.
fn parts(text: &str) -> (Vec<String>, Vec<String>) {
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
    let all = all.map(|it| it.trim_start_matches('0').to_owned());
    all.partition(|it| !it.chars().any(|sign| sign.is_ascii_digit()))
}

/// Whether two names are of two things: they share no word, or both have numbers and share none.
fn differ(one: &str, other: &str) -> bool {
    let ((a, m), (b, n)) = (parts(one), parts(other));
    let shares = |a: &[String], b: &[String]| a.iter().any(|it| b.contains(it));
    let none = a.is_empty() && m.is_empty() || b.is_empty() && n.is_empty();
    let numbers = !m.is_empty() && !n.is_empty();
    !none && if numbers { !shares(&m, &n) } else { !shares(&a, &b) && !shares(&m, &n) }
}

/// The first day in a text: `2026-03-02`, `2026/3/2` or `2.3.2026`. Whether `3/2/2026` begins with the month is not known.
fn day_in(text: &str) -> Option<i64> {
    text.split([' ', 'T', ',', ';']).find_map(|word| {
        let dotted = word.contains('.');
        let parts: Vec<&str> = word.split(['-', '/', '.']).collect();
        let [a, b, c] = parts.as_slice() else { return None };
        let (year, month, date) = if dotted && c.len() == 4 { (c, b, a) } else { (a, b, c) };
        day(&format!("{year}-{month:0>2}-{date:0>2}"))
    })
}

/// What the files say of themselves, where it is not what the plan says.
pub(super) fn contradictions(protocol: &Protocol) -> Vec<Finding> {
    let plan = &protocol.plan;
    let mut asked = Vec::new();
    let mut days = Vec::new();
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
        hold("machine", said(file, MACHINE), plan.text("machine"), false);
        hold("instrument", said(file, INSTRUMENT), plan.text("instrument"), false);
        let found = said(file, CONDITION);
        let same = |it: &str| {
            found.as_ref().is_some_and(|found| found.to_lowercase() == it.to_lowercase())
        };
        let of_others =
            plan.recordings.iter().any(|it| it.condition != *own && same(&it.condition));
        if file.recording.condition_said {
            hold("condition", found.clone(), own, of_others && !same(own));
        }
        let found = said(file, DATE).and_then(|it| day_in(&it)).zip(day(plan.text("measured")));
        if let Some((found, _)) = found.filter(|(found, measured)| found != measured) {
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
    fn a_day_is_read_where_it_means_one_day() {
        let day_of = |text: &str| day_in(text).map(written_day);
        for text in
            ["2026-03-02", "2026/3/2 08:15:00", "2.3.2026", "02.03.2026, 08:15", "2026-03-02T08:15"]
        {
            assert_eq!(day_of(text).as_deref(), Some("2026-03-02"), "{text}");
        }
        for text in ["3/2/2026", "8.15", "Monday", "1450"] {
            assert_eq!(day_of(text), None, "{text}");
        }
    }
}
