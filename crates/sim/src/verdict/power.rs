//! What is worth knowing of what stands behind the grid.

use jiff::civil::Date;
use springhouse_core::engine::Report;
use springhouse_core::plant::Plant;

use super::{Finding, FindingKind, finding};
use crate::names;
use crate::summary::iso;

/// Less time without power is what a generator takes to start. Our own choice.
const LEAST_DARK_S: f64 = 1_800.0;

pub(super) fn findings(plant: &Plant, first_day: Date, report: &Report) -> Vec<Finding> {
    let Some(books) = report.power.as_ref().filter(|_| plant.power.has_backup()) else { return Vec::new() };
    let (outages, mut findings) = (&books.outages, Vec::new());
    if outages.trips > 0 {
        let told = finding(FindingKind::BackupOverloaded, true, names::SITE);
        findings.push(Finding { count: Some(outages.trips), ..told });
    }
    if outages.dark_s >= LEAST_DARK_S {
        let told = finding(FindingKind::BackupEnded, false, names::SITE);
        let at = outages.first_dark.map(|time| iso(first_day, time));
        findings.push(Finding { at, minutes: Some(outages.dark_s / 60.0), ..told });
    }
    findings
}
