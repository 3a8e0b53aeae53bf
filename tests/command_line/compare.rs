//! `springhouse compare`: the same mornings with other heaters, in other hours, and with more or less behind the grid.

use std::fs;

use serde_json::Value;
use tempfile::TempDir;

use crate::program::{Done, repository, springhouse};

fn scenario(name: &str) -> String {
    format!("{}/scenarios/{name}.toml", repository().display())
}

fn compare(what: &str, name: &str, args: &[&str]) -> (TempDir, Done) {
    let folder = TempDir::new().unwrap();
    let file = scenario(name);
    let done = springhouse(folder.path(), ["compare", what, file.as_str()].iter().chain(args));
    (folder, done)
}

fn json(done: &Done) -> Value {
    let json: Value = serde_json::from_str(&done.stdout).unwrap();
    assert_eq!(json["schema"], "springhouse-compare/1");
    // What is told of ways has a row in the reference.
    let reference = fs::read_to_string(repository().join("docs/outputs.md")).unwrap();
    let (_, told) = reference.split_once("\n# What `compare` writes\n").unwrap();
    for key in json["ways"].as_array().unwrap().iter().flat_map(|way| way.as_object().unwrap().keys()) {
        assert!(told.contains(&format!("`{key}`")), "docs/outputs.md has no row for {key}");
    }
    json
}

/// The figure of a way; `None` where it has none.
fn figure(json: &Value, way: &str, key: &str) -> Option<f64> {
    let ways = json["ways"].as_array().unwrap();
    let found = ways.iter().find(|it| it["way"] == way).unwrap_or_else(|| panic!("no way {way}"));
    found.get(key).map(|value| value.as_f64().unwrap())
}

/// The way that is the scenario's own has the figures of its run, to the last bit.
#[test]
fn exact_own_way_is_the_run() {
    let (folder, done) = compare("heaters", "hot-water", &["--days", "3", "--json", "--no-files"]);
    let compared = json(&done.with_code(0));
    let file = scenario("hot-water");
    let done = springhouse(folder.path(), ["run", file.as_str(), "--days", "3", "--json", "--no-files"]).with_code(0);
    let run: Value = serde_json::from_str(&done.stdout).unwrap();
    let of = |key| figure(&compared, "the scenario's own", key).unwrap();
    let heaters = run["hot_water"].as_array().unwrap();
    let lukewarm: f64 = heaters.iter().map(|heater| heater["lukewarm_minutes"].as_f64().unwrap()).sum();
    assert_eq!(of("heaters_kwh"), run["energy"]["heaters_kwh"].as_f64().unwrap());
    assert_eq!(of("lukewarm_minutes"), lukewarm);
    assert_eq!(of("lowest_storage_l"), run["water"]["lowest_storage_l"].as_f64().unwrap());
}

/// Common practice, no source: a heat pump alone takes a sixth to a half of what elements take and leaves more lukewarm; a burner
/// of 78 % with a flue burns more than elements take. All draw the same water.
#[test]
fn heaters_are_in_their_usual_order() {
    let (_, done) = compare("heaters", "hot-water", &["--days", "5", "--json", "--no-files"]);
    let json = json(&done.with_code(0));
    let kwh = |way| figure(&json, way, "heaters_kwh").unwrap() + figure(&json, way, "fuel_kwh").unwrap_or(0.0);
    let lukewarm = |way| figure(&json, way, "lukewarm_minutes").unwrap();
    assert!(kwh("heat pump only") < kwh("hybrid") && kwh("hybrid") < kwh("electric") && kwh("electric") < kwh("gas"));
    assert!((0.15..0.5).contains(&(kwh("heat pump only") / kwh("electric"))));
    assert!(lukewarm("electric") < lukewarm("hybrid") && lukewarm("hybrid") < lukewarm("heat pump only"));
    assert_eq!(kwh("gas"), kwh("propane"));
    let storage: Vec<_> =
        json["ways"].as_array().unwrap().iter().map(|way| way["lowest_storage_l"].as_f64().unwrap()).collect();
    assert!(storage.windows(2).all(|pair| pair[0] == pair[1]), "{storage:?}");
}

#[test]
fn outage_tells_what_each_feeds() {
    let (folder, done) = compare("outage", "outage", &["--json"]);
    let json = json(&done.with_code(0));
    let hours = json["outage"]["hours"].as_f64().unwrap();
    assert_eq!((hours, json["ways"].as_array().unwrap().len()), (24.0, 4));
    for way in ["nothing", "battery", "generator", "battery and generator"] {
        let of = |key| figure(&json, way, key).unwrap_or(0.0);
        let fed = of("battery_hours") + of("generator_hours") + of("dark_hours");
        assert!((fed - hours).abs() < 1e-6, "{way}: {fed} h");
        assert_eq!(of("battery_hours") > 0.0, way.contains("battery"), "{way}");
        assert!(of("outage_delivered_l") >= figure(&json, "nothing", "outage_delivered_l").unwrap());
    }
    assert_eq!(figure(&json, "nothing", "dark_hours"), Some(24.0));
    assert!(figure(&json, "nothing", "run_out_minutes") > figure(&json, "generator", "run_out_minutes"));
    // The same figures as lines of a table.
    let table = fs::read_to_string(folder.path().join("out/outage/compare-outage.csv")).unwrap();
    assert_eq!(table.lines().count(), 5);
    let head: Vec<_> = table.lines().next().unwrap().split(',').collect();
    let column = head.iter().position(|key| *key == "outage_delivered_l").unwrap();
    let cell: f64 = table.lines().nth(2).unwrap().split(',').nth(column).unwrap().parse().unwrap();
    assert_eq!(Some(cell), figure(&json, "battery", "outage_delivered_l"));
}

#[test]
fn what_cannot_be_compared_is_said() {
    let said = |what, name, args: &[&str]| {
        let (folder, done) = compare(what, name, args);
        let done = done.with_code(2);
        assert_eq!(done.stdout, "");
        assert!(!folder.path().join("out").exists());
        done.stderr
    };
    assert!(said("heaters", "slow-well", &[]).contains("no water heater"));
    assert!(said("hours", "slow-well", &[]).contains("neither a membrane unit nor a water heater"));
    assert!(said("hours", "hot-water", &[]).contains("nothing tells one hour from another"));
    assert!(said("outage", "slow-well", &["--at", "2031-01-01 06:00"]).contains("not within the run"));
    assert!(said("heaters", "hot-water", &["--for", "3 h"]).contains("belong to `compare outage`"));
    assert!(said("outage", "slow-well", &["--for", "0 h"]).contains("above zero"));
    assert!(said("outage", "slow-well", &["--at", "noon"]).contains("2027-07-04 06:00"));
}
