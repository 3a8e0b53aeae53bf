//! Logged draws and meter readings: the litres they bring, and what is said of a broken one.

use std::fs;
use std::path::{Path, PathBuf};

use tempfile::TempDir;

use crate::program::{run, springhouse};
use crate::ready::{figure, path};
use crate::wrong::told;

/// Broken logs.
fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("command_line/logs")
}

#[test]
fn broken_logs_are_refused_with_their_lines() {
    let mut names: Vec<_> =
        fs::read_dir(folder()).unwrap().map(|entry| entry.unwrap().file_name().into_string().unwrap()).collect();
    names.sort();
    assert!(names.len() >= 5, "{names:?}");
    for name in names {
        let done = run(&folder(), &path("ideal"), &["--no-files", "--draws", &name]);
        let stderr = told(&name, done);
        assert!(stderr.contains(&format!("{name}:")), "no line: {stderr}");
        insta::with_settings!({ snapshot_path => "snapshots/logs", prepend_module_to_snapshot => false, omit_expression => true }, {
            insta::assert_snapshot!(name, stderr);
        });
    }
}

#[test]
fn all_broken_logs_are_told_at_once() {
    let args = ["--no-files", "--draws", "broken-row.csv", "--draws", "register-falls.csv", "--draws", "none.csv"];
    let stderr = told("three logs", run(&folder(), &path("ideal"), &args));
    assert!(["broken-row.csv", "register-falls.csv", "none.csv"].iter().all(|name| stderr.contains(name)), "{stderr}");
}

#[test]
fn log_of_a_scenario_stands_beside_it() {
    let folder = TempDir::new().unwrap();
    let beside = folder.path().join("plant");
    fs::create_dir(&beside).unwrap();
    let text = fs::read_to_string(path("ideal")).unwrap() + "\n[[log]]\nfile = \"meter.csv\"\n";
    fs::write(beside.join("house.toml"), text).unwrap();
    fs::write(beside.join("meter.csv"), "time,litres\n2027-06-07T12:00:00,7\n2027-06-07T12:30:00,6\n").unwrap();
    let done = springhouse(folder.path(), ["run", "plant/house.toml", "--no-files"]);
    let stderr = told("house.toml", done);
    assert!(stderr.contains("meter.csv:3"), "{stderr}");
    fs::write(beside.join("meter.csv"), "time,litres\n2027-06-07T12:00:00,7\n2027-06-07T12:30:00,47\n").unwrap();
    let done = springhouse(folder.path(), ["run", "plant/house.toml", "--no-files", "--json"]).with_code(0);
    let delivered_l = figure(&serde_json::from_str(&done.stdout).unwrap(), "water.delivered_l");
    // On top of the scenario's own 4 gpm for two hours. Flows are in whole nanolitres a second.
    let expected_l = 40.0 + 4.0 * 3.785_411_784 * 120.0;
    assert!((delivered_l - expected_l).abs() < 1e-4, "{delivered_l} L for {expected_l} L");
}

#[test]
fn exact_litres_of_a_meter_are_delivered() {
    let folder = TempDir::new().unwrap();
    let write = |name: &str, text: &str| fs::write(folder.path().join(name), text).unwrap();
    write("draws.csv", "start,building,flow_lps,duration_s\n2027-06-07T13:00:00,house,0.1,600\n");
    // 250.5 L by the register, of which 40 L before the run.
    write(
        "register.csv",
        "time,litres\n2027-06-06T20:00:00,1000\n2027-06-07T00:00:00,1040\n2027-06-07T09:00:00,1200\n\
         2027-06-07T15:30:00,1250.5\n",
    );
    write("used.csv", "time,litres_used\n2027-06-07T15:00:00,999\n2027-06-07T16:00:00,30\n2027-06-07T17:00:00,12.5\n");
    let delivered_l = |files: &[&str]| {
        let more = files.iter().flat_map(|file| ["--draws", file]);
        let args: Vec<_> = ["--json", "--no-files"].into_iter().chain(more).collect();
        let done = run(folder.path(), &path("ideal"), &args).with_code(0);
        assert_eq!(done.stderr, "");
        figure(&serde_json::from_str(&done.stdout).unwrap(), "water.delivered_l")
    };
    for (files, logged_l) in [
        (["draws.csv"].as_slice(), 60.0),
        (["register.csv"].as_slice(), 210.5),
        (["used.csv"].as_slice(), 42.5),
        (["used.csv", "draws.csv", "register.csv"].as_slice(), 313.0),
    ] {
        let found_l = delivered_l(files);
        // Less than a nanolitre a second is carried past the last reading, over an hour or some.
        assert!((found_l - logged_l).abs() < 1e-4, "{files:?}: {found_l} L for {logged_l} L");
    }
}
