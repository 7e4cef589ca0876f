//! Words, numbers, units and texts: the smallest parts of a line.

use std::ops::Range;

use nom::branch::alt;
use nom::bytes::complete::{tag, take_while, take_while1};
use nom::character::complete::{char, digit1, one_of};
use nom::combinator::{opt, recognize};
use nom::error::{ErrorKind, ParseError};
use nom::multi::many0;
use nom::{Err, IResult, Parser};

use super::tree::{Spanned, Word};
use super::words;
use crate::unit::has_leading_zero;

/// Where reading stopped and what would have been read on.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct SyntaxError {
    /// Bytes left of the entry: the fewer, the further the reading came.
    pub(super) left: usize,
    pub(super) expected: Expected,
    pub(super) special: Option<Mistake>,
}

/// What would have been read on. The first stands by itself: nearly every trouble is that of a word
/// tried in passing, and is dropped at once.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Expected {
    first: Option<&'static str>,
    others: Vec<&'static str>,
}

impl Expected {
    pub(super) fn one(what: &'static str) -> Self {
        Self { first: Some(what), others: Vec::new() }
    }

    pub(super) fn push(&mut self, what: &'static str) {
        match self.first {
            None => self.first = Some(what),
            Some(_) => self.others.push(what),
        }
    }

    /// All of them in order, without neighbours that say the same.
    pub(super) fn words(&self) -> Vec<&'static str> {
        let mut words: Vec<_> = self.first.iter().chain(&self.others).copied().collect();
        words.dedup();
        words
    }
}

/// A mistake that deserves words of its own.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Mistake {
    /// A parenthesis is never closed; bytes left at its opening.
    Unclosed(usize),
    /// `5mm`: no blank between number and unit.
    NoBlank { number: String, unit: String },
    /// Nested too deep.
    TooDeep,
    /// A word of the language stands where a name is needed.
    Reserved(String),
    /// A line says something a second time, such as a default.
    Twice(&'static str),
    /// `0166`: a zero before the first digit of a number.
    LeadingZero(String),
    /// `a * -b`: two signs in a row.
    TwoSigns,
    /// `a <= b >= c`: a chain of comparisons that does not go one way; bytes left behind it, and what may be meant.
    BothWays { behind: usize, readings: Vec<String> },
    /// `x rounded up to 10 mm + c`: it is open what the end of the words takes; bytes left behind it, and what may be
    /// meant.
    OpenEnd { behind: usize, readings: Vec<String> },
    /// A text that is not closed.
    OpenText,
    /// `1,5`: a comma between two digits.
    Comma,
    /// More than one example of what is no series; where the first stands.
    OneValue(Range<usize>),
    /// `at least 3` of what is no series.
    NoSeries,
    /// More digits than can be kept exactly, or something else that is no number.
    Number(String),
}

impl ParseError<&str> for SyntaxError {
    fn from_error_kind(input: &str, _: ErrorKind) -> Self {
        Self { left: input.len(), expected: Expected::default(), special: None }
    }

    fn append(_: &str, _: ErrorKind, other: Self) -> Self {
        other
    }

    fn or(mut self, other: Self) -> Self {
        match (self.left.cmp(&other.left), self.special.is_some(), other.special.is_some()) {
            (std::cmp::Ordering::Less, ..) | (std::cmp::Ordering::Equal, true, _) => self,
            (std::cmp::Ordering::Greater, ..) | (std::cmp::Ordering::Equal, false, true) => other,
            (std::cmp::Ordering::Equal, false, false) => {
                for what in other.expected.first.into_iter().chain(other.expected.others) {
                    self.expected.push(what);
                }
                self
            }
        }
    }
}

/// What a reader of a part returns.
pub(super) type Read<'a, T> = IResult<&'a str, T, SyntaxError>;

/// A mistake here, with what would have been read on.
pub(super) fn expected<'a, T>(input: &'a str, what: &'static str) -> Read<'a, T> {
    Err(Err::Error(SyntaxError { left: input.len(), expected: Expected::one(what), special: None }))
}

/// A mistake here that ends the reading of the entry.
pub(super) fn special<'a, T>(input: &'a str, special: Mistake) -> Read<'a, T> {
    Err(Err::Failure(SyntaxError {
        left: input.len(),
        expected: Expected::default(),
        special: Some(special),
    }))
}

/// Whether a word can be the name of a sheet.
pub(crate) fn is_sheet_name(word: &str) -> bool {
    let scan = Scan { end: word.len() };
    scan.sheet_name(word).is_ok_and(|(rest, found)| rest.is_empty() && found.value == word)
}

/// Reads one entry; knows where in the text of the sheet the entry ends.
#[derive(Clone, Copy, Debug)]
pub(super) struct Scan {
    pub(super) end: usize,
}

impl Scan {
    /// Offset in the sheet's text of what is left to read.
    pub(super) fn at(self, input: &str) -> usize {
        self.end.saturating_sub(input.len())
    }

