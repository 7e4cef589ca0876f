//! What can be drawn of a course: which value of its state is the time, which a speed, which the way that belongs to it,
//! told by what they are and not by a name; and the speed between two states.

use crate::program::{CourseStates, Program, StateValue};
use crate::unit::{Dimension, Unit};

const TIME: Dimension = Dimension::of(0, 0, 1, 0, 0, 0);
const POWER: Dimension = Dimension::of(2, 1, -3, 0, 0, 0);

/// Speeds, of rotation and along a line, each with its way: what they are called on an axis.
const SPEEDS: [(Dimension, &str, Dimension, &str); 2] = [
    (
        Dimension::of(0, 0, -1, 0, 0, 1),
        "speed of rotation",
        Dimension::of(0, 0, 0, 0, 0, 1),
        "angle",
    ),
    (Dimension::of(1, 0, -1, 0, 0, 0), "speed", Dimension::of(1, 0, 0, 0, 0, 0), "way"),
];

/// As many courses as a picture can tell apart.
const TOGETHER: usize = 3;

/// What stands at an axis.
pub(crate) fn axis(word: &str, unit: &Unit) -> String {
    let symbol = &unit.symbol;
    match symbol.contains(['/', '·']) {
        true => format!("{word} / ({symbol})"),
        false => format!("{word} / {symbol}"),
    }
}

/// What a value of a state is in a picture.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Part {
    Time,
    Speed,
    Way,
    Power,
    /// A further speed, such as the highest: said, not drawn.
    Said,
}

/// Courses of one state that a sheet has side by side.
pub(crate) struct Motion<'a> {
    pub(crate) courses: Vec<&'a CourseStates>,
    /// Places of values of the state, the time first, then the speed; what each is, and what it is called on an axis:
    /// the kind of it, and its name in the sheet.
    pub(crate) parts: Vec<(usize, Part, String)>,
}

/// What can be drawn of the courses of a sheet of the tree of `uses`: of each state the first value that is a time, the
/// first that is a speed, the one that can be the way of that speed, and the first that is a power. Of several ways none
/// is drawn, since nothing says which belongs to the speed.
pub(crate) fn motions(program: &Program, scope: usize) -> Vec<Motion<'_>> {
    let own = program.courses.iter().filter(|it| usize::try_from(it.scope) == Ok(scope));
    let mut all: Vec<Motion<'_>> = Vec::new();
    for course in own {
        let Some(parts) = parts(course) else { continue };
        let has_room = |it: &&mut Motion<'_>| {
            let is_same = |other: &&CourseStates| other.state == course.state;
            it.parts == parts
                && it.courses.len() < TOGETHER
                && it.courses.first().is_some_and(is_same)
        };
        match all.iter_mut().find(has_room) {
            Some(motion) => motion.courses.push(course),
            None => all.push(Motion { courses: vec![course], parts }),
        }
    }
    all
}

fn parts(course: &CourseStates) -> Option<Vec<(usize, Part, String)>> {
    let of = |dimension: Dimension| {
        let all = course.values.iter().enumerate();
        all.filter(move |(_, value)| value.unit.dimension == dimension).map(|(at, _)| at)
    };
    let alone = |dimension| of(dimension).next().filter(|_| of(dimension).nth(1).is_none());
    let time = of(TIME).next()?;
    let is = |value: &StateValue| SPEEDS.iter().find(|it| it.0 == value.unit.dimension);
    let (speed, word, way, way_word) = *course.values.iter().find_map(is)?;
    let part = |at: usize, part: Part, word: &str| {
        let name = course.values.get(at).map_or("", |it| it.name.as_str());
        (at, part, format!("{word} {name}").trim_start().to_owned())
    };
    let mut parts =
        vec![part(time, Part::Time, "time"), part(of(speed).next()?, Part::Speed, word)];
    parts.extend(alone(way).map(|at| part(at, Part::Way, way_word)));
    parts.extend(of(POWER).next().map(|at| part(at, Part::Power, "power")));
    parts.extend(of(speed).skip(1).map(|at| part(at, Part::Said, "")));
    Some(parts)
}

/// How a speed goes from one state to the next so that its mean is what the way asks: a parabola, in two halves; or, where
/// that would run beyond both speeds or below zero, two parts of parabolas with a constant speed between them.
///
/// Each part is a curve from its end to `middle`, towards `corner`: `(1 − u)²·end + 2·u·(1 − u)·corner + u²·middle`, of
/// which a straight line is one.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Between {
    /// How much of the time each part takes, the first and the last.
    pub(crate) long: [f64; 2],
    pub(crate) corner: [f64; 2],
    pub(crate) middle: f64,
    /// The speed that it would run beyond, and how much of the time it takes to and from it; 1 where it does not.
    pub(crate) level: Option<f64>,
    pub(crate) share: f64,
}

