//! What is not known for sure: a distribution, as the value at a unit number.

use core::f64::consts::FRAC_1_SQRT_2;

use springhouse_random::{LogNormal, normal_quantile};

use super::SureError;

/// The distribution of an input.
#[derive(Clone, Debug)]
pub struct Input(Kind);

#[derive(Clone, Debug)]
enum Kind {
    Uniform {
        low: f64,
        high: f64,
    },
    Normal(Normal),
    LogNormal(LogNormal),
    Triangular {
        low: f64,
        mode: f64,
        high: f64,
    },
    /// Values, each with the share of all that come up to it.
    Listed(Vec<(f64, f64)>),
}

/// A normal distribution cut off at both ends.
#[derive(Clone, Copy, Debug)]
struct Normal {
    mean: f64,
    deviation: f64,
    low: f64,
    high: f64,
    /// Shares of the whole below the lower end, above the upper end, and between them.
    below: f64,
    above: f64,
    between: f64,
}

impl Input {
    /// Any value from `low` to `high` alike.
    ///
    /// # Errors
    /// Where the ends are no numbers or out of order.
    pub fn uniform(low: f64, high: f64) -> Result<Self, SureError> {
        finite("a lower end", low)?;
        check(high > low && (high - low).is_finite(), "an upper end", high, "it must be above the lower end")?;
        Ok(Self(Kind::Uniform { low, high }))
    }

    /// A normal distribution of what is left between two ends; an end may be infinite. `mean` and `deviation` are those before
    /// the ends are cut off.
    ///
    /// # Errors
    /// Where mean or deviation is no number, the ends are out of order, or next to nothing is left between them.
    pub fn normal(mean: f64, deviation: f64, low: f64, high: f64) -> Result<Self, SureError> {
        finite("a mean", mean)?;
        check(deviation > 0.0 && deviation.is_finite(), "a standard deviation", deviation, "it must be above zero")?;
        check(high > low, "an upper end", high, "it must be above the lower end")?;
        let (from, to) = ((low - mean) / deviation, (high - mean) / deviation);
        let (below, above) = (normal_share_below(from), normal_share_below(-to));
        // On the side of the mean where the difference loses nothing.
        let between = if from > 0.0 { normal_share_below(-from) - above } else { normal_share_below(to) - below };
        check(between > 1e-280, "an end", if from > 0.0 { low } else { high }, "it is too far from the mean")?;
        Ok(Self(Kind::Normal(Normal { mean, deviation, low, high, below, above, between })))
    }

    /// A lognormal distribution by its mean and its coefficient of variation.
    ///
    /// # Errors
    /// Where either is not above zero.
    pub fn log_normal(mean: f64, cv: f64) -> Result<Self, SureError> {
        check(mean > 0.0 && mean.is_finite(), "a mean", mean, "it must be above zero")?;
        check(cv > 0.0 && cv < 1e3, "a coefficient of variation", cv, "it must be above zero and below 1000")?;
        Ok(Self(Kind::LogNormal(LogNormal::new(mean, cv))))
    }

    /// A triangular distribution: likeliest at `mode`, nothing outside `low` to `high`.
    ///
    /// # Errors
    /// Where the three are no numbers or out of order.
    pub fn triangular(low: f64, mode: f64, high: f64) -> Result<Self, SureError> {
        finite("a lower end", low)?;
        check(high > low && (high - low).is_finite(), "an upper end", high, "it must be above the lower end")?;
        check((low..=high).contains(&mode), "a likeliest value", mode, "it must lie between the ends")?;
        Ok(Self(Kind::Triangular { low, mode, high }))
    }

    /// One of a list of values, each as often as its weight says.
    ///
    /// # Errors
    /// Where a value is no number, a weight is negative, or all weights are zero.
    pub fn listed(weighed: &[(f64, f64)]) -> Result<Self, SureError> {
        let mut sum = 0.0;
        let mut upto = Vec::with_capacity(weighed.len());
        for &(value, weight) in weighed {
            finite("a value", value)?;
            check(weight >= 0.0 && weight.is_finite(), "a weight", weight, "it must not be negative")?;
            sum += weight;
            upto.push((value, sum));
        }
        check(sum > 0.0 && sum.is_finite(), "a sum of weights", sum, "it must be above zero")?;
        for (_, share) in &mut upto {
            *share /= sum;
        }
        Ok(Self(Kind::Listed(upto)))
    }

    /// The value below which one falls with chance `unit`, in `(0, 1)`; of a list, the first whose share of all that come up to
    /// it is above `unit`. At 0 and 1 themselves a distribution without an end is infinite.
    #[must_use]
    pub fn at(&self, unit: f64) -> f64 {
        match &self.0 {
            Kind::Uniform { low, high } => low + unit * (high - low),
            Kind::Normal(normal) => normal.at(unit),
            Kind::LogNormal(of) => of.quantile(unit),
            Kind::Triangular { low, mode, high } => {
                let width = high - low;
                if unit * width < mode - low {
                    low + (unit * width * (mode - low)).sqrt()
                } else {
                    high - ((1.0 - unit) * width * (high - mode)).sqrt()
                }
            }
            Kind::Listed(upto) => {
                let place = upto.partition_point(|&(_, share)| share <= unit);
                upto[place.min(upto.len() - 1)].0
            }
        }
    }
}

impl Normal {
    fn at(&self, unit: f64) -> f64 {
        let (below, above) = (self.below + unit * self.between, self.above + (1.0 - unit) * self.between);
        // From the nearer end, so that far tails keep their digits.
        let z = if below <= above { normal_quantile(below) } else { -normal_quantile(above) };
        (self.mean + self.deviation * z).clamp(self.low, self.high)
    }
}

fn normal_share_below(z: f64) -> f64 {
    0.5 * libm::erfc(-z * FRAC_1_SQRT_2)
}

fn finite(what: &'static str, found: f64) -> Result<(), SureError> {
    check(found.is_finite(), what, found, "it must be a finite number")
}

fn check(holds: bool, what: &'static str, found: f64, accepted: &'static str) -> Result<(), SureError> {
    if holds { Ok(()) } else { Err(SureError::Input { what, found, accepted }) }
}
