//! All that changes in a run: plain data that can be saved and restored.

use serde::{Deserialize, Serialize};

use super::PowerBooks;
use super::carry::Waters;
use super::flows::Hydraulics;
use super::heat::Heat;
use super::mode::Mode;
use super::piece::Going;
use super::stiff;
use super::tally::Tally;
use crate::draw::{Draw, DrawKind, Flow};
use crate::incident::Outside;
use crate::membrane::fouling::FoulingState;
use crate::observe::Totals;
use crate::plant::{MOST_OUTLETS, Plant};
use crate::pond::PondState;
use crate::supply::{MOST_SUPPLIES, Source};
use crate::time::Time;

/// The continuous state, in this order: water in the pressure tank, in storage, and in the small tank behind the delivery
/// pump (L); then, by supply, drawdown of a well (m) or water in a basin (L).
pub(super) type Levels = [f64; LEVELS];
pub(super) const TANK: usize = 0;
pub(super) const STORAGE: usize = 1;
pub(super) const SMALL: usize = 2;
pub(super) const SOURCE: usize = 3;
pub(super) const LEVELS: usize = SOURCE + MOST_SUPPLIES;

/// What is integrated along with the levels, with the same weights, so that the ledger closes.
pub(super) type Ports = [f64; PORTS];
pub(super) const FILLED: usize = 0;
pub(super) const SPILLED: usize = 1;
pub(super) const DRAWN: usize = 2;
pub(super) const RAW_KPA_S: usize = 3;
pub(super) const DELIVERY_KPA_S: usize = 4;
pub(super) const DELIVERY_J: usize = 5;
/// Water taken from the raw line to fill storage.
pub(super) const TAKEN: usize = 6;
/// Of the membrane unit; its salt in grams.
pub(super) const PRODUCT: usize = 7;
pub(super) const RECYCLED: usize = 8;
pub(super) const PRODUCT_SALT: usize = 9;
pub(super) const MEMBRANE_J: usize = 10;
/// Water of the raw line that goes past it into storage.
pub(super) const BLENDED: usize = 11;
/// From here on, by supply, [`SUPPLY_PORTS`] each.
const SUPPLY: usize = 12;
const SUPPLY_PORTS: usize = 6;
/// From here on, by outlet: seconds of full service, the integral of the share of the wanted flow that comes.
pub(super) const SERVED: usize = SUPPLY + SUPPLY_PORTS * MOST_SUPPLIES;
const PORTS: usize = SERVED + MOST_OUTLETS;

/// The ports of a supply.
#[derive(Clone, Copy, Debug)]
pub(super) enum SupplyPort {
    Pumped,
    Inflow,
    ToppedUp,
    LeakedBack,
    Overflowed,
    Energy,
}

/// The port of a supply.
pub(super) const fn of_supply(supply: usize, port: SupplyPort) -> usize {
    SUPPLY + SUPPLY_PORTS * supply + port as usize
}

/// Wanted flow of an outlet, by what happens to a shortfall.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub(super) struct Wanted {
    pub timed: Flow,
    pub volume: Flow,
}

impl Wanted {
    pub(super) fn total(self) -> Flow {
        self.timed + self.volume
    }

    pub(super) fn of(&mut self, kind: DrawKind) -> &mut Flow {
        match kind {
            DrawKind::Timed => &mut self.timed,
            DrawKind::Volume => &mut self.volume,
        }
    }
}

/// A draw under way. The end of a volume draw moves later than planned as its flow falls short.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub(super) struct Active {
    pub draw: Draw,
    pub end: Time,
}

