//! A counter or a clock that begins again: read on where it is said after how much.

/// Share of what a counter counts beyond which a step may as well have gone the other way.
const UNCLEAR: f64 = 1.0 / 3.0;

/// Values read on over the places where they begin again.
#[derive(Clone, Debug, Default)]
pub(super) struct Counter {
    /// After how much; none where nothing is said.
    wraps: Option<f64>,
    last: Option<f64>,
    /// What is added to a value, in whole rounds.
    added: f64,
    low: f64,
    high: f64,
    /// How often it began again.
    pub(super) times: u64,
    /// When its last value was read, and the longest time between two of them.
    read: Option<f64>,
    longest: f64,
}

/// So many times as long as between any two values before, and nothing was recorded meanwhile.
pub(super) const PAUSE: f64 = 10.0;

/// Why a value cannot be read on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Unclear {
    /// The step is so large that its direction is not known.
    Step,
    /// The values span more than what it is said to count.
    Span,
}

impl Counter {
    pub(super) fn new(wraps: Option<f64>) -> Self {
        Self { wraps, low: f64::INFINITY, high: f64::NEG_INFINITY, ..Self::default() }
    }

    /// Whether the recorder paused before the value at this time: what a counter did meanwhile is not known.
    pub(super) fn paused(&mut self, time: f64) -> bool {
        let step = self.wraps.and_then(|_| Some(time - self.read.replace(time)?)).unwrap_or(0.0);
        let paused = self.longest > 0.0 && step > PAUSE * self.longest;
        if !paused {
            self.longest = self.longest.max(step);
        }
        paused
    }

    /// The next value of a counter that goes either way; after a pause the nearest one, whichever way it went.
    pub(super) fn either_way(&mut self, value: f64, paused: bool) -> Result<f64, Unclear> {
        let Some(wraps) = self.wraps else { return Ok(value) };
        let step = value - self.last.replace(value).unwrap_or(value);
        let rounds = (step / wraps).round();
        if paused {
            self.added -= rounds * wraps;
        } else {
            self.begin_again(-rounds * wraps);
        }
        (self.low, self.high) = (self.low.min(value), self.high.max(value));
        if self.high - self.low > wraps * (1.0 + 1e-9) {
            return Err(Unclear::Span);
        }
        if !paused && (step - rounds * wraps).abs() > UNCLEAR * wraps {
            return Err(Unclear::Step);
        }
        Ok(value + self.added)
    }

    /// The next value of a clock, which goes forwards alone: back by more than half of what it counts is a new round.
    pub(super) fn forwards(&mut self, value: f64) -> f64 {
        let Some(wraps) = self.wraps else { return value };
        let before = self.last.replace(value).unwrap_or(value);
        if before - value > wraps / 2.0 {
            self.begin_again(wraps);
        }
        value + self.added
    }

    fn begin_again(&mut self, by: f64) {
        self.added += by;
        self.times += u64::from(by != 0.0);
    }
}
