//! Factors of units against an independent library, and against the definitions it rounds.

use proptest::prelude::*;
use springhouse_scenario::quantity::parse::parse;
use springhouse_scenario::quantity::unit::{self, ALL, Dimension};
use springhouse_scenario::quantity::{clock, unit::DURATION};
use uom::si::{
    area, dynamic_viscosity, energy, f64 as si, length, mass, mass_density, power, pressure, temperature_interval,
    thermodynamic_temperature, time, volume, volume_rate,
};

/// The library keeps seven digits of most units that are not metric.
const SEVEN_DIGITS: f64 = 1e-6;

fn check(dimension: &Dimension, name: &str, wanted: f64) {
    let found = parse(&format!("1 {name}"), dimension);
    assert!(
        found.as_ref().is_ok_and(|found| (found - wanted).abs() <= SEVEN_DIGITS * wanted),
        "1 {name} is {found:?}, but {wanted} in uom 0.38.0"
    );
}

#[test]
fn external_factors_agree_with_uom() {
    macro_rules! compare {
        ($dimension:ident, $quantity:ident, $module:ident, $base:ident: $($name:literal = $unit:ident),+) => {$(
            check(&unit::$dimension, $name, si::$quantity::new::<$module::$unit>(1.0).get::<$module::$base>());
        )+};
    }
    compare!(LENGTH, Length, length, meter: "m" = meter, "cm" = centimeter, "mm" = millimeter, "ft" = foot, "in" = inch);
    compare!(VOLUME, Volume, volume, liter: "L" = liter, "m3" = cubic_meter, "gal" = gallon, "imp gal" = gallon_imperial, "ft3" = cubic_foot);
    compare!(FLOW, VolumeRate, volume_rate, liter_per_second:
        "L/s" = liter_per_second, "L/min" = liter_per_minute, "m3/h" = cubic_meter_per_hour, "gpm" = gallon_per_minute, "gal/day" = gallon_per_day);
    compare!(PRESSURE, Pressure, pressure, kilopascal: "kPa" = kilopascal, "bar" = bar, "mbar" = millibar, "psi" = psi);
    compare!(POWER, Power, power, watt: "W" = watt, "kW" = kilowatt, "hp" = horsepower);
    compare!(DURATION, Time, time, second: "s" = second, "min" = minute, "h" = hour, "days" = day);
    compare!(DENSITY, MassDensity, mass_density, kilogram_per_cubic_meter: "kg/m3" = kilogram_per_cubic_meter, "kg/L" = gram_per_cubic_centimeter);
    compare!(VISCOSITY, DynamicViscosity, dynamic_viscosity, pascal_second: "Pa·s" = pascal_second, "mPa·s" = millipascal_second, "cP" = centipoise);
    compare!(TEMPERATURE_DIFFERENCE, TemperatureInterval, temperature_interval, kelvin:
        "K" = kelvin, "°C" = degree_celsius, "°F" = degree_fahrenheit);
    compare!(AREA, Area, area, square_meter: "m2" = square_meter, "ft2" = square_foot);
    compare!(MASS, Mass, mass, gram: "g" = gram, "kg" = kilogram, "lb" = pound, "oz" = ounce, "gr" = grain);
    // A gram a cubic metre is a milligram a litre.
    compare!(CONCENTRATION, MassDensity, mass_density, gram_per_cubic_meter: "g/m3" = gram_per_cubic_meter);
    // Those that the library does not have are made of those that it has.
    macro_rules! compare_rates {
        ($($name:literal = $volume:ident / $time:ident),+) => {$({
            let rate = si::Volume::new::<volume::$volume>(1.0) / si::Time::new::<time::$time>(1.0);
            check(&unit::FLOW, $name, rate.get::<volume_rate::liter_per_second>());
        })+};
    }
    compare_rates!(
        "L/h" = liter / hour,
        "m3/day" = cubic_meter / day,
        "gph" = gallon / hour,
        "imp gpm" = gallon_imperial / minute
    );
    let rate = si::VolumeRate::new::<volume_rate::gallon_per_minute>(1.0) / si::Length::new::<length::foot>(1.0);
    let metric = si::VolumeRate::new::<volume_rate::liter_per_second>(1.0) / si::Length::new::<length::meter>(1.0);
    check(&unit::SPECIFIC_CAPACITY, "gpm/ft", (rate / metric).value);
    check(&unit::SPECIFIC_CAPACITY, "L/min/m", 1.0 / 60.0);
    check(&unit::SPECIFIC_CAPACITY, "m3/h/m", 1_000.0 / 3_600.0);
    let grain = si::Mass::new::<mass::grain>(1.0) / si::Volume::new::<volume::gallon>(1.0);
    check(&unit::HARDNESS, "gpg", grain.get::<mass_density::gram_per_cubic_meter>());
    check(&unit::MASS, "kgr", si::Mass::new::<mass::grain>(1_000.0).get::<mass::gram>());
    let metre = si::Volume::new::<volume::cubic_meter>(1.0);
    check(&unit::PRICE, "/gal", (metre / si::Volume::new::<volume::gallon>(1.0)).value);
    check(&unit::PRICE, "/L", (metre / si::Volume::new::<volume::liter>(1.0)).value);
    check(&unit::PRICE, "/kgal", (metre / si::Volume::new::<volume::gallon>(1_000.0)).value);
    let area = si::Area::new::<area::square_foot>(1.0);
    let flow = si::VolumeRate::new::<volume_rate::gallon_per_day>(1.0);
    let flux = (flow / area).value;
    let hour = si::Volume::new::<volume::liter>(1.0) / si::Time::new::<time::hour>(1.0);
    let metric_flux = (hour / si::Area::new::<area::square_meter>(1.0)).value;
    check(&unit::FLUX, "gfd", flux / metric_flux);
    let (psi, bar) = (si::Pressure::new::<pressure::psi>(1.0), si::Pressure::new::<pressure::bar>(1.0));
    check(&unit::PERMEABILITY, "gfd/psi", flux / metric_flux * (bar / psi).value);
    let gpm = si::VolumeRate::new::<volume_rate::gallon_per_minute>(1.0);
    check(&unit::FLOW_COEFFICIENT, "Cv", gpm.get::<volume_rate::cubic_meter_per_hour>() * (bar / psi).value.sqrt());
    compare!(ENERGY, Energy, energy, kilowatt_hour: "kWh" = kilowatt_hour, "Wh" = watt_hour, "MJ" = megajoule);
    let kwh = si::Energy::new::<energy::kilowatt_hour>(1.0);
    let therm = si::Energy::new::<energy::btu_it>(1e5);
    check(&unit::ENERGY_PRICE, "/MWh", (kwh / si::Energy::new::<energy::megawatt_hour>(1.0)).value);
    check(&unit::ENERGY_PRICE, "/therm", (kwh / therm).value);
    for (name, mass, of) in [
        ("g/kWh", si::Mass::new::<mass::gram>(1.0), kwh),
        ("lb/kWh", si::Mass::new::<mass::pound>(1.0), kwh),
        ("lb/MWh", si::Mass::new::<mass::pound>(1.0), si::Energy::new::<energy::megawatt_hour>(1.0)),
    ] {
        check(&unit::EMISSION, name, mass.get::<mass::kilogram>() / of.get::<energy::kilowatt_hour>());
    }
    let held = si::Volume::new::<volume::gallon>(1.0) / si::Length::new::<length::foot>(1.0);
    let metric = si::Volume::new::<volume::liter>(1.0) / si::Length::new::<length::meter>(1.0);
    check(&unit::VOLUME_PER_LENGTH, "gal/ft", (held / metric).value);
    let btu_h = (si::Energy::new::<energy::btu_it>(1.0) / si::Time::new::<time::hour>(1.0)).get::<power::watt>();
    let fahrenheit_k = si::TemperatureInterval::new::<temperature_interval::degree_fahrenheit>(1.0);
    let fahrenheit_k = fahrenheit_k.get::<temperature_interval::kelvin>();
    check(&unit::POWER, "Btu/h", btu_h);
    check(&unit::HEAT_LOSS, "Btu/h/°F", btu_h / fahrenheit_k);
    check(&unit::HEAT_CAPACITY, "Btu/°F", 3_600.0 * btu_h / fahrenheit_k);
    check(&unit::HEAT_CAPACITY, "Wh/K", si::Energy::new::<energy::watt_hour>(1.0).get::<energy::joule>());
    check(&unit::HEAT_CAPACITY, "MJ/K", si::Energy::new::<energy::megajoule>(1.0).get::<energy::joule>());
}

