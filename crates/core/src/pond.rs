//! Open water under the sky: what rain and its catchment bring, what evaporates and seeps away, how warm and how clear it is.
//!
//! An hour's rates follow from the water there is when the hour begins. Over an hour a pond's surface hardly moves, and rates
//! that hold for an hour leave the rest of the plant its closed forms. Equations, sources and ranges are in `docs/physics.md`.

use serde::{Deserialize, Serialize};

use crate::basin::Basin;
use crate::quality::Quality;
use crate::water::HOTTEST_C;
use crate::weather::WeatherHour;

/// What a basin has under the open sky.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct OpenWater {
    /// The land that drains into it, beside its own surface to the brim.
    pub catchment: Option<Catchment>,
    /// Evaporation as a multiple of that of the reference crop.
    pub evaporation_factor: f64,
    /// Seepage, as a depth over the surface there is.
    pub seepage_mm_day: f64,
    /// How fast suspended solids sink.
    pub settling_m_day: f64,
    /// Suspended solids that never settle: fine clay and algae.
    pub clearest_mg_l: f64,
}

/// Land that drains into a pond.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Catchment {
    /// Its area seen from above.
    pub area_m2: f64,
    /// Runoff curve number of its soil and cover, over 0 up to 100.
    pub curve_number: f64,
    /// What its runoff carries.
    pub quality: Quality,
}

/// What changes in a pond beside the water in it and what that carries.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct PondState {
    /// Thickness of its ice, whose water counts as the pond's.
    pub ice_m: f64,
    /// Snow on its catchment, as water.
    pub snow_mm: f64,
    /// Rain and meltwater on the catchment since it was last dry.
    pub event_mm: f64,
    /// Hours without any.
    pub dry_h: f64,
}

/// What an hour of weather makes of a pond; all rates hold for the hour.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct HourFlows {
    /// Rain on the surface and the banks up to the brim.
    pub rain_lps: f64,
    /// Runoff of the catchment,
    pub runoff_lps: f64,
    /// and how warm both are.
    pub temp_c: f64,
    /// Evaporation.
    pub evaporates_lps: f64,
    /// Seepage.
    pub seeps_lps: f64,
    /// Water of the basin that is ice, out of reach of pump, air and ground, L.
    pub ice_l: f64,
}

impl HourFlows {
    /// Nothing comes and nothing goes.
    pub const NONE: Self =
        Self { rain_lps: 0.0, runoff_lps: 0.0, temp_c: 0.0, evaporates_lps: 0.0, seeps_lps: 0.0, ice_l: 0.0 };

    /// What comes.
    #[must_use]
    pub fn in_lps(&self) -> f64 {
        self.rain_lps + self.runoff_lps
    }

    /// What goes.
    #[must_use]
    pub fn lost_lps(&self) -> f64 {
        self.evaporates_lps + self.seeps_lps
    }
}

/// Seconds in an hour, hours in a day.
const HOUR_S: f64 = 3_600.0;
const DAY_H: f64 = 24.0;

/// After so long without rain the next rain finds its catchment as dry as the curve number takes it. Our choice.
const DRY_GAP_H: f64 = 12.0;

/// Part of a curve number's retention that rain must fill before any runs off (NRCS, NEH 630, chapter 10, eq. 10-9).
const INITIAL_SHARE: f64 = 0.2;

/// Melt of snow for each degree of the day's air above freezing: 0.06 in for a degree Fahrenheit (NEH 630, chapter 11; value
/// from memory).
const MELT_MM_DAY_C: f64 = 0.06 * 25.4 * 1.8;

/// No more than this part of what is over a last puddle leaves a pond by evaporation and seepage in an hour.
const MOST_LOST_IN_AN_HOUR: f64 = 0.5;
/// Evaporation and seepage leave so much, so that what a dry pond's water carried stays within numbers.
pub const PUDDLE_L: f64 = 1.0;

/// Part of the sun that open water takes in (albedo 0.06; textbooks say 5 to 8 %), and that ice with some snow does.
const WATER_ABSORBS: f64 = 0.94;
const ICE_ABSORBS: f64 = 0.4;

/// Volumetric heat of water, J/(m3 K).
const WATER_J_M3_K: f64 = 4.19e6;
/// Density of ice, kg/L, and heat to melt it, J/m3: at 334 kJ/kg.
const ICE_KG_L: f64 = 0.917;
const ICE_J_M3: f64 = 1e3 * ICE_KG_L * 334e3;
/// Conductivity of ice, W/(m K), and transfer from its face to the air, W/(m2 K) (Ashton 1989; value from memory).
const ICE_W_M_K: f64 = 2.22;
const ICE_TO_AIR_W_M2_K: f64 = 20.0;
/// From the mean of the water to the ice on it, W/(m2 K): layers keep warm water down. Our choice, so that warm inflow leaves
/// water under ice at the 1 to 4 °C that are found there.
const WATER_TO_ICE_W_M2_K: f64 = 2.0;

/// Water less deep than this is at once where its exchange is even.
const LEAST_DEPTH_M: f64 = 0.01;

