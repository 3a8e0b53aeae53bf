//! An ultraviolet unit: the dose that water gets on its way past the lamp.
//!
//! Dose is intensity times time: it falls as `1 / Q`, with the mean of the light over the depth of the water,
//! `(1 - 10^(-a L)) / (2.303 a L)`, and with the age of the lamp. The plate states the dose at a rated flow and
//! transmittance. See `docs/physics.md`.

use serde::{Deserialize, Serialize};

use crate::quality::absorbance_per_cm;

/// An ultraviolet unit.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Ultraviolet {
    /// Dose at the rated flow and transmittance with a lamp at the end of its life.
    pub rated_mj_cm2: f64,
    /// Transmittance of a centimetre at which that holds, 0 to 1.
    pub rated_transmittance: f64,
    /// Depth of the water that the light passes.
    pub path_cm: f64,
    /// Dose under which water counts as not disinfected.
    pub limit_mj_cm2: f64,
    /// Hours the lamp has burned when the run starts,
    pub start_h: f64,
    /// and may burn until it is changed.
    pub life_h: f64,
    /// Light of a lamp at the end of its life, as a share of that of a new one; the light falls off evenly.
    pub end_share: f64,
    /// Electric power.
    pub power_w: f64,
}

/// Mean of the light over a depth of water, as a share of that at its surface: Beer's law averaged over a parallel beam.
#[must_use]
pub fn depth_average(absorbance_per_cm: f64, path_cm: f64) -> f64 {
    let depth = core::f64::consts::LN_10 * absorbance_per_cm * path_cm;
    // (1 - e^-x) / x -> 1 - x / 2
    if depth < 1e-8 { 1.0 - 0.5 * depth } else { -libm::expm1(-depth) / depth }
}

impl Ultraviolet {
    /// Light of the lamp at an age, as a share of that at the end of its life.
    #[must_use]
    pub fn lamp(&self, burned_h: f64) -> f64 {
        (1.0 - (1.0 - self.end_share) * burned_h / self.life_h).max(0.0) / self.end_share
    }

    /// Dose at a flow, in water of an absorbance, with a lamp that has burned so long; `rated_lps` is the stage's rated flow.
    ///
    /// Infinite at no flow.
    #[must_use]
    pub fn dose_mj_cm2(&self, flow_lps: f64, rated_lps: f64, absorbance: f64, burned_h: f64) -> f64 {
        let rated = depth_average(absorbance_per_cm(self.rated_transmittance), self.path_cm);
        let light = depth_average(absorbance, self.path_cm) / rated * self.lamp(burned_h);
        self.rated_mj_cm2 * light * rated_lps / flow_lps
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn unit() -> Ultraviolet {
        Ultraviolet {
            rated_mj_cm2: 40.0,
            rated_transmittance: 0.75,
            path_cm: 2.0,
            limit_mj_cm2: 30.0,
            start_h: 0.0,
            life_h: 9_000.0,
            end_share: 0.7,
            power_w: 50.0,
        }
    }

    #[test]
    fn exact_rated_dose_with_an_old_lamp() {
        let (unit, absorbance) = (unit(), absorbance_per_cm(0.75));
        let dose = |flow_lps: f64, burned_h: f64| unit.dose_mj_cm2(flow_lps, 0.5, absorbance, burned_h);
        assert!((dose(0.5, 9_000.0) - 40.0).abs() < 1e-13, "{}", dose(0.5, 9_000.0));
        assert!((dose(0.25, 9_000.0) - 80.0).abs() < 1e-13);
        // A new lamp gives 1 / 0.7 of it, one half through its life 0.85 / 0.7.
        assert!((dose(0.5, 0.0) - 40.0 / 0.7).abs() < 1e-13);
        assert!((dose(0.5, 4_500.0) - 40.0 * 0.85 / 0.7).abs() < 1e-13);
        assert_eq!(dose(0.0, 0.0), f64::INFINITY);
    }

    #[test]
    fn lamp_fades_to_nothing_and_no_further() {
        let mut last = f64::INFINITY;
        for hundred_h in 0..300 {
            let light = unit().lamp(100.0 * f64::from(hundred_h));
            assert!(light > 0.0 && light < last, "{light} after {hundred_h} hundred hours");
            last = light;
        }
        assert_eq!(unit().lamp(30_001.0), 0.0);
    }

    #[test]
    fn exact_depth_average_limits() {
        // Clear water keeps all light; a deep or dark one 1 / (2.303 a L).
        assert_eq!(depth_average(0.0, 2.0), 1.0);
        let dark = depth_average(10.0, 5.0) * 50.0 * core::f64::consts::LN_10;
        assert!((dark - 1.0).abs() < 1e-14, "{dark}");
        // Where the series takes over the value does not step: 1 - x / 2 is good to x^2 / 6.
        for x in [0.99e-8, 1.01e-8] {
            let found = depth_average(x / core::f64::consts::LN_10, 1.0);
            assert!((found - (1.0 - 0.5 * x)).abs() < 3e-16, "{found} at {x}");
        }
    }

    #[test]
    fn darker_water_gets_less() {
        let dose = |transmittance: f64| unit().dose_mj_cm2(0.5, 0.5, absorbance_per_cm(transmittance), 9_000.0);
        let mut last = 0.0;
        for percent in 1..=100 {
            let dose = dose(0.01 * f64::from(percent));
            assert!(dose > last, "{dose} at {percent} %");
            last = dose;
        }
    }
}
