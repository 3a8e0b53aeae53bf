//! Rows that are meter readings: what was used between two of them is drawn evenly from one to the other.

use jiff::civil::Date;
use springhouse_core::draw::{Draw, DrawKind, Flow, Warmth};
use springhouse_core::time::Time;
use springhouse_table::{Column, Row, number, shortened, time};

use super::error::{LogErrors, Problem};
use super::header::{Reading, Unit};
use super::{MOST_FLOW_LPS, building};

/// Where the columns of a log of readings are, and what a reading says.
#[derive(Clone, Copy)]
pub(crate) struct Columns {
    pub(crate) time: Column,
    pub(crate) amount: Column,
    pub(crate) reading: Reading,
    pub(crate) unit: Unit,
    pub(crate) building: Option<Column>,
}

/// The meters, one for each outlet.
pub(crate) struct Meters {
    last: Vec<Option<Last>>,
}

/// The reading before.
#[derive(Clone, Copy)]
struct Last {
    time: Time,
    register_nl: i128,
    line: u64,
    /// Water read but not yet drawn, since a flow is a whole number of nanolitres a second: in 1e-9 nL, never negative,
    /// and less than a nanolitre a second over the interval that left it.
    carried: i128,
}

/// The largest register or use that is read, in litres or gallons: as nanolitres, sums stay far within `i128`.
const MOST: f64 = 1e12;

const NANO: i128 = 1_000_000_000;

impl Meters {
    pub(crate) fn new(outlets: &[String]) -> Self {
        Self { last: vec![None; outlets.len()] }
    }

    /// The draw that ends with a row; `None` for the first of a meter, when nothing was used, or where something is
    /// wrong, which is then told.
    pub(crate) fn read(
        &mut self,
        row: &Row<'_>,
        columns: &Columns,
        first_day: Date,
        outlets: &[String],
        errors: &mut LogErrors,
    ) -> Option<Draw> {
        let text = |column: Column| row.field(column);
        let outlet = match columns.building {
            None => Some(0),
            Some(column) => errors.keep(row.line, column.name, building(text(column), outlets)),
        };
        let time = errors.keep(row.line, columns.time.name, time(text(columns.time), first_day));
        let accepted = match columns.unit {
            Unit::Metric => "litres, 0 or more, at most 1e12",
            Unit::Us => "US gallons, 0 or more, at most 1e12",
        };
        let amount = number(text(columns.amount), accepted, |amount| (0.0..=MOST).contains(&amount));
        let litres = errors.keep(row.line, columns.amount.name, amount).map(|amount| columns.unit.litres(amount));
        let (outlet, time, nl) = (outlet?, time?, nanolitres(litres?));

        let meter = self.last.get_mut(outlet)?;
        let Some(last) = *meter else {
            *meter = Some(Last { time, register_nl: nl, line: row.line, carried: 0 });
            return None;
        };
        if time <= last.time {
            let found = shortened(text(columns.time));
            let problem = Problem::OutOfOrder { found, before_line: last.line };
            errors.push(Some(row.line), Some(columns.time.name), problem);
            return None;
        }
        let used_nl = match columns.reading {
            Reading::Register => nl - last.register_nl,
            Reading::Used => nl,
        };
        let (draw, carried) = spread(used_nl, &last, time, outlet);
        // Kept even when this row is wrong: one wrong row is told once, not on every row after it.
        *meter = Some(Last { time, register_nl: nl, line: row.line, carried });
        let found = || shortened(text(columns.amount));
        let flow_lps = draw.map_or(0.0, |draw| draw.flow.lps());
        if used_nl < 0 {
            let problem = Problem::RegisterFalls { found: found(), before_line: last.line };
            errors.push(Some(row.line), Some(columns.amount.name), problem);
        } else if flow_lps > MOST_FLOW_LPS {
            let problem = Problem::TooMuch { found: found(), flow_lps, before_line: last.line };
            errors.push(Some(row.line), Some(columns.amount.name), problem);
        } else {
            return draw;
        }
        None
    }
}

/// A draw of the water used since the reading before, and what is left of it to carry to the next.
fn spread(used_nl: i128, last: &Last, time: Time, outlet: usize) -> (Option<Draw>, i128) {
    // An interval without use stays still, even when something is carried.
    if used_nl <= 0 {
        return (None, last.carried);
    }
    let wanted = used_nl * NANO + last.carried;
    let span_ns = i128::from((time - last.time).ns());
    let flow = i64::try_from(wanted / span_ns).unwrap_or(i64::MAX);
    let (flow_now, kind, warmth) = (Flow::from_nl_per_s(flow), DrawKind::Volume, Warmth::COLD);
    let draw = Draw { start: last.time, end: time, outlet, flow: flow_now, kind, warmth };
    ((flow > 0).then_some(draw), wanted - i128::from(flow) * span_ns)
}

/// The nearest whole nanolitre.
#[expect(clippy::cast_possible_truncation, reason = "at most 4e21, far within i128")]
fn nanolitres(litres: f64) -> i128 {
    (litres * 1e9).round() as i128
}
