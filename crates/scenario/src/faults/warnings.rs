//! What is built badly, told in the scenario's words.

use springhouse_core::plant::{Of, Place, Plant, Warning};
use springhouse_core::pressure_tank::PressureTank;
use springhouse_core::supply::Control;

use super::Faults;
use crate::diagnostic::Diagnostic;
use crate::sections::SupplyWord;

/// The usual precharge lies this far under cut-in: 2 psi.
const USUAL_PRECHARGE_KPA: f64 = 14.0;

/// What a plant is warned about. A tank that gives little because of its air alone is told by its air, not as too small.
pub(crate) fn warnings(plant: &Plant) -> Vec<Warning> {
    let mut warnings = plant.warnings();
    let is_of_air = |warning: &Warning| {
        use Warning::{AirLost, PrechargeAboveCutIn, PrechargeLow};
        matches!(warning, AirLost { .. } | PrechargeAboveCutIn { .. } | PrechargeLow { .. })
    };
    if warnings.iter().any(is_of_air) {
        warnings.retain(|warning| match warning {
            Warning::TankSmallForPump { supply, minute_l, .. } => sound_drawdown_l(plant, *supply) < *minute_l,
            _ => true,
        });
    }
    warnings
}

/// What the pressure tank would give between the starts of a pump with the usual air in it.
fn sound_drawdown_l(plant: &Plant, supply: usize) -> f64 {
    let pump = plant.supplies.get(supply).and_then(|supply| supply.source.pump());
    let (Some(pump), Some(tank)) = (pump, &plant.pressure_tank) else { return 0.0 };
    let Control::Switch { cut_in_kpa, cut_out_kpa } = pump.control else { return 0.0 };
    let precharge_kpa = (cut_in_kpa - USUAL_PRECHARGE_KPA).max(0.0);
    PressureTank { precharge_kpa, air_share: 1.0, ..tank.clone() }.drawdown_l(cut_out_kpa, cut_in_kpa)
}

impl Faults<'_> {
    pub(crate) fn warning(&self, warning: &Warning) -> Diagnostic {
        let (pressure, volume) = (|kpa| self.units.pressure(kpa), |l| self.units.volume(l));
        match *warning {
            Warning::PrechargeAboveCutIn { supply, precharge_kpa, cut_in_kpa } => self
                .precharge(
                    supply,
                    (precharge_kpa, cut_in_kpa),
                    "above `cut_in`: the tank runs empty before the pump starts",
                )
                .help(self.usual_precharge(cut_in_kpa)),
            Warning::PrechargeLow { supply, precharge_kpa, cut_in_kpa } => self
                .precharge(
                    supply,
                    (precharge_kpa, cut_in_kpa),
                    "far below `cut_in`: the tank gives less water between starts",
                )
                .help(self.usual_precharge(cut_in_kpa)),
            Warning::AirLost { air_share } => {
                let title = format!("the pressure tank has only {:.0} % of its air left", 100.0 * air_share);
                self.key("pressure_tank.air_left")
                    .mark(Diagnostic::warning(title), "waterlogged")
                    .note("the pump will start and stop in quick turns")
            }
            Warning::NoLowLevelCutoff { supply } => {
                let section = self.word(supply).map_or("well", SupplyWord::section);
                Diagnostic::warning("the pump can take more than the well gives, and nothing stops it at low water")
                    .at(self.header(supply), "no `cutoff` here")
                    .note("a submersible pump that runs dry is soon ruined")
                    .help(format!(
                        "a section `{section}.cutoff` with `stop_level` and `restart_level` describes such a device"
                    ))
            }
            Warning::SmallTankAboveWake { precharge_kpa, wake_kpa } => {
                let title = format!(
                    "the small tank's precharge ({}) is not below the wake pressure ({})",
                    pressure(precharge_kpa),
                    pressure(wake_kpa)
                );
                let wake = self.key("delivery.wake_pressure");
                let marked = self
                    .key("delivery.tank_precharge")
                    .mark(Diagnostic::warning(title), "the small tank is empty before the pump wakes");
                wake.mark(marked, "the pump wakes here")
            }
            Warning::TankSmallForPump { drawdown_l, minute_l, .. } => {
                let title = format!(
                    "the pressure tank gives {} between starts, less than the pump gives in a minute ({})",
                    volume(drawdown_l),
                    volume(minute_l)
                );
                self.key("pressure_tank.volume")
                    .mark(Diagnostic::warning(title), "small for this pump")
                    .note("a pump that runs for less than a minute each time wears out early")
            }
        }
    }

    fn precharge(&self, supply: usize, (precharge_kpa, cut_in_kpa): (f64, f64), why: &str) -> Diagnostic {
        let (precharge, cut_in) = (self.units.pressure(precharge_kpa), self.units.pressure(cut_in_kpa));
        let marked = self
            .key("pressure_tank.precharge")
            .mark(Diagnostic::warning(format!("`precharge` ({precharge}) is {why}")), precharge);
        self.at(Place { of: Of::Pump(supply), key: "cut_in" }).mark(marked, cut_in)
    }

    pub(super) fn usual_precharge(&self, cut_in_kpa: f64) -> String {
        let usual = self.units.pressure((cut_in_kpa - USUAL_PRECHARGE_KPA).max(0.0));
        format!("the practice is 2 psi (14 kPa) under `cut_in`: about {usual}")
    }
}
