//! A protocol held against earlier ones, finding by finding.

use super::condition::{known_by, parted};
use super::finding::{Finding, caution, counted, finding, unconfirmed};
use super::measure::digits;
use super::protocol::Protocol;
use super::trend::{Missing, Trend};
use crate::environment::{day, written_day};

/// What the earlier checks say of this one.
pub(super) fn trend(protocol: &Protocol) -> Vec<Finding> {
    let Some(trend) = &protocol.trend else { return Vec::new() };
    let mut found: Vec<Finding> = lasts(protocol, trend).into_iter().collect();
    if !trend.not_passed.is_empty() {
        let each = trend.not_passed.iter().map(|(day, verdict)| format!("{day} {verdict}"));
        found.push(caution(
            "the earlier checks were passed",
            each.collect::<Vec<_>>().join("; "),
            "say what was put right since then; a trend from a machine that was changed foretells nothing",
        ));
    }
    found.extend(measured_again(protocol, trend));
    for (is_way, text, remedy) in [
        (
            true,
            "it is measured as in the check before",
            "what differs may be the machine or the way of measuring: measure as before, or say why not; stops from another speed are not compared",
        ),
        (
            false,
            "settings and inputs are those of the check before",
            "look whether the machine and the device are what is said now; what was not changed on purpose is a mistake then or now",
        ),
    ] {
        let each = trend.differs.iter().filter(|it| it.is_way == is_way);
        let each = each.map(|it| format!("`{}`: {} then, {} now", it.what, it.then, it.now));
        let each: Vec<String> = each.collect();
        if !each.is_empty() {
            found.push(caution(text, each.join("; "), remedy));
        }
    }
    if let Some((due, late)) = &trend.late {
        found.push(caution(
            "the check comes by the day on which it was due",
            format!(
                "due {due}, measured {}, {} late",
                protocol.plan.text("measured"),
                if *late == 1 { "1 day".to_owned() } else { format!("{late} days") }
            ),
            "find out whether the machine ran in between; nothing was known of its stops then",
        ));
    }
    found
}

/// Conditions that were measured before: not measured now, the longest of them may be the one that decides.
fn measured_again(protocol: &Protocol, trend: &Trend) -> Vec<Finding> {
    let reason = |it: &Missing| it.left_out(&protocol.plan);
    let words = |it: &Missing| {
        let longer = if it.decides { ", longer than all that is measured now" } else { "" };
        let now = match it.stops {
            0 => String::new(),
            few => format!(", {} now", counted(few)),
        };
        format!("`{}`: {} ms on {}{longer}{now}", it.name, digits(it.figure * 1e3, 6), it.day)
    };
    let (left_out, open): (Vec<&Missing>, Vec<&Missing>) =
        trend.missing.iter().partition(|it| reason(it).is_some());
    let listed = |all: &[&Missing], words: &dyn Fn(&Missing) -> String| {
        all.iter().map(|it| words(it)).collect::<Vec<_>>().join("; ")
    };
    let mut found = Vec::new();
    if let Some(first) = open.first() {
        let text = "every condition that was measured before is measured now";
        let detail = format!("not measured now: {}", listed(&open, &words));
        // one line for all ways in which its stops ended, where none of them is measured
        let name = parted(&first.name).0;
        let measured = protocol.conditions.iter().any(|it| known_by(&it.name) == known_by(name));
        let name = if measured { first.name.as_str() } else { name };
        let remedy = format!(
            "measure under it too, or name it as before; where the machine is never in it any more, say why in the plan: `[left_out]`, and below it `\"{}\" = \"…\"`",
            name
        );
        found.push(if open.iter().any(|it| it.decides) {
            finding(false, text, detail, &remedy)
        } else {
            unconfirmed(text, &detail, &remedy)
        });
    }
    if !left_out.is_empty() {
        let with_reason = |it: &Missing| {
            format!("{}: {}", words(it), reason(it).map_or("", |said| said.text.as_str()))
        };
        found.push(caution(
            "conditions that are left out",
            listed(&left_out, &with_reason),
            "look whether the machine is really never in them any more",
        ));
    }
    found
}

fn lasts(protocol: &Protocol, trend: &Trend) -> Option<Finding> {
    const LASTS: &str = "the allowance lasts until the next check";
    let shown = trend.first_used_up()?;
    let detail = format!("{} ms a year under `{}`", digits(shown.a_year * 1e3, 3), shown.name);
    let next = protocol.plan.text("next");
    Some(match (shown.used_up, day(next)) {
        (Some(used), Some(until)) => finding(
            used > until,
            LASTS,
            format!(
                "{detail}: used up on {} if it goes on so, next check {next}",
                written_day(used)
            ),
            "check sooner, repair the machine, or move the device out",
        ),
        (Some(used), None) => caution(
            LASTS,
            format!(
                "{detail}: used up on {} if it goes on so; no next check is said",
                written_day(used)
            ),
            "say the day of the next check, `next = \"…\"`",
        ),
        (None, _) => finding(true, LASTS, detail, ""),
    })
}
