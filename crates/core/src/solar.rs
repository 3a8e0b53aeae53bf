//! Panels on the roof: light on their plane, how warm their cells are, and what they and their inverter give.
//!
//! An hour at a time, and nothing is kept from one to the next. Where the sun stands comes from outside. Where only global
//! radiation is known, [`Light::split`] tells beam from diffuse. Equations, sources and ranges are in `docs/physics.md`.

use serde::{Deserialize, Serialize};

/// Radiation on a plane square to the sun at its mean distance: 1367 W/m² of the World Radiometric Reference.
///
/// WMO, Commission for Instruments and Methods of Observation, 1981 (value from memory); also the `0.0820 MJ/(m² min)`
/// of FAO Irrigation and Drainage Paper 56. Satellites have since found 1361 W/m² (Kopp & Lean, Geophys. Res. Lett. 38
/// (2011) L01706, value from memory), but formulas that split or tilt radiation were fitted with 1367.
pub const SOLAR_CONSTANT_W_M2: f64 = 1_367.0;

/// Light at which panels are rated, with their cells at [`RATED_CELL_C`].
pub const RATED_LIGHT_W_M2: f64 = 1_000.0;

/// Temperature of the cells at which panels are rated.
pub const RATED_CELL_C: f64 = 25.0;

/// Cosine of the zenith angle, 3.7° above the horizon, under which the sun is too low to divide by it.
const LOW_SUN_COS: f64 = 0.065;

/// How wide the sun is.
const SUN_WIDTH_DEG: f64 = 0.53;

/// The sun, as seen from the panels.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Sun {
    /// Angle from straight up, 0 to 180, lifted by refraction; under the horizon beyond 90.
    pub zenith_deg: f64,
    /// Direction from north over east.
    pub azimuth_deg: f64,
    /// Radiation above the air on a plane square to it, over 0.
    pub extra_w_m2: f64,
}

impl Sun {
    /// Cosine of the zenith angle; under the horizon it is 0.
    fn height(&self) -> f64 {
        if self.zenith_deg < 90.0 { libm::cos(self.zenith_deg.to_radians()) } else { 0.0 }
    }

    /// Share of the beam that is left near the horizon: all of it down to the sun's own width over it, none from there on.
    fn share_over_the_horizon(&self) -> f64 {
        ((90.0 - self.zenith_deg) / SUN_WIDTH_DEG).clamp(0.0, 1.0)
    }
}

/// Light of the sun and the sky on open, level ground; all of it 0 or more.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Light {
    /// Straight from the sun, on a plane square to it.
    pub beam_w_m2: f64,
    /// From the rest of the sky, on the horizontal.
    pub diffuse_w_m2: f64,
    /// All of it, on the horizontal.
    pub global_w_m2: f64,
}

impl Light {
    /// Global radiation of an hour split into beam and diffuse by how clear the air is (Erbs, Klein and Duffie, 1982).
    ///
    /// The sun's place must stand for the same hour as its light: where the sun rises or sets within it, for the part of
    /// the hour in which it is up.
    #[must_use]
    pub fn split(global_w_m2: f64, sun: &Sun) -> Self {
        let height = sun.height();
        let divisor = height.max(LOW_SUN_COS);
        let clearness = global_w_m2 / (sun.extra_w_m2 * divisor);
        let straight_w_m2 = global_w_m2 * (1.0 - diffuse_share(clearness));
        // A low sun's beam ends with it, and what is not beam is diffuse.
        let beam_w_m2 = (straight_w_m2 / divisor * (height / divisor)).min(sun.extra_w_m2);
        Self { beam_w_m2, diffuse_w_m2: global_w_m2 - beam_w_m2 * height, global_w_m2 }
    }
}

/// Diffuse radiation as a share of global, by global radiation as a share of that above the air, both on the horizontal.
///
/// D. G. Erbs, S. A. Klein and J. A. Duffie, Solar Energy 28 (1982) 293; from memory.
#[must_use]
pub fn diffuse_share(clearness: f64) -> f64 {
    let k = clearness;
    if k <= 0.22 {
        1.0 - 0.09 * k
    } else if k <= 0.80 {
        0.9511 + k * (-0.1604 + k * (4.388 + k * (-16.638 + k * 12.336)))
    } else {
        0.165
    }
}

