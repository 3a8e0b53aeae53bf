//! The weather of a scenario, what lies open under it, and what a person reads when it is wrong.

#![expect(clippy::unwrap_used, reason = "helpers of tests are tests")]

use std::path::PathBuf;

use springhouse_scenario::{Format, Scenario, WeatherSource, parse, starter};

const MONTH: &str = "{ high = \"68 °F\", low = \"50 °F\", rain = \"100 mm\", wet_days = 10 }";
const SITE: &str = "[site]\naltitude = \"500 ft\"\nlatitude = 43.5\nutc_offset = -5\n";
const POND: &str = "[pond]\nstandby = true\nvolume = \"300 m3\"\ndepth = \"3 m\"\n";
const PUMP: &str = "[pond.pump]\nconstant_flow = \"6 gpm\"\ncut_in = \"40 psi\"\ncut_out = \"60 psi\"\n[change_over]\n";

/// The starter with these sections ahead of its buildings, and with another site.
fn text(site: &str, sections: &str) -> String {
    let (before, after) = starter().split_once("[[building]]").unwrap();
    let (head, own) = before.split_once("[site]").unwrap();
    let (_, parts) = own.split_once("[well]").unwrap();
    format!("{head}{site}\n[well]{parts}{sections}\n[[building]]{after}")
}

fn scenario(sections: &str) -> Scenario {
    let text = text(SITE, sections);
    parse(&text, Format::Toml, "plant.toml").unwrap_or_else(|faults| panic!("{faults}")).scenario
}

fn told(site: &str, sections: &str) -> String {
    match parse(&text(site, sections), Format::Toml, "plant.toml") {
        Ok(loaded) => loaded.warnings.to_string(),
        Err(faults) => faults.to_string(),
    }
}

/// Twelve months alike, with each `from` of the first replaced.
fn months(changes: &[(&str, &str)]) -> String {
    let first = changes.iter().fold(MONTH.to_owned(), |text, (from, to)| {
        assert!(text.contains(from), "no {from}");
        text.replacen(from, to, 1)
    });
    let rest = [MONTH; 11].join(",\n  ");
    format!("[weather]\nmonths = [\n  {first},\n  {rest},\n]\n")
}

#[test]
fn exact_normals_make_the_water_of_a_well() {
    let scenario = scenario(&months(&[]));
    let weather = scenario.weather.as_ref().unwrap();
    assert_eq!((weather.latitude_deg, weather.longitude_deg, weather.utc_offset_h), (Some(43.5), None, Some(-5.0)));
    assert!((weather.elevation_m - 152.4).abs() < 1e-9);
    let WeatherSource::Normals { normals, .. } = &weather.source else { panic!("normals") };
    let month = normals.months[11];
    assert!((month.high_c - 20.0).abs() < 1e-12 && (month.low_c - 10.0).abs() < 1e-12);
    assert_eq!((month.rain_mm, month.wet_days, month.dew_point_c), (100.0, 10.0, None));
    // 15 °C and a degree and a half.
    assert!((scenario.plant.supplies[0].temp_c - 16.5).abs() < 1e-12);
    assert_eq!(weather.follows, [true]);
    let place = weather.place(None).unwrap();
    assert_eq!((place.longitude_deg, place.utc_offset_h), (-75.0, -5.0));
}

#[test]
fn a_temperature_that_is_given_stays() {
    let text = text(SITE, &months(&[])).replacen("[well]", "[well.water]\ntemperature = \"9 °C\"\n[well]", 1);
    let scenario = parse(&text, Format::Toml, "plant.toml").unwrap_or_else(|faults| panic!("{faults}")).scenario;
    assert_eq!(scenario.plant.supplies[0].temp_c, 9.0);
    assert_eq!(scenario.weather.unwrap().follows, [false]);
}

#[test]
fn exact_a_pond_lies_open() {
    let keys = "area = \"200 m2\"\nseepage = \"3 cm/month\"\nevaporation = 0.9\nsettling = \"1 m/day\"\n\
                [pond.catchment]\narea = \"1 ha\"\ncurve_number = 80\n[pond.catchment.water]\nsalt = \"30 mg/L\"\n";
    let scenario = scenario(&format!("{}{POND}{keys}{PUMP}", months(&[])));
    let supply = &scenario.plant.supplies[1];
    let basin = supply.source.basin().unwrap();
    let open = basin.open.as_ref().unwrap();
    let catchment = open.catchment.as_ref().unwrap();
    assert!((basin.shape - 2.0).abs() < 1e-12 && (basin.area_m2(basin.capacity_l) - 200.0).abs() < 1e-9);
    assert!((open.seepage_mm_day - 30.0 / 30.4375).abs() < 1e-12);
    assert_eq!((open.evaporation_factor, open.settling_m_day, open.clearest_mg_l), (0.9, 1.0, 5.0));
    assert_eq!((catchment.area_m2, catchment.curve_number, catchment.quality.salt_mg_l), (10_000.0, 80.0, 30.0));
    // The air of the first month, June.
    assert!((supply.temp_c - 15.0).abs() < 1e-12);
    let usual = self::scenario(&format!("{}{POND}{PUMP}", months(&[])));
    let open = usual.plant.supplies[1].source.basin().unwrap().open.clone().unwrap();
    assert_eq!((open.evaporation_factor, open.seepage_mm_day, open.settling_m_day), (1.05, 2.0, 0.3));
    let shut = self::scenario(&format!("{POND}{PUMP}"));
    assert!(shut.weather.is_none() && shut.plant.supplies[1].source.basin().unwrap().open.is_none());
}

