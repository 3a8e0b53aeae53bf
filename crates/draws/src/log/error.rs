//! What can be wrong with a log, told so that it can be put right.

use core::fmt;

use thiserror::Error;

/// At most this many errors are kept; the rest are counted.
pub const MOST_ERRORS: usize = 20;

/// Everything wrong with one file.
#[derive(Clone, Debug, PartialEq, Error)]
pub struct LogErrors {
    /// The file, as it was named.
    pub file: String,
    /// The first [`MOST_ERRORS`] errors, in order of line.
    pub errors: Vec<LogError>,
    /// How many more there are.
    pub more: usize,
}

/// One error in a log.
#[derive(Clone, Debug, PartialEq)]
pub struct LogError {
    /// Line, counted from 1; `None` where the whole file is meant.
    pub line: Option<u64>,
    /// Name of the column; `None` where the whole line is meant.
    pub column: Option<&'static str>,
    /// What is wrong there.
    pub problem: Problem,
}

/// What is wrong. Each message says what was found, what is accepted, and what to do.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum Problem {
    /// The file cannot be read.
    #[error("cannot be read: {reason}; check that the file is whole and open to you")]
    Unreadable {
        /// What the system says.
        reason: String,
    },
    /// The text is not UTF-8.
    #[error("not UTF-8 text; save the file as CSV in UTF-8")]
    NotUtf8,
    /// There is no line but comments.
    #[error("no header and no row found; the first line must be {ACCEPTED_HEADERS}")]
    Empty,
    /// The first line is no header.
    #[error("`{found}` is no header; the first line must be {ACCEPTED_HEADERS}{}", separator_hint(found))]
    NoHeader {
        /// The line.
        found: String,
    },
    /// A column that is not known in this kind of log.
    #[error("`{found}` is no column of this log; accepted are {accepted}; {}", column_hint(*nearest))]
    UnknownColumn {
        /// The name found.
        found: String,
        /// The names accepted.
        accepted: &'static str,
        /// The accepted name most like it.
        nearest: Option<&'static str>,
    },
    /// A column twice.
    #[error("column given twice; take one of them out")]
    ColumnTwice,
    /// A column that cannot be done without.
    #[error("column missing; the header must be {ACCEPTED_HEADERS}; add it")]
    ColumnMissing,
    /// Two columns that say the same.
    #[error("both `{first}` and `{second}` found; one is accepted; take the other out")]
    SameTwice {
        /// One of them.
        first: &'static str,
        /// The other.
        second: &'static str,
    },
    /// Draws without a building where there are several.
    #[error("no column `building`, but the plant has {names}; add the column and say on each row which building drew")]
    BuildingNeeded {
        /// The outlets of the plant.
        names: String,
    },
    /// More or fewer fields than the header has.
    #[error(
        "{found} fields found where the header has {expected}; write one field for each column, decimals with a point"
    )]
    FieldCount {
        /// Fields on the line.
        found: usize,
        /// Columns of the header.
        expected: usize,
    },
    /// Nothing in the field.
    #[error("the field is empty; accepted is {accepted}; fill it in, or take the row out")]
    FieldEmpty {
        /// What is accepted.
        accepted: String,
    },
    /// No date and time.
    #[error(
        "`{found}` is no date and time; accepted is local standard time as `2027-06-04T06:31:20` or `2027-06-04 06:31:20`, \
         without offset; rewrite it so"
    )]
    NotATime {
        /// The text found.
        found: String,
    },
    /// A time too far from the first day.
    #[error(
        "`{found}` is more than {most_days} days from the first day of the run; correct the year, or the first day"
    )]
    TimeTooFar {
        /// The text found.
        found: String,
        /// The limit.
        most_days: i64,
    },
    /// No number.
    #[error("`{found}` is no number; accepted is {accepted}; write digits with a decimal point and no unit")]
    NotANumber {
        /// The text found.
        found: String,
        /// What is accepted.
        accepted: &'static str,
    },
    /// A number that makes no sense here.
    #[error("`{found}` is out of range; accepted is {accepted}; correct it, or take the row out")]
    OutOfRange {
        /// The text found.
        found: String,
        /// What is accepted.
        accepted: &'static str,
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
        "`{found}` makes {flow_lps:.0} L/s since the reading on line {before_line}; accepted is at most {most_lps} L/s; \
         check the unit and the times"
    )]
    TooMuch {
        /// The text found.
        found: String,
        /// The flow it makes.
        flow_lps: f64,
        /// Line of the reading before.
        before_line: u64,
        /// The limit.
        most_lps: f64,
    },
}

/// The headers of the three kinds of log, as text.
const ACCEPTED_HEADERS: &str = "`start,building,flow_lps,duration_s` (draws), `time,litres` (a meter's register) or `time,litres_used`, with \
     `flow_gpm`, `gallons` or `gallons_used` where US gallons are meant";

fn rename_hint(nearest: Option<&str>) -> String {
    match nearest {
        Some(name) => format!("write `{name}`?"),
        None => "write one of them".to_owned(),
    }
}

/// A column under another name may hold another unit: its name alone must not be changed.
fn column_hint(nearest: Option<&str>) -> String {
    let unit = match nearest {
        Some("flow_lps") => "litres a second (1 gpm is 0.0631 L/s)",
        Some("flow_gpm") => "US gallons a minute",
        Some("duration_s") => "seconds",
        Some("litres" | "litres_used") => "litres",
        Some("gallons" | "gallons_used") => "US gallons",
        _ => return rename_hint(nearest),
    };
    format!("{} Its numbers must then be in {unit}", rename_hint(nearest))
}

fn separator_hint(found: &str) -> &'static str {
    if found.contains(',') {
        "; add the header"
    } else if found.contains(';') || found.contains('\t') {
        "; separate the fields with commas"
    } else {
        "; add the header, its names separated by commas"
    }
}

impl LogErrors {
    pub(crate) fn none(file: &str) -> Self {
        Self { file: file.to_owned(), errors: Vec::new(), more: 0 }
    }

    /// Keeps an error, or only counts it when there are many.
    pub(crate) fn push(&mut self, line: Option<u64>, column: Option<&'static str>, problem: Problem) {
        if self.errors.len() < MOST_ERRORS {
            self.errors.push(LogError { line, column, problem });
        } else {
            self.more += 1;
        }
    }
}

impl fmt::Display for LogErrors {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (i, LogError { line, column, problem }) in self.errors.iter().enumerate() {
            let gap = if i == 0 { "" } else { "\n" };
            write!(f, "{gap}{}", self.file)?;
            if let Some(line) = line {
                write!(f, ":{line}")?;
            }
            if let Some(column) = column {
                write!(f, ", column `{column}`")?;
            }
            write!(f, ": {problem}")?;
        }
        if self.more > 0 {
            write!(f, "\n{}: and {} more", self.file, self.more)?;
        }
        Ok(())
    }
}
