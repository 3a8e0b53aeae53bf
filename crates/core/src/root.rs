//! A bracketed root of a continuous function.

/// The point in `[low, high]` where `f` changes sign, to the rounding of `f`.
///
/// Chandrupatla, "A new hybrid quadratic/bisection algorithm for finding the zero of a nonlinear function", Adv. Eng.
/// Softw. 28 (1997) 145. `f` must have opposite signs at the ends, or be zero at one.
pub(crate) fn root(mut f: impl FnMut(f64) -> f64, low: f64, high: f64) -> f64 {
    // (a, fa) is the newest point, b the other side of the bracket, c the point a replaced.
    let (mut a, mut b) = (high, low);
    let (mut fa, mut fb) = (f(a), f(b));
    let (mut c, mut fc);
    let mut part = 0.5;
    for _ in 0..100 {
        let x = a + part * (b - a);
        let fx = f(x);
        if (fx > 0.0) == (fa > 0.0) {
            (c, fc) = (a, fa);
        } else {
            (c, fc) = (b, fb);
            (b, fb) = (a, fa);
        }
        (a, fa) = (x, fx);
        let best = if fa.abs() < fb.abs() { a } else { b };
        let least_part = 2.0 * f64::EPSILON * best.abs() / (b - a).abs();
        if fa == 0.0 || least_part > 0.5 || b == a {
            return best;
        }
        let (xi, phi) = ((a - b) / (c - b), (fa - fb) / (fc - fb));
        part = if phi * phi < xi && (1.0 - phi) * (1.0 - phi) < 1.0 - xi {
            fa / (fb - fa) * fc / (fb - fc) + (c - a) / (b - a) * fa / (fc - fa) * fb / (fc - fb)
        } else {
            0.5
        };
        part = part.clamp(least_part, 1.0 - least_part);
    }
    a
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn finds_roots_of_smooth_and_kinked_functions() {
        assert!((root(|x| x * x - 2.0, 0.0, 2.0) - 2.0_f64.sqrt()).abs() < 1e-15);
        assert!((root(|x| (x - 0.3).max(-1e-3), 0.0, 1.0) - 0.3).abs() < 1e-15);
        assert_eq!(root(|x| x, 0.0, 1.0), 0.0);
        assert!((root(|x| 1.0 - x, 0.0, 1.0) - 1.0).abs() < 1e-15);
    }
}
