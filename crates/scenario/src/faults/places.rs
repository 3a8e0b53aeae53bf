//! Where the core's places stand in a scenario.

use springhouse_core::plant::{Of, Parts, Place};
use springhouse_core::supply::Control;

use super::Faults;
use crate::diagnostic::Diagnostic;
use crate::quantity::unit::Dimension;
use crate::sections::{ScenarioFile, SupplyWord};
use crate::source::Stretch;
use crate::tree::{Entry, Node, Table, Value};
use crate::typed::{Field, Presence, Section};

/// A key of the scenario that stands for one of the core's places.
pub(super) struct Key<'a> {
    pub(super) name: String,
    /// Its value, or the header of the section it would stand in.
    pub(super) place: Stretch,
    /// As typed; `None` where it is left out.
    pub(super) typed: Option<&'a str>,
    pub(super) field: Option<&'static Field>,
}

/// Keys that may be given by another one of their part.
const OTHER_KEYS: [(&str, &str); 6] = [
    ("casing_diameter", "casing_storage"),
    ("specific_capacity", "test"),
    ("water_entry", "pump_depth"),
    ("site.density", "site.water_temperature"),
    ("site.viscosity", "site.water_temperature"),
    ("membrane.temperature", "site.water_temperature"),
];

/// Keys that may not exceed another one of their part.
const LIMITS: [(&str, &str); 17] = [
    ("start_drawdown", "pump_depth"),
    ("start", "volume"),
    ("intake", "volume"),
    ("cutoff.stop", "volume"),
    ("cutoff.restart", "volume"),
    ("top_up.start", "volume"),
    ("top_up.stop", "volume"),
    ("storage.start", "storage.volume"),
    ("storage.protect", "storage.volume"),
    ("storage.float_switch.start", "storage.volume"),
    ("storage.float_switch.stop", "storage.volume"),
    ("storage.float_valve.open", "storage.volume"),
    ("storage.float_valve.shut", "storage.volume"),
    ("membrane.floats.start", "storage.volume"),
    ("membrane.floats.stop", "storage.volume"),
    ("membrane.hours.urgent", "storage.volume"),
    ("delivery.start_pressure", "delivery.set_pressure"),
];

/// What stands in the section `water` of a supply.
const WATER_KEYS: [&str; 6] = ["salt", "solids", "iron", "hardness", "chlorine", "transmittance"];

/// What stands in the section `drive` of a pump.
const DRIVE_KEYS: [&str; 5] = ["set_pressure", "wake_pressure", "sleep_flow", "sleep_delay", "standby_power"];

/// Base units of the scenario's key in one of the core's unit, where these differ.
const SCALES: [(&str, f64); 6] = [
    ("path", 0.01),
    ("lamp_hours", 3_600.0),
    ("lamp_life", 3_600.0),
    // Litres a second at 1 kPa to cubic metres an hour at 1 bar.
    ("membrane.valves.reject", 36.0),
    ("membrane.valves.recycle", 36.0),
    // Money for a litre to money for a cubic metre.
    ("generator.fuel_price", 1_000.0),
];

/// Keys of the plant as a whole that the core has other names for.
const NAMES: [(&str, &str); 3] = [
    ("generator.fuel", "generator.tank"),
    ("membrane.hours.urgent", "membrane.hours.always_below"),
    ("membrane.hours.relaxed", "membrane.hours.until"),
];

/// The core's number for a key, in base units of the scenario.
pub(super) fn in_base(place: Place, value: f64) -> f64 {
    SCALES.iter().find(|(key, _)| *key == place.key).map_or(value, |(_, scale)| scale * value)
}

/// The key of the pressure that a control works up to.
pub(super) fn high_key(control: &Control) -> &'static str {
    match control {
        Control::Switch { .. } => "cut_out",
        Control::Drive(_) => "set_pressure",
    }
}

impl<'a> Faults<'a> {
    /// The section of a part of the plant, as a path of keys; empty for the plant as a whole.
    fn section_of(&self, of: Of) -> String {
        let numbered = |list: &str, index: usize| format!("{list}.{index}");
        let buildings = self.file.building.len();
        match of {
            Of::Plant => String::new(),
            Of::Source(i) => self.word(i).map_or_else(String::new, |word| word.section().to_owned()),
            Of::Pump(i) => self.word(i).and_then(SupplyWord::pump).unwrap_or_default().to_owned(),
            Of::Stage(i) => numbered("stage", self.stages.get(i).copied().unwrap_or(i)),
            Of::Outlet(i) if i < buildings => numbered("building", i),
            Of::Outlet(i) => numbered("raw_load", i - buildings),
            Of::Heater(i) => numbered("heater", i),
            Of::Room(i) => numbered("room", i),
        }
    }

