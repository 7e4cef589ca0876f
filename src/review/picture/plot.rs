//! Curves over one axis, in panels that stand above one another, with round steps on every axis.

use std::borrow::Cow;

use super::svg::{Svg, WIDTH, at, decade, four_digits, line};

/// A picture of curves.
pub(super) struct Plot {
    pub(super) title: String,
    pub(super) words: String,
    pub(super) across: Cow<'static, str>,
    /// Largest value on the axis across.
    pub(super) far: f64,
    pub(super) panels: Vec<Panel>,
    /// A moment marked by a line through all panels.
    pub(super) mark: Option<(f64, String)>,
}

/// A frame with curves in it.
pub(super) struct Panel {
    pub(super) up: Cow<'static, str>,
    pub(super) height: f64,
    /// Least and largest value on the axis upwards.
    pub(super) span: (f64, f64),
    pub(super) curves: Vec<Curve>,
    /// Values marked by a line from side to side.
    pub(super) levels: Vec<(f64, String)>,
}

/// A curve and what it is; a curve without a name stands in the list through that of another panel.
pub(super) struct Curve {
    pub(super) class: &'static str,
    pub(super) points: Points,
    pub(super) name: String,
}

/// What stands below a picture of a course, and the ends of its phases in it.
pub(super) struct Strip {
    pub(super) class: &'static str,
    /// The course, and where it ends.
    pub(super) name: String,
    /// Its phases, in words.
    pub(super) said: Vec<String>,
    /// From when until when each is, and its name.
    pub(super) parts: Vec<(f64, f64, String)>,
    /// The points that are marked, of each panel.
    pub(super) dots: Vec<Points>,
}

/// Letters that a line below a picture holds.
const LETTERS: usize = 70;

/// Words in as many lines as they take.
fn wrapped(words: &[String]) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for (at, word) in words.iter().enumerate() {
        let comma = if at + 1 < words.len() { "," } else { "" };
        match lines.last_mut() {
            Some(line) if line.chars().count() + word.chars().count() < LETTERS => {
                line.push_str(&format!(" {word}{comma}"));
            }
            _ => lines.push(format!("{word}{comma}")),
        }
    }
    lines
}

/// Points in the units of the axes.
pub(super) type Points = Vec<(f64, f64)>;

/// What lies between the bounds of a curve, as a closed line; for each panel as many as it has.
pub(super) type Bands = Vec<Vec<Points>>;

const LEFT: f64 = 62.0;
const RIGHT: f64 = WIDTH - 14.0;

/// Levels nearer than this have no room for a name between them.
const CLOSE: f64 = 22.0;

/// What a band is called while it belongs to the inputs that are shown.
const BAND: &str = "grey: worst case within the tolerances of the inputs";

/// How many letters a word has.
fn count(word: &str) -> f64 {
    f64::from(u32::try_from(word.chars().count()).unwrap_or(u32::MAX))
}

/// Round steps that cut a length into at least so many parts: 1, 2 or 5 times a power of ten.
pub(super) fn step(length: f64, parts: f64) -> f64 {
    let ten = decade(length / parts);
    let power = 10_f64.powi(ten.abs());
    let unit = |factor: f64| if ten >= 0 { factor * power } else { factor / power };
    for factor in [5.0, 2.0] {
        if unit(factor) * parts <= length {
            return unit(factor);
        }
    }
    unit(1.0)
}

/// Multiples of a step between two ends.
pub(super) fn ticks(low: f64, high: f64, by: f64) -> Vec<f64> {
    let mut count = (low / by - 1e-9).ceil();
    let mut found = Vec::new();
    while count * by <= high && found.len() < 30 {
        found.push(count * by);
        count += 1.0;
    }
    found
}

impl Plot {
    /// The picture as SVG, with the bands of its curves.
    pub(super) fn draw(&self, bands: &Bands) -> String {
        self.with_strips(bands, &[])
    }

