//! What the core finds wrong with a plant, told in the scenario's words, units and places.

use springhouse_core::plant::{Fault, MOST_OUTLETS, Of, Parts, Place, Plant, Warning};
use springhouse_core::pressure_tank::PressureTank;
use springhouse_core::supply::Control;

use crate::diagnostic::Diagnostic;
use crate::display::Units;
use crate::quantity::unit::Dimension;
use crate::sections::ScenarioFile;
use crate::source::{Format, Source, Stretch};
use crate::tree::{Entry, Node, Table};
use crate::typed::{Field, Presence, Section};

/// Finds the places that faults and warnings speak of.
pub(crate) struct Faults<'a> {
    file: &'a ScenarioFile,
    root: &'a Node,
    source: &'a Source,
    units: Units,
}

/// A key of the scenario that stands for one of the core's places.
struct Key<'a> {
    name: String,
    /// Its value, or the header of the section it would stand in.
    place: Stretch,
    /// As typed; `None` where it is left out.
    typed: Option<&'a str>,
    field: Option<&'static Field>,
}

/// Places that may be given by another key.
const OTHER_KEYS: [(&str, &str); 5] = [
    ("well.casing_diameter", "well.casing_storage"),
    ("well.specific_capacity", "well.test"),
    ("well.water_entry", "well.pump_depth"),
    ("site.density", "site.water_temperature"),
    ("site.viscosity", "site.water_temperature"),
];

/// Keys that may not exceed another one.
const LIMITS: [(&str, &str); 9] = [
    ("well.start_drawdown", "well.pump_depth"),
    ("pressure_tank.start_pressure", "well_pump.cut_out"),
    ("storage.start", "storage.volume"),
    ("storage.protect", "storage.volume"),
    ("storage.float_switch.start", "storage.volume"),
    ("storage.float_switch.stop", "storage.volume"),
    ("storage.float_valve.open", "storage.volume"),
    ("storage.float_valve.shut", "storage.volume"),
    ("delivery.start_pressure", "delivery.set_pressure"),
];

/// Keys whose larger value lies deeper.
const DEPTHS: [&str; 5] = ["static_level", "pump_depth", "water_entry", "restart_level", "stop_level"];

/// Why one value must be less than another.
const REASONS: [(&str, &str); 10] = [
    ("cut_out", "the switch starts the pump at `cut_in` and stops it at the higher `cut_out`"),
    (
        "stop_level",
        "the pump stops at the deeper `stop_level` and may run again when the water is back up at `restart_level`",
    ),
    ("pump_depth", "the device must stop the pump before the water is down at its intake"),
    (
        "restart_level",
        "the water must be able to come back up to `restart_level`: it never stands above `static_level`",
    ),
    ("water_entry", "water enters the well below the level it stands at"),
    ("restart", "the pump stops at `protect` and may run again at the fuller `restart`"),
    (
        "start",
        "the delivery pump stops at `protect`, before the water is down at `start` where the filling begins: the tank would \
         stay there for ever",
    ),
    ("stop", "the valve opens at the lower level and closes at the fuller one"),
    ("shut", "the valve is fully open at the lower level and shut at the fuller one"),
    ("set_pressure", "the pump wakes, and the small tank gives water, below the pressure it holds"),
];

/// The usual precharge lies this far under cut-in: 2 psi.
const USUAL_PRECHARGE_KPA: f64 = 14.0;

/// The path of keys that a place in the core's plant has in the scenario.
fn path(place: Place) -> String {
    let section = match place.of {
        Of::Plant => return place.key.to_owned(),
        Of::Source(_) => "well",
        Of::Pump(_) => "well_pump",
        Of::Stage(_) => "stage",
        Of::Outlet(_) => "building",
    };
    format!("{section}.{}", place.key)
}

/// What a plant is warned about. A tank that gives little because of its air alone is told by its air, not as too small.
pub(crate) fn warnings(plant: &Plant) -> Vec<Warning> {
    let pump = plant.supplies.iter().find_map(|supply| supply.source.pump());
    let (mut cut_in_kpa, mut cut_out_kpa) = (0.0, 0.0);
    if let Some(Control::Switch { cut_in_kpa: low_kpa, cut_out_kpa: high_kpa }) = pump.map(|pump| &pump.control) {
        (cut_in_kpa, cut_out_kpa) = (*low_kpa, *high_kpa);
    }
    let precharge_kpa = (cut_in_kpa - USUAL_PRECHARGE_KPA).max(0.0);
    let sound_l = plant
        .pressure_tank
        .clone()
        .map_or(0.0, |tank| PressureTank { precharge_kpa, air_share: 1.0, ..tank }.drawdown_l(cut_out_kpa, cut_in_kpa));
    let mut warnings = plant.warnings();
    let is_of_air = |warning: &Warning| {
        use Warning::{AirLost, PrechargeAboveCutIn, PrechargeLow};
        matches!(warning, AirLost { .. } | PrechargeAboveCutIn { .. } | PrechargeLow { .. })
    };
    if warnings.iter().any(is_of_air) {
        warnings
            .retain(|warning| !matches!(warning, Warning::TankSmallForPump { minute_l, .. } if sound_l >= *minute_l));
    }
    warnings
}

