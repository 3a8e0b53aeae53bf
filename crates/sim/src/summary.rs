//! The figures of a run, metric, with the unit in the key. A part the scenario lacks has no key.

use jiff::civil::{Date, Time as ClockTime};
use serde::Serialize;
use springhouse_core::engine::Report;
use springhouse_core::incident::Incident;
use springhouse_core::outlet::{Outlet, Role};
use springhouse_core::time::{Span, Time};
use springhouse_scenario::Scenario;

use crate::run::RunOptions;
use crate::verdict::{self, Verdict};

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

pub(crate) fn summarise(scenario: &Scenario, options: &RunOptions, incidents: &[Incident], report: &Report) -> Summary {
    let (plant, tally, totals) = (&scenario.plant, &report.tally, &report.totals);
    let (first, first_totals) = (&tally.supplies[0], &totals.supplies[0]);
    let first_day = options.first_day;
    let outlets: Vec<OutletSummary> =
        plant.outlets.iter().enumerate().map(|(i, outlet)| outlet_summary(first_day, report, i, outlet)).collect();
    let sum = |role: Role, figure: fn(&OutletSummary) -> f64| -> f64 {
        plant.outlets.iter().zip(&outlets).filter(|(outlet, _)| outlet.role == role).map(|(_, o)| figure(o)).sum()
    };
    let has_raw_loads = plant.outlets.iter().any(|outlet| outlet.role == Role::RawLoad);
    let has_store = plant.store.is_some();
    Summary {
        scenario: scenario.name.clone(),
        start: first_day.to_string(),
        days: options.days,
        seed: options.seed,
        version: env!("CARGO_PKG_VERSION").into(),
        verdict: verdict::judge(plant, first_day, incidents, report, &outlets),
        water: WaterSummary {
            delivered_l: sum(Role::Building, |o| o.delivered_l),
            short_l: sum(Role::Building, |o| o.short_l),
            run_outs: tally.run_outs.count,
            run_out_minutes: minutes(tally.run_outs.total),
            lowest_storage_l: has_store.then_some(tally.lowest_storage_l),
            lowest_storage_at: has_store.then(|| iso(first_day, tally.lowest_storage_at)),
            raw_loads_l: has_raw_loads.then(|| sum(Role::RawLoad, |o| o.delivered_l)),
            raw_short_l: has_raw_loads.then(|| sum(Role::RawLoad, |o| o.short_l)),
        },
        well: WellSummary {
            pumped_l: first_totals.pumped_l,
            starts: first.starts,
            most_starts_in_a_day: first.most_starts_in_a_day,
            run_hours: first.run.s() / 3_600.0,
            shortest_run_s: first.shortest_run.map(Span::s),
            shortest_cycle_s: first.shortest_cycle.map(Span::s),
            short_cycling_spells: first.short_cycling.count,
            short_cycling_minutes: minutes(first.short_cycling.total),
            low_level_trips: first.low_level_trips.count,
            deepest_drawdown_m: first.deepest_drawdown_m,
            mean_pressure_kpa: totals.raw_kpa_s / report.time.s(),
        },
        pressure: Pressure { lowest_kpa: tally.lowest_house_kpa, minutes_below_set: minutes(tally.low_pressure.total) },
        energy: Energy {
            total_kwh: kwh(totals.energy_j()),
            well_pump_kwh: kwh(first_totals.pump_j),
            delivery_kwh: has_store.then(|| kwh(totals.delivery_j)),
            highest_minute_w: tally.highest_tick_w,
        },
        balance: Balance { water_residual_l: report.ledger.residual_l() },
        work: Work { segments: tally.work.segments, steps: tally.work.steps, rejected: tally.work.rejected },
        outlets,
    }
}

fn outlet_summary(first_day: Date, report: &Report, i: usize, outlet: &Outlet) -> OutletSummary {
    let (totals, spells) = (&report.totals.outlets[i], &report.tally.outlets[i]);
    OutletSummary {
        name: outlet.name.clone(),
        role: match outlet.role {
            Role::Building => "building".into(),
            Role::RawLoad => "raw_load".into(),
            Role::Backwash => "backwash".into(),
            Role::Leak => "leak".into(),
        },
        delivered_l: totals.delivered_l,
        short_l: totals.lost_l + report.waiting_l[i],
        run_outs: spells.count,
        run_out_minutes: minutes(spells.total),
        longest_run_out_min: minutes(spells.longest),
        first_run_out_at: spells.first.map(|time| iso(first_day, time)),
    }
}
