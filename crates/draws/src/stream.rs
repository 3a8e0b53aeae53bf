//! One stream of draws in order of time, out of a daily schedule, a household and a log.

use jiff::ToSpan;
use jiff::civil::Date;
use springhouse_core::draw::Draw;
use springhouse_core::time::{Span, Time};

use crate::household::HouseholdStream;
use crate::schedule::DailyDraw;

/// Draws sorted by start; those that start together come in the order they were declared, the schedule first, then the
/// household, then the log.
///
/// The schedule repeats every day until [`Time`] ends, 292 years on; without a schedule, and without a household, the
/// stream ends with the log. A draw that began before [`Time::ZERO`] and is not over by then starts at zero and wants
/// only the rest of its volume. Nothing is allocated after construction, but for what a [`HouseholdStream`] says of it.
#[derive(Clone, Debug)]
pub struct DrawStream {
    /// The schedule in order of time of day, each entry with its place in the declaration.
    daily: Vec<(usize, DailyDraw)>,
    /// Day 0, and its day of the week; Monday is 0.
    first_day: Date,
    first_weekday: usize,
    /// Day and place in `daily` of the next scheduled draw.
    next_daily: Option<(i64, usize)>,
    /// What is not repeated, with its place in the declaration: draws from before midnight, then the log.
    once: Vec<(usize, Draw)>,
    /// Place in `once` of the next draw.
    next_once: usize,
    household: Option<Box<HouseholdStream>>,
    /// The next draw of the household.
    next_household: Option<Draw>,
}

/// The last day whose draws still start within [`Time`].
pub(crate) const LAST_DAY: i64 = i64::MAX / Span::DAY.ns() - 1;

/// Places in the declaration behind all entries of a schedule.
const HOUSEHOLD: usize = usize::MAX - 1;
const LOGGED: usize = usize::MAX;

/// Where a draw comes from.
#[derive(Clone, Copy)]
enum Source {
    Daily,
    Household,
    /// Not repeated.
    Once,
}

impl DrawStream {
    /// Merges a schedule, repeated from a first day, with logged draws.
    ///
    /// Entries must keep to what [`DailyDraw`] says of its fields. A draw of no length is left out, since a [`Draw`] ends
    /// after it starts; so is a logged draw that is over before [`Time::ZERO`].
    #[must_use]
    pub fn new(schedule: &[DailyDraw], first_day: Date, log: Vec<Draw>) -> Self {
        debug_assert!(
            schedule.iter().all(|d| d.start >= Span::ZERO && d.start < Span::DAY && d.length <= Span::DAY),
            "a daily draw starts within the day and lasts a day at most"
        );
        let mut daily: Vec<(usize, DailyDraw)> =
            schedule.iter().cloned().enumerate().filter(|(_, entry)| entry.length > Span::ZERO).collect();
        daily.sort_by_key(|(_, entry)| entry.start);

        let first_weekday = usize::from(first_day.weekday().to_monday_zero_offset().unsigned_abs());
        let day_before = weekday(first_weekday, -1);
        let carried = daily
            .iter()
            .filter(|(_, entry)| entry.falls_on(-1, day_before, || month(first_day, -1)))
            .map(|(i, e)| (*i, e.on_day(-1)));
        let logged = log.into_iter().map(|draw| (LOGGED, draw));
        let mut once: Vec<(usize, Draw)> = carried
            .chain(logged)
            .map(|(order, draw)| (order, Draw { start: draw.start.max(Time::ZERO), ..draw }))
            .filter(|(_, draw)| draw.end > draw.start)
            .collect();
        once.sort_by_key(|&(order, draw)| (draw.start, order));

        let mut stream = Self {
            daily,
            first_day,
            first_weekday,
            next_daily: None,
            once,
            next_once: 0,
            household: None,
            next_household: None,
        };
        stream.next_daily = stream.search(0, 0);
        stream
    }

    /// Merges the draws of a household as well, instead of those of any before. It should begin with day 0.
    #[must_use]
    pub fn with_household(mut self, mut household: HouseholdStream) -> Self {
        self.next_household = household.next().map(|next| next.draw);
        self.household = Some(Box::new(household));
        self
    }

    /// The first scheduled draw from a place on a day onwards. However rare an entry is, and even if it falls on no day,
    /// the search is over after [`LAST_DAY`].
    fn search(&self, mut day: i64, mut from: usize) -> Option<(i64, usize)> {
        if self.daily.is_empty() {
            return None;
        }
        while day <= LAST_DAY {
            let today = weekday(self.first_weekday, day);
            let ahead = self.daily.get(from..).unwrap_or_default();
            if let Some(skipped) =
                ahead.iter().position(|(_, entry)| entry.falls_on(day, today, || month(self.first_day, day)))
            {
                return Some((day, from + skipped));
            }
            (day, from) = (day + 1, 0);
        }
        None
    }
}

