//! What the variants of a product line have left of each limit: a strip for each check, in it a stroke for
//! each variant, or for many how many there are at each place.

use super::plot::{step, ticks};
use super::svg::{Svg, WIDTH, at, four_digits};

/// A check and its variants.
pub(super) struct Strip {
    /// The letter under which the table speaks of it.
    pub(super) letter: char,
    /// The check in words.
    pub(super) name: String,
    /// The least, and the variant that has it.
    pub(super) words: String,
    /// Whether the check only cautions.
    pub(super) caution: bool,
    /// What each variant has left as a share of the larger side, and whether it holds.
    pub(super) left: Vec<(f64, bool)>,
}

/// Up to so many variants each has a stroke of its own.
pub(super) const STROKES: usize = 40;

/// Parts of a step of the axis in which many variants are counted: the limit stands between two of them.
const BINS: f64 = 5.0;

/// Height of a strip.
const HIGH: f64 = 22.0;

const LEFT: f64 = 20.0;
const RIGHT: f64 = WIDTH - 20.0;

/// How far from the edge the limit stands where "beyond the limit" has room before it.
const BEYOND: f64 = 140.0;

/// Characters that stand beside one another in the width of the picture.
const LINE: usize = 82;

/// The strips below one another, over one axis in % of the limit.
pub(super) fn draw(title: &str, words: &str, strips: &[Strip]) -> String {
    let mut to = Svg::default();
    let all = || strips.iter().flat_map(|strip| &strip.left);
    let least = all().fold(0.0, |least: f64, (share, _)| least.min(*share)).max(-1.0) * 100.0;
    let most = all().fold(0.0, |most: f64, (share, _)| most.max(*share)).min(1.0) * 100.0;
    let by = step((most - least).max(1e-9), 5.0);
    let (low, high) = ((least / by).floor() * by, (most / by).ceil().max(1.0) * by);
    let x = |share: f64| {
        LEFT + (share * 100.0 - low).clamp(0.0, high - low) / (high - low) * (RIGHT - LEFT)
    };
    let zero = x(0.0);
    let marks = ticks(low, high + by * 1e-6, by);
    let mut top = 30.0;
    if low < 0.0 {
        let words = if zero < BEYOND { "beyond" } else { "beyond the limit" };
        to.text("e", zero - 8.0, 16.0, words);
    }
    to.text(
        "",
        zero + if low < 0.0 { 8.0 } else { -8.0 },
        16.0,
        if low < 0.0 { "left" } else { "limit" },
    );
    let mut lines = format!("M{} 20v6", at(zero));
    for strip in strips {
        to.text("b", 2.0, top + 13.0, &strip.letter.to_string());
        to.text("", LEFT, top + 13.0, &strip.name);
        // the words stand beside the name where both have room
        if strip.name.chars().count() + strip.words.chars().count() > LINE {
            top += 17.0;
        }
        to.text("e", WIDTH - 2.0, top + 13.0, &strip.words);
        let (over, under) = (top + 20.0, top + 20.0 + HIGH);
        let mut grid = format!("M{} {}H{}", at(LEFT), at(under), at(RIGHT));
        for value in &marks {
            grid.push_str(&format!("M{} {}V{}", at(x(value / 100.0)), at(over), at(under)));
        }
        to.path("g", &grid);
        if strip.left.len() <= STROKES {
            strokes(&mut to, strip, &x, over);
        } else {
            counts(&mut to, strip, &x, (low, high, by / BINS), over);
        }
        lines.push_str(&format!("M{} {}V{}", at(zero), at(over - 2.0), at(under + 2.0)));
        top = under + 8.0;
    }
    to.path("zl", &lines);
    let mut axis = format!("M{} {}H{}", at(LEFT), at(top), at(RIGHT));
    for value in &marks {
        axis.push_str(&format!("M{0} {1}v6", at(x(value / 100.0)), at(top)));
    }
    to.path("ax", &axis);
    for value in &marks {
        to.text("m", x(value / 100.0), top + 21.0, &format!("{}\u{a0}%", four_digits(*value)));
    }
    to.framed(title, words, top + 30.0)
}

/// A stroke for each variant that holds, a cross for each that does not, a triangle where that is a caution.
fn strokes(to: &mut Svg, strip: &Strip, x: &dyn Fn(f64) -> f64, over: f64) {
    let (mut holds, mut fails) = (String::new(), String::new());
    for (share, held) in &strip.left {
        let place = x(*share);
        if *held {
            holds.push_str(&format!("M{} {}v{}", at(place), at(over + 4.0), at(HIGH - 4.0)));
        } else {
            let middle = over + HIGH / 2.0 + 2.0;
            let [left, right] = [at(place - 4.0), at(place + 4.0)];
            let [high, low] = [at(middle - 4.0), at(middle + 4.0)];
            fails.push_str(&if strip.caution {
                format!("M{left} {low}H{right}L{} {high}z", at(place))
            } else {
                format!("M{left} {high}L{right} {low}M{left} {low}L{right} {high}")
            });
        }
    }
    let open = if strip.caution { "vc" } else { "vx" };
    for (class, d) in [("vr", holds), (open, fails)] {
        if !d.is_empty() {
            to.path(class, &d);
        }
    }
}

/// How many variants there are in each part of the axis; those that do not hold are drawn open, below.
fn counts(
    to: &mut Svg,
    strip: &Strip,
    x: &dyn Fn(f64) -> f64,
    (low, high, wide): (f64, f64, f64),
    over: f64,
) {
    let mut bins: std::collections::BTreeMap<i32, [u32; 2]> = std::collections::BTreeMap::new();
    for (share, held) in &strip.left {
        let place = (share * 100.0).clamp(low, high - wide / 2.0);
        // what holds just at the limit is not counted among those beyond it; the number of a part is small
        let part = ((place - low) / wide + if *held { 1e-9 } else { -1e-9 }).floor();
        let place = four_digits(part).parse().unwrap_or(0);
        if let Some(count) = bins.entry(place).or_default().get_mut(usize::from(*held)) {
            *count += 1;
        }
    }
    let most = bins.values().map(|[fails, holds]| fails + holds).max().unwrap_or(1);
    let bottom = over + HIGH;
    let tall = |count: u32| f64::from(count) / f64::from(most) * (HIGH - 2.0);
    let (mut held, mut failed) = (String::new(), String::new());
    for (place, [fails, holds]) in bins {
        let from = (low + f64::from(place) * wide) / 100.0;
        let (a, b) = (x(from), x(from + wide / 100.0));
        let edge = bottom - tall(fails);
        let bar = |d: &mut String, base: f64, count: u32| {
            if count > 0 {
                // one of very many is still seen
                let top = base - tall(count).max(1.5);
                d.push_str(&format!("M{0} {2}H{1}V{3}H{0}z", at(a), at(b), at(base), at(top)));
            }
        };
        bar(&mut failed, bottom, fails);
        bar(&mut held, edge, holds);
    }
    let open = if strip.caution { "br ca" } else { "br op" };
    for (class, d) in [("br", held), (open, failed)] {
        if !d.is_empty() {
            to.path(class, &d);
        }
    }
}
