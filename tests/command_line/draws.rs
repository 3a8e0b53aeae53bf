//! `springhouse draws`: what is drawn, files that say the same, and what it says to scenarios in which nobody draws.

use std::fs;

use serde_json::Value;
use tempfile::TempDir;

use crate::program::{Done, springhouse};
use crate::ready::path;

/// A house that draws 90 L at six and 30 L an hour later, and a garden that takes more than that.
const DRAWS: &str = r#"
[[raw_load]]
name = "garden"

[[draw]]
building = "house"
start = "06:00"
flow = "6 L/min"
length = "15 min"

[[draw]]
building = "house"
start = "07:00"
flow = "3 L/min"
length = "10 min"

[[draw]]
building = "garden"
start = "06:00"
flow = "30 L/min"
length = "1 h"
"#;

fn draws(folder: &TempDir, scenario: &str, args: &[&str]) -> Done {
    springhouse(folder.path(), ["draws", scenario].iter().chain(args))
}

/// The scenario to start from without its draws, and with others.
fn scenario(folder: &TempDir, others: &str) -> &'static str {
    springhouse(folder.path(), ["new", "house.toml", "--force"]).with_code(0);
    let file = folder.path().join("house.toml");
    let text = fs::read_to_string(&file).unwrap();
    let (kept, _) = text.split_once("\n[[draw]]").unwrap();
    fs::write(&file, format!("{kept}\n{others}")).unwrap();
    "house.toml"
}

#[test]
fn exact_draws_printed_are_those_of_the_schedule() {
    let folder = TempDir::new().unwrap();
    let args = ["--units", "metric", "--days", "3", "--from", "2027-07-05", "--out", "there"];
    let done = draws(&folder, scenario(&folder, DRAWS), &args).with_code(0);
    let file = |name: &str| fs::read_to_string(folder.path().join("there").join(name)).unwrap();
    let json: Value = serde_json::from_str(&file("draws.json")).unwrap();
    assert_eq!((&json["schema"], &json["runs"]), (&"springhouse-draws/2".into(), &1.into()));
    assert!(json.get("people").is_none());
    assert_eq!(json["answer"], "120 L a day; no 5 minutes bring more than 6 L/min.");
    assert!(done.stdout.contains(json["answer"].as_str().unwrap()), "{}", done.stdout);
    assert!(done.stdout.contains("5 to 7 Jul 2027, 3 days, 1 run"), "{}", done.stdout);
    assert!(done.stdout.contains("Not counted above  garden 1800 L a day"), "{}", done.stdout);
    assert_eq!(json["fullest_morning"]["litres"], 120.0);
    // 90 L in an hour, and the window cannot hold the other draw as well.
    assert!(done.stdout.contains("over 60 min  1.5 L/min"), "{}", done.stdout);
    let lines: Vec<String> = file("draws.csv").lines().map(str::to_owned).collect();
    assert_eq!(lines.len(), 1 + 3 * 3);
    assert_eq!(lines[1], "2027-07-05T06:00:00.000,2027-07-05T06:15:00.000,schedule,house,,,,0.10000,90.000,timed,,,");
    assert_eq!(file("wishes.csv").lines().count(), 1);
    for name in ["day", "peak"] {
        assert!(file(&format!("{name}.svg")).starts_with("<svg"), "{name}");
        let png = fs::read(folder.path().join(format!("there/{name}.png"))).unwrap();
        assert!(png.starts_with(b"\x89PNG"), "{name}");
    }
}

/// Two who live in the house; nothing is scheduled.
const PEOPLE: &str = r#"
[[building.people]]
name = "Ida"

[[building.people]]
name = "Noor"
"#;

