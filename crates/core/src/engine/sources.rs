//! What the supplies give and take: their pumps on the raw header, what runs into them, what leaks back.

use super::flows::Hydraulics;
use super::mode::{DriveMode, Mode};
use super::state::{Levels, Ports, SOURCE, SupplyPort, of_supply};
use crate::outlet::open_share;
use crate::supply::{Control, Source, Supply};

impl Hydraulics<'_> {
    /// The highest pressure that the raw header can have without a tank that gives.
    pub(super) fn most_raw_kpa(&self, mode: &Mode) -> f64 {
        self.town_kpa[usize::from(mode.on_standby)].unwrap_or(self.tank_empty_kpa)
    }

    pub(super) fn source_depth_m(&self, supply: usize, levels: &Levels) -> f64 {
        match &self.plant.supplies[supply].source {
            Source::Well { well, .. } => well.water_depth_m(levels[SOURCE + supply]),
            Source::Basin { basin, .. } => basin.water_depth_m(levels[SOURCE + supply]),
            Source::TownLine(_) => 0.0,
        }
    }

    /// What a running supply gives against a pressure if its intake is covered; zero while it stands still.
    pub(super) fn covered_lps(&self, supply: usize, mode: &Mode, levels: &Levels, pressure_kpa: f64) -> f64 {
        if !self.runs(supply, mode) {
            return 0.0;
        }
        match &self.plant.supplies[supply].source {
            Source::TownLine(line) => line.flow_lps(pressure_kpa),
            Source::Well { pump, .. } | Source::Basin { pump, .. } => {
                let depth_m = self.source_depth_m(supply, levels);
                pump.flow_lps(mode.faults.speed[supply], depth_m, pressure_kpa, &self.plant.water)
            }
        }
    }

    /// What a running supply gives against a pressure.
    pub(super) fn given_lps(&self, supply: usize, mode: &Mode, levels: &Levels, pressure_kpa: f64) -> f64 {
        if mode.supplies[supply].uncovered {
            return 0.0;
        }
        let covered_lps = self.covered_lps(supply, mode, levels, pressure_kpa);
        if mode.supplies[supply].starved {
            covered_lps.min(self.source_in_lps(supply, mode, levels, pressure_kpa).max(0.0))
        } else {
            covered_lps
        }
    }

    pub(super) fn supplied_lps(&self, mode: &Mode, levels: &Levels, pressure_kpa: f64) -> f64 {
        (0..self.plant.supplies.len()).map(|i| self.given_lps(i, mode, levels, pressure_kpa)).sum()
    }

    /// What runs into a source: into a casing; into a basin from outside and through the top-up valve, less what it loses.
    pub(super) fn source_in_lps(&self, supply: usize, mode: &Mode, levels: &Levels, raw_kpa: f64) -> f64 {
        match &self.plant.supplies[supply].source {
            Source::Well { well, .. } => well.inflow_lps(levels[SOURCE + supply]),
            Source::Basin { .. } => {
                let (in_lps, lost_lps) = mode.supplies[supply].outside_lps();
                in_lps + self.top_up_lps(supply, mode, raw_kpa) - lost_lps
            }
            Source::TownLine(_) => f64::INFINITY,
        }
    }

    /// Flow through the top-up valve of a basin, open only while the basin itself is isolated.
    pub(super) fn top_up_lps(&self, supply: usize, mode: &Mode, raw_kpa: f64) -> f64 {
        if !self.tops_up(supply, mode) {
            return 0.0;
        }
        let basin = self.plant.supplies[supply].source.basin();
        let top_up = basin.and_then(|basin| basin.top_up.as_ref());
        top_up.map_or(0.0, |top_up| top_up.flow_lps * open_share(raw_kpa, top_up.full_flow_kpa))
    }

    pub(super) fn tops_up(&self, supply: usize, mode: &Mode) -> bool {
        mode.supplies[supply].top_up_on && mode.has_power() && !self.connected(supply, mode)
    }

    /// Flow back through a leaking check valve: only while the pump stands still, and only where it is not isolated.
    pub(super) fn leak_back_lps(&self, supply: usize, mode: &Mode, raw_kpa: f64) -> f64 {
        if !self.leaks_back(supply, mode) {
            return 0.0;
        }
        let pump = self.plant.supplies[supply].source.pump();
        pump.map_or(0.0, |pump| mode.faults.leak_lps[supply] * open_share(raw_kpa, pump.control.high_kpa()))
    }

    pub(super) fn leaks_back(&self, supply: usize, mode: &Mode) -> bool {
        mode.faults.leak_lps[supply] > 0.0 && self.connected(supply, mode) && !self.runs(supply, mode)
    }

    /// Ports of a supply that gives `pumped_lps` to the header at `raw_kpa` and gets some back from the membrane unit; returns
    /// the rate of its level.
    pub(super) fn source_rates(
        &self,
        i: usize,
        supply: &Supply,
        mode: &Mode,
        levels: &Levels,
        (raw_kpa, pumped_lps, returned_lps): (f64, f64, f64),
        ports: &mut Ports,
    ) -> f64 {
        ports[of_supply(i, SupplyPort::Pumped)] = pumped_lps;
        ports[of_supply(i, SupplyPort::Energy)] = self.pump_power_w(i, mode, levels, raw_kpa, pumped_lps);
        let leaked_lps = ports[of_supply(i, SupplyPort::LeakedBack)];
        let inflow_port = of_supply(i, SupplyPort::Inflow);
        match &supply.source {
            Source::Well { well, .. } => {
                let casing_l_per_m = self.litres_per_level[SOURCE + i];
                if casing_l_per_m > 0.0 {
                    let inflow_lps = well.inflow_lps(levels[SOURCE + i]);
                    ports[inflow_port] = inflow_lps;
                    (pumped_lps - inflow_lps - leaked_lps) / casing_l_per_m
                } else {
                    ports[inflow_port] = pumped_lps - leaked_lps;
                    0.0
                }
            }
            Source::Basin { .. } => {
                let (in_lps, lost_lps) = mode.supplies[i].outside_lps();
                ports[inflow_port] = in_lps;
                let back_lps = ports[of_supply(i, SupplyPort::ToppedUp)] + leaked_lps + returned_lps;
                let net_lps = in_lps - lost_lps + back_lps - pumped_lps;
                if mode.supplies[i].brim {
                    ports[of_supply(i, SupplyPort::Overflowed)] = net_lps;
                    0.0
                } else {
                    net_lps
                }
            }
            Source::TownLine(_) => {
                ports[inflow_port] = pumped_lps;
                0.0
            }
        }
    }

    /// Electric power of a supply's pump and drive.
    fn pump_power_w(&self, i: usize, mode: &Mode, levels: &Levels, raw_kpa: f64, pumped_lps: f64) -> f64 {
        let Some(pump) = self.plant.supplies[i].source.pump() else { return 0.0 };
        let water = &self.plant.water;
        let standby_w = match &pump.control {
            Control::Drive(drive) if mode.has_power() => drive.standby_w,
            _ => 0.0,
        };
        let speed = mode.faults.speed[i];
        standby_w
            + match mode.supplies[i].drive {
                _ if !self.runs(i, mode) => 0.0,
                DriveMode::Hold { .. } => {
                    // A worn pump needs a new one's power for the flow divided, and the head divided, by its wear.
                    let depth_m = self.source_depth_m(i, levels);
                    pump.hold_power_w(speed, pumped_lps, depth_m, raw_kpa, water)
                }
                _ => pump.power_w(speed, pumped_lps, water),
            }
    }
}
