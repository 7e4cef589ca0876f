//! Between the removal of torque and the grip of a brake nothing but load and friction moves the machine: how steeply the
//! speed rises or falls there shows them, over the inertia.

use super::condition::{Condition, Mode};
use super::finding::{Finding, caution, counted, finding};
use super::fit::{Straight, quantile_of_t, straight};
use super::measure::{Measured, count_f64, digits, limit as limit_text, trimmed, with_u};
use super::of_sheet::OF_INERTIA;
use super::predicted::{Predicted, taken};
use super::protocol::Protocol;
use super::stop::Stop;
use super::tables::is_linear;
use super::trace::Trace;
use super::unbraked::Unbraked;
use crate::elementary::cube_root;

/// Samples of a line, at least, and how many further ones are held against it.
const LEAST: usize = 8;
const NEXT: usize = 4;

/// So many standard deviations below the line the brake has gripped.
const GRIPS: f64 = 4.0;

/// The share of what lies before the grip that is used: how it begins to grip is not seen.
const USED: f64 = 0.8;

/// After the grip the speed falls at least so many times as steeply (common practice, no source).
const STEEPER: f64 = 2.0;

/// Sums of a line that grows.
#[derive(Default)]
struct Sums {
    count: f64,
    t: f64,
    v: f64,
    tt: f64,
    tv: f64,
}

impl Sums {
    fn add(&mut self, (t, v): (f64, f64)) {
        self.count += 1.0;
        self.t += t;
        self.v += v;
        self.tt += t * t;
        self.tv += t * v;
    }

    /// The line at a moment, and its variance there for noise of 1.
    fn at(&self, t: f64) -> (f64, f64) {
        let (middle, level) = (self.t / self.count, self.v / self.count);
        let square = self.tt - self.t * middle;
        let slope = (self.tv - self.t * level) / square;
        (level + slope * (t - middle), 1.0 / self.count + (t - middle).powi(2) / square)
    }
}

impl Trace<'_> {
    /// The line after torque is removed, until a brake grips; none where none is seen to grip, or at once. `held` says
    /// whether the speed is held until then.
    pub(super) fn unbraked(
        &self,
        (removed, half): (f64, f64),
        held: bool,
        end: f64,
    ) -> Option<Unbraked> {
        let from = removed + half + self.sampling + self.settles();
        // times from there, so that no digit is lost in the sums
        let all: Vec<(f64, f64)> =
            self.between(from, end).into_iter().map(|(t, v)| (t - from, v)).collect();
        let grips = self.grips(&all)? - self.late();
        let line: Vec<(f64, f64)> =
            all.iter().copied().take_while(|it| it.0 <= USED * grips).collect();
        let (first, last) = (line.first()?, line.last()?);
        let (early, late) = line.split_at(line.len() / 2);
        let (whole, early, late) = (
            straight(&line, self.noise)?,
            straight(early, self.noise)?,
            straight(late, self.noise)?,
        );
        let falls = last.1 / (end - from - last.0).max(self.sampling);
        if falls < STEEPER * -whole.slope {
            return None;
        }
        let until = if held { removed - half - self.late() } else { 0.0 };
        let before = self.between(f64::NEG_INFINITY, until);
        let windows = before.windows(line.len()).step_by((line.len() / 2).max(1));
        let squares: Vec<f64> = windows
            .filter_map(|part| straight(part, self.noise))
            .map(|it| it.slope * it.slope)
            .collect();
        // of two standard deviations: how few samples there are is in the spread over the stops
        let u = |line: &Straight| 2.0 * line.u_slope() / line.k;
        let halves = (u(&early).powi(2) + u(&late).powi(2)).sqrt() / 2.0;
        Some(Unbraked {
            slope: Measured { value: whole.slope, u: u(&whole) },
            bend: Measured { value: (late.slope - early.slope) / 2.0, u: halves },
            long: last.0 - first.0,
            speed: whole.level,
            held: squares.iter().sum::<f64>() / count_f64(squares.len().max(1)),
        })
    }

    /// When samples first lie below the straight line of all before them.
    fn grips(&self, all: &[(f64, f64)]) -> Option<f64> {
        let mut sums = Sums::default();
        let noise = self.noise * self.lasting.sqrt();
        for (at, point) in all.iter().enumerate() {
            sums.add(*point);
            if at + 1 < LEAST {
                continue;
            }
            let next = all.get(at + 1..at + 1 + NEXT)?;
            let n = count_f64(NEXT);
            let (t, v) =
                next.iter().fold((0.0, 0.0), |sum, it| (sum.0 + it.0 / n, sum.1 + it.1 / n));
            let (line, variance) = sums.at(t);
            if v < line - GRIPS * noise * (variance + 1.0 / n).sqrt() {
                return Some(point.0);
            }
        }
        None
    }
}

