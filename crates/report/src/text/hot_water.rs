//! Hot water: a table of heaters, who met lukewarm water and when, and the rooms that heaters stand in.

use springhouse_core::hot_water::follow::OUTLET_LEAST_C;
use springhouse_sim::{HotWaterSummary, Lukewarm};

use crate::numbers::{fixed, fuel, times, volume_hours};
use crate::phrase::joined;
use crate::tune::text::{Cells, push_table};
use crate::{Run, calendar, words};

use super::wrapped;

/// The widest line of the table, unless one heater alone is wider.
const WIDTH: usize = 80;
/// From one column to the next.
const GAP: usize = 2;
/// The most spells of lukewarm water that are told one by one.
const MOST_TOLD: usize = 6;

/// The block of hot water; empty where there is none. Ends with a newline.
pub(super) fn block(run: &Run<'_>) -> String {
    let mut text = String::new();
    let heaters = &run.outcome.summary.hot_water;
    let mut rest = heaters.as_slice();
    while !rest.is_empty() {
        // As many side by side as there is room for, the others below.
        let fit = (1..=rest.len()).rev().find(|count| *count == 1 || width(&table(run, &rest[..*count])) <= WIDTH);
        let (side_by_side, below) = rest.split_at(fit.unwrap_or(1));
        if !text.is_empty() {
            text.push('\n');
        }
        push_table(&mut text, &table(run, side_by_side));
        rest = below;
    }
    push_spells(&mut text, run);
    push_rooms(&mut text, run);
    text
}

fn width(table: &[Cells]) -> usize {
    let columns = table.iter().map(Vec::len).max().unwrap_or(0);
    let of_column = |column: usize| {
        let cells = table.iter().filter_map(|cells| cells.get(column));
        cells.map(|cell| cell.chars().count()).max().unwrap_or(0)
    };
    (0..columns).map(of_column).sum::<usize>() + GAP * columns.saturating_sub(1)
}

/// A column for each heater. A row that says something of none of them is left out.
fn table(run: &Run<'_>, heaters: &[HotWaterSummary]) -> Vec<Cells> {
    let units = run.units;
    let row = |name: &str, of: &dyn Fn(&HotWaterSummary) -> Option<String>| -> Option<Cells> {
        let cells: Vec<_> = heaters.iter().map(of).collect();
        let told = cells.iter().any(Option::is_some);
        let cells = cells.into_iter().map(|cell| cell.unwrap_or_else(|| "-".to_owned()));
        told.then(|| core::iter::once(name.to_owned()).chain(cells).collect())
    };
    let kwh = |kwh: f64| format!("{} kWh", fixed(kwh, 2));
    let minutes = |minutes: f64| units.duration(60.0 * minutes);
    let some = |litres: f64| (litres > 0.0).then(|| units.volume(litres));
    let rows = [
        row("Hot water", &|it| Some(it.heater.clone())),
        row("  building", &|it| Some(it.building.clone())),
        row("  out of the tank", &|it| Some(units.volume(it.delivered_l))),
        row("  heat at the taps", &|it| Some(kwh(it.at_taps_kwh))),
        row("  lukewarm at a tap", &|it| {
            Some(match it.lukewarm_spells {
                0 => "never".to_owned(),
                n => format!("{}, {}", times(n), minutes(it.lukewarm_minutes)),
            })
        }),
        row("  longest", &|it| (it.lukewarm_spells > 1).then(|| minutes(it.longest_lukewarm_min))),
        row("  lowest outlet", &|it| Some(units.temperature(it.lowest_outlet_c))),
        row(&format!("  outlet under {}", units.temperature(OUTLET_LEAST_C)), &|it| {
            Some(it.cool_outlet_hours).filter(|hours| *hours > 0.0).map(|hours| units.duration(3_600.0 * hours))
        }),
        row("  as warm as Legionella likes", &|it| {
            let [warm, _] = volume_hours(units, it.growth_l_h);
            // What rounds to nothing is told as nothing.
            Some(warm).filter(|warm| !warm.starts_with("0 "))
        }),
        row("  longest recovery", &|it| (it.recovery_h > 0.0).then(|| units.duration(3_600.0 * it.recovery_h))),
        row("  compressor starts", &|it| it.compressor_starts.map(|starts| starts.to_string())),
        row("  element, burner starts", &|it| Some(it.element_starts.to_string())),
        row("  compressor, fan", &|it| it.compressor_kwh.map(kwh)),
        row("  elements", &|it| it.element_kwh.map(kwh)),
        row("  fuel", &|it| it.fuel_kwh.map(|it| fuel(units, it, 2))),
        row("  controls, loop", &|it| Some(it.other_kwh).filter(|it| *it > 0.0).map(kwh)),
        row("  heat for power (COP)", &|it| it.cop.map(|cop| fixed(cop, 2))),
        row("  waited for air", &|it| {
            it.air_wait_hours.filter(|hours| *hours > 0.0).map(|hours| units.duration(3_600.0 * hours))
        }),
        row("  lost at rest", &|it| Some(kwh(it.standby_kwh))),
        row("  lost by its pipe", &|it| it.pipe_loss_kwh.map(kwh)),
        row("  ran off cool first", &|it| it.waited_l.and_then(some)),
    ];
    rows.into_iter().flatten().collect()
}

