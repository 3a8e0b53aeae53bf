//! Strips that show when compressor, element and burner were on, and for how long in all.

use springhouse_core::heater::Source;
use springhouse_core::hot_water::HeaterPlace;
use springhouse_core::time::Span;
use springhouse_scenario::Units;

use crate::Run;
use crate::chart::axis::TimeAxis;
use crate::chart::ink::{LEVEL, STRIP};
use crate::chart::{Align, Area, BODY, Page, WIDTH};
use crate::numbers::fixed;
use crate::plots::levels::{EDGE, GAP};
use crate::plots::pump::{NEARLY_ALL, partly};
use crate::spells::{self, Spell};

/// Half the height of a strip.
const HALF: f64 = 5.0;
/// Width of a column: as narrow as one is seen for itself. In a week it is about an hour.
const COLUMN: f64 = 2.0;

/// What of a heater was on, and when.
pub(super) struct Strip {
    /// What it is and for how long it was on.
    pub(super) name: String,
    on: Vec<Spell>,
}

/// A strip for all that a heater has.
pub(super) fn strips(run: &Run<'_>, index: usize, of: &HeaterPlace) -> Vec<Strip> {
    let strip = |what: &str, on: Vec<Spell>| {
        let hours = hours(run, on.iter().map(|spell| spell.length_s()).sum());
        Strip { name: format!("{what}, {hours}"), on }
    };
    let compressor = || strip("compressor", spells::heats(run, index, |heater| heater.compressor_on));
    let element = || strip("element", spells::heats(run, index, |heater| heater.element_on));
    match of.heater.source {
        Source::HeatPump(..) => vec![compressor(), element()],
        Source::Electric(_) => vec![element()],
        Source::Fuel(_) => vec![strip("burner", spells::heats(run, index, |heater| heater.burner_on))],
    }
}

/// A time as so many hours; by rows further apart than the minutes of heaters it is no better than about right.
fn hours(run: &Run<'_>, seconds: f64) -> String {
    let about = if coarse(run).is_some() && seconds > 0.0 { "about " } else { "" };
    let hours = match seconds {
        s if s > 0.0 && s < 3_600.0 => run.units.duration(s),
        s if s > 0.0 && s < 36_000.0 => format!("{} h", fixed(s / 3_600.0, 1)),
        s => format!("{} h", fixed(s / 3_600.0, 0)),
    };
    format!("{about}{hours}")
}

/// The distance of rows that are too far apart to tell of every minute, in words.
pub(super) fn coarse(run: &Run<'_>) -> Option<String> {
    let [first, second, ..] = run.outcome.rows.as_slice() else { return None };
    let apart = second.time - first.time;
    (apart > Span::MINUTE).then(|| Units::duration(run.units, apart.s()))
}

impl Strip {
    /// Draws it: dark where it was on, pale where it was for a part of the time, with a dark foot as high as that part. Whether
    /// any is pale.
    pub(super) fn draw(&self, page: &mut Page, axis: &TimeAxis) -> bool {
        page.y += 0.75 * BODY;
        let area = Area::new(axis.left, page.y - HALF, axis.right, page.y + HALF);
        page.fill(area, STRIP);
        let columns = columns(&self.on, axis, area);
        let mut any_pale = false;
        for column in columns.chunk_by(|a, b| a.1 > NEARLY_ALL && b.1 > NEARLY_ALL) {
            let [(first, share), ..] = *column else { continue };
            let whole = Area { right: column.last().map_or(first.right, |(last, _)| last.right), ..first };
            if share > NEARLY_ALL {
                page.fill(whole, LEVEL);
            } else if share > 0.0 {
                partly(page, whole, share, LEVEL);
                any_pale = true;
            }
        }
        page.fitted_label((axis.right + GAP, page.y), &self.name, WIDTH - EDGE - axis.right - GAP, Align::Left);
        page.y += 0.75 * BODY;
        any_pale
    }
}

/// What pale stretches mean.
pub(super) fn key(page: &mut Page) {
    page.key("on for a part of the time: the dark part is its share", |page, area| partly(page, area, 0.45, LEVEL));
}

/// Columns of a strip, each with the share of its time that was within spells, which are in order.
fn columns(on: &[Spell], axis: &TimeAxis, strip: Area) -> Vec<(Area, f64)> {
    let mut columns = Vec::new();
    let mut left = strip.left;
    while left < strip.right {
        let column = Area { left, right: (left + COLUMN).min(strip.right), ..strip };
        // Only those that reach into it.
        let from = on.partition_point(|spell| axis.x(spell.end) <= column.left);
        let inside = on.iter().skip(from).take_while(|spell| axis.x(spell.start) < column.right);
        let width = inside.map(|spell| axis.x(spell.end).min(column.right) - axis.x(spell.start).max(column.left));
        columns.push((column, width.sum::<f64>() / column.width()));
        left += COLUMN;
    }
    columns
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;
    use springhouse_core::time::Time;

    #[test]
    fn exact_columns_are_shares_of_their_time() {
        // An hour is a page unit, a column two of them.
        let axis = TimeAxis { left: 0.0, right: 48.0, first_day: date(2027, 6, 7), days: 2 };
        let hours =
            |start: f64, end: f64| Spell { start: Time::from_s(3_600.0 * start), end: Time::from_s(3_600.0 * end) };
        let on = [hours(0.5, 1.0), hours(1.25, 1.5), hours(3.0, 7.0), hours(47.0, 48.0)];
        let columns = columns(&on, &axis, Area::new(0.0, 0.0, 48.0, 10.0));
        let shares: Vec<f64> = columns.iter().map(|(_, share)| *share).collect();
        let mut expected = [0.0; 24];
        (expected[0], expected[1], expected[2], expected[3], expected[23]) = (0.375, 0.5, 1.0, 0.5, 0.5);
        // A few roundings of times to places on the page.
        assert!(shares.len() == 24 && shares.iter().zip(expected).all(|(a, b)| (a - b).abs() < 1e-12), "{shares:?}");
        let all: f64 = columns.iter().map(|(column, share)| column.width() * share).sum();
        assert!((all - 5.75).abs() < 1e-12, "the hours that it was on: {all}");
    }
}
