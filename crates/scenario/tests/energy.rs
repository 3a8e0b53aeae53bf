//! Electricity on a site: what is read, what is typical where nothing is said, and what a person reads when it is wrong.

use springhouse_core::heater::control::Mode;
use springhouse_core::hot_water::SunBoost;
use springhouse_core::membrane::RunHours;
use springhouse_core::power::{Backup, Battery, SitePower};
use springhouse_core::solar::{Inverter, Panels, SkyModel};
use springhouse_core::time::Span;
use springhouse_scenario::energy::{SiteEnergy, TariffHours};
use springhouse_scenario::{Format, Scenario, parse, starter};

const MONTH: &str = "{ high = \"68 °F\", low = \"50 °F\", rain = \"100 mm\", wet_days = 10 }";
const PANELS: &str = "[[panels]]\npower = \"4 kW\"\n";
const BATTERY: &str = "[battery]\ncapacity = \"10 kWh\"\npower = \"5 kW\"\n";
const GENERATOR: &str = "[generator]\npower = \"4 kW\"\nfull_load_fuel = \"2 L/h\"\n";
const TARIFF: &str = "[tariff]\nimport = \"0.2 /kWh\"\n";
const HOUSE: &str = "[rest_of_house]\nper_day = \"16 kWh\"\n";
const HEATER: &str = "[[heater]]\nname = \"tank\"\nkind = \"heat pump\"\nvolume = \"45 gal\"\n";
const MEMBRANE: &str = include_str!("common/membrane.toml");

/// The starter with these sections after it, and one ahead of its buildings.
fn text(ahead: &str, sections: &str) -> String {
    let (before, after) = starter().split_once("[[building]]").unwrap_or_default();
    let before = before.replace("[site]\n", "[site]\nlatitude = 43.5\n");
    format!("{before}{ahead}\n[[building]]{after}\n{sections}")
}

fn weather() -> String {
    format!("[weather]\nmonths = [{}]\n", [MONTH; 12].join(", "))
}

fn scenario(ahead: &str, sections: &str) -> Scenario {
    let loaded = parse(&text(ahead, sections), Format::Toml, "plant.toml");
    loaded.unwrap_or_else(|faults| panic!("{faults}")).scenario
}

fn energy(ahead: &str, sections: &str) -> SiteEnergy {
    scenario(ahead, sections).energy.unwrap_or_else(|| panic!("no energy"))
}

fn told(ahead: &str, sections: &str) -> String {
    match parse(&text(ahead, sections), Format::Toml, "plant.toml") {
        Ok(loaded) => loaded.warnings.to_string(),
        Err(faults) => faults.to_string(),
    }
}

fn clock(hours: f64) -> Span {
    Span::from_s(3_600.0 * hours)
}

#[test]
fn nothing_of_it_is_nothing() {
    let plain = scenario("", "");
    assert_eq!((plain.energy, plain.plant.power.clone()), (None, SitePower::default()));
    for sections in [BATTERY, GENERATOR, TARIFF, HOUSE] {
        assert!(scenario("", sections).energy.is_some(), "{sections}");
    }
    assert_eq!(energy("", BATTERY).sun, None);
}

