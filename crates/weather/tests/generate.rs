//! Weather by chance against the normals it is made of, over hundreds of years, and what must hold of any.

#![expect(clippy::cast_precision_loss, reason = "numbers of days and years, far fewer than 2^53")]
#![expect(clippy::unwrap_used, reason = "helpers of tests are tests")]

use jiff::ToSpan;
use jiff::civil::{Date, date};
use proptest::prelude::*;
use springhouse_weather::{Day, Hour, Month, Normals, Spread, Weather, generate};

const YEARS: i16 = 300;
const LATITUDE_DEG: f64 = 44.0;

/// An invented place with cold winters and a wet autumn.
fn seasons() -> Normals {
    let months = [
        // High, low, rain, wet days, dew point, wind, sun.
        (1.0, -8.0, 70.0, 11.0, -9.0, 4.0, 6.1),
        (3.0, -7.0, 60.0, 9.5, -8.0, 4.2, 9.3),
        (8.0, -2.0, 75.0, 11.0, -4.0, 4.3, 13.0),
        (15.0, 4.0, 85.0, 11.5, 2.0, 4.0, 16.6),
        (21.0, 10.0, 90.0, 12.0, 8.0, 3.3, 19.9),
        (26.0, 15.0, 100.0, 10.5, 13.0, 2.9, 21.8),
        (29.0, 18.0, 95.0, 9.0, 16.0, 2.6, 21.7),
        (28.0, 17.0, 90.0, 8.5, 16.0, 2.5, 18.9),
        (23.0, 12.0, 110.0, 9.0, 11.0, 2.8, 14.6),
        (16.0, 6.0, 130.0, 14.0, 5.0, 3.2, 10.1),
        (9.0, 0.0, 120.0, 15.0, -1.0, 3.8, 6.4),
        (3.0, -5.0, 85.0, 12.5, -6.0, 3.9, 5.0),
    ];
    Normals {
        months: months.map(|(high_c, low_c, rain_mm, wet_days, dew_point_c, wind_m_s, sun_mj)| Month {
            high_c,
            low_c,
            rain_mm,
            wet_days,
            dew_point_c: Some(dew_point_c),
            wind_m_s: Some(wind_m_s),
            sun_mj_m2_day: Some(sun_mj),
        }),
    }
}

/// Days of each month, over four years.
const MONTH_DAYS: [f64; 12] = [31.0, 28.25, 31.0, 30.0, 31.0, 30.0, 31.0, 31.0, 30.0, 31.0, 30.0, 31.0];

/// A place that is the same all year.
fn steady() -> Normals {
    let month = Month {
        high_c: 22.0,
        low_c: 12.0,
        rain_mm: 80.0,
        wet_days: 9.0,
        dew_point_c: None,
        wind_m_s: None,
        sun_mj_m2_day: None,
    };
    let mut normals = Normals { months: [month; 12] };
    for (month, days) in normals.months.iter_mut().zip(MONTH_DAYS) {
        month.wet_days = 0.3 * days;
        month.rain_mm = 2.4 * days;
    }
    normals
}

/// A year's days from a date, with their dates.
fn year(normals: &Normals, spread: &Spread, first: Date) -> Vec<(Date, Day)> {
    let days = (first.saturating_add(1.year()) - first).get_days().unsigned_abs();
    let weather = generate(normals, spread, LATITUDE_DEG, first, days, 7, 1).unwrap();
    weather.days().map(|day| (first.saturating_add(day.day.days()), day)).collect()
}

/// Mean, and its standard error.
fn mean(values: &[f64]) -> (f64, f64) {
    let n = values.len() as f64;
    let mean = values.iter().sum::<f64>() / n;
    let variance = values.iter().map(|value| (value - mean) * (value - mean)).sum::<f64>() / (n - 1.0);
    (mean, (variance / n).sqrt())
}

/// Standard errors by which the mean of a month may be off: of 84 means one in 150 000 lies beyond by chance.
const ERRORS: f64 = 4.5;

