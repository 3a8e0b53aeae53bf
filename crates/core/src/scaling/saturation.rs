//! How far water is saturated with what leaves scale: calcite, gypsum, silica.

use serde::{Deserialize, Serialize};

use super::analysis::{Analysis, Moles};

/// How far water is saturated.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Saturation {
    /// Langelier's index: pH less that at which the water would neither dissolve calcite nor leave it.
    pub lsi: f64,
    /// Calcium sulfate: ion activity product of gypsum over its solubility product.
    pub gypsum: f64,
    /// Silica over the solubility of amorphous silica.
    pub silica: f64,
}

/// How much amorphous silica dissolves between pH 6 and 8.5: Fournier & Rowe (1977), 0 to 250 °C; coefficients from memory.
#[must_use]
pub fn silica_solubility_mg_l(temp_c: f64) -> f64 {
    libm::pow(10.0, 4.52 - 731.0 / kelvin(temp_c))
}

impl Analysis {
    /// How far this water is saturated with each scale.
    #[must_use]
    pub fn saturation(&self) -> Saturation {
        Saturation {
            lsi: self.lsi(),
            gypsum: libm::pow(10.0, self.gypsum_index()),
            silica: self.silica_mg_l / silica_solubility_mg_l(self.temp_c),
        }
    }

    /// Langelier's index with corrections for activity, in the manner of Standard Methods 2330: 0 to 90 °C, up to some
    /// 10 000 mg/L. Minus infinity without calcium or alkalinity.
    #[must_use]
    pub fn lsi(&self) -> f64 {
        let t = kelvin(self.temp_c);
        let log_t = libm::log10(t);
        // Plummer & Busenberg (1982): second dissociation of carbonic acid, and calcite.
        let pk_2 = 107.887_1 + 0.032_528_49 * t - 5_151.79 / t - 38.925_61 * log_t + 563_713.9 / (t * t);
        let pk_s = 171.906_5 + 0.077_993 * t - 2_839.319 / t - 71.595 * log_t;
        let p_ca = -libm::log10(self.calcium_mol_l());
        let p_hco3 = -libm::log10(self.bicarbonate_mol_l());
        let strength = self.tds_mg_l() / 40_000.0;
        self.ph - (pk_2 - pk_s + p_ca + p_hco3 + 5.0 * p_activity(self.temp_c, strength))
    }

    /// Langelier's index by the short formula of four terms, `pHs = 9.3 + A + B - C - D`, for comparison: some 0.3 low in soft
    /// water and 0.2 high in salty water.
    #[must_use]
    pub fn short_lsi(&self) -> f64 {
        let a = 0.1 * (libm::log10(self.tds_mg_l()) - 1.0);
        let b = 34.55 - 13.12 * libm::log10(kelvin(self.temp_c));
        let c = libm::log10(self.calcium_hardness_mg_l()) - 0.4;
        let d = libm::log10(self.alkalinity_mg_l);
        self.ph - (9.3 + a + b - c - d)
    }

    /// Saturation index of gypsum: the logarithm of its ratio of saturation. Minus infinity without calcium or sulfate.
    #[must_use]
    pub fn gypsum_index(&self) -> f64 {
        let t = kelvin(self.temp_c);
        // Langmuir & Melchior (1985), 0 to 60 °C; coefficients from memory.
        let log_k = 68.240_1 - 3_221.51 / t - 25.062_7 * libm::log10(t);
        let free = free(&self.moles(), self.temp_c);
        libm::log10(free.calcium) + libm::log10(free.sulfate) - 8.0 * free.p_activity - log_k
    }
}

pub(super) fn kelvin(temp_c: f64) -> f64 {
    temp_c + 273.15
}

/// Negative logarithm of the activity coefficient of an ion of charge one, by Davies's equation; times the square of the
/// charge for others. Good up to an ionic strength of 0.5.
pub(super) fn p_activity(temp_c: f64, strength: f64) -> f64 {
    let t = kelvin(temp_c);
    let dielectric = 60_954.0 / (t + 116.0) - 68.937;
    let root = strength.sqrt();
    1.82e6 * libm::pow(dielectric * t, -1.5) * (root / (1.0 + root) - 0.3 * strength)
}

/// Ions that are not bound in pairs.
struct Free {
    calcium: f64,
    sulfate: f64,
    p_activity: f64,
}

