//! `minutes.csv`, `days.csv` and `events.csv`: metric, with the unit in the key. A part the scenario lacks has no column.

mod by_day;
mod columns;

use std::io::Write;

use ::csv::Writer;
use springhouse_sim::names;

use crate::numbers::fixed;
use crate::{Run, calendar, words};

/// Writes `minutes.csv`: one line for each row of the grid.
///
/// A key alone is of the whole plant, `key:NAME` of the part of that name, however many there are. What has flowed is what
/// has flowed since the line before.
///
/// # Errors
/// When `out` cannot be written to.
pub fn minutes(run: &Run<'_>, out: impl Write) -> ::csv::Result<()> {
    let columns = columns::all(run);
    let mut table = Writer::from_writer(out);
    table.write_record(columns.iter().map(|column| &column.key))?;
    let mut before = run.outcome.rows.first();
    for row in &run.outcome.rows {
        table.write_record(columns.iter().map(|column| column.cell(row, before.unwrap_or(row))))?;
        before = Some(row);
    }
    table.flush()?;
    Ok(())
}

/// Writes `days.csv`: one line for each day that was kept. A cell is empty where a day has no such value.
///
/// # Errors
/// When `out` cannot be written to.
pub fn days(run: &Run<'_>, out: impl Write) -> ::csv::Result<()> {
    let columns = by_day::all(run);
    let mut table = Writer::from_writer(out);
    table.write_record(core::iter::once("date").chain(columns.iter().map(|column| column.key.as_str())))?;
    for (number, day) in (0_i64..).zip(&run.outcome.days) {
        let date = calendar::date(run.first_day, number).to_string();
        table.write_record(core::iter::once(date).chain(columns.iter().map(|column| (column.cell)(day))))?;
    }
    table.flush()?;
    Ok(())
}

/// Writes `events.csv`: what happened, in order of time, each with a sentence in plain words.
///
/// # Errors
/// When `out` cannot be written to.
pub fn events(run: &Run<'_>, out: impl Write) -> ::csv::Result<()> {
    let plant = &run.scenario.plant;
    let mut table = Writer::from_writer(out);
    table.write_record(["time", "part", "event", "value", "unit", "text"])?;
    for event in &run.outcome.events {
        let unit = words::event_unit(plant, event);
        let value = match unit {
            "" => String::new(),
            "L/s" => fixed(event.value, 6),
            _ => fixed(event.value, 3),
        };
        table.write_record([
            calendar::iso_millis(run.first_day, event.time).as_str(),
            &names::part(plant, event.part),
            words::event_key(event.kind),
            &value,
            unit,
            &words::event(plant, event),
        ])?;
    }
    table.flush()?;
    Ok(())
}
