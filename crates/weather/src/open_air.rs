//! From weather as it was measured to what open water meets: what is lacking is filled in, and evaporation worked out.

use jiff::ToSpan;
use jiff::civil::Date;
use springhouse_core::time::{Span, Time};
use springhouse_core::weather::WeatherHour;

use crate::evaporation::{Coast, DayAir, clear_sun_mj_m2, reference_mm, sun_by_temperatures_mj_m2};
use crate::ground::AirOfYear;
use crate::hour::{Day, Hour, Weather};
use crate::place::Place;
use crate::rain::MOST_RAIN_MM_PER_H;
use crate::sun::Sun;

/// Wind where none was measured: FAO-56 takes 2 m/s, the mean of 2000 stations (value from memory).
const USUAL_WIND_M_S: f64 = 2.0;

/// Weather by chance around odd normals may leave what is known on Earth: it is held to that.
const COLDEST_AIR_C: f64 = -90.0;
const HOTTEST_AIR_C: f64 = 60.0;

const HOURS: usize = 24;
const HOURS_A_DAY: f64 = 24.0;
/// A megajoule in a day, as hours of a watt.
const WH_PER_MJ: f64 = 1.0 / 3.6e-3;

impl Weather {
    /// The hours of a run of so many days from the midnight that opens `first_day`; `None` where the weather does not reach so
    /// far.
    ///
    /// Evaporation is that of the reference crop by FAO-56, by the day, and comes with the sun: hours share the day's in
    /// proportion to theirs. A dew point or wind that was not measured is the mean of its day; where that has none, the day's low
    /// (FAO-56) and 2 m/s. Sun that was not measured is that of the daily range.
    #[must_use]
    pub fn over(&self, place: &Place, first_day: Date, days: u32) -> Option<Vec<WeatherHour>> {
        self.days_from(0, place, first_day, days)
    }

    /// The whole days that are known before that midnight, by the hour.
    #[must_use]
    pub fn ahead(&self, place: &Place, first_day: Date) -> Vec<WeatherHour> {
        let days = u32::try_from((Time::ZERO - self.start).ns().div_euclid(Span::DAY.ns())).unwrap_or(0);
        self.days_from(-i64::from(days), place, first_day, days).unwrap_or_default()
    }

    /// Whole days from one on, counted from the run's first.
    fn days_from(&self, from: i64, place: &Place, first_day: Date, days: u32) -> Option<Vec<WeatherHour>> {
        let before = (Time::from_day(from) - self.start).ns().div_euclid(Span::HOUR.ns());
        let before = usize::try_from(before).ok()?;
        let count = HOURS.checked_mul(usize::try_from(days).ok()?)?;
        let hours = self.hours.get(before..before.checked_add(count)?)?;
        let mut over = Vec::with_capacity(count);
        for (number, hours) in (from..from + i64::from(days)).zip(hours.chunks(HOURS)) {
            let date = first_day.saturating_add(number.days());
            over.extend(of_day(hours, &Day::of(number, hours), place, date));
        }
        Some(over)
    }
}