#[test]
fn people_of_a_scenario_draw_and_differ_from_run_to_run() {
    let folder = TempDir::new().unwrap();
    let args = ["--units", "us", "--days", "10", "--runs", "20", "--out", "there"];
    let done = draws(&folder, scenario(&folder, PEOPLE), &args).with_code(0);
    let file = |name: &str| fs::read_to_string(folder.path().join("there").join(name)).unwrap();
    let json: Value = serde_json::from_str(&file("draws.json")).unwrap();
    assert_eq!((&json["runs"], &json["people"]["person_days"]), (&20.into(), &(20 * 10 * 2).into()));
    assert!(done.stdout.contains("in 19 of 20 runs no 5 minutes"), "{}", done.stdout);
    let minute = &json["peaks"][0]["flow_lps"];
    assert!(minute["p5"].as_f64() < minute["highest"].as_f64(), "{minute}");
    for name in ["draws.csv", "wishes.csv"] {
        assert!(["Ida", "Noor"].iter().all(|person| file(name).contains(&format!(",house,{person},"))), "{name}");
    }
    // Another run more changes neither of the first run's tables.
    draws(&folder, "house.toml", &["--days", "10", "--runs", "21", "--out", "more"]).with_code(0);
    for name in ["draws.csv", "wishes.csv"] {
        assert!(file(name) == fs::read_to_string(folder.path().join("more").join(name)).unwrap(), "{name}");
    }
}

/// A guest adds the guest's wishes and changes nobody else's.
#[test]
fn exact_guest_adds_lines_and_changes_none() {
    let folder = TempDir::new().unwrap();
    let wishes = |out: &str, text: &str| -> Vec<String> {
        draws(&folder, scenario(&folder, text), &["--days", "9", "--runs", "1", "--out", out]).with_code(0);
        let file = fs::read_to_string(folder.path().join(out).join("wishes.csv")).unwrap();
        file.lines().map(str::to_owned).collect()
    };
    let alone = wishes("alone", PEOPLE);
    let guest = "\n[[building.people]]\nname = \"guest\"\nfrom = 2027-06-09\nto = 2027-06-11\n";
    let with = wishes("with", &format!("{PEOPLE}{guest}"));
    let (theirs, others): (Vec<_>, Vec<_>) = with.into_iter().partition(|line| line.contains(",guest,"));
    assert_eq!(others, alone);
    assert!(theirs.len() > 20, "{theirs:?}");
}

#[test]
fn same_question_gets_the_same_bytes() {
    let folder = TempDir::new().unwrap();
    let scenario = scenario(&folder, DRAWS);
    for out in ["a", "b"] {
        draws(&folder, scenario, &["--out", out, "--runs", "3"]).with_code(0);
    }
    for name in ["draws.csv", "wishes.csv", "draws.json", "day.svg", "day.png", "peak.svg", "peak.png"] {
        let bytes = |out: &str| fs::read(folder.path().join(out).join(name)).unwrap();
        assert!(bytes("a") == bytes("b"), "{name}");
    }
    let printed = draws(&folder, scenario, &["--json", "--no-files"]).with_code(0);
    assert_eq!(printed.stdout.as_bytes(), fs::read(folder.path().join("a/draws.json")).unwrap());
    let quiet = draws(&folder, scenario, &["--quiet", "--no-files"]).with_code(0);
    assert_eq!((quiet.stdout.lines().count(), quiet.stderr.as_str()), (1, ""));
    assert!(!folder.path().join("out").exists());
}

#[test]
fn broken_questions_are_refused_with_what_to_do() {
    let folder = TempDir::new().unwrap();
    let ready = path("slow-well");
    let ready = ready.to_str().unwrap();
    let nobody = scenario(&folder, "");
    let cases: [(&str, &[&str], &[&str]); 7] = [
        (nobody, &[], &["house.toml says of nobody and nothing that draws water", "help: ", "[[draw]]"]),
        ("nowhere.toml", &[], &["nowhere.toml"]),
        (ready, &["--runs", "0"], &["0", "1..=100000"]),
        (ready, &["--runs", "-3"], &["-3"]),
        (ready, &["--days", "0"], &["1..=3660"]),
        (ready, &["--from", "9999-12-30", "--days", "9"], &["from 9999-12-30, would leave the calendar"]),
        (ready, &["--from", "2027-02-30"], &["the calendar has no such day"]),
    ];
    for (scenario, args, said) in cases {
        let done = draws(&folder, scenario, args).with_code(2);
        assert_eq!(done.stdout, "", "{args:?}");
        assert!(said.iter().all(|said| done.stderr.contains(said)), "{args:?}: {}", done.stderr);
    }
    assert!(!folder.path().join("out").exists());
    fs::write(folder.path().join("taken"), "").unwrap();
    let done = draws(&folder, ready, &["--out", "taken"]).with_code(1);
    assert!(done.stderr.contains("taken"), "{}", done.stderr);
}
