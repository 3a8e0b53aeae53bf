//! What a person reads when a key of a study leads nowhere, or is set to what cannot be.

use std::path::Path;

use springhouse_scenario::vary::{Base, KeyPath, Value};
use springhouse_scenario::{Diagnostic, Diagnostics, Format, starter};

/// The starter with two heaters.
fn base() -> Base {
    let heaters = "[[heater]]\nname = \"tank\"\nkind = \"electric\"\nvolume = \"45 gal\"\n
[[heater]]\nname = \"boiler\"\nkind = \"gas\"\nvolume = \"38 gal\"\n";
    let text = format!("{}\n{heaters}", starter());
    Base::parse(&text, Format::Toml, "plant.toml").unwrap_or_else(|faults| panic!("{faults}"))
}

fn paragraph(name: &str, text: &str, fault: Diagnostic) -> String {
    Diagnostics::in_text(name, text, vec![fault]).to_string()
}

/// What is told of a path.
fn of_path(path: &str) -> String {
    match KeyPath::parse(path).and_then(|path| base().knows(&path)) {
        Ok(what) => panic!("{path} is {what}"),
        Err(fault) => paragraph("the path", path, fault),
    }
}

fn setting(path: &str, value: &str) -> (KeyPath, Value) {
    let key = KeyPath::parse(path).unwrap_or_else(|fault| panic!("{path}: {fault:?}"));
    (key, Value::parse(value).unwrap_or_else(|fault| panic!("{value}: {fault:?}")))
}

/// What is told of a scenario with keys set.
fn of_keys(base: &Base, keys: &[(&str, &str)]) -> String {
    let settings: Vec<_> = keys.iter().map(|(path, value)| setting(path, value)).collect();
    match base.with(&settings) {
        Ok(loaded) => loaded.warnings.to_string(),
        Err(faults) => faults.to_string(),
    }
}

fn all(told: impl IntoIterator<Item = String>) -> String {
    told.into_iter().collect::<Vec<_>>().join("\n\n")
}

#[test]
fn what_is_not_written_as_a_path() {
    let paths = [
        "",
        "storage.",
        "storage..volume",
        "storage volume",
        "heater[",
        "heater[].volume",
        "heater[0].volume",
        "heater[\"tank\"].volume",
        "heater[ tank ].volume",
        "heater]",
        "heater[1][2]",
        "heater[1]volume",
    ];
    insta::assert_snapshot!(all(paths.map(of_path)));
}

#[test]
fn paths_that_lead_nowhere() {
    let paths = [
        "storag.volume",
        "storage.volum",
        "storage.float-switch.start",
        "dayz",
        "precharge",
        "well_pump.precharge",
        "heater[tank].set_pont",
        "heater.set_point",
        "heater[3].set_point",
        "heater[99999999999999999999].set_point",
        "heater[boilr].set_point",
        "heater[attic].set_point",
        "draw.flow",
        "draw[shower].flow",
        "draw[7].flow",
        "draw[4].weekdays[4]",
        "stage[1].name",
        "stage[lamp].name",
        "stage.name",
        "storage[1].volume",
        "storage[1]",
        "pressure_tank.volume.unit",
        "draw[1].flow.unit",
        "building[1].service[2].length",
    ];
    insta::assert_snapshot!(all(paths.map(of_path)));
}

#[test]
fn sections_of_the_base_that_are_none() {
    let base = Base::parse("{ \"storage\": 3, \"heater\": {}, \"room\": [3] }", Format::Json, "plant.json").unwrap();
    let told = |path: &str| paragraph("the path", path, base.knows(&KeyPath::parse(path).unwrap()).unwrap_err());
    insta::assert_snapshot!(all(["storage.volume", "heater[1].volume", "heater.volume", "room[1].volume"].map(told)));
}

#[test]
fn what_is_not_written_as_a_value() {
    let texts = [
        "",
        "hybrid",
        "900 gal",
        "3 4",
        "3 # three",
        " 3\nx = 2",
        "\"900 gal",
        "[1, 2",
        "2027-02-30",
        "2027-13-01",
        "x = 2",
    ];
    let told = |text: &str| paragraph("the value", text, Value::parse(text).unwrap_err());
    insta::assert_snapshot!(all(texts.map(told)));
}

#[test]
fn values_that_a_key_does_not_take() {
    let base = base();
    let keys = [
        [("pressure_tank.volume", "86")],
        [("pressure_tank.volume", "\"86 psi\"")],
        [("pressure_tank.volume", "\"86 galons\"")],
        [("pressure_tank.volume", "\"-86 gal\"")],
        [("pressure_tank.volume", "{ size = 3 }")],
        [("pressure_tank", "\"86 gal\"")],
        [("days", "0")],
        [("days", "\"3\"")],
        [("start", "\"7 June\"")],
        [("units", "\"metrical\"")],
        [("heater[tank].kind", "\"heatpump\"")],
        [("heater[2]", "\"boiler\"")],
        [("draw[4].weekdays[1]", "\"monday\"")],
        [("draw", "3")],
        [("well.constant_level", "\"yes\"")],
    ];
    insta::assert_snapshot!(all(keys.map(|keys| of_keys(&base, &keys))));
}

