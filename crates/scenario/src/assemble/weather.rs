//! The weather over the plant, how warm it makes the water, and what lies open under it.

use std::path::PathBuf;

use jiff::civil::Date;
use springhouse_core::pond::{Catchment, OpenWater};
use springhouse_core::quality::Quality;
use springhouse_core::water::COLDEST_C;
use springhouse_weather::evaporation::{SHALLOW_WATER_FACTOR, wind_at_2_m};
use springhouse_weather::ground::{town_water_c, well_water_c};
use springhouse_weather::{Month, Normals, Spread};

use super::{place, positive, refuse_several};
use crate::diagnostic::Diagnostic;
use crate::scenario::{SiteWeather, WeatherSource};
use crate::sections::{Pond, ScenarioFile, SupplyWord, WeatherMonth, WeatherSpread};
use crate::source::Stretch;
use crate::typed::{At, Reader};

/// No standard time is further from the sun's.
const MOST_OFF_H: f64 = 4.0;
/// Wind is measured this far above the ground or higher; under it no law of the wind holds.
const LOWEST_WIND_M: f64 = 0.5;

/// The weather of a scenario; `Some(None)` where it has none.
#[expect(clippy::option_option, reason = "a fault, no weather, and weather are three cases")]
pub(super) fn weather(file: &ScenarioFile, reader: &mut Reader<'_>) -> Option<Option<SiteWeather>> {
    let Some(at) = &file.weather else { return Some(None) };
    let (section, site) = (at.value.0.as_ref()?, file.site.0.as_ref()?);
    let given = [("file", place(section.file.as_ref())), ("months", place(section.months.as_ref()))];
    if refuse_several("weather", &given, reader) {
        return None;
    }
    let given = [("months", place(section.months.as_ref())), ("rain", place(section.rain.as_ref()))];
    if refuse_several("weather", &given, reader) {
        return None;
    }
    let wind_height_m = section.wind_height.value.m();
    if wind_height_m < LOWEST_WIND_M {
        let label = "0.5 m (1.6 ft) or more";
        reader.tell(Diagnostic::error("`wind_height` is too low").at(section.wind_height.place, label));
        return None;
    }
    let source = match (&section.file, &section.months) {
        (Some(file), _) => WeatherSource::File {
            file: PathBuf::from(&file.value.0),
            repeat: section.repeat.value,
            wind_height_m,
            rain: section.rain.as_ref().map(|rain| PathBuf::from(&rain.value.0)),
        },
        (None, Some(months)) => {
            let Some(latitude) = site.latitude else {
                reader.tell(
                    Diagnostic::error("`weather` from `months` needs `latitude` of `site`")
                        .at(months.place, "how long the days are follows from it")
                        .help("write `latitude = 43.5` in the section `site`: degrees north, negative in the south"),
                );
                return None;
            };
            let spread = spread(&section.spread);
            let normals = normals(months, wind_height_m, reader)?;
            if !told(&normals, &spread, (latitude.value.0, months), reader) {
                return None;
            }
            WeatherSource::Normals { normals: Box::new(normals), spread }
        }
        (None, None) => {
            reader.tell(
                Diagnostic::error("`weather` says nothing of the weather")
                    .at(at.place, "neither `file` nor `months`")
                    .help("name a CSV as `file`, or give the normals of the twelve `months`"),
            );
            return None;
        }
    };
    if let (Some(longitude), Some(offset)) = (site.longitude, site.utc_offset)
        && (longitude.value.0 / 15.0 - offset.value.0).abs() > MOST_OFF_H
    {
        reader.tell(
            Diagnostic::error("`longitude` and `utc_offset` do not belong together")
                .at(offset.place, format!("the sun is {:.1} hours ahead there", longitude.value.0 / 15.0))
                .at(longitude.place, "degrees east; west is negative")
                .help("leave one of them out, or give the offset of local standard time"),
        );
        return None;
    }
    Some(Some(SiteWeather {
        latitude_deg: site.latitude.map(|it| it.value.0),
        longitude_deg: site.longitude.map(|it| it.value.0),
        utc_offset_h: site.utc_offset.map(|it| it.value.0),
        elevation_m: site.altitude.value.m(),
        source,
        follows: SupplyWord::of(file).into_iter().map(|word| follows(word, file)).collect(),
    }))
}

fn spread(section: &WeatherSpread) -> Spread {
    Spread {
        wet_persistence: section.wet_persistence.value.0,
        air_deviation_k: section.air_deviation.value.k(),
        air_persistence: section.air_persistence.value.0,
        sky_persistence: section.sky_persistence.value.0,
        year_cv: section.year_spread.value.of_one(),
    }
}

