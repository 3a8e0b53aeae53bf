//! A pressure tank: water pushed out by a fixed mass of gas.
//!
//! Boyle's law, isothermal, on absolute pressures: `p_abs V_gas = const`. The constant is fixed by the air in the tank:
//! `air_share (p_precharge + p_atm) V_total`. Slow fills and draws keep the gas near the water's temperature; a fast fill
//! is closer to a polytrope and gives about an eighth less drawdown, which is left out. See `docs/physics.md`.

use serde::{Deserialize, Serialize};

/// One or several equal pressure tanks on one header, taken as one.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct PressureTank {
    /// Total volume, water and gas, of all tanks.
    pub volume_l: f64,
    /// Air pressure with no water in the tank (gauge).
    pub precharge_kpa: f64,
    /// Part of that air still in the tank: 1 is sound, less is a tank that has lost air.
    pub air_share: f64,
    /// Pressure at which the tank starts the run (gauge).
    pub start_kpa: f64,
    /// Pressure of the outdoor air.
    pub atmospheric_kpa: f64,
}

/// Less air than this share of a sound tank's is no tank: its pressure would leap at every drop.
pub const LEAST_AIR_SHARE: f64 = 0.01;

impl PressureTank {
    /// The gas constant of the tank, `p_abs V_gas`, in kPa L.
    #[must_use]
    pub fn gas_kpa_l(&self) -> f64 {
        self.air_share * (self.precharge_kpa + self.atmospheric_kpa) * self.volume_l
    }

    /// Gauge pressure with `water_l` of water in the tank; not below zero, where air would come in.
    #[must_use]
    pub fn pressure_kpa(&self, water_l: f64) -> f64 {
        (self.gas_kpa_l() / (self.volume_l - water_l) - self.atmospheric_kpa).max(0.0)
    }

    /// Litres of water in the tank at a gauge pressure; the inverse of [`Self::pressure_kpa`] above zero.
    ///
    /// Not limited to the tank: below [`Self::empty_kpa`] the result is less than [`Self::least_water_l`].
    #[must_use]
    pub fn water_l(&self, pressure_kpa: f64) -> f64 {
        self.volume_l - self.gas_kpa_l() / (pressure_kpa + self.atmospheric_kpa)
    }

    /// Gauge pressure at which the tank has no more water to push out.
    ///
    /// That is the precharge; where so much air is lost that the gas would reach atmospheric pressure first, zero.
    #[must_use]
    pub fn empty_kpa(&self) -> f64 {
        (self.air_share * (self.precharge_kpa + self.atmospheric_kpa) - self.atmospheric_kpa).max(0.0)
    }

    /// Water that stays in the tank however low the pressure at its connection: zero in a sound tank.
    #[must_use]
    pub fn least_water_l(&self) -> f64 {
        self.water_l(self.empty_kpa()).max(0.0)
    }

    /// Water the tank gives between two pressures, `V (p1/p2 - p1/p3)` in absolute pressures.
    #[must_use]
    pub fn drawdown_l(&self, from_kpa: f64, to_kpa: f64) -> f64 {
        self.water_l(from_kpa) - self.water_l(to_kpa)
    }
}

/// Standard atmosphere at an altitude, `101.325 (1 - 2.25577e-5 z)^5.25588` kPa.
///
/// The troposphere of the International Standard Atmosphere (ISO 2533:1975); `altitude_m` from -500 to 11 000.
#[must_use]
pub fn standard_atmosphere_kpa(altitude_m: f64) -> f64 {
    101.325 * libm::pow(1.0 - 2.255_77e-5 * altitude_m, 5.255_88)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn tank() -> PressureTank {
        PressureTank {
            volume_l: 300.0,
            precharge_kpa: 260.0,
            air_share: 1.0,
            start_kpa: 350.0,
            atmospheric_kpa: 101.325,
        }
    }

    #[test]
    fn pressure_and_water_are_inverse() {
        let tank = tank();
        for kpa in [260.0, 280.0, 410.0] {
            let back = tank.pressure_kpa(tank.water_l(kpa));
            assert!((back - kpa).abs() < 1e-10, "{kpa} came back as {back}");
        }
    }

    #[test]
    fn lost_air_keeps_water_in_the_tank() {
        let sound = tank();
        let logged = PressureTank { air_share: 0.1, ..tank() };
        assert_eq!(sound.least_water_l(), 0.0);
        assert!(logged.least_water_l() > 150.0);
        assert!(logged.drawdown_l(410.0, 280.0) < 0.11 * sound.drawdown_l(410.0, 280.0));
    }
}
