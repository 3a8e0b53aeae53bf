//! Coefficients of the embedded Runge-Kutta 5(4) pair and its dense output.
//!
//! Dormand & Prince, "A family of embedded Runge-Kutta formulae", J. Comput. Appl. Math. 6 (1980) 19; dense output of
//! order 4 by Shampine, in Hairer, Norsett & Wanner, Solving Ordinary Differential Equations I (1993), section II.6.

use super::quartic::Quartic;

/// Stages, the last of which is the first of the next step.
pub(super) const STAGES: usize = 7;

/// Stage `i + 1` is evaluated at `y + h sum_j A[i][j] k_j`; the last row gives the fifth-order result.
pub(super) const A: [[f64; 6]; 6] = [
    [1.0 / 5.0, 0.0, 0.0, 0.0, 0.0, 0.0],
    [3.0 / 40.0, 9.0 / 40.0, 0.0, 0.0, 0.0, 0.0],
    [44.0 / 45.0, -56.0 / 15.0, 32.0 / 9.0, 0.0, 0.0, 0.0],
    [19_372.0 / 6_561.0, -25_360.0 / 2_187.0, 64_448.0 / 6_561.0, -212.0 / 729.0, 0.0, 0.0],
    [9_017.0 / 3_168.0, -355.0 / 33.0, 46_732.0 / 5_247.0, 49.0 / 176.0, -5_103.0 / 18_656.0, 0.0],
    [35.0 / 384.0, 0.0, 500.0 / 1_113.0, 125.0 / 192.0, -2_187.0 / 6_784.0, 11.0 / 84.0],
];

/// Weights of the fifth-order result.
pub(super) const B: [f64; STAGES] =
    [35.0 / 384.0, 0.0, 500.0 / 1_113.0, 125.0 / 192.0, -2_187.0 / 6_784.0, 11.0 / 84.0, 0.0];

/// Fifth-order minus fourth-order weights.
pub(super) const E: [f64; STAGES] =
    [71.0 / 57_600.0, 0.0, -71.0 / 16_695.0, 71.0 / 1_920.0, -17_253.0 / 339_200.0, 22.0 / 525.0, -1.0 / 40.0];

/// The free coefficients of the dense output.
const D: [f64; STAGES] = [
    -12_715_105_075.0 / 11_282_082_432.0,
    0.0,
    87_487_479_700.0 / 32_700_410_799.0,
    -10_690_763_975.0 / 1_880_347_072.0,
    701_980_252_875.0 / 199_316_789_632.0,
    -1_453_857_185.0 / 822_651_844.0,
    69_997_945.0 / 29_380_423.0,
];

/// A component's rise over the step, from its derivatives at the stages times `h`.
pub(super) fn polynomial(hk: &[f64; STAGES]) -> Quartic {
    let (mut rise, mut free) = (0.0, 0.0);
    for i in 0..STAGES {
        rise += B[i] * hk[i];
        free += D[i] * hk[i];
    }
    let bend = hk[0] - rise;
    let twist = 2.0 * rise - hk[0] - hk[6];
    Quartic([hk[0], twist + free - bend, -twist - 2.0 * free, free])
}

/// Weights that give the state at `theta` in `[0, 1]` of the step; at 1 they are [`B`] exactly.
pub(super) fn weights(theta: f64) -> [f64; STAGES] {
    let rest = 1.0 - theta;
    let mut weights = [0.0; STAGES];
    for (i, weight) in weights.iter_mut().enumerate() {
        let first = if i == 0 { 1.0 } else { 0.0 };
        let last = if i == STAGES - 1 { 1.0 } else { 0.0 };
        let inner = 2.0 * B[i] - first - last + rest * D[i];
        *weight = theta * (B[i] + rest * (first - B[i] + theta * inner));
    }
    weights
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn weights_sum_to_theta_and_end_at_b() {
        for i in 0..=10 {
            let theta = f64::from(i) * 0.1;
            assert!((weights(theta).iter().sum::<f64>() - theta).abs() < 1e-14);
        }
        assert_eq!(weights(1.0), B);
        assert!(E.iter().sum::<f64>().abs() < 1e-15);
        for (row, c) in A.iter().zip([0.2, 0.3, 0.8, 8.0 / 9.0, 1.0, 1.0]) {
            assert!((row.iter().sum::<f64>() - c).abs() < 1e-14);
        }
    }

    #[test]
    fn polynomial_and_weights_agree() {
        let hk = [0.3, -0.2, 0.7, 1.1, -0.4, 0.9, 0.25];
        let rise = polynomial(&hk);
        for i in 0..=8 {
            let theta = f64::from(i) * 0.125;
            let by_weights: f64 = weights(theta).iter().zip(hk).map(|(w, k)| w * k).sum();
            assert!((by_weights - rise.value(theta)).abs() < 1e-13);
        }
    }

    /// Quartics are integrated and interpolated without error: the order conditions hold.
    #[test]
    fn quartic_is_exact() {
        let derivative = |t: f64| 1.0 - 2.0 * t + 3.0 * t * t - 4.0 * t * t * t;
        let value = |t: f64| t - t * t + t * t * t - t * t * t * t;
        let hk = [0.0, 0.2, 0.3, 0.8, 8.0 / 9.0, 1.0, 1.0].map(derivative);
        for i in 0..=10 {
            let theta = f64::from(i) * 0.1;
            let dense: f64 = weights(theta).iter().zip(hk).map(|(w, k)| w * k).sum();
            assert!((dense - value(theta)).abs() < 1e-13, "at {theta}");
        }
    }
}
