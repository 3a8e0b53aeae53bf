//! The weather over a scenario's plant, made part of a run.

use jiff::ToSpan;
use jiff::civil::Date;
use springhouse_core::incident::TempStep;
use springhouse_core::roof::RainStep;
use springhouse_core::supply::Source;
use springhouse_core::time::{Span, Time};
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

/// Days of weather by chance ahead of a run, for what a rain sensor has seen before.
const DAYS_AHEAD: u32 = 2;

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

    /// The rain.
    #[must_use]
    pub fn rain(&self) -> Vec<RainStep> {
        self.weather.rain()
    }

    /// Has a run meet the weather, as far as it reaches; whether it reaches to the end.
    pub fn meet(&self, scenario: &Scenario, options: &mut RunOptions) -> bool {
        let Some(hours) = self.weather.over(&self.place, options.first_day, options.days) else { return false };
        options.weather = hours;
        options.temps = self.temps(scenario, options.first_day, options.days);
        true
    }

    /// How warm the ground makes the water of the supplies that follow the weather: wells always, mains day by day.
    fn temps(&self, scenario: &Scenario, first_day: Date, days: u32) -> Vec<TempStep> {
        let (Some(year), Some(site)) = (&self.year, &scenario.weather) else { return Vec::new() };
        let follows = |supply: usize| site.follows.get(supply).copied().unwrap_or(false);
        let mut temps = Vec::new();
        for day in 0..i64::from(days) {
            let day_of_year = first_day.saturating_add(day.days()).day_of_year();
            for (supply, each) in scenario.plant.supplies.iter().enumerate().filter(|(supply, _)| follows(*supply)) {
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
