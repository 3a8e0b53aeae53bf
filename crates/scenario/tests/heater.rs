//! Water heaters and rooms of a scenario: what is read, what is found from a plate, and what a person reads when it is wrong.

use springhouse_core::heater::Source;
use springhouse_core::heater::control::Mode;
use springhouse_core::heater::rating::{day_test, first_hour_l};
use springhouse_core::heater::usage::{GALLON_L, Usage};
use springhouse_core::time::Span;
use springhouse_scenario::{Format, HeaterKind, Scenario, parse, starter};

const HEATER: &str = "[[heater]]\nname = \"tank\"\nkind = \"heat pump\"\nvolume = \"45 gal\"\n";
const ELECTRIC: &str = "[[heater]]\nname = \"tank\"\nkind = \"electric\"\nvolume = \"45 gal\"\n";
const GAS: &str = "[[heater]]\nname = \"tank\"\nkind = \"gas\"\nvolume = \"38 gal\"\n";

fn scenario(sections: &str) -> Scenario {
    let loaded = parse(&format!("{}\n{sections}", starter()), Format::Toml, "plant.toml");
    loaded.unwrap_or_else(|faults| panic!("{faults}")).scenario
}

fn told(sections: &str) -> String {
    match parse(&format!("{}\n{sections}", starter()), Format::Toml, "plant.toml") {
        Ok(loaded) => loaded.warnings.to_string(),
        Err(faults) => faults.to_string(),
    }
}

fn clock(hours: f64) -> Span {
    Span::from_s(3_600.0 * hours)
}

#[test]
fn exact_defaults_of_a_heater_and_its_room() {
    let scenario = scenario(HEATER);
    let place = &scenario.plant.hot_water.heaters[0];
    assert_eq!((place.name.as_str(), place.outlet, place.room, &place.pipe), ("tank", 0, 0, &None));
    assert_eq!((place.settings.mode, place.settings.windows.len(), place.tempering_c), (Mode::Hybrid, 0, None));
    // 125 °F.
    assert!((place.settings.set_c - 93.0 / 1.8).abs() < 1e-12 && place.start_c == place.settings.set_c);
    let tank = place.heater.tank;
    assert!((tank.volume_l - 45.0 * GALLON_L).abs() < 1e-12 && tank.loss_w_k == 2.0 && tank.inlet_mixing == 0.2);
    // 2.8 times its diameter.
    let diameter_m = (4e-3 * tank.volume_l / (std::f64::consts::PI * tank.height_m)).sqrt();
    assert!((tank.height_m / diameter_m - 2.8).abs() < 1e-12, "{tank:?}");
    let Source::HeatPump(pump, elements) = place.heater.source else { panic!("{:?}", place.heater.source) };
    assert_eq!((pump.rated_heat_w, pump.carnot_share), (1_600.0, 0.45));
    assert_eq!(elements.upper.map(|element| element.power_w), Some(4_500.0));
    let [room] = scenario.plant.hot_water.rooms.as_slice() else { panic!("one room") };
    assert_eq!(room.name, "basement");
    // 20 m2 and 2.4 m.
    assert!((room.room.volume_m3 - 48.0).abs() < 1e-12 && (room.room.heat_j_k - 2.2e6).abs() < 1e-6);
    assert_eq!((room.room.loss_w_k, room.room.air_changes_h), (60.0, 0.5));
    assert!((room.outdoors_share - 0.3).abs() < 1e-15 && room.pumps_share == 0.0 && !room.ducted);
    assert!((room.around.temp_c - 33.0 / 1.8).abs() < 1e-12 && (room.around.relative_humidity() - 0.5).abs() < 1e-9);
    let plate = scenario.heater_plates[0];
    assert_eq!((plate.kind, plate.energy_factor, plate.first_hour_l), (HeaterKind::HeatPump, None, None));
}

