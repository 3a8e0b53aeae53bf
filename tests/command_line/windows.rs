//! `--from` and `--days`: another stretch of the calendar with the same plant.

use std::fs;
use std::path::Path;

use jiff::civil::{Date, DateTime};
use serde_json::Value;
use tempfile::TempDir;

use crate::program::{repository, run};
use crate::ready::{figure, path, whole};

/// The summary of a window of a ready scenario.
fn window(name: &str, from: &str, days: &str) -> Value {
    let done = run(repository(), &path(name), &["--from", from, "--days", days, "--json", "--no-files"]).with_code(0);
    serde_json::from_str(&done.stdout).unwrap()
}

#[test]
fn exact_a_week_later_is_the_same_but_for_the_dates() {
    let out = TempDir::new().unwrap();
    let args = ["--from", "2027-06-14", "--quiet", "--out", out.path().to_str().unwrap()];
    run(repository(), &path("slow-well"), &args).with_code(0);
    for name in ["summary.json", "events.csv"] {
        let read = |folder: &Path| fs::read_to_string(folder.join(name)).unwrap();
        let (mut later, first) = (read(out.path()), read(whole()["slow-well"].folder()));
        assert!(later != first);
        // From the earliest on, so that none is put back twice.
        for day in 14..=21 {
            later = later.replace(&format!("2027-06-{day}"), &format!("2027-06-{:02}", day - 7));
        }
        assert!(later == first, "{name}");
    }
}

#[test]
fn exact_single_days_make_the_week() {
    let delivered_l = |from: &str, days: &str| figure(&window("slow-well", from, days), "water.delivered_l");
    let days = ["07", "08", "09", "10", "11", "12", "13"].map(|day| delivered_l(&format!("2027-06-{day}"), "1"));
    let (sum, week) = (days.iter().sum::<f64>(), delivered_l("2027-06-07", "7"));
    // Nobody runs short in this scenario, so all that is wanted comes; some thousand roundings.
    assert!((sum - week).abs() < 1e-12 * week, "{sum} L and {week} L");
    // Monday and Wednesday have the same schedule, Tuesday has a bath in place of the washer.
    assert!((days[0] - days[2]).abs() < 1e-9, "{days:?}");
    assert!((days[0] - days[1]).abs() > 10.0, "{days:?}");
}

#[test]
fn exact_a_window_takes_the_logged_draws_in_it() {
    let from: Date = "2027-06-06".parse().unwrap();
    let (start, end) = (from.at(0, 0, 0, 0), from.tomorrow().unwrap().at(0, 0, 0, 0));
    let mut wanted_l = [0.0, 0.0];
    let mut reader = csv::Reader::from_path(repository().join("scenarios/logged-week.csv")).unwrap();
    for row in reader.deserialize() {
        let (at, building, flow_lps, duration_s): (String, String, f64, f64) = row.unwrap();
        let at: DateTime = at.parse().unwrap();
        let begins_s = at.duration_since(start).as_secs_f64().max(0.0);
        let ends_s = (at.duration_since(start).as_secs_f64() + duration_s).min(end.duration_since(start).as_secs_f64());
        wanted_l[usize::from(building == "garden")] += flow_lps * (ends_s - begins_s).max(0.0);
    }
    let summary = window("logged-week", "2027-06-06", "1");
    for (key, wanted_l) in ["water.delivered_l", "water.raw_loads_l"].into_iter().zip(wanted_l) {
        let delivered_l = figure(&summary, key);
        // Nobody runs short; the engine counts in whole nanolitres a second, over some ten thousand seconds.
        assert!(wanted_l > 100.0 && (delivered_l - wanted_l).abs() < 1e-4, "{key}: {delivered_l} of {wanted_l} L");
    }
}

#[test]
fn incidents_keep_their_dates() {
    let out_of_power = window("power-out", "2027-06-08", "1");
    assert_eq!(out_of_power["verdict"]["holds"], false);
    // The well pump is out from the 10th to the evening of the 12th, so it stands still all of the 11th.
    assert_eq!(window("power-out", "2027-06-11", "1")["well"]["starts"], 0);
    let after = window("power-out", "2027-06-13", "2");
    assert_eq!(after["verdict"]["holds"], true, "{after}");
    assert!(figure(&after, "well.starts") > 0.0, "{after}");
}