/// The longest spells of lukewarm water in order of time, and how many there were beside them.
fn push_spells(text: &mut String, run: &Run<'_>) {
    let mut longest: Vec<&Lukewarm> = run.outcome.lukewarm.iter().collect();
    let more = longest.len().saturating_sub(MOST_TOLD);
    longest.sort_by(|a, b| b.spell.seconds.total_cmp(&a.spell.seconds));
    longest.truncate(MOST_TOLD);
    longest.sort_by_key(|it| (it.spell.start, it.heater));
    if longest.is_empty() {
        return;
    }
    text.push('\n');
    for lukewarm in longest {
        text.push_str(&wrapped(&spell(run, lukewarm)));
    }
    if more > 0 {
        text.push_str(&wrapped(&format!("and {more} more, none longer")));
    }
}

/// When water was lukewarm, how long, how cool, and who met it.
fn spell(run: &Run<'_>, lukewarm: &Lukewarm) -> String {
    let heaters = &run.scenario.plant.hot_water.heaters;
    let at = calendar::spoken(calendar::at(run.first_day, lukewarm.spell.start));
    let long = run.units.duration(lukewarm.spell.seconds);
    let coolest = run.units.temperature(lukewarm.spell.coolest_c);
    let of = heaters.get(lukewarm.heater).filter(|_| heaters.len() > 1);
    let of = of.map_or_else(String::new, |heater| format!(" from the {}", words::heater(&heater.name)));
    let names: Vec<&str> = lukewarm.who.iter().map(String::as_str).collect();
    let who = if names.is_empty() { String::new() } else { format!("; met by {}", joined(&names)) };
    format!("Lukewarm on {at}{of}: {long}, coolest {coolest}{who}.")
}

/// How cold and how warm rooms got, and what compressors took out of their air.
fn push_rooms(text: &mut String, run: &Run<'_>) {
    let rooms = &run.outcome.summary.rooms;
    if rooms.is_empty() {
        return;
    }
    text.push('\n');
    for room in rooms {
        let [lowest, highest] = [room.lowest_c, room.highest_c].map(|temp_c| run.units.temperature(temp_c));
        let mut said = vec![format!("Room {}: from {lowest} to {highest}", room.room)];
        let taken_kwh = room.sensible_kwh + room.latent_kwh;
        if taken_kwh > 0.0 {
            said.push(format!("compressors took {} kWh of heat out of its air", fixed(taken_kwh, 2)));
        }
        if room.condensate_l > 0.0 {
            said.push(format!("{} of condensate", run.units.volume(room.condensate_l)));
        }
        text.push_str(&wrapped(&format!("{}.", said.join("; "))));
    }
}
