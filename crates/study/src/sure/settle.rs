//! When a chance has settled, so that no more runs need be made.
//!
//! Who looks again and again at an interval meant for one look, and stops when it pleases, is wrong more often than it says.
//! The interval here holds at all looks together. It is made by the method of mixtures of H. Robbins, Statistical methods related
//! to the law of the iterated logarithm, Ann. Math. Statist. 41 (1970) 1397, with a beta distribution about each chance that is
//! tried, as in S. R. Howard et al., Time-uniform, nonparametric, nonasymptotic confidence sequences, Ann. Statist. 49 (2021)
//! 1055.

use super::beta::root;
use super::chance::as_float;
use super::{Confidence, Interval};

/// How closely other chances are mixed about the one that is tried, as a number of runs: it makes the interval narrow from some
/// dozens of runs on where it hardly ever happens, and to some hundreds elsewhere. It holds with any.
const MIXED_RUNS: f64 = 20.0;

/// The interval of a chance after something happened `times` in `runs`, which together with those after all other numbers of
/// runs holds the chance as often as its confidence says.
///
/// Were `p` the chance, then what the runs gave would be `M` times as likely under chances mixed about `p`, where
/// `M = B(c p + times, c (1 - p) + runs - times) / (B(c p, c (1 - p)) p^times (1 - p)^(runs - times))`, `c` = 20 and `B` the
/// beta function. `M` begins at 1 and keeps its mean, so it ever reaches `1 / (1 - confidence)` with a chance of no more than
/// `1 - confidence` (J. Ville, 1939). All `p` with a smaller `M` are within.
#[must_use]
pub fn lasting(times: u64, runs: u64, confidence: Confidence) -> Interval {
    if runs == 0 {
        return Interval { low: 0.0, high: 1.0 };
    }
    let (did, did_not) = (as_float(times.min(runs)), as_float(runs.saturating_sub(times)));
    let most = -libm::log(confidence.misses());
    let within = |p: f64| most - ln_times_as_likely(did, did_not, p);
    let rise = |p: f64| slope(did, did_not, p);
    // A single time leaves M below 1 down to a chance of zero, and so at the other end.
    let peak = did / (did + did_not);
    let low = if did <= 1.0 { 0.0 } else { root(0.0, peak, 0.5 * peak, within, |p| -rise(p)) };
    let high = if did_not <= 1.0 { 1.0 } else { root(peak, 1.0, 0.5 * (peak + 1.0), |p| -within(p), rise) };
    Interval { low, high }
}

/// `ln M`.
fn ln_times_as_likely(did: f64, did_not: f64, p: f64) -> f64 {
    let rise = |from: f64, by: f64| libm::lgamma(from + by) - libm::lgamma(from);
    rise(MIXED_RUNS * p, did) + rise(MIXED_RUNS * (1.0 - p), did_not)
        - rise(MIXED_RUNS, did + did_not)
        - did * libm::log(p)
        - did_not * libm::log1p(-p)
}

/// How `ln M` rises with `p`, nearly: it only leads the search.
fn slope(did: f64, did_not: f64, p: f64) -> f64 {
    // The digamma function to a few hundredths.
    let digamma = |z: f64| libm::log(z + 1.0) - 0.5 / (z + 1.0) - 1.0 / z;
    let rise = |from: f64, by: f64| digamma(from + by) - digamma(from);
    MIXED_RUNS * (rise(MIXED_RUNS * p, did) - rise(MIXED_RUNS * (1.0 - p), did_not)) - did / p + did_not / (1.0 - p)
}

/// When to stop. Only the order of runs counts, so any split of the runs over threads or parts stops at the same one.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rule {
    /// Of the interval, at all looks together.
    pub confidence: Confidence,
    /// Half the width that is narrow enough.
    pub half_width: Option<f64>,
    /// A chance that it is enough to be above or below of.
    pub target: Option<f64>,
    /// The first look is after so many runs, or one.
    pub least_runs: u64,
    /// Runs between looks; 0 is as 1.
    pub look_every: u64,
    /// Where to stop at last, settled or not.
    pub most_runs: u64,
}

/// Why no more runs are needed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Why {
    /// The chance is below the target.
    Below,
    /// The chance is above the target.
    Above,
    /// The interval is narrow enough.
    Narrow,
    /// Nothing settled, but these are all runs.
    AllRuns,
}

/// Where the runs stopped.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Settled {
    /// Why.
    pub why: Why,
    /// After how many runs.
    pub runs: u64,
    /// In how many of them it happened.
    pub times: u64,
    /// The interval that holds although the number of runs hung on what they gave.
    pub bounds: Interval,
}

impl Rule {
    /// What a look after so many runs says; `None` where more runs are needed or it is not time for a look.
    #[must_use]
    pub fn look(&self, times: u64, runs: u64) -> Option<Settled> {
        let last = runs >= self.most_runs;
        let due =
            runs >= self.least_runs.max(1) && (runs - self.least_runs.max(1)).is_multiple_of(self.look_every.max(1));
        if !(due || last) {
            return None;
        }
        let bounds = lasting(times, runs, self.confidence);
        let why = if self.target.is_some_and(|target| bounds.high < target) {
            Why::Below
        } else if self.target.is_some_and(|target| bounds.low > target) {
            Why::Above
        } else if self.half_width.is_some_and(|enough| bounds.half_width() <= enough) {
            Why::Narrow
        } else if last {
            Why::AllRuns
        } else {
            return None;
        };
        Some(Settled { why, runs, times, bounds })
    }

    /// A watch over runs, before the first.
    #[must_use]
    pub fn watch(&self) -> Watch {
        Watch { rule: *self, runs: 0, times: 0, settled: None }
    }
}

/// Follows runs in their order until they settle.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Watch {
    rule: Rule,
    runs: u64,
    times: u64,
    settled: Option<Settled>,
}

impl Watch {
    /// Tells whether it happened in the next run. Once settled it stays so, whatever comes after.
    pub fn tell(&mut self, happened: bool) -> Option<Settled> {
        if self.settled.is_none() {
            self.runs += 1;
            self.times += u64::from(happened);
            self.settled = self.rule.look(self.times, self.runs);
        }
        self.settled
    }
}
