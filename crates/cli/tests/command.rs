//! The program as a person or a script meets it: what goes to which stream, exit codes, files.

#![expect(clippy::unwrap_used, reason = "helpers of tests are tests")]

use std::fs;
use std::path::Path;
use std::process::{Command, Output, Stdio};

fn springhouse(folder: &Path, args: &[&str]) -> Output {
    command(folder, args).output().unwrap()
}

fn command(folder: &Path, args: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_springhouse"));
    command.current_dir(folder).args(args).stdin(Stdio::null());
    command
}

fn said(bytes: &[u8]) -> String {
    String::from_utf8(bytes.to_vec()).unwrap()
}

/// A folder with the starter scenario in `house.toml`.
fn house() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    let new = springhouse(folder.path(), &["new"]);
    assert_eq!(new.status.code(), Some(0), "{}", said(&new.stderr));
    folder
}

#[test]
fn starter_runs_as_it_is() {
    let folder = house();
    let run = springhouse(folder.path(), &["run", "house.toml", "--strict"]);
    assert_eq!(run.status.code(), Some(0), "{}", said(&run.stderr));
    assert!(run.stderr.is_empty(), "{}", said(&run.stderr));
    let text = said(&run.stdout);
    assert!(text.contains("Holds: ") && text.contains("Files: out"), "{text}");
    assert!(!text.contains('\u{1b}'), "colour without a terminal: {text:?}");
    assert!(folder.path().join("out/house/summary.json").is_file());
}

#[test]
fn json_is_all_of_standard_output() {
    let folder = house();
    let run = springhouse(folder.path(), &["run", "house.toml", "--json", "--no-files", "--days", "2", "--seed", "7"]);
    assert_eq!(run.status.code(), Some(0));
    let summary: serde_json::Value = serde_json::from_slice(&run.stdout).unwrap();
    assert_eq!((&summary["days"], &summary["seed"]), (&2.into(), &7.into()));
    assert!(!folder.path().join("out").exists());
}

#[test]
fn grid_changes_no_result() {
    let folder = house();
    let [fine, coarse] = ["5", "3600"].map(|grid| {
        let run =
            springhouse(folder.path(), &["run", "house.toml", "-q", "--days", "2", "--grid", grid, "--out", grid]);
        assert_eq!(run.status.code(), Some(0));
        ["summary.json", "events.csv"].map(|name| fs::read_to_string(folder.path().join(grid).join(name)).unwrap())
    });
    assert_eq!(fine, coarse);
}

#[test]
fn falling_short_is_three_only_when_strict() {
    let folder = house();
    let path = folder.path().join("house.toml");
    let power = "\n[[incident]]\nkind = \"power out\"\nstart = \"2027-06-08 00:00\"\nlength = \"20 h\"\n";
    let dry = fs::read_to_string(&path).unwrap().replace("8 min", "58 min") + power;
    fs::write(&path, dry).unwrap();
    let arguments = ["run", "house.toml", "--no-files", "--quiet"];
    let run = springhouse(folder.path(), &arguments);
    assert_eq!(run.status.code(), Some(0));
    assert!(said(&run.stdout).starts_with("Falls short: house ran out of water"), "{}", said(&run.stdout));
    let strict = springhouse(folder.path(), &[&arguments[..], &["--strict"]].concat());
    assert_eq!(strict.status.code(), Some(3));
    assert_eq!(strict.stdout, run.stdout);
}

#[test]
fn bad_use_and_bad_scenarios_are_two() {
    let folder = house();
    fs::write(folder.path().join("bad.toml"), "days = 0\n").unwrap();
    let cases: [&[&str]; 9] = [
        &["run", "bad.toml"],
        &["check", "bad.toml"],
        &["run", "missing.toml"],
        &["run", "house.toml", "--days", "0"],
        &["run", "house.toml", "--grid", "0"],
        &["run", "house.toml", "--from", "9999-12-30"],
        &["run", "house.toml", "--draws", "missing.csv"],
        &["fly"],
        &[],
    ];
    let negative = springhouse(folder.path(), &["run", "house.toml", "--days", "-4"]);
    assert!(said(&negative.stderr).contains("-4 is not in 1..=3660"), "{}", said(&negative.stderr));
    let missing = springhouse(folder.path(), &["run", "missing.toml"]);
    assert!(said(&missing.stderr).contains("check its name and folder"), "{}", said(&missing.stderr));
    for args in cases {
        let done = springhouse(folder.path(), args);
        assert_eq!(done.status.code(), Some(2), "{args:?}");
        assert!(done.stdout.is_empty() && !done.stderr.is_empty(), "{args:?}: {}", said(&done.stdout));
    }
}

#[test]
fn new_keeps_what_is_there() {
    let folder = house();
    let path = folder.path().join("house.toml");
    fs::write(&path, "mine").unwrap();
    let again = springhouse(folder.path(), &["new"]);
    assert_eq!(again.status.code(), Some(2));
    assert!(said(&again.stderr).contains("--force"));
    assert_eq!(fs::read_to_string(&path).unwrap(), "mine");
    assert_eq!(springhouse(folder.path(), &["new", "--force"]).status.code(), Some(0));
    let printed = springhouse(folder.path(), &["new", "-"]);
    assert_eq!(said(&printed.stdout), fs::read_to_string(&path).unwrap());
}

#[test]
fn file_in_the_way_is_one() {
    let folder = house();
    let run = springhouse(folder.path(), &["run", "house.toml", "--out", "house.toml"]);
    assert_eq!(run.status.code(), Some(1));
    assert!(said(&run.stderr).contains("house.toml"), "{}", said(&run.stderr));
    assert!(said(&run.stderr).contains("--out names another folder"), "{}", said(&run.stderr));
    assert!(run.stdout.is_empty());
}

