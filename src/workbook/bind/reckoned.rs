//! What the words about a value reckon: `nominal 28 N·m × 0.8`, `GD² 0.0936 / 4`, `2 bearings × 0.55 N·m`, `80 % of 28 N·m`.
//! What they come to is the value, or the number before the sum was not reckoned.

use crate::unit::{Kind, Unit, is_unit};

/// Flywheel effects: four times the inertia (DIN 1304 and common practice).
pub(super) const FLYWHEELS: &[&str] = &["GD", "WD", "PD", "MD"];

/// How much of a text that begins with the name of a flywheel effect is that name: `GD²` of `GD²/4`.
pub(super) fn flywheel_name(text: &str) -> Option<usize> {
    let parts = |it: char| it.is_whitespace() || "()[],;:/=!?".contains(it);
    let rest = FLYWHEELS.iter().find_map(|name| text.strip_prefix(name))?;
    let rest = ["²", "^2", "2"].iter().find_map(|power| rest.strip_prefix(power))?;
    rest.chars().next().is_none_or(parts).then_some(text.len() - rest.len())
}

/// How a value stands to what is reckoned about it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(in crate::workbook) enum Reckoned {
    /// It is neither; or nothing is reckoned.
    No,
    /// It is what the words say that it comes to, and their numbers come to something else.
    Wrongly,
    /// It is the number before something is done with it.
    Before,
    /// It is what comes of it.
    Result,
}

/// A value in coherent SI, and in what it is read.
#[derive(Clone, Copy)]
pub(super) struct Against<'a> {
    pub(super) kind: &'static Kind,
    pub(super) unit: &'a Unit,
    pub(super) held: f64,
    /// Whether a flywheel effect among the words is another quantity than the value.
    pub(super) flywheel: bool,
    /// Whether the words may speak of another value where they say no unit of its kind.
    pub(super) of_many: bool,
}

#[derive(Clone, Debug, PartialEq)]
enum Part {
    Number(f64),
    /// A unit of the kind behind a number, by its size.
    Unit(f64),
    /// A unit of another kind, or a sign that makes another sum of it.
    Foreign,
    Times,
    /// A division; whether blanks stand about its sign.
    Over(bool),
    Equals,
    Flywheel,
    /// `converted`, `umgerechnet`.
    Word,
    /// The end of a clause.
    End,
}

/// A factor of a product.
#[derive(Clone, Copy, Debug)]
struct Factor {
    /// None for a flywheel effect of which no number is said.
    number: Option<f64>,
    unit: Option<f64>,
    flywheel: bool,
    /// Whether words stand behind it: `2 bearings × …`.
    noun: bool,
    under: bool,
}

/// How a value stands to all that is reckoned in a text.
pub(super) fn reckoned(text: &str, against: Against<'_>) -> Reckoned {
    // every text of every row of a product line comes by here
    if !text.contains(|it: char| it.is_ascii_digit()) {
        return Reckoned::No;
    }
    let parts = parts(text, against);
    let chains = parts.split(|it| *it == Part::End);
    chains.map(|chain| of_chain(chain, against)).max().unwrap_or(Reckoned::No)
}

/// By what part two numbers may differ that state the same: people round.
fn near(one: f64, other: f64) -> bool {
    (one - other).abs() <= 0.005 * one.abs().max(other.abs())
}

/// Whether a number is another one with some of its digits left out: 22 of 22.4.
pub(super) fn is_rounded(number: f64, of: f64) -> bool {
    (2..=4_usize).any(|digits| {
        let round = format!("{of:.*e}", digits - 1).parse::<f64>();
        round.is_ok_and(|round| (round - number).abs() <= 1e-9 * number.abs())
    })
}

