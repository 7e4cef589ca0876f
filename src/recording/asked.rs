//! What is doubtful of the stops, finding by finding.

use super::doubts::{Doubts, Sooner};
use super::finding::{Finding, caution, counted, finding, named, unconfirmed};
use super::measure::{Measured, count_f64, digits, with_u};
use super::protocol::Protocol;
use super::stop::Stop;
use super::tables::is_linear;

/// What is doubtful of the stops, finding by finding.
pub(super) fn doubts(protocol: &Protocol) -> Vec<Finding> {
    let unit =
        if is_linear(protocol) { ("m/s", 1.0) } else { ("r/min", std::f64::consts::PI / 30.0) };
    let stops = |is: &dyn Fn(&Doubts) -> bool| -> Vec<&Stop> {
        protocol.stops().filter(|it| is(&it.doubts)).collect()
    };
    let largest = |of: &dyn Fn(&Doubts) -> Option<Measured>| -> Option<(String, Vec<&Stop>)> {
        let all = protocol.stops().filter_map(|it| of(&it.doubts));
        let most = all.max_by(|a, b| a.value.abs().total_cmp(&b.value.abs()))?;
        let stops = stops(&|it| of(it).is_some());
        Some((format!("{} {}", with_u(most, unit.1), unit.0), stops))
    };
    let in_stops = |stops: &[&Stop]| format!("in {}: {}", counted(stops.len()), named(stops));
    let mut found = Vec::new();
    let even = stops(&|it| it.no_noise);
    // steps that go with the times between samples leave a stop now and then without a sign of them
    if 2 * even.len() > protocol.stops().count() {
        found.push(unconfirmed(
            "the speed is a measured one",
            &format!("it holds neither noise nor a step, before the stop, on the way down and at rest, {}: a set-point, or a channel that is calculated?", in_stops(&even)),
            "name the column of the measured speed in `speed`",
        ));
    }
    let cut = stops(&|it| it.cut_off);
    if !cut.is_empty() {
        found.push(unconfirmed(
            "zero of the speed is known",
            &format!("it reads one value alone where the machine stands, and noise before the stop, {}: where its range ends there, what it is off below is not seen, whatever `offset` says", in_stops(&cut)),
            "record it with a range that reaches below 0; where its speed is made of pulses, as a counter's, say `zero = \"counted\"`; where it was seen to read below 0, as with the machine turned backwards by hand, `zero = \"below 0 seen\"`",
        ));
    }
    let off = stops(&|it| it.offset.is_some());
    let most = off
        .iter()
        .filter_map(|it| it.doubts.offset)
        .fold(0.0, |most: f64, it| if it.abs() > most.abs() { it } else { most });
    if !off.is_empty() {
        found.push(caution(
            "zero of the speed is known",
            format!("it reads {} {} at the end of `hold`, within `error` = {}, {}", digits(most / unit.1, 3), unit.0, protocol.plan.error.written, in_stops(&off)),
            "look whether the machine stands then; where it does, put the offset of the channel right, `offset …`",
        ));
    }
    let steep: Vec<&Stop> = stops(&|it| it.steep.is_some());
    let worst = steep.iter().filter_map(|it| it.doubts.steep).max_by(|a, b| a.0.total_cmp(&b.0));
    if let Some((from, times)) = worst {
        found.push(unconfirmed(
            "the end of the stop is seen",
            &format!("from {} {} on the speed falls {} times as steeply as before, {}: a brake that closes, or a channel that dies; `least` says nothing of such a speed", digits(from / unit.1, 3), unit.0, digits(times, 2), in_stops(&steep)),
            "look at cable, encoder and drive; where a brake closes there, record a position instead, whose counts are read at any speed",
        ));
    }
    if let Some((lost, stops)) = largest(&|it| it.commanded) {
        found.push(finding(
            false,
            "the speed falls after the stop is commanded",
            format!("it has fallen by {lost} before, {}: the command is recorded late, or something else stops the machine", in_stops(&stops)),
            "look for an input filter or a cycle time of the channel in `stop`; record the command where nothing delays it",
        ));
    }
    let size = |it: &Doubts| it.removed.map(|it| Measured { value: it.value.abs(), ..it });
    let late = "look for an input filter or a cycle time of the channels in `stop` and `removed`; record them where nothing delays them";
    let early = if let Some((lost, stops)) = largest(&size) {
        let all = || stops.iter().filter_map(|it| it.doubts.removed);
        let way = Way::of(all().all(|it| it.value > 0.0), all().all(|it| it.value < 0.0));
        Some((
            way,
            format!(
                "it has {} by {lost} before, without a ramp, {}: the digital channels are recorded late, and the stop with them, or torque was lost sooner",
                way.past(),
                in_stops(&stops)
            ),
            false,
        ))
    } else {
        sooner(protocol, unit)
    };
    if let Some((way, words, against)) = early {
        let steady = format!(
            "where no load drives the machine, let its speed settle before each stop, and record more stops; where one does, {late}"
        );
        found.push(unconfirmed(
            &format!("the speed {} after torque is removed", way.present()),
            &words,
            if against { &steady } else { late },
        ));
    }
    if let Some(words) = before_command(protocol) {
        found.push(unconfirmed("no ramp begins before its command", &words, late));
    }
    if let Some((speed, stops)) = largest(&|it| it.moved_off) {
        found.push(unconfirmed(
            "the machine stands until torque is removed",
            &format!("its ramp was over, and it moves off again at up to {speed} before torque is seen to go, {}: the digital channels are recorded late, or torque was lost sooner", in_stops(&stops)),
            late,
        ));
    }
    if let Some((off, stops)) = largest(&|it| it.off_ramp) {
        found.push(unconfirmed(
            "the ramp is followed until torque is removed",
            &format!("the speed lies off its line by {off} then, {}: the digital channels are recorded late, or torque was lost sooner", in_stops(&stops)),
            late,
        ));
    }
    found
}

