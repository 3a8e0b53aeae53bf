//! The figures by which ways are compared, metric.

use serde::Serialize;
use springhouse_sim::{EnergyPart, HotWaterSummary, Summary};
use springhouse_study::compare::{InOutage, Outage, Way};

use crate::numbers::J_PER_KWH;

/// Figures of one way; what it lacks has no key in JSON and an empty cell in CSV.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Figures {
    /// The way.
    pub way: String,
    /// Whether it is what the scenario says.
    pub as_given: bool,
    /// Electricity of the plant.
    pub plant_kwh: f64,
    /// Electricity of its water heaters,
    pub heaters_kwh: Option<f64>,
    /// and what they burned.
    pub fuel_kwh: Option<f64>,
    /// Money for both,
    pub heaters_cost: Option<f64>,
    /// and their carbon dioxide.
    pub heaters_co2_kg: Option<f64>,
    /// Heat at the taps, and that gained in tanks, over electricity and fuel of all heaters.
    pub season_cop: Option<f64>,
    /// Minutes of lukewarm water, over all heaters.
    pub lukewarm_minutes: Option<f64>,
    /// The longest of it.
    pub longest_lukewarm_min: Option<f64>,
    /// The longest recovery of a heater.
    pub recovery_h: Option<f64>,
    /// From the grid to the site.
    pub import_kwh: Option<f64>,
    /// From the sun to the grid.
    pub export_kwh: Option<f64>,
    /// Part of the plant's electricity that came from the sun.
    pub plant_own_supply_share: Option<f64>,
    /// Money for all of the plant.
    pub plant_cost: Option<f64>,
    /// Its carbon dioxide.
    pub plant_co2_kg: Option<f64>,
    /// Money for all of the site, less what the grid paid.
    pub cost: Option<f64>,
    /// Spells in which a building had run out.
    pub run_outs: u64,
    /// Minutes of those spells.
    pub run_out_minutes: f64,
    /// When the first began, ISO 8601.
    pub first_run_out_at: Option<String>,
    /// Water wanted by the buildings that did not come.
    pub short_l: f64,
    /// Least water in storage.
    pub lowest_storage_l: Option<f64>,
    /// Water in storage at the end of the run,
    pub end_storage_l: Option<f64>,
    /// energy in the battery then,
    pub end_battery_kwh: Option<f64>,
    /// and heat in tanks and pipes over that at the start.
    pub heat_gained_kwh: Option<f64>,
    /// Pumps and lamps for each cubic metre delivered.
    pub kwh_per_m3_delivered: Option<f64>,
    /// While the grid was out: hours fed by the battery,
    pub battery_hours: Option<f64>,
    /// by the generator,
    pub generator_hours: Option<f64>,
    /// or by nobody.
    pub dark_hours: Option<f64>,
    /// When nobody fed for the first time, ISO 8601.
    pub first_dark_at: Option<String>,
    /// Times that pumps alone were too much.
    pub trips: Option<u64>,
    /// Fuel that the generator burned.
    pub generator_fuel_l: Option<f64>,
    /// From the outage's begin to the end of the run: minutes for which a building had run out,
    pub run_out_minutes_from_outage: Option<f64>,
    /// and of lukewarm water.
    pub lukewarm_minutes_from_outage: Option<f64>,
    /// Of the outage: water to the buildings,
    pub outage_delivered_l: Option<f64>,
    /// hours that pumps of supplies ran,
    pub outage_supplies_hours: Option<f64>,
    /// hours that the membrane unit made water,
    pub outage_membrane_hours: Option<f64>,
    /// its product,
    pub outage_product_l: Option<f64>,
    /// electricity of water heaters,
    pub outage_heaters_kwh: Option<f64>,
    /// water in storage at its end,
    pub outage_end_storage_l: Option<f64>,
    /// and energy in the battery then.
    pub outage_end_battery_kwh: Option<f64>,
}

impl Figures {
    /// Electricity that would make what is kept at the end.
    pub(super) fn kept_kwh(&self) -> f64 {
        let water = self.end_storage_l.zip(self.kwh_per_m3_delivered).map_or(0.0, |(l, kwh_m3)| l / 1_000.0 * kwh_m3);
        let heat =
            self.heat_gained_kwh.zip(self.season_cop.filter(|cop| *cop > 0.0)).map_or(0.0, |(kwh, cop)| kwh / cop);
        water + heat + self.end_battery_kwh.unwrap_or(0.0)
    }

