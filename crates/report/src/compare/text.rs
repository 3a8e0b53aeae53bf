//! A comparison in plain text: the answer first, a table, what was assumed.

use springhouse_study::compare::Question;

use super::{Compared, Figures};
use crate::calendar::spoken_iso;
use crate::numbers::{counted, fixed, mass, percent};
use crate::text::wrapped;
use crate::tune::text::{Cells, push_table};

/// The answer in a sentence or two.
#[must_use]
pub fn headline(compared: &Compared<'_>) -> String {
    let figures = compared.figures();
    match compared.comparison.question {
        Question::Heaters => heaters_headline(&figures),
        Question::Hours => hours_headline(compared, &figures),
        Question::Outage(_) => outage_headline(compared, &figures),
    }
}

/// What was compared.
#[must_use]
pub fn subject(compared: &Compared<'_>) -> String {
    let scenario = compared.scenario;
    let name = if scenario.title.is_empty() { &scenario.name } else { &scenario.title };
    let days = compared.comparison.ways.first().map_or(0, |way| way.summary.days);
    let of = match compared.comparison.question {
        Question::Heaters => "with other heaters".to_owned(),
        Question::Hours => "in other hours".to_owned(),
        Question::Outage(_) => compared.comparison.outage.map_or_else(String::new, |outage| {
            let from = spoken_iso(&outage.start.strftime("%Y-%m-%dT%H:%M:%S").to_string());
            format!("without the grid for {} from {from}", compared.units.duration(outage.length.s()))
        }),
    };
    let days = counted(u64::from(days), "day");
    format!("{name}: {days} from {}, the same mornings and weather, {of}", compared.first_day)
}

/// The table and what was assumed. Ends with a newline.
#[must_use]
pub fn body(compared: &Compared<'_>) -> String {
    let figures = compared.figures();
    let columns = match compared.comparison.question {
        Question::Heaters => heater_columns(compared),
        Question::Hours => hour_columns(compared),
        Question::Outage(_) => outage_columns(compared),
    };
    let is_outage = matches!(compared.comparison.question, Question::Outage(_));
    // A column of which no way has anything is left out.
    let columns: Vec<_> = columns.into_iter().filter(|(_, of)| figures.iter().any(|it| of(it).is_some())).collect();
    let head = core::iter::once(String::new()).chain(columns.iter().map(|(name, _)| name.clone()));
    let mut lines: Vec<Cells> = vec![head.collect()];
    for way in &figures {
        let name = if way.as_given { format!("{} *", way.way) } else { way.way.clone() };
        let cells = columns.iter().map(|(_, of)| of(way).unwrap_or_else(|| "-".to_owned()));
        lines.push(core::iter::once(name).chain(cells).collect());
    }
    let mut text = String::new();
    push_table(&mut text, &lines);
    let marked = figures.iter().any(|way| way.as_given && way.way != AS_GIVEN);
    if marked {
        text.push_str("* as the scenario says\n");
    }
    if is_outage {
        text.push_str("Run-outs and lukewarm water: from the outage's begin to the end of the run.\n");
    }
    for assumed in &compared.comparison.assumed {
        text.push('\n');
        text.push_str(&wrapped(&format!("{assumed}.")));
    }
    text
}

const AS_GIVEN: &str = "the scenario's own";

/// What to mind before doing any of it. Ends with a newline.
#[must_use]
pub fn cautions(compared: &Compared<'_>) -> String {
    wrapped(match compared.comparison.question {
        Question::Heaters => {
            "Gas and propane want air, a flue and a licensed fitter. Water under 60 °C (140 °F) lets Legionella grow, water \
             over 49 °C (120 °F) scalds: keep the one hot enough and temper the other. Local codes come first."
        }
        Question::Hours => {
            "A tank heated further by the sun can scald: temper it at 49 °C (120 °F) at most. A tank kept cooler lets Legionella \
             grow. Panels and batteries are for licensed electricians, with the grid operator's leave."
        }
        Question::Outage(_) => {
            "A generator is run outdoors, far from doors and windows: its exhaust kills. It must never feed the grid: use a transfer \
             switch. Starting currents are not computed; they may be several times the running ones. Without power \
             ultraviolet does not disinfect."
        }
    })
}

/// A column: its head, and the cell of a way.
type Column<'a> = (String, Box<dyn Fn(&Figures) -> Option<String> + 'a>);

