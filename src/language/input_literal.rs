//! Defaults and examples of inputs: a value, and how far it may lie from what is written.

use super::expression::{Expressions, stop};
use super::scan::{Read, blanks, keyword};
use super::tree::{Expression, InputLiteral, Node, Reach, Shape, Sign, Take, Tolerance};

impl Expressions {
    /// A default or example: a word for a choice, else a value, which may have a tolerance.
    pub(super) fn default<'a>(&self, input: &'a str, take: &Take) -> Read<'a, InputLiteral> {
        if matches!(take.shape, Shape::Choice(_)) {
            let (rest, word) = self.scan.choice_word(input)?;
            let span = word.span.clone();
            let value = Some(Expression { node: Node::Name(word.value), span: word.span });
            return Ok((rest, InputLiteral { value, tolerance: None, span }));
        }
        self.given(input)
    }

    /// `350 ms`, `350 ms ± 10 ms`, `350 ms +20 ms -0 ms`, `350 ms -0 ms +20 ms`, `from 340 ms to 360 ms`
    fn given<'a>(&self, input: &'a str) -> Read<'a, InputLiteral> {
        if let Ok((rest, ())) = keyword("from")(input) {
            let (rest, low) = self.sum(rest).map_err(stop)?;
            let (rest, ()) = keyword("to")(rest).map_err(stop)?;
            let (rest, high) = self.sum(rest).map_err(stop)?;
            return Ok(self.tolerated(input, rest, None, Reach::Between(low, high)));
        }
        let number = self.cell(input).ok();
        let both = number.and_then(|(rest, value)| {
            let signs = ["±", "+-", "+−", "+/-", "+/−"];
            let after = signs.iter().find_map(|sign| rest.strip_prefix(sign))?;
            Some((blanks(after), value))
        });
        if let Some((rest, value)) = both {
            let (rest, amount) = self.cell(rest).map_err(stop)?;
            return Ok(self.tolerated(input, rest, Some(value), Reach::Around(amount)));
        }
        let (rest, value) = self.sum(input)?;
        match sides(value) {
            Ok((value, above, below)) => {
                Ok(self.tolerated(input, rest, Some(value), Reach::Sides(above, below)))
            }
            Err(value) => {
                let span = value.span.clone();
                Ok((rest, InputLiteral { value: Some(value), tolerance: None, span }))
            }
        }
    }

    fn tolerated<'a>(
        &self,
        input: &'a str,
        rest: &'a str,
        value: Option<Expression>,
        reach: Reach,
    ) -> (&'a str, InputLiteral) {
        let (rest, normal) = match keyword("normal")(rest) {
            Ok((rest, ())) => (rest, true),
            Err(_) => (rest, false),
        };
        let span = self.scan.span(input, rest);
        (rest, InputLiteral { value, tolerance: Some(Tolerance { reach, normal }), span })
    }
}

/// A value with what it may be above and below, in either order: `350 ms + 20 ms - 0 ms`, which is no sum where a
/// plain number stands.
fn sides(value: Expression) -> Result<(Expression, Expression, Expression), Expression> {
    let plain = |part: &Expression| match &part.node {
        Node::Number { .. } => true,
        Node::Negative(inner) => matches!(inner.node, Node::Number { .. }),
        _ => false,
    };
    let all_plain = match &value.node {
        Node::Binary(left, last, second) if plain(second) => {
            matches!(&left.node, Node::Binary(value, first, amount)
                if both_signs(first.value, last.value)
                    && plain(value) && plain(amount))
        }
        _ => false,
    };
    if !all_plain {
        return Err(value);
    }
    let Expression { node, span } = value;
    match node {
        Node::Binary(left, last, second) => match left.node {
            Node::Binary(value, _, first) if last.value == Sign::Minus => {
                Ok((*value, *first, *second))
            }
            Node::Binary(value, _, first) => Ok((*value, *second, *first)),
            node => {
                let left = Box::new(Expression { node, span: span.clone() });
                Err(Expression { node: Node::Binary(left, last, second), span })
            }
        },
        node => Err(Expression { node, span }),
    }
}

fn both_signs(first: Sign, last: Sign) -> bool {
    matches!((first, last), (Sign::Plus, Sign::Minus) | (Sign::Minus, Sign::Plus))
}
