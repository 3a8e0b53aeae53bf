//! A record of rain: each row's rain fell from its time until the time of the next.
//!
//! A table headed `time,rain_mm` or `time,rain_in`, its rows in order of time. The last row's interval is as long as the one
//! before.

use std::io::Read;

use jiff::civil::Date;
use springhouse_core::roof::RainStep;
use springhouse_core::time::{Span, Time};
use springhouse_table::{Column, Errors, Form, Header, Row, Rows, number, shortened, time};
use thiserror::Error;

#[cfg(test)]
mod tests;

/// Rain that fell in a length of time up to an instant, mm; of an interval that reaches beyond either end, its share.
#[must_use]
pub fn rain_before_mm(steps: &[RainStep], until: Time, length: Span) -> f64 {
    let from = until - length;
    let mut sum_mm = 0.0;
    // Only those that reach into the length; they follow one another.
    let first = steps.partition_point(|step| step.end <= from);
    for step in steps.iter().skip(first).take_while(|step| step.start < until) {
        let within = (step.end.min(until) - step.start.max(from)).max(Span::ZERO);
        if within > Span::ZERO {
            sum_mm += step.depth_mm * within.s() / (step.end - step.start).s();
        }
    }
    sum_mm
}

/// Everything wrong with a record of rain.
pub type RainErrors = Errors<Problem>;

/// What is wrong. Each message says what was found, what is accepted, and what to do.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum Problem {
    /// What can be wrong with any table.
    #[error(transparent)]
    Table(#[from] springhouse_table::Problem),
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
        "{days:.0} days pass until the time on line {next_line}; accepted are at most {MOST_INTERVAL_DAYS}; add the rows \
         between, with 0 where no rain fell"
    )]
    IntervalTooLong {
        /// Length of the interval in days.
        days: f64,
        /// Line of the next row.
        next_line: u64,
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
    /// More rain than falls.
    #[error(
        "`{found}` makes {} mm of rain in an hour; accepted are at most {MOST_RAIN_MM_PER_H:.0}; check the unit \
         and the times, and that each row has only its own rain, not the sum of all before",
        whole(*mm_per_h)
    )]
    TooMuch {
        /// The text found.
        found: String,
        /// What would fall in an hour.
        mm_per_h: f64,
    },
}

/// A whole number, by its exponent where nobody would count its digits.
fn whole(value: f64) -> String {
    if value < 1e12 { format!("{value:.0}") } else { format!("{value:.3e}") }
}

const FORM: Form = Form {
    what: "a record of rain",
    headers: "`time,rain_mm`, or `time,rain_in` where inches are meant",
    accepted: "`time` and one of `rain_mm` and `rain_in`",
    columns: &[("time", ""), ("rain_mm", "millimetres"), ("rain_in", "inches")],
};

/// The columns that say how much, of which a record has one: millimetres of one of their unit, and what is accepted. An inch
/// is 25.4 mm by definition (international yard and pound agreement, 1959).
const DEPTHS: [(&str, (f64, &str)); 2] = [
    ("rain_mm", (1.0, "rain in millimetres, 0 or more, 0 for a trace")),
    ("rain_in", (25.4, "rain in inches, 0 or more, 0 for a trace")),
];

/// The longest interval of a row: a month.
pub const MOST_INTERVAL_DAYS: i64 = 31;

const LONGEST: Span = Span::from_ns(MOST_INTERVAL_DAYS * Span::DAY.ns());

/// The most rain that is believed, on average over an interval; one shorter than a minute counts as a minute, since two
/// tips of a gauge may fall close together. Three times the 305 mm of the wettest hour known (value from memory).
pub const MOST_RAIN_MM_PER_H: f64 = 1_000.0;

/// Reads a record of rain; `file_name` is what errors call it.
///
/// Times count from the midnight that opens `first_day`; rain before it comes out with negative times. The steps follow one
/// another without a gap, dry ones among them.
///
/// # Errors
/// All that is wrong with the file.
pub fn read_rain(reader: impl Read, file_name: &str, first_day: Date) -> Result<Vec<RainStep>, RainErrors> {
    springhouse_table::read(reader, file_name, FORM.headers, |first, rows, errors| {
        let columns = columns(first, errors);
        columns.map_or_else(Vec::new, |columns| read_rows(rows, columns, first_day, errors))
    })
}

