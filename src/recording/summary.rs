//! A protocol in one sentence, and for a program.

use super::condition::Condition;
use super::finding::Finding;
use super::verdict::findings;
use serde_json::{Value, json};

use super::finding::counted;
use super::measure::{Measured, digits};
use super::protocol::Protocol;
use super::seal::{LEFT_OUT, OF, SAID, SPEED_OF, seal_of_json};
use super::series::fewest;
use super::settings::is_measured_speed;
use super::stop::{Ramp, Stop};
use super::tables::is_linear;
use super::trend::Missing;
use crate::calculation::Verdict;
use crate::environment::day;
use crate::report::{self, Release};

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
            "at": stop.place.to_text(), "speed": figure(Some(stop.speed), speed), "response": figure(stop.response, "s"), "ramp_deceleration": figure(stop.slope, fall),
            "ramp": stop.ramp.map(Ramp::word), "delay": figure(stop.delay, "s"), "speed_left": figure(stop.left, speed), "below_threshold": figure(Some(stop.below), "s"),
            "time": figure(Some(stop.time), "s"), "turned": figure(Some(stop.turned), way), "mean_deceleration": figure(Some(stop.mean), fall),
            "largest_deceleration": figure(Some(stop.peak), fall), "rebound": figure(stop.rebound, speed),
            "run_down": stop.run_down.map(|it| json!({
                "terms": it.terms, "a": figure(Some(it.rates[0]), "rad/s²"), "b": figure(Some(it.rates[1]), "1/s"), "c": figure(Some(it.rates[2]), "1/rad"),
                "residual": it.rms, "samples": it.count,
                "departs": it.departs.map(|it| json!({ "at": it.at, "by": it.by, "noise": it.noise, "unit": "rad/s" })),
            })),
        })
    };
    let conditions = protocol.conditions.iter().map(|it| {
        json!({
            "name": it.name, "ramp": it.mode.word(), "speed": figure(Some(it.speed()), speed), "number": it.times.count, "mean": it.times.mean, "s": it.times.s, "longest": it.times.most, "mean_and_3_s": it.times.mean_3s,
            "u": it.times.u, "figure": it.times.figure, "unit": "s", "stand_out": it.times.outliers.iter().map(|at| at + 1).collect::<Vec<_>>(),
            "stops": it.stops.iter().map(stop).collect::<Vec<_>>(),
        })
    });
    let findings = protocol.findings().iter().map(|it| json!({ "verdict": it.verdict.word(), "confirmed": it.confirmed, "what": it.text, "figures": it.detail, "otherwise": it.otherwise }));
    let plan = &protocol.plan;
    let mut all = json!({
        "verdict": protocol.verdict_text(), "holds": protocol.holds(), "confirmed": protocol.is_confirmed(), "findings": findings.collect::<Vec<_>>(), "machine": plan.text("machine"), "instrument": plan.text("instrument"),
        "calibrated": plan.text("calibrated"), "measured": plan.text("measured"), "next": plan.text("next"), "standstill": plan.standstill.written,
        "filter": plan.filter.written, "hold": plan.hold.written, "error": plan.error.written, "recorder": plan.recorder.as_ref().map(|it| &it.written), "stopping_time": { "value": protocol.decisive().map(|it| it.times.figure), "unit": "s" },
        "decides": protocol.decisive().map(Condition::label), "conditions": conditions.collect::<Vec<_>>(),
        "distance": protocol.issue.as_ref().map(|it| report::results_json(&it.results, &Release::of(&it.results))),
        "calculated": protocol.predicted.as_ref().map(|it| json!({ "works": it.works, "fails": it.fails, "unit": "s" })),
        "trend": protocol.trend.as_ref().map(|it| json!({
            "checks": it.points, "not_passed": it.not_passed, "a_year": it.a_year, "unit": "s", "used_up": it.used_up,
            "conditions": it.conditions.iter().map(|it| json!({ "name": it.name, "checks": it.points, "a_year": it.a_year })).collect::<Vec<_>>(),
        })),
        "recordings": protocol.files.iter().map(|it| json!({ "file": it.recording.file, "condition": it.recording.condition, "samples": it.samples, "wraps": it.wraps, "sha256": it.sha256, "above": it.above })).collect::<Vec<_>>(),
        "said": plan.alike().into_iter().collect::<std::collections::BTreeMap<_, _>>(),
        "left_out": protocol.missing().iter().map(|it| json!({ "name": it.name, "figure": it.figure, "unit": "s", "measured": it.day, "reason": it.left_out(plan).map(|it| &it.text) })).collect::<Vec<_>>(),
        "prints": protocol.prints(usize::MAX), "disclaimer": report::DISCLAIMER,
    });
    // sealed as it will be read: a number is what its digits say
    let read: Value = serde_json::from_str(&all.to_string()).unwrap_or_default();
    if let Some(all) = all.as_object_mut() {
        all.insert("seal".to_owned(), json!(seal_of_json(&read)));
    }
    all
}

