//! What grass and open water lose to the air in a day.
//!
//! R. G. Allen, L. S. Pereira, D. Raes and M. Smith, *Crop evapotranspiration*, FAO Irrigation and Drainage Paper 56
//! (1998): equations are named by their numbers there. Temperatures in °C, vapour pressures in kPa, radiation in MJ/(m²
//! day), depths in mm/day. Coefficients and numbers are from memory; worked examples hold them (`tests/published`). All
//! that goes in is finite.

use std::f64::consts::{PI, TAU};

use crate::place::Place;

/// Share of sunlight that the reference grass throws back.
pub const GRASS_ALBEDO: f64 = 0.23;

/// Depth of water, mm, that a MJ/m² evaporates: the inverse of 2.45 MJ/kg as the paper rounds it.
pub const MM_PER_MJ_M2: f64 = 0.408;

/// Open water shallower than 2 m, or in a humid climate, over the reference (table 12; from memory).
pub const SHALLOW_WATER_FACTOR: f64 = 1.05;

/// Deep clear water of a temperate climate over the reference: while it warms in spring and summer, and while it cools
/// in autumn and winter (table 12, water deeper than 5 m; from memory). To be used with caution, the paper says.
pub const DEEP_WATER_FACTORS: [f64; 2] = [0.65, 1.25];

/// Share of the clear sky's sun that is taken where there is no sun to tell how cloudy it is, in the night of the
/// poles: the middle of what the paper takes for nights in humid climates, 0.4 to 0.6 (from memory).
const SUNLESS_CLEARNESS: f64 = 0.5;

/// The least share of the clear sky's sun: of a wholly overcast sky, by which long-wave loss stays above zero (ASCE,
/// The ASCE standardized reference evapotranspiration equation, 2005, equation 18; from memory).
const LEAST_CLEARNESS: f64 = 0.3;

/// The air of a day, as far as it is known.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DayAir {
    /// Highest temperature.
    pub high_c: f64,
    /// Lowest temperature.
    pub low_c: f64,
    /// Mean dew point.
    pub dew_point_c: Option<f64>,
    /// Mean wind at 2 m; [`wind_at_2_m`] for another height.
    pub wind_m_s: Option<f64>,
    /// Sun on level ground, MJ/m²; [`sun_by_hours_mj_m2`] or [`sun_by_temperatures_mj_m2`] where none is measured.
    pub sun_mj_m2: Option<f64>,
}

/// The air of a day of which all is known.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FullAir {
    /// Highest temperature.
    pub high_c: f64,
    /// Lowest temperature.
    pub low_c: f64,
    /// Mean dew point.
    pub dew_point_c: f64,
    /// Mean wind at 2 m.
    pub wind_m_s: f64,
    /// Sun on level ground, MJ/m².
    pub sun_mj_m2: f64,
}

impl DayAir {
    /// The air, where dew point, wind and sun are all known.
    #[must_use]
    pub fn full(&self) -> Option<FullAir> {
        let Self { high_c, low_c, dew_point_c, wind_m_s, sun_mj_m2 } = *self;
        Some(FullAir { high_c, low_c, dew_point_c: dew_point_c?, wind_m_s: wind_m_s?, sun_mj_m2: sun_mj_m2? })
    }
}

impl FullAir {
    /// Vapour pressure at saturation and that of the air. A dew point above the air, rounded or measured elsewhere, is
    /// saturation.
    fn vapours_kpa(&self) -> (f64, f64) {
        // Equation 12: the curve is bent, so the mean of the ends is more than the value at the mean.
        let saturated_kpa = vapour_of_day_kpa(self.high_c, self.low_c, 1.0, 1.0);
        (saturated_kpa, saturation_kpa(self.dew_point_c).min(saturated_kpa))
    }
}

/// Evaporation of the reference grass in a day, mm, on a day of the year from 1; never less than nothing.
///
/// By Penman and Monteith where dew point, wind and sun are all known, else by Hargreaves from temperatures alone.
#[must_use]
pub fn reference_mm(air: &DayAir, place: &Place, day_of_year: i16) -> f64 {
    match air.full() {
        Some(full) => penman_monteith_mm(&full, place, day_of_year, 0.0),
        None => hargreaves_mm(air.high_c, air.low_c, place, day_of_year),
    }
}

