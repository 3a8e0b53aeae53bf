//! What no plate tells of a heater: its circuit, its sensors and its elements.

use springhouse_core::heater::control::Controls;
use springhouse_core::heater::heat_pump::HeatPump;
use springhouse_core::heater::{Element, Elements};

use super::super::{at_most, positive};
use super::at_most_one;
use crate::diagnostic::Diagnostic;
use crate::quantity::{Share, TemperatureDifference};
use crate::sections;
use crate::source::Stretch;
use crate::typed::{At, Reader};

/// Air by its volume, as at 20 °C: a fan is sold by that.
const AIR_KG_L: f64 = 1.2e-3;
/// Cubic feet a minute in a litre a second.
const CFM_LPS: f64 = 60.0 / 28.316_846_592;
const MOST_FAN_W: f64 = 10e3;
const MOST_AIR_LPS: f64 = 10e3;
/// Differences that a condenser, a coil or a thermostat may have.
const MOST_K: f64 = 40.0;

/// The least air for a kilowatt that the compressor gives: less, and its coil would be colder than any coil is.
const LEAST_AIR_LPS_KW: f64 = 25.0;
/// Limits of the air that make sense, and how far they are apart at least.
const COLDEST_C: std::ops::RangeInclusive<f64> = -30.0..=30.0;
const LEAST_RANGE_K: f64 = 10.0;

/// The circuit of a compressor that gives so much.
pub(super) fn heat_pump(section: &sections::Heater, rated_heat_w: f64, reader: &mut Reader<'_>) -> Option<HeatPump> {
    // A larger compressor has a larger coil and fan.
    let air_kg_s = HeatPump::TYPICAL.air_kg_s * rated_heat_w / HeatPump::TYPICAL.rated_heat_w;
    let usual = HeatPump { rated_heat_w, air_kg_s, ..HeatPump::TYPICAL };
    let Some(at) = &section.heat_pump else { return Some(usual) };
    let given = &at.value;
    let condenser_approach_k = difference_k("condenser_approach", &given.condenser_approach, reader);
    let evaporator_approach_k = difference_k("evaporator_approach", &given.evaporator_approach, reader);
    let condenser_top =
        positive("condenser_top", given.condenser_top.value.of_one(), given.condenser_top.place, reader)
            .and_then(|value| at_most_one("condenser_top", value, given.condenser_top.place, reader));
    let fan = &given.fan;
    let fan_w = if fan.value.w() > 0.0 {
        at_most("fan", (fan.value.w(), MOST_FAN_W), "10 kW", fan.place, reader)
    } else {
        Some(0.0)
    };
    let air_kg_s = match &given.air_flow {
        Some(air) => at_most("air_flow", (air.value.lps(), MOST_AIR_LPS), "10000 L/s", air.place, reader)
            .and_then(|air_lps| enough_air(air_lps, rated_heat_w, air.place, reader)),
        None => Some(air_kg_s),
    };
    let (coldest, hottest) = (&given.coldest_air, &given.hottest_air);
    if !COLDEST_C.contains(&coldest.value.c()) || hottest.value.c() < coldest.value.c() + LEAST_RANGE_K {
        reader.tell(
            Diagnostic::error("`coldest_air` and `hottest_air` leave no air in which a compressor runs")
                .at(coldest.place, "the coldest, from -30 to 30 °C (-22 to 86 °F)")
                .at(hottest.place, "the hottest, 10 K (18 °F) warmer or more")
                .help("left out they are 7 °C and 43 °C (45 and 109 °F)"),
        );
        return None;
    }
    Some(HeatPump {
        condenser_approach_k: condenser_approach_k?,
        evaporator_approach_k: evaporator_approach_k?,
        condenser_top: condenser_top?,
        most_cop: given.most_cop.value.0,
        fan_w: fan_w?,
        air_kg_s: air_kg_s?,
        coldest_air_c: coldest.value.c(),
        hottest_air_c: hottest.value.c(),
        ..usual
    })
}

