//! What is worth knowing of hot water.

use springhouse_core::hot_water::follow::{GROWTH_TOLD_L_S, OUTLET_LEAST_C};
use springhouse_core::hot_water::tap::{LUKEWARM_K, SCALDS_FROM_C};

use super::{Finding, FindingKind, LEAST_LITRES, finding};
use crate::summary::HotWaterSummary;

/// Less lukewarm water in a run is a note: the end of one long shower. Our own choice.
const LEAST_LUKEWARM_MIN: f64 = 1.0;
/// For less than this a compressor may wait without a word.
const LEAST_WAIT_H: f64 = 1.0;

/// A tank whose outlet comes to 60 °C once a day is kept hot: thermostats have their band. Our own choice.
const LEAST_COOL_H: f64 = 24.0;

pub(super) fn findings(heater: &HotWaterSummary) -> Vec<Finding> {
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
            ..finding(FindingKind::Lukewarm, falls_short, &heater.building)
        });
    }
    if let Some(hours) = heater.air_wait_hours.filter(|hours| *hours >= LEAST_WAIT_H) {
        let waited = finding(FindingKind::AirUnsuitable, false, &heater.heater);
        findings.push(Finding { minutes: Some(60.0 * hours), ..waited });
    }
    if heater.scalding_l >= LEAST_LITRES {
        let scalds = finding(FindingKind::ScaldingWater, false, &heater.building);
        findings.push(Finding { litres: Some(heater.scalding_l), limit: Some(SCALDS_FROM_C), ..scalds });
    }
    if heater.growth_l_h > GROWTH_TOLD_L_S / 3_600.0 && heater.longest_cool_outlet_h >= LEAST_COOL_H {
        let grows = finding(FindingKind::GrowthWarm, false, &heater.heater);
        let minutes = Some(60.0 * heater.longest_cool_outlet_h);
        findings.push(Finding { minutes, limit: Some(OUTLET_LEAST_C), ..grows });
    }
    findings
}
