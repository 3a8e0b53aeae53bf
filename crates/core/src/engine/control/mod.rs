//! The controls: what acts at an instant, in a fixed order, and the guards and timers that lead to the next such instant.
//!
//! Every control comes as a pair: `act_…` changes the mode where its condition is met, `arm_…` says when it may be met next.

mod drive;
mod membrane;
mod store;
mod supply;
mod tank;

use super::Core;
use super::guard::Guards;
use crate::observe::Observer;
use crate::time::{Span, Time};

/// A pressure switch stays open, and a pump that it has started stays on, at least this long; a tank that has run empty
/// stands so for as long before the pump gives water. Contacts, the motor's run-up and water hammer allow no faster cycling,
/// and it bounds the number of events of a tank that has lost its air. Common practice, no source.
const SWITCH_DWELL: Span = Span::from_ns(1_000_000_000);

/// A drive sleeps at least this long, which bounds its wakings where the wake pressure is next to the set pressure.
const DRIVE_DWELL: Span = Span::from_ns(1_000_000_000);

impl Core<'_> {
    /// Acts on the first control whose condition is met. Returns whether any was.
    pub(super) fn act<O: Observer>(&mut self, observer: &mut O) -> bool {
        let supplies = self.hydraulics.plant.supplies.len();
        self.act_change_over(observer)
            || (0..supplies).any(|i| self.act_cutoff(i, observer))
            || (0..supplies).any(|i| self.act_uncovered(i))
            || (0..supplies).any(|i| self.act_suction(i, observer))
            || (0..supplies).any(|i| self.act_dry(i))
            || (0..supplies).any(|i| self.act_switch(i) || self.act_supply_drive(i))
            || (0..supplies).any(|i| self.act_top_up(i, observer))
            || self.act_fill(observer)
            || self.act_urgent()
            || self.act_membrane(observer)
            || self.act_protect(observer)
            || self.act_delivery()
            || (0..supplies).any(|i| self.act_basin_brim(i, observer))
            || self.act_storage_brim(observer)
            || self.act_empty(observer)
            || (0..supplies).any(|i| self.act_short_cycling(i, observer))
            || self.act_watches(observer)
    }

    /// Arms the guards of all controls; returns the earliest of their timers.
    pub(super) fn arm(&self, guards: &mut Guards) -> Time {
        let mut timer = Time::NEVER;
        timer = timer.min(self.next_power());
        self.arm_change_over(&mut timer);
        for i in 0..self.hydraulics.plant.supplies.len() {
            self.arm_cutoff(i, guards, &mut timer);
            self.arm_uncovered(i, guards);
            self.arm_suction(i, guards);
            self.arm_dry(i, guards);
            self.arm_switch(i, guards, &mut timer);
            self.arm_supply_drive(i, guards, &mut timer);
            self.arm_top_up(i, guards);
            self.arm_basin_brim(i, guards);
            self.arm_short_cycling(i, &mut timer);
        }
        self.arm_storage(guards);
        self.arm_membrane(guards, &mut timer);
        self.arm_delivery(guards, &mut timer);
        self.arm_empty(guards);
        self.arm_watches(guards, &mut timer);
        timer
    }
}
