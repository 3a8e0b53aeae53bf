//! Why a plant cannot be built.

use core::fmt;

use thiserror::Error;

use super::MOST_OUTLETS;
use crate::supply::MOST_SUPPLIES;
use crate::treatment::MOST_STAGES;

/// What a [`Place`] is a place of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Of {
    /// The plant; the key then begins with the part.
    Plant,
    /// A well, cistern, pond or town line, by the index of its supply.
    Source(usize),
    /// The pump of a supply, by index.
    Pump(usize),
    /// A stage of treatment, by index.
    Stage(usize),
    /// A building or raw load, by index.
    Outlet(usize),
    /// A water heater, by index.
    Heater(usize),
    /// A room with heaters, by index.
    Room(usize),
}

/// A place in a plant: a dotted path of keys.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Place {
    /// Of what.
    pub of: Of,
    /// The keys.
    pub key: &'static str,
}

impl fmt::Display for Place {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.of {
            Of::Plant => write!(out, "{}", self.key),
            Of::Source(i) => write!(out, "source {i}: {}", self.key),
            Of::Pump(i) => write!(out, "pump {i}: {}", self.key),
            Of::Stage(i) => write!(out, "stage {i}: {}", self.key),
            Of::Outlet(i) => write!(out, "outlet {i}: {}", self.key),
            Of::Heater(i) => write!(out, "heater {i}: {}", self.key),
            Of::Room(i) => write!(out, "room {i}: {}", self.key),
        }
    }
}

/// Why a plant cannot be built.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum Fault {
    /// A number is not finite, or not in the range that makes sense for it.
    #[error("{place} is {value}, which is outside {least} to {most}")]
    OutOfRange {
        /// Where.
        place: Place,
        /// What was found.
        value: f64,
        /// The least that is accepted.
        least: f64,
        /// The most that is accepted.
        most: f64,
    },
    /// Of two values that must rise, the first is not below the second.
    #[error("{lower} ({lower_value}) must be below {upper} ({upper_value})")]
    OutOfOrder {
        /// The place that must hold the lower value.
        lower: Place,
        /// Its value.
        lower_value: f64,
        /// The place that must hold the higher value.
        upper: Place,
        /// Its value.
        upper_value: f64,
    },
    /// The pump hangs above the standing water.
    #[error("the pump at {pump_depth_m} m hangs above the standing water at {static_depth_m} m")]
    PumpAboveWater {
        /// Index of the supply.
        supply: usize,
        /// Depth of the intake.
        pump_depth_m: f64,
        /// Depth of the standing water.
        static_depth_m: f64,
    },
    /// A pump has too little head for the pressure asked of it.
    #[error("{place} makes {shutoff_m:.1} m at no flow, but {needed_m:.1} m are needed")]
    TooLittleHead {
        /// The pump.
        place: Place,
        /// Its head at no flow.
        shutoff_m: f64,
        /// Lift and pressure together, as head.
        needed_m: f64,
    },
    /// An outlet hangs on a header that nothing feeds.
    #[error("outlet {index} hangs on the delivery header, but there is no storage and delivery pump")]
    FedByNothing {
        /// Index of the outlet.
        index: usize,
    },
    /// A stage stands on the delivery line, and there is none.
    #[error("stage {index} stands behind the delivery pump, but there is no storage and delivery pump")]
    StageOnNothing {
        /// Index of the stage.
        index: usize,
    },
    /// Two outlets have one name.
    #[error("outlets {first} and {second} have the same name")]
    SameName {
        /// Index of the first.
        first: usize,
        /// Index of the second.
        second: usize,
    },
    /// No outlet takes water.
    #[error("the plant feeds nothing")]
    NoOutlet,
    /// More outlets than [`MOST_OUTLETS`].
    #[error("{found} outlets, but at most {MOST_OUTLETS} can be simulated")]
    TooManyOutlets {
        /// How many there are.
        found: usize,
    },
    /// More stages than [`MOST_STAGES`].
    #[error("{found} stages of treatment, but at most {MOST_STAGES} can be simulated")]
    TooManyStages {
        /// How many there are.
        found: usize,
    },
    /// More supplies than [`MOST_SUPPLIES`].
    #[error("{found} supplies, but at most {MOST_SUPPLIES} can be simulated")]
    TooManySupplies {
        /// How many there are.
        found: usize,
    },
    /// No supply feeds the plant before a change-over.
    #[error("no first supply: all are standby, or there is none")]
    NoFirstSupply,
    /// A town line and another first supply, or two standby ones of which one is a town line: they would feed one header.
    #[error("supplies {first} and {second} would feed one header at once, which they cannot")]
    FeedTogether {
        /// Index of one.
        first: usize,
        /// Index of the other.
        second: usize,
    },
    /// A standby supply without a rule by which it comes in.
    #[error("supply {supply} is a standby, but there is no change-over")]
    NoChangeOver {
        /// Its index.
        supply: usize,
    },
    /// Storage is to be filled by a membrane unit that is not there, or by a valve while there is a unit.
    #[error("a membrane unit fills storage by its floats, and only it does")]
    MembraneAndFill,
    /// A membrane unit rejects into a supply that is no basin, or that cannot be cut off from the plant.
    #[error("a membrane unit can reject into a standby cistern or pond only, not into supply {supply}")]
    RejectToNoBasin {
        /// Its index.
        supply: usize,
    },
    /// A pump of a membrane unit must have a head to give.
    #[error("the membrane unit's pump has a constant flow and no head")]
    MembranePumpWithoutHead,
    /// A heater serves what is no building.
    #[error("heater {heater} serves outlet {outlet}, which is no building")]
    HeaterServesNobody {
        /// Index of the heater.
        heater: usize,
        /// Index of the outlet.
        outlet: usize,
    },
    /// A pump needs a pressure tank.
    #[error("a pump needs a pressure tank behind it")]
    NoPressureTank,
}
