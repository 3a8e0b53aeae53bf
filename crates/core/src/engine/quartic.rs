//! How far a component has risen at any place of a step: the dense output as a polynomial.

/// `c0 x + c1 x^2 + c2 x^3 + c3 x^4`, the rise at the share `x` of a step.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Quartic(pub [f64; 4]);

impl Quartic {
    pub(super) fn value(&self, x: f64) -> f64 {
        let c = &self.0;
        x * (c[0] + x * (c[1] + x * (c[2] + x * c[3])))
    }

    fn slope(&self, x: f64) -> f64 {
        let c = &self.0;
        c[0] + x * (2.0 * c[1] + x * (3.0 * c[2] + x * 4.0 * c[3]))
    }

    /// No value within the step is further from zero, rounding included.
    pub(super) fn reach(&self) -> f64 {
        const ROUNDING: f64 = 1.0 + 1e-9;
        ROUNDING * self.0.iter().map(|c| c.abs()).sum::<f64>()
    }

    /// Where the polynomial turns inside `(0, last)`: at most three places, each found by the sign of the slope over
    /// quarters of the range. A wiggle that turns twice within a quarter is below what the error control lets pass.
    pub(super) fn turning_points(self, last: f64) -> impl Iterator<Item = f64> {
        (0..4_u8).filter_map(move |quarter| {
            let (mut low, mut high) = (0.25 * f64::from(quarter) * last, 0.25 * f64::from(quarter + 1) * last);
            let rises = self.slope(low) > 0.0;
            if (self.slope(high) > 0.0) == rises {
                return None;
            }
            for _ in 0..40 {
                let middle = 0.5 * (low + high);
                if (self.slope(middle) > 0.0) == rises {
                    low = middle;
                } else {
                    high = middle;
                }
            }
            Some(low)
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_value_is_beyond_the_reach() {
        for c in [[0.3, -0.2, 0.7, 1.1], [-1.0, 2.0, -3.0, 1.5], [1e-9, 0.0, 0.0, -1e9], [0.0; 4]] {
            let quartic = Quartic(c);
            for i in 0..=100 {
                assert!(quartic.value(f64::from(i) * 0.01).abs() <= quartic.reach());
            }
        }
    }

    /// `x - x^2` turns at one half only.
    #[test]
    fn exact_turning_point() {
        let found: Vec<f64> = Quartic([1.0, -1.0, 0.0, 0.0]).turning_points(0.9).collect();
        assert_eq!(found.len(), 1);
        assert!((found[0] - 0.5).abs() < 1e-12);
    }
}
