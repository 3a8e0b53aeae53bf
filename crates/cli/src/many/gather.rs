//! `springhouse gather`: joins the parts of a study.

use std::fs;
use std::path::{Path, PathBuf};

use springhouse_report::runs::{Begun, Folder, Identity, Part, Ready, rows_of};
use springhouse_study::many::{Follow, Job, Plan, Row};

use super::args::GatherArgs;
use super::{finish, folder, of_runs};
use crate::fault::Fault;
use crate::out::Out;

/// Rows that are written at once.
const AT_ONCE: usize = 4096;

pub(crate) fn gather(args: &GatherArgs, out: &mut Out) -> Result<(), Fault> {
    let mut parts = Vec::new();
    for folder in &args.folders {
        let (identity, runs) = Ready::finished(folder).map_err(of_runs)?;
        let Some(part) = identity.part else {
            return Err(Fault::Bad(format!(
                "error: {} is a whole study, no part of one\nhelp: name folders that --part has made",
                folder.display()
            )));
        };
        parts.push((part, identity, runs, folder));
    }
    parts.sort_by_key(|(part, ..)| part.part);
    let whole = whole(&parts)?;
    let place = folder(&whole.plan, args.out.as_ref(), None);
    if parts.iter().any(|(.., folder)| is_same(folder, &place)) {
        return Err(Fault::Bad(format!(
            "error: {} is one of the parts\nhelp: name another folder by --out",
            place.display()
        )));
    }
    // Parts that do not fit leave nothing behind.
    walk(&parts, &whole.plan, |_| Ok(()))?;
    // A study may have been made there in one go.
    if !args.afresh {
        drop(Folder::open(&place, whole.clone(), Begun::Refuse, |_| ()).map_err(of_runs)?);
    }
    // What was gathered before is gathered anew: that takes next to no time.
    let mut joined = Folder::open(&place, whole.clone(), Begun::Discard, |_| ()).map_err(of_runs)?;
    let mut rows = Vec::with_capacity(AT_ONCE);
    walk(&parts, &whole.plan, |row| {
        rows.push(row);
        if rows.len() == AT_ONCE {
            joined.add(&rows).map_err(of_runs)?;
            rows.clear();
        }
        Ok(())
    })?;
    joined.add(&rows).map_err(of_runs)?;
    finish::sweep(joined.ready(), None, args.quiet, out)
}

/// A part, what it is of, its runs, and its folder.
type PartThere<'a> = (Part, Identity, PathBuf, &'a PathBuf);

/// Shows the runs that count, in order; all that should be there must be.
fn walk(parts: &[PartThere<'_>], plan: &Plan, mut each: impl FnMut(Row) -> Result<(), Fault>) -> Result<(), Fault> {
    let mut follow = Follow::new(plan);
    // The number of the run that should come next.
    let mut next = 0;
    for (part, _, runs, _) in parts {
        let of_part = part.jobs(plan.jobs());
        for row in rows_of(runs, plan).map_err(of_runs)? {
            let row = row.map_err(of_runs)?;
            let number = plan.number(row.job);
            if number < next || !of_part.contains(&number) {
                return Err(spoilt(runs, "a run twice, or in the wrong place", row.job));
            }
            if let Some(job) = follow.missing(next..number) {
                return Err(spoilt(runs, "less than all of its runs", job));
            }
            next = number + 1;
            if follow.counts(&row) {
                each(row)?;
            }
        }
    }
    match (follow.missing(next..plan.jobs()), parts.last()) {
        (Some(job), Some((_, _, runs, _))) => Err(spoilt(runs, "less than all of its runs", job)),
        _ => Ok(()),
    }
}

/// A file of runs that somebody has changed.
fn spoilt(runs: &Path, what: &str, job: Job) -> Fault {
    Fault::Bad(format!(
        "error: {} has {what}: see run {} of variant {}\nhelp: make that part again",
        runs.display(),
        job.run,
        job.variant + 1
    ))
}

/// Whether two names are of one folder.
fn is_same(one: &Path, other: &Path) -> bool {
    let [one, other] = [one, other].map(|folder| fs::canonicalize(folder).ok());
    one.is_some() && one == other
}

/// The whole that parts make; all of them must be there, each once.
fn whole(parts: &[PartThere<'_>]) -> Result<Identity, Fault> {
    let Some((first, identity, _, own)) = parts.first() else {
        return Err(Fault::Bad("error: no parts to gather".to_owned()));
    };
    for (part, other, _, folder) in parts {
        let as_first = Identity { part: identity.part, ..other.clone() };
        if part.of != first.of || as_first != *identity {
            return Err(Fault::Bad(format!(
                "error: {} holds no part of the same study as {}\nhelp: gather parts that were made of one study, \
                 scenario and version",
                folder.display(),
                own.display()
            )));
        }
    }
    if let Some([one, other]) = parts.windows(2).find_map(|pair| match pair {
        [one, other] if one.0 == other.0 => Some([one, other]),
        _ => None,
    }) {
        return Err(Fault::Bad(format!(
            "error: {} and {} both hold part {}\nhelp: name each part once",
            one.3.display(),
            other.3.display(),
            one.0.part
        )));
    }
    // No more than are told: a file that somebody has changed may speak of any number.
    let missing = (1..=first.of).filter(|part| parts.iter().all(|(it, ..)| it.part != *part)).take(20);
    let told: Vec<_> = missing.map(|part| format!("{part}/{}", first.of)).collect();
    if !told.is_empty() {
        return Err(Fault::Bad(format!(
            "error: parts are missing: {}\nhelp: make them by --part, and name their folders too",
            told.join(", ")
        )));
    }
    Ok(Identity { part: None, ..identity.clone() })
}
