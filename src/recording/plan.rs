//! What is said of a series of measurements: files, channels, instrument, settings, sheets.

use super::channel::{Channel, Edge};
use super::smear::Smear;
use crate::diagnostic::Place;

/// What two checks are measured with alike, by the keys of the plan.
pub(super) const MEASURED_WITH: [&str; 6] =
    ["instrument", "standstill", "filter", "hold", "error", "recorder"];

/// A thing that can be said, and what it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Key {
    /// How it is written.
    pub name: &'static str,
    /// What it is, with an example.
    pub about: &'static str,
}

macro_rules! keys {
    ($($name:literal $about:literal;)*) => {
        /// All that can be said, in a file or at the terminal.
        pub const KEYS: &[Key] = &[$(Key { name: $name, about: $about },)*];
    };
}

keys! {
    "time" "column of the time, such as `t in ms`; `wraps 65536 ms` after it where the clock begins again then";
    "speed" "column of the speed, such as `n in r/min` or `u in V scale 150 r/min per V offset 0.02 V`";
    "position" "column of the angle or the way instead of a speed, such as `p scale 1 r per 4096 counts`; `wraps 65536 counts` after it where the counter begins again then";
    "stop" "when the stop is commanded: `stop falls`, `stop rises`, `U below 12 V`, `at 1.25 s`";
    "category" "`0` where torque is removed at once, without a ramp; `1`, a ramp first, unless said";
    "removed" "when torque is removed, likewise; a calculation is not passed without it";
    "decimal_comma" "`yes` where 0,35 is a third and a bit";
    "condition" "what all recordings that say nothing else were taken under, such as `cold, empty`";
    "standstill" "speed below which the machine stands, such as `10 r/min`";
    "filter" "width of the centred mean that speeds are looked at with; 5 ms unless said";
    "recorder" "filter that the recorder or the drive puts on the speed: `none`, `mean 20 ms`, `first order 5 ms`, `first order 30 Hz`, of three such parts in a row `order 3, 5 ms`; its delay is taken off, and how it smears bends is part of the uncertainty";
    "hold" "how long the machine must stay below `standstill`, and for 20 samples at least; 200 ms unless said";
    "error" "error of the instrument, the whole of the chain, such as `2 r/min`; `0 r/min` if it was found to be nothing";
    "least" "least speed that the channel reads, from its manual, such as `0.5 r/min`; asked for where the samples do not show speeds as low as `standstill`";
    "zero" "why a channel reads one value alone at rest, without noise, where that is asked: `counted` where its speed is made of pulses, of which there are none then; `below 0 seen` where it was seen to read below 0, as with the machine turned backwards by hand";
    "machine" "which machine, with its number";
    "instrument" "which instrument, with its number";
    "calibrated" "day of its calibration, such as `2026-03-02`";
    "calibrated_until" "last day on which that calibration holds; a year from it, unless said";
    "measured" "day of the measurement";
    "next" "day of the next check";
    "n_ref" "speed that the drive's ramp time refers to, as read back";
    "t_ramp" "ramp time, as read back from the drive";
    "tol_ramp" "by how much a real ramp may be longer or shorter, such as `5 %`";
    "f" "share of the ramp at each end that is rounded, as read back, such as `10 %`; `0 %` where it is straight";
    "t_delay" "delay until torque is removed, as read back";
    "tol_delay" "by how much it may come early or late";
    "t_reserve" "reserve that the delay has in it, as it was meant";
    "J" "all inertia at the shaft whose speed is recorded: gives the friction";
    "tol_J" "by how much it may be off, such as `5 %`; 0 % unless said";
    "torque" "known braking torque of the run-down, instead of `J`: gives the inertia";
}

/// A file of recorded stops.
#[derive(Clone, Debug, PartialEq)]
pub struct Recording {
    /// Its path, from where the program runs.
    pub file: String,
    /// What it was taken under.
    pub condition: String,
    /// Whether that was said.
    pub(super) condition_said: bool,
    /// Whether the ramp was disabled, so that it fails on purpose.
    pub disabled: bool,
    /// Where it is named.
    pub place: Place,
}

