//! Which panels a plant has.

use springhouse_core::outlet::Header;
use springhouse_core::plant::Store;
use springhouse_core::storage::{Fill, Storage};
use springhouse_core::well::Response;
use springhouse_sim::Row;

use crate::Run;
use crate::numbers::Scale;

/// A value of a row, in the unit of its axis.
pub(super) type Value<'a> = Box<dyn Fn(&Row) -> f64 + 'a>;

/// One panel: a value over time, and levels to read it against.
pub(super) struct Panel<'a> {
    pub(super) heading: String,
    pub(super) height: f64,
    /// What the axis reaches to at least.
    pub(super) most: f64,
    pub(super) value: Value<'a>,
    /// How low it was since the row before, where that is known.
    pub(super) lowest: Option<Value<'a>>,
    pub(super) levels: Vec<(f64, &'static str)>,
    /// Whether there is water under the line.
    pub(super) filled: bool,
    /// Whether values run down the page.
    pub(super) down: bool,
}

/// From the house back to the well; storage, what a plant that has it lives from, first.
pub(super) fn panels<'a>(run: &Run<'a>) -> Vec<Panel<'a>> {
    let mut panels = Vec::new();
    panels.extend(run.scenario.plant.store.as_ref().map(|store| storage(run, &store.storage)));
    panels.push(pressure(run));
    panels.extend(well(run));
    panels
}

fn highest(run: &Run<'_>, value: impl Fn(&Row) -> f64) -> f64 {
    run.outcome.rows.iter().map(value).fold(0.0, f64::max)
}

fn storage<'a>(run: &Run<'a>, storage: &Storage) -> Panel<'a> {
    let litres = Scale::volume(run.units);
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
    Panel {
        heading: format!("Water in storage, {}", litres.unit),
        height: 190.0,
        most: litres.value(storage.capacity_l),
        value: Box::new(move |row| litres.value(row.storage_l)),
        lowest: None,
        levels,
        filled: true,
        down: false,
    }
}

fn pressure<'a>(run: &Run<'a>) -> Panel<'a> {
    let kpa = Scale::pressure(run.units);
    let lowest: Option<Value<'a>> = Some(Box::new(move |row| kpa.value(row.lowest_house_kpa)));
    let (filled, down) = (false, false);
    let plant = &run.scenario.plant;
    let (Header::Delivery, Some(Store { delivery, .. })) = (plant.house_header(), &plant.store) else {
        let control = plant.supplies.iter().find_map(|supply| supply.source.pump()).map(|pump| &pump.control);
        let (cut_in_kpa, cut_out_kpa) = control.map_or((0.0, 0.0), |control| (control.low_kpa(), control.high_kpa()));
        return Panel {
            heading: format!("Pressure in the tank, {}", kpa.unit),
            height: 180.0,
            most: kpa.value(highest(run, |row| row.raw_kpa).max(cut_out_kpa)),
            value: Box::new(move |row| kpa.value(row.raw_kpa)),
            lowest,
            levels: vec![(kpa.value(cut_out_kpa), "cut-out"), (kpa.value(cut_in_kpa), "cut-in")],
            filled,
            down,
        };
    };
    Panel {
        heading: format!("Pressure to the house, {}", kpa.unit),
        // Held by the drive it is a flat line as a rule: no more room than a dip needs.
        height: 75.0,
        most: kpa.value(highest(run, |row| row.delivery_kpa).max(delivery.drive.set_kpa)),
        value: Box::new(move |row| kpa.value(row.delivery_kpa)),
        lowest,
        levels: vec![(kpa.value(delivery.drive.set_kpa), "set"), (kpa.value(delivery.drive.wake_kpa), "pump wakes")],
        filled,
        down,
    }
}

/// The water in the well; none where its level never moves.
fn well<'a>(run: &Run<'a>) -> Option<Panel<'a>> {
    let (well, _) = run.scenario.well()?;
    if matches!(well.response, Response::Ideal) {
        return None;
    }
    let metres = Scale::length(run.units);
    let mut levels = vec![(metres.value(well.static_depth_m), "at rest")];
    if let Some(cutoff) = &well.cutoff {
        levels.push((metres.value(cutoff.restart_depth_m), "cut-off clears"));
        levels.push((metres.value(cutoff.stop_depth_m), "cut-off stops"));
    }
    levels.push((metres.value(well.pump_depth_m), "pump intake"));
    let deepest_m = highest(run, |row| well.water_depth_m(row.sources[0])).max(well.pump_depth_m);
    Some(Panel {
        heading: format!("Water in the well, {} below ground", metres.unit),
        height: 130.0,
        most: metres.value(deepest_m),
        value: Box::new(move |row| metres.value(well.water_depth_m(row.sources[0]))),
        lowest: None,
        levels,
        filled: true,
        down: true,
    })
}