fn normals(months: &At<Vec<At<WeatherMonth>>>, wind_height_m: f64, reader: &mut Reader<'_>) -> Option<Normals> {
    let read: Vec<_> = months.value.iter().map(|month| month_of(&month.value, wind_height_m)).collect();
    let found = read.len();
    let Ok(months_of_year) = <[Month; 12]>::try_from(read) else {
        reader.tell(
            Diagnostic::error(format!("`months` has {found} entries, but a year has 12 months"))
                .at(months.place, "January first, December last"),
        );
        return None;
    };
    Some(Normals { months: months_of_year })
}

fn month_of(month: &WeatherMonth, wind_height_m: f64) -> Month {
    Month {
        high_c: month.high.value.c(),
        low_c: month.low.value.c(),
        rain_mm: 1e3 * month.rain.value.m(),
        wet_days: month.wet_days.value.0,
        dew_point_c: month.dew_point.map(|dew| dew.value.c()),
        wind_m_s: month.wind.map(|wind| wind_at_2_m(wind.value.m_s(), wind_height_m)),
        sun_mj_m2_day: month.sun.map(|sun| sun.value.mj_m2()),
    }
}

/// Tells what is wrong with normals; whether nothing is.
fn told(
    normals: &Normals,
    spread: &Spread,
    (latitude_deg, months): (f64, &At<Vec<At<WeatherMonth>>>),
    reader: &mut Reader<'_>,
) -> bool {
    let faults = normals.faults(spread, latitude_deg);
    for fault in &faults {
        let month = fault.month().and_then(|index| months.value.get(index));
        let place = month.map_or(months.place, |month| month.place);
        let of = if fault.is_of_the_spread() { "of `weather.spread`" } else { "of `weather`" };
        reader.tell(Diagnostic::error(fault.to_string()).at(place, of));
    }
    let sunny = faults.iter().filter(|fault| fault.month().is_some() && fault.to_string().contains("sun in")).count();
    if sunny > 1 {
        reader.tell(
            Diagnostic::error("several months have more sun than falls there")
                .at(months.place, "for the latitude that is given")
                .help("see whether `latitude` of `site` has the right sign: south of the equator it is negative"),
        );
    }
    faults.is_empty()
}

/// What a supply's section says of its water's temperature.
fn given_c(word: SupplyWord, file: &ScenarioFile) -> Option<f64> {
    let given = match word {
        SupplyWord::Well => file.well.as_ref()?.value.0.as_ref()?.water.temperature,
        SupplyWord::SecondWell => file.second_well.as_ref()?.value.0.as_ref()?.water.temperature,
        SupplyWord::Cistern => file.cistern.as_ref()?.value.0.as_ref()?.water.temperature,
        SupplyWord::Pond => file.pond.as_ref()?.value.0.as_ref()?.water.temperature,
        SupplyWord::TownLine => file.town_line.as_ref()?.value.0.as_ref()?.water.temperature,
    };
    given.map(|given| given.value.c())
}

fn follows(word: SupplyWord, file: &ScenarioFile) -> bool {
    word != SupplyWord::Cistern && given_c(word, file).is_none()
}

/// Temperature of a supply's water when the run starts.
pub(super) fn supply_c(word: SupplyWord, file: &ScenarioFile, weather: Option<&SiteWeather>) -> Option<f64> {
    let by_weather = || {
        let weather = weather?;
        let WeatherSource::Normals { normals, .. } = &weather.source else { return None };
        let start = file.start.value.0?;
        let air = normals.air_of_year(weather.latitude_deg.unwrap_or(0.0));
        Some(match word {
            // A cistern stands in the ground, or in a cellar.
            SupplyWord::Well | SupplyWord::SecondWell | SupplyWord::Cistern => well_water_c(air.mean_c),
            SupplyWord::TownLine => town_water_c(&air, start.day_of_year()),
            SupplyWord::Pond => month_c(normals, start).max(COLDEST_C),
        })
    };
    let feed = file.membrane.as_ref().and_then(|membrane| membrane.value.0.as_ref()?.temperature);
    let site_c = file.site.0.as_ref()?.water_temperature.value.c();
    let otherwise = || feed.map_or(site_c, |feed| feed.value.c());
    Some(given_c(word, file).or_else(by_weather).unwrap_or_else(otherwise))
}

/// Temperature of a well's water at the normals of a place, where they are given.
pub(super) fn well_c(weather: Option<&SiteWeather>) -> Option<f64> {
    match &weather?.source {
        WeatherSource::Normals { normals, .. } => Some(well_water_c(normals.mean_air_c())),
        WeatherSource::File { .. } => None,
    }
}

