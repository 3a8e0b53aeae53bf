//! What can be wrong with a table, told so that it can be put right.

use core::fmt;

/// At most this many errors are kept; the rest are counted.
pub const MOST_ERRORS: usize = 20;

/// Everything wrong with one file; `P` is what can be wrong with its kind of table.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub struct Errors<P> {
    /// The file, as it was named.
    pub file: String,
    /// The first [`MOST_ERRORS`] errors, in order of line.
    pub errors: Vec<Error<P>>,
    /// How many more there are.
    pub more: usize,
}

/// One error in a table.
#[derive(Clone, Debug, PartialEq)]
pub struct Error<P> {
    /// Line, counted from 1; `None` where the whole file is meant.
    pub line: Option<u64>,
    /// Name of the column; `None` where the whole line is meant.
    pub column: Option<&'static str>,
    /// What is wrong there.
    pub problem: P,
}

/// What can be wrong with any table. Each message says what was found, what is accepted, and what to do.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
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
    #[error("no header and no row found; the first line must be {headers}")]
    Empty {
        /// The headers accepted.
        headers: &'static str,
    },
    /// The first line is no header.
    #[error("`{found}` is no header; the first line must be {headers}{}", separator_hint(found))]
    NoHeader {
        /// The line.
        found: String,
        /// The headers accepted.
        headers: &'static str,
    },
    /// A column that is not known in this kind of table.
    #[error("`{found}` is no column of {what}; accepted are {accepted}; {}", column_hint(*nearest, unit))]
    UnknownColumn {
        /// The name found.
        found: String,
        /// What kind of table it is.
        what: &'static str,
        /// The names accepted.
        accepted: &'static str,
        /// The accepted name most like it.
        nearest: Option<&'static str>,
        /// What the numbers under that name are in; empty where they have no unit.
        unit: &'static str,
    },
    /// A column twice.
    #[error("column given twice; take one of them out")]
    ColumnTwice,
    /// A column that cannot be done without.
    #[error("column missing; the header must be {headers}; add it")]
    ColumnMissing {
        /// The headers accepted.
        headers: &'static str,
    },
    /// Two columns that say the same.
    #[error("both `{first}` and `{second}` found; one is accepted; take the other out")]
    SameTwice {
        /// One of them.
        first: &'static str,
        /// The other.
        second: &'static str,
    },
    /// Quotes that are not around a whole field.
    #[error("double quotes found that are not around a whole field; close them at its end, or take them out")]
    Quotes,
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
        "`{found}` is no date and time; accepted is local standard time as `2027-06-04 06:31` or `2027-06-04T06:31:20`, or \
         `2027-06-04` for its midnight, without offset; rewrite it so"
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
    #[error("`{found}` is out of range; accepted is {accepted}; correct it")]
    OutOfRange {
        /// The text found.
        found: String,
        /// What is accepted.
        accepted: &'static str,
    },
}

/// A column under another name may hold another unit: its name alone must not be changed.
fn column_hint(nearest: Option<&str>, unit: &str) -> String {
    match nearest {
        None => "rename it, or take it out".to_owned(),
        Some(name) if unit.is_empty() => format!("write `{name}`?"),
        Some(name) => format!("write `{name}`? Its numbers must then be in {unit}"),
    }
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

impl<P> Errors<P> {
    pub(crate) fn none(file: &str) -> Self {
        Self { file: file.to_owned(), errors: Vec::new(), more: 0 }
    }

    /// Whether nothing is wrong.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.errors.is_empty()
    }

    /// Keeps an error, or only counts it when there are many.
    pub fn push(&mut self, line: Option<u64>, column: Option<&'static str>, problem: impl Into<P>) {
        if self.errors.len() < MOST_ERRORS {
            self.errors.push(Error { line, column, problem: problem.into() });
        } else {
            self.more += 1;
        }
    }

    /// The value of a field; a problem with it is told under its line and column.
    pub fn keep<T>(&mut self, line: u64, column: &'static str, result: Result<T, impl Into<P>>) -> Option<T> {
        result.map_err(|problem| self.push(Some(line), Some(column), problem)).ok()
    }
}

/// One error a line, as `error: june.csv:2, column `start`: ...`.
impl<P: fmt::Display> fmt::Display for Errors<P> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (i, Error { line, column, problem }) in self.errors.iter().enumerate() {
            let gap = if i == 0 { "" } else { "\n" };
            write!(f, "{gap}error: {}", self.file)?;
            if let Some(line) = line {
                write!(f, ":{line}")?;
            }
            if let Some(column) = column {
                write!(f, ", column `{column}`")?;
            }
            write!(f, ": {problem}")?;
        }
        if self.more > 0 {
            write!(f, "\nerror: {}: and {} more", self.file, self.more)?;
        }
        Ok(())
    }
}
