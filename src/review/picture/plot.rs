//! Curves over time in a frame with round steps on its axes.

use super::{at, decade, told};

/// A picture of curves.
pub(super) struct Plot {
    pub(super) title: String,
    pub(super) words: String,
    pub(super) across: &'static str,
    pub(super) up: &'static str,
    /// Largest values on the axes.
    pub(super) size: (f64, f64),
    pub(super) curves: Vec<Curve>,
    /// Moments marked by a line from top to bottom.
    pub(super) marks: Vec<(f64, String)>,
}

/// A curve and what it is.
pub(super) struct Curve {
    pub(super) class: &'static str,
    pub(super) points: Vec<(f64, f64)>,
    pub(super) name: String,
}

const LEFT: f64 = 62.0;
const TOP: f64 = 40.0;
const WIDTH: f64 = 640.0;
const HEIGHT: f64 = 230.0;

/// Round steps that cut a length into four to ten parts: 1, 2 or 5 times a power of ten.
fn step(length: f64) -> f64 {
    let ten = decade(length / 4.0);
    let power = 10_f64.powi(ten.abs());
    let unit = |factor: f64| if ten >= 0 { factor * power } else { factor / power };
    for factor in [5.0, 2.0] {
        if unit(factor) * 4.0 <= length {
            return unit(factor);
        }
    }
    unit(1.0)
}

impl Plot {
    /// The picture as SVG.
    pub(super) fn draw(&self) -> String {
        let (most_x, most_y) = (self.size.0 * 1.04, self.size.1 * 1.06);
        let x = |value: f64| LEFT + value / most_x * (WIDTH - LEFT - 14.0);
        let y = |value: f64| TOP + HEIGHT - value / most_y * HEIGHT;
        let bottom = TOP + HEIGHT;
        let mut to = String::new();
        let by = step(most_x);
        let mut count = 0.0;
        while count * by <= most_x {
            let value = count * by;
            to.push_str(&format!(
                "<path class=\"g\" d=\"M{} {}V{}\"/>",
                at(x(value)),
                at(TOP),
                at(bottom + 4.0)
            ));
            to.push_str(&format!(
                "<text class=\"m\" x=\"{}\" y=\"{}\">{}</text>",
                at(x(value)),
                at(bottom + 19.0),
                told(value)
            ));
            count += 1.0;
        }
        let by = step(most_y);
        let mut count = 0.0;
        while count * by <= most_y {
            let value = count * by;
            to.push_str(&format!(
                "<path class=\"g\" d=\"M{} {}H{}\"/>",
                at(LEFT - 4.0),
                at(y(value)),
                at(WIDTH - 14.0)
            ));
            to.push_str(&format!(
                "<text class=\"e\" x=\"{}\" y=\"{}\">{}</text>",
                at(LEFT - 8.0),
                at(y(value) + 5.0),
                told(value)
            ));
            count += 1.0;
        }
        to.push_str(&format!(
            "<path class=\"ax\" d=\"M{} {}V{}H{}\"/>",
            at(LEFT),
            at(TOP),
            at(bottom),
            at(WIDTH - 14.0)
        ));
        to.push_str(&format!("<text x=\"8\" y=\"{}\">{}</text>", at(TOP - 24.0), self.up));
        to.push_str(&format!(
            "<text class=\"e\" x=\"{}\" y=\"{}\">{}</text>",
            at(WIDTH - 14.0),
            at(bottom + 38.0),
            self.across
        ));
        for (moment, name) in &self.marks {
            // a label goes to the side where there is room
            let (class, shift) =
                if x(*moment) > 380.0 { (" class=\"e\"", -5.0) } else { ("", 5.0) };
            to.push_str(&format!(
                "<path class=\"mk\" d=\"M{} {}V{}\"/>",
                at(x(*moment)),
                at(TOP - 18.0),
                at(bottom)
            ));
            to.push_str(&format!(
                "<text{class} x=\"{}\" y=\"{}\">{name}</text>",
                at(x(*moment) + shift),
                at(TOP - 8.0)
            ));
        }
        for curve in &self.curves {
            let points: Vec<String> =
                curve.points.iter().map(|(a, b)| format!("{} {}", at(x(*a)), at(y(*b)))).collect();
            to.push_str(&format!("<path class=\"{}\" d=\"M{}\"/>", curve.class, points.join("L")));
        }
        let mut line = bottom + 62.0;
        for curve in &self.curves {
            to.push_str(&format!(
                "<path class=\"{}\" d=\"M{} {}h44\"/>",
                curve.class,
                at(LEFT),
                at(line - 5.0)
            ));
            to.push_str(&format!(
                "<text x=\"{}\" y=\"{}\">{}</text>",
                at(LEFT + 54.0),
                at(line),
                curve.name
            ));
            line += 20.0;
        }
        framed(&self.title, &self.words, line - 10.0, &to)
    }
}

/// An SVG with its title and description.
pub(super) fn framed(title: &str, words: &str, height: f64, inner: &str) -> String {
    format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 640 {}\" role=\"img\" aria-label=\"{title}. {words}\"><title>{title}</title><desc>{words}</desc>{inner}</svg>",
        at(height)
    )
}
