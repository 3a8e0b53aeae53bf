//! The same question gets the same bytes: run twice, at any grid, in any units, in either language.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;
use std::sync::OnceLock;

use tempfile::TempDir;

use crate::program::{repository, run};
use crate::ready::{Ready, all, path, whole};

/// What must not hang on grid, units or language.
const RESULTS: [&str; 2] = ["summary.json", "events.csv"];

fn results(folder: &Path) -> [String; 2] {
    RESULTS.map(|name| fs::read_to_string(folder.join(name)).unwrap())
}

/// The results of the first two days.
fn two_days(ready: &Ready, args: &[&str]) -> [String; 2] {
    let out = TempDir::new().unwrap();
    let fixed = ["--days", "2", "--quiet", "--out", out.path().to_str().unwrap()];
    run(repository(), &ready.path, &[&fixed, args].concat()).with_code(0);
    results(out.path())
}

/// The results of the first two days of each ready scenario, with a row a minute, which is the default.
fn plain() -> &'static [(Ready, [String; 2])] {
    static PLAIN: OnceLock<Vec<(Ready, [String; 2])>> = OnceLock::new();
    PLAIN.get_or_init(|| {
        let with_results = |ready: Ready| {
            let results = two_days(&ready, &[]);
            (ready, results)
        };
        all().into_iter().map(with_results).collect()
    })
}

fn change_no_result(args: &[&str]) {
    for (ready, plain) in plain() {
        let other = two_days(ready, args);
        for ((name, plain), other) in RESULTS.iter().zip(plain).zip(&other) {
            assert!(plain == other, "{name} of {} differs with {args:?}", ready.name);
        }
    }
}

// Grid and units together: each run more takes seconds.

#[test]
fn grid_of_a_second_and_us_units_change_no_result() {
    change_no_result(&["--grid", "1", "--units", "us"]);
}

#[test]
fn grid_of_five_seconds_and_metric_units_change_no_result() {
    change_no_result(&["--grid", "5", "--units", "metric"]);
}

#[test]
fn same_run_gives_the_same_bytes() {
    // Every file, plots too.
    let again = TempDir::new().unwrap();
    run(repository(), &path("direct"), &["--out", again.path().to_str().unwrap()]).with_code(0);
    let (first, again) = (files(whole()["direct"].folder()), files(again.path()));
    assert!(first.len() >= 5 && first.contains_key("levels.png"), "{:?}", first.keys());
    assert_eq!(first.keys().collect::<Vec<_>>(), again.keys().collect::<Vec<_>>());
    for (file, bytes) in &first {
        assert!(Some(bytes) == again.get(file), "{file} differs");
    }
}

fn files(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    let entries = fs::read_dir(folder).unwrap().map(Result::unwrap);
    entries.map(|entry| (entry.file_name().into_string().unwrap(), fs::read(entry.path()).unwrap())).collect()
}

#[test]
fn same_scenario_in_json_gives_the_same_bytes() {
    // Incidents too have dates, which JSON writes as text.
    let toml = fs::read_to_string(path("power-out")).unwrap();
    let json = as_json(&toml::Value::Table(toml::from_str(&toml).unwrap()));
    assert!(json["incident"][0]["start"].is_string());
    let folder = TempDir::new().unwrap();
    // The name of a scenario is that of its file.
    let twin = folder.path().join("power-out.json");
    fs::write(&twin, serde_json::to_string_pretty(&json).unwrap()).unwrap();
    run(folder.path(), &twin, &["--quiet", "--out", "twin"]).with_code(0);
    assert!(results(&folder.path().join("twin")) == results(whole()["power-out"].folder()));
}

fn as_json(value: &toml::Value) -> serde_json::Value {
    match value {
        toml::Value::String(text) => text.as_str().into(),
        toml::Value::Integer(whole) => (*whole).into(),
        toml::Value::Float(number) => (*number).into(),
        toml::Value::Boolean(yes) => (*yes).into(),
        toml::Value::Datetime(moment) => moment.to_string().into(),
        toml::Value::Array(items) => items.iter().map(as_json).collect(),
        toml::Value::Table(table) => table.iter().map(|(key, value)| (key.clone(), as_json(value))).collect(),
    }
}