#[test]
fn exact_means_of_months_come_back() {
    let normals = seasons();
    let spread = Spread { year_cv: 0.2, ..Spread::default() };
    // Of each month and quantity, one value a year.
    let mut found = vec![vec![Vec::new(); 7]; 12];
    let mut years = Vec::new();
    for calendar in 2001..2001 + YEARS {
        let days = year(&normals, &spread, date(calendar, 1, 1));
        years.push(days.iter().map(|(_, day)| day.rain_mm.unwrap()).sum::<f64>());
        for month in 1..=12_i8 {
            let of_month: Vec<Day> =
                days.iter().filter(|(date, _)| date.month() == month).map(|(_, day)| *day).collect();
            let n = of_month.len() as f64;
            let sum = |of: fn(&Day) -> f64| of_month.iter().map(of).sum::<f64>();
            // Rain counts by the day, so that leap years do no harm.
            let values = [
                sum(|day| day.high_c) / n,
                sum(|day| day.low_c) / n,
                sum(|day| day.rain_mm.unwrap()) / n,
                sum(|day| f64::from(u8::from(day.rain_mm > Some(0.0)))) / n,
                sum(|day| day.wind_m_s.unwrap()) / n,
                sum(|day| day.sun_mj_m2.unwrap()) / n,
                sum(|day| day.dew_point_c.unwrap()) / n,
            ];
            for (all, value) in found[usize::from(month.unsigned_abs()) - 1].iter_mut().zip(values) {
                all.push(value);
            }
        }
    }
    let (rain_mm, error) = mean(&years);
    assert!((rain_mm - 1_110.0).abs() < 3.0 * error && error < 20.0, "{rain_mm} mm a year, {error}");
    for ((i, values), days) in found.iter().enumerate().zip(MONTH_DAYS) {
        let month = &normals.months[i];
        let before = &normals.months[(i + 11) % 12];
        // What a month's first days keep of the month before: a third of the step in the part of wet days, once.
        let kept = (before.wet_days / MONTH_DAYS[(i + 11) % 12] - month.wet_days / days).abs() / 3.0 / days;
        let wanted = [
            ("high", month.high_c, 0.0),
            ("low", month.low_c, 0.0),
            ("rain", month.rain_mm / days, kept * month.rain_mm / month.wet_days),
            ("wet", month.wet_days / days, kept),
            ("wind", month.wind_m_s.unwrap(), 0.0),
            ("sun", month.sun_mj_m2_day.unwrap(), kept * month.sun_mj_m2_day.unwrap()),
            ("dew point", month.dew_point_c.unwrap(), 0.0),
        ];
        for ((what, wanted, slack), values) in wanted.into_iter().zip(values) {
            let (found, error) = mean(values);
            assert!((found - wanted).abs() < ERRORS * error + slack, "month {} {what}: {found} for {wanted}", i + 1);
        }
    }
}

#[test]
fn exact_spread_of_years() {
    // Of n days with a part f wet, in a chain of persistence d, and rain of a wet day with variation c:
    // cv² = (c² + (1 - f) (1 + d) / (1 - d)) / (n f); c² = Gamma(11/3) / Gamma(7/3)² - 1 for a Weibull shape of 3/4.
    let c2 = libm::tgamma(11.0 / 3.0) / (libm::tgamma(7.0 / 3.0) * libm::tgamma(7.0 / 3.0)) - 1.0;
    let chain = (c2 + 0.7 * 1.25 / 0.75) / (365.25 * 0.3);
    for year_cv in [0.0, 0.1, 0.3] {
        let spread = Spread { year_cv, ..Spread::default() };
        // From October, as the factor goes: rain and number of wet days.
        let years = (2001..2001 + YEARS).map(|calendar| {
            let days = year(&steady(), &spread, date(calendar, 10, 1));
            let wet = days.iter().filter(|(_, day)| day.rain_mm > Some(0.0)).count();
            (days.iter().map(|(_, day)| day.rain_mm.unwrap()).sum::<f64>(), wet as f64)
        });
        let (mut sums, counts): (Vec<f64>, Vec<f64>) = years.unzip();
        // Four standard errors of a variance of so many values; squares of lognormal ones stray somewhat more.
        let near = |values: &[f64], wanted: f64| {
            let (mean, error) = mean(values);
            let found = error * error * f64::from(YEARS) / (mean * mean);
            println!("variation {year_cv}: found {:.3} for {:.3}", found.sqrt(), wanted.sqrt());
            assert!((found / wanted - 1.0).abs() < 4.0 * (2.0 / f64::from(YEARS)).sqrt(), "{found} for {wanted}");
        };
        near(&sums, chain * (1.0 + year_cv * year_cv) + year_cv * year_cv);
        // Half of the factor is in how often it rains.
        near(&counts, 0.7 * 1.25 / 0.75 / (365.25 * 0.3) + 0.25 * year_cv * year_cv);
        sums.sort_by(f64::total_cmp);
        println!("driest tenth, middle, wettest tenth: {:.0?} mm", [30, 150, 270].map(|i: usize| sums[i]));
    }
}

