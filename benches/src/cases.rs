//! Plants with their draws and incidents, by name.

use std::fs::File;
use std::path::{Path, PathBuf};

use jiff::civil::{Date, DateTime, Time as ClockTime, date};
use springhouse_core::draw::{Draw, DrawKind, Flow, Warmth};
use springhouse_core::engine::{Engine, EngineError, Options, Report};
use springhouse_core::incident::{Incident, Outside};
use springhouse_core::observe::{Observer, Silent};
use springhouse_core::plant::{Parts, Plant};
use springhouse_core::time::{Span, Time};
use springhouse_draws::{DailyDraw, DrawStream, EVERY_MONTH, read_log};
use springhouse_scenario::DatedIncident;
use springhouse_tests::plants::{build, cycling, float_switch, float_valve, on_a_membrane, slow_well, two_heaters};
use springhouse_weather::read_rain;

/// A plant and what happens to it, ready to be run any number of times for any length.
#[derive(Clone, Debug)]
pub struct Case {
    /// By which it is called.
    pub name: String,
    /// The plant.
    pub plant: Plant,
    /// What happens to it from outside.
    pub outside: Outside,
    /// What is drawn.
    pub draws: DrawStream,
}

impl Case {
    /// The engine at the start of a run.
    ///
    /// # Errors
    /// As [`Engine::start`].
    pub fn start(&self, options: Options, observer: &mut impl Observer) -> Result<Engine<'_, DrawStream>, EngineError> {
        Engine::start(&self.plant, &self.outside, self.draws.clone(), options, observer)
    }

    /// A run of some days that tells nobody.
    ///
    /// # Errors
    /// As [`Engine::start`] and [`Engine::run_until`].
    pub fn run(&self, days: u32) -> Result<Report, EngineError> {
        let mut engine = self.start(Options::default(), &mut Silent)?;
        engine.run_until(Time::from_day(i64::from(days)), &mut Silent)?;
        Ok(engine.report())
    }
}

/// All cases: five small plants, then the ready scenarios in order of name.
///
/// # Panics
/// Where a plant or scenario of this repository cannot be built or read.
#[must_use]
pub fn cases() -> Vec<Case> {
    let mut cases = vec![
        cycling_day(),
        on_a_slow_well("switch-fill", build(slow_well(float_switch()))),
        // The plant and draws of the case before with two heaters: what those cost is the difference.
        on_a_slow_well("two-heaters", build(Parts { hot_water: two_heaters(), ..slow_well(float_switch()) })),
        on_a_slow_well("valve-fill", build(slow_well(float_valve()))),
        on_a_slow_well("membrane-fill", build(on_a_membrane())),
    ];
    let mut files: Vec<PathBuf> = Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/../scenarios"))
        .read_dir()
        .expect("the scenarios are there")
        .map(|entry| entry.expect("can be listed").path())
        .filter(|path| path.extension().is_some_and(|extension| extension == "toml"))
        .collect();
    files.sort();
    cases.extend(files.iter().map(|file| scenario(file)));
    cases
}

/// The plant and draws of `tests/data/10_events_24h.csv`, the same every day.
///
/// # Panics
/// Where the table cannot be read.
#[must_use]
pub fn cycling_day() -> Case {
    let table = include_str!("../../tests/data/10_schedule_24h.csv");
    let steps: Vec<(f64, f64)> = table
        .lines()
        .filter(|line| !line.starts_with('#'))
        .skip(1)
        .map(|line| {
            let (start_s, flow_lps) = line.split_once(',').expect("two columns");
            (start_s.parse().expect("a number"), flow_lps.parse().expect("a number"))
        })
        .collect();
    let ends = steps.iter().skip(1).map(|(start_s, _)| *start_s).chain([Span::DAY.s()]);
    let schedule: Vec<DailyDraw> = steps
        .iter()
        .zip(ends)
        .filter(|((_, flow_lps), _)| *flow_lps > 0.0)
        .map(|((start_s, flow_lps), end_s)| daily(*start_s, end_s - start_s, *flow_lps, DrawKind::Timed))
        .collect();
    named("cycling", build(cycling(350.0)), &schedule)
}

