//! Weather by chance from monthly normals, after C. W. Richardson, Water Resources Research 17 (1981) 182: wet and dry days
//! in a chain, rain of the wet ones by a distribution, temperature and sun with a memory around their course over the year.
//!
//! The weather of a date follows from normals, seed and run alone, never from the first day or the length of a run.

mod chance;
mod daylight;
mod within_day;

use core::f64::consts::FRAC_1_SQRT_2;

use jiff::ToSpan;
use jiff::civil::{Date, date};
use springhouse_core::time::Time;
use springhouse_random::{LogNormal, Stream};

use crate::course::Course;
use crate::hour::{Hour, MOST_DAYS, Weather, month_index};
use crate::normals::{Fault, MONTH_DAYS, Normals};
pub(crate) use daylight::Daylight;

/// How weather strays from its normals.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Spread {
    /// Correlation of wet and dry days with the day before, 0 to 0.9.
    pub wet_persistence: f64,
    /// Standard deviation of a day's temperature from the course over the year.
    pub air_deviation_k: f64,
    /// Correlation of that with the day before, 0 to 0.9.
    pub air_persistence: f64,
    /// Correlation of cloud with the day before among dry or wet days, 0 to 0.9.
    pub sky_persistence: f64,
    /// Coefficient of variation of a factor of mean 1 on the rain of a water year, from October to September. Without it years
    /// are too much alike.
    pub year_cv: f64,
}

impl Default for Spread {
    fn default() -> Self {
        Self {
            wet_persistence: 0.25,
            air_deviation_k: 3.5,
            air_persistence: 0.65,
            sky_persistence: 0.25,
            year_cv: 0.10,
        }
    }
}

/// Shape of the Weibull distribution of a wet day's rain: J. S. Selker and D. A. Haith, Water Resources Research 26 (1990)
/// 2733, from memory.
const RAIN_SHAPE: f64 = 0.75;
/// Part of what a water year has more or less rain that is in the number of wet days, the rest in their rain; our choice.
const YEAR_OFTEN: f64 = 0.5;
/// Daily range of temperature, and part of the sun that comes through, of a wet day over those of a dry one; our choice.
const WET_RANGE: f64 = 0.7;
const WET_SUN: f64 = 0.5;
/// Standard deviation of the logarithm of the daily range; our choice.
const RANGE_SIGMA: f64 = 0.3;
/// Coefficient of variation of a day's mean wind; our choice.
const WIND_CV: f64 = 0.4;
/// Part of the sun on top of the air that comes through under the darkest cloud and on the clearest day: FAO-56 has 0.75 on
/// a usual clear day at the sea (eq. 37).
const DARKEST: f64 = 0.05;
const CLEAREST: f64 = 0.78;
/// What Hargreaves's formula has of the root of the daily range, inland: FAO-56, eq. 50.
const HARGREAVES: f64 = 0.16;

/// The weather of a run of `days` from the midnight that opens `first_day`; `run` tells apart runs of one seed.
///
/// Dew point and wind are there if the normals have them; sun that they lack follows from highs and lows.
///
/// # Errors
/// All that is wrong with the normals, the spread, or the latitude.
pub fn generate(
    normals: &Normals,
    spread: &Spread,
    latitude_deg: f64,
    first_day: Date,
    days: u32,
    seed: u64,
    run: u64,
) -> Result<Weather, Vec<Fault>> {
    let mut faults = normals.faults(spread, latitude_deg);
    if days > MOST_DAYS {
        let most = f64::from(MOST_DAYS);
        faults.push(Fault::OutOfRange {
            at: "the run",
            key: "number of days",
            found: f64::from(days),
            least: 0.0,
            most,
        });
    }
    if !faults.is_empty() {
        return Err(faults);
    }
    let climate = Climate::new(normals, spread, latitude_deg, seed, run);
    // The air of a night lies between two days.
    let drawn = climate.draw(first_day.saturating_sub(1.day()), days as usize + 2);
    let first = day_number(first_day);
    let mut hours: Vec<Hour> = Vec::with_capacity(24 * days as usize);
    for (number, around) in (first..).zip(drawn.windows(3)) {
        if let [before, day, after] = around {
            hours.extend(within_day::hours(before, day, after, &mut climate.showers.on(number)));
        }
    }
    Ok(Weather { start: Time::ZERO, hours })
}