#[test]
fn exact_temperature_remembers_the_day_before() {
    let first = date(2001, 1, 1);
    for persistence in [0.0, 0.65] {
        let spread = Spread { air_persistence: persistence, ..Spread::default() };
        let weather = generate(&steady(), &spread, LATITUDE_DEG, first, 20_000, 7, 1).unwrap();
        let strays: Vec<f64> = weather.days().map(|day| 0.5 * (day.high_c + day.low_c) - 17.0).collect();
        let n = strays.len() as f64;
        let square = strays.iter().map(|k| k * k).sum::<f64>() / n;
        let next = strays.windows(2).map(|pair| pair[0] * pair[1]).sum::<f64>() / n / square;
        assert!((next - persistence).abs() < 4.0 / n.sqrt(), "{next} for {persistence}");
        assert!((square.sqrt() / 3.5 - 1.0).abs() < 0.05, "deviation {}", square.sqrt());
    }
}

#[test]
fn dry_days_are_brighter_and_wider() {
    let days = year(&seasons(), &Spread::default(), date(2027, 1, 1));
    let of = |wet: bool, part: fn(&Day) -> f64| {
        let all: Vec<f64> = days
            .iter()
            .filter(|(date, day)| date.month() == 6 && (day.rain_mm > Some(0.0)) == wet)
            .map(|(_, day)| part(day))
            .collect();
        mean(&all).0
    };
    assert!(of(true, |day| day.sun_mj_m2.unwrap()) < 0.7 * of(false, |day| day.sun_mj_m2.unwrap()));
    assert!(of(true, |day| day.high_c - day.low_c) < 0.9 * of(false, |day| day.high_c - day.low_c));
    // Of the dry days the brightest are the widest.
    let mut dry: Vec<Day> =
        days.iter().filter(|(date, day)| date.month() == 6 && day.rain_mm == Some(0.0)).map(|d| d.1).collect();
    dry.sort_by(|a, b| a.sun_mj_m2.unwrap().total_cmp(&b.sun_mj_m2.unwrap()));
    let (dark, bright) = dry.split_at(dry.len() / 2);
    let range = |days: &[Day]| mean(&days.iter().map(|day| day.high_c - day.low_c).collect::<Vec<_>>()).0;
    assert!(range(bright) > 1.2 * range(dark));
}

fn bits(hours: &[Hour]) -> Vec<[Option<u64>; 5]> {
    let of = |hour: &Hour| {
        [Some(hour.air_c), hour.dew_point_c, hour.wind_m_s, hour.sun_w_m2, hour.rain_mm]
            .map(|part| part.map(f64::to_bits))
    };
    hours.iter().map(of).collect()
}

fn made(first: Date, days: u32, seed: u64, run: u64) -> Weather {
    generate(&seasons(), &Spread::default(), LATITUDE_DEG, first, days, seed, run).unwrap()
}

