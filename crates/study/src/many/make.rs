//! Makes the runs of a study on all cores, and gives their rows in order.

use std::sync::Arc;

use core::ops::Range;

use rayon::prelude::*;
use springhouse_scenario::{Diagnostics, Scenario, Severity, WeatherSource};
use springhouse_sim::{RunOptions, run};

use super::ask::{Made, Meet, Prepared};
use super::figure::figure;
use super::row::{OF_RUN, OF_VARIANT};
use super::{Follow, Job, Row};

/// A variant whose runs differ in nothing but their mornings.
#[derive(Debug)]
struct Ready {
    variant: u64,
    /// The scenario, and the options of a run of it where only its number changes from run to run.
    plant: Result<(Scenario, Option<RunOptions>), String>,
}

/// Makes the runs of a study.
pub struct Maker<'p, 'm> {
    prepared: &'p Prepared,
    meet: &'m Meet<'m>,
    follow: Follow<'p>,
    /// The first run that is not made yet, and the end.
    jobs: Range<u64>,
    ready: Vec<Arc<Ready>>,
}

impl<'p, 'm> Maker<'p, 'm> {
    /// For runs of those numbers. Rows that were made before are told by [`Self::hear`] first, in their order.
    #[must_use]
    pub fn new(prepared: &'p Prepared, meet: &'m Meet<'m>, jobs: Range<u64>) -> Self {
        Self { prepared, meet, follow: Follow::new(&prepared.plan), jobs, ready: Vec::new() }
    }

    /// Hears of a row that was made before.
    pub fn hear(&mut self, row: &Row) {
        self.follow.counts(row);
        self.jobs.start = self.prepared.plan.number(row.job) + 1;
    }

    /// Numbers of the runs that are left, as far as is known.
    #[must_use]
    pub fn left(&self) -> Range<u64> {
        self.jobs.clone()
    }

    /// The next rows, in order, of so many runs at most; none where all runs are made, or what they made does not count. How many
    /// it makes at once changes no row.
    pub fn next_rows(&mut self, at_most: u64) -> Vec<Row> {
        let plan = &self.prepared.plan;
        let mut jobs = Vec::new();
        while jobs.is_empty() || (jobs.len() as u64) < at_most {
            if self.jobs.start >= self.jobs.end {
                break;
            }
            let job = plan.job(self.jobs.start);
            if !self.follow.wants(job) {
                self.jobs.start = plan.number(Job { variant: job.variant + 1, run: 0 });
                continue;
            }
            if let Some(worth) = self.follow.worth_making(job) {
                let of_variant = jobs.iter().rev().take_while(|it: &&Job| it.variant == job.variant).count() as u64;
                // Those of other variants wait as well: they are counted after these.
                if of_variant >= worth {
                    break;
                }
            }
            jobs.push(job);
            self.jobs.start += 1;
        }
        self.make_ready(&jobs);
        let (prepared, meet, ready) = (self.prepared, self.meet, &self.ready);
        let rows: Vec<Option<Row>> = jobs.into_par_iter().map(|job| make(prepared, meet, ready, job)).collect();
        let follow = &mut self.follow;
        rows.into_iter().flatten().filter(|row| follow.counts(row)).collect()
    }

    /// Reads the scenarios of variants that have one for all of their runs.
    fn make_ready(&mut self, jobs: &[Job]) {
        if !self.prepared.is_fixed() {
            return;
        }
        let mut wanted: Vec<u64> = jobs.iter().map(|job| job.variant).collect();
        wanted.dedup();
        self.ready.retain(|ready| wanted.contains(&ready.variant));
        wanted.retain(|variant| self.ready.iter().all(|ready| ready.variant != *variant));
        let (prepared, meet) = (self.prepared, self.meet);
        let made: Vec<_> = wanted.into_par_iter().map(|variant| Arc::new(ready(prepared, meet, variant))).collect();
        self.ready.extend(made);
        self.ready.sort_by_key(|ready| ready.variant);
    }
}

fn ready(prepared: &Prepared, meet: &Meet<'_>, variant: u64) -> Ready {
    let plant = prepared.load(&prepared.settings(variant)).map_err(|faults| line(&faults)).and_then(|loaded| {
        let scenario = loaded.scenario;
        let by_chance = |site: &springhouse_scenario::SiteWeather| matches!(site.source, WeatherSource::Normals { .. });
        if scenario.weather.as_ref().is_some_and(by_chance) {
            return Ok((scenario, None));
        }
        let options = meet(&scenario, prepared.run_of(0)).map_err(|fault| one_line(&fault))?;
        Ok((scenario, Some(options)))
    });
    Ready { variant, plant }
}

/// Makes a run; none where its variant is no plant, and an earlier run says so.
fn make(prepared: &Prepared, meet: &Meet<'_>, ready: &[Arc<Ready>], job: Job) -> Option<Row> {
    let Made { settings, uncertain, mornings } = prepared.made(job);
    let no_figures = || vec![None; prepared.figures().len()];
    let fault = |kind: &str, text: String| Some(format!("{kind}{text}"));
    if prepared.is_fixed() {
        let place = ready.binary_search_by_key(&job.variant, |ready| ready.variant).ok()?;
        let (scenario, options) = match &ready.get(place)?.plant {
            Ok((scenario, options)) => (scenario, options),
            Err(text) if job.run == 0 => {
                let fault = fault(OF_VARIANT, text.clone());
                return Some(Row { job, uncertain, fault, figures: no_figures() });
            }
            Err(_) => return None,
        };
        let options = match options {
            Some(options) => Ok(RunOptions { run: mornings, ..options.clone() }),
            None => meet(scenario, prepared.run_of(mornings)),
        };
        return Some(row(prepared, job, uncertain, options.and_then(|options| figures(prepared, scenario, &options))));
    }
    let made = prepared.load(&settings).map_err(|faults| line(&faults)).and_then(|loaded| {
        let options = meet(&loaded.scenario, prepared.run_of(mornings))?;
        figures(prepared, &loaded.scenario, &options)
    });
    Some(row(prepared, job, uncertain, made))
}

fn row(prepared: &Prepared, job: Job, uncertain: Vec<super::Cell>, made: Result<Vec<Option<f64>>, String>) -> Row {
    match made {
        Ok(figures) => Row { job, uncertain, fault: None, figures },
        Err(text) => {
            let fault = Some(format!("{OF_RUN}{}", one_line(&text)));
            Row { job, uncertain, fault, figures: vec![None; prepared.figures().len()] }
        }
    }
}

fn figures(prepared: &Prepared, scenario: &Scenario, options: &RunOptions) -> Result<Vec<Option<f64>>, String> {
    let outcome = run(scenario, options, &mut |_| ()).map_err(|error| error.to_string())?;
    let summary = serde_json::to_value(&outcome.summary).map_err(|error| error.to_string())?;
    Ok(prepared.figures().iter().map(|path| figure(&summary, path)).collect())
}

/// What is wrong with a variant, in one line.
fn line(faults: &Diagnostics) -> String {
    let errors: Vec<_> = faults.iter().filter(|fault| fault.severity() == Severity::Error).collect();
    let first = errors.first().map_or("it cannot be read", |fault| fault.title());
    match errors.len() {
        0 | 1 => one_line(first),
        many => format!("{} (and {} more)", one_line(first), many - 1),
    }
}

fn one_line(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}
