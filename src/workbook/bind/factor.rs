//! Words that say a factor of the values around them.

use crate::unit::is_unit;

/// Words between `divide` and `by`.
const BETWEEN: usize = 4;

/// `speeds ×1000`, `Inputs (x 10^3)`, `in thousands`, `10⁻³ kg·m²`, `value 1e-3`; `4711/100`, `1000 mm table` and
/// `800 x 1000 mm` are none.
pub(super) fn is_factor(text: &str) -> bool {
    let said: Vec<String> = text.split_whitespace().map(str::to_lowercase).collect();
    // `mal 0,8`, `· 0.8`, `mit 0,8 multiplizieren`: a share that stands alone before or behind its word
    let share = |it: &String| it.starts_with("0.") || it.starts_with("0,");
    match said.as_slice() {
        [sign, number] if matches!(sign.as_str(), "mal" | "times" | "·") && share(number) => {
            return true;
        }
        [with, number, verb] if with == "mit" && share(number) && verb.starts_with("multipliz") => {
            return true;
        }
        _ => {}
    }
    let many = |word: &str| word.starts_with("thousand") || word.starts_with("million");
    // `two million stops` are counted
    let words = said.iter().enumerate().any(|(at, word)| {
        let before = at.checked_sub(1).and_then(|at| said.get(at)).map_or("", String::as_str);
        many(word.trim_matches(['(', ')', '[', ']', ',']))
            && (said.len() == 1 || matches!(before, "in" | "by" | "×"))
    });
    // `to be divided by 10`, `divide J by 4`
    let by = ["divide", "divided", "multiply", "multiplied"];
    let verb = said.iter().position(|word| by.contains(&word.as_str()));
    let by = verb.is_some_and(|at| {
        let rest = said.get(at + 1..).unwrap_or_default();
        let mut pairs = rest.iter().zip(rest.iter().skip(1)).take(BETWEEN);
        pairs.any(|(word, number)| {
            word == "by" && number.starts_with(|it: char| it.is_ascii_digit())
        })
    });
    let mut before = None;
    let times = text.char_indices().any(|(at, sign)| {
        let first = before.replace(sign).is_none_or(|it: char| !it.is_alphanumeric());
        let sign = matches!(sign, '×' | '*' | '÷') || first && matches!(sign, 'x' | 'X');
        // what no factor begins at is not looked around: a remark may be long
        if !sign {
            return false;
        }
        let (ahead, rest) = text.split_at_checked(at).unwrap_or_default();
        let rest = rest.trim_start_matches(|it: char| {
            !it.is_ascii_digit() && (it.is_whitespace() || "×*÷xX".contains(it))
        });
        // two numbers are a size, and a quantity with a factor a product of its own
        let ends_in_digit = |text: &str| text.ends_with(|it: char| it.is_ascii_digit());
        let ahead = ahead.trim_end();
        let of_quantity = ahead
            .rsplit_once([' ', '\u{a0}'])
            .is_some_and(|(number, unit)| ends_in_digit(number.trim_end()) && is_unit(unit));
        let size = ends_in_digit(ahead) || of_quantity;
        !size
            && (rest.starts_with("10")
                || rest.starts_with("1e")
                || rest.starts_with("0.")
                || rest.starts_with("0,"))
    });
    let mut parts = text.split(|it: char| it.is_whitespace() || "·×*()[],;:=".contains(it));
    words || by || times || parts.any(is_power_of_ten)
}

/// `10⁻³`, `10^3`, `10^-3`, `1e-3`, `1e3`, `10³`; with a sign after a power of ten only behind a minus: `10-3`.
fn is_power_of_ten(word: &str) -> bool {
    let digits = |text: &str, of: &str| !text.is_empty() && text.chars().all(|it| of.contains(it));
    let small = word.strip_prefix("1e").or_else(|| word.strip_prefix("1E-"));
    let power = word.strip_prefix("10^").or(small);
    let up = word.strip_prefix("10").map(|rest| rest.trim_start_matches(['⁻', '⁺']));
    power.is_some_and(|it| digits(it.trim_start_matches(['-', '−', '+']), "0123456789"))
        || up.is_some_and(|it| digits(it, "⁰¹²³⁴⁵⁶⁷⁸⁹"))
}
