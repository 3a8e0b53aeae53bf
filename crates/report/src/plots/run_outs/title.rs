//! The answer of the page: who had no water, and how much was missing.

use springhouse_core::outlet::Role;

use super::{LEAST, Lane, low_s, often};
use crate::Run;
use crate::numbers::len;
use crate::plots::each_day;

pub(super) fn title(run: &Run<'_>, lanes: &[Lane<'_>], is_low: bool) -> String {
    let dry: Vec<&Lane<'_>> = lanes.iter().filter(|lane| !lane.spells.is_empty()).collect();
    let short_l: f64 = lanes.iter().map(|lane| lane.short_l).sum();
    let missing = if short_l < LEAST { String::new() } else { format!("; {} missing", run.units.volume(short_l)) };
    let out_s: f64 = dry.iter().map(|lane| lane.run_out_s).sum();
    let often = often(run, dry.iter().map(|lane| lane.run_outs).sum(), out_s);
    match dry.as_slice() {
        [] if is_low => {
            let held = format!("{} ({})", run.held_name(), run.units.pressure(run.held_kpa()));
            format!("No run-outs, but pressure was under {held} for {}{missing}", each_day(run, low_s(run)))
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
