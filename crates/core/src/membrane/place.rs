//! A membrane unit in its place, between the end of the raw line and storage: what starts it, what stops it, and what it does
//! with its first litres.

use serde::{Deserialize, Serialize};

use super::element::Fouling;
use super::fouling::FoulingLaw;
use super::unit::MembraneUnit;
use crate::outlet::open_share;
use crate::scaling::{self, Analysis};
use crate::time::Span;

/// A membrane unit that makes the water in storage. The floats that call for it are those of storage.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Membrane {
    /// The unit.
    pub unit: MembraneUnit,
    /// Temperature of its feed.
    pub feed_temp_c: f64,
    /// How far its suction is above the gauge of the pressure tank.
    pub rise_m: f64,
    /// How far it has fouled when the run starts, and was fouled when last cleaned.
    pub start_fouling: Fouling,
    /// How fast it fouls.
    pub fouling: FoulingLaw,
    /// What may leave scale in it; `None` where nothing is known of the water but its salt.
    pub scale: Option<Scale>,
    /// Flushes with raw water.
    pub flush: Flush,
    /// After a start its product goes to waste for so long.
    pub divert: Span,
    /// What stops it when it is starved.
    pub inlet: InletTrip,
    /// Whether it stands back while raw loads or washes draw.
    pub yields: bool,
    /// Water on the product side, which gets salty while the unit stands still.
    pub product_volume_l: f64,
    /// The supply, a basin, that takes what the unit rejects; `None` for a drain. While that basin feeds the plant the reject
    /// goes to the drain, or its salt would come back.
    pub reject_to: Option<usize>,
}

/// The water of its feed, and what of it may be in the reject.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Scale {
    /// The water.
    pub analysis: Analysis,
    /// The limits, with or without an antiscalant.
    pub limits: scaling::Limits,
}

impl Scale {
    /// How far water concentrated by a factor is beyond the limits; see [`scaling::Limits::excess`].
    #[must_use]
    pub fn excess(&self, salt_factor: f64) -> f64 {
        // All salt taken to stay behind: on the safe side by the little that passes. Beyond the most, the indices say no more.
        let factor = salt_factor.clamp(1.0, scaling::MOST_VOLUME_FACTOR);
        self.limits.excess(&self.analysis.concentrated(factor, 1.0).saturation())
    }
}

/// Flushes: raw water runs through vessels and loop to waste, by the pressure of the line alone.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Flush {
    /// Before the unit makes water.
    pub before: Span,
    /// After it has stopped.
    pub after: Span,
    /// Flow at full pressure.
    pub flow_lps: f64,
    /// Pressure at the suction from which all of it flows; less below (see [`open_share`]).
    pub full_flow_kpa: f64,
}

impl Flush {
    /// Flow at a pressure at the suction.
    #[must_use]
    pub fn flow_lps(&self, inlet_kpa: f64) -> f64 {
        self.flow_lps * open_share(inlet_kpa, self.full_flow_kpa)
    }
}

/// What stops a unit that gets too little pressure at its suction.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct InletTrip {
    /// At or below this it is starved.
    pub kpa: f64,
    /// For so long before it stops.
    pub delay: Span,
    /// It tries again after so long.
    pub retry_after: Span,
    /// So many times in a row; then it is locked out until it is put back into service by hand.
    pub retries: u32,
}
