//! What a person reads when supplies, treatment or incidents are wrong, or built badly.

use springhouse_scenario::{Format, parse, starter};

mod common;
use common::{CISTERN, DELIVERY, POND, STAGES, TOWN_LINE, with};

/// Texts alone: the scenarios that they are about are long.
macro_rules! snapshot {
    ($told:expr) => {
        insta::with_settings!({ omit_expression => true }, { insta::assert_snapshot!($told); });
    };
}

/// What is told about a text.
fn told(text: &str) -> String {
    match parse(text, Format::Toml, "plant.toml") {
        Ok(loaded) => loaded.warnings.to_string(),
        Err(faults) => faults.to_string(),
    }
}

/// What is told about each text, in one.
fn all(texts: &[String]) -> String {
    let told: Vec<_> = texts.iter().map(|text| told(text)).collect();
    assert!(told.iter().all(|told| !told.is_empty()), "{told:#?}");
    told.join("\n\n----\n\n")
}

/// The starter without the sections of its supply.
fn without_supply() -> String {
    let text = starter();
    let (before, rest) = text.split_once("# Depths are measured").unwrap_or_default();
    let (_, after) = rest.split_once("# A storage tank with").unwrap_or_default();
    format!("{before}# A storage tank with{after}")
}

#[test]
fn a_plant_without_a_supply() {
    snapshot!(told(&without_supply()));
}

#[test]
fn supplies_that_do_not_fit_each_other() {
    let drive = "drive = { set_pressure = \"55 psi\" }";
    let cistern_with_drive = CISTERN.replace("cut_in = \"40 psi\"\ncut_out = \"60 psi\"", drive);
    snapshot!(all(&[
        // Two that feed at once.
        with(&TOWN_LINE.replace("standby = true\n", "")),
        with(&cistern_with_drive),
        // A standby without a rule, and a rule without a standby.
        with(TOWN_LINE),
        with("[change_over]\nafter = \"10 min\"\n"),
        // All of them standby.
        with("[change_over]\n").replace("[well]\n", "[well]\nstandby = true\n"),
        // One too many.
        with(&format!("{CISTERN}{POND}{TOWN_LINE}[change_over]\n{}", STAGES.replace("\nbehind = \"delivery\"", ""))),
        // A pump without its well, and a well without its pump.
        with("[second_well_pump]\nconstant_flow = \"5 gpm\"\ncut_in = \"40 psi\"\ncut_out = \"60 psi\"\n"),
        with("[second_well]\nstatic_level = \"60 ft\"\npump_depth = \"100 ft\"\nconstant_level = true\n"),
    ]));
}

#[test]
fn supplies_that_cannot_be() {
    let switch = "cut_in = \"40 psi\"           # the pressure switch starts the pump here";
    snapshot!(all(&[
        starter().replace(switch, &format!("{switch}\ndrive = {{ set_pressure = \"55 psi\" }}")),
        with(&CISTERN.replace(
            "cut_in = \"40 psi\"\ncut_out = \"60 psi\"",
            "drive = { set_pressure = \"40 psi\", wake_pressure = \"45 psi\" }\n"
        )),
        with(&CISTERN.replace("\"190 ft\"", "\"125 ft\"")),
        with(&CISTERN[..CISTERN.find("[cistern.pump]").unwrap()]),
        with(&CISTERN.replace("depth =", "start = \"6000 gal\"\ndepth =")),
        with(&CISTERN.replace("\"8 %\"", "\"30 %\"")),
        with(&format!("{CISTERN}[cistern.top_up]\nstart = \"30 %\"\nstop = \"20 %\"\nflow = \"4 gpm\"\n")),
        with(&format!("{CISTERN}[cistern.roof]\narea = \"0 ft2\"\nrunoff = \"140 %\"\nrain = \"rain.csv\"\n")),
        with(&POND.replace("2.5", "0.5")),
        with(&format!("{TOWN_LINE}[change_over]\n").replace("\"45 psi\"", "\"70 psi\"")),
        with(&format!("{TOWN_LINE}price = \"9 gal\"\n[change_over]\n")),
        with("[well.water]\ntransmittance = \"140 %\"\nhardness = \"10 gpm\"\n"),
        with("[well.water]\ntransmittance = \"140 %\"\n"),
    ]));
}

