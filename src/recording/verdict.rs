//! The verdict of a protocol, finding by finding.

use super::against_earlier::trend;
use super::asked::doubts;
use super::finding::{Finding, caution, counted, finding, named};
use super::measure::{digits, with_u};
use super::preamble::contradictions;
use super::protocol::Protocol;
use super::stop::Stop;
use super::unmeasured::{by_word, unmeasured};
use super::{compared, settings};
use crate::calculation::{Results, Verdict};
use crate::environment::{day, written_day};
use crate::report;

/// The verdict, what fails first.
pub(super) fn findings(protocol: &Protocol) -> Vec<Finding> {
    let mut all = settings::settings(protocol);
    all.extend(compared::low_speeds(protocol));
    all.extend(compared::stands(protocol));
    all.extend(doubts(protocol));
    all.extend(compared::ramps(protocol));
    all.extend(compared::of_one_kind(protocol));
    all.extend(compared::against_calculation(protocol));
    all.extend(by_word(protocol));
    all.extend(idle(protocol));
    all.extend(distance(protocol));
    all.extend(series(protocol));
    all.extend(trend(protocol));
    all.extend(papers(protocol));
    all.extend(read_on(protocol));
    all.extend(bounces(protocol));
    all.extend(contradictions(protocol));
    all.sort_by_key(|it| match it.verdict {
        Verdict::Fails | Verdict::MayFail | Verdict::NotProved => 0,
        Verdict::Caution => 1,
        Verdict::Holds => 2,
    });
    all
}

/// Inputs of the calculation and of the distance that are given and change nothing in the case that is chosen.
fn idle(protocol: &Protocol) -> Vec<Finding> {
    let calculation = protocol.predicted.iter().map(|it| &it.results);
    let both = calculation.chain(protocol.issue.iter().map(|it| &it.results));
    let said = both.flat_map(Results::unused);
    said.map(|it| caution("every input that is given counts", it.headline, &it.remedy)).collect()
}

fn distance(protocol: &Protocol) -> Vec<Finding> {
    let Some(issue) = &protocol.issue else {
        // a distance that is asked for and not issued is among what its stops lack
        if protocol.plan.distance.is_some() {
            return Vec::new();
        }
        return vec![caution(
            "the distance is issued from the measured stops",
            "no sheet is named for it".to_owned(),
            "name it in `[distance]`",
        )];
    };
    let results = report::checks(&issue.results);
    let asked = protocol.plan.distance.as_ref();
    let works =
        asked.is_some_and(|it| it.inputs.iter().any(|said| said.text == "calculated works"));
    let stands = works.then(|| {
        caution(
            "the distance does not stand on a ramp that works",
            format!("it does: {} ms where the ramp works, {} ms where it fails", protocol.predicted.as_ref().map_or_else(String::new, |it| digits(it.works * 1e3, 6)), protocol.predicted.as_ref().map_or_else(String::new, |it| digits(it.fails * 1e3, 6))),
            "only where the assessment of the risk allows it; else record stops whose ramp is disabled, and hand `calculated fails`",
        )
    });
    let results = results.iter().filter(|check| check.path.is_empty() || !check.holds());
    let checks = results.map(Finding::from);
    checks.chain(stands).chain(unmeasured(protocol, issue, works)).collect()
}