#[test]
fn external_temperatures_agree_with_uom() {
    for fahrenheit in [-40.0, 0.0, 32.0, 52.0, 120.0, 203.0] {
        let wanted = si::ThermodynamicTemperature::new::<thermodynamic_temperature::degree_fahrenheit>(fahrenheit)
            .get::<thermodynamic_temperature::degree_celsius>();
        let found = parse(&format!("{fahrenheit} °F"), &unit::TEMPERATURE).unwrap();
        // uom goes through kelvin: an error of 300 in the last place.
        assert!((found - wanted).abs() < 1e-12, "{fahrenheit} °F is {found}, not {wanted}");
    }
}

#[test]
fn exact_factors_by_definition() {
    let base = |text: &str, dimension| parse(text, dimension).unwrap();
    // 231 cubic inches of 2.54 cm.
    assert!((base("1 gal", &unit::VOLUME) - 231.0 * 0.254_f64.powi(3)).abs() < 1e-14);
    assert!((base("1 ft3", &unit::VOLUME) - 3.048_f64.powi(3)).abs() < 1e-13);
    let (pound_kg, gravity) = (0.453_592_37, 9.806_65);
    assert!((base("1 psi", &unit::PRESSURE) - pound_kg * gravity / 0.025_4_f64.powi(2) / 1e3).abs() < 1e-14);
    assert!((base("1 hp", &unit::POWER) - 550.0 * 0.304_8 * pound_kg * gravity).abs() < 1e-12);
    // A BTU warms a pound by a °F, at 4186.8 J/(kg K).
    let btu_j = pound_kg * 4_186.8 / 1.8;
    assert!((base("1 Btu/h", &unit::POWER) - btu_j / 3_600.0).abs() < 1e-15);
    assert!((base("1 Btu/h/°F", &unit::HEAT_LOSS) - 1.8 * btu_j / 3_600.0).abs() < 1e-15);
    assert!((base("1 gr", &unit::MASS) - 1e3 * pound_kg / 7_000.0).abs() < 1e-16);
    // A grain in 231 cubic inches.
    let gpg = 1e6 * pound_kg / 7_000.0 / (231.0 * 0.254_f64.powi(3));
    assert!((base("1 gpg", &unit::HARDNESS) - gpg).abs() < 1e-13, "{gpg}");
    assert!((base("10 J/m2", &unit::DOSE) - 1.0).abs() < 1e-15);
    assert!((base("3.785411784 /kgal", &unit::PRICE) - 1.0).abs() < 1e-15);
    assert!((base("3.6 MJ", &unit::ENERGY) - 1.0).abs() < 1e-15);
    // A therm is 100 000 BTU.
    assert!((base("1 /therm", &unit::ENERGY_PRICE) * 1e5 * btu_j - 3.6e6).abs() < 1e-8);
    assert!((base("1000 lb/MWh", &unit::EMISSION) - pound_kg).abs() < 1e-15);
    // Gallons a minute at 1 psi as cubic metres an hour at 1 bar.
    let cv = 60e-3 * 231.0 * 0.254_f64.powi(3) / (1e-5 * pound_kg * gravity / 0.025_4_f64.powi(2)).sqrt();
    assert!((base("1 Cv", &unit::FLOW_COEFFICIENT) - cv).abs() < 1e-15, "{cv}");
    assert!((base("1 K", &unit::TEMPERATURE) + 272.15).abs() < 1e-12);
}

