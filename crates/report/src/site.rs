//! Electricity of the site along a run: its money, and its carbon dioxide.

use springhouse_core::power::SiteFlows;
use springhouse_scenario::energy::Fuel;
use springhouse_sim::{Day, HeaterEnergy, Row, heater_fuel};

use crate::Run;
use crate::numbers::J_PER_KWH;

/// What adds up to the cost of a run, or to its carbon dioxide: by electricity, by the fuel of heaters, and by the day.
pub(crate) struct Account {
    of_flows: fn(&SiteFlows) -> f64,
    /// By heater, for each kilowatt hour that it burns.
    by_fuel_kwh: Vec<f64>,
    by_day: f64,
}

impl Account {
    /// Money, less what the grid paid.
    pub(crate) fn cost(run: &Run<'_>) -> Self {
        let by_day = run.scenario.energy.as_ref().map_or(0.0, |energy| energy.tariff.fixed_per_day);
        Self { of_flows: SiteFlows::cost, by_fuel_kwh: by_fuel(run, |fuel| fuel.per_kwh.unwrap_or(0.0)), by_day }
    }

    /// Carbon dioxide, kg.
    pub(crate) fn co2_kg(run: &Run<'_>) -> Self {
        Self { of_flows: |flows| flows.co2_kg, by_fuel_kwh: by_fuel(run, |fuel| fuel.kg_per_kwh), by_day: 0.0 }
    }

    /// Since the run began; the price of a day is spread over it.
    pub(crate) fn so_far(&self, row: &Row) -> f64 {
        let fuels = row.hot_water.heaters.iter().map(|heater| heater.taken);
        (self.of_flows)(&row.totals.site) + self.of_fuels(fuels) + self.by_day * row.time.s() / 86_400.0
    }

    /// In a day.
    pub(crate) fn of_day(&self, day: &Day) -> f64 {
        (self.of_flows)(&day.totals.site) + self.of_fuels(day.heaters.iter().copied()) + self.by_day
    }

    fn of_fuels(&self, taken: impl Iterator<Item = HeaterEnergy>) -> f64 {
        let each = taken.zip(&self.by_fuel_kwh).map(|(taken, each)| taken.fuel_j / J_PER_KWH * each);
        each.fold(0.0, |sum, value| sum + value)
    }
}

fn by_fuel(run: &Run<'_>, of: fn(Fuel) -> f64) -> Vec<f64> {
    let heaters = 0..run.scenario.plant.hot_water.heaters.len();
    heaters.map(|heater| heater_fuel(run.scenario, heater).map_or(0.0, of)).collect()
}
