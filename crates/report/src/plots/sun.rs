//! The sunniest and the dullest day: what the sun gave through the day, over what each part took, and how full the battery was.

use jiff::civil::Date;
use springhouse_core::power::SiteFlows;
use springhouse_core::time::{Span, Time};

use super::energy::{self, Part};
use crate::chart::axis::{TimeAxis, ValueAxis};
use crate::chart::ink::{BATTERY, GRID, LEVEL, PAPER, QUIET, REST, SUN};
use crate::chart::{Align, Area, BODY, Ink, Look, MARGIN, Page, Point, WIDTH};
use crate::numbers::{J_PER_KWH, kwh, percent};
use crate::phrase::joined;
use crate::spells::{self, Spell};
use crate::{Run, calendar, days, text, words};

const LEFT: f64 = MARGIN + 34.0;
const RIGHT: f64 = WIDTH - MARGIN - 18.0;
const HEIGHT: f64 = 150.0;
const BATTERY_HEIGHT: f64 = 44.0;
/// Shorter steps than these are too narrow to be seen; in much longer ones a pump is no longer seen.
const STEPS: [Span; 3] = [minutes(15), minutes(30), Span::HOUR];
/// An axis of power reaches so far at least, kW.
const LEAST_KW: f64 = 0.5;
/// The sun's line, and the paper around it where it goes over what was taken.
const LINE: f64 = 2.5;
const AROUND: f64 = 4.5;
/// What the sun gave beyond what was taken.
const SURPLUS: Look = Look::solid(SUN.thin(0.22));
/// A strip over the hours in which the grid was out.
const OUT: Ink = LEVEL;
const OUT_HEIGHT: f64 = 6.0;
const LEVEL_TINT: Ink = BATTERY.thin(0.22);

const fn minutes(count: i64) -> Span {
    Span::from_ns(count * Span::MINUTE.ns())
}

/// A day that is shown.
struct Shown {
    date: Date,
    step: Span,
    flows: SiteFlows,
    /// What took electricity, from the foot up; kWh in each step.
    parts: Vec<Part>,
    /// What the sun gave, kWh in each step.
    sun: Vec<f64>,
    /// Energy in the battery, kWh; none without one.
    stored: Option<Vec<(Time, f64)>>,
    /// When the grid was out.
    out: Vec<Spell>,
}

/// `None` for a run without a sun and without a battery, and for one whose rows are too far apart.
pub(super) fn page(run: &Run<'_>) -> Option<Page> {
    let shown = shown(run)?;
    let has_sun = shown.iter().any(|day| day.flows.solar_j > 0.0);
    let mut page = Page::new(&title(&shown, has_sun), &text::subject(run));
    let most_kw = shown.iter().map(Shown::most_kw).fold(LEAST_KW, f64::max);
    for day in &shown {
        page.y += 12.0;
        page.heading(&format!("{}, kW", calendar::spoken_date(day.date)));
        page.paragraph(&day.said());
        page.y += 6.0 + OUT_HEIGHT;
        day.draw(&mut page, run, most_kw);
    }
    page.y += 1.1 * BODY;
    let means = shown.first().map_or_else(String::new, |day| run.units.duration(day.step.s()));
    let said = format!("time of day, local standard time; means of {means}");
    page.label((0.5 * (LEFT + RIGHT), page.y), &said, QUIET, Align::Middle);
    page.y += 1.4 * BODY;
    keys(&mut page, &shown, has_sun);
    Some(page)
}

/// The days with most and with least sun; without a sun, the one in which most came out of the battery.
fn shown(run: &Run<'_>) -> Option<Vec<Shown>> {
    let site = run.outcome.summary.energy.site.as_ref()?;
    let has_battery = run.scenario.plant.power.battery.is_some();
    let [first, second, ..] = run.outcome.rows.as_slice() else { return None };
    let apart = second.time - first.time;
    let step = STEPS.into_iter().find(|step| apart <= *step).filter(|_| site.solar_kwh > 0.0 || has_battery)?;
    let numbered = |of: fn(&SiteFlows) -> f64| (0_u32..).zip(days::gained(run, move |totals| of(&totals.site)));
    let by_value = |a: &(u32, f64), b: &(u32, f64)| a.1.total_cmp(&b.1);
    let chosen = if site.solar_kwh > 0.0 {
        // Of days alike the first.
        let sunniest = numbered(|flows| flows.solar_j).collect::<Vec<_>>().into_iter().rev().max_by(by_value)?;
        let dullest = numbered(|flows| flows.solar_j).min_by(by_value)?;
        let mut chosen = vec![sunniest.0, dullest.0];
        chosen.dedup();
        chosen
    } else {
        vec![numbered(|flows| flows.discharged_j).collect::<Vec<_>>().into_iter().rev().max_by(by_value)?.0]
    };
    Some(chosen.into_iter().map(|day| Shown::of(run, day, step)).collect())
}

