//! A drilled well: standing water in the casing, fed by the aquifer.
//!
//! Drawdown `s` follows `A ds/dt = Q_pump - k min(s, s_entry)`: `A` is the water held by a metre of casing, `k` the
//! specific capacity, and the inflow stops rising once the level is below the depth where water enters. See
//! `docs/physics.md`.

use serde::{Deserialize, Serialize};
use thiserror::Error;

use crate::time::Span;

/// A well and the depths in it, all measured down from the same point at the ground.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Well {
    /// Depth of the standing water when nothing is pumped.
    pub static_depth_m: f64,
    /// Depth of the pump's intake.
    pub pump_depth_m: f64,
    /// How the level answers to pumping.
    pub response: Response,
    /// The device that stops the pump when the level is low, where there is one.
    pub cutoff: Option<LowLevelCutoff>,
    /// Drawdown when the run starts.
    pub start_drawdown_m: f64,
}

/// How a well's level answers to pumping.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub enum Response {
    /// The level never moves.
    Ideal,
    /// Casing storage and a specific capacity.
    Drawdown {
        /// Litres held by a metre of casing.
        casing_l_per_m: f64,
        /// Litres a second that flow in for each metre of drawdown.
        specific_capacity_lps_per_m: f64,
        /// Depth where the water enters: drawdown below it brings no more inflow.
        entry_depth_m: f64,
    },
}

/// Stops the pump at one depth of water, lets it run again at a lesser one after a delay.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct LowLevelCutoff {
    /// The pump stops when the water is as deep as this.
    pub stop_depth_m: f64,
    /// The pump may run again when the water has come back up to this depth,
    pub restart_depth_m: f64,
    /// and when this much time has passed since the stop.
    pub restart_delay: Span,
}

/// The shortest time constant `A / k` simulated, and the least casing storage.
///
/// A level that would settle in less is given just enough casing storage to take this long: explicit steps stay stable, the
/// water balance still closes, and no gauge could show the difference. No pump fits a bore of less than a litre a metre
/// (36 mm).
pub const LEAST_TIME_CONSTANT_S: f64 = 1.0;
/// See [`LEAST_TIME_CONSTANT_S`].
pub const LEAST_CASING_L_PER_M: f64 = 1.0;

impl Well {
    /// Depth of the water at a drawdown.
    #[must_use]
    pub fn water_depth_m(&self, drawdown_m: f64) -> f64 {
        self.static_depth_m + drawdown_m
    }

    /// Drawdown that brings the water down to the pump's intake.
    #[must_use]
    pub fn intake_drawdown_m(&self) -> f64 {
        self.pump_depth_m - self.static_depth_m
    }

    /// Drawdown at which the inflow stops rising; infinite in an ideal well.
    #[must_use]
    pub fn entry_drawdown_m(&self) -> f64 {
        match self.response {
            Response::Ideal => f64::INFINITY,
            Response::Drawdown { entry_depth_m, .. } => entry_depth_m - self.static_depth_m,
        }
    }

    /// Casing storage that moves with the level, held to [`LEAST_TIME_CONSTANT_S`] and [`LEAST_CASING_L_PER_M`]; zero in an
    /// ideal well.
    #[must_use]
    pub fn storage_l_per_m(&self) -> f64 {
        match self.response {
            Response::Ideal => 0.0,
            Response::Drawdown { casing_l_per_m, specific_capacity_lps_per_m, .. } => {
                casing_l_per_m.max(LEAST_CASING_L_PER_M).max(LEAST_TIME_CONSTANT_S * specific_capacity_lps_per_m)
            }
        }
    }

    /// Flow from the aquifer into the casing at a drawdown; an ideal well gives what is pumped, see the engine.
    #[must_use]
    pub fn inflow_lps(&self, drawdown_m: f64) -> f64 {
        match self.response {
            Response::Ideal => 0.0,
            Response::Drawdown { specific_capacity_lps_per_m, entry_depth_m, .. } => {
                specific_capacity_lps_per_m * drawdown_m.min(entry_depth_m - self.static_depth_m)
            }
        }
    }

    /// The most the well can give for good: inflow with the water at the lower of the entry and the intake.
    ///
    /// Infinite in an ideal well.
    #[must_use]
    pub fn most_inflow_lps(&self) -> f64 {
        match self.response {
            Response::Ideal => f64::INFINITY,
            Response::Drawdown { .. } => self.inflow_lps(self.intake_drawdown_m()),
        }
    }
}

/// Litres held by a metre of casing of a bore, `pi d^2 / 4`.
#[must_use]
pub fn casing_l_per_m(diameter_mm: f64) -> f64 {
    core::f64::consts::PI * diameter_mm * diameter_mm / 4_000.0
}

/// A pump test that no specific capacity can explain.
#[derive(Clone, Copy, Debug, PartialEq, Error)]
pub enum PumpTestError {
    /// Casing storage alone gives more water than was pumped.
    #[error("the casing alone held {casing_l:.0} L over that drawdown, but only {pumped_l:.0} L were pumped")]
    CasingHoldsMore {
        /// Water that the casing gave up.
        casing_l: f64,
        /// Water pumped in the test.
        pumped_l: f64,
    },
}

/// Specific capacity from a test: pumping `flow_lps` for `time_s` from rest drew the level down by `drawdown_m`.
///
/// Solves `s = (Q / k) (1 - exp(-k t / A))` for `k` in L/s per metre. `Q / s` overstates `k`, since part of the water came
/// out of the casing.
///
/// # Errors
/// When the casing gave up as much water as was pumped, no inflow is left to explain.
pub fn specific_capacity_from_test(
    flow_lps: f64,
    time_s: f64,
    drawdown_m: f64,
    casing_l_per_m: f64,
) -> Result<f64, PumpTestError> {
    let (casing_l, pumped_l) = (casing_l_per_m * drawdown_m, flow_lps * time_s);
    if casing_l >= pumped_l {
        return Err(PumpTestError::CasingHoldsMore { casing_l, pumped_l });
    }
    if casing_l == 0.0 {
        return Ok(flow_lps / drawdown_m);
    }
    // The drawdown predicted for k falls from casing-only (k = 0) to zero (k large); Q / s lies above the root.
    let predicted_m = |k: f64| flow_lps / k * -libm::expm1(-k * time_s / casing_l_per_m);
    let (mut low, mut high) = (0.0, flow_lps / drawdown_m);
    for _ in 0..200 {
        let middle = 0.5 * (low + high);
        if middle <= low || middle >= high {
            break;
        }
        if predicted_m(middle) > drawdown_m {
            low = middle;
        } else {
            high = middle;
        }
    }
    Ok(0.5 * (low + high))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn test_without_inflow_is_refused() {
        let error = specific_capacity_from_test(0.1, 600.0, 10.0, 18.0).unwrap_err();
        assert_eq!(error, PumpTestError::CasingHoldsMore { casing_l: 180.0, pumped_l: 60.0 });
    }

    #[test]
    fn inflow_stops_rising_at_the_entry() {
        let well = Well {
            static_depth_m: 20.0,
            pump_depth_m: 70.0,
            response: Response::Drawdown {
                casing_l_per_m: 18.0,
                specific_capacity_lps_per_m: 0.01,
                entry_depth_m: 50.0,
            },
            cutoff: None,
            start_drawdown_m: 0.0,
        };
        assert!((well.inflow_lps(30.0) - 0.3).abs() < 1e-15);
        assert_eq!(well.inflow_lps(45.0), well.inflow_lps(30.0));
        assert_eq!(well.most_inflow_lps(), well.inflow_lps(30.0));
    }
}
