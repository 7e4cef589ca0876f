//! The tables of a protocol.

use super::condition::Condition;
use super::measure::{Measured, apart, digits, optional, trimmed, with_u};
use super::protocol::{Protocol, speed_of_a_way};
use super::seal::{READ_BACK, SAID_OF};
use super::series::fewest;
use super::stop::{Ramp, Stop, ramp_time};
use super::together::{departing, friction, inertias};
use super::torque_lost::{self, Lost};
use crate::report::{self, Column, Release, Table};
use crate::unit::never_thousands;

/// The tables of a protocol after its verdict; those of each stop, run-down and recording only where `each` says so.
#[must_use]
pub fn tables(protocol: &Protocol, each: bool) -> Vec<Table> {
    let mut all = vec![said(protocol), conditions(protocol)];
    all.extend(torque_lost(protocol));
    all.extend(handed(protocol));
    all.extend(read_back(protocol));
    if each {
        all.extend(protocol.conditions.iter().map(|one| stops(protocol, one)));
        all.extend(run_downs(protocol));
    }
    all.extend(checks(protocol));
    if each {
        all.push(files(protocol));
    }
    all
}

/// What is not known where nothing is said of the recorder's own filter.
const UNSAID: &str = "not said: times are read as recorded, later by its delay if it has one; what is shorter than it, such as a jerk or a swing back, is smaller in them";

fn said(protocol: &Protocol) -> Table {
    const COLUMNS: &[Column] = &[Column::words("what"), Column::words("said")];
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
        title: SAID_OF.to_owned(),
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
            value(
                "filter of the recorder",
                plan.recorder.as_ref().map_or(UNSAID, |it| it.written.as_str()),
            ),
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
        Column::words("condition"),
        Column::figures("stops"),
        Column::figures("mean / ms"),
        Column::figures("s / ms"),
        Column::figures("longest / ms"),
        Column::figures("mean + 3 s / ms"),
        Column::figures("uncertainty / ms"),
        Column::figures("to go on with / ms"),
        Column::words("turned, longest"),
    ];
    let decisive = protocol.decisive().map(Condition::label);
    // one stop alone has no deviation
    let shown = |x: f64, text: String| if x.is_nan() { "–".to_owned() } else { text };
    let ms = |x: f64| shown(x, digits(x * 1e3, 6));
    let up = |x: f64| shown(x, format!("{:.1}", (x * 1e4 - 1e-6).ceil() / 10.0));
    let row = |it: &Condition| {
        let mark = if decisive.as_ref() == Some(&it.label()) { " (decides)" } else { "" };
        vec![
            format!("{}{mark}", it.label()),
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
            "To go on with: the larger of the longest and of mean + 3 standard deviations (ISO 13855:2010, annex D, from memory), and the largest uncertainty of a stop; at least {} stops of one kind under every condition.",
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

pub(super) fn is_linear(protocol: &Protocol) -> bool {
    protocol.files.first().map(|it| it.unit.dimension) == speed_of_a_way()
}

/// The stop that nobody measured, as each condition shows it.
fn torque_lost(protocol: &Protocol) -> Option<Table> {
    const COLUMNS: &[Column] = &[
        Column::words("condition"),
        Column::figures("brake grips after / ms"),
        Column::figures("its torque / (N·m)"),
        Column::figures("torque lost / ms"),
        Column::figures("worn / ms"),
        Column::figures("way / mm"),
        Column::figures("highest speed / (r/min)"),
    ];
    let lost = protocol.lost.as_ref()?;
    let rpm = std::f64::consts::PI / 30.0;
    let row = |it: &Lost| {
        let ms = |name: &str| trimmed(it.get(name) * 1e3, 6);
        vec![
            it.label.clone(),
            ms("t_b"),
            trimmed(it.get("T_b"), 4),
            ms("t_other"),
            ms("t_worn"),
            trimmed(it.get("s_other") * 1e3, 5),
            digits(it.get("n_other") / rpm, 4),
        ]
    };
    let ends = lost.ends;
    Some(Table {
        title: format!(
            "torque lost, found from the measured stops by the sheet {}",
            torque_lost::SHEET
        ),
        columns: COLUMNS,
        headed: true,
        rows: lost.each.iter().map(row).collect(),
        notes: vec![format!(
            "From the times and angles of the stops whose ramp fails, with what makes it longest: J = {} kg·m², T_0 = {} N·m, T_load = {} N·m, n_0 = {} r/min, torque removed and brake commanded after {} ms, {} mm/r. The largest of all conditions counts.",
            trimmed(ends.inertia, 5),
            trimmed(ends.friction, 5),
            trimmed(ends.load, 5),
            trimmed(ends.speed / rpm, 6),
            trimmed(ends.removed * 1e3, 5),
            trimmed(ends.lead * std::f64::consts::TAU * 1e3, 6),
        )],
    })
}

fn handed(protocol: &Protocol) -> Option<Table> {
    const COLUMNS: &[Column] =
        &[Column::words("result"), Column::figures("value"), Column::words("what it is")];
    let issue = protocol.issue.as_ref()?;
    let table = report::figures_table(&issue.results, &Release::of(&issue.results));
    let sheet = issue.results.program().scopes.first().map_or("", |it| it.sheet.as_str());
    Some(Table {
        title: format!("the distance, by the sheet {sheet}"),
        columns: COLUMNS,
        headed: true,
        rows: table.rows,
        notes: issue
            .handed
            .iter()
            .map(|(name, value)| format!("{name} = {value}: {}", origin(protocol, name)))
            .collect(),
    })
}

/// Whether a value that was handed over is measured or calculated.
fn origin(protocol: &Protocol, name: &str) -> &'static str {
    let said =
        protocol.plan.distance.as_ref().and_then(|it| it.inputs.iter().find(|it| it.key == name));
    if said.is_some_and(|it| it.text.starts_with("calculated ")) {
        "calculated"
    } else if protocol.lost.is_some() && ["t_other", "t_worn", "r_other"].contains(&name) {
        "found from the measured stops, torque lost"
    } else if said.is_some_and(|it| it.text == torque_lost::WORDS) {
        "by calculation torque lost is no longer stop; no stop shows it"
    } else {
        "measured"
    }
}

fn read_back(protocol: &Protocol) -> Option<Table> {
    const COLUMNS: &[Column] = &[
        Column::words("setting"),
        Column::figures("read back"),
        Column::figures("tolerance"),
        Column::figures("measured"),
        Column::words("read back by, date"),
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
        title: READ_BACK.to_owned(),
        columns: COLUMNS,
        headed: true,
        rows,
        notes: Vec::new(),
    })
}

