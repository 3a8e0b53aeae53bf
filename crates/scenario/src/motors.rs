//! What the motors of a plant take at their usual work, beside what feeds them while the grid is out.

use springhouse_core::pump::{PumpPower, SupplyPump};
use springhouse_core::supply::{Control, Source, Supply};
use springhouse_core::water::Water;

use crate::scenario::Scenario;

/// A pump with its motor. What it takes for a moment as it starts, several times as much, is not computed.
#[derive(Clone, Debug, PartialEq)]
pub struct Motor {
    /// Its name for people.
    pub name: String,
    /// Which one it is.
    pub kind: MotorKind,
    /// Electric power at its usual work.
    pub power_w: f64,
}

/// Which motor it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum MotorKind {
    /// The pump of a supply, and whether that is a standby, which never runs beside the others.
    Supply {
        /// Whether it is one.
        standby: bool,
    },
    /// The pump of the membrane unit.
    Membrane,
    /// The delivery pump.
    Delivery,
}

impl Motor {
    /// The one that takes more, of equals the first.
    #[must_use]
    pub fn larger<'a>(&'a self, other: &'a Self) -> &'a Self {
        if other.power_w > self.power_w { other } else { self }
    }
}

impl Scenario {
    /// Every pump at its usual work: that of a supply midway between the pressures that start and stop it, its water at rest; the
    /// clean membrane unit as it settles; the delivery pump at its set pressure and best flow.
    #[must_use]
    pub fn motors(&self) -> Vec<Motor> {
        let plant = &self.plant;
        let water = &plant.water;
        let supplies = plant.supplies.iter().filter_map(|supply| {
            let power_w = supply_power_w(supply.source.pump()?, rest_depth_m(supply), water);
            let kind = MotorKind::Supply { standby: supply.standby };
            Some(Motor { name: format!("{} pump", supply.name), kind, power_w })
        });
        let unit = self.membrane_at_work().or_else(|| self.membrane_at_first());
        let unit = unit.map(|found| Motor {
            name: "membrane unit".to_owned(),
            kind: MotorKind::Membrane,
            power_w: found.flows.power_w,
        });
        let delivery = plant.store.as_ref().map(|store| {
            let delivery = &store.delivery;
            let reach_lps = delivery.full_speed_flow_lps(delivery.drive.set_kpa, water);
            let best_lps = match delivery.power {
                PumpPower::Efficiency { best_flow_lps, .. } => best_flow_lps,
                PumpPower::Constant { .. } => delivery.curve.strongest_flow_lps(),
            };
            let power_w = delivery.hold_power_w(best_lps.min(reach_lps), water);
            Motor { name: "delivery pump".to_owned(), kind: MotorKind::Delivery, power_w }
        });
        // An ideal pump may take nothing, and a unit without a pump does.
        supplies.chain(unit).chain(delivery).filter(|motor| motor.power_w > 0.0).collect()
    }

    /// Those motors that may run together while the grid is out and need most: all that are fed, or with one big motor at a time
    /// the largest beside the delivery pump, which never waits.
    #[must_use]
    pub fn motors_together(&self, one_motor: bool) -> Vec<Motor> {
        let mut fed = self.motors();
        fed.retain(|motor| motor.kind != MotorKind::Membrane || self.plant.power.backup.membrane);
        let beside = |standby: bool| {
            let other = MotorKind::Supply { standby: !standby };
            let (mut together, rest): (Vec<_>, Vec<_>) = fed
                .iter()
                .filter(|motor| motor.kind != other)
                .cloned()
                .partition(|motor| motor.kind != MotorKind::Delivery);
            if one_motor {
                together = together.iter().reduce(Motor::larger).cloned().into_iter().collect();
            }
            together.extend(rest);
            together
        };
        let [first, standby] = [beside(false), beside(true)];
        if sum_w(&standby) > sum_w(&first) { standby } else { first }
    }
}

/// What motors take together.
#[must_use]
pub fn sum_w(motors: &[Motor]) -> f64 {
    motors.iter().map(|motor| motor.power_w).sum()
}

fn supply_power_w(pump: &SupplyPump, depth_m: f64, water: &Water) -> f64 {
    let midway_kpa = 0.5 * (pump.control.low_kpa() + pump.control.high_kpa());
    let drive_w = match &pump.control {
        Control::Switch { .. } => 0.0,
        Control::Drive(drive) => drive.standby_w,
    };
    drive_w + pump.power_w(1.0, pump.flow_lps(1.0, depth_m, midway_kpa, water), water)
}

/// Depth of a supply's water below the ground when nothing is pumped.
#[must_use]
pub fn rest_depth_m(supply: &Supply) -> f64 {
    match &supply.source {
        Source::Well { well, .. } => well.static_depth_m,
        Source::Basin { basin, .. } => basin.water_depth_m(basin.capacity_l),
        Source::TownLine(_) => 0.0,
    }
}