/// Where the diffuse light of the sky comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum SkyModel {
    /// From all of it alike.
    Isotropic,
    /// From around the sun as much as the beam is of the radiation above the air, the rest from all of it alike (Hay and
    /// Davies, 1980).
    HayDavies,
}

/// Panels of one tilt and direction.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Panels {
    /// Angle from level, 0 to 90.
    pub tilt_deg: f64,
    /// Where they face, from north over east.
    pub azimuth_deg: f64,
    /// Direct power in light of [`RATED_LIGHT_W_M2`] with cells at [`RATED_CELL_C`].
    pub rated_w: f64,
    /// Change of power with each kelvin of the cells, as a share of the rated power; under 0.
    pub per_k: f64,
    /// Part that dirt, wiring, mismatch and age take, 0 to 1.
    pub losses_share: f64,
    /// Part of the light that the ground in front sends back, 0 to 1.
    pub albedo: f64,
}

impl Panels {
    /// Cosine of the angle between the sun and the normal of the panels; under 0 where the sun is behind them.
    #[must_use]
    pub fn incidence(&self, sun: &Sun) -> f64 {
        let (sin_zenith, cos_zenith) = libm::sincos(sun.zenith_deg.to_radians());
        let (sin_tilt, cos_tilt) = libm::sincos(self.tilt_deg.to_radians());
        cos_zenith * cos_tilt + sin_zenith * sin_tilt * libm::cos((sun.azimuth_deg - self.azimuth_deg).to_radians())
    }

    /// Light on the plane of the panels: from the sun, the sky and the ground.
    #[must_use]
    pub fn plane_w_m2(&self, sun: &Sun, light: &Light, model: SkyModel) -> f64 {
        let beam_w_m2 = light.beam_w_m2 * sun.share_over_the_horizon();
        let incidence = self.incidence(sun).max(0.0);
        let around_sun = match model {
            SkyModel::Isotropic => 0.0,
            SkyModel::HayDavies => (beam_w_m2 / sun.extra_w_m2).min(1.0),
        };
        let cos_tilt = libm::cos(self.tilt_deg.to_radians());
        let sky = around_sun * incidence / sun.height().max(LOW_SUN_COS) + (1.0 - around_sun) * 0.5 * (1.0 + cos_tilt);
        let ground = self.albedo * 0.5 * (1.0 - cos_tilt);
        beam_w_m2 * incidence + light.diffuse_w_m2 * sky + light.global_w_m2 * ground
    }

    /// Direct power in so much light on their plane.
    #[must_use]
    pub fn direct_w(&self, plane_w_m2: f64, cell_c: f64) -> f64 {
        let warmth = (1.0 + self.per_k * (cell_c - RATED_CELL_C)).max(0.0);
        self.rated_w * (plane_w_m2 / RATED_LIGHT_W_M2) * warmth * (1.0 - self.losses_share)
    }
}

/// Temperature of cells in so much light on their plane, wind as it blows at the panels.
///
/// D. Faiman, Progress in Photovoltaics 16 (2008) 307: 25 W/(m² K) and 6.84 W s/(m³ K), means over modules on an open rack.
#[must_use]
pub fn cell_c(plane_w_m2: f64, air_c: f64, wind_m_s: f64) -> f64 {
    air_c + plane_w_m2 / (25.0 + 6.84 * wind_m_s)
}

/// An inverter.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Inverter {
    /// Most alternating power it gives.
    pub limit_w: f64,
    /// Part of the direct power that it gives on at its limit, 0 to 1.
    pub efficiency: f64,
}

