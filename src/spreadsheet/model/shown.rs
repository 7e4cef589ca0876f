//! What a number format shows of a number beside its digits: other digits than it holds, and words around them.

use super::look::width;
use super::number_format::{Sign, signs};

/// What a person sees of a number.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(crate) struct Shown {
    /// Words before the digits.
    pub(crate) before: String,
    /// Words after them, a percent sign among them.
    pub(crate) after: String,
    /// Words or signs between digits, as in `0" h "00" min"`.
    pub(crate) between: bool,
    /// The digits shown are the number times this power of ten: 2 for a percentage, -3 for thousands.
    pub(crate) ten: i32,
    /// Whether any digit is shown; of a text, whether it is shown.
    pub(crate) digits: bool,
    /// Whether what is shown is written in white.
    pub(crate) white: bool,
    /// Digits behind the decimal mark at the most; none where the program chooses them, or shows another way.
    pub(crate) decimals: Option<u32>,
    /// Whether it shows a power of ten or a fraction, and how closely.
    closely: Option<Closely>,
    /// Whether it shows as many digits as have room.
    open: bool,
    /// Whether the part of the format is one for negative numbers, which leaves their sign out.
    negative: bool,
}

/// How closely a number is shown otherwise than by its decimals.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Closely {
    /// With a power of ten: the digits before the mark at the most, and those behind it.
    Power(u32, u32),
    /// As a fraction, with so many at the most below its line.
    Fraction(u32),
    /// As a fraction of a certain number.
    PartsOf(u32),
}

impl Closely {
    /// The number that is shown of one.
    fn of(self, number: f64) -> Option<f64> {
        let parts = |below: u32| (number * f64::from(below)).round() / f64::from(below);
        match self {
            Self::Power(before, behind) => {
                let power: i32 = format!("{number:e}").split_once('e')?.1.parse().ok()?;
                let power = power - power.rem_euclid(i32::try_from(before.max(1)).ok()?);
                let step = 10_f64.powi(power.checked_sub(i32::try_from(behind).ok()?)?);
                Some((number / step).round() * step)
            }
            Self::Fraction(most) => (1..=most)
                .map(parts)
                .min_by(|one, other| (one - number).abs().total_cmp(&(other - number).abs())),
            Self::PartsOf(below) => Some(parts(below)),
        }
    }
}

impl Shown {
    /// Whether digits of the format itself stand at the number, as in `0"0"`: what is seen is another number.
    pub(crate) fn more_digits(&self) -> bool {
        let digit = |it: char| it.is_ascii_digit() || matches!(it, '.' | ',');
        // `0" × 10"`
        let times = self.after.trim_start().strip_prefix(['×', '*', '·', 'x', 'X']);
        let times =
            times.is_some_and(|it| it.trim_start().starts_with(|it: char| it.is_ascii_digit()));
        times
            || self.before.contains(|it: char| it.is_ascii_digit())
            || self.after.starts_with(digit)
    }

    /// Whether the number is shown as it is, with nothing around it.
    pub(crate) fn is_plain(&self) -> bool {
        let blank = |text: &str| text.trim().is_empty();
        self.digits
            && !self.white
            && self.ten == 0
            && !self.between
            && blank(&self.before)
            && blank(&self.after)
            && !self.negative
    }

    /// The number that a person reads, rounded as the format rounds it; none where it shows all digits.
    pub(crate) fn rounded(&self, number: f64) -> Option<f64> {
        let seen = if let Some(closely) = self.closely {
            let ten = 10_f64.powi(self.ten.clamp(-30, 30));
            closely.of(number * ten)? / ten
        } else {
            let places = i32::try_from(self.decimals?).ok()?.checked_add(self.ten)?;
            let ten = 10_f64.powi(places.clamp(-30, 30));
            (number * ten).round() / ten
        };
        (self.digits && !self.between && seen.is_finite()).then_some(seen)
    }

    /// The number that a person reads where a cell has room for so many digits and the format shows as many as fit.
    pub(crate) fn fitted(&self, number: f64, room: f64) -> Option<f64> {
        // of numbers this small powers of ten are shown
        let open = self.open && self.ten == 0 && number.abs() >= 1e-4;
        let decimals = Some(u32::from(fitting(number, room)?));
        open.then(|| Self { decimals, ..self.clone() }.rounded(number))?
    }

