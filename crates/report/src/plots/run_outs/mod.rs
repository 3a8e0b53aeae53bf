//! When each building and raw load had no water, and how much of what it wanted did not come, day by day.

mod title;

use springhouse_core::outlet::{Outlet, Role};
use springhouse_core::time::Time;

use crate::chart::axis::{TimeAxis, ValueAxis};
use crate::chart::bars::{Bars, Each};
use crate::chart::ink::{CARE, GRID, QUIET, STRIP, TEXT, TROUBLE};
use crate::chart::{Align, Area, BODY, Ink, Look, MARGIN, Page, WIDTH, label_width};
use crate::numbers::{Scale, fixed, len, number, times};
use crate::spells::{self, Spell};
use crate::{Run, days, text};

const STRIP_HEIGHT: f64 = 20.0;
const BARS_HEIGHT: f64 = 46.0;

const DRY: Look = Look::solid(TROUBLE);
const LOW: Look = Look::hatched(CARE);
const MISSING: Look = Look::solid(TROUBLE.thin(0.55));

/// Less missing water than this is not worth a word or a bar, in litres as in gallons.
const LEAST: f64 = 0.5;

/// A building or raw load: when it had no water, and what it missed.
struct Lane<'a> {
    outlet: &'a Outlet,
    spells: Vec<Spell>,
    /// How often, and for how long in all: an event that ends a spell comes a little after its end.
    run_outs: u64,
    run_out_s: f64,
    delivered_l: f64,
    /// Water missing in all, with what volume draws still waited for at the end.
    short_l: f64,
    /// What timed draws missed in each day, in the reader's unit.
    missed: Vec<f64>,
}

impl Lane<'_> {
    fn is_short(&self) -> bool {
        self.short_l >= LEAST
    }

    /// Whether bars of what was missed would show anything.
    fn has_missed(&self) -> bool {
        self.missed.iter().sum::<f64>() >= LEAST
    }

    fn is_amiss(&self) -> bool {
        self.is_short() || !self.spells.is_empty()
    }

    fn name(&self) -> String {
        match self.outlet.role {
            Role::RawLoad => format!("{} (raw load)", self.outlet.name),
            Role::Building | Role::Backwash | Role::Leak => self.outlet.name.clone(),
        }
    }
}

/// All that want water: nobody misses what a leak does not lose.
fn lanes<'a>(run: &Run<'a>) -> Vec<Lane<'a>> {
    let litres = Scale::volume(run.units);
    let outlets = run.scenario.plant.outlets.iter().zip(&run.outcome.summary.outlets).enumerate();
    outlets
        .filter(|(_, (outlet, _))| outlet.role != Role::Leak)
        .map(|(index, (outlet, figures))| Lane {
            outlet,
            spells: spells::run_outs(run, index),
            run_outs: figures.run_outs,
            run_out_s: 60.0 * figures.run_out_minutes,
            delivered_l: figures.delivered_l,
            short_l: figures.short_l,
            missed: days::gained(run, |totals| totals.outlets.get(index).map_or(0.0, |of| litres.value(of.lost_l))),
        })
        .collect()
}

pub(super) fn page(run: &Run<'_>) -> Page {
    let (lanes, low) = (lanes(run), spells::low_pressure(run));
    let mut page = Page::new(&title::title(run, &lanes, !low.is_empty()), &text::subject(run));
    let dry = lanes.iter().any(|lane| !lane.spells.is_empty());
    if !dry {
        statement(&mut page, run, &lanes);
    }
    let days = run.outcome.summary.days;
    // One day's bar would tell no more than the figure beside the name.
    let has_bars = days > 1 && lanes.iter().any(Lane::has_missed);
    if !(dry || has_bars || !low.is_empty()) {
        return page;
    }
    page.y += 8.0;
    // Bars have numbers at their left.
    let left = if has_bars { MARGIN + 42.0 } else { MARGIN + 8.0 };
    let axis = TimeAxis { left, right: WIDTH - MARGIN - 8.0, first_day: run.first_day, days };
    let bars = Bars::new(&axis);
    // One scale for all, so that bars compare.
    let sums: Vec<Vec<f64>> = lanes.iter().map(|lane| bars.sums(&lane.missed)).collect();
    let most = sums.iter().flatten().copied().fold(1.0, f64::max);
    for (lane, sums) in lanes.iter().zip(&sums).filter(|(lane, _)| dry || (has_bars && lane.has_missed())) {
        heading(&mut page, &axis, &lane.name(), &said(run, lane), if lane.is_amiss() { TEXT } else { QUIET });
        if dry {
            strip(&mut page, &axis, &lane.spells, DRY);
        }
        if has_bars && lane.has_missed() {
            amounts(&mut page, &bars, &axis, sums, most);
        }
    }
    if !low.is_empty() {
        heading(&mut page, &axis, "Low pressure", &often(run, len(&low), low_s(run)), TEXT);
        strip(&mut page, &axis, &low, LOW);
    }
    axis.labels(&mut page);
    page.y += 4.0;
    key(&mut page, run, &axis, bars.each, [dry, has_bars, !low.is_empty()]);
    page
}

fn key(page: &mut Page, run: &Run<'_>, axis: &TimeAxis, each: Each, [dry, has_bars, low]: [bool; 3]) {
    if dry {
        let words = "less than half of what was wanted, until water was back";
        page.key(words, |page, area| page.cover(area, DRY));
    }
    if has_bars {
        let (unit, each) = (Scale::volume(run.units).unit, each.name());
        let words = format!("wanted by timed draws and never to come, {unit} a {each}; a volume draw waits instead");
        page.key(&words, |page, area| page.cover(area, MISSING));
    }
    if low {
        page.key("pressure under what the controls hold", |page, area| page.cover(area, LOW));
    }
    if (dry || low) && has_times(axis) {
        page.paragraph("The time under a strip is that day's.");
    }
}

