//! A storage tank open to the air, and the valve that fills it through an air gap.

use serde::{Deserialize, Serialize};

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

/// What fills a storage tank from the raw header.
///
/// Either valve passes `flow_lps` when fully open and fed at `full_flow_kpa` or more, less below (see
/// [`crate::outlet::open_share`]).
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
    /// The plant's membrane unit: called at the start float, stopped at the stop float.
    Membrane {
        /// Water at which the unit is called.
        start_l: f64,
        /// Water at which it is stopped.
        stop_l: f64,
    },
}

impl Fill {
    /// Start and stop of the float switch that opens a valve or calls the membrane unit; a float valve has none.
    #[must_use]
    pub fn floats_l(&self) -> Option<(f64, f64)> {
        match *self {
            Self::FloatSwitch { start_l, stop_l, .. } | Self::Membrane { start_l, stop_l } => Some((start_l, stop_l)),
            Self::FloatValve { .. } => None,
        }
    }

    /// Flow of the fully open valve, and pressure from which it passes that.
    #[must_use]
    pub fn valve(&self) -> Option<(f64, f64)> {
        match *self {
            Self::FloatSwitch { flow_lps, full_flow_kpa, .. } | Self::FloatValve { flow_lps, full_flow_kpa, .. } => {
                Some((flow_lps, full_flow_kpa))
            }
            Self::Membrane { .. } => None,
        }
    }

    /// Water at which the filling stops.
    #[must_use]
    pub fn full_l(&self) -> f64 {
        match *self {
            Self::FloatSwitch { stop_l, .. } | Self::Membrane { stop_l, .. } => stop_l,
            Self::FloatValve { shut_l, .. } => shut_l,
        }
    }
}
