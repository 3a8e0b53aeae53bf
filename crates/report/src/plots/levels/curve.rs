//! The curve of a panel: a line with its dips, or in a long run the band that it stays in.

use springhouse_core::time::Time;
use springhouse_sim::Row;

use super::panels::Panel;
use crate::chart::axis::{TimeAxis, ValueAxis};
use crate::chart::ink::WATER;
use crate::chart::{Area, Page, Point};

/// In days narrower than this a line would be a scribble: the band that it stays in is drawn instead.
pub(in crate::plots) const BAND_FROM: f64 = 20.0;

/// The look of a dip.
pub(super) fn dip(page: &mut Page, area: Area) {
    page.fill(area, WATER.thin(0.38));
}

/// Draws the curve; what `between` draws lies over the water and under the line. Says whether
/// there was a dip.
pub(super) fn draw(
    page: &mut Page,
    rows: &[Row],
    panel: &Panel<'_>,
    axis: &TimeAxis,
    values: &ValueAxis,
    between: impl FnOnce(&mut Page),
) -> bool {
    let y = |row: &Row| values.y((panel.value)(row));
    // Pixels grow downwards: the lowest value has the largest `y` where values run up.
    let low_y = |row: &Row| panel.lowest.as_ref().map_or(y(row), |lowest| y(row).max(values.y(lowest(row))));
    let banded = axis.day_width() < BAND_FROM;
    let (upper, lower) = if banded { band(rows, axis, y, low_y) } else { (Vec::new(), traced(rows, axis, y)) };
    if let (true, Some(first), Some(last)) = (panel.filled, lower.first(), lower.last()) {
        let ends = [(last.0, values.area.bottom), (first.0, values.area.bottom)];
        page.polygon([lower.as_slice(), &ends].concat(), WATER.thin(0.16));
    }
    between(page);
    if banded {
        if lower.len() > 1 {
            page.polygon(upper.into_iter().chain(lower.into_iter().rev()).collect(), WATER.thin(0.5));
        }
        return false;
    }
    let dips = dips(rows, axis, y, low_y);
    let dipped = !dips.is_empty();
    for area in dips {
        dip(page, area);
    }
    if lower.len() > 1 {
        page.path(lower, WATER, 1.25);
    }
    dipped
}

/// Rows that share half a page unit.
fn columns<'r>(rows: &'r [Row], axis: &TimeAxis) -> impl Iterator<Item = &'r [Row]> {
    let axis = *axis;
    let column = move |time: Time| (2.0 * axis.x(time)).floor();
    rows.chunk_by(move |a, b| column(a.time) == column(b.time))
}

/// The line of a value: of the rows of a column the first, the extremes and the last.
pub(in crate::plots) fn traced(rows: &[Row], axis: &TimeAxis, y: impl Fn(&Row) -> f64) -> Vec<Point> {
    let mut points: Vec<Point> = Vec::new();
    for group in columns(rows, axis) {
        let at = |row: &Row| (axis.x(row.time), y(row));
        let all = || group.iter().enumerate();
        let lowest = all().min_by(|a, b| y(a.1).total_cmp(&y(b.1))).map_or(0, |(index, _)| index);
        let highest = all().max_by(|a, b| y(a.1).total_cmp(&y(b.1))).map_or(0, |(index, _)| index);
        let mut kept = [0, lowest.min(highest), lowest.max(highest), group.len() - 1].to_vec();
        kept.dedup();
        points.extend(kept.into_iter().filter_map(|index| group.get(index)).map(at));
    }
    points
}

/// How far the value fell under its line in between, where that can be seen.
fn dips(rows: &[Row], axis: &TimeAxis, y: impl Fn(&Row) -> f64, low_y: impl Fn(&Row) -> f64) -> Vec<Area> {
    const SEEN: f64 = 1.0;
    let mut areas = Vec::new();
    let mut before: Option<&Row> = None;
    for group in columns(rows, axis) {
        if let (Some(first), Some(last)) = (before.or(group.first()), group.last()) {
            let top = group.iter().chain([first]).map(&y).fold(f64::NEG_INFINITY, f64::max);
            let bottom = group.iter().map(&low_y).fold(f64::NEG_INFINITY, f64::max);
            if bottom > top + SEEN {
                areas.push(Area::new(axis.x(first.time), top, axis.x(last.time), bottom).at_least(SEEN, &whole(axis)));
            }
        }
        before = group.last();
    }
    areas
}

/// From end to end of the axis.
fn whole(axis: &TimeAxis) -> Area {
    Area::new(axis.left, 0.0, axis.right, 0.0)
}

/// The upper and the lower edge of what a value was in each day.
pub(in crate::plots) fn band(
    rows: &[Row],
    axis: &TimeAxis,
    y: impl Fn(&Row) -> f64,
    low_y: impl Fn(&Row) -> f64,
) -> (Vec<Point>, Vec<Point>) {
    let (mut upper, mut lower) = (Vec::new(), Vec::new());
    for day in rows.chunk_by(|a, b| a.time.day() == b.time.day()) {
        let top = day.iter().map(&y).fold(f64::INFINITY, f64::min);
        let bottom = day.iter().map(&low_y).fold(f64::NEG_INFINITY, f64::max);
        for row in [day.first(), day.last()].into_iter().flatten() {
            upper.push((axis.x(row.time), top));
            lower.push((axis.x(row.time), bottom));
        }
    }
    (upper, lower)
}