/// Equation 6, with the heat that goes into the ground in MJ/m², which over a day is next to none.
///
/// Dew that forms, which the equation gives as less than nothing, is left out.
#[must_use]
pub fn penman_monteith_mm(air: &FullAir, place: &Place, day_of_year: i16, ground_mj_m2: f64) -> f64 {
    let mean_c = 0.5 * (air.high_c + air.low_c);
    let slope = saturation_slope_kpa_k(mean_c);
    let psychrometric = psychrometric_kpa_k(air_pressure_kpa(place.elevation_m));
    let (saturated_kpa, vapour_kpa) = air.vapours_kpa();
    let radiated = net_radiation_mj_m2(air, place, day_of_year, GRASS_ALBEDO) - ground_mj_m2;
    let blown = 900.0 / (mean_c + 273.0) * air.wind_m_s * (saturated_kpa - vapour_kpa);
    let depth_mm = (MM_PER_MJ_M2 * slope * radiated + psychrometric * blown)
        / (slope + psychrometric * (1.0 + 0.34 * air.wind_m_s));
    depth_mm.max(0.0)
}

/// Equation 52: Hargreaves and Samani, from temperatures and the sun above the air.
#[must_use]
pub fn hargreaves_mm(high_c: f64, low_c: f64, place: &Place, day_of_year: i16) -> f64 {
    let mean_c = 0.5 * (high_c + low_c);
    let above_mm = MM_PER_MJ_M2 * sun_above_air_mj_m2(place.latitude_deg, day_of_year);
    (0.0023 * (mean_c + 17.8) * root_of_range(high_c, low_c) * above_mm).max(0.0)
}

/// Vapour pressure over water, equation 11.
#[must_use]
pub fn saturation_kpa(temp_c: f64) -> f64 {
    0.6108 * libm::exp(17.27 * temp_c / (temp_c + 237.3))
}

/// Slope of the vapour pressure, equation 13.
#[must_use]
pub fn saturation_slope_kpa_k(temp_c: f64) -> f64 {
    4_098.0 * saturation_kpa(temp_c) / ((temp_c + 237.3) * (temp_c + 237.3))
}

/// Dew point of air with a vapour pressure above zero: equation 11 turned round, and so equation 14 too.
#[must_use]
pub fn dew_point_c(vapour_kpa: f64) -> f64 {
    let logarithm = libm::log(vapour_kpa / 0.6108);
    237.3 * logarithm / (17.27 - logarithm)
}

/// Dew point of air at a temperature with a relative humidity, a share above zero.
#[must_use]
pub fn dew_point_of_humid_c(air_c: f64, humidity: f64) -> f64 {
    dew_point_c(humidity * saturation_kpa(air_c))
}

/// Relative humidity of air at a temperature with a dew point, a share of 1; 1 where the dew point is above the air.
#[must_use]
pub fn humidity(air_c: f64, dew_point_c: f64) -> f64 {
    (saturation_kpa(dew_point_c) / saturation_kpa(air_c)).min(1.0)
}

/// Vapour pressure of a day by relative humidities, shares: the highest is that of the lowest temperature, and the
/// other way round; equation 17.
#[must_use]
pub fn vapour_of_day_kpa(high_c: f64, low_c: f64, highest_humidity: f64, lowest_humidity: f64) -> f64 {
    0.5 * (saturation_kpa(low_c) * highest_humidity + saturation_kpa(high_c) * lowest_humidity)
}

/// Pressure of the air at a height above the sea, equation 7.
///
/// For the parts of these equations; elsewhere it is the standard atmosphere, which is 0.4 % less at 1,800 m.
#[must_use]
pub fn air_pressure_kpa(elevation_m: f64) -> f64 {
    101.3 * libm::pow((293.0 - 0.0065 * elevation_m) / 293.0, 5.26)
}

/// Psychrometric constant, equation 8.
#[must_use]
pub fn psychrometric_kpa_k(pressure_kpa: f64) -> f64 {
    0.665e-3 * pressure_kpa
}

