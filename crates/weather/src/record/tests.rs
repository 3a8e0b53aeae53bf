//! Checks of reading: what comes out, and what is said when something is wrong.

use std::fmt::Write;

use jiff::civil::date;
use springhouse_table::Problem as Table;

use super::*;
use crate::reading::{HEADERS, Repeat, read_weather};
use crate::{Lacking, Weather};

const WANTED: Wanted = Wanted { first_day: date(2027, 6, 4), days: 1, repeat: Repeat::No, wind_height_m: 2.0 };

fn read_as(text: &str, wanted: &Wanted) -> Result<Weather, WeatherErrors> {
    read_weather(text.as_bytes(), "june.csv", wanted).map(|reading| reading.weather)
}

/// A record of whole days: a header, and what each hour or part of it says.
fn text(header: &str, first: Date, rows: usize, every_min: i64, row: impl Fn(usize) -> String) -> String {
    let mut text = format!("{header}\n");
    let mut now = first.to_datetime(jiff::civil::Time::midnight());
    for i in 0..rows {
        writeln!(text, "{now},{}", row(i)).unwrap();
        now = now.saturating_add(every_min.minutes());
    }
    text
}

fn june(header: &str, rows: usize, every_min: i64, row: impl Fn(usize) -> String) -> Weather {
    read_as(&text(header, date(2027, 6, 4), rows, every_min, row), &WANTED).unwrap()
}

fn said(text: &str) -> String {
    read_as(text, &WANTED).expect_err("the text is refused").to_string()
}

/// Line and column of each error.
fn places(text: &str) -> Vec<(u64, &'static str)> {
    let errors = read_as(text, &WANTED).expect_err("the text is refused").errors;
    errors.into_iter().map(|error| (error.line.unwrap_or(0), error.column.unwrap_or("-"))).collect()
}

#[test]
fn hours_are_as_they_are_written() {
    let header = "time,air_c,dew_point_c,wind_m_s,sun_w_m2,rain_mm";
    let weather = june(header, 24, 60, |i| format!("{i}.3,-1.5,2.7,{},0.1", 10 * i));
    assert_eq!((weather.start, weather.hours.len()), (Time::ZERO, 24));
    for (i, hour) in weather.hours.iter().enumerate() {
        let i = f64::from(u8::try_from(i).unwrap());
        let expected = Hour {
            air_c: i + 0.3,
            dew_point_c: Some(-1.5),
            wind_m_s: Some(2.7),
            sun_w_m2: Some(10.0 * i),
            rain_mm: Some(0.1),
        };
        // A sum of one product over its weight rounds twice.
        assert!((hour.air_c - expected.air_c).abs() < 1e-13 && (hour.wind_m_s.unwrap() - 2.7).abs() < 1e-14);
        assert_eq!(*hour, Hour { air_c: hour.air_c, wind_m_s: hour.wind_m_s, ..expected });
    }
}

#[test]
fn exact_quarters_of_an_hour_are_gathered() {
    let weather = june("time,air_c,rain_mm", 96, 15, |i| format!("{},0.{}", i % 4, i % 4));
    for hour in weather.hours {
        assert_eq!(hour.air_c, 1.5);
        assert!((hour.rain_mm.unwrap() - 0.6).abs() < 1e-15);
    }
}

#[test]
fn exact_long_intervals_are_shared_out() {
    // An hour and a half each: the second hour has half of either.
    let weather = june("time,air_c,rain_mm", 16, 90, |i| format!("{},3", i % 2));
    let air: Vec<f64> = weather.hours.iter().map(|hour| hour.air_c).take(3).collect();
    assert_eq!(air, [0.0, 0.5, 1.0]);
    for hour in weather.hours {
        assert!((hour.rain_mm.unwrap() - 2.0).abs() < 1e-15);
    }
}

#[test]
fn exact_units() {
    let weather = june("time,air_f,dew_point_f,wind_mph,rain_in", 24, 60, |_| "50,41,10,0.5".to_owned());
    let hour = weather.hours[7];
    assert!((hour.air_c - 10.0).abs() < 1e-13 && (hour.dew_point_c.unwrap() - 5.0).abs() < 1e-13);
    assert!((hour.wind_m_s.unwrap() - 4.4704).abs() < 1e-14 && (hour.rain_mm.unwrap() - 12.7).abs() < 1e-13);
    let wet = june("time,air_c,humidity_percent", 24, 60, |i| format!("{i},100"));
    assert!(wet.hours.iter().all(|hour| (hour.dew_point_c.unwrap() - hour.air_c).abs() < 1e-12));
}

