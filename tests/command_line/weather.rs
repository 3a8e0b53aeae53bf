//! Weather as people give it: by chance, from a typical year, from a record that lacks something.

use std::fs;
use std::path::Path;

use serde_json::Value;
use tempfile::TempDir;

use crate::program::{Done, repository, run};
use crate::ready::{figure, path, summary, whole};

/// A folder with the scenario of the pond's year, its weather replaced.
fn with_weather(site: &str, weather: &str) -> TempDir {
    let text = fs::read_to_string(path("pond-year")).unwrap();
    let (before, rest) = text.split_once("[site]").unwrap();
    let (_, after) = rest.split_once("[well]").unwrap();
    let folder = TempDir::new().unwrap();
    fs::write(folder.path().join("plant.toml"), format!("{before}{site}\n{weather}\n[well]{after}")).unwrap();
    let name = "tmy3_four_days.csv";
    fs::copy(repository().join("tests/data").join(name), folder.path().join(name)).unwrap();
    folder
}

fn run_in(folder: &TempDir, args: &[&str]) -> Done {
    let out = folder.path().join("out");
    let fixed = ["--out", out.to_str().unwrap()];
    run(folder.path(), Path::new("plant.toml"), &[&fixed, args].concat())
}

fn pond(summary: &Value) -> &Value {
    summary["supplies"].as_array().unwrap().iter().find(|supply| supply["name"] == "pond").unwrap()
}

const TYPICAL: &str = "[weather]\nfile = \"tmy3_four_days.csv\"\n";
const JULY: [&str; 5] = ["--from", "2027-07-01", "--days", "2", "--quiet"];

#[test]
fn a_typical_year_has_no_rain_to_speak_of() {
    let folder = with_weather("", TYPICAL);
    let told = run_in(&folder, &JULY).with_code(2).stderr;
    assert!(told.contains("has no rain in") && told.contains("rain = \"rain.csv\""), "{told}");
    assert!(!folder.path().join("out").exists(), "nothing is written beside a fault");
}

#[test]
fn a_typical_year_and_a_gauge_feed_a_pond() {
    let folder = with_weather("", &format!("{TYPICAL}rain = \"gauge.csv\"\n"));
    let gauge = "time,rain_mm\n2027-06-30,0\n2027-07-01 06:30,12\n2027-07-01 08:30,0\n2027-07-04,0\n";
    fs::write(folder.path().join("gauge.csv"), gauge).unwrap();
    run_in(&folder, &JULY).with_code(0);
    let summary = summary(&folder.path().join("out"));
    assert!((figure(&summary, "weather.rain_mm") - 12.0).abs() < 1e-9);
    // 12 mm on 1200 ft2.
    let rain_l = figure(pond(&summary), "open_water.rain_l");
    assert!((rain_l / (12.0 * 1_200.0 * 0.304_8 * 0.304_8) - 1.0).abs() < 1e-9, "{rain_l} L");
    // The first two days of July of that file: 48 hours of dry bulb, summed apart with a spreadsheet's arithmetic.
    let file = fs::read_to_string(folder.path().join("tmy3_four_days.csv")).unwrap();
    let rows = file.lines().filter(|line| line.starts_with("07/0"));
    let header: Vec<&str> = file.lines().find(|line| line.starts_with("Date ")).unwrap().split(',').collect();
    let dry_bulb = header.iter().position(|name| *name == "Dry-bulb (C)").unwrap();
    let air: Vec<f64> = rows.map(|row| row.split(',').nth(dry_bulb).unwrap().parse().unwrap()).collect();
    let mean_c = air.iter().sum::<f64>() / 48.0;
    assert_eq!(air.len(), 48);
    assert!((figure(&summary, "weather.mean_air_c") - mean_c).abs() < 1e-9);
}

#[test]
fn a_record_that_ends_too_soon_is_told() {
    let record = "time,air_c,rain_mm\n2027-07-01 00:00,14,0\n2027-07-01 01:00,13,0\n";
    let folder = with_weather("[site]\nlatitude = 43.5\n", "[weather]\nfile = \"air.csv\"\n");
    fs::write(folder.path().join("air.csv"), record).unwrap();
    let told = run_in(&folder, &JULY).with_code(2).stderr;
    assert!(
        told.contains("air.csv") && told.contains("46 of the run's hours") && told.contains("2027-07-01T02:00"),
        "{told}"
    );
    let folder = with_weather("", "[weather]\nfile = \"air.csv\"\n");
    let hours = (0..49).map(|h| format!("2027-07-{:02} {:02}:00,14,0", 1 + h / 24, h % 24));
    let record: Vec<String> = core::iter::once("time,air_c,rain_mm".to_owned()).chain(hours).collect();
    fs::write(folder.path().join("air.csv"), record.join("\n")).unwrap();
    let told = run_in(&folder, &JULY).with_code(2).stderr;
    assert!(told.contains("latitude = 43.5"), "{told}");
    let folder = with_weather("", "[weather]\nfile = \"nowhere.csv\"\n");
    let told = run_in(&folder, &JULY).with_code(2).stderr;
    assert!(told.contains("a file of weather is not there") && told.contains("plant.toml:"), "{told}");
}

