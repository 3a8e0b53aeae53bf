//! What is odd about the sun, and about parts that go by it.

use crate::diagnostic::Diagnostic;
use crate::display::Units;
use crate::quantity::Power;
use crate::scenario::Scenario;
use crate::sections::ScenarioFile;
use crate::typed::{At, Reader};

pub(super) fn tell(file: &ScenarioFile, scenario: &Scenario, reader: &mut Reader<'_>, units: Units) {
    let heaters = file.heater.iter().filter_map(|at| Some(&at.0.as_ref()?.value.sun.as_ref()?.value.surplus));
    let hours = file.membrane.as_ref().and_then(|at| at.value.0.as_ref()?.hours.as_ref());
    let unit = hours.and_then(|hours| hours.value.surplus.as_ref());
    let never = heaters.chain(unit).filter_map(|surplus| never_left(surplus, scenario, units));
    for warning in never.chain(faces_away(file)).chain(idle_hours(file, scenario, units)) {
        reader.tell(warning);
    }
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
