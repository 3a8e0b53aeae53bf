//! How much of a result's variance each input accounts for.
//!
//! A. Saltelli et al., Variance based sensitivity analysis of model output. Design and estimator for the total sensitivity
//! index, Computer Physics Communications 181 (2010) 259: crossed runs and the estimators (b) and (f) of its table 2; (f) is
//! that of M. J. W. Jansen, Analysis of variance designs for model output (same journal, 117 (1999) 35).

use springhouse_random::Stream;

use super::sample::{Sobol, below};
use super::{Confidence, Interval, SureError};

/// The runs that tell the inputs' shares apart: each row is a point `a`, the same with one input after the other taken from
/// another point `b`, and `b`.
#[derive(Clone, Debug)]
pub struct Crossed {
    points: Sobol,
    inputs: usize,
    /// One point of twice the axes.
    both: Vec<f64>,
}

impl Crossed {
    /// For inputs of these names, on a shifted sequence of Sobol' of twice as many axes.
    ///
    /// # Errors
    /// With more inputs than half of the axes that are known.
    pub fn new(seed: u64, inputs: &[&str]) -> Result<Self, SureError> {
        let second: Vec<String> = inputs.iter().map(|name| format!("{name}, second point")).collect();
        let axes: Vec<&str> = inputs.iter().copied().chain(second.iter().map(String::as_str)).collect();
        Ok(Self { points: Sobol::shifted(seed, &axes)?, inputs: inputs.len(), both: vec![0.0; axes.len()] })
    }

    /// Runs of a row.
    #[must_use]
    pub fn each(&self) -> usize {
        self.inputs + 2
    }

    /// The point of a run, from 0; rows follow one another.
    ///
    /// # Panics
    /// Where there is not room for just as many inputs.
    pub fn point(&mut self, run: u64, into: &mut [f64]) {
        let each = self.each() as u64;
        self.points.point(run / each, &mut self.both);
        let (a, b) = self.both.split_at(self.inputs);
        let place = run % each;
        into.copy_from_slice(if place + 1 == each { b } else { a });
        if let Some(crossed) = place.checked_sub(1).and_then(|input| usize::try_from(input).ok())
            && crossed < self.inputs
        {
            into[crossed] = b[crossed];
        }
    }
}

/// Shares of the variance. Both may come out a little below 0 or above 1, by chance.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Share {
    /// Of the input alone: by how much the variance would fall, on average, if it were known.
    pub alone: f64,
    /// Of the input with all that it acts together with: what would be left if all others were known.
    pub total: f64,
}

/// Shares with the intervals of both.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SureShare {
    /// The shares.
    pub share: Share,
    /// Of the share of the input alone.
    pub alone: Interval,
    /// Of the total share.
    pub total: Interval,
}

/// The shares of each input, out of the results of [`Crossed`] runs in their order, whole rows.
///
/// # Errors
/// Where there are fewer than two rows or broken ones, or all results are alike.
pub fn shares(inputs: usize, results: &[f64]) -> Result<Vec<Share>, SureError> {
    let rows = Rows::new(inputs, results)?;
    let mut shares = vec![Share::default(); inputs];
    if rows.shares(0..rows.count, &mut shares) { Ok(shares) } else { Err(SureError::NothingVaries) }
}

/// The same with intervals, by drawing rows anew out of those there are, `redraws` times, and leaving out the tails of what
/// comes of it: B. Efron & R. J. Tibshirani, An introduction to the bootstrap, 1993, section 13.3; G. E. B. Archer, A. Saltelli &
/// I. M. Sobol', Sensitivity measures, ANOVA-like techniques and the use of bootstrap, 1997.
///
/// They are a little wide for points of Sobol', which are spread more evenly than rows drawn by chance.
///
/// # Errors
/// As [`shares`].
pub fn sure_shares(
    inputs: usize,
    results: &[f64],
    confidence: Confidence,
    redraws: usize,
    seed: u64,
) -> Result<Vec<SureShare>, SureError> {
    let rows = Rows::new(inputs, results)?;
    let stream = Stream::new(seed, 0, &["shares of variance"], "bootstrap");
    let mut redrawn = vec![Share::default(); inputs];
    let mut alone = vec![Vec::with_capacity(redraws); inputs];
    let mut total = alone.clone();
    let mut drawn = vec![0; rows.count];
    for redraw in 0..redraws {
        let mut source = stream.on(i64::try_from(redraw).unwrap_or(i64::MAX));
        drawn.fill_with(|| below(&mut source, rows.count));
        // Rows that are all alike say nothing of shares.
        if rows.shares(drawn.iter().copied(), &mut redrawn) {
            for (input, share) in redrawn.iter().enumerate() {
                alone[input].push(share.alone);
                total[input].push(share.total);
            }
        }
    }
    let one = |((share, alone), total): ((Share, &mut Vec<f64>), &mut Vec<f64>)| SureShare {
        share,
        alone: middle(alone, share.alone, confidence),
        total: middle(total, share.total, confidence),
    };
    Ok(shares(inputs, results)?.into_iter().zip(&mut alone).zip(&mut total).map(one).collect())
}

