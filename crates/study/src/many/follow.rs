//! Which runs count: a variant ends where its runs have settled the matter, or where it is found to be no plant.

use super::{Job, Plan, Row};
use crate::sure::{Rule, Watch};

/// Follows rows in their order, whoever made them.
#[derive(Debug)]
pub struct Follow<'p> {
    plan: &'p Plan,
    rule: Option<Rule>,
    /// The variant of the last row.
    variant: Option<u64>,
    /// Its watch; `None` where its first runs were not seen.
    watch: Option<Watch>,
    settled: bool,
    /// Rows of the variant so far.
    runs: u64,
}

impl<'p> Follow<'p> {
    /// Before the first row.
    #[must_use]
    pub fn new(plan: &'p Plan) -> Self {
        Self { plan, rule: plan.rule(), variant: None, watch: None, settled: false, runs: 0 }
    }

    /// Whether the next row counts.
    pub fn counts(&mut self, row: &Row) -> bool {
        if self.variant != Some(row.job.variant) {
            self.variant = Some(row.job.variant);
            // Runs in the middle of a variant tell nothing of where it ends: that is seen when the parts are gathered.
            self.watch = self.rule.filter(|_| row.job.run == 0).map(|rule| rule.watch());
            (self.settled, self.runs) = (false, 0);
        }
        self.runs += 1;
        if self.settled {
            return false;
        }
        if row.is_of_variant() {
            self.settled = true;
        } else if let Some(short) = self.plan.is_short(row) {
            self.settled = self.watch.as_mut().is_some_and(|watch| watch.tell(short).is_some());
        }
        true
    }

    /// How many more runs of the variant of a run are worth making before it is looked whether they are enough: as many as it has,
    /// so that no more than half are made for nothing, but some at once. `None` where nothing stops them.
    pub(super) fn worth_making(&self, job: Job) -> Option<u64> {
        let rule = self.rule?;
        let made = if self.variant == Some(job.variant) { self.runs } else { 0 };
        Some(rule.least_runs.max(2 * made).saturating_sub(made).max(16))
    }

    /// The first run of those numbers that is wanted after the rows so far: told before a later row is.
    #[must_use]
    pub fn missing(&self, mut numbers: core::ops::Range<u64>) -> Option<Job> {
        while numbers.start < numbers.end {
            let job = self.plan.job(numbers.start);
            if self.wants(job) {
                return Some(job);
            }
            numbers.start = self.plan.number(Job { variant: job.variant + 1, run: 0 });
        }
        None
    }

    /// Whether a run is wanted after the rows so far.
    #[must_use]
    pub fn wants(&self, job: Job) -> bool {
        !(self.settled && self.variant == Some(job.variant))
    }
}
