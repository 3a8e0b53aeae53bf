//! The membrane unit: called by the floats of storage, flushed, starved, locked out.

use crate::engine::Core;
use crate::engine::guard::Guards;
use crate::engine::mode::{MembraneMode, Phase};
use crate::engine::state::STORAGE;
use crate::observe::{EventKind, Observer, Part};
use crate::outlet::{Header, Role};
use crate::time::{Span, Time};

/// A starved unit counts as fed again this much above the pressure that trips it. Common practice for such switches, no source.
const TRIP_BAND_KPA: f64 = 5.0;

impl Core<'_> {
    /// Whether the unit is to make water: the floats call, and nothing holds it back.
    fn membrane_is_called(&self) -> bool {
        let (mode, called) = (&self.state.mode, self.floats_call());
        let yields = self.hydraulics.plant.membrane.as_ref().is_some_and(|membrane| membrane.yields);
        called && mode.membrane_ready() && self.membrane_may_run() && !(yields && self.others_draw())
    }

    /// Whether the hours to which it is held let it run.
    fn membrane_may_run(&self) -> bool {
        let now = self.state.time;
        let hours = self.hydraulics.plant.membrane.as_ref().and_then(|membrane| membrane.hours.as_ref());
        self.state.mode.urgent || hours.is_none_or(|hours| hours.allow(now, self.surplus_w(now)))
    }

    /// Whether it makes way for a bigger motor, on a generator.
    fn membrane_makes_way(&self) -> bool {
        let mode = &self.state.mode;
        mode.power.one_motor && self.hydraulics.big_pump_runs(mode)
    }

    /// Minds whether storage is so low that the unit is held to no hours.
    pub(super) fn act_urgent(&mut self) -> bool {
        let Some(hours) = self.hydraulics.plant.membrane.as_ref().and_then(|it| it.hours.as_ref()) else {
            return false;
        };
        let (water_l, was) = (self.state.levels[STORAGE], self.state.mode.urgent);
        let is_low = if was { water_l < hours.relaxed_l } else { water_l <= hours.urgent_l };
        // Full is full: it is not free of its hours until the next time that it is called.
        let is = is_low && self.floats_call();
        self.state.mode.urgent = is;
        is != was
    }

    fn arm_hours(&self, guards: &mut Guards, timer: &mut Time) {
        let Some(hours) = self.hydraulics.plant.membrane.as_ref().and_then(|it| it.hours.as_ref()) else { return };
        let now = self.state.time;
        if self.state.mode.urgent {
            guards.rises_to(STORAGE, hours.relaxed_l);
        } else if self.floats_call() {
            guards.falls_to(STORAGE, hours.urgent_l);
        }
        *timer = hours.next_edge(now).min(*timer);
        if hours.surplus_w.is_some() {
            let hour = Span::HOUR.ns();
            *timer = Time::from_ns((now.ns().div_euclid(hour) + 1) * hour).min(*timer);
        }
    }

    fn floats_call(&self) -> bool {
        let mode = &self.state.mode;
        mode.faults.stuck.unwrap_or(mode.fill_on)
    }

    /// Whether raw loads or washes want water.
    fn others_draw(&self) -> bool {
        let mut outlets = self.hydraulics.plant.outlets.iter().zip(&self.demand.lps);
        outlets.any(|(outlet, lps)| matches!(outlet.role, Role::RawLoad | Role::Backwash) && *lps > 0.0)
    }

    pub(super) fn act_membrane<O: Observer>(&mut self, observer: &mut O) -> bool {
        let Some(membrane) = self.hydraulics.plant.membrane.as_ref() else { return false };
        let (now, at) = (self.state.time, self.state.mode.membrane);
        let (flush, divert, inlet) = (membrane.flush, membrane.divert, membrane.inlet);
        let due = |length: Span| now >= at.since + length;
        let (called, makes_way) = (self.membrane_is_called(), self.membrane_makes_way());
        if self.state.mode.faults.membrane_out {
            // Whoever has it in hand resets its counter.
            self.state.mode.membrane.trips = 0;
        }
        match at.phase {
            Phase::Off if called && !makes_way => {
                let kpa = self.membrane_inlet_kpa();
                self.state.tally.membrane.start(now, self.state.totals.membrane.product_l);
                self.tell(observer, Part::Membrane, EventKind::MembraneStarts, kpa);
                self.enter(if flush.before > Span::ZERO { Phase::FlushesBefore } else { Phase::Diverts })
            }
            Phase::LockedOut if self.state.mode.faults.membrane_out => {
                self.state.tally.membrane.locked_out.end(now);
                self.enter(Phase::Off)
            }
            Phase::Off | Phase::LockedOut => false,
            Phase::Pauses if !called => self.enter(Phase::Off),
            Phase::Pauses if makes_way => false,
            Phase::Pauses => {
                let kpa = self.membrane_inlet_kpa();
                self.state.tally.membrane.start(now, self.state.totals.membrane.product_l);
                self.tell(observer, Part::Membrane, EventKind::MembraneStarts, kpa);
                self.enter(Phase::Makes)
            }
            Phase::Waits => (!self.state.mode.membrane_ready() || due(inlet.retry_after)) && self.enter(Phase::Off),
            Phase::FlushesAfter => (!self.state.mode.membrane_ready() || due(flush.after)) && self.enter(Phase::Off),
            Phase::FlushesBefore | Phase::Diverts | Phase::Makes if !called => {
                let flushes = flush.after > Span::ZERO && self.state.mode.membrane_ready();
                if at.phase == Phase::Makes {
                    self.state.mode.membrane.trips = 0;
                }
                self.stop_membrane(EventKind::MembraneStops, self.made_l(), observer);
                self.enter(if flushes { Phase::FlushesAfter } else { Phase::Off })
            }
            Phase::FlushesBefore | Phase::Diverts | Phase::Makes if makes_way => {
                self.stop_membrane(EventKind::MembraneStops, self.made_l(), observer);
                self.enter(Phase::Pauses)
            }
            Phase::FlushesBefore | Phase::Diverts | Phase::Makes => {
                self.watch_inlet(at, inlet.delay, observer)
                    || at.phase == Phase::FlushesBefore && due(flush.before) && self.enter(Phase::Diverts)
                    || at.phase == Phase::Diverts && due(divert) && self.enter(Phase::Makes)
            }
        }
    }

    fn enter(&mut self, phase: Phase) -> bool {
        let (since, before) = (self.state.time, self.state.mode.membrane);
        // A flush is no reason to wait longer for pressure.
        let goes_on = before.phase.is_watched() && phase.is_watched();
        let starved_since = if goes_on { before.starved_since } else { Time::NEVER };
        self.state.mode.membrane = MembraneMode { phase, since, trips: before.trips, starved_since };
        true
    }

    /// Product since the unit started.
    fn made_l(&self) -> f64 {
        self.state.totals.membrane.product_l - self.state.tally.membrane.product_at_start_l
    }

    fn stop_membrane<O: Observer>(&mut self, kind: EventKind, value: f64, observer: &mut O) {
        self.state.tally.membrane.stop(self.state.time);
        self.tell(observer, Part::Membrane, kind, value);
    }

    /// Trips a unit that has been starved for long enough.
    fn watch_inlet<O: Observer>(&mut self, at: MembraneMode, delay: Span, observer: &mut O) -> bool {
        let now = self.state.time;
        if at.starved_since == Time::NEVER {
            if !self.inlet_stands(0.0, false) {
                return false;
            }
            self.state.mode.membrane.starved_since = now;
            return true;
        }
        if self.inlet_stands(TRIP_BAND_KPA, true) {
            self.state.mode.membrane.starved_since = Time::NEVER;
            return true;
        }
        if now < at.starved_since + delay {
            return false;
        }
        // Trips count in a row: a unit that has made water for as long as it waits after one begins anew.
        let retry_after = self.hydraulics.plant.membrane.as_ref().map_or(Span::ZERO, |it| it.inlet.retry_after);
        let has_made = at.phase == Phase::Makes && now >= at.since + retry_after;
        let trips = if has_made { 1 } else { at.trips + 1 };
        self.state.mode.membrane.trips = trips;
        self.state.tally.membrane.trip(now);
        let kpa = self.membrane_inlet_kpa();
        self.stop_membrane(EventKind::MembraneTrips, kpa, observer);
        let retries = self.hydraulics.plant.membrane.as_ref().map_or(0, |membrane| membrane.inlet.retries);
        if trips > retries {
            self.state.tally.membrane.locked_out.begin(now);
            self.tell(observer, Part::Membrane, EventKind::MembraneLocksOut, f64::from(trips));
            self.enter(Phase::LockedOut)
        } else {
            self.enter(Phase::Waits)
        }
    }

    /// Pressure at the gauge of the raw header that answers to the trip pressure and some more at the suction.
    fn trip_head_kpa(&self, more_kpa: f64) -> f64 {
        let running = self.hydraulics.membrane.as_ref();
        let end_kpa = running.map_or(0.0, |running| running.end_kpa(running.membrane.inlet.kpa + more_kpa));
        self.at_head_kpa(Header::Raw, true, end_kpa)
    }

    /// Whether the suction is at or below (`rising`: at or above) its trip pressure and some more.
    fn inlet_stands(&self, more_kpa: f64, rising: bool) -> bool {
        if self.demand.line(Header::Raw).shut {
            return !rising;
        }
        self.stands(Header::Raw, self.trip_head_kpa(more_kpa), rising)
    }

    fn membrane_inlet_kpa(&self) -> f64 {
        let end_kpa = self.hydraulics.raw(&self.state.mode, &self.demand, &self.state.levels).end_kpa;
        self.hydraulics.membrane.as_ref().map_or(0.0, |running| running.inlet_kpa(end_kpa).max(0.0))
    }

    pub(super) fn arm_membrane(&self, guards: &mut Guards, timer: &mut Time) {
        let Some(membrane) = self.hydraulics.plant.membrane.as_ref() else { return };
        self.arm_hours(guards, timer);
        let at = &self.state.mode.membrane;
        let wait = match at.phase {
            Phase::Off | Phase::Pauses | Phase::LockedOut => return,
            Phase::Waits => Some(membrane.inlet.retry_after),
            Phase::FlushesBefore => Some(membrane.flush.before),
            Phase::FlushesAfter => Some(membrane.flush.after),
            Phase::Diverts => Some(membrane.divert),
            Phase::Makes => None,
        };
        if let Some(wait) = wait {
            *timer = (at.since + wait).min(*timer);
        }
        if !at.phase.is_watched() || self.demand.line(Header::Raw).shut {
            if at.starved_since != Time::NEVER {
                *timer = (at.starved_since + membrane.inlet.delay).min(*timer);
            }
            return;
        }
        if at.starved_since == Time::NEVER {
            self.arm_pressure(guards, Header::Raw, self.trip_head_kpa(0.0), false);
        } else {
            *timer = (at.starved_since + membrane.inlet.delay).min(*timer);
            self.arm_pressure(guards, Header::Raw, self.trip_head_kpa(TRIP_BAND_KPA), true);
        }
    }
}