/// A dimension and one of its spellings.
fn spelled_unit() -> impl Strategy<Value = (&'static Dimension, &'static unit::Unit, &'static str)> {
    let all: Vec<_> = ALL
        .iter()
        .flat_map(|dimension| dimension.units.iter().map(move |unit| (*dimension, unit)))
        .flat_map(|(dimension, unit)| unit.also.iter().chain([&unit.name]).map(move |text| (dimension, unit, *text)))
        .collect();
    proptest::sample::select(all)
}

proptest! {
    #[test]
    fn any_number_in_any_spelling_is_its_factor(number in 0.0..1e6_f64, (dimension, unit, text) in spelled_unit(), space in " {0,2}") {
        let found = parse(&format!("{number}{space}{text}"), dimension).unwrap();
        prop_assert!((found - (number + unit.offset) * unit.factor).abs() <= 1e-15 * found.abs());
    }

    #[test]
    fn whole_numbers_with_fractions_add_up(whole in 0_u32..1_000, numerator in 0_u32..100, denominator in 1_u32..100, dash: bool) {
        let gap = if dash { "-" } else { " " };
        let found = parse(&format!("{whole}{gap}{numerator}/{denominator} m"), &unit::LENGTH).unwrap();
        prop_assert_eq!(found, f64::from(whole) + f64::from(numerator) / f64::from(denominator));
    }

    #[test]
    fn no_text_breaks_the_parser(text in "\\PC{0,40}") {
        for dimension in ALL {
            if let Ok(value) = parse(&text, dimension) {
                prop_assert!(value.is_finite());
            }
        }
        let _ = (clock::duration_s(&text), clock::date(&text), clock::date_time(&text), clock::time_of_day(&text));
    }

    #[test]
    fn texts_near_a_quantity_do_not_break_the_parser(text in "[-−+]?[0-9]{0,4}[ .,/eE½-]{0,2}[0-9]{0,4}[ /]?(gal|psi|°F|h|min|d|%|ft|Δ°F|m³|é)?[ 0-9]{0,3}(min|s)?") {
        for dimension in ALL {
            let _ = parse(&text, dimension);
        }
        let _ = clock::duration_s(&text);
    }

    #[test]
    fn parts_of_a_length_of_time_add_up(days in 0_u32..100, hours in 0_u32..24, minutes in 0_u32..60, seconds in 0_u32..60) {
        let text = format!("{days} days {hours} h {minutes}min {seconds} s");
        let wanted = f64::from(seconds) + 60.0 * f64::from(minutes) + 3_600.0 * f64::from(hours) + 86_400.0 * f64::from(days);
        prop_assert_eq!(clock::duration_s(&text), Ok(wanted));
        prop_assert!(DURATION.find("days").is_some());
    }
}
