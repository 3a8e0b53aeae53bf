//! The rates: how fast every level moves and what goes through every port, for a mode, the wanted flows and the levels.

use super::state::{
    DELIVERY_J, DELIVERY_KPA_S, DRAWDOWN, DRAWN, DeliveryMode, FILLED, INFLOW, Levels, Mode, PUMPED, Ports, RAW_KPA_S,
    SERVED, SMALL, STORAGE, TANK, WELL_PUMP_J, Wanted,
};
use crate::delivery::Delivery;
use crate::outlet::{Header, open_share};
use crate::plant::{MOST_OUTLETS, Plant, Store};
use crate::root::root;

/// The rates at one instant.
#[derive(Clone, Copy, Debug)]
pub(super) struct Flows {
    pub levels: Levels,
    /// Rates of the ports; the pressures are in the places of their integrals.
    pub ports: Ports,
}

/// A plant with what never changes in a run worked out once.
#[derive(Clone, Debug)]
pub(super) struct Hydraulics<'p> {
    pub plant: &'p Plant,
    /// Water in the pressure tank when it has none to give, and its pressure then.
    pub tank_least_l: f64,
    pub tank_empty_kpa: f64,
    /// The same of the small tank.
    pub small_least_l: f64,
    pub small_empty_kpa: f64,
    casing_l_per_m: f64,
}

/// The wanted flows, and what follows from them alone.
#[derive(Clone, Debug)]
pub(super) struct Demand {
    /// By outlet.
    pub lps: [f64; MOST_OUTLETS],
    /// What the house takes at the set pressure of the delivery pump, and the power it takes to hold it there.
    pub hold_lps: f64,
    hold_power_w: f64,
    /// Supply at the set pressure less demand there: negative when the delivery pump cannot hold it.
    pub hold_spare_lps: f64,
}

/// Where supply meets demand below the pressure of an empty tank. A trial stage may lie past the instant at which the tank
/// begins to fill: there is water to spare then, and the pressure is the tank's.
fn meet(spare_lps: impl Fn(f64) -> f64, empty_kpa: f64) -> f64 {
    if spare_lps(empty_kpa) >= 0.0 { empty_kpa } else { root(spare_lps, 0.0, empty_kpa) }
}

impl Mode {
    pub(super) fn has_power(&self) -> bool {
        self.out[0] == 0
    }

    pub(super) fn pump_on(&self) -> bool {
        self.switch_closed && self.has_power() && self.out[1] == 0 && !self.low_level
    }

    /// Whether the delivery pump could run.
    pub(super) fn delivery_ready(&self) -> bool {
        self.has_power() && self.out[2] == 0 && !self.protect
    }

    /// Whether the float switch's solenoid valve is open: it is shut without power.
    pub(super) fn valve_on(&self) -> bool {
        self.fill_on && self.has_power()
    }
}

impl<'p> Hydraulics<'p> {
    pub(super) fn new(plant: &'p Plant) -> Self {
        let tank = &plant.pressure_tank;
        let small = plant.store.as_ref().map(|store| &store.delivery.tank);
        Self {
            plant,
            tank_least_l: tank.least_water_l(),
            tank_empty_kpa: tank.empty_kpa(),
            small_least_l: small.map_or(0.0, crate::pressure_tank::PressureTank::least_water_l),
            small_empty_kpa: small.map_or(0.0, crate::pressure_tank::PressureTank::empty_kpa),
            casing_l_per_m: plant.well.storage_l_per_m(),
        }
    }

