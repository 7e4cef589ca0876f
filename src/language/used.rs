//! What is used, and what is taken together: lines of `uses`, and groups.

use super::expression::{Expressions, stop};
use super::scan::{Read, keyword, keywords, sign};
use super::tree::{Course, Expression, Group, Node, Span, Use, Whose, Word};
use super::words::is_reserved;

impl Expressions {
    /// `alias = sheet with input = value, …`
    pub(super) fn uses<'a>(&self, input: &'a str, span: Span) -> Read<'a, Use> {
        let (rest, alias) = self.scan.name(input)?;
        let (rest, ()) = sign("=")(rest)?;
        let (rest, whose) = whose(rest);
        let (mut rest, sheet) = self.scan.sheet_name(rest)?;
        let mut arguments = Vec::new();
        let mut but = Vec::new();
        if let Ok((after, ())) = keyword("with")(rest) {
            (rest, arguments) = self.arguments(after)?;
            if let Ok((after, ())) = keyword("but")(rest) {
                (rest, but) = self.arguments(after)?;
            }
        }
        Ok((rest, Use { alias, whose, sheet, arguments, but, standing: None, span }))
    }

    /// `slow = course of turning from n = n_0`, without its lines; nothing where the line is none.
    pub(super) fn course<'a>(&self, input: &'a str, span: Span) -> Option<Read<'a, Course>> {
        let (rest, alias) = self.scan.name(input).ok()?;
        let (rest, ()) = sign("=")(rest).ok()?;
        let (rest, ()) = keywords("course of")(rest).ok()?;
        let (rest, whose) = whose(rest);
        let read = self.scan.name(rest).map_err(stop).and_then(|(rest, state)| {
            let (rest, from) = match keyword("from")(rest) {
                Ok((rest, ())) => self.arguments(rest)?,
                Err(_) => (rest, Vec::new()),
            };
            let (lines, values) = (Vec::new(), Vec::new());
            Ok((rest, Course { alias, whose, state, from, lines, at: 0, span, values }))
        });
        Some(read)
    }

    /// `group shaft`, `left : group shaft`, `state turning`; nothing where the line is none of them.
    pub(super) fn group<'a>(&self, input: &'a str, span: Span) -> Option<Read<'a, Group>> {
        let is_state = keyword("state")(input).is_ok();
        let (rest, alias) = match keyword("group")(input).or_else(|_| keyword("state")(input)) {
            Ok((rest, ())) if !rest.starts_with(':') => (rest, None),
            _ => {
                let (rest, alias) = self.scan.name(input).ok()?;
                let (rest, ()) = sign(":")(rest).ok()?;
                let (rest, ()) = keyword("group")(rest).ok()?;
                (rest, Some(alias))
            }
        };
        let (rest, whose) = whose(rest);
        let is_state = is_state && alias.is_none();
        // it is handed on by its name, as a value is
        let group = |name| Group {
            is_state,
            alias,
            whose,
            name,
            at: 0,
            span,
            inputs: Vec::new(),
            source: None,
        };
        Some(self.scan.name(rest).map_err(stop).map(|(rest, name)| (rest, group(name))))
    }

    /// `input = value, input, …`
    fn arguments<'a>(&self, mut rest: &'a str) -> Read<'a, Vec<(Word, Expression)>> {
        let mut arguments = Vec::new();
        loop {
            let (after, name) = self.scan.name(rest)?;
            let (after, argument) = match sign("=")(after) {
                Ok((after, ())) => match self.choice_alone(after) {
                    Some(read) => read,
                    None => self.rounded(after)?,
                },
                Err(_) => {
                    let itself = Node::Name(name.value.clone());
                    (after, Expression { node: itself, span: name.span.clone() })
                }
            };
            arguments.push((name, argument));
            match sign(",")(after) {
                // a comma at the end of the last line is no mistake
                Ok((next, ())) if !next.is_empty() => rest = next,
                Ok((next, ())) => return Ok((next, arguments)),
                Err(_) => return Ok((after, arguments)),
            }
        }
    }

    /// A word of the language that stands alone as an argument can only be the word of a choice.
    fn choice_alone<'a>(&self, input: &'a str) -> Option<(&'a str, Expression)> {
        let (rest, word) = self.scan.choice_word(input).ok()?;
        let alone = rest.is_empty() || rest.starts_with(',');
        (alone && is_reserved(&word.value))
            .then_some((rest, Expression { node: Node::Name(word.value), span: word.span }))
    }
}

/// `own`, `library`, before the name of a sheet or a group
fn whose(input: &str) -> (&str, Whose) {
    let said = [("own", Whose::Own), ("library", Whose::Library)].into_iter();
    // a sheet may itself be called `own`
    let mut said = said.filter_map(|(word, whose)| {
        let (rest, ()) = keyword(word)(input).ok()?;
        (!rest.is_empty() && keyword("with")(rest).is_err()).then_some((rest, whose))
    });
    said.next().unwrap_or((input, Whose::Any))
}
