//! One pass over a stretch of rows: the steps that change from row to row, each decided where it is exact.

use super::invariant::Partition;
use super::ties::Settler;
use super::{ColumnSystem, NO, Precision, Rows, Truth, YES};
use crate::number::Slot;
use crate::number::demand::Turn;
use crate::number::evaluate::Run;
use crate::number::smoothness::Smoothness;
use crate::program::{Op, Step};
use std::rc::Rc;

impl ColumnSystem<'_> {
    /// Runs the steps that change from row to row over registers that hold the others already; gives how
    /// many values were settled on exact decimals.
    pub(super) fn run<'a>(
        &'a self,
        run: &mut Run<'a, Self>,
        split: &Partition,
        settler: &mut Settler<'_>,
        start: usize,
        unsettled: &mut [bool],
    ) -> usize {
        let mut settled = 0;
        settler.begin();
        let mut known: Vec<Option<RowSelection>> = vec![None; split.demand.kinds()];
        for at in split.demand.order.iter().copied() {
            let Some(step) = self.program.steps.get(at) else { continue };
            if split.work.get(at) == Some(&true) {
                let kind = split.demand.of(at);
                if kind.is_some_and(|kind| nobody_asks(run, split.demand.ways(kind))) {
                    run.put(step.to, Slot::Empty);
                } else {
                    // which rows ask is worth finding out for long steps, and where there is doubt
                    let mut asked = |run: &Run<'_, Self>| {
                        kind.map_or(RowSelection::Everywhere, |kind| {
                            self.asked(run, split, &mut known, kind)
                        })
                    };
                    // what is taken from an earlier step holds every row already
                    let taken = matches!(split.taken.get(at), Some(Some(_)));
                    if taken || step.op.calls().is_none() {
                        self.work(run, split, at, step);
                    } else {
                        match asked(run) {
                            RowSelection::Nowhere => run.put(step.to, Slot::Empty),
                            RowSelection::In(rows) if !split.inputs_in_blocks => {
                                self.in_rows(run, step, &rows, |run| {
                                    self.work(run, split, at, step)
                                });
                            }
                            _ => self.work(run, split, at, step),
                        }
                    }
                    if self.any_doubtful.get() && kind.is_some() {
                        self.forget_doubt(&asked(run));
                    }
                }
                if self.any_doubtful.get()
                    && let Some(slot) = step.to.place().and_then(|at| run.registers.get_mut(at))
                {
                    settled += self.settle(settler, slot, step.to, start, unsettled);
                }
                settler.know(step, run.get(step.to));
            }
            for register in split.over.get(at).into_iter().flatten() {
                run.put(*register, Slot::Empty);
            }
        }
        settled
    }

    /// One step, for the rows of the chunk.
    fn work<'a>(&'a self, run: &mut Run<'a, Self>, split: &Partition, at: usize, step: &'a Step) {
        match split.taken.get(at) {
            Some(Some(register)) => run.put(step.to, run.get(*register).clone()),
            _ if split.exists.get(at) == Some(&true) => {
                self.with_care(Precision::NONE, || run.step(step));
            }
            _ if matches!(step.op, Op::Integral { .. }) => {
                self.integrand.set(split.follows.get(at).copied().unwrap_or(Smoothness::Unknown));
                self.integral_by_rows(run, step, split.inputs_in_blocks);
            }
            _ => run.step(step),
        }
    }

    /// Forgets the doubt of rows that do not ask.
    fn forget_doubt(&self, asked: &RowSelection) {
        let mut doubtful = self.doubtful.borrow_mut();
        match asked {
            RowSelection::Everywhere => return,
            RowSelection::Nowhere => doubtful.fill(false),
            RowSelection::In(rows) => {
                doubtful.iter_mut().zip(rows.iter()).for_each(|(mark, asks)| *mark &= *asks);
            }
        }
        self.any_doubtful.set(doubtful.contains(&true));
    }

    /// In which rows steps of a kind are asked for.
    fn asked(
        &self,
        run: &Run<'_, Self>,
        split: &Partition,
        known: &mut [Option<RowSelection>],
        kind: usize,
    ) -> RowSelection {
        if let Some(Some(asked)) = known.get(kind) {
            return asked.clone();
        }
        let mut all = Some(Vec::new());
        for way in split.demand.ways(kind) {
            let turns: Vec<_> = way.iter().filter_map(|turn| turned(run, *turn)).collect();
            if turns.is_empty() {
                all = None;
                break;
            }
            if turns.iter().any(|(truths, not)| matches!(truths, Rows::Same(it) if it == not)) {
                continue;
            }
            let Some(all) = &mut all else { break };
            all.resize(self.count.get(), false);
            for (row, mark) in all.iter_mut().enumerate() {
                *mark |= turns.iter().all(|(truths, not)| match truths {
                    Rows::Same(_) => true,
                    Rows::Each(truths) => truths.get(row) != Some(not),
                });
            }
        }
        let asked = match all {
            None => RowSelection::Everywhere,
            Some(all) => match all.iter().filter(|mark| **mark).count() {
                0 => RowSelection::Nowhere,
                count if count == self.count.get() => RowSelection::Everywhere,
                _ => RowSelection::In(Rc::new(all)),
            },
        };
        if let Some(slot) = known.get_mut(kind) {
            *slot = Some(asked.clone());
        }
        asked
    }
}

/// In which rows of a chunk a step is asked for.
#[derive(Clone, Debug)]
enum RowSelection {
    Everywhere,
    Nowhere,
    In(Rc<Vec<bool>>),
}

const NEVER: Rows<Truth> = Rows::Same(NO);

/// Whether each way is closed in every row at once.
fn nobody_asks(run: &Run<'_, ColumnSystem<'_>>, ways: &[Vec<Turn>]) -> bool {
    let closed = |turn: &Turn| {
        turned(run, *turn)
            .is_some_and(|(truths, not)| matches!(truths, Rows::Same(truth) if *truth == not))
    };
    ways.iter().all(|way| way.iter().any(closed))
}

/// The truths of a turn, and what they are in the rows where it is not taken; none where it always may be.
fn turned<'r>(run: &'r Run<'_, ColumnSystem<'_>>, turn: Turn) -> Option<(&'r Rows<Truth>, Truth)> {
    match run.get(turn.truth) {
        Slot::Truth(truths) => Some((&truths.rows, if turn.holds { NO } else { YES })),
        Slot::Empty => Some((&NEVER, NO)),
        Slot::One(_) | Slot::Many(_) => None,
    }
}
