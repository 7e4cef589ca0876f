//! The marks of a picture: paths, texts, round numbers.

use crate::review::markup::escaped;

/// Width of every picture.
pub(super) const WIDTH: f64 = 640.0;

/// A picture under way.
#[derive(Default)]
pub(super) struct Svg {
    inside: String,
}

impl Svg {
    /// A path of a class.
    pub(super) fn path(&mut self, class: &str, d: &str) {
        self.inside.push_str(&format!("<path class=\"{class}\" d=\"{d}\"/>"));
    }

    /// Words at a place; the class says where they are held.
    pub(super) fn text(&mut self, class: &str, x: f64, y: f64, words: &str) {
        let class = if class.is_empty() { String::new() } else { format!(" class=\"{class}\"") };
        let words = escaped(words);
        self.inside.push_str(&format!(
            "<text{class} x=\"{}\" y=\"{}\">{words}</text>",
            at(x),
            at(y)
        ));
    }

    /// The picture with its title and description.
    pub(super) fn framed(self, title: &str, words: &str, height: f64) -> String {
        let (title, words) = (escaped(title), escaped(words));
        format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 640 {}\" role=\"img\" aria-label=\"{title}. {words}\"><title>{title}</title><desc>{words}</desc>{}</svg>",
            at(height),
            self.inside
        )
    }
}

/// Points as the `d` of a path.
pub(super) fn line(points: impl Iterator<Item = (f64, f64)>) -> String {
    let points: Vec<String> = points.map(|(x, y)| format!("{} {}", at(x), at(y))).collect();
    format!("M{}", points.join("L"))
}

/// A coordinate with one digit after the point; moved by next to nothing, so that no tie is left to how
/// a language rounds it.
pub(super) fn at(x: f64) -> String {
    let text = format!("{:.1}", x + 1e-6);
    let text = text.strip_suffix(".0").map_or(text.clone(), str::to_owned);
    if text == "-0" { "0".to_owned() } else { text }
}

/// A number for a person, to four digits.
pub(super) fn four_digits(x: f64) -> String {
    if x == 0.0 || !x.is_finite() {
        return "0".to_owned();
    }
    let magnitude = decade(x.abs());
    let unit = 10_f64.powi((3 - magnitude).abs());
    let rounded = if magnitude <= 3 {
        (x * unit + 1e-9).round() / unit
    } else {
        (x / unit + 1e-9).round() * unit
    };
    format!("{rounded}")
}

/// The power of ten at or below a number, by comparing alone: the same in every language.
pub(super) fn decade(x: f64) -> i32 {
    let mut ten = 0;
    while ten < 30 && x >= 10_f64.powi(ten + 1) {
        ten += 1;
    }
    while ten > -30 && x < if ten >= 0 { 10_f64.powi(ten) } else { 1.0 / 10_f64.powi(-ten) } {
        ten -= 1;
    }
    ten
}

#[cfg(test)]
mod tests {
    use super::*;

    // by hand
    #[test]
    fn numbers_are_reported_to_four_digits() {
        for (x, words) in [
            (0.0, "0"),
            (1234.56, "1235"),
            (0.012_345, "0.01235"),
            (-7.0, "-7"),
            (98_765.4, "98770"),
        ] {
            assert_eq!(four_digits(x), words);
        }
        assert_eq!(at(-0.01), "0");
        assert_eq!(at(2.25), "2.3");
    }
}
