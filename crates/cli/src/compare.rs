//! `springhouse compare`: one scenario in several ways.

use springhouse_report::compare::{Compared, json, text};
use springhouse_report::text::wrapped;
use springhouse_report::write;
use springhouse_scenario::load;
use springhouse_study::compare::{AskedOutage, CompareError, Question, compare as run_all};

use crate::args::{CompareArgs, What};
use crate::fault::Fault;
use crate::out::Out;
use crate::run;

pub(crate) fn compare(args: &CompareArgs, out: &mut Out) -> Result<(), Fault> {
    let loaded = load(&args.scenario).map_err(|faults| Fault::Bad(faults.render(true)))?;
    if !args.output.quiet && !loaded.warnings.is_empty() {
        out.note(&loaded.warnings.render(true));
    }
    let scenario = loaded.scenario;
    if args.what != What::Outage && (args.at.is_some() || args.lasts.is_some()) {
        return Err(Fault::Bad("error: --at and --for belong to `compare outage`".to_owned()));
    }
    let (options, warnings) = run::as_told(&scenario, &args.scenario, args.run_of)?;
    if !args.output.quiet {
        for warning in &warnings {
            out.note(warning);
        }
    }
    let question = match args.what {
        What::Heaters => Question::Heaters,
        What::Hours => Question::Hours,
        What::Outage => Question::Outage(AskedOutage { start: args.at, length: args.lasts }),
    };
    let comparison = run_all(&scenario, &options, question).map_err(|error| told(args, &error))?;
    let units = args.output.units(&scenario);
    let compared = Compared { scenario: &scenario, comparison: &comparison, first_day: options.first_day, units };
    let folder = args.output.folder(&scenario);
    if let Some(folder) = &folder {
        let failed = |error| format!("error: {error}; --out names another folder, --no-files writes none");
        write::compared(&compared, folder).map_err(|error| Fault::Failed(failed(error)))?;
    }
    if args.output.json {
        let text = json::document(&compared).map_err(|error| Fault::Failed(format!("error: {error}")))?;
        return out.result(&text);
    }
    if !args.output.quiet {
        out.result(&wrapped(&text::subject(&compared)))?;
    }
    out.result(&wrapped(&text::headline(&compared)))?;
    if args.output.quiet {
        return Ok(());
    }
    out.result("")?;
    out.result(&text::body(&compared))?;
    if let Some(folder) = folder {
        let files = folder.join(format!("compare-{}.*", json::name(question)));
        out.result(&format!("\nFiles: {}", files.display()))?;
    }
    out.result(&format!("\n{}", text::cautions(&compared)))
}

fn told(args: &CompareArgs, error: &CompareError) -> Fault {
    let file = args.scenario.display();
    let help = match error {
        CompareError::NoHeater => "add a section `[[heater]]`, or try scenarios/hot-water.toml",
        CompareError::NothingToMove => "add a section `[membrane]` or `[[heater]]`",
        CompareError::NothingToGoBy => "add `[[panels]]` with the weather, or `[[tariff.hours]]`",
        CompareError::OutsideTheRun => {
            "begin it within the run and let it end there: see --at, --for, --from and --days"
        }
        CompareError::Impossible { .. } => "look at this in the scenario",
        CompareError::Run(_) => return Fault::Failed(format!("error: {error}")),
    };
    Fault::Bad(format!("error: {file}: {error}\nhelp: {help}"))
}
