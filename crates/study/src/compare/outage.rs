//! The same outage with more or less behind the grid.

use jiff::civil::{DateTime, Time as ClockTime};
use jiff::{SignedDuration, ToSpan};
use springhouse_core::incident::IncidentKind;
use springhouse_core::observe::Totals;
use springhouse_core::outlet::Role;
use springhouse_core::power::{Backup, Battery, Generator, SitePower};
use springhouse_core::time::{Span, Time};
use springhouse_scenario::{DatedIncident, Scenario};
use springhouse_sim::{Outcome, RunOptions, since};

use super::{Asked, AskedOutage, CompareError, Comparison, Question, Way, run_all};

/// A battery where the scenario has none. Invented.
const USUAL_BATTERY: Battery = Battery {
    capacity_j: 10.0 * 3.6e6,
    power_w: 5_000.0,
    // A round trip of 90 %.
    one_way: 0.948_683_298_050_513_8,
    reserve_share: 0.2,
    start_share: 1.0,
};

/// A generator where the scenario has none. Invented.
const USUAL_GENERATOR: Generator = Generator {
    power_w: 5_000.0,
    start_after: Span::from_ns(30_000_000_000),
    fuel_l: None,
    idle_l_h: 0.7,
    full_l_h: 2.3,
    price_per_l: 0.0,
    kg_per_l: 2.32,
    one_motor: true,
};

/// What they feed where the scenario does not say.
const USUAL_BACKUP: Backup = Backup { membrane: true, heaters: false, other_share: 0.3 };

const USUAL_LENGTH: Span = Span::DAY;

/// When the grid is out.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Outage {
    /// When it begins,
    pub start: DateTime,
    /// and how long it lasts.
    pub length: Span,
}

/// What happened from the outage's begin to its end.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct InOutage {
    /// Water to the buildings.
    pub delivered_l: f64,
    /// How long pumps of supplies ran, all together.
    pub supplies_run_s: f64,
    /// How long the membrane unit made water,
    pub membrane_run_s: f64,
    /// and its product.
    pub product_l: f64,
    /// Electricity of water heaters.
    pub heaters_j: f64,
    /// From its begin to the end of the run: time for which a building had run out,
    pub run_out_s: f64,
    /// and lukewarm water, over all heaters.
    pub lukewarm_s: f64,
    /// Water in storage at its end; `None` without storage.
    pub storage_l: Option<f64>,
    /// Energy in the battery at its end.
    pub stored_j: f64,
}

pub(super) fn compare(
    scenario: &Scenario,
    options: &RunOptions,
    asked_outage: AskedOutage,
) -> Result<Comparison, CompareError> {
    let mut assumed = Vec::new();
    let (outage, is_own) = outage(scenario, options, asked_outage, &mut assumed)?;
    let first_day = options.first_day;
    let from = since(outage.start, first_day);
    let to = from + outage.length;
    let mut scenario = scenario.clone();
    scenario.incidents.retain(|incident| incident.kind != IncidentKind::PowerOut);
    let power_out = DatedIncident { kind: IncidentKind::PowerOut, start: outage.start, length: outage.length };
    scenario.incidents.push(power_out);
    let given = &scenario.plant.power;
    if given.battery.is_none() {
        assumed.push("The battery, which the scenario does not describe, is one of 10 kWh and 5 kW, full".to_owned());
    }
    if given.generator.is_none() {
        assumed.push("The generator, which it does not describe, is one of 5 kW that never lacks fuel".to_owned());
    }
    let backup = if given.has_backup() { given.backup } else { USUAL_BACKUP };
    if !given.has_backup() {
        assumed.push("They feed the pumps, the membrane unit and 30 % of the rest of the house, no heaters".to_owned());
    }
    if scenario.energy.as_ref().is_some_and(|energy| energy.sun.is_some()) {
        assumed.push("Panels stand still while the grid is out, unless there is a battery".to_owned());
    }
    let battery = Some(given.battery.unwrap_or(USUAL_BATTERY));
    let generator = Some(given.generator.unwrap_or(USUAL_GENERATOR));
    let asked: Vec<Asked> = [
        ("nothing", None, None),
        ("battery", battery, None),
        ("generator", None, generator),
        ("battery and generator", battery, generator),
    ]
    .into_iter()
    .map(|(name, battery, generator)| {
        let power = SitePower { battery, generator, backup };
        let as_given = is_own && power == *given;
        let way = Asked::with(name, &scenario, |parts| parts.power = power)?;
        Ok(Asked { as_given, ..way })
    })
    .collect::<Result<_, CompareError>>()?;
    let options = RunOptions { moments: vec![from, to], ..options.clone() };
    let ways = run_all(asked, &options)?.into_iter().map(|(asked, outcome)| {
        let in_outage = within(&asked.scenario, &outcome);
        Way { name: asked.name, as_given: asked.as_given, summary: outcome.summary, in_outage }
    });
    Ok(Comparison { question: Question::Outage(asked_outage), ways: ways.collect(), assumed, outage: Some(outage) })
}

