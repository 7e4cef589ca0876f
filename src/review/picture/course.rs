//! Speed, way and power over time in the courses of a sheet, from the states in which their phases end.

use serde_json::{Value, json};

use super::plot::{Curve, Panel, Plot, Points, Strip};
use super::svg::four_digits;
use crate::calculation::Results;
use crate::calculation::motion::{Between, Motion, Part, STEPS, axis, is_moment};
use crate::number::Slot;
use crate::program::Register;
use crate::unit::Unit;

/// How it is made.
pub(super) const HOW: &str = "The states marked are the program's own values, tolerances left out: where each phase of a course ends. Between the states marked: as the calculated angle or way asks, from the speed in the one to that in the other; how it came there, its highest speed too, is not calculated for the picture: a machine that turns back meanwhile is drawn as if it went on, and a power as a straight line.";

/// The lines of the courses of one picture.
const CLASSES: [&str; 3] = ["c1", "c2", "c3"];

/// How far above all curves a further speed is drawn, as a part of theirs.
const ABOVE: f64 = 1.001;

/// The courses of a sheet, ready to be drawn.
pub(super) struct Courses {
    /// Name, names of the lines.
    courses: Vec<(String, Vec<String>)>,
    values: Vec<Shown>,
    /// Of each course, of each value, of each state.
    pub(super) registers: Vec<Register>,
    /// What they are, none where it does not exist.
    now: Vec<Option<f64>>,
}

/// A value of the state, as it is drawn.
struct Shown {
    part: Part,
    /// What it is called on an axis, or where it is said.
    word: String,
    unit: Unit,
}

impl Shown {
    fn axis(&self) -> String {
        axis(&self.word, &self.unit)
    }

    fn shown(&self, value: f64) -> f64 {
        value / self.unit.factor.as_f64()
    }

    fn told(&self, value: f64) -> String {
        format!("{} {}", four_digits(self.shown(value)), self.unit.symbol)
    }
}

impl Courses {
    pub(super) fn of(results: &Results, motion: &Motion<'_>) -> Option<Self> {
        let first = motion.courses.first()?;
        let shown = |(at, part, word): &(usize, Part, String)| {
            let unit = first.values.get(*at)?.unit.clone();
            Some(Shown { part: *part, word: word.clone(), unit })
        };
        let values = motion.parts.iter().map(shown).collect::<Option<Vec<_>>>()?;
        let registers: Vec<Register> = motion
            .courses
            .iter()
            .flat_map(|course| motion.parts.iter().filter_map(|(at, ..)| course.values.get(*at)))
            .flat_map(|value| value.registers.iter().copied())
            .collect();
        let now = registers.iter().map(|register| match results.run().register(*register) {
            Ok(Slot::One(value)) => Some(value.to_f64()),
            _ => None,
        });
        let courses = motion.courses.iter().map(|it| (it.name.clone(), it.lines.clone()));
        Some(Self { courses: courses.collect(), values, now: now.collect(), registers })
    }

    /// What the page draws it again from, beside the registers.
    pub(super) fn client_data(&self) -> Value {
        let values = self.values.iter().map(|it| {
            let part = match it.part {
                Part::Time => "t",
                Part::Speed => "n",
                Part::Way => "w",
                Part::Power => "p",
                Part::Said => "",
            };
            let axis = if it.part == Part::Said { it.word.clone() } else { it.axis() };
            json!([part, axis, it.unit.symbol, it.unit.factor.as_f64()])
        });
        json!([self.courses, values.collect::<Vec<_>>()])
    }

    /// Whether a course has a state to draw.
    pub(super) fn is_drawn(&self) -> bool {
        self.states().iter().any(|states| !states.is_empty())
    }

    /// Of each course its states, up to the first that does not exist; of each state its values.
    fn states(&self) -> Vec<Vec<Vec<f64>>> {
        let mut rest = self.now.as_slice();
        let mut all = Vec::new();
        for (_, lines) in &self.courses {
            let count = lines.len() + 1;
            let (own, others) = rest.split_at((count * self.values.len()).min(rest.len()));
            rest = others;
            let state = |at: usize| {
                own.chunks(count).map(|value| value.get(at).copied().flatten()).collect()
            };
            all.push((0..count).map_while(state).collect());
        }
        all
    }

    /// The picture, and what stands below it of each course.
    pub(super) fn plot(&self) -> (Plot, Vec<Strip>) {
        let states = self.states();
        let drawn = self.values.iter().enumerate().skip(1).filter(|(_, it)| it.part != Part::Said);
        let mut title: Vec<&str> = Vec::new();
        let (mut panels, mut dots) = (Vec::new(), Vec::new());
        for (at, value) in drawn {
            let curves: Vec<Points> = states.iter().map(|it| self.curve(it, at)).collect();
            let all = || curves.iter().flatten().map(|point| point.1);
            let (low, high) = (all().fold(0.0, f64::min), all().fold(0.0, f64::max));
            let level = self.beyond(&states, high).filter(|_| at == 1);
            let span = (low, level.as_ref().map_or(high, |it| it.0));
            let ends = states.iter().map(|states| {
                states.iter().skip(1).filter_map(|state| self.point(state, at)).collect()
            });
            dots.push(ends.collect::<Vec<Points>>());
            let curves = CLASSES.iter().zip(curves);
            panels.push(Panel {
                up: value.axis().into(),
                height: if at == 1 { 190.0 } else { 150.0 },
                span,
                curves: curves
                    .filter(|(_, points)| !points.is_empty())
                    .map(|(class, points)| Curve { class, points, name: String::new() })
                    .collect(),
                levels: level.into_iter().collect(),
            });
            title.push(&value.word);
        }
        let strips: Vec<Strip> = CLASSES
            .iter()
            .zip(self.courses.iter().zip(&states))
            .enumerate()
            .map(|(at, (class, (course, states)))| {
                let dots = dots.iter_mut().filter_map(|all| all.get_mut(at)).map(std::mem::take);
                self.strip(class, course, states, dots.collect())
            })
            .collect();
        let words = strips.iter().map(|it| format!("{}; {}.", it.name, it.said.join(", ")));
        let far = strips.iter().flat_map(|it| &it.parts).fold(0.0, |far: f64, it| far.max(it.1));
        let across = self.values.first().map_or_else(String::new, Shown::axis).into();
        let plot = Plot {
            title: format!("Courses over time: {}", title.join(", ")),
            words: words.collect::<Vec<_>>().join(" "),
            across,
            far,
            panels,
            mark: None,
        };
        (plot, strips)
    }

