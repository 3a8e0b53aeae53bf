//! Plain words for parts, events and findings.

mod finding;

pub(crate) use finding::finding;

use springhouse_core::observe::{Event, EventKind, Part, Trouble};
use springhouse_core::plant::Plant;
use springhouse_core::treatment::StageKind;
use springhouse_scenario::Units;
use springhouse_sim::names;

use crate::numbers::{number, percent};

/// The key of an event in a table.
pub(crate) fn event_key(kind: EventKind) -> &'static str {
    match kind {
        EventKind::PumpStarts => "pump_starts",
        EventKind::PumpStops => "pump_stops",
        EventKind::ShortCyclingBegins => "short_cycling_begins",
        EventKind::ShortCyclingEnds => "short_cycling_ends",
        EventKind::LowLevelStop => "low_level_stop",
        EventKind::LowLevelClears => "low_level_clears",
        EventKind::SuctionLost => "suction_lost",
        EventKind::SuctionRegained => "suction_regained",
        EventKind::TankEmpties => "tank_empties",
        EventKind::MembraneStarts => "membrane_starts",
        EventKind::MembraneStops => "membrane_stops",
        EventKind::MembraneTrips => "membrane_trips",
        EventKind::MembraneLocksOut => "membrane_locks_out",
        EventKind::CleaningDue => "cleaning_due",
        EventKind::FillOpens => "fill_opens",
        EventKind::FillShuts => "fill_shuts",
        EventKind::ProtectStop => "protect_stop",
        EventKind::ProtectClears => "protect_clears",
        EventKind::RunOutBegins => "run_out_begins",
        EventKind::RunOutEnds => "run_out_ends",
        EventKind::LeakBegins => "leak_begins",
        EventKind::LeakEnds => "leak_ends",
        EventKind::PressureLow => "pressure_low",
        EventKind::PressureBack => "pressure_back",
        EventKind::TopUpOpens => "top_up_opens",
        EventKind::TopUpShuts => "top_up_shuts",
        EventKind::SpillBegins => "spill_begins",
        EventKind::SpillEnds => "spill_ends",
        EventKind::ChangesOver => "changes_over",
        EventKind::ChangesBack => "changes_back",
        EventKind::ServiceDue => "service_due",
        EventKind::Washed => "washed",
        EventKind::UnderdoseBegins => "underdose_begins",
        EventKind::UnderdoseEnds => "underdose_ends",
        EventKind::LukewarmBegins => "lukewarm_begins",
        EventKind::LukewarmEnds => "lukewarm_ends",
        EventKind::AirUnsuitable => "air_unsuitable",
        EventKind::ScaldingWater => "scalding_water",
        EventKind::GrowthWarm => "growth_warm",
        EventKind::BatteryFeeds => "battery_feeds",
        EventKind::GeneratorFeeds => "generator_feeds",
        EventKind::NobodyFeeds => "nobody_feeds",
        EventKind::Overload => "overload",
        EventKind::IncidentBegins(trouble) => begins_key(trouble),
        EventKind::IncidentEnds(trouble) => ends_key(trouble),
    }
}

fn begins_key(trouble: Trouble) -> &'static str {
    match trouble {
        Trouble::PowerOut => "power_fails",
        Trouble::Out => "pump_fails",
        Trouble::Worn => "pump_worn",
        Trouble::LeakBack => "check_valve_leaks",
        Trouble::AirLost => "air_lost",
        Trouble::StuckOpen => "float_stuck_open",
        Trouble::StuckShut => "float_stuck_shut",
        Trouble::Bypassed => "stage_bypassed",
        Trouble::ValvedOff => "stage_valved_off",
        Trouble::Cleaning => "membrane_cleaning_begins",
        Trouble::Changing => "stage_change_begins",
        Trouble::StandbyByHand => "standby_by_hand",
    }
}

fn ends_key(trouble: Trouble) -> &'static str {
    match trouble {
        Trouble::PowerOut => "power_returns",
        Trouble::Out => "pump_mended",
        Trouble::Worn => "pump_renewed",
        Trouble::LeakBack => "check_valve_mended",
        Trouble::AirLost => "air_restored",
        Trouble::StuckOpen | Trouble::StuckShut => "float_freed",
        Trouble::Bypassed | Trouble::ValvedOff => "stage_in_line",
        Trouble::Cleaning => "membrane_cleaned",
        Trouble::Changing => "stage_changed",
        Trouble::StandbyByHand => "standby_released",
    }
}

