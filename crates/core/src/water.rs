//! Properties of liquid water.

use serde::{Deserialize, Serialize};

/// Standard gravity, CGPM 1901.
pub const GRAVITY_M_S2: f64 = 9.806_65;

/// The water in the pipes, at one temperature.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Water {
    /// Density.
    pub density_kg_m3: f64,
    /// Dynamic viscosity.
    pub viscosity_pa_s: f64,
}

impl Water {
    /// Head of a column that weighs as much as a pressure, `p / (rho g)`.
    #[must_use]
    pub fn head_m(&self, pressure_kpa: f64) -> f64 {
        1e3 * pressure_kpa / (self.density_kg_m3 * GRAVITY_M_S2)
    }
}
