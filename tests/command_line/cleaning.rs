//! A membrane unit that scales and is cleaned within the run: what is told of it, and that it hangs on no grid.

use std::fs;
use std::path::Path;

use serde_json::Value;
use tempfile::TempDir;

use crate::program::run;
use crate::ready::{figure, path, summary};

/// The ready scenario with a membrane unit, its feed without antiscalant and most of its reject sent round again: it scales.
fn scaling(folder: &Path, cleaned: &[&str]) {
    let mut text = fs::read_to_string(path("membrane")).unwrap();
    for (from, to) in [
        ("antiscalant = true ", "antiscalant = false "),
        ("reject = \"2.1 gpm\"", "reject = \"0.5 gpm\""),
        ("recycle = \"2.4 gpm\"", "recycle = \"4 gpm\""),
    ] {
        assert!(text.contains(from), "{from}");
        text = text.replacen(from, to, 1);
    }
    let incident = |start: &&str| format!("\n[[incident]]\nkind = \"membrane cleaned\"\nstart = \"{start}\"\n");
    text.extend(cleaned.iter().map(incident));
    fs::write(folder.join("scaling.toml"), text).unwrap();
}

/// The summary and the events of a week.
fn results(cleaned: &[&str], args: &[&str]) -> (Value, String, String) {
    let folder = TempDir::new().unwrap();
    scaling(folder.path(), cleaned);
    let fixed = ["--quiet", "--out", "there"];
    run(folder.path(), Path::new("scaling.toml"), &[&fixed, args].concat()).with_code(0);
    let there = folder.path().join("there");
    let [bytes, events] = ["summary.json", "events.csv"].map(|name| fs::read_to_string(there.join(name)).unwrap());
    (summary(&there), events, bytes)
}

/// When an event was.
fn times(events: &str, kind: &str) -> Vec<String> {
    let mut table = csv::Reader::from_reader(events.as_bytes());
    let events = table.records().map(Result::unwrap).filter(|event| &event[2] == kind);
    events.map(|event| event[0].to_owned()).collect()
}

#[test]
fn cleaning_restores_the_membrane_and_is_told() {
    let (never, never_told, _) = results(&[], &[]);
    let (early, early_told, _) = results(&["2027-06-11 08:00"], &[]);
    let (late, late_told, _) = results(&["2027-06-12 08:00"], &[]);
    let share = |summary: &Value| figure(summary, "membrane.water_share");
    assert!(share(&never) < share(&early) && share(&early) < share(&late), "{never} {early} {late}");
    for (summary, events, cleaned) in
        [(&early, &early_told, "2027-06-11T16:00:00"), (&late, &late_told, "2027-06-12T16:00:00")]
    {
        assert_eq!(times(events, "membrane_cleaned"), [format!("{cleaned}.000")]);
        // Eight hours where the scenario does not say how long.
        assert_eq!(times(events, "membrane_cleaning_begins"), [format!("{}.000", cleaned.replace("T16", "T08"))]);
        assert_eq!(
            (&summary["membrane"]["last_cleaned_at"], figure(summary, "membrane.cleanings")),
            (&cleaned.into(), 1.0)
        );
    }
    assert_eq!(figure(&never, "membrane.cleanings"), 0.0);
    assert!(times(&never_told, "membrane_cleaned").is_empty());
    // Due once without a cleaning, and due until then; what came before the cleaning is the same.
    let due = times(&never_told, "cleaning_due");
    assert_eq!(due.len(), 1, "{never_told}");
    assert_eq!(never["membrane"]["cleaning_due_at"], due[0][..19]);
    assert_eq!(times(&early_told, "cleaning_due")[0], due[0]);
    let finding = |summary: &Value, kind: &str| {
        let findings = summary["verdict"]["findings"].as_array().unwrap();
        findings.iter().find(|finding| finding["kind"] == kind).cloned()
    };
    let noted = finding(&never, "cleaning_due").unwrap();
    assert_eq!((&noted["at"], &noted["falls_short"]), (&never["membrane"]["cleaning_due_at"], &false.into()));
    assert!(finding(&late, "cleaning_due").is_none() && late["membrane"].get("cleaning_due_at").is_none(), "{late}");
    // Cleaned or not, it fouls as fast.
    assert!([&never, &early, &late].iter().all(|summary| finding(summary, "membrane_fouls").is_some()));
}

#[test]
fn cleaning_hangs_on_no_grid() {
    let told = |args: &[&str]| {
        let (_, events, summary) = results(&["2027-06-11 08:00"], args);
        (events, summary)
    };
    let [second, minute] = ["1", "60"].map(|grid| told(&["--grid", grid]));
    assert!(second == minute, "{} and {}", second.1, minute.1);
    assert!(!times(&second.0, "cleaning_due").is_empty(), "{}", second.0);
}
