//! A typical meteorological year in the layout of TMY3: S. Wilcox and W. Marion, Users manual for TMY3 data sets,
//! NREL/TP-581-43156 (2008).
//!
//! The first line is the station, the second the header, then the hours of a year, month by month from different years. A
//! row's time is the end of its hour, local standard time.

use jiff::civil::Date;
use springhouse_table::{Column, Form, Header, Row, Rows, number, shortened};

use crate::evaporation::wind_at_2_m;
use crate::hour::Hour;
use crate::reading::{Station, Told, WeatherErrors, WeatherProblem as Problem};

const DATE: &str = "Date (MM/DD/YYYY)";
const TIME: &str = "Time (HH:MM)";
const AIR: &str = "Dry-bulb (C)";
const DEW_POINT: &str = "Dew-point (C)";
const WIND: &str = "Wspd (m/s)";
const SUN: &str = "GHI (W/m^2)";
const RAIN: &str = "Lprecip depth (mm)";
const RAIN_HOURS: &str = "Lprecip quantity (hr)";

const FORM: Form = Form {
    what: "a typical year",
    headers: "that of TMY3",
    accepted: "those of TMY3",
    columns: &[(DATE, ""), (TIME, ""), (AIR, ""), (DEW_POINT, ""), (WIND, ""), (SUN, ""), (RAIN, ""), (RAIN_HOURS, "")],
};

/// What stands where nothing was measured.
const MISSING: f64 = -9_900.0;

/// How high above the ground wind is measured.
const WIND_HEIGHT_M: f64 = 10.0;

/// More rain in an hour is not believed: in published files 193 to 255 stand where the sign of a byte was lost. A third of the
/// most known (305 mm, value from memory).
const MOST_RAIN_MM: f64 = 100.0;

/// Whether a row is the second line of such a file.
pub(crate) fn is_header(row: &Row<'_>) -> bool {
    row.has(DATE) && row.has(TIME)
}

/// Reads the first line: a number, the name, the state, hours from universal time, degrees north and east, metres.
pub(crate) fn station(row: &Row<'_>, errors: &mut WeatherErrors) -> Option<Station> {
    let mut field = |place: usize, name: &'static str, accepted: &'static str, least: f64, most: f64| {
        let text = row.fields().nth(place).unwrap_or_default();
        errors.keep(row.line, name, number(text, accepted, |value| (least..=most).contains(&value)))
    };
    let utc_offset_h = field(3, "hours from universal time", "a number of hours, -12 to 14", -12.0, 14.0);
    let latitude_deg = field(4, "latitude", "degrees north, -90 to 90", -90.0, 90.0);
    let longitude_deg = field(5, "longitude", "degrees east, -180 to 180", -180.0, 180.0);
    let elevation_m = field(6, "elevation", "metres above the sea, -450 to 9000", -450.0, 9_000.0);
    Some(Station {
        latitude_deg: latitude_deg?,
        longitude_deg: longitude_deg?,
        utc_offset_h: utc_offset_h?,
        elevation_m: elevation_m?,
    })
}

/// Reads all rows; `header` is the second line.
pub(crate) fn read(header: &Row<'_>, rows: Rows<'_>, errors: &mut WeatherErrors) -> Vec<Told> {
    let header = Header::pick(header, &FORM, errors);
    let mut need = |name| header.need(name, errors);
    let columns =
        (need(DATE), need(TIME), need(AIR), need(DEW_POINT), need(WIND), need(SUN), need(RAIN), need(RAIN_HOURS));
    let (Some(date), Some(time), Some(air), Some(dew_point), Some(wind), Some(sun), Some(rain), Some(rain_hours)) =
        columns
    else {
        return Vec::new();
    };
    let mut told = Vec::new();
    for row in rows {
        let row = match row {
            Ok(row) => row,
            Err((line, problem)) => {
                errors.push(Some(line), None, problem);
                continue;
            }
        };
        let day = errors.keep(row.line, DATE, day(row.field(date)));
        let hour = errors.keep(row.line, TIME, hour(row.field(time)));
        let mut value = |column: Column, accepted: &'static str, least: f64, most: f64| {
            let fits = |value: f64| value == MISSING || (least..=most).contains(&value);
            errors
                .keep(row.line, column.name, number(row.field(column), accepted, fits))
                .filter(|value| *value != MISSING)
        };
        let dew_point_c = value(dew_point, "a temperature in degrees Celsius, -90 to 40, or -9900", -90.0, 40.0);
        let wind_m_s = value(wind, "wind in metres a second, 0 to 100, or -9900", 0.0, 100.0);
        let sun_w_m2 = value(sun, "sun in watts a square metre, 0 to 1600, or -9900", 0.0, 1_600.0);
        let rain_mm = value(rain, "rain in millimetres, 0 to 1000, or -9900", 0.0, 1_000.0);
        let rain_h = value(rain_hours, "a number of hours, 0 to 99, or -9900", 0.0, 99.0);
        let accepted = "a temperature in degrees Celsius, -90 to 60";
        let fits = |value: f64| (-90.0..=60.0).contains(&value);
        let air_c = errors.keep(row.line, AIR, number(row.field(air), accepted, fits));
        if let (Some(day), Some(hour), Some(air_c)) = (day, hour, air_c) {
            let weather = Hour {
                air_c,
                dew_point_c,
                wind_m_s: wind_m_s.map(|wind| wind_at_2_m(wind, WIND_HEIGHT_M)),
                sun_w_m2,
                // Sums over more hours overlap with those of single ones.
                rain_mm: rain_mm.filter(|rain_mm| rain_h == Some(1.0) && *rain_mm <= MOST_RAIN_MM),
            };
            told.push((day, hour, weather));
        }
    }
    if told.is_empty() && errors.is_empty() {
        errors.push(None, None, Problem::TooFewRows { found: "no row" });
    }
    told
}

/// A date as `06/04/1997`.
fn day(text: &str) -> Result<Date, Problem> {
    let mut parts = text.split('/');
    let mut date = || {
        let month = parts.next()?.parse().ok()?;
        let day = parts.next()?.parse().ok()?;
        let year = parts.next()?.parse().ok()?;
        parts.next().is_none().then(|| Date::new(year, month, day).ok()).flatten()
    };
    date().ok_or_else(|| Problem::NotADate { found: shortened(text) })
}

/// The hour that ends at a time, counted from 0: `24:00` ends the 23rd.
fn hour(text: &str) -> Result<u8, Problem> {
    let ended = text.strip_suffix(":00").and_then(|hours| hours.parse::<u8>().ok());
    ended
        .filter(|ended| (1..=24).contains(ended))
        .map(|ended| ended - 1)
        .ok_or_else(|| Problem::NotAnHour { found: shortened(text) })
}
