//! The stops of one condition that ended in one way, and which of them decide.

use super::measure::Measured;
use super::plan::Plan;
use super::series::Series;
use super::stop::{Ramp, Stop};

/// How stops ended: a figure stands on stops of one kind alone, since a working ramp shows nothing of a failing one.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Mode {
    /// There is one kind alone: no ramp, or nothing was recorded that tells them apart.
    One,
    /// The ramp stood before torque went.
    Works,
    /// Torque went while the ramp still turned.
    CutShort,
    /// The speed was held until torque went.
    Fails,
}

/// All of them, in the order in which they are shown.
pub(super) const MODES: [Mode; 4] = [Mode::One, Mode::Works, Mode::CutShort, Mode::Fails];

impl Mode {
    /// How a stop ended.
    pub(super) fn of(stop: &Stop, plan: &Plan) -> Self {
        match stop.ramp {
            _ if plan.at_once => Self::One,
            None => Self::One,
            Some(Ramp::Finished) => Self::Works,
            Some(Ramp::CutShort) => Self::CutShort,
            Some(Ramp::Missing) => Self::Fails,
        }
    }

    /// In words; none where there is one kind alone.
    #[must_use]
    pub fn word(self) -> Option<&'static str> {
        match self {
            Self::One => None,
            Self::Works => Some("ramp works"),
            Self::CutShort => Some("ramp cut short"),
            Self::Fails => Some("ramp fails"),
        }
    }
}

/// A condition with the way in which its stops ended, in words.
pub(super) fn label(name: &str, mode: Option<&str>) -> String {
    mode.map_or_else(|| name.to_owned(), |mode| format!("{name}, {mode}"))
}

/// Words that say of a ramp whether it works, after it and before it, and those that may stand between.
const AFTER: [&str; 14] = [
    "off", "on", "out", "disabled", "enabled", "fails", "fail", "failing", "failed", "works",
    "working", "missing", "cut", "aus",
];
const BEFORE: [&str; 6] = ["without", "no", "disabled", "failing", "failed", "working"];
const BETWEEN: [&str; 5] = ["is", "was", "switched", "turned", "the"];

/// Words as one: a blank counts between two figures alone, where it parts numbers.
fn joined(words: &[&str]) -> String {
    let figure = |sign: Option<char>| sign.is_some_and(|it| it.is_ascii_digit());
    words.iter().fold(String::new(), |mut all, word| {
        if figure(all.chars().next_back()) && figure(word.chars().next()) {
            all.push(' ');
        }
        all + word
    })
}

/// The words of one part of a name, without those that say of the ramp whether it works.
fn without_ramp(part: &str) -> String {
    let mut words: Vec<&str> = part.split_whitespace().collect();
    let is =
        |words: &[&str], at: usize, all: &[&str]| words.get(at).is_some_and(|it| all.contains(it));
    let Some(at) = words.iter().position(|it| it.starts_with("ramp")) else {
        return joined(&words);
    };
    let (mut from, mut to) = (at, at + 1);
    while is(&words, to, &BETWEEN) {
        to += 1;
    }
    while from > 0 && is(&words, from - 1, &["the", "a", "with"]) {
        from -= 1;
    }
    if is(&words, to, &AFTER) {
        let short = is(&words, to, &["cut"]) && is(&words, to + 1, &["short"]);
        words.drain(from..=to + usize::from(short));
    } else if from > 0 && is(&words, from - 1, &BEFORE) {
        words.drain(from - 1..=at);
    }
    joined(&words)
}

/// What a condition is known by: names that differ in case, blanks, brackets, the order of their parts, or in what they
/// say of the ramp, are of one condition: `cold (ramp off)` is `Cold`.
pub(super) fn known_by(name: &str) -> String {
    let signs: Vec<char> = name.to_lowercase().chars().collect();
    let digit =
        |at: Option<usize>| at.and_then(|at| signs.get(at)).is_some_and(char::is_ascii_digit);
    let plain = signs.iter().enumerate().map(|(at, sign)| match sign {
        '(' | ')' | '[' | ']' | '{' | '}' | ';' => ',',
        // a decimal comma parts nothing
        ',' if digit(at.checked_sub(1)) && digit(Some(at + 1)) => '.',
        other => *other,
    });
    let plain: String = plain.collect();
    let mut parts: Vec<String> =
        plain.split(',').map(without_ramp).filter(|it| !it.is_empty()).collect();
    parts.sort();
    joined(&parts.iter().map(String::as_str).collect::<Vec<_>>())
}