fn month_c(normals: &Normals, day: Date) -> f64 {
    let month = usize::from(day.month().unsigned_abs()).saturating_sub(1);
    normals.months.get(month).map_or(0.0, |month| 0.5 * (month.high_c + month.low_c))
}

/// What is typed of a pond that goes with weather only.
fn weather_keys(section: &Pond) -> [(&'static str, Option<Stretch>); 5] {
    [
        ("catchment", section.catchment.as_ref().map(|at| at.place)),
        ("evaporation", section.evaporation.map(|at| at.place)),
        ("seepage", section.seepage.map(|at| at.place)),
        ("settling", section.settling.map(|at| at.place)),
        ("clearest", section.clearest.map(|at| at.place)),
    ]
}

/// How a pond lies open to the weather; `Some(None)` where nothing is known of that.
#[expect(clippy::option_option, reason = "a fault, no weather, and weather are three cases")]
pub(super) fn open_water(
    section: &Pond,
    quality: &Quality,
    has_weather: bool,
    reader: &mut Reader<'_>,
) -> Option<Option<OpenWater>> {
    if !has_weather {
        let typed = weather_keys(section).into_iter().find_map(|(key, place)| Some((key, place?)));
        if let Some((key, place)) = typed {
            reader.tell(
                Diagnostic::error(format!("`{key}` of a pond goes with the weather, and there is none"))
                    .at(place, "no section `weather`")
                    .help("add the section `weather` with the normals of the place, or leave this out"),
            );
            return None;
        }
        return Some(None);
    }
    let catchment = match &section.catchment {
        Some(at) => {
            let area = &at.value.area;
            positive("area", area.value.m2(), area.place, reader)?;
            Some(Catchment {
                area_m2: area.value.m2(),
                curve_number: at.value.curve_number.value.0,
                quality: at.value.water.quality(None),
            })
        }
        None => None,
    };
    Some(Some(OpenWater {
        catchment,
        evaporation_factor: section.evaporation.map_or(USUAL_EVAPORATION, |at| at.value.0),
        seepage_mm_day: section.seepage.map_or(USUAL_SEEPAGE_MM_DAY, |at| at.value.mm_day()),
        settling_m_day: section.settling.map_or(USUAL_SETTLING_M_DAY, |at| 1e-3 * at.value.mm_day()),
        clearest_mg_l: section.clearest.map_or(USUAL_CLEAREST_MG_L.min(quality.solids_mg_l), |at| at.value.mg_l()),
    }))
}

/// FAO-56, table 12: open water less than 2 m deep, or in a humid climate.
const USUAL_EVAPORATION: f64 = SHALLOW_WATER_FACTOR;
/// Within what is told of clay (FAO, "Simple methods for aquaculture", soil: 1.25 to 10 mm a day; value from memory).
const USUAL_SEEPAGE_MM_DAY: f64 = 2.0;
/// Between fine silt and clay in still water. Our own choice.
const USUAL_SETTLING_M_DAY: f64 = 0.3;
const USUAL_CLEAREST_MG_L: f64 = 5.0;

/// `m` of a pond: as typed, or so that its surface has the area when full.
pub(super) fn shape(section: &Pond, reader: &mut Reader<'_>) -> Option<f64> {
    let given = [("shape", place(Some(&section.shape))), ("area", place(section.area.as_ref()))];
    if refuse_several("pond", &given, reader) {
        return None;
    }
    let Some(area) = &section.area else { return Some(section.shape.value.0) };
    let (volume_m3, depth_m) = (1e-3 * section.volume.value.l(), section.depth.value.m());
    let shape = area.value.m2() * depth_m / volume_m3;
    if (1.0..=10.0).contains(&shape) {
        return Some(shape);
    }
    let label =
        if shape < 1.0 { "too small: walls would lean inwards" } else { "too large: hardly any of it is so deep" };
    reader.tell(
        Diagnostic::error("`area` does not go with `volume` and `depth` of the pond")
            .at(area.place, label)
            .at(section.volume.place, format!("over the depth, {:.0} m2", volume_m3 / depth_m))
            .help("a pond's area is between once and ten times its volume over its depth, a trench's twice, a cone's thrice"),
    );
    None
}

/// Tells of a roof or rain sensor that has neither a file of rain nor weather; whether it has.
pub(super) fn has_rain(file: &ScenarioFile, has_file: bool, at: Stretch, reader: &mut Reader<'_>) -> bool {
    let known = has_file || file.weather.is_some();
    if !known {
        reader.tell(
            Diagnostic::error("`rain` is missing, and there is no `weather`")
                .at(at, "no rain is known here")
                .help("name a CSV of rain, as `rain = \"rain.csv\"`, or add the section `weather`"),
        );
    }
    known
}
