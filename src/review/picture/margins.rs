//! The margins of a product line: what every variant has left of each limit, and the worst of them by name.

use super::NUMBER;
use super::strips::{STROKES, Strip, draw};
use crate::calculation::Verdict;
use crate::review::formula::symbol_in_text;
use crate::review::lines::tied;
use crate::review::markup::escaped;
use crate::review::product::{LineCheck, ProductReview, WorstVariant};

/// Most checks of a picture; the table below it has them all.
const STRIPS: usize = 8;

/// A product line as a part of the page.
pub(in crate::review) fn margins(line: &ProductReview) -> String {
    let drawn = line.checks.iter().enumerate().filter(|(_, check)| !check.left.is_empty());
    let least = |check: &LineCheck| match &check.worst {
        Some(worst) if worst.share.is_none() => -1.0,
        _ => check.left.iter().fold(1.0, |least: f64, it| least.min(it.0)),
    };
    let mut with: Vec<_> = drawn.map(|(at, check)| (at, check, least(check))).collect();
    with.sort_by(|a, b| a.2.total_cmp(&b.2));
    let left_out = with.len().saturating_sub(STRIPS);
    with.truncate(STRIPS);
    let letters: Vec<(usize, char)> = with.iter().map(|(at, ..)| *at).zip('a'..='z').collect();
    format!("{}{}{}", picture(line, &with, left_out), worst(line, &letters), table(&line.checks))
}

fn picture(line: &ProductReview, with: &[(usize, &LineCheck, f64)], left_out: usize) -> String {
    let strips: Vec<Strip> = with
        .iter()
        .zip('a'..='z')
        .map(|((_, check, _), letter)| Strip {
            letter,
            name: check.text.replace('`', ""),
            words: {
                let [left, _, variant] = check.least();
                let share = check.worst.as_ref().and_then(|worst| worst.share);
                let left = match (left.as_str(), share) {
                    ("", _) => String::new(),
                    (left, None) => format!("{left}, "),
                    (left, Some(share)) => format!("{left} ({:.1} %), ", share * 100.0),
                };
                let open =
                    if holds(check) { String::new() } else { format!(": {}", outcome(check)) };
                format!("{left}{variant}{open}")
            },
            caution: check.caution,
            left: check.left.clone(),
        })
        .collect();
    if strips.is_empty() {
        return String::new();
    }
    let tight: Vec<String> =
        strips.iter().take(3).map(|strip| format!("{}: {}", strip.name, strip.words)).collect();
    // what fails without a margin has no place in the picture, and is not to be missed for that
    let bare: Vec<String> = line
        .checks
        .iter()
        .filter(|check| check.left.is_empty() && !holds(check))
        .map(|check| format!("{} ({})", check.text.replace('`', ""), outcome(check)))
        .collect();
    let bare = match bare.as_slice() {
        [] => String::new(),
        all => format!("Not drawn, since it has no margin: {}. ", all.join("; ")),
    };
    let words = format!("{}. {bare}The least margins: {}.", line.to_text(), tight.join("; "));
    let many = strips.iter().any(|strip| strip.left.len() > STROKES);
    let marks = if many {
        "The height tells how many variants have so much left; open bars are those that fail there, bars with broken edges those with a caution."
    } else {
        "Each stroke is a variant; a cross is one that fails there, a triangle one with a caution there."
    };
    let more = match left_out {
        0 => String::new(),
        1 => " One further check has more left; it is in the table.".to_owned(),
        many => format!(" {many} further checks have more left; they are in the table."),
    };
    let title = format!("Margins of the product line {}", line.alias);
    let bare = if bare.is_empty() { bare } else { format!("<b>{}</b>", escaped(&bare)) };
    format!(
        "<figure class=\"ln\"><div class=\"wide\" tabindex=\"0\" role=\"group\" aria-label=\"picture\">{}</div><figcaption>{NUMBER}{bare}What is left of each limit that is two figures, as a share of the larger side of the check: 0\u{a0}% stands at the limit. {marks} Named is the variant with the least margin; the check of which a variant has the least share comes first.{more}</figcaption></figure>",
        draw(&title, &words, &strips)
    )
}

