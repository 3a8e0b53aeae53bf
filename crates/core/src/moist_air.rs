//! Moist air, and a cold coil in it.
//!
//! Equations of the ASHRAE Handbook, Fundamentals (2017), chapter 1: vapour as an ideal gas, saturation by Hyland & Wexler
//! over ice below the triple point of water and over water above. -100 to 200 °C; see `docs/physics.md`.

use serde::{Deserialize, Serialize};

use crate::root::{root, root_by_slope};

/// 0 °C on the thermodynamic scale, and the triple point of water.
const CELSIUS_K: f64 = 273.15;
const TRIPLE_POINT_C: f64 = 0.01;

/// Range of the equations of saturation, which every temperature is held to.
const COLDEST_C: f64 = -100.0;
const HOTTEST_C: f64 = 200.0;

/// Molar mass of water over that of dry air.
const MASS_RATIO: f64 = 0.621_945;
/// Gas constant of dry air, kJ/(kg K), and how much a share of vapour adds to the volume.
const DRY_AIR_KJ_KG_K: f64 = 0.287_042;
const VAPOUR_VOLUME: f64 = 1.607_858;

/// Specific heats of dry air, vapour, water and ice, and heats of evaporation and sublimation at 0 °C.
const AIR_J_KG_K: f64 = 1_006.0;
const VAPOUR_J_KG_K: f64 = 1_860.0;
const WATER_J_KG_K: f64 = 4_186.0;
const ICE_J_KG_K: f64 = 2_100.0;
const EVAPORATION_J_KG: f64 = 2_501e3;
const SUBLIMATION_J_KG: f64 = 2_830e3;

/// Vapour is held to this part of the pressure: hotter air than that which is all vapour does not belong here.
const MOST_VAPOUR: f64 = 0.9;
/// The driest air that a dew point is sought for, over the humidity at saturation.
const DRIEST: f64 = 1e-6;

/// How near to saturation air leaves a wet coil (common practice, no source).
const LEAVING_HUMIDITY: f64 = 0.95;

/// Moist air; humidity is the mass of vapour for each kilogram of dry air.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct MoistAir {
    /// Dry-bulb temperature.
    pub temp_c: f64,
    /// Humidity ratio.
    pub humidity_kg_kg: f64,
    /// Pressure, absolute.
    pub pressure_kpa: f64,
}

/// What a coil does to air that passes it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Cooled {
    /// The air that leaves.
    pub leaving: MoistAir,
    /// Heat taken that shows as temperature.
    pub sensible_w: f64,
    /// Heat taken out of vapour, less what its water keeps.
    pub latent_w: f64,
    /// Water that runs off.
    pub condensate_kg_s: f64,
}

/// Pressure of saturated vapour: `ln p = C8 / T + C9 + C10 T + C11 T² + C12 T³ + C13 ln T` over water, and the like over
/// ice (Hyland & Wexler, ASHRAE Transactions 89(2A) (1983) 500; Fundamentals (2017) chapter 1, equations 5 and 6).
#[must_use]
pub fn saturation_kpa(temp_c: f64) -> f64 {
    let held_c = temp_c.clamp(COLDEST_C, HOTTEST_C);
    let t = held_c + CELSIUS_K;
    let log_pa = if held_c <= TRIPLE_POINT_C {
        -5.674_535_9e3 / t
            + 6.392_524_7
            + t * (-9.677_843_0e-3 + t * (6.221_570_1e-7 + t * (2.074_782_5e-9 - t * 9.484_024_0e-13)))
            + 4.163_501_9 * libm::log(t)
    } else {
        -5.800_220_6e3 / t
            + 1.391_499_3
            + t * (-4.864_023_9e-2 + t * (4.176_476_8e-5 - t * 1.445_209_3e-8))
            + 6.545_967_3 * libm::log(t)
    };
    1e-3 * libm::exp(log_pa)
}

/// By what part of itself that pressure grows with a kelvin.
fn saturation_per_k(temp_c: f64) -> f64 {
    if !(COLDEST_C..=HOTTEST_C).contains(&temp_c) {
        return 0.0;
    }
    let t = temp_c + CELSIUS_K;
    if temp_c <= TRIPLE_POINT_C {
        (5.674_535_9e3 / t + 4.163_501_9) / t - 9.677_843_0e-3
            + t * (2.0 * 6.221_570_1e-7 + t * (3.0 * 2.074_782_5e-9 - t * 4.0 * 9.484_024_0e-13))
    } else {
        (5.800_220_6e3 / t + 6.545_967_3) / t - 4.864_023_9e-2 + t * (2.0 * 4.176_476_8e-5 - t * 3.0 * 1.445_209_3e-8)
    }
}

