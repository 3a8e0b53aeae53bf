//! The first commands people type: those of the README, and those the program itself names.

use std::fs;

use tempfile::TempDir;

use crate::program::{repository, springhouse};
use crate::ready::summary;

#[test]
fn new_names_the_command_that_runs() {
    let folder = TempDir::new().unwrap();
    let new = springhouse(folder.path(), ["new", "my.toml"]).with_code(0);
    assert!(folder.path().join("my.toml").is_file());
    let (_, next) = new.stdout.split_once("springhouse ").expect("it says what to do next");
    assert_eq!(next.trim_end(), "run my.toml");
    let run = springhouse(folder.path(), next.split_whitespace()).with_code(0);
    assert_eq!(run.stderr, "");
    // The place of the files is told as it is.
    let (_, told) = run.stdout.split_once("Files: ").expect("it says where the files are");
    let files = folder.path().join(told.lines().next().unwrap());
    assert!(["summary.json", "minutes.csv", "events.csv"].iter().all(|name| files.join(name).is_file()), "{told}");
    assert_eq!(summary(&files)["scenario"], "my");
}

#[test]
fn commands_of_the_readme_work_in_their_order() {
    let folder = TempDir::new().unwrap();
    let readme = fs::read_to_string(repository().join("README.md")).unwrap();
    let commands: Vec<_> = readme
        .lines()
        .filter_map(|line| line.strip_prefix("springhouse "))
        .map(|line| line.split('#').next().unwrap_or_default().trim())
        .collect();
    assert!(["new ", "check ", "run "].iter().all(|word| commands.iter().any(|line| line.starts_with(word))));
    for command in commands {
        let done = springhouse(folder.path(), command.split_whitespace());
        assert_eq!(done.code, Some(0), "springhouse {command}: {}", done.stderr);
        assert!(!done.stdout.is_empty() && done.stderr.is_empty(), "springhouse {command}: {}", done.stderr);
    }
}
