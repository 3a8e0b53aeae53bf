//! The parts of a plant, wired. What cannot be built is refused here; what is built badly is warned about.

mod check;
mod check_hot_water;
mod fault;
mod warning;

use serde::{Deserialize, Serialize};

pub use self::fault::{Fault, Of, Place};
pub use self::warning::Warning;

use crate::delivery::Delivery;
use crate::hot_water::HotWater;
use crate::membrane::Membrane;
use crate::outlet::{Header, Outlet, Role};
use crate::power::SitePower;
use crate::pressure_tank::PressureTank;
use crate::storage::Storage;
use crate::supply::{ChangeOver, Supply};
use crate::treatment::Stage;
use crate::water::Water;

/// The most outlets a plant may have: the engine keeps them in arrays of fixed size.
pub const MOST_OUTLETS: usize = 16;

/// The parts a plant is made of, not yet checked.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Parts {
    /// The water in it.
    pub water: Water,
    /// Where water comes from.
    pub supplies: Vec<Supply>,
    /// How the standby supply comes in; `None` where there is no standby.
    pub change_over: Option<ChangeOver>,
    /// The pressure tanks on the raw header, isolated with the pumps while a town line feeds; `None` where no pump does.
    pub pressure_tank: Option<PressureTank>,
    /// Treatment, in the order in which water passes it, first the stages on the raw header's line.
    pub stages: Vec<Stage>,
    /// What a pressure-reducing valve behind the raw line's treatment lets the buildings there have at most; `None` where there
    /// is none.
    pub reducer_kpa: Option<f64>,
    /// The membrane unit that makes the water in storage.
    pub membrane: Option<Membrane>,
    /// Storage and the delivery pump behind it; `None` where the house hangs on the raw header's line.
    pub store: Option<Store>,
    /// Buildings, raw loads, backwashes and leaks.
    pub outlets: Vec<Outlet>,
    /// Water heaters, and the rooms that they stand in.
    pub hot_water: HotWater,
    /// What feeds it while the grid is out.
    pub power: SitePower,
}

/// A storage tank and the pump that delivers from it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Store {
    /// The tank and its filling.
    pub storage: Storage,
    /// The pump behind it.
    pub delivery: Delivery,
}

/// A plant that can be built: every condition in [`Fault`] has been checked.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Plant {
    parts: Parts,
}

impl core::ops::Deref for Plant {
    type Target = Parts;
    fn deref(&self) -> &Parts {
        &self.parts
    }
}

/// Least pressure to be kept in a town's main: 20 psi at ground level, "Recommended Standards for Water Works" (2018) 8.2.1.
/// Value from memory.
const TOWN_KPA: f64 = 137.9;

impl Plant {
    /// Checks the parts against each other.
    ///
    /// # Errors
    /// Every fault found, in the order of the parts along the water's way.
    pub fn try_new(parts: Parts) -> Result<Self, Vec<Fault>> {
        let faults = check::faults(&parts);
        if faults.is_empty() { Ok(Self { parts }) } else { Err(faults) }
    }

    /// What a technician would put right.
    #[must_use]
    pub fn warnings(&self) -> Vec<Warning> {
        warning::warnings(self)
    }

    /// The header that feeds the buildings: the delivery header where any building hangs on it.
    #[must_use]
    pub fn house_header(&self) -> Header {
        let delivered = |outlet: &Outlet| outlet.role == Role::Building && outlet.header == Header::Delivery;
        if self.outlets.iter().any(delivered) { Header::Delivery } else { Header::Raw }
    }

    /// The least pressure that the controls hold on that header: the delivery pump's wake pressure, or the lowest at which a
    /// first supply's pump starts, or what a town keeps in its main.
    #[must_use]
    pub fn held_kpa(&self) -> f64 {
        if let (Header::Delivery, Some(store)) = (self.house_header(), &self.store) {
            return store.delivery.drive.wake_kpa;
        }
        let first = self.supplies.iter().filter(|supply| !supply.standby);
        let held = first.filter_map(|supply| supply.source.pump()).map(|pump| pump.control.low_kpa());
        held.min_by(f64::total_cmp).unwrap_or(TOWN_KPA)
    }
}
