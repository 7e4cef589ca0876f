//! Speed and travel over time: ramp, delay, removal of torque, run-down.

use super::plot::{Bands, Curve, Panel, Plot, Points};
use super::svg::four_digits;
use super::{Kind, Roles};

/// Steps of speed in which a run-down is followed, and parts of a ramp.
const STEPS: u32 = 24;

/// r/min in one rad/s, as the page shows speeds.
pub(super) const RPM: f64 = 30.0 / std::f64::consts::PI;

/// rad in one turn.
const TURN: f64 = 2.0 * std::f64::consts::PI;

/// What slows a run-down.
struct Friction {
    inertia: f64,
    constant: f64,
    linear: f64,
    square: f64,
    rest: f64,
}

impl Friction {
    fn of(roles: &Roles) -> Self {
        Self {
            inertia: roles.get("J"),
            constant: roles.get("T_0") + roles.get("T_load"),
            linear: roles.get("b"),
            square: roles.get("c"),
            rest: roles.get("n_end"),
        }
    }

    /// The least braking and the greatest inertia of two ends.
    fn weakest(low: &Roles, high: &Roles) -> Self {
        Self { inertia: high.get("J"), ..Self::of(low) }
    }

    /// The most braking and the least inertia.
    fn strongest(low: &Roles, high: &Roles) -> Self {
        // down to the lowest rest speed that there may be
        Self { inertia: low.get("J"), rest: low.get("n_end"), ..Self::of(high) }
    }

    /// A run-down from a speed as time from its start, and speed in rad/s.
    ///
    /// Source: angular momentum balance, time as the integral of J/T over the speed by Simpson's rule.
    fn run_down(&self, from: f64) -> Points {
        let rest = self.rest.min(from);
        let inverse = |w: f64| {
            self.inertia / (self.constant + self.linear * w + self.square * w * w).max(1e-12)
        };
        if self.linear == 0.0 && self.square == 0.0 {
            return vec![(0.0, from), ((from - rest) * inverse(0.0), rest)];
        }
        let part = (from - rest) / f64::from(STEPS);
        let mut points = vec![(0.0, from)];
        let mut time = 0.0;
        for step in 0..STEPS {
            let high = from - part * f64::from(step);
            let low = high - part;
            time += part / 6.0 * (inverse(high) + 4.0 * inverse(high - part / 2.0) + inverse(low));
            points.push((time, low));
        }
        points
    }
}

/// A run-down moved and stretched to begin and end at given times.
fn between(points: &[(f64, f64)], start: f64, end: f64) -> Points {
    let long = points.last().map_or(0.0, |last| last.0);
    let scale = if long > 0.0 { (end - start) / long } else { 0.0 };
    points.iter().map(|(t, w)| (start + t * scale, *w)).collect()
}

/// Part of the speed that is left on a ramp of which a part is done; a share f at each end is rounded.
///
/// Source: constant jerk integrated twice (derivation).
fn left(x: f64, f: f64) -> f64 {
    if f > 0.0 && x < f {
        1.0 - x * x / (2.0 * f * (1.0 - f))
    } else if x <= 1.0 - f {
        1.0 - (x - f / 2.0) / (1.0 - f)
    } else {
        (1.0 - x) * (1.0 - x) / (2.0 * f * (1.0 - f))
    }
}

/// The speeds of a stop in rad/s: with a ramp that works, with one that fails, torque removed at once.
fn speeds(roles: &Roles) -> [Points; 3] {
    let get = |name| roles.get(name);
    let (n_0, before, ramp, f) = (get("n_0"), get("t_before"), get("t_ramp"), get("f"));
    let friction = Friction::of(roles);
    let mut works = vec![(0.0, n_0), (before, n_0)];
    let parts = if f > 0.0 { STEPS } else { 1 };
    for part in 1..=parts {
        let x = get("x") * f64::from(part) / f64::from(parts);
        works.push((before + ramp * x, n_0 * left(x, f)));
    }
    // a run-down that is left begins where the ramp was cut
    if get("n_left") > 0.001 * n_0 {
        let coast = friction.run_down(get("n_left"));
        works.extend(between(&coast, get("t_cut"), get("t_works")));
    }
    let coast = friction.run_down(n_0);
    let mut fails = vec![(0.0, n_0)];
    fails.extend(between(&coast, get("t_late"), get("t_fails")));
    [works, fails, between(&coast, 0.0, get("t_release"))]
}

