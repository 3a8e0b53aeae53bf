//! Monthly normals: what a weather service publishes of a place, as means over many years.

use thiserror::Error;

use crate::generate::{Daylight, Spread};
use crate::ground::AirOfYear;

/// The weather of a month, as means over many years.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Month {
    /// Mean of the days' highest temperatures.
    pub high_c: f64,
    /// Mean of the days' lowest temperatures.
    pub low_c: f64,
    /// Rain of the month.
    pub rain_mm: f64,
    /// Days of the month on which it rains.
    pub wet_days: f64,
    /// Mean dew point.
    pub dew_point_c: Option<f64>,
    /// Mean wind 2 m above the ground.
    pub wind_m_s: Option<f64>,
    /// Mean sun of a day on a level square metre.
    pub sun_mj_m2_day: Option<f64>,
}

/// The months, January first.
#[derive(Clone, Debug, PartialEq)]
pub struct Normals {
    /// The months.
    pub months: [Month; 12],
}

/// Why no weather can be made of normals.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum Fault {
    /// A number is not finite, or not in the range that makes sense for it.
    #[error("{at}: {key} is {found:.1}, which is outside {least:.1} to {most:.1}")]
    OutOfRange {
        /// The month, or what else it is of.
        at: &'static str,
        /// Which number, with its unit.
        key: &'static str,
        /// What was found.
        found: f64,
        /// The least that is accepted.
        least: f64,
        /// The most that is accepted.
        most: f64,
    },
    /// A low above the high.
    #[error("{at}: the mean low of {low_c:.1} °C is above the mean high of {high_c:.1} °C: exchange them")]
    LowAboveHigh {
        /// The month.
        at: &'static str,
        /// The high.
        high_c: f64,
        /// The low.
        low_c: f64,
    },
    /// A dew point above the high: air so damp there is not.
    #[error("{at}: the mean dew point of {dew_point_c:.1} °C is above the mean high of {high_c:.1} °C: check both")]
    DewPointAboveHigh {
        /// The month.
        at: &'static str,
        /// The high.
        high_c: f64,
        /// The dew point.
        dew_point_c: f64,
    },
    /// Rain without days on which it falls, or the reverse.
    #[error(
        "{at}: {rain_mm:.0} mm of rain on {wet_days} wet days: write both above 0, or both 0 where the month is always dry"
    )]
    RainAndWetDays {
        /// The month.
        at: &'static str,
        /// The rain.
        rain_mm: f64,
        /// The wet days.
        wet_days: f64,
    },
    /// A normal that only some of the months have.
    #[error("{key} is given for {months} of 12 months: give it for all of them, or for none")]
    SomeMonths {
        /// Which number.
        key: &'static str,
        /// How many months have it.
        months: usize,
    },
}

impl Fault {
    /// Whether it is about how days stray from the normals.
    #[must_use]
    pub fn is_of_the_spread(&self) -> bool {
        matches!(self, Self::OutOfRange { at: "the spread", .. })
    }

    /// The month that it is about, January is 0; `None` where it is about no month alone.
    #[must_use]
    pub fn month(&self) -> Option<usize> {
        match self {
            Self::OutOfRange { at, .. }
            | Self::LowAboveHigh { at, .. }
            | Self::DewPointAboveHigh { at, .. }
            | Self::RainAndWetDays { at, .. } => MONTHS.iter().position(|month| month == at),
            Self::SomeMonths { .. } => None,
        }
    }
}

/// The months' names.
const MONTHS: [&str; 12] = [
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
];

/// Days of each month, over four years.
pub(crate) const MONTH_DAYS: [f64; 12] = [31.0, 28.25, 31.0, 30.0, 31.0, 30.0, 31.0, 31.0, 30.0, 31.0, 30.0, 31.0];

impl Normals {
    /// Mean temperature of the air over the year: the middle of high and low, each month by its length.
    #[must_use]
    pub fn mean_air_c(&self) -> f64 {
        let month = |(month, days): (&Month, f64)| 0.5 * (month.high_c + month.low_c) * days;
        self.months.iter().zip(MONTH_DAYS).map(month).sum::<f64>() / MONTH_DAYS.iter().sum::<f64>()
    }

    /// What the months tell of the year of the air.
    #[must_use]
    pub fn air_of_year(&self, latitude_deg: f64) -> AirOfYear {
        let (mut coldest_c, mut warmest_c) = (f64::INFINITY, f64::NEG_INFINITY);
        for month in &self.months {
            let mean_c = 0.5 * (month.high_c + month.low_c);
            (coldest_c, warmest_c) = (coldest_c.min(mean_c), warmest_c.max(mean_c));
        }
        AirOfYear { mean_c: self.mean_air_c(), range_k: warmest_c - coldest_c, southern: latitude_deg < 0.0 }
    }

