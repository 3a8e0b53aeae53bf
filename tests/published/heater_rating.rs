//! Heaters on the US federal test, against plates and what programmes publish.
//!
//! Procedure and conditions: 10 CFR 430, Subpart B, Appendix E, read; its tables of draws and equations from memory.

use springhouse_core::heater::control::{Controls, Mode};
use springhouse_core::heater::heat_pump::HeatPump;
use springhouse_core::heater::rating::{
    RatingError, day_test, first_hour_l, usable_l, with_energy_factor, with_first_hour,
};
use springhouse_core::heater::tank::Tank;
use springhouse_core::heater::usage::{GALLON_L, Usage};
use springhouse_core::heater::{Burner, Elements, Heater, Source};

const ELECTRIC: Source = Source::Electric(Elements::TYPICAL);
pub(super) const HYBRID: Source = Source::HeatPump(HeatPump::TYPICAL, Elements::TYPICAL);
/// 40,000 BTU an hour with a standing pilot (common practice, no source).
const GAS: Source =
    Source::Fuel(Burner { input_w: 11_720.0, efficiency: 0.78, pilot_w: 120.0, flue_loss_w_k: 3.0, electric_w: 0.0 });

/// A heater of defaults that holds so many gallons.
pub(super) fn heater(gallons: f64, source: Source) -> Heater {
    let tank = Tank {
        volume_l: gallons * GALLON_L,
        height_m: 1.2,
        loss_w_k: 2.0,
        inlet_mixing: Tank::INLET_MIXING,
        diffusivity_m2_s: Tank::WATER_M2_S,
    };
    Heater { tank, source, controls: Controls::TYPICAL }
}

#[test]
fn external_days_of_the_test() {
    // Gallons a day: 55 is corroborated by the year's energy below, the rest from memory. Heat over 67 °F at 8.24 lb/gal
    // and 1 BTU/(lb °F) (from memory); ours at 50 °C is 0.11 % less.
    let days = [(Usage::VerySmall, 10.0, 1.618), (Usage::Low, 38.0, 6.148)];
    for (usage, gallons, kwh) in days.into_iter().chain([(Usage::Medium, 55.0, 8.899), (Usage::High, 84.0, 13.591)]) {
        assert!((usage.day_l() / GALLON_L - gallons).abs() < 1e-12, "{usage:?}");
        let day = day_test(&heater(45.0, ELECTRIC), Mode::Hybrid, usage);
        let found_kwh = day.year_kwh * day.uef / 365.0;
        assert!((found_kwh / kwh - 1.0).abs() < 2e-3, "{usage:?}: {found_kwh} kWh for {kwh}");
    }
    // Bounds: less than 18, 18 to 50.9, 51 to 74.9, 75 and over (16 CFR 305, Appendix D3).
    let of = |gallons: f64| Usage::of_first_hour(gallons * GALLON_L);
    assert_eq!([of(17.9), of(18.1), of(50.9), of(51.1)], [Usage::VerySmall, Usage::Low, Usage::Low, Usage::Medium]);
    assert_eq!([of(74.9), of(75.1)], [Usage::Medium, Usage::High]);
}

#[test]
fn exact_energy_factor_comes_back() {
    let uef = |heater: &Heater, usage| day_test(heater, Mode::Hybrid, usage).uef;
    for (gallons, source, usage, wanted) in [
        (45.0, HYBRID, Usage::Medium, 2.2),
        (45.0, HYBRID, Usage::Medium, 3.3),
        (72.0, HYBRID, Usage::High, 3.8),
        (45.0, ELECTRIC, Usage::Medium, 0.93),
        (38.0, GAS, Usage::Medium, 0.60),
    ] {
        let found = with_energy_factor(&heater(gallons, source), Mode::Hybrid, usage, wanted).expect("in reach");
        assert!((uef(&found, usage) / wanted - 1.0).abs() < 1e-3, "{gallons} gal, {wanted}: {found:?}");
    }
    for tenths in 20..45 {
        let (wanted, heater) = (0.1 * f64::from(tenths), heater(60.0, HYBRID));
        let found = with_energy_factor(&heater, Mode::Hybrid, Usage::Medium, wanted).expect("in reach");
        assert!((uef(&found, Usage::Medium) / wanted - 1.0).abs() < 1e-3, "{wanted}: {found:?}");
    }
    let refused = with_energy_factor(&heater(45.0, ELECTRIC), Mode::Hybrid, Usage::Medium, 1.1);
    assert!(matches!(refused, Err(RatingError::EnergyFactor { most, .. }) if most < 1.0), "{refused:?}");
}

