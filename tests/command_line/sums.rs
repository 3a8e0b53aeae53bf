//! What has flowed in the lines of `minutes.csv` adds up to the summary, for every supply of every ready scenario.

use std::fs;

use serde_json::Value;

use crate::ready::{figure, whole};

/// Columns of a supply and the figures they add up to, with the figure's unit in that of the column.
const OF_SUPPLY: [(&str, &str, f64); 9] = [
    ("pumped_l", "given_l", 1.0),
    ("inflow_l", "inflow_l", 1.0),
    ("topped_up_l", "topped_up_l", 1.0),
    ("returned_l", "returned_l", 1.0),
    ("leaked_back_l", "leaked_back_l", 1.0),
    ("spilled_l", "spilled_l", 1.0),
    ("run_s", "run_hours", 3_600.0),
    ("starts", "starts", 1.0),
    ("pump_kwh", "pump_kwh", 1.0),
];

/// The same of the membrane unit.
const OF_MEMBRANE: [(&str, &str, f64); 7] = [
    ("feed_l", "feed_l", 1.0),
    ("product_l", "product_l", 1.0),
    ("diverted_l", "diverted_l", 1.0),
    ("reject_l", "reject_l", 1.0),
    ("flushed_l", "flushed_l", 1.0),
    ("recycle_l", "recycle_l", 1.0),
    ("run_s", "run_hours", 3_600.0),
];

struct Minutes {
    head: Vec<String>,
    rows: Vec<csv::StringRecord>,
}

impl Minutes {
    fn column(&self, key: &str) -> Option<Vec<f64>> {
        let place = self.head.iter().position(|name| name == key)?;
        Some(self.rows.iter().map(|row| row[place].parse().unwrap()).collect())
    }

    /// Compares a column's sum with a figure; a column may lack where there is nothing to add up.
    #[track_caller]
    fn assert_sum(&self, scenario: &str, key: &str, expected: f64) {
        let Some(column) = self.column(key) else {
            assert_eq!(expected, 0.0, "{scenario} has no column {key}");
            return;
        };
        let sum: f64 = column.iter().sum();
        // By how much a line may be off: it is rounded to nine decimals, three or four.
        let each = match key.split(':').next() {
            Some("energy_kwh" | "pump_kwh") => 0.5e-9,
            Some("run_s") => 0.5e-3,
            Some("starts") => 0.0,
            _ => 0.5e-4,
        };
        let rounding = each * f64::from(u32::try_from(column.len()).unwrap());
        assert!((sum - expected).abs() <= rounding, "{scenario}: {key} adds up to {sum}, not {expected}");
    }
}

#[test]
fn lines_add_up_to_the_summary() {
    let mut kinds = std::collections::BTreeSet::new();
    for (name, whole) in whole() {
        let mut table = csv::Reader::from_reader(fs::File::open(whole.folder().join("minutes.csv")).unwrap());
        let head = table.headers().unwrap().iter().map(str::to_owned).collect();
        let minutes = Minutes { head, rows: table.records().map(Result::unwrap).collect() };
        let summary = whole.summary();
        let supplies = summary["supplies"].as_array().unwrap();
        for supply in supplies {
            let called = supply["name"].as_str().unwrap();
            kinds.insert(supply["kind"].as_str().unwrap().to_owned());
            for (column, key, unit) in OF_SUPPLY {
                let expected = supply.get(key).and_then(Value::as_f64).unwrap_or(0.0);
                minutes.assert_sum(name, &format!("{column}:{called}"), unit * expected);
            }
            if let Some(end_l) = supply.get("end_l").and_then(Value::as_f64) {
                let last_l = minutes.column(&format!("water_l:{called}")).and_then(|water_l| water_l.last().copied());
                assert!(last_l.is_some_and(|last_l| (last_l - end_l).abs() <= 0.5e-3), "{name}: {called} {last_l:?}");
            }
            assert!(minutes.column(&format!("on:{called}")).is_some(), "{name}: {called}");
        }
        if let Some(membrane) = summary.get("membrane") {
            for (column, key, unit) in OF_MEMBRANE {
                minutes.assert_sum(name, &format!("{column}:membrane unit"), unit * figure(membrane, key));
            }
            let pump_kwh = summary["energy"].get("membrane_pump_kwh").and_then(Value::as_f64).unwrap_or(0.0);
            minutes.assert_sum(name, "pump_kwh:membrane unit", pump_kwh);
            let feed_g = figure(membrane, "feed_salt_g");
            let ways = ["product_salt_g", "diverted_salt_g", "reject_salt_g", "flushed_salt_g", "salt_gain_g"];
            let out_g: f64 = ways.iter().map(|way| figure(membrane, way)).sum();
            // Thousands of additions, each rounded to 1e-16 of the sum.
            assert!((feed_g - out_g).abs() < 1e-11 * feed_g, "{name}: {feed_g} g in, {out_g} g out or kept");
            let end_mg_l = figure(membrane, "loop_salt_mg_l");
            let last_mg_l = minutes.column("loop_salt_mg_l:membrane unit").and_then(|salt| salt.last().copied());
            assert!(last_mg_l.is_some_and(|last| (last - end_mg_l).abs() <= 0.5e-3), "{name}: {last_mg_l:?}");
        }
        let given_l = supplies.iter().map(|supply| figure(supply, "given_l")).sum();
        minutes.assert_sum(name, "pumped_l", given_l);
        minutes.assert_sum(name, "energy_kwh", figure(&summary, "energy.total_kwh"));
        for outlet in summary["outlets"].as_array().unwrap() {
            let column = format!("delivered_l:{}", outlet["name"].as_str().unwrap());
            minutes.assert_sum(name, &column, figure(outlet, "delivered_l"));
        }
    }
    assert!(kinds.iter().eq(["cistern", "pond", "town_line", "well"]), "only {kinds:?} are tested");
}
