//! The figures of the weather.

use serde::Serialize;
use springhouse_core::weather::WeatherHour;

/// The weather of the run.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct WeatherSummary {
    /// Rain, and the water of snow.
    pub rain_mm: f64,
    /// Days with a millimetre or more.
    pub wet_days: u64,
    /// Evaporation of the reference crop.
    pub reference_evaporation_mm: f64,
    /// Mean temperature of the air,
    pub mean_air_c: f64,
    /// its coldest hour
    pub coldest_c: f64,
    /// and its warmest.
    pub warmest_c: f64,
}

/// Rain from which a day counts as wet (World Meteorological Organization, climatological normals: 1 mm; value from memory).
const WET_MM: f64 = 1.0;

impl WeatherSummary {
    /// Of so many days; `None` where nothing is known of the weather.
    pub(super) fn of(hours: &[WeatherHour], days: u32) -> Option<Self> {
        let within = usize::try_from(days).unwrap_or(usize::MAX).saturating_mul(24);
        let hours = &hours[..within.min(hours.len())];
        let count = u32::try_from(hours.len()).ok().filter(|count| *count > 0)?;
        let airs = || hours.iter().map(|hour| hour.air_c);
        let rain_mm = |hours: &[WeatherHour]| hours.iter().map(|hour| hour.rain_mm).sum::<f64>();
        let wet_days = hours.chunks(24).filter(|day| rain_mm(day) >= WET_MM).fold(0, |count, _| count + 1);
        Some(Self {
            rain_mm: rain_mm(hours),
            wet_days,
            reference_evaporation_mm: hours.iter().map(|hour| hour.evaporation_mm).sum(),
            mean_air_c: airs().sum::<f64>() / f64::from(count),
            coldest_c: airs().fold(f64::INFINITY, f64::min),
            warmest_c: airs().fold(f64::NEG_INFINITY, f64::max),
        })
    }
}
