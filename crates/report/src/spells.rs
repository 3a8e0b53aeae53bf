//! Spells of time read from the events of a run: without water, with the pump running, with something out of order.

use springhouse_core::observe::{Event, EventKind, Part, Trouble};
use springhouse_core::outlet::Role;
use springhouse_core::time::Time;
use springhouse_sim::{HeaterNow, Row, since};

use crate::{Run, words};

/// From `start` up to `end`.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Spell {
    pub(crate) start: Time,
    pub(crate) end: Time,
}

impl Spell {
    pub(crate) fn length_s(self) -> f64 {
        (self.end - self.start).s()
    }
}

/// The end of a run.
pub(crate) fn end(run: &Run<'_>) -> Time {
    Time::from_day(i64::from(run.outcome.summary.days))
}

/// Spells between edges; `edge` says whether an event begins (`true`) or ends one.
///
/// A spell that began before the run begins with it; one that is still open ends with it.
fn between(run: &Run<'_>, edge: impl Fn(&Event) -> Option<bool>) -> Vec<Spell> {
    let mut spells = Vec::new();
    let mut open = None;
    let mut seen = false;
    for event in &run.outcome.events {
        match edge(event) {
            Some(true) => open = open.or(Some(event.time)),
            Some(false) => {
                let start = open.take().or(if seen { None } else { Some(Time::ZERO) });
                spells.extend(start.map(|start| Spell { start, end: event.time }));
            }
            None => continue,
        }
        seen = true;
    }
    spells.extend(open.map(|start| Spell { start, end: end(run) }));
    spells.retain(|spell| spell.end > spell.start);
    spells
}

/// When outlet `index` had run out.
pub(crate) fn run_outs(run: &Run<'_>, index: usize) -> Vec<Spell> {
    between(run, |event| match (event.part, event.kind) {
        (Part::Outlet(i), EventKind::RunOutBegins) if i == index => Some(true),
        (Part::Outlet(i), EventKind::RunOutEnds) if i == index => Some(false),
        _ => None,
    })
}

/// When some building had run out; spells that touch are one.
pub(crate) fn building_run_outs(run: &Run<'_>) -> Vec<Spell> {
    let outlets = run.scenario.plant.outlets.iter().enumerate();
    let buildings = outlets.filter(|(_, outlet)| outlet.role == Role::Building);
    merged(&buildings.flat_map(|(index, _)| run_outs(run, index)).collect::<Vec<_>>())
}

/// The same times, in order; spells that touch are one.
pub(crate) fn merged(spells: &[Spell]) -> Vec<Spell> {
    let mut spells = spells.to_vec();
    spells.sort_by_key(|spell| (spell.start, spell.end));
    let mut merged: Vec<Spell> = Vec::new();
    for spell in spells {
        match merged.last_mut() {
            Some(last) if spell.start <= last.end => last.end = last.end.max(spell.end),
            _ => merged.push(spell),
        }
    }
    merged
}

/// When pressure to the buildings was low.
pub(crate) fn low_pressure(run: &Run<'_>) -> Vec<Spell> {
    between(run, |event| match event.kind {
        EventKind::PressureLow => Some(true),
        EventKind::PressureBack => Some(false),
        _ => None,
    })
}

/// When something was out of order, with a name for it, in order of their start: incidents, pipes that burst, and a membrane
/// unit that was locked out.
pub(crate) fn incidents(run: &Run<'_>) -> Vec<(Spell, String)> {
    let mut kinds: Vec<(Part, Trouble)> = Vec::new();
    for event in &run.outcome.events {
        if let EventKind::IncidentBegins(trouble) | EventKind::IncidentEnds(trouble) = event.kind
            && !kinds.contains(&(event.part, trouble))
        {
            kinds.push((event.part, trouble));
        }
    }
    let mut all: Vec<(Spell, String)> = Vec::new();
    for (part, trouble) in kinds {
        let name = match trouble {
            Trouble::PowerOut if has_backup(run) => words::GRID_OUT.to_owned(),
            _ => words::incident(&run.scenario.plant, part, trouble),
        };
        let spells = between(run, |event| match event.kind {
            EventKind::IncidentBegins(begun) => (event.part == part && begun == trouble).then_some(true),
            EventKind::IncidentEnds(over) => (event.part == part && over == trouble).then_some(false),
            _ => None,
        });
        all.extend(spells.into_iter().map(|spell| (spell, name.clone())));
    }
    if has_backup(run) {
        all.extend(power_out(run).into_iter().map(|spell| (spell, words::NO_POWER.to_owned())));
    }
    all.extend(bursts(run));
    all.extend(membrane_lock_outs(run).into_iter().map(|spell| (spell, words::LOCKED_OUT.to_owned())));
    all.sort_by_key(|(spell, _)| spell.start);
    all
}

