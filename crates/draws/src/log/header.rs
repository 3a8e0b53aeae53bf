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

/// What a meter reading says.
#[derive(Clone, Copy)]
pub(crate) enum Reading {
    /// The register of the meter.
    Register,
    /// Litres since the row before.
    Used,
}

const DRAW_COLUMNS: [&str; 5] = ["start", "building", "flow_lps", "duration_s", "kind"];
const METER_COLUMNS: [&str; 4] = ["time", "litres", "litres_used", "building"];

/// Reads a header; `None` when something is wrong with it, which is then told. Columns may come in any order.
pub(crate) fn read(fields: &[&str], line: u64, outlets: &[String], errors: &mut LogErrors) -> Option<Layout> {
    let has = |name: &str| fields.iter().any(|field| field.eq_ignore_ascii_case(name));
    let is_meter = has("time") || has("litres") || has("litres_used");
    let is_draws = has("start") || has("flow_lps") || has("duration_s");
    if !is_meter && !is_draws {
        errors.push(Some(line), None, Problem::NoHeader { found: shortened(&fields.join(",")) });
        return None;
    }
    let (known, accepted): (&[&'static str], _) = if is_meter {
        (&METER_COLUMNS, "`time`, `litres` or `litres_used`, `building`")
    } else {
        (&DRAW_COLUMNS, "`start`, `building`, `flow_lps`, `duration_s`, `kind`")
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
    let find = |name: &'static str| columns.iter().copied().find(|column| column.name == name);
    let mut need = |name: &'static str| {
        let column = find(name);
        if column.is_none() {
            errors.push(Some(line), Some(name), Problem::ColumnMissing);
        }
        column
    };
    let layout = if is_meter {
        let time = need("time");
        let (litres, reading) = match (find("litres"), find("litres_used")) {
            (Some(_), Some(_)) => {
                errors.push(Some(line), None, Problem::TwoReadings);
                return None;
            }
            (None, Some(used)) => (Some(used), Reading::Used),
            (_, None) => (need("litres"), Reading::Register),
        };
        let building = find("building");
        if building.is_none() && outlets.len() != 1 {
            errors.push(Some(line), None, Problem::BuildingNeeded { names: names(outlets) });
        }
        Layout::Meter(meter::Columns { time: time?, litres: litres?, reading, building })
    } else {
        let (start, building) = (need("start"), need("building"));
        let (flow, duration) = (need("flow_lps"), need("duration_s"));
        let kind = find("kind");
        Layout::Draws(draws::Columns { start: start?, building: building?, flow: flow?, duration: duration?, kind })
    };
    (errors.errors.len() + errors.more == before).then_some(layout)
}
