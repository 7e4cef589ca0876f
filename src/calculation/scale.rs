//! A value whose unit makes it absurd by its scale: `MN·m` where `mN·m` was meant, `Ms` for `ms`; one of a series that
//! bears another unit or another decimal mark than its others.
//!
//! The sheet's own example shows what size its input usually has. A prefix is asked where the value lies far from it and
//! the same unit with the prefix in its other case, or without a prefix of a million, brings it near. Who means it writes
//! it in the unit without the prefix.

use super::Inputs;
use super::outlier::Ends;
use crate::diagnostic::{Diagnostic, Name, Severity};
use crate::number::InputValue;
use crate::program::Input;
use crate::unit::{Kind, Literal, Unit, alternates};

/// How many times smaller or larger than every example a value is that bears the figure of another unit: r/s for r/min is
/// sixty times.
pub(crate) const UNUSUAL: f64 = 50.0;

/// The same of a value in a unit that is not among those of its kind, and so more likely a slip: rad/min for r/min is 6.3
/// times.
pub(crate) const UNOFFERED: f64 = 5.0;

impl Inputs {
    /// What is asked of values that are as they should be by their kinds and ranges: one far from the sheet's example that
    /// would be near it in another unit, and one of a series far from its others. Every door asks the same.
    #[must_use]
    pub fn questions(&self) -> Vec<Diagnostic> {
        // a default that a project sets is somebody's value, as a typed one is
        let is_set = |it: &&Input| self.is_given(it) || it.default_from.is_some();
        let given = self.program().inputs.iter().filter(|it| is_set(it) && !self.is_example(it));
        let found = given.flat_map(|input| {
            let values = match self.value(input) {
                Some(InputValue::One(given)) => vec![given],
                Some(InputValue::Many(given)) => given,
                _ => Vec::new(),
            };
            let unusual = unusual(input, &values).map(|it| it.at(self.place(input)));
            let far = || far(input, &values).map(|(at, it)| it.at(self.place_of(input, at)));
            let other_kind = || {
                let mut kinds = values.iter();
                kinds.find_map(|it| of_another_kind(input, &it.unit, &super::written(it)))
            };
            unusual
                .or_else(far)
                .or_else(|| other_kind().map(|it| it.at(self.place(input))))
                .or_else(|| at_rest(input, &values).map(|it| it.at(self.place(input))))
        });
        found.collect()
    }
}

/// What is asked of a value whose unit says that something else is stated than the input asks for.
pub(crate) fn of_another_kind(input: &Input, unit: &Unit, value: &str) -> Option<Diagnostic> {
    apparent(input, unit, value).or_else(|| current(input, unit, value))
}

/// A power in volt-amperes, as a plate of a motor or a converter prints it beside its shaft power.
fn apparent(input: &Input, unit: &Unit, value: &str) -> Option<Diagnostic> {
    if !unit.symbol.ends_with("V·A") || input.kind.is_none_or(|it| it.name != "power") {
        return None;
    }
    let words = format!("`{}` is {value}, an apparent power: is it a power in W?", input.name);
    Some(Diagnostic::caution(Name::TwoStatements, words).remedy(
        "an apparent power is larger than the power of the shaft, by power factor and efficiency; write the power in W or kW",
    ))
}

/// Words that say of a voltage that it is a direct one: that of a drive's link.
pub(crate) const DIRECT: &[&str] = &["DC", "link", "chopper", "drive"];

/// Words that say of a voltage that it alternates: its effective value is asked for.
pub(crate) const ALTERNATING: &[&str] = &["effective", "r.m.s."];