/// Air in kilograms, where it is enough for a compressor.
fn enough_air(air_lps: f64, rated_heat_w: f64, place: Stretch, reader: &mut Reader<'_>) -> Option<f64> {
    let least_lps = LEAST_AIR_LPS_KW * 1e-3 * rated_heat_w;
    if air_lps >= least_lps {
        return Some(AIR_KG_L * air_lps);
    }
    reader.tell(
        Diagnostic::error("`air_flow` is too little for this compressor")
            .at(place, format!("at least {} L/s ({} cfm)", least_lps.ceil(), (least_lps * CFM_LPS).ceil()))
            .help("left out it is 62.5 L/s (132 cfm) for each kilowatt of `compressor`"),
    );
    None
}

pub(super) fn controls(section: &sections::Heater, reader: &mut Reader<'_>) -> Option<Controls> {
    let Some(at) = &section.thermostats else { return Some(Controls::TYPICAL) };
    let given = &at.value;
    let upper_sensor = height("upper_sensor", &given.upper_sensor, reader);
    let lower_sensor = height("lower_sensor", &given.lower_sensor, reader);
    let band_k = difference_k("band", &given.band, reader);
    let compressor_band_k = difference_k("compressor_band", &given.compressor_band, reader);
    let help_band_k = difference_k("help_band", &given.help_band, reader);
    let least_off_s = given.least_off.value.s();
    let (upper_sensor, lower_sensor) = (upper_sensor?, lower_sensor?);
    if upper_sensor < lower_sensor {
        reader.tell(
            Diagnostic::error("`upper_sensor` must not be lower than `lower_sensor`")
                .at(given.upper_sensor.place, "the upper")
                .at(given.lower_sensor.place, "the lower")
                .help("left out they are at 75 % and 25 % of the tank's height"),
        );
        return None;
    }
    let (upper_element, lower_element) = (given.upper_element.value.of_one(), given.lower_element.value.of_one());
    for (element, place, sensor) in [
        (upper_element, given.upper_element.place, (upper_sensor, given.upper_sensor.place)),
        (lower_element, given.lower_element.place, (lower_sensor, given.lower_sensor.place)),
    ] {
        let (sensor, sensor_place) = sensor;
        if element > sensor {
            let fault = Diagnostic::error("an element must not stand over the sensor that stops it");
            reader.tell(fault.at(place, "the element").at(sensor_place, "its sensor"));
            return None;
        }
    }
    Some(Controls {
        upper_sensor,
        lower_sensor,
        band_k: band_k?,
        compressor_band_k: compressor_band_k?,
        help_band_k: help_band_k?,
        least_off_s,
        one_at_a_time: given.one_at_a_time.value,
    })
}

/// Two elements of a power, at their heights.
pub(super) fn elements(section: &sections::Heater, power_w: f64, reader: &mut Reader<'_>) -> Option<Elements> {
    let Elements { upper, lower } = Elements::TYPICAL;
    let with = |element: Option<Element>, height: Option<f64>| {
        element.map(|usual| Element { power_w, height: height.unwrap_or(usual.height) })
    };
    let Some(at) = &section.thermostats else {
        return Some(Elements { upper: with(upper, None), lower: with(lower, None) });
    };
    let upper_height = height("upper_element", &at.value.upper_element, reader);
    let lower_height = height("lower_element", &at.value.lower_element, reader);
    Some(Elements { upper: with(upper, Some(upper_height?)), lower: with(lower, Some(lower_height?)) })
}

/// A height as a part of the tank's.
fn height(key: &str, share: &At<Share>, reader: &mut Reader<'_>) -> Option<f64> {
    at_most_one(key, share.value.of_one(), share.place, reader)
}

/// A difference over nothing; an approach or a band of none would have no end.
fn difference_k(key: &str, difference: &At<TemperatureDifference>, reader: &mut Reader<'_>) -> Option<f64> {
    at_most(key, (difference.value.k(), MOST_K), "40 K (72 °F)", difference.place, reader)
}
