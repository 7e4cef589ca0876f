//! Recorded stops held against the calculation.

use super::condition::{Condition, Mode, stands_on};
use super::driven::driven;
use super::finding::{Finding, at_most, caution, counted, finding, named, unconfirmed, within};
use super::measure::{
    Measured, apart, count_f64, digits, limit as limit_text, rounded_down, trimmed, with_u,
};
use super::predicted::{Predicted, taken};
use super::protocol::Protocol;
use super::series::fewest;
use super::settings::is_measured_speed;
use super::stop::{Ramp, Stop};
use super::tables::is_linear;
use super::together::{departing, friction};
use crate::calculation::Verdict;

const LESS: &str = "the friction is not less than the calculation takes";

/// Whether the channel reads speeds as low as that of standstill: as its manual says, or as samples show. Below a least
/// speed it may read nothing, and a machine that still turns looks as one that stands. Counts are read at any speed.
pub(super) fn low_speeds(protocol: &Protocol) -> Option<Finding> {
    let plan = &protocol.plan;
    let text = "the channel reads speeds down to `standstill`";
    if plan.is_position {
        return None;
    }
    if let Some(least) = &plan.least {
        return Some(finding(true, text, format!("said down to {}", least.written), ""));
    }
    let lowest = protocol.stops().map(|it| it.lowest).fold(f64::INFINITY, f64::min);
    let unit =
        if is_linear(protocol) { ("m/s", 1.0) } else { ("r/min", std::f64::consts::PI / 30.0) };
    let (shown, standstill) = (digits(lowest / unit.1, 3), &plan.standstill);
    let detail = format!(
        "seen down to {shown} {0}, `standstill` = {1}; in a dead band below that a creep would not be seen, and is in no time",
        unit.0, standstill.written
    );
    Some(if lowest <= standstill.si {
        finding(true, text, detail, "")
    } else {
        unconfirmed(
            text,
            &detail,
            "say down to which speed its manual says that it reads, such as `least = \"0.5 r/min\"`; or record with shorter times between samples or less noise",
        )
    })
}

/// Samples that read a step above rest and hardly one below: a creep of less than half a step, or an offset, makes them.
pub(super) fn stands(protocol: &Protocol) -> Option<Finding> {
    let sum =
        |side: usize| -> usize { protocol.stops().filter_map(|it| it.flickers.get(side)).sum() };
    let (ahead, back) = (sum(0), sum(1));
    let more = count_f64(ahead.abs_diff(back));
    // four standard deviations of what is as often above as below
    (more > 4.0 * count_f64(ahead + back).sqrt()).then(|| {
        unconfirmed(
            "the machine stands at the end of `hold`",
            &format!("{ahead} samples read a step above rest there, {back} below: it creeps by less than half a step, or the channel has an offset"),
            "say a longer `hold` and record until it stands; where it stands, put the offset of the channel right, `offset …`",
        )
    })
}

pub(super) fn ramps(protocol: &Protocol) -> Vec<Finding> {
    let disabled = |stop: &&Stop| {
        protocol.plan.recordings.iter().any(|it| it.disabled && it.file == stop.file)
    };
    let all: Vec<&Stop> = protocol.stops().filter(|stop| !disabled(stop)).collect();
    let (text, wanted, otherwise) = if protocol.plan.at_once {
        (
            "torque is removed at once, without a ramp",
            Ramp::Missing,
            "a stop of category 0 has no ramp: look at the wiring and at the drive, or say `category = \"1\"`",
        )
    } else {
        (
            "every ramp finishes before torque is removed",
            Ramp::Finished,
            "a distance then stands on a ramp that fails; find the cause before anybody relies on a working ramp",
        )
    };
    if all.is_empty() && protocol.stops().any(|stop| stop.ramp.is_some()) {
        let detail = "no stop whose ramp is to work was recorded: all are said to be disabled";
        let shown = unconfirmed(
            text,
            detail,
            "record ten stops with the ramp enabled under each condition; where these were, leave `ramp = \"disabled\"` out",
        );
        return enabled(protocol, &disabled).into_iter().chain([shown]).collect();
    }
    let known = all.iter().filter(|stop| stop.ramp.is_some()).count();
    // a channel that never says "removed" shows nothing
    let seen = all.iter().any(|stop| stop.delay.is_some());
    if known == 0 || !seen {
        let detail = if known == 0 {
            "the removal of torque was not recorded".to_owned()
        } else {
            format!("no removal of torque is seen in {}", counted(known))
        };
        let record = if known == 0 {
            "record it, and name its channel in `removed`"
        } else {
            "record until torque is removed; look whether `removed` names the right channel and level"
        };
        let otherwise = if protocol.plan.at_once {
            format!("{record}; where the stop command itself removes it, name its channel in both")
        } else {
            format!(
                "{record}; where torque is removed at once, without a ramp, say `category = \"0\"`"
            )
        };
        // a calculation that counts on the removal is not shown by stops that do not show it
        return vec![if protocol.predicted.is_some() {
            finding(false, text, format!("not confirmed: {detail}"), &otherwise)
        } else {
            unconfirmed(text, &detail, &otherwise)
        }];
    }
    let open: Vec<&Stop> =
        all.iter().copied().filter(|stop| stop.ramp.is_some_and(|it| it != wanted)).collect();
    let words: Vec<String> = open
        .iter()
        .take(4)
        .map(|stop| format!("{} {}", stop.place.to_text(), stop.ramp.map_or("", Ramp::word)))
        .collect();
    let detail = if open.is_empty() {
        format!("{known} of {known}")
    } else {
        format!("{} of {known} do not: {}", open.len(), words.join(", "))
    };
    let shown = finding(open.is_empty(), text, detail, otherwise);
    enabled(protocol, &disabled).into_iter().chain([shown]).collect()
}