/// What is left of values without their tails; `of` where there are none.
#[expect(
    clippy::cast_precision_loss,
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "a place within a list"
)]
fn middle(values: &mut [f64], of: f64, confidence: Confidence) -> Interval {
    values.sort_unstable_by(f64::total_cmp);
    let cut = (confidence.tail() * values.len() as f64).floor() as usize;
    let last = values.len().saturating_sub(1);
    let at = |place: usize| values.get(place).copied().unwrap_or(of);
    Interval { low: at(cut.min(last)), high: at(last.saturating_sub(cut)) }
}

/// Results by rows.
struct Rows<'a> {
    results: &'a [f64],
    each: usize,
    count: usize,
    /// Of all results; taken off, since a mean far from zero would drown the shares of inputs alone.
    mean: f64,
    /// A variance that may be nothing but rounding.
    rounding: f64,
}

impl<'a> Rows<'a> {
    #[expect(clippy::cast_precision_loss, reason = "nobody makes 2^53 runs")]
    fn new(inputs: usize, results: &'a [f64]) -> Result<Self, SureError> {
        let each = inputs + 2;
        let count = results.len() / each;
        if count < 2 || !results.len().is_multiple_of(each) {
            return Err(SureError::Rows { each, found: results.len() });
        }
        let mean = results.iter().sum::<f64>() / results.len() as f64;
        let most = results.iter().fold(mean.abs(), |most, result| f64::max(most, result.abs()));
        let rounding = (64.0 * f64::EPSILON * most) * (64.0 * f64::EPSILON * most);
        let rows = Self { results, each, count, mean, rounding };
        let varies = |row: usize| rows.ends(row) != (rows.ends(0).0, rows.ends(0).0);
        // A mean takes the rounding of its sum; that is no variance.
        if mean.is_finite() && (0..count).any(varies) { Ok(rows) } else { Err(SureError::NothingVaries) }
    }

    /// The results at `a` and `b` of a row.
    fn ends(&self, row: usize) -> (f64, f64) {
        let row = &self.results[row * self.each..][..self.each];
        (row[0] - self.mean, row[self.each - 1] - self.mean)
    }

    /// The shares out of some rows; false where nothing varies in them.
    #[expect(clippy::cast_precision_loss, reason = "nobody makes 2^53 runs")]
    fn shares(&self, rows: impl ExactSizeIterator<Item = usize> + Clone, shares: &mut [Share]) -> bool {
        let count = rows.len() as f64;
        let sum: f64 = rows.clone().map(|row| self.ends(row)).map(|(a, b)| a + b).sum();
        let mean = sum / (2.0 * count);
        shares.fill(Share::default());
        let mut variance = 0.0;
        for row in rows {
            let (a, b) = self.ends(row);
            variance += (a - mean) * (a - mean) + (b - mean) * (b - mean);
            for (share, crossed) in shares.iter_mut().zip(&self.results[row * self.each + 1..]) {
                let change = crossed - self.mean - a;
                share.alone += b * change;
                share.total += change * change;
            }
        }
        variance /= 2.0 * count;
        // Of results that are alike, rounding is left.
        if variance <= self.rounding {
            return false;
        }
        for share in shares {
            share.alone /= count * variance;
            share.total /= 2.0 * count * variance;
        }
        true
    }
}