fn column<'a>(head: &str, of: impl Fn(&Figures) -> Option<String> + 'a) -> Column<'a> {
    (head.to_owned(), Box::new(of))
}

fn energy(value: f64) -> String {
    fixed(value, usize::from(value < 100.0))
}

fn money(value: f64) -> String {
    fixed(value, 2)
}

fn minutes(value: f64) -> String {
    fixed(value, usize::from(value < 10.0 && value > 0.0))
}

fn heater_columns<'a>(compared: &'a Compared<'a>) -> Vec<Column<'a>> {
    let units = compared.units;
    vec![
        column("kWh", |it| it.heaters_kwh.map(energy)),
        column("fuel kWh", |it| it.fuel_kwh.map(energy)),
        column("cost", |it| it.heaters_cost.map(money)),
        column("CO2", move |it| it.heaters_co2_kg.map(|kg| mass(units, kg))),
        column("heat/energy", |it| it.season_cop.map(|cop| fixed(cop, 2))),
        column("lukewarm min", |it| it.lukewarm_minutes.map(minutes)),
        column("longest", |it| it.longest_lukewarm_min.map(minutes)),
        column("recovery h", |it| it.recovery_h.map(|h| fixed(h, 1))),
    ]
}

fn hour_columns<'a>(compared: &'a Compared<'a>) -> Vec<Column<'a>> {
    vec![
        column("plant kWh", |it| Some(energy(it.plant_kwh))),
        column("own", |it| it.plant_own_supply_share.map(percent)),
        column("from grid", |it| it.import_kwh.map(energy)),
        column("cost", |it| it.cost.map(money)),
        column("plant cost", |it| it.plant_cost.map(money)),
        column("CO2", |it| it.plant_co2_kg.map(|kg| mass(compared.units, kg))),
        column("lowest storage", |it| it.lowest_storage_l.map(|l| compared.units.volume(l))),
        column("at the end", |it| it.end_storage_l.map(|l| compared.units.volume(l))),
        column("run-out min", |it| Some(minutes(it.run_out_minutes))),
        column("lukewarm min", |it| it.lukewarm_minutes.map(minutes)),
    ]
}

fn outage_columns<'a>(compared: &'a Compared<'a>) -> Vec<Column<'a>> {
    let units = compared.units;
    let hours = |value: f64| fixed(value, 1);
    vec![
        column("fed h", move |it| Some(hours(it.battery_hours.unwrap_or(0.0) + it.generator_hours.unwrap_or(0.0)))),
        column("dark h", move |it| it.dark_hours.map(hours)),
        column("pump h", move |it| it.outage_supplies_hours.map(hours)),
        column("membrane h", move |it| it.outage_membrane_hours.map(hours)),
        column("heaters kWh", |it| it.outage_heaters_kwh.map(energy)),
        column("delivered", move |it| it.outage_delivered_l.map(|l| units.volume(l))),
        column("run-out min", |it| it.run_out_minutes_from_outage.map(minutes)),
        column("storage after", move |it| it.outage_end_storage_l.map(|l| units.volume(l))),
        column("lukewarm min", |it| it.lukewarm_minutes_from_outage.map(minutes)),
        column("fuel", move |it| it.generator_fuel_l.map(|l| units.volume(l))),
        column("battery kWh", |it| it.outage_end_battery_kwh.map(|kwh| fixed(kwh, 1))),
    ]
}

fn heaters_headline(figures: &[Figures]) -> String {
    let others: Vec<&Figures> = figures.iter().filter(|way| way.way != AS_GIVEN).collect();
    let with = |way: &Figures| {
        let lukewarm = way.lukewarm_minutes.unwrap_or(0.0);
        if lukewarm > 0.0 { format!(", with {} min of lukewarm water", minutes(lukewarm)) } else { String::new() }
    };
    let energy_of = |way: &Figures| Some(way.heaters_kwh? + way.fuel_kwh.unwrap_or(0.0));
    let priced = others.iter().filter(|way| way.heaters_cost.is_some()).count();
    let of = if priced > 0 && priced < others.len() { "Of those with a price the cheapest" } else { "Cheapest" };
    let cheapest = match (least(&others, |way| way.heaters_cost), least(&others, energy_of)) {
        (Some((way, cost)), _) => format!("{of} to run: {}, {}{}.", way.way, money(cost), with(way)),
        (None, Some((way, kwh))) => format!("Least energy: {}, {} kWh{}.", way.way, energy(kwh), with(way)),
        (None, None) => String::new(),
    };
    let warm = others.iter().filter(|way| way.lukewarm_minutes == Some(0.0)).count();
    let warmest = match least(&others, |way| way.lukewarm_minutes) {
        Some(_) if warm == others.len() => " No water was lukewarm with any.".to_owned(),
        Some((way, _)) if warm > 1 => format!(" No water was lukewarm with {} and {} more.", way.way, warm - 1),
        Some((way, found)) => format!(" Least lukewarm water: {}, {} min.", way.way, minutes(found)),
        None => String::new(),
    };
    format!("{cheapest}{warmest}")
}

