//! What a person reads when a membrane unit or a water analysis is wrong, or built badly.

use springhouse_scenario::{Format, parse, starter};

const UNIT: &str = include_str!("common/membrane.toml");
const READINGS: &str =
    "reject = \"2.1 gpm\"\nrecycle = \"2.4 gpm\"\nconcentrate_pressure = \"140 psi\"\nsuction_pressure = \"50 psi\"\n";
const POND: &str = "[pond]\nvolume = \"80000 gal\"\ndepth = \"9 ft\"\n[pond.pump]\nconstant_flow = \"6 gpm\"\ncut_in = \"40 psi\"\n\
                    cut_out = \"60 psi\"\n";

/// Texts alone: the scenarios that they are about are long.
macro_rules! snapshot {
    ($told:expr) => {
        insta::with_settings!({ omit_expression => true }, { insta::assert_snapshot!($told); });
    };
}

/// What is told about the starter with these sections ahead of its buildings.
fn told(sections: &str) -> String {
    let (before, after) = starter().split_once("[[building]]").unwrap_or_default();
    match parse(&format!("{before}{sections}\n[[building]]{after}"), Format::Toml, "plant.toml") {
        Ok(loaded) => loaded.warnings.to_string(),
        Err(faults) => faults.to_string(),
    }
}

/// The unit with each `from` replaced.
fn changed(changes: &[(&str, &str)]) -> String {
    changes.iter().fold(UNIT.to_owned(), |text, (from, to)| {
        assert!(text.contains(from), "no {from}");
        text.replacen(from, to, 1)
    })
}

/// The unit with a key more in its first section, or in one of those within.
fn with(key: &str) -> String {
    changed(&[("elements = 3", &format!("elements = 3\n{key}"))])
}

fn and(sections: &str) -> String {
    format!("{UNIT}{sections}")
}

/// What is told about each, in one; nothing is told of the unit as it is.
fn all(texts: &[String]) -> String {
    assert_eq!(told(UNIT), "");
    let told: Vec<_> = texts.iter().map(|text| told(text)).collect();
    assert!(told.iter().all(|told| !told.is_empty()), "{told:#?}");
    told.join("\n\n----\n\n")
}

#[test]
fn a_bare_number_is_refused_in_every_dimension_of_a_membrane() {
    let constants = "water_permeability = 4.2\nsalt_permeability = 0.2\nwater_temperature_constant = 2640";
    let plate =
        "product = \"2200 gal/day\"\nrejection = \"98.5 %\"\ntest_pressure = \"225 psi\"\ntest_salt = \"2000 mg/L\"";
    let valves = format!("[membrane.readings]\n{READINGS}");
    snapshot!(told(&changed(&[
        (plate, constants),
        (&valves, "[membrane.valves]\nreject = 0.2\nrecycle = \"3 gpm\"\n"),
        ("elements = 3", "elements = \"3\"\ntemperature = 13\nloop_volume = 4"),
    ])));
}

#[test]
fn sections_of_a_unit_that_are_missing() {
    let floats = UNIT.find("[membrane.floats]").unwrap();
    snapshot!(all(&[
        "[membrane]\n".to_owned(),
        UNIT[UNIT.find("[membrane]").unwrap()..].to_owned(),
        UNIT[..floats].to_owned(),
        changed(&[(&format!("[membrane.readings]\n{READINGS}"), "")]),
        changed(&[
            ("product = \"2200 gal/day\"\n", ""),
            ("rejection = \"98.5 %\"\n", ""),
            ("test_pressure = \"225 psi\"\n", ""),
            ("test_salt = \"2000 mg/L\"\n", "")
        ]),
        changed(&[("test_salt = \"2000 mg/L\"\n", "")]),
        changed(&[
            ("product = \"2200 gal/day\"\n", "water_permeability = \"3 LMH/bar\"\n"),
            ("rejection = \"98.5 %\"\n", ""),
            ("test_pressure = \"225 psi\"\n", ""),
            ("test_salt = \"2000 mg/L\"\n", "")
        ]),
    ]));
}

#[test]
fn storage_is_filled_by_the_unit_or_by_a_valve() {
    snapshot!(all(&[
        and("[storage.float_switch]\nstart = \"80 %\"\nstop = \"95 %\"\n"),
        changed(&[("volume = \"1500 gal\"", "volume = \"1500 gal\"\nfill_flow = \"3 gpm\"")]),
        changed(&[("start = \"75 %\"\nstop = \"95 %\"", "start = \"95 %\"\nstop = \"75 %\"")]),
        changed(&[("start = \"75 %\"\nstop = \"95 %\"", "start = \"3 %\"\nstop = \"1600 gal\"")]),
        UNIT[..UNIT.find("[membrane]").unwrap()].to_owned(),
    ]));
}