#[test]
fn exact_sections_of_constants_have_the_usual_ones_as_defaults() {
    let bare = scenario(HEATER).plant.hot_water.heaters[0].heater;
    let with = |sections: &str| scenario(&format!("{HEATER}{sections}")).plant.hot_water.heaters[0].heater;
    let (plain, given) = (format!("{bare:?}"), with("[heater.thermostats]\n[heater.heat_pump]\n"));
    let Source::HeatPump(pump, _) = given.source else { panic!("{given:?}") };
    // 100 L/s of air of 1.2 g each is 0.12 kg/s but for a rounding.
    assert!((pump.air_kg_s - 0.12).abs() < 1e-15);
    assert_eq!(format!("{given:?}").replace(&format!("{:?}", pump.air_kg_s), "0.12"), plain);
    let given = with(
        "[heater.thermostats]\nupper_sensor = \"80 %\"\nlower_element = \"10 %\"\nband = \"9 °F\"\nleast_off = \"10 min\"\n\
         one_at_a_time = false\n[heater.heat_pump]\nfan = \"40 W\"\nair_flow = \"300 L/s\"\ncoldest_air = \"37 °F\"\n",
    );
    let Source::HeatPump(pump, elements) = given.source else { panic!("{given:?}") };
    let controls = given.controls;
    assert!((controls.band_k - 5.0).abs() < 1e-12 && (pump.coldest_air_c - 5.0 / 1.8).abs() < 1e-12);
    assert_eq!((controls.upper_sensor, controls.least_off_s, controls.one_at_a_time), (0.8, 600.0, false));
    assert_eq!((elements.lower.map(|it| it.height), pump.fan_w), (Some(0.1), 40.0));
}

#[test]
fn a_scenario_without_heaters_has_no_room() {
    assert_eq!(scenario("").plant.hot_water, springhouse_core::hot_water::HotWater::default());
    assert!(scenario("").heater_plates.is_empty());
}

#[test]
fn exact_values_as_given() {
    let text = format!(
        "{HEATER}building = \"house\"\ncompressor = \"2 kW\"\nelements = \"0 W\"\nloss = \"4 Btu/h/°F\"\ncarnot_share = \"50 %\"\n\
         inlet_mixing = \"30 %\"\nheight = \"1 m\"\nset_point = \"50 °C\"\nmode = \"heat pump only\"\ntempering = \"48 °C\"\n\
         room = \"shed\"\nstart = \"20 °C\"\n\
         [[heater.window]]\nstart = \"22:00\"\nend = \"05:00\"\nset_point = \"45 °C\"\n\
         [[heater.window]]\nstart = \"16:30\"\nend = \"18:00\"\nmode = \"hybrid\"\n\
         [heater.pipe]\nlength = \"10 m\"\nbore = \"20 mm\"\nloss = \"3 W/K\"\npump = \"30 W\"\n\
         [[heater.pipe.kept_hot]]\nstart = \"06:00\"\nend = \"08:00\"\n\
         [[room]]\nname = \"cellar\"\n\
         [[room]]\nname = \"shed\"\nvolume = \"30 m3\"\nheight = \"2 m\"\nheat_capacity = \"1.5 MJ/K\"\nloss = \"45 W/K\"\n\
         air_changes = 1\naround = \"10 °C\"\noutdoors = \"100 %\"\npumps = \"40 %\"\nstorage_loss = \"6 W/K\"\nducted = true\n"
    );
    let hot_water = scenario(&text).plant.hot_water.clone();
    let place = &hot_water.heaters[0];
    assert_eq!((place.room, hot_water.rooms[1].name.as_str()), (1, "shed"));
    let Source::HeatPump(pump, elements) = place.heater.source else { panic!("{:?}", place.heater.source) };
    assert_eq!((pump.rated_heat_w, pump.carnot_share, elements.upper, elements.lower), (2_000.0, 0.5, None, None));
    // A BTU is 1055.06 J, a °F 5/9 K.
    assert!((place.heater.tank.loss_w_k - 4.0 * 1_055.055_852_62 * 1.8 / 3_600.0).abs() < 1e-12);
    assert_eq!((place.heater.tank.inlet_mixing, place.heater.tank.height_m), (0.3, 1.0));
    assert_eq!((place.tempering_c, place.start_c), (Some(48.0), 20.0));
    let settings = &place.settings;
    assert_eq!((settings.set_c, settings.mode), (50.0, Mode::HeatPumpOnly));
    let [night, evening] = settings.windows.as_slice() else { panic!("two windows") };
    assert_eq!((night.start, night.end, night.set_c, night.mode), (clock(22.0), clock(5.0), 45.0, Mode::HeatPumpOnly));
    assert_eq!((evening.start, evening.set_c, evening.mode), (clock(16.5), 50.0, Mode::Hybrid));
    let pipe = place.pipe.as_ref().unwrap();
    assert!((pipe.volume_l - std::f64::consts::PI).abs() < 1e-12, "10 m of 1 cm radius");
    assert_eq!((pipe.loss_w_k, pipe.pump_w, &pipe.kept_hot), (3.0, 30.0, &vec![(clock(6.0), clock(8.0))]));
    let shed = &hot_water.rooms[1];
    assert_eq!((shed.room.volume_m3, shed.room.heat_j_k, shed.room.loss_w_k), (30.0, 1.5e6, 45.0));
    assert_eq!((shed.room.air_changes_h, shed.outdoors_share, shed.pumps_share), (1.0, 1.0, 0.4));
    assert!((shed.start.temp_c - 10.0).abs() < 1e-12 && shed.storage_w_k == 6.0 && shed.ducted);
}

