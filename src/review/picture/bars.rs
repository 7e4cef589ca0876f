//! Bars to both sides of a line: what a result depends on.

use super::svg::{Svg, at};

/// A bar.
pub(super) struct Bar {
    /// What it is.
    pub(super) name: String,
    /// From −1, the longest to the left, to 1, the longest to the right.
    pub(super) part: f64,
    /// The number in words.
    pub(super) words: String,
    /// A line below it, where there is more to say.
    pub(super) below: String,
}

/// What stands around the bars.
pub(super) struct Frame {
    pub(super) title: String,
    pub(super) words: String,
    /// The line above the bars.
    pub(super) head: String,
    pub(super) left: &'static str,
    pub(super) right: &'static str,
}

const LENGTH: f64 = 120.0;

/// The bars below one another.
pub(super) fn draw(frame: &Frame, bars: &[Bar]) -> String {
    let mut to = Svg::default();
    let any = |left: bool| bars.iter().any(|bar| (bar.part < 0.0) == left);
    // no room is kept for a side without bars
    let middle = if any(true) { 150.0 + LENGTH } else { 158.0 };
    let end = if any(false) { middle + LENGTH + 10.0 } else { middle + 10.0 };
    to.text("", 2.0, 14.0, &frame.head);
    let mut top = 26.0;
    if any(true) {
        to.text("e", middle - 6.0, top + 12.0, frame.left);
    }
    if any(false) {
        to.text("", middle + 6.0, top + 12.0, frame.right);
    }
    if !bars.is_empty() {
        top += 18.0;
    }
    let start = top;
    for bar in bars {
        to.text("", 2.0, top + 14.0, &bar.name);
        let tip = middle + bar.part * LENGTH;
        let (from, till) = (at(middle.min(tip)), at(middle.max(tip)));
        to.path("br", &format!("M{from} {1}H{till}V{0}H{from}z", at(top + 17.0), at(top + 3.0)));
        to.text("", end, top + 14.0, &bar.words);
        if !bar.below.is_empty() {
            top += 18.0;
            to.text("", end, top + 14.0, &bar.below);
        }
        top += 26.0;
    }
    if !bars.is_empty() {
        to.path("ax", &format!("M{} {}V{}", at(middle), at(start), at(top)));
    }
    to.framed(&frame.title, &frame.words, top + 6.0)
}