    /// How many digits wide a number is shown at the least, with the words around it; none where that is not known.
    pub(crate) fn width(&self, number: f64) -> Option<f64> {
        let shown = number * 10_f64.powi(self.ten.clamp(-30, 30));
        let decimals = match self.decimals {
            Some(0) => 0.0,
            Some(places) => f64::from(places) + 0.5,
            None if self.open => 0.0,
            None => return None,
        };
        Some(whole_digits(shown) + decimals + width(self.before.trim()) + width(self.after.trim()))
    }

    /// Whether the sign that is shown is not that of the number.
    pub(crate) fn turns_sign(&self, number: f64) -> bool {
        // behind the digits a minus alone is a sign; `min-1` and `lb-ft` are units
        let minus = self.before.contains(['-', '−']) || matches!(self.after.trim(), "-" | "−");
        let bracketed = self.before.contains('(') && self.after.contains(')');
        match (self.negative, number < 0.0) {
            (true, true) => !minus && !bracketed,
            // outside of a part of its own the sign comes by itself
            (_, negative) => !negative && (minus || bracketed),
        }
    }
}

/// By how much at most a number looks other than it is where a cell has room for so many digits and shows as many as fit.
pub(crate) fn fitted_off(number: f64, room: f64) -> f64 {
    fitting(number, room).map_or(0.0, |places| 0.5 * 0.1_f64.powi(i32::from(places)))
}

/// How many decimals fit; none where not even the digits before the mark do.
fn fitting(number: f64, room: f64) -> Option<u8> {
    let places = (room - whole_digits(number) - 0.6).floor();
    (0..20).find(|fits| f64::from(*fits) == places)
}

/// How wide the digits before the decimal mark are, with their sign.
pub(crate) fn whole_digits(number: f64) -> f64 {
    let sign = if number < 0.0 { 0.6 } else { 0.0 };
    let mut digits = 1.0;
    let mut rest = number.abs();
    while rest >= 10.0 && digits < 400.0 {
        (rest, digits) = (rest / 10.0, digits + 1.0);
    }
    digits + sign
}

/// What a format shows of a number; ECMA-376 Part 1, 18.8.31 (from memory).
pub(crate) fn shown(code: &str, number: f64) -> Shown {
    let mut sections: Vec<Section> = sections(code).iter().map(|text| section(text)).collect();
    if sections.len() > 1 && of_texts(code).is_some() {
        sections.pop();
    }
    let conditional = sections.iter().any(|one| one.condition.is_some());
    let at = if conditional {
        let fits = |one: &Section| one.condition.as_ref().is_some_and(|it| it.holds(number));
        let free = |one: &Section| one.condition.is_none();
        sections.iter().position(fits).or_else(|| sections.iter().position(free))
    } else {
        Some(match sections.len() {
            0 | 1 => 0,
            2 => usize::from(number < 0.0),
            _ if number < 0.0 => 1,
            _ if number == 0.0 => 2,
            _ => 0,
        })
    };
    let section = at.and_then(|at| sections.get(at));
    let mut shown = section.map(|one| one.shown.clone()).unwrap_or_default();
    let of_negatives = |one: &Section| one.condition.as_ref().is_some_and(Condition::of_negatives);
    shown.negative =
        number < 0.0 && if conditional { section.is_some_and(of_negatives) } else { at == Some(1) };
    shown
}

/// What a format shows of a text; ECMA-376 Part 1, 18.8.31 (from memory): its fourth part, or the last one if that
/// holds an `@`. Without such a part a text is shown as it is.
pub(crate) fn shown_text(code: &str) -> Shown {
    let plain = Shown { digits: true, ..Shown::default() };
    of_texts(code).map_or(plain, |text| section(&text).shown)
}

/// The part of a format that is for texts.
fn of_texts(code: &str) -> Option<String> {
    let mut found = sections(code);
    let count = found.len();
    let last = found.pop()?;
    (count > 3 || holds_text(&last)).then_some(last)
}

/// Whether a part of a format has a place for a text: an `@` that is not a word of it.
fn holds_text(section: &str) -> bool {
    signs(section).any(|sign| sign == Sign::Plain('@'))
}

/// Whether a format shows every number and every text as it is, with nothing around it.
pub(crate) fn is_plain(code: &str) -> bool {
    shown_text(code).is_plain()
        && [1.0, -1.0, 0.0].iter().all(|number| {
            let shown = shown(code, *number);
            let own_sign =
                shown.negative && shown.before.trim() == "-" && !shown.turns_sign(*number);
            shown.is_plain()
                || own_sign && Shown { negative: false, before: String::new(), ..shown }.is_plain()
        })
        && !code.contains(['<', '>', '='])
}

