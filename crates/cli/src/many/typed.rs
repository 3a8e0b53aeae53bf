//! A study typed on the command line, as the text of a study file: it is then read, and refused, like one.

use std::fmt::Write as _;
use std::path::Path;

use springhouse_scenario::vary::Value;

use super::args::StudyOf;
use crate::fault::Fault;

/// The text of a study of a scenario.
pub(super) fn text(of: &StudyOf) -> Result<String, Fault> {
    let file = of.file.file_name().map_or_else(String::new, |name| name.to_string_lossy().into_owned());
    let mut text = format!("scenario = {}\n", quoted(&file));
    let stem = of.file.file_stem().map_or_else(String::new, |stem| stem.to_string_lossy().into_owned());
    // Writing to a string cannot fail.
    let _ = writeln!(text, "title = {}", quoted(&format!("{stem}, varied")));
    if !of.figure.is_empty() {
        let figures: Vec<_> = of.figure.iter().map(|figure| quoted(figure)).collect();
        let _ = writeln!(text, "figures = [{}]", figures.join(", "));
    }
    if of.vary.len() > 2 {
        let help = "write a study file: docs/study.md has its keys";
        return Err(Fault::Bad(format!("error: more than two keys are varied on the command line\nhelp: {help}")));
    }
    for typed in &of.vary {
        let (key, values) = split(typed, "--vary", "'storage.volume=300 gal,500 gal'")?;
        let _ = write!(text, "\n[[vary]]\nkey = {}\n", quoted(key));
        let _ = match range(values) {
            Some((first, last, count)) => {
                let count = count.map_or_else(String::new, |count| format!("count = {count}\n"));
                write!(text, "first = {}\nlast = {}\n{count}", value(first), value(last))
            }
            None if values.trim_start().starts_with('[') => writeln!(text, "values = {}", values.trim()),
            None => writeln!(text, "values = [{}]", values.split(',').map(value).collect::<Vec<_>>().join(", ")),
        };
    }
    for typed in &of.uncertain {
        let example = "'well.specific_capacity=0.2 gpm/ft..0.5 gpm/ft'";
        let (key, values) = split(typed, "--uncertain", example)?;
        let Some((low, high, None)) = range(values) else {
            return Err(Fault::Bad(format!(
                "error: --uncertain {typed}: no range from a least to a most value\nhelp: write --uncertain {example}"
            )));
        };
        let _ = write!(text, "\n[[uncertain]]\nkey = {}\nlow = {}\nhigh = {}\n", quoted(key), value(low), value(high));
    }
    Ok(text)
}

/// The folder that its scenario is looked for from.
pub(super) fn folder(of: &StudyOf) -> &Path {
    of.file.parent().unwrap_or_else(|| Path::new(""))
}

fn split<'t>(typed: &'t str, option: &str, example: &str) -> Result<(&'t str, &'t str), Fault> {
    let found = typed.split_once('=').map(|(key, values)| (key.trim(), values.trim()));
    found.filter(|(key, values)| !key.is_empty() && !values.is_empty()).ok_or_else(|| {
        Fault::Bad(format!(
            "error: {option} {typed}: a key, =, and its values are wanted\nhelp: write {option} {example}"
        ))
    })
}

/// `300 gal..1400 gal/12`: a range, and how many values it has.
fn range(values: &str) -> Option<(&str, &str, Option<u32>)> {
    let (first, last) = values.split_once("..").filter(|(first, _)| !first.trim().is_empty())?;
    // A unit may have strokes of its own.
    let counted = last.rsplit_once('/').and_then(|(last, count)| Some((last, count.trim().parse().ok()?)));
    match counted {
        Some((last, count)) => Some((first.trim(), last.trim(), Some(count))),
        None => Some((first.trim(), last.trim(), None)),
    }
}

/// As it stands where that is a value in a file, else as a text.
fn value(typed: &str) -> String {
    let typed = typed.trim();
    match Value::parse(typed) {
        Ok(value) => value.to_string(),
        Err(_) => quoted(typed),
    }
}

fn quoted(text: &str) -> String {
    Value::text(text).to_string()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn exact_ranges_and_values_as_typed() {
        assert_eq!(range("300 gal..1400 gal/12"), Some(("300 gal", "1400 gal", Some(12))));
        assert_eq!(range("0.2 gpm/ft..0.5 gpm/ft"), Some(("0.2 gpm/ft", "0.5 gpm/ft", None)));
        assert_eq!(range("1 L/s..3 L/s/5"), Some(("1 L/s", "3 L/s", Some(5))));
        assert_eq!(range("300 gal,500 gal"), None);
        assert_eq!(
            ["300 gal", "3", "true", "\"a\"", "2027-07-01"].map(value),
            ["\"300 gal\"", "3", "true", "\"a\"", "2027-07-01"]
        );
    }
}
