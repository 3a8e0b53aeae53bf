//! The columns of `days.csv`: of each day its weather, what flowed in it, and how things stood at its end.

use springhouse_core::supply::{Source, Supply};
use springhouse_sim::{Day, DayWeather, names};

use super::columns::{self, Column};
use crate::numbers::{J_PER_KWH, fixed};
use crate::{Run, days};

/// One column: its key and what stands in it.
pub(super) struct DayColumn<'a> {
    pub(super) key: String,
    pub(super) cell: Box<dyn Fn(&Day) -> String + 'a>,
}

impl<'a> DayColumn<'a> {
    fn new(key: impl Into<String>, decimals: usize, value: impl Fn(&Day) -> f64 + 'a) -> Self {
        Self { key: key.into(), cell: Box::new(move |day| fixed(value(day), decimals)) }
    }

    /// Empty on a day that has no such value.
    fn known(key: impl Into<String>, decimals: usize, value: impl Fn(&Day) -> Option<f64> + 'a) -> Self {
        let cell = move |day: &Day| value(day).map_or_else(String::new, |value| fixed(value, decimals));
        Self { key: key.into(), cell: Box::new(cell) }
    }
}

/// Every column but the date, in their order; what flowed is told as in `minutes.csv`.
pub(super) fn all<'a>(run: &Run<'a>) -> Vec<DayColumn<'a>> {
    let plant = &run.scenario.plant;
    let mut all = weather(run);
    all.extend(flowed(columns::water(run)));
    all.push(DayColumn::new("run_out_minutes", 3, |day| day.run_out_s / 60.0));
    if plant.store.is_some() {
        all.push(DayColumn::new("storage_l", 3, |day| day.storage_l));
    }
    all.extend(flowed(columns::energy(run)));
    if columns::has_battery(run) {
        all.push(DayColumn::new(columns::BATTERY, 6, |day| day.stored_j / J_PER_KWH));
    }
    for (index, supply) in plant.supplies.iter().enumerate() {
        all.extend(state_of_supply(index, supply, weather_is_known(run)));
        all.extend(flowed(columns::of_supply(run, index, supply)));
    }
    if let Some(membrane) = &plant.membrane {
        let key = |key: &str| format!("{key}:{}", names::MEMBRANE);
        all.push(DayColumn::new(key("product_salt_mg_l"), 3, |day| day.product_salt_mg_l));
        all.push(DayColumn::known(key("product_l_h"), 3, days::product_l_h));
        all.push(DayColumn::new(key("feed_temp_c"), 3, |day| day.feed_temp_c));
        all.extend(flowed(columns::of_membrane(membrane)));
    }
    for (index, heater) in plant.hot_water.heaters.iter().enumerate() {
        all.extend(flowed(columns::of_heater(index, heater)));
    }
    all
}

fn flowed(columns: Vec<Column<'_>>) -> impl Iterator<Item = DayColumn<'_>> {
    columns.into_iter().filter_map(Column::by_day)
}

fn weather_is_known(run: &Run<'_>) -> bool {
    run.outcome.days.iter().any(|day| day.weather.is_some())
}

/// The weather; none where no day has any.
fn weather<'a>(run: &Run<'a>) -> Vec<DayColumn<'a>> {
    if !weather_is_known(run) {
        return Vec::new();
    }
    let column = |key: &str, decimals: usize, of: fn(&DayWeather) -> f64| {
        DayColumn::known(key, decimals, move |day| day.weather.as_ref().map(of))
    };
    vec![
        column("air_low_c", 2, |weather| weather.low_c),
        column("air_mean_c", 2, |weather| weather.air_c),
        column("air_high_c", 2, |weather| weather.high_c),
        column("rain_mm", 3, |weather| weather.rain_mm),
        column("reference_evaporation_mm", 3, |weather| weather.evaporation_mm),
        column("sun_mj_m2", 3, |weather| weather.sun_mj_m2),
    ]
}

/// How a supply stood at the end of the day; a town line has no level.
fn state_of_supply<'a>(index: usize, supply: &Supply, has_weather: bool) -> Vec<DayColumn<'a>> {
    let key = |key: &str| format!("{key}:{}", supply.name);
    let mut columns = Vec::new();
    match &supply.source {
        Source::Well { .. } => columns.push(DayColumn::new(key("drawdown_m"), 4, move |day| day.sources[index])),
        Source::Basin { .. } => columns.push(DayColumn::new(key("water_l"), 3, move |day| day.sources[index])),
        Source::TownLine(_) => {}
    }
    if supply.source.basin().is_some_and(|basin| basin.open.is_some()) {
        columns.push(DayColumn::new(key("salt_mg_l"), 3, move |day| day.salt_mg_l[index]));
        columns.push(DayColumn::new(key("solids_mg_l"), 3, move |day| day.solids_mg_l[index]));
        columns.push(DayColumn::new(key("ice_m"), 4, move |day| day.ice_m[index]));
    }
    if has_weather {
        columns.push(DayColumn::new(key("temp_c"), 3, move |day| day.temp_c[index]));
    }
    columns
}
