//! What a distance counts beside measured times: the stop that nobody measured, the way of an axis, and all else that the
//! calculation counts.

use super::condition::Mode;
use super::finding::{Finding, caution, finding, unconfirmed};
use super::measure::{digits, trimmed};
use super::named_sheets::Issue;
use super::predicted::{Predicted, taken};
use super::protocol::Protocol;
use super::tables::is_linear;
use super::torque_lost::{SHEET, TorqueLost, WORDS};
use crate::calculation::{Results, Verdict};
use crate::diagnostic::Place;
use crate::number::InputValue;
use crate::report;
use crate::unit::never_thousands;

/// All of it; `works` where the distance stands on a ramp that works.
pub(super) fn unmeasured(protocol: &Protocol, issue: &Issue, works: bool) -> Vec<Finding> {
    let lost = protocol.lost.as_ref().filter(|_| !works);
    let mut found = match lost {
        Some(lost) => torque_lost(protocol, issue, lost),
        None if works => Vec::new(),
        None => by_calculation(protocol, issue).into_iter().collect(),
    };
    found.extend(way(protocol, issue, lost, works));
    found.extend(counts_more(protocol, issue, works));
    found
}

/// Words of the calculation, each of which alone makes the stop by torque lost no longer than the others: no stop shows
/// them.
pub(super) fn by_word(protocol: &Protocol) -> Vec<Finding> {
    let asked = protocol.plan.distance.iter().flat_map(|it| &it.inputs);
    if asked.into_iter().any(|said| said.text == "calculated works") {
        return Vec::new();
    }
    let each = protocol.predicted.iter().flat_map(|it| &it.by_word);
    each.map(|it| {
        let (name, word) = (&it.name, &it.word);
        let text = format!("`{name}` = {word} is shown");
        let longest = it.longest.map_or("never ends".to_owned(), |it| format!("takes up to {} ms by calculation", ms(it)));
        let rests = format!("no measured stop shows it; with `{name}` = {} torque lost {longest} and would be the stop that counts", it.other);
        match protocol.plan.shown.iter().find(|said| said.key == *name) {
            Some(said) => caution(
                &text,
                format!("{rests}; seen: {}", said.text),
                "look whether what was seen is of this machine, as it is wired today",
            ),
            None => unconfirmed(
                &text,
                &rests,
                &format!(
                    "read back is not seen: take torque away while all else holds the brake open and see that it closes, or trace its circuit; say who saw it, when and how in the plan: `[shown]`, and below it `{name} = \"…\"`; else calculate with `{name} = \"{}\"`", it.other
                ),
            ),
        }
    })
    .collect()
}

const LONGEST: &str = "a stop that nobody measured counts where it is the longest";

const CLOSES: &str = "or wire the brake so that the loss of torque itself closes it, see that it does, say that in `[shown]`, and calculate with `closes = \"loss\"`";

fn ms(seconds: f64) -> String {
    trimmed(seconds * 1e3, 5)
}

/// An input of the distance, in coherent SI.
fn given(issue: &Issue, name: &str) -> Option<f64> {
    let input = issue.results.program().input_named(name)?;
    match issue.results.inputs().value(input)? {
        InputValue::One(value) => Some(value.si_f64()),
        _ => None,
    }
}

/// What is typed in decimals is not less by what they leave.
const ROUNDING: f64 = 1e-6;

