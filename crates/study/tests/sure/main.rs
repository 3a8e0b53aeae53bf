//! How sure answers are, against closed forms, libraries of statistics, and themselves over thousands of made-up studies.
//!
//! Tables and the script that made them are in `tests/data` of the workspace.

#![expect(clippy::unwrap_used, reason = "helpers of tests are tests")]
#![expect(
    clippy::cast_precision_loss,
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "numbers of runs, far fewer than 2^32"
)]

mod inputs;
mod intervals;
mod matters;
mod samples;
mod settling;
#[path = "../../../../tests/published/table.rs"]
mod table;

/// How far off a share of so many trials may be by chance: four standard errors.
fn by_chance(share: f64, trials: usize) -> f64 {
    4.0 * (share * (1.0 - share) / trials as f64).sqrt()
}

/// All chances of 0 to `n` in `n`.
fn binomial(n: usize, p: f64) -> Vec<f64> {
    let mut all = vec![1.0; 1];
    for _ in 0..n {
        let mut next = vec![0.0; all.len() + 1];
        for (x, chance) in all.iter().enumerate() {
            next[x] += chance * (1.0 - p);
            next[x + 1] += chance * p;
        }
        all = next;
    }
    all
}
