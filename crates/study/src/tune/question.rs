//! What is asked: the unit, its water, and what is wanted of it.

use serde::{Deserialize, Serialize};
use springhouse_core::membrane::element::Fouling;
use springhouse_core::membrane::limits::FeedKind;
use springhouse_core::membrane::unit::MembraneUnit;
use springhouse_core::pump::PumpCurve;
use springhouse_core::scaling::{Analysis, MOST_VOLUME_FACTOR, recovery};
use thiserror::Error;

use super::season::Seasons;

/// Hours of a day.
pub(super) const DAY_H: f64 = 24.0;

/// Most recovery without an analysis, which alone can tell whether more is safe: common practice, no source.
const MOST_RECOVERY_UNKNOWN: f64 = 0.75;

/// How the two valves of a unit are to be set.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Question {
    /// The unit, its valves as they are now.
    pub unit: MembraneUnit,
    /// How far its membranes have fouled.
    pub fouling: Fouling,
    /// Pressure at the suction of its pump.
    pub inlet_kpa: Swing,
    /// Salt of the fresh feed, mg/L.
    pub feed_salt_mg_l: f64,
    /// Analysis of the fresh feed; `None` leaves scaling unjudged, and recovery is held to 75 % instead.
    pub analysis: Option<Analysis>,
    /// Whether an antiscalant is dosed.
    pub antiscalant: bool,
    /// Where the feed comes from.
    pub feed: FeedKind,
    /// Diameter of the elements, inches.
    pub diameter_in: f64,
    /// Wanted product.
    pub want: Option<Want>,
    /// Temperature of the feed, °C.
    pub temp_c: Seasons<f64>,
    /// Recovery never to be exceeded, 0 to 1; `None` takes 0.95 with an analysis and 0.75 without.
    pub most_recovery: Option<f64>,
    /// Salt in the product never to be exceeded, mg/L; `None` sets no limit.
    pub most_product_salt_mg_l: Option<f64>,
}

/// A pressure that swings, kPa.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Swing {
    /// Lowest.
    pub lowest: f64,
    /// What settings are judged at: design limits hold for a season and not for a minute.
    pub typical: f64,
    /// Highest.
    pub highest: f64,
}

/// How much product is wanted.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Want {
    /// Product of a day, L.
    pub product_l_day: f64,
    /// Hours of a day in which the unit may run, above 0 to 24.
    pub hours_per_day: f64,
}

impl Want {
    /// The product that a unit makes in 24 hours when it makes what is wanted in those it may run, L/day.
    #[must_use]
    pub fn all_day_l_day(&self) -> f64 {
        self.product_l_day * DAY_H / self.hours_per_day
    }
}

/// Why a question has no answer.
#[derive(Clone, Copy, Debug, PartialEq, Error)]
pub enum TuneError {
    /// A number is not finite or not in its range.
    #[error("{key} is {value}; it must be {least} to {most}")]
    OutOfRange {
        /// Which.
        key: &'static str,
        /// What was found.
        value: f64,
        /// The least that is accepted.
        least: f64,
        /// The most that is accepted.
        most: f64,
    },
    /// A pump of constant flow has no pressure to give to the membranes.
    #[error("the pump of the unit has a constant flow; give its head at two flows")]
    ConstantPump,
    /// The unit makes no product however its valves are set.
    #[error("the unit makes no product however its valves are set: its pressure is too low")]
    NoProduct,
}

impl Question {
    /// Most recovery of the whole unit.
    #[must_use]
    pub fn most_recovery(&self) -> f64 {
        let habitual = if self.analysis.is_some() { recovery(MOST_VOLUME_FACTOR) } else { MOST_RECOVERY_UNKNOWN };
        self.most_recovery.unwrap_or(habitual)
    }

