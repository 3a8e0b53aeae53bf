//! The weather of a run: from the file that the scenario names, or by chance around its normals.

use std::fs::File;
use std::path::Path;

use jiff::civil::date;
use springhouse_scenario::{Scenario, WeatherSource};
use springhouse_sim::{RunOptions, SiteAir};
use springhouse_weather::ground::AirOfYear;
use springhouse_weather::{Reading, Repeat, Wanted, Weather, read_weather};

use crate::fault::Fault;
use crate::logs::Rain;

/// The weather over a scenario's plant; `None` where it tells of none. And what somebody should look at.
pub(crate) fn over(
    scenario: &Scenario,
    scenario_file: &Path,
    options: &RunOptions,
) -> Result<(Option<SiteAir>, Vec<String>), Fault> {
    let Some(site) = &scenario.weather else { return Ok((None, Vec::new())) };
    let WeatherSource::File { file, repeat, wind_height_m, rain } = &site.source else {
        let by_chance = SiteAir::by_chance(scenario, options).map_err(|faults| {
            let told: Vec<_> = faults.iter().map(|fault| format!("error: {fault}")).collect();
            Fault::Bad(told.join("\n"))
        })?;
        return Ok((by_chance, Vec::new()));
    };
    let folder = scenario_file.parent().unwrap_or(Path::new(""));
    let path = folder.join(file);
    let name = path.display().to_string();
    let read = |wanted: &Wanted| {
        let open = File::open(&path)
            .map_err(|error| Fault::Bad(format!("error: the weather in {name} cannot be read: {error}")))?;
        read_weather(open, &name, wanted).map_err(|errors| Fault::Bad(errors.to_string()))
    };
    let repeat = if *repeat { Repeat::Yearly } else { Repeat::No };
    let (first_day, days, wind_height_m) = (options.first_day, options.days, *wind_height_m);
    let Reading { mut weather, station } = read(&Wanted { first_day, days, repeat, wind_height_m })?;
    let Some(place) = site.place(station.as_ref()) else {
        return Err(Fault::Bad(format!(
            "error: where the weather of {name} was measured is not known\nhelp: write `latitude = 43.5` in the section \
             `site` of {}: degrees north, negative in the south",
            scenario_file.display()
        )));
    };
    // Whether the record has a whole year is asked of the record itself.
    let new_year = date(2027, 1, 1);
    let whole = Wanted { first_day: new_year, days: 365, repeat: Repeat::Yearly, wind_height_m };
    let year = read(&whole).ok().and_then(|year| AirOfYear::of(&year.weather, new_year, place.latitude_deg < 0.0));
    let mut warnings = Vec::new();
    if let Some(rain) = rain {
        let own = Rain { folder, air: None, first_day, days };
        let (steps, warning) = own.steps(Some(rain))?;
        weather.set_rain(&steps);
        warnings.extend(warning);
    } else {
        refuse_drought(&name, &weather, scenario)?;
    }
    warnings.extend(lacking(&name, &weather.lacking()));
    if year.is_none() && site.follows.contains(&true) {
        warnings.push(format!(
            "warning: {name} has less than a year, so wells and mains keep the temperature that the scenario gives them"
        ));
    }
    Ok((Some(SiteAir { place, weather, year }), warnings))
}

/// Refuses a record with next to no measurement of rain where open water, a roof or a rain sensor goes by it.
fn refuse_drought(name: &str, weather: &Weather, scenario: &Scenario) -> Result<(), Fault> {
    let wanted = scenario.plant.supplies.iter().any(|supply| supply.source.is_open())
        || scenario.rain.iter().any(|rain| rain.file.is_none())
        || scenario.rain_skips.iter().any(|skip| skip.file.is_none());
    let (lacking, hours) = (weather.lacking().rain, weather.hours.len());
    if !wanted || lacking <= hours / MOST_LACKING {
        return Ok(());
    }
    Err(Fault::Bad(format!(
        "error: {name} has no rain in {lacking} of {hours} hours of the run, and it is needed\nhelp: name a record of rain in \
         the section `weather`, as `rain = \"rain.csv\"`"
    )))
}

/// A record in which one hour in so many lacks its rain is no record of rain.
const MOST_LACKING: usize = 10;

/// What is said of hours in which something was not measured.
fn lacking(name: &str, lacking: &springhouse_weather::Lacking) -> Vec<String> {
    let told = [
        ("dew point or humidity", lacking.dew_point, "the day's low stands for it"),
        ("wind", lacking.wind, "2 m/s stand for it"),
        ("sun", lacking.sun, "it follows from the day's range of temperature"),
        ("rain", lacking.rain, "these hours count as dry"),
    ];
    let told = told.into_iter().filter(|(_, hours, _)| *hours > 0);
    told.map(|(what, hours, stands)| format!("warning: {name} lacks {what} in {hours} hours of the run: {stands}"))
        .collect()
}
