//! The test in plain text, like the report of one: what was found beside what the plate says.

use springhouse_core::heater::control::Mode;
use springhouse_core::heater::usage::Usage;
use springhouse_scenario::{HeaterKind, Units};

use super::{Rated, Rating, Tested, Year};
use crate::numbers::{self, counted, fixed, fuel, len, percent};
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
        let [tank, flue] = [tank_w_k, flue_w_k].map(|w_k| heat_loss(rated.units, w_k, 1));
        let flue = if flue_w_k > 0.0 { format!(", its flue {flue}") } else { String::new() };
        let lost_w = rating.standby_w();
        let lost = match rated.units {
            Units::Us => format!(" ({})", burning(rated.units, lost_w)),
            Units::Metric => String::new(),
        };
        let rest = format!("Loss at rest {} W{lost}: tank {tank}{flue}", fixed(lost_w, 0));
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

/// Electricity in kilowatt hours; fuel as it is billed, and beside it the electricity of controls and fan.
fn year(units: Units, rating: &Rating<'_>, test: &Tested) -> String {
    let Year { electric_kwh, fuel_kwh } = test.year(&rating.place.heater);
    let electric = format!("{} kWh", fixed(electric_kwh, 0));
    match fuel_kwh.map(|kwh| fuel(units, kwh, 0)) {
        Some(fuel) if electric_kwh > 0.0 => format!("{fuel} and {electric}"),
        Some(fuel) => fuel,
        None => electric,
    }
}

/// Heat lost for each kelvin or degree Fahrenheit, to be told of a heater or a room.
#[must_use]
pub fn heat_loss(units: Units, w_k: f64, decimals: usize) -> String {
    numbers::heat_loss(units, w_k, decimals)
}

/// Fuel that a burner or a pilot takes.
#[must_use]
pub fn burning(units: Units, power_w: f64) -> String {
    numbers::burning(units, power_w)
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

#[cfg(test)]
mod tests {
    use super::*;
    use springhouse_scenario::{Format, parse, starter};

    #[test]
    fn exact_a_year_of_a_burner_keeps_electricity_apart() {
        let gas = |keys: &str| {
            let heater =
                format!("[[heater]]\nname = \"tank\"\nkind = \"gas\"\nvolume = \"38 gal\"\nusage = \"low\"\n{keys}");
            let loaded = parse(&format!("{}\n{heater}", starter()), Format::Toml, "plant.toml");
            let scenario = loaded.unwrap_or_else(|faults| panic!("{faults}")).scenario;
            let rated = Rated::of(&scenario, Units::Us);
            let (rating, test) = (&rated.heaters[0], rated.heaters[0].tests[0]);
            (test.year(&rating.place.heater), test.day.year_kwh, year(Units::Us, rating, &test))
        };
        let (plain, year_kwh, said) = gas("");
        assert_eq!((plain.electric_kwh, plain.fuel_kwh), (0.0, Some(year_kwh)));
        assert!(said.ends_with(" therms"), "{said}");
        let (fan, year_kwh, said) = gas("controls_power = \"50 W\"\n");
        // 50 W on 365 days of 23 h.
        assert!((fan.electric_kwh - 419.75).abs() < 1e-9, "{fan:?}");
        assert!((fan.fuel_kwh.unwrap() + fan.electric_kwh - year_kwh).abs() < 1e-9, "{fan:?}");
        // What the fan takes heats no water: the fuel stays what it was, but for the correction by an efficiency that counts both.
        assert!((fan.fuel_kwh.unwrap() / plain.fuel_kwh.unwrap() - 1.0).abs() < 0.01, "{fan:?} {plain:?}");
        assert!(said.ends_with(" therms and 420 kWh"), "{said}");
    }
}
