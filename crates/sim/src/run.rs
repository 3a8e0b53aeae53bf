//! One run, day by day, and what is kept of it.

use jiff::civil::{Date, DateTime, Time as ClockTime};
use springhouse_core::draw::{Draw, DrawKind, Warmth};
use springhouse_core::engine::{Engine, EngineError, Options};
use springhouse_core::hot_water::follow::Spell;
use springhouse_core::incident::{Incident, Inflow, Outside, TempStep};
use springhouse_core::observe::{Event, Observer, Sample};
use springhouse_core::plant::Plant;
use springhouse_core::power::PowerHour;
use springhouse_core::quality::Constituent;
use springhouse_core::time::{Span, Time};
use springhouse_core::weather::WeatherHour;
use springhouse_draws::household::{Fault, Home, Household, HouseholdStream};
use springhouse_draws::{DailyDraw, DrawStream};
use springhouse_scenario::{DatedDraw, DatedIncident, Scenario};
use thiserror::Error;

use crate::days::Days;
use crate::{HotWaterNow, Outcome, Row, lukewarm, summary};

/// The most rows a run keeps, in memory: a week at every second, two years at every minute.
pub const MOST_ROWS: u64 = 1_100_000;

/// The most rows of a run that asks for no grid: ten weeks of minutes.
const USUAL_ROWS: u64 = 100_801;

/// What may differ from what the scenario says.
#[derive(Clone, Debug)]
pub struct RunOptions {
    /// The day at whose first midnight the run starts.
    pub first_day: Date,
    /// Days to run.
    pub days: u32,
    /// Seed of everything random: of what people do. Schedules and logs hold nothing random.
    pub seed: u64,
    /// Distance of the rows; `None` keeps none.
    pub grid: Option<Span>,
    /// Number of the run: another run of a seed meets other mornings.
    pub run: u64,
    /// Draws of every day.
    pub schedule: Vec<DailyDraw>,
    /// Buildings whose draws follow from who lives there.
    pub homes: Vec<Home>,
    /// Logged draws, timed from midnight of `first_day`, in order of start; they come on top of the schedule.
    pub log: Vec<Draw>,
    /// What runs into basins, timed from midnight of `first_day`; of the steps of a basin before that midnight only the last
    /// counts.
    pub inflows: Vec<Inflow>,
    /// How warm the water of wells and mains gets, timed from midnight of `first_day`, in order of time.
    pub temps: Vec<TempStep>,
    /// The weather by the hour from midnight of `first_day`; empty where nothing is known of it.
    pub weather: Vec<WeatherHour>,
    /// Sun, rest of the house and prices by the hour from midnight of `first_day`; empty where energy is not followed beyond what
    /// parts take.
    pub power: Vec<PowerHour>,
    /// Whether the days are kept.
    pub daily: bool,
    /// Instants at which the figures are kept, in order of time; those beyond the run are passed over.
    pub moments: Vec<Time>,
}

impl RunOptions {
    /// As the scenario says, without rows, days, logged draws, rain and weather.
    #[must_use]
    pub fn from_scenario(scenario: &Scenario) -> Self {
        Self {
            first_day: scenario.start,
            days: scenario.days,
            seed: scenario.seed,
            run: 0,
            grid: None,
            schedule: scenario.schedule.clone(),
            homes: scenario.homes.clone(),
            log: Vec::new(),
            inflows: Vec::new(),
            temps: Vec::new(),
            weather: Vec::new(),
            power: Vec::new(),
            daily: false,
            moments: Vec::new(),
        }
    }
}

/// Why a run has no result.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum RunError {
    /// Nothing to run.
    #[error("the run is 0 days long; ask for 1 day or more")]
    NoDays,
    /// More rows than fit in memory.
    #[error(
        "{days} days with a row every {grid_s} s make {rows} rows, but at most {MOST_ROWS} are kept; take a wider grid"
    )]
    TooManyRows {
        /// Days asked for.
        days: u32,
        /// Grid asked for, s.
        grid_s: f64,
        /// Rows they make.
        rows: u64,
    },
    /// People that cannot be.
    #[error("{}", .0.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n"))]
    Household(Vec<Fault>),
    /// The engine could not go on.
    #[error(transparent)]
    Engine(#[from] EngineError),
}

/// Keeps events and rows.
struct Recorder<'p> {
    plant: &'p Plant,
    events: Vec<Event>,
    lukewarm: Vec<(usize, Spell)>,
    rows: Vec<Row>,
}

