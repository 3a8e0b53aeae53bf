//! What the weather was and what it made of open water; and the months of a long run.

use core::fmt::Write;

use springhouse_sim::{Day, OpenWaterSummary, SupplySummary};

use crate::numbers::{J_PER_KWH, Scale, counted, fixed, percent, product_decimals, salt_figure};
use crate::{Run, calendar, days};

/// A run of so many days has a table of its months.
const LONG_DAYS: usize = 60;
/// The widest line of the table.
const WIDTH: usize = 100;
/// From one column of the table to the next.
const GAP: usize = 2;

/// A line on the weather.
pub(super) fn weather(run: &Run<'_>) -> Option<String> {
    let weather = run.outcome.summary.weather.as_ref()?;
    let rain = Scale::rain(run.units);
    let depth = |mm: f64| format!("{} {}", rain_figure(rain, mm), rain.unit);
    let [mean, coldest, warmest] =
        [weather.mean_air_c, weather.coldest_c, weather.warmest_c].map(|air_c| run.units.temperature(air_c));
    Some(format!(
        "{} of rain, {}; air {mean} on average, from {coldest} to {warmest}; reference evaporation {}",
        depth(weather.rain_mm),
        counted(weather.wet_days, "wet day"),
        depth(weather.reference_evaporation_mm),
    ))
}

/// Rain in whole millimetres, or in inches with a decimal.
fn rain_figure(rain: Scale, mm: f64) -> String {
    fixed(rain.value(mm), usize::from(rain.value(100.0) < 10.0))
}

/// Of each basin under the open sky what came, what went, and what that made of it: a label and lines under it.
pub(super) fn open_water(run: &Run<'_>) -> Vec<(&'static str, String)> {
    let mut rows = Vec::new();
    for supply in &run.outcome.summary.supplies {
        if let Some(open) = &supply.open_water {
            let lines = open_lines(run, supply, open);
            rows.extend(
                lines.into_iter().enumerate().map(|(line, said)| (if line == 0 { "Open water" } else { "" }, said)),
            );
        }
    }
    rows
}

fn open_lines(run: &Run<'_>, supply: &SupplySummary, open: &OpenWaterSummary) -> Vec<String> {
    let units = run.units;
    let by = |ways: &[(&str, Option<f64>)]| {
        let some = ways.iter().filter_map(|(way, litres)| Some((way, litres.filter(|litres| *litres > 0.0)?)));
        let said: Vec<_> = some.map(|(way, litres)| format!("{way} {}", units.volume(litres))).collect();
        if said.is_empty() { "nothing".to_owned() } else { said.join(", ") }
    };
    // Sums of many hours: what is left of less is rounding.
    let off_roof_l = Some(supply.inflow_l - open.rain_l - open.runoff_l).filter(|litres| *litres >= 1.0);
    let came = by(&[
        ("rain", Some(open.rain_l)),
        ("runoff", Some(open.runoff_l)),
        ("roof", off_roof_l),
        ("membrane unit", supply.returned_l),
        ("top-up", supply.topped_up_l),
        ("check valve", supply.leaked_back_l),
    ]);
    let went = by(&[
        ("pump", Some(supply.given_l)),
        ("evaporation", Some(open.evaporated_l)),
        ("seepage", Some(open.seeped_l)),
        ("over the brim", supply.spilled_l),
    ]);
    let mut lines = vec![format!("into the {}: {came}", supply.name), format!("out of it: {went}")];
    let capacity_l = days::open_basins(&run.scenario.plant).find(|(_, name, _)| *name == supply.name);
    let capacity_l = capacity_l.map(|(_, _, basin)| basin.capacity_l);
    let amount = |litres: f64| match capacity_l {
        Some(capacity_l) => format!("{} ({} full)", units.volume(litres), percent(litres.max(0.0) / capacity_l)),
        None => units.volume(litres),
    };
    if let (Some(lowest_l), Some(at), Some(end_l)) = (supply.lowest_l, &supply.lowest_at, supply.end_l) {
        let on = calendar::spoken_iso(at);
        lines.push(format!("lowest {} on {on}, {} at the end", amount(lowest_l), amount(end_l)));
    }
    let [start, most, end] = [open.start_salt_mg_l, open.most_salt_mg_l, supply.salt_mg_l].map(salt_figure);
    let on = calendar::spoken_iso(&open.most_salt_at);
    lines.push(format!("salt from {start} to {end} mg/L, at most {most} mg/L on {on}"));
    let [coldest, warmest] = [open.coldest_c, open.warmest_c].map(|temp_c| units.temperature(temp_c));
    let ice = match open.ice_hours {
        0 => "no ice".to_owned(),
        hours => {
            let long = units.duration(3_600.0 * f64::from(u32::try_from(hours).unwrap_or(u32::MAX)));
            format!("ice for {long}, {} at the thickest", units.length(open.thickest_ice_m))
        }
    };
    lines.push(format!("water from {coldest} to {warmest}; {ice}"));
    lines
}

