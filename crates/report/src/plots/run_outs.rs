//! When each building and raw load had no water, day by day.

use springhouse_core::outlet::{Outlet, Role};
use springhouse_core::time::Time;

use super::each_day;
use crate::chart::axis::TimeAxis;
use crate::chart::ink::{CARE, GRID, QUIET, STRIP, TEXT, TROUBLE};
use crate::chart::{Align, Area, BODY, Ink, MARGIN, Page, WIDTH, label_width};
use crate::numbers::{len, times};
use crate::spells::{self, Spell};
use crate::{Run, text};

const STRIP_HEIGHT: f64 = 20.0;

/// One strip: what it is about, and when.
struct Strip {
    name: String,
    spells: Vec<Spell>,
    ink: Ink,
    hatched: bool,
}

pub(super) fn page(run: &Run<'_>) -> Page {
    let mut strips: Vec<Strip> = Vec::new();
    for (index, outlet) in run.scenario.plant.outlets.iter().enumerate() {
        let spells = spells::run_outs(run, index);
        strips.push(Strip { name: name(outlet), spells, ink: TROUBLE, hatched: false });
    }
    let dry = strips.iter().any(|strip| !strip.spells.is_empty());
    let low = spells::low_pressure(run);
    let weak = !low.is_empty();
    if weak {
        strips.push(Strip { name: "Low pressure".to_owned(), spells: low, ink: CARE, hatched: true });
    }
    let mut page = Page::new(&title(run, &strips), &text::subject(run));
    if !dry {
        statement(&mut page, run);
    }
    if !(dry || weak) {
        return page;
    }
    page.y += 8.0;
    let days = run.outcome.summary.days;
    let axis = TimeAxis { left: MARGIN + 8.0, right: WIDTH - MARGIN - 8.0, first_day: run.first_day, days };
    for strip in strips.iter().filter(|strip| dry || !strip.spells.is_empty()) {
        draw_strip(&mut page, run, &axis, strip);
    }
    axis.labels(&mut page);
    page.y += 4.0;
    if dry {
        page.key("less than half of what was wanted, until water was back", |page, area| page.fill(area, TROUBLE));
    }
    if weak {
        page.key("pressure under what the controls hold", |page, area| page.hatched(area, CARE));
    }
    if axis.day_width() >= label_width(WIDEST) && days > 1 {
        page.paragraph("The time under a strip is that day's.");
    }
    page
}

fn name(outlet: &Outlet) -> String {
    match outlet.role {
        Role::Building => outlet.name.clone(),
        Role::RawLoad | Role::Backwash => format!("{} (raw load)", outlet.name),
        Role::Leak => format!("{} (leak)", outlet.name),
    }
}

fn total_s(spells: &[Spell]) -> f64 {
    spells.iter().map(|spell| spell.length_s()).sum()
}

fn often(run: &Run<'_>, spells: &[Spell]) -> String {
    let long = run.units.duration(total_s(spells));
    if spells.len() == 1 { long } else { format!("{}, {long} in all", times(len(spells))) }
}

fn title(run: &Run<'_>, strips: &[Strip]) -> String {
    let dry: Vec<&Strip> = strips.iter().filter(|strip| !strip.hatched && !strip.spells.is_empty()).collect();
    match dry.as_slice() {
        [] if strips.iter().any(|strip| strip.hatched) => {
            let low_s = strips.iter().filter(|strip| strip.hatched).map(|strip| total_s(&strip.spells)).sum();
            let held = format!("{} ({})", run.held_name(), run.units.pressure(run.held_kpa()));
            format!("No run-outs, but pressure was under {held} for {}", each_day(run, low_s))
        }
        [] if run.outcome.summary.water.short_l > 0.0 => "No run-outs, but not all the water wanted came".to_owned(),
        [] => "No run-outs: water came when wanted".to_owned(),
        [one] => match one.spells.len() {
            1 => format!("{} ran out of water once, for {}", one.name, often(run, &one.spells)),
            _ => format!("{} ran out of water {}", one.name, often(run, &one.spells)),
        },
        several => {
            let spells: Vec<Spell> = several.iter().flat_map(|strip| strip.spells.iter().copied()).collect();
            let of = strips.iter().filter(|strip| !strip.hatched).count();
            let out = if several.len() == of { format!("All {of}") } else { format!("{} of {of}", several.len()) };
            format!("{out} ran out of water: {}", often(run, &spells))
        }
    }
}

