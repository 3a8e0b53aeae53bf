//! What a technician would say of a membrane unit.

use springhouse_core::membrane::Membrane;
use springhouse_core::membrane::element::Fouling;
use springhouse_core::outlet::Header;
use springhouse_core::treatment::StageKind;

use crate::diagnostic::Diagnostic;
use crate::display::Units;
use crate::scenario::Scenario;
use crate::sections::{self, ScenarioFile};
use crate::source::Stretch;
use crate::typed::Reader;

/// A unit whose product is further from that of its plate is described wrongly: elements of one kind differ by a fifth.
const MOST_OFF: f64 = 0.25;
/// Walls rougher than this are not plastic, copper or stainless steel.
const ROUGH_MM: f64 = 0.03;
const DAY_S: f64 = 86_400.0;

pub(super) fn tell(file: &ScenarioFile, scenario: &Scenario, reader: &mut Reader<'_>, units: Units) {
    let (Some(at), Some(membrane)) = (&file.membrane, &scenario.plant.membrane) else { return };
    let Some(section) = at.value.0.as_ref() else { return };
    let told = [
        chlorine(at.place, scenario),
        early_trip(section, at.place, (membrane, scenario), units),
        no_reject(section, membrane),
        scales(at.place, (membrane, scenario)),
        off_plate(section, (membrane, scenario), units),
        metal_pipe(file, at.place, scenario),
    ];
    for warning in told.into_iter().flatten() {
        reader.tell(warning);
    }
}

/// Chlorine that reaches the membrane.
fn chlorine(place: Stretch, scenario: &Scenario) -> Option<Diagnostic> {
    let plant = &scenario.plant;
    let chlorinated = plant.supplies.iter().find(|supply| supply.quality.chlorine_mg_l > 0.0)?;
    let carbon = |kind: &StageKind| matches!(kind, StageKind::Carbon(_));
    if plant.stages.iter().any(|stage| stage.header == Header::Raw && carbon(&stage.kind)) {
        return None;
    }
    let title = format!("the chlorine of the {} reaches the membrane", chlorinated.name);
    Some(
        Diagnostic::warning(title)
            .at(place, "no `stage` of kind \"carbon\" ahead of it")
            .note("chlorine eats the usual membranes within months; this is not simulated")
            .help("add a section `stage` of kind \"carbon\" on the header"),
    )
}

/// Pressure that is left at the suction while the pressure tank is about to call its pump, all stages being clean.
fn lowest_inlet_kpa(membrane: &Membrane, scenario: &Scenario) -> Option<f64> {
    let plant = &scenario.plant;
    let first = plant.supplies.iter().filter(|supply| !supply.standby);
    let (low_kpa, salt_mg_l) = first
        .filter_map(|supply| Some((supply.source.pump()?.control.low_kpa(), supply.quality.salt_mg_l)))
        .min_by(|a, b| a.0.total_cmp(&b.0))?;
    let at = membrane.unit.at(membrane.feed_temp_c, Fouling::CLEAN, &plant.water);
    let still_kpa = low_kpa - plant.water.pressure_kpa(membrane.rise_m);
    let stages = || plant.stages.iter().filter(|stage| stage.header == Header::Raw);
    let left_kpa = |inlet_kpa: f64| {
        let feed_lps = at.steady(inlet_kpa.max(0.0), salt_mg_l).map_or(0.0, |found| found.flows.feed_lps());
        stages().fold(still_kpa, |kpa, stage| kpa - stage.loss_kpa(feed_lps, 0.0))
    };
    // The feed hardly depends on its own pressure where there is a pump: a second turn settles it.
    Some(left_kpa(left_kpa(still_kpa)))
}

fn early_trip(
    section: &sections::Membrane,
    header: Stretch,
    (membrane, scenario): (&Membrane, &Scenario),
    units: Units,
) -> Option<Diagnostic> {
    let left_kpa = lowest_inlet_kpa(membrane, scenario)?;
    let trip = &section.inlet.trip_pressure;
    (left_kpa <= membrane.inlet.kpa).then(|| {
        let title = format!(
            "the membrane unit stops at {} at its suction, but only {} are left there when the pressure tank is low",
            units.pressure(membrane.inlet.kpa),
            units.pressure(left_kpa.max(0.0))
        );
        Diagnostic::warning(title)
            .at(if trip.given { trip.place } else { header }, "trips in every cycle of the well pump")
            .note("counted with clean filters: as they fill, less is left")
            .help("a lower `trip_pressure`, a higher `cut_in`, or a smaller loss on the way")
    })
}

