//! The answer of the page: who had no water, and how much was missing.

use springhouse_core::outlet::Role;

use super::{LEAST, Lane, often};
use crate::Run;
use crate::numbers::len;
use crate::plots::low_for;
use crate::spells::{self, Spell};

pub(super) fn title(run: &Run<'_>, lanes: &[Lane<'_>], is_low: bool) -> String {
    let dry: Vec<&Lane<'_>> = lanes.iter().filter(|lane| !lane.spells.is_empty()).collect();
    let short_l: f64 = lanes.iter().map(|lane| lane.short_l).sum();
    let missing = if short_l < LEAST { String::new() } else { format!("; {} missing", run.units.volume(short_l)) };
    let (count, out_s) = out(run, &dry);
    let often = often(run, count, out_s);
    match dry.as_slice() {
        [] if is_low => {
            let held = format!("{} ({})", run.held_name(), run.units.pressure(run.held_kpa()));
            format!("No run-outs, but pressure was under {held} {}{missing}", low_for(run))
        }
        [] if !missing.is_empty() => {
            format!("No run-outs, but {} of the water wanted did not come", run.units.volume(short_l))
        }
        [] => "No run-outs: water came when wanted".to_owned(),
        [one] => match one.run_outs {
            1 => format!("{} ran out of water once, for {}{missing}", one.outlet.name, often),
            _ => format!("{} ran out of water {}{missing}", one.outlet.name, often),
        },
        several => format!("{} ran out of water: {}{missing}", who(several, lanes), often),
    }
}

/// How often any of them had run out, and for how long in all: of several, spells that overlap are one.
fn out(run: &Run<'_>, dry: &[&Lane<'_>]) -> (u64, f64) {
    let water = &run.outcome.summary.water;
    match dry {
        [one] => (one.run_outs, one.run_out_s),
        // As it is told elsewhere.
        _ if dry.iter().all(|lane| lane.outlet.role == Role::Building) => {
            (water.run_outs, 60.0 * water.run_out_minutes)
        }
        _ => {
            let spells = spells::merged(&dry.iter().flat_map(|lane| lane.spells.clone()).collect::<Vec<_>>());
            (len(&spells), spells.iter().map(|spell: &Spell| spell.length_s()).fold(0.0, |sum, s| sum + s))
        }
    }
}

/// Who ran out, by name where that is short.
fn who(dry: &[&Lane<'_>], lanes: &[Lane<'_>]) -> String {
    const MOST_NAMES: usize = 3;
    const MOST_LETTERS: usize = 48;
    let is_all = dry.len() == lanes.len();
    let (last, others) = match dry {
        [others @ .., last] => (last.outlet.name.as_str(), others),
        [] => return String::new(),
    };
    let others = others.iter().map(|lane| lane.outlet.name.as_str()).collect::<Vec<_>>().join(", ");
    if dry.len() <= MOST_NAMES && others.chars().count() + last.chars().count() <= MOST_LETTERS {
        let all = match dry.len() {
            2 if is_all => " both",
            _ if is_all => " all",
            _ => "",
        };
        return format!("{others} and {last}{all}");
    }
    let is_building = |lane: &Lane<'_>| lane.outlet.role == Role::Building;
    let what = match (lanes.iter().any(is_building), lanes.iter().all(is_building)) {
        (_, true) => "buildings",
        (true, false) => "buildings and raw loads",
        (false, false) => "raw loads",
    };
    match (is_all, dry.len()) {
        (true, 2) => format!("Both {what}"),
        (true, _) => format!("All {} {what}", len(lanes)),
        (false, _) => format!("{} of {} {what}", len(dry), len(lanes)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plots::{self, run_outs};
    use crate::ready::Ready;
    use crate::text;

    #[test]
    fn run_outs_of_several_buildings_are_told_alike() {
        let ready = Ready::run("town-line", 7);
        let run = ready.told();
        let water = &run.outcome.summary.water;
        assert_eq!((water.run_outs, water.run_out_minutes), (1, 90.0));
        assert!(text::body(&run).contains("Run-outs         1, 1 h 30 min in all\n"), "{}", text::body(&run));
        let titles: Vec<String> = plots::all(&run).iter().map(|plot| plot.title().to_owned()).collect();
        assert!(titles[0].ends_with("; water ran out once"), "{}", titles[0]);
        assert!(titles[2].starts_with("House and cottage both ran out of water: 1 h 30 min; "), "{}", titles[2]);
        // A raw load is in no figure of the summary: its spells are joined with those of the buildings.
        let mut mixed = Ready::run("town-line", 7);
        let mut parts = springhouse_core::plant::Parts::clone(&mixed.scenario.plant);
        parts.outlets[1].role = Role::RawLoad;
        mixed.scenario.plant = springhouse_core::plant::Plant::try_new(parts).unwrap();
        let title = run_outs::page(&mixed.told()).title;
        assert!(title.starts_with("House and cottage both ran out of water: 1 h 30 min; "), "{title}");
    }
}
