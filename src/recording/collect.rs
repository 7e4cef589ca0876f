//! Samples in a row turned into stops: what lies between them is forgotten.

use std::collections::VecDeque;

use super::counter::PAUSE;
use super::fit::{LEAST_BEFORE, after_jump, straight};
use super::measure::{count_f64, digits};
use super::plan::Plan;
use super::stop::Recorded;
use super::trace::{AT_REST, Sure, Trace};
use crate::diagnostic::{Diagnostic, Name};
use crate::unit::{Unit, parse_unit};

/// Samples that a stop may hold; beyond them two become one, their mean.
const MOST: usize = 1 << 18;

/// Samples that are kept from before the stop command.
const BEFORE: usize = 2048;

/// How long a contact may go on to bounce after its first edge, and how long it may be away meanwhile, in s (common
/// practice, no source): a command that is taken back stays away for longer. By as much torque may be seen to come back
/// before the command is seen to be taken back, on two channels.
const BOUNCES: f64 = 0.05;
const AWAY: f64 = 0.03;

/// How long before the command is looked at, in s.
const LOOK_BACK: f64 = 0.5;

/// What is said where nothing takes the command back.
const ENDS: &str = "the recording ends before the machine has stood long enough";

/// One row of a recording in coherent SI.
#[derive(Clone, Copy, Debug)]
pub(super) struct Sample {
    pub(super) row: u32,
    pub(super) time: f64,
    /// Speed, or position.
    pub(super) speed: f64,
    pub(super) stop: bool,
    pub(super) removed: Option<bool>,
    /// Whether the recorder paused before it, and what the position did meanwhile is not known.
    pub(super) paused: bool,
}

/// Samples on their way.
pub(super) struct Collector<'a> {
    plan: &'a Plan,
    before: VecDeque<(f64, f64)>,
    last: Option<Sample>,
    state: State,
    pub(super) stops: Vec<Recorded>,
    /// The row that a problem belongs to, where it is not the last one.
    pub(super) blamed: Option<u32>,
    /// Whether the file began within a stop.
    begun_within: bool,
}

enum State {
    /// No stop is commanded.
    Runs,
    /// A stop that is commanded and goes on.
    Stops(Box<Running>),
    /// The machine stands and the command goes on.
    Stands(Box<Standing>),
    /// The command was taken back from a machine that stands, and its contact may bounce: since when.
    Released { since: f64, standing: Box<Standing> },
    /// A stop that could not be judged goes by.
    Passes,
}

/// A machine that stands while the stop is commanded.
struct Standing {
    /// Speed of one sample that standing may have by its noise.
    allowed: f64,
    /// Since when it stands, and the longest time between two samples until then.
    since: f64,
    longest: f64,
    /// The last samples with their rows, as many as one mean is of, and their sum.
    recent: VecDeque<(f64, f64, u32)>,
    sum: f64,
    /// What a mean must lie off rest to be no chance, where that was asked.
    sure: Option<Sure>,
    removal: Option<Contact>,
    /// When torque came back, and in which row.
    back: Option<(f64, u32)>,
}

impl Standing {
    /// Takes a sample: the mean of the last ones, where it is above the threshold. Those go on to be one mean then, so
    /// that what noise hides in few is seen in many.
    fn above(&mut self, point: (f64, f64), row: u32, plan: &Plan) -> Option<f64> {
        self.recent.push_back((point.0, point.1, row));
        self.sum += point.1;
        let mean = |it: &Self| it.sum / count_f64(it.recent.len().max(1));
        let is_above = |it: &Self| mean(it).abs() > plan.standstill.si;
        while self.recent.front().is_some_and(|first| point.0 - first.0 > plan.filter.si)
            && (self.recent.len() > BEFORE || !is_above(self))
            && let Some(first) = self.recent.pop_front()
        {
            self.sum -= first.1;
        }
        is_above(self).then(|| mean(self))
    }

    /// The row in which torque came back, where that is no longer the command that is taken back.
    fn driven(&self, time: f64) -> Option<u32> {
        self.back.filter(|(since, _)| time - since > AWAY).map(|it| it.1)
    }

    fn forget(&mut self) {
        self.recent.clear();
        self.sum = 0.0;
    }
}

/// A contact after its first edge.
#[derive(Clone, Copy)]
struct Contact {
    /// When its first edge was, at the latest, and when it was last seen closed.
    first: f64,
    last: f64,
    /// The row in which it went away.
    left: u32,
}

impl Contact {
    fn new(sample: &Sample) -> Self {
        Self { first: sample.time, last: sample.time, left: sample.row }
    }

