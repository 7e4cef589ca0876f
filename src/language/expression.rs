//! Expressions: values, conditions, cases.
//!
//! From loose to tight: cases, `rounded`, `or`, `and`, `not`, comparisons and `is`, sums, products,
//! sign, power, and the single parts.

use std::cell::Cell;

use nom::branch::alt;
use nom::combinator::value;
use nom::{Err, Parser};

use super::relation::{Direction, Preferred, Relation};
use super::scan::{
    Expected, Mistake, Read, Scan, SyntaxError, blanks, expected, is_superscript, keyword,
    keywords, sign, special, superscript_value,
};
use super::tree::{Expression, Node, Rounding, Search, Sign, Span, Spanned};

/// Deepest nesting that is read; every later walk over the tree relies on it.
pub(super) const DEEPEST: usize = 20;

/// Most signs and words that join values in one entry: a long chain is a deep tree.
const LONGEST: usize = 192;

/// Reads expressions of one entry.
#[derive(Debug)]
pub(super) struct Expressions {
    pub(super) scan: Scan,
    depth: Cell<usize>,
    links: Cell<usize>,
}

impl Expressions {
    pub(super) fn new(scan: Scan) -> Self {
        Self { scan, depth: Cell::new(0), links: Cell::new(0) }
    }

    /// Anything that can stand behind `=`.
    pub(super) fn value<'a>(&self, input: &'a str) -> Read<'a, Expression> {
        if keyword("when")(input).is_ok() { self.cases(input) } else { self.rounded(input) }
    }

    fn cases<'a>(&self, input: &'a str) -> Read<'a, Expression> {
        let mut cases = Vec::new();
        let mut rest = input;
        while let Ok((after, ())) = keyword("when")(rest) {
            let (after, condition) = self.condition(after).map_err(stop)?;
            let (after, ()) = sign(":")(after).map_err(stop)?;
            let (after, result) = self.case(after).map_err(stop)?;
            cases.push((condition, result));
            rest = after;
        }
        let mut otherwise = None;
        if let Ok((after, ())) = keyword("otherwise")(rest) {
            let (after, ()) = sign(":")(after).map_err(stop)?;
            let (after, result) = self.case(after).map_err(stop)?;
            otherwise = Some(Box::new(result));
            rest = after;
        }
        Ok((rest, self.made(input, rest, Node::Cases { cases, otherwise })))
    }

    /// The value of a case, or why there is none.
    fn case<'a>(&self, input: &'a str) -> Read<'a, Expression> {
        let Ok((rest, ())) = keyword("never")(input) else { return self.rounded(input) };
        let (rest, why) = self.scan.text(rest).map_err(stop)?;
        Ok((rest, self.made(input, rest, Node::Never(why))))
    }

    /// A value with its rounding, if any.
    pub(super) fn rounded<'a>(&self, input: &'a str) -> Read<'a, Expression> {
        let (rest, inner) = self.condition(input)?;
        match self.rounding(rest, Some(input)) {
            Ok((after, rounding)) => {
                Ok((after, self.made(input, after, Node::Rounded(Box::new(inner), rounding))))
            }
            Err(Err::Error(_)) => Ok((rest, inner)),
            Err(failure) => Err(failure),
        }
    }

    /// `rounded up to 5 mm`, of the value that begins there, if it stands in a formula.
    pub(super) fn rounding<'a>(
        &self,
        input: &'a str,
        begin: Option<&'a str>,
    ) -> Read<'a, Rounding> {
        let (rest, direction) = alt((
            value(Direction::Up, keywords("rounded up to")),
            value(Direction::Down, keywords("rounded down to")),
            value(Direction::Nearest, keywords("rounded to")),
        ))
        .parse(input)?;
        let (rest, step) = self.last(rest, begin).map_err(stop)?;
        Ok((rest, Rounding { direction, step: Box::new(step) }))
    }

    /// The value that words end with, of an expression that begins there: with what is added to it or multiplied by
    /// it, nobody can tell whether that belongs to the value or to the whole, unless parentheses say so.
    fn last<'a>(&self, input: &'a str, begin: Option<&'a str>) -> Read<'a, Expression> {
        let (rest, value) = self.sum(input)?;
        let (short, _) = self.signed(input)?;
        if short.len() == rest.len() {
            return Ok((rest, value));
        }
        let until = |from: &'a str, to: &str| {
            from.get(..from.len() - to.len()).unwrap_or_default().trim_end()
        };
        let within = begin.map(|begin| format!("{} ({})", until(begin, input), until(input, rest)));
        let behind = begin.map(|begin| format!("({}) {}", until(begin, short), until(short, rest)));
        let alone = begin.is_none().then(|| format!("({})", until(input, rest)));
        let readings = behind.into_iter().chain(within).chain(alone).collect();
        special(input, Mistake::OpenEnd { behind: rest.len(), readings })
    }

    /// A condition, or a plain value.
    pub(super) fn condition<'a>(&self, input: &'a str) -> Read<'a, Expression> {
        let (mut rest, mut left) = self.conjunction(input)?;
        while let Ok((after, ())) = keyword("or")(rest) {
            self.link(rest)?;
            let (after, right) = self.conjunction(after).map_err(stop)?;
            left = self.made(input, after, Node::Or(Box::new(left), Box::new(right)));
            rest = after;
        }
        Ok((rest, left))
    }

    fn conjunction<'a>(&self, input: &'a str) -> Read<'a, Expression> {
        let (mut rest, mut left) = self.negation(input)?;
        while let Ok((after, ())) = keyword("and")(rest) {
            self.link(rest)?;
            let (after, right) = self.negation(after).map_err(stop)?;
            left = self.made(input, after, Node::And(Box::new(left), Box::new(right)));
            rest = after;
        }
        Ok((rest, left))
    }

    fn negation<'a>(&self, input: &'a str) -> Read<'a, Expression> {
        let mut times = 0_usize;
        let mut rest = input;
        while let Ok((after, ())) = keyword("not")(rest) {
            times += 1;
            rest = after;
        }
        let (rest, inner) = self.comparison(rest, times > 0)?;
        if times.is_multiple_of(2) {
            return Ok((rest, inner));
        }
        Ok((rest, self.made(input, rest, Node::Not(Box::new(inner)))))
    }

    /// `a < b`, and chains such as `a <= b < c`, read as `a <= b and b < c`; a chain goes one way.
    fn comparison<'a>(&self, input: &'a str, is_negated: bool) -> Read<'a, Expression> {
        let (mut rest, first) = self.sum(input)?;
        let between = |from: &'a str, to: &str| {
            from.get(..from.len().saturating_sub(to.len())).unwrap_or_default().trim()
        };
        let mut chain = vec![(Relation::Equal, between(input, rest))];
        if let Ok((after, ())) = keyword("is")(rest) {
            let (after, word) = self.scan.choice_word(after).map_err(stop)?;
            return Ok((after, self.made(input, after, Node::Is(Box::new(first), word))));
        }
        let mut left = first;
        let mut whole: Option<Expression> = None;
        while let Ok((after, relation)) = self.relation(rest) {
            self.link(rest)?;
            let value = after;
            let (after, right) = self.sum(value).map_err(stop)?;
            chain.push((relation.value, between(value, after)));
            let link = Node::Compare(Box::new(left), relation, Box::new(right.clone()));
            let link = self.made(input, after, link);
            whole = Some(match whole {
                None => link,
                Some(before) => {
                    self.made(input, after, Node::And(Box::new(before), Box::new(link)))
                }
            });
            left = right;
            rest = after;
        }
        if let Some(readings) = both_ways(&chain, is_negated) {
            return special(input, Mistake::BothWays { behind: rest.len(), readings });
        }
        Ok((rest, whole.unwrap_or(left)))
    }

    fn relation<'a>(&self, input: &'a str) -> Read<'a, Spanned<Relation>> {
        const SIGNS: [(&str, Relation); 9] = [
            ("<=", Relation::AtMost),
            ("≤", Relation::AtMost),
            (">=", Relation::AtLeast),
            ("≥", Relation::AtLeast),
            ("<>", Relation::Unequal),
            ("≠", Relation::Unequal),
            ("<", Relation::Below),
            (">", Relation::Above),
            ("=", Relation::Equal),
        ];
        for (text, relation) in SIGNS {
            if let Some(rest) = input.strip_prefix(text) {
                let span = self.scan.span(input, rest);
                return Ok((blanks(rest), Spanned { value: relation, span }));
            }
        }
        expected(input, "a comparison")
    }

    /// Sums and differences.
    pub(super) fn sum<'a>(&self, input: &'a str) -> Read<'a, Expression> {
        const SIGNS: [(&str, Sign); 3] =
            [("+", Sign::Plus), ("-", Sign::Minus), ("−", Sign::Minus)];
        self.chain(input, &SIGNS, Self::product)
    }

    fn product<'a>(&self, input: &'a str) -> Read<'a, Expression> {
        const SIGNS: [(&str, Sign); 5] = [
            ("*", Sign::Times),
            ("·", Sign::Times),
            ("×", Sign::Times),
            ("⋅", Sign::Times),
            ("/", Sign::Over),
        ];
        self.chain(input, &SIGNS, Self::signed)
    }

    fn chain<'a>(
        &self,
        input: &'a str,
        signs: &[(&str, Sign)],
        part: fn(&Self, &'a str) -> Read<'a, Expression>,
    ) -> Read<'a, Expression> {
        let (mut rest, mut left) = part(self, input)?;
        'next: loop {
            for (text, kind) in signs {
                let Some(after) = rest.strip_prefix(text) else { continue };
                self.link(rest)?;
                let span = self.scan.span(rest, after);
                one_sign(blanks(after))?;
                let (after, right) = part(self, blanks(after)).map_err(stop)?;
                let node =
                    Node::Binary(Box::new(left), Spanned { value: *kind, span }, Box::new(right));
                left = self.made(input, after, node);
                rest = after;
                continue 'next;
            }
            return Ok((rest, left));
        }
    }

    /// One more value is joined to those before.
    fn link<'a>(&self, input: &'a str) -> Result<(), Err<SyntaxError>> {
        self.links.set(self.links.get() + 1);
        if self.links.get() > LONGEST {
            return special(input, Mistake::TooDeep).map(|_: (&'a str, ())| ());
        }
        Ok(())
    }

    fn signed<'a>(&self, input: &'a str) -> Read<'a, Expression> {
        let Some(rest) = input.strip_prefix(['-', '−']) else { return self.power(input) };
        one_sign(blanks(rest))?;
        let (after, inner) = self.power(blanks(rest)).map_err(stop)?;
        Ok((after, self.made(input, after, Node::Negative(Box::new(inner)))))
    }

    fn power<'a>(&self, input: &'a str) -> Read<'a, Expression> {
        let (rest, base) = self.part(input)?;
        let raised = rest.trim_start_matches(is_superscript);
        if raised.len() < rest.len() {
            let digits = rest.get(..rest.len() - raised.len()).unwrap_or("");
            let span = self.scan.span(rest, raised);
            let Some(exponent) = superscript_value(digits) else {
                return special(rest, Mistake::Number(digits.to_owned()));
            };
            let number = Node::Number { digits: exponent.abs().to_string(), unit: None };
            let mut exponent_tree = Expression { node: number, span: span.clone() };
            if exponent < 0 {
                exponent_tree = Expression {
                    node: Node::Negative(Box::new(exponent_tree)),
                    span: span.clone(),
                };
            }
            let rest = blanks(raised);
            let node = Node::Power(Box::new(base), span, Box::new(exponent_tree));
            return Ok((rest, self.made(input, rest, node)));
        }
        let Some(after) = rest.strip_prefix('^') else { return Ok((rest, base)) };
        let span = self.scan.span(rest, after);
        let after = blanks(after);
        let (after, exponent) = match after.strip_prefix(['-', '−']) {
            Some(positive) => {
                let (end, inner) = self.part(blanks(positive)).map_err(stop)?;
                (end, self.made(after, end, Node::Negative(Box::new(inner))))
            }
            None => self.part(after).map_err(stop)?,
        };
        let node = Node::Power(Box::new(base), span, Box::new(exponent));
        Ok((after, self.made(input, after, node)))
    }

    fn part<'a>(&self, input: &'a str) -> Read<'a, Expression> {
        if self.depth.get() >= DEEPEST {
            return special(input, Mistake::TooDeep);
        }
        self.depth.set(self.depth.get() + 1);
        let read = self.part_inside(input);
        self.depth.set(self.depth.get() - 1);
        read
    }

    fn part_inside<'a>(&self, input: &'a str) -> Read<'a, Expression> {
        if let Some(inside) = input.strip_prefix('(') {
            let (rest, inner) = self.value(blanks(inside)).map_err(stop)?;
            let (rest, ()) = self.closing(rest, input)?;
            // the parentheses belong to the span, so that an underline shows them
            let span = self.scan.span(input, rest);
            return Ok((rest, Expression { node: inner.node, span }));
        }
        if input.starts_with(|first: char| first.is_ascii_digit() || first == '.') {
            let (rest, (digits, unit)) = self.scan.number(input)?;
            return Ok((rest, self.made(input, rest, Node::Number { digits, unit })));
        }
        for (phrase, direction) in [
            ("next above", Direction::Up),
            ("next below", Direction::Down),
            ("nearest to", Direction::Nearest),
        ] {
            if let Ok((rest, ())) = keywords(phrase)(input) {
                let (rest, inner) = self.sum(rest).map_err(stop)?;
                let (rest, ()) = keyword("in")(rest).map_err(stop)?;
                let (rest, series) = preferred(rest).map_err(stop)?;
                let node = Node::Preferred(direction, Box::new(inner), series);
                return Ok((rest, self.made(input, rest, node)));
            }
        }
        if let Ok((rest, ())) = keyword("meant")(input) {
            let (rest, number) = self.part(rest).map_err(stop)?;
            let (rest, why) = self.scan.text(rest).map_err(stop)?;
            return Ok((rest, self.made(input, rest, Node::Meant(Box::new(number), why))));
        }
        if let Ok((rest, ())) = keywords("root of")(input) {
            let (rest, search) = self.search(rest, input).map_err(stop)?;
            return Ok((rest, self.made(input, rest, Node::Root(search))));
        }
        if let Ok((rest, ())) = keywords("integral of")(input) {
            let (rest, search) = self.search(rest, input).map_err(stop)?;
            return Ok((rest, self.made(input, rest, Node::Integral(search))));
        }
        if let Ok((rest, ())) = keyword("running")(input) {
            let (rest, name) = self.scan.name(rest).map_err(stop)?;
            let (rest, ()) = keyword("from")(rest).map_err(stop)?;
            let (rest, start) = self.sum(rest).map_err(stop)?;
            let (rest, ()) = sign(":")(rest).map_err(stop)?;
            let (rest, body) = self.value(rest).map_err(stop)?;
            let node = Node::Running { name, start: Box::new(start), body: Box::new(body) };
            return Ok((rest, self.made(input, rest, node)));
        }
        self.named(input)
    }

    pub(super) fn named<'a>(&self, input: &'a str) -> Read<'a, Expression> {
        let (rest, name) = match self.scan.name(input) {
            Err(Err::Error(mut trouble)) => {
                if trouble.special.is_none() {
                    trouble.expected = Expected::one("a value");
                }
                return Err(Err::Error(trouble));
            }
            other => other?,
        };
        if let Some(after) = behind_a_point(rest) {
            let (mut rest, mut result) = self.scan.name(after).map_err(stop)?;
            let mut alias = name;
            // a line of a course
            if let Some(after) = behind_a_point(rest) {
                alias.value = format!("{}.{}", alias.value, result.value);
                alias.span.end = result.span.end;
                (rest, result) = self.scan.name(after).map_err(stop)?;
            }
            return Ok((rest, self.made(input, rest, Node::Dotted(alias, result))));
        }
        let Some(inside) = rest.strip_prefix('(') else {
            let value = name.value;
            return Ok((rest, Expression { node: Node::Name(value), span: name.span }));
        };
        let mut arguments = Vec::new();
        let mut left = blanks(inside);
        loop {
            let (after, argument) = self.value(left).map_err(stop)?;
            let (after, argument) = match keyword("where")(after) {
                Ok((next, ())) => {
                    let (after, condition) = self.value(next).map_err(stop)?;
                    let node = Node::Where(Box::new(argument), Box::new(condition));
                    (after, self.made(left, after, node))
                }
                Err(_) => (after, argument),
            };
            let is_number = matches!(argument.node, Node::Number { unit: None, .. });
            let digit_behind = after
                .strip_prefix(',')
                .is_some_and(|it| it.starts_with(|it: char| it.is_ascii_digit()));
            // `0,5` may be one number: two have a blank behind the comma
            if is_number && digit_behind {
                return special(after, Mistake::Comma);
            }
            arguments.push(argument);
            match sign(",")(after) {
                Ok((next, ())) => left = next,
                Err(_) => {
                    let (rest, ()) = self.closing(after, rest)?;
                    return Ok((rest, self.made(input, rest, Node::Call(name, arguments))));
                }
            }
        }
    }

    fn search<'a>(&self, input: &'a str, begin: &'a str) -> Read<'a, Search> {
        let (rest, function) = self.sum(input)?;
        let (rest, ()) = keyword("for")(rest)?;
        let (rest, argument) = self.scan.name(rest)?;
        let (rest, ()) = keyword("from")(rest)?;
        let (rest, from) = self.sum(rest)?;
        let (rest, ()) = keyword("to")(rest)?;
        let (rest, to) = self.last(rest, Some(begin))?;
        let search = Search {
            function: Box::new(function),
            argument,
            from: Box::new(from),
            to: Box::new(to),
        };
        Ok((rest, search))
    }

    fn closing<'a>(&self, input: &'a str, opening: &'a str) -> Read<'a, ()> {
        match sign(")")(input) {
            Ok(read) => Ok(read),
            Err(_) if input.is_empty() => special(input, Mistake::Unclosed(opening.len())),
            Err(_) => {
                let mut expected = Expected::one("an operator");
                expected.push("`)`");
                Err(Err::Failure(SyntaxError { left: input.len(), expected, special: None }))
            }
        }
    }

    fn made(&self, from: &str, to: &str, node: Node) -> Expression {
        let span: Span = self.scan.span(from, to);
        Expression { node, span }
    }
}

