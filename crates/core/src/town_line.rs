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

    /// Pressure behind the meter at a flow.
    #[must_use]
    pub fn residual_kpa(&self, flow_lps: f64) -> f64 {
        self.curve.head_m(flow_lps)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn exact_flow_goes_with_the_root_of_the_fall() {
        let line = TownLine::new(400.0, (0.6, 250.0));
        // Twice the flow takes four times the fall, 37.5 kPa for half of the test's flow.
        for (kpa, expected_lps) in [(362.5, 0.3), (250.0, 0.6), (0.0, 0.6 * (400.0_f64 / 150.0).sqrt())] {
            let found_lps = line.flow_lps(kpa);
            assert!((found_lps - expected_lps).abs() < 1e-15, "{found_lps} L/s at {kpa} kPa");
            assert!((line.residual_kpa(expected_lps) - kpa).abs() < 1e-12);
        }
    }

    #[test]
    fn flow_falls_with_pressure_and_never_turns() {
        let line = TownLine::new(400.0, (0.6, 250.0));
        let mut last_lps = f64::INFINITY;
        for tenth in 0..4_000 {
            let flow_lps = line.flow_lps(0.1 * f64::from(tenth));
            assert!(flow_lps > 0.0 && flow_lps < last_lps, "{flow_lps} L/s at {tenth} tenths of a kPa");
            last_lps = flow_lps;
        }
        for kpa in [400.0, 400.1, 1_000.0] {
            assert_eq!(line.flow_lps(kpa).to_bits(), 0.0_f64.to_bits());
        }
    }
}
