//! Figures by calendar day.

use springhouse_core::basin::Basin;
use springhouse_core::observe::Totals;
use springhouse_core::outlet::Role;
use springhouse_core::plant::Plant;
use springhouse_core::time::{Span, Time};
use springhouse_sim::{Day, Row};

use crate::Run;
use crate::spells::PumpRuns;

/// Concentrate that has left the membrane unit: what it took less what became of the rest.
pub(crate) fn rejected_l(totals: &Totals) -> f64 {
    totals.membrane_feed_l() - totals.membrane.flushed_l - totals.membrane.product_l
}

/// What the membrane unit made in an hour while it ran, product to waste included, L; `None` on a day it stood still.
pub(crate) fn product_l_h(day: &Day) -> Option<f64> {
    /// In a few minutes it has hardly settled, or it was starved.
    const LEAST_S: f64 = 600.0;
    let made = &day.totals.membrane;
    (made.run_s >= LEAST_S).then(|| 3_600.0 * made.product_l / made.run_s)
}

/// What timed draws of the buildings wanted in a day and will never have, L.
pub(crate) fn lost_l(plant: &Plant, day: &Day) -> f64 {
    let outlets = plant.outlets.iter().zip(&day.totals.outlets);
    outlets.filter(|(outlet, _)| outlet.role == Role::Building).map(|(_, totals)| totals.lost_l).sum()
}

/// The basins under the open sky: place among the supplies, name, and basin.
pub(crate) fn open_basins(plant: &Plant) -> impl Iterator<Item = (usize, &str, &Basin)> {
    plant.supplies.iter().enumerate().filter_map(|(index, supply)| {
        let basin = supply.source.basin().filter(|basin| basin.open.is_some())?;
        Some((index, supply.name.as_str(), basin))
    })
}

/// What a running total gained in each day of the run.
///
/// Totals at midnight are read off the rows; where the grid has no row at midnight, on the line between its neighbours.
pub(crate) fn gained(run: &Run<'_>, total: impl Fn(&Totals) -> f64) -> Vec<f64> {
    gained_in(run, Span::DAY, total)
}

/// The same in stretches that a day is a multiple of.
pub(crate) fn gained_in(run: &Run<'_>, stretch: Span, total: impl Fn(&Totals) -> f64) -> Vec<f64> {
    let days = i64::from(run.outcome.summary.days);
    gained_from(run, (Time::ZERO, Time::from_day(days)), stretch, |row| total(&row.totals))
}

/// What anything that runs on in the rows gained in each stretch between two instants.
pub(crate) fn gained_from(
    run: &Run<'_>,
    (from, to): (Time, Time),
    stretch: Span,
    total: impl Fn(&Row) -> f64,
) -> Vec<f64> {
    let rows = &run.outcome.rows;
    let stretches = (to - from).ns() / stretch.ns().max(1);
    let mut ends = (0..=stretches).map(|end| total_at(rows, from + Span::from_ns(end * stretch.ns()), &total));
    let mut last = ends.next().unwrap_or(0.0);
    ends.map(|next| next - core::mem::replace(&mut last, next)).collect()
}

fn total_at(rows: &[Row], time: Time, total: &impl Fn(&Row) -> f64) -> f64 {
    let after = rows.partition_point(|row| row.time < time);
    let before = after.checked_sub(1).and_then(|index| rows.get(index));
    match (before, rows.get(after)) {
        (None, None) => 0.0,
        (None, Some(row)) | (Some(row), None) => total(row),
        (Some(a), Some(b)) => {
            let share = (time - a.time).s() / (b.time - a.time).s();
            total(a) + share * (total(b) - total(a))
        }
    }
}

/// Starts of a pump in each day; those of a spell of short-cycling are spread evenly over it, but no day has more than `most`,
/// which was counted.
pub(crate) fn starts(days: u32, pump: &PumpRuns, most: u64) -> Vec<f64> {
    let mut by_day = vec![0.0; usize::try_from(days).unwrap_or(0)];
    let mut add = |day: i64, count: f64| {
        if let Some(place) = usize::try_from(day).ok().and_then(|day| by_day.get_mut(day)) {
            *place += count;
        }
    };
    for start in &pump.starts {
        add(start.day(), 1.0);
    }
    for (spell, count) in pump.cycling.iter().filter(|(spell, _)| spell.end > spell.start) {
        for day in spell.start.day()..=spell.end.day() {
            let from = spell.start.max(Time::from_day(day));
            let to = spell.end.min(Time::from_day(day + 1));
            add(day, count * ((to - from).s() / spell.length_s()).max(0.0));
        }
    }
    let most = f64::from(u32::try_from(most).unwrap_or(u32::MAX));
    by_day.into_iter().map(|starts| starts.min(most)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::spells::Spell;

    #[test]
    fn exact_starts_of_a_spell_are_spread_over_its_days() {
        let hours = |h: f64| Time::from_s(3_600.0 * h);
        let cycling = vec![(Spell { start: hours(18.0), end: hours(26.0) }, 400.0)];
        let pump = PumpRuns { runs: Vec::new(), cycling, starts: vec![hours(1.0), hours(25.0), hours(47.0)] };
        assert_eq!(starts(2, &pump, 500), [301.0, 102.0]);
        // Counted, the spell had fewer of its starts before midnight.
        assert_eq!(starts(2, &pump, 290), [290.0, 102.0]);
    }
}
