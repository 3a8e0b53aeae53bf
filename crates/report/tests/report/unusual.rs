//! Invented outcomes of several pumps, of a pump that starts too often, and of two buildings at once.

use springhouse_core::observe::{EventKind, Part};
use springhouse_core::time::Time;
use springhouse_sim::{Finding, FindingKind, SupplySummary};

use crate::invented::{Case, HOUSES, event, finding, plant, run_out, sound};

/// Three wells: the first as ever, the second at noon, the third never.
pub(crate) fn three_wells(days: u32) -> Case {
    let wells = ["well", "second well", "well behind the barn"];
    let mut case = sound(days, &HOUSES, true, if days > 100 { 60 } else { 10 });
    case.scenario.plant = plant(&HOUSES, true, &wells);
    for day in 0..i64::from(days) {
        case.outcome.events.push(event(day, 12.0, Part::Pump(1), EventKind::PumpStarts, 279.99));
        case.outcome.events.push(event(day, 15.5, Part::Pump(1), EventKind::PumpStops, 410.003));
    }
    case.outcome.events.sort_by_key(|event| event.time);
    for row in &mut case.outcome.rows {
        let midnight = Time::from_day(row.time.day());
        let today_s = ((row.time - midnight).s() - 43_200.0).clamp(0.0, 12_600.0);
        let run_s = today_s + 12_600.0 * (midnight - Time::ZERO).s() / 86_400.0;
        row.totals.supplies[1].run_s = run_s;
        row.totals.supplies[1].pump_j = 700.0 * run_s;
    }
    let summary = &mut case.outcome.summary;
    let like = summary.supplies[0].clone();
    summary.supplies.push(SupplySummary {
        name: wells[1].to_owned(),
        starts: Some(u64::from(days)),
        most_starts_in_a_day: Some(1),
        run_hours: 3.5 * f64::from(days),
        ..like.clone()
    });
    summary.supplies.push(SupplySummary {
        name: wells[2].to_owned(),
        starts: Some(0),
        most_starts_in_a_day: Some(0),
        run_hours: 0.0,
        ..like
    });
    case
}

/// Two days of a pump that starts so often on the second.
pub(crate) fn starting(starts: u32) -> Case {
    let mut case = sound(2, &HOUSES[..1], true, 10);
    case.outcome.events.retain(|event| event.time < Time::from_day(1));
    for start in 0..starts {
        let hour = 24.0 * f64::from(start) / f64::from(starts);
        case.outcome.events.push(event(1, hour, Part::Pump(0), EventKind::PumpStarts, 279.99));
        case.outcome.events.push(event(1, hour + 0.02, Part::Pump(0), EventKind::PumpStops, 410.003));
    }
    let summary = &mut case.outcome.summary;
    summary.supplies[0].most_starts_in_a_day = Some(u64::from(starts));
    if starts > 300 {
        summary.verdict.findings.push(Finding {
            count: Some(u64::from(starts)),
            limit: Some(300.0),
            ..finding(FindingKind::ManyStarts, true, "well pump")
        });
    }
    case
}

/// Two buildings, both without water at one time.
pub(crate) fn both_out() -> Case {
    let mut case = sound(1, &HOUSES[..2], true, 1);
    run_out(&mut case, 0, (0, 7.0), 30.0, 60.0);
    run_out(&mut case, 1, (0, 7.0), 45.0, 20.0);
    case.outcome.events.sort_by_key(|event| event.time);
    case
}
