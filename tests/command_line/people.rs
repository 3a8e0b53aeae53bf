//! What people draw, and what rain keeps from being drawn.

use std::fs;

use serde_json::Value;
use tempfile::TempDir;

use crate::program::springhouse;
use crate::ready::{figure, path};

/// The summary of a scenario in a folder, as text.
fn summary(folder: &TempDir, args: &[&str]) -> String {
    let run = ["run", "house.toml", "--no-files", "--json", "--quiet"];
    springhouse(folder.path(), run.iter().chain(args)).with_code(0).stdout
}

fn write(text: &str) -> TempDir {
    let folder = TempDir::new().unwrap();
    fs::write(folder.path().join("house.toml"), text).unwrap();
    folder
}

fn litres(summary: &str, key: &str) -> f64 {
    figure(&serde_json::from_str(summary).unwrap(), key)
}

#[test]
fn exact_seed_is_the_morning() {
    let folder = write(&fs::read_to_string(path("full-house")).unwrap());
    let three = summary(&folder, &["--days", "4"]);
    assert_eq!(three, summary(&folder, &["--days", "4", "--seed", "3"]));
    let four = summary(&folder, &["--days", "4", "--seed", "4"]);
    let delivered = |summary: &str| litres(summary, "water.delivered_l");
    assert!((delivered(&three) - delivered(&four)).abs() > 10.0);
    // The same people: a tenth more or less in four days.
    assert!((delivered(&three) / delivered(&four) - 1.0).abs() < 0.25);
}

/// Another tank changes no wish: what is wanted in all is the same, whether or not it comes.
#[test]
fn exact_tank_changes_no_wish() {
    let text = fs::read_to_string(path("full-house")).unwrap();
    let larger = text.replace("volume = \"250 gal\"", "volume = \"2000 gal\"");
    assert_ne!(text, larger);
    let [small, large] = [text, larger].map(|text| summary(&write(&text), &["--days", "4"]));
    let wanted = |summary: &str| litres(summary, "water.delivered_l") + litres(summary, "water.short_l");
    assert!(litres(&small, "water.short_l") > 1.0 && litres(&large, "water.short_l") < 1e-6);
    assert!((wanted(&small) - wanted(&large)).abs() < 1e-6 * wanted(&small), "{} {}", wanted(&small), wanted(&large));
}

/// The garden is watered at five; on the day after the rain it is not.
#[test]
fn exact_rain_keeps_the_valves_shut() {
    let text = fs::read_to_string(path("direct")).unwrap();
    let skip = "[[raw_load]]\nname = \"garden\"\nrain_skip = { rain = \"rain.csv\", amount = \"4 mm\" }\n";
    let skipping = text.replace("[[raw_load]]\nname = \"garden\"\n", skip);
    assert_ne!(text, skipping);
    let folder = write(&skipping);
    let rain = |mm: &str| {
        let rows: Vec<String> = (7..=14)
            .map(|day| {
                let fell = if day == 9 { mm } else { "0" };
                format!("2027-06-{day:02} 00:00,0\n2027-06-{day:02} 14:00,{fell}\n")
            })
            .collect();
        let rows = rows.concat();
        fs::write(folder.path().join("rain.csv"), format!("time,rain_mm\n{rows}")).unwrap();
        litres(&summary(&folder, &[]), "water.raw_loads_l")
    };
    let (dry_l, drizzle_l, wet_l) = (rain("0"), rain("3"), rain("5"));
    assert_eq!(dry_l, drizzle_l);
    assert!(wet_l < 0.9 * dry_l, "{wet_l} L after rain, {dry_l} L without");
}

/// `draws` tells in which run a day was the fullest; `run` can show that very run.
#[test]
fn exact_the_fullest_day_can_be_run() {
    let folder = TempDir::new().unwrap();
    let scenario = path("full-house");
    let scenario = scenario.to_str().unwrap();
    let told = springhouse(folder.path(), ["draws", scenario, "--runs", "4", "--no-files", "--json"]).with_code(0);
    let told: Value = serde_json::from_str(&told.stdout).unwrap();
    let fullest = &told["fullest_day"];
    let (run, from) = (fullest["run"].as_u64().unwrap(), fullest["start"].as_str().unwrap());
    let day = &from[..10];
    let args = ["run", scenario, "--run", &run.to_string(), "--from", day, "--days", "1", "--no-files", "--json"];
    let shown = springhouse(folder.path(), args);
    let shown: Value = serde_json::from_str(&shown.stdout).unwrap();
    assert_eq!(shown["run"].as_u64().unwrap_or(0), run);
    // What was wished: came, or did not.
    let wished_l = figure(&shown, "water.delivered_l") + figure(&shown, "water.short_l");
    let expected_l = figure(fullest, "litres");
    assert!((wished_l / expected_l - 1.0).abs() < 0.02, "{wished_l} of {expected_l} L on {day} of run {run}");
}
