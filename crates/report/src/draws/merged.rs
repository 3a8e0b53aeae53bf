//! Every draw of a run and where it comes from, in order of time.

use core::iter::Peekable;

use springhouse_core::draw::Draw;
use springhouse_core::time::Time;
use springhouse_draws::DrawStream;
use springhouse_draws::household::{Household, HouseholdDraw, HouseholdStream, Planner};
use springhouse_sim::{RunError, RunOptions, household};

/// Where a draw comes from.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Source {
    Schedule,
    Household(HouseholdDraw),
    Log,
}

/// The draws that start within a run, in the order in which the engine takes them: by start; of those that start together
/// the schedule comes first, then the household, then the log.
pub(super) struct Merged {
    schedule: Peekable<DrawStream>,
    household: Option<Peekable<HouseholdStream>>,
    log: Peekable<DrawStream>,
    until: Time,
}

impl Merged {
    /// The draws, and who wishes what.
    pub(super) fn of(options: &RunOptions) -> Result<(Self, Planner), RunError> {
        let household = household(options)?;
        let planner = match &household {
            Some(household) => household.planner().clone(),
            None => nobody(options)?,
        };
        let merged = Self {
            schedule: DrawStream::new(&options.schedule, options.first_day, Vec::new()).peekable(),
            household: household.map(Iterator::peekable),
            log: DrawStream::new(&[], options.first_day, options.log.clone()).peekable(),
            until: Time::from_day(i64::from(options.days)),
        };
        Ok((merged, planner))
    }
}

/// The planner of a plant where nobody is told of.
fn nobody(options: &RunOptions) -> Result<Planner, RunError> {
    let &RunOptions { seed, run, first_day, .. } = options;
    Planner::new(&Household { seed, run, first_day, homes: Vec::new() }).map_err(RunError::Household)
}

impl Iterator for Merged {
    type Item = (Draw, Source);

    fn next(&mut self) -> Option<Self::Item> {
        let schedule = self.schedule.peek().map(|draw| draw.start);
        let household = self.household.as_mut().and_then(Peekable::peek).map(|next| next.draw.start);
        let log = self.log.peek().map(|draw| draw.start);
        let first = [schedule, household, log].into_iter().flatten().min().filter(|start| *start < self.until)?;
        if schedule == Some(first) {
            return self.schedule.next().map(|draw| (draw, Source::Schedule));
        }
        if household == Some(first) {
            return self.household.as_mut()?.next().map(|next| (next.draw, Source::Household(next)));
        }
        self.log.next().map(|draw| (draw, Source::Log))
    }
}
