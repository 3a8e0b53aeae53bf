//! Limits of a setting, and a set of them.

use serde::{Deserialize, Serialize};

/// What a setting must keep.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub enum Limit {
    /// Most mean flux, L/(m² h).
    Flux,
    /// Most recovery of the element that recovers most.
    ElementRecovery,
    /// Least concentrate of a vessel, L/s.
    Concentrate,
    /// Most polarisation: salt at the wall over the mean on the feed side.
    Polarisation,
    /// Most feed of a vessel, L/s.
    Feed,
    /// Most pressure lost along an element, kPa.
    ElementLoss,
    /// Most pressure lost along a vessel, kPa.
    VesselLoss,
    /// Most pressure that vessels and elements are built for, kPa: also for the minutes at the highest inlet pressure.
    Pressure,
    /// Most recovery of the unit.
    Recovery,
    /// Calcite: Langelier's index of the reject.
    Calcite,
    /// Gypsum: ratio of saturation of the reject.
    Gypsum,
    /// Silica: ratio of saturation of the reject.
    Silica,
    /// Most salt in the product, mg/L.
    ProductSalt,
    /// Least product, L/day if it ran all day.
    Product,
    /// Most flow of the pump, L/s: where its head is gone, and beyond neither one and a half times its best flow nor the last
    /// point that is given of its curve.
    Pump,
    /// There must be a steady state with some product.
    Works,
}

impl Limit {
    /// All.
    pub const ALL: [Self; 16] = [
        Self::Flux,
        Self::ElementRecovery,
        Self::Concentrate,
        Self::Polarisation,
        Self::Feed,
        Self::ElementLoss,
        Self::VesselLoss,
        Self::Pressure,
        Self::Recovery,
        Self::Calcite,
        Self::Gypsum,
        Self::Silica,
        Self::ProductSalt,
        Self::Product,
        Self::Pump,
        Self::Works,
    ];

    /// Whether a membrane is the worse for it, and not only its owner.
    pub(super) fn harms(self) -> bool {
        !matches!(self, Self::ProductSalt | Self::Product | Self::Pump | Self::Works)
    }

    /// How far a value is beyond what is allowed, in powers of ten, -10 to 10; up to 0 is within. Langelier's index is a
    /// logarithm as it is.
    #[must_use]
    pub fn over(self, found: f64, allowed: f64) -> f64 {
        let over = match self {
            Self::Calcite => found - allowed,
            Self::Concentrate | Self::Product => libm::log10(allowed / found),
            _ => libm::log10(found / allowed),
        };
        // A quotient that is no number comes from two zeros: nothing is allowed and nothing is there.
        if over.is_nan() { 0.0 } else { over.clamp(-MOST_OVER, MOST_OVER) }
    }

    /// How much it counts where not all can be kept: half where what suffers is the product and not the membranes. Product and
    /// flux rise together, so with equal weights nothing would tell a lack of the one from an excess of the other.
    #[must_use]
    pub fn weight(self) -> f64 {
        match self {
            Self::Product | Self::ProductSalt => 0.5,
            _ => 1.0,
        }
    }

    /// Whether it is one of what leaves scale.
    #[must_use]
    pub fn is_scale(self) -> bool {
        matches!(self, Self::Calcite | Self::Gypsum | Self::Silica)
    }

    fn bit(self) -> u32 {
        1 << (self as u32)
    }
}

/// Beyond any limit: as far as a unit that does not work is taken to be beyond.
pub(super) const MOST_OVER: f64 = 10.0;

/// A set of limits.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(from = "Vec<Limit>", into = "Vec<Limit>")]
pub struct Limits(u32);

impl Limits {
    /// None.
    pub const NONE: Self = Self(0);

    /// Every limit there is.
    #[must_use]
    pub fn all() -> Self {
        Limit::ALL.into_iter().collect()
    }

    /// Whether there is none.
    #[must_use]
    pub fn is_empty(self) -> bool {
        self.0 == 0
    }

    /// How many.
    #[must_use]
    pub fn len(self) -> u32 {
        self.0.count_ones()
    }

    /// Whether a limit is among them.
    #[must_use]
    pub fn contains(self, limit: Limit) -> bool {
        self.0 & limit.bit() != 0
    }

    /// With one more.
    #[must_use]
    pub fn with(self, limit: Limit) -> Self {
        Self(self.0 | limit.bit())
    }

    /// Without those of another set.
    #[must_use]
    pub fn without(self, others: Self) -> Self {
        Self(self.0 & !others.0)
    }

    /// Those of either set.
    #[must_use]
    pub fn or(self, others: Self) -> Self {
        Self(self.0 | others.0)
    }

    /// Those of both sets.
    #[must_use]
    pub fn and(self, others: Self) -> Self {
        Self(self.0 & others.0)
    }

    /// One after the other, in the order of [`Limit::ALL`].
    pub fn iter(self) -> impl Iterator<Item = Limit> {
        Limit::ALL.into_iter().filter(move |limit| self.contains(*limit))
    }
}

impl FromIterator<Limit> for Limits {
    fn from_iter<I: IntoIterator<Item = Limit>>(limits: I) -> Self {
        limits.into_iter().fold(Self::NONE, Self::with)
    }
}

impl From<Vec<Limit>> for Limits {
    fn from(limits: Vec<Limit>) -> Self {
        limits.into_iter().collect()
    }
}

impl From<Limits> for Vec<Limit> {
    fn from(limits: Limits) -> Self {
        limits.iter().collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn exact_set_holds_what_was_put_in() {
        let set: Limits = [Limit::Works, Limit::Flux, Limit::Flux].into_iter().collect();
        assert_eq!(Vec::from(set), [Limit::Flux, Limit::Works]);
        assert_eq!(set.without(Limits::NONE.with(Limit::Flux)), Limits::NONE.with(Limit::Works));
        assert_eq!((Limits::all().len(), Limits::all().and(set), set.or(Limits::NONE)), (16, set, set));
        assert_eq!(serde_json::to_string(&set).unwrap(), r#"["Flux","Works"]"#);
    }

    #[test]
    fn exact_over_is_in_powers_of_ten() {
        assert_eq!(Limit::Flux.over(200.0, 20.0), 1.0);
        assert_eq!(Limit::Concentrate.over(0.2, 2.0), 1.0);
        assert_eq!(Limit::Calcite.over(0.5, 1.0), -0.5);
        assert_eq!(Limit::Product.over(0.0, 1.0), MOST_OVER);
        assert_eq!(Limit::Gypsum.over(0.0, 1.0), -MOST_OVER);
    }
}