/// A household: morning and evening showers and basins, warm where there is a heater, a washer at noon.
fn on_a_slow_well(name: &str, plant: Plant) -> Case {
    let hour_s = Span::HOUR.s();
    let warm = |temp_c, draw| DailyDraw { warmth: Warmth::from_c(temp_c), ..draw };
    let shower = |hour: f64| warm(40.5, daily(hour * hour_s, 480.0, 0.13, DrawKind::Timed));
    let basin = |hour: f64| warm(38.0, daily(hour * hour_s, 60.0, 0.08, DrawKind::Timed));
    let filling = |hour: f64| daily(hour * hour_s, 150.0, 0.2, DrawKind::Volume);
    let mut schedule: Vec<DailyDraw> = [6.2, 6.5, 6.9, 7.1, 21.5, 22.0].into_iter().map(shower).collect();
    schedule.extend([6.0, 6.4, 6.45, 7.0, 7.3, 12.1, 12.5, 18.0, 18.4, 19.2, 21.9, 22.4, 23.1].into_iter().map(basin));
    schedule.extend([12.0, 12.4, 12.8, 18.1, 18.5].into_iter().map(filling));
    named(name, plant, &schedule)
}

fn named(name: &str, plant: Plant, schedule: &[DailyDraw]) -> Case {
    let draws = DrawStream::new(schedule, date(2027, 6, 7), Vec::new());
    Case { name: name.into(), plant, outside: Outside::default(), draws }
}

fn daily(start_s: f64, length_s: f64, flow_lps: f64, kind: DrawKind) -> DailyDraw {
    DailyDraw {
        skips: Vec::new(),
        months: EVERY_MONTH,
        outlet: 0,
        start: Span::from_s(start_s),
        length: Span::from_s(length_s),
        flow: Flow::from_lps(flow_lps),
        kind,
        warmth: Warmth::COLD,
        weekdays: [true; 7],
        every: 1,
        offset: 0,
    }
}

fn scenario(file: &Path) -> Case {
    let scenario = springhouse_scenario::load(file).expect("a ready scenario is sound").scenario;
    let outlets: Vec<String> = scenario.plant.outlets.iter().map(|outlet| outlet.name.clone()).collect();
    let mut log = Vec::new();
    for name in &scenario.logs {
        let open = File::open(file.with_file_name(name)).expect("the log is there");
        log.extend(read_log(open, "log", scenario.start, &outlets).expect("the log is sound"));
    }
    log.extend(scenario.dated_draws.iter().map(|draw| {
        let start = moment(draw.start, scenario.start);
        Draw {
            start,
            end: start + draw.length,
            outlet: draw.outlet,
            flow: draw.flow,
            kind: DrawKind::Timed,
            warmth: Warmth::COLD,
        }
    }));
    log.sort_by_key(|draw| draw.start);
    let mut inflows = Vec::new();
    for rain in &scenario.rain {
        let open =
            File::open(file.with_file_name(rain.file.as_ref().expect("a file of rain"))).expect("the rain is there");
        let steps = read_rain(open, "rain", scenario.start).expect("the rain is sound");
        inflows.extend(rain.roof.inflows(rain.supply, &steps));
    }
    let draws = DrawStream::new(&scenario.schedule, scenario.start, log);
    let mut options = springhouse_sim::RunOptions::from_scenario(&scenario);
    let air = springhouse_sim::SiteAir::by_chance(&scenario, &options).expect("the normals are sound");
    if let Some(air) = &air {
        assert!(air.meet(&scenario, &mut options), "the weather reaches over the run");
    }
    springhouse_sim::meet_the_grid(&scenario, air.as_ref(), &mut options);
    let people = springhouse_sim::household(&options);
    let draws = match people.expect("people can be") {
        Some(people) => draws.with_household(people),
        None => draws,
    };
    Case {
        name: scenario.name,
        outside: Outside {
            incidents: scenario.incidents.iter().map(|incident| since(incident, scenario.start)).collect(),
            inflows,
            temps: options.temps,
            weather: options.weather,
            power: options.power,
        },
        draws,
        plant: scenario.plant,
    }
}

/// Time since the first midnight of a run.
fn moment(moment: DateTime, first_day: Date) -> Time {
    let since = moment.duration_since(first_day.to_datetime(ClockTime::midnight()));
    Time::from_ns(i64::try_from(since.as_nanos()).expect("within the run"))
}

fn since(incident: &DatedIncident, first_day: Date) -> Incident {
    let start = moment(incident.start, first_day);
    Incident { kind: incident.kind, start, end: start + incident.length }
}
