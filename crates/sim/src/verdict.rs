//! The answer first: what held, what did not, when, by how much.

mod hot_water;
mod membrane;
mod pond;
mod power;

use jiff::civil::Date;
use serde::Serialize;
use springhouse_core::engine::{Report, Spells};
use springhouse_core::incident::Incident;
use springhouse_core::outlet::Role;
use springhouse_core::plant::Plant;
use springhouse_core::supply::Control;
use springhouse_core::time::Time;
use springhouse_scenario::Scenario;

use crate::names;
use crate::run::since;
use crate::summary::{HotWaterSummary, OutletSummary, iso, minutes};

/// The answer first.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Verdict {
    /// Whether everything held: no finding other than notes.
    pub holds: bool,
    /// Worst first.
    pub findings: Vec<Finding>,
}

impl Verdict {
    /// Minutes of low pressure to the buildings, in a run of so many days, where they are too many to be passed over in a
    /// word on the whole: an hour in all, or 1 % of the run.
    #[must_use]
    pub fn long_low_pressure_min(&self, days: u32) -> Option<f64> {
        let low = self.findings.iter().find(|finding| finding.kind == FindingKind::LowPressure)?;
        let least_min = LONG_LOW_MIN.min(LONG_LOW_SHARE * 1_440.0 * f64::from(days));
        low.minutes.filter(|minutes| *minutes >= least_min)
    }
}

/// Low pressure for so long in all, or for this share of the run, is told with the verdict. Our own choice.
const LONG_LOW_MIN: f64 = 60.0;
const LONG_LOW_SHARE: f64 = 0.01;

/// One thing that did not hold, or nearly did not.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Finding {
    /// What it is.
    pub kind: FindingKind,
    /// Whether it makes the verdict fall short; otherwise it is a note.
    pub falls_short: bool,
    /// Building, raw load or part it is about.
    pub part: String,
    /// When it first happened, ISO 8601 local standard time.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub at: Option<String>,
    /// How often.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub count: Option<u64>,
    /// For how long in all.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub minutes: Option<f64>,
    /// The longest of several, where the kind tells it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub longest_minutes: Option<f64>,
    /// When that began, ISO 8601.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub longest_at: Option<String>,
    /// Litres it is about.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub litres: Option<f64>,
    /// The limit it was held against, in the unit of the kind.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub limit: Option<f64>,
}