/// Wind at 2 m over grass by that at another height, 0.5 m or more: a logarithmic profile, equation 47. That gives 1.0002 of the
/// wind at 2 m, which stays as it is.
#[must_use]
pub fn wind_at_2_m(wind_m_s: f64, height_m: f64) -> f64 {
    if height_m == 2.0 { wind_m_s } else { wind_m_s * 4.87 / libm::log(67.8 * height_m.max(0.5) - 5.42) }
}

/// Sun on level ground above the air in a day, equation 21.
#[must_use]
pub fn sun_above_air_mj_m2(latitude_deg: f64, day_of_year: i16) -> f64 {
    // 0.0820 MJ/(m² min), 24 · 60 minutes.
    const DAY_MJ_M2: f64 = 24.0 * 60.0 * 0.0820;
    let (sin_declination, cos_declination) = libm::sincos(declination_rad(day_of_year));
    let (sin_latitude, cos_latitude) = libm::sincos(latitude_deg.to_radians());
    let sunset = sunset_rad(latitude_deg, day_of_year);
    let level = sunset * sin_latitude * sin_declination + cos_latitude * cos_declination * libm::sin(sunset);
    DAY_MJ_M2 / PI * nearness(day_of_year) * level
}

/// Inverse square of the distance to the sun, in that of the mean one; equation 23.
pub(crate) fn nearness(day_of_year: i16) -> f64 {
    1.0 + 0.033 * libm::cos(TAU * f64::from(day_of_year) / 365.0)
}

/// Hours from sunrise to sunset, equation 34: 24 in the day of a pole, 0 in its night.
#[must_use]
pub fn daylight_h(latitude_deg: f64, day_of_year: i16) -> f64 {
    24.0 / PI * sunset_rad(latitude_deg, day_of_year)
}

/// Declination of the sun, radians; equation 24.
#[must_use]
pub fn declination_rad(day_of_year: i16) -> f64 {
    0.409 * libm::sin(TAU * f64::from(day_of_year) / 365.0 - 1.39)
}

/// Hour angle of sunset, radians; equation 25, held to 0 and pi where the sun does not rise or set.
#[must_use]
pub fn sunset_rad(latitude_deg: f64, day_of_year: i16) -> f64 {
    let cosine = -libm::tan(latitude_deg.to_radians()) * libm::tan(declination_rad(day_of_year));
    libm::acos(cosine.clamp(-1.0, 1.0))
}

/// Sun on level ground by hours of sunshine, equation 35 with the shares 0.25 and 0.5 of no better knowledge.
#[must_use]
pub fn sun_by_hours_mj_m2(sunshine_h: f64, place: &Place, day_of_year: i16) -> f64 {
    let daylight_h = daylight_h(place.latitude_deg, day_of_year);
    let share = if daylight_h > 0.0 { (sunshine_h / daylight_h).clamp(0.0, 1.0) } else { 0.0 };
    (0.25 + 0.5 * share) * sun_above_air_mj_m2(place.latitude_deg, day_of_year)
}

/// Where a place lies, as far as clouds and temperatures go together.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Coast {
    /// Air masses are of the land.
    Inland,
    /// On or near the coast of a large sea, whose air it has.
    Near,
}

/// Sun on level ground by temperatures: a clear day is warm and its night cold. Equation 50, of Hargreaves and Samani,
/// at most that of a clear sky.
#[must_use]
pub fn sun_by_temperatures_mj_m2(high_c: f64, low_c: f64, coast: Coast, place: &Place, day_of_year: i16) -> f64 {
    let coefficient = match coast {
        Coast::Inland => 0.16,
        Coast::Near => 0.19,
    };
    let sun = coefficient * root_of_range(high_c, low_c) * sun_above_air_mj_m2(place.latitude_deg, day_of_year);
    sun.min(clear_sun_mj_m2(place, day_of_year))
}

/// Sun on level ground under a clear sky, equation 37.
#[must_use]
pub fn clear_sun_mj_m2(place: &Place, day_of_year: i16) -> f64 {
    (0.75 + 2e-5 * place.elevation_m) * sun_above_air_mj_m2(place.latitude_deg, day_of_year)
}

