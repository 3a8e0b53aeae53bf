//! Water in storage and pressure to the house over the run, with the levels that the controls act at.

use springhouse_core::plant::Store;
use springhouse_core::storage::Fill;
use springhouse_core::time::Time;
use springhouse_sim::{FindingKind, Row};

use crate::chart::axis::{TimeAxis, ValueAxis};
use crate::chart::ink::{LEVEL, QUIET, TEXT, TROUBLE, WATER};
use crate::chart::{Align, Area, BODY, MARGIN, Page, Point, WIDTH, label_width};
use crate::numbers::{Scale, fixed, times};
use crate::spells::{self, Spell};
use crate::{Run, calendar, text};

/// Room for values at the left and names of levels at the right.
const LEFT: f64 = MARGIN + 42.0;
const RIGHT: f64 = WIDTH - MARGIN - 82.0;

/// One panel: a value over time, and levels to read it against.
struct Panel<'a> {
    heading: String,
    height: f64,
    most: f64,
    value: Box<dyn Fn(&Row) -> f64 + 'a>,
    levels: Vec<(f64, &'static str)>,
    filled: bool,
}

pub(super) fn page(run: &Run<'_>) -> Page {
    let mut page = Page::new(&title(run), &text::subject(run));
    let axis = TimeAxis { left: LEFT, right: RIGHT, first_day: run.first_day, days: run.outcome.summary.days };
    let (outs, incidents) = (spells::building_run_outs(run), spells::incidents(run));
    let marked = mark_names(&mut page, &axis, &outs, &incidents);
    for panel in panels(run) {
        page.y += 12.0;
        page.heading(&panel.heading);
        page.y += 4.0;
        let area = Area::new(LEFT, page.y, RIGHT, page.y + panel.height);
        draw_panel(&mut page, run, &panel, &axis, area, (&outs, &incidents));
        page.y = area.bottom;
    }
    axis.labels(&mut page);
    page.y += 4.0;
    if marked.outs {
        page.key("a building wanted water and got less than half of it", |page, area| {
            page.fill(Area { right: area.left + 4.0, ..area }, TROUBLE.thin(0.85));
            page.hatched(Area { left: area.left + 8.0, ..area }, TROUBLE);
        });
    }
    if marked.incidents {
        page.key("electricity or a pump out of order", shade);
    }
    if axis.day_width() < BAND_FROM {
        page.paragraph("The bands reach from the lowest to the highest of each day.");
    }
    page
}

fn title(run: &Run<'_>) -> String {
    let summary = &run.outcome.summary;
    let outs = match summary.water.run_outs {
        0 => String::new(),
        n => format!("; water ran out {}", times(n)),
    };
    let Some(store) = &run.scenario.plant.store else {
        let lowest = run.units.pressure(summary.pressure.lowest_kpa);
        return match summary.pressure.minutes_below_set {
            minutes if minutes > 0.0 => {
                format!("Pressure was under cut-in for {}, down to {lowest}{outs}", run.units.duration(60.0 * minutes))
            }
            _ => format!("Pressure never fell below {lowest}{outs}"),
        };
    };
    let lowest_l = summary.water.lowest_storage_l.unwrap_or(0.0);
    let share = fixed(100.0 * lowest_l / store.storage.capacity_l, 0);
    let lowest = format!("{share} % ({})", run.units.volume(lowest_l));
    let stopped = summary.verdict.findings.iter().find(|finding| finding.kind == FindingKind::ProtectStop);
    match stopped {
        Some(finding) => {
            let at =
                finding.at.as_deref().map_or_else(String::new, |at| format!(", first {}", calendar::spoken_iso(at)));
            format!("Storage ran down to the level that stops the delivery pump{at}{outs}")
        }
        None => format!("Storage never fell below {lowest}{outs}"),
    }
}

