//! `minutes.csv` and `events.csv`: metric, with the unit in the key. A part the scenario lacks has no column.

use std::io::Write;

use ::csv::Writer;
use springhouse_core::observe::{OutletTotals, Totals};
use springhouse_core::outlet::{Header, Role};
use springhouse_sim::{Row, names};

use crate::numbers::fixed;
use crate::{Run, calendar, words};

const J_PER_KWH: f64 = 3.6e6;
/// A drive at rest takes a ten-thousandth of a kilowatt hour in a minute: fewer would not add up to the summary's figures.
const KWH_DECIMALS: usize = 9;

/// One column: its key and what stands in it, from a row and the row before.
struct Column<'a> {
    key: String,
    cell: Cell<'a>,
}

type Cell<'a> = Box<dyn Fn(&Row, &Row) -> String + 'a>;

/// Columns of what is so at the row's instant.
fn at_instant<'a>(run: &Run<'a>) -> Vec<Column<'a>> {
    let first_day = run.first_day;
    let now = |key: &str, decimals: usize, value: fn(&Row) -> f64| Column {
        key: key.to_owned(),
        cell: Box::new(move |row, _| fixed(value(row), decimals)),
    };
    let mut columns = vec![Column {
        key: "time".to_owned(),
        cell: Box::new(move |row, _| calendar::iso_seconds(first_day, row.time)),
    }];
    let plant = &run.scenario.plant;
    // It stands beside the pressure that feeds the house.
    let lowest = || now("lowest_pressure_kpa", 3, |row| row.lowest_house_kpa);
    columns.push(now("pressure_kpa", 3, |row| row.raw_kpa));
    columns.extend((plant.house_header() == Header::Raw).then(lowest));
    columns.push(now("drawdown_m", 4, |row| row.sources[0]));
    if plant.store.is_some() {
        columns.push(now("storage_l", 3, |row| row.storage_l));
        columns.push(now("delivery_pressure_kpa", 3, |row| row.delivery_kpa));
    }
    columns.extend((plant.house_header() == Header::Delivery).then(lowest));
    columns.push(now("well_pump_on", 0, |row| f64::from(u8::from(row.pump_on[0]))));
    columns.push(now("wanted_lps", 6, |row| row.wanted_lps));
    columns
}

/// Columns of what has flowed since the row before.
fn since_last<'a>(run: &Run<'a>) -> Vec<Column<'a>> {
    let outlets = &run.scenario.plant.outlets;
    let gain = |key: String, decimals: usize, total: Box<dyn Fn(&Totals) -> f64 + 'a>| Column {
        key,
        cell: Box::new(move |row, before| fixed(total(&row.totals) - total(&before.totals), decimals)),
    };
    let sum = |role: Role, part: fn(&OutletTotals) -> f64| -> Box<dyn Fn(&Totals) -> f64 + 'a> {
        Box::new(move |totals| {
            let of_role = outlets.iter().zip(&totals.outlets).filter(|(outlet, _)| outlet.role == role);
            of_role.map(|(_, outlet)| part(outlet)).sum()
        })
    };
    let mut columns = vec![gain("pumped_l".to_owned(), 4, Box::new(|t| t.supplies[0].pumped_l))];
    if run.scenario.plant.store.is_some() {
        columns.push(gain("filled_l".to_owned(), 4, Box::new(|t| t.filled_l)));
    }
    columns.push(gain("delivered_l".to_owned(), 4, sum(Role::Building, |t| t.delivered_l)));
    columns.push(gain("lost_l".to_owned(), 4, sum(Role::Building, |t| t.lost_l)));
    if outlets.iter().any(|outlet| outlet.role == Role::RawLoad) {
        columns.push(gain("raw_loads_l".to_owned(), 4, sum(Role::RawLoad, |t| t.delivered_l)));
        columns.push(gain("raw_lost_l".to_owned(), 4, sum(Role::RawLoad, |t| t.lost_l)));
    }
    for (index, outlet) in outlets.iter().enumerate() {
        let total = move |t: &Totals| t.outlets.get(index).map_or(0.0, |outlet| outlet.delivered_l);
        columns.push(gain(format!("delivered_l:{}", outlet.name), 4, Box::new(total)));
    }
    columns.push(gain("well_pump_kwh".to_owned(), KWH_DECIMALS, Box::new(|t| t.supplies[0].pump_j / J_PER_KWH)));
    if run.scenario.plant.store.is_some() {
        columns.push(gain("delivery_kwh".to_owned(), KWH_DECIMALS, Box::new(|t| t.delivery_j / J_PER_KWH)));
    }
    columns.push(gain("well_pump_run_s".to_owned(), 3, Box::new(|t| t.supplies[0].run_s)));
    columns
}

/// Writes `minutes.csv`: one line for each row of the grid.
///
/// `delivered_l` and `lost_l` are of the buildings, `raw_loads_l` and `raw_lost_l` of the raw loads; `delivered_l:NAME` is
/// of one outlet. What has flowed is what has flowed since the line before.
///
/// # Errors
/// When `out` cannot be written to.
pub fn minutes(run: &Run<'_>, out: impl Write) -> ::csv::Result<()> {
    let mut columns = at_instant(run);
    columns.extend(since_last(run));
    let mut table = Writer::from_writer(out);
    table.write_record(columns.iter().map(|column| &column.key))?;
    let mut before = run.outcome.rows.first();
    for row in &run.outcome.rows {
        table.write_record(columns.iter().map(|column| (column.cell)(row, before.unwrap_or(row))))?;
        before = Some(row);
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
