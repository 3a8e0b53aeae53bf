//! Results change only on purpose: the digest of what each ready scenario gives is kept in `digests.txt`.

use std::fmt::Write;
use std::fs;
use std::path::{Path, PathBuf};

use crate::ready::whole;

/// Set to 1 it has the digests written anew.
const RENEW: &str = "SPRINGHOUSE_RENEW_DIGESTS";

fn kept_in() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("command_line/digests.txt")
}

#[test]
fn regress_results_of_the_ready_scenarios() {
    let mut found = String::new();
    for (name, whole) in whole() {
        writeln!(found, "{} {name}", digest(whole.folder())).unwrap();
    }
    if std::env::var_os(RENEW).is_some_and(|value| value == "1") {
        fs::write(kept_in(), &found).unwrap();
    }
    let kept = fs::read_to_string(kept_in()).unwrap_or_default();
    let changed: Vec<_> = found.lines().filter(|line| !kept.lines().any(|kept| kept == *line)).collect();
    assert!(
        kept == found,
        "the results of ready scenarios are not what they were:\n\n{}\n\n\
         The same scenario and seed must give the same bytes on every machine, in every version that does not say \
         otherwise. If the change is meant, tell in the commit what changes and by how much, and renew the digests:\n\n    \
         {RENEW}=1 cargo test -p springhouse-tests --test command_line digests",
        if changed.is_empty() { "(a scenario has gone)".to_owned() } else { changed.join("\n") },
    );
}

/// BLAKE3 of `summary.json` and `events.csv`. The version of the program is not a result.
fn digest(folder: &Path) -> blake3::Hash {
    let summary = fs::read_to_string(folder.join("summary.json")).unwrap();
    let is_version = |line: &&str| line.trim_start().starts_with("\"version\": ");
    assert_eq!(summary.lines().filter(is_version).count(), 1);
    let mut hasher = blake3::Hasher::new();
    for line in summary.lines().filter(|line| !is_version(line)) {
        hasher.update(line.as_bytes()).update(b"\n");
    }
    hasher.update(&fs::read(folder.join("events.csv")).unwrap()).finalize()
}
