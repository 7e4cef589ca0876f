//! Unit notation as text: read into atoms and powers, and printed again.
//!
//! Nothing here knows which units exist. The rules are those of the SI Brochure (9th edition),
//! 5.2 and 5.4: a product is shown by `·`, a quotient by one solidus or by negative powers, and a
//! solidus is not followed by another sign without parentheses.

use std::ops::Range;

use super::dimension::superscript;

/// Parentheses inside one another.
const DEEPEST: usize = 6;
/// Largest power, and largest product of powers.
const LARGEST_POWER: i32 = 24;
/// Largest number of unit symbols in one unit.
const MOST_ATOMS: usize = 24;

/// A unit as written.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Quotient {
    /// Above the solidus; empty for `1/s`.
    above: Vec<Raised>,
    /// Below it.
    below: Option<Raised>,
}

/// A symbol or a group, raised.
#[derive(Clone, Debug, PartialEq)]
struct Raised {
    base: Base,
    power: i32,
}

#[derive(Clone, Debug, PartialEq)]
enum Base {
    /// A symbol, by its bytes in the text.
    Symbol(Range<usize>),
    /// Something in parentheses.
    Group(Box<Quotient>),
}

/// A symbol with the power it ends up with.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Mention {
    /// Bytes of the symbol in the text.
    pub(super) span: Range<usize>,
    /// Its power, solidus and parentheses worked in.
    pub(super) power: i32,
    /// Number of the parentheses it stands in: `N·m` is a torque, `N·(m/s)` holds none.
    pub(super) group: usize,
}

/// What keeps a text from being a unit.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct NotationError {
    /// Bytes concerned.
    pub(super) span: Range<usize>,
    /// What is the matter, in the reader's words.
    pub(super) words: &'static str,
    /// The text as it should be, if that can be said.
    pub(super) better: Option<String>,
}

/// Reads a unit.
pub(super) fn read(text: &str) -> Result<Quotient, NotationError> {
    if text.is_empty() {
        return Err(NotationError { span: 0..0, words: "there is no unit", better: None });
    }
    if let Some((at, blank)) = text.char_indices().find(|(_, letter)| letter.is_whitespace()) {
        let parts: Vec<&str> = text.split_whitespace().collect();
        return Err(NotationError {
            span: at..at + blank.len_utf8(),
            words: "a unit has no blanks inside",
            better: Some(parts.join("·")),
        });
    }
    let mut reader = Reader { text, at: 0 };
    let unit = reader.quotient(0)?;
    match reader.peek() {
        None => {}
        Some(')') => return Err(reader.slip(1, "a parenthesis is closed that was never opened")),
        Some(_) => return Err(reader.after_solidus()),
    }
    let mentions = unit.mentions();
    match mentions {
        None => Err(NotationError {
            span: 0..text.len(),
            words: "the powers are too large",
            better: None,
        }),
        Some(all) if all.len() > MOST_ATOMS => {
            Err(NotationError { span: 0..text.len(), words: "the unit is too long", better: None })
        }
        Some(_) => Ok(unit),
    }
}

impl Quotient {
    /// Every symbol in the order of writing; `None` when powers grow beyond use.
    pub(super) fn mentions(&self) -> Option<Vec<Mention>> {
        let mut all = Vec::new();
        self.collect(1, 0, &mut 0, &mut all)?;
        Some(all)
    }

    fn collect(
        &self,
        outer: i32,
        group: usize,
        groups: &mut usize,
        into: &mut Vec<Mention>,
    ) -> Option<()> {
        let above = self.above.iter().map(|raised| (raised, outer));
        let below = self.below.iter().map(|raised| (raised, -outer));
        for (raised, outer) in above.chain(below) {
            let power = raised.power.checked_mul(outer)?;
            if power.abs() > LARGEST_POWER {
                return None;
            }
            match &raised.base {
                Base::Symbol(span) => into.push(Mention { span: span.clone(), power, group }),
                // parentheses round one symbol are not printed and do not count
                Base::Group(inner) if inner.single().is_some() => {
                    inner.collect(power, group, groups, into)?;
                }
                Base::Group(inner) => {
                    *groups += 1;
                    inner.collect(power, *groups, groups, into)?;
                }
            }
        }
        Some(())
    }

