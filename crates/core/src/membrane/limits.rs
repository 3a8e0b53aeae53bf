//! What guides to the design of membrane plants allow.
//!
//! Figures from memory, as makers' design guides give them in common; they differ by a tenth or more from guide to guide.
//! They judge a design and a season, not a minute.

use serde::{Deserialize, Serialize};

use super::unit::{MembraneUnit, Operation};

/// A gallon a day through a square foot, in litres an hour through a square metre.
const GFD_L_M2_H: f64 = 1.697_7;

/// Where the feed comes from, and its silt density index (SDI, ASTM D4189).
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum FeedKind {
    /// A well, SDI under 3.
    Well,
    /// A pond, stream or cistern behind filters, SDI under 5.
    Surface,
    /// Product of another membrane.
    Product,
}

impl FeedKind {
    /// Least and most mean flux of a design, L/(m² h): 14 to 18, 10 to 14, 20 to 30 gal/(ft² day).
    #[must_use]
    pub fn flux_l_m2_h(self) -> (f64, f64) {
        let (least, most) = match self {
            Self::Well => (14.0, 18.0),
            Self::Surface => (10.0, 14.0),
            Self::Product => (20.0, 30.0),
        };
        (least * GFD_L_M2_H, most * GFD_L_M2_H)
    }

    /// Most recovery of one element: about 15 % (10 to 19 % from guide to guide), 30 % on the product of another membrane.
    #[must_use]
    pub fn most_recovery(self) -> f64 {
        match self {
            Self::Well => 0.19,
            Self::Surface => 0.15,
            Self::Product => 0.30,
        }
    }
}

/// Most polarisation of an element, salt at the wall over the mean on the feed side: guides say 1.13 to 1.2.
pub const MOST_POLARISATION: f64 = 1.2;

/// Most pressure that one element may lose along its channels, kPa: 1 bar (15 psi). Value from memory.
pub const MOST_ELEMENT_LOSS_KPA: f64 = 100.0;

/// Most pressure that all elements of a vessel may lose, kPa: guides say 50 to 60 psi (3.5 to 4.1 bar). Value from memory.
pub const MOST_VESSEL_LOSS_KPA: f64 = 345.0;

/// Most pressure at elements for tap water, 300 psi (21 bar), and for brackish water, 600 psi (41 bar), kPa. Values from memory.
pub const MOST_TAP_WATER_KPA: f64 = 2_068.0;
/// See [`MOST_TAP_WATER_KPA`].
pub const MOST_BRACKISH_KPA: f64 = 4_137.0;

/// The warmest water that elements stand, °C. Value from memory.
pub const MOST_TEMP_C: f64 = 45.0;

const GPM_LPS: f64 = 3.785_411_784 / 60.0;

/// Most pressure that vessels and elements are built for where nothing says it, kPa: that of brackish water for elements which
/// are tested at 100 psi (7 bar) and more, that of tap water for all others. Common practice, no source.
#[must_use]
pub fn usual_most_kpa(test_kpa: Option<f64>) -> f64 {
    const TESTED_KPA: f64 = 689.0;
    if test_kpa.is_some_and(|test_kpa| test_kpa >= TESTED_KPA) { MOST_BRACKISH_KPA } else { MOST_TAP_WATER_KPA }
}

/// Most feed of a vessel at a diameter of its elements, L/s: beyond it the wraps of the first element may shift.
///
/// 6 gal/min at 2.5 in, 16 at 4 in, 75 at 8 in (1.4, 3.6 and 17 m³/h; values from memory); elsewhere with the square of the
/// diameter.
#[must_use]
pub fn most_feed_lps(diameter_in: f64) -> f64 {
    let (gpm, at_in) = match diameter_in {
        small if small <= 2.5 => (6.0, 2.5),
        usual if usual < 8.0 => (16.0, 4.0),
        _ => (75.0, 8.0),
    };
    let times: f64 = diameter_in / at_in;
    gpm * GPM_LPS * times * times
}

