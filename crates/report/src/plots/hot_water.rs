//! How warm the water of each heater was, what heated it and when a tap was lukewarm; and the air of the rooms they stand in.

mod strips;

use springhouse_core::heater::control::Mode;
use springhouse_core::hot_water::{HeaterPlace, Settings};
use springhouse_scenario::Units;
use springhouse_sim::{HotWaterSummary, Row};

use self::strips::Strip;
use super::levels::{BAND_FROM, EDGE, GAP, LEFT, Level, RIGHT, band, name_levels, name_spells, shade_disorder, traced};
use crate::chart::axis::{TimeAxis, ValueAxis};
use crate::chart::ink::{AIR, LEVEL, OUTLET, TANK, TEXT, TROUBLE};
use crate::chart::{Area, Ink, Page, WIDTH, label_width, merged};
use crate::numbers::{Scale, len, times};
use crate::phrase::capitalised;
use crate::spells::{self, Spell};
use crate::{Run, calendar, text, words};

const HEATER_HEIGHT: f64 = 130.0;
const ROOM_HEIGHT: f64 = 70.0;
/// An axis of warmth reaches over so much at least, K: less would make much of little.
const LEAST_RANGE_K: f64 = 10.0;
/// A shower's worth of lukewarm water is seen, but several in a morning are not made one.
const LEAST_MARK: f64 = 1.5;
/// The lines of the outlet, of a tank's mean and of the air of a room: ink and width.
type Pen = (Ink, f64);
const OUTLET_LINE: Pen = (OUTLET, 1.25);
const TANK_LINE: Pen = (TANK, 2.0);
const ROOM_LINE: Pen = (AIR, 1.5);
/// A temperature that a row tells, where it does.
type Told<'a> = &'a dyn Fn(&Row) -> Option<f64>;
const SET_POINT: &str = "set point";

/// `None` for a plant without heaters.
pub(super) fn page(run: &Run<'_>) -> Option<Page> {
    let hot_water = &run.scenario.plant.hot_water;
    if hot_water.is_empty() {
        return None;
    }
    let mut page = Page::new(&title(run), &text::subject(run));
    let heaters = hot_water.heaters.iter().enumerate();
    let mut strips: Vec<Vec<Strip>> = heaters.map(|(index, heater)| strips::strips(run, index, heater)).collect();
    let mut axis = time_axis(run, &strips);
    // In a long run marks as many as its days would be one.
    if axis.day_width() < BAND_FROM {
        strips.iter_mut().for_each(Vec::clear);
        axis = time_axis(run, &strips);
    }
    let dark = spells::heaters_out(run);
    page.y += 4.0;
    name_spells(&mut page, &axis, dark.iter().map(|spell| (*spell, "no power")), TEXT);
    let mut any_pale = false;
    for ((index, heater), strips) in hot_water.heaters.iter().enumerate().zip(&strips) {
        any_pale |= self::heater(&mut page, run, &axis, (index, heater, strips), &dark);
    }
    for (index, room) in hot_water.rooms.iter().enumerate() {
        let air = |row: &Row| row.hot_water.rooms.get(index).map(|air| air.0);
        heading(&mut page, &format!("Air of the {}, {}", room.name, Scale::temperature(run.units).unit));
        panel(&mut page, run, &axis, (ROOM_HEIGHT, None), &[(&air, ROOM_LINE)], (&[], &dark));
    }
    axis.labels(&mut page);
    page.y += 4.0;
    if any_pale {
        strips::key(&mut page);
    }
    keys(&mut page, run, &axis);
    Some(page)
}

/// The days of the run, as wide as the names beside them leave room for.
fn time_axis(run: &Run<'_>, strips: &[Vec<Strip>]) -> TimeAxis {
    let names = strips.iter().flatten().map(|strip| strip.name.as_str());
    let widest = names.chain([SET_POINT]).map(label_width).fold(0.0, f64::max);
    let right = (WIDTH - EDGE - GAP - widest).floor().clamp(RIGHT.0, RIGHT.1);
    TimeAxis { left: LEFT, right, first_day: run.first_day, days: run.outcome.summary.days }
}

