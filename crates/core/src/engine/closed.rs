//! Kinks, where a rate changes its law; and closed forms, where between kinks all rates are constant.
//!
//! A piece ends at every kink, so that within one every rate is smooth: steps keep their order, and a closed form ends
//! where it no longer holds.

use super::Core;
use super::flows::Flows;
use super::guard::{Guards, Quantity};
use super::mode::{DriveMode, Phase};
use super::piece::WellForm;
use super::state::{SOURCE, STORAGE, SupplyPort, TANK, of_supply};
use crate::outlet::Header;
use crate::plant::Store;
use crate::pump::{PumpCurve, PumpPower};
use crate::storage::Fill;
use crate::supply::MOST_SUPPLIES;
use crate::well::Response;

impl Core<'_> {
    /// A guard at every kink, on the side the plant stands on.
    pub(super) fn arm_kinks(&self, kinks: &mut Guards) {
        let (levels, plant) = (&self.state.levels, self.hydraulics.plant);
        if let Some(tank) = self.hydraulics.giving_tank(&self.state.mode) {
            // Less gas than fills the tank at the pressure of the air: up to there its pressure is zero.
            let no_pressure_l = tank.water_l(0.0);
            if no_pressure_l > 0.0 {
                kinks.arm(Quantity::Level(TANK), no_pressure_l, levels[TANK] < no_pressure_l);
            }
        }
        for (i, supply) in plant.supplies.iter().enumerate() {
            if let Some(well) = supply.source.well() {
                let (level, entry_m) = (SOURCE + i, well.entry_drawdown_m());
                kinks.arm(Quantity::Level(level), entry_m, levels[level] < entry_m);
            }
            if self.hydraulics.tops_up(i, &self.state.mode)
                && let Some(top_up) = supply.source.basin().and_then(|basin| basin.top_up.as_ref())
            {
                self.arm_full_flow(kinks, Header::Raw, top_up.full_flow_kpa);
            }
        }
        for (i, outlet) in plant.outlets.iter().enumerate() {
            if self.demand.lps[i] > 0.0 {
                self.arm_full_flow(kinks, outlet.header, self.steady_kpa(i));
            }
        }
        if let Some(Store { storage, .. }) = &plant.store {
            if self.fill_is_open() {
                self.arm_full_flow(kinks, Header::Raw, self.fill_steady_kpa());
                if let Some(running) = &self.hydraulics.membrane {
                    if running.membrane.blend.is_some() && self.state.mode.membrane.phase == Phase::Makes {
                        // Where a blend begins to flow.
                        let end_kpa = running.end_kpa(running.membrane.unit.product_kpa);
                        self.arm_full_flow(kinks, Header::Raw, self.at_head_kpa(Header::Raw, true, end_kpa));
                    }
                    self.arm_full_flow(kinks, Header::Raw, self.at_head_kpa(Header::Raw, true, running.fed_kpa()));
                }
            }
            if let (Fill::FloatValve { open_l, shut_l, .. }, None) = (&storage.fill, self.state.mode.faults.stuck) {
                for kink_l in [*open_l, *shut_l] {
                    kinks.arm(Quantity::Level(STORAGE), kink_l, levels[STORAGE] < kink_l);
                }
            }
        }
    }

    /// Pressure at a header from which an outlet's flow no longer depends on it.
    fn steady_kpa(&self, i: usize) -> f64 {
        let outlet = &self.hydraulics.plant.outlets[i];
        let full_kpa = self.hydraulics.share_kpa(i, 1.0, &self.demand);
        self.at_head_kpa(outlet.header, outlet.treated, self.hydraulics.given_kpa(outlet, full_kpa, full_kpa))
    }

    fn fill_steady_kpa(&self) -> f64 {
        let end_kpa = match &self.hydraulics.membrane {
            // What it takes follows the pressure all the way.
            Some(_) if self.state.mode.membrane.phase.makes() => return f64::INFINITY,
            Some(running) => running.end_kpa(running.membrane.flush.full_flow_kpa).max(running.fed_kpa()),
            None => {
                let valve = self.hydraulics.plant.store.as_ref().and_then(|store| store.storage.fill.valve());
                valve.map_or(0.0, |(_, full_flow_kpa)| full_flow_kpa)
            }
        };
        self.at_head_kpa(Header::Raw, true, end_kpa)
    }

    /// Pressure at a header that answers to one at the end of its line.
    pub(super) fn at_head_kpa(&self, header: Header, treated: bool, end_kpa: f64) -> f64 {
        if !treated {
            return end_kpa;
        }
        self.hydraulics.head_kpa(header, end_kpa, &self.state.mode, &self.demand, &self.state.levels)
    }

    fn arm_full_flow(&self, guards: &mut Guards, header: Header, full_flow_kpa: f64) {
        let serves = self.serves(header, full_flow_kpa);
        self.arm_pressure(guards, header, full_flow_kpa, !serves);
    }

    /// Whether the pressure on a header is above one from which outlets have their full flow.
    fn serves(&self, header: Header, full_flow_kpa: f64) -> bool {
        !self.stands(header, full_flow_kpa, false)
    }

    /// Whether anything is taken to fill storage.
    fn fill_is_open(&self) -> bool {
        if self.hydraulics.membrane.is_some() {
            return self.state.mode.membrane.phase.draws();
        }
        self.hydraulics.fill_opening(&self.state.mode, self.state.levels[STORAGE]) > 0.0
    }

    /// The closed form from the present to the next kink; `None` where a rate depends on a level.
    pub(super) fn closed_form(&self, flows: &Flows) -> Option<[WellForm; MOST_SUPPLIES]> {
        let holds = self.pumps_are_steady()
            && self.fill_is_steady(flows)
            && self.raw_side_is_steady()
            && self.delivery_side_is_steady();
        holds.then(|| core::array::from_fn(|i| self.well_form(i, flows)))
    }

    fn pumps_are_steady(&self) -> bool {
        let (mode, hydraulics) = (&self.state.mode, &self.hydraulics);
        hydraulics.plant.supplies.iter().enumerate().all(|(i, supply)| {
            !hydraulics.runs(i, mode)
                || supply.source.pump().is_none_or(|pump| {
                    !mode.supplies[i].starved
                        && matches!(pump.curve(), PumpCurve::Constant { .. })
                        && matches!(pump.power, PumpPower::Constant { .. })
                })
        })
    }

    /// A float valve is steady while fully open, or shut with the level at rest; any valve while the line is shut.
    fn fill_is_steady(&self, flows: &Flows) -> bool {
        let water_l = self.state.levels[STORAGE];
        if self.state.mode.faults.stuck.is_some() || self.demand.line(Header::Raw).shut {
            return true;
        }
        match self.hydraulics.plant.store.as_ref().map(|store| &store.storage.fill) {
            Some(Fill::FloatValve { open_l, shut_l, .. }) => {
                water_l < *open_l || water_l >= *shut_l && flows.levels[STORAGE] == 0.0
            }
            _ => true,
        }
    }

    fn raw_side_is_steady(&self) -> bool {
        let (mode, hydraulics) = (&self.state.mode, &self.hydraulics);
        if hydraulics.giving_tank(mode).is_none() && hydraulics.holder(mode).is_none() {
            // A main and what hangs on it answer to the wanted flows alone.
            return !hydraulics.any_runs(mode) || !hydraulics.tank_is_in(mode);
        }
        let supplies = hydraulics.plant.supplies.iter().enumerate();
        let side_flows_are_steady = supplies.into_iter().all(|(i, supply)| {
            let top_up = supply.source.basin().and_then(|basin| basin.top_up.as_ref());
            let topped_up = top_up
                .is_none_or(|top_up| !hydraulics.tops_up(i, mode) || self.serves(Header::Raw, top_up.full_flow_kpa));
            topped_up && !hydraulics.leaks_back(i, mode)
        });
        let fill_is_steady = !self.fill_is_open() || self.serves(Header::Raw, self.fill_steady_kpa());
        side_flows_are_steady && fill_is_steady && self.outlets_are_steady(Header::Raw)
    }

    pub(super) fn delivery_side_is_steady(&self) -> bool {
        let mode = &self.state.mode;
        match mode.delivery {
            DriveMode::Hold { .. } => true,
            DriveMode::Full => false,
            DriveMode::Asleep { .. } => mode.small_empty || self.outlets_are_steady(Header::Delivery),
        }
    }

    /// Whether the flows of all outlets drawing from a header are independent of its pressure.
    fn outlets_are_steady(&self, header: Header) -> bool {
        let mut drawing = self.hydraulics.plant.outlets.iter().enumerate();
        drawing.all(|(i, outlet)| {
            outlet.header != header || self.demand.lps[i] <= 0.0 || self.serves(header, self.steady_kpa(i))
        })
    }

    fn well_form(&self, i: usize, flows: &Flows) -> WellForm {
        let well = self.hydraulics.plant.supplies.get(i).and_then(|supply| supply.source.well());
        let Some(well) = well else { return WellForm::Linear };
        let Response::Drawdown { specific_capacity_lps_per_m: capacity_lps_per_m, .. } = well.response else {
            return WellForm::Linear;
        };
        let (level, entry_m) = (SOURCE + i, well.entry_drawdown_m());
        let drawdown_m = self.state.levels[level];
        if drawdown_m > entry_m || drawdown_m == entry_m && flows.levels[level] > 0.0 {
            // Below the entry the inflow is at its most.
            return WellForm::Linear;
        }
        let taken_lps =
            flows.ports[of_supply(i, SupplyPort::Pumped)] - flows.ports[of_supply(i, SupplyPort::LeakedBack)];
        WellForm::Exponential {
            steady_m: taken_lps / capacity_lps_per_m,
            time_constant_s: well.storage_l_per_m() / capacity_lps_per_m,
            capacity_lps_per_m,
        }
    }
}
