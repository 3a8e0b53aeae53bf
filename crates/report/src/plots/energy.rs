//! Electricity by day, and which part took it.

use springhouse_core::observe::Totals;
use springhouse_core::plant::Plant;
use springhouse_scenario::Units;
use springhouse_sim::names;

use crate::chart::axis::{TimeAxis, ValueAxis};
use crate::chart::bars::Bars;
use crate::chart::ink::{DELIVERY, HEATERS, LAMPS, MEMBRANE, PUMPS};
use crate::chart::{Area, Look, MARGIN, Page, WIDTH};
use crate::numbers::{J_PER_KWH, Scale, fixed, percent};
use crate::{Run, days, text};

const LEFT: f64 = MARGIN + 42.0;
const RIGHT: f64 = WIDTH - MARGIN - 8.0;
const HEIGHT: f64 = 210.0;
/// An axis that reaches no further would be marked with thousandths.
const LEAST_KWH: f64 = 0.05;

/// A part that takes electricity.
struct Part {
    name: String,
    look: Look,
    /// In each day.
    kwh: Vec<f64>,
}

/// The parts, in the order of the summary; all water heaters are one.
fn parts(run: &Run<'_>) -> Vec<Part> {
    let plant: &Plant = &run.scenario.plant;
    let part = |name: String, look: Look, taken_j: &dyn Fn(&Totals) -> f64| Part {
        name,
        look,
        kwh: days::gained(run, |totals| taken_j(totals) / J_PER_KWH),
    };
    let pumped = plant.supplies.iter().enumerate().filter(|(_, supply)| supply.source.pump().is_some());
    let mut parts: Vec<Part> = pumped
        .zip(PUMPS)
        .map(|((i, _), look)| {
            part(names::pump(plant, i), look, &|totals| totals.supplies.get(i).map_or(0.0, |supply| supply.pump_j))
        })
        .collect();
    if plant.membrane.as_ref().is_some_and(|membrane| membrane.unit.pump.is_some()) {
        parts.push(part(names::MEMBRANE_PUMP.to_owned(), MEMBRANE, &|totals| totals.membrane.pump_j));
    }
    if plant.store.is_some() {
        parts.push(part(names::DELIVERY_PUMP.to_owned(), DELIVERY, &|totals| totals.delivery_j));
    }
    if plant.stages.iter().any(|stage| stage.ultraviolet().is_some()) {
        parts.push(part(names::LAMPS.to_owned(), LAMPS, &|totals| totals.lamps_j));
    }
    let name = match plant.hot_water.heaters.as_slice() {
        [] => return parts,
        [one] => one.name.clone(),
        _ => "water heaters".to_owned(),
    };
    parts.push(part(name, HEATERS, &|totals| totals.heaters_j));
    parts
}

pub(super) fn page(run: &Run<'_>) -> Page {
    let mut page = Page::new(&title(run), &text::subject(run));
    let parts = parts(run);
    if parts.iter().flat_map(|part| &part.kwh).all(|kwh| *kwh <= 0.0) {
        return page;
    }
    let axis = TimeAxis { left: LEFT, right: RIGHT, first_day: run.first_day, days: run.outcome.summary.days };
    let bars = Bars::new(&axis);
    page.y += 12.0;
    page.heading(&format!("Electricity, kWh {}", bars.each.per()));
    page.y += 4.0;
    let stacked: Vec<(Look, Vec<f64>)> = parts.iter().map(|part| (part.look, bars.sums(&part.kwh))).collect();
    let area = Area::new(LEFT, page.y, RIGHT, page.y + HEIGHT);
    let values = ValueAxis::up(area, tallest(&stacked).max(LEAST_KWH));
    values.grid(&mut page);
    bars.stack(&mut page, &values, &stacked);
    page.y = area.bottom;
    axis.day_labels(&mut page);
    page.y += 4.0;
    key(&mut page, &parts);
    if run.outcome.summary.water.raw_loads_l.is_some() {
        page.paragraph("Delivered is what came to buildings and raw loads.");
    }
    page
}

fn tallest(stacked: &[(Look, Vec<f64>)]) -> f64 {
    let bars = stacked.iter().map(|(_, values)| values.len()).max().unwrap_or(0);
    let height = |bar: usize| stacked.iter().filter_map(|(_, values)| values.get(bar)).sum::<f64>();
    (0..bars).map(height).fold(0.0, f64::max)
}

/// What each part took, in the order they stand on each other.
fn key(page: &mut Page, parts: &[Part]) {
    let taken = |part: &Part| part.kwh.iter().sum::<f64>();
    let total: f64 = parts.iter().map(taken).sum();
    for part in parts.iter().rev() {
        let said = match taken(part) {
            none if none <= 0.0 => "none".to_owned(),
            some if parts.len() == 1 => kwh(some),
            some => format!("{}, {}", kwh(some), percent(some / total)),
        };
        page.key(&format!("{}: {said}", part.name), |page, area| page.cover(area, part.look));
    }
}