/// Where the speed goes before torque is removed.
#[derive(Clone, Copy)]
enum Way {
    Falls,
    Rises,
    Both,
}

impl Way {
    fn of(falls: bool, rises: bool) -> Self {
        match (falls, rises) {
            (true, _) => Self::Falls,
            (_, true) => Self::Rises,
            _ => Self::Both,
        }
    }

    fn present(self) -> &'static str {
        match self {
            Self::Falls => "falls",
            Self::Rises => "rises",
            Self::Both => "changes",
        }
    }

    fn past(self) -> &'static str {
        match self {
            Self::Falls => "fallen",
            Self::Rises => "risen",
            Self::Both => "changed",
        }
    }
}

/// A mean over the stops that lies so many of its standard deviations from zero is no noise.
const CLEAR: f64 = 4.0;

/// A response that lies below zero in the mean, by more than one of it is uncertain and by more than chance.
fn before_command(protocol: &Protocol) -> Option<String> {
    let all: Vec<Measured> = protocol.stops().filter_map(|it| it.response).collect();
    let count = count_f64(all.len());
    let mean = all.iter().map(|it| it.value).sum::<f64>() / count;
    let squares: f64 = all.iter().map(|it| (it.value - mean).powi(2)).sum();
    let chance = CLEAR * (squares / (count - 1.0) / count).sqrt();
    let u = all.iter().map(|it| it.u).fold(chance, f64::max);
    (all.len() >= 3 && mean + u < 0.0).then(|| {
        format!(
            "the response is {} ms in the mean of {}: the digital channels are recorded late",
            with_u(Measured { value: mean, u }, 1e-3),
            counted(all.len())
        )
    })
}

/// Speed lost before torque is removed, over all stops: what of one is hidden in its noise, of ten is not. And whether it
/// goes the other way after it.
fn sooner(protocol: &Protocol, unit: (&str, f64)) -> Option<(Way, String, bool)> {
    // a hoist loses speed upwards and gains it downwards: each condition is turned to fall
    let mut ways: Vec<f64> = Vec::new();
    let mut all: Vec<Sooner> = Vec::new();
    for condition in &protocol.conditions {
        let own: Vec<Sooner> = condition.stops.iter().filter_map(|it| it.doubts.sooner).collect();
        let way = own.iter().map(|it| it.falls).sum::<f64>().signum();
        if !own.is_empty() {
            ways.push(way);
        }
        all.extend(own.into_iter().map(|it| it.turned(way)));
    }
    if all.len() < 5 {
        return None;
    }
    let count = count_f64(all.len());
    // the mean, and how far it may be off
    let of = |get: fn(&Sooner) -> f64| {
        let mean = all.iter().map(get).sum::<f64>() / count;
        let squares: f64 = all.iter().map(|it| (get(it) - mean).powi(2)).sum();
        (mean, (squares / (count - 1.0) / count).sqrt())
    };
    let most = |get: fn(&Stop) -> f64| protocol.stops().map(get).fold(0.0, f64::max);
    let (step, sampling) = (most(|it| it.step), most(|it| it.sampling));
    let smeared = all.iter().map(|it| it.smeared).fold(0.0, f64::max);
    // without what the recorder's filter may show of the fall after it; a load that drives lets the speed rise
    let off = |(mean, u): (f64, f64)| ((mean.abs() - smeared).max(0.0).copysign(mean), u);
    let clear = |it: (f64, f64)| it.0.abs() > CLEAR * it.1 + step / 2.0;
    let (lost, early) = (off(of(|it| it.lost)), off(of(|it| it.early)));
    let falls = of(|it| it.falls).0;
    // what the times between samples leave is in every figure: it fell or rose for longer, by how steep it does so after
    // it, or had done so before that already
    let long = clear(lost) && falls != 0.0 && lost.0 / falls > sampling + Sooner::LEFT;
    let least = all.iter().map(|it| it.least).fold(0.0, f64::max);
    let all_are = |side: f64| ways.iter().all(|way| way * lost.0 * side > 0.0);
    let way = Way::of(all_are(1.0), all_are(-1.0));
    (long || clear(early) && early.0.abs() > least).then(|| {
        // no torque that is gone makes a machine rise that only friction slows
        let against = lost.0 < 0.0;
        let words = format!(
            "over {} it has {} by {} {} before, without a ramp{} the digital channels are recorded late, and the stop with them, or torque was lost sooner",
            counted(all.len()),
            way.past(),
            with_u(Measured { value: lost.0.abs(), u: 2.0 * lost.1 }, unit.1),
            unit.0,
            if against {
                ", and goes the other way after it: the speed wanders, or, where a load drives it,"
            } else {
                ":"
            },
        );
        (way, words, against)
    })
}