impl<'a> Faults<'a> {
    pub(crate) fn new(file: &'a ScenarioFile, root: &'a Node, source: &'a Source, units: Units) -> Self {
        Self { file, root, source, units }
    }

    /// The faults without those of values that are left out and follow from others: these are told already.
    pub(crate) fn causes<'f>(&self, faults: &'f [Fault]) -> Vec<&'f Fault> {
        let follows = |fault: &Fault| {
            matches!(fault, Fault::OutOfRange { place, .. } if {
                let key = self.key(&path(*place));
                key.typed.is_none() && key.field.is_some_and(|field| matches!(field.presence, Presence::Optional { .. }))
            })
        };
        let causes: Vec<_> = faults.iter().filter(|fault| !follows(fault)).collect();
        if causes.is_empty() { faults.iter().collect() } else { causes }
    }

    pub(crate) fn fault(&self, fault: &Fault, parts: &Parts) -> Diagnostic {
        match *fault {
            Fault::OutOfRange { place, value, least, most } => self.out_of_range(place, value, least, most),
            Fault::OutOfOrder { lower, lower_value, upper, upper_value } => {
                self.out_of_order((lower, lower_value), (upper, upper_value))
            }
            Fault::PumpAboveWater { pump_depth_m, static_depth_m, .. } => {
                let (pump, water) = (self.units.length(pump_depth_m), self.units.length(static_depth_m));
                let title = format!("the pump hangs at {pump}, but the water stands at {water}: it would pump air");
                Diagnostic::error(title)
                    .at(self.key("well.pump_depth").place, "the pump's intake")
                    .at(self.key("well.static_level").place, "the water when nothing is pumped")
                    .help("the pump must hang deeper than the standing water, and below the deepest drawdown")
            }
            Fault::TooLittleHead { place, shutoff_m, needed_m } => {
                self.too_little_head(place, shutoff_m, needed_m, parts)
            }
            Fault::FedByNothing { index } => self.fed_by_nothing(index),
            Fault::SameName { first, second } => {
                let name = parts.outlets.get(second).map_or("", |outlet| outlet.name.as_str());
                Diagnostic::error(format!("two buildings or raw loads are called \"{name}\""))
                    .at(self.outlet_name(second), "second")
                    .at(self.outlet_name(first), "first")
                    .help("draws find them by name: give each its own")
            }
            Fault::NoOutlet => {
                Diagnostic::error("the plant feeds nothing").at(Stretch::default(), "").help(match self.source.format {
                    Format::Toml => "add:\n[[building]]\nname = \"house\"",
                    Format::Json => "add:\n\"building\": [{ \"name\": \"house\" }]",
                })
            }
            // Nothing in a scenario leads to these yet.
            Fault::StageOnNothing { .. }
            | Fault::TooManyStages { .. }
            | Fault::TooManySupplies { .. }
            | Fault::NoFirstSupply
            | Fault::FeedTogether { .. }
            | Fault::NoChangeOver { .. }
            | Fault::NoPressureTank => Diagnostic::error(fault.to_string()).at(Stretch::default(), ""),
            Fault::TooManyOutlets { found } => {
                let title = format!("{found} buildings and raw loads are more than the {MOST_OUTLETS} that can be run");
                Diagnostic::error(title)
                    .at(self.outlet_name(MOST_OUTLETS), "the first too many")
                    .help("draws of buildings side by side can be put into one")
            }
        }
    }

    fn out_of_range(&self, place: Place, value: f64, least: f64, most: f64) -> Diagnostic {
        let key = self.ranged_key(place);
        let dimension = key.dimension();
        let shown = |value: f64| self.shown(dimension, value);
        let name = &key.name;
        let (title, label) = if value < least && least >= 0.0 && value < 0.0 {
            (format!("`{name}` must not be negative"), shown(value))
        } else if value < least {
            (format!("`{name}` is {}, but must be at least {}", shown(value), shown(least)), "too small".to_owned())
        } else {
            (format!("`{name}` is {}, but must be at most {}", shown(value), shown(most)), "too large".to_owned())
        };
        let diagnostic = key.mark(Diagnostic::error(title), label);
        match LIMITS.iter().find(|(own, _)| *own == path(place)) {
            Some((_, limit)) if value > most => self.key(limit).mark(diagnostic, "this is the limit"),
            _ => diagnostic,
        }
    }

    /// The key of a value out of range.
    fn ranged_key(&self, place: Place) -> Key<'a> {
        let Of::Outlet(index) = place.of else { return self.key(&path(place)) };
        let building = self.file.building.get(index).and_then(|building| building.0.as_ref());
        let beyond = index.checked_sub(self.file.building.len());
        let raw_load = beyond.and_then(|index| self.file.raw_load.get(index)?.0.as_ref());
        let full_flow = building.map(|b| &b.full_flow_pressure).or(raw_load.map(|r| &r.full_flow_pressure));
        let place = full_flow.map_or(Stretch::default(), |at| at.place);
        let field = crate::sections::Building::SECTION.field("full_flow_pressure");
        Key { name: "full_flow_pressure".into(), place, typed: Some(self.source.at(place)), field }
    }

    fn out_of_order(&self, (lower, lower_value): (Place, f64), (upper, upper_value): (Place, f64)) -> Diagnostic {
        let (low, high) = (self.key(&path(lower)), self.key(&path(upper)));
        let value = |key: &Key<'_>, value| self.shown(key.dimension(), value);
        let less = if DEPTHS.contains(&low.name.as_str()) { "shallower" } else { "less" };
        let title = format!(
            "`{}` ({}) must be {less} than `{}` ({})",
            low.name,
            value(&low, lower_value),
            high.name,
            value(&high, upper_value)
        );
        let high_label = value(&high, upper_value);
        let mut diagnostic = low.mark(Diagnostic::error(title), value(&low, lower_value));
        diagnostic = high.mark(diagnostic, high_label);
        if lower.key == "pressure_tank.precharge" {
            diagnostic = diagnostic
                .note("a tank with so much air takes no water at all: the pump would start and stop with every draw");
            return match self.file.well_pump.value.0.as_ref() {
                Some(pump) => diagnostic.help(self.usual_precharge(pump.cut_in.value.kpa())),
                None => diagnostic,
            };
        }
        match REASONS.iter().find(|(key, _)| *key == high.name) {
            Some((_, reason)) => diagnostic.note(*reason),
            None => diagnostic,
        }
    }

    fn too_little_head(&self, place: Place, shutoff_m: f64, needed_m: f64, parts: &Parts) -> Diagnostic {
        let length = |m| self.units.length(m);
        let well = matches!(place.of, Of::Pump(_));
        let (pressure_key, pressure_kpa, lift_m) = if let (Some(store), false) = (&parts.store, well) {
            ("delivery.set_pressure", store.delivery.drive.set_kpa, store.delivery.lift_m)
        } else {
            let pump = parts.supplies.iter().find_map(|supply| supply.source.pump());
            let high_kpa = pump.map_or(0.0, |pump| pump.control.high_kpa());
            ("well_pump.cut_out", high_kpa, needed_m - parts.water.head_m(high_kpa))
        };
        let pressure_m = parts.water.head_m(pressure_kpa);
        let (curve, pressure) = (self.key(&path(place)), self.key(pressure_key));
        let lift_key = self.key(if well { "well.static_level" } else { "delivery.lift" });
        let title = format!("the pump cannot reach `{}`, not even at no flow", pressure.name);
        let diagnostic = curve
            .mark(Diagnostic::error(title), format!("makes {} of head at no flow", length(shutoff_m)))
            .at(pressure.place, format!("{} is {} of head", self.units.pressure(pressure_kpa), length(pressure_m)));
        let diagnostic = if lift_key.typed.is_some() {
            diagnostic.at(lift_key.place, format!("{} of lift to the gauge", length(lift_m)))
        } else {
            diagnostic
        };
        diagnostic
            .note(format!(
                "needed: lift {} + pressure {} = {}; the pump's shut-off head is {}",
                length(lift_m),
                length(pressure_m),
                length(needed_m),
                length(shutoff_m)
            ))
            .help(format!("a pump with more head, or a lower `{}`", pressure.name))
    }

    fn fed_by_nothing(&self, index: usize) -> Diagnostic {
        let building = self.file.building.get(index).and_then(|building| building.0.as_ref());
        let name = building.map_or("", |building| building.name.value.0.as_str());
        let place = building.map_or(Stretch::default(), |b| b.fed_by.map_or(b.name.place, |fed_by| fed_by.place));
        Diagnostic::error(format!("\"{name}\" is fed by a delivery pump, but there is none"))
            .at(place, "nothing feeds it")
            .help("let `fed_by` be \"well\", or add the sections `storage` and `delivery`")
    }

    /// Where an outlet is named; outlets are buildings, then raw loads.
    fn outlet_name(&self, index: usize) -> Stretch {
        let buildings = self.file.building.iter().map(|building| Some(building.0.as_ref()?.name.place));
        let raw_loads = self.file.raw_load.iter().map(|raw_load| Some(raw_load.0.as_ref()?.name.place));
        buildings.chain(raw_loads).nth(index).flatten().unwrap_or_default()
    }

    pub(crate) fn warning(&self, warning: &Warning) -> Diagnostic {
        let (pressure, volume) = (|kpa| self.units.pressure(kpa), |l| self.units.volume(l));
        match *warning {
            Warning::PrechargeAboveCutIn { precharge_kpa, cut_in_kpa, .. } => self
                .precharge(precharge_kpa, cut_in_kpa, "above `cut_in`: the tank runs empty before the pump starts")
                .help(self.usual_precharge(cut_in_kpa)),
            Warning::PrechargeLow { precharge_kpa, cut_in_kpa, .. } => self
                .precharge(precharge_kpa, cut_in_kpa, "far below `cut_in`: the tank gives less water between starts")
                .help(self.usual_precharge(cut_in_kpa)),
            Warning::AirLost { air_share } => {
                let title = format!("the pressure tank has only {:.0} % of its air left", 100.0 * air_share);
                self.key("pressure_tank.air_left")
                    .mark(Diagnostic::warning(title), "waterlogged")
                    .note("the pump will start and stop in quick turns")
            }
            Warning::NoLowLevelCutoff { .. } => {
                let well = self.table(&["well"]).map_or(Stretch::default(), |table| table.header);
                Diagnostic::warning("the pump can take more than the well gives, and nothing stops it at low water")
                    .at(well, "no `cutoff` here")
                    .note("a submersible pump that runs dry is soon ruined")
                    .help("a section `well.cutoff` with `stop_level` and `restart_level` describes such a device")
            }
            Warning::SmallTankAboveWake { precharge_kpa, wake_kpa } => {
                let title = format!(
                    "the small tank's precharge ({}) is not below the wake pressure ({})",
                    pressure(precharge_kpa),
                    pressure(wake_kpa)
                );
                let wake = self.key("delivery.wake_pressure");
                let marked = self
                    .key("delivery.tank_precharge")
                    .mark(Diagnostic::warning(title), "the small tank is empty before the pump wakes");
                wake.mark(marked, "the pump wakes here")
            }
            Warning::TankSmallForPump { drawdown_l, minute_l, .. } => {
                let title = format!(
                    "the pressure tank gives {} between starts, less than the pump gives in a minute ({})",
                    volume(drawdown_l),
                    volume(minute_l)
                );
                self.key("pressure_tank.volume")
                    .mark(Diagnostic::warning(title), "small for this pump")
                    .note("a pump that runs for less than a minute each time wears out early")
            }
        }
    }

    fn precharge(&self, precharge_kpa: f64, cut_in_kpa: f64, why: &str) -> Diagnostic {
        let (precharge, cut_in) = (self.units.pressure(precharge_kpa), self.units.pressure(cut_in_kpa));
        let marked = self
            .key("pressure_tank.precharge")
            .mark(Diagnostic::warning(format!("`precharge` ({precharge}) is {why}")), precharge);
        self.key("well_pump.cut_in").mark(marked, cut_in)
    }

    fn usual_precharge(&self, cut_in_kpa: f64) -> String {
        let usual = self.units.pressure((cut_in_kpa - USUAL_PRECHARGE_KPA).max(0.0));
        format!("the practice is 2 psi (14 kPa) under `cut_in`: about {usual}")
    }

    /// A value of a key in the scenario's units; shares of a tank as volumes.
    fn shown(&self, dimension: Option<&'static Dimension>, value: f64) -> String {
        dimension.map_or_else(|| value.to_string(), |dimension| self.units.quantity(dimension, value))
    }

    /// The key at a path, or the one given in its place.
    fn key(&self, path: &str) -> Key<'a> {
        let found = self.typed_key(path);
        if found.typed.is_some() {
            return found;
        }
        let others = OTHER_KEYS.iter().filter(|(own, _)| *own == path).map(|(_, other)| self.typed_key(other));
        others.into_iter().find(|key| key.typed.is_some()).unwrap_or(found)
    }

    fn typed_key(&self, path: &str) -> Key<'a> {
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
        sections.iter().try_fold(self.root.as_table()?, |table, name| table.get(name)?.node.as_table())
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
    fn dimension(&self) -> Option<&'static Dimension> {
        self.field.and_then(|field| (field.shape)().dimension())
    }

    /// Adds the place to a diagnostic, and where the key is left out what holds instead.
    fn mark(&self, diagnostic: Diagnostic, label: impl Into<String>) -> Diagnostic {
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
    names.iter().try_fold(ScenarioFile::SECTION, |section, name| (section.field(name)?.shape)().section())
}
