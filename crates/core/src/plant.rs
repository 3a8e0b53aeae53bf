//! The parts of a plant, wired. What cannot be built is refused here; what is built badly is warned about.

use serde::{Deserialize, Serialize};
use thiserror::Error;

use crate::delivery::Delivery;
use crate::outlet::{Header, Outlet, Role};
use crate::pressure_tank::PressureTank;
use crate::pump::{PumpCurve, WellPump};
use crate::storage::{Fill, Storage};
use crate::water::Water;
use crate::well::{Response, Well};

/// The most outlets a plant may have: the engine keeps them in arrays of fixed size.
pub const MOST_OUTLETS: usize = 16;

/// The parts a plant is made of, not yet checked.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Parts {
    /// The water in it.
    pub water: Water,
    /// The well.
    pub well: Well,
    /// The pump in the well, with its pressure switch.
    pub well_pump: WellPump,
    /// The pressure tanks on the raw header.
    pub pressure_tank: PressureTank,
    /// Storage and the delivery pump behind it; `None` where the house hangs on the pressure tank.
    pub store: Option<Store>,
    /// Buildings and raw loads.
    pub outlets: Vec<Outlet>,
}

/// A storage tank and the pump that delivers from it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Store {
    /// The tank and its filling.
    pub storage: Storage,
    /// The pump behind it.
    pub delivery: Delivery,
}

/// A plant that can be built: every condition in [`Fault`] has been checked.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Plant {
    parts: Parts,
}

impl core::ops::Deref for Plant {
    type Target = Parts;
    fn deref(&self) -> &Parts {
        &self.parts
    }
}

/// A place in a plant, as a dotted path of keys; outlets are `outlet`, with their index in the fault.
pub type Place = &'static str;

/// Why a plant cannot be built.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum Fault {
    /// A number is not finite, or not in the range that makes sense for it.
    #[error("{place} is {value}, which is outside {least} to {most}")]
    OutOfRange {
        /// Where.
        place: Place,
        /// What was found.
        value: f64,
        /// The least that is accepted.
        least: f64,
        /// The most that is accepted.
        most: f64,
    },
    /// Of two values that must rise, the first is not below the second.
    #[error("{lower} ({lower_value}) must be below {upper} ({upper_value})")]
    OutOfOrder {
        /// The place that must hold the lower value.
        lower: Place,
        /// Its value.
        lower_value: f64,
        /// The place that must hold the higher value.
        upper: Place,
        /// Its value.
        upper_value: f64,
    },
    /// The pump hangs above the standing water.
    #[error("the pump at {pump_depth_m} m hangs above the standing water at {static_depth_m} m")]
    PumpAboveWater {
        /// Depth of the intake.
        pump_depth_m: f64,
        /// Depth of the standing water.
        static_depth_m: f64,
    },
    /// A pump has too little head for the pressure asked of it.
    #[error("{place} makes {shutoff_m:.1} m at no flow, but {needed_m:.1} m are needed")]
    TooLittleHead {
        /// The pump.
        place: Place,
        /// Its head at no flow.
        shutoff_m: f64,
        /// Lift and pressure together, as head.
        needed_m: f64,
    },
    /// An outlet hangs on a header that nothing feeds.
    #[error("outlet {index} hangs on the delivery header, but there is no storage and delivery pump")]
    FedByNothing {
        /// Index of the outlet.
        index: usize,
    },
    /// Two outlets have one name.
    #[error("outlets {first} and {second} have the same name")]
    SameName {
        /// Index of the first.
        first: usize,
        /// Index of the second.
        second: usize,
    },
    /// No outlet takes water.
    #[error("the plant feeds nothing")]
    NoOutlet,
    /// More outlets than [`MOST_OUTLETS`].
    #[error("{found} outlets, but at most {MOST_OUTLETS} can be simulated")]
    TooManyOutlets {
        /// How many there are.
        found: usize,
    },
}

