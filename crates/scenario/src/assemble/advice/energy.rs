//! What is odd about the sun, about what goes by it, and about what feeds the site while the grid is out.

use crate::diagnostic::Diagnostic;
use crate::display::Units;
use crate::motors::{Motor, MotorKind, sum_w};
use crate::quantity::Power;
use crate::scenario::Scenario;
use crate::sections::ScenarioFile;
use crate::typed::{At, Reader};

pub(super) fn tell(file: &ScenarioFile, scenario: &Scenario, reader: &mut Reader<'_>, units: Units) {
    let heaters = file.heater.iter().filter_map(|at| Some(&at.0.as_ref()?.value.sun.as_ref()?.value.surplus));
    let hours = file.membrane.as_ref().and_then(|at| at.value.0.as_ref()?.hours.as_ref());
    let unit = hours.and_then(|hours| hours.value.surplus.as_ref());
    let never = heaters.chain(unit).filter_map(|surplus| never_left(surplus, scenario, units));
    let told = [
        faces_away(file),
        idle_hours(file, scenario, units),
        small_inverter(file, scenario, units),
        odd_battery(file, units),
        odd_fuel(file, scenario),
    ];
    for warning in never.chain(told.into_iter().flatten()).chain(overloads(file, scenario, units)) {
        reader.tell(warning);
    }
}

/// Most rated power of panels over that of their inverter before one of the numbers is likely wrong; a battery under so much
/// power, or over so much energy. Our own choice.
const MUCH_OVER_INVERTER: f64 = 3.0;
const LITTLE_W: f64 = 100.0;
const MUCH_KWH: f64 = 1_000.0;
/// Litres of fuel for a kilowatt-hour at full load: a litre of gasoline or diesel holds 9 to 10 kWh, of which small generators
/// make 10 to 35 %. Common practice, no source; the bounds lie well outside of it.
const USUAL_L_KWH: [f64; 2] = [0.12, 2.0];
const GALLON_L: f64 = 3.785_411_784;

/// Motors that ask more of a battery or generator than it gives.
fn overloads(file: &ScenarioFile, scenario: &Scenario, units: Units) -> Vec<Diagnostic> {
    let power = &scenario.plant.power;
    let battery = file.battery.as_ref().and_then(|at| Some(&at.value.0.as_ref()?.power));
    let generator = file.generator.as_ref().and_then(|at| Some(&at.value.0.as_ref()?.power));
    // No motor waits for another while a battery feeds.
    let battery = battery.map(|power| ("battery", power, false));
    let generator = generator.map(|at| ("generator", at, power.generator.is_some_and(|it| it.one_motor)));
    battery.into_iter().chain(generator).filter_map(|feeder| overload(scenario, feeder, units)).collect()
}

fn overload(
    scenario: &Scenario,
    (feeder, power, one_motor): (&str, &At<Power>, bool),
    units: Units,
) -> Option<Diagnostic> {
    let gives_w = power.value.w();
    let motors = scenario.motors_together(one_motor);
    let named = |motor: &Motor| format!("{} {}", motor.name, units.power(motor.power_w));
    let over = |motors: &[Motor]| sum_w(motors) > gives_w;
    let alone = motors.iter().filter(|motor| motor.power_w > gives_w).reduce(Motor::larger);
    let title = if let Some(motor) = alone {
        let takes = units.power(motor.power_w);
        format!("the {} takes {takes}, more than the {feeder} gives ({})", motor.name, units.power(gives_w))
    } else if over(&motors) {
        let (takes, gives) = (units.power(sum_w(&motors)), units.power(gives_w));
        format!("the motors that may run together take {takes}, more than the {feeder} gives ({gives})")
    } else {
        return None;
    };
    let help = if alone.is_none() && feeder == "generator" && !one_motor && !over(&scenario.motors_together(true)) {
        "write one_motor_at_a_time = true: one then waits for the other"
    } else if motors.iter().any(|motor| motor.kind == MotorKind::Membrane) && alone.is_none() {
        "take one of more power, or write membrane = false in `backup`"
    } else {
        "take one of more power, or a smaller pump"
    };
    let each: Vec<_> = motors.iter().map(named).collect();
    Some(
        Diagnostic::warning(title)
            .at(power.place, "overloaded while the grid is out")
            .note(format!("at their usual work: {}", each.join(", ")))
            .note("a motor that starts takes several times as much for a moment, which is not computed")
            .help(help),
    )
}