/// Stops whose ramp finishes where it is said to be disabled.
fn enabled(protocol: &Protocol, disabled: &dyn Fn(&&Stop) -> bool) -> Option<Finding> {
    let works = |stop: &&Stop| disabled(stop) && stop.ramp == Some(Ramp::Finished);
    let works: Vec<&Stop> = protocol.stops().filter(works).collect();
    (!works.is_empty()).then(|| {
        finding(
            false,
            "the ramp is disabled where it is said to be",
            format!("it finishes in {}: {}", counted(works.len()), named(&works)),
            "disable it and measure again, or leave `ramp = \"disabled\"` out",
        )
    })
}

/// Every condition has as many stops of one kind as a figure needs: of that on which the distance stands.
pub(super) fn of_one_kind(protocol: &Protocol) -> Vec<Finding> {
    let Some(decisive) = protocol.decisive() else { return Vec::new() };
    let said = stands_on(&protocol.plan);
    let mode = said.unwrap_or(decisive.mode);
    let all = &protocol.conditions;
    // without the removal of torque nothing tells them apart, and that is said
    if all.iter().all(|it| it.mode == Mode::One) {
        return Vec::new();
    }
    let count = |name: &str| -> usize {
        let same = all.iter().filter(|it| it.mode == mode && it.name == name);
        same.map(|it| it.stops.len()).sum()
    };
    let mut names: Vec<&str> = Vec::new();
    for one in all {
        if !names.contains(&one.name.as_str()) {
            names.push(&one.name);
        }
    }
    let few: Vec<String> = names
        .into_iter()
        .map(|name| (name, count(name)))
        .filter(|it| it.1 < fewest())
        .map(|(name, count)| match count {
            0 => format!("`{name}`: none"),
            _ => format!("`{name}`: {}", counted(count)),
        })
        .collect();
    let mut found = Vec::new();
    let kind = match mode {
        Mode::One => "",
        Mode::Works => " whose ramp works",
        Mode::CutShort => " whose ramp is cut short",
        Mode::Fails => " whose ramp fails",
    };
    if !few.is_empty() {
        let text = format!("every condition has {} stops{kind}", fewest());
        let none = !all.iter().any(|it| it.mode == mode);
        let issued = if decisive.times.count < fewest() { "; no distance is issued" } else { "" };
        let detail = format!(
            "{}; the figure stands on such stops, and one of another kind, or under another condition, says nothing of it{issued}",
            few.join(", ")
        );
        let remedy = match mode {
            Mode::Fails => {
                "switch the ramp off, record ten stops under each of them, and name their file under the same condition with `ramp = \"disabled\"`; or hand `calculated works` where the distance may stand on a ramp that works"
            }
            _ => {
                "record ten such stops under each of them, and name their file under the same condition"
            }
        };
        found.push(if none && mode == Mode::Fails {
            let text = "stops whose ramp fails were recorded";
            finding(
                false,
                text,
                "none, and the distance is compared with a ramp that fails".to_owned(),
                remedy,
            )
        } else {
            unconfirmed(&text, &detail, remedy)
        });
    }
    let longer = |it: &&Condition| it.mode != mode && it.times.figure > decisive.times.figure;
    let longer: Vec<&Condition> = all.iter().filter(longer).collect();
    if said == Some(Mode::Fails) && !longer.is_empty() {
        let each = longer.iter().map(|it| {
            format!("`{}`: {} ms to go on with", it.label(), trimmed(it.times.figure * 1e3, 6))
        });
        found.push(finding(
            false,
            "no stop of another kind is longer than those that the distance stands on",
            format!(
                "{}; it stands on `{}`, {} ms",
                each.collect::<Vec<_>>().join(", "),
                decisive.label(),
                trimmed(decisive.times.figure * 1e3, 6)
            ),
            "hand `calculated works` where the ramp that works is the longer stop; else find the cause",
        ));
    }
    found
}

