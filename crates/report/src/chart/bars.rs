//! Bars over the days of a run: one for each day, or for each week or month where days are too narrow.

use core::ops::Range;

use jiff::civil::Weekday;

use super::axis::{TimeAxis, ValueAxis};
use super::ink::{Look, QUIET, TEXT};
use super::page::{Align, Area, BODY, Page, label_width};

/// What a bar stands for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Each {
    Day,
    /// From Monday on; the first and the last may be cut short by the run.
    Week,
    Month,
}

impl Each {
    pub(crate) fn name(self) -> &'static str {
        match self {
            Self::Day => "day",
            Self::Week => "week",
            Self::Month => "month",
        }
    }
}

/// Where the bars stand.
#[derive(Clone, Debug)]
pub(crate) struct Bars {
    pub(crate) each: Each,
    axis: TimeAxis,
    /// The days of each.
    days: Vec<Range<u32>>,
}

impl Bars {
    /// A bar for each day, or of the shortest stretches that leave bars wide enough to be hatched.
    pub(crate) fn new(axis: &TimeAxis) -> Self {
        const LEAST: f64 = 8.0;
        let each = match axis.day_width() {
            width if width >= LEAST => Each::Day,
            width if 7.0 * width >= LEAST => Each::Week,
            _ => Each::Month,
        };
        Self::of(axis, each)
    }

    /// A bar for each day, however narrow.
    pub(crate) fn daily(axis: &TimeAxis) -> Self {
        Self::of(axis, Each::Day)
    }

    fn of(axis: &TimeAxis, each: Each) -> Self {
        let begins = |day: &u32| match each {
            Each::Day => true,
            Each::Week => axis.date(*day).weekday() == Weekday::Monday,
            Each::Month => axis.date(*day).day() == 1,
        };
        let starts: Vec<u32> = (0..axis.days).filter(|day| *day == 0 || begins(day)).collect();
        let ends = starts.iter().skip(1).copied().chain([axis.days]);
        let days = starts.iter().copied().zip(ends).map(|(start, end)| start..end).collect();
        Self { each, axis: *axis, days }
    }

    /// The sum over the days of each bar.
    pub(crate) fn sums(&self, by_day: &[f64]) -> Vec<f64> {
        let index = |day: u32| usize::try_from(day).unwrap_or(usize::MAX);
        let of = |days: &Range<u32>| by_day.get(index(days.start)..index(days.end)).unwrap_or_default().iter().sum();
        self.days.iter().map(of).collect()
    }

    /// The room of a bar between two heights: in the middle of its days, with gaps where there is room for them.
    fn area(&self, index: usize, top: f64, bottom: f64) -> Area {
        const WIDEST: f64 = 44.0;
        const NO_GAP: f64 = 4.0;
        let Range { start, end } = self.days.get(index).cloned().unwrap_or(0..0);
        let (left, right) = (self.axis.day_x(start), self.axis.day_x(end));
        let width = if right - left < NO_GAP { right - left } else { (0.8 * (right - left)).min(WIDEST) };
        let middle = 0.5 * (left + right);
        Area::new(middle - 0.5 * width, top, middle + 0.5 * width, bottom)
    }

    /// One bar for each value, high enough to be seen.
    pub(crate) fn draw(&self, page: &mut Page, axis: &ValueAxis, values: &[f64], look: impl Fn(f64) -> Look) {
        const LEAST: f64 = 1.5;
        baseline(page, axis);
        let foot = axis.y(0.0);
        for (index, value) in values.iter().enumerate().filter(|(_, value)| **value > 0.0) {
            page.cover(self.area(index, axis.y(*value).min(foot - LEAST), foot), look(*value));
        }
    }