/// Kinds of finding. The comment says what count, minutes, litres and limit are.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum FindingKind {
    /// An outlet wanted water and got less than half: spells, minutes, litres not delivered.
    RunOut,
    /// An outlet got somewhat less than it wanted: litres not delivered.
    Weak,
    /// Pressure to the buildings under what the controls hold: minutes; limit kPa.
    LowPressure,
    /// The low-level cut-off stopped the well pump: times.
    LowLevelTrip,
    /// The water was down to the pump's intake: times.
    SuctionLost,
    /// The well pump started more often in a day than is good for it: most starts in a day; limit starts.
    ManyStarts,
    /// The well pump ran for less than a minute at a time: runs; limit s.
    ShortRuns,
    /// Low storage stopped the delivery pump: times.
    ProtectStop,
    /// Electricity or a pump was out, as the scenario asked: times, minutes.
    Incident,
    /// Storage, a cistern or a pond was full and spilled.
    Spilled,
    /// Water ran out of a burst pipe or a running hose: times, minutes, litres.
    Leaked,
    /// The standby supply fed the plant.
    StandbyUsed,
    /// Water passed an ultraviolet unit with less than its least dose.
    Underdosed,
    /// Water passed a stage of treatment through its bypass.
    Untreated,
    /// Water passed a stage of treatment that held all that it can.
    Spent,
    /// A pump ran for a day or more on end: minutes; limit h.
    LongRun,
    /// A stage of treatment holds all that it can, or its lamp is old.
    ServiceDue,
    /// The membrane unit tripped too often in a row and was locked out: times, minutes.
    MembraneLockedOut,
    /// Too little pressure stopped the membrane unit: when first, times.
    MembraneTrips,
    /// Water with free chlorine came to the membrane: litres; limit mg/L.
    MembraneChlorinated,
    /// The membrane loses what may be lost between two cleanings within a month: when; limit days.
    MembraneFouls,
    /// The membrane has lost what may be lost between two cleanings, and has not been cleaned since: when.
    CleaningDue,
    /// Little is left of the bed of calcite at the end; limit as a share of the bed.
    CalciteLow,
    /// The membrane unit's reject went into a basin: litres.
    RejectReturned,
    /// Evaporation, or its own reject, has made the water of a pond much saltier than it was: when it was saltiest; limit mg/L.
    PondSaltier,
    /// A pond was all but dry: when, litres left at the lowest.
    PondDry,
    /// Ice lay on a pond: for how long.
    PondFroze,
    /// A building had lukewarm water: spells, minutes, the longest; limit as K under what was wanted.
    Lukewarm,
    /// Water of a heater or of its pipe was at 0 °C or under, where it freezes and bursts what it stands in: minutes.
    HeaterFroze,
    /// Hot water came to taps hotter than it may be on the skin: litres; limit °C.
    ScaldingWater,
    /// Water of a tank was as warm as Legionella likes it while its outlet was cooler than it is to be: the longest minutes of the
    /// outlet on end; limit °C.
    GrowthWarm,
    /// A compressor waited for air that suits it: minutes.
    AirUnsuitable,
    /// Pumps alone were too much for what stands behind the grid: times.
    BackupOverloaded,
    /// Nobody fed the site in an outage, though there is a battery or a generator: when first, minutes.
    BackupEnded,
    /// Water in storage is salty though it comes from a membrane unit; limit mg/L.
    SaltyStorage,
}

/// Most starts of a pump motor in a day.
///
/// Source: Water Well Journal, "Tank Selection by the Numbers": at most 300 in 24 hours below 1 hp, fewer above.
pub const MOST_STARTS_IN_A_DAY: u32 = 300;
/// Least run of a pump motor.
///
/// Source: The Driller, February 2006: a minute or more.
const LEAST_RUN_S: f64 = 60.0;
/// A pump that runs on end so long never gets to the pressure that stops it. Common practice, no source.
const MOST_RUN_H: f64 = 24.0;
/// When more than one start in this many makes a run under the least, it is the rule and not the exception: a run cut short
/// by the power or a valve is no fault of the tank.
const SHORT_RUNS_IN: u64 = 10;
/// A shortfall below this share of what is wanted is a note: a tap that runs a little slower.
const WEAK_SHARE: f64 = 0.01;
/// Below this a shortfall is not worth a word.
const LEAST_LITRES: f64 = 1.0;

/// One finding with nothing told yet but what and where.
fn finding(kind: FindingKind, falls_short: bool, part: &str) -> Finding {
    let part = part.into();
    Finding {
        kind,
        falls_short,
        part,
        at: None,
        count: None,
        minutes: None,
        longest_minutes: None,
        longest_at: None,
        litres: None,
        limit: None,
    }
}

