//! The entries of each block.

use nom::branch::alt;
use nom::combinator::value;
use nom::{Err, Parser};

use super::expression::{Expressions, stop};
use super::relation::Between;
use super::scan::{
    Expected, Mistake, Read, SyntaxError, blanks, expected, keyword, keywords, sign, special,
};
use super::tree::{
    Body, Bound, Check, Definition, Expression, Give, InputLiteral, Node, Outside, Setting, Shape,
    Span, Spanned, TableTree, Take, Word,
};

/// A line of the header.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Header {
    Sheet(Word),
    Group(Word),
    Title(Word),
    Source(Word),
    Caution(Word),
    Version(Word),
    Date(Word),
    Words(Word),
}

impl Expressions {
    /// `sheet name`, `title "…"`, `words "…"`, `version "…"`, `date "…"`, `source "…"`, `caution "…"`
    pub(super) fn header<'a>(&self, input: &'a str) -> Read<'a, Header> {
        if let Ok((rest, ())) = keyword("sheet")(input) {
            let (rest, name) = self.scan.sheet_name(rest).map_err(stop)?;
            return Ok((rest, Header::Sheet(name)));
        }
        if let Ok((rest, ())) = keyword("group")(input) {
            let (rest, name) = self.scan.name(rest).map_err(stop)?;
            return Ok((rest, Header::Group(name)));
        }
        for word in ["title", "words", "version", "date", "source", "caution"] {
            if let Ok((rest, ())) = keyword(word)(input) {
                let (rest, text) = self.scan.text(rest).map_err(stop)?;
                let line = match word {
                    "title" => Header::Title(text),
                    "version" => Header::Version(text),
                    "date" => Header::Date(text),
                    "words" => Header::Words(text),
                    "source" => Header::Source(text),
                    _ => Header::Caution(text),
                };
                return Ok((rest, line));
            }
        }
        expected(
            input,
            "`sheet`, `title`, `words`, `source`, `caution` or one of the blocks uses, takes, works, holds, gives",
        )
    }

    /// `name : kind in unit = default from … to … like … "note"`; the clauses in any order.
    pub(super) fn takes<'a>(&self, input: &'a str, span: Span) -> Read<'a, Take> {
        let (rest, name) = self.scan.name(input)?;
        let (rest, ()) = sign(":")(rest)?;
        let (mut rest, shape) = self.shape(rest)?;
        let mut take = Take {
            name,
            shape,
            unit: None,
            default: None,
            example: Vec::new(),
            low: None,
            high: None,
            at_least: None,
            note: String::new(),
            heading: String::new(),
            from: None,
            span,
        };
        while !rest.is_empty() {
            rest = self.clause(rest, &mut take)?.0;
        }
        Ok((rest, take))
    }

    fn shape<'a>(&self, input: &'a str) -> Read<'a, Shape> {
        if let Ok((rest, ())) = keywords("one of")(input) {
            let mut words = Vec::new();
            let mut rest = rest;
            loop {
                let (after, word) = self.scan.choice_word(rest).map_err(stop)?;
                let is_new = words.iter().all(|known: &Word| known.value != word.value);
                once(rest, is_new, "equal word")?;
                words.push(word);
                match sign(",")(after) {
                    Ok((next, ())) => rest = next,
                    Err(_) => return Ok((after, Shape::Choice(words))),
                }
            }
        }
        if let Ok((rest, ())) = keywords("series of")(input) {
            let (rest, kind) = self.kind(rest).map_err(stop)?;
            return Ok((rest, Shape::Series(kind)));
        }
        let (rest, kind) = self.kind(input)?;
        Ok((rest, Shape::Kind(kind)))
    }

    /// One bound of a range, and what is left behind it; none where no bound stands here.
    fn bound<'a>(
        &self,
        input: &'a str,
        low: &mut Option<Bound>,
        high: &mut Option<Bound>,
    ) -> Result<Option<&'a str>, Err<SyntaxError>> {
        for (word, is_low, included) in [
            ("from", true, true),
            ("above", true, false),
            ("to", false, true),
            ("below", false, false),
        ] {
            if let Ok((rest, ())) = keyword(word)(input) {
                let (bound, what) =
                    if is_low { (low, "lower bound") } else { (high, "upper bound") };
                once(input, bound.is_none(), what)?;
                let (rest, value) = self.sum(rest).map_err(stop)?;
                *bound = Some(Bound { value, included });
                return Ok(Some(rest));
            }
        }
        Ok(None)
    }

    /// The words up to a clause: kinds are of several words, and some hold `of`.
    fn kind<'a>(&self, input: &'a str) -> Read<'a, Word> {
        let mut rest = input;
        let mut end = input;
        let mut words: Vec<&str> = Vec::new();
        loop {
            let length = rest
                .find(|sign: char| !(sign.is_alphanumeric() || sign == '-' || sign == '_'))
                .unwrap_or(rest.len());
            let (Some(word), Some(after)) = (rest.get(..length), rest.get(length..)) else { break };
            let ends = ["in", "from", "to", "above", "below", "like", "at", "straight", "stepped"];
            if word.is_empty() || ends.contains(&word) {
                break;
            }
            words.push(word);
            end = after;
            rest = blanks(after);
        }
        if words.is_empty() {
            return expected(input, "a kind of quantity, such as `time` or `speed of rotation`");
        }
        Ok((rest, Spanned { value: words.join(" "), span: self.scan.span(input, end) }))
    }

    fn clause<'a>(&self, input: &'a str, take: &mut Take) -> Read<'a, ()> {
        if let Ok((rest, ())) = keyword("in")(input) {
            once(input, take.unit.is_none(), "unit")?;
            let (rest, unit) = self.scan.unit(rest).map_err(stop)?;
            take.unit = Some(unit);
            return Ok((rest, ()));
        }
        if let Ok((rest, ())) = sign("=")(input) {
            once(input, take.default.is_none(), "default")?;
            let (rest, default) = self.default(rest, take).map_err(stop)?;
            take.default = Some(default);
            return Ok((rest, ()));
        }
        if let Ok((rest, ())) = keyword("like")(input) {
            once(input, take.example.is_empty(), "example")?;
            let (rest, examples) = self.examples(rest, take)?;
            take.example = examples;
            return Ok((rest, ()));
        }
        if let Some(rest) = self.bound(input, &mut take.low, &mut take.high)? {
            return Ok((rest, ()));
        }
        if let Ok((rest, ())) = keywords("at least")(input.strip_prefix(',').map_or(input, blanks))
        {
            once(input, take.at_least.is_none(), "least number of values")?;
            if !matches!(take.shape, Shape::Series(_)) {
                return special(input, Mistake::NoSeries);
            }
            let (after, (digits, unit)) = self.scan.number(rest).map_err(stop)?;
            let Ok(count) = digits.parse() else {
                return expected(rest, "a whole number").map_err(stop);
            };
            if let Some(unit) = unit {
                let left = self.scan.end - unit.span.start;
                let expected = Expected::one("a number of values, without a unit,");
                return Err(Err::Failure(SyntaxError { left, expected, special: None }));
            }
            take.at_least = Some(Spanned { value: count, span: self.scan.span(rest, after) });
            return Ok((after, ()));
        }
        if input.starts_with('"') {
            once(input, take.note.is_empty(), "note")?;
            let (rest, note) = self.scan.text(input)?;
            take.note = note.value;
            return Ok((rest, ()));
        }
        expected(input, "`in`, `=`, `from`, `to`, `above`, `below`, `like`, `at least` or a note")
            .map_err(stop)
    }

    /// One example, of a series several with commas between.
    fn examples<'a>(&self, input: &'a str, take: &Take) -> Read<'a, Vec<InputLiteral>> {
        let mut examples = Vec::new();
        let mut rest = input;
        loop {
            let (after, example) = self.default(rest, take).map_err(stop)?;
            examples.push(example);
            let next = match sign(",")(after) {
                Ok((next, ())) if keyword("at")(next).is_err() => next,
                _ => return Ok((after, examples)),
            };
            let read = input.get(..input.len() - after.len()).unwrap_or_default();
            let digit = |it: char| it.is_ascii_digit();
            let points = |text: &str| text.trim_end_matches(digit).ends_with('.');
            let number = next.trim_start_matches(digit);
            if read.ends_with(digit)
                && after.get(1..).is_some_and(|it| it.starts_with(digit))
                && !(points(read) && number.starts_with('.'))
            {
                return special(after, Mistake::Comma);
            }
            if !matches!(take.shape, Shape::Series(_)) {
                let first = examples.first().map(|it| it.span.clone()).unwrap_or_default();
                return special(after, Mistake::OneValue(first));
            }
            rest = next;
        }
    }

    /// `name = …`, `name : kind = …`, `f(x) = …`, `table …`
    pub(super) fn works<'a>(&self, input: &'a str, span: Span) -> Read<'a, Definition> {
        if let Ok((rest, ())) = keyword("table")(input) {
            return self.table(rest, span).map_err(stop);
        }
        if let Ok((rest, ())) = keyword("next")(input) {
            let (rest, name) = self.scan.name(rest).map_err(stop)?;
            let (rest, ()) = sign("=")(rest).map_err(stop)?;
            let (rest, value) = self.value(rest)?;
            let (rest, note) = self.note(rest)?;
            let line = Definition::plain(name, Body::Value(value), note, span);
            return Ok((rest, Definition { is_next: true, ..line }));
        }
        let (rest, name) = self.scan.name(input)?;
        if let Some(inside) = rest.strip_prefix('(') {
            let mut parameters = Vec::new();
            let mut left = blanks(inside);
            loop {
                let (after, parameter) = self.scan.name(left)?;
                let is_new = parameters.iter().all(|it: &Word| it.value != parameter.value);
                once(left, is_new, "equal parameter")?;
                parameters.push(parameter);
                match sign(",")(after) {
                    Ok((next, ())) => left = next,
                    Err(_) => {
                        left = sign(")")(after)?.0;
                        break;
                    }
                }
            }
            let (rest, ()) = sign("=")(left)?;
            let (rest, result) = self.value(rest)?;
            let (rest, note) = self.note(rest)?;
            let body = Body::Function { parameters, result };
            return Ok((rest, Definition::plain(name, body, note, span)));
        }
        let (mut kind, mut unit, mut low, mut high) = (None, None, None, None);
        let mut rest = rest;
        if let Ok((after, ())) = sign(":")(rest) {
            let (after, found) = self.kind(after)?;
            kind = Some(found);
            (rest, unit) = self.unit_clause(after)?;
            while let Some(after) = self.bound(rest, &mut low, &mut high)? {
                rest = after;
            }
        }
        let more = if kind.is_some() { "a range" } else { "`:` with a kind" };
        let (rest, ()) = sign("=")(rest).map_err(|trouble| also(trouble, more))?;
        let (rest, result) = self.value(rest)?;
        let (rest, note) = self.note(rest)?;
        Ok((
            rest,
            Definition {
                kind,
                unit,
                low,
                high,
                ..Definition::plain(name, Body::Value(result), note, span)
            },
        ))
    }

    fn table<'a>(&self, input: &'a str, span: Span) -> Read<'a, Definition> {
        let (rest, name) = self.scan.name(input)?;
        let (rest, ()) = sign("(")(rest)?;
        let (rest, argument) = self.scan.name(rest)?;
        let (rest, ()) = sign(":")(rest)?;
        let (rest, argument_kind) = self.kind(rest)?;
        let (rest, argument_unit) = self.unit_clause(rest)?;
        let (rest, lowest) = match keyword("above")(rest) {
            Ok((rest, ())) => {
                let (rest, bound) = self.sum(rest)?;
                (rest, Some(bound))
            }
            Err(_) => (rest, None),
        };
        let (rest, ()) = sign(")")(rest)?;
        let (rest, ()) = sign(":")(rest)?;
        let (rest, value_kind) = self.kind(rest)?;
        let (rest, value_unit) = self.unit_clause(rest)?;
        let (rest, ()) = sign(",")(rest)?;
        let manner = rest;
        let (rest, between) = alt((
            value(Between::Straight, keyword("straight")),
            value(Between::StepFrom, keywords("stepped from")),
            value(Between::StepUpTo, keywords("stepped up to")),
        ))
        .parse(rest)?;
        let between = Spanned { value: between, span: self.scan.span(manner, rest) };
        let (mut rest, outside) = match sign(",")(rest) {
            Ok((rest, ())) => {
                let (rest, ()) = keyword("in")(rest)?;
                let (rest, file) = self.scan.text(rest)?;
                let (rest, range) = match keyword("at")(rest) {
                    Ok((rest, ())) => {
                        let length = rest.find(['"', '#', '\n']).unwrap_or(rest.len());
                        let text = rest.get(..length).unwrap_or(rest).trim_end();
                        let after = rest.get(text.len()..).unwrap_or("");
                        let range =
                            Spanned { value: text.to_owned(), span: self.scan.span(rest, after) };
                        (blanks(after), Some(range))
                    }
                    Err(_) => (rest, None),
                };
                (rest, Some(Outside { file, range }))
            }
            Err(_) => (rest, None),
        };
        let mut note = String::new();
        if rest.starts_with('"') {
            let (after, text) = self.scan.text(rest)?;
            note = text.value;
            rest = after;
        }
        let mut rows = Vec::new();
        while !rest.is_empty() && outside.is_none() {
            let (after, left) = self.cell(rest)?;
            let (after, right) = self.cell(after)?;
            rows.push((left, right));
            rest = after;
        }
        let table = TableTree {
            argument: (argument, argument_kind, argument_unit),
            value: (value_kind, value_unit),
            between,
            lowest,
            rows,
            outside,
        };
        Ok((rest, Definition::plain(name, Body::Table(Box::new(table)), note, span)))
    }

    /// A number of a table: sign, digits, unit if it is not the column's.
    pub(super) fn cell<'a>(&self, input: &'a str) -> Read<'a, Expression> {
        let (after_sign, negative) = match input.strip_prefix(crate::unit::is_dash) {
            Some(rest) => (rest, true),
            None => (input, false),
        };
        let (rest, (digits, unit)) = self
            .scan
            .number(after_sign)
            .map_err(|trouble| also(trouble, "a row of two numbers"))?;
        let number = Expression {
            node: Node::Number { digits, unit },
            span: self.scan.span(after_sign, rest),
        };
        if negative {
            let span = self.scan.span(input, rest);
            return Ok((rest, Expression { node: Node::Negative(Box::new(number)), span }));
        }
        Ok((rest, number))
    }

    fn unit_clause<'a>(&self, input: &'a str) -> Read<'a, Option<Word>> {
        match keyword("in")(input) {
            Ok((rest, ())) => {
                let (rest, unit) = self.scan.unit(rest).map_err(stop)?;
                Ok((rest, Some(unit)))
            }
            Err(_) => Ok((input, None)),
        }
    }

    /// `condition "words" else "remedy"`, `… else caution "remedy"`
    pub(super) fn holds<'a>(&self, input: &'a str, span: Span) -> Read<'a, Check> {
        let (rest, condition) = self.condition(input)?;
        let (rest, text) = self.note(rest)?;
        let mut check = Check { condition, text, otherwise: String::new(), caution: false, span };
        let Ok((mut rest, ())) = keyword("else")(rest) else { return Ok((rest, check)) };
        if let Ok((after, ())) = keyword("caution")(rest) {
            check.caution = true;
            rest = after;
            check.otherwise = String::new();
        }
        if rest.starts_with('"') || !check.caution {
            let (after, otherwise) = self.scan.text(rest)?;
            check.otherwise = otherwise.value;
            rest = after;
        }
        Ok((rest, check))
    }

    /// Results, separated by commas.
    pub(super) fn gives<'a>(&self, input: &'a str) -> Read<'a, Vec<Give>> {
        let mut results = Vec::new();
        let mut rest = input;
        loop {
            let start = rest;
            let (after, (name, unit, value)) = self.result_named(rest)?;
            let (after, rounding) = match self.rounding(after, None) {
                Ok((after, rounding)) => (after, Some(rounding)),
                Err(Err::Error(_)) => (after, None),
                Err(failure) => return Err(failure),
            };
            let (after, setting) = self.setting(after)?;
            let (after, note) = self.note(after)?;
            let span = self.scan.span(start, after);
            results.push(Give { name, value, unit, rounding, setting, note, span });
            match sign(",")(after) {
                Ok((next, ())) if !next.is_empty() => rest = next,
                Ok((next, ())) => return Ok((next, results)),
                Err(_) => return Ok((after, results)),
            }
        }
    }

    /// `name in unit`, `name in unit as other`, `alias.result in unit as other`
    fn result_named<'a>(
        &self,
        input: &'a str,
    ) -> Read<'a, (Word, Option<Word>, Option<Expression>)> {
        let (rest, word) = self.scan.name(input)?;
        let dotted = rest.starts_with('.');
        let (rest, value) = match dotted {
            true => self.named(input)?,
            false => {
                let node = Node::Name(word.value.clone());
                (rest, Expression { node, span: word.span.clone() })
            }
        };
        let (rest, unit) = self.unit_clause(rest)?;
        match keyword("as")(rest) {
            Ok((rest, ())) => {
                let (rest, name) = self.scan.name(rest).map_err(stop)?;
                Ok((rest, (name, unit, Some(value))))
            }
            Err(_) if dotted => expected(
                rest,
                "the name of this result: `in` and its unit, if it has one, then `as name`",
            )
            .map_err(stop),
            Err(_) => Ok((rest, (word, unit, None))),
        }
    }

    /// `, set in steps of STEP from LOW to HIGH`
    fn setting<'a>(&self, input: &'a str) -> Read<'a, Option<Setting>> {
        let begin = input.strip_prefix(',').map_or(input, blanks);
        let Ok((rest, ())) = keywords("set in steps of")(begin) else { return Ok((input, None)) };
        let (rest, step) = self.sum(rest).map_err(stop)?;
        let (rest, ()) = keyword("from")(rest).map_err(stop)?;
        let (rest, low) = self.sum(rest).map_err(stop)?;
        let (rest, ()) = keyword("to")(rest).map_err(stop)?;
        let (rest, high) = self.sum(rest).map_err(stop)?;
        Ok((rest, Some(Setting { step, low, high })))
    }

    fn note<'a>(&self, input: &'a str) -> Read<'a, String> {
        if !input.starts_with('"') {
            return Ok((input, String::new()));
        }
        let (rest, text) = self.scan.text(input)?;
        Ok((rest, text.value))
    }
}

/// A mistake where a line says something a second time: the reader could not know which one counts.
fn once(input: &str, first: bool, what: &'static str) -> Result<(), Err<SyntaxError>> {
    match first {
        true => Ok(()),
        false => special(input, Mistake::Twice(what)).map(|_: (&str, ())| ()),
    }
}

fn also(trouble: Err<SyntaxError>, what: &'static str) -> Err<SyntaxError> {
    trouble.map(|mut inside| {
        inside.expected.push(what);
        inside
    })
}