/// An alternating voltage, as the plate of a mains says it, where that of a DC link is asked for, and the other way
/// round: the link of a mains has up to √2 times as much, its peak.
fn current(input: &Input, unit: &Unit, value: &str) -> Option<Diagnostic> {
    let alternates = alternates(unit.typed.as_deref()?)?;
    let asks = |words: &[&str]| words.iter().any(|word| input.note.contains(word));
    let (said, remedy) = match alternates {
        true if asks(DIRECT) => (
            "an alternating voltage, and a direct one is asked for: is it that of the mains?",
            "if it is, write the direct voltage of the link, up to 1.414 times that of the mains; if not, write it in V",
        ),
        false if asks(ALTERNATING) => (
            "a direct voltage, and an alternating one is asked for: is it that of the link?",
            "if it is, write the voltage of the mains, effective: that of the link over 1.414 or less; if not, write it in V",
        ),
        _ => return None,
    };
    let words = format!("`{}` is {value}, {said}", input.name);
    Some(Diagnostic::caution(Name::TwoStatements, words).remedy(remedy))
}

/// Words that say of a speed that something begins at it.
pub(crate) const START: &[&str] = &["when", "start"];

/// A stop that begins at standstill, of a sheet whose example begins at a speed: it takes no time, and every check holds.
fn at_rest(input: &Input, values: &[Literal]) -> Option<Diagnostic> {
    let speed = input.kind.is_some_and(|it| matches!(it.name, "speed" | "speed of rotation"));
    let rests = matches!(values, [one] if one.si_f64() == 0.0);
    let usual = input.example.first().filter(|it| it.si_f64() != 0.0)?;
    if !speed || !rests || !START.iter().any(|word| input.note.contains(word)) {
        return None;
    }
    let words = format!(
        "`{}` is {}, and the sheet's example is {}: does it begin at standstill?",
        input.name,
        values.first().map(super::written).unwrap_or_default(),
        super::written(usual)
    );
    Some(Diagnostic::caution(Name::TwoStatements, words).remedy(
        "if it does, nothing is to be done, and no stop of a moving machine was calculated; else write the speed",
    ))
}

/// Values in an unusual unit that would be usual in that of the sheet's example: `1.6 mN·m` beside an example of 1.6 N·m.
fn unusual(input: &Input, values: &[Literal]) -> Option<Diagnostic> {
    // of a series the value that is the least unusual
    let number = |it: &Literal| Unit::one().to_si(it.digits, it.ten);
    let off = |it: &Literal| away(input, number(it), &it.unit).unwrap_or(1.0);
    let given = values.iter().min_by(|one, other| off(one).total_cmp(&off(other)))?;
    let prefix = doubt(input, number(given), &given.unit);
    let prefix = prefix.map(|it| Diagnostic { severity: Severity::Caution, ..it });
    prefix.or_else(|| unusual_unit(input, number(given), &given.unit))
}

/// The value of a series that is far from all others, with its place among them.
fn far(input: &Input, values: &[Literal]) -> Option<(usize, Diagnostic)> {
    let mut ends = Ends::default();
    let known = values.iter().enumerate().filter(|(_, it)| !it.unit.point);
    known
        .filter(|(_, it)| it.si_f64() != 0.0)
        .for_each(|(at, it)| ends.take(it.si_f64().abs(), at));
    let found = ends.far(input.kind)?;
    // what falls to nothing or rises from it has a small value at its end, as the speeds of a recorded stop
    let sizes: Vec<f64> = values.iter().map(|it| it.si_f64().abs()).collect();
    let smallest_at_end = found.size < found.next
        && (found.of + 1 == sizes.len() && sizes.is_sorted_by(|one, next| one >= next)
            || found.of == 0 && sizes.is_sorted());
    if smallest_at_end {
        return None;
    }
    let next = values.iter().find(|it| it.si_f64().abs() == found.next)?;
    let (own, next) = (values.get(found.of).map(super::written)?, super::written(next));
    let words = format!(
        "value {} of `{}` is {own}, {} the next of the series, {next}",
        found.of + 1,
        input.name,
        times(found.size / found.next)
    );
    let caution = Diagnostic::caution(Name::TwoStatements, words);
    Some((found.of, caution.remedy("make sure of its decimal mark and of its unit; if it is as it should be, nothing is to be done")))
}