/// Panels of far more power than their inverter gives on.
fn small_inverter(file: &ScenarioFile, scenario: &Scenario, units: Units) -> Option<Diagnostic> {
    let limit = file.inverter.0.as_ref()?.power?;
    let sun = scenario.energy.as_ref()?.sun.as_ref()?;
    let rated_w = sun.panels.iter().map(|panels| panels.rated_w).sum::<f64>();
    (rated_w > MUCH_OVER_INVERTER * sun.inverter.limit_w).then(|| {
        let (rated, gives) = (units.power(rated_w), units.power(sun.inverter.limit_w));
        Diagnostic::warning(format!("panels of {rated} stand before an inverter that gives at most {gives}"))
            .at(limit.place, "less than a third of the panels")
            .help("check both: panels are mostly rated up to half as much again as their inverter")
    })
}

/// A battery as small or as large as none in a house.
fn odd_battery(file: &ScenarioFile, units: Units) -> Option<Diagnostic> {
    let battery = file.battery.as_ref()?.value.0.as_ref()?;
    let (power, capacity) = (&battery.power, &battery.capacity);
    if power.value.w() < LITTLE_W {
        let title = format!("the battery gives at most {}", units.power(power.value.w()));
        Some(Diagnostic::warning(title).at(power.place, "starts no pump").help("is the unit right? 5 kW are usual"))
    } else if capacity.value.kwh() > MUCH_KWH {
        let title = format!("the battery holds {:.0} kWh", capacity.value.kwh());
        Some(Diagnostic::warning(title).at(capacity.place, "enough for a village").help("is the unit right?"))
    } else {
        None
    }
}

/// A generator that takes more fuel for its power than any, or less than the fuel holds.
fn odd_fuel(file: &ScenarioFile, scenario: &Scenario) -> Option<Diagnostic> {
    let section = file.generator.as_ref()?.value.0.as_ref()?;
    let generator = scenario.plant.power.generator?;
    let l_kwh = 1e3 * generator.full_l_h / generator.power_w;
    let [least, most] = USUAL_L_KWH;
    let label = if l_kwh > most {
        "much for so little"
    } else if l_kwh < least {
        "less than the fuel holds"
    } else {
        return None;
    };
    Some(
        Diagnostic::warning(format!(
            "the generator takes {l_kwh:.2} L ({:.2} gal) of fuel for a kWh",
            l_kwh / GALLON_L
        ))
        .at(section.full_load_fuel.place, label)
        .at(section.power.place, "at this power")
        .help("usual are 0.3 to 0.6 L (0.08 to 0.16 gal): check both, and their units"),
    )
}

/// A surplus that the inverter never gives.
fn never_left(surplus: &At<Power>, scenario: &Scenario, units: Units) -> Option<Diagnostic> {
    let sun = scenario.energy.as_ref()?.sun.as_ref()?;
    let rated_w = sun.panels.iter().map(|panels| panels.rated_w * (1.0 - panels.losses_share)).sum::<f64>();
    let most_w = rated_w.min(sun.inverter.limit_w);
    (surplus.value.w() > most_w).then(|| {
        let title = format!("the panels give at most {}: so much is never left", units.power(most_w));
        Diagnostic::warning(title)
            .at(surplus.place, "never left")
            .help("let `surplus` be a part of what the panels give on a clear day")
    })
}

/// Panels south of the equator of which nobody said where they face.
fn faces_away(file: &ScenarioFile) -> Option<Diagnostic> {
    let latitude = file.site.0.as_ref()?.latitude.filter(|latitude| latitude.value.0 < 0.0)?;
    let at = file.panels.iter().filter_map(|at| at.0.as_ref()).find(|at| !at.value.azimuth.given)?;
    Some(
        Diagnostic::warning("the panels face south, away from the sun")
            .at(at.place, "`azimuth` is left out: 180")
            .at(latitude.place, "south of the equator")
            .help("write azimuth = 0 where they face north, and 180 where they do face south"),
    )
}

/// Hours that never hold the unit back: it is called with so little in storage that it runs at any hour.
fn idle_hours(file: &ScenarioFile, scenario: &Scenario, units: Units) -> Option<Diagnostic> {
    let section = file.membrane.as_ref()?.value.0.as_ref()?;
    let (hours, start) = (section.hours.as_ref()?, &section.floats.value.start);
    let plant = &scenario.plant;
    let urgent_l = plant.membrane.as_ref()?.hours.as_ref()?.urgent_l;
    let start_l = start.value.volume_l(plant.store.as_ref()?.storage.capacity_l);
    (start_l <= urgent_l).then(|| {
        Diagnostic::warning("the hours of the membrane unit never hold it back")
            .at(hours.value.always_below.place, format!("below {} it runs at any hour", units.volume(urgent_l)))
            .at(start.place, format!("it is called at {}", units.volume(start_l)))
            .help("let `always_below` be less than `start` of the floats")
    })
}
