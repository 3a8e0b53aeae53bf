//! Where the sun stands and what a clear sky lets through, against an algorithm good to 0.0003° and worked examples.

use jiff::civil::{Date, date};
use springhouse_core::pressure_tank::standard_atmosphere_kpa;
use springhouse_core::solar::SOLAR_CONSTANT_W_M2;
use springhouse_weather::Place;
use springhouse_weather::evaporation::{daylight_h, declination_rad, sun_above_air_mj_m2, sunset_rad};
use springhouse_weather::sky::clear_sky_w_m2;
use springhouse_weather::sun::{Sun, extra_radiation_w_m2};

use crate::table::{Row, Table};

/// Four places on four days, every hour; made by `t09_solar.py`, library and functions on its first line.
const TABLE: &str = include_str!("../data/09_solar_hourly.csv");

/// One row of the table.
struct Hour<'t> {
    row: Row<'t>,
    place: Place,
    /// From J2000.0.
    days: f64,
    sun: Sun,
}

fn each(mut check: impl FnMut(&Hour)) {
    let mut rows = 0;
    for row in Table::read(TABLE).rows() {
        let place = Place {
            latitude_deg: row.number("lat"),
            longitude_deg: row.number("lon"),
            elevation_m: row.number("alt_m"),
            utc_offset_h: row.number("tz_h"),
        };
        let day: Date = row.text("date").parse().expect("a date");
        let (hours, minutes) = row.text("local_std_time").split_once(':').expect("a time");
        let hours = hours.parse::<f64>().expect("hours") + minutes.parse::<f64>().expect("minutes") / 60.0;
        let days = place.midnight_j2000(day) + hours / 24.0;
        let sun = Sun::at(&place, days);
        check(&Hour { row, place, days, sun });
        rows += 1;
    }
    assert_eq!(rows, 384, "four places, four days, 24 hours");
}

fn label(hour: &Hour) -> String {
    ["site", "date", "local_std_time"].map(|column| hour.row.text(column)).join(" ")
}

#[test]
fn external_position_of_the_sun() {
    // The almanac's formula is good to 0.01° along the ecliptic, parallax is 0.0024°: 0.02° in all. A turn of the
    // azimuth by one degree moves the sun by sin z degrees.
    each(|hour| {
        let zenith_deg = hour.row.number("zenith_true");
        let off_deg = hour.sun.zenith_deg - zenith_deg;
        assert!(off_deg.abs() < 0.02, "{}: zenith {}, off by {off_deg}", label(hour), hour.sun.zenith_deg);
        let turned_deg = (hour.sun.azimuth_deg - hour.row.number("azimuth") + 540.0) % 360.0 - 180.0;
        let across_deg = turned_deg * zenith_deg.to_radians().sin();
        assert!(across_deg.abs() < 0.02, "{}: azimuth {}, off by {turned_deg}", label(hour), hour.sun.azimuth_deg);
    });
}

#[test]
fn external_formula_of_the_almanac() {
    // The same formula with angles taken apart. There days are counted from the year -4713, to half of 4.7e-10: 8e-8°
    // of sidereal time. Nine digits in the table are 5e-8°.
    each(|hour| {
        let off_deg = 90.0 - hour.sun.zenith_deg - hour.row.number("elev_almanac");
        assert!(off_deg.abs() < 1.5e-7, "{}: off by {off_deg:e}", label(hour));
    });
}

#[test]
fn external_refraction() {
    // Sæmundsson's formula worked out elsewhere, at 12 °C. Its standard atmosphere has other digits: 1e-5 of at most 0.6°.
    let mut low = 0;
    each(|hour| {
        let zenith_deg = hour.row.number("zenith_true");
        let seen =
            Sun { zenith_deg, ..hour.sun }.apparent_zenith_deg(standard_atmosphere_kpa(hour.place.elevation_m), 12.0);
        let expected_deg = hour.row.number("zenith_apparent");
        assert!((seen - expected_deg).abs() < 6e-6, "{}: {seen} for {expected_deg}", label(hour));
        low += u32::from((zenith_deg - expected_deg) > 0.1);
    });
    assert!(low >= 26, "{low} rows with the sun near the horizon");
}

#[test]
fn external_example_of_the_exact_algorithm() {
    // I. Reda and A. Andreas, Solar position algorithm for solar radiation applications, NREL/TP-560-34302 (2008),
    // table A5.1: 17 October 2003, 12:30:30, 7 h west of Greenwich, 820 mbar, 11 °C: zenith 50.11162°, azimuth
    // 194.34024°. Values from memory. 0.01° of the formula and 0.0024° of parallax.
    let place =
        Place { latitude_deg: 39.742_476, longitude_deg: -105.178_6, elevation_m: 1_830.14, utc_offset_h: -7.0 };
    let midnight = place.midnight_j2000(date(2003, 10, 17));
    let sun = Sun::at(&place, midnight + (12.5 + 30.0 / 3_600.0) / 24.0);
    let seen_deg = sun.apparent_zenith_deg(82.0, 11.0);
    assert!((seen_deg - 50.111_62).abs() < 0.012_4, "{seen_deg}");
    let across_deg = (sun.azimuth_deg - 194.340_24) * 50.111_62_f64.to_radians().sin();
    assert!(across_deg.abs() < 0.012_4, "{}", sun.azimuth_deg);
}

#[test]
fn external_declination_of_an_older_year() {
    // J. Meeus, Astronomical algorithms, example 25.a: 13 October 1992, 0 h: declination -7.78507°. Value from memory.
    // Seen from the pole the sun is as far under the horizon.
    let pole = Place { latitude_deg: 90.0, longitude_deg: 0.0, elevation_m: 0.0, utc_offset_h: 0.0 };
    let sun = Sun::at(&pole, pole.midnight_j2000(date(1992, 10, 13)));
    assert!((sun.zenith_deg - 97.785_07).abs() < 0.01, "{}", sun.zenith_deg);
}

