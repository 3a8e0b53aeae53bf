//! `springhouse rank`: which inputs matter.

use springhouse_report::runs::Ready;
use springhouse_report::study::rank::{Told, body, csv, headline};
use springhouse_report::text::wrapped;
use springhouse_report::write;
use springhouse_scenario::study::Study;
use springhouse_study::many::{Asked, FALLS_SHORT, MOST_INPUTS, Prepared, rank as by_shares, screen};

use super::args::{RankArgs, Work};
use super::sweep::make;
use super::{folder, of_runs, on_threads, prepare, read};
use crate::fault::Fault;
use crate::out::Out;

/// An input whose steps do less than this part of what those of the first do, in every figure, is left out of the shares.
const LITTLE: f64 = 0.02;

pub(crate) fn rank(args: &RankArgs, out: &mut Out) -> Result<(), Fault> {
    let study = read(&args.study)?;
    on_threads(&args.work.manner, || ranked(study, args, out))?
}

fn ranked(mut study: Study, args: &RankArgs, out: &mut Out) -> Result<(), Fault> {
    let note = |text: &str, out: &mut Out| {
        if !args.work.manner.quiet {
            out.note(text);
        }
    };
    note("single steps", out);
    let (steps, ready) = made(study.clone(), Asked::Steps(args.paths), "steps", args, out)?;
    let screened = screen(&steps, ready.rows().map_err(of_runs)?).map_err(of_runs)?;
    ready.publish().map_err(of_runs)?;
    let mut plan = steps.plan.clone();
    let mut ranked = Vec::new();
    if args.rows > 0 {
        let matters = |input: &str| {
            screened.iter().filter_map(|it| it.inputs.as_ref().ok()).any(|inputs| {
                let most = inputs.first().map_or(0.0, |it| it.effect.size);
                inputs.iter().any(|it| it.input == input && it.effect.size > LITTLE * most)
            })
        };
        let left_out: Vec<&str> = steps.inputs().filter(|input| !matters(input)).collect();
        if left_out.len() + 2 <= steps.inputs().count() {
            study.axes.retain(|axis| !left_out.contains(&axis.name.as_str()));
            study.uncertain.retain(|at| !left_out.contains(&at.key.to_string().as_str()));
            if !left_out.is_empty() {
                note(&format!("left as in the scenario, since they hardly matter: {}", left_out.join(", ")), out);
            }
        }
        note("shares of the variance", out);
        let (shares, ready) = made(study, Asked::Shares(args.rows), "shares", args, out)?;
        ranked = by_shares(&shares, ready.rows().map_err(of_runs)?).map_err(of_runs)?;
        ready.publish().map_err(of_runs)?;
        plan = shares.plan;
    }
    // The first that varies at all.
    let varies =
        screened.iter().find(|it| it.inputs.as_ref().is_ok_and(|inputs| inputs.iter().any(|it| it.effect.size > 0.0)));
    let first = varies.or(screened.first()).map_or("", |it| it.figure.as_str());
    let figure = args.of.as_deref().unwrap_or(first);
    let told = Told { plan: &plan, screened: &screened, ranked: &ranked, figure };
    let place = folder(&plan, args.work.out.as_ref(), None);
    let mut table = Vec::new();
    csv(&told, &mut table).map_err(|error| Fault::Failed(format!("error: {error}")))?;
    write::file(&place.join("rank.csv"), &table).map_err(|error| Fault::Failed(format!("error: {error}")))?;
    out.result(&wrapped(&headline(&told)))?;
    if args.work.manner.quiet {
        return Ok(());
    }
    out.result("")?;
    out.result(&body(&told))?;
    out.result(&format!("\nOther figures are in {}", place.join("rank.csv").display()))
}

/// Makes the runs of a design in a folder of its own.
fn made(study: Study, asked: Asked, design: &str, args: &RankArgs, out: &mut Out) -> Result<(Prepared, Ready), Fault> {
    let prepared = prepare(study, asked, &args.work.manner)?;
    let known: Vec<&str> = prepared.plan.figures.iter().map(String::as_str).chain([FALLS_SHORT]).collect();
    if let Some(of) = args.of.as_deref().filter(|of| !known.contains(of)) {
        let help = known.join(", ");
        return Err(Fault::Bad(format!("error: --of {of}: the study keeps no such figure\nhelp: one of: {help}")));
    }
    let inputs = prepared.inputs().count();
    if args.rows > 0 && inputs > MOST_INPUTS {
        return Err(Fault::Bad(format!(
            "error: {inputs} inputs are too many for shares of the variance, which take {MOST_INPUTS}\nhelp: add --rows 0 \
             for single steps alone, then leave out what hardly matters"
        )));
    }
    let place = folder(&prepared.plan, args.work.out.as_ref(), None).join(design);
    let ready =
        make(&prepared, &Work { place, begun: args.work.begun(), part: None, quiet: args.work.manner.quiet }, out)?;
    Ok((prepared, ready))
}
