//! The figures of a recorded stop, each with its expanded uncertainty.

use super::fit::{Bent, Reached, Straight, bent, straight};
use super::friction::{Noise, RunDown, run_down};
use super::measure::{Measured, apart, count_f64};
use super::plan::Plan;
use super::smear::Smear;
use super::stop::{Ramp, Recorded, Stop};
use super::trace::{FLAT, LEAST, Trace};
use crate::diagnostic::{Diagnostic, Name, Place};
use crate::elementary::logarithm;

/// Points of a curve in a picture.
const DRAWN: usize = 240;

/// Samples of a line.
const OF_A_LINE: usize = 8;

/// The figures of a recorded stop.
///
/// # Errors
/// All that keeps it from being judged, each with the cell where the stop begins.
pub fn judge(recorded: &Recorded, plan: &Plan) -> Result<Stop, Vec<Diagnostic>> {
    let trace = Trace::new(recorded, plan);
    let place = recorded.place.clone().unwrap_or(Place::File { name: recorded.file.clone() });
    let located = |problem: Diagnostic| match problem.place {
        Some(_) => problem,
        None => problem.at(place.clone()),
    };
    let problems: Vec<Diagnostic> = trace.problems().into_iter().map(located).collect();
    if !problems.is_empty() {
        return Err(problems);
    }
    trace.figures(recorded, &place).map_err(|problem| vec![located(problem)])
}