#[test]
fn external_angles_of_worked_examples() {
    // J. A. Duffie and W. A. Beckman, Solar engineering of thermal processes, 4th edition, example 1.6.2a: latitude
    // 43°, declination -14°, half past nine: zenith 66.5°, azimuth 40.0° east of south. Values from memory, worked out
    // again. Half of the last digit; the azimuth goes on there from the rounded zenith, which turns it by 0.09°.
    let sun = Sun::at_angles(43.0, -14.0, -37.5);
    assert!((sun.zenith_deg - 66.5).abs() < 0.05, "{sun:?}");
    assert!((sun.azimuth_deg - 140.0).abs() < 0.14, "{sun:?}");
    // Example 1.6.1, an hour later: 35.0° to the normal of a plane 45° steep that faces 15° west of south. Value from
    // memory; its cosine is carried with three digits there and comes out as 35.2° when it is not rounded: 0.25°.
    let sun = Sun::at_angles(43.0, -14.0, -22.5);
    let (zenith, turned) = (sun.zenith_deg.to_radians(), (sun.azimuth_deg - 195.0).to_radians());
    let half = std::f64::consts::FRAC_1_SQRT_2;
    let incidence_deg = (half * (zenith.cos() + zenith.sin() * turned.cos())).acos().to_degrees();
    assert!((incidence_deg - 35.0).abs() < 0.25, "{incidence_deg}");
    // D. Y. Goswami, F. Kreith and J. F. Kreider, Principles of solar engineering: 40° north, 15 June, two hours after
    // noon: declination 23.35°, altitude 59.75°.
    let sun = Sun::at_angles(40.0, 23.35, 30.0);
    assert!((90.0 - sun.zenith_deg - 59.75).abs() < 0.005, "{sun:?}");
}

#[test]
fn external_day_length_and_sun_above_the_air() {
    // The same example of Goswami: 14.83 h from sunrise to sunset. Half of the last digit. Declination by another
    // formula: 0.1°.
    assert!((daylight_h(40.0, 166) - 14.83).abs() < 0.005, "{}", daylight_h(40.0, 166));
    assert!((declination_rad(166).to_degrees() - 23.35).abs() < 0.1);
    // Duffie and Beckman, example 1.10.1: 43° north, 15 April: sunset at 98.9°, 33.8 MJ/m² above the air. Values from
    // memory, worked out again. Declination by another formula as above; half of the last digit.
    assert!((sunset_rad(43.0, 105).to_degrees() - 98.9).abs() < 0.1, "{}", sunset_rad(43.0, 105).to_degrees());
    assert!((sun_above_air_mj_m2(43.0, 105) - 33.8).abs() < 0.05, "{}", sun_above_air_mj_m2(43.0, 105));
}

#[test]
fn external_radiation_above_the_air() {
    // 2025: nearest on 4 January at 0.98333 astronomical units, farthest on 3 July at 1.01664. Values from memory. The
    // formula has five digits, and leaves out the moon's pull (3e-5) and the planets'.
    let place = Place { latitude_deg: 0.0, longitude_deg: 0.0, elevation_m: 0.0, utc_offset_h: 0.0 };
    for (month, day, distance) in [(1, 4, 0.983_33), (7, 3, 1.016_64)] {
        let noon = place.midnight_j2000(date(2025, month, day)) + 0.5;
        let found = (SOLAR_CONSTANT_W_M2 / extra_radiation_w_m2(noon)).sqrt();
        assert!((found - distance).abs() < 1e-4, "{found} for {distance}");
    }
    // The table has Spencer's series of 1971 and 1366.1 W/m². Its first coefficient, 0.034221, is 8e-4 more than twice
    // the orbit's eccentricity, 0.03342; a day's steps are 3e-4 at the most.
    each(|hour| {
        let share = extra_radiation_w_m2(hour.days) / SOLAR_CONSTANT_W_M2 / (hour.row.number("dni_extra") / 1_366.1);
        assert!((share - 1.0).abs() < 1.1e-3, "{}: {share}", label(hour));
    });
}

#[test]
fn external_clear_sky() {
    // The table's library has 0.059 where ours is 0.057: exp(0.002 / cos z), 0.2 % overhead. Nine digits, divided by
    // the cosine in the exponent where the sun is low.
    let mut sunny = 0;
    each(|hour| {
        let zenith_deg = hour.row.number("zenith_apparent");
        let cosine = zenith_deg.to_radians().cos();
        let found = clear_sky_w_m2(zenith_deg);
        let expected = if cosine > 0.0 { hour.row.number("ghi_haurwitz") * (0.002 / cosine).exp() } else { 0.0 };
        let tolerance = expected * (1e-8 + 1e-8 * 0.057 / (cosine * cosine));
        assert!((found - expected).abs() <= tolerance, "{}: {found} for {expected}", label(hour));
        sunny += u32::from(found > 100.0);
    });
    assert!(sunny >= 172, "{sunny} rows with the sun up");
    // By hand, with 0.057: whole watts.
    for (zenith_deg, expected) in [(0.0, 1_037.0), (30.0, 890.0), (60.0, 490.0), (75.0, 228.0)] {
        assert!((clear_sky_w_m2(zenith_deg) - expected).abs() < 0.5, "{}", clear_sky_w_m2(zenith_deg));
    }
    assert_eq!(clear_sky_w_m2(90.1), 0.0);
}
