//! Where the water comes from: every supply with its pump, how they change over, and the pressure tank.

use springhouse_core::basin::Basin;
use springhouse_core::plant::Plant;
use springhouse_core::pump::SupplyPump;
use springhouse_core::supply::{Control, Source};
use springhouse_core::town_line::TownLine;
use springhouse_core::well::{Response, Well};
use springhouse_scenario::motors::rest_depth_m;
use springhouse_scenario::{PumpTest, Scenario, Units};

use super::{DAY_S, Said, row, weather};

/// A pump that can make more than this is told what must stand it: many household tanks and pipes are rated not far above.
/// Common practice, without a source; 100 psi.
const HIGH_PRESSURE_KPA: f64 = 690.0;

/// Pressures at which the flow of a main is told: 40 and 20 psi.
const MAIN_KPA: [f64; 2] = [275.790_291_726_734_4, 137.895_145_863_367_2];

pub(super) fn supplies(scenario: &Scenario, pump_test: Option<&PumpTest>, units: Units) -> Vec<Said> {
    let plant = &scenario.plant;
    let first_well = plant.supplies.iter().position(|supply| supply.source.well().is_some());
    let mut rows: Vec<Said> = Vec::new();
    for (i, supply) in plant.supplies.iter().enumerate() {
        let name = capitalised(&supply.name);
        let before = rows.len();
        match &supply.source {
            Source::Well { well, pump } => {
                // The test is that of the first well.
                rows.extend(self::well(&name, well, pump_test.filter(|_| first_well == Some(i)), units));
                rows.extend(well_pump(plant, &name, (well, pump), units));
            }
            Source::Basin { basin, pump } => {
                rows.push((name.clone(), self::basin(basin, units)));
                rows.extend(weather::open_water(basin, units));
                rows.extend(scenario.rain.iter().filter(|rain| rain.supply == i).map(|rain| {
                    let (depth, depth_mm) = if units == Units::Us { ("an inch", 25.4) } else { ("10 mm", 10.0) };
                    let gathered = units.volume(rain.roof.area_m2 * rain.roof.runoff_share * depth_mm);
                    let flushed = units.length(rain.roof.first_flush_mm / 1_000.0);
                    let file =
                        rain.file.as_ref().map_or_else(|| "the weather".into(), |file| file.display().to_string());
                    row(
                        "Roof",
                        format!("{depth} of rain gives {gathered}, less {flushed} of each rain; rain from {file}"),
                    )
                }));
                rows.extend(basin_pump(plant, &name, (basin, pump), units));
            }
            Source::TownLine(line) => {
                let price = scenario.prices_per_m3.get(i).copied().flatten();
                rows.push((name, town_line(line, price, units)));
            }
        }
        if supply.standby
            && let Some((_, said)) = rows.get_mut(before)
        {
            said.push_str("; standby, isolated until it takes over");
        }
    }
    rows
}