pub(super) fn against_calculation(protocol: &Protocol) -> Vec<Finding> {
    let Some(predicted) = &protocol.predicted else {
        let open = unconfirmed(
            "the measured stops stay within the calculation",
            "no calculation is named",
            "name its sheet and inputs in `[calculation]`",
        );
        return std::iter::once(open).chain(less_friction(protocol)).collect();
    };
    let mut found = super::settings::read_back(protocol, predicted);
    let at_once = protocol.plan.at_once;
    let classes: &[(&str, f64, bool)] = if at_once {
        &[("the stops stay within the worst case of the calculation", predicted.fails, true)]
    } else {
        &[
            (
                "stops whose ramp works stay within the worst case of the calculation",
                predicted.works,
                false,
            ),
            (
                "stops whose ramp fails stay within the worst case of the calculation",
                predicted.fails,
                true,
            ),
        ]
    };
    for &(text, limit, failing) in classes {
        let of_class: Vec<(&Stop, Measured)> = protocol
            .stops()
            .filter(|stop| at_once || stop.ramp.is_some_and(|it| it != Ramp::Finished) == failing)
            .map(|stop| (stop, stop.time))
            .collect();
        found.extend(within(
            text,
            &of_class,
            (limit, 0.0),
            |longest, limit, stops| {
                format!("longest {longest} ms, calculated at most {limit} ms, {stops}")
            },
            None,
        ));
    }
    found.extend(far_shorter(protocol, predicted));
    found.extend(less_friction(protocol));
    found.extend(driven(protocol));
    found.extend(slower(protocol, predicted));
    found.extend(faster(protocol, predicted));
    found.extend(predicted.open.iter().map(|check| {
        // a check that may fail, or is not proved, within the tolerances is not passed either
        let label = check.label();
        let text = format!("the calculation holds its own checks within its tolerances: {label}");
        finding(false, &text, check.detail(), &check.otherwise)
    }));
    found
}

/// A stop so much shorter than the shortest calculated is not that stop (common practice, no source).
const FAR_SHORTER: f64 = 10.0;

/// Stops far shorter than calculated show that something else was measured, or that the clock counts in another unit.
fn far_shorter(protocol: &Protocol, predicted: &Predicted) -> Option<Finding> {
    let least = predicted.works.min(predicted.fails);
    let short: Vec<&Stop> =
        protocol.stops().filter(|it| FAR_SHORTER * (it.time.value + it.time.u) < least).collect();
    (!short.is_empty()).then(|| {
        finding(
            false,
            "the stops are not far shorter than calculated",
            format!(
                "{} shorter than a tenth of {} ms: {}",
                counted(short.len()),
                trimmed(least * 1e3, 5),
                named(&short)
            ),
            "look whether the clock counts in the unit that its heading says, and whether this machine was calculated",
        )
    })
}

/// How much slower than calculated a stop may begin beyond its uncertainty: what the frequency of the mains leaves, and
/// no more than the uncertainty of its time (common practice, no source).
const SLOWER: f64 = 0.005;

/// How much slower it may begin and still show something of full speed (common practice, no source).
const FAR_SLOWER: f64 = 0.02;