/// A heater in words that follow "the": by its name alone only where that says what it is.
pub(crate) fn heater(name: &str) -> String {
    let lower = name.to_lowercase();
    let says = ["heater", "tank", "boiler", "heat pump"].iter().any(|kind| lower.ends_with(kind));
    if says { name.to_owned() } else { format!("heater \"{name}\"") }
}

/// Unit of an event's value; empty where it has none.
pub(crate) fn event_unit(plant: &Plant, event: &Event) -> &'static str {
    match event.kind {
        EventKind::PumpStarts
        | EventKind::PumpStops
        | EventKind::MembraneStarts
        | EventKind::MembraneTrips
        | EventKind::TankEmpties
        | EventKind::PressureLow => "kPa",
        EventKind::MembraneLocksOut => "trips",
        EventKind::ShortCyclingBegins
        | EventKind::RunOutEnds
        | EventKind::PressureBack
        | EventKind::SpillEnds
        | EventKind::ChangesBack
        | EventKind::UnderdoseEnds
        | EventKind::LukewarmEnds => "s",
        EventKind::ShortCyclingEnds => "starts",
        EventKind::LowLevelStop | EventKind::LowLevelClears if of_basin(plant, event.part) => "L",
        EventKind::LowLevelStop | EventKind::LowLevelClears => "m",
        EventKind::SuctionLost
        | EventKind::SuctionRegained
        | EventKind::RunOutBegins
        | EventKind::SpillBegins
        | EventKind::LeakBegins
        | EventKind::IncidentBegins(Trouble::LeakBack) => "L/s",
        EventKind::MembraneStops
        | EventKind::FillOpens
        | EventKind::FillShuts
        | EventKind::TopUpOpens
        | EventKind::TopUpShuts
        | EventKind::ProtectStop
        | EventKind::ProtectClears
        | EventKind::GeneratorFeeds => "L",
        EventKind::GrowthWarm => "L h",
        EventKind::BatteryFeeds => "kWh",
        EventKind::Overload => "W",
        EventKind::LukewarmBegins | EventKind::AirUnsuitable | EventKind::ScaldingWater => "°C",
        EventKind::UnderdoseBegins => "mJ/cm2",
        // A loss or an age, a share: said in words.
        EventKind::ServiceDue
        | EventKind::CleaningDue
        | EventKind::Washed
        | EventKind::ChangesOver
        | EventKind::LeakEnds
        | EventKind::NobodyFeeds
        | EventKind::IncidentBegins(_)
        | EventKind::IncidentEnds(_) => "",
    }
}

/// Whether a part is a cistern or a pond.
fn of_basin(plant: &Plant, part: Part) -> bool {
    matches!(part, Part::Source(i) if plant.supplies.get(i).is_some_and(|supply| supply.source.basin().is_some()))
}