/// The stop by torque lost, as the distance takes it, against what the stops show.
fn torque_lost(protocol: &Protocol, issue: &Issue, lost: &TorqueLost) -> Vec<Finding> {
    let Some(other) = given(issue, "t_other") else { return Vec::new() };
    let each = lost.each.iter().map(|it| format!("`{}` {} ms", it.label, ms(it.get("t_other"))));
    let measured = protocol.decisive().map_or(0.0, |it| it.times.figure);
    let mut detail = format!(
        "torque lost, found from measured stops by {SHEET}: {}; to go on with {} ms measured",
        each.collect::<Vec<_>>().join(", "),
        ms(measured)
    );
    let figures: [(&str, f64, &str); 3] =
        [("t_other", 1e3, " ms"), ("t_worn", 1e3, " ms"), ("r_other", 1.0, "")];
    let short: Vec<String> = figures
        .into_iter()
        .filter_map(|(name, size, unit)| {
            let (own, said) = (lost.most(name), given(issue, name)?);
            let shown = |it: f64| never_thousands(trimmed(it * size, 6));
            (said < own * (1.0 - ROUNDING))
                .then(|| format!("`{name}` = {}{unit} for {}{unit}", shown(said), shown(own)))
        })
        // without the stop itself nothing else of it counts
        .take(if other == 0.0 { 1 } else { figures.len() })
        .collect();
    if !short.is_empty() {
        detail = format!("{detail}; {}", short.join(", "));
    }
    let otherwise = format!(
        "write `t_other = \"{WORDS}\"` and leave `t_worn`, `r_other` and `t_found` out; {CLOSES}"
    );
    let mut found = vec![finding(short.is_empty(), LONGEST, detail, &otherwise)];
    for one in &lost.each {
        let open = report::checks(&one.results).into_iter().filter(|it| !it.holds());
        found.extend(open.map(|check| {
            let text = format!("the brake is found from the stops under `{}`: {}", one.label, check.label());
            let filter = match &protocol.plan.recorder {
                Some(it) if it.delay() > 0.0 => "the filter of the recorder hides how the brake grips: record without it or with a quicker one; else ",
                _ => "",
            };
            let otherwise = format!("{filter}look whether n_0, J, T_0 and T_load of the calculation are those of these stops, and whether the load drives in them");
            finding(false, &text, check.detail(), &otherwise)
        }));
    }
    let held = holds_at_speed(issue, lost);
    // said to be longer in all that it makes longer
    let open = lost.fades().is_none() && held.verdict != Verdict::Holds;
    found.push(held);
    found.extend(open.then(|| {
        unconfirmed(
            "the stops show whether the brake loses torque as it heats",
            "too few samples lie between the grip of the brake and standstill: by torque lost, which heats it more, the stop may be longer than what is found here, without end",
            "record the stops whose ramp fails with shorter times between samples, and without the filter of the recorder",
        )
    }));
    found
}

/// What a written time leaves, rounded up; in s.
const WRITTEN: f64 = 1e-3;

/// A brake that holds less at the speed at which torque lost meets it, which no stop shows: asked for, or said to be
/// longer in all that it makes longer.
fn holds_at_speed(issue: &Issue, lost: &TorqueLost) -> Finding {
    let text = "the brake holds as much at the speed at which torque lost meets it";
    let rpm = std::f64::consts::PI / 30.0;
    let shown = format!(
        "up to {} r/min, where a measured stop begins at {} r/min and none shows it",
        digits(lost.most("n_other") / rpm, 4),
        digits(lost.ends.speed / rpm, 4)
    );
    let said = |name: &str| given(issue, name).unwrap_or(0.0);
    let (other, way, speed) = (said("t_other"), said("s_meas"), said("v_own"));
    let longer = other > lost.most("t_other") + WRITTEN;
    // a longer stop goes farther, from as high a speed
    let farther =
        way > lost.most("s_other") + WRITTEN && speed >= lost.most("v_other") * (1.0 - READ);
    if longer && (farther || way == 0.0 && speed == 0.0) {
        let way = if farther {
            format!(", `s_meas` = {} mm for {} mm", ms(way), ms(lost.most("s_other")))
        } else {
            String::new()
        };
        let detail = format!(
            "{shown}; a longer stop is said than one that meets as strong a brake: `t_other` = {} ms for {} ms{way}",
            ms(other),
            ms(lost.most("t_other"))
        );
        return finding(true, text, detail, "");
    }
    let heat = match lost.fades() {
        Some((share, true)) => format!(
            "as it heats it loses up to {} % over a measured stop, as the stops show it, and that is counted on",
            digits(share * 100.0, 2)
        ),
        Some((share, false)) => format!(
            "no stop shows that it loses torque as it heats; up to {} % over a measured stop is left open by the measurement, and counted on",
            digits(share * 100.0, 2)
        ),
        None => "too few samples show whether it loses torque as it heats".to_owned(),
    };
    caution(
        text,
        format!("{shown}; found for a torque that does not fall with the speed; {heat}"),
        "look up the torque of the brake at that speed and warm; where it is less there, write the longer stop: `t_other`, and where the axis moves nearer its way `s_meas` and its highest speed `v_own`",
    )
}

