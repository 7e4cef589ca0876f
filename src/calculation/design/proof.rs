//! The search over the grid, proved on bounds.

use super::grid::Free;
use super::{Before, Design, Goal, Point};
use crate::calculation::Inputs;
use crate::calculation::worst::Region;
use crate::number::{Bound, Possible, Slot, System};
use crate::program::{LineId, Register, Relation};

/// Runs of one question; beyond, what is not decided is reported as not proved.
const RUNS: usize = 3000;
/// Boxes and runs for the other side of the answer.
const BEFORE: usize = 400;

/// What bounds say of all points of a box.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum BoxVerdict {
    NoneFits,
    AllFit,
    Neither,
}

/// Which end of a free input is asked for, and whether that was said or is shown by the ends of its range.
type Wish = (Goal, bool);

impl Design<'_> {
    /// The best point with the first free inputs where they stand, and whether all that would be better is proved
    /// not to fit; `wishes` are those of the inputs that are left, where a point is found or none fits at all.
    pub(super) fn best(&self, fixed: &[u32], wishes: &mut Vec<Wish>) -> (Option<Point>, bool) {
        let Some(free) = self.frees.get(fixed.len()) else {
            return (self.fits(fixed).then(|| fixed.to_vec()), true);
        };
        let last = self.frees.len() == fixed.len() + 1;
        let with = |at: u32| fixed.iter().copied().chain([at]).collect::<Point>();
        let inner = |at: u32| {
            let mut wishes = Vec::new();
            let (found, proved) = self.best(&with(at), &mut wishes);
            (found, proved, wishes)
        };
        let some_fit = |at: u32| {
            self.box_says(fixed, (at, at)) != BoxVerdict::NoneFits && inner(at).0.is_some()
        };
        let asked = free.towards.map(|wish| (wish, true));
        let (wish, shown) = asked.unwrap_or_else(|| match (some_fit(0), some_fit(free.last)) {
            (false, true) => (Goal::Smallest, true),
            (true, false) => (Goal::Largest, true),
            _ => (Goal::Largest, false),
        });
        wishes.push((wish, shown));
        let said = |free: &Free| (free.towards.unwrap_or(Goal::Largest), free.towards.is_some());
        let mut proved = true;
        let mut open = vec![(0, free.last)];
        while let Some((low, high)) = open.pop() {
            if self.spent() {
                open.push((low, high));
                break;
            }
            let outer = if wish == Goal::Largest { high } else { low };
            if !(last && self.fits(&with(outer)))
                && self.box_says(fixed, (low, high)) == BoxVerdict::NoneFits
            {
                continue;
            }
            let (found, sure, later) = inner(outer);
            if let Some(found) = found {
                wishes.extend(later);
                return (Some(found), proved && sure);
            }
            proved &= sure;
            let rest = if wish == Goal::Largest {
                high.checked_sub(1).filter(|high| *high >= low).map(|high| (low, high))
            } else {
                Some((low + 1, high)).filter(|(low, high)| low <= high)
            };
            let Some((low, high)) = rest else { continue };
            let middle = low + (high - low) / 2;
            let mut halves = vec![(low, middle)];
            halves.extend((middle < high).then_some((middle + 1, high)));
            if wish == Goal::Smallest {
                halves.reverse();
            }
            open.extend(halves);
        }
        if open.is_empty() {
            let later = self.frees.iter().skip(wishes.len() + fixed.len());
            wishes.extend(later.map(said));
            return (None, proved);
        }
        // what is left undecided: the best of what was tried
        let runs = self.runs.borrow();
        let mut fitting: Vec<&Point> = runs
            .iter()
            .filter(|(at, outcome)| at.starts_with(fixed) && outcome.broken.is_empty())
            .map(|(at, _)| at)
            .collect();
        let later = self.frees.iter().skip(wishes.len() + fixed.len());
        wishes.extend(later.map(said));
        fitting.sort_by_key(|at| {
            let place = at.get(fixed.len()).copied().unwrap_or(0);
            if wish == Goal::Largest { u32::MAX - place } else { place }
        });
        (fitting.first().map(|at| (*at).clone()), false)
    }

    fn spent(&self) -> bool {
        self.runs.borrow().len() + *self.boxes.borrow() > RUNS
    }

    /// Whether every value of the last free input from the answer to its other end fits.
    pub(super) fn all_before(&self, at: &[u32], wish: Option<Goal>) -> Before {
        let (Some((place, fixed)), Some(free), Some(wish)) =
            (at.split_last(), self.frees.last(), wish)
        else {
            return Before::Unknown;
        };
        let range = if wish == Goal::Largest { (0, *place) } else { (*place, free.last) };
        let with = |at: u32| fixed.iter().copied().chain([at]).collect::<Point>();
        let mut open = vec![range];
        let mut budget = BEFORE;
        while let Some((low, high)) = open.pop() {
            budget -= 1;
            if budget == 0 {
                return Before::Unknown;
            }
            if let Some(out) = [low, high].into_iter().find(|at| !self.fits(&with(*at))) {
                return Before::Not(free.value(out));
            }
            if high - low < 2 {
                continue;
            }
            match self.box_says(fixed, (low, high)) {
                BoxVerdict::AllFit => {}
                BoxVerdict::NoneFits => return Before::Not(free.value(low + 1)),
                BoxVerdict::Neither => {
                    let middle = low + (high - low) / 2;
                    open.extend([(low, middle), (middle, high)]);
                }
            }
        }
        Before::All
    }

    /// What bounds say of a range of one free input, those before it where they stand and those after it anywhere.
    fn box_says(&self, fixed: &[u32], range: (u32, u32)) -> BoxVerdict {
        *self.boxes.borrow_mut() += 1;
        let ranges: Vec<(u32, u32)> = self
            .frees
            .iter()
            .enumerate()
            .map(|(at, free)| match fixed.get(at) {
                Some(place) => (*place, *place),
                None if at == fixed.len() => range,
                None => (0, free.last),
            })
            .collect();
        let spread = |inputs: &Inputs| {
            let mut inputs = inputs.clone();
            for (free, (low, high)) in self.frees.iter().zip(&ranges) {
                let from = free.value(*low);
                inputs.store(&free.input, crate::number::InputValue::One(from.clone()), None);
                if low < high {
                    inputs.spread_between(&free.input, from, free.value(*high));
                }
            }
            inputs
        };
        if !self.question.worst {
            return self.said(&spread(&self.inputs));
        }
        // nowhere does it hold with some corner of the tolerances: then it does not hold over them
        let corners = self.corners.borrow();
        if corners.iter().any(|corner| self.said(&spread(corner)) == BoxVerdict::NoneFits) {
            return BoxVerdict::NoneFits;
        }
        drop(corners);
        match self.said(&spread(&self.inputs)) {
            BoxVerdict::AllFit => BoxVerdict::AllFit,
            _ => BoxVerdict::Neither,
        }
    }

    fn said(&self, inputs: &Inputs) -> BoxVerdict {
        let region = Region::new(self.program, inputs);
        let registers = region.bound(&region.whole());
        let slot = |register: Register| register.place().and_then(|at| registers.get(at));
        let mut all = true;
        let mut look = |truth: Possible| {
            all &= truth.always();
            // neither holding nor may it fail: a value that never exists
            truth.holds
        };
        for check in self.program.checks.iter().filter(|check| !check.caution) {
            if let Some(Slot::Truth(truth)) = slot(check.register)
                && !look(truth.clone())
            {
                return BoxVerdict::NoneFits;
            }
        }
        for (_, wanted, output) in self.wanted() {
            let end = region.bounds.literal(&wanted.value, LineId(0));
            let values: &[Bound] = match slot(output.register) {
                Some(Slot::One(value)) => std::slice::from_ref(value),
                Some(Slot::Many(values)) => values,
                _ => &[],
            };
            for value in values {
                if !look(region.bounds.compare(wanted.relation, value, &end)) {
                    return BoxVerdict::NoneFits;
                }
            }
        }
        for guard in &self.program.guards {
            for (limit, is_low) in [(&guard.low, true), (&guard.high, false)] {
                let Some(limit) = limit else { continue };
                let Some(Slot::One(end)) = slot(limit.register) else { continue };
                let values: &[Bound] = match slot(guard.register) {
                    Some(Slot::One(value)) => std::slice::from_ref(value),
                    Some(Slot::Many(values)) => values,
                    _ => &[],
                };
                let relation = match (is_low, limit.included) {
                    (true, true) => Relation::AtLeast,
                    (true, false) => Relation::Above,
                    (false, true) => Relation::AtMost,
                    (false, false) => Relation::Below,
                };
                for value in values {
                    if !look(region.bounds.compare(relation, value, end)) {
                        return BoxVerdict::NoneFits;
                    }
                }
            }
        }
        for output in &self.program.outputs {
            let exists = match slot(output.register) {
                Some(Slot::One(value)) => value.may.is_none(),
                Some(Slot::Many(values)) => values.iter().all(|value| value.may.is_none()),
                _ => true,
            };
            all &= exists;
        }
        if all { BoxVerdict::AllFit } else { BoxVerdict::Neither }
    }
}
