//! What a person gets to read of a run: the verdict, tables and plots; and what their tools read: JSON and CSV.
//!
//! Everything here is made from a [`Run`] and nothing else: no clock, no randomness, no system font, so the same run gives
//! the same bytes. Text and plots are in the reader's units; JSON and CSV are metric, with the unit in the key.

pub mod calendar;
pub mod csv;
pub mod json;
pub mod plots;
pub mod text;
pub mod write;

mod chart;
mod days;
mod numbers;
mod phrase;
#[cfg(test)]
mod ready;
mod spells;
mod words;

use jiff::civil::Date;
use springhouse_core::outlet::Header;
use springhouse_core::supply::Control;
use springhouse_scenario::{Scenario, Units};
use springhouse_sim::Outcome;

/// A run that is over, and how it is to be told.
#[derive(Clone, Copy, Debug)]
pub struct Run<'a> {
    /// What was simulated.
    pub scenario: &'a Scenario,
    /// What came of it.
    pub outcome: &'a Outcome,
    /// The first day that was run; need not be the scenario's own.
    pub first_day: Date,
    /// The reader's units.
    pub units: Units,
}

impl Run<'_> {
    /// The least pressure to the buildings that the controls hold.
    pub(crate) fn held_kpa(&self) -> f64 {
        self.scenario.plant.held_kpa()
    }

    /// What people call that pressure.
    pub(crate) fn held_name(&self) -> &'static str {
        let plant = &self.scenario.plant;
        if plant.house_header() == Header::Delivery {
            return WAKE;
        }
        let first = plant.supplies.iter().filter(|supply| !supply.standby);
        let controls = first.filter_map(|supply| supply.source.pump()).map(|pump| &pump.control);
        match controls.min_by(|a, b| a.low_kpa().total_cmp(&b.low_kpa())) {
            Some(Control::Switch { .. }) => "cut-in",
            Some(Control::Drive(_)) => WAKE,
            None => "the least kept in a main",
        }
    }
}

/// The pressure that wakes a variable-speed drive.
const WAKE: &str = "wake pressure";
