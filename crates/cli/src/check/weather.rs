//! The weather, and what it makes of open water.

use springhouse_core::basin::Basin;
use springhouse_core::pond::runoff_mm;
use springhouse_scenario::{Scenario, Units, WeatherSource};
use springhouse_weather::ground::well_water_c;

use super::{Said, row};

/// A heavy rain, by which a catchment is described: 3 in, about 75 mm, in a day.
const HEAVY_MM: f64 = 76.2;
const HEAVY_ROUND_MM: f64 = 75.0;

pub(super) fn weather(scenario: &Scenario, units: Units) -> Option<Said> {
    let weather = scenario.weather.as_ref()?;
    let said = match &weather.source {
        WeatherSource::File { file, repeat, .. } => {
            let years = if *repeat { "the same every year" } else { "as dated" };
            format!("from {}, {years}", file.display())
        }
        WeatherSource::Normals { normals, .. } => {
            let sum = |of: fn(&springhouse_weather::Month) -> f64| normals.months.iter().map(of).sum::<f64>();
            let dry = if normals.months.iter().any(|month| month.dew_point_c.is_none()) {
                "; without dew points the day's low stands for them, which in dry country makes ponds too warm"
            } else {
                ""
            };
            let air = normals.air_of_year(weather.latitude_deg.unwrap_or(0.0));
            format!(
                "by chance around normals: {} of rain a year on {:.0} days, air {} in the mean; that makes a well's water {}{dry}",
                units.depth_mm(sum(|month| month.rain_mm)),
                sum(|month| month.wet_days),
                units.temperature(air.mean_c),
                units.temperature(well_water_c(air.mean_c)),
            )
        }
    };
    Some(row("Weather", said))
}

/// How a basin lies open to it.
pub(super) fn open_water(basin: &Basin, units: Units) -> Vec<Said> {
    let Some(open) = &basin.open else { return Vec::new() };
    let full_m2 = basin.area_m2(basin.capacity_l);
    let mut rows = vec![row(
        "",
        format!(
            "{} of surface when full: {} of water off it are {}; {} a day seep away then",
            units.area(full_m2),
            units.depth_mm(one_depth_mm(units)),
            units.volume(full_m2 * one_depth_mm(units)),
            units.volume(full_m2 * open.seepage_mm_day),
        ),
    )];
    if let Some(catchment) = &open.catchment {
        let heavy_mm = if units == Units::Us { HEAVY_MM } else { HEAVY_ROUND_MM };
        let runs_off_mm = runoff_mm(heavy_mm, catchment.curve_number);
        rows.push(row(
            "",
            format!(
                "{} drain into it: of {} of rain in a day {} run off, {}",
                units.area(catchment.area_m2),
                units.depth_mm(heavy_mm),
                units.depth_mm(runs_off_mm),
                units.volume(runs_off_mm * catchment.area_m2),
            ),
        ));
    }
    rows
}

/// A depth that says something of a surface: an inch, or 10 mm.
fn one_depth_mm(units: Units) -> f64 {
    if units == Units::Us { 25.4 } else { 10.0 }
}