/// A value with its uncertainty as it can be typed for a sheet: three digits after a point may be thousands.
fn listed(value: Measured, scale: f64) -> String {
    let text = with_u(value, scale);
    let parts = text.split(" ± ").map(|it| never_thousands(it.to_owned()));
    parts.collect::<Vec<_>>().join(" ± ")
}

fn listed_if(value: Option<Measured>, scale: f64) -> String {
    value.map_or_else(|| "–".to_owned(), |value| listed(value, scale))
}

fn stops(protocol: &Protocol, condition: &Condition) -> Table {
    const ROTARY: &[Column] = &[
        Column::words("stop"),
        Column::figures("speed / (r/min)"),
        Column::figures("response / ms"),
        Column::figures("ramp time / ms"),
        Column::words("ramp"),
        Column::figures("torque removed / ms"),
        Column::figures("speed left / (r/min)"),
        Column::figures("below threshold / ms"),
        Column::figures("standstill / ms"),
        Column::figures("turned / r"),
        Column::figures("mean deceleration / (r/min/s)"),
        Column::figures("largest / (r/min/s)"),
        Column::figures("back / (r/min)"),
    ];
    const LINEAR: &[Column] = &[
        Column::words("stop"),
        Column::figures("speed / (m/s)"),
        Column::figures("response / ms"),
        Column::figures("ramp time / ms"),
        Column::words("ramp"),
        Column::figures("torque removed / ms"),
        Column::figures("speed left / (m/s)"),
        Column::figures("below threshold / ms"),
        Column::figures("standstill / ms"),
        Column::figures("way / mm"),
        Column::figures("mean deceleration / (m/s²)"),
        Column::figures("largest / (m/s²)"),
        Column::figures("back / (m/s)"),
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
            format!("{}: {}{mark}", number + 1, it.place.to_text()),
            listed(it.speed, speed),
            listed_if(it.response, 1e-3),
            listed_if(ramp, 1e-3),
            it.ramp.map_or("not recorded", Ramp::word).to_owned(),
            listed_if(it.delay, 1e-3),
            listed_if(it.left, speed),
            listed(it.below, 1e-3),
            listed(it.time, 1e-3),
            listed(it.turned, way),
            listed(it.mean, speed),
            listed(it.peak, speed),
            listed_if(it.rebound, speed),
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
        title: format!("stops: {}", condition.label()),
        columns: if linear { LINEAR } else { ROTARY },
        headed: true,
        rows: condition.stops.iter().enumerate().map(row).collect(),
        notes: note.into_iter().collect(),
    }
}

