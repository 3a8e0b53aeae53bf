//! What goes to the disk and to standard output, and that a run that fails harms no earlier one.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

use tempfile::TempDir;

use crate::program::{run, springhouse};
use crate::ready::path;

/// Names and contents in a folder; of a folder in it the name only.
fn contents(folder: &Path) -> BTreeMap<String, Option<Vec<u8>>> {
    let entries = fs::read_dir(folder).unwrap().map(Result::unwrap);
    entries.map(|entry| (entry.file_name().into_string().unwrap(), fs::read(entry.path()).ok())).collect()
}

#[test]
fn json_on_standard_output_is_the_summary_file() {
    let folder = TempDir::new().unwrap();
    let args = ["--json", "--strict", "--days", "2", "--units", "us", "--out", "out"];
    let done = run(folder.path(), &path("power-out"), &args).with_code(3);
    assert_eq!(done.stdout, fs::read_to_string(folder.path().join("out/summary.json")).unwrap());
    assert_eq!(done.stderr, "warning: 1 of 2 incidents fall outside the run; see --from and --days\n");
    serde_json::from_str::<serde_json::Value>(&done.stdout).unwrap();
}

#[test]
fn nothing_is_written_unasked() {
    let folder = TempDir::new().unwrap();
    let scenario = path("ideal");
    run(folder.path(), &scenario, &["--no-files"]).with_code(0);
    springhouse(folder.path(), ["check", scenario.to_str().unwrap()]).with_code(0);
    springhouse(folder.path(), ["new", "-"]).with_code(0);
    springhouse(folder.path(), ["schema"]).with_code(0);
    assert_eq!(contents(folder.path()), BTreeMap::new());
}

#[test]
fn run_that_cannot_write_leaves_the_old_results() {
    let folder = TempDir::new().unwrap();
    let (scenario, out) = (path("ideal"), folder.path().join("out"));
    run(folder.path(), &scenario, &["--out", "out"]).with_code(0);
    for blocked in ["levels.svg", "summary.json"] {
        let place = out.join(blocked);
        let file = fs::read(&place).unwrap();
        fs::remove_file(&place).unwrap();
        fs::create_dir(&place).unwrap();
        let before = contents(&out);
        // Three days would give other files than the scenario's one.
        let done = run(folder.path(), &scenario, &["--out", "out", "--days", "3"]).with_code(1);
        assert_eq!(done.stdout, "", "nothing is told of a run without files");
        assert!(done.stderr.starts_with("error: cannot write ") && done.stderr.contains(blocked), "{}", done.stderr);
        assert!(done.stderr.contains("move it"), "{}", done.stderr);
        assert!(contents(&out) == before, "{:?}", contents(&out).keys());
        fs::remove_dir(&place).unwrap();
        fs::write(&place, file).unwrap();
    }
    let before = contents(&out);
    run(folder.path(), &scenario, &["--out", "out", "--days", "3"]).with_code(0);
    assert!(contents(&out) != before, "three days give other files");
}

#[test]
fn file_where_a_folder_is_wanted_is_named() {
    let folder = TempDir::new().unwrap();
    fs::write(folder.path().join("notes"), "mine").unwrap();
    let done = run(folder.path(), &path("ideal"), &["--out", "notes/june"]).with_code(1);
    assert!(done.stderr.contains("notes") && done.stderr.contains("choose another folder"), "{}", done.stderr);
    assert_eq!(fs::read_to_string(folder.path().join("notes")).unwrap(), "mine");
}