impl Iterator for DrawStream {
    type Item = Draw;

    fn next(&mut self) -> Option<Draw> {
        let daily = self.next_daily.map(|(day, place)| {
            let (order, entry) = &self.daily[place];
            (*order, entry.on_day(day))
        });
        let household = self.next_household.map(|draw| (HOUSEHOLD, draw));
        let once = self.once.get(self.next_once).copied();
        let (mut next, mut source) = (daily, Source::Daily);
        for (offer, of) in [(household, Source::Household), (once, Source::Once)] {
            if comes_first(offer.as_ref(), next.as_ref()) {
                (next, source) = (offer, of);
            }
        }
        let (_, draw) = next?;
        match source {
            Source::Daily => self.next_daily = self.next_daily.and_then(|(day, place)| self.search(day, place + 1)),
            Source::Household => {
                self.next_household = self.household.as_mut().and_then(|household| Some(household.next()?.draw));
            }
            Source::Once => self.next_once += 1,
        }
        Some(draw)
    }
}

/// Whether a draw, with its place in the declaration, comes before another.
fn comes_first(one: Option<&(usize, Draw)>, other: Option<&(usize, Draw)>) -> bool {
    match (one, other) {
        (Some((order, one)), Some((other_order, other))) => (one.start, order) < (other.start, other_order),
        (one, _) => one.is_some(),
    }
}

/// Day of the week of a day, Monday is 0.
#[expect(clippy::cast_possible_truncation, reason = "a remainder of 7 lies in 0..7")]
fn weekday(first_weekday: usize, day: i64) -> usize {
    (first_weekday + day.rem_euclid(7).unsigned_abs() as usize) % 7
}

