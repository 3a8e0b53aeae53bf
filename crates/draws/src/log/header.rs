//! The header of a log: which of the three kinds it is, and where its columns are.

use super::error::{LogErrors, Problem};
use super::fields::{names, nearest, shortened};
use super::{draws, meter};

/// A column: its name, and its place on a row.
#[derive(Clone, Copy)]
pub(crate) struct Column {
    pub(crate) name: &'static str,
    pub(crate) place: usize,
}

/// How a log is laid out.
#[derive(Clone, Copy)]
pub(crate) enum Layout {
    /// One draw a row.
    Draws(draws::Columns),
    /// One meter reading a row.
    Meter(meter::Columns),
}

/// The unit of a column that may come in one or the other.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Unit {
    /// Litres, or litres a second.
    Metric,
    /// US gallons, or US gallons a minute.
    Us,
}

/// What a meter reading says.
#[derive(Clone, Copy)]
pub(crate) enum Reading {
    /// The register of the meter.
    Register,
    /// What was used since the row before.
    Used,
}

const DRAW_COLUMNS: [&str; 6] = ["start", "building", "flow_lps", "flow_gpm", "duration_s", "kind"];
const METER_COLUMNS: [&str; 6] = ["time", "litres", "litres_used", "gallons", "gallons_used", "building"];

/// The columns that say how much, of which a log has one.
const FLOWS: [(&str, Unit); 2] = [("flow_lps", Unit::Metric), ("flow_gpm", Unit::Us)];
const READINGS: [(&str, (Reading, Unit)); 4] = [
    ("litres", (Reading::Register, Unit::Metric)),
    ("litres_used", (Reading::Used, Unit::Metric)),
    ("gallons", (Reading::Register, Unit::Us)),
    ("gallons_used", (Reading::Used, Unit::Us)),
];

/// Reads a header; `None` when something is wrong with it, which is then told. Columns may come in any order.
pub(crate) fn read(fields: &[&str], line: u64, outlets: &[String], errors: &mut LogErrors) -> Option<Layout> {
    let has = |name: &str| fields.iter().any(|field| field.eq_ignore_ascii_case(name));
    let is_meter = has("time") || READINGS.iter().any(|(name, _)| has(name));
    let is_draws = has("start") || FLOWS.iter().any(|(name, _)| has(name)) || has("duration_s");
    if !is_meter && !is_draws {
        errors.push(Some(line), None, Problem::NoHeader { found: shortened(&fields.join(",")) });
        return None;
    }
    let (known, accepted): (&[&'static str], _) = if is_meter {
        (&METER_COLUMNS, "`time`, one of `litres`, `litres_used`, `gallons` and `gallons_used`, `building`")
    } else {
        (&DRAW_COLUMNS, "`start`, `building`, `flow_lps` or `flow_gpm`, `duration_s`, `kind`")
    };
    let before = errors.errors.len() + errors.more;
    let mut columns: Vec<Column> = Vec::with_capacity(fields.len());
    for (place, field) in fields.iter().enumerate() {
        match known.iter().find(|name| name.eq_ignore_ascii_case(field)) {
            Some(name) if columns.iter().any(|column| column.name == *name) => {
                errors.push(Some(line), Some(name), Problem::ColumnTwice);
            }
            Some(name) => columns.push(Column { name, place }),
            None => {
                let nearest = nearest(field, known.iter().copied());
                errors.push(Some(line), None, Problem::UnknownColumn { found: shortened(field), accepted, nearest });
            }
        }
    }
    let find = |name: &str| columns.iter().copied().find(|column| column.name == name);
    let layout = if is_meter {
        let time = need("time", find("time"), line, errors);
        let litres = one_of(&READINGS, find, line, errors);
        let building = find("building");
        if building.is_none() && outlets.len() != 1 {
            errors.push(Some(line), None, Problem::BuildingNeeded { names: names(outlets) });
        }
        let (amount, (reading, unit)) = litres?;
        Layout::Meter(meter::Columns { time: time?, amount, reading, unit, building })
    } else {
        let start = need("start", find("start"), line, errors);
        let building = need("building", find("building"), line, errors);
        let flow = one_of(&FLOWS, find, line, errors);
        let duration = need("duration_s", find("duration_s"), line, errors);
        let kind = find("kind");
        let (flow, unit) = flow?;
        Layout::Draws(draws::Columns { start: start?, building: building?, flow, unit, duration: duration?, kind })
    };
    (errors.errors.len() + errors.more == before).then_some(layout)
}

/// A column that cannot be done without.
fn need(name: &'static str, found: Option<Column>, line: u64, errors: &mut LogErrors) -> Option<Column> {
    if found.is_none() {
        errors.push(Some(line), Some(name), Problem::ColumnMissing);
    }
    found
}

/// The one column there is of several that say the same; the first of them is the one that is missed.
fn one_of<T: Copy>(
    columns: &[(&'static str, T)],
    find: impl Fn(&str) -> Option<Column>,
    line: u64,
    errors: &mut LogErrors,
) -> Option<(Column, T)> {
    let mut found = columns.iter().filter_map(|(name, meaning)| Some((find(name)?, *meaning)));
    let first = found.next();
    if let (Some((first, _)), Some((second, _))) = (first, found.next()) {
        errors.push(Some(line), None, Problem::SameTwice { first: first.name, second: second.name });
        return None;
    }
    if first.is_none() {
        let name = columns.first().map(|(name, _)| *name);
        errors.push(Some(line), name, Problem::ColumnMissing);
    }
    first
}

impl Unit {
    /// Litres in a US gallon: 231 cubic inches.
    const US_GALLON_L: f64 = 3.785_411_784;

    /// Litres of a volume in this unit.
    pub(crate) fn litres(self, volume: f64) -> f64 {
        match self {
            Self::Metric => volume,
            Self::Us => Self::US_GALLON_L * volume,
        }
    }

    /// Litres a second of a flow in this unit.
    pub(crate) fn lps(self, flow: f64) -> f64 {
        match self {
            Self::Metric => flow,
            Self::Us => Self::US_GALLON_L * flow / 60.0,
        }
    }
}
