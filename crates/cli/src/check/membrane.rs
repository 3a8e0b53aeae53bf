//! What `check` says of a membrane unit.

use springhouse_scenario::{Scenario, Units};

use super::{DAY_S, Said, row};

/// What the unit makes when it is clean, and how that compares with its plate.
pub(super) fn membrane(scenario: &Scenario, units: Units) -> Vec<Said> {
    let Some(membrane) = &scenario.plant.membrane else { return Vec::new() };
    let (vessels, in_series) = (membrane.unit.vessels, membrane.unit.elements_in_series);
    let mut rows = vec![row("Membrane unit", format!("{vessels} x {in_series} elements"))];
    if let Some(found) = scenario.membrane_at_work() {
        let flows = &found.flows;
        let (fed, at) = (units.flow(flows.feed_lps()), units.pressure(found.inlet_kpa));
        let (made, day) = (units.flow(flows.product_lps), units.volume(DAY_S * flows.product_lps));
        let (salt, left, temp) =
            (found.feed_salt_mg_l, flows.product_salt_mg_l(), units.temperature(membrane.feed_temp_c));
        let share = 100.0 * flows.recovery();
        rows.push(row("", format!("clean, at {temp}, of {fed} at {at} it makes {made} ({day} a day), {share:.0} %")));
        rows.push(row("", format!("of {salt:.0} mg/L of salt it leaves {left:.1} mg/L")));
    } else {
        rows.push(row("", "makes no water at the lowest pressure that the controls hold".to_owned()));
    }
    let plate = scenario.membrane_design.as_ref().and_then(|design| design.plate);
    if let Some(ratio) = plate.and_then(|plate| plate.product_ratio(&membrane.unit).ok()) {
        rows.push(row("", format!("at the conditions of its plate it makes {:.0} % of what that says", 100.0 * ratio)));
    }
    rows
}
