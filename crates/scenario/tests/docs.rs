//! What is made from the sections: the schema fits the scenarios, and the files in `docs/` are current.

use std::path::{Path, PathBuf};

use springhouse_scenario::{json_schema, reference_markdown, starter};

fn repository() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..")
}

/// A TOML scenario as JSON, with dates as texts.
fn as_json(text: &str) -> serde_json::Value {
    fn plain(value: toml::Value) -> serde_json::Value {
        match value {
            toml::Value::Datetime(moment) => moment.to_string().into(),
            toml::Value::Array(items) => items.into_iter().map(plain).collect(),
            toml::Value::Table(table) => table.into_iter().map(|(key, value)| (key, plain(value))).collect(),
            toml::Value::String(text) => text.into(),
            toml::Value::Integer(whole) => whole.into(),
            toml::Value::Float(number) => number.into(),
            toml::Value::Boolean(yes) => yes.into(),
        }
    }
    plain(toml::Value::Table(toml::from_str(text).unwrap_or_default()))
}

#[test]
fn schema_fits_what_is_right_and_refuses_what_is_not() {
    let schema: serde_json::Value = serde_json::from_str(&json_schema()).unwrap();
    jsonschema::meta::validate(&schema).unwrap();
    let validator = jsonschema::validator_for(&schema).unwrap();
    let mut seen = 0;
    for entry in std::fs::read_dir(repository().join("scenarios")).unwrap() {
        let path = entry.unwrap().path();
        if path.extension().is_some_and(|extension| extension == "toml") {
            let scenario = as_json(&std::fs::read_to_string(&path).unwrap());
            assert!(validator.validate(&scenario).is_ok(), "{}: {:?}", path.display(), validator.validate(&scenario));
            seen += 1;
        }
    }
    assert!(seen >= 6);
    let good = as_json(starter());
    assert!(validator.is_valid(&good));
    let spoilt = |pointer: &str, value: serde_json::Value| {
        let mut scenario = good.clone();
        *scenario.pointer_mut(pointer).unwrap() = value;
        !validator.is_valid(&scenario)
    };
    assert!(spoilt("/pressure_tank/volume", 86.into()), "a bare number");
    assert!(spoilt("/pressure_tank/volume", "86".into()), "a number without a unit");
    assert!(spoilt("/days", (-3).into()), "negative days");
    assert!(spoilt("/units", "imperial".into()), "an unknown word");
    assert!(spoilt("/well", serde_json::json!({ "depth": "3 ft" })), "an unknown key");
    assert!(!spoilt("/pressure_tank/volume", "1½ m³".into()), "a sound volume");
}

/// Compares a made file with the one in the repository; `UPDATE_DOCS=1` writes it.
fn is_current(file: &str, text: &str) {
    let path = repository().join(file);
    if std::env::var_os("UPDATE_DOCS").is_some_and(|value| value == "1") {
        assert!(std::fs::write(&path, text).is_ok(), "{file} cannot be written");
    }
    let found = std::fs::read_to_string(&path).unwrap_or_default().replace("\r\n", "\n");
    assert!(found == text, "{file} is not current: run this test with UPDATE_DOCS=1");
}

#[test]
fn reference_is_current() {
    is_current("docs/scenario.md", &reference_markdown());
}

#[test]
fn schema_is_current() {
    is_current("docs/scenario.schema.json", &json_schema());
}
