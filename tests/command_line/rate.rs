//! `springhouse rate`: plates that come back from the model, and what it says where there is nothing to rate.

use std::fs;

use serde_json::Value;
use tempfile::TempDir;

use crate::program::{Done, springhouse};

/// Invented plates: name, kind, gallons, uniform energy factor, first-hour rating in gallons.
const PLATES: [(&str, &str, f64, f64, f64); 6] = [
    ("middle heat pump", "heat pump", 45.0, 3.3, 66.0),
    ("large heat pump", "heat pump", 72.0, 3.8, 87.0),
    ("small heat pump", "heat pump", 36.0, 2.8, 53.0),
    ("elements", "electric", 45.0, 0.93, 61.0),
    ("burner", "gas", 38.0, 0.60, 68.0),
    ("bottles", "propane", 48.0, 0.58, 84.0),
];

/// The program's own starter with more sections at its end.
fn write(folder: &TempDir, sections: &str) {
    let starter = springhouse(folder.path(), ["new", "-"]).with_code(0).stdout;
    fs::write(folder.path().join("house.toml"), format!("{starter}\n{sections}")).unwrap();
}

fn heater((name, kind, gallons, factor, first_hour): (&str, &str, f64, f64, f64)) -> String {
    format!(
        "[[heater]]\nname = \"{name}\"\nkind = \"{kind}\"\nvolume = \"{gallons} gal\"\nenergy_factor = {factor}\n\
         first_hour = \"{first_hour} gal\"\n"
    )
}

fn rate(folder: &TempDir, args: &[&str]) -> Done {
    springhouse(folder.path(), ["rate", "house.toml"].iter().chain(args))
}

#[test]
fn exact_plates_come_back() {
    let folder = TempDir::new().unwrap();
    write(&folder, &PLATES.map(heater).concat());
    let done = rate(&folder, &["--json"]).with_code(0);
    assert_eq!(done.stderr, "");
    let json: Value = serde_json::from_str(&done.stdout).unwrap();
    assert_eq!((&json["schema"], &json["certified"]), (&"springhouse-rate/1".into(), &false.into()));
    let heaters = json["heaters"].as_array().unwrap();
    assert_eq!(heaters.len(), PLATES.len());
    for (heater, (name, kind, _, factor, gallons)) in heaters.iter().zip(PLATES) {
        assert_eq!((&heater["name"], &heater["kind"]), (&name.into(), &kind.into()));
        let tests = heater["tests"].as_array().unwrap();
        assert_eq!(tests.len(), if kind == "heat pump" { 3 } else { 1 }, "{name}");
        let hybrid = &tests[0];
        assert_eq!(hybrid["mode"], "hybrid");
        let figure = |key: &str| hybrid[key].as_f64().unwrap();
        let found = figure("energy_factor");
        assert!((found / factor - 1.0).abs() < 0.01, "{name}: {found} for {factor}");
        // A whole draw more or less fits into the hour.
        let found = figure("first_hour_l") / 3.785_411_784;
        assert!((found / gallons - 1.0).abs() < 0.06, "{name}: {found} gal for {gallons}");
        // A year of the test's days: 10, 38, 55 or 84 gal over 67 °F at 4.13 kJ/(L K), over the factor.
        let day_l = 3.785_411_784 * if heater["tested_at_usage"] == "high" { 84.0 } else { 55.0 };
        let year_kwh = 365.0 * day_l * 0.988 * 4_180.0 * 67.0 / 1.8 / 3.6e6 / factor;
        assert!((figure("year_kwh") / year_kwh - 1.0).abs() < 0.01, "{name}");
        assert!((0.9..1.01).contains(&figure("delivered_share")), "{name}: {hybrid}");
        if kind == "heat pump" {
            let element = &tests[2];
            assert!(element["mode"] == "element only" && element["energy_factor"].as_f64().unwrap() < 1.0, "{name}");
        }
    }
}

#[test]
fn report_says_what_it_is_and_is_the_same_again() {
    let folder = TempDir::new().unwrap();
    write(&folder, &format!("{}mode = \"heat pump only\"\n", heater(PLATES[0])));
    let done = rate(&folder, &[]).with_code(0);
    for said in ["plate", "heat pump only (as set)", "3.30", "Loss at rest 64 W"] {
        assert!(done.stdout.contains(said), "{said}: {}", done.stdout);
    }
    let unbroken = done.stdout.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(unbroken.contains("it is not a certified test"), "{}", done.stdout);
    assert_eq!(rate(&folder, &[]).stdout, done.stdout);
    // The answer alone, in the units that are asked for.
    let quiet = rate(&folder, &["--quiet", "--units", "metric"]).with_code(0).stdout;
    let quiet = quiet.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(quiet.starts_with("middle heat pump: uniform energy factor 3.30") && quiet.contains(" L, "), "{quiet}");
    assert!(quiet.ends_with("kWh a year at medium usage."), "{quiet}");
    assert!(!folder.path().join("out").exists());
}

#[test]
fn what_cannot_be_rated_is_refused_with_what_to_do() {
    let folder = TempDir::new().unwrap();
    write(&folder, "");
    let done = rate(&folder, &["--json"]).with_code(2);
    assert_eq!(done.stdout, "");
    assert!(done.stderr.contains("house.toml has no water heater to rate\nhelp: add a section `[[heater]]`"));
    write(&folder, &heater(("tank", "electric", 45.0, 1.5, 61.0)));
    let done = rate(&folder, &[]).with_code(2);
    assert!(done.stderr.contains("`energy_factor` is out of reach of this heater"), "{}", done.stderr);
    rate(&folder, &["--out", "there"]).with_code(2);
}

#[test]
fn a_heater_that_runs_cold_shows_it() {
    let folder = TempDir::new().unwrap();
    write(
        &folder,
        "[[heater]]\nname = \"weak\"\nkind = \"electric\"\nvolume = \"10 gal\"\nelements = \"200 W\"\nusage = \"high\"\n",
    );
    let json: Value = serde_json::from_str(&rate(&folder, &["--json"]).with_code(0).stdout).unwrap();
    let share = json["heaters"][0]["tests"][0]["delivered_share"].as_f64().unwrap();
    // A day of 200 W and the 10 gal that were hot, of 84 gal over 67 °F: 4.8 and 1.6 of 13.6 kWh at most.
    assert!(share > 0.1 && share < 0.48, "{share}");
}
