//! How much is drawn at once: the highest mean flow over windows of 1 to 60 minutes, and how it differs between runs.

use springhouse_core::time::Span;
use springhouse_draws::tally::WINDOWS;

use super::{HEIGHT, LEFT, RIGHT};
use crate::chart::axis::ValueAxis;
use crate::chart::ink::{GRID, QUIET, TEXT, TROUBLE, WATER};
use crate::chart::{Align, Area, BODY, Page, Point};
use crate::draws::{Drawn, Spread, text};
use crate::numbers::Scale;

/// Room at both sides of the windows, for the numbers.
const INSET: f64 = 34.0;

/// A page where nothing is drawn says so and no more.
pub(in crate::plots) fn page(drawn: &Drawn<'_>) -> Page {
    let many = drawn.gathering.runs() > 1;
    let spreads = drawn.gathering.gathered().peaks_lps().each_ref().map(|peaks| Spread::of(peaks));
    let [minute, .., hour] = &spreads;
    if minute.highest <= 0.0 {
        return Page::new("Nothing is drawn in buildings", &text::subject(drawn));
    }
    let (within, brief) = drawn.hardly_exceeded(minute);
    let (_, long) = drawn.hardly_exceeded(hour);
    let title = match within.as_str() {
        "" => format!("Peak flow: {brief} over a minute, {long} over an hour"),
        within => format!("Peak flow: {within}at most {brief} over a minute, {long} over an hour"),
    };
    let mut page = Page::new(&title, &text::subject(drawn));
    let scale = Scale::flow(drawn.units);
    page.y += 12.0;
    page.heading(&format!("Highest mean flow of a run, {}", scale.unit));
    page.y += 10.0;
    let area = Area::new(LEFT, page.y, RIGHT, page.y + HEIGHT);
    // Room for the numbers over the highest.
    let values = ValueAxis::up(area, 1.08 * scale.value(minute.highest));
    values.grid(&mut page);
    let line = |of: fn(&Spread) -> f64| -> Vec<Point> {
        spreads.iter().enumerate().map(|(index, spread)| (x(index), values.y(scale.value(of(spread))))).collect()
    };
    for index in 0..WINDOWS.len() {
        page.line((x(index), area.top), (x(index), area.bottom), GRID, 1.0);
    }
    let highest = line(|spread| spread.highest);
    if many {
        let band = line(|spread| spread.p95).into_iter().chain(line(|spread| spread.p5).into_iter().rev()).collect();
        page.polygon(band, WATER.thin(0.25));
        page.path(line(|spread| spread.p50), WATER, 2.5);
        dotted(&mut page, &highest);
    } else {
        page.path(highest.clone(), WATER, 2.5);
    }
    page.line((LEFT, area.bottom), (RIGHT, area.bottom), QUIET, 1.0);
    for (&(x, y), spread) in highest.iter().zip(&spreads) {
        let figure = drawn.units.flow(spread.highest);
        let figure = figure.split(' ').next().unwrap_or_default();
        // To the right, where the falling line leaves room.
        page.label((x + 5.0, y - 0.65 * BODY), figure, TEXT, Align::Left);
    }
    page.y = area.bottom + 0.9 * BODY;
    for (index, window) in WINDOWS.iter().enumerate() {
        let minutes = window.ns() / Span::MINUTE.ns();
        page.label((x(index), page.y), &format!("{minutes} min"), TEXT, Align::Middle);
    }
    page.y += 1.5 * BODY;
    page.label((0.5 * (LEFT + RIGHT), page.y), "averaged over so long", QUIET, Align::Middle);
    page.y += 1.2 * BODY;
    if many {
        key(&mut page);
    }
    page
}

/// Windows stand at equal distances, whatever their length.
#[expect(clippy::cast_precision_loss, reason = "a few windows")]
fn x(index: usize) -> f64 {
    let (left, right) = (LEFT + INSET, RIGHT - INSET);
    left + (right - left) * index as f64 / (WINDOWS.len() - 1) as f64
}

/// A small square at each point, joined by a thin line.
fn dotted(page: &mut Page, points: &[Point]) {
    const HALF: f64 = 2.5;
    page.path(points.to_vec(), TROUBLE, 1.0);
    for &(x, y) in points {
        page.fill(Area::new(x - HALF, y - HALF, x + HALF, y + HALF), TROUBLE);
    }
}

fn key(page: &mut Page) {
    let middle = |area: &Area| 0.5 * (area.top + area.bottom);
    page.key("the highest of all runs", |page, area| {
        let y = middle(&area);
        dotted(page, &[(area.left + 3.0, y), (area.right - 3.0, y)]);
    });
    page.key("nine of ten runs, from 5 % to 95 %", |page, area| page.fill(area, WATER.thin(0.25)));
    page.key("half of the runs are below", |page, area| {
        let y = middle(&area);
        page.line((area.left, y), (area.right, y), WATER, 2.5);
    });
}