#[test]
fn exact_defaults_of_panels_and_inverter() {
    let east = "[[panels]]\npower = \"1 hp\"\ntilt = 90\nazimuth = 90\nlosses = \"10 %\"\nloss_per_kelvin = \"0.3 %\"\nground = \"50 %\"\n";
    let sun = energy(&weather(), &format!("{PANELS}{east}")).sun.unwrap_or_else(|| panic!("sun"));
    let usual =
        Panels { tilt_deg: 30.0, azimuth_deg: 180.0, rated_w: 4_000.0, per_k: -0.004, losses_share: 0.14, albedo: 0.2 };
    assert_eq!(sun.panels[0], usual);
    let hp_w = 745.699_871_582_270_2;
    let second = &sun.panels[1];
    assert_eq!((second.tilt_deg, second.azimuth_deg, second.rated_w, second.per_k), (90.0, 90.0, hp_w, -0.003));
    assert_eq!((second.losses_share, second.albedo), (0.1, 0.5));
    assert_eq!((sun.inverter, sun.sky), (Inverter { limit_w: 4_000.0 + hp_w, efficiency: 0.96 }, SkyModel::HayDavies));
    let keys = "[inverter]\npower = \"3 kW\"\nefficiency = \"50 %\"\nsky = \"isotropic\"\n";
    let sun = energy(&weather(), &format!("{PANELS}{keys}")).sun.unwrap_or_else(|| panic!("sun"));
    assert_eq!((sun.inverter, sun.sky), (Inverter { limit_w: 3_000.0, efficiency: 0.5 }, SkyModel::Isotropic));
}

#[test]
fn exact_battery_generator_and_what_they_feed() {
    let SitePower { battery, generator, backup } = scenario("", &format!("{BATTERY}{GENERATOR}")).plant.power.clone();
    let battery = battery.unwrap_or_else(|| panic!("battery"));
    assert!((battery.one_way * battery.one_way - 0.9).abs() < 1e-15);
    let usual =
        Battery { capacity_j: 36e6, power_w: 5_000.0, one_way: battery.one_way, reserve_share: 0.2, start_share: 1.0 };
    assert_eq!(battery, usual);
    let generator = generator.unwrap_or_else(|| panic!("generator"));
    assert_eq!((generator.power_w, generator.start_after, generator.fuel_l), (4_000.0, clock(1.0 / 120.0), None));
    assert!((generator.full_l_h - 2.0).abs() < 1e-15 && (generator.idle_l_h - 0.6).abs() < 1e-15);
    assert_eq!((generator.price_per_l, generator.one_motor), (0.0, true));
    // 40 CFR 98: 8.78 kg of carbon dioxide for a gallon of gasoline.
    assert!((generator.kg_per_l * 3.785_411_784 - 8.78).abs() < 1e-14);
    assert_eq!(backup, Backup { membrane: true, heaters: false, other_share: 0.3 });
    let given = format!(
        "{BATTERY}round_trip = \"81 %\"\nreserve = \"50 %\"\nstart = \"10 %\"\n\
         {GENERATOR}fuel = \"propane\"\ntank = \"20 L\"\nno_load_fuel = \"0.5 L/h\"\nstart_after = \"20 min\"\n\
         fuel_price = \"0.5 /L\"\none_motor_at_a_time = false\n[backup]\nmembrane = false\nheaters = true\nhouse = \"100 %\"\n"
    );
    let SitePower { battery, generator, backup } = scenario("", &given).plant.power.clone();
    let battery = battery.unwrap_or_else(|| panic!("battery"));
    assert!((battery.one_way - 0.9).abs() < 1e-15);
    assert_eq!((battery.reserve_share, battery.start_share), (0.5, 0.1));
    let generator = generator.unwrap_or_else(|| panic!("generator"));
    assert_eq!((generator.fuel_l, generator.start_after, generator.one_motor), (Some(20.0), clock(1.0 / 3.0), false));
    assert!((generator.idle_l_h - 0.5).abs() < 1e-15 && (generator.price_per_l - 0.5).abs() < 1e-15);
    // 62.87 kg for a million Btu, 0.091 of them in a gallon.
    assert!((generator.kg_per_l * 3.785_411_784 - 62.87 * 0.091).abs() < 1e-14);
    assert_eq!(backup, Backup { membrane: false, heaters: true, other_share: 1.0 });
}