/// Radiation that stays: the sun that is not thrown back less what the ground loses to the sky; equations 38 to 40.
#[must_use]
pub fn net_radiation_mj_m2(air: &FullAir, place: &Place, day_of_year: i16, albedo: f64) -> f64 {
    let clear = clear_sun_mj_m2(place, day_of_year);
    let clearness = if clear > 0.0 { air.sun_mj_m2 / clear } else { SUNLESS_CLEARNESS };
    let (_, vapour_kpa) = air.vapours_kpa();
    sun_kept_mj_m2(air.sun_mj_m2, albedo) - long_wave_loss_mj_m2(air.high_c, air.low_c, vapour_kpa, clearness)
}

/// Sun that is not thrown back, equation 38.
#[must_use]
pub fn sun_kept_mj_m2(sun_mj_m2: f64, albedo: f64) -> f64 {
    (1.0 - albedo) * sun_mj_m2
}

/// What the ground loses to the sky by heat radiation, equation 39; `clearness` is the sun over that of a clear sky,
/// held to 0.3 and 1.
#[must_use]
pub fn long_wave_loss_mj_m2(high_c: f64, low_c: f64, vapour_kpa: f64, clearness: f64) -> f64 {
    const STEFAN_BOLTZMANN_MJ_M2_K4: f64 = 4.903e-9;
    // 273.16 is the paper's.
    let fourth = |temp_c: f64| {
        let squared = (temp_c + 273.16) * (temp_c + 273.16);
        squared * squared
    };
    let black = STEFAN_BOLTZMANN_MJ_M2_K4 * 0.5 * (fourth(high_c) + fourth(low_c));
    let cloudless = 1.35 * clearness.clamp(LEAST_CLEARNESS, 1.0) - 0.35;
    black * (0.34 - 0.14 * vapour_kpa.sqrt()) * cloudless
}

