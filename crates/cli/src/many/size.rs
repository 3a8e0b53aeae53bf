//! `springhouse size`: the smallest, or cheapest, that holds what is wanted.

use springhouse_report::study::size::{Sized, body, caution, csv, headline};
use springhouse_report::text::wrapped;
use springhouse_report::write;
use springhouse_scenario::study::{Figure, Limit, Study, Target};
use springhouse_scenario::vary::KeyPath;
use springhouse_study::many::{Asked, SizeError, size as search};

use super::args::SizeArgs;
use super::{folder, meet, on_threads, prepare, read};
use crate::fault::Fault;
use crate::out::Out;

pub(crate) fn size(args: &SizeArgs, out: &mut Out) -> Result<(), Fault> {
    let mut study = read(&args.study)?;
    want(&mut study, args)?;
    on_threads(&args.manner, || {
        let mut prepared = prepare(study, Asked::Sweep, &args.manner)?;
        let surroundings = meet(&prepared.study().scenario);
        let quiet = args.manner.quiet;
        let lines = search(&mut prepared, &surroundings, &mut |plan, tried| {
            if !quiet {
                let settings = plan.variants.get(tried.variant).map(|it| it.settings.join(", ")).unwrap_or_default();
                out.note(&format!("tried {settings} in {} runs", tried.told.runs));
            }
        });
        let lines = lines.map_err(|error| bad(args, error))?;
        let sized = Sized { plan: &prepared.plan, lines: &lines };
        let place = folder(&prepared.plan, args.out.as_ref(), None);
        let mut table = Vec::new();
        csv(&sized, &mut table).map_err(|error| Fault::Failed(format!("error: {error}")))?;
        std::fs::create_dir_all(&place)
            .map_err(|error| Fault::Failed(format!("error: cannot make the folder {}: {error}", place.display())))?;
        write::file(&place.join("size.csv"), &table).map_err(|error| Fault::Failed(format!("error: {error}")))?;
        for line in headline(&sized).lines() {
            out.result(&wrapped(line))?;
        }
        if quiet {
            return Ok(());
        }
        out.result("")?;
        out.result(&body(&sized))?;
        out.result(&format!("Files: {}", place.join("size.csv").display()))?;
        out.result(&format!("\n{}", caution(&sized)))
    })?
}

/// What the command line says of what is wanted.
fn want(study: &mut Study, args: &SizeArgs) -> Result<(), Fault> {
    if let Some(chance) = args.chance {
        study.target = Some(Target::Chance(chance));
    }
    if let Some(mean) = &args.mean {
        let (path, limit) = match (mean.split_once("<="), mean.split_once(">=")) {
            (Some((path, most)), _) => (path, most.trim().parse().map(Limit::AtMost)),
            (None, Some((path, least))) => (path, least.trim().parse().map(Limit::AtLeast)),
            (None, None) => return Err(no_limit(mean)),
        };
        let (Ok(limit), Ok(path)) = (limit, KeyPath::parse(path.trim())) else { return Err(no_limit(mean)) };
        let (Limit::AtMost(number) | Limit::AtLeast(number)) = limit;
        if !number.is_finite() {
            return Err(no_limit(mean));
        }
        study.target = Some(Target::Mean(Figure::usual(path), limit));
    }
    Ok(())
}

fn no_limit(mean: &str) -> Fault {
    Fault::Bad(format!(
        "error: --mean {mean}: a figure, <= or >=, and a number are wanted\nhelp: write --mean 'water.run_out_minutes <= 5'"
    ))
}

fn bad(args: &SizeArgs, error: SizeError) -> Fault {
    let help = match error {
        SizeError::NoTarget => "add --chance '1 %', or a section `[target]` in the study",
        SizeError::Axes(_) => "leave one `[[vary]]`, or two; `springhouse sweep` takes any number",
        SizeError::Filling => "leave `filling` out, and give `values` or a range",
        SizeError::NoOrder => "give them `prices`, or vary a number or a quantity",
    };
    Fault::Bad(format!("error: {}: {error}\nhelp: {help}", args.study.file.display()))
}