#[test]
fn seeds_and_runs_differ() {
    let first = date(2027, 6, 1);
    let all = [(1, 1), (2, 1), (1, 2)].map(|(seed, run)| bits(&made(first, 30, seed, run).hours));
    assert!(all[0] != all[1] && all[0] != all[2] && all[1] != all[2]);
    assert_eq!(all[0], bits(&made(first, 30, 1, 1).hours));
}

/// Other bits would be other weather under every seed.
#[test]
fn regress_bits_of_a_year() {
    let weather = made(date(2027, 1, 1), 365, 1, 1);
    // FNV-1a.
    let words = bits(&weather.hours).into_iter().flatten().flatten();
    let hash = words
        .flat_map(u64::to_le_bytes)
        .fold(0xcbf2_9ce4_8422_2325_u64, |hash, byte| (hash ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3));
    assert_eq!(hash, 3_779_047_772_210_993_603);
}

#[test]
fn faults_are_told() {
    let mut normals = seasons();
    normals.months[0].wind_m_s = None;
    assert_eq!(generate(&normals, &Spread::default(), 0.0, date(2027, 1, 1), 40_000, 1, 1).unwrap_err().len(), 2);
}

fn normals() -> impl Strategy<Value = Normals> {
    let month = (-40.0..45.0_f64, 0.0..25.0_f64, 0.0..500.0_f64, 0.1..28.0_f64, 0.0..30.0_f64, 0.0..15.0_f64);
    (proptest::collection::vec(month, 12), any::<bool>()).prop_map(|(months, all)| {
        let month = |i: usize| {
            let (high_c, range_k, rain_mm, wet_days, dew_k, wind_m_s) = months[i];
            Month {
                high_c,
                low_c: (high_c - range_k).max(-60.0),
                rain_mm: rain_mm + 0.1,
                wet_days,
                dew_point_c: all.then_some((high_c - dew_k).clamp(-70.0, 40.0)),
                wind_m_s: all.then_some(wind_m_s),
                sun_mj_m2_day: None,
            }
        };
        Normals { months: core::array::from_fn(month) }
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(60))]

    /// The weather of a date is the same whatever day the run begins with, to the bit.
    #[test]
    fn exact_dates_do_not_mind_the_first_day(
        normals in normals(), late in 0..500_u32, days in 1..60_u32, latitude_deg in -90.0..=90.0_f64, seed in any::<u64>(),
    ) {
        let first = date(2027, 6, 1);
        let made = |first, days| generate(&normals, &Spread::default(), latitude_deg, first, days, seed, 3).unwrap().hours;
        let whole = bits(&made(first, late + days + 5));
        let part = bits(&made(first.saturating_add(i64::from(late).days()), days));
        let from = 24 * late as usize;
        prop_assert_eq!(&part[..], &whole[from..from + part.len()]);
    }

    #[test]
    fn any_weather_is_possible(
        normals in normals(), month in 1..=12_i8, latitude_deg in -90.0..=90.0_f64, seed in any::<u64>(),
        wet_persistence in 0.0..=0.9_f64, air_persistence in 0.0..=0.9_f64, year_cv in 0.0..=1.0_f64,
    ) {
        let spread = Spread { wet_persistence, air_persistence, year_cv, ..Spread::default() };
        let weather = generate(&normals, &spread, latitude_deg, date(2027, month, 20), 30, seed, 3).unwrap();
        prop_assert_eq!(weather.hours.len(), 30 * 24);
        for hour in &weather.hours {
            let wind = hour.wind_m_s.unwrap_or(0.0);
            let (sun, rain) = (hour.sun_w_m2.unwrap(), hour.rain_mm.unwrap());
            prop_assert!(hour.air_c.is_finite() && wind.is_finite() && rain.is_finite(), "{:?}", hour);
            prop_assert!(wind >= 0.0 && rain >= 0.0 && (0.0..1_420.0).contains(&sun), "{:?}", hour);
            prop_assert!(hour.dew_point_c.is_none_or(|dew_point_c| dew_point_c <= hour.air_c), "{:?}", hour);
        }
        for day in weather.days() {
            prop_assert!(day.low_c <= day.high_c);
        }
    }
}
