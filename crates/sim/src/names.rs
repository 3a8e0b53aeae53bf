//! What the parts of a plant are called in findings, events and tables.

use springhouse_core::incident::IncidentKind;
use springhouse_core::observe::Part;
use springhouse_core::plant::Plant;

/// The electricity of the site.
pub const SITE: &str = "site";
/// The tank on the raw header.
pub const PRESSURE_TANK: &str = "pressure tank";
/// The membrane unit.
pub const MEMBRANE: &str = "membrane unit";
/// The pump of the membrane unit.
pub const MEMBRANE_PUMP: &str = "membrane pump";
/// The storage tank.
pub const STORAGE: &str = "storage";
/// The pump behind storage.
pub const DELIVERY_PUMP: &str = "delivery pump";
/// What burns in ultraviolet units.
pub const LAMPS: &str = "ultraviolet lamps";

/// The name of a supply.
#[must_use]
pub fn supply(plant: &Plant, index: usize) -> String {
    plant.supplies.get(index).map_or_else(|| "supply".to_owned(), |supply| supply.name.clone())
}

/// The pump of a supply: `well pump` of one named `well`. A town line has none and is called by its own name.
#[must_use]
pub fn pump(plant: &Plant, index: usize) -> String {
    let name = supply(plant, index);
    let has_pump = plant.supplies.get(index).is_some_and(|supply| supply.source.pump().is_some());
    if has_pump { format!("{name} pump") } else { name }
}

/// The name of a stage of treatment.
#[must_use]
pub fn stage(plant: &Plant, index: usize) -> String {
    plant.stages.get(index).map_or_else(|| "treatment".to_owned(), |stage| stage.name.clone())
}

/// What an incident puts out of order, in words that follow "the".
#[must_use]
pub fn out_of_order(plant: &Plant, kind: IncidentKind) -> String {
    match kind {
        IncidentKind::PowerOut => "power".into(),
        IncidentKind::SupplyOut { supply } | IncidentKind::PumpWorn { supply, .. } => pump(plant, supply),
        IncidentKind::DeliveryPumpOut => DELIVERY_PUMP.into(),
        IncidentKind::MembraneOut | IncidentKind::MembraneCleaned => MEMBRANE.into(),
        IncidentKind::LeakBack { supply, .. } => format!("check valve of the {}", pump(plant, supply)),
        IncidentKind::AirLost { .. } => PRESSURE_TANK.into(),
        IncidentKind::FloatStuck { .. } => "float of storage".into(),
        IncidentKind::StageBypassed { stage }
        | IncidentKind::StageShut { stage }
        | IncidentKind::StageChanged { stage } => self::stage(plant, stage),
        IncidentKind::StandbyByHand => "standby supply".into(),
    }
}

/// What an incident makes of that, in words that follow "is" or "was".
#[must_use]
pub fn disorder(kind: IncidentKind) -> &'static str {
    match kind {
        IncidentKind::PowerOut => "out",
        IncidentKind::SupplyOut { .. } | IncidentKind::DeliveryPumpOut | IncidentKind::MembraneOut => "out of order",
        IncidentKind::MembraneCleaned => "cleaned",
        IncidentKind::PumpWorn { .. } => "worn",
        IncidentKind::LeakBack { .. } => "leaking back",
        IncidentKind::AirLost { .. } => "short of air",
        IncidentKind::FloatStuck { open: true } => "stuck open",
        IncidentKind::FloatStuck { open: false } => "stuck shut",
        IncidentKind::StageBypassed { .. } => "bypassed",
        IncidentKind::StageShut { .. } => "valved off",
        IncidentKind::StageChanged { .. } => "changed",
        IncidentKind::StandbyByHand => "put in by hand",
    }
}

/// The name of a part.
#[must_use]
pub fn part(plant: &Plant, part: Part) -> String {
    match part {
        Part::Site => SITE.to_owned(),
        Part::Source(index) => supply(plant, index),
        Part::Pump(index) => pump(plant, index),
        Part::PressureTank => PRESSURE_TANK.to_owned(),
        Part::Stage(index) => stage(plant, index),
        Part::Membrane => MEMBRANE.to_owned(),
        Part::Storage => STORAGE.to_owned(),
        Part::Delivery => DELIVERY_PUMP.to_owned(),
        Part::Outlet(index) => {
            plant.outlets.get(index).map_or_else(|| "outlet".to_owned(), |outlet| outlet.name.clone())
        }
        Part::Heater(index) => {
            plant.hot_water.heaters.get(index).map_or_else(|| "water heater".to_owned(), |heater| heater.name.clone())
        }
    }
}
