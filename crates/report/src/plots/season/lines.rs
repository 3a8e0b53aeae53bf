//! Lines and bands through the values of days.

use crate::chart::axis::{TimeAxis, ValueAxis};
use crate::chart::ink::WATER;
use crate::chart::{Ink, Page, Point};

/// Half of a day.
const NOON: f64 = 0.5;

/// The place of day `day`, and the share of it that is over.
fn x(axis: &TimeAxis, day: usize, share: f64) -> f64 {
    axis.day_x(u32::try_from(day).unwrap_or(u32::MAX)) + share * axis.day_width()
}

/// A line through values of whole days, with gaps where a day has none; a day between gaps is a short line across it.
pub(super) fn through_days(
    page: &mut Page,
    axis: &TimeAxis,
    values: &ValueAxis,
    of: impl Iterator<Item = Option<f64>>,
    (ink, width): (Ink, f64),
) {
    let days: Vec<(usize, Option<f64>)> = of.enumerate().collect();
    for run in days.chunk_by(|a, b| a.1.is_some() == b.1.is_some()) {
        let known = run.iter().filter_map(|(day, value)| Some((*day, values.y((*value)?))));
        let points: Vec<Point> = known.map(|(day, y)| (x(axis, day, NOON), y)).collect();
        match points.as_slice() {
            [] => {}
            &[(middle, y)] => {
                let half = (0.5 * axis.day_width()).max(1.0);
                page.path(vec![(middle - half, y), (middle + half, y)], ink, width);
            }
            _ => page.path(points, ink, width),
        }
    }
}

/// The line of what is so at the start of the run, where that is known, and at the end of each day.
fn at_ends(axis: &TimeAxis, values: &ValueAxis, start: Option<f64>, of: impl Iterator<Item = f64>) -> Vec<Point> {
    let start = start.map(|value| (axis.left, values.y(value)));
    start.into_iter().chain(of.enumerate().map(|(day, value)| (x(axis, day, 1.0), values.y(value)))).collect()
}

/// A line of what is so at the ends of days.
pub(super) fn through_ends(
    page: &mut Page,
    axis: &TimeAxis,
    values: &ValueAxis,
    (start, of): (Option<f64>, impl Iterator<Item = f64>),
    (ink, width): (Ink, f64),
) {
    page.path(at_ends(axis, values, start, of), ink, width);
}

/// A water level, with water under it.
pub(super) fn level(page: &mut Page, axis: &TimeAxis, values: &ValueAxis, start: f64, of: impl Iterator<Item = f64>) {
    let surface = at_ends(axis, values, Some(start), of);
    if let (Some(first), Some(last)) = (surface.first(), surface.last()) {
        let foot = [(last.0, values.area.bottom), (first.0, values.area.bottom)];
        page.polygon([surface.as_slice(), &foot].concat(), WATER.thin(0.16));
    }
    page.path(surface, WATER, 1.25);
}

/// A band from the lowest to the highest of each day, with gaps where a day has none.
pub(super) fn band(
    page: &mut Page,
    axis: &TimeAxis,
    values: &ValueAxis,
    of: impl Iterator<Item = Option<(f64, f64)>>,
    ink: Ink,
) {
    let days: Vec<(usize, Option<(f64, f64)>)> = of.enumerate().collect();
    for run in days.chunk_by(|a, b| a.1.is_some() == b.1.is_some()) {
        let known: Vec<(usize, (f64, f64))> = run.iter().filter_map(|(day, range)| Some((*day, (*range)?))).collect();
        let edge = |of: fn(&(f64, f64)) -> f64| -> Vec<Point> {
            let ends = known.iter().flat_map(|(day, range)| [(*day, 0.0, of(range)), (*day, 1.0, of(range))]);
            ends.map(|(day, share, value)| (x(axis, day, share), values.y(value))).collect()
        };
        if !known.is_empty() {
            let (low, high) = (edge(|range| range.0), edge(|range| range.1));
            page.polygon(low.into_iter().chain(high.into_iter().rev()).collect(), ink);
        }
    }
}
