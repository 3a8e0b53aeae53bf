//! The fields of a row: times, numbers, buildings.

use jiff::civil::{Date, DateTime};
use springhouse_core::time::{Span, Time};

use super::error::Problem;

/// No run and no log is longer than this, nor further away from the other.
const MOST_DAYS: i64 = 36_525;

/// The instant of a date and time in local standard time, as `2027-06-04T06:31:20`; a date alone is its midnight.
pub(crate) fn time(text: &str, first_day: Date) -> Result<Time, Problem> {
    let not_a_time = || Problem::NotATime { found: shortened(text) };
    // An offset would be dropped without a word, and with it the hour of daylight-saving time.
    let plain = |c: char| c.is_ascii_digit() || matches!(c, '-' | ':' | '.' | 'T' | 't' | ' ');
    if !text.chars().all(plain) || text.matches('-').count() != 2 {
        return Err(not_a_time());
    }
    let parsed: DateTime = text.parse().map_err(|_| not_a_time())?;
    let since = parsed.duration_since(first_day.to_datetime(jiff::civil::Time::midnight()));
    match i64::try_from(since.as_nanos()) {
        Ok(ns) if ns.abs() <= MOST_DAYS * Span::DAY.ns() => Ok(Time::from_ns(ns)),
        _ => Err(Problem::TimeTooFar { found: shortened(text), most_days: MOST_DAYS }),
    }
}

/// A number for which `fits` holds; `accepted` says what that is.
pub(crate) fn number(text: &str, accepted: &'static str, fits: impl Fn(f64) -> bool) -> Result<f64, Problem> {
    match text.parse::<f64>() {
        Ok(value) if value.is_finite() && fits(value) => Ok(value),
        Ok(_) => Err(Problem::OutOfRange { found: shortened(text), accepted }),
        Err(_) => Err(Problem::NotANumber { found: shortened(text), accepted }),
    }
}

/// The index of a building by its name; where there is only one, no name is needed.
pub(crate) fn building(text: &str, outlets: &[String]) -> Result<usize, Problem> {
    if text.is_empty() {
        return match outlets.len() {
            1 => Ok(0),
            _ => Err(Problem::FieldEmpty { accepted: format!("one of {}", names(outlets)) }),
        };
    }
    outlets.iter().position(|name| name == text).ok_or_else(|| Problem::UnknownBuilding {
        found: shortened(text),
        names: names(outlets),
        nearest: nearest(text, outlets.iter().map(String::as_str)).map(str::to_owned),
    })
}

/// Names in quotes, separated by commas.
pub(crate) fn names(outlets: &[String]) -> String {
    outlets.iter().map(|name| format!("`{name}`")).collect::<Vec<_>>().join(", ")
}

/// The name most like a text, if any is much like it.
pub(crate) fn nearest<'n>(text: &str, names: impl Iterator<Item = &'n str>) -> Option<&'n str> {
    const ALIKE: f64 = 0.6;
    let text = text.to_lowercase();
    names
        .map(|name| (strsim::normalized_damerau_levenshtein(&text, &name.to_lowercase()), name))
        .filter(|(likeness, _)| *likeness >= ALIKE)
        // Of equals the first, so that the hint does not depend on anything but the order of the plant.
        .reduce(|best, other| if other.0 > best.0 { other } else { best })
        .map(|(_, name)| name)
}

/// A text as it fits on a line of a message: control characters as spaces, the end cut off.
pub(crate) fn shortened(text: &str) -> String {
    const MOST_CHARS: usize = 60;
    let mut short: String = text.chars().take(MOST_CHARS).map(|c| if c.is_control() { ' ' } else { c }).collect();
    if text.chars().nth(MOST_CHARS).is_some() {
        short.push_str("...");
    }
    short
}
