//! The controls: what each does when its condition is met, and the guard that finds when.
//!
//! `act` and `arm` go through them in one fixed order, which also decides ties at one instant: low-level cut-off, suction,
//! pressure switch, float switch, storage protection, delivery pump, empty tanks, watches. A condition is judged on the very
//! quantity its guard is armed on, so that what was found is acted on.

use super::Core;
use super::guard::{Guards, Quantity};
use super::state::{DRAWDOWN, DeliveryMode, Mode, SMALL, STORAGE, TANK, Watch};
use super::watch::SPELL_GAP;
use crate::observe::{EventKind, Observer, Part};
use crate::outlet::Header;
use crate::plant::{Plant, Store};
use crate::pump::PumpCurve;
use crate::storage::Fill;
use crate::time::{Span, Time};

/// A pressure switch stays open, and a pump that it has started stays on, at least this long; a tank that has run empty
/// stands so for as long before the pump gives water. Contacts, the motor's run-up and water hammer allow no faster cycling,
/// and it bounds the number of events of a tank that has lost its air. Common practice, no source.
const SWITCH_DWELL: Span = Span::from_ns(1_000_000_000);

/// A delivery pump sleeps at least this long, which bounds its wakings where the wake pressure is next to the set pressure.
const DELIVERY_DWELL: Span = Span::from_ns(1_000_000_000);

/// Thresholds that never change in a run.
#[derive(Clone, Debug)]
pub(super) struct Limits {
    stop_m: f64,
    restart_m: f64,
    restart_delay: Span,
    intake_m: f64,
    wake_l: f64,
    set_l: f64,
    /// Least pressure the controls hold on the header that feeds the buildings.
    pub held_kpa: f64,
}

impl Limits {
    pub(super) fn new(plant: &Plant) -> Self {
        let well = &plant.well;
        let (stop_m, restart_m, restart_delay) =
            well.cutoff.as_ref().map_or((f64::INFINITY, f64::INFINITY, Span::ZERO), |c| {
                (c.stop_depth_m - well.static_depth_m, c.restart_depth_m - well.static_depth_m, c.restart_delay)
            });
        let (wake_l, set_l) = plant.store.as_ref().map_or((0.0, 0.0), |store| {
            let delivery = &store.delivery;
            (delivery.tank.water_l(delivery.wake_kpa), delivery.tank.water_l(delivery.set_kpa))
        });
        Self {
            stop_m,
            restart_m,
            restart_delay,
            intake_m: well.intake_drawdown_m(),
            wake_l,
            set_l,
            held_kpa: plant.held_kpa(),
        }
    }
}

