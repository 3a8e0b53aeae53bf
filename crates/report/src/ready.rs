//! Runs of the ready scenarios, for tests that hold pictures against a real run.

use std::path::Path;

use springhouse_core::time::Span;
use springhouse_scenario::{Format, Scenario, load, parse, starter};
use springhouse_sim::{Outcome, RunOptions, run};

use crate::Run;

/// A ready scenario and what came of it. Rain, which stands in a file beside it, is left out.
pub(crate) struct Ready {
    pub(crate) scenario: Scenario,
    pub(crate) outcome: Outcome,
}

impl Ready {
    pub(crate) fn run(name: &str, days: u32) -> Self {
        let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../scenarios").join(name).with_extension("toml");
        Self::of(load(&path).unwrap_or_else(|faults| panic!("{}", faults.render(false))).scenario, days)
    }

    /// The starter, with sections added to it.
    pub(crate) fn starter_with(sections: &str, days: u32) -> Self {
        let loaded = parse(&format!("{}\n{sections}", starter()), Format::Toml, "plant.toml");
        Self::of(loaded.unwrap_or_else(|faults| panic!("{}", faults.render(false))).scenario, days)
    }

    fn of(scenario: Scenario, days: u32) -> Self {
        let options = RunOptions { days, grid: Some(Span::MINUTE), ..RunOptions::from_scenario(&scenario) };
        let outcome =
            run(&scenario, &options, &mut |_| ()).unwrap_or_else(|error| panic!("{}: {error}", scenario.name));
        Self { scenario, outcome }
    }

    pub(crate) fn told(&self) -> Run<'_> {
        Run {
            scenario: &self.scenario,
            outcome: &self.outcome,
            first_day: self.scenario.start,
            units: self.scenario.units,
        }
    }
}
