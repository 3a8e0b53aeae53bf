//! From weather as it was measured to what open water meets: what is lacking is filled in, and evaporation worked out.

use jiff::ToSpan;
use jiff::civil::Date;
use springhouse_core::time::{Span, Time};
use springhouse_core::weather::WeatherHour;

use crate::evaporation::{Coast, DayAir, reference_mm, sun_by_temperatures_mj_m2};
use crate::ground::AirOfYear;
use crate::hour::{Day, Hour, Weather};
use crate::place::Place;
use crate::sun::Sun;

/// Wind where none was measured: FAO-56 takes 2 m/s, the mean of 2000 stations (value from memory).
const USUAL_WIND_M_S: f64 = 2.0;

const HOURS: usize = 24;
const HOURS_A_DAY: f64 = 24.0;
/// A megajoule in a day, as hours of a watt.
const WH_PER_MJ: f64 = 1.0 / 3.6e-3;

impl Weather {
    /// The hours of a run of so many days from the midnight that opens `first_day`; `None` where the weather does not reach so
    /// far.
    ///
    /// Evaporation is that of the reference crop by FAO-56, by the day, and comes with the sun: hours share the day's in
    /// proportion to theirs. A dew point that was not measured is the day's low (FAO-56), wind 2 m/s, sun that of the daily range.
    #[must_use]
    pub fn over(&self, place: &Place, first_day: Date, days: u32) -> Option<Vec<WeatherHour>> {
        let before = usize::try_from((Time::ZERO - self.start).ns().div_euclid(Span::HOUR.ns())).ok()?;
        let count = HOURS.checked_mul(usize::try_from(days).ok()?)?;
        let hours = self.hours.get(before..before.checked_add(count)?)?;
        let mut over = Vec::with_capacity(count);
        for (number, hours) in (0..i64::from(days)).zip(hours.chunks(HOURS)) {
            let date = first_day.saturating_add(number.days());
            over.extend(of_day(hours, &Day::of(number, hours), place, date));
        }
        Some(over)
    }
}

fn of_day<'h>(hours: &'h [Hour], day: &Day, place: &Place, date: Date) -> impl Iterator<Item = WeatherHour> + use<'h> {
    let air = DayAir {
        high_c: day.high_c,
        low_c: day.low_c,
        dew_point_c: day.dew_point_c,
        wind_m_s: day.wind_m_s,
        sun_mj_m2: day.sun_mj_m2,
    };
    let day_of_year = date.day_of_year();
    let evaporation_mm = reference_mm(&air, place, day_of_year).max(0.0);
    let ranged_mj_m2 = || sun_by_temperatures_mj_m2(day.high_c, day.low_c, Coast::Inland, place, day_of_year);
    let sun_mj_m2 = day.sun_mj_m2.unwrap_or_else(ranged_mj_m2);
    let heights = heights(place, date);
    let all: f64 = heights.iter().sum();
    // In a polar night the day's hours are alike.
    let by_height = heights.map(|height| if all > 0.0 { height / all } else { 1.0 / HOURS_A_DAY });
    let measured: Option<Vec<f64>> = hours.iter().map(|hour| hour.sun_w_m2).collect();
    let measured = measured.map(|suns| (suns.iter().sum::<f64>(), suns)).filter(|(sum, _)| *sum > 0.0);
    let (low_c, low_dew_c) = (day.low_c, day.dew_point_c.unwrap_or(day.low_c));
    hours.iter().enumerate().map(move |(i, hour)| {
        let share = match &measured {
            Some((sum, suns)) => suns[i] / sum,
            None => by_height[i],
        };
        WeatherHour {
            air_c: hour.air_c,
            dew_point_c: hour.dew_point_c.unwrap_or(low_dew_c.min(low_c)),
            wind_m_s: hour.wind_m_s.unwrap_or(USUAL_WIND_M_S),
            sun_w_m2: hour.sun_w_m2.unwrap_or(by_height[i] * sun_mj_m2 * WH_PER_MJ),
            rain_mm: hour.rain_mm.unwrap_or(0.0),
            evaporation_mm: share * evaporation_mm,
        }
    })
}

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
