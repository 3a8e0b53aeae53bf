//! The figures of a run, metric, with the unit in the key. A part the scenario lacks has no key.

mod energy;
mod hot_water;
mod membrane;
mod supplies;
mod treatment;
mod weather;

use jiff::civil::{Date, Time as ClockTime};
use serde::Serialize;
use springhouse_core::engine::Report;
use springhouse_core::incident::Incident;
use springhouse_core::outlet::{Outlet, Role};
use springhouse_core::quality::Constituent;
use springhouse_core::supply::Source;
use springhouse_core::time::{Span, Time};
use springhouse_scenario::Scenario;

pub use self::energy::{Energy, EnergyPart, OutageSummary, SeasonEnergy, SiteSummary, heater_fuel};
pub use self::hot_water::{HotWaterSummary, LukewarmSummary, MOST_SPELLS, RoomSummary};
pub use self::membrane::MembraneSummary;
pub(crate) use self::membrane::{Wear, calcite_left_share};
pub use self::supplies::{OpenWaterSummary, SupplySummary};
pub use self::treatment::TreatmentSummary;
pub use self::weather::WeatherSummary;

use crate::lukewarm::Lukewarm;
use crate::run::RunOptions;
use crate::verdict::{self, Verdict};

/// The place of salt in what water carries.
const SALT: usize = Constituent::Salt as usize;

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
    /// Number of the run of that seed; no key for the first, 0.
    #[serde(skip_serializing_if = "is_first")]
    pub run: u64,
    /// Version of the program.
    pub version: String,
    /// What held and what did not.
    pub verdict: Verdict,
    /// Water to the buildings and raw loads.
    pub water: WaterSummary,
    /// By building and raw load.
    pub outlets: Vec<OutletSummary>,
    /// By supply.
    pub supplies: Vec<SupplySummary>,
    /// The first well and its pump.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub well: Option<WellSummary>,
    /// How the standby supply was used.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub change_over: Option<ChangeOverSummary>,
    /// The weather, where it is known.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub weather: Option<WeatherSummary>,
    /// By stage of treatment.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub treatment: Vec<TreatmentSummary>,
    /// The membrane unit.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub membrane: Option<MembraneSummary>,
    /// The storage tank.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub storage: Option<StorageSummary>,
    /// Pressure at the header that feeds the buildings.
    pub pressure: Pressure,
    /// By water heater.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub hot_water: Vec<HotWaterSummary>,
    /// By room that heaters stand in.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub rooms: Vec<RoomSummary>,
    /// Electric energy.
    pub energy: Energy,
    /// How well the books close.
    pub balance: Balance,
    /// What the engine did.
    pub work: Work,
}

/// Whether a run is the first of its seed.
#[expect(clippy::trivially_copy_pass_by_ref, reason = "serde asks for a reference")]
fn is_first(run: &u64) -> bool {
    *run == 0
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
    /// Taken to wash treatment.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub backwash_l: Option<f64>,
    /// Run away through leaks and bursts.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub leaked_l: Option<f64>,
    /// Drained from the pressure tank as it was put right.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub drained_l: Option<f64>,
}

/// The storage tank.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct StorageSummary {
    /// Least water in it.
    pub lowest_l: f64,
    /// When, ISO 8601.
    pub lowest_at: String,
    /// Water that ran over.
    pub spilled_l: f64,
    /// Water in it at the end.
    pub end_l: f64,
    /// Salt in that water.
    pub salt_mg_l: f64,
}

/// How the standby supply was used.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ChangeOverSummary {
    /// Spells on the standby supply.
    pub spells: u64,
    /// Hours of those spells.
    pub hours: f64,
    /// When the first began, ISO 8601.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub first_at: Option<String>,
}

