//! Lengths of time in several units, dates, and times of day.

use jiff::civil::{Date, DateTime, Time};

use super::parse::{QuantityError, in_range, misplaced_unit, number, unit_part};
use super::unit::DURATION;

/// Seconds of a length of time: `"90 s"`, `"1 h 30 min"`; parts must fall from the larger unit to the smaller.
///
/// # Errors
/// See [`QuantityError`].
pub fn duration_s(text: &str) -> Result<f64, QuantityError> {
    let (mut seconds, mut at, mut last_unit_s) = (0.0, 0, f64::INFINITY);
    loop {
        let rest = text.get(at..).unwrap_or_default();
        let (value, length) = number(rest).ok_or(QuantityError::NoNumber)?;
        let all = unit_part(text, at + length)?;
        let words = text.get(all.clone()).unwrap_or_default();
        let letters = words.find(|letter: char| letter.is_ascii_digit()).unwrap_or(words.len());
        let name = words.get(..letters).unwrap_or_default().trim_end();
        let part = all.start..all.start + name.len();
        let Some(unit) = DURATION.find(name) else {
            return Err(misplaced_unit(name, part, &DURATION));
        };
        if unit.factor >= last_unit_s {
            return Err(QuantityError::NotFalling);
        }
        seconds += in_range(value * unit.factor, &DURATION)?;
        (at, last_unit_s) = (all.start + letters, unit.factor);
        if at >= all.end {
            return in_range(seconds, &DURATION);
        }
    }
}

/// A date, `2027-06-06`.
#[must_use]
pub fn date(text: &str) -> Option<Date> {
    let text = text.trim();
    (text.len() == 10).then(|| text.parse().ok())?
}

/// Whether a text begins like a date, of a day that the calendar does not have: `2027-02-30`.
#[must_use]
pub fn is_no_day(text: &str) -> bool {
    let shape =
        |(index, letter): (usize, char)| if matches!(index, 4 | 7) { letter == '-' } else { letter.is_ascii_digit() };
    let day = text.trim().get(..10);
    day.is_some_and(|day| day.char_indices().all(shape) && date(day).is_none())
}

/// A date and a time of day, `2027-06-06 02:30`; seconds may follow.
#[must_use]
pub fn date_time(text: &str) -> Option<DateTime> {
    let (day, time) = text.trim().split_once(['T', 't', ' '])?;
    Some(date(day)?.to_datetime(time_of_day(time)?))
}

/// A time of day, `06:30` or `06:30:15`.
#[must_use]
pub fn time_of_day(text: &str) -> Option<Time> {
    let text = text.trim();
    let mut parts = text.split(':');
    let mut part = |least: usize| {
        let digits = parts.next()?;
        let fits = (least..=2).contains(&digits.len()) && digits.bytes().all(|byte| byte.is_ascii_digit());
        fits.then(|| digits.parse::<i8>().ok())?
    };
    let (hour, minute) = (part(1)?, part(2)?);
    let second = if text.matches(':').count() > 1 { part(2)? } else { 0 };
    if text.matches(':').count() > 2 {
        return None;
    }
    Time::new(hour, minute, second, 0).ok()
}

/// The time of day that a text probably means which is not written as one: `6:20 am` is `06:20`, `24:30` is `00:30`.
#[must_use]
pub fn meant_time(text: &str) -> Option<String> {
    let text = text.trim().to_ascii_lowercase().replace('.', "");
    let (clock, half) = match (text.strip_suffix("am"), text.strip_suffix("pm")) {
        (Some(clock), _) => (clock.trim_end(), Some(0)),
        (_, Some(clock)) => (clock.trim_end(), Some(12)),
        _ => (text.as_str(), None),
    };
    let (hour, minute) = clock.split_once(':').unwrap_or((clock, "00"));
    let hour: i8 = hour.parse().ok()?;
    let hour = match half {
        Some(half) if (1..=12).contains(&hour) => hour % 12 + half,
        None if hour == 24 => 0,
        _ => return None,
    };
    let time = time_of_day(&format!("{hour}:{minute}"))?;
    Some(format!("{:02}:{:02}", time.hour(), time.minute()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn exact_lengths_of_time() {
        for (text, seconds) in
            [("90 s", 90.0), ("1 h 30 min", 5_400.0), ("1h30min", 5_400.0), ("2 days", 172_800.0), ("0.5 h", 1_800.0)]
        {
            assert_eq!(duration_s(text), Ok(seconds), "{text}");
        }
        assert_eq!(duration_s("1 day 2 hours 3 minutes 4 seconds"), Ok(93_784.0));
    }

    #[test]
    fn a_muddled_length_of_time_is_refused() {
        assert_eq!(duration_s("30 min 1 h"), Err(QuantityError::NotFalling));
        assert_eq!(duration_s("1 h 1 h"), Err(QuantityError::NotFalling));
        assert_eq!(duration_s("1 h 30"), Err(QuantityError::NoUnit));
        assert_eq!(duration_s("-1 h"), Err(QuantityError::TooSmall));
        assert_eq!(duration_s(""), Err(QuantityError::NoNumber));
        let error = duration_s("5 m 10 s");
        assert!(matches!(error, Err(QuantityError::OtherDimension { what: "a length", .. })), "{error:?}");
    }

    #[test]
    fn exact_moments() {
        assert_eq!(date("2027-06-06"), Some(jiff::civil::date(2027, 6, 6)));
        for text in ["2027-06-06 02:30", "2027-06-06T02:30:00", "2027-06-06 2:30"] {
            assert_eq!(date_time(text), Some(jiff::civil::date(2027, 6, 6).at(2, 30, 0, 0)), "{text}");
        }
        for text in ["2027-02-30", "6 June 2027", "2027-6-6"] {
            assert_eq!(date(text), None, "{text}");
            assert_eq!(is_no_day(text), text == "2027-02-30", "{text}");
        }
        assert!(is_no_day("2027-13-01 02:30") && !is_no_day("2027-06-06") && !is_no_day("2027-06-06T25:30"));
        for text in ["24:00", "6", "06:60", "06:30pm", "06:30:00:00", "-1:30", ""] {
            assert_eq!(time_of_day(text), None, "{text}");
        }
        assert_eq!(date_time("2027-06-06T02:30:00Z"), None);
    }

    #[test]
    fn a_time_of_the_twelve_hour_clock_is_understood() {
        for (text, meant) in [
            ("6:20 am", "06:20"),
            ("12:05AM", "00:05"),
            ("12:05 p.m.", "12:05"),
            ("9pm", "21:00"),
            ("24:30", "00:30"),
            ("24:00", "00:00"),
        ] {
            assert_eq!(meant_time(text).as_deref(), Some(meant), "{text}");
        }
        for text in ["13:20 pm", "25:00", "noon", "6:75 am", "", "pm"] {
            assert_eq!(meant_time(text), None, "{text}");
        }
    }
}
