//! A record of weather in the project's own layout: each row holds from its time until the time of the next.
//!
//! A table headed `time,air_c` with more columns if they were measured, its rows in order of time. The last row's interval is
//! as long as the one before.

use jiff::ToSpan;
use jiff::civil::Date;
use springhouse_core::time::{Span, Time};
use springhouse_table::{Column, Form, Header, Row, Rows, number, shortened, time};

use crate::evaporation::{dew_point_of_humid_c, wind_at_2_m};
use crate::hour::Hour;
use crate::reading::{Told, Wanted, WeatherErrors, WeatherProblem as Problem};

#[cfg(test)]
mod tests;

/// The longest interval of a row in hours: in longer ones highs and lows are lost, and with them evaporation.
pub const MOST_INTERVAL_H: i64 = 3;

/// How far a dew point may lie above the air: two gauges, each good to a degree.
pub(crate) const MOST_ABOVE_AIR_C: f64 = 2.0;

const LONGEST: Span = Span::from_ns(MOST_INTERVAL_H * Span::HOUR.ns());

const FORM: Form = Form {
    what: "a record of weather",
    headers: "`time,air_c` with any of `dew_point_c`, `wind_m_s`, `sun_w_m2` and `rain_mm`",
    accepted: "`time`, one of `air_c` and `air_f`, and where they were measured one of `dew_point_c`, `dew_point_f` and \
               `humidity_percent`, one of `wind_m_s` and `wind_mph`, `sun_w_m2`, one of `rain_mm` and `rain_in`",
    columns: &[
        ("time", ""),
        ("air_c", "degrees Celsius"),
        ("air_f", "degrees Fahrenheit"),
        ("dew_point_c", "degrees Celsius"),
        ("dew_point_f", "degrees Fahrenheit"),
        ("humidity_percent", "per cent"),
        ("wind_m_s", "metres a second"),
        ("wind_mph", "miles an hour"),
        ("sun_w_m2", "watts a square metre"),
        ("rain_mm", "millimetres"),
        ("rain_in", "inches"),
    ],
};

/// What a column's numbers are in.
#[derive(Clone, Copy)]
struct Unit {
    /// What is accepted, and between which numbers.
    accepted: &'static str,
    least: f64,
    most: f64,
    /// What is written, and the air's temperature, in the project's units.
    to: fn(f64, f64) -> f64,
}

impl Unit {
    const fn new(accepted: &'static str, least: f64, most: f64, to: fn(f64, f64) -> f64) -> Self {
        Self { accepted, least, most, to }
    }

    fn read(&self, text: &str, air_c: f64) -> Result<f64, springhouse_table::Problem> {
        number(text, self.accepted, |value| (self.least..=self.most).contains(&value))
            .map(|value| (self.to)(value, air_c))
    }
}

/// The limits are somewhat beyond what was ever measured near the ground.
const AIR: [(&str, Unit); 2] = [
    ("air_c", Unit::new("a temperature in degrees Celsius, -90 to 60", -90.0, 60.0, |t, _| t)),
    ("air_f", Unit::new("a temperature in degrees Fahrenheit, -130 to 140", -130.0, 140.0, |t, _| celsius(t))),
];
const DEW_POINT: [(&str, Unit); 3] = [
    ("dew_point_c", Unit::new("a temperature in degrees Celsius, -90 to 40", -90.0, 40.0, |t, _| t)),
    ("dew_point_f", Unit::new("a temperature in degrees Fahrenheit, -130 to 104", -130.0, 104.0, |t, _| celsius(t))),
    ("humidity_percent", Unit::new("relative humidity in per cent, 1 to 100", 1.0, 100.0, of_humidity)),
];
/// A mile an hour is 0.447 04 m/s by definition.
const WIND: [(&str, Unit); 2] = [
    ("wind_m_s", Unit::new("wind in metres a second, 0 to 100", 0.0, 100.0, |wind, _| wind)),
    ("wind_mph", Unit::new("wind in miles an hour, 0 to 224", 0.0, 224.0, |wind, _| 0.447_04 * wind)),
];
/// By night an instrument reads a little below zero, which is none.
const SUN: [(&str, Unit); 1] =
    [("sun_w_m2", Unit::new("sun in watts a square metre, -20 to 1600", -20.0, 1_600.0, |sun, _| sun.max(0.0)))];