/// Something that a technician would put right; it is simulated as it is.
#[derive(Clone, Debug, PartialEq, Serialize, Error)]
pub enum Warning {
    /// The pressure tank is empty before the pump starts.
    #[error(
        "precharge {precharge_kpa:.0} kPa is above cut-in {cut_in_kpa:.0} kPa: the tank runs empty before the pump starts"
    )]
    PrechargeAboveCutIn {
        /// Precharge.
        precharge_kpa: f64,
        /// Cut-in.
        cut_in_kpa: f64,
    },
    /// Far below the usual 14 kPa (2 psi) under cut-in.
    #[error(
        "precharge {precharge_kpa:.0} kPa is far below cut-in {cut_in_kpa:.0} kPa: the tank gives less water between starts"
    )]
    PrechargeLow {
        /// Precharge.
        precharge_kpa: f64,
        /// Cut-in.
        cut_in_kpa: f64,
    },
    /// The tank has lost air.
    #[error("the pressure tank keeps {air_share:.2} of its air: it is waterlogged and the pump will short-cycle")]
    AirLost {
        /// Part of the air left.
        air_share: f64,
    },
    /// The pump can take more than the well gives and nothing stops it at low water.
    #[error("the pump can draw the well down to its intake and there is no low-level cut-off")]
    NoLowLevelCutoff,
    /// The small tank is empty before the delivery pump wakes.
    #[error("the small tank's precharge {precharge_kpa:.0} kPa is not below the wake pressure {wake_kpa:.0} kPa")]
    SmallTankAboveWake {
        /// Precharge of the small tank.
        precharge_kpa: f64,
        /// Wake pressure.
        wake_kpa: f64,
    },
    /// A start of the pump fills the tank in less than a minute.
    #[error(
        "the pressure tank gives {drawdown_l:.0} L between starts, less than the pump gives in a minute ({minute_l:.0} L)"
    )]
    TankSmallForPump {
        /// Water between cut-out and cut-in.
        drawdown_l: f64,
        /// What the pump gives in a minute at the middle of the switch's range.
        minute_l: f64,
    },
}

/// A precharge this far under cut-in is warned about: the practice is 14 kPa (2 psi) under.
const LOW_PRECHARGE_KPA: f64 = 35.0;

struct Checks {
    faults: Vec<Fault>,
}

impl Checks {
    fn range(&mut self, place: Place, value: f64, least: f64, most: f64) {
        if !(least..=most).contains(&value) {
            self.faults.push(Fault::OutOfRange { place, value, least, most });
        }
    }

    /// `pairs` must rise strictly from one to the next.
    fn rising(&mut self, pairs: &[(Place, f64)]) {
        for pair in pairs.windows(2) {
            let ((lower, lower_value), (upper, upper_value)) = (pair[0], pair[1]);
            // Written so that NaN is out of order too.
            if !matches!(lower_value.partial_cmp(&upper_value), Some(core::cmp::Ordering::Less)) {
                self.faults.push(Fault::OutOfOrder { lower, lower_value, upper, upper_value });
            }
        }
    }

    fn tank(&mut self, places: [Place; 3], tank: &PressureTank) {
        self.range(places[0], tank.volume_l, 0.1, 1e6);
        self.range(places[1], tank.precharge_kpa, 0.0, 3_000.0);
        self.range(places[2], tank.air_share, 0.01, 1.0);
    }
}

impl Plant {
    /// Checks the parts against each other.
    ///
    /// # Errors
    /// Every fault found, in the order of the parts along the water's way.
    pub fn try_new(parts: Parts) -> Result<Self, Vec<Fault>> {
        let mut checks = Checks { faults: Vec::new() };
        checks.range("site.density", parts.water.density_kg_m3, 900.0, 1_100.0);
        checks.range("site.viscosity", parts.water.viscosity_pa_s, 1e-4, 1e-2);
        check_well(&mut checks, &parts.well);
        check_well_pump(&mut checks, &parts);
        if let Some(store) = &parts.store {
            check_storage(&mut checks, &store.storage);
            check_delivery(&mut checks, &store.delivery, &parts.water);
        }
        check_outlets(&mut checks, &parts);
        if checks.faults.is_empty() { Ok(Self { parts }) } else { Err(checks.faults) }
    }

    /// The header that feeds the buildings: the delivery header where any building hangs on it.
    #[must_use]
    pub fn house_header(&self) -> Header {
        let delivered = |outlet: &Outlet| outlet.role == Role::Building && outlet.header == Header::Delivery;
        if self.outlets.iter().any(delivered) { Header::Delivery } else { Header::Raw }
    }

    /// The least pressure that the controls hold on that header: the delivery pump's wake pressure, or cut-in.
    #[must_use]
    pub fn held_kpa(&self) -> f64 {
        match (self.house_header(), &self.store) {
            (Header::Delivery, Some(store)) => store.delivery.wake_kpa,
            _ => self.well_pump.cut_in_kpa,
        }
    }

