//! The worst case in a review: how far each result goes within the tolerances, and what becomes of the checks.

use super::lines::html_table;
use super::markup::{escaped, tied_words, worded};
use super::model::{Calculation, WorstReview, withholds};
use crate::calculation::Results;
use crate::diagnostic::phrase;
use crate::report::markdown::{self, cell};
use crate::report::{Check, Release, WorstCaseReport, explanations};

/// The words of what is not proved to hold.
pub(super) const NOT_PROVED: &str = "NOT PROVED";

impl WorstReview {
    /// Of a calculation; none where no input has a tolerance.
    pub(super) fn of(results: &Results, release: &Release) -> Option<Self> {
        let case = match release.worst()? {
            Ok(worst) => WorstCaseReport::of(worst),
            // within the tolerances lie values without results
            Err(problems) => {
                let case = WorstCaseReport::none(results);
                let open = problems.iter().map(|problem| problem.headline.clone()).collect();
                return Some(Self { case, open, caution: false, proved: 0, explained: Vec::new() });
            }
        };
        let open: Vec<&Check> = case.checks.iter().filter(|check| !check.holds()).collect();
        Some(Self {
            caution: !open.is_empty() && !withholds(release),
            open: open.iter().map(|it| it.sentence()).chain(case.may_not_exist()).collect(),
            proved: case.checks.len() - open.len(),
            explained: explanations(&case.checks),
            case,
        })
    }

    /// The lowest or the highest value of a result, rounded outward; none where it may not exist.
    pub(super) fn end(&self, name: &str, high: bool) -> Option<String> {
        let extent = self.case.extents.iter().find(|it| it.name == name)?;
        let [low, top] = extent.ends.as_ref().filter(|_| extent.may_not_exist.is_none())?;
        Some(if high { top } else { low }.end.clone())
    }

    /// Whether everything is proved to hold.
    pub(super) fn holds(&self) -> bool {
        self.open.is_empty()
    }

    /// Whether something other than a caution is not proved to hold.
    pub(super) fn is_open(&self) -> bool {
        !self.holds() && !self.caution
    }

    /// The cautions that are found within the tolerances, where nothing else is.
    pub(super) fn cautions(&self) -> Vec<&str> {
        let open = self.case.checks.iter().filter(|check| self.caution && !check.holds());
        open.map(|check| check.text.as_str()).collect()
    }

    /// What becomes of the checks within the tolerances, for running text.
    pub(super) fn to_text(&self) -> String {
        let all = self.proved + self.open.len();
        match (self.proved, self.open.as_slice()) {
            (0, []) => "nothing is checked".to_owned(),
            (1, []) => "the check is proved to hold within the tolerances".to_owned(),
            (2, []) => "both checks are proved to hold within the tolerances".to_owned(),
            (all, []) => format!("all {all} checks are proved to hold within the tolerances"),
            (_, open) => {
                let explained = match self.explained.join("; ") {
                    words if words.is_empty() => words,
                    words => format!(" ({words})"),
                };
                if self.caution {
                    let open = open.join("; ");
                    return format!(
                        "holds, with a caution within the tolerances: {open}{explained}"
                    );
                }
                format!(
                    "{} of {all} {NOT_PROVED} within the tolerances: {}{explained}",
                    open.len(),
                    open.join("; ")
                )
            }
        }
    }

    /// What it is about: every input with its tolerance.
    fn tolerances(&self) -> String {
        let all = self.case.tolerated.iter().map(|it| format!("{} {}", it.name, it.within));
        all.collect::<Vec<_>>().join("; ")
    }

    /// What becomes of the checks: a sentence, what is open, and what the words mean.
    fn checks(&self) -> (Option<String>, &[String]) {
        let sentence = match (self.proved, self.open.len()) {
            (0, 0) => None,
            (proved, 0) => {
                Some(format!("Every check is proved to hold within the tolerances ({proved})."))
            }
            (proved, open) => Some(format!(
                "Of {} checks {proved} are proved to hold within the tolerances; these are not:",
                proved + open
            )),
        };
        (sentence, &self.open)
    }
}

/// The worst case as Markdown.
pub(super) fn plain(calculation: &Calculation) -> String {
    let Some(worst) = &calculation.worst else {
        return "\nWorst case: no input of this calculation has a tolerance.\n".to_owned();
    };
    let mut to = format!("\nWorst case, with {}:\n", cell(&worst.tolerances()));
    to.push_str(&markdown::table(&worst.case.moving()));
    to.extend(handed_on(calculation).map(|words| format!("\n{}\n", cell(&words))));
    let (sentence, open) = worst.checks();
    to.extend(sentence.map(|words| format!("\n{words}\n")));
    if !open.is_empty() {
        to.push('\n');
    }
    to.extend(open.iter().map(|words| format!("- {}\n", cell(words))));
    to.extend(worst.explained.iter().map(|words| format!("\n{}\n", cell(words))));
    to
}

/// As a part of the page.
pub(super) fn section(calculation: &Calculation) -> String {
    let Some(worst) = &calculation.worst else {
        return "<h4>Worst case</h4><p>No input of this calculation has a tolerance.</p>"
            .to_owned();
    };
    let (sentence, open) = worst.checks();
    let sentence = sentence.map_or_else(String::new, |words| format!("<p>{words}</p>"));
    let items: String = open.iter().map(|text| format!("<li>{}</li>", tied_words(text))).collect();
    let items = if items.is_empty() { items } else { format!("<ul>{items}</ul>") };
    let explained: String = worst
        .explained
        .iter()
        .map(|text| format!("<p class=\"rest\">{}</p>", worded(text)))
        .collect();
    format!(
        "<h4>Worst case</h4><div class=\"kept\"><p class=\"orig\">This part is for the inputs as they were made: a trial does not calculate it again.</p><p>Every input anywhere within its tolerance: {}.</p>{}{sentence}{items}{explained}</div>",
        tied_words(&worst.tolerances()),
        html_table(&worst.case.moving(), "ws"),
    )
}

/// What is said where an input takes its range from another calculation: what both depend on, or two such
/// inputs, is not known to be the same; none where no such input has a range, or it is the only one that has.
pub(super) fn handed_on(calculation: &Calculation) -> Option<String> {
    let results = &calculation.results;
    let mut inputs: Vec<&str> = Vec::new();
    let mut others: Vec<&str> = Vec::new();
    for link in &calculation.links {
        let input = results.program().inputs.get(link.input)?;
        if results.inputs().spread(input).is_none() {
            continue;
        }
        inputs.push(&input.name);
        for (_, origin) in &link.from {
            if !others.contains(&origin.alias.as_str()) {
                others.push(&origin.alias);
            }
        }
    }
    let all = results.program().inputs.iter();
    if all.filter(|input| results.inputs().spread(input).is_some()).count() < 2 {
        return None;
    }
    let (verb, ranges) = match inputs.len() {
        0 => return None,
        1 => ("takes its range", "a range of its own"),
        _ => ("take their ranges", "ranges of their own"),
    };
    Some(format!(
        "{} {verb} from the worst case of {}, as {ranges}. A cause that these ranges share with one another or with other inputs counts in each as if it came alone: the worst case here may be wider than what can happen, on the safe side.",
        phrase::joined(&inputs, "and"),
        phrase::joined(&others, "and")
    ))
}

/// The same as a part of the page.
pub(super) fn handed_on_here(calculation: &Calculation) -> String {
    handed_on(calculation)
        .map_or_else(String::new, |words| format!("<p class=\"rest ho\">{}</p>", escaped(&words)))
}
