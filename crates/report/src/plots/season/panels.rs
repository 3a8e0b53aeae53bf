//! The panels of a season; a plant has those of its parts.

use springhouse_core::basin::Basin;
use springhouse_core::time::Time;
use springhouse_sim::Day;

use super::{Sheet, lines};
use crate::chart::axis::{TimeAxis, ValueAxis};
use crate::chart::bars::Bars;
use crate::chart::ink::{AIR, FEED, ICE, LEVEL, PRODUCT, PUMPS, TROUBLE, WATER};
use crate::chart::{Ink, Look, Page};
use crate::numbers::{Scale, percent};
use crate::plots::levels::{Level, name_levels, strip_in};
use crate::spells::{self, Spell};
use crate::{Run, days};

/// What is named at the right of the panels.
pub(super) const SIDE_NAMES: [&str; 4] = [FREEZING, INTAKE, ICY, RAN_OUT];
const FREEZING: &str = "freezing";
const INTAKE: &str = "pump intake";
const ICY: &str = "ice";
const RAN_OUT: &str = "ran out";

const LOW: f64 = 58.0;
const MIDDLE: f64 = 90.0;
const HIGH: f64 = 120.0;
/// The axis of rain reaches so far at least, mm, and that of salt, mg/L: less would look like much.
const LEAST_RAIN_MM: f64 = 10.0;
const LEAST_MG_L: f64 = 10.0;
/// Of warmth axes reach over so much at least, K.
const LEAST_RANGE_K: f64 = 5.0;
/// The axis of water reaches so far at least, in the reader's unit.
const LEAST_WATER: f64 = 1.0;
/// The looks of the lines of warmth: of a pond, and of the feed of the membrane unit, which often lies on it.
const POND_WIDTH: f64 = 2.5;
const FEED_WIDTH: f64 = 1.0;

pub(super) fn draw(run: &Run<'_>, sheet: &mut Sheet) {
    weather(run, sheet);
    for (index, name, basin) in days::open_basins(&run.scenario.plant) {
        pond(run, sheet, (index, name, basin));
    }
    given(run, sheet);
    product(run, sheet);
    warmth(run, sheet);
}

/// The band of the air, and bars of rain; none where the weather is not known.
fn weather(run: &Run<'_>, sheet: &mut Sheet) {
    let weathers = || run.outcome.days.iter().map(|day| day.weather);
    if weathers().flatten().next().is_none() {
        return;
    }
    let warmth = Scale::temperature(run.units);
    let known = || weathers().flatten();
    let (low_c, high_c) = range(known().map(|day| day.low_c), known().map(|day| day.high_c));
    sheet.heading(&format!("Air, lowest to highest of each day, {}", warmth.unit));
    sheet.panel(MIDDLE, (Some(warmth.value(low_c)), warmth.value(high_c)), |page, axis, values| {
        let ranges = weathers().map(|day| day.map(|day| (warmth.value(day.low_c), warmth.value(day.high_c))));
        lines::band(page, axis, values, ranges, AIR.thin(0.6));
        if low_c < 0.0 && high_c > 0.0 {
            level_line(page, values, warmth.value(0.0), FREEZING);
        }
    });
    let rain = Scale::rain(run.units);
    let fallen_mm: Vec<f64> = weathers().map(|day| day.map_or(0.0, |day| day.rain_mm)).collect();
    let most_mm = fallen_mm.iter().copied().fold(LEAST_RAIN_MM, f64::max);
    sheet.heading(&format!("Rain of each day, {}", rain.unit));
    sheet.panel(LOW, (None, rain.value(most_mm)), |page, axis, values| {
        let fallen: Vec<f64> = fallen_mm.iter().map(|mm| rain.value(*mm)).collect();
        Bars::daily(axis).draw(page, values, &fallen, |_| Look::solid(WATER));
    });
}

/// How full a pond was and with ice on it, and how salty.
fn pond(run: &Run<'_>, sheet: &mut Sheet, (index, name, basin): (usize, &str, &Basin)) {
    let all = &run.outcome.days;
    let full = |water_l: f64| 100.0 * water_l / basin.capacity_l;
    sheet.heading(&format!("Water in the {name}, % of what it holds"));
    let icy = days_when(all, |day| day.ice_m[index] > 0.0);
    if !icy.is_empty() {
        strip_in(&mut sheet.page, &sheet.axis, ICY, &icy, ICE);
        sheet.page.y += 2.0;
    }
    sheet.panel(HIGH, (None, 100.0), |page, axis, values| {
        lines::level(page, axis, values, full(basin.start_l), all.iter().map(|day| full(day.sources[index])));
        level_line(page, values, full(basin.intake_l), INTAKE);
    });
    let start_mg_l = run.outcome.summary.supplies.get(index).and_then(|supply| supply.open_water.as_ref());
    let start_mg_l = start_mg_l.map(|open| open.start_salt_mg_l);
    let salts = || all.iter().map(|day| day.salt_mg_l[index]);
    let most_mg_l = salts().chain(start_mg_l).fold(LEAST_MG_L, f64::max);
    sheet.heading(&format!("Salt in the {name}, mg/L"));
    sheet.panel(MIDDLE, (None, most_mg_l), |page, axis, values| {
        lines::through_ends(page, axis, values, (start_mg_l, salts()), (LEVEL, 1.5));
    });
}

/// The look of a supply's bars; narrow ones have no room for hatching.
fn look(index: usize, axis: &TimeAxis) -> Look {
    const NARROW: f64 = 8.0;
    let look = PUMPS[index];
    if axis.day_width() < NARROW { Look::solid(look.ink) } else { look }
}