/// `12.5 times`, `a part of 1/60 of`.
pub(crate) fn times(ratio: f64) -> String {
    let shown = |ratio: f64| match ratio < 20.0 {
        true => format!("{}", (ratio * 10.0).round() / 10.0),
        false => format!("{ratio:.0}"),
    };
    match ratio < 1.0 {
        true => format!("a part of 1/{} of", shown(1.0 / ratio)),
        false => format!("{} times", shown(ratio)),
    }
}

/// Of one number: whether it would be usual in the unit of the example.
pub(crate) fn unusual_unit(input: &Input, number: f64, unit: &Unit) -> Option<Diagnostic> {
    let share = as_share(input, number, unit);
    if share.is_some() {
        return share;
    }
    let usual = input.example.first()?;
    let (own, other) = (away(input, number, unit)?, away(input, number, &usual.unit)?);
    if unit.is_same(&usual.unit) {
        let other = slipped(input, number, unit, own).or_else(|| by_time(input, number, unit, own));
        if let Some(other) = other {
            return Some(is_it_in(input, number, unit, (own, &other)));
        }
        return turned(input, number, unit).or_else(|| mistyped(input, number, unit, own));
    }
    let offered = |kind: &Kind| kind.units.contains(&unit.symbol.as_str());
    let known = unit.symbol.is_empty() || input.kind.is_some_and(offered);
    let (far, near) = match known || unit.is_same(&input.unit) {
        true => (UNUSUAL, 10.0),
        false => (UNOFFERED, 3.0),
    };
    if own < far || other > near {
        return None;
    }
    if unit.symbol.is_empty() && usual.unit.symbol == "%" {
        // as a cell gives it that shows a percentage
        let (whole, part) = (hundredfold(number)?, hundredth(number)?);
        let words = format!("`{}` is {number}, which is {whole} %", input.name);
        return Some(Diagnostic::caution(Name::TwoStatements, words).remedy(format!(
            "if {number} % is meant, write {part} where the cell shows a percentage, else `{number} %`; if {whole} %, nothing is to be done"
        )));
    }
    Some(is_it_in(input, number, unit, (own, &usual.unit)))
}

/// How many times smaller or larger than every example a value in the unit of the example is that bears the figure of
/// another unit: seconds under ms are a thousand times; a machine may well be a hundred times the one of the example.
pub(crate) const SLIPPED: f64 = 300.0;

/// A share under %: 0.9 % where the example is 92 %.
fn as_share(input: &Input, number: f64, unit: &Unit) -> Option<Diagnostic> {
    let (own, usual) =
        (away(input, number, unit)?, input.example.first().or(input.default.as_ref())?);
    let whole = hundredfold(number)?;
    let near = away(input, whole, unit).is_some_and(|it| it <= 3.0);
    if unit.symbol != "%" || own < TIMED || !near || number.abs() > 1.0 {
        return None;
    }
    let words = format!(
        "`{}` is {number} %, {} times off the sheet's {}: is it {whole} %?",
        input.name,
        own.round(),
        crate::calculation::written(usual)
    );
    let remedy = format!("if it is, write {whole} %; if not, nothing is to be done");
    Some(Diagnostic::caution(Name::TwoStatements, words).remedy(remedy))
}

/// The unit of the kind in which a number is as large as the sheet's example, within three times.
fn slipped(input: &Input, number: f64, unit: &Unit, own: f64) -> Option<Unit> {
    let units = input.kind.filter(|_| own >= SLIPPED)?.units.iter();
    let read = units.filter_map(|unit| input.kind?.read_plate(unit).ok());
    let mut near = [input.unit.clone()]
        .into_iter()
        .chain(read)
        .filter(|other| away(input, number, other).is_some_and(|it| it <= 3.0));
    near.find(|other| !other.is_same(unit))
}

/// How many times smaller or larger than every example a rate is that bears the figure of another time: r/s under r/min are
/// sixty times.
pub(crate) const TIMED: f64 = 20.0;