impl Core<'_> {
    /// Acts on the first control whose condition is met. Returns whether any was.
    pub(super) fn act<O: Observer>(&mut self, observer: &mut O) -> bool {
        self.act_cutoff(observer)
            || self.act_suction(observer)
            || self.act_switch()
            || self.act_fill(observer)
            || self.act_protect(observer)
            || self.act_delivery()
            || self.act_empty(observer)
            || self.act_short_cycling(observer)
            || self.act_watches(observer)
    }

    /// Arms the guards of all controls; returns the earliest of their timers.
    pub(super) fn arm(&self, guards: &mut Guards) -> Time {
        let mut timer = Time::NEVER;
        let mode = &self.state.mode;
        self.arm_cutoff(guards, &mut timer);
        match mode.starved {
            false if mode.pump_on() => guards.rises_to(DRAWDOWN, self.limits.intake_m),
            false => {}
            true => guards.arm(Quantity::WellSpare, 0.0, true),
        }
        self.arm_switch(guards, &mut timer);
        self.arm_storage(guards);
        self.arm_delivery(guards, &mut timer);
        self.arm_empty(guards);
        self.arm_short_cycling(&mut timer);
        self.arm_watches(guards, &mut timer);
        timer
    }

    fn act_cutoff<O: Observer>(&mut self, observer: &mut O) -> bool {
        let (now, drawdown_m) = (self.state.time, self.state.levels[DRAWDOWN]);
        let depth_m = self.hydraulics.plant.well.water_depth_m(drawdown_m);
        let mode = &mut self.state.mode;
        if mode.pump_on() && drawdown_m >= self.limits.stop_m {
            mode.low_level = true;
            mode.low_level_since = now;
            self.state.tally.low_level_trips.begin(now);
            self.tell(observer, Part::Well, EventKind::LowLevelStop, depth_m);
            return true;
        }
        if mode.low_level
            && now >= mode.low_level_since + self.limits.restart_delay
            && drawdown_m <= self.limits.restart_m
        {
            mode.low_level = false;
            self.state.tally.low_level_trips.end(now);
            self.tell(observer, Part::Well, EventKind::LowLevelClears, depth_m);
            return true;
        }
        false
    }

    fn arm_cutoff(&self, guards: &mut Guards, timer: &mut Time) {
        let (mode, now) = (&self.state.mode, self.state.time);
        if mode.low_level {
            let due = mode.low_level_since + self.limits.restart_delay;
            if now < due {
                *timer = due.min(*timer);
            } else {
                guards.falls_to(DRAWDOWN, self.limits.restart_m);
            }
        } else if mode.pump_on() {
            guards.rises_to(DRAWDOWN, self.limits.stop_m);
        }
    }

    fn act_suction<O: Observer>(&mut self, observer: &mut O) -> bool {
        let (now, levels, mode) = (self.state.time, self.state.levels, self.state.mode);
        let drawdown_m = levels[DRAWDOWN];
        let spare = || self.hydraulics.well_spare_lps(&mode, &self.demand, &levels);
        if !mode.starved && mode.pump_on() && drawdown_m >= self.limits.intake_m && spare() < 0.0 {
            self.state.mode.starved = true;
            self.state.tally.suction_losses.begin(now);
            let inflow_lps = self.hydraulics.plant.well.inflow_lps(drawdown_m);
            self.tell(observer, Part::WellPump, EventKind::SuctionLost, inflow_lps);
            return true;
        }
        if mode.starved && (!mode.pump_on() || spare() >= 0.0) {
            self.state.mode.starved = false;
            self.state.tally.suction_losses.end(now);
            let flow_lps = self.hydraulics.plant.well.inflow_lps(drawdown_m);
            self.tell(observer, Part::WellPump, EventKind::SuctionRegained, flow_lps);
            return true;
        }
        false
    }

    fn act_switch(&mut self) -> bool {
        let now = self.state.time;
        if now < self.switch_due() {
            return false;
        }
        let mode = &self.state.mode;
        let flip = if mode.switch_closed {
            self.stands(Header::Raw, self.hydraulics.plant.well_pump.cut_out_kpa, true)
        } else {
            self.stands(Header::Raw, self.hydraulics.plant.well_pump.cut_in_kpa, false)
        };
        if flip {
            self.state.mode.switch_closed = !self.state.mode.switch_closed;
            self.state.mode.switch_since = now;
        }
        flip
    }

    /// When the pressure switch may next change its contact.
    fn switch_due(&self) -> Time {
        let mode = &self.state.mode;
        if !mode.switch_closed {
            let empty_since = if mode.tank_empty { mode.tank_empty_since } else { mode.switch_since };
            return mode.switch_since.max(empty_since) + SWITCH_DWELL;
        }
        match self.hydraulics.plant.well_pump.curve() {
            // An ideal pump has no shut-off head to stop it: the switch must, at once.
            PumpCurve::Constant { .. } => mode.switch_since,
            _ => mode.switch_since + SWITCH_DWELL,
        }
    }

    fn arm_switch(&self, guards: &mut Guards, timer: &mut Time) {
        let due = self.switch_due();
        let pump = &self.hydraulics.plant.well_pump;
        if self.state.time < due {
            *timer = due.min(*timer);
        } else if self.state.mode.switch_closed {
            self.arm_pressure(guards, Header::Raw, pump.cut_out_kpa, true);
        } else {
            self.arm_pressure(guards, Header::Raw, pump.cut_in_kpa, false);
        }
    }

    fn store(&self) -> Option<&Store> {
        self.hydraulics.plant.store.as_ref()
    }

    fn act_fill<O: Observer>(&mut self, observer: &mut O) -> bool {
        let water_l = self.state.levels[STORAGE];
        let Some(Fill::FloatSwitch { start_l, stop_l, .. }) = self.store().map(|s| &s.storage.fill) else {
            return false;
        };
        let on = self.state.mode.fill_on;
        if if on { water_l < *stop_l } else { water_l > *start_l } {
            return false;
        }
        self.state.mode.fill_on = !on;
        let kind = if on { EventKind::FillShuts } else { EventKind::FillOpens };
        self.tell(observer, Part::Storage, kind, water_l);
        true
    }

    fn act_protect<O: Observer>(&mut self, observer: &mut O) -> bool {
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

    fn arm_storage(&self, guards: &mut Guards) {
        let Some(Store { storage, .. }) = self.store() else { return };
        let mode = &self.state.mode;
        if let Fill::FloatSwitch { start_l, stop_l, .. } = storage.fill {
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
    }

    fn act_delivery(&mut self) -> bool {
        let Some(delivery) = self.hydraulics.delivery() else { return false };
        let (now, mode, water_l) = (self.state.time, self.state.mode, self.state.levels[SMALL]);
        let next = match mode.delivery {
            DeliveryMode::Asleep { since }
                if mode.delivery_ready()
                    && now >= since + DELIVERY_DWELL
                    && (mode.small_empty || water_l <= self.limits.wake_l) =>
            {
                DeliveryMode::Full
            }
            DeliveryMode::Asleep { .. } => return false,
            _ if !mode.delivery_ready() => DeliveryMode::Asleep { since: now },
            DeliveryMode::Full
                if !mode.small_empty && water_l >= self.limits.set_l && self.demand.hold_spare_lps >= 0.0 =>
            {
                DeliveryMode::Hold { idle_since: Time::NEVER }
            }
            DeliveryMode::Full => return false,
            DeliveryMode::Hold { .. } if self.demand.hold_spare_lps < 0.0 => DeliveryMode::Full,
            DeliveryMode::Hold { idle_since } => {
                let idle = self.demand.hold_lps <= delivery.sleep_flow_lps;
                if idle && now >= idle_since + delivery.sleep_delay {
                    DeliveryMode::Asleep { since: now }
                } else if idle == (idle_since == Time::NEVER) {
                    DeliveryMode::Hold { idle_since: if idle { now } else { Time::NEVER } }
                } else {
                    return false;
                }
            }
        };
        self.state.mode.delivery = next;
        true
    }

    fn arm_delivery(&self, guards: &mut Guards, timer: &mut Time) {
        let Some(delivery) = self.hydraulics.delivery() else { return };
        match self.state.mode.delivery {
            DeliveryMode::Asleep { since } if self.state.time < since + DELIVERY_DWELL => {
                *timer = (since + DELIVERY_DWELL).min(*timer);
            }
            DeliveryMode::Asleep { .. } => guards.falls_to(SMALL, self.limits.wake_l),
            DeliveryMode::Full => guards.rises_to(SMALL, self.limits.set_l),
            DeliveryMode::Hold { idle_since } => *timer = (idle_since + delivery.sleep_delay).min(*timer),
        }
    }

    fn act_empty<O: Observer>(&mut self, observer: &mut O) -> bool {
        let (levels, mode) = (self.state.levels, self.state.mode);
        let tank_at_least = levels[TANK] <= self.hydraulics.tank_least_l;
        if mode.tank_empty || tank_at_least {
            let spare_lps = self.hydraulics.raw_spare_lps(&mode, &self.demand, &levels);
            if flips_empty(mode.tank_empty, spare_lps, mode.pump_on()) {
                let now = self.state.time;
                self.state.mode.tank_empty = !mode.tank_empty;
                if mode.tank_empty {
                    self.state.mode.tank_filled_since = now;
                    return true;
                }
                self.state.mode.tank_empty_since = now;
                if now >= mode.tank_filled_since + SPELL_GAP {
                    self.tell(observer, Part::PressureTank, EventKind::TankEmpties, self.hydraulics.tank_empty_kpa);
                }
                return true;
            }
        }
        if self.store().is_some()
            && !matches!(mode.delivery, DeliveryMode::Hold { .. })
            && (mode.small_empty || levels[SMALL] <= self.hydraulics.small_least_l)
        {
            let spare_lps = self.hydraulics.small_spare_lps(&mode, &self.demand);
            let supplied = mode.delivery_ready() && !mode.delivery.asleep();
            if flips_empty(mode.small_empty, spare_lps, supplied) {
                self.state.mode.small_empty = !mode.small_empty;
                return true;
            }
        }
        false
    }

    fn arm_empty(&self, guards: &mut Guards) {
        let mode = &self.state.mode;
        if mode.tank_empty {
            guards.arm(Quantity::RawSpare, 0.0, true);
        } else {
            guards.falls_to(TANK, self.hydraulics.tank_least_l);
        }
        if self.store().is_some() {
            // What an empty small tank stands at follows from mode and demand alone: nothing to watch for on the way.
            if !mode.small_empty && !matches!(mode.delivery, DeliveryMode::Hold { .. }) {
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

impl Mode {
    /// Everything in order, nothing running; `switch_closed` is the pressure switch's contact.
    pub(super) fn at_rest(switch_closed: bool) -> Self {
        const LONG_AGO: Time = Time::from_ns(i64::MIN / 2);
        Self {
            out: [0; 3],
            switch_closed,
            switch_since: LONG_AGO,
            low_level: false,
            low_level_since: LONG_AGO,
            starved: false,
            fill_on: false,
            tank_empty: false,
            tank_empty_since: LONG_AGO,
            tank_filled_since: LONG_AGO,
            small_empty: false,
            delivery: DeliveryMode::Asleep { since: LONG_AGO },
            protect: false,
            outlets: [Watch::Well; _],
            pressure: Watch::Well,
        }
    }
}