fn panels<'a>(run: &Run<'a>) -> Vec<Panel<'a>> {
    let (litres, kpa) = (Scale::volume(run.units), Scale::pressure(run.units));
    let pump = &run.scenario.plant.well_pump;
    let highest = |value: fn(&Row) -> f64| run.outcome.rows.iter().map(value).fold(0.0, f64::max);
    let Some(Store { storage, delivery }) = &run.scenario.plant.store else {
        return vec![Panel {
            heading: format!("Pressure in the tank, {}", kpa.unit),
            height: 200.0,
            most: kpa.value(highest(|row| row.raw_kpa).max(pump.cut_out_kpa)),
            value: Box::new(move |row| kpa.value(row.raw_kpa)),
            levels: vec![(kpa.value(pump.cut_out_kpa), "cut-out"), (kpa.value(pump.cut_in_kpa), "cut-in")],
            filled: false,
        }];
    };
    let mut levels = match storage.fill {
        Fill::FloatSwitch { start_l, stop_l, .. } => {
            vec![(litres.value(stop_l), "filling stops"), (litres.value(start_l), "filling starts")]
        }
        Fill::FloatValve { open_l, shut_l, .. } => {
            vec![(litres.value(shut_l), "valve shut"), (litres.value(open_l), "valve open")]
        }
    };
    if storage.protect_l > 0.0 {
        levels.push((litres.value(storage.protect_l), "pump stops"));
    }
    vec![
        Panel {
            heading: format!("Water in storage, {}", litres.unit),
            height: 190.0,
            most: litres.value(storage.capacity_l),
            value: Box::new(move |row| litres.value(row.storage_l)),
            levels,
            filled: true,
        },
        Panel {
            heading: format!("Pressure to the house, {}", kpa.unit),
            height: 120.0,
            most: kpa.value(highest(|row| row.delivery_kpa).max(delivery.set_kpa)),
            value: Box::new(move |row| kpa.value(row.delivery_kpa)),
            levels: vec![(kpa.value(delivery.set_kpa), "set"), (kpa.value(delivery.wake_kpa), "pump wakes")],
            filled: false,
        },
    ]
}

/// What was marked on the plot, for the key.
struct Marked {
    outs: bool,
    incidents: bool,
}

/// Names run-outs and incidents in rows over the panels; a name that would cover another is left to the key.
fn mark_names(page: &mut Page, axis: &TimeAxis, outs: &[Spell], incidents: &[(Spell, &'static str)]) -> Marked {
    let names = incidents.iter().map(|(spell, name)| (*spell, *name)).collect::<Vec<_>>();
    let no_water = outs.iter().map(|spell| (*spell, "no water")).collect::<Vec<_>>();
    page.y += 4.0;
    for (row, ink) in [(names, TEXT), (no_water, TROUBLE)] {
        if row.is_empty() {
            continue;
        }
        page.y += 0.75 * BODY;
        let mut free_from = LEFT;
        for (spell, name) in row {
            let half = 0.5 * label_width(name);
            let middle = 0.5 * (axis.x(spell.start) + axis.x(spell.end));
            let x = middle.clamp(LEFT + half, WIDTH - MARGIN - half);
            if x - half >= free_from {
                page.strong((x, page.y), name, ink, Align::Middle);
                free_from = x + 1.15 * half + 6.0;
            }
        }
        page.y += 0.75 * BODY;
    }
    Marked { outs: !outs.is_empty(), incidents: !incidents.is_empty() }
}

/// Shading of an incident: grey, with edges.
fn shade(page: &mut Page, area: Area) {
    page.fill(area, QUIET.thin(0.25));
    for x in [area.left, area.right] {
        page.line((x, area.top), (x, area.bottom), QUIET, 1.0);
    }
}

type Troubles<'a> = (&'a [Spell], &'a [(Spell, &'static str)]);