/// The same where the stops do not show it, from the calculation alone.
fn by_calculation(protocol: &Protocol, issue: &Issue) -> Option<Finding> {
    let predicted = protocol.predicted.as_ref()?;
    let lost = predicted.longest_is_lost()?;
    let other = given(issue, "t_other")?;
    let detail = format!(
        "torque lost takes at most {} ms by calculation, longer than the {} ms of a ramp that fails; `t_other` = {} ms",
        ms(lost),
        ms(predicted.fails - predicted.before.unwrap_or(0.0)),
        ms(other)
    );
    let otherwise = format!(
        "give `t_other`, `t_worn`, `r_other` and `t_found` of {SHEET}, from the stops whose ramp fails and the angles turned in them; {CLOSES}"
    );
    if other == 0.0 {
        Some(finding(false, LONGEST, detail, &otherwise))
    } else if other < lost * (1.0 - 1e-9) {
        let otherwise = format!(
            "look whether it is of {SHEET}: it may be shorter than calculated where the brake is stronger than was taken"
        );
        Some(caution(LONGEST, detail, &otherwise))
    } else {
        None
    }
}

/// What a way that is read from a table leaves out by its four digits.
const READ: f64 = 1e-3;

/// Way and highest speed of an axis, as the distance takes them, against what was measured and found.
fn way(
    protocol: &Protocol,
    issue: &Issue,
    lost: Option<&TorqueLost>,
    works: bool,
) -> Option<Finding> {
    let (way, speed) = (given(issue, "s_meas")?, given(issue, "v_own")?);
    if way == 0.0 && speed == 0.0 {
        return None;
    }
    let lead = || Some(taken(protocol.predicted.as_ref()?, "lead")?.1);
    let per = if is_linear(protocol) { 1.0 } else { lead()? };
    let found = |name: &str| lost.map_or(0.0, |it| it.most(name));
    // a distance that stands on a ramp that works counts the way of such stops
    let works = works && protocol.conditions.iter().any(|it| it.mode == Mode::Works);
    let stops = || {
        let all = protocol.conditions.iter().filter(|it| !works || it.mode == Mode::Works);
        all.flat_map(|it| &it.stops)
    };
    let turned = stops().map(|it| it.turned.value.abs() + it.turned.u);
    let begins = stops().map(|it| it.speed.value.abs() - it.speed.u);
    let least_way = (turned.fold(0.0, f64::max) * per).max(found("s_other"));
    let least_speed = (begins.fold(0.0, f64::max) * per).max(found("v_other"));
    let mm = |it: f64| trimmed(it * 1e3, 5);
    let holds = way >= least_way * (1.0 - READ) && speed >= least_speed * (1.0 - READ);
    Some(finding(
        holds,
        "way and speed of the axis are not less than measured",
        format!(
            "`s_meas` = {} mm, `v_own` = {} mm/s; measured{} {} mm and {} mm/s at least",
            mm(way),
            mm(speed),
            if lost.is_some() { ", and found of torque lost," } else { "" },
            mm(least_way),
            mm(least_speed)
        ),
        "write `s_meas = \"measured way\"` and `v_own = \"measured speed\"`",
    ))
}

/// Distances are rounded up to 5 mm at most, once in the calculation and once where one is issued; in m.
const ROUNDED: f64 = 0.01;

/// A length that a calculation gives, in m.
fn length(results: &Results, name: &str) -> Option<f64> {
    use uom::si::length::Dimension;
    results.get::<Dimension>(name).ok().map(|it| it.value)
}

