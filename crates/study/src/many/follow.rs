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
}

impl<'p> Follow<'p> {
    /// Before the first row.
    #[must_use]
    pub fn new(plan: &'p Plan) -> Self {
        Self { plan, rule: plan.rule(), variant: None, watch: None, settled: false }
    }

    /// Whether the next row counts.
    pub fn counts(&mut self, row: &Row) -> bool {
        if self.variant != Some(row.job.variant) {
            self.variant = Some(row.job.variant);
            // Runs in the middle of a variant tell nothing of where it ends: that is seen when the parts are gathered.
            self.watch = self.rule.filter(|_| row.job.run == 0).map(|rule| rule.watch());
            self.settled = false;
        }
        if self.settled {
            return false;
        }
        if row.is_of_variant() {
            self.settled = true;
        } else if row.fault.is_none() {
            let short = self.plan.is_short(row);
            self.settled = self.watch.as_mut().is_some_and(|watch| watch.tell(short).is_some());
        }
        true
    }

    /// Whether a run is wanted after the rows so far.
    #[must_use]
    pub fn wants(&self, job: Job) -> bool {
        !(self.settled && self.variant == Some(job.variant))
    }
}
