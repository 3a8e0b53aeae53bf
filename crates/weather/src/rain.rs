//! A record of rain: each row's rain fell from its time until the time of the next.

use std::io::Read;

use jiff::civil::Date;
use springhouse_core::roof::RainStep;
use springhouse_core::time::{Span, Time};

use crate::error::{Problem, RainErrors};
use crate::fields::{amount, fields, lines, shortened, time};
use crate::header::{self, Column, Header};

#[cfg(test)]
mod tests;

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
pub fn read_rain(mut reader: impl Read, file_name: &str, first_day: Date) -> Result<Vec<RainStep>, RainErrors> {
    let mut errors = RainErrors::none(file_name);
    let mut bytes = Vec::new();
    if let Err(error) = reader.read_to_end(&mut bytes) {
        errors.push(None, None, Problem::Unreadable { reason: error.to_string() });
        return Err(errors);
    }
    let text = match core::str::from_utf8(&bytes) {
        Ok(text) => text,
        Err(error) => {
            let good = bytes.iter().take(error.valid_up_to());
            let line = 1 + good.map(|byte| u64::from(*byte == b'\n')).sum::<u64>();
            errors.push(Some(line), None, Problem::NotUtf8);
            return Err(errors);
        }
    };
    let steps = read_text(text, first_day, &mut errors);
    if errors.errors.is_empty() { Ok(steps) } else { Err(errors) }
}

/// A row whose interval is not known yet.
struct Open<'t> {
    line: u64,
    start: Time,
    /// As it is written.
    text: &'t str,
    /// `None` where something is wrong with it, which was told.
    depth_mm: Option<f64>,
}

fn read_text(text: &str, first_day: Date, errors: &mut RainErrors) -> Vec<RainStep> {
    let mut lines = lines(text);
    let Some((line, first)) = lines.next() else {
        errors.push(None, None, Problem::Empty);
        return Vec::new();
    };
    let names = fields(first);
    let Some(header) = header::read(&names, line, errors) else { return Vec::new() };

    let mut steps: Vec<RainStep> = Vec::new();
    let mut open: Option<Open<'_>> = None;
    let mut last_length: Option<Span> = None;
    let mut rows = 0_usize;
    for (line, row) in lines {
        rows += 1;
        let fields = fields(row);
        if fields.len() != names.len() {
            errors.push(Some(line), None, Problem::FieldCount { found: fields.len(), expected: names.len() });
            // How long the rain of the row before took is not known.
            (open, last_length) = (None, None);
            continue;
        }
        let field = |column: Column| fields.get(column.place).copied().unwrap_or_default();
        let start = time(field(header.time), first_day);
        let text = field(header.rain);
        let depth_mm = amount(text, header.accepted).map(|depth| depth * header.unit_mm);

        last_length = None;
        // The row before first, so that errors come in order of line.
        let start = match (start, open.take()) {
            (Ok(start), Some(before)) if start <= before.start => {
                Err(Problem::OutOfOrder { found: shortened(field(header.time)), before_line: before.line })
            }
            (Ok(start), Some(before)) => {
                // One that is too long is told once, not again for the last row.
                last_length = Some(start - before.start).filter(|length| *length <= LONGEST);
                steps.extend(closed(&before, start, line, &header, errors));
                Ok(start)
            }
            (start, _) => start,
        };
        let start = errors.keep(line, header.time, start);
        let depth_mm = errors.keep(line, header.rain, depth_mm);
        open = start.map(|start| Open { line, start, text, depth_mm });
    }
    if let (Some(open), Some(length)) = (open, last_length) {
        steps.extend(closed(&open, open.start + length, open.line, &header, errors));
    } else if errors.errors.is_empty() {
        errors.push(None, None, Problem::TooFewRows { found: if rows == 0 { "no row" } else { "one row" } });
    }
    steps
}

/// The step of a row that ends at an instant; `None` where something is wrong, which was or is then told.
fn closed(row: &Open<'_>, end: Time, next_line: u64, header: &Header, errors: &mut RainErrors) -> Option<RainStep> {
    let length = end - row.start;
    if length > LONGEST {
        let days = length.s() / Span::DAY.s();
        let problem = Problem::IntervalTooLong { days, next_line, most_days: MOST_INTERVAL_DAYS };
        errors.push(Some(row.line), Some(header.time.name), problem);
        return None;
    }
    let depth_mm = row.depth_mm?;
    let mm_per_h = depth_mm / (length.max(Span::MINUTE).s() / Span::HOUR.s());
    if mm_per_h > MOST_RAIN_MM_PER_H {
        let problem = Problem::TooMuch { found: shortened(row.text), mm_per_h, most_mm_per_h: MOST_RAIN_MM_PER_H };
        errors.push(Some(row.line), Some(header.rain.name), problem);
        return None;
    }
    Some(RainStep { start: row.start, end, depth_mm })
}

impl RainErrors {
    /// The value of a field; a problem with it is told under its line and column.
    fn keep<T>(&mut self, line: u64, column: Column, result: Result<T, Problem>) -> Option<T> {
        result.map_err(|problem| self.push(Some(line), Some(column.name), problem)).ok()
    }
}
