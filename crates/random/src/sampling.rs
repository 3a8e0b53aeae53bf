//! Distributions by inversion: one uniform number for each value, so that a value moves the way its number does.

use super::Source;
use super::normal::normal_quantile;

/// A lognormal distribution.
#[derive(Clone, Copy, Debug)]
pub struct LogNormal {
    /// Mean of the logarithm.
    mu: f64,
    /// Standard deviation of the logarithm.
    sigma: f64,
}

impl LogNormal {
    /// By its mean, above zero, and its coefficient of variation `cv`: `sigma² = ln (1 + cv²)`,
    /// `mu = ln mean - sigma² / 2`.
    #[must_use]
    pub fn new(mean: f64, cv: f64) -> Self {
        let variance = libm::log1p(cv * cv);
        Self { mu: libm::log(mean) - 0.5 * variance, sigma: variance.sqrt() }
    }

    /// The value below which one falls with probability `p`, in `(0, 1)`.
    #[must_use]
    pub fn quantile(self, p: f64) -> f64 {
        libm::exp(self.mu + self.sigma * normal_quantile(p))
    }
}

/// A mean from which on a Poisson number is the sum of several, since `exp (-mean)` must be far from zero.
const LONGEST_POISSON: f64 = 32.0;

impl Source {
    /// A standard normal number.
    pub fn normal(&mut self) -> f64 {
        normal_quantile(self.inner())
    }

    /// A lognormal number.
    pub fn log_normal(&mut self, of: LogNormal) -> f64 {
        of.quantile(self.inner())
    }

    /// An exponential number of a given mean.
    pub fn exponential(&mut self, mean: f64) -> f64 {
        -mean * libm::log1p(-self.unit())
    }

    /// A number of Weibull's distribution, by its mean and its shape, both above zero: `1 - exp (-(x / scale)^shape)` with
    /// `scale = mean / Gamma(1 + 1 / shape)`.
    pub fn weibull(&mut self, mean: f64, shape: f64) -> f64 {
        mean / libm::tgamma(1.0 + 1.0 / shape) * libm::pow(-libm::log1p(-self.unit()), 1.0 / shape)
    }

    /// A Poisson number; a sum of Poisson numbers is one.
    pub fn poisson(&mut self, mean: f64) -> u32 {
        let (mut rest, mut count) = (mean, 0);
        while rest > LONGEST_POISSON {
            count += self.poisson_by_inversion(LONGEST_POISSON);
            rest -= LONGEST_POISSON;
        }
        count + self.poisson_by_inversion(rest)
    }

    fn poisson_by_inversion(&mut self, mean: f64) -> u32 {
        let u = self.unit();
        let mut chance = libm::exp(-mean);
        let (mut count, mut below) = (0, chance);
        // Far out the sum stands still short of 1, by rounding; there the search ends.
        while u >= below && (chance > 1e-18 || f64::from(count) < mean) {
            count += 1;
            chance *= mean / f64::from(count);
            below += chance;
        }
        count
    }

    /// The whole part of the mean for certain, and one more with the chance of the rest.
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "means are small and not negative")]
    pub fn count(&mut self, mean: f64) -> u32 {
        let whole = mean.floor();
        whole as u32 + u32::from(self.unit() < mean - whole)
    }

    /// True with a chance.
    pub fn happens(&mut self, chance: f64) -> bool {
        self.unit() < chance
    }
}
