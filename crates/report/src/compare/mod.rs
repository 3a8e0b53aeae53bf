//! A plant in several ways, side by side: text, JSON and CSV.

pub mod csv;
pub mod json;
pub mod text;

mod figures;

use jiff::civil::Date;
use springhouse_scenario::{Scenario, Units};
use springhouse_study::compare::Comparison;

pub use self::figures::Figures;

/// A comparison that is over, and how it is to be told.
#[derive(Clone, Copy, Debug)]
pub struct Compared<'a> {
    /// What was compared.
    pub scenario: &'a Scenario,
    /// What came of it.
    pub comparison: &'a Comparison,
    /// The first day that was run.
    pub first_day: Date,
    /// The reader's units.
    pub units: Units,
}

impl Compared<'_> {
    /// The figures of every way, in order.
    #[must_use]
    pub fn figures(&self) -> Vec<Figures> {
        self.comparison.ways.iter().map(|way| Figures::of(way, self.comparison.outage)).collect()
    }
}