/// Runoff of a rain in all, from the rain so far: `(P - 0.2 S)^2 / (P + 0.8 S)` with `S = 25400 / CN - 254` mm
/// (NRCS, NEH 630, chapter 10).
#[must_use]
pub fn runoff_mm(rain_mm: f64, curve_number: f64) -> f64 {
    let retention_mm = 25_400.0 / curve_number - 254.0;
    let excess_mm = rain_mm - INITIAL_SHARE * retention_mm;
    if excess_mm <= 0.0 { 0.0 } else { excess_mm * excess_mm / (excess_mm + retention_mm) }
}

impl OpenWater {
    /// What an hour of weather makes of a basin that begins it with so much water.
    #[must_use]
    pub fn hour(&self, basin: &Basin, volume_l: f64, state: &mut PondState, hour: &WeatherHour) -> HourFlows {
        let area_m2 = basin.area_m2(volume_l);
        let lps = |depth_mm: f64, area_m2: f64| depth_mm * area_m2 / HOUR_S;
        let runoff_lps =
            self.catchment.as_ref().map_or(0.0, |catchment| lps(catchment.runs_off_mm(state, hour), catchment.area_m2));
        let evaporates_mm = if state.ice_m > 0.0 { 0.0 } else { self.evaporation_factor * hour.evaporation_mm };
        let (evaporates_lps, seeps_lps) = (lps(evaporates_mm, area_m2), lps(self.seepage_mm_day / DAY_H, area_m2));
        let ice_l = (ICE_KG_L * 1e3 * state.ice_m * area_m2).min(volume_l.max(0.0));
        let most_lps = MOST_LOST_IN_AN_HOUR * (volume_l - ice_l - PUDDLE_L).max(0.0) / HOUR_S;
        let lost_lps = evaporates_lps + seeps_lps;
        let share = if lost_lps > most_lps { most_lps / lost_lps } else { 1.0 };
        HourFlows {
            rain_lps: lps(hour.rain_mm, basin.area_m2(basin.capacity_l)),
            runoff_lps,
            temp_c: hour.air_c.max(0.0),
            evaporates_lps: share * evaporates_lps,
            seeps_lps: share * seeps_lps,
            ice_l,
        }
    }

    /// Part of the solids beyond those that never settle which is still afloat after an hour: `exp(-w t / d)`.
    #[must_use]
    pub fn afloat(&self, mean_depth_m: f64) -> f64 {
        libm::exp(-self.settling_m_day / DAY_H / mean_depth_m.max(LEAST_DEPTH_M))
    }
}

impl Catchment {
    /// What runs off in an hour, and what stays as snow.
    fn runs_off_mm(&self, state: &mut PondState, hour: &WeatherHour) -> f64 {
        let (mut liquid_mm, thaw_c) = (0.0, hour.air_c.max(0.0));
        if thaw_c > 0.0 {
            let melts_mm = (MELT_MM_DAY_C / DAY_H * thaw_c).min(state.snow_mm);
            state.snow_mm -= melts_mm;
            liquid_mm = hour.rain_mm + melts_mm;
        } else {
            state.snow_mm += hour.rain_mm;
        }
        if liquid_mm <= 0.0 {
            // A cold night does not dry the ground under snow.
            state.dry_h += if state.snow_mm > 0.0 { 0.0 } else { 1.0 };
            if state.dry_h >= DRY_GAP_H {
                state.event_mm = 0.0;
            }
            return 0.0;
        }
        let before_mm = runoff_mm(state.event_mm, self.curve_number);
        state.dry_h = 0.0;
        state.event_mm += liquid_mm;
        runoff_mm(state.event_mm, self.curve_number) - before_mm
    }
}

/// Temperature of well-mixed open water after an hour of weather; its ice grows or melts.
///
/// `rho c d dT/dt = K (T_e - T)` in closed form, with the [`Exchange`] at the hour's first temperature. Water cooled below freezing
/// makes ice instead; under ice it cools slowly, and ice follows the heat that it conducts (Ashton 1989).
#[must_use]
pub fn temp_after_hour_c(mean_depth_m: f64, temp_c: f64, state: &mut PondState, hour: &WeatherHour) -> f64 {
    if mean_depth_m < LEAST_DEPTH_M {
        state.ice_m = 0.0;
        return Exchange::of(temp_c, hour).even_c.clamp(0.0, HOTTEST_C);
    }
    // All of its water.
    let most_ice_m = mean_depth_m / ICE_KG_L;
    if state.ice_m > 0.0 {
        // What its face gives up must come through the ice; what it gains melts it there.
        let loss_w_m2 = -(ICE_TO_AIR_W_M2_K * hour.air_c + ICE_ABSORBS * hour.sun_w_m2);
        let conducted = if loss_w_m2 > 0.0 { 1.0 + ICE_TO_AIR_W_M2_K * state.ice_m / ICE_W_M_K } else { 1.0 };
        let gains_w_m2 = loss_w_m2 / conducted;
        // What the water gives to the ice melts it from below.
        let after_c = temp_c * libm::exp(-WATER_TO_ICE_W_M2_K * HOUR_S / (WATER_J_M3_K * mean_depth_m));
        let melts_m = WATER_J_M3_K * mean_depth_m * (temp_c - after_c) / ICE_J_M3;
        state.ice_m = (state.ice_m + gains_w_m2 * HOUR_S / ICE_J_M3 - melts_m).clamp(0.0, most_ice_m);
        return after_c;
    }
    // Straightened where it begins, then again in the middle of what came of that: shallow water goes far in an hour.
    let after = |about_c: f64| {
        let exchange = Exchange::of(about_c, hour);
        let left = libm::exp(-exchange.w_m2_k * HOUR_S / (WATER_J_M3_K * mean_depth_m));
        exchange.even_c + (temp_c - exchange.even_c) * left
    };
    let after_c = after(0.5 * (temp_c + after(temp_c)));
    if after_c < 0.0 {
        state.ice_m = (-after_c * WATER_J_M3_K * mean_depth_m / ICE_J_M3).min(most_ice_m);
        return 0.0;
    }
    after_c
}

