//! What a unit wastes beside its reject: flushes, and the product of its first minutes.

use serde::{Deserialize, Serialize};

/// One call of the floats, from start to stop.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Cycle {
    /// Water between the floats of storage, L.
    pub band_l: f64,
    /// What is drawn from storage meanwhile, by the mean of the days, L/s.
    pub drawn_lps: f64,
    /// Raw water of the flushes before and after, L.
    pub flush_l: f64,
    /// For so long after a start the product goes to waste, s.
    pub divert_s: f64,
}

impl Cycle {
    /// Water wasted for each litre of product that comes into storage.
    ///
    /// The floats stop the unit when `P = V p / (p + b - d)` of it has come, at a product `p`, a blend `b` and a draw `d`; one
    /// that does not bring more than is drawn never stops, and wastes its reject alone.
    #[must_use]
    pub fn waste_l_per_l(&self, product_lps: f64, reject_lps: f64, blended_lps: f64) -> f64 {
        let reject = reject_lps / product_lps;
        let spare_lps = product_lps + blended_lps - self.drawn_lps;
        if spare_lps <= 0.0 {
            return reject;
        }
        let made_l = self.band_l * product_lps / spare_lps;
        reject + (self.flush_l + self.divert_s * (product_lps + reject_lps)) / made_l
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn exact_waste_of_a_cycle_by_hand() {
        let cycle = Cycle { band_l: 600.0, drawn_lps: 0.0, flush_l: 40.0, divert_s: 60.0 };
        // 0.1 L/s fill 600 L in 6000 s, and a minute's feed of 0.15 L/s is lost: 300 + 9 + 40 L.
        assert!((cycle.waste_l_per_l(0.1, 0.05, 0.0) - 349.0 / 600.0).abs() < 1e-15);
        // With half of it drawn meanwhile twice as much is made.
        let drawn = Cycle { drawn_lps: 0.05, ..cycle };
        assert!((drawn.waste_l_per_l(0.1, 0.05, 0.0) - (0.5 + 49.0 / 1_200.0)).abs() < 1e-15);
        assert_eq!(Cycle { drawn_lps: 0.2, ..cycle }.waste_l_per_l(0.1, 0.05, 0.0), 0.5);
        // A fifth of what storage gets is blended: of 600 L 480 are product, and as much is lost in starting.
        let blended = cycle.waste_l_per_l(0.1, 0.05, 0.025);
        assert!((blended - (0.5 + 49.0 / 480.0)).abs() < 1e-15, "{blended}");
    }
}
