//! Weather hour by hour, and what it amounts to by day and month.

use jiff::ToSpan;
use jiff::civil::Date;
use springhouse_core::roof::RainStep;
use springhouse_core::time::{Span, Time};

use crate::rain::rain_before_mm;

/// Weather from an hour's begin to the next. What was not measured is `None`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Hour {
    /// Temperature of the air.
    pub air_c: f64,
    /// Dew point of the air.
    pub dew_point_c: Option<f64>,
    /// Wind 2 m above the ground.
    pub wind_m_s: Option<f64>,
    /// Sun on a level square metre, direct and from the sky, as a mean over the hour.
    pub sun_w_m2: Option<f64>,
    /// Rain that fell in the hour.
    pub rain_mm: Option<f64>,
}

/// Weather of whole hours that follow one another, in local standard time.
#[derive(Clone, Debug, PartialEq)]
pub struct Weather {
    /// When the first hour begins, counted from the first midnight of the run.
    pub start: Time,
    /// The hours.
    pub hours: Vec<Hour>,
}

/// Of how many hours something was not measured.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Lacking {
    /// Hours without dew point.
    pub dew_point: usize,
    /// Hours without wind.
    pub wind: usize,
    /// Hours without sun.
    pub sun: usize,
    /// Hours without rain.
    pub rain: usize,
}

/// A day, from midnight to midnight. What is not known of every hour is `None`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Day {
    /// Which day; 0 is the first of the run.
    pub day: i64,
    /// Temperature of its warmest hour.
    pub high_c: f64,
    /// Temperature of its coldest hour.
    pub low_c: f64,
    /// Mean dew point.
    pub dew_point_c: Option<f64>,
    /// Mean wind 2 m above the ground.
    pub wind_m_s: Option<f64>,
    /// Sun of the day on a level square metre.
    pub sun_mj_m2: Option<f64>,
    /// Rain of the day.
    pub rain_mm: Option<f64>,
}

/// Megajoules of a watt in an hour.
const MJ_PER_WH: f64 = 0.0036;

/// No run is longer: a hundred years.
pub(crate) const MOST_DAYS: u32 = 36_525;

pub(crate) const HOURS_A_DAY: usize = 24;

impl Weather {
    /// When an hour begins, by its index.
    fn begin(&self, hour: usize) -> Time {
        let hour = i64::try_from(hour).unwrap_or(i64::MAX);
        self.start + Span::from_ns(hour.saturating_mul(Span::HOUR.ns()))
    }

    /// The rain, hour by hour without a gap, dry ones among them. An hour without a measurement is dry: see
    /// [`Self::lacking`].
    #[must_use]
    pub fn rain(&self) -> Vec<RainStep> {
        let step = |(i, hour): (usize, &Hour)| RainStep {
            start: self.begin(i),
            end: self.begin(i + 1),
            depth_mm: hour.rain_mm.unwrap_or(0.0),
        };
        self.hours.iter().enumerate().map(step).collect()
    }

    /// What was not measured.
    #[must_use]
    pub fn lacking(&self) -> Lacking {
        let count = |of: fn(&Hour) -> Option<f64>| self.hours.iter().filter(|hour| of(hour).is_none()).count();
        Lacking {
            dew_point: count(|hour| hour.dew_point_c),
            wind: count(|hour| hour.wind_m_s),
            sun: count(|hour| hour.sun_w_m2),
            rain: count(|hour| hour.rain_mm),
        }
    }

    /// Puts the rain of a record in place of its own.
    pub fn set_rain(&mut self, rain: &[RainStep]) {
        for i in 0..self.hours.len() {
            let end = self.begin(i) + Span::HOUR;
            // Steps that are over by then, or begin after it, add nothing: only those around the hour are looked at.
            let from = rain.partition_point(|step| step.end <= end - Span::HOUR);
            let to = rain.partition_point(|step| step.start < end);
            let around = rain.get(from..to.max(from)).unwrap_or_default();
            self.hours[i].rain_mm = Some(rain_before_mm(around, end, Span::HOUR));
        }
    }

    /// Mean temperature of the air over all hours; `None` without hours.
    #[must_use]
    pub fn mean_air_c(&self) -> Option<f64> {
        mean(self.hours.iter().map(|hour| hour.air_c))
    }

    /// Mean temperature of the air in each month, January first, over all hours that fall in it; `None` for a month of which
    /// there is none.
    #[must_use]
    pub fn month_air_c(&self, first_day: Date) -> [Option<f64>; 12] {
        let mut months = [const { Vec::new() }; 12];
        for (i, hour) in self.hours.iter().enumerate() {
            let date = first_day.saturating_add(self.begin(i).day().days());
            if let Some(month) = months.get_mut(month_index(date)) {
                month.push(hour.air_c);
            }
        }
        months.map(|month| mean(month.into_iter()))
    }

