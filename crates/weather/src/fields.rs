//! The lines of a record and the fields of a row.

use jiff::civil::{Date, DateTime};
use springhouse_core::time::{Span, Time};

use crate::error::Problem;

/// No run and no record is longer than this, nor further away from the other.
const MOST_DAYS: i64 = 36_525;

/// Lines that are no comments and not blank, each with its number, counted from 1.
pub(crate) fn lines(text: &str) -> impl Iterator<Item = (u64, &str)> {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    (1..).zip(text.lines().map(str::trim)).filter(|(_, line)| !line.is_empty() && !line.starts_with('#'))
}

/// The fields of a line. No field that is accepted has a comma in it, so quotes are only taken off.
pub(crate) fn fields(line: &str) -> Vec<&str> {
    line.split(',').map(unquoted).collect()
}

fn unquoted(field: &str) -> &str {
    let field = field.trim();
    field.strip_prefix('"').and_then(|rest| rest.strip_suffix('"')).map_or(field, str::trim)
}

/// The instant of a date and time in local standard time, as `2027-06-04 06:00`; a date alone is its midnight.
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

/// A number, 0 or more; `accepted` says what it is.
pub(crate) fn amount(text: &str, accepted: &'static str) -> Result<f64, Problem> {
    match text.parse::<f64>() {
        Ok(value) if value.is_finite() && value >= 0.0 => Ok(value),
        Ok(_) => Err(Problem::OutOfRange { found: shortened(text), accepted }),
        Err(_) => Err(Problem::NotANumber { found: shortened(text), accepted }),
    }
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