/// A calculation whose own distance counts what the issued one leaves out for the same stop: an axis that comes nearer
/// while it stops, another device, another reach.
fn counts_more(protocol: &Protocol, issue: &Issue, works: bool) -> Option<Finding> {
    let predicted = protocol.predicted.as_ref()?;
    let own = length(&predicted.results, "S")?;
    let calculated = length(&issue.results, "S_calc");
    let here = calculated.or_else(|| length(&issue.results, "S"))?;
    let text = "the distance counts what the calculation counts";
    let mm = |it: f64| trimmed(it * 1e3, 6);
    let alike =
        "give device, its time, reach and supplement alike in `[calculation]` and `[distance]`";
    let other = given(issue, "t_other").is_some_and(|it| it > 0.0);
    if let Some((own, here, stop)) = without_stop(predicted, issue).filter(|_| other && !works)
        && own > here + ROUNDED
    {
        let detail = format!(
            "for one and the same stop, {} ms, without the way of the axis, the calculation's own distance is {} mm, that here {} mm",
            ms(stop),
            mm(own),
            mm(here)
        );
        return Some(finding(false, text, detail, alike));
    }
    let own_way = length(&predicted.results, "s_own").unwrap_or(0.0);
    if other && !works && own_way > ROUNDED && given(issue, "s_meas") == Some(0.0) {
        let detail = format!(
            "the calculation counts {} mm of way of an axis that moves towards the person, and `s_meas` = 0 mm",
            mm(own_way)
        );
        let otherwise = "write `s_meas = \"measured way\"` and `v_own = \"measured speed\"`; where it does not move there, calculate with `towards = \"past\"`";
        return Some(finding(false, text, detail, otherwise));
    }
    if own <= here + ROUNDED {
        return None;
    }
    let detail = format!(
        "the calculation's own distance is {} mm, {} here {} mm: it counts something that is left out here",
        mm(own),
        if calculated.is_some() { "that of the same stop" } else { "the one issued" },
        mm(here)
    );
    let otherwise = if other {
        match &protocol.lost {
            Some(lost) => {
                format!(
                    "the brake is better than was taken: calculate with {}",
                    brake(lost, predicted)
                )
            }
            None => format!(
                "the brake may be better than was taken: calculate with `t_b` and `T_b` of {SHEET}, and `t_b_build = \"0 ms\"`; else {alike}"
            ),
        }
    } else {
        format!(
            "an axis that moves towards the person adds its own way, and where a load drives, torque lost may take longer than what was measured: give `s_meas = \"measured way\"`, `v_own = \"measured speed\"` and `t_other = \"{WORDS}\"` of compare-with-calculation; else {alike}"
        )
    };
    // a stop that was measured may be shorter than the calculated one, and one that works than one that fails
    Some(match calculated {
        Some(_) if !works && !other => finding(false, text, detail, &otherwise),
        _ => caution(text, detail, &otherwise),
    })
}

/// The brake as the stops show it, as it is typed into a calculation.
fn brake(lost: &TorqueLost, predicted: &Predicted) -> String {
    format!(
        "`t_b = \"{} ms\"`, `t_b_build = \"0 ms\"` and `T_b = \"{} N·m\"`, as the stops show it",
        (lost.most("t_b") * 1e3 - 1e-6).ceil(),
        (lost.torque(predicted) * 10.0 + 1e-6).floor() / 10.0
    )
}

/// The calculation's distance without the way of its axis, that of the sheet here for the stop of the calculation, and
/// that stop: what is left of both is device, its time, reach and supplement.
fn without_stop(predicted: &Predicted, issue: &Issue) -> Option<(f64, f64, f64)> {
    let results = &predicted.results;
    let (own, way) = (length(results, "S")?, length(results, "s_own")?);
    let time = |name: &str| results.exact(name).map(|it| it.to_f64());
    let stop = time("t_lost")?.max(time("t_fails")?);
    let mut inputs = issue.results.inputs().without_tolerances();
    let text = |value: f64, unit: &str| format!("{value:.9} {unit}");
    for (name, text) in [
        ("t_calc", text(stop * 1e3, "ms")),
        ("t_other", text(0.0, "ms")),
        ("s_meas", text(0.0, "mm")),
        ("v_own", text(0.0, "mm/s")),
    ] {
        inputs.write_from(name, &text, Place::Argument { text: String::new() }).ok()?;
    }
    let here = Results::compute(issue.results.program(), &inputs).ok()?;
    Some((own - way, length(&here, "S_calc")?, stop))
}
