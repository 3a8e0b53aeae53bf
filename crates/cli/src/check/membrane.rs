//! What `check` says of a membrane unit.

use springhouse_core::membrane::place::CalciteBed;
use springhouse_core::membrane::{Membrane, RunHours};
use springhouse_report::tune::beyond;
use springhouse_scenario::{Scenario, Units};
use springhouse_study::tune::{Asked, Question, sensitivity};

use super::hot_water::clock;
use super::{DAY_S, Said, row};

/// What the unit makes when it is clean, and how that compares with its plate.
pub(super) fn membrane(scenario: &Scenario, units: Units) -> Vec<Said> {
    let Some(membrane) = &scenario.plant.membrane else { return Vec::new() };
    let (vessels, in_series) = (membrane.unit.vessels, membrane.unit.elements_in_series);
    let mut rows = vec![row("Membrane unit", format!("{vessels} x {in_series} elements"))];
    let (settled, at_first) = (scenario.membrane_at_work(), scenario.membrane_at_first());
    let reject_shut = membrane.unit.valves.reject_kv <= 0.0;
    if let Some(found) = &settled {
        let flows = &found.flows;
        let (fed, at) = (units.flow(flows.feed_lps()), units.pressure(found.inlet_kpa));
        let (made, day) = (units.flow(flows.product_lps), units.volume(DAY_S * flows.product_lps));
        let (salt, left, temp) =
            (found.feed_salt_mg_l, flows.product_salt_mg_l(), units.temperature(membrane.feed_temp_c));
        let share = 100.0 * flows.recovery();
        rows.push(row("", format!("clean, at {temp}, of {fed} at {at} it makes {made} ({day} a day), {share:.0} %")));
        rows.push(row("", format!("of {salt:.0} mg/L of salt it leaves {left:.1} mg/L")));
        if let Some(scale) = &membrane.scale {
            let product = scale.analysis.product((left / salt.max(left)).min(1.0));
            rows.push(row("", format!("its product has a pH of some {:.1}", product.ph)));
        }
        rows.extend(limits(scenario));
        rows.extend(to_storage(scenario, membrane, flows.product_lps, units));
    } else if let Some(found) = at_first.filter(|_| reject_shut) {
        let (made, at) = (units.flow(found.flows.product_lps), units.pressure(found.inlet_kpa));
        rows.push(row(
            "",
            format!("its reject is shut: clean and fresh it makes {made} at {at}, less as its loop gets saltier"),
        ));
    } else if reject_shut && membrane.unit.valves.recycle_kv <= 0.0 {
        rows.push(row("", "makes no water: both its valves are shut".to_owned()));
    } else {
        rows.push(row("", "makes no water at the lowest pressure that the controls hold".to_owned()));
    }
    rows.extend(membrane.hours.as_ref().map(|hours| row("", self::hours(hours, units))));
    rows.extend(membrane.reject_to.and_then(|supply| scenario.plant.supplies.get(supply)).map(|supply| {
        let name = &supply.name;
        let then = if membrane.reject_circles {
            "even while that feeds the plant: its salt comes back with the feed, and grows"
        } else {
            "but to a drain while that feeds the plant"
        };
        row("", format!("its reject goes to the {name}, {then}"))
    }));
    let plate = scenario.membrane_design.as_ref().and_then(|design| design.plate);
    if let Some(ratio) = plate.and_then(|plate| plate.product_ratio(&membrane.unit).ok()) {
        rows.push(row("", format!("at the conditions of its plate it makes {:.0} % of what that says", 100.0 * ratio)));
    }
    rows
}

/// When it may run.
fn hours(hours: &RunHours, units: Units) -> String {
    let windows = hours.windows.iter().map(|(start, end)| format!("from {} to {}", clock(*start), clock(*end)));
    let sun = hours.surplus_w.map(|surplus_w| format!("while the sun leaves {}", units.power(surplus_w)));
    let when: Vec<_> = windows.chain(sun).collect();
    let (urgent, relaxed) = (units.volume(hours.urgent_l), units.volume(hours.relaxed_l));
    format!("runs {}; with less than {urgent} in storage at any hour, until there are {relaxed}", when.join(", and "))
}

/// Whether the valves as they are set keep the limits of design, in typical water.
fn limits(scenario: &Scenario) -> Option<Said> {
    let question = Question::of(scenario, &Asked::default()).ok()?;
    let breaks = sensitivity(&question).ok()?.present.breaks;
    Some(row(
        "",
        if breaks.is_empty() {
            "as its valves are set it keeps the limits of design".to_owned()
        } else {
            format!("as its valves are set: {}; see `springhouse tune`", beyond(breaks))
        },
    ))
}

/// What the product meets on its way to storage.
fn to_storage(scenario: &Scenario, membrane: &Membrane, product_lps: f64, units: Units) -> Vec<Said> {
    let mut rows = Vec::new();
    if let Some(bed) = &membrane.calcite {
        let dissolves_mg_l = bed.dissolves_mg_l(bed.start_kg, product_lps);
        let contact_min = bed.start_kg / (CalciteBed::BULK_KG_L * product_lps) / 60.0;
        let wanted_l = scenario.delivered_l_per_day() * (1.0 - scenario.blended_share());
        let lasts = match 1e6 * bed.start_kg / (dissolves_mg_l * wanted_l) {
            days if days.is_finite() => format!("; the bed would last {days:.0} days"),
            _ => String::new(),
        };
        rows.push(row(
            "Calcite",
            format!("{contact_min:.0} min in the bed dissolve {dissolves_mg_l:.0} mg/L in the product{lasts}"),
        ));
    }
    if membrane.blend.is_some() {
        let share = 100.0 * scenario.blended_share();
        let flow = units.flow(product_lps * share / (100.0 - share));
        rows.push(row("Blend", format!("{flow} go past the membrane: {share:.0} % of what storage gets")));
    }
    rows
}
