//! `compare-*.json`: the figures of all ways, metric.

use serde_json::{Map, Value, json};
use springhouse_study::compare::Question;

use super::Compared;

/// The name of a comparison in files.
#[must_use]
pub fn name(question: Question) -> &'static str {
    match question {
        Question::Heaters => "heaters",
        Question::Hours => "hours",
        Question::Outage(_) => "outage",
    }
}

/// The file's text: two spaces a level, a newline at the end.
///
/// # Errors
/// Where a figure has no place in JSON.
pub fn document(compared: &Compared<'_>) -> serde_json::Result<String> {
    let comparison = compared.comparison;
    let mut ways = Vec::new();
    for figures in compared.figures() {
        let keys = match serde_json::to_value(figures)? {
            Value::Object(keys) => keys.into_iter().filter(|(_, value)| !value.is_null()).collect(),
            _ => Map::new(),
        };
        ways.push(Value::Object(keys));
    }
    let mut document = json!({
        "schema": "springhouse-compare/1",
        "scenario": compared.scenario.name,
        "compared": name(comparison.question),
        "start": compared.first_day.to_string(),
        "days": comparison.ways.first().map_or(0, |way| way.summary.days),
        "assumed": comparison.assumed,
        "ways": ways,
    });
    if let (Some(outage), Some(keys)) = (comparison.outage, document.as_object_mut()) {
        let start = outage.start.strftime("%Y-%m-%dT%H:%M:%S").to_string();
        keys.insert("outage".to_owned(), json!({ "start": start, "hours": outage.length.s() / 3_600.0 }));
    }
    let mut text = serde_json::to_string_pretty(&document)?;
    text.push('\n');
    Ok(text)
}
