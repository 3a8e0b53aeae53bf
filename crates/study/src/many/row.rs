//! What is kept of a run.

use super::Job;

/// How the fault of a whole variant begins,
pub(super) const OF_VARIANT: &str = "the variant: ";
/// and that of a single run.
pub(super) const OF_RUN: &str = "the run: ";

/// What is kept of a run.
#[derive(Clone, Debug, PartialEq)]
pub struct Row {
    /// Which run it is.
    pub job: Job,
    /// The values that nobody knows for sure, in the order of the plan's uncertain keys.
    pub uncertain: Vec<Cell>,
    /// Why there is no result, in one line: what is wrong with the variant, of which there is then no other row; or what
    /// stopped the run.
    pub fault: Option<String>,
    /// The figures, in the order of the plan; `None` where the run has none.
    pub figures: Vec<Option<f64>>,
}

impl Row {
    /// Whether it tells that its variant is no plant.
    #[must_use]
    pub fn is_of_variant(&self) -> bool {
        self.fault.as_ref().is_some_and(|fault| fault.starts_with(OF_VARIANT))
    }
}

/// A setting in a table.
#[derive(Clone, Debug, PartialEq)]
pub enum Cell {
    /// A number; of a quantity in its base unit.
    Number(f64),
    /// A text.
    Text(String),
}
