//! Electricity by day, and which part took it; where it came from and what it cost.

use springhouse_core::observe::Totals;
use springhouse_core::plant::Plant;
use springhouse_core::power::SiteFlows;
use springhouse_core::time::{Span, Time};
use springhouse_scenario::Units;
use springhouse_sim::names;

use crate::chart::axis::{TimeAxis, ValueAxis};
use crate::chart::bars::Bars;
use crate::chart::ink::{
    COST, DELIVERY, FROM_GENERATOR, FROM_GRID, FROM_SUN, HEATERS, LAMPS, MEMBRANE, PUMPS, TO_GRID,
};
use crate::chart::{Area, Look, MARGIN, Page, WIDTH};
use crate::numbers::{J_PER_KWH, Scale, kwh, number, percent};
use crate::phrase::joined;
use crate::site::Account;
use crate::{Run, days, text};

const LEFT: f64 = MARGIN + 42.0;
const RIGHT: f64 = WIDTH - MARGIN - 8.0;
const HEIGHT: f64 = 210.0;
const COST_HEIGHT: f64 = 80.0;
/// An axis that reaches no further would be marked with thousandths.
const LEAST_KWH: f64 = 0.05;
/// The same of money.
const LEAST_COST: f64 = 0.01;

/// A part that takes electricity.
pub(super) struct Part {
    pub(super) name: String,
    pub(super) look: Look,
    /// In each day, or in other stretches.
    pub(super) kwh: Vec<f64>,
}

/// What a running total gains in each of some stretches.
pub(super) type Gained<'a> = &'a dyn Fn(&dyn Fn(&Totals) -> f64) -> Vec<f64>;

