//! How sure a quantile is, by the places of values in their order, whatever their distribution.

use super::Confidence;
use super::beta::tails;

/// A quantile of a figure over runs.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Quantile {
    /// The least value that at least that share of the values does not exceed (definition 1 of R. J. Hyndman & Y. Fan, Sample
    /// quantiles in statistical packages, 1996).
    pub value: f64,
    /// Lower bound; `None` where there are too few values for one.
    pub low: Option<f64>,
    /// Upper bound; `None` where there are too few values for one.
    pub high: Option<f64>,
}

/// The quantile at a share in `(0, 1)` of values in rising order, with the bounds that are themselves values: how many values
/// lie below the true quantile is binomial (H. A. David & H. N. Nagaraja, Order statistics, 2003, section 7.1). `None` without
/// values or with a share that is none.
#[must_use]
pub fn quantile(rising: &[f64], share: f64, confidence: Confidence) -> Option<Quantile> {
    if rising.is_empty() || !(share > 0.0 && share < 1.0) {
        return None;
    }
    let place = |rank: usize| rank.checked_sub(1).and_then(|place| rising.get(place)).copied();
    let (low, high) = ranks(rising.len(), share, confidence.tail());
    Some(Quantile { value: place(rank_of(share, rising.len()))?, low: place(low), high: place(high) })
}

/// The rank, from 1, of a share of so many values; a share such as 0.07 is not quite what it says, so 7 in 100 allow for rounding.
#[expect(
    clippy::cast_precision_loss,
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "a rank from 1 to a number of values"
)]
fn rank_of(share: f64, values: usize) -> usize {
    let exact = share * values as f64;
    ((exact * (1.0 - 4.0 * f64::EPSILON)).ceil() as usize).clamp(1, values)
}

/// Ranks, from 1, of the lower and the upper bound; 0, and one more than there are, where there is none.
#[expect(clippy::cast_precision_loss, reason = "nobody makes 2^53 runs")]
fn ranks(values: usize, share: f64, tail: f64) -> (usize, usize) {
    // The chance that at least `rank` values lie below the quantile: the beta distribution of rank and values - rank + 1.
    let reached = |rank: usize| tails(rank as f64, (values - rank + 1) as f64, share);
    // A lower bound errs where fewer than its rank lie below; that grows with the rank.
    let low = last(values, |rank| reached(rank).1 <= tail);
    // An upper bound errs where its rank does; that falls with the rank.
    let high = last(values, |rank| reached(rank).0 > tail) + 1;
    (low, high)
}

/// The last of the ranks from 1 for which something holds that holds up to one of them; 0 where it holds for none.
fn last(values: usize, holds: impl Fn(usize) -> bool) -> usize {
    let (mut holding, mut failing) = (0, values + 1);
    while failing - holding > 1 {
        let middle = holding.midpoint(failing);
        if holds(middle) {
            holding = middle;
        } else {
            failing = middle;
        }
    }
    holding
}
