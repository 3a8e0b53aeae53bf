//! Incidents: something is out of order from one instant to another. And what comes from outside: rain and weather.

use serde::{Deserialize, Serialize};

use crate::power::PowerHour;
use crate::time::Time;
use crate::weather::WeatherHour;

/// What is out of order. Supplies and stages are named by their index in the plant.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub enum IncidentKind {
    /// No electricity on the site.
    PowerOut,
    /// A supply gives nothing: its pump does not run, or the town's main is shut.
    SupplyOut {
        /// Which.
        supply: usize,
    },
    /// The delivery pump does not run.
    DeliveryPumpOut,
    /// The membrane unit is out of service; as it is put back, a lock-out is reset.
    MembraneOut,
    /// The membrane unit is out of service to be cleaned. As it is put back it has what a cleaning brings back; a lock-out is
    /// reset.
    MembraneCleaned,
    /// A worn pump works as one that turns slower: `H = n^2 H_new(Q / n)`, at the power of the new one at `Q / n`.
    PumpWorn {
        /// Which supply's.
        supply: usize,
        /// `n`, from [`LEAST_SPEED`] to 1.
        speed: f64,
    },
    /// The check valve lets water back into the source while the pump stands still.
    LeakBack {
        /// Which supply's.
        supply: usize,
        /// Flow back at the pressure that stops the pump.
        flow_lps: f64,
    },
    /// The pressure tank has lost air, or its precharge: both leave less gas in it. As the tank is put right it is drained to
    /// the pressure it had.
    AirLost {
        /// Part of the tank's gas that is left, up to 1; with what it has, not under
        /// [`LEAST_AIR_SHARE`](crate::pressure_tank::LEAST_AIR_SHARE).
        share: f64,
    },
    /// The float that fills storage is stuck.
    FloatStuck {
        /// Open, or shut.
        open: bool,
    },
    /// A stage's bypass is open and the stage shut off: water passes untreated.
    StageBypassed {
        /// Which.
        stage: usize,
    },
    /// A stage's isolation valve is shut and its bypass too: nothing passes.
    StageShut {
        /// Which.
        stage: usize,
    },
    /// What a stage holds is changed: its cartridge, its bed or its lamp. Nothing passes meanwhile, and then it is new.
    StageChanged {
        /// Which.
        stage: usize,
    },
    /// The standby supply is put in by hand, the others are isolated.
    StandbyByHand,
}

/// No pump turns that is more worn: it would lift a hundredth of its head.
pub const LEAST_SPEED: f64 = 0.1;

/// Something out of order from `start` up to `end`.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Incident {
    /// What is out of order.
    pub kind: IncidentKind,
    /// When it begins.
    pub start: Time,
    /// When it is mended; after `start`.
    pub end: Time,
}

/// From `time` on, `flow_lps` runs into a basin from outside (rain off a roof), until the next such step of that basin.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Inflow {
    /// When.
    pub time: Time,
    /// Index of the supply whose basin it is.
    pub supply: usize,
    /// How much.
    pub flow_lps: f64,
}

/// From `time` on, the water of a well or main has another temperature, until the next such step of that supply. The water in a
/// basin is brought to it, and goes its own way from there.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct TempStep {
    /// When.
    pub time: Time,
    /// Index of the supply.
    pub supply: usize,
    /// How warm.
    pub temp_c: f64,
}

/// What happens to a plant, whatever it does itself.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Outside {
    /// What is out of order, in any order.
    pub incidents: Vec<Incident>,
    /// What runs into basins, in order of time.
    pub inflows: Vec<Inflow>,
    /// How warm the water of wells and mains gets, in order of time.
    pub temps: Vec<TempStep>,
    /// The weather over open water, hour by hour from time zero; after the last hour nothing comes and nothing goes. Empty where
    /// nothing is known of it.
    pub weather: Vec<WeatherHour>,
    /// Sun, rest of the house and prices, hour by hour from time zero; the last hour goes on. Empty where energy is not followed
    /// beyond what parts take.
    pub power: Vec<PowerHour>,
}
