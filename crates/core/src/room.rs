//! The air that a heater breathes: a well-stirred room with a loss to the outside.
//!
//! `C dT/dt = UA (T_out - T) + P` and `M dW/dt = n M (W_out - W) + m`, with what comes in held over a step, have
//! exponentials as solutions. See `docs/physics.md`.

use serde::{Deserialize, Serialize};

use crate::decay::mean_left;
use crate::moist_air::MoistAir;

/// Heat that a kilogram of vapour gives up as it condenses on a wall, at about 10 °C.
const CONDENSING_J_KG: f64 = 2.48e6;
const HOUR_S: f64 = 3_600.0;

/// A room.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Room {
    /// Heat that warms it by a kelvin: air, furniture, and the inner layer of its walls.
    pub heat_j_k: f64,
    /// Heat lost to the outside for each kelvin of difference, that of air changes with it.
    pub loss_w_k: f64,
    /// Its air.
    pub volume_m3: f64,
    /// How many times an hour its air is changed for that outside.
    pub air_changes_h: f64,
}

/// What changes in a room.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct RoomState {
    /// Its temperature.
    pub temp_c: f64,
    /// Vapour for each kilogram of dry air.
    pub humidity_kg_kg: f64,
}

/// What comes into a room over a step, beside what the outside does.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct RoomGains {
    /// Heat gained less heat taken.
    pub heat_w: f64,
    /// Moisture gained less moisture taken.
    pub moisture_kg_s: f64,
}

impl RoomState {
    /// The air of the room.
    #[must_use]
    pub fn air(&self, pressure_kpa: f64) -> MoistAir {
        MoistAir { temp_c: self.temp_c, humidity_kg_kg: self.humidity_kg_kg, pressure_kpa }
    }
}

impl Room {
    /// How the room is after a step in which the outside and the gains hold.
    ///
    /// Vapour over saturation condenses on the walls and leaves its heat there; more moisture taken than there is leaves
    /// the air dry.
    #[must_use]
    pub fn after(&self, state: RoomState, outside: &MoistAir, gains: RoomGains, seconds: f64) -> RoomState {
        let warms_w = self.loss_w_k * (outside.temp_c - state.temp_c) + gains.heat_w;
        let rate_s = self.loss_w_k / self.heat_j_k;
        let temp_c = state.temp_c + warms_w / self.heat_j_k * seconds * mean_left(rate_s * seconds);
        let dry_air_kg = self.volume_m3 / state.air(outside.pressure_kpa).volume_m3_kg();
        let changes_s = self.air_changes_h / HOUR_S;
        let moistens_s = changes_s * (outside.humidity_kg_kg - state.humidity_kg_kg) + gains.moisture_kg_s / dry_air_kg;
        let humidity_kg_kg = (state.humidity_kg_kg + moistens_s * seconds * mean_left(changes_s * seconds)).max(0.0);
        let air = MoistAir { temp_c, humidity_kg_kg, pressure_kpa: outside.pressure_kpa };
        if air.is_surely_under(1.0) {
            return RoomState { temp_c, humidity_kg_kg };
        }
        let most_kg_kg = MoistAir::at(temp_c, 1.0, outside.pressure_kpa).humidity_kg_kg;
        let condenses_kg = dry_air_kg * (humidity_kg_kg - most_kg_kg).max(0.0);
        RoomState {
            temp_c: temp_c + condenses_kg * CONDENSING_J_KG / self.heat_j_k,
            humidity_kg_kg: humidity_kg_kg.min(most_kg_kg),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const ROOM: Room = Room { heat_j_k: 1.5e6, loss_w_k: 45.0, volume_m3: 30.0, air_changes_h: 0.5 };

    #[test]
    fn exact_parts_of_a_step_make_the_whole() {
        let outside = MoistAir::at(5.0, 0.8, 101.325);
        let gains = RoomGains { heat_w: -800.0, moisture_kg_s: 0.0 };
        let start = RoomState { temp_c: 18.0, humidity_kg_kg: 0.006 };
        let whole = ROOM.after(start, &outside, gains, 3_600.0);
        let parts = (0..60).fold(start, |state, _| ROOM.after(state, &outside, gains, 60.0));
        assert!((whole.temp_c - parts.temp_c).abs() < 1e-10);
        assert!((whole.humidity_kg_kg - parts.humidity_kg_kg).abs() < 1e-15);
    }

    #[test]
    fn exact_sealed_room_keeps_what_it_gains() {
        let sealed = Room { loss_w_k: 0.0, air_changes_h: 0.0, ..ROOM };
        let start = RoomState { temp_c: 18.0, humidity_kg_kg: 0.006 };
        let outside = MoistAir::at(-20.0, 0.8, 101.325);
        let gains = RoomGains { heat_w: 150.0, moisture_kg_s: -2e-6 };
        let end = sealed.after(start, &outside, gains, 10_000.0);
        assert!((end.temp_c - 19.0).abs() < 1e-12);
        let dry_air_kg = 30.0 / start.air(101.325).volume_m3_kg();
        assert!((end.humidity_kg_kg - 0.006 + 0.02 / dry_air_kg).abs() < 1e-15);
    }

    #[test]
    fn exact_humidity_follows_air_changes() {
        // After two hours of half a change an hour 1 / e of the difference is left.
        let outside = MoistAir { temp_c: 18.0, humidity_kg_kg: 0.003, pressure_kpa: 101.325 };
        let end =
            ROOM.after(RoomState { temp_c: 18.0, humidity_kg_kg: 0.009 }, &outside, RoomGains::default(), 7_200.0);
        assert!((end.humidity_kg_kg - 0.003 - 0.006 * libm::exp(-1.0)).abs() < 1e-15);
    }

    #[test]
    fn exact_walls_gain_the_heat_of_what_condenses_on_them() {
        let tight = Room { air_changes_h: 0.0, loss_w_k: 0.0, ..ROOM };
        let start = RoomState { temp_c: 10.0, humidity_kg_kg: 0.009 };
        let end = tight.after(start, &MoistAir::at(10.0, 1.0, 101.325), RoomGains::default(), 60.0);
        let gone_kg = 30.0 / start.air(101.325).volume_m3_kg() * (0.009 - end.humidity_kg_kg);
        assert!(gone_kg > 0.03 && ((end.temp_c - 10.0) * 1.5e6 / 2.48e6 - gone_kg).abs() < 1e-9);
    }

    #[test]
    fn air_cannot_be_drier_than_dry() {
        let gains = RoomGains { heat_w: 0.0, moisture_kg_s: -1.0 };
        let start = RoomState { temp_c: 10.0, humidity_kg_kg: 0.004 };
        assert_eq!(ROOM.after(start, &MoistAir::at(10.0, 0.5, 101.325), gains, 60.0).humidity_kg_kg, 0.0);
    }
}
