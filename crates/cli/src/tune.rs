//! `springhouse tune`: how to set the valves of a scenario's membrane unit.

use std::path::Path;

use springhouse_core::membrane::limits::MOST_TEMP_C;
use springhouse_report::tune::{Tuned, json, product_unit_l, text};
use springhouse_report::{text::wrapped, write};
use springhouse_scenario::{Scenario, Units, load};
use springhouse_study::tune::{Asked, NoQuestion, Question, TuneError, Tuning};

use crate::args::TuneArgs;
use crate::fault::Fault;
use crate::out::Out;

pub(crate) fn tune(args: &TuneArgs, out: &mut Out) -> Result<(), Fault> {
    let loaded = load(&args.scenario).map_err(|faults| Fault::Bad(faults.render(true)))?;
    if !args.output.quiet && !loaded.warnings.is_empty() {
        out.note(&loaded.warnings.render(true));
    }
    let scenario = loaded.scenario;
    let units = args.output.units(&scenario);
    let question = question(args, &scenario, units)?;
    let tuning =
        Tuning::of(question, args.aim.into(), product_unit_l(units)).map_err(|error| Fault::Bad(told(&error)))?;
    let tuned = Tuned { scenario: &scenario, tuning: &tuning, units };
    // Files first: what is printed about them is then true, and a reader that goes away takes no file with it.
    let folder = args.output.folder(&scenario);
    if let Some(folder) = &folder {
        write::tune(&tuned, folder).map_err(|error| Fault::Failed(format!("error: {error}")))?;
    }
    print(args, &tuned, folder.as_deref(), out)?;
    if args.strict && !tuning.advice.within_limits { Err(Fault::Short) } else { Ok(()) }
}

fn question(args: &TuneArgs, scenario: &Scenario, units: Units) -> Result<Question, Fault> {
    let bad = |what: String| Err(Fault::Bad(format!("error: {what}")));
    let asked = Asked {
        coldest_c: args.coldest,
        warmest_c: args.warmest,
        product_l_day: args.product.map(|lps| DAY_S * lps),
        hours_per_day: args.hours,
    };
    let file = args.scenario.display();
    let question = match Question::of(scenario, &asked) {
        Ok(question) => question,
        Err(NoQuestion::NoMembrane) => {
            return bad(format!(
                "{file} has no membrane unit to tune\nhelp: add a section `[membrane]`, or try scenarios/membrane.toml"
            ));
        }
        Err(NoQuestion::NoSupply) => {
            return bad(format!(
                "{file} has no supply that feeds the membrane unit from the start\nhelp: let one supply be no standby"
            ));
        }
    };
    let typical_c = question.temp_c.typical;
    let typical = units.temperature(typical_c);
    match (args.coldest, args.warmest) {
        (Some(cold), _) if cold > typical_c => {
            let found = units.temperature(cold);
            bad(format!("--coldest is {found}, above the typical {typical} of the scenario"))
        }
        (Some(cold), _) if cold < 0.0 => {
            let (found, least) = (units.temperature(cold), units.temperature(0.0));
            bad(format!("--coldest is {found}: that is ice; give {least} to {typical}"))
        }
        (_, Some(warm)) if warm < typical_c => {
            let found = units.temperature(warm);
            bad(format!("--warmest is {found}, below the typical {typical} of the scenario"))
        }
        (_, Some(warm)) if warm > MOST_TEMP_C => {
            let (found, most) = (units.temperature(warm), units.temperature(MOST_TEMP_C));
            bad(format!("--warmest is {found}; elements stand at most {most}"))
        }
        _ => Ok(question),
    }
}

const DAY_S: f64 = 86_400.0;

fn told(error: &TuneError) -> String {
    let help = match error {
        TuneError::OutOfRange { .. } => "look at this in the scenario's sections of supply and membrane",
        TuneError::ConstantPump => "describe `membrane.pump` by a `curve`",
        TuneError::NoProduct => {
            "look at the pump of the unit, its elements and its inlet pressure with `springhouse check`"
        }
    };
    format!("error: {error}\nhelp: {help}")
}

fn print(args: &TuneArgs, tuned: &Tuned<'_>, folder: Option<&Path>, out: &mut Out) -> Result<(), Fault> {
    if args.output.json {
        let text = json::advice(tuned).map_err(|error| Fault::Failed(format!("error: {error}")))?;
        return out.result(&text);
    }
    out.verdict(tuned.tuning.advice.within_limits, &wrapped(&text::headline(tuned)))?;
    if args.output.quiet {
        return Ok(());
    }
    out.result(&wrapped(&text::subject(tuned)))?;
    out.result("")?;
    out.result(&text::body(tuned))?;
    if let Some(folder) = folder {
        out.result(&format!("\nFiles: {}", folder.join("tune.*").display()))?;
    }
    out.result(&format!("\n{}", text::cautions()))
}
