//! One plant in several ways, on the same mornings and under the same sky: which heater, which hours to run in, what to have behind
//! the grid.

mod heaters;
mod hours;
mod outage;

use jiff::civil::DateTime;
use rayon::prelude::*;
use springhouse_core::plant::{Fault, Parts, Plant};
use springhouse_core::time::Span;
use springhouse_scenario::Scenario;
use springhouse_sim::{Outcome, RunError, RunOptions, Summary};
use thiserror::Error;

pub use self::outage::{InOutage, Outage};

/// What is compared.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Question {
    /// Every heater as a heat pump in each of its ways, as an electric tank, and with a burner of gas and of propane.
    Heaters,
    /// Membrane unit and heaters at any time, in the best hours of the day, and while the sun leaves enough.
    Hours,
    /// An outage with nothing behind the grid, with a battery, with a generator, and with both.
    Outage(AskedOutage),
}

/// When the grid is out; `None` takes what the scenario says, else 24 h from six in the morning of the second day.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct AskedOutage {
    /// When it begins.
    pub start: Option<DateTime>,
    /// How long it lasts.
    pub length: Option<Span>,
}

/// One way, and what came of it.
#[derive(Clone, Debug)]
pub struct Way {
    /// Its name.
    pub name: String,
    /// Whether it is what the scenario says.
    pub as_given: bool,
    /// The figures of its run.
    pub summary: Summary,
    /// What happened while the grid was out; `None` in other comparisons.
    pub in_outage: Option<InOutage>,
}

/// All ways.
#[derive(Clone, Debug)]
pub struct Comparison {
    /// What was asked.
    pub question: Question,
    /// In the order to be told.
    pub ways: Vec<Way>,
    /// What was taken to be so where the scenario does not say.
    pub assumed: Vec<String>,
    /// When the grid was out, in a comparison of outages.
    pub outage: Option<Outage>,
}

/// Why there is nothing to compare.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum CompareError {
    /// No heaters.
    #[error("the scenario has no water heater to compare")]
    NoHeater,
    /// Neither membrane unit nor heater.
    #[error("the scenario has neither a membrane unit nor a water heater whose hours could be chosen")]
    NothingToMove,
    /// No sun on a roof, and no price that changes with the hour.
    #[error("nothing tells one hour from another: the scenario has no panels and no prices by the hour")]
    NothingToGoBy,
    /// The outage is not within the run.
    #[error("the outage is not within the run")]
    OutsideTheRun,
    /// A plant that cannot be.
    #[error("{name} cannot be: {fault}")]
    Impossible {
        /// Which way.
        name: String,
        /// Why.
        fault: Fault,
    },
    /// A run failed.
    #[error(transparent)]
    Run(#[from] RunError),
}

/// A way before its run.
struct Asked {
    name: String,
    as_given: bool,
    scenario: Scenario,
}

impl Asked {
    fn as_given(scenario: &Scenario) -> Self {
        Self { name: "the scenario's own".to_owned(), as_given: true, scenario: scenario.clone() }
    }

    /// The scenario with other parts.
    fn with(name: &str, scenario: &Scenario, change: impl FnOnce(&mut Parts)) -> Result<Self, CompareError> {
        let mut parts = Parts::clone(&scenario.plant);
        change(&mut parts);
        let plant = Plant::try_new(parts)
            .map_err(|mut faults| CompareError::Impossible { name: name.to_owned(), fault: faults.swap_remove(0) })?;
        Ok(Self { name: name.to_owned(), as_given: false, scenario: Scenario { plant, ..scenario.clone() } })
    }
}

/// Runs every way of a scenario that a question asks for.
///
/// `options` are those of a run of the scenario, weather and prices with them; rows and days are not kept.
///
/// # Errors
/// Where there is nothing to compare, or a way cannot be run.
pub fn compare(scenario: &Scenario, options: &RunOptions, question: Question) -> Result<Comparison, CompareError> {
    let options = &RunOptions { grid: None, daily: false, ..options.clone() };
    match question {
        Question::Heaters => {
            let (asked, assumed) = heaters::ways(scenario)?;
            let ways = run_all(asked, options)?.into_iter().map(|(asked, outcome)| told(asked, outcome)).collect();
            Ok(Comparison { question, ways, assumed, outage: None })
        }
        Question::Hours => {
            let (asked, assumed) = hours::ways(scenario, options)?;
            let ways = run_all(asked, options)?.into_iter().map(|(asked, outcome)| told(asked, outcome)).collect();
            Ok(Comparison { question, ways, assumed, outage: None })
        }
        Question::Outage(asked) => outage::compare(scenario, options, asked),
    }
}

fn told(asked: Asked, outcome: Outcome) -> Way {
    Way { name: asked.name, as_given: asked.as_given, summary: outcome.summary, in_outage: None }
}

/// Runs ways side by side; they are told in the order they were asked.
fn run_all(asked: Vec<Asked>, options: &RunOptions) -> Result<Vec<(Asked, Outcome)>, RunError> {
    let each = asked.into_par_iter().map(|asked| {
        let outcome = springhouse_sim::run(&asked.scenario, options, &mut |_| ())?;
        Ok((asked, outcome))
    });
    each.collect()
}
