//! Carbonic acid: what is left of it behind a membrane, and how much calcite such water dissolves.
//!
//! A membrane keeps bicarbonate back and lets carbon dioxide pass, so its product is sour and soft, and eats metal. A bed of
//! calcite gives it back some hardness and alkalinity, until it is saturated. See `docs/physics.md`.

use serde::{Deserialize, Serialize};

use super::analysis::{Analysis, equivalent_mg};
use super::saturation::{kelvin, p_activity};
use crate::root::root;

/// Milligrams of a millimole of calcium carbonate.
const CALCITE_MG: f64 = 2.0 * equivalent_mg::CARBONATE;
/// Range of pH in which states are searched.
const LEAST_PH: f64 = 3.0;
const MOST_PH: f64 = 11.5;
/// Rounds in which the ionic strength is made that of the hardened water: each brings it some thirtyfold closer.
const ROUNDS: u32 = 5;

/// What a bed of calcite does to a water that stays in it until it is saturated.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Hardening {
    /// Calcium carbonate that dissolves, 0 in water that is saturated as it comes.
    pub calcite_mg_l: f64,
    /// The water's pH then.
    pub ph: f64,
}

/// Constants of carbonic acid, water and calcite in moles a litre, at a temperature and an ionic strength.
#[derive(Clone, Copy)]
struct Constants {
    k_1: f64,
    k_2: f64,
    k_w: f64,
    k_s: f64,
    /// Activity coefficient of an ion of charge one.
    gamma: f64,
}

impl Constants {
    /// L. N. Plummer & E. Busenberg, Geochim. Cosmochim. Acta 46 (1982) 1011, 0 to 90 °C; the product of water as printed
    /// beside them in data sets of geochemistry, from memory. Concentrations take the place of activities of ions.
    fn of(water: &Analysis) -> Self {
        let t = kelvin(water.temp_c);
        let log_t = libm::log10(t);
        let gamma = libm::pow(10.0, -p_activity(water.temp_c, water.strength()));
        let log_1 = -356.309_4 - 0.060_919_64 * t + 21_834.37 / t + 126.833_9 * log_t - 1_684_915.0 / (t * t);
        let log_2 = -107.887_1 - 0.032_528_49 * t + 5_151.79 / t + 38.925_61 * log_t - 563_713.9 / (t * t);
        let log_s = -171.906_5 - 0.077_993 * t + 2_839.319 / t + 71.595 * log_t;
        let log_w = -283.971 - 0.050_698_42 * t + 13_323.0 / t + 102.244_47 * log_t - 1_119_669.0 / (t * t);
        let constant = |log: f64, power: i32| {
            let mut k = libm::pow(10.0, log);
            for _ in 0..power {
                k /= gamma;
            }
            k
        };
        // Charges squared on the right less those on the left; that of hydrogen stays an activity, as a pH is.
        Self {
            k_1: constant(log_1, 1),
            k_2: constant(log_2, 3),
            k_w: constant(log_w, 1),
            k_s: constant(log_s, 8),
            gamma,
        }
    }

    /// Concentrations of bicarbonate and carbonate for one of carbon dioxide.
    fn of_dioxide(&self, ph: f64) -> (f64, f64) {
        let h = libm::pow(10.0, -ph);
        let bicarbonate = self.k_1 / h;
        (bicarbonate, bicarbonate * self.k_2 / h)
    }

    /// Hydroxide less hydrogen.
    fn excess_base(&self, ph: f64) -> f64 {
        let h = libm::pow(10.0, -ph);
        self.k_w / h - h / self.gamma
    }
}

impl Analysis {
    fn strength(&self) -> f64 {
        self.tds_mg_l() / 40_000.0
    }

    /// Dissolved carbon dioxide by pH and alkalinity, mol/L; none above the pH at which the alkalinity is hydroxide alone.
    #[must_use]
    pub fn carbon_dioxide_mol_l(&self) -> f64 {
        let constants = Constants::of(self);
        let (bicarbonate, carbonate) = constants.of_dioxide(self.ph);
        let held = self.bicarbonate_mol_l() - constants.excess_base(self.ph);
        (held / (bicarbonate + 2.0 * carbonate)).max(0.0)
    }

    /// The product that a membrane makes of this water if it lets a share of every ion pass, and all carbon dioxide.
    #[must_use]
    pub fn product(&self, share: f64) -> Self {
        let dioxide = self.carbon_dioxide_mol_l();
        let product = self.times(share);
        let constants = Constants::of(&product);
        let alkalinity = product.bicarbonate_mol_l();
        let spare = |ph: f64| {
            let (bicarbonate, carbonate) = constants.of_dioxide(ph);
            dioxide * (bicarbonate + 2.0 * carbonate) + constants.excess_base(ph) - alkalinity
        };
        Self { ph: root(spare, LEAST_PH, MOST_PH), ..product }
    }