/// What a measured stop is held against: the stop whose ramp works and the one whose ramp fails; of a run-down, that
/// alone.
pub(super) fn predicted_speeds(kind: Kind, roles: &Roles) -> Vec<Points> {
    if kind == Kind::RunDown {
        return vec![between(
            &Friction::of(roles).run_down(roles.get("n_0")),
            0.0,
            roles.get("t_release"),
        )];
    }
    let [works, fails, _] = speeds(roles);
    vec![works, fails]
}

/// The travel along a speed, which goes straight from point to point; where an end is given, fitted to it.
fn travel(speed: &[(f64, f64)], end: Option<f64>, scale: f64) -> Points {
    let parts = if speed.len() > 8 { 1 } else { 12 };
    let mut sum = 0.0;
    let mut points = vec![(0.0, 0.0)];
    for (from, to) in speed.iter().zip(speed.iter().skip(1)) {
        let long = to.0 - from.0;
        // where a ramp ends as torque is removed, the last bits of two ways of calculating are not a part of the stop
        if long <= 1e-9 * to.0 {
            continue;
        }
        for part in 1..=parts {
            let x = f64::from(part) / f64::from(parts);
            points.push((from.0 + long * x, sum + long * x * (from.1 + (to.1 - from.1) * x / 2.0)));
        }
        sum += long * (from.1 + to.1) / 2.0;
    }
    let fit = end.filter(|_| sum > 0.0).map_or(1.0, |end| end / sum) * scale;
    points.into_iter().map(|(t, a)| (t, a * fit)).collect()
}

/// How the angle of the motor is shown: travel in mm where it has a lead, turns of the load after a gear.
struct Shown {
    scale: f64,
    up: &'static str,
    unit: &'static str,
}

impl Shown {
    fn of(roles: &Roles) -> Self {
        if roles.get("lead") > 0.0 {
            return Self { scale: roles.get("lead") * 1000.0, up: "travel / mm", unit: "mm" };
        }
        match roles.try_get("i") {
            Some(i) => Self { scale: 1.0 / (i * TURN), up: "angle of the load / r", unit: "r" },
            None => Self { scale: 1.0 / TURN, up: "angle of the shaft / r", unit: "r" },
        }
    }
}

const ENDS: [(&str, &str); 3] =
    [("t_works", "p_works"), ("t_fails", "p_fails"), ("t_release", "p_release")];

