//! Studies of many runs: what their commands share.

pub(crate) mod args;
mod finish;
mod gather;
mod progress;
mod rank;
mod size;
mod sweep;
mod typed;

use std::fs;
use std::path::{Path, PathBuf};

use springhouse_report::runs::{Identity, Part, RunsError};
use springhouse_scenario::study::{self, Study};
use springhouse_scenario::{Scenario, Units, WeatherSource};
use springhouse_sim::RunOptions;
use springhouse_study::many::{AskError, Asked, Plan, Prepared, RunOf};

pub(crate) use self::gather::gather;
pub(crate) use self::rank::rank;
pub(crate) use self::size::size;
pub(crate) use self::sweep::sweep;

use self::args::{Manner, StudyOf};
use crate::fault::Fault;
use crate::run;

/// Reads a study: its file, or what is typed beside a scenario.
fn read(of: &StudyOf) -> Result<Study, Fault> {
    let bad = |faults: springhouse_scenario::Diagnostics| Fault::Bad(faults.render(true));
    let typed = !of.vary.is_empty() || !of.uncertain.is_empty();
    let mut study = if typed {
        if names_a_scenario(&of.file) {
            return Err(Fault::Bad(format!(
                "error: {} is a study, and --vary and --uncertain vary a scenario\nhelp: write it into the study, or give the \
                 scenario",
                of.file.display()
            )));
        }
        let stem = of.file.file_stem().map_or_else(String::new, |stem| stem.to_string_lossy().into_owned());
        let text = typed::text(of)?;
        study::parse(&text, "the command line", typed::folder(of), &format!("{stem}-varied")).map_err(bad)?
    } else {
        if is_scenario(&of.file) {
            return Err(Fault::Bad(format!(
                "error: {} is a scenario, and nothing says what to vary of it\nhelp: add --vary 'storage.volume=300 \
                 gal,500 gal', or give a study file: docs/study.md has its keys, scenarios/studies/ some to start from",
                of.file.display()
            )));
        }
        if !of.figure.is_empty() {
            let help = "write them into `figures` of the study";
            return Err(Fault::Bad(format!("error: --figure belongs to --vary\nhelp: {help}")));
        }
        study::load(&of.file).map_err(bad)?
    };
    if let Some(runs) = of.runs {
        study.runs = u64::from(runs);
    }
    study.days = of.run_of.days.or(study.days);
    study.from = of.run_of.from.or(study.from);
    study.seed = of.run_of.seed.or(study.seed);
    Ok(study)
}

/// Whether a file looks like a scenario rather than a study: it has a first day, and names no other scenario.
fn is_scenario(file: &Path) -> bool {
    let text = fs::read_to_string(file).unwrap_or_default();
    text.lines().any(|line| key_of(line) == "start") && !names_a_scenario(file)
}

/// Whether a file names a scenario, as a study does.
fn names_a_scenario(file: &Path) -> bool {
    fs::read_to_string(file).unwrap_or_default().lines().any(|line| key_of(line) == "scenario")
}

/// The key before a line's value, in TOML or JSON.
fn key_of(line: &str) -> &str {
    line.split(['=', ':']).next().unwrap_or_default().trim().trim_matches('"')
}

/// Makes a study ready to be run.
fn prepare(study: Study, asked: Asked, manner: &Manner) -> Result<Prepared, Fault> {
    let file = study.scenario.clone();
    let mut prepared = Prepared::new(study, asked, &meet(&file)).map_err(|error| match error {
        AskError::Bad(faults) => Fault::Bad(faults.render(true)),
        AskError::Failed(told) if told.starts_with("error") => Fault::Bad(told),
        error => Fault::Bad(format!("error: {error}")),
    })?;
    if let Some(units) = manner.units {
        prepared.plan.metric = Units::from(units) == Units::Metric;
    }
    Ok(prepared)
}

