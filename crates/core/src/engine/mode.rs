//! The discrete state: what is on, off, open, shut or out.

use serde::{Deserialize, Serialize};

use super::faults::Faults;
use super::power::PowerMode;
use crate::plant::MOST_OUTLETS;
use crate::pond::HourFlows;
use crate::power::Feed;
use crate::supply::MOST_SUPPLIES;
use crate::time::Time;
use crate::treatment::MOST_STAGES;

/// The discrete state of a plant.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[expect(clippy::struct_excessive_bools, reason = "each is a contact, float or watch of its own, free of the others")]
pub(super) struct Mode {
    /// What is out of order.
    pub faults: Faults,
    /// By supply.
    pub supplies: [SupplyMode; MOST_SUPPLIES],
    /// The standby supply feeds, the others are isolated.
    pub on_standby: bool,
    /// Since when what would change that has held; [`Time::NEVER`] where it does not.
    pub change_due_since: Time,
    /// The float switch's contact.
    pub fill_on: bool,
    /// Storage spills.
    pub brim: bool,
    /// No water left to give in the pressure tank; when it last ran empty and last began to fill. The same in the small tank.
    pub tank_empty: bool,
    pub tank_empty_since: Time,
    pub tank_filled_since: Time,
    pub small_empty: bool,
    /// What the delivery pump's drive does.
    pub delivery: DriveMode,
    /// Low storage keeps the delivery pump off.
    pub protect: bool,
    /// What the membrane unit does.
    pub membrane: MembraneMode,
    /// Storage is so low that the unit is held to no hours.
    pub urgent: bool,
    /// Who feeds the site.
    pub power: PowerMode,
    /// Whether outlets have run out.
    pub outlets: [Watch; MOST_OUTLETS],
    /// Whether the pressure to the buildings is under what the controls hold.
    pub pressure: Watch,
    /// Whether ultraviolet units give too little.
    pub doses: [Watch; MOST_STAGES],
}

/// The discrete state of a supply.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[expect(clippy::struct_excessive_bools, reason = "each is a contact or float of its own, free of the others")]
pub(super) struct SupplyMode {
    /// The pressure switch's contact, and since when.
    pub closed: bool,
    pub since: Time,
    /// What a drive does, in place of the switch.
    pub drive: DriveMode,
    /// The low-level cut-off has tripped, and since when.
    pub low_level: bool,
    pub low_level_since: Time,
    /// The water is at the pump's intake: it gives only what flows in.
    pub starved: bool,
    /// The water lies below the intake of a basin's pump: it gives nothing.
    pub uncovered: bool,
    /// The basin spills.
    pub brim: bool,
    /// The basin's top-up valve is open.
    pub top_up_on: bool,
    /// What runs into the basin off a roof.
    pub roof_lps: f64,
    /// What the weather of the hour does to open water.
    pub hour: HourFlows,
}

/// What the membrane unit does, since when, and how it came to it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub(super) struct MembraneMode {
    pub phase: Phase,
    pub since: Time,
    /// Since when its suction has had too little pressure; [`Time::NEVER`] where it has enough.
    pub starved_since: Time,
    /// Trips in a row.
    pub trips: u32,
}

/// What a membrane unit does.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub(super) enum Phase {
    /// Stands still.
    Off,
    /// Flushes before it makes water.
    FlushesBefore,
    /// Makes water that goes to waste.
    Diverts,
    /// Makes water for storage.
    Makes,
    /// Flushes after it has made water.
    FlushesAfter,
    /// Stands still while a bigger motor runs, and goes on after it.
    Pauses,
    /// Has tripped and will try again.
    Waits,
    /// Has tripped too often.
    LockedOut,
}

impl Phase {
    /// Whether its pump runs.
    pub(super) fn makes(self) -> bool {
        matches!(self, Self::Diverts | Self::Makes)
    }

    /// Whether it takes water.
    pub(super) fn draws(self) -> bool {
        !matches!(self, Self::Off | Self::Pauses | Self::Waits | Self::LockedOut)
    }

    /// Whether its inlet switch can trip it.
    pub(super) fn is_watched(self) -> bool {
        matches!(self, Self::FlushesBefore | Self::Diverts | Self::Makes)
    }
}

/// What a watch on a pressure or a dose has seen last.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub(super) enum Watch {
    /// Nothing amiss.
    Well,
    /// A spell is on.
    Low,
    /// A spell is on, but the pressure has been back since then.
    Back { since: Time },
}

impl Watch {
    /// Since when the pressure has been back; [`Time::NEVER`] where it is not.
    pub(super) fn back_since(self) -> Time {
        match self {
            Self::Back { since } => since,
            Self::Well | Self::Low => Time::NEVER,
        }
    }
}

/// What a variable-speed drive does.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub(super) enum DriveMode {
    /// Stands still since then; a tank feeds the house.
    Asleep { since: Time },
    /// Full speed, below the set pressure.
    Full,
    /// Holds the set pressure; idle since then if little is drawn, else [`Time::NEVER`].
    Hold { idle_since: Time },
}

impl DriveMode {
    pub(super) fn asleep(self) -> bool {
        matches!(self, Self::Asleep { .. })
    }
}

impl Mode {
    /// Nothing running.
    pub(super) fn at_rest(faults: Faults) -> Self {
        const LONG_AGO: Time = Time::from_ns(i64::MIN / 2);
        let supply = SupplyMode {
            closed: false,
            since: LONG_AGO,
            drive: DriveMode::Asleep { since: LONG_AGO },
            low_level: false,
            low_level_since: LONG_AGO,
            starved: false,
            uncovered: false,
            brim: false,
            top_up_on: false,
            roof_lps: 0.0,
            hour: HourFlows::NONE,
        };
        Self {
            faults,
            supplies: [supply; _],
            on_standby: false,
            change_due_since: Time::NEVER,
            fill_on: false,
            brim: false,
            tank_empty: false,
            tank_empty_since: LONG_AGO,
            tank_filled_since: LONG_AGO,
            small_empty: false,
            delivery: DriveMode::Asleep { since: LONG_AGO },
            protect: false,
            membrane: MembraneMode { phase: Phase::Off, since: LONG_AGO, starved_since: Time::NEVER, trips: 0 },
            urgent: false,
            power: PowerMode::ON_GRID,
            outlets: [Watch::Well; _],
            pressure: Watch::Well,
            doses: [Watch::Well; _],
        }
    }

    /// The same with nothing of what the raw side does not depend on: the delivery side and the watches.
    pub(super) fn of_raw_side(&self) -> Self {
        Self {
            small_empty: false,
            delivery: DriveMode::Asleep { since: Time::ZERO },
            protect: false,
            outlets: [Watch::Well; _],
            pressure: Watch::Well,
            doses: [Watch::Well; _],
            ..*self
        }
    }

    pub(super) fn has_power(&self) -> bool {
        self.power.feed != Feed::Nobody
    }

    /// Whether the membrane unit could run.
    pub(super) fn membrane_ready(&self) -> bool {
        self.has_power() && self.power.membrane && !self.faults.membrane_out
    }

    /// Whether the delivery pump could run.
    pub(super) fn delivery_ready(&self) -> bool {
        self.has_power() && !self.faults.delivery_out && !self.protect
    }
}