impl Observer for Recorder<'_> {
    fn event(&mut self, event: &Event) {
        self.events.push(*event);
    }

    fn lukewarm(&mut self, heater: usize, spell: &Spell) {
        self.lukewarm.push((heater, *spell));
    }

    fn row(&mut self, sample: &Sample<'_>) {
        self.rows.push(Row {
            time: sample.time,
            raw_kpa: sample.raw_kpa,
            sources: sample.sources,
            pump_on: sample.pump_on,
            starts: sample.starts,
            storage_l: sample.storage_l,
            delivery_kpa: sample.delivery_kpa,
            lowest_house_kpa: sample.lowest_house_kpa,
            wanted_lps: sample.wanted_lps,
            carried: sample.carried,
            sources_salt_mg_l: sample.sources_carry.map(|water| water[Constituent::Salt as usize]),
            sources_temp_c: sample.sources_carry.map(|water| water[Constituent::Temperature as usize]),
            ice_m: sample.ponds.map(|pond| pond.ice_m),
            raw_temp_c: sample.raw_carries[Constituent::Temperature as usize],
            membrane: sample.membrane,
            hot_water: HotWaterNow::of(self.plant, sample.hot_water),
            stored_j: sample.stored_j,
            totals: *sample.totals,
        });
    }
}

/// Runs a scenario. `progress` hears the share done, from 0 to 1, after each day.
///
/// # Errors
/// [`RunError`]: nothing of the run is kept then.
pub fn run(scenario: &Scenario, options: &RunOptions, progress: &mut dyn FnMut(f64)) -> Result<Outcome, RunError> {
    let (days, grid) = (options.days, options.grid);
    if days == 0 {
        return Err(RunError::NoDays);
    }
    let rows = grid.map_or(0, |grid| rows_of(days, grid));
    if rows > MOST_ROWS {
        return Err(RunError::TooManyRows { days, grid_s: grid.map_or(0.0, Span::s), rows });
    }
    let mut recorder = Recorder { plant: &scenario.plant, events: Vec::new(), lukewarm: Vec::new(), rows: Vec::new() };
    let first_day = options.first_day;
    let incidents = scenario.incidents.iter().map(|incident| incident_since(incident, first_day)).collect();
    let outside = Outside {
        incidents,
        inflows: from_midnight(&options.inflows),
        temps: options.temps.clone(),
        weather: options.weather.clone(),
        power: options.power.clone(),
    };
    let draws = draws(scenario, options)?;
    let engine_options = Options { grid, ..Options::default() };
    let mut engine = Engine::start(&scenario.plant, &outside, draws, engine_options, &mut recorder)?;
    let mut kept = Days::new(&scenario.plant, &options.weather);
    let (mut moments, mut at_moments) = (options.moments.iter().peekable(), Vec::new());
    for day in 1..=days {
        while let Some(moment) = moments.next_if(|moment| **moment <= Time::from_day(i64::from(day))) {
            engine.run_until(*moment, &mut recorder)?;
            at_moments.push(engine.report());
        }
        engine.run_until(Time::from_day(i64::from(day)), &mut recorder)?;
        if options.daily {
            kept.keep(&engine.report());
        }
        progress(f64::from(day) / f64::from(days));
    }
    let report = engine.report();
    let mut spells = recorder.lukewarm;
    let last = report.hot_water.heaters.iter().map(|heater| heater.totals.spell).enumerate();
    spells.extend(last.filter(|(_, spell)| spell.seconds > 0.0));
    let lukewarm = lukewarm::with_people(&scenario.plant, options, spells)?;
    let summary = summary::summarise(scenario, options, &outside.incidents, (&report, &lukewarm));
    Ok(Outcome { summary, events: recorder.events, rows: recorder.rows, days: kept.kept, lukewarm, at_moments })
}

/// All that is drawn in a run: the schedule, what people do, the log, and draws at a date.
///
/// # Errors
/// [`RunError::Household`] where a household cannot be.
pub fn draws(scenario: &Scenario, options: &RunOptions) -> Result<DrawStream, RunError> {
    let first_day = options.first_day;
    let mut dated = options.log.clone();
    dated.extend(scenario.dated_draws.iter().map(|draw| draw_since(draw, first_day)));
    // Stable: logged draws that start together keep their order.
    dated.sort_by_key(|draw| draw.start);
    let draws = DrawStream::new(&options.schedule, first_day, dated);
    Ok(match household(options)? {
        Some(household) => draws.with_household(household),
        None => draws,
    })
}