/// Says what did come, where nothing ran out: a line for each outlet, and how low the pressure fell.
fn statement(page: &mut Page, run: &Run<'_>) {
    let units = run.units;
    let (left, right) = (MARGIN + 8.0, WIDTH - MARGIN - 8.0);
    let mut lines: Vec<(String, String)> = Vec::new();
    for (outlet, summary) in run.scenario.plant.outlets.iter().zip(&run.outcome.summary.outlets) {
        let missing = match summary.short_l {
            short_l if short_l > 0.0 => format!("{} did not", units.volume(short_l)),
            _ => "nothing was short".to_owned(),
        };
        lines.push((name(outlet), format!("{} came, {missing}", units.volume(summary.delivered_l))));
    }
    let lowest = units.pressure(run.outcome.summary.pressure.lowest_kpa);
    let held = format!("{} {}", run.held_name(), units.pressure(run.held_kpa()));
    lines.push(("Lowest pressure to the buildings".to_owned(), format!("{lowest}; {held}")));
    page.y += 8.0;
    for (name, said) in lines {
        let line = Area::new(left, page.y, right, page.y + 1.6 * BODY);
        page.fill(Area { bottom: line.bottom - 2.0, ..line }, STRIP);
        page.y += 0.75 * BODY;
        page.fitted_label((left + 6.0, page.y), &name, right - left - label_width(&said) - 24.0, Align::Left);
        page.label((right - 6.0, page.y), &said, TEXT, Align::Right);
        page.y = line.bottom;
    }
}

/// A name and figures on one line, the strip under it, and minutes of each day where days are wide enough.
fn draw_strip(page: &mut Page, run: &Run<'_>, axis: &TimeAxis, strip: &Strip) {
    page.y += BODY;
    let said = if strip.spells.is_empty() { "no run-out".to_owned() } else { often(run, &strip.spells) };
    let room = axis.right - axis.left - label_width(&said) - 12.0;
    page.fitted_label((axis.left, page.y), &strip.name, room, Align::Left);
    page.label((axis.right, page.y), &said, if strip.spells.is_empty() { QUIET } else { TEXT }, Align::Right);
    page.y += 0.8 * BODY;
    let area = Area::new(axis.left, page.y, axis.right, page.y + STRIP_HEIGHT);
    page.fill(area, STRIP);
    axis.grid(page, area.top, area.bottom);
    mark(page, axis, strip, area);
    page.line((area.left, area.bottom), (area.right, area.bottom), GRID, 1.0);
    page.y = area.bottom;
    daily(page, axis, &strip.spells);
}

fn mark(page: &mut Page, axis: &TimeAxis, strip: &Strip, within: Area) {
    for area in axis.marks_of(&strip.spells, within) {
        if strip.hatched { page.hatched(area, strip.ink) } else { page.fill(area, strip.ink) }
    }
}

/// Minutes in each day, under it.
fn daily(page: &mut Page, axis: &TimeAxis, spells: &[Spell]) {
    if axis.day_width() < label_width(WIDEST) || axis.days == 1 || spells.is_empty() {
        return;
    }
    page.y += 0.75 * BODY;
    for day in 0..axis.days {
        let (from, to) = (Time::from_day(i64::from(day)), Time::from_day(i64::from(day) + 1));
        let within = |spell: &Spell| (spell.end.min(to) - spell.start.max(from)).s().max(0.0);
        let out_s: f64 = spells.iter().map(within).sum();
        if out_s > 0.0 {
            let x = 0.5 * (axis.x(from) + axis.x(to));
            page.label((x, page.y), &daily_text(out_s), TEXT, Align::Middle);
        }
    }
    page.y += 0.7 * BODY;
}

/// The widest text that stands under a day.
const WIDEST: &str = "59 min";

/// Short enough for a day's width.
fn daily_text(time_s: f64) -> String {
    if time_s < 5_970.0 { format!("{:.0} min", time_s / 60.0) } else { format!("{:.1} h", time_s / 3_600.0) }
}
