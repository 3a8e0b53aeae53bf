//! The plots of a run. Each title says the answer.

mod draws;
mod energy;
mod hot_water;
mod levels;
mod membrane;
mod product;
mod pump;
mod run_outs;
mod season;
mod study;
mod sun;
mod tune;

pub use crate::chart::DrawError;

use springhouse_core::time::Time;

use crate::chart::{Page, png, svg};
use crate::draws::Drawn;
use crate::numbers::{len, times};
use crate::study::Told;
use crate::tune::Tuned;
use crate::{Run, spells};

/// A plot, ready to be drawn.
#[derive(Clone, Debug)]
pub struct Plot {
    /// Name of its files, without their ending.
    pub name: &'static str,
    page: Page,
}

impl Plot {
    /// What it says.
    #[must_use]
    pub fn title(&self) -> &str {
        &self.page.title
    }

    /// As the text of an SVG.
    ///
    /// # Errors
    /// When the picture cannot be made, which no run is known to cause.
    pub fn svg(&self) -> Result<String, DrawError> {
        svg(&self.page)
    }

    /// As the bytes of a PNG, the same picture.
    ///
    /// # Errors
    /// When the picture cannot be made, which no run is known to cause.
    pub fn png(&self) -> Result<Vec<u8>, DrawError> {
        png(&self.svg()?)
    }
}

/// All plots of a run.
#[must_use]
pub fn all(run: &Run<'_>) -> Vec<Plot> {
    let mut plots = vec![
        Plot { name: "levels", page: levels::page(run) },
        Plot { name: "pump", page: pump::page(run) },
        Plot { name: "run-outs", page: run_outs::page(run) },
        Plot { name: "energy", page: energy::page(run) },
    ];
    plots.extend(sun::page(run).map(|page| Plot { name: "sun", page }));
    plots.extend(membrane::page(run).map(|page| Plot { name: "membrane", page }));
    plots.extend(hot_water::page(run).map(|page| Plot { name: "hot-water", page }));
    plots.extend(season::page(run).map(|page| Plot { name: "season", page }));
    plots.extend(product::page(run).map(|page| Plot { name: "product-by-temperature", page }));
    plots
}

/// Days from which a run has a season to show.
const SEASON_DAYS: usize = 28;

/// The map of a membrane unit's valves.
#[must_use]
pub fn tune(tuned: &Tuned<'_>) -> Plot {
    Plot { name: "tune", page: tune::page(tuned) }
}

/// The fullest day of what people draw, and how much they draw at once.
#[must_use]
pub fn draws(drawn: &Drawn<'_>) -> [Plot; 2] {
    [Plot { name: "day", page: draws::day::page(drawn) }, Plot { name: "peak", page: draws::peak::page(drawn) }]
}

/// Pictures of a study of many runs, those that say something of it.
#[must_use]
pub fn study(told: &Told<'_>) -> Vec<Plot> {
    let pages = [
        ("trade-off", study::trade_off::page(told)),
        ("heat-map", study::heat_map::page(told)),
        ("tornado", study::tornado::page(told)),
        ("distribution", study::distribution::page(told)),
    ];
    pages.into_iter().filter_map(|(name, page)| Some(Plot { name, page: page? })).collect()
}

/// How often pressure was low and for how long in all; as so much a day only where it was on most days.
fn low_for(run: &Run<'_>) -> String {
    let (days, spells) = (run.outcome.summary.days, spells::low_pressure(run));
    let time_s = 60.0 * run.outcome.summary.pressure.minutes_below_set;
    let mean_s = time_s / f64::from(days.max(1));
    let low_on = |day: &u32| {
        let (from, to) = (Time::from_day(i64::from(*day)), Time::from_day(i64::from(*day) + 1));
        spells.iter().any(|spell| spell.start < to && spell.end > from)
    };
    let low_days = len(&(0..days).filter(low_on).collect::<Vec<_>>());
    let long = run.units.duration(time_s);
    match spells.len() {
        0 | 1 => format!("for {long}"),
        _ if mean_s >= 60.0 && 2 * low_days > u64::from(days) && days > 1 => {
            format!("for {} a day", run.units.duration(mean_s))
        }
        _ => format!("{}, {long} in all", times(len(&spells))),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ready::Ready;
    use springhouse_core::observe::{Event, EventKind, Part};

    #[test]
    fn exact_a_mean_a_day_only_where_it_is_on_most_days() {
        let mut ready = Ready::run("direct", 7);
        let event = |day: i64, minute: f64, kind| {
            let time = Time::from_day(day) + springhouse_core::time::Span::from_s(60.0 * minute);
            Event { time, part: Part::Site, kind, value: 0.0 }
        };
        let mut told = |days: &[i64], minutes: f64| {
            let spell = |day: &i64| {
                [event(*day, 400.0, EventKind::PressureLow), event(*day, 400.0 + minutes, EventKind::PressureBack)]
            };
            ready.outcome.events = days.iter().flat_map(spell).collect();
            let count = f64::from(u32::try_from(days.len()).unwrap());
            ready.outcome.summary.pressure.minutes_below_set = count * minutes;
            low_for(&ready.told())
        };
        assert_eq!(told(&[4], 360.0), "for 6 h");
        assert_eq!(told(&[0, 2, 4], 28.0), "3 times, 1 h 24 min in all");
        assert_eq!(told(&[0, 1, 2, 4], 28.0), "for 16 min a day");
        assert_eq!(told(&[0, 1, 2, 4], 1.0), "4 times, 4 min in all");
    }
}