/// The worst variants, each with the check that has least and its share of all that are drawn.
fn worst(line: &ProductReview, letters: &[(usize, char)]) -> String {
    if line.worst.is_empty() {
        return String::new();
    }
    let heads: String = letters
        .iter()
        .map(|(_, letter)| format!("<th scope=\"col\" class=\"q\">{letter} / %</th>"))
        .collect();
    let rows: String = line
        .worst
        .iter()
        .map(|variant| {
            let text = line.checks.get(variant.check).map_or("", |check| &check.text);
            let letter = letters.iter().find(|(at, _)| *at == variant.check);
            let name = letter.map_or_else(|| escaped(text), |(_, letter)| letter.to_string());
            let cells: String = letters.iter().map(|(at, _)| share(variant, *at)).collect();
            format!(
                "<tr><th scope=\"row\">{}</th><td class=\"q\">{}</td><td>{name}</td>{cells}</tr>",
                escaped(&variant.name),
                tied(&left(variant))
            )
        })
        .collect();
    let title = line.worst_text();
    format!(
        "<div class=\"wide\" tabindex=\"0\" role=\"group\" aria-label=\"worst variants\"><table class=\"wv\"><caption>{title}: the check with the least share left, what is left there, and the share of each limit drawn above</caption><thead><tr><th scope=\"col\">variant</th><th scope=\"col\" class=\"q\">left</th><th scope=\"col\">check</th>{heads}</tr></thead><tbody>{rows}</tbody></table></div>{}",
        line.worst.iter().map(inputs).collect::<String>()
    )
}

/// The inputs of a variant that does not hold; folded until they are asked for.
fn inputs(variant: &WorstVariant) -> String {
    if variant.inputs.is_empty() {
        return String::new();
    }
    let all = variant.inputs.iter().map(|(name, value)| {
        format!("<span class=\"in\">{} = {}</span>", symbol_in_text(name), tied(value))
    });
    format!(
        "<details class=\"vi\"><summary>Inputs of {}, which does not hold</summary><p>{}</p></details>",
        escaped(&variant.name),
        all.collect::<Vec<_>>().join("; ")
    )
}

fn left(variant: &WorstVariant) -> String {
    let margin = variant.margin.as_ref();
    margin.and_then(|margin| margin.left.clone()).unwrap_or_else(|| "FAILS".to_owned())
}

/// What a variant has left of a check, in %.
fn share(variant: &WorstVariant, check: usize) -> String {
    match variant.left.get(check) {
        Some((Some(share), true)) => format!("<td class=\"q\">{:.1}</td>", share * 100.0),
        Some((Some(share), false)) => {
            format!("<td class=\"q\"><b>{}</b></td>", minus(&format!("{:.1}", share * 100.0)))
        }
        _ => "<td class=\"q\">–</td>".to_owned(),
    }
}

/// Every check with what became of it.
fn table(checks: &[LineCheck]) -> String {
    let rows: String = checks
        .iter()
        .map(|check| {
            let [least, there, variant] = check.least();
            format!(
                "<tr><th scope=\"row\">{}</th><td>{}</td><td class=\"q\">{}</td><td>{}</td><td>{}</td></tr>",
                escaped(&check.text.replace('`', "")),
                outcome(check),
                tied(&least),
                tied(&there),
                escaped(&variant)
            )
        })
        .collect();
    format!(
        "<details><summary>All checks of the product line</summary><div class=\"wide\" tabindex=\"0\" role=\"group\" aria-label=\"checks of the product line\"><table class=\"ml\"><thead><tr><th scope=\"col\">check</th><th scope=\"col\">outcome</th><th scope=\"col\" class=\"q\">least margin</th><th scope=\"col\">there</th><th scope=\"col\">variant</th></tr></thead><tbody>{rows}</tbody></table></div></details>"
    )
}

fn holds(check: &LineCheck) -> bool {
    check.open().is_empty()
}

fn outcome(check: &LineCheck) -> String {
    if holds(check) {
        return "holds in all".to_owned();
    }
    let word = |verdict: Verdict| match verdict {
        Verdict::Caution => Verdict::Caution.name(),
        verdict => verdict.word(),
    };
    let open = check.open().into_iter();
    open.map(|(verdict, count)| format!("{} in {count}", word(verdict)))
        .collect::<Vec<_>>()
        .join(", ")
}

fn minus(text: &str) -> String {
    text.replace('-', "\u{2212}")
}
