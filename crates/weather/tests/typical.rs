//! Reading of a typical year: days of a published one, and what is said when something is wrong.

use std::fmt::Write;

use jiff::civil::{Date, date};
use springhouse_weather::{Day, Reading, Repeat, Wanted, WeatherErrors, read_weather};

const FOUR_DAYS: &str = include_str!("../../../tests/data/tmy3_four_days.csv");

fn read(text: &str, first_day: Date, days: u32) -> Result<Reading, WeatherErrors> {
    let wanted = Wanted { first_day, days, repeat: Repeat::No, wind_height_m: 2.0 };
    read_weather(text.as_bytes(), "year.csv", &wanted)
}

#[test]
fn external_days_of_a_published_year() {
    // Highs, lows, sums of sun in Wh, means of wind at 10 m and of dew point: added up from the rows outside this project.
    let winter = [(4.7, 2.5, 172.0, 4.55, 44.5 / 24.0), (5.0, 3.0, 297.0, 82.4 / 24.0, 46.1 / 24.0)];
    let summer = [(15.6, 8.6, 6_621.0, 114.4 / 24.0, 123.1 / 24.0), (14.4, 9.9, 7_832.0, 3.25, 144.4 / 24.0)];
    for (first_day, expected) in [(date(2027, 1, 10), winter), (date(2031, 7, 1), summer)] {
        let reading = read(FOUR_DAYS, first_day, 2).unwrap();
        let days: Vec<Day> = reading.weather.days().collect();
        for (day, (high_c, low_c, sun_wh, wind_10_m_s, dew_point_c)) in days.iter().zip(expected) {
            assert_eq!((day.high_c, day.low_c), (high_c, low_c));
            assert!((day.sun_mj_m2.unwrap() - 0.0036 * sun_wh).abs() < 1e-12);
            assert!((day.dew_point_c.unwrap() - dew_point_c).abs() < 1e-12);
            // FAO-56, eq. 47: 4.87 / ln (67.8 10 - 5.42) = 0.748.
            assert!((day.wind_m_s.unwrap() / wind_10_m_s - 0.748).abs() < 5e-4);
        }
    }
}

#[test]
fn exact_a_time_is_the_end_of_its_hour() {
    let weather = read(FOUR_DAYS, date(2027, 1, 10), 2).unwrap().weather;
    // `02:00` of the second day has 3.3 °C; `11:00` and `12:00` have 1 mm that fell in one hour, `15:00` a sum over six.
    assert_eq!(weather.hours[25].air_c, 3.3);
    let rain: Vec<Option<f64>> = weather.hours[24..].iter().map(|hour| hour.rain_mm).collect();
    assert_eq!((rain[9], rain[10], rain[11], rain[14]), (None, Some(1.0), Some(1.0), None));
    assert_eq!(weather.lacking().rain, 44);
}

#[test]
fn exact_station() {
    let station = read(FOUR_DAYS, date(2027, 1, 10), 1).unwrap().station.unwrap();
    let found = (station.latitude_deg, station.longitude_deg, station.utc_offset_h, station.elevation_m);
    assert_eq!(found, (55.317, -160.517, -9.0, 7.0));
}

#[test]
fn days_that_are_not_there_are_told() {
    let said = read(FOUR_DAYS, date(2027, 1, 10), 3).unwrap_err().to_string();
    assert_eq!(
        said,
        "error: year.csv: the record does not tell of 24 of the run's hours, the first from \
         2027-01-12T00:00:00; accepted is one that tells of all; add the rows, so that a year is whole"
    );
}

/// A year of the columns that are needed, by another order.
fn short(station: &str, rows: &str) -> String {
    let columns = "GHI (W/m^2),Date (MM/DD/YYYY),Time (HH:MM),Dry-bulb (C),RHum (%),Dew-point (C),Wspd (m/s),\
                   Lprecip depth (mm),Lprecip quantity (hr)";
    format!("{station}\n{columns}\n{rows}")
}

#[test]
fn what_is_missing_or_not_believed_is_none() {
    let mut rows = String::new();
    for hour in 1..=24 {
        let wet = if hour == 5 { "193,1" } else { "3,1" };
        writeln!(rows, "-9900,06/04/1997,{hour:02}:00,9.5,80,-9900,-9900,{wet}").unwrap();
    }
    let hours = read(&short("1,\"A, B\",C,1,50,10,100", &rows), date(2027, 6, 4), 1).unwrap().weather.hours;
    assert_eq!(
        (hours[3].dew_point_c, hours[3].wind_m_s, hours[3].sun_w_m2, hours[3].rain_mm),
        (None, None, None, Some(3.0))
    );
    assert_eq!(hours[4].rain_mm, None);
}

#[test]
fn all_errors_are_told() {
    let rows =
        "0,6/31/1997,01:00,9,80,5,2,0,1\n0,06/04/1997,1:30,9,80,5,2,0,1\n0,06/04/1997,25:00,-9900,80,x,200,0,1\n0,1\n";
    let errors = read(&short("1,A,B,1,91,10,high", rows), date(2027, 6, 4), 1).unwrap_err();
    let places: Vec<_> = errors.errors.iter().map(|error| (error.line.unwrap(), error.column.unwrap_or("-"))).collect();
    let expected = [
        (1, "latitude"),
        (1, "elevation"),
        (3, "Date (MM/DD/YYYY)"),
        (4, "Time (HH:MM)"),
        (5, "Time (HH:MM)"),
        (5, "Dew-point (C)"),
        (5, "Wspd (m/s)"),
        (5, "Dry-bulb (C)"),
        (6, "-"),
    ];
    assert_eq!(places, expected);
    let said = errors.to_string();
    assert!(
        said.contains("`6/31/1997` is no date; accepted is month, day and year as `06/04/1997`; correct it"),
        "{said}"
    );
    assert!(said.contains("`1:30` is no hour; accepted is the end of a whole hour, `01:00` to `24:00`; correct it"));
}

#[test]
fn columns_that_lack_or_come_twice_are_told() {
    let text = short("1,A,B,1,50,10,100", "").replace("Dry-bulb (C)", "Temperature");
    let said = read(&text, date(2027, 6, 4), 1).unwrap_err().to_string();
    assert_eq!(
        said,
        "error: year.csv:2, column `Dry-bulb (C)`: column missing; the header must be that of TMY3; add it"
    );
    let twice = short("1,A,B,1,50,10,100", "").replace("RHum (%)", "Wspd (m/s)");
    let said = read(&twice, date(2027, 6, 4), 1).unwrap_err().to_string();
    assert!(said.starts_with("error: year.csv:2, column `Wspd (m/s)`: column given twice"), "{said}");
    let none = read(&short("1,A,B,1,50,10,100", ""), date(2027, 6, 4), 1).unwrap_err().to_string();
    assert!(none.contains("no row found"), "{none}");
}
