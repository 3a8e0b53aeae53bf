//! What the core finds wrong with a plant, told in the scenario's words, units and places.

mod places;
mod warnings;

use springhouse_core::plant::{Fault, MOST_OUTLETS, Of, Parts, Place};
use springhouse_core::supply::{Control, MOST_SUPPLIES};
use springhouse_core::treatment::MOST_STAGES;

use self::places::{Key, high_key, in_base};
pub(crate) use self::warnings::warnings;
use crate::assemble::outlets::Names;
use crate::assemble::stages;
use crate::diagnostic::Diagnostic;
use crate::display::{Units, brief};
use crate::quantity::unit::Dimension;
use crate::sections::{ScenarioFile, SupplyWord};
use crate::source::{Format, Source, Stretch};
use crate::tree::Node;
use crate::typed::Presence;

/// Finds the places that faults and warnings speak of.
pub(crate) struct Faults<'a> {
    file: &'a ScenarioFile,
    root: &'a Node,
    /// Where outlets are named.
    names: &'a Names<'a>,
    /// The supplies in the plant's order.
    words: Vec<SupplyWord>,
    /// Stages of the file in the plant's order.
    stages: Vec<usize>,
    source: &'a Source,
    units: Units,
}

/// Keys whose larger value lies deeper.
const DEPTHS: [&str; 5] = ["static_level", "pump_depth", "water_entry", "restart_level", "stop_level"];

/// Why one value must be less than another.
const REASONS: [(&str, &str); 11] = [
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
    ("until", "the unit runs at any hour under `always_below`, until there is as much as the fuller `until`"),
    ("set_pressure", "the pump wakes, and the small tank gives water, below the pressure it holds"),
];

/// What is usual of shares that everybody can set right by that.
const USUAL: [(&str, &str); 4] = [
    ("battery.round_trip", "it is usually from 85 to 95 %: the data sheet has it"),
    ("battery.reserve", "100 % keeps all of it for outages, 0 % nothing"),
    ("battery.start", "100 % is full; leave `start` out for that"),
    ("backup.house", "100 % feeds all of the rest of the house, 0 % nothing"),
];

impl<'a> Faults<'a> {
    pub(crate) fn new(
        file: &'a ScenarioFile,
        root: &'a Node,
        names: &'a Names<'a>,
        source: &'a Source,
        units: Units,
    ) -> Self {
        let stages = stages::order(file).unwrap_or_default();
        Self { file, root, names, words: SupplyWord::of(file), stages, source, units }
    }