/// What stops of one condition show, together or one by itself.
struct Pooled {
    slope: Measured,
    /// Whether the lines are no straight ones.
    bends: bool,
    long: f64,
    speed: f64,
    /// Which stops, and over how long a time.
    of: String,
}

/// What one stop shows by itself: one that surely drives more is not excused by those that drive less.
fn single(stop: &Stop, error: f64) -> Option<Pooled> {
    let it = stop.unbraked?;
    // how its own ripple stands is not known: all that goes up and down while the speed is held
    let alike = 4.0 * it.held;
    let by_error = it.slope.value * error / it.speed;
    let u = it.slope.u.powi(2) + alike + by_error * by_error;
    let of_bend = (it.bend.u.powi(2) + alike).sqrt();
    let bent = 2.0 * it.bend.value.abs().max(of_bend);
    Some(Pooled {
        slope: Measured { value: it.slope.value, u: u.sqrt() + bent },
        bends: it.bend.value.abs() > of_bend,
        long: it.long,
        speed: it.speed,
        of: format!(
            "the stop of {} alone over {} ms",
            stop.place.to_text(),
            digits(it.long * 1e3, 2)
        ),
    })
}

fn pooled(condition: &Condition, error: f64) -> Option<Pooled> {
    let all: Vec<Unbraked> = condition.stops.iter().filter_map(|it| it.unbraked).collect();
    if 2 * all.len() < condition.stops.len().max(4) {
        return None;
    }
    let n = count_f64(all.len());
    let mean = |of: &dyn Fn(&Unbraked) -> f64| all.iter().map(of).sum::<f64>() / n;
    let slope = mean(&|it| it.slope.value);
    let spread = |of: &dyn Fn(&Unbraked) -> f64| {
        let middle = mean(of);
        mean(&|it| (of(it) - middle).powi(2)) * n / (n - 1.0)
    };
    let k = quantile_of_t(all.len() - 1);
    // of the mean: by what the stops are apart, and never less than by their noise
    let of_mean = |of: fn(&Unbraked) -> Measured| {
        let apart = k * k * spread(&|it| of(it).value);
        apart.max(mean(&|it| of(it).u.powi(2))) / n
    };
    // a ripple that comes alike in every stop does not fall with their number
    let alike = (mean(&|it| it.held) - 2.0 * spread(&|it| it.slope.value)).max(0.0);
    let speed = mean(&|it| it.speed);
    let by_error = slope * error / speed;
    let u = of_mean(|it| it.slope) + 4.0 * alike + by_error * by_error;
    let bend = mean(&|it| it.bend.value);
    let of_bend = (of_mean(|it| it.bend) + 4.0 * alike).sqrt();
    // torque that comes in a straight line bends it so, and takes twice as much off its slope: some of a grip may be in
    // it, and torque may be gone a little later than it is seen to be
    let bent = 2.0 * bend.abs().max(of_bend);
    let long = mean(&|it| it.long);
    Some(Pooled {
        slope: Measured { value: slope, u: u.sqrt() + bent },
        bends: bend.abs() > of_bend,
        long,
        speed,
        of: format!("{} over {} ms each", counted(all.len()), digits(long * 1e3, 2)),
    })
}

/// Share of friction and load below which nothing of them need be seen (common practice, no source).
const SHOWN: f64 = 0.1;

/// What a calculation with a brake takes of friction and load, at the ends that drive the most.
struct Calculated<'a> {
    predicted: &'a Predicted,
    /// The friction and its name there.
    friction: (&'static str, f64),
    /// None where it takes no load.
    load: Option<f64>,
    /// Least and most inertia, of the calculation and of the plan.
    inertia: (f64, f64),
    /// What a turn travels, where the channel is of a way.
    turn: f64,
}

