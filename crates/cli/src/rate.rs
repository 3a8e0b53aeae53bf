//! `springhouse rate`: the heaters of a scenario on the federal test of water heaters.

use springhouse_report::rate::{Rated, json, text};
use springhouse_report::text::wrapped;
use springhouse_scenario::load;

use crate::args::RateArgs;
use crate::fault::Fault;
use crate::out::Out;

pub(crate) fn rate(args: &RateArgs, out: &mut Out) -> Result<(), Fault> {
    let loaded = load(&args.scenario).map_err(|faults| Fault::Bad(faults.render(true)))?;
    if !args.quiet && !loaded.warnings.is_empty() {
        out.note(&loaded.warnings.render(true));
    }
    let scenario = loaded.scenario;
    if scenario.plant.hot_water.heaters.is_empty() {
        let file = args.scenario.display();
        return Err(Fault::Bad(format!(
            "error: {file} has no water heater to rate\nhelp: add a section `[[heater]]` with `name`, `kind` and `volume`, and \
             what its plate says"
        )));
    }
    let rated = Rated::of(&scenario, args.units.map_or(scenario.units, Into::into));
    if args.json {
        let text = json::document(&rated).map_err(|error| Fault::Failed(format!("error: {error}")))?;
        return out.result(&text);
    }
    if !args.quiet {
        out.result(&wrapped(&text::subject(&rated)))?;
    }
    for rating in &rated.heaters {
        out.result(&wrapped(&text::headline(rated.units, rating)))?;
    }
    if args.quiet {
        return Ok(());
    }
    out.result("")?;
    out.result(&text::body(&rated))?;
    out.result(&format!("\n{}", text::cautions(rated.units)))
}