impl Protocol {
    /// The verdict, finding by finding, what fails first.
    #[must_use]
    pub fn findings(&self) -> &[Finding] {
        self.found.get_or_init(|| findings(self))
    }

    /// Whether nothing fails.
    #[must_use]
    pub fn holds(&self) -> bool {
        self.findings().iter().all(|it| it.verdict != Verdict::Fails)
    }

    /// Whether everything that the verdict assumes was recorded or said.
    #[must_use]
    pub fn is_confirmed(&self) -> bool {
        self.findings().iter().all(|it| it.confirmed)
    }

    /// Whether nothing fails and nothing is left unconfirmed: only then a distance may be calculated from it again.
    #[must_use]
    pub fn is_released(&self) -> bool {
        self.holds() && self.is_confirmed()
    }

    /// The protocol for a program: every value with its unit and its expanded uncertainty.
    #[must_use]
    pub fn json(&self) -> Value {
        as_json(self)
    }

    /// Whether a stop turns back faster than what counts as standing.
    fn turns_back(&self, stop: &Stop) -> bool {
        stop.rebound.is_some_and(|back| back.value > self.plan.standstill.si)
    }

    /// The verdict in one sentence.
    #[must_use]
    pub fn verdict_text(&self) -> String {
        let all = self.findings();
        let count = |verdict| all.iter().filter(|it| it.verdict == verdict).count();
        let (fails, looks) = (count(Verdict::Fails), count(Verdict::Caution));
        let look = if looks > 0 { format!(", {looks} to look at") } else { String::new() };
        match fails {
            0 => {
                let held = match all.len() - looks {
                    0 => "nothing fails".to_owned(),
                    1 => "the finding holds".to_owned(),
                    more => format!("all {more} findings hold"),
                };
                let open = all.iter().filter(|it| !it.confirmed).count();
                let passed = match open {
                    0 => "passed".to_owned(),
                    _ => {
                        format!("passed, NOT CONFIRMED: {open} of {} findings not shown", all.len())
                    }
                };
                let back = self.stops().filter(|it| self.turns_back(it)).count();
                let back = match back {
                    0 => String::new(),
                    back => format!(", TURNS BACK in {}", counted(back)),
                };
                format!("{passed}{back}: {held}{look}{}", self.up_to_speed())
            }
            1 => format!("NOT PASSED: 1 of {} findings FAILS{look}", all.len()),
            _ => format!("NOT PASSED: {fails} of {} findings FAIL{look}", all.len()),
        }
    }

    /// Up to which speed it holds, where the calculation takes the measured one.
    fn up_to_speed(&self) -> String {
        let speeds = self.stops().map(|it| it.speed.value.abs());
        let most = speeds.fold(0.0, f64::max) * 30.0 / std::f64::consts::PI;
        match is_measured_speed(&self.plan) {
            true => format!("; it holds up to {} r/min, as measured", digits(most, 5)),
            false => String::new(),
        }
    }

