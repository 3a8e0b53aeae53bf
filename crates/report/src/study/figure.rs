//! What a figure is called, and the unit it is told in: both follow from its path.

use springhouse_scenario::Units;

use crate::numbers::{Scale, fixed, three_figures};

/// What is measured, as far as it has to do with the reader's units.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Measure {
    Volume,
    VolumeHours,
    Flow,
    Pressure,
    Temperature,
    Length,
    Rain,
    Mass,
    Share,
    /// In the same unit for all readers, or without one.
    As(&'static str),
}

/// Ends of keys, the longer of two that are alike first.
const ENDINGS: [(&str, Measure); 23] = [
    ("l_m2_h", Measure::As("L/m2/h")),
    ("kwh_per_m3", Measure::As("kWh/m3")),
    ("kwh_per_l", Measure::As("kWh/L")),
    ("mg_l", Measure::As("mg/L")),
    ("l_h", Measure::VolumeHours),
    ("lps", Measure::Flow),
    ("kpa", Measure::Pressure),
    ("kwh", Measure::As("kWh")),
    ("minutes", Measure::As("min")),
    ("min", Measure::As("min")),
    ("hours", Measure::As("h")),
    ("share", Measure::Share),
    ("recovery", Measure::Share),
    ("rejection", Measure::Share),
    ("mm", Measure::Rain),
    ("kg", Measure::Mass),
    ("l", Measure::Volume),
    ("c", Measure::Temperature),
    ("m", Measure::Length),
    ("s", Measure::As("s")),
    ("h", Measure::As("h")),
    ("g", Measure::As("g")),
    ("w", Measure::As("W")),
];

/// What is said of the usual figures; the item of a list, which is left out here, is said behind.
const NAMES: [(&str, &str); 38] = [
    ("water.delivered_l", "water delivered"),
    ("water.short_l", "water wanted that did not come"),
    ("water.run_outs", "run-outs"),
    ("water.run_out_minutes", "time without water"),
    ("water.lowest_storage_l", "least water in storage"),
    ("storage.lowest_l", "least water in storage"),
    ("storage.spilled_l", "water spilled from storage"),
    ("storage.end_l", "water in storage at the end"),
    ("storage.salt_mg_l", "salt in storage"),
    ("outlets[].delivered_l", "water delivered"),
    ("outlets[].short_l", "water wanted that did not come"),
    ("outlets[].run_outs", "run-outs"),
    ("outlets[].run_out_minutes", "time without water"),
    ("outlets[].longest_run_out_min", "longest time without water"),
    ("outlets[].lowest_tap_kpa", "lowest pressure at the tap"),
    ("supplies[].given_l", "water given"),
    ("supplies[].starts", "starts of its pump"),
    ("supplies[].lowest_l", "least water"),
    ("well.starts", "starts of the well pump"),
    ("well.deepest_drawdown_m", "deepest drawdown of the well"),
    ("well.low_level_trips", "trips at low water in the well"),
    ("pressure.lowest_kpa", "lowest pressure"),
    ("pressure.minutes_below_set", "time with low pressure"),
    ("membrane.recovery", "recovery of the membrane unit"),
    ("membrane.product_l", "product of the membrane unit"),
    ("membrane.product_salt_mg_l", "salt in the product"),
    ("membrane.run_hours", "hours of the membrane unit"),
    ("hot_water[].lukewarm_minutes", "time with lukewarm water"),
    ("hot_water[].longest_lukewarm_min", "longest time with lukewarm water"),
    ("hot_water[].lowest_outlet_c", "coolest water from the heater"),
    ("hot_water[].recovery_h", "longest recovery"),
    ("energy.total_kwh", "electricity of the plant"),
    ("energy.heaters_kwh", "electricity of water heaters"),
    ("energy.import_kwh", "electricity from the grid"),
    ("energy.export_kwh", "electricity to the grid"),
    ("energy.cost", "cost of energy"),
    ("energy.plant_cost", "cost of energy of the plant"),
    ("energy.co2_kg", "carbon dioxide"),
];

/// Figures whose unit is not at the end of their key.
const MEASURES: [(&str, Measure); 2] =
    [("pressure.minutes_below_set", Measure::As("min")), ("energy.kwh_per_m3_delivered", Measure::As("kWh/m3"))];

/// A figure of a run as a person reads it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Figure {
    /// What it is called, in a sentence.
    pub(crate) words: String,
    measure: Measure,
}

impl Default for Figure {
    fn default() -> Self {
        Self { words: String::new(), measure: Measure::As("") }
    }
}

impl Measure {
    /// The reader's unit; values come in the base unit.
    fn scale(self, units: Units) -> Scale {
        match self {
            Self::Volume => Scale::volume(units),
            Self::VolumeHours => Scale::volume_hours(units),
            Self::Flow => Scale::flow(units),
            Self::Pressure => Scale::pressure(units),
            Self::Temperature => Scale::temperature(units),
            Self::Length => Scale::length(units),
            Self::Rain => Scale::rain(units),
            Self::Mass => Scale::mass(units),
            Self::Share => Scale::percent(),
            Self::As(unit) => Scale::as_is(unit),
        }
    }
}

