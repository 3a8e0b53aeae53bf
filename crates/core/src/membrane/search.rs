//! The root of a rising function from a good guess.

/// Steps taken freely; after them every other one halves the bracket.
const FREE_STEPS: u32 = 12;
/// Enough to halve any bracket of numbers down to rounding.
const MOST_STEPS: u32 = 200;

/// The point in `[least, most]` where `f` rises through zero, by secants kept in a shrinking bracket; an end where it does not.
///
/// `f` gives its value and a guess at its slope, which only the first step uses; it is of the kind of its argument, and the
/// search ends where both its value and the next step are within `tolerance` of that. `f` was last called at the point
/// returned.
pub(super) fn rising_root(
    (least, most): (f64, f64),
    guess: f64,
    tolerance: f64,
    mut f: impl FnMut(f64) -> (f64, f64),
) -> f64 {
    // The bracket opens beyond both ends, so that they are tried when a step leads there, and only then.
    let (mut below, mut above) = (f64::NEG_INFINITY, f64::INFINITY);
    let mut x = guess.clamp(least, most);
    let mut last: Option<(f64, f64)> = None;
    for step in 0..MOST_STEPS {
        let (y, slope) = f(x);
        let secant = last.map_or(slope, |(x0, y0)| (y - y0) / (x - x0));
        let change = -y / secant;
        let close = y.abs() <= tolerance * x.abs() && change.abs() <= tolerance * x.abs();
        let held = if y > 0.0 { x <= least } else { x >= most };
        if y > 0.0 {
            above = x;
        } else {
            below = x;
        }
        let (low, high) = (below.max(least), above.min(most));
        if y == 0.0 || close || held || high - low <= 4.0 * f64::EPSILON * high.abs() {
            break;
        }
        last = Some((x, y));
        let next = (x + change).clamp(least, most);
        let halve = step >= FREE_STEPS && step % 2 == 0;
        x = if !halve && next > below && next < above { next } else { 0.5 * (low + high) };
    }
    x
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn finds_roots_from_any_guess_and_slope() {
        for guess in [-1.0, 1e-9, 0.3, 1.9, 7.0] {
            for slope in [1e-3, 1.0, 1e3, f64::NAN, 0.0, -1.0] {
                let smooth = rising_root((0.0, 2.0), guess, 1e-14, |x| (x * x - 0.5, slope));
                assert!((smooth - 0.5_f64.sqrt()).abs() < 1e-13, "{smooth} from {guess} with {slope}");
                let kinked = rising_root((0.0, 2.0), guess, 1e-14, |x| ((x - 0.3).max(-1e-3), slope));
                assert!((kinked - 0.3).abs() < 1e-13, "{kinked} from {guess} with {slope}");
                let steep = rising_root((0.0, 2.0), guess, 1e-14, |x| (1e-3 - (0.3 - x).max(0.0).sqrt(), slope));
                assert!((steep - 0.299_999).abs() < 1e-13, "{steep} from {guess} with {slope}");
            }
        }
    }

    #[test]
    fn root_at_an_end_is_the_end() {
        for guess in [0.0, 0.3, 2.0] {
            assert_eq!(rising_root((0.0, 2.0), guess, 1e-12, |x| (x + 1e-3, 1.0)), 0.0);
            assert_eq!(rising_root((0.0, 2.0), guess, 1e-12, |x| (x * x - 5.0, 1.0)), 2.0);
        }
    }

    #[test]
    fn good_guess_costs_few_calls() {
        let mut calls = 0;
        rising_root((0.0, 10.0), 1.05, 1e-12, |x| {
            calls += 1;
            (x * x * x - 1.0, 3.0)
        });
        assert!(calls <= 6, "{calls}");
    }
}