    /// The unit in SI notation, its symbols replaced in the order of writing.
    pub(super) fn print<'a>(&self, symbols: &mut impl Iterator<Item = &'a str>) -> String {
        // one thing alone needs no parentheses
        match self.single() {
            Some(Raised { base: Base::Symbol(_), power: 1 }) => {
                return symbols.next().unwrap_or_default().to_owned();
            }
            Some(Raised { base: Base::Group(inner), power: 1 }) => return inner.print(symbols),
            _ => {}
        }
        let above: Vec<String> = self.above.iter().map(|raised| raised.print(symbols)).collect();
        let mut text = if above.is_empty() { "1".to_owned() } else { above.join("·") };
        if let Some(below) = &self.below {
            text.push('/');
            text.push_str(&below.print(symbols));
        }
        text
    }

    /// A group that needs no parentheses: one raised symbol with nothing below.
    fn single(&self) -> Option<&Raised> {
        match (self.above.as_slice(), &self.below) {
            ([one], None) => Some(one),
            _ => None,
        }
    }
}

impl Raised {
    fn print<'a>(&self, symbols: &mut impl Iterator<Item = &'a str>) -> String {
        let mut text = match &self.base {
            Base::Symbol(_) => match symbols.next().unwrap_or_default() {
                // rpm is printed as r/min
                quotient if quotient.contains('/') => format!("({quotient})"),
                symbol => symbol.to_owned(),
            },
            Base::Group(inner) => match inner.single() {
                Some(one) if one.power == 1 || self.power == 1 => one.print(symbols),
                _ => format!("({})", inner.print(symbols)),
            },
        };
        if self.power != 1 {
            text.push_str(&superscript(self.power));
        }
        text
    }
}

struct Reader<'a> {
    text: &'a str,
    at: usize,
}

impl Reader<'_> {
    fn quotient(&mut self, depth: usize) -> Result<Quotient, NotationError> {
        let mut above = Vec::new();
        if self.rest().starts_with("1/") {
            self.at += 1;
        } else {
            above.push(self.raised(depth)?);
            while self.peek().is_some_and(is_product) {
                self.step();
                above.push(self.raised(depth)?);
            }
        }
        let mut below = None;
        if self.peek() == Some('/') {
            self.step();
            below = Some(self.raised(depth)?);
            if self.peek().is_some_and(|sign| sign == '/' || is_product(sign)) {
                return Err(self.after_solidus());
            }
        }
        Ok(Quotient { above, below })
    }

    fn raised(&mut self, depth: usize) -> Result<Raised, NotationError> {
        let base = if self.peek() == Some('(') {
            if depth == DEEPEST {
                return Err(self.slip(1, "there are too many parentheses inside one another"));
            }
            self.step();
            let inner = self.quotient(depth + 1)?;
            if self.peek() != Some(')') {
                return Err(self.slip(0, "a parenthesis is not closed"));
            }
            self.step();
            Base::Group(Box::new(inner))
        } else {
            let start = self.at;
            while self.peek().is_some_and(is_symbol) {
                self.step();
            }
            if start == self.at {
                let words = match self.peek() {
                    None => "the unit ends where a symbol is needed",
                    Some(_) => "a unit symbol is needed here",
                };
                return Err(self.slip(1, words));
            }
            if self.text.get(start..self.at).is_some_and(|it| it.parse::<f64>().is_ok()) {
                return Err(NotationError {
                    span: start..self.at,
                    words: "a unit holds no number of its own",
                    better: None,
                });
            }
            Base::Symbol(start..self.at)
        };
        Ok(Raised { base, power: self.power()? })
    }

    fn power(&mut self) -> Result<i32, NotationError> {
        let start = self.at;
        let mut digits = String::new();
        if self.peek() == Some('^') {
            self.step();
            let wrapped = self.peek() == Some('(');
            if wrapped {
                self.step();
            }
            if let Some(sign @ ('-' | '−' | '+')) = self.peek() {
                digits.push(if sign == '+' { '+' } else { '-' });
                self.step();
            }
            while let Some(digit) = self.peek().filter(char::is_ascii_digit) {
                digits.push(digit);
                self.step();
            }
            if wrapped {
                if self.peek() != Some(')') {
                    return Err(self.slip(0, "a parenthesis is not closed"));
                }
                self.step();
            }
        } else {
            while let Some(digit) = self.peek().and_then(plain_digit) {
                digits.push(digit);
                self.step();
            }
            if digits.is_empty() {
                return Ok(1);
            }
        }
        match digits.parse::<i32>() {
            Ok(power) if power != 0 && power.abs() <= LARGEST_POWER => Ok(power),
            _ => Err(NotationError {
                span: start..self.at.max(start),
                words: "a power is a small whole number other than zero",
                better: None,
            }),
        }
    }

    /// The problem of a sign after a quotient: `a/b/c`, `a/b·c`.
    fn after_solidus(&self) -> NotationError {
        let better = (!self.text.contains(['(', ')']))
            .then(|| self.text.split_once('/'))
            .flatten()
            .map(|(above, below)| {
                let below: Vec<&str> = below.split(|it| it == '/' || is_product(it)).collect();
                format!("{above}/({})", below.join("·"))
            });
        let words = "after a `/` everything below it stands in parentheses";
        NotationError {
            span: self.at..self.at + self.peek().map_or(0, char::len_utf8),
            words,
            better,
        }
    }

    fn slip(&self, letters: usize, words: &'static str) -> NotationError {
        let width: usize = self.rest().chars().take(letters).map(char::len_utf8).sum();
        NotationError { span: self.at..self.at + width, words, better: None }
    }

    fn rest(&self) -> &str {
        self.text.get(self.at..).unwrap_or_default()
    }

    fn peek(&self) -> Option<char> {
        self.rest().chars().next()
    }

    fn step(&mut self) {
        self.at += self.peek().map_or(0, char::len_utf8);
    }
}

