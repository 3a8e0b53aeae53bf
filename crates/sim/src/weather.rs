//! The weather over a scenario's plant, made part of a run.

use jiff::ToSpan;
use jiff::civil::Date;
use springhouse_core::incident::TempStep;
use springhouse_core::pond::{PondState, temp_after_hour_c};
use springhouse_core::roof::RainStep;
use springhouse_core::supply::{Source, Supply};
use springhouse_core::time::{Span, Time};
use springhouse_core::weather::WeatherHour;
use springhouse_scenario::{Scenario, WeatherSource};
use springhouse_weather::ground::{AirOfYear, town_water_c, well_water_c};
use springhouse_weather::{Fault, Place, Weather, generate};

use crate::RunOptions;

/// The weather of a run.
#[derive(Clone, Debug, PartialEq)]
pub struct SiteAir {
    /// Where the plant stands.
    pub place: Place,
    /// The hours of the run, and perhaps some before it.
    pub weather: Weather,
    /// The year of the air there; `None` where less than a year is known of it.
    pub year: Option<AirOfYear>,
}

/// Days of weather by chance ahead of a run: what a rain sensor has seen before, and what has warmed a pond.
const DAYS_AHEAD: u32 = 30;

/// Snow on a roof melts as that on land does: 0.06 in for a degree Fahrenheit and day (NRCS, NEH 630, chapter 11; value from
/// memory).
const MELT_MM_H_C: f64 = 0.06 * 25.4 * 1.8 / 24.0;

impl SiteAir {
    /// Weather by chance around the normals that a scenario has; `None` where it has none.
    ///
    /// # Errors
    /// What is wrong with the normals; those of a loaded scenario are sound.
    pub fn by_chance(scenario: &Scenario, options: &RunOptions) -> Result<Option<Self>, Vec<Fault>> {
        let Some(site) = &scenario.weather else { return Ok(None) };
        let WeatherSource::Normals { normals, spread } = &site.source else { return Ok(None) };
        let Some(place) = site.place(None) else { return Ok(None) };
        let first_day = options.first_day.saturating_sub(i64::from(DAYS_AHEAD).days());
        let days = options.days.saturating_add(DAYS_AHEAD);
        let mut weather = generate(normals, spread, place.latitude_deg, first_day, days, options.seed, options.run)?;
        weather.start = weather.start - Span::from_ns(i64::from(DAYS_AHEAD) * Span::DAY.ns());
        let year = normals.air_of_year(place.latitude_deg);
        Ok(Some(Self { place, weather, year: Some(year) }))
    }

    /// The rain, and the water of snow as it melts off a roof.
    #[must_use]
    pub fn rain(&self) -> Vec<RainStep> {
        let mut snow_mm = 0.0;
        let mut rain = self.weather.rain();
        for (step, hour) in rain.iter_mut().zip(&self.weather.hours) {
            if hour.air_c > 0.0 {
                let melts_mm = f64::min(MELT_MM_H_C * hour.air_c, snow_mm);
                snow_mm -= melts_mm;
                step.depth_mm += melts_mm;
            } else {
                snow_mm += step.depth_mm;
                step.depth_mm = 0.0;
            }
        }
        rain
    }

    /// Has a run meet the weather; `false`, and nothing done, where it does not reach to the end.
    #[must_use]
    pub fn meet(&self, scenario: &Scenario, options: &mut RunOptions) -> bool {
        let Some(hours) = self.weather.over(&self.place, options.first_day, options.days) else { return false };
        options.weather = hours;
        options.temps = self.ponds(scenario, options.first_day);
        options.temps.extend(self.temps(scenario, options.first_day, options.days));
        true
    }

    /// How warm the water of ponds is as the run begins: as the weather before it has made it, from the air of then.
    fn ponds(&self, scenario: &Scenario, first_day: Date) -> Vec<TempStep> {
        let supplies = scenario.plant.supplies.iter().enumerate().filter(|(supply, _)| follows(scenario, *supply));
        let pond = |(supply, each): (usize, &Supply)| {
            let basin = each.source.basin().filter(|basin| basin.open.is_some())?;
            let depth_m = basin.mean_depth_m(basin.start_l);
            let ahead = self.weather.ahead(&self.place, first_day);
            let first_c = self.weather.hours.iter().take(24).map(|hour| hour.air_c).sum::<f64>() / 24.0;
            let mut ice = PondState::default();
            let warmed = |temp_c, hour: &WeatherHour| temp_after_hour_c(depth_m, temp_c, &mut ice, hour);
            let temp_c = ahead.iter().fold(first_c.max(0.0), warmed);
            Some(TempStep { time: Time::ZERO, supply, temp_c })
        };
        supplies.filter_map(pond).collect()
    }

    /// How warm the ground makes the water of the supplies that follow the weather: wells always, mains day by day.
    fn temps(&self, scenario: &Scenario, first_day: Date, days: u32) -> Vec<TempStep> {
        let Some(year) = &self.year else { return Vec::new() };
        let mut temps = Vec::new();
        for day in 0..i64::from(days) {
            let day_of_year = first_day.saturating_add(day.days()).day_of_year();
            for (supply, each) in
                scenario.plant.supplies.iter().enumerate().filter(|(supply, _)| follows(scenario, *supply))
            {
                let temp_c = match each.source {
                    Source::Well { .. } if day == 0 => well_water_c(year.mean_c),
                    Source::TownLine(_) => town_water_c(year, day_of_year),
                    Source::Well { .. } | Source::Basin { .. } => continue,
                };
                temps.push(TempStep { time: Time::from_day(day), supply, temp_c });
            }
        }
        temps
    }
}

/// Whether a supply's water is as warm as ground and air make it.
fn follows(scenario: &Scenario, supply: usize) -> bool {
    scenario.weather.as_ref().is_some_and(|site| site.follows.get(supply).copied().unwrap_or(false))
}
