//! Which panels a plant has: every store of water, and the pressure.

use springhouse_core::basin::Basin;
use springhouse_core::storage::{Fill, Storage};
use springhouse_core::supply::Source;
use springhouse_core::well::{Response, Well};
use springhouse_sim::Row;

use super::pressure;
use crate::Run;
use crate::numbers::Scale;

/// A value of a row, in the unit of its axis.
pub(in crate::plots) type Value<'a> = Box<dyn Fn(&Row) -> f64 + 'a>;

/// A value that a control acts at, and what it is called.
pub(in crate::plots) struct Level {
    pub(in crate::plots) value: f64,
    pub(in crate::plots) name: String,
}

impl Level {
    pub(in crate::plots) fn new(value: f64, name: impl Into<String>) -> Self {
        Self { value, name: name.into() }
    }
}

/// One panel: a value over time, and levels to read it against.
pub(in crate::plots) struct Panel<'a> {
    pub(in crate::plots) heading: String,
    pub(in crate::plots) height: f64,
    /// What the axis reaches to at least.
    pub(in crate::plots) most: f64,
    pub(in crate::plots) value: Value<'a>,
    /// How low it was since the row before, where that is known.
    pub(in crate::plots) lowest: Option<Value<'a>>,
    /// From where to where controls hold the value.
    pub(in crate::plots) held: Vec<(f64, f64)>,
    pub(in crate::plots) levels: Vec<Level>,
    /// Whether there is water under the line.
    pub(in crate::plots) filled: bool,
    /// Whether values run down the page.
    pub(in crate::plots) down: bool,
}

impl<'a> Panel<'a> {
    /// A line and nothing to read it against.
    pub(in crate::plots) fn of(heading: String, value: impl Fn(&Row) -> f64 + 'a) -> Self {
        Self {
            heading,
            height: 130.0,
            most: 0.0,
            value: Box::new(value),
            lowest: None,
            held: Vec::new(),
            levels: Vec::new(),
            filled: false,
            down: false,
        }
    }
}

/// From the house back to the sources; storage, what a plant that has it lives from, first.
pub(super) fn panels<'a>(run: &Run<'a>) -> Vec<Panel<'a>> {
    let plant = &run.scenario.plant;
    let mut panels = Vec::new();
    panels.extend(plant.store.as_ref().map(|store| storage(run, &store.storage)));
    panels.extend(pressure::panels(run));
    for (index, supply) in plant.supplies.iter().enumerate() {
        panels.extend(match &supply.source {
            Source::Well { well, .. } => self::well(run, index, &supply.name, well),
            Source::Basin { basin, .. } => Some(self::basin(run, index, &supply.name, basin)),
            Source::TownLine(_) => None,
        });
    }
    panels
}

pub(super) fn highest(run: &Run<'_>, value: impl Fn(&Row) -> f64) -> f64 {
    run.outcome.rows.iter().map(value).fold(0.0, f64::max)
}

fn storage<'a>(run: &Run<'a>, storage: &Storage) -> Panel<'a> {
    let litres = Scale::volume_up_to(run.units, storage.capacity_l);
    let level = |volume_l: f64, name: &str| Level::new(litres.value(volume_l), name);
    let mut levels = match storage.fill {
        Fill::FloatSwitch { start_l, stop_l, .. } => {
            vec![level(stop_l, "filling stops"), level(start_l, "filling starts")]
        }
        Fill::Membrane { start_l, stop_l } => vec![level(stop_l, "membrane stops"), level(start_l, "membrane starts")],
        Fill::FloatValve { open_l, shut_l, .. } => vec![level(shut_l, "valve shut"), level(open_l, "valve open")],
    };
    if storage.protect_l > 0.0 {
        levels.push(level(storage.protect_l, "pump stops"));
    }
    Panel {
        height: 190.0,
        most: litres.value(storage.capacity_l),
        levels,
        filled: true,
        ..Panel::of(format!("Water in storage, {}", litres.unit), move |row| litres.value(row.storage_l))
    }
}

/// The water in a cistern or pond.
fn basin<'a>(run: &Run<'a>, index: usize, name: &str, basin: &Basin) -> Panel<'a> {
    let litres = Scale::volume_up_to(run.units, basin.capacity_l);
    let level = |volume_l: f64, name: &str| Level::new(litres.value(volume_l), name);
    let mut levels = vec![level(basin.capacity_l, "brim")];
    if let Some(top_up) = &basin.top_up {
        levels.push(level(top_up.stop_l, "top-up stops"));
        levels.push(level(top_up.start_l, "top-up starts"));
    }
    if let Some(cutoff) = &basin.cutoff {
        levels.push(level(cutoff.restart_l, "cut-off clears"));
        levels.push(level(cutoff.stop_l, "cut-off stops"));
    }
    levels.push(level(basin.intake_l, "pump intake"));
    Panel {
        most: litres.value(basin.capacity_l),
        levels,
        filled: true,
        ..Panel::of(format!("Water in the {name}, {}", litres.unit), move |row| litres.value(row.sources[index]))
    }
}

/// The water in a well; none where its level never moves.
fn well<'a>(run: &Run<'a>, index: usize, name: &str, well: &'a Well) -> Option<Panel<'a>> {
    if matches!(well.response, Response::Ideal) {
        return None;
    }
    let metres = Scale::length(run.units);
    let level = |depth_m: f64, name: &str| Level::new(metres.value(depth_m), name);
    let mut levels = vec![level(well.static_depth_m, "at rest")];
    if let Some(cutoff) = &well.cutoff {
        levels.push(level(cutoff.restart_depth_m, "cut-off clears"));
        levels.push(level(cutoff.stop_depth_m, "cut-off stops"));
    }
    levels.push(level(well.pump_depth_m, "pump intake"));
    let depth_m = move |row: &Row| well.water_depth_m(row.sources[index]);
    Some(Panel {
        most: metres.value(highest(run, depth_m).max(well.pump_depth_m)),
        levels,
        filled: true,
        down: true,
        ..Panel::of(format!("Water in the {name}, {} below ground", metres.unit), move |row| metres.value(depth_m(row)))
    })
}