/// What is left free of the ions, in moles a litre: pairs of sulfate with calcium, magnesium and sodium, and of bicarbonate
/// with calcium and magnesium. Constants at 25 °C and heats of reaction by Nordstrom et al. (1990), from memory.
fn free(all: &Moles, temp_c: f64) -> Free {
    let constant = |log_k: f64, heat_kj: f64| {
        let per_degree = 1.0 / 298.15 - 1.0 / kelvin(temp_c);
        libm::pow(10.0, log_k + 1e3 * heat_kj / (core::f64::consts::LN_10 * 8.314_462_618) * per_degree)
    };
    let (ca_so4, mg_so4, na_so4) = (constant(2.30, 6.90), constant(2.37, 19.04), constant(0.70, 4.69));
    let (ca_hco3, mg_hco3) = (constant(1.106, 11.3), constant(1.07, 3.3));

    let (mut sulfate, mut bicarbonate) = (all.sulfate, all.bicarbonate);
    let doubly = all.calcium + all.magnesium + all.sulfate;
    let mut strength = 0.5 * (4.0 * doubly + all.sodium + all.bicarbonate + all.others);
    let mut found = Free { calcium: all.calcium, sulfate, p_activity: 0.0 };
    // Cations from anions, anions from cations: each round closes in on the balance of both.
    for _ in 0..200 {
        let p = p_activity(temp_c, strength);
        // Charges squared: 4 + 4 make 0, or 4 + 1 make 1.
        let (neutral, charged) = (libm::pow(10.0, -8.0 * p), libm::pow(10.0, -4.0 * p));
        let calcium = all.calcium / (1.0 + neutral * ca_so4 * sulfate + charged * ca_hco3 * bicarbonate);
        let magnesium = all.magnesium / (1.0 + neutral * mg_so4 * sulfate + charged * mg_hco3 * bicarbonate);
        let sodium = all.sodium / (1.0 + charged * na_so4 * sulfate);
        let before = sulfate;
        sulfate = all.sulfate / (1.0 + neutral * (ca_so4 * calcium + mg_so4 * magnesium) + charged * na_so4 * sodium);
        bicarbonate = all.bicarbonate / (1.0 + charged * (ca_hco3 * calcium + mg_hco3 * magnesium));
        // Of pairs that are charged, each holds one bicarbonate or one sodium.
        let singly = all.bicarbonate + all.sodium + all.others;
        strength = 0.5 * (4.0 * (calcium + magnesium + sulfate) + singly);
        found = Free { calcium, sulfate, p_activity: p };
        if (sulfate - before).abs() <= 1e-15 * before {
            break;
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scaling::TypicalWater;

    #[test]
    fn water_without_scale_is_never_saturated() {
        let water = Analysis { calcium_mg_l: 0.0, silica_mg_l: 0.0, ..TypicalWater::HardWell.analysis() };
        assert_eq!(water.saturation(), Saturation { lsi: f64::NEG_INFINITY, gypsum: 0.0, silica: 0.0 });
    }

    #[test]
    fn pairs_and_free_ions_make_all() {
        // The pairs of calcium by their mass laws, worked out from the free ions, make up what is missing of calcium.
        let all = TypicalWater::HardWell.analysis().concentrated(5.0, 1.0).moles();
        let alone = Moles { magnesium: 0.0, sodium: 0.0, bicarbonate: 0.0, ..all };
        let free = free(&alone, 25.0);
        let bound = 199.526_231_496_888 * libm::pow(10.0, -8.0 * free.p_activity) * free.calcium * free.sulfate;
        assert!((free.calcium + bound - all.calcium).abs() < 1e-14, "{bound} bound of {}", all.calcium);
        assert!((free.sulfate + bound - all.sulfate).abs() < 1e-14);
        assert!(bound > 0.05 * all.calcium);
    }

    #[test]
    fn pure_water_has_ideal_activity() {
        assert_eq!(p_activity(25.0, 0.0), 0.0);
        // Debye and Hückel's constant at 25 °C is 0.509 (value from memory), half of its last digit; the formula's factor of
        // 1.82e6 is rounded to half of 0.01e6.
        let constant = p_activity(25.0, 1e-8) / 1e-4;
        assert!((constant - 0.509).abs() < 0.0005 + 0.509 * 0.005 / 1.82, "{constant}");
    }
}