impl Inverter {
    /// Alternating power from direct power: 0 under 0.6 % of what it is made for, never over its limit.
    ///
    /// A. P. Dobos, NREL/TP-6A20-62641 (2014); constants from memory.
    #[must_use]
    pub fn alternating_w(&self, direct_w: f64) -> f64 {
        // Efficiency times load; the published efficiency has the last term over the load, without end at none.
        let load = (direct_w * self.efficiency / self.limit_w).min(1.0);
        self.limit_w * (((0.9858 - 0.0162 * load) * load - 0.0059) / 0.9637).clamp(0.0, 1.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sun(zenith_deg: f64) -> Sun {
        Sun { zenith_deg, azimuth_deg: 180.0, extra_w_m2: SOLAR_CONSTANT_W_M2 }
    }

    fn panels(tilt_deg: f64) -> Panels {
        Panels { tilt_deg, azimuth_deg: 180.0, rated_w: 5_000.0, per_k: -0.004, losses_share: 0.14, albedo: 0.2 }
    }

    #[test]
    fn exact_level_panels_see_global_light() {
        for model in [SkyModel::Isotropic, SkyModel::HayDavies] {
            for zenith_deg in [0.0, 30.0, 60.0, 86.0] {
                let (sun, beam_w_m2, diffuse_w_m2) = (sun(zenith_deg), 700.0, 90.0);
                let global_w_m2 = beam_w_m2 * sun.height() + diffuse_w_m2;
                let found = panels(0.0).plane_w_m2(&sun, &Light { beam_w_m2, diffuse_w_m2, global_w_m2 }, model);
                assert!((found - global_w_m2).abs() < 1e-12 * global_w_m2, "{found} for {global_w_m2}");
            }
        }
    }

    #[test]
    fn exact_no_beam_from_behind_or_below() {
        let light = Light { beam_w_m2: 800.0, diffuse_w_m2: 0.0, global_w_m2: 0.0 };
        let plane_w_m2 = |tilt_deg: f64, sun: &Sun| panels(tilt_deg).plane_w_m2(sun, &light, SkyModel::HayDavies);
        // The normal of a wall is level: an overhead sun is in its plane, one in the north behind it.
        assert!(plane_w_m2(90.0, &sun(0.0)).abs() < 1e-12);
        assert_eq!(plane_w_m2(90.0, &Sun { azimuth_deg: 0.0, ..sun(60.0) }), 0.0);
        assert!((plane_w_m2(30.0, &sun(30.0)) - 800.0).abs() < 1e-12, "square to the sun");
        for zenith_deg in [90.0, 91.0, 135.0, 180.0] {
            assert_eq!(plane_w_m2(90.0, &sun(zenith_deg)), 0.0);
            assert_eq!(Light::split(20.0, &sun(zenith_deg)).beam_w_m2, 0.0);
        }
    }

    #[test]
    fn exact_low_sun_loses_its_beam() {
        // As much light from half as high a sun: half the beam, and its other light is diffuse.
        let split = |height: f64| Light::split(40.0, &sun(libm::acos(height).to_degrees()));
        let (high, low) = (split(LOW_SUN_COS), split(0.5 * LOW_SUN_COS));
        assert!((low.beam_w_m2 - 0.5 * high.beam_w_m2).abs() < 1e-11, "{high:?} {low:?}");
        assert!((40.0 - low.diffuse_w_m2 - 0.25 * (40.0 - high.diffuse_w_m2)).abs() < 1e-11, "{high:?} {low:?}");
    }

    #[test]
    fn exact_rated_power_and_what_a_kelvin_takes() {
        let panels = panels(30.0);
        assert!((panels.direct_w(1_000.0, 25.0) - 4_300.0).abs() < 1e-11);
        assert!((panels.direct_w(500.0, 50.0) - 2_150.0 * 0.9).abs() < 1e-11);
        assert_eq!(panels.direct_w(1_000.0, 300.0), 0.0);
    }

    #[test]
    fn exact_inverter_at_its_limit_and_asleep() {
        let inverter = Inverter { limit_w: 4_800.0, efficiency: 0.96 };
        assert!((inverter.alternating_w(5_000.0) - 4_800.0).abs() < 1e-11);
        assert_eq!(inverter.alternating_w(1e6), 4_800.0);
        assert_eq!(inverter.alternating_w(0.0), 0.0);
        // It wakes where 0.9858 x - 0.0162 x^2 = 0.0059.
        assert_eq!(inverter.alternating_w(29.9), 0.0);
        assert!(inverter.alternating_w(30.0) > 0.0);
    }
}
