//! `springhouse check`: what a scenario describes, in plain words, with what its parts can do.

mod energy;
mod hot_water;
mod membrane;
mod supplies;
mod users;
mod weather;

use core::fmt::Write;

use springhouse_core::outlet::Header;
use springhouse_core::plant::{Plant, Store};
use springhouse_core::quality::absorbance_per_cm;
use springhouse_core::treatment::Stage;
use springhouse_core::ultraviolet::Ultraviolet;
use springhouse_scenario::motors::rest_depth_m;
use springhouse_scenario::{Loaded, Scenario, Units, load};

use crate::args::CheckArgs;
use crate::fault::Fault;
use crate::out::Out;
use crate::run;

const DAY_S: f64 = 86_400.0;

/// A part and what is said of it; of several rows of one part only the first has its name.
type Said = (String, String);

pub(crate) fn check(args: &CheckArgs, out: &mut Out) -> Result<(), Fault> {
    let loaded = load(&args.scenario).map_err(|faults| Fault::Bad(faults.render(true)))?;
    let units = args.units.map_or(loaded.scenario.units, Into::into);
    // What a run of the scenario as it stands would be refused for is told here.
    let beside = run::beside(&loaded.scenario, &args.scenario)?;
    out.result(&described(&loaded, units))?;
    if loaded.warnings.is_empty() && beside.is_empty() {
        // Advice on heaters stands with them and is no warning: what they are set to runs as told.
        let beyond = if hot_water::are_advised_on(&loaded.scenario) { " but what stands in brackets" } else { "" };
        return out.result(&format!("\nNothing to warn about{beyond}."));
    }
    out.result("")?;
    out.finish()?;
    if !loaded.warnings.is_empty() {
        out.note(&loaded.warnings.render(true));
    }
    for warning in &beside {
        out.note(warning);
    }
    Ok(())
}

/// Rows of a part and what is said of it, along the water's way.
fn described(loaded: &Loaded, units: Units) -> String {
    let scenario = &loaded.scenario;
    let plant = &scenario.plant;
    let mut rows: Vec<Said> = weather::weather(scenario, units).into_iter().collect();
    rows.extend(supplies::supplies(scenario, loaded.pump_test.as_ref(), units));
    rows.extend(supplies::change_over(plant, units));
    rows.extend(supplies::pressure_tank(plant, units));
    rows.extend(plant.stages.iter().map(|stage| row("Treatment", treatment(scenario, stage, units))));
    rows.extend(plant.reducer_kpa.map(|kpa| row("Reducer", format!("lets through at most {}", units.pressure(kpa)))));
    rows.extend(membrane::membrane(scenario, units));
    if let Some(store) = &plant.store {
        rows.push(row("Storage", storage(scenario, store, units)));
        rows.push(row("Delivery pump", delivery(plant, store, units)));
    }
    rows.extend(users::outlets(scenario, units));
    rows.extend(hot_water::heaters(scenario, units));
    rows.extend(hot_water::rooms(scenario, units));
    rows.extend(energy::energy(scenario, units));
    rows.push(row("Draws", users::draws(scenario, units)));
    rows.extend(users::incidents(scenario, units));
    let width = rows.iter().map(|(part, _)| part.chars().count()).max().unwrap_or(0) + 2;
    let mut text = format!("{}\n\n", scenario.title);
    for (part, said) in rows {
        // Writing to a string cannot fail.
        let _ = writeln!(text, "{part:width$}{said}");
    }
    text
}

fn row(part: &str, said: String) -> Said {
    (part.to_owned(), said)
}

/// A stage of treatment: its loss when clean and at its limit, its light, its wash.
fn treatment(scenario: &Scenario, stage: &Stage, units: Units) -> String {
    let (clean, limit) = (units.pressure(stage.clean_kpa), units.pressure(stage.limit_kpa));
    let losses = if stage.limit_kpa > stage.clean_kpa { format!("{clean}, {limit} when due") } else { clean };
    let mut said = format!("{}: loses {losses} at {}", stage.name, units.flow(stage.rated_lps));
    if let Some(unit) = stage.ultraviolet() {
        said.push_str(&light(&scenario.plant, stage, unit, units));
    }
    for wash in scenario.schedule.iter().filter(|draw| stage.backwash.is_some_and(|wash| wash.outlet == draw.outlet)) {
        let minutes = wash.start.ns() / springhouse_core::time::Span::MINUTE.ns();
        let often = match wash.every {
            0 | 1 => "every day".to_owned(),
            every => format!("every {every} days"),
        };
        let (long, flow) = (units.duration(wash.length.s()), units.flow(wash.flow.lps()));
        let clock = format!("{:02}:{:02}", minutes / 60, minutes % 60);
        // Writing to a string cannot fail.
        let _ = write!(said, "; washed {often} at {clock}, {long} at {flow}");
    }
    said
}

/// The dose at the most that a pump ahead of it gives, in that supply's water, with the lamp at the end of its life; of several
/// supplies the least.
fn light(plant: &Plant, stage: &Stage, unit: &Ultraviolet, units: Units) -> String {
    let dosed = plant.supplies.iter().map(|supply| {
        let pump = supply.source.pump();
        let (flow_lps, whose) = match (stage.header, &plant.store, pump) {
            (Header::Delivery, Some(store), _) => {
                let set_kpa = store.delivery.drive.set_kpa;
                (store.delivery.full_speed_flow_lps(set_kpa, &plant.water), "delivery pump".to_owned())
            }
            (_, _, Some(pump)) => {
                let depth_m = rest_depth_m(supply);
                let flow_lps = pump.flow_lps(1.0, depth_m, pump.control.low_kpa(), &plant.water);
                (flow_lps, format!("{} pump", supply.name))
            }
            _ => (stage.rated_lps, "rating".to_owned()),
        };
        let absorbance = absorbance_per_cm(supply.quality.transmittance);
        (unit.dose_mj_cm2(flow_lps, stage.rated_lps, absorbance, unit.life_h), flow_lps, whose)
    });
    let least = unit.limit_mj_cm2;
    match dosed.reduce(|least, other| if other.0 < least.0 { other } else { least }) {
        Some((dose, flow_lps, whose)) => {
            let flow = units.flow(flow_lps);
            format!("; gives {dose:.0} mJ/cm2 with an old lamp at the {flow} of the {whose} (least {least:.0})")
        }
        None => String::new(),
    }
}

fn storage(scenario: &Scenario, store: &Store, units: Units) -> String {
    let storage = &store.storage;
    let usable_l = storage.fill.full_l() - storage.protect_l;
    let lasts = match delivered_daily_l(scenario) {
        daily_l if daily_l > 0.0 => {
            format!(", or {} of the draws behind it", units.duration(DAY_S * usable_l / daily_l))
        }
        _ => String::new(),
    };
    let (holds, usable) = (units.volume(storage.capacity_l), units.volume(usable_l));
    format!("holds {holds}; {usable} from where filling stops to where the delivery pump stops{lasts}")
}

fn delivery(plant: &Plant, store: &Store, units: Units) -> String {
    let delivery = &store.delivery;
    let reach = units.flow(delivery.full_speed_flow_lps(delivery.drive.set_kpa, &plant.water));
    let (set, wake) = (units.pressure(delivery.drive.set_kpa), units.pressure(delivery.drive.wake_kpa));
    format!("holds {set} up to {reach}; wakes at {wake}")
}

fn delivered_daily_l(scenario: &Scenario) -> f64 {
    let outlets = &scenario.plant.outlets;
    scenario.scheduled_l_per_day(|index| outlets.get(index).is_some_and(|outlet| outlet.header == Header::Delivery))
}