    pub(super) fn of(way: &Way, outage: Option<Outage>) -> Self {
        let Summary { energy, water, hot_water, outlets, membrane, .. } = &way.summary;
        let is_heater = |part: &&EnergyPart| hot_water.iter().any(|heater| heater.heater == part.part);
        let heater_parts = || energy.parts.iter().filter(is_heater);
        let some = |of: fn(&EnergyPart) -> Option<f64>| {
            let mut found = heater_parts().filter_map(of).peekable();
            found.peek().is_some().then(|| found.sum::<f64>())
        };
        let heated = |of: fn(&HotWaterSummary) -> f64| hot_water.iter().map(of);
        let has_heater = !hot_water.is_empty();
        let most = |of: fn(&HotWaterSummary) -> f64| has_heater.then(|| heated(of).fold(0.0, f64::max));
        let taken_kwh: f64 = heater_parts().map(|part| part.kwh + part.fuel_kwh.unwrap_or(0.0)).sum();
        let at_taps_kwh: f64 = heated(|heater| heater.at_taps_kwh + heater.gained_kwh).sum();
        let site = energy.site.as_ref();
        let outages = site.and_then(|site| site.outages.as_ref()).filter(|_| way.in_outage.is_some());
        let out = |of: fn(&InOutage) -> f64| way.in_outage.as_ref().map(of);
        let first_run_out_at = outlets.iter().filter_map(|outlet| outlet.first_run_out_at.clone()).min();
        Self {
            way: way.name.clone(),
            as_given: way.as_given,
            plant_kwh: energy.total_kwh,
            heaters_kwh: energy.heaters_kwh,
            fuel_kwh: some(|part| part.fuel_kwh),
            heaters_cost: some(|part| part.cost),
            heaters_co2_kg: some(|part| part.co2_kg),
            season_cop: (has_heater && taken_kwh > 0.0).then(|| at_taps_kwh / taken_kwh),
            lukewarm_minutes: has_heater.then(|| heated(|heater| heater.lukewarm_minutes).sum()),
            longest_lukewarm_min: most(|heater| heater.longest_lukewarm_min),
            recovery_h: most(|heater| heater.recovery_h),
            import_kwh: site.map(|site| site.import_kwh),
            export_kwh: site.map(|site| site.export_kwh),
            plant_own_supply_share: site.and_then(|site| site.plant_own_supply_share),
            plant_cost: site.map(|site| site.plant_cost),
            plant_co2_kg: site.map(|site| site.plant_co2_kg),
            cost: site.map(|site| site.cost),
            run_outs: water.run_outs,
            run_out_minutes: water.run_out_minutes,
            first_run_out_at,
            short_l: water.short_l,
            lowest_storage_l: water.lowest_storage_l,
            end_storage_l: way.summary.storage.as_ref().map(|storage| storage.end_l),
            end_battery_kwh: site.and_then(|site| site.battery_end_kwh),
            heat_gained_kwh: has_heater.then(|| heated(|heater| heater.gained_kwh).sum()),
            kwh_per_m3_delivered: energy.kwh_per_m3_delivered,
            battery_hours: outages.map(|outages| outages.battery_hours),
            generator_hours: outages.map(|outages| outages.generator_hours),
            // Without books of the site's electricity there is nothing behind the grid.
            dark_hours: outages.map(|outages| outages.dark_hours).or(outage.map(|outage| outage.length.s() / 3_600.0)),
            first_dark_at: outages.and_then(|outages| outages.first_dark_at.clone()),
            trips: outages.map(|outages| outages.trips),
            generator_fuel_l: site.and_then(|site| site.generator_fuel_l).filter(|_| outages.is_some()),
            run_out_minutes_from_outage: out(|it| it.run_out_s / 60.0),
            lukewarm_minutes_from_outage: out(|it| it.lukewarm_s / 60.0).filter(|_| has_heater),
            outage_delivered_l: out(|it| it.delivered_l),
            outage_supplies_hours: out(|it| it.supplies_run_s / 3_600.0),
            outage_membrane_hours: out(|it| it.membrane_run_s / 3_600.0).filter(|_| membrane.is_some()),
            outage_product_l: out(|it| it.product_l).filter(|_| membrane.is_some()),
            outage_heaters_kwh: out(|it| it.heaters_j / J_PER_KWH).filter(|_| has_heater),
            outage_end_storage_l: way.in_outage.as_ref().and_then(|it| it.storage_l),
            outage_end_battery_kwh: out(|it| it.stored_j / J_PER_KWH)
                .filter(|_| site.is_some_and(|site| site.battery_in_kwh.is_some())),
        }
    }
}
