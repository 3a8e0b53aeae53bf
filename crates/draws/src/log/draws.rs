//! Rows that are draws.

use jiff::civil::Date;
use springhouse_core::draw::{Draw, DrawKind, Flow, Warmth};
use springhouse_core::time::{Span, Time};
use springhouse_table::{Column, Row, number, shortened, time};

use super::error::{LogErrors, Problem};
use super::header::Unit;
use super::{MOST_FLOW_LPS, MOST_SPAN_S, building};

/// No tap gives hotter water.
const HOTTEST_C: f64 = 100.0;

/// Where the columns of a log of draws are.
#[derive(Clone, Copy)]
pub(crate) struct Columns {
    pub(crate) start: Column,
    pub(crate) building: Column,
    pub(crate) flow: Column,
    pub(crate) unit: Unit,
    pub(crate) duration: Column,
    pub(crate) kind: Option<Column>,
    /// How warm it is wanted.
    pub(crate) warmth: Option<(Column, Unit)>,
}

/// The draw of a row; `None` where something is wrong, which is then told, or where nothing is wanted.
pub(crate) fn read(
    row: &Row<'_>,
    columns: &Columns,
    first_day: Date,
    outlets: &[String],
    errors: &mut LogErrors,
) -> Option<Draw> {
    let field = |column: Column| row.field(column);
    // Every field is read before any is given up, so that all errors of a row are told.
    let start = time(field(columns.start), first_day);
    let start = errors.keep(row.line, columns.start.name, start);
    let outlet = building(field(columns.building), outlets);
    let outlet = errors.keep(row.line, columns.building.name, outlet);
    let accepted = match columns.unit {
        Unit::Metric => "a flow in L/s from 0 to 10000",
        Unit::Us => "a flow in US gallons a minute from 0 to 158500",
    };
    let lps = |flow: f64| columns.unit.lps(flow);
    let flow = number(field(columns.flow), accepted, |flow| (0.0..=MOST_FLOW_LPS).contains(&lps(flow)));
    let flow = errors.keep(row.line, columns.flow.name, flow).map(lps);
    let length = number(field(columns.duration), "a duration in seconds, above 0, at most 366 days", |s| {
        s <= MOST_SPAN_S && Span::from_s(s) > Span::ZERO
    });
    let length = errors.keep(row.line, columns.duration.name, length);
    let kind = match columns.kind {
        None => Some(DrawKind::Timed),
        Some(column) => errors.keep(row.line, column.name, kind(field(column))),
    };
    let warmth = match columns.warmth {
        None => Some(Warmth::COLD),
        Some((column, unit)) => errors.keep(row.line, column.name, warmth(field(column), unit)),
    };
    let (start, length, outlet): (Time, _, _) = (start?, Span::from_s(length?), outlet?);
    let (flow, kind, warmth) = (Flow::from_lps(flow?), kind?, warmth?);
    (flow > Flow::ZERO).then_some(Draw { start, end: start + length, outlet, flow, kind, warmth })
}

/// How warm water is wanted; an empty field is cold water.
fn warmth(text: &str, unit: Unit) -> Result<Warmth, Problem> {
    if text.is_empty() {
        return Ok(Warmth::COLD);
    }
    let accepted = match unit {
        Unit::Metric => "a temperature in °C above 0, at most 100, or nothing for cold water",
        Unit::Us => "a temperature in °F above 32, at most 212, or nothing for cold water",
    };
    let wanted = number(text, accepted, |wanted| unit.celsius(wanted) > 0.0 && unit.celsius(wanted) <= HOTTEST_C)?;
    Ok(Warmth::from_c(unit.celsius(wanted)))
}

fn kind(text: &str) -> Result<DrawKind, Problem> {
    match text {
        "" | "timed" => Ok(DrawKind::Timed),
        "volume" => Ok(DrawKind::Volume),
        _ => Err(Problem::UnknownKind { found: shortened(text) }),
    }
}
