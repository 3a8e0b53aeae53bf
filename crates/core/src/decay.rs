//! What is left of a difference that dies away, after `x` of its time constants.
//!
//! Heaters and rooms are followed by steps that are short beside what changes in them, so mostly a few terms of the series do.

/// Up to here the series ends in rounding.
const SHORT: f64 = 0.125;

/// One over the factorials of 1 to 10.
const TERMS: [f64; 10] = [
    1.0,
    1.0 / 2.0,
    1.0 / 6.0,
    1.0 / 24.0,
    1.0 / 120.0,
    1.0 / 720.0,
    1.0 / 5_040.0,
    1.0 / 40_320.0,
    1.0 / 362_880.0,
    1.0 / 3_628_800.0,
];

/// The part that is lost, `1 - exp(-x)`.
pub(crate) fn lost(x: f64) -> f64 {
    x * mean_left(x)
}

/// What is left in the mean over the time, `(1 - exp(-x)) / x`.
pub(crate) fn mean_left(x: f64) -> f64 {
    if x.abs() > SHORT {
        return -libm::expm1(-x) / x;
    }
    TERMS.iter().rev().fold(0.0, |sum, term| term - x * sum)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn exact_series_meets_the_exponential() {
        for x in [0.0, 1e-300, 1e-12, 1e-5, 0.01, 0.1, SHORT, SHORT + 1e-9, 0.7, 50.0] {
            let expected = -libm::expm1(-x);
            assert!((lost(x) - expected).abs() <= 2e-16 * expected, "{x}: {} for {expected}", lost(x));
        }
        assert_eq!((lost(0.0), mean_left(0.0), mean_left(f64::INFINITY)), (0.0, 1.0, 0.0));
    }
}
