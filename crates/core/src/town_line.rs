//! A municipal service line: pressure that falls with the flow, known from a flow test at the meter.
//!
//! `p = p_static - k Q^2`, with `k` from one flow at its residual pressure. A check valve or backflow device keeps water from
//! going back, so there is no flow at or above the static pressure. See `docs/physics.md`.

use serde::{Deserialize, Serialize};

use crate::pump::PumpCurve;

/// A municipal line.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct TownLine {
    static_kpa: f64,
    curve: PumpCurve,
}

impl TownLine {
    /// From the static pressure and a test: `flow_lps` flowed at the residual pressure `residual_kpa`.
    #[must_use]
    pub fn new(static_kpa: f64, (flow_lps, residual_kpa): (f64, f64)) -> Self {
        // The law is that of a two-point pump curve, with pressure in place of head.
        let loss_m_per_lps2 = (static_kpa - residual_kpa) / (flow_lps * flow_lps);
        Self { static_kpa, curve: PumpCurve::Parabola { shutoff_m: static_kpa, loss_m_per_lps2 } }
    }

    /// Pressure at no flow.
    #[must_use]
    pub fn static_kpa(&self) -> f64 {
        self.static_kpa
    }

    /// Flow at a pressure behind the meter.
    #[must_use]
    pub fn flow_lps(&self, pressure_kpa: f64) -> f64 {
        self.curve.flow_lps(pressure_kpa)
    }
}