pub(crate) fn judge(
    scenario: &Scenario,
    first_day: Date,
    incidents: &[Incident],
    report: &Report,
    (outlets, heaters): (&[OutletSummary], &[HotWaterSummary]),
) -> Verdict {
    let plant = &scenario.plant;
    let mut findings: Vec<Finding> = Vec::new();
    let spells = |kind, falls_short, part: &str, spells: &Spells| {
        (spells.count > 0).then(|| Finding {
            at: spells.first.map(|time| iso(first_day, time)),
            count: Some(spells.count),
            minutes: Some(minutes(spells.total)),
            ..finding(kind, falls_short, part)
        })
    };
    let tally = &report.tally;
    // A pump that draws air is being ruined: that comes before any shortfall.
    for (i, supply) in tally.supplies.iter().enumerate() {
        findings.extend(spells(FindingKind::SuctionLost, true, &names::pump(plant, i), &supply.suction_losses));
    }
    for (i, (outlet, figures)) in plant.outlets.iter().zip(outlets).enumerate() {
        findings.extend(match outlet.role {
            Role::Leak => leak_finding((scenario, i), first_day, figures, report.time),
            _ => outlet_finding(figures),
        });
    }
    findings.extend(hot_water::findings(heaters));
    findings.extend(power::findings(plant, first_day, report));
    findings.extend(membrane::findings(plant, first_day, report));
    findings.extend(pond::findings(plant, first_day, report));
    findings.extend(treatment_findings(plant, report));
    findings.extend(pump_findings(plant, report));
    findings.extend(spells(FindingKind::ProtectStop, false, "storage", &tally.protect_stops));
    for (i, supply) in tally.supplies.iter().enumerate() {
        findings.extend(spells(FindingKind::LowLevelTrip, false, &names::supply(plant, i), &supply.low_level_trips));
    }
    findings.extend(spells(FindingKind::StandbyUsed, false, "standby supply", &tally.change_overs));
    findings.extend(
        spells(FindingKind::Spilled, false, names::STORAGE, &tally.storage_spills)
            .map(|spill| Finding { litres: Some(report.totals.spilled_l), ..spill }),
    );
    for (i, supply) in tally.supplies.iter().enumerate() {
        let spilled = spells(FindingKind::Spilled, false, &names::supply(plant, i), &supply.spills);
        let litres = Some(report.totals.supplies[i].spilled_l);
        findings.extend(spilled.map(|spill| Finding { litres, ..spill }));
    }
    for (stage, due) in plant.stages.iter().zip(tally.service_due) {
        let told = finding(FindingKind::ServiceDue, false, &stage.name);
        findings.extend(due.map(|time| Finding { at: Some(iso(first_day, time)), ..told }));
    }
    if minutes(tally.low_pressure.total) >= 1.0 {
        let low = spells(FindingKind::LowPressure, false, "pressure", &tally.low_pressure);
        findings.extend(low.map(|low| Finding { limit: Some(plant.held_kpa()), ..low }));
    }
    findings.extend(incident_findings(plant, first_day, incidents, report.time));
    // What falls short first; within that the order above, along the water's way back from the tap.
    findings.sort_by_key(|finding| !finding.falls_short);
    Verdict { holds: findings.iter().all(|finding| !finding.falls_short), findings }
}

/// What ran away at an outlet that leaks, and when. Bursts there that overlap are counted each by itself.
fn leak_finding(
    (scenario, outlet): (&Scenario, usize),
    first_day: Date,
    figures: &OutletSummary,
    end: Time,
) -> Option<Finding> {
    let bursts = scenario.dated_draws.iter().filter(|burst| burst.outlet == outlet);
    let within = bursts.filter_map(|burst| {
        let start = since(burst.start, first_day);
        let (from, to) = (start.max(Time::ZERO), (start + burst.length).min(end));
        (from < to).then_some((from, to))
    });
    let spells: Vec<_> = within.collect();
    (figures.delivered_l >= LEAST_LITRES).then(|| Finding {
        at: spells.iter().map(|(from, _)| *from).min().map(|time| iso(first_day, time)),
        count: u64::try_from(spells.len()).ok(),
        minutes: Some(spells.iter().map(|(from, to)| minutes(*to - *from)).sum()),
        litres: Some(figures.delivered_l),
        ..finding(FindingKind::Leaked, false, &figures.name)
    })
}