/// Less than the pressure of saturated vapour, and close to it from 8 to 22 °C: a line under the curve, which bends up.
fn under_saturation_kpa(temp_c: f64) -> f64 {
    1.705 + 0.1097 * (temp_c - 15.0)
}

/// Humidity of air at a relative humidity, and how much it grows with a kelvin.
pub(crate) fn humidity_and_slope(temp_c: f64, relative_humidity: f64, pressure_kpa: f64) -> (f64, f64) {
    let vapour_kpa = relative_humidity * saturation_kpa(temp_c);
    let humidity_kg_kg = humidity_kg_kg(vapour_kpa, pressure_kpa);
    let is_held = vapour_kpa > MOST_VAPOUR * pressure_kpa;
    let per_part = if is_held { 0.0 } else { humidity_kg_kg * pressure_kpa / (pressure_kpa - vapour_kpa) };
    (humidity_kg_kg, per_part * saturation_per_k(temp_c))
}

/// Humidity of air with so much vapour, `0.621945 p_v / (p - p_v)` (equation 20).
fn humidity_kg_kg(vapour_kpa: f64, pressure_kpa: f64) -> f64 {
    let held_kpa = vapour_kpa.clamp(0.0, MOST_VAPOUR * pressure_kpa);
    MASS_RATIO * held_kpa / (pressure_kpa - held_kpa)
}

impl MoistAir {
    /// Air of a relative humidity between 0 and 1.
    #[must_use]
    pub fn at(temp_c: f64, relative_humidity: f64, pressure_kpa: f64) -> Self {
        let vapour_kpa = relative_humidity * saturation_kpa(temp_c);
        Self { temp_c, humidity_kg_kg: humidity_kg_kg(vapour_kpa, pressure_kpa), pressure_kpa }
    }

    /// Air of a dew point; one above the temperature counts as the temperature.
    #[must_use]
    pub fn with_dew_point(temp_c: f64, dew_point_c: f64, pressure_kpa: f64) -> Self {
        let vapour_kpa = saturation_kpa(dew_point_c.min(temp_c));
        Self { temp_c, humidity_kg_kg: humidity_kg_kg(vapour_kpa, pressure_kpa), pressure_kpa }
    }

    /// Pressure of its vapour.
    #[must_use]
    pub fn vapour_kpa(&self) -> f64 {
        self.pressure_kpa * self.humidity_kg_kg / (MASS_RATIO + self.humidity_kg_kg)
    }

    /// Vapour over that of saturation.
    #[must_use]
    pub fn relative_humidity(&self) -> f64 {
        self.vapour_kpa() / saturation_kpa(self.temp_c)
    }

    /// Whether its vapour is surely less than such a part of that of saturation; it may be though this tells it is not.
    pub(crate) fn is_surely_under(&self, relative_humidity: f64) -> bool {
        self.vapour_kpa() < relative_humidity * under_saturation_kpa(self.temp_c)
    }

    /// How fast its enthalpy grows with a kelvin, while its humidity grows so fast.
    pub(crate) fn enthalpy_per_k(&self, humidity_per_k: f64) -> f64 {
        self.heat_j_kg_k() + humidity_per_k * (EVAPORATION_J_KG + VAPOUR_J_KG_K * self.temp_c)
    }

    /// Heat in a kilogram of dry air and its vapour, from dry air and water at 0 °C: `1.006 T + W (2501 + 1.86 T)` kJ
    /// (equation 30).
    #[must_use]
    pub fn enthalpy_j_kg(&self) -> f64 {
        AIR_J_KG_K * self.temp_c + self.humidity_kg_kg * (EVAPORATION_J_KG + VAPOUR_J_KG_K * self.temp_c)
    }

    /// Heat that warms a kilogram of dry air and its vapour by a kelvin.
    #[must_use]
    pub fn heat_j_kg_k(&self) -> f64 {
        AIR_J_KG_K + VAPOUR_J_KG_K * self.humidity_kg_kg
    }

    /// Volume of a kilogram of dry air and its vapour (equation 26).
    #[must_use]
    pub fn volume_m3_kg(&self) -> f64 {
        DRY_AIR_KJ_KG_K * (self.temp_c + CELSIUS_K) * (1.0 + VAPOUR_VOLUME * self.humidity_kg_kg) / self.pressure_kpa
    }

    /// Temperature at which its vapour is saturated, over ice below the triple point. Bone-dry air counts as having a
    /// millionth of the vapour it could hold.
    #[must_use]
    pub fn dew_point_c(&self) -> f64 {
        let vapour_kpa = self.vapour_kpa();
        let most_kpa = saturation_kpa(self.temp_c);
        if vapour_kpa >= most_kpa {
            return self.temp_c;
        }
        let sought = libm::log(vapour_kpa.max(DRIEST * most_kpa));
        root(|temp_c| libm::log(saturation_kpa(temp_c)) - sought, COLDEST_C, self.temp_c.max(COLDEST_C))
    }

