//! An observer that keeps events and rows.

use springhouse_core::observe::{Event, EventKind, Observer, Sample};
use springhouse_core::time::Time;

/// Keeps all events, and a few columns of all rows.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Recorder {
    /// Events in order.
    pub events: Vec<Event>,
    /// Rows in order.
    pub rows: Vec<Row>,
}

/// Some columns of a row.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Row {
    /// When.
    pub time: Time,
    /// Pressure on the raw header.
    pub raw_kpa: f64,
    /// Lowest pressure to the buildings since the row before.
    pub lowest_house_kpa: f64,
    /// Water in storage.
    pub storage_l: f64,
    /// Water lifted since the start.
    pub pumped_l: f64,
    /// What the water to the houses carries.
    pub carried: springhouse_core::quality::Carried,
}

impl Observer for Recorder {
    fn event(&mut self, event: &Event) {
        self.events.push(*event);
    }

    fn row(&mut self, sample: &Sample<'_>) {
        self.rows.push(Row {
            time: sample.time,
            raw_kpa: sample.raw_kpa,
            lowest_house_kpa: sample.lowest_house_kpa,
            storage_l: sample.storage_l,
            carried: sample.carried,
            pumped_l: sample.totals.supplies.iter().map(|supply| supply.pumped_l).sum(),
        });
    }
}

impl Recorder {
    /// Times of all events of a kind, in seconds.
    #[must_use]
    pub fn times_s(&self, kind: EventKind) -> Vec<f64> {
        self.events.iter().filter(|event| event.kind == kind).map(|event| event.time.s()).collect()
    }
}