fn no_reject(section: &sections::Membrane, membrane: &Membrane) -> Option<Diagnostic> {
    if membrane.unit.valves.reject_kv > 0.0 {
        return None;
    }
    let place = match (&section.valves, &section.readings) {
        (Some(valves), _) => valves.value.reject.place,
        (None, Some(readings)) => readings.value.reject.place,
        (None, None) => return None,
    };
    Some(
        Diagnostic::warning("the reject valve of the membrane unit is shut: nothing carries its salt away")
            .at(place, "shut")
            .note("the loop gets saltier until hardly anything passes, and scale ruins the elements within hours")
            .help("open it: never run such a unit with the reject valve shut"),
    )
}

fn off_plate(
    section: &sections::Membrane,
    (membrane, scenario): (&Membrane, &Scenario),
    units: Units,
) -> Option<Diagnostic> {
    let plate = scenario.membrane_design.as_ref()?.plate?;
    // Told by its valve.
    if membrane.unit.valves.reject_kv <= 0.0 {
        return None;
    }
    let place = section.plate.as_ref()?.place;
    let Ok(ratio) = plate.product_ratio(&membrane.unit) else {
        return Some(
            Diagnostic::warning("at the conditions of its plate the membrane unit makes no water")
                .at(place, "cannot be compared")
                .help("valves, pump or pressure do not belong to this unit"),
        );
    };
    ((ratio - 1.0).abs() > MOST_OFF).then(|| {
        let (found, promised) =
            (units.flow(ratio * plate.product_l_day / DAY_S), units.flow(plate.product_l_day / DAY_S));
        let title = format!(
            "at the conditions of its plate the membrane unit makes {:.0} % of what the plate says",
            100.0 * ratio
        );
        Diagnostic::warning(title)
            .at(place, format!("{promised} on the plate, {found} from elements, pump and valves"))
            .note("plates of units are often stated at another pressure than they are run at")
            .help("check the elements' plate, the pump's curve and the readings against the unit")
    })
}

/// A reject beyond the limits of scale, the unit settled and clean.
fn scales(place: Stretch, (membrane, scenario): (&Membrane, &Scenario)) -> Option<Diagnostic> {
    let (found, scale) = (scenario.membrane_at_work()?, membrane.scale.as_ref()?);
    let factor = found.loop_salt_mg_l / found.feed_salt_mg_l;
    (found.feed_salt_mg_l > 0.0 && scale.excess(factor) > 0.0).then(|| {
        Diagnostic::warning("the reject of the membrane unit leaves scale on its membranes")
            .at(place, format!("its reject is {factor:.1} times as strong as its feed"))
            .note("by the analysis of its water, with or without an antiscalant as the scenario says")
            .help("open the reject valve, dose an antiscalant (`antiscalant = true`), or soften the feed; `springhouse tune` shows how far")
    })
}

/// Water of few minerals in a pipe of iron.
fn metal_pipe(file: &ScenarioFile, membrane: Stretch, scenario: &Scenario) -> Option<Diagnostic> {
    if scenario.plant.membrane.as_ref().is_some_and(|membrane| membrane.calcite.is_some()) {
        return None;
    }
    let outlets = scenario.plant.outlets.iter().zip(&file.building);
    let behind = |header: Header| header == Header::Delivery;
    let (_, building) = outlets.into_iter().find(|(outlet, _)| {
        let rough = outlet.service.as_ref().is_some_and(|pipe| pipe.roughness_mm > ROUGH_MM);
        rough && behind(outlet.header)
    })?;
    let pipe = building.0.as_ref()?.service.as_ref()?;
    Some(
        Diagnostic::warning("water of few minerals runs through a rough pipe, as of iron or galvanised steel")
            .at(pipe.value.roughness.place, "rough")
            .at(membrane, "takes the minerals out")
            .note("such water eats metal pipes and takes up what they are made of; this is not simulated")
            .help("plastic pipe, or a bed that gives minerals back: see docs/cautions.md"),
    )
}