/// The way with the least of a figure, of those that have it.
fn least<'f>(ways: &[&'f Figures], of: impl Fn(&Figures) -> Option<f64>) -> Option<(&'f Figures, f64)> {
    let known = ways.iter().filter_map(|way| Some((*way, of(way)?)));
    known.min_by(|(_, a), (_, b)| a.total_cmp(b))
}

fn hours_headline(compared: &Compared<'_>, figures: &[Figures]) -> String {
    let Some(any) = figures.iter().find(|way| way.way == "at any time") else { return String::new() };
    // What is in storage, tanks and battery at the end is not spent: the same in all ways, at the mean price of a kilowatt-hour.
    let price =
        if any.cost.is_some() && any.plant_kwh > 0.0 { any.plant_cost.unwrap_or(0.0) / any.plant_kwh } else { 1.0 };
    let money_of = |way: &Figures| way.cost.unwrap_or(way.plant_kwh) - price * way.kept_kwh();
    // A way that leaves people without water, or with much more that is lukewarm, is no saving.
    let holds = |way: &&Figures| {
        way.run_out_minutes <= any.run_out_minutes
            && way.lukewarm_minutes.unwrap_or(0.0) <= any.lukewarm_minutes.unwrap_or(0.0) + WORSE_MIN
    };
    let best = figures.iter().filter(holds).min_by(|a, b| money_of(a).total_cmp(&money_of(b)));
    let Some(best) = best.filter(|best| money_of(best) < money_of(any)) else {
        return "Nothing is saved by other hours without a cost in water or warmth.".to_owned();
    };
    let saved = money_of(any) - money_of(best);
    let share = if money_of(any) > 0.0 { format!(" ({})", percent(saved / money_of(any))) } else { String::new() };
    let of = if best.cost.is_some() { "cost".to_owned() } else { "kWh".to_owned() };
    let storage = best
        .lowest_storage_l
        .map_or_else(String::new, |l| format!(" Storage was at {} at the lowest.", compared.units.volume(l)));
    format!(
        "Against any time, most is saved with {}: {} of {of}{share}, what is kept in storage, tanks and battery \
         counted.{storage}",
        best.way,
        money(saved)
    )
}

/// Less time without anybody that feeds is what a generator takes to start. Our own choice.
const TOLD_DARK_H: f64 = 0.5;

/// So many minutes more of lukewarm water are no matter. Our own choice.
const WORSE_MIN: f64 = 5.0;

fn outage_headline(compared: &Compared<'_>, figures: &[Figures]) -> String {
    let said = figures.iter().map(|way| {
        let begin = compared.comparison.outage.map(|it| it.start.strftime("%Y-%m-%dT%H:%M:%S").to_string());
        let since = way.first_run_out_at.as_ref().filter(|at| begin.as_ref().is_some_and(|begin| *at >= begin));
        let dry = match (since, way.run_out_minutes_from_outage.unwrap_or(0.0) > 0.0) {
            (Some(at), true) => format!("water runs out on {}", spoken_iso(at)),
            (None, true) => "water runs out".to_owned(),
            (_, false) => "water holds".to_owned(),
        };
        let fed_hours = way.battery_hours.unwrap_or(0.0) + way.generator_hours.unwrap_or(0.0);
        let dark = way.dark_hours.filter(|hours| *hours > TOLD_DARK_H && fed_hours > 0.0);
        let dark = dark.map_or_else(String::new, |hours| {
            format!(", nobody feeds for {}", compared.units.duration(3_600.0 * hours))
        });
        format!("{}: {dry}{dark}.", capital(&way.way))
    });
    said.collect::<Vec<_>>().join(" ")
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}