impl<'a> Calculated<'a> {
    fn of(protocol: &'a Protocol) -> Option<Self> {
        let predicted = protocol.predicted.as_ref().filter(|it| it.has_a_brake)?;
        let low = |name: &str| taken(predicted, name).map(|it| it.0);
        let (least, most) = OF_INERTIA.iter().find_map(|name| taken(predicted, name))?;
        let plan = &protocol.plan;
        let share = plan.tol_inertia.as_ref().map_or(0.0, |it| it.si);
        let said = plan.inertia.as_ref().map(|it| (it.si * (1.0 - share), it.si * (1.0 + share)));
        let said = said.unwrap_or((least, most));
        let lead = || taken(predicted, "lead").map(|it| it.1).filter(|it| *it > 0.0);
        Some(Self {
            predicted,
            friction: ["T_0", "T_f"].into_iter().find_map(|name| Some((name, low(name)?)))?,
            load: low("T_load"),
            inertia: (least.min(said.0), most.max(said.1)),
            turn: if is_linear(protocol) { lead()? } else { 1.0 },
        })
    }

    /// What drives at a speed of the channel, the most; below zero it brakes.
    fn drives(&self, speed: f64) -> f64 {
        let least = |name: &str| taken(self.predicted, name).map_or(0.0, |it| it.0);
        let speed = speed / self.turn;
        -(self.friction.1
            + self.load.unwrap_or(0.0)
            + least("b") * speed
            + least("c") * speed * speed)
    }

    /// The inertia with which a slope shows the least that drives.
    fn inertia(&self, slope: f64) -> f64 {
        if slope > 0.0 { self.inertia.0 } else { self.inertia.1 }
    }

    /// What drives by a slope of the channel, the least.
    fn torque(&self, slope: Measured) -> Measured {
        let inertia = self.inertia(slope.value) / self.turn;
        Measured { value: slope.value * inertia, u: slope.u * inertia }
    }

    /// How far a condition surely drives more.
    fn beyond(&self, it: &Pooled) -> f64 {
        let found = self.torque(it.slope);
        found.value - found.u - self.drives(it.speed)
    }

    fn words(&self, one: &Condition, it: &Pooled) -> String {
        let (found, most) = (self.torque(it.slope), self.drives(it.speed));
        let times = (most > 0.0 && self.beyond(it) > 0.0)
            .then(|| format!(", {} times as much", digits(found.value / most, 2)));
        format!(
            "`{}`: {} N·m in {}, calculated at most {} N·m{}",
            one.label(),
            with_u(found, 1.0),
            it.of,
            limit_text(most, found, 1.0),
            times.unwrap_or_default()
        )
    }

    /// With which values a slope is held against the calculation.
    fn with(&self, slope: f64) -> String {
        let load =
            self.load.map_or_else(String::new, |it| format!(", T_load = {} N·m", trimmed(it, 5)));
        let end = if slope > 0.0 { "least" } else { "most" };
        format!(
            "with the {end} J = {} kg·m², {} = {} N·m{load}; what is below zero brakes",
            trimmed(self.inertia(slope), 5),
            self.friction.0,
            trimmed(self.friction.1, 5),
        )
    }

    /// What to calculate with, where load or friction is what was taken wrongly.
    fn instead(&self, it: &Pooled) -> String {
        let found = self.torque(it.slope);
        let more = found.value + found.u - self.drives(it.speed);
        let down = |it: f64| trimmed((it * 100.0 + 1e-6).floor() / 100.0, 6);
        let less = self.friction.1 - more;
        match self.load {
            Some(load) if load != 0.0 || less < 0.0 => {
                format!(
                    "where it is the load, `T_load = \"{} N·m\"` or more of it",
                    down(load - more)
                )
            }
            _ => format!(
                "where it is friction, `{} = \"{} N·m\"`",
                self.friction.0,
                down(less.max(0.0))
            ),
        }
    }
}

const TEXT: &str = "what drives before the brake grips is not more than calculated";

