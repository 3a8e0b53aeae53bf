//! A day's figures laid out over its hours.

use core::f64::consts::{PI, TAU};

use springhouse_random::Source;

use super::Drawn;
use crate::hour::Hour;

/// The hour with the day's high: two to three in the afternoon, common practice.
const WARMEST: u8 = 14;
/// The hour with the low is that in which the sun rises, but between these, so that there is one in polar regions.
const COLDEST: (f64, f64) = (3.0, 8.0);
/// How much stronger than the day's mean wind is when the air is warmest; our choice.
const WIND_SWING: f64 = 0.4;
/// Chance of a second shower on a wet day, and the longest shower in hours; our choice.
const SECOND_SHOWER: f64 = 0.5;
const LONGEST_SHOWER_H: f64 = 6.0;

/// The hours of a day, which needs the days around it for its air by night.
pub(super) fn hours(before: &Drawn, day: &Drawn, after: &Drawn, showers: &mut Source) -> [Hour; 24] {
    let rain_mm = rain(day.rain_mm, showers);
    core::array::from_fn(|i| {
        let hour = u8::try_from(i).unwrap_or(0);
        let from_warmest = TAU * (f64::from(hour) - f64::from(WARMEST)) / 24.0;
        Hour {
            air_c: air_c(before, day, after, hour),
            dew_point_c: day.dew_point_c,
            wind_m_s: day.wind_m_s.map(|wind| wind * (1.0 + WIND_SWING * libm::cos(from_warmest))),
            sun_w_m2: Some(day.clearness * day.daylight.hour_w_m2(hour)),
            rain_mm: Some(rain_mm[i]),
        }
    })
}

/// The number of the hour with the low.
fn coldest(day: &Drawn) -> f64 {
    day.daylight.sunrise_h().floor().clamp(COLDEST.0, COLDEST.1)
}

/// Half waves from low to high to low. They meet high and low exactly, and are kept between the two by night, when one of
/// another day may lie beyond.
fn air_c(before: &Drawn, day: &Drawn, after: &Drawn, hour: u8) -> f64 {
    let (hour, warmest, coldest_h) = (f64::from(hour), f64::from(WARMEST), coldest(day));
    let wave = |from: (f64, f64), to: (f64, f64)| {
        let part = 0.5 - 0.5 * libm::cos(PI * (hour - from.0) / (to.0 - from.0));
        from.1 + part * (to.1 - from.1)
    };
    let (low, high) = ((coldest_h, day.low_c), (warmest, day.high_c));
    let air_c = if hour < coldest_h {
        wave((warmest - 24.0, before.high_c), low)
    } else if hour < warmest {
        wave(low, high)
    } else {
        wave(high, (24.0 + coldest(after), after.low_c))
    };
    air_c.clamp(day.low_c, day.high_c)
}

/// One or two showers, each with an even share of the day's rain over whole hours of the day.
#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "whole numbers from 0 to 24")]
fn rain(depth_mm: f64, chance: &mut Source) -> [f64; 24] {
    let mut hours = [0.0; 24];
    if depth_mm > 0.0 {
        let share = if chance.happens(SECOND_SHOWER) { chance.unit() } else { 1.0 };
        for depth_mm in [share * depth_mm, (1.0 - share) * depth_mm] {
            let length = 1.0 + (LONGEST_SHOWER_H * chance.unit()).floor();
            let start = ((25.0 - length) * chance.unit()).floor();
            for hour in hours.iter_mut().skip(start as usize).take(length as usize) {
                *hour += depth_mm / length;
            }
        }
    }
    hours
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;
    use springhouse_random::Stream;

    use super::*;
    use crate::generate::Daylight;

    fn drawn(low_c: f64, high_c: f64) -> Drawn {
        let daylight = Daylight::new(40.0, date(2027, 6, 4));
        Drawn { high_c, low_c, dew_point_c: None, wind_m_s: Some(3.0), clearness: 0.5, rain_mm: 0.0, daylight }
    }

    fn air(before: Drawn, day: Drawn, after: Drawn) -> [f64; 24] {
        core::array::from_fn(|hour| air_c(&before, &day, &after, u8::try_from(hour).unwrap()))
    }

    #[test]
    fn exact_air_of_a_day() {
        // The sun rises at 4:34: low from four, high from two; ten hours between.
        let air = air(drawn(8.0, 20.0), drawn(10.0, 20.0), drawn(12.0, 22.0));
        assert_eq!((air[4], air[14]), (10.0, 20.0));
        assert!((air[9] - 15.0).abs() < 1e-12, "half way");
        // Fourteen hours from the high of the day before to the low, and to the low of the day after.
        assert!((air[0] - (20.0 - 10.0 * 0.5 * (1.0 - libm::cos(PI * 10.0 / 14.0)))).abs() < 1e-12);
        assert!((air[21] - 16.0).abs() < 1e-12);
        assert!(
            air[..5].is_sorted_by(|a, b| a >= b) && air[4..15].is_sorted() && air[14..].is_sorted_by(|a, b| a >= b)
        );
    }

    #[test]
    fn exact_highs_and_lows_are_met_whatever_is_around() {
        let air = air(drawn(20.0, 35.0), drawn(10.0, 14.0), drawn(-15.0, 5.0));
        assert_eq!(air.iter().copied().fold(f64::INFINITY, f64::min), 10.0);
        assert_eq!(air.iter().copied().fold(f64::NEG_INFINITY, f64::max), 14.0);
    }

    #[test]
    fn exact_hours_have_the_means_of_the_day() {
        let day = Drawn { rain_mm: 17.0, ..drawn(10.0, 20.0) };
        let stream = Stream::new(1, 1, &["weather"], "showers");
        for number in 0..1_000 {
            let hours = hours(&day, &day, &day, &mut stream.on(number));
            let sum = |of: fn(&Hour) -> Option<f64>| hours.iter().filter_map(of).sum::<f64>();
            assert!((sum(|hour| hour.rain_mm) - 17.0).abs() < 1e-12);
            assert!((sum(|hour| hour.wind_m_s) / 24.0 - 3.0).abs() < 1e-12);
            let sun_mj = 0.0036 * sum(|hour| hour.sun_w_m2);
            assert!((sun_mj - 0.5 * day.daylight.day_mj_m2()).abs() < 1e-12);
            let wet = hours.iter().filter(|hour| hour.rain_mm > Some(0.0)).count();
            assert!((1..=12).contains(&wet), "{wet} wet hours");
        }
    }
}
