//! Reading of the tables in `tests/data/`.

/// Rows of a table, without provenance lines and header.
pub fn rows(text: &str) -> impl Iterator<Item = Vec<&str>> {
    text.lines().filter(|line| !line.starts_with('#')).skip(1).map(|line| line.split(',').collect())
}

/// The provenance lines of a table.
pub fn comment(text: &str) -> String {
    text.lines().filter(|line| line.starts_with('#')).collect::<Vec<_>>().join("\n")
}
