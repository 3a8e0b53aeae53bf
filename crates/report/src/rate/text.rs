//! The test in plain text, like the report of one: what was found beside what the plate says.

use springhouse_core::heater::control::Mode;
use springhouse_core::heater::usage::Usage;
use springhouse_scenario::{HeaterKind, Units};

use super::{Rated, Rating, Tested};
use crate::numbers::{counted, fixed, fuel, len, percent};
use crate::text::wrapped;
use crate::tune::text::{Cells, push_table};

/// The answer of a heater in one sentence, in its own mode.
#[must_use]
pub fn headline(units: Units, rating: &Rating<'_>) -> String {
    let name = &rating.place.name;
    let Some(test) = rating.as_set() else { return format!("{name}: no test.") };
    format!(
        "{name}: uniform energy factor {}, first-hour rating {}, {} a year at {} usage.",
        fixed(test.day.uef, 2),
        units.volume(test.first_hour_l),
        year(units, rating, test),
        usage(rating.usage)
    )
}

/// What was tested, and how.
#[must_use]
pub fn subject(rated: &Rated<'_>) -> String {
    let scenario = rated.scenario;
    let name = if scenario.title.is_empty() { &scenario.name } else { &scenario.title };
    format!("{name}: {} on the US federal test of water heaters", counted(len(&rated.heaters), "heater"))
}

/// The tables. Ends with a newline.
#[must_use]
pub fn body(rated: &Rated<'_>) -> String {
    let tables = rated.heaters.iter().map(|rating| {
        let place = rating.place;
        let held = rated.units.volume(place.heater.tank.volume_l);
        let off = if place.settings.mode == Mode::Off { ", off in the scenario" } else { "" };
        let mut text = wrapped(&format!("{}, {}, {held}{off}", place.name, kind(rating.plate.kind)));
        push_table(&mut text, &table(rated.units, rating));
        let (tank_w_k, flue_w_k) = rating.losses_w_k();
        let flue = if flue_w_k > 0.0 { format!(", its flue {} W/K", fixed(flue_w_k, 1)) } else { String::new() };
        let rest = format!("Loss at rest {} W: tank {} W/K{flue}", fixed(rating.standby_w(), 0), fixed(tank_w_k, 1));
        text.push_str(&wrapped(&rest));
        text
    });
    tables.collect::<Vec<_>>().join("\n")
}

/// What the figures are, and what they are not. Ends with a newline.
#[must_use]
pub fn cautions(units: Units) -> String {
    let [inlet, set, air] = [26.0 / 1.8, 93.0 / 1.8, 35.5 / 1.8].map(|temp_c| units.temperature(temp_c));
    let drop = if units == Units::Us { "30 °F" } else { "17 K" };
    wrapped(&format!(
        "Computed on the model of each heater by the procedure of 10 CFR 430, Subpart B, Appendix E (inlet {inlet}, set point \
         {set}, air {air} at 50 %); it is not a certified test. Heat delivered is in parts of water at the set point: \
         much less means that it ran cold, and that its factor says little. Plates are those of hybrid mode. Usable is what comes until the \
         outlet is {drop} colder, nothing heating."
    ))
}

fn table(units: Units, rating: &Rating<'_>) -> Vec<Cells> {
    let plate = rating.plate;
    let row = |name: &str, plate: Option<String>, of: &dyn Fn(&Tested) -> String| -> Cells {
        let head = [name.to_owned(), plate.unwrap_or_else(|| "-".to_owned())];
        head.into_iter().chain(rating.tests.iter().map(of)).collect()
    };
    let none = || Some(String::new());
    let heads = |test: &Tested| {
        let own = rating.tests.len() > 1 && test.mode == rating.place.settings.mode;
        let mode = if rating.tests.len() > 1 { mode(test.mode) } else { "computed" };
        format!("{mode}{}", if own { " (as set)" } else { "" })
    };
    vec![
        row("", Some("plate".to_owned()), &heads),
        row("First-hour rating", plate.first_hour_l.map(|l| units.volume(l)), &|test| units.volume(test.first_hour_l)),
        row("  stands for usage", plate.first_hour_l.map(|l| usage(Usage::of_first_hour(l)).to_owned()), &|test| {
            usage(Usage::of_first_hour(test.first_hour_l)).to_owned()
        }),
        row("Uniform energy factor", plate.energy_factor.map(|factor| fixed(factor, 2)), &|test| {
            fixed(test.day.uef, 2)
        }),
        row("  at usage", plate.usage.map(|given| usage(given).to_owned()), &|_| usage(rating.usage).to_owned()),
        row("Recovery efficiency", none(), &|test| percent(test.day.recovery_efficiency)),
        row("Heat delivered", none(), &|test| percent(test.delivered_share())),
        row("Energy of a year", none(), &|test| year(units, rating, test)),
        row("Usable hot water", none(), &|test| units.volume(test.usable_l)),
    ]
}

/// Electricity in kilowatt hours; fuel as it is billed.
fn year(units: Units, rating: &Rating<'_>, test: &Tested) -> String {
    let kwh = test.day.year_kwh;
    match rating.plate.kind {
        HeaterKind::Electric | HeaterKind::HeatPump => format!("{} kWh", fixed(kwh, 0)),
        HeaterKind::Gas | HeaterKind::Propane => fuel(units, kwh, 0),
    }
}

/// What heats a heater, as scenarios call it.
#[must_use]
pub fn kind(kind: HeaterKind) -> &'static str {
    match kind {
        HeaterKind::HeatPump => "heat pump",
        HeaterKind::Electric => "electric",
        HeaterKind::Gas => "gas",
        HeaterKind::Propane => "propane",
    }
}

/// How a heater is run, as scenarios call it.
#[must_use]
pub fn mode(mode: Mode) -> &'static str {
    match mode {
        Mode::Off => "off",
        Mode::HeatPumpOnly => "heat pump only",
        Mode::Hybrid => "hybrid",
        Mode::ElementOnly => "element only",
    }
}

/// A usage as plates call it.
#[must_use]
pub fn usage(usage: Usage) -> &'static str {
    match usage {
        Usage::VerySmall => "very small",
        Usage::Low => "low",
        Usage::Medium => "medium",
        Usage::High => "high",
    }
}
