//! What a technician would say of treatment.

use springhouse_core::outlet::{Header, Role};
use springhouse_core::quality::absorbance_per_cm;
use springhouse_core::supply::{Source, Supply};
use springhouse_core::treatment::{Stage, StageKind};
use springhouse_core::water::Water;

use crate::assemble::stages;
use crate::diagnostic::Diagnostic;
use crate::display::Units;
use crate::scenario::Scenario;
use crate::sections::{self, ScenarioFile};
use crate::typed::Reader;

/// At this pressure in a main there is water to count on: 20 psi.
const MAIN_KPA: f64 = 137.895_145_863_367_2;

pub(super) fn tell(file: &ScenarioFile, scenario: &Scenario, reader: &mut Reader<'_>, units: Units) {
    let told = [untreated_pond(file, scenario), disinfected_too_early(file, scenario), washes_meet(file, scenario)];
    for warning in told.into_iter().flatten() {
        reader.tell(warning);
    }
    for (section, stage) in both(file, scenario) {
        let told = [
            weak_wash(section, scenario, units),
            short_contact(section, stage, units),
            weak_light(section, stage, scenario, units),
        ];
        for warning in told.into_iter().flatten() {
            reader.tell(warning);
        }
    }
}

/// Each stage of the file with that of the plant.
fn both<'a>(file: &'a ScenarioFile, scenario: &'a Scenario) -> impl Iterator<Item = (&'a sections::Stage, &'a Stage)> {
    let order = stages::order(file).unwrap_or_default();
    order
        .into_iter()
        .zip(&scenario.plant.stages)
        .filter_map(|(i, stage)| Some((&file.stage.get(i)?.0.as_ref()?.value, stage)))
}

fn light(stages: &[Stage]) -> impl Iterator<Item = &Stage> {
    stages.iter().filter(|stage| stage.ultraviolet().is_some())
}

fn untreated_pond(file: &ScenarioFile, scenario: &Scenario) -> Option<Diagnostic> {
    let pond = file.pond.as_ref()?;
    if light(&scenario.plant.stages).next().is_some() {
        return None;
    }
    Some(
        Diagnostic::warning("pond water reaches the buildings without being disinfected")
            .at(pond.place, "no `stage` of kind \"ultraviolet\" behind it")
            .note("open water carries germs: what is safe to drink is decided by local code and a laboratory, not here")
            .help("add a section `stage` of kind \"ultraviolet\" after filters that keep the water clear"),
    )
}

fn disinfected_too_early(file: &ScenarioFile, scenario: &Scenario) -> Option<Diagnostic> {
    let plant = &scenario.plant;
    let delivered = |header: Header| header == Header::Delivery;
    let stored = plant.outlets.iter().any(|outlet| outlet.role == Role::Building && delivered(outlet.header));
    if !stored || light(&plant.stages).any(|stage| delivered(stage.header)) {
        return None;
    }
    let (section, _) = both(file, scenario).find(|(_, stage)| stage.ultraviolet().is_some())?;
    let place = section.behind.map_or(section.name.place, |behind| behind.place);
    let warning = Diagnostic::warning("the water is disinfected ahead of storage, but not after it")
        .at(place, "ahead of the tank")
        .note("light leaves nothing in the water: germs that come into the tank go on to the taps");
    Some(warning.help("let `behind` be \"delivery\", or add a second unit there"))
}

/// A wash that wants more than the supplies give.
fn weak_wash(section: &sections::Stage, scenario: &Scenario, units: Units) -> Option<Diagnostic> {
    let wash = &section.backwash.as_ref()?.value;
    let first = scenario.plant.supplies.iter().filter(|supply| !supply.standby);
    let given_lps: f64 = first.map(|supply| given_lps(supply, &scenario.plant.water)).fold(0.0, |sum, lps| sum + lps);
    (wash.flow.value.lps() > given_lps).then(|| {
        let (wanted, given) = (units.flow(wash.flow.value.lps()), units.flow(given_lps));
        Diagnostic::warning(format!("the backwash wants {wanted}, but the supply gives {given} at most"))
            .at(wash.flow.place, "too much for the supply")
            .note("a bed that is washed too slowly is not washed: what it caught stays in it")
            .help("a larger supply, or a smaller bed; the flow it needs is on its data sheet")
    })
}

/// What a supply gives at the lowest pressure that its control holds, with its water at rest.
fn given_lps(supply: &Supply, water: &Water) -> f64 {
    match &supply.source {
        Source::Well { well, pump } => pump.flow_lps(1.0, well.static_depth_m, pump.control.low_kpa(), water),
        Source::Basin { basin, pump } => {
            pump.flow_lps(1.0, basin.water_depth_m(basin.capacity_l), pump.control.low_kpa(), water)
        }
        Source::TownLine(line) => line.flow_lps(MAIN_KPA),
    }
}