#[test]
fn units_that_cannot_be() {
    snapshot!(all(&[
        changed(&[("\"4 x 40 in\"", "\"4 x 40\"")]),
        changed(&[("elements = 3", "elements = 7")]),
        changed(&[("\"98.5 %\"", "\"100 %\"")]),
        changed(&[("\"2200 gal/day\"", "\"0 gal/day\"")]),
        changed(&[("\"225 psi\"", "\"22.5 psi\"")]),
        changed(&[("\"2200 gal/day\"", "\"220000 gal/day\"")]),
        changed(&[("product =", "water_permeability = \"3 LMH/bar\"\nproduct =")]),
        changed(&[("[membrane.readings]", "[membrane.valves]\nreject = \"0.2 Cv\"\n[membrane.readings]")]),
        changed(&[("\"140 psi\"", "\"40 psi\"")]),
        changed(&[("\"140 psi\"", "\"0 psi\""), ("recycle = \"2.4 gpm\"", "recycle = \"0 gpm\"")]),
        changed(&[("{ flow = \"4 gpm\", head = \"278 ft\" }", "{ flow = \"4 gpm\", head = \"378 ft\" }")]),
        changed(&[("[membrane.pump]", "[membrane.pump]\nconstant_flow = \"5 gpm\"")]),
        changed(&[("[membrane.pump]", "[membrane.osmotic]\nshare = \"86 %\"\ncoefficient = 0.93\n[membrane.pump]")]),
        changed(&[("[membrane.pump]", "[membrane.osmotic]\nshare = \"860 %\"\n[membrane.pump]")]),
        changed(&[(
            "[membrane.pump]",
            "[membrane.flush]\nflow = \"5 gpm\"\nfull_flow_pressure = \"0 psi\"\n[membrane.pump]"
        )]),
        changed(&[(
            "[membrane.pump]",
            "[membrane.fouling]\nwater_share = \"2 %\"\nchannel_times = 0.1\n[membrane.pump]"
        )]),
        changed(&[(
            "[membrane.pump]",
            "[membrane.plate]\nproduct = \"0 gpm\"\ninlet_pressure = \"45 psi\"\nsalt = \"1000 mg/L\"\n[membrane.pump]"
        )]),
        with("temperature = \"140 °F\""),
        with("trip_pressure = \"10 psi\""),
    ]));
}

#[test]
fn reject_that_can_go_nowhere() {
    let to_pond = with("reject_to = \"pond\"");
    snapshot!(all(&[
        to_pond.clone(),
        with("reject_to = \"well\""),
        format!("{to_pond}{POND}"),
        with("reject_to = \"drain\""),
    ]));
    let standby = POND.replace("volume", "standby = true\nvolume");
    let cutoff = "[pond.cutoff]\nstop = \"15 %\"\nrestart = \"20 %\"\n";
    let lamp = "[[stage]]\nname = \"lamp\"\nkind = \"ultraviolet\"\nrated_flow = \"20 gpm\"\nrated_dose = \"40 mJ/cm2\"\npower = \"40 W\"\n";
    assert_eq!(told(&format!("{to_pond}{standby}{cutoff}{lamp}[change_over]\n")), "");
}

#[test]
fn a_unit_that_is_not_there_cannot_be_out() {
    snapshot!(told("[[incident]]\nkind = \"membrane out\"\nstart = \"2027-06-08 12:00\"\nlength = \"1 h\"\n"));
}

#[test]
fn cleanings_that_cannot_be() {
    let incident = |keys: &str| format!("[[incident]]\nstart = \"2027-06-08 12:00\"\n{keys}\n");
    let cleaned = incident("kind = \"membrane cleaned\"");
    assert_eq!(told(&and(&cleaned)), "");
    let told = [
        told(&cleaned),
        told(&and(&incident("kind = \"membrane cleaned\"\nlength = \"0 h\""))),
        told(&and(&incident("kind = \"membrane out\""))),
    ];
    snapshot!(told.join("\n\n----\n\n"));
}