/// Whether a battery or generator stands behind the grid.
pub(crate) fn has_backup(run: &Run<'_>) -> bool {
    run.scenario.plant.power.has_backup()
}

/// When the grid was out.
pub(crate) fn grid_out(run: &Run<'_>) -> Vec<Spell> {
    between(run, |event| match event.kind {
        EventKind::IncidentBegins(Trouble::PowerOut) => Some(true),
        EventKind::IncidentEnds(Trouble::PowerOut) => Some(false),
        _ => None,
    })
}

/// When there was no electricity: the grid was out, and nothing fed in its place.
pub(crate) fn power_out(run: &Run<'_>) -> Vec<Spell> {
    if !has_backup(run) {
        return grid_out(run);
    }
    let (mut spells, mut open) = (Vec::new(), None);
    for event in &run.outcome.events {
        match event.kind {
            EventKind::NobodyFeeds => open = open.or(Some(event.time)),
            EventKind::BatteryFeeds | EventKind::GeneratorFeeds | EventKind::IncidentEnds(Trouble::PowerOut) => {
                spells.extend(open.take().map(|start| Spell { start, end: event.time }));
            }
            _ => {}
        }
    }
    spells.extend(open.map(|start| Spell { start, end: end(run) }));
    spells.retain(|spell| spell.end > spell.start);
    spells
}

/// When heaters were without electricity; an overload that puts them off for a while is not told.
pub(crate) fn heaters_out(run: &Run<'_>) -> Vec<Spell> {
    if run.scenario.plant.power.backup.heaters { power_out(run) } else { grid_out(run) }
}

/// When the pump of supply `index` was out of order, or the electricity was.
pub(crate) fn pump_out(run: &Run<'_>, index: usize) -> Vec<Spell> {
    let power = power_out(run);
    let pump = between(run, |event| match (event.part, event.kind) {
        (Part::Pump(i), EventKind::IncidentBegins(Trouble::Out)) if i == index => Some(true),
        (Part::Pump(i), EventKind::IncidentEnds(Trouble::Out)) if i == index => Some(false),
        _ => None,
    });
    [power, pump].concat()
}

/// When pipes had burst, within the run.
fn bursts<'a>(run: &Run<'a>) -> impl Iterator<Item = (Spell, String)> + 'a {
    let (first_day, end) = (run.first_day, end(run));
    let outlets = &run.scenario.plant.outlets;
    run.scenario.dated_draws.iter().filter_map(move |draw| {
        let start = since(draw.start, first_day);
        let spell = Spell { start: start.max(Time::ZERO), end: (start + draw.length).min(end) };
        let name = outlets.get(draw.outlet).map(|outlet| outlet.name.clone())?;
        (spell.end > spell.start).then_some((spell, name))
    })
}

/// When the standby supply fed the plant.
pub(crate) fn on_standby(run: &Run<'_>) -> Vec<Spell> {
    between(run, |event| match event.kind {
        EventKind::ChangesOver => Some(true),
        EventKind::ChangesBack => Some(false),
        _ => None,
    })
}

/// When the membrane unit ran, from a start to its stop.
pub(crate) fn membrane_runs(run: &Run<'_>) -> Vec<Spell> {
    between(run, |event| match event.kind {
        EventKind::MembraneStarts => Some(true),
        EventKind::MembraneStops | EventKind::MembraneTrips => Some(false),
        _ => None,
    })
}

