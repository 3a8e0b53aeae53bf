//! Osmotic pressure of salty water.
//!
//! Salt counts as sodium chloride unless said otherwise. Its osmotic coefficient is that of K. S. Pitzer and G. Mayorga,
//! J. Phys. Chem. 77 (1973) 2300, with the constants' course over temperature of L. F. Silvester and K. S. Pitzer,
//! J. Phys. Chem. 81 (1977) 1822. See `docs/physics.md`.

use serde::{Deserialize, Serialize};

use crate::water::{COLDEST_C, HOTTEST_C, density_kg_m3};

/// Molar gas constant, J/(mol K) (SI 2019).
const GAS_J_MOL_K: f64 = 8.314_462_618;
/// Molar mass of sodium chloride, g/mol.
const CHLORIDE_G_MOL: f64 = 58.442_8;
/// 0 °C on the thermodynamic scale.
pub(super) const CELSIUS_K: f64 = 273.15;
/// 25 °C, where plates are tested and constants are stated.
pub(super) const STANDARD_K: f64 = 298.15;

/// Volume that a mole of sodium chloride takes up in water, m³/mol: at 50 g/L 16.9e-6 at 10 °C, 18.5e-6 at 25 °C, 18.8e-6 at
/// 30 °C, by the density of brine (Melinder 2010). A millionth more is 0.09 % of the pressure at 50 g/L.
const CHLORIDE_M3_MOL: f64 = 18.0e-6;

/// Saltiest water the law of Pitzer is used for; beyond, pressure goes on along its tangent. Brine is saturated at 360 g/L.
const SALTIEST_MG_L: f64 = 250_000.0;

/// What pressure salt makes.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub enum OsmoticModel {
    /// So large a share of the pressure of as much sodium chloride.
    ///
    /// Natural waters, whose ions are heavier, make less: by the trade's rule 1 psi for 100 mg/L, a share of about 0.83 to
    /// 0.87.
    Chloride {
        /// The share.
        share: f64,
    },
    /// Van 't Hoff's law for the two ions of sodium chloride, times a constant osmotic coefficient.
    Ideal {
        /// The coefficient; 0.93 serves for sodium chloride from 1 to 35 g/L, to 4 %.
        coefficient: f64,
    },
}

impl Default for OsmoticModel {
    fn default() -> Self {
        Self::Chloride { share: 1.0 }
    }
}

/// [`OsmoticModel`] at one temperature: all that does not depend on the salt is worked out.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Osmosis {
    /// Pressure of an ideal solution, kPa for each mg/L.
    ideal_kpa_l_mg: f64,
    law: Law,
}

#[derive(Clone, Copy, Debug, PartialEq)]
enum Law {
    Ideal,
    Pitzer(Pitzer),
}

/// Constants of Pitzer's osmotic coefficient at one temperature, and the pressure at [`SALTIEST_MG_L`].
#[derive(Clone, Copy, Debug, PartialEq)]
struct Pitzer {
    /// Molality of a mg/L in water that the salt's own volume does not thin out, mol/kg.
    mol_kg_l_mg: f64,
    debye_huckel: f64,
    beta_0: f64,
    beta_1: f64,
    third: f64,
    end: (f64, f64),
}

impl Osmosis {
    /// The model at a temperature, held to 0 to 95 °C.
    #[must_use]
    pub fn at(model: OsmoticModel, temp_c: f64) -> Self {
        let temp_c = temp_c.clamp(COLDEST_C, HOTTEST_C);
        let kelvin = temp_c + CELSIUS_K;
        // Two ions; a mg/L is 1 / M mol/m³; Pa to kPa.
        let ideal_kpa_l_mg = 2e-3 * GAS_J_MOL_K * kelvin / CHLORIDE_G_MOL;
        match model {
            OsmoticModel::Ideal { coefficient } => {
                Self { ideal_kpa_l_mg: coefficient * ideal_kpa_l_mg, law: Law::Ideal }
            }
            OsmoticModel::Chloride { share } => {
                let ideal_kpa_l_mg = share * ideal_kpa_l_mg;
                let density_kg_m3 = density_kg_m3(temp_c);
                let d = kelvin - STANDARD_K;
                let inverse = 1.0 / kelvin - 1.0 / STANDARD_K;
                let log = libm::log(kelvin / STANDARD_K);
                let square = kelvin * kelvin - STANDARD_K * STANDARD_K;
                let mut pitzer = Pitzer {
                    mol_kg_l_mg: 1.0 / (CHLORIDE_G_MOL * density_kg_m3),
                    debye_huckel: debye_huckel(kelvin, density_kg_m3),
                    beta_0: 0.0765 - 777.03 * inverse - 4.4706 * log + 0.008_946 * d - 3.3158e-6 * square,
                    beta_1: 0.2664 + 6.1608e-5 * d + 1.0715e-6 * square,
                    third: 0.00127 + 33.317 * inverse + 0.094_21 * log - 4.655e-5 * d,
                    end: (0.0, 0.0),
                };
                pitzer.end = pitzer.kpa_and_slope(ideal_kpa_l_mg, SALTIEST_MG_L);
                Self { ideal_kpa_l_mg, law: Law::Pitzer(pitzer) }
            }
        }
    }