    /// From one point to another, without the blanks at the end.
    pub(super) fn span(self, from: &str, to: &str) -> Range<usize> {
        let read = from.len().saturating_sub(to.len());
        let text = from.get(..read).unwrap_or(from);
        let start = self.at(from);
        start..start + text.trim_end().len()
    }

    fn spanned(self, input: &str, value: &str) -> Word {
        let start = self.at(input);
        Spanned { value: value.to_owned(), span: start..start + value.len() }
    }

    /// A name that is no word of the language.
    pub(super) fn name<'a>(self, input: &'a str) -> Read<'a, Word> {
        let (rest, word) = any_word(input)?;
        if words::is_reserved(word) {
            return Err(Err::Error(SyntaxError {
                left: input.len(),
                expected: Expected::one("a name"),
                special: Some(Mistake::Reserved(word.to_owned())),
            }));
        }
        let found = self.spanned(input, word);
        Ok((blanks(rest), found))
    }

    /// The name of a sheet: words joined by hyphens.
    pub(super) fn sheet_name<'a>(self, input: &'a str) -> Read<'a, Word> {
        match recognize((any_word, many0((char('-'), part)))).parse(input) {
            Ok((rest, word)) => Ok((blanks(rest), self.spanned(input, word))),
            Err(Err::Failure(trouble)) => Err(Err::Failure(trouble)),
            Err(_) => expected(input, "the name of a sheet"),
        }
    }

    /// One of the words of a choice; digits may begin it.
    pub(super) fn choice_word<'a>(self, input: &'a str) -> Read<'a, Word> {
        match recognize((part, many0((one_of("-."), part)))).parse(input) {
            Ok((rest, word)) => Ok((blanks(rest), self.spanned(input, word))),
            Err(Err::Failure(trouble)) => Err(Err::Failure(trouble)),
            Err(_) => expected(input, "a word"),
        }
    }

    /// A text in quotes.
    pub(super) fn text<'a>(self, input: &'a str) -> Read<'a, Word> {
        let Ok((inside, _)) = char::<_, SyntaxError>('"').parse(input) else {
            return expected(input, "a text in quotes");
        };
        let Some(length) = inside.find(['"', '\n']) else {
            return special(input, Mistake::OpenText);
        };
        let text = inside.get(..length).unwrap_or(inside);
        match inside.get(length..).and_then(|rest| rest.strip_prefix('"')) {
            Some(rest) => {
                let start = self.at(input);
                let word = Spanned { value: text.to_owned(), span: start..start + text.len() + 2 };
                Ok((blanks(rest), word))
            }
            None => special(input, Mistake::OpenText),
        }
    }

    /// A number as written, and the unit straight after it.
    pub(super) fn number<'a>(self, input: &'a str) -> Read<'a, (String, Option<Word>)> {
        let (rest, digits) = digits(input)?;
        // 95 % and 30 ° may stand without the blank, all other units may not
        if rest.starts_with(['%', '‰', '°']) && !rest.starts_with("°C") && !rest.starts_with("°F")
        {
            let (after, sign) = unit_token(rest)?;
            return Ok((blanks(after), (digits.to_owned(), Some(self.spanned(rest, sign)))));
        }
        if rest.starts_with(|sign: char| begins_unit(sign) || sign == '_') {
            let (_, unit) = unit_token(rest)?;
            return special(
                input,
                Mistake::NoBlank { number: digits.to_owned(), unit: unit.to_owned() },
            );
        }
        let behind = rest.trim_start_matches([' ', '\t', '\u{a0}', '\u{202f}', '\u{2009}']);
        if behind.len() < rest.len() && stands_for_unit(behind) {
            let (after, unit) = unit_token(behind)?;
            return Ok((blanks(after), (digits.to_owned(), Some(self.spanned(behind, unit)))));
        }
        Ok((blanks(rest), (digits.to_owned(), None)))
    }

    /// A unit where one must stand, after `in`.
    pub(super) fn unit<'a>(self, input: &'a str) -> Read<'a, Word> {
        if input.starts_with(begins_unit) || begins_with_one_over(input) {
            let (rest, unit) = unit_token(input)?;
            return Ok((blanks(rest), self.spanned(input, unit)));
        }
        expected(input, "a unit")
    }
}

