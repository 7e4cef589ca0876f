//! Groups: inputs that sheets take together, and hand on whole. Flat when compiled: an input of a group is an input of
//! the sheet that takes it, and what hands a group hands each of its inputs.

use std::sync::Arc;

use super::compile::Compiler;
use super::mismatch;
use super::scope::Sheet;
use crate::diagnostic::{Diagnostic, Name, Place, Source};
use crate::language::{self, Expression, Group, Node, Span, Take, Tree, Use, Whose, Word};

impl Compiler<'_> {
    /// The inputs of the groups that a sheet takes, put among its own.
    pub(super) fn groups(&mut self, source: &Arc<Source>, tree: &mut Tree) {
        let mut groups = std::mem::take(&mut tree.groups);
        if tree.is_group {
            self.problems.extend(groups.iter().map(|group| {
                wrong(source, &group.span, "a group takes no other group".to_owned())
                    .remedy("let the sheets take both, or write the inputs out here")
            }));
            return;
        }
        let mut own = std::mem::take(&mut tree.takes).into_iter();
        let mut before = 0;
        for group in &mut groups {
            tree.takes.extend(own.by_ref().take(group.at - before));
            before = group.at;
            let Some((found, inside)) = self.group(source, group.whose, &group.name) else {
                continue;
            };
            let names: Vec<String> = inside.takes.iter().map(|it| it.name.value.clone()).collect();
            tree.takes.extend(inside.takes.iter().map(|take| taken(group, &found, &inside, take)));
            tree.broken.extend(inside.broken.iter().map(|name| group.called(name)));
            for (to, from) in
                [(&mut tree.sources, &inside.sources), (&mut tree.cautions, &inside.cautions)]
            {
                let new = from.iter().filter(|it| to.iter().all(|known| known.value != it.value));
                let new: Vec<Word> = new.cloned().collect();
                to.extend(new);
            }
            (group.inputs, group.source) = (names, Some(found));
        }
        tree.takes.extend(own);
        tree.groups = groups;
    }

    /// The text of a group, and what it holds.
    pub(super) fn group(
        &mut self,
        source: &Arc<Source>,
        whose: Whose,
        name: &Word,
    ) -> Option<(Arc<Source>, Arc<Tree>)> {
        let place = Place::text(source, name.span.clone());
        let found = match self.resolver.group(whose, &name.value, &place) {
            Ok(found) => found,
            Err(problem) => {
                self.problems.push(*problem);
                return None;
            }
        };
        // a sheet in its place could take itself
        let inside = match language::parse(&found).0.is_group {
            true => self.read(&found),
            false => Arc::default(),
        };
        if inside.takes.is_empty() && inside.broken.is_empty() {
            let headline = format!("`{}` holds no group of inputs", found.name);
            self.problems.push(wrong(source, &name.span, headline).remedy(format!(
                "begin it with `group {}`, and list the inputs below `takes`",
                name.value
            )));
        }
        (!inside.takes.is_empty()).then_some((found, inside))
    }

    /// A group says what is asked for, and nothing that is calculated of it.
    pub(super) fn holds_inputs_alone(&mut self, sheet: &Sheet) {
        let tree = &sheet.tree;
        let lines = (tree.uses.iter().map(|it| &it.span))
            .chain(tree.courses.iter().map(|it| &it.span))
            .chain(tree.works.iter().map(|it| &it.span))
            .chain(tree.holds.iter().map(|it| &it.span))
            .chain(tree.gives.iter().map(|it| &it.span));
        self.problems.extend(lines.min_by_key(|span| span.start).map(|span| {
            wrong(&sheet.source, span, "a group holds inputs alone".to_owned()).remedy(
                "put it into the sheets that take the group, or begin with `sheet` for `group`",
            )
        }));
        let named = sheet.source.name.ends_with(".group");
        let name = tree.name.as_ref().filter(|_| !named);
        self.problems.extend(name.map(|name| {
            let headline = "a group of inputs stands in a file of its own".to_owned();
            let name = (&name.value, &name.span);
            wrong(&sheet.source, name.1, headline)
                .remedy(format!("call the file `{0}.group`, or begin it with `sheet {0}`", name.0))
        }));
        if tree.takes.is_empty() && tree.broken.is_empty() {
            let head = tree.name.as_ref().map_or(0..0, |name| name.span.clone());
            self.problems.push(
                wrong(&sheet.source, &head, "the group holds no inputs".to_owned())
                    .remedy("list them below `takes`: `name : kind in unit`"),
            );
        }
    }

    /// The lines of `uses` with each input of a group in the place of the group.
    pub(super) fn groups_handed(&mut self, source: &Arc<Source>, tree: &Arc<Tree>) -> Arc<Tree> {
        let whole = |line: &Use| {
            line.but.is_empty() && line.arguments.iter().all(|(_, it)| group_in(tree, it).is_none())
        };
        if tree.uses.iter().all(whole) {
            return Arc::clone(tree);
        }
        let mut made = Tree::clone(tree);
        made.uses.clear();
        for line in &tree.uses {
            let place = Place::text(source, line.sheet.span.clone());
            let used = match whole(line) {
                true => None,
                false => self.resolver.sheet(line.whose, &line.sheet.value, &place).ok(),
            };
            let Some(used) = used else {
                made.uses.push(line.clone());
                continue;
            };
            match handed(source, tree, line, &self.read(&used)) {
                Ok(arguments) => {
                    made.uses.push(Use { arguments, but: Vec::new(), ..line.clone() });
                }
                Err(problem) => {
                    self.problems.extend(problem.map(|it| *it));
                    made.broken.insert(line.alias.value.clone());
                }
            }
        }
        Arc::new(made)
    }
}

