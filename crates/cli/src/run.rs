//! `springhouse run`: simulate a scenario, print the verdict, write the files.

use std::path::Path;

use jiff::ToSpan;
use springhouse_core::outlet::Role;
use springhouse_core::time::{Span, Time};
use springhouse_report::{Run, json, text, write};
use springhouse_scenario::{DatedIncident, Scenario, load};
use springhouse_sim::{RunError, RunOptions, meet_the_grid, run as simulate, usual_grid};

use crate::args::{RunArgs, RunOf};
use crate::fault::Fault;
use crate::logs::{self, Rain};
use crate::out::Out;
use crate::progress::Progress;
use crate::weather;

pub(crate) fn run(args: &RunArgs, out: &mut Out) -> Result<(), Fault> {
    let loaded = load(&args.scenario).map_err(|faults| Fault::Bad(faults.render(true)))?;
    if !args.output.quiet && !loaded.warnings.is_empty() {
        out.note(&loaded.warnings.render(true));
    }
    let scenario = loaded.scenario;
    let (options, mut warnings) = options(args, &scenario)?;
    warnings.extend(beside_the_run(&scenario, &options));
    if !args.output.quiet {
        for warning in &warnings {
            out.note(warning);
        }
    }
    let mut progress = Progress::new(!args.output.quiet);
    let outcome = simulate(&scenario, &options, &mut |share| progress.hear(share));
    progress.end();
    let outcome = outcome.map_err(|error| match error {
        RunError::TooManyRows { .. } => Fault::Bad(format!("error: {error}, as --grid 3600, or --no-files")),
        _ => Fault::Failed(format!("error: {error}")),
    })?;
    let units = args.output.units(&scenario);
    let told = Run { scenario: &scenario, outcome: &outcome, first_day: options.first_day, units };
    // Files first: what is printed about them is then true, and a reader that goes away takes no file with it.
    let folder = args.output.folder(&scenario);
    if let Some(folder) = &folder {
        let failed = |error| format!("error: {error}; --out names another folder, --no-files writes none");
        write::all(&told, folder).map_err(|error| Fault::Failed(failed(error)))?;
    }
    print(args, &told, folder.as_deref(), out)?;
    if args.strict && !outcome.summary.verdict.holds { Err(Fault::Short) } else { Ok(()) }
}

/// What of the scenario lies outside the run.
fn beside_the_run(scenario: &Scenario, options: &RunOptions) -> Vec<String> {
    let mut warnings = Vec::new();
    if !options.log.is_empty() && !options.log.iter().any(|draw| falls_within(draw.start, options.days)) {
        warnings.push("warning: no logged draw starts within the run; see --from".to_owned());
    }
    warnings.extend(scenario.plant.hot_water.heaters.iter().filter(|heater| !is_warm(options, heater.outlet)).map(
        |heater| {
            format!(
                "warning: no draw that the {} serves is warm: nothing is taken from it; give draws a `temperature`, \
                 or a log of draws a column `wanted_c` (meter readings cannot tell)",
                heater.name
            )
        },
    ));
    let out_of_run = scenario.incidents.iter().filter(|incident| !meets(incident, options)).count();
    if out_of_run > 0 {
        let all = scenario.incidents.len();
        warnings.push(format!("warning: {out_of_run} of {all} incidents fall outside the run; see --from and --days"));
    }
    warnings
}

/// What the command line changes of the scenario's own; and what somebody should look at in the files it names.
fn options(args: &RunArgs, scenario: &Scenario) -> Result<(RunOptions, Vec<String>), Fault> {
    let mut options = args.run_of.options(scenario);
    options.run = args.run;
    if !args.output.no_files {
        let usual = || usual_grid(options.days);
        options.grid = Some(args.grid.map_or_else(usual, |seconds| Span::from_s(f64::from(seconds))));
    }
    within_the_calendar(&options)?;
    let logs = if args.draws.is_empty() {
        logs::beside(scenario, &args.scenario)
    } else {
        // A backwash is the plant's own doing, not a wish that a log could stand in for.
        let outlets = &scenario.plant.outlets;
        options.schedule.retain(|draw| outlets.get(draw.outlet).is_some_and(|o| o.role == Role::Backwash));
        options.homes.clear();
        args.draws.clone()
    };
    options.log = logs::read(&logs, scenario, options.first_day)?;
    options.daily = !args.output.no_files;
    let warnings = meet_the_sky(scenario, &args.scenario, &mut options)?;
    Ok((options, warnings))
}

