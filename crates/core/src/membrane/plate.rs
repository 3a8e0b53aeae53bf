//! From the plate of an element to its constants, and the plate of a whole unit as a check on them.

use serde::{Deserialize, Serialize};
use thiserror::Error;

use super::element::{
    CHANNEL_EXPONENT, Element, Fouling, MOST_RECOVERY, POLARISATION, SALT_TEMP_K, Stream, WATER_TEMP_K,
};
use super::osmosis::{CELSIUS_K, Osmosis, OsmoticModel, STANDARD_K};
use super::unit::{MembraneUnit, NoSteadyState};
use crate::water::Water;

/// Seconds of a day.
const DAY_S: f64 = 86_400.0;

/// What an element's plate or data sheet says of its test, at 25 °C, with no pressure in the product pipe.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct ElementPlate {
    /// Product of a day.
    pub product_l_day: f64,
    /// Part of the feed's salt that is not in the product, 0 to 1.
    pub rejection: f64,
    /// Feed pressure.
    pub test_kpa: f64,
    /// Salt of the feed, sodium chloride.
    pub test_salt_mg_l: f64,
    /// Product over feed.
    pub test_recovery: f64,
}

/// A plate that no element can have.
#[derive(Clone, Copy, Debug, PartialEq, Error)]
pub enum PlateError {
    /// A number is not finite, or not in the range that makes sense for it.
    #[error("{key} is {value}, which is outside {least} to {most}")]
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
    /// Osmotic pressure and the channel's loss take all the test pressure.
    #[error(
        "a test at {test_kpa:.0} kPa leaves no pressure to drive the product: the salt at the membrane takes {osmotic_kpa:.0} kPa, \
         half the channel's loss {loss_kpa:.0} kPa"
    )]
    NoDrivingPressure {
        /// Test pressure.
        test_kpa: f64,
        /// Difference of osmotic pressure across the membrane.
        osmotic_kpa: f64,
        /// Half the loss along the feed channel.
        loss_kpa: f64,
    },
}

impl ElementPlate {
    /// The element that gives this plate when it is tested as it says; all but its two permeabilities are those of `like`.
    ///
    /// The equations of [`super::element`] read backwards: with flows and salts known both permeabilities follow at once.
    ///
    /// # Errors
    /// When a number is out of range or the test leaves no driving pressure.
    pub fn element(&self, like: &Element, osmotic: OsmoticModel) -> Result<Element, PlateError> {
        self.check()?;
        let product_lps = self.product_l_day / DAY_S;
        let feed = Stream {
            flow_lps: product_lps / self.test_recovery,
            salt_mg_l: self.test_salt_mg_l,
            pressure_kpa: self.test_kpa,
        };
        let osmosis = Osmosis::at(osmotic, STANDARD_K - CELSIUS_K);
        let at = like.at(STANDARD_K - CELSIUS_K, Fouling::CLEAN, 0.0, osmosis);
        let product_mg_l = (1.0 - self.rejection) * self.test_salt_mg_l;
        let concentrate_mg_l = (self.test_salt_mg_l - self.test_recovery * product_mg_l) / (1.0 - self.test_recovery);
        let wall_mg_l =
            libm::exp(like.polarisation * self.test_recovery) * 0.5 * (self.test_salt_mg_l + concentrate_mg_l);
        let osmotic_kpa = osmosis.kpa(wall_mg_l) - osmosis.kpa(product_mg_l);
        let loss_kpa = 0.5 * at.loss_kpa(feed.flow_lps * (1.0 - 0.5 * self.test_recovery));
        let driving_kpa = self.test_kpa - osmotic_kpa - loss_kpa;
        if driving_kpa <= 0.0 {
            return Err(PlateError::NoDrivingPressure { test_kpa: self.test_kpa, osmotic_kpa, loss_kpa });
        }
        let flux_l_m2_h = 3_600.0 * product_lps / like.area_m2;
        Ok(Element {
            water_permeability_l_m2_h_bar: 100.0 * flux_l_m2_h / driving_kpa,
            salt_permeability_l_m2_h: flux_l_m2_h * product_mg_l / (wall_mg_l - product_mg_l),
            ..*like
        })
    }

    fn check(&self) -> Result<(), PlateError> {
        for (key, value, least, most) in [
            ("product", self.product_l_day, 1.0, 1e6),
            ("rejection", self.rejection, 0.01, 0.999_99),
            ("test_pressure", self.test_kpa, 10.0, 1e4),
            ("test_salt", self.test_salt_mg_l, 1.0, 1e5),
            ("test_recovery", self.test_recovery, 1e-3, MOST_RECOVERY - 0.1),
        ] {
            if !(least..=most).contains(&value) {
                return Err(PlateError::OutOfRange { key, value, least, most });
            }
        }
        Ok(())
    }
}