impl Trace<'_> {
    /// The share of the ramp's time that each end of it is rounded.
    fn rounded(&self) -> f64 {
        self.plan.rounded.as_ref().map_or(0.0, |it| it.si)
    }

    /// The line of the ramp.
    pub(super) fn ramp(&self, end: f64) -> Option<Straight> {
        // the part of the speed that each rounded end takes, as in `ramp-stop`
        let bent = self.rounded() / (2.0 * (1.0 - self.rounded()));
        let high = (0.95_f64.min(1.0 - bent).max(0.55) * self.v_0)
            .min(self.v_0 - 5.0 * self.calm - self.step);
        let from = self.first_below(high)? + self.behind();
        let low = bent.clamp(0.1, 0.45) * self.v_0;
        let to = self.first_below(low.max(2.0 * self.plan.standstill.si))?.min(end) - self.ahead();
        let points = self.between(from, to);
        let line = straight(&points, self.noise).filter(|_| points.len() >= OF_A_LINE)?;
        let fallen = line.at(from) - line.at(to);
        let clear =
            line.slope < 0.0 && fallen > 0.04 * self.v_0 && line.u_slope() < -0.5 * line.slope;
        clear.then_some(line)
    }

    /// The way down of the last speeds, from as low as the movement can be seen: the piece of a parabola that says
    /// best when it ends. A creeping before it belongs to none.
    fn end(&self, seen: f64) -> Option<(Bent, Reached)> {
        let (floor, width) = (self.floor(), self.plan.filter.si);
        let look = width.max(3.0 * self.sampling);
        // how steep it is before the end is smeared
        let until = seen - self.late() - self.settles();
        let fall = (self.mean_at(until - look) - self.mean_at(until)) / look;
        let low = (1.5 * floor).max(1.2 * fall * self.ahead()) + self.rest;
        let to = self.last_above(low)?;
        let (mut high, mut best) = (2.0 * low, None::<(Bent, Reached)>);
        let mut common = (f64::NEG_INFINITY, f64::INFINITY);
        while high < 0.4 * self.v_0 {
            let mut from = self.last_above(high).unwrap_or(0.0);
            // a kink where torque goes belongs to neither side
            if let Some((removed, _)) = self.removed
                && removed > from
                && self.between(removed + self.behind(), to).len() >= OF_A_LINE
            {
                from = removed + self.behind();
            }
            let points = self.between(from, to);
            high *= 1.3;
            if points.len() < OF_A_LINE {
                continue;
            }
            let bent = bent(&points, self.noise)?;
            if bent.line.u_slope() > -0.3 * bent.line.slope {
                continue;
            }
            let bent = self.smear.map_or(bent, |it| bent.unsmeared(it.square()));
            let reached = bent.reaches(self.rest);
            let time = reached.time;
            common = (common.0.max(time.value - time.u), common.1.min(time.value + time.u));
            // a longer piece that says another end than a shorter one is not one curve with it
            if common.0 > common.1 || !self.follows(&points, &bent) {
                break;
            }
            if best.is_none_or(|it| time.u < it.1.time.u) {
                best = Some((bent, reached));
            }
        }
        best
    }

    /// Whether the rests of a curve are those of noise and steps, part by part.
    fn follows(&self, points: &[(f64, f64)], curve: &Bent) -> bool {
        points.chunks(points.len().div_ceil(6)).all(|part| {
            let n = count_f64(part.len());
            let rest = part.iter().map(|(t, v)| v - curve.at(*t)).sum::<f64>() / n;
            rest.abs()
                < 3.0 * self.noise / n.sqrt() + 0.25 * self.step + 0.01 * self.plan.standstill.si
        })
    }

    /// Time to the threshold, and to standstill.
    fn standstill(&self, last: f64, edge: f64) -> (Measured, Measured) {
        let (floor, half) = (self.floor(), self.plan.filter.si / 2.0);
        // the last that is seen of the movement
        let seen = self.last_above(floor + self.rest).unwrap_or(last).max(last);
        let direct = Measured {
            value: last,
            u: ((self.around() + self.sampling).powi(2) + 4.0 * edge).sqrt(),
        };
        let Some((bent, reached)) = self.end(seen) else {
            return (direct, self.unled(seen, edge));
        };
        let Reached { mut time, steep } = reached;
        let mean = -bent.line.slope;
        let crossed = |level: f64| bent.reaches(level + self.rest).time.value;
        // where the mean of such a fall is seen no longer; of a steep one that is after it stands
        let expected = if floor >= steep * self.ahead() {
            crossed(floor)
        } else if let Some(smear) = self.smear {
            time.value + smear.below_with(floor / steep, 2.0 * half)
        } else {
            time.value + half - 2.0 * (half * floor / steep).sqrt()
        };
        // the last crossing of a level lies as far off as the noise reaches, on a flat way down farther
        let sooner = crossed(floor) - crossed(floor + 3.0 * self.calm) + self.sampling;
        let until = crossed((floor - 3.0 * self.calm).max(0.0)) - crossed(floor) + self.sampling;
        if seen > expected + time.u + until {
            return (direct, self.unled(seen, edge));
        }
        let stops_short = seen < expected - time.u - sooner;
        let of_error = self.plan.error.si / mean;
        time.u = (time.u.powi(2) + of_error * of_error + 4.0 * edge).sqrt();
        // the last of the way down is not seen, and may be rounded: a parabola that goes on from there and ends flat
        // stands at twice the time of a straight line, and is seen later by (√D − √hidden)²
        let height = (bent.at(bent.line.middle) - self.rest).max(floor);
        let floor = floor.max(steep * self.late());
        let height = height.max(floor);
        let slowest = bent.steep_at(crossed(floor)).clamp(mean * (floor / height).sqrt(), mean);
        let hidden = (crossed(floor) + 2.0 * floor / slowest - time.value).max(0.0);
        let later = (seen - expected + 5.0 * self.calm / slowest).max(0.0);
        let rounded = (hidden.sqrt() + later.sqrt()).powi(2);
        let sharper = hidden / 2.0 + (expected - seen).max(0.0);
        time = Measured {
            value: time.value + (rounded - sharper) / 2.0,
            u: time.u + (rounded + sharper) / 2.0,
        };
        // seen sooner no longer than such a fall is: it may as well have ended sharply
        if stops_short && let Some(both) = apart(&[time, self.unled(seen, edge)]) {
            return (direct, both);
        }
        let below = bent.reaches(self.plan.standstill.si + self.rest).time;
        let below = Measured { value: below.value, u: time.u.max(below.u) };
        let agrees = (below.value - last).abs() < self.around() + below.u + self.sampling;
        (if agrees { below } else { direct }, time)
    }

    /// Standstill, where a movement is sure to be seen after it: then that is the last of the stop.
    fn with_creep(&self, time: Measured) -> Measured {
        let fades = self.fades(time.value);
        let after = time.value + time.u + fades;
        let Some((from, to)) = self.moving().filter(|it| it.0 > time.value + fades && it.1 > after)
        else {
            return time;
        };
        let to = to + self.fades_out(to);
        let (from, to) = (from - self.settles(), to + self.late());
        let half = (to - from) / 2.0 + self.sampling;
        let until = to + self.sampling;
        Measured { value: until - half, u: (half * half + time.u * time.u).sqrt() }
    }

    /// Standstill, and until when a creep that noise hides may have followed.
    fn with_hidden(&self, time: Measured) -> Measured {
        let latest = self.stands_by(time.value).unwrap_or(time.value);
        let latest = Measured { value: latest, u: 0.0 };
        if latest.value <= time.value + time.u {
            time
        } else {
            apart(&[time, latest]).unwrap_or(time)
        }
    }

    /// How far off a bend the mean may show it.
    fn around(&self) -> f64 {
        self.ahead().max(self.behind())
    }

    /// How long the recorder's filter goes on to show a stop that is over, down to what is no longer told from rest.
    fn fades(&self, time: f64) -> f64 {
        let unseen = self.faint();
        let steepest = 3.0 * self.v_0 / time.max(self.sampling);
        self.smear.map_or(0.0, |it| it.below(unseen / steepest))
    }

    /// When it stands at the latest after it was last seen to move, were the rest of the way down a parabola.
    fn unseen(&self, seen: f64) -> f64 {
        let before = self.last_above(2.0 * self.floor() + self.rest).unwrap_or(seen);
        // √2 times as fast at twice the height: what is left takes 1/(√2 − 1) of the time between the two, which noise
        // makes up to a quarter longer
        seen + FLAT * (seen - before).max(0.0)
    }

    /// Standstill where no curve leads to it: between what is still seen and what may follow unseen.
    fn unled(&self, seen: f64, edge: f64) -> Measured {
        let from = seen - self.behind() - self.sampling;
        let to = self.unseen(seen) + self.late() + self.sampling;
        let u = (to - from) / 2.0;
        Measured { value: from + u, u: (u * u + 4.0 * edge).sqrt() }
    }

    fn figures(&self, recorded: &Recorded, place: &Place) -> Result<Stop, Diagnostic> {
        let error = self.plan.error.si;
        let of_delay = self.smear.map_or(0.0, Smear::u_delay) / 2.0;
        let edge = recorded.half * recorded.half / 3.0 + of_delay * of_delay;
        let threshold = self.plan.standstill.si;
        let last = self.last_above(threshold).unwrap_or(0.0);
        let count = self.between(0.0, last).len();
        if count < LEAST {
            return Err(Self::too_few(count));
        }
        let whole = |u: f64, of: f64| (u * u + 4.0 * edge * of * of).sqrt();
        let with_error = |u: f64, sensitivity: f64| (u * u + (error * sensitivity).powi(2)).sqrt();
        let of_the_end = self.between(self.last_above(0.4 * self.v_0).unwrap_or(0.0), last);
        if of_the_end.len() < OF_A_LINE {
            let words = format!(
                "{} samples while the speed falls from {} to `standstill`, {OF_A_LINE} are needed",
                of_the_end.len(),
                self.words(0.4 * self.v_0)
            );
            return Err(Diagnostic::error(Name::TooFewSamples, words).remedy("record with shorter times between samples; where the speed drops there, look whether the channel reads low speeds"));
        }
        let (below, time) = self.standstill(last, edge);
        let time = self.with_hidden(self.with_flickers(time, self.with_creep(time)));
        let speed = Measured { value: self.v_0, u: with_error(2.0 * self.variance_0.sqrt(), 1.0) };
        let removed = self.removed;
        // both lie anywhere between their samples: the uncertainty is that of the farthest ends
        let delay = removed.map(|(t, half)| Measured { value: t, u: half + recorded.half });
        let cut = removed.filter(|(t, _)| *t < below.value);
        let line = self.ramp(cut.map_or(below.value, |it| it.0));
        let line = line.filter(|line| cut.is_none_or(|(t, _)| line.at(t) < 0.9 * self.v_0));
        let f = self.rounded();
        let response = line.map(|line| {
            let (t, u) = line.reaches(self.v_0, self.variance_0);
            // a rounded ramp begins f/2 of its time before its straight part would
            let ramp = self.v_0 / -line.slope / (1.0 - f);
            Measured { value: t - ramp * f / 2.0, u: whole(u, 1.0) }
        });
        let slope = line.map(|line| Measured {
            value: -line.slope * (1.0 - f),
            u: with_error(line.u_slope(), line.slope.abs() / self.v_0) * (1.0 - f),
        });
        let left =
            cut.and_then(|(t, half)| self.left(t, half, response.map_or(0.0, |it| it.value)));
        let ramp = match (recorded.has_removed, removed, left) {
            (false, ..) => None,
            (_, None, _) => Some(Ramp::Finished),
            (_, Some(_), None) => Some(Ramp::Finished),
            (.., Some(left)) if left.value <= threshold => Some(Ramp::Finished),
            // what moves off again after it stood is no longer the ramp
            _ if cut.is_some_and(|cut| self.stood_before(cut)) => Some(Ramp::Finished),
            (.., Some(left)) if left.value > 0.9 * self.v_0 => Some(Ramp::Missing),
            _ => Some(Ramp::CutShort),
        };
        let begins = response.map_or_else(|| cut.map_or(0.0, |it| it.0), |it| it.value);
        let long = (time.value - begins).max(self.sampling);
        let of_time = (time.u.powi(2) + response.map_or(0.0, |it| it.u.powi(2))).sqrt() / long;
        let mean = self.v_0 / long;
        let (peak, window) = self.peak(time.value);
        let back = self.back();
        Ok(Stop {
            file: recorded.file.clone(),
            place: place.clone(),
            speed,
            noise: self.noise,
            step: self.step,
            lowest: self.lowest(),
            flickers: self.flickers(),
            sampling: self.sampling,
            response,
            slope,
            below,
            time,
            turned: self.turned(time, edge),
            delay,
            left: left.filter(|left| left.value > threshold),
            ramp,
            mean: Measured {
                value: mean,
                u: mean * ((speed.u / self.v_0).powi(2) + of_time.powi(2)).sqrt(),
            },
            peak,
            window,
            rebound: (back > 0.0).then_some(Measured {
                value: back,
                u: with_error(2.0 * self.calm + self.step / 2.0, 1.0),
            }),
            doubts: self.doubts(speed, ramp, left),
            unbraked: cut
                .and_then(|cut| self.unbraked(cut, ramp == Some(Ramp::Missing), time.value)),
            fading: cut
                .filter(|_| ramp == Some(Ramp::Missing))
                .and_then(|cut| self.fading(cut.0 + cut.1, time.value)),
            run_down: cut.and_then(|cut| self.run_down(cut)),
            bounced: recorded.bounced,
            curve: self.curve(time.value),
            print: recorded.print(),
        })
    }

    /// The largest speed backwards after the command that is no chance; zero where there is none.
    fn back(&self) -> f64 {
        let after = self.t.iter().zip(&self.f).enumerate().filter(|(_, (t, _))| **t > 0.0);
        let back = after.map(|(at, (_, f))| (self.rest - f, self.sure_at(at).max(self.step)));
        back.filter(|(back, least)| back > least).fold(0.0, |most: f64, it| most.max(it.0))
    }

    /// Whether the machine stood, for as long as a mean is, before torque was seen to go.
    fn stood_before(&self, (removed, half): (f64, f64)) -> bool {
        let threshold = self.plan.standstill.si;
        let long = self.plan.filter.si.max(12.0 * self.sampling);
        let from = self.first_below(threshold).unwrap_or(removed) + self.ahead();
        let stands = self.between(from, (from + long).min(removed - half));
        let seen = stands.last().map_or(0.0, |last| last.0 - from);
        let mean = stands.iter().map(|it| it.1).sum::<f64>() / count_f64(stands.len().max(1));
        seen > long - 1.5 * self.sampling && mean.abs() < threshold
    }

    /// Speed left when torque goes.
    fn left(&self, t: f64, half: f64, begins: f64) -> Option<Measured> {
        let width = (2.0 * self.plan.filter.si).max(12.0 * self.sampling);
        // what is smeared by the ramp's begin, or by the removal, belongs to neither line
        let (begins, until) = (begins + self.settles(), t - self.late());
        let from = if begins < until { (until - width).max(begins) } else { until - width };
        let mut points = self.between(from, until - half);
        if points.len() < 4 {
            points = self.between(until - width, until - half);
        }
        let line = straight(&points, self.noise)?;
        let of_edge = line.slope * half;
        let variance = line.variance_at(t) + of_edge * of_edge / 3.0;
        // a speed that hardly changes is always rounded the same way
        let rounded =
            if line.slope.abs() * width < 2.0 * self.step { self.step / 2.0 } else { 0.0 };
        let bounds = self.plan.error.si.powi(2) + rounded * rounded;
        let u = (line.k * line.k * variance + bounds).sqrt();
        Some(Measured { value: line.at(t).max(0.0), u })
    }

    /// The largest deceleration over a window, freed from what noise alone adds to the largest of many.
    fn peak(&self, end: f64) -> (Measured, f64) {
        let end = end.min(self.t.last().copied().unwrap_or(0.0));
        let window = self.plan.filter.si.max(12.0 * self.sampling);
        let (mut most, mut start, mut spread) = (0.0_f64, 0.0, 0.0);
        while start < end {
            let points = self.between(start, start + window);
            if let Some(line) = straight(&points, self.noise)
                && -line.slope > most
            {
                most = -line.slope;
                spread = line.u_slope() / line.k;
            }
            start += window / 4.0;
        }
        let many = (end / window).max(2.0);
        let lift = spread * (2.0 * logarithm(many)).sqrt();
        let of_error = most * self.plan.error.si / self.v_0;
        let u = ((0.4 * lift + 2.0 * spread).powi(2) + of_error * of_error).sqrt();
        (Measured { value: most - 0.8 * lift, u }, window + 2.0 * self.late())
    }

    /// The furthest angle or way from the command on, until standstill, by trapezia.
    fn turned(&self, time: Measured, edge: f64) -> Measured {
        let first = self.t.partition_point(|t| *t < 0.0);
        let mut before = (0.0, self.v.get(first).copied().unwrap_or(self.v_0));
        let (mut sum, mut squares, mut most) = (0.0_f64, 0.0, 0.0_f64);
        for (t, v) in self.t.iter().zip(&self.v).skip(first) {
            let (t, v) = if *t < time.value { (*t, *v) } else { (time.value, 0.0) };
            let step = t - before.0;
            sum += step * (v + before.1) / 2.0;
            squares += step * step;
            before = (t, v);
            most = most.max(sum.abs());
            if t >= time.value {
                break;
            }
        }
        let by_edge = self.v_0 * edge.sqrt();
        let by_noise = self.noise * squares.sqrt();
        let by_error = self.plan.error.si * time.value;
        let by_end = self.plan.standstill.si * time.u / 2.0;
        // what a bend smears beyond the ends
        let by_smear = self.smear.map_or(0.0, |it| it.square()) * self.v_0 / (time.value / 4.0);
        let u = (4.0 * (by_edge.powi(2) + by_noise.powi(2))
            + by_error.powi(2)
            + by_end.powi(2)
            + by_smear.powi(2))
        .sqrt();
        Measured { value: most, u }
    }

    fn run_down(&self, (removed, half): (f64, f64)) -> Option<RunDown> {
        let floor = (2.0 * self.plan.standstill.si).max(0.02 * self.v_0);
        let end = self.last_forward(floor)? - self.ahead();
        let points = self.between(removed + half + self.sampling + self.settles(), end);
        let (first, last) = (points.first()?, points.last()?);
        if points.len() < 40 || last.1 > 0.7 * first.1 || first.1 < 4.0 * floor {
            return None;
        }
        let noise = Noise { one: self.noise, lasting: self.lasting, step: self.step };
        run_down(&points, &noise)
    }

    /// The curve thinned for a picture, a little beyond standstill.
    fn curve(&self, end: f64) -> Vec<(f64, f64)> {
        let points = self.between(-0.05 * end, 1.1 * end);
        let size = points.len().div_ceil(DRAWN).max(1);
        let mean = |part: &[(f64, f64)]| {
            let n = count_f64(part.len().max(1));
            let sum = part.iter().fold((0.0, 0.0), |sum, it| (sum.0 + it.0, sum.1 + it.1));
            (sum.0 / n, sum.1 / n)
        };
        points.chunks(size).map(mean).collect()
    }
}
