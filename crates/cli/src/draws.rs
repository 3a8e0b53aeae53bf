//! `springhouse draws`: what people and schedule draw, and what it amounts to.

use std::path::Path;

use springhouse_report::draws::{Drawn, draws_anything, gather, json, text};
use springhouse_report::{text::wrapped, write};
use springhouse_scenario::{Scenario, load};
use springhouse_sim::{RunError, RunOptions};

use crate::args::DrawsArgs;
use crate::fault::Fault;
use crate::logs::{self, Rain};
use crate::out::Out;
use crate::progress::Progress;
use crate::run::within_the_calendar;
use crate::weather;

pub(crate) fn draws(args: &DrawsArgs, out: &mut Out) -> Result<(), Fault> {
    let loaded = load(&args.scenario).map_err(|faults| Fault::Bad(faults.render(true)))?;
    if !args.output.quiet && !loaded.warnings.is_empty() {
        out.note(&loaded.warnings.render(true));
    }
    let scenario = loaded.scenario;
    let mut warnings = Vec::new();
    let options = options(args, &scenario, &mut warnings)?;
    if !args.output.quiet {
        for warning in &warnings {
            out.note(warning);
        }
    }
    let mut progress = Progress::new(!args.output.quiet);
    let gathered = gather(&scenario, &options, args.runs, &mut |share| progress.hear(share));
    progress.end();
    let gathering = gathered.map_err(|error| match error {
        RunError::Household(_) => Fault::Bad(format!("error: {error}")),
        _ => Fault::Failed(format!("error: {error}")),
    })?;
    let units = args.output.units(&scenario);
    let drawn = Drawn { scenario: &scenario, options: &options, gathering: &gathering, units };
    // Files first: what is printed about them is then true, and a reader that goes away takes no file with it.
    let folder = args.output.folder(&scenario);
    if let Some(folder) = &folder {
        let failed = |error| format!("error: {error}; --out names another folder, --no-files writes none");
        write::draws(&drawn, folder).map_err(|error| Fault::Failed(failed(error)))?;
    }
    print(args, &drawn, folder.as_deref(), out)
}

/// What the command line changes of the scenario's own.
fn options(args: &DrawsArgs, scenario: &Scenario, warnings: &mut Vec<String>) -> Result<RunOptions, Fault> {
    let mut options = args.run_of.options(scenario);
    within_the_calendar(&options)?;
    options.log = logs::read(&logs::beside(scenario, &args.scenario), scenario, options.first_day)?;
    let (air, told) = weather::over(scenario, &args.scenario, &options)?;
    if !scenario.rain_skips.is_empty() {
        warnings.extend(told);
    }
    let folder = args.scenario.parent().unwrap_or(Path::new(""));
    let rain = Rain { folder, air: air.as_ref(), first_day: options.first_day, days: options.days };
    warnings.extend(logs::skip_after_rain(scenario, &rain, &mut options.schedule)?);
    if draws_anything(scenario, &options) {
        return Ok(options);
    }
    let file = args.scenario.display();
    Err(Fault::Bad(format!(
        "error: {file} says of nobody and nothing that draws water\nhelp: add a section `[[draw]]` for each draw of a day, \
         tell who lives there in sections `[[building.people]]`, or name a log of draws in a section `[[log]]`"
    )))
}

fn print(args: &DrawsArgs, drawn: &Drawn<'_>, folder: Option<&Path>, out: &mut Out) -> Result<(), Fault> {
    if args.output.json {
        let text = json::document(drawn).map_err(|error| Fault::Failed(format!("error: {error}")))?;
        return out.result(&text);
    }
    let answer = wrapped(&text::headline(drawn));
    if args.output.quiet {
        return out.result(&answer);
    }
    out.result(&wrapped(&text::subject(drawn)))?;
    out.result(&answer)?;
    out.result("")?;
    out.result(&text::body(drawn))?;
    match folder {
        Some(folder) => out.result(&format!("\nFiles: {}", folder.join("").display())),
        None => Ok(()),
    }
}
