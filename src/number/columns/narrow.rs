//! Integrals of the rows that need more panels than most, worked by themselves.
//!
//! All points of all their panels are lanes of one chunk, so that a few rows cost no more than they must.

use std::rc::Rc;

use super::search::{DOUBTED, Open, PANELS, Panel, joined, next_panel, nodes, tried};
use super::span::Span;
use super::{CHUNK, ColumnSystem, Rows, Truths, Vector};
use crate::number::Slot;
use crate::number::evaluate::Run;
use crate::program::{Block, LineId, Op, Register, Step};

type ColumnSlot = Slot<Vector, Truths>;

/// Points of a panel.
const NODES: usize = 15;

/// What a function reads from outside, and the bounds of its integral.
struct Function<'p> {
    block: &'p Block,
    line: LineId,
    from: Vector,
    to: Vector,
    read: Vec<(Register, ColumnSlot)>,
}

/// What the function brings along: its largest error; by row, weights of all points and of those with doubt.
struct Tally {
    error: f64,
    weights: Vec<(f64, f64)>,
}

/// A part of the way between the bounds of a row, by its place among the open ones.
#[derive(Clone, Copy)]
struct Part {
    open: usize,
    row: usize,
    from: f64,
    to: f64,
}

impl ColumnSystem<'_> {
    /// An integral: one panel, or two halves, of all rows in step; then more for those that need it.
    pub(super) fn integral_by_rows<'a>(
        &'a self,
        run: &mut Run<'a, Self>,
        step: &Step,
        inputs_in_blocks: bool,
    ) {
        let Op::Integral { block, from, to } = step.op else { return };
        let (Slot::One(from), Slot::One(to)) = (run.get(from).clone(), run.get(to).clone()) else {
            return run.step(step);
        };
        let Some(block) = self.program.block(block).filter(|_| !inputs_in_blocks) else {
            return run.step(step);
        };
        self.at_once.set(true);
        run.step(step);
        self.at_once.set(false);
        let open = self.open.take();
        if open.is_empty() {
            return;
        }
        let read = self.read_from_outside(step);
        let read = read.into_iter().map(|register| (register, run.get(register).clone())).collect();
        let function = Function { block, line: step.line, from, to, read };
        self.follow(run, step, &function, open);
    }

    /// Halves panels until every row is done, and puts what comes out in its place.
    fn follow<'a>(
        &'a self,
        run: &mut Run<'a, Self>,
        step: &Step,
        function: &Function<'_>,
        mut open: Vec<Open>,
    ) {
        let mut tally = Tally { error: 0.0, weights: vec![(0.0, 0.0); open.len()] };
        for _ in 0..PANELS {
            let worst = open.iter_mut().enumerate().filter_map(|(at, open)| {
                let worst = next_panel(&open.panels)?;
                Some((at, open.row, open.panels.swap_remove(worst)))
            });
            let worst: Vec<_> = worst.collect();
            if worst.is_empty() {
                break;
            }
            let halves = worst.iter().flat_map(|(at, row, panel)| {
                let middle = panel.from.midpoint(panel.to);
                let part = |from, to| Part { open: *at, row: *row, from, to };
                [part(panel.from, middle), part(middle, panel.to)]
            });
            let halves: Vec<_> = halves.collect();
            let mut found = Vec::with_capacity(halves.len());
            for parts in halves.chunks(CHUNK / NODES) {
                found.extend(self.panels_of_parts(run, function, parts, &mut tally));
            }
            let (pairs, _) = found.as_chunks::<2>();
            for ((at, _, whole), halves) in worst.iter().zip(pairs) {
                if let Some(open) = open.get_mut(*at) {
                    open.panels.extend(joined(*whole, *halves));
                }
            }
        }
        let (mut worst, mut sums) = (1.0_f64, Vec::with_capacity(open.len()));
        for (open, (all, doubted)) in open.iter().zip(&tally.weights) {
            let (sum, loss) = self.ended(open.row, &open.panels);
            if *doubted > DOUBTED * all {
                self.doubt(Some(open.row));
            }
            worst = worst.max(loss);
            sums.push(sum);
        }
        let error = self.error_of_integral(tally.error, &function.from, &function.to, worst);
        let slot = step.to.place().and_then(|at| run.registers.get_mut(at));
        if let Some(Slot::One(lanes)) = slot {
            for (open, sum) in open.iter().zip(&sums) {
                lanes.rows.set(Some(open.row), *sum);
            }
            lanes.span = lanes.span.joined(Span::of_each(&sums));
            lanes.error = lanes.error.max(error);
        }
    }

    /// The panels of some parts: every point is a lane, node after node.
    fn panels_of_parts<'a>(
        &'a self,
        run: &mut Run<'a, Self>,
        function: &Function<'_>,
        parts: &[Part],
        tally: &mut Tally,
    ) -> Vec<Panel> {
        let ends: Vec<_> = parts
            .iter()
            .map(|part| (function.from.at(part.row), function.to.at(part.row)))
            .collect();
        let spans: Vec<_> = parts
            .iter()
            .zip(&ends)
            .map(|(part, (from, to))| {
                let at = |share: f64| from * (1.0 - share) + to * share;
                let (low, high) = (at(part.from), at(part.to));
                ((low + high) / 2.0, (high - low) / 2.0)
            })
            .collect();
        let mut points = self.buffer();
        for (node, ..) in nodes() {
            points.extend(spans.iter().map(|(middle, half)| middle + node * half));
        }
        let (values, doubtful) = self.valued(run, function, points, parts);
        tally.error = tally.error.max(values.error);
        let values = match &values.rows {
            Rows::Same(value) => Rc::new(vec![*value; parts.len() * NODES]),
            Rows::Each(values) => Rc::clone(values),
        };
        let empty = |part: &Part| Panel { from: part.from, to: part.to, ..Panel::default() };
        let mut panels: Vec<Panel> = parts.iter().map(empty).collect();
        for ((_, many, few), values) in nodes().zip(values.chunks(parts.len().max(1))) {
            for (panel, value) in panels.iter_mut().zip(values) {
                panel.value += many * value;
                panel.magnitude += many * value.abs();
                // what the other rule makes of it, for now
                panel.error += few * value;
            }
        }
        for (panel, (from, to)) in panels.iter_mut().zip(ends) {
            let half = (to - from) * (panel.to - panel.from) / 2.0;
            panel.error = ((panel.value - panel.error) * half).abs();
            panel.value *= half;
            panel.magnitude *= half.abs();
        }
        tally.weigh(parts, &doubtful);
        panels
    }

    /// The function at the points of some parts, and where it is doubtful.
    fn valued<'a>(
        &'a self,
        run: &mut Run<'a, Self>,
        function: &Function<'_>,
        points: Vec<f64>,
        parts: &[Part],
    ) -> (Vector, Vec<bool>) {
        for (register, slot) in &function.read {
            run.put(*register, self.spread_out(slot, parts));
        }
        let count = self.count.replace(points.len());
        let doubtful = self.doubtful.replace(vec![false; points.len()]);
        let any = self.any_doubtful.replace(false);
        let span = Span::of_each(&points);
        let points = tried(Rows::each(points), span);
        let values = run.call(function.block, vec![points], function.line);
        self.count.set(count);
        let marks = self.doubtful.replace(doubtful);
        let marks = if self.any_doubtful.replace(any) { marks } else { Vec::new() };
        for (register, slot) in &function.read {
            run.put(*register, slot.clone());
        }
        (values, marks)
    }
}

