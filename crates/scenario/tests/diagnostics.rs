//! What a person reads when a scenario is wrong, or built badly.

use springhouse_scenario::{Format, parse, starter};

/// The starter with each `from` replaced, and what is told about it.
fn told(changes: &[(&str, &str)]) -> String {
    let mut text = starter().to_owned();
    for (from, to) in changes {
        assert!(text.contains(from), "the starter has no {from}");
        text = text.replacen(from, to, 1);
    }
    match parse(&text, Format::Toml, "plant.toml") {
        Ok(loaded) => loaded.warnings.to_string(),
        Err(faults) => faults.to_string(),
    }
}

/// Storage and delivery, as the starter has them commented out.
const STORE: &str = "[storage]
volume = \"1500 gal\"
fill_flow = \"4 gpm\"

[storage.float_switch]
start = \"80 %\"
stop = \"95 %\"

[delivery]
curve = [{ flow = \"0 gpm\", head = \"190 ft\" }, { flow = \"12 gpm\", head = \"130 ft\" }]
set_pressure = \"50 psi\"

[[building]]";

#[test]
fn a_bare_number_is_refused_with_the_units_of_the_scenario_first() {
    insta::assert_snapshot!(told(&[("units = \"us\"", "units = \"metric\""), ("\"180 ft\"", "55")]));
}

#[test]
fn a_derived_value_is_told_by_its_cause() {
    insta::assert_snapshot!(told(&[("cut_in = \"40 psi\"", "cut_in = \"65 psi\"")]));
}

#[test]
fn a_weak_pump_is_told_with_its_sum() {
    insta::assert_snapshot!(told(&[
        ("head = \"330 ft\"", "head = \"195 ft\""),
        ("head = \"295 ft\"", "head = \"180 ft\""),
        ("head = \"210 ft\"", "head = \"120 ft\""),
        ("head = \"150 ft\"", "head = \"60 ft\""),
    ]));
}

#[test]
fn floats_in_the_wrong_order_and_a_default_that_does_not_fit() {
    insta::assert_snapshot!(told(&[(
        "[[building]]",
        &STORE
            .replace("start = \"80 %\"", "start = \"1450 gal\"")
            .replace("fill_flow = \"4 gpm\"", "fill_flow = \"4 gpm\"\nprotect = \"300 gal\""),
    ),]));
}

#[test]
fn everything_is_told_at_once() {
    insta::assert_snapshot!(told(&[
        ("days = 7", "days = 7.5"),
        ("pump_depth", "pump_dept"),
        ("\"6 in\"", "\"6 inchs\""),
        ("cut_out = \"60 psi\"", ""),
        ("building = \"house\"", "building = \"hose\""),
        ("\"1.2 gpm\"", "\"1,2 gpm\""),
    ]));
}

#[test]
fn what_is_built_badly_is_warned_about() {
    insta::assert_snapshot!(told(&[
        ("precharge = \"38 psi\"", "precharge = \"44 psi\"\nair_left = \"60 %\""),
        ("volume = \"86 gal\"", "volume = \"20 gal\""),
        ("motor = \"3/4 hp\"", "motor = \"1/4 hp\""),
        ("[well.cutoff]\nstop_level = \"170 ft\"\nrestart_level = \"110 ft\"\nrestart_delay = \"30 min\"\n", ""),
        (
            "flow = \"8 gpm\"\ntime = \"4 h\"\ndrawdown = \"45 ft\"",
            "flow = \"2 gpm\"\ntime = \"4 h\"\ndrawdown = \"90 ft\""
        ),
    ]));
}

#[test]
fn a_small_tank_that_is_never_full_is_warned_about() {
    insta::assert_snapshot!(told(&[(
        "[[building]]",
        &STORE.replace("set_pressure = \"50 psi\"", "set_pressure = \"50 psi\"\ntank_precharge = \"45 psi\""),
    ),]));
}

#[test]
fn a_well_that_gives_less_than_is_drawn_is_warned_about() {
    let slow = ("flow = \"8 gpm\"\ntime = \"4 h\"", "flow = \"0.6 gpm\"\ntime = \"50 min\"");
    let narrow = [slow, ("\"6 in\"", "\"1 in\""), ("drawdown = \"45 ft\"", "drawdown = \"110 ft\"")];
    let draws = |length: &'static str| told(&[&narrow[..], &[("length = \"8 min\"", length)]].concat());
    insta::assert_snapshot!(draws("length = \"8 h\""));
    assert!(draws("length = \"6 h\"").contains("% of what the well gives for good"), "{}", draws("length = \"6 h\""));
    assert!(!draws("length = \"5 h\"").contains("for good"));
}

#[test]
fn a_pump_run_past_its_curve_is_warned_about() {
    insta::assert_snapshot!(told(&[("  { flow = \"11 gpm\", head = \"150 ft\" },\n", "")]));
}

#[test]
fn air_alone_does_not_make_a_tank_small() {
    let waterlogged = told(&[("precharge = \"38 psi\"", "precharge = \"38 psi\"\nair_left = \"30 %\"")]);
    assert!(waterlogged.contains("of its air left") && !waterlogged.contains("small for this pump"), "{waterlogged}");
}

#[test]
fn a_tank_that_takes_no_water_is_refused() {
    insta::assert_snapshot!(told(&[("precharge = \"38 psi\"", "precharge = \"62 psi\"")]));
}

#[test]
fn a_pump_that_stops_before_the_filling_starts_is_refused() {
    let store = STORE.replace("fill_flow = \"4 gpm\"", "fill_flow = \"4 gpm\"\nprotect = \"85 %\"\nrestart = \"90 %\"");
    insta::assert_snapshot!(told(&[("[[building]]", &store)]));
}

#[test]
fn slips_are_told_with_what_to_write() {
    for (from, to, hint) in [
        ("flow = \"2 gpm\"", "flow = \"2 gal\"", "write \"2 gpm\""),
        ("flow = \"2 gpm\"", "flow = \"-2 gpm\"", "write it like: flow = \"2 gpm\""),
        ("\"06:20\"", "\"6:20 am\"", "write start = \"06:20\""),
        ("\"06:20\"", "\"24:30\"", "write start = \"00:30\""),
        ("days = 7", "days = 0", "write it like: days = 7"),
        ("days = 7", "days = ", "nothing after the equals sign"),
        ("2027-06-07", "2027-02-30", "there is no day 2027-02-30"),
        ("2027-06-07", "6/7/2027", "start = 2027-06-07"),
    ] {
        let said = told(&[(from, to)]);
        assert!(said.contains(hint), "{to}: {said}");
    }
}

#[test]
fn a_building_unknown_to_several_draws_is_told_once() {
    let text = starter().replace("building = \"house\"", "building = \"hose\"");
    let faults = parse(&text, Format::Toml, "plant.toml").unwrap_err();
    assert_eq!(faults.len(), 1, "{faults}");
    assert_eq!(faults.to_string().matches("building = \"hose\"").count(), 5, "{faults}");
}

#[test]
fn a_diagnostic_knows_its_line() {
    let text = starter().replace("days = 7", "days = -3");
    let faults = parse(&text, Format::Toml, "plant.toml").unwrap_err();
    let line = text.lines().position(|line| line.starts_with("days")).map(|index| index + 1);
    let found: Vec<_> = faults.iter().map(|fault| (fault.title(), faults.line(fault))).collect();
    assert_eq!(found, [("`days` is -3, but must be from 1 to 3660", line)]);
}
