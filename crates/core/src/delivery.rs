//! A variable-speed delivery pump that holds a set pressure, with its small tank.
//!
//! See [`Drive`] for how it is controlled, and `docs/physics.md`.

use serde::{Deserialize, Serialize};

use crate::pressure_tank::PressureTank;
use crate::pump::{PumpCurve, PumpPower};
use crate::supply::Drive;
use crate::water::Water;

/// The pump, its drive and its small tank.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Delivery {
    /// Head against flow at full speed.
    pub curve: PumpCurve,
    /// Electric power.
    pub power: PumpPower,
    /// How it is controlled.
    pub drive: Drive,
    /// Height of its gauge above the water in the storage tank, taken as constant.
    pub lift_m: f64,
    /// The small tank behind it.
    pub tank: PressureTank,
}

impl Delivery {
    /// Flow at full speed against a gauge pressure behind the pump.
    #[must_use]
    pub fn full_speed_flow_lps(&self, pressure_kpa: f64, water: &Water) -> f64 {
        self.curve.flow_lps(self.lift_m + water.head_m(pressure_kpa))
    }

    /// Electric power at full speed, drive included.
    #[must_use]
    pub fn full_speed_power_w(&self, flow_lps: f64, water: &Water) -> f64 {
        self.drive.standby_w + self.power.power_w(flow_lps, self.curve.head_m(flow_lps), 1.0, water.density_kg_m3)
    }

    /// Electric power while it holds the set pressure at a flow within its reach, drive included.
    #[must_use]
    pub fn hold_power_w(&self, flow_lps: f64, water: &Water) -> f64 {
        let head_m = self.lift_m + water.head_m(self.drive.set_kpa);
        let speed = self.curve.speed_for(flow_lps, head_m);
        self.drive.standby_w + self.power.power_w(flow_lps, head_m, speed, water.density_kg_m3)
    }
}
