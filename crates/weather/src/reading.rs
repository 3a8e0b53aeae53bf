//! Weather from a file: which layout it has, and the hours of a run out of what it tells.

use std::io::Read;

use jiff::ToSpan;
use jiff::civil::{Date, DateTime, date};
use springhouse_core::time::Time;
use springhouse_table::Errors;
use thiserror::Error;

use crate::hour::{HOURS_A_DAY, Hour, MOST_DAYS, Weather};
use crate::{record, typical};

/// What to do when a record is of other years than the run.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Repeat {
    /// Nothing: the record must cover the run.
    No,
    /// Each hour of the run has the weather that the record has in that hour of that month and day, whatever its year.
    Yearly,
}

/// What is wanted of a record.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Wanted {
    /// First day of the run.
    pub first_day: Date,
    /// How many days the run has.
    pub days: u32,
    /// Whether the record repeats; a typical year always does.
    pub repeat: Repeat,
    /// How high above the ground the wind of the record was measured, at least 0.5 m; a typical year's was at 10 m.
    pub wind_height_m: f64,
}

/// Where a typical year is from, as its first line says.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Station {
    /// Degrees north of the equator.
    pub latitude_deg: f64,
    /// Degrees east of Greenwich.
    pub longitude_deg: f64,
    /// Local standard time less universal time.
    pub utc_offset_h: f64,
    /// Metres above the sea.
    pub elevation_m: f64,
}

/// What was read of a file.
#[derive(Clone, Debug, PartialEq)]
pub struct Reading {
    /// The hours of the run, from its first midnight.
    pub weather: Weather,
    /// Where it was measured, if the file says.
    pub station: Option<Station>,
}

/// Everything wrong with a record of weather.
pub type WeatherErrors = Errors<WeatherProblem>;

/// What is wrong. Each message says what was found, what is accepted, and what to do.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum WeatherProblem {
    /// What can be wrong with any table.
    #[error(transparent)]
    Table(#[from] springhouse_table::Problem),
    /// A time that is not after the one before.
    #[error(
        "`{found}` is not after the time on line {before_line}; times must rise; sort the rows by time, and take the hour \
         of daylight-saving time off"
    )]
    OutOfOrder {
        /// The text found.
        found: String,
        /// Line of the row before.
        before_line: u64,
    },
    /// A row whose next comes too late.
    #[error(
        "{hours:.1} hours pass until the time on line {next_line}; accepted are at most {}, since highs and lows would be \
         lost; add the rows between, or give monthly normals instead",
        record::MOST_INTERVAL_H
    )]
    IntervalTooLong {
        /// Length of the interval in hours.
        hours: f64,
        /// Line of the next row.
        next_line: u64,
    },
    /// Too few rows to know how long the weather of one lasted.
    #[error(
        "{found} found; accepted are two rows or more, since the weather of a row lasts until the time of the next; add \
         rows"
    )]
    TooFewRows {
        /// `no row` or `one row`.
        found: &'static str,
    },
    /// A dew point above the air's temperature.
    #[error(
        "a dew point of {dew_point_c:.1} °C found in air of {air_c:.1} °C; accepted is one that is at most {} °C above the \
         air; check that the columns are not exchanged",
        record::MOST_ABOVE_AIR_C
    )]
    DewPointAboveAir {
        /// The dew point found.
        dew_point_c: f64,
        /// The air of its row.
        air_c: f64,
    },
    /// No date of a typical year.
    #[error("`{found}` is no date; accepted is month, day and year as `06/04/1997`; correct it")]
    NotADate {
        /// The text found.
        found: String,
    },
    /// No hour of a typical year.
    #[error("`{found}` is no hour; accepted is the end of a whole hour, `01:00` to `24:00`; correct it")]
    NotAnHour {
        /// The text found.
        found: String,
    },
    /// A run that is too long.
    #[error("a run of {days} days; accepted are at most {MOST_DAYS}; run fewer")]
    TooManyDays {
        /// How many.
        days: u32,
    },
    /// Hours of the run that the record does not tell of.
    #[error(
        "the record does not tell of {hours} of the run's hours, the first from {first}; accepted is one that tells of all; {}",
        add(*.repeat)
    )]
    NotCovered {
        /// How many.
        hours: usize,
        /// When the first of them begins.
        first: DateTime,
        /// How the record is used.
        repeat: Repeat,
    },
}

fn add(repeat: Repeat) -> &'static str {
    match repeat {
        Repeat::No => "add the rows, move the run into the record, or let the record repeat yearly",
        Repeat::Yearly => "add the rows, so that a year is whole",
    }
}

