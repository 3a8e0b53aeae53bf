//! Chance with a memory that follows from dates alone, whatever day a run begins with.

use springhouse_random::Stream;

/// How many days back a number still tells: of persistence 0.9, the most accepted, 1e-7 of the one before is left.
const MEMORY: usize = 150;

/// Standard normal numbers of days one after the other, each correlated with the one before.
///
/// An autoregression `z = r z_before + sqrt(1 - r²) e` written as the sum of its past, cut off after
/// [`MEMORY`] days. So no day needs a start.
pub(crate) fn persistent(stream: &Stream, first: i64, days: usize, persistence: f64) -> Vec<f64> {
    let back = i64::try_from(MEMORY).unwrap_or(i64::MAX) - 1;
    let shocks: Vec<f64> = (first - back..).take(days + MEMORY - 1).map(|day| stream.on(day).normal()).collect();
    let square = persistence * persistence;
    // The squares of all factors add up to (1 - r^(2 n)) / (1 - r²), and r^(2 n) is 2e-14 at most.
    let scale = (1.0 - square).sqrt();
    let at = |past: &[f64]| scale * past.iter().fold(0.0, |sum, shock| sum * persistence + shock);
    shocks.windows(MEMORY).map(at).collect()
}

/// Wet and dry days one after the other; `wet_share` is the part of days that are wet, by the number of a day.
///
/// With a chance of `persistence` a day is as the one before; else it is wet with the chance `wet_share`, whatever was
/// before. So `P(wet | wet) = r + (1 - r) f` and `P(wet | dry) = (1 - r) f`: a chain of first order whose part of wet days is
/// `f`. What a day is follows from the last day that was not as the one before, and no day needs a start.
pub(crate) fn wet(
    stream: &Stream,
    first: i64,
    days: usize,
    persistence: f64,
    wet_share: impl Fn(i64) -> f64,
) -> Vec<bool> {
    let fresh = |day: i64| {
        let mut source = stream.on(day);
        let as_before = source.happens(persistence);
        let wet = source.happens(wet_share(day));
        (!as_before).then_some(wet)
    };
    // Of persistence 0.9, 2e-46 of all days have no fresh one among the thousand before.
    let mut now = (1..1_000).find_map(|back| fresh(first - back)).unwrap_or(false);
    let mut state = |day| {
        now = fresh(day).unwrap_or(now);
        now
    };
    (first..).take(days).map(&mut state).collect()
}

#[cfg(test)]
#[expect(clippy::cast_precision_loss, reason = "numbers of days, far fewer than 2^53")]
mod tests {
    use super::*;

    const MANY: usize = 100_000;

    fn stream(purpose: &str) -> Stream {
        Stream::new(5, 1, &["weather"], purpose)
    }

    #[test]
    fn exact_chances_of_the_chain() {
        // Geng, Penning de Vries and Supit (1986), from memory: P(wet | dry) = 0.75 f, P(wet | wet) = 0.25 + 0.75 f.
        for share in [0.05, 0.3, 0.8] {
            let days = wet(&stream("wet"), -40_000, MANY, 0.25, |_| share);
            let pairs = |before, after| days.windows(2).filter(|pair| **pair == [before, after]).count() as f64;
            for (before, chance) in [(false, 0.75 * share), (true, 0.25 + 0.75 * share)] {
                let all = pairs(before, false) + pairs(before, true);
                let error = (chance * (1.0 - chance) / all).sqrt();
                let found = pairs(before, true) / all;
                assert!((found - chance).abs() < 4.0 * error, "after {before} with {share}: {found} for {chance}");
            }
        }
    }

    #[test]
    fn exact_always_and_never() {
        assert!(wet(&stream("wet"), 0, 5_000, 0.9, |_| 1.0).into_iter().all(|day| day));
        assert!(!wet(&stream("wet"), 0, 5_000, 0.9, |_| 0.0).into_iter().any(|day| day));
    }

    #[test]
    fn exact_variance_and_memory() {
        for persistence in [0.0, 0.25, 0.65, 0.9] {
            let z = persistent(&stream("air"), 0, MANY, persistence);
            let n = MANY as f64;
            // Bartlett: as many independent values as n (1 - r) / (1 + r), for squares with r².
            let square = persistence * persistence;
            let error = ((1.0 + persistence) / (1.0 - persistence) / n).sqrt();
            let mean = z.iter().sum::<f64>() / n;
            assert!(mean.abs() < 4.0 * error, "{persistence}: mean {mean}");
            let variance = z.iter().map(|z| z * z).sum::<f64>() / n;
            let error = (2.0 * (1.0 + square) / (1.0 - square) / n).sqrt();
            assert!((variance - 1.0).abs() < 4.0 * error, "{persistence}: variance {variance}");
            let next = z.windows(2).map(|pair| pair[0] * pair[1]).sum::<f64>() / n / variance;
            let error = ((1.0 - square) / n).sqrt();
            assert!((next - persistence).abs() < 4.0 * error, "lag of a day {next} for {persistence}");
        }
    }

    #[test]
    fn exact_days_do_not_mind_where_a_run_begins() {
        let (air, rain) = (stream("air"), stream("wet"));
        let share = |day: i64| if day % 60 < 30 { 0.2 } else { 0.7 };
        let whole = (persistent(&air, -50, 500, 0.9), wet(&rain, -50, 500, 0.9, share));
        for late in [1, 49, 50, 51, 333] {
            let first = i64::try_from(late).unwrap() - 50;
            assert_eq!(persistent(&air, first, 500 - late, 0.9), whole.0[late..]);
            assert_eq!(wet(&rain, first, 500 - late, 0.9, share), whole.1[late..]);
        }
    }
}
