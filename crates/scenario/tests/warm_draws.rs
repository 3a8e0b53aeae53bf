//! How warm a draw is wanted.

use springhouse_core::draw::Warmth;
use springhouse_scenario::{Format, parse, starter};

/// The starter, whose first draw is wanted at a temperature.
fn wanted_at(temperature: &str) -> String {
    assert!(starter().contains("temperature = \"105 °F\""));
    starter().replacen("temperature = \"105 °F\"", &format!("temperature = \"{temperature}\""), 1)
}

#[test]
fn a_draw_is_as_warm_as_it_is_wanted_or_cold() {
    let scenario = parse(&wanted_at("104 °F"), Format::Toml, "plant.toml").unwrap().scenario;
    assert_eq!(scenario.schedule[0].warmth, Warmth::from_c(40.0));
    // A toilet, a kitchen, a washer.
    let warmths: Vec<_> = scenario.schedule[1..4].iter().map(|draw| draw.warmth).collect();
    assert_eq!(warmths, [Warmth::COLD, Warmth::from_c(78.0 / 1.8), Warmth::COLD]);
}

#[test]
fn a_temperature_that_no_tap_gives() {
    let told = |temperature| parse(&wanted_at(temperature), Format::Toml, "plant.toml").unwrap_err().to_string();
    insta::assert_snapshot!([told("0 °C"), told("220 °F")].join("\n\n----\n\n"));
}
