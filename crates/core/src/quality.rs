//! What water carries along: salt, and what treatment takes out of it.
//!
//! Every constituent is a concentration that mixes in proportion to volume. Absorbance does so too, by the law of Beer and
//! Lambert, so the ultraviolet transmittance of a blend follows from it; and temperature does, but for the thousandths by which
//! density and specific heat change.

use serde::{Deserialize, Serialize};

/// How many constituents are carried.
pub const CARRIED: usize = 7;

/// Concentrations in the order of [`Constituent`].
pub type Carried = [f64; CARRIED];

/// A constituent, as the index of its place in a [`Carried`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum Constituent {
    /// Total dissolved solids, mg/L.
    Salt = 0,
    /// Suspended solids, mg/L.
    Solids = 1,
    /// Iron, mg/L.
    Iron = 2,
    /// Hardness as calcium carbonate, mg/L.
    Hardness = 3,
    /// Free chlorine, mg/L.
    Chlorine = 4,
    /// Decadic absorbance at 254 nm, 1/cm; carried as if it were mg/L.
    Absorbance = 5,
    /// Temperature, °C; carried as if it were mg/L, since heat above freezing mixes as volumes do.
    Temperature = 6,
}

/// What the water of a supply carries.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Quality {
    /// Total dissolved solids.
    pub salt_mg_l: f64,
    /// Suspended solids.
    pub solids_mg_l: f64,
    /// Iron.
    pub iron_mg_l: f64,
    /// Hardness as calcium carbonate.
    pub hardness_mg_l: f64,
    /// Free chlorine.
    pub chlorine_mg_l: f64,
    /// Part of ultraviolet light at 254 nm that a centimetre of the water lets through, 0 to 1.
    pub transmittance: f64,
}

impl Quality {
    /// Water that carries nothing.
    pub const PURE: Self = Self {
        salt_mg_l: 0.0,
        solids_mg_l: 0.0,
        iron_mg_l: 0.0,
        hardness_mg_l: 0.0,
        chlorine_mg_l: 0.0,
        transmittance: 1.0,
    };

    /// The concentrations in water at a temperature, transmittance as absorbance.
    #[must_use]
    pub fn carried_at(&self, temp_c: f64) -> Carried {
        [
            self.salt_mg_l,
            self.solids_mg_l,
            self.iron_mg_l,
            self.hardness_mg_l,
            self.chlorine_mg_l,
            absorbance_per_cm(self.transmittance),
            temp_c,
        ]
    }
}

/// Decadic absorbance of a centimetre that lets through `transmittance`, 0 to 1.
#[must_use]
pub fn absorbance_per_cm(transmittance: f64) -> f64 {
    // `+ 0.0`: no negative zero for clear water.
    -libm::log10(transmittance) + 0.0
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn exact_absorbance_is_the_inverse_of_transmittance() {
        for transmittance in [0.01, 0.1, 0.5, 0.75, 0.95, 0.999, 1.0] {
            let back = libm::pow(10.0, -absorbance_per_cm(transmittance));
            assert!((back / transmittance - 1.0).abs() < 1e-14, "{transmittance} came back as {back}");
        }
        assert_eq!(absorbance_per_cm(1.0).to_bits(), 0.0_f64.to_bits());
        assert!((absorbance_per_cm(0.1) - 1.0).abs() < 1e-15 && (absorbance_per_cm(0.01) - 2.0).abs() < 1e-15);
    }

    #[test]
    fn exact_absorbance_adds() {
        // Two waters one behind the other: transmittances multiply. Half of each: the geometric mean.
        let (a, b) = (absorbance_per_cm(0.9), absorbance_per_cm(0.6));
        assert!((a + b - absorbance_per_cm(0.54)).abs() < 1e-15);
        assert!((0.5 * (a + b) - absorbance_per_cm(0.54_f64.sqrt())).abs() < 1e-15);
    }

    #[test]
    fn constituents_stand_in_their_places() {
        let quality = Quality {
            salt_mg_l: 1.0,
            solids_mg_l: 2.0,
            iron_mg_l: 3.0,
            hardness_mg_l: 4.0,
            chlorine_mg_l: 5.0,
            transmittance: 1e-6,
        };
        let order = [
            Constituent::Salt,
            Constituent::Solids,
            Constituent::Iron,
            Constituent::Hardness,
            Constituent::Chlorine,
            Constituent::Absorbance,
            Constituent::Temperature,
        ];
        for (constituent, expected) in order.into_iter().zip([1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0]) {
            let found = quality.carried_at(7.0)[constituent as usize];
            assert!((found - expected).abs() < 1e-14, "{constituent:?}: {found}");
        }
        assert_eq!(Quality::PURE.carried_at(0.0), [0.0; CARRIED]);
    }
}