/// A word of the language.
pub(super) fn keyword<'a>(word: &'static str) -> impl Fn(&'a str) -> Read<'a, ()> {
    move |input| match tag::<_, _, SyntaxError>(word).parse(input) {
        Ok((rest, _)) if !rest.starts_with(continues_word) => Ok((blanks(rest), ())),
        _ => expected(input, word),
    }
}

/// Several words of the language in a row.
pub(super) fn keywords<'a>(phrase: &'static str) -> impl Fn(&'a str) -> Read<'a, ()> {
    move |input| {
        let mut rest = input;
        for word in phrase.split(' ') {
            match tag::<_, _, SyntaxError>(word).parse(rest) {
                Ok((after, _)) if !after.starts_with(continues_word) => rest = blanks(after),
                _ => return expected(input, phrase),
            }
        }
        Ok((rest, ()))
    }
}

/// A sign such as `=` or `(`.
pub(super) fn sign<'a>(sign: &'static str) -> impl Fn(&'a str) -> Read<'a, ()> {
    move |input| match input.strip_prefix(sign) {
        Some(rest) => Ok((blanks(rest), ())),
        None => expected(input, sign),
    }
}

/// Passes over blanks, line ends and comments.
pub(super) fn blanks(mut input: &str) -> &str {
    loop {
        let rest = input.trim_start();
        match rest.strip_prefix('#') {
            Some(comment) => {
                input = comment.find('\n').and_then(|end| comment.get(end..)).unwrap_or("")
            }
            None => return rest,
        }
    }
}

fn any_word(input: &str) -> Read<'_, &str> {
    if !input.starts_with(begins_word) {
        return expected(input, "a name");
    }
    take_while1(continues_word).parse(input)
}

fn part(input: &str) -> Read<'_, &str> {
    take_while1(continues_word).parse(input)
}

fn digits(input: &str) -> Read<'_, &str> {
    let exponent = (one_of("eE"), opt(one_of("+-")), digit1);
    let whole = (digit1, opt((char('.'), take_while(|sign: char| sign.is_ascii_digit()))));
    let fraction = (char('.'), digit1);
    let mantissa = alt((recognize(whole), recognize(fraction)));
    let found: Read<'_, &str> = recognize((mantissa, opt(exponent))).parse(input);
    if let Ok((_, number)) = &found
        && has_leading_zero(number)
    {
        return special(input, Mistake::LeadingZero((*number).to_owned()));
    }
    found.or_else(|_| expected(input, "a number"))
}

/// A unit: no blanks inside, parentheses balanced.
fn unit_token(input: &str) -> Read<'_, &str> {
    let mut open = 0_usize;
    let mut end = input.len();
    for (at, sign) in input.char_indices() {
        match sign {
            '(' => open += 1,
            ')' if open > 0 => open -= 1,
            _ if begins_unit(sign) || sign.is_ascii_digit() || is_superscript(sign) => {}
            '·' | '⋅' | '×' | '*' | '/' | '^' | '_' => {}
            '-' | '+' if input.get(..at).is_some_and(|before| before.ends_with('^')) => {}
            '-' if input
                .get(at + 1..)
                .is_some_and(|after| after.starts_with(char::is_alphabetic)) => {}
            _ => {
                end = at;
                break;
            }
        }
    }
    let token = input.get(..end).unwrap_or(input);
    // a sign at the very end belongs to what follows: `2 m/ s` is unreadable either way
    let token = token.trim_end_matches(['*', '·', '/', '^', '×', '(']);
    Ok((input.get(token.len()..).unwrap_or(""), token))
}

/// Whether what follows a number and a blank is a unit rather than a word of the language.
fn stands_for_unit(input: &str) -> bool {
    if begins_with_one_over(input) {
        return true;
    }
    if !input.starts_with(begins_unit) {
        return false;
    }
    let Ok((rest, token)) = unit_token(input) else { return false };
    if token == "in" {
        // the inch, unless what follows is itself a unit or a series of preferred numbers
        let next: String = rest
            .trim_start()
            .chars()
            .take_while(|sign| continues_word(*sign) || *sign == '°')
            .collect();
        return next.is_empty()
            || (words::is_reserved(&next) || next == "normal") && next != "in"
            || next.starts_with(|sign: char| sign.is_ascii_digit());
    }
    // `± 0.1 normal` says how values are spread
    !words::is_reserved(token) && token != "normal"
}

fn begins_with_one_over(input: &str) -> bool {
    input.strip_prefix("1/").is_some_and(|rest| rest.starts_with(char::is_alphabetic))
}

fn begins_unit(sign: char) -> bool {
    sign.is_alphabetic() || matches!(sign, '°' | '%' | '‰' | '′' | '″')
}

fn begins_word(sign: char) -> bool {
    sign.is_alphabetic()
}

pub(super) fn continues_word(sign: char) -> bool {
    (sign.is_alphanumeric() || sign == '_') && !is_superscript(sign)
}

/// Whether a sign is a superscript digit or sign.
pub(super) fn is_superscript(sign: char) -> bool {
    matches!(sign, '¹' | '²' | '³' | '⁰' | '⁴'..='⁹' | '⁻' | '⁺')
}

/// The whole number that superscript digits write.
pub(super) fn superscript_value(text: &str) -> Option<i32> {
    let plain: String = text
        .chars()
        .map(|sign| match sign {
            '⁻' => Some('-'),
            '⁺' => Some('+'),
            '¹' => Some('1'),
            '²' => Some('2'),
            '³' => Some('3'),
            '⁰' => Some('0'),
            '⁴'..='⁹' => char::from_digit(u32::from(sign) - 0x2070, 10),
            _ => None,
        })
        .collect::<Option<String>>()?;
    plain.parse().ok()
}