impl Figure {
    /// A figure by its path: its common name, or the words of the path without the unit.
    pub(crate) fn of(path: &str) -> Self {
        let (plain, items) = without_items(path);
        let last = plain.rsplit('.').next().unwrap_or_default();
        let is_end =
            |ending: &str| last.strip_suffix(ending).is_some_and(|rest| rest.is_empty() || rest.ends_with('_'));
        let found = ENDINGS.iter().find(|(ending, _)| is_end(ending));
        let own = MEASURES.iter().find(|(known, _)| *known == plain).map(|(_, measure)| *measure);
        let measure = own.or(found.map(|(_, measure)| *measure)).unwrap_or(Measure::As(""));
        let known = NAMES.iter().find(|(known, _)| *known == plain).map(|(_, words)| (*words).to_owned());
        let words = known.unwrap_or_else(|| {
            // A share is named by what it is a share of, and has no unit.
            let unit = found.filter(|(_, measure)| *measure != Measure::Share).map(|(ending, _)| *ending);
            let stem = unit.and_then(|unit| plain.strip_suffix(unit)).unwrap_or(&plain);
            stem.trim_end_matches(['_', '.']).replace("[]", "").replace(['_', '.'], " ")
        });
        let words = if items.is_empty() { words } else { format!("{words} ({})", items.join(", ")) };
        Self { words, measure }
    }

    /// The reader's unit.
    pub(crate) fn scale(&self, units: Units) -> Scale {
        self.measure.scale(units)
    }

    /// What it is called, and its unit.
    pub(crate) fn with_unit(&self, units: Units) -> String {
        match self.scale(units).unit {
            "" => self.words.clone(),
            unit => format!("{}, {unit}", self.words),
        }
    }

    /// A value with its unit.
    pub(crate) fn said(&self, units: Units, value: f64) -> String {
        let scale = self.scale(units);
        with(&figure(scale.value(value)), scale.unit)
    }

    /// By how much more or less, with its unit.
    pub(crate) fn difference_said(&self, units: Units, difference: f64) -> String {
        let scale = self.scale(units);
        let value = scale.difference(difference);
        with(&trimmed(&signed(value, three_figures([value]))), scale.unit)
    }
}

/// With a sign, unless it reads as zero.
pub(crate) fn signed(value: f64, decimals: usize) -> String {
    let text = fixed(value, decimals);
    let is_zero = text.bytes().all(|b| matches!(b, b'0' | b'.'));
    if value > 0.0 && !is_zero { format!("+{text}") } else { text }
}

fn with(number: &str, unit: &str) -> String {
    if unit.is_empty() { number.to_owned() } else { format!("{number} {unit}") }
}

/// Three figures, without empty decimals.
fn figure(value: f64) -> String {
    trimmed(&fixed(value, three_figures([value])))
}

/// Without empty decimals.
fn trimmed(text: &str) -> String {
    if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.') } else { text }.to_owned()
}

/// A path without the items of lists, and the items.
fn without_items(path: &str) -> (String, Vec<String>) {
    let (mut plain, mut items) = (String::new(), Vec::new());
    let mut rest = path;
    while let Some((before, after)) = rest.split_once('[') {
        let (item, behind) = after.split_once(']').unwrap_or((after, ""));
        plain.push_str(before);
        plain.push_str("[]");
        items.push(item.trim_matches(['"', '\'']).to_owned());
        rest = behind;
    }
    plain.push_str(rest);
    (plain, items)
}

/// The last two parts of a key's path as words; the item of a list in place of the list.
pub(super) fn tail(path: &str) -> String {
    let (plain, items) = without_items(path);
    let mut items = items.into_iter();
    let parts = plain.split('.').map(|part| match part.strip_suffix("[]") {
        Some(list) => match items.next() {
            Some(item) if !item.bytes().all(|b| b.is_ascii_digit()) => item,
            Some(number) => format!("{} {number}", list.replace('_', " ")),
            None => list.replace('_', " "),
        },
        None => part.replace('_', " "),
    });
    let parts: Vec<String> = parts.collect();
    parts[parts.len().saturating_sub(2)..].join(" ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn exact_figures_have_names_and_units() {
        let told = |path: &str| {
            let figure = Figure::of(path);
            (figure.words.clone(), figure.said(Units::Us, 100.0))
        };
        let cases = [
            ("water.lowest_storage_l", "least water in storage", "26.4 gal"),
            ("water.run_outs", "run-outs", "100"),
            ("pressure.lowest_kpa", "lowest pressure", "14.5 psi"),
            ("pressure.minutes_below_set", "time with low pressure", "100 min"),
            ("membrane.recovery", "recovery of the membrane unit", "10000 %"),
            ("membrane.vessel_recovery", "membrane vessel recovery", "10000 %"),
            ("membrane.flux_l_m2_h", "membrane flux", "100 L/m2/h"),
            ("hot_water[main heater].lukewarm_minutes", "time with lukewarm water (main heater)", "100 min"),
            ("hot_water[main heater].lukewarm.minutes", "hot water lukewarm (main heater)", "100 min"),
            ("hot_water[0].lowest_outlet_c", "coolest water from the heater (0)", "212 °F"),
            ("hot_water[a].growth_l_h", "hot water growth (a)", "26.4 gal h"),
            ("rooms[cellar].lowest_c", "rooms lowest (cellar)", "212 °F"),
            ("energy.cost", "cost of energy", "100"),
            ("energy.co2_kg", "carbon dioxide", "220 lb"),
            ("weather.rain_mm", "weather rain", "3.94 in"),
            ("well.deepest_drawdown_m", "deepest drawdown of the well", "328 ft"),
        ];
        for (path, words, said) in cases {
            assert_eq!(told(path), (words.to_owned(), said.to_owned()), "{path}");
        }
        // A difference of temperatures has no zero.
        assert_eq!(Figure::of("hot_water[a].lowest_outlet_c").difference_said(Units::Us, 10.0), "+18 °F");
    }

    #[test]
    fn exact_keys_are_called_by_their_end() {
        let cases = [
            ("storage.volume", "storage volume"),
            ("plant.storage.low_float", "storage low float"),
            ("hot_water[main heater].volume", "main heater volume"),
            ("hot_water[1].volume", "hot water 1 volume"),
        ];
        for (path, words) in cases {
            assert_eq!(tail(path), words);
        }
    }
}