#[test]
fn gauges_that_do_not_belong_together() {
    let pump = &UNIT[UNIT.find("[membrane.pump]").unwrap()..UNIT.find("[membrane.readings]").unwrap()];
    let concentrate = |psi: &str| ("\"140 psi\"", format!("\"{psi} psi\""));
    let read = |psi: &str, more: &[(&str, &str)]| {
        let (from, to) = concentrate(psi);
        changed(&[&[(from, to.as_str())], more].concat())
    };
    snapshot!(all(&[
        // Shut-off is 305 ft, 132 psi above the suction.
        read("185", &[]),
        read("60", &[(pump, "")]),
        read("110", &[]),
        read("140", &[("\"2.4 gpm\"", "\"9 gpm\"")]),
        // The pump's curve at 3 gpm and at what it makes beside.
        read("110", &[("\"2.1 gpm\"", "\"0 gpm\""), ("\"2.4 gpm\"", "\"3 gpm\"")]),
    ]));
    for near in ["142", "150", "158"] {
        assert_eq!(told(&read(near, &[])), "", "{near}");
    }
    // With nothing flowing there is nothing to compare.
    let shut = read("140", &[("\"2.1 gpm\"", "\"0 gpm\""), ("\"2.4 gpm\"", "\"0 gpm\"")]);
    assert!(told(&shut).contains("reject valve") && !told(&shut).contains("is read at"), "{}", told(&shut));
}

#[test]
fn units_that_are_built_badly() {
    let plate = |product: &str| {
        format!("[membrane.plate]\nproduct = \"{product}\"\ninlet_pressure = \"45 psi\"\nsalt = \"1000 mg/L\"\n")
    };
    let pump = &UNIT[UNIT.find("[membrane.pump]").unwrap()..UNIT.find("[membrane.readings]").unwrap()];
    let rough =
        "[[building]]\nname = \"barn\"\nservice = { length = \"200 ft\", bore = \"1 in\", roughness = \"0.15 mm\" }\n";
    let chlorine = "[well.water]\nchlorine = \"0.5 mg/L\"\n";
    let shut = changed(&[(
        &format!("[membrane.readings]\n{READINGS}"),
        "[membrane.valves]\nreject = \"0 Cv\"\nrecycle = \"0.2 Cv\"\n",
    )]);
    snapshot!(all(&[
        and(chlorine),
        and("[membrane.inlet]\ntrip_pressure = \"45 psi\"\n"),
        with("rise = \"80 ft\""),
        shut.clone(),
        format!("{shut}{}", plate("4000 gal/day")),
        and(&plate("8000 gal/day")),
        changed(&[
            (pump, ""),
            ("recycle = \"2.4 gpm\"", "recycle = \"0 gpm\""),
            ("concentrate_pressure = \"140 psi\"", "concentrate_pressure = \"48 psi\""),
        ]) + &plate("500 gal/day").replace("45 psi", "0 psi"),
        and(rough),
        and("[[draw]]\nbuilding = \"house\"\nstart = \"22:00\"\nlength = \"20 h\"\nflow = \"14 gpm\"\n"),
    ]));
    // Near enough to the plate, and with carbon ahead of the membrane, nothing is said.
    assert_eq!(told(&and(&plate("3700 gal/day"))), "");
    let carbon = "[[stage]]\nname = \"carbon\"\nkind = \"carbon\"\nrated_flow = \"6 gpm\"\ncapacity = \"2 kg\"\nbed_volume = \"2 ft3\"\n";
    assert_eq!(told(&and(&format!("{chlorine}{carbon}"))), "");
}

#[test]
fn analyses_that_cannot_be_or_do_not_add_up() {
    let sheet = |keys: &str| format!("[well.analysis]\n{keys}\n");
    let sound = "ph = 7.5\ncalcium = \"60 mg/L\"\nmagnesium = \"24 mg/L\"\nsodium = \"150 mg/L\"\nalkalinity = \"180 mg/L\"\n\
                 chloride = \"200 mg/L\"\nsulfate = \"100 mg/L\"";
    snapshot!(all(&[
        sheet("sodium = \"20 mg/L\""),
        sheet("typical = \"hard well\"\nph = 7.2"),
        sheet("typical = \"lake\""),
        sheet("ph = 15\ncalcium = 60\nalkalinity = \"180 mg\""),
        sheet(&sound.replace("sodium = \"150 mg/L\"", "sodium = \"110 mg/L\"")),
        sheet(&sound.replace("sodium = \"150 mg/L\"\n", "")),
        sheet(&format!("{sound}\ndissolved_solids = \"400 mg/L\"")),
        sheet(&format!("{sound}\n[well.water]\nsalt = \"350 mg/L\"")),
    ]));
    assert_eq!(told(&sheet(sound)), "");
}