/// How often, and for how long in all.
fn often(run: &Run<'_>, count: u64, time_s: f64) -> String {
    let long = run.units.duration(time_s);
    if count == 1 { long } else { format!("{}, {long} in all", times(count)) }
}

/// Time with low pressure.
fn low_s(run: &Run<'_>) -> f64 {
    60.0 * run.outcome.summary.pressure.minutes_below_set
}

/// What stands beside the name of a lane.
fn said(run: &Run<'_>, lane: &Lane<'_>) -> String {
    let missing = lane.is_short().then(|| format!("{} missing", run.units.volume(lane.short_l)));
    let out = (!lane.spells.is_empty()).then(|| often(run, lane.run_outs, lane.run_out_s));
    match (out, missing) {
        (None, None) => "no run-out".to_owned(),
        (out, missing) => [out, missing].into_iter().flatten().collect::<Vec<_>>().join("; "),
    }
}

/// Says what did come, where nothing ran out: a line for each outlet, and how low the pressure fell.
fn statement(page: &mut Page, run: &Run<'_>, lanes: &[Lane<'_>]) {
    let units = run.units;
    let (left, right) = (MARGIN + 8.0, WIDTH - MARGIN - 8.0);
    let mut lines: Vec<(String, String)> = Vec::new();
    for lane in lanes {
        let missing = if lane.is_short() {
            format!("{} did not", units.volume(lane.short_l))
        } else {
            "nothing was short".to_owned()
        };
        let came = units.volume(lane.delivered_l);
        lines.push((lane.name(), format!("{came} came, {missing}")));
    }
    let lowest = units.pressure(run.outcome.summary.pressure.lowest_kpa);
    let held = format!("{} {}", run.held_name(), units.pressure(run.held_kpa()));
    let place = run.pressure_place().unwrap_or("to the buildings");
    lines.push((format!("Lowest pressure {place}"), format!("{lowest}; {held}")));
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

/// A name and figures on one line.
fn heading(page: &mut Page, axis: &TimeAxis, name: &str, said: &str, ink: Ink) {
    page.y += BODY;
    let left = MARGIN + 8.0;
    page.fitted_label((left, page.y), name, axis.right - left - label_width(said) - 12.0, Align::Left);
    page.label((axis.right, page.y), said, ink, Align::Right);
    page.y += 0.8 * BODY;
}

/// Spells, and minutes of each day under them where days are wide enough.
fn strip(page: &mut Page, axis: &TimeAxis, spells: &[Spell], look: Look) {
    let area = Area::new(axis.left, page.y, axis.right, page.y + STRIP_HEIGHT);
    page.fill(area, STRIP);
    axis.grid(page, area.top, area.bottom);
    for mark in axis.marks_of(spells, area) {
        page.cover(mark, look);
    }
    page.line((area.left, area.bottom), (area.right, area.bottom), GRID, 1.0);
    page.y = area.bottom;
    daily(page, axis, spells);
}

/// What was missed, as bars with their numbers.
fn amounts(page: &mut Page, bars: &Bars, axis: &TimeAxis, sums: &[f64], most: f64) {
    let has_numbers = bars.have_room(sums, amount);
    page.y += if has_numbers { 1.4 * BODY } else { 0.6 * BODY };
    let area = Area::new(axis.left, page.y, axis.right, page.y + BARS_HEIGHT);
    let values = ValueAxis::up(area, most);
    values.grid(page);
    bars.draw(page, &values, sums, |_| MISSING);
    if has_numbers {
        bars.numbers(page, &values, sums, amount);
    }
    page.y = area.bottom + 8.0;
}

/// Short enough for a bar.
fn amount(value: f64) -> String {
    match value {
        v if v < 0.05 => "<0.1".to_owned(),
        v if v < 9.95 => number((10.0 * v).round() / 10.0),
        v => fixed(v, 0),
    }
}

/// Whether days are wide enough for a time under each.
fn has_times(axis: &TimeAxis) -> bool {
    axis.day_width() >= label_width(WIDEST) && axis.days > 1
}

/// Minutes in each day, under it.
fn daily(page: &mut Page, axis: &TimeAxis, spells: &[Spell]) {
    if !has_times(axis) || spells.is_empty() {
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ready::Ready;

    #[test]
    fn days_add_up_to_what_was_short() {
        let ready = Ready::run("two-wells", 7);
        let run = ready.told();
        let lanes = lanes(&run);
        // Those that the burst pipe of the scenario is not of.
        let names: Vec<&str> = lanes.iter().map(|lane| lane.outlet.name.as_str()).collect();
        assert_eq!(names, ["house", "cottage", "garden", "iron filter backwash", "softener backwash"]);
        let litres = Scale::volume(run.units);
        for lane in &lanes {
            let sum: f64 = lane.missed.iter().sum();
            // No volume draw still waits at that midnight; a few roundings of the running total.
            assert!((sum - litres.value(lane.short_l)).abs() < 1e-9, "{}: {sum} gal {} L", lane.name(), lane.short_l);
        }
        // The garden is watered on Monday, Wednesday and Friday.
        let garden: Vec<bool> = lanes[2].missed.iter().map(|missed| *missed > 10.0).collect();
        assert_eq!(garden, [true, false, true, false, true, false, false]);
    }

    #[test]
    fn exact_amounts_are_short() {
        let cases = [(0.01, "<0.1"), (0.26, "0.3"), (8.0, "8"), (9.96, "10"), (412.6, "413")];
        for (value, text) in cases {
            assert_eq!(amount(value), text);
        }
    }
}
