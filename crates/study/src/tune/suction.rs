//! What reaches the suction of the unit, and what is lost on the way by its feed and what is blended into its product.

use serde::{Deserialize, Serialize};

/// Pressure at the suction: what is there while nothing flows, less what the line loses for the fresh feed and what is blended.
///
/// Filters lose with the square of the flow, the cake in them in proportion to it, a main with the square: `a Q + b Q²`.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Suction {
    /// Gauge pressure at rest, kPa.
    pub rest_kpa: f64,
    /// Lost in proportion to the feed, kPa for 1 L/s.
    pub cake_kpa_per_lps: f64,
    /// Lost with its square, kPa at 1 L/s.
    pub square_kpa_per_lps2: f64,
}

/// How closely pressure and feed are made to agree, kPa: a fiftieth of what a gauge tells, a hundred thousandth of a flow.
const CLOSE_KPA: f64 = 0.02;
/// Most tries; two or three are usual.
const MOST_TRIES: u32 = 60;

impl Suction {
    /// The same pressure at any feed.
    #[must_use]
    pub fn steady(rest_kpa: f64) -> Self {
        Self { rest_kpa, ..Self::default() }
    }

    /// Pressure at a feed.
    #[must_use]
    pub fn kpa(&self, feed_lps: f64) -> f64 {
        self.rest_kpa - feed_lps * (self.cake_kpa_per_lps + feed_lps * self.square_kpa_per_lps2)
    }

    /// The pressure that is left for the very feed which it gives, and what was found at it; `at` tells what is found at a
    /// pressure, and its feed, which must not fall as the pressure rises.
    ///
    /// A false position whose ends are halved where one of them stays (Dowell & Jarratt, BIT 11 (1971) 168).
    pub(super) fn settled<T>(&self, mut at: impl FnMut(f64) -> (T, f64)) -> (f64, T) {
        let mut over = |kpa: f64| {
            let (found, feed_lps) = at(kpa);
            (kpa - self.kpa(feed_lps), found)
        };
        let mut high = self.rest_kpa;
        let (mut over_high, found) = over(high);
        if over_high <= CLOSE_KPA {
            return (high, found);
        }
        // Less pressure gives less feed, so the pressure left by the most feed is no more than the one looked for.
        let mut low = high - over_high;
        let (mut over_low, mut found) = over(low);
        let mut kpa = low;
        let mut last_was_low = None;
        for _ in 0..MOST_TRIES {
            if over_low >= -CLOSE_KPA || high - low <= CLOSE_KPA {
                break;
            }
            kpa = high - over_high * (high - low) / (over_high - over_low);
            let here;
            (here, found) = over(kpa);
            if here.abs() <= CLOSE_KPA {
                break;
            }
            let is_low = here < 0.0;
            if is_low {
                (low, over_low) = (kpa, here);
                over_high *= if last_was_low == Some(true) { 0.5 } else { 1.0 };
            } else {
                (high, over_high) = (kpa, here);
                over_low *= if last_was_low == Some(false) { 0.5 } else { 1.0 };
            }
            last_was_low = Some(is_low);
        }
        (kpa, found)
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    #[test]
    fn exact_pressure_of_an_orifice_behind_a_filter() {
        // Q = c sqrt(p), p = p0 - b Q²: p = p0 / (1 + b c²).
        let (c, b) = (0.02, 400.0);
        let suction = Suction { rest_kpa: 380.0, cake_kpa_per_lps: 0.0, square_kpa_per_lps2: b };
        let (kpa, feed_lps) = suction.settled(|kpa| (c * kpa.sqrt(), c * kpa.sqrt()));
        assert!((kpa - 380.0 / (1.0 + b * c * c)).abs() < CLOSE_KPA, "{kpa}");
        assert!((suction.kpa(feed_lps) - kpa).abs() < CLOSE_KPA);
    }

    #[test]
    fn exact_nothing_is_lost_where_nothing_flows() {
        let suction = Suction { rest_kpa: 300.0, cake_kpa_per_lps: 20.0, square_kpa_per_lps2: 30.0 };
        assert_eq!(suction.settled(|_| ((), 0.0)).0, 300.0);
        let (kpa, tries) = Suction::steady(300.0).settled(|kpa| (kpa, 1.0));
        assert_eq!((kpa, tries), (300.0, 300.0));
    }

    proptest! {
        /// Whatever the line and the unit, pressure and feed agree, also where the feed sets in at some pressure.
        #[test]
        fn pressure_and_feed_agree(
            rest_kpa in 1.0..900.0_f64, cake in 0.0..3_000.0_f64, square in 0.0..5_000.0_f64, kv in 1e-4..0.5_f64, onset in 0.0..500.0_f64,
        ) {
            let suction = Suction { rest_kpa, cake_kpa_per_lps: cake, square_kpa_per_lps2: square };
            let feed_lps = |kpa: f64| kv * (kpa - onset).max(0.0).sqrt();
            let (kpa, found) = suction.settled(|kpa| (feed_lps(kpa), feed_lps(kpa)));
            prop_assert_eq!(found, feed_lps(kpa));
            // Where the feed rises as steeply as a root from nothing, the bracket closes before pressures agree.
            let closed = (suction.kpa(found) - kpa).abs() <= CLOSE_KPA;
            let just_above = suction.kpa(feed_lps(kpa + CLOSE_KPA)) <= kpa + 2.0 * CLOSE_KPA;
            let just_below = suction.kpa(feed_lps(kpa - CLOSE_KPA)) >= kpa - 2.0 * CLOSE_KPA;
            prop_assert!(closed || just_above && just_below, "{kpa} {found}");
        }
    }
}
