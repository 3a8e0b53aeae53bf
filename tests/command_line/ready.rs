//! The scenarios that come with the program, each run once as it stands and shared by the tests: it holds or falls short
//! as its story says, and its water balances.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::OnceLock;

use serde_json::Value;
use tempfile::TempDir;

use crate::program::{Done, repository, run};

/// The scenarios whose story ends without water.
const FALLS_SHORT: &[&str] = &[
    "everything",
    "full-house",
    "hot-water",
    "outage",
    "pond-year",
    "power-out",
    "six-heaters",
    "town-line",
    "two-wells",
];

/// A ready scenario and where it stands.
pub(crate) struct Ready {
    pub(crate) name: String,
    pub(crate) path: PathBuf,
}

/// All of them, by name.
pub(crate) fn all() -> Vec<Ready> {
    let files = fs::read_dir(repository().join("scenarios")).unwrap().map(|entry| entry.unwrap().path());
    let mut ready: Vec<_> = files
        .filter(|path| path.extension().is_some_and(|extension| extension == "toml"))
        .map(|path| Ready { name: path.file_stem().unwrap().to_str().unwrap().to_owned(), path })
        .collect();
    ready.sort_by(|a, b| a.name.cmp(&b.name));
    assert!(ready.len() >= 6, "only {} scenarios", ready.len());
    ready
}

/// One of them.
pub(crate) fn path(name: &str) -> PathBuf {
    repository().join("scenarios").join(format!("{name}.toml"))
}

/// A run of a ready scenario as it stands.
pub(crate) struct Whole {
    pub(crate) done: Done,
    out: TempDir,
}

impl Whole {
    /// Its files.
    pub(crate) fn folder(&self) -> &Path {
        self.out.path()
    }

    pub(crate) fn summary(&self) -> Value {
        summary(self.folder())
    }
}

/// The runs of all ready scenarios as they stand.
pub(crate) fn whole() -> &'static BTreeMap<String, Whole> {
    static WHOLE: OnceLock<BTreeMap<String, Whole>> = OnceLock::new();
    WHOLE.get_or_init(|| {
        let run_one = |ready: Ready| {
            let out = TempDir::new().unwrap();
            let done = run(repository(), &ready.path, &["--strict", "--out", out.path().to_str().unwrap()]);
            (ready.name, Whole { done, out })
        };
        all().into_iter().map(run_one).collect()
    })
}

/// The summary in a folder of results.
pub(crate) fn summary(folder: &Path) -> Value {
    serde_json::from_slice(&fs::read(folder.join("summary.json")).unwrap()).unwrap()
}

/// A figure of a summary; the parts of its key are separated by points.
#[track_caller]
pub(crate) fn figure(summary: &Value, key: &str) -> f64 {
    let found = key.split('.').fold(summary, |value, part| &value[part]);
    found.as_f64().unwrap_or_else(|| panic!("no figure {key} in {summary}"))
}

#[test]
fn ready_scenarios_end_as_their_story_says() {
    for (name, whole) in whole() {
        let short = FALLS_SHORT.contains(&name.as_str());
        let (code, words) = if short { (3, "Falls short: ") } else { (0, "Holds: ") };
        assert_eq!(whole.done.code, Some(code), "{name}: {}", whole.done.stderr);
        assert!(whole.done.stdout.contains(words), "{name}: {}", whole.done.stdout);
        assert!(whole.done.stderr.is_empty(), "{name}: {}", whole.done.stderr);
        assert_eq!(whole.summary()["verdict"]["holds"], !short, "{name}");
        // A scenario that shows nothing would pass all of this.
        assert!(figure(&whole.summary(), "water.delivered_l") > 100.0, "{name}");
    }
    assert!(FALLS_SHORT.iter().all(|name| whole().contains_key(*name)));
}

#[test]
fn water_balances_in_every_ready_scenario() {
    for (name, whole) in whole() {
        let summary = whole.summary();
        let given = summary["supplies"].as_array().unwrap().iter().map(|supply| figure(supply, "given_l"));
        let litres = given.sum::<f64>().max(figure(&summary, "water.delivered_l"));
        let residual_l = figure(&summary, "balance.water_residual_l");
        // Thousands of additions, each rounded to 1e-16 of the sum.
        assert!(residual_l.abs() < 1e-12 * litres, "{name}: {residual_l} L of {litres} L");
        let residual_g = figure(&summary, "balance.salt_residual_g");
        // What the waters carry is a few hundred milligrams a litre, rounded as often.
        assert!(residual_g.abs() < 1e-12 * litres, "{name}: {residual_g} g in {litres} L");
    }
}

#[test]
fn burst_is_told_with_its_time() {
    let summary = whole()["two-wells"].summary();
    let findings = summary["verdict"]["findings"].as_array().unwrap();
    let burst = findings.iter().find(|finding| finding["kind"] == "leaked").unwrap();
    assert_eq!((&burst["at"], figure(burst, "count")), (&Value::from("2027-06-11T14:00:00"), 1.0), "{burst}");
    assert_eq!((figure(burst, "minutes"), figure(burst, "litres")), (360.0, figure(&summary, "water.leaked_l")));
}

#[test]
fn scenarios_show_what_they_ask_for() {
    let supply = |scenario: &str, name: &str, key: &str| {
        let summary = whole()[scenario].summary();
        let supplies = summary["supplies"].as_array().unwrap().clone();
        figure(supplies.iter().find(|supply| supply["name"] == name).unwrap(), key)
    };
    assert!(supply("rain-cistern", "cistern", "spilled_l") > 100.0);
    assert!(supply("rain-cistern", "town line", "given_l") > 100.0);
    assert!(supply("pond-standby", "pond", "topped_up_l") > 100.0);
}