#[test]
fn exact_loss_of_a_pipe_by_hand() {
    let loss_w_k = |insulation: &str| {
        let pipe = format!("[heater.pipe]\nlength = \"10 m\"\nbore = \"20 mm\"\n{insulation}");
        scenario(&format!("{HEATER}{pipe}")).plant.hot_water.heaters[0].pipe.as_ref().unwrap().loss_w_k
    };
    // Bare, 10 W/(m2 K) on 0.6283 m2; with foam 10 mm thick ln 2 / 0.04 + 1 / (10 x 0.02) = 22.329 under 62.83.
    assert!((loss_w_k("") - 10.0 * 0.2 * std::f64::consts::PI).abs() < 1e-12);
    assert!((loss_w_k("insulation = \"10 mm\"\n") - 2.81396).abs() < 1e-4);
}

#[test]
fn exact_plate_comes_back() {
    let of = |text: &str, factor: f64, gallons: f64| {
        let text = format!("{text}energy_factor = {factor}\nfirst_hour = \"{gallons} gal\"\n");
        let scenario = scenario(&text);
        let plate = scenario.heater_plates[0];
        assert_eq!((plate.energy_factor, plate.usage), (Some(factor), Some(Usage::Medium)));
        let heater = scenario.plant.hot_water.heaters[0].heater;
        let found = day_test(&heater, Mode::Hybrid, Usage::Medium).uef;
        assert!((found / factor - 1.0).abs() < 1e-3, "{found} for {factor}: {heater:?}");
        // A whole draw more or less.
        let found = first_hour_l(&heater, Mode::Hybrid) / GALLON_L;
        assert!((found / gallons - 1.0).abs() < 0.06, "{found} for {gallons}: {heater:?}");
        heater
    };
    let Source::HeatPump(pump, _) = of(HEATER, 3.3, 66.0).source else { panic!("a heat pump") };
    assert!(pump.carnot_share > 0.3 && pump.carnot_share < 0.8, "{pump:?}");
    assert!(of(ELECTRIC, 0.93, 61.0).tank.loss_w_k < 2.0);
    let Source::Fuel(burner) = of(GAS, 0.6, 68.0).source else { panic!("a burner") };
    assert!(burner.flue_loss_w_k > 0.0 && (burner.input_w - 11_722.8).abs() < 0.1, "{burner:?}");
    // At another usage it is another constant.
    let low = scenario(&format!("{HEATER}energy_factor = 2.4\nusage = \"low\"\n"));
    assert_eq!(low.heater_plates[0].usage, Some(Usage::Low));
    assert!((day_test(&low.plant.hot_water.heaters[0].heater, Mode::Hybrid, Usage::Low).uef / 2.4 - 1.0).abs() < 1e-3);
}