#[test]
fn exact_prices_by_the_hour() {
    let keys = "export = \"50 /MWh\"\nfixed_per_day = 0.4\ncarbon = \"500 g/kWh\"\n";
    let hours = "[[tariff.hours]]\nstart = \"16:00\"\nend = \"21:00\"\nweekdays = [\"mon\", \"fri\"]\nmonths = [\"jan\", \"dec\"]\nimport = \"0.5 /kWh\"\n\
                 [[tariff.hours]]\nstart = \"00:00\"\nend = \"00:00\"\nweekdays = [\"sun\"]\nexport = \"0.01 /kWh\"\n\
                 [[tariff.hours]]\nstart = \"22:00\"\nend = \"06:00\"\nimport = \"0.1 /kWh\"\nexport = \"0.02 /kWh\"\n";
    let tariff = energy("", &format!("{TARIFF}{keys}{hours}")).tariff;
    assert_eq!((tariff.import_per_kwh, tariff.fixed_per_day, tariff.kg_per_kwh), (0.2, 0.4, 0.5));
    assert!((tariff.export_per_kwh - 0.05).abs() < 1e-16);
    let (mut winter, mut sunday) = ([false; 12], [false; 7]);
    (winter[0], winter[11], sunday[6]) = (true, true, true);
    let all = TariffHours {
        start_h: 22,
        end_h: 6,
        weekdays: [true; 7],
        months: [true; 12],
        import_per_kwh: Some(0.1),
        export_per_kwh: Some(0.02),
    };
    let evening = TariffHours {
        start_h: 16,
        end_h: 21,
        weekdays: [true, false, false, false, true, false, false],
        months: winter,
        import_per_kwh: Some(0.5),
        export_per_kwh: None,
    };
    let whole_day = TariffHours {
        start_h: 0,
        end_h: 24,
        weekdays: sunday,
        import_per_kwh: None,
        export_per_kwh: Some(0.01),
        ..all
    };
    assert_eq!(tariff.hours, [evening, whole_day, all]);
    let usual = energy("", TARIFF).tariff;
    assert_eq!((usual.export_per_kwh, usual.fixed_per_day, usual.kg_per_kwh), (0.0, 0.0, 0.39));
    assert_eq!((usual.hours.len(), energy("", HOUSE).tariff.kg_per_kwh), (0, 0.39));
}

#[test]
fn exact_fuels_of_heaters() {
    let fuels = energy("", &format!("{TARIFF}gas = \"2 /therm\"\npropane = \"2.8 /gal\"\n")).fuels;
    // 100 000 Btu are 29.307107 kWh.
    assert!((fuels.gas.per_kwh.unwrap() - 2.0 / 29.307_107_017).abs() < 1e-11);
    assert!((fuels.propane.per_kwh.unwrap() - 2.8 / (0.91 * 29.307_107_017)).abs() < 1e-11);
    // 40 CFR 98, table C-1: kilograms for a million Btu.
    assert!((fuels.gas.kg_per_kwh - 53.06 / 293.071_070_17).abs() < 1e-11);
    assert!((fuels.propane.kg_per_kwh - 62.87 / 293.071_070_17).abs() < 1e-11);
}

#[test]
fn exact_the_rest_of_the_house() {
    let usual = energy("", HOUSE).house;
    assert_eq!((usual.kwh_per_day, usual.by_month), (16.0, [1.0; 12]));
    assert!((usual.by_hour.iter().sum::<f64>() - 1.0).abs() < 1e-15);
    // Little by night, most in the evening.
    let least = usual.by_hour.iter().copied().fold(1.0, f64::min);
    let most = usual.by_hour.iter().copied().fold(0.0, f64::max);
    assert_eq!((usual.by_hour[3], usual.by_hour[18]), (least, most));
    let (hours, months) = (format!("{:?}", [2; 24]), "[3, 1, 1, 1, 1, 1, 1, 1, 1, 1, 0, 0]");
    let given = energy("", &format!("{HOUSE}by_hour = {hours}\nby_month = {months}\n")).house;
    assert!(given.by_hour.iter().all(|part| (part - 1.0 / 24.0).abs() < 1e-16));
    assert_eq!(given.by_month, [3.0, 1.0, 1.0, 1.0, 1.0, 1.0, 1.0, 1.0, 1.0, 1.0, 0.0, 0.0]);
    assert_eq!(energy("", TARIFF).house.kwh_per_day, 0.0);
}

