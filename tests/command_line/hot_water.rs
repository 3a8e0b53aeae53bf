//! A full house and its hot water: the same water whatever heats it, and what each way of heating makes of the mornings.

use std::collections::BTreeMap;
use std::fs;

use serde_json::Value;
use tempfile::TempDir;

use crate::program::{repository, run, springhouse};
use crate::ready::{figure, path, summary};

const JULY: &str = "2027-06-30";
const JANUARY: &str = "2028-01-12";
const MODES: [&str; 3] = ["heat pump only", "hybrid", "element only"];

/// A week of the full house.
struct Week {
    summary: Value,
    /// Lines of `events.csv` that are no heater's.
    water: Vec<String>,
}

fn week(mode: &str, from: &str) -> Week {
    let folder = TempDir::new().unwrap();
    let text = fs::read_to_string(path("hot-water")).unwrap();
    assert!(text.contains("mode = \"hybrid\""));
    let file = folder.path().join("house.toml");
    fs::write(&file, text.replace("mode = \"hybrid\"", &format!("mode = \"{mode}\""))).unwrap();
    let out = folder.path().join("out");
    run(repository(), &file, &["--from", from, "--out", out.to_str().unwrap()]).with_code(0);
    let events = fs::read_to_string(out.join("events.csv")).unwrap();
    let water = events.lines().filter(|line| !line.contains(" heater,")).map(str::to_owned).collect();
    Week { summary: summary(&out), water }
}

fn weeks(from: &str) -> BTreeMap<&'static str, Week> {
    MODES.map(|mode| (mode, week(mode, from))).into()
}

/// A figure of the house's heater.
fn of_heater(week: &Week, key: &str) -> f64 {
    figure(&week.summary["hot_water"][0], key)
}

#[test]
fn exact_water_side_is_the_same_whatever_heats() {
    let weeks = weeks(JULY);
    let [alone, hybrid, element] = MODES.map(|mode| &weeks[mode]);
    for other in [hybrid, element] {
        assert_eq!(alone.water, other.water);
        for key in ["water", "outlets", "supplies", "well", "storage", "pressure", "work"] {
            assert_eq!(alone.summary[key], other.summary[key], "{key}");
        }
    }
    for week in weeks.values() {
        let residual = figure(&week.summary, "balance.heat_residual_kwh").abs();
        assert!(residual < 1e-9 * of_heater(week, "at_taps_kwh"), "{residual} kWh");
    }
}

/// Common practice, no source: a heat pump alone wants a larger tank than elements do, and recovers through the day, not within the hour;
/// its heat costs a third to a half of theirs.
#[test]
fn full_house_by_mode_and_season() {
    for (from, guests) in [(JULY, "guests"), (JANUARY, "winter guests")] {
        let weeks = weeks(from);
        let figures = |key: &str| MODES.map(|mode| of_heater(&weeks[mode], key));
        let [alone, hybrid, element] = figures("lukewarm_minutes");
        assert!(alone > 2.0 * hybrid && hybrid > element, "{from}: {alone}, {hybrid}, {element} min");
        let [alone, hybrid, element] = figures("recovery_h");
        assert!(
            alone > 24.0 && alone > hybrid && hybrid > element && element < 8.0,
            "{from}: {alone}, {hybrid}, {element} h"
        );
        let kwh = |mode: &str| of_heater(&weeks[mode], "compressor_kwh") + of_heater(&weeks[mode], "element_kwh");
        let [alone, hybrid, element] = MODES.map(|mode| kwh(mode) / of_heater(&weeks[mode], "at_taps_kwh"));
        assert!(alone < 0.5 * element && alone < hybrid && hybrid < element, "{from}: {alone}, {hybrid}, {element}");
        // Guests meet it, as they get up late and all at once.
        let spells = weeks["heat pump only"].summary["hot_water"][0]["spells"].as_array().unwrap();
        let met = |spell: &Value| {
            spell["who"].as_array().is_some_and(|who| who.iter().any(|it| it.as_str().unwrap().starts_with(guests)))
        };
        assert!(spells.len() == 20 && spells.iter().any(met), "{from}: {spells:?}");
    }
    let cop = |from| of_heater(&week("heat pump only", from), "cop");
    let (july, january) = (cop(JULY), cop(JANUARY));
    assert!(january < july, "{january} in January, {july} in July");
}

/// The starter's draws are cold; with a temperature, or by a log that gives one, the heater has something to do.
#[test]
fn heater_without_warm_draws_is_told() {
    let folder = TempDir::new().unwrap();
    let starter = springhouse(folder.path(), ["new", "-"]).with_code(0).stdout;
    let heater = "[[heater]]\nname = \"tank\"\nkind = \"electric\"\nvolume = \"45 gal\"\n";
    fs::write(folder.path().join("house.toml"), format!("{starter}\n{heater}")).unwrap();
    let log = |wanted: &str| {
        format!("start,building,flow_lps,duration_s,wanted_f\n2027-06-04T06:30:00,house,0.1,600,{wanted}\n")
    };
    fs::write(folder.path().join("cold.csv"), log("")).unwrap();
    fs::write(folder.path().join("warm.csv"), log("104")).unwrap();
    let ran = |log: &str| {
        let args = ["run", "house.toml", "--from", "2027-06-04", "--days", "1", "--draws", log, "--json"];
        let done = springhouse(folder.path(), args).with_code(0);
        let summary: Value = serde_json::from_str(&done.stdout).unwrap();
        (done.stderr.contains("no draw that the tank serves is warm"), figure(&summary["hot_water"][0], "delivered_l"))
    };
    assert_eq!(ran("cold.csv"), (true, 0.0));
    let (told, delivered_l) = ran("warm.csv");
    assert!(!told && (30.0..60.0).contains(&delivered_l), "{delivered_l} L");
}

/// A cabin that is left cold in winter.
#[test]
fn heater_that_is_off_in_frost_is_told() {
    let folder = TempDir::new().unwrap();
    let starter = springhouse(folder.path(), ["new", "-"]).with_code(0).stdout;
    let cabin = "[[heater]]\nname = \"tank\"\nkind = \"electric\"\nvolume = \"20 gal\"\nmode = \"off\"\nstart = \"50 °F\"\n\
                 [[room]]\nname = \"cabin\"\naround = \"-10 °F\"\n";
    fs::write(folder.path().join("house.toml"), format!("{starter}\n{cabin}")).unwrap();
    fs::write(folder.path().join("none.csv"), "start,building,flow_lps,duration_s\n").unwrap();
    let args = ["run", "house.toml", "--draws", "none.csv", "--no-files"];
    let done = springhouse(folder.path(), args).with_code(0);
    assert!(done.stdout.contains("cold enough to freeze"), "{}", done.stdout);
    let warm = springhouse(folder.path(), ["run", "house.toml", "--no-files", "--days", "1"]).with_code(0);
    assert!(!warm.stdout.contains("cold enough to freeze"), "{}", warm.stdout);
}