#[test]
fn stages_that_cannot_be() {
    let sediment = |name: &str| {
        format!("[[stage]]\nname = \"{name}\"\nrated_flow = \"8 gpm\"\nkind = \"sediment\"\ncapacity = \"1 kg\"\n")
    };
    let stage = |keys: &str| with(&format!("[[stage]]\nname = \"one\"\nrated_flow = \"8 gpm\"\n{keys}\n"));
    snapshot!(all(&[
        stage("kind = \"sediment\""),
        stage("kind = \"carbon\"\ncapacity = \"1 kg\""),
        stage("kind = \"ultraviolet\""),
        stage("kind = \"softener\"\ncapacity = \"32 kgr\"\nbed_volume = \"1 ft3\"\npower = \"40 W\""),
        stage("kind = \"ultraviolet\"\nrated_dose = \"40 mJ/cm2\"\npower = \"40 W\"\ncapacity = \"1 kg\""),
        stage("kind = \"carbon\"\ncapacity = \"1 kg\"\nbed_volume = \"2 ft3\"\ncatches = \"120 %\""),
        stage("kind = \"sediment\"\ncapacity = \"1 kg\"\nused = \"120 %\""),
        stage("kind = \"sediment\"\ncapacity = \"1 kg\"\nclean_loss = \"20 psi\"\nchange_at_loss = \"15 psi\""),
        stage("kind = \"softener\"\ncapacity = \"32 kgr\"\nchange_at_loss = \"15 psi\""),
        stage("kind = \"ultraviolet\"\nrated_dose = \"40 mJ/cm2\"\npower = \"40 W\"\npath = \"3 m\""),
        stage("kind = \"sediment\"\ncapacity = \"1 kg\"\nbehind = \"delivery\""),
        stage("kind = \"sediment\"\ncapacity = \"1 gal\""),
        stage(
            "kind = \"sediment\"\ncapacity = \"1 kg\"\n[[stage]]\nname = \"one\"\nrated_flow = \"8 gpm\"\nkind = \"sediment\"\ncapacity = \"1 kg\""
        ),
        stage(
            "kind = \"sediment\"\ncapacity = \"1 kg\"\n[stage.backwash]\nflow = \"0 gpm\"\nlength = \"10 min\"\nevery = 0"
        ),
        with(&["0", "1", "2", "3", "4", "5", "6", "7", "8"].map(sediment).concat()),
    ]));
}

#[test]
fn stages_that_are_built_badly() {
    let light = "[[stage]]\nname = \"lamp\"\nkind = \"ultraviolet\"\nbehind = \"header\"\nrated_flow = \"8 gpm\"\nrated_dose = \"40 mJ/cm2\"\npower = \"40 W\"\n";
    let weak = light.replace("behind = \"header\"\n", "");
    let light = &light.replace("8 gpm", "20 gpm");
    let washed = |name: &str, (start, every): (&str, u32)| {
        format!(
            "[[stage]]\nname = \"{name}\"\nkind = \"iron filter\"\nrated_flow = \"8 gpm\"\ncapacity = \"1 kg\"\n\
             [stage.backwash]\nflow = \"5 gpm\"\nlength = \"20 min\"\nstart = \"{start}\"\nevery = {every}\n"
        )
    };
    snapshot!(all(&[
        with(POND),
        with(&format!("{DELIVERY}{light}")),
        with(
            "[[stage]]\nname = \"iron filter\"\nkind = \"iron filter\"\nrated_flow = \"8 gpm\"\ncapacity = \"500 g\"\n\
             [stage.backwash]\nflow = \"15 gpm\"\nlength = \"10 min\"\n",
        ),
        with(
            "[[stage]]\nname = \"carbon\"\nkind = \"carbon\"\nrated_flow = \"8 gpm\"\ncapacity = \"500 g\"\nbed_volume = \"2 gal\"\n"
        ),
        // A lamp too small for its pump; two washes that meet on the seventh day, one of them past midnight.
        with(&weak),
        with(&format!("{}{}", washed("one", ("23:50", 2)), washed("two", ("00:05", 3)))),
    ]));
    // With the unit behind the delivery pump, or behind the pond, nothing is said.
    let right = |text: &str| assert_eq!(told(text), "");
    right(&with(&format!("{POND}{light}")));
    right(&with(&format!("{DELIVERY}{STAGES}")));
    // Washes one after the other, or on other days.
    right(&with(&format!("{}{}", washed("one", ("23:50", 2)), washed("two", ("00:10", 3)))));
    right(&with(&format!("{}{}first = 1\n", washed("one", ("02:00", 2)), washed("two", ("02:00", 2)))));
}

#[test]
fn parts_that_are_built_badly() {
    let unguarded = |basin: &str| basin.replace("cutoff = { stop = \"8 %\", restart = \"20 %\" }\n", "");
    let reducer = |psi: u32| with(&format!("[pressure_reducer]\nset_pressure = \"{psi} psi\"\n"));
    let stuck = |shut_at: &str| {
        let one = |kind: &str, start: &str| {
            format!("[[incident]]\nkind = \"{kind}\"\nstart = \"2027-06-08 {start}\"\nlength = \"2 h\"\n")
        };
        let incidents = [one("float stuck open", "06:00"), one("float stuck shut", shut_at)].concat();
        with(&format!("{DELIVERY}{incidents}"))
    };
    snapshot!(all(&[with(&unguarded(CISTERN)), reducer(19), stuck("07:00")]));
    for right in [with(CISTERN), reducer(20), stuck("08:00")] {
        assert_eq!(told(&right), "");
    }
}