/// All that changes in a run, at the start of the open piece of the trajectory.
///
/// A run stopped anywhere holds the start of the piece it stopped in; the piece is computed again, the same, on resuming.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct State {
    /// Start of the open piece.
    pub(super) time: Time,
    /// Rows and ticks up to here have been told.
    pub(super) reached: Time,
    pub(super) levels: Levels,
    /// The levels at the start of the run, for the ledger.
    pub(super) start_levels: Levels,
    pub(super) mode: Mode,
    pub(super) wanted: [Wanted; MOST_OUTLETS],
    pub(super) active: Vec<Active>,
    /// Draws taken from the source, the one waiting in `next` included.
    pub(super) taken: u64,
    pub(super) next: Option<Draw>,
    /// Edges of incidents gone by.
    pub(super) edges: usize,
    /// Steps of inflows from outside gone by,
    pub(super) inflows: usize,
    /// steps of temperature,
    pub(super) temps: usize,
    /// and full hours passed: of weather begun, and the end of the last.
    pub(super) hours: usize,
    /// By supply: open water.
    pub(super) ponds: [PondState; MOST_SUPPLIES],
    pub(super) totals: Totals,
    /// What the water carries, and what treatment has caught of it.
    pub(super) waters: Waters,
    pub(super) tally: Tally,
    /// How far the membrane has fouled.
    pub(super) fouling: FoulingState,
    /// Hot water, which follows the rest.
    pub(super) heat: Heat,
    /// Electricity on the site.
    pub(super) power: PowerBooks,
    /// Lowest pressure to the buildings since the last row told.
    pub(super) row_low_kpa: f64,
    /// The step the error control would take next.
    pub(super) step_s: f64,
    /// The same of implicit steps,
    pub(super) settling_s: f64,
    /// and of those that the delivery side takes alone.
    pub(super) beside_s: f64,
    /// The step of the raw side that the open piece goes on with; only in a saved state, where the piece is not.
    pub(super) going: Option<Going>,
}

/// A first step to try when nothing is known.
const FIRST_STEP_S: f64 = 5.0;

impl State {
    /// Whether the state can be one of a plant, and with what happens to it.
    pub(super) fn fits(&self, plant: &Plant, outside: &Outside) -> bool {
        let outlets = plant.outlets.len();
        let active = self.active.iter().all(|a| a.draw.outlet < outlets && a.end > self.time);
        let passed = self.edges <= 2 * outside.incidents.len()
            && self.inflows <= outside.inflows.len()
            && self.temps <= outside.temps.len()
            && self.hours <= outside.weather.len() + 1;
        active
            && passed
            && self.levels.iter().all(|level| level.is_finite())
            && self.heat.fits(plant)
            && self.power.fits(plant, self.reached.max(self.time))
            && self.step_s > 0.0
            && self.settling_s > 0.0
            && self.beside_s > 0.0
            && self.going.as_ref().is_none_or(|going| going.fits(self.time))
    }

    /// The stated start of a plant.
    pub(super) fn at_start(hydraulics: &Hydraulics<'_>, active: Vec<Active>) -> Self {
        let plant = hydraulics.plant;
        let mut levels: Levels = [0.0; _];
        let mut tally = Tally::new();
        let mut mode = Mode::at_rest(super::faults::Faults::none());
        if let Some(tank) = &plant.pressure_tank {
            levels[TANK] = tank.water_l(tank.start_kpa).max(hydraulics.tank_least_l);
        }
        if let Some(store) = &plant.store {
            let small = &store.delivery.tank;
            levels[STORAGE] = store.storage.start_l;
            levels[SMALL] = small.water_l(small.start_kpa).max(hydraulics.small_least_l);
        }
        for (i, supply) in plant.supplies.iter().enumerate() {
            match &supply.source {
                Source::Well { well, .. } => {
                    levels[SOURCE + i] = well.start_drawdown_m;
                    tally.supplies[i].deepest_drawdown_m = well.start_drawdown_m;
                }
                Source::Basin { basin, .. } => levels[SOURCE + i] = basin.start_l,
                Source::TownLine(_) => {}
            }
            if let (Some(pump), Some(tank)) = (supply.source.pump(), &plant.pressure_tank) {
                mode.supplies[i].closed = tank.start_kpa <= pump.control.low_kpa();
            }
        }
        Self {
            time: Time::ZERO,
            // Before the first instant, so that the row of the start is told.
            reached: Time::from_ns(-1),
            levels,
            start_levels: levels,
            mode,
            wanted: [Wanted::default(); _],
            active,
            taken: 0,
            next: None,
            edges: 0,
            inflows: 0,
            temps: 0,
            hours: 0,
            ponds: [PondState::default(); _],
            totals: Totals::default(),
            waters: Waters::at_start(plant, &levels),
            tally,
            fouling: plant.membrane.as_ref().map_or(FoulingState::NEW, |it| FoulingState::as_cleaned(it.start_fouling)),
            heat: Heat::at_start(plant),
            power: PowerBooks::at_start(plant),
            row_low_kpa: f64::MAX,
            step_s: FIRST_STEP_S,
            settling_s: stiff::FIRST_S,
            beside_s: FIRST_STEP_S,
            going: None,
        }
    }
}
