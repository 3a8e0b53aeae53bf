//! `summary.json`: the figures of a run, metric, with the unit in the key.

use springhouse_sim::Summary;

/// The file's text: two spaces a level, keys in the order of [`Summary`], a newline at the end.
///
/// # Errors
/// Where a figure has no place in JSON.
pub fn summary(summary: &Summary) -> serde_json::Result<String> {
    let mut text = serde_json::to_string_pretty(summary)?;
    text.push('\n');
    Ok(text)
}
