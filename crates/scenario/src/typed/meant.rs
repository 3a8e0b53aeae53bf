//! What was probably meant by a value or a word that cannot be taken as it stands.

use crate::quantity::parse;
use crate::quantity::unit::{self, Dimension};
use crate::tree::Value;

/// Signs and letters of money, which prices are written without: they are in whatever money the owner counts.
const MONEY: [&str; 10] = ["$", "€", "£", "¥", "USD", "EUR", "GBP", "CAD", "AUD", "CHF"];
/// Hundredths of it.
const CENTS: [&str; 7] = ["cents", "cent", "cts", "ct", "¢", "pence", "c"];
/// Directions, each an eighth of the way round from the one before.
const COMPASS: [[&str; 3]; 8] = [
    ["north", "n", "n"],
    ["northeast", "ne", "north east"],
    ["east", "e", "e"],
    ["southeast", "se", "south east"],
    ["south", "s", "s"],
    ["southwest", "sw", "south west"],
    ["west", "w", "w"],
    ["northwest", "nw", "north west"],
];
/// Words for what is called otherwise here.
const WORDS: [(&str, &str); 7] = [
    ("petrol", "gasoline"),
    ("gas", "gasoline"),
    ("benzine", "gasoline"),
    ("lpg", "propane"),
    ("liquid gas", "propane"),
    ("diesel fuel", "diesel"),
    ("heating oil", "diesel"),
];
/// Lengths of time that the rest of a house is not given by, in days.
const OTHER_SPANS: [(&str, &str, f64); 3] =
    [("rest_of_house", "per_week", 7.0), ("rest_of_house", "per_month", 30.4), ("rest_of_house", "per_year", 365.0)];
/// Therms in 100 cubic feet of natural gas, by the upper heating value: 1,036 Btu a cubic foot, the mean of the US in 2023 (US
/// Energy Information Administration, from memory).
const THERMS_CCF: f64 = 1.036;
/// Kilowatt-hours in a cubic metre of the same: 35.3147 cubic feet.
const KWH_M3: f64 = 0.353_147 * THERMS_CCF * 29.307_1;

/// The degrees of a direction.
pub(super) fn bearing(word: &str) -> Option<f64> {
    let word = word.trim().to_lowercase().replace('-', " ");
    let eighths = COMPASS.iter().zip(0_u8..).find(|(words, _)| words.contains(&word.as_str()))?.1;
    Some(45.0 * f64::from(eighths))
}

/// The word that stands for another one here.
pub(super) fn word(text: &str, words: &[&str]) -> Option<&'static str> {
    let text = text.trim().to_lowercase();
    WORDS.iter().find(|(other, own)| *other == text && words.contains(own)).map(|(_, own)| *own)
}

/// A quantity as it was probably meant, and what is wrong with it as it stands.
pub(super) fn text(text: &str, key: &str, dimension: &Dimension) -> Option<(String, String)> {
    let is = |other: &'static Dimension| std::ptr::eq(dimension, other);
    if is(&unit::ENERGY) {
        return ampere_hours(text);
    }
    if !is(&unit::ENERGY_PRICE) && !is(&unit::PRICE) {
        return None;
    }
    if key == "gas"
        && let Some(found) = by_volume_of_gas(text)
    {
        return Some(found);
    }
    price(text, dimension)
}

/// A price without its money.
fn price(text: &str, dimension: &Dimension) -> Option<(String, String)> {
    let strip = |text: &'_ str, signs: &[&str]| signs.iter().find_map(|sign| Some(text.strip_prefix(sign)?.len()));
    let text = text.trim();
    let ahead = strip(text, &MONEY);
    let bare = ahead.map_or(text, |left| text.split_at(text.len() - left).1);
    let (number, at) = parse::number(bare)?;
    let tail = bare.get(at..)?.trim();
    let cents = if ahead.is_none() { strip(tail, &CENTS) } else { None };
    let behind = cents.or_else(|| strip(tail, &MONEY));
    if number < 0.0 || (ahead.is_none() && behind.is_none()) {
        return None;
    }
    let unit = tail.get(tail.len() - behind.unwrap_or(tail.len())..)?.trim();
    // What is not said is the first unit of energy; of volumes it could be any.
    let unit = if unit.is_empty() && std::ptr::eq(dimension, &raw const unit::ENERGY_PRICE) {
        dimension.units.first()?
    } else {
        dimension.find(unit)?
    };
    let number = rounded(if cents.is_some() { 0.01 * number } else { number });
    let why = match cents {
        Some(_) => "in hundredths: prices are written in your money itself",
        None => "prices are written without the sign of their money",
    };
    Some((format!("{number} {}", unit.name), why.to_owned()))
}

/// Energy of a battery by its charge: at which voltage, the text does not say.
fn ampere_hours(text: &str) -> Option<(String, String)> {
    let (number, at) = parse::number(text)?;
    let unit = text.get(at..)?.trim().to_lowercase();
    if !["ah", "amp hours", "ampere hours", "ampere-hours"].contains(&unit.as_str()) {
        return None;
    }
    let why = "ampere-hours times the volts of the battery, over 1000, are kWh: here at 48 V";
    Some((format!("{} kWh", rounded(0.048 * number)), why.to_owned()))
}

/// A price of natural gas by its volume.
fn by_volume_of_gas(text: &str) -> Option<(String, String)> {
    let bare = MONEY.iter().find_map(|sign| text.trim().strip_prefix(sign)).unwrap_or(text);
    let (number, at) = parse::number(bare)?;
    let unit = bare.get(at..)?.trim().to_lowercase().replace("per ", "/").replace("/ ", "/").replace('³', "3");
    let unit = unit.replace("cu ft", "ft3").replace("cubic feet", "ft3");
    let (price, name, heat) = match unit.as_str() {
        "/ccf" | "/100 ft3" | "/hcf" => (number / THERMS_CCF, "/therm", "100 ft3 hold about 1.036 therms"),
        "/mcf" | "/1000 ft3" => (0.1 * number / THERMS_CCF, "/therm", "1000 ft3 hold about 10.36 therms"),
        "/m3" => (number / KWH_M3, "/kWh", "a cubic metre holds about 10.7 kWh"),
        _ => return None,
    };
    Some((
        format!("{} {name}", (1e4 * price).round() / 1e4),
        format!("gas is counted by its heat: {heat}; see your bill"),
    ))
}

/// A key of `section` that is no key, but says the same over another length of time: the right key with the value turned over.
pub(super) fn other_span(section: &str, key: &str, value: &Value) -> Option<(&'static str, String)> {
    let (_, _, days) = OTHER_SPANS.iter().find(|(home, other, _)| *home == section && *other == key)?;
    let Value::Text(text) = value else { return None };
    let (number, at) = parse::number(text)?;
    let unit = unit::ENERGY.find(text.get(at..)?)?;
    Some(("per_day", format!("{} {}", (100.0 * number / days).round() / 100.0, unit.name)))
}

/// Without what a product of decimals leaves behind.
fn rounded(number: f64) -> f64 {
    (1e9 * number).round() / 1e9
}