/// Root of the day's range of temperature, none where high and low are the wrong way round.
fn root_of_range(high_c: f64, low_c: f64) -> f64 {
    (high_c - low_c).max(0.0).sqrt()
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn place(latitude_deg: f64) -> Place {
        Place { latitude_deg, longitude_deg: 0.0, elevation_m: 0.0, utc_offset_h: 0.0 }
    }

    const MILD: FullAir = FullAir { high_c: 5.0, low_c: -5.0, dew_point_c: -6.0, wind_m_s: 3.0, sun_mj_m2: 0.0 };

    #[test]
    fn exact_day_and_night_of_the_poles() {
        for (latitude_deg, summer, winter) in [(80.0, 172, 355), (90.0, 172, 355), (-80.0, 355, 172), (-90.0, 355, 172)]
        {
            let place = place(latitude_deg);
            assert_eq!((daylight_h(latitude_deg, summer), daylight_h(latitude_deg, winter)), (24.0, 0.0));
            assert!(sun_above_air_mj_m2(latitude_deg, summer) > 40.0);
            assert_eq!(
                (sun_above_air_mj_m2(latitude_deg, winter), sun_by_hours_mj_m2(0.0, &place, winter)),
                (0.0, 0.0)
            );
            // Without sun only the wind dries; the ground loses heat as on a night of half a clear sky.
            let loss = long_wave_loss_mj_m2(MILD.high_c, MILD.low_c, saturation_kpa(MILD.dew_point_c), 0.5);
            assert_eq!(net_radiation_mj_m2(&MILD, &place, winter, GRASS_ALBEDO), -loss);
            assert!(loss > 0.0 && penman_monteith_mm(&MILD, &place, winter, 0.0).is_finite());
        }
    }

    #[test]
    fn dew_point_above_the_air_is_saturated_air() {
        let (place, sunny) = (place(45.0), FullAir { sun_mj_m2: 15.0, ..MILD });
        let [wet, wetter] = [10.0, 20.0].map(|dew_point_c| FullAir { dew_point_c, ..sunny });
        let depth_mm = |air: &FullAir| penman_monteith_mm(air, &place, 100, 0.0);
        assert_eq!(depth_mm(&wet), depth_mm(&wetter));
        assert!(depth_mm(&wet) > 0.5 && depth_mm(&wet) < depth_mm(&sunny));
        assert_eq!(humidity(5.0, 10.0), 1.0);
    }

    #[test]
    fn clouds_are_held_to_what_there_is() {
        let loss = |clearness| long_wave_loss_mj_m2(20.0, 10.0, 1.0, clearness);
        assert_eq!((loss(0.1), loss(1.3)), (loss(0.3), loss(1.0)));
        assert!(loss(0.1) > 0.0);
    }

    #[test]
    fn never_less_than_nothing() {
        let clear = FullAir { wind_m_s: 0.0, sun_mj_m2: clear_sun_mj_m2(&place(60.0), 355), ..MILD };
        assert!(net_radiation_mj_m2(&clear, &place(60.0), 355, GRASS_ALBEDO) < -2.0);
        assert_eq!(penman_monteith_mm(&clear, &place(60.0), 355, 0.0), 0.0);
        assert_eq!(hargreaves_mm(-20.0, -40.0, &place(45.0), 100), 0.0);
        assert_eq!(hargreaves_mm(10.0, 20.0, &place(45.0), 100), 0.0);
        assert_eq!(sun_by_temperatures_mj_m2(10.0, 20.0, Coast::Near, &place(45.0), 100), 0.0);
    }

    #[test]
    fn exact_wind_at_two_metres_stays() {
        // ln(67.8 · 2 - 5.42) is 4.8689, the paper's 4.87.
        assert_eq!(wind_at_2_m(3.0, 2.0), 3.0);
        assert!((wind_at_2_m(3.0, 2.0001) / 3.0 - 1.0).abs() < 3e-4);
    }

    #[test]
    fn sun_is_at_most_that_of_a_clear_sky() {
        let clear = clear_sun_mj_m2(&place(45.0), 180);
        assert_eq!(sun_by_temperatures_mj_m2(40.0, 5.0, Coast::Near, &place(45.0), 180), clear);
        assert_eq!(sun_by_hours_mj_m2(20.0, &place(45.0), 180), sun_above_air_mj_m2(45.0, 180) * 0.75);
        let [inland, near] = [Coast::Inland, Coast::Near].map(|coast| {
            sun_by_temperatures_mj_m2(25.0, 16.0, coast, &place(45.0), 180) / sun_above_air_mj_m2(45.0, 180)
        });
        assert!((inland - 0.48).abs() < 1e-12 && (near - 0.57).abs() < 1e-12, "{inland} {near}");
    }

    proptest! {
        #[test]
        fn any_day_is_a_number(
            latitude_deg in -90.0..=90.0,
            day in 1..=366_i16,
            temps in (-60.0..60.0, 0.0..40.0),
            dew_point_c in -60.0..40.0,
            (wind_m_s, share) in (0.0..40.0, 0.0..1.2),
        ) {
            let place = place(latitude_deg);
            let sun_mj_m2 = share * sun_above_air_mj_m2(latitude_deg, day);
            let air = DayAir {
                high_c: temps.0,
                low_c: temps.0 - temps.1,
                dew_point_c: Some(dew_point_c),
                wind_m_s: Some(wind_m_s),
                sun_mj_m2: Some(sun_mj_m2),
            };
            let full = air.full().unwrap();
            prop_assert!(net_radiation_mj_m2(&full, &place, day, GRASS_ALBEDO).is_finite());
            for air in [air, DayAir { wind_m_s: None, ..air }] {
                let depth_mm = reference_mm(&air, &place, day);
                prop_assert!((0.0..100.0).contains(&depth_mm), "{depth_mm}");
            }
        }

        #[test]
        fn exact_dew_point_turns_saturation_round(temp_c in -60.0..60.0, share in 0.01..=1.0) {
            prop_assert!((dew_point_c(saturation_kpa(temp_c)) - temp_c).abs() < 1e-11);
            let dew_c = dew_point_of_humid_c(temp_c, share);
            prop_assert!((humidity(temp_c, dew_c) - share).abs() < 1e-12);
        }

        /// The slope of the paper is the curve's, to its four digits: 17.27 · 237.3 is 4098.2.
        #[test]
        fn exact_slope_is_the_derivative(temp_c in -40.0..60.0) {
            let slope = (saturation_kpa(temp_c + 1e-3) - saturation_kpa(temp_c - 1e-3)) / 2e-3;
            prop_assert!((saturation_slope_kpa_k(temp_c) / slope - 1.0).abs() < 6e-5);
        }
    }
}