/// An inch is 25.4 mm by definition.
const RAIN: [(&str, Unit); 2] = [
    ("rain_mm", Unit::new("rain in millimetres, 0 to 1000, 0 where none fell", 0.0, 1_000.0, |rain, _| rain)),
    ("rain_in", Unit::new("rain in inches, 0 to 40, 0 where none fell", 0.0, 40.0, |rain, _| 25.4 * rain)),
];

fn celsius(fahrenheit: f64) -> f64 {
    (fahrenheit - 32.0) / 1.8
}

/// Dew point of air with a relative humidity.
fn of_humidity(humidity_percent: f64, air_c: f64) -> f64 {
    dew_point_of_humid_c(air_c, humidity_percent / 100.0)
}

/// Whether a row is the header of such a record, be it a wrong one.
pub(crate) fn is_header(row: &Row<'_>) -> bool {
    FORM.columns.iter().any(|(name, _)| row.has(name))
}

type Measured = Option<(Column, Unit)>;

/// How a record is laid out.
struct Columns {
    time: Column,
    air: (Column, Unit),
    dew_point: Measured,
    wind: Measured,
    sun: Measured,
    rain: Measured,
    wind_height_m: f64,
}

/// Reads the header; `None` when something is wrong with it, which is then told.
fn columns(first: &Row<'_>, wind_height_m: f64, errors: &mut WeatherErrors) -> Option<Columns> {
    let header = Header::read(first, &FORM, errors);
    let time = header.need("time", errors);
    let air = header.one_of(&AIR, errors);
    let mut measured = |choices: &[(&'static str, Unit)]| {
        choices.iter().any(|(name, _)| header.find(name).is_some()).then(|| header.one_of(choices, errors)).flatten()
    };
    let (dew_point, wind, sun, rain) = (measured(&DEW_POINT), measured(&WIND), measured(&SUN), measured(&RAIN));
    let (time, air) = (time?, air?);
    errors.is_empty().then_some(Columns { time, air, dew_point, wind, sun, rain, wind_height_m })
}

/// Reads all rows; `first` is the header. What comes out are the hours that are wholly told of.
pub(crate) fn read(first: &Row<'_>, rows: Rows<'_>, wanted: &Wanted, errors: &mut WeatherErrors) -> Vec<Told> {
    let Some(columns) = columns(first, wanted.wind_height_m, errors) else { return Vec::new() };
    let mut hours = Hours { first_day: wanted.first_day, open: None, told: Vec::new() };
    // The row whose interval is not known yet: line, begin, and its weather, `None` where that is wrong.
    let mut open: Option<(u64, Time, Option<Hour>)> = None;
    let mut last_length: Option<Span> = None;
    let mut count = 0_usize;
    for row in rows {
        count += 1;
        last_length = None;
        let row = match row {
            Ok(row) => row,
            Err((line, problem)) => {
                errors.push(Some(line), None, problem);
                open = None;
                continue;
            }
        };
        let text = row.field(columns.time);
        let start = match (time(text, wanted.first_day), open.take()) {
            (Ok(start), Some((before_line, before, _))) if start <= before => {
                Err(Problem::OutOfOrder { found: shortened(text), before_line })
            }
            (Ok(start), Some((before_line, before, weather))) => {
                let length = start - before;
                last_length = Some(length).filter(|length| *length <= LONGEST);
                if last_length.is_none() {
                    let hours = length.s() / Span::HOUR.s();
                    let problem = Problem::IntervalTooLong { hours, next_line: row.line };
                    errors.push(Some(before_line), Some(columns.time.name), problem);
                } else if let Some(weather) = weather {
                    hours.gather(before, start, &weather);
                }
                Ok(start)
            }
            (start, _) => start.map_err(Problem::from),
        };
        let start = errors.keep(row.line, columns.time.name, start);
        let weather = columns.weather(&row, errors);
        open = start.map(|start| (row.line, start, weather));
    }
    if let (Some((_, start, weather)), Some(length)) = (open, last_length) {
        if let Some(weather) = weather {
            hours.gather(start, start + length, &weather);
        }
    } else if errors.is_empty() {
        errors.push(None, None, Problem::TooFewRows { found: if count == 0 { "no row" } else { "one row" } });
    }
    hours.close();
    hours.told
}

impl Columns {
    /// What a row says; `None` where something is wrong with it, which is then told. Rain is that of the row.
    fn weather(&self, row: &Row<'_>, errors: &mut WeatherErrors) -> Option<Hour> {
        let (column, unit) = self.air;
        let air_c = errors.keep(row.line, column.name, unit.read(row.field(column), 0.0));
        let mut sound = air_c.is_some();
        let mut read = |measured: &Measured, may_lack: bool| {
            let (column, unit) = measured.as_ref()?;
            let text = row.field(*column);
            if may_lack && text.is_empty() {
                return None;
            }
            let value = errors.keep(row.line, column.name, unit.read(text, air_c.unwrap_or(0.0)));
            sound &= value.is_some();
            value
        };
        let dew_point_c = read(&self.dew_point, true);
        let wind_m_s = read(&self.wind, true).map(|wind| wind_at_2_m(wind, self.wind_height_m));
        let sun_w_m2 = read(&self.sun, true);
        let rain_mm = read(&self.rain, false);
        let air_c = air_c.filter(|_| sound)?;
        let above = dew_point_c.filter(|dew_point_c| *dew_point_c > air_c + MOST_ABOVE_AIR_C);
        if let (Some(dew_point_c), Some((column, _))) = (above, self.dew_point) {
            errors.push(Some(row.line), Some(column.name), Problem::DewPointAboveAir { dew_point_c, air_c });
            return None;
        }
        Some(Hour { air_c, dew_point_c, wind_m_s, sun_w_m2, rain_mm })
    }
}

/// Whole hours out of intervals of any length.
struct Hours {
    first_day: Date,
    open: Option<Open>,
    told: Vec<Told>,
}

/// An hour that is being gathered.
struct Open {
    /// Counted from the first midnight of the run.
    number: i64,
    told: Span,
    air: Mean,
    dew_point: Mean,
    wind: Mean,
    sun: Mean,
    /// `None` once an interval lacks it.
    rain_mm: Option<f64>,
}

/// A mean over time of what was measured.
#[derive(Default)]
struct Mean {
    sum: f64,
    length_s: f64,
}

impl Mean {
    fn add(&mut self, value: Option<f64>, length_s: f64) {
        if let Some(value) = value {
            self.sum += value * length_s;
            self.length_s += length_s;
        }
    }

    fn value(&self) -> Option<f64> {
        (self.length_s > 0.0).then(|| self.sum / self.length_s)
    }
}

impl Hours {
    /// Shares an interval's weather out to the hours it touches.
    fn gather(&mut self, start: Time, end: Time, weather: &Hour) {
        let mut from = start;
        while from < end {
            let number = from.ns().div_euclid(Span::HOUR.ns());
            let to = Time::from_ns((number + 1) * Span::HOUR.ns()).min(end);
            if self.open.as_ref().is_none_or(|open| open.number != number) {
                self.close();
            }
            let open = self.open.get_or_insert_with(|| Open {
                number,
                told: Span::ZERO,
                air: Mean::default(),
                dew_point: Mean::default(),
                wind: Mean::default(),
                sun: Mean::default(),
                rain_mm: Some(0.0),
            });
            let length = to - from;
            open.told += length;
            open.air.add(Some(weather.air_c), length.s());
            open.dew_point.add(weather.dew_point_c, length.s());
            open.wind.add(weather.wind_m_s, length.s());
            open.sun.add(weather.sun_w_m2, length.s());
            let share = length.s() / (end - start).s();
            open.rain_mm = open.rain_mm.zip(weather.rain_mm).map(|(sum, rain)| sum + share * rain);
            from = to;
        }
    }

    /// Keeps the open hour if all of it was told of.
    fn close(&mut self) {
        let Some(open) = self.open.take().filter(|open| open.told == Span::HOUR) else { return };
        let (day, hour) = (open.number.div_euclid(24), open.number.rem_euclid(24));
        let Some((air_c, hour)) = open.air.value().zip(u8::try_from(hour).ok()) else { return };
        let weather = Hour {
            air_c,
            dew_point_c: open.dew_point.value(),
            wind_m_s: open.wind.value(),
            sun_w_m2: open.sun.value(),
            rain_mm: open.rain_mm,
        };
        self.told.push((self.first_day.saturating_add(day.days()), hour, weather));
    }
}
