//! What did not hold of the membrane unit, and what is worth knowing of it.

use jiff::civil::Date;
use springhouse_core::engine::{MOST_CHLORINE_MG_L, Report};
use springhouse_core::plant::Plant;
use springhouse_core::quality::Constituent;
use springhouse_core::time::Span;

use super::{Finding, FindingKind, LEAST_LITRES, finding};
use crate::names;
use crate::summary::{Wear, calcite_left_share, iso, minutes};

/// When more than one start in this many ends in a trip, the unit is starved as a rule. Our own choice, as for short runs.
const TRIPS_IN: u64 = 10;
/// One trip alone is no rule, however few the starts.
const FEW_TRIPS: u64 = 1;
/// A membrane that must be cleaned this soon after it was clean fouls or scales: common practice is every three months at the
/// most. A month, our own choice.
const SOON: Span = Span::from_ns(30 * Span::DAY.ns());
/// A bed of calcite with less than this left at the end is to be refilled: half of it is half the contact time. Our own choice.
const LITTLE_CALCITE: f64 = 0.5;
/// Water with more salt tastes of it.
///
/// Source: US EPA, National Secondary Drinking Water Regulations (40 CFR 143.3): 500 mg/L of total dissolved solids; from memory.
const SALTY_MG_L: f64 = 500.0;

pub(super) fn findings(plant: &Plant, first_day: Date, report: &Report) -> Vec<Finding> {
    let (Some(membrane), Some(end)) = (&plant.membrane, &report.membrane) else { return Vec::new() };
    let (tally, name) = (&report.tally.membrane, names::MEMBRANE);
    let mut findings = Vec::new();
    let locked = &tally.locked_out;
    findings.extend(locked.first.map(|since| Finding {
        at: Some(iso(first_day, since)),
        count: Some(locked.count),
        minutes: Some(minutes(locked.total)),
        ..finding(FindingKind::MembraneLockedOut, true, name)
    }));
    if end.carried.chlorinated_l >= LEAST_LITRES {
        findings.push(Finding {
            litres: Some(end.carried.chlorinated_l),
            limit: Some(MOST_CHLORINE_MG_L),
            ..finding(FindingKind::MembraneChlorinated, true, name)
        });
    }
    let (wear, due) = (Wear::of(end, report), &tally.cleaning_due);
    if wear.interval().is_some_and(|interval| interval <= SOON) {
        findings.push(Finding {
            at: due.first.or(wear.next_cleaning()).map(|time| iso(first_day, time)),
            limit: Some(SOON.s() / Span::DAY.s()),
            ..finding(FindingKind::MembraneFouls, true, name)
        });
    }
    findings.extend(
        due.since
            .map(|since| Finding { at: Some(iso(first_day, since)), ..finding(FindingKind::CleaningDue, false, name) }),
    );
    findings.extend(tally.first_trip.map(|first| {
        let often = tally.trips > FEW_TRIPS && tally.trips * TRIPS_IN > tally.starts;
        Finding {
            at: Some(iso(first_day, first)),
            count: Some(tally.trips),
            ..finding(FindingKind::MembraneTrips, often, name)
        }
    }));
    if calcite_left_share(membrane, end).is_some_and(|left| left < LITTLE_CALCITE) {
        findings.push(Finding { limit: Some(LITTLE_CALCITE), ..finding(FindingKind::CalciteLow, false, name) });
    }
    if let Some(supply) = membrane.reject_to {
        let litres = report.totals.supplies.get(supply).map_or(0.0, |totals| totals.returned_l);
        let told = finding(FindingKind::RejectReturned, false, &names::supply(plant, supply));
        findings.extend((litres >= LEAST_LITRES).then_some(Finding { litres: Some(litres), ..told }));
    }
    if report.storage_carries[Constituent::Salt as usize] > SALTY_MG_L {
        findings.push(Finding { limit: Some(SALTY_MG_L), ..finding(FindingKind::SaltyStorage, false, names::STORAGE) });
    }
    findings
}
