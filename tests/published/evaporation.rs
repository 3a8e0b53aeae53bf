//! What grass loses to the air in a day, against the worked examples of the paper that gives the equations and two
//! libraries.
//!
//! Examples are those of FAO Irrigation and Drainage Paper 56 (Allen et al., 1998); their values are from memory, and
//! each was worked out again from its inputs. Tolerances are half of the last digit unless said.

use springhouse_weather::Place;
use springhouse_weather::evaporation::{
    Coast, DayAir, FullAir, GRASS_ALBEDO, air_pressure_kpa, clear_sun_mj_m2, daylight_h, declination_rad, dew_point_c,
    hargreaves_mm, long_wave_loss_mj_m2, net_radiation_mj_m2, penman_monteith_mm, psychrometric_kpa_k, reference_mm,
    saturation_kpa, saturation_slope_kpa_k, sun_above_air_mj_m2, sun_by_hours_mj_m2, sun_by_temperatures_mj_m2,
    sun_kept_mj_m2, sunset_rad, vapour_of_day_kpa, wind_at_2_m,
};

use crate::table::Table;

/// Twenty random days; made by `t08_fao56.py`, libraries and seed on its first line.
const TABLE: &str = include_str!("../data/08_fao56_random.csv");

fn place(latitude_deg: f64, elevation_m: f64) -> Place {
    Place { latitude_deg, longitude_deg: 0.0, elevation_m, utc_offset_h: 0.0 }
}

/// A value with the digits that were printed.
fn printed(what: &str, found: f64, expected: f64, last_digit: f64) {
    assert!((found - expected).abs() <= 0.5 * last_digit, "{what}: {found} for {expected}");
}

#[test]
fn external_example_8() {
    // 20° south, 3 September.
    printed("declination", declination_rad(246), 0.120, 0.001);
    printed("sunset", sunset_rad(-20.0, 246), 1.527, 0.001);
    printed("sun above the air", sun_above_air_mj_m2(-20.0, 246), 32.2, 0.1);
}

#[test]
fn external_example_17() {
    // 13°44' north, 2 m, April: a month's means, with heat that goes into the ground as it warms by a degree.
    let place = place(13.0 + 44.0 / 60.0, 2.0);
    let sun_mj_m2 = sun_by_hours_mj_m2(8.5, &place, 105);
    let air = FullAir { high_c: 34.8, low_c: 25.6, dew_point_c: dew_point_c(2.85), wind_m_s: 2.0, sun_mj_m2 };
    printed("sun above the air", sun_above_air_mj_m2(place.latitude_deg, 105), 38.06, 0.01);
    printed("daylight", daylight_h(place.latitude_deg, 105), 12.31, 0.01);
    printed("sun", sun_mj_m2, 22.65, 0.01);
    printed("clear sun", clear_sun_mj_m2(&place, 105), 28.54, 0.01);
    printed("sun kept", sun_kept_mj_m2(sun_mj_m2, GRASS_ALBEDO), 17.44, 0.01);
    printed("long wave", long_wave_loss_mj_m2(34.8, 25.6, 2.85, sun_mj_m2 / 28.54), 3.11, 0.01);
    printed("net", net_radiation_mj_m2(&air, &place, 105, GRASS_ALBEDO), 14.33, 0.01);
    printed("pressure", air_pressure_kpa(2.0), 101.3, 0.1);
    printed("psychrometric constant of the rounded pressure", psychrometric_kpa_k(101.3), 0.0674, 0.0001);
    printed("slope", saturation_slope_kpa_k(30.2), 0.246, 0.001);
    printed("saturation", 0.5 * (saturation_kpa(34.8) + saturation_kpa(25.6)), 4.42, 0.01);
    printed("reference", penman_monteith_mm(&air, &place, 105, 0.14), 5.72, 0.01);
}

