//! Many runs together.

use super::window::WINDOWS;
use super::{Tallied, Totals};

/// Runs of the same buildings. The order in which they are given decides the last bits, so it is that of their numbers.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Gathered {
    totals: Option<Totals>,
    peaks_lps: [Vec<f64>; WINDOWS.len()],
    litres_per_person_day: Vec<f64>,
}

impl Gathered {
    /// Takes the next run.
    pub fn add(&mut self, run: &Tallied) {
        match &mut self.totals {
            Some(totals) => totals.merge(&run.totals),
            none => *none = Some(run.totals.clone()),
        }
        for (peaks, peak) in self.peaks_lps.iter_mut().zip(run.peaks_lps) {
            peaks.push(peak);
        }
        self.litres_per_person_day.push(run.totals.litres_per_person_day());
    }

    /// Sums over all runs; `None` before the first.
    #[must_use]
    pub fn totals(&self) -> Option<&Totals> {
        self.totals.as_ref()
    }

    /// The highest mean flow over each of [`WINDOWS`] in L/s, run by run.
    #[must_use]
    pub fn peaks_lps(&self) -> &[Vec<f64>; WINDOWS.len()] {
        &self.peaks_lps
    }

    /// Litres a person and day, run by run.
    #[must_use]
    pub fn litres_per_person_day(&self) -> &[f64] {
        &self.litres_per_person_day
    }
}

/// The value that a share of the values, from 0 to 1, does not exceed, on the straight line between the two nearest:
/// definition 7 of R. J. Hyndman and Y. Fan, Am. Stat. 50 (1996) 361. `None` if there are no values.
#[must_use]
#[expect(
    clippy::cast_precision_loss,
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "a place among values, which are far fewer than 2^53"
)]
pub fn quantile(values: &[f64], share: f64) -> Option<f64> {
    let mut sorted = values.to_vec();
    sorted.sort_unstable_by(f64::total_cmp);
    let place = share.clamp(0.0, 1.0) * sorted.len().checked_sub(1)? as f64;
    let below = place.floor();
    let (low, high) = (sorted.get(below as usize)?, sorted.get(place.ceil() as usize)?);
    Some(low + (place - below) * (high - low))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn exact_quantiles() {
        let values = [4.0, 1.0, 3.0, 2.0];
        assert_eq!(quantile(&values, 0.0), Some(1.0));
        assert_eq!(quantile(&values, 0.5), Some(2.5));
        assert_eq!(quantile(&values, 0.9), Some(3.7));
        assert_eq!(quantile(&values, 1.0), Some(4.0));
        assert_eq!(quantile(&[], 0.5), None);
    }
}
