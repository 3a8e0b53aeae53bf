//! A bracketed root of a continuous function.

/// A step by the slope that is no longer ends a search: what is left goes with its square.
const SHORT_STEP: f64 = 1e-8;

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

/// The point in `[low, high]` where a falling `f`, which tells its slope too, changes sign: by Newton's steps from `start` on, and by
/// halves where one would leave the bracket. Where `f` is smooth, to its rounding.
pub(crate) fn root_by_slope(mut f: impl FnMut(f64) -> (f64, f64), start: f64, low: f64, high: f64) -> f64 {
    let (mut low, mut high, mut x) = (low, high, start.min(high).max(low));
    for _ in 0..100 {
        let (value, slope) = f(x);
        *(if value > 0.0 { &mut low } else { &mut high }) = x;
        let step = value / slope;
        let next = x - step;
        if step.abs() <= SHORT_STEP {
            return next.min(high).max(low);
        }
        let is_within = next > low && next < high;
        x = if is_within { next } else { low + 0.5 * (high - low) };
        if !is_within && high - low <= 2.0 * f64::EPSILON * x.abs() {
            break;
        }
    }
    x
}

/// What is left of the way to a root is next to nothing under this share of the range.
const CLOSE: f64 = 1e-12;

/// The point in `[low, high]` where a falling function crosses zero. `f` gives value and slope; it is followed along its slope
/// from `guess` on, and the bracket is halved where that leads out of it or gains little, as at a bend.
///
/// Ends where the next step would be next to nothing: each goes with the square of the one before, by a factor that two of them
/// show.
pub(crate) fn falling_root(f: impl Fn(f64) -> (f64, f64), mut low: f64, mut high: f64, guess: f64) -> f64 {
    let close = CLOSE * (high - low);
    let (mut x, mut last, mut last_step) = (guess, f64::INFINITY, 0.0_f64);
    for _ in 0..100 {
        let (value, slope) = f(x);
        if value > 0.0 {
            low = x;
        } else if value < 0.0 {
            high = x;
        } else {
            return x;
        }
        let step = -value / slope;
        let gains = value.abs() < 0.5 * last;
        last = value.abs();
        let next = if gains && low < x + step && x + step < high {
            let share = step / last_step;
            if step.abs() <= close || last_step != 0.0 && (share * share * step).abs() <= close {
                return x + step;
            }
            last_step = step;
            x + step
        } else {
            last_step = 0.0;
            0.5 * (low + high)
        };
        if next == x {
            return x;
        }
        x = next;
    }
    x
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn slopes_lead_to_the_same_roots() {
        let by_slope = |f: fn(f64) -> (f64, f64), start| root_by_slope(f, start, 0.0, 2.0);
        for start in [0.0, 0.1, 1.4, 2.0] {
            assert!((by_slope(|x| (2.0 - x * x, -2.0 * x), start) - 2.0_f64.sqrt()).abs() < 1e-15);
            // Kinked, and flat where it starts.
            let kinked = |x: f64| if x < 1.0 { (0.5, 0.0) } else { (1.5 - x, -1.0) };
            assert!((by_slope(kinked, start) - 1.5).abs() < 1e-15);
        }
        // Nothing to be found: the end that is nearest to it.
        assert!(by_slope(|x| (-1.0 - x, -1.0), 1.0).abs() < 1e-15);
        assert!((by_slope(|x| (3.0 - x, -1.0), 1.0) - 2.0).abs() < 1e-15);
    }

    #[test]
    fn finds_roots_of_smooth_and_kinked_functions() {
        assert!((root(|x| x * x - 2.0, 0.0, 2.0) - 2.0_f64.sqrt()).abs() < 1e-15);
        assert!((root(|x| (x - 0.3).max(-1e-3), 0.0, 1.0) - 0.3).abs() < 1e-15);
        assert_eq!(root(|x| x, 0.0, 1.0), 0.0);
        assert!((root(|x| 1.0 - x, 0.0, 1.0) - 1.0).abs() < 1e-15);
    }

    #[test]
    fn follows_a_falling_function_along_its_slope() {
        let square = |x: f64| (2.0 - x * x, -2.0 * x);
        let bent = |x: f64| if x < 0.3 { (0.03 - 0.1 * x, -0.1) } else { (30.0 * (0.3 - x), -30.0) };
        let steep = |x: f64| (0.5 - x.sqrt(), -0.5 / x.sqrt());
        for guess in [0.0, 0.2, 1.0, 2.0] {
            assert!(
                (falling_root(square, 0.0, 2.0, guess) - 2.0_f64.sqrt()).abs() < 2.0 * CLOSE,
                "square from {guess}"
            );
            assert!((falling_root(bent, 0.0, 2.0, guess) - 0.3).abs() < 2.0 * CLOSE, "bent from {guess}");
            assert!((falling_root(steep, 0.0, 2.0, guess) - 0.25).abs() < 2.0 * CLOSE, "steep from {guess}");
        }
        // None within: the end that is nearest.
        assert!(falling_root(|x| (-1.0 - x, -1.0), 0.0, 1.0, 1.0) < CLOSE);
    }
}
