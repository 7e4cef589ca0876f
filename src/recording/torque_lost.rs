//! The stop by torque lost, which nobody measures: found for each condition from its stops whose ramp fails, by the
//! library's own sheet.

use super::condition::{Condition, Mode};
use super::fading::{Brake, Faded, fades};
use super::measure::plain;
use super::of_sheet::OF_INERTIA;
use super::plan::Plan;
use super::predicted::{Predicted, taken};
use super::series::fewest;
use super::stop::Stop;
use crate::calculation::{Results, Sheet};
use crate::diagnostic::{Diagnostic, Name, Place};

/// The sheet that finds it.
pub(super) const SHEET: &str = "lost-from-measured";

/// How a plan asks for it.
pub(super) const WORDS: &str = "measured loss of torque";

/// The brake, as the calculations name it: what its data sheet says may be worse than what stops show.
pub(super) const BRAKE: [&str; 3] = ["T_b", "t_b", "t_b_build"];

/// What else the distance takes of it; all of one finding.
pub(super) const GROUP: [&str; 3] = ["t_worn", "r_other", "t_found"];

/// What the stops of one condition show.
#[derive(Clone, Debug)]
pub(super) struct Lost {
    pub(super) label: String,
    pub(super) results: Results,
    /// What its brake loses as it heats adds, beyond the sheet; none where the stops do not show it.
    pub(super) faded: Option<Faded>,
}

/// What all conditions show, and with which values of the calculation: at the ends that make the stop longest.
#[derive(Clone, Debug)]
pub(super) struct TorqueLost {
    pub(super) each: Vec<Lost>,
    pub(super) ends: Ends,
}

/// Values in coherent SI.
#[derive(Clone, Copy, Debug)]
pub(super) struct Ends {
    pub(super) inertia: f64,
    pub(super) friction: f64,
    pub(super) load: f64,
    pub(super) speed: f64,
    pub(super) removed: f64,
    pub(super) lead: f64,
}

impl Lost {
    /// A result, in coherent SI, with what the brake loses as it heats.
    pub(super) fn get(&self, name: &str) -> f64 {
        let faded = self.faded.unwrap_or_default();
        let more = match name {
            "t_other" | "t_worn" => faded.time,
            "s_other" => faded.angle,
            _ => 0.0,
        };
        self.of_sheet(name) + more
    }

    fn of_sheet(&self, name: &str) -> f64 {
        self.results.exact(name).map_or(0.0, |it| it.to_f64())
    }
}

impl Lost {
    /// What the brake loses as it heats, with the longest time until it grips and the least torque.
    fn fades(
        &self,
        plan: &Plan,
        condition: &Condition,
        ends: Ends,
        turn: f64,
    ) -> Result<Option<Faded>, Box<Diagnostic>> {
        let Some(shown) = fades(condition) else { return Ok(None) };
        let brake = Brake {
            inertia: ends.inertia,
            friction: ends.friction,
            load: ends.load,
            torque: self.of_sheet("T_b"),
        };
        let gains = -(ends.friction + ends.load) / ends.inertia;
        let late = self.of_sheet("t_b");
        let met = |free: f64| ends.speed + gains * free;
        // in turns of the machine, where the channel is of a way
        let stops = |fades: f64| brake.faded(met(late), met(ends.removed + late), fades * turn);
        let problem = || {
            let label = &self.label;
            let (words, remedy) = if stops(shown.surely).is_none() {
                (
                    format!(
                        "the brake under `{label}` loses torque as it heats, as the measured stops show it, and by torque lost, which heats it more, it does not stop the machine"
                    ),
                    "no distance covers that: fit a brake that bears the heat, lessen speed, load or delay; or wire the brake so that the loss of torque itself closes it, and say who saw that it does, `[shown]` in the plan".to_owned(),
                )
            } else {
                let filter = match &plan.recorder {
                    Some(it) if it.delay() > 0.0 => {
                        "without the filter of the recorder or with a quicker one, "
                    }
                    _ => "",
                };
                (
                    format!(
                        "the measurement cannot show how much torque the brake under `{label}` loses as it heats, and says nothing against it: of what it leaves open, the most would not stop the machine by torque lost, which heats the brake more"
                    ),
                    format!(
                        "record the stops whose ramp fails again, {filter}with less noise and shorter times between samples"
                    ),
                )
            };
            Box::new(Diagnostic::error(Name::RecordingPlan, words).remedy(remedy))
        };
        let mut found = stops(shown.most).ok_or_else(problem)?;
        found.sure = shown.surely > 0.0;
        // what it travels more, from here on
        found.angle *= ends.lead;
        Ok(Some(found))
    }
}