#[test]
fn external_dew_point_and_wind() {
    // FAO-56, table 2.3 of annex 2, from memory: 1.228 kPa at 10 °C, 2.338 kPa at 20 °C.
    assert!((of_humidity(100.0 * 1.228 / 2.338, 20.0) - 10.0).abs() < 0.02);
    // FAO-56, example 14: 3.2 m/s at 10 m are 2.4 m/s at 2 m.
    assert!((wind_at_2_m(3.2, 10.0) - 2.4).abs() < 0.05);
    assert_eq!(wind_at_2_m(3.2, 2.0), 3.2);
    let high = Wanted { wind_height_m: 10.0, ..WANTED };
    let weather =
        read_as(&text("time,air_c,wind_m_s", date(2027, 6, 4), 24, 60, |_| "9,3.2".to_owned()), &high).unwrap();
    assert!((weather.hours[3].wind_m_s.unwrap() - 2.4).abs() < 0.05);
}

#[test]
fn what_was_not_measured_is_none() {
    let weather = june("time,air_c", 24, 60, |_| "9".to_owned());
    assert_eq!(weather.lacking(), Lacking { dew_point: 24, wind: 24, sun: 24, rain: 24 });
    let gap = june("time,air_c,sun_w_m2,rain_mm", 48, 30, |i| format!("9,{},0", if i < 3 { "" } else { "40" }));
    assert_eq!(gap.lacking(), Lacking { dew_point: 24, wind: 24, sun: 1, rain: 0 });
    assert_eq!(gap.hours[1].sun_w_m2, Some(40.0), "what was measured of an hour counts");
    assert_eq!(
        places("time,air_c,rain_mm\n2027-06-04 00:00,,\n2027-06-04 01:00,9,"),
        [(2, "air_c"), (2, "rain_mm"), (3, "rain_mm"),]
    );
}

#[test]
fn a_little_under_zero_is_no_sun() {
    let weather = june("time,air_c,sun_w_m2", 24, 60, |_| "9,-3".to_owned());
    assert_eq!(weather.hours[0].sun_w_m2, Some(0.0));
}

#[test]
fn a_record_covers_the_run() {
    let whole = |rows| text("time,air_c", date(2027, 6, 4), rows, 60, |_| "9".to_owned());
    assert!(read_as(&whole(24), &WANTED).is_ok());
    assert_eq!(
        said(&whole(23)),
        "error: june.csv: the record does not tell of 1 of the run's hours, the first from \
         2027-06-04T23:00:00; accepted is one that tells of all; add the rows, move the run into the record, or let the record repeat yearly"
    );
    let late = Wanted { first_day: date(2027, 6, 5), ..WANTED };
    assert!(read_as(&whole(48), &late).is_ok());
    assert!(read_as(&whole(24), &late).is_err());
    // An hour that is told of in part is not there.
    let cut = whole(24).replacen("T00:00:00", "T00:30:00", 1);
    assert!(said(&cut).contains("2027-06-04T00:00:00"), "{}", said(&cut));
}

#[test]
fn a_year_repeats_by_month_day_and_hour() {
    let first = date(2023, 3, 1);
    let text = text("time,air_c", first, 24 * 365, 60, |i| format!("{}", (i / 24) % 40));
    let yearly = |first_day, days| Wanted { first_day, days, repeat: Repeat::Yearly, ..WANTED };
    let weather = read_as(&text, &yearly(date(2028, 2, 27), 4)).unwrap();
    let noons: Vec<f64> = weather.hours.iter().skip(12).step_by(24).map(|hour| hour.air_c).collect();
    // 27 and 28 February are days 363 and 364; the 29th takes the 28th; 1 March is day 0.
    assert_eq!(noons, [3.0, 4.0, 4.0, 0.0]);
    assert_eq!(read_as(&text, &yearly(date(2030, 1, 1), 800)).unwrap().hours.len(), 24 * 800);
    assert_eq!(
        read_as(&text, &Wanted { days: 366, ..yearly(date(2023, 3, 1), 1) }).map(|weather| weather.hours.len()),
        Ok(24 * 366)
    );
}