    /// The distance that was issued, such as `S = 480 mm`.
    #[must_use]
    pub fn distance_text(&self) -> Option<String> {
        let results = &self.issue.as_ref()?.results;
        let first = report::figures(results, &Release::of(results)).into_iter().next()?;
        Some(format!("{} = {}", first.name, first.value))
    }

    /// Whether the day of the next check is over.
    #[must_use]
    pub fn is_overdue(&self) -> bool {
        let next = day(self.plan.text("next"));
        next.zip(self.today).is_some_and(|(next, today)| next < today)
    }

    /// The distance that is issued, in one sentence; none where no sheet is named for it.
    #[must_use]
    pub fn issued_text(&self) -> Option<String> {
        let distance_text = self.distance_text()?;
        let decisive = self.decisive()?;
        let distance = self.plan.distance.as_ref();
        let works =
            distance.is_some_and(|it| it.inputs.iter().any(|said| said.text == "calculated works"));
        let works = if works { "; it stands on a ramp that WORKS" } else { "" };
        let open = match (self.holds(), self.is_confirmed()) {
            (false, _) => "; the protocol is NOT PASSED",
            (true, false) => "; the protocol is NOT CONFIRMED",
            (true, true) => "",
        };
        Some(format!(
            "{distance_text}: from the stops under `{}`, {} ms to go on with{works}{open}",
            decisive.label(),
            digits((decisive.times.figure * 1e4).ceil() / 10.0, 6)
        ))
    }

    /// What a later check reads: names and values.
    #[must_use]
    pub fn kept(&self) -> Vec<(String, String)> {
        let [machine, measured, figure, verdict, prints] = super::seal::ROWS;
        let time = self.decisive().map_or(0.0, |it| it.times.figure);
        let own = [
            (machine, self.plan.text("machine").to_owned()),
            (measured, self.plan.text("measured").to_owned()),
            (figure, format!("{time:.9}")),
            (verdict, self.verdict_text()),
            (prints, self.prints(super::recheck::PRINTS)),
            ("calibrated", self.plan.text("calibrated").to_owned()),
            ("next", self.plan.text("next").to_owned()),
        ];
        let with = self.plan.alike().into_iter();
        // in marks: the name of a sheet alone in a cell would ask for its form
        let with = with.map(|(key, value)| (format!("{SAID}{key}"), format!("`{value}`")));
        // fewer stops than a figure needs are nothing that a later check is held against
        let each = self.conditions.iter().filter(|it| it.times.count >= fewest());
        let each = each.flat_map(|it| {
            let (label, speed) = (it.label(), it.speed());
            [
                (format!("{OF}{label}"), format!("{:.9}", it.times.figure)),
                (format!("{SPEED_OF}{label}"), format!("{:.9} {:.9}", speed.value, speed.u)),
            ]
        });
        let left_out = self.missing().iter();
        let left_out = left_out
            .map(|it| (format!("{LEFT_OUT}{}", it.name), format!("{:.9} {}", it.figure, it.day)));
        let own = own.into_iter().map(|(name, value)| (name.to_owned(), value));
        own.chain(with).chain(each).chain(left_out).collect()
    }

    /// Conditions of earlier checks that are not measured now, explained or not: every later one still knows them.
    fn missing(&self) -> &[Missing] {
        self.trend.as_ref().map_or(&[], |it| &it.missing)
    }

    /// What the stops are known by again, at most so many of them.
    fn prints(&self, most: usize) -> String {
        self.stops().take(most).map(|it| it.print.as_str()).collect::<Vec<_>>().join(" ")
    }

    /// The tab in which [`Self::kept`] stands.
    #[must_use]
    pub fn kept_in() -> &'static str {
        super::seal::TAB
    }
}
