//! A body of open water that a pump can take from: a cistern or a pond.
//!
//! Its volume is the state. The depth of water is `h = h_full (V / V_full)^(1 / m)`: `m` is 1 for a vertical wall, 2 for a
//! trench, 3 for a cone. What rises over the brim spills. See `docs/physics.md`.

use serde::{Deserialize, Serialize};

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
        let share = (volume_l / self.capacity_l).clamp(0.0, 1.0);
        let depth_m = if self.shape == 1.0 { share } else { libm::pow(share, 1.0 / self.shape) } * self.full_depth_m;
        self.full_depth_m - depth_m - self.brim_height_m
    }
}
