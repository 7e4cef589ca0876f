//! Bars to both sides of a line: what a result hangs on, and how much of its limit a check has left.

use super::svg::{Svg, at};

/// A bar.
pub(super) struct Bar {
    /// What it is.
    pub(super) name: String,
    /// From −1, the longest to the left, to 1, the longest to the right; none where there is no number.
    pub(super) part: Option<f64>,
    /// The number in words.
    pub(super) words: String,
    /// Whether it is marked as one that is wanting.
    pub(super) wanting: bool,
}

/// Where the bars stand.
pub(super) struct Frame {
    pub(super) title: String,
    pub(super) words: String,
    /// The line above the bars.
    pub(super) head: String,
    /// Room for the names, in front of the bars; none puts each name above its bar.
    pub(super) beside: bool,
    pub(super) left: &'static str,
    pub(super) right: &'static str,
}

const LENGTH: f64 = 170.0;

/// The bars below one another.
pub(super) fn draw(frame: &Frame, bars: &[Bar]) -> String {
    let mut to = Svg::default();
    let line = if frame.beside { 26.0 } else { 44.0 };
    let any = |left: bool| bars.iter().any(|bar| bar.part.is_some_and(|part| (part < 0.0) == left));
    // no room is kept for a side without bars; below names both sides share one length
    let farthest = bars.iter().filter_map(|bar| bar.part).fold(0.0, f64::min);
    let (length, middle) = match (frame.beside, any(true)) {
        (true, true) => (LENGTH, 150.0 + LENGTH),
        (true, false) => (LENGTH, 158.0),
        (false, _) => {
            let length = LENGTH / (1.0 - farthest);
            (length, 2.0 - farthest * length)
        }
    };
    let end = if any(false) { middle + length + 10.0 } else { middle + 10.0 };
    to.text("", 2.0, 14.0, &frame.head);
    let mut top = 26.0;
    if frame.beside && !bars.is_empty() {
        if any(true) {
            to.text("e", middle - 6.0, top + 12.0, frame.left);
        }
        if any(false) {
            to.text("", middle + 6.0, top + 12.0, frame.right);
        }
        top += 18.0;
    }
    let start = top;
    for bar in bars {
        let base = if frame.beside { top } else { top + 18.0 };
        to.text("", 2.0, top + 14.0, &bar.name);
        if let Some(part) = bar.part {
            let ends = (middle.min(middle + part * length), middle.max(middle + part * length));
            let class = if bar.wanting { "br wt" } else { "br" };
            let (from, to_x) = (at(ends.0), at(ends.1));
            to.path(
                class,
                &format!("M{from} {1}H{to_x}V{0}H{from}z", at(base + 17.0), at(base + 3.0)),
            );
        }
        to.text("", end, base + 14.0, &bar.words);
        top += line;
    }
    if !bars.is_empty() && frame.beside {
        to.path("ax", &format!("M{} {}V{}", at(middle), at(start), at(top)));
    } else {
        // the line is broken where a name stands across it
        let pieces: String = (0..bars.len())
            .map(|place| {
                format!(
                    "M{} {}v20",
                    at(middle),
                    at(start + line * f64::from(u32::try_from(place).unwrap_or(0)) + 18.0)
                )
            })
            .collect();
        if !pieces.is_empty() {
            to.path("ax", &pieces);
        }
    }
    to.framed(&frame.title, &frame.words, top + 6.0)
}
