//! The figures of each heater, and of each room that heaters stand in.

use jiff::civil::Date;
use serde::Serialize;
use springhouse_core::engine::Report;
use springhouse_core::heater::Source;
use springhouse_core::hot_water::HeaterPlace;
use springhouse_core::hot_water::follow::HeaterRun;
use springhouse_core::plant::Plant;

use super::{iso, kwh};
use crate::lukewarm::Lukewarm;

/// One water heater. What its kind lacks has no key.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct HotWaterSummary {
    /// Its name.
    pub heater: String,
    /// The building that it serves.
    pub building: String,
    /// Hot water that left its tank for taps.
    pub delivered_l: f64,
    /// Heat that reached the taps, over the cold water of the moment.
    pub at_taps_kwh: f64,
    /// Heat that tank and pipe hold at the end over that at the start.
    pub gained_kwh: f64,
    /// Time in which some tap was lukewarm.
    pub lukewarm_minutes: f64,
    /// How often that began.
    pub lukewarm_spells: u64,
    /// When the first began, ISO 8601.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub first_lukewarm_at: Option<String>,
    /// The longest of it.
    pub longest_lukewarm_min: f64,
    /// When that began, ISO 8601.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub longest_lukewarm_at: Option<String>,
    /// The longest spells, [`MOST_SPELLS`] at most, in order of time.
    pub spells: Vec<LukewarmSummary>,
    /// Lowest temperature at its outlet.
    pub lowest_outlet_c: f64,
    /// Longest time from a call for heat until none was left.
    pub recovery_h: f64,
    /// Starts of the compressor.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub compressor_starts: Option<u64>,
    /// Starts of an element, or of the burner.
    pub element_starts: u64,
    /// Electricity of compressor and fan.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub compressor_kwh: Option<f64>,
    /// Electricity of elements.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub element_kwh: Option<f64>,
    /// Electricity of controls and of the pump of a loop.
    pub other_kwh: f64,
    /// Fuel burned, by its upper heating value.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub fuel_kwh: Option<f64>,
    /// Heat of the compressor over its electricity and its fan's; no key where it never ran.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub cop: Option<f64>,
    /// Heat that reached the taps, and what tank and pipe hold more than at the start, over the electricity and fuel of all the heater
    /// with its loop's pump; no key where it took none.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub season_cop: Option<f64>,
    /// Electricity and fuel for each litre of hot water; no key where none left it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub kwh_per_l: Option<f64>,
    /// Time for which the compressor waited for air that suits it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub air_wait_hours: Option<f64>,
    /// Heat lost by tank and flue.
    pub standby_kwh: f64,
    /// Heat lost by the pipe to the fixtures.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub pipe_loss_kwh: Option<f64>,
    /// Water that ran off while somebody waited for the pipe to get hot.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub waited_l: Option<f64>,
    /// Time for which some of its water, in tank or pipe, was at 0 °C or under; no key where it never was.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub frozen_hours: Option<f64>,
    /// Hot water over 49 °C that came to a tap.
    pub scalding_l: f64,
    /// Litre-hours between 25 and 45 °C above the zone of the inlet, where Legionella grows.
    pub growth_l_h: f64,
    /// Time for which the outlet was cooler than 60 °C.
    pub cool_outlet_hours: f64,
    /// The longest such time without a pause.
    pub longest_cool_outlet_h: f64,
}

/// A time of lukewarm water.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct LukewarmSummary {
    /// When it began, ISO 8601,
    pub from: String,
    /// and when it was over.
    pub until: String,
    /// How long the water ran lukewarm.
    pub minutes: f64,
    /// The coolest of it.
    pub coolest_c: f64,
    /// Who met it, by name.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub who: Vec<String>,
}

/// A room that heaters stand in.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct RoomSummary {
    /// Its name.
    pub room: String,
    /// Its lowest temperature,
    pub lowest_c: f64,
    /// and the highest.
    pub highest_c: f64,
    /// Sensible heat that compressors took from its air,
    pub sensible_kwh: f64,
    /// latent heat,
    pub latent_kwh: f64,
    /// and the water that ran off their coils.
    pub condensate_l: f64,
}

/// The most spells that are told one by one.
pub const MOST_SPELLS: usize = 20;

