//! Settings: as measured, as read back, as the calculation takes them.

use super::channel::{Edge, quantity};
use super::finding::{Finding, at_most, caution, counted, finding, named, unconfirmed, within};
use super::measure::{
    Measured, apart, count_f64, digits, limit as limit_text, rounded_up, trimmed, with_u,
};
use super::of_sheet::{OF_FRICTION, OF_INERTIA, SAME, is_of_a_key};
use super::plan::{Plan, Value};
use super::predicted::{Predicted, taken};
use super::protocol::Protocol;
use super::stop::{Stop, ramp_time};
use super::together::{friction, inertias};
use super::torque_lost::BRAKE;

pub(super) fn settings(protocol: &Protocol) -> Vec<Finding> {
    let plan = &protocol.plan;
    let mut found = Vec::new();
    let mut look =
        |what: &str, set: &Value, share: f64, values: Vec<(&Stop, Measured)>, unseen: &str| {
            let off: Vec<&Stop> = values
                .iter()
                .filter(|(_, it)| (it.value - set.si).abs() > share * set.si + it.u)
                .map(|it| it.0)
                .collect();
            let measured: Vec<Measured> = values.iter().map(|it| it.1).collect();
            let Some(range) = range(&measured) else {
                found.push(unconfirmed(
                    &format!("{what} as it was set"),
                    &format!("{} was set, and no stop shows it", set.written),
                    "record what shows it, or look at it another way",
                ));
                return;
            };
            let detail = format!(
                "set {}, measured {} ms to {} ms in {}",
                set.written,
                digits(range.0 * 1e3, 5),
                digits(range.1 * 1e3, 5),
                counted(values.len())
            );
            let detail = if off.is_empty() {
                format!("{detail}{unseen}")
            } else {
                format!("{detail}; beyond its tolerance: {}", named(&off))
            };
            found.push(finding(
                off.is_empty(),
                &format!("{what} as it was set"),
                detail,
                "read the setting back, find the cause, and measure again",
            ));
        };
    if let (Some(set), Some(reference), Some(share)) = (&plan.t_ramp, &plan.n_ref, &plan.tol_ramp) {
        let values =
            protocol.stops().filter_map(|stop| Some((stop, ramp_time(stop, reference.si)?)));
        look("the ramp time is", set, share.si, values.collect(), "");
    }
    if let (Some(set), Some(share)) = (&plan.t_delay, &plan.tol_delay) {
        let values: Vec<(&Stop, Measured)> =
            protocol.stops().filter_map(|stop| Some((stop, stop.delay?))).collect();
        // by what the command is seen late every delay looks shorter, and none is longer than its tolerance lets it be
        let most = set.si * (1.0 + share.si);
        let late = values.iter().map(|it| most - it.1.value + it.1.u).fold(f64::INFINITY, f64::min);
        let unseen = format!(
            "; that `stop` is recorded late by up to {} ms more than `removed`, every time with it, would not be seen",
            rounded_up(late.max(0.0) * 1e3, 2)
        );
        look("the delay is", set, share.si, values, &unseen);
    }
    found.extend(wide(plan));
    found
}

/// Digits of a time of a ramp that is written for another speed, and what they leave of it.
const RAMP: i32 = 6;
const WRITTEN: f64 = 1e-5;

/// Above it a tolerance says hardly anything (common practice, no source).
const WIDE: f64 = 0.2;

/// Tolerances so wide that what is held against them hardly shows anything.
fn wide(plan: &Plan) -> Option<Finding> {
    let all = [
        ("tol_ramp", &plan.tol_ramp),
        ("tol_delay", &plan.tol_delay),
        ("tol_J", &plan.tol_inertia),
    ];
    let of = |(key, value): (&str, &Option<Value>)| {
        let value = value.as_ref().filter(|it| it.si > WIDE)?;
        Some(format!("`{key}` = {}", value.written))
    };
    let mut wide: Vec<String> = all.into_iter().filter_map(of).collect();
    let of_distance = plan.distance.iter().flat_map(|it| &it.inputs);
    let shares = of_distance.filter(|said| ["tol", "dev_max"].contains(&said.key.as_str()));
    wide.extend(
        shares
            .filter(|said| {
                quantity(&["ratio"], &said.text, &said.place).is_ok_and(|it| it.0 > WIDE)
            })
            .map(|said| format!("`{}` of the distance = {}", said.key, said.text)),
    );
    (!wide.is_empty()).then(|| {
        caution(
            "tolerances are narrow enough to show something",
            wide.join(", "),
            "read the tolerance in the manual of the device again; a difference from the calculation that is accepted is no more than what was calculated may be off",
        )
    })
}