fn of_chain(parts: &[Part], against: Against<'_>) -> Reckoned {
    let bound = |it: &Part| matches!(it, Part::Unit(_) | Part::Flywheel);
    if parts.contains(&Part::Foreign) || against.of_many && !parts.iter().any(bound) {
        return Reckoned::No;
    }
    // `J = GD²/4 = 0.0936/4 = 0.0234`: what stands between signs of equality is the same
    let sides = parts.split(|it| *it == Part::Equals);
    let sides: Vec<Vec<Factor>> = sides.filter(|it| !is_size(it)).filter_map(side).collect();
    let mut found = Reckoned::No;
    let mut plain: Option<f64> = None;
    let mut sums: Vec<f64> = Vec::new();
    let size = against.unit.factor.as_f64();
    let own = against.held / size;
    // how many times its number is the flywheel effect
    let mut of_effect: Option<f64> = None;
    for side in &sides {
        if side.iter().filter(|it| it.unit.is_some()).count() > 1 {
            return Reckoned::No;
        }
        let unit = side.iter().find_map(|it| it.unit).unwrap_or(size);
        let product = |factors: &[Factor]| {
            factors.iter().fold(1.0, |product, it| match (it.number, it.under) {
                (Some(number), true) => product / number,
                (Some(number), false) => product * number,
                (None, _) => product,
            })
        };
        let worth = product(side) * unit;
        let numbers = side.iter().filter(|it| it.number.is_some()).count();
        let is_reckoned = numbers > 1;
        if let Some(effect) = side.iter().find(|it| it.flywheel) {
            match effect.number {
                Some(number) => {
                    found = found.max(of_flywheel(number * unit, against));
                    of_effect = None;
                }
                None => of_effect = Some(if numbers == 0 { 1.0 } else { 1.0 / product(side) }),
            }
            continue;
        }
        let quarter = is_reckoned && side.iter().any(|it| it.under);
        if let (Some(times), false) = (of_effect, quarter) {
            found = found.max(of_flywheel(worth * times, against));
            continue;
        }
        if !is_reckoned {
            plain = Some(worth);
            continue;
        }
        if !is_of_value(side, against.kind) {
            continue;
        }
        sums.push(worth);
        let [first, rest @ ..] = side.as_slice() else { continue };
        let before = |it: &Factor| {
            let alone = it.number.unwrap_or_default() * it.unit.unwrap_or(unit);
            near(alone, against.held)
        };
        let whole = first.number.is_some_and(|it| it.fract() == 0.0);
        // `2 × 22 N·m` may be two of which the value is one
        let is_before = before(first)
            || !whole
                && rest.iter().any(|it| {
                    let bare = side.iter().all(|it| it.unit.is_none());
                    (it.unit.is_some() || bare) && !it.under && before(it)
                });
        found = found.max(if near(worth, against.held) {
            Reckoned::Result
        } else if is_before {
            Reckoned::Before
        } else if is_rounded(own, worth / size) {
            Reckoned::Result
        } else {
            Reckoned::No
        });
    }
    if let (Some(plain), [.., sum], Reckoned::No) = (plain, sums.as_slice(), found)
        && near(plain, against.held)
        && !is_rounded(plain / size, sum / size)
    {
        return Reckoned::Wrongly;
    }
    found
}

/// Whether words and two whole numbers behind them are a size: `hub bore 22 × 40`. A factor is hardly so large.
fn is_size(parts: &[Part]) -> bool {
    let whole = |it: f64| it.fract() == 0.0 && it > 9.0;
    let words = parts.iter().take_while(|it| **it == Part::Word).count();
    let numbers = parts.get(words..).unwrap_or_default();
    let pair = matches!(numbers, [Part::Number(one), Part::Times, Part::Number(other)] if whole(*one) && whole(*other));
    words > 0 && pair
}

/// How a value stands to a flywheel effect, which is four times the inertia.
fn of_flywheel(effect: f64, against: Against<'_>) -> Reckoned {
    if near(effect / 4.0, against.held) {
        Reckoned::Result
    } else if near(effect, against.held) {
        Reckoned::Before
    } else {
        Reckoned::No
    }
}

/// Whether a product may be of a value and a number: of lengths it is a size, and a slash may stand between two values.
fn is_of_value(side: &[Factor], kind: &Kind) -> bool {
    let [first, rest @ ..] = side else { return false };
    let whole = |it: &Factor| it.number.is_none_or(|it| it.fract() == 0.0);
    let length = matches!(kind.name, "radius" | "diameter")
        || kind.dimension == crate::unit::kind("length").map_or(kind.dimension, |it| it.dimension);
    // `62 × 2` makes a diameter of a radius
    let twice = matches!(rest, [it] if it.number == Some(2.0) && it.unit.is_none());
    !length
        || twice
        || rest.iter().any(|it| it.under)
        || first.unit.is_some() && rest.iter().all(|it| it.unit.is_none() && !whole(it))
}

