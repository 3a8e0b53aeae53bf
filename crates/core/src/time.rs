//! Time: integer nanoseconds, so that it adds up exactly and two runs agree to the bit.

use core::ops::{Add, AddAssign, Sub};

use serde::{Deserialize, Serialize};

const NS_PER_S: i64 = 1_000_000_000;

/// An instant: nanoseconds since midnight, local standard time, at the start of the run's first day.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct Time(i64);

/// A length of time in nanoseconds; may be negative.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct Span(i64);

impl Time {
    /// Midnight at the start of the first day.
    pub const ZERO: Self = Self(0);
    /// Later than any instant of a run.
    pub const NEVER: Self = Self(i64::MAX);

    /// The instant `ns` nanoseconds after the first midnight.
    #[must_use]
    pub const fn from_ns(ns: i64) -> Self {
        Self(ns)
    }

    /// The instant `seconds` after the first midnight, to the nearest nanosecond.
    #[must_use]
    pub fn from_s(seconds: f64) -> Self {
        Self(Span::from_s(seconds).0)
    }

    /// Midnight at the start of day `day` (0 is the first).
    #[must_use]
    pub const fn from_day(day: i64) -> Self {
        Self(day.saturating_mul(Span::DAY.0))
    }

    /// Nanoseconds since the first midnight.
    #[must_use]
    pub const fn ns(self) -> i64 {
        self.0
    }

    /// Seconds since the first midnight.
    #[must_use]
    pub fn s(self) -> f64 {
        Span(self.0).s()
    }

    /// The day this instant falls in; 0 is the first.
    #[must_use]
    pub const fn day(self) -> i64 {
        self.0.div_euclid(Span::DAY.0)
    }
}

impl Span {
    /// No time at all.
    pub const ZERO: Self = Self(0);
    /// Sixty seconds.
    pub const MINUTE: Self = Self(60 * NS_PER_S);
    /// Sixty minutes.
    pub const HOUR: Self = Self(3_600 * NS_PER_S);
    /// Twenty-four hours.
    pub const DAY: Self = Self(86_400 * NS_PER_S);

    /// A length of `ns` nanoseconds.
    #[must_use]
    pub const fn from_ns(ns: i64) -> Self {
        Self(ns)
    }

    /// A length of `seconds`, to the nearest nanosecond; saturates at about 292 years.
    #[must_use]
    #[expect(clippy::cast_possible_truncation, reason = "`as` saturates, which is what is promised")]
    pub fn from_s(seconds: f64) -> Self {
        Self((seconds * 1e9).round() as i64)
    }

    /// Nanoseconds.
    #[must_use]
    pub const fn ns(self) -> i64 {
        self.0
    }

    /// Seconds.
    #[must_use]
    #[expect(
        clippy::cast_precision_loss,
        reason = "a year in nanoseconds keeps 4 ns of 53 bits; lengths met here keep all"
    )]
    pub fn s(self) -> f64 {
        // Divided, not multiplied: 1e9 is a double, 1e-9 is not, and whole seconds stay whole.
        self.0 as f64 / 1e9
    }
}

/// Whether an instant falls into hours that are the same every day, from a clock time up to another; they may go on past midnight.
#[must_use]
pub fn is_within(time: Time, start: Span, end: Span) -> bool {
    let of_day = time - Time::from_day(time.day());
    if start <= end { start <= of_day && of_day < end } else { of_day >= start || of_day < end }
}

impl Add<Span> for Time {
    type Output = Self;
    /// Saturates at [`Time::NEVER`].
    fn add(self, span: Span) -> Self {
        Self(self.0.saturating_add(span.0))
    }
}

impl AddAssign<Span> for Time {
    fn add_assign(&mut self, span: Span) {
        *self = *self + span;
    }
}

impl Sub<Span> for Time {
    type Output = Self;
    fn sub(self, span: Span) -> Self {
        Self(self.0.saturating_sub(span.0))
    }
}

impl Sub for Time {
    type Output = Span;
    fn sub(self, earlier: Self) -> Span {
        Span(self.0.saturating_sub(earlier.0))
    }
}

impl Add for Span {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self(self.0.saturating_add(other.0))
    }
}

impl AddAssign for Span {
    fn add_assign(&mut self, other: Self) {
        *self = *self + other;
    }
}

impl Sub for Span {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self(self.0.saturating_sub(other.0))
    }
}