fn heading(page: &mut Page, text: &str) {
    page.y += 12.0;
    page.heading(text);
    page.y += 4.0;
}

/// What heats it, its water, and when that was lukewarm at a tap. Whether something was on for part of a stretch.
fn heater(
    page: &mut Page,
    run: &Run<'_>,
    axis: &TimeAxis,
    (index, of, strips): (usize, &HeaterPlace, &[Strip]),
    dark: &[Spell],
) -> bool {
    let (plant, unit) = (&run.scenario.plant, Scale::temperature(run.units).unit);
    let several = plant.hot_water.heaters.iter().any(|other| other.outlet != of.outlet);
    let building = plant.outlets.get(of.outlet).filter(|_| several);
    let building = building.map_or_else(String::new, |outlet| format!(" for {}", outlet.name));
    heading(page, &capitalised(&format!("{}{building}, {unit}", of.name)));
    let mut any_pale = false;
    for strip in strips {
        any_pale |= strip.draw(page, axis);
    }
    page.y += if strips.is_empty() { 0.0 } else { 2.0 };
    let outlet = |row: &Row| row.hot_water.heaters.get(index).map(|heater| heater.outlet_c);
    let mean = |row: &Row| row.hot_water.heaters.get(index).map(|heater| heater.mean_c);
    let set_c = constant_set_c(&of.settings);
    let lines: [(Told<'_>, Pen); 2] = [(&mean, TANK_LINE), (&outlet, OUTLET_LINE)];
    // The band of the outlet alone says how warm the days were.
    let lines = if axis.day_width() < BAND_FROM { &lines[1..] } else { &lines };
    panel(page, run, axis, (HEATER_HEIGHT, set_c), lines, (&spells::lukewarm(run, index), dark));
    any_pale
}

/// The set point of a heater that is never off or kept otherwise by the clock.
fn constant_set_c(settings: &Settings) -> Option<f64> {
    (settings.mode != Mode::Off && settings.windows.is_empty()).then_some(settings.set_c)
}

/// Temperatures over the run; in a long one the band of each day.
fn panel(
    page: &mut Page,
    run: &Run<'_>,
    axis: &TimeAxis,
    (height, set_c): (f64, Option<f64>),
    lines: &[(Told<'_>, Pen)],
    (lukewarm, dark): (&[Spell], &[Spell]),
) {
    let (rows, warmth) = (&run.outcome.rows, Scale::temperature(run.units));
    let temps_c = || rows.iter().flat_map(|row| lines.iter().filter_map(|(temp_c, _)| temp_c(row))).chain(set_c);
    let (low_c, high_c) = (temps_c().fold(f64::INFINITY, f64::min), temps_c().fold(f64::NEG_INFINITY, f64::max));
    let missing_k = 0.5 * (LEAST_RANGE_K - (high_c - low_c)).max(0.0);
    let area = Area::new(axis.left, page.y, axis.right, page.y + height);
    let values = ValueAxis::between(area, warmth.value(low_c - missing_k), warmth.value(high_c + missing_k));
    values.grid(page);
    axis.grid(page, area.top, area.bottom);
    shade_disorder(page, axis, area, dark);
    let spells = lukewarm.iter().map(|spell| axis.area(*spell, area.top, area.bottom));
    for mark in merged(spells, LEAST_MARK, &area) {
        page.hatched(mark, TROUBLE);
    }
    for (temp_c, (ink, width)) in lines {
        let y = |row: &Row| values.y(warmth.value(temp_c(row).unwrap_or(low_c)));
        if axis.day_width() < BAND_FROM {
            let (upper, lower) = band(rows, axis, y, y);
            if lower.len() > 1 {
                page.polygon(upper.into_iter().chain(lower.into_iter().rev()).collect(), ink.thin(0.5));
            }
        } else if rows.len() > 1 {
            page.path(traced(rows, axis, y), *ink, *width);
        }
    }
    if let Some(set_c) = set_c {
        let set = warmth.value(set_c);
        page.dashes((area.left, values.y(set)), area.right, LEVEL);
        name_levels(page, &values, &[Level::new(set, SET_POINT)]);
    }
    page.y = area.bottom;
}

/// What the lines and shadings are.
fn keys(page: &mut Page, run: &Run<'_>, axis: &TimeAxis) {
    if axis.day_width() < BAND_FROM {
        // A row tells of one minute: what is lowest may lie between two.
        let reach = match strips::coarse(run) {
            Some(apart) => format!("go over the rows of each day, {apart} apart, and miss what was between them"),
            None => "reach from the lowest to the highest of each day".to_owned(),
        };
        page.paragraph(&format!("The bands {reach}; those of heaters are of their outlet."));
    } else {
        line_key(page, "water that leaves the heater next", OUTLET_LINE);
        line_key(page, "mean of the water in it", TANK_LINE);
    }
    if !run.outcome.lukewarm.is_empty() {
        page.key("water was lukewarm at a tap", |page, area| {
            page.fill(Area { right: area.left + 4.0, ..area }, TROUBLE.thin(0.85));
            page.hatched(Area { left: area.left + 8.0, ..area }, TROUBLE);
        });
    }
    if let Some(apart) = strips::coarse(run).filter(|_| axis.day_width() >= BAND_FROM) {
        page.paragraph(&format!(
            "Told by rows of {apart}, each by its last minute: what was between them is not seen."
        ));
    }
}

fn line_key(page: &mut Page, text: &str, (ink, width): Pen) {
    page.key(text, |page, area| {
        let y = 0.5 * (area.top + area.bottom);
        page.line((area.left, y), (area.right, y), ink, width);
    });
}

/// The heater that gave lukewarm water for longest, and how many others did; else how cool the coolest outlet was.
fn title(run: &Run<'_>) -> String {
    let (heaters, units) = (&run.outcome.summary.hot_water, run.units);
    let by_length = |a: &&HotWaterSummary, b: &&HotWaterSummary| a.lukewarm_minutes.total_cmp(&b.lukewarm_minutes);
    let lukewarm: Vec<&HotWaterSummary> = heaters.iter().filter(|heater| heater.lukewarm_spells > 0).collect();
    let Some(worst) = lukewarm.iter().copied().rev().max_by(by_length) else {
        let lowest_c = heaters.iter().map(|heater| heater.lowest_outlet_c).reduce(f64::min);
        let lowest = lowest_c.map_or_else(String::new, |temp_c| {
            let place = if heaters.len() > 1 { "the coolest outlet" } else { "the outlet" };
            format!("; {place} was never under {}", units.temperature(temp_c))
        });
        return format!("No tap was lukewarm{lowest}");
    };
    let long = long(units, worst);
    let at = worst.longest_lukewarm_at.as_deref().filter(|_| worst.lukewarm_spells > 1);
    let longest = at.map_or_else(String::new, |at| {
        let longest = units.duration(60.0 * worst.longest_lukewarm_min);
        format!(", {longest} at worst on {}", calendar::spoken_iso(at))
    });
    let others = match len(&lukewarm) {
        1 => String::new(),
        2 => "; so did another heater".to_owned(),
        n => format!("; so did {} other heaters", n - 1),
    };
    format!(
        "The {} gave lukewarm water {}, {long}{longest}{others}",
        words::heater(&worst.heater),
        times(worst.lukewarm_spells)
    )
}

fn long(units: Units, heater: &HotWaterSummary) -> String {
    let long = units.duration(60.0 * heater.lukewarm_minutes);
    if heater.lukewarm_spells > 1 { format!("{long} in all") } else { format!("for {long}") }
}

#[cfg(test)]
mod tests {
    use super::*;
    use springhouse_core::hot_water::Window;
    use springhouse_core::time::Span;

    #[test]
    fn exact_set_point_is_drawn_where_it_holds_all_day() {
        let always = Settings { set_c: 52.0, mode: Mode::Hybrid, windows: Vec::new(), sun: None };
        let night = Window { start: Span::ZERO, end: Span::HOUR, set_c: 45.0, mode: Mode::Hybrid };
        let by_clock = Settings { windows: vec![night], set_c: 52.0, mode: Mode::Hybrid, sun: None };
        let off = Settings { mode: Mode::Off, ..always.clone() };
        assert_eq!([always, by_clock, off].map(|settings| constant_set_c(&settings)), [Some(52.0), None, None]);
    }
}
