//! The same plant in other hours.

use springhouse_core::heater::Source;
use springhouse_core::hot_water::{HeaterPlace, SunBoost, Window};
use springhouse_core::membrane::{Membrane, RunHours};
use springhouse_core::plant::Parts;
use springhouse_core::power::PowerHour;
use springhouse_core::time::Span;
use springhouse_scenario::Scenario;
use springhouse_sim::{Outcome, RunOptions};

use super::{Asked, CompareError, run_all};

/// Length of the hours by the clock. Our own choice.
const WINDOW_H: usize = 5;
/// In those hours heaters are kept so much hotter, up to this, and outside of them so much cooler. Our own choice.
const HOTTER_K: f64 = 5.0;
const HOTTEST_C: f64 = 65.0;
const COOLER_K: f64 = 8.0;
/// A membrane unit runs at any hour once storage is under this part of where its floats call, until that. Our own choice.
const URGENT_SHARE: f64 = 0.5;
const RELAXED_SHARE: f64 = 0.7;

/// A unit that takes nothing, or that the run never calls, goes by a sun that leaves anything at all.
const LEAST_W: f64 = 1.0;

/// What parts go by.
#[derive(Clone, Copy)]
enum By {
    /// Hours of the day, from midnight.
    Clock(Span, Span),
    /// What the sun leaves; for the membrane unit with its supply, so much.
    Sun { membrane_w: f64 },
}

/// Membrane unit and heaters, each and together, by the clock and by the sun.
pub(super) fn ways(scenario: &Scenario, options: &RunOptions) -> Result<(Vec<Asked>, Vec<String>), CompareError> {
    let plant = &scenario.plant;
    let (has_membrane, has_heaters) = (plant.membrane.is_some(), !plant.hot_water.is_empty());
    if !has_membrane && !has_heaters {
        return Err(CompareError::NothingToMove);
    }
    let start_h = best_hours(&options.power).ok_or(CompareError::NothingToGoBy)?;
    let clock = |hour: usize| Span::from_s(3_600.0 * f64::from(u32::try_from(hour % 24).unwrap_or(0)));
    let window = By::Clock(clock(start_h), clock(start_h + WINDOW_H));
    let hours = format!("{start_h:02}:00 to {:02}:00", (start_h + WINDOW_H) % 24);
    let any = Asked::with("at any time", scenario, free)?;
    let moves_already = any.scenario.plant != *plant;
    let mut bys = vec![(format!("from {hours}"), window)];
    let mut assumed = Vec::new();
    if options.power.iter().any(|hour| hour.solar_w > 0.0) {
        let membrane_w = if has_membrane { membrane_w(&any, options)?.max(LEAST_W) } else { LEAST_W };
        bys.push(("while the sun leaves enough".to_owned(), By::Sun { membrane_w }));
        if has_membrane {
            assumed.push(format!(
                "Enough for the membrane unit is what it and its supply take, {membrane_w:.0} W; for a heater, what it takes"
            ));
        }
    }
    let mut asked = vec![Asked { name: any.name.clone(), as_given: !moves_already, scenario: any.scenario.clone() }];
    if moves_already {
        asked.insert(0, Asked::as_given(scenario));
    }
    let which = [("membrane", true, false), ("heaters", false, true), ("membrane and heaters", true, true)];
    let which =
        which.into_iter().filter(|(_, membrane, heaters)| (!membrane || has_membrane) && (!heaters || has_heaters));
    for (part, membrane, heaters) in which {
        for (words, by) in &bys {
            asked.push(Asked::with(&format!("{part} {words}"), &any.scenario, |parts| {
                hold(parts, (membrane, heaters), *by);
            })?);
        }
    }
    if has_membrane {
        assumed.push(
            "Outside its hours the membrane unit runs only once storage is at half of where its floats call, until 70 % of that"
                .to_owned(),
        );
    }
    if has_heaters {
        assumed.push(format!(
            "In their hours heaters are kept {HOTTER_K} K (9 °F) hotter than set, {HOTTEST_C} °C (149 °F) at most, outside \
             {COOLER_K} K (14 °F) cooler; windows that they have stay as they are"
        ));
    }
    Ok((asked, assumed))
}