fn range(values: &[Measured]) -> Option<(f64, f64)> {
    let low = values.iter().map(|it| it.value).fold(f64::INFINITY, f64::min);
    let high = values.iter().map(|it| it.value).fold(f64::NEG_INFINITY, f64::max);
    (low <= high).then_some((low, high))
}

/// A setting that a calculation takes at its most: read back, it may not be more.
struct AtMost {
    key: &'static str,
    what: &'static str,
    /// Its names in the sheets.
    names: &'static [&'static str],
    /// The unit that it is shown in, and its size.
    unit: (&'static str, f64),
    read: fn(&Plan) -> Option<(f64, &Value)>,
    /// Whether it is set in the drive, and asked for where it was not read back.
    asked: bool,
}

const INERTIA: &str = "the inertia is not more than calculated";

const AT_MOST: &[AtMost] = &[
    AtMost {
        key: "tol_ramp",
        what: "the tolerance of the ramp is not more than calculated",
        names: &["tol_ramp"],
        unit: ("%", 0.01),
        read: |plan| plan.tol_ramp.as_ref().map(|it| (it.si, it)),
        asked: true,
    },
    AtMost {
        key: "tol_delay",
        what: "the tolerance of the delay is not more than calculated",
        names: &["tol_delay"],
        unit: ("%", 0.01),
        read: |plan| plan.tol_delay.as_ref().map(|it| (it.si, it)),
        asked: true,
    },
    AtMost {
        key: "J",
        what: INERTIA,
        names: &["J_ref", "J"],
        unit: ("kg·m²", 1.0),
        read: |plan| {
            let share = plan.tol_inertia.as_ref().map_or(0.0, |it| it.si);
            plan.inertia.as_ref().map(|it| (it.si * (1.0 + share), it))
        },
        asked: false,
    },
];