/// What a file may begin with.
pub(crate) const HEADERS: &str = "`time,air_c` with any of `dew_point_c`, `wind_m_s`, `sun_w_m2` and `rain_mm`, or the \
                                  station and the header of a typical year (TMY3)";

/// Reads a record of weather in the project's own layout or a typical year in that of TMY3; `file_name` is what errors call
/// it. Which one it is, the header says.
///
/// # Errors
/// All that is wrong with the file, or the hours of the run that it does not tell of.
pub fn read_weather(reader: impl Read, file_name: &str, wanted: &Wanted) -> Result<Reading, WeatherErrors> {
    springhouse_table::read(reader, file_name, HEADERS, |first, mut rows, errors| {
        let (told, station, repeat) = if record::is_header(first) {
            (record::read(first, rows, wanted, errors), None, wanted.repeat)
        } else {
            rows.any_width();
            match rows.next() {
                Some(Ok(second)) if typical::is_header(&second) => {
                    let station = typical::station(first, errors);
                    (typical::read(&second, rows, errors), station, Repeat::Yearly)
                }
                _ => {
                    errors.push(Some(first.line), None, first.no_header(HEADERS));
                    (Vec::new(), None, Repeat::No)
                }
            }
        };
        let hours = if errors.is_empty() { laid_out(&told, repeat, wanted, errors) } else { Vec::new() };
        Reading { weather: Weather { start: Time::ZERO, hours }, station }
    })
}

/// A whole hour that a file tells of: its date, its number from 0 to 23, and its weather.
pub(crate) type Told = (Date, u8, Hour);

/// The hours of the run; what lacks is told.
fn laid_out(told: &[Told], repeat: Repeat, wanted: &Wanted, errors: &mut WeatherErrors) -> Vec<Hour> {
    if wanted.days > MOST_DAYS {
        errors.push(None, None, WeatherProblem::TooManyDays { days: wanted.days });
        return Vec::new();
    }
    let mut shelf = Shelf { repeat, first_day: wanted.first_day, hours: Vec::new() };
    shelf.hours.resize(HOURS_A_DAY * if repeat == Repeat::Yearly { 366 } else { wanted.days as usize }, None);
    for (date, hour, weather) in told {
        let place = shelf.place(*date, *hour);
        // Of an hour that is there twice the first counts: a year's record often ends with the next year's first hour.
        if let Some(free) = place.and_then(|place| shelf.hours.get_mut(place)).filter(|free| free.is_none()) {
            *free = Some(*weather);
        }
    }
    let days = (0..i64::from(wanted.days)).map(|day| wanted.first_day.saturating_add(day.days()));
    let asked: Vec<(Date, u8)> = days.flat_map(|date| (0..24).map(move |hour| (date, hour))).collect();
    let found: Vec<Option<Hour>> = asked.iter().map(|&(date, hour)| shelf.hour(date, hour)).collect();
    let mut lacking = asked.iter().zip(&found).filter_map(|(at, hour)| hour.is_none().then_some(at));
    if let Some((date, hour)) = lacking.next() {
        let first = date.to_datetime(jiff::civil::Time::midnight()).saturating_add(i64::from(*hour).hours());
        errors.push(None, None, WeatherProblem::NotCovered { hours: 1 + lacking.count(), first, repeat });
    }
    found.into_iter().flatten().collect()
}

/// Hours by their place in the run, or in a leap year where they repeat.
struct Shelf {
    repeat: Repeat,
    first_day: Date,
    hours: Vec<Option<Hour>>,
}

impl Shelf {
    fn place(&self, day: Date, hour: u8) -> Option<usize> {
        let day = match self.repeat {
            Repeat::No => (day - self.first_day).get_days(),
            Repeat::Yearly => i32::from(date(2028, day.month(), day.day()).day_of_year()) - 1,
        };
        Some(usize::try_from(day).ok()? * HOURS_A_DAY + usize::from(hour))
    }

    /// The weather of an hour; on 29 February, where a year has none, that of the day before.
    fn hour(&self, day: Date, hour: u8) -> Option<Hour> {
        let at = |day| self.place(day, hour).and_then(|place| self.hours.get(place).copied().flatten());
        let leap = self.repeat == Repeat::Yearly && (day.month(), day.day()) == (2, 29);
        at(day).or_else(|| leap.then(|| at(day.saturating_sub(1.day()))).flatten())
    }
}
