//! Properties of liquid water near atmospheric pressure, 0 to 95 °C.
//!
//! | property | equation | range of the source |
//! | --- | --- | --- |
//! | density | Kell 1975 | 0 to 150 °C |
//! | viscosity | IAPWS SR6-08(2011) | -20 to 110 °C |
//! | specific heat | IAPWS SR6-08(2011) | -20 to 110 °C |
//! | vapour pressure | Wagner & Pruss 1993 | 0.01 to 374 °C |
//!
//! Every function holds its temperature to [`COLDEST_C`] and [`HOTTEST_C`]: below, water freezes in the pipe; above, a
//! plant at ordinary pressure is about to boil. Water is taken as fresh and incompressible: 1000 kPa make it 0.05 %
//! denser, and 1000 mg/L of salt about 0.08 %. Powers and exponentials come from `libm`, so that every machine computes
//! the same bits.

use serde::{Deserialize, Serialize};

/// Standard gravity, CGPM 1901.
pub const GRAVITY_M_S2: f64 = 9.806_65;

/// Lowest temperature the properties are given for.
pub const COLDEST_C: f64 = 0.0;

/// Highest temperature the properties are given for.
pub const HOTTEST_C: f64 = 95.0;

/// 0 °C on the thermodynamic scale.
const CELSIUS_K: f64 = 273.15;

/// The water in the pipes, at one temperature.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Water {
    /// Density.
    pub density_kg_m3: f64,
    /// Dynamic viscosity.
    pub viscosity_pa_s: f64,
}

impl Water {
    /// Fresh water at a temperature, held to [`COLDEST_C`]..=[`HOTTEST_C`].
    ///
    /// A temperature that is not a number gives properties that are none either, which a plant refuses.
    #[must_use]
    pub fn at(temp_c: f64) -> Self {
        Self { density_kg_m3: density_kg_m3(temp_c), viscosity_pa_s: viscosity_pa_s(temp_c) }
    }

    /// Head of a column that weighs as much as a pressure, `p / (rho g)`.
    #[must_use]
    pub fn head_m(&self, pressure_kpa: f64) -> f64 {
        1e3 * pressure_kpa / (self.density_kg_m3 * GRAVITY_M_S2)
    }

    /// Pressure of a column of water, `rho g h`.
    #[must_use]
    pub fn pressure_kpa(&self, head_m: f64) -> f64 {
        1e-3 * self.density_kg_m3 * GRAVITY_M_S2 * head_m
    }
}

/// Density of air-free water at 101.325 kPa.
///
/// G. S. Kell, "Density, thermal expansivity, and compressibility of liquid water from 0° to 150 °C", J. Chem. Eng. Data
/// 20 (1975) 97, equation 16. Within 0.013 kg/m³ of IAPWS-95 over the range.
#[must_use]
pub fn density_kg_m3(temp_c: f64) -> f64 {
    let t = held(temp_c);
    let top = 999.839_52
        + t * (16.945_176 + t * (-7.987_040_1e-3 + t * (-46.170_461e-6 + t * (105.563_02e-9 + t * -280.542_53e-12))));
    top / (1.0 + 16.879_850e-3 * t)
}

/// Dynamic viscosity at 100 kPa.
///
/// IAPWS SR6-08(2011), "Revised Supplementary Release on Properties of Liquid Water at `0.1 MPa`":
/// `mu = 1e-6 sum a_i (T / 300 K)^b_i`. The release states 1 % uncertainty; it is within 0.003 % of the full IAPWS 2008
/// formulation over the range.
#[must_use]
pub fn viscosity_pa_s(temp_c: f64) -> f64 {
    const TERMS: [(f64, f64); 4] = [(280.68, -1.9), (511.45, -7.7), (61.131, -19.6), (0.459_03, -40.0)];
    let reduced = (held(temp_c) + CELSIUS_K) / 300.0;
    1e-6 * TERMS.iter().map(|&(a, b)| a * libm::pow(reduced, b)).sum::<f64>()
}

/// Isobaric specific heat at 100 kPa.
///
/// IAPWS SR6-08(2011), as above: `c_p = -R (c3 + tau (sum n (n + 1) a alpha^(n + 2) + sum m (m + 1) b beta^(m + 2)))`
/// with `tau = T / 10 K`, `alpha = 10 / (593 - T)`, `beta = 10 / (T - 232)`. Within 0.004 % of IAPWS-95 over the range.
#[must_use]
pub fn specific_heat_j_kg_k(temp_c: f64) -> f64 {
    const GAS_J_KG_K: f64 = 461.518_05;
    const C3: f64 = -8.983_025_854;
    const ALPHA: [(f64, f64); 3] = [(4.0, -1.661_470_539e5), (5.0, 2.708_781_640e6), (7.0, -1.557_191_544e8)];
    const BETA: [(f64, f64); 4] =
        [(2.0, -8.237_426_256e-1), (3.0, 1.908_956_353), (4.0, -2.017_597_384), (5.0, 8.546_361_348e-1)];
    let kelvin = held(temp_c) + CELSIUS_K;
    let part = |terms: &[(f64, f64)], x: f64| -> f64 {
        terms.iter().map(|&(n, a)| n * (n + 1.0) * a * libm::pow(x, n + 2.0)).sum()
    };
    let curved = part(&ALPHA, 10.0 / (593.0 - kelvin)) + part(&BETA, 10.0 / (kelvin - 232.0));
    -GAS_J_KG_K * (C3 + 0.1 * kelvin * curved)
}

/// Vapour pressure at saturation, absolute.
///
/// W. Wagner and A. Pruss, "International equations for the saturation properties of ordinary water substance. Revised
/// according to the International Temperature Scale of 1990", J. Phys. Chem. Ref. Data 22 (1993) 783, equation 1 (also
/// IAPWS SR1-86(1992)). Within 0.008 % of IAPWS-95 over the range; between 0 and 0.01 °C it is that of subcooled water.
#[must_use]
pub fn vapour_pressure_kpa(temp_c: f64) -> f64 {
    const CRITICAL_K: f64 = 647.096;
    const CRITICAL_KPA: f64 = 22_064.0;
    const TERMS: [(f64, f64); 6] = [
        (-7.859_517_83, 1.0),
        (1.844_082_59, 1.5),
        (-11.786_649_7, 3.0),
        (22.680_741_1, 3.5),
        (-15.961_871_9, 4.0),
        (1.801_225_02, 7.5),
    ];
    let kelvin = held(temp_c) + CELSIUS_K;
    let theta = 1.0 - kelvin / CRITICAL_K;
    let sum: f64 = TERMS.iter().map(|&(a, b)| a * libm::pow(theta, b)).sum();
    CRITICAL_KPA * libm::exp(CRITICAL_K / kelvin * sum)
}

/// The temperature, held to the range of this module.
fn held(temp_c: f64) -> f64 {
    temp_c.clamp(COLDEST_C, HOTTEST_C)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn temperature_is_held_to_the_range() {
        assert_eq!(Water::at(-40.0), Water::at(COLDEST_C));
        assert_eq!(Water::at(f64::INFINITY), Water::at(HOTTEST_C));
        assert_ne!(Water::at(94.0), Water::at(HOTTEST_C));
        assert!(Water::at(f64::NAN).density_kg_m3.is_nan());
    }

    #[test]
    fn head_is_pressure_over_weight() {
        let water = Water { density_kg_m3: 1_000.0, viscosity_pa_s: 1e-3 };
        assert!((water.head_m(98.066_5) - 10.0).abs() < 1e-12);
    }
}
