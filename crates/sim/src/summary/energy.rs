//! The figures of electricity and fuel: what each part took, where it came from, what it cost.

use serde::Serialize;
use springhouse_core::engine::{OutageBooks, PartBooks, PowerBooks, Report};
use springhouse_core::heater::Source;
use springhouse_core::outlet::Role;
use springhouse_core::power::SiteFlows;
use springhouse_scenario::energy::Fuel;
use springhouse_scenario::{HeaterKind, Scenario};

use super::{first_well, iso, kwh};
use crate::names;
use crate::run::RunOptions;

/// Electric energy, and where it is known what it is made of and what it costs.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Energy {
    /// All parts.
    pub total_kwh: f64,
    /// The first well's pump.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub well_pump_kwh: Option<f64>,
    /// The pump of the membrane unit.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub membrane_pump_kwh: Option<f64>,
    /// The delivery pump and its drive.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub delivery_kwh: Option<f64>,
    /// Water heaters and the pumps of their loops.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub heaters_kwh: Option<f64>,
    /// Pumps and lamps for each cubic metre that came to buildings and raw loads; heaters are told by the litre.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub kwh_per_m3_delivered: Option<f64>,
    /// By part: pumps of supplies, membrane pump, delivery pump, ultraviolet lamps, water heaters.
    pub parts: Vec<EnergyPart>,
    /// Largest mean power of all parts over one minute of the slow clock.
    pub highest_minute_w: f64,
    /// Sun, grid, battery, generator and money.
    #[serde(flatten, skip_serializing_if = "Option::is_none")]
    pub site: Option<SiteSummary>,
}

/// Energy of one part.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct EnergyPart {
    /// Its name.
    pub part: String,
    /// Electricity.
    pub kwh: f64,
    /// Fuel of a burner, by its upper heating value.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub fuel_kwh: Option<f64>,
    /// Electricity that came from the sun, straight or through the battery.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub own_kwh: Option<f64>,
    /// Money for the rest of it, and for its fuel.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub cost: Option<f64>,
    /// Carbon dioxide of both.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub co2_kg: Option<f64>,
}

/// What the energy of a site is made of, up to the last full minute. Plant and the rest of the house together, unless the key says
/// otherwise.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct SiteSummary {
    /// From the panels, taken or not.
    pub solar_kwh: f64,
    /// What of that was used on the site, or kept there in the battery.
    pub used_on_site_kwh: f64,
    /// What of it went to the grid,
    pub export_kwh: f64,
    /// and what nobody could take, in outages.
    pub curtailed_kwh: f64,
    /// From the grid.
    pub import_kwh: f64,
    /// In the battery when the run starts,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub battery_start_kwh: Option<f64>,
    /// and at its end.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub battery_end_kwh: Option<f64>,
    /// Into the battery,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub battery_in_kwh: Option<f64>,
    /// and out of it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub battery_out_kwh: Option<f64>,
    /// From the generator,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub generator_kwh: Option<f64>,
    /// for so much fuel.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub generator_fuel_l: Option<f64>,
    /// What the rest of the house took.
    pub rest_of_house_kwh: f64,
    /// Part of the sun's energy that was used on the site; no key without sun.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub own_use_share: Option<f64>,
    /// Part of what plant and house took that came from the sun.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub own_supply_share: Option<f64>,
    /// The same of the plant alone.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub plant_own_supply_share: Option<f64>,
    /// Money for electricity and fuel, less what the grid paid; the fixed price of days with it.
    pub cost: f64,
    /// What the grid paid.
    pub export_income: f64,
    /// Money of the plant's parts.
    pub plant_cost: f64,
    /// Carbon dioxide of grid, generator and burners.
    pub co2_kg: f64,
    /// That of the plant's parts.
    pub plant_co2_kg: f64,
    /// By quarter of the year, from the one that begins with December; no key without sun.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub by_season: Vec<SeasonEnergy>,
    /// Outages; no key where there were none.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub outages: Option<OutageSummary>,
}