struct Condition {
    relation: String,
    limit: f64,
}

impl Condition {
    fn read(text: &str) -> Option<Self> {
        let at = text.find(|it: char| !"<>=".contains(it)).filter(|at| *at > 0)?;
        let (relation, limit) = text.split_at_checked(at)?;
        Some(Self { relation: relation.to_owned(), limit: limit.trim().parse().ok()? })
    }

    /// Whether only negative numbers meet it: their part leaves the sign out.
    fn of_negatives(&self) -> bool {
        match self.relation.as_str() {
            "<" => self.limit <= 0.0,
            "<=" | "=" => self.limit < 0.0,
            _ => false,
        }
    }

    fn holds(&self, number: f64) -> bool {
        match self.relation.as_str() {
            "<" => number < self.limit,
            "<=" => number <= self.limit,
            ">" => number > self.limit,
            ">=" => number >= self.limit,
            "<>" => number != self.limit,
            _ => number == self.limit,
        }
    }
}

#[derive(Default)]
struct Section {
    shown: Shown,
    condition: Option<Condition>,
}

/// The second colour of the palette is white; ECMA-376 Part 1, 18.8.27 (from memory).
fn is_white(name: &str) -> bool {
    let name = name.to_ascii_lowercase().replace(' ', "");
    name == "white" || name == "color2"
}

/// The parts of a format for positive and negative numbers, for zero and for texts.
fn sections(code: &str) -> Vec<String> {
    let mut found = vec![String::new()];
    let mut signs = code.chars();
    while let Some(sign) = signs.next() {
        let Some(last) = found.last_mut() else { break };
        match sign {
            ';' => {
                found.push(String::new());
                continue;
            }
            '"' | '[' => {
                last.push(sign);
                let end = if sign == '"' { '"' } else { ']' };
                for inside in signs.by_ref() {
                    last.push(inside);
                    if inside == end {
                        break;
                    }
                }
                continue;
            }
            _ => last.push(sign),
        }
        if matches!(sign, '\\' | '_' | '*') {
            last.extend(signs.next());
        }
    }
    found
}

fn section(text: &str) -> Section {
    let mut found = Section::default();
    // what follows digits may stand between digits or after them
    let mut after = String::new();
    let mut commas = 0;
    let open = text.to_ascii_lowercase().contains("general") || text.contains("Standard");
    let text = text.replace("General", "0").replace("GENERAL", "0").replace("Standard", "0");
    let mut signs = text.chars().peekable();
    while let Some(sign) = signs.next() {
        let shown = &mut found.shown;
        if !matches!(sign, ',' | '0'..='9' | '#' | '?' | '.') {
            shown.ten -= 3 * std::mem::take(&mut commas);
        }
        let of_unit = after.contains(char::is_alphabetic);
        let mut say = |words: &str| match shown.digits {
            true => after.push_str(words),
            false => shown.before.push_str(words),
        };
        match sign {
            // of a unit, as in `0\ "min"\-1`
            '1'..='9' if of_unit => say(&sign.to_string()),
            '0'..='9' | '#' | '?' | '@' => {
                commas = 0;
                shown.between |= !after.trim().is_empty() || sign == '@' && shown.digits;
                if shown.between {
                    shown.after.push_str(&after);
                }
                after.clear();
                shown.digits = true;
            }
            '.' if shown.digits || matches!(signs.peek(), Some('0' | '#' | '?')) => {
                shown.ten -= 3 * std::mem::take(&mut commas);
            }
            ',' if shown.digits => commas += 1,
            '%' => {
                say("%");
                shown.ten += 2;
            }
            'E' | 'e' if shown.digits && matches!(signs.peek(), Some('+' | '-')) => {
                signs.next();
            }
            '/' if shown.digits && matches!(signs.peek(), Some('?' | '#' | '0'..='9')) => {}
            '"' => say(&signs.by_ref().take_while(|it| *it != '"').collect::<String>()),
            '\\' => say(&signs.next().map(String::from).unwrap_or_default()),
            '_' => {
                signs.next();
                say(" ");
            }
            // it fills the cell with its sign
            '*' => say(&signs.next().map(String::from).unwrap_or_default()),
            '[' => {
                let inside: String = signs.by_ref().take_while(|it| *it != ']').collect();
                match inside.strip_prefix('$') {
                    Some(currency) => say(currency.split('-').next().unwrap_or_default()),
                    None if is_white(&inside) => shown.white = true,
                    None => found.condition = found.condition.or_else(|| Condition::read(&inside)),
                }
            }
            other => say(&other.to_string()),
        }
    }
    found.shown.open = open;
    (found.shown.decimals, found.shown.closely) = digits_shown(&text, open);
    found.shown.ten -= 3 * commas;
    found.shown.after.push_str(&after);
    found
}

