//! Water in storage, water in the well and pressure to the house over the run, with the levels that the controls act at.

mod curve;
mod panels;

use springhouse_sim::FindingKind;

use crate::chart::axis::{TimeAxis, ValueAxis};
use crate::chart::ink::{LEVEL, QUIET, TEXT, TROUBLE};
use crate::chart::{Align, Area, BODY, MARGIN, Page, WIDTH, label_width};
use crate::numbers::{fixed, times};
use crate::spells::{self, Spell};
use crate::{Run, calendar, text};

use super::each_day;
use curve::BAND_FROM;
use panels::{Panel, panels};

/// Room for values at the left and names of levels at the right.
const LEFT: f64 = MARGIN + 42.0;
const RIGHT: f64 = WIDTH - MARGIN - 96.0;

pub(super) fn page(run: &Run<'_>) -> Page {
    let mut page = Page::new(&title(run), &text::subject(run));
    let axis = TimeAxis { left: LEFT, right: RIGHT, first_day: run.first_day, days: run.outcome.summary.days };
    let (outs, incidents) = (spells::building_run_outs(run), spells::incidents(run));
    let marked = mark_names(&mut page, &axis, &outs, &incidents);
    let mut dipped = false;
    for panel in panels(run) {
        page.y += 12.0;
        page.heading(&panel.heading);
        page.y += 4.0;
        let area = Area::new(LEFT, page.y, RIGHT, page.y + panel.height);
        dipped |= draw_panel(&mut page, run, &panel, &axis, area, (&outs, &incidents));
        page.y = area.bottom;
    }
    axis.labels(&mut page);
    page.y += 4.0;
    if marked.outs {
        page.key("a building had run out, until water was back", |page, area| {
            page.fill(Area { right: area.left + 4.0, ..area }, TROUBLE.thin(0.85));
            page.hatched(Area { left: area.left + 8.0, ..area }, TROUBLE);
        });
    }
    if marked.incidents {
        page.key("electricity or a pump out of order", shade);
    }
    if axis.day_width() < BAND_FROM {
        page.paragraph("The bands reach from the lowest to the highest of each day.");
    } else if dipped {
        page.key("how low the pressure fell between the points of the line", curve::dip);
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
                format!("Pressure was under cut-in for {}, down to {lowest}{outs}", each_day(run, 60.0 * minutes))
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

/// Draws a panel; says whether it shows a dip.
fn draw_panel(
    page: &mut Page,
    run: &Run<'_>,
    panel: &Panel<'_>,
    axis: &TimeAxis,
    area: Area,
    (outs, incidents): Troubles<'_>,
) -> bool {
    let values = if panel.down { ValueAxis::down(area, panel.most) } else { ValueAxis::up(area, panel.most) };
    values.grid(page);
    axis.grid(page, area.top, area.bottom);
    for (spell, _) in incidents {
        axis.marks_of(&[*spell], area).into_iter().for_each(|area| shade(page, area));
    }
    let dipped = curve::draw(page, &run.outcome.rows, panel, axis, &values, |page| {
        for area in axis.marks_of(outs, area) {
            page.hatched(area, TROUBLE);
        }
    });
    for (value, _) in &panel.levels {
        page.dashes((area.left, values.y(*value)), area.right, LEVEL);
    }
    name_levels(page, &values, &panel.levels);
    dipped
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