/// What each supply gave, on top of each other, with the days on which a building ran out.
fn given(run: &Run<'_>, sheet: &mut Sheet) {
    let all = &run.outcome.days;
    let supplies = run.scenario.plant.supplies.len();
    let of_day = |day: &Day| day.totals.supplies.iter().map(|supply| supply.pumped_l).sum::<f64>();
    let scale = Scale::volume_up_to(run.units, all.iter().map(of_day).fold(0.0, f64::max));
    let given = |index: usize| all.iter().map(|day| scale.value(day.totals.supplies[index].pumped_l)).collect();
    let stacked: Vec<(Look, Vec<f64>)> = (0..supplies).map(|index| (look(index, &sheet.axis), given(index))).collect();
    sheet.heading(&format!("Water given, {} a day", scale.unit));
    let ran_out = days_when(all, |day| day.run_out_s > 0.0);
    if !ran_out.is_empty() {
        strip_in(&mut sheet.page, &sheet.axis, RAN_OUT, &ran_out, TROUBLE);
        sheet.page.y += 2.0;
    }
    let most = all.iter().map(|day| scale.value(of_day(day))).fold(LEAST_WATER, f64::max);
    sheet.panel(HIGH, (None, most), |page, axis, values| Bars::daily(axis).stack(page, values, &stacked));
}

/// What the membrane unit made while it ran; a gap on days it stood still.
fn product(run: &Run<'_>, sheet: &mut Sheet) {
    if run.scenario.plant.membrane.is_none() {
        return;
    }
    let scale = Scale::product(run.units);
    let made = || run.outcome.days.iter().map(|day| days::product_l_h(day).map(|l_h| scale.value(l_h)));
    let most = made().flatten().fold(0.0, f64::max);
    sheet.heading(&format!("Product of the membrane unit while it ran, {}", scale.unit));
    sheet.panel(HIGH, (None, most), |page, axis, values| {
        lines::through_days(page, axis, values, made(), (PRODUCT.ink, 1.5));
    });
}

/// How warm open water was, and what fed the membrane unit on days it ran.
fn warmth(run: &Run<'_>, sheet: &mut Sheet) {
    let (plant, all) = (&run.scenario.plant, &run.outcome.days);
    let warmth = Scale::temperature(run.units);
    let ponds: Vec<_> = days::open_basins(plant).collect();
    let feeds = || all.iter().map(|day| plant.membrane.as_ref().and(days::product_l_h(day)).map(|_| day.feed_temp_c));
    let temps_c =
        || ponds.iter().flat_map(|(index, ..)| all.iter().map(|day| day.temp_c[*index])).chain(feeds().flatten());
    if temps_c().next().is_none() {
        return;
    }
    let (low_c, high_c) = range(temps_c(), temps_c());
    sheet.heading(&format!("Temperature of the water, {}", warmth.unit));
    sheet.panel(MIDDLE, (Some(warmth.value(low_c)), warmth.value(high_c)), |page, axis, values| {
        for (index, ..) in &ponds {
            let temps = all.iter().map(|day| warmth.value(day.temp_c[*index]));
            lines::through_ends(page, axis, values, (None, temps), (PUMPS[*index].ink, POND_WIDTH));
        }
        let fed = feeds().map(|temp_c| temp_c.map(|temp_c| warmth.value(temp_c)));
        lines::through_days(page, axis, values, fed, (FEED, FEED_WIDTH));
    });
}

/// What the bars and lines are.
pub(super) fn keys(run: &Run<'_>, page: &mut Page, axis: &TimeAxis) {
    let (plant, all) = (&run.scenario.plant, &run.outcome.days);
    let given_l = |index: usize| all.iter().map(|day| day.totals.supplies[index].pumped_l).sum::<f64>();
    let total_l: f64 = (0..plant.supplies.len()).map(given_l).sum();
    for (index, supply) in plant.supplies.iter().enumerate().rev() {
        let said = match given_l(index) {
            none if none <= 0.0 => "gave nothing".to_owned(),
            some if plant.supplies.len() == 1 => format!("gave {}", run.units.volume(some)),
            some => format!("gave {}, {}", run.units.volume(some), percent(some / total_l)),
        };
        page.key(&format!("{} {said}", supply.name), |page, area| page.cover(area, look(index, axis)));
    }
    for (index, name, _) in days::open_basins(plant) {
        line_key(page, &format!("temperature of the {name}"), (PUMPS[index].ink, POND_WIDTH));
    }
    if plant.membrane.is_some() {
        line_key(page, "temperature of the feed of the membrane unit", (FEED, FEED_WIDTH));
    }
}

fn line_key(page: &mut Page, text: &str, (ink, width): (Ink, f64)) {
    page.key(text, |page, area| {
        let y = 0.5 * (area.top + area.bottom);
        page.line((area.left, y), (area.right, y), ink, width);
    });
}

/// A broken line across a panel, named at its right.
fn level_line(page: &mut Page, values: &ValueAxis, value: f64, name: &str) {
    page.dashes((values.area.left, values.y(value)), values.area.right, LEVEL);
    name_levels(page, values, &[Level::new(value, name)]);
}

/// From the lowest to the highest, and over at least a few degrees.
fn range(low: impl Iterator<Item = f64>, high: impl Iterator<Item = f64>) -> (f64, f64) {
    let (low, high) = (low.fold(f64::INFINITY, f64::min), high.fold(f64::NEG_INFINITY, f64::max));
    (low, high.max(low + LEAST_RANGE_K))
}

/// The days on which something was so; those that follow each other are one spell.
fn days_when(all: &[Day], so: impl Fn(&Day) -> bool) -> Vec<Spell> {
    let days = (0_i64..).zip(all).filter(|(_, day)| so(day));
    let spells: Vec<Spell> =
        days.map(|(day, _)| Spell { start: Time::from_day(day), end: Time::from_day(day + 1) }).collect();
    spells::merged(&spells)
}
