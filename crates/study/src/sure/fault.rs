//! Why there is no answer.

use thiserror::Error;

use super::sample::MOST_AXES;

/// What was wrong with the numbers of a question.
#[derive(Clone, Copy, Debug, PartialEq, Error)]
pub enum SureError {
    /// A confidence that is none.
    #[error("a confidence of {0} is not between 0 and 1; give one such as 0.95")]
    Confidence(f64),
    /// Too many uncertain inputs for the published table.
    #[error("{0} inputs are too many: points are known for at most {MOST_AXES} axes")]
    TooManyAxes(usize),
    /// A grid whose places cannot be counted, or that has an axis without levels.
    #[error("the grid has an axis without levels, or more places than can be counted")]
    Grid,
    /// Levels that cannot be halved.
    #[error("{0} levels: steps of half an axis need an even number of at least 2")]
    Levels(usize),
    /// Values that do not fill whole rows or paths, or too few of them.
    #[error("{found} values do not make at least two whole rows of {each}")]
    Rows {
        /// Values of one row.
        each: usize,
        /// How many there were.
        found: usize,
    },
    /// Two points of a path that differ in none or several of their inputs.
    #[error("points {0} and {1} of the paths do not differ in exactly one input")]
    Step(usize, usize),
    /// All runs gave the same value, or one that is no number.
    #[error("the result does not vary, or is not a number, so nothing of its variance can be shared out")]
    NothingVaries,
    /// An end, a centre or a spread that makes no distribution.
    #[error("{what} of {found} makes no distribution: {accepted}")]
    Input {
        /// Which number.
        what: &'static str,
        /// What it was.
        found: f64,
        /// What it must be.
        accepted: &'static str,
    },
}