/// The shares of a quarter of the year.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct SeasonEnergy {
    /// Its months.
    pub season: &'static str,
    /// From the panels.
    pub solar_kwh: f64,
    /// What plant and house took.
    pub load_kwh: f64,
    /// As for the run.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub own_use_share: Option<f64>,
    /// As for the run.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub own_supply_share: Option<f64>,
    /// The same by hour of the day, from midnight; `null` in hours without sun.
    pub own_use_by_hour: Vec<Option<f64>>,
    /// The same by hour of the day.
    pub own_supply_by_hour: Vec<Option<f64>>,
}

/// Time without the grid.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct OutageSummary {
    /// In all;
    pub hours: f64,
    /// fed by the battery,
    pub battery_hours: f64,
    /// by the generator,
    pub generator_hours: f64,
    /// or by nobody.
    pub dark_hours: f64,
    /// When nobody fed for the first time, ISO 8601.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub first_dark_at: Option<String>,
    /// With heaters put off by an overload.
    pub heaters_shed_hours: f64,
    /// With the membrane unit put off by one.
    pub membrane_shed_hours: f64,
    /// Times that pumps alone were too much for battery or generator.
    pub trips: u64,
    /// Taken in the last minutes of a battery that had no more to give; no key where there was none.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub short_kwh: Option<f64>,
    /// Least in the battery, in the whole run.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub battery_lowest_kwh: Option<f64>,
    /// When, ISO 8601.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub battery_lowest_at: Option<String>,
    /// Fuel left in the generator's tank, where it has an end.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub fuel_left_l: Option<f64>,
}

/// The quarters of [`SiteSummary::by_season`].
const SEASONS: [&str; 4] = ["December to February", "March to May", "June to August", "September to November"];

pub(super) fn energy(scenario: &Scenario, options: &RunOptions, report: &Report) -> Energy {
    let (plant, totals) = (&scenario.plant, &report.totals);
    let parts = parts(scenario, report);
    let has_pump = plant.membrane.as_ref().is_some_and(|membrane| membrane.unit.pump.is_some());
    let came = |(i, role): (usize, Role)| {
        let counts = matches!(role, Role::Building | Role::RawLoad);
        if counts { totals.outlets[i].delivered_l / 1_000.0 } else { 0.0 }
    };
    let roles = plant.outlets.iter().map(|outlet| outlet.role).enumerate();
    let delivered_m3: f64 = roles.map(came).sum();
    let pumped_kwh = kwh(totals.energy_j() - totals.heaters_j);
    Energy {
        total_kwh: kwh(totals.energy_j()),
        well_pump_kwh: first_well(scenario).map(|i| kwh(totals.supplies[i].pump_j)),
        membrane_pump_kwh: has_pump.then(|| kwh(totals.membrane.pump_j)),
        delivery_kwh: plant.store.as_ref().map(|_| kwh(totals.delivery_j)),
        heaters_kwh: (!plant.hot_water.is_empty()).then(|| kwh(totals.heaters_j)),
        kwh_per_m3_delivered: (delivered_m3 > 0.0).then(|| pumped_kwh / delivered_m3),
        highest_minute_w: report.tally.highest_tick_w,
        site: report.power.as_ref().map(|books| site(scenario, options, (report, books))),
        parts,
    }
}

