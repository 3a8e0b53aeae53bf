//! Where all rates are constant a segment has a closed form. This tells where, and arms the guards that end it.

use super::Core;
use super::flows::Flows;
use super::guard::Guards;
use super::piece::WellForm;
use super::state::{DRAWDOWN, DeliveryMode, SMALL, STORAGE, TANK};
use crate::outlet::Header;
use crate::plant::Store;
use crate::pressure_tank::PressureTank;
use crate::pump::{PumpCurve, PumpPower};
use crate::storage::Fill;
use crate::well::Response;

impl Core<'_> {
    /// The closed form from the present on, with the guards that end it; `None` where a rate depends on a level.
    pub(super) fn closed_form(&self, flows: &Flows, guards: &mut Guards) -> Option<WellForm> {
        let holds = self.pump_is_steady()
            && self.fill_is_steady(flows, guards)
            && self.raw_side_is_steady(guards)
            && self.delivery_side_is_steady(guards);
        holds.then(|| self.well_form(flows, guards))
    }

    fn pump_is_steady(&self) -> bool {
        let (mode, pump) = (&self.state.mode, &self.hydraulics.plant.well_pump);
        !mode.pump_on()
            || !mode.starved
                && matches!(pump.curve(), PumpCurve::Constant { .. })
                && matches!(pump.power, PumpPower::Constant { .. })
    }

    /// A float valve is steady while fully open, or shut with the level at rest.
    fn fill_is_steady(&self, flows: &Flows, guards: &mut Guards) -> bool {
        match self.hydraulics.plant.store.as_ref().map(|store| &store.storage.fill) {
            Some(Fill::FloatValve { open_l, shut_l, .. }) => {
                let water_l = self.state.levels[STORAGE];
                if water_l < *open_l {
                    guards.rises_to(STORAGE, *open_l);
                    true
                } else {
                    water_l >= *shut_l && flows.levels[STORAGE] == 0.0
                }
            }
            _ => true,
        }
    }

    fn raw_side_is_steady(&self, guards: &mut Guards) -> bool {
        let mode = &self.state.mode;
        if mode.tank_empty {
            return !mode.pump_on();
        }
        let mut full_kpa = self.full_flow_kpa(Header::Raw);
        if let Some(Store { storage, .. }) = &self.hydraulics.plant.store
            && storage.fill.opening(mode.valve_on(), self.state.levels[STORAGE]) > 0.0
        {
            full_kpa = full_kpa.max(storage.fill.full_flow_kpa());
        }
        self.tank_serves(&self.hydraulics.plant.pressure_tank, TANK, full_kpa, guards)
    }

    fn delivery_side_is_steady(&self, guards: &mut Guards) -> bool {
        let (mode, Some(delivery)) = (&self.state.mode, self.hydraulics.delivery()) else { return true };
        match mode.delivery {
            DeliveryMode::Hold { .. } => true,
            DeliveryMode::Full => false,
            DeliveryMode::Asleep if mode.small_empty => true,
            DeliveryMode::Asleep => {
                self.tank_serves(&delivery.tank, SMALL, self.full_flow_kpa(Header::Delivery), guards)
            }
        }
    }

    /// The pressure that all outlets drawing from a header need for full flow; minus infinity where none draws.
    fn full_flow_kpa(&self, header: Header) -> f64 {
        let outlets = self.hydraulics.plant.outlets.iter().zip(&self.demand.lps);
        outlets
            .filter(|(outlet, wanted_lps)| outlet.header == header && **wanted_lps > 0.0)
            .fold(f64::NEG_INFINITY, |most, (outlet, _)| most.max(outlet.full_flow_kpa))
    }

    /// Whether a tank gives more than `kpa`; arms the guard at which it no longer does.
    fn tank_serves(&self, tank: &PressureTank, level: usize, kpa: f64, guards: &mut Guards) -> bool {
        if kpa == f64::NEG_INFINITY {
            return true;
        }
        let least_l = tank.water_l(kpa);
        guards.falls_to(level, least_l);
        self.state.levels[level] > least_l
    }

    fn well_form(&self, flows: &Flows, guards: &mut Guards) -> WellForm {
        let well = &self.hydraulics.plant.well;
        let Response::Drawdown { specific_capacity_lps_per_m: capacity_lps_per_m, .. } = well.response else {
            return WellForm::Linear;
        };
        let (drawdown_m, entry_m) = (self.state.levels[DRAWDOWN], well.entry_drawdown_m());
        let rate = flows.levels[DRAWDOWN];
        if drawdown_m > entry_m || drawdown_m == entry_m && rate > 0.0 {
            // Below the entry the inflow is at its most.
            guards.falls_to(DRAWDOWN, entry_m);
            return WellForm::Linear;
        }
        guards.rises_to(DRAWDOWN, entry_m);
        WellForm::Exponential {
            steady_m: flows.ports[super::state::PUMPED] / capacity_lps_per_m,
            time_constant_s: well.storage_l_per_m() / capacity_lps_per_m,
            capacity_lps_per_m,
        }
    }
}