/// A sheet, with the values of its inputs.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Asked {
    pub(super) sheet: String,
    pub(super) place: Place,
    pub(super) inputs: Vec<Said>,
}

/// Something that was said, and where.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Said {
    pub(super) key: String,
    pub(super) text: String,
    pub(super) place: Place,
}

/// A value that was said: in coherent SI, and as it was written.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Value {
    pub(super) si: f64,
    pub(super) written: String,
    pub(super) place: Place,
}

/// All that was said of a series of measurements, read.
#[derive(Clone, Debug)]
pub struct Plan {
    /// The files, in their order.
    pub recordings: Vec<Recording>,
    pub(super) time: Channel,
    pub(super) speed: Channel,
    /// Whether the speed is made from a position.
    pub(super) is_position: bool,
    pub(super) stop: Edge,
    pub(super) removed: Option<Edge>,
    /// Whether torque is removed at once: stop category 0 of IEC 60204-1, 9.2.2 (from memory).
    pub at_once: bool,
    /// Time before the calculated one begins, of such a stop.
    pub(super) before: Option<Value>,
    pub(super) decimal_comma: bool,
    pub(super) standstill: Value,
    pub(super) filter: Value,
    /// The filter of the recorder, where it was said.
    pub(super) recorder: Option<Smear>,
    pub(super) hold: Value,
    pub(super) error: Value,
    /// Least speed that the channel reads.
    pub(super) least: Option<Value>,
    pub(super) n_ref: Option<Value>,
    pub(super) t_ramp: Option<Value>,
    pub(super) tol_ramp: Option<Value>,
    /// Share of the ramp that is rounded.
    pub(super) rounded: Option<Value>,
    pub(super) t_delay: Option<Value>,
    pub(super) tol_delay: Option<Value>,
    pub(super) reserve: Option<Value>,
    pub(super) inertia: Option<Value>,
    pub(super) tol_inertia: Option<Value>,
    pub(super) torque: Option<Value>,
    /// Machine, instrument, days: as they were written.
    pub(super) texts: Vec<(&'static str, String, Place)>,
    pub(super) calculation: Option<Asked>,
    pub(super) distance: Option<Asked>,
    /// What was read back of the other settings of the calculation.
    pub(super) settings: Vec<Said>,
    /// Conditions of earlier checks that are not measured any more, and why.
    pub(super) left_out: Vec<Said>,
    /// Words of the calculation that no stop shows: who saw that they hold, and how.
    pub(super) shown: Vec<Said>,
    /// What is known of a channel that reads no noise at rest.
    pub(super) zero: Option<Zero>,
    /// Settings, inputs and channels as they were said, by their keys.
    pub(super) said: Vec<(String, String)>,
}

/// Why a channel may read one value alone at rest, without that its range ends there.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Zero {
    /// Its speed is counted from pulses, and there are none at rest.
    Counted,
    /// It was seen to read below zero.
    BelowSeen,
}

impl Plan {
    /// What a later check is held against: how it was measured, settings and inputs, each as it was said.
    pub(super) fn alike(&self) -> Vec<(String, String)> {
        let ways = MEASURED_WITH.map(|key| (key.to_owned(), self.measured_with(key).to_owned()));
        ways.into_iter().chain(self.said.iter().cloned()).filter(|it| !it.1.is_empty()).collect()
    }

    /// How it is measured, by the name of the key.
    pub(super) fn measured_with(&self, key: &str) -> &str {
        match key {
            "standstill" => &self.standstill.written,
            "filter" => &self.filter.written,
            "hold" => &self.hold.written,
            "error" => &self.error.written,
            "recorder" => self.recorder.as_ref().map_or("", |it| &it.written),
            _ => self.text(key),
        }
    }

    /// A text that was only written down; empty where it was not.
    #[must_use]
    pub fn text(&self, key: &str) -> &str {
        self.texts.iter().find(|(name, ..)| *name == key).map_or("", |(_, text, _)| text)
    }
}