#[test]
fn draws_of_a_log_stand_in_for_the_scenario_s() {
    let folder = house();
    let delivered = |more: &[&str]| {
        let run = springhouse(folder.path(), &[&["run", "house.toml", "--json", "--no-files"], more].concat());
        assert_eq!(run.status.code(), Some(0), "{}", said(&run.stderr));
        let summary: serde_json::Value = serde_json::from_slice(&run.stdout).unwrap();
        summary["water"]["delivered_l"].as_f64().unwrap()
    };
    let log = "start,building,flow_lps,duration_s\n2027-06-08T12:00:00,house,0.1,100\n";
    fs::write(folder.path().join("log.csv"), log).unwrap();
    assert!(delivered(&[]) > 1_000.0, "the scenario draws by itself");
    let delivered_l = delivered(&["--draws", "log.csv"]);
    // 0.1 L/s for 100 s.
    assert!((delivered_l - 10.0).abs() < 1e-6, "{delivered_l} L");
    let late =
        springhouse(folder.path(), &["run", "house.toml", "--no-files", "--draws", "log.csv", "--from", "2027-07-01"]);
    assert!(said(&late.stderr).contains("no logged draw starts within the run"), "{}", said(&late.stderr));
}

#[test]
fn schema_is_json() {
    let folder = tempfile::tempdir().unwrap();
    let schema = springhouse(folder.path(), &["schema"]);
    assert!(serde_json::from_slice::<serde_json::Value>(&schema.stdout).unwrap().is_object());
}

#[test]
fn regress_check_of_the_starter() {
    let folder = house();
    let check = springhouse(folder.path(), &["check", "house.toml"]);
    assert_eq!(check.status.code(), Some(0));
    insta::assert_snapshot!(said(&check.stdout));
}

#[test]
fn regress_check_of_plants_with_more_parts() {
    for name in ["rain-cistern", "two-wells", "town-line", "pond-standby"] {
        let scenarios = concat!(env!("CARGO_MANIFEST_DIR"), "/../../scenarios/");
        let check = springhouse(Path::new(scenarios), &["check", &format!("{name}.toml")]);
        assert_eq!(check.status.code(), Some(0), "{}", said(&check.stderr));
        insta::assert_snapshot!(name, said(&check.stdout));
    }
}

/// With the reject shut there is no steady state; while its loop is fresh the unit makes water all the same.
#[test]
fn check_says_what_a_unit_with_its_reject_shut_does() {
    let folder = tempfile::tempdir().unwrap();
    let ready = concat!(env!("CARGO_MANIFEST_DIR"), "/../../scenarios/membrane.toml");
    let text = fs::read_to_string(ready).unwrap();
    let told = |reject: &str, recycle: &str| {
        assert!(text.contains("reject = \"2.1 gpm\"") && text.contains("recycle = \"2.4 gpm\""));
        let shut = text.replace("\"2.1 gpm\"", reject).replace("\"2.4 gpm\"", recycle);
        fs::write(folder.path().join("shut.toml"), shut).unwrap();
        let check = springhouse(folder.path(), &["check", "shut.toml"]);
        assert_eq!(check.status.code(), Some(0), "{}", said(&check.stderr));
        said(&check.stdout)
    };
    let shut = told("\"0 gpm\"", "\"2.4 gpm\"");
    assert!(shut.contains("its reject is shut: clean and fresh it makes 2.31 gpm at 45 psi"), "{shut}");
    assert!(!shut.contains("makes no water"), "{shut}");
    assert!(told("\"0 gpm\"", "\"0 gpm\"").contains("makes no water: both its valves are shut"));
    assert!(told("\"2.1 gpm\"", "\"2.4 gpm\"").contains("clean, at 55 °F, of 4.16 gpm"));
}

#[test]
fn advice_in_brackets_is_not_denied() {
    let folder = house();
    let told = |keys: &str| {
        let heater = format!("[[heater]]\nname = \"tank\"\nkind = \"electric\"\nvolume = \"45 gal\"\n{keys}");
        let starter = said(&springhouse(folder.path(), &["new", "-"]).stdout);
        fs::write(folder.path().join("heated.toml"), format!("{starter}\n{heater}")).unwrap();
        said(&springhouse(folder.path(), &["check", "heated.toml"]).stdout)
    };
    assert!(told("").ends_with("\nNothing to warn about but what stands in brackets.\n"), "{}", told(""));
    let sound = told("set_point = \"140 °F\"\ntempering = \"120 °F\"\n");
    assert!(sound.ends_with("\nNothing to warn about.\n"), "{sound}");
}

#[test]
fn rain_outside_the_run_is_warned_about() {
    let folder = Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/../../scenarios/"));
    let warned = |more: &[&str]| {
        let run = springhouse(folder, &[&["run", "rain-cistern.toml", "--no-files"], more].concat());
        assert_eq!(run.status.code(), Some(0), "{}", said(&run.stderr));
        said(&run.stderr)
    };
    assert_eq!(warned(&[]), "");
    let long = warned(&["--days", "9"]);
    assert!(long.contains("warning: rain.csv covers not all of the run"), "{long}");
    assert_eq!(warned(&["--days", "9", "--quiet"]), "");
}

#[test]
fn reader_that_goes_away_is_no_fault() {
    let folder = house();
    let mut child = command(folder.path(), &["schema"]).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
    // The pipe's end is closed before anything is read.
    drop(child.stdout.take());
    let done = child.wait_with_output().unwrap();
    assert_eq!(done.status.code(), Some(0), "{}", said(&done.stderr));
    assert!(done.stderr.is_empty(), "{}", said(&done.stderr));
}
