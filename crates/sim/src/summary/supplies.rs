//! The figures of each supply.

use jiff::civil::Date;
use serde::Serialize;
use springhouse_core::basin::BasinKind;
use springhouse_core::engine::{OpenTally, Report};
use springhouse_core::observe::SupplyTotals;
use springhouse_core::supply::{Source, Supply};
use springhouse_core::time::Span;
use springhouse_scenario::Scenario;

use super::{SALT, iso, kwh};

/// One supply. What its kind lacks has no key: a town line has no pump, only a basin spills.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct SupplySummary {
    /// Its name.
    pub name: String,
    /// `well`, `cistern`, `pond` or `town_line`.
    pub kind: String,
    /// Whether it feeds only after a change-over.
    pub standby: bool,
    /// Water given to the raw header.
    pub given_l: f64,
    /// Water from outside: from the aquifer, off a roof, with rain and runoff, from the main.
    pub inflow_l: f64,
    /// Water let into a basin from the raw header, where it has a valve for that.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub topped_up_l: Option<f64>,
    /// Water that the membrane unit gave to a basin: reject, flushes and product to waste.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub returned_l: Option<f64>,
    /// Water that leaked back through the check valve, where some did.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub leaked_back_l: Option<f64>,
    /// Water that ran over a basin's brim.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub spilled_l: Option<f64>,
    /// A basin under the open sky, where the weather is known.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub open_water: Option<OpenWaterSummary>,
    /// Starts of its pump.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub starts: Option<u64>,
    /// Most starts in one calendar day.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub most_starts_in_a_day: Option<u64>,
    /// Hours the pump ran, or the main was connected.
    pub run_hours: f64,
    /// Shortest run from start to stop.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub shortest_run_s: Option<f64>,
    /// Runs shorter than a minute.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub short_runs: Option<u64>,
    /// Spells of short-cycling.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub short_cycling_spells: Option<u64>,
    /// Times the low-level cut-off stopped the pump.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub low_level_trips: Option<u64>,
    /// Deepest drawdown of a well.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub deepest_drawdown_m: Option<f64>,
    /// Least water in a basin.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub lowest_l: Option<f64>,
    /// When, ISO 8601.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub lowest_at: Option<String>,
    /// Water in a basin at the end.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub end_l: Option<f64>,
    /// Salt in its water at the end.
    pub salt_mg_l: f64,
    /// Energy of its pump.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub pump_kwh: Option<f64>,
    /// Price of the water given, in the scenario's money, where it has one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub cost: Option<f64>,
}

/// What the weather made of a basin under the open sky. Extremes are those at full hours.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct OpenWaterSummary {
    /// Rain on it and its banks.
    pub rain_l: f64,
    /// Runoff of its catchment.
    pub runoff_l: f64,
    /// Water that evaporated.
    pub evaporated_l: f64,
    /// Water that seeped away.
    pub seeped_l: f64,
    /// Salt in its water when the run began,
    pub start_salt_mg_l: f64,
    /// and at most.
    pub most_salt_mg_l: f64,
    /// When, ISO 8601.
    pub most_salt_at: String,
    /// Its coldest,
    pub coldest_c: f64,
    /// and its warmest.
    pub warmest_c: f64,
    /// When, ISO 8601.
    pub warmest_at: String,
    /// Hours with ice on it.
    pub ice_hours: u64,
    /// The thickest ice.
    pub thickest_ice_m: f64,
}

fn open_water(supply: &Supply, first_day: Date, totals: &SupplyTotals, open: &OpenTally) -> Option<OpenWaterSummary> {
    (open.hours > 0).then(|| OpenWaterSummary {
        rain_l: totals.rain_l,
        runoff_l: totals.runoff_l,
        evaporated_l: totals.evaporated_l,
        seeped_l: totals.seeped_l,
        start_salt_mg_l: supply.quality.salt_mg_l,
        most_salt_mg_l: open.saltiest_mg_l,
        most_salt_at: iso(first_day, open.saltiest_at),
        coldest_c: open.coldest_c,
        warmest_c: open.warmest_c,
        warmest_at: iso(first_day, open.warmest_at),
        ice_hours: open.ice_hours,
        thickest_ice_m: open.thickest_ice_m,
    })
}

fn kind(source: &Source) -> &'static str {
    match source {
        Source::Well { .. } => "well",
        Source::Basin { basin, .. } => match basin.kind {
            BasinKind::Cistern => "cistern",
            BasinKind::Pond => "pond",
        },
        Source::TownLine(_) => "town_line",
    }
}

pub(super) fn supplies(scenario: &Scenario, first_day: Date, report: &Report) -> Vec<SupplySummary> {
    let reject_to = scenario.plant.membrane.as_ref().and_then(|membrane| membrane.reject_to);
    let each = scenario.plant.supplies.iter().enumerate();
    each.map(|(i, supply)| {
        let (totals, tally) = (&report.totals.supplies[i], &report.tally.supplies[i]);
        let (well, basin) = (supply.source.well(), supply.source.basin());
        let has_pump = supply.source.pump().is_some();
        let price_per_m3 = scenario.prices_per_m3.get(i).copied().flatten();
        SupplySummary {
            name: supply.name.clone(),
            kind: kind(&supply.source).into(),
            standby: supply.standby,
            given_l: totals.pumped_l,
            inflow_l: totals.inflow_l,
            topped_up_l: basin.and_then(|basin| basin.top_up.as_ref()).map(|_| totals.topped_up_l),
            returned_l: (reject_to == Some(i)).then_some(totals.returned_l),
            leaked_back_l: Some(totals.leaked_back_l).filter(|leaked_l| *leaked_l > 0.0),
            spilled_l: basin.map(|_| totals.spilled_l),
            open_water: open_water(supply, first_day, totals, &tally.open),
            starts: has_pump.then_some(tally.starts),
            most_starts_in_a_day: has_pump.then_some(tally.starts_by_day.most),
            run_hours: tally.run.s() / 3_600.0,
            shortest_run_s: tally.shortest_run.map(Span::s),
            short_runs: has_pump.then_some(tally.short_runs),
            short_cycling_spells: has_pump.then_some(tally.short_cycling.count),
            low_level_trips: has_pump.then_some(tally.low_level_trips.count),
            deepest_drawdown_m: well.map(|_| tally.deepest_drawdown_m),
            lowest_l: basin.map(|_| tally.lowest_l),
            lowest_at: basin.map(|_| iso(first_day, tally.lowest_at)),
            end_l: basin.map(|_| report.sources[i]),
            salt_mg_l: report.sources_carry[i][SALT],
            pump_kwh: has_pump.then(|| kwh(totals.pump_j)),
            cost: price_per_m3.map(|price| price * totals.pumped_l / 1_000.0),
        }
    })
    .collect()
}
