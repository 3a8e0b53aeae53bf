//! Variable-speed drives: that of a supply's pump, which holds the pressure tank's header, and that of the delivery pump.

use super::DRIVE_DWELL;
use crate::engine::Core;
use crate::engine::guard::{Guards, Quantity};
use crate::engine::mode::DriveMode;
use crate::engine::state::{SMALL, TANK};
use crate::supply::Drive;
use crate::time::Time;

/// What a drive goes by.
struct Readings {
    /// The pump could run.
    ready: bool,
    /// The pressure has fallen to where the drive wakes.
    woken: bool,
    /// The pressure has reached what it holds.
    at_set: bool,
    /// Flow at that pressure, and what the pump could give beyond.
    held_lps: f64,
    spare_lps: f64,
}

impl DriveMode {
    /// What a drive does next; `None` where it goes on as it is.
    fn next(self, now: Time, drive: &Drive, readings: &Readings) -> Option<Self> {
        match self {
            Self::Asleep { since } if readings.ready && now >= since + DRIVE_DWELL && readings.woken => {
                Some(Self::Full)
            }
            Self::Asleep { .. } => None,
            _ if !readings.ready => Some(Self::Asleep { since: now }),
            Self::Full if readings.at_set && readings.spare_lps >= 0.0 => Some(Self::Hold { idle_since: Time::NEVER }),
            Self::Full => None,
            // The tank may have lost air, and stand lower than what is held.
            Self::Hold { .. } if readings.spare_lps < 0.0 || !readings.at_set => Some(Self::Full),
            Self::Hold { idle_since } => {
                let idle = readings.held_lps <= drive.sleep_flow_lps;
                if idle && now >= idle_since + drive.sleep_delay {
                    Some(Self::Asleep { since: now })
                } else if idle == (idle_since == Time::NEVER) {
                    Some(Self::Hold { idle_since: if idle { now } else { Time::NEVER } })
                } else {
                    None
                }
            }
        }
    }

    /// Arms what ends it: `level` is that of the tank with `wake_l` and `set_l` in it at the drive's pressures.
    fn arm(
        self,
        drive: &Drive,
        now: Time,
        (level, wake_l, set_l): (usize, f64, f64),
        guards: &mut Guards,
        timer: &mut Time,
    ) {
        match self {
            Self::Asleep { since } if now < since + DRIVE_DWELL => *timer = (since + DRIVE_DWELL).min(*timer),
            Self::Asleep { .. } => guards.falls_to(level, wake_l),
            Self::Full => guards.rises_to(level, set_l),
            Self::Hold { idle_since } => *timer = (idle_since + drive.sleep_delay).min(*timer),
        }
    }
}

impl Core<'_> {
    pub(super) fn act_delivery(&mut self) -> bool {
        let Some(delivery) = self.hydraulics.delivery() else { return false };
        let (mode, water_l, tank) = (&self.state.mode, self.state.levels[SMALL], &delivery.tank);
        let readings = Readings {
            ready: mode.delivery_ready(),
            woken: mode.small_empty || water_l <= tank.water_l(delivery.drive.wake_kpa),
            at_set: !mode.small_empty && water_l >= tank.water_l(delivery.drive.set_kpa),
            held_lps: self.demand.hold_lps,
            spare_lps: self.demand.hold_spare_lps,
        };
        let next = mode.delivery.next(self.state.time, &delivery.drive, &readings);
        self.state.mode.delivery = next.unwrap_or(self.state.mode.delivery);
        next.is_some()
    }

    pub(super) fn arm_delivery(&self, guards: &mut Guards, timer: &mut Time) {
        let Some(delivery) = self.hydraulics.delivery() else { return };
        let (drive, tank) = (&delivery.drive, &delivery.tank);
        let marks = (SMALL, tank.water_l(drive.wake_kpa), tank.water_l(drive.set_kpa));
        self.state.mode.delivery.arm(drive, self.state.time, marks, guards, timer);
    }

    pub(super) fn act_supply_drive(&mut self, i: usize) -> bool {
        let Some(drive) = self.hydraulics.drive(i) else { return false };
        let Some(tank) = &self.hydraulics.tank else { return false };
        let (mode, water_l) = (&self.state.mode, self.state.levels[TANK]);
        let (held_lps, spare_lps) = match mode.supplies[i].drive {
            DriveMode::Asleep { .. } => (0.0, 0.0),
            _ => self.hydraulics.hold(i, mode, &self.demand, &self.state.levels),
        };
        let readings = Readings {
            ready: self.hydraulics.connected(i, mode) && self.hydraulics.ready(i, mode),
            woken: mode.tank_empty || water_l <= tank.water_l(drive.wake_kpa),
            at_set: !mode.tank_empty && water_l >= tank.water_l(drive.set_kpa),
            held_lps,
            spare_lps,
        };
        let next = mode.supplies[i].drive.next(self.state.time, drive, &readings);
        self.state.mode.supplies[i].drive = next.unwrap_or(self.state.mode.supplies[i].drive);
        next.is_some()
    }

    pub(super) fn arm_supply_drive(&self, i: usize, guards: &mut Guards, timer: &mut Time) {
        let (Some(drive), Some(tank)) = (self.hydraulics.drive(i), &self.hydraulics.tank) else { return };
        let mode = self.state.mode.supplies[i].drive;
        let marks = (TANK, tank.water_l(drive.wake_kpa), tank.water_l(drive.set_kpa));
        mode.arm(drive, self.state.time, marks, guards, timer);
        if let DriveMode::Hold { idle_since } = mode {
            // Well level and a float valve move while it holds.
            guards.arm(Quantity::HoldSpare(i), 0.0, false);
            guards.arm(Quantity::HoldFlow(i), drive.sleep_flow_lps, idle_since != Time::NEVER);
        }
    }
}
