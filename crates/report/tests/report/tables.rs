//! CSV and JSON: what tools read.

use springhouse_core::outlet::Role;
use springhouse_report::{Run, csv, json};
use springhouse_scenario::Units;

use crate::invented::{Case, HOUSES, crowded, sound, troubled};

fn minutes(run: &Run<'_>) -> String {
    let mut bytes = Vec::new();
    csv::minutes(run, &mut bytes).unwrap();
    String::from_utf8(bytes).unwrap()
}

fn events(run: &Run<'_>) -> String {
    let mut bytes = Vec::new();
    csv::events(run, &mut bytes).unwrap();
    String::from_utf8(bytes).unwrap()
}

/// Column `key` as numbers.
fn column(text: &str, key: &str) -> Vec<f64> {
    let mut table = ::csv::Reader::from_reader(text.as_bytes());
    let place = table.headers().unwrap().iter().position(|name| name == key).unwrap();
    table.records().map(|record| record.unwrap()[place].parse().unwrap()).collect()
}

#[test]
fn regress_minutes_of_a_morning() {
    let mut case = sound(1, &HOUSES, true, 60);
    case.outcome.rows.truncate(9);
    insta::assert_snapshot!(minutes(&case.run(Units::Us)));
}

#[test]
fn regress_events_of_a_troubled_week() {
    insta::assert_snapshot!(events(&troubled().run(Units::Us)));
}

#[test]
fn regress_json_keeps_its_keys() {
    insta::assert_snapshot!(json::summary(&troubled().outcome.summary).unwrap());
}

#[test]
fn parts_that_are_missing_have_no_column() {
    let bare = minutes(&sound(1, &[("House", Role::Building)], false, 60).run(Units::Us));
    let head = bare.lines().next().unwrap();
    let missing = [
        "storage_l",
        "delivery_pressure_kpa",
        "filled_l",
        "spilled_l",
        "drained_l",
        "delivery_kwh",
        "lamps_kwh",
        "raw_loads_l",
        "water_l",
        "topped_up_l",
        "leaked_back_l",
    ];
    for key in missing {
        assert!(!head.split(',').any(|column| column.split(':').next() == Some(key)), "{key} in {head}");
    }
}

#[test]
fn exact_columns_add_up_to_the_totals() {
    let case = sound(2, &HOUSES, true, 5);
    let text = minutes(&case.run(Units::Us));
    let totals = case.outcome.rows.last().unwrap().totals;
    let buildings = totals.outlets[0].delivered_l + totals.outlets[1].delivered_l;
    let expected = [
        ("pumped_l", totals.supplies[0].pumped_l),
        ("delivered_l", buildings),
        ("raw_loads_l", totals.outlets[2].delivered_l),
        ("delivered_l:Cottage", totals.outlets[1].delivered_l),
        ("run_s:well", totals.supplies[0].run_s),
        ("pump_kwh:well", totals.supplies[0].pump_j / 3.6e6),
    ];
    for (key, total) in expected {
        let sum: f64 = column(&text, key).iter().sum();
        // Every one of the 577 lines is rounded to four decimals or more.
        assert!((sum - total).abs() < 577.0 * 0.5e-4, "{key}: {sum} for {total}");
    }
}

#[test]
fn units_of_the_reader_change_no_byte() {
    let case: Case = troubled();
    assert_eq!(minutes(&case.run(Units::Us)), minutes(&case.run(Units::Metric)));
    assert_eq!(events(&case.run(Units::Us)), events(&case.run(Units::Metric)));
}

#[test]
fn odd_names_come_back_whole() {
    let case = crowded(1);
    let text = minutes(&case.run(Units::Us));
    let mut table = ::csv::Reader::from_reader(text.as_bytes());
    let head = table.headers().unwrap().clone();
    for outlet in &case.scenario.plant.outlets {
        assert!(head.iter().any(|key| key == format!("delivered_l:{}", outlet.name)), "{:?}", outlet.name);
    }
}