impl Between {
    /// From a speed to another, with their mean.
    ///
    /// Source: integral of a parabola (derivation).
    pub(crate) fn new(from: f64, to: f64, mean: f64) -> Self {
        let (low, high) = (from.min(to), from.max(to));
        // the last bits of a mean decide nothing
        let near = 1e-9 * low.abs().max(high.abs());
        let level = if low - near <= mean && mean <= high + near {
            let third = (high - low) / 3.0;
            if mean < low + third - near {
                Some(low)
            } else if mean > high - third + near {
                Some(high)
            } else {
                None
            }
        } else if (0.0..low).contains(&mean) || (mean > high && mean <= 0.0) {
            Some(0.0)
        } else {
            None
        };
        if let Some(level) = level {
            let (a, b) = ((from - level).abs(), (to - level).abs());
            // the mean, from the level, of the parabola that just touches it
            let part = (mean - level).abs() * 3.0 / (a - (a * b).sqrt() + b);
            let sum = a.sqrt() + b.sqrt();
            if part < 1.0 {
                let long = [part * a.sqrt() / sum, part * b.sqrt() / sum];
                return Self {
                    long,
                    corner: [level; 2],
                    middle: level,
                    level: Some(level),
                    share: part,
                };
            }
        }
        let corner = 3.0 * mean - from - to;
        let corner = [(from + corner) / 2.0, (corner + to) / 2.0];
        let middle = (corner[0] + corner[1]) / 2.0;
        Self { long: [0.5; 2], corner, middle, level, share: 1.0 }
    }

    /// The speed at a place of a part, 0 at its end.
    pub(crate) fn speed(&self, [end, corner]: [f64; 2], u: f64) -> f64 {
        (1.0 - u) * (1.0 - u) * end + 2.0 * u * (1.0 - u) * corner + u * u * self.middle
    }

    /// The way from the end of a part to a place of it, as if it took a whole unit of time.
    pub(crate) fn way(&self, [end, corner]: [f64; 2], u: f64) -> f64 {
        let rest = 1.0 - u;
        (end * (1.0 - rest * rest * rest)
            + corner * (3.0 - 2.0 * u) * u * u
            + self.middle * u * u * u)
            / 3.0
    }
}

/// Whether a phase takes no time: the last bits of two ways of calculating are not a part of the stop.
pub(crate) fn is_moment(from: f64, to: f64) -> bool {
    to - from <= 1e-9 * to
}

/// Steps in which each part of a curve between two states is drawn.
pub(crate) const STEPS: u32 = 10;

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_first_speed_of_a_state_is_drawn_with_its_own_way() {
        let of = |units: &[&'static str]| {
            let value = |symbol: &&str| StateValue {
                name: (*symbol).to_owned(),
                unit: crate::unit::parse_unit(symbol).unwrap(),
                registers: Vec::new(),
            };
            let values = units.iter().map(value).collect();
            let (name, state) = (String::new(), String::new());
            let parts = parts(&CourseStates { scope: 0, name, state, lines: Vec::new(), values });
            parts.unwrap_or_default().iter().map(|(at, ..)| units[*at]).collect::<Vec<_>>()
        };
        assert_eq!(of(&["s", "m/s", "r/min", "r", "mm"]), ["s", "m/s", "mm"]);
        assert_eq!(of(&["r", "r/min", "s", "m/s", "rad/s"]), ["s", "r/min", "r", "rad/s"]);
        assert!(of(&["m/s", "mm"]).is_empty());
        // which of two it is nobody says
        assert_eq!(of(&["s", "m/s", "mm", "m"]), ["s", "m/s"]);
    }

    // by hand; the area of a parabola through three points is that of Simpson's rule
    #[test]
    fn a_speed_between_two_states_has_their_mean_and_runs_beyond_neither() {
        for from in [0.0_f64, 1.0, 4.0, 100.0, -3.0] {
            for to in [0.0_f64, 2.0, 4.0, 90.0, -5.0] {
                for part in -20..60 {
                    let mean = f64::from(part) / 30.0 * f64::max(from.abs(), to.abs());
                    let curve = Between::new(from, to, mean);
                    let [a, b] = [[from, curve.corner[0]], [to, curve.corner[1]]];
                    let flat = 1.0 - curve.long[0] - curve.long[1];
                    let area = curve.long[0] * curve.way(a, 1.0)
                        + curve.long[1] * curve.way(b, 1.0)
                        + flat * curve.middle;
                    assert!(
                        (area - mean).abs() < 1e-9 * (1.0 + mean.abs()),
                        "{from} {to} {mean}: {area}"
                    );
                    assert!(flat >= -1e-12 && curve.long.iter().all(|it| *it >= 0.0));
                    let (low, high) = (from.min(to), from.max(to));
                    for step in 0..=20 {
                        let u = f64::from(step) / 20.0;
                        for speed in [curve.speed(a, u), curve.speed(b, u)] {
                            let inside = low <= mean && mean <= high;
                            assert!(
                                !inside || (low - 1e-9..=high + 1e-9).contains(&speed),
                                "{from} {to} {mean}: {speed}"
                            );
                            assert!(
                                low < 0.0 || mean < 0.0 || speed >= -1e-9,
                                "{from} {to} {mean}: {speed}"
                            );
                        }
                    }
                    let straight = Between::new(from, to, (from + to) / 2.0);
                    assert!((straight.middle - (from + to) / 2.0).abs() < 1e-9);
                }
            }
        }
    }
}