impl TorqueLost {
    /// The largest share of its torque that a brake loses over a measured stop, and whether stops show that it does; none
    /// where one does not show it.
    pub(super) fn fades(&self) -> Option<(f64, bool)> {
        let each = self.each.iter().map(|it| it.faded.map(|it| (it.share, it.sure)));
        each.reduce(|a, b| Some(if a?.0 < b?.0 { b? } else { a? })).flatten()
    }

    /// A result, the largest of all conditions.
    pub(super) fn most(&self, name: &str) -> f64 {
        self.each.iter().map(|it| it.get(name)).fold(0.0, f64::max)
    }

    /// Torque of the brake, the least of all conditions, for the inertia of the calculation: stops show what is left of
    /// the torques over the inertia.
    pub(super) fn torque(&self, predicted: &Predicted) -> f64 {
        let found = self.each.iter().map(|it| it.get("T_b")).fold(f64::INFINITY, f64::min);
        let taken = OF_INERTIA.iter().find_map(|name| taken(predicted, name));
        let inertia = taken.map_or(self.ends.inertia, |it| (it.0 + it.1) / 2.0);
        let others = self.ends.friction + self.ends.load;
        (found + others) * inertia / self.ends.inertia - others
    }

    /// Whether the stops show a brake as good as the one that is calculated with.
    pub(super) fn shows_brake(&self, predicted: &Predicted) -> bool {
        let near = 1e-9;
        taken(predicted, "t_b").is_some_and(|it| it.0 >= self.most("t_b") * (1.0 - near))
            && taken(predicted, "T_b")
                .is_some_and(|it| it.1 <= self.torque(predicted) * (1.0 + near))
    }
}

/// Finds it; or why it is not found, and what to do.
pub(super) fn torque_lost(
    plan: &Plan,
    conditions: &[Condition],
    predicted: &Predicted,
    linear: bool,
    problems: &mut Vec<Diagnostic>,
) -> Result<TorqueLost, [&'static str; 2]> {
    let low = |name: &str| taken(predicted, name).map(|it| it.0);
    let high = |name: &str| taken(predicted, name).map_or(0.0, |it| it.1);
    let inertia = OF_INERTIA.iter().find_map(|name| low(name));
    let (Some(inertia), Some(friction), Some(load), Some(speed)) =
        (inertia, low("T_0"), low("T_load"), taken(predicted, "n_0"))
    else {
        return Err([
            "the calculation takes no J, T_0, T_load and n_0",
            "write `t_other`, `t_worn` and `r_other` of lost-from-measured, or calculate with a sheet that takes them, such as axis-stop or ss1-brake",
        ]);
    };
    // less inertia gains speed sooner: of the calculation and of what was read back, the less
    let said = plan
        .inertia
        .as_ref()
        .map(|it| it.si * (1.0 - plan.tol_inertia.as_ref().map_or(0.0, |share| share.si)));
    let failing: Vec<&Condition> = conditions
        .iter()
        .filter(|it| it.mode == Mode::Fails && it.times.count >= fewest())
        .collect();
    let lead = high("lead");
    if linear && lead <= 0.0 {
        return Err([
            "the channel is of a way, and no `lead` of the calculation says how far a turn travels",
            "write `t_other`, `t_worn` and `r_other` of lost-from-measured, or say `lead` in `[calculation]`",
        ]);
    }
    if failing.is_empty() {
        return Err([
            "no condition has ten stops whose ramp fails",
            "switch the ramp off, record ten stops under each condition, and name their file with `ramp = \"disabled\"`",
        ]);
    }
    let stops = || failing.iter().flat_map(|it| &it.stops);
    let turn = if linear { lead } else { 1.0 };
    let begins = |it: &Stop| it.speed.value.abs() / turn;
    let share = |share: Option<f64>| 1.0 + share.unwrap_or(0.0);
    let set =
        plan.t_delay.as_ref().map(|it| it.si * share(plan.tol_delay.as_ref().map(|it| it.si)));
    let calculated = high("t_delay") * share(taken(predicted, "tol_delay").map(|it| it.1));
    let gone = stops().filter_map(|it| it.delay).map(|it| it.value + it.u);
    let ends = Ends {
        inertia: said.map_or(inertia, |it| it.min(inertia)),
        friction,
        load,
        speed: stops().map(begins).fold(speed.1, f64::max),
        removed: gone.fold(set.unwrap_or(0.0).max(calculated), f64::max),
        lead,
    };
    let mut each = Vec::new();
    for condition in failing {
        match of_condition(plan, condition, ends, turn) {
            Ok(lost) => each.push(lost),
            Err(problem) => problems.push(*problem),
        }
    }
    Ok(TorqueLost { each, ends })
}

