//! A falling monotone cubic through points, and its inverse.
//!
//! Fritsch & Carlson, "Monotone piecewise cubic interpolation", SIAM J. Numer. Anal. 17 (1980) 238: slopes are limited so
//! that no piece turns back, hence the inverse exists everywhere.

use serde::{Deserialize, Serialize};

/// A smooth falling function on `[0, end]`, one cubic between each pair of knots.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Falling {
    knots: Vec<Knot>,
}

#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
struct Knot {
    x: f64,
    y: f64,
    slope: f64,
}

impl Falling {
    /// The cubic through two or more points whose `x` rise and `y` fall; the caller has checked both.
    ///
    /// The slope at `x = 0` is zero, as on `H0 - k Q^2`.
    #[must_use]
    pub(crate) fn through(points: &[(f64, f64)]) -> Self {
        let secants: Vec<f64> = points.windows(2).map(|w| (w[1].1 - w[0].1) / (w[1].0 - w[0].0)).collect();
        let last = points.len() - 1;
        let mut knots: Vec<Knot> = points
            .iter()
            .enumerate()
            .map(|(i, &(x, y))| {
                let slope = match i {
                    0 if x == 0.0 => 0.0,
                    0 => secants[0],
                    _ if i == last => end_slope(points, &secants),
                    _ => {
                        // Three-point slope: exact on a parabola.
                        let (left, right) = (points[i].0 - points[i - 1].0, points[i + 1].0 - points[i].0);
                        (secants[i - 1] * right + secants[i] * left) / (left + right)
                    }
                };
                Knot { x, y, slope: slope.min(0.0) }
            })
            .collect();
        for (i, secant) in secants.iter().enumerate() {
            let (a, b) = (knots[i].slope / secant, knots[i + 1].slope / secant);
            let size = a * a + b * b;
            if size > 9.0 {
                let shrink = 3.0 / size.sqrt();
                knots[i].slope = shrink * a * secant;
                knots[i + 1].slope = shrink * b * secant;
            }
        }
        Self { knots }
    }

    /// The last `x`.
    #[must_use]
    pub fn end(&self) -> f64 {
        self.knots[self.knots.len() - 1].x
    }

    /// The value at `x`; beyond the last knot it goes on along the last slope.
    #[must_use]
    pub fn value(&self, x: f64) -> f64 {
        let last = self.knots[self.knots.len() - 1];
        if x >= last.x {
            return last.y + last.slope * (x - last.x);
        }
        let i = self.knots.partition_point(|k| k.x <= x).saturating_sub(1);
        let (from, to) = (self.knots[i], self.knots[i + 1]);
        piece(from, to, (x - from.x) / (to.x - from.x)).0
    }

    /// The `x` where the value is `y`: zero for `y` at or above the first value, [`Self::end`] below the last.
    #[must_use]
    pub fn inverse(&self, y: f64) -> f64 {
        if y >= self.knots[0].y {
            return 0.0;
        }
        if y <= self.knots[self.knots.len() - 1].y {
            return self.end();
        }
        let i = self.knots.partition_point(|k| k.y > y) - 1;
        let (from, to) = (self.knots[i], self.knots[i + 1]);
        // Newton kept inside a shrinking bracket; the piece falls from one end to the other.
        let (mut low, mut high) = (0.0_f64, 1.0_f64);
        let mut t = (from.y - y) / (from.y - to.y);
        for _ in 0..60 {
            let (value, slope) = piece(from, to, t);
            let excess = value - y;
            if excess > 0.0 {
                low = t;
            } else {
                high = t;
            }
            let newton = t - excess / slope;
            if (newton - t).abs() < 1e-15 {
                break;
            }
            t = if newton > low && newton < high { newton } else { 0.5 * (low + high) };
        }
        from.x + t * (to.x - from.x)
    }
}

/// One-sided three-point slope at the last point.
fn end_slope(points: &[(f64, f64)], secants: &[f64]) -> f64 {
    let n = secants.len();
    if n < 2 {
        return secants[n - 1];
    }
    let (before, after) = (points[n - 1].0 - points[n - 2].0, points[n].0 - points[n - 1].0);
    ((2.0 * after + before) * secants[n - 1] - after * secants[n - 2]) / (after + before)
}

/// Value and derivative by `t` of a cubic Hermite piece.
fn piece(from: Knot, to: Knot, t: f64) -> (f64, f64) {
    let width = to.x - from.x;
    let (m0, m1) = (from.slope * width, to.slope * width);
    let rise = to.y - from.y;
    let (c2, c3) = (3.0 * rise - 2.0 * m0 - m1, m0 + m1 - 2.0 * rise);
    (from.y + t * (m0 + t * (c2 + t * c3)), m0 + t * (2.0 * c2 + 3.0 * t * c3))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn parabola_is_reproduced() {
        let points: Vec<_> = (0..=10).map(|i| f64::from(i) * 0.1).map(|q| (q, 80.0 - 40.0 * q * q)).collect();
        let curve = Falling::through(&points);
        for i in 0..1_000 {
            let q = f64::from(i) * 1e-3;
            assert!((curve.value(q) - (80.0 - 40.0 * q * q)).abs() < 1e-12);
        }
    }

    #[test]
    fn inverse_undoes_value() {
        let curve = Falling::through(&[(0.0, 80.0), (0.3, 76.0), (0.5, 60.0), (0.9, 20.0), (1.0, 0.0)]);
        for i in 1..1_000 {
            let q = f64::from(i) * 1e-3;
            assert!((curve.inverse(curve.value(q)) - q).abs() < 1e-9, "at {q}");
        }
        assert_eq!(curve.inverse(81.0), 0.0);
        assert_eq!(curve.inverse(-1.0), 1.0);
    }
}
