//! Supplies: the change-over, low-level cut-offs, pumps at their intake, pressure switches, top-ups and brims.

use super::SWITCH_DWELL;
use crate::engine::Core;
use crate::engine::guard::{Guards, Quantity};
use crate::engine::state::SOURCE;
use crate::observe::{EventKind, Observer, Part};
use crate::outlet::Header;
use crate::pond::PUDDLE_L;
use crate::pump::{PumpCurve, SupplyPump};
use crate::supply::{Control, Source};
use crate::time::{Span, Time};

/// A level at which something happens, and whether it is reached as the level rises.
#[derive(Clone, Copy)]
struct Mark {
    at: f64,
    rising: bool,
}

impl Mark {
    fn is_met(self, level: f64) -> bool {
        if self.rising { level >= self.at } else { level <= self.at }
    }
}

/// An intake counts as uncovered with so much less than up to it: a pump that takes just what runs in keeps the level there.
const BELOW_INTAKE_L: f64 = 0.01;

/// A low-level cut-off in terms of its source's level.
struct Cutoff {
    stop: Mark,
    restart: Mark,
    delay: Span,
}

impl Core<'_> {
    pub(super) fn act_change_over<O: Observer>(&mut self, observer: &mut O) -> bool {
        let Some(change_over) = &self.hydraulics.plant.change_over else { return false };
        let (now, mode) = (self.state.time, self.state.mode);
        if mode.faults.by_hand {
            self.state.mode.change_due_since = Time::NEVER;
            return !mode.on_standby && self.change_over(true, observer);
        }
        let Some(after) = change_over.after else { return mode.on_standby && self.change_over(false, observer) };
        let wait = if mode.on_standby { change_over.back_after } else { after };
        if mode.on_standby != self.first_is_ready() || !mode.has_power() {
            // Nothing to change, or no power to change it with.
            self.state.mode.change_due_since = Time::NEVER;
            return mode.change_due_since != Time::NEVER;
        }
        if mode.change_due_since == Time::NEVER {
            self.state.mode.change_due_since = now;
            return true;
        }
        now >= mode.change_due_since + wait && self.change_over(!mode.on_standby, observer)
    }

    fn first_is_ready(&self) -> bool {
        let mut supplies = self.hydraulics.plant.supplies.iter().enumerate();
        supplies.any(|(i, supply)| !supply.standby && self.hydraulics.ready(i, &self.state.mode))
    }

    fn change_over<O: Observer>(&mut self, to_standby: bool, observer: &mut O) -> bool {
        let now = self.state.time;
        self.state.mode.on_standby = to_standby;
        self.state.mode.change_due_since = Time::NEVER;
        let spells = &mut self.state.tally.change_overs;
        if to_standby {
            spells.begin(now);
            self.tell(observer, Part::Site, EventKind::ChangesOver, 0.0);
        } else {
            let length = spells.end(now);
            self.tell(observer, Part::Site, EventKind::ChangesBack, length.s());
        }
        true
    }

    pub(super) fn arm_change_over(&self, timer: &mut Time) {
        let Some(change_over) = &self.hydraulics.plant.change_over else { return };
        let mode = &self.state.mode;
        let wait = if mode.on_standby { Some(change_over.back_after) } else { change_over.after };
        if let (Some(wait), true) = (wait, mode.change_due_since != Time::NEVER) {
            *timer = (mode.change_due_since + wait).min(*timer);
        }
    }

    fn cutoff(&self, i: usize) -> Option<Cutoff> {
        match &self.hydraulics.plant.supplies[i].source {
            Source::Well { well, .. } => well.cutoff.as_ref().map(|cutoff| Cutoff {
                stop: Mark { at: cutoff.stop_depth_m - well.static_depth_m, rising: true },
                restart: Mark { at: cutoff.restart_depth_m - well.static_depth_m, rising: false },
                delay: cutoff.restart_delay,
            }),
            Source::Basin { basin, .. } => basin.cutoff.as_ref().map(|cutoff| Cutoff {
                stop: Mark { at: cutoff.stop_l, rising: false },
                restart: Mark { at: cutoff.restart_l, rising: true },
                delay: cutoff.restart_delay,
            }),
            Source::TownLine(_) => None,
        }
    }

    /// Level at which a pump's intake is uncovered.
    fn intake(&self, i: usize) -> Option<Mark> {
        match &self.hydraulics.plant.supplies[i].source {
            Source::Well { well, .. } => Some(Mark { at: well.intake_drawdown_m(), rising: true }),
            Source::Basin { basin, .. } => {
                // Ice lies on what the pump can have.
                Some(Mark { at: basin.intake_l + self.state.mode.supplies[i].hour.ice_l, rising: false })
            }
            Source::TownLine(_) => None,
        }
    }

    /// A source's level as it is told: depth of the water in a well, water in a basin.
    fn told_level(&self, i: usize) -> f64 {
        let level = self.state.levels[SOURCE + i];
        self.hydraulics.plant.supplies[i].source.well().map_or(level, |well| well.water_depth_m(level))
    }

    pub(super) fn act_cutoff<O: Observer>(&mut self, i: usize, observer: &mut O) -> bool {
        let Some(cutoff) = self.cutoff(i) else { return false };
        let (now, level, before) = (self.state.time, self.state.levels[SOURCE + i], self.state.mode.supplies[i]);
        let runs = self.hydraulics.runs(i, &self.state.mode);
        let (mode, tally) = (&mut self.state.mode.supplies[i], &mut self.state.tally.supplies[i]);
        let kind = if runs && cutoff.stop.is_met(level) {
            mode.low_level = true;
            mode.low_level_since = now;
            tally.low_level_trips.begin(now);
            EventKind::LowLevelStop
        } else if before.low_level && now >= before.low_level_since + cutoff.delay && cutoff.restart.is_met(level) {
            mode.low_level = false;
            tally.low_level_trips.end(now);
            EventKind::LowLevelClears
        } else {
            return false;
        };
        self.tell(observer, Part::Source(i), kind, self.told_level(i));
        true
    }

    pub(super) fn arm_cutoff(&self, i: usize, guards: &mut Guards, timer: &mut Time) {
        let Some(cutoff) = self.cutoff(i) else { return };
        let (mode, now) = (&self.state.mode.supplies[i], self.state.time);
        let mark = if mode.low_level {
            let due = mode.low_level_since + cutoff.delay;
            if now < due {
                *timer = due.min(*timer);
                return;
            }
            cutoff.restart
        } else if self.hydraulics.runs(i, &self.state.mode) {
            cutoff.stop
        } else {
            return;
        };
        guards.arm(Quantity::Level(SOURCE + i), mark.at, mark.rising);
    }

    pub(super) fn act_suction<O: Observer>(&mut self, i: usize, observer: &mut O) -> bool {
        let Some(intake) = self.intake(i) else { return false };
        let (now, levels, mode) = (self.state.time, &self.state.levels, &self.state.mode);
        let runs = self.hydraulics.runs(i, mode);
        let spare_lps = || self.hydraulics.source_spare_lps(i, mode, &self.demand, levels);
        let starved = mode.supplies[i].starved;
        let short = || mode.supplies[i].uncovered || spare_lps() < 0.0;
        // Ice that melts leaves the intake under water all at once.
        let thawed = self.open_intake_l(i).is_some_and(|intake_l| levels[SOURCE + i] > intake_l + BELOW_INTAKE_L);
        let uncovered = runs && (starved && !thawed || intake.is_met(levels[SOURCE + i])) && short();
        if starved == uncovered {
            return false;
        }
        self.state.mode.supplies[i].starved = !starved;
        let losses = &mut self.state.tally.supplies[i].suction_losses;
        let kind = if starved {
            losses.end(now);
            EventKind::SuctionRegained
        } else {
            losses.begin(now);
            EventKind::SuctionLost
        };
        let (levels, mode) = (&self.state.levels, &self.state.mode);
        let raw_kpa = self.hydraulics.raw_kpa(mode, &self.demand, levels);
        let inflow_lps = self.hydraulics.source_in_lps(i, mode, levels, raw_kpa);
        self.tell(observer, Part::Pump(i), kind, inflow_lps);
        true
    }

    /// Where evaporation and seepage take the water below the intake, what runs in must fill it up again before the pump gives any.
    pub(super) fn act_uncovered(&mut self, i: usize) -> bool {
        let (water_l, uncovered) = (self.state.levels[SOURCE + i], self.state.mode.supplies[i].uncovered);
        let is = match self.open_intake_l(i) {
            None => false,
            Some(intake_l) if intake_l <= PUDDLE_L => false,
            Some(intake_l) if uncovered => water_l < intake_l,
            Some(intake_l) => water_l <= intake_l - BELOW_INTAKE_L,
        };
        self.state.mode.supplies[i].uncovered = is;
        is != uncovered
    }

    pub(super) fn arm_uncovered(&self, i: usize, guards: &mut Guards) {
        let Some(intake_l) = self.open_intake_l(i) else { return };
        if self.state.mode.supplies[i].uncovered {
            guards.rises_to(SOURCE + i, intake_l);
        } else {
            guards.falls_to(SOURCE + i, intake_l - BELOW_INTAKE_L);
        }
    }

    /// Water at the intake of a basin that loses some to air and ground, ice included.
    fn open_intake_l(&self, i: usize) -> Option<f64> {
        let basin = self.hydraulics.plant.supplies[i].source.basin()?;
        basin.open.as_ref()?;
        Some(basin.intake_l + self.state.mode.supplies[i].hour.ice_l)
    }

    pub(super) fn arm_suction(&self, i: usize, guards: &mut Guards) {
        let Some(intake) = self.intake(i) else { return };
        if self.state.mode.supplies[i].starved {
            guards.arm(Quantity::SourceSpare(i), 0.0, true);
        } else if self.hydraulics.runs(i, &self.state.mode) {
            guards.arm(Quantity::Level(SOURCE + i), intake.at, intake.rising);
            if intake.is_met(self.state.levels[SOURCE + i]) {
                // It draws no more than flows in just now; it is starved as soon as it draws more.
                guards.arm(Quantity::SourceSpare(i), 0.0, false);
            }
        }
    }

    /// The pressures of a supply's switch, where it is piped to the header and has one.
    fn switch(&self, i: usize) -> Option<(f64, f64)> {
        let pump = self.hydraulics.plant.supplies[i].source.pump()?;
        match pump.control {
            Control::Switch { cut_in_kpa, cut_out_kpa } => {
                self.hydraulics.connected(i, &self.state.mode).then_some((cut_in_kpa, cut_out_kpa))
            }
            Control::Drive(_) => None,
        }
    }

    pub(super) fn act_switch(&mut self, i: usize) -> bool {
        let Some((cut_in_kpa, cut_out_kpa)) = self.switch(i) else { return false };
        let now = self.state.time;
        if now < self.switch_due(i) {
            return false;
        }
        let flip = if self.state.mode.supplies[i].closed {
            self.stands(Header::Raw, cut_out_kpa, true)
        } else {
            self.stands(Header::Raw, cut_in_kpa, false)
        };
        if flip {
            let mode = &mut self.state.mode.supplies[i];
            mode.closed = !mode.closed;
            mode.since = now;
        }
        flip
    }

    /// When the pressure switch may next change its contact.
    fn switch_due(&self, i: usize) -> Time {
        let (plant, state) = (&self.state.mode, &self.state.mode.supplies[i]);
        if !state.closed {
            let empty_since = if plant.tank_empty { plant.tank_empty_since } else { state.since };
            return state.since.max(empty_since) + SWITCH_DWELL;
        }
        match self.hydraulics.plant.supplies[i].source.pump().map(SupplyPump::curve) {
            // An ideal pump has no shut-off head to stop it: the switch must, at once.
            Some(PumpCurve::Constant { .. }) => state.since,
            _ => state.since + SWITCH_DWELL,
        }
    }

    pub(super) fn arm_switch(&self, i: usize, guards: &mut Guards, timer: &mut Time) {
        let Some((cut_in_kpa, cut_out_kpa)) = self.switch(i) else { return };
        let due = self.switch_due(i);
        if self.state.time < due {
            *timer = due.min(*timer);
        } else if self.state.mode.supplies[i].closed {
            self.arm_pressure(guards, Header::Raw, cut_out_kpa, true);
        } else {
            self.arm_pressure(guards, Header::Raw, cut_in_kpa, false);
        }
    }

    pub(super) fn act_top_up<O: Observer>(&mut self, i: usize, observer: &mut O) -> bool {
        let basin = self.hydraulics.plant.supplies[i].source.basin();
        let Some(top_up) = basin.and_then(|basin| basin.top_up.as_ref()) else { return false };
        let (water_l, on) = (self.state.levels[SOURCE + i], self.state.mode.supplies[i].top_up_on);
        if if on { water_l < top_up.stop_l } else { water_l > top_up.start_l } {
            return false;
        }
        self.state.mode.supplies[i].top_up_on = !on;
        let kind = if on { EventKind::TopUpShuts } else { EventKind::TopUpOpens };
        self.tell(observer, Part::Source(i), kind, water_l);
        true
    }

    pub(super) fn arm_top_up(&self, i: usize, guards: &mut Guards) {
        let basin = self.hydraulics.plant.supplies[i].source.basin();
        let Some(top_up) = basin.and_then(|basin| basin.top_up.as_ref()) else { return };
        if self.state.mode.supplies[i].top_up_on {
            guards.rises_to(SOURCE + i, top_up.stop_l);
        } else {
            guards.falls_to(SOURCE + i, top_up.start_l);
        }
    }

    pub(super) fn act_basin_brim<O: Observer>(&mut self, i: usize, observer: &mut O) -> bool {
        let Some(basin) = self.hydraulics.plant.supplies[i].source.basin() else { return false };
        let (now, brim) = (self.state.time, self.state.mode.supplies[i].brim);
        if !brim && self.state.levels[SOURCE + i] < basin.capacity_l {
            return false;
        }
        let net_lps = self.hydraulics.basin_net_lps(i, &self.state.mode, &self.demand, &self.state.levels);
        if brim == (net_lps > 0.0) {
            return false;
        }
        self.state.mode.supplies[i].brim = !brim;
        let spills = &mut self.state.tally.supplies[i].spills;
        if brim {
            let length = spills.end(now);
            self.tell(observer, Part::Source(i), EventKind::SpillEnds, length.s());
        } else {
            spills.begin(now);
            self.tell(observer, Part::Source(i), EventKind::SpillBegins, net_lps);
        }
        true
    }

    pub(super) fn arm_basin_brim(&self, i: usize, guards: &mut Guards) {
        let Some(basin) = self.hydraulics.plant.supplies[i].source.basin() else { return };
        if self.state.mode.supplies[i].brim || self.state.levels[SOURCE + i] >= basin.capacity_l {
            let rising = !self.state.mode.supplies[i].brim;
            guards.arm(Quantity::BasinNet(i), 0.0, rising);
        } else {
            guards.rises_to(SOURCE + i, basin.capacity_l);
        }
    }
}