fn of_day<'h>(hours: &'h [Hour], day: &Day, place: &Place, date: Date) -> impl Iterator<Item = WeatherHour> + use<'h> {
    let day_of_year = date.day_of_year();
    let heights = heights(place, date);
    let all: f64 = heights.iter().sum();
    // In a polar night the day's hours are alike.
    let by_height = heights.map(|height| if all > 0.0 { height / all } else { 1.0 / HOURS_A_DAY });
    let ranged_mj_m2 = sun_by_temperatures_mj_m2(day.high_c, day.low_c, Coast::Inland, place, day_of_year);
    let sun_w_m2 = |i: usize, hour: &Hour| hour.sun_w_m2.unwrap_or(by_height[i] * ranged_mj_m2 * WH_PER_MJ);
    let has_sun = hours.iter().any(|hour| hour.sun_w_m2.is_some());
    let sun_wh_m2: f64 = hours.iter().enumerate().map(|(i, hour)| sun_w_m2(i, hour)).sum();
    // An hour without a measurement is as those of its day that have one.
    let (dew_point_c, wind_m_s) = (mean(hours, |hour| hour.dew_point_c), mean(hours, |hour| hour.wind_m_s));
    let sun_mj_m2 = has_sun.then_some(sun_wh_m2 / WH_PER_MJ);
    let air = DayAir { high_c: day.high_c, low_c: day.low_c, dew_point_c, wind_m_s, sun_mj_m2 };
    let evaporation_mm = reference_mm(&air, place, day_of_year).max(0.0);
    let clear_mj_m2 = clear_sun_mj_m2(place, day_of_year);
    let clearness = sun_wh_m2 / WH_PER_MJ / clear_mj_m2;
    let cloud = if clear_mj_m2 > 0.0 { cloud_of(clearness) } else { SUNLESS_CLOUD };
    let (usual_dew_c, usual_wind_m_s) = (dew_point_c.unwrap_or(day.low_c), wind_m_s.unwrap_or(USUAL_WIND_M_S));
    hours.iter().enumerate().map(move |(i, hour)| {
        let sun_w_m2 = hour.sun_w_m2.unwrap_or(by_height[i] * ranged_mj_m2 * WH_PER_MJ);
        WeatherHour {
            air_c: hour.air_c.clamp(COLDEST_AIR_C, HOTTEST_AIR_C),
            dew_point_c: hour.dew_point_c.unwrap_or(usual_dew_c).clamp(COLDEST_AIR_C, HOTTEST_AIR_C),
            wind_m_s: hour.wind_m_s.unwrap_or(usual_wind_m_s),
            sun_w_m2,
            cloud,
            rain_mm: hour.rain_mm.unwrap_or(0.0).min(MOST_RAIN_MM_PER_H),
            evaporation_mm: evaporation_mm * if sun_wh_m2 > 0.0 { sun_w_m2 / sun_wh_m2 } else { by_height[i] },
        }
    })
}

/// Mean over the hours in which something was measured.
fn mean(hours: &[Hour], of: impl Fn(&Hour) -> Option<f64>) -> Option<f64> {
    let (sum, count) = hours.iter().filter_map(of).fold((0.0, 0.0), |(sum, count), value| (sum + value, count + 1.0));
    (count > 0.0).then(|| sum / count)
}

/// Cloud by the sun of a day over that of a clear sky: what FAO-56 takes off the loss to the sky for it (eq. 39), `1.35 R - 0.35`
/// with `R` held to 0.3 and 1 (ASCE 2005).
fn cloud_of(clearness: f64) -> f64 {
    (1.35 * (1.0 - clearness.clamp(0.3, 1.0))).min(1.0)
}

/// Cloud where there is no sun to go by: half of it. Our own choice.
const SUNLESS_CLOUD: f64 = 0.5;

/// Sine of the sun's height in the middle of each hour; zero while it is down.
fn heights(place: &Place, date: Date) -> [f64; HOURS] {
    let midnight = place.midnight_j2000(date);
    let mut hour = 0.5;
    [(); HOURS].map(|()| {
        let sun = Sun::at(place, midnight + hour / HOURS_A_DAY);
        hour += 1.0;
        libm::cos(sun.zenith_deg.to_radians()).max(0.0)
    })
}

impl AirOfYear {
    /// The year of the air in a record of a whole one; `None` where a month has no hour in it.
    #[must_use]
    pub fn of(year: &Weather, first_day: Date, southern: bool) -> Option<Self> {
        let (mut coldest_c, mut warmest_c) = (f64::INFINITY, f64::NEG_INFINITY);
        for month_c in year.month_air_c(first_day) {
            coldest_c = coldest_c.min(month_c?);
            warmest_c = warmest_c.max(month_c?);
        }
        Some(Self { mean_c: year.mean_air_c()?, range_k: warmest_c - coldest_c, southern })
    }
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;

    const PLACE: Place = Place { latitude_deg: 43.5, longitude_deg: -72.0, elevation_m: 180.0, utc_offset_h: -5.0 };

    /// Three days, warm at four in the afternoon; some of it was not measured.
    fn weather(measured: bool) -> Weather {
        let hour = |i: u32| {
            let of_day = f64::from(i % 24);
            let sun_w_m2 = (600.0 - 100.0 * (of_day - 12.0).abs()).max(0.0);
            Hour {
                air_c: 18.0 - 0.5 * (of_day - 16.0).abs(),
                dew_point_c: measured.then_some(9.0),
                wind_m_s: measured.then_some(1.5),
                sun_w_m2: measured.then_some(sun_w_m2),
                rain_mm: (i == 30).then_some(4.0),
            }
        };
        Weather { start: Time::ZERO - Span::DAY, hours: (0..72).map(hour).collect() }
    }