/// What people draw in a run; `None` where nobody is told of.
///
/// # Errors
/// [`RunError::Household`] where a household cannot be.
pub fn household(options: &RunOptions) -> Result<Option<HouseholdStream>, RunError> {
    if options.homes.is_empty() {
        return Ok(None);
    }
    let RunOptions { first_day, seed, run, .. } = *options;
    let household = Household { seed, run, first_day, homes: options.homes.clone() };
    HouseholdStream::new(&household, 0).map(Some).map_err(RunError::Household)
}

/// A row a minute, or wider where that would be more than anybody looks at: a year of minutes is a file of hundreds of megabytes.
#[must_use]
pub fn usual_grid(days: u32) -> Span {
    let minutes = [1, 5, 10, 30, 60].map(|minutes| Span::from_ns(minutes * Span::MINUTE.ns()));
    minutes.into_iter().find(|grid| rows_of(days, *grid) <= USUAL_ROWS).unwrap_or(Span::DAY)
}

fn rows_of(days: u32, grid: Span) -> u64 {
    let length_ns = Time::from_day(i64::from(days)).ns();
    u64::try_from(length_ns / grid.ns().max(1)).unwrap_or(u64::MAX).saturating_add(1)
}

/// Time since the first midnight of a run; before and beyond what nanoseconds can count it stays at their ends.
#[must_use]
pub fn since(moment: DateTime, first_day: Date) -> Time {
    // A difference of civil times: local standard time has no gaps.
    let since = moment.duration_since(first_day.to_datetime(ClockTime::midnight()));
    let far = if since.is_negative() { i64::MIN } else { i64::MAX };
    Time::from_ns(i64::try_from(since.as_nanos()).unwrap_or(far))
}

fn incident_since(incident: &DatedIncident, first_day: Date) -> Incident {
    let start = since(incident.start, first_day);
    Incident { kind: incident.kind, start, end: start + incident.length }
}

fn draw_since(draw: &DatedDraw, first_day: Date) -> Draw {
    let start = since(draw.start, first_day);
    Draw {
        start,
        end: start + draw.length,
        outlet: draw.outlet,
        flow: draw.flow,
        kind: DrawKind::Timed,
        warmth: Warmth::COLD,
    }
}

/// Inflows in order of time, from the first midnight on: what ran into a basin there and then, and every change after it.
fn from_midnight(inflows: &[Inflow]) -> Vec<Inflow> {
    let mut sorted = inflows.to_vec();
    sorted.sort_by_key(|inflow| inflow.time);
    let later = sorted.split_off(sorted.partition_point(|inflow| inflow.time <= Time::ZERO));
    let mut kept: Vec<Inflow> = Vec::new();
    for inflow in sorted.into_iter().rev() {
        if kept.iter().all(|other| other.supply != inflow.supply) {
            kept.push(Inflow { time: Time::ZERO, ..inflow });
        }
    }
    kept.extend(later);
    kept
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;

    #[test]
    fn of_the_rain_before_the_run_only_the_last_step_counts() {
        let inflow = |s: f64, supply, flow_lps| Inflow { time: Time::from_s(s), supply, flow_lps };
        let given = [
            inflow(60.0, 1, 0.3),
            inflow(-7_200.0, 1, 0.1),
            inflow(-3_600.0, 1, 0.2),
            inflow(0.0, 2, 0.5),
            inflow(-1.0, 2, 0.4),
            inflow(30.0, 2, 0.0),
        ];
        let expected = [inflow(0.0, 2, 0.5), inflow(0.0, 1, 0.2), inflow(30.0, 2, 0.0), inflow(60.0, 1, 0.3)];
        assert_eq!(from_midnight(&given), expected);
        assert!(from_midnight(&[]).is_empty());
    }

    #[test]
    fn exact_times_count_from_the_first_midnight() {
        let first_day = date(2027, 6, 7);
        let at = |moment: DateTime| since(moment, first_day).s();
        assert_eq!(at(date(2027, 6, 8).at(0, 0, 1, 0)), 86_401.0);
        assert_eq!(at(date(2027, 6, 6).at(12, 0, 0, 0)), -43_200.0);
        // Further away than nanoseconds count.
        assert_eq!(since(date(-9999, 1, 1).at(0, 0, 0, 0), first_day), Time::from_ns(i64::MIN));
        assert_eq!(since(date(9999, 1, 1).at(0, 0, 0, 0), first_day), Time::NEVER);
    }
}