/// Every part that takes energy.
fn parts(scenario: &Scenario, report: &Report) -> Vec<EnergyPart> {
    let (plant, totals, books) = (&scenario.plant, &report.totals, report.power.as_ref());
    let part = |part: String, energy_j: f64, of: Option<PartBooks>| EnergyPart {
        part,
        kwh: kwh(energy_j),
        fuel_kwh: None,
        own_kwh: of.map(|of| kwh(of.own_j)),
        cost: of.map(|of| of.cost),
        co2_kg: of.map(|of| of.co2_kg),
    };
    let pumps = plant.supplies.iter().enumerate().filter(|(_, supply)| supply.source.pump().is_some());
    let pump = |(i, _)| part(names::pump(plant, i), totals.supplies[i].pump_j, books.map(|books| books.supply(i)));
    let mut parts: Vec<EnergyPart> = pumps.map(pump).collect();
    if plant.membrane.as_ref().is_some_and(|membrane| membrane.unit.pump.is_some()) {
        parts.push(part(names::MEMBRANE_PUMP.into(), totals.membrane.pump_j, books.map(PowerBooks::membrane)));
    }
    if plant.store.is_some() {
        parts.push(part(names::DELIVERY_PUMP.into(), totals.delivery_j, books.map(PowerBooks::delivery)));
    }
    if plant.stages.iter().any(|stage| stage.ultraviolet().is_some()) {
        parts.push(part(names::LAMPS.into(), totals.lamps_j, books.map(PowerBooks::lamps)));
    }
    for (i, (place, run)) in plant.hot_water.heaters.iter().zip(&report.hot_water.heaters).enumerate() {
        let of = books.and_then(|books| books.heaters().get(i)).copied();
        let mut heater = part(place.name.clone(), run.totals.electric_j(), of);
        if matches!(place.heater.source, Source::Fuel(_)) {
            let (burned_kwh, fuel) = (kwh(run.totals.fuel_j), heater_fuel(scenario, i));
            heater.fuel_kwh = Some(burned_kwh);
            // Without a price for its fuel nothing is known of what it costs.
            let per_kwh = fuel.and_then(|fuel| fuel.per_kwh);
            heater.cost = heater.cost.zip(per_kwh).map(|(cost, per_kwh)| cost + burned_kwh * per_kwh);
            heater.co2_kg = heater.co2_kg.zip(fuel).map(|(co2_kg, fuel)| co2_kg + burned_kwh * fuel.kg_per_kwh);
        }
        parts.push(heater);
    }
    parts
}

/// What a heater burns; `None` of an electric one, and where nothing is known of fuels.
#[must_use]
pub fn heater_fuel(scenario: &Scenario, heater: usize) -> Option<Fuel> {
    let fuels = scenario.energy.as_ref()?.fuels;
    match scenario.heater_plates.get(heater)?.kind {
        HeaterKind::HeatPump | HeaterKind::Electric => None,
        HeaterKind::Gas => Some(fuels.gas),
        HeaterKind::Propane => Some(fuels.propane),
    }
}

fn site(scenario: &Scenario, options: &RunOptions, (report, books): (&Report, &PowerBooks)) -> SiteSummary {
    let (flows, power) = (&report.totals.site, &scenario.plant.power);
    let (mut burned_cost, mut burned_kg) = (0.0, 0.0);
    for (i, run) in report.hot_water.heaters.iter().enumerate() {
        if let Some(fuel) = heater_fuel(scenario, i) {
            burned_cost += kwh(run.totals.fuel_j) * fuel.per_kwh.unwrap_or(0.0);
            burned_kg += kwh(run.totals.fuel_j) * fuel.kg_per_kwh;
        }
    }
    let fixed = scenario.energy.as_ref().map_or(0.0, |energy| energy.tariff.fixed_per_day) * f64::from(options.days);
    let has_sun = flows.solar_j > 0.0;
    let own_j: f64 = books.parts.iter().map(|part| part.own_j).sum();
    let generator = power.generator.as_ref();
    SiteSummary {
        solar_kwh: kwh(flows.solar_j),
        used_on_site_kwh: kwh(flows.used_on_site_j()),
        export_kwh: kwh(flows.exported_j),
        curtailed_kwh: kwh(flows.curtailed_j),
        import_kwh: kwh(flows.import_j()),
        battery_start_kwh: power.battery.map(|battery| kwh(battery.start_share * battery.capacity_j)),
        battery_end_kwh: power.battery.map(|_| kwh(books.charge.energy_j)),
        battery_in_kwh: power.battery.map(|_| kwh(flows.charged_j + flows.topped_up_j)),
        battery_out_kwh: power.battery.map(|_| kwh(flows.discharged_j)),
        generator_kwh: generator.map(|_| kwh(flows.generated_j)),
        generator_fuel_l: generator.map(|_| flows.fuel_l),
        rest_of_house_kwh: kwh(flows.other_j),
        own_use_share: flows.own_use_share(),
        own_supply_share: flows.own_supply_share().filter(|_| has_sun),
        plant_own_supply_share: (has_sun && flows.plant_j > 0.0).then(|| own_j / flows.plant_j),
        cost: flows.cost() + fixed + burned_cost,
        export_income: flows.export_income,
        plant_cost: books.parts.iter().map(|part| part.cost).sum::<f64>() + burned_cost,
        co2_kg: flows.co2_kg + burned_kg,
        plant_co2_kg: books.parts.iter().map(|part| part.co2_kg).sum::<f64>() + burned_kg,
        by_season: if has_sun { by_season(books) } else { Vec::new() },
        outages: (books.outages.out_s > 0.0).then(|| outages(scenario, options, (flows, books))),
    }
}