/// Least concentrate of a vessel at a diameter of its elements, L/s.
///
/// 1 gal/min at 2.5 in and 3 gal/min at 4 in; elsewhere with the square of the diameter, as the channel's width goes.
#[must_use]
pub fn least_concentrate_lps(diameter_in: f64) -> f64 {
    if diameter_in <= 2.5 {
        GPM_LPS * diameter_in * diameter_in / 6.25
    } else {
        3.0 * GPM_LPS * diameter_in * diameter_in / 16.0
    }
}

/// Limits of a unit's design.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Limits {
    /// Most mean flux.
    pub most_flux_l_m2_h: f64,
    /// Most recovery of an element.
    pub most_recovery: f64,
    /// Least concentrate of a vessel.
    pub least_concentrate_lps: f64,
    /// Most salt at the wall over the mean on the feed side.
    pub most_polarisation: f64,
    /// Most feed of a vessel.
    pub most_feed_lps: f64,
    /// Most loss along one element.
    pub most_element_loss_kpa: f64,
    /// Most loss along a vessel.
    pub most_vessel_loss_kpa: f64,
}

/// Each as a share of its limit: above 1 an operating point is beyond it. Zero where nothing flows.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Load {
    /// Mean flux over the most.
    pub flux: f64,
    /// Recovery of the hardest working element over the most.
    pub recovery: f64,
    /// Least concentrate of a vessel over what there is.
    pub concentrate: f64,
    /// Polarisation at the hardest working element over the most.
    pub polarisation: f64,
}

impl Limits {
    /// What guides allow with a feed and elements of a diameter.
    #[must_use]
    pub fn of(feed: FeedKind, diameter_in: f64) -> Self {
        Self {
            most_flux_l_m2_h: feed.flux_l_m2_h().1,
            most_recovery: feed.most_recovery(),
            least_concentrate_lps: least_concentrate_lps(diameter_in),
            most_polarisation: MOST_POLARISATION,
            most_feed_lps: most_feed_lps(diameter_in),
            most_element_loss_kpa: MOST_ELEMENT_LOSS_KPA,
            most_vessel_loss_kpa: MOST_VESSEL_LOSS_KPA,
        }
    }

    /// How far an operating point of a unit goes towards them.
    #[must_use]
    pub fn load(&self, unit: &MembraneUnit, found: &Operation) -> Load {
        let concentrate_lps = found.flows.concentrate_lps();
        if concentrate_lps <= 0.0 {
            return Load::default();
        }
        let most_recovery = found.elements.iter().fold(0.0_f64, |most, element| most.max(element.recovery));
        Load {
            flux: 3_600.0 * found.flows.product_lps / (self.most_flux_l_m2_h * unit.area_m2()),
            recovery: most_recovery / self.most_recovery,
            concentrate: self.least_concentrate_lps * f64::from(unit.vessels) / concentrate_lps,
            polarisation: libm::exp(unit.element.polarisation * most_recovery) / self.most_polarisation,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn exact_feeds_and_pressures_of_the_trade_sizes() {
        // In m³/h, as guides round them.
        for (diameter_in, m3_h) in [(2.5, 1.4), (4.0, 3.6), (8.0, 17.0)] {
            let found = 3.6 * most_feed_lps(diameter_in);
            assert!((found / m3_h - 1.0).abs() < 0.03, "{found} at {diameter_in} in");
            assert!(most_feed_lps(diameter_in) > 4.0 * least_concentrate_lps(diameter_in));
        }
        assert_eq!(usual_most_kpa(None), MOST_TAP_WATER_KPA);
        assert_eq!(usual_most_kpa(Some(414.0)), MOST_TAP_WATER_KPA);
        assert_eq!(usual_most_kpa(Some(1_551.0)), MOST_BRACKISH_KPA);
    }

    #[test]
    fn exact_feed_rises_with_the_diameter() {
        let tenths: Vec<f64> = (5..120_u8).map(|tenths| most_feed_lps(0.1 * f64::from(tenths))).collect();
        assert!(tenths.windows(2).all(|pair| pair[0] < pair[1]), "{tenths:?}");
    }
}