    /// The path of keys that a place in the core's plant has in the scenario.
    pub(super) fn path(&self, place: Place) -> String {
        let section = self.section_of(place.of);
        let group = match place.of {
            Of::Plant => {
                return NAMES.iter().find(|(own, _)| *own == place.key).map_or(place.key, |(_, name)| name).to_owned();
            }
            Of::Source(_) if WATER_KEYS.contains(&place.key) => ".water",
            Of::Pump(_) if DRIVE_KEYS.contains(&place.key) => ".drive",
            _ => "",
        };
        format!("{section}{group}.{}", place.key)
    }

    /// The key behind one of the core's places, or the one given in its stead.
    pub(super) fn at(&self, place: Place) -> Key<'a> {
        let found = self.key(&self.path(place));
        let section = self.section_of(place.of);
        let others = OTHER_KEYS.iter().filter(|(own, _)| found.typed.is_none() && *own == place.key);
        let others = others.map(|(_, other)| match place.of {
            Of::Plant => self.key(other),
            _ => self.key(&format!("{section}.{other}")),
        });
        others.into_iter().find(|key| key.typed.is_some()).unwrap_or(found)
    }

    /// The key that a place may not exceed.
    pub(super) fn limit(&self, place: Place, parts: &Parts) -> Option<Key<'a>> {
        if place.key == "pressure_tank.start_pressure" {
            let pumps = parts.supplies.iter().enumerate();
            let pumps = pumps.filter_map(|(i, supply)| Some((i, &supply.source.pump()?.control)));
            let (i, control) =
                pumps.reduce(|most, other| if other.1.high_kpa() > most.1.high_kpa() { other } else { most })?;
            return Some(self.at(Place { of: Of::Pump(i), key: high_key(control) }));
        }
        let (_, limit) = LIMITS.iter().find(|(own, _)| *own == place.key)?;
        Some(match place.of {
            Of::Plant => self.key(limit),
            _ => self.key(&format!("{}.{limit}", self.section_of(place.of))),
        })
    }

    pub(super) fn word(&self, supply: usize) -> Option<SupplyWord> {
        self.words.get(supply).copied()
    }

    /// The header of a supply's section.
    pub(super) fn header(&self, supply: usize) -> Stretch {
        self.word(supply).and_then(|word| word.header(self.file)).unwrap_or_default()
    }

    /// The key at a path, in which a number is the place in a list.
    pub(super) fn key(&self, path: &str) -> Key<'a> {
        let path: Vec<&str> = path.split('.').collect();
        let (name, sections) = path.split_last().map_or(("", [].as_slice()), |(name, sections)| (*name, sections));
        let field = section(sections).and_then(|section| section.field(name));
        let typed = self.table(sections).and_then(|table| table.get(name));
        let place = |entry: &Entry| entry.node.as_table().map_or(entry.node.place, |table| table.header);
        let name = name.to_owned();
        match typed {
            Some(entry) => Key { name, place: place(entry), typed: Some(self.source.at(place(entry))), field },
            None => Key { name, place: self.nearest_header(sections), typed: None, field },
        }
    }

    fn table(&self, sections: &[&str]) -> Option<&'a Table> {
        let step = |node: &'a Node, name: &&str| match &node.value {
            Value::List(items) => items.get(name.parse::<usize>().ok()?),
            _ => Some(&node.as_table()?.get(name)?.node),
        };
        sections.iter().try_fold(self.root, step)?.as_table()
    }

    /// The header of the innermost section of a path that is there.
    fn nearest_header(&self, sections: &[&str]) -> Stretch {
        let depths = (0..=sections.len()).rev();
        depths
            .filter_map(|depth| self.table(sections.get(..depth)?))
            .map(|table| table.header)
            .next()
            .unwrap_or_default()
    }
}

impl Key<'_> {
    pub(super) fn dimension(&self) -> Option<&'static Dimension> {
        self.field.and_then(|field| (field.shape)().dimension())
    }

    /// Adds the place to a diagnostic, and where the key is left out what holds instead.
    pub(super) fn mark(&self, diagnostic: Diagnostic, label: impl Into<String>) -> Diagnostic {
        if self.typed.is_some() {
            return diagnostic.at(self.place, label);
        }
        let otherwise = match self.field.map(|field| &field.presence) {
            Some(Presence::Default { text }) => format!(": {text}"),
            Some(Presence::Optional { otherwise, .. }) => format!(": {otherwise}"),
            _ => String::new(),
        };
        diagnostic.at(self.place, format!("`{}` is left out{otherwise}", self.name))
    }
}

/// The section at a path of names.
fn section(names: &[&str]) -> Option<&'static Section> {
    let names = names.iter().filter(|name| name.parse::<usize>().is_err());
    names.into_iter().try_fold(ScenarioFile::SECTION, |section, name| (section.field(name)?.shape)().section())
}
