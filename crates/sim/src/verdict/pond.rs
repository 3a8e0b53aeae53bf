//! What is worth knowing of open water.

use jiff::civil::Date;
use springhouse_core::engine::Report;
use springhouse_core::plant::Plant;

use super::{Finding, FindingKind, finding};
use crate::names;
use crate::summary::iso;

/// A pond this many times as salty as it was, and saltier by so much, is told of. Our own choice.
const SALTIER_TIMES: f64 = 1.5;
const SALTIER_MG_L: f64 = 50.0;
/// With less than this share of its water a pond is all but dry: mud, fish in trouble, an intake in the air. Our own choice.
const DRY_SHARE: f64 = 0.05;

pub(super) fn findings(plant: &Plant, first_day: Date, report: &Report) -> Vec<Finding> {
    let mut findings = Vec::new();
    for (i, supply) in plant.supplies.iter().enumerate() {
        let (tally, name) = (&report.tally.supplies[i], names::supply(plant, i));
        let Some(basin) = supply.source.basin().filter(|_| tally.open.hours > 0) else { continue };
        let (start_mg_l, most_mg_l) = (supply.quality.salt_mg_l, tally.open.saltiest_mg_l);
        if most_mg_l > SALTIER_TIMES * start_mg_l && most_mg_l > start_mg_l + SALTIER_MG_L {
            findings.push(Finding {
                at: Some(iso(first_day, tally.open.saltiest_at)),
                limit: Some((SALTIER_TIMES * start_mg_l).max(start_mg_l + SALTIER_MG_L)),
                ..finding(FindingKind::PondSaltier, false, &name)
            });
        }
        if tally.lowest_l < DRY_SHARE * basin.capacity_l && basin.start_l >= DRY_SHARE * basin.capacity_l {
            findings.push(Finding {
                at: Some(iso(first_day, tally.lowest_at)),
                litres: Some(tally.lowest_l.max(0.0)),
                ..finding(FindingKind::PondDry, false, &name)
            });
        }
        if let Ok(hours) = u32::try_from(tally.open.ice_hours)
            && hours > 0
        {
            findings.push(Finding {
                minutes: Some(60.0 * f64::from(hours)),
                ..finding(FindingKind::PondFroze, false, &name)
            });
        }
    }
    findings
}