/// When the membrane unit tripped; each lasts no time.
pub(crate) fn membrane_trips(run: &Run<'_>) -> Vec<Spell> {
    let trips = run.outcome.events.iter().filter(|event| event.kind == EventKind::MembraneTrips);
    trips.map(|event| Spell { start: event.time, end: event.time }).collect()
}

/// When the membrane unit was cleaned.
pub(crate) fn membrane_cleanings(run: &Run<'_>) -> Vec<Spell> {
    between(run, |event| match event.kind {
        EventKind::IncidentBegins(Trouble::Cleaning) => Some(true),
        EventKind::IncidentEnds(Trouble::Cleaning) => Some(false),
        _ => None,
    })
}

/// When the membrane unit was locked out: until it is taken out of service or cleaned, which resets it.
pub(crate) fn membrane_lock_outs(run: &Run<'_>) -> Vec<Spell> {
    let (mut spells, mut open) = (Vec::new(), None);
    for event in &run.outcome.events {
        match (event.part, event.kind) {
            (_, EventKind::MembraneLocksOut) => open = Some(event.time),
            (Part::Membrane, EventKind::IncidentBegins(Trouble::Out | Trouble::Cleaning)) => {
                spells.extend(open.take().map(|start| Spell { start, end: event.time }));
            }
            _ => {}
        }
    }
    spells.extend(open.map(|start| Spell { start, end: end(run) }));
    spells
}

/// When water from heater `index` was lukewarm at a tap.
pub(crate) fn lukewarm(run: &Run<'_>, index: usize) -> Vec<Spell> {
    let of_heater = run.outcome.lukewarm.iter().filter(|it| it.heater == index);
    of_heater.map(|it| Spell { start: it.spell.start, end: it.spell.end }).collect()
}

/// When something of heater `index` was on: as rows say it of the minute that ends with them.
pub(crate) fn heats(run: &Run<'_>, index: usize, on: impl Fn(&HeaterNow) -> bool) -> Vec<Spell> {
    let rows = &run.outcome.rows;
    let pairs = rows.iter().zip(rows.iter().skip(1));
    let heated = pairs.filter(|(_, row)| row.hot_water.heaters.get(index).is_some_and(&on));
    merged(&heated.map(|(before, row)| Spell { start: before.time, end: row.time }).collect::<Vec<_>>())
}

/// What the pump of a supply did.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct PumpRuns {
    /// When it ran, where starts are listed one by one.
    pub(crate) runs: Vec<Spell>,
    /// When it short-cycled, and the number of starts then.
    pub(crate) cycling: Vec<(Spell, f64)>,
    /// Starts that are listed one by one.
    pub(crate) starts: Vec<Time>,
}

