//! Powers of ten between two units of one kind: 0.0001 beside a kg·cm², 100 beside a cm, 100 beside a percentage.

use super::conversion::Figure;
use super::scope::{Plain, Sheet};
use crate::diagnostic::{Diagnostic, Name};
use crate::language::{Expression, Node, Shape, Take};
use crate::unit::{self, Dimension, KINDS};

/// Whether a number is a power of ten, and not one itself.
fn power_of_ten(figure: Figure) -> Option<i32> {
    let value = figure.value.abs();
    let ten = (-15..=15).find(|ten| (value / 10_f64.powi(*ten) - 1.0).abs() < 1e-12)?;
    (figure.slack == 0.0 && ten != 0).then_some(ten)
}

/// A power of ten among the numbers of a product that lies between two units of what stands beside it, with the numbers
/// it is made of: `turns kg·m² into kg·cm²`. Ten itself is a number of formulas, and a thousand is asked for everywhere.
pub(super) fn between(
    numbers: &[Plain],
    hand: &[Dimension],
) -> Option<(String, Figure, Vec<Figure>)> {
    let tens = || numbers.iter().filter(|it| !it.loose && power_of_ten(it.figure).is_some());
    let all = tens().map(|it| it.figure).reduce(Figure::times);
    let whole = all.map(|figure| (figure, tens().map(|it| it.base).collect::<Vec<_>>()));
    let alone = tens().map(|it| (it.figure, vec![it.base]));
    whole.into_iter().chain(alone).find_map(|(figure, written)| {
        let ten = power_of_ten(figure).filter(|ten| ten.abs() > 1)?;
        let (from, to) = hand.iter().find_map(|dimension| units_apart(*dimension, ten))?;
        Some((format!("turns {from} into {to}"), figure, written))
    })
}

/// Two units of a kind, the first so many powers of ten the second.
fn units_apart(dimension: Dimension, ten: i32) -> Option<(&'static str, &'static str)> {
    let plain = dimension.without_angle();
    let mut kinds = KINDS.iter().filter(|kind| !kind.point && !kind.dimension.is_none());
    kinds.find_map(|kind| {
        if kind.dimension.without_angle() != plain || plain.is_none() {
            return None;
        }
        let units = || {
            let read =
                |text: &&'static str| Some((*text, kind.read_unit(text).ok()?.factor.as_f64()));
            kind.units.iter().filter_map(read)
        };
        units().find_map(|(from, a)| {
            units()
                .find(|(_, b)| (a / b / 10_f64.powi(ten) - 1.0).abs() < 1e-12)
                .map(|(to, _)| (from, to))
        })
    })
}

/// A number without a sign where the same input has its percentages with one: `ratio from 0 % like 5`.
pub(super) fn mixed_percent(sheet: &Sheet, take: &Take) -> Vec<Diagnostic> {
    // of a share and an efficiency every number above one is asked for
    let asked = |kind: &str| ["share", "efficiency"].contains(&kind);
    if matches!(&take.shape, Shape::Kind(kind) | Shape::Series(kind) if asked(&kind.value)) {
        return Vec::new();
    }
    let given = take.default.iter().chain(&take.example).filter_map(|it| it.value.as_ref());
    let bounds = take.low.iter().chain(&take.high).map(|it| &it.value);
    let all: Vec<&Expression> = given.chain(bounds).collect();
    let with = all.iter().find_map(|tree| match &tree.node {
        Node::Number { unit: Some(unit), .. }
            if ["%", "‰", "ppm"].contains(&unit.value.as_str()) =>
        {
            Some(unit.value.as_str())
        }
        _ => None,
    });
    let Some(sign) = with else { return Vec::new() };
    let bare = all.iter().filter_map(|tree| match &tree.node {
        Node::Number { digits, unit: None } => {
            let (value, ten) = unit::parse_number(digits)?;
            let value = unit::Literal::new(value, ten, unit::Unit::one()).si_f64();
            (value > 1.0).then_some((digits, value, &tree.span))
        }
        _ => None,
    });
    bare.map(|(digits, value, span)| {
        let whole = 100.0 * value;
        let words =
            format!("`{}` is written in {sign}, and {digits} is {whole} %", take.name.value);
        Diagnostic::error(Name::PercentAsNumber, words).at(sheet.place(span)).remedy(format!(
            "write `{digits} {sign}`; where {whole} % is meant, write all of them without a sign"
        ))
    })
    .collect()
}
