//! What the gauges of a membrane unit cannot show together, given its pump and its elements.

use springhouse_core::membrane::Membrane;
use springhouse_core::membrane::element::{Fouling, Stream};
use springhouse_core::membrane::vessel::MOST_ELEMENTS;

use crate::diagnostic::Diagnostic;
use crate::display::Units;
use crate::scenario::Scenario;
use crate::sections::{Readings, ScenarioFile};

/// Readings and a pump's curve may differ by this share of its lift. Our own choice: curves of small pumps hold to 7 % in head
/// and 9 % in flow (ISO 9906, grade 3B; from memory), and two gauges to some per cent each.
const MOST_OFF: f64 = 0.15;
/// Turns of the search for what the elements make: each closes half of what is left, and more where less goes round.
const TURNS: u32 = 60;

/// How readings belong together, or do not; the worst is told.
pub(super) fn odd(file: &ScenarioFile, scenario: &Scenario, units: Units) -> Option<Diagnostic> {
    let (section, membrane) = (file.membrane.as_ref()?.value.0.as_ref()?, scenario.plant.membrane.as_ref()?);
    let readings = &section.readings.as_ref()?.value;
    let (concentrate_kpa, suction_kpa) =
        (readings.concentrate_pressure.value.kpa(), readings.suction_pressure.value.kpa());
    let kpa_per_m = scenario.plant.water.pressure_kpa(1.0);
    let pump = membrane.unit.pump.as_ref().map(|pump| &pump.curve);
    let most_kpa = suction_kpa + pump.map_or(0.0, |curve| kpa_per_m * curve.shutoff_m());
    let (read, most) = (units.pressure(concentrate_kpa), units.pressure(most_kpa));
    let gauges = "read all gauges at one moment, while the unit makes water";
    if concentrate_kpa >= most_kpa {
        let (limit, check) = match pump {
            Some(_) => (
                format!("its pump reaches no more than {most} from that suction"),
                "check the pump's `curve`, its `head` at no flow first",
            ),
            None => (
                format!("without a pump it stays below the {most} of the suction"),
                "add a section `membrane.pump` if it has one",
            ),
        };
        let title = format!("the concentrate of the membrane unit is read at {read}, but {limit}");
        return Some(
            Diagnostic::warning(title)
                .at(readings.concentrate_pressure.place, "no gauge can show it")
                .at(readings.suction_pressure.place, "at the suction")
                .help(format!("{gauges}; {check}")),
        );
    }
    let found = expected(readings, membrane, scenario)?;
    let last = section.pump.as_ref()?.value.curve.value.last()?;
    let flow = units.flow(found.vessel_lps);
    if found.vessel_lps > last.flow.value.lps() {
        let title = format!(
            "by its readings the pump of the membrane unit gives {flow}, more than the {} at the end of its curve",
            units.flow(last.flow.value.lps())
        );
        return Some(
            Diagnostic::warning(title)
                .at(
                    readings.reject.place,
                    format!("with the recycle, and {} of product", units.flow(found.product_lps)),
                )
                .at(last.flow.place, "the curve is continued from here")
                .help(format!("{gauges}; add a point of more flow from the pump's data sheet if it has one")),
        );
    }
    let lift_kpa = kpa_per_m * pump?.head_m(found.vessel_lps);
    let expected_kpa = suction_kpa + lift_kpa - found.loss_kpa;
    ((expected_kpa - concentrate_kpa).abs() > MOST_OFF * lift_kpa).then(|| {
        let title = format!(
            "the concentrate of the membrane unit is read at {read}, but at the flows read its pump raises it to {}",
            units.pressure(expected_kpa)
        );
        let sum = format!(
            "{} at the suction and {} from the pump at {flow}, less {} along the elements",
            units.pressure(suction_kpa),
            units.pressure(lift_kpa),
            units.pressure(found.loss_kpa)
        );
        Diagnostic::warning(title)
            .at(readings.concentrate_pressure.place, "does not belong to that pump and those flows")
            .note(sum)
            .note("the valves are set by the readings, so the unit that is simulated runs at other flows than these")
            .help(format!("{gauges}; check the pump's `curve`: a worn pump gives less than its data sheet says"))
    })
}

/// What the vessels do while the gauges show what they do.
struct Vessels {
    /// Product,
    product_lps: f64,
    /// and what the pump gives for it: with reject and recycle.
    vessel_lps: f64,
    /// Pressure lost along the elements.
    loss_kpa: f64,
}

/// The clean elements behind a concentrate of the flow and pressure read, on the water of the first supply. With the reject
/// shut, before the loop has become salty. `None` where nothing flows.
fn expected(readings: &Readings, membrane: &Membrane, scenario: &Scenario) -> Option<Vessels> {
    let plant = &scenario.plant;
    let feed_mg_l = plant.supplies.iter().find(|supply| !supply.standby)?.quality.salt_mg_l;
    let array = membrane.unit.at(membrane.feed_temp_c, Fouling::CLEAN, &plant.water).array;
    let (reject_lps, recycle_lps) = (readings.reject.value.lps(), readings.recycle.value.lps());
    if reject_lps + recycle_lps <= 0.0 {
        return None;
    }
    let (mut product_lps, mut loss_kpa, mut loop_mg_l) = (0.0, 0.0, feed_mg_l);
    let mut recoveries = [0.1; MOST_ELEMENTS];
    for _ in 0..TURNS {
        let flow_lps = reject_lps + recycle_lps + product_lps;
        let salt_mg_s = (flow_lps - recycle_lps) * feed_mg_l + recycle_lps * loop_mg_l;
        let pressure_kpa = readings.concentrate_pressure.value.kpa() + loss_kpa;
        let vessel = Stream { flow_lps, salt_mg_l: salt_mg_s / flow_lps, pressure_kpa };
        let march = array.march(&vessel, &mut recoveries);
        product_lps = march.product_lps;
        loss_kpa = pressure_kpa - march.concentrate.pressure_kpa;
        if reject_lps > 0.0 {
            loop_mg_l = march.concentrate.salt_mg_l;
        }
    }
    let vessel_lps = reject_lps + recycle_lps + product_lps;
    (vessel_lps.is_finite() && loss_kpa.is_finite()).then_some(Vessels { product_lps, vessel_lps, loss_kpa })
}
