//! Instants of a run as dates and times of day, local standard time.

use jiff::ToSpan;
use jiff::civil::{Date, DateTime, Weekday};
use springhouse_core::time::Time;

/// The date of day `day` of a run, day 0 being the first; past the calendar's end it stays at the end.
#[must_use]
pub fn date(first_day: Date, day: i64) -> Date {
    first_day.saturating_add(day.clamp(-4_000_000, 4_000_000).days())
}

/// Date and time of day of an instant of a run.
#[must_use]
pub fn at(first_day: Date, time: Time) -> DateTime {
    let within_ns = (time - Time::from_day(time.day())).ns();
    date(first_day, time.day()).at(0, 0, 0, 0).saturating_add(within_ns.nanoseconds())
}

/// `2026-08-03T06:12:03`, whole seconds.
#[must_use]
pub fn iso_seconds(first_day: Date, time: Time) -> String {
    at(first_day, time).strftime("%Y-%m-%dT%H:%M:%S").to_string()
}

/// `2026-08-03T06:12:03.123`. Cut, not rounded, so that an instant stays in its second and its day.
#[must_use]
pub fn iso_millis(first_day: Date, time: Time) -> String {
    at(first_day, time).strftime("%Y-%m-%dT%H:%M:%S.%3f").to_string()
}

/// `Tue 4 Aug 2026, 07:12`.
#[must_use]
pub fn spoken(moment: DateTime) -> String {
    format!("{}, {}", spoken_date(moment.date()), moment.strftime("%H:%M"))
}

/// `Tue 4 Aug 2026`.
#[must_use]
pub fn spoken_date(date: Date) -> String {
    format!("{} {} {} {}", weekday(date), date.day(), month(date), date.year())
}

/// The days of a run: `Mon 3 Aug 2026`, `3 to 9 Aug 2026`, `30 Aug to 5 Sep 2026`.
#[must_use]
pub fn stretch(first_day: Date, days: u32) -> String {
    let last_day = date(first_day, i64::from(days) - 1);
    let last = format!("{} {} {}", last_day.day(), month(last_day), last_day.year());
    if first_day == last_day {
        spoken_date(first_day)
    } else if first_day.year() != last_day.year() {
        format!("{} {} {} to {last}", first_day.day(), month(first_day), first_day.year())
    } else if first_day.month() != last_day.month() {
        format!("{} {} to {last}", first_day.day(), month(first_day))
    } else {
        format!("{} to {last}", first_day.day())
    }
}

/// An ISO 8601 local time as people say it; what cannot be read is handed on as it is.
#[must_use]
pub fn spoken_iso(iso: &str) -> String {
    iso.parse::<DateTime>().map_or_else(|_| iso.to_owned(), spoken)
}

/// The date of an ISO 8601 local time as people say it; what cannot be read is handed on as it is.
#[must_use]
pub fn spoken_iso_date(iso: &str) -> String {
    iso.parse::<DateTime>().map_or_else(|_| iso.to_owned(), |moment| spoken_date(moment.date()))
}

/// Three letters of the weekday.
#[must_use]
pub fn weekday(date: Date) -> &'static str {
    match date.weekday() {
        Weekday::Monday => "Mon",
        Weekday::Tuesday => "Tue",
        Weekday::Wednesday => "Wed",
        Weekday::Thursday => "Thu",
        Weekday::Friday => "Fri",
        Weekday::Saturday => "Sat",
        Weekday::Sunday => "Sun",
    }
}

/// Three letters of the month.
#[must_use]
pub fn month(date: Date) -> &'static str {
    const MONTHS: [&str; 12] = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"];
    usize::try_from(date.month()).ok().and_then(|m| MONTHS.get(m - 1)).copied().unwrap_or("")
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date as day;

    #[test]
    fn exact_instants_become_dates() {
        let first = day(2028, 2, 28);
        let late = Time::from_ns(2 * 86_400_000_000_000 - 1);
        assert_eq!(iso_millis(first, late), "2028-02-29T23:59:59.999");
        assert_eq!(iso_seconds(first, Time::from_day(2)), "2028-03-01T00:00:00");
        assert_eq!(spoken(at(first, Time::from_s(26_000.0))), "Mon 28 Feb 2028, 07:13");
        assert_eq!(iso_seconds(first, Time::from_s(-1.0)), "2028-02-27T23:59:59");
    }

    #[test]
    fn exact_stretches_name_what_differs() {
        assert_eq!(stretch(day(2026, 8, 3), 1), "Mon 3 Aug 2026");
        assert_eq!(stretch(day(2026, 8, 3), 7), "3 to 9 Aug 2026");
        assert_eq!(stretch(day(2026, 8, 30), 7), "30 Aug to 5 Sep 2026");
        assert_eq!(stretch(day(2026, 12, 31), 2), "31 Dec 2026 to 1 Jan 2027");
    }

    #[test]
    fn instants_past_the_calendar_do_not_panic() {
        assert_eq!(at(day(9999, 12, 31), Time::NEVER).year(), 9999);
    }
}
