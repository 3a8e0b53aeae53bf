//! Limits, seasons and aims in words and in the reader's units.

use springhouse_scenario::Units;
use springhouse_scenario::quantity::unit::{self, Dimension};
use springhouse_study::tune::{Aim, Limit, Limits, Season, Valve, Work};

use crate::numbers::{fixed, number};
use crate::phrase::joined;

/// What is limited, as people of the trade call it.
pub(crate) fn limit(limit: Limit) -> &'static str {
    match limit {
        Limit::Flux => "flux",
        Limit::ElementRecovery => "recovery of one element",
        Limit::Concentrate => "crossflow of a vessel",
        Limit::Polarisation => "polarisation",
        Limit::Feed => "feed of a vessel",
        Limit::ElementLoss => "loss along an element",
        Limit::VesselLoss => "loss along a vessel",
        Limit::Pressure => "pressure at the membranes",
        Limit::Recovery => "recovery of the unit",
        Limit::Calcite => "calcite scale",
        Limit::Gypsum => "gypsum scale",
        Limit::Silica => "silica scale",
        Limit::ProductSalt => "salt in the product",
        Limit::Product => "product",
        Limit::Pump => "pump flow",
        Limit::Works => "water made at all",
    }
}

/// What is wrong where a limit is not kept.
pub(crate) fn beyond(limit: Limit) -> &'static str {
    match limit {
        Limit::Flux => "flux too high",
        Limit::ElementRecovery => "element recovery too high",
        Limit::Concentrate => "too little crossflow",
        Limit::Polarisation => "too much polarisation",
        Limit::Feed => "too much feed for a vessel",
        Limit::ElementLoss => "too much loss along an element",
        Limit::VesselLoss => "too much loss along a vessel",
        Limit::Pressure => "pressure too high",
        Limit::Recovery => "recovery too high",
        Limit::Calcite => "calcite scale",
        Limit::Gypsum => "gypsum scale",
        Limit::Silica => "silica scale",
        Limit::ProductSalt => "product too salty",
        Limit::Product => "too little product",
        Limit::Pump => "too much for the pump",
        Limit::Works => "makes no water",
    }
}

/// Its key in JSON and CSV.
pub(super) fn limit_key(limit: Limit) -> &'static str {
    match limit {
        Limit::Flux => "flux",
        Limit::ElementRecovery => "element_recovery",
        Limit::Concentrate => "crossflow",
        Limit::Polarisation => "polarisation",
        Limit::Feed => "vessel_feed",
        Limit::ElementLoss => "element_loss",
        Limit::VesselLoss => "vessel_loss",
        Limit::Pressure => "pressure",
        Limit::Recovery => "recovery",
        Limit::Calcite => "calcite",
        Limit::Gypsum => "gypsum",
        Limit::Silica => "silica",
        Limit::ProductSalt => "product_salt",
        Limit::Product => "product",
        Limit::Pump => "pump_flow",
        Limit::Works => "works",
    }
}

/// The unit of its figures in JSON; empty where it has none.
pub(super) fn limit_unit(limit: Limit) -> &'static str {
    match limit {
        Limit::Flux => "L/m2/h",
        Limit::Concentrate | Limit::Feed | Limit::Pump => "L/s",
        Limit::ElementLoss | Limit::VesselLoss | Limit::Pressure => "kPa",
        Limit::ProductSalt => "mg/L",
        Limit::Product => "L/day",
        Limit::ElementRecovery
        | Limit::Polarisation
        | Limit::Recovery
        | Limit::Calcite
        | Limit::Gypsum
        | Limit::Silica
        | Limit::Works => "",
    }
}

/// A figure of a limit for people.
pub(super) fn figure(limit: Limit, value: f64, units: Units) -> String {
    match limit {
        Limit::Flux => flux(units, value),
        Limit::ElementRecovery | Limit::Recovery => share(value),
        Limit::Concentrate | Limit::Feed | Limit::Pump => flow(units, value),
        Limit::ElementLoss | Limit::VesselLoss | Limit::Pressure => pressure(units, value),
        Limit::Calcite => format!("index {}", fixed(value, 2)),
        Limit::Gypsum | Limit::Silica => format!("{} x saturation", fixed(value, 2)),
        Limit::ProductSalt => salt(value),
        Limit::Product => daily(units, value),
        Limit::Polarisation | Limit::Works => fixed(value, 2),
    }
}

/// `at most` or `at least`.
pub(super) fn bound(limit: Limit) -> &'static str {
    match limit {
        Limit::Concentrate | Limit::Product => "at least",
        _ => "at most",
    }
}

/// Limits by name: `a`, `a and b`, `a, b and c`.
pub(crate) fn listed(limits: Limits, name: fn(Limit) -> &'static str) -> String {
    joined(&limits.iter().map(name).collect::<Vec<_>>())
}

pub(super) fn season(season: Season) -> &'static str {
    match season {
        Season::Coldest => "coldest",
        Season::Typical => "typical",
        Season::Warmest => "warmest",
    }
}

