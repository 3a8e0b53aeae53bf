//! Variants of a scenario: a key that is set is the same as a key that is typed.

use std::path::{Path, PathBuf};

use springhouse_scenario::vary::{Base, KeyPath, Value};
use springhouse_scenario::{Format, Scenario, load, parse};

fn ready(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../scenarios").join(name)
}

fn all_ready() -> Vec<PathBuf> {
    let files = std::fs::read_dir(ready("")).into_iter().flatten().flatten();
    let mut files: Vec<_> =
        files.map(|entry| entry.path()).filter(|path| path.extension().is_some_and(|it| it == "toml")).collect();
    files.sort();
    assert!(files.len() >= 20, "{files:?}");
    files
}

fn base(name: &str) -> Base {
    Base::load(&ready(name)).unwrap_or_else(|faults| panic!("{faults}"))
}

fn setting(path: &str, value: &str) -> (KeyPath, Value) {
    let key = KeyPath::parse(path).unwrap_or_else(|fault| panic!("{path}: {fault:?}"));
    (key, Value::parse(value).unwrap_or_else(|fault| panic!("{value}: {fault:?}")))
}

fn variant(base: &Base, settings: &[(&str, &str)]) -> Scenario {
    let settings: Vec<_> = settings.iter().map(|(path, value)| setting(path, value)).collect();
    base.with(&settings).unwrap_or_else(|faults| panic!("{faults}")).scenario
}

/// All of a scenario: numbers are written so that every bit counts.
fn all(scenario: &Scenario) -> String {
    format!("{scenario:?}")
}

/// The text of a ready scenario with parts of it replaced: each the first one behind a header or another text.
fn edited(name: &str, edits: &[(&str, &str, &str)]) -> String {
    let mut text = std::fs::read_to_string(ready(name)).unwrap_or_default();
    for (behind, from, to) in edits {
        let (before, after) = text.split_at(text.find(behind).unwrap_or_else(|| panic!("{behind} in {name}")));
        assert!(after.contains(from), "{from} behind {behind} in {name}");
        text = format!("{before}{}", after.replacen(from, to, 1));
    }
    text
}

/// Asserts that keys set in a ready scenario make what the edited file makes, and not what the file makes as it is.
fn same(name: &str, settings: &[(&str, &str)], edits: &[(&str, &str, &str)]) {
    let base = base(name);
    let set = all(&variant(&base, settings));
    let typed = parse(&edited(name, edits), Format::Toml, &ready(name).display().to_string());
    let typed = typed.unwrap_or_else(|faults| panic!("{faults}")).scenario;
    assert_eq!(set, all(&typed), "{settings:?} of {name}");
    assert_ne!(set, all(&variant(&base, &[])), "{settings:?} of {name} change nothing");
}

#[test]
fn exact_values_of_every_kind_are_as_typed() {
    let same = |path, value, edit| same("slow-well.toml", &[(path, value)], &[edit]);
    same("storage.volume", "\"2000 gal\"", ("[storage]", "\"1500 gal\"", "\"2000 gal\""));
    same("storage.float_switch.stop", "\"1450 gal\"", ("[storage.float_switch]", "stop = ", "stop = \"1450 gal\" # "));
    same("pressure_tank.count", "3", ("[pressure_tank]", "count = 2", "count = 3"));
    same("start", "2027-07-01", ("start = ", "start = ", "start = 2027-07-01 # "));
    same("units", "\"metric\"", ("units", "\"us\"", "\"metric\""));
    same("draw[2].start", "\"06:15\"", ("# toilet", "\"05:55\"", "\"06:15\""));
    same("draw[2].weekdays", "[\"sun\"]", ("# toilet", "[\"mon\", \"tue\", \"wed\", \"thu\", \"fri\"]", "[\"sun\"]"));
    same("draw[2].weekdays[1]", "\"sun\"", ("# toilet", "\"mon\"", "\"sun\""));
    same("well_pump.curve[4].head", "\"311 ft\"", ("[well_pump]", "\"310 ft\"", "\"311 ft\""));
}

