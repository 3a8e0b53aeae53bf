//! How sure the chance of something happening in a run is.

use super::beta::{Tail, quantile};
use super::{Confidence, Interval};

/// The interval of a chance, after something happened `times` in `runs`: C. J. Clopper & E. S. Pearson, The use of confidence or
/// fiducial limits illustrated in the case of the binomial, Biometrika 26 (1934) 404.
///
/// It holds the chance at least as often as its confidence says, whatever the chance is. Wilson's interval is narrower because
/// it does so on average only, and least near the ends, where the chance of running dry mostly is (L. D. Brown et al., Interval
/// estimation for a binomial proportion, Statistical Science 16 (2001) 101). No runs tell nothing; more times than runs are
/// taken for all runs.
#[must_use]
pub fn chance(times: u64, runs: u64, confidence: Confidence) -> Interval {
    let (did, did_not) = (as_float(times.min(runs)), as_float(runs.saturating_sub(times)));
    let tail = confidence.tail();
    let low = if did == 0.0 { 0.0 } else { quantile(did, did_not + 1.0, Tail::Below, tail) };
    let high = if did_not == 0.0 { 1.0 } else { quantile(did + 1.0, did_not, Tail::Above, tail) };
    Interval { low, high }
}

/// A number of runs.
#[expect(clippy::cast_precision_loss, reason = "nobody makes 2^53 runs")]
pub(super) fn as_float(runs: u64) -> f64 {
    runs as f64
}
