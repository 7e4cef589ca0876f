//! The words for how checks come out: the one place where these are chosen.

use super::check::{CheckResult, Verdict, WorstCheck};

/// All checks in a few words, for a cell: the first that fails, or that all hold; each check as its verdict, its text,
/// what to do when it does not hold, and whether that says why what it speaks of never exists.
pub(crate) fn verdict_text<'a>(
    checks: impl Iterator<Item = (Verdict, &'a str, &'a str, bool)> + Clone,
) -> String {
    let never = |(.., never): (Verdict, &str, &str, bool)| never;
    let described = |(_, text, otherwise, _): (Verdict, &str, &str, bool)| match otherwise {
        "" => text.to_owned(),
        otherwise => format!("{text}: {otherwise}"),
    };
    let failing = checks.clone().filter(|(verdict, ..)| *verdict == Verdict::Fails);
    if let Some(first) = failing.clone().next() {
        let more = and_more(failing.clone().count());
        // what never exists fails every check that speaks of it
        let alike = failing.clone().all(|it| never(first) && never(it) && it.2 == first.2);
        let more = if alike { of_the_same_cause(failing.count()) } else { more };
        return format!("FAILS: {}{more}", described(first));
    }
    let cautions = checks.clone().filter(|(verdict, ..)| *verdict == Verdict::Caution);
    cautions.clone().next().map_or_else(
        || all_hold(checks.count(), ""),
        |first| {
            let more = and_more(cautions.count());
            format!("holds, with a caution: {}{more}", described(first))
        },
    )
}

/// The verdict on one calculation.
pub(super) fn of_results(checks: &[CheckResult]) -> String {
    verdict_text(
        checks.iter().map(|it| (it.verdict, it.text.as_str(), it.otherwise.as_str(), it.never)),
    )
}

/// The verdict on everything within the tolerances; `may_not_exist` names a result that may have no value there.
pub(super) fn of_worst(checks: &[WorstCheck], may_not_exist: Option<&str>) -> String {
    for (verdict, word) in [
        (Verdict::Fails, "FAILS"),
        (Verdict::MayFail, "MAY FAIL"),
        (Verdict::NotProved, "not proved"),
    ] {
        let found = checks.iter().filter(|check| !check.caution && check.verdict == verdict);
        let Some(first) = found.clone().next() else { continue };
        let corner = match first.corner.as_str() {
            "" => String::new(),
            corner => format!(", with {corner}"),
        };
        let more = and_more(found.count());
        // a cell that says where it fails needs no more
        let why = verdict.explanation().filter(|_| verdict == Verdict::NotProved);
        let why = why.map_or_else(String::new, |words| format!("; {words}"));
        return format!("{word}: {}{corner}{more}{why}", first.text);
    }
    if let Some(name) = may_not_exist {
        return format!("MAY FAIL: `{name}` may not exist");
    }
    let cautions = checks.iter().filter(|check| check.caution && check.verdict != Verdict::Holds);
    cautions.clone().next().map_or_else(
        || all_hold(checks.len(), " over the tolerances"),
        |check| {
            let more = and_more(cautions.count());
            format!("holds, with a caution: {}{more}", check.text)
        },
    )
}

/// With which words a verdict begins while something fails or is open. Workbooks of earlier runs bear them: a word
/// may come, none goes.
pub(crate) const OPEN_VERDICTS: [&str; 4] =
    ["FAILS: ", "MAY FAIL: ", "not proved: ", "not calculated: "];

/// Whether words are a verdict of ours, of this run or of an earlier one.
pub(crate) fn is_verdict_text(text: &str) -> bool {
    let counted = text.strip_prefix("all ").and_then(|rest| rest.split_once(' '));
    let all = counted
        .is_some_and(|(count, rest)| count.parse::<usize>().is_ok() && rest.starts_with("checks "));
    let settled = [
        "holds, with a caution: ", "holds, with a question: ", "the check hold",
        "both checks hold", "no checks",
    ];
    all || OPEN_VERDICTS.iter().chain(&settled).any(|begins| text.starts_with(begins))
}

/// A verdict that a cell bears, with the questions that its run asks besides.
pub(crate) fn with_questions(verdict: &str, questions: &[String]) -> String {
    let Some(first) = questions.first() else { return verdict.to_owned() };
    let said = format!("with a question: {first}{}", and_more(questions.len()));
    let holds = ["all ", "both checks ", "the check "].iter().any(|it| verdict.starts_with(it));
    match holds && !verdict.contains(';') {
        true => format!("holds, {said}"),
        false => format!("{verdict}; {said}"),
    }
}

/// How many more fail for a cause that was told.
pub(crate) fn of_the_same_cause(count: usize) -> String {
    match and_more(count).strip_suffix(')') {
        Some(more) => format!("{more} of the same cause)"),
        None => String::new(),
    }
}

fn and_more(count: usize) -> String {
    if count > 1 { format!(" (and {} more)", count - 1) } else { String::new() }
}

fn all_hold(count: usize, over: &str) -> String {
    match count {
        0 => "no checks".to_owned(),
        1 => format!("the check holds{over}"),
        2 => format!("both checks hold{over}"),
        count => format!("all {count} checks hold{over}"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// What a cell of a workbook is told by: every verdict that is ever written is known again.
    #[test]
    fn every_verdict_is_known_as_one() {
        let check = |verdict, caution| WorstCheck {
            verdict,
            text: "the ramp ends".to_owned(),
            path: String::new(),
            otherwise: String::new(),
            caution,
            least_margin: None,
            corner: String::new(),
            least: None,
            reached: None,
            failing: None,
            short: 0.0,
        };
        let all = [
            Verdict::Holds,
            Verdict::Caution,
            Verdict::NotProved,
            Verdict::MayFail,
            Verdict::Fails,
        ];
        let mut words = vec![of_worst(&[], None), of_worst(&[], Some("n"))];
        for count in 0..4 {
            for verdict in all {
                for caution in [false, true] {
                    words.push(of_worst(&vec![check(verdict, caution); count], None));
                }
                for never in [false, true] {
                    let one = (verdict, "the ramp ends", "lengthen the delay", never);
                    words.push(verdict_text(std::iter::repeat_n(one, count)));
                }
            }
        }
        let questions = ["`t_resp` is 61 µs".to_owned()];
        words.extend(words.clone().iter().map(|it| with_questions(it, &questions)));
        words.sort();
        words.dedup();
        assert!(words.len() > 12, "{words:?}");
        for text in words {
            assert!(is_verdict_text(&text), "{text}");
            let open = OPEN_VERDICTS.iter().any(|begins| text.starts_with(begins));
            let settled = text.contains("hold") || text.starts_with("no checks");
            assert_eq!(open, !settled, "{text}");
        }
        assert!(!is_verdict_text("holds the curtain") && !is_verdict_text("all checks done"));
    }
}