fn kwh(value: f64) -> String {
    format!("{} kWh", figure(value))
}

/// Three figures or so.
fn figure(value: f64) -> String {
    fixed(value, if value < 10.0 { 2 } else { usize::from(value < 1_000.0) })
}

fn title(run: &Run<'_>) -> String {
    let summary = &run.outcome.summary;
    let total = summary.energy.total_kwh;
    if total <= 0.0 {
        return "The plant took no electricity".to_owned();
    }
    let each_day = match summary.days {
        0 | 1 => String::new(),
        days => format!(", {} a day", figure(total / f64::from(days))),
    };
    let delivered_l = summary.water.delivered_l + summary.water.raw_loads_l.unwrap_or(0.0);
    let (unit_l, unit) = match run.units {
        Units::Metric => (1_000.0, "m³".to_owned()),
        Units::Us => (1_000.0 / Scale::volume(run.units).value(1.0), "1000 gal".to_owned()),
    };
    let for_water = match total * unit_l / delivered_l {
        each if each.is_finite() => format!(": {} for each {unit} delivered", kwh(each)),
        _ => String::new(),
    };
    format!("{} of electricity{each_day}{for_water}", kwh(total))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ready::Ready;

    #[test]
    fn parts_add_up_to_the_summary() {
        for (name, expected) in [("pond-standby", 3), ("slow-well", 2), ("two-wells", 2), ("town-line", 0)] {
            let ready = Ready::run(name, 3);
            let run = ready.told();
            let energy = &run.outcome.summary.energy;
            let parts = parts(&run);
            assert_eq!((parts.len(), energy.parts.len()), (expected, expected), "{name}");
            for (part, told) in parts.iter().zip(&energy.parts) {
                let sum: f64 = part.kwh.iter().sum();
                assert_eq!((&part.name, part.kwh.len()), (&told.part, 3), "{name}");
                // Sums of a few differences of running totals: a few roundings of the total.
                assert!((sum - told.kwh).abs() <= 1e-12 * energy.total_kwh, "{name} {}: {sum} {}", part.name, told.kwh);
            }
            let by_day = days::gained(&run, |totals| totals.energy_j() / J_PER_KWH);
            for (day, all) in by_day.iter().enumerate() {
                let stacked: f64 = parts.iter().map(|part| part.kwh[day]).sum();
                assert!((stacked - all).abs() <= 1e-12 * energy.total_kwh, "{name} day {day}: {stacked} {all}");
            }
        }
    }

    #[test]
    fn heaters_are_one_part_that_adds_up() {
        let heater = |name: &str| format!("[[heater]]\nname = \"{name}\"\nkind = \"electric\"\nvolume = \"40 gal\"\n");
        for (sections, name) in [(heater("tank"), "tank"), (heater("a") + &heater("b"), "water heaters")] {
            let ready = Ready::starter_with(&sections, 2);
            let run = ready.told();
            let energy = &run.outcome.summary.energy;
            let all = parts(&run);
            let last = all.last().unwrap();
            let told = energy.heaters_kwh.unwrap();
            let sum: f64 = last.kwh.iter().sum();
            assert_eq!(last.name, name);
            assert!(told > 0.0 && (sum - told).abs() <= 1e-12 * energy.total_kwh, "{sum} {told}");
            let sum: f64 = all.iter().flat_map(|part| &part.kwh).sum();
            assert!((sum - energy.total_kwh).abs() <= 1e-12 * energy.total_kwh, "{sum} {}", energy.total_kwh);
        }
    }

    #[test]
    fn exact_title_is_energy_over_water() {
        let mut ready = Ready::run("slow-well", 2);
        let summary = &mut ready.outcome.summary;
        summary.energy.total_kwh = 7.0;
        summary.water.delivered_l = 1_500.0;
        summary.water.raw_loads_l = Some(500.0);
        let mut run = ready.told();
        run.units = Units::Metric;
        assert_eq!(title(&run), "7.00 kWh of electricity, 3.50 a day: 3.50 kWh for each m³ delivered");
        run.units = Units::Us;
        // 3.785 411 784 m3 in 1000 US gallons.
        assert_eq!(title(&run), "7.00 kWh of electricity, 3.50 a day: 13.2 kWh for each 1000 gal delivered");
    }

    #[test]
    fn plant_without_electricity_says_so() {
        let ready = Ready::run("town-line", 1);
        let page = page(&ready.told());
        assert_eq!(page.title, "The plant took no electricity");
    }
}
