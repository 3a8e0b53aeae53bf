//! Latin hypercube.

use springhouse_random::{Source, Stream};

/// A sample that has, along each axis, one point in each of as many slices as there are points: A comparison of three methods
/// for selecting values of input variables in the analysis of output from a computer code, Technometrics 21 (1979) 239.
#[derive(Clone, Debug)]
pub struct Latin {
    axes: Vec<Vec<f64>>,
}

impl Latin {
    /// So many points on axes of these names. Each axis has chance of its own, so another one leaves the others as they were.
    #[must_use]
    pub fn new(seed: u64, axes: &[&str], points: usize) -> Self {
        let axis = |name: &&str| column(&mut Stream::new(seed, 0, &[name], "latin hypercube").on(0), points);
        Self { axes: axes.iter().map(axis).collect() }
    }

    /// A point.
    ///
    /// # Panics
    /// Past the last point.
    pub fn point(&self, place: usize, into: &mut [f64]) {
        for (axis, at) in self.axes.iter().zip(into) {
            *at = axis[place];
        }
    }
}

#[expect(clippy::cast_precision_loss, reason = "nobody makes 2^53 points")]
fn column(source: &mut Source, points: usize) -> Vec<f64> {
    let mut slices: Vec<usize> = (0..points).collect();
    // R. Durstenfeld, Algorithm 235: random permutation (1964).
    for last in (1..points).rev() {
        slices.swap(last, below(source, last + 1));
    }
    let n = points as f64;
    let within = |slice: usize| {
        let (low, high) = (slice as f64 / n, (slice + 1) as f64 / n);
        // Rounding must not carry a point into the next slice.
        ((slice as f64 + source.inner()) / n).clamp(low.next_up(), high.next_down())
    };
    slices.into_iter().map(within).collect()
}

/// A number from 0 up to but without `end`.
#[expect(
    clippy::cast_precision_loss,
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "not below zero, and far below 2^53"
)]
pub(in crate::sure) fn below(source: &mut Source, end: usize) -> usize {
    ((source.unit() * end as f64) as usize).min(end.saturating_sub(1))
}
