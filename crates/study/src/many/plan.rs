//! What a study asks, as plain data: enough to carry on with its runs, and to tell what came of them.

use serde::{Deserialize, Serialize};

use super::Row;
use crate::sure::{Confidence, Rule};

/// A study: which runs it makes, and what is told of them.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Plan {
    /// Its name: results are kept under it.
    pub name: String,
    /// One line that says what it asks.
    pub title: String,
    /// The scenario that is varied, as a person calls it.
    pub scenario: String,
    /// Whether text and pictures are in litres and metres, else in gallons and feet.
    pub metric: bool,
    /// First day of every run, ISO 8601.
    pub first_day: String,
    /// Days of every run.
    pub days: u32,
    /// Seed of everything random.
    pub seed: u64,
    /// What the runs are for.
    pub design: Design,
    /// Most runs of each variant.
    pub runs: u64,
    /// The keys that variants set.
    pub keys: Vec<Column>,
    /// What is varied: keys that change together are one axis.
    pub axes: Vec<Axis>,
    /// The variants, in order.
    pub variants: Vec<Variant>,
    /// Which of them the others are compared with, counted from zero.
    pub reference: usize,
    /// The keys that take another value in each run, since nobody knows them for sure.
    pub uncertain: Vec<Column>,
    /// What is kept of each run: figures of its summary, by their paths.
    pub figures: Vec<String>,
    /// Which runs fall short.
    pub short: Short,
    /// How often an interval is to hold the truth.
    pub confidence: f64,
    /// When a variant needs no more runs; `None` makes all of them.
    pub stop: Option<Stop>,
    /// What is wanted of a variant.
    pub target: Option<Target>,
}

/// What the runs are for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Design {
    /// Variants side by side. Run `k` of each meets the same mornings and weather, and the same uncertain values.
    Sweep,
    /// Rows of runs that tell the inputs' shares of the variance apart: [`Crossed`](crate::sure::Crossed). A row is a run of each
    /// variant, and the last input is the mornings and the weather.
    Shares,
    /// Paths of single steps: [`paths`](crate::sure::paths). A path is a run of each variant.
    Steps,
}

/// A column of settings.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Column {
    /// The path of the key.
    pub key: String,
    /// What its values are.
    pub kind: ColumnKind,
}

/// What the values of a column are.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum ColumnKind {
    /// Quantities, as numbers of the base unit with this ending: `l`, `kpa`, `lps`.
    Quantity(String),
    /// Numbers without a unit.
    Number,
    /// Anything else, as it is written.
    Text,
}

impl Column {
    /// Its head in a table.
    #[must_use]
    pub fn head(&self) -> String {
        match &self.kind {
            ColumnKind::Quantity(ending) => format!("{}_{ending}", self.key),
            ColumnKind::Number | ColumnKind::Text => self.key.clone(),
        }
    }
}

/// Keys that change together.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Axis {
    /// What it is called.
    pub name: String,
    /// Its first key, by its place among those of the plan.
    pub first_key: usize,
    /// How many keys it has.
    pub keys: usize,
}

/// A variant of the scenario.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Variant {
    /// What each key is set to, as written in a file but for the quotes of texts; of a design other than a sweep, the name of its point instead.
    pub settings: Vec<String>,
    /// The same as numbers: of a quantity in its base unit; `None` of what is no number.
    pub amounts: Vec<Option<f64>>,
    /// What it costs, where the study tells the prices of all that it sets.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub price: Option<f64>,
}

/// When a run falls short.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Short {
    /// A figure of the plan, by its path.
    pub figure: String,
    /// The limit that it must not pass.
    pub limit: Limit,
}

/// A limit of a figure.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Limit {
    /// More falls short.
    AtMost(f64),
    /// Less falls short.
    AtLeast(f64),
}

impl Limit {
    /// Whether a value passes it.
    #[must_use]
    pub fn is_passed(self, value: f64) -> bool {
        match self {
            Self::AtMost(most) => value > most,
            Self::AtLeast(least) => value < least,
        }
    }
}

/// When a variant needs no more runs: its chance of falling short has settled.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Stop {
    /// Half the width of the interval of the chance that is narrow enough.
    pub half_width: Option<f64>,
    /// A chance that it is enough to be above or below of.
    pub chance: Option<f64>,
    /// Runs before the first look.
    pub least_runs: u64,
    /// Runs between looks.
    pub look_every: u64,
}

/// What is wanted of a variant.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Target {
    /// A chance of falling short of no more than this.
    Chance(f64),
    /// A mean of a figure of the plan within a limit.
    Mean {
        /// The figure, by its path.
        figure: String,
        /// Its limit.
        limit: Limit,
    },
}

/// A run of a study: which variant, and which of its runs, both counted from zero.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Job {
    /// The variant.
    pub variant: u64,
    /// The run of it.
    pub run: u64,
}

impl Plan {
    /// How many runs it has, if all of them are made.
    #[must_use]
    pub fn jobs(&self) -> u64 {
        self.runs.saturating_mul(self.variants.len() as u64)
    }

    /// A run by its number: one variant after the other.
    #[must_use]
    pub fn job(&self, number: u64) -> Job {
        let runs = self.runs.max(1);
        Job { variant: number / runs, run: number % runs }
    }

    /// The number of a run.
    #[must_use]
    pub fn number(&self, job: Job) -> u64 {
        job.variant.saturating_mul(self.runs).saturating_add(job.run)
    }

    /// How often intervals hold the truth.
    #[must_use]
    pub fn confidence(&self) -> Confidence {
        Confidence::new(self.confidence).unwrap_or(Confidence::USUAL)
    }

    /// The rule that ends the runs of a variant; `None` where all are made.
    #[must_use]
    pub fn rule(&self) -> Option<Rule> {
        let stop = self.stop?;
        Some(Rule {
            confidence: self.confidence(),
            half_width: stop.half_width,
            target: stop.chance,
            least_runs: stop.least_runs,
            look_every: stop.look_every,
            most_runs: self.runs,
        })
    }

    /// Whether a run fell short; `None` of one without the figure, which tells nothing of the chance.
    #[must_use]
    pub fn is_short(&self, row: &Row) -> Option<bool> {
        let place = self.figures.iter().position(|figure| *figure == self.short.figure)?;
        let value = row.figures.get(place).copied().flatten()?;
        Some(self.short.limit.is_passed(value))
    }
}