    /// Refuses numbers that mean nothing. That the unit can be built is for the plant to check.
    ///
    /// # Errors
    /// The first number out of its range, or a pump of constant flow.
    pub fn check(&self) -> Result<(), TuneError> {
        let Self { unit, inlet_kpa, temp_c, .. } = self;
        let Swing { lowest, typical, highest } = *inlet_kpa;
        let mut ranges = vec![
            ("lowest inlet pressure", lowest, -100.0, typical),
            ("typical inlet pressure", typical, -100.0, 1e4),
            ("highest inlet pressure", highest, typical, 1e4),
            ("feed salt", self.feed_salt_mg_l, 0.0, 1e5),
            ("diameter of the elements", self.diameter_in, 0.5, 50.0),
            ("coldest water", temp_c.coldest, 0.0, temp_c.typical),
            ("typical water", temp_c.typical, 0.0, 95.0),
            ("warmest water", temp_c.warmest, temp_c.typical, 95.0),
            ("opening of the reject valve", unit.valves.reject_kv, 0.0, 1e3),
            ("opening of the recycle valve", unit.valves.recycle_kv, 0.0, 1e3),
            ("most recovery", self.most_recovery(), 0.01, recovery(MOST_VOLUME_FACTOR)),
            ("share of the water permeability", self.fouling.water_share, 1e-3, 1.5),
            ("loss along the channels", self.fouling.channel_times, 0.1, 1e3),
        ];
        if let Some(want) = &self.want {
            ranges.push(("wanted product", want.product_l_day, 1e-3, 1e9));
            ranges.push(("hours per day", want.hours_per_day, 0.01, DAY_H));
        }
        if let Some(most) = self.most_product_salt_mg_l {
            ranges.push(("salt of the product", most, 1e-3, 1e5));
        }
        for (key, value, least, most) in ranges {
            if !(least..=most).contains(&value) {
                return Err(TuneError::OutOfRange { key, value, least, most });
            }
        }
        match &unit.pump {
            Some(pump) if matches!(pump.curve, PumpCurve::Constant { .. }) => Err(TuneError::ConstantPump),
            _ => Ok(()),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::{Aim, advise, fixtures, map, sensitivity};
    use super::*;

    #[test]
    fn exact_part_of_a_day_needs_as_much_more() {
        assert_eq!(Want { product_l_day: 1_000.0, hours_per_day: 6.0 }.all_day_l_day(), 4_000.0);
    }

    #[test]
    fn exact_recovery_is_held_closer_without_an_analysis() {
        let home = fixtures::home();
        assert!((home.most_recovery() - 0.95).abs() < 1e-15);
        let blind = Question { analysis: None, ..home };
        assert_eq!(blind.most_recovery(), 0.75);
        assert_eq!(Question { most_recovery: Some(0.6), ..blind }.most_recovery(), 0.6);
    }

    #[test]
    fn refuses_what_means_nothing() {
        let refused = |change: fn(&mut Question)| {
            let mut question = fixtures::home();
            change(&mut question);
            let found = question.check();
            assert_eq!(advise(&question, Aim::Enough).err(), found.err());
            assert_eq!(sensitivity(&question).err(), found.err());
            match found {
                Err(TuneError::OutOfRange { key, .. }) => key,
                other => panic!("{other:?}"),
            }
        };
        assert_eq!(refused(|question| question.feed_salt_mg_l = -1.0), "feed salt");
        assert_eq!(refused(|question| question.temp_c.coldest = 40.0), "coldest water");
        assert_eq!(refused(|question| question.inlet_kpa.highest = 100.0), "highest inlet pressure");
        assert_eq!(refused(|question| question.unit.valves.reject_kv = f64::INFINITY), "opening of the reject valve");
        assert_eq!(
            refused(|question| question.want = Some(Want { product_l_day: 1.0, hours_per_day: 0.0 })),
            "hours per day"
        );
        let unsaid = Question { feed_salt_mg_l: f64::NAN, ..fixtures::home() };
        assert!(matches!(unsaid.check(), Err(TuneError::OutOfRange { key: "feed salt", .. })));
        assert!(matches!(map(&fixtures::home(), f64::NAN), Err(TuneError::OutOfRange { .. })));
    }

    #[test]
    fn refuses_pumps_and_pressures_that_make_no_product() {
        let mut question = fixtures::home();
        if let Some(pump) = &mut question.unit.pump {
            pump.curve = PumpCurve::Constant { flow_lps: 0.5 };
        }
        assert_eq!(advise(&question, Aim::Enough), Err(TuneError::ConstantPump));
        let mut question = fixtures::without_pump();
        question.unit.product_kpa = 1_000.0;
        assert_eq!(advise(&question, Aim::Enough), Err(TuneError::NoProduct));
    }
}
