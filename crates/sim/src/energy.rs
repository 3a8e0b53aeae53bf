//! Sun, rest of the house and prices over a scenario's plant, made part of a run.

mod sun;

use jiff::ToSpan;
use jiff::civil::Date;
use springhouse_core::power::PowerHour;
use springhouse_scenario::energy::{HouseLoad, Tariff, TariffHours};
use springhouse_scenario::{Scenario, WeatherSource};
use springhouse_weather::Place;

pub use self::sun::{SunOfHour, solar_w};
use crate::{RunOptions, SiteAir};

const HOURS_A_DAY: u8 = 24;

/// Degrees that the sun moves in an hour.
const DEG_H: f64 = 15.0;

const W_KW: f64 = 1e3;

/// Gives a run sun, rest of the house and prices for each of its hours; none of them where the scenario tells of no energy.
///
/// The sun is that of the weather which the run has met before; without weather there is none.
pub fn meet_the_grid(scenario: &Scenario, air: Option<&SiteAir>, options: &mut RunOptions) {
    options.power = Vec::new();
    let Some(energy) = &scenario.energy else { return };
    let roof = energy.sun.as_ref().zip(air.map(|air| under_its_sun(scenario, air.place)));
    let mut weather = options.weather.iter();
    options.power.reserve_exact(usize::from(HOURS_A_DAY) * options.days as usize);
    let mut yesterday = Day::of(options.first_day.saturating_sub(1.day()));
    for number in 0..i64::from(options.days) {
        let date = options.first_day.saturating_add(number.days());
        let today = Day::of(date);
        let roof = roof.map(|(roof, place)| (roof, place, place.midnight_j2000(date)));
        for hour in 0..HOURS_A_DAY {
            let begin = f64::from(hour) / f64::from(HOURS_A_DAY);
            let sun = weather.next().zip(roof);
            let solar_w =
                sun.map_or(0.0, |(weather, (roof, place, midnight))| solar_w(roof, &place, midnight + begin, weather));
            let (import_per_kwh, export_per_kwh) = prices(&energy.tariff, [yesterday, today], hour);
            options.power.push(PowerHour {
                solar_w,
                other_w: house_w(&energy.house, today, hour),
                import_per_kwh,
                export_per_kwh,
                import_kg_per_kwh: energy.tariff.kg_per_kwh,
                season: today.season(),
            });
        }
        yesterday = today;
    }
}

/// The place as the weather's own sun sees it: that of weather by chance is highest at twelve.
fn under_its_sun(scenario: &Scenario, place: Place) -> Place {
    let by_chance = scenario.weather.as_ref().is_some_and(|site| matches!(site.source, WeatherSource::Normals { .. }));
    if by_chance { Place { longitude_deg: DEG_H * place.utc_offset_h, ..place } } else { place }
}

/// What prices and houses go by.
#[derive(Clone, Copy, Debug)]
struct Day {
    /// From 0, a Monday.
    weekday: usize,
    /// From 0, January.
    month: usize,
}

impl Day {
    fn of(date: Date) -> Self {
        let from_zero = |number: i8| usize::try_from(number).unwrap_or(0);
        Self { weekday: from_zero(date.weekday().to_monday_zero_offset()), month: from_zero(date.month() - 1) }
    }

    /// The quarter of the year, from December on.
    fn season(self) -> u8 {
        u8::try_from((self.month + 1) % 12 / 3).unwrap_or(0)
    }
}

/// Mean power of the rest of the house over an hour.
fn house_w(house: &HouseLoad, day: Day, hour: u8) -> f64 {
    house.kwh_per_day * house.by_month[day.month] * house.by_hour[usize::from(hour)] * W_KW
}

/// What energy from the grid costs in an hour, and what the grid pays for it. The day is told with the one before it.
fn prices(tariff: &Tariff, days: [Day; 2], hour: u8) -> (f64, f64) {
    let other = tariff.hours.iter().find(|hours| hold(hours, days, hour));
    let import_per_kwh = other.and_then(|hours| hours.import_per_kwh);
    let export_per_kwh = other.and_then(|hours| hours.export_per_kwh);
    (import_per_kwh.unwrap_or(tariff.import_per_kwh), export_per_kwh.unwrap_or(tariff.export_per_kwh))
}

/// Whether an hour is one of those; what is left of a night belongs to the day on which that began.
fn hold(hours: &TariffHours, [yesterday, today]: [Day; 2], hour: u8) -> bool {
    let over_midnight = hours.end_h <= hours.start_h;
    let of = |day: Day| hours.weekdays[day.weekday] && hours.months[day.month];
    if hour >= hours.start_h {
        (over_midnight || hour < hours.end_h) && of(today)
    } else {
        over_midnight && hour < hours.end_h && of(yesterday)
    }
}
