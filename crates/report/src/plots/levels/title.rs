//! What the levels say, in a sentence.

use springhouse_core::basin::Basin;
use springhouse_core::plant::Store;
use springhouse_sim::{FindingKind, names};

use crate::numbers::{fixed, times};
use crate::plots::low_for;
use crate::{Run, calendar};

/// How low the water was that the plant lives from, or where it keeps none how low the pressure; then what came of it.
pub(super) fn title(run: &Run<'_>) -> String {
    let mut said = match &run.scenario.plant.store {
        Some(store) => storage(run, store),
        None => basins(run).unwrap_or_else(|| pressure(run)),
    };
    for more in [spilled(run), standby(run), run_outs(run)].into_iter().flatten() {
        said.push_str("; ");
        said.push_str(&more);
    }
    said
}

fn storage(run: &Run<'_>, store: &Store) -> String {
    let lowest_l = run.outcome.summary.water.lowest_storage_l.unwrap_or(0.0);
    match first_on(run, FindingKind::ProtectStop, names::STORAGE) {
        Some(first) => format!("Storage ran down to the level that stops the delivery pump{first}"),
        None => format!("Storage never fell below {}", of_full(run, lowest_l, store.storage.capacity_l)),
    }
}

/// Of the cisterns and ponds that the plant lives from, the lowest; none where wells or a main feed it too.
fn basins(run: &Run<'_>) -> Option<String> {
    let supplies = run.scenario.plant.supplies.iter().zip(&run.outcome.summary.supplies);
    let first: Vec<_> = supplies.filter(|(supply, _)| !supply.standby).collect();
    let levels = first.iter().map(|(supply, summary)| Some((&supply.name, supply.source.basin()?, summary.lowest_l?)));
    let levels = levels.collect::<Option<Vec<_>>>()?;
    let share = |(_, basin, lowest_l): &(_, &Basin, f64)| lowest_l / basin.capacity_l;
    let (name, basin, lowest_l) = levels.into_iter().min_by(|a, b| share(a).total_cmp(&share(b)))?;
    let low = match first_on(run, FindingKind::LowLevelTrip, name) {
        Some(first) => format!("The {name} ran down to the level that stops its pump{first}"),
        None => format!("The {name} never fell below {}", of_full(run, lowest_l, basin.capacity_l)),
    };
    Some(match run.outcome.summary.pressure.minutes_below_set {
        minutes if minutes > 0.0 => format!("{low}; pressure was {}", under_held(run)),
        _ => low,
    })
}

fn pressure(run: &Run<'_>) -> String {
    let pressure = &run.outcome.summary.pressure;
    // Behind a stage that is shut there may be none, with all there should be ahead of it.
    let place = run.pressure_place().map_or_else(|| "Pressure".to_owned(), |place| format!("Pressure {place}"));
    match pressure.minutes_below_set {
        minutes if minutes > 0.0 => format!("{place} was {}", under_held(run)),
        _ => format!("{place} never fell below {}", run.units.pressure(pressure.lowest_kpa)),
    }
}

fn under_held(run: &Run<'_>) -> String {
    let lowest = run.units.pressure(run.outcome.summary.pressure.lowest_kpa);
    format!("under {} {}, down to {lowest}", run.held_name(), low_for(run))
}

/// What storage and basins lost over their brims.
fn spilled(run: &Run<'_>) -> Option<String> {
    let findings = run.outcome.summary.verdict.findings.iter();
    let spills = findings.filter(|finding| finding.kind == FindingKind::Spilled);
    let said = spills.filter_map(|spill| Some(format!("{} spilled {}", spill.part, run.units.volume(spill.litres?))));
    let said: Vec<_> = said.collect();
    (!said.is_empty()).then(|| said.join(", "))
}

fn standby(run: &Run<'_>) -> Option<String> {
    let used = run.outcome.summary.change_over.as_ref().filter(|used| used.spells > 0)?;
    let long = run.units.duration(3_600.0 * used.hours);
    let often = if used.spells == 1 { format!("for {long}") } else { format!("{}, {long} in all", times(used.spells)) };
    Some(format!("the {} fed {often}", standby_names(run)))
}

fn run_outs(run: &Run<'_>) -> Option<String> {
    let count = run.outcome.summary.water.run_outs;
    (count > 0).then(|| format!("water ran out {}", times(count)))
}

/// The standby supplies, by name.
pub(super) fn standby_names(run: &Run<'_>) -> String {
    let standby = run.scenario.plant.supplies.iter().filter(|supply| supply.standby);
    standby.map(|supply| supply.name.as_str()).collect::<Vec<_>>().join(" and ")
}

/// An amount as a share of a full tank, and as such.
fn of_full(run: &Run<'_>, amount_l: f64, capacity_l: f64) -> String {
    format!("{} % ({})", fixed(100.0 * amount_l / capacity_l, 0), run.units.volume(amount_l))
}

/// When something was first found of a part, where it was.
fn first_on(run: &Run<'_>, kind: FindingKind, part: &str) -> Option<String> {
    let mut findings = run.outcome.summary.verdict.findings.iter();
    let found = findings.find(|finding| finding.kind == kind && finding.part == part)?;
    Some(found.at.as_deref().map_or_else(String::new, |at| format!(", first {}", calendar::spoken_iso(at))))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ready::Ready;

    #[test]
    fn title_says_what_spilled_and_whose_cut_in_it_is() {
        let mut ready = Ready::run("slow-well", 1);
        assert!(!title(&ready.told()).contains("spilled"));
        ready.outcome.summary.verdict.findings = vec![springhouse_sim::Finding {
            kind: FindingKind::Spilled,
            falls_short: false,
            part: names::STORAGE.to_owned(),
            at: None,
            count: Some(1),
            minutes: Some(60.0),
            longest_minutes: None,
            longest_at: None,
            litres: Some(3_785.411_784),
            limit: None,
        }];
        let said = title(&ready.told());
        assert!(
            said.starts_with("Storage never fell below ") && said.ends_with("; storage spilled 1000 gal"),
            "{said}"
        );

        let wells = Ready::run("two-wells", 7);
        let said = title(&wells.told());
        assert!(said.starts_with("Pressure ahead of treatment was under the second well's cut-in "), "{said}");
    }
}