#[test]
fn external_example_18() {
    // 50°48' north, 100 m, 6 July: humidities of 84 and 63 %, 10 km/h of wind at 10 m, 9.25 h of sunshine.
    let place = place(50.8, 100.0);
    let wind_m_s = wind_at_2_m(10.0 / 3.6, 10.0);
    let vapour_kpa = vapour_of_day_kpa(21.5, 12.3, 0.84, 0.63);
    let sun_mj_m2 = sun_by_hours_mj_m2(9.25, &place, 187);
    let air = DayAir {
        high_c: 21.5,
        low_c: 12.3,
        dew_point_c: Some(dew_point_c(vapour_kpa)),
        wind_m_s: Some(wind_m_s),
        sun_mj_m2: Some(sun_mj_m2),
    };
    printed("wind", wind_m_s, 2.078, 0.001);
    printed("vapour", vapour_kpa, 1.409, 0.001);
    printed("sun above the air", sun_above_air_mj_m2(50.8, 187), 41.09, 0.01);
    printed("daylight", daylight_h(50.8, 187), 16.1, 0.1);
    printed("sun", sun_mj_m2, 22.07, 0.01);
    printed("clear sun", clear_sun_mj_m2(&place, 187), 30.90, 0.01);
    printed("sun kept", sun_kept_mj_m2(sun_mj_m2, GRASS_ALBEDO), 17.00, 0.01);
    printed("long wave", long_wave_loss_mj_m2(21.5, 12.3, vapour_kpa, sun_mj_m2 / 30.90), 3.71, 0.01);
    let net = air.full().map(|full| net_radiation_mj_m2(&full, &place, 187, GRASS_ALBEDO));
    printed("net", net.expect("all is given"), 13.28, 0.01);
    printed("slope", saturation_slope_kpa_k(16.9), 0.122, 0.001);
    printed("psychrometric constant", psychrometric_kpa_k(air_pressure_kpa(100.0)), 0.0666, 0.0001);
    printed("reference", reference_mm(&air, &place, 187), 3.88, 0.01);
}

#[test]
fn external_example_20() {
    // 45°43' north, 200 m, July: only temperatures are known. Dew point at the low, sun by temperatures, 2 m/s of wind.
    let place = place(45.0 + 43.0 / 60.0, 200.0);
    let sun_mj_m2 = sun_by_temperatures_mj_m2(26.6, 14.8, Coast::Inland, &place, 196);
    printed("sun above the air", sun_above_air_mj_m2(place.latitude_deg, 196), 40.55, 0.01);
    printed("sun", sun_mj_m2, 22.29, 0.01);
    let air =
        DayAir { high_c: 26.6, low_c: 14.8, dew_point_c: Some(14.8), wind_m_s: Some(2.0), sun_mj_m2: Some(sun_mj_m2) };
    printed("reference", reference_mm(&air, &place, 196), 4.56, 0.01);
    // Without any of the three it is Hargreaves's, which the example gives as 5.03.
    printed("by temperatures", hargreaves_mm(26.6, 14.8, &place, 196), 5.03, 0.01);
    for known in
        [DayAir { dew_point_c: None, ..air }, DayAir { wind_m_s: None, ..air }, DayAir { sun_mj_m2: None, ..air }]
    {
        assert_eq!(reference_mm(&known, &place, 196), hargreaves_mm(26.6, 14.8, &place, 196));
    }
}

#[test]
fn external_random_days() {
    // Nine digits in the table. The third library follows the ASCE's equation of 2005, which has 1 / 2.45 MJ/kg for
    // 0.408 kg/MJ: 4e-4 of the radiation term, and 1e-4 for other rounded constants.
    let mut rows = 0;
    for row in Table::read(TABLE).rows() {
        let place = place(row.number("lat_deg"), row.number("elev_m"));
        let day = row.text("doy").parse().expect("a day of the year");
        let air = DayAir {
            high_c: row.number("tmax_C"),
            low_c: row.number("tmin_C"),
            dew_point_c: Some(row.number("tdew_C")),
            wind_m_s: Some(row.number("u2_m_s")),
            sun_mj_m2: Some(row.number("Rs_MJ_m2_d")),
        };
        let full = air.full().expect("all is given");
        let within = |column: &str, found: f64, share: f64| {
            let expected = row.number(column);
            assert!((found / expected - 1.0).abs() < share, "case {rows}, {column}: {found} for {expected}");
        };
        within("ea_kPa", saturation_kpa(full.dew_point_c), 6e-9);
        within("Ra_own", sun_above_air_mj_m2(place.latitude_deg, day), 6e-9);
        within("Rn_own", net_radiation_mj_m2(&full, &place, day, GRASS_ALBEDO), 6e-9);
        let found = reference_mm(&air, &place, day);
        within("eto_own", found, 6e-9);
        within("eto_pyet", found, 6e-9);
        within("eto_refet_asce", found, 5e-4);
        rows += 1;
    }
    assert_eq!(rows, 20);
}
