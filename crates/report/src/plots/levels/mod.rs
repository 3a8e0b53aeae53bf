//! Water in every store and pressure to the house over the run, with the levels that the controls act at.

mod curve;
mod panels;
mod pressure;
mod title;

use crate::chart::axis::{TimeAxis, ValueAxis};
use crate::chart::ink::{HELD, LEVEL, QUIET, STRIP, TEXT, TROUBLE};
use crate::chart::{Align, Area, BODY, Ink, MARGIN, Page, WIDTH, fitted_strong, label_width, strong_width};
use crate::numbers::len;
use crate::spells::{self, Spell};
use crate::{Run, text};

pub(super) use curve::{BAND_FROM, band, traced};
pub(super) use panels::Level;
pub(super) use panels::Panel;
use panels::panels;
use title::{standby_names, title};

/// Room for values at the left.
pub(super) const LEFT: f64 = MARGIN + 42.0;
/// Where the panels end at most, and at least: right of that are the names of levels.
pub(super) const RIGHT: (f64, f64) = (0.6 * WIDTH, WIDTH - MARGIN - 96.0);
/// From the end of a panel to the name of a level.
pub(super) const GAP: f64 = 9.0;
/// The band that controls hold.
const HELD_TINT: Ink = HELD.thin(0.18);
/// Something is out of order.
const DISORDER_TINT: Ink = QUIET.thin(0.25);
/// Least room between a name and the edge of the page.
pub(super) const EDGE: f64 = 6.0;

pub(super) fn page(run: &Run<'_>) -> Page {
    let mut page = Page::new(&title(run), &text::subject(run));
    let (panels, strips) = (panels(run), strips(run));
    let names = panels.iter().flat_map(|panel| &panel.levels).map(|level| level.name.as_str());
    let widest = names.chain(strips.iter().map(|(name, _)| name.as_str())).map(label_width).fold(0.0, f64::max);
    let right = (WIDTH - EDGE - GAP - widest).floor().clamp(RIGHT.0, RIGHT.1);
    let axis = TimeAxis { left: LEFT, right, first_day: run.first_day, days: run.outcome.summary.days };
    let (outs, incidents) = (spells::building_run_outs(run), spells::incidents(run));
    page.y += 4.0;
    name_spells(&mut page, &axis, incidents.iter().map(|(spell, name)| (*spell, name.as_str())), TEXT);
    name_spells(&mut page, &axis, outs.iter().map(|spell| (*spell, "no water")), TROUBLE);
    for (name, spells) in &strips {
        strip(&mut page, &axis, name, spells);
    }
    let disorder: Vec<Spell> = incidents.iter().map(|(spell, _)| *spell).collect();
    let mut dipped = false;
    for panel in &panels {
        page.y += 12.0;
        page.heading(&panel.heading);
        page.y += 4.0;
        let area = Area::new(LEFT, page.y, right, page.y + panel.height);
        dipped |= draw_panel(&mut page, run, panel, &axis, area, (&outs, &disorder));
        page.y = area.bottom;
    }
    axis.labels(&mut page);
    page.y += 4.0;
    keys(&mut page, &panels, &outs, &incidents);
    if axis.day_width() < BAND_FROM {
        page.paragraph("The bands reach from the lowest to the highest of each day.");
    } else if dipped {
        page.key("how low the pressure fell between the points of the line", curve::dip);
    }
    page
}