    /// Parts on top of each other, the first at the foot.
    pub(crate) fn stack(&self, page: &mut Page, axis: &ValueAxis, parts: &[(Look, Vec<f64>)]) {
        baseline(page, axis);
        for (index, _) in self.days.iter().enumerate() {
            let mut foot = 0.0;
            for (look, values) in parts {
                let value = values.get(index).copied().unwrap_or(0.0);
                if value > 0.0 {
                    page.cover(self.area(index, axis.y(foot + value), axis.y(foot)), *look);
                    foot += value;
                }
            }
        }
    }

    /// Whether numbers over the bars would have room side by side.
    pub(crate) fn have_room(&self, values: &[f64], say: impl Fn(f64) -> String) -> bool {
        let room = |days: &Range<u32>| self.axis.day_x(days.end) - self.axis.day_x(days.start);
        let fits = |(days, value): (&Range<u32>, &f64)| *value <= 0.0 || label_width(&say(*value)) + 4.0 <= room(days);
        self.days.iter().zip(values).all(fits)
    }

    /// Numbers over bars that are not empty.
    pub(crate) fn numbers(&self, page: &mut Page, axis: &ValueAxis, values: &[f64], say: impl Fn(f64) -> String) {
        for (index, value) in values.iter().enumerate().filter(|(_, value)| **value > 0.0) {
            let area = self.area(index, axis.y(*value), axis.y(0.0));
            let over = (0.5 * (area.left + area.right), area.top - 0.65 * BODY);
            page.label(over, &say(*value), TEXT, Align::Middle);
        }
    }
}

fn baseline(page: &mut Page, axis: &ValueAxis) {
    let (area, y) = (axis.area, axis.y(0.0));
    page.line((area.left, y), (area.right, y), QUIET, 1.0);
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;

    /// A run from a Thursday on.
    fn axis(days: u32, width: f64) -> TimeAxis {
        TimeAxis { left: 50.0, right: 50.0 + width, first_day: date(2026, 7, 30), days }
    }

    #[test]
    fn exact_bars_stand_for_days_weeks_and_months() {
        for (days, each, first, bars) in [(14, Each::Day, 1, 14), (60, Each::Week, 4, 9), (1_000, Each::Month, 2, 34)] {
            let bars_of = Bars::new(&axis(days, 400.0));
            assert_eq!((bars_of.each, bars_of.days.len()), (each, bars), "{days} days");
            assert_eq!(bars_of.days[0], 0..first, "{days} days");
            assert_eq!(bars_of.days.last().map(|last| last.end), Some(days));
        }
    }

    #[test]
    fn exact_sums_leave_no_day_out() {
        let bars = Bars::of(&axis(20, 100.0), Each::Week);
        let by_day: Vec<f64> = (1..=20).map(f64::from).collect();
        // Thu to Sun, two whole weeks, Mon and Tue.
        assert_eq!(bars.sums(&by_day), [10.0, 56.0, 105.0, 39.0]);
        assert_eq!(bars.sums(&[]), [0.0; 4]);
    }

    #[test]
    fn exact_parts_stand_on_each_other() {
        use crate::chart::ink::PUMPS;
        use crate::chart::page::Shape;
        let bars = Bars::daily(&axis(2, 100.0));
        let values = ValueAxis::up(Area::new(50.0, 0.0, 150.0, 104.0), 100.0);
        let mut page = Page::new("", "");
        bars.stack(&mut page, &values, &[(PUMPS[0], vec![30.0, 0.0]), (PUMPS[2], vec![20.0, 50.0])]);
        let fills: Vec<(f64, f64)> = page
            .shapes
            .iter()
            .filter_map(|shape| match shape {
                Shape::Fill(area, _) => Some((area.bottom, area.top)),
                _ => None,
            })
            .collect();
        let expected = [(104.0, 74.0), (74.0, 54.0), (104.0, 54.0)];
        assert_eq!(fills.len(), expected.len());
        for (found, expected) in fills.iter().zip(expected) {
            assert!((found.0 - expected.0).abs() < 1e-9 && (found.1 - expected.1).abs() < 1e-9, "{fills:?}");
        }
    }
}
