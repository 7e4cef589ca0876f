//! What a protocol says: the verdict, finding by finding, and its tables.

use serde_json::{Value, json};

use super::measure::{Measured, apart, digits, optional, with_u};
use super::plan::day;
use super::protocol::{Condition, Predicted, Protocol};
use super::series::fewest;
use super::stop::{Ramp, Stop};
use super::together::{friction, inertias};
use crate::calculation::Verdict;
use crate::diagnostic::Place;
use crate::number::InputValue;
use crate::report::{self, Column, Table};

/// One line of the verdict.
#[derive(Clone, Debug, PartialEq)]
pub struct Finding {
    /// How it came out.
    pub verdict: Verdict,
    /// What was looked at.
    pub text: String,
    /// The figures.
    pub detail: String,
    /// What to do, where it does not hold.
    pub otherwise: String,
}

const fn words(head: &'static str) -> Column {
    Column { head, figures: false }
}

const fn figures(head: &'static str) -> Column {
    Column { head, figures: true }
}

fn at(place: &Place) -> String {
    place.to_text()
}

fn finding(verdict: bool, text: &str, detail: String, otherwise: &str) -> Finding {
    Finding {
        verdict: if verdict { Verdict::Holds } else { Verdict::Fails },
        text: text.to_owned(),
        detail,
        otherwise: otherwise.to_owned(),
    }
}

fn caution(text: &str, detail: String, otherwise: &str) -> Finding {
    Finding {
        verdict: Verdict::Caution,
        text: text.to_owned(),
        detail,
        otherwise: otherwise.to_owned(),
    }
}

fn counted(stops: usize) -> String {
    if stops == 1 { "1 stop".to_owned() } else { format!("{stops} stops") }
}

/// Stops named by their places, at most a few.
fn named(stops: &[&Stop]) -> String {
    let all: Vec<String> = stops.iter().take(4).map(|stop| at(&stop.place)).collect();
    let more = stops.len().saturating_sub(all.len());
    let rest = if more > 0 { format!(" and {more} more") } else { String::new() };
    format!("{}{rest}", all.join(", "))
}

/// The verdict, what fails first.
fn findings(protocol: &Protocol) -> Vec<Finding> {
    let mut all = settings(protocol);
    all.extend(ramps(protocol));
    all.extend(against_calculation(protocol));
    all.extend(distance(protocol));
    all.extend(series(protocol));
    all.extend(trend(protocol));
    all.extend(papers(protocol));
    all.sort_by_key(|it| match it.verdict {
        Verdict::Fails | Verdict::MayFail | Verdict::NotProved => 0,
        Verdict::Caution => 1,
        Verdict::Holds => 2,
    });
    all
}