impl Shown {
    fn of(run: &Run<'_>, day: u32, step: Span) -> Self {
        let (from, to) = (Time::from_day(i64::from(day)), Time::from_day(i64::from(day) + 1));
        let site = |stretch: Span, of: fn(&SiteFlows) -> f64| {
            days::gained_from(run, (from, to), stretch, |row| of(&row.totals.site))
        };
        let sum = |of: fn(&SiteFlows) -> f64| site(Span::DAY, of).into_iter().fold(0.0, |sum, value| sum + value);
        let by_step_kwh = |of: fn(&SiteFlows) -> f64| site(step, of).into_iter().map(|j| j / J_PER_KWH).collect();
        let rest = Part { name: "rest of the house".to_owned(), look: REST, kwh: by_step_kwh(|flows| flows.other_j) };
        let of_plant = energy::parts(run, &|total| days::gained_from(run, (from, to), step, |row| total(&row.totals)));
        let rows = run.outcome.rows.iter().filter(|row| (from..=to).contains(&row.time));
        let stored = rows.map(|row| (since(row.time, from), row.stored_j / J_PER_KWH)).collect();
        let within =
            |spell: Spell| Spell { start: since(spell.start.max(from), from), end: since(spell.end.min(to), from) };
        let out = spells::grid_out(run).into_iter().map(within).filter(|spell| spell.end > spell.start);
        Self {
            date: calendar::date(run.first_day, i64::from(day)),
            step,
            flows: SiteFlows {
                solar_j: sum(|flows| flows.solar_j),
                plant_j: sum(|flows| flows.plant_j),
                other_j: sum(|flows| flows.other_j),
                direct_j: sum(|flows| flows.direct_j),
                charged_j: sum(|flows| flows.charged_j),
                discharged_j: sum(|flows| flows.discharged_j),
                imported_j: sum(|flows| flows.imported_j),
                exported_j: sum(|flows| flows.exported_j),
                curtailed_j: sum(|flows| flows.curtailed_j),
                generated_j: sum(|flows| flows.generated_j),
                ..SiteFlows::default()
            },
            parts: core::iter::once(rest).chain(of_plant).collect(),
            sun: by_step_kwh(|flows| flows.solar_j),
            stored: run.scenario.plant.power.battery.map(|_| stored),
            out: out.collect(),
        }
    }

    /// The hour of the day.
    fn axis(&self) -> TimeAxis {
        TimeAxis { left: LEFT, right: RIGHT, first_day: self.date, days: 1 }
    }

    /// Mean power of what was taken in a step, kW.
    fn kw(&self, step_kwh: f64) -> f64 {
        step_kwh * 3_600.0 / self.step.s()
    }

    /// What all parts took in each step, kWh.
    fn taken(&self) -> Vec<f64> {
        let of_step = |index: usize| self.parts.iter().filter_map(|part| part.kwh.get(index)).sum();
        (0..self.sun.len()).map(of_step).collect()
    }

    fn most_kw(&self) -> f64 {
        self.taken().iter().chain(&self.sun).map(|kwh| self.kw(*kwh)).fold(0.0, f64::max)
    }

    /// Where the sun went, and what else there was.
    fn said(&self) -> String {
        let flows = &self.flows;
        let of_sun =
            |what: &str, part_j: f64| (part_j > 0.0).then(|| format!("{} {what}", percent(part_j / flows.solar_j)));
        let mut said = Vec::new();
        if flows.solar_j > 0.0 {
            let shares = [
                of_sun("used on the site", flows.used_on_site_j()),
                of_sun("exported", flows.exported_j),
                of_sun("lost while the grid was out", flows.curtailed_j),
            ];
            let shares: Vec<String> = shares.into_iter().flatten().collect();
            said.push(format!("{} of sun: {}.", kwh(flows.solar_j / J_PER_KWH), shares.join(", ")));
        }
        let gave = [
            (flows.direct_j, "straight from the sun"),
            (flows.discharged_j, "from the battery"),
            (flows.imported_j, "from the grid"),
            (flows.generated_j, "from the generator"),
        ];
        let gave = gave.into_iter().filter(|(j, _)| *j > 0.0);
        let gave: Vec<String> = gave.map(|(j, what)| format!("{} {what}", kwh(j / J_PER_KWH))).collect();
        let gave = joined(&gave.iter().map(String::as_str).collect::<Vec<_>>());
        let gave = if gave.is_empty() { String::new() } else { format!(": {gave}") };
        said.push(format!("{} were taken{gave}.", kwh(flows.load_j() / J_PER_KWH)));
        said.join(" ")
    }

