//! What is worth knowing of hot water.

use springhouse_core::hot_water::follow::{COOL_TOLD_S, GROWTH_TOLD_L_S, OUTLET_LEAST_C};
use springhouse_core::hot_water::tap::{LUKEWARM_K, SCALDS_FROM_C};

use super::{Finding, FindingKind, LEAST_LITRES, finding};
use crate::summary::HotWaterSummary;

/// Less lukewarm water in a run is a note: the end of one long shower. Our own choice.
const LEAST_LUKEWARM_MIN: f64 = 1.0;
/// For less than this a compressor may wait without a word. Our own choice.
const LEAST_WAIT_H: f64 = 1.0;

pub(super) fn findings(heaters: &[HotWaterSummary]) -> Vec<Finding> {
    let each = heaters.iter().map(|heater| {
        let of_building = heaters.iter().filter(|other| other.building == heater.building).count();
        // Of several heaters of a building each is told by its own name.
        of_heater(heater, if of_building > 1 { &heater.heater } else { &heater.building })
    });
    each.flatten().collect()
}

fn of_heater(heater: &HotWaterSummary, taps: &str) -> Vec<Finding> {
    let mut findings = Vec::new();
    if heater.lukewarm_spells > 0 {
        let falls_short = heater.lukewarm_minutes >= LEAST_LUKEWARM_MIN;
        let several = heater.lukewarm_spells > 1;
        findings.push(Finding {
            at: heater.first_lukewarm_at.clone(),
            count: Some(heater.lukewarm_spells),
            minutes: Some(heater.lukewarm_minutes),
            longest_minutes: several.then_some(heater.longest_lukewarm_min),
            longest_at: heater.longest_lukewarm_at.clone().filter(|_| several),
            limit: Some(LUKEWARM_K),
            ..finding(FindingKind::Lukewarm, falls_short, taps)
        });
    }
    if let Some(hours) = heater.frozen_hours {
        let froze = finding(FindingKind::HeaterFroze, true, &heater.heater);
        findings.push(Finding { minutes: Some(60.0 * hours), ..froze });
    }
    if let Some(hours) = heater.air_wait_hours.filter(|hours| *hours >= LEAST_WAIT_H) {
        let waited = finding(FindingKind::AirUnsuitable, false, &heater.heater);
        findings.push(Finding { minutes: Some(60.0 * hours), ..waited });
    }
    if heater.scalding_l >= LEAST_LITRES {
        let scalds = finding(FindingKind::ScaldingWater, false, taps);
        findings.push(Finding { litres: Some(heater.scalding_l), limit: Some(SCALDS_FROM_C), ..scalds });
    }
    if heater.growth_l_h > GROWTH_TOLD_L_S / 3_600.0 && heater.longest_cool_outlet_h >= COOL_TOLD_S / 3_600.0 {
        let grows = finding(FindingKind::GrowthWarm, false, &heater.heater);
        let minutes = Some(60.0 * heater.longest_cool_outlet_h);
        findings.push(Finding { minutes, limit: Some(OUTLET_LEAST_C), ..grows });
    }
    findings
}
