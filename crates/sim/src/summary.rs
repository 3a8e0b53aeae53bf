//! The figures of a run, metric, with the unit in the key. A part the scenario lacks has no key.

use serde::Serialize;

/// `summary.json`.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Summary {
    /// Name of the scenario.
    pub scenario: String,
    /// First day, ISO 8601.
    pub start: String,
    /// Days run.
    pub days: u32,
    /// Seed.
    pub seed: u64,
    /// Version of the program.
    pub version: String,
    /// What held and what did not.
    pub verdict: Verdict,
    /// Water to the buildings and raw loads.
    pub water: WaterSummary,
    /// By building and raw load.
    pub outlets: Vec<OutletSummary>,
    /// The well and its pump.
    pub well: WellSummary,
    /// Pressure at the header that feeds the buildings.
    pub pressure: Pressure,
    /// Electric energy.
    pub energy: Energy,
    /// How well the books close.
    pub balance: Balance,
    /// What the engine did.
    pub work: Work,
}

/// The answer first.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Verdict {
    /// Whether everything held: no finding other than notes.
    pub holds: bool,
    /// Worst first.
    pub findings: Vec<Finding>,
}

/// One thing that did not hold, or nearly did not.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Finding {
    /// What it is.
    pub kind: FindingKind,
    /// Whether it makes the verdict fall short; otherwise it is a note.
    pub falls_short: bool,
    /// Building, raw load or part it is about.
    pub part: String,
    /// When it first happened, ISO 8601 local standard time.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub at: Option<String>,
    /// How often.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub count: Option<u64>,
    /// For how long in all.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub minutes: Option<f64>,
    /// Litres it is about.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub litres: Option<f64>,
    /// The limit it was held against, in the unit of the kind.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub limit: Option<f64>,
}

/// Kinds of finding. The comment says what count, minutes, litres and limit are.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum FindingKind {
    /// An outlet wanted water and got less than half: spells, minutes, litres not delivered.
    RunOut,
    /// An outlet got somewhat less than it wanted: litres not delivered.
    Weak,
    /// Pressure to the buildings under what the controls hold: minutes; limit kPa.
    LowPressure,
    /// The low-level cut-off stopped the well pump: times.
    LowLevelTrip,
    /// The water was down to the pump's intake: times.
    SuctionLost,
    /// The well pump started more often in a day than is good for it: most starts in a day; limit starts.
    ManyStarts,
    /// The well pump ran for less than a minute at a time: runs; limit s.
    ShortRuns,
    /// Low storage stopped the delivery pump: times.
    ProtectStop,
    /// Electricity or a pump was out, as the scenario asked: times, minutes.
    Incident,
}

/// Water to the buildings and raw loads, litres.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct WaterSummary {
    /// To the buildings.
    pub delivered_l: f64,
    /// Wanted by the buildings and not delivered.
    pub short_l: f64,
    /// Spells in which a building had run out.
    pub run_outs: u64,
    /// Minutes of those spells.
    pub run_out_minutes: f64,
    /// Least water in storage.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub lowest_storage_l: Option<f64>,
    /// When, ISO 8601.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub lowest_storage_at: Option<String>,
    /// To the raw loads.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub raw_loads_l: Option<f64>,
    /// Wanted by the raw loads and not delivered.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub raw_short_l: Option<f64>,
}

/// One building or raw load.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct OutletSummary {
    /// Its name.
    pub name: String,
    /// `building` or `raw_load`.
    pub role: String,
    /// Water that came.
    pub delivered_l: f64,
    /// Water wanted that did not come.
    pub short_l: f64,
    /// Spells without water.
    pub run_outs: u64,
    /// Minutes of those spells.
    pub run_out_minutes: f64,
    /// Longest of those spells.
    pub longest_run_out_min: f64,
    /// When the first began, ISO 8601.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub first_run_out_at: Option<String>,
}

/// The well and its pump.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct WellSummary {
    /// Water lifted.
    pub pumped_l: f64,
    /// Starts of the pump.
    pub starts: u64,
    /// Most starts in one calendar day.
    pub most_starts_in_a_day: u64,
    /// Hours the pump ran.
    pub run_hours: f64,
    /// Shortest run from start to stop.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub shortest_run_s: Option<f64>,
    /// Shortest time from one start to the next.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub shortest_cycle_s: Option<f64>,
    /// Times the low-level cut-off stopped the pump.
    pub low_level_trips: u64,
    /// Deepest drawdown.
    pub deepest_drawdown_m: f64,
    /// Time-mean pressure at the tank gauge.
    pub mean_pressure_kpa: f64,
}

/// Pressure at the header that feeds the buildings.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Pressure {
    /// Lowest.
    pub lowest_kpa: f64,
    /// Minutes under the least pressure the controls hold: cut-in, or the delivery pump's wake pressure.
    pub minutes_below_set: f64,
}

/// Electric energy.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Energy {
    /// All parts.
    pub total_kwh: f64,
    /// The well pump.
    pub well_pump_kwh: f64,
    /// The delivery pump and its drive.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub delivery_kwh: Option<f64>,
    /// Largest mean power of all parts over one minute of the slow clock.
    pub highest_minute_w: f64,
}

/// How well the books close.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Balance {
    /// In minus out minus what stayed; the largest of the whole plant and of each part.
    pub water_residual_l: f64,
}

/// What the engine did.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Work {
    /// Segments, from event to event.
    pub segments: u64,
    /// Integration steps taken.
    pub steps: u64,
    /// Integration steps rejected and taken again.
    pub rejected: u64,
}
