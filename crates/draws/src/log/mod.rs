//! Logged draws and meter readings, from CSV.
//!
//! | header | a row is |
//! | --- | --- |
//! | `start,building,flow_lps,duration_s` | a draw; a column `kind` may say `timed` (default) or `volume` |
//! | `time,litres` | the register of a meter, which must not fall |
//! | `time,litres_used` | litres since the row before |
//!
//! In place of `flow_lps`, `litres` and `litres_used`, `flow_gpm`, `gallons` and `gallons_used` hold US gallons.
//! Readings become [`DrawKind::Volume`](springhouse_core::draw::DrawKind::Volume) draws, spread evenly from one reading
//! to the next; what rounding leaves over is carried on, so that no litre is lost. The first reading of a meter opens its
//! record, and what it says was used came before that. A column `building` says whose meter it is; without one, the plant
//! must have a single building. Columns may come in any order; lines that start with `#` are comments; a byte-order mark
//! and either kind of line end are fine. Times are local standard time.

mod draws;
mod error;
mod fields;
mod header;
mod meter;
mod rows;
#[cfg(test)]
mod tests;

use std::io::Read;

use jiff::civil::Date;
use springhouse_core::draw::Draw;

pub use error::{LogError, LogErrors, MOST_ERRORS, Problem};
use header::{Column, Layout};
use meter::Meters;
use rows::Rows;

/// The largest flow a log may name, or a meter may show.
pub const MOST_FLOW_LPS: f64 = 10_000.0;

/// The longest single draw: 366 days.
const MOST_SPAN_S: f64 = 366.0 * 86_400.0;

/// Reads a log of draws, or of meter readings; `file_name` is what errors call it.
///
/// `outlets` are the names of the plant's buildings and raw loads, in the plant's order. Times count from the midnight
/// that opens `first_day`; draws before it come out with a negative start, which
/// [`DrawStream::new`](crate::DrawStream::new) clips. Rows of a log of draws may overlap and come in any order; the
/// result is sorted by start, equals in order of row. A row that wants nothing gives no draw.
///
/// # Errors
/// All that is wrong with the file.
pub fn read_log(
    mut reader: impl Read,
    file_name: &str,
    first_day: Date,
    outlets: &[String],
) -> Result<Vec<Draw>, LogErrors> {
    let mut errors = LogErrors::none(file_name);
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
    let mut draws = read_text(text, first_day, outlets, &mut errors);
    if !errors.errors.is_empty() {
        return Err(errors);
    }
    draws.sort_by_key(|draw| draw.start);
    Ok(draws)
}

fn read_text(text: &str, first_day: Date, outlets: &[String], errors: &mut LogErrors) -> Vec<Draw> {
    let mut rows = Rows::new(text);
    let (layout, width) = match rows.next() {
        Ok(Some(row)) => (header::read(&row.fields(), row.line, outlets, errors), row.len()),
        Ok(None) => {
            errors.push(None, None, Problem::Empty);
            return Vec::new();
        }
        Err(error) => {
            errors.push(None, None, Problem::Unreadable { reason: error.to_string() });
            return Vec::new();
        }
    };
    let Some(layout) = layout else { return Vec::new() };
    let mut meters = Meters::new(outlets);
    let mut read = Vec::new();
    loop {
        let row = match rows.next() {
            Ok(Some(row)) => row,
            Ok(None) => return read,
            Err(error) => {
                errors.push(None, None, Problem::Unreadable { reason: error.to_string() });
                return read;
            }
        };
        if row.len() != width {
            errors.push(Some(row.line), None, Problem::FieldCount { found: row.len(), expected: width });
            continue;
        }
        read.extend(match &layout {
            Layout::Draws(columns) => draws::read(&row, columns, first_day, outlets, errors),
            Layout::Meter(columns) => meters.read(&row, columns, first_day, outlets, errors),
        });
    }
}

impl LogErrors {
    /// The value of a field; a problem with it is told under its line and column.
    fn keep<T>(&mut self, line: u64, column: Column, result: Result<T, Problem>) -> Option<T> {
        result.map_err(|problem| self.push(Some(line), Some(column.name), problem)).ok()
    }
}
