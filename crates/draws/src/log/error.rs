//! What can be wrong with a log, told so that it can be put right.

use springhouse_table::Errors;
use thiserror::Error;

use super::MOST_FLOW_LPS;

/// Everything wrong with a log.
pub type LogErrors = Errors<Problem>;

/// What is wrong. Each message says what was found, what is accepted, and what to do.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum Problem {
    /// What can be wrong with any table.
    #[error(transparent)]
    Table(#[from] springhouse_table::Problem),
    /// Draws without a building where there are several.
    #[error("no column `building`, but the plant has {names}; add the column and say on each row which building drew")]
    BuildingNeeded {
        /// The outlets of the plant.
        names: String,
    },
    /// Nothing in the field.
    #[error("the field is empty; accepted is {accepted}; fill it in, or take the row out")]
    FieldEmpty {
        /// What is accepted.
        accepted: String,
    },
    /// A building that the plant does not have.
    #[error("`{found}` is no building of the plant; accepted are {names}; {}", rename_hint(nearest.as_deref()))]
    UnknownBuilding {
        /// The name found.
        found: String,
        /// The outlets of the plant.
        names: String,
        /// The name most like it.
        nearest: Option<String>,
    },
    /// A kind of draw that is not known.
    #[error(
        "`{found}` is no kind of draw; accepted are `timed` (ends on time) and `volume` (goes on until it has its litres); \
         write one of them, or leave it empty for `timed`"
    )]
    UnknownKind {
        /// The text found.
        found: String,
    },
    /// A meter reading that is not after the one before.
    #[error("`{found}` is not after the reading on line {before_line}; times must rise; sort the rows by time")]
    OutOfOrder {
        /// The text found.
        found: String,
        /// Line of the reading before.
        before_line: u64,
    },
    /// A register that runs backwards.
    #[error(
        "`{found}` is less than the reading on line {before_line}; a register must not fall; correct it, or use \
         `litres_used` or `gallons_used` where the meter was changed"
    )]
    RegisterFalls {
        /// The text found.
        found: String,
        /// Line of the reading before.
        before_line: u64,
    },
    /// More water than any plant passes.
    #[error(
        "`{found}` makes {flow_lps:.0} L/s since the reading on line {before_line}; accepted is at most {MOST_FLOW_LPS} L/s; \
         check the unit and the times"
    )]
    TooMuch {
        /// The text found.
        found: String,
        /// The flow it makes.
        flow_lps: f64,
        /// Line of the reading before.
        before_line: u64,
    },
}

fn rename_hint(nearest: Option<&str>) -> String {
    match nearest {
        Some(name) => format!("write `{name}`?"),
        None => "write one of them".to_owned(),
    }
}
