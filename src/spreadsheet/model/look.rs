//! How the letters of a cell look and where they are set: whether a person can read them at all.

/// A colour.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum Colour {
    /// Red, green and blue.
    Rgb([u8; 3]),
    /// One whose parts the file says elsewhere, by what names it.
    Other(String),
}

pub(crate) const BLACK: Colour = Colour::Rgb([0; 3]);
pub(crate) const WHITE: Colour = Colour::Rgb([255; 3]);

/// Two luminances nearer than this ratio cannot be told apart; chosen well below what any guideline allows, no source.
const CONTRAST: f64 = 1.25;

/// The smallest letters that a person may still read, in points; common practice, no source.
const POINTS: f64 = 4.0;

impl Colour {
    /// Reads six digits of base 16, or eight with the opacity first.
    pub(crate) fn parse(text: &str) -> Option<Self> {
        let text = text.trim_start_matches('#');
        let digits = if text.len() == 8 { text.get(2..)? } else { text };
        let part = |at: usize| u8::from_str_radix(digits.get(at..at + 2)?, 16).ok();
        (digits.len() == 6).then(|| Some(Self::Rgb([part(0)?, part(2)?, part(4)?])))?
    }

    /// Whether letters of this colour cannot be told from a ground of that colour.
    fn fades_into(&self, ground: &Self) -> bool {
        // the relative luminance of Rec. 709, its curve taken as a square
        let luminance = |[red, green, blue]: &[u8; 3]| {
            let part = |it: &u8| (f64::from(*it) / 255.0) * (f64::from(*it) / 255.0);
            0.2126 * part(red) + 0.7152 * part(green) + 0.0722 * part(blue)
        };
        match (self, ground) {
            (Self::Rgb(ink), Self::Rgb(ground)) => {
                let (one, other) = (luminance(ink) + 0.05, luminance(ground) + 0.05);
                one.max(other) < CONTRAST * one.min(other)
            }
            _ => self == ground,
        }
    }
}

/// How the letters of a cell look; what is not said is as the program chooses.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Look {
    pub(crate) ink: Option<Colour>,
    pub(crate) ground: Option<Colour>,
    /// The size of the letters.
    pub(crate) points: Option<f64>,
    /// Whether the protection of the tab hides what the cell holds.
    pub(crate) hidden: bool,
    /// Whether a line goes through the letters, as through what does not count any more.
    pub(crate) struck: bool,
}

impl Look {
    /// One that says nothing.
    pub(crate) const NONE: Self =
        Self { ink: None, ground: None, points: None, hidden: false, struck: false };

    /// This look where a rule lays another over it.
    pub(crate) fn under(&self, over: &Self) -> Self {
        Self {
            ink: over.ink.clone().or_else(|| self.ink.clone()),
            ground: over.ground.clone().or_else(|| self.ground.clone()),
            points: over.points.or(self.points),
            hidden: self.hidden || over.hidden,
            struck: self.struck || over.struck,
        }
    }

    /// Why nobody can read a cell that looks so; none where it can be read.
    pub(crate) fn unseen(&self) -> Option<&'static str> {
        let ground = self.ground.as_ref().unwrap_or(&WHITE);
        if self.hidden {
            Some("hidden by the protection of its tab")
        } else if self.points.is_some_and(|points| points < POINTS) {
            Some("too small to be read")
        } else if self.ink.as_ref().is_some_and(|ink| ink.fades_into(ground)) {
            Some("of the colour of their ground")
        } else {
            None
        }
    }
}

/// How a cell sets what it shows.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Alignment {
    pub(crate) side: Side,
    /// Whether lines begin at the upper edge, so that it is the last ones that are cut.
    pub(crate) top: bool,
    pub(crate) wrapped: bool,
    pub(crate) shrunk: bool,
    /// In steps of three spaces.
    pub(crate) indent: f64,
    /// Whether letters stand on their side or one below the other.
    pub(crate) turned: bool,
}

impl Alignment {
    /// One that says nothing.
    pub(crate) const NONE: Self = Self {
        side: Side::Left,
        top: false,
        wrapped: false,
        shrunk: false,
        indent: 0.0,
        turned: false,
    };
}

/// At which edge of the cell a text begins or ends.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) enum Side {
    #[default]
    Left,
    Middle,
    Right,
}

/// The width of a text in digits, as in common faces without serifs (from memory).
pub(crate) fn width(text: &str) -> f64 {
    let signs = text.chars().map(|sign| match sign {
        'm' | 'w' | 'M' | 'W' => 1.5,
        'A'..='Z' => 1.1,
        'i' | 'j' | 'l' | 'f' | 't' | 'r' | ' ' | '.' | ',' | ':' | ';' | '\'' | '(' | ')' => 0.6,
        _ => 1.0,
    });
    signs.sum()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn letters_of_the_colour_of_their_ground_are_not_seen() {
        let look = |ink: &str, ground: Option<&str>| Look {
            ink: Colour::parse(ink),
            ground: ground.and_then(Colour::parse),
            ..Look::default()
        };
        for (ink, ground, seen) in [
            ("FF000000", None, true),
            ("FFFFFFFF", None, false),
            ("fefefe", None, false),
            ("#ffffff", Some("#1F4E78"), true),
            ("FF1F4E78", Some("FF1F4E78"), false),
            ("FFFF0000", None, true),
            ("FFBFBFBF", None, true),
            ("FF000000", Some("FF101010"), false),
        ] {
            assert_eq!(look(ink, ground).unseen().is_none(), seen, "{ink} {ground:?}");
        }
        assert!(Look { points: Some(1.0), ..Look::default() }.unseen().is_some());
        assert!(Look { points: Some(6.0), ..Look::default() }.unseen().is_none());
        assert!(Look::default().unseen().is_none());
    }
}