#[test]
fn exact_parts_that_go_by_sun_and_clock() {
    let sun = "[heater.sun]\nsurplus = \"900 W\"\nset_point = \"65 °C\"\n";
    let settings =
        |sun: &str| scenario(&weather(), &format!("{HEATER}{sun}{PANELS}")).plant.hot_water.heaters[0].settings.clone();
    let found = settings(sun).sun;
    assert_eq!(found, Some(SunBoost { surplus_w: 900.0, set_c: 65.0, mode: Mode::Hybrid }));
    let found = settings("[heater.sun]\nsurplus = \"900 W\"\nmode = \"heat pump only\"\n");
    let expected = SunBoost { surplus_w: 900.0, set_c: found.set_c, mode: Mode::HeatPumpOnly };
    assert_eq!((found.sun, settings("").sun), (Some(expected), None));
    let hours = |keys: &str| {
        let membrane = format!("{}{MEMBRANE}\n[membrane.hours]\n{keys}", weather());
        scenario(&membrane, PANELS).plant.membrane.as_ref().and_then(|it| it.hours.clone())
    };
    // Of a tank of 1500 gal.
    let tank_l = 1_500.0 * 3.785_411_784;
    let found = hours("window = [{ start = \"09:00\", end = \"16:00\" }, { start = \"22:30\", end = \"01:00\" }]\n");
    let windows = vec![(clock(9.0), clock(16.0)), (clock(22.5), clock(1.0))];
    let expected =
        RunHours { windows, surplus_w: None, urgent_l: 0.5 * tank_l, relaxed_l: 0.5 * tank_l + 0.1 * tank_l };
    assert_eq!(found, Some(expected));
    let found = hours("surplus = \"2 kW\"\nalways_below = \"30 %\"\nuntil = \"3000 L\"\n");
    let expected = RunHours { windows: vec![], surplus_w: Some(2e3), urgent_l: 0.3 * tank_l, relaxed_l: 3_000.0 };
    assert_eq!(found, Some(expected));
    // No fuller than full.
    let found = hours("surplus = \"2 kW\"\nalways_below = \"95 %\"\n");
    assert_eq!(found.map(|it| it.relaxed_l), Some(tank_l));
}

