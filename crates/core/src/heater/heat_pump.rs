//! A compressor that takes heat out of the air of its room.
//!
//! Its coefficient of performance is a share of Carnot's between condensing and evaporating temperature; its heat is linear
//! in both. The coil evaporates as far below the air as its heat asks for. Sources, and what is our own choice, are in
//! `docs/physics.md`.

use serde::{Deserialize, Serialize};

use crate::moist_air::{MoistAir, humidity_and_slope};
use crate::root::root_by_slope;

const CELSIUS_K: f64 = 273.15;

/// Air and water of the point that the rated heat belongs to: the air of the US federal test, and water on its way up.
pub const RATED_AIR_C: f64 = 19.7;
/// Water of that point.
pub const RATED_WATER_C: f64 = 35.0;

/// What a kelvin of evaporating and of condensing temperature add to the heat, as parts of it at the rated point. From
/// memory of what small compressors do: denser suction gas, and a thinner stroke against a higher pressure.
const PER_EVAPORATING_K: f64 = 0.025;
const PER_CONDENSING_K: f64 = -0.005;
/// The straight line holds down to this part of the rated heat.
const LEAST_PART: f64 = 0.2;

/// The coldest that a coil is sought below the air.
const WIDEST_APPROACH_K: f64 = 60.0;
/// A coil that takes less than this at the rated point counts as taking so much.
const LEAST_COIL_W: f64 = 1.0;

/// Coldest air without frost, air in which frost takes the most, and what it takes then. Common practice, no source.
const FROST_FROM_C: f64 = 5.0;
const FROST_FULL_C: f64 = 0.0;
const FROST_PART: f64 = 0.15;

/// How far within its limits the air must come back before a compressor runs again, so that it does not run by the minute. Common
/// practice, no source.
const AIR_BAND_K: f64 = 3.0;

/// A heat pump that warms a tank.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct HeatPump {
    /// Heat into water of 35 °C from air of 19.7 °C.
    pub rated_heat_w: f64,
    /// Its coefficient of performance over Carnot's.
    pub carnot_share: f64,
    /// No coefficient of performance is more.
    pub most_cop: f64,
    /// How much warmer than the water it condenses, in the mean over its condenser.
    pub condenser_approach_k: f64,
    /// How much colder than the air the coil evaporates at the rated point, where it is dry.
    pub evaporator_approach_k: f64,
    /// Electric power of the fan.
    pub fan_w: f64,
    /// Dry air that the fan moves.
    pub air_kg_s: f64,
    /// It runs in air from this
    pub coldest_air_c: f64,
    /// to this.
    pub hottest_air_c: f64,
    /// How high up the tank its condenser reaches, as a part of the height over 0.
    pub condenser_top: f64,
}

/// What a heat pump does at a moment.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct HeatPumpRates {
    /// Heat into the water.
    pub heat_w: f64,
    /// Electric power of the compressor.
    pub compressor_w: f64,
    /// Electric power of the fan, which stays in the room as heat.
    pub fan_w: f64,
    /// Heat taken from the air: what reaches the water and was not the compressor's.
    pub coil_w: f64,
}

impl HeatPumpRates {
    /// Heat into the water over all electricity; zero at rest.
    #[must_use]
    pub fn cop(&self) -> f64 {
        let power_w = self.compressor_w + self.fan_w;
        if power_w > 0.0 { self.heat_w / power_w } else { 0.0 }
    }
}

impl HeatPump {
    /// Invented defaults of an integrated unit; the share of Carnot's is to be found from its plate.
    pub const TYPICAL: Self = Self {
        rated_heat_w: 1_600.0,
        carnot_share: 0.45,
        most_cop: 6.0,
        condenser_approach_k: 8.0,
        evaporator_approach_k: 9.0,
        fan_w: 25.0,
        air_kg_s: 0.12,
        coldest_air_c: 7.0,
        hottest_air_c: 43.0,
        condenser_top: 0.6,
    };

    /// Whether the air is neither too cold nor too hot for it; once it was, only 3 K within the limits it is not again.
    #[must_use]
    pub fn suits(&self, air: &MoistAir, was_out: bool) -> bool {
        let within_k = if was_out { AIR_BAND_K } else { 0.0 };
        (self.coldest_air_c + within_k..=self.hottest_air_c - within_k).contains(&air.temp_c)
    }