/// Stops that begin at a lower speed than the calculation takes at least show nothing of full speed: they are shorter.
fn slower(protocol: &Protocol, predicted: &Predicted) -> Option<Finding> {
    if is_linear(protocol) {
        return None;
    }
    let (least, most) = taken(predicted, "n_0")?;
    // a tolerance that is wider than what the mains leave says nothing of the speed that the machine reaches
    let full = if is_measured_speed(&protocol.plan) {
        0.0
    } else {
        least.max((least + most) / 2.0 * (1.0 - FAR_SLOWER))
    };
    let below = |share: f64| {
        let slow = move |it: &&Stop| it.speed.value.abs() + it.speed.u < full * (1.0 - share);
        protocol.stops().filter(slow).collect::<Vec<&Stop>>()
    };
    let slow = below(SLOWER);
    let Some(slowest) =
        slow.iter().map(|it| it.speed).min_by(|a, b| a.value.abs().total_cmp(&b.value.abs()))
    else {
        return slips(protocol);
    };
    let rpm = std::f64::consts::PI / 30.0;
    let detail = format!(
        "{} slower than n_0 = {} r/min by more than {} %, down to {} r/min: {}",
        counted(slow.len()),
        trimmed(full / rpm, 5),
        trimmed(SLOWER * 100.0, 2),
        with_u(slowest, rpm),
        named(&slow)
    );
    let text = "the stops begin at the speed of the calculation";
    // a delay that is set for another speed stays as it is
    let program = predicted.results.program();
    let set =
        protocol.plan.t_delay.as_ref().filter(|_| program.input_named("t_delay_used").is_some());
    let stays = set.map_or_else(String::new, |it| {
        format!(", with the delay that is set, `t_delay_used = \"{}\"`", it.written)
    });
    let remedy = &format!(
        "measure at the highest speed, scale the channel to the shaft of n_0, or calculate for the speed that was measured, `n_0 = \"measured speed\"`{stays}"
    );
    Some(if below(FAR_SLOWER).is_empty() {
        unconfirmed(text, &detail, remedy)
    } else {
        finding(false, text, detail, remedy)
    })
}

/// How much slower a machine may turn under one condition than under another and still be at its highest speed: what the
/// slip of an induction motor makes of its load (common practice, no source).
const SLIP: f64 = 0.05;

/// What the speeds of the conditions are where the calculation takes what was measured: it holds up to the greatest of
/// them, and stops from a lower one show nothing of it.
fn slips(protocol: &Protocol) -> Option<Finding> {
    let speed = |it: &Stop| it.speed.value.abs();
    let greatest = protocol
        .stops()
        .map(|it| it.speed)
        .max_by(|a, b| a.value.abs().total_cmp(&b.value.abs()))?;
    let below = |share: f64| {
        move |it: &&Stop| {
            speed(it) + it.speed.u < (1.0 - share) * (greatest.value.abs() - greatest.u)
        }
    };
    let rpm = std::f64::consts::PI / 30.0;
    let slow = protocol.conditions.iter().filter_map(|one| {
        let stops: Vec<&Stop> = one.stops.iter().filter(below(SLOWER)).collect();
        let least = stops.iter().copied().min_by(|a, b| speed(a).total_cmp(&speed(b)))?;
        let longest = stops.iter().map(|it| it.time.value + it.time.u).fold(0.0, f64::max);
        Some(format!(
            "under `{}` {} from {} r/min on, up to {} ms: about {} ms from the greatest",
            one.label(),
            counted(stops.len()),
            with_u(least.speed, rpm),
            digits(longest * 1e3, 4),
            digits(longest * 1e3 * greatest.value.abs() / speed(least), 4),
        ))
    });
    let slow: Vec<String> = slow.collect();
    let measured = is_measured_speed(&protocol.plan);
    if !measured && slow.is_empty() {
        return None;
    }
    let text = "the stops begin at the greatest speed that the machine reaches";
    let each = if slow.is_empty() { String::new() } else { format!("; {}", slow.join("; ")) };
    let begins =
        if measured { "calculated with n_0 as measured, up to" } else { "the greatest is" };
    let detail = format!("{begins} {} r/min{each}", with_u(greatest, rpm));
    let far: Vec<&Stop> = protocol.stops().filter(below(SLIP)).collect();
    Some(if far.is_empty() {
        caution(
            text,
            detail,
            "look whether the machine ever turns faster, under each condition: from a higher speed it stops later",
        )
    } else {
        let detail =
            format!("{detail}; more than {} % slower: {}", trimmed(SLIP * 100.0, 2), named(&far));
        finding(
            false,
            text,
            detail,
            "measure every condition from the greatest speed; where the machine never reaches it under one of them, make a protocol of its own of that one",
        )
    })
}

/// Stops that begin faster than the calculation takes at most show that it takes too little.
fn faster(protocol: &Protocol, predicted: &Predicted) -> Option<Finding> {
    if is_linear(protocol) {
        return None;
    }
    let (_, full) = taken(predicted, "n_0")?;
    let above = |stop: &&Stop| stop.speed.value.abs() - stop.speed.u > full;
    let fast: Vec<&Stop> = protocol.stops().filter(above).collect();
    let longest = fast.iter().map(|it| it.speed).max_by(|a, b| a.value.total_cmp(&b.value))?;
    let rpm = std::f64::consts::PI / 30.0;
    let detail = format!(
        "{} faster than n_0 = {} r/min, up to {} r/min: {}",
        counted(fast.len()),
        limit_text(full, longest, rpm),
        with_u(longest, rpm),
        named(&fast)
    );
    Some(finding(
        false,
        "the stops begin no faster than calculated",
        detail,
        "calculate for the highest speed that the machine reaches, or scale the channel to the shaft of n_0",
    ))
}