/// An event as a sentence, in metric units.
pub(crate) fn event(plant: &Plant, event: &Event) -> String {
    let name = names::part(plant, event.part);
    let name = &if matches!(event.part, Part::Heater(_)) { heater(&name) } else { name };
    let value = event.value;
    let units = Units::Metric;
    let kpa = || units.pressure(value);
    let litres = || units.volume(value);
    let level = || match event.part {
        part if of_basin(plant, part) => format!("{} left", units.volume(value)),
        _ => format!("water {} down", units.length(value)),
    };
    let temp = || units.temperature(value);
    let lpm = || units.flow(value);
    match event.kind {
        EventKind::PumpStarts => format!("the {name} starts at {}", kpa()),
        EventKind::PumpStops => format!("the {name} stops at {}", kpa()),
        EventKind::ShortCyclingBegins => {
            format!("the {name} short-cycles, {} from start to start; its starts are not listed", units.duration(value))
        }
        EventKind::ShortCyclingEnds => {
            format!("the {name} no longer short-cycles, after {} starts; its starts are listed again", number(value))
        }
        EventKind::LowLevelStop => format!("the low-level cut-off stops the pump of the {name}, {}", level()),
        EventKind::LowLevelClears => format!("the {name} has recovered and its pump may run, {}", level()),
        EventKind::SuctionLost => format!("the water is down to the {name}'s intake, which gives {}", lpm()),
        EventKind::SuctionRegained => format!("the {name}'s intake is under water again and gives {}", lpm()),
        EventKind::TankEmpties => format!("the pressure tank has no water left to give, at {}", kpa()),
        EventKind::MembraneStarts => format!("the {name} starts with {} at its suction", kpa()),
        EventKind::MembraneStops => format!("the {name} stops, having made {}", litres()),
        EventKind::MembraneTrips => format!("too little pressure stops the {name}: {} at its suction", kpa()),
        EventKind::MembraneLocksOut => {
            format!("the {name} is locked out after {}; it waits to be reset by hand", counted_trips(value))
        }
        EventKind::CleaningDue => {
            let flow = percent(value);
            format!(
                "the {name} is due for cleaning: under the same conditions it makes {flow} of what it made when clean"
            )
        }
        EventKind::FillOpens => format!("the fill valve opens with {} in storage", litres()),
        EventKind::FillShuts => format!("the fill valve shuts with {} in storage", litres()),
        EventKind::ProtectStop => format!("low storage stops the delivery pump with {} left", litres()),
        EventKind::ProtectClears => format!("the delivery pump may run again with {} in storage", litres()),
        EventKind::RunOutBegins => format!("{name} runs out of water: it gets {}", lpm()),
        EventKind::RunOutEnds => format!("{name} is no longer without water, after {}", units.duration(value)),
        EventKind::LeakBegins => format!("{name}: water runs away, {} if the pressure is there", lpm()),
        EventKind::LeakEnds => format!("{name}: the water is stopped"),
        EventKind::PressureLow => format!("pressure to the buildings falls under {}", kpa()),
        EventKind::PressureBack => format!("pressure to the buildings is back after {}", units.duration(value)),
        EventKind::TopUpOpens => format!("the top-up valve of the {name} opens with {} in it", litres()),
        EventKind::TopUpShuts => format!("the top-up valve of the {name} shuts with {} in it", litres()),
        EventKind::SpillBegins => format!("the {name} is full and spills {}", lpm()),
        EventKind::SpillEnds => format!("the {name} spills no more, after {}", units.duration(value)),
        EventKind::ChangesOver => "the standby supply takes over; the others are isolated".to_owned(),
        EventKind::ChangesBack => {
            format!("the first supply is back; the standby is isolated, after {}", units.duration(value))
        }
        EventKind::ServiceDue => service_due(plant, event),
        EventKind::Washed => format!("the {name} is washed, with {} of its wash water", percent(value)),
        EventKind::UnderdoseBegins => {
            format!("water passes the {name} with {} mJ/cm2, less than its least dose", number(value))
        }
        EventKind::UnderdoseEnds => format!("the {name} gives its dose again, after {}", units.duration(value)),
        EventKind::LukewarmBegins => format!("water from the {name} is lukewarm at the tap: {}", temp()),
        EventKind::LukewarmEnds => {
            format!("no lukewarm water from the {name} for 5 min; it ran lukewarm for {}", units.duration(value))
        }
        EventKind::AirUnsuitable => {
            format!("for the first time the compressor of the {name} waits for other air: it is {} now", temp())
        }
        EventKind::ScaldingWater => {
            format!("for the first time water that scalds comes to a tap from the {name}, at {}", temp())
        }
        EventKind::GrowthWarm => format!(
            "the outlet of the {name} has been under 60 °C for a day, and {} litre-hours of its water as warm as Legionella likes it",
            number(value.round())
        ),
        EventKind::BatteryFeeds => format!("the battery feeds the site, with {} kWh in it", number(value)),
        EventKind::GeneratorFeeds if value > 0.0 => format!("the generator feeds the site, with {} of fuel", litres()),
        EventKind::GeneratorFeeds => "the generator feeds the site".to_owned(),
        EventKind::NobodyFeeds => "neither battery nor generator feeds: the site has no power".to_owned(),
        EventKind::Overload => overload(plant, event, name),
        EventKind::IncidentBegins(trouble) => begins(trouble, name, value),
        EventKind::IncidentEnds(trouble) => ends(trouble, name, value),
    }
}

/// What an overload has put off.
fn overload(plant: &Plant, event: &Event, name: &str) -> String {
    let asked = format!("{} W were asked of what feeds the site", number(event.value.round()));
    match event.part {
        Part::Heater(_) if plant.hot_water.heaters.len() > 1 => format!("{asked}: the water heaters are put off"),
        Part::Heater(_) | Part::Membrane => format!("{asked}: the {name} is put off"),
        _ => format!("{asked}: it trips, and starts again in 5 min"),
    }
}

