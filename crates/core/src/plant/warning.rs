//! What a technician would put right.

use serde::Serialize;
use thiserror::Error;

use super::{Plant, Store};
use crate::pressure_tank::PressureTank;
use crate::pump::SupplyPump;
use crate::supply::{Control, Source};

/// Something that a technician would put right; it is simulated as it is.
#[derive(Clone, Debug, PartialEq, Serialize, Error)]
pub enum Warning {
    /// The pressure tank is empty before the pump starts.
    #[error(
        "precharge {precharge_kpa:.0} kPa is above cut-in {cut_in_kpa:.0} kPa: the tank runs empty before the pump starts"
    )]
    PrechargeAboveCutIn {
        /// Index of the supply.
        supply: usize,
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
        /// Index of the supply.
        supply: usize,
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
    NoLowLevelCutoff {
        /// Index of the supply.
        supply: usize,
    },
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
        /// Index of the supply.
        supply: usize,
        /// Water between cut-out and cut-in.
        drawdown_l: f64,
        /// What the pump gives in a minute at the middle of the switch's range.
        minute_l: f64,
    },
}

/// A precharge this far under cut-in is warned about: the practice is 14 kPa (2 psi) under.
const LOW_PRECHARGE_KPA: f64 = 35.0;

/// What a technician would put right.
pub(super) fn warnings(plant: &Plant) -> Vec<Warning> {
    let mut warnings = Vec::new();
    if let Some(tank) = &plant.pressure_tank {
        if tank.air_share < 1.0 {
            warnings.push(Warning::AirLost { air_share: tank.air_share });
        }
        for (supply, each) in plant.supplies.iter().enumerate() {
            if let Some(pump) = each.source.pump() {
                warn_of_tank(&mut warnings, plant, supply, tank, pump);
            }
        }
    }
    for (supply, each) in plant.supplies.iter().enumerate() {
        if let Source::Well { well, pump } = &each.source
            && well.cutoff.is_none()
            && pump.flow_lps(1.0, well.pump_depth_m, pump.control.low_kpa(), &plant.water) > well.most_inflow_lps()
        {
            warnings.push(Warning::NoLowLevelCutoff { supply });
        }
    }
    if let Some(Store { delivery, .. }) = &plant.store {
        let (precharge_kpa, wake_kpa) = (delivery.tank.precharge_kpa, delivery.drive.wake_kpa);
        if precharge_kpa >= wake_kpa {
            warnings.push(Warning::SmallTankAboveWake { precharge_kpa, wake_kpa });
        }
    }
    warnings
}

/// What is wrong between a pressure tank and one of the pumps that fill it.
fn warn_of_tank(warnings: &mut Vec<Warning>, plant: &Plant, supply: usize, tank: &PressureTank, pump: &SupplyPump) {
    let precharge_kpa = tank.precharge_kpa;
    let Control::Switch { cut_in_kpa, cut_out_kpa } = pump.control else { return };
    if precharge_kpa > cut_in_kpa {
        warnings.push(Warning::PrechargeAboveCutIn { supply, precharge_kpa, cut_in_kpa });
    } else if precharge_kpa < cut_in_kpa - LOW_PRECHARGE_KPA {
        warnings.push(Warning::PrechargeLow { supply, precharge_kpa, cut_in_kpa });
    }
    let drawdown_l = tank.drawdown_l(cut_out_kpa, cut_in_kpa);
    let middle_kpa = 0.5 * (cut_in_kpa + cut_out_kpa);
    let depth_m = match &plant.supplies[supply].source {
        Source::Well { well, .. } => well.static_depth_m,
        Source::Basin { basin, .. } => basin.water_depth_m(basin.capacity_l),
        Source::TownLine(_) => return,
    };
    let minute_l = 60.0 * pump.flow_lps(1.0, depth_m, middle_kpa, &plant.water);
    if drawdown_l < minute_l {
        warnings.push(Warning::TankSmallForPump { supply, drawdown_l, minute_l });
    }
}
