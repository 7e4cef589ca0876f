//! What an `.ods` says that a cell shows: beside each number it stores the very text that a person sees.

/// The number format that shows a number in that way; none if it shows the number as it is.
///
/// OpenDocument 1.3, part 3, 19.387 and 9.1.4 (from memory): the paragraphs of a cell are what it displays.
pub(super) fn code(number: f64, percent: bool, text: &str) -> Option<String> {
    let text = text.trim();
    // brackets in the place of a minus sign
    let bracketed = text.strip_prefix('(').and_then(|text| text.strip_suffix(')'));
    if bracketed.is_some_and(|text| number < 0.0 && shows(text, -number).is_some()) {
        return None;
    }
    let number = if percent { number * 100.0 } else { number };
    let digit = |it: char| it.is_ascii_digit();
    let Some(first) = text.find(digit) else {
        // no digit at all: hidden, or words in its place
        return Some(format!("\"{}\"", plain(text)));
    };
    let first = text.get(..first)?.trim_end_matches(['-', '−', '.', ',', '+']).len();
    let (before, rest) = text.split_at_checked(first)?;
    let mut places = None;
    let end = rest.char_indices().rev().find_map(|(at, it)| {
        let head = rest.get(..=at)?;
        let shown = shows(head, number).filter(|_| digit(it))?;
        places = shown;
        Some(at + 1)
    });
    let Some((_, after)) = end.and_then(|end| rest.split_at_checked(end)) else {
        return Some(format!("\"{}\"", plain(text)));
    };
    let (before, after) = (before.trim(), after.trim());
    let after = if percent { after.trim_start_matches('%').trim_start() } else { after };
    let scale = if percent { "%" } else { "" };
    if before.is_empty() && after.is_empty() {
        let digits = |places| format!("0.{:0<places$}", "");
        return places.map(|it| format!("{}{scale}", digits(it).trim_end_matches('.')));
    }
    Some(format!("\"{}\"0{scale}\" {}\"", plain(before), plain(after)))
}

/// A text that may stand in the quotes of a format.
fn plain(text: &str) -> String {
    text.replace('"', "″")
}

/// By what part of itself a number is shown off before it counts as rounded away.
const ROUNDED: f64 = 1e-3;

/// Whether digits show the number, rounded as they are, with a decimal point or a decimal comma; if so, with how many
/// places where it is rounded away.
fn shows(digits: &str, number: f64) -> Option<Option<usize>> {
    let digits = digits.replace('−', "-");
    let (digits, power) = match digits.split_once(['E', 'e']) {
        Some((digits, power)) => (digits.to_owned(), power.trim_start_matches('+').parse().ok()?),
        None => (digits, 0_i32),
    };
    [('.', ','), (',', '.')].into_iter().find_map(|(point, group)| {
        let whole = digits.split(point).next().unwrap_or_default();
        if !whole.split(group).skip(1).all(|it| it.trim().len() == 3) {
            return None;
        }
        let bare: String = digits
            .chars()
            .filter(|it| !(*it == group || it.is_whitespace() || matches!(it, '\'' | '’')))
            .map(|it| if it == point { '.' } else { it })
            .collect();
        let places = bare.split_once('.').map_or(0, |(_, places)| places.len());
        let last = i32::try_from(places).ok().map(|places| format!("0.5000001e{}", power - places));
        let last = last.and_then(|it| it.parse::<f64>().ok())?;
        let shown = format!("{bare}e{power}").parse::<f64>().ok()?;
        let turned = shown != 0.0 && (shown < 0.0) != (number < 0.0);
        let off = (shown - number).abs();
        let rounded = power == 0 && off > ROUNDED * number.abs();
        (!turned && off <= last + number.abs() * 1e-12).then_some(rounded.then_some(places))
    })
}

#[cfg(test)]
mod tests {
    use super::code;

    #[test]
    fn what_is_shown_beside_a_number_makes_a_format() {
        for (number, text) in [
            (1450.0, "1450"),
            (1450.0, "1,450.00"),
            (1450.0, "1.450,0"),
            (1450.0, "1 450"),
            (-1.0, "-1.0"),
            (-1450.0, "(1,450.00)"),
            (1.0 / 3.0, "0.3333333333"),
            (1.5e-5, "1.5E-05"),
            (1450.0, "1.45E+03"),
            (4.2, "4,2"),
        ] {
            assert_eq!(code(number, false, text), None, "{text}");
        }
        assert_eq!(code(0.125, true, "12.5 %"), None);
        for (number, text, wanted) in [
            (1450.0, "1450 rad/s", "\"\"0\" rad/s\""),
            (1450.0, "ca. 1450", "\"ca.\"0\" \""),
            (1450.0, "", "\"\""),
            (1450.0, "1.5", "\"1.5\""),
            (42.0, "4.2", "\"4.2\""),
            (1450.0, "145.0", "\"145.0\""),
            (-1.0, "1.0", "\"1.0\""),
            (1.0, "-1.0", "\"-1.0\""),
            (1.0, "(1.0)", "\"(\"0\" )\""),
            (0.04, "0", "0"),
            (0.152, "0.2", "0.0"),
            (5.0, "5 min-1", "\"\"0\" min-1\""),
        ] {
            assert_eq!(code(number, false, text).as_deref(), Some(wanted), "{text}");
        }
        assert_eq!(code(0.124, true, "12%").as_deref(), Some("0%"));
        assert_eq!(code(0.125, true, "0.125").as_deref(), Some("\"0.125\""));
    }
}
