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
