//! What is kept of a run.

use super::Job;

/// What is kept of a run.
#[derive(Clone, Debug, PartialEq)]
pub struct Row {
    /// Which run it is.
    pub job: Job,
    /// The values that nobody knows for sure, in the order of the plan's uncertain keys.
    pub uncertain: Vec<Cell>,
    /// Why there is no result: what is wrong with the variant, in one line, or what stopped the run.
    pub fault: Option<String>,
    /// The figures, in the order of the plan; `None` where the run has none.
    pub figures: Vec<Option<f64>>,
}

/// A setting in a table.
#[derive(Clone, Debug, PartialEq)]
pub enum Cell {
    /// A number; of a quantity in its base unit.
    Number(f64),
    /// A text.
    Text(String),
}
