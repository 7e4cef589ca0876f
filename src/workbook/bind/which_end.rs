//! Which of several values an input is, by its words and by the checks: the greatest, the least, one between them.

use std::borrow::Cow;

use super::words::{speaks, words};
use crate::program::{Input, Program};
use crate::spreadsheet::ends::End;

/// Which of several values is said: the greatest, the least, one between them.
pub(super) const ENDS: &[&[&str]] = &[
    &["longest", "largest", "greatest", "highest", "most", "maximum", "max", "maximal", "latest"],
    &["shortest", "smallest", "least", "lowest", "minimum", "min", "minimal", "earliest"],
    &["mean", "average", "typical", "typ", NOMINAL],
];

/// What a sheet says of an input: its note, and the end of several that the heading says of each time below it.
pub(super) fn note_of(input: &Input) -> Cow<'_, str> {
    let heading = words(&input.heading);
    let is_time = input.kind.is_some_and(|it| it.name == "time");
    let each_time =
        is_time && heading.windows(2).any(|it| matches!(it, [a, b] if a == "each" && b == "time"));
    let end = match lines_spoken(ENDS, &heading).as_slice() {
        [(_, word)] if each_time && lines_spoken(ENDS, &words(&input.note)).is_empty() => *word,
        _ => return Cow::Borrowed(&input.note),
    };
    Cow::Owned(format!("{}, the {end}", input.note))
}

/// The end of several values that an input is, with the word that says so.
pub(super) fn end_said(input: &Input) -> Option<(End, &'static str)> {
    let mut own = words(&note_of(input));
    own.extend(words(&input.name));
    match lines_spoken(ENDS, &own).as_slice() {
        [(0, word)] => Some((End::Greatest, word)),
        [(1, word)] => Some((End::Least, word)),
        _ => None,
    }
}

/// The end of several measured or known values that an input is. Of several limits the least counts where they bear, and the
/// greatest where they demand: which one no word says. Of what has a sign, the most may be the lowest number.
pub(super) fn end_measured(input: &Input) -> Option<(End, &'static str)> {
    let note = note_of(input);
    let mut own = words(&note);
    if own.iter().any(|it| it == "minus") {
        return None;
    }
    // `mean braking torque, the least`: of several means
    let (of_several, between) = ENDS.split_at_checked(2)?;
    let several = closing_end(&note, of_several);
    if is_limit(input) && (several.is_none() || !is_measured_limit(&own)) {
        return None;
    }
    if let (Some(found), false) = (several, lines_spoken(between, &own).is_empty()) {
        return Some(found);
    }
    if several.is_some() && is_limit(input) {
        return several;
    }
    own.extend(words(&input.name).into_iter().filter(|it| matches!(it.as_str(), "least" | "most")));
    match lines_spoken(ENDS, &own).as_slice() {
        [(0, word)] => Some((End::Greatest, word)),
        [(1, word)] => Some((End::Least, word)),
        _ => None,
    }
}

/// The end that a clause of a note says of several values: `from the command to standstill, the longest`.
fn closing_end(note: &str, ends: &[&[&'static str]]) -> Option<(End, &'static str)> {
    let clauses = note.split([',', ':', ';']).filter_map(|it| it.trim().strip_prefix("the "));
    let mut found = clauses.filter_map(|clause| {
        let line = ends.iter().position(|line| line.contains(&clause))?;
        let word = ends.get(line)?.iter().find(|it| **it == clause)?;
        Some((if line == 0 { End::Greatest } else { End::Least }, *word))
    });
    found.next()
}

/// Whether a note is that of a limit by a threshold alone that something is measured at.
fn is_measured_limit(note: &[String]) -> bool {
    let said: Vec<_> = LIMITS.iter().filter(|it| speaks(note, it)).collect();
    said.iter().all(|it| **it == "threshold") && !said.is_empty()
}

/// The end of several limits that counts, known by the checks: the least where a higher one only ever helps them.
pub(super) fn end_of_limit(program: &Program, input: &Input) -> Option<(End, &'static str)> {
    let mut own = words(&input.note);
    if !is_limit(input) || ["threshold", "still"].iter().any(|it| speaks(&own, it)) {
        return None;
    }
    own.extend(words(&input.name));
    let is_lower = lines_spoken(ENDS, &own).iter().any(|it| it.0 == 1);
    match program.helped_by_more(input)? {
        true => Some((End::Least, "least")),
        false => is_lower.then_some((End::Greatest, "greatest")),
    }
}

/// Words by which a sheet describes what an input bounds.
const LIMITS: &[&str] = &[
    "bear", "bears", "allow", "allows", "allowed", "permitted", "permits", "limit", "may",
    "can be set", "can give", "can take", "give", "gives", "threshold", "still",
];

/// Whether an input bounds something: by its words, or by a name such as `n_max` of which the words say no other end.
pub(super) fn is_limit(input: &Input) -> bool {
    let (note, name) = (words(&input.note), words(&input.name));
    let ends = |words: &[String]| lines_spoken(ENDS, words).first().map(|it| it.0);
    let named = name.iter().any(|it| matches!(it.as_str(), "max" | "min"))
        && ends(&note).is_none_or(|it| Some(it) == ends(&name));
    named || LIMITS.iter().any(|it| speaks(&note, it))
}

/// The lines of a group of which words speak, each with its word.
pub(super) fn lines_spoken(
    group: &[&[&'static str]],
    words: &[String],
) -> Vec<(usize, &'static str)> {
    let found = group.iter().enumerate();
    let found =
        found.filter_map(|(at, line)| Some((at, *line.iter().find(|it| speaks(words, it))?)));
    found.collect()
}

/// Stands for `nominal` and `rated` where they speak of the value itself.
pub(super) const NOMINAL: &str = "nominal";

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_a_heading_says_of_each_time_holds_for_the_times_below_it() {
        for sheet in ["safe-stop", "axis-stop"] {
            let sheet = crate::Sheet::library(sheet).unwrap();
            for (name, end) in [
                ("t_logic", Some((End::Greatest, "longest"))),
                ("t_network", Some((End::Greatest, "longest"))),
                ("t_sensor", Some((End::Greatest, "longest"))),
                ("Z", None),
                ("d", None),
            ] {
                let input = sheet.program().input_named(name).unwrap();
                assert_eq!(end_measured(input), end, "{name}");
                assert_eq!(note_of(input).ends_with(", the longest"), end.is_some(), "{name}");
            }
        }
    }

    #[test]
    fn the_checks_of_the_library_say_which_of_several_limits_holds() {
        const UPPER: &[&str] =
            &["n_max", "E_max", "I_max", "p_max", "v_max", "t_ramp_high", "t_delay_high", "e_max"];
        let mut seen = std::collections::BTreeSet::new();
        for sheet in crate::library::SHEETS {
            let sheet = crate::Sheet::library(sheet.name).unwrap();
            let program = sheet.program();
            for input in &program.inputs {
                let found = end_of_limit(program, input).map(|it| it.0);
                let expected = match input.name.as_str() {
                    "R_min" | "R_drive" => Some(End::Greatest),
                    name if UPPER.contains(&name) => Some(End::Least),
                    // what is measured or known is no limit
                    "T_b" | "T_f" | "J" | "n_0" | "t_resp" | "t_build" => None,
                    _ => continue,
                };
                assert_eq!(found, expected, "{} {}", program.scopes[0].sheet, input.name);
                seen.insert(input.name.as_str().to_owned());
            }
        }
        assert!(UPPER.iter().all(|name| seen.contains(*name)), "{seen:?}");
    }
}