/// Signs read as a product: middle dot, dot operator, asterisk, multiplication sign.
pub(super) fn is_product(sign: char) -> bool {
    matches!(sign, '·' | '⋅' | '∙' | '*' | '×')
}

fn is_symbol(letter: char) -> bool {
    !is_product(letter)
        && !matches!(letter, '/' | '(' | ')' | '^')
        && !letter.is_whitespace()
        && plain_digit(letter).is_none()
}

/// The plain form of a superscript digit or sign.
fn plain_digit(letter: char) -> Option<char> {
    Some(match letter {
        '⁻' => '-',
        '⁰' => '0',
        '¹' => '1',
        '²' => '2',
        '³' => '3',
        '⁴'..='⁹' => char::from_digit(u32::from(letter) - 0x2070, 10)?,
        _ => return None,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn again(text: &str) -> Result<String, NotationError> {
        let unit = read(text)?;
        let symbols: Vec<String> =
            unit.mentions().unwrap().iter().map(|it| text[it.span.clone()].to_owned()).collect();
        Ok(unit.print(&mut symbols.iter().map(String::as_str)))
    }

    #[test]
    fn ascii_and_typographic_spellings_are_one() {
        for text in ["kg*m^2/(A*s^3)", "kg·m²/(A·s³)", "kg⋅m²/(A×s^3)", "kg∙m²/(A∙s³)"]
        {
            assert_eq!(again(text).unwrap(), "kg·m²/(A·s³)");
        }
        assert_eq!(again("s^-1").unwrap(), "s⁻¹");
        assert_eq!(again("s^(-1)").unwrap(), "s⁻¹");
        assert_eq!(again("1/s").unwrap(), "1/s");
        assert_eq!(again("N*m/(r/min)^2").unwrap(), "N·m/(r/min)²");
        assert_eq!(again("(r/min)/s").unwrap(), "(r/min)/s");
        assert_eq!(again("W/(m²)").unwrap(), "W/m²");
    }

    #[test]
    fn parentheses_and_solidus_work_into_the_powers() {
        let unit = read("N·m/(r/min)²").unwrap();
        let powers: Vec<i32> = unit.mentions().unwrap().iter().map(|it| it.power).collect();
        assert_eq!(powers, [1, 1, -2, 2]);
    }

    // SI Brochure, 9th edition, 5.2: "a solidus must not be used more than once in a given
    // expression without brackets to remove ambiguities"
    #[test]
    fn a_second_solidus_needs_parentheses() {
        assert_eq!(read("m/s/s").unwrap_err().better.unwrap(), "m/(s·s)");
        assert_eq!(read("J/kg*K").unwrap_err().better.unwrap(), "J/(kg·K)");
        assert_eq!(read("kg m²").unwrap_err().better.unwrap(), "kg·m²");
    }

    #[test]
    fn what_is_no_unit_says_why() {
        for (text, words) in [
            ("", "there is no unit"),
            ("m·", "the unit ends where a symbol is needed"),
            ("·m", "a unit symbol is needed here"),
            ("(m", "a parenthesis is not closed"),
            ("m)", "a parenthesis is closed that was never opened"),
            ("m^", "a power is a small whole number other than zero"),
            ("m^99", "a power is a small whole number other than zero"),
            ("m⁰", "a power is a small whole number other than zero"),
            ("m/2", "a unit holds no number of its own"),
            ("((((((((m))))))))", "there are too many parentheses inside one another"),
            ("((m^24)^24)", "the powers are too large"),
        ] {
            assert_eq!(read(text).unwrap_err().words, words, "{text}");
        }
    }
}
