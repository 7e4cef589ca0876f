//! What the reading library gives, and its panics, made ours.

use std::panic::{AssertUnwindSafe, catch_unwind};

use calamine::{DataRef, ExcelDateTime};

use super::archive::unreadable;
use crate::diagnostic::Problems;
use crate::spreadsheet::model::cell::Cell;

/// A value as the library gives it, each kind for itself.
pub(crate) fn from_library(value: &DataRef<'_>) -> Cell {
    match value {
        DataRef::Empty => Cell::Empty,
        #[allow(clippy::cast_precision_loss, reason = "a cell holds no more than a double")]
        DataRef::Int(number) => Cell::Number(*number as f64),
        DataRef::Float(number) if number.is_finite() => Cell::Number(*number),
        DataRef::Float(number) => Cell::Text(number.to_string()),
        DataRef::String(text) => Cell::Text(text.clone()),
        DataRef::SharedString(text) => Cell::Text((*text).to_owned()),
        DataRef::Bool(truth) => Cell::Truth(*truth),
        DataRef::Error(error) => Cell::Error(error.to_string()),
        DataRef::DateTime(date) => Cell::Date(date_text(date)),
        DataRef::DateTimeIso(date) | DataRef::DurationIso(date) => Cell::Date(date.clone()),
    }
}

pub(crate) fn date_text(date: &ExcelDateTime) -> String {
    if date.is_duration() {
        let seconds = (date.as_f64() * 86_400.0).round();
        let (hours, rest) = ((seconds / 3600.0).floor(), seconds.rem_euclid(3600.0));
        return format!("PT{hours}H{}M{}S", (rest / 60.0).floor(), rest.rem_euclid(60.0));
    }
    let (year, month, day, hour, minute, second, _) = date.to_ymd_hms_milli();
    let clock = format!("{hour:02}:{minute:02}:{second:02}");
    if date.as_f64() < 1.0 {
        return clock;
    }
    let day = format!("{year:04}-{month:02}-{day:02}");
    if clock == "00:00:00" { day } else { format!("{day} {clock}") }
}

thread_local! {
    /// Whether a library works on bytes that are not ours.
    static CAREFUL: std::cell::Cell<bool> = const { std::cell::Cell::new(false) };
}

/// Whether a panic of this thread becomes a message: it has no text of its own then.
pub(crate) fn is_careful() -> bool {
    CAREFUL.get()
}

/// Runs a library on bytes that are not ours: its errors and its panics become one of ours.
pub(crate) fn careful<T, E: ToString>(
    name: &str,
    run: impl FnOnce() -> Result<T, E>,
) -> Result<T, Problems> {
    let before = CAREFUL.replace(true);
    let outcome = catch_unwind(AssertUnwindSafe(run));
    CAREFUL.set(before);
    match outcome {
        Ok(Ok(value)) => Ok(value),
        Ok(Err(error)) => Err(unreadable(name, &error.to_string()).into()),
        Err(_) => Err(unreadable(name, "its content is not what its parts promise").into()),
    }
}