    /// The whole days, in order of time.
    pub fn days(&self) -> impl Iterator<Item = Day> {
        // Hours before the first midnight belong to a day that is not whole.
        let midnight = (0..self.hours.len()).find(|&i| self.begin(i) == Time::from_day(self.begin(i).day()));
        let first = midnight.unwrap_or(self.hours.len());
        let whole = self.hours.get(first..).unwrap_or_default().chunks_exact(HOURS_A_DAY);
        (self.begin(first).day()..).zip(whole).map(|(day, hours)| Day::of(day, hours))
    }
}

impl Day {
    pub(crate) fn of(day: i64, hours: &[Hour]) -> Self {
        let of_all = |part: fn(&Hour) -> Option<f64>| -> Option<Vec<f64>> { hours.iter().map(part).collect() };
        let mean_of = |part| of_all(part).and_then(|all| mean(all.into_iter()));
        let air = || hours.iter().map(|hour| hour.air_c);
        Self {
            day,
            high_c: air().fold(f64::NEG_INFINITY, f64::max),
            low_c: air().fold(f64::INFINITY, f64::min),
            dew_point_c: mean_of(|hour| hour.dew_point_c),
            wind_m_s: mean_of(|hour| hour.wind_m_s),
            sun_mj_m2: of_all(|hour| hour.sun_w_m2).map(|all| MJ_PER_WH * all.iter().sum::<f64>()),
            rain_mm: of_all(|hour| hour.rain_mm).map(|all| all.iter().sum()),
        }
    }
}

/// January is 0.
pub(crate) fn month_index(date: Date) -> usize {
    usize::from(date.month().unsigned_abs()) - 1
}

#[expect(clippy::cast_precision_loss, reason = "hours of a run, far fewer than 2^53")]
fn mean(values: impl Iterator<Item = f64>) -> Option<f64> {
    let (mut sum, mut count) = (0.0, 0_usize);
    for value in values {
        sum += value;
        count += 1;
    }
    (count > 0).then(|| sum / count as f64)
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;

    /// Two days and a half from ten in the evening, warmer by a degree each hour.
    fn weather() -> Weather {
        let hour = |i: u32| Hour {
            air_c: f64::from(i),
            dew_point_c: Some(2.0),
            wind_m_s: (i != 30).then_some(f64::from(i % 2)),
            sun_w_m2: Some(if i % 24 == 10 { 500.0 } else { 0.0 }),
            rain_mm: Some(if i == 3 { 4.0 } else { 0.0 }),
        };
        Weather { start: Time::from_s(-7_200.0), hours: (0..62).map(hour).collect() }
    }

    #[test]
    fn exact_days() {
        let days: Vec<Day> = weather().days().collect();
        let day = |day, low_c, wind_m_s, rain_mm| Day {
            day,
            high_c: low_c + 23.0,
            low_c,
            dew_point_c: Some(2.0),
            wind_m_s,
            sun_mj_m2: Some(1.8),
            rain_mm: Some(rain_mm),
        };
        assert_eq!(days, [day(0, 2.0, Some(0.5), 4.0), day(1, 26.0, None, 0.0)]);
    }

    #[test]
    fn exact_means() {
        let weather = weather();
        assert_eq!(weather.mean_air_c(), Some(30.5));
        let months = weather.month_air_c(date(2028, 3, 1));
        assert_eq!(months[1], Some(0.5), "two hours of 29 February");
        assert_eq!(months[2], Some(31.5));
        assert_eq!(months[0], None);
        assert_eq!(Weather { start: Time::ZERO, hours: Vec::new() }.mean_air_c(), None);
    }

    #[test]
    fn rain_is_told_by_the_hour() {
        let rain = weather().rain();
        let hour = |h| Time::from_ns(h * Span::HOUR.ns());
        assert_eq!(rain.len(), 62);
        assert_eq!(rain[3], RainStep { start: hour(1), end: hour(2), depth_mm: 4.0 });
        assert!(rain.windows(2).all(|pair| pair[0].end == pair[1].start));
    }

    #[test]
    fn exact_rain_of_another_record() {
        let mut weather = weather();
        let rain = |from_h: f64, to_h: f64, depth_mm| RainStep {
            start: Time::from_s(3_600.0 * from_h),
            end: Time::from_s(3_600.0 * to_h),
            depth_mm,
        };
        weather.set_rain(&[rain(-9.0, -1.5, 7.5), rain(0.25, 2.5, 9.0), rain(2.5, 2.75, 1.0)]);
        let fell: Vec<f64> = weather.hours.iter().take(6).map(|hour| hour.rain_mm.unwrap()).collect();
        assert_eq!(fell, [0.5, 0.0, 3.0, 4.0, 3.0, 0.0]);
        assert_eq!(weather.lacking().rain, 0);
    }

    #[test]
    fn what_was_not_measured_is_counted() {
        let mut weather = weather();
        weather.hours[0].rain_mm = None;
        assert_eq!(weather.lacking(), Lacking { dew_point: 0, wind: 1, sun: 0, rain: 1 });
        assert_eq!(weather.rain()[0].depth_mm, 0.0);
    }
}