/// Load and friction of a calculation with a brake against what moves the machine between removal and grip. Nothing else
/// shows them: the whole stop is longer with them, and shorter with a better brake.
pub(super) fn driven(protocol: &Protocol) -> Option<Finding> {
    let calculated = Calculated::of(protocol)?;
    let unheld = |it: &&Condition| matches!(it.mode, Mode::One | Mode::Fails | Mode::CutShort);
    let shown: Vec<(&Condition, Option<Pooled>)> = protocol
        .conditions
        .iter()
        .filter(unheld)
        .map(|it| (it, pooled(it, protocol.plan.error.si)))
        .collect();
    let seen = || shown.iter().filter_map(|(one, it)| Some((*one, it.as_ref()?)));
    let in_words = |all: &mut dyn Iterator<Item = (&Condition, &Pooled)>| {
        all.map(|(one, it)| calculated.words(one, it)).collect::<Vec<_>>().join("; ")
    };
    let least = 1e-9 * (calculated.friction.1 + calculated.load.unwrap_or(0.0).abs());
    // where the lines of half the stops are seen, each is one
    let alone = seen().flat_map(|(one, _)| one.stops.iter().map(move |stop| (one, stop)));
    let alone: Vec<(&Condition, Pooled)> = alone
        .filter_map(|(one, stop)| Some((one, single(stop, protocol.plan.error.si)?)))
        .collect();
    let further = |a: &(&Condition, &Pooled), b: &(&Condition, &Pooled)| {
        calculated.beyond(a.1).total_cmp(&calculated.beyond(b.1))
    };
    let furthest = alone.iter().map(|(one, it)| (*one, it)).max_by(further);
    let pooled = seen().max_by(further);
    // a single one is named where it is further beyond than all together
    let furthest = furthest.filter(|it| pooled.is_none_or(|all| further(it, &all).is_gt()));
    let surely = || seen().chain(furthest).filter(|it| calculated.beyond(it.1) > least);
    if let Some((_, it)) = surely().max_by(further) {
        let detail = format!("{}; {}", in_words(&mut surely()), calculated.with(it.slope.value));
        let otherwise = format!(
            "the load drives more, there is less friction, or less inertia: the stops show what is left of the torques over J, not which of them. Find it, and put it right in `[calculation]` and `[settings]`: {}",
            calculated.instead(it)
        );
        return Some(finding(false, TEXT, detail, &otherwise));
    }
    let enough = SHOWN * (calculated.friction.1 + calculated.load.unwrap_or(0.0).abs());
    let open: Vec<(bool, String)> = shown
        .iter()
        .filter(|it| it.1.as_ref().is_none_or(|it| calculated.torque(it.slope).u > enough))
        .map(|(one, it)| {
            let filter =
                protocol.plan.recorder.as_ref().map_or(0.0, |it| it.settles() + it.delay());
            let needs = filter + needed(one, calculated.inertia.1 / calculated.turn, enough);
            let asks = format!("about {} ms would show it", digits(needs * 1e3, 2));
            let Some(it) = it else {
                return (
                    true,
                    format!("`{}`: no straight line is seen before it grips; {asks}", one.label()),
                );
            };
            let short = needs > it.long;
            let bends = it.bends.then_some(
                "the line bends, as where a brake begins to grip or torque is not gone at once",
            );
            let differ =
                "longer would not show it: the stops differ, or the speed goes up and down";
            let why = bends.or((!short).then_some(differ)).map(str::to_owned);
            let all: Vec<String> = [calculated.words(one, it)]
                .into_iter()
                .chain(why)
                .chain(short.then_some(asks))
                .collect();
            (short, all.join("; "))
        })
        .collect();
    if open.is_empty() {
        let slope = seen().next()?.1.slope.value;
        let detail = format!("{}; {}", in_words(&mut seen()), calculated.with(slope));
        return Some(finding(true, TEXT, detail, ""));
    }
    // where no stop stands on it alone, the whole stop shows brake, load and friction together
    let counts = protocol.lost.is_some() || calculated.predicted.longest_is_lost().is_some();
    counts.then(|| {
        let (says, record) = if open.iter().any(|it| it.0) {
            ("too short to say", "record with shorter times between samples and less noise; or ")
        } else {
            ("not to be told", "")
        };
        let all: Vec<&str> = open.iter().map(|it| it.1.as_str()).collect();
        caution(
            TEXT,
            format!("{says}: {}; {}", all.join("; "), calculated.with(1.0)),
            &format!("{record}look the load up again, by weighing it or by the torque with which the drive holds it: a stop by torque lost stands on it, and no other finding shows it"),
        )
    })
}

/// How long the line would have to last to show as little as is enough, by the noise of the channel alone.
fn needed(condition: &Condition, inertia: f64, enough: f64) -> f64 {
    let most = |of: fn(&Stop) -> f64| condition.stops.iter().map(of).fold(0.0, f64::max);
    let (noise, sampling) = (most(|it| it.noise), most(|it| it.sampling));
    let stops = count_f64(condition.stops.len().max(1));
    // two standard deviations of a slope, and four times that of its bend
    let slope = 5.0 * 2.0 * noise * (12.0 * sampling / stops).sqrt();
    let cubed = (slope * inertia / enough.max(f64::MIN_POSITIVE)).powi(2);
    let line = cube_root(cubed).max(count_f64(LEAST) * sampling);
    // what is held against the line is no part of it, nor what lies around the removal
    line / USED + count_f64(NEXT + 2) * sampling
}