fn capitalised(name: &str) -> String {
    let mut letters = name.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

/// Depth of the water when a well is pumped as hard as it can be for good.
fn lowest_depth_m(well: &Well) -> f64 {
    well.cutoff.as_ref().map_or(well.pump_depth_m, |cutoff| cutoff.stop_depth_m)
}

/// What a well gives for good; none of an ideal one, whose level never moves.
fn sustained_lps(well: &Well) -> Option<f64> {
    (well.response != Response::Ideal).then(|| well.inflow_lps(lowest_depth_m(well) - well.static_depth_m))
}

/// What all wells that feed from the start give for good, and how many they are; none where another supply feeds too.
pub(super) fn wells_give_lps(plant: &Plant) -> Option<(f64, usize)> {
    let first: Vec<_> = plant.supplies.iter().filter(|supply| !supply.standby).collect();
    let each = first.iter().map(|supply| supply.source.well().and_then(sustained_lps));
    let all = each.collect::<Option<Vec<_>>>()?;
    Some((all.iter().sum(), all.len())).filter(|(lps, _)| *lps > 0.0)
}

fn well(name: &str, well: &Well, pump_test: Option<&PumpTest>, units: Units) -> Vec<Said> {
    let level = units.length(well.static_depth_m);
    let Some(most_lps) = sustained_lps(well) else {
        return vec![row(name, format!("water at {level}, and the level never moves"))];
    };
    let lowest_m = lowest_depth_m(well);
    let (day, flow) = (units.volume(DAY_S * most_lps), units.flow(most_lps));
    let lowest = units.length(lowest_m);
    let gives = format!("water at {level}; gives at most {day} a day for good ({flow}), drawn down to {lowest}");
    let mut rows = vec![row(name, gives)];
    if let Some(test) = pump_test.filter(|test| test.is_exceeded(most_lps, lowest_m - well.static_depth_m)) {
        let (flow, drawdown) = (units.flow(test.flow_lps), units.length(test.drawdown_m));
        rows.push(row("", format!("(tested at {flow} and {drawdown} of drawdown; beyond that not known)")));
    }
    rows
}

/// What a pump gives at both ends of its control, with its water so deep below the ground.
fn at_both_ends(plant: &Plant, pump: &SupplyPump, depth_m: f64, units: Units) -> String {
    let at = |kpa: f64| {
        let flow = units.flow(pump.flow_lps(1.0, depth_m, kpa, &plant.water));
        format!("{flow} at {}", units.pressure(kpa))
    };
    let (low, high) = match &pump.control {
        Control::Switch { .. } => ("cut-in", "cut-out"),
        Control::Drive(_) => ("wake pressure", "set pressure"),
    };
    format!("{} ({low}), {} ({high})", at(pump.control.low_kpa()), at(pump.control.high_kpa()))
}

fn well_pump(plant: &Plant, name: &str, (well, pump): (&Well, &SupplyPump), units: Units) -> Vec<Said> {
    let both = |depth_m: f64| at_both_ends(plant, pump, depth_m, units);
    let mut rows = vec![(format!("{name} pump"), format!("{}, water at rest", both(well.static_depth_m)))];
    if let Some(most_lps) = sustained_lps(well) {
        let lowest_m = lowest_depth_m(well);
        rows.push(row("", format!("{}, water at {}", both(lowest_m), units.length(lowest_m))));
        rows.push(row("", kept_running(plant, (well, pump), (most_lps, lowest_m), units)));
    }
    rows.extend(highest_pressure(plant, pump, well.static_depth_m, units));
    rows
}

fn basin_pump(plant: &Plant, name: &str, (basin, pump): (&Basin, &SupplyPump), units: Units) -> Vec<Said> {
    let full_m = basin.water_depth_m(basin.capacity_l);
    let mut rows = vec![(format!("{name} pump"), format!("{}, full", at_both_ends(plant, pump, full_m, units)))];
    rows.extend(highest_pressure(plant, pump, full_m, units));
    rows
}

fn basin(basin: &Basin, units: Units) -> String {
    let (holds, start) = (units.volume(basin.capacity_l), units.volume(basin.start_l));
    let mut said = vec![format!("holds {holds}, {start} at the start")];
    if let Some(cutoff) = &basin.cutoff {
        let (stop, restart) = (units.volume(cutoff.stop_l), units.volume(cutoff.restart_l));
        said.push(format!("its pump stops at {stop} and may run again at {restart}"));
    }
    if let Some(top_up) = &basin.top_up {
        let (start, stop) = (units.volume(top_up.start_l), units.volume(top_up.stop_l));
        said.push(format!("topped up from {start} to {stop} at {}", units.flow(top_up.flow_lps)));
    }
    said.join("; ")
}

fn town_line(line: &TownLine, price_per_m3: Option<f64>, units: Units) -> String {
    let flows = MAIN_KPA.into_iter().filter(|kpa| *kpa < line.static_kpa());
    let flows = flows.map(|kpa| format!(", {} at {}", units.flow(line.flow_lps(kpa)), units.pressure(kpa)));
    // Litres in 1000 US gallons.
    let (amount, amount_l) = if units == Units::Us { ("1000 gal", 3_785.411_784) } else { ("a cubic metre", 1_000.0) };
    let price = price_per_m3
        .map_or_else(String::new, |price| format!("; {amount} cost {:.2} of your money", price * amount_l / 1_000.0));
    format!("{} at no flow{}{price}", units.pressure(line.static_kpa()), flows.collect::<String>())
}

/// The pressure at the gauge with the pump running against a closed line; nothing for an ideal pump, which has no limit.
fn highest_pressure(plant: &Plant, pump: &SupplyPump, depth_m: f64, units: Units) -> Vec<Said> {
    let head_m = pump.curve().shutoff_m() - depth_m - pump.gauge_height_m;
    if !head_m.is_finite() {
        return Vec::new();
    }
    let highest_kpa = head_m / plant.water.head_m(1.0);
    let highest = units.pressure(highest_kpa);
    let mut rows =
        vec![row("", format!("can make {highest} at the gauge, against a closed line with the water at rest"))];
    if highest_kpa > HIGH_PRESSURE_KPA {
        rows.push(row("", "(should the switch fail: tank, pipe and relief valve must stand that)".to_owned()));
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

pub(super) fn change_over(plant: &Plant, units: Units) -> Option<Said> {
    let change_over = plant.change_over.as_ref()?;
    let in_after = match change_over.after {
        Some(after) => {
            format!("the standby comes in after {} without water from the others", units.duration(after.s()))
        }
        None => "the standby comes in by hand".to_owned(),
    };
    let back = units.duration(change_over.back_after.s());
    Some(row("Change-over", format!("{in_after}; goes out {back} after one of them could give water again")))
}

/// What the tanks give between the starts of the first pump.
pub(super) fn pressure_tank(plant: &Plant, units: Units) -> Option<Said> {
    let tank = plant.pressure_tank.as_ref()?;
    let mut pumped = plant.supplies.iter().filter_map(|supply| Some((supply, supply.source.pump()?)));
    let (supply, pump) = pumped.next()?;
    let (low_kpa, high_kpa) = (pump.control.low_kpa(), pump.control.high_kpa());
    let drawdown_l = tank.drawdown_l(high_kpa, low_kpa.max(tank.empty_kpa()));
    let flow_lps = pump.flow_lps(1.0, rest_depth_m(supply), 0.5 * (low_kpa + high_kpa), &plant.water);
    let edges =
        if matches!(pump.control, Control::Switch { .. }) { "cut-out to cut-in" } else { "set to wake pressure" };
    let gives = format!("gives {} from {edges}", units.volume(drawdown_l));
    let whose = if pumped.next().is_some() { format!("{} pump", supply.name) } else { "pump".to_owned() };
    let said = if flow_lps > 0.0 {
        format!("{gives}; the {whose} fills that in {} while nothing is drawn", units.duration(drawdown_l / flow_lps))
    } else {
        gives
    };
    Some(row("Pressure tank", said))
}