    pub(super) fn delivery(&self) -> Option<&'p Delivery> {
        self.plant.store.as_ref().map(|store| &store.delivery)
    }

    /// Litres that answer to a unit of each level: one, and the casing for the drawdown.
    pub(super) fn litres_per_level(&self) -> Levels {
        [1.0, self.casing_l_per_m, 1.0, 1.0]
    }

    /// What the outlets of a header pass at a pressure.
    fn outlets_lps(&self, header: Header, demand: &Demand, pressure_kpa: f64) -> f64 {
        let mut sum = 0.0;
        for (outlet, wanted_lps) in self.plant.outlets.iter().zip(&demand.lps) {
            if outlet.header == header && *wanted_lps > 0.0 {
                sum += wanted_lps * open_share(pressure_kpa, outlet.full_flow_kpa);
            }
        }
        sum
    }

    fn fill_lps(&self, mode: &Mode, levels: &Levels, pressure_kpa: f64) -> f64 {
        match &self.plant.store {
            Some(Store { storage, .. }) => storage.fill.flow_lps(mode.valve_on(), levels[STORAGE], pressure_kpa),
            None => 0.0,
        }
    }

    /// All that leaves the raw header at a pressure.
    fn raw_out_lps(&self, mode: &Mode, demand: &Demand, levels: &Levels, pressure_kpa: f64) -> f64 {
        self.outlets_lps(Header::Raw, demand, pressure_kpa) + self.fill_lps(mode, levels, pressure_kpa)
    }

    /// What the well pump gives against a pressure if its intake is covered; zero while it stands still.
    fn pump_covered_lps(&self, mode: &Mode, levels: &Levels, pressure_kpa: f64) -> f64 {
        if !mode.pump_on() {
            return 0.0;
        }
        let depth_m = self.plant.well.water_depth_m(levels[DRAWDOWN]);
        self.plant.well_pump.flow_lps(depth_m, pressure_kpa, &self.plant.water)
    }

    fn pump_lps(&self, mode: &Mode, levels: &Levels, pressure_kpa: f64) -> f64 {
        let covered_lps = self.pump_covered_lps(mode, levels, pressure_kpa);
        if mode.starved { covered_lps.min(self.plant.well.inflow_lps(levels[DRAWDOWN])) } else { covered_lps }
    }

    /// Flow at full speed of the delivery pump; zero while it stands still.
    fn delivery_full_lps(&self, mode: &Mode, pressure_kpa: f64) -> f64 {
        match self.delivery() {
            Some(delivery) if mode.delivery_ready() && !mode.delivery.asleep() => {
                delivery.full_speed_flow_lps(pressure_kpa, &self.plant.water)
            }
            _ => 0.0,
        }
    }

    /// Supply less demand on the raw header at the pressure where its tank has no more to give.
    pub(super) fn raw_spare_lps(&self, mode: &Mode, demand: &Demand, levels: &Levels) -> f64 {
        let kpa = self.tank_empty_kpa;
        self.pump_lps(mode, levels, kpa) - self.raw_out_lps(mode, demand, levels, kpa)
    }

    /// The same behind the delivery pump.
    pub(super) fn small_spare_lps(&self, mode: &Mode, demand: &Demand) -> f64 {
        let kpa = self.small_empty_kpa;
        self.delivery_full_lps(mode, kpa) - self.outlets_lps(Header::Delivery, demand, kpa)
    }

    /// Inflow into the casing less what the pump would take with its intake covered.
    pub(super) fn well_spare_lps(&self, mode: &Mode, demand: &Demand, levels: &Levels) -> f64 {
        let kpa = self.raw_kpa(mode, demand, levels);
        self.plant.well.inflow_lps(levels[DRAWDOWN]) - self.pump_covered_lps(mode, levels, kpa)
    }

    /// What follows from the wanted flows.
    pub(super) fn demand(&self, wanted: &[Wanted; MOST_OUTLETS]) -> Demand {
        let mut demand =
            Demand { lps: wanted.map(|w| w.total().lps()), hold_lps: 0.0, hold_power_w: 0.0, hold_spare_lps: 0.0 };
        if let Some(delivery) = self.delivery() {
            let water = &self.plant.water;
            demand.hold_lps = self.outlets_lps(Header::Delivery, &demand, delivery.set_kpa);
            demand.hold_spare_lps = delivery.full_speed_flow_lps(delivery.set_kpa, water) - demand.hold_lps;
            demand.hold_power_w = delivery.hold_power_w(demand.hold_lps, water);
        }
        demand
    }

    /// Pressure on the raw header. With an empty tank it is where supply and demand meet, below the tank's pressure.
    pub(super) fn raw_kpa(&self, mode: &Mode, demand: &Demand, levels: &Levels) -> f64 {
        if !mode.tank_empty {
            return self.plant.pressure_tank.pressure_kpa(levels[TANK]);
        }
        if !mode.pump_on() {
            return 0.0;
        }
        let spare = |kpa| self.pump_lps(mode, levels, kpa) - self.raw_out_lps(mode, demand, levels, kpa);
        meet(spare, self.tank_empty_kpa)
    }

    /// Pressure behind the delivery pump; zero where there is none.
    pub(super) fn delivery_kpa(&self, mode: &Mode, demand: &Demand, levels: &Levels) -> f64 {
        let Some(delivery) = self.delivery() else { return 0.0 };
        if matches!(mode.delivery, DeliveryMode::Hold { .. }) {
            return delivery.set_kpa;
        }
        if !mode.small_empty {
            return delivery.tank.pressure_kpa(levels[SMALL]);
        }
        if mode.delivery.asleep() || !mode.delivery_ready() {
            return 0.0;
        }
        let spare = |kpa| self.delivery_full_lps(mode, kpa) - self.outlets_lps(Header::Delivery, demand, kpa);
        meet(spare, self.small_empty_kpa)
    }

    /// Pressure on a header.
    pub(super) fn header_kpa(&self, header: Header, mode: &Mode, demand: &Demand, levels: &Levels) -> f64 {
        match header {
            Header::Raw => self.raw_kpa(mode, demand, levels),
            Header::Delivery => self.delivery_kpa(mode, demand, levels),
        }
    }

    /// All rates.
    pub(super) fn flows(&self, mode: &Mode, demand: &Demand, levels: &Levels) -> Flows {
        let plant = self.plant;
        let mut flows = Flows { levels: [0.0; 4], ports: [0.0; _] };
        let ports = &mut flows.ports;

        let raw_kpa = self.raw_kpa(mode, demand, levels);
        let pump_lps = self.pump_lps(mode, levels, raw_kpa);
        let fill_lps = self.fill_lps(mode, levels, raw_kpa);
        ports[RAW_KPA_S] = raw_kpa;
        ports[PUMPED] = pump_lps;
        ports[FILLED] = fill_lps;
        if mode.pump_on() {
            ports[WELL_PUMP_J] = plant.well_pump.power_w(pump_lps, &plant.water);
        }

        let delivery_kpa = self.delivery_kpa(mode, demand, levels);
        ports[DELIVERY_KPA_S] = delivery_kpa;

        let (mut raw_lps, mut delivery_lps) = (0.0, 0.0);
        for (i, outlet) in plant.outlets.iter().enumerate() {
            let (kpa, sum) = match outlet.header {
                Header::Raw => (raw_kpa, &mut raw_lps),
                Header::Delivery => (delivery_kpa, &mut delivery_lps),
            };
            let share = if demand.lps[i] > 0.0 { open_share(kpa, outlet.full_flow_kpa) } else { 1.0 };
            ports[SERVED + i] = share;
            *sum += demand.lps[i] * share;
        }

        if let Some(delivery) = self.delivery() {
            let (drawn_lps, power_w) = match mode.delivery {
                _ if !mode.has_power() => (0.0, 0.0),
                _ if !mode.delivery_ready() => (0.0, delivery.standby_w),
                DeliveryMode::Asleep { .. } => (0.0, delivery.standby_w),
                DeliveryMode::Hold { .. } => (delivery_lps, demand.hold_power_w),
                DeliveryMode::Full => {
                    let full_lps = self.delivery_full_lps(mode, delivery_kpa);
                    (full_lps, delivery.full_speed_power_w(full_lps, &plant.water))
                }
            };
            ports[DRAWN] = drawn_lps;
            ports[DELIVERY_J] = power_w;
            flows.levels[STORAGE] = fill_lps - drawn_lps;
            // Zero while the pump holds its pressure, and, to rounding, while the tank is empty.
            flows.levels[SMALL] = drawn_lps - delivery_lps;
        }

        flows.levels[TANK] = pump_lps - raw_lps - fill_lps;
        if self.casing_l_per_m > 0.0 {
            let inflow_lps = plant.well.inflow_lps(levels[DRAWDOWN]);
            ports[INFLOW] = inflow_lps;
            flows.levels[DRAWDOWN] = (pump_lps - inflow_lps) / self.casing_l_per_m;
        } else {
            ports[INFLOW] = pump_lps;
        }
        flows
    }
}