    /// Takes what it says at a sample: whether it is back after it was away, or none where it is away for good.
    fn says(&mut self, on: bool, before: bool, sample: &Sample) -> Option<bool> {
        let at = sample.time;
        if !on && before {
            self.left = sample.row;
        }
        if at - self.last > AWAY && !(on && before) || !on && before && at - self.first > BOUNCES {
            return None;
        }
        if on {
            self.last = at;
        }
        Some(on && !before)
    }
}

struct Running {
    stop: Recorded,
    /// Speed that counts as moving.
    allowed: f64,
    /// When it last moved, and how many samples there are since then.
    moved: f64,
    still: usize,
    /// How many samples become one, and what is gathered of it.
    every: usize,
    gathered: (usize, f64, f64),
    command: Contact,
    removal: Option<Contact>,
}

impl<'a> Collector<'a> {
    pub(super) fn new(plan: &'a Plan) -> Self {
        Self {
            plan,
            before: VecDeque::new(),
            last: None,
            state: State::Runs,
            stops: Vec::new(),
            blamed: None,
            begun_within: false,
        }
    }

    /// The unit of a speed, where a position is recorded in another.
    pub(super) fn unit_of_speed(&self, position: &Unit) -> Unit {
        let text = if position.dimension == crate::unit::Dimension::of(1, 0, 0, 0, 0, 0) {
            "m/s"
        } else {
            "r/min"
        };
        let unit = if text == "r/min" {
            crate::unit::kind("speed of rotation")
        } else {
            crate::unit::kind("speed")
        };
        unit.and_then(|kind| kind.read_unit(text).ok())
            .or_else(|| parse_unit(text).ok())
            .unwrap_or_else(Unit::one)
    }

    /// Takes the next sample.
    ///
    /// # Errors
    /// What is wrong with it, without its place.
    pub(super) fn take(&mut self, sample: Sample) -> Result<(), Diagnostic> {
        let last = self.last.replace(sample);
        let Some(last) = last else {
            if sample.stop {
                self.begun_within = true;
                self.state = State::Passes;
                return Err(Diagnostic::error(
                    Name::TooFewSamples,
                    "the recording begins with the stop commanded already",
                )
                .remedy("begin to record half a second before the command; look whether the channel is read the right way round"));
            }
            if !self.plan.is_position {
                self.before.push_back((sample.time, sample.speed));
            }
            return Ok(());
        };
        if sample.time <= last.time {
            let how = if sample.time == last.time { "stands still" } else { "runs back" };
            let ms = |time: f64| format!("{:.6} s", time);
            return Err(Diagnostic::error(
                Name::TimeNotRising,
                format!("time {how}: {} after {}", ms(sample.time), ms(last.time)),
            )
            .remedy("keep each recording in a file of its own, with a clock that goes on; where the clock begins again after a fixed time, say it: `time = \"t in ms wraps 65536 ms\"`"));
        }
        let point = if self.plan.is_position {
            let step = sample.time - last.time;
            ((sample.time + last.time) / 2.0, (sample.speed - last.speed) / step)
        } else {
            (sample.time, sample.speed)
        };
        // nearly all samples of a long recording
        match self.state {
            State::Runs if sample.paused && !sample.stop => {
                self.before.clear();
                return Ok(());
            }
            State::Runs if !sample.stop => {
                self.note(point);
                return Ok(());
            }
            _ => {}
        }
        let state = std::mem::replace(&mut self.state, State::Passes);
        let (state, result) = match state {
            State::Runs => self.begin(last, sample, point),
            State::Passes if sample.stop => (State::Passes, Ok(())),
            State::Stands(standing) if sample.stop => self.stands(standing, last, sample, point),
            State::Released { since, standing } if sample.stop => {
                if sample.time - since <= BOUNCES && point.1.abs() <= standing.allowed {
                    self.stands(standing, last, sample, point)
                } else {
                    self.begin(last, sample, point)
                }
            }
            State::Released { since, standing } => {
                self.note(point);
                let bounces = sample.time - since <= BOUNCES && point.1.abs() <= standing.allowed;
                (if bounces { State::Released { since, standing } } else { State::Runs }, Ok(()))
            }
            State::Passes | State::Stands(_) => {
                self.before.clear();
                // a recorder may pause between stops: what a position did meanwhile is not a speed
                if !self.plan.is_position {
                    self.note(point);
                }
                match state {
                    State::Stands(standing) if let Some(row) = standing.driven(sample.time) => {
                        (State::Runs, Err(self.torque_back(row)))
                    }
                    State::Stands(standing) if point.1.abs() <= standing.allowed => {
                        (State::Released { since: sample.time, standing }, Ok(()))
                    }
                    _ => (State::Runs, Ok(())),
                }
            }
            State::Stops(running) => self.follow(running, last, sample, point),
        };
        self.state = state;
        result
    }

    fn note(&mut self, point: (f64, f64)) {
        self.before.push_back(point);
        while self.before.len() > BEFORE
            || self.before.front().is_some_and(|first| point.0 - first.0 > LOOK_BACK)
        {
            self.before.pop_front();
        }
    }

