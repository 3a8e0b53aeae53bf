//! Figures of a summary by their paths.

use serde_json::Value;
use springhouse_scenario::vary::{KeyPath, Which};

/// The figure at a path of a summary in JSON; true is 1 and false 0. `None` where there is none, or no number.
pub(super) fn figure(summary: &Value, path: &KeyPath) -> Option<f64> {
    let mut there = summary;
    for (key, which) in path.keys() {
        there = there.get(key)?;
        if let Some(which) = which {
            let items = there.as_array()?;
            there = match which {
                Which::Number(number) => items.get(number.checked_sub(1)?)?,
                Which::Name(name) => items.iter().find(|item| name_of(item) == Some(name))?,
            };
        }
    }
    match there {
        Value::Number(number) => number.as_f64(),
        Value::Bool(yes) => Some(f64::from(u8::from(*yes))),
        _ => None,
    }
}

/// All paths of figures of a summary, in its order.
pub(super) fn paths(summary: &Value) -> Vec<String> {
    let mut paths = Vec::new();
    walk(summary, "", &mut paths);
    paths
}

fn walk(value: &Value, path: &str, paths: &mut Vec<String>) {
    match value {
        Value::Number(_) | Value::Bool(_) => paths.push(path.to_owned()),
        Value::Object(keys) => {
            for (key, value) in keys {
                let path = if path.is_empty() { key.clone() } else { format!("{path}.{key}") };
                walk(value, &path, paths);
            }
        }
        Value::Array(items) => {
            for (index, item) in items.iter().enumerate() {
                // A name that a path could not tell from a number, or that ends it.
                let name = name_of(item)
                    .filter(|name| !name.contains([']', '"', '\'']) && !name.bytes().all(|byte| byte.is_ascii_digit()));
                let which = name.map_or_else(|| (index + 1).to_string(), str::to_owned);
                walk(item, &format!("{path}[{which}]"), paths);
            }
        }
        Value::Null | Value::String(_) => {}
    }
}

fn name_of(item: &Value) -> Option<&str> {
    ["name", "part", "heater", "room"].iter().find_map(|key| item.get(key)?.as_str())
}

/// What is kept of a run where nothing else is asked for, as far as its summary has it.
pub(super) fn usual(all: &[String]) -> Vec<String> {
    let wanted = |path: &&String| {
        const PLAIN: [&str; 11] = [
            "water.run_outs",
            "water.run_out_minutes",
            "water.short_l",
            "water.lowest_storage_l",
            "pressure.lowest_kpa",
            "well.starts",
            "membrane.recovery",
            "membrane.run_hours",
            "energy.total_kwh",
            "energy.cost",
            "energy.site.own_supply_share",
        ];
        PLAIN.contains(&path.as_str()) || (path.starts_with("hot_water[") && path.ends_with("].lukewarm_minutes"))
    };
    all.iter().filter(wanted).cloned().collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    #[test]
    fn exact_figures_are_found_by_name_and_number() {
        let summary = json!({
            "water": { "run_outs": 3, "lowest_storage_at": "2027-06-07" },
            "outlets": [{ "name": "house", "short_l": 1.5 }, { "name": "7", "short_l": 2.5 }],
            "verdict": { "holds": true },
        });
        let of = |path: &str| figure(&summary, &KeyPath::parse(path).unwrap());
        assert_eq!(of("water.run_outs"), Some(3.0));
        assert_eq!(of("outlets[house].short_l"), Some(1.5));
        assert_eq!(of("outlets[2].short_l"), Some(2.5));
        assert_eq!(of("verdict.holds"), Some(1.0));
        for none in ["water", "water.lowest_storage_at", "water.nothing", "outlets[3].short_l", "outlets.short_l"] {
            assert_eq!(of(none), None, "{none}");
        }
        let all = paths(&summary);
        assert_eq!(all, ["outlets[house].short_l", "outlets[2].short_l", "verdict.holds", "water.run_outs"]);
        assert!(all.iter().all(|path| of(path).is_some()));
    }
}