fn settings(protocol: &Protocol) -> Vec<Finding> {
    let plan = &protocol.plan;
    let mut found = Vec::new();
    let mut look =
        |what: &str, set: &super::plan::Value, share: f64, values: Vec<(&Stop, Measured)>| {
            let off: Vec<&Stop> = values
                .iter()
                .filter(|(_, it)| (it.value - set.si).abs() > share * set.si + it.u)
                .map(|it| it.0)
                .collect();
            let measured: Vec<Measured> = values.iter().map(|it| it.1).collect();
            let Some(range) = range(&measured) else {
                found.push(caution(
                    &format!("{what} as it was set"),
                    format!("{} was set, and no stop shows it", set.written),
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
                detail
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
        look("the ramp time is", set, share.si, values.collect());
    }
    if let (Some(set), Some(share)) = (&plan.t_delay, &plan.tol_delay) {
        let values = protocol.stops().filter_map(|stop| Some((stop, stop.delay?)));
        look("the delay is", set, share.si, values.collect());
    }
    found
}

/// The ramp time of a stop, for the speed that the drive's setting refers to.
fn ramp_time(stop: &Stop, reference: f64) -> Option<Measured> {
    let slope = stop.slope?;
    let value = reference / slope.value;
    Some(Measured { value, u: value * slope.u / slope.value })
}

fn range(values: &[Measured]) -> Option<(f64, f64)> {
    let low = values.iter().map(|it| it.value).fold(f64::INFINITY, f64::min);
    let high = values.iter().map(|it| it.value).fold(f64::NEG_INFINITY, f64::max);
    (low <= high).then_some((low, high))
}

fn ramps(protocol: &Protocol) -> Vec<Finding> {
    let all: Vec<&Stop> = protocol.stops().collect();
    let known = all.iter().filter(|stop| stop.ramp.is_some()).count();
    if known == 0 {
        return vec![caution(
            "every ramp finishes before torque is removed",
            "the removal of torque was not recorded".to_owned(),
            "record it, and name its channel in `removed`",
        )];
    }
    let open: Vec<&Stop> = all
        .iter()
        .copied()
        .filter(|stop| stop.ramp.is_some_and(|it| it != Ramp::Finished))
        .collect();
    let words: Vec<String> = open
        .iter()
        .take(4)
        .map(|stop| format!("{} {}", at(&stop.place), stop.ramp.map_or("", Ramp::word)))
        .collect();
    let detail = if open.is_empty() {
        format!("{known} of {known}")
    } else {
        format!("{} of {known} do not: {}", open.len(), words.join(", "))
    };
    vec![finding(
        open.is_empty(),
        "every ramp finishes before torque is removed",
        detail,
        "a distance then stands on a ramp that fails; find the cause before anybody relies on a working ramp",
    )]
}

fn against_calculation(protocol: &Protocol) -> Vec<Finding> {
    let Some(predicted) = &protocol.predicted else {
        return vec![caution(
            "the measured stops stay within the calculation",
            "no calculation is named".to_owned(),
            "name its sheet and inputs in `[calculation]`",
        )];
    };
    let mut found = Vec::new();
    for (text, limit, failing) in [
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
    ] {
        let of_class: Vec<&Stop> = protocol
            .stops()
            .filter(|stop| stop.ramp.is_some_and(|it| it != Ramp::Finished) == failing)
            .collect();
        if of_class.is_empty() {
            continue;
        }
        let beyond: Vec<&Stop> =
            of_class.iter().copied().filter(|stop| stop.time.value + stop.time.u > limit).collect();
        let longest =
            of_class.iter().map(|it| it.time).fold(Measured { value: 0.0, u: 0.0 }, |most, it| {
                if it.value + it.u > most.value + most.u { it } else { most }
            });
        let detail = format!(
            "longest {} ms, calculated at most {} ms, {}",
            with_u(longest, 1e-3),
            digits(limit * 1e3, 6),
            counted(of_class.len())
        );
        let detail = if beyond.is_empty() {
            detail
        } else {
            format!("{detail}; beyond it: {}", named(&beyond))
        };
        found.push(finding(
            beyond.is_empty(),
            text,
            detail,
            "find the cause, correct the calculation, and issue ramp, delay and distance again",
        ));
    }
    found.extend(less_friction(protocol));
    found.extend(slower(protocol, predicted));
    found.extend(unrecorded(protocol));
    let checks = report::checks(&predicted.results).into_iter();
    found.extend(checks.filter(|check| check.verdict == Verdict::Fails).map(|check| Finding {
        verdict: check.verdict,
        text: format!("the calculation holds its own checks: {}", check.label()),
        detail: check.detail(),
        otherwise: check.otherwise.clone(),
    }));
    found
}

/// How much slower than calculated a stop may begin and still be taken for one from full speed (common practice, no
/// source).
const SLOWER: f64 = 0.02;

/// Stops that begin at a lower speed than the calculation takes show nothing of full speed.
fn slower(protocol: &Protocol, predicted: &Predicted) -> Option<Finding> {
    if is_linear(protocol) {
        return None;
    }
    let inputs = predicted.results.inputs();
    let n_0 = predicted.results.program().inputs.iter().find(|input| input.name == "n_0")?;
    let Some(InputValue::One(full)) = inputs.value(n_0) else { return None };
    let full = full.si_f64();
    let of_speed = |stop: &&Stop| stop.speed.value.abs() + stop.speed.u < full * (1.0 - SLOWER);
    let slow: Vec<&Stop> = protocol.stops().filter(of_speed).collect();
    if slow.is_empty() {
        return None;
    }
    let detail = format!(
        "{} slower than n_0 = {} r/min: {}",
        counted(slow.len()),
        digits(full * 30.0 / std::f64::consts::PI, 5),
        named(&slow)
    );
    Some(finding(
        false,
        "the stops begin at the speed of the calculation",
        detail,
        "measure at the highest speed, scale the channel to the shaft of n_0, or calculate for the speed that was measured",
    ))
}

/// A distance that stands on a failing ramp, and none was recorded.
fn unrecorded(protocol: &Protocol) -> Option<Finding> {
    let asked = protocol.plan.distance.as_ref()?;
    let stands = asked.inputs.iter().any(|said| said.text == "calculated fails");
    let fails = |stop: &Stop| stop.ramp.is_some_and(|it| it != Ramp::Finished);
    (stands && !protocol.stops().any(fails)).then(|| {
        finding(
            false,
            "stops whose ramp fails were recorded",
            "none, and the distance is compared with a ramp that fails".to_owned(),
            "record stops whose ramp fails, or hand `calculated works` where the distance may stand on a ramp that works",
        )
    })
}

/// Friction below what the calculation takes at least makes every failing ramp longer.
fn less_friction(protocol: &Protocol) -> Option<Finding> {
    let predicted = protocol.predicted.as_ref()?;
    let measured = apart(&friction(&protocol.plan, protocol.stops(), 0))?;
    let only_constant = protocol.stops().filter_map(|it| it.run_down).all(|it| it.terms == 1);
    let program = predicted.results.program();
    let input = program.inputs.iter().find(|it| it.name == "T_0").filter(|_| only_constant)?;
    let least = predicted
        .results
        .inputs()
        .spread(input)
        .and_then(|it| it.ends.first())
        .map(|it| it.0.si_f64());
    let least = least.or_else(|| match predicted.results.inputs().value(input)? {
        crate::number::InputValue::One(literal) => Some(literal.si_f64()),
        _ => None,
    })?;
    let low = measured.value - measured.u;
    Some(finding(
        low >= least,
        "the friction is not less than the calculation takes",
        format!(
            "measured {} N·m, calculated with {} N·m at least",
            with_u(measured, 1.0),
            digits(least, 4)
        ),
        "calculate again with the least friction measured",
    ))
}

fn distance(protocol: &Protocol) -> Vec<Finding> {
    let Some(issue) = &protocol.issue else {
        return vec![caution(
            "the distance is issued from the measured stops",
            "no sheet is named for it".to_owned(),
            "name it in `[distance]`",
        )];
    };
    let results = report::checks(&issue.results);
    results
        .into_iter()
        .filter(|check| check.path.is_empty() || !check.holds())
        .map(|check| Finding {
            verdict: check.verdict,
            text: check.label(),
            detail: check.detail(),
            otherwise: check.otherwise.clone(),
        })
        .collect()
}

fn series(protocol: &Protocol) -> Vec<Finding> {
    let mut found = Vec::new();
    let mut out = Vec::new();
    for condition in &protocol.conditions {
        let stops = condition.times.outliers.iter().filter_map(|at| condition.stops.get(*at));
        out.extend(
            stops.map(|stop| format!("{}: {} ms", at(&stop.place), with_u(stop.time, 1e-3))),
        );
        if let Some(drift) = condition.times.drift {
            found.push(caution(
                &format!("stops under `{}` do not drift", condition.name),
                format!("{} ms from stop to stop, over {} stops", with_u(drift, 1e-3), condition.times.count),
                "find the cause, such as a brake or a gear that warms up; measure until it has settled",
            ));
        }
    }
    if !out.is_empty() {
        found.push(caution(
            "stops that stand out",
            format!("{}; they count in every figure", out.join(", ")),
            "find the cause of each: it is a finding, not a mistake to leave out",
        ));
    }
    let back: Vec<&Stop> = protocol.stops().filter(|it| it.rebound.is_some()).collect();
    if !back.is_empty() {
        found.push(caution(
            "the machine stays where it stops",
            format!("it turns back after {} stops: {}", back.len(), named(&back)),
            "look for play, elasticity or a load that drives; the way back may be a danger of its own",
        ));
    }
    found
}

fn trend(protocol: &Protocol) -> Vec<Finding> {
    let Some(trend) = &protocol.trend else { return Vec::new() };
    let next = day(protocol.plan.text("next"));
    let detail = format!("{} ms a year", digits(trend.a_year * 1e3, 3));
    match (&trend.used_up, trend.used_up_day, next) {
        (Some(text), Some(used), Some(next)) => vec![finding(
            used > next,
            "the allowance lasts until the next check",
            format!(
                "{detail}: used up on {text} if it goes on so, next check {}",
                protocol.plan.text("next")
            ),
            "check sooner, repair the machine, or move the device out",
        )],
        (Some(text), ..) => vec![caution(
            "the allowance lasts until the next check",
            format!("{detail}: used up on {text} if it goes on so; no next check is said"),
            "say the day of the next check, `next = \"…\"`",
        )],
        (None, ..) => vec![finding(true, "the allowance lasts until the next check", detail, "")],
    }
}

/// What a protocol that is signed must say.
fn papers(protocol: &Protocol) -> Vec<Finding> {
    let missing: Vec<&str> = ["machine", "instrument", "calibrated", "measured", "next"]
        .into_iter()
        .filter(|key| protocol.plan.text(key).is_empty())
        .collect();
    if missing.is_empty() {
        return Vec::new();
    }
    let detail = missing.iter().map(|it| format!("`{it}`")).collect::<Vec<_>>().join(", ");
    vec![caution(
        "the protocol says all that it must",
        format!("not said: {detail}"),
        "add it to the plan before the protocol is signed",
    )]
}

/// The tables of a protocol after its verdict.
#[must_use]
pub fn tables(protocol: &Protocol) -> Vec<Table> {
    let mut all = vec![said(protocol), conditions(protocol)];
    all.extend(handed(protocol));
    all.extend(read_back(protocol));
    all.extend(protocol.conditions.iter().map(|one| stops(protocol, one)));
    all.extend(run_downs(protocol));
    all.extend(checks(protocol));
    all.push(files(protocol));
    all
}

fn said(protocol: &Protocol) -> Table {
    const COLUMNS: &[Column] = &[words("what"), words("said")];
    let plan = &protocol.plan;
    let text = |what: &str, key: &str| {
        vec![
            what.to_owned(),
            Some(plan.text(key))
                .filter(|it| !it.is_empty())
                .unwrap_or("____________________")
                .to_owned(),
        ]
    };
    let value = |what: &str, value: &str| vec![what.to_owned(), value.to_owned()];
    Table {
        title: "machine, instrument, way of measuring".to_owned(),
        columns: COLUMNS,
        headed: false,
        rows: vec![
            text("machine", "machine"),
            text("instrument", "instrument"),
            text("calibrated on", "calibrated"),
            text("measured on", "measured"),
            text("next check on", "next"),
            value("standstill below", &plan.standstill.written),
            value("filter: centred mean over", &plan.filter.written),
            value("must stand for", &plan.hold.written),
            value("error of the instrument", &plan.error.written),
        ],
        notes: vec![
            "Times count from the stop command. Standstill is where the line of the last speeds meets zero, never before the speed stays below the threshold. Uncertainties are expanded, for 95 %: noise and steps of the recording, time between samples, error of the instrument.".to_owned(),
        ],
    }
}

fn conditions(protocol: &Protocol) -> Table {
    const COLUMNS: &[Column] = &[
        words("condition"),
        figures("stops"),
        figures("mean / ms"),
        figures("s / ms"),
        figures("longest / ms"),
        figures("mean + 3 s / ms"),
        figures("uncertainty / ms"),
        figures("to go on with / ms"),
        words("turned, longest"),
    ];
    let decisive = protocol.decisive().map(|it| it.name.as_str());
    let ms = |x: f64| digits(x * 1e3, 6);
    let up = |x: f64| format!("{:.1}", (x * 1e4 - 1e-6).ceil() / 10.0);
    let row = |it: &Condition| {
        let mark = if decisive == Some(it.name.as_str()) { " (decides)" } else { "" };
        vec![
            format!("{}{mark}", it.name),
            it.times.count.to_string(),
            ms(it.times.mean),
            ms(it.times.s),
            up(it.times.most),
            up(it.times.mean_3s),
            up(it.times.u),
            up(it.times.figure),
            turned(protocol, it.turned.figure, 4),
        ]
    };
    Table {
        title: "stopping times, by condition".to_owned(),
        columns: COLUMNS,
        headed: true,
        rows: protocol.conditions.iter().map(row).collect(),
        notes: vec![format!(
            "To go on with: the larger of the longest and of mean + 3 standard deviations (ISO 13855:2010, annex D, from memory), and the largest uncertainty of a stop; at least {} stops under every condition.",
            fewest()
        )],
    }
}

/// An angle in turns, a way in mm.
fn turned(protocol: &Protocol, value: f64, count: i32) -> String {
    if is_linear(protocol) {
        format!("{} mm", digits(value * 1e3, count))
    } else {
        format!("{} r", digits(value / std::f64::consts::TAU, count))
    }
}

fn is_linear(protocol: &Protocol) -> bool {
    let speed = crate::unit::kind("speed").map(|kind| kind.dimension);
    protocol.files.first().map(|it| it.unit.dimension) == speed
}

fn handed(protocol: &Protocol) -> Option<Table> {
    const COLUMNS: &[Column] = &[words("result"), figures("value"), words("what it is")];
    let issue = protocol.issue.as_ref()?;
    let table = report::figures_table(&issue.results);
    let sheet = issue.results.program().scopes.first().map_or("", |it| it.sheet.as_str());
    Some(Table {
        title: format!("the distance, by the sheet {sheet}"),
        columns: COLUMNS,
        headed: true,
        rows: table.rows,
        notes: issue
            .handed
            .iter()
            .map(|(name, value)| format!("{name} = {value}: measured"))
            .collect(),
    })
}

fn read_back(protocol: &Protocol) -> Option<Table> {
    const COLUMNS: &[Column] = &[
        words("setting"),
        figures("read back"),
        figures("tolerance"),
        figures("measured"),
        words("read back by, date"),
    ];
    let plan = &protocol.plan;
    let mut rows = Vec::new();
    let mut row = |what: &str,
                   set: Option<&super::plan::Value>,
                   share: Option<&super::plan::Value>,
                   values: Vec<Measured>| {
        let Some(set) = set else { return };
        let measured =
            apart(&values).map_or_else(|| "–".to_owned(), |it| format!("{} ms", with_u(it, 1e-3)));
        rows.push(vec![
            what.to_owned(),
            set.written.clone(),
            share.map_or_else(String::new, |it| format!("± {}", it.written)),
            measured,
            "____________________".to_owned(),
        ]);
    };
    let reference = plan.n_ref.as_ref();
    let ramps = protocol.stops().filter_map(|it| ramp_time(it, reference?.si)).collect();
    let about = reference.map_or_else(String::new, |it| format!("ramp time, for {}", it.written));
    row(&about, plan.t_ramp.as_ref(), plan.tol_ramp.as_ref(), ramps);
    row(
        "delay until torque is removed",
        plan.t_delay.as_ref(),
        plan.tol_delay.as_ref(),
        protocol.stops().filter_map(|it| it.delay).collect(),
    );
    (!rows.is_empty()).then(|| Table {
        title: "settings, read back".to_owned(),
        columns: COLUMNS,
        headed: true,
        rows,
        notes: Vec::new(),
    })
}

fn stops(protocol: &Protocol, condition: &Condition) -> Table {
    const ROTARY: &[Column] = &[
        words("stop"),
        figures("speed / (r/min)"),
        figures("response / ms"),
        figures("ramp time / ms"),
        words("ramp"),
        figures("torque removed / ms"),
        figures("speed left / (r/min)"),
        figures("below threshold / ms"),
        figures("standstill / ms"),
        figures("turned / r"),
        figures("mean deceleration / (r/min/s)"),
        figures("largest / (r/min/s)"),
        figures("back / (r/min)"),
    ];
    const LINEAR: &[Column] = &[
        words("stop"),
        figures("speed / (m/s)"),
        figures("response / ms"),
        figures("ramp time / ms"),
        words("ramp"),
        figures("torque removed / ms"),
        figures("speed left / (m/s)"),
        figures("below threshold / ms"),
        figures("standstill / ms"),
        figures("way / mm"),
        figures("mean deceleration / (m/s²)"),
        figures("largest / (m/s²)"),
        figures("back / (m/s)"),
    ];
    let linear = is_linear(protocol);
    let (speed, way) =
        if linear { (1.0, 1e-3) } else { (std::f64::consts::PI / 30.0, std::f64::consts::TAU) };
    let reference = protocol.plan.n_ref.as_ref();
    let row = |(number, it): (usize, &Stop)| {
        let mark = if condition.times.outliers.contains(&number) { ", stands out" } else { "" };
        // without a setting the ramp is that from the speed of this stop
        let ramp = ramp_time(it, reference.map_or(it.speed.value, |it| it.si));
        vec![
            format!("{}: {}{mark}", number + 1, at(&it.place)),
            with_u(it.speed, speed),
            optional(it.response, 1e-3),
            optional(ramp, 1e-3),
            it.ramp.map_or("not recorded", Ramp::word).to_owned(),
            optional(it.delay, 1e-3),
            optional(it.left, speed),
            with_u(it.below, 1e-3),
            with_u(it.time, 1e-3),
            with_u(it.turned, way),
            with_u(it.mean, speed),
            with_u(it.peak, speed),
            optional(it.rebound, speed),
        ]
    };
    let first = condition.stops.first();
    let note = first.map(|it| {
        format!(
            "Samples every {} ms, noise {}, recorded in steps of {} (standard deviation and step in the unit of the speed); the largest deceleration is taken over {} ms.",
            digits(it.sampling * 1e3, 3), digits(it.noise / speed, 2), digits(it.step / speed, 2), digits(it.window * 1e3, 3)
        )
    });
    Table {
        title: format!("stops: {}", condition.name),
        columns: if linear { LINEAR } else { ROTARY },
        headed: true,
        rows: condition.stops.iter().enumerate().map(row).collect(),
        notes: note.into_iter().collect(),
    }
}

fn run_downs(protocol: &Protocol) -> Option<Table> {
    const COLUMNS: &[Column] = &[
        words("stop"),
        figures("from, to / (r/min)"),
        figures("samples"),
        figures("T_0 / (N·m)"),
        figures("b / (N·m·s/rad)"),
        figures("c / (N·m·s²/rad²)"),
        figures("J / (kg·m²)"),
        figures("residual / (r/min)"),
    ];
    let plan = &protocol.plan;
    if is_linear(protocol) || (plan.inertia.is_none() && plan.torque.is_none()) {
        return None;
    }
    let rpm = std::f64::consts::PI / 30.0;
    let rows: Vec<Vec<String>> = protocol
        .stops()
        .filter_map(|stop| {
            let found = stop.run_down?;
            let term = |term: usize| {
                let value = friction(plan, std::iter::once(stop), term).first().copied();
                optional(value.filter(|_| term < found.terms), 1.0)
            };
            let inertia = optional(inertias(plan, std::iter::once(stop)).first().copied(), 1.0);
            Some(vec![
                at(&stop.place),
                format!("{}, {}", digits(found.span.0 / rpm, 4), digits(found.span.1 / rpm, 4)),
                found.count.to_string(),
                term(0),
                term(1),
                term(2),
                inertia,
                digits(found.rms / rpm, 2),
            ])
        })
        .collect();
    (!rows.is_empty()).then(|| Table {
        title: "run-downs after torque was removed".to_owned(),
        columns: COLUMNS,
        headed: true,
        rows,
        notes: vec!["Least squares of ω = ω_0 − (T_0·t + b·∫ω dt + c·∫ω² dt)/J; a term is shown where it lowers the residuals far more than chance does.".to_owned()],
    })
}

fn checks(protocol: &Protocol) -> Option<Table> {
    const COLUMNS: &[Column] = &[words("measured on"), figures("stopping time / ms")];
    let trend = protocol.trend.as_ref()?;
    let rows = trend.points.iter().map(|(day, figure)| vec![day.clone(), digits(figure * 1e3, 6)]);
    Some(Table {
        title: "checks so far".to_owned(),
        columns: COLUMNS,
        headed: true,
        rows: rows.collect(),
        notes: vec![
            "Wear is quicker near its end: a straight line looks back, not ahead.".to_owned(),
        ],
    })
}

fn files(protocol: &Protocol) -> Table {
    const COLUMNS: &[Column] =
        &[words("file"), words("condition"), figures("samples"), words("SHA-256")];
    let rows = protocol.files.iter().map(|it| {
        vec![
            it.recording.file.clone(),
            it.recording.condition.clone(),
            it.samples.to_string(),
            it.sha256.clone(),
        ]
    });
    Table {
        title: "recordings".to_owned(),
        columns: COLUMNS,
        headed: true,
        rows: rows.collect(),
        notes: Vec::new(),
    }
}

/// The protocol for a program; every value with its unit and its expanded uncertainty.
#[must_use]
pub(super) fn as_json(protocol: &Protocol) -> Value {
    let figure = |value: Option<Measured>, unit: &str| {
        value.map(|it| json!({ "value": it.value, "u": it.u, "unit": unit }))
    };
    let linear = is_linear(protocol);
    let (speed, way, fall) =
        if linear { ("m/s", "m", "m/s²") } else { ("rad/s", "rad", "rad/s²") };
    let stop = |stop: &Stop| {
        json!({
            "at": at(&stop.place), "speed": figure(Some(stop.speed), speed), "response": figure(stop.response, "s"), "ramp_deceleration": figure(stop.slope, fall),
            "ramp": stop.ramp.map(Ramp::word), "delay": figure(stop.delay, "s"), "speed_left": figure(stop.left, speed), "below_threshold": figure(Some(stop.below), "s"),
            "time": figure(Some(stop.time), "s"), "turned": figure(Some(stop.turned), way), "mean_deceleration": figure(Some(stop.mean), fall),
            "largest_deceleration": figure(Some(stop.peak), fall), "rebound": figure(stop.rebound, speed),
            "run_down": stop.run_down.map(|it| json!({
                "terms": it.terms, "a": figure(Some(it.rates[0]), "rad/s²"), "b": figure(Some(it.rates[1]), "1/s"), "c": figure(Some(it.rates[2]), "1/rad"),
                "residual": it.rms, "samples": it.count,
            })),
        })
    };
    let conditions = protocol.conditions.iter().map(|it| {
        json!({
            "name": it.name, "number": it.times.count, "mean": it.times.mean, "s": it.times.s, "longest": it.times.most, "mean_and_3_s": it.times.mean_3s,
            "u": it.times.u, "figure": it.times.figure, "unit": "s", "stand_out": it.times.outliers.iter().map(|at| at + 1).collect::<Vec<_>>(),
            "stops": it.stops.iter().map(stop).collect::<Vec<_>>(),
        })
    });
    let findings = protocol.findings().into_iter().map(|it| json!({ "verdict": it.verdict.word(), "what": it.text, "figures": it.detail, "otherwise": it.otherwise }));
    let plan = &protocol.plan;
    json!({
        "holds": protocol.holds(), "findings": findings.collect::<Vec<_>>(), "machine": plan.text("machine"), "instrument": plan.text("instrument"),
        "calibrated": plan.text("calibrated"), "measured": plan.text("measured"), "next": plan.text("next"), "standstill": plan.standstill.written,
        "filter": plan.filter.written, "stopping_time": { "value": protocol.decisive().map(|it| it.times.figure), "unit": "s" },
        "decides": protocol.decisive().map(|it| &it.name), "conditions": conditions.collect::<Vec<_>>(),
        "distance": protocol.issue.as_ref().map(|it| report::results_json(&it.results)),
        "calculated": protocol.predicted.as_ref().map(|it| json!({ "works": it.works, "fails": it.fails, "unit": "s" })),
        "trend": protocol.trend.as_ref().map(|it| json!({ "checks": it.points, "a_year": it.a_year, "unit": "s", "used_up": it.used_up })),
        "recordings": protocol.files.iter().map(|it| json!({ "file": it.recording.file, "condition": it.recording.condition, "samples": it.samples, "sha256": it.sha256 })).collect::<Vec<_>>(),
        "disclaimer": report::DISCLAIMER,
    })
}

impl Protocol {
    /// The verdict, finding by finding, what fails first.
    #[must_use]
    pub fn findings(&self) -> Vec<Finding> {
        findings(self)
    }

    /// Whether nothing fails.
    #[must_use]
    pub fn holds(&self) -> bool {
        self.findings().iter().all(|it| it.verdict != Verdict::Fails)
    }

    /// The protocol for a program: every value with its unit and its expanded uncertainty.
    #[must_use]
    pub fn json(&self) -> Value {
        as_json(self)
    }

    /// The verdict in one sentence.
    #[must_use]
    pub fn verdict_text(&self) -> String {
        let all = self.findings();
        let count = |verdict| all.iter().filter(|it| it.verdict == verdict).count();
        let (fails, looks) = (count(Verdict::Fails), count(Verdict::Caution));
        let look = if looks > 0 { format!(", {looks} to look at") } else { String::new() };
        match fails {
            0 => format!("passed: all {} findings hold{look}", all.len() - looks),
            1 => format!("NOT PASSED: 1 of {} findings FAILS{look}", all.len()),
            _ => format!("NOT PASSED: {fails} of {} findings FAIL{look}", all.len()),
        }
    }

    /// The distance that is issued, in one sentence; none where no sheet is named for it.
    #[must_use]
    pub fn issued_text(&self) -> Option<String> {
        let issue = self.issue.as_ref()?;
        let first = report::figures(&issue.results).into_iter().next()?;
        let decisive = self.decisive()?;
        let open = if self.holds() { "" } else { "; the protocol is NOT PASSED" };
        Some(format!(
            "{} = {}: from the stops under `{}`, {} ms to go on with{open}",
            first.name,
            first.value,
            decisive.name,
            digits((decisive.times.figure * 1e4).ceil() / 10.0, 6)
        ))
    }

    /// What a later check reads: names and values.
    #[must_use]
    pub fn kept(&self) -> [(&'static str, String); 3] {
        let [machine, measured, figure] = super::recheck::ROWS;
        let time = self.decisive().map_or(0.0, |it| it.times.figure);
        [
            (machine, self.plan.text("machine").to_owned()),
            (measured, self.plan.text("measured").to_owned()),
            (figure, format!("{time:.9}")),
        ]
    }

    /// The tab in which [`Self::kept`] stands.
    #[must_use]
    pub fn kept_in() -> &'static str {
        super::recheck::TAB
    }

    /// Total of the samples.
    #[must_use]
    pub fn samples(&self) -> u64 {
        self.files.iter().map(|it| it.samples).sum()
    }
}