impl Tally {
    /// Adds the weights of all points of some parts, and of those that are marked.
    fn weigh(&mut self, parts: &[Part], doubtful: &[bool]) {
        for part in parts {
            if let Some((all, _)) = self.weights.get_mut(part.open) {
                // the weights of a rule come to 2
                *all += 2.0 * (part.to - part.from);
            }
        }
        for ((_, many, _), marks) in nodes().zip(doubtful.chunks(parts.len().max(1))) {
            for part in parts.iter().zip(marks).filter_map(|(part, mark)| mark.then_some(part)) {
                if let Some((_, doubted)) = self.weights.get_mut(part.open) {
                    *doubted += many * (part.to - part.from);
                }
            }
        }
    }
}

impl ColumnSystem<'_> {
    /// What the rows of some parts hold, once for every node.
    fn spread_out(&self, slot: &ColumnSlot, parts: &[Part]) -> ColumnSlot {
        match slot {
            Slot::Empty => Slot::Empty,
            Slot::One(lanes) => Slot::One(self.spread_lanes(lanes, parts)),
            Slot::Many(elements) => {
                Slot::Many(elements.iter().map(|lanes| self.spread_lanes(lanes, parts)).collect())
            }
            Slot::Truth(truths) => {
                let rows = match &truths.rows {
                    Rows::Same(truth) => Rows::Same(*truth),
                    Rows::Each(truths) => Rows::each(spread_values(Vec::new(), truths, parts)),
                };
                Slot::Truth(Truths { rows, missing: truths.missing })
            }
        }
    }

    fn spread_lanes(&self, lanes: &Vector, parts: &[Part]) -> Vector {
        let rows = match &lanes.rows {
            Rows::Same(value) => Rows::Same(*value),
            Rows::Each(values) => Rows::each(spread_values(self.buffer(), values, parts)),
        };
        let errors = lanes.errors.as_ref();
        let errors = errors.map(|errors| Rc::new(spread_values(self.buffer(), errors, parts)));
        Vector { rows, errors, ..lanes.clone() }
    }
}

fn spread_values<T: Copy>(mut to: Vec<T>, values: &[T], parts: &[Part]) -> Vec<T> {
    to.extend(parts.iter().filter_map(|part| values.get(part.row).copied()));
    for _ in 1..NODES {
        to.extend_from_within(..parts.len().min(to.len()));
    }
    to
}