fn by_season(books: &PowerBooks) -> Vec<SeasonEnergy> {
    let share = |part_j: f64, whole_j: f64| (whole_j > 0.0).then(|| part_j / whole_j);
    let season = |(season, hours): (&'static str, &[springhouse_core::engine::HourBooks; 24])| {
        let sum = |of: fn(&springhouse_core::engine::HourBooks) -> f64| hours.iter().map(of).sum::<f64>();
        let (solar_j, load_j) = (sum(|hour| hour.solar_j), sum(|hour| hour.load_j));
        (solar_j + load_j > 0.0).then(|| SeasonEnergy {
            season,
            solar_kwh: kwh(solar_j),
            load_kwh: kwh(load_j),
            own_use_share: share(sum(|hour| hour.used_j), solar_j),
            own_supply_share: share(sum(|hour| hour.own_j), load_j),
            own_use_by_hour: hours.iter().map(|hour| share(hour.used_j, hour.solar_j)).collect(),
            own_supply_by_hour: hours.iter().map(|hour| share(hour.own_j, hour.load_j)).collect(),
        })
    };
    SEASONS.into_iter().zip(&books.hours).filter_map(season).collect()
}

fn outages(scenario: &Scenario, options: &RunOptions, (flows, books): (&SiteFlows, &PowerBooks)) -> OutageSummary {
    let hours = |seconds: f64| seconds / 3_600.0;
    let OutageBooks { out_s, battery_s, generator_s, dark_s, first_dark, .. } = books.outages;
    let power = &scenario.plant.power;
    OutageSummary {
        hours: hours(out_s),
        battery_hours: hours(battery_s),
        generator_hours: hours(generator_s),
        dark_hours: hours(dark_s),
        first_dark_at: first_dark.map(|time| iso(options.first_day, time)),
        heaters_shed_hours: hours(books.outages.shed_heaters_s),
        membrane_shed_hours: hours(books.outages.shed_membrane_s),
        trips: books.outages.trips,
        short_kwh: Some(kwh(flows.short_j)).filter(|short_kwh| *short_kwh > 0.0),
        battery_lowest_kwh: power.battery.map(|_| kwh(books.lowest_stored_j)),
        battery_lowest_at: power.battery.map(|_| iso(options.first_day, books.lowest_stored_at)),
        fuel_left_l: power.generator.and_then(|generator| generator.fuel_l).map(|_| books.fuel_left_l),
    }
}

/// The rest in the books of electricity, kWh; `None` where they are not kept.
pub(super) fn residual_kwh(report: &Report) -> Option<f64> {
    report.power.as_ref().map(|_| kwh(SiteFlows::residual_j(&report.totals.site)))
}
