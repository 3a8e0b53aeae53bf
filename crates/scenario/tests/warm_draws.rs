//! How warm a draw is wanted.

use springhouse_core::draw::Warmth;
use springhouse_scenario::{Format, parse, starter};

/// The starter, whose first draw is wanted at a temperature.
fn wanted_at(temperature: &str) -> String {
    starter().replacen("[[draw]]", &format!("[[draw]]\ntemperature = \"{temperature}\""), 1)
}

#[test]
fn a_draw_is_as_warm_as_it_is_wanted_or_cold() {
    let scenario = parse(&wanted_at("104 °F"), Format::Toml, "plant.toml").unwrap().scenario;
    assert_eq!(scenario.schedule[0].warmth, Warmth::from_c(40.0));
    assert!(scenario.schedule[1..].iter().all(|draw| draw.warmth == Warmth::COLD));
}

#[test]
fn a_temperature_that_no_tap_gives() {
    let told = |temperature| parse(&wanted_at(temperature), Format::Toml, "plant.toml").unwrap_err().to_string();
    insta::assert_snapshot!([told("0 °C"), told("220 °F")].join("\n\n----\n\n"));
}
