//! Properties of records of weather, on random ones.

use std::fmt::Write;

use jiff::civil::date;
use proptest::collection::vec;
use proptest::prelude::*;
use springhouse_weather::{Repeat, Wanted, read_weather};

const WANTED: Wanted = Wanted { first_day: date(2027, 3, 1), days: 2, repeat: Repeat::No, wind_height_m: 2.0 };

proptest! {
    /// Whatever the intervals, no rain and no warmth is lost: sums over the run are those of the rows.
    #[test]
    fn exact_sums_are_kept(cuts in vec((1..5_400_i32, -40.0..50.0_f64, 0.0..20.0_f64), 80..200)) {
        let midnight = WANTED.first_day.to_datetime(jiff::civil::Time::midnight());
        let day_s = 86_400;
        let mut text = "time,air_c,rain_mm\n".to_owned();
        let (mut now, mut warmth, mut rain) = (0, 0.0, 0.0);
        for (i, (length, air_c, rain_mm)) in cuts.iter().cycle().enumerate() {
            // A row on each midnight that ends the run, so that no interval reaches over it.
            let end = if now < 2 * day_s { (now + length).min(2 * day_s) } else { now + 1 };
            writeln!(text, "{},{air_c},{rain_mm}", midnight + jiff::SignedDuration::from_secs(i64::from(now))).unwrap();
            if now < 2 * day_s {
                warmth += air_c * f64::from(end - now);
                rain += rain_mm;
            } else if i > 0 {
                break;
            }
            now = end;
        }
        let weather = read_weather(text.as_bytes(), "any.csv", &WANTED).unwrap().weather;
        prop_assert_eq!(weather.hours.len(), 48);
        let found: f64 = weather.hours.iter().map(|hour| hour.air_c * 3_600.0).sum();
        prop_assert!((found - warmth).abs() < 1e-6, "{} for {}", found, warmth);
        let found: f64 = weather.rain().iter().map(|step| step.depth_mm).sum();
        prop_assert!((found - rain).abs() < 1e-9, "{} for {}", found, rain);
    }

    /// No text, however odd, does more than give hours or errors.
    #[test]
    fn any_text_is_read_or_refused(
        text in "\u{feff}?(time,air_c\r?\n|7,\"A\",B,1,40,9,3\nDate (MM/DD/YYYY),Time (HH:MM)(,GHI \\(W/m\\^2\\))?\n)?\
                 ([-0-9T:., \"#/\r\na-z]|2027-03-0[1-3]( [0-2][0-9]:00)?,[0-9]{1,3}\r?\n|0[1-9]/01/1997,0[0-9]:00,1\n){0,60}",
    ) {
        for repeat in [Repeat::No, Repeat::Yearly] {
            match read_weather(text.as_bytes(), "any.csv", &Wanted { repeat, ..WANTED }) {
                Ok(reading) => prop_assert_eq!(reading.weather.hours.len(), 48),
                Err(errors) => prop_assert!(!errors.errors.is_empty() && errors.to_string().contains("any.csv")),
            }
        }
    }
}
