//! The header of a record: which unit it has, and where its columns are.

use crate::error::{Problem, RainErrors};
use crate::fields::shortened;

/// A column: its name, and its place on a row.
#[derive(Clone, Copy)]
pub(crate) struct Column {
    pub(crate) name: &'static str,
    pub(crate) place: usize,
}

/// How a record is laid out.
#[derive(Clone, Copy)]
pub(crate) struct Header {
    pub(crate) time: Column,
    pub(crate) rain: Column,
    /// Millimetres of one of the unit.
    pub(crate) unit_mm: f64,
    /// What is accepted as rain.
    pub(crate) accepted: &'static str,
}

const COLUMNS: [&str; 3] = ["time", "rain_mm", "rain_in"];

/// An inch is 25.4 mm by definition (international yard and pound agreement, 1959).
const INCH_MM: f64 = 25.4;

/// Reads a header; `None` when something is wrong with it, which is then told. Columns may come in any order.
pub(crate) fn read(fields: &[&str], line: u64, errors: &mut RainErrors) -> Option<Header> {
    let known = |field: &str| COLUMNS.into_iter().find(|name| name.eq_ignore_ascii_case(field));
    if !fields.iter().any(|field| known(field).is_some()) {
        errors.push(Some(line), None, Problem::NoHeader { found: shortened(&fields.join(",")) });
        return None;
    }
    let mut columns: Vec<Column> = Vec::new();
    let mut told = false;
    let mut tell = |column, problem| {
        told = true;
        errors.push(Some(line), column, problem);
    };
    for (place, field) in fields.iter().enumerate() {
        match known(field) {
            Some(name) if columns.iter().any(|column| column.name == name) => tell(Some(name), Problem::ColumnTwice),
            Some(name) => columns.push(Column { name, place }),
            None => tell(None, Problem::UnknownColumn { found: shortened(field), nearest: nearest(field) }),
        }
    }
    let [time, mm, inches] = COLUMNS.map(|name| columns.iter().copied().find(|column| column.name == name));
    if time.is_none() {
        tell(Some("time"), Problem::ColumnMissing);
    }
    let rain = match (mm, inches) {
        (Some(_), Some(_)) => {
            tell(None, Problem::BothUnits);
            None
        }
        (Some(mm), None) => Some((mm, 1.0, "rain in millimetres, 0 or more")),
        (None, Some(inches)) => Some((inches, INCH_MM, "rain in inches, 0 or more")),
        (None, None) => {
            tell(Some("rain_mm"), Problem::ColumnMissing);
            None
        }
    };
    let (time, (rain, unit_mm, accepted)) = (time?, rain?);
    (!told).then_some(Header { time, rain, unit_mm, accepted })
}

/// The column most like a name, if any is much like it; the beginning of one is like it.
fn nearest(field: &str) -> Option<&'static str> {
    const ALIKE: f64 = 0.6;
    let field = field.to_lowercase().replace([' ', '-'], "_");
    if field == "rain" {
        // Too short to be like either; the hint says which unit that is.
        return Some("rain_mm");
    }
    COLUMNS
        .into_iter()
        .map(|name| (strsim::normalized_damerau_levenshtein(&field, name), name))
        .filter(|(likeness, _)| *likeness >= ALIKE)
        .reduce(|best, other| if other.0 > best.0 { other } else { best })
        .map(|(_, name)| name)
}
