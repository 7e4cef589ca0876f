//! What of a plan does not go together: keys, shares and days held against each other.

use super::channel::unread;
use super::plan::Value;
use super::plan_reader::Reader;
use crate::diagnostic::{Diagnostic, Name};
use crate::environment::day;

impl Reader {
    /// Shares of what they are shares of: a tolerance of all of it leaves nothing, and both ends are no more than the
    /// whole ramp.
    pub(super) fn shares(&mut self, all: [(&str, &Option<Value>, f64); 4]) {
        for (key, share, most) in all {
            let Some(it) = share.as_ref().filter(|it| it.si > most || it.si == most && most == 1.0)
            else {
                continue;
            };
            let limit = if most == 1.0 { "below 100 %" } else { "at most 50 %" };
            self.problems.push(
                Diagnostic::error(
                    Name::OutOfRange,
                    format!("`{key}` = {} is not {limit}", it.written),
                )
                .at(it.place.clone())
                .remedy(format!("write what was read back or found, {limit}")),
            );
        }
    }

    /// The least speed that is read: not above that of standstill, and none of a counter.
    pub(super) fn least(
        &mut self,
        least: Option<&Value>,
        standstill: Option<&Value>,
        is_position: bool,
    ) {
        let Some(least) = least else { return };
        if is_position {
            self.problems.push(unread(
                &least.place,
                "`least` is said, and a position is read at any speed".to_owned(),
                "leave it out",
            ));
        }
        if let Some(standstill) = standstill.filter(|it| it.si < least.si) {
            let problem = Diagnostic::error(
                Name::OutOfRange,
                format!(
                    "`least` = {} is above `standstill` = {}: the channel shows no standstill",
                    least.written, standstill.written
                ),
            )
            .at(least.place.clone())
            .label(standstill.place.clone(), "the speed of standstill is said here")
            .remedy("record on a channel that reads lower speeds");
            self.problems.push(problem);
        }
    }

    /// What a stop of the other category has.
    pub(super) fn of_category(&mut self, at_once: bool) {
        let (category, others): (_, &[&str]) = if at_once {
            ("0", &["t_ramp", "n_ref", "tol_ramp", "f", "calculation.works", "calculation.fails"])
        } else {
            ("1", &["calculation.stops", "calculation.before"])
        };
        for key in others {
            let Some(place) = self.get(key).map(|said| said.place.clone()) else { continue };
            let remedy = match (at_once, *key) {
                (true, "calculation.works" | "calculation.fails") => {
                    "name the stopping time in `stops` instead, such as `stops = \"t_stop\"`"
                }
                (true, _) => "leave it out",
                (false, _) => {
                    "say `category = \"0\"`, or name the stopping times in `works` and `fails`"
                }
            };
            let words = format!("`{key}` is said, and a stop of category {category} has none");
            self.problems.push(unread(&place, words, remedy));
        }
    }

    /// What is of no use alone, and days that are none.
    pub(super) fn pairs(&mut self) {
        for (key, other) in [
            ("t_ramp", "n_ref"),
            ("t_ramp", "tol_ramp"),
            ("tol_ramp", "t_ramp"),
            ("n_ref", "t_ramp"),
            ("t_delay", "tol_delay"),
            ("tol_delay", "t_delay"),
            ("tol_J", "J"),
            ("calibrated_until", "calibrated"),
        ] {
            if let Some(said) = self.get(key).filter(|_| self.get(other).is_none()) {
                let place = said.place.clone();
                self.problems.push(unread(
                    &place,
                    format!("`{key}` is said without `{other}`"),
                    &format!("say `{other}` too, or leave `{key}` out"),
                ));
            }
        }
        if let (Some(a), Some(b)) = (self.get("J"), self.get("torque")) {
            let problem = Diagnostic::error(
                Name::TwoStatements,
                "both an inertia and a torque are said, and a run-down gives one from the other",
            )
            .at(a.place.clone())
            .label(b.place.clone(), "the torque is said here")
            .remedy("leave one of them out");
            self.problems.push(problem);
        }
        for key in ["calibrated", "calibrated_until", "measured", "next"] {
            let Some(said) = self.get(key).filter(|said| day(&said.text).is_none()) else {
                continue;
            };
            let (place, text) = (said.place.clone(), said.text.clone());
            self.problems.push(unread(
                &place,
                format!("`{text}` is not a day"),
                "write it as year, month, day: `2026-03-02`",
            ));
        }
        let days = |key: &str| self.get(key).and_then(|said| day(&said.text));
        let late =
            [("calibrated", "measured"), ("measured", "next"), ("calibrated", "calibrated_until")]
                .into_iter()
                .find(|(one, other)| days(one).zip(days(other)).is_some_and(|(a, b)| a > b));
        if let Some((one, other)) = late
            && let (Some(first), Some(second)) = (self.get(one), self.get(other))
        {
            let problem = unread(
                &second.place,
                format!("`{other}` = {} is before `{one}` = {}", second.text, first.text),
                "correct one of the days",
            );
            self.problems.push(problem);
        }
    }
}