/// A name, and the way in which its stops ended where it says one.
pub(super) fn parted(label: &str) -> (&str, Option<&'static str>) {
    let of = |mode: Mode| {
        let word = mode.word()?;
        let name = label.trim_end().strip_suffix(word)?.trim_end().strip_suffix(',')?;
        Some((name, Some(word)))
    };
    MODES.into_iter().find_map(of).unwrap_or((label, None))
}

/// What a name with the way in which its stops ended is known by.
pub(super) fn label_known_by(label: &str) -> (String, Option<&'static str>) {
    let (name, mode) = parted(label);
    (known_by(name), mode)
}

/// The stops of one condition that ended in one way.
#[derive(Clone, Debug)]
pub struct Condition {
    /// The name of the condition.
    pub name: String,
    /// How its stops ended.
    pub mode: Mode,
    /// Its stops, in the order of their files.
    pub stops: Vec<Stop>,
    /// Their times to standstill.
    pub times: Series,
    /// Their angles or ways.
    pub turned: Series,
}

impl Condition {
    /// Its name, and how its stops ended.
    #[must_use]
    pub fn label(&self) -> String {
        label(&self.name, self.mode.word())
    }

    /// The speed before its stops: their mean, and the largest uncertainty of one.
    pub(super) fn speed(&self) -> Measured {
        let speeds = || self.stops.iter().map(|it| it.speed);
        let count = super::measure::count_f64(self.stops.len().max(1));
        Measured {
            value: speeds().map(|it| it.value.abs()).sum::<f64>() / count,
            u: speeds().fold(0.0, |most: f64, it| most.max(it.u)),
        }
    }
}

/// The stops under a name, those that ended alike together.
pub(super) fn conditions(name: &str, stops: &[Stop], plan: &Plan) -> Vec<Condition> {
    let of_mode = |mode: Mode| {
        let stops: Vec<Stop> =
            stops.iter().filter(|it| Mode::of(it, plan) == mode).cloned().collect();
        let of =
            |get: fn(&Stop) -> Measured| Series::of(&stops.iter().map(get).collect::<Vec<_>>());
        let (times, turned) = (of(|it| it.time)?, of(|it| it.turned)?);
        Some(Condition { name: name.to_owned(), mode, stops, times, turned })
    };
    MODES.into_iter().filter_map(of_mode).collect()
}

/// On which stops the distance stands, as it was said.
pub(super) fn stands_on(plan: &Plan) -> Option<Mode> {
    let inputs = &plan.distance.as_ref()?.inputs;
    let says = |text: &str| inputs.iter().any(|said| said.text == text);
    if says("calculated fails") {
        Some(Mode::Fails)
    } else {
        says("calculated works").then_some(Mode::Works)
    }
}

/// The condition with the largest stopping time, among those that ended as the distance takes it; where none did, or
/// nothing is said, among all.
pub(super) fn decisive<'a>(conditions: &'a [Condition], plan: &Plan) -> Option<&'a Condition> {
    let longest = |of: &dyn Fn(&Condition) -> bool| {
        let all = conditions.iter().filter(|it| of(it));
        all.max_by(|a, b| a.times.figure.total_cmp(&b.times.figure))
    };
    let mode = stands_on(plan);
    longest(&|it| Some(it.mode) == mode).or_else(|| longest(&|_| true))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_of_one_condition_are_one() {
        for (one, other, same) in [
            ("idle", " Idle ", true),
            ("warm, loaded", "Warm (loaded)", true),
            ("warm, loaded", "loaded; warm", true),
            ("cold", "cold, ramp off", true),
            ("cold", "ramp off, cold", true),
            ("cold", "cold ramp is switched off", true),
            ("cold, empty", "cold [without ramp]; empty", true),
            ("20 °C", "20°C", true),
            ("load 1,5 kg", "load 1.5 kg", true),
            ("load 1,5 kg", "load 15 kg", false),
            ("load 5 °C", "load -5 °C", false),
            ("warm, not loaded", "not warm, loaded", false),
            ("load 5 kg, lift 10 kg", "load 10 kg, lift 5 kg", false),
            ("cold gear, warm oil", "warm gear, cold oil", false),
            ("ramp of 5 %, loaded", "ramp of 8 %, loaded", false),
            ("blade on", "blade off", false),
            ("pos 1 11", "pos 11 1", false),
            ("load 1 2", "load 12", false),
            ("axis 1, 0 kg", "axis 10 kg", false),
            ("load 1  2", "load 1 2", true),
        ] {
            assert_eq!(known_by(one) == known_by(other), same, "{one}, {other}");
        }
        assert_eq!(
            label_known_by("Cold, ramp off, ramp fails"),
            ("cold".to_owned(), Some("ramp fails"))
        );
    }
}