    /// Osmotic pressure of water with so much salt; rises strictly with it.
    #[must_use]
    pub fn kpa(&self, salt_mg_l: f64) -> f64 {
        self.kpa_and_slope(salt_mg_l).0
    }

    /// Osmotic pressure and its slope against the salt, kPa for each mg/L.
    #[must_use]
    pub fn kpa_and_slope(&self, salt_mg_l: f64) -> (f64, f64) {
        match &self.law {
            Law::Ideal => (self.ideal_kpa_l_mg * salt_mg_l, self.ideal_kpa_l_mg),
            Law::Pitzer(pitzer) if salt_mg_l <= SALTIEST_MG_L => pitzer.kpa_and_slope(self.ideal_kpa_l_mg, salt_mg_l),
            Law::Pitzer(Pitzer { end: (kpa, slope), .. }) => (kpa + slope * (salt_mg_l - SALTIEST_MG_L), *slope),
        }
    }
}

impl Pitzer {
    /// `pi = phi 2 R T n / (1 - n v)`: `phi 2 R T rho_water m`, with the molality `m = n / (rho_water (1 - n v))` of `n` mol/m³
    /// of salt that take up `v` each.
    fn kpa_and_slope(&self, ideal_kpa_l_mg: f64, salt_mg_l: f64) -> (f64, f64) {
        const TAKEN_L_MG: f64 = CHLORIDE_M3_MOL / CHLORIDE_G_MOL;
        let thinned = 1.0 / (1.0 - TAKEN_L_MG * salt_mg_l);
        let m = self.mol_kg_l_mg * salt_mg_l * thinned;
        let root = m.sqrt();
        let near = libm::exp(-2.0 * root);
        let screened = 1.0 / (1.0 + 1.2 * root);
        let far = self.debye_huckel * root * screened;
        let phi = 1.0 - far + m * (self.beta_0 + self.beta_1 * near + m * self.third);
        // m dphi/dm
        let bend = -0.5 * far * screened + m * (self.beta_0 + self.beta_1 * near * (1.0 - root) + 2.0 * m * self.third);
        let scale = ideal_kpa_l_mg * thinned;
        (scale * salt_mg_l * phi, scale * thinned * (phi + bend))
    }
}

/// Osmotic pressure of water with so much salt at a temperature. For more than one value use [`Osmosis::at`].
#[must_use]
pub fn osmotic_kpa(model: OsmoticModel, salt_mg_l: f64, temp_c: f64) -> f64 {
    Osmosis::at(model, temp_c).kpa(salt_mg_l)
}

/// Slope of the law of Debye and Hückel for the osmotic coefficient, `sqrt(kg/mol)`.
///
/// `A = (1/3) sqrt(2 pi N rho) (e² / (4 pi eps_0 D k T))^1.5` with the dielectric constant `D` of D. J. Bradley and
/// K. S. Pitzer, J. Phys. Chem. 83 (1979) 1599, at atmospheric pressure, 0 to 350 °C.
fn debye_huckel(kelvin: f64, density_kg_m3: f64) -> f64 {
    const AVOGADRO: f64 = 6.022_140_76e23;
    const BOLTZMANN: f64 = 1.380_649e-23;
    const CHARGE: f64 = 1.602_176_634e-19;
    const VACUUM: f64 = 8.854_187_812_8e-12;
    let at_1000_bar = 342.79 * libm::exp(-5.0866e-3 * kelvin + 9.469e-7 * kelvin * kelvin);
    let c = -2.0525 + 3115.9 / (-182.89 + kelvin);
    let b = -8032.5 + 4.2142e6 / kelvin + 2.1417 * kelvin;
    let dielectric = at_1000_bar + c * libm::log((b + 1.013_25) / (b + 1000.0));
    let length_m = CHARGE * CHARGE / (4.0 * core::f64::consts::PI * VACUUM * dielectric * BOLTZMANN * kelvin);
    (2.0 * core::f64::consts::PI * AVOGADRO * density_kg_m3).sqrt() * length_m * length_m.sqrt() / 3.0
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn exact_slope_is_the_slope() {
        for model in [OsmoticModel::default(), OsmoticModel::Ideal { coefficient: 0.93 }] {
            for temp_c in [0.0, 25.0, 60.0, 95.0] {
                let osmosis = Osmosis::at(model, temp_c);
                for salt_mg_l in [10.0, 500.0, 35_000.0, 249_900.0, 300_000.0] {
                    let step = 1e-4 * salt_mg_l;
                    let slope = osmosis.kpa_and_slope(salt_mg_l).1;
                    let found = (osmosis.kpa(salt_mg_l + step) - osmosis.kpa(salt_mg_l - step)) / (2.0 * step);
                    // What a central difference leaves.
                    assert!((found / slope - 1.0).abs() < 1e-5, "{found} for {slope} at {salt_mg_l} mg/L, {temp_c} °C");
                }
            }
        }
    }

    #[test]
    fn fresh_water_has_no_osmotic_pressure() {
        for model in [OsmoticModel::default(), OsmoticModel::Ideal { coefficient: 0.93 }] {
            let (kpa, slope) = Osmosis::at(model, 10.0).kpa_and_slope(0.0);
            assert_eq!(kpa.to_bits(), 0.0_f64.to_bits());
            assert!(slope > 0.07 && slope < 0.09, "{slope}");
        }
    }
}
