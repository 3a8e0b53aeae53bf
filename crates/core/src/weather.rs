//! The weather of an hour, as open water meets it.

use serde::{Deserialize, Serialize};

/// The weather of one hour. All of it holds from the hour's start to its end.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct WeatherHour {
    /// Temperature of the air.
    pub air_c: f64,
    /// Its dew point.
    pub dew_point_c: f64,
    /// Wind at 2 m above the ground.
    pub wind_m_s: f64,
    /// Mean global radiation of the sun on the horizontal.
    pub sun_w_m2: f64,
    /// Part of the sky under cloud, 0 to 1.
    pub cloud: f64,
    /// Rain, or the water of snow, that falls in it.
    pub rain_mm: f64,
    /// Evaporation of the reference crop in it (FAO-56).
    pub evaporation_mm: f64,
}

impl WeatherHour {
    /// Whether all of it is in the range that is known on Earth, with some room.
    #[must_use]
    pub fn is_sound(&self) -> bool {
        let temps = [self.air_c, self.dew_point_c].iter().all(|temp_c| (-100.0..=70.0).contains(temp_c));
        let rates = [self.wind_m_s, self.sun_w_m2, self.rain_mm, self.evaporation_mm];
        temps && rates.iter().all(|rate| (0.0..=2_000.0).contains(rate)) && (0.0..=1.0).contains(&self.cloud)
    }
}