/// Trade sizes of elements, by diameter and length in inches.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum NominalSize {
    /// 2.5 by 21.
    In2By21,
    /// 2.5 by 40.
    In2By40,
    /// 4 by 21.
    In4By21,
    /// 4 by 40.
    In4By40,
    /// 8 by 40.
    In8By40,
}

/// Loss along a 4 by 40 element of 7.2 m² at 1 L/s, kPa: common practice, 3.1 kPa at 1 m³/h.
const IN_4_BY_40_LOSS_KPA: f64 = 27.4;
const IN_4_BY_40_AREA_M2: f64 = 7.2;

impl NominalSize {
    /// Membrane area: common practice, no source. Elements of one size differ by a tenth and more.
    #[must_use]
    pub fn area_m2(self) -> f64 {
        match self {
            Self::In2By21 => 1.1,
            Self::In2By40 => 2.6,
            Self::In4By21 => 3.3,
            Self::In4By40 => IN_4_BY_40_AREA_M2,
            Self::In8By40 => 37.0,
        }
    }

    /// Outside diameter, in inches.
    #[must_use]
    pub fn diameter_in(self) -> f64 {
        match self {
            Self::In2By21 | Self::In2By40 => 2.5,
            Self::In4By21 | Self::In4By40 => 4.0,
            Self::In8By40 => 8.0,
        }
    }

    /// An element of the size with habitual constants, whose permeabilities are still to come from its plate.
    ///
    /// Its channel has the net of a 4 by 40 element: as long as the element, as wide as its area over that length.
    #[must_use]
    pub fn element(self) -> Element {
        let length = match self {
            Self::In2By21 | Self::In4By21 => 21.0 / 40.0,
            Self::In2By40 | Self::In4By40 | Self::In8By40 => 1.0,
        };
        let width = self.area_m2() / (IN_4_BY_40_AREA_M2 * length);
        Element {
            area_m2: self.area_m2(),
            water_permeability_l_m2_h_bar: 0.0,
            salt_permeability_l_m2_h: 0.0,
            water_temp_k: WATER_TEMP_K,
            salt_temp_k: SALT_TEMP_K,
            channel_loss_kpa: IN_4_BY_40_LOSS_KPA * length / libm::pow(width, CHANNEL_EXPONENT),
            channel_exponent: CHANNEL_EXPONENT,
            polarisation: POLARISATION,
        }
    }
}

/// What the plate of a whole unit says.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct UnitPlate {
    /// Product of a day.
    pub product_l_day: f64,
    /// Pressure at its inlet.
    pub inlet_kpa: f64,
    /// Salt of its feed.
    pub salt_mg_l: f64,
    /// Temperature.
    pub temp_c: f64,
}