/// One building or raw load.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct OutletSummary {
    /// Its name.
    pub name: String,
    /// `building`, `raw_load`, `backwash` or `leak`.
    pub role: String,
    /// Water that came.
    pub delivered_l: f64,
    /// Salt that came with it.
    pub salt_g: f64,
    /// Water wanted that did not come.
    pub short_l: f64,
    /// Spells without water.
    pub run_outs: u64,
    /// Minutes of those spells.
    pub run_out_minutes: f64,
    /// Longest of those spells.
    pub longest_run_out_min: f64,
    /// When that began, ISO 8601.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub longest_run_out_at: Option<String>,
    /// When the first began, ISO 8601.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub first_run_out_at: Option<String>,
    /// Lowest pressure at the fixtures of a building while it drew.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub lowest_tap_kpa: Option<f64>,
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
    /// Spells of short-cycling: five cycles or more in a row of less than 30 s.
    pub short_cycling_spells: u64,
    /// Minutes of those spells.
    pub short_cycling_minutes: f64,
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

/// How well the books close.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Balance {
    /// In minus out minus what stayed; the largest of the whole plant and of each part.
    pub water_residual_l: f64,
    /// The same of the salt in the water of the whole plant.
    pub salt_residual_g: f64,
    /// The same of the heat in heaters and the pipes behind them; the largest of all heaters.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub heat_residual_kwh: Option<f64>,
    /// What sun, grid, battery and generator gave, less where it went.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub power_residual_kwh: Option<f64>,
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

/// An instant of a run in ISO 8601, local standard time, to the second.
pub(crate) fn iso(first_day: Date, time: Time) -> String {
    let midnight = first_day.to_datetime(ClockTime::midnight());
    let moment = midnight.checked_add(jiff::SignedDuration::from_nanos(time.ns())).unwrap_or(midnight);
    moment.strftime("%Y-%m-%dT%H:%M:%S").to_string()
}

pub(crate) fn minutes(span: Span) -> f64 {
    span.s() / 60.0
}

fn kwh(energy_j: f64) -> f64 {
    energy_j / 3.6e6
}

pub(crate) fn summarise(
    scenario: &Scenario,
    options: &RunOptions,
    incidents: &[Incident],
    (report, lukewarm): (&Report, &[Lukewarm]),
) -> Summary {
    let (plant, tally) = (&scenario.plant, &report.tally);
    let first_day = options.first_day;
    let outlets: Vec<OutletSummary> =
        plant.outlets.iter().enumerate().map(|(i, outlet)| outlet_summary(first_day, report, i, outlet)).collect();
    let change_over = plant.change_over.as_ref().map(|_| ChangeOverSummary {
        spells: tally.change_overs.count,
        hours: tally.change_overs.total.s() / 3_600.0,
        first_at: tally.change_overs.first.map(|time| iso(first_day, time)),
    });
    let hot_water = hot_water::heaters(plant, first_day, report, lukewarm);
    Summary {
        scenario: scenario.name.clone(),
        start: first_day.to_string(),
        days: options.days,
        seed: options.seed,
        run: options.run,
        version: env!("CARGO_PKG_VERSION").into(),
        verdict: verdict::judge(scenario, first_day, incidents, report, (&outlets, &hot_water)),
        water: water(scenario, first_day, report, &outlets),
        supplies: supplies::supplies(scenario, first_day, report),
        well: well(scenario, report),
        change_over,
        weather: WeatherSummary::of(&options.weather, options.days),
        treatment: treatment::treatment(plant, first_day, report),
        membrane: membrane::membrane(plant, first_day, report),
        storage: storage(scenario, first_day, report),
        pressure: Pressure { lowest_kpa: tally.lowest_house_kpa, minutes_below_set: minutes(tally.low_pressure.total) },
        hot_water,
        rooms: hot_water::rooms(plant, report),
        energy: energy::energy(scenario, options, report),
        balance: Balance {
            water_residual_l: report.ledger.residual_l(),
            salt_residual_g: report.ledger.carried.residuals_g()[SALT],
            heat_residual_kwh: hot_water::residual_kwh(report),
            power_residual_kwh: energy::residual_kwh(report),
        },
        work: Work { segments: tally.work.segments, steps: tally.work.steps, rejected: tally.work.rejected },
        outlets,
    }
}

