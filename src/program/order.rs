//! The order in which the lines of `works` and `uses` are calculated, and the circles among them.

use std::collections::{BTreeMap, BTreeSet};

use crate::language::{Body, Definition, Expression, Node, Tree, Use};

/// A line that others may wait for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Item {
    /// Index into the tree's `uses`.
    Use(usize),
    /// Index into the tree's `works`.
    Work(usize),
}

/// Lines in the order in which they can be calculated, and each circle as the items that wait for
/// one another, first waits for second and so on; a line in or behind a circle is not in the order.
#[derive(Debug, Default)]
pub(super) struct Order {
    pub(super) items: Vec<Item>,
    pub(super) circles: Vec<Vec<Item>>,
}

/// Sorts the lines of a sheet.
pub(super) fn order(uses: &[Use], works: &[Definition]) -> Order {
    let mut items: Vec<(Item, &str, Vec<String>)> = Vec::new();
    for (at, line) in uses.iter().enumerate() {
        let mut names = Vec::new();
        for (_, argument) in &line.arguments {
            names_in(argument, &mut names);
        }
        items.push((Item::Use(at), &line.alias.value, names));
    }
    for (at, line) in works.iter().enumerate() {
        items.push((Item::Work(at), &line.name.value, names_of(line)));
    }
    let by_name: BTreeMap<&str, usize> =
        items.iter().enumerate().rev().map(|(at, (_, name, _))| (*name, at)).collect();
    let waits: Vec<Vec<usize>> = items
        .iter()
        .map(|(_, _, names)| {
            names.iter().filter_map(|name| by_name.get(name.as_str()).copied()).collect()
        })
        .collect();
    let mut walk = Walk {
        waits: &waits,
        state: vec![State::New; items.len()],
        done: Vec::new(),
        circles: Vec::new(),
    };
    for start in 0..items.len() {
        walk.from(start);
    }
    let item = |at: &usize| items.get(*at).map(|(item, ..)| *item);
    Order {
        items: walk.done.iter().filter_map(item).collect(),
        circles: walk
            .circles
            .iter()
            .map(|circle| circle.iter().filter_map(item).collect())
            .collect(),
    }
}

#[derive(Clone, Copy, PartialEq)]
enum State {
    New,
    Open,
    Done,
    /// In a circle, or waiting for one.
    Stuck,
}

struct Walk<'a> {
    waits: &'a [Vec<usize>],
    state: Vec<State>,
    done: Vec<usize>,
    circles: Vec<Vec<usize>>,
}

impl Walk<'_> {
    /// Depth first without recursion: a sheet may chain a hundred thousand lines.
    fn from(&mut self, start: usize) {
        if self.state(start) != State::New {
            return;
        }
        let mut path: Vec<(usize, usize, bool)> = vec![(start, 0, false)];
        self.set(start, State::Open);
        while let Some((at, next, stuck)) = path.pop() {
            let Some(other) = self.waits.get(at).and_then(|waits| waits.get(next)).copied() else {
                self.set(at, if stuck { State::Stuck } else { State::Done });
                if stuck {
                    if let Some(before) = path.last_mut() {
                        before.2 = true;
                    }
                } else {
                    self.done.push(at);
                }
                continue;
            };
            path.push((at, next + 1, stuck));
            match self.state(other) {
                State::New => {
                    self.set(other, State::Open);
                    path.push((other, 0, false));
                }
                State::Open => {
                    let begin = path.iter().position(|(item, ..)| *item == other).unwrap_or(0);
                    self.circles.push(path.iter().skip(begin).map(|(item, ..)| *item).collect());
                    for item in path.iter_mut().skip(begin) {
                        item.2 = true;
                    }
                }
                State::Stuck => {
                    if let Some(last) = path.last_mut() {
                        last.2 = true;
                    }
                }
                State::Done => {}
            }
        }
    }

    fn state(&self, at: usize) -> State {
        self.state.get(at).copied().unwrap_or(State::Done)
    }

    fn set(&mut self, at: usize, state: State) {
        if let Some(slot) = self.state.get_mut(at) {
            *slot = state;
        }
    }
}

/// Every name that waits for another, directly or through others.
pub(super) fn waits_for(tree: &Tree, name: &str) -> BTreeSet<String> {
    let mut reads: Vec<(&str, Vec<String>)> =
        tree.works.iter().map(|line| (line.name.value.as_str(), names_of(line))).collect();
    for line in &tree.uses {
        let mut names = Vec::new();
        line.arguments.iter().for_each(|(_, argument)| names_in(argument, &mut names));
        reads.push((&line.alias.value, names));
    }
    let mut waiting = BTreeSet::from([name.to_owned()]);
    loop {
        let before = waiting.len();
        for (line, names) in &reads {
            if names.iter().any(|name| waiting.contains(name)) {
                waiting.insert((*line).to_owned());
            }
        }
        if waiting.len() == before {
            return waiting;
        }
    }
}

/// Every name that a line of the sheet reads, whether that line has trouble of its own or not.
pub(super) fn mentioned(tree: &Tree) -> BTreeSet<String> {
    let mut names = Vec::new();
    let bounds = tree.takes.iter().flat_map(|line| [&line.low, &line.high]).flatten();
    let arguments = tree.uses.iter().flat_map(|line| &line.arguments).map(|(_, value)| value);
    let conditions = tree.holds.iter().map(|line| &line.condition);
    for part in bounds.map(|bound| &bound.value).chain(arguments).chain(conditions) {
        names_in(part, &mut names);
    }
    for line in &tree.works {
        names.extend(names_of(line));
    }
    for give in &tree.gives {
        names.push(give.name.value.clone());
        let step = give.rounding.iter().map(|rounding| rounding.step.as_ref());
        let setting = give.setting.iter().flat_map(|set| [&set.step, &set.low, &set.high]);
        for part in step.chain(setting) {
            names_in(part, &mut names);
        }
    }
    names.into_iter().collect()
}

fn names_of(line: &Definition) -> Vec<String> {
    let mut names = Vec::new();
    for bound in [&line.low, &line.high].into_iter().flatten() {
        names_in(&bound.value, &mut names);
    }
    match &line.body {
        Body::Value(value) => names_in(value, &mut names),
        Body::Function { parameters, result } => {
            names_in(result, &mut names);
            names.retain(|name| !parameters.iter().any(|parameter| parameter.value == *name));
        }
        Body::Table(_) => {}
    }
    names
}

/// The names an expression waits for; aliases and functions included.
pub(super) fn names_in(expression: &Expression, names: &mut Vec<String>) {
    match &expression.node {
        Node::Name(name) => names.push(name.clone()),
        Node::Dotted(alias, _) => names.push(alias.value.clone()),
        Node::Call(name, _) => names.push(name.value.clone()),
        _ => {}
    }
    for (own, part) in expression.scoped_parts() {
        let before = names.len();
        names_in(part, names);
        if let Some(own) = own {
            let found = names.split_off(before);
            names.extend(found.into_iter().filter(|name| *name != own.value));
        }
    }
}
