//! The two valves of a membrane unit: flow goes with the root of the difference of pressure.

use serde::{Deserialize, Serialize};

/// How far the two valves are open.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Valves {
    /// From the concentrate to the drain, L/s at a difference of 1 kPa; zero is shut.
    pub reject_kv: f64,
    /// From the concentrate to the suction of the pump, L/s at a difference of 1 kPa; zero is shut.
    pub recycle_kv: f64,
}

/// Below this difference a valve's root is replaced by a parabola, as that of an outlet is: it meets the root with equal value
/// and slope, and has no infinite slope at zero.
const NEAR_SHUT_KPA: f64 = 0.4;

/// Root of a difference of pressure, `sqrt(kPa)`; zero where it is turned round.
pub(super) fn valve_root(difference_kpa: f64) -> f64 {
    if difference_kpa >= NEAR_SHUT_KPA {
        difference_kpa.sqrt()
    } else if difference_kpa > 0.0 {
        let y = difference_kpa / NEAR_SHUT_KPA;
        NEAR_SHUT_KPA.sqrt() * y * (1.5 - 0.5 * y)
    } else {
        0.0
    }
}

/// [`valve_root`] and its slope over the difference.
pub(crate) fn valve_root_and_slope(difference_kpa: f64) -> (f64, f64) {
    if difference_kpa >= NEAR_SHUT_KPA {
        let root = difference_kpa.sqrt();
        (root, 0.5 / root)
    } else if difference_kpa > 0.0 {
        let y = difference_kpa / NEAR_SHUT_KPA;
        (NEAR_SHUT_KPA.sqrt() * y * (1.5 - 0.5 * y), (1.5 - y) / NEAR_SHUT_KPA.sqrt())
    } else {
        (0.0, 0.0)
    }
}

/// Difference of pressure of a root.
pub(super) fn valve_root_inverse(root: f64) -> f64 {
    let z = root / NEAR_SHUT_KPA.sqrt();
    if z >= 1.0 { root * root } else { NEAR_SHUT_KPA * (1.5 - (2.25 - 2.0 * z).sqrt()) }
}

/// Flow of a valve that is open to `kv`, L/s at 1 kPa; nothing flows back.
#[must_use]
pub fn valve_lps(kv: f64, difference_kpa: f64) -> f64 {
    kv * valve_root(difference_kpa)
}

/// Opening of a valve that passes a flow at a difference of pressure, L/s at 1 kPa; `None` without a difference.
#[must_use]
pub fn valve_kv(flow_lps: f64, difference_kpa: f64) -> Option<f64> {
    (difference_kpa > 0.0).then(|| flow_lps / valve_root(difference_kpa))
}

/// What a unit's gauges show in a known state.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct ValveReading {
    /// Flow to the drain.
    pub reject_lps: f64,
    /// Flow back to the suction.
    pub recycle_lps: f64,
    /// Pressure of the concentrate before the valves.
    pub concentrate_kpa: f64,
    /// Pressure at the suction of the pump.
    pub suction_kpa: f64,
    /// Pressure in the drain.
    pub drain_kpa: f64,
}

impl ValveReading {
    /// The valves that pass the flows read; `None` where a flow is read that no difference of pressure drives.
    #[must_use]
    pub fn valves(&self) -> Option<Valves> {
        let kv = |flow_lps: f64, behind_kpa: f64| {
            if flow_lps == 0.0 { Some(0.0) } else { valve_kv(flow_lps, self.concentrate_kpa - behind_kpa) }
        };
        Some(Valves {
            reject_kv: kv(self.reject_lps, self.drain_kpa)?,
            recycle_kv: kv(self.recycle_lps, self.suction_kpa)?,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn exact_reading_gives_the_valves_that_give_the_reading() {
        let reading = ValveReading {
            reject_lps: 0.15,
            recycle_lps: 0.19,
            concentrate_kpa: 1_600.0,
            suction_kpa: 300.0,
            drain_kpa: 10.0,
        };
        let valves = reading.valves().unwrap();
        assert!((valve_lps(valves.reject_kv, 1_590.0) - 0.15).abs() < 1e-15);
        assert!((valve_lps(valves.recycle_kv, 1_300.0) - 0.19).abs() < 1e-15);
        // A shut valve needs no pressure; a flow does.
        let shut = ValveReading { recycle_lps: 0.0, suction_kpa: 1_700.0, ..reading };
        assert_eq!(shut.valves().unwrap().recycle_kv, 0.0);
        assert_eq!(ValveReading { suction_kpa: 1_700.0, ..reading }.valves(), None);
    }

    #[test]
    fn exact_root_and_its_inverse() {
        for hundredths in 0_u32..200 {
            let kpa = f64::from(hundredths) * 0.01;
            let found = valve_root_inverse(valve_root(kpa));
            assert!((found - kpa).abs() < 1e-14, "{found} for {kpa}");
        }
        // Value and slope meet where the parabola ends.
        let step = 1e-7;
        let [before, at, after] = [-step, 0.0, step].map(|d| valve_root(NEAR_SHUT_KPA + d));
        assert!(((after - at) / (at - before) - 1.0).abs() < 1e-6);
        for kpa in [-1.0, 0.1, 0.3, 0.5, 40.0] {
            let [before, after] = [-step, step].map(|d| valve_root(kpa + d));
            let (root, slope) = valve_root_and_slope(kpa);
            assert_eq!(root, valve_root(kpa));
            assert!((slope - 0.5 * (after - before) / step).abs() < 1e-6, "{slope} at {kpa} kPa");
        }
    }
}