/// When the pump of supply `index` ran and short-cycled.
pub(crate) fn pump_runs(run: &Run<'_>, index: usize) -> PumpRuns {
    let mut found = PumpRuns::default();
    let runs_in = |row: &&Row| row.pump_on.get(index).is_some_and(|on| *on);
    let mut on = run.outcome.rows.first().filter(runs_in).map(|row| row.time);
    let mut cycling = None;
    // A stop without a start ends a run that began in a spell of short-cycling, or before the run did.
    let mut resumed = Time::ZERO;
    for event in run.outcome.events.iter().filter(|event| event.part == Part::Pump(index)) {
        match event.kind {
            EventKind::PumpStarts => {
                found.starts.push(event.time);
                on = on.or(Some(event.time));
            }
            EventKind::PumpStops => {
                let start = on.take().unwrap_or(resumed);
                found.runs.push(Spell { start, end: event.time });
                resumed = event.time;
            }
            EventKind::ShortCyclingBegins => {
                found.runs.extend(on.take().map(|start| Spell { start, end: event.time }));
                cycling = Some(event.time);
            }
            EventKind::ShortCyclingEnds => {
                let start = cycling.take().unwrap_or(resumed);
                found.cycling.push((Spell { start, end: event.time }, event.value));
                resumed = event.time;
            }
            _ => {}
        }
    }
    let end = end(run);
    found.runs.extend(on.map(|start| Spell { start, end }));
    if let Some(start) = cycling {
        let told = f64::from(u32::try_from(found.starts.len()).unwrap_or(u32::MAX));
        let told = told + found.cycling.iter().map(|(_, starts)| starts).sum::<f64>();
        let starts = run.outcome.summary.supplies.get(index).and_then(|supply| supply.starts).unwrap_or(0);
        let all = f64::from(u32::try_from(starts).unwrap_or(u32::MAX));
        found.cycling.push((Spell { start, end }, (all - told).max(0.0)));
    }
    found.runs.retain(|spell| spell.end > spell.start);
    found
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ready::Ready;

    #[test]
    fn exact_power_is_out_where_nobody_feeds() {
        let mut ready = Ready::run("direct", 1);
        let hours = |h: f64| Time::from_s(3_600.0 * h);
        let spell = |start: f64, end: f64| Spell { start: hours(start), end: hours(end) };
        let kinds = [
            (1.0, EventKind::IncidentBegins(Trouble::PowerOut)),
            (1.0, EventKind::BatteryFeeds),
            (3.0, EventKind::NobodyFeeds),
            (4.0, EventKind::GeneratorFeeds),
            (5.0, EventKind::NobodyFeeds),
            (6.0, EventKind::IncidentEnds(Trouble::PowerOut)),
            (20.0, EventKind::IncidentBegins(Trouble::PowerOut)),
            (23.0, EventKind::NobodyFeeds),
        ];
        let events = kinds.map(|(h, kind)| Event { time: hours(h), part: Part::Site, kind, value: 0.0 });
        ready.outcome.events = events.to_vec();
        let outages = [spell(1.0, 6.0), spell(20.0, 24.0)];
        assert_eq!(power_out(&ready.told()), outages, "nothing stands behind the grid");
        let mut parts = springhouse_core::plant::Parts::clone(&ready.scenario.plant);
        let battery = springhouse_core::power::Battery {
            capacity_j: 3.6e6,
            power_w: 1e3,
            one_way: 0.95,
            reserve_share: 0.0,
            start_share: 1.0,
        };
        parts.power.battery = Some(battery);
        let dark = [spell(3.0, 4.0), spell(5.0, 6.0), spell(23.0, 24.0)];
        for heaters in [false, true] {
            parts.power.backup.heaters = heaters;
            ready.scenario.plant = springhouse_core::plant::Plant::try_new(parts.clone()).unwrap();
            let run = ready.told();
            assert_eq!((power_out(&run), grid_out(&run)), (dark.to_vec(), outages.to_vec()));
            assert_eq!(heaters_out(&run), if heaters { dark.to_vec() } else { outages.to_vec() });
            let named: Vec<(Spell, String)> = incidents(&run);
            let names: Vec<&str> = named.iter().map(|(_, name)| name.as_str()).collect();
            assert_eq!(names, ["grid out", "no power", "no power", "grid out", "no power"]);
        }
    }

    #[test]
    fn exact_heating_is_of_the_minutes_before_rows() {
        let heater = "[[heater]]\nname = \"tank\"\nkind = \"electric\"\nvolume = \"40 gal\"\n";
        let mut ready = Ready::starter_with(heater, 1);
        for (minute, row) in ready.outcome.rows.iter_mut().enumerate() {
            row.hot_water.heaters[0].element_on = matches!(minute, 0 | 3 | 4 | 8);
        }
        let minutes = |start: f64, end: f64| Spell { start: Time::from_s(60.0 * start), end: Time::from_s(60.0 * end) };
        let heated = |index: usize| heats(&ready.told(), index, |heater| heater.element_on);
        // Nothing was heated before the first row.
        assert_eq!(heated(0), [minutes(2.0, 4.0), minutes(7.0, 8.0)]);
        assert!(heated(1).is_empty());
    }
}