    /// The same with what there is to say of each course.
    pub(super) fn with_strips(&self, bands: &Bands, strips: &[Strip]) -> String {
        let beyond = bands.iter().flatten().flatten().map(|point| point.0);
        let far = beyond.fold(self.far, f64::max);
        let far = if far > 0.0 { far * 1.04 } else { 1.0 };
        let x = |value: f64| LEFT + value / far * (RIGHT - LEFT);
        let mut to = Svg::default();
        let mut top = if self.mark.is_some() { 40.0 } else { 28.0 };
        let mut marked = String::new();
        for (at_panel, panel) in self.panels.iter().enumerate() {
            if at_panel > 0 {
                top += 36.0;
            }
            let own: &[Points] = bands.get(at_panel).map_or(&[], Vec::as_slice);
            let dots = strips.iter().filter_map(|strip| strip.dots.get(at_panel)).flatten();
            let label = if at_panel == 0 { 16.0 } else { top - 10.0 };
            panel.draw(&mut to, top, label, far, own, &dots.copied().collect());
            if let Some((moment, _)) = &self.mark {
                let from = if at_panel == 0 { top - 18.0 } else { top };
                marked.push_str(&format!(
                    "M{} {}V{}",
                    at(x(*moment)),
                    at(from),
                    at(top + panel.height)
                ));
            }
            top += panel.height;
        }
        for value in ticks(0.0, far, step(far, 4.0)) {
            to.text("m", x(value), top + 19.0, &four_digits(value));
        }
        to.text("e", RIGHT, top + 38.0, &self.across);
        if let Some((moment, name)) = &self.mark {
            // a label goes to the side where there is room
            let (class, shift) = if x(*moment) > 380.0 { ("e", -5.0) } else { ("", 5.0) };
            to.path("mk", &marked);
            to.text(class, x(*moment) + shift, 32.0, name);
        }
        top += 62.0;
        for curve in self.panels.iter().flat_map(|panel| &panel.curves) {
            if curve.name.is_empty() {
                continue;
            }
            to.path(curve.class, &format!("M{} {}h44", at(LEFT), at(top - 5.0)));
            to.text("", LEFT + 54.0, top, &curve.name);
            top += 20.0;
        }
        if bands.iter().any(|own| !own.is_empty()) {
            to.path("bd", &format!("M{} {}h44v12h-44z", at(LEFT), at(top - 11.0)));
            to.text("", LEFT + 54.0, top, BAND);
            top += 20.0;
        }
        for strip in strips {
            to.path(strip.class, &format!("M{} {}h44", at(LEFT), at(top - 5.0)));
            to.text("", LEFT + 54.0, top, &strip.name);
            for line in wrapped(&strip.said) {
                top += 20.0;
                to.text("", LEFT + 54.0, top, &line);
            }
            top += 24.0;
            let mut bar = String::new();
            for (from, until, name) in &strip.parts {
                let (a, b) = (x(*from), x(*until));
                bar.push_str(&format!(
                    "M{} {}V{}M{} {}H{}",
                    at(b),
                    at(top),
                    at(top + 10.0),
                    at(a),
                    at(top + 5.0),
                    at(b)
                ));
                // about the width of its letters
                if 8.0 * count(name) + 8.0 <= b - a {
                    to.text("m", (a + b) / 2.0, top, name);
                }
            }
            if !bar.is_empty() {
                to.path("ax", &bar);
                top += 34.0;
            }
        }
        to.framed(&self.title, &self.words, top - 10.0)
    }
}

impl Panel {
    fn draw(&self, to: &mut Svg, top: f64, label: f64, far: f64, bands: &[Points], dots: &Points) {
        let bottom = top + self.height;
        let beyond = bands.iter().flatten().map(|point| point.1);
        let low = beyond.clone().fold(self.span.0, f64::min);
        let most = beyond.fold(self.span.1, f64::max);
        // a picture of nothing still has axes
        let most = if most > low { most } else { low + 1.0 };
        let high = low + (most - low) * 1.06;
        let x = |value: f64| LEFT + value / far * (RIGHT - LEFT);
        let y = |value: f64| bottom - (value - low) / (high - low) * self.height;
        for band in bands {
            to.path("bd", &format!("{}z", line(band.iter().map(|(a, b)| (x(*a), y(*b))))));
        }
        let mut grid = String::new();
        for value in ticks(0.0, far, step(far, 4.0)) {
            grid.push_str(&format!("M{} {}V{}", at(x(value)), at(top), at(bottom + 4.0)));
        }
        let steps = ticks(low, high, step(high - low, if self.height < 170.0 { 2.0 } else { 4.0 }));
        for value in &steps {
            grid.push_str(&format!("M{} {}H{}", at(LEFT - 4.0), at(y(*value)), at(RIGHT)));
        }
        to.path("g", &grid);
        for value in &steps {
            to.text("e", LEFT - 8.0, y(*value) + 5.0, &four_digits(*value));
        }
        to.path("ax", &format!("M{} {}V{}H{}", at(LEFT), at(top), at(bottom), at(RIGHT)));
        to.text("", 8.0, label, &self.up);
        for (value, _) in &self.levels {
            to.path("lv", &format!("M{} {}H{}", at(LEFT), at(y(*value)), at(RIGHT)));
        }
        for curve in &self.curves {
            to.path(curve.class, &line(curve.points.iter().map(|(a, b)| (x(*a), y(*b)))));
        }
        let marks =
            dots.iter().map(|(a, b)| format!("M{} {}h6v6h-6z", at(x(*a) - 3.0), at(y(*b) - 3.0)));
        if !dots.is_empty() {
            to.path("po", &marks.collect::<String>());
        }
        for (value, name) in &self.levels {
            // close below another its name goes to the other side
            let room = |(other, _): &(f64, String)| {
                !(CLOSE > y(*value) - y(*other) && y(*value) - y(*other) > 0.0)
            };
            let (class, place) =
                if self.levels.iter().all(room) { ("e h", RIGHT) } else { ("h", LEFT + 8.0) };
            to.text(class, place, y(*value) - 5.0, name);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    // by hand: 1, 2 or 5 times a power of ten, at least as many parts as asked for
    #[test]
    fn axes_have_round_steps() {
        for (length, parts, by) in
            [(1.37, 4.0, 0.2), (1500.0, 4.0, 200.0), (255.0, 2.0, 100.0), (6.2, 4.0, 1.0)]
        {
            let found = step(length, parts);
            assert!((found - by).abs() < 1e-12 * by, "{length}: {found}");
        }
        assert_eq!(ticks(565.0, 830.0, 100.0), [600.0, 700.0, 800.0]);
    }
}
