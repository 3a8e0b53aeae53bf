//! A body of open water that a pump can take from: a cistern or a pond.
//!
//! Its volume is the state. The depth of water is `h = h_full (V / V_full)^(1 / m)`: `m` is 1 for a vertical wall, 2 for a
//! trench, 3 for a cone. What rises over the brim spills. See `docs/physics.md`.

use serde::{Deserialize, Serialize};

use crate::pond::OpenWater;
use crate::time::Span;

/// What a basin is to the reader of a result.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum BasinKind {
    /// A tank that keeps rain or carried water.
    Cistern,
    /// Open water in the ground.
    Pond,
}

/// A cistern or a pond.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Basin {
    /// What it is.
    pub kind: BasinKind,
    /// Water it holds to the brim.
    pub capacity_l: f64,
    /// Water in it when the run starts.
    pub start_l: f64,
    /// Water at which the pump's intake is uncovered: from here on the pump gives only what flows in.
    pub intake_l: f64,
    /// Depth of the water when full.
    pub full_depth_m: f64,
    /// The brim's height above the ground at the pressure tank; negative where it lies lower.
    pub brim_height_m: f64,
    /// `m` in `V ~ h^m`.
    pub shape: f64,
    /// What stops the pump at low water.
    pub cutoff: Option<BasinCutoff>,
    /// The valve that tops it up from the raw header while another supply feeds that.
    pub top_up: Option<TopUp>,
    /// What it has under the open sky; `None` where it is covered and tight, or nothing is known of the weather.
    pub open: Option<OpenWater>,
}

/// Stops the pump at one volume, lets it run again at a larger one after a delay.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct BasinCutoff {
    /// The pump stops at or below this.
    pub stop_l: f64,
    /// It may run again at or above this,
    pub restart_l: f64,
    /// and when this much time has passed since the stop.
    pub restart_delay: Span,
}

/// A float switch and a valve between the raw header and a basin, through an air gap.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct TopUp {
    /// The valve opens at or below this.
    pub start_l: f64,
    /// It closes at or above this.
    pub stop_l: f64,
    /// Flow of the open valve.
    pub flow_lps: f64,
    /// Pressure from which it passes all of that flow.
    pub full_flow_kpa: f64,
}

impl Basin {
    /// Depth of the water surface below the ground at the pressure tank.
    #[must_use]
    pub fn water_depth_m(&self, volume_l: f64) -> f64 {
        self.full_depth_m - self.depth_m(volume_l) - self.brim_height_m
    }

    /// Depth of the water itself, at its deepest.
    #[must_use]
    pub fn depth_m(&self, volume_l: f64) -> f64 {
        let share = (volume_l / self.capacity_l).clamp(0.0, 1.0);
        if self.shape == 1.0 {
            share * self.full_depth_m
        } else {
            libm::pow(share, 1.0 / self.shape) * self.full_depth_m
        }
    }

    /// Area of the water's surface, `A = dV/dh`.
    #[must_use]
    pub fn area_m2(&self, volume_l: f64) -> f64 {
        let full_m2 = self.shape * 1e-3 * self.capacity_l / self.full_depth_m;
        let share = (volume_l / self.capacity_l).clamp(0.0, 1.0);
        if self.shape == 1.0 { full_m2 } else { full_m2 * libm::pow(share, 1.0 - 1.0 / self.shape) }
    }

    /// Mean depth of the water, `V / A`.
    #[must_use]
    pub fn mean_depth_m(&self, volume_l: f64) -> f64 {
        self.depth_m(volume_l) / self.shape
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn basin(shape: f64) -> Basin {
        Basin {
            kind: BasinKind::Pond,
            capacity_l: 40_000.0,
            start_l: 20_000.0,
            intake_l: 2_000.0,
            full_depth_m: 2.5,
            brim_height_m: -1.5,
            shape,
            cutoff: None,
            top_up: None,
            open: None,
        }
    }

    /// Depth of the water itself.
    fn water_m(basin: &Basin, volume_l: f64) -> f64 {
        basin.full_depth_m - basin.brim_height_m - basin.water_depth_m(volume_l)
    }

    #[test]
    fn exact_depth_comes_back_from_its_volume() {
        for shape in [1.0, 1.5, 2.0, 3.0, 10.0] {
            let basin = basin(shape);
            for share in [1e-3, 0.1, 0.5, 0.9, 1.0] {
                let volume_l = basin.capacity_l * libm::pow(share, shape);
                let found_m = water_m(&basin, volume_l);
                // Roundings of some metres.
                assert!((found_m - share * 2.5).abs() < 1e-14 * 4.0, "{found_m} m at {share}, shape {shape}");
            }
        }
    }

    #[test]
    fn exact_depth_of_wall_trench_and_cone() {
        for (shape, expected_m) in [(1.0, 2.5 / 8.0), (2.0, 2.5 / 8.0_f64.sqrt()), (3.0, 1.25)] {
            let found_m = water_m(&basin(shape), 5_000.0);
            assert!((found_m - expected_m).abs() < 1e-14 * 4.0, "{found_m} m, shape {shape}");
        }
    }

    #[test]
    fn exact_area_is_what_the_volume_gains_with_the_depth() {
        for shape in [1.0, 1.5, 2.0, 3.0, 10.0] {
            let basin = basin(shape);
            for share in [0.05, 0.5, 0.95] {
                let volume_l = 40_000.0 * share;
                let risen_m = water_m(&basin, volume_l + 20.0) - water_m(&basin, volume_l - 20.0);
                let found_m2 = basin.area_m2(volume_l);
                // A central difference over a thousandth of the volume.
                assert!((found_m2 * risen_m / 0.04 - 1.0).abs() < 1e-4, "{found_m2} m2 at {share}, shape {shape}");
                assert!((basin.mean_depth_m(volume_l) * found_m2 / (1e-3 * volume_l) - 1.0).abs() < 1e-12);
            }
        }
        assert_eq!((basin(1.0).area_m2(0.0), basin(3.0).area_m2(0.0), basin(3.0).area_m2(80_000.0)), (16.0, 0.0, 48.0));
    }

    #[test]
    fn surface_rises_with_the_volume_from_bottom_to_brim() {
        for shape in [1.0, 1.5, 2.0, 3.0, 10.0] {
            let basin = basin(shape);
            let mut last_m = f64::INFINITY;
            for percent in 0..=100 {
                let depth_m = basin.water_depth_m(400.0 * f64::from(percent));
                assert!(depth_m < last_m, "{depth_m} m at {percent} %, shape {shape}");
                last_m = depth_m;
            }
            // The bottom lies 2.5 m under a brim that is itself 1.5 m under the ground; beyond either end it stays there.
            assert_eq!(basin.water_depth_m(0.0), 4.0);
            assert_eq!(basin.water_depth_m(-1.0), 4.0);
            assert_eq!(basin.water_depth_m(40_000.0), 1.5);
            assert_eq!(basin.water_depth_m(50_000.0), 1.5);
        }
    }
}
