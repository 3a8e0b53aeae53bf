//! What a person gets to read of a run: the verdict, tables and plots; and what their tools read: JSON and CSV.
//!
//! Everything here is made from a [`Run`], a [`Tuned`](tune::Tuned), a [`Drawn`](draws::Drawn), a [`Rated`](rate::Rated) or a
//! [`Told`](study::Told) and nothing else: no clock, no chance but by their seed, no system font, so the same run gives the same
//! bytes. Text and plots are in the reader's units; JSON, CSV and Parquet are metric, with the unit in the key.

pub mod calendar;
pub mod compare;
pub mod csv;
pub mod draws;
pub mod json;
pub mod plots;
pub mod rate;
pub mod runs;
pub mod study;
pub mod text;
pub mod tune;
pub mod write;

mod chart;
mod days;
mod numbers;
mod phrase;
#[cfg(test)]
mod ready;
mod site;
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

    /// What people call that pressure; where the pumps' differ, with the supply whose it is.
    pub(crate) fn held_name(&self) -> String {
        let plant = &self.scenario.plant;
        if plant.house_header() == Header::Delivery {
            return WAKE.to_owned();
        }
        let first = plant.supplies.iter().filter(|supply| !supply.standby);
        let controls = first.filter_map(|supply| Some((supply.name.as_str(), &supply.source.pump()?.control)));
        let controls: Vec<_> = controls.collect();
        let low_kpa = |(_, control): &&(&str, &Control)| control.low_kpa();
        let Some((supply, control)) = controls.iter().min_by(|a, b| low_kpa(a).total_cmp(&low_kpa(b))) else {
            return "the least kept in a main".to_owned();
        };
        let name = if matches!(control, Control::Switch { .. }) { "cut-in" } else { WAKE };
        let differ = controls.iter().any(|(_, other)| other.low_kpa() > control.low_kpa());
        if differ { format!("the {supply}'s {name}") } else { name.to_owned() }
    }

    /// Where the pressure to the buildings is read, if something stands between there and their taps that takes of it.
    pub(crate) fn pressure_place(&self) -> Option<&'static str> {
        let plant = &self.scenario.plant;
        let header = plant.house_header();
        if plant.stages.iter().any(|stage| stage.header == header) {
            return Some("ahead of treatment");
        }
        (header == Header::Raw && plant.reducer_kpa.is_some()).then_some("ahead of the reducer")
    }
}

/// The pressure that wakes a variable-speed drive.
const WAKE: &str = "wake pressure";