#[test]
fn numbers_are_told_so_that_they_make_sense() {
    snapshot!(all(&[
        with(&CISTERN.replace("5000 gal", "0 gal")),
        with(&POND.replace("shape = 2.5", "shape = 1e300")),
        with("[[stage]]\nname = \"soft\"\nkind = \"softener\"\nrated_flow = \"8 gpm\"\ncapacity = \"24 gpg\"\n"),
        with(
            "[[stage]]\nname = \"soft\"\nkind = \"softener\"\nrated_flow = \"8 gpm\"\ncapacity = \"24 kgr\"\n\
             [stage.backwash]\nflow = \"3 gpm\"\nlength = \"30 h\"\n"
        ),
        with("[[incident]]\nkind = \"stage closed\"\nstart = \"2027-06-08 06:00\"\nlength = \"1 h\"\n"),
        with("[[incident]]\nkind = \"stage byassed\"\nstart = \"2027-06-08 06:00\"\nlength = \"1 h\"\n"),
    ]));
}

#[test]
fn a_pressure_tank_does_nothing_for_a_town_line() {
    let tank = "[pressure_tank]\nvolume = \"44 gal\"\nprecharge = \"38 psi\"\n";
    let text = without_supply()
        .replace("[[building]]", &format!("{}{tank}[[building]]", TOWN_LINE.replace("standby = true\n", "")));
    snapshot!(told(&text));
}

#[test]
fn outlets_that_cannot_be() {
    snapshot!(all(&[
        with("[[raw_load]]\nname = \"garden\"\nbackflow_loss = \"200 psi\"\n"),
        starter().replace(
            "name = \"house\"",
            "name = \"house\"\nrise = \"900 ft\"\nservice = { length = \"0 ft\", bore = \"1 in\" }"
        ),
        starter().replace("name = \"house\"", "name = \"house\"\nrise = \"900 ft\""),
        with(
            "[[raw_load]]\nname = \"garden\"\n[[raw_load.valve]]\nstart = \"05:00\"\nlength = \"30 h\"\nflow = \"5 gpm\"\n"
        ),
        with("[[raw_load]]\nname = \"garden\"\nvalve = { start = \"05:00\" }\n"),
        with("[raw_load]\nname = \"garden\"\n"),
        with("[[raw_load]]\nname = \"garden\"\n[raw_load.valve]\nstart = \"05:00\"\n"),
        with("[pressure_reducer]\nset_pressure = \"0 psi\"\n"),
    ]));
}

#[test]
fn incidents_that_cannot_be() {
    let incident = |keys: &str| format!("[[incident]]\nstart = \"2027-06-08 12:00\"\nlength = \"1 h\"\n{keys}\n");
    let with_stage = |keys: &str| {
        let stage = "[[stage]]\nname = \"screen\"\nkind = \"sediment\"\nrated_flow = \"8 gpm\"\ncapacity = \"1 kg\"\n";
        with(&format!("{stage}{}", incident(keys)))
    };
    let with_line = |keys: &str| {
        let line = TOWN_LINE.replace("standby = true\n", "");
        without_supply().replace("[[building]]", &format!("{line}{}[[building]]", incident(keys)))
    };
    snapshot!(all(&[
        with(&incident("kind = \"supply out\"")),
        with(&incident("kind = \"supply out\"\nsupply = \"pond\"")),
        with(&incident("kind = \"power out\"\nsupply = \"well\"")),
        with(&incident("kind = \"worn pump\"\nsupply = \"well\"\nspeed = \"120 %\"\nflow = \"2 gpm\"")),
        with(&incident("kind = \"worn pump\"\nsupply = \"well\"\nspeed = \"120 %\"")),
        with(&incident("kind = \"low precharge\"\nprecharge = \"39 psi\"")),
        with(&incident("kind = \"air lost\"")),
        with(&incident("kind = \"float stuck open\"")),
        with(&incident("kind = \"standby by hand\"")),
        with(&incident("kind = \"burst\"\nat = \"hose\"")),
        with(&incident("kind = \"burst\"\nat = \"hose\"\nflow = \"6 gpm\"")),
        with(&incident("kind = \"stage shut\"\nstage = \"screen\"")),
        with_stage("kind = \"stage shut\"\nstage = \"scren\""),
        with_line("kind = \"well pump out\""),
        with_line("kind = \"check valve leaks\"\nsupply = \"town line\"\nflow = \"1 gpm\""),
        with_line("kind = \"air lost\"\nair_left = \"50 %\""),
    ]));
}
