//! How cold the water is that comes out of the ground.

/// The coldest that water comes out of the ground: it moves, and pipes lie below the frost. Our own choice.
pub const COLDEST_WATER_C: f64 = 0.5;

/// Water of a private well, by the mean of the air over a year; the same all year.
///
/// W. D. Collins, "Temperature of water available for industrial use in the United States", U.S. Geological Survey
/// Water-Supply Paper 520-F (1925): from 10 to 25 m down 1 to 2 °C above the mean of the air (value from memory). The
/// middle is taken, held to [`COLDEST_WATER_C`]. Shallower water follows the season, deeper water is about 1 °C warmer
/// every 30 to 40 m (common knowledge, no source).
#[must_use]
pub fn well_water_c(mean_air_c: f64) -> f64 {
    (mean_air_c + 1.5).max(COLDEST_WATER_C)
}

/// The air of a place over a year, as far as pipes in the ground feel it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct AirOfYear {
    /// Mean of the year.
    pub mean_c: f64,
    /// Mean of the warmest month less mean of the coldest, kelvin.
    pub range_k: f64,
    /// Whether January is in summer.
    pub southern: bool,
}

/// Water from a town's mains where it enters the house, on a day of the year from 1.
///
/// J. Burch and C. Christensen, "Towards development of an algorithm for mains water temperature" (American Solar
/// Energy Society, 2007), in the full form of Hendron et al., "Development of an energy savings benchmark for all
/// residential end-uses" (IBPSA-USA conference, 2004; form from memory), in °F and degrees of arc:
///
/// ```text
/// T = (Ta + 6) + (0.4 + 0.01 (Ta - 44)) (range / 2) sin(0.986 (day - 15 - (35 - (Ta - 44))) - 90)
/// ```
///
/// A fit to towns of the United States, most of which draw on surface water. South of the equator the year is shifted
/// by half. Water is held to [`COLDEST_WATER_C`], which it is all year where the formula would swing backwards, below 4
/// °F.
#[must_use]
pub fn town_water_c(air: &AirOfYear, day_of_year: i16) -> f64 {
    const HALF_YEAR: f64 = 182.5;
    let mean_f = 1.8 * air.mean_c + 32.0;
    let above_f = mean_f - 44.0;
    let swing_f = (0.4 + 0.01 * above_f) * 0.5 * 1.8 * air.range_k;
    let northern_day = f64::from(day_of_year) + if air.southern { HALF_YEAR } else { 0.0 };
    let angle_deg = 0.986 * (northern_day - 15.0 - (35.0 - above_f)) - 90.0;
    let water_f = mean_f + 6.0 + swing_f * libm::sin(angle_deg.to_radians());
    ((water_f - 32.0) / 1.8).max(COLDEST_WATER_C)
}
