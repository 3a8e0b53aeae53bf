//! A supply: a source of water and what lifts it to the raw header.

use serde::{Deserialize, Serialize};

use crate::basin::Basin;
use crate::pump::SupplyPump;
use crate::quality::{Carried, Quality};
use crate::time::Span;
use crate::town_line::TownLine;
use crate::well::Well;

/// The most supplies a plant may have: the engine keeps them in arrays of fixed size.
pub const MOST_SUPPLIES: usize = 3;

/// Where water comes from.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Supply {
    /// Its name in results.
    pub name: String,
    /// The source and its pump.
    pub source: Source,
    /// What its water carries; of a basin, when the run starts.
    pub quality: Quality,
    /// Temperature of its water when the run starts.
    pub temp_c: f64,
    /// Feeds the header only after a change-over, while all others are isolated from it; else it feeds while no standby does.
    pub standby: bool,
}

impl Supply {
    /// What its water carries when the run starts.
    #[must_use]
    pub fn carried(&self) -> Carried {
        self.quality.carried_at(self.temp_c)
    }
}

/// A source of water and its pump.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub enum Source {
    /// A drilled well.
    Well {
        /// The well.
        well: Well,
        /// The pump in it.
        pump: SupplyPump,
    },
    /// A cistern or a pond.
    Basin {
        /// The basin.
        basin: Basin,
        /// The pump that takes from it.
        pump: SupplyPump,
    },
    /// A municipal line.
    TownLine(TownLine),
}

impl Source {
    /// The pump, unless the source has a pressure of its own.
    #[must_use]
    pub fn pump(&self) -> Option<&SupplyPump> {
        match self {
            Self::Well { pump, .. } | Self::Basin { pump, .. } => Some(pump),
            Self::TownLine(_) => None,
        }
    }

    /// The well, where it is one.
    #[must_use]
    pub fn well(&self) -> Option<&Well> {
        match self {
            Self::Well { well, .. } => Some(well),
            _ => None,
        }
    }

    /// Whether it is a basin under the open sky.
    #[must_use]
    pub fn is_open(&self) -> bool {
        self.basin().is_some_and(|basin| basin.open.is_some())
    }

    /// The cistern or pond, where it is one.
    #[must_use]
    pub fn basin(&self) -> Option<&Basin> {
        match self {
            Self::Basin { basin, .. } => Some(basin),
            _ => None,
        }
    }
}

/// What decides when a pump runs, and how fast.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub enum Control {
    /// A pressure switch: full speed or nothing.
    Switch {
        /// Closes at this pressure,
        cut_in_kpa: f64,
        /// and opens at this one.
        cut_out_kpa: f64,
    },
    /// A variable-speed drive that holds a pressure.
    Drive(Drive),
}

impl Control {
    /// The pressure that starts the pump.
    #[must_use]
    pub fn low_kpa(&self) -> f64 {
        match self {
            Self::Switch { cut_in_kpa, .. } => *cut_in_kpa,
            Self::Drive(drive) => drive.wake_kpa,
        }
    }

    /// The pressure that the pump works up to.
    #[must_use]
    pub fn high_kpa(&self) -> f64 {
        match self {
            Self::Switch { cut_out_kpa, .. } => *cut_out_kpa,
            Self::Drive(drive) => drive.set_kpa,
        }
    }
}

/// A variable-speed drive and how it is set.
///
/// Asleep it lets a tank feed the house down to the wake pressure; awake it refills the tank at full speed, then holds the set
/// pressure by giving just what is drawn; when little is drawn for a while it sleeps again.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Drive {
    /// Pressure it holds while awake.
    pub set_kpa: f64,
    /// Pressure at which it wakes.
    pub wake_kpa: f64,
    /// Below this flow it counts as idle.
    pub sleep_flow_lps: f64,
    /// How long it idles before it sleeps.
    pub sleep_delay: Span,
    /// Power of the drive while the pump stands still.
    pub standby_w: f64,
}

/// When the standby supply takes over, and when it gives back.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct ChangeOver {
    /// By itself, once no first supply could give water (low level, out of order) for this long; `None`: only by hand.
    pub after: Option<Span>,
    /// By itself again, once a first supply could give water for this long.
    pub back_after: Span,
}
