//! Storage: its fill float, the level that protects the delivery pump, its brim.

use crate::engine::Core;
use crate::engine::guard::{Guards, Quantity};
use crate::engine::state::STORAGE;
use crate::observe::{EventKind, Observer, Part};
use crate::plant::Store;

impl Core<'_> {
    pub(super) fn store(&self) -> Option<&Store> {
        self.hydraulics.plant.store.as_ref()
    }

    pub(super) fn act_fill<O: Observer>(&mut self, observer: &mut O) -> bool {
        let water_l = self.state.levels[STORAGE];
        let Some((start_l, stop_l)) = self.store().and_then(|store| store.storage.fill.floats_l()) else {
            return false;
        };
        let on = self.state.mode.fill_on;
        // A stuck float stays as it is, whatever the level.
        if self.state.mode.faults.stuck.is_some() || if on { water_l < stop_l } else { water_l > start_l } {
            return false;
        }
        self.state.mode.fill_on = !on;
        // A membrane unit tells for itself what it makes of the call.
        if self.hydraulics.membrane.is_none() {
            let kind = if on { EventKind::FillShuts } else { EventKind::FillOpens };
            self.tell(observer, Part::Storage, kind, water_l);
        }
        true
    }

    pub(super) fn act_protect<O: Observer>(&mut self, observer: &mut O) -> bool {
        let (now, water_l, protect) = (self.state.time, self.state.levels[STORAGE], self.state.mode.protect);
        let Some(Store { storage, .. }) = self.store() else { return false };
        if if protect { water_l < storage.restart_l } else { water_l > storage.protect_l } {
            return false;
        }
        self.state.mode.protect = !protect;
        let kind = if protect {
            self.state.tally.protect_stops.end(now);
            EventKind::ProtectClears
        } else {
            self.state.tally.protect_stops.begin(now);
            EventKind::ProtectStop
        };
        self.tell(observer, Part::Storage, kind, water_l);
        true
    }

    pub(super) fn act_storage_brim<O: Observer>(&mut self, observer: &mut O) -> bool {
        let Some(Store { storage, .. }) = self.store() else { return false };
        let (now, brim) = (self.state.time, self.state.mode.brim);
        if !brim && self.state.levels[STORAGE] < storage.capacity_l {
            return false;
        }
        let net_lps = self.hydraulics.storage_net_lps(&self.state.mode, &self.demand, &self.state.levels);
        if brim == (net_lps > 0.0) {
            return false;
        }
        self.state.mode.brim = !brim;
        let spills = &mut self.state.tally.storage_spills;
        if brim {
            let length = spills.end(now);
            self.tell(observer, Part::Storage, EventKind::SpillEnds, length.s());
        } else {
            spills.begin(now);
            self.tell(observer, Part::Storage, EventKind::SpillBegins, net_lps);
        }
        true
    }

    pub(super) fn arm_storage(&self, guards: &mut Guards) {
        let Some(Store { storage, .. }) = self.store() else { return };
        let mode = &self.state.mode;
        if let (Some((start_l, stop_l)), None) = (storage.fill.floats_l(), mode.faults.stuck) {
            if mode.fill_on {
                guards.rises_to(STORAGE, stop_l);
            } else {
                guards.falls_to(STORAGE, start_l);
            }
        }
        if mode.protect {
            guards.rises_to(STORAGE, storage.restart_l);
        } else {
            guards.falls_to(STORAGE, storage.protect_l);
        }
        if mode.brim || self.state.levels[STORAGE] >= storage.capacity_l {
            guards.arm(Quantity::StorageNet, 0.0, !mode.brim);
        } else {
            guards.rises_to(STORAGE, storage.capacity_l);
        }
    }
}
