//! Days of the calendar.

/// The number of a day written as `2026-03-02`, counted from 1970-01-01; none where it is no day.
///
/// Source: Gregorian calendar, ISO 8601; counted by years that begin in March.
pub(crate) fn day(text: &str) -> Option<i64> {
    let mut parts = text.trim().split('-');
    let mut next = |digits: usize| {
        let part = parts.next()?;
        (part.len() == digits && part.bytes().all(|it| it.is_ascii_digit()))
            .then(|| part.parse::<i64>().ok())?
    };
    let (year, month, date) = (next(4)?, next(2)?, next(2)?);
    if parts.next().is_some() {
        return None;
    }
    let leap = (year % 4 == 0 && year % 100 != 0) || year % 400 == 0;
    let long = match month {
        2 => 28 + i64::from(leap),
        4 | 6 | 9 | 11 => 30,
        1..=12 => 31,
        _ => return None,
    };
    if !(1..=long).contains(&date) {
        return None;
    }
    let (year, month) = if month > 2 { (year, month - 3) } else { (year - 1, month + 9) };
    let era = year.div_euclid(400);
    let of_era = year - era * 400;
    Some(
        era * 146_097 + of_era * 365 + of_era / 4 - of_era / 100 + (153 * month + 2) / 5 + date
            - 1
            - 719_468,
    )
}

/// The day of a number of days since 1970-01-01, as `2026-03-02`.
///
/// Source: as [`day`], counted in eras of 400 years.
pub(crate) fn written_day(days: i64) -> String {
    if !(-719_528..=2_932_896).contains(&days) {
        return "beyond the calendar".to_owned();
    }
    let shifted = days + 719_468;
    let (era, day) = (shifted.div_euclid(146_097), shifted.rem_euclid(146_097));
    let year = (day - day / 1_460 + day / 36_524 - day / 146_096) / 365;
    let in_year = day - (365 * year + year / 4 - year / 100);
    let month = (5 * in_year + 2) / 153;
    let date = in_year - (153 * month + 2) / 5 + 1;
    let (month, next) = if month < 10 { (month + 3, 0) } else { (month - 9, 1) };
    format!("{:04}-{month:02}-{date:02}", year + era * 400 + next)
}

#[cfg(test)]
mod tests {
    use super::*;

    // days of the Unix epoch: 2000-02-29 is 951 782 400 s, 2026-03-02 is 1 772 409 600 s
    #[test]
    fn days_are_counted_by_the_calendar() {
        for (text, days) in
            [("1970-01-01", 0), ("2000-02-29", 11_016), ("2026-03-02", 20_514), ("1969-12-31", -1)]
        {
            assert_eq!(day(text), Some(days), "{text}");
            assert_eq!(written_day(days), text);
        }
        for text in [
            "2026-02-29", "2026-13-01", "02.03.2026", "2026-3-2", "2026-04-31", "2026-01-01-01", "",
        ] {
            assert_eq!(day(text), None, "{text}");
        }
        for days in (-40_000..80_000).step_by(7) {
            assert_eq!(day(&written_day(days)), Some(days));
        }
        assert_eq!(written_day(-719_528), "0000-01-01");
        assert_eq!(written_day(2_932_896), "9999-12-31");
        assert_eq!(written_day(2_932_897), "beyond the calendar");
    }
}
