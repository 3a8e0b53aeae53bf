//! Electricity of the site: where it came from, what it cost, what each part took; and outages.

use springhouse_scenario::Units;
use springhouse_sim::{EnergyPart, HotWaterSummary, OutageSummary, SiteSummary, names};

use crate::numbers::{Scale, fixed, fuel, kwh, mass, percent, times};
use crate::tune::text::Cells;
use crate::{Run, calendar, tune};

use super::{energy_for_water, push_table};

/// The block of electricity; `None` where it is not followed beyond what parts take. Ends with a newline.
pub(super) fn block(run: &Run<'_>) -> Option<String> {
    let site = run.outcome.summary.energy.site.as_ref()?;
    let mut rows = vec![("Electricity", taken(run, site))];
    rows.extend(sun(site).map(|said| ("Sun", said)));
    rows.extend(own_supply(run, site).map(|said| ("Own supply", said)));
    rows.push(("Grid", grid(site)));
    rows.extend(behind_the_grid(run, site));
    rows.extend(cost(site).map(|said| ("Cost", said)));
    rows.extend(carbon(run.units, site).map(|said| ("CO2", said)));
    rows.extend(for_water(run));
    rows.extend(site.outages.iter().flat_map(|outages| outage_rows(run, outages)));
    let mut text = String::new();
    push_table(&mut text, &rows);
    let parts = parts(run, site);
    if !parts.is_empty() {
        text.push('\n');
        tune::text::push_table(&mut text, &parts);
    }
    Some(text)
}

/// Whether the rest of the house took anything.
fn has_house(site: &SiteSummary) -> bool {
    site.rest_of_house_kwh > 0.0
}

fn taken(run: &Run<'_>, site: &SiteSummary) -> String {
    let plant_kwh = run.outcome.summary.energy.total_kwh;
    if !has_house(site) {
        return kwh(plant_kwh);
    }
    let (all, plant, rest) = (kwh(plant_kwh + site.rest_of_house_kwh), kwh(plant_kwh), kwh(site.rest_of_house_kwh));
    format!("{all}: plant {plant}, rest of the house {rest}")
}

/// What the sun gave, and where it went.
fn sun(site: &SiteSummary) -> Option<String> {
    let share = |part_kwh: f64| percent(part_kwh / site.solar_kwh);
    let mut said = vec![format!("{} used on the site", share(site.used_on_site_kwh))];
    let some = |part_kwh: f64, what: &str| (part_kwh > 0.0).then(|| format!("{} {what}", share(part_kwh)));
    said.extend(some(site.export_kwh, "exported"));
    said.extend(some(site.curtailed_kwh, "lost while the grid was out"));
    (site.solar_kwh > 0.0).then(|| format!("{}: {}", kwh(site.solar_kwh), said.join(", ")))
}

/// How much of what was taken came from the sun.
fn own_supply(run: &Run<'_>, site: &SiteSummary) -> Option<String> {
    let of_site = site.own_supply_share.map(percent)?;
    let plant = site.plant_own_supply_share.filter(|_| has_house(site) && run.outcome.summary.energy.total_kwh > 0.0);
    let what = if has_house(site) { "what plant and house took" } else { "what the plant took" };
    let plant = plant.map_or_else(String::new, |share| format!(", {} of what the plant took", percent(share)));
    Some(format!("{of_site} of {what}{plant}"))
}

fn grid(site: &SiteSummary) -> String {
    let exported = if site.solar_kwh > 0.0 { format!(", {} exported", kwh(site.export_kwh)) } else { String::new() };
    format!("{} imported{exported}", kwh(site.import_kwh))
}