fn water(scenario: &Scenario, first_day: Date, report: &Report, outlets: &[OutletSummary]) -> WaterSummary {
    let (plant, tally) = (&scenario.plant, &report.tally);
    let sum = |role: Role, figure: fn(&OutletSummary) -> f64| -> f64 {
        plant.outlets.iter().zip(outlets).filter(|(outlet, _)| outlet.role == role).map(|(_, o)| figure(o)).sum()
    };
    let where_any = |role: Role, figure: fn(&OutletSummary) -> f64| {
        plant.outlets.iter().any(|outlet| outlet.role == role).then(|| sum(role, figure))
    };
    let has_store = plant.store.is_some();
    WaterSummary {
        delivered_l: sum(Role::Building, |o| o.delivered_l),
        short_l: sum(Role::Building, |o| o.short_l),
        run_outs: tally.run_outs.count,
        run_out_minutes: minutes(tally.run_outs.total),
        lowest_storage_l: has_store.then_some(tally.lowest_storage_l),
        lowest_storage_at: has_store.then(|| iso(first_day, tally.lowest_storage_at)),
        raw_loads_l: where_any(Role::RawLoad, |o| o.delivered_l),
        raw_short_l: where_any(Role::RawLoad, |o| o.short_l),
        backwash_l: where_any(Role::Backwash, |o| o.delivered_l),
        leaked_l: where_any(Role::Leak, |o| o.delivered_l),
        drained_l: Some(report.totals.drained_l).filter(|drained_l| *drained_l > 0.0),
    }
}

fn storage(scenario: &Scenario, first_day: Date, report: &Report) -> Option<StorageSummary> {
    let store = scenario.plant.store.as_ref()?;
    Some(StorageSummary {
        lowest_l: report.tally.lowest_storage_l,
        lowest_at: iso(first_day, report.tally.lowest_storage_at),
        spilled_l: report.totals.spilled_l,
        end_l: store.storage.start_l + report.ledger.storage_gain_l,
        salt_mg_l: report.storage_carries[SALT],
    })
}

/// Index of the first well.
fn first_well(scenario: &Scenario) -> Option<usize> {
    scenario.plant.supplies.iter().position(|supply| matches!(supply.source, Source::Well { .. }))
}

fn well(scenario: &Scenario, report: &Report) -> Option<WellSummary> {
    let index = first_well(scenario)?;
    let (totals, tally) = (&report.totals.supplies[index], &report.tally.supplies[index]);
    Some(WellSummary {
        pumped_l: totals.pumped_l,
        starts: tally.starts,
        most_starts_in_a_day: tally.starts_by_day.most,
        run_hours: tally.run.s() / 3_600.0,
        shortest_run_s: tally.shortest_run.map(Span::s),
        shortest_cycle_s: tally.shortest_cycle.map(Span::s),
        short_cycling_spells: tally.short_cycling.count,
        short_cycling_minutes: minutes(tally.short_cycling.total),
        low_level_trips: tally.low_level_trips.count,
        deepest_drawdown_m: tally.deepest_drawdown_m,
        mean_pressure_kpa: report.totals.raw_kpa_s / report.time.s(),
    })
}

fn outlet_summary(first_day: Date, report: &Report, i: usize, outlet: &Outlet) -> OutletSummary {
    let (totals, spells) = (&report.totals.outlets[i], &report.tally.outlets[i]);
    let tap_kpa = report.tally.lowest_tap_kpa[i];
    OutletSummary {
        name: outlet.name.clone(),
        role: match outlet.role {
            Role::Building => "building".into(),
            Role::RawLoad => "raw_load".into(),
            Role::Backwash => "backwash".into(),
            Role::Leak => "leak".into(),
        },
        delivered_l: totals.delivered_l,
        salt_g: report.salt_g[i],
        short_l: totals.lost_l + report.waiting_l[i],
        run_outs: spells.count,
        run_out_minutes: minutes(spells.total),
        longest_run_out_min: minutes(spells.longest),
        longest_run_out_at: spells.longest_from.map(|time| iso(first_day, time)),
        first_run_out_at: spells.first.map(|time| iso(first_day, time)),
        // One that never drew has none, and keeps the largest number there is.
        lowest_tap_kpa: (outlet.role == Role::Building && tap_kpa < f64::MAX).then_some(tap_kpa),
    }
}
