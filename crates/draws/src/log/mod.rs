//! Logged draws and meter readings, from CSV.
//!
//! | header | a row is |
//! | --- | --- |
//! | `start,building,flow_lps,duration_s` | a draw; a column `kind` may say `timed` (default) or `volume`, one of `wanted_c` or `wanted_f` how warm it is wanted |
//! | `time,litres` | the register of a meter, which must not fall |
//! | `time,litres_used` | litres since the row before |
//!
//! In place of `flow_lps`, `litres` and `litres_used`, `flow_gpm`, `gallons` and `gallons_used` hold US gallons.
//! Readings become [`DrawKind::Volume`](springhouse_core::draw::DrawKind::Volume) draws, spread evenly from one reading
//! to the next; what rounding leaves over is carried on, so that no litre is lost. The first reading of a meter opens its
//! record, and what it says was used came before that. A column `building` says whose meter it is; without one, the plant
//! must have a single building.

mod draws;
mod error;
mod header;
mod meter;
#[cfg(test)]
mod tests;

use std::io::Read;

use jiff::civil::Date;
use springhouse_core::draw::Draw;
use springhouse_table::{Rows, nearest, shortened};

pub use error::{LogErrors, Problem};
use header::{HEADERS, Layout};
use meter::Meters;

pub use springhouse_core::draw::MOST_FLOW_LPS;

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
    reader: impl Read,
    file_name: &str,
    first_day: Date,
    outlets: &[String],
) -> Result<Vec<Draw>, LogErrors> {
    let mut draws = springhouse_table::read(reader, file_name, HEADERS, |first, rows, errors| {
        let layout = header::read(first, outlets, errors);
        layout.map_or_else(Vec::new, |layout| read_rows(rows, &layout, first_day, outlets, errors))
    })?;
    draws.sort_by_key(|draw: &Draw| draw.start);
    Ok(draws)
}

fn read_rows(
    rows: Rows<'_>,
    layout: &Layout,
    first_day: Date,
    outlets: &[String],
    errors: &mut LogErrors,
) -> Vec<Draw> {
    let mut meters = Meters::new(outlets);
    let mut read = Vec::new();
    for row in rows {
        match (row, layout) {
            (Err((line, problem)), _) => errors.push(Some(line), None, problem),
            (Ok(row), Layout::Draws(columns)) => read.extend(draws::read(&row, columns, first_day, outlets, errors)),
            (Ok(row), Layout::Meter(columns)) => read.extend(meters.read(&row, columns, first_day, outlets, errors)),
        }
    }
    read
}

/// The index of a building by its name; where there is only one, no name is needed.
fn building(text: &str, outlets: &[String]) -> Result<usize, Problem> {
    if text.is_empty() {
        return match outlets.len() {
            1 => Ok(0),
            _ => Err(Problem::FieldEmpty { accepted: format!("one of {}", names(outlets)) }),
        };
    }
    outlets.iter().position(|name| name == text).ok_or_else(|| Problem::UnknownBuilding {
        found: shortened(text),
        names: names(outlets),
        nearest: nearest(text, outlets.iter().map(String::as_str)).map(str::to_owned),
    })
}

/// Names in quotes, separated by commas.
fn names(outlets: &[String]) -> String {
    outlets.iter().map(|name| format!("`{name}`")).collect::<Vec<_>>().join(", ")
}