    /// All that is wrong with the normals, with the latitude of their place, and with how they are to be spread.
    #[must_use]
    pub fn faults(&self, spread: &Spread, latitude_deg: f64) -> Vec<Fault> {
        let mut faults = Faults::default();
        faults.range("the place", "latitude in degrees", latitude_deg, -90.0, 90.0);
        // Where the latitude is wrong nothing can be said of the sun.
        let known = faults.0.is_empty();
        let sky_mj = if known { Daylight::month_means_mj(latitude_deg) } else { [f64::INFINITY; 12] };
        for (((at, month), days), sky_mj) in MONTHS.into_iter().zip(&self.months).zip(MONTH_DAYS).zip(sky_mj) {
            faults.range(at, "mean high in °C", month.high_c, -60.0, 60.0);
            faults.range(at, "mean low in °C", month.low_c, -60.0, 60.0);
            faults.range(at, "rain in mm", month.rain_mm, 0.0, 3_000.0);
            faults.range(at, "number of wet days", month.wet_days, 0.0, days.ceil());
            faults.range(at, "mean dew point in °C", month.dew_point_c.unwrap_or(0.0), -70.0, 40.0);
            faults.range(at, "mean wind in m/s", month.wind_m_s.unwrap_or(0.0), 0.0, 50.0);
            // No more than falls on top of the air; in a polar night a digit of the normals may be left.
            let most = sky_mj + 0.1;
            faults.range(at, "sun in MJ/m² a day", month.sun_mj_m2_day.unwrap_or(0.0), 0.0, most);
            if let Some(dew_point_c) = month.dew_point_c.filter(|dew_point_c| *dew_point_c > month.high_c) {
                faults.0.push(Fault::DewPointAboveHigh { at, high_c: month.high_c, dew_point_c });
            }
            if month.low_c > month.high_c {
                faults.0.push(Fault::LowAboveHigh { at, high_c: month.high_c, low_c: month.low_c });
            }
            if (month.rain_mm > 0.0) != (month.wet_days > 0.0) {
                faults.0.push(Fault::RainAndWetDays { at, rain_mm: month.rain_mm, wet_days: month.wet_days });
            }
        }
        self.some_months("mean dew point", |month| month.dew_point_c, &mut faults);
        self.some_months("mean wind", |month| month.wind_m_s, &mut faults);
        self.some_months("sun", |month| month.sun_mj_m2_day, &mut faults);
        let at = "the spread";
        faults.range(at, "`wet_persistence`", spread.wet_persistence, 0.0, 0.9);
        faults.range(at, "`air_persistence`", spread.air_persistence, 0.0, 0.9);
        faults.range(at, "`sky_persistence`", spread.sky_persistence, 0.0, 0.9);
        faults.range(at, "`air_deviation` in K", spread.air_deviation_k, 0.0, 10.0);
        faults.range(at, "`year_spread`, as a part of one,", spread.year_cv, 0.0, 1.0);
        faults.0
    }

    fn some_months(&self, key: &'static str, of: fn(&Month) -> Option<f64>, faults: &mut Faults) {
        let months = self.months.iter().filter(|month| of(month).is_some()).count();
        if months != 0 && months != 12 {
            faults.0.push(Fault::SomeMonths { key, months });
        }
    }

    /// A normal of each month; `None` where one lacks it.
    pub(crate) fn all(&self, of: fn(&Month) -> Option<f64>) -> Option<[f64; 12]> {
        self.months.iter().all(|month| of(month).is_some()).then(|| self.months.map(|m| of(&m).unwrap_or_default()))
    }
}

#[derive(Default)]
struct Faults(Vec<Fault>);

impl Faults {
    fn range(&mut self, at: &'static str, key: &'static str, found: f64, least: f64, most: f64) {
        if !(least..=most).contains(&found) {
            self.0.push(Fault::OutOfRange { at, key, found, least, most });
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn normals() -> Normals {
        let month = Month {
            high_c: 20.0,
            low_c: 10.0,
            rain_mm: 80.0,
            wet_days: 10.0,
            dew_point_c: Some(9.0),
            wind_m_s: None,
            sun_mj_m2_day: Some(12.0),
        };
        Normals { months: [month; 12] }
    }

    fn said(change: impl FnOnce(&mut Normals, &mut Spread, &mut f64)) -> Vec<String> {
        let (mut normals, mut spread, mut latitude_deg) = (normals(), Spread::default(), 40.0);
        change(&mut normals, &mut spread, &mut latitude_deg);
        normals.faults(&spread, latitude_deg).iter().map(Fault::to_string).collect()
    }

    #[test]
    fn sound_normals_have_no_fault() {
        assert_eq!(said(|_, _, _| {}), [""; 0]);
    }

    #[test]
    fn all_faults_are_told() {
        let all = said(|normals, spread, latitude_deg| {
            normals.months[0].low_c = 21.0;
            normals.months[1].wet_days = 0.0;
            normals.months[2].wet_days = 32.0;
            normals.months[4].dew_point_c = None;
            normals.months[5].high_c = f64::NAN;
            spread.air_persistence = 1.0;
            *latitude_deg = 91.0;
        });
        assert_eq!(
            all,
            [
                "the place: latitude in degrees is 91.0, which is outside -90.0 to 90.0",
                "January: the mean low of 21.0 °C is above the mean high of 20.0 °C: exchange them",
                "February: 80 mm of rain on 0 wet days: write both above 0, or both 0 where the month is always dry",
                "March: number of wet days is 32.0, which is outside 0.0 to 31.0",
                "June: mean high in °C is NaN, which is outside -60.0 to 60.0",
                "mean dew point is given for 11 of 12 months: give it for all of them, or for none",
                "the spread: `air_persistence` is 1.0, which is outside 0.0 to 0.9",
            ]
        );
    }

    #[test]
    fn no_more_sun_than_falls_on_top_of_the_air() {
        let at = |latitude: f64| said(|_, _, latitude_deg| *latitude_deg = latitude);
        assert_eq!(at(40.0), [""; 0]);
        let polar = at(80.0);
        assert_eq!(polar[0], "January: sun in MJ/m² a day is 12.0, which is outside 0.0 to 0.1");
        assert!(!polar.iter().any(|fault| fault.starts_with("June")), "{polar:?}");
    }

    #[test]
    fn exact_mean_air() {
        let mut normals = normals();
        assert!((normals.mean_air_c() - 15.0).abs() < 1e-13);
        normals.months[1].high_c += 36.525 * 2.0;
        assert!((normals.mean_air_c() - 15.0 - 2.825).abs() < 1e-12);
    }
}