#[test]
fn of_an_hour_that_is_there_twice_the_first_counts() {
    let text = text("time,air_c", date(2025, 1, 1), 24 * 365 + 1, 60, |i| format!("{}", if i < 24 { 1 } else { 2 }));
    let weather = read_as(&text, &Wanted { first_day: date(2027, 1, 1), repeat: Repeat::Yearly, ..WANTED }).unwrap();
    assert!(weather.hours.iter().all(|hour| hour.air_c == 1.0));
}

#[test]
fn too_many_days_are_refused() {
    let text = text("time,air_c", date(2027, 6, 4), 24, 60, |_| "9".to_owned());
    let errors = read_as(&text, &Wanted { days: 40_000, ..WANTED }).unwrap_err();
    assert_eq!(errors.errors[0].problem, Problem::TooManyDays { days: 40_000 });
}

#[test]
fn all_errors_are_told_in_order_of_line() {
    let text = "time,air_c,dew_point_c,wind_mph,rain_mm\n\
                2027-06-04 00:00,61,9,0,0\n\
                2027-06-04 01:00,20,23,300,x\n\
                2027-06-04 02:00,20,23,3,0\n\
                2027-06-04 02:00,20,9,3,0\n\
                2027-06-04 06:00,20,9,3,0\n\
                2027-06-04 07:00,20,9,3\n\
                2027-06-04T08:00Z,20,9,3,-1\n";
    let expected = [
        (2, "air_c"),
        (3, "wind_mph"),
        (3, "rain_mm"),
        (4, "dew_point_c"),
        (5, "time"),
        (7, "-"),
        (8, "time"),
        (8, "rain_mm"),
    ];
    assert_eq!(places(text), expected);
}

#[test]
fn three_hours_are_the_longest_interval() {
    assert!(june("time,air_c", 8, 180, |_| "9".to_owned()).hours.len() == 24);
    assert_eq!(
        said("time,air_c\n2027-06-04 00:00,9\n2027-06-04 06:00,9"),
        "error: june.csv:2, column `time`: 6.0 hours pass until the time on line 3; accepted are at most 3, since highs and \
         lows would be lost; add the rows between, or give monthly normals instead"
    );
}

#[test]
fn messages_say_what_was_found_accepted_and_to_do() {
    assert_eq!(
        said("time,air_c,humidity_percent\n2027-06-04 00:00,120,0\n2027-06-04 01:00,20,wet"),
        "error: june.csv:2, column `air_c`: `120` is out of range; accepted is a temperature in degrees Celsius, -90 to 60; \
         correct it\n\
         error: june.csv:2, column `humidity_percent`: `0` is out of range; accepted is relative humidity in per cent, 1 to \
         100; correct it\n\
         error: june.csv:3, column `humidity_percent`: `wet` is no number; accepted is relative humidity in per cent, 1 to \
         100; write digits with a decimal point and no unit"
    );
    assert_eq!(
        said("time,air_c,dew_point_c\n2027-06-04 00:00,9,20\n2027-06-04 01:00,9,9"),
        "error: june.csv:2, column `dew_point_c`: a dew point of 20.0 °C found in air of 9.0 °C; accepted is one that is at \
         most 2 °C above the air; check that the columns are not exchanged"
    );
    assert!(said("time,air_c\n2027-06-04 00:00,9").contains("one row found"));
    assert!(said("time,air_c").contains("no row found"));
}

#[test]
fn broken_headers_are_told() {
    let table = |text: &str| read_as(text, &WANTED).unwrap_err().errors.remove(0).problem;
    assert_eq!(table(""), Problem::Table(Table::Empty { headers: HEADERS }));
    let found = "2027-06-04,9".to_owned();
    assert_eq!(table("2027-06-04,9"), Problem::Table(Table::NoHeader { found, headers: HEADERS }));
    let (first, second) = ("dew_point_c", "humidity_percent");
    assert_eq!(table("time,air_c,humidity_percent,dew_point_c"), Problem::Table(Table::SameTwice { first, second }));
    assert_eq!(table("time,rain_mm"), Problem::Table(Table::ColumnMissing { headers: FORM.headers }));
    assert!(said("time,air").ends_with("write `air_c`? Its numbers must then be in degrees Celsius"));
}