/// A column of the table: two lines of heading, and a cell for each month.
struct Column {
    heads: [String; 2],
    cells: Vec<String>,
}

impl Column {
    fn width(&self) -> usize {
        self.heads.iter().chain(&self.cells).map(|text| text.chars().count()).max().unwrap_or(0)
    }
}

/// The months of a long run whose days were kept. Ends with a newline.
pub(super) fn months(run: &Run<'_>) -> Option<String> {
    if run.outcome.days.len() < LONG_DAYS {
        return None;
    }
    let mut text = table(&columns(run));
    if days::open_basins(&run.scenario.plant).next().is_some() {
        text.push_str("Level and salt of open water are those at the end of the month.\n");
    }
    Some(text)
}

/// The columns side by side; those that find no room stand below, beside the months once more.
fn table(columns: &[Column]) -> String {
    let mut text = String::new();
    let Some((months, mut rest)) = columns.split_first() else { return text };
    let month_width = months.width();
    while !rest.is_empty() {
        let mut width = month_width;
        let fit = rest.iter().take_while(|column| {
            width += GAP + column.width();
            width <= WIDTH
        });
        let (side_by_side, below) = rest.split_at(fit.count().max(1));
        if !text.is_empty() {
            text.push('\n');
        }
        let lines = 2 + months.cells.len();
        let cell = |column: &Column, line: usize| column.heads.iter().chain(&column.cells).nth(line).cloned();
        for line in 0..lines {
            let mut row = format!("{:month_width$}", cell(months, line).unwrap_or_default());
            for column in side_by_side {
                let width = column.width() + GAP;
                // Writing to a string cannot fail.
                let _ = write!(row, "{:>width$}", cell(column, line).unwrap_or_default());
            }
            text.push_str(row.trim_end());
            text.push('\n');
        }
        rest = below;
    }
    text
}