    /// What this water does in a bed of calcite, closed to the air, until it is saturated.
    ///
    /// With `x` moles of calcite dissolved, total carbonate is `C + x` and alkalinity `A + 2 x`, so `A - 2 C` stays: at a pH it
    /// fixes total carbonate, hence `x`, and the saturation with calcite at that pH is left to be one.
    #[must_use]
    pub fn hardened(&self) -> Hardening {
        let constants = Constants::of(self);
        let (bicarbonate, carbonate) = constants.of_dioxide(self.ph);
        let total = self.carbon_dioxide_mol_l() * (1.0 + bicarbonate + carbonate);
        let fixed = self.bicarbonate_mol_l() - 2.0 * total;
        let mut found = Hardening { calcite_mg_l: 0.0, ph: self.ph };
        for _ in 0..ROUNDS {
            let then = Constants::of(&self.with_calcite(found.calcite_mg_l, found.ph));
            // Total carbonate at a pH, and the carbonate ion in it.
            let at = |ph: f64| {
                let (bicarbonate, carbonate) = then.of_dioxide(ph);
                let dioxide = (then.excess_base(ph) - fixed) / (2.0 + bicarbonate);
                (dioxide * (1.0 + bicarbonate + carbonate), dioxide * carbonate)
            };
            let calcium = self.calcium_mol_l();
            let beyond = |ph: f64| {
                let (now, carbonate) = at(ph);
                (calcium + now - total) * carbonate / then.k_s - 1.0
            };
            if beyond(self.ph) >= 0.0 || beyond(MOST_PH) <= 0.0 {
                break;
            }
            let ph = root(beyond, self.ph, MOST_PH);
            found = Hardening { calcite_mg_l: 1e3 * CALCITE_MG * (at(ph).0 - total).max(0.0), ph };
        }
        found
    }

    /// This water with so much calcite dissolved in it.
    #[must_use]
    pub fn with_calcite(&self, calcite_mg_l: f64, ph: f64) -> Self {
        Self {
            ph,
            calcium_mg_l: self.calcium_mg_l + calcite_mg_l * equivalent_mg::CALCIUM / equivalent_mg::CARBONATE,
            alkalinity_mg_l: self.alkalinity_mg_l + calcite_mg_l,
            measured_tds_mg_l: self.measured_tds_mg_l.map(|tds| tds + DISSOLVED_OF_CALCITE * calcite_mg_l),
            ..*self
        }
    }
}

/// Dissolved solids that calcite adds for its mass: calcium and two of bicarbonate, one of which was carbon dioxide.
pub const DISSOLVED_OF_CALCITE: f64 = (equivalent_mg::CALCIUM + 61.016_8) / equivalent_mg::CARBONATE;

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scaling::TypicalWater;

    #[test]
    fn hardened_water_is_saturated_by_the_index() {
        for water in [TypicalWater::SoftWell, TypicalWater::HardWell, TypicalWater::Town] {
            let product = water.analysis().product(0.03);
            let found = product.hardened();
            assert!(found.calcite_mg_l > 1.0, "{water:?}: {found:?}");
            // The index takes all alkalinity as bicarbonate, and activities after dissolving: near 0, not at it.
            let lsi = product.with_calcite(found.calcite_mg_l, found.ph).lsi();
            assert!(lsi.abs() < 0.12, "{water:?}: {lsi}");
            let again = product.with_calcite(found.calcite_mg_l, found.ph).hardened();
            assert!(again.calcite_mg_l < 0.1 * found.calcite_mg_l, "{water:?}: {again:?}");
        }
    }

    #[test]
    fn exact_product_keeps_the_carbon_dioxide() {
        let feed = TypicalWater::HardWell.analysis();
        for share in [1.0, 0.3, 0.02, 1e-4] {
            let product = feed.product(share);
            let ratio = product.carbon_dioxide_mol_l() / feed.carbon_dioxide_mol_l();
            assert!((ratio - 1.0).abs() < 1e-9, "{ratio} at {share}");
        }
        assert!((feed.product(1.0).ph - feed.ph).abs() < 1e-9);
    }

    #[test]
    fn saturated_water_dissolves_nothing() {
        let mut water = TypicalWater::HardWell.analysis();
        water.ph = 8.5;
        assert_eq!(water.hardened(), Hardening { calcite_mg_l: 0.0, ph: 8.5 });
    }
}