/// Battery and generator.
fn behind_the_grid(run: &Run<'_>, site: &SiteSummary) -> Vec<(&'static str, String)> {
    let mut rows = Vec::new();
    if let (Some(charged), Some(given)) = (site.battery_in_kwh, site.battery_out_kwh) {
        rows.push(("Battery", format!("{} in, {} out", kwh(charged), kwh(given))));
    }
    if let (Some(given), Some(fuel_l)) = (site.generator_kwh, site.generator_fuel_l) {
        let for_fuel = if fuel_l > 0.0 { format!(" for {} of fuel", run.units.volume(fuel_l)) } else { String::new() };
        let said = if given > 0.0 || fuel_l > 0.0 { format!("{}{for_fuel}", kwh(given)) } else { "did not run".into() };
        rows.push(("Generator", said));
    }
    rows
}

/// What all cost; `None` where nothing had a price.
fn cost(site: &SiteSummary) -> Option<String> {
    let priced = [site.cost, site.export_income, site.plant_cost].iter().any(|value| *value != 0.0);
    priced.then(|| format!("{}{}", money(site), of_the_plant(site, &fixed(site.plant_cost, 2))))
}

/// Money, which has no name: what is left to pay, and how that came about.
pub(crate) fn money(site: &SiteSummary) -> String {
    let [left, income, before] =
        [site.cost, site.export_income, site.cost + site.export_income].map(|value| fixed(value, 2));
    if site.export_income == 0.0 { left } else { format!("{left}: {before} less {income} that the grid paid") }
}

/// What it is that takes electricity for all but hot water.
pub(crate) fn pumps(run: &Run<'_>) -> &'static str {
    let lamps = run.outcome.summary.energy.parts.iter().any(|part| part.part == names::LAMPS);
    if lamps { "pumps and lamps" } else { "pumps" }
}

/// What of a sum the parts of the plant have, where they are not alone.
fn of_the_plant(site: &SiteSummary, said: &str) -> String {
    if has_house(site) { format!("; parts of the plant {said}") } else { String::new() }
}

fn carbon(units: Units, site: &SiteSummary) -> Option<String> {
    let plant = of_the_plant(site, &mass(units, site.plant_co2_kg));
    (site.co2_kg > 0.0).then(|| format!("{}{plant}", mass(units, site.co2_kg)))
}

/// Energy for water: that which was delivered, product, and hot water.
fn for_water(run: &Run<'_>) -> Vec<(&'static str, String)> {
    let (summary, units) = (&run.outcome.summary, run.units);
    let mut said = Vec::new();
    let delivered = summary.energy.kwh_per_m3_delivered;
    said.extend(delivered.map(|each| format!("{}: {} delivered", pumps(run), energy_for_water(units, each))));
    let product = summary.membrane.as_ref().and_then(|membrane| membrane.specific_kwh_per_m3);
    said.extend(product.map(|each| format!("membrane unit: {} of product", energy_for_water(units, each))));
    said.extend(summary.hot_water.iter().filter_map(|heater| for_hot_water(units, heater)));
    said.into_iter().enumerate().map(|(line, said)| (if line == 0 { "Energy for water" } else { "" }, said)).collect()
}

/// Electricity and fuel for a litre or gallon of hot water, and what of it came to the taps.
fn for_hot_water(units: Units, heater: &HotWaterSummary) -> Option<String> {
    let volume = Scale::volume(units);
    let each_kwh = heater.kwh_per_l? / volume.value(1.0);
    let burns = heater.fuel_kwh.is_some_and(|kwh| kwh > 0.0);
    let each = if burns { fuel(units, each_kwh, 3) } else { format!("{} kWh", fixed(each_kwh, 3)) };
    let what = if burns { "fuel and electricity" } else { "electricity" };
    let cop = heater
        .season_cop
        .filter(|cop| *cop > 0.0)
        .map_or_else(String::new, |cop| format!("; {} times that as heat at the taps", fixed(cop, 2)));
    Some(format!("{}: {each} of {what} for each {} of hot water{cop}", heater.heater, volume.unit))
}

/// Who fed the site while the grid was out, what went without, and what is left.
fn outage_rows(run: &Run<'_>, outages: &OutageSummary) -> Vec<(&'static str, String)> {
    let (units, power) = (run.units, &run.scenario.plant.power);
    let hours = |hours: f64| units.duration(3_600.0 * hours);
    let mut said = vec![format!("{} without the grid", hours(outages.hours))];
    said.extend(fed_by(outages, hours));
    let mut lines = vec![said.join(": ")];
    let first = outages.first_dark_at.as_deref().filter(|_| power.has_backup());
    lines.extend(first.map(|at| format!("first without any power on {}", calendar::spoken_iso(at))));
    let shed = [("water heaters", outages.heaters_shed_hours), ("the membrane unit", outages.membrane_shed_hours)];
    let shed =
        shed.into_iter().filter(|(_, shed)| *shed > 0.0).map(|(what, shed)| format!("{what} for {}", hours(shed)));
    let shed: Vec<String> = shed.collect();
    if !shed.is_empty() {
        lines.push(format!("put off by overloads: {}", shed.join(", ")));
    }
    if outages.trips > 0 {
        lines.push(format!("tripped {}: pumps alone were too much", times(outages.trips)));
    }
    if let (Some(lowest), Some(at)) = (outages.battery_lowest_kwh, &outages.battery_lowest_at) {
        lines.push(format!("battery at its lowest on {}: {}", calendar::spoken_iso(at), kwh(lowest)));
    }
    let left = outages.fuel_left_l.filter(|_| outages.generator_hours > 0.0);
    lines.extend(left.map(|left_l| format!("{} of fuel left", units.volume(left_l))));
    lines.into_iter().enumerate().map(|(line, said)| (if line == 0 { "Outages" } else { "" }, said)).collect()
}

fn fed_by(outages: &OutageSummary, hours: impl Fn(f64) -> String) -> Option<String> {
    let fed = [
        (outages.battery_hours, "by the battery"),
        (outages.generator_hours, "by the generator"),
        (outages.dark_hours, "by nobody"),
    ];
    let fed: Vec<String> =
        fed.into_iter().filter(|(fed, _)| *fed > 0.0).map(|(fed, by)| format!("{} {by}", hours(fed))).collect();
    (!fed.is_empty()).then(|| format!("fed {}", fed.join(", ")))
}

/// A column of the table of parts: its head, its value of a part, and how that is said.
type Column<'a> = (&'static str, &'a dyn Fn(&EnergyPart) -> Option<f64>, &'a dyn Fn(f64) -> String);