/// A count of trips as told.
fn counted_trips(count: f64) -> String {
    if count < 1.5 { "a trip".to_owned() } else { format!("{} trips in a row", number(count)) }
}

/// A stage that wants service, and what shows it.
fn service_due(plant: &Plant, event: &Event) -> String {
    let name = names::part(plant, event.part);
    let stage = match event.part {
        Part::Stage(i) => plant.stages.get(i),
        _ => None,
    };
    match stage.map(|stage| &stage.kind) {
        Some(StageKind::Ultraviolet(_)) => {
            format!("the {name} is due for a new lamp, after {} hours", number(event.value.round()))
        }
        Some(StageKind::Sediment) => {
            format!("the {name} is due for service: it takes {} at its rated flow", Units::Metric.pressure(event.value))
        }
        // What these hold does not show in their pressure.
        _ => format!("the {name} is due for service: it holds all that it can"),
    }
}

/// Something that goes out of order.
fn begins(trouble: Trouble, name: &str, value: f64) -> String {
    match trouble {
        Trouble::PowerOut => "the electricity fails".to_owned(),
        Trouble::Out => format!("the {name} goes out of order"),
        Trouble::Worn => format!("the {name} is worn: it works as a new one at {} of its speed", percent(value)),
        Trouble::LeakBack => format!("the check valve of the {name} leaks back"),
        Trouble::AirLost => format!("the {name} loses air: {} of it is left", percent(value)),
        Trouble::StuckOpen => format!("the float of the {name} is stuck open"),
        Trouble::StuckShut => format!("the float of the {name} is stuck shut"),
        Trouble::Bypassed => format!("the {name} is bypassed: water passes it untreated"),
        Trouble::ValvedOff => format!("the {name} is valved off: no water passes"),
        Trouble::Cleaning => format!("the {name} is taken out of service to be cleaned"),
        Trouble::Changing => format!("the {name} is valved off to be changed"),
        Trouble::StandbyByHand => "the standby supply is put in by hand".to_owned(),
    }
}

/// Something that is put right.
fn ends(trouble: Trouble, name: &str, value: f64) -> String {
    match trouble {
        Trouble::PowerOut => "the electricity is back".to_owned(),
        Trouble::Out => format!("the {name} is mended"),
        Trouble::Worn => format!("the {name} is renewed"),
        Trouble::LeakBack => format!("the check valve of the {name} is mended"),
        Trouble::AirLost => format!("the {name} is drained and has its air again"),
        Trouble::StuckOpen | Trouble::StuckShut => format!("the float of the {name} is free again"),
        Trouble::Bypassed | Trouble::ValvedOff => format!("water goes through the {name} again"),
        Trouble::Cleaning => {
            format!(
                "the {name} has been cleaned: its membrane lets {} of the water through that it did when new",
                percent(value)
            )
        }
        Trouble::Changing => format!("the {name} has been changed: it is as new"),
        Trouble::StandbyByHand => "the standby supply is released".to_owned(),
    }
}

/// The grid is out where something stands behind it, in a few words;
pub(crate) const GRID_OUT: &str = "grid out";
/// and nothing feeds the site.
pub(crate) const NO_POWER: &str = "no power";

/// A membrane unit that waits to be reset by hand, in a few words.
pub(crate) const LOCKED_OUT: &str = "membrane locked out";

/// What is out of order, in a few words.
pub(crate) fn incident(plant: &Plant, part: Part, trouble: Trouble) -> String {
    let name = names::part(plant, part);
    match trouble {
        Trouble::PowerOut => "power out".to_owned(),
        Trouble::Out => format!("{name} out"),
        Trouble::Worn => format!("{name} worn"),
        Trouble::LeakBack => format!("{name} leaks back"),
        Trouble::AirLost => format!("{name} short of air"),
        Trouble::StuckOpen => format!("{name} float stuck open"),
        Trouble::StuckShut => format!("{name} float stuck shut"),
        Trouble::Bypassed => format!("{name} bypassed"),
        Trouble::ValvedOff => format!("{name} valved off"),
        Trouble::Cleaning => format!("{name} cleaned"),
        Trouble::Changing => format!("{name} changed"),
        Trouble::StandbyByHand => "standby put in by hand".to_owned(),
    }
}