#[test]
fn exact_items_by_number_and_by_name_are_as_typed() {
    same("outage.toml", &[("building[1].people[3].count", "5")], &[("\"guests\"", "count = 7", "count = 5")]);
    same(
        "outage.toml",
        &[("building[house].people[parents].count", "3"), ("heater[heater].mode", "\"heat pump only\"")],
        &[("\"parents\"", "count = 2", "count = 3"), ("[[heater]]", "\"hybrid\"", "\"heat pump only\"")],
    );
    same(
        "hot-water.toml",
        &[("heater[cottage heater].set_point", "\"130 °F\"")],
        &[("\"cottage heater\"", "\"125 °F\"", "\"130 °F\"")],
    );
    same(
        "everything.toml",
        &[("heater[1].sun.set_point", "\"60 °C\""), ("membrane.hours.until", "\"1000 gal\"")],
        &[("[heater.sun]", "\"150 °F\"", "\"60 °C\""), ("[membrane.hours]", "\"65 %\"", "\"1000 gal\"")],
    );
    same(
        "town-line.toml",
        &[("pressure_reducer.set_pressure", "\"48 psi\""), ("building[cottage].rise", "\"3 ft\"")],
        &[("[pressure_reducer]", "\"50 psi\"", "\"48 psi\""), ("\"cottage\"", "\"18 ft\"", "\"3 ft\"")],
    );
}

#[test]
fn exact_keys_and_sections_that_were_not_there_are_as_typed() {
    same("ideal.toml", &[("seed", "7")], &[("days", "days", "seed = 7\ndays")]);
    same(
        "full-house.toml",
        &[("building[cottage].fixtures.clothes_washer", "false")],
        &[("\"cottage\"", "dishwasher = false", "dishwasher = false\nclothes_washer = false")],
    );
    let tariff = "[tariff]\nimport = \"0.2 /kWh\"\n[pressure_tank]";
    same("slow-well.toml", &[("tariff.import", "\"0.2 /kWh\"")], &[("[pressure_tank]", "[pressure_tank]", tariff)]);
    // A section by its keys, and as a whole.
    let service = "[building.service]\nlength = \"90 ft\"\nbore = \"1 in\"\n[[draw]]";
    let service = [("[[building]]", "[[draw]]", service)];
    let keys = [("building[house].service.length", "\"90 ft\""), ("building[house].service.bore", "\"1 in\"")];
    same("slow-well.toml", &keys, &service);
    let whole = ("building[1].service", "{ length = \"90 ft\", bore = \"1 in\" }");
    same("slow-well.toml", &[whole], &service);
}

#[test]
fn exact_nothing_set_is_the_base() {
    for file in all_ready() {
        let (loaded, base) = (load(&file).unwrap(), Base::load(&file).unwrap());
        let with = base.with(&[]).unwrap();
        assert_eq!(all(&with.scenario), all(&loaded.scenario), "{}", file.display());
        assert_eq!(format!("{:?}", with.pump_test), format!("{:?}", loaded.pump_test));
        assert!(with.warnings.is_empty());
    }
}

/// What is left of a file without its keys: lists with items that have none, and sections that never had any.
fn skeleton(table: &toml::Table) -> toml::Table {
    let bare = |(key, value): (&String, &toml::Value)| {
        let left = match value {
            toml::Value::Table(inner) => {
                let left = skeleton(inner);
                (inner.is_empty() || !left.is_empty()).then_some(toml::Value::Table(left))
            }
            toml::Value::Array(items) if is_sections(items) => {
                let items = items.iter().filter_map(toml::Value::as_table);
                Some(items.map(|item| toml::Value::Table(skeleton(item))).collect::<Vec<_>>().into())
            }
            _ => None,
        };
        left.map(|left| (key.clone(), left))
    };
    table.iter().filter_map(bare).collect()
}

fn is_sections(items: &[toml::Value]) -> bool {
    items.iter().any(toml::Value::is_table)
}

/// Every key of a file with its value, by paths with numbers.
fn leaves(table: &toml::Table, path: &str, found: &mut Vec<(String, String)>) {
    for (key, value) in table {
        let path = if path.is_empty() { key.clone() } else { format!("{path}.{key}") };
        match value {
            toml::Value::Table(inner) => leaves(inner, &path, found),
            toml::Value::Array(items) if is_sections(items) => {
                for (index, item) in items.iter().filter_map(toml::Value::as_table).enumerate() {
                    leaves(item, &format!("{path}[{}]", index + 1), found);
                }
            }
            _ => found.push((path, typed(value))),
        }
    }
}

fn typed(value: &toml::Value) -> String {
    match value {
        toml::Value::String(text) => Value::text(text).to_string(),
        toml::Value::Array(items) => format!("[{}]", items.iter().map(typed).collect::<Vec<_>>().join(", ")),
        toml::Value::Float(number) => format!("{number:?}"),
        toml::Value::Integer(number) => number.to_string(),
        toml::Value::Boolean(yes) => yes.to_string(),
        toml::Value::Datetime(moment) => moment.to_string(),
        toml::Value::Table(_) => panic!("a section is no value"),
    }
}

