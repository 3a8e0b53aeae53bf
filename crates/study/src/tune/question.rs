//! What is asked: the unit, its water, and what is wanted of it.

use serde::{Deserialize, Serialize};
use springhouse_core::membrane::element::Fouling;
use springhouse_core::membrane::limits::FeedKind;
use springhouse_core::membrane::place::Blend;
use springhouse_core::membrane::unit::MembraneUnit;
use springhouse_core::pump::PumpCurve;
use springhouse_core::scaling::{Analysis, MOST_VOLUME_FACTOR, recovery};
use thiserror::Error;

use super::cycle::Cycle;
use super::feeding::Gives;
use super::season::Seasons;
use super::suction::Suction;

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
    /// What reaches the suction of its pump. Settings are judged at what is typical, each with the pressure that its own feed
    /// leaves: design limits hold for a season and not for a minute.
    pub suction: Swing<Suction>,
    /// What goes past it into storage while it fills that.
    pub blend: Option<Blend>,
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
    /// Most pressure that its vessels and elements are built for, kPa.
    pub rated_kpa: f64,
    /// Flow at the last point that is given of its pump's curve, L/s; `None` sets no limit.
    pub pump_end_lps: Option<f64>,
    /// Wanted product.
    pub want: Option<Want>,
    /// What it wastes at each call beside its reject; `None` counts the reject alone.
    pub cycle: Option<Cycle>,
    /// What feeds it; `None` leaves that unjudged.
    pub gives: Option<Gives>,
    /// Temperature of the feed, °C.
    pub temp_c: Seasons<f64>,
    /// Recovery never to be exceeded, 0 to 1; `None` takes 0.95 with an analysis and 0.75 without.
    pub most_recovery: Option<f64>,
    /// Salt in the product never to be exceeded, mg/L; `None` takes [`USUAL_PRODUCT_SALT_MG_L`].
    pub most_product_salt_mg_l: Option<f64>,
}

/// Most salt in drinking water where nothing else is said, mg/L: dissolved solids of the secondary standards for drinking water
/// of the United States (40 CFR 143.3). A matter of taste, not of health.
pub const USUAL_PRODUCT_SALT_MG_L: f64 = 500.0;

/// Something that swings with the pressure switch and the filters.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Swing<T> {
    /// At the lowest pressure.
    pub lowest: T,
    /// As it is most of the time.
    pub typical: T,
    /// At the highest pressure.
    pub highest: T,
}

impl<T> Swing<T> {
    /// Something made of each.
    #[must_use]
    pub fn map<U>(self, mut make: impl FnMut(T) -> U) -> Swing<U> {
        Swing { lowest: make(self.lowest), typical: make(self.typical), highest: make(self.highest) }
    }
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

    /// What is blended at a pressure at the suction, L/s.
    #[must_use]
    pub fn blended_lps(&self, inlet_kpa: f64) -> f64 {
        self.blend.map_or(0.0, |blend| blend.flow_lps(inlet_kpa, self.unit.product_kpa))
    }

    /// Most salt in the product, mg/L.
    #[must_use]
    pub fn most_product_salt_mg_l(&self) -> f64 {
        self.most_product_salt_mg_l.unwrap_or(USUAL_PRODUCT_SALT_MG_L)
    }

    /// How much the inlet pressure rises above what is typical, kPa.
    #[must_use]
    pub fn swing_kpa(&self) -> f64 {
        self.suction.highest.rest_kpa - self.suction.typical.rest_kpa
    }

    /// The membranes at their cleanest: those of now, or new ones where they have fouled. Flux and recovery are most then.
    #[must_use]
    pub fn cleanest(&self) -> Fouling {
        let Fouling { water_share, channel_times } = self.fouling;
        Fouling { water_share: water_share.max(1.0), channel_times: channel_times.min(1.0) }
    }

    /// Refuses numbers that mean nothing. That the unit can be built is for the plant to check.
    ///
    /// # Errors
    /// The first number out of its range, or a pump of constant flow.
    pub fn check(&self) -> Result<(), TuneError> {
        let Self { unit, suction, temp_c, .. } = self;
        let Swing { lowest, typical, highest } = *suction;
        let mut ranges = vec![
            ("lowest inlet pressure", lowest.rest_kpa, -100.0, typical.rest_kpa),
            ("typical inlet pressure", typical.rest_kpa, -100.0, 1e4),
            ("highest inlet pressure", highest.rest_kpa, typical.rest_kpa, 1e4),
            ("rated pressure", self.rated_kpa, 10.0, 1e5),
            ("end of the pump's curve", self.pump_end_lps.unwrap_or(1.0), 1e-6, 1e6),
            ("feed salt", self.feed_salt_mg_l, 0.0, 1e5),
            ("diameter of the elements", self.diameter_in, 0.5, 50.0),
            ("coldest water", temp_c.coldest, 0.0, temp_c.typical),
            ("typical water", temp_c.typical, 0.0, 95.0),
            ("warmest water", temp_c.warmest, temp_c.typical, 95.0),
            ("opening of the reject valve", unit.valves.reject_kv, 0.0, 1e3),
            ("opening of the recycle valve", unit.valves.recycle_kv, 0.0, 1e3),
            ("opening of the blend valve", self.blend.map_or(0.0, |blend| blend.kv), 0.0, 1e3),
            ("most recovery", self.most_recovery(), 0.01, recovery(MOST_VOLUME_FACTOR)),
            ("share of the water permeability", self.fouling.water_share, 1e-3, 1.5),
            ("loss along the channels", self.fouling.channel_times, 0.1, 1e3),
        ];
        for Suction { cake_kpa_per_lps, square_kpa_per_lps2, .. } in [lowest, typical, highest] {
            ranges.push(("loss of the line with its flow", cake_kpa_per_lps, 0.0, 1e9));
            ranges.push(("loss of the line with the square of its flow", square_kpa_per_lps2, 0.0, 1e12));
        }
        if let Some(cycle) = &self.cycle {
            ranges.push(("water between the floats", cycle.band_l, 1e-3, 1e9));
            ranges.push(("water drawn from storage", cycle.drawn_lps, 0.0, 1e6));
            ranges.push(("water of the flushes", cycle.flush_l, 0.0, 1e9));
            ranges.push(("time of product to waste", cycle.divert_s, 0.0, 1e6));
        }
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
        assert_eq!(refused(|question| question.suction.highest = Suction::steady(100.0)), "highest inlet pressure");
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