/// First of the hours of the day, one after the other, with the most sun, or with the lowest price where there is no sun; `None`
/// where all hours are alike.
fn best_hours(hours: &[PowerHour]) -> Option<usize> {
    let has_sun = hours.iter().any(|hour| hour.solar_w > 0.0);
    let worth = |hour: &PowerHour| if has_sun { hour.solar_w } else { -hour.import_per_kwh };
    let mut by_hour = [0.0; 24];
    for (i, hour) in hours.iter().enumerate() {
        by_hour[i % 24] += worth(hour);
    }
    let of = |start: usize| (start..start + WINDOW_H).map(|hour| by_hour[hour % 24]).sum::<f64>();
    let (best, least) = (0..24).fold((0, f64::INFINITY), |(best, least), start| {
        (if of(start) > of(best) { start } else { best }, f64::min(least, of(start)))
    });
    (of(best) > least + 1e-9 * least.abs()).then_some(best)
}

/// Lets everything run at any time.
fn free(parts: &mut Parts) {
    if let Some(membrane) = &mut parts.membrane {
        membrane.hours = None;
    }
    for heater in &mut parts.hot_water.heaters {
        heater.settings.sun = None;
    }
}

/// Holds membrane unit or heaters to hours.
fn hold(parts: &mut Parts, (membrane, heaters): (bool, bool), by: By) {
    let floats = parts.store.as_ref().and_then(|store| store.storage.fill.floats_l());
    let calls_l = floats.map_or(0.0, |(start_l, _)| start_l);
    if let Some(unit) = parts.membrane.as_mut().filter(|_| membrane) {
        hold_membrane(unit, calls_l, by);
    }
    for heater in parts.hot_water.heaters.iter_mut().filter(|_| heaters) {
        hold_heater(heater, by);
    }
}

fn hold_membrane(unit: &mut Membrane, calls_l: f64, by: By) {
    let (windows, surplus_w) = match by {
        By::Clock(start, end) => (vec![(start, end)], None),
        By::Sun { membrane_w } => (Vec::new(), Some(membrane_w)),
    };
    let (urgent_l, relaxed_l) = (URGENT_SHARE * calls_l, RELAXED_SHARE * calls_l);
    unit.hours = Some(RunHours { windows, surplus_w, urgent_l, relaxed_l });
}

fn hold_heater(heater: &mut HeaterPlace, by: By) {
    let settings = &mut heater.settings;
    let hotter_c = settings.set_c.max((settings.set_c + HOTTER_K).min(HOTTEST_C));
    match by {
        By::Clock(start, end) => {
            settings.windows.insert(0, Window { start, end, set_c: hotter_c, mode: settings.mode });
        }
        By::Sun { .. } => {
            let surplus_w = match &heater.heater.source {
                Source::HeatPump(pump, _) => pump.rated_heat_w / TYPICAL_COP + pump.fan_w,
                Source::Electric(elements) => elements.lower.or(elements.upper).map_or(0.0, |it| it.power_w),
                // A burner gains nothing by the sun.
                Source::Fuel(_) => return,
            };
            settings.sun = Some(SunBoost { surplus_w, set_c: hotter_c, mode: settings.mode });
        }
    }
    settings.set_c -= COOLER_K;
}

/// Of a compressor on warm water, for how much it takes. Our own choice.
const TYPICAL_COP: f64 = 3.0;

/// What the membrane unit and the supplies that feed it take while they run, as a run of the plant shows.
fn membrane_w(any: &Asked, options: &RunOptions) -> Result<f64, CompareError> {
    let probe = Asked { name: any.name.clone(), as_given: false, scenario: any.scenario.clone() };
    let options = RunOptions { daily: true, ..options.clone() };
    let runs = run_all(vec![probe], &options)?;
    let mean_w = |energy_j: f64, run_s: f64| if run_s > 0.0 { energy_j / run_s } else { 0.0 };
    let of_day = |outcome: &Outcome| {
        let sum = |of: &dyn Fn(&springhouse_sim::Day) -> f64| outcome.days.iter().map(of).sum::<f64>();
        let unit_w = mean_w(sum(&|day| day.totals.membrane.pump_j), sum(&|day| day.totals.membrane.run_s));
        let supplies_j = sum(&|day| day.totals.supplies.iter().map(|supply| supply.pump_j).sum());
        let supplies_s = sum(&|day| day.totals.supplies.iter().map(|supply| supply.run_s).sum());
        unit_w + mean_w(supplies_j, supplies_s)
    };
    Ok(runs.iter().map(|(_, outcome)| of_day(outcome)).sum())
}
