//! Kinks, where a rate changes its law; and closed forms, where between kinks all rates are constant.
//!
//! A piece ends at every kink, so that within one every rate is smooth: steps keep their order, and a closed form ends
//! where it no longer holds.

use super::Core;
use super::flows::Flows;
use super::guard::{Guards, Quantity};
use super::piece::WellForm;
use super::state::{DRAWDOWN, DeliveryMode, PUMPED, STORAGE};
use crate::outlet::Header;
use crate::plant::Store;
use crate::pump::{PumpCurve, PumpPower};
use crate::storage::Fill;
use crate::well::Response;

impl Core<'_> {
    /// A guard at every kink, on the side the plant stands on.
    pub(super) fn kinks(&self) -> Guards {
        let mut kinks = Guards::new();
        let (levels, plant) = (&self.state.levels, self.hydraulics.plant);
        let entry_m = plant.well.entry_drawdown_m();
        kinks.arm(Quantity::Level(DRAWDOWN), entry_m, levels[DRAWDOWN] < entry_m);
        for (outlet, wanted_lps) in plant.outlets.iter().zip(&self.demand.lps) {
            if *wanted_lps > 0.0 {
                self.arm_full_flow(&mut kinks, outlet.header, outlet.full_flow_kpa);
            }
        }
        if let Some(Store { storage, .. }) = &plant.store {
            if self.fill_is_open() {
                self.arm_full_flow(&mut kinks, Header::Raw, storage.fill.full_flow_kpa());
            }
            if let Fill::FloatValve { open_l, shut_l, .. } = storage.fill {
                for kink_l in [open_l, shut_l] {
                    kinks.arm(Quantity::Level(STORAGE), kink_l, levels[STORAGE] < kink_l);
                }
            }
        }
        kinks
    }

    fn arm_full_flow(&self, guards: &mut Guards, header: Header, full_flow_kpa: f64) {
        let serves = self.serves(header, full_flow_kpa);
        self.arm_pressure(guards, header, full_flow_kpa, !serves);
    }

    /// Whether the pressure on a header is above one from which outlets have their full flow.
    fn serves(&self, header: Header, full_flow_kpa: f64) -> bool {
        !self.stands(header, full_flow_kpa, false)
    }

    fn fill_is_open(&self) -> bool {
        let store = self.hydraulics.plant.store.as_ref();
        let (on, water_l) = (self.state.mode.valve_on(), self.state.levels[STORAGE]);
        store.is_some_and(|store| store.storage.fill.opening(on, water_l) > 0.0)
    }

    /// The closed form from the present to the next kink; `None` where a rate depends on a level.
    pub(super) fn closed_form(&self, flows: &Flows) -> Option<WellForm> {
        let holds = self.pump_is_steady()
            && self.fill_is_steady(flows)
            && self.raw_side_is_steady()
            && self.delivery_side_is_steady();
        holds.then(|| self.well_form(flows))
    }

    fn pump_is_steady(&self) -> bool {
        let (mode, pump) = (&self.state.mode, &self.hydraulics.plant.well_pump);
        !mode.pump_on()
            || !mode.starved
                && matches!(pump.curve(), PumpCurve::Constant { .. })
                && matches!(pump.power, PumpPower::Constant { .. })
    }

    /// A float valve is steady while fully open, or shut with the level at rest.
    fn fill_is_steady(&self, flows: &Flows) -> bool {
        let water_l = self.state.levels[STORAGE];
        match self.hydraulics.plant.store.as_ref().map(|store| &store.storage.fill) {
            Some(Fill::FloatValve { open_l, shut_l, .. }) => {
                water_l < *open_l || water_l >= *shut_l && flows.levels[STORAGE] == 0.0
            }
            _ => true,
        }
    }

    fn raw_side_is_steady(&self) -> bool {
        let mode = &self.state.mode;
        if mode.tank_empty {
            return !mode.pump_on();
        }
        let fill = self.hydraulics.plant.store.as_ref().map(|store| &store.storage.fill);
        let fill_is_steady = fill.is_none_or(|f| !self.fill_is_open() || self.serves(Header::Raw, f.full_flow_kpa()));
        fill_is_steady && self.outlets_are_served(Header::Raw)
    }

    fn delivery_side_is_steady(&self) -> bool {
        let mode = &self.state.mode;
        match mode.delivery {
            DeliveryMode::Hold { .. } => true,
            DeliveryMode::Full => false,
            DeliveryMode::Asleep { .. } => mode.small_empty || self.outlets_are_served(Header::Delivery),
        }
    }

    /// Whether all outlets drawing from a header have their full flow.
    fn outlets_are_served(&self, header: Header) -> bool {
        let mut drawing = self.hydraulics.plant.outlets.iter().zip(&self.demand.lps);
        drawing.all(|(o, wanted_lps)| o.header != header || *wanted_lps <= 0.0 || self.serves(header, o.full_flow_kpa))
    }

    fn well_form(&self, flows: &Flows) -> WellForm {
        let well = &self.hydraulics.plant.well;
        let Response::Drawdown { specific_capacity_lps_per_m: capacity_lps_per_m, .. } = well.response else {
            return WellForm::Linear;
        };
        let (drawdown_m, entry_m) = (self.state.levels[DRAWDOWN], well.entry_drawdown_m());
        if drawdown_m > entry_m || drawdown_m == entry_m && flows.levels[DRAWDOWN] > 0.0 {
            // Below the entry the inflow is at its most.
            return WellForm::Linear;
        }
        WellForm::Exponential {
            steady_m: flows.ports[PUMPED] / capacity_lps_per_m,
            time_constant_s: well.storage_l_per_m() / capacity_lps_per_m,
            capacity_lps_per_m,
        }
    }
}
