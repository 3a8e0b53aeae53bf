//! Wrong scenarios: refused with exit code 2, and told on standard error as the snapshots have it.
//!
//! A snapshot is read as a user would: it must name file, line and place, what was found, what is accepted, and what to
//! write instead.

use std::collections::BTreeSet;
use std::fs;
use std::path::Path;

use tempfile::TempDir;

use crate::program::{Done, springhouse};

fn tests() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// What is said of something that is refused as bad input.
#[track_caller]
pub(crate) fn told(what: &str, done: Done) -> String {
    assert_eq!(done.code, Some(2), "{what}: {}{}", done.stdout, done.stderr);
    assert_eq!(done.stdout, "", "{what}: standard output is for results");
    assert!(!done.stderr.is_empty(), "{what}: nothing is said");
    assert!(!done.stderr.contains('\u{1b}'), "{what}: colour without a terminal: {:?}", done.stderr);
    done.stderr
}

fn names(folder: &Path) -> BTreeSet<String> {
    fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().file_name().into_string().unwrap()).collect()
}

#[test]
fn wrong_scenarios_are_told_as_a_user_needs_it() {
    let files = names(&tests().join("wrong"));
    assert!(files.len() >= 40, "{}", files.len());
    for name in &files {
        // From here the path is the same on every machine.
        let file = format!("wrong/{name}");
        let stderr = told(name, springhouse(tests(), ["check", &file])).replace("wrong\\", "wrong/");
        assert!(stderr.contains("error: ") && stderr.contains(&file), "{name} is not named: {stderr}");
        insta::with_settings!({ snapshot_path => "snapshots/wrong", prepend_module_to_snapshot => false, omit_expression => true }, {
            insta::assert_snapshot!(name.as_str(), stderr);
        });
    }
    let snapshots = names(&tests().join("command_line/snapshots/wrong"));
    let expected: BTreeSet<_> = files.iter().map(|name| format!("{name}.snap")).collect();
    assert_eq!(snapshots, expected, "every wrong file has its snapshot, and every snapshot its file");
}

#[test]
fn run_refuses_what_check_refuses() {
    let folder = TempDir::new().unwrap();
    let file = tests().join("wrong/many-faults-at-once.toml");
    let file = file.to_str().unwrap();
    let [check, run] = ["check", "run"].map(|command| told(command, springhouse(folder.path(), [command, file])));
    assert_eq!(check, run);
    assert_eq!(check.matches("error: ").count(), 5, "{check}");
    assert_eq!(names(folder.path()), BTreeSet::new(), "a refused scenario leaves no file");
}

#[test]
fn what_is_no_file_is_refused() {
    let folder = TempDir::new().unwrap();
    fs::create_dir(folder.path().join("plant.toml")).unwrap();
    for command in ["check", "run"] {
        for name in ["none.toml", "plant.toml"] {
            let stderr = told(name, springhouse(folder.path(), [command, name]));
            assert!(stderr.contains("the scenario file cannot be read") && stderr.contains(name), "{stderr}");
        }
    }
    assert_eq!(names(folder.path()), BTreeSet::from(["plant.toml".to_owned()]));
}