/// How a record is laid out.
#[derive(Clone, Copy)]
struct Columns {
    time: Column,
    rain: Column,
    /// Millimetres of one of the unit.
    unit_mm: f64,
    /// What is accepted as rain.
    accepted: &'static str,
}

/// Reads the header; `None` when something is wrong with it, which is then told.
fn columns(first: &Row<'_>, errors: &mut RainErrors) -> Option<Columns> {
    if !FORM.columns.iter().any(|(name, _)| first.has(name)) {
        errors.push(Some(first.line), None, first.no_header(FORM.headers));
        return None;
    }
    let header = Header::read(first, &FORM, errors);
    let time = header.need("time", errors);
    let rain = header.one_of(&DEPTHS, errors);
    let (time, (rain, (unit_mm, accepted))) = (time?, rain?);
    errors.is_empty().then_some(Columns { time, rain, unit_mm, accepted })
}

/// A row whose interval is not known yet.
struct Open {
    line: u64,
    start: Time,
    /// Its rain as it is written.
    text: String,
    /// `None` where something is wrong with it, which was told.
    depth_mm: Option<f64>,
}

fn read_rows(rows: Rows<'_>, columns: Columns, first_day: Date, errors: &mut RainErrors) -> Vec<RainStep> {
    let mut steps: Vec<RainStep> = Vec::new();
    let mut open: Option<Open> = None;
    let mut last_length: Option<Span> = None;
    let mut count = 0_usize;
    for row in rows {
        count += 1;
        last_length = None;
        let row = match row {
            Ok(row) => row,
            Err((line, problem)) => {
                errors.push(Some(line), None, problem);
                // How long the rain of the row before took is not known.
                open = None;
                continue;
            }
        };
        let (line, text) = (row.line, row.field(columns.rain));
        let depth_mm = number(text, columns.accepted, |depth| depth >= 0.0).map(|depth| depth * columns.unit_mm);
        // The row before first, so that errors come in order of line.
        let start = match (time(row.field(columns.time), first_day), open.take()) {
            (Ok(start), Some(before)) if start <= before.start => {
                Err(Problem::OutOfOrder { found: shortened(row.field(columns.time)), before_line: before.line })
            }
            (Ok(start), Some(before)) => {
                // One that is too long is told once, not again for the last row.
                last_length = Some(start - before.start).filter(|length| *length <= LONGEST);
                steps.extend(closed(&before, start, line, &columns, errors));
                Ok(start)
            }
            (start, _) => start.map_err(Problem::from),
        };
        let start = errors.keep(line, columns.time.name, start);
        let depth_mm = errors.keep(line, columns.rain.name, depth_mm);
        open = start.map(|start| Open { line, start, text: shortened(text), depth_mm });
    }
    if let (Some(open), Some(length)) = (open, last_length) {
        steps.extend(closed(&open, open.start + length, open.line, &columns, errors));
    } else if errors.is_empty() {
        errors.push(None, None, Problem::TooFewRows { found: if count == 0 { "no row" } else { "one row" } });
    }
    steps
}

/// The step of a row that ends at an instant; `None` where something is wrong, which was or is then told.
fn closed(row: &Open, end: Time, next_line: u64, columns: &Columns, errors: &mut RainErrors) -> Option<RainStep> {
    let length = end - row.start;
    if length > LONGEST {
        let days = length.s() / Span::DAY.s();
        let problem = Problem::IntervalTooLong { days, next_line };
        errors.push(Some(row.line), Some(columns.time.name), problem);
        return None;
    }
    let depth_mm = row.depth_mm?;
    let mm_per_h = depth_mm / (length.max(Span::MINUTE).s() / Span::HOUR.s());
    if mm_per_h > MOST_RAIN_MM_PER_H {
        let problem = Problem::TooMuch { found: row.text.clone(), mm_per_h };
        errors.push(Some(row.line), Some(columns.rain.name), problem);
        return None;
    }
    Some(RainStep { start: row.start, end, depth_mm })
}