    #[test]
    fn exact_hours_share_the_evaporation_of_their_day() {
        let hours = weather(true).over(&PLACE, date(2027, 6, 10), 2).unwrap();
        assert_eq!(hours.len(), 48);
        let day = DayAir {
            high_c: 18.0,
            low_c: 10.0,
            dew_point_c: Some(9.0),
            wind_m_s: Some(1.5),
            sun_mj_m2: Some(3_600.0 * 3.6e-3),
        };
        for (day_of_year, hours) in (161..).zip(hours.chunks(24)) {
            let sum: f64 = hours.iter().map(|hour| hour.evaporation_mm).sum();
            let expected = reference_mm(&day, &PLACE, day_of_year);
            assert!((sum / expected - 1.0).abs() < 1e-12, "{sum} mm for {expected}");
            // 500 of 3600 W at eleven.
            assert!((hours[11].evaporation_mm / (expected * 500.0 / 3_600.0) - 1.0).abs() < 1e-12);
            assert_eq!(hours[2].evaporation_mm, 0.0);
        }
        let clear_mj_m2 = clear_sun_mj_m2(&PLACE, 161);
        assert!((hours[0].cloud - 1.35 * (1.0 - 12.96 / clear_mj_m2)).abs() < 1e-12 && hours[0].cloud > 0.5);
        // The run begins a day into the record.
        assert_eq!((hours[6].rain_mm, hours[30].rain_mm), (4.0, 0.0));
        assert_eq!((hours[0].dew_point_c, hours[0].wind_m_s, hours[12].sun_w_m2), (9.0, 1.5, 600.0));
    }

    #[test]
    fn exact_what_is_lacking_is_filled_in() {
        let hours = weather(false).over(&PLACE, date(2027, 6, 10), 1).unwrap();
        let expected = crate::evaporation::hargreaves_mm(18.0, 10.0, &PLACE, 161);
        let sum: f64 = hours.iter().map(|hour| hour.evaporation_mm).sum();
        assert!((sum / expected - 1.0).abs() < 1e-12, "{sum} mm for {expected}");
        let sun: f64 = hours.iter().map(|hour| 3.6e-3 * hour.sun_w_m2).sum();
        let expected = sun_by_temperatures_mj_m2(18.0, 10.0, Coast::Inland, &PLACE, 161);
        assert!((sun / expected - 1.0).abs() < 1e-12, "{sun} MJ/m2 for {expected}");
        // At 72 degrees west the sun is highest a quarter before twelve, plus the equation of time.
        assert!(hours[11].sun_w_m2 > hours[12].sun_w_m2 && hours[3].sun_w_m2 == 0.0 && hours[4].sun_w_m2 > 0.0);
        assert!(hours.iter().all(|hour| hour.dew_point_c == 10.0 && hour.wind_m_s == 2.0 && hour.is_sound()));
    }

    #[test]
    fn a_gap_of_an_hour_changes_little() {
        let mut gaps = weather(true);
        let whole = gaps.over(&PLACE, date(2027, 6, 10), 1).unwrap();
        (gaps.hours[30].wind_m_s, gaps.hours[34].dew_point_c, gaps.hours[36].sun_w_m2) = (None, None, None);
        let patched = gaps.over(&PLACE, date(2027, 6, 10), 1).unwrap();
        let sum = |hours: &[WeatherHour]| hours.iter().map(|hour| hour.evaporation_mm).sum::<f64>();
        assert!((sum(&patched) / sum(&whole) - 1.0).abs() < 0.05, "{} and {} mm", sum(&patched), sum(&whole));
        assert_eq!((patched[6].wind_m_s, patched[10].dew_point_c), (1.5, 9.0));
    }

    #[test]
    fn weather_that_does_not_reach_is_none() {
        assert!(weather(true).over(&PLACE, date(2027, 6, 10), 3).is_none());
        assert!(
            Weather { start: Time::ZERO + Span::HOUR, ..weather(true) }.over(&PLACE, date(2027, 6, 10), 1).is_none()
        );
    }

    #[test]
    fn a_polar_night_has_hours_too() {
        let north = Place { latitude_deg: 80.0, ..PLACE };
        let hours = weather(false).over(&north, date(2027, 12, 20), 1).unwrap();
        assert!(hours.iter().all(|hour| hour.sun_w_m2 == 0.0 && hour.evaporation_mm >= 0.0 && hour.is_sound()));
    }
}