    fn draw(&self, page: &mut Page, run: &Run<'_>, most_kw: f64) {
        let axis = self.axis();
        for mark in axis.marks_of(&self.out, Area::new(LEFT, page.y - OUT_HEIGHT, RIGHT, page.y)) {
            page.fill(mark, OUT);
        }
        let area = Area::new(LEFT, page.y, RIGHT, page.y + HEIGHT);
        let values = ValueAxis::up(area, most_kw);
        grid(page, &axis, &values);
        let mut foot = vec![0.0; self.sun.len()];
        for part in &self.parts {
            let top: Vec<f64> = foot.iter().zip(&part.kwh).map(|(foot, kwh)| foot + kwh).collect();
            page.cover_steps(&self.steps(&axis, &values, &foot, &top), part.look);
            foot = top;
        }
        let sunnier: Vec<f64> = foot.iter().zip(&self.sun).map(|(taken, sun)| sun.max(*taken)).collect();
        page.cover_steps(&self.steps(&axis, &values, &foot, &sunnier), SURPLUS);
        // The rest of the house is pale: an edge tells where it ends.
        if let Some(rest) = self.parts.first().filter(|rest| rest.kwh.iter().any(|kwh| *kwh > 0.0)) {
            page.path(self.edge(&axis, &values, &rest.kwh), QUIET, 1.0);
        }
        if self.flows.solar_j > 0.0 {
            let line = self.sun_line(&axis, &values);
            page.path(line.clone(), PAPER, AROUND);
            page.path(line, SUN, LINE);
        }
        page.line((area.left, area.bottom), (area.right, area.bottom), QUIET, 1.0);
        page.y = area.bottom;
        self.draw_battery(page, run, &axis);
        clock(page, &axis);
    }

    /// The battery's level, up to what it can hold.
    fn draw_battery(&self, page: &mut Page, run: &Run<'_>, axis: &TimeAxis) {
        let (Some(stored), Some(battery)) = (&self.stored, &run.scenario.plant.power.battery) else { return };
        page.y += BODY;
        page.label((LEFT, page.y), "in the battery, kWh", QUIET, Align::Left);
        page.y += 0.8 * BODY;
        let area = Area::new(LEFT, page.y, RIGHT, page.y + BATTERY_HEIGHT);
        let values = ValueAxis::up(area, battery.capacity_j / J_PER_KWH);
        grid(page, axis, &values);
        let line: Vec<Point> = stored.iter().map(|(time, kwh)| (axis.x(*time), values.y(*kwh))).collect();
        if let (Some(first), Some(last)) = (line.first(), line.last()) {
            let under = [(last.0, area.bottom), (first.0, area.bottom)];
            page.polygon(line.iter().copied().chain(under).collect(), LEVEL_TINT);
            page.path(line, BATTERY, 1.75);
        }
        page.line((area.left, area.bottom), (area.right, area.bottom), QUIET, 1.0);
        page.y = area.bottom;
    }

    fn step_x(&self, axis: &TimeAxis, step: usize) -> f64 {
        let step = i64::try_from(step).unwrap_or(i64::MAX);
        axis.x(Time::from_ns(self.step.ns().saturating_mul(step)))
    }

    /// The room between two heights in each step.
    fn steps(&self, axis: &TimeAxis, values: &ValueAxis, foot: &[f64], top: &[f64]) -> Vec<Area> {
        let y = |kwh: f64| values.y(self.kw(kwh));
        let area = |(index, (foot, top)): (usize, (&f64, &f64))| {
            Area::new(self.step_x(axis, index), y(*top), self.step_x(axis, index + 1), y(*foot))
        };
        foot.iter().zip(top).enumerate().map(area).collect()
    }

    /// The sun from when it rises to when it sets.
    fn sun_line(&self, axis: &TimeAxis, values: &ValueAxis) -> Vec<Point> {
        let mut line = self.edge(axis, values, &self.sun);
        let foot = values.y(0.0);
        let shines = |point: &Point| point.1 < foot;
        let (Some(first), Some(last)) = (line.iter().position(shines), line.iter().rposition(shines)) else {
            return Vec::new();
        };
        line.truncate(last + 1);
        let up = (line[first].0, foot);
        let down = (line[last].0, foot);
        core::iter::once(up).chain(line.drain(first..)).chain([down]).collect()
    }