/// Its word on the command line and in JSON.
pub(super) fn aim_key(aim: Aim) -> &'static str {
    match aim {
        Aim::Enough => "enough",
        Aim::LeastWaste => "least-waste",
        Aim::Gentlest => "gentlest",
    }
}

/// What it asks for.
pub(super) fn aim(aim: Aim, wanted: bool) -> &'static str {
    match (aim, wanted) {
        (Aim::Enough, true) => "enough product at the least cost in water, energy and salt",
        (Aim::Enough, false) => "the least cost in water, energy and salt",
        (Aim::LeastWaste, _) => "the least waste",
        (Aim::Gentlest, true) => "enough product, gentle on the membranes",
        (Aim::Gentlest, false) => "gentle on the membranes",
    }
}

pub(crate) fn valve(valve: Valve) -> &'static str {
    match valve {
        Valve::Reject => "reject",
        Valve::Recycle => "recycle",
    }
}

fn in_unit(dimension: &'static Dimension, name: &'static str, base: f64, decimals: usize) -> String {
    let factor = dimension.named(name).map_or(1.0, |unit| unit.factor);
    format!("{} {name}", fixed(base / factor, decimals))
}

/// A flow as finely as a flow meter of a unit reads.
pub(crate) fn flow(units: Units, flow_lps: f64) -> String {
    match units {
        Units::Us if flow_lps < 0.063 => in_unit(&unit::FLOW, "gpm", flow_lps, 2),
        Units::Us => in_unit(&unit::FLOW, "gpm", flow_lps, 1),
        Units::Metric => in_unit(&unit::FLOW, "L/min", flow_lps, 1),
    }
}

/// A pressure as finely as a gauge reads.
pub(super) fn pressure(units: Units, pressure_kpa: f64) -> String {
    match units {
        Units::Us => in_unit(&unit::PRESSURE, "psi", pressure_kpa, 0),
        Units::Metric => in_unit(&unit::PRESSURE, "kPa", pressure_kpa, 0),
    }
}

pub(super) fn flux(units: Units, flux_l_m2_h: f64) -> String {
    in_unit(&unit::FLUX, if units == Units::Us { "gfd" } else { "L/m2/h" }, flux_l_m2_h, 1)
}

pub(super) fn salt(salt_mg_l: f64) -> String {
    format!("{} mg/L", fixed(salt_mg_l, usize::from(salt_mg_l < 10.0)))
}

/// A share, told finely enough to compare settings.
pub(super) fn share(share: f64) -> String {
    format!("{} %", fixed(100.0 * share, 1))
}

/// How much more, with its sign.
pub(super) fn change(share: f64) -> String {
    let text = fixed(100.0 * share, 1);
    match text.as_str() {
        "0.0" => "unchanged".to_owned(),
        text if text.starts_with('-') => format!("{text} %"),
        text => format!("+{text} %"),
    }
}

/// A volume of a day.
pub(crate) fn daily(units: Units, volume_l: f64) -> String {
    let name = if units == Units::Us { "gal" } else { "L" };
    let factor = unit::VOLUME.named(name).map_or(1.0, |unit| unit.factor);
    let value = volume_l / factor;
    // Three digits that count: more than any gauge tells.
    let grain = libm::pow(10.0, (libm::floor(libm::log10(value.max(1.0))) - 2.0).max(0.0));
    format!("{} {name} a day", fixed((value / grain).round() * grain, 0))
}

/// Waste for each gallon or litre.
pub(crate) fn waste(work: &Work) -> String {
    if work.waste_l_per_l < 9.95 { fixed(work.waste_l_per_l, 2) } else { fixed(work.waste_l_per_l, 1) }
}

/// Energy for as much product as [`energy_volume`] says.
pub(super) fn energy(units: Units, kwh_per_m3: f64) -> String {
    let m3_in_kgal = unit::VOLUME.named("gal").map_or(1.0, |unit| unit.factor);
    match units {
        Units::Us => format!("{} kWh", fixed(kwh_per_m3 * m3_in_kgal, 1)),
        Units::Metric => format!("{} kWh", fixed(kwh_per_m3, 2)),
    }
}

/// The volume for which energy is told.
pub(super) fn energy_volume(units: Units) -> &'static str {
    if units == Units::Us { "1000 gal" } else { "m3" }
}

/// The name of the reader's unit of volume in a sentence.
pub(crate) fn one_volume(units: Units) -> &'static str {
    if units == Units::Us { "gal" } else { "L" }
}

/// Time between cleanings in months of running, or days where it is short.
pub(super) fn months(hours: f64) -> String {
    const MONTH_H: f64 = 730.5;
    match hours / MONTH_H {
        months if months >= 24.0 => "over 2 years".to_owned(),
        months if months >= 1.25 => format!("{} months", number((2.0 * months).round() / 2.0)),
        months => match (months * MONTH_H / 24.0).ceil() {
            days if days <= 1.0 => "1 day".to_owned(),
            days => format!("{} days", fixed(days, 0)),
        },
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn exact_time_between_cleanings_in_words() {
        let said = [20.0, 25.0, 1_100.0, 1_461.0, 18_000.0].map(months);
        assert_eq!(said, ["1 day", "2 days", "1.5 months", "2 months", "over 2 years"]);
    }
}
