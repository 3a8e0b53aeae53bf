//! `springhouse sweep`: variants of a scenario side by side, each on many mornings.

use std::time::{Duration, Instant};

use springhouse_report::runs::{Folder, Ready};
use springhouse_study::many::{Asked, Maker, Prepared};

use super::args::{SweepArgs, Work};
use super::progress::Pace;
use super::{finish, folder, identity, meet, of_runs, on_threads, prepare, read};
use crate::fault::Fault;
use crate::out::Out;

/// Runs are written about this often: what a killed study has to make again.
const OFTEN: Duration = Duration::from_millis(500);

/// Runs made before they are written, at most.
const MOST_AT_ONCE: u64 = 8_192;

pub(crate) fn sweep(args: &SweepArgs, out: &mut Out) -> Result<(), Fault> {
    let study = read(&args.study)?;
    on_threads(&args.work.manner, || {
        let prepared = prepare(study, Asked::Sweep, &args.work.manner)?;
        let (part, quiet) = (args.part, args.work.manner.quiet);
        let place = folder(&prepared.plan, args.work.out.as_ref(), part);
        let ready = make(&prepared, &Work { place, begun: args.work.begun(), part, quiet }, out)?;
        finish::sweep(ready, part, quiet, out)
    })?
}

/// Makes the runs of a study, or what is left of them.
pub(super) fn make(prepared: &Prepared, work: &Work, out: &mut Out) -> Result<Ready, Fault> {
    let all = prepared.plan.jobs();
    let jobs = work.part.map_or(0..all, |part| part.jobs(all));
    let surroundings = meet(&prepared.study().scenario);
    let mut maker = Maker::new(prepared, &surroundings, jobs.clone());
    let identity = identity(prepared, work.part);
    let mut runs = Folder::open(&work.place, identity, work.begun, |row| maker.hear(row)).map_err(of_runs)?;
    let at = |maker: &Maker<'_, '_>| maker.left().start.min(jobs.end) - jobs.start;
    let mut pace = Pace::new(jobs.end - jobs.start, at(&maker), !work.quiet);
    let threads = rayon::current_num_threads() as u64;
    let mut at_once = 4 * threads;
    loop {
        let began = Instant::now();
        let rows = maker.next_rows(at_once);
        if rows.is_empty() && maker.left().is_empty() {
            break;
        }
        runs.add(&rows).map_err(of_runs)?;
        let took = began.elapsed();
        if took < OFTEN / 2 {
            at_once = (2 * at_once).min(MOST_AT_ONCE);
        } else if took > 2 * OFTEN {
            at_once = (at_once / 2).max(threads);
        }
        pace.hear(rows.len() as u64, at(&maker), out);
    }
    pace.end(out);
    Ok(runs.ready())
}
