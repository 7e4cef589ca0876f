//! The least margins of a product line, as bars.

use super::bars::{Bar, Frame, draw};
use crate::review::lines::tied;
use crate::review::markup::escaped;
use crate::review::product::ProductReview;

/// Most bars of a picture; the table below it has them all.
const BARS: usize = 10;

/// A product line as a part of the page.
pub(in crate::review) fn margins(line: &ProductReview) -> String {
    let mut with: Vec<_> = line
        .checks
        .iter()
        .filter_map(|check| {
            let worst = check.worst.as_ref()?;
            Some((check, worst, worst.part?))
        })
        .collect();
    with.sort_by(|a, b| a.2.total_cmp(&b.2));
    let left_out = with.len().saturating_sub(BARS);
    let bars: Vec<Bar> = with
        .iter()
        .take(BARS)
        .map(|(check, worst, part)| Bar {
            name: check.text.replace('`', ""),
            part: Some(part.clamp(-1.0, 1.0)),
            words: format!(
                "{} ({:.1} %), {}{}",
                worst.margin.left.clone().unwrap_or_default(),
                part * 100.0,
                worst.variant,
                if check.fails > 0 { failing(check.fails, check.caution) } else { String::new() }
            ),
            wanting: check.fails > 0,
        })
        .collect();
    let tight: Vec<String> =
        bars.iter().take(3).map(|bar| format!("{}: {}", bar.name, bar.words)).collect();
    let title = format!("Least margins of the product line {}", line.alias);
    let frame = Frame {
        title,
        words: format!("{}. The least margins: {}.", line.in_words(), tight.join("; ")),
        head: "least margin over all variants, as part of the limit; a full bar is 100 %"
            .to_owned(),
        beside: false,
        left: "wanting",
        right: "left",
    };
    let picture = if bars.is_empty() {
        String::new()
    } else {
        let more = match left_out {
            0 => String::new(),
            1 => " One further check has more left; it is in the table.".to_owned(),
            many => format!(" {many} further checks have more left; they are in the table."),
        };
        format!(
            "<figure><div class=\"wide\" tabindex=\"0\" role=\"group\" aria-label=\"picture\">{}</div><figcaption>For each check the variant that has the least left, the tightest check first.{more}</figcaption></figure>",
            draw(&frame, &bars)
        )
    };
    let rows: String = line
        .checks
        .iter()
        .map(|check| {
            let outcome = if check.fails == 0 { "holds in all".to_owned() } else { failing(check.fails, check.caution).trim_start_matches(": ").to_owned() };
            let (least, there, variant) = check.worst.as_ref().map_or_else(Default::default, |worst| {
                (worst.margin.left.clone().unwrap_or_default(), signs(&worst.margin.sides), worst.variant.clone())
            });
            format!(
                "<tr><th scope=\"row\">{}</th><td>{outcome}</td><td class=\"q\">{}</td><td>{}</td><td>{}</td></tr>",
                escaped(&check.text), tied(&least), tied(&there), escaped(&variant)
            )
        })
        .collect();
    format!(
        "{picture}<details><summary>All checks of the product line</summary><div class=\"wide\" tabindex=\"0\" role=\"group\" aria-label=\"checks of the product line\"><table class=\"ml\"><thead><tr><th scope=\"col\">check</th><th scope=\"col\">outcome</th><th scope=\"col\" class=\"q\">least margin</th><th scope=\"col\">there</th><th scope=\"col\">variant</th></tr></thead><tbody>{rows}</tbody></table></div></details>"
    )
}

fn failing(count: usize, caution: bool) -> String {
    let word = if caution { "caution" } else { "FAILS" };
    format!(": {word} in {count}")
}

fn signs(text: &str) -> String {
    text.replace("<=", "≤").replace(">=", "≥").replace("<>", "≠")
}