/// Two washes that come at the same time on some day of the run.
fn washes_meet(file: &ScenarioFile, scenario: &Scenario) -> Option<Diagnostic> {
    const DAY_S: f64 = 86_400.0;
    let stages = file.stage.iter().filter_map(|stage| Some(&stage.0.as_ref()?.value));
    let washes: Vec<_> = stages.filter_map(|stage| Some((stage, &stage.backwash.as_ref()?.value))).collect();
    let midnight = jiff::civil::Time::midnight();
    let start_s = |wash: &sections::Backwash| wash.start.value.0.duration_since(midnight).as_secs_f64();
    let comes = |wash: &sections::Backwash, day: i64| {
        let (every, first) = (i64::from(wash.every.value.0), i64::from(wash.first.value.0));
        day >= first && (day - first) % every.max(1) == 0
    };
    // One that begins before midnight may go on into the next day's.
    let meet = |a: &sections::Backwash, b: &sections::Backwash, days_later: i8| {
        let after_s = start_s(b) + f64::from(days_later) * DAY_S - start_s(a);
        let at_once = after_s < a.length.value.s() && -after_s < b.length.value.s();
        at_once && (0..i64::from(scenario.days)).any(|day| comes(a, day) && comes(b, day + i64::from(days_later)))
    };
    let pairs = washes.iter().enumerate().flat_map(|(i, a)| washes.iter().skip(i + 1).map(move |b| (a, b)));
    let (first, second) = pairs.into_iter().find(|(a, b)| (-1..=1).any(|days| meet(a.1, b.1, days)))?;
    let [one, other] = [first, second].map(|(stage, _)| stage.name.value.0.as_str());
    Some(
        Diagnostic::warning(format!("\"{one}\" and \"{other}\" are washed at the same time"))
            .at(second.1.start.place, "the other is still washed")
            .at(first.1.start.place, "the one")
            .note("both washes together may want more than the supply gives, and neither bed is washed then")
            .help("let the second start when the first is over"),
    )
}

/// A light that is too weak for the most that the pump ahead of it gives, with its lamp at the end of its life.
fn weak_light(section: &sections::Stage, stage: &Stage, scenario: &Scenario, units: Units) -> Option<Diagnostic> {
    let unit = stage.ultraviolet()?;
    let plant = &scenario.plant;
    let supplies = plant.supplies.iter().filter(|supply| supply.source.pump().is_some());
    let flows = supplies.map(|supply| {
        let flow_lps = match (stage.header, &plant.store) {
            (Header::Delivery, Some(store)) => {
                store.delivery.full_speed_flow_lps(store.delivery.drive.set_kpa, &plant.water)
            }
            _ => given_lps(supply, &plant.water),
        };
        let transmittance = supply.quality.transmittance;
        let absorbance = absorbance_per_cm(transmittance);
        (unit.dose_mj_cm2(flow_lps, stage.rated_lps, absorbance, unit.life_h), flow_lps, transmittance, supply)
    });
    let (dose_mj_cm2, flow_lps, transmittance, supply) =
        flows.reduce(|least, other| if other.0 < least.0 { other } else { least })?;
    (dose_mj_cm2 < unit.limit_mj_cm2).then(|| {
        let pump = if stage.header == Header::Delivery { "delivery" } else { supply.name.as_str() };
        Diagnostic::warning(format!(
            "at the {} that the {pump} pump gives, \"{}\" has a dose of {dose_mj_cm2:.0} mJ/cm2, less than its least of {:.0}",
            units.flow(flow_lps),
            stage.name,
            unit.limit_mj_cm2
        ))
        .at(section.rated_flow.place, "small for the pump")
        .note(format!(
            "reckoned with the lamp at the end of its life, in water of the {} ({:.0} % transmittance)",
            supply.name,
            100.0 * transmittance
        ))
        .help("a larger unit, or a device ahead of it that limits the flow")
    })
}

fn short_contact(section: &sections::Stage, stage: &Stage, units: Units) -> Option<Diagnostic> {
    let StageKind::Carbon(carbon) = &stage.kind else { return None };
    let (found_s, bed) = (carbon.contact_s(stage.rated_lps), section.bed_volume?);
    (found_s < carbon.contact_s).then(|| {
        let (found, needed) = (units.duration(found_s), units.duration(carbon.contact_s));
        Diagnostic::warning(format!(
            "at its rated flow \"{}\" has the water for {found}, but needs {needed}",
            stage.name
        ))
        .at(bed.place, "small for the flow")
        .at(section.rated_flow.place, "large for the bed")
        .note("chlorine passes a bed of carbon that has too little time for it")
        .help("a larger bed, or a lower `rated_flow`")
    })
}