    /// Temperature that water, or ice below 0 °C, takes in a draught of it (equations 33 and 35). Where both answer, water
    /// does.
    #[must_use]
    pub fn wet_bulb_c(&self) -> f64 {
        // Rounding must not put the bulb above the air.
        if self.relative_humidity() >= 1.0 - 1e-12 {
            return self.temp_c;
        }
        let surplus = |bulb_c: f64, heat_j_kg: f64, liquid_j_kg_k: f64| {
            let saturated = Self::at(bulb_c, 1.0, self.pressure_kpa).humidity_kg_kg;
            let liquid_j_kg = liquid_j_kg_k * bulb_c;
            saturated * (heat_j_kg + VAPOUR_J_KG_K * bulb_c - liquid_j_kg)
                - AIR_J_KG_K * (self.temp_c - bulb_c)
                - self.humidity_kg_kg * (heat_j_kg + VAPOUR_J_KG_K * self.temp_c - liquid_j_kg)
        };
        let over_water = |bulb_c: f64| surplus(bulb_c, EVAPORATION_J_KG, WATER_J_KG_K);
        if self.temp_c > 0.0 && over_water(0.0) <= 0.0 {
            return root(over_water, 0.0, self.temp_c);
        }
        root(|bulb_c| surplus(bulb_c, SUBLIMATION_J_KG, ICE_J_KG_K), COLDEST_C, self.temp_c.min(0.0))
    }

    /// Temperature of saturated air of this enthalpy at a pressure.
    #[must_use]
    pub fn saturated_c(enthalpy_j_kg: f64, pressure_kpa: f64) -> f64 {
        // Dry air of that enthalpy is warmer than moist air.
        let most_c = (enthalpy_j_kg / AIR_J_KG_K).clamp(COLDEST_C + 1.0, HOTTEST_C);
        root(|temp_c| Self::at(temp_c, 1.0, pressure_kpa).enthalpy_j_kg() - enthalpy_j_kg, COLDEST_C, most_c)
    }

