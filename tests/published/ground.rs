//! How cold the water is that comes out of the ground, against what was published of it and by hand.

use springhouse_weather::ground::{AirOfYear, COLDEST_WATER_C, town_water_c, well_water_c};

fn celsius(fahrenheit: f64) -> f64 {
    (fahrenheit - 32.0) / 1.8
}

/// A town by its mean and range in °F.
fn town(mean_f: f64, range_f: f64) -> AirOfYear {
    AirOfYear { mean_c: celsius(mean_f), range_k: range_f / 1.8, southern: false }
}

fn year(air: &AirOfYear) -> Vec<f64> {
    (1..=365).map(|day| town_water_c(air, day)).collect()
}

#[test]
fn external_well_is_one_to_two_degrees_above_the_air() {
    // Collins, U.S. Geological Survey Water-Supply Paper 520-F (1925): 1 to 2 °C above the mean of the air. Value from
    // memory.
    for mean_c in [0.0, 4.0, 10.0, 25.0] {
        assert!((1.0..=2.0).contains(&(well_water_c(mean_c) - mean_c)), "{mean_c}");
    }
    assert_eq!(well_water_c(-10.0), COLDEST_WATER_C);
}

#[test]
fn external_mean_and_swing_of_town_water() {
    // Abstract of Burch and Christensen (2007): on average about 6 °F above the air, swings by about 0.4 of the air's.
    // The sine's 365.1 days and whole days leave 1e-2 °F of the mean; the crest is between days, 4e-5 of the swing.
    let found = year(&town(44.0, 50.0));
    let mean_c = found.iter().sum::<f64>() / 365.0;
    assert!((mean_c - celsius(50.0)).abs() < 6e-3, "{mean_c}");
    let half_swing =
        0.5 * (found.iter().fold(f64::MIN, |a, b| a.max(*b)) - found.iter().fold(f64::MAX, |a, b| a.min(*b)));
    assert!((half_swing * 1.8 / (0.4 * 25.0) - 1.0).abs() < 4e-5, "{half_swing}");
}

#[test]
fn exact_town_water_by_hand() {
    // Mean 44 °F, range 50 °F: coldest on day 15 + 35, at 50 - 0.4 · 25 = 40 °F.
    assert!((town_water_c(&town(44.0, 50.0), 50) - celsius(40.0)).abs() < 1e-12);
    // Mean 54 °F, range 40 °F: the swing is 0.5 · 20 = 10 °F, coldest on day 15 + 25 at 50 °F; 91 days on the angle is
    // 0.986 · 91 - 90 = -0.274°, its sine -0.004782: 59.952 °F. 183 days on it is 90.438°, 69.9997 °F.
    let air = town(54.0, 40.0);
    assert!((town_water_c(&air, 40) - celsius(50.0)).abs() < 1e-12);
    assert!((town_water_c(&air, 131) - celsius(59.952)).abs() < 3e-4);
    assert!((town_water_c(&air, 223) - celsius(69.999_7)).abs() < 3e-5);
}

#[test]
fn exact_southern_year_is_shifted_by_half() {
    // 182.5 days: the mean of the northern neighbours, but for the curve within half a day, 4e-5 of the swing.
    let north = town(54.0, 40.0);
    let south = AirOfYear { southern: true, ..north };
    let between = 0.5 * (town_water_c(&north, 222) + town_water_c(&north, 223));
    assert!((town_water_c(&south, 40) - between).abs() < 4e-5 * 5.6, "{between}");
    assert!(town_water_c(&south, 40) > town_water_c(&south, 222) + 11.0, "warmest in the southern summer");
}

#[test]
fn exact_town_water_does_not_freeze() {
    let cold = year(&town(30.0, 80.0));
    assert!(cold.iter().all(|water_c| *water_c >= COLDEST_WATER_C) && cold.contains(&COLDEST_WATER_C));
    let coldest = year(&town(-20.0, 60.0));
    assert!(coldest.iter().all(|water_c| *water_c == COLDEST_WATER_C));
}
