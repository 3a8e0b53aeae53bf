//! A storage tank open to the air, and the valve that fills it through an air gap.

use serde::{Deserialize, Serialize};

use crate::outlet::open_share;

/// A storage tank, its filling and the levels that protect the pump behind it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Storage {
    /// Water it holds to the overflow.
    pub capacity_l: f64,
    /// Water in it when the run starts.
    pub start_l: f64,
    /// How it is filled.
    pub fill: Fill,
    /// At or below this the delivery pump is stopped.
    pub protect_l: f64,
    /// At or above this a stopped delivery pump may run again.
    pub restart_l: f64,
}

/// The valve that fills a storage tank from the raw header.
///
/// Either passes `flow_lps` when fully open and fed at `full_flow_kpa` or more, less below (see [`open_share`]).
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub enum Fill {
    /// A float switch and a solenoid valve: opens at the start float, closes at the stop float.
    FloatSwitch {
        /// Water at which the valve opens.
        start_l: f64,
        /// Water at which the valve closes.
        stop_l: f64,
        /// Flow of the open valve.
        flow_lps: f64,
        /// Pressure from which the open valve passes all of `flow_lps`.
        full_flow_kpa: f64,
    },
    /// A mechanical float valve: fully open below one level, throttles in proportion, shut at another.
    FloatValve {
        /// Water below which the valve is fully open.
        open_l: f64,
        /// Water at which the valve is shut.
        shut_l: f64,
        /// Flow of the fully open valve.
        flow_lps: f64,
        /// Pressure from which the fully open valve passes all of `flow_lps`.
        full_flow_kpa: f64,
    },
}

impl Fill {
    /// Flow of the fully open valve.
    #[must_use]
    pub fn full_flow_lps(&self) -> f64 {
        match *self {
            Self::FloatSwitch { flow_lps, .. } | Self::FloatValve { flow_lps, .. } => flow_lps,
        }
    }

    /// Pressure from which the open valve passes its full flow.
    #[must_use]
    pub fn full_flow_kpa(&self) -> f64 {
        match *self {
            Self::FloatSwitch { full_flow_kpa, .. } | Self::FloatValve { full_flow_kpa, .. } => full_flow_kpa,
        }
    }

    /// How far the valve is open, 0 to 1. `switched_on` is the float switch's contact; a float valve ignores it.
    #[must_use]
    pub fn opening(&self, switched_on: bool, water_l: f64) -> f64 {
        match *self {
            Self::FloatSwitch { .. } => f64::from(u8::from(switched_on)),
            Self::FloatValve { open_l, shut_l, .. } => ((shut_l - water_l) / (shut_l - open_l)).clamp(0.0, 1.0),
        }
    }

    /// Flow into the tank from a header at `pressure_kpa`.
    #[must_use]
    pub fn flow_lps(&self, switched_on: bool, water_l: f64, pressure_kpa: f64) -> f64 {
        self.full_flow_lps() * self.opening(switched_on, water_l) * open_share(pressure_kpa, self.full_flow_kpa())
    }
}