/// Gives a run of a scenario its weather, logs and prices.
fn meet(file: &Path) -> impl Fn(&Scenario, RunOf) -> Result<RunOptions, String> + Sync + use<> {
    let file = file.to_owned();
    move |scenario, run_of| {
        let RunOf { first_day, days, seed, run } = run_of;
        let options = RunOptions { first_day, days, seed, run, ..RunOptions::from_scenario(scenario) };
        match run::with_surroundings(scenario, &file, options) {
            Ok((options, _)) => Ok(options),
            Err(fault) => Err(fault.message().unwrap_or_default()),
        }
    }
}

/// What the runs of a folder are of.
fn identity(prepared: &Prepared, part: Option<Part>) -> Identity {
    let mut hasher = blake3::Hasher::new();
    let study = prepared.study();
    let mut take = |bytes: &[u8]| {
        // With its length, so that no end of one passes for the beginning of the next.
        hasher.update(&(bytes.len() as u64).to_le_bytes());
        hasher.update(bytes);
    };
    take(study.base.text().as_bytes());
    // What the plan does not hold: which values there are between ends, and how likely.
    take(prepared.inputs_in_full().as_bytes());
    let folder = study.scenario.parent().unwrap_or_else(|| Path::new(""));
    let mut files = prepared.first().map(files).unwrap_or_default();
    files.extend(study.files_varied().map(PathBuf::from));
    files.sort();
    files.dedup();
    for file in files {
        let path = folder.join(&file);
        // One that is not there is told of where it is read.
        let bytes = fs::read(&path).unwrap_or_default();
        take(file.to_string_lossy().as_bytes());
        take(&bytes);
    }
    Identity {
        version: env!("CARGO_PKG_VERSION").to_owned(),
        inputs: hasher.finalize().to_hex().to_string(),
        part,
        plan: prepared.plan.clone(),
    }
}

/// The files that a scenario names.
fn files(scenario: &Scenario) -> Vec<PathBuf> {
    let mut files: Vec<PathBuf> = scenario.logs.iter().map(PathBuf::from).collect();
    if let Some(WeatherSource::File { file, rain, .. }) = scenario.weather.as_ref().map(|site| &site.source) {
        files.push(PathBuf::from(file));
        files.extend(rain.as_ref().map(PathBuf::from));
    }
    files.extend(scenario.rain.iter().filter_map(|rain| rain.file.clone()));
    files.extend(scenario.rain_skips.iter().filter_map(|skip| skip.file.clone()));
    files
}

/// Works on so many threads.
fn on_threads<T: Send>(manner: &Manner, work: impl FnOnce() -> T + Send) -> Result<T, Fault> {
    let threads = manner.threads.map_or(0, usize::from);
    let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build();
    let pool = pool.map_err(|error| Fault::Failed(format!("error: no threads to work on: {error}")))?;
    Ok(pool.install(work))
}

/// The folder of a study.
fn folder(plan: &Plan, out: Option<&PathBuf>, part: Option<Part>) -> PathBuf {
    let own = || {
        let folder = Path::new("out").join(&plan.name);
        part.map_or(folder.clone(), |part| folder.join(format!("part-{}-of-{}", part.part, part.of)))
    };
    out.cloned().unwrap_or_else(own)
}

#[expect(clippy::needless_pass_by_value, reason = "it is what `map_err` gives")]
fn of_runs(error: RunsError) -> Fault {
    match error {
        RunsError::Unfinished { .. } => Fault::Bad(format!(
            "error: {error}\nhelp: go on with it by --resume, throw it away by --afresh, or name another folder by --out"
        )),
        RunsError::Another { .. } => {
            Fault::Bad(format!("error: {error}\nhelp: begin anew by --afresh, or name another folder by --out"))
        }
        RunsError::Busy { .. } | RunsError::Read { .. } => Fault::Bad(format!("error: {error}")),
        RunsError::Write(_) | RunsError::Stopped { .. } => Fault::Failed(format!("error: {error}")),
    }
}