pub(super) fn heaters(plant: &Plant, first_day: Date, report: &Report, lukewarm: &[Lukewarm]) -> Vec<HotWaterSummary> {
    let each = plant.hot_water.heaters.iter().zip(&report.hot_water.heaters).enumerate();
    each.map(|(i, (place, run))| {
        let found: Vec<&Lukewarm> = lukewarm.iter().filter(|it| it.heater == i).collect();
        let first_lukewarm_at = found.first().map(|it| iso(first_day, it.spell.start));
        HotWaterSummary { first_lukewarm_at, spells: spells(first_day, found), ..heater(plant, first_day, place, run) }
    })
    .collect()
}

fn heater(plant: &Plant, first_day: Date, place: &HeaterPlace, run: &HeaterRun) -> HotWaterSummary {
    let totals = &run.totals;
    let (has_compressor, has_elements, burns) = match place.heater.source {
        Source::HeatPump(..) => (true, true, false),
        Source::Electric(_) => (false, true, false),
        Source::Fuel(_) => (false, false, true),
    };
    let taken_j = totals.electric_j() + totals.fuel_j;
    HotWaterSummary {
        heater: place.name.clone(),
        building: plant.outlets.get(place.outlet).map_or_else(String::new, |outlet| outlet.name.clone()),
        delivered_l: totals.taken_l,
        at_taps_kwh: kwh(totals.at_taps_j),
        gained_kwh: kwh(run.gained_j()),
        lukewarm_minutes: totals.lukewarm_s / 60.0,
        lukewarm_spells: totals.spells,
        first_lukewarm_at: None,
        longest_lukewarm_min: totals.longest.seconds / 60.0,
        longest_lukewarm_at: (totals.spells > 0).then(|| iso(first_day, totals.longest.start)),
        spells: Vec::new(),
        lowest_outlet_c: totals.lowest_outlet_c,
        recovery_h: totals.longest_heating_s / 3_600.0,
        compressor_starts: has_compressor.then_some(totals.compressor_starts),
        element_starts: totals.element_starts,
        compressor_kwh: has_compressor.then(|| kwh(totals.compressor_j)),
        element_kwh: has_elements.then(|| kwh(totals.element_j)),
        other_kwh: kwh(totals.other_j),
        fuel_kwh: burns.then(|| kwh(totals.fuel_j)),
        cop: totals.cop(),
        season_cop: (taken_j > 0.0).then(|| (totals.at_taps_j + run.gained_j()) / taken_j),
        kwh_per_l: (totals.taken_l > 0.0).then(|| kwh(taken_j) / totals.taken_l),
        air_wait_hours: has_compressor.then_some(totals.air_wait_s / 3_600.0),
        standby_kwh: kwh(totals.standby_j),
        pipe_loss_kwh: place.pipe.as_ref().map(|_| kwh(totals.pipe_loss_j)),
        waited_l: place.pipe.as_ref().map(|_| totals.waited_l),
        frozen_hours: Some(totals.frozen_s / 3_600.0).filter(|hours| *hours > 0.0),
        scalding_l: totals.scalding_l,
        growth_l_h: totals.growth_l_s / 3_600.0,
        cool_outlet_hours: totals.cool_outlet_s / 3_600.0,
        longest_cool_outlet_h: totals.longest_cool_s / 3_600.0,
    }
}

/// The longest of some spells, in order of time.
fn spells(first_day: Date, mut found: Vec<&Lukewarm>) -> Vec<LukewarmSummary> {
    found.sort_by(|a, b| b.spell.seconds.total_cmp(&a.spell.seconds));
    found.truncate(MOST_SPELLS);
    found.sort_by_key(|it| it.spell.start);
    let told = found.into_iter().map(|it| LukewarmSummary {
        from: iso(first_day, it.spell.start),
        until: iso(first_day, it.spell.end),
        minutes: it.spell.seconds / 60.0,
        coolest_c: it.spell.coolest_c,
        who: it.who.clone(),
    });
    told.collect()
}

pub(super) fn rooms(plant: &Plant, report: &Report) -> Vec<RoomSummary> {
    let each = plant.hot_water.rooms.iter().zip(&report.hot_water.rooms);
    let told = each.map(|(place, run)| RoomSummary {
        room: place.name.clone(),
        lowest_c: run.totals.lowest_c,
        highest_c: run.totals.highest_c,
        sensible_kwh: kwh(run.totals.sensible_j),
        latent_kwh: kwh(run.totals.latent_j),
        condensate_l: run.totals.condensate_kg,
    });
    told.collect()
}

/// The largest rest in the books of heat of a heater, kWh; `None` without one.
pub(super) fn residual_kwh(report: &Report) -> Option<f64> {
    let residuals = report.hot_water.heaters.iter().map(|heater| kwh(heater.residual_j()));
    residuals.max_by(|a, b| a.abs().total_cmp(&b.abs()))
}