    /// Heat over the compressor's electricity, never less than 1: a share of Carnot's, `T_c / (T_c - T_e)`.
    fn compressor_cop(&self, evaporating_c: f64, condensing_c: f64) -> f64 {
        let lift_k = condensing_c - evaporating_c;
        let carnot = if lift_k > 0.0 { (condensing_c + CELSIUS_K) / lift_k } else { f64::INFINITY };
        (self.carnot_share * carnot).min(self.most_cop).max(1.0)
    }

    /// Evaporating temperature at the rated point.
    fn rated_evaporating_c(&self) -> f64 {
        RATED_AIR_C - self.evaporator_approach_k
    }

    /// Heat of a coil without frost.
    fn full_w(&self, evaporating_c: f64, condensing_c: f64) -> f64 {
        let part = 1.0
            + PER_EVAPORATING_K * (evaporating_c - self.rated_evaporating_c())
            + PER_CONDENSING_K * (condensing_c - self.condenser_approach_k - RATED_WATER_C);
        self.rated_heat_w * part.max(LEAST_PART)
    }

    /// Heat that the coil takes at these temperatures, and how much it grows with a kelvin of evaporating temperature.
    fn coil_w(&self, evaporating_c: f64, condensing_c: f64) -> (f64, f64) {
        let full_w = self.full_w(evaporating_c, condensing_c);
        let full_w_k =
            if full_w > LEAST_PART * self.rated_heat_w { PER_EVAPORATING_K * self.rated_heat_w } else { 0.0 };
        let cop = self.compressor_cop(evaporating_c, condensing_c);
        let share_k =
            if cop > 1.0 && cop < self.most_cop { 1.0 / (self.carnot_share * (condensing_c + CELSIUS_K)) } else { 0.0 };
        let share = 1.0 - 1.0 / cop;
        (full_w * share, full_w_k * share + full_w * share_k)
    }

    /// Temperature at which it evaporates.
    ///
    /// A coil takes heat in proportion to the enthalpy between the air and air that has met its surface, `h - h_s(T_e)`:
    /// for a dry coil that is the difference of temperatures, and below the dew point vapour helps. The proportion is that
    /// of the rated point.
    #[must_use]
    pub fn evaporating_c(&self, air: &MoistAir, condensing_c: f64) -> f64 {
        let (rated_w, _) = self.coil_w(self.rated_evaporating_c(), RATED_WATER_C + self.condenser_approach_k);
        let asked_j_kg_w = air.heat_j_kg_k() * self.evaporator_approach_k / rated_w.max(LEAST_COIL_W);
        // Enthalpy over what the coil asks for, with air that has met its surface at such a humidity.
        let surplus = |temp_c: f64, (humidity_kg_kg, humidity_per_k): (f64, f64)| {
            let met = MoistAir { temp_c, humidity_kg_kg, ..*air };
            let (coil_w, coil_w_k) = self.coil_w(temp_c, condensing_c);
            let surplus_j_kg = air.enthalpy_j_kg() - met.enthalpy_j_kg() - asked_j_kg_w * coil_w;
            (surplus_j_kg, -met.enthalpy_per_k(humidity_per_k) - asked_j_kg_w * coil_w_k)
        };
        let dry = |temp_c: f64| surplus(temp_c, (air.humidity_kg_kg, 0.0));
        let wet = |temp_c: f64| surplus(temp_c, humidity_and_slope(temp_c, 1.0, air.pressure_kpa));
        let coldest_c = air.temp_c - WIDEST_APPROACH_K;
        // A wet coil is warmer than a dry one: where there is no such temperature it is dry.
        let dry_c = root_by_slope(dry, air.temp_c - self.evaporator_approach_k, coldest_c, air.temp_c);
        root_by_slope(wet, dry_c, dry_c, air.temp_c)
    }