    /// The faults without those of values that are left out and follow from others: these are told already.
    pub(crate) fn causes<'f>(&self, faults: &'f [Fault]) -> Vec<&'f Fault> {
        let follows = |fault: &Fault| match fault {
            Fault::OutOfRange { place, .. } => {
                let key = self.at(*place);
                key.typed.is_none()
                    && key.field.is_some_and(|field| matches!(field.presence, Presence::Optional { .. }))
            }
            // A pipe that bursts at a building which nothing feeds.
            Fault::FedByNothing { index } => *index >= self.file.building.len(),
            _ => false,
        };
        let causes: Vec<_> = faults.iter().filter(|fault| !follows(fault)).collect();
        if causes.is_empty() { faults.iter().collect() } else { causes }
    }

    pub(crate) fn fault(&self, fault: &Fault, parts: &Parts) -> Diagnostic {
        match *fault {
            Fault::OutOfRange { place, value, least, most } => self.out_of_range((place, value), (least, most), parts),
            Fault::OutOfOrder { lower, lower_value, upper, upper_value } => {
                self.out_of_order((lower, lower_value), (upper, upper_value), parts)
            }
            Fault::PumpAboveWater { supply, pump_depth_m, static_depth_m } => {
                let (pump, water) = (self.units.length(pump_depth_m), self.units.length(static_depth_m));
                let title = format!("the pump hangs at {pump}, but the water stands at {water}: it would pump air");
                Diagnostic::error(title)
                    .at(self.at(Place { of: Of::Source(supply), key: "pump_depth" }).place, "the pump's intake")
                    .at(
                        self.at(Place { of: Of::Source(supply), key: "static_level" }).place,
                        "the water when nothing is pumped",
                    )
                    .help("the pump must hang deeper than the standing water, and below the deepest drawdown")
            }
            Fault::TooLittleHead { place, shutoff_m, needed_m } => {
                self.too_little_head(place, shutoff_m, needed_m, parts)
            }
            Fault::FedByNothing { index } => self.fed_by_nothing(index),
            Fault::SameName { first, second } => {
                let name = parts.outlets.get(second).map_or("", |outlet| outlet.name.as_str());
                Diagnostic::error(format!("two buildings or raw loads are called \"{name}\""))
                    .at(self.names.place(second), "second")
                    .at(self.names.place(first), "first")
                    .help("draws find them by name: give each its own")
            }
            Fault::HeaterServesNobody { heater, .. } => {
                let key = self.at(Place { of: Of::Heater(heater), key: "building" });
                key.mark(Diagnostic::error("a heater serves a building, and this is none"), "serves nobody")
            }
            Fault::NoOutlet => {
                Diagnostic::error("the plant feeds nothing").at(Stretch::default(), "").help(match self.source.format {
                    Format::Toml => "add:\n[[building]]\nname = \"house\"",
                    Format::Json => "add:\n\"building\": [{ \"name\": \"house\" }]",
                })
            }
            Fault::StageOnNothing { .. }
            | Fault::TooManyStages { .. }
            | Fault::TooManySupplies { .. }
            | Fault::NoFirstSupply
            | Fault::FeedTogether { .. }
            | Fault::NoChangeOver { .. }
            | Fault::MembraneAndFill
            | Fault::RejectToNoBasin { .. }
            | Fault::MembranePumpWithoutHead
            | Fault::NoPressureTank => self.of_whole(fault, parts),
            Fault::TooManyOutlets { found } => {
                let title = format!("{found} buildings and raw loads are more than the {MOST_OUTLETS} that can be run");
                Diagnostic::error(title)
                    .at(self.names.place(MOST_OUTLETS), "the first too many")
                    .help("draws of buildings side by side can be put into one")
            }
        }
    }

    fn out_of_range(&self, (place, value): (Place, f64), (least, most): (f64, f64), parts: &Parts) -> Diagnostic {
        let key = self.at(place);
        let dimension = key.dimension();
        let shown = |value: f64| self.shown(dimension, in_base(place, value));
        let name = &key.name;
        let (title, label) = if value < least && least >= 0.0 && value < 0.0 {
            (format!("`{name}` must not be negative"), shown(value))
        } else if value < least {
            let [found, limit] = self.apart(dimension, [value, least].map(|value| in_base(place, value)));
            (format!("`{name}` is {found}, but must be at least {limit}"), "too small".to_owned())
        } else {
            let [found, limit] = self.apart(dimension, [value, most].map(|value| in_base(place, value)));
            (format!("`{name}` is {found}, but must be at most {limit}"), "too large".to_owned())
        };
        let diagnostic = key.mark(Diagnostic::error(title), label);
        if place.key == "change_at_loss" && value < least {
            return self.at(Place { key: "clean_loss", ..place }).mark(diagnostic, "lost when clean");
        }
        if let Some((_, usual)) = USUAL.iter().find(|(own, _)| *own == place.key) {
            return diagnostic.help(*usual);
        }
        match self.limit(place, parts) {
            Some(limit) if value > most => limit.mark(diagnostic, "this is the limit"),
            _ => diagnostic,
        }
    }

    fn out_of_order(
        &self,
        (lower, lower_value): (Place, f64),
        (upper, upper_value): (Place, f64),
        parts: &Parts,
    ) -> Diagnostic {
        let (low, high) = (self.at(lower), self.at(upper));
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
            let Of::Pump(supply) = upper.of else { return diagnostic };
            let pump = parts.supplies.get(supply).and_then(|supply| supply.source.pump());
            return match pump.map(|pump| &pump.control) {
                Some(Control::Switch { cut_in_kpa, .. }) => diagnostic.help(self.usual_precharge(*cut_in_kpa)),
                Some(Control::Drive(_)) => diagnostic.help("let it be less than `wake_pressure` of the drive"),
                None => diagnostic,
            };
        }
        let own = match (lower.of, lower.key, upper.key) {
            (Of::Source(_), "cutoff.stop", _) => {
                Some("the pump stops at `stop` and may run again at the fuller `restart`")
            }
            (Of::Plant, "membrane.floats.start", _) => {
                Some("the unit is called at `start` and stopped at the fuller `stop`")
            }
            (Of::Pump(_), _, "set_pressure") => {
                Some("the pump wakes, and the pressure tank gives water, below the pressure it holds")
            }
            _ => None,
        };
        if let Some(own) = own {
            return diagnostic.note(own);
        }
        match REASONS.iter().find(|(key, _)| *key == high.name) {
            Some((_, reason)) => diagnostic.note(*reason),
            None => diagnostic,
        }
    }

    fn too_little_head(&self, place: Place, shutoff_m: f64, needed_m: f64, parts: &Parts) -> Diagnostic {
        let length = |m| self.units.length(m);
        let (pressure, pressure_kpa, lift_key, lift_m) = match (place.of, &parts.store) {
            (Of::Pump(i), _) => {
                let control = parts.supplies.get(i).and_then(|supply| Some(&supply.source.pump()?.control));
                let (key, high_kpa) =
                    control.map_or(("cut_out", 0.0), |control| (high_key(control), control.high_kpa()));
                let is_well = parts.supplies.get(i).is_some_and(|supply| supply.source.well().is_some());
                let lift = if is_well { "static_level" } else { "brim_height" };
                let lift_m = needed_m - parts.water.head_m(high_kpa);
                (self.at(Place { key, ..place }), high_kpa, self.at(Place { of: Of::Source(i), key: lift }), lift_m)
            }
            (_, store) => {
                let (high_kpa, lift_m) =
                    store.as_ref().map_or((0.0, 0.0), |store| (store.delivery.drive.set_kpa, store.delivery.lift_m));
                (self.key("delivery.set_pressure"), high_kpa, self.key("delivery.lift"), lift_m)
            }
        };
        let pressure_m = parts.water.head_m(pressure_kpa);
        let curve = self.at(place);
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

    /// What is wrong with the supplies or stages as a whole.
    fn of_whole(&self, fault: &Fault, parts: &Parts) -> Diagnostic {
        match *fault {
            Fault::StageOnNothing { index } => {
                let name = parts.stages.get(index).map_or("", |stage| stage.name.as_str());
                let behind = self.at(Place { of: Of::Stage(index), key: "behind" });
                Diagnostic::error(format!("\"{name}\" stands behind a delivery pump, but there is none"))
                    .at(behind.place, "nothing feeds it")
                    .help("let `behind` be \"header\", or add the sections `storage` and `delivery`")
            }
            Fault::TooManyStages { found } => {
                let first = self.at(Place { of: Of::Stage(MOST_STAGES), key: "name" });
                let title = format!("{found} stages of treatment are more than the {MOST_STAGES} that can be run");
                Diagnostic::error(title)
                    .at(first.place, "the first too many")
                    .help("stages of one kind, one behind the other, can be put into one")
            }
            Fault::TooManySupplies { found } => {
                let title = format!("{found} supplies are more than the {MOST_SUPPLIES} that can be run");
                let known: Vec<_> = self.words.iter().map(|word| format!("`{}`", word.section())).collect();
                Diagnostic::error(title)
                    .at(self.header(found.saturating_sub(1)), "too many")
                    .note(format!("there are {}", known.join(", ")))
                    .help("leave out those that matter least")
            }
            Fault::NoFirstSupply => {
                let marked = Diagnostic::error("every supply is a standby: nothing feeds the plant to begin with");
                let marked =
                    (0..self.words.len()).fold(marked, |marked, i| marked.at(self.standby(i).place, "a standby"));
                marked.help("take `standby` out of the section of the supply that is to feed the plant")
            }
            Fault::FeedTogether { first, second } => self.feed_together([first, second], parts),
            Fault::NoChangeOver { supply } => {
                let word = self.word(supply).map_or("", SupplyWord::word);
                Diagnostic::error(format!("the {word} is a standby, but nothing says when it comes in"))
                    .at(self.standby(supply).place, "no section `change_over`")
                    .help(match self.source.format {
                        Format::Toml => "add:\n[change_over]\nafter = \"10 min\"",
                        Format::Json => "add:\n\"change_over\": { \"after\": \"10 min\" }",
                    })
            }
            Fault::RejectToNoBasin { supply } => self.reject_to_no_basin(supply, parts),
            Fault::MembranePumpWithoutHead => Diagnostic::error("the pump of the membrane unit has no head to give")
                .at(self.key("membrane.pump.curve").place, "no head")
                .help("its data sheet gives head against flow"),
            Fault::MembraneAndFill => {
                Diagnostic::error("a membrane unit and a valve cannot both fill the storage tank")
                    .at(self.key("membrane").place, "fills it")
                    .help("leave out the valve's float, or the unit")
            }
            _ => Diagnostic::error(fault.to_string()),
        }
    }

    /// What a unit rejects may run only into open water that can be cut off from the plant.
    fn reject_to_no_basin(&self, supply: usize, parts: &Parts) -> Diagnostic {
        let word = self.word(supply).map_or("", SupplyWord::word);
        let basin = parts.supplies.get(supply).is_some_and(|it| it.source.basin().is_some());
        let title = if basin {
            format!("the membrane unit rejects into a {word} that feeds the plant: its salt would come back")
        } else {
            format!("the membrane unit cannot reject into a {word}")
        };
        let fault = Diagnostic::error(title).at(self.key("membrane.reject_to").place, "where the reject goes");
        if !basin {
            return fault
                .help("name a cistern or pond that is a standby, or leave `reject_to` out: it then goes to a drain");
        }
        let change_over = if self.file.change_over.is_some() { "" } else { ", and add [change_over]" };
        fault.at(self.header(supply), "feeds the plant all the time").help(format!(
            "let it be standby = true{change_over}: while it stands in, the reject goes to the drain; \
             without `after` it comes in by hand only"
        ))
    }

    fn standby(&self, supply: usize) -> Key<'a> {
        self.at(Place { of: Of::Source(supply), key: "standby" })
    }

    /// Two supplies that are at odds with each other on one header.
    fn feed_together(&self, pair: [usize; 2], parts: &Parts) -> Diagnostic {
        let both = pair.map(|i| parts.supplies.get(i));
        let town_line = both.iter().flatten().any(|supply| supply.source.pump().is_none());
        let what = if town_line { "a town line and a pump" } else { "a pump with a drive and another pump" };
        let [first, second] = pair.map(|i| (self.header(i), self.word(i).map_or("", SupplyWord::word)));
        let why = if town_line {
            "the one with the higher pressure would hold the other's check valve shut; local code says how a main is kept \
             apart from private water"
        } else {
            "a drive holds a pressure by its speed: another pump beside it would take that from it"
        };
        let fault = Diagnostic::error(format!("{what} cannot feed one header at once"))
            .at(second.0, format!("the {} feeds it", second.1))
            .at(first.0, format!("the {} too", first.1))
            .note(why);
        if both.iter().flatten().all(|supply| supply.standby) {
            return fault.help("let only one of them be a standby");
        }
        let change_over = if self.file.change_over.is_some() { "" } else { " and add [change_over]" };
        fault.help(format!("make one of them standby = true{change_over}"))
    }

    /// A value of a key and the limit it broke, with enough digits to be told apart.
    fn apart(&self, dimension: Option<&'static Dimension>, [found, limit]: [f64; 2]) -> [String; 2] {
        match dimension {
            Some(dimension) => [self.units.apart(dimension, found, limit), self.units.apart(dimension, limit, found)],
            None => [found, limit].map(brief),
        }
    }

    /// A value of a key in the scenario's units; shares of a tank as volumes.
    fn shown(&self, dimension: Option<&'static Dimension>, value: f64) -> String {
        dimension.map_or_else(|| brief(value), |dimension| self.units.quantity(dimension, value))
    }
}
