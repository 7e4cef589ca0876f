//! Number formats: those that a workbook uses by number without spelling them out, and which show a time.

use calamine::ExcelDateTimeType;

/// Number and code; ISO/IEC 29500-1, 18.8.30 (numFmt), the list for all languages.
const BUILT_IN: &[(u32, &str)] = &[
    (0, "General"),
    (1, "0"),
    (2, "0.00"),
    (3, "#,##0"),
    (4, "#,##0.00"),
    (9, "0%"),
    (10, "0.00%"),
    (11, "0.00E+00"),
    (12, "# ?/?"),
    (13, "# ??/??"),
    (14, "mm-dd-yy"),
    (15, "d-mmm-yy"),
    (16, "d-mmm"),
    (17, "mmm-yy"),
    (18, "h:mm AM/PM"),
    (19, "h:mm:ss AM/PM"),
    (20, "h:mm"),
    (21, "h:mm:ss"),
    (22, "m/d/yy h:mm"),
    (37, "#,##0 ;(#,##0)"),
    (38, "#,##0 ;[Red](#,##0)"),
    (39, "#,##0.00;(#,##0.00)"),
    (40, "#,##0.00;[Red](#,##0.00)"),
    (45, "mm:ss"),
    (46, "[h]:mm:ss"),
    (47, "mmss.0"),
    (48, "##0.0E+0"),
    (49, "@"),
];

/// The code of a format known by its number; `General` for any other.
pub(crate) fn built_in(number: u32) -> &'static str {
    BUILT_IN.iter().find(|(known, _)| *known == number).map_or("General", |(_, code)| code)
}

/// The signs of the code of a number format that are no text of it: neither quoted, nor after a backslash, `_` or `*`.
/// What stands in `[ ]` comes as a whole.
///
/// Source: ISO/IEC 29500-1, 18.8.31 (ECMA-376 Part 1, from memory).
pub(crate) fn signs(code: &str) -> impl Iterator<Item = Sign> {
    let mut signs = code.chars();
    std::iter::from_fn(move || {
        loop {
            match signs.next()? {
                '\\' | '_' | '*' => drop(signs.next()),
                '"' => drop(signs.by_ref().find(|sign| *sign == '"')),
                '[' => {
                    let inner = signs.by_ref().take_while(|sign| *sign != ']');
                    return Some(Sign::Bracket(inner.collect()));
                }
                sign => return Some(Sign::Plain(sign)),
            }
        }
    })
}

/// A sign of a number format.
#[derive(PartialEq)]
pub(crate) enum Sign {
    Plain(char),
    /// What stands in `[ ]`.
    Bracket(String),
}

/// Whether the code of a number format shows a date, a clock time or a duration; ISO/IEC 29500-1,
/// 18.8.31.
pub(crate) fn clock(number: u32, code: &str) -> Option<ExcelDateTimeType> {
    match number {
        // those of East Asia, which have no code here
        14..=22 | 27..=36 | 45 | 47 | 50..=58 => return Some(ExcelDateTimeType::DateTime),
        46 => return Some(ExcelDateTimeType::TimeDelta),
        _ => {}
    }
    for sign in signs(code) {
        match sign {
            Sign::Plain(';') => return None,
            Sign::Bracket(inner) => {
                let inner = inner.to_ascii_lowercase();
                let of_one = |letter: char| inner.chars().all(|sign| sign == letter);
                if !inner.is_empty() && ['h', 'm', 's'].into_iter().any(of_one) {
                    return Some(ExcelDateTimeType::TimeDelta);
                }
            }
            Sign::Plain(sign) if "dmyhs".contains(sign.to_ascii_lowercase()) => {
                return Some(ExcelDateTimeType::DateTime);
            }
            Sign::Plain(_) => {}
        }
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn dates_and_durations_are_reported_by_their_format() {
        let point = Some(ExcelDateTimeType::DateTime);
        let span = Some(ExcelDateTimeType::TimeDelta);
        // ISO/IEC 29500-1, 18.8.30 and 18.8.31
        for (number, code, expected) in [
            (0, "General", None),
            (14, "mm-dd-yy", point),
            (46, "[h]:mm:ss", span),
            (164, "0.0\" days\"", None),
            (164, "[Red]0.00;[Blue]d", None),
            (164, "yyyy\\-mm\\-dd", point),
            (164, "[mm]:ss", span),
            (164, "[$-409]h:mm AM/PM", point),
            (164, "#,##0_d", None),
            (164, "0.00E+00", None),
        ] {
            assert_eq!(clock(number, code), expected, "{code}");
        }
    }
}
