//! Many runs heard one after the other.

use springhouse_core::draw::Draw;
use springhouse_core::outlet::Role;
use springhouse_core::time::{Span, Time};
use springhouse_draws::household::{HouseholdDraw, Use};
use springhouse_draws::tally::{Gathered, HomeTotals, Tally, Totals};
use springhouse_scenario::Scenario;
use springhouse_sim::{RunError, RunOptions};

use super::busy::{Busiest, Days, Taker};
use super::merged::{Merged, Source};

/// What runs amount to. Flows, hours and fullest stretches are of the buildings; raw loads and washes are told apart.
#[derive(Clone, Debug)]
pub struct Gathering {
    runs: u64,
    /// Sums by use are of people; flows and hours of all that buildings draw.
    gathered: Gathered,
    busiest: Busiest,
    /// By outlet, in 1e-9 nL over all runs.
    outlets: Vec<i128>,
    /// What buildings draw by schedule and by log, the same.
    schedule: i128,
    log: i128,
    wait: Option<Wait>,
}

/// How long somebody who was ready for a shower waited until one was free.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Wait {
    pub(crate) run: u64,
    pub(crate) home: u16,
    pub(crate) who: u16,
    pub(crate) start: Time,
    pub(crate) queued: Span,
}

/// No building of the planner: a draw that counts in flows and hours and is no person's.
const NO_HOME: u16 = u16::MAX;

/// Hears the draws of so many runs, at least one; where nothing is left to chance all are alike, and one is heard.
/// `progress` hears the share done, from 0 to 1, after each.
///
/// # Errors
/// [`RunError::NoDays`], and [`RunError::Household`] where a household cannot be.
pub fn gather(
    scenario: &Scenario,
    options: &RunOptions,
    runs: u32,
    progress: &mut dyn FnMut(f64),
) -> Result<Gathering, RunError> {
    if options.days == 0 {
        return Err(RunError::NoDays);
    }
    let runs = if options.homes.is_empty() { 1 } else { runs.max(1) };
    let mut gathering = Gathering {
        runs: u64::from(runs),
        gathered: Gathered::default(),
        busiest: Busiest::default(),
        outlets: vec![0; scenario.plant.outlets.len()],
        schedule: 0,
        log: 0,
        wait: None,
    };
    // Made once: a log may be long.
    let mut options = options.clone();
    for run in 0..runs {
        options.run = u64::from(run);
        gathering.hear(scenario, &options)?;
        progress(f64::from(run + 1) / f64::from(runs));
    }
    Ok(gathering)
}

impl Gathering {
    fn hear(&mut self, scenario: &Scenario, options: &RunOptions) -> Result<(), RunError> {
        let RunOptions { days, run, .. } = *options;
        let until = Time::from_day(i64::from(days));
        let (draws, planner) = Merged::of(options)?;
        let mut tally = Tally::new(&planner, 0, days);
        let mut busy = Days::new(&mut self.busiest, run);
        for (draw, source) in draws {
            let draw = Draw { end: draw.end.min(until), ..draw };
            let amount = i128::from(draw.flow.nl_per_s()) * i128::from((draw.end - draw.start).ns());
            if let Some(sum) = self.outlets.get_mut(draw.outlet) {
                *sum += amount;
            }
            let role = scenario.plant.outlets.get(draw.outlet).map(|outlet| outlet.role);
            if role != Some(Role::Building) {
                continue;
            }
            match source {
                Source::Schedule => self.schedule += amount,
                Source::Log => self.log += amount,
                Source::Household(of) => wait(&mut self.wait, run, &of),
            }
            let (counted, taker) = match source {
                Source::Household(of) => (of, Taker::of(of.use_)),
                Source::Schedule | Source::Log => (nobodys(draw), Taker::Told),
            };
            tally.add(&counted);
            busy.add(taker, &draw);
        }
        busy.finish(days);
        self.gathered.add(&tally.finish());
        Ok(())
    }

    /// How many runs were heard.
    #[must_use]
    pub fn runs(&self) -> u64 {
        self.runs
    }

    /// What people draw, and the flows of all that buildings draw.
    #[must_use]
    pub fn gathered(&self) -> &Gathered {
        &self.gathered
    }

    /// Sums over all runs.
    pub(crate) fn totals(&self) -> Option<&Totals> {
        self.gathered.totals()
    }

    pub(crate) fn busiest(&self) -> &Busiest {
        &self.busiest
    }

    /// The longest wait for a shower; `None` if nobody ever waited.
    pub(crate) fn wait(&self) -> Option<Wait> {
        self.wait
    }

    /// Litres of a mean day of an amount over all runs.
    #[expect(clippy::cast_precision_loss, reason = "53 bits are plenty of a volume, and days are fewer")]
    fn daily_l(&self, amount: i128) -> f64 {
        let days = self.totals().map_or(1, Totals::days).max(1);
        litres(amount) / days as f64
    }

    /// Litres of a mean day by outlet, in the order of the plant.
    pub(crate) fn outlets_l_day(&self) -> Vec<f64> {
        self.outlets.iter().map(|amount| self.daily_l(*amount)).collect()
    }

    /// Litres of a mean day that people draw.
    #[expect(clippy::cast_precision_loss, reason = "days are far fewer than 2^53")]
    pub(crate) fn household_l_day(&self) -> f64 {
        // From a zero of its own: the sum of nothing is a negative one.
        let people = |totals: &Totals| totals.homes().iter().map(HomeTotals::all_litres).fold(0.0, |sum, l| sum + l);
        self.totals().map_or(0.0, |totals| people(totals) / totals.days().max(1) as f64)
    }

    /// Litres of a mean day that buildings draw by schedule.
    pub(crate) fn schedule_l_day(&self) -> f64 {
        self.daily_l(self.schedule)
    }

    /// Litres of a mean day that buildings draw by log.
    pub(crate) fn log_l_day(&self) -> f64 {
        self.daily_l(self.log)
    }
}

/// Litres of an amount in 1e-9 nL.
#[expect(clippy::cast_precision_loss, reason = "53 bits are plenty of a volume")]
pub(crate) fn litres(amount: i128) -> f64 {
    amount as f64 / 1e18
}

/// Keeps the longest wait for a shower, of equal ones the first.
fn wait(longest: &mut Option<Wait>, run: u64, of: &HouseholdDraw) {
    if of.use_ == Use::Shower && of.queued > longest.map_or(Span::ZERO, |wait| wait.queued) {
        *longest = Some(Wait { run, home: of.home, who: of.who, start: of.draw.start, queued: of.queued });
    }
}

/// A draw of the schedule or a log, so that its flow is counted and no person's water.
fn nobodys(draw: Draw) -> HouseholdDraw {
    let (use_, who) = (Use::Other, NO_HOME);
    HouseholdDraw { draw, home: NO_HOME, who, use_, part: 0, waited: Span::ZERO, queued: Span::ZERO }
}
