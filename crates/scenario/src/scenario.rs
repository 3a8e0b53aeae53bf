//! What a scenario file means once it has been checked.

use std::path::PathBuf;

use jiff::civil::{Date, DateTime};
use springhouse_core::incident::IncidentKind;
use springhouse_core::plant::Plant;
use springhouse_core::time::Span;
use springhouse_draws::DailyDraw;

use crate::display::Units;

/// A scenario that has been read and checked: nothing past here checks it again.
#[derive(Clone, Debug)]
pub struct Scenario {
    /// Short name, used for the output folder: letters, digits, `-` and `_`.
    pub name: String,
    /// One line for people.
    pub title: String,
    /// First day of the run.
    pub start: Date,
    /// Days to run.
    pub days: u32,
    /// Seed of everything random.
    pub seed: u64,
    /// Units for people.
    pub units: Units,
    /// The plant.
    pub plant: Plant,
    /// Draws of every day.
    pub schedule: Vec<DailyDraw>,
    /// Files of logged draws, relative to the scenario's folder.
    pub logs: Vec<PathBuf>,
    /// What goes out of order and when.
    pub incidents: Vec<DatedIncident>,
}

/// An incident at a date and time.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct DatedIncident {
    /// What is out of order.
    pub kind: IncidentKind,
    /// When it begins, local standard time.
    pub start: DateTime,
    /// How long it lasts.
    pub length: Span,
}