    fn begin(
        &mut self,
        last: Sample,
        sample: Sample,
        point: (f64, f64),
    ) -> (State, Result<(), Diagnostic>) {
        if self.before.len() < LEAST_BEFORE {
            let words = format!(
                "{} samples before the stop command, and the speed before it needs {LEAST_BEFORE}",
                self.before.len()
            );
            let problem = Diagnostic::error(Name::TooFewSamples, words)
                .remedy("begin to record half a second before the command; where it was, look whether the clock counts in the unit that its heading says");
            return (State::Passes, Err(problem));
        }
        let (commanded, half) = match self.plan.stop {
            super::channel::Edge::At(moment) => (moment, 0.0),
            _ => ((last.time + sample.time) / 2.0, (sample.time - last.time) / 2.0),
        };
        if last.removed == Some(true) {
            let problem = Diagnostic::error(
                Name::NoStopCommand,
                "torque is removed already when the stop is commanded",
            )
            .remedy("look whether the channels are read the right way round, and whether the machine was driven");
            return (State::Passes, Err(problem));
        }
        let before: Vec<(f64, f64)> = std::mem::take(&mut self.before).into();
        let noise = straight(after_jump(&before), 0.0).map_or(0.0, |line| line.rms);
        let removed = (sample.removed == Some(true)).then_some((commanded, half));
        let stop = Recorded {
            file: String::new(),
            place: None,
            row: sample.row,
            commanded,
            half,
            before,
            points: Vec::new(),
            removed,
            has_removed: sample.removed.is_some(),
            by_speed: self.plan.stop.heading() == Some(self.plan.speed.heading.as_str()),
            joined: 1,
            longest: 0.0,
            bounced: 0.0,
        };
        let allowed = self.plan.standstill.si + 5.0 * noise;
        let mut running = Running {
            allowed,
            moved: sample.time,
            still: 0,
            every: 1,
            gathered: (0, 0.0, 0.0),
            command: Contact::new(&sample),
            removal: removed.map(|_| Contact::new(&sample)),
            stop,
        };
        running.push(point, last.time, sample.time);
        (State::Stops(Box::new(running)), Ok(()))
    }

    fn follow(
        &mut self,
        mut running: Box<Running>,
        last: Sample,
        sample: Sample,
        point: (f64, f64),
    ) -> (State, Result<(), Diagnostic>) {
        let Some(back) = running.command.says(sample.stop, last.stop, &sample) else {
            let problem = if sample.time - last.time > PAUSE * running.stop.longest {
                no_standstill(&running, ENDS)
            } else {
                no_standstill(&running, "the command is taken back before the machine stands")
                    .remedy("give the command until the machine stands; a contact that bounces comes back within 30 ms: where it takes longer, look at it, or record the command on another channel")
            };
            self.blamed = Some(running.stop.row);
            self.before.clear();
            return (if sample.stop { State::Passes } else { State::Runs }, Err(problem));
        };
        if back {
            running.stop.bounced = sample.time - running.command.first;
        }
        if let Some(row) = removal(&mut running.removal, &mut running.stop, &last, &sample) {
            return (State::Passes, Err(self.torque_back(row)));
        }
        running.still += 1;
        if point.1.abs() > running.allowed {
            (running.moved, running.still) = (sample.time, 0);
        }
        running.push(point, last.time, sample.time);
        if sample.time - running.moved < self.plan.hold.si || running.still < AT_REST {
            return (State::Stops(running), Ok(()));
        }
        let standing = Standing {
            allowed: running.allowed * 1.5,
            since: running.moved,
            longest: running.stop.longest,
            recent: VecDeque::new(),
            sum: 0.0,
            sure: None,
            removal: running.removal,
            back: None,
        };
        self.stops.push(running.stop);
        (State::Stands(Box::new(standing)), Ok(()))
    }

