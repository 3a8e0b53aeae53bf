//! `springhouse check`: what a scenario describes, in plain words, with what its parts can do.

use core::fmt::Write;

use springhouse_core::outlet::Header;
use springhouse_core::plant::{Plant, Store};
use springhouse_core::pump::SupplyPump;
use springhouse_core::storage::Fill;
use springhouse_core::supply::Source;
use springhouse_core::well::Well;
use springhouse_scenario::{Loaded, PumpTest, Scenario, Units, load};

use crate::args::CheckArgs;
use crate::fault::Fault;
use crate::out::Out;

const DAY_S: f64 = 86_400.0;

/// A pump that can make more than this is told what must stand it: many household tanks and pipes are rated not far above.
/// Common practice, without a source; 100 psi.
const HIGH_PRESSURE_KPA: f64 = 690.0;

pub(crate) fn check(args: &CheckArgs, out: &mut Out) -> Result<(), Fault> {
    let loaded = load(&args.scenario).map_err(|faults| Fault::Bad(faults.render(true)))?;
    let units = args.units.map_or(loaded.scenario.units, Into::into);
    out.result(&described(&loaded, units))?;
    if loaded.warnings.is_empty() {
        return out.result("\nNothing to warn about.");
    }
    out.result("")?;
    out.finish()?;
    out.note(&loaded.warnings.render(true));
    Ok(())
}

/// Rows of a part and what is said of it.
fn described(loaded: &Loaded, units: Units) -> String {
    let scenario = &loaded.scenario;
    let plant = &scenario.plant;
    let mut rows = well(scenario, loaded.pump_test.as_ref(), units);
    rows.extend(well_pump(scenario, units));
    rows.extend(other_supplies(scenario, units));
    rows.extend(treatment(plant, units));
    rows.extend(pressure_tank(scenario, units).map(|said| ("Pressure tank", said)));
    if let Some(store) = &plant.store {
        rows.push(("Storage", storage(scenario, store, units)));
        rows.push(("Delivery pump", delivery(plant, store, units)));
    }
    rows.push(("Draws", draws(scenario, units)));
    let mut text = format!("{}\n\n", scenario.title);
    for (part, said) in rows {
        // Writing to a string cannot fail.
        let _ = writeln!(text, "{part:15}{said}");
    }
    text
}

fn well(scenario: &Scenario, pump_test: Option<&PumpTest>, units: Units) -> Vec<(&'static str, String)> {
    let Some((well, _)) = scenario.well() else { return Vec::new() };
    let static_depth_m = well.static_depth_m;
    let level = units.length(static_depth_m);
    let (Some(most_lps), Some(lowest_m)) = (scenario.sustained_lps(), scenario.lowest_depth_m()) else {
        return vec![("Well", format!("water at {level}, and the level never moves"))];
    };
    let (day, flow) = (units.volume(DAY_S * most_lps), units.flow(most_lps));
    let lowest = units.length(lowest_m);
    let gives = format!("water at {level}; gives at most {day} a day for good ({flow}), drawn down to {lowest}");
    let mut rows = vec![("Well", gives)];
    if let Some(test) = pump_test.filter(|test| test.is_exceeded(most_lps, lowest_m - static_depth_m)) {
        let (flow, drawdown) = (units.flow(test.flow_lps), units.length(test.drawdown_m));
        rows.push(("", format!("(tested at {flow} and {drawdown} of drawdown; beyond that not known)")));
    }
    rows
}

/// Every supply but the first well: what it is, and how it comes in.
fn other_supplies(scenario: &Scenario, units: Units) -> Vec<(&'static str, String)> {
    let plant = &scenario.plant;
    let first = plant.supplies.iter().position(|supply| supply.source.well().is_some());
    let others = plant.supplies.iter().enumerate().filter(|(i, _)| Some(*i) != first);
    let said = others.map(|(_, supply)| {
        let standby = if supply.standby { "standby, isolated until it takes over" } else { "feeds from the start" };
        let what = match &supply.source {
            Source::Well { well, .. } => format!("water at {}", units.length(well.static_depth_m)),
            Source::Basin { basin, .. } => format!("holds {}", units.volume(basin.capacity_l)),
            Source::TownLine(line) => format!("{} at no flow", units.pressure(line.static_kpa())),
        };
        ("Supply", format!("{}: {what}; {standby}", supply.name))
    });
    said.collect()
}

/// Every stage of treatment with its loss when clean and at its limit.
fn treatment(plant: &Plant, units: Units) -> Vec<(&'static str, String)> {
    let said = plant.stages.iter().map(|stage| {
        let (clean, limit) = (units.pressure(stage.clean_kpa), units.pressure(stage.limit_kpa));
        let losses = if stage.limit_kpa > stage.clean_kpa { format!("{clean}, {limit} when due") } else { clean };
        ("Treatment", format!("{}: loses {losses} at {}", stage.name, units.flow(stage.rated_lps)))
    });
    said.collect()
}

