//! What `rate --json` prints: metric, with the unit in the key.

use serde::Serialize;
use springhouse_core::heater::Heater;
use springhouse_core::heater::usage::Usage;
use springhouse_scenario::Units;

use super::text::{self, kind, mode, usage};
use super::{Rated, Rating, Tested};

/// What the keys mean: raised when one changes its meaning or goes.
const SCHEMA: &str = "springhouse-rate/1";

#[derive(Serialize)]
struct Document<'a> {
    schema: &'static str,
    version: &'static str,
    scenario: &'a str,
    certified: bool,
    heaters: Vec<HeaterOut<'a>>,
}

#[derive(Serialize)]
struct HeaterOut<'a> {
    name: &'a str,
    answer: String,
    kind: &'static str,
    volume_l: f64,
    mode: &'static str,
    plate: PlateOut,
    tested_at_usage: &'static str,
    tank_loss_w_k: f64,
    flue_loss_w_k: f64,
    standby_loss_w: f64,
    tests: Vec<TestOut>,
}

#[derive(Serialize)]
struct PlateOut {
    #[serde(skip_serializing_if = "Option::is_none")]
    energy_factor: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    first_hour_l: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    usage: Option<&'static str>,
}

#[derive(Serialize)]
struct TestOut {
    mode: &'static str,
    first_hour_l: f64,
    first_hour_usage: &'static str,
    energy_factor: f64,
    recovery_efficiency: f64,
    delivered_share: f64,
    year_kwh: f64,
    #[serde(skip_serializing_if = "Option::is_none")]
    year_fuel_kwh: Option<f64>,
    usable_l: f64,
}

/// The text: two spaces a level, a newline at the end. The `answer` of a heater is [`text::headline`], in the reader's units.
///
/// # Errors
/// Where a figure has no place in JSON.
pub fn document(rated: &Rated<'_>) -> serde_json::Result<String> {
    let told = Document {
        schema: SCHEMA,
        version: env!("CARGO_PKG_VERSION"),
        scenario: &rated.scenario.name,
        certified: false,
        heaters: rated.heaters.iter().map(|rating| heater(rated.units, rating)).collect(),
    };
    let mut text = serde_json::to_string_pretty(&told)?;
    text.push('\n');
    Ok(text)
}

fn heater<'a>(units: Units, rating: &Rating<'a>) -> HeaterOut<'a> {
    let (plate, (tank_loss_w_k, flue_loss_w_k)) = (rating.plate, rating.losses_w_k());
    HeaterOut {
        name: &rating.place.name,
        answer: text::headline(units, rating),
        kind: kind(plate.kind),
        volume_l: rating.place.heater.tank.volume_l,
        mode: mode(rating.place.settings.mode),
        plate: PlateOut {
            energy_factor: plate.energy_factor,
            first_hour_l: plate.first_hour_l,
            usage: plate.usage.map(usage),
        },
        tested_at_usage: usage(rating.usage),
        tank_loss_w_k,
        flue_loss_w_k,
        standby_loss_w: rating.standby_w(),
        tests: rating.tests.iter().map(|found| test(found, &rating.place.heater)).collect(),
    }
}

fn test(found: &Tested, heater: &Heater) -> TestOut {
    TestOut {
        mode: mode(found.mode),
        first_hour_l: found.first_hour_l,
        first_hour_usage: usage(Usage::of_first_hour(found.first_hour_l)),
        energy_factor: found.day.uef,
        recovery_efficiency: found.day.recovery_efficiency,
        delivered_share: found.delivered_share(),
        year_kwh: found.day.year_kwh,
        year_fuel_kwh: found.year(heater).fuel_kwh,
        usable_l: found.usable_l,
    }
}