#[test]
fn what_is_told_of_electricity_that_cannot_be() {
    let weather = weather();
    let weather = weather.as_str();
    let hours = |keys: &str| format!("{weather}{MEMBRANE}\n[membrane.hours]\n{keys}");
    let tariff = |keys: &str| format!("{TARIFF}[[tariff.hours]]\n{keys}");
    let cases = [
        ("", PANELS.to_owned()),
        (weather, "[[panels]]\ntilt = 30\n".to_owned()),
        (weather, "[[panels]]\npower = \"0 W\"\nlosses = \"120 %\"\n".to_owned()),
        (weather, format!("{PANELS}tilt = 95\n")),
        (weather, "[panels]\npower = \"4 kW\"\n".to_owned()),
        ("", "[inverter]\npower = \"3 kW\"\n".to_owned()),
        (weather, format!("{PANELS}[inverter]\nefficiency = \"0 %\"\npower = \"1e6 kW\"\n")),
        (weather, format!("{PANELS}[inverter]\nefficiency = \"101 %\"\n")),
        (weather, format!("{PANELS}[inverter]\nsky = \"isotrop\"\n")),
        ("", "[battery]\ncapacity = \"10 kW\"\npower = \"5 kW\"\n".to_owned()),
        ("", format!("{BATTERY}round_trip = \"5 %\"\nreserve = \"110 %\"\nstart = \"120 %\"\n")),
        ("", "[battery]\ncapacity = \"0 kWh\"\npower = \"0 W\"\n".to_owned()),
        ("", format!("{BATTERY}start = 0.5\n")),
        ("", "[generator]\npower = \"4 kW\"\n".to_owned()),
        ("", "[generator]\npower = \"4 kW\"\nfull_load_fuel = \"0 gph\"\n".to_owned()),
        ("", format!("{GENERATOR}no_load_fuel = \"3 L/h\"\nfuel = \"petrol\"\n")),
        ("", format!("{GENERATOR}no_load_fuel = \"3 L/h\"\nfuel_price = \"1.2 /kWh\"\n")),
        ("", format!("{GENERATOR}no_load_fuel = \"3 L/h\"\n")),
        ("", "[backup]\nheaters = true\n".to_owned()),
        ("", format!("{BATTERY}[backup]\nhouse = \"130 %\"\n")),
        ("", "[tariff]\nimport = 0.18\nexport = \"5 /gal\"\ncarbon = \"0.4 kg\"\n".to_owned()),
        ("", format!("{TARIFF}carbon = \"390 kg/kWh\"\n")),
        ("", tariff("start = \"16:30\"\nend = \"21:00\"\nimport = \"0.3 /kWh\"\n")),
        ("", tariff("start = \"16:00\"\nend = \"16:00\"\nimport = \"0.3 /kWh\"\n")),
        ("", tariff("start = \"16:00\"\nend = \"24:00\"\nimport = \"0.3 /kWh\"\n")),
        ("", tariff("start = \"16:00\"\nend = \"21:00\"\n")),
        ("", tariff("start = \"16:00\"\nend = \"21:00\"\nimport = \"0.3 /kWh\"\nweekdays = []\nmonths = []\n")),
        ("", "[rest_of_house]\nper_day = \"0 kWh\"\nby_hour = [1, 2, 3]\n".to_owned()),
        ("", format!("{HOUSE}by_month = [0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0]\n")),
        ("", format!("{HEATER}[heater.sun]\nsurplus = \"900 W\"\nset_point = \"150 °F\"\n")),
        (weather, format!("{HEATER}[heater.sun]\nsurplus = \"900 W\"\n{PANELS}")),
        (weather, format!("{HEATER}[heater.sun]\nsurplus = \"9 kW\"\nset_point = \"150 °F\"\n{PANELS}")),
        (&hours(""), PANELS.to_owned()),
        (&hours("window = [{ start = \"09:00\", end = \"09:00\" }]\nalways_below = \"30 %\"\n"), String::new()),
        (&hours("surplus = \"2 kW\"\n"), String::new()),
        (&hours("surplus = \"2 kW\"\nalways_below = \"80 %\"\n"), PANELS.to_owned()),
        (&hours("surplus = \"2 kW\"\nalways_below = \"60 %\"\nuntil = \"50 %\"\n"), PANELS.to_owned()),
        (&hours("surplus = \"2 kW\"\nuntil = \"110 %\"\n"), PANELS.to_owned()),
        (&hours("surplus = \"2 kW\"\nalways_below = \"120 %\"\nuntil = \"100 %\"\n"), PANELS.to_owned()),
    ];
    let told: Vec<_> = cases.iter().map(|(ahead, sections)| told(ahead, sections)).collect();
    let silent = cases.iter().zip(&told).find(|(_, told)| told.is_empty());
    assert!(silent.is_none(), "{silent:?}");
    insta::with_settings!({ omit_expression => true }, { insta::assert_snapshot!(told.join("\n\n----\n\n")); });
}

#[test]
fn panels_of_the_south_that_face_away_are_told() {
    let south = |keys: &str| {
        let text = text(&weather(), &format!("{PANELS}{keys}")).replace("latitude = 43.5", "latitude = -43.5");
        parse(&text, Format::Toml, "plant.toml").unwrap_or_else(|faults| panic!("{faults}")).warnings.to_string()
    };
    assert!(south("").contains("the panels face south, away from the sun"), "{}", south(""));
    assert_eq!((south("azimuth = 0\n").as_str(), south("azimuth = 180\n").as_str()), ("", ""));
}