/// The stop with a ramp that works, with one that fails, and with torque removed at once.
pub(super) fn plot(roles: &Roles) -> Plot {
    let get = |name| roles.get(name);
    let shown = Shown::of(roles);
    let speeds = speeds(roles);
    let ends = ENDS.map(|(t, p)| {
        format!("{} s, {} {}", four_digits(get(t)), four_digits(get(p) * shown.scale), shown.unit)
    });
    let [works, fails, released] = &ends;
    let names = [
        format!("ramp works: {works}"),
        format!("ramp fails, full speed until torque goes: {fails}"),
        format!("torque removed at once: {released}"),
    ];
    let mut over = Vec::new();
    let mut under = Vec::new();
    let classes = ["c1", "c2", "c3"];
    for (((speed, (_, p)), name), class) in speeds.iter().zip(ENDS).zip(names).zip(classes) {
        over.push(Curve {
            class,
            points: speed.iter().map(|(t, w)| (*t, w * RPM)).collect(),
            name,
        });
        let points = travel(speed, Some(get(p)), shown.scale);
        under.push(Curve { class, points, name: String::new() });
    }
    let most = |names: [&'static str; 3]| {
        names.into_iter().fold(0.0, |most: f64, name| most.max(get(name)))
    };
    let removed = format!(
        "torque removed, {} s to {} s",
        four_digits(get("t_early")),
        four_digits(get("t_late"))
    );
    Plot {
        title: "Speed and travel over time in a stop".to_owned(),
        words: format!(
            "From {} r/min to standstill: {works} with a ramp that works; {fails} with a ramp that fails; {released} with torque removed at once. Torque is removed between {} s and {} s.",
            four_digits(get("n_0") * RPM),
            four_digits(get("t_early")),
            four_digits(get("t_late"))
        ),
        across: "time / s".into(),
        far: most(ENDS.map(|(t, _)| t)),
        panels: vec![
            Panel {
                up: "motor speed / (r/min)".into(),
                height: 190.0,
                span: (0.0, get("n_0") * RPM),
                curves: over,
                levels: Vec::new(),
            },
            Panel {
                up: shown.up.into(),
                height: 150.0,
                span: (0.0, most(ENDS.map(|(_, p)| p)) * shown.scale),
                curves: under,
                levels: Vec::new(),
            },
        ],
        mark: Some((get("t_late"), removed)),
    }
}

/// A run-down alone.
pub(super) fn plot_run_down(roles: &Roles) -> Plot {
    let (n_0, t, shown) = (roles.get("n_0"), roles.get("t_release"), Shown::of(roles));
    let speed = between(&Friction::of(roles).run_down(n_0), 0.0, t);
    let end = roles.get("p_release");
    let angle = travel(&speed, Some(end), shown.scale);
    let words = format!("{} s, {} {}", four_digits(t), four_digits(end * shown.scale), shown.unit);
    Plot {
        title: "Speed and travel over time in a run-down".to_owned(),
        words: format!(
            "From {} r/min to {} r/min: {words}.",
            four_digits(n_0 * RPM),
            four_digits(roles.get("n_end") * RPM)
        ),
        across: "time / s".into(),
        far: t,
        panels: vec![
            Panel {
                up: "speed / (r/min)".into(),
                height: 190.0,
                span: (0.0, n_0 * RPM),
                curves: vec![Curve {
                    class: "c1",
                    points: speed.iter().map(|(t, w)| (*t, w * RPM)).collect(),
                    name: format!("torque removed at once: {words}"),
                }],
                levels: Vec::new(),
            },
            Panel {
                up: shown.up.into(),
                height: 150.0,
                span: (0.0, end * shown.scale),
                curves: vec![Curve { class: "c1", points: angle, name: String::new() }],
                levels: Vec::new(),
            },
        ],
        mark: None,
    }
}

/// The slowest and the quickest ramp within the tolerances, each with what follows a cut of it.
///
/// Speed only falls, so from a moment on it is never above what it was then; a run-down that starts no
/// lower, later, with less braking and more inertia stays above every other.
fn ramps(low: &Roles, high: &Roles) -> [Points; 2] {
    let edge = |roles: &Roles, upper: bool| {
        let mut points = vec![(0.0, roles.get("n_0")), (roles.get("t_before"), roles.get("n_0"))];
        // a straight ramp needs no points; a rounded one has many, that its edges may keep outside it
        let parts = if high.get("f") > 0.0 { 3 * STEPS } else { 1 };
        for part in 1..=parts {
            let x = f64::from(part) / f64::from(parts);
            let (one, other) = (left(x, low.get("f")), left(x, high.get("f")));
            let part = if upper { one.max(other) } else { one.min(other) };
            points.push((roles.get("t_before") + roles.get("t_ramp") * x, roles.get("n_0") * part));
        }
        points
    };
    let (mut upper, mut lower) = (edge(high, true), edge(low, false));
    if low.get("x") < 1.0 - 1e-9 {
        let cut = (low.get("t_cut"), high.get("t_cut"));
        let from = speed_at(&upper, cut.0);
        upper.retain(|(t, _)| *t <= cut.0);
        upper.push((cut.0, from));
        let coast = Friction::weakest(low, high).run_down(from);
        let end = coast.last().map_or(cut.1, |last| cut.1 + last.0).max(high.get("t_works"));
        upper.extend(between(&coast, cut.1, end));
        let (here, from) = (speed_at(&lower, cut.0), speed_at(&lower, cut.1));
        lower.retain(|(t, _)| *t <= cut.0);
        lower.push((cut.0, here));
        let coast = Friction::strongest(low, high).run_down(from);
        let own = coast.last().map_or(cut.0, |last| cut.0 + last.0);
        let end = earliest(low, high, own, "t_works");
        lower.extend(between(&coast, cut.0, end.max(cut.0)));
    }
    [upper, lower]
}