/// The factors of a product; none where something else stands among them.
fn side(parts: &[Part]) -> Option<Vec<Factor>> {
    let mut found: Vec<Factor> = Vec::new();
    let mut operator = None;
    let mut words = 0;
    for part in parts {
        match part {
            Part::Number(number) => {
                // the effect by its number, or another number that is none of the product
                if let (None, Some(last)) = (operator, found.last_mut()) {
                    if last.flywheel && last.number.is_none() {
                        last.number = Some(*number);
                        words = 0;
                        continue;
                    }
                    if found.len() > 1 {
                        break;
                    }
                    found.clear();
                }
                let under = operator == Some(true);
                let number = Some(*number);
                found.push(Factor { number, unit: None, flywheel: false, noun: false, under });
                (operator, words) = (None, 0);
            }
            Part::Flywheel => {
                // `1/4 GD²`
                if operator.is_none() && found.iter().any(|it| it.unit.is_some()) {
                    found.clear();
                }
                let factor =
                    Factor { number: None, unit: None, flywheel: true, noun: false, under: false };
                found.push(factor);
                (operator, words) = (None, 0);
            }
            Part::Unit(size) => {
                if let Some(last) = found.last_mut() {
                    last.unit = Some(*size);
                }
            }
            Part::Times | Part::Over(_) => {
                let first = found.last_mut()?;
                first.noun = words > 0;
                operator = Some(matches!(part, Part::Over(_)));
            }
            Part::Word => words += 1,
            Part::Foreign | Part::Equals | Part::End => {}
        }
    }
    (operator.is_none() && !found.is_empty()).then_some(found)
}

/// The parts of a text that reckoning is made of.
fn parts(text: &str, against: Against<'_>) -> Vec<Part> {
    let mut rest = text;
    let mut found: Vec<Part> = Vec::new();
    let mut before = ' ';
    while let Some(sign) = rest.chars().next() {
        let length = sign.len_utf8();
        let next = rest.get(length..).unwrap_or_default();
        let spaced = before.is_whitespace() && next.starts_with(char::is_whitespace);
        let (part, taken) = match sign {
            _ if sign.is_whitespace() || matches!(sign, '(' | ')' | '[' | ']') => (None, length),
            '0'..='9' => {
                let (number, taken) = number(rest);
                let part = if before.is_alphanumeric() { None } else { number.map(Part::Number) };
                (part.or(Some(Part::Word)), taken)
            }
            '¼' => (Some(Part::Number(0.25)), length),
            '½' => (Some(Part::Number(0.5)), length),
            '×' | '*' | '·' => (Some(Part::Times), length),
            '÷' => (Some(Part::Over(true)), length),
            '/' => (Some(Part::Over(spaced || before == ' ')), length),
            '=' | '→' | '≈' => (Some(Part::Equals), length),
            '%' => (percent(&mut found, next), length),
            ',' | '.' if continues(next) => (None, length),
            ',' | '.' | ';' | '\n' | '?' | '!' => (Some(Part::End), length),
            _ if sign.is_alphabetic() => word(rest, found.last(), against),
            ':' if spaced && matches!(found.last(), Some(Part::Unit(_))) => {
                (Some(Part::Over(true)), length)
            }
            ':' => (None, length),
            '-' | '−' | '–' if matches!(found.last(), Some(Part::Unit(_))) => {
                match without(next) {
                    Some((share, taken)) => {
                        found.push(Part::Times);
                        (Some(Part::Number(share)), length + taken)
                    }
                    None => (Some(Part::Foreign), length),
                }
            }
            _ => (Some(Part::Foreign), length),
        };
        let of_number = matches!(found.last(), Some(Part::Number(_)));
        match part {
            // `1/4 GD²`, `0.5 of it`
            Some(Part::Foreign) if !of_number && !matches!(found.last(), Some(Part::Unit(_))) => {}
            // a number of another kind says something else: `28 N·m × 0.8 (24 V)`
            Some(Part::Foreign) if of_number && !is_joined(&found) => {
                found.pop();
                found.push(if found.is_empty() { Part::End } else { Part::Word });
            }
            Some(part) => found.push(part),
            None => {}
        }
        let (taken, after) = rest.split_at_checked(taken).unwrap_or((rest, ""));
        before = taken.chars().next_back().unwrap_or(' ');
        rest = after;
    }
    without_slashes(found)
}

/// Whether the last number is joined to what stands before it.
fn is_joined(parts: &[Part]) -> bool {
    let before = parts.iter().rev().nth(1);
    matches!(before, Some(Part::Times | Part::Over(_) | Part::Equals | Part::Flywheel))
}

/// Whether a sign of reckoning comes next: `GD² 0.0936, /4`.
fn continues(next: &str) -> bool {
    next.trim_start().starts_with(['/', '÷', '×', '*', '='])
}

/// `80 % of`: a number that another is taken by.
fn percent(found: &mut [Part], next: &str) -> Option<Part> {
    let Some(Part::Number(number)) = found.last_mut() else { return None };
    let next = next.trim_start().to_lowercase();
    let taken = ["of ", "von ", "×", "·", "*", "x "];
    if !taken.iter().any(|it| next.starts_with(it)) {
        return Some(Part::Foreign);
    }
    *number /= 100.0;
    None
}

/// What is left when a share is taken off, and how much of the text behind the sign of subtraction says it: `20 %`.
fn without(text: &str) -> Option<(f64, usize)> {
    let start = text.trim_start();
    let (number, taken) = number(start);
    let behind = start.get(taken..)?.trim_start();
    let rest = behind.strip_prefix('%')?;
    let share = 1.0 - number? / 100.0;
    (share > 0.0).then_some((share, text.len() - rest.len()))
}