    /// A line that goes up and down between steps.
    fn edge(&self, axis: &TimeAxis, values: &ValueAxis, by_step: &[f64]) -> Vec<Point> {
        let along = by_step.iter().enumerate().flat_map(|(index, kwh)| {
            let y = values.y(self.kw(*kwh));
            [(self.step_x(axis, index), y), (self.step_x(axis, index + 1), y)]
        });
        along.collect()
    }
}

/// Since the midnight of a day.
fn since(time: Time, midnight: Time) -> Time {
    Time::ZERO + (time - midnight)
}

/// Values, and every fourth hour.
fn grid(page: &mut Page, axis: &TimeAxis, values: &ValueAxis) {
    values.grid(page);
    let area = values.area;
    for hour in HOURS {
        let x = axis.x(Time::from_s(3_600.0 * f64::from(hour)));
        page.line((x, area.top), (x, area.bottom), GRID, 1.0);
    }
}

const HOURS: [u32; 7] = [0, 4, 8, 12, 16, 20, 24];

/// Times of day under a panel.
fn clock(page: &mut Page, axis: &TimeAxis) {
    page.y += 1.15 * BODY;
    for hour in HOURS {
        let x = axis.x(Time::from_s(3_600.0 * f64::from(hour)));
        page.label((x, page.y), &format!("{:02}:00", hour % 24), QUIET, Align::Middle);
    }
    page.y += 0.8 * BODY;
}

/// What stands on what, from the top down, with the energy of each day.
fn keys(page: &mut Page, shown: &[Shown], has_sun: bool) {
    let each = |of: &dyn Fn(&Shown) -> f64| {
        let said: Vec<String> = shown.iter().map(|day| kwh(of(day))).collect();
        joined(&said.iter().map(String::as_str).collect::<Vec<_>>())
    };
    if has_sun {
        let said = format!("power of the panels behind their inverter: {}", each(&|day| day.flows.solar_j / J_PER_KWH));
        page.key(&said, |page, area| {
            let y = 0.5 * (area.top + area.bottom);
            page.line((area.left, y), (area.right, y), SUN, LINE);
        });
        let any = |of: fn(&SiteFlows) -> f64| shown.iter().any(|day| of(&day.flows) > 0.0);
        let gone = [
            (any(|flows| flows.charged_j), "into the battery"),
            (any(|flows| flows.exported_j), "to the grid"),
            (any(|flows| flows.curtailed_j), "lost while the grid was out"),
        ];
        let gone: Vec<&str> = gone.into_iter().filter(|(is, _)| *is).map(|(_, where_to)| where_to).collect();
        let spare = format!("more sun than was taken: {}", gone.join(", "));
        page.key(&spare, |page, area| page.cover(area, SURPLUS));
    }
    let Some(first) = shown.first() else { return };
    for (index, part) in first.parts.iter().enumerate().rev() {
        let taken = |day: &Shown| day.parts.get(index).map_or(0.0, |part| part.kwh.iter().sum::<f64>());
        if shown.iter().any(|day| taken(day) > 0.0) {
            page.key(&format!("{}: {}", part.name, each(&taken)), |page, area| page.cover(area, part.look));
        }
    }
    if shown.iter().any(|day| !day.out.is_empty()) {
        page.key(words::GRID_OUT, |page, area| {
            let middle = 0.5 * (area.top + area.bottom);
            page.fill(Area { top: middle - 0.5 * OUT_HEIGHT, bottom: middle + 0.5 * OUT_HEIGHT, ..area }, OUT);
        });
    }
}

/// How much sun there was on each day, and what part of it was used; else what the battery gave.
fn title(shown: &[Shown], has_sun: bool) -> String {
    let said = |day: &Shown| {
        let date = format!("{} {}", day.date.day(), calendar::month(day.date));
        let (flows, of) = (&day.flows, |j: f64| kwh(j / J_PER_KWH));
        if !has_sun {
            let (given, all) = (of(flows.discharged_j), of(flows.load_j()));
            return format!("{date}: the battery gave {given} of the {all} that were taken");
        }
        match flows.own_use_share() {
            Some(share) => format!("{date}: {} of sun, {} used on the site", of(flows.solar_j), percent(share)),
            None => format!("{date}: no sun"),
        }
    };
    shown.iter().map(said).collect::<Vec<_>>().join("; ")
}