    /// What a technician would put right.
    #[must_use]
    pub fn warnings(&self) -> Vec<Warning> {
        let mut warnings = Vec::new();
        let (tank, pump) = (&self.pressure_tank, &self.well_pump);
        let (precharge_kpa, cut_in_kpa) = (tank.precharge_kpa, pump.cut_in_kpa);
        if precharge_kpa > cut_in_kpa {
            warnings.push(Warning::PrechargeAboveCutIn { precharge_kpa, cut_in_kpa });
        } else if precharge_kpa < cut_in_kpa - LOW_PRECHARGE_KPA {
            warnings.push(Warning::PrechargeLow { precharge_kpa, cut_in_kpa });
        }
        if tank.air_share < 1.0 {
            warnings.push(Warning::AirLost { air_share: tank.air_share });
        }
        let drawdown_l = tank.drawdown_l(pump.cut_out_kpa, cut_in_kpa);
        let middle_kpa = 0.5 * (cut_in_kpa + pump.cut_out_kpa);
        let minute_l = 60.0 * pump.flow_lps(self.well.static_depth_m, middle_kpa, &self.water);
        if drawdown_l < minute_l {
            warnings.push(Warning::TankSmallForPump { drawdown_l, minute_l });
        }
        let intake_m = self.well.pump_depth_m;
        if self.well.cutoff.is_none() && pump.flow_lps(intake_m, cut_in_kpa, &self.water) > self.well.most_inflow_lps()
        {
            warnings.push(Warning::NoLowLevelCutoff);
        }
        if let Some(Store { delivery, .. }) = &self.store {
            let (precharge_kpa, wake_kpa) = (delivery.tank.precharge_kpa, delivery.wake_kpa);
            if precharge_kpa >= wake_kpa {
                warnings.push(Warning::SmallTankAboveWake { precharge_kpa, wake_kpa });
            }
        }
        warnings
    }
}

fn check_well(checks: &mut Checks, well: &Well) {
    checks.range("well.static_level", well.static_depth_m, -100.0, 2_000.0);
    checks.range("well.pump_depth", well.pump_depth_m, 0.0, 2_000.0);
    if well.pump_depth_m <= well.static_depth_m {
        let (pump_depth_m, static_depth_m) = (well.pump_depth_m, well.static_depth_m);
        checks.faults.push(Fault::PumpAboveWater { pump_depth_m, static_depth_m });
        return;
    }
    if let Response::Drawdown { casing_l_per_m, specific_capacity_lps_per_m, entry_depth_m } = well.response {
        checks.range("well.casing_diameter", casing_l_per_m, 0.0, 1e5);
        checks.range("well.specific_capacity", specific_capacity_lps_per_m, 1e-6, 1e4);
        checks.rising(&[("well.static_level", well.static_depth_m), ("well.water_entry", entry_depth_m)]);
    }
    if let Some(cutoff) = &well.cutoff {
        checks.rising(&[
            ("well.static_level", well.static_depth_m),
            ("well.cutoff.restart_level", cutoff.restart_depth_m),
            ("well.cutoff.stop_level", cutoff.stop_depth_m),
            ("well.pump_depth", well.pump_depth_m),
        ]);
        checks.range("well.cutoff.restart_delay", cutoff.restart_delay.s(), 0.0, 1e7);
    }
    let most_m = if well.response == Response::Ideal { 0.0 } else { well.intake_drawdown_m() };
    checks.range("well.start_drawdown", well.start_drawdown_m, 0.0, most_m);
}

fn check_well_pump(checks: &mut Checks, parts: &Parts) {
    let (pump, tank, water) = (&parts.well_pump, &parts.pressure_tank, &parts.water);
    checks.range("well_pump.gauge_height", pump.gauge_height_m, -200.0, 200.0);
    checks.range("well_pump.cut_in", pump.cut_in_kpa, 1.0, 3_000.0);
    checks.range("well_pump.cut_out", pump.cut_out_kpa, 1.0, 3_000.0);
    checks.rising(&[("well_pump.cut_in", pump.cut_in_kpa), ("well_pump.cut_out", pump.cut_out_kpa)]);
    let needed_m = parts.well.static_depth_m + pump.gauge_height_m + water.head_m(pump.cut_out_kpa);
    let shutoff_m = pump.curve().shutoff_m();
    if shutoff_m <= needed_m {
        checks.faults.push(Fault::TooLittleHead { place: "well_pump.curve", shutoff_m, needed_m });
    }
    if let PumpCurve::Constant { flow_lps } = pump.curve() {
        checks.range("well_pump.constant_flow", *flow_lps, 1e-6, 1e4);
    }
    checks.tank(["pressure_tank.volume", "pressure_tank.precharge", "pressure_tank.air_left"], tank);
    // A tank with so much air takes no water: the pump would start and stop several times a minute at every draw.
    checks.rising(&[("pressure_tank.precharge", tank.precharge_kpa), ("well_pump.cut_out", pump.cut_out_kpa)]);
    checks.range("pressure_tank.start_pressure", tank.start_kpa, 0.0, pump.cut_out_kpa);
}