/// A day as it is drawn.
#[derive(Clone, Copy, Debug)]
struct Drawn {
    high_c: f64,
    low_c: f64,
    dew_point_c: Option<f64>,
    wind_m_s: Option<f64>,
    /// Part of the sun on top of the air that comes through.
    clearness: f64,
    rain_mm: f64,
    daylight: Daylight,
}

/// What of a month rain and sun are drawn by.
#[derive(Clone, Copy, Debug)]
struct Sky {
    /// Part of the days that are wet.
    wet_share: f64,
    /// Mean rain of a wet day.
    wet_day_mm: f64,
    /// Part of the sun that comes through in the mean.
    clearness: f64,
}

struct Climate {
    spread: Spread,
    latitude_deg: f64,
    middle_c: Course,
    range_k: Course,
    /// How far the dew point lies under the day's low.
    depression_k: Option<Course>,
    wind_m_s: Option<Course>,
    months: [Sky; 12],
    wet: Stream,
    depth: Stream,
    year: Stream,
    air: Stream,
    sky: Stream,
    wind: Stream,
    showers: Stream,
}

impl Climate {
    fn new(normals: &Normals, spread: &Spread, latitude_deg: f64, seed: u64, run: u64) -> Self {
        let stream = |purpose| Stream::new(seed, run, &["weather"], purpose);
        let above_mj = Daylight::month_means_mj(latitude_deg);
        let months = core::array::from_fn(|i| {
            let month = &normals.months[i];
            let through = |sun_mj: f64| if above_mj[i] > 0.0 { (sun_mj / above_mj[i]).min(1.0) } else { 0.0 };
            let by_range = HARGREAVES * (month.high_c - month.low_c).sqrt();
            Sky {
                wet_share: (month.wet_days / MONTH_DAYS[i]).min(1.0),
                wet_day_mm: if month.wet_days > 0.0 { month.rain_mm / month.wet_days } else { 0.0 },
                clearness: month.sun_mj_m2_day.map_or(by_range.min(CLEAREST), through),
            }
        });
        Self {
            spread: *spread,
            latitude_deg,
            middle_c: Course::new(normals.months.map(|month| 0.5 * (month.high_c + month.low_c))),
            range_k: Course::new(normals.months.map(|month| month.high_c - month.low_c)),
            depression_k: normals.all(|month| Some((month.low_c - month.dew_point_c?).max(0.0))).map(Course::new),
            wind_m_s: normals.all(|month| month.wind_m_s).map(Course::new),
            months,
            wet: stream("wet"),
            depth: stream("depth"),
            year: stream("water year"),
            air: stream("air"),
            sky: stream("sky"),
            wind: stream("wind"),
            showers: stream("showers"),
        }
    }

    fn month(&self, date: Date) -> &Sky {
        &self.months[month_index(date)]
    }

    /// Days one after the other.
    fn draw(&self, first: Date, days: usize) -> Vec<Drawn> {
        let number = day_number(first);
        let spread = &self.spread;
        let wet = chance::wet(&self.wet, number, days, spread.wet_persistence, |number| self.wet_day(number).0);
        let air = chance::persistent(&self.air, number, days, spread.air_persistence);
        let sky = chance::persistent(&self.sky, number, days, spread.sky_persistence);
        let noise = wet.into_iter().zip(air).zip(sky);
        (number..).zip(noise).map(|(number, ((wet, air), sky))| self.day(number, wet, air, sky)).collect()
    }

