//! How sure an answer out of many runs is, when enough runs have been made, which runs to make, and which input matters.
//!
//! - Intervals: [`chance`] of something happening in a run, [`quantile`] and [`mean`] of a figure, [`paired`] difference of two
//!   ways on the same mornings.
//! - [`Rule`]: when a chance has settled, however often it is looked at.
//! - Samples of the unit cube: [`Grid`], [`Latin`], [`Sobol`]; an [`Input`] turns a unit number into a value.
//! - What matters: [`shares`] of the variance out of [`Crossed`] runs, [`effects`] of single steps along [`paths`].
//!
//! Equations and sources are in `docs/studies.md`. Everything is a pure function of its numbers and of a seed, the same bits on
//! every machine.

mod beta;
mod chance;
mod fault;
mod input;
mod interval;
mod mean;
mod rank;
mod sample;
mod screen;
mod settle;
mod shares;

pub use chance::chance;
pub use fault::SureError;
pub use input::Input;
pub use interval::{Confidence, Interval};
pub use mean::{Mean, Paired, mean, paired};
pub use rank::{Quantile, quantile};
pub use sample::{Grid, Latin, MOST_AXES, Sobol};
pub use screen::{Effect, effects, paths};
pub use settle::{Rule, Settled, Watch, Why, lasting};
pub use shares::{Crossed, Share, SureShare, shares, sure_shares};