fn check_storage(checks: &mut Checks, storage: &Storage) {
    let capacity = ("storage.volume", storage.capacity_l);
    checks.range(capacity.0, capacity.1, 1.0, 1e8);
    checks.range("storage.start", storage.start_l, 0.0, storage.capacity_l);
    checks.range("storage.protect", storage.protect_l, 0.0, storage.capacity_l);
    let (low, high, flow_lps, full_flow_kpa) = match storage.fill {
        Fill::FloatSwitch { start_l, stop_l, flow_lps, full_flow_kpa } => {
            (("storage.float_switch.start", start_l), ("storage.float_switch.stop", stop_l), flow_lps, full_flow_kpa)
        }
        Fill::FloatValve { open_l, shut_l, flow_lps, full_flow_kpa } => {
            (("storage.float_valve.open", open_l), ("storage.float_valve.shut", shut_l), flow_lps, full_flow_kpa)
        }
    };
    checks.range(low.0, low.1, 0.0, storage.capacity_l);
    checks.range(high.0, high.1, 0.0, storage.capacity_l);
    // The pump must be able to restart before the filling stops, and the filling to start before the pump stops: a tank with
    // either the other way round would stay where it is for ever.
    checks.rising(&[("storage.protect", storage.protect_l), ("storage.restart", storage.restart_l), high]);
    if matches!(storage.fill, Fill::FloatSwitch { .. }) {
        checks.rising(&[("storage.protect", storage.protect_l), low]);
    }
    checks.rising(&[low, high]);
    checks.range("storage.fill_flow", flow_lps, 1e-6, 1e4);
    checks.range("storage.fill_full_flow_pressure", full_flow_kpa, 1.0, 3_000.0);
}

fn check_delivery(checks: &mut Checks, delivery: &Delivery, water: &Water) {
    checks.range("delivery.set_pressure", delivery.set_kpa, 1.0, 3_000.0);
    checks.range("delivery.wake_pressure", delivery.wake_kpa, 1.0, 3_000.0);
    checks.rising(&[("delivery.wake_pressure", delivery.wake_kpa), ("delivery.set_pressure", delivery.set_kpa)]);
    checks.range("delivery.sleep_flow", delivery.sleep_flow_lps, 0.0, 1e4);
    checks.range("delivery.sleep_delay", delivery.sleep_delay.s(), 0.0, 1e6);
    checks.range("delivery.standby_power", delivery.standby_w, 0.0, 1e6);
    checks.range("delivery.lift", delivery.lift_m, -200.0, 200.0);
    let (shutoff_m, needed_m) = (delivery.curve.shutoff_m(), delivery.lift_m + water.head_m(delivery.set_kpa));
    if shutoff_m <= needed_m {
        checks.faults.push(Fault::TooLittleHead { place: "delivery.curve", shutoff_m, needed_m });
    }
    let tank = &delivery.tank;
    checks.tank(["delivery.tank_volume", "delivery.tank_precharge", "delivery.tank_air_left"], tank);
    checks.rising(&[("delivery.tank_precharge", tank.precharge_kpa), ("delivery.set_pressure", delivery.set_kpa)]);
    checks.range("delivery.start_pressure", tank.start_kpa, 0.0, delivery.set_kpa);
}

fn check_outlets(checks: &mut Checks, parts: &Parts) {
    let outlets = &parts.outlets;
    if outlets.is_empty() {
        checks.faults.push(Fault::NoOutlet);
    }
    if outlets.len() > MOST_OUTLETS {
        checks.faults.push(Fault::TooManyOutlets { found: outlets.len() });
    }
    for (index, outlet) in outlets.iter().enumerate() {
        checks.range("outlet.full_flow_pressure", outlet.full_flow_kpa, 1.0, 3_000.0);
        if outlet.header == Header::Delivery && parts.store.is_none() {
            checks.faults.push(Fault::FedByNothing { index });
        }
        if let Some(first) = outlets[..index].iter().position(|other| other.name == outlet.name) {
            checks.faults.push(Fault::SameName { first, second: index });
        }
    }
}