#[test]
fn a_file_of_weather_with_rain_of_its_own() {
    let keys = "[weather]\nfile = \"air.csv\"\nrepeat = true\nwind_height = \"33 ft\"\nrain = \"rain.csv\"\n";
    let weather = scenario(keys).weather.unwrap();
    let expected = WeatherSource::File {
        file: PathBuf::from("air.csv"),
        repeat: true,
        wind_height_m: 33.0 * 0.304_8,
        rain: Some(PathBuf::from("rain.csv")),
    };
    assert_eq!(weather.source, expected);
}

#[test]
fn months_of_a_valve() {
    let load = "[[raw_load]]\nname = \"garden\"\n[[raw_load.valve]]\nstart = \"05:00\"\nlength = \"20 min\"\n\
                flow = \"5 gpm\"\nmonths = [\"may\", \"sep\"]\n";
    let scenario = scenario(load);
    let valve = scenario.schedule.last().unwrap();
    let open: Vec<usize> = (0..12).filter(|month| valve.months[*month]).collect();
    assert_eq!(open, [4, 8]);
    assert!(scenario.schedule[0].months.iter().all(|open| *open));
}

#[test]
fn what_is_told_of_weather_that_cannot_be() {
    let cases = [
        (SITE, "[weather]\n".to_owned()),
        ("", months(&[])),
        (
            SITE,
            "[weather]\nmonths = [{ high = \"68 °F\", low = \"50 °F\", rain = \"4 in\", wet_days = 9 }]\n".to_owned(),
        ),
        (SITE, format!("{}file = \"air.csv\"\n", months(&[]))),
        (SITE, format!("{}rain = \"rain.csv\"\n", months(&[]))),
        (SITE, months(&[("68 °F", "40 °F")])),
        (SITE, months(&[("wet_days = 10", "wet_days = 0")])),
        (SITE, months(&[("wet_days = 10", "wet_days = 10, wind = \"5 mph\"")])),
        (SITE, months(&[("wet_days = 10", "wet_days = 40")])),
        (SITE, months(&[("\"100 mm\"", "100")])),
        (SITE, format!("{}wind_height = \"0 m\"\n", months(&[]))),
        ("[site]\nlatitude = 143\n", months(&[])),
        (SITE, format!("{}[weather.spread]\nair_persistence = 0.95\n", months(&[]))),
        (SITE, format!("{POND}seepage = \"2 mm/day\"\n{PUMP}")),
        (SITE, format!("{}{POND}area = \"50 m2\"\n{PUMP}", months(&[]))),
        (SITE, format!("{}{POND}area = \"5 acre\"\n{PUMP}", months(&[]))),
        (SITE, format!("{}{POND}area = \"200 m2\"\nshape = 2\n{PUMP}", months(&[]))),
        (SITE, format!("{}{POND}[pond.catchment]\narea = \"0 acre\"\n{PUMP}", months(&[]))),
        (SITE, "[[raw_load]]\nname = \"garden\"\n[raw_load.rain_skip]\n".to_owned()),
    ];
    let told: Vec<_> = cases.iter().map(|(site, sections)| told(site, sections)).collect();
    assert!(told.iter().all(|told| !told.is_empty()), "{told:#?}");
    insta::with_settings!({ omit_expression => true }, { insta::assert_snapshot!(told.join("\n\n----\n\n")); });
}

#[test]
fn exact_an_incident_comes_again_up_to_the_end_of_the_run() {
    let incident = |every: &str| {
        let kind = "[[incident]]\nkind = \"power out\"\nlength = \"1 h\"\nstart = \"2027-06-07 10:00\"\n";
        scenario(&format!("{kind}{every}")).incidents.iter().map(|it| it.start.to_string()).collect::<Vec<_>>()
    };
    assert_eq!(incident(""), ["2027-06-07T10:00:00"]);
    let expected = ["2027-06-07T10:00:00", "2027-06-09T11:30:00", "2027-06-11T13:00:00", "2027-06-13T14:30:00"];
    assert_eq!(incident("every = \"2 days 1 h 30 min\"\n"), expected);
    let told = told(
        SITE,
        "[[incident]]\nkind = \"power out\"\nlength = \"1 h\"\nstart = \"2027-06-07 10:00\"\nevery = \"1 h\"\n",
    );
    assert!(told.contains("`every` must be longer than the incident lasts"), "{told}");
}