    /// What is left of it after a coil has taken so much heat from so much dry air each second.
    ///
    /// Water runs off as warm as the air that leaves, which is at 95 % of saturation, or as moist as it came if that is
    /// more; a coil that need not be that cold stays dry. Frost counts as water: a defrost gives its heat back.
    #[must_use]
    pub fn cooled(&self, heat_w: f64, dry_air_kg_s: f64) -> Cooled {
        if heat_w <= 0.0 || dry_air_kg_s <= 0.0 {
            return Cooled { leaving: *self, sensible_w: 0.0, latent_w: 0.0, condensate_kg_s: 0.0 };
        }
        let heat_j_kg = heat_w / dry_air_kg_s;
        let near = if self.is_surely_under(LEAVING_HUMIDITY) {
            LEAVING_HUMIDITY
        } else {
            self.relative_humidity().max(LEAVING_HUMIDITY)
        };
        let mut found = (0.0, 0.0, 0.0);
        // What a wet coil takes over the heat that it is to take.
        let surplus_j_kg = |temp_c: f64| {
            let (humidity_kg_kg, humidity_per_k) = humidity_and_slope(temp_c, near, self.pressure_kpa);
            found = (temp_c, humidity_kg_kg, humidity_per_k);
            let out = Self { temp_c, humidity_kg_kg, ..*self };
            let runs_off_kg_kg = self.humidity_kg_kg - humidity_kg_kg;
            let taken_j_kg = self.enthalpy_j_kg() - out.enthalpy_j_kg() - runs_off_kg_kg * WATER_J_KG_K * temp_c;
            let per_k = (humidity_per_k * temp_c - runs_off_kg_kg) * WATER_J_KG_K - out.enthalpy_per_k(humidity_per_k);
            (taken_j_kg - heat_j_kg, per_k)
        };
        // A coil that stays dry is this cold, a wet one warmer.
        let dry_c = (self.temp_c - heat_j_kg / self.heat_j_kg_k()).max(COLDEST_C);
        let temp_c = root_by_slope(surplus_j_kg, dry_c, dry_c, self.temp_c);
        let (last_c, humidity_kg_kg, humidity_per_k) = found;
        let wet_kg_kg = humidity_kg_kg + humidity_per_k * (temp_c - last_c);
        let out = Self { temp_c, humidity_kg_kg: wet_kg_kg.min(self.humidity_kg_kg), ..*self };
        let sensible_w = dry_air_kg_s * self.heat_j_kg_k() * (self.temp_c - out.temp_c);
        Cooled {
            leaving: out,
            sensible_w,
            latent_w: heat_w - sensible_w,
            condensate_kg_s: dry_air_kg_s * (self.humidity_kg_kg - out.humidity_kg_kg),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn exact_saturated_air_is_at_its_dew_point_and_wet_bulb() {
        for temp_c in [-30.0, -5.0, 0.0, 0.5, 12.0, 45.0] {
            let air = MoistAir::at(temp_c, 1.0, 101.325);
            assert!((air.dew_point_c() - temp_c).abs() < 1e-9, "{air:?}");
            assert!((air.wet_bulb_c() - temp_c).abs() < 1e-9, "{air:?}");
            assert!((MoistAir::saturated_c(air.enthalpy_j_kg(), 101.325) - temp_c).abs() < 1e-9, "{air:?}");
        }
    }

    #[test]
    fn exact_dew_point_comes_back() {
        for dew_point_c in [-40.0, -8.0, 0.0, 9.3, 19.0] {
            let air = MoistAir::with_dew_point(20.0, dew_point_c, 84.0);
            assert!((air.dew_point_c() - dew_point_c).abs() < 1e-9, "{air:?}");
        }
        assert_eq!(MoistAir::with_dew_point(5.0, 9.0, 101.0), MoistAir::at(5.0, 1.0, 101.0));
    }

    #[test]
    fn air_of_any_kind_has_a_wet_bulb_between_dew_point_and_temperature() {
        for temp_c in [-25.0, -0.1, 0.0, 3.0, 7.0, 20.0, 60.0] {
            for humidity in [0.0, 0.05, 0.3, 0.7, 0.99] {
                let air = MoistAir::at(temp_c, humidity, 90.0);
                let (dew_c, bulb_c) = (air.dew_point_c(), air.wet_bulb_c());
                assert!(dew_c <= bulb_c + 1e-9 && bulb_c <= temp_c, "{air:?}: {dew_c}, {bulb_c}");
            }
        }
    }

    #[test]
    fn exact_slope_of_humidity_is_its_difference() {
        for (temp_c, humidity) in [(-40.0, 1.0), (-3.0, 0.9), (0.5, 1.0), (14.0, 0.95), (60.0, 1.0), (99.9, 1.0)] {
            let at = |temp_c| humidity_and_slope(temp_c, humidity, 101.325);
            let step_k = 1e-4;
            let difference_k = (at(temp_c + step_k).0 - at(temp_c - step_k).0) / (2.0 * step_k);
            let (humidity_kg_kg, per_k) = at(temp_c);
            assert_eq!(humidity_kg_kg, MoistAir::at(temp_c, humidity, 101.325).humidity_kg_kg);
            assert!((per_k - difference_k).abs() <= 1e-6 * per_k, "{temp_c} °C: {per_k} for {difference_k}");
        }
        // All vapour, or out of range: it is held.
        assert_eq!((humidity_and_slope(150.0, 1.0, 101.325).1, humidity_and_slope(201.0, 0.05, 101.325).1), (0.0, 0.0));
    }

    #[test]
    fn exact_line_stays_under_saturation() {
        for tenths in -1_000..2_000 {
            let temp_c = 0.1 * f64::from(tenths);
            let (under_kpa, kpa) = (under_saturation_kpa(temp_c), saturation_kpa(temp_c));
            assert!(under_kpa < kpa, "{temp_c} °C");
            assert!(!(8.0..22.0).contains(&temp_c) || under_kpa > 0.85 * kpa, "of no use at {temp_c} °C");
        }
    }

    #[test]
    fn exact_heat_of_a_coil_is_sensible_and_latent() {
        for (temp_c, humidity) in [(20.0, 0.5), (20.0, 0.8), (8.0, 1.0), (3.0, 0.9), (25.0, 0.0), (-5.0, 0.7)] {
            let air = MoistAir::at(temp_c, humidity, 101.325);
            for heat_w in [0.0, 50.0, 1_500.0, 4_000.0] {
                let cooled = air.cooled(heat_w, 0.2);
                assert!((cooled.sensible_w + cooled.latent_w - heat_w).abs() < 1e-9, "{cooled:?}");
                let runs_off_w = cooled.condensate_kg_s * WATER_J_KG_K * cooled.leaving.temp_c;
                let taken_w = 0.2 * (air.enthalpy_j_kg() - cooled.leaving.enthalpy_j_kg());
                // Enthalpies are tens of kilojoules.
                assert!((taken_w - runs_off_w - heat_w).abs() < 1e-9 * (1.0 + heat_w), "{air:?}: {cooled:?}");
                assert!(cooled.sensible_w >= 0.0 && cooled.latent_w >= -1e-9 && cooled.condensate_kg_s >= 0.0);
            }
        }
    }
}
