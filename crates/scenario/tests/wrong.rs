//! Wrong scenarios: each is refused, for a reason that points at a line.

use std::path::{Path, PathBuf};

use springhouse_scenario::{Severity, load};

fn wrong() -> Vec<PathBuf> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/wrong");
    let mut files: Vec<_> =
        std::fs::read_dir(folder).into_iter().flatten().flatten().map(|entry| entry.path()).collect();
    files.sort();
    files
}

#[test]
fn wrong_scenarios_are_refused() {
    let files = wrong();
    assert!(files.len() >= 40, "{}", files.len());
    for file in files {
        let faults = load(&file).expect_err(&format!("{} must be refused", file.display()));
        assert!(faults.iter().any(|fault| fault.severity() == Severity::Error), "{}", file.display());
        assert!(!faults.to_string().is_empty() && faults.render(true).contains('\u{1b}'), "{}", file.display());
    }
}