/// The unit of a rate over another time in which a number is as large as the sheet's example, within three times.
fn by_time(input: &Input, number: f64, unit: &Unit, own: f64) -> Option<Unit> {
    let (of, time) = unit.symbol.rsplit_once('/').filter(|_| own >= TIMED)?;
    let others = ["s", "min"].into_iter().filter(|it| *it != time);
    let read = others.filter_map(|it| input.kind?.read_plate(&format!("{of}/{it}")).ok());
    let mut near = read.filter(|other| away(input, number, other).is_some_and(|it| it <= 3.0));
    near.find(|other| !other.is_same(unit))
}

/// A ratio below one where that of the example is well above it, and near it the other way round.
fn turned(input: &Input, number: f64, unit: &Unit) -> Option<Diagnostic> {
    let usual = input.example.first()?;
    let (ratio, shown) = (input.kind.is_some_and(|it| it.name == "ratio"), usual.si_f64());
    let near = away(input, 1.0 / number, unit).is_some_and(|it| it <= 10.0);
    if !ratio || shown < 3.0 || !(0.0..0.5).contains(&number) || !near {
        return None;
    }
    let words = format!(
        "`{}` is {number}, and the sheet's example is {}: is it the other way round?",
        input.name,
        crate::calculation::written(usual)
    );
    let inverse: f64 = format!("{:.5e}", 1.0 / number).parse().ok()?;
    Some(Diagnostic::caution(Name::TwoStatements, words).remedy(format!(
        "`{}` is: {}; if that is {number}, nothing is to be done, else write {inverse}",
        input.name, input.note
    )))
}

/// Days of the years in which such a file is made, as cells count them from the end of 1899; ECMA-376 part 1, 18.17.4.1
/// (from memory).
pub(crate) const DAYS: (f64, f64) = (36_526.0, 62_000.0);

/// A number far from every example that a point of thousands or a date has made: 1.45 for 1450, 46175 for a day in 2026.
fn mistyped(input: &Input, number: f64, unit: &Unit, own: f64) -> Option<Diagnostic> {
    if own < SLIPPED {
        return None;
    }
    let usual = input.example.first().map(crate::calculation::written).unwrap_or_default();
    let day = number.fract() == 0.0 && (DAYS.0..=DAYS.1).contains(&number);
    let thousands =
        number.fract() != 0.0 && away(input, number * 1000.0, unit).is_some_and(|it| it <= 3.0);
    let what = match (day, thousands) {
        (true, _) => "is it a date?",
        (_, true) => "does its point part thousands?",
        (false, false) => return None,
    };
    let words = format!(
        "`{}` is {number} {}, {} times off the sheet's example of {usual}: {what}",
        input.name,
        unit.symbol,
        own.round()
    );
    Some(
        Diagnostic::caution(Name::TwoStatements, words)
            .remedy("if it is, write the number that is meant; if not, nothing is to be done"),
    )
}

/// Whether a number is meant in another unit.
fn is_it_in(input: &Input, number: f64, unit: &Unit, (own, other): (f64, &Unit)) -> Diagnostic {
    let usual = input.example.first().map(crate::calculation::written).unwrap_or_default();
    let held = format!("{number} {}", unit.symbol);
    let (what, remedy) = match (other.symbol.as_str(), unit.symbol.as_str()) {
        ("", own) => ("is it without a unit?".to_owned(), format!("take {own} out")),
        (other, "") => (format!("is it in {other}?"), format!("write {other} behind it")),
        (other, own) => {
            (format!("is it in {other}?"), format!("write {other} in the place of {own}"))
        }
    };
    let words = format!(
        "`{}` is {}, {} times off the sheet's example of {usual}: {what}",
        input.name,
        held.trim_end(),
        own.round()
    );
    Diagnostic::caution(Name::TwoStatements, words)
        .remedy(format!("if it is, {remedy}; if not, nothing is to be done"))
}

/// How many times larger or smaller than every example and default a value is far: four powers of ten, as a machine
/// may well be a thousand times the one of the example.
pub(crate) const FAR: f64 = 1e4;

/// How many times nearer the other unit brings it.
pub(crate) const NEARER: f64 = 1e3;

