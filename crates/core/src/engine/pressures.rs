//! The pressures on both headers: known from a tank or a drive, or where supply and demand meet.

use super::flows::Hydraulics;
use super::lines::Demand;
use super::mode::{DriveMode, Mode};
use super::state::{Levels, SMALL, TANK};
use crate::outlet::Header;
use crate::root::root;

/// The pressures on the raw side: at the tank's gauge, and at the end of the line behind the treatment.
#[derive(Clone, Copy, Debug)]
pub(super) struct RawSide {
    pub kpa: f64,
    pub end_kpa: f64,
}

impl Hydraulics<'_> {
    /// Pressure on the raw header, where it follows without solving for what flows.
    fn known_raw_kpa(&self, mode: &Mode, levels: &Levels) -> Option<f64> {
        match (self.holder(mode), self.giving_tank(mode)) {
            (Some((_, set_kpa)), _) => Some(set_kpa),
            (None, Some(tank)) => Some(tank.pressure_kpa(levels[TANK])),
            (None, None) if !self.any_runs(mode) => Some(0.0),
            (None, None) => None,
        }
    }

    /// Pressures on the raw side. Without a tank that gives they are where supply and demand meet.
    pub(super) fn raw(&self, mode: &Mode, demand: &Demand, levels: &Levels) -> RawSide {
        match self.known_raw_kpa(mode, levels) {
            Some(kpa) => RawSide { kpa, end_kpa: self.end_kpa(Header::Raw, kpa, mode, demand, levels) },
            None => self.meet_raw(mode, demand, levels),
        }
    }

    /// That at the head of its line alone.
    pub(super) fn raw_kpa(&self, mode: &Mode, demand: &Demand, levels: &Levels) -> f64 {
        self.known_raw_kpa(mode, levels).unwrap_or_else(|| self.meet_raw(mode, demand, levels).kpa)
    }

    /// Where supply meets demand. A trial stage may lie past the instant at which a tank begins to fill: there is water to
    /// spare then, and the pressure is the tank's.
    ///
    /// Solved for the pressure at the end of the line: that at its head follows from it without solving.
    fn meet_raw(&self, mode: &Mode, demand: &Demand, levels: &Levels) -> RawSide {
        let most_kpa = self.most_raw_kpa(mode);
        let line = demand.line(Header::Raw);
        let head_kpa = |end_kpa: f64| {
            let line_lps = self.line_lps(Header::Raw, end_kpa, mode, demand, levels);
            (if line.shut { end_kpa } else { end_kpa + line.loss_kpa(line_lps) }, line_lps)
        };
        let spare_lps = |end_kpa: f64| {
            let (kpa, line_lps) = head_kpa(end_kpa);
            self.supplied_lps(mode, levels, kpa) - self.raw_taps_lps(mode, demand, kpa) - line_lps
        };
        let most_end_kpa = if line.shut { most_kpa } else { self.end_kpa(Header::Raw, most_kpa, mode, demand, levels) };
        if spare_lps(most_end_kpa) >= 0.0 {
            return RawSide { kpa: most_kpa, end_kpa: most_end_kpa };
        }
        if spare_lps(0.0) <= 0.0 {
            return RawSide { kpa: 0.0, end_kpa: 0.0 };
        }
        let end_kpa = root(spare_lps, 0.0, most_end_kpa);
        RawSide { kpa: head_kpa(end_kpa).0, end_kpa }
    }

    /// Pressure behind the delivery pump; zero where there is none.
    pub(super) fn delivery_kpa(&self, mode: &Mode, demand: &Demand, levels: &Levels) -> f64 {
        let Some(delivery) = self.delivery() else { return 0.0 };
        if matches!(mode.delivery, DriveMode::Hold { .. }) {
            return delivery.drive.set_kpa;
        }
        if !mode.small_empty {
            return delivery.tank.pressure_kpa(levels[SMALL]);
        }
        if mode.delivery.asleep() || !mode.delivery_ready() {
            return 0.0;
        }
        let spare_lps = |kpa| self.delivery_full_lps(mode, kpa) - self.delivery_out_lps(mode, demand, levels, kpa);
        if spare_lps(self.small_empty_kpa) >= 0.0 {
            self.small_empty_kpa
        } else if spare_lps(0.0) <= 0.0 {
            0.0
        } else {
            root(spare_lps, 0.0, self.small_empty_kpa)
        }
    }

    /// Pressure on a header.
    pub(super) fn header_kpa(&self, header: Header, mode: &Mode, demand: &Demand, levels: &Levels) -> f64 {
        match header {
            Header::Raw => self.raw_kpa(mode, demand, levels),
            Header::Delivery => self.delivery_kpa(mode, demand, levels),
        }
    }
}
