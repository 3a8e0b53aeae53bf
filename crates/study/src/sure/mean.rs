//! How sure a mean is, and the difference of two ways that met the same mornings.

use super::beta::student;
use super::chance::as_float;
use super::{Confidence, Interval};

/// A mean over runs.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Mean {
    /// The mean.
    pub mean: f64,
    /// Standard deviation of a single run.
    pub deviation: f64,
    /// Student's interval of the mean.
    pub bounds: Interval,
}

/// The difference of two ways on the same mornings, run by run.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Paired {
    /// Second way less first.
    pub difference: Mean,
    /// How many runs each way would need on mornings of its own for an interval no wider; `None` where no number would do,
    /// since the pairs do not differ in their difference.
    pub unpaired_runs_each: Option<u64>,
}

/// The mean of values and its interval: Student, The probable error of a mean, Biometrika 6 (1908) 1. `None` with fewer than two
/// values.
///
/// Exact where runs are independent and normal; with skew it is good from some dozens of runs on.
#[must_use]
pub fn mean(values: &[f64], confidence: Confidence) -> Option<Mean> {
    mean_of(values.iter().copied(), confidence)
}

fn mean_of(values: impl Iterator<Item = f64> + Clone, confidence: Confidence) -> Option<Mean> {
    let (runs, sum) = values.clone().fold((0_u64, 0.0), |(runs, sum), value| (runs + 1, sum + value));
    if runs < 2 {
        return None;
    }
    let n = as_float(runs);
    let mean = sum / n;
    let squares: f64 = values.map(|value| (value - mean) * (value - mean)).sum();
    let deviation = (squares / (n - 1.0)).sqrt();
    let half = student(n - 1.0, confidence.misses()) * deviation / n.sqrt();
    Some(Mean { mean, deviation, bounds: Interval { low: mean - half, high: mean + half } })
}

/// The difference of two ways, `second - first`, over runs that met the same mornings. `None` with fewer than two runs, or
/// where the ways have not as many.
#[must_use]
pub fn paired(first: &[f64], second: &[f64], confidence: Confidence) -> Option<Paired> {
    if first.len() != second.len() {
        return None;
    }
    let difference = mean_of(first.iter().zip(second).map(|(first, second)| second - first), confidence)?;
    let variance = |values| mean(values, confidence).map(|of| of.deviation * of.deviation);
    let variances = (variance(first)?, variance(second)?);
    let unpaired_runs_each = unpaired(variances, difference.bounds.half_width(), confidence);
    Some(Paired { difference, unpaired_runs_each })
}

/// The least number of runs each with which Welch's interval (B. L. Welch, Biometrika 34 (1947) 28) has that half-width.
fn unpaired((first, second): (f64, f64), half_width: f64, confidence: Confidence) -> Option<u64> {
    /// Beyond it differences are rounding.
    const MOST: u64 = 1 << 52;
    let both = first + second;
    let narrow = |runs: u64| {
        let n = as_float(runs);
        // Degrees of freedom after Welch, with as many runs on each side.
        let free = (n - 1.0) * both * both / (first * first + second * second);
        both == 0.0 || student(free, confidence.misses()) * (both / n).sqrt() <= half_width
    };
    let mut high = 2;
    while !narrow(high) {
        high *= 2;
        if high > MOST {
            return None;
        }
    }
    let mut low = high / 2;
    while high - low > 1 {
        let middle = low.midpoint(high);
        if narrow(middle) {
            high = middle;
        } else {
            low = middle;
        }
    }
    Some(high)
}
