//! An observer that keeps events and rows.

use springhouse_core::hot_water::follow::Spell;
use springhouse_core::observe::{Event, EventKind, Observer, Sample};
use springhouse_core::time::Time;

/// Keeps all events, and a few columns of all rows.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Recorder {
    /// Events in order.
    pub events: Vec<Event>,
    /// Rows in order.
    pub rows: Vec<Row>,
    /// Heaters and rooms in the same rows; none where there are no heaters.
    pub hot_rows: Vec<HotRow>,
    /// Spells of lukewarm water that are over, each with the heater whose it was.
    pub lukewarm: Vec<(usize, Spell)>,
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

/// What a row tells of heaters and rooms.
#[derive(Clone, Debug, PartialEq)]
pub struct HotRow {
    /// When.
    pub time: Time,
    /// Electricity of all heaters since the start.
    pub heaters_j: f64,
    /// By heater: temperature at its outlet,
    pub outlet_c: Vec<f64>,
    /// and hot water that left it since the start.
    pub taken_l: Vec<f64>,
    /// By room: its temperature.
    pub room_c: Vec<f64>,
}

impl Observer for Recorder {
    fn event(&mut self, event: &Event) {
        self.events.push(*event);
    }

    fn lukewarm(&mut self, heater: usize, spell: &Spell) {
        self.lukewarm.push((heater, *spell));
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
        let hot = sample.hot_water;
        if !hot.heaters.is_empty() {
            self.hot_rows.push(HotRow {
                time: sample.time,
                heaters_j: sample.totals.heaters_j,
                outlet_c: hot.heaters.iter().map(|run| run.place.heater.outlet_c()).collect(),
                taken_l: hot.heaters.iter().map(|run| run.totals.taken_l).collect(),
                room_c: hot.rooms.iter().map(|run| run.state.temp_c).collect(),
            });
        }
    }
}

impl Recorder {
    /// Times of all events of a kind, in seconds.
    #[must_use]
    pub fn times_s(&self, kind: EventKind) -> Vec<f64> {
        self.events.iter().filter(|event| event.kind == kind).map(|event| event.time.s()).collect()
    }
}