/// A JSON file without any key, and every key of a ready scenario set: all paths, kinds of values and sections at once.
#[test]
fn exact_every_key_of_every_ready_scenario_can_be_set() {
    let mut seen = 0;
    for file in all_ready() {
        let whole: toml::Table = toml::from_str(&std::fs::read_to_string(&file).unwrap()).unwrap();
        let bare = serde_json::to_string(&skeleton(&whole)).unwrap();
        let name = file.display().to_string();
        let base = Base::parse(&bare, Format::Json, &name).unwrap_or_else(|faults| panic!("{faults}"));
        let mut keys = Vec::new();
        leaves(&whole, "", &mut keys);
        let settings: Vec<_> = keys.iter().map(|(path, value)| setting(path, value)).collect();
        for (path, _) in &settings {
            assert!(base.knows(path).is_ok(), "{path}");
        }
        let set = base.with(&settings).unwrap_or_else(|faults| panic!("{faults}")).scenario;
        assert_eq!(all(&set), all(&load(&file).unwrap().scenario), "{name}");
        seen += keys.len();
    }
    assert!(seen > 2_000, "{seen}");
}

#[test]
fn exact_a_plate_is_solved_once() {
    let base = base("six-heaters.toml");
    let as_it_is = all(&base.with(&[]).unwrap().scenario);
    let solved = base.plates_solved();
    // A first hour and an energy factor of each, some first hours by a neighbour.
    assert!(solved >= 12, "{solved}");
    for value in ["\"110 °F\"", "\"130 °F\""] {
        let set = variant(&base, &[("heater[gas].set_point", value), ("days", "3")]);
        assert_ne!(all(&set), as_it_is);
    }
    assert_eq!(base.plates_solved(), solved);
    // The inlet that its first hour asks for is known already.
    let factor = ("heater[middle heat pump].energy_factor", "3.4");
    let set = all(&variant(&base, &[factor]));
    assert_eq!(base.plates_solved(), solved + 1);
    assert_eq!(all(&variant(&base, &[factor])), set);
    assert_eq!(base.plates_solved(), solved + 1);
    let edit = [("\"middle heat pump\"", "energy_factor = 3.3", "energy_factor = 3.4")];
    let path = ready("six-heaters.toml").display().to_string();
    assert_eq!(set, all(&parse(&edited("six-heaters.toml", &edit), Format::Toml, &path).unwrap().scenario));
    assert_eq!(all(&base.with(&[]).unwrap().scenario), as_it_is);
}

#[test]
fn exact_threads_share_a_base() {
    fn shared<T: Send + Sync + Clone>(_: &T) {}
    let base = base("outage.toml");
    shared(&base);
    shared(&setting("days", "3"));
    let with = |days: u32| all(&variant(&base, &[("days", &(6 + days).to_string())]));
    let found: Vec<_> = std::thread::scope(|scope| {
        let threads: Vec<_> = (1..5).map(|days| scope.spawn(move || with(days))).collect();
        threads.into_iter().map(|thread| thread.join().unwrap()).collect()
    });
    let solved = base.plates_solved();
    assert_eq!(found, (1..5).map(with).collect::<Vec<_>>());
    assert_eq!(base.plates_solved(), solved);
    let alone = self::base("outage.toml");
    variant(&alone, &[("days", "7")]);
    assert_eq!(alone.plates_solved(), solved);
}

#[test]
fn exact_what_keys_take() {
    let base = base("outage.toml");
    for (path, what) in [
        ("storage.volume", "a volume"),
        ("pond.cutoff.stop", "a volume or a share"),
        ("heater[heater].kind", "one of `heat pump`, `electric`, `gas`, `propane`"),
        ("title", "text"),
        ("weather.file", "a file's name"),
        ("start", "a date"),
        ("incident[1].start", "a date and time"),
        ("change_over.back_after", "a length of time"),
        ("days", "a whole number from 1 to 3660"),
        ("site.latitude", "a number from -90 to 90"),
        ("well.standby", "true or false"),
        ("storage", "a section"),
        ("draw", "a list of: a section"),
        ("building[house].people[2].workday.wake", "a time of day"),
    ] {
        let found = KeyPath::parse(path).and_then(|path| base.knows(&path));
        assert_eq!(found.map(|what| what.to_string()).map_err(|fault| fault.title().to_owned()), Ok(what.to_owned()));
    }
}
