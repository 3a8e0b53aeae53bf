//! Starts of a pump by day, against what is good for its motor.

use springhouse_sim::MOST_STARTS_IN_A_DAY;

use crate::Run;
use crate::chart::axis::{TimeAxis, ValueAxis};
use crate::chart::bars::Bars;
use crate::chart::ink::{LEVEL, QUIET, TROUBLE, WATER};
use crate::chart::{Align, Area, BODY, Look, MARGIN, Page, WIDTH};

const LEFT: f64 = MARGIN + 42.0;
/// Leaves room for the name of the limit.
const RIGHT: f64 = WIDTH - MARGIN - 66.0;
const HEIGHT: f64 = 64.0;

/// The look of a day with more starts than the limit.
pub(super) const OVER: Look = Look::hatched(TROUBLE);

pub(super) fn is_over(starts: f64) -> bool {
    starts > f64::from(MOST_STARTS_IN_A_DAY)
}

/// A bar for each day, and a line at the limit.
pub(super) fn draw(page: &mut Page, run: &Run<'_>, by_day: &[f64], days: u32) {
    let axis = TimeAxis { left: LEFT, right: RIGHT, first_day: run.first_day, days };
    let limit = f64::from(MOST_STARTS_IN_A_DAY);
    page.y += 0.6 * BODY;
    page.label((MARGIN, page.y), "Starts a day", QUIET, Align::Left);
    page.y += 1.1 * BODY;
    let area = Area::new(LEFT, page.y, RIGHT, page.y + HEIGHT);
    let values = ValueAxis::up(area, by_day.iter().copied().fold(limit, f64::max));
    values.grid(page);
    Bars::daily(&axis).draw(page, &values, by_day, |starts| if is_over(starts) { OVER } else { Look::solid(WATER) });
    page.dashes((area.left, values.y(limit)), area.right, LEVEL);
    page.label((RIGHT + 6.0, values.y(limit)), &format!("limit {limit}"), QUIET, Align::Left);
    page.y = area.bottom;
    axis.day_labels(page);
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chart::Shape;
    use crate::ready::Ready;

    #[test]
    fn only_days_over_the_limit_are_hatched() {
        let ready = Ready::run("direct", 3);
        let marked = |by_day: [f64; 3]| {
            let mut page = Page::new("", "");
            draw(&mut page, &ready.told(), &by_day, 3);
            let tints = page.shapes.iter().filter(|shape| match shape {
                Shape::Fill(_, ink) => ink.rgb == TROUBLE.rgb,
                _ => false,
            });
            tints.count()
        };
        assert_eq!(marked([0.0, 12.0, 300.0]), 0);
        assert_eq!(marked([301.0, 12.0, 5_000.0]), 2);
    }
}
