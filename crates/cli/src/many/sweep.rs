//! `springhouse sweep`: variants of a scenario side by side, each on many mornings.

use springhouse_report::runs::{Folder, Ready};
use springhouse_study::many::{Asked, Maker, Prepared};

use super::args::{SweepArgs, Work};
use super::progress::Pace;
use super::{finish, folder, identity, meet, of_runs, on_threads, prepare, read};
use crate::fault::Fault;
use crate::out::Out;

pub(crate) fn sweep(args: &SweepArgs, out: &mut Out) -> Result<(), Fault> {
    let study = read(&args.study)?;
    on_threads(&args.work.manner, || {
        let prepared = prepare(study, Asked::Sweep, &args.work.manner)?;
        let ready = make(&prepared, &args.work, out)?;
        finish::sweep(ready, args.work.part, args.work.manner.quiet, out)
    })?
}

/// Makes the runs of a study, or what is left of them.
pub(super) fn make(prepared: &Prepared, work: &Work, out: &mut Out) -> Result<Ready, Fault> {
    let all = prepared.plan.jobs();
    let jobs = work.part.map_or(0..all, |part| part.jobs(all));
    let surroundings = meet(&prepared.study().scenario);
    let mut maker = Maker::new(prepared, &surroundings, jobs.clone());
    let place = folder(&prepared.plan, work.out.as_ref(), work.part);
    let identity = identity(prepared, work.part)?;
    let mut runs = Folder::open(&place, identity, work.begun(), |row| maker.hear(row)).map_err(of_runs)?;
    let at = |maker: &Maker<'_, '_>| maker.left().start.min(jobs.end) - jobs.start;
    let mut pace = Pace::new(jobs.end - jobs.start, at(&maker), !work.manner.quiet);
    loop {
        let rows = maker.next_rows();
        if rows.is_empty() && maker.left().is_empty() {
            break;
        }
        runs.add(&rows).map_err(of_runs)?;
        pace.hear(rows.len() as u64, at(&maker), out);
    }
    pace.end(out);
    Ok(runs.ready())
}