/// How many digits a part of a format shows behind the decimal mark, or how closely it shows a number as a power of ten or a
/// fraction; nothing where it shows as many as there are.
fn digits_shown(text: &str, open: bool) -> (Option<u32>, Option<Closely>) {
    let mut digits = String::new();
    let mut signs = text.chars();
    while let Some(sign) = signs.next() {
        match sign {
            '"' => drop(signs.by_ref().find(|it| *it == '"')),
            '[' => drop(signs.by_ref().find(|it| *it == ']')),
            '\\' | '_' | '*' => drop(signs.next()),
            _ => digits.push(sign),
        }
    }
    if open || !digits.contains(['0', '#', '?']) || digits.contains('@') {
        return (None, None);
    }
    let places = |text: &str| u32::try_from(text.matches(['0', '#', '?']).count()).unwrap_or(0);
    if let Some((number, _)) = digits.split_once(['E', 'e']) {
        let (before, behind) = number.split_once('.').unwrap_or((number, ""));
        return (None, Some(Closely::Power(places(before), places(behind))));
    }
    if let Some((_, below)) = digits.split_once('/') {
        let below = below.trim();
        let closely = match below.parse::<u32>() {
            Ok(parts) if parts > 0 => Closely::PartsOf(parts),
            _ => Closely::Fraction(10_u32.pow(places(below).clamp(1, 4)) - 1),
        };
        return (None, Some(closely));
    }
    (Some(digits.split_once('.').map_or(0, |(_, behind)| places(behind))), None)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn seen(code: &str, number: f64) -> (String, String, i32) {
        let shown = shown(code, number);
        (shown.before.trim().to_owned(), shown.after.trim().to_owned(), shown.ten)
    }

    #[test]
    fn words_and_scales_of_formats_are_seen() {
        for (code, number, before, after, ten) in [
            ("0\" ms\"", 40.0, "", "ms", 0),
            ("0\\ \\m\\s", 40.0, "", "ms", 0),
            ("0.0,", 1450.0, "", "", -3),
            ("0.0,,\" MW\"", 1450.0, "", "MW", -6),
            ("#,##0,.00", 1450.0, "", "", -3),
            ("#,##0.00", 1450.0, "", "", 0),
            ("0.0%", 0.5, "", "%", 2),
            ("0.0\"%\"", 0.5, "", "%", 0),
            ("[$€-407] #,##0", 5.0, "€", "", 0),
            ("\"ca. \"0", 5.0, "ca.", "", 0),
            ("0;[Red]-0", -5.0, "-", "", 0),
            ("[<1]0.0\" ms\";0\" s\"", 0.5, "", "ms", 0),
            ("[<1]0.0\" ms\";0\" s\"", 5.0, "", "s", 0),
            ("0.00E+00", 5.0, "", "", 0),
            ("# ?/?", 5.0, "", "", 0),
            ("0\" min-1\"", 5.0, "", "min-1", 0),
            ("0 m/s", 5.0, "", "m/s", 0),
            ("General\" s\"", 5.0, "", "s", 0),
            ("#,##0 ;(#,##0)", -5.0, "(", ")", 0),
        ] {
            let wanted = (before.to_owned(), after.to_owned(), ten);
            assert_eq!(seen(code, number), wanted, "{code}");
        }
    }

    #[test]
    fn what_a_format_rounds_away_is_seen() {
        for (code, number, seen) in [
            ("0", 1.408, Some(1.0)),
            ("0.0", 1.408, Some(1.4)),
            ("0.00", 1.408, Some(1.41)),
            ("#,##0", 2195.4, Some(2195.0)),
            ("0.0%", 0.8523, Some(0.852)),
            ("0.0,", 1450.0, Some(1500.0)),
            ("0.0\" m.00\"", 0.35, Some(0.4)),
            ("General", 1.408, None),
            ("0.00E+00", 1.408, Some(1.41)),
            ("0E+0", 2880.0, Some(3000.0)),
            ("0E+00", 1240.0, Some(1000.0)),
            ("0.0E+0", -0.026_32, Some(-0.026)),
            ("##0.0E+0", 12_345.0, Some(12_300.0)),
            ("0E+0\" mm\"", 856.0, Some(900.0)),
            ("# ?/?", 1.408, Some(1.4)),
            ("# ?/?", 0.0263, Some(0.0)),
            ("# ??/??", 0.0263, Some(0.026_315_789)),
            ("# ?/8", 1.408, Some(1.375)),
            ("??/16", 0.3, Some(0.3125)),
            ("@", 1.408, None),
            ("0.00;-0.0", -1.408, Some(-1.4)),
        ] {
            let found = shown(code, number).rounded(number);
            let near = |a: f64, b: f64| (a - b).abs() <= 1e-7 * b.abs();
            assert!(
                found.zip(seen).map_or(found == seen, |(a, b)| near(a, b)),
                "{code}: {found:?}"
            );
        }
    }

    #[test]
    fn formats_that_show_the_number_as_it_is_are_plain() {
        for code in
            ["General", "0", "0.00", "#,##0", "0.00E+00", "# ?/?", "@", "0;[Red]-0", "[Blue]0.0"]
        {
            assert!(is_plain(code), "{code}");
        }
        for code in ["0\" ms\"", "0,", "0%", ";;;", "0;0", "-0", "\">\"0", "0;-0;;@", "[>9]0;0.0,"]
        {
            assert!(!is_plain(code), "{code}");
        }
    }

    #[test]
    fn what_a_format_makes_of_a_text_is_seen() {
        for (code, digits, before, after) in [
            ("General", true, "", ""),
            ("0.00", true, "", ""),
            (";;", true, "", ""),
            (";;;", false, "", ""),
            ("@", true, "", ""),
            ("0;0;0;\"the check holds\"", false, "the check holds", ""),
            ("0;0;0;\"not \"@", true, "not ", ""),
            ("0;\"not \"@", true, "not ", ""),
            ("0;-0;0;@\" fails\"", true, "", " fails"),
            ("\"@\"0", true, "", ""),
        ] {
            let shown = shown_text(code);
            let found = (shown.digits, shown.before.as_str(), shown.after.as_str());
            assert_eq!(found, (digits, before, after), "{code}");
            let plain = digits && before.is_empty() && after.is_empty();
            assert_eq!(shown.is_plain(), plain, "{code}");
        }
        assert!(shown_text("@@").between && shown_text("0;0;0;[White]@").white);
        assert!(
            !is_plain("[White]0") && !is_plain("General;General;General;") && is_plain("0;-0;0;@")
        );
        // the part for texts is none for negative numbers
        assert!(!shown("0;@", -5.0).turns_sign(-5.0));
    }

    #[test]
    fn hidden_digits_and_turned_signs_are_seen() {
        assert!(!shown(";;;", 5.0).digits);
        assert!(!shown("0;-0;;@", 0.0).digits);
        assert!(shown("0;0", -5.0).turns_sign(-5.0));
        assert!(shown("-0", 5.0).turns_sign(5.0));
        assert!(shown("(0.0)", 1.0).turns_sign(1.0) && shown("*-0.0", 1.0).turns_sign(1.0));
        assert!(shown("[<0]0;0", -5.0).turns_sign(-5.0));
        assert!(!shown("[>=0]0;0", -5.0).turns_sign(-5.0));
        assert!(!shown("0;-0", -5.0).turns_sign(-5.0));
        assert!(!shown("0", -5.0).turns_sign(-5.0));
        assert!(shown("0-", 5.0).turns_sign(5.0));
        for unit in ["0\" min-1\"", "0\\ \"min\"\\-1", "0.0\" lb-ft\"", "0.0\" N-m\""] {
            assert!(!shown(unit, 5.0).turns_sign(5.0), "{unit}");
        }
        for more in ["0\"0\"", "\"1\"0.0", "0\\0", "0\"450\"", "0\".5\"", "\"n2 = \"0"] {
            assert!(shown(more, 5.0).more_digits(), "{more}");
        }
        for plain in ["0", "0.00E+00", "#,##0.0", "0\" min-1\"", "0\" 1/min\"", "0.0_)"] {
            assert!(!shown(plain, 5.0).more_digits() && !shown(plain, 5.0).between, "{plain}");
        }
        for between in ["0\"-\"000", "0\",\"0", "0-00"] {
            assert!(shown(between, 5.0).between, "{between}");
        }
        assert!(shown("0\" h \"00\" min\"", 5.0).between);
    }
}
