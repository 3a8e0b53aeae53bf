//! How far a water may be concentrated before scale is to be feared.

use serde::{Deserialize, Serialize};

use super::analysis::Analysis;
use super::saturation::Saturation;
use crate::root::root;

/// Water is not taken to be concentrated further: 95 % recovered.
pub const MOST_VOLUME_FACTOR: f64 = 20.0;

/// The most saturation that reject water may have.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Limits {
    /// Langelier's index.
    pub lsi: f64,
    /// Ratio of saturation with gypsum.
    pub gypsum: f64,
    /// Ratio of saturation with silica.
    pub silica: f64,
}

/// The largest volume factors that keep each limit, at most [`MOST_VOLUME_FACTOR`]; `None` where the feed itself does not.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct LargestFactors {
    /// By Langelier's index.
    pub lsi: Option<f64>,
    /// By gypsum.
    pub gypsum: Option<f64>,
    /// By silica.
    pub silica: Option<f64>,
}

/// The share of the feed that becomes permeate where `volume_factor` litres leave one litre of reject.
#[must_use]
pub fn recovery(volume_factor: f64) -> f64 {
    1.0 - 1.0 / volume_factor
}

impl Limits {
    /// Nothing is added: no scale may form. Common practice, no source; many stay at an index of -0.2.
    pub const UNTREATED: Self = Self { lsi: 0.0, gypsum: 1.0, silica: 1.0 };
    /// With an antiscalant, which delays scale for as long as water stays in the unit. Common practice, no source; the makers of
    /// antiscalants state their own, often higher.
    pub const ANTISCALANT: Self = Self { lsi: 1.8, gypsum: 2.3, silica: 1.5 };

    /// Whether a saturation is within these.
    #[must_use]
    pub fn allow(&self, saturation: &Saturation) -> bool {
        saturation.lsi <= self.lsi && saturation.gypsum <= self.gypsum && saturation.silica <= self.silica
    }

    /// How far a saturation is beyond these, as a sum of powers of ten; 0 within them.
    #[must_use]
    pub fn excess(&self, saturation: &Saturation) -> f64 {
        let over = |ratio: f64, limit: f64| if ratio > limit { libm::log10(ratio / limit) } else { 0.0 };
        (saturation.lsi - self.lsi).max(0.0)
            + over(saturation.gypsum, self.gypsum)
            + over(saturation.silica, self.silica)
    }

    /// How far a water may be concentrated within each limit by a membrane of this rejection, 0 to 1.
    ///
    /// Every index rises with the factor, so each limit is met once at most.
    #[must_use]
    pub fn largest_factors(&self, feed: &Analysis, rejection: f64) -> LargestFactors {
        // By logarithms, in which every index is nearly straight.
        LargestFactors {
            lsi: largest(feed, rejection, |water| water.lsi() - self.lsi),
            gypsum: largest(feed, rejection, |water| water.gypsum_index() - libm::log10(self.gypsum)),
            silica: largest(feed, rejection, |water| libm::log10(water.saturation().silica / self.silica)),
        }
    }
}

/// The largest volume factor at which `excess` of the reject water is not above zero.
fn largest(feed: &Analysis, rejection: f64, excess: impl Fn(&Analysis) -> f64) -> Option<f64> {
    let over = |log_factor: f64| excess(&feed.concentrated(libm::exp(log_factor), rejection));
    let most = libm::log(MOST_VOLUME_FACTOR);
    if over(0.0) > 0.0 {
        None
    } else if over(most) <= 0.0 {
        Some(MOST_VOLUME_FACTOR)
    } else {
        Some(libm::exp(root(over, 0.0, most)))
    }
}

impl LargestFactors {
    /// The factor that keeps all limits; `None` where the feed itself does not.
    #[must_use]
    pub fn least(&self) -> Option<f64> {
        Some(self.lsi?.min(self.gypsum?).min(self.silica?))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scaling::TypicalWater;

    #[test]
    fn exact_each_limit_is_met_at_its_factor() {
        let feed = TypicalWater::HardWell.analysis();
        for rejection in [0.9, 0.97, 1.0] {
            let limits = Limits { lsi: 1.0, gypsum: 0.5, silica: 0.5 };
            let factors = limits.largest_factors(&feed, rejection);
            let at = |factor: Option<f64>| feed.concentrated(factor.unwrap(), rejection).saturation();
            assert!((at(factors.lsi).lsi - 1.0).abs() < 1e-12);
            assert!((at(factors.gypsum).gypsum - 0.5).abs() < 1e-12);
            assert!((at(factors.silica).silica - 0.5).abs() < 1e-12);
            let least = factors.least().unwrap();
            assert!(limits.allow(&at(Some(least * (1.0 - 1e-9)))) && !limits.allow(&at(Some(least * (1.0 + 1e-9)))));
            assert_eq!(limits.excess(&at(Some(least * (1.0 - 1e-9)))), 0.0);
        }
    }

    #[test]
    fn water_that_scales_as_it_is_has_no_factor() {
        let hard = TypicalWater::HardWell.analysis();
        let factors = Limits::UNTREATED.largest_factors(&hard, 1.0);
        assert_eq!((factors.lsi, factors.least()), (None, None));
        assert!(factors.gypsum.is_some_and(|factor| factor > 3.0));
        let rain = TypicalWater::Rain.analysis();
        assert_eq!(Limits::ANTISCALANT.largest_factors(&rain, 1.0).least(), Some(MOST_VOLUME_FACTOR));
    }

    #[test]
    fn exact_excess_is_in_powers_of_ten() {
        let limits = Limits { lsi: 1.0, gypsum: 2.0, silica: 1.0 };
        assert!((limits.excess(&Saturation { lsi: 1.5, gypsum: 20.0, silica: 0.5 }) - 1.5).abs() < 1e-15);
        assert_eq!(limits.excess(&Saturation { lsi: f64::NEG_INFINITY, gypsum: 0.0, silica: 0.0 }), 0.0);
    }

    #[test]
    fn exact_recovery_of_a_volume_factor() {
        for (factor, share) in [(1.0, 0.0), (2.0, 0.5), (4.0, 0.75), (5.0, 0.8), (MOST_VOLUME_FACTOR, 0.95)] {
            assert!((recovery(factor) - share).abs() < 1e-15);
        }
    }
}