    /// A day, by whether it is wet and by standard normal numbers for its air and its sky.
    fn day(&self, number: i64, wet: bool, air: f64, sky: f64) -> Drawn {
        let date = date_of(number);
        let month = self.month(date);
        let spread = &self.spread;
        // Narrower and darker when wet, wider and brighter when dry, by as much as keeps the month's mean.
        let of_state = |wet_over_dry: f64| {
            let dry = 1.0 / (1.0 - month.wet_share * (1.0 - wet_over_dry));
            if wet { wet_over_dry * dry } else { dry }
        };
        // Held to two deviations, which is alike on both sides of the logarithm: the mean is a hundredth lower for it at most.
        let straying = libm::exp(RANGE_SIGMA * sky.clamp(-2.0, 2.0) - 0.5 * RANGE_SIGMA * RANGE_SIGMA);
        let range_k = (self.range_k.at(date) * of_state(WET_RANGE) * straying).max(0.0);
        let middle_c = self.middle_c.at(date) + spread.air_deviation_k * air;
        let low_c = middle_c - 0.5 * range_k;
        Drawn {
            high_c: middle_c + 0.5 * range_k,
            low_c,
            dew_point_c: self.depression_k.map(|course| low_c - course.at(date).max(0.0)),
            wind_m_s: self
                .wind_m_s
                .map(|course| course.at(date).max(0.0) * self.wind.on(number).log_normal(LogNormal::new(1.0, WIND_CV))),
            clearness: clearness(month.clearness * of_state(WET_SUN), sky),
            rain_mm: if wet { self.depth.on(number).weibull(self.wet_day(number).1, RAIN_SHAPE) } else { 0.0 },
            daylight: Daylight::new(self.latitude_deg, date),
        }
    }

    /// The chance that a day is wet, and the mean rain if it is, in millimetres. In the mean over the years both together are
    /// the normals.
    fn wet_day(&self, number: i64) -> (f64, f64) {
        let date = date_of(number);
        let month = self.month(date);
        let water_year = i64::from(date.year()) + i64::from(date.month() >= 10);
        let year = self.year.on(water_year).log_normal(LogNormal::new(1.0, self.spread.year_cv));
        let often = (1.0 + YEAR_OFTEN * (year - 1.0)).min(1.0 / month.wet_share.max(f64::MIN_POSITIVE));
        (month.wet_share * often, month.wet_day_mm * year / often)
    }
}

/// A clearness of a given mean by a standard normal number: a power of a uniform number, between the darkest and the
/// clearest. A mean beyond either is kept as it is.
fn clearness(mean: f64, sky: f64) -> f64 {
    if mean <= DARKEST || mean >= CLEAREST {
        return mean.min(1.0);
    }
    let uniform = 0.5 * libm::erfc(-sky * FRAC_1_SQRT_2);
    DARKEST + (CLEAREST - DARKEST) * libm::pow(uniform, (CLEAREST - mean) / (mean - DARKEST))
}

/// The date that days are counted from.
const EPOCH: Date = date(1970, 1, 1);

fn day_number(date: Date) -> i64 {
    i64::from((date - EPOCH).get_days())
}

fn date_of(number: i64) -> Date {
    EPOCH.saturating_add(number.days())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn exact_mean_clearness() {
        let stream = Stream::new(1, 1, &["weather"], "sky");
        for mean in [0.03, 0.06, 0.2, 0.5, 0.75, 0.8] {
            let n = 40_000_u32;
            let all: Vec<f64> = (0..i64::from(n)).map(|day| clearness(mean, stream.on(day).normal())).collect();
            let found = all.iter().sum::<f64>() / f64::from(n);
            // Five standard errors; a deviation is half the width at most.
            assert!((found - mean).abs() < 5.0 * 0.365 / f64::from(n).sqrt(), "{found} for {mean}");
            let (least, most) = (mean.min(DARKEST), mean.max(CLEAREST));
            assert!(all.iter().all(|value| (least..=most).contains(value)));
        }
        assert!(clearness(0.5, 1.0) > clearness(0.5, 0.0));
    }
}
