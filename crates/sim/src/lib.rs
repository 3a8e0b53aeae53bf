//! One run of a private water plant: scenario and draws in; summary, events and rows out.

mod days;
mod energy;
mod hot_water;
mod lukewarm;
pub mod names;
mod run;
mod summary;
mod verdict;
mod weather;

pub use days::{Day, DayWeather};
pub use energy::{SunOfHour, meet_the_grid, solar_w};
pub use hot_water::{HeaterEnergy, HeaterNow, HotWaterNow};
pub use lukewarm::Lukewarm;
pub use run::{MOST_ROWS, RunError, RunOptions, draws, household, run, since, usual_grid};
pub use summary::{
    Balance, ChangeOverSummary, Energy, EnergyPart, HotWaterSummary, LukewarmSummary, MOST_SPELLS, MembraneSummary,
    OpenWaterSummary, OutageSummary, OutletSummary, Pressure, RoomSummary, SeasonEnergy, SiteSummary, StorageSummary,
    Summary, SupplySummary, TreatmentSummary, WaterSummary, WeatherSummary, WellSummary, Work, heater_fuel,
};
pub use verdict::{Finding, FindingKind, MOST_STARTS_IN_A_DAY, Verdict};
pub use weather::SiteAir;

use springhouse_core::engine::Report;
use springhouse_core::observe::{Event, MembraneNow, Totals};
use springhouse_core::quality::Carried;
use springhouse_core::supply::MOST_SUPPLIES;
use springhouse_core::time::Time;

/// The plant at one instant of the output grid: [`springhouse_core::observe::Sample`], owned.
#[derive(Clone, Debug, PartialEq)]
pub struct Row {
    /// When.
    pub time: Time,
    /// Pressure on the raw header, kPa.
    pub raw_kpa: f64,
    /// By supply: drawdown in a well, m, or water in a basin, L; zero of a town line.
    pub sources: [f64; MOST_SUPPLIES],
    /// By supply: whether its pump runs, or its main is connected.
    pub pump_on: [bool; MOST_SUPPLIES],
    /// By supply: starts of its pump since the start of the run.
    pub starts: [u64; MOST_SUPPLIES],
    /// Water in storage, L; zero where there is none.
    pub storage_l: f64,
    /// Pressure behind the delivery pump, kPa; zero where there is none.
    pub delivery_kpa: f64,
    /// Lowest pressure on the header that feeds the buildings since the row before, kPa.
    pub lowest_house_kpa: f64,
    /// Wanted flow of all outlets, L/s.
    pub wanted_lps: f64,
    /// What the water to the buildings carries, in the order of [`Constituent`](springhouse_core::quality::Constituent).
    pub carried: Carried,
    /// By supply: salt in a basin, mg/L; of a well or main, that of its water.
    pub sources_salt_mg_l: [f64; MOST_SUPPLIES],
    /// The same of temperature, °C.
    pub sources_temp_c: [f64; MOST_SUPPLIES],
    /// By supply: thickness of the ice on open water, m.
    pub ice_m: [f64; MOST_SUPPLIES],
    /// Temperature of the water that last came to the end of the raw line, °C.
    pub raw_temp_c: f64,
    /// The membrane unit.
    pub membrane: MembraneNow,
    /// Heaters and rooms.
    pub hot_water: HotWaterNow,
    /// Energy in the battery, J; zero without one.
    pub stored_j: f64,
    /// What has flowed since the start of the run.
    pub totals: Totals,
}

/// All that a run tells.
#[derive(Clone, Debug)]
pub struct Outcome {
    /// The figures.
    pub summary: Summary,
    /// What happened, in order of time.
    pub events: Vec<Event>,
    /// The plant at the start and at every multiple of the grid up to the end; none where no grid was asked for.
    pub rows: Vec<Row>,
    /// Every day of the run; none where none were asked for.
    pub days: Vec<Day>,
    /// Times of lukewarm water, in order of time.
    pub lukewarm: Vec<Lukewarm>,
    /// The figures at every moment that was asked for.
    pub at_moments: Vec<Report>,
}
