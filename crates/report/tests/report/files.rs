//! The files of a run: all or none, and errors that say what to do.

use std::fs;
use std::path::Path;

use springhouse_report::write;
use springhouse_scenario::Units;

use crate::invented::{HOUSES, sound, troubled};

const NAMES: [&str; 11] = [
    "energy.png",
    "energy.svg",
    "events.csv",
    "levels.png",
    "levels.svg",
    "minutes.csv",
    "pump.png",
    "pump.svg",
    "run-outs.png",
    "run-outs.svg",
    "summary.json",
];

fn names(folder: &Path) -> Vec<String> {
    let mut names: Vec<_> =
        fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().file_name().into_string().unwrap()).collect();
    names.sort();
    names
}

#[test]
fn folder_holds_the_files_and_nothing_else() {
    let place = tempfile::tempdir().unwrap();
    let folder = place.path().join("a/b");
    let case = sound(2, &HOUSES, true, 10);
    let mut written = write::all(&case.run(Units::Us), &folder).unwrap();
    written.sort();
    assert_eq!(names(&folder), NAMES);
    assert_eq!(written, NAMES.map(|name| folder.join(name)));
    let before: Vec<_> = NAMES.iter().map(|name| fs::read(folder.join(name)).unwrap()).collect();
    write::all(&case.run(Units::Us), &folder).unwrap();
    let after: Vec<_> = NAMES.iter().map(|name| fs::read(folder.join(name)).unwrap()).collect();
    assert!(before == after, "the same run gave other bytes");
    assert_eq!(names(&folder), NAMES);
}

#[cfg(unix)]
#[test]
fn files_are_as_open_as_any_other() {
    use std::os::unix::fs::PermissionsExt;
    let place = tempfile::tempdir().unwrap();
    fs::write(place.path().join("plain"), "").unwrap();
    write::file(&place.path().join("ours"), b"x").unwrap();
    let mode = |name: &str| fs::metadata(place.path().join(name)).unwrap().permissions().mode();
    assert_eq!(mode("ours"), mode("plain"));
}

#[test]
fn file_in_the_way_of_the_folder_is_told() {
    let place = tempfile::tempdir().unwrap();
    let folder = place.path().join("out");
    fs::write(&folder, "mine").unwrap();
    let error = write::all(&troubled().run(Units::Us), &folder).unwrap_err();
    assert_eq!(error.path, folder);
    assert!(error.to_string().contains("choose another folder or move the file"), "{error}");
    assert_eq!(fs::read_to_string(&folder).unwrap(), "mine");
}

#[test]
fn failure_leaves_the_old_results() {
    let place = tempfile::tempdir().unwrap();
    let folder = place.path();
    fs::write(folder.join("minutes.csv"), "old").unwrap();
    // A folder where a file is to go: found before anything is renamed.
    fs::create_dir(folder.join("events.csv")).unwrap();
    let error = write::all(&troubled().run(Units::Us), folder).unwrap_err();
    assert_eq!(error.path, folder.join("events.csv"));
    assert!(error.to_string().contains("a folder stands where the file is to go"), "{error}");
    assert_eq!(fs::read_to_string(folder.join("minutes.csv")).unwrap(), "old");
    assert_eq!(names(folder), ["events.csv", "minutes.csv"]);
}

#[test]
fn leftovers_of_killed_runs_are_swept() {
    let place = tempfile::tempdir().unwrap();
    let folder = place.path();
    let [old, young, other] =
        [".springhouse-old.tmp", ".springhouse-new.tmp", "mine.tmp"].map(|name| folder.join(name));
    for path in [&old, &young, &other] {
        fs::write(path, "").unwrap();
    }
    let long_ago = std::time::SystemTime::UNIX_EPOCH;
    for path in [&old, &other] {
        fs::File::options().write(true).open(path).unwrap().set_modified(long_ago).unwrap();
    }
    write::all(&sound(1, &HOUSES, true, 60).run(Units::Us), folder).unwrap();
    assert_eq!([old.exists(), young.exists(), other.exists()], [false, true, true]);
}