/// The question about a value in its unit; none where the prefix is likely.
pub(crate) fn doubt(input: &Input, number: f64, unit: &Unit) -> Option<Diagnostic> {
    let kind = input.kind?;
    let off = |unit: &Unit| away(input, number, unit);
    let own = off(unit).filter(|own| *own > FAR)?;
    let others = meant(kind, unit);
    let near: Vec<&Unit> =
        others.iter().filter(|other| off(other).is_some_and(|it| it * NEARER < own)).collect();
    if near.is_empty() {
        return None;
    }
    let plain = unit.symbol.get(1..).and_then(|rest| kind.read_plate(rest).ok())?;
    let usual = input.example.first().or(input.default.as_ref())?;
    let words = format!(
        "`{}` ({}): {number} {} is far from the sheet's example of {}",
        input.name,
        kind.name,
        unit.symbol,
        crate::calculation::written(usual)
    );
    let near: Vec<&str> = near.iter().map(|unit| unit.symbol.as_str()).collect();
    Some(Diagnostic::error(Name::TwoStatements, words).remedy(format!(
        "is {} meant? If {} is, write the value in {}",
        near.join(" or "),
        unit.symbol,
        plain.symbol
    )))
}

/// The default of the sheet itself.
pub(crate) fn own_default(input: &Input) -> Option<&Literal> {
    input.default.as_ref().filter(|_| input.default_from.is_none())
}

/// From where to where, without its sign, nothing is asked of a number in that unit.
pub(crate) fn unasked(input: &Input, unit: &Unit) -> (f64, f64) {
    let mut shown = input.example.iter().chain(own_default(input)).map(|it| it.si_f64().abs());
    match shown.find(|it| *it > 0.0 && !unit.point).map(|it| it / unit.factor.as_f64().abs()) {
        // well within, whatever is rounded
        Some(usual) => (usual * 2.0 / FAR, usual * FAR / 2.0),
        None => (0.0, f64::INFINITY),
    }
}

/// How many times larger or smaller a value is than the nearest of the sheet's own; none for zero, or without any.
fn away(input: &Input, number: f64, unit: &Unit) -> Option<f64> {
    if unit.point || number == 0.0 {
        return None;
    }
    let value = (number * unit.factor.as_f64()).abs();
    let shown = input.example.iter().chain(own_default(input)).map(|it| it.si_f64().abs());
    let ratios = shown.filter(|it| *it > 0.0).map(|it| (value / it).max(it / value));
    ratios.reduce(f64::min)
}

/// The units that a prefix may have been written for: `mN·m` and `N·m` for `MN·m`, `Mm` for `mm`.
fn meant(kind: &'static Kind, unit: &Unit) -> Vec<Unit> {
    let read = |text: String| kind.read_plate(&text).ok();
    let found = match (unit.symbol.strip_prefix('M'), unit.symbol.strip_prefix('m')) {
        (Some(rest), _) => vec![read(format!("m{rest}")), read(rest.to_owned())],
        (_, Some(rest)) => vec![read(format!("M{rest}"))],
        _ => Vec::new(),
    };
    found.into_iter().flatten().collect()
}

/// What to do about a unit of another kind: the units of the input in which its number is near the sheet's example, as
/// a question.
pub(crate) fn unit_question(input: &Input, kind: &'static Kind, number: f64) -> String {
    let near = kind.units.iter().filter(|unit| {
        let unit = kind.read_plate(unit).ok();
        unit.and_then(|unit| away(input, number, &unit)).is_some_and(|times| times <= 10.0)
    });
    let near: Vec<&str> = near.copied().collect();
    match near.as_slice() {
        [] => format!("write the unit in which {number} is: {}", kind.offered()),
        near => format!("is it in {}? Write the unit in which {number} is", near.join(" or ")),
    }
}

/// By digits, so that 0.07 is 7 and not a little more.
pub(crate) fn hundredfold(number: f64) -> Option<f64> {
    format!("{number}e2").parse().ok()
}

/// By digits, so that 7 is 0.07 and not a little more.
pub(crate) fn hundredth(number: f64) -> Option<f64> {
    format!("{number}e-2").parse().ok()
}
