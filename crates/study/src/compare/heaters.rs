//! The same hot water from other heaters.

use springhouse_core::heater::control::Mode;
use springhouse_core::heater::heat_pump::HeatPump;
use springhouse_core::heater::{Burner, Elements, Source};
use springhouse_core::hot_water::HeaterPlace;
use springhouse_scenario::{HeaterKind, Scenario};

use super::{Asked, CompareError};

/// The ways of a heater.
const WAYS: [(&str, HeaterKind, Mode); 5] = [
    ("heat pump only", HeaterKind::HeatPump, Mode::HeatPumpOnly),
    ("hybrid", HeaterKind::HeatPump, Mode::Hybrid),
    ("electric", HeaterKind::Electric, Mode::ElementOnly),
    ("gas", HeaterKind::Gas, Mode::Hybrid),
    ("propane", HeaterKind::Propane, Mode::Hybrid),
];

/// All heaters of a scenario in each way: in tanks of the same volume, at the same set points.
pub(super) fn ways(scenario: &Scenario) -> Result<(Vec<Asked>, Vec<String>), CompareError> {
    if scenario.plant.hot_water.is_empty() {
        return Err(CompareError::NoHeater);
    }
    let mut asked = vec![Asked::as_given(scenario)];
    for (name, kind, mode) in WAYS {
        let mut way = Asked::with(name, scenario, |parts| {
            for heater in &mut parts.hot_water.heaters {
                turn_into(heater, kind, mode);
            }
        })?;
        for plate in &mut way.scenario.heater_plates {
            if plate.kind != kind {
                (plate.kind, plate.energy_factor, plate.first_hour_l) = (kind, None, None);
            }
        }
        asked.push(way);
    }
    let is = |of: fn(&Source) -> bool| scenario.plant.hot_water.heaters.iter().all(|it| of(&it.heater.source));
    let mut assumed =
        vec!["All ways have tanks of the volume and loss that the scenario gives, and its set points; their mode holds in windows and by \
         the sun, too"
            .to_owned()];
    if !is(|source| matches!(source, Source::HeatPump(..))) {
        assumed.push("A heat pump that the scenario does not describe is a usual integrated one of 1600 W".to_owned());
    }
    if !is(|source| matches!(source, Source::Fuel(_))) {
        assumed.push(
            "A burner that it does not describe is a usual one of 11.7 kW (40000 Btu/h) with a standing pilot"
                .to_owned(),
        );
    }
    if let Some(fuels) = scenario.energy.as_ref().map(|energy| energy.fuels) {
        let unknown = [("gas", fuels.gas), ("propane", fuels.propane)].into_iter();
        let unknown = unknown.filter(|(_, fuel)| fuel.per_kwh.is_none()).map(|(name, _)| name);
        let unknown: Vec<_> = unknown.collect();
        if !unknown.is_empty() {
            assumed.push(format!(
                "The tariff has no price of {}, so what that costs is not told",
                unknown.join(" and of ")
            ));
        }
    }
    Ok((asked, assumed))
}

/// Makes a heater one of another kind, unless it is one.
fn turn_into(place: &mut HeaterPlace, kind: HeaterKind, mode: Mode) {
    let source = &mut place.heater.source;
    let elements = match source {
        Source::Electric(elements) | Source::HeatPump(_, elements) if has_any(elements) => *elements,
        _ => Elements::TYPICAL,
    };
    match (kind, &source) {
        (HeaterKind::HeatPump, Source::HeatPump(pump, _)) => *source = Source::HeatPump(*pump, elements),
        (HeaterKind::HeatPump, _) => *source = Source::HeatPump(HeatPump::TYPICAL, elements),
        (HeaterKind::Electric, _) => *source = Source::Electric(elements),
        (HeaterKind::Gas | HeaterKind::Propane, Source::Fuel(_)) => (),
        (HeaterKind::Gas | HeaterKind::Propane, _) => *source = Source::Fuel(Burner::TYPICAL),
    }
    let settings = &mut place.settings;
    let modes = settings.windows.iter_mut().map(|window| &mut window.mode);
    for own in modes.chain(settings.sun.iter_mut().map(|sun| &mut sun.mode)).chain([&mut settings.mode]) {
        if *own != Mode::Off {
            *own = mode;
        }
    }
}

fn has_any(elements: &Elements) -> bool {
    elements.upper.is_some() || elements.lower.is_some()
}
