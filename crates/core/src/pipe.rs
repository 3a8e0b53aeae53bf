//! A pipe flowing full.

use serde::{Deserialize, Serialize};

use crate::water::Water;

/// A straight run of pipe.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Pipe {
    /// Its length.
    pub length_m: f64,
    /// Inside diameter.
    pub bore_mm: f64,
    /// Equivalent sand roughness of the wall.
    pub roughness_mm: f64,
}

impl Pipe {
    /// Head lost at a flow, by Darcy-Weisbach.
    #[must_use]
    pub fn loss_m(&self, _flow_lps: f64, _water: &Water) -> f64 {
        0.0
    }
}
