//! Tanks under pressure that run empty and fill again.

use crate::engine::Core;
use crate::engine::guard::{Guards, Quantity};
use crate::engine::mode::DriveMode;
use crate::engine::state::{SMALL, TANK};
use crate::engine::watch::SPELL_GAP;
use crate::observe::{EventKind, Observer, Part};

impl Core<'_> {
    pub(super) fn act_empty<O: Observer>(&mut self, observer: &mut O) -> bool {
        self.act_tank_empty(observer) || self.act_small_empty()
    }

    fn act_tank_empty<O: Observer>(&mut self, observer: &mut O) -> bool {
        let (levels, mode, hydraulics) = (&self.state.levels, &self.state.mode, &self.hydraulics);
        let in_doubt = mode.tank_empty || levels[TANK] <= hydraulics.tank_least_l;
        if !in_doubt || !hydraulics.tank_is_in(mode) || hydraulics.holder(mode).is_some() {
            return false;
        }
        let spare_lps = hydraulics.raw_spare_lps(mode, &self.demand, levels);
        if !flips_empty(mode.tank_empty, spare_lps, hydraulics.any_runs(mode)) {
            return false;
        }
        let (now, filled_since) = (self.state.time, mode.tank_filled_since);
        let mode = &mut self.state.mode;
        mode.tank_empty = !mode.tank_empty;
        if !mode.tank_empty {
            mode.tank_filled_since = now;
            return true;
        }
        mode.tank_empty_since = now;
        if now >= filled_since + SPELL_GAP {
            self.tell(observer, Part::PressureTank, EventKind::TankEmpties, self.hydraulics.tank_empty_kpa);
        }
        true
    }

    fn act_small_empty(&mut self) -> bool {
        let (levels, mode) = (&self.state.levels, &self.state.mode);
        let in_doubt = mode.small_empty || levels[SMALL] <= self.hydraulics.small_least_l;
        if !in_doubt || self.store().is_none() || matches!(mode.delivery, DriveMode::Hold { .. }) {
            return false;
        }
        let spare_lps = self.hydraulics.small_spare_lps(mode, &self.demand, levels);
        let supplied = mode.delivery_ready() && !mode.delivery.asleep();
        let flips = flips_empty(mode.small_empty, spare_lps, supplied);
        self.state.mode.small_empty ^= flips;
        flips
    }

    pub(super) fn arm_empty(&self, guards: &mut Guards) {
        let mode = &self.state.mode;
        if self.hydraulics.tank_is_in(mode) && self.hydraulics.holder(mode).is_none() {
            if mode.tank_empty {
                guards.arm(Quantity::RawSpare, 0.0, true);
            } else {
                guards.falls_to(TANK, self.hydraulics.tank_least_l);
            }
        }
        if self.store().is_some() {
            // What an empty small tank stands at follows from mode and demand alone: nothing to watch for on the way.
            if !mode.small_empty && !matches!(mode.delivery, DriveMode::Hold { .. }) {
                guards.falls_to(SMALL, self.hydraulics.small_least_l);
            }
        }
    }
}

/// Whether an empty tank begins to fill (the supply runs and has water to spare), or a tank with no more to give is to count
/// as empty (more is taken than comes).
fn flips_empty(empty: bool, spare_lps: f64, supplied: bool) -> bool {
    if empty { supplied && spare_lps >= 0.0 } else { spare_lps < 0.0 }
}