fn run_downs(protocol: &Protocol) -> Option<Table> {
    const COLUMNS: &[Column] = &[
        Column::words("stop"),
        Column::figures("from, to / (r/min)"),
        Column::figures("samples"),
        Column::figures("T_0 / (N·m)"),
        Column::figures("b / (N·m·s/rad)"),
        Column::figures("c / (N·m·s²/rad²)"),
        Column::figures("J / (kg·m²)"),
        Column::figures("residual / (r/min)"),
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
                stop.place.to_text(),
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
        notes: std::iter::once("Least squares of ω = ω_0 − (T_0·t + b·∫ω dt + c·∫ω² dt)/J; a term is shown where it lowers the residuals far more than chance does.".to_owned())
            .chain(departing(protocol.stops()).map(|it| format!("No figure is taken from them: {it}.")))
            .collect(),
    })
}

fn checks(protocol: &Protocol) -> Option<Table> {
    const COLUMNS: &[Column] = &[
        Column::words("measured on"),
        Column::words("condition"),
        Column::figures("stopping time / ms"),
        Column::words("verdict"),
    ];
    let trend = protocol.trend.as_ref()?;
    let present = trend.points.last().map(|it| it.0.as_str());
    let ms = |figure: f64| digits(figure * 1e3, 6);
    let rows = trend.points.iter().flat_map(|(day, figure)| {
        let open = trend.not_passed.iter().find(|it| it.0 == *day).map(|it| it.1.clone());
        let open = if present == Some(day) { Some("this check".to_owned()) } else { open };
        let verdict = open.unwrap_or_else(|| "passed".to_owned());
        let (decided, others): (Vec<(&str, f64)>, _) =
            trend.of_day(day).into_iter().partition(|it| it.1 == *figure);
        let name = decided.first().map_or("", |it| it.0);
        let first = vec![day.clone(), format!("{name} (decides)"), ms(*figure), verdict];
        let rest = others.into_iter().map(move |(name, figure): (&str, f64)| {
            vec![String::new(), name.to_owned(), ms(figure), String::new()]
        });
        std::iter::once(first).chain(rest)
    });
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

/// What no look at the samples shows.
const UNSEEN: &str = "Every stop was compared with every other, and none is a copy that can be seen. What no comparison sees: a copy with noise added above that of the recorder, or smoothed; one of fewer than a hundred samples that was changed; samples that were made up. Whoever signs says that each of these stops was run on this machine.";

fn files(protocol: &Protocol) -> Table {
    const COLUMNS: &[Column] = &[
        Column::words("file"),
        Column::words("condition"),
        Column::figures("samples"),
        Column::words("SHA-256"),
        Column::words("what it says above its headings"),
    ];
    let rows = protocol.files.iter().map(|it| {
        vec![
            it.recording.file.clone(),
            it.recording.condition.clone(),
            it.samples.to_string(),
            it.sha256.clone(),
            super::preamble::in_words(it),
        ]
    });
    Table {
        title: "recordings".to_owned(),
        columns: COLUMNS,
        headed: true,
        rows: rows.collect(),
        notes: vec![UNSEEN.to_owned()],
    }
}