/// The sheet run for one condition.
fn of_condition(
    plan: &Plan,
    condition: &Condition,
    ends: Ends,
    turn: f64,
) -> Result<Lost, Box<Diagnostic>> {
    let removed = condition.stops.iter().filter_map(|it| it.delay);
    let least = removed.map(|it| it.value - it.u).fold(ends.removed, f64::min);
    let stops: Vec<(f64, f64)> = condition
        .stops
        .iter()
        .map(|it| {
            let measured = (it.time.value, it.turned.value / turn);
            from_highest(measured, it.speed.value.abs() / turn, least, ends)
        })
        .collect();
    let list = |unit: &str, size: f64, of: fn(&(f64, f64)) -> f64| {
        let all = stops.iter().map(|it| format!("{} {unit}", plain(of(it) / size)));
        all.collect::<Vec<_>>().join(", ")
    };
    let rpm = std::f64::consts::PI / 30.0;
    let one = |value: f64, unit: &str| format!("{} {unit}", plain(value));
    let values = [
        ("t_k", list("ms", 1e-3, |it| it.0)),
        ("phi_k", list("rad", 1.0, |it| it.1)),
        ("u", one(condition.times.u * 1e3, "ms")),
        ("u_phi", one(condition.turned.u / turn, "rad")),
        ("t_least", one(least * 1e3, "ms")),
        ("t_most", one(ends.removed * 1e3, "ms")),
        ("J", one(ends.inertia, "kg·m²")),
        ("n_0", one(ends.speed / rpm, "r/min")),
        ("T_0", one(ends.friction, "N·m")),
        ("T_load", one(ends.load, "N·m")),
        ("lead", one(ends.lead * std::f64::consts::TAU * 1e3, "mm/r")),
    ];
    let run = || {
        let sheet = Sheet::library(SHEET)?;
        let mut inputs = sheet.inputs();
        for (name, text) in &values {
            inputs.write_from(name, text, Place::Argument { text: format!("{name}={text}") })?;
        }
        Results::compute(sheet.program(), &inputs)
    };
    match run() {
        Ok(results) => {
            let mut lost = Lost { label: condition.label(), results, faded: None };
            lost.faded = lost.fades(plan, condition, ends, turn)?;
            Ok(lost)
        }
        Err(found) => {
            let words = found.first().map_or("", |it| it.headline.as_str());
            Err(Box::new(
                Diagnostic::error(
                    Name::RecordingPlan,
                    format!("{SHEET} finds no stop by torque lost under `{}`: {words}", condition.label()),
                )
                .remedy("look whether J, T_0, T_load, n_0 and the delay of `[calculation]` are those of this machine"),
            ))
        }
    }
}

/// Time and angle of a stop that began slower, as the same brake makes them from the highest speed: the sheet takes one
/// speed for all of them.
fn from_highest(measured: (f64, f64), began: f64, gone: f64, ends: Ends) -> (f64, f64) {
    let (time, angle) = measured;
    let gains = -(ends.friction + ends.load) / ends.inertia;
    let rest = time - gone;
    let late = (2.0 * (angle - began * gone) - began * rest) / (began + gains * rest);
    let late = late.max(0.0);
    let slows = (rest - late) / (began + gains * late);
    if !slows.is_finite() || slows <= 0.0 {
        return measured;
    }
    let of = |speed: f64| {
        let meets = speed + gains * late;
        let free = gone + late;
        let angle = speed * free + gains * late * late / 2.0 + slows * meets * meets / 2.0;
        (free + slows * meets, angle)
    };
    let (from, to) = (of(began), of(ends.speed));
    (time + to.0 - from.0, angle + to.1 - from.1)
}