fn series(protocol: &Protocol) -> Vec<Finding> {
    let mut found = Vec::new();
    let mut out = Vec::new();
    for condition in &protocol.conditions {
        let stops = condition.times.outliers.iter().filter_map(|at| condition.stops.get(*at));
        out.extend(
            stops.map(|stop| format!("{}: {} ms", stop.place.to_text(), with_u(stop.time, 1e-3))),
        );
        if let Some(drift) = condition.times.drift {
            found.push(caution(
                &format!("stops under `{}` do not drift", condition.label()),
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
            format!("it turns back in {}: {}", counted(back.len()), named(&back)),
            "look for play, elasticity or a load that drives; the way back may be a danger of its own",
        ));
    }
    found
}

/// How long a calibration is taken to hold, and a machine to stay as it was measured, where nothing else is said: a
/// year, in days (common practice, no source).
const YEAR: i64 = 366;

/// What a protocol that is signed must say, and its days.
fn papers(protocol: &Protocol) -> Vec<Finding> {
    let text = |key: &str| protocol.plan.text(key);
    let missing: Vec<&str> = ["machine", "instrument", "calibrated", "measured", "next"]
        .into_iter()
        .filter(|key| text(key).is_empty())
        .collect();
    let mut found = Vec::new();
    if !missing.is_empty() {
        let detail = missing.iter().map(|it| format!("`{it}`")).collect::<Vec<_>>().join(", ");
        found.push(caution(
            "the protocol says all that it must",
            format!("not said: {detail}"),
            "add it to the plan before the protocol is signed",
        ));
    }
    let measured = day(text("measured"));
    if let Some((until, measured)) = day(text("calibrated_until")).zip(measured) {
        found.push(finding(
            measured <= until,
            "the instrument is calibrated on the day of the measurement",
            format!("measured {}, calibrated until {}", text("measured"), text("calibrated_until")),
            "calibrate the instrument and measure again",
        ));
        found.extend(far_calibrated(protocol));
    } else if let Some((calibrated, measured)) = day(text("calibrated")).zip(measured)
        && measured - calibrated > YEAR
    {
        found.push(caution(
            "the instrument is calibrated on the day of the measurement",
            format!(
                "calibrated {}, {} days before the measurement, and nothing says for how long",
                text("calibrated"),
                measured - calibrated
            ),
            "say how long it holds, `calibrated_until = \"…\"`, or calibrate and measure again",
        ));
    }
    // a day begins up to fourteen hours sooner elsewhere
    if let Some((measured, today)) = measured.zip(protocol.today)
        && measured > today + 1
    {
        found.push(caution(
            "the measurement is not in the future",
            format!("measured {}, today is {}", text("measured"), written_day(today)),
            "correct the day, or the clock of this computer",
        ));
    }
    if let Some((measured, next)) = measured.zip(day(text("next")))
        && next - measured > YEAR
    {
        found.push(caution(
            "the next check is within a year",
            format!("next check {}, {} days after the measurement", text("next"), next - measured),
            "say an earlier day, or why brake, friction and settings stay as they are for so long",
        ));
    }
    found
}

/// How long no calibration is taken to hold, in days: five years (common practice, no source).
const LONG: i64 = 5 * YEAR;

/// A calibration that is said to hold for years: a slip in one of its days makes it.
fn far_calibrated(protocol: &Protocol) -> Option<Finding> {
    let text = |key: &str| protocol.plan.text(key);
    let (from, until) = day(text("calibrated")).zip(day(text("calibrated_until")))?;
    (until - from > LONG).then(|| {
        caution(
            "the calibration holds for as long as one does",
            format!(
                "calibrated {} until {}, {} days",
                text("calibrated"),
                text("calibrated_until"),
                until - from
            ),
            "look at both days in the certificate of the instrument",
        )
    })
}

/// Clocks and counters that began again.
fn read_on(protocol: &Protocol) -> Option<Finding> {
    let each = protocol.files.iter().flat_map(|file| {
        let times = ["clock", "position"].into_iter().zip(file.wraps);
        times.filter(|it| it.1 > 0).map(|(what, times)| {
            let often = if times == 1 { "once".to_owned() } else { format!("{times} times") };
            format!("{what} of {} {often}", file.recording.file)
        })
    });
    let each: Vec<String> = each.collect();
    let text = "what begins again is read on, as `wraps` says";
    (!each.is_empty()).then(|| finding(true, text, each.join(", "), ""))
}

/// Contacts of the command that bounce: the time that counts is the longer one.
fn bounces(protocol: &Protocol) -> Option<Finding> {
    let all: Vec<&Stop> = protocol.stops().filter(|it| it.bounced > 0.0).collect();
    let longest = all.iter().fold(0.0, |most: f64, it| most.max(it.bounced));
    let detail = format!(
        "it bounces for up to {} ms in {}: {}",
        digits(longest * 1e3, 2),
        counted(all.len()),
        named(&all)
    );
    let text = "the first edge of the command counts where its contact bounces";
    (!all.is_empty()).then(|| finding(true, text, detail, ""))
}
