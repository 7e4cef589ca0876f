//! The formulas of a sheet, and the parts that a formula is made of.

use super::tree::{Body, Expression, Node, Tree, Word};

impl Expression {
    /// Its parts, each with the name that stands for something else in it than outside.
    pub(crate) fn scoped_parts(&self) -> impl Iterator<Item = (Option<&Word>, &Self)> {
        let inner = match &self.node {
            Node::Root(search) | Node::Integral(search) => {
                Some((&search.argument, &*search.function))
            }
            Node::Running { name, body, .. } => Some((name, &**body)),
            _ => None,
        };
        self.parts().into_iter().map(move |part| {
            (inner.filter(|(_, within)| std::ptr::eq(*within, part)).map(|(name, _)| name), part)
        })
    }

    /// The expressions that it is made of, in the order in which they are written.
    pub(crate) fn parts(&self) -> Vec<&Self> {
        match &self.node {
            Node::Number { .. } | Node::Name(_) | Node::Dotted(..) | Node::Never(_) => Vec::new(),
            Node::Call(_, arguments) => arguments.iter().collect(),
            Node::Negative(part)
            | Node::Not(part)
            | Node::Is(part, _)
            | Node::Meant(part, _)
            | Node::Preferred(_, part, _) => vec![part],
            Node::Binary(a, _, b)
            | Node::Power(a, _, b)
            | Node::Compare(a, _, b)
            | Node::And(a, b)
            | Node::Or(a, b)
            | Node::Where(a, b) => vec![a, b],
            Node::Cases { cases, otherwise } => {
                let cases = cases.iter().flat_map(|(condition, result)| [condition, result]);
                cases.chain(otherwise.as_deref()).collect()
            }
            Node::Rounded(part, rounding) => vec![part, &rounding.step],
            Node::Root(search) | Node::Integral(search) => {
                vec![&search.function, &search.from, &search.to]
            }
            Node::Running { start, body, .. } => vec![start, body],
        }
    }

    /// The same, to be changed.
    fn parts_mut(&mut self) -> Vec<&mut Self> {
        match &mut self.node {
            Node::Number { .. } | Node::Name(_) | Node::Dotted(..) | Node::Never(_) => Vec::new(),
            Node::Call(_, arguments) => arguments.iter_mut().collect(),
            Node::Negative(part)
            | Node::Not(part)
            | Node::Is(part, _)
            | Node::Meant(part, _)
            | Node::Preferred(_, part, _) => vec![part],
            Node::Binary(a, _, b)
            | Node::Power(a, _, b)
            | Node::Compare(a, _, b)
            | Node::And(a, b)
            | Node::Or(a, b)
            | Node::Where(a, b) => vec![a, b],
            Node::Cases { cases, otherwise } => {
                let cases = cases.iter_mut().flat_map(|(condition, result)| [condition, result]);
                cases.chain(otherwise.as_deref_mut()).collect()
            }
            Node::Rounded(part, rounding) => vec![part, &mut rounding.step],
            Node::Root(search) | Node::Integral(search) => {
                vec![&mut search.function, &mut search.from, &mut search.to]
            }
            Node::Running { start, body, .. } => vec![start, body],
        }
    }

    /// Changes it and every part of it; the spans stay where it was written.
    pub(crate) fn change(&mut self, change: &mut dyn FnMut(&mut Node)) {
        change(&mut self.node);
        self.parts_mut().into_iter().for_each(|part| part.change(change));
    }
}

impl Tree {
    /// Every formula of it, to be changed; rows of tables are none.
    pub(crate) fn formulas_mut(&mut self) -> impl Iterator<Item = &mut Expression> {
        let uses =
            self.uses.iter_mut().flat_map(|line| line.arguments.iter_mut().chain(&mut line.but));
        let takes = self.takes.iter_mut().flat_map(|line| [&mut line.low, &mut line.high]);
        let works = self.works.iter_mut().flat_map(|line| {
            let formula = match &mut line.body {
                Body::Value(formula) | Body::Function { result: formula, .. } => Some(formula),
                Body::Table(_) => None,
            };
            let bounds = [&mut line.low, &mut line.high].into_iter().flatten();
            bounds.map(|bound| &mut bound.value).chain(formula)
        });
        let holds = self.holds.iter_mut().map(|line| &mut line.condition);
        let gives = self.gives.iter_mut().flat_map(|line| {
            let step = line.rounding.iter_mut().map(|rounding| &mut *rounding.step);
            let set =
                line.setting.iter_mut().flat_map(|it| [&mut it.step, &mut it.low, &mut it.high]);
            line.value.iter_mut().chain(step).chain(set)
        });
        uses.map(|(_, value)| value)
            .chain(takes.flatten().map(|bound| &mut bound.value))
            .chain(works)
            .chain(holds)
            .chain(gives)
    }
}