/// A run of a scenario as it tells of it but for first day, days and seed; and what somebody should look at. Nothing is kept.
pub(crate) fn as_told(scenario: &Scenario, file: &Path, run_of: RunOf) -> Result<(RunOptions, Vec<String>), Fault> {
    with_surroundings(scenario, file, run_of.options(scenario))
}

/// A run with the logs, the weather and the prices that its scenario tells of; and what somebody should look at.
pub(crate) fn with_surroundings(
    scenario: &Scenario,
    file: &Path,
    mut options: RunOptions,
) -> Result<(RunOptions, Vec<String>), Fault> {
    within_the_calendar(&options)?;
    options.log = logs::read(&logs::beside(scenario, file), scenario, options.first_day)?;
    let warnings = meet_the_sky(scenario, file, &mut options)?;
    Ok((options, warnings))
}

/// Gives a run its weather, sun and prices, what runs off roofs, and the days on which rain keeps valves shut; returns what
/// somebody should look at.
fn meet_the_sky(scenario: &Scenario, file: &Path, options: &mut RunOptions) -> Result<Vec<String>, Fault> {
    let (air, mut warnings) = weather::over(scenario, file, options)?;
    if let Some(air) = &air
        && !air.meet(scenario, options)
    {
        return Err(Fault::Failed("error: the weather does not reach to the end of the run".to_owned()));
    }
    meet_the_grid(scenario, air.as_ref(), options);
    let folder = file.parent().unwrap_or(Path::new(""));
    let rain = Rain { folder, air: air.as_ref(), first_day: options.first_day, days: options.days };
    let (inflows, told) = logs::off_roofs(scenario, &rain)?;
    options.inflows = inflows;
    warnings.extend(told);
    let skipped = logs::skip_after_rain(scenario, &rain, &mut options.schedule)?;
    warnings.extend(skipped.into_iter().filter(|warning| !warnings.contains(warning)).collect::<Vec<_>>());
    Ok(warnings)
}

/// Reads the files that a scenario names, as a run of it would; returns what somebody should look at.
pub(crate) fn beside(scenario: &Scenario, file: &Path) -> Result<Vec<String>, Fault> {
    let mut options = RunOptions::from_scenario(scenario);
    logs::read(&logs::beside(scenario, file), scenario, options.first_day)?;
    meet_the_sky(scenario, file, &mut options)
}

/// Refuses days that no calendar has.
pub(crate) fn within_the_calendar(options: &RunOptions) -> Result<(), Fault> {
    match options.first_day.checked_add((i64::from(options.days) + 1).days()) {
        Ok(_) => Ok(()),
        Err(_) => Err(Fault::Bad(format!("error: the run, from {}, would leave the calendar", options.first_day))),
    }
}

/// Whether anybody at an outlet wants warm water; people do.
fn is_warm(options: &RunOptions, outlet: usize) -> bool {
    options.homes.iter().any(|home| home.outlet == outlet)
        || options.schedule.iter().any(|draw| draw.outlet == outlet && draw.warmth.temp_c().is_some())
        || options.log.iter().any(|draw| draw.outlet == outlet && draw.warmth.temp_c().is_some())
}

fn falls_within(start: Time, days: u32) -> bool {
    (0..i64::from(days)).contains(&start.day())
}

/// Whether any of an incident falls within the run.
fn meets(incident: &DatedIncident, options: &RunOptions) -> bool {
    let midnight = options.first_day.to_datetime(jiff::civil::Time::midnight());
    let starts_h = incident.start.duration_since(midnight).as_hours();
    let ends_s = incident.start.duration_since(midnight).as_secs_f64() + incident.length.s();
    starts_h < 24 * i64::from(options.days) && ends_s > 0.0
}

fn print(args: &RunArgs, run: &Run<'_>, folder: Option<&Path>, out: &mut Out) -> Result<(), Fault> {
    let summary = &run.outcome.summary;
    if args.output.json {
        let text = json::summary(summary).map_err(|error| Fault::Failed(format!("error: {error}")))?;
        return out.result(&text);
    }
    let verdict = text::wrapped(&text::headline(run));
    if args.output.quiet {
        return out.verdict(summary.verdict.holds, &verdict);
    }
    out.result(&text::wrapped(&text::subject(run)))?;
    out.verdict(summary.verdict.holds, &verdict)?;
    out.result("")?;
    out.result(&text::body(run))?;
    if let Some(folder) = folder {
        out.result(&format!("\nFiles: {}", folder.join("").display()))?;
    }
    if let Some(caution) = text::caution(run) {
        out.result(&format!("\n{caution}"))?;
    }
    Ok(())
}
