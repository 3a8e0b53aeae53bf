//! The fields of a row: times and numbers.

use jiff::civil::{Date, DateTime};
use springhouse_core::time::{Span, Time};

use crate::errors::Problem;

/// No run and no table is longer than this, nor further away from the other.
const MOST_DAYS: i64 = 36_525;

/// The instant of a date and time in local standard time, as `2027-06-04T06:31:20`; a date alone is its midnight. Times
/// count from the midnight that opens `first_day`.
///
/// # Errors
/// Text that is no date and time, or has an offset; more than 36 525 days between the two.
pub fn time(text: &str, first_day: Date) -> Result<Time, Problem> {
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
///
/// # Errors
/// Text that is no number, or one that is not finite or does not fit.
pub fn number(text: &str, accepted: &'static str, fits: impl Fn(f64) -> bool) -> Result<f64, Problem> {
    match text.parse::<f64>() {
        Ok(value) if value.is_finite() && fits(value) => Ok(value),
        Ok(_) => Err(Problem::OutOfRange { found: shortened(text), accepted }),
        Err(_) => Err(Problem::NotANumber { found: shortened(text), accepted }),
    }
}

/// A text as it fits on a line of a message: control characters as spaces, the end cut off.
#[must_use]
pub fn shortened(text: &str) -> String {
    const MOST_CHARS: usize = 60;
    let mut short: String = text.chars().take(MOST_CHARS).map(|c| if c.is_control() { ' ' } else { c }).collect();
    if text.chars().nth(MOST_CHARS).is_some() {
        short.push_str("...");
    }
    short
}