/// What a chain of comparisons may mean that does not go one way: the same values one way, as most of its signs go, and
/// each comparison by itself. Each value stands behind its relation to the one before; that of the first is not read.
fn both_ways(chain: &[(Relation, &str)], is_negated: bool) -> Option<Vec<String>> {
    let (_, first) = chain.first()?;
    let links: Vec<[&(Relation, &str); 2]> =
        chain.iter().zip(chain.iter().skip(1)).map(|(a, b)| [a, b]).collect();
    let way = |relation| match relation {
        Relation::Below | Relation::AtMost => 1,
        Relation::Above | Relation::AtLeast => -1,
        Relation::Equal | Relation::Unequal => 0,
    };
    let ways = || links.iter().map(|[_, (relation, _)]| way(*relation)).filter(|it| *it != 0);
    let differs = links.iter().any(|[_, (relation, _)]| *relation == Relation::Unequal);
    let turns = ways().any(|it| Some(it) != ways().next());
    if links.len() < 2 || !(turns || differs) {
        return None;
    }
    let most = match ways().sum::<i32>() {
        0 => ways().next().unwrap_or_default(),
        sum => sum.signum(),
    };
    let one_way = links.iter().fold((*first).to_owned(), |before, [_, (relation, value)]| {
        let relation = if way(*relation) == -most { relation.turned() } else { *relation };
        format!("{before} {} {value}", relation.sign())
    });
    let each = links.iter().map(|[(_, a), (relation, b)]| format!("{a} {} {b}", relation.sign()));
    let each = each.collect::<Vec<_>>().join(" and ");
    let each = if is_negated { format!("({each})") } else { each };
    Some(Some(one_way).filter(|_| !differs).into_iter().chain([each]).collect())
}

/// A sign stands before a value, not before another sign: `a * -b` is a slip as often as it is meant (ISO 80000-2 writes
/// parentheses).
fn one_sign(input: &str) -> Result<(), Err<SyntaxError>> {
    match input.starts_with(['-', '−', '+']) {
        true => special(input, Mistake::TwoSigns).map(|_: (&str, ())| ()),
        false => Ok(()),
    }
}

/// Once a part has begun in a way that only it can begin, its trouble is the entry's.
pub(super) fn stop(trouble: Err<SyntaxError>) -> Err<SyntaxError> {
    match trouble {
        Err::Error(inside) => Err::Failure(inside),
        other => other,
    }
}

fn preferred(input: &str) -> Read<'_, Preferred> {
    for series in Preferred::ALL {
        if let Ok((rest, ())) = keyword(series.name())(input) {
            return Ok((rest, *series));
        }
    }
    expected(input, Preferred::EXPECTED)
}

/// What follows a point that stands straight before it.
fn behind_a_point(rest: &str) -> Option<&str> {
    rest.strip_prefix('.').filter(|after| !after.starts_with(char::is_whitespace))
}
