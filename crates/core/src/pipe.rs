//! A pipe flowing full: the head lost to friction along its wall.
//!
//! Darcy-Weisbach, `h = f (L / D) v^2 / 2g`. The friction factor is `64 / Re` in laminar flow (Hagen-Poiseuille) below
//! [`LAMINAR_RE`], and that of Colebrook 1939 above [`TURBULENT_RE`]. Between the two, flow is neither steady nor
//! predictable and no law is published; there the loss follows the cubic that meets both laws with equal value and slope.
//! That is common practice, not physics: it keeps the loss smooth and rising with the flow. See `docs/physics.md`.

use serde::{Deserialize, Serialize};

use crate::water::{GRAVITY_M_S2, Water};

/// Up to this Reynolds number flow is taken as laminar.
pub const LAMINAR_RE: f64 = 2_000.0;

/// From this Reynolds number on flow is taken as turbulent.
pub const TURBULENT_RE: f64 = 4_000.0;

/// The roughest wall, as a share of the bore, that Colebrook's law is used for: the end of Moody's chart (1944).
pub const ROUGHEST: f64 = 0.05;

/// A straight run of pipe.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Pipe {
    /// Its length.
    pub length_m: f64,
    /// Inside diameter.
    pub bore_mm: f64,
    /// Equivalent sand roughness of the wall.
    pub roughness_mm: f64,
}

impl Pipe {
    /// Head lost at a flow; the same with the sign turned where the flow is negative.
    ///
    /// `roughness_mm` counts as at most [`ROUGHEST`] of the bore. Fittings and valves are not in it.
    #[must_use]
    pub fn loss_m(&self, flow_lps: f64, water: &Water) -> f64 {
        let bore_m = self.bore_mm * 1e-3;
        let kinematic_m2_s = water.viscosity_pa_s / water.density_kg_m3;
        let relative_roughness = (self.roughness_mm / self.bore_mm).min(ROUGHEST);
        let reynolds = self.reynolds(flow_lps.abs(), water);
        // With v = Re nu / D the law reads h = (f Re^2) L nu^2 / (2 g D^3).
        let scale_m = self.length_m * kinematic_m2_s * kinematic_m2_s / (2.0 * GRAVITY_M_S2 * bore_m * bore_m * bore_m);
        (scale_m * friction_re2(reynolds, relative_roughness)).copysign(flow_lps)
    }

    /// Mean velocity at a flow.
    #[must_use]
    pub fn velocity_m_s(&self, flow_lps: f64) -> f64 {
        let bore_m = self.bore_mm * 1e-3;
        4e-3 * flow_lps / (core::f64::consts::PI * bore_m * bore_m)
    }

    /// Reynolds number at a flow, `rho v D / mu`.
    #[must_use]
    pub fn reynolds(&self, flow_lps: f64, water: &Water) -> f64 {
        water.density_kg_m3 * self.velocity_m_s(flow_lps) * self.bore_mm * 1e-3 / water.viscosity_pa_s
    }
}

/// `f Re^2`, which rises with the Reynolds number throughout.
fn friction_re2(reynolds: f64, relative_roughness: f64) -> f64 {
    if reynolds <= LAMINAR_RE {
        return 64.0 * reynolds;
    }
    if reynolds >= TURBULENT_RE {
        return turbulent_re2(reynolds, relative_roughness).0;
    }
    // Cubic Hermite piece. Its end slopes are 0.1 to 0.3 and 1.0 to 1.2 times the mean slope, for any roughness: both are
    // under 3, so it does not turn back (Fritsch & Carlson 1980).
    let width = TURBULENT_RE - LAMINAR_RE;
    let (start, start_slope) = (64.0 * LAMINAR_RE, 64.0 * width);
    let (end, slope) = turbulent_re2(TURBULENT_RE, relative_roughness);
    let (rise, end_slope) = (end - start, slope * width);
    let t = (reynolds - LAMINAR_RE) / width;
    let (c2, c3) = (3.0 * rise - 2.0 * start_slope - end_slope, start_slope + end_slope - 2.0 * rise);
    start + t * (start_slope + t * (c2 + t * c3))
}

/// `f Re^2` in turbulent flow, and its slope against the Reynolds number.
///
/// C. F. Colebrook, "Turbulent flow in pipes, with particular reference to the transition region between the smooth and
/// rough pipe laws", J. Inst. Civ. Engrs 11 (1939) 133: `1 / sqrt f = -2 log10(e / 3.7 D + 2.51 / (Re sqrt f))`, solved to
/// rounding by Newton's method.
fn turbulent_re2(reynolds: f64, relative_roughness: f64) -> (f64, f64) {
    const TWO_OVER_LN_10: f64 = 2.0 * core::f64::consts::LOG10_E;
    let wall = relative_roughness / 3.7;
    let viscous = 2.51 / reynolds;
    let mut root = 7.0; // 1 / sqrt f, in mid range: f = 0.02
    // Four steps do from Re 4e3 to 1e8; the rest is in reserve.
    for _ in 0..10 {
        let sum = wall + viscous * root;
        let excess = root + 2.0 * libm::log10(sum);
        let step = excess / (1.0 + TWO_OVER_LN_10 * viscous / sum);
        root -= step;
        if step.abs() <= 1e-15 * root {
            break;
        }
    }
    let value = reynolds * reynolds / (root * root);
    let damping = TWO_OVER_LN_10 * viscous / (wall + viscous * root);
    (value, 2.0 * value / (reynolds * (1.0 + damping)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn exact_blend_meets_both_laws() {
        for roughness in [0.0, 1e-4, 1e-2, ROUGHEST] {
            for limit in [LAMINAR_RE, TURBULENT_RE] {
                let step = 1e-3;
                let [before, at, after] = [-step, 0.0, step].map(|d| friction_re2(limit + d, roughness));
                // Slopes on both sides of the limit agree to the truncation error of a one-sided difference.
                let (left, right) = ((at - before) / step, (after - at) / step);
                assert!((left - right).abs() < 1e-4 * right, "at Re {limit}, e/D {roughness}: {left}, {right}");
            }
        }
    }

    #[test]
    fn exact_colebrook_is_satisfied() {
        for roughness in [0.0, 1e-6, 1e-4, 1e-2, ROUGHEST] {
            for reynolds in [4e3, 1e4, 1e5, 1e6, 1e8] {
                let root = reynolds / turbulent_re2(reynolds, roughness).0.sqrt();
                let other_side = -2.0 * libm::log10(roughness / 3.7 + 2.51 * root / reynolds);
                // A few roundings on either side.
                assert!((root - other_side).abs() < 1e-14 * root, "Re {reynolds}, e/D {roughness}");
            }
        }
    }

    #[test]
    fn rougher_than_the_chart_counts_as_its_end() {
        let pipe = |roughness_mm| Pipe { length_m: 10.0, bore_mm: 20.0, roughness_mm };
        let water = Water::at(15.0);
        let [beyond, end] = [500.0, 1.0].map(|roughness_mm| pipe(roughness_mm).loss_m(1.0, &water).to_bits());
        assert_eq!(beyond, end);
    }

    #[test]
    fn still_water_loses_nothing() {
        let pipe = Pipe { length_m: 10.0, bore_mm: 20.0, roughness_mm: 0.0015 };
        assert_eq!(pipe.loss_m(0.0, &Water::at(15.0)).to_bits(), 0.0_f64.to_bits());
    }
}