    /// A machine that stands does so until the command is taken back.
    fn stands(
        &mut self,
        mut standing: Box<Standing>,
        last: Sample,
        sample: Sample,
        point: (f64, f64),
    ) -> (State, Result<(), Diagnostic>) {
        let Some(stop) = self.stops.last_mut() else { return (State::Passes, Ok(())) };
        if let Some((_, row)) = standing.back {
            let again = sample.removed == Some(true);
            if let Some(row) = standing.driven(sample.time).or(again.then_some(row)) {
                return (State::Passes, Err(self.torque_back(row)));
            }
        } else if let Some(row) = removal(&mut standing.removal, stop, &last, &sample) {
            standing.back = Some((sample.time, row));
        }
        // what a position did in a pause of the recorder is not a speed
        let paused = sample.time - last.time > PAUSE * standing.longest;
        if paused {
            standing.forget();
        }
        if paused && self.plan.is_position {
            return (State::Stands(standing), Ok(()));
        }
        let Some(mean) = standing.above(point, sample.row, self.plan) else {
            return (State::Stands(standing), Ok(()));
        };
        let count = count_f64(standing.recent.len());
        let sure = standing.sure.get_or_insert_with(|| Trace::new(stop, self.plan).sure());
        if !sure.moves(mean, count) {
            return (State::Stands(standing), Ok(()));
        }
        let threshold = &self.plan.standstill;
        let first = standing.recent.iter().find(|it| it.1.abs() > threshold.si);
        let (at, _, row) = first.copied().unwrap_or((point.0, point.1, sample.row));
        self.blamed = Some(row);
        let words = format!(
            "the machine moves again, at {at:.4} s, while the stop is commanded: above `standstill` = {}",
            threshold.written
        );
        let problem = Diagnostic::error(Name::NoStandstill, words).remedy(format!(
            "find out why; a longer `hold`, such as `hold = \"{} s\"`, counts the movement as part of the stop, where the recording goes on until it stands for that long",
            digits(1.2 * (at - standing.since), 2)
        ));
        (State::Passes, Err(problem))
    }

    fn torque_back(&mut self, row: u32) -> Diagnostic {
        self.blamed = Some(row);
        Diagnostic::error(Name::UnfitRecording, "torque comes back while the stop is commanded")
            .remedy("look at the channel and at the machine: torque must stay away until the command is taken back")
    }

    /// What is left open at the end of the file, with the row it belongs to.
    pub(super) fn finish(&mut self) -> Vec<(Option<u32>, Diagnostic)> {
        let state = std::mem::replace(&mut self.state, State::Passes);
        match state {
            State::Stops(running) => {
                return vec![(Some(running.stop.row), no_standstill(&running, ENDS))];
            }
            State::Stands(standing) if let Some((_, row)) = standing.back => {
                return vec![(Some(row), self.torque_back(row))];
            }
            _ => {}
        }
        if self.stops.is_empty() && !self.begun_within {
            let problem = Diagnostic::error(Name::NoStopCommand, "no stop is commanded in this recording")
                .remedy("look whether `stop` names the right channel and level, and reads it the right way round");
            return vec![(None, problem)];
        }
        Vec::new()
    }
}

/// When torque went, with what its contact says: the row in which it went away, where it is away for good.
fn removal(
    removal: &mut Option<Contact>,
    stop: &mut Recorded,
    last: &Sample,
    sample: &Sample,
) -> Option<u32> {
    let (middle, half) = ((last.time + sample.time) / 2.0, (sample.time - last.time) / 2.0);
    let on = sample.removed == Some(true);
    let Some(contact) = removal else {
        // a delay may end long after the machine stands
        if on {
            *removal = Some(Contact::new(sample));
            stop.removed = Some((middle, half));
        }
        return None;
    };
    match contact.says(on, last.removed == Some(true), sample) {
        // it may have gone at any of the edges
        Some(true) => {
            if let Some((at, of)) = stop.removed {
                let (from, to) = (at - of, middle + half);
                stop.removed = Some(((from + to) / 2.0, (to - from) / 2.0));
            }
            None
        }
        Some(false) => None,
        None => Some(contact.left),
    }
}

fn no_standstill(running: &Running, words: &str) -> Diagnostic {
    let stop = &running.stop;
    let after = |time: f64| format!("{:.4} s", time - stop.commanded);
    let last = stop.points.last().map_or(0.0, |point| point.0);
    let words = format!(
        "{words} ({} after the command; above `standstill` until {} after it)",
        after(last),
        after(running.moved)
    );
    Diagnostic::error(Name::NoStandstill, words).remedy(format!(
        "record until it has stood for `hold`, and for {AT_REST} samples at least; if it did, look at the offset of the speed, or set `standstill` above its noise; look whether the clock counts in the unit that its heading says",
    ))
}

impl Running {
    fn push(&mut self, point: (f64, f64), from: f64, to: f64) {
        self.stop.longest = self.stop.longest.max(to - from);
        let (count, time, speed) = &mut self.gathered;
        *count += 1;
        *time += point.0;
        *speed += point.1;
        if *count < self.every {
            return;
        }
        let n = count_f64(*count);
        self.stop.points.push((*time / n, *speed / n));
        self.gathered = (0, 0.0, 0.0);
        if self.stop.points.len() >= MOST {
            let joined = self.stop.points.chunks(2).map(|two| {
                let n = count_f64(two.len());
                let sum = two.iter().fold((0.0, 0.0), |sum, it| (sum.0 + it.0, sum.1 + it.1));
                (sum.0 / n, sum.1 / n)
            });
            self.stop.points = joined.collect();
            self.every *= 2;
            self.stop.joined = self.every;
        }
    }
}