/// A setting of which neither more nor less is the safe side.
struct Alike {
    key: &'static str,
    what: &'static str,
    unit: (&'static str, f64),
    read: fn(&Plan) -> Option<&Value>,
    /// Whether it is asked for where the calculation takes none of it.
    always: bool,
    /// A calculation without it, and its key, in words.
    none: &'static str,
    keys: &'static str,
}

const ALIKE: &[Alike] = &[
    Alike {
        key: "f",
        what: "the ramp is rounded as calculated",
        unit: ("%", 0.01),
        read: |plan| plan.rounded.as_ref(),
        always: true,
        none: "no rounding of the ramp",
        keys: "`f`",
    },
    Alike {
        key: "t_reserve",
        what: "the delay has the reserve that was calculated",
        unit: ("ms", 1e-3),
        read: |plan| plan.reserve.as_ref(),
        always: false,
        none: "no reserve",
        keys: "`t_reserve`",
    },
];

/// Whether an input is measured, read back, or asked for where it is neither.
fn is_shown(protocol: &Protocol, predicted: &Predicted, name: &str) -> bool {
    let plan = &protocol.plan;
    match name {
        // measured, or compared and asked for above
        _ if is_of_a_key(plan, name) => true,
        _ if OF_INERTIA.contains(&name) => {
            plan.inertia.is_some() || !inertias(plan, protocol.stops()).is_empty()
        }
        _ if OF_FRICTION.contains(&name) => {
            !predicted.has_a_brake && !friction(plan, protocol.stops(), 0).is_empty()
        }
        // a stop is followed down to standstill
        "n_end" => taken(predicted, name).is_some_and(|it| it.1 == 0.0),
        // what can be set at all is seen in what is set
        _ => ["_step", "_low", "_high"].iter().any(|end| name.ends_with(end)),
    }
}

/// Whether the calculation takes the speed that was measured.
pub(super) fn is_measured_speed(plan: &Plan) -> bool {
    let inputs = plan.calculation.iter().flat_map(|it| &it.inputs);
    inputs.into_iter().any(|said| said.key == "n_0" && said.text == "measured speed")
}

/// The channel that says both when the stop is commanded and when torque is removed: the command itself removes it.
fn one_channel(plan: &Plan) -> Option<&str> {
    plan.stop.heading().filter(|it| plan.removed.as_ref().and_then(Edge::heading) == Some(*it))
}

/// A time from command to removal that is calculated, and that no stop can show: one channel says both, or both come in
/// one sample at every stop.
fn at_once_by_construction(protocol: &Protocol, predicted: &Predicted) -> Option<Finding> {
    let plan = &protocol.plan;
    plan.removed.as_ref()?;
    let delay = taken(predicted, "t_delay").map(|it| it.1).filter(|_| !plan.at_once);
    let calculated = predicted.before.or(delay).filter(|it| *it > 0.0)?;
    let text = "the time from the command to the removal of torque is measured";
    let says = format!("calculated with {} ms", trimmed(calculated * 1e3, 6));
    if let Some(channel) = one_channel(plan) {
        let detail = format!(
            "`stop` and `removed` name one channel, `{}`, so that it is 0 in every stop; {says}",
            channel
        );
        let remedy = "record the stop command on a channel of its own, and name that in `stop`; where the command itself removes torque, say `before = \"0 ms\"` in `[calculation]` and leave `t_delay` out";
        return Some(finding(false, text, detail, remedy));
    }
    let shorter = far_below(protocol, calculated, |it| it.delay)?;
    let detail = format!("{shorter}; {says}");
    Some(caution(
        text,
        detail,
        "look whether `stop` names the channel of the command, and not another contact of what removes torque",
    ))
}

/// A time that stops show in the mean, where it is less than so small a share of the one that is calculated, the longest
/// of them: more than a careful maximum leaves (common practice, no source).
const FAR: f64 = 0.3;

fn far_below(
    protocol: &Protocol,
    calculated: f64,
    of: fn(&Stop) -> Option<Measured>,
) -> Option<String> {
    let all: Vec<(&Stop, Measured)> =
        protocol.stops().filter_map(|it| Some((it, of(it)?))).collect();
    let sampling = all.iter().map(|it| it.0.sampling).fold(0.0, f64::max);
    let mean = all.iter().map(|it| it.1.value).sum::<f64>() / count_f64(all.len().max(1));
    // what lies between two samples is in every one of them, and half of it in their mean
    let far = mean + sampling / 2.0 < FAR * calculated && calculated > 3.0 * sampling;
    (far && !all.is_empty()).then(|| match all.iter().all(|it| it.1.value.abs() < 1e-6) {
        true => format!("both come in one sample in {}", counted(all.len())),
        false => format!("{} ms in the mean of {}", digits(mean * 1e3, 2), counted(all.len())),
    })
}

/// A response so much shorter than calculated that hardly a drive has it: a channel that is late takes off it.
fn quick_response(protocol: &Protocol, predicted: &Predicted) -> Option<Finding> {
    let calculated =
        taken(predicted, "t_resp").map(|it| it.1).filter(|_| !protocol.plan.at_once)?;
    let shorter = far_below(protocol, calculated, |it| it.response)?;
    Some(caution(
        "the response is about as calculated",
        format!("{shorter}; calculated with {} ms", trimmed(calculated * 1e3, 6)),
        "look for an input filter or a cycle time of the channel in `stop`: by what it is late the stop looks shorter; where the drive is so quick, calculate with less",
    ))
}

/// Every setting of the calculation against what was read back from the device and measured: what is off to the
/// unsafe side fails, what nobody read back or measured is listed.
pub(super) fn read_back(protocol: &Protocol, predicted: &Predicted) -> Vec<Finding> {
    let plan = &protocol.plan;
    let mut found = Vec::new();
    let mut open: Vec<String> = Vec::new();
    let mut beside: Vec<(&str, &str)> = Vec::new();
    let calculated = |name: &str| taken(predicted, name);
    let remedy = "set the device as calculated, or calculate for what is set, and measure again";
    // a ramp is as steep as its reference speed over its time; a sheet without a setting takes it from n_0
    let ramp = match (calculated("t_ramp_set"), calculated("n_ref")) {
        (Some(time), Some(speed)) => Some((speed.0, time.1)),
        _ => calculated("n_0").zip(calculated("t_ramp")).map(|(speed, time)| (speed.0, time.1)),
    };
    match (ramp, &plan.n_ref, &plan.t_ramp) {
        (Some((speed, time)), Some(n_ref), Some(t_ramp)) => {
            let (set, asked) = (n_ref.si / t_ramp.si, speed / time);
            let rpm = speed * 30.0 / std::f64::consts::PI;
            let detail = format!(
                "read back {} for {}, calculated with {} s for {} r/min",
                t_ramp.written,
                n_ref.written,
                trimmed(time, 6),
                trimmed(rpm, 6)
            );
            let text = "the ramp is set as calculated";
            // a sheet that takes the ramp for n_0 takes another time for another speed
            let remedy = match calculated("n_ref") {
                None => format!(
                    "set the device as calculated, or calculate for what is set, `t_ramp = \"{} s\"` in `[calculation]`, which is {} for {}, and measure again",
                    rounded_up(speed / set, RAMP),
                    t_ramp.written,
                    n_ref.written
                ),
                Some(_) => remedy.to_owned(),
            };
            found.push(if set > asked * (1.0 + WRITTEN) {
                let steeper =
                    "calculate torque, power and the load of the resistor for the steeper ramp";
                caution(text, detail, steeper)
            } else {
                finding(set >= asked * (1.0 - SAME), text, detail, &remedy)
            });
        }
        (Some(_), ..) => open.push("`n_ref` and `t_ramp` are not read back".to_owned()),
        (None, _, Some(_)) => beside.push(("no ramp", "`t_ramp`, `n_ref`, `tol_ramp`")),
        (None, ..) => {}
    }
    // earlier removal cuts the ramp short, later removal makes a failing ramp longer: none is the safe side
    match (calculated("t_delay"), &plan.t_delay) {
        (Some(asked), Some(set)) => {
            let detail = format!(
                "read back {}, calculated with {} ms",
                set.written,
                trimmed(asked.1 * 1e3, 6)
            );
            let same = set.si >= asked.0 * (1.0 - SAME) && set.si <= asked.1 * (1.0 + SAME);
            let stays = format!("say the delay that is set, `t_delay_used = \"{}\"`", set.written);
            let takes = predicted.results.program().input_named("t_delay_used").is_some();
            let remedy = if takes && is_measured_speed(plan) {
                format!(
                    "the device stays as it is: in `[calculation]` {stays}; or measure from the speed that was calculated"
                )
            } else {
                remedy.to_owned()
            };
            found.push(finding(same, "the delay is set as calculated", detail, &remedy));
        }
        (Some(_), None) if !plan.at_once => open.push("`t_delay` is not read back".to_owned()),
        (None, Some(set)) => match predicted.before {
            Some(before) => {
                let late = set.si * (1.0 + plan.tol_delay.as_ref().map_or(0.0, |it| it.si));
                let detail = format!(
                    "read back {}, so at most {} ms, calculated with at most {} ms",
                    set.written,
                    trimmed(late * 1e3, 5),
                    trimmed(before * 1e3, 5)
                );
                let text = "the delay is not set longer than calculated";
                found.push(finding(late <= before * (1.0 + SAME), text, detail, remedy));
            }
            None => beside.push(("no delay", "`t_delay`, `tol_delay`")),
        },
        _ => {}
    }
    for one in ALIKE {
        match (calculated(one.key), (one.read)(plan)) {
            (Some((low, high)), Some(set)) => {
                let (unit, size) = one.unit;
                let detail = format!(
                    "read back {}, calculated with {} {unit}",
                    set.written,
                    trimmed(high / size, 6)
                );
                let same = set.si >= low * (1.0 - SAME) && set.si <= high * (1.0 + SAME);
                found.push(finding(same, one.what, detail, remedy));
            }
            (Some((_, high)), None) if high > 0.0 || one.always => {
                open.push(format!("`{}` is not read back", one.key));
            }
            // what is not there is as calculated
            (None, Some(set)) if set.si > 0.0 => beside.push((one.none, one.keys)),
            _ => {}
        }
    }
    for setting in &predicted.settings {
        let Some(set) = &setting.set else {
            open.push(format!(
                "`{0}` is not read back: say it in `[settings]`, `{0} = \"…\"`",
                setting.name
            ));
            continue;
        };
        let (written, same) = set;
        let detail = format!("read back {written}, calculated {}", setting.calculated);
        let text = if setting.is_input {
            format!("`{}` is as the calculation takes it", setting.name)
        } else {
            format!("`{}` is set as calculated", setting.name)
        };
        let shown = BRAKE.contains(&setting.name.as_str())
            && protocol.lost.as_ref().is_some_and(|it| it.shows_brake(predicted));
        found.push(if !same && (shown || setting.no_longer) {
            let why = if shown {
                "the measured stops show the brake that is calculated with"
            } else {
                "with all that was read back no stop is longer than calculated"
            };
            let otherwise = "look whether what was read back is of this machine";
            caution(&text, format!("{detail}; {why}"), otherwise)
        } else {
            finding(*same, &text, detail, remedy)
        });
    }
    for one in AT_MOST {
        let asked = one.names.iter().find_map(|name| calculated(name));
        match (asked, (one.read)(plan)) {
            (Some((_, most)), Some((high, written))) => {
                let (unit, size) = one.unit;
                let detail = format!(
                    "said {}, so at most {} {unit}, calculated with at most {} {unit}",
                    written.written,
                    trimmed(high / size, 5),
                    trimmed(most / size, 5)
                );
                let holds = high <= most * (1.0 + SAME);
                found.push(finding(holds, one.what, detail, remedy));
            }
            (Some(_), None) if one.asked => open.push(format!("`{}` is not read back", one.key)),
            _ => {}
        }
    }
    let inertia = OF_INERTIA.iter().find_map(|name| Some((name, calculated(name)?)));
    if let Some((measured, (name, (_, most)))) =
        apart(&inertias(plan, protocol.stops())).zip(inertia)
    {
        let detail = format!(
            "measured {} kg·m², calculated with at most {} kg·m²",
            with_u(measured, 1.0),
            limit_text(most, measured, 1.0)
        );
        // a calculation that takes what was measured has it in nine digits
        let most = most + 1e-8 * measured.value;
        let instead =
            format!("`{name} = \"{} kg·m²\"`", rounded_up(measured.value + measured.u, 4));
        found.push(at_most(INERTIA, detail, measured, most, remedy, Some(&instead)));
    }
    let limits = [
        (
            "the response is not longer than calculated",
            calculated("t_resp").map(|it| it.1).filter(|_| !plan.at_once),
            "response",
            "t_resp",
        ),
        (
            "torque is removed no later than calculated",
            predicted.before.filter(|_| one_channel(plan).is_none()),
            "removal of torque",
            "before",
        ),
    ];
    for (text, limit, what, name) in limits {
        let Some(limit) = limit else { continue };
        let of = |stop: &Stop| if what == "response" { stop.response } else { stop.delay };
        let values: Vec<(&Stop, Measured)> =
            protocol.stops().filter_map(|stop| Some((stop, of(stop)?))).collect();
        let shown = within(
            text,
            &values,
            (limit, SAME),
            |longest, limit, stops| {
                format!("longest {longest} ms in {stops}, calculated with at most {limit} ms")
            },
            Some(name),
        );
        if shown.is_none() {
            open.push(format!("no stop shows the {what}"));
        }
        found.extend(shown);
    }
    open.extend(
        predicted
            .depends
            .iter()
            .filter(|name| !is_shown(protocol, predicted, name))
            .filter(|name| !predicted.settings.iter().any(|it| it.is_input && it.name == **name))
            .map(|name| {
                let place = if OF_INERTIA.contains(&name.as_str()) {
                    "the plan, `J = \"…\"`"
                } else {
                    "`[settings]`"
                };
                format!("`{name}`: no stop shows it, and nothing is said of it: look it up and say it in {place}")
            }),
    );
    if !beside.is_empty() {
        let words = |of: fn(&(&'static str, &'static str)) -> &'static str| {
            beside.iter().map(of).collect::<Vec<_>>().join(", ")
        };
        found.push(unconfirmed(
            "the calculation takes every setting that is said",
            &format!("it takes {}", words(|it| it.0)),
            &format!(
                "leave {} out of the plan, or calculate with a sheet that takes them",
                words(|it| it.1)
            ),
        ));
    }
    found.extend(at_once_by_construction(protocol, predicted));
    found.extend(quick_response(protocol, predicted));
    if !open.is_empty() {
        found.push(unconfirmed(
            "every setting of the calculation is confirmed",
            &open.join(", "),
            "read it back from the device and say it in the plan, or measure what shows it",
        ));
    }
    found
}
