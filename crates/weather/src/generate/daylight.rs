//! Sun on top of the air: FAO Irrigation and Drainage Paper 56 (1998), eqs. 21 to 28, noon at twelve.

use core::f64::consts::PI;

use jiff::ToSpan;
use jiff::civil::{Date, date};

use crate::evaporation::{declination_rad, nearness, sunset_rad};
use crate::hour::month_index;

/// The solar constant, 0.0820 MJ/(m² min).
const SOLAR_W_M2: f64 = 82_000.0 / 60.0;

/// The sun of a day at a latitude.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Daylight {
    /// Sun at right angles, by the distance from it.
    normal_w_m2: f64,
    /// Sine of the sun's height: this, and this times the cosine of the hour angle.
    steady: f64,
    swing: f64,
    /// Hour angle of sunset; 0 in a polar night, pi where the sun does not set.
    sunset: f64,
}

impl Daylight {
    pub(crate) fn new(latitude_deg: f64, date: Date) -> Self {
        let day_of_year = date.day_of_year();
        let (latitude, declination) = (latitude_deg.to_radians(), declination_rad(day_of_year));
        Self {
            normal_w_m2: SOLAR_W_M2 * nearness(day_of_year),
            steady: libm::sin(latitude) * libm::sin(declination),
            swing: libm::cos(latitude) * libm::cos(declination),
            sunset: sunset_rad(latitude_deg, day_of_year),
        }
    }

    /// When the sun rises, in hours after midnight.
    pub(crate) fn sunrise_h(&self) -> f64 {
        12.0 - self.sunset * 12.0 / PI
    }

    /// Mean sun over an hour, by its number from 0, on a level square metre.
    pub(crate) fn hour_w_m2(&self, hour: u8) -> f64 {
        let angle = |hours: f64| ((hours - 12.0) * PI / 12.0).clamp(-self.sunset, self.sunset);
        let (from, to) = (angle(f64::from(hour)), angle(f64::from(hour) + 1.0));
        let risen = self.steady * (to - from) + self.swing * (libm::sin(to) - libm::sin(from));
        (self.normal_w_m2 * risen * 12.0 / PI).max(0.0)
    }

    /// Sun of the day on a level square metre.
    pub(crate) fn day_mj_m2(&self) -> f64 {
        0.0864 * (self.normal_w_m2 / PI) * (self.steady * self.sunset + self.swing * libm::sin(self.sunset))
    }

    /// Sun of a day in the mean of each month, on a level square metre.
    pub(crate) fn month_means_mj(latitude_deg: f64) -> [f64; 12] {
        let mut sums = [(0.0, 0.0); 12];
        let mut day = date(2027, 1, 1);
        while day.year() == 2027 {
            let (sum, days) = &mut sums[month_index(day)];
            *sum += Self::new(latitude_deg, day).day_mj_m2();
            *days += 1.0;
            day = day.saturating_add(1.day());
        }
        sums.map(|(sum, days)| sum / days)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn external_example_8() {
        // FAO-56, example 8: 3 September at 20 degrees south, 32.2 MJ/m² a day.
        let found = Daylight::new(-20.0, date(2027, 9, 3)).day_mj_m2();
        assert!((found - 32.2).abs() < 0.05, "{found}");
    }

    #[test]
    fn exact_hours_add_up_to_the_day() {
        for latitude_deg in [-90.0, -70.0, -33.0, 0.0, 12.0, 52.0, 66.6, 90.0] {
            for month in 1..=12 {
                let daylight = Daylight::new(latitude_deg, date(2027, month, 21));
                let hours: f64 = (0..24).map(|hour| daylight.hour_w_m2(hour)).sum();
                assert!((0.0036 * hours - daylight.day_mj_m2()).abs() < 1e-12, "{latitude_deg}, month {month}");
            }
        }
    }

    #[test]
    fn polar_day_and_night() {
        let (summer, winter) = (Daylight::new(80.0, date(2027, 6, 21)), Daylight::new(80.0, date(2027, 12, 21)));
        assert_eq!((summer.sunrise_h(), winter.sunrise_h()), (0.0, 12.0));
        assert!(summer.hour_w_m2(0) > 0.0 && winter.hour_w_m2(12) == 0.0);
        assert_eq!(winter.day_mj_m2(), 0.0);
    }
}
