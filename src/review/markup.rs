//! Text that cannot become markup, and data that cannot end its own script.

/// Text in which a number below zero has a minus sign and not a hyphen; `1e-5`, `s^-1`, `--5`, names and dates stay as
/// they are.
pub(super) fn with_minus(text: &str) -> String {
    let mut to = String::with_capacity(text.len());
    let mut before = ' ';
    let mut signs = text.chars().peekable();
    while let Some(sign) = signs.next() {
        let number = signs.peek().is_some_and(|next| next.is_ascii_digit() || *next == '.');
        let inside = before.is_alphanumeric() || matches!(before, '_' | '^' | '-' | '\u{2212}');
        to.push(if sign == '-' && number && !inside { '\u{2212}' } else { sign });
        before = sign;
    }
    to
}

/// Text for an element or a quoted attribute.
pub(super) fn escaped(text: &str) -> String {
    let mut to = String::with_capacity(text.len());
    for sign in text.chars() {
        match sign {
            '&' => to.push_str("&amp;"),
            '<' => to.push_str("&lt;"),
            '>' => to.push_str("&gt;"),
            '"' => to.push_str("&quot;"),
            '\'' => to.push_str("&#39;"),
            other => to.push(harmless(other)),
        }
    }
    to
}

/// Words for an element, with one minus sign.
pub(super) fn worded(text: &str) -> String {
    escaped(&with_minus(text))
}

/// A sign as it may be shown: XML has no place for most control characters, and those that turn the reading
/// direction round could make a figure read as another.
pub(super) fn harmless(sign: char) -> char {
    match sign {
        '\u{0}'..='\u{8}' | '\u{b}' | '\u{c}' | '\u{e}'..='\u{1f}' | '\u{7f}'..='\u{9f}' => {
            '\u{fffd}'
        }
        '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}' => '\u{fffd}',
        '\u{fffe}' | '\u{ffff}' => '\u{fffd}',
        other => other,
    }
}

/// JSON for a script element of the type `application/json`.
pub(super) fn json(value: &serde_json::Value) -> String {
    in_script(&value.to_string().replace('<', "\\u003c"))
}

/// The same for what holds markup of ours, with fewer signs: no `</s`, `<!--` or `<s` is left in it, by which
/// alone such an element ends or changes its state (HTML, "script data" states).
pub(super) fn json_with_markup(value: &serde_json::Value) -> String {
    let text = value.to_string().replace("</s", "<\\/s").replace("</S", "<\\/S");
    let text = text.replace("<!", "\\u003c!");
    in_script(&text.replace("<s", "\\u003cs").replace("<S", "\\u003cS"))
}

fn in_script(text: &str) -> String {
    let text = text.replace('\u{2028}', "\\u2028").replace('\u{2029}', "\\u2029");
    text.chars().map(harmless).collect()
}

/// Base 64 of RFC 4648, with padding.
pub(super) fn base64(bytes: &[u8]) -> String {
    const SIGNS: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    let mut to = String::new();
    for three in bytes.chunks(3) {
        let at = |place: usize| u32::from(three.get(place).copied().unwrap_or(0));
        let all = at(0) << 16 | at(1) << 8 | at(2);
        for place in 0..4_usize {
            if place > three.len() {
                to.push('=');
                continue;
            }
            let six = all >> (18 - 6 * place) & 63;
            let sign =
                usize::try_from(six).ok().and_then(|six| SIGNS.get(six)).copied().unwrap_or(b'A');
            to.push(char::from(sign));
        }
    }
    to
}

/// Words in which numbers stay with their units.
pub(super) fn tied_words(text: &str) -> String {
    let mut to = String::new();
    let mut before = ' ';
    let signs: Vec<char> = with_minus(text).chars().collect();
    for (at, sign) in signs.iter().enumerate() {
        let next = signs.get(at + 1).copied().unwrap_or(' ');
        let tied = *sign == ' '
            && (before.is_ascii_digit() && !next.is_ascii_lowercase()
                || next == '='
                || before == '=');
        to.push(if tied { '\u{a0}' } else { *sign });
        before = *sign;
    }
    escaped(&to)
}

#[cfg(test)]
mod tests {
    use super::*;

    // RFC 4648, section 10
    #[test]
    fn base64_of_the_test_vectors() {
        for (text, code) in [
            ("", ""),
            ("f", "Zg=="),
            ("fo", "Zm8="),
            ("foo", "Zm9v"),
            ("foob", "Zm9vYg=="),
            ("foobar", "Zm9vYmFy"),
        ] {
            assert_eq!(base64(text.as_bytes()), code);
        }
    }

    #[test]
    fn a_script_cannot_be_ended_from_within() {
        let text = json(&serde_json::json!("</script><!--"));
        assert_eq!(text, "\"\\u003c/script>\\u003c!--\"");
    }
}
