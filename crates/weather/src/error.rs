//! What can be wrong with a record of rain, told so that it can be put right.

use core::fmt;

use thiserror::Error;

/// At most this many errors are kept; the rest are counted.
pub const MOST_ERRORS: usize = 20;

/// Everything wrong with one file.
#[derive(Clone, Debug, PartialEq, Error)]
pub struct RainErrors {
    /// The file, as it was named.
    pub file: String,
    /// The first [`MOST_ERRORS`] errors, in order of line.
    pub errors: Vec<RainError>,
    /// How many more there are.
    pub more: usize,
}

/// One error in a record of rain.
#[derive(Clone, Debug, PartialEq)]
pub struct RainError {
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
    /// A column that is not known.
    #[error(
        "`{found}` is no column of a record of rain; accepted are `time` and one of `rain_mm` and `rain_in`; {}",
        column_hint(*nearest)
    )]
    UnknownColumn {
        /// The name found.
        found: String,
        /// The accepted name most like it.
        nearest: Option<&'static str>,
    },
    /// A column twice.
    #[error("column given twice; take one of them out")]
    ColumnTwice,
    /// A column that cannot be done without.
    #[error("column missing; the header must be {ACCEPTED_HEADERS}; add it")]
    ColumnMissing,
    /// Rain in both units.
    #[error("both `rain_mm` and `rain_in` found; one is accepted; take the other out")]
    BothUnits,
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
    /// No date and time.
    #[error(
        "`{found}` is no date and time; accepted is local standard time as `2027-06-04 06:00`, or `2027-06-04` for its \
         midnight, without offset; rewrite it so"
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
    /// A time that is not after the one before.
    #[error(
        "`{found}` is not after the time on line {before_line}; times must rise; sort the rows by time, and take the hour \
         of daylight-saving time off"
    )]
    OutOfOrder {
        /// The text found.
        found: String,
        /// Line of the row before.
        before_line: u64,
    },
    /// A row whose next comes too late.
    #[error(
        "{days:.0} days pass until the time on line {next_line}; accepted are at most {most_days}; add the rows between, \
         with 0 where no rain fell"
    )]
    IntervalTooLong {
        /// Length of the interval in days.
        days: f64,
        /// Line of the next row.
        next_line: u64,
        /// The limit.
        most_days: i64,
    },
    /// Too few rows to know how long the rain of one took.
    #[error(
        "{found} found; accepted are two rows or more, since the rain of a row fell until the time of the next; add rows, \
         with 0 where no rain fell"
    )]
    TooFewRows {
        /// `no row` or `one row`.
        found: &'static str,
    },
    /// No number.
    #[error(
        "`{found}` is no number; accepted is {accepted}; write digits with a decimal point and no unit, 0 for a trace"
    )]
    NotANumber {
        /// The text found.
        found: String,
        /// What is accepted.
        accepted: &'static str,
    },
    /// A number that makes no sense here.
    #[error("`{found}` is out of range; accepted is {accepted}; correct it")]
    OutOfRange {
        /// The text found.
        found: String,
        /// What is accepted.
        accepted: &'static str,
    },
    /// More rain than falls.
    #[error(
        "`{found}` makes {mm_per_h:.0} mm of rain in an hour; accepted are at most {most_mm_per_h:.0}; check the unit and \
         the times, and that each row has only its own rain, not the sum of all before"
    )]
    TooMuch {
        /// The text found.
        found: String,
        /// What would fall in an hour.
        mm_per_h: f64,
        /// The limit.
        most_mm_per_h: f64,
    },
}

/// The headers of a record of rain, as text.
const ACCEPTED_HEADERS: &str = "`time,rain_mm`, or `time,rain_in` where inches are meant";

/// A column under another name may hold another unit: its name alone must not be changed.
fn column_hint(nearest: Option<&str>) -> String {
    let unit = match nearest {
        Some("rain_mm") => " Its numbers must then be in millimetres",
        Some("rain_in") => " Its numbers must then be in inches",
        Some(_) => "",
        None => return "rename it, or take it out".to_owned(),
    };
    format!("write `{}`?{unit}", nearest.unwrap_or_default())
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

impl RainErrors {
    pub(crate) fn none(file: &str) -> Self {
        Self { file: file.to_owned(), errors: Vec::new(), more: 0 }
    }

    /// Keeps an error, or only counts it when there are many.
    pub(crate) fn push(&mut self, line: Option<u64>, column: Option<&'static str>, problem: Problem) {
        if self.errors.len() < MOST_ERRORS {
            self.errors.push(RainError { line, column, problem });
        } else {
            self.more += 1;
        }
    }
}

impl fmt::Display for RainErrors {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (i, RainError { line, column, problem }) in self.errors.iter().enumerate() {
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
