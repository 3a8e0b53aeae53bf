//! The reference of keys, `docs/scenario.md`: made from the sections and the tables of units.

use std::fmt::Write as _;

use crate::quantity::unit::{ALL, TEMPERATURE_DIFFERENCE};
use crate::sections::ScenarioFile;
use crate::typed::{Field, Presence, Section, Shape};
use crate::vary::What;

const OPENING: &str = "# Scenario files

<!-- Made from crates/scenario/src/sections; change it there, then run the tests with UPDATE_DOCS=1. -->

A scenario describes a plant, what draws water from it, and what goes wrong, for a number of days. It is a file in TOML or,
with the same keys, in JSON. Ready ones are in `scenarios/`.

Every quantity is a text of a number and a unit: `\"75 gal\"`, `\"7.5 gpm\"`, `\"1-1/4 in\"`, `\"3/4 hp\"`, `\"1 h 30 min\"`. A
bare number is refused. The decimal mark is a point; thousands are not set off. Units can be mixed freely in one file.
Pressures are gauge pressures unless the key says otherwise. Dates and times are local standard time all year.

";

const STUDY_OPENING: &str = "# Study files

<!-- Made from crates/scenario/src/study/sections.rs; change it there, then run the tests with UPDATE_DOCS=1. -->

A study makes many runs of a scenario: variants of it side by side, each on many mornings. It is a file in TOML. Ready ones are
in `scenarios/studies/`. How sure an answer is, and by which equations, is in [studies.md](studies.md); what the files of a study
hold, in [outputs.md](outputs.md).

A key of the scenario is named by its path, from the outermost section inwards: `storage.volume`. Of sections that may stand
several times one is named by its number, counted from one, or by its name: `draw[2].flow`, `building[house].people[2].count`.
Values are written as in the scenario.

";

/// The one list of sections that is written as a list of points.
const CURVE: &str = "curve";

/// The reference of keys and units, in Markdown.
#[must_use]
pub fn reference_markdown() -> String {
    let mut page = OPENING.to_owned();
    section(&mut page, &mut Vec::new(), "", "The file", ScenarioFile::SECTION);
    units(&mut page);
    page
}

/// The reference of the keys of a study.
pub(crate) fn study_markdown(file: &'static Section) -> String {
    let mut page = STUDY_OPENING.to_owned();
    section(&mut page, &mut Vec::new(), "", "The file", file);
    page
}

/// Tells of a section and those in it; `told` holds the sections told already, with their headings.
fn section(
    page: &mut String,
    told: &mut Vec<(&'static str, String)>,
    path: &str,
    title: &str,
    section: &'static Section,
) {
    // Each kind of section has words of its own.
    if let Some((_, first)) = told.iter().find(|(doc, _)| *doc == section.doc) {
        let first = first.strip_prefix("Points of ").unwrap_or(first);
        let _ = write!(page, "## {title}\n\nIts keys are those of {first}.\n\n");
        return;
    }
    told.push((section.doc, title.to_owned()));
    let doc: Vec<_> = section.doc.lines().map(str::trim).collect();
    // Writing to a string cannot fail.
    let _ = write!(page, "## {title}\n\n{}\n\n", doc.join("\n").trim());
    let _ = writeln!(page, "| key | what it is | written as | left out |\n| --- | --- | --- | --- |");
    for field in section.fields {
        let _ = writeln!(page, "{}", row(field));
    }
    page.push('\n');
    for field in section.fields {
        let shape = (field.shape)();
        if let Some(inner) = shape.section() {
            let path = if path.is_empty() { field.name.to_owned() } else { format!("{path}.{}", field.name) };
            let heading = match (&shape, field.name == CURVE) {
                (Shape::List(_), false) => format!("`[[{path}]]`"),
                (Shape::List(_), true) => format!("Points of `{path}`"),
                _ => format!("`[{path}]`"),
            };
            self::section(page, told, &path, &heading, inner);
        }
    }
}

fn row(field: &Field) -> String {
    let shape = (field.shape)();
    let written = if shape.section().is_some() {
        "section".to_owned()
    } else {
        let example = field.example_value().map(|value| serde_json::Value::from(&value).to_string());
        format!("{}, like `{}`", What::of(&shape), example.unwrap_or_default())
    };
    let written = if matches!(shape, Shape::List(_)) && shape.section().is_some() {
        if field.name == CURVE { "list of points".to_owned() } else { "any number of sections".to_owned() }
    } else {
        written
    };
    let left_out = match field.presence {
        Presence::Required { .. } => "**required**".to_owned(),
        Presence::Default { text } => format!("`{text}`"),
        Presence::Optional { otherwise, .. } => otherwise.to_owned(),
        Presence::Empty if matches!(shape, Shape::List(_)) => "none".to_owned(),
        Presence::Empty => "as its keys say".to_owned(),
    };
    format!("| `{}` | {} | {written} | {left_out} |", field.name, field.doc.trim())
}

fn units(page: &mut String) {
    page.push_str(
        "## Units\n\nUpper and lower case do not matter where that leaves one unit. `gal` is the US gallon of 231 cubic inches.\n\n",
    );
    page.push_str("| quantity | units | also understood |\n| --- | --- | --- |\n");
    for dimension in ALL.iter().filter(|dimension| !std::ptr::eq(**dimension, &raw const TEMPERATURE_DIFFERENCE)) {
        let names: Vec<_> = dimension.names().map(|name| format!("`{name}`")).collect();
        let also: Vec<_> = dimension.units.iter().flat_map(|unit| unit.also).map(|name| format!("`{name}`")).collect();
        let _ = writeln!(page, "| {} | {} | {} |", dimension.what, names.join(", "), also.join(", "));
    }
}
