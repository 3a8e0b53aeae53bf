//! The JSON Schema of a scenario, for editors: made from the sections.

use serde_json::{Map, Value, json};

use crate::sections::ScenarioFile;
use crate::typed::{Field, Presence, Section, Shape};

/// The JSON Schema (draft 2020-12) of a scenario file.
///
/// It knows keys, types and words; whether the numbers make a plant that works only [`load`](crate::load()) can tell.
#[must_use]
pub fn json_schema() -> String {
    let mut schema = section(ScenarioFile::SECTION);
    if let Value::Object(schema) = &mut schema {
        schema.insert("$schema".into(), "https://json-schema.org/draft/2020-12/schema".into());
        schema.insert("title".into(), "A scenario of a private water plant".into());
    }
    format!("{schema:#}\n")
}

fn section(section: &Section) -> Value {
    let properties: Map<_, _> = section.fields.iter().map(|key| (key.name.to_owned(), field(key))).collect();
    let required: Vec<_> = section.fields.iter().filter(|key| is_required(key)).map(|key| key.name).collect();
    json!({
        "type": "object",
        "description": words(section.doc),
        "properties": properties,
        "required": required,
        "additionalProperties": false,
    })
}

fn is_required(field: &Field) -> bool {
    matches!(field.presence, Presence::Required { .. })
}

fn field(field: &Field) -> Value {
    let shape = (field.shape)();
    let mut schema = self::shape(&shape);
    let Value::Object(map) = &mut schema else { return schema };
    map.insert("description".into(), words(field.doc).into());
    if shape.section().is_none()
        && let Some(example) = field.example_value()
    {
        let example = Value::from(&example);
        match field.presence {
            Presence::Default { .. } => map.insert("default".into(), example),
            _ => map.insert("examples".into(), json!([example])),
        };
    }
    schema
}

fn shape(shape: &Shape) -> Value {
    // A number, and somewhere after it a letter or sign of a unit.
    let quantity = r"^\s*[-+−]?[0-9.¼½¾⅛⅜⅝⅞].*[A-Za-z%°℃℉]";
    match shape {
        Shape::Quantity(_) | Shape::Level => json!({ "type": "string", "pattern": quantity }),
        Shape::Choice(choices) => json!({ "enum": choices }),
        Shape::Text | Shape::File => json!({ "type": "string", "minLength": 1 }),
        Shape::Date => json!({ "type": "string", "pattern": r"^[0-9]{4}-[0-9]{2}-[0-9]{2}$" }),
        Shape::Moment => {
            json!({ "type": "string", "pattern": r"^[0-9]{4}-[0-9]{2}-[0-9]{2}[Tt ][0-9]{1,2}:[0-9]{2}(:[0-9]{2})?$" })
        }
        Shape::TimeOfDay => json!({ "type": "string", "pattern": r"^[0-9]{1,2}:[0-9]{2}(:[0-9]{2})?$" }),
        Shape::Whole { least, most } => json!({ "type": "integer", "minimum": least, "maximum": most }),
        Shape::Number { least, most } => json!({ "type": "number", "minimum": least, "maximum": most }),
        Shape::YesNo => json!({ "type": "boolean" }),
        Shape::List(item) => json!({ "type": "array", "items": self::shape(item) }),
        Shape::Section(inner) => section(inner),
        Shape::Any => json!({}),
    }
}

/// A doc comment as one line.
fn words(doc: &str) -> String {
    doc.split_whitespace().collect::<Vec<_>>().join(" ")
}