/// The month first, then its weather, water, ponds, membrane unit, shortfall and energy.
fn columns(run: &Run<'_>) -> Vec<Column> {
    let (plant, units) = (&run.scenario.plant, run.units);
    let months = by_month(run);
    let column = |heads: [&str; 2], cell: &dyn Fn(&[Day]) -> String| Column {
        heads: heads.map(str::to_owned),
        cells: months.iter().map(|(_, days)| cell(days)).collect(),
    };
    let mut all =
        vec![Column { heads: Default::default(), cells: months.iter().map(|(name, _)| name.clone()).collect() }];
    if run.outcome.days.iter().any(|day| day.weather.is_some()) {
        let (rain, warmth) = (Scale::rain(units), Scale::temperature(units));
        all.push(column(["rain", rain.unit], &|days| {
            let fallen_mm = days.iter().filter_map(|day| day.weather).map(|weather| weather.rain_mm).sum();
            rain_figure(rain, fallen_mm)
        }));
        all.push(column(["air", warmth.unit], &|days| {
            mean(days.iter().filter_map(|day| day.weather))
                .map_or_else(String::new, |air_c| fixed(warmth.value(air_c), 0))
        }));
    }
    let most_l =
        |of: &dyn Fn(&Day) -> f64| months.iter().map(|(_, days)| days.iter().map(of).sum::<f64>()).fold(0.0, f64::max);
    for (index, supply) in plant.supplies.iter().enumerate() {
        let given_l = move |day: &Day| day.totals.supplies[index].pumped_l;
        let scale = Scale::volume_up_to(units, most_l(&given_l));
        all.push(column([&format!("{} gave", supply.name), scale.unit], &|days| {
            amount(scale, days.iter().map(given_l).sum())
        }));
    }
    for (index, name, basin) in days::open_basins(plant) {
        all.push(column([name, "% full"], &|days| {
            days.last().map_or_else(String::new, |day| fixed(100.0 * day.sources[index] / basin.capacity_l, 0))
        }));
        all.push(column([&format!("{name} salt"), "mg/L"], &|days| {
            days.last().map_or_else(String::new, |day| salt_figure(day.salt_mg_l[index]))
        }));
    }
    if plant.membrane.is_some() {
        let (product, warmth) = (Scale::product(units), Scale::temperature(units));
        let most = months.iter().filter_map(|(_, days)| product_l_h(days)).fold(0.0, f64::max);
        let decimals = product_decimals(product.value(most));
        all.push(column(["product", product.unit], &|days| {
            product_l_h(days).map_or_else(|| "none".to_owned(), |l_h| fixed(product.value(l_h), decimals))
        }));
        all.push(column(["feed", warmth.unit], &|days| {
            feed_c(days).map_or_else(String::new, |feed_c| fixed(warmth.value(feed_c), 0))
        }));
    }
    let lost_l = |day: &Day| days::lost_l(plant, day);
    let scale = Scale::volume_up_to(units, most_l(&lost_l));
    all.push(column(["short", scale.unit], &|days| amount(scale, days.iter().map(lost_l).sum())));
    all.push(column(["energy", "kWh"], &|days| {
        let joules = days.iter().map(|day| day.totals.energy_j()).sum::<f64>();
        fixed(joules / J_PER_KWH, 0)
    }));
    all
}

/// What the unit made in an hour in which it ran; the mean over a month's hours.
fn product_l_h(days: &[Day]) -> Option<f64> {
    let ran = || days.iter().filter(|day| days::product_l_h(day).is_some()).map(|day| day.totals.membrane);
    let run_s: f64 = ran().map(|made| made.run_s).sum();
    (run_s > 0.0).then(|| 3_600.0 * ran().map(|made| made.product_l).sum::<f64>() / run_s)
}

/// How warm its feed was, on the mean of the days on which it ran.
fn feed_c(days: &[Day]) -> Option<f64> {
    let temps_c = || days.iter().filter(|day| days::product_l_h(day).is_some()).map(|day| day.feed_temp_c);
    let count = u32::try_from(temps_c().count()).ok().filter(|count| *count > 0)?;
    Some(temps_c().sum::<f64>() / f64::from(count))
}

fn mean(weathers: impl Iterator<Item = springhouse_sim::DayWeather>) -> Option<f64> {
    let (sum, count) = weathers.fold((0.0, 0_u32), |(sum, count), weather| (sum + weather.air_c, count + 1));
    (count > 0).then(|| sum / f64::from(count))
}

/// A volume in a column: whole, or of thousands with a decimal.
fn amount(scale: Scale, litres: f64) -> String {
    let value = scale.value(litres);
    let in_thousands = matches!(scale.unit, "kgal" | "m3");
    fixed(value, usize::from(in_thousands && value < 100.0))
}

/// The days of each month, with its name.
fn by_month<'a>(run: &Run<'a>) -> Vec<(String, &'a [Day])> {
    let date = |number: usize| calendar::date(run.first_day, i64::try_from(number).unwrap_or(i64::MAX));
    let all = &run.outcome.days;
    let starts: Vec<usize> = (0..all.len()).filter(|number| *number == 0 || date(*number).day() == 1).collect();
    let ends = starts.iter().skip(1).copied().chain([all.len()]);
    let named = starts.iter().zip(ends).filter_map(|(start, end)| {
        let first = date(*start);
        Some((format!("{} {}", calendar::month(first), first.year()), all.get(*start..end)?))
    });
    named.collect()
}