#[test]
fn values_that_do_not_fit_the_rest() {
    let base = base();
    let keys: [&[_]; 9] = [
        // Against a key of the file, against one that is left out there, and against one that is set too.
        &[("well_pump.cut_in", "\"65 psi\"")],
        &[("site.density", "\"999 kg/m3\"")],
        &[("well_pump.cut_in", "\"65 psi\""), ("well_pump.cut_out", "\"62 psi\"")],
        // Sections that are not whole.
        &[("storage.float_switch.start", "\"80 %\"")],
        &[("tariff.export", "\"0.1 /kWh\"")],
        &[("pond.volume", "\"20000 gal\"")],
        // What points at other keys.
        &[("building[house].name", "\"cottage\""), ("days", "3")],
        // A warning.
        &[("pressure_tank.precharge", "\"20 psi\"")],
        &[("days", "1"), ("pressure_tank.volume", "\"20 gal\"")],
    ];
    insta::assert_snapshot!(all(keys.map(|keys| of_keys(&base, keys))));
}

#[test]
fn keys_that_lead_nowhere_or_are_set_twice() {
    let base = base();
    let keys = [
        ("days", "3"),
        ("storage.volum", "\"900 gal\""),
        ("heater[boilr].set_point", "\"120 °F\""),
        ("heater[1].set_point", "\"120 °F\""),
        ("heater[tank].set_point", "\"125 °F\""),
        ("tariff", "{ import = \"0.2 /kWh\" }"),
        ("tariff.import", "\"0.3 /kWh\""),
        ("well.cutoff.stop_level", "\"165 ft\""),
        ("well.cutoff", "{ stop_level = \"160 ft\", restart_level = \"100 ft\" }"),
    ];
    insta::assert_snapshot!(of_keys(&base, &keys));
}

#[test]
fn keys_set_in_a_file_of_json() {
    let text = "{\n  \"start\": \"2027-06-07\",\n  \"days\": 7,\n  \"units\": \"us\"\n}\n";
    let base = Base::parse(text, Format::Json, "plant.json").unwrap();
    let told = of_keys(&base, &[("days", "0"), ("town_line.flow", "12")]);
    insta::assert_snapshot!(told);
}

#[test]
fn what_is_wrong_with_the_file_alone_is_no_fault_of_the_study() {
    let text = starter().replace("days = 7", "days = 0");
    let base = Base::parse(&text, Format::Toml, "plant.toml").unwrap();
    let told = of_keys(&base, &[("pressure_tank.count", "2")]);
    assert!(told.contains("`days` is 0") && !told.contains("set by the study"), "{told}");
    assert_eq!(of_keys(&base, &[("days", "7"), ("pressure_tank.count", "2")]), "");
    let empty = Base::parse("", Format::Toml, "plant.toml").unwrap();
    let faults = empty.with(&[(KeyPath::parse("seed").unwrap(), Value::whole(2))]).unwrap_err();
    assert!(faults.iter().all(|fault| faults.setting(fault).is_none()), "{faults}");
}

#[test]
fn what_is_wrong_is_found_by_line_and_by_key() {
    let curve = "[{ flow = \"0 gpm\", head = \"330 ft\" },\n{ flow = \"12 gpm\", head = \"120 ft\" }]";
    let faults = base()
        .with(&[setting("well_pump.curve", curve), setting("days", "0"), setting("storage.start", "3")])
        .unwrap_err();
    let told: Vec<_> = faults.iter().map(|fault| (faults.setting(fault), faults.line(fault))).collect();
    let line = starter().lines().position(|line| line.starts_with("days")).map(|index| index + 1);
    assert!(told.contains(&(Some(1), line)) && told.contains(&(Some(2), None)), "{told:?} {faults}");
    let plain = springhouse_scenario::parse("days = 0", Format::Toml, "plant.toml").unwrap_err();
    assert!(plain.iter().all(|fault| plain.setting(fault).is_none()));
}

#[test]
fn files_are_looked_for_beside_the_base() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../scenarios/logged-week.toml");
    let base = Base::load(&path).unwrap();
    let told = of_keys(&base, &[("log[1].file", "\"none.csv\"")]);
    assert!(told.contains("a file of logged draws is not there"), "{told}");
    assert!(told.contains("log[1].file = \"none.csv\""), "{told}");
    assert!(told.contains("in place of this"), "{told}");
    assert!(Base::load(Path::new("nowhere.toml")).unwrap_err().to_string().contains("cannot be read"));
    assert!(Base::parse("days = ", Format::Toml, "plant.toml").unwrap_err().to_string().contains("no value"));
}