impl UnitPlate {
    /// Product of the clean unit at the plate's conditions, its loop settled, over the product that the plate promises.
    ///
    /// Far from 1 the plate of the element, the valves or the pump do not belong to this unit.
    ///
    /// # Errors
    /// When the unit has no steady state there.
    pub fn product_ratio(&self, unit: &MembraneUnit) -> Result<f64, NoSteadyState> {
        let at = unit.at(self.temp_c, Fouling::CLEAN, &Water::at(self.temp_c));
        let found = at.steady(self.inlet_kpa, self.salt_mg_l)?;
        Ok(found.flows.product_lps * DAY_S / self.product_l_day)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::membrane::unit::UnitPump;
    use crate::membrane::valve::Valves;
    use crate::pump::{PumpCurve, PumpPower};

    /// Invented plates: home, tap water, brackish, low pressure, sea water.
    const PLATES: [(NominalSize, ElementPlate); 5] = [
        (NominalSize::In2By21, plate(700.0, 0.96, 345.0, 300.0, 0.22)),
        (NominalSize::In2By40, plate(3_200.0, 0.98, 700.0, 500.0, 0.15)),
        (NominalSize::In4By40, plate(9_800.0, 0.995, 1_550.0, 2_000.0, 0.15)),
        (NominalSize::In4By21, plate(3_600.0, 0.99, 690.0, 500.0, 0.08)),
        (NominalSize::In8By40, plate(26_000.0, 0.997, 5_520.0, 32_000.0, 0.08)),
    ];

    const fn plate(
        product_l_day: f64,
        rejection: f64,
        test_kpa: f64,
        test_salt_mg_l: f64,
        test_recovery: f64,
    ) -> ElementPlate {
        ElementPlate { product_l_day, rejection, test_kpa, test_salt_mg_l, test_recovery }
    }

    #[test]
    fn exact_test_run_gives_the_plate_back() {
        for (size, plate) in PLATES {
            for osmotic in [OsmoticModel::default(), OsmoticModel::Ideal { coefficient: 0.93 }] {
                let element = plate.element(&size.element(), osmotic).unwrap();
                let (product_lps, salt_mg_l) = (plate.product_l_day / DAY_S, plate.test_salt_mg_l);
                let flow_lps = product_lps / plate.test_recovery;
                let feed = Stream { flow_lps, salt_mg_l, pressure_kpa: plate.test_kpa };
                let found = element.at(25.0, Fouling::CLEAN, 0.0, Osmosis::at(osmotic, 25.0)).pass(&feed, 0.5);
                assert!((found.product_lps / product_lps - 1.0).abs() < 1e-9, "{found:?} for {plate:?}");
                assert!((found.recovery / plate.test_recovery - 1.0).abs() < 1e-9);
                let passage = found.product_salt_mg_l / salt_mg_l;
                assert!((passage / (1.0 - plate.rejection) - 1.0).abs() < 1e-9, "{passage} for {plate:?}");
            }
        }
    }

    #[test]
    fn impossible_plates_are_refused() {
        let like = NominalSize::In4By40.element();
        let good = PLATES[2].1;
        let refused = |plate: ElementPlate| plate.element(&like, OsmoticModel::default()).unwrap_err();
        for (plate, expected) in [
            (ElementPlate { rejection: 1.0, ..good }, "rejection"),
            (ElementPlate { rejection: f64::NAN, ..good }, "rejection"),
            (ElementPlate { product_l_day: 0.0, ..good }, "product"),
            (ElementPlate { test_kpa: -5.0, ..good }, "test_pressure"),
            (ElementPlate { test_salt_mg_l: f64::INFINITY, ..good }, "test_salt"),
            (ElementPlate { test_recovery: 0.75, ..good }, "test_recovery"),
        ] {
            assert!(matches!(refused(plate), PlateError::OutOfRange { key, .. } if key == expected), "{plate:?}");
        }
        assert_eq!(
            refused(ElementPlate { rejection: 1.5, ..good }).to_string(),
            "rejection is 1.5, which is outside 0.01 to 0.99999"
        );
        // 2,000 mg/L at the membrane is 1.9 bar; a test at 1.5 bar makes no product.
        let weak = refused(ElementPlate { test_kpa: 150.0, ..good });
        assert!(matches!(weak, PlateError::NoDrivingPressure { osmotic_kpa, .. } if osmotic_kpa > 150.0), "{weak}");
    }

    #[test]
    fn unit_plate_judges_the_unit() {
        let (size, plate) = PLATES[2];
        let unit = MembraneUnit {
            element: plate.element(&size.element(), OsmoticModel::default()).unwrap(),
            elements_in_series: 3,
            vessels: 1,
            pump: Some(UnitPump {
                curve: PumpCurve::Parabola { shutoff_m: 120.0, loss_m_per_lps2: 100.0 },
                power: PumpPower::Constant { power_w: 1_000.0 },
            }),
            valves: Valves { reject_kv: 0.006, recycle_kv: 0.004 },
            product_kpa: 20.0,
            drain_kpa: 0.0,
            loop_volume_l: 12.0,
            osmotic: OsmoticModel::default(),
        };
        let unit_plate = UnitPlate { product_l_day: 10_000.0, inlet_kpa: 300.0, salt_mg_l: 500.0, temp_c: 25.0 };
        let ratio = unit_plate.product_ratio(&unit).unwrap();
        // Half the product promised is twice the ratio.
        let modest = UnitPlate { product_l_day: 5_000.0, ..unit_plate };
        assert!((modest.product_ratio(&unit).unwrap() / ratio - 2.0).abs() < 1e-14);
        // Its own product is what it promises.
        let own = UnitPlate { product_l_day: 10_000.0 * ratio, ..unit_plate };
        assert!((own.product_ratio(&unit).unwrap() - 1.0).abs() < 1e-14);
        assert!(unit_plate.product_ratio(&MembraneUnit { pump: None, ..unit }).unwrap() < 0.3 * ratio);
        let shut = MembraneUnit { valves: Valves { reject_kv: 0.0, recycle_kv: 0.004 }, ..unit };
        assert_eq!(unit_plate.product_ratio(&shut), Err(NoSteadyState::NoReject));
    }
}