/// What each part took, what of that was the site's own, what the rest cost and gave off. A column of nothing but zeros is left
/// out; without any but that of all electricity there is no table.
fn parts(run: &Run<'_>, site: &SiteSummary) -> Vec<Cells> {
    let parts = &run.outcome.summary.energy.parts;
    let two = |value: f64| fixed(value, 2);
    let has_sun = site.solar_kwh > 0.0;
    let columns: [Column<'_>; 5] = [
        ("kWh", &|part| Some(part.kwh), &two),
        ("of it own", &|part| part.own_kwh.filter(|_| has_sun), &two),
        ("fuel", &|part| part.fuel_kwh, &|value| fuel(run.units, value, 1)),
        ("cost", &|part| part.cost, &two),
        ("CO2", &|part| part.co2_kg, &|value| mass(run.units, value)),
    ];
    let told = columns.into_iter().filter(|(_, of, _)| parts.iter().filter_map(of).any(|value| value != 0.0));
    let told: Vec<Column<'_>> = told.collect();
    if told.len() < 2 {
        return Vec::new();
    }
    let head = core::iter::once(String::new()).chain(told.iter().map(|(name, ..)| (*name).to_owned())).collect();
    let line = |part: &EnergyPart| -> Cells {
        let cells = told.iter().map(|(_, of, say)| of(part).map_or_else(|| "-".to_owned(), say));
        core::iter::once(part.part.clone()).chain(cells).collect()
    };
    core::iter::once(head).chain(parts.iter().map(line)).collect()
}