/// A number with a point or a comma for its decimals, and how much of the text it takes.
pub(super) fn number(text: &str) -> (Option<f64>, usize) {
    let digits = |text: &str| text.find(|it: char| !it.is_ascii_digit()).unwrap_or(text.len());
    let mut end = digits(text);
    let behind = text.get(end..).unwrap_or_default();
    if let Some(rest) = behind.strip_prefix(['.', ',']) {
        let more = digits(rest);
        end += if more > 0 { 1 + more } else { 0 };
    }
    let number = text.get(..end).unwrap_or_default().replace(',', ".").parse().ok();
    (number, end)
}

/// A word: the unit of a number before it, a flywheel effect, a sign that is written as a word, or none of these.
fn word(text: &str, before: Option<&Part>, against: Against<'_>) -> (Option<Part>, usize) {
    if let Some(taken) = flywheel_name(text) {
        let part = if against.flywheel { Part::Flywheel } else { Part::Foreign };
        return (Some(part), taken);
    }
    let parts = |it: char| it.is_whitespace() || "=×÷,;()[]".contains(it);
    let end = text.find(parts).unwrap_or(text.len());
    let whole = text.get(..end).unwrap_or_default();
    let read = |word: &str| against.kind.read_plate(word).ok().map(|it| it.factor.as_f64());
    if matches!(before, Some(Part::Number(_))) {
        // `0.0936 kg·m²/4`
        let shorter = whole.rsplit_once(['/', '*']).filter(|(_, under)| {
            !under.is_empty() && under.chars().all(|it| it.is_ascii_digit() || it == '.')
        });
        let words = [Some(whole), Some(whole.trim_end_matches(['.', ':'])), shorter.map(|it| it.0)];
        let unit = words.into_iter().flatten().find_map(|it| Some((read(it)?, it.len())));
        if let Some((size, taken)) = unit {
            return (Some(Part::Unit(size)), taken);
        }
        if !matches!(whole, "x" | "X" | "of") && is_unit(whole) {
            return (Some(Part::Foreign), end);
        }
    }
    let end = whole.find(['/', '*']).unwrap_or(end).max(1);
    let whole = whole.get(..end).unwrap_or(whole);
    let part = match whole.to_lowercase().as_str() {
        "x" | "times" | "multiplied" => Part::Times,
        "divided" => Part::Over(true),
        "by" if matches!(before, Some(Part::Times | Part::Over(_))) => return (None, end),
        "of" | "von" if matches!(before, Some(Part::Number(number)) if *number < 1.0) => {
            Part::Times
        }
        "quarter" => Part::Number(0.25),
        "half" => Part::Number(0.5),
        // `at 80 % of 28 N·m` says where it is measured
        "at" | "bei" | "by" | "or" | "oder" | "and" | "und" => Part::End,
        _ => Part::Word,
    };
    (Some(part), end)
}

/// The parts without slashes that are no division: `1450/2900 r/min`, `230/400`, `400 V / 3 ~`, `4711/100`.
fn without_slashes(parts: Vec<Part>) -> Vec<Part> {
    let mut found: Vec<Part> = Vec::new();
    for (at, part) in parts.iter().enumerate() {
        let Part::Over(spaced) = part else {
            found.push(part.clone());
            continue;
        };
        let clause = found.rsplit(|it| *it == Part::End).next().unwrap_or_default();
        let stated = clause.iter().any(|it| matches!(it, Part::Equals | Part::Flywheel));
        let of_unit = matches!(found.last(), Some(Part::Unit(_)));
        // `0.0936/4` and nothing before it
        let begins = matches!(clause, [Part::Number(number)] if number.fract() != 0.0);
        let stated = stated || begins;
        let by = match parts.get(at + 1) {
            Some(Part::Number(by)) => *by,
            _ => 0.0,
        };
        // `1/4 GD²`
        let of_effect = parts.iter().skip(at + 2).take(2).any(|it| *it == Part::Flywheel);
        let behind = parts.get(at + 2);
        let ends =
            matches!(behind, None | Some(Part::End | Part::Equals | Part::Times | Part::Over(_)));
        let whole = by.fract() == 0.0 && (2.0..=100.0).contains(&by);
        let flywheel = clause.contains(&Part::Flywheel);
        let divides = by > 0.0 && (ends || flywheel) && (*spaced || stated && whole || of_unit)
            || by > 0.0 && of_effect;
        found.push(if divides { Part::Over(*spaced) } else { Part::Foreign });
    }
    found
}