/// The group that an argument names.
fn group_in<'t>(tree: &'t Tree, value: &Expression) -> Option<&'t Group> {
    match &value.node {
        Node::Name(name) => tree.group(name),
        _ => None,
    }
}

fn wrong(source: &Arc<Source>, span: &Span, headline: String) -> Diagnostic {
    Diagnostic::error(Name::WrongGroup, headline).at(Place::text(source, span.clone()))
}

/// An input of a group as the sheet takes it.
fn taken(group: &Group, source: &Arc<Source>, inside: &Tree, take: &Take) -> Take {
    let mut take = take.clone();
    let is_input = |name: &str| inside.takes.iter().any(|it| it.name.value == name);
    take.name.value = group.called(&take.name.value);
    for bound in [&mut take.low, &mut take.high].into_iter().flatten() {
        bound.value.change(&mut |node| match node {
            Node::Name(name) if is_input(name) => *name = group.called(name),
            _ => {}
        });
    }
    if take.heading.is_empty() {
        take.heading = inside.title.as_ref().map_or_else(String::new, |title| title.value.clone());
    }
    if let Some(alias) = &group.alias {
        take.heading = format!("{}: {}", alias.value, take.heading);
    }
    take.from = Some((Arc::clone(source), group.span.clone()));
    take
}

/// What a line hands over, each input of a group by itself; without a problem where it is reported elsewhere.
fn handed(
    source: &Arc<Source>,
    ours: &Tree,
    line: &Use,
    theirs: &Tree,
) -> Result<Vec<(Word, Expression)>, Option<Box<Diagnostic>>> {
    let sheet = &line.sheet.value;
    let mut all: Vec<(Word, Expression)> = Vec::new();
    // those that a group hands
    let mut grouped: Vec<String> = Vec::new();
    for (word, value) in &line.arguments {
        let Some(group) = group_in(ours, value) else { continue };
        let Some(from) = &group.source else { return Err(None) };
        let other = theirs.group(&word.value);
        let Some(other) = other.filter(|it| it.source.as_ref().is_some_and(|it| it.is_same(from)))
        else {
            return Err(Some(Box::new(not_taken(source, (word, value), group, sheet, theirs))));
        };
        for input in &group.inputs {
            let name = other.called(input);
            grouped.push(name.clone());
            let node = Node::Name(group.called(input));
            let value = Expression { node, span: value.span.clone() };
            all.push((Word { value: name, span: word.span.clone() }, value));
        }
    }
    for (word, value) in line.arguments.iter().filter(|(_, it)| group_in(ours, it).is_none()) {
        if grouped.contains(&word.value) {
            let headline = format!("`{}` is handed to `{sheet}` with its group, too", word.value);
            let written = source.text.get(word.span.start..value.span.end).unwrap_or_default();
            let problem = Diagnostic::error(Name::TwoStatements, headline)
                .at(Place::text(source, word.span.clone()))
                .remedy(format!("leave it out, or end the line with `but {written}`"));
            return Err(Some(Box::new(problem)));
        }
        all.push((word.clone(), value.clone()));
    }
    for (word, value) in &line.but {
        let place = grouped.contains(&word.value);
        let Some(one) = all.iter_mut().find(|(name, _)| place && name.value == word.value) else {
            let headline = format!("no group that is handed to `{sheet}` has a `{}`", word.value);
            let known: Vec<&str> = grouped.iter().map(String::as_str).collect();
            let remedy = match known.as_slice() {
                [] => "hand it behind `with`: `but` changes an input of a group".to_owned(),
                known => format!(
                    "behind `but` stands {}; hand others behind `with`",
                    mismatch::list(known)
                ),
            };
            let problem = Diagnostic::error(Name::UnknownArgument, headline)
                .at(Place::text(source, word.span.clone()))
                .remedy(remedy);
            return Err(Some(Box::new(problem)));
        };
        *one = (word.clone(), value.clone());
    }
    Ok(all)
}

/// A group is handed to what is no such group.
fn not_taken(
    source: &Arc<Source>,
    (word, value): (&Word, &Expression),
    group: &Group,
    sheet: &str,
    theirs: &Tree,
) -> Diagnostic {
    let handle = &group.handle().value;
    let span = word.span.start..value.span.end;
    let same = |it: &&Group| match (&it.source, &group.source) {
        (Some(a), Some(b)) => a.is_same(b),
        _ => false,
    };
    let is_input = |name: &str| theirs.takes.iter().any(|take| take.name.value == name);
    let shared: Vec<String> = group
        .inputs
        .iter()
        .filter(|input| is_input(input))
        .map(|input| match group.called(input) {
            same if same == *input => same,
            ours => format!("{input} = {ours}"),
        })
        .collect();
    let headline = match theirs.group(&word.value) {
        Some(other) => format!(
            "`{}` of `{sheet}` is the group `{}`, and `{handle}` another of the name `{}`",
            word.value, other.name.value, group.name.value
        ),
        None if is_input(&word.value) => {
            format!("`{}` of `{sheet}` is one value, and `{handle}` a group", word.value)
        }
        None => format!("`{sheet}` takes no group `{}`", word.value),
    };
    let remedy = match theirs.groups.iter().find(same) {
        Some(other) if other.handle().value == *handle => format!("write `{handle}`"),
        Some(other) => format!("write `{} = {handle}`", other.handle().value),
        None if shared.is_empty() => format!("hand it one value of the group, such as `{}`", {
            group.inputs.first().map_or_else(String::new, |input| group.called(input))
        }),
        None => format!("hand what it takes of them: `{}`", shared.join(", ")),
    };
    wrong(source, &span, headline).remedy(remedy)
}
