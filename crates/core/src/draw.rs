//! Draws of water, as the engine takes them.

use serde::{Deserialize, Serialize};

use crate::time::Time;

/// A wanted flow in whole nanolitres a second, so that a sum of draws returns to exactly zero.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub struct Flow(i64);

impl Flow {
    /// No flow.
    pub const ZERO: Self = Self(0);

    /// A flow of whole nanolitres a second.
    #[must_use]
    pub const fn from_nl_per_s(nl_per_s: i64) -> Self {
        Self(nl_per_s)
    }

    /// The nearest whole nanolitre a second.
    #[must_use]
    #[expect(clippy::cast_possible_truncation, reason = "`as` saturates; 9e9 L/s is beyond any plant")]
    pub fn from_lps(flow_lps: f64) -> Self {
        Self((flow_lps * 1e9).round() as i64)
    }

    /// Nanolitres a second.
    #[must_use]
    pub const fn nl_per_s(self) -> i64 {
        self.0
    }

    /// Litres a second.
    #[must_use]
    #[expect(clippy::cast_precision_loss, reason = "flows of a plant stay far below 2^53 nL/s (9e6 L/s)")]
    pub fn lps(self) -> f64 {
        self.0 as f64 / 1e9
    }
}

impl core::ops::Add for Flow {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self(self.0.saturating_add(other.0))
    }
}

impl core::ops::AddAssign for Flow {
    fn add_assign(&mut self, other: Self) {
        *self = *self + other;
    }
}

impl core::ops::SubAssign for Flow {
    fn sub_assign(&mut self, other: Self) {
        self.0 -= other.0;
    }
}

/// No draw wants more: a hundred times the largest plant, and few enough digits that flows add up without rounding.
pub const MOST_FLOW_LPS: f64 = 10_000.0;

/// What a draw does when less comes than it wants.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum DrawKind {
    /// Ends when it was to end; what did not come is lost (a shower).
    Timed,
    /// Goes on until it has its volume (a toilet, a washer, a trough).
    Volume,
}

/// How warm a draw is wanted, in whole hundredths of a degree Celsius, and whether by an appliance; cold by default.
///
/// It splits a draw between hot and cold water and changes nothing about its flow.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Warmth(u16);

impl Warmth {
    /// As it comes out of the cold line.
    pub const COLD: Self = Self(0);

    /// What marks an appliance.
    const APPLIANCE: u16 = 1 << 15;

    /// The nearest hundredth of a degree, from 0 °C, which is cold, to 327 °C.
    #[must_use]
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "`as` saturates, far beyond hot water")]
    pub fn from_c(temp_c: f64) -> Self {
        Self(((100.0 * temp_c).round() as u16).min(Self::APPLIANCE - 1))
    }

    /// The same wanted by an appliance, which heats what lacks.
    #[must_use]
    pub fn by_appliance(self) -> Self {
        if self == Self::COLD { self } else { Self(self.0 | Self::APPLIANCE) }
    }

    /// Whether an appliance wants it.
    #[must_use]
    pub fn is_by_appliance(self) -> bool {
        self.0 & Self::APPLIANCE != 0
    }

    /// Degrees Celsius; `None` is cold.
    #[must_use]
    pub fn temp_c(self) -> Option<f64> {
        (self != Self::COLD).then(|| f64::from(self.0 & !Self::APPLIANCE) / 100.0)
    }
}

/// One draw: a wanted total flow at an outlet from `start` to `end`.
///
/// A [`DrawKind::Volume`] draw wants `flow (end - start)` litres and ends later than `end` when the flow falls short.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Draw {
    /// When the tap opens.
    pub start: Time,
    /// When it closes if all wanted flow comes; after `start`.
    pub end: Time,
    /// Index into [`Parts::outlets`](crate::plant::Parts::outlets).
    pub outlet: usize,
    /// Wanted flow, from zero to [`MOST_FLOW_LPS`].
    pub flow: Flow,
    /// What happens when less comes.
    pub kind: DrawKind,
    /// How warm it is wanted.
    pub warmth: Warmth,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn exact_warmth_keeps_hundredths_and_zero_is_cold() {
        assert_eq!(Warmth::from_c(40.555).temp_c(), Some(40.56));
        assert_eq!(Warmth::from_c(0.004), Warmth::COLD);
        assert_eq!(Warmth::from_c(-3.0).temp_c(), None);
        let washer = Warmth::from_c(40.0).by_appliance();
        assert_eq!((washer.temp_c(), washer.is_by_appliance()), (Some(40.0), true));
        assert!(Warmth::COLD.by_appliance() == Warmth::COLD && !Warmth::from_c(1e6).is_by_appliance());
    }
}