/// When the earliest run-down ends; the program's own time counts where the rest speed is certain.
fn earliest(low: &Roles, high: &Roles, own: f64, end: &str) -> f64 {
    if low.get("n_end") < high.get("n_end") { own } else { own.min(low.get(end)) }
}

/// The speed at a moment on a line of points; the last one after its end.
fn speed_at(points: &[(f64, f64)], moment: f64) -> f64 {
    let mut before = (0.0, points.first().map_or(0.0, |first| first.1));
    for point in points {
        if point.0 >= moment {
            let long = point.0 - before.0;
            let part = if long > 0.0 { (moment - before.0) / long } else { 1.0 };
            return before.1 + (point.1 - before.1) * part;
        }
        before = *point;
    }
    before.1
}

/// The latest and the earliest run-down from full speed that begins within two times.
fn run_downs(low: &Roles, high: &Roles, starts: (f64, f64), end: &str) -> [Points; 2] {
    let one = |friction: Friction, from: f64, start: f64, upper: bool| {
        let coast = friction.run_down(from);
        let own = coast.last().map_or(start, |last| start + last.0);
        let end =
            if upper { own.max(high.get(end)) } else { earliest(low, high, own, end).max(start) };
        let mut points = vec![(0.0, from)];
        points.extend(between(&coast, start, end));
        points
    };
    [
        one(Friction::weakest(low, high), high.get("n_0"), starts.1, true),
        one(Friction::strongest(low, high), low.get("n_0"), starts.0, false),
    ]
}

/// Where the curves of a stop can lie: of the speed, then of the travel.
pub(super) fn bands(low: &Roles, high: &Roles) -> Bands {
    let late = (low.get("t_late"), high.get("t_late"));
    let all = [
        ramps(low, high),
        run_downs(low, high, late, "t_fails"),
        run_downs(low, high, (0.0, 0.0), "t_release"),
    ];
    closed(&all, low, high)
}

/// The same of a run-down alone.
pub(super) fn bands_run_down(low: &Roles, high: &Roles) -> Bands {
    closed(&[run_downs(low, high, (0.0, 0.0), "t_release")], low, high)
}

fn closed(all: &[[Points; 2]], low: &Roles, high: &Roles) -> Bands {
    let scales = [Shown::of(low).scale, Shown::of(high).scale];
    let scale = (
        scales.iter().copied().fold(f64::MAX, f64::min),
        scales.iter().copied().fold(0.0, f64::max),
    );
    let mut over = Vec::new();
    let mut under = Vec::new();
    for [upper, lower] in all {
        let speed = upper.iter().chain(lower.iter().rev());
        over.push(speed.map(|(t, w)| (*t, w * RPM)).collect());
        let (most, least) = (travel(upper, None, scale.1), travel(lower, None, scale.0));
        let stands =
            most.last().zip(least.last()).map(|(most, least)| (most.0.max(least.0), least.1));
        under.push(most.into_iter().chain(stands).chain(least.into_iter().rev()).collect());
    }
    vec![over, under]
}