/// When the grid is out: as asked, else as the scenario has it, else by default; and whether that is all of the scenario's own.
fn outage(
    scenario: &Scenario,
    options: &RunOptions,
    asked: AskedOutage,
    assumed: &mut Vec<String>,
) -> Result<(Outage, bool), CompareError> {
    let end = Time::from_day(i64::from(options.days));
    let from = |start: DateTime| since(start, options.first_day);
    let own: Vec<&DatedIncident> =
        scenario.incidents.iter().filter(|incident| incident.kind == IncidentKind::PowerOut).collect();
    let within = |incident: &&&DatedIncident| from(incident.start) >= Time::ZERO && from(incident.start) < end;
    let first = own.iter().find(within).filter(|_| asked.start.is_none());
    let day = if options.days > 1 { options.first_day.saturating_add(1.day()) } else { options.first_day };
    let morning = day.to_datetime(ClockTime::midnight()).saturating_add(SignedDuration::from_hours(6));
    let start = asked.start.or(first.map(|own| own.start)).unwrap_or(morning);
    // By default it is no longer than the run.
    let usual = first.map_or(USUAL_LENGTH, |own| own.length).min(end - from(start));
    let length = asked.length.unwrap_or(usual);
    if from(start) < Time::ZERO || from(start) + length > end || length <= Span::ZERO {
        return Err(CompareError::OutsideTheRun);
    }
    let is_own = first.is_some_and(|own| own.length == length) && own.len() == 1;
    let others = own.len() - usize::from(first.is_some());
    if others > 0 {
        let which = if first.is_some() { "Other outages" } else { "Outages" };
        assumed.push(format!("{which} that the scenario has, {others}, are left out"));
    }
    Ok((Outage { start, length }, is_own))
}

fn within(scenario: &Scenario, outcome: &Outcome) -> Option<InOutage> {
    let [before, after] = outcome.at_moments.as_slice() else { return None };
    let Totals { supplies, outlets, membrane, heaters_j, .. } = after.totals.since(&before.totals);
    let buildings = scenario.plant.outlets.iter().zip(&outlets).filter(|(outlet, _)| outlet.role == Role::Building);
    let delivered_l = buildings.map(|(_, totals)| totals.delivered_l).sum();
    let pumped = scenario.plant.supplies.iter().zip(&supplies).filter(|(supply, _)| supply.source.pump().is_some());
    Some(InOutage {
        delivered_l,
        supplies_run_s: pumped.map(|(_, totals)| totals.run_s).sum(),
        membrane_run_s: membrane.run_s,
        product_l: membrane.product_l,
        heaters_j,
        run_out_s: 60.0 * outcome.summary.water.run_out_minutes - before.tally.run_outs.total.s(),
        lukewarm_s: outcome.summary.hot_water.iter().map(|heater| 60.0 * heater.lukewarm_minutes).sum::<f64>()
            - before.hot_water.heaters.iter().map(|heater| heater.totals.lukewarm_s).sum::<f64>(),
        storage_l: scenario.plant.store.as_ref().map(|store| store.storage.start_l + after.ledger.storage_gain_l),
        stored_j: after.power.as_ref().map_or(0.0, |books| books.charge.energy_j),
    })
}