/// What the shadings of the panels are.
fn keys(page: &mut Page, panels: &[Panel<'_>], outs: &[Spell], incidents: &[(Spell, String)]) {
    if panels.iter().any(|panel| !panel.held.is_empty()) {
        page.key("pressure that the controls hold", |page, area| page.fill(area, HELD_TINT));
    }
    if !outs.is_empty() {
        page.key("a building had run out, until water was back", |page, area| {
            page.fill(Area { right: area.left + 4.0, ..area }, TROUBLE.thin(0.85));
            page.hatched(Area { left: area.left + 8.0, ..area }, TROUBLE);
        });
    }
    incident_key(page, incidents);
}

/// What the grey shading is, by its names.
pub(super) fn incident_key(page: &mut Page, incidents: &[(Spell, String)]) {
    let mut names: Vec<&str> = Vec::new();
    for (_, name) in incidents {
        if !names.contains(&name.as_str()) {
            names.push(name);
        }
    }
    if !names.is_empty() {
        page.key(&names.join(", "), |page, area| {
            page.fill(area, DISORDER_TINT);
            edges(page, area);
        });
    }
}

/// When the standby supply fed and the membrane unit ran, and what to call that; none where they never did.
fn strips(run: &Run<'_>) -> Vec<(String, Vec<Spell>)> {
    let mut strips = vec![
        (format!("{} feeds", standby_names(run)), spells::on_standby(run)),
        ("membrane runs".to_owned(), membrane_runs(run)),
    ];
    strips.retain(|(_, spells)| !spells.is_empty());
    strips
}

/// When the membrane unit ran; in a long run marks as many as its days would be one, and are left out.
pub(super) fn membrane_runs(run: &Run<'_>) -> Vec<Spell> {
    const FEW_DAYS: u32 = 14;
    let (days, spells) = (run.outcome.summary.days, spells::membrane_runs(run));
    if days <= FEW_DAYS || len(&spells) < u64::from(days) { spells } else { Vec::new() }
}

/// A thin strip over the panels, dark where something was so.
pub(super) fn strip(page: &mut Page, axis: &TimeAxis, name: &str, spells: &[Spell]) {
    strip_in(page, axis, name, spells, LEVEL);
}

/// The same in another colour.
pub(super) fn strip_in(page: &mut Page, axis: &TimeAxis, name: &str, spells: &[Spell], ink: Ink) {
    page.y += 0.75 * BODY;
    let area = Area::new(LEFT, page.y - 5.0, axis.right, page.y + 5.0);
    page.fill(area, STRIP);
    for mark in axis.marks_of(spells, area) {
        page.fill(mark, ink);
    }
    page.fitted_label((axis.right + GAP, page.y), name, WIDTH - EDGE - axis.right - GAP, Align::Left);
    page.y += 0.75 * BODY;
}

/// Names spells over the panels, in as many rows as they need up to a few; a name with no room is left to the key.
pub(super) fn name_spells<'n>(
    page: &mut Page,
    axis: &TimeAxis,
    named: impl Iterator<Item = (Spell, &'n str)>,
    ink: Ink,
) {
    const ROWS: usize = 3;
    const APART: f64 = 6.0;
    // Where each row is free from, and what was last named in it.
    let mut rows: Vec<(f64, &str)> = Vec::new();
    for (spell, name) in named {
        let text = fitted_strong(name, WIDTH - MARGIN - LEFT);
        let half = 0.5 * strong_width(&text);
        let middle = 0.5 * (axis.x(spell.start) + axis.x(spell.end));
        let x = middle.min(WIDTH - MARGIN - half).max(LEFT + half);
        let fits = |row: &(f64, &str)| x - half >= row.0;
        // Another spell of the same name goes without saying.
        if rows.iter().any(|row| row.1 == name && !fits(row)) {
            continue;
        }
        let row = rows.iter().position(fits).unwrap_or(rows.len());
        if row >= ROWS {
            continue;
        }
        if row == rows.len() {
            rows.push((LEFT, name));
        }
        rows[row] = (x + half + APART, name);
        let y = page.y + (f64::from(u32::try_from(row).unwrap_or(0)) + 0.5) * 1.5 * BODY;
        page.strong((x, y), &text, ink, Align::Middle);
    }
    page.y += f64::from(u32::try_from(rows.len()).unwrap_or(0)) * 1.5 * BODY;
}

/// Where an incident begins and ends.
fn edges(page: &mut Page, area: Area) {
    for x in [area.left, area.right] {
        page.line((x, area.top), (x, area.bottom), QUIET, 1.0);
    }
}

/// Shades what of a panel is within spells in which something was out of order.
pub(super) fn shade_disorder(page: &mut Page, axis: &TimeAxis, area: Area, disorder: &[Spell]) {
    for area in axis.marks_of(&spells::merged(disorder), area) {
        page.fill(area, DISORDER_TINT);
    }
    for spell in disorder {
        axis.marks_of(&[*spell], area).into_iter().for_each(|area| edges(page, area));
    }
}

/// Draws a panel; says whether it shows a dip.
pub(super) fn draw_panel(
    page: &mut Page,
    run: &Run<'_>,
    panel: &Panel<'_>,
    axis: &TimeAxis,
    area: Area,
    (outs, disorder): (&[Spell], &[Spell]),
) -> bool {
    let values = if panel.down { ValueAxis::down(area, panel.most) } else { ValueAxis::up(area, panel.most) };
    values.grid(page);
    axis.grid(page, area.top, area.bottom);
    for (low, high) in &panel.held {
        page.fill(Area { top: values.y(*high), bottom: values.y(*low), ..area }, HELD_TINT);
    }
    shade_disorder(page, axis, area, disorder);
    let dipped = curve::draw(page, &run.outcome.rows, panel, axis, &values, |page| {
        for area in axis.marks_of(outs, area) {
            page.hatched(area, TROUBLE);
        }
    });
    for level in &panel.levels {
        page.dashes((area.left, values.y(level.value)), area.right, LEVEL);
    }
    name_levels(page, &values, &panel.levels);
    dipped
}

/// Writes the names of levels at the right, moved apart where they are close, each with a line to its level.
pub(super) fn name_levels(page: &mut Page, values: &ValueAxis, levels: &[Level]) {
    const APART: f64 = 1.25 * BODY;
    let right = values.area.right;
    let mut named: Vec<(f64, f64, &str)> =
        levels.iter().map(|level| (values.y(level.value), values.y(level.value), level.name.as_str())).collect();
    named.sort_by(|a, b| a.0.total_cmp(&b.0));
    for index in 1..named.len() {
        named[index].1 = named[index].1.max(named[index - 1].1 + APART);
    }
    // Not down to the times under the last panel.
    let mut floor = values.area.bottom - 0.3 * BODY;
    for (_, y, _) in named.iter_mut().rev() {
        *y = y.min(floor);
        floor = *y - APART;
    }
    for (level_y, y, name) in named {
        page.line((right, level_y), (right + 6.0, y), LEVEL, 1.0);
        page.fitted_label((right + GAP, y), name, WIDTH - EDGE - right - GAP, Align::Left);
    }
}