/// Friction below what the calculation takes at least makes every failing ramp longer.
fn less_friction(protocol: &Protocol) -> Option<Finding> {
    let taken_friction = protocol.predicted.as_ref().and_then(|it| Some((it, taken(it, "T_0")?.0)));
    // a brake is in the calculation: the whole stop is held against it, and shows no friction
    if protocol.predicted.as_ref().is_some_and(|it| it.has_a_brake) {
        return None;
    }
    let asked = protocol.plan.inertia.is_some() || protocol.plan.torque.is_some();
    if let Some(words) = departing(protocol.stops()).filter(|_| asked) {
        let remedy = "no figure is taken from a run-down while one departs: find what else brakes, and record run-downs of friction alone; a filter of the recorder bends their begin: say it, `recorder = \"first order 5 ms\"`";
        return Some(match taken_friction {
            Some(_) => unconfirmed(LESS, &words, remedy),
            None => caution("the run-downs follow T_0 + b·ω + c·ω²", words, remedy),
        });
    }
    let (predicted, constant) = taken_friction?;
    let least = |name: &str| taken(predicted, name).map_or(0.0, |it| it.0);
    // a load that helps brakes as friction does, and a run-down shows both together
    let constant = constant + least("T_load").max(0.0);
    let calculated = [constant, least("b"), least("c")];
    let measured = apart(&friction(&protocol.plan, protocol.stops(), 0))?;
    let otherwise = "calculate again with the least friction measured";
    // the least constant friction with which no other term falls short either
    let instead = |short: f64| {
        let friction = least("T_0") - short;
        (friction > 0.0).then(|| format!("`T_0 = \"{} N·m\"`", rounded_down(friction, 3)))
    };
    let fits = || protocol.stops().filter_map(|stop| Some((stop, stop.run_down?)));
    if fits().all(|it| it.1.terms == 1) && calculated.iter().skip(1).all(|it| *it == 0.0) {
        let detail = format!(
            "measured {} N·m, calculated with {} N·m at least",
            with_u(measured, 1.0),
            limit_text(constant, measured, 1.0)
        );
        // a calculation that takes what was measured has it in nine digits
        let least = constant - 1e-8 * measured.value.abs();
        let lies = Measured { value: -measured.value, u: measured.u };
        let instead = instead(constant - (measured.value - measured.u));
        return Some(at_most(LESS, detail, lies, -least, otherwise, instead.as_deref()));
    }
    let at = |stop: &Stop, speed: f64| {
        let mut sum = (Measured { value: 0.0, u: 0.0 }, 0.0);
        for (term, least) in calculated.iter().enumerate() {
            let power = [1.0, speed, speed * speed].get(term).copied().unwrap_or(0.0);
            let found = friction(&protocol.plan, std::iter::once(stop), term);
            let found = found.first().copied().unwrap_or(Measured { value: 0.0, u: 0.0 });
            sum.0.value += found.value * power;
            sum.0.u = (sum.0.u.powi(2) + (found.u * power).powi(2)).sqrt();
            sum.1 += least * power;
        }
        (speed, sum.0, sum.1)
    };
    let all = fits().flat_map(|(stop, it)| [0.0, it.span.1, it.span.0].map(|w| at(stop, w)));
    let all: Vec<(f64, Measured, f64)> = all.collect();
    let margin = |it: &(f64, Measured, f64), side: f64| it.1.value + side * it.1.u - it.2;
    let surely = all.iter().filter(|it| margin(it, 1.0) < 0.0);
    let worst = surely.min_by(|a, b| margin(a, 1.0).total_cmp(&margin(b, 1.0)));
    let open = all.iter().min_by(|a, b| margin(a, -1.0).total_cmp(&margin(b, -1.0)))?;
    let (speed, found, least) = worst.unwrap_or(open);
    let detail = format!(
        "at {} r/min measured {} N·m, calculated with {} N·m at least",
        trimmed(speed * 30.0 / std::f64::consts::PI, 3),
        with_u(*found, 1.0),
        limit_text(*least, *found, 1.0)
    );
    let instead = instead(-margin(open, -1.0));
    let lies = Measured { value: -found.value, u: found.u };
    let shown = at_most(LESS, detail, lies, -least, otherwise, instead.as_deref());
    // of several terms each has an uncertainty of its own, and they lie apart by chance
    Some(match worst {
        None if shown.verdict == Verdict::Fails => {
            unconfirmed(LESS, &shown.detail, &shown.otherwise)
        }
        _ => shown,
    })
}