    /// What it does while it runs and condenses at a temperature.
    #[must_use]
    pub fn at(&self, air: &MoistAir, condensing_c: f64) -> HeatPumpRates {
        let evaporating_c = self.evaporating_c(air, condensing_c);
        let full_w = self.full_w(evaporating_c, condensing_c);
        let compressor_w = full_w / self.compressor_cop(evaporating_c, condensing_c);
        let frost = ((FROST_FROM_C - air.temp_c) / (FROST_FROM_C - FROST_FULL_C)).clamp(0.0, 1.0);
        let heat_w = full_w * (1.0 - FROST_PART * frost);
        HeatPumpRates { heat_w, compressor_w, fan_w: self.fan_w, coil_w: (heat_w - compressor_w).max(0.0) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const PUMP: HeatPump = HeatPump::TYPICAL;

    fn air(temp_c: f64, humidity: f64) -> MoistAir {
        MoistAir::at(temp_c, humidity, 101.325)
    }

    #[test]
    fn exact_rated_point_by_hand() {
        // Evaporates at 10.7 °C and condenses at 43 °C: Carnot 316.15 / 32.3.
        let rates = PUMP.at(&air(RATED_AIR_C, 0.2), RATED_WATER_C + 8.0);
        assert!((rates.heat_w - 1_600.0).abs() < 1e-9, "{rates:?}");
        assert!((rates.compressor_w - 1_600.0 / (0.45 * 316.15 / 32.3)).abs() < 1e-9, "{rates:?}");
        assert!((rates.coil_w + rates.compressor_w - rates.heat_w).abs() < 1e-9);
        assert!((rates.cop() - 1_600.0 / (rates.compressor_w + 25.0)).abs() < 1e-12);
    }

    #[test]
    fn exact_dry_coil_stands_off_by_its_heat() {
        for (temp_c, condensing_c) in [(20.0, 30.0), (10.0, 60.0), (30.0, 50.0)] {
            let stands_off = |air: &MoistAir| air.temp_c - PUMP.evaporating_c(air, condensing_c);
            let dry = air(temp_c, 0.02);
            let ratio = PUMP.at(&dry, condensing_c).coil_w / PUMP.at(&air(RATED_AIR_C, 0.2), 43.0).coil_w;
            assert!((stands_off(&dry) - 9.0 * ratio).abs() < 1e-9, "{dry:?}");
        }
    }

    #[test]
    fn exact_coil_is_continuous_where_it_gets_wet() {
        let at = |dew_c: f64| PUMP.evaporating_c(&MoistAir::with_dew_point(20.0, dew_c, 101.325), 50.0);
        // Dry, it evaporates where it does in the driest air, but for the heat of the vapour; wet, warmer than that.
        let dry_c = at(0.0);
        assert!((at(dry_c - 0.01) - dry_c).abs() < 1e-9);
        assert!((0.0..0.02).contains(&(at(dry_c + 0.01) - dry_c)));
        assert!(at(dry_c + 5.0) > at(dry_c + 2.0) && at(dry_c + 2.0) > dry_c + 0.5);
    }

    #[test]
    fn exact_wet_coil_stands_off_from_the_wet_bulb() {
        // Enthalpy of moist air is nearly that of saturated air at its wet bulb; the water of the wet bulb makes 1 %.
        let moist = air(20.0, 0.9);
        let saturated = |temp_c: f64| air(temp_c, 1.0).enthalpy_j_kg();
        let evaporating_c = PUMP.evaporating_c(&moist, 50.0);
        let ratio = PUMP.at(&moist, 50.0).coil_w / PUMP.at(&air(RATED_AIR_C, 0.2), 43.0).coil_w;
        let stands_off = saturated(moist.wet_bulb_c()) - saturated(evaporating_c);
        assert!((stands_off / (moist.heat_j_kg_k() * 9.0 * ratio) - 1.0).abs() < 0.02, "{stands_off}");
    }

    #[test]
    fn better_with_warmer_moister_air_and_colder_water() {
        let cop = |temp_c, humidity, water_c| PUMP.at(&air(temp_c, humidity), water_c + 8.0).cop();
        assert!(cop(25.0, 0.5, 45.0) > cop(15.0, 0.5, 45.0));
        assert!(cop(20.0, 0.9, 45.0) > cop(20.0, 0.5, 45.0));
        assert!(cop(20.0, 0.5, 25.0) > cop(20.0, 0.5, 55.0));
        // Water colder than the coil asks for no work by Carnot's law; the cap is for that.
        let easy = PUMP.at(&air(40.0, 0.5), 13.0);
        assert!((easy.heat_w / easy.compressor_w - 6.0).abs() < 1e-12);
        // Below 5 °C frost takes a share, at 0 °C all of 15 %.
        let frosty = PUMP.at(&air(0.0, 0.5), 53.0);
        let bare = 1_600.0 * (1.0 + 0.025 * (PUMP.evaporating_c(&air(0.0, 0.5), 53.0) - 10.7) - 0.05);
        assert!((frosty.heat_w / bare - 0.85).abs() < 1e-12);
        assert!(
            PUMP.suits(&air(7.0, 0.5), false)
                && !PUMP.suits(&air(6.9, 0.5), false)
                && !PUMP.suits(&air(43.1, 0.5), false)
        );
        assert!(
            PUMP.suits(&air(10.1, 0.5), true)
                && !PUMP.suits(&air(9.9, 0.5), true)
                && !PUMP.suits(&air(40.1, 0.5), true)
        );
    }
}