fn well_pump(scenario: &Scenario, units: Units) -> Vec<(&'static str, String)> {
    let plant = &scenario.plant;
    let Some((well, pump)) = scenario.well() else { return Vec::new() };
    let (cut_in_kpa, cut_out_kpa) = (pump.control.low_kpa(), pump.control.high_kpa());
    let at = |depth_m: f64, kpa: f64| {
        let flow = units.flow(pump.flow_lps(1.0, depth_m, kpa, &plant.water));
        format!("{flow} at {}", units.pressure(kpa))
    };
    let both = |depth_m: f64| format!("{} (cut-in), {} (cut-out)", at(depth_m, cut_in_kpa), at(depth_m, cut_out_kpa));
    let mut rows = vec![("Well pump", format!("{}, water at rest", both(well.static_depth_m)))];
    if let (Some(most_lps), Some(lowest_m)) = (scenario.sustained_lps(), scenario.lowest_depth_m()) {
        rows.push(("", format!("{}, water at {}", both(lowest_m), units.length(lowest_m))));
        rows.push(("", kept_running(plant, (well, pump), (most_lps, lowest_m), units)));
    }
    rows.extend(highest_pressure(plant, (well, pump), units));
    rows
}

/// The pressure at the gauge with the pump running against a closed line; nothing for an ideal pump, which has no limit.
fn highest_pressure(plant: &Plant, (well, pump): (&Well, &SupplyPump), units: Units) -> Vec<(&'static str, String)> {
    let head_m = pump.curve().shutoff_m() - well.static_depth_m - pump.gauge_height_m;
    if !head_m.is_finite() {
        return Vec::new();
    }
    let highest_kpa = head_m / plant.water.head_m(1.0);
    let highest = units.pressure(highest_kpa);
    let mut rows = vec![("", format!("can make {highest} at the gauge, against a closed line with the water at rest"))];
    if highest_kpa > HIGH_PRESSURE_KPA {
        rows.push(("", "(should the switch fail: tank, pipe and relief valve must stand that)".to_owned()));
    }
    rows
}

/// Where the level settles with the pump kept running at cut-in, or that it does not settle.
fn kept_running(
    plant: &Plant,
    (well, pump): (&Well, &SupplyPump),
    (most_lps, lowest_m): (f64, f64),
    units: Units,
) -> String {
    let taken_lps = |depth_m: f64| pump.flow_lps(1.0, depth_m, pump.control.low_kpa(), &plant.water);
    let (mut rest_m, mut low_m) = (well.static_depth_m, lowest_m);
    if taken_lps(low_m) > most_lps {
        return format!("kept running it takes more than the well gives, down to {}", units.length(low_m));
    }
    // The pump takes less and the well gives more the lower the water stands: the halves close in on where both agree.
    for _ in 0..60 {
        let middle_m = 0.5 * (rest_m + low_m);
        if taken_lps(middle_m) > well.inflow_lps(middle_m - well.static_depth_m) {
            rest_m = middle_m;
        } else {
            low_m = middle_m;
        }
    }
    let (flow, day) = (units.flow(taken_lps(low_m)), units.volume(DAY_S * taken_lps(low_m)));
    format!("kept running at cut-in it gives {flow} ({day} a day), water at {}", units.length(low_m))
}

fn pressure_tank(scenario: &Scenario, units: Units) -> Option<String> {
    let plant = &scenario.plant;
    let (tank, (well, pump)) = (plant.pressure_tank.as_ref()?, scenario.well()?);
    let (cut_in_kpa, cut_out_kpa) = (pump.control.low_kpa(), pump.control.high_kpa());
    let drawdown_l = tank.drawdown_l(cut_out_kpa, cut_in_kpa.max(tank.empty_kpa()));
    let middle_kpa = 0.5 * (cut_in_kpa + cut_out_kpa);
    let flow_lps = pump.flow_lps(1.0, well.static_depth_m, middle_kpa, &plant.water);
    let gives = format!("gives {} from cut-out to cut-in", units.volume(drawdown_l));
    Some(if flow_lps > 0.0 {
        format!("{gives}; the pump fills that in {} while nothing is drawn", units.duration(drawdown_l / flow_lps))
    } else {
        gives
    })
}

fn storage(scenario: &Scenario, store: &Store, units: Units) -> String {
    let storage = &store.storage;
    let full_l = match storage.fill {
        Fill::FloatSwitch { stop_l, .. } => stop_l,
        Fill::FloatValve { shut_l, .. } => shut_l,
    };
    let usable_l = full_l - storage.protect_l;
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

fn draws(scenario: &Scenario, units: Units) -> String {
    let mean_l = scenario.scheduled_l_per_day(|_| true);
    let share = scenario
        .share_of_well()
        .map_or_else(String::new, |share| format!(", {:.1} % of what the well gives", 100.0 * share));
    let logs = match scenario.logs.len() {
        0 => String::new(),
        1 => "; and a file of logged draws".to_owned(),
        n => format!("; and {n} files of logged draws"),
    };
    if scenario.schedule.is_empty() {
        return format!("none by schedule{logs}");
    }
    format!("{} a day by schedule{share}{logs}", units.volume(mean_l))
}
