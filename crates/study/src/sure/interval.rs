//! Intervals, and how often they are to hold.

use super::SureError;

/// How often an interval is to hold the truth: a share above 0 and below 1.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Confidence(f64);

impl Confidence {
    /// 19 times in 20.
    pub const USUAL: Self = Self(0.95);

    /// A confidence as a share.
    ///
    /// # Errors
    /// Where it is not between 0 and 1.
    pub fn new(share: f64) -> Result<Self, SureError> {
        if share > 0.0 && share < 1.0 { Ok(Self(share)) } else { Err(SureError::Confidence(share)) }
    }

    /// As a share.
    #[must_use]
    pub fn share(self) -> f64 {
        self.0
    }

    /// How often the truth may lie outside.
    pub(super) fn misses(self) -> f64 {
        1.0 - self.0
    }

    /// How often it may lie beyond one of the two ends.
    pub(super) fn tail(self) -> f64 {
        0.5 * self.misses()
    }
}

/// Between two bounds, both of them within.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Interval {
    /// Lower bound.
    pub low: f64,
    /// Upper bound.
    pub high: f64,
}

impl Interval {
    /// Half of what is between the bounds.
    #[must_use]
    pub fn half_width(&self) -> f64 {
        0.5 * (self.high - self.low)
    }

    /// Whether a value is within.
    #[must_use]
    pub fn holds(&self, value: f64) -> bool {
        (self.low..=self.high).contains(&value)
    }
}