fn outlet_finding(outlet: &OutletSummary) -> Option<Finding> {
    if outlet.run_outs > 0 {
        return Some(Finding {
            at: outlet.first_run_out_at.clone(),
            count: Some(outlet.run_outs),
            minutes: Some(outlet.run_out_minutes),
            longest_minutes: Some(outlet.longest_run_out_min).filter(|_| outlet.run_outs > 1),
            longest_at: outlet.longest_run_out_at.clone().filter(|_| outlet.run_outs > 1),
            litres: Some(outlet.short_l),
            ..finding(FindingKind::RunOut, true, &outlet.name)
        });
    }
    (outlet.short_l >= LEAST_LITRES).then(|| {
        let falls_short = outlet.short_l > WEAK_SHARE * (outlet.delivered_l + outlet.short_l);
        Finding { litres: Some(outlet.short_l), ..finding(FindingKind::Weak, falls_short, &outlet.name) }
    })
}

fn pump_findings(plant: &Plant, report: &Report) -> Vec<Finding> {
    let mut findings = Vec::new();
    for (i, supply) in report.tally.supplies.iter().enumerate() {
        let name = names::pump(plant, i);
        if supply.starts_by_day.most > u64::from(MOST_STARTS_IN_A_DAY) {
            findings.push(Finding {
                count: Some(supply.starts_by_day.most),
                limit: Some(f64::from(MOST_STARTS_IN_A_DAY)),
                ..finding(FindingKind::ManyStarts, true, &name)
            });
        }
        let has_switch = plant.supplies.get(i).and_then(|supply| supply.source.pump());
        let has_switch = has_switch.is_some_and(|pump| matches!(pump.control, Control::Switch { .. }));
        if let Some(run) = supply.longest_run.filter(|run| has_switch && run.s() >= 3_600.0 * MOST_RUN_H) {
            findings.push(Finding {
                minutes: Some(minutes(run)),
                limit: Some(MOST_RUN_H),
                ..finding(FindingKind::LongRun, true, &name)
            });
        }
        if supply.short_runs > 0 {
            let falls_short = supply.short_runs * SHORT_RUNS_IN > supply.starts;
            findings.push(Finding {
                count: Some(supply.short_runs),
                limit: Some(LEAST_RUN_S),
                ..finding(FindingKind::ShortRuns, falls_short, &name)
            });
        }
    }
    findings
}

/// Water that passed ultraviolet light with too little of it, or any stage through its bypass.
fn treatment_findings(plant: &Plant, report: &Report) -> Vec<Finding> {
    let mut findings = Vec::new();
    for (stage, totals) in plant.stages.iter().zip(&report.stages) {
        let told =
            |kind, falls_short, litres| Finding { litres: Some(litres), ..finding(kind, falls_short, &stage.name) };
        if stage.ultraviolet().is_some() && totals.under_l >= LEAST_LITRES {
            findings.push(told(FindingKind::Underdosed, true, totals.under_l));
        }
        if totals.spent_l >= LEAST_LITRES {
            findings.push(told(FindingKind::Spent, true, totals.spent_l));
        }
        if totals.bypassed_l >= LEAST_LITRES {
            findings.push(told(FindingKind::Untreated, true, totals.bypassed_l));
        }
    }
    findings
}

/// What the scenario put out of order within the run.
fn incident_findings(plant: &Plant, first_day: Date, incidents: &[Incident], end: Time) -> Vec<Finding> {
    let within = |i: &&Incident| i.start < end && i.end > Time::ZERO;
    let mut parts: Vec<String> = Vec::new();
    for incident in incidents.iter().filter(within) {
        let part = names::out_of_order(plant, incident.kind);
        if !parts.contains(&part) {
            parts.push(part);
        }
    }
    let found = parts.into_iter().filter_map(|part| {
        let met = incidents.iter().filter(within).filter(|i| names::out_of_order(plant, i.kind) == part);
        let first = met.clone().map(|i| i.start.max(Time::ZERO)).min()?;
        let out = met.clone().map(|i| minutes(i.end.min(end) - i.start.max(Time::ZERO))).sum();
        Some(Finding {
            at: Some(iso(first_day, first)),
            count: Some(met.count().try_into().unwrap_or(u64::MAX)),
            minutes: Some(out),
            ..finding(FindingKind::Incident, false, &part)
        })
    });
    found.collect()
}