    /// What is said of a course.
    fn strip(
        &self,
        class: &'static str,
        (name, lines): &(String, Vec<String>),
        states: &[Vec<f64>],
        dots: Vec<Points>,
    ) -> Strip {
        let told = |state: &[f64], at: usize| {
            let value = self.values.get(at).zip(state.get(at));
            value.map_or_else(String::new, |(it, value)| it.told(*value))
        };
        let moment = |state: &Vec<f64>| self.point(state, 0).map_or(0.0, |point| point.0);
        let passed = states.iter().zip(states.iter().skip(1)).zip(lines);
        let mut said: Vec<String> = passed
            .clone()
            .map(|((_, after), line)| format!("{line} until {}", told(after, 0)))
            .collect();
        let name = match (lines.get(states.len().saturating_sub(1)), states.last()) {
            (_, None) => format!("{name}: its beginning does not exist"),
            (Some(line), _) => {
                said.push(format!("{line} ends in no state"));
                format!("{name}: no end, {line} ends in no state")
            }
            (None, Some(last)) => {
                let end = self.values.iter().enumerate().filter_map(|(at, value)| {
                    let told = told(last, at);
                    match value.part {
                        Part::Speed if last.get(at).is_some_and(|it| *it == 0.0) => None,
                        Part::Speed => Some(format!("still {told}")),
                        Part::Said => Some(format!("{} {told}", value.word)),
                        _ => Some(told),
                    }
                });
                format!("{name}: {}", end.collect::<Vec<_>>().join(", "))
            }
        };
        let parts = passed.map(|((from, to), line)| (moment(from), moment(to), line.clone()));
        Strip { class, name, said, parts: parts.collect(), dots }
    }

    /// The largest of the further speeds at the ends of the courses, where no curve comes up to it.
    fn beyond(&self, states: &[Vec<Vec<f64>>], high: f64) -> Option<(f64, String)> {
        let ends =
            self.courses.iter().zip(states).filter_map(|((name, _), it)| Some((name, it.last()?)));
        let all = ends.flat_map(|(name, last)| {
            let said = self.values.iter().zip(last).filter(|(it, _)| it.part == Part::Said);
            said.map(move |(it, value)| {
                (it.shown(*value), format!("{} of {name}: {}", it.word, it.told(*value)))
            })
        });
        all.filter(|it| it.0 > high * ABOVE).max_by(|a, b| a.0.total_cmp(&b.0))
    }

    /// A value at a moment, in the units of the axes.
    fn point(&self, state: &[f64], at: usize) -> Option<(f64, f64)> {
        let shown = |at: usize| Some(self.values.get(at)?.shown(*state.get(at)?));
        Some((shown(0)?, shown(at)?))
    }

    /// A value over time.
    fn curve(&self, states: &[Vec<f64>], at: usize) -> Points {
        let part = |at: usize| self.values.get(at).map(|it| it.part);
        let has_way = part(2) == Some(Part::Way);
        let is_curve = has_way && at < 3;
        let mut points: Points = Vec::new();
        let mut put = |time: f64, value: f64| {
            let shown = self.values.first().zip(self.values.get(at));
            points.extend(shown.map(|(x, y)| (x.shown(time), y.shown(value))));
        };
        for (k, state) in states.iter().enumerate() {
            let before = k.checked_sub(1).and_then(|k| states.get(k));
            if let (Some([t0, n0, w0, ..]), [t1, n1, w1, ..]) =
                (before.map(Vec::as_slice), state.as_slice())
                && is_curve
                && !is_moment(*t0, *t1)
            {
                let long = t1 - t0;
                let speed = Between::new(*n0, *n1, (w1 - w0) / long);
                let ends = [(*t0, 1.0, *n0, *w0), (*t1, -1.0, *n1, *w1)];
                let halves = ends.into_iter().zip(speed.long).zip(speed.corner).enumerate();
                for (half, (((start, way, end, from), part), corner)) in halves {
                    let long = way * long * part;
                    for step in 0..=STEPS {
                        // the second half is run through from its inner end
                        let step = if half == 0 { step } else { STEPS - step };
                        let u = f64::from(step) / f64::from(STEPS);
                        let value = match at {
                            1 => speed.speed([end, corner], u),
                            _ => from + long * speed.way([end, corner], u),
                        };
                        put(start + long * u, value);
                    }
                }
            } else if let (Some(time), Some(value)) = (state.first(), state.get(at)) {
                put(*time, *value);
            }
        }
        points
    }
}
