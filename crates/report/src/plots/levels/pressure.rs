//! The panel of pressure: what feeds the house, and the band that the controls hold.

use springhouse_core::delivery::Delivery;
use springhouse_core::outlet::{Header, Outlet, Role};
use springhouse_core::plant::Plant;
use springhouse_core::supply::{Control, Source};

use super::panels::{Level, Panel, highest};
use crate::Run;
use crate::numbers::Scale;

/// Pressure on the header that feeds the buildings, or on each that does.
pub(super) fn panels<'a>(run: &Run<'a>) -> Vec<Panel<'a>> {
    let plant = &run.scenario.plant;
    let Some(store) = plant.store.as_ref().filter(|_| plant.house_header() == Header::Delivery) else {
        return vec![on_the_raw_header(run)];
    };
    let on_raw = |outlet: &Outlet| outlet.role == Role::Building && outlet.header == Header::Raw;
    let delivered = behind_storage(run, &store.delivery);
    if !plant.outlets.iter().any(on_raw) {
        return vec![Panel {
            heading: format!("Pressure to the house, {}", Scale::pressure(run.units).unit),
            ..delivered
        }];
    }
    // Rows tell how low the pressure fell on the delivery header alone.
    vec![delivered, Panel { lowest: None, ..on_the_raw_header(run) }]
}

fn behind_storage<'a>(run: &Run<'a>, delivery: &Delivery) -> Panel<'a> {
    let kpa = Scale::pressure(run.units);
    let (wake_kpa, set_kpa) = (delivery.drive.wake_kpa, delivery.drive.set_kpa);
    Panel {
        // Held by the drive it is a flat line as a rule: no more room than a dip needs.
        height: 75.0,
        most: kpa.value(highest(run, |row| row.delivery_kpa).max(set_kpa)),
        lowest: Some(Box::new(move |row| kpa.value(row.lowest_house_kpa))),
        held: vec![(kpa.value(wake_kpa), kpa.value(set_kpa))],
        levels: vec![Level::new(kpa.value(set_kpa), "set pressure"), Level::new(kpa.value(wake_kpa), "wake pressure")],
        ..Panel::of(format!("Pressure behind the delivery pump, {}", kpa.unit), move |row| kpa.value(row.delivery_kpa))
    }
}

fn on_the_raw_header<'a>(run: &Run<'a>) -> Panel<'a> {
    let (kpa, plant) = (Scale::pressure(run.units), &run.scenario.plant);
    let controls = controls(plant);
    let mut levels = Vec::new();
    for (supply, control) in &controls {
        let (low, high) = match control {
            Control::Switch { .. } => ("cut-in", "cut-out"),
            Control::Drive(_) => ("wake pressure", "set pressure"),
        };
        let named = |edge: &str| if controls.len() > 1 { format!("{supply} {edge}") } else { edge.to_owned() };
        levels.push(Level::new(kpa.value(control.high_kpa()), named(high)));
        levels.push(Level::new(kpa.value(control.low_kpa()), named(low)));
    }
    let mains = plant.supplies.iter().filter_map(|supply| match &supply.source {
        Source::TownLine(line) => Some(line.static_kpa()),
        _ => None,
    });
    let mains: Vec<f64> = mains.collect();
    levels.extend(mains.iter().map(|static_kpa| Level::new(kpa.value(*static_kpa), "static pressure")));
    levels.extend(plant.reducer_kpa.map(|set_kpa| Level::new(kpa.value(set_kpa), "reducer set")));
    if controls.is_empty() {
        levels.push(Level::new(kpa.value(run.held_kpa()), "least in a main"));
    }
    let place = match (controls.is_empty(), mains.is_empty()) {
        (_, true) => "in the tank",
        (true, false) => "at the meter",
        (false, false) => "at the tank or the meter",
    };
    let most = levels.iter().map(|level| level.value).fold(kpa.value(highest(run, |row| row.raw_kpa)), f64::max);
    Panel {
        height: 180.0,
        most,
        lowest: Some(Box::new(move |row| kpa.value(row.lowest_house_kpa))),
        held: controls.iter().map(|(_, it)| (kpa.value(it.low_kpa()), kpa.value(it.high_kpa()))).collect(),
        levels,
        ..Panel::of(format!("Pressure {place}, {}", kpa.unit), move |row| kpa.value(row.raw_kpa))
    }
}

/// What controls the pumps of the supplies, each with its supply; of those that hold the same pressures the first.
fn controls(plant: &Plant) -> Vec<(&str, &Control)> {
    let edges = |control: &Control| (control.low_kpa(), control.high_kpa(), matches!(control, Control::Drive(_)));
    let mut told: Vec<(&str, &Control)> = Vec::new();
    for supply in &plant.supplies {
        if let Some(pump) = supply.source.pump()
            && told.iter().all(|(_, control)| edges(control) != edges(&pump.control))
        {
            told.push((&supply.name, &pump.control));
        }
    }
    told
}