#[test]
fn exact_the_weather_of_a_date_does_not_hang_on_the_first_day() {
    let weather = |args: &[&str]| {
        let out = TempDir::new().unwrap();
        let fixed = ["--quiet", "--out", out.path().to_str().unwrap()];
        run(repository(), &path("pond-year"), &[&fixed, args].concat()).with_code(0);
        let days = fs::read_to_string(out.path().join("days.csv")).unwrap();
        let date = |line: &&str| line.starts_with("2027-03-1");
        let weather = |line: &str| line.split(',').take(6).map(str::to_owned).collect::<Vec<_>>();
        days.lines().filter(date).map(weather).collect::<Vec<_>>()
    };
    let (march, tenth) =
        (weather(&["--from", "2027-03-01", "--days", "14"]), weather(&["--from", "2027-03-10", "--days", "5"]));
    assert_eq!((march.len(), tenth.len()), (5, 5));
    assert_eq!(march, tenth);
    assert_ne!(march, weather(&["--from", "2027-03-10", "--days", "5", "--seed", "2"]));
}

#[test]
fn the_pond_gets_salty_and_saltier_where_its_own_reject_comes_back() {
    let salt_mg_l = |folder: &Path| figure(pond(&summary(folder)), "salt_mg_l");
    let text = fs::read_to_string(path("pond-year")).unwrap();
    let folder = TempDir::new().unwrap();
    let circles = text.replacen("reject_to = \"pond\"", "reject_to = \"pond\"\nreject_circles = true", 1);
    assert_ne!(text, circles);
    fs::write(folder.path().join("plant.toml"), circles).unwrap();
    // Nineteen days on the pond.
    let args = ["--from", "2027-08-01", "--days", "22"];
    let august = |file: &Path, out: &Path| {
        let fixed = ["--quiet", "--out", out.to_str().unwrap()];
        run(repository(), file, &[&fixed[..], &args].concat());
        salt_mg_l(out)
    };
    let [out, back] = ["drained", "circles"].map(|name| folder.path().join(name));
    let (without, with) = (august(&path("pond-year"), &out), august(&folder.path().join("plant.toml"), &back));
    assert!(with > 1.5 * without, "{with} and {without} mg/L");
    // Over the year the reject of the well makes it salty, whatever becomes of its own.
    let year = figure(pond(&whole()["pond-year"].summary()), "open_water.most_salt_mg_l");
    assert!(year > 3.0 * 200.0, "{year} mg/L");
}

/// A town line's water follows the season of its side of the equator: warm in August in the north, in February in the south.
#[test]
fn a_town_line_follows_its_season() {
    let month =
        |high: i32, low: i32| format!("{{ high = \"{high} °C\", low = \"{low} °C\", rain = \"60 mm\", wet_days = 9 }}");
    let warmest_day = |latitude: f64| {
        let months: Vec<String> = (0..12)
            .map(|m: i32| {
                // Warm in the middle of the year in the north.
                let swing = 6 - (m - 6).abs();
                let swing = if latitude > 0.0 { swing } else { 6 - swing };
                month(8 + 3 * swing, 2 * swing)
            })
            .collect();
        let text = fs::read_to_string(path("town-line")).unwrap();
        let (before, after) = text.split_once("[town_line]").unwrap();
        assert!(!text.contains("[site]"));
        let sky = format!("[site]\nlatitude = {latitude:.1}\n[weather]\nmonths = [\n{}\n]\n", months.join(",\n"));
        let folder = TempDir::new().unwrap();
        fs::write(folder.path().join("plant.toml"), format!("{before}{sky}[town_line]{after}")).unwrap();
        let warmth = |from: &str| {
            let out = folder.path().join("out");
            let args = ["--from", from, "--days", "1", "--quiet", "--out", out.to_str().unwrap()];
            run(folder.path(), Path::new("plant.toml"), &args);
            let days = fs::read_to_string(out.join("days.csv")).unwrap();
            let mut lines = days.lines().map(|line| line.split(',').collect::<Vec<_>>());
            let (head, row) = (lines.next().unwrap(), lines.next().unwrap());
            let column = head.iter().position(|name| *name == "temp_c:town line").unwrap();
            row[column].parse::<f64>().unwrap()
        };
        warmth("2027-08-05") - warmth("2027-02-05")
    };
    let (north, south) = (warmest_day(43.5), warmest_day(-43.5));
    assert!(north > 4.0 && south < -4.0, "{north} and {south} K from February to August");
}