#[test]
fn external_energy_of_a_year() {
    // US Federal Energy Management Program, acquisition guidance for heat pump water heaters (2022): 1,476 kWh at a factor
    // of 2.2 and 855 kWh at 3.8. Half a digit, and our 0.11 % less heat of a litre.
    for (uef, year_kwh) in [(2.2, 1_476.0), (3.8, 855.0)] {
        let found = with_energy_factor(&heater(45.0, HYBRID), Mode::Hybrid, Usage::Medium, uef).expect("in reach");
        let day = day_test(&found, Mode::Hybrid, Usage::Medium);
        assert!((day.year_kwh / year_kwh - 1.0).abs() < 1.7e-3, "{day:?}");
        // As drawn, without corrections: the water delivered is 1 % cooler than nominal, by the band of the thermostat.
        let drawn_kwh = day.used_j * 365.0 / 3.6e6;
        assert!((drawn_kwh / year_kwh - 1.0).abs() < 0.02, "{drawn_kwh} kWh for {year_kwh}");
    }
}

#[test]
fn external_usable_share_of_a_plain_tank() {
    // Service bulletins for standard electric tanks: a tank gives 70 % of its nominal volume, give and take 10, until its
    // outlet has dropped by 30 °F. A tank sold as 50 gal holds 45 (from memory: nine tenths are common).
    let share = usable_l(&heater(45.0, ELECTRIC), Mode::Hybrid, 30.0 / 1.8) / (50.0 * GALLON_L);
    assert!((0.6..0.8).contains(&share), "{share}");
}

#[test]
fn external_first_hour_ratings() {
    // Usual plates, from memory: gallons held, and the rating. One inlet for all, no constant of a heater's own.
    for (what, gallons, source, rating) in [
        ("electric, 50 gal", 45.0, ELECTRIC, 62.0),
        ("electric, 40 gal", 36.0, ELECTRIC, 53.0),
        ("heat pump, 50 gal", 45.0, HYBRID, 66.0),
        ("heat pump, 65 gal", 60.0, HYBRID, 75.0),
        ("heat pump, 80 gal", 72.0, HYBRID, 86.0),
        ("gas, 40 gal", 38.0, GAS, 68.0),
        ("gas, 50 gal", 48.0, GAS, 83.0),
    ] {
        let found = first_hour_l(&heater(gallons, source), Mode::Hybrid) / GALLON_L;
        assert!((found / rating - 1.0).abs() < 0.1, "{what}: {found} gal for {rating}");
    }
}

#[test]
fn exact_first_hour_rating_comes_back() {
    // Outlets are looked at every 5 s, which is a quarter of a gallon.
    for gallons in [60.0, 63.0, 67.0] {
        let found = with_first_hour(&heater(45.0, HYBRID), Mode::Hybrid, gallons * GALLON_L).expect("in reach");
        let again = first_hour_l(&found, Mode::Hybrid) / GALLON_L;
        assert!((again - gallons).abs() <= 0.25, "{again} for {gallons}: {found:?}");
    }
    let refused = with_first_hour(&heater(45.0, HYBRID), Mode::Hybrid, 150.0 * GALLON_L);
    assert!(matches!(refused, Err(RatingError::FirstHour { most, .. }) if most < 300.0), "{refused:?}");
}
