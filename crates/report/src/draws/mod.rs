//! What people draw, and what it amounts to: text, JSON and every draw as CSV. The pictures are among the
//! [plots](crate::plots).
//!
//! Nothing is simulated here: the draws are those that are wished of the plant, whatever comes of them. [`gather`] hears
//! runs 0, 1, ... one after the other, and memory does not grow with them.

pub mod csv;
pub mod json;
pub mod text;

mod busy;
mod gather;
mod merged;
pub(crate) mod words;

pub(crate) use busy::{DaySums, QUARTERS, Taker};
pub(crate) use gather::litres;
pub use gather::{Gathering, gather};

use springhouse_core::outlet::Role;
use springhouse_draws::tally::quantile;
use springhouse_scenario::{Scenario, Units};
use springhouse_sim::RunOptions;

/// Draws that have been gathered, and how they are to be told.
#[derive(Clone, Copy, Debug)]
pub struct Drawn<'a> {
    /// Whose draws they are.
    pub scenario: &'a Scenario,
    /// First day, days, seed, and who draws; the number of the run counts for nothing.
    pub options: &'a RunOptions,
    /// What the runs amount to.
    pub gathering: &'a Gathering,
    /// The reader's units.
    pub units: Units,
}

impl Drawn<'_> {
    /// What flow is hardly ever exceeded, and in how many runs it is not: of few runs in all. Of one it is only a flow.
    pub(crate) fn hardly_exceeded(&self, spread: &Spread) -> (String, String) {
        const FEW: u64 = 20;
        let (within, lps) = match self.gathering.runs() {
            0 | 1 => (String::new(), spread.highest),
            few if few < FEW => (format!("in {few} runs "), spread.highest),
            _ => ("in 19 of 20 runs ".to_owned(), spread.p95),
        };
        (within, self.units.flow(lps))
    }
}

/// Whether anybody or anything draws water in a building or at a raw load: what is washed of itself counts for nothing.
#[must_use]
pub fn draws_anything(scenario: &Scenario, options: &RunOptions) -> bool {
    let outlets = &scenario.plant.outlets;
    let wished = |outlet: usize| outlets.get(outlet).is_some_and(|outlet| outlet.role != Role::Backwash);
    !options.homes.is_empty() || !options.log.is_empty() || options.schedule.iter().any(|draw| wished(draw.outlet))
}

/// How a value differs between runs.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Spread {
    pub(crate) p5: f64,
    pub(crate) p50: f64,
    pub(crate) p95: f64,
    pub(crate) p99: f64,
    pub(crate) highest: f64,
}

impl Spread {
    /// Of the values run by run; zeros before the first.
    pub(crate) fn of(values: &[f64]) -> Self {
        let at = |share| quantile(values, share).unwrap_or(0.0);
        Self { p5: at(0.05), p50: at(0.5), p95: at(0.95), p99: at(0.99), highest: at(1.0) }
    }
}
