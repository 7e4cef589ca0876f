//! Voltage of the DC link and power into the braking resistor during a stop.

use super::Roles;
use super::plot::{Bands, Curve, Panel, Plot, Points};
use super::svg::four_digits;

/// Parts of the ramp in which the voltage is followed.
const PARTS: u32 = 24;

/// How far beyond the ramp the picture goes.
const BEYOND: f64 = 1.25;

/// The energy fed in during a ramp raises the link until the chopper takes over.
#[derive(Clone, Copy)]
struct Feed {
    ramp: f64,
    peak: f64,
    energy: f64,
    capacitance: f64,
    start: f64,
    /// Where the chopper takes over; without end where there is none.
    chop: f64,
}

impl Feed {
    fn of(roles: &Roles) -> Self {
        // the choice `chopper`: 0 yes, 1 no
        let chop = if roles.get("chopper") > 0.5 { f64::INFINITY } else { roles.get("U_chop") };
        Self {
            ramp: roles.get("t_ramp"),
            peak: roles.get("P_peak"),
            energy: roles.get("E"),
            capacitance: roles.get("C"),
            start: roles.get("U_0"),
            chop,
        }
    }

    /// The voltage over time; power that falls straight to zero has given 1 − (1 − x)² of its energy.
    ///
    /// Source: energy of a capacitor 1/2·C·U² (OpenStax College Physics, 19.7).
    fn voltage(&self, until: f64) -> Points {
        let mut points = Vec::new();
        for part in 0..=PARTS {
            let x = f64::from(part) / f64::from(PARTS);
            let fed = self.energy * (1.0 - (1.0 - x) * (1.0 - x));
            let free = (self.start * self.start + 2.0 * fed / self.capacitance).sqrt();
            points.push((self.ramp * x, free.min(self.chop)));
        }
        let last = points.last().map_or(self.start, |last| last.1);
        points.push((until, last));
        points
    }

    /// When the chopper takes over, if it does.
    fn chops_at(&self) -> Option<f64> {
        let room = self.capacitance * (self.chop * self.chop - self.start * self.start) / 2.0;
        (room < self.energy)
            .then(|| self.ramp * (1.0 - (1.0 - (room / self.energy).max(0.0)).sqrt()))
    }

    /// Power fed in.
    fn fed(&self, until: f64) -> Points {
        vec![(0.0, self.peak), (self.ramp, 0.0), (until, 0.0)]
    }

    /// Power that the chopper leads into the resistor.
    fn taken(&self, until: f64) -> Points {
        match self.chops_at() {
            None => vec![(0.0, 0.0), (until, 0.0)],
            Some(moment) => {
                let then = self.peak * (1.0 - moment / self.ramp);
                vec![(0.0, 0.0), (moment, 0.0), (moment, then), (self.ramp, 0.0), (until, 0.0)]
            }
        }
    }
}

/// Voltage above, power below.
pub(super) fn plot(roles: &Roles) -> Plot {
    let get = |name| roles.get(name);
    let feed = Feed::of(roles);
    let until = feed.ramp * BEYOND;
    let mut curves = vec![Curve {
        class: "c1",
        points: feed.fed(until),
        name: format!(
            "into the DC link, on which the resistor is chosen: peak {} W",
            four_digits(feed.peak)
        ),
    }];
    let mut panels = Vec::new();
    let mut words = format!(
        "Power into the DC link falls from {} W to zero within {} s; mean over the cycle of {} s: {} W.",
        four_digits(feed.peak),
        four_digits(feed.ramp),
        four_digits(get("t_cycle")),
        four_digits(get("P_mean"))
    );
    if roles.try_get("U_0").is_some() {
        let taken = feed.chops_at().map_or_else(
            || "into the resistor: nothing, the DC link takes it all up".to_owned(),
            |moment| {
                format!(
                    "into the resistor, once the link is full: from {} s on",
                    four_digits(moment)
                )
            },
        );
        curves.push(Curve { class: "c2", points: feed.taken(until), name: taken });
        let points = feed.voltage(until);
        let most = points.iter().fold(get("U_trip"), |most, point| most.max(point.1));
        words.push_str(&format!(
            " The DC link rises from {} V to {} V; chopper at {} V, trip at {} V.",
            four_digits(feed.start),
            four_digits(points.last().map_or(0.0, |last| last.1)),
            four_digits(get("U_chop")),
            four_digits(get("U_trip"))
        ));
        panels.push(Panel {
            up: "DC-link voltage / V".into(),
            height: 130.0,
            span: (feed.start - (most - feed.start) * 0.08, most + (most - feed.start) * 0.08),
            curves: vec![Curve { class: "c1", points, name: String::new() }],
            levels: vec![
                (get("U_chop"), format!("chopper {} V", four_digits(get("U_chop")))),
                (get("U_trip"), format!("trip {} V", four_digits(get("U_trip")))),
            ],
        });
    }
    curves.push(Curve {
        class: "c3",
        points: vec![(0.0, get("P_mean")), (until, get("P_mean"))],
        name: format!(
            "mean over the cycle of {} s: {} W",
            four_digits(get("t_cycle")),
            four_digits(get("P_mean"))
        ),
    });
    panels.push(Panel {
        up: "power / W".into(),
        height: 130.0,
        span: (0.0, feed.peak.max(get("P_mean"))),
        curves,
        levels: Vec::new(),
    });
    Plot {
        title: "DC-link voltage and power of the braking resistor in a stop".to_owned(),
        words,
        across: "time from the start of the ramp / s".into(),
        far: until,
        panels,
        mark: None,
    }
}

/// Where the curves can lie.
pub(super) fn bands(low: &Roles, high: &Roles) -> Bands {
    // the most: quickly, much of it, into a small link that stood high already
    let most = Feed {
        ramp: low.get("t_ramp"),
        capacitance: low.get("C"),
        chop: Feed::of(high).chop.max(Feed::of(low).chop),
        ..Feed::of(high)
    };
    let least = Feed {
        ramp: high.get("t_ramp"),
        capacitance: high.get("C"),
        chop: Feed::of(high).chop.min(Feed::of(low).chop),
        ..Feed::of(low)
    };
    let until = most.ramp.max(least.ramp) * BEYOND;
    let closed =
        |upper: Points, lower: Points| upper.into_iter().chain(lower.into_iter().rev()).collect();
    // power: the quickest ramp has no longer any when the slowest still has
    let (fed_most, fed_least) =
        (Feed { ramp: least.ramp, ..most }, Feed { ramp: most.ramp, ..least });
    let early = Feed { chop: least.chop, ..most }.chops_at();
    let late = Feed { chop: most.chop, ..least }.chops_at();
    let taken = |feed: &Feed, from: Option<f64>| match from {
        None => vec![(0.0, 0.0), (until, 0.0)],
        Some(moment) => {
            let then = (feed.peak * (1.0 - moment / feed.ramp)).max(0.0);
            let end = feed.ramp.max(moment);
            vec![(0.0, 0.0), (moment, 0.0), (moment, then), (end, 0.0), (until, 0.0)]
        }
    };
    let mean = (low.get("P_mean"), high.get("P_mean"));
    let mut power = vec![closed(fed_most.fed(until), fed_least.fed(until))];
    let mut all = Vec::new();
    if low.try_get("U_0").is_some() {
        power.push(closed(taken(&fed_most, early), taken(&fed_least, late)));
        all.push(vec![closed(most.voltage(until), least.voltage(until))]);
    }
    power.push(vec![(0.0, mean.1), (until, mean.1), (until, mean.0), (0.0, mean.0)]);
    all.push(power);
    all
}