/// Heat that passes the surface of open water, straightened at its temperature.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Exchange {
    /// For each degree from where it is even.
    pub w_m2_k: f64,
    /// Temperature at which it is even.
    pub even_c: f64,
}

impl Exchange {
    /// Sun, long waves of sky and water, evaporation and conduction:
    ///
    /// `0.94 sun + 0.97 sigma (eps T_air^4 - T^4) - f(u) (e_s(T) - e + 0.47 (T - T_air))`, vapour pressures in mmHg,
    /// `f(u) = 9.2 + 0.46 u^2` in W/(m2 mmHg) with the wind at 7 m (Brady, Graves & Geyer 1969, Edison Electric Institute RP-49),
    /// `eps = (1 - 0.84 c) 1.24 (e / T_air)^(1/7) + 0.84 c`, `e` in hPa (Brutsaert 1975; Unsworth & Monteith 1975 for the share
    /// `c` of cloud). All values from memory.
    #[must_use]
    pub fn of(temp_c: f64, hour: &WeatherHour) -> Self {
        let (air_kpa, water_kpa) = (vapour_kpa(hour.dew_point_c), vapour_kpa(temp_c));
        let slope_kpa_k = MAGNUS_SLOPE * water_kpa / ((temp_c + MAGNUS_ZERO_C) * (temp_c + MAGNUS_ZERO_C));
        let (air_k, water_k) = (hour.air_c + CELSIUS_K, temp_c + CELSIUS_K);
        let clear = CLEAR_SKY * libm::pow(HPA_PER_KPA * air_kpa / air_k, 1.0 / 7.0);
        let cloud = CLOUD_SHARE * hour.cloud;
        let sky = ((1.0 - cloud) * clear + cloud).min(1.0);
        let cubed = STEFAN_BOLTZMANN_W_M2_K4 * water_k * water_k * water_k;
        let air_fourth = STEFAN_BOLTZMANN_W_M2_K4 * (air_k * air_k) * (air_k * air_k);
        let high_m_s = WIND_AT_7_M * hour.wind_m_s;
        let wind_w_m2_mmhg = 9.2 + 0.46 * high_m_s * high_m_s;
        let gains_w_m2 = WATER_ABSORBS * hour.sun_w_m2 + EMISSIVITY * (sky * air_fourth - cubed * water_k)
            - wind_w_m2_mmhg * ((water_kpa - air_kpa) / MMHG_KPA + BOWEN_MMHG_K * (temp_c - hour.air_c));
        let w_m2_k = 4.0 * EMISSIVITY * cubed + wind_w_m2_mmhg * (slope_kpa_k / MMHG_KPA + BOWEN_MMHG_K);
        Self { w_m2_k, even_c: temp_c + gains_w_m2 / w_m2_k }
    }
}

/// 0 °C on the thermodynamic scale.
const CELSIUS_K: f64 = 273.15;
const STEFAN_BOLTZMANN_W_M2_K4: f64 = 5.670_374e-8;
/// Emissivity of water.
const EMISSIVITY: f64 = 0.97;
/// Brutsaert's law of a clear sky, vapour pressure in hPa.
const CLEAR_SKY: f64 = 1.24;
const HPA_PER_KPA: f64 = 10.0;
/// Part of the sky's gap to a black body that a full cover of cloud closes.
const CLOUD_SHARE: f64 = 0.84;
/// Bowen's ratio at the pressure of the sea.
const BOWEN_MMHG_K: f64 = 0.47;
const MMHG_KPA: f64 = 101.325 / 760.0;
/// Wind at 7 m for one at 2 m over grass, by the logarithmic law of FAO-56 (eq. 47): ln(67.8 x 7 - 5.42) / 4.87.
const WIND_AT_7_M: f64 = 1.263_0;

/// Vapour pressure of saturated air (FAO-56, eq. 11), and its slope by the same constants (eq. 13).
fn vapour_kpa(temp_c: f64) -> f64 {
    0.610_8 * libm::exp(17.27 * temp_c / (temp_c + MAGNUS_ZERO_C))
}

const MAGNUS_ZERO_C: f64 = 237.3;
const MAGNUS_SLOPE: f64 = 17.27 * MAGNUS_ZERO_C;

#[cfg(test)]
mod tests;
