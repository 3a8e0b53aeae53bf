//! The figures of each stage of treatment, and when it will want service.

use jiff::civil::Date;
use serde::Serialize;
use springhouse_core::engine::{Report, StageTotals};
use springhouse_core::plant::Plant;
use springhouse_core::time::{Span, Time};
use springhouse_core::treatment::{Stage, StageKind};

use super::iso;

/// One stage of treatment. What its kind lacks has no key.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct TreatmentSummary {
    /// Its name.
    pub name: String,
    /// `sediment`, `carbon`, `iron_filter`, `softener` or `ultraviolet`.
    pub kind: String,
    /// Water treated.
    pub treated_l: f64,
    /// Water that passed it by through its bypass.
    pub bypassed_l: f64,
    /// Water that came when it held all that it can.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub spent_l: Option<f64>,
    /// Water that passed it by while it was washed.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub washing_l: Option<f64>,
    /// What it holds at the end.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub caught_g: Option<f64>,
    /// The same as a share of what it can hold.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub capacity_share: Option<f64>,
    /// Pressure it costs at its rated flow at the end.
    pub loss_kpa: f64,
    /// Water with less than the contact time of a carbon bed, or than the least dose of light.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub under_l: Option<f64>,
    /// Spells with less than the least dose of light.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub underdose_spells: Option<u64>,
    /// Hours that the lamp has burned.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub lamp_hours: Option<f64>,
    /// Since when service has been due, ISO 8601.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub service_due_at: Option<String>,
    /// The day on which service will be due if all goes on as in the run, ISO 8601. Indicative.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub next_service: Option<String>,
}

fn kind(kind: &StageKind) -> &'static str {
    match kind {
        StageKind::Sediment => "sediment",
        StageKind::Carbon(_) => "carbon",
        StageKind::IronFilter => "iron_filter",
        StageKind::Softener => "softener",
        StageKind::Ultraviolet(_) => "ultraviolet",
    }
}

pub(super) fn treatment(plant: &Plant, first_day: Date, report: &Report) -> Vec<TreatmentSummary> {
    let each = plant.stages.iter().zip(&report.stages).enumerate();
    each.map(|(i, (stage, totals))| {
        let due = report.tally.service_due[i];
        let has_limit = matches!(stage.kind, StageKind::Carbon(_) | StageKind::Ultraviolet(_));
        let light = stage.ultraviolet();
        let next = due.is_none().then(|| next_service(stage, totals, report.time)).flatten();
        TreatmentSummary {
            name: stage.name.clone(),
            kind: kind(&stage.kind).into(),
            treated_l: totals.treated_l,
            bypassed_l: totals.bypassed_l,
            spent_l: stage.catch.is_some().then_some(totals.spent_l),
            washing_l: stage.backwash.map(|_| totals.washing_l),
            caught_g: stage.catch.map(|_| totals.caught_g),
            capacity_share: stage.catch.map(|catch| totals.caught_g / catch.capacity_g),
            loss_kpa: stage.loss_kpa(stage.rated_lps, totals.caught_g),
            under_l: has_limit.then_some(totals.under_l),
            underdose_spells: light.map(|_| report.tally.underdoses[i].count),
            lamp_hours: light.map(|_| totals.lamp_h),
            service_due_at: due.map(|time| iso(first_day, time)),
            next_service: next.map(|time| iso(first_day, time)).and_then(|iso| Some(iso.split_once('T')?.0.to_owned())),
        }
    })
    .collect()
}

/// A service further off than this is no plan: media and seals age as well. Our own choice: ten years.
const FARTHEST: Span = Span::from_ns(3_650 * Span::DAY.ns());

/// When a stage is full, or its lamp old, if it goes on as it did in the run. A stage that is washed has its schedule.
fn next_service(stage: &Stage, totals: &StageTotals, now: Time) -> Option<Time> {
    if stage.backwash.is_some() {
        return None;
    }
    let full = stage.catch.map(|catch| (catch.start_g, totals.caught_g, catch.capacity_g));
    let old = stage.ultraviolet().map(|unit| (unit.start_h, totals.lamp_h, unit.life_h));
    let after = |(start, end, limit): (f64, f64, f64)| {
        let left_s = now.s() * (limit - end) / (end - start);
        (end > start && left_s <= FARTHEST.s()).then(|| now + Span::from_s(left_s))
    };
    [full, old].into_iter().flatten().filter_map(after).min()
}

#[cfg(test)]
mod tests {
    use super::*;
    use springhouse_core::outlet::Header;
    use springhouse_core::quality::Constituent;
    use springhouse_core::treatment::{Backwash, Catch};

    fn filter(start_g: f64) -> Stage {
        let catch = Catch { constituent: Constituent::Solids, share: 0.9, capacity_g: 100.0, start_g };
        Stage {
            name: "sediment filter".into(),
            kind: StageKind::Sediment,
            header: Header::Raw,
            rated_lps: 0.5,
            clean_kpa: 10.0,
            limit_kpa: 70.0,
            catch: Some(catch),
            backwash: None,
        }
    }

    #[test]
    fn exact_service_follows_the_mean_of_the_run() {
        let totals = |caught_g| StageTotals { caught_g, ..StageTotals::default() };
        let week = Time::from_day(7);
        // 14 g in 7 days: the 60 g left take 30 days more.
        assert_eq!(next_service(&filter(26.0), &totals(40.0), week), Some(Time::from_day(37)));
        assert_eq!(next_service(&filter(26.0), &totals(26.0), week), None, "catches nothing");
        assert_eq!(next_service(&filter(26.0), &totals(26.01), week), None, "a century off");
        let washed = Stage { backwash: Some(Backwash { outlet: 0 }), ..filter(26.0) };
        assert_eq!(next_service(&washed, &totals(40.0), week), None);
    }
}