#[test]
fn what_is_wrong_is_told_with_its_place() {
    let texts = [
        format!("{HEATER}energy_factor = 9.5\n"),
        format!("{ELECTRIC}energy_factor = 1.2\n"),
        format!("{GAS}energy_factor = 0.9\n"),
        format!("{HEATER}first_hour = \"300 gal\"\n"),
        HEATER.replace("45 gal", "0 gal"),
        HEATER.replace("45 gal", "4500 gal"),
        HEATER.replace("45 gal", "1 gal"),
        format!("{GAS}loss = \"2000 W/K\"\nheight = \"60 ft\"\n"),
        format!("{GAS}pilot = \"300 kW\"\nflue_loss = \"2000 W/K\"\n"),
        HEATER.replace("heat pump", "steam"),
        format!("{HEATER}compressor = \"1000 kW\"\n"),
        format!("{HEATER}elements = \"0 W\"\nmode = \"element only\"\n"),
        format!("{HEATER}energy_factor = 3.3\ncarnot_share = \"45 %\"\n"),
        format!("{ELECTRIC}compressor = \"2 kW\"\nmode = \"hybrid\"\n"),
        format!("{ELECTRIC}elements = \"0 W\"\n"),
        format!("{GAS}mode = \"element only\"\n"),
        format!("{GAS}efficiency = \"120 %\"\n"),
        format!("{HEATER}building = \"hous\"\n"),
        format!("{HEATER}room = \"celar\"\n[[room]]\nname = \"cellar\"\n"),
        format!("{HEATER}room = \"cellar\"\n"),
        format!("{HEATER}{HEATER}"),
        format!("{HEATER}set_point = \"250 °F\"\n"),
        format!("{HEATER}loss = \"2 W\"\n"),
        format!("{HEATER}[[heater.window]]\nstart = \"06:00\"\nend = \"06:00\"\n"),
        format!("{HEATER}[heater.pipe]\nlength = \"0 m\"\nbore = \"20 mm\"\n"),
        format!("{HEATER}[heater.pipe]\nlength = \"9 m\"\nbore = \"20 mm\"\ninsulation = \"-1 cm\"\n"),
        format!("{HEATER}[[room]]\nname = \"cellar\"\nfloor_area = \"9 m2\"\nvolume = \"30 m3\"\n"),
        format!("{HEATER}[[room]]\nname = \"cellar\"\naround = \"200 °F\"\noutdoors = \"130 %\"\n"),
        format!("{HEATER}[[room]]\nname = \"cellar\"\nheight = \"0 m\"\n"),
        format!("{ELECTRIC}[heater.heat_pump]\nfan = \"20 W\"\n"),
        format!("{HEATER}[heater.heat_pump]\ncoldest_air = \"50 °C\"\n"),
        format!("{HEATER}[heater.heat_pump]\nair_flow = \"0 L/s\"\ncondenser_approach = \"100 K\"\n"),
        format!("{HEATER}[heater.thermostats]\nupper_sensor = \"20 %\"\nband = \"0 K\"\n"),
        format!("{HEATER}[heater.heat_pump]\nair_flow = \"40 cfm\"\n"),
        format!("{HEATER}[heater.pipe]\nlength = \"9 m\"\nbore = \"3 ft\"\n"),
        format!("{HEATER}[[room]]\nname = \"cellar\"\nvolume = \"48 L\"\n"),
        format!("{HEATER}[[room]]\nname = \"cellar\"\nheat_capacity = \"1 kJ/K\"\n"),
        format!(
            "{HEATER}{}",
            ["cellar", "shed"].map(|name| format!("[[room]]\nname = \"{name}\"\npumps = \"60 %\"\n")).concat()
        ),
    ];
    let told: Vec<_> = texts.iter().map(|text| told(text)).collect();
    assert!(told.iter().all(|told| told.contains("error")), "{told:#?}");
    insta::with_settings!({ omit_expression => true }, { insta::assert_snapshot!(told.join("\n\n----\n\n")); });
}

#[test]
fn what_has_no_effect_is_warned_of() {
    let told = told(&format!("{HEATER}[[room]]\nname = \"cellar\"\nducted = true\nstorage_loss = \"5 W/K\"\n"));
    assert!(!told.contains("error") && told.matches("warning").count() == 2, "{told}");
    assert!(told.contains("a duct without `weather`") && told.contains("no storage tank"), "{told}");
}
