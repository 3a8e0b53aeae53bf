//! How far a component has risen at any place of a step: the dense output as a polynomial.

/// `c0 x + c1 x^2 + c2 x^3 + c3 x^4`, the rise at the share `x` of a step.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Quartic(pub [f64; 4]);

/// What rounding may add to a sum of a few terms, as a factor, and much more.
const ROUNDING: f64 = 1.0 + 1e-9;

impl Quartic {
    pub(super) fn value(&self, x: f64) -> f64 {
        let c = &self.0;
        x * (c[0] + x * (c[1] + x * (c[2] + x * c[3])))
    }

    /// The rise from a place of the step on, over a share of the step.
    pub(super) fn part(&self, from: f64, share: f64) -> Self {
        let c = &self.0;
        let square = share * share;
        Self([
            share * self.slope(from),
            square * (c[1] + from * (3.0 * c[2] + from * 6.0 * c[3])),
            square * share * (c[2] + from * 4.0 * c[3]),
            square * square * c[3],
        ])
    }

    pub(super) fn plus(&self, other: &Self) -> Self {
        Self(core::array::from_fn(|power| self.0[power] + other.0[power]))
    }

    fn slope(&self, x: f64) -> f64 {
        let c = &self.0;
        c[0] + x * (2.0 * c[1] + x * (3.0 * c[2] + x * 4.0 * c[3]))
    }

    /// No value within the step is further from zero, rounding included.
    pub(super) fn reach(&self) -> f64 {
        ROUNDING * self.0.iter().map(|c| c.abs()).sum::<f64>()
    }

    /// Where the polynomial turns inside `(0, last)`: at most three places, each found by the sign of the slope over
    /// quarters of the range. A wiggle that turns twice within a quarter is below what the error control lets pass.
    pub(super) fn turning_points(self, last: f64) -> impl Iterator<Item = f64> {
        // Where the slope at the start outweighs all that may change it there is none to look for.
        let [steady, changes @ ..] = &self.0;
        let most = 2.0 * changes[0].abs() + 3.0 * changes[1].abs() + 4.0 * changes[2].abs();
        let quarters = if last <= 1.0 && steady.abs() > ROUNDING * most { 0 } else { 4_u8 };
        (0..quarters).filter_map(move |quarter| {
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

    #[test]
    fn exact_part_is_the_rise_from_its_place_on() {
        let whole = Quartic([0.3, -0.2, 0.7, 1.1]);
        let part = whole.part(0.25, 0.4);
        for i in 0..=10 {
            let x = f64::from(i) * 0.1;
            let rise = whole.value(0.25 + 0.4 * x) - whole.value(0.25);
            assert!((part.value(x) - rise).abs() < 1e-15, "at {x}");
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