fn draw_panel(
    page: &mut Page,
    run: &Run<'_>,
    panel: &Panel<'_>,
    axis: &TimeAxis,
    area: Area,
    (outs, incidents): Troubles<'_>,
) {
    let values = ValueAxis::new(area, panel.most);
    values.grid(page);
    axis.grid(page, area.top, area.bottom);
    for (spell, _) in incidents {
        axis.marks_of(&[*spell], area).into_iter().for_each(|area| shade(page, area));
    }
    let y = |row: &Row| values.y((panel.value)(row));
    let (line, band) = if axis.day_width() < BAND_FROM {
        let (upper, lower) = banded(&run.outcome.rows, axis, y);
        (lower.clone(), [upper, lower.into_iter().rev().collect()].concat())
    } else {
        (traced(&run.outcome.rows, axis, y), Vec::new())
    };
    if let (true, Some(first), Some(last)) = (panel.filled, line.first(), line.last()) {
        let ends = [(last.0, area.bottom), (first.0, area.bottom)];
        page.polygon([line.as_slice(), &ends].concat(), WATER.thin(0.16));
    }
    for area in axis.marks_of(outs, area) {
        page.hatched(area, TROUBLE);
    }
    if band.len() > 2 {
        page.polygon(band, WATER.thin(0.5));
    } else if line.len() > 1 {
        page.path(line, WATER, 1.25);
    }
    for (value, _) in &panel.levels {
        page.dashes((area.left, values.y(*value)), area.right, LEVEL);
    }
    name_levels(page, &values, &panel.levels);
}

/// In days narrower than this a line would be a scribble: the band that it stays in is drawn instead.
const BAND_FROM: f64 = 20.0;

/// The line of a value: where many rows share half a page unit, their first, extremes and last.
fn traced(rows: &[Row], axis: &TimeAxis, y: impl Fn(&Row) -> f64) -> Vec<Point> {
    let mut points: Vec<Point> = Vec::new();
    let column = |time: Time| (2.0 * axis.x(time)).floor();
    for group in rows.chunk_by(|a, b| column(a.time) == column(b.time)) {
        let at = |row: &Row| (axis.x(row.time), y(row));
        let all = || group.iter().enumerate();
        let lowest = all().min_by(|a, b| y(a.1).total_cmp(&y(b.1))).map_or(0, |(index, _)| index);
        let highest = all().max_by(|a, b| y(a.1).total_cmp(&y(b.1))).map_or(0, |(index, _)| index);
        let mut kept = [0, lowest.min(highest), lowest.max(highest), group.len() - 1].to_vec();
        kept.dedup();
        points.extend(kept.into_iter().filter_map(|index| group.get(index)).map(at));
    }
    points
}

/// The highest and the lowest of a value in each day.
fn banded(rows: &[Row], axis: &TimeAxis, y: impl Fn(&Row) -> f64) -> (Vec<Point>, Vec<Point>) {
    let (mut upper, mut lower) = (Vec::new(), Vec::new());
    for day in rows.chunk_by(|a, b| a.time.day() == b.time.day()) {
        let ys = || day.iter().map(&y);
        let (top, bottom) = (ys().fold(f64::INFINITY, f64::min), ys().fold(f64::NEG_INFINITY, f64::max));
        for row in [day.first(), day.last()].into_iter().flatten() {
            upper.push((axis.x(row.time), top));
            lower.push((axis.x(row.time), bottom));
        }
    }
    (upper, lower)
}

/// Writes the names of levels at the right, moved apart where they are close, each with a line to its level.
fn name_levels(page: &mut Page, values: &ValueAxis, levels: &[(f64, &'static str)]) {
    const APART: f64 = 1.25 * BODY;
    let mut named: Vec<(f64, f64, &str)> =
        levels.iter().map(|(value, name)| (values.y(*value), values.y(*value), *name)).collect();
    named.sort_by(|a, b| a.0.total_cmp(&b.0));
    for index in 1..named.len() {
        named[index].1 = named[index].1.max(named[index - 1].1 + APART);
    }
    let mut floor = values.area.bottom;
    for (_, y, _) in named.iter_mut().rev() {
        *y = y.min(floor);
        floor = *y - APART;
    }
    for (level_y, y, name) in named {
        page.line((RIGHT, level_y), (RIGHT + 6.0, y), LEVEL, 1.0);
        page.label((RIGHT + 9.0, y), name, TEXT, Align::Left);
    }
}