/// Month of a day, January is 0.
fn month(first_day: Date, day: i64) -> usize {
    usize::from(first_day.saturating_add(day.days()).month().unsigned_abs()) - 1
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;
    use springhouse_core::draw::{DrawKind, Flow, Warmth};

    use super::*;
    use crate::schedule::EVERY_MONTH;

    const EVERY_DAY: [bool; 7] = [true; 7];
    const MONDAY: Date = date(2027, 6, 7);

    fn entry(outlet: usize, start_h: i64, length_h: i64, weekdays: [bool; 7]) -> DailyDraw {
        let hours = |h: i64| Span::from_ns(h * Span::HOUR.ns());
        let flow = Flow::from_lps(0.1);
        DailyDraw {
            outlet,
            start: hours(start_h),
            length: hours(length_h),
            flow,
            kind: DrawKind::Timed,
            warmth: Warmth::COLD,
            weekdays,
            every: 1,
            offset: 0,
            skips: Vec::new(),
            months: EVERY_MONTH,
        }
    }

    fn logged(outlet: usize, start_h: i64, end_h: i64) -> Draw {
        let hours = |h: i64| Time::from_ns(h * Span::HOUR.ns());
        let flow = Flow::from_lps(0.2);
        Draw { start: hours(start_h), end: hours(end_h), outlet, flow, kind: DrawKind::Volume, warmth: Warmth::COLD }
    }

    /// Start and end in hours, and outlet, of the first draws.
    fn first(stream: DrawStream, n: usize) -> Vec<(i64, i64, usize)> {
        let hours = |t: Time| t.ns() / Span::HOUR.ns();
        stream.take(n).map(|d| (hours(d.start), hours(d.end), d.outlet)).collect()
    }

    #[test]
    fn draws_from_the_evening_before_are_clipped() {
        let schedule = [entry(0, 23, 2, EVERY_DAY), entry(1, 22, 2, EVERY_DAY)];
        let stream = DrawStream::new(&schedule, MONDAY, vec![]);
        // The one that ends at midnight is over.
        assert_eq!(first(stream, 4), [(0, 1, 0), (22, 24, 1), (23, 25, 0), (46, 48, 1)]);
    }

    #[test]
    fn draws_from_the_evening_before_honour_their_weekday() {
        let mut sunday = [false; 7];
        sunday[6] = true;
        let schedule = [entry(0, 23, 2, sunday)];
        let monday = DrawStream::new(&schedule, MONDAY, vec![]);
        assert_eq!(first(monday, 2), [(0, 1, 0), (6 * 24 + 23, 7 * 24 + 1, 0)]);
        let tuesday = DrawStream::new(&schedule, date(2027, 6, 8), vec![]);
        assert_eq!(first(tuesday, 1), [(5 * 24 + 23, 6 * 24 + 1, 0)]);
    }

    #[test]
    fn days_are_counted_from_the_offset() {
        let every = |every, offset| DailyDraw { every, offset, ..entry(0, 23, 2, EVERY_DAY) };
        let days = |entry: DailyDraw| -> Vec<i64> {
            DrawStream::new(&[entry], MONDAY, vec![]).map(|draw| draw.start.day()).take(3).collect()
        };
        // What crosses the first midnight is of the day before, which is not counted.
        assert_eq!(days(every(3, 0)), [0, 3, 6]);
        assert_eq!(days(every(3, 2)), [2, 5, 8]);
        assert_eq!(days(every(2, 40)), [40, 42, 44]);
        // Every day: from the evening before on, whatever the offset.
        for every in [every(1, 0), every(1, 5), every(0, 0), every(0, 5)] {
            let stream = DrawStream::new(&[every], MONDAY, vec![]);
            assert_eq!(first(stream, 3), [(0, 1, 0), (23, 25, 0), (47, 49, 0)]);
        }
    }

    #[test]
    fn exact_skipped_days_are_left_out() {
        let days = |entry: DailyDraw| -> Vec<i64> {
            DrawStream::new(&[entry], MONDAY, vec![]).map(|draw| draw.start.day()).take(4).collect()
        };
        let late = entry(0, 23, 2, EVERY_DAY);
        assert_eq!(days(late.clone()), [0, 0, 1, 2]);
        // On the evening before the run, which crosses into it, too.
        assert_eq!(days(DailyDraw { skips: vec![-1, 1, 2, 5], ..late }), [0, 3, 4, 6]);
    }

    #[test]
    fn a_season_opens_and_shuts() {
        let mut months = [false; 12];
        months[5] = true;
        let june = DailyDraw { months, ..entry(0, 5, 1, EVERY_DAY) };
        let days: Vec<_> =
            DrawStream::new(&[june], date(2027, 5, 30), vec![]).map(|draw| draw.start.day()).take(32).collect();
        // 30 days from the 1st of June, then those of the next year.
        assert_eq!((days[0], days[29], days[30]), (2, 31, 2 + 366));
    }

    #[test]
    fn counted_days_keep_to_their_weekdays() {
        let mut wednesday = [false; 7];
        wednesday[2] = true;
        let days = |every, offset| -> Vec<i64> {
            let schedule = [DailyDraw { every, offset, ..entry(0, 5, 1, wednesday) }];
            DrawStream::new(&schedule, MONDAY, vec![]).map(|draw| draw.start.day()).take(3).collect()
        };
        assert_eq!(days(2, 0), [2, 16, 30]);
        assert_eq!(days(7, 9), [9, 16, 23]);
        assert_eq!(days(7, 10), [0; 0]);
    }

    #[test]
    fn rare_draws_are_found_and_end_with_time() {
        let every = |every, offset| DailyDraw { every, offset, ..entry(0, 5, 1, EVERY_DAY) };
        let days = |entry: DailyDraw| -> Vec<i64> {
            DrawStream::new(&[entry], MONDAY, vec![]).map(|draw| draw.start.day()).collect()
        };
        assert_eq!(days(every(50_000, 1)), [1, 50_001, 100_001]);
        assert_eq!(days(every(u32::MAX, 0)), [0]);
        assert_eq!(days(every(2, u32::MAX)), [0; 0]);
    }

    #[test]
    fn equal_starts_keep_the_declared_order() {
        let schedule = [entry(5, 0, 1, EVERY_DAY), entry(4, 23, 3, EVERY_DAY), entry(3, 0, 1, EVERY_DAY)];
        let log = vec![logged(9, 0, 1), logged(8, -2, 1), logged(7, -2, 0)];
        let stream = DrawStream::new(&schedule, date(2027, 6, 11), log);
        // At zero: the schedule as declared, clipped or not; then the log as given, without what is over.
        assert_eq!(first(stream, 5), [(0, 1, 5), (0, 2, 4), (0, 1, 3), (0, 1, 9), (0, 1, 8)]);
    }

    #[test]
    fn log_alone_ends() {
        let mut stream = DrawStream::new(&[], MONDAY, vec![logged(1, 5, 6), logged(0, 3, 9)]);
        assert_eq!(first(stream.clone(), 9), [(3, 9, 0), (5, 6, 1)]);
        assert_eq!(stream.nth(2), None);
        assert_eq!(stream.next(), None);
    }

    #[test]
    fn schedule_without_days_is_empty() {
        let schedule = [entry(0, 5, 1, [false; 7])];
        assert_eq!(DrawStream::new(&schedule, MONDAY, vec![]).next(), None);
    }

    #[test]
    fn schedule_ends_with_time() {
        let schedule = [entry(0, 5, 1, EVERY_DAY)];
        let stream = DrawStream::new(&schedule, MONDAY, vec![]);
        let last = stream.last().unwrap();
        assert!(last.end > last.start && last.start.day() == LAST_DAY);
    }
}
