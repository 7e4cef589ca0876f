//! Ratios as they are written on gear units: `30:1` is read, `1:30` and `17:51` are asked.

use rust_decimal::Decimal;

use crate::unit::{Kind, may_be_thousands, parse_number};

/// The number of a text that can only mean one ratio: `30:1`, `30 : 1`, `i = 30`.
pub(in crate::workbook) fn stated(
    kind: &'static Kind,
    name: &str,
    text: &str,
) -> Option<(Decimal, i32)> {
    if kind.name != "ratio" {
        return None;
    }
    let named = text.trim().strip_prefix(name).map(str::trim_start);
    let bare = named.and_then(|text| text.strip_prefix('=')).map(str::trim);
    match (sides(bare.unwrap_or(text)), bare) {
        (Some((one, "1")), _) => parse_number(one),
        (None, Some(bare)) if may_be_thousands(bare).is_none() => parse_number(bare),
        _ => None,
    }
}

/// What to write in the place of a ratio that may be taken either way.
pub(in crate::workbook) fn remedy(
    kind: &'static Kind,
    text: &str,
    (unit, here): (Option<&str>, &str),
) -> Option<String> {
    let (one, other) = sides(text).filter(|_| kind.name == "ratio")?;
    let (one, other): (f64, f64) = (one.parse().ok()?, other.parse().ok()?);
    // a cell beside a percent sign holds the percentage
    let whole = if unit == Some("%") { 100.0 } else { 1.0 };
    let (there, back) = (one / other * whole, other / one * whole);
    let finite = there.is_finite() && back.is_finite();
    finite.then(|| format!("write {there} or {back} into {here} as a number, whichever is meant"))
}

/// The two numbers of `30:1`.
fn sides(text: &str) -> Option<(&str, &str)> {
    let (one, other) = text.split_once(':')?;
    let (one, other) = (one.trim(), other.trim());
    let plain = |side: &str| parse_number(side).is_some() && may_be_thousands(side).is_none();
    (plain(one) && plain(other)).then_some((one, other))
}