/// The parts, in the order of the summary; all water heaters are one.
pub(super) fn parts(run: &Run<'_>, gained: Gained<'_>) -> Vec<Part> {
    let plant: &Plant = &run.scenario.plant;
    let part = |name: String, look: Look, taken_j: &dyn Fn(&Totals) -> f64| Part {
        name,
        look,
        kwh: gained(&|totals| taken_j(totals) / J_PER_KWH),
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

fn parts_by_day(run: &Run<'_>) -> Vec<Part> {
    parts(run, &|total| days::gained(run, total))
}

pub(super) fn page(run: &Run<'_>) -> Page {
    let mut page = Page::new(&title(run), &text::subject(run));
    let axis = TimeAxis { left: LEFT, right: RIGHT, first_day: run.first_day, days: run.outcome.summary.days };
    let bars = Bars::seasonal(&axis);
    let parts = parts_by_day(run);
    if parts.iter().flat_map(|part| &part.kwh).any(|kwh| *kwh > 0.0) {
        heading(&mut page, &format!("Electricity, kWh {}", bars.each.per()));
        stacked_bars(&mut page, (&axis, &bars), &parts, None);
        key(&mut page, &parts);
    }
    let burned = text::burned(run);
    if !burned.is_empty() {
        let burned = joined(&burned.iter().map(String::as_str).collect::<Vec<_>>());
        page.paragraph(&format!("Beside electricity, heaters burned {burned}."));
    }
    if run.outcome.summary.energy.total_kwh > 0.0 && run.outcome.summary.water.raw_loads_l.is_some() {
        page.paragraph("Delivered is what came to buildings and raw loads.");
    }
    if run.outcome.summary.energy.site.is_some() {
        sources(&mut page, run, (&axis, &bars));
        costs(&mut page, run, (&axis, &bars));
    }
    page
}

fn heading(page: &mut Page, text: &str) {
    page.y += 12.0;
    page.heading(text);
    page.y += 4.0;
}

/// Parts on top of each other, and under them one that hangs from the foot; with the days.
fn stacked_bars(page: &mut Page, (axis, bars): (&TimeAxis, &Bars), parts: &[Part], hung: Option<&Part>) {
    let stacked: Vec<(Look, Vec<f64>)> = parts.iter().map(|part| (part.look, bars.sums(&part.kwh))).collect();
    let hanging = hung.map(|part| (part.look, bars.sums(&part.kwh)));
    let area = Area::new(LEFT, page.y, RIGHT, page.y + HEIGHT);
    let deepest = hanging.iter().flat_map(|(_, sums)| sums.iter().copied()).fold(0.0, f64::max);
    let tallest = tallest(&stacked).max(LEAST_KWH);
    let values = if deepest > 0.0 { ValueAxis::between(area, -deepest, tallest) } else { ValueAxis::up(area, tallest) };
    values.grid_said(page, |value| number(value.abs()));
    bars.stack(page, &values, &stacked);
    if let Some((look, sums)) = &hanging {
        bars.hang(page, &values, sums, *look);
    }
    page.y = area.bottom;
    axis.day_labels(page);
    page.y += 4.0;
}

/// Where the electricity of plant and house came from, and what of the sun went to the grid.
fn sources(page: &mut Page, run: &Run<'_>, (axis, bars): (&TimeAxis, &Bars)) {
    let part = |name: &str, look: Look, of: fn(&SiteFlows) -> f64| Part {
        name: name.to_owned(),
        look,
        kwh: days::gained(run, |totals| of(&totals.site) / J_PER_KWH),
    };
    let gives = |part: &Part| part.kwh.iter().any(|kwh| *kwh > 0.0);
    let has_battery = run.scenario.plant.power.battery.is_some();
    let has_sun = run.outcome.summary.energy.site.as_ref().is_some_and(|site| site.solar_kwh > 0.0);
    let own = match (has_sun, has_battery) {
        (true, true) => "the sun, straight or through the battery",
        (true, false) => "the sun",
        (false, _) => "the battery",
    };
    let mut parts = vec![
        part(own, FROM_SUN, SiteFlows::own_j),
        part("the grid", FROM_GRID, SiteFlows::import_j),
        part("the generator", FROM_GENERATOR, |flows| flows.generated_j),
    ];
    parts.retain(gives);
    let exported = Some(part("the sun, to the grid", TO_GRID, |flows| flows.exported_j)).filter(gives);
    if parts.is_empty() && exported.is_none() {
        return;
    }
    let has_house = days::gained(run, |totals| totals.site.other_j).iter().any(|j| *j > 0.0);
    let house = if has_house { ", with the house" } else { "" };
    heading(page, &format!("Where it came from{house}, kWh {}", bars.each.per()));
    stacked_bars(page, (axis, bars), &parts, exported.as_ref());
    key(page, &parts);
    if let Some(part) = exported {
        let said = format!("{}, below the line: {}", part.name, kwh(part.kwh.iter().sum()));
        page.key(&said, |page, area| page.cover(area, part.look));
    }
}

/// What it cost, less what the grid paid; nothing where nothing had a price.
fn costs(page: &mut Page, run: &Run<'_>, (axis, bars): (&TimeAxis, &Bars)) {
    let cost = Account::cost(run);
    let days = i64::from(run.outcome.summary.days);
    let by_day = days::gained_from(run, (Time::ZERO, Time::from_day(days)), Span::DAY, |row| cost.so_far(row));
    let sums = bars.sums(&by_day);
    let (least, most) = sums.iter().fold((0.0_f64, 0.0_f64), |(least, most), sum| (least.min(*sum), most.max(*sum)));
    if most - least < LEAST_COST {
        return;
    }
    heading(page, &format!("Cost {}", bars.each.per()));
    // Over a line at the very top stands its number.
    page.y += 4.0;
    let area = Area::new(LEFT, page.y, RIGHT, page.y + COST_HEIGHT);
    let values = if least < 0.0 { ValueAxis::between(area, least, most) } else { ValueAxis::up(area, most) };
    values.grid(page);
    bars.draw(page, &values, &sums, |_| COST);
    let gained: Vec<f64> = sums.iter().map(|sum| -sum).collect();
    bars.hang(page, &values, &gained, TO_GRID);
    page.y = area.bottom;
    axis.day_labels(page);
    page.y += 4.0;
    if let Some(site) = &run.outcome.summary.energy.site {
        page.paragraph(&format!("In all {}.", text::money(site)));
    }
    if least < 0.0 {
        page.key("more was paid by the grid than the rest cost", |page, area| page.cover(area, TO_GRID));
    }
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

fn title(run: &Run<'_>) -> String {
    let summary = &run.outcome.summary;
    let energy = &summary.energy;
    let total = energy.total_kwh;
    if total <= 0.0 {
        return "The plant took no electricity".to_owned();
    }
    let each_day = match summary.days {
        0 | 1 => String::new(),
        days => format!(", {} a day", kwh(total / f64::from(days)).trim_end_matches(" kWh")),
    };
    let (m3, unit) = match run.units {
        Units::Metric => (1.0, "m³".to_owned()),
        Units::Us => (1.0 / Scale::volume(run.units).value(1.0), "1000 gal".to_owned()),
    };
    let for_water = energy.kwh_per_m3_delivered.map(|each| format!("{} for each {unit} delivered", kwh(each * m3)));
    let heaters = energy.heaters_kwh.filter(|kwh| *kwh > 0.0).map(|kwh| percent(kwh / total));
    let said = match (heaters, for_water) {
        (None, None) => String::new(),
        (None, Some(for_water)) => format!(": {for_water}"),
        (Some(share), None) => format!(": heaters took {share}"),
        (Some(share), Some(for_water)) => {
            format!(": heaters took {share}, {} {for_water}", text::pumps(run))
        }
    };
    format!("{} of electricity{each_day}{said}", kwh(total))
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
            let parts = parts_by_day(&run);
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
            let all = parts_by_day(&run);
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
        (summary.energy.total_kwh, summary.energy.kwh_per_m3_delivered) = (7.0, Some(3.5));
        let mut run = ready.told();
        run.units = Units::Metric;
        assert_eq!(title(&run), "7.00 kWh of electricity, 3.50 a day: 3.50 kWh for each m³ delivered");
        run.units = Units::Us;
        // 3.785 411 784 m3 in 1000 US gallons.
        assert_eq!(title(&run), "7.00 kWh of electricity, 3.50 a day: 13.2 kWh for each 1000 gal delivered");
        // What heaters took is told apart.
        let energy = &mut ready.outcome.summary.energy;
        (energy.total_kwh, energy.heaters_kwh) = (28.0, Some(21.0));
        let told = title(&ready.told());
        let said = "28.0 kWh of electricity, 14.0 a day: heaters took 75 %, pumps 13.2 kWh for each 1000 gal delivered";
        assert_eq!(told, said);
    }

    #[test]
    fn plant_without_electricity_says_so() {
        let ready = Ready::run("town-line", 1);
        let page = page(&ready.told());
        assert_eq!(page.title, "The plant took no electricity");
    }
}
